//! Trials from which nothing can be told, days that run backwards, and choices that nobody can follow.

use super::comparison::at_once;
use crate::block::{TrialBlock, TrialSeriesBlock};
use crate::compute::{Bounds, Column, Outside, Trial, TrialFault, TrialSeries};
use crate::quantity::Range;
use crate::report::{Finding, Kind, Place, Severity, echo, kind, list, suggestion};

pub(super) const KINDS: &[&Kind] =
    &[NOTHING_CHANGED, BACKWARDS, NOT_AS_RECORDED, NOT_OBSERVED, NO_REASON, NOT_MEASURED, NOT_AS_WANTED];

const NOTHING_CHANGED: &Kind = &Kind {
    name: "trial-without-change",
    severity: Severity::Note,
    summary: "A trial whose formula is the same as the one that it was made from.",
    why: "What was seen of it was seen of that formula; it says nothing about a change.",
    mend: "Write into the variant what was changed. A second batch of one formula is a batch record.",
};

const BACKWARDS: &Kind = &Kind {
    name: "trials-run-backwards",
    severity: Severity::Note,
    summary: "A trial that is dated before the one above it, or a choice that is dated before what it chose.",
    why: "A series is read from the top as it went; one of the dates may be a slip.",
    mend: "Put the trials in the order in which they were made, or correct the date.",
};

const NOT_AS_RECORDED: &Kind = &Kind {
    name: "trial-not-as-recorded",
    severity: Severity::Question,
    summary: "A trial whose day or reading is not that of the batch record that it names.",
    why: "The table shows the trial's own, and who looks the batch up finds another.",
    mend: "Correct the one that is a slip, or take the trial's own away: then the record's counts.",
};

const NOT_OBSERVED: &Kind = &Kind {
    name: "trial-not-observed",
    severity: Severity::Question,
    summary: "A trial of which nothing is noted.",
    why: "Without it nobody can tell what the change did.",
    mend: "Write what was seen, `observed = \"…\"`, or what was measured, in `[trial.measured]`. A batch record that the trial names counts with its readings.",
};

const NO_REASON: &Kind = &Kind {
    name: "choice-without-reason",
    severity: Severity::Question,
    summary: "A choice among trials that does not say why.",
    why: "The reason is what the next series begins with, and what a reader can agree or disagree with.",
    mend: "Write `reason = \"…\"` in `[choice]`.",
};

const NOT_MEASURED: &Kind = &Kind {
    name: "chosen-not-measured",
    severity: Severity::Question,
    summary: "A choice of which something that is wanted was not measured.",
    why: "What was not measured is not known, and cannot be taken for good.",
    mend: "Measure it, and write it in `[trial.measured]`.",
};

const NOT_AS_WANTED: &Kind = &Kind {
    name: "chosen-not-as-wanted",
    severity: Severity::Note,
    summary: "A choice that was measured outside of what is wanted.",
    why: "The best of a series need not be good enough.",
    mend: "Say in the reason why it was chosen all the same, or go on with the series.",
};

/// The findings for a series that cannot be worked out.
pub fn trial_faults(faults: &[TrialFault], block: &TrialSeriesBlock) -> Vec<Finding> {
    let finding = |fault: &TrialFault| match fault {
        TrialFault::NotTried => {
            let chosen = &block.choice.as_ref()?.trial;
            let tried: Vec<&str> = block.trials.iter().map(|trial| trial.formula.value.as_str()).collect();
            let what = format!("`{}` is no trial of this series.", echo(&chosen.value));
            let known = format!("Its trials are {}.", list(&tried, "and"));
            Some(Finding::new(kind::UNKNOWN_REFERENCE, chosen.place.clone(), what).mend(suggestion(
                &chosen.value,
                tried,
                &known,
            )))
        }
        TrialFault::OtherUnit(index, unit, of_column) => {
            let record = block.trials.get(*index)?.record.as_ref()?;
            let shown = |unit: &str| if unit.is_empty() { "no unit".to_owned() } else { format!("`{}`", echo(unit)) };
            let what = format!(
                "The viscosity in `{}` has {}, and the viscosity of this series has {}.",
                echo(&record.value),
                shown(unit),
                shown(of_column)
            );
            Some(
                Finding::new(kind::WRONG_VALUE, record.place.clone(), what)
                    .mend("Measure all trials in one way, or give the other one a name of its own."),
            )
        }
    };
    faults.iter().filter_map(finding).collect()
}

/// What is to be said about a series.
pub fn examine_trial_series(series: &TrialSeries, block: &TrialSeriesBlock) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut above: Option<(&Trial, _)> = None;
    for (trial, written) in series.trials.iter().zip(&block.trials) {
        findings.extend(changed(trial, written));
        findings.extend(not_as_recorded(trial, written));
        if !trial.is_observed() {
            let what = format!("Nothing is noted of what came of `{}`.", trial.id);
            findings.push(Finding::new(NOT_OBSERVED, written.formula.place.clone(), what));
        }
        let Some(date) = trial.date else { continue };
        if let Some((earlier, day)) = above.filter(|(_, day)| date < *day) {
            let what = format!("`{}` is dated {date}, and `{}` above it {day}.", trial.id, earlier.id);
            findings.push(Finding::new(BACKWARDS, day_of(written), what));
        }
        above = Some((trial, date));
    }
    findings.extend(chosen(series, block));
    findings
}

