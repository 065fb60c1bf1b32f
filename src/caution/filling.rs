//! Fillings that cannot be worked out, packs that overflow or have too little room, and net contents that stand on shaky ground.

use crate::block::FillingBlock;
use crate::compute::{Filling, FillingFault};
use crate::quantity::{Decimal, Mass, show};
use crate::report::{Finding, Kind, Place, Severity, kind};

pub(super) const KINDS: &[&Kind] = &[
    CONTENT_NOT_STATED,
    NO_FULL_PACK,
    OVERFLOWS,
    LITTLE_HEADSPACE,
    TEMPERATURE_NOT_STATED,
    NOT_AT_TWENTY,
    COARSE,
    FEWER,
];

const CONTENT_NOT_STATED: &Kind = &Kind {
    name: "content-not-stated",
    severity: Severity::Error,
    summary: "A filling of which nobody says what one pack holds.",
    why: "How many packs there are follows from what one of them holds.",
    mend: "Write `content = \"250 ml\"`, or make the formula in packs: `batch = { fill = \"250 ml\", units = 12 }`.",
};

const NO_FULL_PACK: &Kind = &Kind {
    name: "no-full-pack",
    severity: Severity::Caution,
    summary: "There is less product than one pack holds.",
    why: "A pack that is sold or given away short promises more than is in it.",
    mend: "Make a larger batch, or take smaller packs.",
};

const OVERFLOWS: &Kind = &Kind {
    name: "pack-overflows",
    severity: Severity::Caution,
    summary: "More is filled than the pack holds to its brim.",
    why: "What does not go in is lost, and a pack without room cannot be closed.",
    mend: "Take a larger pack, or declare a smaller content.",
};

const LITTLE_HEADSPACE: &Kind = &Kind {
    name: "little-headspace",
    severity: Severity::Note,
    summary: "A pack filled with hardly any room left at the top.",
    why: "Product grows when it warms, and droppers and dip tubes need room of their own; cosmetic packs are usually filled to about 90 %.",
    mend: "Take a larger pack, and fill one for a test.",
};

const TEMPERATURE_NOT_STATED: &Kind = &Kind {
    name: "density-temperature-not-stated",
    severity: Severity::Question,
    summary: "A net volume by a density of which the temperature is not said.",
    why: "Net volumes are meant at 20 °C, and a product grows as it warms.",
    mend: "Measure the density at 20 °C, and write `density-at = \"20 °C\"`.",
};

const NOT_AT_TWENTY: &Kind = &Kind {
    name: "density-not-at-20",
    severity: Severity::Note,
    summary: "A net volume by a density that was not measured at 20 °C.",
    why: "Net volumes are meant at 20 °C, and a product grows as it warms.",
    mend: "Measure the density at 20 °C, or leave a little more overfill.",
};

const COARSE: &Kind = &Kind {
    name: "balance-too-coarse-to-fill",
    severity: Severity::Note,
    summary: "A balance too coarse to tell whether a pack is short.",
    why: "What the contents are checked with may be off by a fifth of the tolerable error at most.",
    mend: "Fill on a finer balance.",
};

const FEWER: &Kind = &Kind {
    name: "fewer-packs-than-planned",
    severity: Severity::Note,
    summary: "Fewer full packs than the formula's batch was made for.",
    why: "What goes on top into each pack, and what stays behind, has to be in the batch as well.",
    mend: "Give the batch a larger `overfill`, or the packs a smaller one.",
};

/// Where net volumes are tied to 20 °C.
const DIRECTIVE: &str = "Council Directive 76/211/EEC, Annex I";
/// The least room at the top that is advised, % of the capacity (supplier technical data: packaging page on fill points).
const LEAST_HEADSPACE: Decimal = Decimal::from_parts(4, 0, 0, false, 0);

fn head_of(place: &Place) -> Place {
    Place { path: place.path.clone(), span: place.span.start..place.span.start }
}

