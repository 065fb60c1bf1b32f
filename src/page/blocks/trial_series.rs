//! A series of trials as its template sees it.

use super::super::chart::{Plot, PlotPoint, PlotTarget};
use super::super::comparison::{COST_OF_BATCH, measures};
use super::super::context::{NumberContext, number_context};
use crate::caution::{miss_words, wanted_words};
use crate::compute::{Bounds, Column, Comparison, Trial, TrialSeries};
use crate::quantity::{Decimal, Range, show};
use crate::report::capital;
use serde::Serialize;
use std::collections::BTreeMap;

/// The part of the context `b` that belongs to a series of trials.
#[derive(Debug, Serialize)]
pub(super) struct TrialSeriesContext {
    question: String,
    base: LinkContext,
    columns: Vec<ColumnContext>,
    trials: Vec<TrialContext>,
    choice: Option<ChoiceContext>,
    caption: String,
    #[serde(skip)]
    plot: Option<Plot>,
}

impl TrialSeriesContext {
    pub(super) fn charts(&self, group: &str) -> BTreeMap<&'static str, String> {
        let svg = self.plot.as_ref().and_then(|plot| plot.svg(&format!("{group}-against")));
        svg.map(|svg| ("against", svg)).into_iter().collect()
    }
}

/// A formula or record; its address is empty where there is none.
#[derive(Debug, Serialize)]
struct LinkContext {
    id: String,
    href: String,
}

/// Something that was measured.
#[derive(Debug, Serialize)]
struct ColumnContext {
    name: String,
    title: String,
    unit: String,
    wanted: String,
}

#[derive(Debug, Serialize)]
struct TrialContext {
    id: String,
    href: String,
    date: String,
    from: LinkContext,
    record: LinkContext,
    changes: Vec<String>,
    words: String,
    observed: String,
    chosen: bool,
    readings: Vec<Option<ReadingContext>>,
    moved: Vec<MovedContext>,
}

/// A measured value, and how it misses what is wanted.
#[derive(Debug, Serialize)]
struct ReadingContext {
    n: NumberContext,
    misses: String,
}

/// A figure that moved from what the trial was made from.
#[derive(Debug, Serialize)]
struct MovedContext {
    title: String,
    text: String,
    by: String,
    /// The number behind `by`, where it has an address.
    n: Option<NumberContext>,
}

#[derive(Debug, Serialize)]
struct ChoiceContext {
    trial: LinkContext,
    reason: String,
    date: String,
}

pub(super) fn context(series: &TrialSeries, id: &str, href_of: &dyn Fn(&str) -> String) -> TrialSeriesContext {
    let link = |id: Option<&str>| match id {
        Some(id) => LinkContext { id: id.to_owned(), href: href_of(id) },
        None => LinkContext { id: String::new(), href: String::new() },
    };
    let columns = series.columns.iter().map(|column| ColumnContext {
        name: column.name.clone(),
        title: column.title(),
        unit: column.unit.clone(),
        wanted: column.wanted.map_or_else(String::new, |wanted| wanted_words(wanted, column)),
    });
    let trials = series.trials.iter().map(|trial| TrialContext {
        id: trial.id.clone(),
        href: href_of(&trial.id),
        date: trial.date.map_or_else(String::new, |date| date.to_string()),
        from: link(trial.from()),
        record: link(trial.record.as_deref()),
        changes: trial.step().into_iter().flat_map(|step| &step.changes).map(|change| change.0.clone()).collect(),
        words: trial.changed.clone().unwrap_or_default(),
        observed: trial.observed.clone().unwrap_or_default(),
        chosen: series.chosen().is_some_and(|chosen| chosen.id == trial.id),
        readings: readings(series, trial, id),
        moved: trial.against.iter().flat_map(|against| moved(against, &format!("{id}/{}", trial.id))).collect(),
    });
    let plot = plot(series);
    TrialSeriesContext {
        question: series.question.clone().unwrap_or_default(),
        base: link(series.base.as_deref()),
        columns: columns.collect(),
        trials: trials.collect(),
        choice: series.choice.as_ref().map(|choice| ChoiceContext {
            trial: link(series.chosen().map(|trial| trial.id.as_str())),
            reason: choice.reason.clone().unwrap_or_default(),
            date: choice.date.map_or_else(String::new, |date| date.to_string()),
        }),
        caption: plot.as_ref().map_or_else(String::new, |plot| plot.title.clone()),
        plot,
    }
}

