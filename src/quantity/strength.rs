//! How strong a solution is, and the bases that a strength may be stated on.
//!
//! The same number means different things by weight and by volume, so a strength without its basis is none.

use super::{Decimal, NumberFault, read_decimal, show, split_number};
use serde::Serialize;

/// What a strength counts, and in how much of what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Base {
    /// Grams in a gram.
    WeightInWeight,
    /// Grams in a millilitre.
    WeightInVolume,
    /// Millilitres in a millilitre.
    VolumeInVolume,
    /// Moles (or equivalents) in a litre.
    AmountInVolume,
}

impl Base {
    /// Its sign in the trade.
    pub fn sign(self) -> &'static str {
        match self {
            Base::WeightInWeight => "w/w",
            Base::WeightInVolume => "w/v",
            Base::VolumeInVolume => "v/v",
            Base::AmountInVolume => "mol/l",
        }
    }

    /// Whether it is stated in a weight of solution, not in a volume.
    pub fn is_by_weight(self) -> bool {
        self == Base::WeightInWeight
    }
}

/// The unit that a strength is written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StrengthUnit {
    /// Per cent.
    Percent,
    /// Grams in a litre.
    GramsPerLitre,
    /// Moles in a litre.
    MolesPerLitre,
}

/// A strength on its basis. **Unit** of the number: g/g, g/ml, ml/ml or mol/l. Range: from nothing to the pure substance, which is 1 by
/// weight in weight and by volume in volume, and at most 3 g/ml, the density of the heaviest liquid that is bottled.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Strength {
    /// How much is in one gram or millilitre; in one litre for moles.
    pub value: Decimal,
    /// On which basis.
    pub base: Base,
    /// The unit to print it in.
    pub unit: StrengthUnit,
    /// A ratio as it was written, `1:2000`.
    pub ratio: Option<String>,
}

/// Why a text is not a strength.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StrengthFault {
    /// A number without its basis.
    NoBase,
    /// The number is none.
    Number(NumberFault),
    /// More than the pure substance.
    TooStrong,
    /// None of the forms.
    Form,
}

impl Strength {
    /// Reads `96 % v/v`, `4 % w/v`, `5 g/l`, `5 g per l`, `0.5 mol/l`, `1:2000 w/w`, `1 in 500 w/v` and `1 + 9 v/v`.
    ///
    /// A ratio states the part and the whole, as in pharmacy: 1:10 is one part in ten parts of the finished solution, one and nine. `1 + 9` is
    /// the same with the parts that go together.
    ///
    /// ```
    /// use tarebook::quantity::Strength;
    /// assert_eq!(Strength::read("1 in 4 w/v").unwrap().value.to_string(), "0.25");
    /// ```
    ///
    /// # Errors
    /// A number without its basis, a text that is no strength, more than the pure substance.
    pub fn read(text: &str) -> Result<Strength, StrengthFault> {
        let text = text.trim();
        let (number_text, rest) = split_number(text);
        let number = read_decimal(number_text).map_err(StrengthFault::Number)?;
        if number < Decimal::ZERO {
            return Err(StrengthFault::Form);
        }
        let words = rest.split_whitespace().collect::<Vec<_>>().join(" ");
        let (value, base, unit, ratio) = match words.as_str() {
            "g/l" | "g/L" | "g per l" | "g per L" | "mg/ml" | "mg/mL" => {
                (number / Decimal::ONE_THOUSAND, Base::WeightInVolume, StrengthUnit::GramsPerLitre, None)
            }
            "mol/l" | "mol/L" | "mol per l" => (number, Base::AmountInVolume, StrengthUnit::MolesPerLitre, None),
            _ => match words.strip_prefix('%') {
                Some(base) => (number / Decimal::ONE_HUNDRED, read_base(base.trim())?, StrengthUnit::Percent, None),
                None => {
                    let (whole, base, typed) = read_whole(number, &words)?;
                    let value = number.checked_div(whole).ok_or(StrengthFault::Form)?;
                    (value, base, StrengthUnit::Percent, Some(format!("{number_text}{typed}")))
                }
            },
        };
        let most = match base {
            Base::WeightInWeight | Base::VolumeInVolume => Decimal::ONE,
            Base::WeightInVolume => Decimal::new(3, 0),
            // Pure water holds 55.5 mol in a litre, and no solution that is made here more of anything.
            Base::AmountInVolume => Decimal::new(56, 0),
        };
        if value > most {
            return Err(StrengthFault::TooStrong);
        }
        Ok(Strength { value, base, unit, ratio })
    }

