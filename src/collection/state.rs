//! What is kept of each notebook between updates.

use super::Collection;
use super::blocks::BlockState;
use crate::block::{FORMULA, FormulaBlock, Placed, RowFiles};
use crate::caution::{Case, claims, examine, loose};
use crate::compute::{Computed, Value};
use crate::model::{expand, parent_failed, resolve};
use crate::notebook::{Notebook, ReadOptions, Words};
use crate::page::value_text_in;
use crate::quantity::MassUnit;
use crate::report::{Finding, Place, Severity, echo, kind};
use crate::stamp::Stamp;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

/// A notebook with everything worked out for it.
#[derive(Clone, Debug)]
pub struct Entry {
    /// The notebook as read.
    pub notebook: Arc<Notebook>,
    /// How it was read.
    pub(super) options: ReadOptions,
    /// Hash of the text of each formula block.
    pub(super) block_stamps: Vec<u64>,
    /// Hash of the files that its blocks read rows from.
    pub(super) rows_stamp: u64,
    /// Hash of the whole text, those files counted in.
    pub(super) text_stamp: u64,
    /// Its formulas.
    pub formulas: Vec<FormulaState>,
    /// Its blocks of other kinds.
    pub blocks: Vec<BlockState>,
    /// What the prose promises wrongly, and which of its numbers disagree.
    pub(super) prose_findings: Vec<Finding>,
    /// Hash over what the formulas were computed from.
    pub(super) compute_stamp: u64,
    /// For each calc link its figure.
    pub(super) numbers: Vec<Option<super::links::Linked>>,
    /// Hash over what the calc links were looked up in.
    pub(super) link_stamp: u64,
    /// What the look-up of links and calc links found.
    pub(super) link_findings: Vec<Finding>,
    /// Findings about ids that two formulas share.
    pub(super) id_findings: Vec<Finding>,
    /// Findings about batch numbers that a record shares with an earlier one.
    pub(super) number_findings: Vec<Finding>,
    /// Hash over all findings.
    pub(super) findings_stamp: u64,
    /// Other notebooks that its findings lead to as well; the data beside the page shows their lines.
    pub(super) further: BTreeSet<Arc<str>>,
    /// The raw materials that its formulas hold.
    pub(super) uses: Vec<super::materials::UsedIn>,
    /// The lots that its formulas and batch records name.
    pub(super) lots: Vec<super::lots::HeldLot>,
    /// Hash over what the index shows of the notebook.
    pub(super) index_stamp: u64,
    /// For each link to a term where it is explained.
    pub(super) terms: Vec<Option<super::glossary::Explained>>,
    /// How many formulas the list of product types has of it, and a hash over what it says of them.
    pub(super) n_formulas: usize,
    pub(super) products_stamp: u64,
    /// How many findings the list of findings has of it, and a hash over what it says of them.
    pub(super) n_listed: usize,
    pub(super) found_stamp: u64,
    /// Whether the stamps above have to be made again.
    pub(super) is_touched: bool,
}

/// What taking in the notebooks changed.
pub(super) struct Taken {
    /// Notebooks came or went.
    pub(super) paths: bool,
    /// Formulas' ids came, went or moved.
    pub(super) ids: bool,
}

/// What computing a notebook gave: its path, its stamp, its formulas, and what its prose says wrongly.
type Done = (Arc<str>, u64, Vec<FormulaState>, Vec<Finding>);

/// A formula of a notebook.
#[derive(Clone, Debug)]
pub struct FormulaState {
    /// Everything computed, unless errors stand against it.
    pub computed: Option<Arc<Computed>>,
    /// What was found while resolving and judging it.
    pub findings: Vec<Finding>,
    /// Hash of its block, its parents' blocks, settings and materials.
    pub stamp: u64,
}

impl Entry {
    /// The notebook's title with its numbers filled in.
    pub fn title(&self) -> String {
        self.filled(&self.notebook.title)
    }

    /// Words of the notebook with their numbers filled in; one that could not be computed is as the author wrote it.
    pub fn filled(&self, words: &Words) -> String {
        words.filled(|index| self.number_text(index))
    }

