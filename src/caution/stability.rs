//! Stability logs that contradict themselves, readings outside of the specification, drifts towards its end, and what a log does not say.

use super::Case;
use super::batch_record::COARSE;
use super::water_without_preservative::needs_preserving;
use crate::block::{ObservationBlock, StabilityBlock, TestResult, When};
use crate::compute::{
    CheckState, Computed, Condition, Drift, Fit, Measure, SLOPE_SOURCE, SeenRow, Stability, StabilityFault, Standing,
};
use crate::material::Catalogue;
use crate::model::Settings;
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Place, Severity, echo, kind, list, suggestion};

pub(super) const KINDS: &[&Kind] =
    &[BEFORE_START, AFTER_END, NO_CONDITION, OUTSIDE, DRIFTS, NO_SPECIFICATION, NOT_TESTED, PASSED_OVER];

const BEFORE_START: &Kind = &Kind {
    name: "observed-before-start",
    severity: Severity::Error,
    summary: "A stability log with a date before its start.",
    why: "One of the two dates is a slip, and it is not said which.",
    mend: "Correct the date, or the `start`.",
};

const AFTER_END: &Kind = &Kind {
    name: "observed-after-end",
    severity: Severity::Question,
    summary: "A stability log with an observation after the day on which it `ended`.",
    why: "Either the log went on, and then checks are due that are not listed, or one of the dates is a slip.",
    mend: "Correct the date, or `ended`; take `ended` away while the log goes on.",
};

const NO_CONDITION: &Kind = &Kind {
    name: "unknown-condition",
    severity: Severity::Error,
    summary: "An observation in a condition that the log does not name.",
    why: "A reading belongs to one pack in one place, and what it is compared with stood there too.",
    mend: "Correct the name, or add the condition to `[conditions]`.",
};

const OUTSIDE: &Kind = &Kind {
    name: "outside-specification",
    severity: Severity::Caution,
    summary: "A product that left its specification while it was watched.",
    why: "What was promised of the product, and what keeps it, was planned for the specification.",
    mend: "Read again on a second pack. If it holds, shorten what is promised, or change one thing and begin a new log; do not widen the specification to fit.",
};

const DRIFTS: &Kind = &Kind {
    name: "drifts-out-of-specification",
    severity: Severity::Caution,
    summary: "A drift that leaves the specification soon if it goes on so.",
    why: "The readings lie inside, and their trend does not stay there.",
    mend: "Look more often than planned, and find out what drifts. The date is an estimate: it holds only while the product goes on as it did.",
};

const NO_SPECIFICATION: &Kind = &Kind {
    name: "stability-not-judged",
    severity: Severity::Question,
    summary: "A stability log with nothing to judge its readings by.",
    why: "Without limits that were set beforehand any reading can be called good.",
    mend: "Write `[specification]` with `ph`, `viscosity`, `weight-change`, or words for `colour`, `odour` and `separation`.",
};

const NOT_TESTED: &Kind = &Kind {
    name: "preservation-not-tested",
    severity: Severity::Note,
    summary: "A stability log of a product with water whose preservation was not tested.",
    why: "Stability is not preservation: germs change neither colour nor pH until it is late. Only a challenge test and a count of germs tell, and those are laboratory work.",
    mend: "Say so where the product is shown. Once it was tested, write `preservation = { test = \"ISO 11930\", result = \"passed\", date = 2026-05-04 }`.",
};

const PASSED_OVER: &Kind = &Kind {
    name: "check-passed-over",
    severity: Severity::Note,
    summary: "A planned check of a stability log that was not made.",
    why: "What changed in between is not known.",
    mend: "Note what was seen then, if it was seen; otherwise leave the gap as it is.",
};

/// What a log is judged with.
#[derive(Clone, Copy)]
pub struct StabilityCase<'a> {
    /// The block as written.
    pub block: &'a StabilityBlock,
    /// Where it stands.
    pub place: &'a Place,
    /// The product that is watched, as it was made where that is known.
    pub computed: &'a Computed,
    /// Materials, limits and hazards.
    pub catalogue: &'a Catalogue,
    /// Rule sets and the like.
    pub settings: &'a Settings,
}

