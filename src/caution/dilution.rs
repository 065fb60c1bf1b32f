//! Dilutions that cannot be made or have no single answer, amounts too small for the balance, and the care that the stocks need.

use super::{handling, poorly_weighed};
use crate::block::{Balance, DilutionBlock};
use crate::compute::{Dilution, DilutionFault, amount_text};
use crate::material::{Catalogue, Material};
use crate::quantity::{Decimal, Volume, show};
use crate::report::{Finding, Kind, Place, Severity, echo, kind};
use std::sync::Arc;

pub(super) const KINDS: &[&Kind] = &[OUT_OF_REACH, MORE_THAN_MADE, NOT_COMPARABLE, NOT_SETTLED, DENSITY, VOLUMES];

const OUT_OF_REACH: &Kind = &Kind {
    name: "target-out-of-reach",
    severity: Severity::Error,
    summary: "A strength that cannot be made from these stocks.",
    why: "Diluting makes weaker, and a mixture always lies between its weakest and its strongest stock.",
    mend: "Take a stronger stock, or correct the target.",
};

const MORE_THAN_MADE: &Kind = &Kind {
    name: "more-taken-than-made",
    severity: Severity::Error,
    summary: "More is taken for a dilution than is made of it.",
    why: "`make` is all of it, the stock included; the amount to add is the difference.",
    mend: "Give the whole as `make`, not what is added.",
};

const NOT_COMPARABLE: &Kind = &Kind {
    name: "strengths-not-comparable",
    severity: Severity::Error,
    summary: "Strengths of which one counts a weight and another a volume or an amount of the substance.",
    why: "A millilitre of the pure substance weighs what its density says, so one number does not turn into the other by itself.",
    mend: "Give all strengths on one basis; the certificate of the stock or a published table has both.",
};

const NOT_SETTLED: &Kind = &Kind {
    name: "mix-not-settled",
    severity: Severity::Error,
    summary: "A dilution with too little or too much given to have one answer.",
    why: "Of several answers none is chosen in silence.",
    mend: "Give what is missing, or leave out what follows from the rest.",
};

const DENSITY: &Kind = &Kind {
    name: "density-cannot-be",
    severity: Severity::Error,
    summary: "A density with which a dilution holds more than it is.",
    why: "A part is never more than the whole, by weight or by volume; a density that says so has a slip in it.",
    mend: "Correct the density; a table or the certificate of the stock has it.",
};

const VOLUMES: &Kind = &Kind {
    name: "volumes-do-not-fit",
    severity: Severity::Question,
    summary: "Densities by which a liquid and water make far more or far less than both.",
    why: "Alcohol and water shrink by less than 4 %, and other solutions by little more; a density with a slip in it looks like more.",
    mend: "Correct the density of the stock or of what is made.",
};

/// How far the volume of a mixture with water may be from both added, as a share of them. Ethanol and water stay within 4 % (OIML R 22); the rest is room
/// for other stocks, common practice, no source.
const ROOM: Decimal = Decimal::from_parts(10, 0, 0, false, 2);

