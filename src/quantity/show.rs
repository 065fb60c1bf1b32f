//! Numbers as text, the same in messages, on pages and in the terminal. Units follow the SI brochure: a no-break space
//! between number and unit, an en dash in ranges.

use super::{Decimal, Mass, MassUnit, Range, round_half_even};

/// The space between a number and its unit.
pub const NBSP: char = '\u{a0}';

/// A decimal without superfluous zeros: 1.50 is "1.5".
pub fn plain(value: Decimal) -> String {
    value.normalize().to_string()
}

/// A percentage. An exact one keeps the digits it was typed with (1.30 stays 1.30); a longer one is rounded, halves to
/// even, to two decimals, or three when below 0.1; one above zero that would print as zero is "under 0.001 %".
pub fn percent(value: Decimal) -> String {
    let mut text = percent_number(value);
    text.push(NBSP);
    text.push('%');
    text
}

/// The number of [`percent`] without its sign.
pub fn percent_number(value: Decimal) -> String {
    if value.scale() <= 3 {
        return value.to_string();
    }
    let trimmed = value.normalize();
    if trimmed.scale() <= 3 {
        return trimmed.to_string();
    }
    let decimals = if value.abs() < Decimal::new(1, 1) { 3 } else { 2 };
    let rounded = round_half_even(value, decimals);
    if rounded.is_zero() { "under\u{a0}0.001".to_owned() } else { rounded.to_string() }
}

/// A percentage rounded to so many decimals.
pub fn percent_to(value: Decimal, decimals: u32) -> String {
    quantity_to(value, decimals, "%")
}

/// A percentage beside a bound that it misses: with as many decimals as it takes to see that they differ.
pub fn percent_beyond(value: Decimal, bound: Decimal) -> String {
    let plain = percent(value);
    if plain != percent(bound)
        && plain != percent(bound.normalize())
        && round_half_even(value, value.scale().min(2)) != bound
    {
        return plain;
    }
    let decimals = (2..=12).find(|decimals| round_half_even(value, *decimals) != bound).unwrap_or(12);
    percent_to(value, decimals)
}

/// A range of percentages, "7.4–7.6 %", or one number when the ends print alike.
pub fn percent_range(range: Range, decimals: u32) -> String {
    let (low, high) = (percent_to(range.low, decimals), percent_to(range.high, decimals));
    if low == high {
        return low;
    }
    format!("{}–{high}", low.trim_end_matches('%').trim_end_matches(NBSP))
}

/// A difference with its sign, "+0.5" or "−0.5"; nothing at all is "0". Rounded to so many decimals, or, without a wish, shown with its own digits
/// as far as three. What is not nothing never prints as zero.
pub fn signed(difference: Decimal, decimals: Option<u32>) -> String {
    let sign = match difference.cmp(&Decimal::ZERO) {
        std::cmp::Ordering::Less => "\u{2212}",
        std::cmp::Ordering::Equal => "",
        std::cmp::Ordering::Greater => "+",
    };
    let size = match decimals {
        Some(decimals) => quantity_to(difference.abs(), decimals, ""),
        None => percent_number(difference.abs().normalize()),
    };
    // The sign stands at the number: under +0.01, above −0.01.
    match (size.strip_prefix("under"), difference.is_sign_negative()) {
        (Some(number), true) => format!("above{NBSP}{sign}{}", number.trim_start()),
        (Some(number), false) => format!("under{NBSP}{sign}{}", number.trim_start()),
        (None, _) => format!("{sign}{size}"),
    }
}

/// A mass in grams with the digits it has.
pub fn grams(mass: Mass) -> String {
    format!("{}{NBSP}g", mass.grams())
}

/// A mass in a unit, with so many decimals.
pub fn mass_in(mass: Mass, unit: MassUnit, decimals: u32) -> String {
    quantity_to(mass.to_unit(unit), decimals, unit.symbol())
}

/// A number rounded to so many decimals, with its unit where it has one. What is not nothing never prints as zero: it is under 0.01, or above -0.01.
pub fn quantity_to(value: Decimal, decimals: u32, unit: &str) -> String {
    let mut rounded = round_half_even(value, decimals);
    let mut text = if rounded.is_zero() && !value.is_zero() {
        let word = if value.is_sign_negative() { format!("above{NBSP}-") } else { format!("under{NBSP}") };
        format!("{word}{}", Decimal::new(1, decimals))
    } else {
        rounded.rescale(decimals);
        rounded.to_string()
    };
    if !unit.is_empty() {
        text.push(NBSP);
        text.push_str(unit);
    }
    text
}

