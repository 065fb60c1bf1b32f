//! The `expect` block: what the author claims must hold, each line an address and what it has to be.
//!
//! Keys are addresses as calc links write them, in quotation marks: `"barley-wash/active-matter" = "10..12 %"`. A value is a quantity, a range, or words where
//! the figure is words; or a table with `value` or `typical`, and `within`.

use super::reader::{Placed, Reader, Table, as_table, number_text, understood};
use crate::notebook::{Query, read_calc_address};
use crate::quantity::{LiteralFault, NumberFault, UnitFault, UnitValue, Units, read_literal};
use crate::report::{Finding, Place, echo, kind};
use serde::Serialize;

/// An address of a figure as written in a block.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Address {
    /// The id of the formula or block.
    pub id: Placed<String>,
    /// The path below it.
    pub path: Vec<String>,
    /// How the figure is wanted.
    pub query: Query,
    /// The whole as written.
    pub written: String,
}

impl Address {
    /// Reads an address; what is wrong with its query is told.
    pub(super) fn read(written: &str, place: &Place, findings: &mut Vec<Finding>) -> Address {
        let (mut path, query) = read_calc_address(written, place, findings);
        let id = if path.is_empty() { String::new() } else { path.remove(0) };
        Address { id: Placed { value: id, place: place.clone() }, path, query, written: written.to_owned() }
    }
}

/// How far a figure may be from what is expected.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Within {
    /// Half a unit of the last digit that was written; nothing beyond the ends of a range.
    Digits,
    /// By so much.
    Amount(UnitValue),
    /// By so many per cent of what is expected.
    Share(UnitValue),
}

/// What a figure is expected to be.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Expected {
    /// As written.
    pub text: Placed<String>,
    /// As a quantity, where it is one.
    #[serde(serialize_with = "understood")]
    pub quantity: Result<UnitValue, LiteralFault>,
    /// How far off it may be.
    pub within: Within,
    /// Whether only the value to plan with counts, and not the whole range of the figure.
    pub is_typical: bool,
}

/// One expectation.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ExpectLine {
    /// The figure.
    pub address: Address,
    /// What it has to be.
    pub expected: Expected,
}

/// Expectations as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ExpectBlock {
    /// In the order written.
    pub lines: Vec<ExpectLine>,
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<ExpectBlock> {
    let mut lines = Vec::new();
    let mut is_whole = true;
    for (key, value) in table.others() {
        table.take(&key.value);
        if !key.value.contains('/') {
            let what = format!("`{}` is no address of a figure.", echo(&key.value));
            reader.push(
                Finding::new(kind::UNKNOWN_ADDRESS, key.place, what)
                    .mend("Write `\"formula/quantity\" = …`, such as `\"barley-wash/active-matter\" = \"10..12 %\"`."),
            );
            is_whole = false;
            continue;
        }
        let mut findings = Vec::new();
        let address = Address::read(&key.value, &key.place, &mut findings);
        is_whole &= findings.is_empty();
        findings.into_iter().for_each(|finding| reader.push(finding));
        match read_expected(reader, &key, value) {
            Some(expected) => lines.push(ExpectLine { address, expected }),
            None => is_whole = false,
        }
    }
    if lines.is_empty() && is_whole {
        reader.push(
            Finding::new(kind::MISSING_KEY, reader.cutting.head(), "The block expects nothing.")
                .mend("Write a line such as `\"barley-wash/active-matter\" = \"10..12 %\"`."),
        );
        return None;
    }
    is_whole.then_some(ExpectBlock { lines })
}