    /// The number of a calc link as text.
    pub(super) fn number_text(&self, index: usize) -> String {
        match self.numbers.get(index) {
            Some(Some(linked)) => value_text_in(&linked.figure.value, linked.unit, linked.digits),
            _ => self.notebook.calc_links.get(index).map_or_else(String::new, |link| link.text.clone()),
        }
    }

    /// All findings of the notebook.
    pub fn all_findings(&self) -> impl Iterator<Item = &Finding> {
        self.notebook
            .findings
            .iter()
            .chain(&self.id_findings)
            .chain(&self.number_findings)
            .chain(self.formulas.iter().flat_map(|formula| {
                formula.findings.iter().filter(|finding| self.said_by_parent(formula, finding).is_none())
            }))
            .chain(self.blocks.iter().flat_map(|block| &block.findings))
            .chain(&self.link_findings)
            .chain(&self.prose_findings)
    }

    /// What was found about a block of this notebook.
    pub(super) fn blocks_findings(&self, id: &str) -> &[Finding] {
        let index = self.notebook.blocks.iter().position(|block| block.id.as_ref().is_some_and(|one| one.value == id));
        index.and_then(|index| self.blocks.get(index)).map_or(&[], |state| &state.findings)
    }

    /// The formula on the same page that says the very same about handling, a parent or a parent's parent: saying it again in full would only
    /// make the page longer, so that its heads are named. A parent in another notebook does not count.
    fn said_by_parent(&self, formula: &FormulaState, finding: &Finding) -> Option<&str> {
        if finding.kind.name != HANDLING {
            return None;
        }
        let variant = formula.computed.as_ref()?.formula.variant.as_ref()?;
        let home = self.notebook.formulas.iter().position(|block| block.id.value == variant.id)?;
        let parent = self.formulas.get(home)?;
        let same = parent.findings.iter().find(|other| other.kind == finding.kind && other.what == finding.what)?;
        self.said_by_parent(parent, same)
            .or_else(|| self.notebook.formulas.get(home).map(|block| block.id.value.as_str()))
    }

    /// What stands under a variant's sheet in the place of handling that a sheet on the same page says already: where it is said, and its heads.
    pub(super) fn handled_like(&self, formula: &FormulaState) -> Vec<Finding> {
        let mut like: Vec<(&str, Vec<&Finding>)> = Vec::new();
        for finding in &formula.findings {
            let Some(id) = self.said_by_parent(formula, finding) else { continue };
            match like.iter_mut().find(|(known, _)| *known == id) {
                Some((_, findings)) => findings.push(finding),
                None => like.push((id, vec![finding])),
            }
        }
        like.into_iter()
            .filter_map(|(id, findings)| {
                let head = |finding: &&Finding| finding.what.split(':').next().unwrap_or_default().to_owned();
                let heads: Vec<String> = findings.iter().map(head).collect();
                let what =
                    format!("Handle it as is said under the sheet of `{id}` on this page: {}.", heads.join("; "));
                let first = findings.first()?;
                Some(Finding { what, why: None, mend: None, source: None, more: Vec::new(), ..(*first).clone() })
            })
            .collect()
    }
}

/// The kind of how raw materials are handled.
const HANDLING: &str = "handle-with-care";

