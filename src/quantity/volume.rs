//! Volume in millilitres, and the spoons and drops that people write.

use super::Decimal;

/// A volume. **Unit** millilitre, exact decimal.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Volume(Decimal);

impl Volume {
    /// A volume of so many millilitres.
    pub const fn from_millilitres(millilitres: Decimal) -> Volume {
        Volume(millilitres)
    }

    /// A volume written in another unit.
    pub fn from_unit(amount: Decimal, unit: VolumeUnit) -> Volume {
        Volume(amount * unit.millilitres())
    }

    /// The volume in millilitres.
    pub const fn millilitres(self) -> Decimal {
        self.0
    }
}

/// The units a volume may be written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum VolumeUnit {
    /// Microlitre.
    Microlitre,
    /// Millilitre.
    Millilitre,
    /// Litre.
    Litre,
    /// A spoon or cup of a named standard.
    Spoon(Spoon),
}

impl VolumeUnit {
    /// Millilitres in one of this unit.
    pub fn millilitres(self) -> Decimal {
        match self {
            VolumeUnit::Microlitre => Decimal::new(1, 3),
            VolumeUnit::Millilitre => Decimal::ONE,
            VolumeUnit::Litre => Decimal::new(1000, 0),
            VolumeUnit::Spoon(spoon) => spoon.millilitres(),
        }
    }

    /// The unit that a symbol or a spoon of a named standard stands for: `ml`, `l`, `metric teaspoon`, …
    pub fn from_symbol(symbol: &str) -> Option<VolumeUnit> {
        Some(match symbol {
            "µl" | "μl" | "ul" | "µL" | "μL" => VolumeUnit::Microlitre,
            "ml" | "mL" => VolumeUnit::Millilitre,
            "l" | "L" => VolumeUnit::Litre,
            _ => {
                let is_meant = |name: &str| symbol == name || symbol.strip_suffix('s') == Some(name);
                VolumeUnit::Spoon(Spoon::ALL.iter().find(|(_, name)| is_meant(name))?.0)
            }
        })
    }
}

/// Spoons differ by country, so a spoon counts only with the name of its standard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spoon {
    /// 5 ml exactly.
    MetricTeaspoon,
    /// 15 ml exactly.
    MetricTablespoon,
    /// 20 ml exactly, the Australian size.
    AustralianTablespoon,
    /// One sixth of a US fluid ounce.
    UsTeaspoon,
    /// Half a US fluid ounce.
    UsTablespoon,
    /// A US fluid ounce.
    UsFluidOunce,
}

impl Spoon {
    /// Every spoon with the words that name it.
    pub const ALL: [(Spoon, &'static str); 6] = [
        (Spoon::MetricTeaspoon, "metric teaspoon"),
        (Spoon::MetricTablespoon, "metric tablespoon"),
        (Spoon::AustralianTablespoon, "australian tablespoon"),
        (Spoon::UsTeaspoon, "us teaspoon"),
        (Spoon::UsTablespoon, "us tablespoon"),
        (Spoon::UsFluidOunce, "us fluid ounce"),
    ];

    /// Millilitres in the spoon. The US gallon is 231 cubic inches, so a US fluid ounce is 29.573 529 562 5 ml exactly
    /// (NIST Handbook 44, appendix C). Metric spoons are round numbers by common practice, no source.
    pub fn millilitres(self) -> Decimal {
        let fluid_ounce = Decimal::from_i128_with_scale(295_735_295_625, 10);
        match self {
            Spoon::MetricTeaspoon => Decimal::new(5, 0),
            Spoon::MetricTablespoon => Decimal::new(15, 0),
            Spoon::AustralianTablespoon => Decimal::new(20, 0),
            // 29.5735295625 / 6 ends after eleven decimals, so all three stay exact.
            Spoon::UsTeaspoon => (fluid_ounce / Decimal::new(6, 0)).normalize(),
            Spoon::UsTablespoon => (fluid_ounce / Decimal::TWO).normalize(),
            Spoon::UsFluidOunce => fluid_ounce,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn us_spoons_are_exact() {
        assert_eq!(Spoon::UsTeaspoon.millilitres().to_string(), "4.92892159375");
        assert_eq!(Spoon::UsTablespoon.millilitres().to_string(), "14.78676478125");
    }

    #[test]
    fn a_bare_teaspoon_is_no_unit() {
        assert_eq!(VolumeUnit::from_symbol("tsp"), None);
        assert_eq!(VolumeUnit::from_symbol("teaspoon"), None);
        assert!(VolumeUnit::from_symbol("metric teaspoon").is_some());
        assert_eq!(VolumeUnit::from_symbol("us teaspoons"), Some(VolumeUnit::Spoon(Spoon::UsTeaspoon)));
        assert_eq!(VolumeUnit::from_symbol("teaspoons"), None);
    }
}
