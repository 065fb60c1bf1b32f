//! A dilution as its template sees it.

use super::super::context::{NumberContext, number_context};
use crate::compute::Dilution;
use serde::Serialize;

/// The part of the context `b` that belongs to a dilution.
#[derive(Debug, Serialize)]
pub(super) struct DilutionContext {
    title: String,
    stocks: Vec<StockContext>,
    add: Option<AddContext>,
    total: AmountsContext,
    strength: NumberContext,
    ratio: String,
    factor: Option<NumberContext>,
    is_single: bool,
    by_weight: bool,
    adds_volumes: bool,
    for_example: bool,
    sheet: Vec<SizeContext>,
    has_weights: bool,
    has_volumes: bool,
}

/// The same dilution for another amount.
#[derive(Debug, Serialize)]
struct SizeContext {
    size: String,
    take: Vec<TakeContext>,
    add: Option<NumberContext>,
}

#[derive(Debug, Serialize)]
struct TakeContext {
    name: String,
    n: NumberContext,
}

#[derive(Debug, Serialize)]
struct StockContext {
    key: String,
    name: String,
    strength: String,
    ratio: String,
    density: String,
    parts: Option<NumberContext>,
    #[serde(flatten)]
    take: AmountsContext,
}

#[derive(Debug, Serialize)]
struct AddContext {
    name: String,
    #[serde(flatten)]
    amounts: AmountsContext,
}

/// An amount by weight and by volume, as far as each is known.
#[derive(Debug, Serialize)]
struct AmountsContext {
    weight: Option<NumberContext>,
    volume: Option<NumberContext>,
}

pub(super) fn context(dilution: &Dilution, id: &str) -> DilutionContext {
    let figure = |path: &[&str]| dilution.figure(id, path).map(|figure| number_context(&figure, None, None));
    let amounts = |path: &[&str]| {
        let part = |measure| figure(&path.iter().copied().chain([measure]).collect::<Vec<_>>());
        AmountsContext { weight: part("weight"), volume: part("volume") }
    };
    let stocks: Vec<StockContext> = dilution
        .portions
        .iter()
        .map(|portion| {
            let path = if dilution.is_single { vec!["take"] } else { vec!["take", portion.key.as_str()] };
            StockContext {
                key: portion.key.clone(),
                name: portion.name.clone(),
                strength: portion.strength.text(),
                ratio: portion.strength.ratio.clone().unwrap_or_default(),
                density: portion
                    .density
                    .map(|density| super::super::text::value_text(&crate::compute::Value::Density(density)))
                    .unwrap_or_default(),
                parts: figure(&["parts", &portion.key]),
                take: amounts(&path),
            }
        })
        .collect();
    let total = amounts(&["total"]);
    let add = dilution.add.map(|_| AddContext { name: dilution.with.clone(), amounts: amounts(&["add"]) });
    let sheet = dilution.sheet.iter().map(|(text, other)| size(other, text, id)).collect();
    DilutionContext {
        sheet,
        title: title(dilution),
        has_weights: stocks.iter().any(|stock| stock.take.weight.is_some()) || total.weight.is_some(),
        has_volumes: stocks.iter().any(|stock| stock.take.volume.is_some()) || total.volume.is_some(),
        stocks,
        add,
        total,
        strength: figure(&["strength"]).unwrap_or_else(NumberContext::empty),
        ratio: dilution.strength.ratio.clone().unwrap_or_default(),
        factor: figure(&["factor"]),
        is_single: dilution.is_single,
        by_weight: dilution.by_weight,
        adds_volumes: dilution.adds_volumes,
        for_example: dilution.is_for_example,
    }
}

/// What is taken and added for another amount, by weight where all of it can be weighed.
fn size(dilution: &Dilution, text: &str, id: &str) -> SizeContext {
    let key = text.split_whitespace().collect::<Vec<_>>().join("-");
    let number = |path: &[&str]| {
        let figure = dilution.figure(id, path)?;
        let address = format!("{id}/sheet/{key}/{}", path.join("/"));
        Some(number_context(&crate::compute::Figure { address, ..figure }, None, None))
    };
    let take = dilution.portions.iter().filter_map(|portion| {
        let path = if dilution.is_single { vec!["take"] } else { vec!["take", portion.key.as_str()] };
        Some(TakeContext { name: portion.name.clone(), n: number(&path)? })
    });
    let is_weighed = dilution.add.is_some_and(|add| add.mass.is_some());
    let (amount, unit) = crate::quantity::split_number(text);
    SizeContext {
        size: format!("{amount}{}{unit}", crate::quantity::show::NBSP),
        take: take.collect(),
        add: number(&["add"]).filter(|_| is_weighed),
    }
}

/// "70 % v/v from 96 % v/v".
fn title(dilution: &Dilution) -> String {
    let stocks: Vec<String> = dilution.portions.iter().map(|portion| portion.strength.text()).collect();
    let stocks = match stocks.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => stocks.concat(),
    };
    format!("{} from {stocks}", dilution.strength.text())
}
