//! Units of measure, and what they measure: so that a weight is never added to a volume.
//!
//! Every unit has an exact factor to one base unit: gram, centimetre (a cubic one is a millilitre), second, mole, kelvin. Money has no common base: each
//! currency stands for itself.

use super::Exact;
use super::unit_table::{
    AMOUNT, AREA, CELSIUS, FAHRENHEIT, LENGTH, MASS, MONEY, NUMBER, REFUSED, TIME, UNITS, VISCOSITY, VOLUME, WARMTH,
    WEEK,
};

/// How often each base quantity goes into a unit: mass, length, time, amount of substance, temperature, money.
pub(super) type Dimension = [i8; 6];

/// A unit.
#[derive(Debug, PartialEq, Eq)]
pub struct Unit {
    /// As it is printed.
    pub symbol: &'static str,
    /// Other ways to write it.
    pub(super) also: &'static [&'static str],
    pub(super) dimension: Dimension,
    /// Base units in one of it: a whole number, and how many of its digits are decimals.
    pub(super) factor: (i64, u32),
}

/// Why a text is no unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UnitFault {
    /// None that is known; the text, and what to write instead where that is plain.
    Unknown(String, Option<&'static str>),
    /// A reading of temperature (`°F`) where only differences make sense.
    NotADifference,
}

/// A unit made of units, `€/kg`: each with its power, in the order printed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Units(Vec<(&'static Unit, i8)>);

/// A unit found at the start of a text, and how many bytes it took.
pub type ScannedUnit = (Units, usize);

impl Units {
    /// No unit: plain numbers.
    pub fn none() -> Units {
        Units::default()
    }

    /// One unit by its symbol; no unit when there is none of that name.
    pub fn of(symbol: &str) -> Units {
        UNITS.iter().find(|unit| unit.symbol == symbol).map_or_else(Units::none, |unit| Units(vec![(unit, 1)]))
    }

    /// Reads a text that is nothing but a unit.
    ///
    /// # Errors
    /// A text that names no unit, with what to write instead where that is plain.
    ///
    /// ```
    /// use tarebook::quantity::Units;
    /// assert_eq!(Units::read("€ per kg").unwrap().text(), "€/kg");
    /// assert!(Units::read("oz").is_err());
    /// ```
    pub fn read(text: &str) -> Result<Units, UnitFault> {
        let text = text.trim();
        let (units, length) = Units::scan(text)?.ok_or_else(|| unknown(text))?;
        if length < text.len() { Err(unknown(text)) } else { Ok(units) }
    }

