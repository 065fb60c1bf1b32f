//! Reading the numbers people type, without guessing.

use super::Decimal;
use std::str::FromStr;

/// Most significant digits a typed number may have. Two such numbers multiply exactly within the 28 digits of a decimal.
const MOST_DIGITS: usize = 14;

/// Most digits before the decimal point. In grams that is a thousand tonnes, more than anybody weighs, and low enough for the
/// products of a batch and its shares to stay within what a decimal can hold.
const MOST_WHOLE_DIGITS: usize = 9;

/// Why a text is not a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NumberFault {
    /// No number where one should be.
    Missing,
    /// A comma that may be a decimal comma or a thousands separator: `1,234`.
    AmbiguousComma,
    /// Signs between thousands: `1.234,5`.
    Thousands,
    /// More digits than can be computed with exactly.
    TooManyDigits,
    /// Larger than anything that is weighed or counted.
    TooLarge,
    /// A sign, exponent, letter or second point where none may be.
    Malformed,
}

impl NumberFault {
    /// What is wrong, as the end of a sentence that starts with the author's text.
    pub fn sentence(self) -> &'static str {
        match self {
            NumberFault::Missing => "holds no number",
            NumberFault::AmbiguousComma => "can be read in two ways, as a decimal number or as thousands",
            NumberFault::Thousands => {
                "has a sign between its thousands; nothing stands there, and one sign before the decimals"
            }
            NumberFault::TooManyDigits => "has more than 14 digits, more than can be computed exactly",
            NumberFault::TooLarge => "is larger than 999\u{202f}999\u{202f}999, more than is ever weighed or counted",
            NumberFault::Malformed => "is not a plain decimal number",
        }
    }
}

/// Reads a decimal number as typed, keeping its digits: `1.30` stays 1.30.
///
/// A decimal comma is understood where it cannot mean thousands (`2,5`, `0,25`, `12,3456`) and refused where it can
/// (`1,234`). Underscores between digits are allowed, as in TOML.
///
/// ```
/// use tarebook::quantity::{read_decimal, NumberFault};
/// assert_eq!(read_decimal("2,5").unwrap().to_string(), "2.5");
/// assert_eq!(read_decimal("1,234"), Err(NumberFault::AmbiguousComma));
/// ```
pub fn read_decimal(text: &str) -> Result<Decimal, NumberFault> {
    let text = text.trim();
    if text.is_empty() {
        return Err(NumberFault::Missing);
    }
    let mut plain = String::with_capacity(text.len());
    let (mut points, mut commas, mut digits, mut after_separator, mut before_separator) = (0, 0, 0, 0, 0);
    for (index, character) in text.char_indices() {
        match character {
            '0'..='9' => {
                digits += 1;
                if points + commas > 0 {
                    after_separator += 1;
                } else {
                    before_separator += 1;
                }
                plain.push(character);
            }
            '+' | '-' | '−' if index == 0 => {
                if character != '+' {
                    plain.push('-');
                }
            }
            '.' => {
                points += 1;
                plain.push('.');
            }
            ',' => {
                commas += 1;
                plain.push('.');
            }
            '_' if digits > 0 => {}
            _ => return Err(NumberFault::Malformed),
        }
    }
    if digits == 0 {
        return Err(NumberFault::Missing);
    }
    if points + commas > 1 {
        return Err(if commas > 0 { NumberFault::Thousands } else { NumberFault::Malformed });
    }
    // "1,234" may be one thousand two hundred and thirty-four; "0,234" cannot.
    let leading_zero = plain.trim_start_matches('-').starts_with('0');
    if commas == 1 && after_separator == 3 && before_separator <= 3 && !leading_zero {
        return Err(NumberFault::AmbiguousComma);
    }
    if before_separator == 0 || (points + commas == 1 && after_separator == 0) {
        return Err(NumberFault::Malformed);
    }
    if digits > MOST_DIGITS {
        return Err(NumberFault::TooManyDigits);
    }
    if before_separator > MOST_WHOLE_DIGITS {
        return Err(NumberFault::TooLarge);
    }
    Decimal::from_str(&plain).map_err(|_| NumberFault::Malformed)
}

/// Splits `12.5 g` into the number's text and the unit's text, both trimmed (no-break spaces count as spaces).
pub fn split_number(text: &str) -> (&str, &str) {
    let text = text.trim();
    let end = text
        .char_indices()
        .find(|(index, character)| {
            !(character.is_ascii_digit()
                || matches!(character, '.' | ',' | '_')
                || (*index == 0 && matches!(character, '+' | '-' | '−')))
        })
        .map_or(text.len(), |(index, _)| index);
    let (number, unit) = text.split_at(end);
    (number.trim(), unit.trim())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: Result<&str, NumberFault>) {
        assert_eq!(read_decimal(text).map(|number| number.to_string()), expected.map(str::to_owned), "{text}");
    }

    #[test]
    fn digits_are_kept() {
        check("1.30", Ok("1.30"));
        check("003", Ok("3"));
        check("1_000", Ok("1000"));
        check("-2", Ok("-2"));
    }

    #[test]
    fn commas_are_understood_or_refused() {
        check("2,5", Ok("2.5"));
        check("0,125", Ok("0.125"));
        check("1234,567", Ok("1234.567"));
        check("1,234", Err(NumberFault::AmbiguousComma));
        check("1,234.5", Err(NumberFault::Thousands));
        check("1.234,5", Err(NumberFault::Thousands));
    }

    #[test]
    fn the_rest_is_refused() {
        check("", Err(NumberFault::Missing));
        check("3e5", Err(NumberFault::Malformed));
        check(".5", Err(NumberFault::Malformed));
        check("5.", Err(NumberFault::Malformed));
        check("1.2.3", Err(NumberFault::Malformed));
        check("123456789012345", Err(NumberFault::TooManyDigits));
        check("1234567890", Err(NumberFault::TooLarge));
        check("123456789.01234", Ok("123456789.01234"));
    }

    #[test]
    fn numbers_part_from_their_units() {
        assert_eq!(split_number("12.5 g"), ("12.5", "g"));
        assert_eq!(split_number("250\u{a0}ml"), ("250", "ml"));
        assert_eq!(split_number("500g"), ("500", "g"));
    }
}
