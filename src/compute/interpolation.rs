//! A smooth curve through measured points that never swings beyond them: monotone piecewise cubic Hermite interpolation.
//!
//! Between two neighbouring points the curve only rises, only falls, or stays level, as the points do. So it invents no peak that was not
//! measured: its highest and its lowest value are measured ones. Outside of the points it says nothing.
//!
//! Fritsch and Carlson, Monotone Piecewise Cubic Interpolation, SIAM J. Numer. Anal. 17 (1980) 238; slopes by the weighted harmonic mean of Fritsch and Butland, A
//! Method for Constructing Local Monotone Piecewise Cubic Interpolants, SIAM J. Sci. Stat. Comput. 5 (1984) 300 (both cited from memory). The arithmetic is + − × ÷
//! on double precision only, so that the bits are the same everywhere.

/// Where the method stands, for workings.
pub const INTERPOLATION_SOURCE: &str =
    "monotone cubic interpolation, from memory: Fritsch and Carlson (1980), Fritsch and Butland (1984)";

/// A curve through points.
#[derive(Clone, Debug, PartialEq)]
pub struct Pchip {
    knots: Vec<Knot>,
}

/// A point of the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Knot {
    /// Where.
    pub x: f64,
    /// The measured value.
    pub y: f64,
    /// How steep the curve is there.
    pub slope: f64,
}

/// A place where the curve has a value: from one x to another where it stays level, otherwise twice the same.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// The first x.
    pub from: f64,
    /// The last x.
    pub to: f64,
}

impl Crossing {
    /// The middle of it.
    pub fn middle(self) -> f64 {
        self.from + (self.to - self.from) / 2.0
    }
}

/// The stretch between two points: how long, and how steep the straight line is.
#[derive(Clone, Copy)]
struct Stretch {
    length: f64,
    rise: f64,
}

impl Pchip {
    /// The curve through two or more points whose x go up from each to the next; none through others.
    pub fn new(points: &[(f64, f64)]) -> Option<Pchip> {
        let is_good = |pair: &[(f64, f64)]| matches!(pair, [(a, _), (b, _)] if a < b);
        if points.len() < 2 || !points.windows(2).all(is_good) || points.iter().any(|(x, y)| !(x + y).is_finite()) {
            return None;
        }
        let stretches: Vec<Stretch> = points
            .windows(2)
            .filter_map(|pair| match pair {
                [(x0, y0), (x1, y1)] => Some(Stretch { length: x1 - x0, rise: (y1 - y0) / (x1 - x0) }),
                _ => None,
            })
            .collect();
        let slopes = slopes(&stretches)?;
        let knots = points.iter().zip(slopes).map(|((x, y), slope)| Knot { x: *x, y: *y, slope }).collect();
        Some(Pchip { knots })
    }

    /// The points with the slopes there.
    pub fn knots(&self) -> &[Knot] {
        &self.knots
    }

    /// The value at an x; none outside of the points.
    pub fn at(&self, x: f64) -> Option<f64> {
        self.pieces().find(|(start, end)| start.x <= x && x <= end.x).map(|piece| value(piece, x))
    }

    /// All places where the curve has a value, in the order of x. Found by halving the piece, which is monotone.
    pub fn crossings(&self, y: f64) -> Vec<Crossing> {
        let mut crossings: Vec<Crossing> = Vec::new();
        let is_there = |knot: &Knot| !(knot.y < y || y < knot.y);
        let mut was_there = false;
        for (index, knot) in self.knots.iter().enumerate() {
            if is_there(knot) {
                match crossings.last_mut().filter(|_| was_there) {
                    Some(level) => level.to = knot.x,
                    None => crossings.push(Crossing { from: knot.x, to: knot.x }),
                }
            }
            was_there = is_there(knot);
            let Some(next) = self.knots.get(index + 1) else { break };
            if (knot.y < y && y < next.y) || (next.y < y && y < knot.y) {
                let x = solve((*knot, *next), y);
                crossings.push(Crossing { from: x, to: x });
            }
        }
        crossings
    }

    fn pieces(&self) -> impl Iterator<Item = (Knot, Knot)> + '_ {
        self.knots.iter().zip(self.knots.iter().skip(1)).map(|(start, end)| (*start, *end))
    }
}

