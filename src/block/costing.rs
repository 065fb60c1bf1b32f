//! The `costing` block: what a batch, a unit and 100 g of a formula cost.
//!
//! Keys: `formula`; `batch`, where it is another than the formula's; `units`, or the `content` of one, where the formula is not made in packs; `waste`, bought
//! on top of the weights; `[packaging]` with the price of what each unit needs; `labour`, `overheads`; `date`, the day for which it is reckoned, and
//! `stale-after`, how old a price may then be.

use super::amount::{read_mass, read_on_top};
use super::date::read_date_of;
use super::dilution::{Measured, read_measured};
use super::formula::read_reference;
use super::money::{PACKAGING_PRICE, read_money};
use super::reader::{Placed, Reader, Table, as_table, flat, number_text};
use crate::quantity::{Date, Decimal, Mass, Money, Percent};
use crate::report::{Finding, echo, kind};
use serde::Serialize;
use toml::Spanned;
use toml::de::DeValue;

/// Days after which a price is old, where the block does not say it. Common practice, no source: supplier lists change about once a year.
pub(crate) const STALE_AFTER: u32 = 365;

/// More units, pieces or hours are a slip, and no sum would have room for them.
const MOST: Decimal = Decimal::from_parts(1_000_000, 0, 0, false, 0);

/// A costing as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct CostingBlock {
    /// The formula.
    pub formula: Placed<String>,
    /// The batch, where it is another than the formula's.
    pub batch: Option<Mass>,
    /// How many units it gives.
    pub units: Option<Placed<Decimal>>,
    /// What one unit holds.
    pub content: Option<Placed<Measured>>,
    /// What is used on top of the weights.
    pub waste: Percent,
    /// What each unit is packed in.
    pub packaging: Vec<PackagingBlock>,
    /// Hours of work, and what one costs.
    pub labour: Option<(Decimal, Money)>,
    /// What else the batch costs.
    pub overheads: Option<Money>,
    /// The day for which it is reckoned.
    pub date: Option<Date>,
    /// So many days old a price may be on that day.
    pub stale_after: u32,
}

/// Something that units are packed in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PackagingBlock {
    /// What it is.
    pub name: Placed<String>,
    /// What one costs.
    pub price: Money,
    /// How many a unit needs.
    pub per_unit: Decimal,
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<CostingBlock> {
    let formula = read_reference(reader, table, "formula");
    let batch = table.text("batch").map(|text| read_mass(reader, &text, "`batch`"));
    let units = table.number("units").map(|units| {
        let is_count = units.value > Decimal::ZERO && units.value.fract().is_zero() && units.value <= MOST;
        if !is_count {
            reader.wrong(units.place.clone(), "`units`", "a whole number above zero, at most 1000000");
        }
        is_count.then_some(units)
    });
    let content = table.text("content").map(|text| read_measured(reader, &text, "`content`"));
    if let (Some(Some(units)), Some(_)) = (&units, &content) {
        let what = "Either `units` or the `content` of one is given, not both.";
        reader.push(Finding::new(kind::WRONG_VALUE, units.place.clone(), what).mend("Take one of the two lines away."));
        return None;
    }
    let waste = table.get("waste").map(|value| {
        let waste = read_on_top(reader, value, "`waste`")?;
        let fits = waste.value() >= Decimal::ZERO && waste.value() <= Decimal::ONE_HUNDRED;
        if !fits {
            reader.wrong(reader.place_of(value), "`waste`", "from 0 % to 100 %");
        }
        fits.then_some(waste)
    });
    let mut packaging = Some(Vec::new());
    for (name, value) in table.table("packaging").iter().flat_map(Table::names) {
        match (read_packaging(reader, name, value), &mut packaging) {
            (Some(item), Some(items)) => items.push(item),
            _ => packaging = None,
        }
    }
    let labour = table.table("labour").map(|part| read_labour(reader, &part));
    let overheads = table.text("overheads").map(|text| read_money(reader, &text, "`overheads`"));
    let date = read_date_of(table, "date");
    let stale_after = read_stale_after(reader, table);
    Some(CostingBlock {
        formula: formula?,
        batch: flat(batch)?,
        units: flat(units)?,
        content: flat(content)?,
        waste: flat(waste)?.unwrap_or(Percent::ZERO),
        packaging: packaging?,
        labour: flat(labour)?,
        overheads: flat(overheads)?,
        date: flat(date)?.map(|date| date.value),
        stale_after: flat(stale_after)?.unwrap_or(STALE_AFTER),
    })
}

