//! What was seen of a product over time: each reading beside the specification, how fast a quantity drifts, and what is to be looked at next.
//!
//! There is no clock here. Which checks are open follows from the observations alone; whether a day has come is told by whoever knows the day.
//! A reading before the product has rested is shown and not judged. Nothing is reckoned from one condition to another: what happens at 40 °C says
//! nothing in numbers about what happens in a room.

mod checks;
mod drift;
mod figures;

use crate::block::{
    MeasuredBlock, ObservationBlock, Placed, PreservationBlock, SpecificationBlock, StabilityBlock, TestResult, When,
};
use crate::quantity::{Date, Decimal, Elapsed, Mass};
use crate::report::Place;
pub use checks::{Check, CheckState, Due};
pub use drift::{Drift, LEAST_DAYS, LEAST_READINGS, Leaves, NoDrift};
pub(crate) use figures::no_drift_words;
use rust_decimal::prelude::ToPrimitive;

/// A stability log worked out.
#[derive(Clone, Debug)]
pub struct Stability {
    /// The formula or batch record.
    pub of: String,
    /// What the author calls the log, or the title of the product.
    pub title: String,
    /// Whether it is a batch record.
    pub is_record: bool,
    /// The day from which time is counted.
    pub start: Option<Date>,
    /// The day on which it was ended.
    pub ended: Option<Date>,
    /// What the product stands in.
    pub packaging: Option<String>,
    /// How long it rests.
    pub rest: Option<Elapsed>,
    /// What it has to be; the pH is that of the formula where the block has none.
    pub specification: SpecificationBlock,
    /// Whether the pH is that of the formula.
    pub is_ph_of_formula: bool,
    /// How it was measured.
    pub measured: MeasuredBlock,
    /// The unit of the viscosities, or "".
    pub viscosity_unit: String,
    /// Each condition with what was seen in it.
    pub conditions: Vec<Condition>,
    /// What was tested of the preservation.
    pub preservation: PreservationBlock,
}

/// A condition with what was seen in it.
#[derive(Clone, Debug)]
pub struct Condition {
    /// Its name.
    pub key: String,
    /// What it is.
    pub is: String,
    /// What was seen, in the order of time.
    pub rows: Vec<Row>,
    /// When it is looked at.
    pub checks: Vec<Check>,
    /// How its quantities drift, those that were read at all.
    pub drifts: Vec<(Measure, Result<Drift, NoDrift>)>,
}

/// What is measured as a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Measure {
    /// The pH.
    Ph,
    /// The viscosity.
    Viscosity,
    /// By how much a pack has become lighter or heavier since it was first weighed there, %.
    WeightChange,
}

impl Measure {
    /// All of them.
    pub const ALL: [Measure; 3] = [Measure::Ph, Measure::Viscosity, Measure::WeightChange];

    /// As addresses name it.
    pub fn key(self) -> &'static str {
        match self {
            Measure::Ph => "ph",
            Measure::Viscosity => "viscosity",
            Measure::WeightChange => "weight-change",
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Measure::Ph => "pH",
            Measure::Viscosity => "viscosity",
            Measure::WeightChange => "weight change",
        }
    }
}

/// What is only looked at, smelt or told in words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// Colour.
    Colour,
    /// Odour.
    Odour,
    /// Separation.
    Separation,
}

impl Look {
    /// All of them.
    pub const ALL: [Look; 3] = [Look::Colour, Look::Odour, Look::Separation];

    /// In words, as the block names it.
    pub fn words(self) -> &'static str {
        match self {
            Look::Colour => "colour",
            Look::Odour => "odour",
            Look::Separation => "separation",
        }
    }
}

/// How something stands to the specification.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fit {
    /// Inside.
    Inside,
    /// Outside.
    Outside,
    /// The step of the reading does not tell.
    CannotTell,
    /// Nothing is specified.
    Unspecified,
    /// The product had not rested yet, so it is not judged.
    NotRested,
}

/// A number that was read.
#[derive(Clone, Debug)]
pub struct Reading {
    /// What.
    pub measure: Measure,
    /// The number.
    pub value: Decimal,
    /// How it stands to the specification.
    pub fit: Fit,
    /// Where it is written.
    pub place: Place,
}

/// Words for what was seen.
#[derive(Clone, Debug)]
pub struct Seen {
    /// Of what.
    pub look: Look,
    /// The words.
    pub words: String,
    /// How they stand to the specification.
    pub fit: Fit,
    /// Where they are written.
    pub place: Place,
}

