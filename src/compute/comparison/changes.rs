//! The changes that somebody made from one formula to another, each once.
//!
//! The trade changes one thing at a time, so that its effect can be told (common practice, no source). What follows from a change is none of its own: the
//! balance line takes up the difference, a dose to effect is measured anew, and a phase that is only named otherwise holds what it held. One raw
//! material in the place of another of the same function is one change.

use crate::model::{Basis, Formula, Line};
use crate::quantity::{Decimal, Percent, Temperature, show};
use std::collections::{BTreeMap, BTreeSet};

/// One change, in words: "glycerin 5 % instead of 3 %".
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change(pub String);

/// A line with the letter of its phase.
type Placed<'a> = (&'a str, &'a Line);

/// What changed from one formula to another. Where one of them is a batch as it was weighed, what deviates no more than is allowed is no change.
pub(super) fn between(before: &Formula, after: &Formula, tolerance: Option<Percent>) -> Vec<Change> {
    let (old, new) = (by_material(before), by_material(after));
    let mut changes = Vec::new();
    let mut gone: Vec<&Line> = only_in(&old, &new);
    for line in only_in(&new, &old) {
        let amount = show::percent(after.percent(line).value());
        let stands_in =
            |other: &&Line| other.material.functions.iter().any(|one| line.material.functions.contains(one));
        match gone.iter().position(stands_in) {
            Some(index) => {
                let other = gone.remove(index);
                changes.push(format!("{} {amount} in place of {}", line.written, other.written));
            }
            None => changes.push(format!("{} {amount} added", line.written)),
        }
    }
    changes.extend(gone.into_iter().map(|line| format!("{} left out", line.written)));
    let same_phase = same_phases(&old, &new);
    for (material, lines) in &old {
        if let Some(others) = new.get(material) {
            changes.extend(of_material((before, lines), (after, others), &same_phase, tolerance));
        }
    }
    changes.extend(of_whole(before, after, &same_phase));
    changes.into_iter().map(Change).collect()
}

fn by_material(formula: &Formula) -> BTreeMap<&str, Vec<Placed<'_>>> {
    let mut lines: BTreeMap<&str, Vec<Placed<'_>>> = BTreeMap::new();
    for phase in &formula.phases {
        for line in &phase.lines {
            lines.entry(&line.material.id).or_default().push((&phase.key, line));
        }
    }
    lines
}

/// The first line of each raw material that the other formula does not hold. A balance line counts: it is another raw material that fills up.
fn only_in<'a>(lines: &BTreeMap<&str, Vec<Placed<'a>>>, others: &BTreeMap<&str, Vec<Placed<'_>>>) -> Vec<&'a Line> {
    let missing = lines.iter().filter(|(material, _)| !others.contains_key(**material));
    missing.filter_map(|(_, lines)| lines.first()).map(|(_, line)| *line).collect()
}

/// Which phase of the new formula is which of the old one: the one that shares most raw materials with it, of equals the one of the same letter.
fn same_phases<'a>(
    old: &BTreeMap<&str, Vec<Placed<'a>>>,
    new: &BTreeMap<&str, Vec<Placed<'a>>>,
) -> BTreeMap<&'a str, &'a str> {
    let mut shared: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for (material, lines) in old {
        for (from, _) in lines {
            for (to, _) in new.get(material).into_iter().flatten() {
                *shared.entry((from, to)).or_default() += 1;
            }
        }
    }
    let mut pairs: Vec<((&str, &str), usize)> = shared.into_iter().collect();
    pairs.sort_by_key(|((from, to), count)| (std::cmp::Reverse(*count), from != to));
    let mut same = BTreeMap::new();
    let mut taken = BTreeSet::new();
    for ((from, to), _) in pairs {
        if !same.contains_key(from) && taken.insert(to) {
            same.insert(from, to);
        }
    }
    same
}