    /// The unit that a text starts with; none when it starts with none.
    ///
    /// # Errors
    /// A unit that may not stand here.
    pub fn scan(text: &str) -> Result<Option<ScannedUnit>, UnitFault> {
        let mut units: Vec<(&'static Unit, i8)> = Vec::new();
        let mut length = 0;
        let mut power = 1;
        if let Some(skip) = leading_per(text) {
            (power, length) = (-1, skip);
        }
        loop {
            let rest = text.get(length..).unwrap_or_default();
            let found = if power == 1 { scan_one(rest) } else { scan_below(rest) };
            let Some((unit, taken)) = found else { break };
            units.push((unit, power));
            length += taken;
            let rest = text.get(length..).unwrap_or_default();
            let next = |skip: usize| rest.get(skip..).is_some_and(|after| scan_one(after).is_some());
            let below = |skip: usize| rest.get(skip..).is_some_and(|after| scan_below(after).is_some());
            if rest.starts_with('·') && next('·'.len_utf8()) {
                length += '·'.len_utf8();
            } else if power == 1 && rest.starts_with('/') && below(1) {
                (power, length) = (-1, length + 1);
            } else if power == 1 && leading_per(rest).is_some_and(below) {
                (power, length) = (-1, length + leading_per(rest).unwrap_or_default());
            } else {
                break;
            }
        }
        if units.is_empty() {
            return Ok(None);
        }
        // A temperature in a compound, `J/°C`, can only be a difference.
        let is_compound = units.len() > 1;
        let mut read = Units::none();
        for (unit, power) in units {
            match unit.symbol {
                FAHRENHEIT if is_compound => return Err(UnitFault::NotADifference),
                CELSIUS if is_compound => read = read.times(&Units::of("K").raised_to(power)),
                _ => read = read.joined(unit, power),
            }
        }
        Ok(Some((read, length)))
    }

    /// Money that stood before its number, with what it is the price of behind it: `€3.80/kg`.
    pub(crate) fn scan_under(money: Units, after: &str) -> Result<ScannedUnit, UnitFault> {
        let skip = match after.strip_prefix('/') {
            Some(_) => 1,
            None => match leading_per(after) {
                Some(skip) => skip,
                None => return Ok((money, 0)),
            },
        };
        match Units::scan(after.get(skip..).unwrap_or_default())? {
            Some((units, length)) if !units.is_reading() => Ok((money.over(&units), skip + length)),
            _ => Ok((money, 0)),
        }
    }

    fn joined(mut self, unit: &'static Unit, power: i8) -> Units {
        match self.0.iter_mut().find(|(known, _)| *known == unit) {
            Some((_, known)) => *known = known.saturating_add(power),
            None => self.0.push((unit, power)),
        }
        self.0.retain(|(_, power)| *power != 0);
        self
    }

    fn raised_to(mut self, power: i8) -> Units {
        for (_, own) in &mut self.0 {
            *own = own.saturating_mul(power);
        }
        self
    }

    /// What it measures.
    pub(super) fn dimension(&self) -> Dimension {
        let mut sum = NUMBER;
        for (unit, power) in &self.0 {
            for (total, part) in sum.iter_mut().zip(unit.dimension) {
                *total = total.saturating_add(part.saturating_mul(*power));
            }
        }
        sum
    }

    /// Base units in one of it.
    pub fn factor(&self) -> Exact {
        let mut product = Exact::one();
        for (unit, power) in &self.0 {
            let factor = Exact::from_parts(i128::from(unit.factor.0), unit.factor.1);
            for _ in 0..power.unsigned_abs() {
                let next = if *power > 0 { product.times(&factor) } else { product.over(&factor) };
                product = next.unwrap_or(product);
            }
        }
        product
    }

    /// The unit of a product: one unit for each quantity, that of the left where both have one; shares go in what they are a share of.
    #[must_use]
    pub fn times(&self, other: &Units) -> Units {
        let mut product = self.clone();
        for (unit, power) in &other.0 {
            let same = |known: &&'static Unit| known.dimension == unit.dimension && unit.dimension != MONEY;
            let home = product.0.iter().map(|(known, _)| *known).find(same).unwrap_or(unit);
            product = product.joined(home, *power);
        }
        let whole: Vec<_> = product.0.iter().copied().filter(|(unit, _)| unit.dimension != NUMBER).collect();
        if !whole.is_empty() {
            return Units(whole).settled();
        }
        // A share of a share is a share still, and never a share squared.
        product.0.truncate(1);
        for (_, power) in &mut product.0 {
            *power = power.signum();
        }
        product.0.retain(|(_, power)| *power > 0);
        product
    }

    /// The unit of a quotient.
    #[must_use]
    pub fn over(&self, divisor: &Units) -> Units {
        if self.is_share() && divisor.is_share() {
            return Units::none();
        }
        self.times(&divisor.clone().raised_to(-1))
    }

    /// Lengths beside volumes, `cm·g/ml`, and strengths by weight in volume have to be told in base units to cancel.
    fn settled(self) -> Units {
        let has = |dimension: Dimension| self.0.iter().any(|(unit, _)| unit.dimension == dimension);
        let n_spatial = [LENGTH, AREA, VOLUME].into_iter().filter(|dimension| has(*dimension)).count();
        let has_strength = self.0.iter().any(|(unit, _)| unit.symbol == "% w/v");
        if n_spatial < 2 && !(has_strength && self.0.len() > 1) {
            return self;
        }
        let [mass, length, ..] = self.dimension();
        let mut units = Units::none();
        let rest = |unit: &Unit| unit.dimension.iter().take(2).all(|power| *power == 0);
        for (unit, power) in self.0.iter().filter(|(unit, _)| rest(unit)) {
            units = units.joined(unit, *power);
        }
        let (space, power) = match length {
            3 | -3 => ("ml", length / 3),
            2 | -2 => ("cm²", length / 2),
            _ => ("cm", length),
        };
        for (symbol, power) in [("g", mass), (space, power)] {
            if power != 0 {
                units = units.times(&Units::of(symbol).raised_to(power));
            }
        }
        units
    }

    /// Whether it is a share of something: per cent, parts in a million.
    pub fn is_share(&self) -> bool {
        !self.0.is_empty() && self.0.iter().all(|(unit, _)| unit.dimension == NUMBER)
    }

    /// Whether there is no unit.
    pub fn is_none(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether it is a plain `°C` or `°F`, a reading and no difference.
    pub fn is_reading(&self) -> bool {
        matches!(self.0.as_slice(), [(unit, 1)] if unit.symbol == CELSIUS || unit.symbol == FAHRENHEIT)
    }

    /// Whether it is money and nothing else.
    pub fn is_money(&self) -> bool {
        matches!(self.0.as_slice(), [(unit, 1)] if unit.dimension == MONEY)
    }

    /// The currency in it.
    pub fn currency(&self) -> Option<&'static str> {
        self.0.iter().find(|(unit, _)| unit.dimension == MONEY).map(|(unit, _)| unit.symbol)
    }

    /// The basis that a share states: `% w/w`, `% v/v`.
    pub fn basis(&self) -> Option<&'static str> {
        match self.0.as_slice() {
            [(unit, 1)] if matches!(unit.symbol, "% w/w" | "% v/v") => Some(unit.symbol),
            _ => None,
        }
    }

