//! `compare`: formulas side by side in the terminal, as text or JSON.

use super::publish::load;
use super::weigh::not_computed;
use super::{Folder, Outcome, Terminal};
use crate::collection::Collection;
use crate::compute::{Comparison, OrderChange, read_batch_size, span_words};
use crate::quantity::{Decimal, MassUnit, Range, show};
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::Path;
use unicode_width::UnicodeWidthStr;

/// What a raw material reads that a formula does not hold.
const NOT_IN_IT: &str = "not in it";

/// Prints what is different between formulas; the first is what the others are compared with.
pub fn compare(ids: &[String], batch: Option<&str>, root: &Path, json: bool, terminal: &Terminal) -> Outcome {
    let folder = match Folder::open(root, None) {
        Ok(folder) => folder,
        Err(error) => {
            terminal.refuse(&error.to_string());
            return Outcome::CouldNotRun;
        }
    };
    let collection = load(&folder, terminal);
    let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
    if let Some(missing) = ids.iter().find(|id| collection.formula(id).is_none()) {
        return not_computed(missing, "compare", &collection, root, terminal);
    }
    let density = ids.first().and_then(|id| collection.formula(id)).and_then(|computed| computed.formula.density);
    let batch = match batch.map(|text| read_batch_size(text, density)).transpose() {
        Ok(batch) => batch,
        Err(reason) => {
            terminal.refuse(&format!("the batch is not understood: {reason}"));
            return Outcome::CouldNotRun;
        }
    };
    let Some(comparison) = collection.compare(&ids, batch) else { return Outcome::CouldNotRun };
    if json {
        let document = as_json(&comparison, &collection);
        terminal.say(&serde_json::to_string_pretty(&document).unwrap_or_default());
    } else {
        terminal.say(&as_text(&comparison, &collection));
    }
    Outcome::Clean
}

fn as_text(comparison: &Comparison, collection: &Collection) -> String {
    let mut out = String::new();
    for side in &comparison.sides {
        let version = side.version.as_ref().map_or(String::new(), |version| format!(", version {version}"));
        let _ = writeln!(out, "{}: {}{version}, check {}", side.id, side.title, side.check);
    }
    let decimals = comparison.decimals;
    let batch = show::mass_in(comparison.batch, MassUnit::Gram, decimals);
    let mut table = vec![head(comparison, &format!("weights for {batch}"))];
    for row in comparison.rows.iter().filter(|row| !row.is_unchanged()) {
        let mut percents = vec![row.name.clone()];
        let mut weights = vec![String::new()];
        for (index, cell) in row.cells.iter().enumerate() {
            let Some(cell) = cell else {
                percents.push(NOT_IN_IT.to_owned());
                weights.push(String::new());
                continue;
            };
            let beside = |difference: Option<Decimal>, decimals| match difference.filter(|_| index > 0) {
                Some(difference) => format!(" ({})", show::signed(difference, decimals)),
                None => String::new(),
            };
            let percent = show::percent(cell.percent);
            percents.push(format!("{percent}{}", beside(row.percent_difference(index), None)));
            let weight = show::mass_in(cell.weight, MassUnit::Gram, decimals);
            weights.push(format!("{weight}{}", beside(row.weight_difference(index), Some(decimals))));
        }
        table.push(percents);
        table.push(weights);
        if row
            .cells
            .iter()
            .flatten()
            .any(|cell| row.cells.iter().flatten().next().is_some_and(|one| one.phases != cell.phases))
        {
            let phase = |cell: &Option<crate::compute::Cell>| {
                cell.as_ref().map_or(String::new(), |cell| format!("phase {}", cell.phases.join(", ")))
            };
            table.push(std::iter::once(String::new()).chain(row.cells.iter().map(phase)).collect());
        }
    }
    if table.len() > 1 {
        let _ = writeln!(out);
        out.push_str(&aligned(&table));
        let _ =
            writeln!(out, "In brackets: percentage points and grams more or less than in {}.", first_id(comparison));
    }
    let measures = measures(comparison);
    if measures.len() > 1 {
        let _ = writeln!(out);
        out.push_str(&aligned(&measures));
    }
    for (step, side) in comparison.steps.iter().zip(comparison.sides.iter().skip(1)) {
        let (first, other) = (first_id(comparison), side.id.as_str());
        let _ = writeln!(out, "\nFrom {first} to {other}");
        if step.changes.is_empty() {
            let _ = writeln!(out, "  changed: nothing");
        }
        for change in &step.changes {
            let _ = writeln!(out, "  changed: {}", change.0);
        }
        for change in &step.declaration {
            let _ = writeln!(out, "  declaration: {}", order_words(change));
        }
        for (word, one, two) in [("gained", other, first), ("no more", first, other)] {
            for finding in collection.found_only_about(one, two) {
                let _ =
                    writeln!(out, "  {word}: {} {}: {}", finding.severity().word(), finding.kind.name, finding.what);
            }
        }
        if step.is_related && step.changes.len() > 1 {
            let _ = writeln!(
                out,
                "  {} things changed at once, so what each of them does cannot be told apart. Change one thing at a time, in a variant of its own.",
                step.changes.len()
            );
        }
    }
    out
}

