//! Which checks were made, passed over, or are still open.

use super::{Row, Stability};
use crate::block::Placed;
use crate::quantity::{Date, Decimal, Elapsed};
use crate::report::Place;

/// A check of a condition.
#[derive(Clone, Debug)]
pub struct Check {
    /// As written: "4 weeks".
    pub text: String,
    /// How many days after the start.
    pub day: Decimal,
    /// The date, where there is a start.
    pub date: Option<Date>,
    /// What became of it.
    pub state: CheckState,
    /// Where it is written.
    pub place: Place,
}

/// What became of a check.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CheckState {
    /// It was made, so many days after the start.
    Made(Decimal),
    /// It was not made, and a later one was.
    PassedOver,
    /// It was still to come when the log was ended.
    Ended,
    /// It is still to be made.
    Open,
}

/// Checks that are still to be made on one day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Due {
    /// The date, where there is a start.
    pub date: Option<Date>,
    /// How many days after the start.
    pub day: Decimal,
    /// The check as written.
    pub check: String,
    /// The conditions, by name.
    pub conditions: Vec<String>,
}

/// How many days before its time a check may be made: a tenth of it, by whole days. One on the first day may not.
fn early(day: Decimal) -> Decimal {
    if day < Decimal::TWO { Decimal::ZERO } else { (day / Decimal::TEN).ceil() }
}

/// The checks of a condition in the order of time. An observation counts for the check that is nearest to it, of two that are as near for the later one; it may be late,
/// and early by [`early`].
pub(super) fn of(wanted: &[Placed<Elapsed>], rows: &[Row], start: Option<Date>, ended: Option<Date>) -> Vec<Check> {
    let mut checks: Vec<Check> = wanted
        .iter()
        .filter_map(|check| {
            Some(Check {
                text: check.value.text.clone(),
                day: check.value.days_after(start)?,
                date: start.and_then(|start| check.value.after(start)),
                state: CheckState::Open,
                place: check.place.clone(),
            })
        })
        .collect();
    checks.sort_by_key(|check| check.day);
    checks.dedup_by(|one, other| one.day == other.day);
    for row in rows {
        let may = checks.iter_mut().filter(|check| row.day >= check.day - early(check.day));
        let nearest = may.rev().min_by_key(|check| (row.day - check.day).abs());
        if let Some(check) = nearest
            && check.state == CheckState::Open
        {
            check.state = CheckState::Made(row.day);
        }
    }
    let last_made = checks.iter().rposition(|check| matches!(check.state, CheckState::Made(_)));
    let last_seen = rows.iter().map(|row| row.day).max();
    for (index, check) in checks.iter_mut().enumerate().filter(|(_, check)| check.state == CheckState::Open) {
        if last_made.is_some_and(|last| index < last) {
            check.state = CheckState::PassedOver;
        } else if ended.is_some_and(|ended| check.date.is_none_or(|date| ended <= date)) {
            check.state = CheckState::Ended;
        } else if ended.is_some() || last_seen.is_some_and(|seen| seen > check.day && last_made.is_none()) {
            check.state = CheckState::PassedOver;
        }
    }
    checks
}

impl Stability {
    /// The checks that are still to be made, in the order of time.
    pub fn due(&self) -> Vec<Due> {
        let mut due: Vec<Due> = Vec::new();
        for condition in &self.conditions {
            for check in condition.checks.iter().filter(|check| check.state == CheckState::Open) {
                match due.iter_mut().find(|one| one.day == check.day) {
                    Some(one) => one.conditions.push(condition.key.clone()),
                    None => due.push(Due {
                        date: check.date,
                        day: check.day,
                        check: check.text.clone(),
                        conditions: vec![condition.key.clone()],
                    }),
                }
            }
        }
        due.sort_by_key(|one| one.day);
        due
    }
}
