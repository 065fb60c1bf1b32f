//! Active matter outside what is usual for the product.

use super::{Case, Caution};
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

const KIND: &Kind = &Kind {
    name: "active-matter-outside",
    severity: Severity::Caution,
    summary: "Active matter outside the usual range of the product type.",
    why: "Above the range a wash dries and irritates; below it, it hardly cleans.",
    mend: "Change the surfactant lines, or check their strength against the sheet of the lot.",
};

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    let active = &case.computed.active;
    let Some(product) = &formula.product else { return };
    let Some(usual) = &product.active else { return };
    // A sum that is unknown is a question of its own.
    if !active.unknown.is_empty() {
        return;
    }
    let total = active.total;
    // A bath bomb need not foam; what is made without any surfactant has no active matter to be too little.
    if !active.is_any() && product.active_is_optional {
        return;
    }
    // The range of the strengths decides only where it lies wholly outside: a strength inside the usual range cannot be excluded.
    let below = usual.min.is_some_and(|min| total.high < min);
    let above = usual.max.is_some_and(|max| total.low > max);
    if !below && !above {
        return;
    }
    let side = if below { "below" } else { "above" };
    let shown = if total.high > Decimal::ZERO { show::percent_range(total, 1) } else { "0\u{a0}%".to_owned() };
    findings.push(
        Finding::new(
            KIND,
            formula.id_place.clone(),
            format!(
                "`{}` holds {shown} active matter, {side} the {}\u{a0}% that is usual for a {}.",
                case.id(),
                usual.words(),
                product.name
            ),
        )
        .source(usual.source_line()),
    );
}
