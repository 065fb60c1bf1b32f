//! A hand rub with too little alcohol to work.

use super::{Case, Caution};
use crate::compute::percent_of_substances;
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

const KIND: &Kind = &Kind {
    name: "weak-hand-rub",
    severity: Severity::Caution,
    summary: "A hand rub with less alcohol than works.",
    why: "Weak alcohol leaves germs alive on hands that are then thought clean.",
    mend: "Follow the formula of the WHO, 80 % v/v ethanol or 75 % v/v isopropyl alcohol. What a hand rub may say and who may make it is for the local rules on biocides or drugs.",
};

/// The least alcohol, % w/w of the product: 60 % v/v of ethanol is 52.1 % w/w (OIML R 22, from its general formula).
const LEAST: Decimal = Decimal::from_parts(521, 0, 0, false, 1);
const ALCOHOLS: [&str; 3] = ["Alcohol", "Alcohol Denat.", "Isopropyl Alcohol"];

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    if formula.product.as_ref().is_none_or(|product| product.name != "hand rub") {
        return;
    }
    let alcohol = percent_of_substances(&case.computed.composition, &ALCOHOLS);
    // A lot at the weak end of its strength is still that raw material. One without any alcohol is no such hand rub, and whether it keeps is said
    // elsewhere.
    if alcohol.high.is_zero() || alcohol.low >= LEAST || !case.computed.composition.unknown.is_empty() {
        return;
    }
    let what = format!(
        "`{}` holds {} w/w of alcohol; less than {} w/w, which is 60 % v/v, does not disinfect.",
        case.id(),
        show::percent_range(alcohol, 1),
        show::percent(LEAST),
    );
    let source = "from memory: at least 60 % v/v (public health agencies); the formulas: WHO, Guide to local production: WHO-recommended handrub formulations, April 2010";
    findings.push(Finding::new(KIND, formula.id_place.clone(), what).source(source));
}
