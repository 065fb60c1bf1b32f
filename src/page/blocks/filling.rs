//! A filling as its template sees it.

use super::super::context::{NumberContext, number_context};
use crate::compute::Filling;
use crate::quantity::show;
use serde::Serialize;

/// The part of the context `b` that belongs to a filling.
#[derive(Debug, Serialize)]
pub(super) struct FillingContext {
    formula: String,
    href: String,
    content: String,
    density: String,
    density_at: String,
    overfill: String,
    fill: NumberContext,
    fill_volume: Option<NumberContext>,
    gross: Option<NumberContext>,
    packs: NumberContext,
    left_over: NumberContext,
    headspace: Option<NumberContext>,
    error: Option<NumberContext>,
    least: Option<NumberContext>,
    least_weight: Option<NumberContext>,
    lowest: Option<NumberContext>,
    lowest_weight: Option<NumberContext>,
    metric: String,
    us: NumberContext,
}

pub(super) fn context(filling: &Filling, id: &str, href_of: &dyn Fn(&str) -> String) -> FillingContext {
    let number = |path: &[&str]| filling.figure(id, path).map(|figure| number_context(&figure, None, None));
    let sure = |path: &[&str]| number(path).unwrap_or_else(NumberContext::empty);
    let by_weight = filling.fill().mass.is_some();
    FillingContext {
        formula: filling.formula.clone().unwrap_or_default(),
        href: filling.formula.as_deref().map(href_of).unwrap_or_default(),
        content: filling.metric_label(),
        density: filling.density.map_or_else(String::new, |density| {
            super::super::text::value_text(&crate::compute::Value::Density(density))
        }),
        density_at: filling.density_at.map_or_else(String::new, show::celsius),
        overfill: if filling.overfill.value().is_zero() {
            String::new()
        } else {
            show::percent(filling.overfill.value())
        },
        fill: sure(&["fill"]),
        fill_volume: number(&["fill", "volume"]).filter(|_| by_weight),
        gross: number(&["gross"]),
        packs: sure(&["packs"]),
        left_over: sure(if by_weight { &["left-over", "weight"] } else { &["left-over"] }),
        headspace: number(&["headspace"]),
        error: number(&["tolerable-error"]),
        least: number(&["least"]),
        least_weight: number(&["least", "weight"]).filter(|_| filling.is_by_volume()),
        lowest: number(&["lowest"]),
        lowest_weight: number(&["lowest", "weight"]).filter(|_| filling.is_by_volume()),
        metric: filling.metric_label(),
        us: sure(&["label", "us"]),
    }
}
