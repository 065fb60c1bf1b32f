//! What other currencies are worth in that of the collection, as the author says it with a date.

use crate::block::{Table, read_currency, read_date_of, read_rate};
use crate::quantity::{Currency, Date, Money};
use crate::report::{Finding, kind};
use serde::Serialize;
use std::collections::BTreeMap;

/// What one of a currency is worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Rate {
    /// In the currency of the collection; any number of decimals.
    pub is: Money,
    /// The day for which the author looked it up.
    pub date: Date,
}

/// The rates of a collection.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Rates(BTreeMap<Currency, Rate>);

impl Rates {
    /// An amount in another currency, with the rate that was used where there was need of one. Nothing where there is none: no rate is ever guessed.
    pub fn convert(&self, money: Money, into: Currency) -> Option<(Money, Option<Rate>)> {
        if money.currency() == into {
            return Some((money, None));
        }
        let rate = self.0.get(&money.currency()).filter(|rate| rate.is.currency() == into)?;
        Some((rate.is.times(money.amount())?, Some(*rate)))
    }

    /// Reads `[rate]`: `GBP = { is = "1.17 EUR", date = 2026-10-01 }`.
    pub(super) fn read(table: &Table<'_, '_>, own: Option<Currency>) -> Rates {
        let mut rates = Rates::default();
        let Some(all) = table.table("rate") else { return rates };
        let reader = table.reader();
        let Some(own) = own else {
            let what = "Rates need the `currency` of the collection, into which they lead.";
            reader.push(
                Finding::new(kind::MISSING_KEY, all.place().clone(), what).mend("Write `currency = \"EUR\"` above."),
            );
            return rates;
        };
        for (code, value) in all.names() {
            let currency = read_currency(reader, &code.value, &code.place);
            let Some(entry) = all.inside(&code.value, value) else { continue };
            let is = entry.text("is").and_then(|text| read_rate(reader, &text).map(|money| text.with(money)));
            if let Some(is) = is.as_ref().filter(|is| is.value.amount().is_zero()) {
                reader.wrong(is.place.clone(), "A rate", "above zero");
                continue;
            }
            let date = read_date_of(&entry, "date");
            for (key, is_missing) in [("is", entry.get("is").is_none()), ("date", date.is_none())] {
                if is_missing {
                    let what = format!("This rate has no `{key}`.");
                    let mend = "Write `GBP = { is = \"1.17 EUR\", date = 2026-10-01 }`.";
                    reader.push(Finding::new(kind::MISSING_KEY, code.place.clone(), what).mend(mend));
                }
            }
            entry.finish();
            let (Some(currency), Some(is), Some(date)) = (currency, is, date.flatten()) else { continue };
            if is.value.currency() != own || currency == own {
                reader.wrong(is.place, "A rate", &format!("what one of another currency is worth in {own}"));
                continue;
            }
            rates.0.insert(currency, Rate { is: is.value, date: date.value });
        }
        rates
    }
}