/// A reading with its unit, and behind it from where to where it lies: "0.93 % (0.91–0.95 %)".
pub fn reading(value: Decimal, ends: Option<(Decimal, Decimal)>, decimals: u32, unit: &str) -> String {
    let text = quantity_to(value, decimals, unit);
    match ends.map(|(low, high)| quantity_range(Range::new(low, high, None), decimals, unit)) {
        Some(span) if span != text => format!("{text} ({span})"),
        _ => text,
    }
}

/// A range of numbers with its unit, "15.2–15.7", or one number when the ends print alike.
pub fn quantity_range(range: Range, decimals: u32, unit: &str) -> String {
    let shown = |end, unit| quantity_to(end, decimals, unit).replace('-', "\u{2212}");
    let (low, high) = (shown(range.low, ""), shown(range.high, unit));
    if shown(range.low, unit) == high {
        return high;
    }
    // Beside a minus sign a dash is misread.
    let dash = if range.low < Decimal::ZERO { " to " } else { "–" };
    format!("{low}{dash}{high}")
}

/// The decimals at which a number shows so many significant digits, fewer where those at the end are zeros; at most nine.
pub fn decimals_for(value: Decimal, digits: u32) -> u32 {
    round_half_even(value, decimals_of(value, digits)).normalize().scale()
}

/// The decimals at which a number shows so many significant digits, with the zeros at the end; at most nine.
pub fn decimals_of(value: Decimal, digits: u32) -> u32 {
    let size = value.abs();
    if size.is_zero() {
        return 0;
    }
    let (mut decimals, mut bound) = (digits, Decimal::ONE);
    while decimals > 0 && size >= bound {
        decimals -= 1;
        bound *= Decimal::TEN;
    }
    let mut bound = Decimal::new(1, 1);
    while decimals < 9 && decimals >= digits && size < bound {
        decimals += 1;
        bound *= Decimal::new(1, 1);
    }
    decimals
}

/// A temperature in °C.
pub fn celsius(temperature: super::Temperature) -> String {
    format!("{}{NBSP}°C", plain(round_half_even(temperature.celsius(), 1)))
}

/// Two ends as "4.8–5.2", or one number when they are equal.
pub fn ends(low: Decimal, high: Decimal) -> String {
    if low == high { low.to_string() } else { format!("{low}–{high}") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::str::FromStr;

    #[track_caller]
    fn check(value: &str, expected: &str) {
        assert_eq!(percent(Decimal::from_str(value).unwrap()).replace(NBSP, " "), expected);
    }

    #[test]
    fn percent_keeps_the_digits_typed() {
        check("1.30", "1.30 %");
        check("0.125", "0.125 %");
    }

    #[test]
    fn long_percentages_are_rounded_and_never_to_nothing() {
        check("8.844444", "8.84 %");
        check("0.012345", "0.012 %");
        check("0.0000123", "under 0.001 %");
        check("8.0000000", "8 %");
        check("0", "0 %");
    }

    #[test]
    fn significant_digits_decide_the_decimals() {
        let decimals = |value: &str, digits| decimals_for(Decimal::from_str(value).unwrap(), digits);
        assert_eq!(decimals("8333.333", 4), 0);
        assert_eq!(decimals("729.1667", 4), 1);
        assert_eq!(decimals("36.84210", 3), 1);
        assert_eq!(decimals("0.25", 4), 2);
        assert_eq!(decimals("0.0123456", 3), 4);
        assert_eq!(decimals("20.0000", 4), 0);
        assert_eq!(decimals("0", 4), 0);
        assert_eq!(decimals("0.00000000001234", 3), 0);
    }

    #[test]
    fn a_number_beyond_a_bound_never_prints_as_the_bound() {
        let d = |text: &str| Decimal::from_str(text).unwrap();
        let shown = |value, bound| percent_beyond(d(value), d(bound)).replace(NBSP, " ");
        assert_eq!(shown("1.0001", "1.0"), "1.0001 %");
        assert_eq!(shown("0.50000004", "0.5"), "0.50000004 %");
        assert_eq!(shown("3", "0.5"), "3 %");
        assert_eq!(shown("0.508474", "0.5"), "0.51 %");
    }

    #[test]
    fn ranges_fold_when_their_ends_print_alike() {
        let range =
            |low: &str, high: &str| Range::new(Decimal::from_str(low).unwrap(), Decimal::from_str(high).unwrap(), None);
        assert_eq!(percent_range(range("7.44", "7.61"), 1).replace(NBSP, " "), "7.4–7.6 %");
        assert_eq!(percent_range(range("7.44", "7.41"), 1).replace(NBSP, " "), "7.4 %");
    }
}
