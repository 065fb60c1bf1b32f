//! The `titration` block: a weighed sample, so much acid or base added each time, and the pH read after it.
//!
//! Keys: `with`, the acid or base as a raw material, and `strength` of its lot; `sample`, how much product it went into; `dilution`, how the pH was read:
//! `{ product = "2 g", water = "20 g" }` or `"neat"`; `additions`, `"each"` or `"cumulative"`; `drop-weighs`; `points`, a list of `["0.2 g", 6.1]`; `resolution` of the
//! meter; `target`, a pH or a span of it; `formula`, and `batch`, how much product is to be dosed; `balance`.

use super::amount::{Amount, PhSpan, read_amount_text, read_lot_strength, read_mass, read_ph};
use super::formula::{Balance, read_balance};
use super::reader::{Placed, Reader, Table, as_table, flat, number_finding, number_text};
use super::rows::{are_in_file, read_rows};
use crate::quantity::{Decimal, Mass, Percent, Ph, read_decimal};
use crate::report::{Finding, Place, echo, kind};
use serde::Serialize;
use std::cell::Cell;
use toml::Spanned;
use toml::de::DeValue;

/// What the amounts of the additions are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum AdditionBasis {
    /// What was added since the reading before.
    Each,
    /// What was added in all.
    Cumulative,
}

/// How the pH was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ReadingOf {
    /// In the product itself.
    Neat,
    /// In so much product with so much water.
    Diluted {
        /// The product.
        product: Mass,
        /// The water.
        water: Mass,
    },
}

/// An addition and the pH after it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TitrationPoint {
    /// The weight as stated, each or in all.
    pub amount: Placed<Mass>,
    /// As typed.
    pub text: String,
    /// The pH after it.
    pub ph: Placed<Ph>,
}

/// A titration as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TitrationBlock {
    /// The acid or base.
    pub with: Placed<String>,
    /// The strength of its lot.
    pub strength: Option<Percent>,
    /// The product that it went into.
    pub sample: Placed<Mass>,
    /// How the pH was read, when it is stated.
    pub reading: Option<Placed<ReadingOf>>,
    /// What the amounts are.
    pub basis: Placed<AdditionBasis>,
    /// The additions in the order written.
    pub points: Vec<TitrationPoint>,
    /// Whether they were counted in drops.
    pub in_drops: bool,
    /// The smallest step of the meter.
    pub resolution: Option<Decimal>,
    /// The pH wanted.
    pub target: Option<Placed<PhSpan>>,
    /// The formula of the product.
    pub formula: Option<Placed<String>>,
    /// How much product is to be dosed.
    pub batch: Option<Mass>,
    /// The balance.
    pub balance: Option<Balance>,
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<TitrationBlock> {
    let missing = |key: &'static str, what: &str, mend: &str| {
        if table.get(key).is_none() {
            reader.push(Finding::new(kind::MISSING_KEY, reader.cutting.head(), what).mend(mend));
        }
    };
    missing(
        "with",
        "The titration does not say with what.",
        "Name the acid or base as a raw material: `with = \"citric-acid-50\"`.",
    );
    let with = table.text("with");
    let strength = flat(table.get("strength").map(|value| read_lot_strength(reader, value)));
    missing(
        "sample",
        "The titration does not say how much product it was done with.",
        "Write the weight of the product, without the water that it was diluted with: `sample = \"100 g\"`.",
    );
    let sample = table.text("sample").and_then(|text| read_mass(reader, &text, "`sample`").map(|mass| text.with(mass)));
    let reading = flat(table.get("dilution").map(|value| read_reading(reader, value, table)));
    missing(
        "additions",
        "The titration does not say whether its amounts are each or cumulative.",
        "Write `additions = \"each\"` when every amount is what was added since the reading before, `additions = \"cumulative\"` when it is all so far.",
    );
    let basis = table.text("additions").and_then(|text| match text.value.trim() {
        "each" => Some(text.with(AdditionBasis::Each)),
        "cumulative" => Some(text.with(AdditionBasis::Cumulative)),
        _ => {
            reader.wrong(text.place, "`additions`", "\"each\" or \"cumulative\"");
            None
        }
    });
    let drop = flat(table.text("drop-weighs").map(|text| read_mass(reader, &text, "`drop-weighs`")));
    missing(
        "points",
        "The titration has no `points`.",
        "Write each addition with the pH after it: `points = [[0, 6.8], [\"0.2 g\", 6.1], [\"0.4 g\", 5.3]]`.",
    );
    let points = table.get("points").and_then(|value| read_points(reader, value, drop.flatten()));
    let resolution = flat(table.get("resolution").map(|value| read_resolution(reader, value)));
    let target = flat(table.get("target").map(|value| {
        let span = read_ph(reader, value)?;
        Some(Placed { value: span, place: reader.place_of(value) })
    }));
    let formula = table.text("formula");
    let batch = flat(table.text("batch").map(|text| read_mass(reader, &text, "`batch`")));
    let balance = flat(table.get("balance").map(|value| read_balance(reader, value)));
    let (points, in_drops) = points?;
    drop?;
    Some(TitrationBlock {
        with: with?,
        strength: strength?,
        sample: sample?,
        reading: reading?,
        basis: basis?,
        points,
        in_drops,
        resolution: resolution?,
        target: target?,
        formula,
        batch: batch?,
        balance: balance?,
    })
}

