//! A phase held at a temperature that one of its materials does not bear.

use super::{Case, Caution};
use crate::material::{Fact, Material};
use crate::quantity::{Decimal, Temperature, show};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

const KIND: &Kind = &Kind {
    name: "held-too-hot",
    severity: Severity::Caution,
    summary: "A phase held above the temperature limit of one of its materials.",
    why: "Heat may drive it off, break it down or undo its work, and what is left may be too little.",
    mend: "Hold the phase cooler, or add the material to a later phase below its limit.",
};

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for phase in &case.computed.formula.phases {
        let Some((hold, place)) = &phase.hold else { continue };
        for line in &phase.lines {
            let Some((fact, max, words)) = limit_of(&line.material) else { continue };
            if hold.celsius() > max {
                let limit = show::celsius(Temperature::from_celsius(max));
                findings.push(
                    Finding::new(
                        KIND,
                        place.clone(),
                        format!(
                            "Phase {} is held at {}, but `{}` {words} {limit}.",
                            phase.key,
                            show::celsius(*hold),
                            line.written
                        ),
                    )
                    .source(fact.source_line())
                    .also_at(line.place.clone(), format!("`{}`", line.written)),
                );
            }
        }
    }
}

/// The temperature, °C, at or below which a material stays or is added, the lower where both are known, with the words that go before it. Both are
/// "at most", so the lower one is the one to keep.
pub(super) fn limit_of(material: &Material) -> Option<(&Fact, Decimal, &'static str)> {
    [(&material.temperature_limit, "must stay at or below"), (&material.add_below, "is added at or below")]
        .into_iter()
        .filter_map(|(fact, words)| fact.as_ref().and_then(|fact| Some((fact, fact.max.or(fact.typical)?, words))))
        .min_by_key(|(_, max, _)| *max)
}
