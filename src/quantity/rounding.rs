//! Rounding, by stated rules only.
//!
//! Halves go to the even neighbour, the rule that ASTM E29 (Standard Practice for Using Significant Digits) and IEEE 754 call
//! "round half to even". Splitting a whole into rounded parts uses the largest remainder, so the parts add up to the whole.

use super::Decimal;
use num_bigint::BigInt;
use num_traits::{Signed, ToPrimitive};
use rust_decimal::RoundingStrategy::MidpointNearestEven;
use std::cmp::Ordering;

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
    if step <= Decimal::ZERO {
        return parts.to_vec();
    }
    in_steps(parts, [Decimal::ONE, Decimal::ONE], whole, step, taker)
}

/// [`apportion`] for shares of a whole: part = amount × whole ÷ all. The parts are compared as fractions of whole numbers, so that
/// thirds of one size have remainders of one size, which no number of decimals gives them.
pub fn apportion_shares(
    amounts: &[Decimal],
    all: Decimal,
    whole: Decimal,
    step: Decimal,
    taker: Option<usize>,
) -> Vec<Decimal> {
    if step <= Decimal::ZERO || all <= Decimal::ZERO {
        return amounts.iter().map(|amount| (amount * whole).checked_div(all).unwrap_or_default()).collect();
    }
    in_steps(amounts, [whole, all], whole, step, taker)
}

/// Each amount × `factor` ÷ `divisor` in whole steps, with a common denominator.
fn in_steps(
    amounts: &[Decimal],
    [factor, divisor]: [Decimal; 2],
    whole: Decimal,
    step: Decimal,
    taker: Option<usize>,
) -> Vec<Decimal> {
    let scale = amounts.iter().map(Decimal::scale).max().unwrap_or_default();
    let denominator = digits(divisor, 0) * digits(step, 0) * tens(scale) * tens(factor.scale());
    let over = tens(divisor.scale()) * tens(step.scale());
    let parts: Vec<BigInt> = amounts.iter().map(|amount| digits(*amount, scale) * digits(factor, 0) * &over).collect();
    let whole = nearest(&(digits(whole, 0) * tens(step.scale())), &(digits(step, 0) * tens(whole.scale())));
    let as_weight = |multiple: &BigInt| {
        let mantissa = (multiple * digits(step, 0)).to_i128();
        mantissa.and_then(|whole| Decimal::try_from_i128_with_scale(whole, step.scale()).ok()).unwrap_or_default()
    };
    if let Some(taker) = taker {
        let mut rounded: Vec<BigInt> = parts.iter().map(|part| nearest(part, &denominator)).collect();
        let others: BigInt =
            rounded.iter().enumerate().filter(|(index, _)| *index != taker).map(|(_, part)| part).sum();
        // Many lines rounded up can take more than the whole; what is less than nothing cannot be weighed.
        if let Some(part) = rounded.get_mut(taker).filter(|_| others <= whole) {
            *part = whole - others;
            return rounded.iter().map(as_weight).collect();
        }
    }
    let (mut multiples, remainders): (Vec<BigInt>, Vec<BigInt>) =
        parts.iter().map(|part| divided(part, &denominator)).unzip();
    let mut left = whole - multiples.iter().sum::<BigInt>();
    let mut order: Vec<(usize, BigInt)> = remainders.into_iter().enumerate().collect();
    order.sort_by(|(left_index, left), (right_index, right)| right.cmp(left).then(left_index.cmp(right_index)));
    for (index, _) in order {
        if !left.is_positive() {
            break;
        }
        if let Some(multiple) = multiples.get_mut(index) {
            *multiple += 1;
            left -= 1;
        }
    }
    multiples.iter().map(as_weight).collect()
}

/// All digits of a number, as if it were written with so many more decimals than none, or with its own.
fn digits(value: Decimal, scale: u32) -> BigInt {
    BigInt::from(value.mantissa()) * tens(scale.saturating_sub(value.scale()))
}

fn tens(power: u32) -> BigInt {
    num_traits::pow(BigInt::from(10), power as usize)
}

/// The whole number below a fraction, and what is left over it; the denominator is above zero.
fn divided(numerator: &BigInt, denominator: &BigInt) -> (BigInt, BigInt) {
    let (whole, rest) = (numerator / denominator, numerator % denominator);
    if rest.is_negative() { (whole - 1, rest + denominator) } else { (whole, rest) }
}

/// A fraction rounded to a whole number, halves to even.
fn nearest(numerator: &BigInt, denominator: &BigInt) -> BigInt {
    let (floor, rest) = divided(numerator, denominator);
    let goes_up = match (rest * 2_u32).cmp(denominator) {
        Ordering::Less => false,
        Ordering::Equal => floor.bit(0),
        Ordering::Greater => true,
    };
    if goes_up { floor + 1 } else { floor }
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
    /// A third of a part and four thirds have the same remainder; to 28 digits the first would be larger, or the second.
    #[test]
    fn equal_remainders_of_shares_go_to_the_earlier_part() {
        let amounts = [d("4"), d("1"), d("1")];
        assert_eq!(apportion_shares(&amounts, d("6"), d("2"), d("1"), None), [d("2"), d("0"), d("0")]);
        let amounts = [d("4"), d("1"), d("25")];
        assert_eq!(apportion_shares(&amounts, d("30"), d("10"), d("1"), None), [d("2"), d("0"), d("8")]);
    }
}
