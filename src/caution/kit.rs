//! Kits: cups that the balance cannot weigh, what must not stand in open cups, and how the raw materials are handled by whoever fills them.

use super::{Case, handling, poorly_weighed};
use crate::block::KitBlock;
use crate::compute::Computed;
use crate::material::{Catalogue, Material};
use crate::model::Settings;
use crate::quantity::Range;
use crate::report::{Finding, Kind, Severity, list};

pub(super) const KINDS: &[&Kind] = &[OPEN_CUPS];

const OPEN_CUPS: &Kind = &Kind {
    name: "not-in-open-cups",
    severity: Severity::Caution,
    summary: "A corrosive or flammable raw material in a kit of cups that are weighed out beforehand.",
    why: "A cup is knocked over and taken for another: what is corrosive burns whoever it meets, and what is flammable evaporates and can catch fire.",
    mend: "Weigh it out at the table when it is needed, or hand it out in closed vessels with a label that says what it is, how strong, and what it does; keep it away from the other cups. Local rules and the safety data sheet come first.",
};

/// What is to be said about a kit: of each formula what the balance makes of its cups, and of all raw materials how they are handled.
pub fn examine_kit(parts: &[Computed], block: &KitBlock, catalogue: &Catalogue, settings: &Settings) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (computed, one) in parts.iter().zip(&block.make) {
        let place = one.batch.as_ref().map_or(&one.id.place, |batch| &batch.place);
        let mut cups = Vec::new();
        (poorly_weighed::CAUTION.examine)(&Case { computed, catalogue, settings }, &mut cups);
        findings.extend(cups.into_iter().map(|finding| Finding { place: place.clone(), ..finding }));
    }
    let Some(first) = block.make.first() else { return findings };
    let materials = || -> Vec<(&Material, Option<Range>)> {
        let lines = parts.iter().flat_map(|computed| computed.formula.lines());
        lines.map(|line| (&*line.material, line.strength)).collect()
    };
    let with = |hazard: &str| -> Vec<&Material> {
        let mut named: Vec<&Material> = Vec::new();
        for (material, strength) in materials() {
            let is_new = named.iter().all(|known| known.id != material.id);
            if is_new && handling::has_hazard(material, strength, catalogue, &[hazard]) {
                named.push(material);
            }
        }
        named
    };
    let (corrosive, flammable) = (with("corrosive"), with("flammable"));
    let mut names = names_of(&corrosive);
    names.extend(names_of(&flammable).into_iter().filter(|name| !names_of(&corrosive).contains(name)));
    if !names.is_empty() {
        let verb = if names.len() == 1 { "is" } else { "are" };
        let what = format!("{} {verb} not weighed into open cups beforehand.", list(&names, "and"));
        let finding = Finding::new(OPEN_CUPS, first.id.place.clone(), what).because(why(&corrosive, &flammable));
        findings.push(finding.source("common practice, no source"));
    }
    findings.extend(handling::of_materials(materials().into_iter(), &[], catalogue, &first.id.place));
    findings
}

fn names_of<'m>(materials: &[&'m Material]) -> Vec<&'m str> {
    materials.iter().map(|material| material.name.as_str()).collect()
}

/// What the hazards that are there do in an open cup.
fn why(corrosive: &[&Material], flammable: &[&Material]) -> String {
    let mut why = "A cup is knocked over and taken for another.".to_owned();
    let several = |materials: &[&Material], one: &'static str, more: &'static str| {
        let verb = if materials.len() == 1 { one } else { more };
        format!(" {} {verb}", list(&names_of(materials), "and"))
    };
    if !corrosive.is_empty() {
        why.push_str(&several(corrosive, "is corrosive: it burns", "are corrosive: they burn"));
        why.push_str(" skin and eyes.");
    }
    let lyes: Vec<&Material> = corrosive.iter().copied().filter(|material| is_dry_lye(material)).collect();
    if !lyes.is_empty() {
        why.push_str(&several(&lyes, "draws", "draw"));
        why.push_str(" water and carbon dioxide from the air, and so grows wet and weaker.");
    }
    if !flammable.is_empty() {
        why.push_str(&several(flammable, "is flammable: it evaporates", "are flammable: they evaporate"));
        why.push_str(" from the cup, and the vapour can catch fire.");
    }
    why
}

/// Sodium and potassium hydroxide without water.
fn is_dry_lye(material: &Material) -> bool {
    matches!(material.inci_names().first(), Some(&("Sodium Hydroxide" | "Potassium Hydroxide")))
}
