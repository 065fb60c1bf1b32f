//! Raw materials as their pages show them.

use super::context::FindingContext;
use super::text::kept_together;
use super::{LookUp, Site};
use crate::material::{Catalogue, Component, Detail, Material, Origin, SurfactantClass};
use crate::quantity::{Decimal, Money, show};
use serde::Serialize;

/// The context of `material.html`.
#[derive(Debug, Serialize)]
pub struct MaterialContext<'a> {
    /// The collection.
    pub site: &'a Site,
    /// Prefix to the output's root.
    pub root: &'static str,
    /// The raw material.
    pub m: MaterialPart,
    /// The formulas that hold it, or as many of them as stand on this page.
    pub uses: Vec<MaterialUse>,
    /// The pages over which they go, where there are several.
    pub pages: Vec<LookUp>,
    /// Errors outside the notebooks, only while watching.
    pub errors: Vec<FindingContext>,
    /// The data file beside the page.
    pub data_href: String,
    /// Version of the program.
    pub version: &'static str,
}

/// The context of `uses.html`, a further page of the formulas that hold a raw material.
#[derive(Debug, Serialize)]
pub struct UsesContext<'a> {
    /// The collection.
    pub site: &'a Site,
    /// Prefix to the output's root.
    pub root: &'static str,
    /// The raw material.
    pub name: String,
    /// The page of the raw material.
    pub href: String,
    /// The formulas of this page.
    pub uses: Vec<MaterialUse>,
    /// The pages over which they go.
    pub pages: Vec<LookUp>,
    /// Errors outside the notebooks, only while watching.
    pub errors: Vec<FindingContext>,
    /// Version of the program.
    pub version: &'static str,
}

/// The context of `materials.html`.
#[derive(Debug, Serialize)]
pub struct MaterialListContext<'a> {
    /// The collection.
    pub site: &'a Site,
    /// Prefix to the output's root.
    pub root: &'static str,
    /// The raw materials that are used, by id.
    pub items: Vec<MaterialItem>,
    /// The ways to look something up.
    pub lookup: Vec<LookUp>,
    /// Errors outside the notebooks, only while watching.
    pub errors: Vec<FindingContext>,
    /// Version of the program.
    pub version: &'static str,
}

/// A raw material in the list.
#[derive(Debug, Serialize)]
pub struct MaterialItem {
    id: String,
    name: String,
    inci: String,
    functions: String,
    formulas: usize,
}

/// A formula that holds a raw material.
#[derive(Debug, Serialize)]
pub struct MaterialUse {
    /// Its id.
    pub formula: String,
    /// Its title.
    pub title: String,
    /// Its sheet.
    pub href: String,
    /// Its product type.
    pub product: String,
    /// The title of its notebook.
    pub notebook: String,
    /// How much of it, as printed.
    pub percent: String,
    /// How much of it, % of the product.
    pub value: String,
}

/// A raw material for its page and its data file.
#[derive(Debug, Serialize)]
pub struct MaterialPart {
    id: String,
    name: String,
    also: Vec<String>,
    functions: Vec<String>,
    form: String,
    own: String,
    contains: Vec<ShareRow>,
    constituents: Vec<ShareRow>,
    statements: Vec<StatementRow>,
    limits: Vec<LimitRow>,
    prices: Vec<PriceRow>,
    stock: Vec<StockRow>,
}

/// What was counted of it.
#[derive(Debug, Serialize)]
struct StockRow {
    amount: String,
    date: String,
    lot: String,
}

/// What a pack of it cost.
#[derive(Debug, Serialize)]
struct PriceRow {
    pack: String,
    price: String,
    postage: String,
    per_kg: String,
    date: String,
    supplier: String,
}

impl MaterialPart {
    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }
}

/// A substance of a raw material.
#[derive(Debug, Serialize)]
struct ShareRow {
    inci: String,
    cas: String,
    percent: String,
    class: &'static str,
    bound_to: String,
    source: String,
}

/// Something known of a raw material.
#[derive(Debug, Serialize)]
struct StatementRow {
    label: String,
    text: String,
    source: String,
}

/// A legal ceiling on one of its substances.
#[derive(Debug, Serialize)]
struct LimitRow {
    what: String,
    text: String,
    source: String,
}

