//! Predicted pH of acids, bases and salts in water, and the dose that takes it to another.

use super::figure::{Figure, Value, Working};
use super::solution::{Acid, Balanced, Constants, Solution};
use crate::block::{BufferBlock, Dissolved, Measured, Placed, SolutionSize};
use crate::material::{IonTable, Material, Solute, WATER};
use crate::quantity::{Decimal, Mass, Percent, show};
use rust_decimal::prelude::ToPrimitive;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Up to this ionic strength, mol/kg, Davies' equation is used without a word (Davies, Ion Association, 1962; from memory).
pub(crate) const WELL_WITHIN: Decimal = Decimal::from_parts(5, 0, 0, false, 1);
/// Beyond this one, mol/kg, no pH is given: twice the range of the equation. Common practice, no source.
pub(crate) const BEYOND: Decimal = Decimal::ONE;

/// Shares of a raw material below this, %, may be unknown without a word: moisture and traces.
const TRACE: Decimal = Decimal::TWO;

/// One thing that is dissolved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BufferLine {
    /// The name as written.
    pub written: String,
    /// The name of the raw material, or the same.
    pub name: String,
    /// As typed.
    pub text: String,
    /// Its weight as supplied.
    pub mass: Mass,
    /// Its strength as it was counted, %; none for a pure solute.
    pub strength: Option<Percent>,
    /// How far the strength leaves it open, %: from and to.
    pub open: Option<(Decimal, Decimal)>,
    /// Millimoles of each solute that it brings.
    pub solutes: Vec<(String, Decimal)>,
}

/// pH and what belongs to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SolutionState {
    /// The pH, four decimals.
    pub ph: Decimal,
    /// **Unit** mol/kg.
    pub ionic_strength: Decimal,
    /// **Unit** mmol of strong base (or acid) in a kilogram of water for one pH.
    pub capacity: Decimal,
}

/// What takes the solution to the pH wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dose {
    /// How much of it, as supplied, beside what is in the solution already.
    pub line: BufferLine,
    /// The state it leads to.
    pub state: SolutionState,
}

/// An acid or base of the solution, with its constants.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BufferAcid {
    /// Its name.
    pub name: String,
    /// pKa by step.
    pub pka: Vec<Decimal>,
    /// Their source.
    pub source: String,
}

/// A buffer worked out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Buffer {
    /// How much there is, as typed.
    pub size: String,
    /// What that is: "solution" or "water".
    pub size_of: &'static str,
    /// The water in it, grams.
    pub water: Mass,
    /// What is dissolved.
    pub lines: Vec<BufferLine>,
    /// The state of the solution as written.
    pub state: SolutionState,
    /// The dose, when a pH is wanted.
    pub dose: Option<Dose>,
    /// The acids and their constants.
    pub acids: Vec<BufferAcid>,
}

/// Why there is no pH.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BufferFault {
    /// Nobody knows the name.
    Unknown(Placed<String>),
    /// It is known, and not how it comes apart; what of it.
    IonsUnknown(Placed<String>, String),
    /// A share of a solution whose weight is not given.
    PercentOfVolume(Placed<Dissolved>),
    /// Millimoles of a raw material that brings several solutes.
    SeveralSolutes(Placed<String>),
    /// No water is left for it.
    NoWater,
    /// The ionic strength, mol/kg, where it could be reached.
    TooConcentrated(Option<Decimal>),
    /// The pH wanted cannot be reached.
    OutOfReach {
        /// The lowest pH that it can be taken to.
        low: Decimal,
        /// The highest.
        high: Decimal,
        /// Whether it is the range of the activities that ends there, and not what is added.
        is_limit: bool,
    },
}

/// A substance that a raw material or a solute brings, for one gram of it.
struct Brought<'t> {
    name: String,
    /// Moles of each solute in a gram, as supplied.
    solutes: Vec<(&'t Solute, Decimal)>,
    /// Grams of solute in a gram.
    share: Decimal,
    strength: Option<Percent>,
    open: Option<(Decimal, Decimal)>,
}

/// What is in the solution so far.
#[derive(Clone, Default)]
struct Sum<'t> {
    /// Moles by acid.
    acids: BTreeMap<&'t str, f64>,
    /// Moles by ion.
    ions: BTreeMap<crate::material::PlainIon, f64>,
    /// Grams of solute, and of what comes with it.
    solute: f64,
    brought_water: f64,
}

impl<'t> Sum<'t> {
    fn add(&mut self, brought: &Brought<'t>, grams: f64) {
        for (solute, moles) in &brought.solutes {
            let moles = float(*moles) * grams;
            if let Some((acid, units)) = &solute.acid {
                *self.acids.entry(acid.as_str()).or_default() += moles * float(*units);
            }
            for (ion, number) in &solute.ions {
                *self.ions.entry(*ion).or_default() += moles * float(*number);
            }
        }
        self.solute += float(brought.share) * grams;
        self.brought_water += (1.0 - float(brought.share)) * grams;
    }

