//! The `buffer` block: acids, bases and salts in water, of which the pH is predicted.
//!
//! Keys: one of `volume`, `mass` (both of the finished solution) and `water` (the water alone); `target`, the pH wanted and with what it is
//! reached; and `[contains]` with a line for each raw material or pure solute: `"4.2 g"` or `"0.5 %"` as supplied, `"20 mmol"` of the pure
//! substance, or `{ amount = "5 g", strength = "88 %" }`.

use super::amount::{Amount, VolumeAmount, read_amount_text, read_lot_strength, read_ph};
use super::dilution::{Measured, read_measured};
use super::reader::{Placed, Reader, Table, as_table, flat, number_finding};
use crate::quantity::{Decimal, Mass, Percent, Ph, read_decimal, split_number};
use crate::report::{Finding, echo, kind};
use serde::Serialize;
use toml::Spanned;
use toml::de::DeValue;

/// How much solution there is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SolutionSize {
    /// So much of the solution, by volume or by weight.
    Whole(Measured),
    /// So much water, into which the rest goes.
    Water(Mass),
}

/// How much of something is dissolved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Dissolved {
    /// A weight, as supplied.
    Mass(Mass),
    /// Millimoles of the pure substance.
    Millimoles(Decimal),
    /// A share of the solution by weight, as supplied.
    Percent(Percent),
}

/// A line of `[contains]`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SoluteBlock {
    /// The raw material or solute.
    pub name: Placed<String>,
    /// How much.
    pub amount: Placed<Dissolved>,
    /// As typed.
    pub text: String,
    /// The strength of the lot, % by weight of what counts in it.
    pub strength: Option<Percent>,
}

/// The pH that is wanted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TargetPh {
    /// The pH.
    pub ph: Placed<Ph>,
    /// What it is reached with.
    pub with: Placed<String>,
    /// The strength of that.
    pub strength: Option<Percent>,
}

/// A buffer as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct BufferBlock {
    /// How much.
    pub size: SolutionSize,
    /// That as typed.
    pub size_text: String,
    /// What it contains.
    pub contains: Vec<SoluteBlock>,
    /// The pH wanted.
    pub target: Option<TargetPh>,
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<BufferBlock> {
    let volume = table.text("volume");
    let mass = table.text("mass");
    let water = table.text("water");
    let n_sizes = [&volume, &mass, &water].into_iter().flatten().count();
    if n_sizes != 1 {
        reader.push(
            Finding::new(
                kind::MISSING_KEY,
                reader.cutting.head(),
                "A buffer has one of `volume`, `mass` and `water`.",
            )
            .mend("Write how much solution is made, `volume = \"1 l\"` or `mass = \"1 kg\"`, or how much water is taken, `water = \"1 kg\"`."),
        );
    }
    let size_text = volume.as_ref().or(mass.as_ref()).or(water.as_ref()).map(|text| text.value.trim().to_owned());
    let size = volume
        .map(|text| (read_measured(reader, &text, "`volume`"), "volume", text))
        .or_else(|| mass.map(|text| (read_measured(reader, &text, "`mass`"), "mass", text)))
        .or_else(|| water.map(|text| (read_measured(reader, &text, "`water`"), "water", text)));
    let size = size.and_then(|(amount, key, text)| match (amount?.value, key) {
        (amount @ Measured::Volume(_), "volume") | (amount @ Measured::Mass(_), "mass") => {
            Some(SolutionSize::Whole(amount))
        }
        (Measured::Mass(mass), "water") => Some(SolutionSize::Water(mass)),
        (_, key) => {
            let wanted = if key == "volume" { "a volume such as \"1 l\"" } else { "a weight such as \"1 kg\"" };
            reader.wrong(text.place, &format!("`{key}`"), wanted);
            None
        }
    });
    let target = match table.table("target") {
        None => Some(None),
        Some(target) => read_target(reader, &target).map(Some),
    };
    let contains = table.table("contains");
    if contains.is_none() && table.get("contains").is_none() {
        reader.push(
            Finding::new(kind::MISSING_KEY, reader.cutting.head(), "A buffer has no `[contains]`.")
                .mend("Add a section `[contains]` with a line such as `citric-acid = \"4.2 g\"`."),
        );
    }
    let mut lines = Vec::new();
    for (name, value) in contains?.names() {
        lines.push(read_line(reader, name, value)?);
    }
    Some(BufferBlock { size: size?, size_text: size_text?, contains: lines, target: target? })
}

