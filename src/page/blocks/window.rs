//! Windows of pH and temperature as their template sees them, and their charts.

use crate::compute::{HeatWindows, PhWindows, SHARE_SOURCE, Span, WeakAcid, Windows, span_words};
use crate::material::Fact;
use crate::page::chart::{Bar, BarChart, Unit};
use crate::quantity::{Decimal, Range, Temperature, show};
use crate::report::list;
use serde::Serialize;
use std::collections::BTreeMap;

/// The part of the context `b` that belongs to windows.
#[derive(Debug, Serialize)]
pub(super) struct WindowContext {
    formula: String,
    href: String,
    ph: Option<PhContext>,
    temperature: Option<HeatContext>,
    acids: Vec<AcidContext>,
    acids_source: &'static str,
    #[serde(skip)]
    charts: Vec<(&'static str, BarChart)>,
}

impl WindowContext {
    /// The charts by name.
    pub(super) fn charts(&self, group: &str) -> BTreeMap<&'static str, String> {
        let svg = |(name, chart): &(&'static str, BarChart)| Some((*name, chart.svg(&format!("{group}-{name}"))?));
        self.charts.iter().filter_map(svg).collect()
    }
}

/// From low to high, exact, and as printed.
#[derive(Debug, Serialize)]
struct SpanContext {
    text: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    low: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    high: Option<String>,
}

#[derive(Debug, Serialize)]
struct PhContext {
    caption: String,
    shared: Option<SpanContext>,
    target: Option<SpanContext>,
    lines: Vec<PhLineContext>,
    unknown: Vec<String>,
}

#[derive(Debug, Serialize)]
struct PhLineContext {
    line: String,
    name: String,
    works: Option<FactContext>,
    keeps: Option<FactContext>,
    /// "yes", "no", or empty while no pH is stated.
    inside: &'static str,
}

#[derive(Debug, Serialize)]
struct FactContext {
    #[serde(flatten)]
    span: SpanContext,
    source: String,
    note: String,
}

#[derive(Debug, Serialize)]
struct HeatContext {
    caption: String,
    shared: Option<SpanContext>,
    lines: Vec<HeatLineContext>,
    unknown: Vec<String>,
}

#[derive(Debug, Serialize)]
struct HeatLineContext {
    line: String,
    name: String,
    phase: String,
    limit: Option<FactContext>,
    added: Option<FactContext>,
    hold: String,
    inside: &'static str,
}

#[derive(Debug, Serialize)]
struct AcidContext {
    acid: String,
    pka: String,
    pka_source: String,
    lines: Vec<String>,
    dose: ShareContext,
    share: Option<ShareContext>,
    left: Option<ShareContext>,
    least: Option<LeastContext>,
}

#[derive(Debug, Serialize)]
struct LeastContext {
    left: ShareContext,
    material: String,
    percent: String,
    ph: String,
    source: String,
}

/// A share of the product or of the acid, %: as printed, and its exact ends.
#[derive(Debug, Serialize)]
struct ShareContext {
    text: String,
    low: String,
    high: String,
}

pub(super) fn context(windows: &Windows, href_of: &dyn Fn(&str) -> String) -> WindowContext {
    let formula = windows.formula.as_str();
    let mut charts = Vec::new();
    let ph = windows.ph.as_ref().map(|ph| {
        let caption = ph_caption(formula, ph);
        charts.push(("ph", ph_chart(&caption, ph)));
        ph_context(caption, ph)
    });
    let temperature = windows.temperature.as_ref().map(|heat| {
        let caption = heat_caption(formula, heat);
        charts.push(("temperature", heat_chart(&caption, heat)));
        heat_context(caption, heat)
    });
    WindowContext {
        formula: formula.to_owned(),
        href: href_of(formula),
        ph,
        temperature,
        acids: windows.acids.iter().map(acid_context).collect(),
        acids_source: SHARE_SOURCE,
        charts,
    }
}

fn span_context(span: Span) -> SpanContext {
    let plain = |end: Decimal| end.normalize().to_string();
    SpanContext { text: span_words(span), low: span.low.map(plain), high: span.high.map(plain) }
}

fn inside(holds: Option<bool>) -> &'static str {
    match holds {
        Some(true) => "yes",
        Some(false) => "no",
        None => "",
    }
}