    /// Grams of water in the solution.
    fn water(&self, size: SolutionSize, density: f64) -> f64 {
        match size {
            // What the solutes take up is left out: a solution is taken to hold as much water as its volume would.
            SolutionSize::Whole(Measured::Volume(volume)) => float(volume.millilitres()) * density,
            SolutionSize::Whole(Measured::Mass(mass)) => float(mass.grams()) - self.solute,
            SolutionSize::Water(mass) => float(mass.grams()) + self.brought_water,
        }
    }

    fn solution(&self, size: SolutionSize, table: &IonTable) -> Option<Solution> {
        let kilograms = self.water(size, float(table.constants.water_density)) / 1000.0;
        if kilograms <= 0.0 {
            return None;
        }
        let acids = self
            .acids
            .iter()
            .filter_map(|(name, moles)| {
                let acid = table.acid(name)?;
                Some(Acid {
                    molality: moles / kilograms,
                    pka: acid.pka.iter().map(|pka| float(*pka)).collect(),
                    charge: float(acid.charge),
                })
            })
            .collect();
        let plain = self.ions.iter().map(|(ion, moles)| (moles / kilograms, f64::from(ion.charge()))).collect();
        Some(Solution { acids, plain })
    }
}

impl Buffer {
    /// Works out a buffer. `material` finds a raw material by its id.
    ///
    /// # Errors
    /// Why no pH can be given.
    pub fn of<'m>(
        block: &BufferBlock,
        material: impl Fn(&str) -> Option<&'m Arc<Material>>,
    ) -> Result<Buffer, BufferFault> {
        let table = IonTable::built_in();
        let mut sum = Sum::default();
        let mut lines = Vec::new();
        for written in &block.contains {
            // An amount of substance is one of the pure substance; a weight is one of the raw material as supplied.
            let is_amount = matches!(written.amount.value, Dissolved::Millimoles(_));
            let brought = match table.solute(&written.name.value).filter(|_| is_amount) {
                Some(solute) => pure(solute, None),
                None => brought(&written.name, written.strength, table, &material)?,
            };
            let grams = match written.amount.value {
                Dissolved::Mass(mass) => mass.grams(),
                Dissolved::Percent(percent) => match block.size {
                    SolutionSize::Whole(Measured::Mass(mass)) => percent.of(mass.grams()),
                    _ => return Err(BufferFault::PercentOfVolume(written.amount.clone())),
                },
                Dissolved::Millimoles(number) => match brought.solutes.as_slice() {
                    [(_, moles)] => (number / Decimal::ONE_THOUSAND).checked_div(*moles).unwrap_or_default(),
                    _ => return Err(BufferFault::SeveralSolutes(written.name.clone())),
                },
            };
            sum.add(&brought, float(grams));
            lines.push(line(&written.name.value, written.text.clone(), grams, &brought));
        }
        let state = state(&sum, block.size, table)?;
        let mut in_use = sum.clone();
        let dose = match &block.target {
            None => None,
            Some(target) => {
                let brought = brought(&target.with, target.strength, table, &material)?;
                let grams = dose(&sum, &brought, block.size, table, (float(state.ph), float(target.ph.value.value())))?;
                in_use.add(&brought, grams);
                let reached = self::state(&in_use, block.size, table)?;
                let line = line(&target.with.value, String::new(), decimal(grams, 7), &brought);
                Some(Dose { line, state: reached })
            }
        };
        let acids = in_use
            .acids
            .keys()
            .filter_map(|name| {
                let acid = table.acid(name)?;
                Some(BufferAcid {
                    name: (*name).to_owned(),
                    pka: acid.pka.clone(),
                    source: acid.source.as_ref().map(|source| source.line()).unwrap_or_default(),
                })
            })
            .collect();
        let water = in_use.water(block.size, float(table.constants.water_density));
        Ok(Buffer {
            size: block.size_text.clone(),
            size_of: match block.size {
                SolutionSize::Whole(_) => "solution",
                SolutionSize::Water(_) => "water",
            },
            water: Mass::from_grams(decimal(water, 7)),
            lines,
            state,
            dose,
            acids,
        })
    }

    /// The addresses below the block's id.
    pub fn addresses(&self) -> Vec<String> {
        let mut addresses = vec!["ph", "ionic-strength", "capacity"];
        if self.dose.is_some() {
            addresses.extend(["dose", "dose/amount", "target/ph", "target/ionic-strength", "target/capacity"]);
        }
        let lines = self.lines.iter().map(|line| format!("{}/weight", line.written));
        addresses.into_iter().map(str::to_owned).chain(lines).collect()
    }

    /// The figure at a path below the block's id.
    pub fn figure(&self, id: &str, path: &[&str]) -> Option<Figure> {
        let address = std::iter::once(id).chain(path.iter().copied()).collect::<Vec<_>>().join("/");
        if let [name, "weight"] = path {
            let line = self.lines.iter().find(|line| line.written == *name)?;
            let value = Value::Mass { mass: line.mass, decimals: show::decimals_for(line.mass.grams(), 4) };
            return Some(Figure { address, value, working: Working::new().text(format!("{} as written", line.text)) });
        }
        let (state, part) = match path {
            ["target", part] => (self.dose.as_ref()?.state, *part),
            ["dose"] | ["dose", "amount"] => (self.dose.as_ref()?.state, "dose"),
            [part] => (self.state, *part),
            _ => return None,
        };
        let constants = &IonTable::built_in().constants;
        let quantity = |value, decimals, unit| Value::Quantity { value, decimals, unit };
        let (value, working) = match part {
            "ph" => (
                quantity(state.ph, 2, ""),
                Working::new()
                    .text(
                        "the pH at which the charges of all ions balance, with the activities of Davies' equation at ",
                    )
                    .value(quantity(state.ionic_strength, 3, "mol/kg"))
                    .text(format!("; 25 °C, pKw {}", constants.pkw))
                    .source(self.sources()),
            ),
            "ionic-strength" => (
                quantity(state.ionic_strength, 3, "mol/kg"),
                Working::new().text("half the sum of the molality of each ion times its charge squared"),
            ),
            "capacity" => (
                quantity(state.capacity, show::decimals_for(state.capacity, 3), "mmol/kg"),
                Working::new()
                    .text("strong base or acid for one pH, from the slope of the charges at ")
                    .value(quantity(state.ph, 2, "")),
            ),
            "dose" => {
                let line = &self.dose.as_ref()?.line;
                let value = if path.len() == 1 {
                    Value::Mass { mass: line.mass, decimals: show::decimals_for(line.mass.grams(), 3) }
                } else {
                    let amount: Decimal = line.solutes.iter().map(|(_, amount)| *amount).sum();
                    quantity(amount, show::decimals_for(amount, 3), "mmol")
                };
                let working = Working::new()
                    .text(format!("so much {} that the predicted pH is ", line.written))
                    .value(quantity(state.ph, 2, ""));
                (value, working)
            }
            _ => return None,
        };
        Some(Figure { address, value, working })
    }

    /// The sources of all constants in one line.
    fn sources(&self) -> String {
        let constants = &IonTable::built_in().constants;
        let mut sources: Vec<String> =
            self.acids.iter().map(|acid| format!("{}: {}", acid.name, acid.source)).collect();
        sources.push(format!("pKw: {}", constants.pkw_source));
        sources.push(format!("activities: {}", constants.davies_source));
        sources.join("; ")
    }
}

