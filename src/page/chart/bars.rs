//! A chart of windows: one bar per raw material, what they share hatched, the target as a band between two lines.

use super::{Anchor, EDGE, Scale, Unit, WIDTH, axis, cut, hatching, picture, place, text, width_of};
use crate::quantity::Decimal;

/// A chart of bars.
#[derive(Clone, Debug)]
pub(in crate::page) struct BarChart {
    /// What the picture says, for whoever does not see it.
    pub(in crate::page) title: String,
    /// The bars, from the top.
    pub(in crate::page) bars: Vec<Bar>,
    /// What all share, and its label; none when they share nothing.
    pub(in crate::page) shared: Option<(Ends, String)>,
    /// The target from one value to another, and its label.
    pub(in crate::page) target: Option<(Decimal, Decimal, String)>,
    /// The unit of the axis.
    pub(in crate::page) unit: Unit,
    /// A value that the axis shows in any case.
    pub(in crate::page) from: Option<Decimal>,
}

/// Two ends, where an open one is not known or not there.
pub(in crate::page) type Ends = (Option<Decimal>, Option<Decimal>);

/// A bar.
#[derive(Clone, Debug)]
pub(in crate::page) struct Bar {
    /// What it is about.
    pub(in crate::page) label: String,
    /// Its figures.
    pub(in crate::page) figure: String,
    /// Its ends.
    pub(in crate::page) ends: Ends,
    /// A value of its own on it.
    pub(in crate::page) mark: Option<Decimal>,
    /// Up to where it goes on hollow, where its end is only known between two values.
    pub(in crate::page) up_to: Option<Decimal>,
    /// Whether the target or the mark lies outside of it; it is then drawn hollow.
    pub(in crate::page) misses: bool,
}

/// Height of a bar with its label.
const ROW: i64 = 37;
/// Height of a bar.
const THICK: i64 = 8;

impl BarChart {
    /// The chart as SVG; nothing when there is no value to show.
    pub(in crate::page) fn svg(&self, group: &str) -> Option<String> {
        let ends = self.bars.iter().flat_map(|bar| [bar.ends.0, bar.ends.1, bar.mark, bar.up_to]);
        let target = self.target.iter().flat_map(|(low, high, _)| [Some(*low), Some(*high)]);
        let scale = Scale::around(ends.chain(target).chain([self.from]).flatten())?;
        let (left, right) = (Decimal::new(EDGE, 0), Decimal::new(WIDTH - EDGE, 0));
        // The labels of the target and of what is shared have a line each above the bars.
        let heads = i64::from(self.target.is_some()) + i64::from(self.shared.is_some());
        let top = 4 + heads * 19;
        let rows = i64::try_from(self.bars.len()).unwrap_or(0);
        let foot = top + rows * ROW + 4;
        let mut svg = hatching(&format!("{group}-hatch"));
        let mut head = 15;
        let start = top - 4;
        let tall = foot - start;
        let mut labels = String::new();
        if let Some(((low, high), label)) = &self.shared {
            let (from, to) = (low.map_or(left, |low| scale.at(low)), high.map_or(right, |high| scale.at(high)));
            svg.push_str(&format!(
                "<rect x=\"{from}\" y=\"{start}\" width=\"{}\" height=\"{tall}\" fill=\"url(#{group}-hatch)\"/>",
                to - from
            ));
            for (end, x) in [(low, from), (high, to)] {
                if end.is_some() {
                    svg.push_str(&format!("<path class=\"bound\" d=\"M{x} {start}V{foot}\"/>"));
                }
            }
            labels.push_str(&text(place((from + to) / Decimal::TWO), head, Anchor::Middle, "soft", label));
            head += 19;
        }
        if let Some((low, high, label)) = &self.target {
            let (from, to) = (scale.at(*low), scale.at(*high));
            if from < to {
                svg.push_str(&format!(
                    "<rect class=\"band\" x=\"{from}\" y=\"{start}\" width=\"{}\" height=\"{tall}\"/>",
                    to - from
                ));
            }
            let mut lines = format!("<path class=\"target\" d=\"M{from} {start}V{foot}");
            if from < to {
                lines.push_str(&format!("M{to} {start}V{foot}"));
            }
            svg.push_str(&lines);
            svg.push_str("\"/>");
            labels.push_str(&text(place((from + to) / Decimal::TWO), head, Anchor::Middle, "aim", label));
        }
        let mut y = top;
        for bar in &self.bars {
            svg.push_str(&draw(bar, &scale, y));
            y += ROW;
        }
        svg.push_str(&labels);
        svg.push_str(&axis(&scale, foot, self.unit));
        Some(picture(group, &self.title, foot + 26, &svg))
    }
}

/// A bar under its label. An open end runs out in three short pieces; a closed one is cut straight.
fn draw(bar: &Bar, scale: &Scale, y: i64) -> String {
    let (left, right) = (Decimal::new(EDGE, 0), Decimal::new(WIDTH - EDGE, 0));
    let run_out = Decimal::new(21, 0);
    let from = bar.ends.0.map_or(left + run_out, |low| scale.at(low));
    let to = bar.ends.1.map_or(right - run_out, |high| scale.at(high)).max(from);
    let class = if bar.misses { "bar misses" } else { "bar" };
    let top = y + 20;
    let width = (to - from).max(Decimal::ONE);
    let mut svg = format!("<rect class=\"{class}\" x=\"{from}\" y=\"{top}\" width=\"{width}\" height=\"{THICK}\"/>");
    if let Some(end) = bar.up_to.map(|end| scale.at(end)).filter(|end| *end > to) {
        let (x, y, width, height) = (to, place(Decimal::new(top * 2 + 1, 0) / Decimal::TWO), end - to, THICK - 1);
        svg.push_str(&format!("<rect class=\"perhaps\" x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\"/>"));
    }
    for piece in 0..3 {
        let away = Decimal::new(3 + piece * 7, 0);
        for (is_open, x) in
            [(bar.ends.0.is_none(), from - away - Decimal::new(4, 0)), (bar.ends.1.is_none(), to + away)]
        {
            if is_open {
                svg.push_str(&format!(
                    "<rect class=\"{class}\" x=\"{x}\" y=\"{top}\" width=\"4\" height=\"{THICK}\"/>"
                ));
            }
        }
    }
    if let Some(mark) = bar.mark {
        let (x, middle) = (scale.at(mark), top + THICK / 2);
        svg.push_str(&format!("<circle class=\"mark\" cx=\"{x}\" cy=\"{middle}\" r=\"6\"/>"));
    }
    let room = WIDTH - 2 * EDGE - width_of(&bar.figure) - 15;
    svg.push_str(&text(left, y + 14, Anchor::Start, "", &cut(&bar.label, room)));
    svg.push_str(&text(right, y + 14, Anchor::End, "", &bar.figure));
    svg
}
