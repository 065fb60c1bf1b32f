//! Oils in a watery product without an emulsifier, and not enough solubiliser or surfactant to hold them.

use super::{Case, Caution};
use crate::compute::{is_oil, percent_of_substances};
use crate::material::{Dissolves, Fact, Group};
use crate::model::Line;
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Severity, list};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

const KIND: &Kind = &Kind {
    name: "oil-without-solubiliser",
    severity: Severity::Caution,
    summary: "An oil in a watery product without enough of anything to hold it there.",
    why: "The oil floats up: whoever takes the first dose gets it neat, on the skin or in the eyes, and the product looks spoilt.",
    mend: "Add a solubiliser and mix it with the oil before the water, or an emulsifier, or leave the oil out.",
};

/// From this much water on a product counts as watery, % of the product. Common practice, no source.
const WATERY: Decimal = Decimal::from_parts(50, 0, 0, false, 0);
/// From this much alcohol on oils of scent dissolve in the product by themselves, % of the product. Common practice, no source.
const ALCOHOLIC: Decimal = Decimal::from_parts(50, 0, 0, false, 0);
/// Parts of surfactant active matter that hold one part of scent oil in a wash: 10 % of active matter bears the usual 1 % of perfume. Common
/// practice, no source.
const ACTIVE_PER_OIL: Decimal = Decimal::from_parts(10, 0, 0, false, 0);
/// From this much oil on a product is meant as an emulsion, % of the product; a solubiliser for so much would be out of all proportion. Common
/// practice, no source.
const EMULSION: Decimal = Decimal::from_parts(5, 0, 0, false, 0);
/// Parts of solubiliser per part of oil where neither entry says, the least that is begun with (supplier technical data: three public pages on
/// polysorbate 20).
const LEAST_PARTS: Decimal = Decimal::ONE;

const ALCOHOLS: [&str; 3] = ["Alcohol", "Alcohol Denat.", "Isopropyl Alcohol"];