    /// The number in its own unit.
    pub fn number(&self) -> Decimal {
        match self.unit {
            StrengthUnit::Percent => self.value * Decimal::ONE_HUNDRED,
            StrengthUnit::GramsPerLitre => self.value * Decimal::ONE_THOUSAND,
            StrengthUnit::MolesPerLitre => self.value,
        }
    }

    /// The decimals to print: those it has when they are at most two, else four significant digits, since no stock is stated more closely.
    pub fn decimals(&self) -> u32 {
        let number = self.number().normalize();
        if number.scale() <= 2 { number.scale() } else { show::decimals_for(number, 4) }
    }

    /// As it is printed, with its basis: "70 % v/v".
    pub fn text(&self) -> String {
        show::quantity_to(self.number(), self.decimals(), self.unit_text())
    }

    /// The unit with its basis, "% v/v".
    pub fn unit_text(&self) -> &'static str {
        match (self.unit, self.base) {
            (StrengthUnit::MolesPerLitre, _) | (_, Base::AmountInVolume) => "mol/l",
            (StrengthUnit::GramsPerLitre, _) => "g/l",
            (StrengthUnit::Percent, Base::WeightInWeight) => "% w/w",
            (StrengthUnit::Percent, Base::WeightInVolume) => "% w/v",
            (StrengthUnit::Percent, Base::VolumeInVolume) => "% v/v",
        }
    }
}

/// What stands behind the number of a ratio: the whole, the basis, and the ratio as typed.
fn read_whole(part: Decimal, words: &str) -> Result<(Decimal, Base, String), StrengthFault> {
    let (body, base) = match words.rsplit_once(' ') {
        Some((body, base)) if read_base(base).is_ok() => (body, Some(base)),
        _ => (words, None),
    };
    let number = |text: &str| read_decimal(text.trim()).map_err(StrengthFault::Number);
    let (whole, typed) = if let Some(whole) = body.strip_prefix(':') {
        (number(whole)?, format!(":{}", whole.trim()))
    } else if let Some(whole) = body.strip_prefix("in ") {
        (number(whole)?, format!(" in {}", whole.trim()))
    } else if let Some(rest) = body.strip_prefix('+') {
        (part + number(rest)?, format!(" + {}", rest.trim()))
    } else if body.is_empty() || matches!(body, "percent" | "per cent") {
        return Err(StrengthFault::NoBase);
    } else {
        return Err(StrengthFault::Form);
    };
    Ok((whole, read_base(base.unwrap_or_default())?, typed))
}

fn read_base(text: &str) -> Result<Base, StrengthFault> {
    match text {
        "w/w" | "m/m" => Ok(Base::WeightInWeight),
        "w/v" | "m/v" => Ok(Base::WeightInVolume),
        "v/v" => Ok(Base::VolumeInVolume),
        "" => Err(StrengthFault::NoBase),
        _ => Err(StrengthFault::Form),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::str::FromStr;

    #[track_caller]
    fn check(text: &str, expected: Result<(&str, &str), StrengthFault>) {
        let found = Strength::read(text).map(|one| (one.value.normalize(), one.unit_text()));
        assert_eq!(found, expected.map(|(value, unit)| (Decimal::from_str(value).unwrap(), unit)), "{text}");
    }

    #[test]
    fn every_form_is_read() {
        check("96 % v/v", Ok(("0.96", "% v/v")));
        check("4% w/v", Ok(("0.04", "% w/v")));
        check("5 g/l", Ok(("0.005", "g/l")));
        check("5 g per l", Ok(("0.005", "g/l")));
        check("0.5 mol/l", Ok(("0.5", "mol/l")));
        check("1:2000 w/w", Ok(("0.0005", "% w/w")));
        check("1 in 500 w/v", Ok(("0.002", "% w/v")));
        check("1 + 9 v/v", Ok(("0.1", "% v/v")));
        check("1+9 v/v", Ok(("0.1", "% v/v")));
        check("0 % w/w", Ok(("0", "% w/w")));
    }

    #[test]
    fn a_number_without_its_basis_is_no_strength() {
        check("96 %", Err(StrengthFault::NoBase));
        check("70", Err(StrengthFault::NoBase));
        check("1:10", Err(StrengthFault::NoBase));
        check("1 in 10", Err(StrengthFault::NoBase));
    }

    #[test]
    fn the_rest_is_refused() {
        check("strong", Err(StrengthFault::Number(NumberFault::Missing)));
        check("1:0 w/w", Err(StrengthFault::Form));
        check("101 % v/v", Err(StrengthFault::TooStrong));
        check("3:2 w/w", Err(StrengthFault::TooStrong));
        check("140 % w/v", Ok(("1.4", "% w/v")));
        check("-3 % w/w", Err(StrengthFault::Form));
        check("5 % by volume", Err(StrengthFault::Form));
    }
}
