//! How fast a quantity drifts in a condition, and when it would leave its window if it went on so.

use super::{Fit, Measure, Row, window_of};
use crate::block::SpecificationBlock;
use crate::compute::robust_slope::{RobustSlope, Slope};
use crate::quantity::{Date, Decimal};
use rust_decimal::prelude::ToPrimitive;

/// Least readings of a drift. With four, even four that all rise come about by chance in 2 of 24 orders (8 %), so that no interval of 95 % excludes a standstill
/// (Kendall's distribution of S); with five it is 2 of 120.
pub const LEAST_READINGS: usize = 5;

/// Least days from the first reading to the last. Common practice, no source: what settles in the first weeks is no drift.
pub const LEAST_DAYS: Decimal = Decimal::from_parts(28, 0, 0, false, 0);

/// A drift.
#[derive(Clone, Debug)]
pub struct Drift {
    /// Its slope for each day.
    pub slope: RobustSlope,
    /// The first and the last day of the readings.
    pub days: (Decimal, Decimal),
    /// Whether its interval leaves nothing out.
    pub is_seen: bool,
    /// When it leaves the window, if it goes on so and does within as many days again as it was watched.
    pub leaves: Option<Leaves>,
}

/// When a drift leaves its window.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Leaves {
    /// The end of the window that it reaches.
    pub bound: Decimal,
    /// Days after the start.
    pub day: Decimal,
    /// The date of that.
    pub date: Option<Date>,
    /// With the steepest slope of the interval.
    pub earliest: (Decimal, Option<Date>),
    /// With the flattest one; none when that is beyond what may be said.
    pub latest: Option<(Decimal, Option<Date>)>,
}

/// Why there is no drift.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoDrift {
    /// So few readings.
    TooFew(usize),
    /// Over so few days.
    TooShort(Decimal),
}

impl Drift {
    /// The last day about which the drift says anything: as far behind the last reading as that is behind the first.
    pub fn horizon(&self) -> Decimal {
        self.days.1 + (self.days.1 - self.days.0)
    }
}

/// The drifts of all that was read in a condition. Readings before the product has rested do not count.
pub(super) fn of(
    rows: &[Row],
    specification: &SpecificationBlock,
    start: Option<Date>,
) -> Vec<(Measure, Result<Drift, NoDrift>)> {
    let mut drifts = Vec::new();
    for measure in Measure::ALL {
        let read: Vec<_> =
            rows.iter().filter(|row| row.is_rested).filter_map(|row| Some((row.day, row.reading(measure)?))).collect();
        let Some((first, last)) = read.first().zip(read.last()).map(|(first, last)| (first.0, last.0)) else {
            continue;
        };
        let points: Vec<(Decimal, Decimal)> = read.iter().map(|(day, reading)| (*day, reading.value)).collect();
        let distinct = points.chunk_by(|one, other| one.0 == other.0).count();
        let drift = if distinct < LEAST_READINGS {
            Err(NoDrift::TooFew(distinct))
        } else if last - first < LEAST_DAYS {
            Err(NoDrift::TooShort(last - first))
        } else {
            let Some(slope) = RobustSlope::of(&points) else { continue };
            let is_out = read.last().is_some_and(|(_, reading)| reading.fit == Fit::Outside);
            let mut drift = Drift { slope, days: (first, last), is_seen: slope.is_seen(), leaves: None };
            if drift.is_seen && !is_out {
                drift.leaves = leaves(&drift, window_of(specification, measure), start);
            }
            Ok(drift)
        };
        drifts.push((measure, drift));
    }
    drifts
}

fn leaves(drift: &Drift, window: (Option<Decimal>, Option<Decimal>), start: Option<Date>) -> Option<Leaves> {
    let slope = &drift.slope;
    let falls = slope.slope.falls();
    let bound = if falls { window.0? } else { window.1? };
    // What the line has reached already while the last reading was not outside is reached now.
    let at = |steep: Slope| Some(slope.reaches(steep, bound)?.max(drift.days.1));
    let dated = |day: Decimal| (day, start.and_then(|start| start.plus_days(day.floor().to_i64()?)));
    let day = at(slope.slope)?;
    if day > drift.horizon() {
        return None;
    }
    let (steep, flat) = if falls { (slope.low, slope.high) } else { (slope.high, slope.low) };
    Some(Leaves {
        bound,
        day,
        date: dated(day).1,
        earliest: dated(at(steep)?),
        latest: at(flat).filter(|day| *day <= drift.horizon()).map(dated),
    })
}
