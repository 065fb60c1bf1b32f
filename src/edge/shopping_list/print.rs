//! A shopping list for the terminal and for spreadsheets.

use super::super::compare::aligned;
use super::super::csv::records;
use crate::compute::{Figure, ListLine, ShoppingList, Value};
use crate::page::{figure_text, no_pack_words, suppliers_of};
use crate::quantity::{MassUnit, Percent, show};
use crate::report::Finding;
use std::fmt::Write;

/// A figure of the list, where it has a value.
fn figure(list: &ShoppingList, path: &[&str]) -> Option<Figure> {
    list.look_up("", path)?.ok()
}

pub(super) fn as_text(list: &ShoppingList, id: &str, findings: &[Finding]) -> String {
    let text = |path: &[&str]| figure(list, path).map(|figure| figure_text(&figure));
    let mut out = String::new();
    let made = list.made.iter().map(|one| match one.batch {
        Some(batch) => format!("{} of {}", show::mass_in(batch, MassUnit::Gram, list.decimals), one.id),
        None => one.id.clone(),
    });
    let _ = writeln!(out, "What to buy for {}", made.collect::<Vec<_>>().join(", "));
    let _ = writeln!(out, "{}\n", head(list, id).join("; "));
    let mut columns = vec!["needed", "in-stock", "to-buy", "packs", "cost", "left-over"];
    columns.retain(|part| *part != "in-stock" || list.wanted.stock);
    let title = |part: &str| part.replace('-', " ");
    let mut table =
        vec![std::iter::once("raw material".to_owned()).chain(columns.iter().map(|part| title(part))).collect()];
    table.extend(list.lines.iter().map(|line| {
        let cell = |part: &str| match text(&[&line.material.id, part]) {
            Some(_) if part == "in-stock" && !is_counted(line) => "–".to_owned(),
            Some(text) => text,
            None if part == "packs" || part == "cost" => no_packs(line, part).to_owned(),
            None => "–".to_owned(),
        };
        let name = std::iter::once(line.material.name.clone());
        name.chain(columns.iter().map(|part| cell(part))).collect::<Vec<String>>()
    }));
    let up_to_cost = columns.iter().take_while(|part| **part != "cost").count();
    let mut sum = |title: String, cost: String| {
        let blank = std::iter::repeat_n(String::new(), up_to_cost);
        table.push(std::iter::once(title).chain(blank).chain([cost]).collect());
    };
    let sums = list.sums();
    for currency in sums.keys().filter(|_| sums.len() > 1) {
        sum(format!("Paid in {currency}"), text(&["cost", currency.code()]).unwrap_or_default());
    }
    match (text(&["cost"]), text(&["at-least"])) {
        (Some(cost), _) => sum("All of it".to_owned(), cost),
        (None, Some(cost)) => sum("All of it, at least".to_owned(), cost),
        (None, None) => {}
    }
    let notes = std::iter::once(String::new()).chain(list.lines.iter().map(|line| notes(list, line).join("; ")));
    for (row, notes) in aligned(&table).lines().zip(notes.chain(std::iter::repeat(String::new()))) {
        let _ = writeln!(out, "{}", format!("{row}  {notes}").trim_end_matches(' '));
    }
    for finding in findings {
        let _ = writeln!(out, "\n{}: {}", finding.severity().word(), finding.what);
        for text in [finding.why_text(), finding.mend_text()].into_iter().filter(|text| !text.is_empty()) {
            let _ = writeln!(out, "  {text}");
        }
    }
    out
}

/// Whether anything is said of what is in the cupboard: none that was counted is another thing than none that was looked for.
fn is_counted(line: &ListLine) -> bool {
    !line.material.stocks.is_empty()
}

/// How the list is reckoned.
fn head(list: &ShoppingList, id: &str) -> Vec<String> {
    let wanted = &list.wanted;
    let mut head: Vec<String> = Vec::new();
    head.extend((!id.is_empty()).then(|| id.to_owned()));
    head.extend(wanted.date.map(|date| format!("reckoned for {date}")));
    for (share, what) in [(wanted.overage, "what is weighed"), (wanted.dose_reserve, "doses")] {
        head.extend((share > Percent::ZERO).then(|| format!("{} on top of {what}", show::percent(share.value()))));
    }
    head.push(if wanted.stock { "less what is in stock" } else { "stock not counted" }.to_owned());
    head
}

/// What stands in the place of packs, and of their cost.
fn no_packs(line: &ListLine, part: &str) -> &'static str {
    match (line.is_bought, line.no_pack(), part) {
        (false, _, "packs") => "not bought",
        (true, None, "packs") => "enough there",
        (true, Some(why), "packs") => no_pack_words(why),
        (true, Some(_), _) => "not known",
        _ => "–",
    }
}

fn notes(list: &ShoppingList, line: &ListLine) -> Vec<String> {
    let mut notes = vec![suppliers_of(line)];
    if line.shares.iter().any(|share| share.dosed) {
        let reserve =
            if list.wanted.dose_reserve > Percent::ZERO { " with the reserve" } else { ", more may be needed" };
        notes.push(format!("dosed to effect: the usual amount{reserve}"));
    }
    if line.shares.iter().any(|share| share.upper) {
        notes.push("upper end, as it is measured by volume".to_owned());
    }
    notes.retain(|note| !note.is_empty());
    notes
}

/// A row for each raw material, every number exact.
pub(super) fn as_csv(list: &ShoppingList) -> String {
    let columns = ["needed", "in-stock", "to-buy", "packs", "bought", "cost", "left-over"];
    let head = [
        "material",
        "name",
        "needed_g",
        "in_stock_g",
        "to_buy_g",
        "packs",
        "bought_g",
        "cost",
        "left_over_g",
        "currency",
        "supplier",
        "note",
    ];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    rows.extend(list.lines.iter().map(|line| {
        let value = |part: &str| match figure(list, &[&line.material.id, part]).map(|figure| figure.value) {
            Some(_) if part == "in-stock" && !is_counted(line) => String::new(),
            Some(Value::Mass { mass, .. }) => show::plain(mass.grams()),
            Some(Value::Quantity { value, .. }) => show::plain(value),
            Some(Value::Text(text)) => text.replace('\u{a0}', " "),
            _ => String::new(),
        };
        let currency = line.packs().map_or_else(String::new, |packs| packs.cost().currency().code().to_owned());
        let why = if line.packs().is_some() { "" } else { no_packs(line, "packs") };
        let mut notes = notes(list, line);
        notes.retain(|note| *note != suppliers_of(line));
        notes.extend(Some(why.to_owned()).filter(|why| !why.is_empty()));
        let mut row = vec![line.material.id.clone(), line.material.name.clone()];
        row.extend(columns.map(value));
        row.extend([currency, suppliers_of(line), notes.join("; ")]);
        row
    }));
    records(&rows)
}
