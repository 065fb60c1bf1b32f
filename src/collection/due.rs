//! The checks of all stability logs that are still to be made. Which of them are due is for whoever knows the day.

use super::Collection;
use super::assemble::percent_encoded;
use super::lists::anchor_at;
use super::state::Entry;
use crate::compute::{Answer, Due};
use crate::page::DueRow;
use crate::quantity::Date;
use std::sync::Arc;

/// The index has so many of the checks to come.
const MOST: usize = 12;

/// A check that is still to be made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DueCheck {
    /// The notebook.
    pub path: Arc<str>,
    /// The id of the log, or "".
    pub id: String,
    /// What the log is about.
    pub title: String,
    /// The check.
    pub check: Due,
}

/// Something that is dated after a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ahead {
    /// The notebook.
    pub path: Arc<str>,
    /// Its date.
    pub date: Date,
    /// What has this date.
    pub what: String,
}

impl Collection {
    /// What was made or read after a day: with today, which only the caller knows, that is a slip of the pen.
    pub fn dated_after(&self, day: Date) -> Vec<Ahead> {
        let mut ahead = Vec::new();
        for (path, entry) in self.order.iter().filter_map(|path| Some((path, self.entries.get(path)?))) {
            for answer in entry.blocks.iter().filter_map(|state| state.answer.as_deref()) {
                let mut dated = |date: Option<Date>, what: String| {
                    if let Some(date) = date.filter(|date| *date > day) {
                        ahead.push(Ahead { path: Arc::clone(path), date, what });
                    }
                };
                match answer {
                    Answer::BatchRecord(record) => dated(record.date, format!("the batch record of {}", record.title)),
                    Answer::Stability(log) => {
                        for condition in &log.conditions {
                            for row in &condition.rows {
                                dated(row.date, format!("an observation of {}, {}", log.title, condition.key));
                            }
                        }
                    }
                    _ => {}
                }
            }
        }
        ahead
    }

    /// The checks that are still to be made, by date; those of logs without a start at the end, in the order of the notebooks.
    pub fn due(&self) -> Vec<DueCheck> {
        let mut due = Vec::new();
        for (path, entry) in self.order.iter().filter_map(|path| Some((path, self.entries.get(path)?))) {
            for (block, state) in entry.notebook.blocks.iter().zip(&entry.blocks) {
                let Some(Answer::Stability(log)) = state.answer.as_deref() else { continue };
                due.extend(log.due().into_iter().map(|check| DueCheck {
                    path: Arc::clone(path),
                    id: block.id.as_ref().map_or_else(String::new, |id| id.value.clone()),
                    title: log.title.clone(),
                    check,
                }));
            }
        }
        due.sort_by_key(|one| (one.check.date.is_none(), one.check.date));
        due
    }

    /// The next checks that have a date, as the index has them, and how many more there are. The day is not known here: a page stays the same until
    /// something is written.
    pub(super) fn due_rows(&self) -> (Vec<DueRow>, usize) {
        let mut due: Vec<DueRow> =
            self.order.iter().filter_map(|path| self.entries.get(path)).flat_map(due_rows_of).collect();
        due.sort_by(|one, other| one.date.cmp(&other.date));
        let more = due.len().saturating_sub(MOST);
        due.truncate(MOST);
        (due, more)
    }
}

/// The checks with a date that the logs of a notebook still ask for.
pub(super) fn due_rows_of(entry: &Entry) -> Vec<DueRow> {
    let notebook = &entry.notebook;
    let page = percent_encoded(&notebook.page_path());
    let mut rows = Vec::new();
    for (block, state) in notebook.blocks.iter().zip(&entry.blocks) {
        let Some(Answer::Stability(log)) = state.answer.as_deref() else { continue };
        let href = format!("{page}{}", anchor_at(entry, block.place.span.start));
        rows.extend(log.due().into_iter().filter_map(|due| {
            Some(DueRow {
                date: due.date?.to_string(),
                check: due.check,
                conditions: due.conditions,
                title: log.title.clone(),
                href: href.clone(),
            })
        }));
    }
    rows
}