impl Collection {
    /// Reads the notebooks whose text changed, drops those that are gone.
    pub(super) fn take_notebooks(&mut self) -> Taken {
        let options = ReadOptions { trust_html: self.settings.trust_html };
        let row_files = &self.sources.row_files;
        let is_current = |entry: &Entry, text: &Arc<str>| {
            entry.options == options
                && entry.notebook.text == *text
                && entry.rows_stamp == stamp_of_rows(&entry.notebook, row_files)
        };
        let fresh: Vec<(Arc<str>, Arc<str>)> = self
            .sources
            .notebooks
            .iter()
            .filter(|(path, text)| !self.entries.get(*path).is_some_and(|entry| is_current(entry, text)))
            .map(|(path, text)| (Arc::clone(path), Arc::clone(text)))
            .collect();
        // Findings about an id that stands twice hold places in both notebooks, which move with every edit.
        let had_duplicates = self.entries.values().any(|entry| !entry.id_findings.is_empty());
        let n_before = self.entries.len();
        self.entries.retain(|path, _| self.sources.notebooks.contains_key(path));
        let some_gone = self.entries.len() < n_before;
        let read: Vec<(Arc<str>, Entry)> = fresh
            .into_par_iter()
            .map(|(path, text)| {
                let entry = read_entry(&path, &text, options, row_files);
                (path, entry)
            })
            .collect();
        let mut taken = Taken { paths: some_gone, ids: some_gone || had_duplicates };
        for (path, entry) in read {
            let same = self.entries.get(&path).map(|old| same_ids(&old.notebook, &entry.notebook));
            taken.paths |= same.is_none();
            taken.ids |= same != Some(true);
            self.entries.insert(path, entry);
        }
        taken
    }

    /// Maps ids to formulas; an id used twice belongs to the first, and the others are errors.
    pub(super) fn index_formulas(&mut self) {
        self.formulas.clear();
        self.blocks.clear();
        let mut findings: BTreeMap<Arc<str>, Vec<Finding>> = BTreeMap::new();
        let mut places: BTreeMap<&str, (Place, &str)> = BTreeMap::new();
        for (path, entry) in &self.entries {
            for (id, word, index) in ids_of(&entry.notebook) {
                if let Some((first, first_word)) = places.get(id.value.as_str()) {
                    let name = echo(&id.value);
                    findings.entry(Arc::clone(path)).or_default().push(
                        Finding::new(
                            kind::DUPLICATE_ID,
                            id.place.clone(),
                            match first.path == *path {
                                true => format!("There is already a {first_word} `{name}` in this notebook."),
                                false => format!("There is already a {first_word} `{name}`, in {}.", first.path),
                            },
                        )
                        .also_at(first.clone(), "the first one"),
                    );
                    continue;
                }
                places.insert(&id.value, (id.place.clone(), word));
                let map = if word == FORMULA { &mut self.formulas } else { &mut self.blocks };
                map.insert(id.value.clone(), (Arc::clone(path), index));
            }
        }
        for (path, entry) in &mut self.entries {
            let found = findings.remove(path).unwrap_or_default();
            if found != entry.id_findings {
                entry.id_findings = found;
                entry.is_touched = true;
            }
        }
    }

    pub(super) fn find_block(&self, id: &str) -> Option<(&FormulaBlock, u64)> {
        let (path, index) = self.formulas.get(id)?;
        let entry = self.entries.get(path)?;
        Some((entry.notebook.formulas.get(*index)?, *entry.block_stamps.get(*index)?))
    }

    /// Hash of a block with all its parents.
    fn stamp_of(&self, block: &FormulaBlock, own: u64) -> u64 {
        let mut stamp = Stamp::new().number(self.epoch).number(own);
        let mut next = block.based_on.as_ref();
        // A circle is cut where it could no longer add anything.
        for _ in 0..=self.formulas.len() {
            let Some(parent_id) = next else { break };
            match self.find_block(&parent_id.value) {
                Some((parent, parent_stamp)) => {
                    stamp = stamp.number(parent_stamp);
                    next = parent.based_on.as_ref();
                }
                None => {
                    // Which formulas there are decides what is suggested for a missing one.
                    stamp = self.formulas.keys().fold(stamp.number(0), |stamp, id| stamp.text(id));
                    break;
                }
            }
        }
        stamp.value()
    }