fn fact_context(fact: &Fact, span: Span) -> FactContext {
    FactContext { span: span_context(span), source: fact.source_line(), note: fact.note.clone().unwrap_or_default() }
}

fn target_span(ph: &PhWindows) -> Option<Span> {
    ph.target.map(|ph| Span { low: Some(ph.low.value()), high: Some(ph.high.value()) })
}

fn ph_context(caption: String, ph: &PhWindows) -> PhContext {
    let known = |fact: &Option<Fact>| fact.as_ref().map(|fact| fact_context(fact, Span::of(fact)));
    PhContext {
        caption,
        shared: (ph.pairs.is_empty() && !ph.shared.is_open()).then(|| span_context(ph.shared)),
        target: target_span(ph).map(span_context),
        lines: ph
            .lines
            .iter()
            .map(|line| PhLineContext {
                line: line.written.clone(),
                name: line.material.name.clone(),
                works: known(&line.material.ph_works),
                keeps: known(&line.material.ph_stable),
                inside: inside(ph.holds_target(line)),
            })
            .collect(),
        unknown: ph.unknown.clone(),
    }
}

/// "All six raw materials", "The only raw material".
fn all_of(count: usize) -> String {
    match count {
        1 => "The one raw material with a known window works".to_owned(),
        2 => "Both raw materials with a known window work together".to_owned(),
        count => format!("All {count} raw materials with a known window work together"),
    }
}

/// What the chart of pH shows, in one or two sentences.
fn ph_caption(formula: &str, ph: &PhWindows) -> String {
    if ph.lines.is_empty() {
        return format!("No raw material of {formula} names the pH in which it works or keeps.");
    }
    let aim = target_span(ph).map(span_words);
    let mut words = match ph.pairs.first() {
        Some((acid, base)) => {
            let name = |index: &usize| ph.lines.get(*index).map_or("", |line| line.material.name.as_str());
            format!("No pH suits both {} and {}", name(acid), name(base))
        }
        None => match (ph.shared.low, ph.shared.high) {
            (Some(low), Some(high)) => format!("{} between pH {low} and {high}", all_of(ph.lines.len())),
            _ => format!("{} at pH {}", all_of(ph.lines.len()), span_words(ph.shared)),
        },
    };
    let outside: Vec<&str> = ph
        .lines
        .iter()
        .filter(|line| ph.holds_target(line) == Some(false))
        .map(|line| line.material.name.as_str())
        .collect();
    match aim {
        None => words.push_str("; the formula states no pH."),
        Some(aim) if outside.is_empty() => words.push_str(&format!("; the formula aims at {aim}.")),
        Some(aim) => {
            words.push_str(&format!("; the formula aims at {aim}, outside the window of {}.", list(&outside, "and")))
        }
    }
    if !ph.is_watery {
        words.push_str(" The product holds little water, so this says little about it.");
    }
    words
}

fn ph_chart(caption: &str, ph: &PhWindows) -> BarChart {
    let bars = ph.lines.iter().map(|line| {
        let misses = ph.holds_target(line) == Some(false);
        let figure = span_words(line.span);
        Bar {
            label: line.material.name.clone(),
            figure: if misses { format!("{figure}, outside") } else { figure },
            ends: (line.span.low, line.span.high),
            mark: None,
            up_to: None,
            misses,
        }
    });
    BarChart {
        title: caption.to_owned(),
        bars: bars.collect(),
        shared: (ph.pairs.is_empty() && !ph.shared.is_open())
            .then(|| ((ph.shared.low, ph.shared.high), format!("together {}", span_words(ph.shared)))),
        target: ph.target.map(|ph| {
            let (low, high) = (ph.low.value(), ph.high.value());
            (low, high, format!("aims at {}", show::ends(low, high)))
        }),
        unit: Unit::Before("pH"),
        from: None,
    }
}

fn degrees(celsius: Decimal) -> String {
    show::celsius(Temperature::from_celsius(celsius))
}

