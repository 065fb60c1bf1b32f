//! How the materials of the formula are to be handled: one caution for each hazard, naming the materials.

use super::{Case, Caution};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

const KIND: &Kind = &Kind {
    name: "handle-with-care",
    severity: Severity::Caution,
    summary: "Raw materials that need care while they are handled.",
    why: "",
    mend: "",
};

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    for hazard in case.catalogue.hazards() {
        let mut names: Vec<&str> = Vec::new();
        let mut sources: Vec<String> = Vec::new();
        for (_, line) in case.lines() {
            for handling in line.material.handling.iter().filter(|handling| handling.hazard == hazard.key) {
                if !names.contains(&line.material.name.as_str()) {
                    names.push(&line.material.name);
                }
                if let Some(source) = handling.source.as_ref().map(|source| source.line())
                    && !sources.contains(&source)
                {
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
