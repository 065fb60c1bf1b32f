//! `compare`: formulas side by side in the terminal, as text or JSON.

use super::publish::{load, opened};
use super::weigh::not_computed;
use super::{Outcome, Terminal};
use crate::caution::changes_at_once_in_full;
use crate::compute::{Answer, Comparison, FoundChanges, Row, read_batch_size};
use crate::page::comparison::{
    Measure, MeasureCell, NOT_IN_IT, batch_words, cell_words, first_id, measures, order_words, within_words,
};
use crate::quantity::{Decimal, Range, show};
use crate::report::Finding;
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::Path;
use unicode_width::UnicodeWidthStr;

/// Prints what is different between formulas; the first is what the others are compared with.
pub fn compare(ids: &[String], batch: Option<&str>, root: &Path, json: bool, terminal: &Terminal) -> Outcome {
    if let [only] = ids {
        terminal.refuse(&format!(
            "there is nothing to compare `{only}` with; name another formula, or with --since what was kept of another time"
        ));
        return Outcome::CouldNotRun;
    }
    let Some(folder) = opened(root, terminal) else { return Outcome::CouldNotRun };
    let collection = load(&folder, terminal);
    let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
    if let Some(missing) = ids.iter().find(|id| collection.comparable(id).is_none()) {
        if matches!(collection.answer(missing), Some(Answer::BatchRecord(_))) {
            terminal.refuse(&format!(
                "it is not known what is in the vessel of `{missing}`: a record can be compared when every line of it was weighed"
            ));
            return Outcome::CouldNotRun;
        }
        return not_computed(missing, "compare", &collection, root, terminal);
    }
    let density =
        ids.first().and_then(|id| collection.comparable(id)).and_then(|(computed, _)| computed.formula.density);
    let batch = match batch.map(|text| read_batch_size(text, density)).transpose() {
        Ok(batch) => batch,
        Err(reason) => {
            terminal.refuse(&format!("the batch is not understood: {reason}"));
            return Outcome::CouldNotRun;
        }
    };
    let Some(comparison) = collection.compare(&ids, batch) else { return Outcome::CouldNotRun };
    if json {
        let document = as_json(&comparison);
        terminal.say(&serde_json::to_string_pretty(&document).unwrap_or_default());
    } else {
        terminal.say(&as_text(&comparison));
    }
    Outcome::Clean
}

fn as_text(comparison: &Comparison) -> String {
    let mut out = String::new();
    for side in &comparison.sides {
        let part = |word: &str, text: Option<String>| text.map_or(String::new(), |text| format!(", {word} {text}"));
        let check = Some(side.check.clone()).filter(|check| !check.is_empty());
        let made = part("made", side.made.map(|date| date.to_string()));
        let version = part("version", side.version.clone());
        let _ = writeln!(out, "{}: {}{made}{version}{}", side.id, side.title, part("check", check));
    }
    let mut table = vec![head(comparison, &format!("weights for {}", batch_words(comparison)))];
    for row in comparison.rows.iter().filter(|row| !row.is_unchanged()) {
        table.extend(rows_of(row, comparison.decimals));
    }
    if table.len() > 1 {
        let _ = writeln!(out);
        out.push_str(&aligned(&table));
        let _ =
            writeln!(out, "In brackets: percentage points and grams more or less than in {}.", first_id(comparison));
    }
    let measures = measures(comparison);
    if !measures.is_empty() {
        let beside =
            |cell: MeasureCell| if cell.by.is_empty() { cell.text } else { format!("{} ({})", cell.text, cell.by) };
        let row = |measure: Measure| {
            std::iter::once(measure.title.to_owned()).chain(measure.cells.into_iter().map(beside)).collect()
        };
        let table: Vec<Vec<String>> =
            std::iter::once(head(comparison, "")).chain(measures.into_iter().map(row)).collect();
        let _ = writeln!(out);
        out.push_str(&aligned(&table));
    }
    for (step, side) in comparison.steps.iter().zip(comparison.sides.iter().skip(1)) {
        let _ = writeln!(out, "\nFrom {} to {}", first_id(comparison), side.id);
        if step.changes.is_empty() {
            let _ = writeln!(out, "  changed: nothing");
        }
        for change in &step.changes {
            let _ = writeln!(out, "  changed: {}", change.0);
        }
        if let Some(words) = within_words(step) {
            let _ = writeln!(out, "           ({words})");
        }
        for change in &step.declaration {
            let _ = writeln!(out, "  declaration: {}", order_words(change));
        }
        out.push_str(&found_text(&step.found));
        if let Some(words) = changes_at_once_in_full(step) {
            let _ = writeln!(out, "  {words}");
        }
    }
    out
}

/// Percent, weight and, where it differs, the phase of a raw material.
fn rows_of(row: &Row, decimals: u32) -> Vec<Vec<String>> {
    let (mut percents, mut weights, mut phases) = (vec![row.name.clone()], vec![String::new()], vec![String::new()]);
    for (index, cell) in cell_words(row, decimals).into_iter().enumerate() {
        let Some(cell) = cell else {
            percents.push(NOT_IN_IT.to_owned());
            weights.push(String::new());
            phases.push(String::new());
            continue;
        };
        let beside = |difference: Option<Decimal>, decimals| match difference.filter(|_| index > 0) {
            Some(difference) => format!(" ({})", show::signed(difference, decimals)),
            None => String::new(),
        };
        percents.push(format!("{}{}", cell.percent, beside(row.percent_difference(index), None)));
        weights.push(format!("{}{}", cell.weight, beside(row.weight_difference(index), Some(decimals))));
        phases.push(cell.phase);
    }
    let has_phases = phases.iter().any(|phase| !phase.is_empty());
    [percents, weights].into_iter().chain(has_phases.then_some(phases)).collect()
}

