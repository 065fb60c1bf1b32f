//! Rows of a file beside the notebook, read as if each stood in the block: an entry with `from = "readings.csv"` stands for as many entries as the file has rows.
//!
//! Keys: `from`, the file; `columns`, which column gives which key, `{ ph = "pH (10 %)" }`, or with what the file does not say, `{ name = "Net", unit = "g" }` and
//! `{ name = "Day", order = "day month year" }`; `only`, which rows count, `{ Sample = "wash" }`; `separator`; `decimal`, the sign before decimals; `header-line`, where lines
//! stand above the header.
//! What else the entry says holds for every row.
//!
//! Each row is written out as the table that it stands for, every value with the place of its cell, and read by the reader of such entries. So a mistake in a
//! file is found and shown like one in a notebook.

mod cells;
mod file;
mod mapping;

use super::reader::{Cutting, Placed, Reader, Table};
use crate::report::{Finding, Place, echo, kind, suggestion};
pub use file::{RowFiles, is_row_file};
use mapping::Mapping;
use std::ops::Range;
use std::sync::Arc;

/// How many mistakes of one file are told in full.
const TOLD: usize = 12;

/// Whether an entry stands for the rows of a file.
pub(super) fn are_in_file(table: &Table<'_, '_>) -> bool {
    table.get("from").is_some()
}

/// Reads each row with the reader of one entry. `fields` are the keys of an entry. Nothing when something was not understood, which is reported.
pub(super) fn read_rows<T>(
    table: &Table<'_, '_>,
    fields: &[&'static str],
    read: impl Fn(&Table<'_, '_>) -> Option<T>,
) -> Option<Vec<T>> {
    let reader = table.reader();
    let mapping = Mapping::read(table, fields);
    let from = table.text("from");
    table.finish();
    let (mapping, from) = (mapping?, from?);
    let (path, text) = open(reader, &from)?;
    let data = mapping.choose(reader, &from, &path, &text)?;
    let (mut all, mut told) = (Vec::new(), Vec::new());
    let mut is_whole = true;
    for row in &data.rows {
        let (one, findings) = data.entry(&path, row).read(reader, &read);
        is_whole &= one.is_some();
        all.extend(one);
        told.extend(findings);
    }
    // What the entry says for all rows is wrong once.
    let mut said: Vec<Finding> = Vec::new();
    for finding in told {
        if !said.contains(&finding) {
            said.push(finding);
        }
    }
    let n_more = said.len().saturating_sub(TOLD);
    for finding in said.into_iter().take(TOLD) {
        reader.push(finding);
    }
    if n_more > 0 {
        let what = format!("There are {n_more} more mistakes in `{}`.", echo(&from.value));
        reader
            .push(Finding::new(kind::WRONG_VALUE, from.place, what).mend("Mend the first ones; they are often alike."));
    }
    is_whole.then_some(all)
}

/// The text of the file that is named, from the folder of the notebook.
fn open(reader: &Reader<'_>, from: &Placed<String>) -> Option<(Arc<str>, Arc<str>)> {
    let here = &reader.cutting.path;
    let (target, _) = crate::notebook::resolve_address(here, &from.value);
    let name = echo(&from.value);
    let Some(path) = target.filter(|path| !path.is_empty()) else {
        let what = format!("`{name}` lies outside of the collection's folder.");
        let mend = "Put the file beside the notebook, so that it goes where the notebook goes.";
        reader.push(Finding::new(kind::NO_ROW_FILE, from.place.clone(), what).mend(mend));
        return None;
    };
    reader.note_row_file(&path);
    match reader.row_files().get(&path) {
        Some(Ok(text)) => Some((path, Arc::clone(text))),
        Some(Err(why)) => {
            let what = format!("`{name}` {why}.");
            let mend = "Save it anew as UTF-8 text of 1 MB at most, where it can be read.";
            reader.push(Finding::new(kind::NO_ROW_FILE, from.place.clone(), what).mend(mend));
            None
        }
        None => {
            let known: Vec<String> = reader.row_files().keys().filter_map(|known| seen_from(here, known)).collect();
            let finding = match is_row_file(&path) {
                true => {
                    let what = format!("There is no file `{name}` beside this notebook.");
                    let mend = suggestion(
                        &from.value,
                        known.iter().map(String::as_str),
                        "Look at its name and folder; it is sought from the folder of the notebook.",
                    );
                    Finding::new(kind::NO_ROW_FILE, from.place.clone(), what).mend(mend)
                }
                false => {
                    let what = format!("`{name}` is no file of rows.");
                    let mend =
                        "Save the sheet as text with separated values: a file that ends in `.csv`, `.tsv` or `.txt`.";
                    Finding::new(kind::NO_ROW_FILE, from.place.clone(), what).mend(mend)
                }
            };
            reader.push(finding);
            None
        }
    }
}

/// The path of a file as it is written in a notebook, for those in its folder or below.
fn seen_from(here: &str, path: &str) -> Option<String> {
    let folder = here.rsplit_once('/').map_or("", |(folder, _)| folder);
    let rest = path.strip_prefix(folder)?;
    match folder.is_empty() {
        true => Some(rest.to_owned()),
        false => rest.strip_prefix('/').map(str::to_owned),
    }
}

/// What is known of the column of a cell.
struct CellColumn {
    /// Its name in the header.
    name: String,
    /// How to say in the block what the file does not say, where that would mend a cell that is not understood.
    hint: Option<String>,
}

/// The table that a row stands for, written out.
struct Entry {
    text: String,
    /// Where each value of the text stands, in the file or in the notebook.
    pieces: Vec<(Range<usize>, Place)>,
    /// The columns of its cells, by the place of the cell.
    columns: Vec<(Place, CellColumn)>,
    /// Cells that cannot be written out.
    amiss: Vec<Finding>,
    /// The row.
    row: Place,
}

impl Entry {
    fn put(&mut self, field: &str, toml: &str, place: Place) {
        self.text.push_str(field);
        self.text.push_str(" = ");
        let start = self.text.len();
        self.text.push_str(toml);
        self.pieces.push((start..self.text.len(), place));
        self.text.push('\n');
    }

    /// Reads the row with the reader of one entry; a mistake says in which column it stands.
    fn read<T>(self, reader: &Reader<'_>, read: impl Fn(&Table<'_, '_>) -> Option<T>) -> (Option<T>, Vec<Finding>) {
        let cutting = Cutting::put_together(&self.row, self.text, self.pieces);
        let (one, mut findings) = Reader::read_with(&cutting, reader.row_files(), |_, table| read(&table));
        // What is missing for a cell that was not understood need not be said as well.
        let one = one.filter(|_| self.amiss.is_empty());
        if !self.amiss.is_empty() {
            findings.retain(|finding| finding.kind != kind::MISSING_KEY);
            findings.extend(self.amiss);
        }
        for finding in &mut findings {
            let Some((_, column)) = self.columns.iter().find(|(place, _)| *place == finding.place) else { continue };
            finding.what = format!("Column `{}`: {}", echo(&column.name), finding.what);
            // A number that can be read in two ways is not mended by a unit, and one decimal sign mends them all.
            if finding.kind == kind::AMBIGUOUS_NUMBER {
                finding.mend = Some("Say beside `from` which sign the file has before its decimals: `decimal = \",\"` or `decimal = \".\"`.".to_owned());
            } else if let Some(hint) = &column.hint {
                finding.mend = Some(hint.clone());
            }
        }
        (one, findings)
    }
}
