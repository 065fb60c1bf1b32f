//! What a declaration leaves open: an order that the ranges do not settle, allergens that hang on the lot, a list that is not whole.

use crate::compute::{Computed, Declaration, OpenPair};
use crate::quantity::{Range, show};
use crate::report::{Finding, Kind, Place, Severity, list};

pub(super) const KINDS: &[&Kind] = &[ORDER, ALLERGENS_OPEN, SCENT_UNKNOWN, NOT_WHOLE];

const ORDER: &Kind = &Kind {
    name: "order-not-settled",
    severity: Severity::Note,
    summary: "Two ingredients of a declaration whose order hangs on the lot.",
    why: "The order was made from usual shares. With another lot of these raw materials the two may stand the other way round.",
    mend: "Give the line the strength on its certificate: `strength = \"…\"`.",
};

const ALLERGENS_OPEN: &Kind = &Kind {
    name: "allergen-hangs-on-lot",
    severity: Severity::Note,
    summary: "A fragrance allergen that some lots bring above its trigger and others do not.",
    why: "It is named because the strongest lot would have to be.",
    mend: "An analysis of the oil in hand settles it; until then leave the name in.",
};

const SCENT_UNKNOWN: &Kind = &Kind {
    name: "scent-without-allergens",
    severity: Severity::Question,
    summary: "A scent of which it is not known what allergens it holds.",
    why: "Allergens above their trigger have to be named; what is not known cannot be left out as if it were nothing.",
    mend: "Ask the supplier for the allergens of the scent and enter them as `[[material.NAME.constituent]]`.",
};

const NOT_WHOLE: &Kind = &Kind {
    name: "declaration-not-whole",
    severity: Severity::Question,
    summary: "A declaration of a formula in which the composition of a raw material is not known.",
    why: "What that raw material is made of is missing from the list.",
    mend: "Describe what it contains in the collection's `materials` folder.",
};

/// Everything that is to be said about a declaration at a place.
pub fn examine_declaration(computed: &Computed, declaration: &Declaration, place: &Place) -> Vec<Finding> {
    let mut findings = Vec::new();
    let place = || Place { path: place.path.clone(), span: place.span.start..place.span.start };
    let source = declaration.rules.source();
    if !declaration.unknown.is_empty() {
        let what =
            format!("What {} is made of is not known, so the list is not whole.", list(&declaration.unknown, "and"));
        findings.push(Finding::new(NOT_WHOLE, place(), what).source(source));
    }
    if let Some(finding) = order(computed, &declaration.open_pairs, place()) {
        findings.push(finding.source(source));
    }
    if !declaration.open_allergens.is_empty() {
        let shares: Vec<String> =
            declaration.open_allergens.iter().map(|open| format!("{} ({})", open.name, span(open.share, 4))).collect();
        let trigger = declaration.trigger.map(show::percent).unwrap_or_default();
        let what = format!("Above the trigger of {trigger} with some lots only: {}.", shares.join(", "));
        findings.push(Finding::new(ALLERGENS_OPEN, place(), what).source("Regulation (EU) 2023/1545"));
    }
    if !declaration.unknown_scents.is_empty() {
        let what = format!("Nothing is known of the allergens in {}.", list(&declaration.unknown_scents, "and"));
        findings.push(Finding::new(SCENT_UNKNOWN, place(), what).source("Regulation (EU) 2023/1545"));
    }
    findings
}

/// So many pairs are spelt out in the sentence; the declaration's own table has the shares of all.
const SPELT_OUT: usize = 4;

fn order(computed: &Computed, pairs: &[OpenPair], place: Place) -> Option<Finding> {
    let first = pairs.first()?;
    let mut words: Vec<String> = pairs
        .iter()
        .take(SPELT_OUT)
        .map(|pair| {
            let (one, other) = (span(pair.first_share, 2), span(pair.second_share, 2));
            format!("{} ({one}) and {} ({other})", pair.first, pair.second)
        })
        .collect();
    if pairs.len() > SPELT_OUT {
        words.push(format!("and {} more", pairs.len() - SPELT_OUT));
    }
    let finding = Finding::new(ORDER, place, format!("The order is not settled for {}.", words.join("; ")));
    let mut lines: Vec<&str> = pairs.iter().filter_map(|pair| pair.settled_by.as_deref()).collect();
    lines.sort_unstable();
    lines.dedup();
    let settles = first.settled_by.is_some();
    let can_be_given = |written: &&str| {
        let mut formula_lines = computed.formula.lines();
        formula_lines.any(|line| {
            line.written == **written && line.strength.is_none() && crate::compute::has_strength(&line.material)
        })
    };
    let (with_strength, others): (Vec<&str>, Vec<&str>) = lines.into_iter().partition(can_be_given);
    if !settles {
        return Some(finding);
    }
    let mut mend = String::new();
    if !with_strength.is_empty() {
        mend.push_str(&format!(
            "Give {} the strength on the certificate of the lot: `strength = \"…\"`.",
            list(&with_strength, "and")
        ));
    }
    if !others.is_empty() {
        let space = if mend.is_empty() { "" } else { " " };
        mend.push_str(&format!(
            "{space}A closer composition of {} from the supplier settles it.",
            list(&others, "and")
        ));
    }
    Some(finding.mend(mend))
}

fn span(share: Range, decimals: u32) -> String {
    if share.is_exact() { show::percent(share.typical.normalize()) } else { show::percent_range(share, decimals) }
}
