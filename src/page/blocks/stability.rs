//! A stability log as its template sees it, and its plots.

use super::super::context::{Hrefs, NumberContext, number_context};
use super::super::text::kept_together;
use crate::block::ReadingOf;
use crate::compute::{Check, CheckState, Condition, Fit, Measure, SeenRow, Stability, Standing, no_drift_words};
use crate::page::chart::{PlotTarget, Series, SeriesPlot};
use crate::quantity::{Date, Decimal, MassUnit, show};
use serde::Serialize;
use std::collections::BTreeMap;

/// The part of the context `b` that belongs to a stability log.
#[derive(Debug, Serialize)]
pub(super) struct StabilityContext {
    title: String,
    of: String,
    href: String,
    record: bool,
    start: String,
    ended: String,
    packaging: String,
    rest: String,
    standing: &'static str,
    status: NumberContext,
    preservation: NumberContext,
    preservation_date: String,
    preservation_note: String,
    specification: Vec<SpecifiedContext>,
    measured: Vec<SpecifiedContext>,
    conditions: Vec<ConditionContext>,
    due: Vec<DueContext>,
    captions: BTreeMap<&'static str, String>,
    #[serde(skip)]
    plots: BTreeMap<&'static str, SeriesPlot>,
}

/// Something with its words: what is specified, how it was measured.
#[derive(Debug, Serialize)]
struct SpecifiedContext {
    name: &'static str,
    text: String,
}

#[derive(Debug, Serialize)]
struct ConditionContext {
    key: String,
    is: String,
    columns: Vec<String>,
    seen: bool,
    rows: Vec<RowContext>,
    checks: Vec<CheckContext>,
    standings: Vec<StandingContext>,
    drifts: Vec<DriftContext>,
}

#[derive(Debug, Serialize)]
struct RowContext {
    day: String,
    date: String,
    rested: bool,
    outside: bool,
    cells: Vec<CellContext>,
    seen: Vec<SeenContext>,
    note: String,
}

/// A reading in its column, text "" where there was none.
#[derive(Debug, Default, Serialize)]
struct CellContext {
    text: String,
    fit: &'static str,
}

#[derive(Debug, Serialize)]
struct SeenContext {
    name: &'static str,
    words: String,
    fit: &'static str,
}

#[derive(Debug, Serialize)]
struct CheckContext {
    text: String,
    date: String,
    state: String,
    made: bool,
}

/// The checks that stand alike, in words.
#[derive(Debug, Serialize)]
struct StandingContext {
    title: &'static str,
    texts: Vec<String>,
}

#[derive(Debug, Serialize)]
struct DriftContext {
    name: &'static str,
    seen: bool,
    number: Option<NumberContext>,
    leaves: Option<NumberContext>,
    bound: String,
    words: String,
}

#[derive(Debug, Serialize)]
struct DueContext {
    date: String,
    day: String,
    check: String,
    conditions: Vec<String>,
}

impl StabilityContext {
    /// Its plots.
    pub(super) fn charts(&self, group: &str) -> BTreeMap<&'static str, String> {
        let plots = self.plots.iter();
        plots.filter_map(|(name, plot)| Some((*name, plot.svg(&format!("{group}-{name}"))?))).collect()
    }
}

/// The name of a measure's plot.
fn plot_name(measure: Measure) -> &'static str {
    match measure {
        Measure::Ph => "ph",
        Measure::Viscosity => "viscosity",
        Measure::WeightChange => "weight",
    }
}

fn fit_word(fit: Fit) -> &'static str {
    match fit {
        Fit::Inside => "inside",
        Fit::Outside => "outside",
        Fit::CannotTell => "cannot tell",
        Fit::NotRested => "not rested",
        Fit::Unspecified => "",
    }
}

fn dated(date: Option<Date>) -> String {
    date.map_or_else(String::new, |date| date.to_string())
}

fn day_text(day: Decimal) -> String {
    show::plain(day.round_dp(1))
}

/// A number of a measure with its unit, a change with its sign.
fn measured(log: &Stability, measure: Measure, value: Decimal) -> String {
    let decimals = log.decimals(measure);
    if measure == Measure::WeightChange {
        return format!("{}{}%", show::signed(value, Some(decimals)), show::NBSP);
    }
    show::quantity_to(value, decimals, log.unit(measure))
}

/// What is specified of a measure, or "".
fn allowed(log: &Stability, measure: Measure) -> String {
    match log.window(measure) {
        (Some(_), Some(most)) if measure == Measure::WeightChange => {
            format!("at most {} either way", show::percent(most))
        }
        (Some(least), Some(most)) if log.unit(measure).is_empty() => show::ends(least, most),
        (Some(least), Some(most)) => format!("{}{}{}", show::ends(least, most), show::NBSP, log.unit(measure)),
        _ => String::new(),
    }
}

