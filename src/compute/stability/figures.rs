//! The figures of a stability log, each with its working.

use super::{Condition, Drift, Due, LEAST_DAYS, LEAST_READINGS, Leaves, Measure, NoDrift, Stability, Standing};
use crate::block::TestResult;
use crate::compute::robust_slope::{SLOPE_SOURCE, Slope};
use crate::compute::{AddressFault, Figure, Value, Working};
use crate::quantity::{Date, Decimal, round_half_even, show};

/// Days of a week.
const WEEK: Decimal = Decimal::from_parts(7, 0, 0, false, 0);

impl Stability {
    /// The addresses below the block's id.
    pub fn addresses(&self) -> Vec<String> {
        let mut addresses: Vec<String> = ["status", "preservation"].map(str::to_owned).into();
        addresses.extend(self.start.map(|_| "start".to_owned()));
        addresses.extend(self.last_day().map(|_| "days".to_owned()));
        addresses.extend(self.due().first().and_then(|due| due.date).map(|_| "next".to_owned()));
        for condition in &self.conditions {
            for measure in Measure::ALL {
                let base = format!("{}/{}", condition.key, measure.key());
                if condition.last(measure).is_none() {
                    continue;
                }
                addresses.push(base.clone());
                if measure != Measure::WeightChange {
                    addresses.push(format!("{base}/change"));
                }
                if let Some(Ok(drift)) = condition.drift(measure) {
                    addresses.extend(["drift", "drift/low", "drift/high"].map(|part| format!("{base}/{part}")));
                    if drift.leaves.as_ref().is_some_and(|leaves| leaves.date.is_some()) {
                        addresses.push(format!("{base}/leaves"));
                    }
                }
            }
        }
        addresses
    }

    /// The figure at a path below the block's id, or why there is none.
    pub fn look_up(&self, id: &str, path: &[&str]) -> Option<Result<Figure, AddressFault>> {
        let (value, working) = match path {
            ["status"] => (
                Value::Text(self.standing_words()),
                Working::new()
                    .text("what was read and seen, beside the specification; it says nothing of preservation"),
            ),
            ["preservation"] => (
                Value::Text(self.preservation_words()),
                Working::new().text("as the author states it; it does not follow from stability"),
            ),
            ["start"] => {
                (Value::Text(self.start?.to_string()), Working::new().text("the day from which time is counted"))
            }
            ["days"] => {
                let days = self.last_day()?;
                (days_value(days), Working::new().text("from the start to the last observation"))
            }
            ["next"] => {
                let due = self.due().into_iter().next()?;
                (Value::Text(due.date?.to_string()), Working::new().text(next_words(&due)))
            }
            [key, measure, rest @ ..] => {
                let condition = self.condition(key)?;
                let measure = Measure::ALL.into_iter().find(|known| known.key() == *measure)?;
                match self.of_measure(condition, measure, rest)? {
                    Ok(found) => found,
                    Err(fault) => return Some(Err(fault)),
                }
            }
            _ => return None,
        };
        Some(Ok(Figure { address: format!("{id}/{}", path.join("/")), value, working }))
    }

    fn of_measure(
        &self,
        condition: &Condition,
        measure: Measure,
        part: &[&str],
    ) -> Option<Result<(Value, Working), AddressFault>> {
        let (day, last) = condition.last(measure)?;
        let decimals = self.decimals(measure);
        let number = |value: Decimal| Value::Reading {
            value: if value.scale() > 12 { value.round_dp(12) } else { value },
            ends: None,
            decimals,
            unit: self.unit(measure).to_owned(),
        };
        match part {
            [] => {
                let words = match measure {
                    Measure::WeightChange => "(weight − first weight) ÷ first weight × 100, of this pack on day ",
                    _ => "the last reading, of day ",
                };
                Some(Ok((number(last), Working::new().text(words).text(show::plain(day)))))
            }
            ["change"] if measure != Measure::WeightChange => {
                let (first_day, first) = condition.first(measure)?;
                let change = number(last - first);
                let working = Working::new()
                    .value(number(last))
                    .text(format!(" on day {} − ", show::plain(day)))
                    .value(number(first))
                    .text(format!(" on day {} = ", show::plain(first_day)))
                    .value(change.clone());
                Some(Ok((change, working)))
            }
            ["drift"] => Some(match condition.drift(measure)? {
                Ok(drift) => Ok(self.drift_figure(measure, drift)),
                Err(why) => Err(AddressFault::NoValue(no_drift_words(*why))),
            }),
            ["drift", end @ ("low" | "high")] => Some(match condition.drift(measure)? {
                Ok(drift) => Ok(self.end_of_drift(measure, drift, end)),
                Err(why) => Err(AddressFault::NoValue(no_drift_words(*why))),
            }),
            ["leaves"] => {
                let drift = match condition.drift(measure)? {
                    Ok(drift) => drift,
                    Err(why) => return Some(Err(AddressFault::NoValue(no_drift_words(*why)))),
                };
                let found = drift.leaves.as_ref().and_then(|leaves| Some((leaves, leaves.date?)));
                Some(match found {
                    Some((leaves, date)) => Ok(self.leaves_figure(measure, drift, leaves, date)),
                    None => Err(AddressFault::NoValue(
                        "no drift is seen that leaves the specification within the time that may be looked ahead, or there is no start to count from".to_owned(),
                    )),
                })
            }
            _ => None,
        }
    }

