//! The pages by which a collection is looked up: its formulas by product type, what was found, the words of the trade, the search.
//!
//! A list that would make a page too heavy goes on over several pages.

use super::assemble::{OutputFile, VERSION, percent_encoded, relative};
use super::glossary::word_anchor;
use super::{Collection, Entry, materials};
use crate::material::TradeTerm;
use crate::notebook::page_path_of;
use crate::page::{
    FolderGroup, FoundGroup, FoundPlace, Jump, ListContext, LookUp, PageLink, ProductGroup, ProductRow, WordRow,
};
use crate::report::{Finding, Severity};
use crate::stamp::Stamp;
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Formulas by product type.
const PRODUCTS: &str = "index/products.html";
/// All notebooks by folder, where they are too many for the index.
const NOTEBOOKS: &str = "index/notebooks.html";
/// Notebooks by finding.
const FOUND: &str = "index/findings.html";
/// The terms that come with the program.
pub(super) const WORDS: &str = "index/words.html";
/// The search.
pub(super) const SEARCH: &str = "index/search.html";

/// Rows on one page. With sentences of a usual length a page then stays below 100 kB.
pub(super) const ROWS: usize = 250;

/// From more notebooks on the index has folders alone; with so many titles it stays below 100 kB.
const MOST: usize = 600;

/// Whether a path is that of a page of this kind.
pub(super) fn is_list(page: &str) -> bool {
    page.starts_with("index/")
}

/// The address of a part of a list, counted from 0: `index/products.html`, `index/products-2.html`.
pub(super) fn part_path(first: &str, part: usize) -> String {
    match part {
        0 => first.to_owned(),
        _ => format!("{}-{}.html", first.trim_end_matches(".html"), part + 1),
    }
}

/// Which part of a list a path is.
fn part_of(first: &str, page: &str) -> Option<usize> {
    if page == first {
        return Some(0);
    }
    let number = page.strip_prefix(first.trim_end_matches(".html"))?.strip_prefix('-')?.strip_suffix(".html")?;
    number.parse::<usize>().ok()?.checked_sub(1)
}

/// What of a notebook's findings the list has: handling stands on nearly every sheet and would bury all else.
pub(super) fn is_listed(finding: &Finding) -> bool {
    finding.severity() != Severity::Error && finding.kind.name != "handle-with-care"
}

/// The part of a page that holds a place of its notebook: a sheet, the last heading before it, or nothing for its top.
pub(super) fn anchor_at(entry: &Entry, at: usize) -> String {
    let notebook = &entry.notebook;
    let formula = notebook.formulas.iter().find(|block| block.place.span.contains(&at));
    let block = notebook.blocks.iter().find(|block| block.place.span.contains(&at));
    let id = formula.map(|block| &block.id).or_else(|| block?.id.as_ref()).filter(|id| !id.value.is_empty());
    if let Some(id) = id {
        return format!("#sheet-{}", id.value);
    }
    let heading = notebook.headings.iter().rev().find(|heading| heading.span.start <= at && heading.level > 1);
    heading.map_or_else(String::new, |heading| format!("#{}", percent_encoded(&heading.anchor)))
}

/// Rows cut into pages. Each row comes with its group's key; a group begins anew on every page.
fn in_pages<K: PartialEq + Clone, R>(rows: Vec<(K, R)>) -> Vec<Vec<(K, bool, Vec<R>)>> {
    let mut pages: Vec<Vec<(K, bool, Vec<R>)>> = Vec::new();
    let mut last: Option<K> = None;
    for (index, (key, row)) in rows.into_iter().enumerate() {
        if index.is_multiple_of(ROWS) {
            pages.push(Vec::new());
        }
        let Some(page) = pages.last_mut() else { continue };
        if page.last().is_none_or(|(known, _, _)| *known != key) {
            page.push((key.clone(), last.as_ref() == Some(&key), Vec::new()));
        }
        if let Some((_, _, rows)) = page.last_mut() {
            rows.push(row);
        }
        last = Some(key);
    }
    pages
}

