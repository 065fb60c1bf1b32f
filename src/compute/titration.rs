//! How much acid or base takes a batch to a pH, read off a titration of a sample. Nothing is said outside of the readings.
//!
//! What was added is put in relation to the product that it met: r = Σ addition ÷ product still there, grams to a gram of product. The curve of the pH goes
//! through the readings against r, and the batch takes r × its weight. A portion that is taken out for a reading takes some of the addition along with its
//! product and leaves r as it is.

mod effect;
mod figures;

use super::curve::{LEAST_POINTS, decimal, float};
use super::interpolation::Pchip;
use super::{Computed, usual_strength};
use crate::block::{AdditionBasis, PhSpan, Placed, ReadingOf, TitrationBlock};
use crate::material::Material;
use crate::quantity::{Decimal, Mass, Ph, Range};
pub use effect::{Effect, with_dose};

/// A reading of a titration.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Titrated {
    /// The addition as typed.
    pub text: String,
    /// Added since the reading before, grams.
    pub added: Mass,
    /// Added in all.
    pub total: Mass,
    /// Grams in all to a hundred grams of product.
    pub per_hundred: Decimal,
    /// The pH read after it.
    pub ph: Decimal,
}

/// A titration worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct Titration {
    /// The acid or base as written.
    pub with: String,
    /// Its name.
    pub name: String,
    /// The substance that its strength counts, and how much of it there is, %.
    pub strength: Option<(String, Range)>,
    /// Whether the strength was stated for the lot.
    pub is_lot: bool,
    /// The sample.
    pub sample: Mass,
    /// How the pH was read.
    pub reading: Option<ReadingOf>,
    /// Whether a portion is taken out for each reading.
    pub takes_portions: bool,
    /// The readings.
    pub readings: Vec<Titrated>,
    /// The pH against grams to a hundred grams of product.
    pub curve: Pchip,
    /// The pH wanted.
    pub target: PhSpan,
    /// The smallest step of the meter.
    pub resolution: Option<Decimal>,
    /// Grams to a hundred grams of product that reach the middle of what is wanted.
    pub per_hundred: Decimal,
    /// The product to be dosed, without the dose.
    pub batch: Mass,
    /// Whether that is a formula's batch without its line.
    pub batch_of_formula: bool,
    /// Decimals of a gram on the balance.
    pub decimals: u32,
    /// What it does to the formula.
    pub effect: Option<Effect>,
}

/// Why there is no dose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TitrationFault {
    /// So few readings.
    TooFew(usize),
    /// The amount in all becomes less; before and now.
    Less(Placed<Mass>, Mass),
    /// Nothing was added since the reading before.
    NothingAdded(Placed<Mass>),
    /// The portions take more than the sample.
    UsedUp(usize),
    /// No pH is wanted.
    NoTarget,
    /// No batch and no formula.
    NoBatch,
    /// A pH that was not read; from where to where the readings go.
    Outside(Option<Placed<PhSpan>>, Decimal, Decimal, Decimal),
}

