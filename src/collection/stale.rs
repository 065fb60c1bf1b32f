//! Whether the text of a calc link still agrees with its figure, at the precision it was written with.

use crate::compute::Value;
use crate::notebook::CalcLink;
use crate::quantity::{Decimal, MassUnit, read_decimal, round_half_even, split_number};
use crate::report::{Finding, echo, kind};

/// The finding for a link whose text says something else than the page will. Empty brackets say nothing.
pub(super) fn check(link: &CalcLink, value: &Value, shown: &str) -> Option<Finding> {
    let text = simple(&link.text);
    if text.is_empty() || text == simple(shown) || agrees(&text, value) {
        return None;
    }
    Some(
        Finding::new(
            kind::STALE_NUMBER,
            crate::report::Place { path: link.place.path.clone(), span: link.text_span.clone() },
            format!("The text says `{}`, the formula gives {shown}.", echo(&link.text)),
        )
        .mend(format!(
            "Write `[{shown}](calc:{})`; `tarebook correct` writes it, and all others that went stale.",
            echo(&link.written)
        )),
    )
}

/// One kind of space, one kind of dash and minus.
fn simple(text: &str) -> String {
    let text: String = text
        .chars()
        .map(|c| match c {
            '\u{a0}' | '\u{202f}' | '\u{2009}' => ' ',
            '−' | '‒' => '-',
            _ => c,
        })
        .collect();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn agrees(text: &str, value: &Value) -> bool {
    match value {
        Value::Mass { mass, .. } => number_and_unit(text).is_some_and(|(number, unit)| {
            let unit = if unit.is_empty() { Some(MassUnit::Gram) } else { MassUnit::from_symbol(unit) };
            unit.is_some_and(|unit| rounds_to(mass.to_unit(unit), number))
        }),
        Value::Percent(percent) => percent_number(text).is_some_and(|number| rounds_to(percent.value(), number)),
        Value::PercentRange(range) => match text.split_once(['–', '-']) {
            Some((low, high)) => {
                let ends = percent_number(low).zip(percent_number(high));
                ends.is_some_and(|(low, high)| rounds_to(range.low, low) && rounds_to(range.high, high))
            }
            // A range is printed, but who wrote the typical value wrote nothing wrong.
            None => percent_number(text).is_some_and(|number| rounds_to(range.typical, number)),
        },
        Value::Ph(ph) => {
            let (low, high) = text.split_once(['–', '-']).unwrap_or((text, text));
            let number = |text: &str| read_decimal(text.trim().trim_start_matches("pH")).ok();
            number(low) == Some(ph.low.value()) && number(high) == Some(ph.high.value())
        }
        Value::Volume { text: typed, .. } => {
            let (number, unit) = split_number(typed);
            number_and_unit(text).is_some_and(|(mine, my_unit)| read_decimal(number) == Ok(mine) && unit == my_unit)
        }
        Value::Number(number) => number_and_unit(text).is_some_and(|(mine, _)| mine == *number),
        Value::Quantity { value, unit, .. } => number_and_unit(text)
            .is_some_and(|(mine, my_unit)| (my_unit.is_empty() || my_unit == *unit) && rounds_to(*value, mine)),
        Value::Reading { value, ends, unit, .. } => {
            let ends_written = text.split_once('–').or_else(|| text.split_once(" to "));
            let (low, high) = ends_written.map_or((None, text), |(low, high)| (Some(low), high.trim_start()));
            let (printed, my_unit) = split_number(high);
            let Ok(mine) = read_decimal(printed) else { return false };
            let agrees = match (low, ends) {
                (Some(low), Some((from, to))) => {
                    read_decimal(low.trim()).is_ok_and(|low| rounds_to(*from, low)) && rounds_to(*to, mine)
                }
                (Some(_), None) => false,
                (None, _) => rounds_to(*value, mine),
            };
            agrees && (my_unit.is_empty() || my_unit == unit)
        }
        Value::QuantityRange { range, unit, .. } => {
            let number = |text: &str| {
                let (mine, my_unit) = number_and_unit(text.trim())?;
                (my_unit.is_empty() || my_unit == *unit).then_some(mine)
            };
            let ends = text.split_once('–').or_else(|| text.split_once(" to "));
            match ends.map(|(low, high)| (number(low), number(high))) {
                Some((low, high)) => {
                    low.zip(high).is_some_and(|(low, high)| rounds_to(range.low, low) && rounds_to(range.high, high))
                }
                None => number(text).is_some_and(|number| rounds_to(range.typical, number)),
            }
        }
        Value::Worked(value) => crate::quantity::read_literal(&text.replace('\u{a0}', " ")).is_ok_and(|mine| {
            let mine_is_range = !mine.is_exact();
            value.ends_in(&mine).is_some_and(|found| {
                let digits = mine.decimals();
                let same = |one: &crate::quantity::Exact, two: &crate::quantity::Exact| {
                    one.rounded(digits) == two.rounded(digits)
                };
                let [low, typical, high] = mine.ends();
                if mine_is_range { same(&found[0], &low) && same(&found[2], &high) } else { same(&found[1], &typical) }
            })
        }),
        Value::Density(_) | Value::Text(_) => false,
    }
}

fn number_and_unit(text: &str) -> Option<(Decimal, &str)> {
    let (number, unit) = split_number(text);
    Some((read_decimal(number).ok()?, unit))
}

fn percent_number(text: &str) -> Option<Decimal> {
    let (number, unit) = number_and_unit(text.trim())?;
    (unit.is_empty() || unit == "%" || unit == "percent" || unit == "per cent").then_some(number)
}

/// Whether an exact value, rounded to the decimals that were written, is the number written.
fn rounds_to(exact: Decimal, written: Decimal) -> bool {
    round_half_even(exact, written.scale()) == written
}