/// What is found about one and not about the other, and what is found about both with other figures.
fn found_text(found: &FoundChanges) -> String {
    let mut out = String::new();
    let mut say = |word: &str, finding: &Finding| {
        let _ = writeln!(out, "  {word}: {} {}: {}", finding.severity().word(), finding.kind.name, finding.what);
    };
    found.gained.iter().for_each(|finding| say("gained", finding));
    found.lost.iter().for_each(|finding| say("no more", finding));
    for (was, is) in &found.changed {
        say("with other figures", is);
        say("                as", was);
    }
    out
}

fn head(comparison: &Comparison, title: &str) -> Vec<String> {
    std::iter::once(title.to_owned()).chain(comparison.sides.iter().map(|side| side.id.clone())).collect()
}

/// A table with its columns under each other, the first to the left and the others to the right.
pub(super) fn aligned(table: &[Vec<String>]) -> String {
    let columns = table.iter().map(Vec::len).max().unwrap_or_default();
    let width = |column: usize| {
        table.iter().filter_map(|row| row.get(column)).map(|cell| cell.width()).max().unwrap_or_default()
    };
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let mut out = String::new();
    for row in table {
        let mut line = String::new();
        for (column, (cell, width)) in row.iter().zip(&widths).enumerate() {
            let space = " ".repeat(width.saturating_sub(cell.width()));
            line.push_str(&if column == 0 { format!("{cell}{space}") } else { format!("  {space}{cell}") });
        }
        let _ = writeln!(out, "{}", line.trim_end_matches(' '));
    }
    out
}

fn as_json(comparison: &Comparison) -> Value {
    let plain = |number: Decimal| number.normalize().to_string();
    let range = |range: Option<Range>| {
        range.map(|range| json!({ "low": plain(range.low), "value": plain(range.typical), "high": plain(range.high) }))
    };
    let formulas: Vec<Value> = comparison
        .sides
        .iter()
        .map(|side| {
            json!({
                "id": side.id, "title": side.title, "version": side.version, "check": side.check,
                "made": side.made.map(|date| date.to_string()), "ph-read": side.ph_read.map(|ph| ph.to_string()), "viscosity": side.viscosity,
                "active-matter": range(side.active), "water": range(side.water),
                "ph": side.ph.map(|ph| [plain(ph.low.value()), plain(ph.high.value())]),
                "cost": side.cost.as_ref().map(|cost| json!({
                    "currency": cost.batch.currency().code(), "batch": plain(cost.batch.amount()), "per-100-g": plain(cost.per_100_g.amount()),
                    "complete": cost.missing.is_empty(), "missing": cost.missing,
                })),
                "hlb-required": range(side.hlb.map(|(required, _)| required)), "hlb": range(side.hlb.map(|(_, blend)| blend)),
            })
        })
        .collect();
    let rows: Vec<Value> = comparison
        .rows
        .iter()
        .map(|row| {
            let cells: Vec<Value> = row
                .cells
                .iter()
                .enumerate()
                .map(|(index, cell)| match cell {
                    None => Value::Null,
                    Some(cell) => json!({
                        "percent": plain(cell.percent), "weight": plain(cell.weight.grams()), "phases": cell.phases,
                        "percent-difference": row.percent_difference(index).map(plain),
                        "weight-difference": row.weight_difference(index).map(plain),
                    }),
                })
                .collect();
            json!({ "material": row.material, "name": row.name, "unchanged": row.is_unchanged(), "formulas": cells })
        })
        .collect();
    let steps: Vec<Value> = comparison
        .steps
        .iter()
        .zip(comparison.sides.iter().skip(1))
        .map(|(step, side)| {
            let one = |one: &Finding| json!({ "name": one.kind.name, "severity": one.severity().word(), "what": one.what });
            let changed = |(was, is): &(Finding, Finding)| {
                json!({ "name": is.kind.name, "severity": is.severity().word(), "what": is.what, "was": was.what })
            };
            json!({
                "from": first_id(comparison), "to": side.id, "related": step.is_related,
                "changes": step.changes.iter().map(|change| change.0.as_str()).collect::<Vec<_>>(),
                "active-matter-difference": range(step.active), "water-difference": range(step.water),
                "declaration": step.declaration.iter().map(order_words).collect::<Vec<_>>(),
                "gained": step.found.gained.iter().map(one).collect::<Vec<_>>(),
                "lost": step.found.lost.iter().map(one).collect::<Vec<_>>(),
                "changed": step.found.changed.iter().map(changed).collect::<Vec<_>>(),
            })
        })
        .collect();
    json!({
        "schema": "tarebook comparison 1", "batch": plain(comparison.batch.grams()),
        "formulas": formulas, "lines": rows, "steps": steps,
    })
}
