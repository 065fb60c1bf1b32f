//! Filling: the weight that goes into a pack, how many packs a batch gives, how short a pack may be, and the net content of the label.
//!
//! Weight and volume turn into each other by the density of the product: m = ρ V. Where a pack is filled by weight, the declared volume is the fill
//! weight divided by the measured density. The tolerable negative error is that of Council Directive 76/211/EEC, Annex I, 2.4.

mod figures;

use super::dilution::Amounts;
use super::{Computed, Figure};
use crate::block::{FillingBlock, Measured};
use crate::model::BatchGiven;
use crate::quantity::{Decimal, Density, Mass, MassUnit, Percent, Spoon, Temperature, Volume, VolumeUnit, show};

/// A filling, worked out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Filling {
    /// The formula whose batch is filled.
    pub formula: Option<String>,
    /// The nominal quantity of a pack.
    pub content: Measured,
    /// The same as it is declared, "250 ml".
    pub content_text: String,
    /// The density of the product.
    pub density: Option<Density>,
    /// The temperature at which it was measured.
    pub density_at: Option<Temperature>,
    /// What there is of the product.
    pub bulk: Amounts,
    /// What is filled on top of the content.
    pub overfill: Percent,
    /// What of the bulk stays behind.
    pub left_behind: Percent,
    /// The empty pack.
    pub tare: Option<Mass>,
    /// The pack to the brim.
    pub capacity: Option<Volume>,
    /// The packs that the formula's batch was made for, where they hold the same.
    pub planned: Option<Decimal>,
    /// The readability of the balance.
    pub readability: Mass,
}

/// Why a filling cannot be worked out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FillingFault {
    /// The content of a pack is not said, neither here nor by the formula's batch.
    NoContent,
    /// One figure is by weight and another by volume, and the density is not known; which two.
    NeedsDensity(&'static str, &'static str),
}

/// The rows of the table in Council Directive 76/211/EEC, Annex I, 2.4: from this nominal quantity in g or ml up to the next, the tolerable negative
/// error is so much, in per cent of it or in g or ml. The rows meet at their joints. Below 5 and above 10 000 the table says nothing.
const TOLERABLE: [(i64, Tolerable); 8] = [
    (5, Tolerable::PerCent(Decimal::from_parts(9, 0, 0, false, 0))),
    (50, Tolerable::Flat(Decimal::from_parts(45, 0, 0, false, 1))),
    (100, Tolerable::PerCent(Decimal::from_parts(45, 0, 0, false, 1))),
    (200, Tolerable::Flat(Decimal::from_parts(9, 0, 0, false, 0))),
    (300, Tolerable::PerCent(Decimal::from_parts(3, 0, 0, false, 0))),
    (500, Tolerable::Flat(Decimal::from_parts(15, 0, 0, false, 0))),
    (1_000, Tolerable::PerCent(Decimal::from_parts(15, 0, 0, false, 1))),
    (10_000, Tolerable::PerCent(Decimal::from_parts(15, 0, 0, false, 1))),
];

#[derive(Clone, Copy)]
enum Tolerable {
    PerCent(Decimal),
    Flat(Decimal),
}

/// The tolerable negative error for a nominal quantity in g or ml, in the same unit; a percentage is rounded up to 0.1 (Fertigpackungsverordnung
/// § 9(3), which has the same table). Nothing outside 5 to 10 000.
pub fn tolerable_negative_error(nominal: Decimal) -> Option<Decimal> {
    let (last, _) = TOLERABLE.last()?;
    if nominal > Decimal::from(*last) {
        return None;
    }
    let (_, row) = TOLERABLE.iter().rev().find(|(from, _)| Decimal::from(*from) <= nominal)?;
    Some(match row {
        Tolerable::Flat(error) => *error,
        Tolerable::PerCent(share) => up_to(nominal * share / Decimal::ONE_HUNDRED, Decimal::new(1, 1)),
    })
}

/// The next multiple of a step that is not below.
fn up_to(value: Decimal, step: Decimal) -> Decimal {
    value.checked_div(step).map_or(value, |steps| steps.ceil() * step)
}

