//! A declaration as its template sees it.

use super::super::chart::{Bar, BarChart, Unit};
use crate::compute::{Declaration, Group, Rules};
use crate::quantity::{Decimal, Range, show};
use serde::Serialize;
use std::collections::BTreeMap;

/// The part of the context `b` that belongs to a declaration.
#[derive(Debug, Serialize)]
pub(super) struct DeclarationContext {
    formula: String,
    href: String,
    rules: &'static str,
    rules_name: &'static str,
    source: &'static str,
    text: String,
    ingredients: Vec<IngredientContext>,
    unnamed: Option<ShareContext>,
    #[serde(skip)]
    chart: Option<BarChart>,
}

impl DeclarationContext {
    /// The chart of the shares.
    pub(super) fn charts(&self, group: &str) -> BTreeMap<&'static str, String> {
        self.chart.iter().filter_map(|chart| Some(("shares", chart.svg(&format!("{group}-shares"))?))).collect()
    }
}

#[derive(Debug, Serialize)]
struct IngredientContext {
    name: String,
    group: &'static str,
    share: ShareContext,
    allergen: String,
    lines: Vec<String>,
}

/// A share of the product: as printed, and its exact ends.
#[derive(Debug, Serialize)]
struct ShareContext {
    text: String,
    value: String,
    low: String,
    high: String,
}

pub(super) fn context(declaration: &Declaration, href_of: &dyn Fn(&str) -> String) -> DeclarationContext {
    let unnamed = declaration.unnamed;
    DeclarationContext {
        formula: declaration.formula.clone(),
        href: href_of(&declaration.formula),
        rules: declaration.rules.word(),
        rules_name: match declaration.rules {
            Rules::Eu => "European Union",
            Rules::Us => "United States",
        },
        source: declaration.rules.source(),
        text: declaration.text(),
        ingredients: declaration
            .ingredients
            .iter()
            .map(|ingredient| IngredientContext {
                name: ingredient.name.clone(),
                group: match ingredient.group {
                    Group::Ordered => "ordered",
                    Group::Free => "free",
                    Group::Colour => "colour",
                },
                share: share(ingredient.share),
                allergen: ingredient.allergen.clone().unwrap_or_default(),
                lines: ingredient.lines.clone(),
            })
            .collect(),
        chart: shares_chart(declaration),
        unnamed: (!unnamed.high.is_zero()).then(|| share(unnamed)),
    }
}

/// Below this share, %, a bar is no more than a line; such ingredients are left to the table.
const LEAST: Decimal = Decimal::from_parts(1, 0, 0, false, 1);
/// How many times the second share the first one may be before its bar runs out of the chart. Without that, water leaves the others no length.
const FAR: Decimal = Decimal::from_parts(2, 0, 0, false, 0);

/// The shares as bars, solid as far as is certain.
fn shares_chart(declaration: &Declaration) -> Option<BarChart> {
    let shown: Vec<_> =
        declaration.ingredients.iter().filter(|one| one.share.typical >= LEAST && one.allergen.is_none()).collect();
    let second = shown.iter().skip(1).map(|one| one.share.high).max()?;
    let bars: Vec<Bar> = shown
        .iter()
        .enumerate()
        .map(|(index, one)| {
            let is_far = index == 0 && one.share.low > second * FAR;
            Bar {
                label: one.name.clone(),
                figure: share(one.share).text,
                ends: (Some(Decimal::ZERO), (!is_far).then_some(one.share.low)),
                mark: None,
                up_to: (!is_far).then_some(one.share.high),
                misses: false,
            }
        })
        .collect();
    let said: Vec<String> = bars.iter().map(|bar| format!("{} {}", bar.label, bar.figure)).collect();
    let far =
        if bars.first().is_some_and(|bar| bar.ends.1.is_none()) { "; the first bar runs out of the chart" } else { "" };
    Some(BarChart {
        title: format!("Shares of {} from {LEAST} % on: {}{far}.", declaration.formula, said.join(", ")),
        bars,
        shared: None,
        target: None,
        unit: Unit::After("%"),
        from: Some(Decimal::ZERO),
    })
}

fn share(range: Range) -> ShareContext {
    let plain = |end: crate::quantity::Decimal| end.normalize().to_string();
    ShareContext {
        text: if range.is_exact() {
            show::percent(range.typical.normalize())
        } else {
            show::percent_range(range, decimals(range))
        },
        value: plain(range.typical),
        low: plain(range.low),
        high: plain(range.high),
    }
}

/// Two decimals from 0.1 % on, else four, so that shares near an allergen's trigger can be told apart.
fn decimals(range: Range) -> u32 {
    if range.high < crate::quantity::Decimal::new(1, 1) { 4 } else { 2 }
}
