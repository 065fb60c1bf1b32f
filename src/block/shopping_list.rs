//! The `shopping-list` block: what has to be bought for a set of batches and kits.
//!
//! Keys: `[[make]]` with a `formula` and its `batch`, or a `kit`; `overage`, taken on top of what is weighed; `dose-reserve`, on top of what is dosed to effect;
//! `stock`, whether what is in the cupboard is taken off; `not-bought`, raw materials that come from the tap or are at hand; `date`, the day for which it is
//! reckoned, and `stale-after`, how old a price may then be.

use super::costing::{STALE_AFTER, read_stale_after};
use super::date::read_date_of;
use super::dilution::{Measured, read_measured};
use super::reader::{Placed, Reader, Table, flat};
use crate::quantity::{Date, Decimal, Percent};
use crate::report::{Finding, echo, kind};
use serde::Serialize;

/// A shopping list as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ShoppingListBlock {
    /// What is made.
    pub make: Vec<MakeBlock>,
    /// What is taken on top of what is weighed.
    pub overage: Percent,
    /// What is taken on top of what is dosed to effect.
    pub dose_reserve: Percent,
    /// Whether what is in the cupboard is taken off.
    pub stock: bool,
    /// Raw materials that are not bought.
    pub not_bought: Vec<Placed<String>>,
    /// The day for which it is reckoned.
    pub date: Option<Date>,
    /// So many days old a price may be on that day.
    pub stale_after: u32,
}

/// One batch of a formula, or a kit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MakeBlock {
    /// The id of the formula or kit.
    pub id: Placed<String>,
    /// Whether it is a kit.
    pub is_kit: bool,
    /// The batch, where it is another than the formula's.
    pub batch: Option<Placed<Measured>>,
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<ShoppingListBlock> {
    let make: Option<Vec<MakeBlock>> = read_make(table, true);
    if make.as_ref().is_some_and(Vec::is_empty) {
        nothing_is_made(reader, "This list does not say what is made.");
    }
    let overage = read_on_top(reader, table, "overage");
    let dose_reserve = read_on_top(reader, table, "dose-reserve");
    let stock = table.boolean("stock");
    let is_stock_bad = stock.is_none() && table.get("stock").is_some();
    let not_bought = table.texts("not-bought");
    let date = read_date_of(table, "date");
    let stale_after = read_stale_after(reader, table);
    Some(ShoppingListBlock {
        make: make.filter(|make| !make.is_empty() && !is_stock_bad)?,
        overage: flat(overage)?.unwrap_or(Percent::ZERO),
        dose_reserve: flat(dose_reserve)?.unwrap_or(Percent::ZERO),
        stock: stock.unwrap_or(true),
        not_bought,
        date: flat(date)?.map(|date| date.value),
        stale_after: flat(stale_after)?.unwrap_or(STALE_AFTER),
    })
}

pub(super) fn nothing_is_made(reader: &Reader<'_>, what: &str) {
    let mend = "Write `[[make]]`, and below it `formula = \"barley-wash\"` and `batch = \"2 kg\"`.";
    reader.push(Finding::new(kind::MISSING_KEY, reader.cutting.head(), what).mend(mend));
}

/// A share that is taken on top: from 0 to 100 %.
#[expect(clippy::option_option, reason = "missing and not understood are two things")]
pub(super) fn read_on_top(reader: &Reader<'_>, table: &Table<'_, '_>, key: &'static str) -> Option<Option<Percent>> {
    table.get(key).map(|value| {
        let share = super::amount::read_on_top(reader, value, &format!("`{key}`"))?;
        let fits = share.value() <= Decimal::ONE_HUNDRED;
        if !fits {
            reader.wrong(reader.place_of(value), &format!("`{key}`"), "from 0 % to 100 %");
        }
        fits.then_some(share)
    })
}

/// The entries of `[[make]]`; nothing when one was not understood.
pub(super) fn read_make(table: &Table<'_, '_>, may_be_kit: bool) -> Option<Vec<MakeBlock>> {
    // All of them are read, so that all mistakes are said at once.
    let entries: Vec<Option<MakeBlock>> = table.tables("make").iter().map(|part| read_one(part, may_be_kit)).collect();
    entries.into_iter().collect()
}

fn read_one(part: &Table<'_, '_>, may_be_kit: bool) -> Option<MakeBlock> {
    let reader = part.reader();
    let formula = part.text("formula");
    let kit = if may_be_kit { part.text("kit") } else { None };
    let batch = part.text("batch").map(|text| read_measured(reader, &text, "`batch`"));
    part.finish();
    let is_written = part.get("formula").is_some() || may_be_kit && part.get("kit").is_some();
    let (id, is_kit) = match (formula, kit) {
        (Some(formula), None) => (formula, false),
        (None, Some(kit)) => {
            if let Some(value) = part.get("batch") {
                let what = format!("The kit `{}` has its own batches.", echo(&kit.value));
                let mend = "Take `batch` away; how much a table makes stands in the kit.";
                reader.push(Finding::new(kind::WRONG_VALUE, reader.place_of(value), what).mend(mend));
                return None;
            }
            (kit, true)
        }
        (Some(_), Some(kit)) => {
            let what = "Either a `formula` or a `kit` is made here, not both.";
            reader.push(Finding::new(kind::WRONG_VALUE, kit.place, what).mend("Give each a `[[make]]` of its own."));
            return None;
        }
        (None, None) => {
            if !is_written {
                let what = "This entry does not say what is made.";
                let mend = if may_be_kit {
                    "Write `formula = \"barley-wash\"`, or the `kit` by its id."
                } else {
                    "Write `formula = \"barley-wash\"`."
                };
                reader.push(Finding::new(kind::MISSING_KEY, part.place().clone(), what).mend(mend));
            }
            return None;
        }
    };
    Some(MakeBlock { id, is_kit, batch: flat(batch)? })
}