fn line(written: &str, text: String, grams: Decimal, brought: &Brought<'_>) -> BufferLine {
    let amount = |moles: Decimal| {
        let amount = moles.checked_mul(grams).and_then(|amount| amount.checked_mul(Decimal::ONE_THOUSAND));
        amount.and_then(|amount| amount.round_sf(8)).unwrap_or_default().normalize()
    };
    BufferLine {
        written: written.to_owned(),
        name: brought.name.clone(),
        text,
        mass: Mass::from_grams(grams.round_sf(8).unwrap_or(grams).normalize()),
        strength: brought.strength,
        open: brought.open,
        solutes: brought.solutes.iter().map(|(solute, moles)| (solute.id.clone(), amount(*moles))).collect(),
    }
}

/// Moles of a solute in a gram that holds so much of it.
fn moles_in(solute: &Solute, share: Decimal) -> Decimal {
    share.checked_div(solute.molar_mass).unwrap_or_default()
}

/// What one gram of a solute brings, pure or of a strength.
fn pure(solute: &Solute, strength: Option<Percent>) -> Brought<'_> {
    let share = strength.unwrap_or(Percent::HUNDRED).of(Decimal::ONE);
    let solutes = vec![(solute, moles_in(solute, share))];
    Brought { name: solute.id.clone(), solutes, share, strength, open: None }
}

