//! The `method` block: the steps by which a formula is made.
//!
//! Keys: `formula`, the id of the formula; `tare`, the weight of the empty main vessel; `[[step]]`, one table for each step in order, with `do`
//! (what to do, printed as written), `add`, `in` (a vessel of its own, by a name), `tare` (of that vessel, empty), `pour` (vessels emptied into this
//! one), `at` (the vessel's temperature while the step is done), `stir`, `for`, `until` (words), `top-up` (what makes up for evaporation).
//!
//! What is added is written in words: `"glycerin"` all of it, `"80 % of water"` or `"11 g of water"` a part, `"rest of water"` what no other step
//! takes, `"phase A"` what no other step takes of that phase; `"water of phase A"` where a raw material stands in several phases. Names are
//! looked up later.

use super::amount::{Amount, read_amount_text, read_mass, temperature_of};
use super::reader::{Placed, Reader, Table};
use crate::quantity::show::NBSP;
use crate::quantity::{Decimal, Mass, Percent, Temperature, show};
use crate::report::{Finding, Place, echo, kind};
use serde::Serialize;
use toml::de::DeValue;

/// A method as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MethodBlock {
    /// The formula.
    pub formula: Placed<String>,
    /// The empty main vessel.
    pub tare: Option<Mass>,
    /// Its steps, at least one.
    pub steps: Vec<StepBlock>,
}

/// A step as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StepBlock {
    /// What to do.
    pub words: Placed<String>,
    /// What goes in, in order.
    pub add: Vec<Placed<Addition>>,
    /// The vessel in which it is done, when not the main one.
    pub vessel: Option<Placed<String>>,
    /// That vessel, empty.
    pub tare: Option<Mass>,
    /// Vessels that are emptied into this one.
    pub pour: Vec<Placed<String>>,
    /// The vessel's temperature.
    pub at: Option<Placed<Warmth>>,
    /// How it is stirred.
    pub stir: Option<String>,
    /// For how long.
    pub time: Option<String>,
    /// Until what is seen.
    pub until: Option<String>,
    /// What makes up for evaporation.
    pub top_up: Option<Placed<String>>,
}

/// Something that a step adds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Addition {
    /// What other steps leave of a phase.
    Phase(String),
    /// A raw material, or a part of it.
    Line {
        /// The raw material's id.
        material: String,
        /// Its phase, where it stands in several.
        phase: Option<String>,
        /// How much of it.
        share: Share,
    },
}

/// How much of a line a step adds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Share {
    /// All of it.
    Whole,
    /// What no other step takes.
    Rest,
    /// So many per cent of the line's weight, above zero and at most 100.
    Percent(Percent),
    /// So much of the batch shown.
    Weight(Mass),
}

/// How warm a vessel is: one temperature, a span, or at most so warm.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Warmth {
    /// The lowest; `None` where only the highest is stated.
    pub low: Option<Temperature>,
    /// The highest, by which heat is judged.
    pub high: Temperature,
    /// As it is printed.
    pub text: String,
}

/// The upper end of room temperature: 25 °C, of the controlled room temperature of 20 to 25 °C in USP general chapter 659 (from memory).
const ROOM: Temperature = Temperature::from_celsius(Decimal::from_parts(25, 0, 0, false, 0));

/// An example for messages.
const STEP: &str = "`[[step]]` with `do = \"…\"` and `add = [\"water\"]`";

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<MethodBlock> {
    let formula = super::formula::read_reference(reader, table, "formula");
    let tare = read_tare(reader, table);
    let steps: Vec<Option<StepBlock>> = table.tables("step").into_iter().map(|step| read_step(reader, &step)).collect();
    if steps.is_empty() && table.get("step").is_none() {
        reader.push(
            Finding::new(kind::MISSING_KEY, reader.cutting.head(), "The method has no steps.")
                .mend(format!("Add {STEP}.")),
        );
        return None;
    }
    Some(MethodBlock { formula: formula?, tare, steps: steps.into_iter().collect::<Option<_>>()? })
}

