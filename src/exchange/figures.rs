//! Figures as data: the exact value, what is printed of it, and how it was reached.

use crate::collection::Collection;
use crate::compute::{AddressFault, Answer, Computed, Figure, Value};
use crate::page::{value_text, working_text};
use crate::quantity::Decimal;
use serde::Serialize;
use std::borrow::Cow;

/// A figure, or why there is none at its address.
#[derive(Debug, Default, Serialize)]
pub(super) struct FigureData {
    /// The id of the block and the path below it; the path alone where the block has no id.
    address: String,
    #[serde(skip_serializing_if = "str::is_empty")]
    is: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    value: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    low: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    high: Option<String>,
    #[serde(skip_serializing_if = "str::is_empty")]
    unit: Cow<'static, str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    digits: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    text: Option<String>,
    #[serde(skip_serializing_if = "String::is_empty")]
    working: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    source: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unknown: Option<String>,
}

pub(super) fn figures_of_formula(collection: &Collection, computed: &Computed) -> Vec<FigureData> {
    let id = &computed.formula.id;
    let figure = |address: String| {
        let path: Vec<&str> = address.split('/').skip(1).collect();
        let found = collection.figure(id, &path, None)?;
        Some(of_result(address, &found))
    };
    collection.addresses(id).into_iter().filter_map(figure).collect()
}

pub(super) fn figures_of_other(answer: &Answer, id: &str) -> Vec<FigureData> {
    let figure = |path: String| {
        let parts: Vec<&str> = path.split('/').collect();
        let found = answer.look_up(id, &parts);
        let address = if id.is_empty() { path } else { format!("{id}/{path}") };
        of_result(address, &found)
    };
    answer.addresses().into_iter().map(figure).collect()
}

fn of_result(address: String, found: &Result<Figure, AddressFault>) -> FigureData {
    match found {
        Ok(figure) => figure_data(address, figure),
        Err(AddressFault::NoValue(why) | AddressFault::BadBatch(why)) => {
            FigureData { address, unknown: Some(why.clone()), ..FigureData::default() }
        }
        Err(AddressFault::Unknown(_) | AddressFault::NoLine { .. }) => {
            FigureData { address, unknown: Some("nothing has this address".to_owned()), ..FigureData::default() }
        }
    }
}

/// A value, and the ends of its range.
type Written = (Option<String>, Option<(String, String)>);

fn figure_data(address: String, figure: &Figure) -> FigureData {
    let shown = |value: &Decimal| value.to_string();
    let range =
        |low: &Decimal, typical: &Decimal, high: &Decimal| (Some(shown(typical)), Some((shown(low), shown(high))));
    let one = |value: &Decimal| (Some(shown(value)), None);
    let (is, (value, ends), unit, digits): (_, Written, Cow<'static, str>, _) = match &figure.value {
        Value::Mass { mass, decimals } => ("mass", one(&mass.grams()), "g".into(), Some(*decimals)),
        Value::Percent(percent) => ("share", one(&percent.value()), "%".into(), None),
        Value::PercentRange(span) => {
            ("share with range", range(&span.low, &span.typical, &span.high), "%".into(), None)
        }
        Value::Ph(ph) => {
            let ends = (shown(&ph.low.value()), shown(&ph.high.value()));
            ("pH", (None, Some(ends)), "".into(), None)
        }
        Value::Volume { volume, .. } => ("volume", one(&volume.millilitres()), "ml".into(), None),
        Value::Density(density) => ("density", one(&density.grams_per_millilitre()), "g/ml".into(), None),
        Value::Number(number) => ("number", one(number), "".into(), None),
        Value::Quantity { value, decimals, unit } => ("quantity", one(value), (*unit).into(), Some(*decimals)),
        Value::Reading { value, ends, decimals, unit } => {
            let ends = ends.as_ref().map(|(low, high)| (shown(low), shown(high)));
            ("reading", (Some(shown(value)), ends), unit.clone().into(), Some(*decimals))
        }
        Value::QuantityRange { range: span, decimals, unit } => {
            ("quantity with range", range(&span.low, &span.typical, &span.high), unit.clone(), Some(*decimals))
        }
        Value::Worked(value) => {
            let [low, typical, high] = value.ends().map(|end| end.to_string());
            ("worked", (Some(typical), Some((low, high))), value.units().text().into(), Some(value.decimals()))
        }
        Value::Text(text) => ("words", (Some(text.clone()), None), "".into(), None),
    };
    let (low, high) = ends.map_or((None, None), |(low, high)| (Some(low), Some(high)));
    FigureData {
        address,
        is,
        value,
        low,
        high,
        unit,
        digits,
        text: Some(value_text(&figure.value)),
        working: working_text(&figure.working),
        source: figure.working.source.clone(),
        unknown: None,
    }
}
