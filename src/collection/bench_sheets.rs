//! The bench sheets: for each formula a page to be printed and written on, with the first method that the collection has for it.
//!
//! Like the page of a raw material it is made of no notebook of its own, and is known by the path it is written to.

use super::Collection;
use super::assemble::{OutputFile, PROGRAM, VERSION, data_path, json_bytes, percent_encoded, relative};
use super::state::{Entry, FormulaState};
use crate::compute::Answer;
use crate::page::{BenchSheetContext, Hrefs, block_context, finding_context, running_foot, sheet_context};
use crate::report::{Finding, Severity};
use crate::stamp::Stamp;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The folder of the bench sheets in the output.
const FOLDER: &str = "bench";

/// The methods, by the id of their formula: the first in the notebook of the formula, or else the first of the collection.
#[derive(Default)]
pub(super) struct Methods {
    of_formula: BTreeMap<String, (Arc<str>, usize)>,
}

/// The bench sheet of a formula.
pub(super) fn bench_page(id: &str) -> String {
    format!("{FOLDER}/{id}.html")
}

/// The formula of a bench sheet; `None` for any other page.
pub(super) fn formula_of(page: &str) -> Option<&str> {
    page.strip_prefix(FOLDER)?.strip_prefix('/')?.strip_suffix(".html")
}

impl Collection {
    /// Gathers which method goes with which formula.
    pub(super) fn gather_methods(&mut self) {
        let mut of_formula: BTreeMap<String, (Arc<str>, usize)> = BTreeMap::new();
        for path in self.entries_in_order() {
            let Some(entry) = self.entries.get(path) else { continue };
            for (index, state) in entry.blocks.iter().enumerate() {
                let Some(Answer::Method(method)) = state.answer.as_deref() else { continue };
                let home = self.formulas.get(&method.formula).map(|(home, _)| home);
                let is_nearer =
                    of_formula.get(&method.formula).is_none_or(|(known, _)| Some(path) == home && Some(known) != home);
                if is_nearer {
                    of_formula.insert(method.formula.clone(), (Arc::clone(path), index));
                }
            }
        }
        self.methods = Methods { of_formula };
    }

    /// The bench sheets of all formulas that could be computed.
    pub(super) fn bench_pages(&self) -> impl Iterator<Item = Arc<str>> {
        let sound = self.formulas.keys().filter(|id| self.formula(id).is_some());
        sound.map(|id| Arc::from(bench_page(id)))
    }

    /// A hash over everything that a bench sheet shows.
    pub(super) fn bench_key(&self, id: &str) -> u64 {
        let stamp = Stamp::new().number(self.epoch).number(self.outside_stamp.value());
        let Some((entry, state)) = self.formula_state(id) else { return stamp.value() };
        let stamp = stamp.text(&entry.notebook.path).text(&entry.title()).number(state.stamp);
        let stamp = state.findings.iter().fold(stamp, Stamp::finding);
        let Some((path, index)) = self.methods.of_formula.get(id) else { return stamp.value() };
        let block = self.entries.get(path).and_then(|entry| entry.blocks.get(*index));
        block.map_or(stamp, |block| block.findings.iter().fold(stamp.number(block.stamp), Stamp::finding)).value()
    }

    /// A bench sheet with its data file.
    pub(super) fn render_bench_sheet(&self, id: &str) -> Result<Vec<OutputFile>, Box<Finding>> {
        let Some((entry, state)) = self.formula_state(id) else { return Ok(Vec::new()) };
        let Some(computed) = state.computed.as_deref() else { return Ok(Vec::new()) };
        let page = bench_page(id);
        let data_path = data_path(&page);
        let nowhere = |_: &str| String::new();
        let hrefs = Hrefs { sheet: &nowhere, material: &nowhere, bench: &nowhere, lot: &|_, _| String::new() };
        let mut sheet = sheet_context(computed, Vec::new(), hrefs);
        let method = self.methods.of_formula.get(id).and_then(|(path, index)| {
            let block = self.entries.get(path)?.blocks.get(*index)?;
            if let Answer::Method(method) = block.answer.as_deref()? {
                sheet.follow(method);
            }
            let context = block_context(block.answer.as_deref()?, "", Vec::new(), hrefs);
            Some((context, block.findings.as_slice()))
        });
        let of_method = method.as_ref().map_or(&[][..], |(_, findings)| *findings);
        let mut cautions = cautions(state, of_method);
        // As on the notebook's page: what this formula alone brings must not be buried under what every powder does.
        cautions.sort_by_key(|finding| finding.kind.name == "handle-with-care");
        let context = BenchSheetContext {
            site: &self.site,
            root: "../",
            foot: running_foot("", std::iter::once(&sheet)),
            f: sheet,
            method: method.map(|(context, _)| context),
            cautions: cautions.into_iter().map(|finding| finding_context(finding, None)).collect(),
            sheet_href: sheet_href(entry, &page, id),
            notebook: entry.title(),
            errors: self.outside_contexts(),
            data_href: percent_encoded(data_path.rsplit('/').next().unwrap_or_default()),
            version: VERSION,
        };
        let data = serde_json::json!({
            "schema": "tarebook bench sheet 1",
            "program": PROGRAM,
            "page": page,
            "title": context.f.title(),
            "formula": &context.f,
            "method": &context.method,
            "cautions": &context.cautions,
        });
        let bytes = self.render_template("bench-sheet.html", &context)?;
        Ok(vec![OutputFile { path: page, bytes }, OutputFile { path: data_path, bytes: json_bytes(&data) }])
    }
}

/// The link from a bench sheet back to the sheet on its notebook's page.
fn sheet_href(entry: &Entry, page: &str, id: &str) -> String {
    format!("{}#sheet-{id}", relative(page, &entry.notebook.page_path()))
}

/// The cautions about a formula and its method, each once. A variant brings its own even where its notebook leaves them to its parent.
fn cautions<'a>(state: &'a FormulaState, of_method: &'a [Finding]) -> Vec<&'a Finding> {
    let mut cautions: Vec<&Finding> = Vec::new();
    for finding in state.findings.iter().chain(of_method) {
        let is_said = cautions.iter().any(|other| other.kind == finding.kind && other.what == finding.what);
        if finding.severity() == Severity::Caution && !is_said {
            cautions.push(finding);
        }
    }
    cautions
}