impl Filling {
    /// Works a filling out.
    ///
    /// # Errors
    /// What is missing.
    pub fn of(block: &FillingBlock, computed: Option<&Computed>, readability: Mass) -> Result<Filling, FillingFault> {
        let formula = computed.map(|computed| &computed.formula);
        let given = formula.map(|formula| &formula.batch.given);
        let (content, content_text) = match &block.content {
            Some((content, text)) => (content.value, text.clone()),
            None => formula.and_then(|formula| formula.batch.fill()).ok_or(FillingFault::NoContent)?,
        };
        // Another content, or another bulk, was not what the batch was made for.
        let planned = match given {
            Some(BatchGiven::Fill { units, .. }) if block.content.is_none() && block.bulk.is_none() => Some(*units),
            _ => None,
        };
        let density = block.density.or(formula.and_then(|formula| formula.density));
        let bulk = block.bulk.as_ref().map(|bulk| bulk.value);
        let bulk = bulk.or(formula.map(|formula| Measured::Mass(formula.batch.mass))).ok_or(FillingFault::NoContent)?;
        let filling = Filling {
            formula: formula.map(|formula| formula.id.clone()),
            content,
            content_text,
            density,
            density_at: block.density_at,
            bulk: Amounts::new(bulk, density),
            // The formula's own overfill is there for losses of the batch; it does not go into the packs.
            overfill: block.overfill.unwrap_or(Percent::ZERO),
            left_behind: block.left_behind,
            tare: block.tare,
            capacity: block.capacity.as_ref().map(|capacity| capacity.value),
            planned,
            readability,
        };
        let fill = filling.fill();
        if filling.in_content_unit(filling.bulk).is_none() {
            return Err(FillingFault::NeedsDensity("the content", "what there is to fill"));
        }
        if filling.tare.is_some() && fill.mass.is_none() {
            return Err(FillingFault::NeedsDensity("the content", "the tare"));
        }
        if filling.capacity.is_some() && fill.volume.is_none() {
            return Err(FillingFault::NeedsDensity("the content", "the capacity"));
        }
        Ok(filling)
    }

    /// Whether the content is declared by volume.
    pub fn is_by_volume(&self) -> bool {
        matches!(self.content, Measured::Volume(_))
    }

    /// The content in g or ml.
    fn nominal(&self) -> Decimal {
        number_of(self.content)
    }

    /// An amount in the unit of the content, g or ml.
    fn in_content_unit(&self, amounts: Amounts) -> Option<Decimal> {
        if self.is_by_volume() { amounts.volume.map(Volume::millilitres) } else { amounts.mass.map(Mass::grams) }
    }

    /// So much, in the unit of the content, by weight and by volume.
    fn amounts(&self, in_content_unit: Decimal) -> Amounts {
        let measured = if self.is_by_volume() {
            Measured::Volume(Volume::from_millilitres(in_content_unit))
        } else {
            Measured::Mass(Mass::from_grams(in_content_unit))
        };
        Amounts::new(measured, self.density)
    }

    /// What goes into a pack, exact: the content and the overfill.
    pub fn fill(&self) -> Amounts {
        self.amounts(self.fill_in_content_unit())
    }

    fn fill_in_content_unit(&self) -> Decimal {
        self.nominal() * (Decimal::ONE + self.overfill.value() / Decimal::ONE_HUNDRED)
    }

    /// What the balance shows for it, rounded up to its readability so that no pack is short by rounding.
    pub fn fill_weighed(&self) -> Option<Mass> {
        Some(Mass::from_grams(up_to(self.fill().mass?.grams(), self.readability.grams())))
    }

    /// What the balance shows for the full pack.
    pub fn gross(&self) -> Option<Mass> {
        Some(self.tare? + self.fill_weighed()?)
    }

    /// What can be filled of the bulk, in the unit of the content.
    fn to_fill(&self) -> Decimal {
        let bulk = self.in_content_unit(self.bulk).unwrap_or_default();
        bulk * (Decimal::ONE - self.left_behind.value() / Decimal::ONE_HUNDRED)
    }

    /// What a pack really takes, in the unit of the content: by weight as the balance shows it.
    fn taken_by_pack(&self) -> Decimal {
        let weighed =
            self.fill_weighed().and_then(|mass| self.in_content_unit(Amounts::new(Measured::Mass(mass), self.density)));
        weighed.unwrap_or_else(|| self.fill_in_content_unit())
    }

    /// How many full packs there are.
    pub fn packs(&self) -> Decimal {
        self.to_fill().checked_div(self.taken_by_pack()).unwrap_or_default().floor()
    }

    /// What is left over beside what stays behind: less than a pack.
    pub fn left_over(&self) -> Amounts {
        self.amounts(self.to_fill() - self.packs() * self.taken_by_pack())
    }

    /// The tolerable negative error in g or ml; nothing where the directive's table ends.
    pub fn tolerable_error(&self) -> Option<Decimal> {
        tolerable_negative_error(self.nominal())
    }

