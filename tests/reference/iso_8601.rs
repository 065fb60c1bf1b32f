//! Dates, week dates, days of the year and lengths of time against published examples.

use tarebook::quantity::{Date, DateFault, Elapsed};

#[track_caller]
fn same(written: &[&str]) {
    let dates: Vec<Date> = written.iter().map(|text| Date::read(text).unwrap()).collect();
    assert!(dates.iter().all(|date| Some(date) == dates.first()), "{written:?}: {dates:?}");
}

#[track_caller]
fn days(from: &str, to: &str, expected: i64) {
    let (from, to) = (Date::read(from).unwrap(), Date::read(to).unwrap());
    assert_eq!(to.days_since(from), expected);
    assert_eq!(from.plus_days(expected), Some(to));
}

/// ISO 8601:2004, 4.1.2 to 4.1.4 and annex B (from memory): 12 April 1985 is 1985-04-12, 1985-102 and 1985-W15-5.
#[test]
fn the_example_of_the_standard_in_its_three_forms() {
    same(&["1985-04-12", "1985-102", "1985-W15-5"]);
}

/// The table of week dates at the turn of years in the encyclopaedia article "ISO week date" (en.wikipedia.org; from memory, and the same by the calendar of Python 3.11).
#[test]
fn weeks_at_the_turn_of_the_year() {
    for (date, week) in [
        ("1977-01-01", "1976-W53-6"),
        ("1977-01-02", "1976-W53-7"),
        ("1977-12-31", "1977-W52-6"),
        ("1978-01-01", "1977-W52-7"),
        ("1978-01-02", "1978-W01-1"),
        ("1979-12-31", "1980-W01-1"),
        ("1980-12-28", "1980-W52-7"),
        ("1980-12-29", "1981-W01-1"),
        ("1981-12-31", "1981-W53-4"),
        ("1982-01-03", "1981-W53-7"),
        ("2008-12-29", "2009-W01-1"),
        ("2010-01-03", "2009-W53-7"),
    ] {
        same(&[date, week]);
    }
}

/// The Gregorian rule as the papal bull of 1582 has it, with its own examples: 1600 and 2000 are leap years, 1700, 1800 and 1900 are not.
#[test]
fn leap_years() {
    for year in [1600, 1996, 2000, 2024] {
        assert_eq!(Date::of_year_day(year, 366).map(|date| date.to_string()), Ok(format!("{year}-12-31")));
    }
    for year in [1700, 1800, 1900, 2026] {
        assert_eq!(Date::of_year_day(year, 366), Err(DateFault::YearDay(366, 365)));
    }
    assert_eq!(Date::read("2026-W53-1").map(|date| date.to_string()), Ok("2026-12-28".to_owned()));
    assert_eq!(Date::read("2025-W53-1"), Err(DateFault::Week(53, 52)));
}

/// Days between dates by their Julian day numbers: J. Meeus, Astronomical Algorithms, 2nd edition (1998), chapter 7 (from memory): 2000-01-01 is 2 451 545 at noon, 1987-01-27 begins
/// at 2 446 822.5, 1988-01-27 at 2 447 187.5, 1900-01-01 at 2 415 020.5, 1600-01-01 at 2 305 447.5.
#[test]
fn days_between_dates() {
    days("1987-01-27", "1988-01-27", 365);
    days("1900-01-01", "1987-01-27", 31_802);
    days("1600-01-01", "1900-01-01", 109_573);
    days("1987-01-27", "2000-01-01", 4_722);
    // The two appearances of Halley's comet of chapter 7: 20 April 1910 and 9 February 1986.
    days("1910-04-20", "1986-02-09", 27_689);
}

/// ISO 8601:2004, 4.4.4.2 (from memory): P2Y10M15D is two years, ten months and fifteen days; P1Y2M10D; P4W. RFC 3339, appendix A, has the same letters.
#[test]
fn lengths_of_time() {
    let read = |text: &str| Elapsed::read(text).map(|one| (one.months, one.days.to_string()));
    assert_eq!(read("P2Y10M15D"), Some((34, "15".to_owned())));
    assert_eq!(read("P1Y2M10D"), Some((14, "10".to_owned())));
    assert_eq!(read("P4W"), Some((0, "28".to_owned())));
    // 1985-04-12 and one year, two months, ten days of the standard's example of an interval: 1986-06-22.
    let start = Date::read("1985-04-12").unwrap();
    assert_eq!(Elapsed::read("P1Y2M10D").unwrap().after(start).unwrap().to_string(), "1986-06-22");
}
