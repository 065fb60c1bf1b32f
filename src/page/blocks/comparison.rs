//! Formulas side by side as their template sees them.

use super::super::comparison::{batch_words, cell_words, measures, order_words, within_words};
use super::super::context::{NumberContext, number_context};
use crate::block::ComparisonPart;
use crate::compute::{Comparison, Row, SideBySide, Step};
use crate::quantity::Decimal;
use crate::report::Finding;
use serde::Serialize;

/// The part of the context `b` that belongs to a comparison.
#[derive(Debug, Serialize)]
pub(super) struct ComparisonContext {
    formulas: Vec<FormulaContext>,
    batch: String,
    currency: &'static str,
    rows: Vec<RowContext>,
    unchanged: Vec<String>,
    measures: Vec<MeasureContext>,
    steps: Vec<StepContext>,
    show: Shown,
}

/// Which parts are shown.
#[derive(Debug, Serialize)]
struct Shown {
    lines: bool,
    product: bool,
    changes: bool,
    declaration: bool,
    findings: bool,
}

#[derive(Debug, Serialize)]
struct FormulaContext {
    id: String,
    title: String,
    href: String,
    version: String,
    check: String,
    made: String,
}

/// A raw material.
#[derive(Debug, Serialize)]
struct RowContext {
    material: String,
    name: String,
    unchanged: bool,
    cells: Vec<Option<CellContext>>,
}

#[derive(Debug, Serialize)]
struct CellContext {
    percent: String,
    weight: String,
    grams: String,
    phase: String,
    percent_by: Option<ByContext>,
    weight_by: Option<ByContext>,
}

/// A difference, with the sign that its number does not carry.
#[derive(Debug, Serialize)]
struct ByContext {
    sign: &'static str,
    n: NumberContext,
}

#[derive(Debug, Serialize)]
struct MeasureContext {
    title: &'static str,
    cells: Vec<MeasureCellContext>,
}

#[derive(Debug, Serialize)]
struct MeasureCellContext {
    text: String,
    by: String,
    /// The number behind `by`, where it has an address.
    n: Option<NumberContext>,
}

/// What changed from the first formula to another.
#[derive(Debug, Serialize)]
struct StepContext {
    id: String,
    title: String,
    changes: Vec<String>,
    within: String,
    declaration: Vec<String>,
    gained: Vec<FoundContext>,
    lost: Vec<FoundContext>,
    changed: Vec<FoundContext>,
}

#[derive(Debug, Serialize)]
struct FoundContext {
    severity: &'static str,
    name: &'static str,
    what: String,
    /// What it said before, where only its figures changed.
    was: String,
}

pub(super) fn context(answer: &SideBySide, id: &str, href_of: &dyn Fn(&str) -> String) -> ComparisonContext {
    let comparison = &answer.comparison;
    let shows = |part| answer.show.contains(&part);
    let (unchanged, changed): (Vec<&Row>, Vec<&Row>) = comparison.rows.iter().partition(|row| row.is_unchanged());
    let listed = if answer.unchanged { comparison.rows.iter().collect() } else { changed };
    ComparisonContext {
        formulas: comparison
            .sides
            .iter()
            .map(|side| FormulaContext {
                id: side.id.clone(),
                title: side.title.clone(),
                href: href_of(&side.id),
                version: side.version.clone().unwrap_or_default(),
                check: side.check.clone(),
                made: side.made.map(|date| date.to_string()).unwrap_or_default(),
            })
            .collect(),
        batch: batch_words(comparison),
        currency: match comparison.sides.iter().find_map(|side| side.cost.as_ref()) {
            Some(cost) if shows(ComparisonPart::Product) => cost.batch.currency().code(),
            _ => "",
        },
        rows: if shows(ComparisonPart::Lines) {
            listed.into_iter().map(|row| row_context(comparison, row, id)).collect()
        } else {
            Vec::new()
        },
        unchanged: unchanged.into_iter().filter(|_| !answer.unchanged).map(|row| row.name.clone()).collect(),
        measures: if shows(ComparisonPart::Product) { measure_contexts(comparison, id) } else { Vec::new() },
        steps: comparison
            .steps
            .iter()
            .zip(comparison.sides.iter().skip(1))
            // Batches of one formula have one title; then their ids tell them apart.
            .map(|(step, side)| {
                let is_same = comparison.sides.first().is_some_and(|first| first.title == side.title);
                step_context(step, &side.id, if is_same { &side.id } else { &side.title })
            })
            .collect(),
        show: Shown {
            lines: shows(ComparisonPart::Lines),
            product: shows(ComparisonPart::Product),
            changes: shows(ComparisonPart::Changes),
            declaration: shows(ComparisonPart::Declaration),
            findings: shows(ComparisonPart::Findings),
        },
    }
}

