//! A substance over a legal ceiling, in the formula as written or as it will be weighed.

use super::{Case, Caution};
use crate::compute::{Composition, components_of, composition_of};
use crate::material::{Known, Limit, Use};
use crate::quantity::{Decimal, Range, round_half_even, show};
use crate::report::{Finding, Kind, Place, Severity, list};
use std::cell::OnceCell;

pub(super) const CAUTION: Caution = Caution { kinds: &[OVER, OVER_AS_WEIGHED], examine };

const OVER: &Kind = &Kind {
    name: "over-limit",
    severity: Severity::Caution,
    summary: "A substance over a legal ceiling of the chosen rule sets.",
    why: "The ceiling holds for the finished product and is there for the skin of whoever uses it.",
    mend: "Use less. Whether a product may be sold is for local rules and a qualified assessor to say.",
};

const OVER_AS_WEIGHED: &Kind = &Kind {
    name: "over-limit-as-weighed",
    severity: Severity::Caution,
    summary: "A substance that the rounding of the balance takes over a legal ceiling.",
    why: "What is weighed is what is in the bottle.",
    mend: "Make a larger batch, weigh on a finer balance, weigh a pre-dilution, or plan a little less.",
};

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    // The rules behind the limits are for cosmetics.
    if case.product_use() == Some(Use::Household) {
        return;
    }
    // Most formulas hold no limited substance at all, so this is worked out only when one does.
    let as_weighed = OnceCell::new();
    for limit in case.catalogue.limits() {
        if !case.settings.rules.contains(&limit.rules) || !serves_purpose(case, limit) {
            continue;
        }
        let Some(ceiling) = limit.ceiling(case.product_use()) else { continue };
        let max = ceiling.percent.value();
        let Some(formulated) = total(case, limit, &case.computed.composition) else { continue };
        let as_weighed = as_weighed
            .get_or_init(|| composition_of(&case.computed.formula, &case.computed.sheet.percents_as_weighed()));
        let weighed = total(case, limit, as_weighed).unwrap_or(formulated);
        // The upper end of the range decides: a lot at the strong end of its specification is still that raw material.
        let (kind, amount) = if formulated.high > max {
            (OVER, formulated)
        } else if weighed.high > max {
            (OVER_AS_WEIGHED, weighed)
        } else {
            continue;
        };
        let finding = describe(case, limit, kind, amount, max, &ceiling.scope);
        // One substance may stand under two entries that say the same of it; it is said once, with both.
        match findings.iter_mut().find(|known| known.place == finding.place && known.what == finding.what) {
            Some(known) => known.source = join(known.source.take(), finding.source),
            None => findings.push(finding),
        }
    }
}

fn join(first: Option<String>, second: Option<String>) -> Option<String> {
    match (first, second) {
        (Some(first), Some(second)) => Some(format!("{first}; {second}")),
        (first, second) => first.or(second),
    }
}

/// Whether the limit is meant for what the substance does here: as preservative, or otherwise.
fn serves_purpose(case: &Case<'_>, limit: &Limit) -> bool {
    let mut bringers = case
        .lines()
        .filter(|(_, line)| line.material.contains.iter().any(|part| limit.substances.contains(&part.inci)))
        .peekable();
    if bringers.peek().is_none() {
        return false;
    }
    let as_preservative = bringers.any(|(_, line)| line.material.serves_as("preservative"));
    match limit.purpose.as_deref() {
        Some("preservative") => as_preservative,
        Some("other") => !as_preservative,
        _ => true,
    }
}

/// The substances of a limit added up, counted as the limit counts them; `None` when none is there or a molar mass is missing.
///
/// As acid: share × units × M(acid) ÷ M(substance).
fn total(case: &Case<'_>, limit: &Limit, composition: &Composition) -> Option<Range> {
    let mut sum: Option<Range> = None;
    for inci in &limit.substances {
        let Some(share) = composition.substances.get(inci).filter(|share| share.high > Decimal::ZERO) else { continue };
        let counted = match &limit.counted_as {
            Some(basis) if basis != inci => share.times(factor(case, inci, basis)?),
            _ => *share,
        };
        sum = Some(sum.unwrap_or_default() + counted);
    }
    sum
}

/// Grams of the basis that one gram of a substance counts as.
fn factor(case: &Case<'_>, inci: &str, basis: &str) -> Option<Decimal> {
    let molar_mass = |inci: &str| {
        let substance = case.catalogue.substance(inci)?;
        Some((substance.molar_mass.as_ref()?.range()?.typical, substance.units))
    };
    let (of_basis, _) = molar_mass(basis)?;
    let (of_substance, units) = molar_mass(inci)?;
    (of_basis * units).checked_div(of_substance)
}

fn describe(case: &Case<'_>, limit: &Limit, kind: &'static Kind, amount: Range, max: Decimal, scope: &str) -> Finding {
    let place = place_of(case, limit);
    let digits = max.scale().max(2) + 1;
    let rounded = show::percent_to(amount.high, digits);
    let shown =
        if round_half_even(amount.high, digits) == max { show::percent_beyond(amount.high, max) } else { rounded };
    let range = if amount.is_exact() { "" } else { "up to " };
    let basis = limit.counted_as.as_ref().map_or(String::new(), |basis| format!(" counted as {basis}"));
    let present: Vec<&String> = limit
        .substances
        .iter()
        .filter(|inci| case.computed.composition.substances.get(*inci).is_some_and(|share| share.high > Decimal::ZERO))
        .collect();
    let weighed = if std::ptr::eq(kind, OVER_AS_WEIGHED) { " as it will be weighed" } else { "" };
    let scope = match (scope, case.product_use()) {
        ("any", _) => String::new(),
        (scope, Some(_)) => format!(" in {scope} products"),
        (scope, None) => format!(" in {scope} products (the product type is not stated)"),
    };
    let what = if max.is_zero() {
        format!("{} ({range}{shown}{basis}{weighed}) is not allowed{scope}.", list(&present, "and"))
    } else {
        format!(
            "{} at {range}{shown}{basis}{weighed} is over the limit of {}{scope}.",
            list(&present, "and"),
            show::percent(max)
        )
    };
    let source = match limit.how {
        Known::Published => limit.entry.clone(),
        how => format!("{} ({})", limit.entry, how.words()),
    };
    let finding = Finding::new(kind, place, what).source(source);
    match &limit.note {
        Some(note) => finding.because(format!("{} Remark to this limit: {note}.", kind.why)),
        None => finding,
    }
}

/// The line that brings most of it.
fn place_of(case: &Case<'_>, limit: &Limit) -> Place {
    let formula = &case.computed.formula;
    let brought = |line: &crate::model::Line| -> Decimal {
        components_of(line)
            .into_iter()
            .filter(|(component, _)| limit.substances.contains(&component.inci))
            .filter_map(|(_, share)| share)
            .map(|share| share.typical * formula.percent(line).value())
            .sum()
    };
    let mut best: Option<(Decimal, &crate::model::Line)> = None;
    for (_, line) in case.lines() {
        let amount = brought(line);
        if amount > best.map_or(Decimal::ZERO, |(most, _)| most) {
            best = Some((amount, line));
        }
    }
    best.map_or_else(|| formula.id_place.clone(), |(_, line)| line.amount_place.clone())
}