/// What was seen at one time in one condition.
#[derive(Clone, Debug)]
pub struct Row {
    /// How many days after the start.
    pub day: Decimal,
    /// The date, where it is known.
    pub date: Option<Date>,
    /// Whether the product had rested.
    pub is_rested: bool,
    /// What was read.
    pub readings: Vec<Reading>,
    /// What the pack weighed.
    pub weight: Option<Mass>,
    /// What was seen.
    pub seen: Vec<Seen>,
    /// A remark.
    pub note: Option<String>,
}

impl Row {
    /// A reading of it.
    pub fn reading(&self, measure: Measure) -> Option<&Reading> {
        self.readings.iter().find(|one| one.measure == measure)
    }
}

/// How the product as a whole stands, as far as it was seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Something lay outside of the specification.
    Outside,
    /// Everything that was read, or is specified in words, lay inside.
    Inside,
    /// What was read does not tell.
    CannotTell,
    /// It has not rested yet.
    NotRested,
    /// There is nothing to judge.
    Unknown,
}

/// Why there is no log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StabilityFault {
    /// An observation in a condition that is not named.
    NoCondition(Placed<String>),
    /// An observation or an end before the start.
    BeforeStart(Placed<Date>, Date),
    /// A date, and no start to count from.
    NoStart(Place),
    /// A weight that belongs to no pack in particular.
    WhosePack(Place),
    /// A viscosity in another unit than the ones before: its unit and theirs.
    OtherUnit(Place, String, String),
    /// A viscosity without a unit.
    NoUnit(Place),
}

/// The product that a log is about.
#[derive(Clone, Debug)]
pub struct Watched {
    /// Its title.
    pub title: String,
    /// Whether it is a batch record.
    pub is_record: bool,
    /// The day it was made.
    pub made: Option<Date>,
    /// The pH that the formula states.
    pub ph: Option<crate::block::PhSpan>,
}

