//! Finished files: pages, their data files and the index.

use super::bench_sheets::bench_page;
use super::due::due_rows_of;
use super::index::{folder_anchor, index_entry, index_formulas};
use super::lists::{anchor_at, is_listed};
use super::materials::{is_generated, material_page};
use super::state::broken;
use super::{Collection, Entry, INDEX_NOTEBOOK};
use crate::block::{Block, Body};
use crate::compute::{Answer, Computed};
use crate::notebook::{HeadingLine, Notebook};
use crate::page::{
    BlockContext, CLOSING, ErratumContext, FileContext, FindingContext, Hrefs, Number, NumberContext, PAGE_SCHEMA,
    PageContext, PageInput, PageLink, SCRIPT, STYLE, SheetContext, TemplateFault, block_context, finding_context,
    number_context, render_body, running_foot, sheet_context,
};
use crate::quantity::MassUnit;
use crate::report::{Finding, FindingData, Place, Severity, finding_data, kind};
use crate::stamp::Stamp;
use rayon::prelude::*;
use serde::Serialize;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use tera::Context;

/// A file to be written, path from the output's root.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutputFile {
    /// Path with `/`.
    pub path: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// The data file beside a page. The schema is described in DEVELOPERS.md.
#[derive(Serialize)]
struct PageData<'a> {
    schema: &'static str,
    program: &'static str,
    notebook: &'a str,
    page: String,
    title: String,
    formulas: Vec<&'a SheetContext>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    blocks: Vec<&'a BlockContext>,
    numbers: Vec<NumberData<'a>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    corrections: Vec<ErratumContext>,
    findings: Vec<FindingData<'a>>,
}

/// A number that the prose asks for: the address, the text between the brackets, its bytes in the notebook, and the answer.
#[derive(Serialize)]
struct NumberData<'a> {
    asked: &'a str,
    written: &'a str,
    bytes: [usize; 2],
    number: &'a NumberContext,
}

pub(super) const VERSION: &str = env!("CARGO_PKG_VERSION");
pub(super) const PROGRAM: &str = concat!("tarebook ", env!("CARGO_PKG_VERSION"));

/// The data file beside a page.
pub(super) fn data_path(page: &str) -> String {
    format!("{}.json", page.strip_suffix(".html").unwrap_or(page))
}

pub(super) fn template_finding(fault: &TemplateFault) -> Finding {
    let path: Arc<str> = format!("templates/{}", fault.name).into();
    Finding::new(
        kind::TEMPLATE_FAULT,
        Place::start_of(&path),
        format!("The template `{}` cannot be used: {}.", fault.name, fault.message.trim().replace('\n', " ")),
    )
}

/// Where a notebook stands among the others.
struct Neighbours {
    previous: Option<PageLink>,
    next: Option<PageLink>,
}

/// What findings belong where on a page.
struct Placed {
    sheets: Vec<Vec<FindingContext>>,
    blocks: Vec<Vec<FindingContext>>,
    asides: Vec<Vec<FindingContext>>,
    page: Vec<FindingContext>,
    errors: Vec<FindingContext>,
}

/// Everything computed that stands on a page.
struct Parts {
    sheets: Vec<Option<SheetContext>>,
    blocks: Vec<Option<BlockContext>>,
    numbers: Vec<Option<Number>>,
}

impl Collection {
    /// The paths of all notebooks, in the order of paths.
    pub fn page_sources(&self) -> Vec<Arc<str>> {
        self.entries.keys().cloned().collect()
    }