impl Titration {
    /// Works out a titration of a product, made by a formula or not.
    ///
    /// # Errors
    /// Everything that stands against it.
    pub fn of(
        block: &TitrationBlock,
        material: &Material,
        computed: Option<&Computed>,
        readability: Mass,
    ) -> Result<Titration, Vec<TitrationFault>> {
        let mut faults = Vec::new();
        if block.points.len() < LEAST_POINTS {
            faults.push(TitrationFault::TooFew(block.points.len()));
        }
        let readings = readings_of(block, &mut faults);
        let target = block.target.as_ref().map(|target| target.value).or(computed.and_then(|one| one.formula.ph));
        let batch = batch_of(block, material, computed);
        if target.is_none() {
            faults.push(TitrationFault::NoTarget);
        }
        if batch.is_none() {
            faults.push(TitrationFault::NoBatch);
        }
        let on_curve: Vec<(f64, f64)> = readings.iter().map(|one| (float(one.per_hundred), float(one.ph))).collect();
        let (Some(curve), Some(target), Some(batch)) = (Pchip::new(&on_curve), target, batch) else {
            return Err(faults);
        };
        let middle = middle_of(target);
        let Some(crossing) = curve.crossings(float(middle)).first().copied() else {
            // Amounts that are wrong make the readings end too early; then that is what is said.
            if faults.is_empty() {
                let phs = || readings.iter().map(|one| one.ph);
                let (low, high) = (phs().min().unwrap_or_default(), phs().max().unwrap_or_default());
                faults.push(TitrationFault::Outside(block.target.clone(), middle, low, high));
            }
            return Err(faults);
        };
        if !faults.is_empty() {
            return Err(faults);
        }
        // Where the curve is level at the pH wanted, the least that reaches it.
        let per_hundred = decimal(crossing.from);
        let effect = computed.map(|computed| Effect::of(computed, material, percent_of(per_hundred)));
        Ok(Titration {
            with: block.with.value.clone(),
            name: material.name.clone(),
            strength: strength_of(block, material),
            is_lot: block.strength.is_some(),
            sample: block.sample.value,
            reading: block.reading.as_ref().map(|reading| reading.value),
            takes_portions: portion_of(block).is_some(),
            readings,
            curve,
            target,
            resolution: block.resolution,
            per_hundred,
            batch,
            batch_of_formula: block.batch.is_none(),
            decimals: readability.grams().normalize().scale(),
            effect,
        })
    }

    /// The pH that the dose is for: the middle of what is wanted.
    pub fn middle(&self) -> Decimal {
        middle_of(self.target)
    }

    /// The dose for the batch.
    pub fn dose(&self) -> Mass {
        self.scaled(self.per_hundred)
    }

    /// So many grams to a hundred of product, for the batch.
    fn scaled(&self, per_hundred: Decimal) -> Mass {
        Mass::from_grams(per_hundred * self.batch.grams() / Decimal::ONE_HUNDRED)
    }

    /// What of the finished product the dose is, %.
    pub fn percent(&self) -> Decimal {
        percent_of(self.per_hundred)
    }

    /// Grams to a hundred of product that first reach a pH; none where it was not read.
    fn per_hundred_for(&self, ph: Decimal) -> Option<Decimal> {
        self.curve.crossings(float(ph)).first().map(|crossing| decimal(crossing.from))
    }

    /// The dose for another pH; none where it was not read.
    pub fn dose_for(&self, ph: Decimal) -> Option<Mass> {
        self.per_hundred_for(ph).map(|per_hundred| self.scaled(per_hundred))
    }

    /// From where to where the resolution of the meter leaves the dose open, grams to a hundred: a reading of the middle may be half a step more or less.
    /// None without a resolution, or where the readings end within half a step of the middle.
    fn open(&self) -> Option<(Decimal, Decimal)> {
        let half = self.resolution? / Decimal::TWO;
        let ends = self.per_hundred_for(self.middle() - half).zip(self.per_hundred_for(self.middle() + half));
        ends.map(|(one, other)| (one.min(other), one.max(other)))
    }

    /// The least and the most that the dose may have to be, as far as the resolution of the meter tells.
    pub fn dose_ends(&self) -> Option<(Mass, Mass)> {
        self.open().map(|(low, high)| (self.scaled(low), self.scaled(high)))
    }

    /// What of the finished product the dose is at these ends, %.
    pub fn percent_ends(&self) -> Option<(Decimal, Decimal)> {
        self.open().map(|(low, high)| (percent_of(low), percent_of(high)))
    }

    /// The pH before anything was added, where it was read.
    pub fn start(&self) -> Option<Decimal> {
        self.readings.first().filter(|first| first.total == Mass::ZERO).map(|first| first.ph)
    }

    /// The pH that half of the dose should give; none where the readings begin later.
    pub fn ph_at_half(&self) -> Option<Decimal> {
        self.curve.at(float(self.per_hundred / Decimal::TWO)).map(decimal)
    }

