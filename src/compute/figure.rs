//! A figure: a value with how it was reached.

use crate::block::PhSpan;
use crate::quantity::{Decimal, Density, Mass, Percent, Range, UnitValue, Units, Volume};
use std::borrow::Cow;

/// A computed value that can show its working. It carries no formatting; `page/` turns it into text.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Its address, formula id first.
    pub address: String,
    /// The value.
    pub value: Value,
    /// How it was reached.
    pub working: Working,
}

/// The kinds of value that figures have.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A mass; printed with so many decimals of a gram.
    Mass {
        /// The mass.
        mass: Mass,
        /// Decimals in grams.
        decimals: u32,
    },
    /// A share, % w/w.
    Percent(Percent),
    /// A share with its range, % w/w.
    PercentRange(Range),
    /// A pH or span of pH.
    Ph(PhSpan),
    /// A volume, as typed.
    Volume {
        /// The volume.
        volume: Volume,
        /// As typed.
        text: String,
    },
    /// A density.
    Density(Density),
    /// A plain number.
    Number(Decimal),
    /// A number with a unit that has no type of its own.
    Quantity {
        /// The number, exact.
        value: Decimal,
        /// Decimals to print.
        decimals: u32,
        /// Its unit, "% v/v" or "mol/l".
        unit: &'static str,
    },
    /// A number as it was measured or read off a curve, in the author's unit.
    Reading {
        /// The number.
        value: Decimal,
        /// From where to where it lies, when that is known.
        ends: Option<(Decimal, Decimal)>,
        /// Decimals to print.
        decimals: u32,
        /// The unit, or empty.
        unit: String,
    },
    /// A number with its range, and its unit where it has one.
    QuantityRange {
        /// The number and its ends.
        range: Range,
        /// Decimals to print.
        decimals: u32,
        /// Its unit, or empty.
        unit: Cow<'static, str>,
    },
    /// A result of workings, in any unit.
    Worked(UnitValue),
    /// Words.
    Text(String),
}

impl Value {
    /// The value as a number to reckon with; nothing for words, or for a unit that is not known to `quantity`.
    pub fn unit_value(&self) -> Option<UnitValue> {
        let ranged = |range: &Range, unit: &str| -> Option<UnitValue> {
            let units = if unit.is_empty() { Units::none() } else { Units::read(unit).ok()? };
            let value = UnitValue::between(range.low, range.typical, range.high, units);
            // A quotient has as many digits as a decimal can hold; none of them were written.
            let decimals = if value.decimals() <= 6 { value.decimals() } else { 0 };
            Some(value.with_decimals(decimals))
        };
        let one = |number: Decimal, unit: &str| ranged(&Range::exactly(number), unit);
        match self {
            Value::Mass { mass, decimals } => Some(one(mass.grams(), "g")?.with_decimals(*decimals)),
            Value::Percent(percent) => one(percent.value(), "%"),
            Value::PercentRange(range) => ranged(range, "%"),
            Value::Ph(ph) => {
                let (low, high) = (ph.low.value(), ph.high.value());
                ranged(&Range::new(low, high, None), "")
            }
            Value::Volume { volume, .. } => one(volume.millilitres(), "ml"),
            Value::Density(density) => one(density.grams_per_millilitre(), "g/ml"),
            Value::Number(number) => one(*number, ""),
            Value::Quantity { value, unit, decimals } => Some(one(*value, unit)?.with_decimals(*decimals)),
            Value::QuantityRange { range, unit, decimals } => Some(ranged(range, unit)?.with_decimals(*decimals)),
            Value::Reading { value, ends, unit, decimals } => {
                let range = ends.map_or(Range::exactly(*value), |(low, high)| Range::new(low, high, Some(*value)));
                Some(ranged(&range, unit)?.with_decimals(*decimals))
            }
            Value::Worked(value) => Some(value.clone()),
            Value::Text(_) => None,
        }
    }
}

/// How a figure was reached: words and values in reading order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Working {
    /// The working.
    pub pieces: Vec<Piece>,
    /// The source of what was put in, where it is not the formula itself.
    pub source: Option<String>,
}

/// A piece of a working.
#[derive(Clone, Debug, PartialEq)]
pub enum Piece {
    /// Words.
    Text(Cow<'static, str>),
    /// A value put in.
    Value(Value),
}

impl Working {
    /// An empty working, for figures that were typed.
    pub fn new() -> Working {
        Working::default()
    }

    /// Goes on with words.
    #[must_use]
    pub fn text(mut self, text: impl Into<Cow<'static, str>>) -> Working {
        self.pieces.push(Piece::Text(text.into()));
        self
    }

    /// Goes on with a value.
    #[must_use]
    pub fn value(mut self, value: Value) -> Working {
        self.pieces.push(Piece::Value(value));
        self
    }

    /// Names the source.
    #[must_use]
    pub fn source(mut self, source: impl Into<String>) -> Working {
        self.source = Some(source.into());
        self
    }
}
