//! A plot of readings over time: a series for each condition, told apart by the form of its marks and by its name at the end of its line, not by colour. What lies
//! outside of the specification is hollow; the specification is a tinted band between broken lines.

use super::plot::{Axis, BELOW, FOOT, PlotTarget, frame, whole};
use super::{Anchor, EDGE, WIDTH, cut, picture, text, width_of};
use crate::quantity::Decimal;

/// A plot of series.
#[derive(Clone, Debug)]
pub(in crate::page) struct SeriesPlot {
    /// What the picture says, for whoever does not see it.
    pub(in crate::page) title: String,
    /// What stands along the axes, with the unit.
    pub(in crate::page) axes: (String, String),
    /// The series.
    pub(in crate::page) series: Vec<Series>,
    /// From where to where the values may go, and its label.
    pub(in crate::page) window: Option<PlotTarget>,
}

/// Readings in one condition, in the order of time.
#[derive(Clone, Debug)]
pub(in crate::page) struct Series {
    /// Its name.
    pub(in crate::page) label: String,
    /// Which of the conditions it is, so that it has the same marks in every plot of a log.
    pub(in crate::page) form: usize,
    /// x, y, and whether it lies outside.
    pub(in crate::page) points: Vec<(Decimal, Decimal, bool)>,
}

/// Room between names at the right.
const LINE: i64 = 17;
/// The longest name is cut to this width.
const NAME: i64 = 110;

impl SeriesPlot {
    /// The plot as SVG; nothing when there is nothing to plot.
    pub(in crate::page) fn svg(&self, group: &str) -> Option<String> {
        let points = || self.series.iter().flat_map(|one| &one.points);
        let window = self.window.iter().flat_map(|window| [window.low, window.high]);
        let heights: Vec<Decimal> = points().map(|(_, y, _)| *y).chain(window).collect();
        let y = Axis::near(heights.iter().copied(), 6)?;
        let names = self.series.iter().map(|one| width_of(&one.label).min(NAME)).max()? + 14;
        let x = Axis::along(points().map(|(x, _, _)| *x), &y, names)?;
        let (left, right) = (x.from, x.to);
        let mut svg = frame(&x, &y, &self.axes);
        if let Some(window) = &self.window {
            let (low, high) = (y.of(window.low), y.of(window.high));
            svg.push_str(&format!(
                "<rect class=\"band\" x=\"{left}\" y=\"{high}\" width=\"{}\" height=\"{}\"/>\
<path class=\"aimed\" d=\"M{left} {high}H{right}M{left} {low}H{right}\"/>",
                right - left,
                low - high
            ));
            let above = whole(high) - 6;
            svg.push_str(&text(Decimal::new(right, 0), above, Anchor::End, "aim", &window.label));
        }
        let mut ends: Vec<(i64, &str, Decimal, Decimal)> = Vec::new();
        for series in &self.series {
            let index = series.form;
            let mut path = String::new();
            for (day, value, _) in &series.points {
                let letter = if path.is_empty() { 'M' } else { 'L' };
                path.push_str(&format!("{letter}{} {}", x.of(*day), y.of(*value)));
            }
            svg.push_str(&format!("<path class=\"curve\" d=\"{path}\"{}/>", dashes(index)));
            for (day, value, is_outside) in &series.points {
                svg.push_str(&mark(index, x.of(*day), y.of(*value), *is_outside));
            }
            if let Some((day, value, _)) = series.points.last() {
                ends.push((whole(y.of(*value)) + 5, &series.label, x.of(*day), y.of(*value)));
            }
        }
        // Names that would lie on each other are moved apart, those at the foot upwards.
        ends.sort_by_key(|end| end.0);
        let mut last = i64::MIN;
        for end in &mut ends {
            end.0 = end.0.max(last.saturating_add(LINE));
            last = end.0;
        }
        let mut most = FOOT + 4;
        for end in ends.iter_mut().rev() {
            end.0 = end.0.min(most);
            most = end.0 - LINE;
        }
        for (height, label, at, value) in ends {
            let place = Decimal::new(right + 12, 0);
            // A thin line leads from a name that was moved, or stands far from it, to its last mark.
            if (Decimal::new(height - 5, 0) - value).abs() > Decimal::new(6, 0) || at + Decimal::new(14, 0) < place {
                let (from, to) = (at + Decimal::new(6, 0), right + 9);
                svg.push_str(&format!("<path class=\"drop\" d=\"M{from} {value}L{to} {}\"/>", height - 5));
            }
            svg.push_str(&text(place, height, Anchor::Start, "", &cut(label, NAME)));
        }
        Some(picture(group, &self.title, FOOT + BELOW, &svg))
    }
}

/// The line of a series: solid, then broken in four ways.
fn dashes(index: usize) -> &'static str {
    [
        "",
        " stroke-dasharray=\"6 3\"",
        " stroke-dasharray=\"2 3\"",
        " stroke-dasharray=\"8 3 2 3\"",
        " stroke-dasharray=\"1 4\"",
    ]
    .get(index % 5)
    .copied()
    .unwrap_or_default()
}

/// The mark of a series: a disc, a square, a triangle, a lozenge, a triangle on its point; hollow where it lies outside.
fn mark(index: usize, x: Decimal, y: Decimal, is_outside: bool) -> String {
    let class = if is_outside { "misses" } else { "point" };
    let path = match index % 5 {
        0 => return format!("<circle class=\"{class}\" cx=\"{x}\" cy=\"{y}\" r=\"4\"/>"),
        1 => "m-4 -4h8v8h-8z",
        2 => "m0 -5.5l5.5 9h-11z",
        3 => "m0 -6l5 6l-5 6l-5 -6z",
        _ => "m0 5.5l5.5 -9h-11z",
    };
    format!("<path class=\"{class}\" d=\"M{x} {y}{path}\"/>")
}

impl Axis {
    /// An axis of heights around values, which need not begin at nothing.
    fn near(values: impl Iterator<Item = Decimal> + Clone, steps: i64) -> Option<Axis> {
        Axis::between(values.clone().min()?, values.max()?, steps, (FOOT, super::plot::TOP))
    }

    /// An axis of days that leaves room for the numbers of the heights at its left and for names at its right.
    fn along(days: impl Iterator<Item = Decimal>, y: &Axis, names: i64) -> Option<Axis> {
        let last = days.max()?.max(Decimal::ONE);
        let room = y.ticks().into_iter().map(|tick| width_of(&super::plot::tick_text(tick))).max()? + 10;
        Axis::between(Decimal::ZERO, last, 7, (EDGE + room, WIDTH - EDGE - names))
    }
}
