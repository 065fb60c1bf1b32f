//! What a batch costs: exact decimals from the packs that were bought, and nothing taken for zero that is not known.
//!
//! The cost of a raw material is its weight, with what is wasted on top, times what the pack cost with its postage, divided by what is in the pack. Weights are
//! the exact ones of the batch, not those rounded to a balance.

mod figures;

use super::{AddressFault, Computed, Figure, needs_of};
use crate::block::{CostingBlock, Measured};
use crate::material::{Material, Price};
use crate::model::{BatchGiven, Formula, Rate, Settings};
use crate::quantity::{Currency, Date, Decimal, Mass, Money, Percent};
use std::collections::BTreeMap;

/// A costing, worked out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Costing {
    /// The formula.
    pub formula: String,
    /// Its title, or its id.
    pub title: String,
    /// How much is made.
    pub batch: Mass,
    /// How many units, where that is known.
    pub units: Option<Decimal>,
    /// What is made for one of them and how much of it is on top of its content, % of the content, where the units were counted by it.
    pub unit: Option<(Mass, Percent)>,
    /// What is used on top of the weights.
    pub waste: Percent,
    /// The raw materials, each once, in the order of the sheet.
    pub lines: Vec<CostLine>,
    /// Everything else.
    pub extras: Vec<Extra>,
    /// The currency of all sums.
    pub currency: Currency,
    /// The day for which it is reckoned.
    pub date: Option<Date>,
    /// Decimals of the formula's balance, for weights.
    pub decimals: u32,
}

/// A raw material and what it costs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CostLine {
    /// The id of the raw material.
    pub material: String,
    /// Its name.
    pub name: String,
    /// How much is used, waste included.
    pub mass: Mass,
    /// Whether it is dosed to effect, so that the weight is only the usual one.
    pub to_effect: bool,
    /// Its price, or why there is none.
    pub price: Result<UsedPrice, NoPrice>,
}

/// The price that a line is reckoned with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UsedPrice {
    /// As it is listed.
    pub listed: Price,
    /// What is in the pack.
    pub pack: Mass,
    /// What the pack cost, in the currency of the costing.
    pub total: Money,
    /// The rate, where it was in another one.
    pub rate: Option<Rate>,
}

/// Why a raw material has no price to reckon with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoPrice {
    /// None is listed.
    NotListed,
    /// One is listed that was not understood; the mistake is reported where it stands.
    NotRead,
    /// All that are listed are later than the day of the costing.
    LaterOnly,
    /// The pack is by volume, and the density is not known.
    NoDensity,
    /// It is in a currency for which there is no rate.
    NoRate(Currency),
}

impl NoPrice {
    /// Why a raw material has no price in time.
    pub fn in_time(material: &Material) -> NoPrice {
        match (material.has_unread_price, material.prices.is_empty()) {
            (true, _) => NoPrice::NotRead,
            (false, true) => NoPrice::NotListed,
            (false, false) => NoPrice::LaterOnly,
        }
    }
}

/// What costs beside raw materials.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sort {
    /// What units are packed in.
    Packaging,
    /// Work.
    Labour,
    /// Everything else.
    Overheads,
}

/// A cost that is no raw material's.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Extra {
    /// Which sort of cost.
    pub sort: Sort,
    /// What it is, for packaging.
    pub name: String,
    /// How many, or how many hours.
    pub count: Decimal,
    /// What one costs.
    pub one: Money,
    /// What all cost in the currency of the costing; nothing without a rate.
    pub cost: Option<Money>,
    /// The rate, where it was in another one.
    pub rate: Option<Rate>,
}

/// Why a costing cannot be worked out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CostingFault {
    /// The collection does not say in which currency it reckons.
    NoCurrency,
    /// There is packaging, and how many units there are is not said.
    NoUnits,
    /// The content of a unit is by volume, and the density of the product is not known.
    NeedsDensity,
    /// The batch does not fill one unit.
    NoFullUnit,
}

impl CostLine {
    /// What it costs, exact.
    pub fn cost(&self) -> Option<Money> {
        let price = self.price.as_ref().ok()?;
        let amount = price.total.amount().checked_mul(self.mass.grams())?.checked_div(price.pack.grams())?;
        Some(Money::new(amount, price.total.currency()))
    }
}

