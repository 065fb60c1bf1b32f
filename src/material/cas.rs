//! CAS numbers: whether one is written without a slip.

use crate::block::{Reader, Table, as_table};
use crate::report::{Finding, echo, kind};
use toml::de::DeValue;

/// Reports a `cas` that cannot be a CAS number. It is a text, or a table with `number`.
pub(super) fn check_cas(reader: &Reader<'_>, table: &Table<'_, '_>) {
    let Some(value) = table.get("cas") else { return };
    let inner = match value.get_ref() {
        DeValue::Table(_) => as_table(reader, "cas", value),
        _ => None,
    };
    let number = inner.as_ref().map_or_else(|| table.text("cas"), |inner| inner.text("number"));
    let others = inner.map(|inner| inner.texts("other")).unwrap_or_default();
    for number in number.into_iter().chain(others).filter(|number| !is_cas_number(&number.value)) {
        let what = format!("`{}` is no CAS number: its form or its last digit is wrong.", echo(&number.value));
        reader.push(
            Finding::new(kind::BAD_MATERIAL, number.place, what)
                .mend("Copy the number again from the supplier's sheet.")
                .source("CAS Registry, check digit"),
        );
    }
}

/// CAS Registry, check digit: the digits before it, counted from the right from 1, each times its position; the sum modulo 10.
fn is_cas_number(text: &str) -> bool {
    let mut parts = text.split('-');
    let (Some(first), Some(second), Some(check), None) = (parts.next(), parts.next(), parts.next(), parts.next())
    else {
        return false;
    };
    let shaped = (2..=7).contains(&first.len()) && second.len() == 2 && check.len() == 1 && !first.starts_with('0');
    let digits: Option<Vec<u32>> = first.chars().chain(second.chars()).map(|digit| digit.to_digit(10)).collect();
    let Some(digits) = digits.filter(|_| shaped) else { return false };
    let sum: u32 = digits.iter().rev().zip(1..).map(|(digit, position)| digit * position).sum();
    check.parse() == Ok(sum % 10)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Water, 7732-18-5, is the example that the registry itself gives.
    #[test]
    fn the_check_digit_is_computed_as_the_registry_does() {
        assert!(is_cas_number("7732-18-5"));
        assert!(is_cas_number("56-81-5"));
        for slip in ["7732-18-6", "7723-18-5", "7732185", "7732-18-5-1", "", "a-18-5"] {
            assert!(!is_cas_number(slip), "{slip}");
        }
    }
}