    /// A hash over everything that a notebook's page shows; equal keys mean equal bytes.
    pub fn page_key(&self, path: &str) -> u64 {
        if is_generated(path) {
            return self.generated_key(path);
        }
        let Some(entry) = self.entries.get(path) else { return 0 };
        let mut stamp = Stamp::new().number(self.epoch).number(entry.text_stamp).number(entry.compute_stamp);
        stamp = stamp.number(entry.link_stamp).number(entry.findings_stamp).number(self.outside_stamp.value());
        stamp = stamp.number(self.errata.get(path).map_or(0, |state| state.stamp));
        stamp = entry.blocks.iter().fold(stamp, |stamp, block| stamp.number(block.stamp));
        for further in entry.further.iter().filter_map(|path| self.entries.get(path)) {
            stamp = stamp.number(further.text_stamp);
        }
        for term in self.term_contexts(path, entry).iter().flatten() {
            stamp = stamp.text(&term.href).text(&term.name).text(&term.says);
        }
        for block in &entry.notebook.formulas {
            if let Some(parent) = &block.based_on {
                stamp = stamp.text(&self.sheet_href(path, &parent.value));
            }
        }
        let position = self.position.get(path).copied();
        for index in [position.and_then(|position| position.checked_sub(1)), position.map(|position| position + 1)] {
            let beside = index.and_then(|index| self.order.get(index));
            stamp = match beside.and_then(|path| self.entries.get(path)) {
                Some(entry) => stamp.text(&entry.title()).text(&entry.notebook.path),
                None => stamp.number(0),
            };
        }
        stamp.value()
    }

    /// Makes the stamps of notebooks again in which something changed.
    pub(super) fn stamp_entries(&mut self) {
        self.entries.par_iter_mut().filter(|(_, entry)| entry.is_touched).for_each(|(_, entry)| {
            let findings = entry.all_findings().fold(Stamp::new(), Stamp::finding);
            entry.findings_stamp = findings.value();
            let further = entry.all_findings().flat_map(|finding| &finding.more).map(|(place, _)| &place.path);
            entry.further = further.filter(|path| **path != entry.notebook.path).cloned().collect();
            let shown = serde_json::to_string(&(index_entry(entry), due_rows_of(entry))).unwrap_or_default();
            entry.index_stamp = Stamp::new().text(&shown).value();
            let formulas = index_formulas(entry);
            let shown = serde_json::to_string(&formulas).unwrap_or_default();
            entry.n_formulas = formulas.len();
            entry.products_stamp = Stamp::new().text(&entry.title()).text(&shown).value();
            let listed: Vec<&Finding> = entry.all_findings().filter(|finding| is_listed(finding)).collect();
            let found = listed.iter().fold(Stamp::new().text(&entry.title()), |stamp, finding| {
                stamp.text(finding.kind.name).text(&finding.what).text(&anchor_at(entry, finding.place.span.start))
            });
            (entry.n_listed, entry.found_stamp) = (listed.len(), found.value());
            entry.uses = super::materials::uses_of_entry(entry);
            entry.lots = super::lots::lots_of_entry(entry);
            entry.is_touched = false;
        });
    }

    fn neighbours(&self, path: &str) -> Neighbours {
        let position = self.position.get(path).copied();
        let link = |index: Option<usize>| {
            let other = self.order.get(index?)?;
            let entry = self.entries.get(other)?;
            Some(PageLink { title: entry.title(), href: relative(path, &entry.notebook.page_path()) })
        };
        Neighbours {
            previous: link(position.and_then(|position| position.checked_sub(1))),
            next: link(position.map(|position| position + 1)),
        }
    }

    /// The link from a notebook's page to the sheet of a formula.
    pub(super) fn sheet_href(&self, from: &str, id: &str) -> String {
        match self.formulas.get(id).or_else(|| self.blocks.get(id)) {
            Some((home, _)) if &**home == from => format!("#sheet-{id}"),
            Some((home, _)) => format!("{}#sheet-{id}", relative(from, &crate::notebook::page_path_of(home))),
            None => String::new(),
        }
    }

    /// The page and the data file of a notebook; the index page for the index notebook.
    ///
    /// # Errors
    /// A finding when a template fails.
    pub fn render(&self, path: &str) -> Result<Vec<OutputFile>, Box<Finding>> {
        catch_unwind(AssertUnwindSafe(|| self.render_page(path)))
            .unwrap_or_else(|_| Err(Box::new(broken(&Arc::from(path), 0))))
    }

