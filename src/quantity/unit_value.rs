//! Numbers with units, and the arithmetic that is allowed between them.
//!
//! A value has two ends and the value to plan with, all exact; interval arithmetic carries the ends, so a result holds whatever the inputs really were (and is
//! wider than need be where one input stands twice). Nothing here guesses: a percentage is never added to a weight, nor a reading of temperature to
//! another, and currencies have no rate.

use super::{Decimal, Exact, Units, show};

/// A number with its unit, and its ends where it is a range.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnitValue {
    /// Lowest, in base units; for a reading of temperature in °C.
    low: Exact,
    /// To plan with.
    typical: Exact,
    /// Highest.
    high: Exact,
    /// The unit it is shown in.
    units: Units,
    /// Whether it is a reading of temperature and no difference.
    is_reading: bool,
    /// The least decimals it is shown with: those that were written.
    decimals: u32,
}

/// Why two values do not go together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Misfit {
    /// They measure different things.
    Dimensions(Box<(UnitValue, UnitValue)>),
    /// A percentage and something that is none.
    ShareAndOther(Box<(UnitValue, UnitValue)>),
    /// Something taken "of" something that is no share; what.
    NoShare(String),
    /// Two currencies.
    Currencies(&'static str, &'static str),
    /// A share by weight and one by volume, or a share of the wrong one.
    Bases(&'static str, String),
    /// Two readings of temperature where one of them should be a difference.
    Readings,
    /// A reading of temperature in a product, or taken from a difference.
    ReadingAsFactor,
    /// A divisor that is nothing.
    DivisionByZero,
    /// A divisor whose range holds nothing.
    RangeThroughZero(String),
    /// More than is ever reckoned, or more digits than can be kept.
    TooLarge,
}

/// How a value is rounded to a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rounding {
    /// To the nearest, halves to the even multiple (ASTM E29).
    Nearest,
    /// Down.
    Down,
    /// Up.
    Up,
}

impl Rounding {
    /// As it is written before what is rounded.
    pub fn words(self) -> &'static str {
        match self {
            Rounding::Nearest => "round ",
            Rounding::Down => "round down ",
            Rounding::Up => "round up ",
        }
    }
}

/// Significant digits that a result is shown with when it has more.
const SHOWN_DIGITS: u32 = 6;

impl UnitValue {
    /// A number as written, in a unit.
    pub fn exactly(number: Decimal, units: Units) -> UnitValue {
        UnitValue::between(number, number, number, units)
    }

    /// A range as written, in a unit.
    pub fn between(low: Decimal, typical: Decimal, high: Decimal, units: Units) -> UnitValue {
        let decimals = low.scale().max(high.scale());
        let is_reading = units.is_reading();
        // A number as it may be typed, at most 999 999 999, is within bounds in every unit.
        let base = |number: Decimal| {
            let number = Exact::from_decimal(number);
            to_base(&number, &units, is_reading).unwrap_or(number)
        };
        let (low, typical, high) = (base(low), base(typical), base(high));
        UnitValue { low, typical, high, units, is_reading, decimals }
    }

    /// A plain number.
    pub fn number(number: Decimal) -> UnitValue {
        UnitValue::exactly(number, Units::none())
    }

    /// The same, shown with at least so many decimals.
    #[must_use]
    pub fn with_decimals(mut self, decimals: u32) -> UnitValue {
        self.decimals = decimals;
        self
    }

    /// Its unit.
    pub fn units(&self) -> &Units {
        &self.units
    }

    /// Whether both ends are the same.
    pub fn is_exact(&self) -> bool {
        self.low == self.high
    }

    /// Lowest, typical and highest in its unit.
    pub fn ends(&self) -> [Exact; 3] {
        [&self.low, &self.typical, &self.high].map(|end| self.shown(end))
    }

    /// The value to plan with alone.
    #[must_use]
    pub fn planned(&self) -> UnitValue {
        UnitValue { low: self.typical.clone(), high: self.typical.clone(), ..self.clone() }
    }