/// The slope at each point. Inside: nothing where the straight lines on both sides turn or one is level, otherwise their harmonic mean, weighted by
/// the lengths (Fritsch and Butland, 1984). At an end: that of the parabola through three points, held to what keeps the piece monotone.
fn slopes(stretches: &[Stretch]) -> Option<Vec<f64>> {
    let (first, last) = (stretches.first()?, stretches.last()?);
    let (second, before_last) = (stretches.get(1), stretches.len().checked_sub(2).and_then(|at| stretches.get(at)));
    let (Some(second), Some(before_last)) = (second, before_last) else { return Some(vec![first.rise, first.rise]) };
    let mut slopes = vec![end_slope(*first, *second)];
    for (left, right) in stretches.iter().zip(stretches.iter().skip(1)) {
        let turns = left.rise * right.rise <= 0.0;
        let (near, far) = (2.0 * right.length + left.length, right.length + 2.0 * left.length);
        slopes.push(if turns { 0.0 } else { (near + far) / (near / left.rise + far / right.rise) });
    }
    slopes.push(end_slope(*last, *before_last));
    Some(slopes)
}

fn end_slope(near: Stretch, far: Stretch) -> f64 {
    let slope = ((2.0 * near.length + far.length) * near.rise - near.length * far.rise) / (near.length + far.length);
    if slope * near.rise <= 0.0 {
        0.0
    } else if near.rise * far.rise <= 0.0 && slope.abs() > 3.0 * near.rise.abs() {
        3.0 * near.rise
    } else {
        slope
    }
}

/// The cubic of a piece, kept between its ends, which rounding could otherwise pass by a bit.
fn value((start, end): (Knot, Knot), x: f64) -> f64 {
    if x <= start.x {
        return start.y;
    }
    if end.x <= x {
        return end.y;
    }
    let length = end.x - start.x;
    let rise = (end.y - start.y) / length;
    let (square, cube) = (3.0 * rise - 2.0 * start.slope - end.slope, start.slope + end.slope - 2.0 * rise);
    let share = (x - start.x) / length;
    let y = start.y + share * length * (start.slope + share * (square + share * cube));
    y.clamp(start.y.min(end.y), start.y.max(end.y))
}

/// Where a monotone piece has a value that lies between its ends: halved until nothing is left to halve.
fn solve(piece: (Knot, Knot), y: f64) -> f64 {
    let (start, end) = piece;
    let is_rising = start.y < end.y;
    let (mut low, mut high) = (start.x, end.x);
    // A double has 53 binary digits; 200 halvings are enough for any piece and end for certain.
    for _ in 0..200 {
        let middle = low + (high - low) / 2.0;
        if middle <= low || high <= middle {
            break;
        }
        if (value(piece, middle) < y) == is_rising {
            low = middle;
        } else {
            high = middle;
        }
    }
    low + (high - low) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(points: &[(f64, f64)], x: f64, expected: f64) {
        let found = Pchip::new(points).unwrap().at(x).unwrap();
        assert!((found - expected).abs() < 1e-12, "{found} {expected}");
    }

    #[test]
    fn two_points_make_a_straight_line() {
        check(&[(1.0, 10.0), (3.0, 20.0)], 1.5, 12.5);
    }

    #[test]
    fn points_on_a_line_stay_on_it() {
        check(&[(0.0, 0.0), (1.0, 2.0), (4.0, 8.0), (5.0, 10.0)], 2.7, 5.4);
    }

    #[test]
    fn nothing_is_said_outside() {
        let line = Pchip::new(&[(1.0, 10.0), (3.0, 20.0)]).unwrap();
        assert_eq!((line.at(0.999), line.at(3.001)), (None, None));
        assert_eq!((line.at(1.0), line.at(3.0)), (Some(10.0), Some(20.0)));
        assert!(line.crossings(9.99).is_empty() && line.crossings(20.01).is_empty());
    }

    #[test]
    fn points_out_of_order_make_no_curve() {
        assert_eq!(Pchip::new(&[(1.0, 10.0), (1.0, 20.0)]), None);
        assert_eq!(Pchip::new(&[(2.0, 10.0), (1.0, 20.0)]), None);
        assert_eq!(Pchip::new(&[(1.0, 10.0)]), None);
        assert_eq!(Pchip::new(&[(1.0, 10.0), (2.0, f64::INFINITY)]), None);
    }

    #[test]
    fn a_value_is_found_on_both_sides_of_the_peak_and_on_a_level() {
        let peak = Pchip::new(&[(0.0, 0.0), (1.0, 4.0), (2.0, 4.0), (3.0, 0.0)]).unwrap();
        let half = peak.crossings(2.0);
        assert_eq!(half.len(), 2);
        assert!((half[0].from + half[1].from - 3.0).abs() < 1e-12);
        assert_eq!(peak.crossings(4.0), [Crossing { from: 1.0, to: 2.0 }]);
        assert_eq!(peak.crossings(0.0).len(), 2);
    }
}
