//! A declaration as its template sees it.

use crate::compute::{Declaration, Group, Rules};
use crate::quantity::{Range, show};
use serde::Serialize;

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
        unnamed: (!unnamed.high.is_zero()).then(|| share(unnamed)),
    }
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
