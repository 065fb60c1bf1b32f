//! The `dilution` block: a stock made weaker, or stocks mixed to a strength between them.
//!
//! Keys: `stock`, or `[stocks]` with one entry for each; `target`, the strength wanted; `make`, how much is wanted, or `take`, how much of the stock there
//! is; `density` of what is made; `with`, what it is diluted with; `sheet`, further amounts for which the same is worked out; `balance`. A stock has `strength`, `density`, `take`, `parts`, `name` and
//! `material`, the raw material whose name, density and hazards it has.

use super::amount::{Amount, VolumeAmount, read_amount_text, read_density};
use super::formula::{Balance, read_balance};
use super::reader::{Placed, Reader, Table, as_table, flat};
use crate::quantity::{Decimal, Density, Mass, Strength, StrengthFault, Volume};
use crate::report::{Finding, echo, kind};
use serde::Serialize;

/// An amount to measure out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Measured {
    /// By weight.
    Mass(Mass),
    /// By volume.
    Volume(Volume),
}

impl Measured {
    fn number(self) -> Decimal {
        match self {
            Measured::Mass(mass) => mass.grams(),
            Measured::Volume(volume) => volume.millilitres(),
        }
    }
}

/// A stock as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StockBlock {
    /// Its key; `stock` where there is one only.
    pub key: Placed<String>,
    /// Its strength.
    pub strength: Placed<Strength>,
    /// Its density.
    pub density: Option<Density>,
    /// How much of it is taken, where that is given.
    pub take: Option<Placed<Measured>>,
    /// Its parts, where the mixture is given in parts.
    pub parts: Option<Placed<Decimal>>,
    /// What it is called on the page.
    pub name: Option<String>,
    /// The raw material that it is.
    pub material: Option<Placed<String>>,
}

/// A dilution as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DilutionBlock {
    /// The stocks, one or more.
    pub stocks: Vec<StockBlock>,
    /// Whether it is written as one stock that is diluted.
    pub is_single: bool,
    /// The strength wanted.
    pub target: Option<Placed<Strength>>,
    /// How much is made.
    pub make: Option<Placed<Measured>>,
    /// The density of what is made.
    pub density: Option<Density>,
    /// What it is diluted with.
    pub with: Option<String>,
    /// Further amounts to make, and how each is written: the making-up sheet.
    pub sheet: Vec<(Placed<Measured>, String)>,
    /// The balance.
    pub balance: Option<Balance>,
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<DilutionBlock> {
    let take = table.text("take").and_then(|text| read_measured(reader, &text, "`take`"));
    let target = table.text("target").map(|text| {
        let strength = read_strength(reader, &text)?;
        if strength.value.value <= Decimal::ZERO {
            reader.wrong(text.place, "`target`", "above zero");
            return None;
        }
        Some(strength)
    });
    let make = table.text("make").map(|text| read_measured(reader, &text, "`make`"));
    let density = table.get("density").map(|value| read_density(reader, value));
    let balance = table.get("balance").map(|value| read_balance(reader, value));
    let with = table.text("with").map(|text| text.value);
    let sheet: Vec<_> = table
        .texts("sheet")
        .into_iter()
        .map(|text| Some((read_measured(reader, &text, "An amount of `sheet`")?, text.value.trim().to_owned())))
        .collect();
    let single = table.get("stock");
    let several = table.table("stocks");
    let mut stocks: Vec<StockBlock> = Vec::new();
    if let Some(value) = single {
        let key = Placed { value: "stock".to_owned(), place: reader.place_of(value) };
        let mut stock = read_stock(reader, key, &as_table(reader, "stock", value)?)?;
        stock.take = stock.take.or_else(|| take.clone());
        stocks.push(stock);
    }
    if let Some(several) = &several {
        for (key, value) in several.names() {
            if !super::formula::is_id(&key.value) {
                reader.wrong(key.place, "The key of a stock", "lower-case letters, digits and hyphens");
                return None;
            }
            let stock = as_table(reader, &key.value, value).and_then(|table| read_stock(reader, key, &table));
            stocks.push(stock?);
        }
        if let Some(take) = &take {
            reader.push(
                Finding::new(kind::WRONG_VALUE, take.place.clone(), "With several stocks each has its own `take`.")
                    .mend("Write it at the stock: `strong = { strength = \"95 % v/v\", take = \"250 ml\" }`."),
            );
        }
    }
    if single.is_some() == several.is_some() || stocks.is_empty() {
        reader.push(
            Finding::new(
                kind::MISSING_KEY,
                reader.cutting.head(),
                "A dilution has either one `stock` or several in `[stocks]`.",
            )
            .mend("Write `stock = { strength = \"96 % v/v\" }`, or a section `[stocks]` with a line for each."),
        );
        return None;
    }
    Some(DilutionBlock {
        stocks,
        is_single: single.is_some(),
        target: flat(target)?,
        make: flat(make)?,
        density: flat(density)?,
        with,
        sheet: sheet.into_iter().collect::<Option<_>>()?,
        balance: flat(balance)?,
    })
}

