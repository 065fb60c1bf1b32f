//! Quantities in data files: every number an exact decimal in a text, with its unit beside it, and never a binary fraction.

use super::{
    Base, Currency, Date, Density, Exact, Mass, Money, Percent, Ph, Rounding, Temperature, UnitValue, Units, Volume,
};
use serde::ser::{Serialize, SerializeMap, Serializer};

/// `{ "value": "12.5", "unit": "g" }`.
fn with_unit<S: Serializer>(serializer: S, value: super::Decimal, unit: &str) -> Result<S::Ok, S::Error> {
    let mut map = serializer.serialize_map(Some(2))?;
    map.serialize_entry("value", &value)?;
    map.serialize_entry("unit", unit)?;
    map.end()
}

impl Serialize for Mass {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        with_unit(serializer, self.grams(), "g")
    }
}

impl Serialize for Volume {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        with_unit(serializer, self.millilitres(), "ml")
    }
}

impl Serialize for Percent {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        with_unit(serializer, self.value(), "%")
    }
}

/// Its code in ISO 4217.
impl Serialize for Currency {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.code())
    }
}

/// In the currency's main unit, exact and not rounded.
impl Serialize for Money {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        with_unit(serializer, self.amount(), self.currency().code())
    }
}

impl Serialize for Temperature {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        with_unit(serializer, self.celsius(), "°C")
    }
}

impl Serialize for Density {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        with_unit(serializer, self.grams_per_millilitre(), "g/ml")
    }
}

impl Serialize for Ph {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        Serialize::serialize(&self.value(), serializer)
    }
}

impl Serialize for Date {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl Serialize for Base {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.sign())
    }
}

impl Serialize for Rounding {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.words().trim_end())
    }
}

/// A fraction in lowest terms, `"7/3"`, or a whole number, `"2"`.
impl Serialize for Exact {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// What a unit is printed as, what it measures, and how many base units (g, cm, s, mol, K, one of its money) are in one of it.
impl Serialize for Units {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(3))?;
        map.serialize_entry("unit", &self.text())?;
        map.serialize_entry("factor", &self.factor())?;
        map.serialize_entry("dimension", &self.dimension())?;
        map.end()
    }
}

/// The ends in the unit that is printed, as fractions.
impl Serialize for UnitValue {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let [low, typical, high] = self.ends();
        let mut map = serializer.serialize_map(Some(7))?;
        map.serialize_entry("low", &low)?;
        map.serialize_entry("typical", &typical)?;
        map.serialize_entry("high", &high)?;
        map.serialize_entry("units", self.units())?;
        map.serialize_entry("is_reading", &self.is_reading())?;
        map.serialize_entry("decimals", &self.decimals())?;
        map.end()
    }
}

#[cfg(test)]
mod tests {
    use super::super::Decimal;
    use super::*;
    use std::str::FromStr;

    #[track_caller]
    fn check(value: &impl Serialize, expected: &str) {
        assert_eq!(serde_json::to_string(value).unwrap(), expected);
    }

    #[test]
    fn numbers_are_texts_and_keep_their_digits() {
        let number = |text: &str| Decimal::from_str(text).unwrap();
        check(&number("1.30"), "\"1.30\"");
        check(
            &Mass::from_grams(number("0.1000000000000000000000000001")),
            "{\"value\":\"0.1000000000000000000000000001\",\"unit\":\"g\"}",
        );
        check(&Exact::from_decimal(number("0.25")), "\"1/4\"");
        check(&Exact::from_decimal(number("-2.0")), "\"-2\"");
        check(&Date::new(2026, 3, 4).unwrap(), "\"2026-03-04\"");
    }
}