pub(super) fn read_reading(
    reader: &Reader<'_>,
    value: &Spanned<DeValue<'_>>,
    table: &Table<'_, '_>,
) -> Option<Placed<ReadingOf>> {
    let place = reader.place_of(value);
    if value.get_ref().as_str() == Some("neat") {
        return Some(Placed { value: ReadingOf::Neat, place });
    }
    let form = "`{ product = \"2 g\", water = \"20 g\" }`, or \"neat\"";
    if !value.get_ref().is_table() {
        reader.wrong(place, "`dilution`", form);
        return None;
    }
    let parts = table.table("dilution")?;
    let product = parts.text("product").and_then(|text| read_mass(reader, &text, "`product`"));
    let water = parts.text("water").and_then(|text| read_mass(reader, &text, "`water`"));
    parts.finish();
    if (product.is_none() && parts.get("product").is_none()) || (water.is_none() && parts.get("water").is_none()) {
        let what = "A dilution has `product` and `water`.";
        reader.push(Finding::new(kind::MISSING_KEY, place.clone(), what).mend(format!("Write {form}.")));
    }
    Some(Placed { value: ReadingOf::Diluted { product: product?, water: water? }, place })
}

fn read_points(
    reader: &Reader<'_>,
    value: &Spanned<DeValue<'_>>,
    drop: Option<Mass>,
) -> Option<(Vec<TitrationPoint>, bool)> {
    let in_drops = Cell::new(false);
    if value.get_ref().is_table() {
        let table = as_table(reader, "points", value).filter(are_in_file);
        let Some(table) = table else {
            reader.wrong(
                reader.place_of(value),
                "`points`",
                "a list, or a table that says `from` which file it is read",
            );
            return None;
        };
        let points = read_rows(&table, &["added", "ph"], |row| {
            let missing = |key: &str| {
                let what = format!("This row does not say {key}.");
                row.reader().push(Finding::new(kind::MISSING_KEY, row.place().clone(), what));
            };
            let (added, ph) = (row.get("added"), row.get("ph"));
            if added.is_none() {
                missing("what was `added`");
            }
            if ph.is_none() {
                missing("the `ph`");
            }
            read_point(row.reader(), added?, ph?, drop, &in_drops)
        })?;
        return Some((points, in_drops.get()));
    }
    let Some(items) = value.get_ref().as_array() else {
        reader.wrong(reader.place_of(value), "`points`", "a list, such as [[0, 6.8], [\"0.2 g\", 6.1]]");
        return None;
    };
    let points: Vec<Option<TitrationPoint>> = items
        .iter()
        .map(|item| {
            let parts: Vec<_> = item.get_ref().as_array().map(|parts| parts.iter().collect()).unwrap_or_default();
            let [amount, ph] = parts.as_slice() else {
                reader.wrong(
                    reader.place_of(item),
                    "A point",
                    "what was added and the pH after it, such as [\"0.2 g\", 6.1]",
                );
                return None;
            };
            read_point(reader, amount, ph, drop, &in_drops)
        })
        .collect();
    Some((points.into_iter().collect::<Option<_>>()?, in_drops.get()))
}