    /// A temperature in kelvin as a reading where the other is one: 354.07 K is 80.92 °C, and as a difference it would be something else.
    #[must_use]
    pub fn read_like(self, other: &UnitValue) -> UnitValue {
        if !other.is_reading || self.is_reading || self.units != Units::of("K") {
            return self;
        }
        let [low, typical, high] = self.ends().map(|end| to_base(&end, &self.units, true));
        match (low, typical, high) {
            (Some(low), Some(typical), Some(high)) => UnitValue { low, typical, high, is_reading: true, ..self },
            _ => self,
        }
    }

    /// Whether it is a reading of temperature and no difference.
    pub fn is_reading(&self) -> bool {
        self.is_reading
    }

    /// Lowest, typical and highest in another value's unit, when they measure the same.
    pub fn ends_in(&self, other: &UnitValue) -> Option<[Exact; 3]> {
        self.fits(other).ok()?;
        if self.is_reading != other.is_reading {
            return None;
        }
        Some(UnitValue { units: other.units.clone(), ..self.clone() }.within_bounds().ok()?.ends())
    }

    /// Whether it has to stand in brackets beside a sign: a range, or a number below zero that does not begin a sum.
    pub fn needs_brackets(&self, begins_sum: bool) -> bool {
        !self.is_exact() || (!begins_sum && self.ends().iter().any(Exact::is_negative))
    }

    /// The decimals that were written, or that it is shown with at the least.
    pub fn decimals(&self) -> u32 {
        self.decimals
    }

    /// A difference in this value's unit: of readings of temperature in degrees of theirs.
    ///
    /// # Errors
    /// When the two do not measure the same.
    pub fn distance(&self, difference: &UnitValue) -> Result<Exact, Misfit> {
        self.fits(difference)?;
        let [size, ..] = difference.ends();
        if !self.is_reading {
            return difference.ends_in(self).map(|[size, ..]| size).ok_or(Misfit::TooLarge);
        }
        if difference.is_reading {
            return Err(Misfit::Readings);
        }
        let nine_fifths = Exact::from_parts(18, 1);
        if self.units == Units::of("°F") { size.times(&nine_fifths).ok_or(Misfit::TooLarge) } else { Ok(size) }
    }

    fn shown(&self, base: &Exact) -> Exact {
        // Every operation has seen to it that its result can be shown in its unit.
        from_base(base, &self.units, self.is_reading).unwrap_or_else(|| base.clone())
    }

    /// The value, unless it is too large to be told in its unit.
    fn within_bounds(self) -> Result<UnitValue, Misfit> {
        let fits = |end| from_base(end, &self.units, self.is_reading).is_some();
        if [&self.low, &self.typical, &self.high].into_iter().all(fits) { Ok(self) } else { Err(Misfit::TooLarge) }
    }

    /// Whether two values can be added, compared and converted into each other's unit.
    ///
    /// # Errors
    /// Why not.
    pub fn fits(&self, other: &UnitValue) -> Result<(), Misfit> {
        let pair = || Box::new((self.clone(), other.clone()));
        if self.units.is_share() != other.units.is_share() {
            return Err(Misfit::ShareAndOther(pair()));
        }
        if self.units.dimension() != other.units.dimension() {
            return Err(Misfit::Dimensions(pair()));
        }
        if let (Some(one), Some(two)) = (self.units.currency(), other.units.currency())
            && one != two
        {
            return Err(Misfit::Currencies(one, two));
        }
        match (self.units.basis(), other.units.basis()) {
            (Some(one), Some(two)) if one != two => Err(Misfit::Bases(one, two.to_owned())),
            _ => Ok(()),
        }
    }

