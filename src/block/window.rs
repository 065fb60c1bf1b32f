//! The `window` block: the pH and the temperature in which every material of a formula works.
//!
//! Keys: `formula`, the id of the formula; `show`, "ph" or "temperature" where only one is wanted.

use super::reader::{Placed, Reader, Table};
use serde::Serialize;

/// A window block as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct WindowBlock {
    /// The formula.
    pub formula: Placed<String>,
    /// What is shown.
    pub show: WindowShown,
}

/// Which windows are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WindowShown {
    /// Both, when nothing is said.
    Both,
    /// That of pH.
    Ph,
    /// That of temperature.
    Temperature,
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<WindowBlock> {
    let formula = super::formula::read_reference(reader, table, "formula");
    let word = table.text("show");
    let show = match word.as_ref().map(|word| word.value.as_str()) {
        None => WindowShown::Both,
        Some("ph") => WindowShown::Ph,
        Some("temperature") => WindowShown::Temperature,
        Some(_) => {
            if let Some(word) = word {
                reader.wrong(word.place, "`show`", "\"ph\" or \"temperature\"");
            }
            return None;
        }
    };
    Some(WindowBlock { formula: formula?, show })
}