fn read_point(
    reader: &Reader<'_>,
    amount: &Spanned<DeValue<'_>>,
    ph: &Spanned<DeValue<'_>>,
    drop: Option<Mass>,
    in_drops: &Cell<bool>,
) -> Option<TitrationPoint> {
    let amount = read_added(reader, amount, drop, in_drops);
    let place = reader.place_of(ph);
    let span = read_ph(reader, ph).filter(|span| {
        let is_one = span.low == span.high;
        if !is_one {
            reader.wrong(place.clone(), "A reading", "one pH, such as 6.1");
        }
        is_one
    });
    let (amount, text) = amount?;
    Some(TitrationPoint { amount, text, ph: Placed { value: span?.low, place } })
}

/// A weight, drops of a weighed size, or nothing (a bare 0).
fn read_added(
    reader: &Reader<'_>,
    value: &Spanned<DeValue<'_>>,
    drop: Option<Mass>,
    in_drops: &Cell<bool>,
) -> Option<(Placed<Mass>, String)> {
    let place = reader.place_of(value);
    if number_text(value.get_ref()).and_then(|text| read_decimal(text).ok()).is_some_and(|number| number.is_zero()) {
        return Some((Placed { value: Mass::ZERO, place }, "nothing".to_owned()));
    }
    let form = "a weight such as \"0.2 g\", drops such as \"4 drops\", or 0 for nothing";
    let Some(text) = value.get_ref().as_str() else {
        reader.wrong(place, "An addition", form);
        return None;
    };
    let mass = match read_amount_text(reader, text, &place) {
        Amount::Mass { mass, .. } => mass,
        Amount::Volume(volume) => match volume.drops {
            Some((count, _)) => {
                in_drops.set(true);
                Mass::from_grams(count * weight_of_drop(reader, text, &place, drop)?.grams())
            }
            None => {
                let what = format!("`{}` is a volume; acids and bases are weighed.", echo(text));
                let mend = "Weigh what was added, or count drops and weigh fifty of them: `drop-weighs = \"0.03 g\"`.";
                reader.push(Finding::new(kind::VOLUME_REFUSED, place, what).mend(mend));
                return None;
            }
        },
        Amount::Unknown => return None,
        _ => {
            reader.wrong(place, "An addition", form);
            return None;
        }
    };
    if mass < Mass::ZERO {
        reader.wrong(place, "An addition", "nothing or more");
        return None;
    }
    Some((Placed { value: mass, place }, text.trim().to_owned()))
}

fn weight_of_drop(reader: &Reader<'_>, text: &str, place: &Place, drop: Option<Mass>) -> Option<Mass> {
    if drop.is_none() {
        let what = format!("{}: how much does one drop weigh?", echo(text));
        reader.push(
            Finding::new(kind::NEEDS_DENSITY, place.clone(), what)
                .because("From 20 to 41 drops of a liquid make one millilitre, depending on the bottle.")
                .mend("Weigh 50 drops from the bottle in hand and write `drop-weighs = \"0.03 g\"`."),
        );
    }
    drop
}

/// The step of the meter: "0.1", "0.01 pH", or a number.
pub(super) fn read_resolution(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>) -> Option<Decimal> {
    let place = reader.place_of(value);
    let text = match value.get_ref() {
        DeValue::String(text) => text.to_string(),
        other => number_text(other).unwrap_or_default().to_owned(),
    };
    let number = text.trim().trim_start_matches("pH").trim_end_matches("pH").trim();
    match read_decimal(number) {
        // A strip reads half a unit or a whole one; nothing reads a thousandth.
        Ok(step) if (Decimal::new(1, 3)..=Decimal::TWO).contains(&step) => Some(step),
        Ok(_) => {
            reader.wrong(place, "`resolution`", "between 0.001 and 2, such as \"0.1\"");
            None
        }
        Err(fault) => {
            reader.push(number_finding(fault, &text, &place));
            None
        }
    }
}
