//! Percentages without a basis: the share of surfactant, or of the whole composition, is not known.

use super::{Case, Caution};
use crate::compute::{has_strength, usual_strength};
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Severity, list};

pub(super) const CAUTION: Caution = Caution { kinds: &[STRENGTH, BASIS, FAR_OFF, COMPOSITION], examine };

const STRENGTH: &Kind = &Kind {
    name: "strength-unknown",
    severity: Severity::Question,
    summary: "A surfactant whose active matter is not known.",
    why: "The active matter of the whole product cannot be said while one part of it is unknown; unknown is not zero.",
    mend: "In the material's entry give each part of the composition its share, and each surfactant its class: `surfactant = \"anionic\"`.",
};

const BASIS: &Kind = &Kind {
    name: "strength-of-what",
    severity: Severity::Question,
    summary: "A strength on a material of which nothing says what the strength counts.",
    why: "A percentage needs a basis: of active matter, of the acid, of the salt?",
    mend: "Say in the material's entry what is counted, `strength = { typical = 50, of = \"Citric Acid\" }`, or take the strength off the line.",
};

const FAR_OFF: &Kind = &Kind {
    name: "strength-far-off",
    severity: Severity::Question,
    summary: "A lot's strength that is less than half or more than twice what the material usually has.",
    why: "So far off, it is more often a fraction written for a percentage, or another material's sheet.",
    mend: "Compare it with the certificate of the lot; strengths are in %, so seventy per cent is `\"70 %\"`, not `0.7`.",
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
        let usual = usual_strength(&line.material).filter(|usual| usual.typical > Decimal::ZERO);
        if let (Some(strength), Some(usual)) = (line.strength, usual)
            && (strength.high * Decimal::TWO < usual.low || strength.low > usual.high * Decimal::TWO)
        {
            findings.push(
                Finding::new(
                    FAR_OFF,
                    line.amount_place.clone(),
                    format!(
                        "`{}` is given a strength of {}\u{a0}%, but usually has {}\u{a0}%.",
                        line.written,
                        show::ends(strength.low.normalize(), strength.high.normalize()),
                        show::ends(usual.low.normalize(), usual.high.normalize()),
                    ),
                )
                .source(
                    line.material
                        .strength
                        .as_ref()
                        .map_or_else(|| "composition of the material".to_owned(), |strength| strength.source_line()),
                ),
            );
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
