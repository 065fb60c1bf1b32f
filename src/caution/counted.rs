//! What a rule counts, found in a formula: the substances added up, on the rule's basis, and the line that brings most of it.

use super::Case;
use crate::compute::{Composition, components_of};
use crate::material::Counting;
use crate::model::Line;
use crate::quantity::{Decimal, Range, round_half_even, show};
use crate::report::Place;

/// Whether the rule is meant for what the substances do here. A rule without a purpose always is, as long as one is there.
pub(super) fn serves_purpose(case: &Case<'_>, counting: &Counting) -> bool {
    // Most rules count nothing that is here, and this tells it soonest.
    let composition = &case.computed.composition;
    if !counting.substances.iter().any(|inci| share_of(composition, counting, inci).is_some()) {
        return false;
    }
    if counting.only_with.as_ref().is_some_and(|needed| !composition.substances.contains_key(needed)) {
        return false;
    }
    let mut bringers = case
        .lines()
        .filter(|(_, line)| line.material.contains.iter().any(|part| counting.substances.contains(&part.inci)));
    match counting.purpose.as_deref() {
        None => true,
        Some("other") => !bringers.any(|(_, line)| preserves(case, line)),
        Some("preservative") => bringers.any(|(_, line)| preserves(case, line)),
        Some(function) => bringers.any(|(_, line)| line.material.serves_as(function)),
    }
}

/// Whether a line is there to preserve. What also exfoliates does so only where nothing else preserves: beside another preservative it is there
/// for the skin. Common practice, no source; the rules want the purpose to be apparent from the presentation.
fn preserves(case: &Case<'_>, line: &Line) -> bool {
    let other = |known: &Line| known.material.id != line.material.id && known.material.serves_as("preservative");
    line.material.serves_as("preservative")
        && !(line.material.serves_as("exfoliant") && case.lines().any(|(_, known)| other(known)))
}

/// What there is of a substance for a rule, % of the product. A rule that asks for no purpose also counts what oils and scents bring of it.
fn share_of(composition: &Composition, counting: &Counting, inci: &str) -> Option<Range> {
    match counting.purpose {
        None => composition.anywhere(inci),
        Some(_) => composition.substances.get(inci).copied(),
    }
}

/// The substances added up, % of the product, counted as the rule counts them; `None` when none is there or a molar mass is
/// missing.
///
/// Counted as another substance: share × molecules given × M(basis) ÷ M(substance). The ends of the range are carried through.
pub(super) fn total(case: &Case<'_>, counting: &Counting, composition: &Composition) -> Option<Range> {
    let mut sum: Option<Range> = None;
    for inci in &counting.substances {
        let Some(share) = share_of(composition, counting, inci).filter(|share| share.high > Decimal::ZERO) else {
            continue;
        };
        let counted = match &counting.counted_as {
            Some(basis) if basis != inci => share.times(factor(case, counting, inci, basis)?),
            _ => share,
        };
        sum = Some(sum.unwrap_or_default() + counted);
    }
    sum
}

/// Grams of the basis that one gram of a substance counts as.
fn factor(case: &Case<'_>, counting: &Counting, inci: &str, basis: &str) -> Option<Decimal> {
    let molar_mass = |inci: &str| {
        let substance = case.catalogue.substance(inci)?;
        Some((substance.molar_mass.as_ref()?.range()?.typical, substance.units))
    };
    let (of_basis, _) = molar_mass(basis)?;
    let (of_substance, usual_units) = molar_mass(inci)?;
    let units = counting.units.get(inci).copied().unwrap_or(usual_units);
    (of_basis * units).checked_div(of_substance)
}

/// Those of the substances that the formula holds, in the rule's order.
pub(super) fn present<'r>(case: &Case<'_>, counting: &'r Counting) -> Vec<&'r String> {
    let composition = &case.computed.composition;
    let is_there =
        |inci: &&String| share_of(composition, counting, inci).is_some_and(|share| share.high > Decimal::ZERO);
    counting.substances.iter().filter(is_there).collect()
}

/// The amount as a sentence says it: the upper end, with "up to" before it when it is a range, and the basis behind it. So many
/// digits that it can be told from the bound.
pub(super) fn amount_words(amount: Range, bound: Decimal, counting: &Counting) -> String {
    let digits = bound.scale().max(2) + 1;
    let rounded = show::percent_to(amount.high, digits);
    let is_at_bound = round_half_even(amount.high, digits) == bound && amount.high != bound;
    let shown = if is_at_bound { show::percent_beyond(amount.high, bound) } else { rounded };
    let range = if amount.is_exact() { "" } else { "up to " };
    let basis = counting.counted_as.as_ref().map_or(String::new(), |basis| format!(" counted as {basis}"));
    format!("{range}{shown}{basis}")
}

/// A bound as the rule writes it; a ceiling is never rounded.
pub(super) fn bound_words(bound: Decimal) -> String {
    show::percent_to(bound, bound.scale())
}

/// The line that brings most of it.
pub(super) fn place_of(case: &Case<'_>, counting: &Counting) -> Place {
    let formula = &case.computed.formula;
    let in_oils = |line: &Line| -> Decimal {
        let parts = line.material.constituents.iter().filter(|part| counting.substances.contains(&part.inci));
        let shares = parts.filter_map(|part| part.percent.range());
        shares.map(|share| share.high * formula.percent(line).value()).sum()
    };
    let brought = |line: &Line| -> Decimal {
        components_of(line)
            .into_iter()
            .filter(|(component, _)| counting.substances.contains(&component.inci))
            .filter_map(|(_, share)| share)
            .map(|share| share.typical * formula.percent(line).value())
            .sum::<Decimal>()
            + in_oils(line)
    };
    let mut best: Option<(Decimal, &Line)> = None;
    for (_, line) in case.lines() {
        let amount = brought(line);
        if amount > best.map_or(Decimal::ZERO, |(most, _)| most) {
            best = Some((amount, line));
        }
    }
    best.map_or_else(|| formula.id_place.clone(), |(_, line)| line.amount_place.clone())
}
