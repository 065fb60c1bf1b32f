//! Values and workings as text.

use crate::compute::{Figure, Piece, Value, Working};
use crate::quantity::{Decimal, MassUnit, round_half_even, show};
use std::borrow::Cow;

/// How a value is wanted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Wanted {
    /// In this mass unit instead of grams.
    pub unit: Option<MassUnit>,
    /// With so many decimals.
    pub digits: Option<u32>,
}

/// Decimals of a mass in a unit when none are asked for: in kilograms three more than in grams, so that nothing is lost; in
/// pounds and ounces so many that the gram digit stays.
fn decimals_in(unit: MassUnit, decimals_of_gram: u32) -> u32 {
    match unit {
        MassUnit::Milligram => decimals_of_gram.saturating_sub(3),
        MassUnit::Gram => decimals_of_gram,
        MassUnit::Kilogram | MassUnit::Pound => decimals_of_gram + 3,
        MassUnit::Ounce => decimals_of_gram + 2,
    }
}

/// A value as readers see it.
pub fn value_text(value: &Value) -> String {
    value_text_as(value, Wanted::default())
}

/// A value as readers see it, in the unit and with the decimals wanted.
///
/// Without a wish: masses in grams with the digits of the balance; shares of active matter and water with one decimal, or
/// two below one per cent; other shares with the digits they were typed with.
pub(crate) fn value_text_as(value: &Value, wanted: Wanted) -> String {
    let text = plain_text(value, wanted);
    if matches!(value, Value::Text(_)) { text } else { with_minus(text) }
}

/// A minus sign where a hyphen stands before the first digit of a number (SI brochure, 9th edition, 5.4: from memory).
fn with_minus(text: String) -> String {
    let is_minus = |at: usize| {
        let (before, after) = text.split_at(at);
        !before.ends_with(char::is_alphanumeric) && after.chars().nth(1).is_some_and(|c| c.is_ascii_digit())
    };
    match text.match_indices('-').any(|(at, _)| is_minus(at)) {
        false => text,
        true => text.char_indices().map(|(at, c)| if c == '-' && is_minus(at) { '−' } else { c }).collect(),
    }
}

fn plain_text(value: &Value, wanted: Wanted) -> String {
    match value {
        Value::Mass { mass, decimals } => {
            let unit = wanted.unit.unwrap_or(MassUnit::Gram);
            show::mass_in(*mass, unit, wanted.digits.unwrap_or_else(|| decimals_in(unit, *decimals)))
        }
        Value::Percent(percent) => match wanted.digits {
            Some(digits) => show::percent_to(percent.value(), digits),
            None => show::percent(percent.value()),
        },
        Value::PercentRange(range) => match wanted.digits {
            Some(digits) => show::percent_range(*range, digits),
            None if range.is_exact() => exact_share(range.typical),
            None => show::percent_range(*range, if range.high < Decimal::ONE { 2 } else { 1 }),
        },
        Value::Ph(ph) => show::ends(ph.low.value(), ph.high.value()),
        Value::Volume { text, .. } => spaced(text),
        Value::Density(density) => format!("{}{}g/ml", density.grams_per_millilitre(), show::NBSP),
        Value::Number(number) => show::plain(*number),
        Value::Quantity { value, decimals, unit } => {
            show::quantity_to(*value, wanted.digits.unwrap_or(*decimals), unit)
        }
        Value::Reading { value, ends, decimals, unit } => {
            show::reading(*value, *ends, wanted.digits.unwrap_or(*decimals), unit)
        }
        Value::QuantityRange { range, decimals, unit } => {
            show::quantity_range(*range, wanted.digits.unwrap_or(*decimals), unit)
        }
        Value::Worked(value) => match wanted.digits {
            Some(digits) => value.text_to(digits),
            None => value.text(),
        },
        Value::Text(text) => text.clone(),
    }
}

/// A share without a range: its own digits, at most two decimals, or three below 0.1.
fn exact_share(share: Decimal) -> String {
    let share = share.normalize();
    match (share.scale(), share < Decimal::new(1, 1)) {
        (0..=2, _) | (3, true) => show::percent(share),
        (_, false) => show::percent(round_half_even(share, 2).normalize()),
        (_, true) => show::percent(share),
    }
}

/// A value in a unit and with so many decimals, where asked for.
pub fn value_text_in(value: &Value, unit: Option<MassUnit>, digits: Option<u32>) -> String {
    value_text_as(value, Wanted { unit, digits })
}

/// A typed quantity with a no-break space between number and unit.
pub(crate) fn spaced(text: &str) -> String {
    let (number, unit) = crate::quantity::split_number(text);
    if unit.is_empty() { number.to_owned() } else { format!("{number}{}{unit}", show::NBSP) }
}

/// The working as a sentence.
pub fn working_text(working: &Working) -> String {
    let mut out = String::new();
    for piece in &working.pieces {
        match piece {
            Piece::Text(text) => out.push_str(text),
            Piece::Value(value) => out.push_str(&value_text(value)),
        }
    }
    out
}

/// A figure's value as readers see it.
pub fn figure_text(figure: &Figure) -> String {
    value_text(&figure.value)
}

/// Units that stay on the line of their number.
const UNITS: [&str; 7] = ["%", "°C", "g", "kg", "mg", "ml", "l"];

/// A text with a no-break space between each number and the unit after it, where a plain space stands.
pub(crate) fn kept_together(text: &str) -> Cow<'_, str> {
    let mut out = String::new();
    let mut done = 0;
    for (at, _) in text.match_indices(' ') {
        let after = text.get(at + 1..).unwrap_or_default();
        let unit_end = after.find(|c: char| !c.is_alphanumeric() && !matches!(c, '%' | '°')).unwrap_or(after.len());
        let is_unit = after.get(..unit_end).is_some_and(|word| UNITS.contains(&word));
        if is_unit && text.get(..at).is_some_and(|before| before.ends_with(|c: char| c.is_ascii_digit())) {
            out.push_str(text.get(done..at).unwrap_or_default());
            out.push(show::NBSP);
            done = at + 1;
        }
    }
    if done == 0 {
        return Cow::Borrowed(text);
    }
    out.push_str(text.get(done..).unwrap_or_default());
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: &str) {
        assert_eq!(kept_together(text).replace(show::NBSP, "_"), expected);
    }

    #[test]
    fn a_unit_stays_with_its_number() {
        check("Citric acid solution, 50 % w/w", "Citric acid solution, 50_% w/w");
        check("at 40 °C, 1.2 kg and 5–6 ml.", "at 40_°C, 1.2_kg and 5–6_ml.");
        check("96 %", "96_%");
    }

    #[test]
    fn a_number_below_nothing_has_a_minus_sign() {
        let text = |value: &str| value_text(&Value::Percent(crate::quantity::Percent::new(value.parse().unwrap())));
        assert_eq!(text("-37.2"), "−37.2\u{a0}%");
        assert_eq!(with_minus("1 mPa-s".to_owned()), "1 mPa-s");
        assert_eq!(with_minus("-1 to -0.5 mg-2".to_owned()), "−1 to −0.5 mg-2");
    }

    #[test]
    fn other_spaces_stay() {
        check("2 grains", "2 grains");
        check("a g", "a g");
        check("2 g1", "2 g1");
        check(" ", " ");
        check("", "");
    }
}
