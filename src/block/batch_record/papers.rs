//! What the papers of a batch say besides weights and readings: what was looked at on the way, and what was decided in the end.

use super::super::date::read_date_of;
use super::super::reader::{Placed, Reader, Table, flat};
use crate::quantity::Date;
use crate::report::{Finding, kind};
use serde::Serialize;

/// Something that was looked at while the batch was made, or before it was filled.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct CheckBlock {
    /// What: "appearance".
    pub what: Placed<String>,
    /// How it should be.
    pub wanted: Option<String>,
    /// How it was found.
    pub found: Option<String>,
    /// Whether that is as it should be, where it is said.
    pub passed: Option<bool>,
    /// When or after what, in the author's words.
    pub when: Option<String>,
    /// By whom: initials.
    pub by: Option<String>,
}

/// What may be decided about a batch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Decision {
    /// It may be used.
    Released,
    /// It waits.
    Held,
    /// It may not be used.
    Rejected,
}

impl Decision {
    /// All of them.
    pub const ALL: [Decision; 3] = [Decision::Released, Decision::Held, Decision::Rejected];

    /// As it is written.
    pub fn word(self) -> &'static str {
        match self {
            Decision::Released => "released",
            Decision::Held => "held",
            Decision::Rejected => "rejected",
        }
    }
}

/// What was decided about a batch.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ReleaseBlock {
    /// The decision.
    pub decision: Placed<Decision>,
    /// By whom: initials.
    pub by: Option<String>,
    /// The day.
    pub date: Option<Placed<Date>>,
    /// Why.
    pub why: Option<String>,
}

pub(super) fn read_check(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<CheckBlock> {
    let what = table.text("what");
    if what.is_none() && table.get("what").is_none() {
        reader.push(
            Finding::new(kind::MISSING_KEY, table.place().clone(), "The check does not say `what` was looked at.")
                .mend("Write `what = \"appearance\"`, and how it was `found`."),
        );
    }
    let words = |key: &'static str| table.text(key).map(|text| text.value);
    let (wanted, found, when, by) = (words("wanted"), words("found"), words("when"), words("by"));
    let passed = table.boolean("passed");
    table.finish();
    Some(CheckBlock { what: what?, wanted, found, passed, when, by })
}

pub(super) fn read_release(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<ReleaseBlock> {
    let decision = table.text("decision").map(|text| {
        let known = Decision::ALL.into_iter().find(|known| known.word() == text.value.trim());
        if known.is_none() {
            reader.wrong(text.place.clone(), "`decision`", "\"released\", \"held\" or \"rejected\"");
        }
        Some(text.with(known?))
    });
    if table.get("decision").is_none() {
        reader.push(
            Finding::new(kind::MISSING_KEY, table.place().clone(), "The release has no `decision`.")
                .mend("Write `decision = \"released\"`, `\"held\"` or `\"rejected\"`."),
        );
    }
    let (by, why) = (table.text("by"), table.text("why"));
    let date = flat(read_date_of(table, "date"));
    table.finish();
    let said = |text: Option<Placed<String>>| text.map(|text| text.value).filter(|text| !text.trim().is_empty());
    Some(ReleaseBlock { decision: decision??, by: said(by), date: date?, why: said(why) })
}