    /// The sum.
    ///
    /// # Errors
    /// Why the two cannot be added.
    pub fn plus(&self, other: &UnitValue) -> Result<UnitValue, Misfit> {
        self.fits(other)?;
        if self.is_reading && other.is_reading {
            return Err(Misfit::Readings);
        }
        let home = if other.is_reading { other } else { self };
        let end = |one: &Exact, two: &Exact| one.plus(two).ok_or(Misfit::TooLarge);
        UnitValue {
            low: end(&self.low, &other.low)?,
            typical: end(&self.typical, &other.typical)?,
            high: end(&self.high, &other.high)?,
            units: home.units.clone(),
            is_reading: home.is_reading,
            decimals: self.common_decimals(other),
        }
        .within_bounds()
    }

    /// The difference; of two readings of temperature the difference in kelvin.
    ///
    /// # Errors
    /// Why the one cannot be taken from the other.
    pub fn minus(&self, other: &UnitValue) -> Result<UnitValue, Misfit> {
        self.fits(other)?;
        if other.is_reading && !self.is_reading {
            return Err(Misfit::ReadingAsFactor);
        }
        let end = |one: &Exact, two: &Exact| one.minus(two).ok_or(Misfit::TooLarge);
        let is_reading = self.is_reading && !other.is_reading;
        let units = if self.is_reading && other.is_reading { Units::of("K") } else { self.units.clone() };
        UnitValue {
            low: end(&self.low, &other.high)?,
            typical: end(&self.typical, &other.typical)?,
            high: end(&self.high, &other.low)?,
            units,
            is_reading,
            decimals: self.common_decimals(other),
        }
        .within_bounds()
    }

    fn common_decimals(&self, other: &UnitValue) -> u32 {
        if self.units == other.units { self.decimals.max(other.decimals) } else { 0 }
    }

    /// The product.
    ///
    /// # Errors
    /// Why there is none.
    pub fn times(&self, other: &UnitValue) -> Result<UnitValue, Misfit> {
        self.may_multiply(other)?;
        let product = |one: &Exact, two: &Exact| one.times(two).ok_or(Misfit::TooLarge);
        let typical = product(&self.typical, &other.typical)?;
        let corners = self.corners(other, product)?;
        UnitValue::spanning(corners, typical, self.units.times(&other.units)).within_bounds()
    }

    /// The quotient.
    ///
    /// # Errors
    /// Why there is none.
    pub fn over(&self, divisor: &UnitValue) -> Result<UnitValue, Misfit> {
        self.may_multiply(divisor)?;
        if divisor.low.is_zero() && divisor.high.is_zero() {
            return Err(Misfit::DivisionByZero);
        }
        if divisor.low.is_negative() != divisor.high.is_negative() || divisor.low.is_zero() || divisor.high.is_zero() {
            return Err(Misfit::RangeThroughZero(divisor.text()));
        }
        let quotient = |one: &Exact, two: &Exact| one.over(two).ok_or(Misfit::TooLarge);
        let typical = quotient(&self.typical, &divisor.typical)?;
        let corners = self.corners(divisor, quotient)?;
        UnitValue::spanning(corners, typical, self.units.over(&divisor.units)).within_bounds()
    }

    /// A share of something: per cent of it.
    ///
    /// # Errors
    /// When the first is no share, or there is no product.
    pub fn share_of(&self, whole: &UnitValue) -> Result<UnitValue, Misfit> {
        if self.units.is_share() { self.times(whole) } else { Err(Misfit::NoShare(self.text())) }
    }

    fn may_multiply(&self, other: &UnitValue) -> Result<(), Misfit> {
        if self.is_reading || other.is_reading {
            return Err(Misfit::ReadingAsFactor);
        }
        if let (Some(one), Some(two)) = (self.units.currency(), other.units.currency())
            && one != two
        {
            return Err(Misfit::Currencies(one, two));
        }
        for (share, whole) in [(self, other), (other, self)] {
            let Some(basis) = share.units.basis() else { continue };
            let wrong = match basis {
                "% v/v" => Units::of("g"),
                _ => Units::of("ml"),
            };
            if whole.units.dimension() == wrong.dimension() {
                return Err(Misfit::Bases(basis, whole.units.measures().to_owned()));
            }
            if let Some(second) = whole.units.basis().filter(|second| *second != basis) {
                return Err(Misfit::Bases(basis, second.to_owned()));
            }
        }
        Ok(())
    }

