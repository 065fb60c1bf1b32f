//! A pH specification wholly outside what is usual for the product type.

use super::{Case, Caution};
use crate::compute::{Span, span_words};
use crate::quantity::show;
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

const KIND: &Kind = &Kind {
    name: "ph-unusual-for-product",
    severity: Severity::Note,
    summary: "A pH specification wholly outside what is usual for the product type.",
    why: "There may be a good reason for it; a slip of the pen looks the same.",
    mend: "Check the specification, or write down beside the formula why it differs.",
};

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    let (Some(ph), Some(product)) = (formula.ph, &formula.product) else { return };
    let Some(usual) = &product.ph else { return };
    let (low, high) = (ph.low.value(), ph.high.value());
    let outside = usual.min.is_some_and(|min| high < min) || usual.max.is_some_and(|max| max < low);
    if outside {
        let place = formula.ph_place.clone().unwrap_or_else(|| formula.id_place.clone());
        let span = span_words(Span::of(usual));
        let what = format!(
            "`{}` is specified at pH {}; usual for a product of type `{}` is pH {span}.",
            case.id(),
            show::ends(low, high),
            product.name
        );
        findings.push(Finding::new(KIND, place, what).source(usual.source_line()));
    }
}