/// The finding for a dilution that cannot be worked out.
pub fn dilution_fault(fault: &DilutionFault, block: &DilutionBlock, place: &Place) -> Finding {
    let head = || Place { path: place.path.clone(), span: place.span.start..place.span.start };
    let target = || block.target.as_ref().map_or_else(head, |target| target.place.clone());
    match fault {
        DilutionFault::OutOfReach(reach) => {
            let (wanted, strongest) = (reach.target.text(), reach.strongest.text());
            let what = match &reach.weakest {
                Some(weakest) => {
                    format!(
                        "{wanted} does not lie between the weakest stock, {}, and the strongest, {strongest}.",
                        weakest.text()
                    )
                }
                None => format!("{wanted} cannot be made from {strongest} by diluting."),
            };
            Finding::new(OUT_OF_REACH, target(), what)
        }
        DilutionFault::MoreThanMade { taken, made, by_weight } => {
            let make = block.make.as_ref().map_or_else(head, |make| make.place.clone());
            let (taken, made) = (amount_text(*taken, *by_weight), amount_text(*made, *by_weight));
            Finding::new(MORE_THAN_MADE, make, format!("{taken} are taken and only {made} are made."))
        }
        DilutionFault::NeedsDensity(Some(key)) => {
            let stock = block.stocks.iter().find(|stock| stock.key.value == *key);
            let place = stock.map_or_else(head, |stock| stock.strength.place.clone());
            let what = format!("The density of `{}` is needed here and not given.", echo(key));
            Finding::new(kind::NEEDS_DENSITY, place, what)
                .because("Its strength and the amounts are partly by weight and partly by volume.")
                .mend("Write it at the stock: `density = \"0.807 g/ml\"`.")
        }
        DilutionFault::NeedsDensity(None) => {
            let what = "The density of what is made is needed here and not given.";
            Finding::new(kind::NEEDS_DENSITY, target(), what)
                .because("The strength and the amount of it are one by weight and the other by volume.")
                .mend("Write it beside `make`: `density = \"0.886 g/ml\"`, or state both by weight or both by volume.")
        }
        DilutionFault::Density(key) => {
            let stock = key.as_ref().and_then(|key| block.stocks.iter().find(|stock| stock.key.value == *key));
            let place = stock.map_or_else(target, |stock| stock.strength.place.clone());
            let what = match key {
                Some(key) => format!("By its density `{}` weighs less than what it holds.", echo(key)),
                None => "By the densities there would be more in what is made than there is of it.".to_owned(),
            };
            Finding::new(DENSITY, place, what)
        }
        DilutionFault::SheetNeedsDensity(index) => {
            let amount = block.sheet.get(*index);
            let place = amount.map_or_else(head, |(amount, _)| amount.place.clone());
            let shown = amount.map_or("", |(_, text)| text.as_str());
            let what = format!("How much `{}` is beside the rest is not known without a density.", echo(shown));
            Finding::new(kind::NEEDS_DENSITY, place, what)
                .because("What is made is known by weight or by volume, and this amount is in the other measure.")
                .mend("Write the density of what is made beside `make`, or this amount in the same measure.")
        }
        DilutionFault::NotComparable(pair) => {
            let (one, other) = &**pair;
            let what = format!("{} and {} count different things.", one.text(), other.text());
            Finding::new(NOT_COMPARABLE, target(), what)
        }
        DilutionFault::NotSettled(mend) => {
            Finding::new(NOT_SETTLED, head(), "What is given here does not settle one dilution.").mend(*mend)
        }
    }
}

/// What is to be said about a dilution: amounts that the balance cannot weigh well, and how the raw materials are handled.
pub fn examine_dilution<'m>(
    dilution: &Dilution,
    materials: impl Iterator<Item = &'m Arc<Material>>,
    catalogue: &'m Catalogue,
    balance: Balance,
    place: &Place,
) -> Vec<Finding> {
    let place = Place { path: place.path.clone(), span: place.span.start..place.span.start };
    let mut findings = Vec::new();
    poorly_weighed_of(dilution, "this dilution", balance, &place, &mut findings);
    for (text, other) in &dilution.sheet {
        poorly_weighed_of(other, &format!("the one of {text}"), balance, &place, &mut findings);
    }
    findings.extend(volumes_do_not_fit(dilution, &place));
    findings.extend(handling::of_materials(materials.map(|one| (&**one, None)), &[], catalogue, &place));
    findings
}

/// What the densities make of a stock and water together, where everything is weighed.
fn volumes_do_not_fit(dilution: &Dilution, place: &Place) -> Option<Finding> {
    let [stock] = dilution.portions.as_slice() else { return None };
    if dilution.with != "water" {
        return None;
    }
    let volume = |volume: Option<Volume>| volume.map(Volume::millilitres);
    // A gram of water is a millilitre to a few thousandths.
    let (water, taken) = (dilution.add?.mass?.grams(), volume(stock.take.volume)?);
    let (made, both) = (volume(dilution.total.volume)?, taken + water);
    if (made - both).abs() <= both * ROOM {
        return None;
    }
    let shown = |millilitres: Decimal| show::quantity_to(millilitres, show::decimals_for(millilitres, 3), "ml");
    let what =
        format!("By the densities {} of the stock and {} of water make {}.", shown(taken), shown(water), shown(made));
    Some(Finding::new(VOLUMES, place.clone(), what))
}

/// Amounts that the balance cannot weigh well.
fn poorly_weighed_of(dilution: &Dilution, which: &str, balance: Balance, place: &Place, findings: &mut Vec<Finding>) {
    for portion in dilution.portions.iter().filter(|portion| dilution.by_weight || portion.take.volume.is_none()) {
        let Some(exact) = portion.take.mass else { continue };
        let finding = poorly_weighed::amount(&portion.key, exact, dilution.weighed(exact), which, balance, place);
        let mend = "Make more of it, weigh on a finer balance (`balance = \"0.01 g\"`), or dilute in two steps.";
        findings.extend(finding.map(|finding| finding.mend(mend)));
    }
}