/// The findings for a log that cannot be worked out.
pub fn stability_faults(faults: &[StabilityFault], case: &StabilityCase<'_>) -> Vec<Finding> {
    let finding = |fault: &StabilityFault| match fault {
        StabilityFault::NoCondition(name) => {
            let known: Vec<&str> = case.block.conditions.iter().map(|one| one.key.value.as_str()).collect();
            let what = format!("There is no condition `{}` in this log.", echo(&name.value));
            let all = format!("Its conditions are {}.", list(&known, "and"));
            Finding::new(NO_CONDITION, name.place.clone(), what).mend(suggestion(
                &name.value,
                known.iter().copied(),
                &all,
            ))
        }
        StabilityFault::BeforeStart(date, start) => {
            let what = format!("{} is before the start of the log, {start}.", date.value);
            Finding::new(BEFORE_START, date.place.clone(), what)
        }
        StabilityFault::NoStart(place) => {
            let what = "There is no `start` from which this could be counted.";
            let mend = "Write `start = 2026-02-04`. A log of a batch record begins on the day of the record.";
            Finding::new(kind::MISSING_KEY, place.clone(), what).mend(mend)
        }
        StabilityFault::WhosePack(place) => {
            let what = "A weight belongs to one pack, and this observation names no `condition`.";
            Finding::new(kind::MISSING_KEY, place.clone(), what)
                .mend("Weigh each pack, and note it with the `condition` that the pack goes into.")
        }
        StabilityFault::OtherUnit(place, unit, first) => {
            let what = format!("This viscosity is in `{}`, and the others are in `{}`.", echo(unit), echo(first));
            Finding::new(kind::WRONG_VALUE, place.clone(), what)
                .mend("Write all in one unit: readings of different instruments do not go into one log.")
        }
        StabilityFault::NoUnit(place) => {
            let what = "This viscosity has no unit.";
            Finding::new(kind::WRONG_VALUE, place.clone(), what)
                .mend("Write it with its unit: `\"3200 mPa·s\"`, or `\"34 s\"` of a flow cup.")
        }
    };
    faults.iter().map(finding).collect()
}

/// Everything that is to be said about a log.
pub fn examine_stability(log: &Stability, case: &StabilityCase<'_>) -> Vec<Finding> {
    let head = || Place { path: case.place.path.clone(), span: case.place.span.start..case.place.span.start };
    let mut findings = Vec::new();
    for condition in &log.conditions {
        findings.extend(outside(log, condition));
        findings.extend(drifts(log, condition));
        findings.extend(passed_over(condition));
    }
    findings.extend(case.block.observations.iter().filter_map(|one| after_end(log, one)));
    findings.extend(too_coarse(log));
    if log.standing() == Standing::Unknown && log.last_day().is_some() {
        findings.push(Finding::new(
            NO_SPECIFICATION,
            head(),
            "This log states nothing that its readings could be judged by.",
        ));
    }
    let product = Case { computed: case.computed, catalogue: case.catalogue, settings: case.settings };
    if log.preservation.result != TestResult::Passed && needs_preserving(&product) {
        let what = match log.preservation.result {
            TestResult::Failed => "The test of its preservation was failed, whatever this log shows.",
            TestResult::UnderWay => {
                "The test of its preservation is under way; until its report is there the product counts as not tested."
            }
            TestResult::NotTested | TestResult::Passed => {
                "Its preservation is not tested, and nothing in this log can show it."
            }
        };
        let source = "ISO 11930 (challenge test) and ISO/TR 18811 (stability) are documents of their own (from memory)";
        findings.push(Finding::new(NOT_TESTED, head(), what).source(source));
    }
    findings
}

/// An observation from after the log was ended.
fn after_end(log: &Stability, one: &ObservationBlock) -> Option<Finding> {
    let ended = log.ended?;
    let (date, place) = match &one.when {
        When::On(date) => (date.value, &date.place),
        When::After(after) => (after.value.after(log.start?)?, &after.place),
    };
    let what = format!("This was seen on {date}, and the log ended on {ended}.");
    (ended < date).then(|| Finding::new(AFTER_END, place.clone(), what))
}

/// "day 28 (2026-03-04)".
fn when(row: &SeenRow) -> String {
    let day = show::plain(row.day.round_dp(1));
    row.date.map_or_else(|| format!("day {day}"), |date| format!("day {day} ({date})"))
}

