//! Decisions about a batch: older than the batch, against what was measured, or without a reason.

use crate::block::{CheckBlock, Decision, Placed, ReleaseBlock};
use crate::compute::BatchRecord;
use crate::quantity::{Date, show};
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
    summary: "A batch that was released although something speaks against it: a weight, its pH, a check, a lot, the vessel, or what is not known of it.",
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

/// What speaks against a release, of all that may be said about a record. Of the product as it was made, every caution does.
const AGAINST: &[&Kind] = &[
    super::OUTSIDE,
    super::MISSING,
    super::DOSE,
    super::DISAGREES,
    super::PUT_BACK,
    super::ABOVE_ALL,
    super::OFF_SPECIFICATION,
    super::COARSE,
    crate::caution::lot::EXPIRED,
];

/// So many of them are told; the others stand beside them.
const TOLD: usize = 6;

/// What is to be said about the decision, with what was found about the record and about the product as it was made.
pub(super) fn examine_release(record: &BatchRecord, found: &[Finding], as_made: &[Finding]) -> Option<Finding> {
    let release = record.release.as_ref()?;
    let place = release.decision.place.clone();
    if release.decision.value != Decision::Released {
        let what = format!("This batch is {}, and it is not said why.", release.decision.value.word());
        return release.why.is_none().then(|| Finding::new(NO_REASON, place, what));
    }
    let of_record = found.iter().filter(|finding| AGAINST.contains(&finding.kind));
    let of_product = as_made.iter().filter(|finding| finding.severity() <= Severity::Caution);
    let mut against: Vec<String> = of_record.chain(of_product).map(|finding| clause(&finding.what)).collect();
    against.extend(unread(record));
    against.extend(record.checks.iter().filter(|check| check.passed == Some(false)).map(not_passed));
    if against.is_empty() {
        return None;
    }
    let n_more = against.len().saturating_sub(TOLD);
    against.truncate(TOLD);
    let more = if n_more > 0 { format!("; and {n_more} more") } else { String::new() };
    let what = format!("This batch was released{}, though {}{more}.", by_and_when(release), against.join("; "));
    Some(Finding::new(RELEASED, place, what).source("the specification of the formula and the tolerance of the record"))
}

fn by_and_when(release: &ReleaseBlock) -> String {
    let by = release.by.as_ref().map_or_else(String::new, |by| format!(" by {}", echo(by)));
    release.date.as_ref().map_or_else(|| by.clone(), |date| format!("{by} on {}", date.value))
}

/// A sentence as part of another one.
fn clause(sentence: &str) -> String {
    let sentence = sentence.strip_suffix('.').unwrap_or(sentence);
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| format!("{}{}", first.to_lowercase(), letters.as_str()))
}

/// What is specified and was not read at all is not known to be met.
fn unread(record: &BatchRecord) -> Option<String> {
    let ph = record.planned.formula.ph.filter(|_| record.ph.is_empty())?;
    Some(format!("no pH was read of it, and the specification is {}", show::ends(ph.low.value(), ph.high.value())))
}

fn not_passed(check: &CheckBlock) -> String {
    match &check.found {
        Some(found) => format!("the check of {} was not passed: {}", echo(&check.what.value), echo(found)),
        None => format!("the check of {} was not passed", echo(&check.what.value)),
    }
}
