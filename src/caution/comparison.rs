//! Several changes between formulas of one family.

use crate::compute::{Comparison, Step};
use crate::report::{Finding, Kind, Place, Severity};

pub(super) const KINDS: &[&Kind] = &[AT_ONCE];

const AT_ONCE: &Kind = &Kind {
    name: "two-changes-at-once",
    severity: Severity::Note,
    summary: "Formulas of one family that differ in more than one thing.",
    why: "When the product turns out otherwise, nobody can tell which of the changes did it.",
    mend: "Change one thing at a time, in a variant of its own.",
};

/// Says that several things changed at once, where the formulas are of one family and they did. What follows from a change is none of its own.
pub fn changes_at_once(step: &Step) -> Option<String> {
    step.is_related.then(|| several(step)).flatten()
}

fn several(step: &Step) -> Option<String> {
    let count = step.changes.len();
    // How a batch was weighed is no trial that somebody planned.
    (step.tolerance.is_none() && count > 1)
        .then(|| format!("{count} things changed at once, so what each of them does cannot be told apart."))
}

/// What is found about several changes from one formula to another, of whatever family.
pub(super) fn at_once(step: &Step, first: &str, other: &str, place: Place) -> Option<Finding> {
    let what = format!("From `{first}` to `{other}` {}", several(step)?);
    let changes: Vec<&str> = step.changes.iter().map(|change| change.0.as_str()).collect();
    Some(
        Finding::new(AT_ONCE, place, what)
            .mend(format!("{} Here these changed: {}.", AT_ONCE.mend, changes.join("; ")))
            .source("common practice, no source"),
    )
}

/// The sentence with what to do, as the terminal prints it.
pub fn changes_at_once_in_full(step: &Step) -> Option<String> {
    changes_at_once(step).map(|what| format!("{what} {}", AT_ONCE.mend))
}

/// What is found about formulas side by side.
pub fn examine_comparison(comparison: &Comparison, place: &Place) -> Vec<Finding> {
    let first = comparison.sides.first().map_or("", |side| side.id.as_str());
    let head = Place { path: place.path.clone(), span: place.span.start..place.span.start };
    let steps = comparison.steps.iter().zip(comparison.sides.iter().skip(1));
    steps
        .filter(|(step, _)| step.is_related)
        .filter_map(|(step, other)| at_once(step, first, &other.id, head.clone()))
        .collect()
}
