//! The `stability` block: what was seen of a product over time, in the conditions that the author names.
//!
//! Keys: `of`, a formula or a batch record; `start` and `ended`; `packaging`; `rest`, how long it must rest before a reading counts; `[conditions]` by name, in words or
//! as `{ is, checks }`; `checks`, when it is looked at; `[specification]` with `ph`, `viscosity`, `weight-change`, `colour`, `odour`, `separation`; `[measured]`, how it
//! was measured; `preservation`, what was tested of it; `[[observation]]` with `date` or `after`, `condition`, what was read and seen, and a `note`.

mod observation;

use super::amount::{PhSpan, read_percent, read_ph};
use super::batch_record::percent_dilution;
use super::date::read_date_of;
use super::formula::read_reference;
use super::reader::{Placed, Reader, Table, as_table, flat, number_text};
use super::rows::{are_in_file, read_rows};
use super::titration::{ReadingOf, read_reading, read_resolution};
use crate::quantity::{Date, Decimal, Elapsed, Percent, read_decimal, split_number};
use crate::report::{Finding, echo, kind};
pub use observation::{ObservationBlock, When};
use serde::Serialize;
use toml::Spanned;
use toml::de::DeValue;

/// A stability log as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StabilityBlock {
    /// The formula or batch record.
    pub of: Placed<String>,
    /// What it is called on the page.
    pub title: Option<String>,
    /// The day from which time is counted; that of the record when it is left out.
    pub start: Option<Placed<Date>>,
    /// The day on which it was ended; nothing is due after it.
    pub ended: Option<Placed<Date>>,
    /// What the product stands in.
    pub packaging: Option<String>,
    /// How long it rests before a reading counts.
    pub rest: Option<Placed<Elapsed>>,
    /// When it is looked at, where a condition does not say it.
    pub checks: Vec<Placed<Elapsed>>,
    /// Where it stands.
    pub conditions: Vec<ConditionBlock>,
    /// What it has to be.
    pub specification: SpecificationBlock,
    /// How it was measured.
    pub measured: MeasuredBlock,
    /// What was tested of its preservation.
    pub preservation: Option<PreservationBlock>,
    /// What was seen, in the order written.
    pub observations: Vec<ObservationBlock>,
}

/// A condition.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ConditionBlock {
    /// Its name.
    pub key: Placed<String>,
    /// What it is, in the author's words.
    pub is: String,
    /// Its own checks.
    pub checks: Option<Vec<Placed<Elapsed>>>,
}

/// What a product has to be.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct SpecificationBlock {
    /// Its pH.
    pub ph: Option<PhSpan>,
    /// Its viscosity, from one end to the other, with the unit.
    pub viscosity: Option<(Decimal, Decimal, String)>,
    /// How much weight a pack may lose or gain.
    pub weight_change: Option<Percent>,
    /// What it may look like.
    pub colour: Vec<String>,
    /// What it may smell of.
    pub odour: Vec<String>,
    /// What may be seen of a separation.
    pub separation: Vec<String>,
}

/// How a product was measured.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct MeasuredBlock {
    /// In what the pH was read.
    pub reading: Option<ReadingOf>,
    /// With what.
    pub with: Option<String>,
    /// The step of meter or strip.
    pub resolution: Option<Decimal>,
    /// How the viscosity was measured.
    pub viscosity: Option<String>,
}

/// What was tested of a product's preservation: only what the author states.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PreservationBlock {
    /// The test, "ISO 11930".
    pub test: Option<String>,
    /// What came of it.
    pub result: TestResult,
    /// The day of the report.
    pub date: Option<Date>,
    /// A remark.
    pub note: Option<String>,
}

/// What came of a test.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum TestResult {
    /// It was not done.
    NotTested,
    /// It is under way.
    UnderWay,
    /// It was passed.
    Passed,
    /// It was failed.
    Failed,
}

