//! What a label still lacks, and times on it that do not go together.

use crate::block::{AfterOpening, LabelBlock};
use crate::compute::{Label, LabelState, Rules};
use crate::report::{Finding, Kind, Place, Severity, list};

pub(super) const KINDS: &[&Kind] = &[INCOMPLETE, AFTER_OPENING_LONGER, NOT_A_COSMETIC];

const INCOMPLETE: &Kind = &Kind {
    name: "label-incomplete",
    severity: Severity::Question,
    summary: "A label that lacks something its rules ask for.",
    why: "Who uses the product, and who has to find a batch again, can only go by what stands on the pack.",
    mend: "The list under the proof says for each what to write. That it is complete does not make a label lawful: local rules and a qualified person say that.",
};

const AFTER_OPENING_LONGER: &Kind = &Kind {
    name: "after-opening-longer",
    severity: Severity::Question,
    summary: "A product that is said to keep longer once opened than closed.",
    why: "What has been opened takes up microbes and air; it hardly keeps longer for that.",
    mend: "Look at both times again.",
};

const NOT_A_COSMETIC: &Kind = &Kind {
    name: "label-not-for-cosmetics",
    severity: Severity::Error,
    summary: "A label by the rules for cosmetics of a product that is none.",
    why: "Household products are labelled by other rules, with pictograms and words of hazard that are not worked out here.",
    mend: "Take the label out, and follow the local rules for such products.",
};

/// The finding for a product that the rules for cosmetics do not hold for.
pub fn label_fault(block: &LabelBlock, product: &str) -> Finding {
    let what = format!("`{product}` is no cosmetic, and the rules for labels that are known here are for cosmetics.");
    Finding::new(NOT_A_COSMETIC, block.formula.place.clone(), what)
}

/// What is to be said about a label.
pub fn examine_label(label: &Label, block: &LabelBlock, place: &Place) -> Vec<Finding> {
    let mut findings = Vec::new();
    for proof in &label.proofs {
        let missing: Vec<_> = proof.checks.iter().filter(|check| check.state == LabelState::Missing).collect();
        if missing.is_empty() {
            continue;
        }
        let names: Vec<String> = missing.iter().map(|check| check.what.to_owned()).collect();
        let mut sources: Vec<&str> = missing.iter().map(|check| check.source).collect();
        sources.dedup();
        let whose = match proof.rules {
            Rules::Eu => "the European Union",
            Rules::Us => "the United States",
        };
        let what = format!("The label for {whose} lacks: {}.", list(&names, "and"));
        let head = Place { path: place.path.clone(), span: place.span.start..place.span.start };
        findings.push(Finding::new(INCOMPLETE, head, what).source(sources.join("; ")));
    }
    if let (Some(months), Some(after)) = (&block.durability, &block.after_opening)
        && let AfterOpening::Months(opened) = after.value
        && months.value < opened
    {
        let what = format!("It keeps {} months closed, and is said to keep {opened} months once opened.", months.value);
        findings
            .push(Finding::new(AFTER_OPENING_LONGER, after.place.clone(), what).source("common practice, no source"));
    }
    findings
}
