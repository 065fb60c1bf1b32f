//! The `batch-record` block: what was really weighed, measured and seen when a formula was made on a date.
//!
//! Keys: `formula` and `version`; `date`, `operator`, `batch-number`, `equipment`, how it was `cleaned`; `batch` as planned, `tolerance`; `[weighed]` with weights by raw material (`"60.1 g"`, several in a list, or
//! `{ weight, lot, note }`, in a list too where there is more than one lot; `"B/water"` where a raw material stands in two phases), and `rest = "as planned"` for those that are not named; `lots` by raw material;
//! `tare` and `gross` (or `[[gross]]` with `after`); `[[loss]]`, `[[top-up]]`, `[[ph]]`, `[[viscosity]]`, `[[check]]`; `yield`; `retained`; `went-wrong`; `[release]`; `blank = true` for one to be filled in by hand.

mod events;
mod papers;

use super::amount::{Amount, read_amount_text, read_mass, read_percent};
use super::date::read_date_of;
use super::formula::read_reference;
use super::reader::{Placed, Reader, Table, as_table, flat, number_text};
use super::rows::{are_in_file, read_rows};
use crate::quantity::{Date, Decimal, Mass, Percent};
use crate::report::{Finding, Place, echo, kind};
pub(super) use events::percent_dilution;
pub use events::{GrossBlock, LossBlock, LossKind, PhReading, TopUpBlock, ViscosityReading};
pub use papers::{CheckBlock, Decision, ReleaseBlock};
use serde::Serialize;
use toml::Spanned;
use toml::de::DeValue;

/// A batch record as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct BatchRecordBlock {
    /// The formula that was made.
    pub formula: Placed<String>,
    /// The version that was weighed by.
    pub version: Option<Placed<String>>,
    /// Whether it is to be filled in by hand.
    pub is_blank: bool,
    /// The day; always there but in a blank record.
    pub date: Option<Placed<Date>>,
    /// Who made it: initials.
    pub operator: Option<String>,
    /// The number under which the batch is found again.
    pub batch_number: Option<Placed<String>>,
    /// What it was made in and with.
    pub equipment: Vec<String>,
    /// How bench and equipment were cleaned, and cleared of what was made before.
    pub cleaned: Option<String>,
    /// How much was planned, where it is not the formula's batch.
    pub batch: Option<Mass>,
    /// How far a weight may be off, % of the planned one.
    pub tolerance: Option<Percent>,
    /// What was weighed.
    pub weighed: Vec<WeighedLine>,
    /// Whether lines that are not named were weighed to plan.
    pub rest_as_planned: bool,
    /// Lots by raw material.
    pub lots: Vec<(Placed<String>, Placed<String>)>,
    /// The empty vessel.
    pub tare: Option<Placed<Mass>>,
    /// The vessel with what is in it, in the order written.
    pub gross: Vec<GrossBlock>,
    /// What left the vessel.
    pub losses: Vec<LossBlock>,
    /// What was put back or on top.
    pub top_ups: Vec<TopUpBlock>,
    /// Readings of the pH.
    pub ph: Vec<PhReading>,
    /// Readings of the viscosity.
    pub viscosity: Vec<ViscosityReading>,
    /// What was looked at besides.
    pub checks: Vec<CheckBlock>,
    /// What was kept of it to be looked at later.
    pub retained: Option<String>,
    /// What was weighed out.
    pub filled: Option<Placed<Mass>>,
    /// In how many packs.
    pub packs: Option<Decimal>,
    /// What went wrong, in the author's words.
    pub went_wrong: Vec<String>,
    /// What was decided about the batch.
    pub release: Option<ReleaseBlock>,
}

