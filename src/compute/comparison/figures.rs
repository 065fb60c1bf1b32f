//! The figures of a comparison: by how much each raw material and the active matter differ, with their working.
//!
//! With two formulas the address is the raw material's; with more, the id of the formula that is compared with the first stands before it.

use super::super::address::AddressFault;
use super::super::{Figure, Value, Working};
use super::{Comparison, Row};
use crate::quantity::{Decimal, Mass, MassUnit, Percent, show};

const PERCENT: &str = "percent-difference";
const WEIGHT: &str = "weight-difference";
const ACTIVE: &str = "active-matter";

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

    fn working(&self, other: usize, two: Value, one: Value) -> Working {
        Working::new()
            .value(two)
            .text(format!(" in {} − ", self.id_of(other)))
            .value(one)
            .text(format!(" in {}", self.id_of(0)))
    }
}