/// The finding for a filling that cannot be worked out.
pub fn filling_fault(fault: FillingFault, block: &FillingBlock, place: &Place) -> Finding {
    let formula = block.formula.as_ref().map_or_else(|| head_of(place), |formula| formula.place.clone());
    match fault {
        FillingFault::NoContent => {
            Finding::new(CONTENT_NOT_STATED, formula, "Neither this filling nor its formula says what one pack holds.")
        }
        FillingFault::NeedsDensity(one, other) => {
            let place = block.content.as_ref().map_or(formula, |(content, _)| content.place.clone());
            let what = format!(
                "The density of the product is needed here and not given: {one} and {other} are one by weight and the other by volume."
            );
            Finding::new(kind::NEEDS_DENSITY, place, what)
                .mend("Measure it at 20 °C, and write `density = \"1.02 g/ml\"` here or in the formula.")
        }
    }
}

/// What is to be said about a filling.
pub fn examine_filling(filling: &Filling, block: &FillingBlock, place: &Place) -> Vec<Finding> {
    let content = block.content.as_ref().map_or_else(|| head_of(place), |(content, _)| content.place.clone());
    let mut findings = Vec::new();
    if filling.packs().is_zero() {
        let what = format!("What there is does not fill one pack of {}.", filling.metric_label());
        findings.push(Finding::new(NO_FULL_PACK, content.clone(), what).source("arithmetic on what is written here"));
    }
    if let Some(planned) = filling.planned.filter(|planned| filling.packs() < *planned) {
        let what = format!("There are {} full packs; the batch was made for {planned}.", filling.packs());
        findings.push(Finding::new(FEWER, content.clone(), what));
    }
    if let (Some(headspace), Some(capacity), Some(fill)) = (filling.headspace(), &block.capacity, filling.fill().volume)
    {
        let volume = |millilitres: Decimal| show::quantity_to(millilitres, show::decimals_for(millilitres, 4), "ml");
        let (fill, brim) = (volume(fill.millilitres()), volume(capacity.value.millilitres()));
        if headspace < Decimal::ZERO {
            let what = format!("{fill} go into a pack that holds {brim} to the brim.");
            findings.push(
                Finding::new(OVERFLOWS, capacity.place.clone(), what).source("arithmetic on what is written here"),
            );
        } else if headspace < LEAST_HEADSPACE {
            let what = format!(
                "{fill} in a pack of {brim} leave {} of room; at least {} is advised.",
                show::percent_to(headspace, 1),
                show::percent(LEAST_HEADSPACE)
            );
            let source = "supplier technical data: packaging page on fill points";
            findings.push(Finding::new(LITTLE_HEADSPACE, capacity.place.clone(), what).source(source));
        }
    }
    if filling.is_by_volume() && filling.density.is_some() {
        let twenty = Decimal::from(20);
        match filling.density_at {
            None => {
                let what = "At which temperature the density was measured is not said.";
                findings.push(Finding::new(TEMPERATURE_NOT_STATED, content.clone(), what).source(DIRECTIVE));
            }
            Some(temperature) if temperature.celsius() != twenty => {
                let what = format!("The density was measured at {}, not at 20 °C.", show::celsius(temperature));
                findings.push(Finding::new(NOT_AT_TWENTY, content.clone(), what).source(DIRECTIVE));
            }
            Some(_) => {}
        }
    }
    findings.extend(too_coarse(filling, &content));
    findings
}

/// A balance whose half step is more than a fifth of the tolerable error (WELMEC Guide 6.9, June 2009, summary).
fn too_coarse(filling: &Filling, place: &Place) -> Option<Finding> {
    let error = filling.amounts_of_error()?.mass?;
    let half = Mass::from_grams(filling.readability.grams() / Decimal::TWO);
    if half.grams() * Decimal::from(5) <= error.grams() {
        return None;
    }
    let what = format!(
        "A balance that reads {} may be off by half of it, which is more than a fifth of the tolerable error of {}.",
        show::grams(filling.readability),
        show::mass_in(error, crate::quantity::MassUnit::Gram, 1),
    );
    let source = "WELMEC Guide 6.9, issue 1, June 2009, summary: a fifth of the tolerable error; half the readability: OIML R 76";
    Some(Finding::new(COARSE, place.clone(), what).source(source))
}
