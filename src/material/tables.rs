//! The smaller tables of the catalogue: product types, hazards, substances.

use super::cas::check_cas;
use super::read::{Sources, named_tables, read_fact, read_source};
use super::{Fact, Source};
use crate::block::{Reader, Table};
use crate::quantity::Decimal;
use crate::report::{Finding, kind};
use serde::Serialize;
use std::sync::Arc;

/// How a product is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
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

    /// Whether the rules for cosmetics hold.
    pub fn is_cosmetic(self) -> bool {
        match self {
            Use::RinseOff | Use::LeaveOn => true,
            Use::Household => false,
        }
    }
}

/// What keeps a product without a preservative, as long as it is there.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum KeptBy {
    /// Hardly any water: less than so much that is free for germs, % of the product.
    Dryness(Option<Fact>),
    /// Alcohol.
    Alcohol,
    /// The alkali of true soap.
    Alkali,
}

/// A kind of product.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ProductType {
    /// Its name.
    pub name: String,
    /// Other names.
    pub also: Vec<String>,
    /// How it is used.
    pub product_use: Use,
    /// Where it goes: hair, face, hands, body, lips and the like. A product for several places names all of them.
    pub areas: Vec<String>,
    /// Usual active matter, % of the product.
    pub active: Option<Fact>,
    /// Whether the usual active matter holds only where there is a surfactant at all.
    pub active_is_optional: bool,
    /// Usual pH.
    pub ph: Option<Fact>,
    /// Functions of raw materials that this product is made of, so that the use levels of washes and creams say nothing of them.
    pub made_of: Vec<String>,
    /// What keeps it without a preservative, if anything does.
    pub kept_by: Option<KeptBy>,
    /// Why it keeps without a preservative, if it does.
    pub keeps_itself: Option<String>,
}

impl ProductType {
    /// Whether a word is its name or one of the places where it goes.
    pub fn goes_on(&self, word: &str) -> bool {
        self.name == word || self.areas.iter().any(|area| area == word)
    }
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
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
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
    /// How it gives off protons, for an acid and for the acid form of a base.
    pub pka: Option<Dissociation>,
}

/// The acid dissociation constants of a substance at 25 °C.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Dissociation {
    /// pKa of each step, the most acid first.
    pub pka: Vec<Decimal>,
    /// Charge of the form with all protons: 0 for an acid, 1 for an ammonium form.
    pub charge: Decimal,
    /// Where it comes from.
    pub source: Option<Arc<Source>>,
    /// A remark.
    pub note: Option<String>,
}

pub(crate) fn read_products(reader: &Reader<'_>, root: &Table<'_, '_>, sources: &Sources) -> Vec<ProductType> {
    named_tables(root, "product")
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
            let dry_below = read_fact(reader, &table, "dry-below", sources);
            let kept_by = table.text("preservation").and_then(|word| match word.value.as_str() {
                "dry" => Some(KeptBy::Dryness(dry_below)),
                "alcohol" => Some(KeptBy::Alcohol),
                "alkaline" => Some(KeptBy::Alkali),
                "needed" => None,
                _ => {
                    reader.wrong(word.place, "`preservation`", "\"needed\", \"dry\", \"alcohol\" or \"alkaline\"");
                    None
                }
            });
            let why = table.table("preservation-why").and_then(|table| {
                let text = table.text("text").map(|text| text.value);
                let _source = read_source(reader, &table, sources);
                table.finish();
                text
            });
            let _viscosity = read_fact(reader, &table, "viscosity", sources);
            let product = Some(ProductType {
                also: table.texts("also").into_iter().map(|text| text.value).collect(),
                product_use: product_use?,
                made_of: table.texts("made-of").into_iter().map(|text| text.value).collect(),
                active_is_optional: table.boolean("active-optional").unwrap_or(false),
                areas: table.texts("areas").into_iter().map(|text| text.value).collect(),
                active: read_fact(reader, &table, "active", sources),
                ph: read_fact(reader, &table, "ph", sources),
                keeps_itself: kept_by.is_some().then(|| why.unwrap_or_default()),
                kept_by,
                name: name.value,
            });
            table.finish();
            product
        })
        .collect()
}

pub(crate) fn read_hazards(reader: &Reader<'_>, root: &Table<'_, '_>, sources: &Sources) -> Vec<Hazard> {
    named_tables(root, "hazard")
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
    named_tables(root, "substance")
        .into_iter()
        .map(|(inci, table)| {
            check_cas(reader, &table);
            let substance = Substance {
                cas: table.table("cas").and_then(|cas| {
                    let number = cas.text("number").map(|number| number.value);
                    let _rest = (cas.get("other"), cas.get("note"), read_source(reader, &cas, sources));
                    cas.finish();
                    number
                }),
                molar_mass: read_fact(reader, &table, "molar-mass", sources),
                units: table.number("units").map_or(Decimal::ONE, |units| units.value),
                acid: table.text("acid").map(|acid| acid.value),
                pka: read_dissociation(reader, &table, sources),
                inci: inci.value,
            };
            let _number = table.text("colour-index");
            table.finish();
            substance
        })
        .collect()
}

/// `pka = { value = 4.21, charge = 0, source = "…" }`, or a list of values, the most acid step first.
pub(super) fn read_dissociation(reader: &Reader<'_>, table: &Table<'_, '_>, sources: &Sources) -> Option<Dissociation> {
    let table = table.table("pka")?;
    let values = table.numbers("value");
    let charge = table.number("charge").map(|charge| charge.value);
    let source = read_source(reader, &table, sources);
    let note = table.text("note").map(|note| note.value);
    table.finish();
    let pka: Vec<Decimal> = values.iter().map(|value| value.value).collect();
    if pka.is_empty() || charge.is_none() {
        let text = "`pka` needs `value` and `charge`.";
        reader.push(Finding::new(kind::MISSING_KEY, table.place().clone(), text));
    }
    if !pka.is_sorted() {
        reader.wrong(table.place().clone(), "`pka`", "in order, the most acid step first");
    }
    Some(Dissociation { pka, charge: charge?, source, note })
}