/// What was weighed of a raw material.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct WeighedLine {
    /// The raw material as written, with its phase before a stroke where it stands in two.
    pub material: Placed<String>,
    /// Its weighings; none where only its lot is noted.
    pub portions: Vec<Mass>,
    /// Where they stand.
    #[serde(skip)]
    pub place: Place,
    /// Its lot, or that of the weighings that name none of their own.
    pub lot: Option<Placed<String>>,
    /// The lot of each weighing, where weighings name their own; else empty.
    pub lots: Vec<Option<Placed<String>>>,
    /// A remark.
    pub note: Option<String>,
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<BatchRecordBlock> {
    let formula = read_reference(reader, table, "formula");
    let is_blank = table.boolean("blank").unwrap_or(false);
    let date = flat(read_date_of(table, "date"));
    if table.get("date").is_none() && !is_blank {
        let what = "The batch record has no `date`.";
        let mend = "Write the day it was made: `date = 2026-03-14`; or `blank = true` for one to be filled in by hand.";
        reader.push(Finding::new(kind::MISSING_KEY, reader.cutting.head(), what).mend(mend));
    }
    let mass = |key: &'static str| {
        flat(table.text(key).map(|text| Some(text.with(read_mass(reader, &text, &format!("`{key}`"))?))))
    };
    let batch = mass("batch");
    let tolerance = flat(table.get("tolerance").map(|value| read_percent(reader, value, "`tolerance`")));
    let weighed = table.table("weighed").map_or_else(
        || Some(Vec::new()),
        |table| match are_in_file(&table) {
            true => read_rows(&table, &WEIGHED_FIELDS, read_weighed_row).and_then(|rows| gathered(reader, rows)),
            false => all(table.names().into_iter().map(|(material, value)| read_weighed(reader, material, value))),
        },
    );
    let rest = table.text("rest");
    if let Some(rest) = rest.as_ref().filter(|rest| rest.value.trim() != "as planned") {
        reader.wrong(rest.place.clone(), "`rest`", "\"as planned\", or left out where it was not weighed to plan");
    }
    let lots = table.table("lots").map(|table| {
        let lot = |value: &Spanned<DeValue<'_>>| read_lot(reader, value, "Each of the `lots`");
        table.names().into_iter().filter_map(|(material, value)| Some((material, lot(value)?))).collect()
    });
    let tare = mass("tare");
    let gross = events::read_gross(reader, table);
    let losses = all(table.tables("loss").iter().map(|one| events::read_loss(reader, one)));
    let top_ups = all(table.tables("top-up").iter().map(|one| events::read_top_up(reader, one)));
    let ph = each(table, "ph", &events::PH_FIELDS, events::read_ph_reading);
    let viscosity = each(table, "viscosity", &events::VISCOSITY_FIELDS, events::read_viscosity);
    let filled = read_yield(reader, table);
    let (version, operator) = (table.text_or_number("version"), table.text("operator"));
    let one_or_more = |key: &'static str| match table.get(key).map(|value| value.get_ref().is_str()) {
        Some(true) => table.text(key).map(|text| text.value).into_iter().collect::<Vec<_>>(),
        _ => table.texts(key).into_iter().map(|text| text.value).collect(),
    };
    let (went_wrong, equipment) = (one_or_more("went-wrong"), one_or_more("equipment"));
    let batch_number = flat(table.get("batch-number").map(|value| read_lot(reader, value, "`batch-number`")));
    let (cleaned, retained) = (table.text("cleaned"), table.text("retained"));
    let checks = all(table.tables("check").iter().map(|one| papers::read_check(reader, one)));
    let release = flat(table.table("release").map(|one| papers::read_release(reader, &one)));
    let (filled, packs) = filled?;
    Some(BatchRecordBlock {
        formula: formula?,
        version,
        is_blank,
        date: date?,
        operator: operator.map(|text| text.value),
        batch_number: batch_number?,
        equipment,
        cleaned: cleaned.map(|text| text.value),
        batch: batch?.map(|batch| batch.value),
        tolerance: tolerance?,
        weighed: weighed?,
        rest_as_planned: rest.is_some(),
        lots: lots.unwrap_or_default(),
        tare: tare?,
        gross: gross?,
        losses: losses?,
        top_ups: top_ups?,
        ph: ph?,
        viscosity: viscosity?,
        checks: checks?,
        retained: retained.map(|text| text.value),
        filled,
        packs,
        went_wrong,
        release: release?,
    })
}

/// All of them, or nothing when one was not understood; the others are read all the same, so that every mistake is said.
fn all<T>(read: impl Iterator<Item = Option<T>>) -> Option<Vec<T>> {
    read.collect::<Vec<_>>().into_iter().collect()
}