    fn render_page(&self, path: &str) -> Result<Vec<OutputFile>, Box<Finding>> {
        if is_generated(path) {
            return self.render_generated(path);
        }
        let Some(entry) = self.entries.get(path) else { return Ok(Vec::new()) };
        let mut placed = self.place_findings(entry);
        let Parts { sheets, blocks, numbers } = self.parts(path, entry, &mut placed);
        let terms = self.term_contexts(path, entry);
        let below_title = match path {
            INDEX_NOTEBOOK => {
                self.render_template("lookup.html", &serde_json::json!({ "lookup": self.lookup(path) }))?
            }
            _ => match contents(entry) {
                parts if parts.is_empty() => Vec::new(),
                parts => self.render_template("contents.html", &serde_json::json!({ "contents": parts }))?,
            },
        };
        let below_title = match String::from_utf8_lossy(&below_title).trim() {
            "" => String::new(),
            links => format!("{links}\n"),
        };
        let input = PageInput {
            notebook: &entry.notebook,
            sheets: &sheets,
            blocks: &blocks,
            numbers: &numbers,
            aside_findings: &placed.asides,
            terms: &terms,
            below_title: &below_title,
        };
        let body = render_body(&input, &self.templates).map_err(|fault| Box::new(template_finding(&fault)))?;
        let data = self.data(entry, &sheets, &blocks, &numbers);
        let page = entry.notebook.page_path();
        let data_file = OutputFile { path: data_path(&page), bytes: data };
        if path == INDEX_NOTEBOOK {
            let has_sheets = sheets.iter().any(Option::is_some);
            return Ok(vec![self.index_page(body, placed.errors, has_sheets)?, data_file]);
        }
        let neighbours = self.neighbours(path);
        let data_name = data_file.path.rsplit('/').next().unwrap_or_default().to_owned();
        let context = PageContext {
            site: &self.site,
            root: "../".repeat(page.matches('/').count()),
            title: entry.title(),
            folder: folder_of(path),
            body,
            previous: neighbours.previous,
            next: neighbours.next,
            corrections: self.errata_contexts(path),
            errors: placed.errors,
            findings: placed.page,
            notebook_path: path,
            data_href: percent_encoded(&data_name),
            makes: !sheets.is_empty() || entry.notebook.blocks.iter().any(makes_a_product),
            closing: CLOSING,
            foot: running_foot(&entry.title(), sheets.iter().flatten()),
            has_sheets: sheets.iter().any(Option::is_some),
            version: VERSION,
        };
        let bytes = self.render_template("page.html", &context)?;
        Ok(vec![OutputFile { path: page, bytes }, data_file])
    }

    /// Everything computed that stands on a page; the findings of sheets and blocks go from `placed` to them.
    fn parts(&self, path: &str, entry: &Entry, placed: &mut Placed) -> Parts {
        let href_of = |id: &str| self.sheet_href(path, id);
        let material_href = |id: &str| relative(path, &material_page(id));
        let lot_href = |material: &str, lot: &str| super::lots::lot_href(path, material, lot);
        let bench_href = |id: &str| relative(path, &bench_page(id));
        let hrefs = Hrefs { sheet: &href_of, material: &material_href, bench: &bench_href, lot: &lot_href };
        let methods = || {
            entry.blocks.iter().filter_map(|state| match state.answer.as_deref() {
                Some(Answer::Method(method)) => Some(method),
                _ => None,
            })
        };
        let sheet_of = |computed: &Computed, findings| {
            let mut sheet = sheet_context(computed, findings, hrefs);
            if let Some(method) = methods().find(|method| method.formula == computed.formula.id) {
                sheet.follow(method);
            }
            sheet
        };
        let sheets = entry
            .formulas
            .iter()
            .zip(std::mem::take(&mut placed.sheets))
            .map(|(state, findings)| state.computed.as_ref().map(|computed| sheet_of(computed, findings)))
            .collect();
        let blocks = entry
            .notebook
            .blocks
            .iter()
            .zip(&entry.blocks)
            .zip(std::mem::take(&mut placed.blocks))
            .map(|((block, state), findings)| {
                let id = block.id.as_ref().map_or("", |id| id.value.as_str());
                let answer = state.answer.as_ref()?;
                let row_files = block.row_files.iter().map(|file| FileContext {
                    name: file.rsplit('/').next().unwrap_or(file).to_owned(),
                    href: relative(path, file),
                });
                let context = block_context(answer, id, findings, hrefs).for_batches(self.batches_behind(block));
                Some(context.reading(row_files.collect()))
            })
            .collect();
        Parts { sheets, blocks, numbers: self.numbers(path, entry) }
    }

