//! The `curve` block: a measured series, such as salt against viscosity, and what is read off it.
//!
//! Keys: `x` and `y`, what was varied and what was measured, each as "name, unit"; `points`, a list of `[x, y]`, or of `[x, y, y, y]` where it was
//! measured several times, or a section `[points]` with `"0.4" = 1900`; `at`, where y is wanted; `target`, the y whose x are wanted; `title`.

use super::reader::{Placed, Reader, Table, as_table, number_finding, number_text};
use super::rows::read_rows;
use crate::quantity::{Decimal, read_decimal, split_number};
use crate::report::{Finding, Place, echo, kind};
use serde::Serialize;
use toml::Spanned;
use toml::de::DeValue;

/// What stands along an axis.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct AxisBlock {
    /// What it is: "salt".
    pub name: String,
    /// Its unit, or empty.
    pub unit: String,
}

/// A point as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PointBlock {
    /// Where it was measured.
    pub x: Placed<Decimal>,
    /// What was measured there, once or several times.
    pub readings: Vec<Placed<Decimal>>,
}

/// A curve as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct CurveBlock {
    /// What it is called on the page.
    pub title: Option<String>,
    /// What was varied.
    pub x: AxisBlock,
    /// What was measured.
    pub y: AxisBlock,
    /// The points in the order written.
    pub points: Vec<PointBlock>,
    /// Where y is wanted.
    pub at: Vec<Placed<Decimal>>,
    /// The y whose x are wanted.
    pub target: Vec<Placed<Decimal>>,
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<CurveBlock> {
    let title = table.text("title").map(|title| title.value);
    let x = read_axis(reader, table, "x", "salt, %");
    let y = read_axis(reader, table, "y", "viscosity, mPa·s");
    let points = table.get("points");
    let (at, target) = (table.get("at"), table.get("target"));
    if points.is_none() {
        reader.push(
            Finding::new(kind::MISSING_KEY, reader.cutting.head(), "A curve has no `points`.")
                .mend("Write what was measured: `points = [[0.2, 1200], [0.4, 1900], [0.6, 3300]]`."),
        );
    }
    let (x, y) = (x?, y?);
    // All mistakes at once: each part is read before any is given up.
    let points = read_points(reader, points?, &x, &y);
    let at = read_wanted(reader, at, &x, "`at`");
    let target = read_wanted(reader, target, &y, "`target`");
    Some(CurveBlock { title, points: points?, at: at?, target: target?, x, y })
}

/// "salt, %": the name and, behind the last comma, the unit.
fn read_axis(reader: &Reader<'_>, table: &Table<'_, '_>, key: &'static str, example: &str) -> Option<AxisBlock> {
    let text = table.text(key);
    if text.is_none() && table.get(key).is_none() {
        reader.push(
            Finding::new(
                kind::MISSING_KEY,
                reader.cutting.head(),
                format!("The curve does not say what its {key} is."),
            )
            .mend(format!("Write name and unit: `{key} = \"{example}\"`.")),
        );
    }
    let text = text?;
    let (name, unit) = text.value.rsplit_once(',').unwrap_or((&text.value, ""));
    let (name, unit) = (name.trim(), unit.trim());
    let is_odd = text.value.chars().any(char::is_control) || unit.starts_with(|c: char| c.is_ascii_digit());
    if name.is_empty() || is_odd {
        reader.wrong(text.place, &format!("`{key}`"), &format!("a name and a unit, such as \"{example}\""));
        return None;
    }
    Some(AxisBlock { name: name.to_owned(), unit: unit.to_owned() })
}

fn read_points(
    reader: &Reader<'_>,
    value: &Spanned<DeValue<'_>>,
    x: &AxisBlock,
    y: &AxisBlock,
) -> Option<Vec<PointBlock>> {
    let place = reader.place_of(value);
    let points: Vec<Option<PointBlock>> = match value.get_ref() {
        DeValue::Array(items) => items.iter().map(|item| read_point(reader, item, x, y)).collect(),
        DeValue::Table(entries) if entries.contains_key("from") => {
            let table = as_table(reader, "points", value)?;
            let rows = read_rows(&table, &["x", "y"], |row| {
                let reader = row.reader();
                let (at, reading) = (row.get("x"), row.get("y"));
                if at.is_none() || reading.is_none() {
                    let what = "This row does not say both `x` and `y`.";
                    reader.push(Finding::new(kind::MISSING_KEY, row.place().clone(), what));
                }
                let (at, reading) = (read_number_of(reader, at?, x), read_number_of(reader, reading?, y));
                Some(PointBlock { x: at?, readings: vec![reading?] })
            })?;
            return Some(gathered(rows));
        }
        DeValue::Table(entries) => entries
            .iter()
            .map(|(key, value)| {
                let key_place = reader.place_of(key);
                if value.get_ref().is_table() {
                    // `0.4 = 1900` without quotation marks is a table `0` with a key `4`.
                    reader.push(
                        Finding::new(kind::WRONG_VALUE, key_place, "A number with a decimal point is no plain key.")
                            .mend("Put the x in quotes: `\"0.4\" = 1900`."),
                    );
                    return None;
                }
                let at = read_text(reader, key.get_ref(), &key_place, x);
                let readings = read_readings(reader, value, y);
                Some(PointBlock { x: at?, readings: readings? })
            })
            .collect(),
        _ => {
            reader.wrong(place, "`points`", "a list of points, such as [[0.2, 1200], [0.4, 1900]]");
            return None;
        }
    };
    points.into_iter().collect()
}