impl Stability {
    /// Works out a log.
    ///
    /// # Errors
    /// Everything that stands against it.
    pub fn of(block: &StabilityBlock, watched: Watched) -> Result<Stability, Vec<StabilityFault>> {
        let mut faults = Vec::new();
        let start = block.start.as_ref().map(|start| start.value).or(watched.made);
        if let Some(ended) = &block.ended {
            match start {
                Some(start) if ended.value < start => faults.push(StabilityFault::BeforeStart(ended.clone(), start)),
                Some(_) => {}
                None => faults.push(StabilityFault::NoStart(ended.place.clone())),
            }
        }
        let mut specification = block.specification.clone();
        let is_ph_of_formula = specification.ph.is_none() && watched.ph.is_some();
        specification.ph = specification.ph.or(watched.ph);
        let viscosity_unit = unit_of(block, &mut faults);
        let rest = block.rest.as_ref().map(|rest| rest.value.clone());
        let rested_from = rest.as_ref().and_then(|rest| rest.days_after(start)).unwrap_or_default();
        let judge = Judge { specification: &specification, measured: &block.measured };
        let mut timed = Vec::new();
        for one in &block.observations {
            if let Some(name) = &one.condition
                && !block.conditions.iter().any(|known| known.key.value == name.value.trim())
            {
                faults.push(StabilityFault::NoCondition(name.clone()));
            }
            if let (None, Some(weight)) = (&one.condition, &one.weight) {
                faults.push(StabilityFault::WhosePack(weight.place.clone()));
            }
            timed.extend(time_of(one, start, &mut faults).map(|(day, date)| (day, date, one)));
        }
        // Those of one time keep the order in which they were written.
        timed.sort_by_key(|(day, _, _)| *day);
        for check in block
            .checks
            .iter()
            .chain(block.conditions.iter().filter_map(|one| one.checks.as_ref()).flatten())
            .chain(&block.rest)
        {
            if check.value.days_after(start).is_none() {
                faults.push(StabilityFault::NoStart(check.place.clone()));
            }
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let ended = block.ended.as_ref().map(|ended| ended.value);
        let conditions = block
            .conditions
            .iter()
            .map(|condition| {
                let is_here = |one: &ObservationBlock| {
                    one.condition.as_ref().is_none_or(|name| name.value.trim() == condition.key.value)
                };
                let here = || timed.iter().filter(|(_, _, one)| is_here(one));
                let first = here().find_map(|(_, _, one)| one.weight.as_ref()).map(|weight| weight.value);
                let rows: Vec<Row> =
                    here().map(|(day, date, one)| judge.row(one, (*day, *date), first, *day >= rested_from)).collect();
                let wanted = condition.checks.as_ref().unwrap_or(&block.checks);
                let checks = checks::of(wanted, &rows, start, ended);
                let drifts = drift::of(&rows, &specification, start);
                Condition { key: condition.key.value.clone(), is: condition.is.clone(), rows, checks, drifts }
            })
            .collect();
        let untested = PreservationBlock { test: None, result: TestResult::NotTested, date: None, note: None };
        Ok(Stability {
            of: block.of.value.clone(),
            title: block.title.clone().unwrap_or(watched.title),
            is_record: watched.is_record,
            start,
            ended,
            packaging: block.packaging.clone(),
            rest,
            specification,
            is_ph_of_formula,
            measured: block.measured.clone(),
            viscosity_unit,
            conditions,
            preservation: block.preservation.clone().unwrap_or(untested),
        })
    }

    /// How the product stands, as far as it was seen.
    pub fn standing(&self) -> Standing {
        let rows = || self.conditions.iter().flat_map(|one| &one.rows);
        let fits =
            || rows().flat_map(|row| row.readings.iter().map(|one| one.fit).chain(row.seen.iter().map(|one| one.fit)));
        let any = |wanted: Fit| fits().any(|fit| fit == wanted);
        if any(Fit::Outside) {
            Standing::Outside
        } else if any(Fit::CannotTell) {
            Standing::CannotTell
        } else if any(Fit::Inside) {
            Standing::Inside
        } else if rows().next().is_some() && rows().all(|row| !row.is_rested) {
            Standing::NotRested
        } else {
            Standing::Unknown
        }
    }

    /// The last day on which anything was seen.
    pub fn last_day(&self) -> Option<Decimal> {
        self.conditions.iter().flat_map(|one| &one.rows).map(|row| row.day).max()
    }

    /// A condition by its name.
    pub fn condition(&self, key: &str) -> Option<&Condition> {
        self.conditions.iter().find(|one| one.key == key)
    }

    /// The unit of a measure, or "".
    pub fn unit(&self, measure: Measure) -> &str {
        match measure {
            Measure::Ph => "",
            Measure::Viscosity => &self.viscosity_unit,
            Measure::WeightChange => "%",
        }
    }

    /// Decimals of a measure, as many as the readings have.
    pub fn decimals(&self, measure: Measure) -> u32 {
        match measure {
            Measure::WeightChange => 2,
            _ => {
                let values = self.conditions.iter().flat_map(|one| &one.rows).filter_map(|row| row.reading(measure));
                values.map(|one| one.value.scale()).max().unwrap_or_default()
            }
        }
    }

    /// From where to where a measure may go.
    pub fn window(&self, measure: Measure) -> (Option<Decimal>, Option<Decimal>) {
        window_of(&self.specification, measure)
    }
}

/// From where to where a measure may go.
fn window_of(specification: &SpecificationBlock, measure: Measure) -> (Option<Decimal>, Option<Decimal>) {
    match measure {
        Measure::Ph => (specification.ph.map(|ph| ph.low.value()), specification.ph.map(|ph| ph.high.value())),
        Measure::Viscosity => {
            let span = specification.viscosity.as_ref();
            (span.map(|(low, _, _)| *low), span.map(|(_, high, _)| *high))
        }
        Measure::WeightChange => {
            let most = specification.weight_change.map(|percent| percent.value());
            (most.map(|most| -most), most)
        }
    }
}

/// The days after the start, and the date.
fn time_of(
    one: &ObservationBlock,
    start: Option<Date>,
    faults: &mut Vec<StabilityFault>,
) -> Option<(Decimal, Option<Date>)> {
    match &one.when {
        When::On(date) => {
            let Some(start) = start else {
                faults.push(StabilityFault::NoStart(date.place.clone()));
                return None;
            };
            let days = date.value.days_since(start);
            if days < 0 {
                faults.push(StabilityFault::BeforeStart(date.clone(), start));
                return None;
            }
            Some((Decimal::from(days), Some(date.value)))
        }
        When::After(after) => {
            let Some(day) = after.value.days_after(start) else {
                faults.push(StabilityFault::NoStart(after.place.clone()));
                return None;
            };
            Some((day, start.and_then(|start| start.plus_days(day.floor().to_i64()?))))
        }
    }
}

/// The one unit of all viscosities.
fn unit_of(block: &StabilityBlock, faults: &mut Vec<StabilityFault>) -> String {
    let mut unit = block.specification.viscosity.as_ref().map(|(_, _, unit)| unit.clone());
    for one in block.observations.iter().filter_map(|one| one.viscosity.as_ref()) {
        let written = &one.value.1;
        match &unit {
            _ if written.is_empty() && unit.is_none() => faults.push(StabilityFault::NoUnit(one.place.clone())),
            Some(unit) if !written.is_empty() && written != unit => {
                faults.push(StabilityFault::OtherUnit(one.place.clone(), written.clone(), unit.clone()));
            }
            None => unit = Some(written.clone()),
            Some(_) => {}
        }
    }
    unit.unwrap_or_default()
}

/// Stands readings beside the specification.
struct Judge<'a> {
    specification: &'a SpecificationBlock,
    measured: &'a MeasuredBlock,
}