/// The changes of a raw material that both hold.
fn of_material(
    (before, old): (&Formula, &[Placed<'_>]),
    (after, new): (&Formula, &[Placed<'_>]),
    same_phase: &BTreeMap<&str, &str>,
    tolerance: Option<Percent>,
) -> Vec<String> {
    let mut changes = Vec::new();
    let Some((_, line)) = new.first() else { return changes };
    let follows = |lines: &[Placed<'_>]| lines.iter().any(|(_, line)| line.is_balance || line.effect.is_some());
    // Shares of weights and parts move with every other line; the author's own amount does not.
    let by_amount = before.basis == after.basis && before.basis != Basis::Percent && tolerance.is_none();
    let sum = |formula: &Formula, lines: &[Placed<'_>]| -> Decimal {
        let one = |line: &Line| if by_amount { line.amount } else { formula.percent(line).value() };
        lines.iter().map(|(_, line)| one(line)).sum()
    };
    let (from, to) = (sum(before, old), sum(after, new));
    let is_allowed = tolerance.is_some_and(|tolerance| (to - from).abs() <= tolerance.of(from));
    if from != to && !is_allowed && !(follows(old) && follows(new)) {
        let unit = |amount: Decimal| match (by_amount, after.basis) {
            (true, Basis::Weights) => format!("{}{}g", show::plain(amount), show::NBSP),
            (true, _) => format!("{}{}parts", show::plain(amount), show::NBSP),
            (false, _) if tolerance.is_some() => show::percent_to(amount, 2),
            (false, _) => show::percent(amount),
        };
        changes.push(format!("{} {} instead of {}", line.written, unit(to), unit(from)));
    }
    let lots =
        |lines: &[Placed<'_>]| lines.iter().map(|(_, line)| (line.lot.clone(), line.strength)).collect::<Vec<_>>();
    // A formula seldom names lots, and a batch always does: only another one than is named is a change.
    let names_lots = |lines: &[Placed<'_>]| lines.iter().any(|(_, line)| line.lot.is_some() || line.strength.is_some());
    if lots(old) != lots(new) && (tolerance.is_none() || (names_lots(old) && names_lots(new))) {
        changes.push(format!("{} of another lot or strength", line.written));
    }
    let phases = |lines: &[Placed<'_>]| lines.iter().map(|(phase, _)| (*phase).to_owned()).collect::<BTreeSet<_>>();
    let (was, is) = (phases(old), phases(new));
    let expected: BTreeSet<String> =
        was.iter().map(|phase| same_phase.get(phase.as_str()).map_or("", |phase| phase).to_owned()).collect();
    if expected != is {
        let list = |phases: &BTreeSet<String>| phases.iter().cloned().collect::<Vec<_>>().join(" and ");
        changes.push(format!("{} in phase {} instead of {}", line.written, list(&is), list(&was)));
    }
    changes
}

/// The changes of specification and temperatures.
fn of_whole(before: &Formula, after: &Formula, same_phase: &BTreeMap<&str, &str>) -> Vec<String> {
    let mut changes = Vec::new();
    let ph = |formula: &Formula| formula.ph.map(|ph| (ph.low.value(), ph.high.value()));
    let words = |ph: Option<(Decimal, Decimal)>| {
        ph.map_or_else(|| "no pH".to_owned(), |(low, high)| format!("pH{}{}", show::NBSP, show::ends(low, high)))
    };
    if ph(before) != ph(after) {
        changes.push(format!("{} instead of {}", words(ph(after)), words(ph(before))));
    }
    let held = |hold: Option<Temperature>| hold.map_or_else(|| "no temperature".to_owned(), show::celsius);
    for phase in &before.phases {
        let Some(key) = same_phase.get(phase.key.as_str()) else { continue };
        let Some(other) = after.phases.iter().find(|other| other.key == *key) else { continue };
        let hold = |hold: &Option<(Temperature, crate::report::Place)>| hold.as_ref().map(|(hold, _)| *hold);
        let (from, to) = (hold(&phase.hold), hold(&other.hold));
        if from.map(Temperature::celsius) != to.map(Temperature::celsius) {
            changes.push(format!("phase {} held at {} instead of {}", other.key, held(to), held(from)));
        }
    }
    changes
}
