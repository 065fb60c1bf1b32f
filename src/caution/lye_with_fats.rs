//! Lye together with fats: soap is made, and how much lye the fats take is not worked out.

use super::{Case, Caution};
use crate::compute::percent_of_substances;
use crate::material::Material;
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

const KIND: &Kind = &Kind {
    name: "lye-not-judged",
    severity: Severity::Caution,
    summary: "Lye together with fats, without a check of how much lye the fats take.",
    why: "Lye that the fats do not take stays in the soap and burns skin and eyes. A `formula` block does not work this out.",
    mend: "Do not make it from this sheet. Work the lye out in a `saponification` block, from the saponification value of each fat, and have it checked.",
};

const LYES: [&str; 2] = ["Sodium Hydroxide", "Potassium Hydroxide"];

/// From this much lye on it is there to make soap and not to set a pH, % of the product. Common practice, no source.
const SOAP_MAKING: Decimal = Decimal::ONE;

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let lye = percent_of_substances(&case.computed.composition, &LYES);
    if lye.high < SOAP_MAKING {
        return;
    }
    let is_lye = |inci: &str| LYES.contains(&inci);
    let Some((_, line)) = case.lines().find(|(_, line)| line.material.contains.iter().any(|part| is_lye(&part.inci)))
    else {
        return;
    };
    let fats: Vec<&str> =
        case.lines().filter(|(_, line)| takes_lye(&line.material)).map(|(_, line)| line.written.as_str()).collect();
    if fats.is_empty() {
        return;
    }
    findings.push(
        Finding::new(
            KIND,
            line.amount_place.clone(),
            format!(
                "`{}` holds {} lye with {}; whether lye is left over is not worked out here.",
                case.id(),
                show::percent_range(lye, 1),
                crate::report::list(&fats, "and")
            ),
        )
        .source("common practice, no source"),
    );
}

/// Whether lye turns it into soap. Mineral oil has a saponification value too: none.
fn takes_lye(material: &Material) -> bool {
    material
        .saponification_value
        .as_ref()
        .and_then(|value| value.max.or(value.typical))
        .is_some_and(|most| most > Decimal::ZERO)
}