    /// Computes the formulas of notebooks where anything they rest on changed.
    pub(super) fn compute_formulas(&mut self) {
        let mut work: Vec<(Arc<str>, u64, Vec<u64>)> = Vec::new();
        for (path, entry) in &self.entries {
            let stamps: Vec<u64> = entry
                .notebook
                .formulas
                .iter()
                .zip(&entry.block_stamps)
                .map(|(block, own)| self.stamp_of(block, *own))
                .collect();
            // The places in findings move with the text above the block, so the whole text counts too.
            let all = stamps
                .iter()
                .fold(Stamp::new().number(entry.text_stamp).number(self.epoch), |all, one| all.number(*one));
            if all.value() != entry.compute_stamp {
                work.push((Arc::clone(path), all.value(), stamps));
            }
        }
        let done: Vec<Done> = work
            .into_par_iter()
            .filter_map(|(path, all, stamps)| -> Option<Done> {
                let notebook = &self.entries.get(&path)?.notebook;
                let states = self.compute_notebook(&path, notebook, &stamps);
                let mut found = self.judge_claims(&path, notebook, &states);
                found.extend(self.judge_numbers(&path, notebook, &states, false));
                Some((path, all, states, found))
            })
            .collect();
        for (path, all, states, found) in done {
            if let Some(entry) = self.entries.get_mut(&path) {
                entry.formulas = states;
                entry.prose_findings = found;
                entry.compute_stamp = all;
                entry.is_touched = true;
            }
        }
    }

    fn compute_notebook(&self, path: &Arc<str>, notebook: &Notebook, stamps: &[u64]) -> Vec<FormulaState> {
        let blocks = notebook.formulas.iter().zip(stamps);
        blocks
            .map(|(block, stamp)| {
                let work = || self.compute_formula(block);
                let (computed, findings) = catch_unwind(AssertUnwindSafe(work))
                    .unwrap_or_else(|_| (None, vec![broken(path, block.place.span.start)]));
                FormulaState { computed: computed.map(Arc::new), findings, stamp: *stamp }
            })
            .collect()
    }

    /// What the prose promises wrongly, judged where the formulas are: it depends on the same texts and settings.
    fn judge_claims(&self, path: &Arc<str>, notebook: &Notebook, states: &[FormulaState]) -> Vec<Finding> {
        let computed = |index: usize| states.get(index)?.computed.as_deref();
        catch_unwind(AssertUnwindSafe(|| claims::judge(notebook, computed, &self.catalogue, &self.settings)))
            .unwrap_or_else(|_| vec![broken(path, 0)])
    }

    /// Which numbers of the prose disagree with the formulas of the notebook; with `all` also those that agree.
    fn judge_numbers(&self, path: &Arc<str>, notebook: &Notebook, states: &[FormulaState], all: bool) -> Vec<Finding> {
        let computed = |index: usize| states.get(index)?.computed.as_deref();
        let show = |value: &Value, unit: Option<MassUnit>| value_text_in(value, unit, None);
        let means = loose::Means { catalogue: &self.catalogue, settings: &self.settings, show: &show, all };
        catch_unwind(AssertUnwindSafe(|| loose::judge(notebook, computed, means)))
            .unwrap_or_else(|_| vec![broken(path, 0)])
    }

    /// The numbers of the prose that are no calc links and agree with the formulas, with the link to paste for each.
    pub fn agreeing_numbers(&self) -> Vec<Finding> {
        let judged = self
            .entries
            .par_iter()
            .flat_map_iter(|(path, entry)| self.judge_numbers(path, &entry.notebook, &entry.formulas, true));
        judged.filter(|finding| finding.severity() == Severity::Note).collect()
    }

    fn compute_formula(&self, block: &FormulaBlock) -> (Option<Computed>, Vec<Finding>) {
        let find = |id: &str| self.find_block(id).map(|(block, _)| block);
        let ids = || self.formulas.keys().cloned().collect();
        let (expanded, mut findings) = expand(block, &find, &ids);
        let Some((expanded, variant)) = expanded else { return (None, findings) };
        let (formula, found) = resolve(&expanded, variant, &self.catalogue, &self.settings);
        // A parent's own mistakes are reported with the parent; here they only stop the variant. Errors about lines taken over
        // stand at `based-on` as well, and they are the variant's own when the parent is sound without its changes.
        let failed_parent = block.based_on.as_ref().filter(|parent| formula.is_none() && !self.is_sound(&parent.value));
        findings.extend(found.into_iter().filter(|finding| {
            failed_parent.is_none_or(|parent| finding.place != parent.place) || finding.severity() != Severity::Error
        }));
        if let Some(parent) = failed_parent.filter(|_| findings.is_empty() && !block.broken) {
            findings.push(parent_failed(parent));
        }
        let Some(formula) = formula.filter(|_| findings.iter().all(|finding| finding.severity() != Severity::Error))
        else {
            return (None, findings);
        };
        let computed = Computed::new(formula);
        let case = Case { computed: &computed, catalogue: &self.catalogue, settings: &self.settings };
        findings.extend(examine(&case));
        (Some(computed), findings)
    }

