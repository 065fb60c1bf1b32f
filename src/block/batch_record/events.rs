//! What a batch record notes besides weights: the vessel on the balance, losses, top-ups, and readings.

use super::super::amount::{read_mass, read_ph, read_temperature};
use super::super::date::read_date_of;
use super::super::reader::{Placed, Reader, Table, flat};
use super::super::titration::{ReadingOf, read_reading, read_resolution};
use super::{all, read_lot};
use crate::quantity::{Date, Decimal, Mass, Ph, Temperature, read_decimal};
use crate::report::{Finding, kind};
use serde::Serialize;

/// The vessel on the balance.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct GrossBlock {
    /// The phase after which; none for the end.
    pub after: Option<Placed<String>>,
    /// The vessel with what is in it.
    pub weight: Placed<Mass>,
}

/// How something leaves a vessel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LossKind {
    /// As steam: of one raw material, as a rule the water.
    Evaporation,
    /// Spilt: some of everything.
    Spill,
    /// Taken out to be looked at: some of everything.
    Sample,
}

impl LossKind {
    /// As it is written.
    pub fn word(self) -> &'static str {
        match self {
            LossKind::Evaporation => "evaporation",
            LossKind::Spill => "spill",
            LossKind::Sample => "sample",
        }
    }
}

/// What left the vessel.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LossBlock {
    /// How.
    pub what: Placed<LossKind>,
    /// How much.
    pub weight: Placed<Mass>,
    /// The raw material that evaporated; none for water.
    pub of: Option<Placed<String>>,
    /// The phase after which; none for the end.
    pub after: Option<Placed<String>>,
    /// A remark.
    pub note: Option<String>,
}

/// What was put back or on top.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TopUpBlock {
    /// The raw material.
    pub with: Placed<String>,
    /// How much.
    pub weight: Placed<Mass>,
    /// The phase after which; none for the end.
    pub after: Option<Placed<String>>,
    /// Its lot.
    pub lot: Option<Placed<String>>,
}

/// A reading of the pH.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PhReading {
    /// The pH as it was read, with the digits that were read.
    pub ph: Placed<Ph>,
    /// How, when it is stated.
    pub reading: Option<Placed<ReadingOf>>,
    /// The smallest step of the meter or strip, when it is stated.
    pub resolution: Option<Decimal>,
    /// "meter", "strip", or whatever it was.
    pub with: Option<String>,
    /// The day, where it is not that of the record.
    pub date: Option<Placed<Date>>,
    /// The temperature.
    pub at: Option<Temperature>,
}

/// A reading of the viscosity.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ViscosityReading {
    /// With its unit, as written.
    pub value: String,
    /// How it was measured.
    pub how: String,
    /// The day, where it is not that of the record.
    pub date: Option<Placed<Date>>,
}

fn missing<T>(reader: &Reader<'_>, table: &Table<'_, '_>, key: &'static str, what: &str, mend: &str) -> Option<T> {
    if table.get(key).is_none() {
        reader.push(Finding::new(kind::MISSING_KEY, table.place().clone(), what).mend(mend));
    }
    None
}

fn weight_of(reader: &Reader<'_>, table: &Table<'_, '_>, what: &str) -> Option<Placed<Mass>> {
    match table.text("weight") {
        Some(text) => Some(text.with(read_mass(reader, &text, "`weight`")?)),
        None => missing(reader, table, "weight", &format!("{what} has no `weight`."), "Write `weight = \"14 g\"`."),
    }
}

