//! A measured series as its template sees it, and its plot.

use super::super::context::{NumberContext, number_context};
use crate::compute::{Axis, Curve, Figure, Reached, Value};
use crate::page::chart::{Plot, PlotPoint, PlotTarget};
use crate::quantity::{Decimal, Range, show};
use crate::report::capital;
use serde::Serialize;
use std::collections::BTreeMap;

/// The part of the context `b` that belongs to a curve.
#[derive(Debug, Serialize)]
pub(super) struct CurveContext {
    title: String,
    caption: String,
    x: AxisContext,
    y: AxisContext,
    low: String,
    high: String,
    peak: Option<NumberContext>,
    peak_at: Option<NumberContext>,
    peak_inside: bool,
    at: Vec<AtContext>,
    targets: Vec<TargetContext>,
    points: Vec<PointContext>,
    repeated: bool,
    #[serde(skip)]
    plot: Plot,
}

#[derive(Debug, Serialize)]
struct AxisContext {
    name: String,
    unit: String,
}

/// A value wanted at an x.
#[derive(Debug, Serialize)]
struct AtContext {
    x: String,
    number: NumberContext,
    span: String,
}

/// A y wanted, and where it is reached.
#[derive(Debug, Serialize)]
struct TargetContext {
    y: String,
    reached: Vec<ReachedContext>,
}

#[derive(Debug, Serialize)]
struct ReachedContext {
    side: &'static str,
    number: NumberContext,
    span: String,
}

#[derive(Debug, Serialize)]
struct PointContext {
    x: String,
    y: String,
    readings: Vec<String>,
    deviation: String,
}

impl CurveContext {
    /// Its plot.
    pub(super) fn charts(&self, group: &str) -> BTreeMap<&'static str, String> {
        let svg = self.plot.svg(&format!("{group}-curve"));
        svg.map(|svg| ("curve", svg)).into_iter().collect()
    }
}

pub(super) fn context(curve: &Curve, id: &str) -> CurveContext {
    let figure =
        |path: &[&str]| curve.look_up(id, path).and_then(Result::ok).map(|figure| number_context(&figure, None, None));
    let (low, high) = curve.range();
    let at = curve.at.iter().filter_map(|x| {
        let figure = curve.look_up(id, &["at", &x.to_string()])?.ok()?;
        let (number, span) = with_span(&figure);
        Some(AtContext { x: curve.x.text(*x), number, span })
    });
    let targets: Vec<TargetContext> = curve.targets.iter().map(|y| target(curve, id, *y)).collect();
    let caption = caption(curve);
    let decimals = curve.y_decimals();
    CurveContext {
        title: curve.title.clone().unwrap_or_else(|| capital(&format!("{} against {}", curve.y.name, curve.x.name))),
        x: axis(&curve.x),
        y: axis(&curve.y),
        low: curve.x.text(low),
        high: curve.x.text(high),
        peak: figure(&["peak"]),
        peak_at: figure(&["peak", "at"]),
        peak_inside: curve.peak.is_inside(),
        at: at.collect(),
        targets,
        points: curve
            .points
            .iter()
            .map(|point| PointContext {
                x: point.x.to_string(),
                y: bare(&curve.y, point.mean, decimals),
                readings: point.readings.iter().map(Decimal::to_string).collect(),
                deviation: point.deviation.map_or(String::new(), |deviation| bare(&curve.y, deviation, decimals + 1)),
            })
            .collect(),
        repeated: curve.points.iter().any(|point| point.deviation.is_some()),
        plot: plot(curve, &caption),
        caption,
    }
}

fn axis(axis: &Axis) -> AxisContext {
    AxisContext { name: axis.name.clone(), unit: axis.unit.clone() }
}

/// A number without its unit, which stands in the head of its column.
fn bare(axis: &Axis, value: Decimal, decimals: u32) -> String {
    Axis { unit: String::new(), ..axis.clone() }.rounded(value, decimals)
}