fn first_id(comparison: &Comparison) -> &str {
    comparison.sides.first().map_or("", |side| side.id.as_str())
}

fn head(comparison: &Comparison, title: &str) -> Vec<String> {
    std::iter::once(title.to_owned()).chain(comparison.sides.iter().map(|side| side.id.clone())).collect()
}

/// Rows of what is said of each formula as a whole, those alone that differ; the head comes first.
fn measures(comparison: &Comparison) -> Vec<Vec<String>> {
    let unknown = || "not known".to_owned();
    let share = |range: Option<Range>, difference: Option<Range>| {
        let shown =
            range.map_or_else(unknown, |range| show::percent_range(range, if range.is_exact() { 2 } else { 1 }));
        match difference {
            Some(by) => format!("{shown} ({})", signed_range(by)),
            None => shown,
        }
    };
    let mut table = vec![head(comparison, "")];
    let mut row = |title: &str, cells: Vec<String>| {
        if cells.windows(2).any(|pair| pair.first() != pair.last()) {
            table.push(std::iter::once(title.to_owned()).chain(cells).collect());
        }
    };
    let sides = || {
        let steps = std::iter::once(None).chain(comparison.steps.iter().map(Some));
        comparison.sides.iter().zip(steps)
    };
    let changed = |by: Option<Range>| by.filter(|by| *by != Range::ZERO);
    let active = |by: Option<&crate::compute::Step>| changed(by.and_then(|step| step.active));
    row("active matter", sides().map(|(side, step)| share(side.active, active(step))).collect());
    let water = |by: Option<&crate::compute::Step>| changed(by.and_then(|step| step.water));
    row("water", sides().map(|(side, step)| share(side.water, water(step))).collect());
    let ph = |side: &crate::compute::Compared| {
        side.ph.map_or_else(|| "not stated".to_owned(), |ph| show::ends(ph.low.value(), ph.high.value()))
    };
    row("pH specification", comparison.sides.iter().map(ph).collect());
    let window = |side: &crate::compute::Compared| {
        let window = &side.ph_window;
        match (window.pairs.is_empty(), window.shared.is_open()) {
            (false, _) => "no pH for all".to_owned(),
            (true, true) => unknown(),
            (true, false) => span_words(window.shared),
        }
    };
    row("pH of all materials", comparison.sides.iter().map(window).collect());
    let bears = |side: &crate::compute::Compared| {
        side.bears.map_or_else(unknown, |highest| format!("at most {}{}°C", show::plain(highest), show::NBSP))
    };
    row("heat of all materials", comparison.sides.iter().map(bears).collect());
    let hlb: Option<Vec<_>> = comparison.sides.iter().map(|side| side.hlb).collect();
    if let Some(hlb) = hlb {
        let shown = |range: Range| show::quantity_range(range, 1, "");
        row("HLB required", hlb.iter().map(|(required, _)| shown(*required)).collect());
        row("HLB of the emulsifiers", hlb.iter().map(|(_, blend)| shown(*blend)).collect());
    }
    table
}

fn signed_range(by: Range) -> String {
    let (low, high) = (show::signed(by.low, Some(2)), show::signed(by.high, Some(2)));
    if low == high { low } else { format!("{low} to {high}") }
}

fn order_words(change: &OrderChange) -> String {
    match change {
        OrderChange::Comes(name) => format!("{name} comes"),
        OrderChange::Goes(name) => format!("{name} goes"),
        OrderChange::Moves { name, from, to } => format!("{name} from place {from} to place {to}"),
    }
}

/// A table with its columns under each other, the first to the left and the others to the right.
fn aligned(table: &[Vec<String>]) -> String {
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

fn as_json(comparison: &Comparison, collection: &Collection) -> Value {
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
                "active-matter": range(side.active), "water": range(side.water),
                "ph": side.ph.map(|ph| [plain(ph.low.value()), plain(ph.high.value())]),
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
            let found = |one: &str, other: &str| -> Vec<Value> {
                let only = collection.found_only_about(one, other).into_iter();
                only.map(|one| json!({ "name": one.kind.name, "severity": one.severity().word(), "what": one.what }))
                    .collect()
            };
            json!({
                "from": first_id(comparison), "to": side.id, "related": step.is_related,
                "changes": step.changes.iter().map(|change| change.0.as_str()).collect::<Vec<_>>(),
                "active-matter-difference": range(step.active), "water-difference": range(step.water),
                "declaration": step.declaration.iter().map(order_words).collect::<Vec<_>>(),
                "gained": found(&side.id, first_id(comparison)), "lost": found(first_id(comparison), &side.id),
            })
        })
        .collect();
    json!({
        "schema": "tarebook comparison 1", "batch": plain(comparison.batch.grams()),
        "formulas": formulas, "lines": rows, "steps": steps,
    })
}
