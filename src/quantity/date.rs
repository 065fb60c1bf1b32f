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
    /// The year has not so many days; the day, and how many the year has.
    YearDay(u16, u16),
    /// The year has not so many weeks; the week, and how many the year has.
    Week(u16, u16),
    /// A week has seven days; the day.
    WeekDay(u16),
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

    /// Reads `2026-03-14`: four digits, two and two; a week date `2026-W11-6`; or a day of the year `2026-073` (ISO 8601, extended formats). Any other
    /// order of day and month can be read in two ways.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn read(text: &str) -> Result<Date, DateFault> {
        let parts: Vec<&str> = text.trim().split('-').collect();
        let has_form = |part: &str, digits: usize| part.len() == digits && part.bytes().all(|b| b.is_ascii_digit());
        let number = |part: &str| part.parse::<u16>().map_err(|_| DateFault::Form);
        match parts.as_slice() {
            [year, day] if has_form(year, 4) && has_form(day, 3) => {
                return Date::of_year_day(number(year)?, number(day)?);
            }
            [year, week, day] if has_form(year, 4) && has_form(day, 1) => {
                let week = week.strip_prefix('W').filter(|week| has_form(week, 2)).ok_or(DateFault::Form)?;
                return Date::of_week(number(year)?, number(week)?, number(day)?);
            }
            _ => {}
        }
        let [year, month, day] = parts.as_slice() else { return Err(DateFault::Form) };
        if !has_form(year, 4) || !has_form(month, 2) || !has_form(day, 2) {
            return Err(DateFault::Form);
        }
        match (year.parse(), month.parse(), day.parse()) {
            (Ok(year), Ok(month), Ok(day)) => Date::new(year, month, day),
            _ => Err(DateFault::Form),
        }
    }

    /// The date of a day of the year, counted from 1.
    ///
    /// # Errors
    /// Where the year has no such day.
    pub fn of_year_day(year: u16, day: u16) -> Result<Date, DateFault> {
        let first = Date::new(year, 1, 1)?;
        let days = days_in_year(year);
        if day < 1 || days < day {
            return Err(DateFault::YearDay(day, days));
        }
        first.plus_days(i64::from(day) - 1).ok_or(DateFault::Year(year))
    }

    /// The date of a day of a week: weeks begin on Monday, day 1, and the first week of a year is the one with its first Thursday (ISO 8601-1:2019, 4.2.2,
    /// from memory).
    ///
    /// # Errors
    /// Where the year has no such week, or the week no such day.
    pub fn of_week(year: u16, week: u16, day: u16) -> Result<Date, DateFault> {
        let monday = Date::first_monday(year)?;
        let next = Date::first_monday(year.saturating_add(1))?;
        let weeks = u16::try_from((next.number() - monday.number()) / 7).unwrap_or(52);
        if week < 1 || weeks < week {
            return Err(DateFault::Week(week, weeks));
        }
        if !(1..=7).contains(&day) {
            return Err(DateFault::WeekDay(day));
        }
        monday.plus_days(i64::from(week - 1) * 7 + i64::from(day) - 1).ok_or(DateFault::Year(year))
    }

    /// The Monday of the first week of a year: the one of the week that holds the fourth of January.
    fn first_monday(year: u16) -> Result<Date, DateFault> {
        let fourth = Date::new(year, 1, 4)?;
        fourth.plus_days(1 - i64::from(fourth.weekday())).ok_or(DateFault::Year(year))
    }

    /// The day of the week, Monday being 1 and Sunday 7.
    pub fn weekday(self) -> u8 {
        // The first of January of the year 1, counted back by the Gregorian rule, is a Monday and day 1.
        u8::try_from((self.number() - 1).rem_euclid(7)).unwrap_or_default() + 1
    }

    /// The day of the year, from 1.
    pub fn year_day(self) -> u16 {
        let before = (1..self.month).filter_map(|month| days_in(self.year, month)).map(u16::from);
        before.sum::<u16>() + u16::from(self.day)
    }

    /// The year of its week, the week and the day of the week, as `2026-W11-6` names them.
    pub fn week(self) -> (u16, u16, u8) {
        let weekday = self.weekday();
        // A week belongs to the year that has its Thursday.
        let thursday = self.plus_days(4 - i64::from(weekday)).unwrap_or(self);
        (thursday.year, (thursday.year_day() - 1) / 7 + 1, weekday)
    }

    /// The days from the first of January of the year 1, which is 1, to this one.
    fn number(self) -> i64 {
        let years = i64::from(self.year) - 1;
        years * 365 + years / 4 - years / 100 + years / 400 + i64::from(self.year_day())
    }

    /// The days from another date to this one; below zero where the other is later.
    pub fn days_since(self, other: Date) -> i64 {
        self.number() - other.number()
    }

    /// So many days later, or earlier; nothing outside of the range.
    pub fn plus_days(self, days: i64) -> Option<Date> {
        let wanted = self.number().checked_add(days)?;
        // A year at most too late or too early, then counted on.
        let mut year = u16::try_from(wanted.div_euclid(366).max(0)).ok()?.max(FIRST_YEAR);
        let start = |year: u16| Date { year, month: 1, day: 1 }.number();
        while start(year.checked_add(1)?) <= wanted {
            year += 1;
        }
        let mut left = wanted - start(year);
        if left < 0 || 9999 < year {
            return None;
        }
        for month in 1..=12 {
            let days = i64::from(days_in(year, month)?);
            if left < days {
                return Date::new(year, month, u8::try_from(left + 1).ok()?).ok();
            }
            left -= days;
        }
        None
    }

    /// So many calendar months later; a day that the month does not have becomes its last.
    pub fn plus_months(self, months: u32) -> Option<Date> {
        let count = u32::from(self.month) - 1 + months;
        let year = u16::try_from(u32::from(self.year) + count / 12).ok()?;
        let month = u8::try_from(count % 12 + 1).ok()?;
        Date::new(year, month, self.day.min(days_in(year, month)?)).ok()
    }
}

