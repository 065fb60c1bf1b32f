//! The figures of a comparison: by how much each raw material and the active matter differ, with their working.
//!
//! With two formulas the address is the raw material's; with more, the id of the formula that is compared with the first stands before it.

use super::super::address::AddressFault;
use super::super::{Figure, MaterialsCost, Value, Working};
use super::{Comparison, Row};
use crate::quantity::{Decimal, Mass, MassUnit, Money, Percent, show};

const PERCENT: &str = "percent-difference";
const WEIGHT: &str = "weight-difference";
const ACTIVE: &str = "active-matter";
const COST: &str = "cost";
const OF_BATCH: &str = "per-batch-difference";
const OF_100_G: &str = "per-100-g-difference";

impl Comparison {
    /// The addresses below the block's id.
    pub fn addresses(&self) -> Vec<String> {
        let mut addresses = Vec::new();
        for other in 1..self.sides.len() {
            let before = self.before(other);
            for row in self.rows.iter().filter(|row| row.both(other).is_some()) {
                addresses.extend([PERCENT, WEIGHT].map(|last| format!("{before}{}/{last}", row.material)));
            }
            if self.step(other).is_some_and(|step| step.active.is_some()) {
                addresses.push(format!("{before}{ACTIVE}/{PERCENT}"));
            }
            if self.cost_difference(other).is_some() {
                addresses.extend([OF_BATCH, OF_100_G].map(|last| format!("{before}{COST}/{last}")));
            }
        }
        addresses
    }

    /// What the address of another formula's figures begins with.
    pub fn before(&self, other: usize) -> String {
        match self.sides.get(other).filter(|_| self.sides.len() > 2) {
            Some(side) => format!("{}/", side.id),
            None => String::new(),
        }
    }

    /// The figure at a path, or why it has no value; nothing when there is no such path.
    pub fn look_up(&self, id: &str, path: &[&str]) -> Option<Result<Figure, AddressFault>> {
        let address = format!("{id}/{}", path.join("/"));
        let (other, path) = match path {
            [formula, rest @ ..] if self.sides.len() > 2 => {
                (self.sides.iter().skip(1).position(|side| side.id == *formula)? + 1, rest)
            }
            _ => (1, path),
        };
        match path {
            [ACTIVE, PERCENT] => {
                let unknown = || AddressFault::NoValue("a strength is not known".to_owned());
                Some(self.active_figure(other, address).ok_or_else(unknown))
            }
            [COST, last @ (OF_BATCH | OF_100_G)] => {
                let unknown = || AddressFault::NoValue("a price is not known".to_owned());
                Some(self.cost_figure(other, last, address).ok_or_else(unknown))
            }
            [material, last @ (PERCENT | WEIGHT)] => {
                let row = self.rows.iter().find(|row| row.material == *material)?;
                let figure = if *last == PERCENT {
                    self.percent_figure(row, other, address)
                } else {
                    self.weight_figure(row, other, address)
                };
                Some(figure.ok_or_else(|| self.not_in_both(row, other)))
            }
            _ => None,
        }
    }

    fn step(&self, other: usize) -> Option<&super::Step> {
        self.steps.get(other.checked_sub(1)?)
    }

    fn id_of(&self, side: usize) -> String {
        self.sides.get(side).map(|side| side.id.clone()).unwrap_or_default()
    }

    fn not_in_both(&self, row: &Row, other: usize) -> AddressFault {
        let missing = if row.cells.first().is_some_and(Option::is_some) { other } else { 0 };
        let why =
            format!("`{}` is not in `{}`, so there is no difference in numbers", row.material, self.id_of(missing));
        AddressFault::NoValue(why)
    }

    fn percent_figure(&self, row: &Row, other: usize, address: String) -> Option<Figure> {
        let (one, two) = row.both(other)?;
        let percent = |value: Decimal| Value::Percent(Percent::new(value));
        let working = self.working(other, percent(two.percent), percent(one.percent));
        // 5.0 − 3 is 2, whatever digits were typed.
        Some(Figure { address, value: percent(row.percent_difference(other)?.normalize()), working })
    }

    fn weight_figure(&self, row: &Row, other: usize, address: String) -> Option<Figure> {
        let (one, two) = row.both(other)?;
        let mass = |mass: Mass| Value::Mass { mass, decimals: self.decimals };
        let batch = show::mass_in(self.batch, MassUnit::Gram, self.decimals);
        let working = self.working(other, mass(two.weight), mass(one.weight)).text(format!(", weighed for {batch}"));
        Some(Figure { address, value: mass(Mass::from_grams(row.weight_difference(other)?)), working })
    }

    fn active_figure(&self, other: usize, address: String) -> Option<Figure> {
        let value = Value::PercentRange(self.step(other)?.active?);
        let whole = |side: usize| Some(Value::PercentRange(self.sides.get(side)?.active?));
        let working = self
            .working(other, whole(other)?, whole(0)?)
            .text("; each raw material by what changed of it, so that one that stays adds nothing");
        Some(Figure { address, value, working })
    }

    /// By how much more the raw materials of another cost than those of the first, for the batch and for 100 g; nothing while a price is not known.
    pub fn cost_difference(&self, other: usize) -> Option<(Decimal, Decimal)> {
        let (one, two) = self.costs(other)?;
        let by = |of: fn(&MaterialsCost) -> Money| of(two).amount().checked_sub(of(one).amount());
        by(|cost| cost.batch).zip(by(|cost| cost.per_100_g))
    }

    fn costs(&self, other: usize) -> Option<(&MaterialsCost, &MaterialsCost)> {
        let cost = |side: usize| self.sides.get(side)?.cost.as_ref().filter(|cost| cost.missing.is_empty());
        cost(0).zip(cost(other))
    }

    fn cost_figure(&self, other: usize, last: &str, address: String) -> Option<Figure> {
        let (one, two) = self.costs(other)?;
        let (of_batch, of_100_g) = self.cost_difference(other)?;
        let currency = one.batch.currency();
        let money =
            |value: Decimal| Value::Quantity { value, decimals: currency.minor_digits(), unit: currency.code() };
        let (by, of): (Decimal, fn(&MaterialsCost) -> Money) =
            if last == OF_BATCH { (of_batch, |cost| cost.batch) } else { (of_100_g, |cost| cost.per_100_g) };
        let working = self.working(other, money(of(two).amount()), money(of(one).amount()));
        let batch = show::mass_in(self.batch, MassUnit::Gram, self.decimals);
        let what = if last == OF_BATCH { batch } else { format!("100{}g", show::NBSP) };
        let working = working.text(format!(", raw materials for {what} at the latest prices"));
        Some(Figure { address, value: money(by), working })
    }

    fn working(&self, other: usize, two: Value, one: Value) -> Working {
        Working::new()
            .value(two)
            .text(format!(" in {} − ", self.id_of(other)))
            .value(one)
            .text(format!(" in {}", self.id_of(0)))
    }
}