/// What one gram of a raw material, or of a pure solute, brings. A raw material comes first, since the same word means it everywhere else.
fn brought<'t, 'm>(
    name: &Placed<String>,
    strength: Option<Percent>,
    table: &'t IonTable,
    material: &impl Fn(&str) -> Option<&'m Arc<Material>>,
) -> Result<Brought<'t>, BufferFault> {
    let Some(material) = material(&name.value) else {
        let solute = table.solute(&name.value).ok_or_else(|| BufferFault::Unknown(name.clone()))?;
        return Ok(pure(solute, strength));
    };
    let usual = material.strength.as_ref();
    let of = usual.and_then(|fact| fact.of.as_deref());
    let mut solutes = Vec::new();
    let mut share = Decimal::ZERO;
    for component in material.contains.iter().filter(|component| component.inci != WATER) {
        let is_main = of == Some(component.inci.as_str());
        let percent = match strength.filter(|_| is_main) {
            Some(strength) => strength.value(),
            None => match component.percent.range() {
                Some(range) => range.typical,
                None => return Err(BufferFault::IonsUnknown(name.clone(), component.inci.clone())),
            },
        };
        let part = percent / Decimal::ONE_HUNDRED;
        match table.by_inci(&component.inci) {
            Some(solute) => {
                solutes.push((solute, moles_in(solute, part)));
                share += part;
            }
            None if percent < TRACE => {}
            None => return Err(BufferFault::IonsUnknown(name.clone(), component.inci.clone())),
        }
    }
    if solutes.is_empty() {
        return Err(BufferFault::IonsUnknown(name.clone(), material.name.clone()));
    }
    let range = usual.and_then(crate::material::Fact::range);
    Ok(Brought {
        name: material.name.clone(),
        solutes,
        share,
        strength: strength.or_else(|| range.map(|range| Percent::new(range.typical))),
        open: range.filter(|_| strength.is_none()).map(|range| (range.low, range.high)),
    })
}

fn state(sum: &Sum<'_>, size: SolutionSize, table: &IonTable) -> Result<SolutionState, BufferFault> {
    let solution = sum.solution(size, table).ok_or(BufferFault::NoWater)?;
    let balanced = solution.balance(constants(table)).ok_or(BufferFault::TooConcentrated(None))?;
    let ionic_strength = decimal(balanced.ionic_strength, 8);
    if ionic_strength > BEYOND {
        return Err(BufferFault::TooConcentrated(Some(ionic_strength)));
    }
    Ok(SolutionState {
        ph: decimal(balanced.ph, 12).round_dp(4),
        ionic_strength,
        capacity: decimal(balanced.capacity * 1000.0, 8),
    })
}

/// Grams of something that take the solution from one pH to another: doubled until the pH is passed, then halved in between.
fn dose<'t>(
    sum: &Sum<'t>,
    brought: &Brought<'t>,
    size: SolutionSize,
    table: &IonTable,
    (from, target): (f64, f64),
) -> Result<f64, BufferFault> {
    let ph_with = |grams: f64| -> Option<Balanced> {
        let mut with = sum.clone();
        with.add(brought, grams);
        let balanced = with.solution(size, table)?.balance(constants(table))?;
        // Beyond the range of the activities a pH is no guide to a dose.
        (balanced.ionic_strength <= float(BEYOND)).then_some(balanced)
    };
    let upwards = target > from;
    let passed = |ph: f64| if upwards { ph >= target } else { ph <= target };
    // No more than a tenth of a milligram in a kilogram is needed where the pH is right already.
    let mut high = sum.water(size, 1.0).max(1.0) * 1e-7;
    let mut low = 0.0;
    let mut furthest = from;
    loop {
        match ph_with(high) {
            Some(balanced) if passed(balanced.ph) => break,
            Some(balanced) => {
                furthest = balanced.ph;
                low = high;
                high *= 2.0;
            }
            None => {
                // The range ends between the two: as far as it goes.
                let (mut inside, mut outside) = (low, high);
                for _ in 0..60 {
                    let middle = f64::midpoint(inside, outside);
                    match ph_with(middle) {
                        Some(balanced) => {
                            furthest = balanced.ph;
                            inside = middle;
                        }
                        None => outside = middle,
                    }
                }
                if !passed(furthest) {
                    let ends = (decimal(from.min(furthest), 4), decimal(from.max(furthest), 4));
                    return Err(BufferFault::OutOfReach {
                        low: ends.0,
                        high: ends.1,
                        is_limit: upwards == (furthest > from),
                    });
                }
                high = inside;
                break;
            }
        }
        // A solute that nothing limits would be poured in for ever.
        if high > 1e12 {
            let ends = (decimal(from.min(furthest), 4), decimal(from.max(furthest), 4));
            return Err(BufferFault::OutOfReach { low: ends.0, high: ends.1, is_limit: false });
        }
    }
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if ph_with(middle).is_some_and(|balanced| !passed(balanced.ph)) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(f64::midpoint(low, high))
}

fn constants(table: &IonTable) -> Constants {
    let constants = &table.constants;
    Constants { a: float(constants.davies_a), salt: float(constants.davies_salt), pkw: float(constants.pkw) }
}

fn float(value: Decimal) -> f64 {
    value.to_f64().unwrap_or_default()
}

/// A result of the chemistry with so many significant digits.
fn decimal(value: f64, digits: u32) -> Decimal {
    Decimal::from_f64_retain(value).and_then(|value| value.round_sf(digits)).unwrap_or_default().normalize()
}
