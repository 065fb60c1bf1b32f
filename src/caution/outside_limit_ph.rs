//! A substance that a rule allows only at certain pH, in a product of another pH.

use super::counted::{place_of, present, serves_purpose};
use super::{Case, Caution, source_of};
use crate::compute::watery_of;
use crate::material::{Limit, PhBound, ProductType};
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Severity, list};

pub(super) const CAUTION: Caution = Caution { kinds: &[OUTSIDE, NOT_JUDGED], examine };

const OUTSIDE: &Kind = &Kind {
    name: "outside-limit-ph",
    severity: Severity::Caution,
    summary: "A pH at which a rule does not allow a substance.",
    why: "The rule binds the substance to the pH of the finished product.",
    mend: "Change the pH specification, or leave the substance out.",
};

const NOT_JUDGED: &Kind = &Kind {
    name: "limit-ph-not-judged",
    severity: Severity::Question,
    summary: "A rule on the pH of the product, and no pH specification.",
    why: "Whether the rule is kept cannot be judged.",
    mend: "Measure it, and add the pH specification, `ph = \"4.8..5.2\"`.",
};

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    if case.product_use().is_some_and(|product_use| !product_use.is_cosmetic()) {
        return;
    }
    let formula = &case.computed.formula;
    for limit in case.catalogue.limits() {
        let Some(bound) = limit.ph.as_ref().filter(|_| case.settings.rules.contains(&limit.rules)) else { continue };
        if !serves_purpose(case, &limit.counting) {
            continue;
        }
        if present(case, &limit.counting).is_empty() {
            continue;
        }
        match formula.ph {
            Some(ph) if bound.is_kept_by(ph.low.value(), ph.high.value()) => {}
            Some(ph) => {
                let names = list(&present(case, &limit.counting), "and");
                let stated = show::ends(ph.low.value(), ph.high.value());
                let what = format!(
                    "{names} {} a pH {}, but `{}` is specified at pH {stated}.",
                    if limit.is_advice { "should have" } else { "must have" },
                    bound.words(),
                    case.id()
                );
                let line = place_of(case, &limit.counting);
                let place = formula.ph_place.clone().unwrap_or_else(|| line.clone());
                findings.push(with_remark(limit, OUTSIDE, Finding::new(OUTSIDE, place, what)).also_at(line, names));
            }
            // What products of this type usually have keeps the rule, so nothing is asked; nor is it of a product without water,
            // which has no pH. Advice never asks.
            None if limit.is_advice
                || usually_keeps(formula.product.as_ref(), bound)
                || watery_of(&case.computed.composition).high < Decimal::ONE => {}
            None => {
                let names = list(&present(case, &limit.counting), "and");
                let what = format!("{names} must have a pH {}, but `{}` states no pH.", bound.words(), case.id());
                let place = place_of(case, &limit.counting);
                findings.push(with_remark(limit, NOT_JUDGED, Finding::new(NOT_JUDGED, place, what)));
            }
        }
    }
}

/// Whether the pH that products of this type usually have keeps the bound.
fn usually_keeps(product: Option<&ProductType>, bound: &PhBound) -> bool {
    let usual = product.and_then(|product| product.ph.as_ref());
    let ends: Option<(Decimal, Decimal)> = usual.and_then(|ph| ph.min.zip(ph.max));
    ends.is_some_and(|(low, high)| bound.is_kept_by(low, high))
}

fn with_remark(limit: &Limit, kind: &Kind, finding: Finding) -> Finding {
    let finding = finding.source(source_of(&limit.entry, limit.how));
    match &limit.note {
        Some(note) => finding.because(format!("{} Remark to this limit: {note}.", kind.why)),
        None => finding,
    }
}