    /// The dose as pure acid or base, with the range of its strength.
    pub fn neat(&self) -> Option<Range> {
        let (_, strength) = self.strength.as_ref()?;
        Some(strength.times(self.dose().grams()).divided_by(Decimal::ONE_HUNDRED))
    }

    /// Decimals of the readings.
    pub fn ph_decimals(&self) -> u32 {
        self.readings.iter().map(|one| one.ph.normalize().scale()).max().unwrap_or_default().max(1)
    }
}

/// Grams to a hundred of product, as % of both together: 100 r ÷ (100 + r).
fn percent_of(per_hundred: Decimal) -> Decimal {
    let quotient = (per_hundred * Decimal::ONE_HUNDRED).checked_div(Decimal::ONE_HUNDRED + per_hundred);
    quotient.unwrap_or_default().normalize()
}

fn middle_of(span: PhSpan) -> Decimal {
    let (low, high) = (span.low.value(), span.high.value());
    if low == high { low } else { ((low + high) / Decimal::TWO).normalize() }
}

/// What a reading takes out of the sample: nothing where it is neat, or where the whole sample stands in the water.
fn portion_of(block: &TitrationBlock) -> Option<Mass> {
    match block.reading.as_ref()?.value {
        ReadingOf::Diluted { product, .. } if product != block.sample.value => Some(product),
        _ => None,
    }
}

fn readings_of(block: &TitrationBlock, faults: &mut Vec<TitrationFault>) -> Vec<Titrated> {
    let portion = portion_of(block);
    let mut product = block.sample.value.grams();
    let (mut total, mut ratio) = (Decimal::ZERO, Decimal::ZERO);
    let mut readings: Vec<Titrated> = Vec::new();
    for (index, point) in block.points.iter().enumerate() {
        let stated = point.amount.value.grams();
        let added = match block.basis.value {
            AdditionBasis::Each => stated,
            AdditionBasis::Cumulative => stated - total,
        };
        if added < Decimal::ZERO {
            faults.push(TitrationFault::Less(point.amount.clone(), Mass::from_grams(total)));
            continue;
        }
        if added.is_zero() && index > 0 {
            faults.push(TitrationFault::NothingAdded(point.amount.clone()));
            continue;
        }
        total += added;
        ratio += added.checked_div(product).unwrap_or_default();
        readings.push(Titrated {
            text: point.text.clone(),
            added: Mass::from_grams(added),
            total: Mass::from_grams(total),
            per_hundred: (ratio * Decimal::ONE_HUNDRED).round_sf(12).unwrap_or_default().normalize(),
            ph: Ph::value(point.ph.value),
        });
        // The portion holds product and what was added to it, in the proportion of the whole.
        let taken = portion.map_or(Decimal::ZERO, |portion| portion.grams() / (Decimal::ONE + ratio));
        product -= taken;
        if product < Decimal::ZERO || (product.is_zero() && index + 1 < block.points.len()) {
            faults.push(TitrationFault::UsedUp(index + 1));
            break;
        }
    }
    readings
}

/// The product to be dosed: as stated, or the formula's batch without what its line of this material brings.
fn batch_of(block: &TitrationBlock, material: &Material, computed: Option<&Computed>) -> Option<Mass> {
    if let Some(batch) = block.batch {
        return Some(batch);
    }
    let formula = &computed?.formula;
    let percent = effect::percent_in(formula, material).unwrap_or_default();
    let without = formula.batch.mass.grams() * (Decimal::ONE_HUNDRED - percent) / Decimal::ONE_HUNDRED;
    Some(Mass::from_grams(without))
}

fn strength_of(block: &TitrationBlock, material: &Material) -> Option<(String, Range)> {
    let of = material.strength.as_ref().and_then(|fact| fact.of.clone())?;
    let stated = block.strength.map(|percent| Range::exactly(percent.value()));
    Some((of, stated.or_else(|| usual_strength(material))?))
}