/// A raw material in the list, with how many formulas hold it.
pub fn material_item(material: &Material, formulas: usize) -> MaterialItem {
    MaterialItem {
        id: material.id.clone(),
        name: kept_together(&material.name).into_owned(),
        inci: material.inci_names().join(", "),
        functions: material.functions.join(", "),
        formulas,
    }
}

/// Everything known of a raw material, with the ceilings of the chosen rule sets on what it contains.
pub fn material_context(material: &Material, catalogue: &Catalogue, rules: &[String]) -> MaterialPart {
    let own = match &material.origin {
        Origin::BuiltIn => String::new(),
        Origin::Own { path, over: false } => format!("The collection’s own material, from {path}."),
        Origin::Own { path, over: true } => format!("The collection’s own entry in {path}, over the catalogue’s."),
    };
    MaterialPart {
        id: material.id.clone(),
        name: kept_together(&material.name).into_owned(),
        also: material.also.clone(),
        functions: material.functions.clone(),
        form: material.form.clone().unwrap_or_default(),
        own,
        contains: share_rows(&material.contains, catalogue),
        constituents: share_rows(&material.constituents, catalogue),
        statements: material.told(catalogue.statements()).iter().map(statement_row).collect(),
        limits: limits(material, catalogue, rules),
        prices: price_rows(material),
        stock: material
            .stocks
            .iter()
            .map(|stock| StockRow {
                amount: stock.amount_text.clone(),
                date: stock.date.to_string(),
                lot: stock.lot.clone().unwrap_or_default(),
            })
            .collect(),
    }
}

fn share_rows(components: &[Component], catalogue: &Catalogue) -> Vec<ShareRow> {
    components
        .iter()
        .map(|component| ShareRow {
            inci: component.inci.clone(),
            cas: catalogue.substance(&component.inci).and_then(|substance| substance.cas.clone()).unwrap_or_default(),
            percent: format!("{}{}%", component.percent.words(), show::NBSP),
            class: component.surfactant.map_or("", SurfactantClass::word),
            bound_to: component.bound_to.clone().unwrap_or_default(),
            source: component.percent.source_line(),
        })
        .collect()
}

/// The prices, latest first.
fn price_rows(material: &Material) -> Vec<PriceRow> {
    let mut prices: Vec<_> = material.prices.iter().collect();
    prices.sort_by_key(|price| std::cmp::Reverse(price.date));
    prices
        .into_iter()
        .map(|price| PriceRow {
            pack: price.pack_text.clone(),
            price: price.price.to_string(),
            postage: price.postage.map_or_else(String::new, |postage| postage.to_string()),
            per_kg: price.per_gram(material).map_or_else(String::new, |gram| {
                Money::new(gram, price.price.currency())
                    .times(Decimal::ONE_THOUSAND)
                    .map_or_else(String::new, |kilogram| kilogram.to_string())
            }),
            date: price.date.to_string(),
            supplier: price.supplier.clone().unwrap_or_default(),
        })
        .collect()
}

fn statement_row(detail: &Detail) -> StatementRow {
    StatementRow {
        label: detail.key.clone(),
        text: kept_together(&detail.text).into_owned(),
        source: detail.source_line(),
    }
}

fn limits(material: &Material, catalogue: &Catalogue, rules: &[String]) -> Vec<LimitRow> {
    let holds = |inci: &String| material.contains.iter().any(|part| part.inci == *inci);
    let mut rows = Vec::new();
    for limit in catalogue.limits() {
        if !rules.contains(&limit.rules) || !limit.counting.substances.iter().any(holds) {
            continue;
        }
        let basis = limit.counting.counted_as.as_ref().map_or(String::new(), |basis| format!(", counted as {basis}"));
        let from = limit.from.as_ref().map_or(String::new(), |day| format!(", from {day}"));
        let advice = if limit.is_advice { "advice: " } else { "" };
        // Names stand between backticks in messages, not on pages.
        let ceilings = limit.texts().join(", ").replace('`', "");
        let note = limit.note.as_ref().map_or(String::new(), |note| format!("; {note}"));
        rows.push(LimitRow {
            what: limit.what.clone(),
            text: format!("{advice}{ceilings}{basis}{from}{note}"),
            source: limit.entry.clone(),
        });
    }
    rows
}
