//! A plot of measured points: the points as solid marks, the curve through them thin, what was aimed at as a broken line, and rings where the curve
//! meets it, each with its figure.

use super::{Anchor, EDGE, WIDTH, picture, place, text, width_of};
use crate::compute::Pchip;
use crate::quantity::{Decimal, show};
use rust_decimal::prelude::ToPrimitive;

/// A plot.
#[derive(Clone, Debug)]
pub(in crate::page) struct Plot {
    /// What the picture says, for whoever does not see it.
    pub(in crate::page) title: String,
    /// What stands along the axes, with the unit.
    pub(in crate::page) axes: (String, String),
    /// The curve; nothing where the points are not joined.
    pub(in crate::page) curve: Option<Pchip>,
    /// The points, and from where to where their readings go.
    pub(in crate::page) points: Vec<PlotPoint>,
    /// A point that is named, and its name.
    pub(in crate::page) named: Option<(Decimal, Decimal, String)>,
    /// What is aimed at.
    pub(in crate::page) targets: Vec<PlotTarget>,
    /// Where the curve meets that: x, y, and the figure.
    pub(in crate::page) rings: Vec<(Decimal, Decimal, String)>,
}

/// A measured point.
#[derive(Clone, Copy, Debug)]
pub(in crate::page) struct PlotPoint {
    pub(in crate::page) x: Decimal,
    pub(in crate::page) y: Decimal,
    pub(in crate::page) ends: Option<(Decimal, Decimal)>,
}

/// Something aimed at: from one y to another, or one.
#[derive(Clone, Debug)]
pub(in crate::page) struct PlotTarget {
    pub(in crate::page) low: Decimal,
    pub(in crate::page) high: Decimal,
    pub(in crate::page) label: String,
}

/// Top and foot of the plotted part.
pub(super) const TOP: i64 = 46;
pub(super) const FOOT: i64 = 266;
/// From foot of the plotted part to the end of the picture: numbers, then what they are.
pub(super) const BELOW: i64 = 46;

/// So many rings have their figures.
const MOST_LABELS: usize = 5;

/// Values along an axis, and where they stand.
pub(super) struct Axis {
    low: Decimal,
    high: Decimal,
    step: Decimal,
    pub(super) from: i64,
    pub(super) to: i64,
}

impl Axis {
    /// An axis from a tick to a tick with at most so many steps of 1, 2 or 5 times a power of ten; from nothing where the values begin near it.
    fn around(values: impl Iterator<Item = Decimal> + Clone, steps: i64, (from, to): (i64, i64)) -> Option<Axis> {
        let (low, high) = (values.clone().min()?, values.max()?);
        let span = high - low;
        let low = if low > Decimal::ZERO && low <= span / Decimal::TWO { Decimal::ZERO } else { low };
        Axis::between(low, high, steps, (from, to))
    }

    /// The same from one value to another, wherever they are.
    pub(super) fn between(low: Decimal, high: Decimal, steps: i64, (from, to): (i64, i64)) -> Option<Axis> {
        let mut step = Decimal::new(1, 9);
        let most = Decimal::new(steps, 0);
        let count = |step: Decimal| Some((high.checked_div(step)?).ceil() - (low.checked_div(step)?).floor());
        // 1, 2, 5, 10, 20, … up to what a typed number can reach.
        for index in 0..60_u32 {
            let factor = [Decimal::ONE, Decimal::TWO, Decimal::new(5, 0)].get(index as usize % 3).copied()?;
            let mut power = Decimal::new(1, 9);
            for _ in 0..index / 3 {
                power *= Decimal::TEN;
            }
            step = power * factor;
            if count(step).is_some_and(|count| count <= most) {
                break;
            }
        }
        let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
        let high = if high == low { low + step } else { high };
        Some(Axis { low, high, step: step.normalize(), from, to })
    }

    fn at(&self, value: f64) -> Decimal {
        let float = |value: Decimal| value.to_f64().unwrap_or_default();
        let share = (value - float(self.low)) / (float(self.high) - float(self.low));
        let (from, to) = (Decimal::new(self.from, 0), Decimal::new(self.to, 0));
        let share = Decimal::from_f64_retain(share).unwrap_or_default();
        // Slopes of a steep piece may lie far outside; a place beyond the picture is as good as any further out.
        let share = share.clamp(Decimal::new(-10, 0), Decimal::new(11, 0));
        place(from + share * (to - from))
    }

    pub(super) fn of(&self, value: Decimal) -> Decimal {
        self.at(value.to_f64().unwrap_or_default())
    }

    pub(super) fn ticks(&self) -> Vec<Decimal> {
        let mut ticks = vec![self.low];
        while let Some(last) = ticks.last().filter(|last| **last < self.high) {
            ticks.push(*last + self.step);
        }
        ticks
    }
}

pub(super) fn tick_text(value: Decimal) -> String {
    show::plain(value).replace('-', "−")
}

