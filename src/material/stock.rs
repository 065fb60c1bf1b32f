//! What is in the cupboard of a raw material, as a collection's own files have it. The catalogue has no stock.

use super::{Lot, Material};
use crate::block::{Measured, Table, read_date_of, read_measured_or_none};
use crate::quantity::{Date, Mass};
use crate::report::{Finding, echo, kind, suggestion};
use serde::Serialize;

/// What was counted of a raw material on a day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Stock {
    /// How much there is; none at all is an amount too.
    pub amount: Measured,
    /// The same as written.
    pub amount_text: String,
    /// The day on which it was counted.
    pub date: Date,
    /// Its lot, one of those that are listed of the material.
    pub lot: Option<String>,
}

/// Why stock is not counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotCounted {
    /// It is by volume, and the density is not known.
    NoDensity,
    /// It was counted after the day for which it is asked.
    Later,
    /// Its lot is past its date on that day.
    Expired(Date),
    /// Its lot had to be tested again before that day.
    Retest(Date),
}

impl Stock {
    /// How much it is by weight on a day, or why it does not count. Without a day, that on which it was counted.
    ///
    /// # Errors
    /// Why it does not count.
    pub fn mass_on(&self, day: Option<Date>, material: &Material) -> Result<Mass, NotCounted> {
        if day.is_some_and(|day| day < self.date) {
            return Err(NotCounted::Later);
        }
        let day = day.unwrap_or(self.date);
        if let Some(lot) = self.lot.as_deref().and_then(|number| material.lot(number)) {
            if let Some(expires) = lot.expires.filter(|_| lot.is_expired_on(day)) {
                return Err(NotCounted::Expired(expires));
            }
            if let Some(retest) = lot.retest.filter(|_| lot.is_due_on(day)) {
                return Err(NotCounted::Retest(retest));
            }
        }
        self.amount.mass(material).ok_or(NotCounted::NoDensity)
    }
}

/// Reads `stock = { amount = "350 g", date = 2026-11-20 }`, or a list of them.
pub(super) fn read_stocks(table: &Table<'_, '_>, lots: &[Lot]) -> Vec<Stock> {
    table.tables("stock").iter().filter_map(|part| read_stock(part, lots)).collect()
}

fn read_stock(table: &Table<'_, '_>, lots: &[Lot]) -> Option<Stock> {
    let reader = table.reader();
    let missing = |what: &str, mend: &str| {
        reader.push(Finding::new(kind::MISSING_KEY, table.place().clone(), what).mend(mend));
    };
    let text = table.text("amount");
    if text.is_none() && table.get("amount").is_none() {
        missing("This stock has no `amount`.", "Write `stock = { amount = \"350 g\", date = 2026-11-20 }`.");
    }
    let amount = text.as_ref().and_then(|text| read_measured_or_none(reader, text, "`amount`"));
    let date = read_date_of(table, "date");
    if date.is_none() {
        missing("This stock has no `date`.", "Write the day on which it was counted or weighed: `date = 2026-11-20`.");
    }
    let lot = table.text_or_number("lot");
    table.finish();
    if let Some(lot) = lot.as_ref().filter(|lot| lots.iter().all(|known| known.number != lot.value.trim())) {
        let what = format!("The lot `{}` is not listed for this material.", echo(lot.value.trim()));
        let known = lots.iter().map(|known| known.number.as_str());
        let mend = suggestion(&lot.value, known, "List it below the material with its `number`, or leave `lot` out.");
        reader.push(Finding::new(kind::BAD_MATERIAL, lot.place.clone(), what).mend(mend));
        return None;
    }
    Some(Stock {
        amount: amount?.value,
        amount_text: text?.value.trim().to_owned(),
        date: date.flatten()?.value,
        lot: lot.map(|lot| lot.value.trim().to_owned()),
    })
}