/// What the trial says beside what its record says.
fn not_as_recorded(trial: &Trial, written: &TrialBlock) -> Vec<Finding> {
    let Some(record) = &trial.record else { return Vec::new() };
    let mut findings = Vec::new();
    if let (Some(day), Some(made)) = (&written.date, trial.made.filter(|made| Some(*made) != trial.date)) {
        let what = format!("`{}` is dated {}, and its record `{}` {made}.", trial.id, day.value, echo(record));
        findings.push(Finding::new(NOT_AS_RECORDED, day.place.clone(), what));
    }
    for one in &trial.differs {
        let place = written.measured.iter().find(|reading| reading.name.value == one.name);
        let place = place.map_or(&written.formula.place, |reading| &reading.name.place);
        let column = Column { name: one.name.clone(), unit: one.unit.clone(), wanted: None };
        let what = format!(
            "The {} of `{}` is {} here, and {} in its record `{}`.",
            column.title(),
            trial.id,
            column.text(one.own),
            column.text(one.of_record),
            echo(record)
        );
        findings.push(Finding::new(NOT_AS_RECORDED, place.clone(), what));
    }
    findings
}

/// What a trial changed: nothing, or so much that nobody can tell what did it.
fn changed(trial: &Trial, written: &TrialBlock) -> Option<Finding> {
    let (step, from) = (trial.step()?, trial.from()?);
    let place = written.formula.place.clone();
    if step.changes.is_empty() {
        let what = format!("`{}` is the same as `{from}`.", trial.id);
        return Some(Finding::new(NOTHING_CHANGED, place, what));
    }
    at_once(step, from, &trial.id, place)
}

fn chosen(series: &TrialSeries, block: &TrialSeriesBlock) -> Vec<Finding> {
    let mut findings = Vec::new();
    let (Some(choice), Some(written), Some(trial)) = (&series.choice, &block.choice, series.chosen()) else {
        return findings;
    };
    let place = &written.trial.place;
    if choice.reason.is_none() {
        let what = format!("It is not said why `{}` was chosen.", trial.id);
        findings.push(Finding::new(NO_REASON, place.clone(), what));
    }
    if let (Some(day), Some(date)) = (&written.date, trial.date)
        && day.value < date
    {
        let what = format!("`{}` was chosen on {}, and it is dated {date}.", trial.id, day.value);
        findings.push(Finding::new(BACKWARDS, day.place.clone(), what));
    }
    for (column, reading) in series.columns.iter().zip(&trial.readings) {
        let Some(wanted) = series.wanted(trial, column) else { continue };
        let should = wanted_words(wanted, column);
        match reading {
            // The specification of a formula is judged where its pH was read; what the series wants has to be known.
            None if column.wanted.is_none() => {}
            None => {
                let what = format!("The {} of `{}` was not measured; {should} is wanted.", column.title(), trial.id);
                findings.push(Finding::new(NOT_MEASURED, place.clone(), what));
            }
            Some(range) => {
                if let Some(miss) = wanted.missed_by(*range) {
                    let what = format!(
                        "The {} of `{}` is {}, {} what {}, {should}.",
                        column.title(),
                        trial.id,
                        column.text(*range),
                        miss_words(miss),
                        if column.wanted.is_some() { "is wanted" } else { "its formula specifies" }
                    );
                    findings.push(Finding::new(NOT_AS_WANTED, place.clone(), what));
                }
            }
        }
    }
    findings
}

/// How a value misses what is wanted: "below", "partly above".
pub(crate) fn miss_words(miss: Outside) -> &'static str {
    match (miss.is_below, miss.is_whole) {
        (true, true) => "below",
        (true, false) => "partly below",
        (false, true) => "above",
        (false, false) => "partly above",
    }
}

/// What is wanted of a column: "3000–5000 mPa·s", "at least 3000 mPa·s".
pub(crate) fn wanted_words(wanted: Bounds, column: &Column) -> String {
    let one = |end| column.text(Range::exactly(end));
    match (wanted.low, wanted.high) {
        (Some(low), Some(high)) => column.text(Range::new(low, high, None)),
        (Some(low), None) => format!("at least {}", one(low)),
        (None, Some(high)) => format!("at most {}", one(high)),
        (None, None) => String::new(),
    }
}

/// Where the day of a trial stands; that of its record stands elsewhere.
fn day_of(written: &TrialBlock) -> Place {
    written.date.as_ref().map_or_else(|| written.formula.place.clone(), |date| date.place.clone())
}