    fn corners(
        &self,
        other: &UnitValue,
        join: impl Fn(&Exact, &Exact) -> Result<Exact, Misfit>,
    ) -> Result<Vec<Exact>, Misfit> {
        if self.is_exact() && other.is_exact() {
            return Ok(vec![join(&self.low, &other.low)?]);
        }
        let mut corners = Vec::new();
        for one in [&self.low, &self.high] {
            for two in [&other.low, &other.high] {
                corners.push(join(one, two)?);
            }
        }
        Ok(corners)
    }

    fn spanning(corners: Vec<Exact>, typical: Exact, units: Units) -> UnitValue {
        let low = corners.iter().chain([&typical]).min().cloned().unwrap_or_else(|| typical.clone());
        let high = corners.into_iter().chain([typical.clone()]).max().unwrap_or_else(|| typical.clone());
        UnitValue { low, typical, high, units, is_reading: false, decimals: 0 }
    }

    /// The same with the other sign.
    ///
    /// # Errors
    /// A reading of temperature has no opposite.
    pub fn negated(&self) -> Result<UnitValue, Misfit> {
        if self.is_reading {
            return Err(Misfit::ReadingAsFactor);
        }
        Ok(UnitValue {
            low: self.high.negated(),
            typical: self.typical.negated(),
            high: self.low.negated(),
            ..self.clone()
        })
    }

    /// The same in another unit. A plain number can be shown as a share, and a share as another.
    ///
    /// # Errors
    /// When they do not measure the same.
    pub fn to(&self, units: &Units) -> Result<UnitValue, Misfit> {
        let is_reading = self.is_reading;
        let is_kelvin = *units == Units::of("K");
        // A difference is told in kelvin; the same word as a reading's would turn 5 K into -268 °C.
        if !is_reading && units.is_reading() {
            return Err(Misfit::ReadingAsFactor);
        }
        let as_share = self.units.is_none() && units.is_share();
        let wanted = UnitValue {
            units: units.clone(),
            is_reading: is_reading && (units.is_reading() || is_kelvin),
            ..self.clone()
        };
        if !as_share {
            self.fits(&wanted)?;
        }
        UnitValue { decimals: 0, ..wanted }.within_bounds()
    }

    /// Rounded to multiples of a step, and shown in its unit.
    ///
    /// # Errors
    /// When they do not measure the same, or the step is not above nothing.
    pub fn rounded(&self, step: &UnitValue, rounding: Rounding) -> Result<UnitValue, Misfit> {
        self.fits(step)?;
        if step.typical.is_negative() || step.shown(&step.typical).is_zero() {
            return Err(Misfit::DivisionByZero);
        }
        let width = step.shown(&step.typical);
        let end = |value: &Exact| -> Result<Exact, Misfit> {
            let shown = from_base(value, &step.units, self.is_reading).ok_or(Misfit::TooLarge)?;
            let multiple = shown.over(&width).ok_or(Misfit::TooLarge)?.whole(rounding);
            let rounded = multiple.times(&width).ok_or(Misfit::TooLarge)?;
            to_base(&rounded, &step.units, self.is_reading).ok_or(Misfit::TooLarge)
        };
        Ok(UnitValue {
            low: end(&self.low)?,
            typical: end(&self.typical)?,
            high: end(&self.high)?,
            units: step.units.clone(),
            is_reading: self.is_reading,
            decimals: step.decimals,
        })
    }

