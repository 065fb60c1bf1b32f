//! The `trial-series` block: formulas that were tried one after another, what was changed and seen each time, and which one was chosen.
//!
//! Keys: `question`; `base`, the formula that trials start from; `[wanted]` with what a measured value should be; `[[trial]]` with `formula`, `record`, `date`,
//! `changed`, `observed` and `[trial.measured]`, any values by names of the author's; `[choice]` with `trial`, `reason` and `date`.

use super::date::read_date_of;
use super::formula::{is_id, read_reference};
use super::reader::{Placed, Reader, Table, flat, number_finding, number_text};
use crate::quantity::{Date, Decimal, NumberFault, read_decimal, split_number};
use crate::report::{Finding, echo, kind};
use serde::Serialize;
use toml::Spanned;
use toml::de::DeValue;

/// A series of trials as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TrialSeriesBlock {
    /// What the series is to find out.
    pub question: Option<String>,
    /// The formula that trials start from, where they do not say it themselves.
    pub base: Option<Placed<String>>,
    /// What measured values should be.
    pub wanted: Vec<TrialReading>,
    /// The trials in the order written.
    pub trials: Vec<TrialBlock>,
    /// The trial that was chosen.
    pub choice: Option<ChoiceBlock>,
}

/// A trial.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TrialBlock {
    /// The formula that was tried.
    pub formula: Placed<String>,
    /// The batch record of it.
    pub record: Option<Placed<String>>,
    /// The day.
    pub date: Option<Placed<Date>>,
    /// What was changed, in the author's words.
    pub changed: Option<String>,
    /// What was seen.
    pub observed: Option<String>,
    /// What was measured.
    pub measured: Vec<TrialReading>,
}

/// A value by its name: measured, or wanted of what is measured.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TrialReading {
    /// What it is, "viscosity".
    pub name: Placed<String>,
    /// From where it goes; none where only its upper end is said.
    pub low: Option<Decimal>,
    /// Up to where it goes.
    pub high: Option<Decimal>,
    /// Its unit, or empty.
    pub unit: String,
}

/// What was chosen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ChoiceBlock {
    /// The trial, by its formula.
    pub trial: Placed<String>,
    /// Why.
    pub reason: Option<String>,
    /// The day.
    pub date: Option<Placed<Date>>,
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<TrialSeriesBlock> {
    let question = table.text("question").map(|text| text.value);
    let base = flat(table.get("base").map(|_| table.text("base")));
    let wanted = table.table("wanted").map_or_else(|| Some(Vec::new()), |table| read_readings(&table, true));
    let tables = table.tables("trial");
    if tables.is_empty() && table.get("trial").is_none() {
        reader.push(
            Finding::new(kind::MISSING_KEY, reader.cutting.head(), "The series has no `[[trial]]`.")
                .mend("Write each trial as `[[trial]]` with its `formula` and what was `observed`."),
        );
    }
    // All mistakes at once: each is read before any is given up.
    let trials: Vec<Option<TrialBlock>> = tables.iter().map(|one| read_trial(reader, one)).collect();
    let choice = flat(table.table("choice").map(|one| read_choice(reader, &one)));
    let (wanted, trials) = (wanted?, trials.into_iter().collect::<Option<Vec<_>>>()?);
    let (one_unit, different) = (have_one_unit(reader, &wanted, &trials), are_different(reader, &trials));
    if trials.is_empty() || !one_unit || !different {
        return None;
    }
    Some(TrialSeriesBlock { question, base: base?, wanted, trials, choice: choice? })
}

