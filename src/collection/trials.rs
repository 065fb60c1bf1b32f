//! A series of trials, each beside the formula that it was made from.

use super::Collection;
use crate::block::{Block, Placed, TrialSeriesBlock};
use crate::caution::{examine_trial_series, trial_faults};
use crate::compute::{Answer, BatchRecord, TrialSeries, Tried};
use crate::report::{Finding, echo, kind, suggestion};

impl Collection {
    /// The series of a block; why there is none is reported.
    pub(super) fn trial_series(
        &self,
        block: &Block,
        wanted: &TrialSeriesBlock,
        findings: &mut Vec<Finding>,
    ) -> Option<TrialSeries> {
        let base = wanted.base.as_ref().map(|base| self.formula_for(block, base, findings).map(|_| base));
        // All that is missing is told at once.
        let tried: Vec<Option<Tried<'_>>> = wanted
            .trials
            .iter()
            .map(|trial| {
                let computed = self.formula_for(block, &trial.formula, findings);
                let record = trial.record.as_ref().map(|record| self.record_of(record, &trial.formula, findings));
                let id = trial.formula.value.as_str();
                let against = self.made_from(id, wanted).map(|from| self.compare(&[from, id], None));
                Some(Tried { computed: computed?, record: whole(record)?, against: whole(against)? })
            })
            .collect();
        whole(base)?;
        match TrialSeries::of(wanted, tried.into_iter().collect::<Option<_>>()?) {
            Ok(series) => {
                findings.extend(examine_trial_series(&series, wanted));
                Some(series)
            }
            Err(faults) => {
                findings.extend(trial_faults(&faults, wanted));
                None
            }
        }
    }

    /// What a trial was made from: its own parent, otherwise the base of the series, otherwise the first trial; nothing for what the series starts with.
    fn made_from<'a>(&'a self, id: &str, wanted: &'a TrialSeriesBlock) -> Option<&'a str> {
        let base = wanted.base.as_ref().map(|base| base.value.as_str());
        if base == Some(id) {
            return None;
        }
        let parent = self.find_block(id).and_then(|(formula, _)| formula.based_on.as_ref());
        let first = wanted.trials.first().map(|trial| trial.formula.value.as_str());
        parent.map(|parent| parent.value.as_str()).or(base).or(first).filter(|from| *from != id)
    }

    /// The record that a trial names; it has to be one of the same formula.
    fn record_of(
        &self,
        id: &Placed<String>,
        formula: &Placed<String>,
        findings: &mut Vec<Finding>,
    ) -> Option<&BatchRecord> {
        let (kind, what, mend) = match self.answer(&id.value) {
            Some(Answer::BatchRecord(record)) if record.formula == formula.value => return Some(record),
            Some(Answer::BatchRecord(record)) => (
                kind::WRONG_VALUE,
                format!(
                    "`{}` is a batch of `{}`, and this trial is of `{}`.",
                    echo(&id.value),
                    record.formula,
                    echo(&formula.value)
                ),
                "Name a record of the formula that was tried.".to_owned(),
            ),
            None if self.blocks.contains_key(&id.value) => (
                kind::REFERENCE_FAILED,
                format!("`{}` has errors, so nothing of it is known here.", echo(&id.value)),
                kind::REFERENCE_FAILED.mend.to_owned(),
            ),
            _ => (
                kind::UNKNOWN_REFERENCE,
                format!("There is no batch record `{}`.", echo(&id.value)),
                suggestion(&id.value, self.ids_of("batch-record"), kind::UNKNOWN_REFERENCE.mend),
            ),
        };
        findings.push(Finding::new(kind, id.place.clone(), what).mend(mend));
        None
    }
}

/// What was not asked for, or is there; nothing when it was asked for and is not there.
#[expect(clippy::option_option, reason = "not asked for and not there are two things")]
fn whole<T>(value: Option<Option<T>>) -> Option<Option<T>> {
    match value {
        Some(None) => None,
        Some(some) => Some(some),
        None => Some(None),
    }
}
