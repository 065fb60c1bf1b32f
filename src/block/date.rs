//! Dates in blocks and material files: TOML's own (`date = 2026-03-14`) or the same in quotation marks.

use super::reader::{Placed, Reader, Table};
use crate::quantity::{Date, DateFault};
use crate::report::{Finding, echo, kind};
use toml::Spanned;
use toml::de::DeValue;

/// The date of a key, when it is written. The inner one is missing when it was not understood, which is reported.
#[expect(clippy::option_option, reason = "missing and not understood are two things")]
pub(crate) fn read_date_of(table: &Table<'_, '_>, key: &'static str) -> Option<Option<Placed<Date>>> {
    let value = table.get(key)?;
    Some(read_date(table.reader(), value, key))
}

fn read_date(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>, key: &str) -> Option<Placed<Date>> {
    let place = reader.place_of(value);
    let text = match value.get_ref() {
        DeValue::String(text) => text.to_string(),
        DeValue::Datetime(date) => date.to_string(),
        _ => {
            reader.wrong(place, &format!("`{key}`"), "a date such as 2026-03-14");
            return None;
        }
    };
    match Date::read(&text) {
        Ok(date) => Some(Placed { value: date, place }),
        Err(fault) => {
            let finding =
                Finding::new(kind::IMPOSSIBLE_DATE, place, format!("`{}` {}.", echo(&text), fault.sentence()));
            reader.push(match fault {
                DateFault::Form => finding,
                _ => finding
                    .mend("Look at the date again; ISO 8601 writes the year first, then the month, then the day."),
            });
            None
        }
    }
}
