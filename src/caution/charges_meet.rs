//! A cationic material beside an anionic one: together they fall out, and both lose their work.

use super::{Case, Caution};
use crate::compute::active_of_line;
use crate::material::{Material, SurfactantClass, WithAnionics};
use crate::model::Line;
use crate::quantity::{Decimal, Range, show};
use crate::report::{Finding, Kind, Severity, list};

pub(super) const CAUTION: Caution = Caution { kinds: &[PRECIPITATES, UNCERTAIN], examine };

const PRECIPITATES: &Kind = &Kind {
    name: "anionic-with-cationic",
    severity: Severity::Caution,
    summary: "A cationic material together with anionic surfactant or an anionic polymer.",
    why: "Opposite charges bind to each other: the batch clouds or falls out, and neither of the two does its work.",
    mend: "Keep the cationic material for a product without anionics, or take one that is made for anionic washes.",
};

const UNCERTAIN: &Kind = &Kind {
    name: "cationic-in-anionic-wash",
    severity: Severity::Note,
    summary: "A cationic material that may cloud beside anionic surfactant.",
    why: "Whether it stays clear hangs on the grade and on how much anionic surfactant there is.",
    mend: "Try it in a small batch, and look again after a day and after a week.",
};

/// From this much anionic active matter on a product counts as anionic, % of the product. Common practice, no source: the traces that emulsifiers
/// and perfumes bring stay below it.
const LEAST_ANIONIC: Decimal = Decimal::from_parts(1, 0, 0, false, 1);

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    let anionic = case.computed.active.class(SurfactantClass::Anionic);
    let washes: Vec<&str> =
        case.lines().filter(|(_, line)| brings_anionic(line)).map(|(_, line)| line.written.as_str()).collect();
    let polymers: Vec<&Line> = case
        .lines()
        .map(|(_, line)| line)
        .filter(|line| crate::material::Group::AnionicPolymers.holds(&line.material))
        .collect();
    // Anionic emulsifiers fall out with quats as anionic surfactants do; a trace beside a main emulsifier stays out of it.
    let emulsifiers: Vec<&str> = case
        .lines()
        .map(|(_, line)| line)
        .filter(|line| line.material.serves_as("emulsifier") && !brings_anionic(line))
        .filter(|line| line.material.charge() == Some(SurfactantClass::Anionic))
        .filter(|line| LEAST_ANIONIC <= formula.percent(line).value())
        .map(|line| line.written.as_str())
        .collect();
    for (_, line) in case.lines().filter(|(_, line)| is_cationic(case, &line.material)) {
        if formula.percent(line).value().is_zero() {
            continue;
        }
        let stated = line.material.with_anionics.as_ref();
        let how = stated.map(|stated| stated.value);
        let source = stated.map_or_else(
            || "opposite charges (common practice, no source)".to_owned(),
            |stated| stated.source.as_ref().map_or_else(|| "no source given".to_owned(), |source| source.line()),
        );
        let mut partners: Vec<&str> = Vec::new();
        let mut amount = String::new();
        let with_wash = how != Some(WithAnionics::Compatible) && anionic.typical >= LEAST_ANIONIC;
        if with_wash {
            partners.extend(&washes);
            let brings = if washes.len() == 1 { "brings" } else { "bring" };
            amount = format!(", which {brings} {} anionic active matter", share(anionic));
        }
        // A polymer that anionic surfactant keeps dissolved still binds to an anionic gum.
        let against = |polymer: &&&Line| line.material.incompatible.iter().any(|pair| pair.concerns(&polymer.material));
        partners.extend(polymers.iter().filter(against).map(|polymer| polymer.written.as_str()));
        if how == Some(WithAnionics::Precipitates) {
            partners.extend(&emulsifiers);
        }
        if partners.is_empty() {
            continue;
        }
        let only_wash = partners.len() == washes.len() && with_wash;
        let kind = if how == Some(WithAnionics::Uncertain) && only_wash { UNCERTAIN } else { PRECIPITATES };
        let amount = if only_wash { amount } else { String::new() };
        let what = format!("`{}` is cationic and stands beside {}{amount}.", line.written, list(&partners, "and"));
        findings.push(Finding::new(kind, line.place.clone(), what).source(source));
    }
}

fn brings_anionic(line: &Line) -> bool {
    active_of_line(line).is_some_and(|parts| {
        parts.iter().any(|(class, share)| *class == SurfactantClass::Anionic && share.typical > Decimal::ZERO)
    })
}

/// Whether a material is cationic in this product: some are so only in acid.
fn is_cationic(case: &Case<'_>, material: &Material) -> bool {
    if material.charge() != Some(SurfactantClass::Cationic) {
        return false;
    }
    match (&material.charge_ph, case.computed.formula.ph) {
        (Some(window), Some(ph)) => {
            window.min.is_none_or(|min| min <= ph.high.value()) && window.max.is_none_or(|max| ph.low.value() <= max)
        }
        _ => true,
    }
}

fn share(range: Range) -> String {
    if range.is_exact() { show::percent(range.typical.normalize()) } else { show::percent_range(range, 1) }
}
