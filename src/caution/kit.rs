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
    why: "A cup is knocked over and taken for another. Solid lye draws water and carbon dioxide from the air, so that it grows weaker and wet; alcohol and other solvents evaporate and can catch fire.",
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
    let mut names: Vec<&str> = materials()
        .into_iter()
        .filter(|(material, strength)| {
            handling::has_hazard(material, *strength, catalogue, &["corrosive", "flammable"])
        })
        .map(|(material, _)| material.name.as_str())
        .collect();
    names.dedup();
    if !names.is_empty() {
        let verb = if names.len() == 1 { "is" } else { "are" };
        let what = format!("{} {verb} not weighed into open cups beforehand.", list(&names, "and"));
        findings.push(Finding::new(OPEN_CUPS, first.id.place.clone(), what).source("common practice, no source"));
    }
    findings.extend(handling::of_materials(materials().into_iter(), &[], catalogue, &first.id.place));
    findings
}
