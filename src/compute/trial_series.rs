//! Formulas that were tried one after another: each beside what it was made from, with what was measured of it.
//!
//! What a trial changed is what a comparison of the two formulas finds; nothing is reckoned here a second time.

mod figures;

use super::{BatchRecord, Comparison, Computed, Step, ends_of};
use crate::block::{TrialReading, TrialSeriesBlock};
use crate::quantity::{Date, Decimal, Ph, Range, read_decimal, show, split_number};
use std::collections::{BTreeMap, BTreeSet};

/// The name under which a pH stands among the measured values.
const PH: &str = "ph";
/// The name under which the viscosity of a batch record stands among them.
const VISCOSITY: &str = "viscosity";

/// A series of trials.
#[derive(Clone, Debug)]
pub struct TrialSeries {
    /// What it is to find out.
    pub question: Option<String>,
    /// The formula that trials start from.
    pub base: Option<String>,
    /// What was measured, a column for each.
    pub columns: Vec<Column>,
    /// The trials in the order written.
    pub trials: Vec<Trial>,
    /// The raw material whose amount alone differs over three trials or more.
    pub varied: Option<Varied>,
    /// What was chosen.
    pub choice: Option<Choice>,
}

/// Something that was measured.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name as written, "viscosity".
    pub name: String,
    /// Its unit, or empty.
    pub unit: String,
    /// What it should be.
    pub wanted: Option<Bounds>,
}

/// From where to where a value should lie; an end that is not said is open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bounds {
    /// Its lower end.
    pub low: Option<Decimal>,
    /// Its upper end.
    pub high: Option<Decimal>,
}

/// A trial.
#[derive(Clone, Debug)]
pub struct Trial {
    /// The id of its formula.
    pub id: String,
    /// It beside what it was made from, which is the first side; nothing where the series starts with it.
    pub against: Option<Comparison>,
    /// Its batch record.
    pub record: Option<String>,
    /// The day.
    pub date: Option<Date>,
    /// The day of its record.
    pub made: Option<Date>,
    /// What was changed, in the author's words.
    pub changed: Option<String>,
    /// What was seen.
    pub observed: Option<String>,
    /// What was measured, one for each column.
    pub readings: Vec<Option<Range>>,
    /// The pH specification of its formula.
    pub ph: Option<Bounds>,
    /// What the trial measured itself and its record read otherwise.
    pub differs: Vec<Differs>,
}

/// A value of a trial that is not the one in its record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Differs {
    /// Its name.
    pub name: String,
    /// Its unit, or empty.
    pub unit: String,
    /// What the trial says.
    pub own: Range,
    /// What the record says.
    pub of_record: Range,
}

/// A raw material with its share in each trial, %.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Varied {
    /// Its id.
    pub material: String,
    /// Its name.
    pub name: String,
    /// Its shares in the order of the trials; a formula that does not hold it has 0 %. Nothing of a trial in which something else differs too.
    pub shares: Vec<Option<Decimal>>,
}

/// What was chosen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// The trial, by its index.
    pub trial: usize,
    /// Why.
    pub reason: Option<String>,
    /// The day.
    pub date: Option<Date>,
}

/// How a value misses what is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Outside {
    /// Whether it lies below; above otherwise.
    pub is_below: bool,
    /// Whether all of it does; a span may lie on both sides of an end.
    pub is_whole: bool,
    /// The end that it misses.
    pub end: Decimal,
}

/// What the collection knows of a trial.
#[derive(Clone, Debug)]
pub struct Tried<'a> {
    /// Its formula.
    pub computed: &'a Computed,
    /// It beside what it was made from.
    pub against: Option<Comparison>,
    /// Its batch record.
    pub record: Option<&'a BatchRecord>,
}

/// Why there is no series.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TrialFault {
    /// The choice names no trial.
    NotTried,
    /// The viscosity that the record of a trial reads is in another unit than the column: the trial, its unit, and the column's.
    OtherUnit(usize, String, String),
}