fn row_context(comparison: &Comparison, row: &Row, id: &str) -> RowContext {
    let by = |other: usize, last: &str, difference: Option<Decimal>| {
        let difference = difference.filter(|by| other > 0 && !by.is_zero())?;
        let path = format!("{}{}/{last}", comparison.before(other), row.material);
        let mut n = number(comparison, id, &path)?;
        // The sign for per cent would make a relative change of percentage points.
        n.text = n.text.trim_end_matches('%').trim_end().to_owned();
        let sign = match (n.text.starts_with('\u{2212}'), difference < Decimal::ZERO) {
            (true, _) => "",
            (false, true) => "\u{2212}",
            (false, false) => "+",
        };
        Some(ByContext { sign, n })
    };
    let cells = cell_words(row, comparison.decimals).into_iter().enumerate().map(|(other, cell)| {
        cell.map(|cell| CellContext {
            percent: cell.percent,
            weight: cell.weight,
            grams: cell.grams,
            phase: cell.phase,
            percent_by: by(other, "percent-difference", row.percent_difference(other)),
            weight_by: by(other, "weight-difference", row.weight_difference(other)),
        })
    });
    RowContext {
        material: row.material.clone(),
        name: row.name.clone(),
        unchanged: row.is_unchanged(),
        cells: cells.collect(),
    }
}

fn number(comparison: &Comparison, id: &str, path: &str) -> Option<NumberContext> {
    let path: Vec<&str> = path.split('/').collect();
    let figure = comparison.look_up(id, &path)?.ok()?;
    Some(number_context(&figure, None, None))
}

fn measure_contexts(comparison: &Comparison, id: &str) -> Vec<MeasureContext> {
    measures(comparison)
        .into_iter()
        .map(|measure| {
            let cells = measure.cells.into_iter().enumerate().map(|(other, cell)| {
                let has_address = !measure.differs_by.is_empty() && other > 0 && !cell.by.is_empty();
                let path = format!("{}{}", comparison.before(other), measure.differs_by);
                let n = has_address.then(|| number(comparison, id, &path)).flatten();
                MeasureCellContext { text: cell.text, by: cell.by, n }
            });
            MeasureContext { title: measure.title, cells: cells.collect() }
        })
        .collect()
}

fn step_context(step: &Step, id: &str, title: &str) -> StepContext {
    let found = |finding: &Finding, was: &str| FoundContext {
        severity: finding.severity().word(),
        name: finding.kind.name,
        what: finding.what.clone(),
        was: was.to_owned(),
    };
    StepContext {
        id: id.to_owned(),
        title: title.to_owned(),
        changes: step.changes.iter().map(|change| change.0.clone()).collect(),
        within: within_words(step).unwrap_or_default(),
        declaration: step.declaration.iter().map(order_words).collect(),
        gained: step.found.gained.iter().map(|finding| found(finding, "")).collect(),
        lost: step.found.lost.iter().map(|finding| found(finding, "")).collect(),
        changed: step.found.changed.iter().map(|(was, is)| found(is, &was.what)).collect(),
    }
}
