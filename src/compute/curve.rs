//! A measured series: its highest value, values between the points, and where a value is reached. Nothing is said outside of the points.

mod figures;

use super::figure::Figure;
use super::interpolation::{Crossing, Pchip};
use crate::block::{AxisBlock, CurveBlock, Placed};
use crate::quantity::{Decimal, show};
use rust_decimal::prelude::ToPrimitive;

/// What stands along an axis.
pub type Axis = AxisBlock;

impl Axis {
    /// A value with the unit, its digits as they are.
    pub fn text(&self, value: Decimal) -> String {
        self.rounded(value, value.scale())
    }

    /// A value with the unit, rounded to so many decimals.
    pub fn rounded(&self, value: Decimal, decimals: u32) -> String {
        show::quantity_to(value, decimals, &self.unit)
    }
}

/// A point, measured once or several times.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CurvePoint {
    /// Where.
    pub x: Decimal,
    /// What was measured there.
    pub readings: Vec<Decimal>,
    /// The mean of that.
    pub mean: Decimal,
    /// The standard deviation of repeated readings, for a sample (n − 1).
    pub deviation: Option<Decimal>,
}

impl CurvePoint {
    /// The lowest and the highest of repeated readings.
    pub fn ends(&self) -> Option<(Decimal, Decimal)> {
        self.deviation?;
        Some((*self.readings.iter().min()?, *self.readings.iter().max()?))
    }
}

/// The highest value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Peak {
    /// The value.
    pub y: Decimal,
    /// The first x where it was measured, and the last one in a row.
    pub at: (Decimal, Decimal),
    /// The measured x before and after; the true peak lies between them. None where the data end there.
    pub between: (Option<Decimal>, Option<Decimal>),
}

impl Peak {
    /// Whether the values fall on both sides of it. Otherwise the data end with the highest value.
    pub fn is_inside(&self) -> bool {
        self.between.0.is_some() && self.between.1.is_some()
    }
}

/// On which side of the peak something is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Before it.
    Before,
    /// On it.
    Peak,
    /// Behind it.
    After,
}

impl Side {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Side::Before => "before the peak",
            Side::Peak => "at the peak",
            Side::After => "after the peak",
        }
    }
}

/// Where a value is reached.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reached {
    /// Where; the middle of it, where the curve is level.
    pub x: Decimal,
    /// From where to where the curve is level at the value, or the spread of the readings leaves it open.
    pub ends: Option<(Decimal, Decimal)>,
    /// On which side of the peak, when there is a peak.
    pub side: Option<Side>,
}

/// A curve worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// What it is called.
    pub title: Option<String>,
    /// What was varied.
    pub x: Axis,
    /// What was measured.
    pub y: Axis,
    /// The points in the order of x.
    pub points: Vec<CurvePoint>,
    /// The curve through their means.
    pub pchip: Pchip,
    /// Its highest value.
    pub peak: Peak,
    /// Where y is wanted.
    pub at: Vec<Decimal>,
    /// The y whose x are wanted.
    pub targets: Vec<Decimal>,
}

/// Why there is no curve, or no value on it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum CurveFault {
    /// So few points, at different x.
    TooFew(usize),
    /// An x that stands twice, and where it stood first.
    Twice(Placed<Decimal>, Placed<Decimal>),
    /// An x outside of the points; from where to where they go.
    Outside(Placed<Decimal>, Decimal, Decimal),
    /// A y that is not reached; from where to where they go.
    NotReached(Placed<Decimal>, Decimal, Decimal),
}

/// Least points of a curve: two would be a straight line by assumption. Common practice, no source.
pub(crate) const LEAST_POINTS: usize = 3;