impl TrialSeries {
    /// A series of what was tried, in the order of the block.
    ///
    /// # Errors
    /// Everything that stands against it.
    pub fn of(block: &TrialSeriesBlock, tried: Vec<Tried<'_>>) -> Result<TrialSeries, Vec<TrialFault>> {
        let mut faults = Vec::new();
        let mut columns: Vec<Column> = Vec::new();
        for one in &block.wanted {
            let wanted = Some(Bounds { low: one.low, high: one.high });
            columns.push(Column { name: one.name.value.clone(), unit: one.unit.clone(), wanted });
        }
        for one in block.trials.iter().flat_map(|trial| &trial.measured) {
            column_of(&mut columns, &one.name.value, &one.unit);
        }
        let of_records: Vec<Vec<(String, String, Range)>> = tried
            .iter()
            .zip(&block.trials)
            .map(|(tried, written)| tried.record.map(|record| read_in(record, &written.measured)).unwrap_or_default())
            .collect();
        for (index, (name, unit, _)) in
            of_records.iter().enumerate().flat_map(|(index, read)| read.iter().map(move |one| (index, one)))
        {
            let column = column_of(&mut columns, name, unit);
            if column.unit != *unit {
                faults.push(TrialFault::OtherUnit(index, unit.clone(), column.unit.clone()));
            }
        }
        let choice = block.choice.as_ref().and_then(|choice| {
            let trial = block.trials.iter().position(|trial| trial.formula.value == choice.trial.value);
            if trial.is_none() {
                faults.push(TrialFault::NotTried);
            }
            let date = choice.date.as_ref().map(|date| date.value);
            Some(Choice { trial: trial?, reason: choice.reason.clone(), date })
        });
        if !faults.is_empty() {
            return Err(faults);
        }
        let varied = varied(&tried.iter().map(|tried| tried.computed).collect::<Vec<_>>());
        let trials = tried.into_iter().zip(&block.trials).zip(of_records).map(|((tried, written), of_record)| {
            let reading = |column: &Column| {
                let own = written.measured.iter().find(|one| one.name.value == column.name);
                let range = own.and_then(|own| Some(Range::new(own.low?, own.high?, None)));
                range.or_else(|| of_record.iter().find(|(name, ..)| *name == column.name).map(|(.., range)| *range))
            };
            let ph = tried.computed.formula.ph;
            Trial {
                id: tried.computed.formula.id.clone(),
                against: tried.against,
                record: tried.record.and(written.record.as_ref()).map(|record| record.value.clone()),
                date: written.date.as_ref().map(|date| date.value).or_else(|| tried.record?.date),
                made: tried.record.and_then(|record| record.date),
                changed: written.changed.clone(),
                observed: written.observed.clone(),
                readings: columns.iter().map(reading).collect(),
                ph: ph.map(|ph| Bounds { low: Some(ph.low.value()), high: Some(ph.high.value()) }),
                differs: tried.record.map(|record| differences(record, &written.measured)).unwrap_or_default(),
            }
        });
        Ok(TrialSeries {
            question: block.question.clone(),
            base: block.base.as_ref().map(|base| base.value.clone()),
            trials: trials.collect(),
            columns,
            varied,
            choice,
        })
    }

    /// The trial that was chosen.
    pub fn chosen(&self) -> Option<&Trial> {
        self.trials.get(self.choice.as_ref()?.trial)
    }

    /// What a column should be in a trial: what the series wants, otherwise the pH specification of the formula.
    pub fn wanted(&self, trial: &Trial, column: &Column) -> Option<Bounds> {
        column.wanted.or_else(|| trial.ph.filter(|_| column.name == PH))
    }
}

impl Trial {
    /// What changed from what it was made from.
    pub fn step(&self) -> Option<&Step> {
        self.against.as_ref()?.steps.first()
    }

    /// The id of what it was made from.
    pub fn from(&self) -> Option<&str> {
        Some(self.against.as_ref()?.sides.first()?.id.as_str())
    }

    /// Whether anything was noted of it.
    pub fn is_observed(&self) -> bool {
        self.observed.is_some() || self.readings.iter().any(Option::is_some)
    }
}

impl Column {
    /// Its name in words.
    pub fn title(&self) -> String {
        if self.name == PH { "pH".to_owned() } else { self.name.replace('-', " ") }
    }

    /// A value with its unit, with the digits that were read.
    pub fn text(&self, range: Range) -> String {
        show::quantity_range(range, decimals(range), &self.unit)
    }
}

impl Bounds {
    /// How a value misses them; the lower end first, where it misses both.
    pub fn missed_by(self, range: Range) -> Option<Outside> {
        let below = self.low.filter(|low| range.low < *low).map(|end| Outside {
            is_below: true,
            is_whole: range.high < end,
            end,
        });
        let above = || self.high.filter(|high| *high < range.high);
        below.or_else(|| above().map(|end| Outside { is_below: false, is_whole: end < range.low, end }))
    }
}

