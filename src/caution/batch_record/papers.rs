//! Decisions about a batch: older than the batch, against what was measured, or without a reason.

use super::grams;
use crate::block::{Decision, Placed, ReleaseBlock};
use crate::compute::{BatchRecord, ends_of};
use crate::quantity::{Date, Mass, Ph, show};
use crate::report::{Finding, Kind, Severity, echo};

pub(super) const BEFORE_MADE: &Kind = &Kind {
    name: "decided-before-made",
    severity: Severity::Error,
    summary: "A decision about a batch from a day before it was made.",
    why: "One of the two dates is a slip, and it is not said which.",
    mend: "Correct the `date` in `[release]` or that of the record.",
};

pub(super) const RELEASED: &Kind = &Kind {
    name: "released-all-the-same",
    severity: Severity::Caution,
    summary: "A batch that was released although a weight, its pH or a check is not as it should be.",
    why: "Whoever uses it relies on the specification, and so does what keeps it.",
    mend: "Hold the batch until it is known what the difference does, and say `why` it was released all the same.",
};

pub(super) const NO_REASON: &Kind = &Kind {
    name: "decision-without-reason",
    severity: Severity::Question,
    summary: "A batch that was held or rejected, and it is not said why.",
    why: "The reason tells what is to be looked at next, and what the next batch must not repeat.",
    mend: "Write `why = \"…\"` in `[release]`.",
};

pub(super) const NUMBER_TWICE: &Kind = &Kind {
    name: "batch-number-twice",
    severity: Severity::Caution,
    summary: "Two batches with one batch number.",
    why: "Whoever holds a pack cannot tell of which batch it is. If one of them has to be called back, so has the other.",
    mend: "Give each batch a number of its own, and its packs as well. Where both records are of one batch, make one record of them.",
};

/// A batch whose number an earlier one has: the formula, day and number of that one.
pub fn number_twice(number: &Placed<String>, first: (&str, Option<Date>, &Placed<String>)) -> Finding {
    let (formula, date, other) = first;
    let day = date.map_or_else(String::new, |date| format!(" of {date}"));
    let place = match other.place.path == number.place.path {
        true => "this notebook".to_owned(),
        false => other.place.path.to_string(),
    };
    let (formula, number_text) = (echo(formula), echo(&number.value));
    let what = format!("A batch of `{formula}`{day} has the batch number `{number_text}` already, in {place}.");
    Finding::new(NUMBER_TWICE, number.place.clone(), what)
        .also_at(other.place.clone(), "the first one")
        .source("Regulation (EC) No 1223/2009, Article 19(1)(e); ISO 22716:2007, clause 7.2.3 (from memory)")
}

pub(super) fn decided_before(decided: &Placed<Date>, made: Date) -> Finding {
    let what = format!("It was decided on {}, and the batch was made on {made}.", decided.value);
    Finding::new(BEFORE_MADE, decided.place.clone(), what)
}

/// What is to be said about the decision.
pub(super) fn examine_release(record: &BatchRecord) -> Option<Finding> {
    let release = record.release.as_ref()?;
    let place = release.decision.place.clone();
    if release.decision.value != Decision::Released {
        let what = format!("This batch is {}, and it is not said why.", release.decision.value.word());
        return release.why.is_none().then(|| Finding::new(NO_REASON, place, what));
    }
    let off = not_as_it_should_be(record);
    if off.is_empty() {
        return None;
    }
    let what = format!("This batch was released{}, though {}.", by_and_when(release), off.join("; "));
    Some(Finding::new(RELEASED, place, what).source("the specification of the formula and the tolerance of the record"))
}

fn by_and_when(release: &ReleaseBlock) -> String {
    let by = release.by.as_ref().map_or_else(String::new, |by| format!(" by {}", echo(by)));
    release.date.as_ref().map_or_else(|| by.clone(), |date| format!("{by} on {}", date.value))
}

/// Weights outside of the tolerance, a last pH outside of the specification, and checks that were not passed, each with its figures.
fn not_as_it_should_be(record: &BatchRecord) -> Vec<String> {
    let outside = record.lines.iter().filter(|line| line.is_outside(record.tolerance, record.readability()));
    let mut off: Vec<String> = outside
        .filter_map(|line| {
            let (weighed, deviation) = (line.weighed?, line.deviation()?);
            let more = if deviation > Mass::ZERO { "more" } else { "less" };
            let by = Mass::from_grams(deviation.grams().abs());
            Some(format!("`{}` weighs {}, {} {more} than planned", echo(&line.key), grams(weighed), grams(by)))
        })
        .collect();
    let stated = record.planned.formula.ph.map(|ph| (ph.low.value(), ph.high.value()));
    if let (Some((least, most)), Some(reading)) = (stated, record.last_ph())
        && let Some((low, high)) = ends_of(reading)
        && (high < least || most < low)
    {
        let ph = Ph::value(reading.ph.value);
        off.push(format!("its last pH is {ph}, and the specification is {}", show::ends(least, most)));
    }
    let not_passed = record.checks.iter().filter(|check| check.passed == Some(false));
    off.extend(not_passed.map(|check| match &check.found {
        Some(found) => format!("the check of {} was not passed: {}", echo(&check.what.value), echo(found)),
        None => format!("the check of {} was not passed", echo(&check.what.value)),
    }));
    off
}