    /// The lesser of two, or the greater.
    ///
    /// # Errors
    /// When they cannot be compared.
    pub fn either(&self, other: &UnitValue, greater: bool) -> Result<UnitValue, Misfit> {
        self.fits(other)?;
        if self.is_reading != other.is_reading {
            return Err(Misfit::ReadingAsFactor);
        }
        let pick = |one: &Exact, two: &Exact| if (one < two) == greater { two.clone() } else { one.clone() };
        Ok(UnitValue {
            low: pick(&self.low, &other.low),
            typical: pick(&self.typical, &other.typical),
            high: pick(&self.high, &other.high),
            decimals: self.common_decimals(other),
            ..self.clone()
        })
    }

    /// The decimals it is shown with, and whether they write it exactly.
    ///
    /// The rule: a result is shown exactly when six significant digits do, or as many decimals as were written; otherwise it is rounded to six
    /// significant digits, halves to even. Money has two decimals at the least, and no more unless more were written.
    pub fn places(&self) -> (u32, bool) {
        let [low, _, high] = self.ends();
        let ends = [low, high];
        let needed = ends.iter().map(Exact::decimals).try_fold(0, |most, next| next.map(|next| most.max(next)));
        let widest = ends.iter().map(Exact::size).max().unwrap_or_else(Exact::zero);
        let most = widest.decimals_for(SHOWN_DIGITS).max(self.decimals);
        if self.units.is_money() {
            let places = self.decimals.max(2);
            return (places, needed.is_some_and(|needed| needed <= places));
        }
        match needed {
            Some(needed) if needed <= most => (needed.max(self.decimals), true),
            _ => (most, false),
        }
    }

    /// Whether it is shown as it is, with no digit left out.
    pub fn is_shown_exactly(&self) -> bool {
        self.places().1
    }

    /// As it is printed: `3.75 €`, `10–12 %`.
    pub fn text(&self) -> String {
        self.text_to(self.places().0)
    }

    /// With so many decimals.
    pub fn text_to(&self, decimals: u32) -> String {
        let [low, _, high] = self.ends();
        let number = |end: &Exact| {
            let mut rounded = end.rounded(decimals);
            if rounded.is_zero() && !end.is_zero() {
                let words = if end.is_negative() { "above\u{a0}−" } else { "under\u{a0}" };
                return format!("{words}{}", Decimal::new(1, decimals));
            }
            rounded.rescale(decimals);
            rounded.to_string().replace('-', "−")
        };
        let (low, high) = (number(&low), number(&high));
        let mut text = if low == high { low } else { format!("{low}–{high}") };
        let unit = self.units.text();
        if !unit.is_empty() {
            text.push(show::NBSP);
            text.push_str(&unit.replace(' ', "\u{a0}"));
        }
        text
    }

    /// As it is printed, in the form in which it may be typed.
    pub fn typed(&self) -> String {
        self.text_to(self.places().0).replace('\u{a0}', " ").replace('−', "-").replace('–', "..")
    }
}

/// A number in a unit as base units, unless it is too large.
fn to_base(number: &Exact, units: &Units, is_reading: bool) -> Option<Exact> {
    match (is_reading, units.text().as_str()) {
        // t/°C = (t/°F − 32) × 5 ÷ 9, and T/K = t/°C + 273.15 (SI brochure, 9th edition, section 2.3.1; NIST SP 811, B.8).
        (true, "°F") => {
            number.minus(&Exact::from_parts(32, 0))?.times(&Exact::from_parts(5, 0))?.over(&Exact::from_parts(9, 0))
        }
        (true, "K") => number.minus(&Exact::from_parts(27_315, 2)),
        (true, _) => Some(number.clone()),
        (false, _) => number.times(&units.factor()),
    }
}

/// Base units as a number in a unit, unless it is too large.
fn from_base(base: &Exact, units: &Units, is_reading: bool) -> Option<Exact> {
    match (is_reading, units.text().as_str()) {
        (true, "°F") => {
            base.times(&Exact::from_parts(9, 0))?.over(&Exact::from_parts(5, 0))?.plus(&Exact::from_parts(32, 0))
        }
        (true, "K") => base.plus(&Exact::from_parts(27_315, 2)),
        (true, _) => Some(base.clone()),
        (false, _) => base.over(&units.factor()),
    }
}