/// The entries of a list, and those that stand in a file.
fn each<T>(
    table: &Table<'_, '_>,
    key: &'static str,
    fields: &[&'static str],
    read: fn(&Reader<'_>, &Table<'_, '_>) -> Option<T>,
) -> Option<Vec<T>> {
    let lists = all(table.tables(key).iter().map(|one| match are_in_file(one) {
        true => read_rows(one, fields, |row| read(row.reader(), row)),
        false => Some(vec![read(one.reader(), one)?]),
    }));
    Some(lists?.into_iter().flatten().collect())
}

fn read_lot(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>, what: &str) -> Option<Placed<String>> {
    let place = reader.place_of(value);
    let text = number_text(value.get_ref()).or(value.get_ref().as_str()).map(str::trim).unwrap_or_default();
    if text.is_empty() {
        reader.wrong(place, what, "a lot number such as \"24-117\"");
        return None;
    }
    Some(Placed { value: text.to_owned(), place })
}

/// A weight, a table with the lot, or a list of either.
fn read_weighed(reader: &Reader<'_>, material: Placed<String>, value: &Spanned<DeValue<'_>>) -> Option<WeighedLine> {
    let place = reader.place_of(value);
    let items = value.get_ref().as_array().filter(|items| items.iter().any(|item| item.get_ref().is_table()));
    let Some(items) = items else { return read_weighing(reader, material, value, place) };
    let weighings = all(items.iter().map(|item| {
        let line = read_weighing(reader, material.clone(), item, reader.place_of(item))?;
        if line.portions.is_empty() {
            let what = format!("This lot of `{}` has no `weight`.", echo(&material.value));
            let mend = "Write how much was weighed of each lot: `{ weight = \"51.9 g\", lot = \"25-032\" }`.";
            reader.push(Finding::new(kind::MISSING_KEY, reader.place_of(item), what).mend(mend));
            return None;
        }
        Some(line)
    }));
    let lines = gathered(reader, weighings?)?;
    lines.into_iter().next().map(|line| WeighedLine { place, ..line })
}

/// One weight, several of one lot, or a table with the lot.
fn read_weighing(
    reader: &Reader<'_>,
    material: Placed<String>,
    value: &Spanned<DeValue<'_>>,
    place: Place,
) -> Option<WeighedLine> {
    if !value.get_ref().is_table() {
        let portions = read_portions(reader, &material.value, value)?;
        return Some(WeighedLine { material, portions, place, lot: None, lots: Vec::new(), note: None });
    }
    let table = as_table(reader, &material.value, value)?;
    let line = weighed_in(&table, material, place);
    table.finish();
    line
}

/// What a table says of a weighing: its weight or weights, its lot and a remark.
fn weighed_in(table: &Table<'_, '_>, material: Placed<String>, place: Place) -> Option<WeighedLine> {
    let reader = table.reader();
    let portions = table.get("weight").map(|value| read_portions(reader, &material.value, value));
    let lot = table.get("lot").map(|value| read_lot(reader, value, "`lot`"));
    let note = table.text("note").map(|note| note.value);
    if portions.is_none() && lot.is_none() {
        let what = format!("`{}` has neither a `weight` nor a `lot`.", echo(&material.value));
        reader.push(Finding::new(kind::MISSING_KEY, table.place().clone(), what));
        return None;
    }
    let portions = flat(portions)?.unwrap_or_default();
    Some(WeighedLine { material, portions, place, lot: flat(lot)?, lots: Vec::new(), note })
}

/// The keys of a weighing that stands in a file.
const WEIGHED_FIELDS: [&str; 4] = ["material", "weight", "lot", "note"];

/// A weighing that stands in a file.
fn read_weighed_row(row: &Table<'_, '_>) -> Option<WeighedLine> {
    let reader = row.reader();
    let Some(material) = row.text("material") else {
        let what = "This row does not say what was weighed.";
        let mend = "Write the raw material as in the formula; leave rows that are none of this batch out with `only`.";
        reader.push(Finding::new(kind::MISSING_KEY, row.place().clone(), what).mend(mend));
        return None;
    };
    let place = material.place.clone();
    weighed_in(row, material, place)
}

/// Weighings of one raw material are of one line, each of its own lot.
fn gathered(reader: &Reader<'_>, weighings: Vec<WeighedLine>) -> Option<Vec<WeighedLine>> {
    let mut lines: Vec<WeighedLine> = Vec::new();
    for mut one in weighings {
        let of_its_own = vec![one.lot.take_if(|_| !one.portions.is_empty()); one.portions.len()];
        let Some(line) = lines.iter_mut().find(|line| line.material.value == one.material.value) else {
            lines.push(WeighedLine { lots: of_its_own, ..one });
            continue;
        };
        line.portions.extend(one.portions);
        line.lots.extend(of_its_own);
        // A lot without a weight is that of the weighings that name none; with a second one it would not be known of which.
        match (&line.lot, one.lot) {
            (Some(first), Some(other)) if first.value != other.value => {
                unknown_share(reader, &other, first, &one.material.value);
                return None;
            }
            (None, lot @ Some(_)) => line.lot = lot,
            _ => {}
        }
        line.note = match (line.note.take(), one.note) {
            (Some(first), Some(other)) => Some(format!("{first}; {other}")),
            (first, other) => first.or(other),
        };
    }
    // All are settled before any is given up, so that every mistake is said.
    let n_unsettled = lines.iter_mut().filter_map(|line| (!settle_lots(reader, line)).then_some(())).count();
    (n_unsettled == 0).then_some(lines)
}

/// Where all weighings are of one lot, it is the lot of the line.
fn settle_lots(reader: &Reader<'_>, line: &mut WeighedLine) -> bool {
    let is_lot = |lot: &Option<Placed<String>>, other: &Option<Placed<String>>| {
        lot.as_ref().map(|lot| &lot.value) == other.as_ref().map(|lot| &lot.value)
    };
    let all_named = line.lots.iter().all(Option::is_some);
    if let (Some(lot), Some(Some(first)), true) = (&line.lot, line.lots.first(), all_named)
        && !line.lots.iter().any(|other| is_lot(&line.lot, other))
    {
        unknown_share(reader, lot, first, &line.material.value);
        return false;
    }
    let first = line.lots.first().cloned().flatten();
    if line.lots.iter().all(|lot| is_lot(lot, &first)) {
        line.lot = line.lot.take().or(first);
        line.lots.clear();
    }
    true
}

fn unknown_share(reader: &Reader<'_>, lot: &Placed<String>, other: &Placed<String>, material: &str) {
    let what = format!(
        "`{}` has lot {} here and lot {} elsewhere, and no weight says how much was of this one.",
        echo(material),
        echo(&lot.value),
        echo(&other.value)
    );
    let finding = Finding::new(kind::WRONG_VALUE, lot.place.clone(), what)
        .mend("Write with each lot what was weighed of it.")
        .also_at(other.place.clone(), "the other lot");
    reader.push(finding);
}

fn read_portions(reader: &Reader<'_>, material: &str, value: &Spanned<DeValue<'_>>) -> Option<Vec<Mass>> {
    match value.get_ref().as_array() {
        Some(items) if !items.is_empty() => all(items.iter().map(|item| read_weight(reader, material, item))),
        _ => Some(vec![read_weight(reader, material, value)?]),
    }
}

/// A weight with its unit; nothing is a weight too, for what was forgotten or left out.
fn read_weight(reader: &Reader<'_>, material: &str, value: &Spanned<DeValue<'_>>) -> Option<Mass> {
    let place = reader.place_of(value);
    let what = format!("What was weighed of `{}`", echo(material));
    let wanted = "a weight with its unit, such as \"60.1 g\"";
    let Some(text) = value.get_ref().as_str() else {
        reader.wrong(place, &what, wanted);
        return None;
    };
    match read_amount_text(reader, text, &place) {
        Amount::Mass { mass, .. } if mass >= Mass::ZERO => Some(mass),
        Amount::Unknown => None,
        _ => {
            reader.wrong(place, &what, wanted);
            None
        }
    }
}

/// What was weighed out, and in how many packs: `"1.96 kg"`, or `{ weight = "1.96 kg", packs = 7 }`.
fn read_yield(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<(Option<Placed<Mass>>, Option<Decimal>)> {
    let Some(value) = table.get("yield") else { return Some((None, None)) };
    if !value.get_ref().is_table() {
        let text = table.text("yield")?;
        return Some((Some(text.with(read_mass(reader, &text, "`yield`")?)), None));
    }
    let inner = as_table(reader, "yield", value)?;
    let weight = flat(inner.text("weight").map(|text| Some(text.with(read_mass(reader, &text, "`weight`")?))));
    let packs = inner.number("packs");
    inner.finish();
    if let Some(packs) = packs.as_ref().filter(|packs| !packs.value.fract().is_zero() || packs.value < Decimal::ZERO) {
        reader.wrong(packs.place.clone(), "`packs`", "a whole number of packs");
        return None;
    }
    Some((weight?, packs.map(|packs| packs.value)))
}