fn read_stock(reader: &Reader<'_>, key: Placed<String>, table: &Table<'_, '_>) -> Option<StockBlock> {
    let text = table.text("strength");
    if text.is_none() && table.get("strength").is_none() {
        reader.push(
            Finding::new(
                kind::MISSING_KEY,
                table.place().clone(),
                format!("The stock `{}` has no `strength`.", echo(&key.value)),
            )
            .mend("Write it with its basis: `strength = \"96 % v/v\"`."),
        );
    }
    let strength = text.and_then(|text| read_strength(reader, &text));
    let density = table.get("density").map(|value| read_density(reader, value));
    let take = table.text("take").map(|text| read_measured(reader, &text, "`take`"));
    let parts = table.number("parts");
    let name = table.text("name").map(|text| text.value);
    let material = table.text("material");
    table.finish();
    if let Some(parts) = parts.as_ref().filter(|parts| parts.value <= Decimal::ZERO) {
        reader.wrong(parts.place.clone(), "`parts`", "above zero");
        return None;
    }
    Some(StockBlock { key, strength: strength?, density: flat(density)?, take: flat(take)?, parts, name, material })
}

/// A strength with its basis; one without is reported, since by weight and by volume it means different things.
fn read_strength(reader: &Reader<'_>, text: &Placed<String>) -> Option<Placed<Strength>> {
    let forms = "Write it as \"96 % v/v\", \"4 % w/v\", \"10 % w/w\", \"5 g/l\", \"0.5 mol/l\", \"1:2000 w/w\" or \"1 + 9 v/v\".";
    let shown = echo(&text.value);
    match Strength::read(&text.value) {
        Ok(strength) => Some(Placed { value: strength, place: text.place.clone() }),
        Err(StrengthFault::NoBase) => {
            let what = format!("`{shown}` does not say whether it is by weight or by volume.");
            reader.push(Finding::new(kind::BASIS_NOT_STATED, text.place.clone(), what));
            None
        }
        Err(StrengthFault::TooStrong) => {
            let what = format!("`{shown}` is more than the pure substance.");
            reader.push(Finding::new(kind::WRONG_VALUE, text.place.clone(), what).mend(
                "By weight in weight and by volume in volume the pure substance is 100 %; by weight in volume nothing is above 300 %.",
            ));
            None
        }
        Err(StrengthFault::Number(fault)) if fault != crate::quantity::NumberFault::Missing => {
            reader.push(super::reader::number_finding(fault, &text.value, &text.place));
            None
        }
        Err(_) => {
            let what = format!("`{shown}` is not a strength.");
            reader.push(Finding::new(kind::WRONG_VALUE, text.place.clone(), what).mend(forms));
            None
        }
    }
}

pub(crate) fn read_measured(reader: &Reader<'_>, text: &Placed<String>, what: &str) -> Option<Placed<Measured>> {
    let measured = measured(reader, text, what)?;
    if measured.number() <= Decimal::ZERO {
        reader.wrong(text.place.clone(), what, "above zero");
        return None;
    }
    Some(text.with(measured))
}

/// [`read_measured`], where none at all is an amount too.
pub(crate) fn read_measured_or_none(
    reader: &Reader<'_>,
    text: &Placed<String>,
    what: &str,
) -> Option<Placed<Measured>> {
    let measured = measured(reader, text, what)?;
    if measured.number() < Decimal::ZERO {
        reader.wrong(text.place.clone(), what, "zero or more");
        return None;
    }
    Some(text.with(measured))
}

fn measured(reader: &Reader<'_>, text: &Placed<String>, what: &str) -> Option<Measured> {
    match read_amount_text(reader, &text.value, &text.place) {
        Amount::Mass { mass, .. } => Some(Measured::Mass(mass)),
        Amount::Volume(VolumeAmount { volume: Some(volume), .. }) => Some(Measured::Volume(volume)),
        Amount::Unknown => None,
        _ => {
            reader.wrong(text.place.clone(), what, "a weight such as \"500 g\" or a volume such as \"1 l\"");
            None
        }
    }
}