impl Plot {
    /// The plot as SVG.
    pub(in crate::page) fn svg(&self, group: &str) -> Option<String> {
        let heights = self.points.iter().flat_map(|point| {
            let (low, high) = point.ends.unwrap_or((point.y, point.y));
            [low, high, point.y]
        });
        let targets = self.targets.iter().flat_map(|target| [target.low, target.high]);
        let y = Axis::around(heights.chain(targets), 6, (FOOT, TOP))?;
        let room = y.ticks().into_iter().map(|tick| width_of(&tick_text(tick))).max().unwrap_or_default() + 10;
        let last_x = self.points.iter().map(|point| point.x).max()?;
        let half = width_of(&tick_text(last_x)) / 2;
        let xs = self.points.iter().map(|point| point.x).chain(self.ends_beside_points());
        let wide = |steps| Axis::around(xs.clone(), steps, (EDGE + room, WIDTH - EDGE - half));
        // Fewer ticks where their numbers would touch.
        let fits = |axis: &Axis| {
            let ticks = axis.ticks();
            let widest = ticks.iter().map(|tick| width_of(&tick_text(*tick))).max().unwrap_or_default() + 10;
            widest * i64::try_from(ticks.len()).unwrap_or(i64::MAX) <= axis.to - axis.from + widest
        };
        let x = (2..=8).rev().filter_map(wide).find(fits).or_else(|| wide(1))?;
        let mut svg = frame(&x, &y, &self.axes);
        let (left, right) = (x.from, x.to);
        for target in &self.targets {
            let (low, high) = (y.of(target.low), y.of(target.high));
            if high < low {
                svg.push_str(&format!(
                    "<rect class=\"band\" x=\"{left}\" y=\"{high}\" width=\"{}\" height=\"{}\"/>",
                    right - left,
                    low - high
                ));
            }
            for at in if high < low { vec![low, high] } else { vec![low] } {
                svg.push_str(&format!("<path class=\"aimed\" d=\"M{left} {at}H{right}\"/>"));
            }
        }
        for (at, height, _) in &self.rings {
            svg.push_str(&format!("<path class=\"drop\" d=\"M{} {}V{FOOT}\"/>", x.of(*at), y.of(*height)));
        }
        svg.push_str(&self.path(&x, &y));
        for point in &self.points {
            let (at, height) = (x.of(point.x), y.of(point.y));
            if let Some((low, high)) = point.ends {
                let (low, high) = (y.of(low), y.of(high));
                let side = Decimal::new(3, 0);
                let (from, to) = (at - side, at + side);
                svg.push_str(&format!(
                    "<path class=\"spread\" d=\"M{at} {low}V{high}M{from} {low}H{to}M{from} {high}H{to}\"/>"
                ));
            }
            svg.push_str(&format!("<circle class=\"point\" cx=\"{at}\" cy=\"{height}\" r=\"3.5\"/>"));
        }
        for (at, height, _) in &self.rings {
            svg.push_str(&format!("<circle class=\"ring\" cx=\"{}\" cy=\"{}\" r=\"5\"/>", x.of(*at), y.of(*height)));
        }
        svg.push_str(&self.labels(&x, &y));
        Some(picture(group, &self.title, FOOT + BELOW, &svg))
    }

    /// Where points stand alone, the axis goes a little beyond the first and the last of them, so that none lies on a line of the frame.
    fn ends_beside_points(&self) -> Vec<Decimal> {
        let xs = self.points.iter().map(|point| point.x);
        let (Some(first), Some(last), None) = (xs.clone().min(), xs.max(), &self.curve) else { return Vec::new() };
        let beyond = (last - first) / Decimal::new(20, 0);
        let before = if first.is_sign_negative() { first - beyond } else { (first - beyond).max(Decimal::ZERO) };
        vec![before, last + beyond]
    }

    /// The curve: each piece is a cubic, and so a Bézier curve whose handles stand a third of the piece away, along the slopes.
    fn path(&self, x: &Axis, y: &Axis) -> String {
        let Some(curve) = &self.curve else { return String::new() };
        let mut path = String::new();
        for (start, end) in curve.knots().iter().zip(curve.knots().iter().skip(1)) {
            if path.is_empty() {
                path = format!("M{} {}", x.at(start.x), y.at(start.y));
            }
            let third = (end.x - start.x) / 3.0;
            path.push_str(&format!(
                "C{} {} {} {} {} {}",
                x.at(start.x + third),
                y.at(start.y + third * start.slope),
                x.at(end.x - third),
                y.at(end.y - third * end.slope),
                x.at(end.x),
                y.at(end.y)
            ));
        }
        format!("<path class=\"curve\" d=\"{path}\"/>")
    }