/// Rows with the same x are readings of one point.
fn gathered(rows: Vec<PointBlock>) -> Vec<PointBlock> {
    let mut points: Vec<PointBlock> = Vec::new();
    for row in rows {
        match points.iter_mut().find(|point| point.x.value == row.x.value) {
            Some(point) => point.readings.extend(row.readings),
            None => points.push(row),
        }
    }
    points
}

fn read_point(reader: &Reader<'_>, item: &Spanned<DeValue<'_>>, x: &AxisBlock, y: &AxisBlock) -> Option<PointBlock> {
    let parts = item.get_ref().as_array().map(|parts| parts.iter().collect::<Vec<_>>()).unwrap_or_default();
    let Some((first, rest)) = parts.split_first().filter(|(_, rest)| !rest.is_empty()) else {
        reader.wrong(
            reader.place_of(item),
            "A point",
            "x and y in square brackets, such as [0.4, 1900], with further readings behind",
        );
        return None;
    };
    let at = read_number_of(reader, first, x);
    let readings: Vec<Option<Placed<Decimal>>> = rest.iter().map(|value| read_number_of(reader, value, y)).collect();
    Some(PointBlock { x: at?, readings: readings.into_iter().collect::<Option<_>>()? })
}

fn read_readings(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>, y: &AxisBlock) -> Option<Vec<Placed<Decimal>>> {
    match value.get_ref().as_array() {
        Some(items) if items.is_empty() => {
            reader.wrong(reader.place_of(value), "A point", "what was measured, a number or a list of numbers");
            None
        }
        Some(items) => {
            let readings: Vec<_> = items.iter().map(|item| read_number_of(reader, item, y)).collect();
            readings.into_iter().collect()
        }
        None => read_number_of(reader, value, y).map(|reading| vec![reading]),
    }
}

/// One number or a list of numbers that are wanted on an axis.
fn read_wanted(
    reader: &Reader<'_>,
    value: Option<&Spanned<DeValue<'_>>>,
    axis: &AxisBlock,
    what: &str,
) -> Option<Vec<Placed<Decimal>>> {
    let Some(value) = value else { return Some(Vec::new()) };
    match value.get_ref() {
        DeValue::Array(items) => {
            let wanted: Vec<_> = items.iter().map(|item| read_number_of(reader, item, axis)).collect();
            wanted.into_iter().collect()
        }
        DeValue::Table(_) | DeValue::Boolean(_) | DeValue::Datetime(_) => {
            reader.wrong(reader.place_of(value), what, "a number, with its unit in quotes or alone");
            None
        }
        _ => read_number_of(reader, value, axis).map(|number| vec![number]),
    }
}

/// A number alone, or in quotes with the unit of its axis.
fn read_number_of(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>, axis: &AxisBlock) -> Option<Placed<Decimal>> {
    let place = reader.place_of(value);
    let text = match value.get_ref() {
        DeValue::String(text) => text.to_string(),
        other => match number_text(other) {
            Some(text) => text.to_owned(),
            None => {
                reader.wrong(place, "Each of these", "a number");
                return None;
            }
        },
    };
    read_text(reader, &text, &place, axis)
}

fn read_text(reader: &Reader<'_>, text: &str, place: &Place, axis: &AxisBlock) -> Option<Placed<Decimal>> {
    let (number, unit) = split_number(text);
    // A number in another form, "1e3" or "0x10", has its letters taken for a unit; it is no number here.
    let unit = if unit.starts_with(['e', 'E', 'x']) && axis.unit != unit { "" } else { unit };
    let number = if unit.is_empty() { text.trim() } else { number };
    let read = match read_decimal(number) {
        Ok(read) => read,
        Err(fault) => {
            reader.push(number_finding(fault, text, place));
            return None;
        }
    };
    if !unit.is_empty() && unit != axis.unit {
        let what = format!("`{}` is in `{}`, and {} here is in {}.", echo(text), echo(unit), echo(&axis.name), {
            if axis.unit.is_empty() { "no unit".to_owned() } else { format!("`{}`", echo(&axis.unit)) }
        });
        reader.push(Finding::new(kind::WRONG_VALUE, place.clone(), what).mend("Write it in the unit of its axis."));
        return None;
    }
    Some(Placed { value: read, place: place.clone() })
}