    /// The data file of a notebook as it would be published now.
    pub(super) fn data_of(&self, path: &str) -> Option<Vec<u8>> {
        let entry = self.entries.get(path)?;
        let work = || {
            let Parts { sheets, blocks, numbers } = self.parts(path, entry, &mut self.place_findings(entry));
            self.data(entry, &sheets, &blocks, &numbers)
        };
        catch_unwind(AssertUnwindSafe(work)).ok()
    }

    /// What goes wrong in the templates when every page is made of them; nothing to see with the built-in ones.
    pub fn template_faults(&self) -> Vec<Finding> {
        if self.sources.templates.is_empty() {
            return Vec::new();
        }
        let mut paths = self.page_sources();
        paths.extend(self.generated_pages());
        let mut faults: Vec<Finding> =
            paths.par_iter().filter_map(|path| self.render(path).err()).map(|fault| *fault).collect();
        faults.extend(self.render_index().err().map(|fault| *fault));
        crate::report::arrange(&mut faults);
        faults
    }

    /// The index page of a collection without an index notebook.
    ///
    /// # Errors
    /// A finding when the template fails.
    pub fn render_index(&self) -> Result<Vec<OutputFile>, Box<Finding>> {
        if self.entries.contains_key(INDEX_NOTEBOOK) {
            return self.render(INDEX_NOTEBOOK);
        }
        Ok(vec![self.index_page(String::new(), self.outside_contexts(), false)?])
    }

    /// The files that the pages share: the style sheet, and the script of those with a formula.
    pub fn shared_files(&self) -> [OutputFile; 2] {
        [(STYLE, self.templates.style()), (SCRIPT, self.templates.script())]
            .map(|(path, text)| OutputFile { path: path.to_owned(), bytes: text.as_bytes().to_vec() })
    }

    pub(super) fn render_template<T: Serialize>(&self, name: &str, context: &T) -> Result<Vec<u8>, Box<Finding>> {
        let fault = |message: String| Box::new(template_finding(&TemplateFault { name: name.to_owned(), message }));
        let context = Context::from_serialize(context).map_err(|error| fault(error.to_string()))?;
        self.templates
            .render(name, &context)
            .map(String::into_bytes)
            .map_err(|fault| Box::new(template_finding(&fault)))
    }

    /// The errors that belong to no notebook, with the file and line they stand at.
    pub(super) fn outside_contexts(&self) -> Vec<FindingContext> {
        self.outside.iter().map(|finding| self.with_file(finding)).collect()
    }

    /// A finding with its file and line.
    fn with_file(&self, finding: &Finding) -> FindingContext {
        let mut context = finding_context(finding, self.text_of(&finding.place.path));
        let line = std::mem::take(&mut context.place);
        context.place = match line.is_empty() {
            true => finding.place.path.to_string(),
            false => format!("{}, {line}", finding.place.path),
        };
        context
    }

    /// A finding with its line, and with its file where that is not the notebook.
    fn with_place(&self, finding: &Finding, notebook: &Notebook) -> FindingContext {
        match finding.place.path == notebook.path {
            true => finding_context(finding, Some(&notebook.text)),
            false => self.with_file(finding),
        }
    }

