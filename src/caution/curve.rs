//! Series that make no curve, and what is asked of them outside of what was measured.

use crate::block::CurveBlock;
use crate::compute::{CurveFault, LEAST_POINTS};
use crate::quantity::Decimal;
use crate::report::{Finding, Kind, Place, Severity, echo};

pub(super) const KINDS: &[&Kind] = &[TOO_FEW, TWICE, OUTSIDE, OUT_OF_ORDER, FAR_APART];

const TOO_FEW: &Kind = &Kind {
    name: "too-few-points",
    severity: Severity::Error,
    summary: "A measured series with fewer than three points.",
    why: "Through two points goes a straight line, and how the thing behaves between them is then assumed and not measured.",
    mend: "Measure at one more place at least, better at six to ten.",
};

const TWICE: &Kind = &Kind {
    name: "point-written-twice",
    severity: Severity::Error,
    summary: "A measured series with the same x in two points.",
    why: "It may be a second reading or a slip of the pen; a curve has one value at each place.",
    mend: "Write repeated readings in one point, `[0.8, 5500, 5700]`, or correct the x.",
};

pub(super) const OUTSIDE: &Kind = &Kind {
    name: "outside-the-data",
    severity: Severity::Error,
    summary: "A value asked for outside of what was measured.",
    why: "What happens beyond the last point was not measured. A salt curve turns there, and a titration runs away.",
    mend: "Measure further, or ask for a value inside the data.",
};

const OUT_OF_ORDER: &Kind = &Kind {
    name: "points-out-of-order",
    severity: Severity::Note,
    summary: "Points of a measured series that do not go up from each to the next.",
    why: "The curve takes them in the order of x. A decimal point that slipped looks the same.",
    mend: "Look at the point once more, or write the points in order.",
};

const FAR_APART: &Kind = &Kind {
    name: "readings-far-apart",
    severity: Severity::Question,
    summary: "Readings at one x of which one is several times another.",
    why: "Readings of the same thing differ by little. In a list `4,5` is two numbers, 4 and 5; a decimal has a point there.",
    mend: "Write decimals with a point, `[0.4, 1900]`, or correct the reading.",
};

/// So many times the lowest the highest of repeated readings may be before it is asked about. Common practice, no source.
const FAR: Decimal = Decimal::from_parts(3, 0, 0, false, 0);

/// The findings for a series that makes no curve.
pub fn curve_faults(faults: &[CurveFault], block: &CurveBlock, place: &Place) -> Vec<Finding> {
    let head = || Place { path: place.path.clone(), span: place.span.start..place.span.start };
    let (x, y) = (&block.x, &block.y);
    faults
        .iter()
        .map(|fault| match fault {
            CurveFault::TooFew(count) => {
                let what = match count {
                    0 => format!("There is no point; a curve has {LEAST_POINTS} at least."),
                    1 => format!("There is one point; a curve has {LEAST_POINTS} at least."),
                    count => format!("There are {count} points; a curve has {LEAST_POINTS} at least."),
                };
                Finding::new(TOO_FEW, head(), what)
            }
            CurveFault::Twice(second, first) => {
                let what = format!("The point at {} stands twice.", x.text(second.value));
                Finding::new(TWICE, second.place.clone(), what).also_at(first.place.clone(), "here first")
            }
            CurveFault::Outside(wanted, low, high) => {
                let what = format!(
                    "{} lies outside of what was measured: {} goes from {} to {}.",
                    x.text(wanted.value),
                    echo(&x.name),
                    x.text(*low),
                    x.text(*high)
                );
                Finding::new(OUTSIDE, wanted.place.clone(), what)
            }
            CurveFault::NotReached(wanted, low, high) => {
                let what = format!(
                    "{} is not reached: the measured {} goes from {} to {}.",
                    y.text(wanted.value),
                    echo(&y.name),
                    y.text(low.round_dp(6).normalize()),
                    y.text(high.round_dp(6).normalize())
                );
                Finding::new(OUTSIDE, wanted.place.clone(), what)
            }
        })
        .collect()
}

/// What is to be said about a series that makes a curve.
pub fn examine_curve(block: &CurveBlock) -> Vec<Finding> {
    let far = block.points.iter().filter_map(|point| {
        let readings = || point.readings.iter().map(|reading| reading.value);
        let (low, high) = readings().min().zip(readings().max())?;
        let is_far = if low > Decimal::ZERO { high > low * FAR } else { high > Decimal::ZERO };
        is_far.then(|| {
            let (low, high) = (block.y.text(low), block.y.text(high));
            let what = format!("The readings at {} go from {low} to {high}.", block.x.text(point.x.value));
            Finding::new(FAR_APART, point.x.place.clone(), what).source("common practice, no source")
        })
    });
    let pairs = block.points.iter().zip(block.points.iter().skip(1));
    let turned = pairs.filter(|(before, point)| point.x.value < before.x.value).map(|(before, point)| {
        let what = format!(
            "The point at {} stands behind the one at {}; the curve takes them in order.",
            block.x.text(point.x.value),
            block.x.text(before.x.value)
        );
        Finding::new(OUT_OF_ORDER, point.x.place.clone(), what)
    });
    far.chain(turned).collect()
}
