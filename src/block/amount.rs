//! Amounts as they are written: percent, weights, parts, volumes, batches, temperatures and pH spans.

use super::reader::{Placed, Reader, Table, number_finding, number_text, read_number};
use crate::quantity::{
    Decimal, Density, Mass, MassUnit, Percent, Ph, Temperature, Volume, VolumeUnit, read_decimal, split_number,
};
use crate::report::{Finding, Place, echo, kind};
use serde::Serialize;
use toml::Spanned;
use toml::de::DeValue;

/// The amount on a line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Amount {
    /// % w/w of the finished product.
    Percent(Percent),
    /// q.s. to 100: takes the rest.
    Balance,
    /// q.s.: dosed to an effect; the usual amount, on the formula's own basis, counts in the sum.
    Effect {
        /// The usual amount: percent, weight or parts.
        usual: Option<Box<Amount>>,
    },
    /// A weight. `bare_ounce` remembers that it was written in `oz`, which readers take for volume too.
    Mass {
        /// The weight.
        mass: Mass,
        /// Written in ounces.
        bare_ounce: bool,
    },
    /// So many parts of all parts.
    Parts(Decimal),
    /// A volume or drops, to become a weight once the density is known.
    Volume(VolumeAmount),
    /// In a change: the line falls away.
    Drop,
    /// Not understood; already reported.
    Unknown,
}

/// A volume as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct VolumeAmount {
    /// As typed, for messages.
    pub text: String,
    /// The volume, unless counted in drops.
    pub volume: Option<Volume>,
    /// Drops with their weighed size.
    pub drops: Option<(Decimal, Option<DropSize>)>,
}

/// What one drop of the bottle in hand weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct DropSize(pub Mass);

/// How much is made.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BatchSpec {
    /// A weight.
    Mass(Mass),
    /// A volume, to become a weight by the product's density.
    Volume(Volume, String),
    /// So many packs.
    Fill(Fill),
}

/// Packs to be filled.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Fill {
    /// Content of one pack by weight or volume, with the text as typed.
    pub content: FillContent,
    /// How many packs.
    pub units: Decimal,
    /// Made on top for losses, in %.
    pub overfill: Percent,
}

/// Content of one pack.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FillContent {
    /// By weight.
    Mass(Mass),
    /// By volume, with the text as typed.
    Volume(Volume, String),
}

/// A span of pH values, equal ends for a single one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct PhSpan {
    /// Lower end.
    pub low: Ph,
    /// Upper end.
    pub high: Ph,
}

/// Reads the short forms of an amount: a number (percent) or a text.
pub(super) fn read_amount(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>) -> Amount {
    let place = reader.place_of(value);
    if let Some(text) = number_text(value.get_ref()) {
        return read_number(reader, text, &place)
            .map_or(Amount::Unknown, |number| Amount::Percent(Percent::new(number)));
    }
    match value.get_ref() {
        DeValue::String(text) => read_amount_text(reader, text, &place),
        _ => {
            reader.push(Finding::new(
                kind::NOT_AN_AMOUNT,
                place,
                "An amount must be a number, a text or an inline table.",
            ));
            Amount::Unknown
        }
    }
}

/// Reads an amount written as text.
pub(super) fn read_amount_text(reader: &Reader<'_>, text: &str, place: &Place) -> Amount {
    let trimmed = text.trim();
    match trimmed.to_lowercase().as_str() {
        "q.s. to 100" | "qs to 100" | "q.s. to 100 %" | "q.s. to 100%" => return Amount::Balance,
        "q.s." | "qs" => return Amount::Effect { usual: None },
        "drop" => return Amount::Drop,
        _ => {}
    }
    let (number, unit) = split_number(trimmed);
    if number.is_empty() {
        reader.push(Finding::new(kind::NOT_AN_AMOUNT, place.clone(), format!("`{}` is not an amount.", echo(text))));
        return Amount::Unknown;
    }
    let number = match read_decimal(number) {
        Ok(number) => number,
        Err(fault) => {
            reader.push(number_finding(fault, text, place));
            return Amount::Unknown;
        }
    };
    match unit {
        "%" | "" => Amount::Percent(Percent::new(number)),
        "parts" | "part" => Amount::Parts(number),
        "drops" | "drop" => {
            Amount::Volume(VolumeAmount { text: trimmed.to_owned(), volume: None, drops: Some((number, None)) })
        }
        _ => {
            if let Some(unit) = MassUnit::from_symbol(unit) {
                return Amount::Mass { mass: Mass::from_unit(number, unit), bare_ounce: unit == MassUnit::Ounce };
            }
            if let Some(unit) = VolumeUnit::from_symbol(unit) {
                let volume = Some(Volume::from_unit(number, unit));
                return Amount::Volume(VolumeAmount { text: trimmed.to_owned(), volume, drops: None });
            }
            reader.push(unknown_unit(trimmed, unit, place));
            Amount::Unknown
        }
    }
}