impl Collection {
    /// The pages by which the collection is looked up.
    pub(super) fn list_pages(&self) -> Vec<Arc<str>> {
        if self.entries.is_empty() {
            return Vec::new();
        }
        let parts = |first: &'static str, rows: usize| {
            (0..rows.div_ceil(ROWS)).map(move |part| Arc::from(part_path(first, part)))
        };
        let formulas = self.entries.values().map(|entry| entry.n_formulas).sum();
        let found = self.entries.values().map(|entry| entry.n_listed).sum();
        let notebooks = if self.has_notebook_list() { self.order.len() } else { 0 };
        let words = self.needs_words().then(|| Arc::from(WORDS));
        let search = std::iter::once(Arc::from(SEARCH)).chain(self.search_files().into_iter().map(Arc::from));
        let lists = parts(NOTEBOOKS, notebooks).chain(parts(PRODUCTS, formulas)).chain(parts(FOUND, found));
        lists.chain(words).chain(search).collect()
    }

    /// Whether the notebooks are too many for the index.
    pub(super) fn has_notebook_list(&self) -> bool {
        MOST < self.order.len()
    }

    /// Where a folder begins in the list of all notebooks, as seen from the index; `index` is that of its first notebook.
    pub(super) fn folder_href(&self, index: usize) -> String {
        let folder = self.order.get(index).map_or("", |path| folder_of(path));
        format!("{}#{}", part_path(NOTEBOOKS, index / ROWS), percent_encoded(&anchor_of_folder(folder)))
    }

    /// The ways to look something up, as seen from a page.
    pub(super) fn lookup(&self, from: &str) -> Vec<LookUp> {
        let mut ways: Vec<(String, String)> = vec![("Search".to_owned(), SEARCH.to_owned())];
        if self.has_notebook_list() {
            ways.push(("All notebooks".to_owned(), NOTEBOOKS.to_owned()));
        }
        if self.entries.values().any(|entry| entry.n_formulas > 0) {
            ways.push(("Formulas by product".to_owned(), PRODUCTS.to_owned()));
        }
        if !self.uses.is_empty() {
            ways.push(("Raw materials".to_owned(), materials::LIST.to_owned()));
        }
        if self.has_lots() {
            ways.push(("Lots".to_owned(), super::lots::LIST.to_owned()));
        }
        if self.entries.values().any(|entry| entry.n_listed > 0) {
            ways.push(("Findings".to_owned(), FOUND.to_owned()));
        }
        if let Some(entry) = self.own_glossary() {
            ways.push((entry.title(), page_path_of(&entry.notebook.path)));
        }
        if self.needs_words() {
            ways.push(("Words of the trade".to_owned(), WORDS.to_owned()));
        }
        let is_here = |page: &str| {
            page == from
                || [NOTEBOOKS, PRODUCTS, FOUND].iter().any(|first| page == *first && part_of(first, from).is_some())
        };
        ways.into_iter()
            .map(|(title, page)| LookUp { title, href: relative(from, &page), is_here: is_here(&page) })
            .collect()
    }

    /// Hash over the ways to look something up.
    pub(super) fn lookup_stamp(&self) -> u64 {
        let ways = self.lookup("index.md");
        ways.iter().fold(Stamp::new(), |stamp, way| stamp.text(&way.title).text(&way.href)).value()
    }

    /// A hash over everything that such a page shows.
    pub(super) fn list_key(&self, page: &str, start: Stamp) -> u64 {
        let start = start.number(self.lookup_stamp());
        let over = |part: fn(&Entry) -> u64| {
            self.entries_in_order()
                .filter_map(|path| self.entries.get(path))
                .fold(start, |stamp, entry| stamp.text(&entry.notebook.path).number(part(entry)))
        };
        if part_of(PRODUCTS, page).is_some() {
            return over(|entry| entry.products_stamp).value();
        }
        if part_of(NOTEBOOKS, page).is_some() {
            return over(|entry| entry.index_stamp).value();
        }
        if part_of(FOUND, page).is_some() {
            return over(|entry| Stamp::new().number(entry.found_stamp).value()).value();
        }
        match page {
            WORDS => start.value(),
            SEARCH => start.number(self.search_files().len() as u64).value(),
            _ => self.search_key(page, start),
        }
    }

    /// A page of this kind.
    pub(super) fn render_list_page(&self, page: &str) -> Result<Vec<OutputFile>, Box<Finding>> {
        if let Some(part) = part_of(PRODUCTS, page) {
            return self.render_products(page, part);
        }
        if let Some(part) = part_of(FOUND, page) {
            return self.render_found(page, part);
        }
        if let Some(part) = part_of(NOTEBOOKS, page) {
            return self.render_notebooks(page, part);
        }
        match page {
            WORDS => self.render_words(),
            SEARCH => self.render_search(),
            _ => Ok(self.render_search_file(page).into_iter().collect()),
        }
    }

    pub(super) fn render_with<P: Serialize>(
        &self,
        page: &str,
        template: &str,
        here: &str,
        pages: Vec<LookUp>,
        list: P,
    ) -> Result<Vec<OutputFile>, Box<Finding>> {
        let context = ListContext {
            site: &self.site,
            root: "../",
            here: here.to_owned(),
            lookup: self.lookup(page),
            pages,
            list,
            errors: self.outside_contexts(),
            version: VERSION,
        };
        Ok(vec![OutputFile { path: page.to_owned(), bytes: self.render_template(template, &context)? }])
    }

    fn render_products(&self, page: &str, part: usize) -> Result<Vec<OutputFile>, Box<Finding>> {
        let mut rows: Vec<(String, ProductRow)> = Vec::new();
        for entry in self.entries_in_order().filter_map(|path| self.entries.get(path)) {
            let notebook = entry.title();
            for formula in super::index::index_formulas(entry) {
                let row = ProductRow {
                    notebook: if notebook == formula.title { String::new() } else { notebook.clone() },
                    title: formula.title,
                    href: format!("../{}", formula.href),
                    batch: formula.batch,
                    active: formula.active,
                    ph: formula.ph,
                };
                rows.push((formula.product, row));
            }
        }
        // By name, and what names no product type at the end.
        rows.sort_by_key(|(product, _)| (product.is_empty(), product.clone()));
        let pages = in_pages(rows);
        let anchor = |product: &str| if product.is_empty() { "other".to_owned() } else { product.replace(' ', "-") };
        let title =
            |product: &str| if product.is_empty() { "product type not stated".to_owned() } else { product.to_owned() };
        let jumps = jumps(PRODUCTS, part, &pages, |product| (title(product), anchor(product)));
        let parts = part_links(PRODUCTS, part, pages.len());
        let groups: Vec<ProductGroup> = pages
            .into_iter()
            .nth(part)
            .unwrap_or_default()
            .into_iter()
            .map(|(product, goes_on, formulas)| ProductGroup {
                anchor: anchor(&product),
                product: title(&product),
                goes_on,
                formulas,
            })
            .collect();
        let list = serde_json::json!({ "groups": groups, "jumps": jumps });
        self.render_with(page, "products.html", "Formulas by product", parts, list)
    }

    fn render_notebooks(&self, page: &str, part: usize) -> Result<Vec<OutputFile>, Box<Finding>> {
        let entries = self.order.iter().filter_map(|path| self.entries.get(path));
        let rows = entries.map(|entry| {
            let path = &entry.notebook.path;
            let link = PageLink { title: entry.title(), href: relative(page, &page_path_of(path)) };
            (folder_of(path).to_owned(), link)
        });
        let pages = in_pages(rows.collect());
        let title = |folder: &str| if folder.is_empty() { self.site.title.clone() } else { folder.to_owned() };
        let jumps =
            jumps(NOTEBOOKS, part, &pages, |folder| (title(folder), percent_encoded(&anchor_of_folder(folder))));
        let parts = part_links(NOTEBOOKS, part, pages.len());
        let groups: Vec<FolderGroup> = pages
            .into_iter()
            .nth(part)
            .unwrap_or_default()
            .into_iter()
            .map(|(folder, goes_on, notebooks)| FolderGroup {
                anchor: anchor_of_folder(&folder),
                folder: title(&folder),
                goes_on,
                notebooks,
            })
            .collect();
        let list = serde_json::json!({ "groups": groups, "jumps": jumps });
        self.render_with(page, "notebooks.html", "All notebooks", parts, list)
    }

    fn render_found(&self, page: &str, part: usize) -> Result<Vec<OutputFile>, Box<Finding>> {
        let mut rows: Vec<((Severity, &'static str), FoundPlace)> = Vec::new();
        let mut summaries: BTreeMap<&'static str, (&'static str, &'static str)> = BTreeMap::new();
        for entry in self.entries_in_order().filter_map(|path| self.entries.get(path)) {
            let notebook = entry.title();
            let home = relative(page, &page_path_of(&entry.notebook.path));
            let mut findings: Vec<&Finding> = entry.all_findings().filter(|finding| is_listed(finding)).collect();
            findings.sort_by_key(|finding| (finding.place.span.start, finding.kind.name));
            for finding in findings {
                let severity = finding.severity();
                summaries.insert(finding.kind.name, (severity.word(), finding.kind.summary.trim_end_matches('.')));
                let href = format!("{home}{}", anchor_at(entry, finding.place.span.start));
                let place = FoundPlace { notebook: notebook.clone(), href, what: finding.what.clone() };
                rows.push(((severity, finding.kind.name), place));
            }
        }
        rows.sort_by_key(|(key, _)| *key);
        let pages = in_pages(rows);
        let jumps = jumps(FOUND, part, &pages, |(_, name)| ((*name).to_owned(), (*name).to_owned()));
        let parts = part_links(FOUND, part, pages.len());
        let groups: Vec<FoundGroup> = pages
            .into_iter()
            .nth(part)
            .unwrap_or_default()
            .into_iter()
            .map(|((_, name), goes_on, places)| {
                let (severity, summary) = summaries.get(name).copied().unwrap_or_default();
                FoundGroup { severity, name, summary, goes_on, places }
            })
            .collect();
        let list = serde_json::json!({ "groups": groups, "jumps": jumps });
        self.render_with(page, "found.html", "Findings", parts, list)
    }

    fn render_words(&self) -> Result<Vec<OutputFile>, Box<Finding>> {
        let words: Vec<WordRow> = TradeTerm::all()
            .iter()
            .map(|term| WordRow {
                anchor: word_anchor(term),
                names: term.names().collect::<Vec<_>>().join(", "),
                says: &term.says,
                source: term.source_line(),
            })
            .collect();
        self.render_with(WORDS, "words.html", "Words of the trade", Vec::new(), words)
    }
}

/// The folder of a notebook.
fn folder_of(path: &str) -> &str {
    path.rsplit_once('/').map_or("", |(folder, _)| folder)
}

fn anchor_of_folder(folder: &str) -> String {
    if folder.is_empty() { "top".to_owned() } else { super::index::folder_anchor(folder) }
}

/// Links to where each group begins. A short list needs none.
fn jumps<K: PartialEq, R>(
    first: &str,
    part: usize,
    pages: &[Vec<(K, bool, Vec<R>)>],
    name: impl Fn(&K) -> (String, String),
) -> Vec<Jump> {
    let begun = pages.iter().enumerate().flat_map(|(index, groups)| groups.iter().map(move |group| (index, group)));
    let jumps: Vec<Jump> = begun
        .filter(|(_, (_, goes_on, _))| !goes_on)
        .map(|(index, (key, _, _))| {
            let (title, anchor) = name(key);
            let page = if index == part { String::new() } else { file_name(&part_path(first, index)) };
            Jump { title, href: format!("{page}#{anchor}") }
        })
        .collect();
    if jumps.len() < 3 { Vec::new() } else { jumps }
}

pub(super) fn part_links(first: &str, part: usize, parts: usize) -> Vec<LookUp> {
    if parts < 2 {
        return Vec::new();
    }
    let link = |index: usize| LookUp {
        title: (index + 1).to_string(),
        href: file_name(&part_path(first, index)),
        is_here: index == part,
    };
    (0..parts).map(link).collect()
}

fn file_name(path: &str) -> String {
    path.rsplit('/').next().unwrap_or_default().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_of_a_list_are_numbered_from_two() {
        assert_eq!(part_path(PRODUCTS, 0), "index/products.html");
        assert_eq!(part_path(PRODUCTS, 1), "index/products-2.html");
        assert_eq!(part_of(PRODUCTS, "index/products-2.html"), Some(1));
        assert_eq!(part_of(PRODUCTS, "index/findings.html"), None);
    }

    #[test]
    fn a_group_that_goes_on_says_so() {
        let rows = (0..ROWS + 1).map(|index| (index / 200, index)).collect();
        let pages = in_pages(rows);
        let heads: Vec<Vec<(usize, bool)>> =
            pages.iter().map(|page| page.iter().map(|(key, goes_on, _)| (*key, *goes_on)).collect()).collect();
        assert_eq!(heads, [vec![(0, false), (1, false)], vec![(1, true)]]);
    }
}
