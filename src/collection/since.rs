//! What a collection says now beside what it said at another time: an earlier publish, or an earlier state of its notebooks.
//!
//! Both are taken as the data files of their pages, so that it makes no difference which of them an author kept. A number counts as changed as it does for
//! corrections (`errata.rs`): what hangs on the batch is reckoned for the batch of then.

use super::compare::pair_findings;
use super::errata::ChangedNumber;
use super::state::ids_of;
use super::{Collection, Entry};
use crate::compute::{FoundChanges, OrderChange, order_changes};
use crate::page::{FormerFinding, FormerPage, FormerPart};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// A collection at one time.
#[derive(Clone, Debug, Default)]
pub struct State {
    /// Its pages.
    pub pages: Vec<FormerPage>,
    /// The ids of what could not be computed, because it has errors.
    pub not_computed: BTreeSet<String>,
}

/// What is different from another time.
#[derive(Clone, Debug, Default)]
pub struct Since {
    /// Formulas and blocks with something different, by their notebooks and ids.
    pub parts: Vec<PartSince>,
    /// What is found and was not, or no more, by notebook.
    pub found: Vec<(String, FoundChanges<FormerFinding>)>,
    /// Formulas and blocks that were not there.
    pub come: Vec<PartName>,
    /// Formulas and blocks that are there no more.
    pub gone: Vec<PartName>,
    /// The ids of those in which nothing is different.
    pub unchanged: Vec<String>,
    /// The ids of what is not compared because it had or has errors.
    pub not_computed: BTreeSet<String>,
}

/// What a formula or block is called.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartName {
    /// Its id.
    pub id: String,
    /// The title of a formula, or empty.
    pub title: String,
    /// Path of its notebook.
    pub notebook: String,
}

/// What is different in a formula or block. A pair is then and now.
#[derive(Clone, Debug)]
pub struct PartSince {
    /// What it is called now.
    pub name: PartName,
    /// The notebook, where it stands in another one.
    pub notebook: Option<(String, String)>,
    /// The author's version.
    pub version: Option<(String, String)>,
    /// The check value.
    pub check: Option<(String, String)>,
    /// The batch.
    pub batch: Option<(String, String)>,
    /// The pH specification.
    pub specification: Option<(String, String)>,
    /// Raw materials that are in other phases: as written, the letters then and now.
    pub moved: Vec<(String, Vec<String>, Vec<String>)>,
    /// Its numbers.
    pub numbers: Vec<ChangedNumber>,
    /// An ingredient declaration's names.
    pub declaration: Vec<OrderChange>,
}

impl PartSince {
    fn is_nothing(&self) -> bool {
        let pairs = [&self.notebook, &self.version, &self.check, &self.batch, &self.specification];
        pairs.iter().all(|pair| pair.is_none())
            && self.moved.is_empty()
            && self.numbers.is_empty()
            && self.declaration.is_empty()
    }
}

/// A part with its notebook.
type Standing<'a> = (&'a FormerPage, &'a FormerPart);

impl Collection {
    /// This collection as its pages would say it now.
    pub fn state(&self) -> State {
        let of_one = |(path, entry): (&std::sync::Arc<str>, &Entry)| {
            let page = self.data_of(path).and_then(|data| FormerPage::read(&data).ok());
            let ids: BTreeSet<String> = ids_of(&entry.notebook).map(|(id, _, _)| id.value.clone()).collect();
            (page, ids)
        };
        let read: Vec<(Option<FormerPage>, BTreeSet<String>)> = self.entries.par_iter().map(of_one).collect();
        let mut state = State::default();
        for (page, ids) in read {
            let stands =
                |id: &String| page.as_ref().and_then(|page| page.parts.get(id)).is_some_and(|part| part.is_here);
            state.not_computed.extend(ids.into_iter().filter(|id| !stands(id) && self.is_without_result(id)));
            state.pages.extend(page);
        }
        state
    }

    /// Whether a formula or block has nothing computed. Expectations never stand on a page by their id.
    fn is_without_result(&self, id: &str) -> bool {
        self.formula(id).is_none() && self.answer(id).is_none()
    }