fn unknown_unit(text: &str, unit: &str, place: &Place) -> Finding {
    let finding = Finding::new(
        kind::NOT_AN_AMOUNT,
        place.clone(),
        format!("`{}` has the unit `{}`, which is not known here.", echo(text), echo(unit)),
    );
    match unit.to_lowercase().as_str() {
        "tsp" | "teaspoon" | "teaspoons" | "tbsp" | "tablespoon" | "tablespoons" | "cup" | "cups" => {
            finding.because("Spoons and cups differ by country, from 4.9 to 5 ml and from 14.8 to 20 ml.").mend(
                "Name the standard (`1 metric teaspoon`, `1 us tablespoon`), or better, weigh it once and write grams.",
            )
        }
        "fl oz" | "floz" => finding.mend("Write `us fluid ounce`, or grams."),
        _ => finding.mend(
            "Weights: mg, g, kg, oz, lb. Volumes: ml, l, metric teaspoon, us fluid ounce … Also `%` and `parts`.",
        ),
    }
}

/// A weight from text such as `0.1 g`; anything else is reported as not being `what`.
pub(super) fn read_mass(reader: &Reader<'_>, text: &Placed<String>, what: &str) -> Option<Mass> {
    match read_amount_text(reader, &text.value, &text.place) {
        Amount::Mass { mass, .. } => positive(reader, mass.grams(), &text.place, what).then_some(mass),
        Amount::Unknown => None,
        _ => {
            reader.wrong(text.place.clone(), what, "a weight such as \"500 g\"");
            None
        }
    }
}

fn positive(reader: &Reader<'_>, number: Decimal, place: &Place, what: &str) -> bool {
    let good = number > Decimal::ZERO;
    if !good {
        reader.wrong(place.clone(), what, "above zero");
    }
    good
}

/// A share such as `2 %` (or a bare number, taken as per cent).
pub(crate) fn read_percent(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>, what: &str) -> Option<Percent> {
    match read_amount(reader, value) {
        Amount::Percent(percent) if percent.value() >= Decimal::ZERO => Some(percent),
        Amount::Unknown => None,
        _ => {
            reader.wrong(reader.place_of(value), what, "a percentage such as \"2 %\"");
            None
        }
    }
}

/// A share of what is taken on top. A bare number below 0.5 is asked about: who reckons in fractions writes 0.05 for 5 %.
pub(super) fn read_on_top(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>, what: &str) -> Option<Percent> {
    let share = read_percent(reader, value, what)?;
    let is_bare = number_text(value.get_ref()).is_some();
    if is_bare && Decimal::ZERO < share.value() && share.value() < Decimal::new(5, 1) {
        let (taken, meant) = (share.value().normalize(), (share.value() * Decimal::ONE_HUNDRED).normalize());
        let says = format!("{what} was taken as {taken} %, and not as {meant} %.");
        let mend = format!("Write `\"{meant} %\"` if a fraction was meant, and `\"{taken} %\"` if it is right.");
        reader.push(Finding::new(kind::FRACTION, reader.place_of(value), says).mend(mend));
    }
    Some(share)
}

/// The strength of a lot, % by weight: above nothing, and at most all of it.
pub(super) fn read_lot_strength(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>) -> Option<Percent> {
    let strength = read_percent(reader, value, "`strength`")?;
    if strength.value() <= Decimal::ZERO || strength.value() > Decimal::ONE_HUNDRED {
        reader.wrong(reader.place_of(value), "`strength`", "above 0 % and at most 100 %");
        return None;
    }
    Some(strength)
}

/// A density such as `1.02 g/ml`, or a bare number in g/ml.
pub(super) fn read_density(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>) -> Option<Density> {
    let place = reader.place_of(value);
    let text = match value.get_ref() {
        DeValue::String(text) => text.to_string(),
        other => number_text(other).unwrap_or_default().to_owned(),
    };
    let (number, unit) = split_number(&text);
    let factor = match unit {
        "" | "g/ml" | "g/mL" | "kg/l" | "kg/L" | "g/cm3" | "g/cm³" => Decimal::ONE,
        "kg/m3" | "kg/m³" | "g/l" | "g/L" => Decimal::new(1, 3),
        _ => {
            reader.wrong(place, "A density", "written like \"1.02 g/ml\"");
            return None;
        }
    };
    // Nothing that is bottled is lighter than 0.3 or heavier than 3 g/ml; beyond that a point or a unit has slipped.
    let density = read_decimal(number).ok().map(|number| number * factor);
    let density = density.filter(|density| (Decimal::new(3, 1)..=Decimal::new(3, 0)).contains(density));
    match density {
        Some(density) => Density::from_grams_per_millilitre(density),
        None => {
            reader.wrong(place, "A product's density", "between 0.3 and 3 g/ml, such as \"1.02 g/ml\"");
            None
        }
    }
}

