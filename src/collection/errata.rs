//! Corrections: which published numbers are different now, and the lists that pages show.
//!
//! A publish is compared with the one before it by the data files of both. What counts is what a reader saw: a number has changed when its
//! value and its text are both different, so that another way of writing it is no correction. Numbers that hang on the batch are
//! compared at the batch size that was published.

use super::{Collection, Entry, assemble};
use crate::model::{Erratum, ErratumNumber, errata_path, notebook_of_errata, read_errata};
use crate::page::{ErratumContext, FormerNumber, FormerPage, FormerPart, erratum_context, number_context};
use crate::quantity::{Date, Decimal};
use crate::report::{Finding, Place, echo, kind};
use crate::stamp::Stamp;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The corrections of a notebook, read.
#[derive(Clone, Debug, Default)]
pub(super) struct ErrataState {
    text: Arc<str>,
    pub(super) errata: Vec<Erratum>,
    pub(super) findings: Vec<Finding>,
    pub(super) stamp: u64,
}

/// What is to be added to the corrections of a notebook.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewErrata {
    /// The file of corrections.
    pub path: Arc<str>,
    /// The whole text afterwards.
    pub text: String,
    /// How many numbers are added.
    pub numbers: usize,
}

/// A number that is different from what a page said.
#[derive(Clone, Debug)]
pub struct ChangedNumber {
    /// Then and now.
    pub number: ErratumNumber,
    /// Now − then, where both are exact numbers of one unit.
    pub by: Option<Decimal>,
}

impl Collection {
    /// Reads the files of corrections whose text changed.
    pub(super) fn take_errata(&mut self) {
        let sources = &self.sources.errata;
        self.errata.retain(|notebook, _| sources.contains_key(errata_path(notebook).as_str()));
        for (path, text) in sources {
            let Some(notebook) = notebook_of_errata(path) else { continue };
            let is_stray = !self.sources.notebooks.contains_key(notebook.as_str());
            let known = self.errata.get(notebook.as_str());
            let was_stray =
                known.is_some_and(|state| state.findings.iter().any(|one| one.kind == kind::STRAY_CORRECTIONS));
            if known.is_some_and(|state| state.text == *text && was_stray == is_stray) {
                continue;
            }
            let (errata, mut findings) = read_errata(path, text);
            if is_stray {
                let what = format!("There is no notebook `{}` for these corrections.", echo(&notebook));
                findings.push(Finding::new(kind::STRAY_CORRECTIONS, Place::start_of(path), what));
            }
            let stamp = Stamp::new().text(text).value();
            let state = ErrataState { text: Arc::clone(text), errata, findings, stamp };
            self.errata.insert(Arc::from(notebook.as_str()), state);
        }
    }

    /// The corrections that a page shows, the newest first.
    pub(super) fn errata_contexts(&self, notebook: &str) -> Vec<ErratumContext> {
        let errata = self.errata.get(notebook).map(|state| state.errata.as_slice()).unwrap_or_default();
        let mut contexts: Vec<ErratumContext> = errata
            .iter()
            .map(|erratum| {
                let title = self.formula(&erratum.of).and_then(|computed| computed.formula.title.clone());
                let href = self.sheet_href(notebook, &erratum.of);
                erratum_context(erratum, title.unwrap_or_else(|| erratum.of.clone()), href)
            })
            .collect();
        contexts.sort_by(|left, right| right.date.cmp(&left.date));
        contexts
    }

    /// What the files of corrections become when this state is published on a day after that one. `former` gives the data file that an earlier
    /// publish left for a page, where it did.
    pub fn new_errata(&self, date: Date, former: &(dyn Fn(&str) -> Option<Vec<u8>> + Sync)) -> Vec<NewErrata> {
        let of_one = |(path, entry): (&Arc<str>, &Entry)| {
            let data = assemble::data_path(&entry.notebook.page_path());
            // What is no data file of ours has nothing to be compared with.
            let before = former(&data)?;
            let now = self.data_of(path)?;
            if before == now {
                return None;
            }
            let (before, now) = (FormerPage::read(&before).ok()?, FormerPage::read(&now).ok()?);
            let listed = self.errata.get(path).map(|state| state.errata.as_slice()).unwrap_or_default();
            let errata = self.compared(&before, &now, date, listed);
            if errata.is_empty() {
                return None;
            }
            let numbers = errata.iter().map(|erratum| erratum.numbers.len()).sum();
            let old = self.errata.get(path).map_or(crate::model::ERRATA_HEAD, |state| &state.text);
            let mut text = old.trim_end().to_owned();
            text.push('\n');
            text.extend(errata.iter().map(Erratum::to_toml));
            Some(NewErrata { path: errata_path(path).into(), text, numbers })
        };
        self.entries.par_iter().filter_map(of_one).collect()
    }

    fn compared(&self, before: &FormerPage, now: &FormerPage, date: Date, listed: &[Erratum]) -> Vec<Erratum> {
        let mut errata = Vec::new();
        for (id, old) in &before.parts {
            let Some(new) = now.parts.get(id) else { continue };
            // A method weighed for another batch is no correction of it, and cannot be weighed for the old one.
            let batch_of = |page: &FormerPage| page.parts.get(&old.formula).and_then(|part| part.batch.clone());
            if batch_of(before) != batch_of(now) {
                continue;
            }
            let changed = self.changed_numbers(id, old, new);
            let mut numbers: Vec<ErratumNumber> = changed.into_iter().map(|changed| changed.number).collect();
            numbers.retain(|number| !is_listed(listed, id, number));
            let pair = |old: &str, new: &str| {
                (!old.is_empty() && !new.is_empty() && old != new).then(|| (old.to_owned(), new.to_owned()))
            };
            if !numbers.is_empty() {
                errata.push(Erratum {
                    date,
                    of: id.clone(),
                    check: pair(&old.check, &new.check),
                    version: pair(&old.version, &new.version),
                    note: None,
                    numbers,
                });
            }
        }
        errata
    }

