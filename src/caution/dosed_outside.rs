//! A dose to a pH that the specification does not hold.

use super::{Case, Caution};
use crate::quantity::{Ph, read_decimal, show};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

const KIND: &Kind = &Kind {
    name: "dosed-outside-specification",
    severity: Severity::Caution,
    summary: "A line that is dosed to a pH outside the formula's own specification.",
    why: "Whoever makes it follows one of the two, and the preservative was judged by the other.",
    mend: "Make `to` of the line and `ph` of the formula agree.",
};

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    let Some(ph) = formula.ph else { return };
    for (_, line) in case.lines() {
        let aimed = line.effect.as_deref().and_then(|to| to.trim().strip_prefix("pH"));
        let Some(aimed) = aimed.and_then(|number| read_decimal(number).ok()).and_then(Ph::new) else { continue };
        if (ph.low..=ph.high).contains(&aimed) {
            continue;
        }
        let what = format!(
            "`{}` is dosed to pH {}, but `{}` is specified at pH {}.",
            line.written,
            aimed.value(),
            case.id(),
            show::ends(ph.low.value(), ph.high.value())
        );
        // Two statements of one author need no source to contradict each other.
        let finding = Finding::new(KIND, line.amount_place.clone(), what).source("the formula itself");
        findings.push(match &formula.ph_place {
            Some(place) => finding.also_at(place.clone(), "the specification"),
            None => finding,
        });
    }
}
