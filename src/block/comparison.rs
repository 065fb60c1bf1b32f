//! The `comparison` block: formulas side by side.
//!
//! Keys: `formulas`, the ids of formulas or batch records, the first being what the others are compared with; `batch`, for which the weights are; `show`, which parts, all of them
//! when nothing is said; `unchanged`, whether lines that are the same everywhere are listed as well.

use super::reader::{Placed, Reader, Table};
use crate::report::{Finding, echo, kind, suggestion};
use serde::Serialize;

/// A comparison as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ComparisonBlock {
    /// The formulas, two or more.
    pub formulas: Vec<Placed<String>>,
    /// The batch of the weights, as typed.
    pub batch: Option<Placed<String>>,
    /// The parts that are shown.
    pub show: Vec<ComparisonPart>,
    /// Whether unchanged lines are listed.
    pub unchanged: bool,
}

/// A part of a comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ComparisonPart {
    /// Percent and weight of each raw material.
    Lines,
    /// What holds of the product as a whole: active matter, water, pH, heat, HLB.
    Product,
    /// The changes that somebody made, in words.
    Changes,
    /// The ingredient declaration.
    Declaration,
    /// What is found about one and not about the other.
    Findings,
}

impl ComparisonPart {
    /// All of them, in the order of the page.
    pub const ALL: [(&'static str, ComparisonPart); 5] = [
        ("lines", ComparisonPart::Lines),
        ("product", ComparisonPart::Product),
        ("changes", ComparisonPart::Changes),
        ("declaration", ComparisonPart::Declaration),
        ("findings", ComparisonPart::Findings),
    ];
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<ComparisonBlock> {
    let formulas = table.texts("formulas");
    let batch = table.text("batch");
    let unchanged = table.boolean("unchanged").unwrap_or(false);
    let show = read_parts(reader, table);
    if formulas.len() < 2 {
        // What is no list of texts was reported where it stands.
        let is_list = table.get("formulas").is_none_or(|value| value.get_ref().is_array());
        if is_list {
            let what = match formulas.first() {
                None => "The comparison has no `formulas`.",
                Some(_) => "There is one formula only, and nothing to compare it with.",
            };
            let place = formulas.first().map_or_else(|| reader.cutting.head(), |one| one.place.clone());
            reader.push(
                Finding::new(kind::MISSING_KEY, place, what)
                    .mend("Name two or more by their ids: `formulas = [\"barley-wash\", \"barley-wash-plain\"]`."),
            );
        }
        return None;
    }
    for (index, id) in formulas.iter().enumerate() {
        if formulas.iter().take(index).any(|earlier| earlier.value == id.value) {
            let what = format!("`{}` stands here twice.", echo(&id.value));
            reader.push(Finding::new(kind::WRONG_VALUE, id.place.clone(), what).mend("Name each formula once."));
            return None;
        }
    }
    Some(ComparisonBlock { formulas, batch, show: show?, unchanged })
}

fn read_parts(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<Vec<ComparisonPart>> {
    let all = ComparisonPart::ALL;
    if table.get("show").is_none() {
        return Some(all.into_iter().map(|(_, part)| part).collect());
    }
    let words = table.texts("show");
    let mut wanted = Vec::new();
    for word in &words {
        let Some((_, part)) = all.iter().find(|(known, _)| *known == word.value) else {
            let what = format!("A comparison has no part `{}`.", echo(&word.value));
            reader.push(Finding::new(kind::WRONG_VALUE, word.place.clone(), what).mend(suggestion(
                &word.value,
                all.map(|(known, _)| known),
                "Parts are \"lines\", \"product\", \"changes\", \"declaration\" and \"findings\".",
            )));
            return None;
        };
        wanted.push(*part);
    }
    if let Some(value) = table.get("show").filter(|value| words.is_empty() && value.get_ref().is_array()) {
        reader.wrong(reader.place_of(value), "`show`", "a list of parts such as [\"lines\", \"changes\"]");
        return None;
    }
    Some(wanted)
}
