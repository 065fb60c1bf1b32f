//! What a label needs beside the INCI names: the fragrance allergens with their triggers, and names that differ between rule sets.

use super::read::named_tables;
use super::{Known, Use};
use crate::block::Table;
use crate::quantity::Decimal;
use serde::Serialize;
use std::collections::BTreeMap;

/// A fragrance allergen that has to be named above its trigger.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Allergen {
    /// The name to print.
    pub name: String,
    /// The entry that asks for it.
    pub entry: String,
    /// The substances that count, by INCI name; all are added up.
    pub substances: Vec<String>,
    /// How it is known.
    pub how: Known,
}

impl Allergen {
    /// Whether a substance counts. Capitals do not matter.
    pub fn covers(&self, inci: &str) -> bool {
        self.substances.iter().any(|known| known.eq_ignore_ascii_case(inci))
    }
}

/// The allergens, and from which share in the finished product on they have to be named.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Allergens {
    pub(crate) all: Vec<Allergen>,
    pub(crate) leave_on: Option<Decimal>,
    pub(crate) rinse_off: Option<Decimal>,
}

impl Allergens {
    /// The trigger for a use, % of the product; household products have none.
    pub(crate) fn trigger(&self, product_use: Use) -> Option<Decimal> {
        match product_use {
            Use::LeaveOn => self.leave_on,
            Use::RinseOff => self.rinse_off,
            Use::Household => None,
        }
    }
}

pub(crate) fn read_allergens(root: &Table<'_, '_>) -> Allergens {
    let trigger = root.table("trigger");
    let number = |key: &'static str| Some(trigger.as_ref()?.number(key)?.value);
    let (leave_on, rinse_off) = (number("leave-on"), number("rinse-off"));
    if let Some(trigger) = &trigger {
        let _source = (trigger.text("how"), trigger.text("text"));
        trigger.finish();
    }
    let all = named_tables(root, "allergen")
        .into_iter()
        .map(|(name, table)| {
            let _details = (table.get("cas"), table.get("note"));
            let allergen = Allergen {
                entry: table.text("entry").map(|text| text.value).unwrap_or_default(),
                substances: table.texts("substances").into_iter().map(|text| text.value).collect(),
                how: table.text("how").and_then(|word| Known::from_word(&word.value)).unwrap_or(Known::Memory),
                name: name.value,
            };
            table.finish();
            allergen
        })
        .collect();
    Allergens { all, leave_on, rinse_off }
}

/// Names on labels by rule set and INCI name, where they differ from it.
pub(crate) type LabelNames = BTreeMap<String, BTreeMap<String, String>>;

pub(crate) fn read_label_names(root: &Table<'_, '_>) -> LabelNames {
    named_tables(root, "names")
        .into_iter()
        .map(|(rules, table)| {
            let names = table
                .entries()
                .filter_map(|(inci, value)| Some((inci.value, value.get_ref().as_str()?.to_owned())))
                .collect();
            (rules.value, names)
        })
        .collect()
}
