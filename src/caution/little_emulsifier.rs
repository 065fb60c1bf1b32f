//! An emulsion with next to nothing to hold it.

use super::{Case, Caution};
use crate::compute::Emulsion;
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Severity, list};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

const KIND: &Kind = &Kind {
    name: "little-emulsifier",
    severity: Severity::Caution,
    summary: "Far too little emulsifier for the fats of an emulsion.",
    why: "It parts into oil and water, and the preservative goes with one of them.",
    mend: "Take more of it, 15 to 30 % of the weight of the fats, or less fat.",
};

/// Below this share an emulsifier without a charge cannot cover the drops, % of the oil phase: a third of the least that is usual, 15 to 30 %. Common
/// practice, no source.
const LEAST: Decimal = Decimal::from_parts(5, 0, 0, false, 0);

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    // Charged emulsifiers and polymers do with less.
    let Some(emulsion) = Emulsion::of(case.computed).filter(|emulsion| emulsion.no_guide.is_none()) else { return };
    let sum = |parts: &[crate::compute::Part]| -> Decimal { parts.iter().map(|part| part.percent).sum() };
    let (fats, emulsifiers) = (sum(&emulsion.oils), sum(&emulsion.emulsifiers));
    if emulsifiers * Decimal::ONE_HUNDRED >= fats * LEAST {
        return;
    }
    // Where there is nothing but solubiliser, the caution on oils without one has said so.
    let holds = |written: &str| {
        let mut lines = case.lines().map(|(_, line)| line);
        lines.find(|line| line.written == written && !line.material.serves_as("solubiliser"))
    };
    let Some(line) = emulsion.emulsifiers.iter().find_map(|part| holds(&part.written)) else { return };
    let names: Vec<&str> = emulsion.emulsifiers.iter().map(|part| part.written.as_str()).collect();
    let what = format!(
        "{} at {} {} {} of fats to hold; {LEAST} % of their weight is the least.",
        list(&names, "and"),
        show::percent(emulsifiers.normalize()),
        if names.len() > 1 { "have" } else { "has" },
        show::percent(fats.normalize()),
    );
    findings.push(Finding::new(KIND, line.amount_place.clone(), what).source("common practice, no source"));
}
