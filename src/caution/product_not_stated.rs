//! A formula that does not say what product it is.

use super::{Case, Caution};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

const KIND: &Kind = &Kind {
    name: "product-not-stated",
    severity: Severity::Question,
    summary: "A formula without a product type.",
    why: "Limits, use levels and the usual active matter differ between rinse-off and leave-on; the stricter ones were taken.",
    mend: "Add `product = \"body wash\"` or another known type.",
};

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    if formula.product.is_none() {
        findings.push(Finding::new(
            KIND,
            formula.id_place.clone(),
            format!("`{}` does not say what product it is: rinse-off or leave-on?", case.id()),
        ));
    }
}
