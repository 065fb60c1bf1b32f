//! A costing as its template sees it.

use super::super::chart::{Bar, BarChart, Unit};
use super::super::context::{NumberContext, number_context};
use super::super::text::kept_together;
use crate::compute::{Costing, NoPrice, Sort};
use crate::quantity::{Decimal, show};
use serde::Serialize;
use std::collections::BTreeMap;

/// The part of the context `b` that belongs to a costing.
#[derive(Debug, Serialize)]
pub(super) struct CostingContext {
    formula: String,
    title: String,
    href: String,
    batch: String,
    currency: &'static str,
    date: String,
    waste: String,
    complete: bool,
    lines: Vec<LineContext>,
    materials: SumContext,
    extras: Vec<ExtraContext>,
    total: SumContext,
    units: Option<NumberContext>,
    per_unit: Option<NumberContext>,
    per_100_g: Option<NumberContext>,
    oldest: String,
    #[serde(skip)]
    chart: Option<BarChart>,
}

/// A raw material.
#[derive(Debug, Serialize)]
struct LineContext {
    id: String,
    name: String,
    weight: NumberContext,
    price: Option<NumberContext>,
    cost: Option<NumberContext>,
    share: Option<NumberContext>,
    why: &'static str,
    to_effect: bool,
}

/// A sum, and whether everything is in it.
#[derive(Debug, Serialize)]
struct SumContext {
    text: String,
    value: String,
    complete: bool,
    working: String,
    address: String,
}

/// Packaging, labour or overheads.
#[derive(Debug, Serialize)]
struct ExtraContext {
    sort: &'static str,
    name: String,
    count: String,
    one: String,
    cost: String,
    value: String,
}

impl CostingContext {
    pub(super) fn charts(&self, group: &str) -> BTreeMap<&'static str, String> {
        let svg = self.chart.as_ref().and_then(|chart| chart.svg(&format!("{group}-shares")));
        svg.map(|svg| ("shares", svg)).into_iter().collect()
    }
}

pub(super) fn context(costing: &Costing, id: &str, href_of: &dyn Fn(&str) -> String) -> CostingContext {
    let number = |path: &[&str]| {
        let figure = costing.look_up(id, path)?.ok()?;
        Some(number_context(&figure, None, None))
    };
    let sum = |path: &str, (money, complete): (crate::quantity::Money, bool)| {
        let figure = match (complete, path) {
            (true, _) => number(&[path]),
            (false, "per-batch") => number(&["at-least"]),
            (false, _) => number(&[path, "at-least"]),
        };
        let (working, address) = figure.map_or_else(Default::default, |figure| (figure.working, figure.address));
        SumContext { text: money.to_string(), value: show::plain(money.amount()), complete, working, address }
    };
    let lines: Vec<LineContext> = costing
        .lines
        .iter()
        .map(|line| {
            let of_line = |part: &str| number(&[line.material.as_str(), part]);
            LineContext {
                id: line.material.clone(),
                name: kept_together(&line.name).into_owned(),
                weight: of_line("weight").unwrap_or_else(NumberContext::empty),
                price: of_line("price"),
                cost: of_line("cost"),
                share: of_line("share"),
                to_effect: line.to_effect,
                why: match line.price {
                    Ok(_) => "",
                    Err(NoPrice::NotListed) => "no price",
                    Err(NoPrice::NotRead) => "price not understood",
                    Err(NoPrice::LaterOnly) => "later prices only",
                    Err(NoPrice::NoDensity) => "density not known",
                    Err(NoPrice::NoRate(_)) => "rate not known",
                },
            }
        })
        .collect();
    let extras = costing
        .extras
        .iter()
        .map(|extra| ExtraContext {
            sort: match extra.sort {
                Sort::Packaging => "packaging",
                Sort::Labour => "labour",
                Sort::Overheads => "overheads",
            },
            name: extra.name.replace('-', " "),
            count: show::plain(extra.count),
            one: extra.one.to_string(),
            cost: extra.cost.map_or_else(String::new, |cost| cost.to_string()),
            value: extra.cost.map_or_else(String::new, |cost| show::plain(cost.amount())),
        })
        .collect();
    CostingContext {
        formula: costing.formula.clone(),
        title: kept_together(&costing.title).into_owned(),
        href: href_of(&costing.formula),
        batch: show::mass_in(costing.batch, crate::quantity::MassUnit::Gram, costing.decimals),
        currency: costing.currency.code(),
        date: costing.date.map_or_else(String::new, |date| date.to_string()),
        waste: if costing.waste.value().is_zero() { String::new() } else { show::percent(costing.waste.value()) },
        complete: costing.total().1,
        chart: chart(costing, &lines),
        lines,
        materials: sum("materials", costing.materials()),
        extras,
        total: sum("per-batch", costing.total()),
        units: number(&["units"]),
        per_unit: number(&["per-unit"]),
        per_100_g: number(&["per-100-g"]),
        oldest: costing.oldest_price().map_or_else(String::new, |date| date.to_string()),
    }
}

/// Below this share, %, a bar is no more than a line; such raw materials are left to the table.
const LEAST: Decimal = Decimal::from_parts(5, 0, 0, false, 1);

/// The shares of the raw materials in their cost, the dearest first. With a price missing no share is known, and there is no chart.
fn chart(costing: &Costing, lines: &[LineContext]) -> Option<BarChart> {
    let (sum, is_whole) = costing.materials();
    if !is_whole || sum.amount().is_zero() {
        return None;
    }
    let mut shares: Vec<(Decimal, String, String)> = costing
        .lines
        .iter()
        .zip(lines)
        .filter_map(|(line, context)| {
            let share = line.cost()?.amount().checked_mul(Decimal::ONE_HUNDRED)?.checked_div(sum.amount())?;
            Some((share, context.name.clone(), context.share.as_ref()?.text.clone()))
        })
        .filter(|(share, ..)| *share >= LEAST)
        .collect();
    shares.sort_by_key(|share| std::cmp::Reverse(share.0));
    let said: Vec<String> = shares.iter().map(|(_, name, figure)| format!("{name} {figure}")).collect();
    let bars = shares.into_iter().map(|(share, label, figure)| Bar {
        label,
        figure,
        ends: (Some(Decimal::ZERO), Some(share)),
        mark: None,
        up_to: None,
        misses: false,
    });
    Some(BarChart {
        title: format!("Shares in the cost of the raw materials of {}: {}.", costing.formula, said.join(", ")),
        bars: bars.collect(),
        shared: None,
        target: None,
        unit: Unit::After("%"),
        from: Some(Decimal::ZERO),
    })
}