impl TestResult {
    /// As it is written.
    pub fn word(self) -> &'static str {
        match self {
            TestResult::NotTested => "not tested",
            TestResult::UnderWay => "under way",
            TestResult::Passed => "passed",
            TestResult::Failed => "failed",
        }
    }
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<StabilityBlock> {
    let of = read_reference(reader, table, "of");
    let title = table.text("title").map(|text| text.value);
    let (start, ended) = (flat(read_date_of(table, "start")), flat(read_date_of(table, "ended")));
    let packaging = table.text("packaging").map(|text| text.value);
    let rest = flat(table.text("rest").map(|text| read_elapsed(reader, text, "`rest`")));
    let checks = read_checks(reader, table);
    let conditions = read_conditions(reader, table);
    let specification = table.table("specification").map_or_else(
        || Some(SpecificationBlock::default()),
        |table| {
            let read = read_specification(reader, &table);
            table.finish();
            read
        },
    );
    let measured = table.table("measured").map_or_else(
        || Some(MeasuredBlock::default()),
        |table| {
            let read = read_measured(reader, &table);
            table.finish();
            read
        },
    );
    let preservation = flat(table.get("preservation").map(|value| read_preservation(reader, value)));
    // All mistakes at once: each is read before any is given up.
    let observations: Vec<Option<Vec<ObservationBlock>>> = table
        .tables("observation")
        .iter()
        .map(|one| {
            let read = |one: &Table<'_, '_>| observation::read(one)?.understood(one.reader());
            if are_in_file(one) { read_rows(one, &observation::FIELDS, read) } else { Some(vec![read(one)?]) }
        })
        .collect();
    let (conditions, specification, measured) = (conditions?, specification?, measured?);
    let observations: Vec<ObservationBlock> =
        observations.into_iter().collect::<Option<Vec<_>>>()?.into_iter().flatten().collect();
    if let Some(one) =
        observations.iter().find_map(|one| one.viscosity.as_ref()).filter(|_| measured.viscosity.is_none())
    {
        let what = "The log does not say how the viscosity was measured.";
        let mend = "A viscosity says nothing without it: `[measured]` with `viscosity = \"spindle 3, 20 rpm, 20 °C\"`.";
        reader.push(Finding::new(kind::MISSING_KEY, one.place.clone(), what).mend(mend));
    }
    Some(StabilityBlock {
        of: of?,
        title,
        start: start?,
        ended: ended?,
        packaging,
        rest: rest?,
        checks: checks?,
        conditions,
        specification,
        measured,
        preservation: preservation?,
        observations,
    })
}

fn read_elapsed(reader: &Reader<'_>, text: Placed<String>, what: &str) -> Option<Placed<Elapsed>> {
    let read = Elapsed::read(&text.value);
    if read.is_none() {
        reader.wrong(
            text.place.clone(),
            what,
            "a length of time such as \"24 h\", \"1 d\", \"4 weeks\", \"3 months\" or \"P4W\"",
        );
    }
    read.map(|elapsed| text.with(elapsed))
}

