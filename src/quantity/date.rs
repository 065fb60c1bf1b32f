//! Calendar dates as ISO 8601 writes them: `2026-03-14`. There is no clock here; a date is only what somebody wrote.

use std::fmt;

/// A day of the Gregorian calendar, **range** 1583-01-01 to 9999-12-31: earlier years take an agreement between the partners (ISO 8601-1:2019, 4.3.2, from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date {
    year: u16,
    month: u8,
    day: u8,
}

/// Why a text is no date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DateFault {
    /// It is not written as year, month and day.
    Form,
    /// The year is before the calendar.
    Year(u16),
    /// There is no such month.
    Month(u8),
    /// The month has not so many days; the day, and how many the month has.
    Day(u8, u8),
}

/// The first year that the calendar counts without an agreement.
const FIRST_YEAR: u16 = 1583;

impl Date {
    /// The first day of the range.
    pub const FIRST: Date = Date { year: FIRST_YEAR, month: 1, day: 1 };

    /// The date, if the calendar has it.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn new(year: u16, month: u8, day: u8) -> Result<Date, DateFault> {
        if !(FIRST_YEAR..=9999).contains(&year) {
            return Err(DateFault::Year(year));
        }
        let days = days_in(year, month).ok_or(DateFault::Month(month))?;
        if day < 1 || days < day {
            return Err(DateFault::Day(day, days));
        }
        Ok(Date { year, month, day })
    }

    /// Reads `2026-03-14`: four digits, two and two. Any other order of day and month can be read in two ways.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn read(text: &str) -> Result<Date, DateFault> {
        let parts: Vec<&str> = text.trim().split('-').collect();
        let [year, month, day] = parts.as_slice() else { return Err(DateFault::Form) };
        let has_form = |part: &str, digits: usize| part.len() == digits && part.bytes().all(|b| b.is_ascii_digit());
        if !has_form(year, 4) || !has_form(month, 2) || !has_form(day, 2) {
            return Err(DateFault::Form);
        }
        match (year.parse(), month.parse(), day.parse()) {
            (Ok(year), Ok(month), Ok(day)) => Date::new(year, month, day),
            _ => Err(DateFault::Form),
        }
    }
}

impl Date {
    /// The same day so many months later, or the last day of that month where it has none of that number: never later than was said.
    pub fn plus_months(self, months: u32) -> Option<Date> {
        let counted = u32::from(self.year) * 12 + u32::from(self.month) - 1 + months;
        let (year, month) = (u16::try_from(counted / 12).ok()?, u8::try_from(counted % 12 + 1).ok()?);
        Date::new(year, month, self.day.min(days_in(year, month)?)).ok()
    }

    /// Year, month and day.
    pub fn parts(self) -> (u16, u8, u8) {
        (self.year, self.month, self.day)
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

impl DateFault {
    /// What is wrong, as the end of a sentence that begins with the text.
    pub fn sentence(self) -> String {
        match self {
            DateFault::Form => "is no date as year, month and day".to_owned(),
            DateFault::Year(year) => format!("is in the year {year}, before the calendar that we count by"),
            DateFault::Month(month) => format!("has the month {month}; there are twelve"),
            DateFault::Day(day, days) => format!("is the day {day} of a month with {days} days"),
        }
    }
}

/// The days of a month. February has 29 in years that four divides, but not a hundred, unless four hundred does (the Gregorian rule, ISO 8601-1:2019, 4.2.1, from memory).
fn days_in(year: u16, month: u8) -> Option<u8> {
    let is_leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => Some(31),
        4 | 6 | 9 | 11 => Some(30),
        2 => Some(if is_leap { 29 } else { 28 }),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: Result<&str, DateFault>) {
        assert_eq!(Date::read(text).map(|date| date.to_string()), expected.map(str::to_owned), "{text}");
    }

    #[test]
    fn leap_years_follow_the_gregorian_rule() {
        check("2024-02-29", Ok("2024-02-29"));
        check("2000-02-29", Ok("2000-02-29"));
        check("1900-02-29", Err(DateFault::Day(29, 28)));
        check("2100-02-29", Err(DateFault::Day(29, 28)));
        check("2026-02-29", Err(DateFault::Day(29, 28)));
        let leap_years = (1601..=2000).filter(|year| Date::new(*year, 2, 29).is_ok()).count();
        // 97 leap years in any 400 years of the Gregorian calendar.
        assert_eq!(leap_years, 97);
    }

    #[test]
    fn days_that_are_not_there_are_named() {
        check("2026-04-31", Err(DateFault::Day(31, 30)));
        check("2026-01-00", Err(DateFault::Day(0, 31)));
        check("2026-13-01", Err(DateFault::Month(13)));
        check("0026-01-01", Err(DateFault::Year(26)));
        for text in ["14.3.2026", "2026-3-14", "26-03-14", "2026/03/14", "", "2026-03-14T10:00:00", "+026-03-14"] {
            check(text, Err(DateFault::Form));
        }
    }

    #[test]
    fn months_later_is_never_later_than_said() {
        let later = |text, months| Date::read(text).unwrap().plus_months(months).map(|date| date.to_string());
        assert_eq!(later("2026-11-14", 24).as_deref(), Some("2028-11-14"));
        assert_eq!(later("2026-08-31", 6).as_deref(), Some("2027-02-28"));
        assert_eq!(later("2027-08-31", 6).as_deref(), Some("2028-02-29"));
        assert_eq!(later("2026-12-01", 1).as_deref(), Some("2027-01-01"));
        assert_eq!(later("2026-12-31", 0).as_deref(), Some("2026-12-31"));
        assert_eq!(later("9999-12-31", 1), None);
    }

    #[test]
    fn dates_are_in_order() {
        let date = |text| Date::read(text).unwrap();
        assert!(date("2025-12-31") < date("2026-01-01"));
        assert!(date("2026-02-28") < date("2026-03-01"));
    }
}