    fn place_findings(&self, entry: &Entry) -> Placed {
        let notebook = &entry.notebook;
        let mut placed = Placed {
            sheets: vec![Vec::new(); entry.formulas.len()],
            blocks: vec![Vec::new(); entry.blocks.len()],
            asides: vec![Vec::new(); notebook.asides.len()],
            page: Vec::new(),
            errors: self.outside_contexts(),
        };
        let mut findings: Vec<&Finding> = entry.all_findings().collect();
        findings.sort_by_key(|finding| (finding.place.span.start, finding.severity(), finding.kind.name));
        // The same finding can be reached twice, by a variant and its parent; it is said once.
        findings.dedup();
        for finding in findings {
            let start = finding.place.span.start;
            let elsewhere = finding.place.path != notebook.path;
            if finding.severity() == Severity::Error {
                placed.errors.push(self.with_place(finding, notebook));
                continue;
            }
            // What stands in another file, a row or a parent's line, belongs to the sheet or block that it was found for.
            if elsewhere {
                let of_sheet = entry.formulas.iter().position(|state| state.findings.contains(finding));
                let of_block = entry.blocks.iter().position(|state| state.findings.contains(finding));
                let sheet = of_sheet.and_then(|index| placed.sheets.get_mut(index));
                match sheet.or(of_block.and_then(|index| placed.blocks.get_mut(index))) {
                    Some(list) => list.push(finding_context(finding, None)),
                    None => placed.page.push(self.with_place(finding, notebook)),
                }
                continue;
            }
            let in_sheet = notebook.formulas.iter().position(|block| block.place.span.contains(&start));
            if let Some(list) = in_sheet.and_then(|index| placed.sheets.get_mut(index)) {
                list.push(finding_context(finding, None));
                continue;
            }
            let in_block = notebook.blocks.iter().position(|block| block.place.span.contains(&start));
            if let Some(list) = in_block.and_then(|index| placed.blocks.get_mut(index)) {
                list.push(finding_context(finding, None));
                continue;
            }
            let beside = notebook.asides.iter().position(|aside| aside.span.contains(&start));
            match beside.and_then(|index| placed.asides.get_mut(index)) {
                Some(list) => list.push(finding_context(finding, None)),
                None => placed.page.push(self.with_place(finding, notebook)),
            }
        }
        for (formula, list) in entry.formulas.iter().zip(&mut placed.sheets) {
            list.extend(entry.handled_like(formula).iter().map(|finding| finding_context(finding, None)));
        }
        // Under a sheet the weightiest come first; handling, which every sheet with powders has, must not bury a real caution.
        for list in &mut placed.sheets {
            list.sort_by_key(|finding| match (finding.severity, finding.name) {
                ("caution", "handle-with-care") => 2,
                ("caution", _) => 1,
                ("question", _) => 3,
                _ => 4,
            });
        }
        placed
    }

    fn numbers(&self, path: &str, entry: &Entry) -> Vec<Option<Number>> {
        entry
            .numbers
            .iter()
            .map(|linked| {
                let linked = linked.as_ref()?;
                Some(Number {
                    context: number_context(&linked.figure, linked.unit, linked.digits),
                    href: self.sheet_href(path, &linked.formula),
                    scales: linked.scales.clone(),
                    asked: (linked.unit.map(MassUnit::symbol), linked.digits),
                })
            })
            .collect()
    }

