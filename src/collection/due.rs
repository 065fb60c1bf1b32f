//! The checks of all stability logs that are still to be made. Which of them are due is for whoever knows the day.

use super::Collection;
use crate::compute::{Answer, Due};
use std::sync::Arc;

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

impl Collection {
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
}