fn read_target(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<TargetPh> {
    let ph = table.get("ph").and_then(|value| {
        let place = reader.place_of(value);
        let span = read_ph(reader, value)?;
        if span.low != span.high {
            reader.wrong(place, "`ph`", "one pH, such as 5.0");
            return None;
        }
        Some(Placed { value: span.low, place })
    });
    let with = table.text("with");
    let strength = table.get("strength").map(|value| read_lot_strength(reader, value));
    table.finish();
    if table.get("ph").is_none() || (with.is_none() && table.get("with").is_none()) {
        reader.push(
            Finding::new(kind::MISSING_KEY, table.place().clone(), "A target has `ph` and `with`.")
                .mend("Write `target = { ph = 5.0, with = \"sodium-hydroxide\" }`."),
        );
    }
    let strength = flat(strength)?;
    Some(TargetPh { ph: ph?, with: with?, strength })
}

fn read_line(reader: &Reader<'_>, name: Placed<String>, value: &Spanned<DeValue<'_>>) -> Option<SoluteBlock> {
    let place = reader.place_of(value);
    if value.get_ref().is_table() {
        let table = as_table(reader, &name.value, value)?;
        let amount = table.text("amount");
        let strength = table.get("strength").map(|value| read_lot_strength(reader, value));
        table.finish();
        if amount.is_none() && table.get("amount").is_none() {
            reader.push(
                Finding::new(kind::MISSING_KEY, place, format!("`{}` has no `amount`.", echo(&name.value)))
                    .mend("Write `{ amount = \"5 g\", strength = \"88 %\" }`. A key of the block itself stands above `[contains]`."),
            );
        }
        let amount = amount?;
        let dissolved = read_dissolved(reader, &amount)?;
        let strength = flat(strength)?;
        return Some(SoluteBlock {
            name,
            amount: amount.with(dissolved),
            text: amount.value.trim().to_owned(),
            strength,
        });
    }
    let Some(text) = value.get_ref().as_str() else {
        reader.wrong(
            place,
            &format!("`{}`", echo(&name.value)),
            "a weight with its unit, such as \"4.2 g\", or \"20 mmol\"",
        );
        return None;
    };
    let text = Placed { value: text.to_owned(), place };
    let dissolved = read_dissolved(reader, &text)?;
    Some(SoluteBlock { name, amount: text.with(dissolved), text: text.value.trim().to_owned(), strength: None })
}

fn read_dissolved(reader: &Reader<'_>, text: &Placed<String>) -> Option<Dissolved> {
    let (number, unit) = split_number(&text.value);
    let dissolved = match unit {
        "mmol" | "mol" => match read_decimal(number) {
            Ok(number) => Dissolved::Millimoles(if unit == "mol" { number * Decimal::ONE_THOUSAND } else { number }),
            Err(fault) => {
                reader.push(number_finding(fault, &text.value, &text.place));
                return None;
            }
        },
        _ => match read_amount_text(reader, &text.value, &text.place) {
            Amount::Mass { mass, .. } => Dissolved::Mass(mass),
            Amount::Percent(percent) if unit == "%" => Dissolved::Percent(percent),
            Amount::Unknown => return None,
            Amount::Volume(VolumeAmount { .. }) => {
                let what = format!("`{}` is a volume; acids and bases are weighed.", echo(&text.value));
                reader.push(Finding::new(kind::VOLUME_REFUSED, text.place.clone(), what));
                return None;
            }
            _ => {
                reader.wrong(
                    text.place.clone(),
                    "An amount here",
                    "a weight such as \"4.2 g\", a share such as \"0.5 %\", or \"20 mmol\"",
                );
                return None;
            }
        },
    };
    let number = match dissolved {
        Dissolved::Mass(mass) => mass.grams(),
        Dissolved::Millimoles(number) => number,
        Dissolved::Percent(percent) => percent.value(),
    };
    if number < Decimal::ZERO {
        reader.wrong(text.place.clone(), "An amount", "above zero");
        return None;
    }
    Some(dissolved)
}
