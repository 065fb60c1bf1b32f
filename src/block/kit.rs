//! The `kit` block: what is weighed out beforehand for the tables of a class.
//!
//! Keys: `formula` and the `batch` that one table makes, or `[[make]]` for each of several; `tables`, how many there are; `overage`, on the totals and not in
//! each cup; `dose-reserve`, on top of what is dosed to effect.

use super::dilution::read_measured;
use super::reader::{Placed, Reader, Table, flat};
use super::shopping_list::{MakeBlock, nothing_is_made, read_make, read_on_top};
use crate::quantity::{Decimal, Percent};
use crate::report::{Finding, echo, kind};
use serde::Serialize;

/// More tables are a slip, and no total would have room for them.
const MOST_TABLES: Decimal = Decimal::from_parts(1_000, 0, 0, false, 0);

/// A kit as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct KitBlock {
    /// What a table makes.
    pub make: Vec<MakeBlock>,
    /// How many tables there are.
    pub tables: Decimal,
    /// What is weighed out on top of what the cups hold.
    pub overage: Percent,
    /// What is taken on top of what is dosed to effect.
    pub dose_reserve: Percent,
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<KitBlock> {
    let formula = table.text("formula");
    let batch = table.text("batch").map(|text| read_measured(reader, &text, "`batch`"));
    let make = read_make(table, false);
    let tables = table.number("tables");
    let overage = read_on_top(reader, table, "overage");
    let dose_reserve = read_on_top(reader, table, "dose-reserve");
    let (has_one, has_several) = (table.get("formula").is_some(), table.get("make").is_some());
    if has_one && has_several {
        let place = formula.as_ref().map_or_else(|| reader.cutting.head(), |id| id.place.clone());
        let what = "Either one `formula` is made at a table, or several stand in `[[make]]`.";
        reader.push(Finding::new(kind::WRONG_VALUE, place, what).mend("Move it into a `[[make]]` of its own."));
        return None;
    }
    if let Some(batch) = table.get("batch").filter(|_| has_several) {
        let what = "With `[[make]]` each formula has its own `batch`.";
        reader.push(Finding::new(kind::WRONG_VALUE, reader.place_of(batch), what).mend("Write it below `[[make]]`."));
        return None;
    }
    if !has_one && make.as_ref().is_none_or(Vec::is_empty) && !has_several {
        nothing_is_made(reader, "This kit has no `formula`.");
    }
    let is_told_apart = tell_apart(reader, make.as_deref().unwrap_or_default());
    let tables = read_tables(reader, table, tables);
    let make = match formula {
        Some(id) => flat(batch).map(|batch| vec![MakeBlock { id, is_kit: false, batch }]),
        None => make.filter(|make| !make.is_empty() && is_told_apart),
    };
    Some(KitBlock {
        make: make?,
        tables: tables?,
        overage: flat(overage)?.unwrap_or(Percent::ZERO),
        dose_reserve: flat(dose_reserve)?.unwrap_or(Percent::ZERO),
    })
}

/// Whether each formula is made once. Two batches of one formula at the same table would have cups that nobody can tell apart.
fn tell_apart(reader: &Reader<'_>, make: &[MakeBlock]) -> bool {
    let twice = make.iter().enumerate().filter_map(|(index, one)| {
        let first = make.iter().take(index).find(|other| other.id.value == one.id.value)?;
        Some((one, first))
    });
    let mut is_told_apart = true;
    for (one, first) in twice {
        is_told_apart = false;
        let what = format!("A table makes `{}` already.", echo(&one.id.value));
        let finding = Finding::new(kind::TWICE_AT_A_TABLE, one.id.place.clone(), what);
        reader.push(finding.also_at(first.id.place.clone(), "the first one"));
    }
    is_told_apart
}

fn read_tables(reader: &Reader<'_>, table: &Table<'_, '_>, tables: Option<Placed<Decimal>>) -> Option<Decimal> {
    let Some(tables) = tables else {
        if table.get("tables").is_none() {
            let what = "This kit does not say for how many `tables` it is.";
            reader.push(Finding::new(kind::MISSING_KEY, reader.cutting.head(), what).mend("Write `tables = 8`."));
        }
        return None;
    };
    let is_count = tables.value > Decimal::ZERO && tables.value.fract().is_zero() && tables.value <= MOST_TABLES;
    if !is_count {
        reader.wrong(tables.place, "`tables`", "a whole number above zero, at most 1000");
    }
    is_count.then(|| tables.value.normalize())
}
