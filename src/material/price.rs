//! What packs of a raw material cost, as a collection's own files have it. The catalogue has no prices.

use super::Material;
use crate::block::{Measured, Placed, Table, read_date_of, read_measured, read_money};
use crate::quantity::{Date, Decimal, Mass, Money};
use crate::report::{Finding, kind};
use serde::Serialize;
use std::sync::Arc;

/// What one pack cost on a day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Price {
    /// What is in the pack.
    pub pack: Measured,
    /// The same as written.
    pub pack_text: String,
    /// What the pack cost.
    pub price: Money,
    /// Its part of the postage.
    pub postage: Option<Money>,
    /// The day of the price.
    pub date: Date,
    /// Who sells it.
    pub supplier: Option<String>,
    /// The file that lists it.
    pub file: Arc<str>,
}

impl Price {
    /// What the pack cost with its part of the postage.
    pub fn total(&self) -> Money {
        let plain = self.price;
        self.postage.and_then(|postage| plain.plus(postage)).unwrap_or(plain)
    }

    /// What is in the pack by weight; nothing for a volume while the density is not known.
    pub fn mass(&self, material: &Material) -> Option<Mass> {
        self.pack.mass(material)
    }

    /// What a gram costs.
    pub fn per_gram(&self, material: &Material) -> Option<Decimal> {
        self.total().amount().checked_div(self.mass(material)?.grams())
    }
}

impl Measured {
    /// How much it is of a raw material by weight; nothing for a volume while the density is not known.
    pub fn mass(self, material: &Material) -> Option<Mass> {
        match self {
            Measured::Mass(mass) => Some(mass),
            Measured::Volume(volume) => {
                let density = material.density.as_ref()?.range()?.typical;
                Some(Mass::from_grams(volume.millilitres() * density))
            }
        }
    }
}

impl Material {
    /// The price that holds on a day: the latest that is not after it, and of several of one day the lowest per gram. Without a day, the latest of all.
    /// One whose pack cannot be weighed comes last.
    pub fn price_on(&self, day: Option<Date>) -> Option<&Price> {
        let in_time = |price: &&Price| day.is_none_or(|day| price.date <= day);
        self.prices.iter().filter(in_time).min_by(|one, two| {
            let cost = |price: &Price| price.per_gram(self);
            two.date.cmp(&one.date).then_with(|| match (cost(one), cost(two)) {
                // Two currencies cannot be compared; the one written first stays.
                (Some(_), Some(_)) if one.price.currency() != two.price.currency() => std::cmp::Ordering::Equal,
                (Some(one), Some(two)) => one.cmp(&two),
                (one, two) => two.is_some().cmp(&one.is_some()),
            })
        })
    }
}

/// Reads `[[material.X.price]]`, and whether one of them was not understood.
pub(super) fn read_prices(table: &Table<'_, '_>) -> (Vec<Price>, bool) {
    let written = table.tables("price");
    let prices: Vec<Price> = written.iter().filter_map(read_price).collect();
    let is_one_unread = prices.len() < written.len() || written.is_empty() && table.get("price").is_some();
    (prices, is_one_unread)
}

fn read_price(table: &Table<'_, '_>) -> Option<Price> {
    let reader = table.reader();
    let text = |key: &'static str| -> Option<Placed<String>> {
        let text = table.text(key);
        if text.is_none() && table.get(key).is_none() {
            let (what, mend) = match key {
                "pack" => ("This price does not say for what: it has no `pack`.", "Write `pack = \"1 kg\"`."),
                _ => ("This price has no `price`.", "Write `price = \"12.50 EUR\"`."),
            };
            reader.push(Finding::new(kind::MISSING_KEY, table.place().clone(), what).mend(mend));
        }
        text
    };
    let pack_text = text("pack");
    let pack = pack_text.as_ref().and_then(|text| read_measured(reader, text, "`pack`"));
    let price = text("price").and_then(|text| read_money(reader, &text, "`price`"));
    let postage = table.text("postage").map(|text| (read_money(reader, &text, "`postage`"), text.place));
    let date = read_date_of(table, "date");
    if date.is_none() {
        let what = "This price has no `date`.";
        reader.push(
            Finding::new(kind::MISSING_KEY, table.place().clone(), what)
                .mend("Write the day on which it was asked or paid: `date = 2026-10-01`."),
        );
    }
    let supplier = table.text("supplier").map(|text| text.value);
    table.finish();
    let (pack, price, date) = (pack?, price?, date.flatten()?);
    let postage = match postage {
        None => None,
        Some((postage, place)) => {
            let postage = postage?;
            if postage.currency() != price.currency() {
                reader.wrong(place, "`postage`", &format!("in the currency of the price, {}", price.currency()));
                return None;
            }
            Some(postage)
        }
    };
    Some(Price {
        pack: pack.value,
        pack_text: pack_text?.value.trim().to_owned(),
        price,
        postage,
        date: date.value,
        supplier,
        file: Arc::clone(&reader.cutting.path),
    })
}