    fn drift_figure(&self, measure: Measure, drift: &Drift) -> (Value, Working) {
        let a_week = |slope: Slope| slope.over(WEEK);
        let slope = &drift.slope;
        let widest = [slope.low, slope.slope, slope.high].into_iter().map(|one| a_week(one).abs()).max();
        let mut decimals = show::decimals_of(widest.unwrap_or_default(), 2).min(6);
        // Where a drift is seen its interval lies on one side of nothing, and both ends say so.
        let vanishes =
            |decimals| [slope.low, slope.high].into_iter().any(|end| round_half_even(a_week(end), decimals).is_zero());
        while drift.is_seen && decimals < 6 && vanishes(decimals) {
            decimals += 1;
        }
        let unit = self.unit(measure);
        let value = Value::Reading {
            value: a_week(slope.slope),
            ends: Some((a_week(slope.low), a_week(slope.high))),
            decimals,
            unit: if unit.is_empty() { "a week".to_owned() } else { format!("{unit} a week") },
        };
        let words = format!(
            "median of the slopes between all pairs of {} readings from day {} to day {}, with its interval at 95 %; an estimate{}",
            slope.points,
            show::plain(drift.days.0),
            show::plain(drift.days.1),
            if drift.is_seen { "" } else { ", and a standstill is as likely" }
        );
        (value, Working::new().text(words).source(SLOPE_SOURCE))
    }

    /// The lower or the upper end of the interval of a drift.
    fn end_of_drift(&self, measure: Measure, drift: &Drift, end: &str) -> (Value, Working) {
        let (whole, _) = self.drift_figure(measure, drift);
        let (slope, word) = match end {
            "low" => (drift.slope.low, "lower"),
            _ => (drift.slope.high, "upper"),
        };
        let value = match whole {
            Value::Reading { decimals, unit, .. } => {
                Value::Reading { value: slope.over(WEEK), ends: None, decimals, unit }
            }
            other => other,
        };
        let words = format!("the {word} end of the interval at 95 % of the slopes between all pairs of readings");
        (value, Working::new().text(words).source(SLOPE_SOURCE))
    }

    fn leaves_figure(&self, measure: Measure, drift: &Drift, leaves: &Leaves, date: Date) -> (Value, Working) {
        let named = |(day, date): (Decimal, Option<Date>)| date.map_or_else(|| day_words(day), |date| date.to_string());
        let latest = leaves.latest.map_or_else(
            || "and perhaps not within the time that may be looked ahead".to_owned(),
            |latest| format!("and {} with the flattest", named(latest)),
        );
        let words = format!(
            "where the line through the medians with this slope reaches {}, {} after the start; {} with the steepest slope of the interval {latest}. An estimate, if it goes on as it did; nothing is said beyond {}, as long again as it was watched",
            show::quantity_to(
                leaves.bound,
                self.decimals(measure).max(leaves.bound.scale().min(6)),
                self.unit(measure)
            ),
            day_words(leaves.day),
            named(leaves.earliest),
            day_words(drift.horizon()),
        );
        (Value::Text(date.to_string()), Working::new().text(words).source(SLOPE_SOURCE))
    }

    /// How the product stands, in words.
    pub fn standing_words(&self) -> String {
        let until = self.last_day().map_or_else(String::new, |day| format!(" until day {}", show::plain(day.floor())));
        match self.standing() {
            Standing::Outside => "outside the specification".to_owned(),
            Standing::Inside => format!("inside the specification{until}"),
            Standing::CannotTell => "the readings cannot tell".to_owned(),
            Standing::NotRested => "not final until it has rested".to_owned(),
            Standing::Unknown => "not known".to_owned(),
        }
    }

    /// What is stated of the preservation, in words.
    pub fn preservation_words(&self) -> String {
        let stated = &self.preservation;
        let word = stated.result.word();
        match (&stated.test, stated.result) {
            (Some(test), TestResult::NotTested) => format!("not tested by {test}"),
            (None, _) => word.to_owned(),
            (Some(test), _) => format!("{test}: {word}"),
        }
    }
}

impl Condition {
    /// The readings of a measure that are counted last and first, each with its day.
    pub fn last(&self, measure: Measure) -> Option<(Decimal, Decimal)> {
        self.rows.iter().rev().find_map(|row| Some((row.day, row.reading(measure)?.value)))
    }

    /// The first reading of a measure, with its day.
    pub fn first(&self, measure: Measure) -> Option<(Decimal, Decimal)> {
        self.rows.iter().find_map(|row| Some((row.day, row.reading(measure)?.value)))
    }

    /// The drift of a measure, or why there is none.
    pub fn drift(&self, measure: Measure) -> Option<&Result<Drift, NoDrift>> {
        self.drifts.iter().find(|(known, _)| *known == measure).map(|(_, drift)| drift)
    }
}

/// "4 weeks, in room and warm".
fn next_words(due: &Due) -> String {
    format!("{}, in {}", due.check, due.conditions.join(", "))
}

/// Why there is no drift, in words.
pub(crate) fn no_drift_words(why: NoDrift) -> String {
    match why {
        NoDrift::TooFew(count) => {
            format!("a drift takes readings on {LEAST_READINGS} days at least, and there are {count}")
        }
        NoDrift::TooShort(days) => {
            format!(
                "a drift takes {} days at least, and this was watched for {}",
                show::plain(LEAST_DAYS),
                show::plain(days.round_dp(1))
            )
        }
    }
}

fn day_words(day: Decimal) -> String {
    let day = day.floor();
    if day == Decimal::ONE { "1 day".to_owned() } else { format!("{} days", show::plain(day)) }
}

fn days_value(days: Decimal) -> Value {
    Value::Quantity { value: days, decimals: days.normalize().scale().min(1), unit: "d" }
}