/// Functions that let a product hold oil whatever the figures: it is then an emulsion or a suspension, and its balance is another matter.
/// Fatty alcohols only help an emulsifier and are none (common practice, no source).
const HOLDERS: [&str; 7] = [
    "emulsifier",
    "w/o emulsifier",
    "polymeric emulsifier",
    "emulsifier when neutralised",
    "emulsifier with beeswax",
    "soap",
    "saponifier",
];

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    let composition = &case.computed.composition;
    let water = crate::compute::watery_of(composition).typical;
    let alcohol = percent_of_substances(composition, &ALCOHOLS).typical;
    let holds = |line: &Line| {
        // Quats emulsify the oil phase of a conditioner.
        Group::CationicSurfactants.holds(&line.material)
            || HOLDERS.iter().any(|function| line.material.serves_as(function))
                && !line.material.serves_as("solubiliser")
    };
    if water < WATERY || alcohol >= ALCOHOLIC || case.lines().any(|(_, line)| holds(line)) {
        return;
    }
    let percent = |line: &Line| formula.percent(line).value();
    let solubilisers: Vec<&Line> =
        case.lines().map(|(_, line)| line).filter(|line| line.material.serves_as("solubiliser")).collect();
    let there: Decimal = solubilisers.iter().map(|line| percent(line)).sum();
    let by_surfactant = case.computed.active.total.typical.checked_div(ACTIVE_PER_OIL).unwrap_or_default();
    let held = |oils: Decimal| oils <= by_surfactant;
    // A fat that is solid at room temperature floats up as well, and it takes an emulsion to hold so much of it.
    let fats: Vec<&Line> = case.lines().map(|(_, line)| line).filter(|line| is_oil(&line.material)).collect();
    let fat: Decimal = fats.iter().map(|line| percent(line)).sum();
    if fat >= EMULSION && !held(fat) && there * Decimal::TEN < fat {
        findings.extend(no_emulsifier(&fats, fat, &solubilisers, there));
        return;
    }
    let oils: Vec<&Line> = case
        .lines()
        .map(|(_, line)| line)
        .filter(|line| {
            let dissolves = line.material.dissolves.as_ref().map(|stated| stated.value);
            dissolves == Some(Dissolves::Oil)
                && matches!(line.material.form.as_deref(), None | Some("liquid"))
                && !percent(line).is_zero()
        })
        .collect();
    if oils.is_empty() {
        return;
    }
    let least_of = |fact: Option<&Fact>| fact.and_then(|fact| fact.min.or(fact.typical));
    // An oil's own figure counts for the solubiliser it names; for another the solubiliser's own figure does.
    let parts_for = |oil: &Line| {
        let named = oil.material.solubiliser.as_ref().and_then(|fact| fact.of.as_deref());
        let fits = solubilisers.is_empty()
            || named
                .is_none_or(|of| solubilisers.iter().any(|line| line.material.id == of || line.material.name == of));
        let own = least_of(oil.material.solubiliser.as_ref()).filter(|_| fits);
        let by_solubiliser =
            || solubilisers.iter().filter_map(|line| least_of(line.material.solubiliser.as_ref())).min();
        own.or_else(by_solubiliser).unwrap_or(LEAST_PARTS)
    };
    let needed: Decimal = oils.iter().map(|oil| percent(oil) * parts_for(oil)).sum();
    let oil: Decimal = oils.iter().map(|oil| percent(oil)).sum();
    // What the surfactants hold needs no solubiliser; the rest needs its share.
    let rest = (oil - by_surfactant).max(Decimal::ZERO);
    let needed_for_rest = (needed * rest).checked_div(oil).unwrap_or_default();
    if held(oil) || there >= needed_for_rest {
        return;
    }
    let names: Vec<&str> = oils.iter().map(|oil| oil.written.as_str()).collect();
    let found = what_there_is(&solubilisers, there);
    let source = oils
        .iter()
        .filter_map(|oil| oil.material.solubiliser.as_ref())
        .chain(solubilisers.iter().filter_map(|line| line.material.solubiliser.as_ref()))
        .map(Fact::source_line)
        .next()
        .unwrap_or_else(|| "supplier technical data: three public pages on polysorbate 20".to_owned());
    let Some(first) = oils.first() else { return };
    let what = format!(
        "{} at {} in a watery product {} at least {} of solubiliser; {found}.",
        list(&names, "and"),
        show::percent(oil.normalize()),
        need(oils.len()),
        show::percent(needed_for_rest.normalize()),
    );
    findings.push(Finding::new(KIND, first.place.clone(), what).source(source));
}

fn need(count: usize) -> &'static str {
    if count > 1 { "need" } else { "needs" }
}

fn what_there_is(solubilisers: &[&Line], there: Decimal) -> String {
    if solubilisers.is_empty() {
        return "there is none".to_owned();
    }
    let names: Vec<&str> = solubilisers.iter().map(|line| line.written.as_str()).collect();
    format!("{} comes to {}", list(&names, "and"), show::percent(there.normalize()))
}

/// So much fat that it is meant as an emulsion, and hardly a tenth of it of anything that could hold it.
fn no_emulsifier(fats: &[&Line], fat: Decimal, solubilisers: &[&Line], there: Decimal) -> Option<Finding> {
    let names: Vec<&str> = fats.iter().map(|line| line.written.as_str()).collect();
    let what = format!(
        "{} at {} in a watery product {} an emulsifier; {}.",
        list(&names, "and"),
        show::percent(fat.normalize()),
        need(fats.len()),
        what_there_is(solubilisers, there),
    );
    let finding = Finding::new(KIND, fats.first()?.place.clone(), what).source("common practice, no source");
    Some(finding.mend(
        "Add an emulsifier, 15 to 30 % of the weight of the fats, and make it as an emulsion; or leave the fats out.",
    ))
}
