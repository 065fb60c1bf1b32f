//! Prices as they are written: "12.50 EUR".

use super::reader::{Placed, Reader, number_finding};
use crate::quantity::{Currency, Money, MoneyFault};
use crate::report::{Finding, Place, echo, kind};

/// What the price of packaging is called, which is often a small part of the smallest coin.
pub(super) const PACKAGING_PRICE: &str = "A price of packaging";

/// Reads an amount of money; what is wrong with it is reported.
pub(crate) fn read_money(reader: &Reader<'_>, text: &Placed<String>, what: &str) -> Option<Money> {
    Money::read(&text.value).map_err(|fault| report(reader, fault, text, what)).ok()
}

/// Reads what one of a currency is worth in another, with any number of decimals.
pub(crate) fn read_rate(reader: &Reader<'_>, text: &Placed<String>) -> Option<Money> {
    Money::read_rate(&text.value).map_err(|fault| report(reader, fault, text, "A rate")).ok()
}

fn report(reader: &Reader<'_>, fault: MoneyFault, text: &Placed<String>, what: &str) {
    let shown = echo(&text.value);
    let (what, mend) = match fault {
        MoneyFault::Number(fault) => {
            reader.push(number_finding(fault, &text.value, &text.place));
            return;
        }
        MoneyFault::NoCurrency => {
            (format!("`{shown}` does not say in which currency."), "Write it with its code: \"12.50 EUR\".".to_owned())
        }
        MoneyFault::NoCode(meant) => (
            format!("The currency of `{shown}` is not a code of ISO 4217."),
            match meant {
                Some(meant) => format!("Write the code behind the number: {meant}."),
                None => "Write its three capital letters behind the number: \"12.50 EUR\".".to_owned(),
            },
        ),
        MoneyFault::Negative => (format!("{what} is below zero."), "Write what is paid, zero or more.".to_owned()),
        MoneyFault::TooFine(currency) => (
            format!("`{shown}` has more decimals than {currency} has: {}.", currency.minor_digits()),
            match what {
                PACKAGING_PRICE => "Write what many of them cost and how much of that a unit takes: `{ price = \"35.00 EUR\", per-unit = 0.001 }` for one of a thousand.".to_owned(),
                _ => "Write what was paid for the whole pack; what a gram of it costs is worked out.".to_owned(),
            },
        ),
    };
    reader.push(Finding::new(kind::WRONG_VALUE, text.place.clone(), what).mend(mend));
}

/// Reads the code of a currency.
pub(crate) fn read_currency(reader: &Reader<'_>, code: &str, place: &Place) -> Option<Currency> {
    let currency = Currency::from_code(code);
    if currency.is_none() {
        let what = format!("`{}` is not a currency of ISO 4217.", echo(code));
        reader.push(
            Finding::new(kind::WRONG_VALUE, place.clone(), what).mend("Write its three capital letters: \"EUR\"."),
        );
    }
    currency
}
