//! Rounding, by stated rules only.
//!
//! Halves go to the even neighbour, the rule that ASTM E29 (Standard Practice for Using Significant Digits) and IEEE 754 call
//! "round half to even". Splitting a whole into rounded parts uses the largest remainder, so the parts add up to the whole.

use super::Decimal;
use rust_decimal::RoundingStrategy::MidpointNearestEven;

/// A number rounded to so many decimal places, halves to even.
pub fn round_half_even(value: Decimal, decimals: u32) -> Decimal {
    value.round_dp_with_strategy(decimals, MidpointNearestEven)
}

/// A number rounded to the nearest multiple of `step` (a balance's readability), halves to the even multiple. The result is
/// written with the decimals of the step, so 60 at a step of 0.1 is 60.0. A step of zero leaves the number alone.
pub fn round_to_step(value: Decimal, step: Decimal) -> Decimal {
    match value.checked_div(step) {
        Some(multiples) => with_scale(round_half_even(multiples, 0) * step, step.scale()),
        None => value,
    }
}

/// Rounds parts to multiples of `step` so that they add up to `whole` (itself rounded to the step). With `taker` that part
/// takes the difference; without one, or when less than nothing would be left for it, the largest remainders do, ties to the earlier
/// part. No part is negative if none was.
///
/// Every part ends within one step of its exact value, except a taker, which may differ by up to half a step per part.
pub fn apportion(parts: &[Decimal], whole: Decimal, step: Decimal, taker: Option<usize>) -> Vec<Decimal> {
    let whole = round_to_step(whole, step);
    if step <= Decimal::ZERO {
        return parts.to_vec();
    }
    if let Some(taker) = taker {
        let mut rounded: Vec<Decimal> = parts.iter().map(|part| round_to_step(*part, step)).collect();
        let others: Decimal =
            rounded.iter().enumerate().filter(|(index, _)| *index != taker).map(|(_, part)| *part).sum();
        // Many lines rounded up can take more than the whole; what is less than nothing cannot be weighed.
        if let Some(part) = rounded.get_mut(taker).filter(|_| others <= whole) {
            *part = with_scale(whole - others, step.scale());
            return rounded;
        }
    }
    let floors: Vec<Decimal> = parts.iter().map(|part| (*part / step).floor()).collect();
    let missing = (whole / step).round() - floors.iter().copied().sum::<Decimal>();
    let mut order: Vec<usize> = (0..parts.len()).collect();
    let remainder = |index: &usize| {
        let part = parts.get(*index).copied().unwrap_or_default() / step;
        part - part.floor()
    };
    order.sort_by(|left, right| remainder(right).cmp(&remainder(left)).then(left.cmp(right)));
    let mut multiples = floors;
    let mut left = missing;
    for index in order {
        if left < Decimal::ONE {
            break;
        }
        if let Some(multiple) = multiples.get_mut(index) {
            *multiple += Decimal::ONE;
            left -= Decimal::ONE;
        }
    }
    multiples.into_iter().map(|multiple| with_scale(multiple * step, step.scale())).collect()
}

fn with_scale(mut value: Decimal, scale: u32) -> Decimal {
    value.rescale(scale);
    value
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::str::FromStr;

    fn d(text: &str) -> Decimal {
        Decimal::from_str(text).unwrap()
    }

    #[track_caller]
    fn check(value: &str, step: &str, expected: &str) {
        assert_eq!(round_to_step(d(value), d(step)).to_string(), expected);
    }

    #[test]
    fn halves_go_to_the_even_multiple() {
        check("45.45", "0.1", "45.4");
        check("45.45001", "0.1", "45.5");
        check("0.15", "0.1", "0.2");
        check("2.5", "1", "2");
        check("3.5", "1", "4");
        check("12.5", "5", "10");
        check("60", "0.1", "60.0");
    }

    #[test]
    fn the_taker_takes_the_rounding() {
        let parts = [d("33.33"), d("33.33"), d("33.34")];
        let sheet = apportion(&parts, d("100"), d("0.1"), Some(0));
        assert_eq!(sheet, [d("33.4"), d("33.3"), d("33.3")]);
    }

    #[test]
    fn a_taker_never_goes_below_nothing() {
        let parts = [d("0.6"), d("0.6"), d("0.6"), d("0.2")];
        assert_eq!(apportion(&parts, d("2"), d("1"), Some(3)), [d("1"), d("1"), d("0"), d("0")]);
    }

    #[test]
    fn largest_remainders_take_it_without_a_taker() {
        let third = d("100") / d("3");
        let sheet = apportion(&[third, third, third], d("100"), d("0.1"), None);
        assert_eq!(sheet.iter().copied().sum::<Decimal>(), d("100"));
        assert_eq!(sheet, [d("33.4"), d("33.3"), d("33.3")]);
    }
}
