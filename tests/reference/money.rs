//! Money: the minor units of ISO 4217, and rounding to them.

use super::d;
use tarebook::quantity::{Currency, Money};

/// ISO 4217:2015, list one, column "minor unit": from memory. Most currencies have two decimals, the yen and the Chilean peso none, the dinars of the Gulf
/// three.
#[test]
fn minor_units() {
    for (code, digits) in [
        ("EUR", 2),
        ("USD", 2),
        ("GBP", 2),
        ("CHF", 2),
        ("JPY", 0),
        ("CLP", 0),
        ("ISK", 0),
        ("KWD", 3),
        ("BHD", 3),
        ("TND", 3),
    ] {
        assert_eq!(Currency::from_code(code).unwrap().minor_digits(), digits, "{code}");
    }
    for code in ["eur", "€", "EURO", "XYZ", ""] {
        assert_eq!(Currency::from_code(code), None, "{code}");
    }
}

/// ISO 80000-1:2009, Annex B, rule A (the even multiple), examples B.3: 12.25 becomes 12.2 and 12.35 becomes 12.4 in steps of 0.1; 1 225.0 becomes 1 220 and
/// 1 235.0 becomes 1 240 in steps of 10: from memory. Here in steps of a cent and of a yen.
#[test]
fn halves_go_to_the_even_step() {
    for (amount, code, shown) in [
        ("1.225", "EUR", "1.22"),
        ("1.235", "EUR", "1.24"),
        ("122.5", "JPY", "122"),
        ("123.5", "JPY", "124"),
        ("1.2225", "KWD", "1.222"),
        ("1.2235", "KWD", "1.224"),
    ] {
        let money = Money::new(d(amount), Currency::from_code(code).unwrap());
        assert_eq!(money.rounded().amount().to_string(), shown, "{amount} {code}");
        assert_eq!(money.to_string(), format!("{shown}\u{a0}{code}"));
    }
}
