//! Plant waters and juices: water that feeds germs and brings some.

use super::water_without_preservative::needs_preserving;
use super::{Case, Caution};
use crate::model::Line;
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Severity, list};

pub(super) const CAUTION: Caution = Caution { kinds: &[RISK, CHELATOR], examine };

const RISK: &Kind = &Kind {
    name: "plant-water-brings-germs",
    severity: Severity::Note,
    summary: "A product with a plant water, plant juice or infusion.",
    why: "They bring germs and feed them: in one survey half of the rose waters sampled held more than 100 germs per millilitre, and only doses of \
          preservative near the legal maximum kept natural water bacteria down for 90 days.",
    mend: "Buy it preserved and fresh, heat it if it bears that, dose the preservative at the upper end, and keep the batch small.",
};

const CHELATOR: &Kind = &Kind {
    name: "no-chelator",
    severity: Severity::Note,
    summary: "A product with plant water or protein, or with a preservative that iron discolours, and no chelator.",
    why: "Metal ions from plants and tap water feed germs, weaken preservatives and colour some of them.",
    mend: "Add 0.1–0.2 % of a chelator, first into the water.",
};

/// From this much plant water on it is more than a trace, % of the product. Common practice, no source.
const MORE_THAN_A_TRACE: Decimal = Decimal::ONE;

const SURVEYS: &str = "Moein et al., microbial quality of rose water in Fars (abstract); Labadie et al., J. Appl. Microbiol. 2016 (abstract)";

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    if !needs_preserving(case) {
        return;
    }
    let formula = &case.computed.formula;
    let percent = |line: &Line| formula.percent(line).value();
    let waters: Vec<&Line> = formula
        .lines()
        .filter(|line| line.material.serves_as("plant water") && percent(line) >= MORE_THAN_A_TRACE)
        .collect();
    if let Some(first) = waters.first() {
        let names: Vec<&str> = waters.iter().map(|line| line.written.as_str()).collect();
        let sum: Decimal = waters.iter().map(|line| percent(line)).sum();
        let what = format!(
            "{} at {}: water that brings germs and feeds them.",
            list(&names, "and"),
            show::percent(sum.normalize())
        );
        findings.push(Finding::new(RISK, first.place.clone(), what).source(SURVEYS));
    }
    let has_chelator = formula.lines().any(|line| line.material.serves_as("chelator") && percent(line) > Decimal::ZERO);
    if has_chelator {
        return;
    }
    // An entry that only warns of a third material together with iron is another matter.
    let names_iron = |words: &str| words.split(|c: char| !c.is_alphabetic()).any(|word| word == "iron");
    let iron = |line: &Line| {
        let mut pairs = line.material.incompatible.iter();
        line.material.serves_as("preservative") && pairs.any(|pair| pair.with.is_empty() && names_iron(&pair.words))
    };
    let wanting: Vec<&Line> = formula
        .lines()
        .filter(|line| percent(line) > Decimal::ZERO)
        .filter(|line| {
            line.material.serves_as("protein")
                || iron(line)
                || waters.iter().any(|water| water.material.id == line.material.id)
        })
        .collect();
    if let Some(first) = wanting.first() {
        let names: Vec<&str> = wanting.iter().map(|line| line.written.as_str()).collect();
        let what = format!("A chelator is advised beside {}, and there is none.", list(&names, "and"));
        findings.push(Finding::new(CHELATOR, first.place.clone(), what).source("common practice, no source"));
    }
}