fn read_expected(
    reader: &Reader<'_>,
    key: &Placed<String>,
    value: &toml::Spanned<toml::de::DeValue<'_>>,
) -> Option<Expected> {
    let place = reader.place_of(value);
    let plain = |text: &str, place: Place| Expected {
        quantity: read_literal(text),
        text: Placed { value: text.to_owned(), place },
        within: Within::Digits,
        is_typical: false,
    };
    match value.get_ref() {
        toml::de::DeValue::String(text) => return Some(plain(text, place)),
        other => {
            if let Some(text) = number_text(other) {
                return Some(plain(text, place));
            }
        }
    }
    if !matches!(value.get_ref(), toml::de::DeValue::Table(_)) {
        reader.wrong(
            place,
            &format!("What `{}` has to be", echo(&key.value)),
            "text in double quotes, a number, or `{ value = \"…\", within = \"…\" }`",
        );
        return None;
    }
    let table = as_table(reader, &key.value, value)?;
    let (whole, typical) = (table.text_or_number("value"), table.text_or_number("typical"));
    let within = table.text_or_number("within");
    table.finish();
    let (text, is_typical) = match (whole, typical) {
        (Some(text), None) => (text, false),
        (None, Some(text)) => (text, true),
        _ => {
            let what = format!("What `{}` has to be needs either `value` or `typical`.", echo(&key.value));
            reader.push(
                Finding::new(kind::MISSING_KEY, place, what)
                    .mend("`value` holds for the whole range of the figure, `typical` for the value to plan with."),
            );
            return None;
        }
    };
    let quantity = read_literal(&text.value);
    let within = match within {
        None => Within::Digits,
        Some(within) => {
            let expected = match &quantity {
                Ok(expected) => expected,
                Err(fault) => {
                    reader.push(literal_finding(fault, &text));
                    return None;
                }
            };
            read_within(reader, &within, expected)?
        }
    };
    Some(Expected { text, quantity, within, is_typical })
}

/// `0.05 g`, `1 %` of what is expected, `0.5 points` of per cent.
fn read_within(reader: &Reader<'_>, within: &Placed<String>, expected: &UnitValue) -> Option<Within> {
    let refuse = |what: String, mend: &str| {
        reader.push(Finding::new(kind::WRONG_VALUE, within.place.clone(), what).mend(mend));
        None
    };
    let shown = echo(&within.value);
    if !expected.is_exact() {
        return refuse(
            format!("A range has no `within`; `{shown}` would widen it."),
            "Write the range that is allowed.",
        );
    }
    let (text, points) = match within.value.trim().strip_suffix("points") {
        Some(text) => (text, true),
        None => (within.value.as_str(), false),
    };
    let (text, of_it) = match text.trim().strip_suffix("of it") {
        Some(text) => (text, true),
        None => (text, false),
    };
    let amount = match read_literal(text) {
        Ok(amount) => amount,
        Err(fault) => {
            reader.push(literal_finding(&fault, within));
            return None;
        }
    };
    let is_above_nothing = amount.is_exact() && amount.ends().iter().all(|end| !end.is_negative());
    if !is_above_nothing {
        return refuse(format!("`{shown}` is no distance."), "Write one number above zero with its unit.");
    }
    let (is_share, is_percent) = (amount.units().is_share(), expected.units().is_share());
    match (is_share, is_percent) {
        (true, true) if !of_it => refuse(
            format!("`{shown}` can mean percentage points or a share of what is expected."),
            "Write `0.5 points` or `1 % of it`.",
        ),
        (true, _) => Some(Within::Share(amount)),
        (false, true) if points && amount.units().is_none() => {
            let [low, ..] = amount.ends();
            Some(Within::Amount(UnitValue::exactly(low.rounded(9), Units::of("%"))))
        }
        (false, _) if points || of_it => refuse(
            format!("`{shown}` is no distance."),
            "Write a quantity such as `0.05 g`, a share such as `1 %`, or `0.5 points` for per cent.",
        ),
        (false, _) if amount.units().is_reading() && expected.units().is_reading() => {
            refuse(format!("`{shown}` is a reading and no distance."), "Write a difference in kelvin: `0.5 K`.")
        }
        (false, _) => Some(Within::Amount(amount)),
    }
}

/// The finding for a text that is no quantity.
pub(crate) fn literal_finding(fault: &LiteralFault, text: &Placed<String>) -> Finding {
    let shown = echo(&text.value);
    let place = text.place.clone();
    match fault {
        LiteralFault::Number(number) if *number != NumberFault::Missing => {
            super::reader::number_finding(*number, &text.value, &place)
        }
        LiteralFault::Unit(UnitFault::Unknown(unit, instead)) => {
            let mend = instead.map_or("Units are written as `g`, `ml`, `°C`, `% w/w`, `g/ml`, `€/kg`.", |mend| mend);
            Finding::new(kind::WRONG_VALUE, place, format!("`{}` is no unit.", echo(unit))).mend(mend)
        }
        LiteralFault::Backwards => Finding::new(kind::WRONG_VALUE, place, format!("`{shown}` begins above its end."))
            .mend("Write the lower end first."),
        _ => Finding::new(kind::WRONG_VALUE, place, format!("`{shown}` is no quantity."))
            .mend("Write a number with its unit, `12.5 g`, or a range, `10..12 %`."),
    }
}
