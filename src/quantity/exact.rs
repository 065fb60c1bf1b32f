//! Fractions of whole numbers, for arithmetic that must not lose a digit: a third times three is one.
//!
//! A decimal holds 28 digits, which is enough for weights and shares and not for pounds divided by gallons. Fractions hold any quotient, and come out as
//! decimals only when they are shown. They are bounded in size, so that no expression can make numbers that take all day.

use super::Decimal;
use num_bigint::{BigInt, Sign};
use num_rational::BigRational;
use num_traits::{One, Signed, ToPrimitive, Zero};

/// A number as an exact fraction, at most 10^18 in size.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Exact(BigRational);

/// Most bits of the numerator and of the denominator: some three hundred digits.
const MOST_BITS: u64 = 1024;

/// More than anything that is reckoned here, in grams a million million tonnes; ten to this power.
const MOST_DIGITS: u32 = 18;

/// Most decimals that a fraction is written out with.
const MOST_DECIMALS: u32 = 9;

impl Exact {
    /// Nothing.
    pub fn zero() -> Exact {
        Exact(BigRational::zero())
    }

    /// One.
    pub fn one() -> Exact {
        Exact(BigRational::one())
    }

    /// A decimal as it is.
    pub fn from_decimal(value: Decimal) -> Exact {
        Exact::from_parts(value.mantissa(), value.scale())
    }

    /// A whole number divided by so many tens.
    pub fn from_parts(mantissa: i128, scale: u32) -> Exact {
        Exact(BigRational::new(BigInt::from(mantissa), power_of_ten(scale)))
    }

    fn bounded(value: BigRational) -> Option<Exact> {
        let fits = value.numer().bits() <= MOST_BITS && value.denom().bits() <= MOST_BITS;
        let small = || value.numer().magnitude() <= (value.denom() * power_of_ten(MOST_DIGITS)).magnitude();
        (fits && small()).then_some(Exact(value))
    }

    /// The sum, unless it is too large.
    pub fn plus(&self, other: &Exact) -> Option<Exact> {
        Exact::bounded(&self.0 + &other.0)
    }

    /// The difference, unless it is too large.
    pub fn minus(&self, other: &Exact) -> Option<Exact> {
        Exact::bounded(&self.0 - &other.0)
    }

    /// The product, unless it is too large.
    pub fn times(&self, other: &Exact) -> Option<Exact> {
        Exact::bounded(&self.0 * &other.0)
    }

    /// The quotient, unless it is too large or the divisor is nothing.
    pub fn over(&self, divisor: &Exact) -> Option<Exact> {
        if divisor.is_zero() { None } else { Exact::bounded(&self.0 / &divisor.0) }
    }

    /// The same with the other sign.
    #[must_use]
    pub fn negated(&self) -> Exact {
        Exact(-&self.0)
    }

    /// Without its sign.
    #[must_use]
    pub fn size(&self) -> Exact {
        Exact(self.0.abs())
    }

    /// Whether it is nothing.
    pub fn is_zero(&self) -> bool {
        self.0.is_zero()
    }

    /// Whether it is below nothing.
    pub fn is_negative(&self) -> bool {
        self.0.is_negative()
    }

    /// Rounded to a whole number: to the nearest with halves to even, or down, or up.
    #[must_use]
    pub fn whole(&self, rounding: super::Rounding) -> Exact {
        let floor = self.0.floor();
        let rest = &self.0 - &floor;
        let half = BigRational::new(BigInt::one(), BigInt::from(2));
        let is_odd = floor.to_integer().bit(0);
        let goes_up = match rounding {
            super::Rounding::Down => false,
            super::Rounding::Up => !rest.is_zero(),
            super::Rounding::Nearest => rest > half || (rest == half && is_odd),
        };
        Exact(if goes_up { floor + BigInt::one() } else { floor })
    }

    /// As a decimal with so many places, halves to even; fewer places where a decimal could not hold them.
    pub fn rounded(&self, decimals: u32) -> Decimal {
        for places in (0..=decimals).rev() {
            let tens = Exact(&self.0 * power_of_ten(places));
            let mantissa = tens.whole(super::Rounding::Nearest).0.to_integer().to_i128();
            if let Some(value) = mantissa.and_then(|whole| Decimal::try_from_i128_with_scale(whole, places).ok()) {
                return value;
            }
        }
        if self.is_negative() { Decimal::MIN } else { Decimal::MAX }
    }

    /// The least number of decimals that write it exactly, if at most nine do.
    pub fn decimals(&self) -> Option<u32> {
        (0..=MOST_DECIMALS).find(|places| (&self.0 * power_of_ten(*places)).is_integer())
    }

    /// The decimals that show so many significant digits, at most nine; at least none.
    pub fn decimals_for(&self, digits: u32) -> u32 {
        let size = self.0.abs();
        if size.is_zero() {
            return 0;
        }
        let mut decimals = MOST_DECIMALS;
        while decimals > 0 && size >= BigRational::new(power_of_ten(digits), power_of_ten(decimals)) {
            decimals -= 1;
        }
        decimals
    }
}

/// A fraction in lowest terms, `7/3`, or a whole number.
impl std::fmt::Display for Exact {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.0)
    }
}

fn power_of_ten(power: u32) -> BigInt {
    let ten = BigInt::from_biguint(Sign::Plus, num_bigint::BigUint::from(10_u32));
    num_traits::pow(ten, power as usize)
}

#[cfg(test)]
mod tests {
    use super::super::Rounding;
    use super::*;
    use std::str::FromStr;

    fn e(text: &str) -> Exact {
        Exact::from_decimal(Decimal::from_str(text).unwrap())
    }

    #[test]
    fn a_third_times_three_is_one() {
        let third = e("1").over(&e("3")).unwrap();
        assert_eq!(third.times(&e("3")).unwrap(), e("1"));
        assert_eq!(third.rounded(4).to_string(), "0.3333");
        assert_eq!(third.decimals(), None);
        assert_eq!(e("0.125").decimals(), Some(3));
    }

    #[test]
    fn halves_go_to_the_even_neighbour() {
        assert_eq!(e("45.45").rounded(1).to_string(), "45.4");
        assert_eq!(e("-2.5").rounded(0).to_string(), "-2");
        assert_eq!(e("2.5").whole(Rounding::Nearest), e("2"));
        assert_eq!(e("2.1").whole(Rounding::Up), e("3"));
        assert_eq!(e("-2.1").whole(Rounding::Down), e("-3"));
        assert_eq!(e("3").whole(Rounding::Up), e("3"));
    }

    #[test]
    fn what_is_too_large_is_no_number() {
        let large = e("1000000000000");
        assert_eq!(large.times(&large), None);
        assert_eq!(e("1").over(&e("0")), None);
        let mut odd = e("1.0000000000001");
        let mut n_squares = 0;
        while let Some(square) = odd.times(&odd) {
            odd = square;
            n_squares += 1;
        }
        assert!(n_squares < 10);
    }

    #[test]
    fn significant_digits_are_counted() {
        assert_eq!(e("1234.5678").decimals_for(6), 2);
        assert_eq!(e("0.0012345678").decimals_for(6), 8);
        assert_eq!(e("12345678").decimals_for(6), 0);
    }
}