fn heat_context(caption: String, heat: &HeatWindows) -> HeatContext {
    let up_to = |fact: &Option<Fact>| {
        let fact = fact.as_ref()?;
        let highest = fact.max.or(fact.typical)?;
        let mut context = fact_context(fact, Span { low: None, high: Some(highest) });
        context.span.text = degrees(highest);
        Some(context)
    };
    HeatContext {
        caption,
        shared: heat.shared.map(|shared| SpanContext {
            text: format!("at most {}", degrees(shared)),
            low: None,
            high: Some(shared.normalize().to_string()),
        }),
        lines: heat
            .lines
            .iter()
            .map(|line| HeatLineContext {
                line: line.written.clone(),
                name: line.material.name.clone(),
                phase: line.phase.clone(),
                limit: up_to(&line.material.temperature_limit),
                added: up_to(&line.material.add_below),
                hold: line.hold.map(show::celsius).unwrap_or_default(),
                inside: inside(line.holds_target()),
            })
            .collect(),
        unknown: heat.unknown.clone(),
    }
}

fn heat_caption(formula: &str, heat: &HeatWindows) -> String {
    let Some(shared) = heat.shared else {
        return format!("No raw material of {formula} names a temperature that it must not exceed.");
    };
    let mut words = format!("Together the raw materials with a known limit bear at most {}", degrees(shared));
    let too_hot: Vec<&str> = heat
        .lines
        .iter()
        .filter(|line| line.holds_target() == Some(false))
        .map(|line| line.material.name.as_str())
        .collect();
    if !too_hot.is_empty() {
        words.push_str(&format!("; the phase of {} is held above what it bears", list(&too_hot, "and")));
    } else if heat.lines.iter().any(|line| line.hold.is_some()) {
        words.push_str(
            "; where a phase is held warm, the dot is its temperature, and no raw material is held above its limit",
        );
    }
    words.push('.');
    words
}

fn heat_chart(caption: &str, heat: &HeatWindows) -> BarChart {
    let bars = heat.lines.iter().map(|line| {
        let misses = line.holds_target() == Some(false);
        let limit = degrees(line.highest);
        let verb = if line.is_addition { "when added" } else { "at most" };
        let held = line.hold.map(|hold| format!(", held at {}", show::celsius(hold))).unwrap_or_default();
        let outside = if misses { ", outside" } else { "" };
        Bar {
            label: line.material.name.clone(),
            figure: format!("{limit} {verb}{held}{outside}"),
            ends: (None, Some(line.highest)),
            mark: line.hold.map(Temperature::celsius),
            up_to: None,
            misses,
        }
    });
    BarChart {
        title: caption.to_owned(),
        bars: bars.collect(),
        shared: heat.shared.map(|shared| ((None, Some(shared)), format!("together at most {}", degrees(shared)))),
        target: None,
        unit: Unit::After("°C"),
        // Room temperature, so that the bars have a length to compare.
        from: Some(Decimal::new(20, 0)),
    }
}

fn acid_context(acid: &WeakAcid) -> AcidContext {
    AcidContext {
        acid: acid.acid.clone(),
        pka: acid.pka.iter().map(|step| step.to_string()).collect::<Vec<_>>().join(", "),
        pka_source: acid.pka_source.clone().unwrap_or_default(),
        lines: acid.lines.clone(),
        dose: share_context(acid.dose),
        share: acid.share.map(|share| share_context(share.times(Decimal::ONE_HUNDRED))),
        left: acid.left.map(share_context),
        least: acid.least.as_ref().map(|least| LeastContext {
            left: share_context(Range::exactly(least.left)),
            material: least.material.clone(),
            percent: show::percent(least.percent),
            ph: least.ph.to_string(),
            source: least.source.clone(),
        }),
    }
}

/// Two significant digits say all that an estimate can.
fn share_context(range: Range) -> ShareContext {
    let digits = |end: Decimal| end.round_sf(2).unwrap_or(end).normalize().scale();
    let decimals = digits(range.low).min(6);
    let plain = |end: Decimal| end.normalize().to_string();
    let text = if range.low == range.high {
        show::percent_to(range.high, digits(range.high).min(6))
    } else {
        show::percent_range(range, decimals)
    };
    ShareContext { text, low: plain(range.low), high: plain(range.high) }
}
