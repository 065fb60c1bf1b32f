//! The index of the collection: its notebooks by folder, and the next checks.

use super::assemble::{OutputFile, VERSION, percent_encoded};
use super::{Collection, Entry, INDEX_NOTEBOOK};
use crate::notebook::Slot;
use crate::page::{FindingContext, IndexContext, IndexEntry, IndexFormula, IndexGroup, IndexTally, figure_text};
use crate::quantity::show;
use crate::report::{Finding, Severity};
use crate::stamp::Stamp;

/// From so many notebooks on the index has their titles alone, so that it can be read and loaded.
const MANY: usize = 100;

impl Collection {
    /// A hash over everything that the index shows.
    pub fn index_key(&self) -> u64 {
        let intro = self.entries.get(INDEX_NOTEBOOK).map_or(0, |_| self.page_key(INDEX_NOTEBOOK));
        let start = Stamp::new().number(self.epoch).number(intro).number(self.outside_stamp.value());
        let start = start.number(self.lookup_stamp());
        self.order
            .iter()
            .fold(start, |stamp, path| {
                stamp.text(path).number(self.entries.get(path).map_or(0, |entry| entry.index_stamp))
            })
            .value()
    }

    pub(super) fn index_page(
        &self,
        intro: String,
        errors: Vec<FindingContext>,
        has_sheets: bool,
    ) -> Result<OutputFile, Box<Finding>> {
        let own_heading = self.entries.get(INDEX_NOTEBOOK).is_some_and(|entry| entry.notebook.has_title);
        let has_lookup =
            self.entries.get(INDEX_NOTEBOOK).is_some_and(|entry| entry.notebook.slots.contains(&Slot::Contents));
        let heading = if own_heading { "" } else { &self.site.title };
        let (due, due_more) = self.due_rows();
        let context = IndexContext {
            site: &self.site,
            root: "",
            heading,
            intro,
            groups: self.index_groups(),
            due,
            due_more,
            corrections: self.errata_contexts(INDEX_NOTEBOOK),
            lookup: if has_lookup { Vec::new() } else { self.lookup(INDEX_NOTEBOOK) },
            is_long: MANY < self.order.len(),
            errors,
            has_sheets,
            version: VERSION,
        };
        Ok(OutputFile { path: "index.html".to_owned(), bytes: self.render_template("index.html", &context)? })
    }

    fn index_groups(&self) -> Vec<IndexGroup> {
        // The index of a very large collection has its folders, and their notebooks are listed on pages of their own.
        let is_short = !self.has_notebook_list();
        let mut groups: Vec<IndexGroup> = Vec::new();
        for (n_before, path) in self.order.iter().enumerate() {
            let Some(entry) = self.entries.get(path) else { continue };
            let folder = path.rsplit_once('/').map_or("", |(folder, _)| folder);
            if groups.last().is_none_or(|group| group.title != folder) {
                let anchor = if folder.is_empty() { String::new() } else { folder_anchor(folder) };
                let href = if is_short { String::new() } else { self.folder_href(n_before) };
                groups.push(IndexGroup { title: folder.to_owned(), anchor, entries: Vec::new(), count: 0, href });
            }
            if let Some(group) = groups.last_mut() {
                group.count += 1;
                if is_short {
                    group.entries.push(index_entry(entry));
                }
            }
        }
        groups
    }
}

/// The anchor of a folder in the index.
pub(super) fn folder_anchor(folder: &str) -> String {
    format!("folder-{}", percent_encoded(folder))
}

/// What lists say of the formulas of a notebook.
pub(super) fn index_formulas(entry: &Entry) -> Vec<IndexFormula> {
    let page = percent_encoded(&entry.notebook.page_path());
    entry
        .formulas
        .iter()
        .filter_map(|state| {
            let computed = state.computed.as_ref()?;
            let formula = &computed.formula;
            Some(IndexFormula {
                id: formula.id.clone(),
                title: formula.title.clone().unwrap_or_else(|| formula.id.clone()),
                product: formula.product.as_ref().map_or_else(String::new, |product| product.name.clone()),
                href: format!("{page}#sheet-{}", formula.id),
                active: crate::compute::active_figure(computed).map_or_else(String::new, |figure| figure_text(&figure)),
                batch: figure_text(&crate::compute::batch_figure(computed, &computed.sheet)),
                ph: formula.ph.map_or_else(String::new, |ph| show::ends(ph.low.value(), ph.high.value())),
            })
        })
        .collect()
}

pub(super) fn index_entry(entry: &Entry) -> IndexEntry {
    let notebook = &entry.notebook;
    let mut findings = IndexTally::default();
    for finding in entry.all_findings() {
        match finding.severity() {
            Severity::Caution if finding.kind.name != "handle-with-care" => findings.cautions += 1,
            Severity::Question => findings.questions += 1,
            Severity::Note => findings.notes += 1,
            Severity::Caution | Severity::Error => {}
        }
    }
    IndexEntry {
        title: entry.title(),
        href: percent_encoded(&notebook.page_path()),
        path: notebook.path.to_string(),
        summary: entry.filled(&notebook.summary),
        formulas: index_formulas(entry),
        findings,
    }
}