impl Judge<'_> {
    fn row(
        &self,
        one: &ObservationBlock,
        (day, date): (Decimal, Option<Date>),
        first: Option<Mass>,
        is_rested: bool,
    ) -> Row {
        let judged = |fit: Fit| if is_rested || fit == Fit::Unspecified { fit } else { Fit::NotRested };
        let change = one.weight.as_ref().zip(first).and_then(|(weight, first)| {
            let change = (weight.value - first).grams() * Decimal::ONE_HUNDRED;
            Some((change.checked_div(first.grams())?, &weight.place))
        });
        let numbers = [
            one.ph.as_ref().map(|ph| (Measure::Ph, ph.value, &ph.place)),
            one.viscosity.as_ref().map(|viscosity| (Measure::Viscosity, viscosity.value.0, &viscosity.place)),
            change.map(|(change, place)| (Measure::WeightChange, change, place)),
        ];
        let readings = numbers.into_iter().flatten().map(|(measure, value, place)| Reading {
            measure,
            value,
            fit: judged(self.number(measure, value)),
            place: place.clone(),
        });
        let looks = [(Look::Colour, &one.colour), (Look::Odour, &one.odour), (Look::Separation, &one.separation)];
        let seen = looks.into_iter().filter_map(|(look, words)| {
            let words = words.as_ref()?;
            let fit = judged(self.words(look, &words.value));
            Some(Seen { look, words: words.value.trim().to_owned(), fit, place: words.place.clone() })
        });
        Row {
            day,
            date,
            is_rested,
            readings: readings.collect(),
            weight: one.weight.as_ref().map(|weight| weight.value),
            seen: seen.collect(),
            note: one.note.clone(),
        }
    }

    fn number(&self, measure: Measure, value: Decimal) -> Fit {
        let (Some(least), Some(most)) = window_of(self.specification, measure) else { return Fit::Unspecified };
        let half = match measure {
            Measure::Ph => match self.step_of_ph(value) {
                Some(step) => step / Decimal::TWO,
                None => return Fit::CannotTell,
            },
            _ => Decimal::ZERO,
        };
        let (low, high) = (value - half, value + half);
        if high < least || most < low {
            Fit::Outside
        } else if (least <= low && high <= most) || (least == most && value == least) {
            Fit::Inside
        } else {
            Fit::CannotTell
        }
    }

    /// The step of a pH: as stated, or the last digit written. The digits of a strip say nothing.
    fn step_of_ph(&self, value: Decimal) -> Option<Decimal> {
        let is_strip = self.measured.with.as_deref().is_some_and(|with| with.to_lowercase().contains("strip"));
        self.measured.resolution.or_else(|| (!is_strip).then(|| Decimal::new(1, value.scale())))
    }

    fn words(&self, look: Look, words: &str) -> Fit {
        let allowed = match look {
            Look::Colour => &self.specification.colour,
            Look::Odour => &self.specification.odour,
            Look::Separation => &self.specification.separation,
        };
        if allowed.is_empty() {
            return Fit::Unspecified;
        }
        let plain = |text: &str| text.trim().to_lowercase();
        if allowed.iter().any(|one| plain(one) == plain(words)) { Fit::Inside } else { Fit::Outside }
    }
}
