//! Expectations that do not hold.

use crate::block::{ExpectLine, literal_finding};
use crate::compute::{Miss, Off};
use crate::quantity::{Decimal, Misfit};
use crate::report::{Finding, Kind, Severity, echo};

pub(super) const KINDS: &[&Kind] = &[NOT_MET, NOT_COMPARABLE];

const NOT_MET: &Kind = &Kind {
    name: "expectation-not-met",
    severity: Severity::Error,
    summary: "A figure that is not what an `expect` block says it has to be.",
    why: "The notebook says that it must hold; either the figure or the claim has changed.",
    mend: "Find out which of the two is right, and correct the other.",
};

const NOT_COMPARABLE: &Kind = &Kind {
    name: "expectation-of-another-kind",
    severity: Severity::Error,
    summary: "A figure that cannot be compared with what an `expect` block says it has to be.",
    why: "A weight is no volume and a per cent no plain number; nothing was compared.",
    mend: "Write what is expected in a unit of the figure.",
};

/// The finding for an expectation that does not hold.
pub fn expect_fault(line: &ExpectLine, miss: &Miss) -> Finding {
    let address = echo(&line.address.written);
    let place = || line.expected.text.place.clone();
    let expected = echo(&line.expected.text.value);
    match miss {
        Miss::Off(off) => {
            let which = if line.expected.is_typical { "typically " } else { "" };
            let (found, by) = (found_text(off), by_text(off));
            let side = if off.is_below { "too low" } else { "too high" };
            let what = format!("`{address}` is {which}{found}, and {expected} is expected: {by} {side}.");
            Finding::new(NOT_MET, place(), what).because(allowed_text(line, off))
        }
        Miss::Words(found) => {
            let what = format!("`{address}` says other words than expected: {}.", first_difference(found, &expected));
            Finding::new(NOT_MET, place(), what).because(format!("It says \"{found}\"."))
        }
        Miss::FoundWords(found) => {
            let what = format!("`{address}` is the words \"{}\", and {expected} is expected.", echo(found));
            Finding::new(NOT_COMPARABLE, place(), what).mend("Write the words, or the address of a number.")
        }
        Miss::Misfit(misfit) => {
            let found = match misfit {
                Misfit::Dimensions(pair) | Misfit::ShareAndOther(pair) => {
                    format!("{} ({})", pair.1.text(), pair.1.units().measures())
                }
                Misfit::Bases(_, found) => format!("stated in {found}"),
                Misfit::Currencies(_, found) => format!("in {found}"),
                Misfit::Readings => "a difference of temperatures, in kelvin".to_owned(),
                _ => "of another kind".to_owned(),
            };
            let what = format!("`{address}` is {found}, which cannot be compared with {expected}.");
            let unit = match misfit {
                Misfit::Dimensions(pair) | Misfit::ShareAndOther(pair) => pair.1.units().text(),
                _ => String::new(),
            };
            let is_bare = line.expected.text.value.trim().chars().all(|c| c.is_ascii_digit() || c == '.');
            let finding = Finding::new(NOT_COMPARABLE, place(), what);
            if is_bare && !unit.is_empty() {
                finding.mend(format!("Write it with the unit of the figure: `\"{expected} {unit}\"`."))
            } else {
                finding
            }
        }
        Miss::NoQuantity(fault) => literal_finding(fault, &line.expected.text),
        Miss::UnknownUnit => {
            let what = format!("`{address}` has a unit in which nothing can be expected.");
            Finding::new(NOT_COMPARABLE, place(), what)
        }
    }
}

/// The figure with digits enough to see how it differs.
fn found_text(off: &Off) -> String {
    let most = off.written + 3;
    let needed = off.found.ends().iter().map(crate::quantity::Exact::decimals).collect::<Option<Vec<_>>>();
    let decimals = needed.and_then(|all| all.into_iter().max()).unwrap_or(most);
    off.found.text_to(decimals.min(most).max(off.written.min(decimals)))
}

fn by_text(off: &Off) -> String {
    let decimals = off.by.decimals().unwrap_or(off.written + 3).min(off.written + 3);
    let number = off.by.rounded(decimals).normalize();
    let unit = match off.expected.units().text() {
        share if off.expected.units().is_share() && share.starts_with('%') => "percentage points".to_owned(),
        // A distance of temperatures is no reading.
        reading if off.expected.units().is_reading() => reading.replace('°', "degrees "),
        unit => unit,
    };
    let unit = if number == Decimal::ONE && unit == "percentage points" { "percentage point".to_owned() } else { unit };
    if unit.is_empty() { number.to_string() } else { format!("{number} {unit}") }
}

fn allowed_text(line: &ExpectLine, off: &Off) -> String {
    let [low, high] = [&off.allowed.0, &off.allowed.1].map(|end| {
        let decimals = end.decimals().unwrap_or(off.written + 3).min(off.written + 4);
        end.rounded(decimals).normalize().to_string()
    });
    let unit = off.expected.units().text();
    let range = if unit.is_empty() { format!("{low} to {high}") } else { format!("{low} to {high} {unit}") };
    let rule = match (&line.expected.within, off.expected.is_exact()) {
        (crate::block::Within::Digits, true) => "half a unit of the last digit written",
        (crate::block::Within::Digits, false) => "the range written, which has to hold the whole range of the figure",
        _ => "by the distance written",
    };
    format!("Allowed is {range}, {rule}.")
}

/// Where two texts part.
fn first_difference(found: &str, expected: &str) -> String {
    let simple = |text: &str| text.replace('\u{a0}', " ");
    let (found, expected) = (simple(found), simple(expected));
    let same = found.chars().zip(expected.chars()).take_while(|(one, two)| one == two).count();
    let from = same.saturating_sub(12);
    let part = |text: &str| {
        let part: String = text.chars().skip(from).take(28).collect();
        let before = if from > 0 { "…" } else { "" };
        let after = if text.chars().count() > from + 28 { "…" } else { "" };
        format!("`{before}{}{after}`", echo(&part))
    };
    format!("{} where {} is expected", part(&found), part(&expected))
}