    /// What it measures, in words.
    pub fn measures(&self) -> &'static str {
        if self.is_share() {
            return "a percentage";
        }
        match self.dimension() {
            NUMBER => "a plain number",
            MASS => "a weight",
            VOLUME => "a volume",
            LENGTH => "a length",
            AREA => "an area",
            TIME => "a time",
            AMOUNT => "an amount of substance",
            WARMTH => "a temperature",
            MONEY => "money",
            VISCOSITY => "a viscosity",
            [1, -3, 0, 0, 0, 0] => "a weight in a volume",
            [-1, 0, 0, 0, 0, 1] => "money for a weight",
            [0, -3, 0, 0, 0, 1] => "money for a volume",
            _ => "another quantity",
        }
    }

    /// As it is printed: `€/kg`, `g/ml`.
    pub fn text(&self) -> String {
        let side = |wanted: i8| -> Vec<String> {
            let these = self.0.iter().filter(|(_, power)| power.signum() == wanted);
            these.flat_map(|(unit, power)| vec![unit.symbol.to_owned(); usize::from(power.unsigned_abs())]).collect()
        };
        let (above, below) = (side(1).join("·"), side(-1).join("·"));
        match (above.is_empty(), below.is_empty()) {
            (_, true) => above,
            (true, false) => format!("per {below}"),
            (false, false) => format!("{above}/{below}"),
        }
    }
}

/// `per ` at the start of a text, or the `a ` of `a week`, with the spaces around it.
fn leading_per(text: &str) -> Option<usize> {
    let trimmed = text.trim_start();
    let per = without(trimmed, "per ").filter(|after| !after.trim_start().starts_with("cent"));
    let a_week = || without(trimmed, "a ").filter(|after| scan_week(after.trim_start()).is_some());
    let after = per.or_else(a_week)?;
    Some(text.len() - after.trim_start().len())
}

/// A unit below the line: any, or the week.
fn scan_below(text: &str) -> Option<(&'static Unit, usize)> {
    scan_one(text).or_else(|| scan_week(text))
}

fn scan_week(text: &str) -> Option<(&'static Unit, usize)> {
    let rest = without(text, WEEK.symbol)?;
    (!rest.starts_with(|c: char| c.is_alphanumeric() || matches!(c, '-' | '_'))).then_some((&WEEK, WEEK.symbol.len()))
}

/// A text without a symbol that it starts with; a space in the symbol is any space in the text, since pages print some that do not break.
fn without<'t>(text: &'t str, symbol: &str) -> Option<&'t str> {
    let mut rest = text;
    for wanted in symbol.chars() {
        rest = if wanted == ' ' { rest.strip_prefix(char::is_whitespace)? } else { rest.strip_prefix(wanted)? };
    }
    Some(rest)
}

/// The longest unit that a text starts with, and how many bytes it takes.
fn scan_one(text: &str) -> Option<(&'static Unit, usize)> {
    let mut best: Option<(&'static Unit, usize)> = None;
    for unit in UNITS {
        for symbol in std::iter::once(&unit.symbol).chain(unit.also) {
            let Some(rest) = without(text, symbol) else { continue };
            let is_word = symbol.ends_with(|c: char| c.is_alphanumeric());
            let goes_on = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '²' | '³') || c == '°';
            if is_word && rest.starts_with(goes_on) && !is_minus(rest) {
                continue;
            }
            let taken = text.len() - rest.len();
            if best.is_none_or(|(_, length)| length < taken) {
                best = Some((unit, taken));
            }
        }
    }
    best
}

