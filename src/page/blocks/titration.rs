//! A titration as its template sees it, and its plot.

use super::super::context::{NumberContext, number_context};
use super::curve::axis_title;
use crate::block::ReadingOf;
use crate::compute::Titration;
use crate::page::chart::{Plot, PlotPoint, PlotTarget};
use crate::quantity::{Decimal, Mass, MassUnit, show};
use serde::Serialize;
use std::collections::BTreeMap;

/// The part of the context `b` that belongs to a titration.
#[derive(Debug, Serialize)]
pub(super) struct TitrationContext {
    name: String,
    lot: String,
    target: String,
    middle: String,
    is_span: bool,
    sample: String,
    reading: ReadingContext,
    batch: Option<NumberContext>,
    half: Option<NumberContext>,
    ph_half: Option<NumberContext>,
    ph_start: Option<NumberContext>,
    dose: Option<NumberContext>,
    least: Option<NumberContext>,
    most: Option<NumberContext>,
    resolution: String,
    ends: Vec<EndContext>,
    neat: Option<NumberContext>,
    neat_of: String,
    percent: Option<NumberContext>,
    per_hundred: Option<NumberContext>,
    effect: Option<EffectContext>,
    readings: Vec<TitratedContext>,
    caption: String,
    #[serde(skip)]
    plot: Plot,
}

/// How the pH was read: "neat", "diluted", or "" where it is not stated.
#[derive(Debug, Serialize)]
struct ReadingContext {
    how: &'static str,
    product: String,
    water: String,
    portions: bool,
}

/// The dose for an end of the pH wanted.
#[derive(Debug, Serialize)]
struct EndContext {
    ph: String,
    dose: Option<NumberContext>,
}

#[derive(Debug, Serialize)]
struct EffectContext {
    formula: String,
    href: String,
    counted: String,
    to_effect: bool,
    balance: String,
    before: String,
    after: String,
}

#[derive(Debug, Serialize)]
struct TitratedContext {
    text: String,
    total: String,
    per_hundred: String,
    ph: String,
}

impl TitrationContext {
    /// Its plot.
    pub(super) fn charts(&self, group: &str) -> BTreeMap<&'static str, String> {
        let svg = self.plot.svg(&format!("{group}-titration"));
        svg.map(|svg| ("titration", svg)).into_iter().collect()
    }
}

fn grams(mass: Mass) -> String {
    show::grams(Mass::from_grams(mass.grams().normalize()))
}

fn rounded(ph: Decimal, decimals: u32) -> String {
    show::quantity_to(ph, decimals, "")
}

pub(super) fn context(titration: &Titration, id: &str, href_of: &dyn Fn(&str) -> String) -> TitrationContext {
    let figure = |path: &[&str]| {
        titration.look_up(id, path).and_then(Result::ok).map(|figure| number_context(&figure, None, None))
    };
    let (low, high) = (titration.target.low, titration.target.high);
    let is_span = low != high;
    let ends = [high, low].into_iter().filter(|_| is_span).map(|ph| {
        let ph = ph.value().to_string();
        EndContext { dose: figure(&["dose", "ph", &ph]), ph }
    });
    let caption = caption(titration);
    let reading = match titration.reading {
        None => ("", None),
        Some(ReadingOf::Neat) => ("neat", None),
        Some(ReadingOf::Diluted { product, water }) => ("diluted", Some((product, water))),
    };
    let part = |of: fn((Mass, Mass)) -> Mass| reading.1.map_or(String::new(), |both| grams(of(both)));
    let decimals = titration.ph_decimals();
    TitrationContext {
        name: titration.name.clone(),
        lot: match &titration.strength {
            Some((_, strength)) if titration.is_lot => show::percent(strength.typical),
            _ => String::new(),
        },
        target: show::ends(low.value(), high.value()),
        middle: titration.middle().to_string(),
        is_span,
        sample: grams(titration.sample),
        reading: ReadingContext {
            how: reading.0,
            product: part(|both| both.0),
            water: part(|both| both.1),
            portions: titration.takes_portions,
        },
        batch: figure(&["batch"]),
        half: figure(&["dose", "half"]),
        ph_half: figure(&["ph-half"]),
        ph_start: figure(&["ph-start"]),
        dose: figure(&["dose"]),
        least: figure(&["dose", "least"]),
        most: figure(&["dose", "most"]),
        resolution: titration.resolution.map_or(String::new(), show::plain),
        ends: ends.collect(),
        neat: figure(&["dose-neat"]),
        neat_of: titration.strength.as_ref().map_or(String::new(), |(of, _)| of.clone()),
        percent: figure(&["percent"]),
        per_hundred: figure(&["per-100g"]),
        effect: titration.effect.as_ref().map(|effect| {
            let (balance, before, after) = effect.balance.clone().unwrap_or_default();
            EffectContext {
                formula: effect.formula.clone(),
                href: href_of(&effect.formula),
                counted: effect.line.map_or(String::new(), show::percent),
                to_effect: effect.is_to_effect,
                before: show::percent_to(before, 2),
                after: show::percent_to(after, 2),
                balance,
            }
        }),
        readings: titration
            .readings
            .iter()
            .map(|one| TitratedContext {
                text: super::super::text::kept_together(&one.text).into_owned(),
                total: show::mass_in(one.total, MassUnit::Gram, one.total.grams().normalize().scale()),
                per_hundred: rounded(one.per_hundred, show::decimals_for(one.per_hundred, 3)),
                ph: rounded(one.ph, decimals),
            })
            .collect(),
        plot: plot(titration, &caption),
        caption,
    }
}

/// What the plot shows, in sentences.
fn caption(titration: &Titration) -> String {
    let decimals = titration.ph_decimals();
    let mut words = match (titration.readings.first(), titration.readings.last()) {
        (Some(first), Some(last)) => format!(
            "The pH goes from {} to {} while {} is added to 100 g of product.",
            rounded(first.ph, decimals),
            rounded(last.ph, decimals),
            show::quantity_to(last.per_hundred, show::decimals_for(last.per_hundred, 3), "g"),
        ),
        _ => String::new(),
    };
    let per_hundred = titration.per_hundred;
    words.push_str(&format!(
        " pH {} is reached with {}; the curve says nothing outside of the readings.",
        titration.middle(),
        show::quantity_to(per_hundred, show::decimals_for(per_hundred, 3), "g")
    ));
    words
}

fn plot(titration: &Titration, caption: &str) -> Plot {
    let (low, high) = (titration.target.low, titration.target.high);
    let per_hundred = titration.per_hundred;
    Plot {
        title: caption.to_owned(),
        axes: (axis_title("added to 100 g of product", "g"), "pH".to_owned()),
        curve: Some(titration.curve.clone()),
        points: titration.readings.iter().map(|one| PlotPoint { x: one.per_hundred, y: one.ph, ends: None }).collect(),
        named: None,
        targets: vec![PlotTarget {
            low: low.value(),
            high: high.value(),
            label: format!("aims at {}", show::ends(low.value(), high.value())),
        }],
        rings: vec![(
            per_hundred,
            titration.middle(),
            show::quantity_to(per_hundred, show::decimals_for(per_hundred, 3), "g"),
        )],
    }
}