    /// The tolerable error by weight and by volume.
    pub fn amounts_of_error(&self) -> Option<Amounts> {
        Some(self.amounts(self.tolerable_error()?))
    }

    /// The content less so many tolerable errors.
    fn short_by(&self, errors: i64) -> Option<Amounts> {
        Some(self.amounts(self.nominal() - Decimal::from(errors) * self.tolerable_error()?))
    }

    /// The room above the fill, % of the capacity.
    pub fn headspace(&self) -> Option<Decimal> {
        let (capacity, fill) = (self.capacity?.millilitres(), self.fill().volume?.millilitres());
        ((capacity - fill) * Decimal::ONE_HUNDRED).checked_div(capacity)
    }

    /// The net content for the United States: US units first, then metric (21 CFR 701.13; 16 CFR 500.8 for both units). US units have three
    /// digits and are rounded down, so that the label never promises more than the metric content: from memory, NIST Handbook 130,
    /// Uniform Packaging and Labeling Regulation, which lets rounded conversions not overstate.
    pub fn us_label(&self) -> String {
        us_net_content(self.content, &self.metric_label())
    }

    /// The metric net content.
    pub fn metric_label(&self) -> String {
        metric_net_content(self.content, &self.content_text)
    }

    /// The addresses below the block's id.
    pub fn addresses(&self) -> Vec<String> {
        figures::ADDRESSES
            .iter()
            .filter(|address| self.figure("", &parts(address)).is_some())
            .map(ToString::to_string)
            .collect()
    }

    /// The figure at a path below the block's id.
    pub fn figure(&self, id: &str, path: &[&str]) -> Option<Figure> {
        figures::figure(self, id, path)
    }
}

/// The number of a nominal quantity in g or ml.
fn number_of(content: Measured) -> Decimal {
    match content {
        Measured::Mass(mass) => mass.grams(),
        Measured::Volume(volume) => volume.millilitres(),
    }
}

/// A net content in US units, rounded down, with the metric one behind it. See [`Filling::us_label`].
pub(super) fn us_net_content(content: Measured, metric: &str) -> String {
    let (unit, symbol) = match content {
        Measured::Volume(_) => (VolumeUnit::Spoon(Spoon::UsFluidOunce).millilitres(), "fl oz"),
        Measured::Mass(_) => (Mass::from_unit(Decimal::ONE, MassUnit::Ounce).grams(), "oz"),
    };
    let converted = number_of(content).checked_div(unit).unwrap_or_default();
    let decimals = match converted {
        one if one >= Decimal::ONE_HUNDRED => 0,
        one if one >= Decimal::TEN => 1,
        one if one >= Decimal::ONE => 2,
        _ => 3,
    };
    let step = Decimal::new(1, decimals);
    let down = (converted / step).floor() * step;
    format!("{}{}{symbol} ({metric})", show::plain(down), show::NBSP)
}

/// A net content in metric units: as it was written where that is one, else converted.
pub(super) fn metric_net_content(content: Measured, written: &str) -> String {
    let (number, unit) = crate::quantity::split_number(written);
    if matches!(unit, "ml" | "mL" | "l" | "L" | "g" | "kg" | "mg") {
        return format!("{number}{}{unit}", show::NBSP);
    }
    let unit = if matches!(content, Measured::Volume(_)) { "ml" } else { MassUnit::Gram.symbol() };
    let number = number_of(content);
    // Rounded down: the label never promises more than there is.
    let decimals = show::decimals_for(number, 4);
    let step = Decimal::new(1, decimals);
    show::quantity_to((number / step).floor() * step, decimals, unit)
}

fn parts(address: &str) -> Vec<&str> {
    address.split('/').collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::str::FromStr;

    #[track_caller]
    fn check(nominal: &str, expected: Option<&str>) {
        let decimal = |text: &str| Decimal::from_str(text).unwrap();
        assert_eq!(tolerable_negative_error(decimal(nominal)), expected.map(decimal));
    }

    /// Council Directive 76/211/EEC, Annex I, 2.4: every row, the joints, and what lies outside.
    #[test]
    fn the_table_of_the_directive() {
        check("4.99", None);
        check("5", Some("0.5"));
        check("50", Some("4.5"));
        check("75", Some("4.5"));
        check("100", Some("4.5"));
        check("150", Some("6.8"));
        check("200", Some("9"));
        check("250", Some("9"));
        check("300", Some("9"));
        check("400", Some("12"));
        check("500", Some("15"));
        check("750", Some("15"));
        check("1000", Some("15"));
        check("2000", Some("30"));
        check("10000", Some("150"));
        check("10000.1", None);
    }
}
