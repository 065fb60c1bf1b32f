//! The smaller tables of the catalogue: product types, legal limits, hazards, substances.

use super::read::{Sources, named_tables, read_fact, read_source};
use super::{Fact, Known, Source};
use crate::block::{Reader, Table};
use crate::quantity::{Decimal, Percent};
use crate::report::{Finding, kind};
use std::sync::Arc;

/// How a product is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Use {
    /// Washed off after use (Regulation (EC) No 1223/2009, preamble to Annexes II to VI).
    RinseOff,
    /// Stays on skin or hair.
    LeaveOn,
    /// Not a cosmetic.
    Household,
}

impl Use {
    /// The trade's word.
    pub fn word(self) -> &'static str {
        match self {
            Use::RinseOff => "rinse-off",
            Use::LeaveOn => "leave-on",
            Use::Household => "household",
        }
    }
}

/// A kind of product.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProductType {
    /// Its name.
    pub name: String,
    /// Other names.
    pub also: Vec<String>,
    /// How it is used.
    pub product_use: Use,
    /// Usual active matter, % of the product.
    pub active: Option<Fact>,
    /// Usual pH.
    pub ph: Option<Fact>,
    /// Why it keeps without a preservative, if it does.
    pub keeps_itself: Option<String>,
}

/// A legal ceiling.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limit {
    /// Its id in the catalogue.
    pub id: String,
    /// The rule set it belongs to.
    pub rules: String,
    /// The entry that sets it.
    pub entry: String,
    /// What it is about.
    pub what: String,
    /// Whether it holds for a use as preservative only, or for other uses only.
    pub purpose: Option<String>,
    /// The substances counted together, by INCI name.
    pub substances: Vec<String>,
    /// The substance as which they are counted.
    pub counted_as: Option<String>,
    /// The ceilings.
    pub ceilings: Vec<Ceiling>,
    /// How it is known.
    pub how: Known,
    /// A remark.
    pub note: Option<String>,
}

impl Limit {
    /// The lowest ceiling for a use; without a known use, the lowest of all uses.
    pub fn ceiling(&self, product_use: Option<Use>) -> Option<&Ceiling> {
        let fits = |ceiling: &&Ceiling| match ceiling.scope.as_str() {
            "any" => true,
            scope => match product_use {
                Some(product_use) => scope == product_use.word(),
                None => scope == "rinse-off" || scope == "leave-on",
            },
        };
        self.ceilings.iter().filter(fits).min_by_key(|ceiling| ceiling.percent.value())
    }
}

/// One ceiling of a limit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ceiling {
    /// At most so much, % of the product.
    pub percent: Percent,
    /// For which use.
    pub scope: String,
}

/// What can go wrong in handling, and the usual measure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hazard {
    /// Its key.
    pub key: String,
    /// Its title.
    pub title: String,
    /// What to do.
    pub measure: String,
    /// Where it comes from.
    pub source: Option<Arc<Source>>,
}

/// A substance by its INCI name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Substance {
    /// INCI name.
    pub inci: String,
    /// CAS number.
    pub cas: Option<String>,
    /// Molar mass, g/mol.
    pub molar_mass: Option<Fact>,
    /// Acid units per molecule, for "as acid".
    pub units: Decimal,
    /// The acid or base it is a salt of.
    pub acid: Option<String>,
    /// Acid dissociation constants as typed.
    pub pka: Option<String>,
}

pub(crate) fn read_products(reader: &Reader<'_>, root: &Table<'_, '_>, sources: &Sources) -> Vec<ProductType> {
    named_tables(reader, root, "product")
        .into_iter()
        .filter_map(|(name, table)| {
            let word = table.text("use");
            let product_use = match word.as_ref().map(|word| word.value.as_str()) {
                Some("rinse-off") => Some(Use::RinseOff),
                Some("leave-on") => Some(Use::LeaveOn),
                Some("household") => Some(Use::Household),
                _ => {
                    reader.wrong(name.place.clone(), "`use`", "\"rinse-off\", \"leave-on\" or \"household\"");
                    None
                }
            };
            let keeps = table.text("preservation").is_some_and(|word| word.value == "self");
            let why = table.table("preservation-why").and_then(|table| table.text("text")).map(|text| text.value);
            Some(ProductType {
                also: table.texts("also").into_iter().map(|text| text.value).collect(),
                product_use: product_use?,
                active: read_fact(reader, &table, "active", sources),
                ph: read_fact(reader, &table, "ph", sources),
                keeps_itself: keeps.then(|| why.unwrap_or_default()),
                name: name.value,
            })
        })
        .collect()
}

pub(crate) fn read_limits(reader: &Reader<'_>, root: &Table<'_, '_>) -> Vec<Limit> {
    named_tables(reader, root, "limit")
        .into_iter()
        .filter_map(|(id, table)| {
            let text = |key: &'static str| table.text(key).map(|text| text.value);
            let ceilings = table
                .tables("max")
                .iter()
                .filter_map(|max| {
                    let percent = Percent::new(max.number("percent")?.value);
                    Some(Ceiling {
                        percent,
                        scope: max.text("for").map_or_else(|| "any".to_owned(), |text| text.value),
                    })
                })
                .collect();
            let limit = Limit {
                rules: text("rules").unwrap_or_else(|| "eu".to_owned()),
                entry: text("entry").unwrap_or_default(),
                what: text("what").unwrap_or_default(),
                purpose: text("purpose"),
                substances: table.texts("substances").into_iter().map(|text| text.value).collect(),
                counted_as: text("as"),
                ceilings,
                how: text("how").and_then(|word| Known::from_word(&word)).unwrap_or(Known::Memory),
                note: text("note"),
                id: id.value,
            };
            if limit.entry.is_empty() || limit.substances.is_empty() {
                reader.push(Finding::new(kind::MISSING_KEY, id.place, "A limit needs `entry` and `substances`."));
                return None;
            }
            Some(limit)
        })
        .collect()
}

pub(crate) fn read_hazards(reader: &Reader<'_>, root: &Table<'_, '_>, sources: &Sources) -> Vec<Hazard> {
    named_tables(reader, root, "hazard")
        .into_iter()
        .filter_map(|(key, table)| {
            Some(Hazard {
                title: table.text("title")?.value,
                measure: table.text("measure")?.value,
                source: read_source(reader, &table, sources),
                key: key.value,
            })
        })
        .collect()
}

pub(crate) fn read_substances(reader: &Reader<'_>, root: &Table<'_, '_>, sources: &Sources) -> Vec<Substance> {
    named_tables(reader, root, "substance")
        .into_iter()
        .map(|(inci, table)| Substance {
            cas: table.table("cas").and_then(|table| table.text("number")).map(|number| number.value),
            molar_mass: read_fact(reader, &table, "molar-mass", sources),
            units: table.number("units").map_or(Decimal::ONE, |units| units.value),
            acid: table.text("acid").map(|acid| acid.value),
            pka: table.table("pka").and_then(|table| table.text_or_number("value")).map(|text| text.value),
            inci: inci.value,
        })
        .collect()
}