    /// The data file: all figures, workings and findings of a page.
    fn data(
        &self,
        entry: &Entry,
        sheets: &[Option<SheetContext>],
        blocks: &[Option<BlockContext>],
        numbers: &[Option<Number>],
    ) -> Vec<u8> {
        let notebook = &entry.notebook;
        let numbers = notebook
            .calc_links
            .iter()
            .zip(numbers)
            .filter_map(|(link, number)| {
                let number = &number.as_ref()?.context;
                let bytes = [link.place.span.start, link.place.span.end];
                Some(NumberData { asked: &link.written, written: &link.text, bytes, number })
            })
            .collect();
        let like: Vec<Finding> = entry.formulas.iter().flat_map(|formula| entry.handled_like(formula)).collect();
        let mut findings: Vec<&Finding> = entry.all_findings().chain(&like).collect();
        findings.sort_by_key(|finding| (finding.place.span.start, finding.severity(), finding.kind.name));
        findings.dedup();
        let text_of = |path: &str| self.text_of(path);
        let data = PageData {
            schema: PAGE_SCHEMA,
            program: PROGRAM,
            notebook: &notebook.path,
            page: notebook.page_path(),
            title: entry.title(),
            formulas: sheets.iter().flatten().collect(),
            blocks: blocks.iter().flatten().collect(),
            numbers,
            corrections: self.errata_contexts(&notebook.path),
            findings: findings.into_iter().map(|finding| finding_data(finding, &text_of)).collect(),
        };
        json_bytes(&data)
    }
}

/// A data file's bytes.
pub(super) fn json_bytes(data: &impl Serialize) -> Vec<u8> {
    let mut bytes = serde_json::to_vec(data).unwrap_or_default();
    bytes.push(b'\n');
    bytes
}

/// The folder that a notebook lies in, as a part of the index.
fn folder_of(path: &str) -> Option<PageLink> {
    let (folder, _) = path.rsplit_once('/')?;
    let href = format!("{}#{}", relative(path, "index.html"), percent_encoded(&folder_anchor(folder)));
    Some(PageLink { title: folder.to_owned(), href })
}

/// The second-level headings of a page, where there are so many that a list of them helps.
fn contents(entry: &Entry) -> Vec<PageLink> {
    const FEW: usize = 3;
    let parts = entry.notebook.headings.iter().filter(|heading| heading.level == 2);
    let link = |heading: &HeadingLine| PageLink {
        title: entry.filled(&heading.words),
        href: format!("#{}", percent_encoded(&heading.anchor)),
    };
    let links: Vec<PageLink> = parts.map(link).collect();
    if links.len() < FEW { Vec::new() } else { links }
}

/// The address of one page as seen from another notebook's page.
pub(super) fn relative(from: &str, page: &str) -> String {
    let from_folders: Vec<&str> = from.split('/').collect();
    let from_folders = from_folders.split_last().map_or(&[][..], |(_, folders)| folders);
    let page_parts: Vec<&str> = page.split('/').collect();
    let shared = from_folders.iter().zip(&page_parts).take_while(|(left, right)| left == right).count();
    let shared = shared.min(page_parts.len().saturating_sub(1));
    let up = "../".repeat(from_folders.len() - shared);
    let down: Vec<&str> = page_parts.into_iter().skip(shared).collect();
    format!("{up}{}", percent_encoded(&down.join("/")))
}

/// A path as an address: what RFC 3986 does not allow in a path segment is percent-encoded.
pub(super) fn percent_encoded(path: &str) -> String {
    let mut out = String::with_capacity(path.len());
    for byte in path.bytes() {
        if byte.is_ascii_alphanumeric()
            || matches!(byte, b'-' | b'.' | b'_' | b'~' | b'/' | b'!' | b'(' | b')' | b',' | b'@')
        {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
    out
}

/// Whether a block that is no formula tells how something for the skin is made.
fn makes_a_product(block: &Block) -> bool {
    matches!(block.body, Some(Body::Saponification(_)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_relative() {
        assert_eq!(relative("a.md", "b.html"), "b.html");
        assert_eq!(relative("x/a.md", "b.html"), "../b.html");
        assert_eq!(relative("x/a.md", "x/b c.html"), "b%20c.html");
        assert_eq!(relative("x/y/a.md", "x/z/b.html"), "../z/b.html");
    }
}