    /// The numbers of a formula or block that are different now from what a page said, in the order of the sheet as it was, what is new at the end.
    /// Those that hang on the batch are reckoned for the one that was published.
    pub(super) fn changed_numbers(&self, id: &str, old: &FormerPart, new: &FormerPart) -> Vec<ChangedNumber> {
        let place_of = |address: &str| {
            let of_line = address.rsplit_once('/').map_or("", |(line, _)| line);
            let first = old.order.iter().position(|one| one.rsplit_once('/').map_or("", |(line, _)| line) == of_line);
            let last = match address.rsplit('/').next() {
                Some("percent") => 0,
                Some("weight") => 1,
                _ => 2,
            };
            (first.filter(|_| !of_line.is_empty()).unwrap_or(usize::MAX), last)
        };
        let addresses: BTreeSet<&String> = old.numbers.keys().chain(new.numbers.keys()).collect();
        let mut addresses: Vec<&String> = addresses.into_iter().collect();
        addresses.sort_by_key(|address| place_of(address));
        addresses.retain(|address| !repeats(address, &old.numbers) && !repeats(address, &new.numbers));
        let change = |address: &String| {
            let (was, is) = (old.numbers.get(address), new.numbers.get(address));
            let is = self.at_batch_of(id, address, was, is, old.batch.as_deref(), new.batch.as_deref());
            let number = changed(address, was, is.as_ref(), old.batch.as_deref())?;
            Some(ChangedNumber { number, by: was.zip(is.as_ref()).and_then(|(was, is)| by_how_much(was, is)) })
        };
        addresses.into_iter().filter_map(change).collect()
    }

    /// The number as it is now at the batch size that was published, where another size is published now.
    fn at_batch_of(
        &self,
        id: &str,
        address: &str,
        was: Option<&FormerNumber>,
        is: Option<&FormerNumber>,
        old: Option<&str>,
        new: Option<&str>,
    ) -> Option<FormerNumber> {
        let same = is.cloned();
        let (Some(_), Some(old), Some(new)) = (was, old, new) else { return same };
        // `batch` itself is compared as it is, and a query has a batch of its own.
        if old == new || address == "batch" || address.contains('?') {
            return same;
        }
        let path: Vec<&str> = address.split('/').collect();
        match self.figure(id, &path, Some(old)) {
            Some(Ok(figure)) => Some(FormerNumber::of(&number_context(&figure, None, None))),
            _ => same,
        }
    }
}

/// Whether a number only says again what another one says: a line under its phase, or the check value, which has a place of its own.
fn repeats(address: &str, numbers: &BTreeMap<String, FormerNumber>) -> bool {
    let parts: Vec<&str> = address.split('/').collect();
    match parts.as_slice() {
        ["check-value" | "version"] => true,
        ["phase", _, line, what] => numbers.contains_key(&format!("{line}/{what}")),
        _ => false,
    }
}

fn changed(
    address: &str,
    was: Option<&FormerNumber>,
    is: Option<&FormerNumber>,
    batch: Option<&str>,
) -> Option<ErratumNumber> {
    if let (Some(was), Some(is)) = (was, is)
        && (was.is_same_value(is) || was.text == is.text)
    {
        return None;
    }
    // A number that a page stops showing, or shows for the first time, is no correction unless it is a line of the formula.
    let is_line = matches!(address.split('/').collect::<Vec<_>>().as_slice(), [_, "percent" | "weight"]);
    if (was.is_none() || is.is_none()) && !is_line {
        return None;
    }
    let one = was.or(is)?;
    let text = |number: Option<&FormerNumber>| number.map(|number| number.text.clone()).unwrap_or_default();
    let hangs_on_batch = one.unit == "g" && address != "batch" && !address.contains("batch=");
    Some(ErratumNumber {
        address: address.to_owned(),
        what: one.what.clone(),
        old: text(was),
        new: text(is),
        batch: batch.filter(|_| hangs_on_batch).unwrap_or_default().to_owned(),
    })
}

fn by_how_much(was: &FormerNumber, is: &FormerNumber) -> Option<Decimal> {
    let exact = |number: &FormerNumber| {
        let is_range = number.low != number.high;
        number.value.parse::<Decimal>().ok().filter(|_| !is_range)
    };
    exact(is)?.checked_sub(exact(was)?).filter(|_| was.unit == is.unit)
}

/// Whether the last entry about this number already says so: a publish that failed half-way is not counted twice.
fn is_listed(listed: &[Erratum], id: &str, number: &ErratumNumber) -> bool {
    let plain = |text: &str| text.replace('\u{a0}', " ");
    let mut of_this = listed.iter().filter(|erratum| erratum.of == id).flat_map(|erratum| &erratum.numbers);
    let last = of_this.rfind(|one| one.address == number.address);
    last.is_some_and(|last| plain(&last.old) == plain(&number.old) && plain(&last.new) == plain(&number.new))
}