#[cfg(test)]
mod tests {
    use super::super::read_literal;
    use super::*;

    fn v(text: &str) -> UnitValue {
        read_literal(text).unwrap()
    }

    #[track_caller]
    fn check(found: Result<UnitValue, Misfit>, expected: &str) {
        assert_eq!(found.map(|value| value.typed()), Ok(expected.to_owned()));
    }

    #[test]
    fn sums_and_products() {
        check(v("1.30 g").plus(&v("2.2 g")), "3.50 g");
        check(v("1 kg").plus(&v("250 g")), "1.25 kg");
        check(v("12.50 €/kg").times(&v("0.300 kg")), "3.75 €");
        check(v("12.50 €/kg").times(&v("300 g")), "3.75 €");
        check(v("3 €/lb").times(&v("2 lb")), "6.00 €");
        check(v("3 %").times(&v("250 g")), "7.5 g");
        check(v("12 %").times(&v("28 %")), "3.36 %");
        check(v("45.0 g").over(&v("1.25 g/ml")), "36 ml");
        check(v("4 % w/v").times(&v("2 l")), "80 g");
        check(v("1 g").over(&v("3")), "0.333333 g");
    }

    #[test]
    fn ranges_are_carried() {
        check(v("2..3 g").times(&v("-1..2")), "-3..6 g");
        check(v("2..3 g").minus(&v("1..2 g")), "0..2 g");
        check(v("12 g").over(&v("2..3")), "4..6 g");
        assert_eq!(v("1 g").over(&v("-1..2")), Err(Misfit::RangeThroughZero("−1–2".to_owned())));
        assert_eq!(v("1 g").over(&v("0 g")), Err(Misfit::DivisionByZero));
    }

    #[test]
    fn temperatures_are_readings_or_differences() {
        check(v("212 °F").to(&Units::of("°C")), "100 °C");
        check(v("80.92 °C").to(&Units::of("K")), "354.07 K");
        check(v("70 °C").minus(&v("25 °C")), "45 K");
        check(v("25 °C").plus(&v("45 K")), "70 °C");
        assert_eq!(v("25 °C").plus(&v("45 °C")), Err(Misfit::Readings));
        assert_eq!(v("25 °C").times(&v("2")), Err(Misfit::ReadingAsFactor));
        assert_eq!(v("5 K").to(&Units::of("°C")), Err(Misfit::ReadingAsFactor));
    }

    #[test]
    fn what_does_not_go_together_is_told() {
        assert!(matches!(v("3 %").plus(&v("2 g")), Err(Misfit::ShareAndOther(_))));
        assert!(matches!(v("3 %").plus(&v("2")), Err(Misfit::ShareAndOther(_))));
        assert!(matches!(v("3 ml").plus(&v("2 g")), Err(Misfit::Dimensions(_))));
        assert!(matches!(v("3 €").plus(&v("2 $")), Err(Misfit::Currencies(..))));
        assert!(matches!(v("3 % w/w").plus(&v("2 % v/v")), Err(Misfit::Bases(..))));
        assert!(matches!(v("3 % v/v").times(&v("2 g")), Err(Misfit::Bases(..))));
    }

    /// What cannot be told in its unit is no result, and never nothing.
    #[test]
    fn too_much_for_a_unit_is_refused() {
        let big = v("900000000 kg").times(&v("900")).unwrap();
        assert_eq!(big.to(&Units::of("µg")), Err(Misfit::TooLarge));
        check(big.to(&Units::of("kg")), "810000000000 kg");
        assert_eq!(big.ends_in(&v("1 µg")), None);
    }

    #[test]
    fn rounding_goes_to_the_step() {
        check(v("45.45 g").rounded(&v("0.1 g"), Rounding::Nearest), "45.4 g");
        check(v("1.204 kg").rounded(&v("10 g"), Rounding::Up), "1210 g");
        check(v("7.9").rounded(&v("1"), Rounding::Down), "7");
    }
}
