//! Lots of a raw material: the deliveries that stand in the cupboard, with their dates, strength and papers.

use super::Material;
use crate::block::{Placed, Table, read_date_of, read_share_range};
use crate::quantity::{Date, Range};
use crate::report::{Finding, echo, kind};
use serde::Serialize;
use std::sync::Arc;

/// One lot as an author's material file has it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Lot {
    /// Its number, as on the label.
    pub number: String,
    /// The day it came.
    pub received: Option<Date>,
    /// The day from which it is no longer to be used.
    pub expires: Option<Date>,
    /// The day from which it has to be tested again before use.
    pub retest: Option<Date>,
    /// The names of its papers: certificate, safety data sheet.
    pub documents: Vec<String>,
    /// Its strength by its certificate, % w/w.
    pub strength: Option<Range>,
    /// A remark.
    pub note: Option<String>,
    /// The file that lists it.
    pub file: Arc<str>,
}

impl Lot {
    /// Whether a day lies after the last on which it may be used.
    pub fn is_expired_on(&self, date: Date) -> bool {
        self.expires.is_some_and(|expires| expires < date)
    }

    /// Whether it had to be tested again before that day.
    pub fn is_due_on(&self, date: Date) -> bool {
        self.retest.is_some_and(|retest| retest < date)
    }
}

impl Material {
    /// The lot of a number, where the collection lists it.
    pub fn lot(&self, number: &str) -> Option<&Lot> {
        self.lots.iter().find(|lot| lot.number == number.trim())
    }
}

/// Reads `[[material.X.lot]]`.
pub(super) fn read_lots(table: &Table<'_, '_>) -> Vec<Lot> {
    let mut lots: Vec<Lot> = Vec::new();
    for part in table.tables("lot") {
        let Some((lot, number)) = read_lot(&part) else { continue };
        let reader = table.reader();
        if lots.iter().any(|known| known.number == lot.number) {
            let what = format!("The lot `{}` is listed twice for this material.", echo(&lot.number));
            reader.push(Finding::new(kind::BAD_MATERIAL, number.place.clone(), what));
            continue;
        }
        let last = [("expires", lot.expires), ("retest", lot.retest)];
        for (key, date) in last {
            if let Some((received, date)) = lot.received.zip(date).filter(|(received, date)| date < received) {
                let what =
                    format!("The lot `{}` was received on {received}, after `{key}` = {date}.", echo(&lot.number));
                reader.push(
                    Finding::new(kind::BAD_MATERIAL, number.place.clone(), what).mend("Correct one of the two dates."),
                );
            }
        }
        lots.push(lot);
    }
    lots
}

fn read_lot(table: &Table<'_, '_>) -> Option<(Lot, Placed<String>)> {
    let reader = table.reader();
    let number = table.text_or_number("number");
    let date = |key: &'static str| read_date_of(table, key).flatten().map(|date| date.value);
    let (received, expires, retest) = (date("received"), date("expires"), date("retest"));
    let is_one = table.get("supplier-document").is_some_and(|value| value.get_ref().is_str());
    let documents = match is_one {
        true => table.text("supplier-document").map(|text| text.value).into_iter().collect(),
        false => table.texts("supplier-document").into_iter().map(|text| text.value).collect(),
    };
    let strength = table.get("strength").and_then(|value| read_share_range(reader, value));
    let note = table.text("note").map(|note| note.value);
    table.finish();
    let Some(number) = number.filter(|number| !number.value.trim().is_empty()) else {
        let what = "This lot has no `number`.";
        reader.push(Finding::new(kind::MISSING_KEY, table.place().clone(), what).mend("Write `number = \"24-117\"`."));
        return None;
    };
    let lot = Lot {
        number: number.value.trim().to_owned(),
        received,
        expires,
        retest,
        documents,
        strength,
        note,
        file: Arc::clone(&reader.cutting.path),
    };
    Some((lot, number))
}