pub(super) fn context(log: &Stability, id: &str, hrefs: Hrefs<'_>) -> StabilityContext {
    let figure =
        |path: &[&str]| log.look_up(id, path).and_then(Result::ok).map(|figure| number_context(&figure, None, None));
    let mut plots = BTreeMap::new();
    for measure in Measure::ALL {
        plots.extend(plot(log, measure).map(|plot| (plot_name(measure), plot)));
    }
    StabilityContext {
        title: log.title.clone(),
        of: log.of.clone(),
        href: (hrefs.sheet)(&log.of),
        record: log.is_record,
        start: dated(log.start),
        ended: dated(log.ended),
        packaging: log.packaging.as_deref().map(kept_together).unwrap_or_default().into_owned(),
        rest: log.rest.as_ref().map_or_else(String::new, |rest| kept_together(&rest.text).into_owned()),
        standing: match log.standing() {
            Standing::Outside => "outside",
            Standing::Inside => "inside",
            Standing::CannotTell => "cannot tell",
            Standing::NotRested => "not rested",
            Standing::Unknown => "",
        },
        status: figure(&["status"]).unwrap_or_else(NumberContext::empty),
        preservation: figure(&["preservation"]).unwrap_or_else(NumberContext::empty),
        preservation_date: dated(log.preservation.date),
        preservation_note: log.preservation.note.clone().unwrap_or_default(),
        specification: specification(log),
        measured: how_measured(log),
        conditions: log.conditions.iter().map(|one| condition(log, one, &figure)).collect(),
        due: log
            .due()
            .into_iter()
            .map(|due| DueContext {
                date: dated(due.date),
                day: day_text(due.day),
                check: due.check,
                conditions: due.conditions,
            })
            .collect(),
        captions: plots.iter().map(|(name, plot)| (*name, plot.title.clone())).collect(),
        plots,
    }
}

fn specification(log: &Stability) -> Vec<SpecifiedContext> {
    let measures = Measure::ALL.map(|measure| (measure.words(), allowed(log, measure)));
    let spec = &log.specification;
    let words = [("colour", &spec.colour), ("odour", &spec.odour), ("separation", &spec.separation)];
    let words = words.map(|(name, words)| (name, words.join(" or ")));
    let all = measures.into_iter().chain(words).filter(|(_, text)| !text.is_empty());
    all.map(|(name, text)| SpecifiedContext { name, text }).collect()
}

fn how_measured(log: &Stability) -> Vec<SpecifiedContext> {
    let how = &log.measured;
    let mut parts: Vec<String> = Vec::new();
    parts.extend(how.reading.map(|reading| match reading {
        ReadingOf::Neat => "neat".to_owned(),
        ReadingOf::Diluted { product, water } if product.grams() + water.grams() == Decimal::ONE_HUNDRED => {
            format!("{} dilution", show::percent(product.grams().normalize()))
        }
        ReadingOf::Diluted { product, water } => {
            format!("{} in {} of water", show::grams(product), show::grams(water))
        }
    }));
    parts.extend(how.with.clone());
    parts.extend(how.resolution.map(|step| format!("in steps of {}", show::plain(step))));
    let ph = (!parts.is_empty()).then(|| SpecifiedContext { name: "pH", text: parts.join(", ") });
    let viscosity =
        how.viscosity.as_ref().map(|how| SpecifiedContext { name: "viscosity", text: kept_together(how).into_owned() });
    ph.into_iter().chain(viscosity).collect()
}

fn condition(log: &Stability, one: &Condition, figure: &dyn Fn(&[&str]) -> Option<NumberContext>) -> ConditionContext {
    let read: Vec<Measure> =
        Measure::ALL.into_iter().filter(|measure| one.rows.iter().any(|row| row.reading(*measure).is_some())).collect();
    let columns = read.iter().map(|measure| match measure {
        Measure::Ph => "pH".to_owned(),
        Measure::Viscosity => "Viscosity".to_owned(),
        Measure::WeightChange => "Weight".to_owned(),
    });
    let drifts = one.drifts.iter().map(|(measure, drift)| {
        let key = measure.key();
        DriftContext {
            name: measure.words(),
            seen: drift.as_ref().is_ok_and(|drift| drift.is_seen),
            number: figure(&[&one.key, key, "drift"]),
            leaves: figure(&[&one.key, key, "leaves"]),
            bound: drift.as_ref().ok().and_then(|drift| drift.leaves.as_ref()).map_or_else(String::new, |leaves| {
                show::quantity_to(leaves.bound, leaves.bound.scale(), log.unit(*measure)).replace('-', "\u{2212}")
            }),
            words: drift.as_ref().err().map_or_else(String::new, |why| no_drift_words(*why)),
        }
    });
    ConditionContext {
        key: one.key.clone(),
        is: kept_together(&one.is).into_owned(),
        columns: columns.collect(),
        seen: one.rows.iter().any(|row| !row.seen.is_empty() || row.note.is_some()),
        rows: one.rows.iter().map(|row| row_context(log, row, &read)).collect(),
        checks: one.checks.iter().map(check_context).collect(),
        standings: standings(&one.checks),
        drifts: drifts.collect(),
    }
}

