//! `due`: the checks of all stability logs beside the present day.

use super::errata::today;
use super::publish::{load, opened};
use super::{Outcome, Terminal};
use crate::collection::{Collection, DueCheck};
use crate::quantity::Date;
use std::fmt::Write as _;
use std::path::Path;

/// Prints every check that is still to be made, and how it stands to the day, today if it is not said.
pub fn due(root: &Path, day: Option<Date>, terminal: &Terminal) -> Outcome {
    let Some(folder) = opened(root, terminal) else { return Outcome::CouldNotRun };
    let collection = load(&folder, terminal);
    let ahead = if day.is_none() { ahead_of_today(&collection) } else { None };
    let day = day.unwrap_or_else(today);
    let checks = collection.due();
    let mut text = String::new();
    for one in &checks {
        let _ = writeln!(text, "{}", line(one, day));
    }
    match checks.len() {
        0 => text.push_str("No stability log has a check to come."),
        1 => _ = write!(text, "1 check to come, on {day}."),
        count => _ = write!(text, "{count} checks to come, on {day}."),
    }
    if collection.has_errors() {
        text.push_str(" There are errors in the notebooks; a log with an error is not counted.");
    }
    if let Some(ahead) = ahead {
        text.push('\n');
        text.push_str(&ahead);
    }
    terminal.say(&text);
    if collection.has_errors() { Outcome::Findings } else { Outcome::Clean }
}

/// What is overdue or due today, or dated after today, for the start of `watch`; nothing when nothing is.
pub(super) fn due_today(collection: &Collection) -> Option<String> {
    let day = today();
    let is_due = |one: &&DueCheck| one.check.date.is_some_and(|date| date <= day);
    let lines: Vec<String> = collection.due().iter().filter(is_due).map(|one| line(one, day)).collect();
    let due = (!lines.is_empty()).then(|| format!("To be looked at:\n{}", lines.join("\n")));
    let parts: Vec<String> = due.into_iter().chain(ahead_of_today(collection)).collect();
    (!parts.is_empty()).then(|| parts.join("\n"))
}

/// What is dated after today. Pages do not know the day, so that nothing else can say it.
fn ahead_of_today(collection: &Collection) -> Option<String> {
    let ahead = collection.dated_after(today());
    let lines: Vec<String> = ahead.iter().map(|one| format!("{}  {}, {}", one.date, one.what, one.path)).collect();
    (!lines.is_empty()).then(|| format!("Dated after today, perhaps by a slip:\n{}", lines.join("\n")))
}

fn line(one: &DueCheck, day: Date) -> String {
    let when = match one.check.date {
        None => format!("day {}", one.check.day.normalize()),
        Some(date) => {
            let days = date.days_since(day);
            let words = match days {
                0 => "today".to_owned(),
                1 => "tomorrow".to_owned(),
                -1 => "overdue since yesterday".to_owned(),
                2.. => format!("in {days} days"),
                _ => format!("overdue for {} days", -days),
            };
            format!("{date}  {words}")
        }
    };
    let log = if one.id.is_empty() { one.title.clone() } else { format!("{} ({})", one.title, one.id) };
    format!("{when}: {}, {} of {log}, {}", one.check.check, one.check.conditions.join(", "), one.path)
}
