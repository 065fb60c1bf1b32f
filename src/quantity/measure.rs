//! Percentages, pH, temperature and density: newtypes over an exact decimal, so that one cannot be taken for another.

use super::Decimal;

/// A share by mass, **unit** % w/w of the whole (0 to 100 for a real product; outside only in mistaken input).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Percent(Decimal);

impl Percent {
    /// Nothing.
    pub const ZERO: Percent = Percent(Decimal::ZERO);
    /// The whole.
    pub const HUNDRED: Percent = Percent(Decimal::ONE_HUNDRED);

    /// So many per cent.
    pub const fn new(percent: Decimal) -> Percent {
        Percent(percent)
    }

    /// The number in front of the per cent sign.
    pub const fn value(self) -> Decimal {
        self.0
    }

    /// This share of an amount.
    pub fn of(self, amount: Decimal) -> Decimal {
        self.0 * amount / Decimal::ONE_HUNDRED
    }
}

impl std::ops::Add for Percent {
    type Output = Percent;
    fn add(self, other: Percent) -> Percent {
        Percent(self.0 + other.0)
    }
}

impl std::ops::Sub for Percent {
    type Output = Percent;
    fn sub(self, other: Percent) -> Percent {
        Percent(self.0 - other.0)
    }
}

impl std::iter::Sum for Percent {
    fn sum<I: Iterator<Item = Percent>>(percents: I) -> Percent {
        percents.fold(Percent::ZERO, |sum, percent| sum + percent)
    }
}

/// A pH reading or bound, **range** 0 to 14 (aqueous; IUPAC Gold Book "pH").
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Ph(Decimal);

impl Ph {
    /// The reading, if it lies between 0 and 14.
    pub fn new(reading: Decimal) -> Option<Ph> {
        (Decimal::ZERO..=Decimal::new(14, 0)).contains(&reading).then_some(Ph(reading))
    }

    /// The number.
    pub const fn value(self) -> Decimal {
        self.0
    }
}

/// A temperature, **unit** °C.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Temperature(Decimal);

impl Temperature {
    /// So many degrees Celsius.
    pub const fn from_celsius(celsius: Decimal) -> Temperature {
        Temperature(celsius)
    }

    /// From degrees Fahrenheit: (t − 32) × 5 ÷ 9 (SI brochure, 9th edition, section 2.3.1 with NIST SP 811, B.8).
    pub fn from_fahrenheit(fahrenheit: Decimal) -> Temperature {
        Temperature((fahrenheit - Decimal::new(32, 0)) * Decimal::new(5, 0) / Decimal::new(9, 0))
    }

    /// In degrees Celsius.
    pub const fn celsius(self) -> Decimal {
        self.0
    }

    /// In degrees Fahrenheit.
    pub fn fahrenheit(self) -> Decimal {
        self.0 * Decimal::new(9, 0) / Decimal::new(5, 0) + Decimal::new(32, 0)
    }
}

/// A density, **unit** g/ml (equal to kg/l), above zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Density(Decimal);

impl Density {
    /// The density, if it is above zero.
    pub fn from_grams_per_millilitre(density: Decimal) -> Option<Density> {
        (density > Decimal::ZERO).then_some(Density(density))
    }

    /// In grams per millilitre.
    pub const fn grams_per_millilitre(self) -> Decimal {
        self.0
    }

    /// The mass of a volume: m = ρ V.
    pub fn mass_of(self, volume: super::Volume) -> super::Mass {
        super::Mass::from_grams(self.0 * volume.millilitres())
    }
}
