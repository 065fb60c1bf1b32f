//! Lots as the page of all lots shows them.

use super::context::FindingContext;
use super::{LookUp, Site};
use serde::Serialize;

/// The context of `lots.html`.
#[derive(Debug, Serialize)]
pub struct LotListContext<'a> {
    /// The collection.
    pub site: &'a Site,
    /// Prefix to the output's root.
    pub root: &'static str,
    /// The raw materials of which there are lots, by id.
    pub materials: Vec<LotMaterial>,
    /// The ways to look something up.
    pub lookup: Vec<LookUp>,
    /// Errors outside the notebooks, only while watching.
    pub errors: Vec<FindingContext>,
    /// The data file beside the page.
    pub data_href: String,
    /// Version of the program.
    pub version: &'static str,
}

/// A raw material with its lots.
#[derive(Debug, Serialize)]
pub struct LotMaterial {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Its page, or empty.
    pub href: String,
    /// Its lots, by number.
    pub lots: Vec<LotContext>,
}

/// A lot. Dates are empty where they are not known.
#[derive(Debug, Serialize)]
pub struct LotContext {
    /// Its number.
    pub number: String,
    /// The id of its element.
    pub anchor: String,
    /// When it came.
    pub received: String,
    /// Until when it may be used.
    pub expires: String,
    /// When it has to be tested again.
    pub retest: String,
    /// Its strength, or empty.
    pub strength: String,
    /// The names of its papers.
    pub documents: Vec<String>,
    /// A remark, or empty.
    pub note: String,
    /// Whether a material file lists it.
    pub listed: bool,
    /// Where it went.
    pub uses: Vec<LotUse>,
}

/// A batch or a formula that holds a lot.
#[derive(Clone, Debug, Default, Serialize)]
pub struct LotUse {
    /// "batch" or "formula".
    pub what: &'static str,
    /// Its id, or empty.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Where it stands.
    pub href: String,
    /// The day of a batch, or empty.
    pub date: String,
    /// How much of the lot went into the batch, or the share in the formula.
    pub amount: String,
    /// Whether the lot had expired by then.
    pub expired: bool,
}
