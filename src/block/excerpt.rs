//! The `excerpt` block: a formula, a phase, a method or a step shown once more, from wherever it stands.
//!
//! Keys: `of`, what is shown; `batch`, for another size; `blank`, columns that are left empty to be filled in by hand; `without`, columns that are
//! left out.

use super::reader::{Placed, Reader, Table};
use crate::report::{Finding, echo, kind, suggestion};
use serde::Serialize;

/// An excerpt block as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ExcerptBlock {
    /// The id of the formula, the method, or another excerpt.
    pub of: Placed<String>,
    /// Which part of it.
    pub part: ExcerptOf,
    /// Another batch size, as typed.
    pub batch: Option<Placed<String>>,
    /// Columns to be filled in by hand.
    pub blank: Vec<Column>,
    /// Columns that are left out.
    pub without: Vec<Column>,
}

/// Which part is shown.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ExcerptOf {
    /// All of it.
    Whole,
    /// A phase, by its letter.
    Phase(String),
    /// A step, counted from 1.
    Step(usize),
}

/// A column of what is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Column {
    /// The ingredients of the raw material.
    Inci,
    /// The share of the product.
    Percent,
    /// The weight.
    Weight,
    /// Lots, strengths and remarks.
    Notes,
}

impl Column {
    /// All of them.
    pub const ALL: [(&'static str, Column); 4] =
        [("inci", Column::Inci), ("percent", Column::Percent), ("weight", Column::Weight), ("notes", Column::Notes)];
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<ExcerptBlock> {
    let address = super::formula::read_reference(reader, table, "of");
    let batch = table.text("batch");
    let (blank, without) = (read_columns(reader, table, "blank"), read_columns(reader, table, "without"));
    let address = address?;
    let parts: Vec<&str> = address.value.split('/').collect();
    let (id, part) = match parts.as_slice() {
        [id] => (*id, ExcerptOf::Whole),
        [id, "phase", key] => (*id, ExcerptOf::Phase((*key).to_owned())),
        [id, "step", number] if number.parse::<usize>().is_ok_and(|number| number > 0) => {
            (*id, ExcerptOf::Step(number.parse().unwrap_or(1)))
        }
        _ => {
            let what = format!("`{}` is nothing that can be shown.", echo(&address.value));
            reader.push(Finding::new(kind::UNKNOWN_ADDRESS, address.place, what).mend(
                "Write the id of a formula or method, `oat-wash/phase/A` for a phase, or `oat-wash-method/step/3` for a step.",
            ));
            return None;
        }
    };
    let of = address.with(id.to_owned());
    Some(ExcerptBlock { of, part, batch, blank: blank?, without: without? })
}

fn read_columns(reader: &Reader<'_>, table: &Table<'_, '_>, key: &'static str) -> Option<Vec<Column>> {
    let known = Column::ALL.map(|(word, _)| word);
    let words = table.texts(key);
    let columns: Vec<Option<Column>> = words
        .iter()
        .map(|word| {
            let found = Column::ALL.iter().find(|(known, _)| *known == word.value);
            if found.is_none() {
                let what = format!("There is no column `{}`.", echo(&word.value));
                reader.push(Finding::new(kind::WRONG_VALUE, word.place.clone(), what).mend(suggestion(
                    &word.value,
                    known,
                    "Columns are \"inci\", \"percent\", \"weight\" and \"notes\".",
                )));
            }
            found.map(|(_, column)| *column)
        })
        .collect();
    columns.into_iter().collect()
}