fn read_checks(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<Vec<Placed<Elapsed>>> {
    let checks: Vec<_> =
        table.texts("checks").into_iter().map(|text| read_elapsed(reader, text, "Each of the `checks`")).collect();
    checks.into_iter().collect()
}

fn read_conditions(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<Vec<ConditionBlock>> {
    let Some(all) = table.table("conditions").filter(|all| all.entries().next().is_some()) else {
        if table.get("conditions").is_none_or(|value| value.get_ref().is_table()) {
            let what = "The log does not say where the product stood.";
            let mend = "Name each place and say what it is: `[conditions]` with `room = \"20 to 24 °C, in the dark\"`.";
            reader.push(Finding::new(kind::MISSING_KEY, reader.cutting.head(), what).mend(mend));
        }
        return None;
    };
    let conditions: Vec<Option<ConditionBlock>> = all
        .names()
        .into_iter()
        .map(|(key, value)| {
            if !super::formula::is_id(&key.value) {
                reader.wrong(
                    key.place.clone(),
                    "The name of a condition",
                    "of lower-case letters, digits and hyphens, such as `cold` or `freeze-thaw`",
                );
                return None;
            }
            if let Some(words) = value.get_ref().as_str() {
                return Some(ConditionBlock { key, is: words.to_owned(), checks: None });
            }
            let inner = as_table(reader, &key.value, value)?;
            let is = inner.text("is").map(|text| text.value);
            if is.is_none() {
                let what = format!("`{}` does not say what it `is`.", echo(&key.value));
                reader.push(Finding::new(kind::MISSING_KEY, key.place.clone(), what).mend("Write `is = \"40 °C\"`."));
            }
            let checks = if inner.get("checks").is_some() { read_checks(reader, &inner).map(Some) } else { Some(None) };
            inner.finish();
            Some(ConditionBlock { key, is: is?, checks: checks? })
        })
        .collect();
    conditions.into_iter().collect()
}

fn read_specification(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<SpecificationBlock> {
    let ph = flat(table.get("ph").map(|value| read_ph(reader, value)));
    let viscosity = flat(table.text("viscosity").map(|text| {
        let read = read_span(&text.value);
        if read.is_none() {
            reader.wrong(text.place.clone(), "`viscosity`", "a span with its unit, such as \"3000..6000 mPa·s\"");
        }
        read
    }));
    let weight_change = flat(table.get("weight-change").map(|value| read_percent(reader, value, "`weight-change`")));
    let words = |key: &'static str| match table.get(key).map(|value| value.get_ref().is_str()) {
        Some(true) => table.text(key).map(|text| text.value).into_iter().collect(),
        _ => table.texts(key).into_iter().map(|text| text.value).collect::<Vec<String>>(),
    };
    let (colour, odour, separation) = (words("colour"), words("odour"), words("separation"));
    Some(SpecificationBlock {
        ph: ph?,
        viscosity: viscosity?,
        weight_change: weight_change?,
        colour,
        odour,
        separation,
    })
}

/// "3000..6000 mPa·s": two numbers and a unit.
fn read_span(text: &str) -> Option<(Decimal, Decimal, String)> {
    let (low, rest) = text.split_once("..").or_else(|| text.split_once('–'))?;
    let (high, unit) = split_number(rest);
    let (low, high) = (read_decimal(low).ok()?, read_decimal(high).ok()?);
    (low <= high && !unit.is_empty()).then(|| (low, high, unit.to_owned()))
}

fn read_measured(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<MeasuredBlock> {
    let viscosity = table.text("viscosity").map(|text| text.value);
    let Some(ph) = table.table("ph") else {
        return Some(MeasuredBlock { viscosity, ..MeasuredBlock::default() });
    };
    let reading = flat(ph.get("dilution").map(|value| match percent_dilution(value.get_ref().as_str()) {
        Some(reading) => Some(reading),
        None => read_reading(reader, value, &ph).map(|reading| reading.value),
    }));
    let resolution = flat(ph.get("resolution").map(|value| read_resolution(reader, value)));
    let with = ph.text("with").map(|with| with.value);
    ph.finish();
    Some(MeasuredBlock { reading: reading?, with, resolution: resolution?, viscosity })
}

/// `"not tested"`, or `{ test = "ISO 11930", result = "passed", date = 2026-05-04 }`.
fn read_preservation(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>) -> Option<PreservationBlock> {
    let wanted = "\"not tested\", \"under way\", \"passed\" or \"failed\"";
    let result_of = |text: &str| {
        let all = [TestResult::NotTested, TestResult::UnderWay, TestResult::Passed, TestResult::Failed];
        all.into_iter().find(|known| known.word() == text.trim())
    };
    let bare = |result| PreservationBlock { test: None, result, date: None, note: None };
    if !value.get_ref().is_table() {
        // "Passed" alone would not say what.
        let read = value.get_ref().as_str().and_then(result_of).filter(|result| *result == TestResult::NotTested);
        if read.is_none() {
            let wanted = "\"not tested\", or `{ test = \"ISO 11930\", result = \"passed\", date = 2026-05-04 }`";
            reader.wrong(reader.place_of(value), "`preservation`", wanted);
        }
        return read.map(bare);
    }
    let table = as_table(reader, "preservation", value)?;
    let test = table.text("test").map(|text| text.value);
    let date = flat(read_date_of(&table, "date"));
    let note = table.text("note").map(|text| text.value);
    let result = match table.text("result") {
        Some(text) => {
            let found = result_of(&text.value);
            if found.is_none() {
                reader.wrong(text.place, "`result`", wanted);
            }
            found
        }
        None => {
            let what = "The test of the preservation has no `result`.";
            reader.push(Finding::new(kind::MISSING_KEY, reader.place_of(value), what).mend(format!("Write {wanted}.")));
            None
        }
    };
    table.finish();
    let result = result?;
    if test.is_none() && result != TestResult::NotTested {
        let what = "It is not said which test this is the result of.";
        reader
            .push(Finding::new(kind::MISSING_KEY, reader.place_of(value), what).mend("Write `test = \"ISO 11930\"`."));
        return None;
    }
    Some(PreservationBlock { test, result, date: date?.map(|date| date.value), note })
}

/// A number in a text or by itself.
fn text_of(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>) -> Option<Placed<String>> {
    let text = match value.get_ref() {
        DeValue::String(text) => text.to_string(),
        DeValue::Datetime(date) => date.to_string(),
        other => number_text(other)?.to_owned(),
    };
    Some(Placed { value: text, place: reader.place_of(value) })
}