fn row_context(log: &Stability, row: &SeenRow, read: &[Measure]) -> RowContext {
    let cells = read.iter().map(|measure| {
        let Some(reading) = row.reading(*measure) else { return CellContext::default() };
        let change = measured(log, *measure, reading.value);
        let text = match (measure, row.weight) {
            (Measure::WeightChange, Some(weight)) => {
                let weight = show::mass_in(weight, MassUnit::Gram, weight.grams().normalize().scale().min(4));
                if reading.value.is_zero() { weight } else { format!("{weight} ({change})") }
            }
            _ => change,
        };
        CellContext { text, fit: fit_word(reading.fit) }
    });
    RowContext {
        day: day_text(row.day),
        date: dated(row.date),
        rested: row.is_rested,
        outside: row
            .readings
            .iter()
            .map(|one| one.fit)
            .chain(row.seen.iter().map(|one| one.fit))
            .any(|fit| fit == Fit::Outside),
        cells: cells.collect(),
        seen: row
            .seen
            .iter()
            .map(|one| SeenContext { name: one.look.words(), words: one.words.clone(), fit: fit_word(one.fit) })
            .collect(),
        note: row.note.as_deref().map(kept_together).unwrap_or_default().into_owned(),
    }
}

/// What became of the checks: those that were made first, those to come last.
fn standings(checks: &[Check]) -> Vec<StandingContext> {
    let such = |title: &'static str, is_such: fn(CheckState) -> bool| {
        let text = |check: &Check| {
            let text = kept_together(&check.text).into_owned();
            match check.state {
                CheckState::Made(day) if day != check.day => format!("{text} (on day {})", day_text(day)),
                _ => text,
            }
        };
        let texts: Vec<String> = checks.iter().filter(|check| is_such(check.state)).map(text).collect();
        (!texts.is_empty()).then_some(StandingContext { title, texts })
    };
    [
        such("Checks made", |state| matches!(state, CheckState::Made(_))),
        such("Not made", |state| state == CheckState::PassedOver),
        such("Ended before", |state| state == CheckState::Ended),
        such("To come", |state| state == CheckState::Open),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn check_context(check: &Check) -> CheckContext {
    CheckContext {
        text: kept_together(&check.text).into_owned(),
        date: dated(check.date),
        state: match check.state {
            CheckState::Made(day) if day == check.day => "made".to_owned(),
            CheckState::Made(day) => format!("made on day {}", day_text(day)),
            CheckState::PassedOver => "not made".to_owned(),
            CheckState::Ended => "ended before".to_owned(),
            CheckState::Open => "to come".to_owned(),
        },
        made: matches!(check.state, CheckState::Made(_)),
    }
}

/// The plot of a measure; none where it was read at one time only, or never.
fn plot(log: &Stability, measure: Measure) -> Option<SeriesPlot> {
    let series: Vec<Series> = log
        .conditions
        .iter()
        .enumerate()
        .map(|(form, one)| Series {
            label: one.key.clone(),
            form,
            points: one
                .rows
                .iter()
                // What was read before it had rested is no part of what became of it.
                .filter(|row| row.is_rested)
                .filter_map(|row| row.reading(measure).map(|read| (row.day, read.value, read.fit == Fit::Outside)))
                .collect(),
        })
        .filter(|one| one.points.len() > 1)
        .collect();
    if series.is_empty() {
        return None;
    }
    let window = match log.window(measure) {
        (Some(low), Some(high)) => Some(PlotTarget { low, high, label: "specification".to_owned() }),
        _ => None,
    };
    let unit = log.unit(measure);
    let name = match measure {
        Measure::Ph => "pH".to_owned(),
        Measure::Viscosity => format!("viscosity, {unit}"),
        Measure::WeightChange => "weight change, %".to_owned(),
    };
    Some(SeriesPlot { title: caption(log, measure, &series), axes: ("days".to_owned(), name), series, window })
}

/// What a plot shows, in sentences.
fn caption(log: &Stability, measure: Measure, series: &[Series]) -> String {
    let value = |value: Decimal| measured(log, measure, value);
    let name = match measure {
        Measure::Ph => "The pH",
        Measure::Viscosity => "The viscosity",
        Measure::WeightChange => "The change of weight",
    };
    let told = series.iter().filter_map(|one| {
        let ((_, first, _), (last_day, last, _)) = (one.points.first()?, one.points.last()?);
        let out = one.points.iter().find(|point| point.2);
        let outside = out.map_or_else(String::new, |(day, _, _)| format!(", outside from day {}", day_text(*day)));
        Some(format!("{} {} to {} on day {}{outside}", one.label, value(*first), value(*last), day_text(*last_day)))
    });
    let told: Vec<String> = told.collect();
    let specified = allowed(log, measure);
    let specified = if specified.is_empty() { String::new() } else { format!(" The specification is {specified}.") };
    format!("{name} over time: {}.{specified}", told.join("; "))
}