/// How much is made: a weight, a volume, or `{ fill = …, units = …, overfill = … }`.
pub(super) fn read_batch(
    reader: &Reader<'_>,
    value: &Spanned<DeValue<'_>>,
    table: Option<Table<'_, '_>>,
) -> Option<BatchSpec> {
    let place = reader.place_of(value);
    if let Some(table) = table {
        let fill = table.text("fill");
        let units = table.number("units");
        let overfill =
            table.get("overfill").map_or(Some(Percent::ZERO), |value| read_on_top(reader, value, "`overfill`"));
        table.finish();
        for (key, missing) in [("fill", fill.is_none()), ("units", units.is_none())] {
            if missing && table.get(key).is_none() {
                reader.push(
                    Finding::new(kind::MISSING_KEY, place.clone(), format!("The batch has no `{key}`."))
                        .mend("Write `{ fill = \"250 ml\", units = 12, overfill = \"2 %\" }`."),
                );
            }
        }
        let (fill, units, overfill) = (fill?, units?, overfill?);
        let whole = units.value.fract().is_zero() && units.value > Decimal::ZERO;
        if !whole {
            reader.wrong(units.place, "`units`", "a whole number of packs");
            return None;
        }
        let content = match read_batch_text(reader, &fill.value, &fill.place, "`fill`")? {
            BatchSpec::Volume(volume, text) => FillContent::Volume(volume, text),
            BatchSpec::Mass(mass) => FillContent::Mass(mass),
            BatchSpec::Fill(_) => return None,
        };
        return Some(BatchSpec::Fill(Fill { content, units: units.value, overfill }));
    }
    match value.get_ref() {
        DeValue::String(text) => read_batch_text(reader, text, &place, "`batch`"),
        _ => {
            reader.wrong(place, "`batch`", "a weight such as \"500 g\", a volume, or `{ fill, units, overfill }`");
            None
        }
    }
}

fn read_batch_text(reader: &Reader<'_>, text: &str, place: &Place, what: &str) -> Option<BatchSpec> {
    let wanted = "a weight such as \"500 g\" or a volume such as \"2 l\"";
    match read_amount_text(reader, text, place) {
        Amount::Mass { mass, .. } => positive(reader, mass.grams(), place, what).then_some(BatchSpec::Mass(mass)),
        Amount::Volume(VolumeAmount { volume: Some(volume), text, .. }) => {
            positive(reader, volume.millilitres(), place, what).then_some(BatchSpec::Volume(volume, text))
        }
        Amount::Unknown => None,
        _ => {
            reader.wrong(place.clone(), what, wanted);
            None
        }
    }
}

/// A pH or a span of pH: `5`, `"4.8..5.2"`, `"pH 5.0"`.
pub(super) fn read_ph(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>) -> Option<PhSpan> {
    let place = reader.place_of(value);
    let text = match value.get_ref() {
        DeValue::String(text) => text.to_string(),
        other => number_text(other).unwrap_or_default().to_owned(),
    };
    let text = text.trim().trim_start_matches("pH").trim();
    let (low, high) = text.split_once("..").or_else(|| text.split_once('–')).unwrap_or((text, text));
    let ends = read_decimal(low).ok().and_then(Ph::new).zip(read_decimal(high).ok().and_then(Ph::new));
    match ends {
        Some((low, high)) if low <= high => Some(PhSpan { low, high }),
        _ => {
            reader.wrong(place, "`ph`", "one pH or a span from low to high, between 0 and 14, such as \"4.8..5.2\"");
            None
        }
    }
}

/// A temperature such as `75 °C` or `167 °F`.
pub(super) fn read_temperature(reader: &Reader<'_>, text: &Placed<String>) -> Option<Temperature> {
    let temperature = temperature_of(&text.value);
    if temperature.is_none() {
        reader.wrong(text.place.clone(), "A temperature", "with its unit, such as \"75 °C\" or \"167 °F\"");
    }
    temperature
}

/// A temperature from its text, where it is one.
pub(super) fn temperature_of(text: &str) -> Option<Temperature> {
    let (number, unit) = split_number(text);
    match (read_decimal(number), unit) {
        (Ok(number), "°C" | "℃" | "C") => Some(Temperature::from_celsius(number)),
        (Ok(number), "°F" | "℉" | "F") => Some(Temperature::from_fahrenheit(number)),
        _ => None,
    }
}
