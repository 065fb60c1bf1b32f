//! One look at a product: when, where, and what was read and seen. Its fields are texts first, whether they stand in the block or in a file beside the notebook.

use super::super::amount::{Amount, read_amount_text};
use super::super::reader::{Placed, Reader, Table, number_finding};
use super::{read_elapsed, text_of};
use crate::quantity::{Date, DateFault, Decimal, Elapsed, Mass, Ph, read_decimal, split_number};
use crate::report::{Finding, Place, echo, kind};
use serde::Serialize;

/// An observation as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ObservationBlock {
    /// Where it stands.
    #[serde(skip)]
    pub place: Place,
    /// When it was made.
    pub when: When,
    /// In which condition; none for all of them, before they were parted.
    pub condition: Option<Placed<String>>,
    /// The pH as it was read, with its digits.
    pub ph: Option<Placed<Decimal>>,
    /// The viscosity and its unit, or "".
    pub viscosity: Option<Placed<(Decimal, String)>>,
    /// What the pack weighed.
    pub weight: Option<Placed<Mass>>,
    /// What it looked like.
    pub colour: Option<Placed<String>>,
    /// What it smelt of.
    pub odour: Option<Placed<String>>,
    /// What was seen of a separation.
    pub separation: Option<Placed<String>>,
    /// A remark.
    pub note: Option<String>,
}

/// When an observation was made.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum When {
    /// On a day.
    On(Placed<Date>),
    /// So long after the start.
    After(Placed<Elapsed>),
}

/// The names of the fields, as in the block.
pub(super) const FIELDS: [&str; 10] =
    ["date", "after", "condition", "ph", "viscosity", "weight", "colour", "odour", "separation", "note"];

/// The fields of an observation as texts, by name.
pub(super) struct Texts {
    /// Where it stands.
    pub place: Place,
    /// Those that are there.
    pub fields: Vec<(&'static str, Placed<String>)>,
}

/// The fields of an observation in the block; nothing when one of them is no text and no number.
pub(super) fn read(table: &Table<'_, '_>) -> Option<Texts> {
    let reader = table.reader();
    let mut fields = Vec::new();
    let mut is_whole = true;
    for name in FIELDS {
        let Some(value) = table.get(name) else { continue };
        match text_of(reader, value) {
            Some(text) => fields.push((name, text)),
            None => {
                reader.wrong(reader.place_of(value), &format!("`{name}`"), "a text or a number");
                is_whole = false;
            }
        }
    }
    table.finish();
    is_whole.then(|| Texts { place: table.place().clone(), fields })
}

impl Texts {
    fn get(&self, name: &str) -> Option<&Placed<String>> {
        self.fields.iter().find(|(known, _)| *known == name).map(|(_, text)| text)
    }

    /// The observation that the texts mean; what is not understood is reported.
    pub(super) fn understood(&self, reader: &Reader<'_>) -> Option<ObservationBlock> {
        let when = self.when(reader);
        let ph = self.read("ph", |text| read_ph(reader, text));
        let viscosity = self.read("viscosity", |text| read_viscosity(reader, text));
        let weight = self.read("weight", |text| read_weight(reader, text));
        let words = |name: &str| self.get(name).filter(|text| !text.value.trim().is_empty()).cloned();
        let seen = ["ph", "viscosity", "weight", "colour", "odour", "separation", "note"];
        if !seen.iter().any(|name| words(name).is_some()) {
            let what = "This observation says nothing that was read or seen.";
            let mend = "Write what was seen: `ph = \"4.85\"`, `colour = \"pale straw\"`, or a `note`.";
            reader.push(Finding::new(kind::MISSING_KEY, self.place.clone(), what).mend(mend));
            return None;
        }
        Some(ObservationBlock {
            place: self.place.clone(),
            when: when?,
            condition: words("condition"),
            ph: ph?,
            viscosity: viscosity?,
            weight: weight?,
            colour: words("colour"),
            odour: words("odour"),
            separation: words("separation"),
            note: words("note").map(|text| text.value),
        })
    }

    #[expect(clippy::option_option, reason = "missing and not understood are two things")]
    fn read<T>(&self, name: &str, read: impl Fn(&Placed<String>) -> Option<T>) -> Option<Option<Placed<T>>> {
        match self.get(name).filter(|text| !text.value.trim().is_empty()) {
            None => Some(None),
            Some(text) => read(text).map(|value| Some(text.with(value))),
        }
    }

    fn when(&self, reader: &Reader<'_>) -> Option<When> {
        match (self.get("date"), self.get("after")) {
            (Some(date), None) => read_date(reader, date).map(|read| When::On(date.with(read))),
            (None, Some(after)) => read_elapsed(reader, after.clone(), "`after`").map(When::After),
            (Some(_), Some(after)) => {
                let what = "This observation has a `date` and says how long `after` the start it was.";
                reader.push(Finding::new(kind::WRONG_VALUE, after.place.clone(), what).mend("Leave one of them out."));
                None
            }
            (None, None) => {
                let what = "This observation does not say when it was made.";
                let mend = "Write `date = 2026-03-14`, or `after = \"4 weeks\"`.";
                reader.push(Finding::new(kind::MISSING_KEY, self.place.clone(), what).mend(mend));
                None
            }
        }
    }
}

fn read_date(reader: &Reader<'_>, text: &Placed<String>) -> Option<Date> {
    match Date::read(&text.value) {
        Ok(date) => Some(date),
        Err(fault) => {
            let what = format!("`{}` {}.", echo(&text.value), fault.sentence());
            let finding = Finding::new(kind::IMPOSSIBLE_DATE, text.place.clone(), what);
            reader.push(match fault {
                DateFault::Form => finding,
                _ => finding
                    .mend("Look at the date again; ISO 8601 writes the year first, then the month, then the day."),
            });
            None
        }
    }
}

fn read_ph(reader: &Reader<'_>, text: &Placed<String>) -> Option<Decimal> {
    let number = text.value.trim().trim_start_matches("pH").trim();
    match read_decimal(number) {
        Ok(ph) if Ph::new(ph).is_some() => Some(ph),
        Ok(_) => {
            reader.wrong(text.place.clone(), "A pH", "between 0 and 14, such as \"4.85\"");
            None
        }
        Err(fault) => {
            reader.push(number_finding(fault, &text.value, &text.place));
            None
        }
    }
}

fn read_viscosity(reader: &Reader<'_>, text: &Placed<String>) -> Option<(Decimal, String)> {
    let (number, unit) = split_number(&text.value);
    match read_decimal(number) {
        Ok(number) if number >= Decimal::ZERO => Some((number, unit.to_owned())),
        Ok(_) => {
            reader.wrong(text.place.clone(), "A viscosity", "a number with its unit, such as \"3200 mPa·s\"");
            None
        }
        Err(fault) => {
            reader.push(number_finding(fault, &text.value, &text.place));
            None
        }
    }
}

fn read_weight(reader: &Reader<'_>, text: &Placed<String>) -> Option<Mass> {
    match read_amount_text(reader, &text.value, &text.place) {
        Amount::Mass { mass, .. } if mass > Mass::ZERO => Some(mass),
        Amount::Unknown => None,
        _ => {
            reader.wrong(text.place.clone(), "What a pack weighs", "a weight with its unit, such as \"251.3 g\"");
            None
        }
    }
}
