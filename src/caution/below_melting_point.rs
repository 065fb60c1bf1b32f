//! A phase held too cool to melt what is in it.

use super::{Case, Caution};
use crate::material::{Dissolves, SurfactantClass};
use crate::quantity::{Decimal, Temperature, show};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

const KIND: &Kind = &Kind {
    name: "below-melting-point",
    severity: Severity::Caution,
    summary: "A phase held below the melting point of a wax, butter or fatty alcohol in it.",
    why: "What is not melted stays as grains, and the emulsion is made without it. Often it is a temperature in °F written as °C, or the other way round.",
    mend: "Hold the phase some degrees above the highest melting point in it, or move the material to a hotter phase.",
};

/// Only what melts between these temperatures is melted in a phase; salts and sugars are dissolved, °C. Common practice, no source.
const MELTED: (Decimal, Decimal) = (Decimal::from_parts(30, 0, 0, false, 0), Decimal::from_parts(110, 0, 0, false, 0));

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for phase in &case.computed.formula.phases {
        let Some((hold, place)) = &phase.hold else { continue };
        for line in &phase.lines {
            let material = &line.material;
            // Quats and the like dissolve in the molten fatty alcohol beside them, far below their own melting point.
            let is_melted = material.dissolves.as_ref().is_some_and(|stated| stated.value == Dissolves::Oil)
                && material.charge() != Some(SurfactantClass::Cationic)
                && material.form.as_deref() != Some("liquid")
                && material.form.as_deref() != Some("powder");
            let Some(fact) = material.melting_point.as_ref().filter(|_| is_melted) else { continue };
            // The lower end: a lot that melts there is still that material.
            let Some(melts) = fact.min.or(fact.typical).filter(|melts| (MELTED.0..=MELTED.1).contains(melts)) else {
                continue;
            };
            if hold.celsius() < melts {
                findings.push(
                    Finding::new(
                        KIND,
                        place.clone(),
                        format!(
                            "Phase {} is held at {}, but `{}` melts at {}.",
                            phase.key,
                            show::celsius(*hold),
                            line.written,
                            show::celsius(Temperature::from_celsius(melts))
                        ),
                    )
                    .source(fact.source_line())
                    .also_at(line.place.clone(), format!("`{}`", line.written)),
                );
            }
        }
    }
}
