//! The `declaration` block: the ingredient declaration of a formula, placed where the author wants it.
//!
//! Keys: `formula`, the id of the formula; `rules`, the rule set it is written by.

use super::reader::{Placed, Reader, Table};
use serde::Serialize;

/// A declaration as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DeclarationBlock {
    /// The formula.
    pub formula: Placed<String>,
    /// The rule set, when not the first of the collection's that has rules for declarations.
    pub rules: Option<Placed<String>>,
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<DeclarationBlock> {
    let formula = super::formula::read_reference(reader, table, "formula");
    let rules = table.text("rules");
    Some(DeclarationBlock { formula: formula?, rules })
}