/// The digits with which a value was read.
fn decimals(range: Range) -> u32 {
    range.low.scale().max(range.high.scale())
}

fn column_of<'c>(columns: &'c mut Vec<Column>, name: &str, unit: &str) -> &'c mut Column {
    let index = columns.iter().position(|column| column.name == name).unwrap_or_else(|| {
        columns.push(Column { name: name.to_owned(), unit: unit.to_owned(), wanted: None });
        columns.len() - 1
    });
    // The index was found or has just been made.
    #[expect(clippy::indexing_slicing, reason = "see above")]
    &mut columns[index]
}

/// What a trial measured and its record read otherwise, each with the step of the meter. What is in another unit is not compared.
fn differences(record: &BatchRecord, own: &[TrialReading]) -> Vec<Differs> {
    let mut differs = Vec::new();
    for (name, unit, read) in last_readings(record) {
        let ends = record.last_ph().filter(|_| name == PH).and_then(ends_of);
        let of_record = ends.map_or(read, |(low, high)| Range::new(low, high, None));
        let one = own.iter().find(|one| one.name.value == name && one.unit == unit);
        let Some(own) = one.and_then(|one| Some(Range::new(one.low?, one.high?, None))) else { continue };
        if own.high < of_record.low || of_record.high < own.low {
            differs.push(Differs { name, unit, own, of_record: read });
        }
    }
    differs
}

/// The last readings of a record that the trial does not measure itself: name, unit and value.
fn read_in(record: &BatchRecord, own: &[TrialReading]) -> Vec<(String, String, Range)> {
    let is_own = |name: &str| own.iter().any(|one| one.name.value == name);
    last_readings(record).into_iter().filter(|(name, ..)| !is_own(name)).collect()
}

/// The last pH and the last viscosity of a record.
fn last_readings(record: &BatchRecord) -> Vec<(String, String, Range)> {
    let ph =
        record.last_ph().map(|reading| (PH.to_owned(), String::new(), Range::exactly(Ph::value(reading.ph.value))));
    let viscosity = record.viscosity.last().and_then(|reading| {
        let (number, unit) = split_number(&reading.value);
        Some((VISCOSITY.to_owned(), unit.to_owned(), Range::exactly(read_decimal(number).ok()?)))
    });
    ph.into_iter().chain(viscosity).collect()
}

/// How many trials make a row that says something.
const LEAST_VARIED: usize = 3;

/// The raw material of which most trials hold different amounts while all the others stay. What takes the rest or is dosed to effect follows the others, and is none.
fn varied(trials: &[&Computed]) -> Option<Varied> {
    let lines = || trials.iter().flat_map(|one| one.formula.lines());
    let follows: BTreeSet<&str> =
        lines().filter(|line| line.is_balance || line.effect.is_some()).map(|line| line.material.id.as_str()).collect();
    let shares = |one: &&Computed| {
        let mut shares: BTreeMap<String, Decimal> = BTreeMap::new();
        for line in one.formula.lines().filter(|line| !follows.contains(line.material.id.as_str())) {
            *shares.entry(line.material.id.clone()).or_default() += one.formula.percent(line).value();
        }
        shares
    };
    let shares: Vec<BTreeMap<String, Decimal>> = trials.iter().map(shares).collect();
    let mut best: Option<(usize, Varied)> = None;
    let mut seen = BTreeSet::new();
    for material in lines().map(|line| &line.material).filter(|material| seen.insert(material.id.as_str())) {
        let share_of = |one: &BTreeMap<String, Decimal>| one.get(&material.id).copied().unwrap_or_default();
        let others = |one: &BTreeMap<String, Decimal>| {
            let mut others = one.clone();
            others.remove(&material.id);
            others
        };
        for first in &shares {
            let is_alike = |one: &&BTreeMap<String, Decimal>| others(one) == others(first);
            let n_amounts = shares.iter().filter(is_alike).map(share_of).collect::<BTreeSet<_>>().len();
            if n_amounts >= LEAST_VARIED && best.as_ref().is_none_or(|(most, _)| *most < n_amounts) {
                let shares = shares.iter().map(|one| is_alike(&one).then(|| share_of(one))).collect();
                let found = Varied { material: material.id.clone(), name: material.name.clone(), shares };
                best = Some((n_amounts, found));
            }
        }
    }
    best.map(|(_, varied)| varied)
}