fn read_tare(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<Mass> {
    table.text("tare").and_then(|text| read_mass(reader, &text, "`tare`"))
}

fn read_step(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<StepBlock> {
    let words = table.text("do");
    if words.is_none() && table.get("do").is_none() {
        reader.push(
            Finding::new(kind::MISSING_KEY, first_line(table), "The step has no `do`.")
                .mend("Say in words what is done: `do = \"Stir the gum into the glycerin.\"`."),
        );
    }
    let add = table
        .texts("add")
        .into_iter()
        .filter_map(|text| read_addition(reader, &text).map(|addition| text.with(addition)))
        .collect();
    let text = |key| table.text(key).map(|text: Placed<String>| text.value);
    let step = StepBlock {
        add,
        vessel: table.text("in"),
        tare: read_tare(reader, table),
        pour: one_or_more(table, "pour"),
        at: table.text("at").and_then(|text| read_warmth(reader, &text).map(|warmth| text.with(warmth))),
        stir: text("stir"),
        time: text("for"),
        until: text("until"),
        top_up: table.text("top-up"),
        words: words.clone().unwrap_or(Placed { value: String::new(), place: first_line(table) }),
    };
    table.finish();
    if let (Some(_), None, Some(tare)) = (step.tare, &step.vessel, table.get("tare")) {
        reader.push(
            Finding::new(
                kind::MISSING_KEY,
                reader.place_of(tare),
                "This `tare` is of a step without a vessel of its own.",
            )
            .mend("Name the vessel, such as `in = \"oil pot\"`; the main vessel's tare stands above the steps."),
        );
    }
    words.map(|_| step)
}

/// Where a step begins, for findings about the step as a whole.
fn first_line(table: &Table<'_, '_>) -> Place {
    let place = table.place();
    Place { path: place.path.clone(), span: place.span.start..place.span.start }
}

fn one_or_more(table: &Table<'_, '_>, key: &'static str) -> Vec<Placed<String>> {
    match table.get(key).map(toml::Spanned::get_ref) {
        Some(DeValue::String(_)) => table.text(key).into_iter().collect(),
        _ => table.texts(key),
    }
}

/// What a step adds, from its words.
fn read_addition(reader: &Reader<'_>, text: &Placed<String>) -> Option<Addition> {
    let words = text.value.split_whitespace().collect::<Vec<_>>().join(" ");
    if words.is_empty() {
        reader.wrong(text.place.clone(), "What is added", "named, such as \"glycerin\" or \"phase A\"");
        return None;
    }
    if let Some(phase) = words.strip_prefix("phase ") {
        return Some(Addition::Phase(phase.to_owned()));
    }
    let (words, phase) = match words.split_once(" of phase ") {
        Some((words, phase)) => (words, Some(phase.to_owned())),
        None => (words.as_str(), None),
    };
    let Some((amount, material)) = words.split_once(" of ") else {
        if words.starts_with(|c: char| c.is_ascii_digit())
            && let Some((amount, name)) = words.rsplit_once(' ')
            && amount.contains(' ')
        {
            let what = format!("`{}` begins with an amount, and says not that it is a part of a line.", echo(words));
            let mend = format!("Write `{} of {}`.", echo(amount), echo(name));
            reader.push(Finding::new(kind::WRONG_VALUE, text.place.clone(), what).mend(mend));
            return None;
        }
        return Some(Addition::Line { material: words.to_owned(), phase, share: Share::Whole });
    };
    let material = material.trim_start_matches("the ").to_owned();
    if matches!(amount, "rest" | "the rest") {
        return Some(Addition::Line { material, phase, share: Share::Rest });
    }
    let is_number = amount.starts_with(|c: char| c.is_ascii_digit());
    let read = if is_number { read_amount_text(reader, amount, &text.place) } else { Amount::Balance };
    let share = match read {
        Amount::Percent(percent) if amount.ends_with('%') && percent > Percent::ZERO && percent <= Percent::HUNDRED => {
            Share::Percent(percent)
        }
        Amount::Mass { mass, .. } if mass > Mass::ZERO => Share::Weight(mass),
        Amount::Unknown => return None,
        _ => {
            let wanted =
                "a percentage up to 100 or a weight in figures, such as \"50 % of water\" or \"11 g of water\"";
            reader.wrong(text.place.clone(), "A part of a line", wanted);
            return None;
        }
    };
    Some(Addition::Line { material, phase, share })
}

/// A vessel's temperature: `"75 °C"`, `"70..75 °C"`, `"below 40 °C"`, `"room temperature"`; °F as well.
fn read_warmth(reader: &Reader<'_>, text: &Placed<String>) -> Option<Warmth> {
    let words = text.value.trim();
    let warmth = warmth_of(words);
    if warmth.is_none() {
        let wanted = "a temperature such as \"75 °C\", \"70..75 °C\", \"below 40 °C\" or \"room temperature\"";
        reader.wrong(text.place.clone(), "`at`", wanted);
    }
    warmth
}

fn warmth_of(words: &str) -> Option<Warmth> {
    if words == "room temperature" {
        return Some(Warmth { low: None, high: ROOM, text: words.to_owned() });
    }
    // Who reads in °F finds the typed figure first.
    let in_celsius = |shown: String| {
        if words.ends_with(['F', '℉']) {
            format!("{} ({shown})", words.replace(' ', "\u{a0}").replace("..", "–"))
        } else {
            shown
        }
    };
    if let Some(limit) = words.strip_prefix("below ") {
        let high = temperature_of(limit)?;
        let shown = show::celsius(high);
        let text = if words.ends_with(['F', '℉']) { in_celsius(shown) } else { format!("below {shown}") };
        return Some(Warmth { low: None, high, text });
    }
    let Some((low, high)) = words.split_once("..").or_else(|| words.split_once('–')) else {
        let only = temperature_of(words)?;
        return Some(Warmth { low: Some(only), high: only, text: in_celsius(show::celsius(only)) });
    };
    let unit = crate::quantity::split_number(high.trim()).1;
    let low = temperature_of(low).or_else(|| temperature_of(&format!("{}{unit}", low.trim())))?;
    let high = temperature_of(high)?;
    if low > high {
        return None;
    }
    let (first, last) = (show::celsius(low), show::celsius(high));
    let first = first.trim_end_matches("°C").trim_end_matches(NBSP);
    Some(Warmth { low: Some(low), high, text: in_celsius(format!("{first}–{last}")) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(words: &str, expected: Option<&str>) {
        let shown = warmth_of(words).map(|warmth| warmth.text.replace(NBSP, " "));
        assert_eq!(shown.as_deref(), expected);
    }

    #[test]
    fn temperatures_of_a_vessel() {
        check("75 °C", Some("75 °C"));
        check("70..75 °C", Some("70–75 °C"));
        check("70 °C..75 °C", Some("70–75 °C"));
        check("below 40 °C", Some("below 40 °C"));
        check("167 °F", Some("167 °F (75 °C)"));
        check("below 104 °F", Some("below 104 °F (40 °C)"));
        check("158..167 °F", Some("158–167 °F (70–75 °C)"));
        check("room temperature", Some("room temperature"));
        check("warm", None);
        check("75", None);
        check("75..70 °C", None);
    }

    #[test]
    fn the_upper_end_counts() {
        assert_eq!(warmth_of("70..75 °C").map(|warmth| warmth.high.celsius()), Some(Decimal::new(75, 0)));
    }
}