    /// What is different from what was said at another time; of these formulas and what builds on them alone, where any are given.
    pub fn since(&self, then: &State, only: &[&str]) -> Since {
        let now = self.state();
        let (before, after) = (standing(&then.pages), standing(&now.pages));
        let is_wanted =
            |part: &FormerPart, id: &str| only.is_empty() || only.contains(&id) || only.contains(&&*part.formula);
        let mut since = Since::default();
        let ids: BTreeSet<&str> = before.keys().chain(after.keys()).copied().collect();
        for id in ids {
            let (was, is) = (before.get(id), after.get(id));
            if !was.or(is).is_some_and(|(_, part)| is_wanted(part, id)) {
                continue;
            }
            let unknown = then.not_computed.contains(id) || now.not_computed.contains(id);
            match (was, is) {
                _ if unknown => {
                    since.not_computed.insert(id.to_owned());
                }
                (Some(was), Some(is)) => {
                    let part =
                        self.part_since(id, (before.get(&*was.1.formula), after.get(&*was.1.formula)), *was, *is);
                    match part.is_nothing() {
                        true => since.unchanged.push(id.to_owned()),
                        false => since.parts.push(part),
                    }
                }
                (Some(gone), None) => since.gone.push(name_of(id, *gone)),
                (None, Some(come)) => since.come.push(name_of(id, *come)),
                (None, None) => {}
            }
        }
        since.parts.sort_by(|one, other| one.name.notebook.cmp(&other.name.notebook));
        since.found = found_since(&then.pages, &now.pages, only);
        since
    }

    fn part_since(
        &self,
        id: &str,
        formula: (Option<&Standing<'_>>, Option<&Standing<'_>>),
        (old_page, old): Standing<'_>,
        (new_page, new): Standing<'_>,
    ) -> PartSince {
        let pair = |old: &str, new: &str| (old != new).then(|| (old.to_owned(), new.to_owned()));
        let batch = |part: &FormerPart| part.batch.clone().unwrap_or_default();
        // What is weighed for another batch, as a method is, cannot be weighed for the old one.
        let batch_of = |standing: Option<&Standing<'_>>| standing.and_then(|(_, part)| part.batch.clone());
        let is_comparable = batch_of(formula.0) == batch_of(formula.1);
        let numbers = if is_comparable { self.changed_numbers(id, old, new) } else { Vec::new() };
        let stay = new.phases.iter().filter_map(|(line, is)| Some((line, old.phases.get(line)?, is)));
        PartSince {
            name: name_of(id, (new_page, new)),
            notebook: pair(&old_page.notebook, &new_page.notebook),
            version: pair(&old.version, &new.version),
            check: pair(&old.check, &new.check),
            batch: pair(&batch(old), &batch(new)),
            specification: pair(&old.specification, &new.specification),
            moved: stay
                .filter(|(_, was, is)| was != is)
                .map(|(line, was, is)| (line.clone(), was.clone(), is.clone()))
                .collect(),
            numbers: numbers.into_iter().filter(|changed| changed.number.address != "batch").collect(),
            declaration: order_changes(&old.declared, &new.declared),
        }
    }
}

fn standing(pages: &[FormerPage]) -> BTreeMap<&str, Standing<'_>> {
    let parts = pages.iter().flat_map(|page| page.parts.iter().map(move |(id, part)| (id.as_str(), (page, part))));
    parts.filter(|(_, (_, part))| part.is_here).collect()
}

fn name_of(id: &str, (page, part): Standing<'_>) -> PartName {
    PartName { id: id.to_owned(), title: part.title.clone(), notebook: page.notebook.clone() }
}

/// What is found about the notebooks that were there and are; with formulas given, about their notebooks.
fn found_since(then: &[FormerPage], now: &[FormerPage], only: &[&str]) -> Vec<(String, FoundChanges<FormerFinding>)> {
    let is_wanted = |page: &FormerPage| {
        only.is_empty() || only.iter().any(|id| page.parts.get(*id).is_some_and(|part| part.is_here))
    };
    let plain = |finding: &FormerFinding| (finding.name.clone(), finding.what.clone());
    let mut found = Vec::new();
    for page in now.iter().filter(|page| is_wanted(page)) {
        let Some(before) = then.iter().find(|before| before.notebook == page.notebook) else { continue };
        let list = |page: &FormerPage| page.findings.iter().cloned().collect::<Vec<_>>();
        let changes = pair_findings(&list(before), &list(page), &plain);
        if !changes.is_empty() {
            found.push((page.notebook.clone(), changes));
        }
    }
    found
}
