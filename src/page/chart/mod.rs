//! Charts as SVG text, made from exact figures. Pure functions; nothing here knows formulas.
//!
//! A chart is drawn in units of about one pixel at its largest: 400 wide, text 14.5 high, so that on a phone of 360 pixels text is still
//! eleven pixels high. Colours come from the style sheet's classes and hold for light, dark and print; what matters is told by form
//! and words as well: filled or hollow, hatched, solid or dashed lines. Coordinates have one decimal, so that the same figures give the
//! same bytes.

mod bars;
mod plot;
mod series;

pub(super) use bars::{Bar, BarChart};
pub(super) use plot::{Plot, PlotPoint, PlotTarget};
pub(super) use series::{Series, SeriesPlot};

use crate::quantity::Decimal;

/// Width of every chart.
pub(super) const WIDTH: i64 = 400;

/// From values to places along an axis.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scale {
    /// The value at the start.
    low: Decimal,
    /// The value at the end, above `low`.
    high: Decimal,
    /// The step from tick to tick.
    step: Decimal,
}

impl Scale {
    /// A scale that shows all values, from a tick to a tick, with three to eight steps of 1, 2, 5, 10, 20, …
    pub(super) fn around(values: impl IntoIterator<Item = Decimal>) -> Option<Scale> {
        let mut values = values.into_iter();
        let first = values.next()?;
        let (low, high) = values.fold((first, first), |(low, high), value| (low.min(value), high.max(value)));
        let steps = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000].map(|step| Decimal::new(step, 0));
        let fits = |step: &Decimal| (high / step).ceil() - (low / step).floor() <= Decimal::new(8, 0);
        let step = steps.into_iter().find(fits).unwrap_or(Decimal::ONE_THOUSAND);
        let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
        let high = if high == low { low + step } else { high };
        Some(Scale { low, high, step })
    }

    /// The place of a value, kept inside the chart.
    pub(super) fn at(&self, value: Decimal) -> Decimal {
        let share = (value - self.low).checked_div(self.high - self.low).unwrap_or_default();
        let share = share.clamp(Decimal::ZERO, Decimal::ONE);
        place(Decimal::new(EDGE, 0) + share * Decimal::new(WIDTH - 2 * EDGE, 0))
    }

    /// The values of the ticks.
    pub(super) fn ticks(&self) -> Vec<Decimal> {
        let mut ticks = Vec::new();
        let mut tick = self.low;
        while tick <= self.high {
            ticks.push(tick);
            tick += self.step;
        }
        ticks
    }
}

/// Between the plotted part and the edges.
const EDGE: i64 = 6;

/// A coordinate, with one decimal.
fn place(value: Decimal) -> Decimal {
    crate::quantity::round_half_even(value, 1).normalize()
}

/// Where a text is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// A text at a place, its middle kept so far from the edges that it is not cut.
pub(super) fn text(x: Decimal, y: i64, anchor: Anchor, class: &str, words: &str) -> String {
    let word = match anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let x = match anchor {
        Anchor::Middle => {
            let half = Decimal::new(width_of(words), 0) / Decimal::TWO;
            let (first, last) = (Decimal::new(EDGE, 0) + half, Decimal::new(WIDTH - EDGE, 0) - half);
            if first < last { place(x.clamp(first, last)) } else { Decimal::new(WIDTH / 2, 0) }
        }
        _ => x,
    };
    let class = if class.is_empty() { String::new() } else { format!(" class=\"{class}\"") };
    format!("<text paint-order=\"stroke\" x=\"{x}\" y=\"{y}\" text-anchor=\"{word}\"{class}>{}</text>", escaped(words))
}

/// About how wide a text is drawn: a sans face takes about half its height for a letter.
fn width_of(words: &str) -> i64 {
    let columns = i64::try_from(unicode_width::UnicodeWidthStr::width(words)).unwrap_or(WIDTH);
    columns * 15 / 2
}