impl Costing {
    /// Works a costing out.
    ///
    /// # Errors
    /// What is missing.
    pub fn of(block: &CostingBlock, computed: &Computed, settings: &Settings) -> Result<Costing, CostingFault> {
        let formula = &computed.formula;
        let currency = settings.currency.ok_or(CostingFault::NoCurrency)?;
        let batch = block.batch.unwrap_or(formula.batch.mass);
        let unit = unit_of(block, formula)?;
        let units = units(block, formula, batch, unit.map(|(mass, _)| mass))?;
        if units.is_none() && !block.packaging.is_empty() {
            return Err(CostingFault::NoUnits);
        }
        let used = Decimal::ONE + block.waste.value() / Decimal::ONE_HUNDRED;
        let lines = cost_lines(formula, batch, used, block.date, currency, settings);
        let extra = |sort, name: &str, count: Decimal, one: Money| {
            let all = one.times(count).and_then(|all| settings.rates.convert(all, currency));
            let (cost, rate) = all.map_or((None, None), |(money, rate)| (Some(money), rate));
            Extra { sort, name: name.to_owned(), count, one, cost, rate }
        };
        let units_or_none = units.unwrap_or_default();
        let mut extras: Vec<Extra> = block
            .packaging
            .iter()
            .map(|item| extra(Sort::Packaging, &item.name.value, item.per_unit * units_or_none, item.price))
            .collect();
        extras.extend(block.labour.map(|(hours, rate)| extra(Sort::Labour, "", hours, rate)));
        extras.extend(block.overheads.map(|money| extra(Sort::Overheads, "", Decimal::ONE, money)));
        Ok(Costing {
            formula: formula.id.clone(),
            title: formula.title.clone().unwrap_or_else(|| formula.id.clone()),
            batch,
            units,
            unit,
            waste: block.waste,
            lines,
            extras,
            currency,
            date: block.date,
            decimals: computed.sheet.decimals(),
        })
    }

    /// What all raw materials cost that have a price, and whether all have one.
    pub fn materials(&self) -> (Money, bool) {
        self.sum(self.lines.iter().map(CostLine::cost))
    }

    /// What one sort of the other costs comes to, and whether all of it is known; nothing where there is none of the sort.
    pub fn extras_of(&self, sort: Sort) -> Option<(Money, bool)> {
        let mut of_sort = self.extras.iter().filter(|extra| extra.sort == sort).map(|extra| extra.cost).peekable();
        of_sort.peek()?;
        Some(self.sum(of_sort))
    }

    /// What the batch costs as far as it is known, and whether all of it is.
    pub fn total(&self) -> (Money, bool) {
        let materials = self.lines.iter().map(CostLine::cost);
        self.sum(materials.chain(self.extras.iter().map(|extra| extra.cost)))
    }

    fn sum(&self, costs: impl Iterator<Item = Option<Money>>) -> (Money, bool) {
        let mut sum = Money::zero(self.currency);
        let mut is_whole = true;
        for cost in costs {
            match cost.map(|cost| sum.plus(cost)) {
                Some(Some(more)) => sum = more,
                _ => is_whole = false,
            }
        }
        (sum, is_whole)
    }

    /// The day of the oldest price that was used.
    pub fn oldest_price(&self) -> Option<Date> {
        self.lines.iter().filter_map(|line| Some(line.price.as_ref().ok()?.listed.date)).min()
    }

    /// The day against which the age of prices is held: that of the costing, and without one that of the newest price in it.
    pub fn reference_day(&self) -> Option<Date> {
        let dates = self.lines.iter().filter_map(|line| Some(line.price.as_ref().ok()?.listed.date));
        self.date.or_else(|| dates.max())
    }

    /// The rates that were used, each once, by their currencies.
    pub fn rates(&self) -> BTreeMap<Currency, Rate> {
        let of_lines = self.lines.iter().filter_map(|line| {
            let price = line.price.as_ref().ok()?;
            Some((price.listed.price.currency(), price.rate?))
        });
        of_lines.chain(self.extras.iter().filter_map(|extra| Some((extra.one.currency(), extra.rate?)))).collect()
    }

    /// The addresses below the block's id.
    pub fn addresses(&self) -> Vec<String> {
        figures::addresses(self)
    }

