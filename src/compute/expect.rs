//! Whether figures are what was expected of them.
//!
//! A figure that is a range has to lie in what is allowed as a whole, since the claim has to hold for every lot, unless only its typical value is asked for.

use super::figure::{Figure, Value};
use crate::block::{ExpectLine, Within};
use crate::quantity::{Decimal, Exact, LiteralFault, Misfit, UnitValue};

/// Expectations that hold.
#[derive(Clone, Debug, Default)]
pub struct Expect {
    /// Each with the figure found.
    pub rows: Vec<HeldRow>,
}

/// An expectation that holds.
#[derive(Clone, Debug)]
pub struct HeldRow {
    /// The address as written.
    pub address: String,
    /// The figure found.
    pub figure: Figure,
    /// What was expected, as written.
    pub expected: String,
    /// Whether it is only the typical value that was compared.
    pub is_typical: bool,
    /// The distance allowed, where one is written.
    pub within: Option<UnitValue>,
}

/// Why an expectation does not hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Miss {
    /// Too far off.
    Off(Box<Off>),
    /// Other words, and what is found.
    Words(String),
    /// Words were found where a quantity is expected.
    FoundWords(String),
    /// Something else is measured; what was found.
    Misfit(Misfit),
    /// What is expected is no quantity, while the figure is one.
    NoQuantity(LiteralFault),
    /// The figure has a unit that is not known here.
    UnknownUnit,
}

/// A figure that is too far off, all in the unit that was expected.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Off {
    /// What was found, in that unit.
    pub found: UnitValue,
    /// What was expected.
    pub expected: UnitValue,
    /// Lowest and highest allowed.
    pub allowed: (Exact, Exact),
    /// How far the figure lies from what was expected; from the nearer end of a range.
    pub by: Exact,
    /// Whether it is too low.
    pub is_below: bool,
    /// The decimals that were written.
    pub written: u32,
}

impl Expect {
    /// The row of an expectation that holds.
    ///
    /// # Errors
    /// Why it does not.
    pub fn judge(line: &ExpectLine, figure: Figure) -> Result<HeldRow, Miss> {
        let expected = &line.expected;
        let row = |figure: Figure| HeldRow {
            address: line.address.written.clone(),
            figure,
            expected: expected.text.value.clone(),
            is_typical: expected.is_typical,
            within: match &expected.within {
                Within::Digits => None,
                Within::Amount(within) | Within::Share(within) => Some(within.clone()),
            },
        };
        if let Value::Text(words) = &figure.value {
            // Whoever expects a number of words has another figure in mind; the sentence then says so.
            return match (simple(words) == simple(&expected.text.value), &expected.quantity) {
                (true, _) => Ok(row(figure)),
                (false, Ok(_)) => Err(Miss::FoundWords(words.clone())),
                (false, Err(_)) => Err(Miss::Words(words.clone())),
            };
        }
        let wanted = expected.quantity.clone().map_err(Miss::NoQuantity)?;
        let found = figure.value.unit_value().ok_or(Miss::UnknownUnit)?;
        let found = if expected.is_typical { found.planned() } else { found };
        let wanted = wanted.read_like(&found);
        if wanted.is_reading() != found.is_reading() {
            return Err(Miss::Misfit(Misfit::Readings));
        }
        wanted.fits(&found).map_err(Miss::Misfit)?;
        let [low, _, high] = found.ends_in(&wanted).ok_or(Miss::UnknownUnit)?;
        let (least, most) = allowed(&wanted, &expected.within)?;
        if least <= low && high <= most {
            return Ok(row(figure));
        }
        // The farther end of the figure against the end of what is expected that it passes.
        let [first, _, last] = wanted.ends();
        let below = first.minus(&low).unwrap_or_else(Exact::zero);
        let above = high.minus(&last).unwrap_or_else(Exact::zero);
        let is_below = below > above;
        let by = if is_below { below } else { above };
        let written = wanted.decimals();
        let found = found.to(wanted.units()).map_err(Miss::Misfit)?;
        Err(Miss::Off(Box::new(Off { found, expected: wanted, allowed: (least, most), by, is_below, written })))
    }
}

/// Lowest and highest allowed, in the unit expected.
fn allowed(wanted: &UnitValue, within: &Within) -> Result<(Exact, Exact), Miss> {
    let [low, typical, high] = wanted.ends();
    let margin = match within {
        Within::Digits if wanted.is_exact() => {
            // Half a unit of the last digit that is written.
            Exact::from_decimal(Decimal::new(5, wanted.decimals() + 1))
        }
        Within::Digits => Exact::zero(),
        Within::Share(share) => {
            let [part, ..] = share
                .ends_in(&UnitValue::exactly(Decimal::ZERO, crate::quantity::Units::of("%")))
                .ok_or(Miss::UnknownUnit)?;
            let hundredth = part.over(&Exact::from_parts(100, 0)).unwrap_or_else(Exact::zero);
            typical.size().times(&hundredth).unwrap_or_else(Exact::zero)
        }
        Within::Amount(amount) => wanted.distance(amount).map_err(Miss::Misfit)?,
    };
    let least = low.minus(&margin).unwrap_or_else(|| low.clone());
    let most = high.plus(&margin).unwrap_or_else(|| high.clone());
    Ok((least, most))
}

/// One kind of space and dash: what a reader would not see as another text.
fn simple(text: &str) -> String {
    text.replace(['\u{a0}', '\u{202f}', '\u{2009}'], " ").split_whitespace().collect::<Vec<_>>().join(" ")
}
