//! What a label still lacks, and times on it that do not go together.

use crate::block::{AfterOpening, LabelBlock, Measured};
use crate::compute::{Label, LabelState, Rules};
use crate::model::Formula;
use crate::quantity::Decimal;
use crate::report::{Finding, Kind, Place, Severity, echo, list};

pub(super) const KINDS: &[&Kind] = &[INCOMPLETE, AFTER_OPENING_LONGER, ABOVE_FILL, NOT_THE_FILL, NOT_A_COSMETIC];

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

const ABOVE_FILL: &Kind = &Kind {
    name: "content-above-fill",
    severity: Severity::Caution,
    summary: "A label that promises more than the formula's packs are filled with.",
    why: "The buyer pays for what stands on the pack, and the nominal content is ruled to be what was packed.",
    mend: "Write on the label what is filled, or fill what stands on it.",
};

const NOT_THE_FILL: &Kind = &Kind {
    name: "content-not-the-fill",
    severity: Severity::Question,
    summary: "A label with less than the formula's packs are filled with, or with a content that cannot be compared with the fill.",
    why: "One of the two numbers may be a slip; whether the label promises too much is told by them alone.",
    mend: "Write on the label what is filled, or leave `content` out: then it is the fill of the formula's batch.",
};

/// A content that was reckoned from another unit and rounded down may be less than the fill by so many per cent. Common practice, no source.
const ROUNDED: Decimal = Decimal::ONE;

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
pub fn examine_label(label: &Label, block: &LabelBlock, formula: &Formula, place: &Place) -> Vec<Finding> {
    let mut findings: Vec<Finding> = against_fill(block, formula).into_iter().collect();
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

/// The content that the label states against what the formula's packs are filled with. What is made on top stays in the vessel and is in no pack.
fn against_fill(block: &LabelBlock, formula: &Formula) -> Option<Finding> {
    let (stated, text) = block.content.as_ref()?;
    let (fill, fill_text) = formula.batch.fill()?;
    let fill_text = echo(&fill_text);
    let finding = |kind, what| Finding::new(kind, stated.place.clone(), what);
    let (text, id) = (echo(text), echo(&formula.id));
    let grams = |content: Measured| match content {
        Measured::Mass(mass) => Some(mass),
        Measured::Volume(volume) => formula.density.map(|density| density.mass_of(volume)),
    };
    let (on_label, in_pack, is_converted) = match (stated.value, fill) {
        (Measured::Volume(label), Measured::Volume(fill)) => (label.millilitres(), fill.millilitres(), false),
        (Measured::Mass(label), Measured::Mass(fill)) => (label.grams(), fill.grams(), false),
        (label, fill) => match (grams(label), grams(fill)) {
            (Some(label), Some(fill)) => (label.grams(), fill.grams(), true),
            _ => {
                let what = format!(
                    "The label states {text}, and `{id}` is filled at {fill_text}; without its density the two cannot be compared."
                );
                return Some(
                    finding(NOT_THE_FILL, what).mend("Give the formula its `density`, such as \"0.98 g/ml\"."),
                );
            }
        },
    };
    let weighs = match (is_converted, grams(fill)) {
        (true, Some(mass)) if matches!(fill, Measured::Volume(_)) => format!(" ({})", super::batch_record::grams(mass)),
        _ => String::new(),
    };
    if on_label > in_pack {
        let what = format!("The label states {text}, and a pack of `{id}` is filled with {fill_text}{weighs}.");
        let source = "Regulation (EC) No 1223/2009, Article 19(1)(b): the nominal content at the time of packaging; Council Directive 76/211/EEC, Annex I, 1.1: packs hold no less on average";
        return Some(finding(ABOVE_FILL, what).source(source));
    }
    let less = (in_pack - on_label) * Decimal::ONE_HUNDRED;
    let is_rounded = is_converted && less <= in_pack * ROUNDED;
    if on_label == in_pack || is_rounded {
        return None;
    }
    Some(finding(
        NOT_THE_FILL,
        format!("The label states {text}, less than the {fill_text}{weighs} of a pack of `{id}`."),
    ))
}
