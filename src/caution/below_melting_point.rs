//! A phase held too cool to melt what is in it.

use super::held_too_hot::limit_of;
use super::{Case, Caution};
use crate::material::{Dissolves, Fact, Material, SurfactantClass};
use crate::quantity::{Decimal, Temperature, show};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

pub(super) const KIND: &Kind = &Kind {
    name: "below-melting-point",
    severity: Severity::Caution,
    summary: "A phase held below the melting point of a wax, butter or fatty alcohol in it.",
    why: "What is not melted stays as grains, and the emulsion is made without it. Often it is a temperature in °F written as °C, or the other way round.",
    mend: "Hold the phase some degrees above the highest melting point in it, or move the material to a hotter phase.",
};

/// Only what melts between these temperatures is melted in a phase; salts and sugars are dissolved, °C. Common practice, no source.
const MELTED: (Decimal, Decimal) = (Decimal::from_parts(30, 0, 0, false, 0), Decimal::from_parts(110, 0, 0, false, 0));

/// The temperature from which on a material of a phase is molten, °C, where it has to be melted at all, and where that is from.
pub(super) fn melts_at(material: &Material) -> Option<(Decimal, &Fact)> {
    // Quats and the like dissolve in the molten fatty alcohol beside them, far below their own melting point; scents dissolve in oil.
    let is_melted = material.dissolves.as_ref().is_some_and(|stated| stated.value == Dissolves::Oil)
        && material.charge() != Some(SurfactantClass::Cationic)
        && !material.serves_as("fragrance")
        && !matches!(material.form.as_deref(), Some("liquid" | "powder"));
    let fact = material.melting_point.as_ref().filter(|_| is_melted)?;
    // The lower end: a lot that melts there is still that material.
    let melts = fact.min.or(fact.typical).filter(|melts| (MELTED.0..=MELTED.1).contains(melts))?;
    // What must not become so hot is meant to be dissolved.
    limit_of(material).is_none_or(|(_, limit, _)| melts <= limit).then_some((melts, fact))
}

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for phase in &case.computed.formula.phases {
        let Some((hold, place)) = &phase.hold else { continue };
        for line in &phase.lines {
            let Some((melts, fact)) = melts_at(&line.material).filter(|(melts, _)| hold.celsius() < *melts) else {
                continue;
            };
            let melts = show::celsius(Temperature::from_celsius(melts));
            let what = format!(
                "Phase {} is held at {}, but `{}` melts at {melts}.",
                phase.key,
                show::celsius(*hold),
                line.written
            );
            findings.push(
                Finding::new(KIND, place.clone(), what)
                    .source(fact.source_line())
                    .also_at(line.place.clone(), format!("`{}`", line.written)),
            );
        }
    }
}