/// So many days old a price may be.
#[expect(clippy::option_option, reason = "missing and not understood are two things")]
pub(super) fn read_stale_after(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<Option<u32>> {
    table.number("stale-after").map(|days| {
        let whole = u32::try_from(days.value.normalize().mantissa()).ok();
        let whole = whole.filter(|_| days.value.normalize().scale() == 0);
        if whole.is_none() {
            reader.wrong(days.place, "`stale-after`", "a number of days, such as 365");
        }
        whole
    })
}

/// `bottle = "0.45 EUR"`, or `label = { price = "0.08 EUR", per-unit = 2 }`.
fn read_packaging(reader: &Reader<'_>, name: Placed<String>, value: &Spanned<DeValue<'_>>) -> Option<PackagingBlock> {
    let place = reader.place_of(value);
    let (price, per_unit) = match value.get_ref() {
        DeValue::String(text) => (Some(Placed { value: text.to_string(), place }), None),
        DeValue::Integer(_) | DeValue::Float(_) => {
            let number = number_text(value.get_ref()).unwrap_or("0.42");
            let wanted = format!("a price with its currency: \"{number} EUR\"");
            reader.wrong(place, &format!("`{}`", echo(&name.value)), &wanted);
            return None;
        }
        _ => {
            let part = as_table(reader, &name.value, value)?;
            let (price, per_unit) = (part.text("price"), part.number("per-unit"));
            if price.is_none() && part.get("price").is_none() {
                let what = format!("`{}` has no `price`.", echo(&name.value));
                reader.push(
                    Finding::new(kind::MISSING_KEY, name.place.clone(), what)
                        .mend("Write `{ price = \"0.45 EUR\", per-unit = 2 }`, or the price alone."),
                );
            }
            part.finish();
            (price, per_unit)
        }
    };
    let price = price.and_then(|text| read_money(reader, &text, PACKAGING_PRICE));
    if let Some(per_unit) = per_unit.as_ref().filter(|number| number.value <= Decimal::ZERO || number.value > MOST) {
        reader.wrong(per_unit.place.clone(), "`per-unit`", "above zero, at most 1000000");
        return None;
    }
    Some(PackagingBlock { name, price: price?, per_unit: per_unit.map_or(Decimal::ONE, |number| number.value) })
}

/// `{ hours = 1.5, rate = "18 EUR" }`.
fn read_labour(reader: &Reader<'_>, part: &Table<'_, '_>) -> Option<(Decimal, Money)> {
    let (hours, rate) = (part.number("hours"), part.text("rate"));
    for (key, is_missing) in [
        ("hours", hours.is_none() && part.get("hours").is_none()),
        ("rate", rate.is_none() && part.get("rate").is_none()),
    ] {
        if is_missing {
            let what = format!("`labour` has no `{key}`.");
            reader.push(
                Finding::new(kind::MISSING_KEY, part.place().clone(), what)
                    .mend("Write `labour = { hours = 1.5, rate = \"18.00 EUR\" }`."),
            );
        }
    }
    part.finish();
    let rate = rate.and_then(|text| read_money(reader, &text, "`rate`"));
    let hours = hours?;
    if hours.value < Decimal::ZERO || hours.value > MOST {
        reader.wrong(hours.place, "`hours`", "from 0 to 1000000");
        return None;
    }
    Some((hours.value, rate?))
}
