//! Quantities as they are typed: a number or a range with its unit.

use super::{Decimal, NumberFault, UnitFault, UnitValue, Units, read_decimal};

/// Why a text is no quantity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LiteralFault {
    /// Its number.
    Number(NumberFault),
    /// Its unit.
    Unit(UnitFault),
    /// A range whose first end is above its last.
    Backwards,
    /// The whole of it.
    Form,
}

/// The number that a text starts with, unsigned, and how many bytes it takes; none when it starts with none. A comma counts only between digits, and
/// two points are the middle of a range.
pub fn scan_number(text: &str) -> Option<(Result<Decimal, NumberFault>, usize)> {
    let bytes = text.as_bytes();
    let digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
    let mut end = 0;
    while let Some(byte) = bytes.get(end) {
        let joins = match byte {
            b'0'..=b'9' => true,
            b'.' | b',' | b'_' => digit(end + 1) && (end > 0 || *byte == b'.'),
            _ => false,
        };
        if !joins {
            break;
        }
        end += 1;
    }
    let number = text.get(..end)?;
    (end > 0).then(|| (read_decimal(number), end))
}

/// Reads a text that is nothing but a number or a range with its unit: `12.5 g`, `10..12 %`, `pH 4.8..5.2`, `€3.80/kg`.
///
/// # Errors
/// What is wrong with it.
pub fn read_literal(text: &str) -> Result<UnitValue, LiteralFault> {
    let text = text.trim();
    let rest = text.strip_prefix("pH").map_or(text, str::trim_start);
    let (low, units, rest) = read_end(rest)?;
    let rest = rest.trim_start();
    let Some(rest) = rest.strip_prefix("..").or_else(|| rest.strip_prefix('–')) else {
        return if rest.is_empty() { Ok(UnitValue::exactly(low, units)) } else { Err(LiteralFault::Form) };
    };
    let (high, high_units, rest) = read_end(rest.trim_start())?;
    if !rest.trim().is_empty() || !(units.is_none() || units == high_units) {
        return Err(LiteralFault::Form);
    }
    if low > high {
        return Err(LiteralFault::Backwards);
    }
    Ok(UnitValue::between(low, middle(low, high), high, high_units))
}

/// The middle of a range, to plan with where nothing else is said.
pub(crate) fn middle(low: Decimal, high: Decimal) -> Decimal {
    (low + high) / Decimal::TWO
}

fn read_end(text: &str) -> Result<(Decimal, Units, &str), LiteralFault> {
    let (is_negative, rest) = match text.strip_prefix(['-', '−']) {
        Some(rest) => (true, rest.trim_start()),
        None => (false, text),
    };
    let (before, rest) = match Units::scan(rest).map_err(LiteralFault::Unit)? {
        Some((units, length)) if units.is_money() => (Some(units), rest.get(length..).unwrap_or_default().trim_start()),
        _ => (None, rest),
    };
    let Some((number, length)) = scan_number(rest) else {
        return Err(LiteralFault::Number(NumberFault::Missing));
    };
    let number = number.map_err(LiteralFault::Number)?;
    let number = if is_negative { -number } else { number };
    let after = rest.get(length..).unwrap_or_default();
    if let Some(money) = before {
        let (units, length) = Units::scan_under(money, after).map_err(LiteralFault::Unit)?;
        return Ok((number, units, after.get(length..).unwrap_or_default()));
    }
    let spaced = after.trim_start();
    if spaced.is_empty() || spaced.starts_with("..") || spaced.starts_with('–') {
        return Ok((number, Units::none(), spaced));
    }
    match Units::scan(spaced).map_err(LiteralFault::Unit)? {
        Some((units, length)) => Ok((number, units, spaced.get(length..).unwrap_or_default())),
        None => Err(LiteralFault::Unit(super::unit::unknown(spaced))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn v(text: &str) -> UnitValue {
        read_literal(text).unwrap()
    }

    #[test]
    fn literals_keep_their_digits() {
        for text in ["1.30 g", "12.50 €/kg", "10..12 %", "-5 °C", "0.123456789 g", "25", "96 % v/v"] {
            assert_eq!(v(text).typed(), text);
        }
        assert_eq!(v("€3.80 per kg").typed(), "3.80 €/kg");
        assert_eq!(v("pH 4.8..5.2").typed(), "4.8..5.2");
        assert_eq!(v("10 % .. 12 %").typed(), "10..12 %");
        assert_eq!(read_literal("5..4 g"), Err(LiteralFault::Backwards));
        assert_eq!(read_literal("1,234 g"), Err(LiteralFault::Number(NumberFault::AmbiguousComma)));
        assert!(matches!(read_literal("3 oz"), Err(LiteralFault::Unit(_))));
    }
}
