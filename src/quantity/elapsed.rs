//! How long after a start something is: "24 h", "4 weeks", "3 months", or ISO 8601's `P4W`, `P1M15D`, `PT36H`.
//!
//! Hours, days and weeks have a fixed length; months and years go by the calendar, so they need a date to be counted from. There are no summer times here: a
//! day has 24 hours.

use super::{Date, Decimal, read_decimal, split_number};
use rust_decimal::prelude::ToPrimitive;
use serde::Serialize;

/// A length of time, **range** 0 to 100 years.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Elapsed {
    /// As typed.
    pub text: String,
    /// Calendar months.
    pub months: u32,
    /// Days of 24 hours, with their part.
    pub days: Decimal,
}

/// The longest: a hundred years of 366 days, which no formula is watched for.
const MOST_DAYS: Decimal = Decimal::from_parts(36_600, 0, 0, false, 0);
const MOST_MONTHS: Decimal = Decimal::from_parts(1_200, 0, 0, false, 0);

impl Elapsed {
    /// No time at all.
    pub fn none() -> Elapsed {
        Elapsed { text: "0 d".to_owned(), months: 0, days: Decimal::ZERO }
    }

    /// Reads a length of time; nothing when it is none.
    pub fn read(text: &str) -> Option<Elapsed> {
        let text = text.trim();
        let (months, days) = match text.strip_prefix('P') {
            Some(parts) => read_iso(parts)?,
            None => {
                let (number, unit) = split_number(text);
                part(number, unit.trim_end_matches('.'))?
            }
        };
        let whole = months.to_u32().filter(|_| months.fract().is_zero() && months <= MOST_MONTHS)?;
        let is_sane = days >= Decimal::ZERO && days <= MOST_DAYS;
        is_sane.then(|| Elapsed { text: text.to_owned(), months: whole, days: days.normalize() })
    }

    /// How many days that is after a start; nothing where it has months and there is no start.
    pub fn days_after(&self, start: Option<Date>) -> Option<Decimal> {
        if self.months == 0 {
            return Some(self.days);
        }
        let start = start?;
        Some(Decimal::from(start.plus_months(self.months)?.days_since(start)) + self.days)
    }

    /// The day on which it is over, counted from a start.
    pub fn after(&self, start: Date) -> Option<Date> {
        start.plus_days(self.days_after(Some(start))?.ceil().to_i64()?)
    }
}

/// Months and days of a number with a unit.
fn part(number: &str, unit: &str) -> Option<(Decimal, Decimal)> {
    let number = read_decimal(number).ok().filter(|number| *number >= Decimal::ZERO)?;
    let days = |each: i64| Some((Decimal::ZERO, number * Decimal::new(each, 0)));
    match unit {
        "h" | "hour" | "hours" => Some((Decimal::ZERO, number / Decimal::new(24, 0))),
        "d" | "day" | "days" => days(1),
        "week" | "weeks" | "wk" => days(7),
        "month" | "months" => Some((number, Decimal::ZERO)),
        "year" | "years" => Some((number * Decimal::new(12, 0), Decimal::ZERO)),
        _ => None,
    }
}

/// What follows the `P` of a duration of ISO 8601: years, months, weeks, days, and behind `T` hours; minutes and seconds are none of this trade.
fn read_iso(text: &str) -> Option<(Decimal, Decimal)> {
    let (date, time) = text.split_once('T').unwrap_or((text, ""));
    if date.is_empty() && time.is_empty() || text.ends_with('T') {
        return None;
    }
    let mut sum = (Decimal::ZERO, Decimal::ZERO);
    let parts: [(&str, &[(char, &str)]); 2] =
        [(date, &[('Y', "years"), ('M', "months"), ('W', "weeks"), ('D', "days")]), (time, &[('H', "hours")])];
    for (mut rest, letters) in parts {
        // Each letter once, the longer before the shorter.
        for (letter, unit) in letters {
            let Some((number, behind)) = rest.split_once(*letter) else { continue };
            let (months, days) = part(number, unit)?;
            sum = (sum.0 + months, sum.1 + days);
            rest = behind;
        }
        if !rest.is_empty() {
            return None;
        }
    }
    Some(sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: Option<(u32, &str)>) {
        let read = Elapsed::read(text);
        let read = read.as_ref().map(|one| (one.months, one.days.to_string()));
        assert_eq!(read, expected.map(|(months, days)| (months, days.to_owned())), "{text}");
    }

    #[test]
    fn lengths_are_read_as_people_and_the_standard_write_them() {
        check("24 h", Some((0, "1")));
        check("36 hours", Some((0, "1.5")));
        check("1 d", Some((0, "1")));
        check("12 weeks", Some((0, "84")));
        check("3 months", Some((3, "0")));
        check("2 years", Some((24, "0")));
        check("P4W", Some((0, "28")));
        check("P1Y2M10D", Some((14, "10")));
        check("PT36H", Some((0, "1.5")));
        check("P1DT12H", Some((0, "1.5")));
    }

    #[test]
    fn what_is_no_length_is_refused() {
        for text in
            ["", "4", "weeks", "-1 d", "4 m", "1.5 months", "P", "PT", "P1DT", "P1D2W", "P4WX", "PT5M", "200 years"]
        {
            check(text, None);
        }
    }

    #[test]
    fn months_need_a_start() {
        let start = Date::read("2026-02-04").unwrap();
        let months = Elapsed::read("3 months").unwrap();
        assert_eq!(months.days_after(None), None);
        assert_eq!(months.days_after(Some(start)).unwrap().to_string(), "89");
        assert_eq!(months.after(start).unwrap().to_string(), "2026-05-04");
        assert_eq!(Elapsed::read("36 h").unwrap().after(start).unwrap().to_string(), "2026-02-06");
    }
}