impl Curve {
    /// Works out a curve.
    ///
    /// # Errors
    /// Everything that stands against it.
    pub fn of(block: &CurveBlock) -> Result<Curve, Vec<CurveFault>> {
        let mut faults = Vec::new();
        let mut written: Vec<_> = block.points.iter().collect();
        // Those with the same x keep the order in which they were written.
        written.sort_by_key(|point| point.x.value);
        for (first, second) in written.iter().zip(written.iter().skip(1)) {
            if first.x.value == second.x.value {
                faults.push(CurveFault::Twice(second.x.clone(), first.x.clone()));
            }
        }
        let n_distinct = written.len() - faults.len();
        if n_distinct < LEAST_POINTS {
            faults.push(CurveFault::TooFew(n_distinct));
        }
        let points: Vec<CurvePoint> = written
            .iter()
            .map(|point| {
                let readings: Vec<Decimal> = point.readings.iter().map(|reading| reading.value).collect();
                let (mean, deviation) = mean_and_deviation(&readings);
                CurvePoint { x: point.x.value, readings, mean, deviation }
            })
            .collect();
        let ends = |of: fn(&CurvePoint) -> Decimal| points.iter().map(of).min().zip(points.iter().map(of).max());
        if faults.is_empty() {
            for (wanted, ends, fault) in [
                (&block.at, ends(|point| point.x), CurveFault::Outside as fn(_, _, _) -> CurveFault),
                (&block.target, ends(|point| point.mean), CurveFault::NotReached),
            ] {
                let Some((low, high)) = ends else { continue };
                let outside = wanted.iter().filter(|wanted| wanted.value < low || high < wanted.value);
                faults.extend(outside.map(|wanted| fault(wanted.clone(), low, high)));
            }
        }
        let on_curve: Vec<(f64, f64)> = points.iter().map(|point| (float(point.x), float(point.mean))).collect();
        match (Pchip::new(&on_curve), peak_of(&points)) {
            (Some(pchip), Some(peak)) if faults.is_empty() => Ok(Curve {
                title: block.title.clone(),
                x: block.x.clone(),
                y: block.y.clone(),
                points,
                pchip,
                peak,
                at: values(&block.at),
                targets: values(&block.target),
            }),
            // Numbers that differ beyond what a double can hold are one point on the curve.
            (None, _) if faults.is_empty() => Err(vec![CurveFault::TooFew(1)]),
            _ => Err(faults),
        }
    }

    /// The lowest and the highest x.
    pub fn range(&self) -> (Decimal, Decimal) {
        let xs = || self.points.iter().map(|point| point.x);
        (xs().min().unwrap_or_default(), xs().max().unwrap_or_default())
    }

    /// The value at an x; none outside of the points.
    pub fn value_at(&self, x: Decimal) -> Option<Decimal> {
        // A measured point is what was measured, to the last digit.
        if let Some(point) = self.points.iter().find(|point| point.x == x) {
            return Some(point.mean);
        }
        self.pchip.at(float(x)).map(decimal)
    }

    /// From where to where the readings leave the value at an x open: as far below and above the curve as the repeats on both sides spread, in
    /// proportion between them. Not known where a point beside it was measured once.
    pub fn spread_at(&self, x: Decimal) -> Option<(Decimal, Decimal)> {
        let (below, above) = self.spread(float(x))?;
        let value = self.value_at(x)?;
        Some((value - decimal(below), value + decimal(above)))
    }

    fn spread(&self, x: f64) -> Option<(f64, f64)> {
        let away = |point: &CurvePoint| {
            let (low, high) = point.ends()?;
            Some((float(point.mean - low), float(high - point.mean)))
        };
        if let Some(point) = self.points.iter().find(|point| !(float(point.x) < x || x < float(point.x))) {
            return away(point);
        }
        let (start, end) = self.points.iter().zip(self.points.iter().skip(1)).find(|(_, end)| x < float(end.x))?;
        let share = (x - float(start.x)) / (float(end.x) - float(start.x));
        let ((below, above), (then_below, then_above)) = (away(start)?, away(end)?);
        Some((below + share * (then_below - below), above + share * (then_above - above)))
    }

    /// Where a value is reached, in the order of x.
    pub fn reached(&self, y: Decimal) -> Vec<Reached> {
        self.pchip.crossings(float(y)).into_iter().map(|crossing| self.reached_at(y, crossing)).collect()
    }