fn read_trial(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<TrialBlock> {
    let formula = reference_in(reader, table, "formula", "The trial");
    let record = flat(table.get("record").map(|_| table.text("record")));
    let date = flat(read_date_of(table, "date"));
    let (changed, observed) = (table.text("changed"), table.text("observed"));
    let measured = table.table("measured").map_or_else(|| Some(Vec::new()), |table| read_readings(&table, false));
    table.finish();
    let said = |text: Option<Placed<String>>| text.map(|text| text.value).filter(|text| !text.trim().is_empty());
    Some(TrialBlock {
        formula: formula?,
        record: record?,
        date: date?,
        changed: said(changed),
        observed: said(observed),
        measured: measured?,
    })
}

fn read_choice(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<ChoiceBlock> {
    let trial = reference_in(reader, table, "trial", "The choice");
    let reason = table.text("reason").map(|text| text.value).filter(|text| !text.trim().is_empty());
    let date = flat(read_date_of(table, "date"));
    table.finish();
    Some(ChoiceBlock { trial: trial?, reason, date: date? })
}

/// A reference in a table within the block; what is missing is told at that table.
fn reference_in(reader: &Reader<'_>, table: &Table<'_, '_>, key: &'static str, what: &str) -> Option<Placed<String>> {
    if table.get(key).is_some() {
        return read_reference(reader, table, key);
    }
    reader.push(
        Finding::new(kind::MISSING_KEY, table.place().clone(), format!("{what} has no `{key}`."))
            .mend(format!("Name the formula by its id: `{key} = \"barley-wash-salt-1\"`.")),
    );
    None
}

/// Values by names of the author's.
fn read_readings(table: &Table<'_, '_>, is_wanted: bool) -> Option<Vec<TrialReading>> {
    let reader = table.reader();
    let all: Vec<Option<TrialReading>> = table
        .names()
        .into_iter()
        .map(|(name, value)| {
            if !is_id(&name.value) {
                reader.wrong(
                    name.place.clone(),
                    "The name of a measured value",
                    "of lower-case letters, digits and hyphens, such as `viscosity` or `foam-height`",
                );
                return None;
            }
            read_value(reader, name, value, is_wanted)
        })
        .collect();
    all.into_iter().collect()
}

fn read_value(
    reader: &Reader<'_>,
    name: Placed<String>,
    value: &Spanned<DeValue<'_>>,
    is_wanted: bool,
) -> Option<TrialReading> {
    let place = reader.place_of(value);
    let what = format!("`{}`", echo(&name.value));
    let wanted = if is_wanted {
        "written \"3000..5000 mPa·s\", \"at least 3000 mPa·s\" or \"at most 5.5\""
    } else {
        "a number with its unit, \"1200 mPa·s\", a span, \"1150..1250 mPa·s\", or a number alone; words belong to `observed`"
    };
    let text = match (value.get_ref().as_str(), number_text(value.get_ref())) {
        (Some(text), _) | (None, Some(text)) => text.trim(),
        (None, None) => {
            reader.wrong(place, &what, wanted);
            return None;
        }
    };
    let sided = |word: &str| text.strip_prefix(word).map(str::trim).filter(|_| is_wanted);
    let (low, high) = match (sided("at least"), sided("at most")) {
        (Some(low), _) => (Some(low), None),
        (None, Some(high)) => (None, Some(high)),
        (None, None) => match text.split_once("..").or_else(|| text.split_once('–')) {
            Some((low, high)) => (Some(low), Some(high)),
            None => (Some(text), Some(text)),
        },
    };
    // Both ends are read before either is given up.
    let read = (low.map(read_end), high.map(read_end));
    let ((low, of_low), (high, of_high)) = match (whole(read.0), whole(read.1)) {
        (Ok(low), Ok(high)) => (low, high),
        (Err(fault @ (NumberFault::AmbiguousComma | NumberFault::Thousands)), _)
        | (_, Err(fault @ (NumberFault::AmbiguousComma | NumberFault::Thousands))) => {
            reader.push(number_finding(fault, text, &place));
            return None;
        }
        _ => {
            reader.wrong(place, &what, wanted);
            return None;
        }
    };
    let unit = if of_high.is_empty() { of_low } else { of_high };
    let ends = low.zip(high);
    if ends.is_some_and(|(low, high)| low > high) || (!of_low.is_empty() && of_low != unit) {
        reader.wrong(place, &what, "from its lower to its upper end, both in one unit");
        return None;
    }
    Some(TrialReading { name, low, high, unit: unit.to_owned() })
}

/// An end of a span that is not said is open.
fn whole(end: Option<Result<(Decimal, &str), NumberFault>>) -> Result<(Option<Decimal>, &str), NumberFault> {
    match end {
        None => Ok((None, "")),
        Some(end) => end.map(|(number, unit)| (Some(number), unit)),
    }
}

/// A number with its unit.
fn read_end(text: &str) -> Result<(Decimal, &str), NumberFault> {
    let (number, unit) = split_number(text);
    let number = read_decimal(number)?;
    // Two numbers with a hyphen are a span in other hands; here it is written with two points.
    let is_span = unit
        .strip_prefix(['-', '−', '–'])
        .is_some_and(|rest| rest.trim_start().starts_with(|c: char| c.is_ascii_digit()));
    let is_odd = is_span || unit.starts_with(|c: char| c.is_ascii_digit()) || unit.chars().any(char::is_control);
    if is_odd || looks_like_an_exponent(unit) { Err(NumberFault::Malformed) } else { Ok((number, unit)) }
}

/// "1e3" and "0x10" are numbers in another form, and none in these units.
fn looks_like_an_exponent(unit: &str) -> bool {
    let mut letters = unit.chars();
    matches!(letters.next(), Some('e' | 'E' | 'x'))
        && letters.next().is_some_and(|next| next.is_ascii_digit() || next == '-')
}

/// Whether every value of a name has the unit of the first one. Values in two units do not stand in one column.
fn have_one_unit(reader: &Reader<'_>, wanted: &[TrialReading], trials: &[TrialBlock]) -> bool {
    let mut first: Vec<&TrialReading> = Vec::new();
    let mut have = true;
    for reading in wanted.iter().chain(trials.iter().flat_map(|trial| &trial.measured)) {
        let Some(known) = first.iter().find(|known| known.name.value == reading.name.value) else {
            first.push(reading);
            continue;
        };
        if known.unit == reading.unit {
            continue;
        }
        let shown = |unit: &str| if unit.is_empty() { "no unit".to_owned() } else { format!("`{}`", echo(unit)) };
        let name = echo(&reading.name.value);
        let what = format!("This {name} has {}, and the first one has {}.", shown(&reading.unit), shown(&known.unit));
        reader.push(
            Finding::new(kind::WRONG_VALUE, reading.name.place.clone(), what)
                .mend("Write all values of one name in one unit."),
        );
        have = false;
    }
    have
}

/// Whether every trial is of a formula of its own.
fn are_different(reader: &Reader<'_>, trials: &[TrialBlock]) -> bool {
    let mut are = true;
    for (index, trial) in trials.iter().enumerate() {
        if trials.iter().take(index).any(|earlier| earlier.formula.value == trial.formula.value) {
            let what = format!("`{}` is tried here twice.", echo(&trial.formula.value));
            reader.push(Finding::new(kind::WRONG_VALUE, trial.formula.place.clone(), what).mend(
                "Write what was tried as a variant of its own. A second batch of one formula is a batch record; what was measured of both is a span.",
            ));
            are = false;
        }
    }
    are
}
