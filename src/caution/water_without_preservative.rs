//! Water in the product and nothing that keeps germs from growing in it.

use super::{Case, Caution};
use crate::compute::{composition_of, watery_of};
use crate::material::KeptBy;
use crate::model::Line;
use crate::quantity::{Decimal, Range, show};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

const KIND: &Kind = &Kind {
    name: "water-without-preservative",
    severity: Severity::Caution,
    summary: "A product with water and without a preservative.",
    why: "Germs grow in water within days, long before it can be seen or smelt. Antioxidants, essential oils and a refrigerator do not preserve.",
    mend: "Add a preservative inside its dose, pH and temperature, or make it without water.",
};

/// From this much water on a product is taken to need preserving, % of the product. Common practice, no source: the traces that
/// waxes and oils bring stay below it.
const LEAST_WATER: Decimal = Decimal::from_parts(1, 0, 0, false, 0);

/// Ethanol and isopropyl alcohol together at or above this share keep a product by themselves, % of the product. Common
/// practice, no source; below it the alcohol slows germs but does not stop them.
const KEEPING_ALCOHOL: Decimal = Decimal::from_parts(20, 0, 0, false, 0);

const ALCOHOLS: [&str; 3] = ["Alcohol", "Alcohol Denat.", "Isopropyl Alcohol"];

/// The pH from which on soap keeps itself: that of true soap is 9 and more. Common practice, no source.
const SOAP_PH: Decimal = Decimal::from_parts(9, 0, 0, false, 0);

/// Whether a product has to be preserved: it holds water, and neither its dryness, its alcohol nor its alkali keeps it.
pub(super) fn needs_preserving(case: &Case<'_>) -> bool {
    let composition = &case.computed.composition;
    let formula = &case.computed.formula;
    let kept_by = formula.product.as_ref().and_then(|product| product.kept_by.as_ref());
    let alcohol: Decimal =
        ALCOHOLS.iter().filter_map(|inci| composition.substances.get(*inci)).map(|range| range.low).sum();
    let least = match kept_by {
        Some(KeptBy::Alkali) if formula.ph.is_none_or(|ph| SOAP_PH <= ph.low.value()) => return false,
        Some(KeptBy::Dryness(Some(below))) => below.max.unwrap_or(LEAST_WATER),
        Some(KeptBy::Dryness(None) | KeptBy::Alcohol | KeptBy::Alkali) | None => LEAST_WATER,
    };
    free_water(case).high >= least && alcohol < KEEPING_ALCOHOL
}

/// Water that germs and reactions find, % of the product: the moisture of starches and the crystal water of salts are bound in them (general
/// chemistry), so what powders bring is not counted. What powders draw to them from other lines is not taken off.
pub(super) fn free_water(case: &Case<'_>) -> Range {
    let formula = &case.computed.formula;
    // What an entry says is bound is left out of its composition; this is for powders whose entries do not say it.
    let bound = |line: &Line| line.material.form.as_deref() == Some("powder");
    let percents: Vec<Decimal> =
        formula.lines().map(|line| if bound(line) { Decimal::ZERO } else { formula.percent(line).value() }).collect();
    watery_of(&composition_of(formula, &percents))
}

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    let preserves =
        |line: &Line| line.material.serves_as("preservative") && formula.percent(line).value() > Decimal::ZERO;
    if !needs_preserving(case) || case.lines().any(|(_, line)| preserves(line)) {
        return;
    }
    let water = watery_of(&case.computed.composition);
    findings.push(
        Finding::new(
            KIND,
            formula.id_place.clone(),
            format!("`{}` holds {} water and no preservative.", case.id(), show::percent_range(water, 1)),
        )
        .source("common practice, no source"),
    );
}
