//! Water in the product and nothing that keeps germs from growing in it.

use super::{Case, Caution};
use crate::compute::watery_of;
use crate::model::Line;
use crate::quantity::{Decimal, show};
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
/// waxes, salts and powders bring stay below it.
const LEAST_WATER: Decimal = Decimal::from_parts(1, 0, 0, false, 0);

/// Ethanol and isopropyl alcohol together at or above this share keep a product by themselves, % of the product. Common
/// practice, no source; below it the alcohol slows germs but does not stop them.
const KEEPING_ALCOHOL: Decimal = Decimal::from_parts(20, 0, 0, false, 0);

const ALCOHOLS: [&str; 3] = ["Alcohol", "Alcohol Denat.", "Isopropyl Alcohol"];

/// Whether a product has to be preserved: it holds water, and neither its kind nor its alcohol keeps it.
pub(super) fn needs_preserving(case: &Case<'_>) -> bool {
    let composition = &case.computed.composition;
    let keeps_itself = case.computed.formula.product.as_ref().is_some_and(|product| product.keeps_itself.is_some());
    let alcohol: Decimal =
        ALCOHOLS.iter().filter_map(|inci| composition.substances.get(*inci)).map(|range| range.low).sum();
    watery_of(composition).high >= LEAST_WATER && !keeps_itself && alcohol < KEEPING_ALCOHOL
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