impl Date {
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
            DateFault::YearDay(day, days) => format!("is the day {day} of a year with {days} days"),
            DateFault::Week(week, weeks) => format!("is in the week {week} of a year with {weeks} weeks"),
            DateFault::WeekDay(day) => format!("has the day {day} of a week; there are seven, from 1 for Monday"),
        }
    }
}

fn days_in_year(year: u16) -> u16 {
    if days_in(year, 2) == Some(29) { 366 } else { 365 }
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
    fn every_day_of_four_hundred_years_has_its_number_and_comes_back() {
        let mut date = Date::new(1999, 12, 31).unwrap();
        let first = date;
        // 400 Gregorian years are 146 097 days, which is a whole number of weeks.
        for days in 0..146_097 {
            assert_eq!(date.days_since(first), days);
            let (year, week, day) = date.week();
            assert_eq!(Date::of_week(year, week, u16::from(day)), Ok(date));
            assert_eq!(Date::of_year_day(date.year, date.year_day()), Ok(date));
            date = date.plus_days(1).unwrap();
        }
        assert_eq!((date.to_string().as_str(), date.weekday()), ("2399-12-31", first.weekday()));
        assert_eq!(Date::new(9999, 12, 31).unwrap().plus_days(1), None);
        assert_eq!(Date::FIRST.plus_days(-1), None);
    }

    #[test]
    fn months_go_by_the_calendar() {
        let later = |text: &str, months| Date::read(text).unwrap().plus_months(months).unwrap().to_string();
        assert_eq!(later("2026-01-31", 1), "2026-02-28");
        assert_eq!(later("2024-01-31", 1), "2024-02-29");
        assert_eq!(later("2026-11-15", 14), "2028-01-15");
    }

    #[test]
    fn dates_are_in_order() {
        let date = |text| Date::read(text).unwrap();
        assert!(date("2025-12-31") < date("2026-01-01"));
        assert!(date("2026-02-28") < date("2026-03-01"));
    }
}