/// A text cut with an ellipsis so that it takes no more than so much room.
fn cut(words: &str, room: i64) -> String {
    if width_of(words) <= room {
        return words.to_owned();
    }
    let mut short = String::new();
    for letter in words.chars() {
        if width_of(&short) + 15 > room {
            break;
        }
        short.push(letter);
    }
    format!("{}…", short.trim_end())
}

/// An axis at a height, with its ticks. `unit` stands before the first number, or after the last one.
fn axis(scale: &Scale, y: i64, unit: Unit) -> String {
    let end = WIDTH - EDGE;
    let mut svg = format!("<path class=\"axis\" d=\"M{EDGE} {y}H{end}");
    let ticks = scale.ticks();
    for tick in &ticks {
        svg.push_str(&format!("M{} {y}v5", scale.at(*tick)));
    }
    svg.push_str("\"/>");
    let last = ticks.len().saturating_sub(1);
    for (index, tick) in ticks.iter().enumerate() {
        let number = crate::quantity::show::plain(*tick);
        let (anchor, words) = match (index, unit) {
            (0, Unit::Before(unit)) => (Anchor::Start, format!("{unit} {number}")),
            (0, Unit::After(_)) => (Anchor::Start, number),
            (index, Unit::After(unit)) if index == last => (Anchor::End, format!("{number} {unit}")),
            (index, Unit::Before(_)) if index == last => (Anchor::End, number),
            _ => (Anchor::Middle, number),
        };
        svg.push_str(&text(scale.at(*tick), y + 20, anchor, "soft", &words));
    }
    svg
}

/// Where the unit of an axis stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unit {
    /// Before the first number: "pH 2".
    Before(&'static str),
    /// After the last number: "80 °C".
    After(&'static str),
}

/// The whole picture, named by its title for whoever does not see it.
fn picture(group: &str, title: &str, height: i64, content: &str) -> String {
    format!(
        "<svg class=\"chart\" viewBox=\"0 0 {WIDTH} {height}\" role=\"img\" aria-labelledby=\"{group}-title\">\
<title id=\"{group}-title\">{}</title>{content}</svg>",
        escaped(title)
    )
}

/// Slanting lines to fill a region with, under an id.
fn hatching(id: &str) -> String {
    format!(
        "<defs><pattern id=\"{id}\" width=\"7\" height=\"7\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
<path class=\"hatch\" d=\"M0 0V7\"/></pattern></defs>"
    )
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(values: &[i64], low: i64, high: i64, step: i64) {
        let scale = Scale::around(values.iter().map(|value| Decimal::new(*value, 1))).unwrap();
        let whole = |value: i64| Decimal::new(value, 0);
        assert_eq!((scale.low, scale.high, scale.step), (whole(low), whole(high), whole(step)));
    }

    #[test]
    fn scales_end_at_ticks_and_have_few_of_them() {
        check(&[20, 55], 2, 6, 1);
        check(&[20, 120], 2, 12, 2);
        check(&[400, 1200], 40, 120, 10);
        check(&[50], 5, 6, 1);
    }

    #[test]
    fn values_outside_stand_at_the_edge() {
        let scale = Scale::around([Decimal::TWO, Decimal::TEN]).unwrap();
        assert_eq!(scale.at(Decimal::ZERO), Decimal::new(6, 0));
        assert_eq!(scale.at(Decimal::ONE_HUNDRED), Decimal::new(394, 0));
    }

    #[test]
    fn words_are_cut_to_their_room_and_escaped() {
        assert_eq!(cut("glycerin", 100), "glycerin");
        assert_eq!(cut("phenoxyethanol and more", 75), "phenoxyet…");
        assert_eq!(
            text(Decimal::TEN, 5, Anchor::Start, "", "<a>"),
            "<text paint-order=\"stroke\" x=\"10\" y=\"5\" text-anchor=\"start\">&lt;a&gt;</text>"
        );
    }
}
