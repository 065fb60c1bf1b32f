//! How the materials and the hot phases of the formula are to be handled: one caution for each hazard, naming them.

use super::{Case, Caution};
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

const KIND: &Kind = &Kind {
    name: "handle-with-care",
    severity: Severity::Caution,
    summary: "Raw materials and hot phases that need care while they are handled.",
    why: "",
    mend: "",
};

/// From this temperature on a phase scalds whoever it is spilt on, °C. Common practice, no source.
const SCALDING: Decimal = Decimal::from_parts(60, 0, 0, false, 0);

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    for hazard in case.catalogue.hazards() {
        let mut names: Vec<String> = Vec::new();
        let mut sources: Vec<String> = Vec::new();
        for (_, line) in case.lines() {
            for handling in line.material.handling.iter().filter(|handling| handling.hazard == hazard.key) {
                if !names.contains(&line.material.name) {
                    names.push(line.material.name.clone());
                }
                if let Some(source) = handling.source.as_ref().map(|source| source.line())
                    && !sources.contains(&source)
                {
                    sources.push(source);
                }
            }
        }
        if hazard.key == "hot" {
            let hot = formula.phases.iter().filter_map(|phase| Some((phase, phase.hold.as_ref()?.0)));
            for (phase, hold) in hot.filter(|(_, hold)| hold.celsius() >= SCALDING) {
                names.push(format!("phase {} at {}", phase.key, show::celsius(hold)));
                let source = hazard.source.as_ref().map_or_else(String::new, |source| source.line());
                if !sources.contains(&source) {
                    sources.push(source);
                }
            }
        }
        if names.is_empty() {
            continue;
        }
        let what = format!("{}: {}. {}", hazard.title, names.join("; "), hazard.measure);
        findings.push(Finding::new(KIND, formula.id_place.clone(), what).source(sources.join("; ")));
    }
}