/// A number printed without its span, and the span: "0.75 %" and "0.74–0.76 %". The span is empty where it is not known.
pub(super) fn with_span(figure: &Figure) -> (NumberContext, String) {
    let mut number = number_context(figure, None, None);
    let Value::Reading { value, ends: Some((low, high)), decimals, unit } = &figure.value else {
        return (number, String::new());
    };
    number.text = show::quantity_to(*value, *decimals, unit);
    (number, show::quantity_range(Range::new(*low, *high, None), *decimals, unit))
}

/// A number for the plot, with its unit where that is short; it stands at the axis anyway.
fn short(axis: &Axis, value: Decimal, decimals: u32) -> String {
    if axis.unit.chars().count() <= 5 { axis.rounded(value, decimals) } else { bare(axis, value, decimals) }
}

fn target(curve: &Curve, id: &str, y: Decimal) -> TargetContext {
    let reached = curve.reached_with_addresses(id, y);
    TargetContext {
        y: curve.y.text(y),
        reached: reached
            .iter()
            .map(|(address, reached)| {
                let (number, span) = with_span(&curve.reached_figure(address.clone(), y, reached));
                ReachedContext { side: reached.side.map_or("", |side| side.words()), number, span }
            })
            .collect(),
    }
}

/// "0.93 %, before the peak".
fn reached_words(curve: &Curve, reached: &Reached) -> String {
    let at = curve.x.rounded(reached.x, curve.x_decimals());
    match reached.side {
        Some(side) => format!("{at}, {}", side.words()),
        None => at,
    }
}

/// What the plot shows, in sentences.
fn caption(curve: &Curve) -> String {
    let (low, high) = curve.range();
    let (peak, first) = (curve.peak, curve.peak.at.0);
    let top = curve.y.rounded(peak.y, curve.y_decimals());
    let name = capital(&curve.y.name);
    let mut words = if peak.is_inside() {
        let at = if peak.at.0 < peak.at.1 {
            format!("from {} to {}", curve.x.text(peak.at.0), curve.x.text(peak.at.1))
        } else {
            format!("at {}", curve.x.text(first))
        };
        format!("{name} is highest {at}, where it is {top}, and lower on both sides.")
    } else {
        let end = if peak.between.0.is_some() { "last" } else { "first" };
        let at = if end == "last" { peak.at.1 } else { first };
        format!("{name} is highest at the {end} point, {} ({top}); the data show no peak.", curve.x.text(at))
    };
    for y in &curve.targets {
        let places: Vec<String> = curve.reached(*y).iter().map(|one| reached_words(curve, one)).collect();
        words.push_str(&format!(" {} is reached at {}.", curve.y.text(*y), listed(&places)));
    }
    words.push_str(&format!(
        " Measured from {} to {}; the curve says nothing outside.",
        curve.x.text(low),
        curve.x.text(high)
    ));
    words
}

/// "a", "a and b", "a; b and c".
fn listed(places: &[String]) -> String {
    match places.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and at {last}", rest.join("; ")),
        _ => places.concat(),
    }
}

/// "salt, %".
pub(super) fn axis_title(name: &str, unit: &str) -> String {
    if unit.is_empty() { name.to_owned() } else { format!("{name}, {unit}") }
}

fn plot(curve: &Curve, caption: &str) -> Plot {
    let decimals = curve.x_decimals();
    let peak = curve.peak;
    let rings = curve.targets.iter().flat_map(|y| {
        curve.reached(*y).into_iter().map(|reached| (reached.x, *y, short(&curve.x, reached.x, decimals)))
    });
    Plot {
        title: caption.to_owned(),
        axes: (axis_title(&curve.x.name, &curve.x.unit), axis_title(&curve.y.name, &curve.y.unit)),
        curve: Some(curve.pchip.clone()),
        points: curve.points.iter().map(|point| PlotPoint { x: point.x, y: point.mean, ends: point.ends() }).collect(),
        named: peak.is_inside().then(|| {
            let top = bare(&curve.y, peak.y, curve.y_decimals());
            (peak.at.0, peak.y, format!("{top} at {}", short(&curve.x, peak.at.0, peak.at.0.scale())))
        }),
        targets: curve.targets.iter().map(|y| PlotTarget { low: *y, high: *y, label: curve.y.text(*y) }).collect(),
        rings: rings.collect(),
    }
}