/// What left the specification, once for each thing and condition.
fn outside(log: &Stability, condition: &Condition) -> Vec<Finding> {
    let mut findings = Vec::new();
    let add = |found: Vec<(&SeenRow, String, &Place)>, name: &str, allowed: &str, total: usize| {
        let (row, text, place) = found.first()?.clone();
        let more = match found.len() - 1 {
            0 => String::new(),
            more => format!(", and {more} more of {total} readings"),
        };
        let what = format!(
            "In `{}` the {name} was {text} on {}{more}; the specification is {allowed}.",
            condition.key,
            when(row)
        );
        Some(Finding::new(OUTSIDE, place.clone(), what).source("the specification of this log"))
    };
    for measure in Measure::ALL {
        let read = || condition.rows.iter().filter_map(|row| Some((row, row.reading(measure)?)));
        let found: Vec<_> = read()
            .filter(|(_, one)| one.fit == Fit::Outside)
            .map(|(row, one)| (row, number(log, measure, one.value), &one.place))
            .collect();
        if !found.is_empty() {
            findings.extend(add(found, measure.words(), &allowed(log, measure), read().count()));
        }
    }
    for look in crate::compute::Look::ALL {
        let seen = || {
            condition
                .rows
                .iter()
                .flat_map(|row| row.seen.iter().map(move |one| (row, one)))
                .filter(|(_, one)| one.look == look)
        };
        let found: Vec<_> = seen()
            .filter(|(_, one)| one.fit == Fit::Outside)
            .map(|(row, one)| (row, format!("\"{}\"", echo(&one.words)), &one.place))
            .collect();
        let specification = &log.specification;
        let words = match look {
            crate::compute::Look::Colour => &specification.colour,
            crate::compute::Look::Odour => &specification.odour,
            crate::compute::Look::Separation => &specification.separation,
        };
        let quoted: Vec<String> = words.iter().map(|word| format!("\"{}\"", echo(word))).collect();
        if !found.is_empty() {
            findings.extend(add(found, look.words(), &quoted.join(" or "), seen().count()));
        }
    }
    findings
}

fn number(log: &Stability, measure: Measure, value: Decimal) -> String {
    show::quantity_to(value, log.decimals(measure), log.unit(measure)).replace('-', "−")
}

/// The specification of a measure: "4.6–5.0", "at most 2 % either way".
fn allowed(log: &Stability, measure: Measure) -> String {
    match log.window(measure) {
        (Some(_), Some(most)) if measure == Measure::WeightChange => {
            format!("at most {} either way", show::percent(most))
        }
        (Some(least), Some(most)) => {
            let unit = log.unit(measure);
            let space = if unit.is_empty() { String::new() } else { format!("{}{unit}", show::NBSP) };
            format!("{}{space}", show::ends(least, most))
        }
        _ => String::new(),
    }
}

fn drifts(log: &Stability, condition: &Condition) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (measure, drift) in &condition.drifts {
        let Ok(drift) = drift else { continue };
        findings.extend(drift_finding(log, condition, *measure, drift));
    }
    findings
}

fn drift_finding(log: &Stability, condition: &Condition, measure: Measure, drift: &Drift) -> Option<Finding> {
    let leaves = drift.leaves.as_ref()?;
    let row = condition.rows.iter().rev().find(|row| row.reading(measure).is_some())?;
    let day = |(day, date): (Decimal, Option<crate::quantity::Date>)| {
        date.map_or_else(|| format!("day {}", show::plain(day.floor())), |date| date.to_string())
    };
    let until = match leaves.latest {
        Some(latest) if latest != leaves.earliest => format!("between {} and {}", day(leaves.earliest), day(latest)),
        Some(_) => format!("by {}", day(leaves.earliest)),
        None => format!("on {} at the earliest", day(leaves.earliest)),
    };
    let what = format!(
        "In `{}` the {} drifts, and would reach {} about {}, {until}.",
        condition.key,
        measure.words(),
        show::quantity_to(leaves.bound, leaves.bound.scale(), log.unit(measure)).replace('-', "−"),
        day((leaves.day, leaves.date)),
    );
    let place = row.reading(measure)?.place.clone();
    Some(Finding::new(DRIFTS, place, what).source(SLOPE_SOURCE))
}

/// Checks that were not made, once for each condition.
fn passed_over(condition: &Condition) -> Option<Finding> {
    let missed: Vec<&crate::compute::Check> =
        condition.checks.iter().filter(|check| check.state == CheckState::PassedOver).collect();
    let first = missed.first()?;
    let texts: Vec<String> = missed.iter().map(|check| echo(&check.text)).collect();
    let what = format!("In `{}` nothing was noted at {}.", condition.key, texts.join(", "));
    Some(Finding::new(PASSED_OVER, first.place.clone(), what))
}

/// Readings of the pH whose step does not tell, once for a log in which none is outside.
fn too_coarse(log: &Stability) -> Option<Finding> {
    if log.standing() != Standing::CannotTell {
        return None;
    }
    let readings = log.conditions.iter().flat_map(|one| &one.rows).filter_map(|row| row.reading(Measure::Ph));
    let vague: Vec<_> = readings.filter(|one| one.fit == Fit::CannotTell).collect();
    let last = vague.last()?;
    let what = format!(
        "{} of the pH cannot tell whether the specification {} is met.",
        if vague.len() == 1 { "One reading".to_owned() } else { format!("{} readings", vague.len()) },
        allowed(log, Measure::Ph)
    );
    let mend = "The pH may lie anywhere within half a step. Read with a finer meter, and say its step: `[measured]` with `ph = { resolution = \"0.01\" }`.";
    Some(Finding::new(COARSE, last.place.clone(), what).mend(mend))
}
