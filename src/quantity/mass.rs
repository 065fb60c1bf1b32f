//! Mass in grams, and the units it may be written in.

use super::Decimal;

/// A mass. **Unit** gram, exact decimal. Range: whatever the author wrote; negative masses occur only as differences.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Mass(Decimal);

impl Mass {
    /// No mass at all.
    pub const ZERO: Mass = Mass(Decimal::ZERO);

    /// A mass of so many grams.
    pub const fn from_grams(grams: Decimal) -> Mass {
        Mass(grams)
    }

    /// A mass written in another unit; exact, since every factor is an exact decimal.
    pub fn from_unit(amount: Decimal, unit: MassUnit) -> Mass {
        Mass(amount * unit.grams())
    }

    /// The mass in grams.
    pub const fn grams(self) -> Decimal {
        self.0
    }

    /// The mass in another unit. Exact for g, kg and mg; to 28 digits for ounces and pounds.
    pub fn to_unit(self, unit: MassUnit) -> Decimal {
        match unit {
            MassUnit::Gram => self.0,
            _ => self.0 / unit.grams(),
        }
    }
}

impl std::ops::Add for Mass {
    type Output = Mass;
    fn add(self, other: Mass) -> Mass {
        Mass(self.0 + other.0)
    }
}

impl std::ops::Sub for Mass {
    type Output = Mass;
    fn sub(self, other: Mass) -> Mass {
        Mass(self.0 - other.0)
    }
}

impl std::iter::Sum for Mass {
    fn sum<I: Iterator<Item = Mass>>(masses: I) -> Mass {
        masses.fold(Mass::ZERO, |sum, mass| sum + mass)
    }
}

/// The units a mass may be written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MassUnit {
    /// Milligram.
    Milligram,
    /// Gram.
    Gram,
    /// Kilogram.
    Kilogram,
    /// Avoirdupois ounce.
    Ounce,
    /// Avoirdupois pound.
    Pound,
}

impl MassUnit {
    /// Every unit with the symbol it is written by. SI symbols as the SI brochure (BIPM, 9th edition) writes them.
    pub const ALL: [(MassUnit, &'static str); 5] = [
        (MassUnit::Milligram, "mg"),
        (MassUnit::Gram, "g"),
        (MassUnit::Kilogram, "kg"),
        (MassUnit::Ounce, "oz"),
        (MassUnit::Pound, "lb"),
    ];

    /// Grams in one of this unit. The pound is exactly 0.453 592 37 kg and the ounce a sixteenth of it (international
    /// yard and pound agreement of 1959; NIST Handbook 44, appendix C).
    pub fn grams(self) -> Decimal {
        match self {
            MassUnit::Milligram => Decimal::new(1, 3),
            MassUnit::Gram => Decimal::ONE,
            MassUnit::Kilogram => Decimal::new(1000, 0),
            MassUnit::Ounce => Decimal::new(28_349_523_125, 9),
            MassUnit::Pound => Decimal::new(45_359_237, 5),
        }
    }

    /// The symbol.
    pub fn symbol(self) -> &'static str {
        Self::ALL.iter().find(|(unit, _)| *unit == self).map_or("g", |(_, symbol)| symbol)
    }

    /// The unit a symbol stands for.
    pub fn from_symbol(symbol: &str) -> Option<MassUnit> {
        Self::ALL.iter().find(|(_, known)| *known == symbol).map(|(unit, _)| *unit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sixteen_ounces_are_a_pound() {
        assert_eq!(MassUnit::Ounce.grams() * Decimal::new(16, 0), MassUnit::Pound.grams());
    }

    #[test]
    fn symbols_go_both_ways() {
        for (unit, symbol) in MassUnit::ALL {
            assert_eq!(MassUnit::from_symbol(symbol), Some(unit));
            assert_eq!(unit.symbol(), symbol);
        }
    }
}
