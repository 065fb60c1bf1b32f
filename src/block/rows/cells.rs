//! What is written in a cell, as the block would write it: dates in the order of ISO 8601, numbers with a point and without signs between thousands.

use crate::quantity::Date;

/// The keys that are numbers.
pub(super) const NUMBERS: [&str; 7] = ["weight", "ph", "value", "viscosity", "added", "x", "y"];

/// The order in which a file writes its dates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum DateOrder {
    DayMonthYear,
    MonthDayYear,
}

impl DateOrder {
    pub(super) const ALL: [DateOrder; 2] = [DateOrder::DayMonthYear, DateOrder::MonthDayYear];

    pub(super) fn word(self) -> &'static str {
        match self {
            DateOrder::DayMonthYear => "day month year",
            DateOrder::MonthDayYear => "month day year",
        }
    }

    /// The other one.
    pub(super) fn other(self) -> DateOrder {
        match self {
            DateOrder::DayMonthYear => DateOrder::MonthDayYear,
            DateOrder::MonthDayYear => DateOrder::DayMonthYear,
        }
    }

    /// The date with its year first; nothing where it has not this form or there is no such day.
    pub(super) fn turned(self, text: &str) -> Option<String> {
        let parts: Vec<&str> = text.split(['.', '/', '-']).map(str::trim).collect();
        let [one, two, year] = parts.as_slice() else { return None };
        let is_number = |part: &str, most: usize| {
            (1..=most).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit())
        };
        if !is_number(one, 2) || !is_number(two, 2) || !is_number(year, 4) || year.len() != 4 {
            return None;
        }
        let (day, month) = if self == DateOrder::DayMonthYear { (one, two) } else { (two, one) };
        let turned = format!("{year}-{month:0>2}-{day:0>2}");
        Date::read(&turned).is_ok().then_some(turned)
    }
}

/// The day of a cell, without the time of day behind it.
pub(super) fn day_of(cell: &str) -> &str {
    let day = cell.split([' ', 'T']).next().unwrap_or(cell);
    let rest = cell.get(day.len()..).unwrap_or_default();
    let is_time =
        rest.get(1..).is_some_and(|time| time.starts_with(|c: char| c.is_ascii_digit()) && time.contains(':'));
    if is_time { day } else { cell }
}

/// The sign before the decimals, where the block says which the file has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum DecimalSign {
    Comma,
    Point,
}

impl DecimalSign {
    pub(super) const ALL: [DecimalSign; 2] = [DecimalSign::Comma, DecimalSign::Point];

    pub(super) fn text(self) -> &'static str {
        match self {
            DecimalSign::Comma => ",",
            DecimalSign::Point => ".",
        }
    }

    /// What may stand between thousands then.
    fn between(self) -> [char; 6] {
        let other = if self == DecimalSign::Comma { '.' } else { ',' };
        [other, ' ', '\'', '\u{a0}', '\u{202f}', '\u{2009}']
    }

    /// The number at the beginning of a text with a point for its decimals, and what follows it. Nothing where the number does not keep to the sign.
    fn read(self, text: &str) -> Option<(String, &str)> {
        let digit = |c: char| c.is_ascii_digit();
        let between = self.between();
        let mut end = text.find(|c: char| !digit(c)).unwrap_or(text.len());
        let mut number = text.get(..end)?.to_owned();
        let is_short = (1..=3).contains(&end);
        let mut sign = None;
        while let Some(next) =
            text.get(end..).and_then(|rest| rest.chars().next()).filter(|next| between.contains(next))
        {
            let rest = text.get(end + next.len_utf8()..)?;
            let group = rest.find(|c: char| !digit(c)).unwrap_or(rest.len());
            // A space may also stand before a unit.
            if group == 0 && next.is_whitespace() {
                break;
            }
            if group != 3 || !is_short || sign.is_some_and(|sign| sign != next) {
                return None;
            }
            sign = Some(next);
            number.push_str(rest.get(..3)?);
            end += next.len_utf8() + 3;
        }
        if let Some(rest) = text.get(end..).and_then(|rest| rest.strip_prefix(self.text())) {
            let decimals = rest.find(|c: char| !digit(c)).unwrap_or(rest.len());
            number.push('.');
            number.push_str(rest.get(..decimals)?);
            end += 1 + decimals;
        }
        let rest = text.get(end..)?;
        (!number.is_empty() && !rest.starts_with(['.', ','])).then_some((number, rest))
    }
}

/// A number as the block writes it. An instrument puts its sign apart from the digits. Nothing where it does not keep to the decimal sign of the file.
pub(super) fn numeral(cell: &str, decimal: Option<DecimalSign>) -> Option<String> {
    let (sign, rest) = match cell.strip_prefix(['+', '-', '−']) {
        Some(rest) if cell.starts_with('+') => ("", rest),
        Some(rest) => ("-", rest),
        None => ("", cell),
    };
    let rest = rest.trim_start();
    if !rest.starts_with(|c: char| c.is_ascii_digit()) {
        return Some(cell.to_owned());
    }
    match decimal {
        None => Some(format!("{sign}{rest}")),
        Some(decimal) => decimal.read(rest).map(|(number, unit)| format!("{sign}{number}{unit}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(cell: &str, decimal: Option<DecimalSign>, expected: Option<&str>) {
        assert_eq!(numeral(cell, decimal).as_deref(), expected, "{cell}");
    }

    #[test]
    fn the_sign_of_an_instrument_stands_apart() {
        check("+   702.4 g", None, Some("702.4 g"));
        check("- 0.02 g", None, Some("-0.02 g"));
        check("−0.02", None, Some("-0.02"));
        check("n/a", None, Some("n/a"));
        check("-", None, Some("-"));
        check("1,250", None, Some("1,250"));
    }

    #[test]
    fn a_decimal_comma_that_is_said_is_one() {
        let comma = Some(DecimalSign::Comma);
        check("62,310", comma, Some("62.310"));
        check("5,42", comma, Some("5.42"));
        check("1.702,4 g", comma, Some("1702.4 g"));
        check("1 702,4 g", comma, Some("1702.4 g"));
        check("1.234.567", comma, Some("1234567"));
        check("12 g", comma, Some("12 g"));
        check("12", comma, Some("12"));
        check("+1702", comma, Some("1702"));
    }

    #[test]
    fn a_number_that_does_not_keep_to_the_sign_is_none() {
        let comma = Some(DecimalSign::Comma);
        check("5.42", comma, None);
        check("1702.4", comma, None);
        check("1.702.4", comma, None);
        check("1.234 567", comma, None);
        check("1,2,3", comma, None);
        check("5,42", Some(DecimalSign::Point), None);
    }

    #[test]
    fn a_decimal_point_that_is_said_leaves_the_comma_to_thousands() {
        let point = Some(DecimalSign::Point);
        check("1,250", point, Some("1250"));
        check("1,250.75 g", point, Some("1250.75 g"));
        check("1'250.75", point, Some("1250.75"));
        check("0.062", point, Some("0.062"));
    }

    #[test]
    fn a_date_that_does_not_exist_is_not_turned() {
        assert_eq!(DateOrder::DayMonthYear.turned("3.2.2026").as_deref(), Some("2026-02-03"));
        assert_eq!(DateOrder::DayMonthYear.turned("08/17/2026"), None);
        assert_eq!(DateOrder::MonthDayYear.turned("08/17/2026").as_deref(), Some("2026-08-17"));
        assert_eq!(DateOrder::MonthDayYear.turned("2026-08-17"), None);
    }
}
