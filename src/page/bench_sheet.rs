//! A bench sheet as its template sees it.

use super::Site;
use super::blocks::BlockContext;
use super::context::{FindingContext, SheetContext};
use serde::Serialize;

/// The context of `bench-sheet.html`.
#[derive(Debug, Serialize)]
pub struct BenchSheetContext<'a> {
    /// The collection.
    pub site: &'a Site,
    /// Prefix to the output's root.
    pub root: &'static str,
    /// The formula.
    pub f: SheetContext,
    /// The method, where the collection has one for the formula.
    pub method: Option<BlockContext>,
    /// The cautions about both.
    pub cautions: Vec<FindingContext>,
    /// The sheet on the notebook's page.
    pub sheet_href: String,
    /// The title of the notebook.
    pub notebook: String,
    /// Errors outside the notebooks, only while watching.
    pub errors: Vec<FindingContext>,
    /// The data file beside the page.
    pub data_href: String,
    /// Left side of the running foot in print.
    pub foot: String,
    /// Version of the program.
    pub version: &'static str,
}