    fn reached_at(&self, y: Decimal, crossing: Crossing) -> Reached {
        let x = decimal(crossing.middle());
        let level = (crossing.from < crossing.to).then(|| (decimal(crossing.from), decimal(crossing.to)));
        let side = self.peak.is_inside().then(|| {
            let (from, to) = (float(self.peak.at.0), float(self.peak.at.1));
            if crossing.to < from {
                Side::Before
            } else if to < crossing.from {
                Side::After
            } else {
                Side::Peak
            }
        });
        let ends = level.or_else(|| {
            let (low, high) = (self.last_open(y, crossing.from, -1.0)?, self.last_open(y, crossing.to, 1.0)?);
            (low < high).then(|| (decimal(low), decimal(high)))
        });
        Reached { x, ends, side }
    }

    /// How far from a place where a value is reached the spread of the readings still holds it. Walked in steps of a five-hundredth of the data, and
    /// halved at the end; none where the spread is not known all the way.
    fn last_open(&self, y: Decimal, from: f64, direction: f64) -> Option<f64> {
        let y = float(y);
        let (first, last) = self.range();
        let (first, last) = (float(first), float(last));
        let is_open = |x: f64| {
            let (below, above) = self.spread(x)?;
            let value = self.pchip.at(x)?;
            Some(value - below <= y && y <= value + above)
        };
        if !is_open(from)? {
            return Some(from);
        }
        let step = (last - first) / 500.0 * direction;
        let mut inside = from;
        loop {
            let next = (inside + step).clamp(first, last);
            if next <= inside && inside <= next {
                // The data end here, and what is open with them is not known.
                return None;
            }
            if is_open(next)? {
                inside = next;
                continue;
            }
            let (mut open, mut closed) = (inside, next);
            for _ in 0..60 {
                let middle = open + (closed - open) / 2.0;
                if is_open(middle)? { open = middle } else { closed = middle }
            }
            return Some(open);
        }
    }

    /// Decimals with which values of y are printed: those of the readings.
    pub fn y_decimals(&self) -> u32 {
        let readings = self.points.iter().flat_map(|point| &point.readings);
        readings.map(|reading| reading.normalize().scale()).max().unwrap_or_default()
    }

    /// Decimals with which values of x are printed: one more than those of the points.
    pub fn x_decimals(&self) -> u32 {
        self.points.iter().map(|point| point.x.normalize().scale()).max().unwrap_or_default() + 1
    }

    /// The figure at a path below the block's id, or why there is none.
    pub fn look_up(&self, id: &str, path: &[&str]) -> Option<Result<Figure, super::AddressFault>> {
        figures::look_up(self, id, path)
    }
}

fn values(wanted: &[Placed<Decimal>]) -> Vec<Decimal> {
    wanted.iter().map(|wanted| wanted.value).collect()
}

/// Mean, and standard deviation of a sample: √(Σ (reading − mean)² ÷ (n − 1)) (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.6; from memory). One
/// reading has no deviation that is known.
fn mean_and_deviation(readings: &[Decimal]) -> (Decimal, Option<Decimal>) {
    let n = Decimal::from(readings.len());
    let mean = readings.iter().copied().sum::<Decimal>().checked_div(n).unwrap_or_default();
    if readings.len() < 2 {
        return (readings.first().copied().unwrap_or_default(), None);
    }
    let squares: f64 = readings.iter().map(|reading| float(*reading - mean) * float(*reading - mean)).sum();
    let deviation = libm::sqrt(squares / (float(n) - 1.0));
    (mean.normalize(), Some(decimal(deviation)))
}

fn peak_of(points: &[CurvePoint]) -> Option<Peak> {
    let y = points.iter().map(|point| point.mean).max()?;
    let first = points.iter().position(|point| point.mean == y)?;
    let row = points.iter().skip(first).take_while(|point| point.mean == y).count();
    let x_of = |index: usize| points.get(index).map(|point| point.x);
    Some(Peak {
        y,
        at: (x_of(first)?, x_of(first + row - 1)?),
        between: (first.checked_sub(1).and_then(x_of), x_of(first + row)),
    })
}

pub(super) fn float(value: Decimal) -> f64 {
    value.to_f64().unwrap_or_default()
}

/// A result of the interpolation with ten significant digits.
pub(super) fn decimal(value: f64) -> Decimal {
    Decimal::from_f64_retain(value).and_then(|value| value.round_sf(10)).unwrap_or_default().normalize()
}
