//! How fast something changes, by a slope that single bad readings do not move: the median of the slopes between all pairs of points with different x
//! (Theil 1950; Sen, Journal of the American Statistical Association 63 (1968) 1379–1389).
//!
//! The interval of the slope is Sen's: the sorted slopes at the ranks (N ∓ z σ) ÷ 2, where N is their number and σ² = 1/18 [n (n − 1) (2 n + 5) − Σ t (t − 1) (2 t + 5)],
//! summed over groups of t equal x and of t equal y (equation 2.6 there; from memory, and as a statistics library has it). At 95 % z is 1.95996.

use crate::quantity::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::cmp::Ordering;

/// The source that figures name.
pub(crate) const SLOPE_SOURCE: &str = "median of all pairwise slopes with its 95 % interval (Theil 1950; Sen 1968)";

/// The 97.5 % point of the normal distribution.
const Z: f64 = 1.959_963_984_540_054;

/// How much y changes over a stretch of x, kept as the two numbers so that no digit is lost before it is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slope {
    rise: Decimal,
    /// Above zero.
    run: Decimal,
}

impl Slope {
    fn between(one: (Decimal, Decimal), other: (Decimal, Decimal)) -> Option<Slope> {
        let (run, rise) = (other.0.checked_sub(one.0)?, other.1.checked_sub(one.1)?);
        Some(if run < Decimal::ZERO { Slope { rise: -rise, run: -run } } else { Slope { rise, run } })
    }

    /// The change over so much of x.
    pub fn over(self, x: Decimal) -> Decimal {
        self.rise * x / self.run
    }

    /// Whether y falls.
    pub fn falls(self) -> bool {
        self.rise < Decimal::ZERO
    }

    /// Whether y rises.
    pub fn rises(self) -> bool {
        self.rise > Decimal::ZERO
    }

    fn compare(&self, other: &Slope) -> Ordering {
        (self.rise * other.run).cmp(&(other.rise * self.run))
    }

    /// The slope half way between two.
    fn mean(self, other: Slope) -> Option<Slope> {
        let rise = self.rise.checked_mul(other.run)?.checked_add(other.rise.checked_mul(self.run)?)?;
        Some(Slope { rise, run: self.run.checked_mul(other.run)?.checked_mul(Decimal::TWO)? })
    }
}

/// A slope with its interval, and the middle that the line goes through.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RobustSlope {
    /// The median of the pairwise slopes, y for each x.
    pub slope: Slope,
    /// Its interval at 95 %.
    pub low: Slope,
    /// Its interval at 95 %.
    pub high: Slope,
    /// The medians of x and of y.
    pub middle: (Decimal, Decimal),
    /// How many points there are.
    pub points: usize,
}

impl RobustSlope {
    /// The slope of points; none when all have one x, or the numbers are beyond what a decimal can hold.
    pub fn of(points: &[(Decimal, Decimal)]) -> Option<RobustSlope> {
        let mut slopes = Vec::new();
        for (index, point) in points.iter().enumerate() {
            for other in points.iter().skip(index + 1).filter(|other| other.0 != point.0) {
                slopes.push(Slope::between(*point, *other)?);
            }
        }
        slopes.sort_by(Slope::compare);
        let count = slopes.len().to_f64()?;
        let sigma = libm::sqrt(variance(points)?);
        let rank = |place: f64| libm::rint(place / 2.0).to_i64();
        let last = i64::try_from(slopes.len()).ok()? - 1;
        let low = (rank(count - Z * sigma)? - 1).max(0);
        let high = rank(count + Z * sigma)?.min(last);
        let at = |rank: i64| slopes.get(usize::try_from(rank).ok()?).copied();
        let upper = *slopes.get(slopes.len() / 2)?;
        let middle = match slopes.len() % 2 {
            1 => upper,
            _ => slopes.get((slopes.len() / 2).checked_sub(1)?)?.mean(upper)?,
        };
        Some(RobustSlope {
            slope: middle,
            low: at(low)?,
            high: at(high)?,
            middle: (median_of(points.iter().map(|point| point.0))?, median_of(points.iter().map(|point| point.1))?),
            points: points.len(),
        })
    }

    /// The value of y at zero: median of y − slope × median of x.
    pub fn intercept(&self) -> Decimal {
        self.middle.1 - self.slope.over(self.middle.0)
    }

    /// Whether the interval leaves nothing out, so that a change is seen at all.
    pub fn is_seen(&self) -> bool {
        self.low.rises() || self.high.falls()
    }

    /// The x at which a line of this slope through the middle reaches y; none for a level one.
    pub fn reaches(&self, slope: Slope, y: Decimal) -> Option<Decimal> {
        let away = y.checked_sub(self.middle.1)?.checked_mul(slope.run)?.checked_div(slope.rise)?;
        self.middle.0.checked_add(away)
    }
}

/// σ² of Kendall's S for these points.
fn variance(points: &[(Decimal, Decimal)]) -> Option<f64> {
    let part = |count: f64| count * (count - 1.0) * (2.0 * count + 5.0);
    let ties = |mut values: Vec<Decimal>| -> Option<f64> {
        values.sort_unstable();
        let mut sum = 0.0;
        for group in values.chunk_by(|one, other| one == other) {
            sum += part(group.len().to_f64()?);
        }
        Some(sum)
    };
    let of_x = ties(points.iter().map(|point| point.0).collect())?;
    let of_y = ties(points.iter().map(|point| point.1).collect())?;
    Some(((part(points.len().to_f64()?) - of_x - of_y) / 18.0).max(0.0))
}

fn median_of(values: impl Iterator<Item = Decimal>) -> Option<Decimal> {
    let mut values: Vec<Decimal> = values.collect();
    values.sort_unstable();
    median(&values)
}

/// The median of sorted values: the middle one, or the mean of the two in the middle.
fn median(sorted: &[Decimal]) -> Option<Decimal> {
    let upper = *sorted.get(sorted.len() / 2)?;
    if sorted.len() % 2 == 1 {
        return Some(upper);
    }
    let lower = *sorted.get((sorted.len() / 2).checked_sub(1)?)?;
    Some(lower.checked_add(upper)? / Decimal::TWO)
}
