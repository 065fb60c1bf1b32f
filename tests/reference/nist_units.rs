//! NIST Special Publication 811 (2008), Appendix B, and NIST Handbook 44, Appendix C: exact values of customary units.

use super::{Sheet, d, plain};
use tarebook::quantity::Temperature;

/// The pound is 453.592 37 g, the ounce 28.349 523 125 g.
#[test]
fn weights() {
    for (unit, grams) in [("lb", "453.59237"), ("oz", "28.349523125")] {
        let sheet = Sheet::of(&[plain("one")], &format!("[phase.A]\none = \"1 {unit}\""));
        assert_eq!(sheet.exact_weight("one"), d(grams));
    }
}

/// The US fluid ounce is 29.573 529 562 5 mL, the tablespoon 14.786 764 781 25 mL, the teaspoon 4.928 921 593 75 mL.
#[test]
fn volumes() {
    for (unit, millilitres) in
        [("us fluid ounce", "29.5735295625"), ("us tablespoon", "14.78676478125"), ("us teaspoon", "4.92892159375")]
    {
        let sheet = Sheet::of(&[plain("one")], &format!("[phase.A]\none = \"1 {unit}\""));
        assert_eq!(sheet.exact_weight("one"), d(millilitres));
    }
}

/// t/°F = 1.8 t/°C + 32 and back, exactly: water boils at 100 °C and 212 °F; −40 is the same on both scales.
#[test]
fn temperatures() {
    for (celsius, fahrenheit) in [("100", "212"), ("0", "32"), ("-40", "-40")] {
        assert_eq!(Temperature::from_celsius(d(celsius)).fahrenheit(), d(fahrenheit));
        assert_eq!(Temperature::from_fahrenheit(d(fahrenheit)).celsius(), d(celsius));
    }
}