/// A hyphen that does not go on with a letter is a minus: `3 g-2 g`.
fn is_minus(rest: &str) -> bool {
    rest.strip_prefix('-').is_some_and(|after| !after.starts_with(char::is_alphabetic))
}

/// The symbols of all units.
pub(super) fn symbols() -> impl Iterator<Item = &'static str> {
    UNITS.iter().map(|unit| unit.symbol)
}

impl Unit {
    /// Whether a name is that of a unit.
    pub fn is_named(name: &str) -> bool {
        UNITS.iter().any(|unit| unit.symbol == name || unit.also.contains(&name))
    }

    /// The symbols of all units.
    pub fn symbols() -> impl Iterator<Item = &'static str> {
        symbols()
    }
}

/// The fault of a text that names no unit, with what to write instead where that is plain.
pub(super) fn unknown(text: &str) -> UnitFault {
    UnitFault::Unknown(
        text.to_owned(),
        REFUSED.iter().find(|(refused, _)| *refused == text).map(|(_, instead)| *instead),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: &str) {
        assert_eq!(Units::read(text).map(|units| units.text()), Ok(expected.to_owned()), "{text}");
    }

    #[test]
    fn units_are_read_and_printed() {
        check("g", "g");
        check("€/kg", "€/kg");
        check("EUR per kg", "€/kg");
        check("g/ml", "g/ml");
        check("% w/w", "% w/w");
        check("cm³", "ml");
        check("us fluid ounces", "us fluid ounce");
        check("per h", "per h");
        check("a week", "per week");
        check("mPa·s a week", "mPa·s/week");
        check("% per week", "%/week");
        check("mPa·s/week", "mPa·s/week");
        check("€/kg·h", "€/kg·h");
    }

    #[test]
    fn what_differs_between_readers_is_refused() {
        for text in ["oz", "fl oz", "tsp", "cup", "gallon", "drops"] {
            assert!(matches!(Units::read(text), Err(UnitFault::Unknown(_, Some(_)))), "{text}");
        }
        for text in ["stone", "week", "a weekday", "a d"] {
            assert!(matches!(Units::read(text), Err(UnitFault::Unknown(_, None))), "{text}");
        }
    }

    #[test]
    fn a_unit_ends_where_the_expression_goes_on() {
        assert_eq!(Units::scan("g/100").unwrap().unwrap().1, 1);
        assert_eq!(Units::scan("g-2").unwrap().unwrap().1, 1);
        assert_eq!(Units::scan("g/l × 2").unwrap().unwrap().1, 3);
        assert_eq!(Units::scan("glycerin").unwrap(), None);
        assert_eq!(Units::scan("% of x").unwrap().unwrap().1, 1);
        assert_eq!(Units::scan("to kg").unwrap(), None);
    }

    #[test]
    fn units_cancel() {
        let of = |text: &str| Units::read(text).unwrap();
        assert_eq!(of("€/kg").times(&of("g")).text(), "€");
        assert_eq!(of("g").over(&of("ml")).text(), "g/ml");
        assert_eq!(of("g").over(&of("kg")).text(), "");
        assert_eq!(of("%").times(&of("g")).text(), "g");
        assert_eq!(of("%").times(&of("%")).text(), "%");
        assert_eq!(of("%").over(&of("%")).text(), "");
        assert_eq!(of("cm").times(&of("cm²")).text(), "ml");
        assert_eq!(of("% w/v").times(&of("l")).text(), "g");
    }

    #[test]
    fn a_factor_is_exact() {
        assert_eq!(Units::of("us gallon").factor(), Exact::from_parts(3_785_411_784, 6));
        let fluid = Units::of("us fluid ounce").factor();
        assert_eq!(fluid.times(&Exact::from_parts(128, 0)), Some(Units::of("us gallon").factor()));
        let drams = Units::of("us fluid dram").factor();
        assert_eq!(drams.times(&Exact::from_parts(8, 0)), Some(fluid));
        let ounces = Units::of("avoirdupois ounce").factor();
        assert_eq!(ounces.times(&Exact::from_parts(16, 0)), Some(Units::of("lb").factor()));
    }
}