    /// The figure at a path below the block's id; nothing where there is none of that path.
    pub fn look_up(&self, id: &str, path: &[&str]) -> Option<Result<Figure, AddressFault>> {
        figures::look_up(self, id, path)
    }
}

/// The raw materials of a formula with what they cost, each once. `used` is what is taken for one gram that is weighed.
pub(super) fn cost_lines(
    formula: &Formula,
    batch: Mass,
    used: Decimal,
    day: Option<Date>,
    currency: Currency,
    settings: &Settings,
) -> Vec<CostLine> {
    let needs = needs_of(formula, batch, used).into_iter();
    needs
        .map(|need| CostLine {
            material: need.material.id.clone(),
            name: need.material.name.clone(),
            mass: need.mass,
            to_effect: need.dosed.is_some(),
            price: used_price(&need.material, day, currency, settings),
        })
        .collect()
}

/// What the raw materials of a formula cost at the latest prices, beside those of another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MaterialsCost {
    /// For the batch, as far as it is known.
    pub batch: Money,
    /// For 100 g, as far as it is known.
    pub per_100_g: Money,
    /// The raw materials of which it is not known.
    pub missing: Vec<String>,
}

impl MaterialsCost {
    /// What a formula costs; nothing in a collection without a currency, and where no raw material of it has a price.
    pub fn of(formula: &Formula, batch: Mass, settings: &Settings) -> Option<MaterialsCost> {
        let currency = settings.currency?;
        let lines = cost_lines(formula, batch, Decimal::ONE, None, currency, settings);
        let missing: Vec<String> =
            lines.iter().filter(|line| line.cost().is_none()).map(|line| line.material.clone()).collect();
        if missing.len() == lines.len() {
            return None;
        }
        let sum = lines.iter().filter_map(CostLine::cost).try_fold(Money::zero(currency), Money::plus)?;
        let per_100_g = sum.times(Decimal::ONE_HUNDRED)?.divided_by(batch.grams())?;
        Some(MaterialsCost { batch: sum, per_100_g, missing })
    }
}

/// How many units the batch gives: full ones only, where they are counted by what is made for one.
fn units(
    block: &CostingBlock,
    formula: &Formula,
    batch: Mass,
    unit: Option<Mass>,
) -> Result<Option<Decimal>, CostingFault> {
    if let Some(units) = &block.units {
        return Ok(Some(units.value));
    }
    let Some(unit) = unit else {
        return Ok(match &formula.batch.given {
            BatchGiven::Fill { units, .. } if block.batch.is_none() => Some(*units),
            _ => None,
        });
    };
    let units = batch.grams().checked_div(unit.grams()).unwrap_or_default().floor();
    if units.is_zero() { Err(CostingFault::NoFullUnit) } else { Ok(Some(units)) }
}

/// What is made for one unit, where units are counted by it: its content, and of the formula's own packs what the formula makes on top of them as well.
fn unit_of(block: &CostingBlock, formula: &Formula) -> Result<Option<(Mass, Percent)>, CostingFault> {
    if block.units.is_some() {
        return Ok(None);
    }
    let (content, on_top) = match (&block.content, formula.batch.fill(), &formula.batch.given) {
        (Some(content), ..) => (content.value, Percent::ZERO),
        (None, Some((fill, _)), BatchGiven::Fill { overfill, .. }) if block.batch.is_some() => (fill, *overfill),
        _ => return Ok(None),
    };
    let grams = match content {
        Measured::Mass(mass) => mass.grams(),
        Measured::Volume(volume) => {
            let density = formula.density.ok_or(CostingFault::NeedsDensity)?;
            volume.millilitres() * density.grams_per_millilitre()
        }
    };
    Ok(Some((Mass::from_grams(grams + on_top.of(grams)), on_top)))
}

fn used_price(
    material: &Material,
    day: Option<Date>,
    currency: Currency,
    settings: &Settings,
) -> Result<UsedPrice, NoPrice> {
    let listed = material.price_on(day).ok_or_else(|| NoPrice::in_time(material))?;
    let pack = listed.mass(material).ok_or(NoPrice::NoDensity)?;
    let (total, rate) =
        settings.rates.convert(listed.total(), currency).ok_or(NoPrice::NoRate(listed.price.currency()))?;
    Ok(UsedPrice { listed: listed.clone(), pack, total, rate })
}