    fn labels(&self, x: &Axis, y: &Axis) -> String {
        let mut svg = String::new();
        for target in &self.targets {
            let line = y.of(target.high);
            // At the end of the line where the curve is further away.
            let wide = Decimal::new(width_of(&target.label), 0);
            let (start, end) = (Decimal::new(x.from + 4, 0), Decimal::new(x.to, 0));
            let (at_start, at_end) =
                (self.nearest(x, y, line, (start, start + wide)), self.nearest(x, y, line, (end - wide, end)));
            let (at, anchor) = if at_start >= at_end { (start, Anchor::Start) } else { (end, Anchor::End) };
            svg.push_str(&text(at, whole(line) - 6, anchor, "aim", &target.label));
        }
        let mut height = FOOT - 9;
        // Of many places the list beside the plot tells; their figures would cover it.
        for (at, ring, label) in self.rings.iter().take(MOST_LABELS) {
            let (at, ring) = (x.of(*at), whole(y.of(*ring)));
            let wide = Decimal::new(width_of(label) + 12, 0);
            // Beside its line below the ring, or beside the ring where there is no room below.
            let is_low = ring + 24 > height;
            let (away, height_of) = if is_low { (Decimal::new(10, 0), ring + 5) } else { (Decimal::new(5, 0), height) };
            let (place, anchor) = match at + wide <= Decimal::new(WIDTH - EDGE, 0) {
                true => (at + away, Anchor::Start),
                false => (at - away, Anchor::End),
            };
            svg.push_str(&text(place, height_of, anchor, "aim", label));
            height -= if is_low { 0 } else { 18 };
        }
        if let Some((at, value, label)) = &self.named {
            svg.push_str(&text(x.of(*at), whole(y.of(*value)) - 10, Anchor::Middle, "", label));
        }
        svg
    }

    /// How near the curve comes to a height between two places, or the points where there is no curve.
    fn nearest(&self, x: &Axis, y: &Axis, line: Decimal, (from, to): (Decimal, Decimal)) -> Decimal {
        let float = |value: Decimal| value.to_f64().unwrap_or_default();
        let mut nearest = Decimal::new(FOOT, 0);
        // The words stand above the line, so what counts is how far the curve is from their middle.
        let middle = line - Decimal::new(11, 0);
        let Some(curve) = &self.curve else {
            let here = self.points.iter().filter(|point| (from..=to).contains(&x.of(point.x)));
            return here.map(|point| (y.of(point.y) - middle).abs()).fold(nearest, Decimal::min);
        };
        for step in 0..=20_i64 {
            let at = from + (to - from) * Decimal::new(step, 0) / Decimal::new(20, 0);
            let share = float(at - Decimal::new(x.from, 0)) / float(Decimal::new(x.to - x.from, 0));
            let value = float(x.low) + share * float(x.high - x.low);
            if let Some(height) = curve.at(value) {
                nearest = nearest.min((y.at(height) - middle).abs());
            }
        }
        nearest
    }
}

pub(super) fn whole(value: Decimal) -> i64 {
    value.round().to_i64().unwrap_or_default()
}

/// The two axes with their ticks, numbers and names.
pub(super) fn frame(x: &Axis, y: &Axis, (x_name, y_name): &(String, String)) -> String {
    let (left, right) = (x.from, x.to);
    let mut axes = format!("<path class=\"axis\" d=\"M{left} {TOP}V{FOOT}H{right}");
    let mut numbers = String::new();
    for tick in x.ticks() {
        axes.push_str(&format!("M{} {FOOT}v5", x.of(tick)));
        numbers.push_str(&text(x.of(tick), FOOT + 20, Anchor::Middle, "soft", &tick_text(tick)));
    }
    for tick in y.ticks() {
        axes.push_str(&format!("M{left} {}h-5", y.of(tick)));
        let below = whole(y.of(tick)) + 5;
        numbers.push_str(&text(Decimal::new(left - 8, 0), below, Anchor::End, "soft", &tick_text(tick)));
    }
    let names = [
        text(Decimal::new(EDGE, 0), 15, Anchor::Start, "", &super::cut(y_name, WIDTH - 2 * EDGE)),
        text(Decimal::new(right, 0), FOOT + 40, Anchor::End, "", &super::cut(x_name, right - EDGE)),
    ];
    format!("{axes}\"/>{numbers}{}", names.concat())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::str::FromStr;

    #[track_caller]
    fn check(values: &[&str], steps: i64, low: &str, high: &str, step: &str) {
        let values: Vec<Decimal> = values.iter().map(|value| Decimal::from_str(value).unwrap()).collect();
        let axis = Axis::around(values.iter().copied(), steps, (0, 100)).unwrap();
        assert_eq!([low, high, step].map(|text| Decimal::from_str(text).unwrap()), [axis.low, axis.high, axis.step]);
    }

    #[test]
    fn axes_end_at_ticks_and_begin_at_nothing_where_it_is_near() {
        check(&["0.2", "2.0"], 8, "0", "2", "0.5");
        check(&["1200", "9100"], 6, "0", "10000", "2000");
        check(&["3.74", "6.84"], 6, "3", "7", "1");
        check(&["0.001", "0.0042"], 6, "0", "0.005", "0.001");
        check(&["5", "5"], 6, "5", "5.000000001", "0.000000001");
        check(&["-3", "4.5"], 8, "-3", "5", "1");
    }
}
