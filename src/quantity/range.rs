//! A value that is known only between two ends.

use super::Decimal;
use serde::Serialize;

/// Lowest, typical and highest value of one thing, low ≤ typical ≤ high. Interval arithmetic: the ends are carried through
/// sums and products with positive numbers, so a result's range holds whatever the inputs really were.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize)]
pub struct Range {
    /// The lowest value.
    pub low: Decimal,
    /// The value to plan with.
    pub typical: Decimal,
    /// The highest value.
    pub high: Decimal,
}

impl Range {
    /// Nothing, exactly.
    pub const ZERO: Range = Range::exactly(Decimal::ZERO);

    /// A value without uncertainty.
    pub const fn exactly(value: Decimal) -> Range {
        Range { low: value, typical: value, high: value }
    }

    /// A range; a typical value outside it widens it, and a missing one is the middle.
    pub fn new(low: Decimal, high: Decimal, typical: Option<Decimal>) -> Range {
        let (low, high) = if low <= high { (low, high) } else { (high, low) };
        let typical = typical.unwrap_or_else(|| (low + high) / Decimal::TWO);
        Range { low: low.min(typical), typical, high: high.max(typical) }
    }

    /// Whether the ends coincide.
    pub fn is_exact(self) -> bool {
        self.low == self.high
    }

    /// Each end times a number that is not negative.
    pub fn times(self, factor: Decimal) -> Range {
        Range { low: self.low * factor, typical: self.typical * factor, high: self.high * factor }
    }

    /// Each end divided by a number above zero; dividing by zero gives zero, since a share of nothing is nothing.
    pub fn divided_by(self, divisor: Decimal) -> Range {
        let divide = |end: Decimal| end.checked_div(divisor).unwrap_or_default();
        Range { low: divide(self.low), typical: divide(self.typical), high: divide(self.high) }
    }
}

impl std::ops::Add for Range {
    type Output = Range;
    fn add(self, other: Range) -> Range {
        Range { low: self.low + other.low, typical: self.typical + other.typical, high: self.high + other.high }
    }
}

impl std::iter::Sum for Range {
    fn sum<I: Iterator<Item = Range>>(ranges: I) -> Range {
        ranges.fold(Range::ZERO, |sum, range| sum + range)
    }
}
