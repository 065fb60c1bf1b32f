//! The figures of a titration, each with its working.

use super::{Titration, percent_of};
use crate::block::PhSpan;
use crate::compute::{AddressFault, Figure, INTERPOLATION_SOURCE, Value, Working};
use crate::quantity::{Decimal, Mass, MassUnit, Percent, Ph, read_decimal, show};

impl Titration {
    /// The addresses below the block's id. The dose for any pH that was read can be asked for besides, as `dose/ph/5.4`.
    pub fn addresses(&self) -> Vec<String> {
        let mut addresses: Vec<String> = ["dose", "dose/half"].map(str::to_owned).into();
        if self.dose_ends().is_some() {
            addresses.extend(["dose/least", "dose/most"].map(str::to_owned));
        }
        let ends = [self.target.high, self.target.low].map(Ph::value);
        let is_span = self.target.low != self.target.high;
        let known = ends.into_iter().filter(|ph| is_span && self.dose_for(*ph).is_some());
        addresses.extend(known.map(|ph| format!("dose/ph/{ph}")));
        if self.neat().is_some() {
            addresses.push("dose-neat".to_owned());
        }
        addresses.extend(["percent", "per-100g", "batch", "target"].map(str::to_owned));
        if self.start().is_some() {
            addresses.push("ph-start".to_owned());
        }
        if self.ph_at_half().is_some() {
            addresses.push("ph-half".to_owned());
        }
        addresses
    }

    /// The figure at a path below the block's id, or why there is none.
    pub fn look_up(&self, id: &str, path: &[&str]) -> Option<Result<Figure, AddressFault>> {
        let address = format!("{id}/{}", path.join("/"));
        if let ["dose", "ph", ph] = path {
            let ph = read_decimal(ph).ok()?;
            let Some(dose) = self.dose_for(ph) else {
                let phs = || self.readings.iter().map(|one| one.ph);
                let (low, high) = (phs().min()?, phs().max()?);
                let why = format!("pH {ph} lies outside of the readings, from {low} to {high}");
                return Some(Err(AddressFault::NoValue(why)));
            };
            let working = self.working_of_dose(self.per_hundred_for(ph)?, ph);
            return Some(Ok(Figure { address, value: self.mass(dose), working }));
        }
        let (value, working) = self.value(path)?;
        Some(Ok(Figure { address, value, working }))
    }

    fn value(&self, path: &[&str]) -> Option<(Value, Working)> {
        let half_step = || self.resolution.map(|step| (step / Decimal::TWO).normalize());
        let end = |mass: Mass, words: &str| {
            let working = Working::new()
                .text(format!("{words} at pH {} ± ", self.middle()))
                .value(Value::Number(half_step().unwrap_or_default()))
                .text(", half a step of the meter either way")
                .source(INTERPOLATION_SOURCE);
            (self.mass(mass), working)
        };
        Some(match path {
            ["dose"] => (self.mass(self.dose()), self.working_of_dose(self.per_hundred, self.middle())),
            ["dose", "half"] => {
                let half = Mass::from_grams(self.dose().grams() / Decimal::TWO);
                (self.mass(half), Working::new().text("half of ").value(self.mass(self.dose())))
            }
            ["dose", "least"] => end(self.dose_ends()?.0, "the least dose"),
            ["dose", "most"] => end(self.dose_ends()?.1, "the largest dose"),
            ["dose-neat"] => {
                let neat = self.neat()?;
                let (of, strength) = self.strength.as_ref()?;
                let decimals = show::decimals_for(neat.typical, 3);
                let value = match neat.is_exact() {
                    true => Value::Mass { mass: Mass::from_grams(neat.typical), decimals },
                    false => Value::Reading {
                        value: neat.typical,
                        ends: Some((neat.low, neat.high)),
                        decimals,
                        unit: MassUnit::Gram.symbol().to_owned(),
                    },
                };
                let lot = if self.is_lot { " of this lot" } else { "" };
                let working = Working::new()
                    .value(self.mass(self.dose()))
                    .text(" × ")
                    .value(Value::PercentRange(*strength))
                    .text(format!(" {of}{lot}"));
                (value, working)
            }
            ["percent"] => {
                let percent = Percent::new(percent_of(self.per_hundred));
                let working = Working::new()
                    .value(self.mass(self.dose()))
                    .text(" ÷ (")
                    .value(self.mass(self.batch))
                    .text(" + ")
                    .value(self.mass(self.dose()))
                    .text(") × 100");
                (Value::Percent(percent), working)
            }
            ["per-100g"] => (self.to_hundred(self.per_hundred), self.working_of_ratio(self.middle())),
            ["batch"] => {
                let words = if self.batch_of_formula {
                    "the batch of the formula without its line of what is dosed"
                } else {
                    "as written"
                };
                (self.mass(self.batch), Working::new().text(words))
            }
            ["target"] => (Value::Ph(self.target), Working::new().text("as written")),
            ["ph-start"] => (self.ph(self.start()?), Working::new().text("the first reading, nothing added")),
            ["ph-half"] => {
                let working = Working::new()
                    .text("on the curve through the readings, at half of the dose")
                    .source(INTERPOLATION_SOURCE);
                (self.ph(self.ph_at_half()?), working)
            }
            _ => return None,
        })
    }

    /// A weight as the balance prints it.
    fn mass(&self, mass: Mass) -> Value {
        Value::Mass { mass, decimals: self.decimals }
    }

    fn ph(&self, ph: Decimal) -> Value {
        Value::Reading { value: ph, ends: None, decimals: self.ph_decimals(), unit: String::new() }
    }

    fn to_hundred(&self, per_hundred: Decimal) -> Value {
        Value::Quantity { value: per_hundred, decimals: show::decimals_for(per_hundred, 3), unit: "g to 100 g" }
    }

    fn working_of_ratio(&self, ph: Decimal) -> Working {
        Working::new()
            .text(format!("where the curve through the readings has pH {ph}: so much to a hundred grams of product"))
            .source(INTERPOLATION_SOURCE)
    }

    fn working_of_dose(&self, per_hundred: Decimal, ph: Decimal) -> Working {
        let working = Working::new()
            .value(self.to_hundred(per_hundred))
            .text(format!(" of product at pH {ph} × "))
            .value(self.mass(self.batch))
            .source(INTERPOLATION_SOURCE);
        match self.target {
            PhSpan { low, high } if low != high && ph == self.middle() => {
                working.text(format!("; pH {ph} is the middle of {}", show::ends(low.value(), high.value())))
            }
            _ => working,
        }
    }
}