fn readings(series: &TrialSeries, trial: &Trial, id: &str) -> Vec<Option<ReadingContext>> {
    let one = |(column, reading): (&Column, &Option<Range>)| {
        let range = (*reading)?;
        let figure = series.look_up(id, &[&trial.id, "measured", &column.name])?.ok()?;
        let wanted = series.wanted(trial, column);
        let misses = wanted.map(|wanted| wanted.missed_by(range).map_or("inside", miss_words));
        let mut n = number_context(&figure, None, None);
        // The unit stands in the head of the column.
        n.text = n.text.trim_end_matches(column.unit.as_str()).trim_end().to_owned();
        Some(ReadingContext { n, misses: misses.unwrap_or_default().to_owned() })
    };
    series.columns.iter().zip(&trial.readings).map(one).collect()
}

/// What moved from what the trial was made from: the shares of raw materials that both hold, then what is said of the product as a whole.
fn moved(against: &Comparison, before: &str) -> Vec<MovedContext> {
    let number = |path: &str| {
        let figure = against.look_up(before, &path.split('/').collect::<Vec<_>>())?.ok()?;
        Some(number_context(&figure, None, None))
    };
    let rows = against.rows.iter().filter_map(|row| {
        let by = row.percent_difference(1).filter(|by| !by.is_zero())?;
        Some(MovedContext {
            title: row.name.clone(),
            text: row.cells.get(1)?.as_ref().map(|cell| show::percent(cell.percent))?,
            by: show::signed(by.normalize(), None),
            n: number(&format!("{}/percent-difference", row.material)),
        })
    });
    let whole = measures(against).into_iter().filter_map(|measure| {
        let cell = measure.cells.into_iter().nth(1)?;
        let has_address = !measure.differs_by.is_empty() && !cell.by.is_empty();
        Some(MovedContext {
            title: measure.title.to_owned(),
            text: cell.text,
            n: has_address.then(|| number(measure.differs_by)).flatten(),
            by: cell.by,
        })
    });
    // Of the whole batch nothing is told: trials are made in sizes of their own.
    rows.chain(whole.filter(|one| one.title != COST_OF_BATCH)).collect()
}

/// So many readings make a plot that says something.
const LEAST_POINTS: usize = 3;

/// What was measured against the amount of the one raw material that was varied: of what is wanted, otherwise of what was measured first.
fn plot(series: &TrialSeries) -> Option<Plot> {
    let varied = series.varied.as_ref()?;
    let points_of = |index: usize| -> Vec<(&Trial, Decimal, Range)> {
        let readings = series.trials.iter().zip(&varied.shares);
        readings.filter_map(|(trial, share)| Some((trial, (*share)?, (*trial.readings.get(index)?)?))).collect()
    };
    let has_points = |index: &usize| {
        let mut shares: Vec<Decimal> = points_of(*index).into_iter().map(|(_, share, _)| share).collect();
        shares.sort_unstable();
        shares.dedup();
        shares.len() >= LEAST_POINTS
    };
    let mut drawn: Vec<usize> = (0..series.columns.len()).filter(has_points).collect();
    drawn.sort_by_key(|index| series.columns.get(*index).is_none_or(|column| column.wanted.is_none()));
    let index = *drawn.first()?;
    let column = series.columns.get(index)?;
    let mut points = points_of(index);
    points.sort_by_key(|(_, share, _)| *share);
    let said: Vec<String> = points
        .iter()
        .map(|(_, share, range)| format!("{} at {}", column.text(*range), show::percent(*share)))
        .collect();
    let left_out: Vec<&str> = series
        .trials
        .iter()
        .zip(&varied.shares)
        .filter(|(trial, share)| share.is_none() && trial.readings.get(index).is_some_and(Option::is_some))
        .map(|(trial, _)| trial.id.as_str())
        .collect();
    let name = column.title();
    // A pH begins a sentence as it is.
    let name = if name == "pH" { name } else { capital(&name) };
    let mut title = format!("{name} against {}: {}.", varied.name, said.join(", "));
    if !left_out.is_empty() {
        title.push_str(&format!(" Left out, as something else changed too: {}.", left_out.join(", ")));
    }
    let chosen = series.chosen().and_then(|chosen| points.iter().find(|(trial, ..)| trial.id == chosen.id));
    Some(Plot {
        title,
        axes: (format!("{}, %", varied.name), super::curve::axis_title(&column.title(), &column.unit)),
        curve: None,
        named: chosen.map(|(_, share, range)| (*share, range.high, "chosen".to_owned())),
        targets: column.wanted.and_then(|wanted| target(wanted, column)).into_iter().collect(),
        rings: Vec::new(),
        points: points
            .iter()
            .map(|(_, share, range)| PlotPoint {
                x: *share,
                y: range.typical,
                ends: (!range.is_exact()).then_some((range.low, range.high)),
            })
            .collect(),
    })
}

/// What is wanted as a band, or as a line where only one end is said.
fn target(wanted: Bounds, column: &Column) -> Option<PlotTarget> {
    let (low, high) = (wanted.low.or(wanted.high)?, wanted.high.or(wanted.low)?);
    Some(PlotTarget { low, high, label: wanted_words(wanted, column) })
}