    /// Whether a formula can be computed.
    fn is_sound(&self, id: &str) -> bool {
        let find = |id: &str| self.find_block(id).map(|(block, _)| block);
        let Some(block) = find(id) else { return false };
        let (expanded, _) = expand(block, &find, &Vec::new);
        expanded.is_some_and(|(block, variant)| resolve(&block, variant, &self.catalogue, &self.settings).0.is_some())
    }
}

/// The ids of a notebook with the word of their block and their index among its kind, formulas first.
pub(super) fn ids_of(notebook: &Notebook) -> impl Iterator<Item = (&Placed<String>, &'static str, usize)> {
    let formulas = notebook.formulas.iter().enumerate().map(|(index, block)| (&block.id, FORMULA, index));
    let blocks = notebook.blocks.iter().enumerate();
    let blocks = blocks.filter_map(|(index, block)| Some((block.id.as_ref()?, block.word, index)));
    formulas.chain(blocks).filter(|(id, _, _)| !id.value.is_empty())
}

/// Whether two readings of a notebook name the same formulas and blocks at the same places.
fn same_ids(old: &Notebook, new: &Notebook) -> bool {
    ids_of(old).eq(ids_of(new))
}

/// Hash of the files that a notebook reads rows from.
fn stamp_of_rows(notebook: &Notebook, row_files: &RowFiles) -> u64 {
    let stamp = notebook.row_files().fold(Stamp::new(), |stamp, path| match row_files.get(path) {
        // Which files there are decides what is suggested for a missing one.
        None => row_files.keys().fold(stamp.text(path).number(0), |stamp, known| stamp.text(known)),
        Some(Ok(text)) => stamp.text(path).number(1).text(text),
        Some(Err(why)) => stamp.text(path).number(2).text(why),
    });
    stamp.value()
}

fn read_entry(path: &Arc<str>, text: &Arc<str>, options: ReadOptions, row_files: &RowFiles) -> Entry {
    let notebook = catch_unwind(|| Notebook::read(path, text, options, row_files)).unwrap_or_else(|_| {
        let mut empty = Notebook::read(path, &Arc::from(""), options, row_files);
        empty.text = Arc::clone(text);
        empty.findings.push(broken(path, 0));
        empty
    });
    let block_stamps = notebook
        .formulas
        .iter()
        .map(|block| Stamp::new().text(text.get(block.place.span.clone()).unwrap_or_default()).value())
        .collect();
    let rows_stamp = stamp_of_rows(&notebook, row_files);
    Entry {
        block_stamps,
        rows_stamp,
        // What is read from files counts as if it stood in the notebook.
        text_stamp: Stamp::new().text(path).text(text).number(rows_stamp).value(),
        notebook: Arc::new(notebook),
        options,
        formulas: Vec::new(),
        blocks: Vec::new(),
        prose_findings: Vec::new(),
        compute_stamp: 0,
        numbers: Vec::new(),
        link_stamp: 0,
        link_findings: Vec::new(),
        id_findings: Vec::new(),
        number_findings: Vec::new(),
        findings_stamp: 0,
        further: BTreeSet::new(),
        uses: Vec::new(),
        lots: Vec::new(),
        index_stamp: 0,
        terms: Vec::new(),
        n_formulas: 0,
        products_stamp: 0,
        n_listed: 0,
        found_stamp: 0,
        is_touched: true,
    }
}

/// The finding for a panic inside a notebook.
pub(super) fn broken(path: &Arc<str>, at: usize) -> Finding {
    let place = Place { path: Arc::clone(path), span: at..at };
    Finding::new(kind::BROKEN_PROGRAM, place, "tarebook failed on this notebook.")
}