/// `gross = "2598 g"` for the end, or `[[gross]]` with `after` and `weight`.
pub(super) fn read_gross(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<Vec<GrossBlock>> {
    let Some(value) = table.get("gross") else { return Some(Vec::new()) };
    if value.get_ref().is_str() {
        let text = table.text("gross")?;
        return Some(vec![GrossBlock { after: None, weight: text.with(read_mass(reader, &text, "`gross`")?) }]);
    }
    let rows = table.tables("gross");
    let read = |one: &Table<'_, '_>| {
        let after = one.text("after");
        let weight = weight_of(reader, one, "This weight of the vessel");
        one.finish();
        Some(GrossBlock { after, weight: weight? })
    };
    all(rows.iter().map(read))
}

pub(super) fn read_loss(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<LossBlock> {
    let wanted = "\"evaporation\", \"spill\" or \"sample\"";
    let what = match table.text("what") {
        Some(text) => {
            let all = [LossKind::Evaporation, LossKind::Spill, LossKind::Sample];
            let found = all.into_iter().find(|known| known.word() == text.value.trim());
            if found.is_none() {
                reader.wrong(text.place.clone(), "`what` of a loss", wanted);
            }
            found.map(|found| text.with(found))
        }
        None => missing(reader, table, "what", "This loss does not say `what` it is.", &format!("Write {wanted}.")),
    };
    let weight = weight_of(reader, table, "This loss");
    let (of, after) = (table.text("of"), table.text("after"));
    let note = table.text("note").map(|note| note.value);
    table.finish();
    let what = what?;
    if let Some(of) = of.as_ref().filter(|_| what.value != LossKind::Evaporation) {
        reader.wrong(of.place.clone(), "`of`", "left out here: a spill or a sample takes some of everything");
        return None;
    }
    Some(LossBlock { what, weight: weight?, of, after, note })
}

pub(super) fn read_top_up(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<TopUpBlock> {
    let with = table.text("with");
    if with.is_none() {
        missing::<()>(reader, table, "with", "This top-up does not say `with` what.", "Write `with = \"water\"`.");
    }
    let weight = weight_of(reader, table, "This top-up");
    let after = table.text("after");
    let lot = flat(table.get("lot").map(|value| read_lot(reader, value, "`lot`")));
    table.finish();
    Some(TopUpBlock { with: with?, weight: weight?, after, lot: lot? })
}

/// The keys of a reading of the pH.
pub(super) const PH_FIELDS: [&str; 6] = ["value", "date", "dilution", "resolution", "with", "at"];

pub(super) fn read_ph_reading(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<PhReading> {
    let ph = match table.get("value") {
        Some(value) => {
            let place = reader.place_of(value);
            read_ph(reader, value).and_then(|span| {
                if span.low != span.high {
                    reader.wrong(place.clone(), "A reading", "one pH, such as \"4.85\"");
                    return None;
                }
                Some(Placed { value: span.low, place })
            })
        }
        None => missing(
            reader,
            table,
            "value",
            "This reading has no `value`.",
            "Write the pH that was read: `value = \"4.85\"`.",
        ),
    };
    let reading = flat(table.get("dilution").map(|value| match percent_dilution(value.get_ref().as_str()) {
        Some(reading) => Some(Placed { value: reading, place: reader.place_of(value) }),
        None => read_reading(reader, value, table),
    }));
    let resolution = flat(table.get("resolution").map(|value| read_resolution(reader, value)));
    let with = table.text("with").map(|with| with.value);
    let date = flat(read_date_of(table, "date"));
    let at = flat(table.text("at").map(|text| read_temperature(reader, &text)));
    table.finish();
    Some(PhReading { ph: ph?, reading: reading?, resolution: resolution?, with, date: date?, at: at? })
}

/// A dilution as `"10 %"`: so many grams of product in a hundred of the dilution.
pub(in crate::block) fn percent_dilution(text: Option<&str>) -> Option<ReadingOf> {
    let number = text?.trim().strip_suffix('%')?;
    let percent = read_decimal(number.trim_end()).ok()?;
    let is_dilution = Decimal::ZERO < percent && percent < Decimal::ONE_HUNDRED;
    let water = Mass::from_grams(Decimal::ONE_HUNDRED - percent);
    is_dilution.then(|| ReadingOf::Diluted { product: Mass::from_grams(percent), water })
}

/// The keys of a reading of the viscosity.
pub(super) const VISCOSITY_FIELDS: [&str; 3] = ["value", "how", "date"];

pub(super) fn read_viscosity(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<ViscosityReading> {
    let (value, how) = (table.text_or_number("value"), table.text("how"));
    let date = flat(read_date_of(table, "date"));
    table.finish();
    if value.is_none() {
        missing::<()>(
            reader,
            table,
            "value",
            "This reading has no `value`.",
            "Write it with its unit: `value = \"3200 mPa·s\"`.",
        );
    }
    if how.is_none() {
        let mend =
            "A viscosity says nothing without it: `how = \"spindle 3, 20 rpm, 20 °C\"`, or `\"flow cup, 4 mm\"`.";
        missing::<()>(reader, table, "how", "This viscosity does not say `how` it was measured.", mend);
    }
    Some(ViscosityReading { value: value?.value, how: how?.value, date: date? })
}
