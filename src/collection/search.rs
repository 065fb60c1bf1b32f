//! What can be searched: the texts of all notebooks by section, their formulas, and the raw materials, as files of data that the search
//! page loads.
//!
//! The data are the texts themselves, so that folding of letters, typing errors and ranking live in one place, `templates/search.js`,
//! and a hit can show its sentence. They are scripts and no JSON because a page opened from a disk may load a script but not fetch a
//! file. Each holds so many notebooks and no more: saving one of a thousand writes one small file again.

use super::assemble::{OutputFile, relative};
use super::lists::SEARCH;
use super::materials::material_page;
use super::{Collection, Entry};
use crate::notebook::{GAP, page_path_of};
use crate::page::SEARCH_SCRIPT;
use crate::report::Finding;
use crate::stamp::Stamp;
use serde::Serialize;

/// Notebooks in one file.
const NOTEBOOKS: usize = 50;
/// The file of the raw materials.
const OF_MATERIALS: &str = "index/search-materials.js";

/// One page that can be found.
#[derive(Serialize)]
struct Page<'a> {
    title: String,
    href: String,
    /// `notebook`, or `raw material`.
    kind: &'static str,
    /// The id of a raw material, by which formulas name it.
    #[serde(skip_serializing_if = "str::is_empty")]
    id: &'a str,
    parts: Vec<Part<'a>>,
}

/// A part of a page: a heading with its text, or a formula.
#[derive(Default, Serialize)]
struct Part<'a> {
    anchor: String,
    heading: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    text: String,
    #[serde(skip_serializing_if = "str::is_empty")]
    product: &'a str,
    /// Names: of a formula its id; of a raw material what else it is called, and its INCI names.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    names: Vec<&'a str>,
    /// The raw materials of a formula, by id.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    holds: Vec<&'a str>,
}

impl Collection {
    /// The files of data, in the order in which they are loaded.
    pub(super) fn search_files(&self) -> Vec<String> {
        let of_notebooks =
            (0..self.entries.len().div_ceil(NOTEBOOKS)).map(|index| format!("index/search-{}.js", index + 1));
        let of_materials = (!self.uses.is_empty()).then(|| OF_MATERIALS.to_owned());
        of_notebooks.chain(of_materials).collect()
    }

    /// The notebooks of a file.
    fn searched(&self, file: &str) -> impl Iterator<Item = &Entry> {
        let number = file.strip_prefix("index/search-").and_then(|rest| rest.strip_suffix(".js"));
        let number = number.and_then(|number| number.parse::<usize>().ok());
        let first = number.map_or(usize::MAX, |number| number.saturating_sub(1).saturating_mul(NOTEBOOKS));
        self.entries_in_order().skip(first).take(NOTEBOOKS).filter_map(|path| self.entries.get(path))
    }

    /// A hash over everything in a file.
    pub(super) fn search_key(&self, file: &str, start: Stamp) -> u64 {
        if file == OF_MATERIALS {
            return self.used_materials().fold(start, Stamp::text).value();
        }
        let hashed = |stamp: Stamp, entry: &Entry| {
            stamp.number(entry.text_stamp).number(entry.compute_stamp).number(entry.link_stamp)
        };
        self.searched(file).fold(start, hashed).value()
    }

    /// The search page with its script.
    pub(super) fn render_search(&self) -> Result<Vec<OutputFile>, Box<Finding>> {
        let files: Vec<String> = self.search_files().iter().map(|file| relative(SEARCH, file)).collect();
        let mut rendered = self.render_with(SEARCH, "search.html", "Search", Vec::new(), files)?;
        rendered.push(OutputFile { path: "index/search.js".to_owned(), bytes: SEARCH_SCRIPT.as_bytes().to_vec() });
        Ok(rendered)
    }

