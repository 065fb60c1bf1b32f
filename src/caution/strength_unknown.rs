//! Percentages without a basis: the share of surfactant, or of the whole composition, is not known.

use super::{Case, Caution};
use crate::compute::has_strength;
use crate::report::{Finding, Kind, Severity, list};

pub(super) const CAUTION: Caution = Caution { kinds: &[STRENGTH, BASIS, COMPOSITION], examine };

const STRENGTH: &Kind = &Kind {
    name: "strength-unknown",
    severity: Severity::Question,
    summary: "A surfactant whose active matter is not known.",
    why: "The active matter of the whole product cannot be said while one part of it is unknown; unknown is not zero.",
    mend: "Give this lot's strength on the line, `strength = \"30 %\"`, or describe the composition of the material.",
};

const BASIS: &Kind = &Kind {
    name: "strength-of-what",
    severity: Severity::Question,
    summary: "A strength on a material of which nothing says what the strength counts.",
    why: "A percentage needs a basis: of active matter, of the acid, of the salt?",
    mend: "Say in the material's entry what is counted, `strength = { typical = 50, of = \"Citric Acid\" }`, or take the strength off the line.",
};

const COMPOSITION: &Kind = &Kind {
    name: "composition-unknown",
    severity: Severity::Question,
    summary: "A raw material whose composition is not known.",
    why: "Its water and its limited substances are missing from every sum, so limits cannot be judged to the end.",
    mend: "Describe what it contains in the collection's `materials` folder.",
};

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for (index, line) in case.lines() {
        if case.computed.active.unknown.contains(&index) {
            findings.push(Finding::new(
                STRENGTH,
                line.place.clone(),
                format!("`{}` is a surfactant, but its active matter is not known.", line.written),
            ));
        }
        if line.strength.is_some() && !has_strength(&line.material) {
            findings.push(Finding::new(
                BASIS,
                line.amount_place.clone(),
                format!("A strength is given for `{}`, but not what of.", line.written),
            ));
        }
    }
    let unknown = &case.computed.composition.unknown;
    if !unknown.is_empty() {
        findings.push(Finding::new(
            COMPOSITION,
            case.computed.formula.id_place.clone(),
            format!("The composition of {} is not known.", list(unknown, "and")),
        ));
    }
}