    pub(super) fn render_search_file(&self, file: &str) -> Option<OutputFile> {
        let pages: Vec<Page<'_>> = match file {
            OF_MATERIALS => self.used_materials().filter_map(|id| self.material_to_search(id)).collect(),
            _ => self.searched(file).map(notebook_to_search).collect(),
        };
        let mut bytes = b"(self.searched ??= []).push(".to_vec();
        for (index, page) in pages.iter().enumerate() {
            bytes.extend_from_slice(if index > 0 { b",\n" } else { b"\n" });
            bytes.extend(serde_json::to_vec(page).unwrap_or_default());
        }
        bytes.extend_from_slice(b"\n);\n");
        Some(OutputFile { path: file.to_owned(), bytes })
    }

    fn material_to_search(&self, id: &str) -> Option<Page<'_>> {
        let material = self.catalogue.material(id)?;
        let names = material.also.iter().map(String::as_str).chain(material.inci_names()).collect();
        Some(Page {
            title: material.name.clone(),
            href: relative(SEARCH, &material_page(id)),
            kind: "raw material",
            id: &material.id,
            parts: vec![Part { names, text: material.functions.join(", "), ..Part::default() }],
        })
    }
}

fn notebook_to_search(entry: &Entry) -> Page<'_> {
    let notebook = &entry.notebook;
    let mut parts = vec![Part::default()];
    for heading in notebook.headings.iter().filter(|heading| heading.level > 1) {
        parts.push(Part { anchor: heading.anchor.clone(), heading: entry.filled(&heading.words), ..Part::default() });
    }
    let starts: Vec<usize> =
        notebook.headings.iter().filter(|heading| heading.level > 1).map(|heading| heading.span.start).collect();
    for (index, stretch) in notebook.prose.stretches.iter().enumerate() {
        let end = notebook.prose.stretches.get(index + 1).map_or(notebook.prose.text.len(), |next| next.start);
        let text = notebook.prose.text.get(stretch.start..end).unwrap_or_default();
        let at = stretch.bytes.start;
        let before = notebook.headings.partition_point(|heading| heading.span.start <= at);
        let heading = before.checked_sub(1).and_then(|index| notebook.headings.get(index));
        let in_heading = heading.is_some_and(|heading| heading.span.contains(&at));
        let part = starts.partition_point(|start| *start <= at);
        if let Some(part) = parts.get_mut(part).filter(|_| !in_heading) {
            part.text.push_str(&said(entry, text, &stretch.bytes));
        }
    }
    for part in &mut parts {
        part.text = part.text.split_whitespace().collect::<Vec<_>>().join(" ");
    }
    for state in &entry.formulas {
        let Some(computed) = &state.computed else { continue };
        let formula = &computed.formula;
        let mut holds: Vec<&str> = formula.lines().map(|line| line.material.id.as_str()).collect();
        holds.sort_unstable();
        holds.dedup();
        parts.push(Part {
            anchor: format!("sheet-{}", formula.id),
            heading: formula.title.clone().unwrap_or_else(|| formula.id.clone()),
            product: formula.product.as_ref().map_or("", |product| &product.name),
            names: vec![&formula.id],
            holds,
            ..Part::default()
        });
    }
    for term in &notebook.glossary {
        let text = entry.filled(&term.definition).trim().to_owned();
        parts.push(Part { anchor: term.anchor.clone(), heading: term.title.clone(), text, ..Part::default() });
    }
    let href = relative(SEARCH, &page_path_of(&notebook.path));
    Page { title: entry.title(), href, kind: "notebook", id: "", parts }
}

/// What a reader of the page sees in a stretch: code and numbers, which the prose leaves out, among it.
fn said<'a>(entry: &'a Entry, text: &'a str, bytes: &std::ops::Range<usize>) -> std::borrow::Cow<'a, str> {
    if !text.starts_with(GAP) {
        return text.into();
    }
    let links = &entry.notebook.calc_links;
    let index = links.partition_point(|link| link.place.span.start < bytes.start);
    if links.get(index).is_some_and(|link| link.place.span == *bytes) {
        return entry.number_text(index).into();
    }
    entry.notebook.text.get(bytes.clone()).unwrap_or_default().trim_matches('`').into()
}
