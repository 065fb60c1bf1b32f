//! Pages: figures and prose into HTML through the templates, and the data file beside each page.
//!
//! All formatting of numbers for readers happens here. Nothing here computes, judges or reads files.

mod bench_sheet;
mod blocks;
mod chart;
pub(crate) mod comparison;
mod context;
mod emulsion;
mod errata;
mod former;
mod lists;
mod lots;
mod material;
mod prose;
mod standalone;
mod templates;
mod text;

pub use bench_sheet::BenchSheetContext;
pub use blocks::{BlockContext, FileContext, block_context};
pub(crate) use blocks::{no_pack_words, suppliers_of};
pub use context::{
    FindingContext, Hrefs, NumberContext, SheetContext, finding_context, number_context, running_foot, sheet_context,
};
pub use errata::{ErratumContext, erratum_context};
pub use former::{FormerFinding, FormerNumber, FormerPage, FormerPart, PAGE_SCHEMA};
pub use lists::{FolderGroup, FoundGroup, FoundPlace, Jump, ListContext, LookUp, ProductGroup, ProductRow, WordRow};
pub use lots::{LotContext, LotListContext, LotMaterial, LotUse};
pub use material::{
    MaterialContext, MaterialItem, MaterialListContext, MaterialPart, MaterialUse, UsesContext, material_context,
    material_item,
};
pub use prose::{Number, PageInput, PageLink, Scales, TermContext, render_body};
pub use standalone::{LARGEST_LINKED, Standalone, Target, standalone};
pub use templates::{BUILT_IN as BUILT_IN_TEMPLATES, SEARCH_SCRIPT, TemplateFault, Templates};
pub(crate) use templates::{SCRIPT, STYLE};
pub use text::{figure_text, value_text, value_text_in, working_text};

use serde::Serialize;

/// What every page knows about its collection.
#[derive(Clone, Debug, Serialize)]
pub struct Site {
    /// Title of the collection.
    pub title: String,
    /// Language tag.
    pub language: String,
    /// Licence of the texts, or empty.
    pub licence: String,
    /// Whom to ask, or empty.
    pub contact: String,
}

/// The context of `page.html`.
#[derive(Debug, Serialize)]
pub struct PageContext<'a> {
    /// The collection.
    pub site: &'a Site,
    /// Prefix to the output's root.
    pub root: String,
    /// Title of the notebook.
    pub title: String,
    /// The folder the notebook lies in, as a part of the index.
    pub folder: Option<PageLink>,
    /// The body, safe HTML.
    pub body: String,
    /// The notebook before.
    pub previous: Option<PageLink>,
    /// The notebook after.
    pub next: Option<PageLink>,
    /// Numbers that changed after they were published.
    pub corrections: Vec<ErratumContext>,
    /// Errors, only while watching.
    pub errors: Vec<FindingContext>,
    /// Findings without a better place.
    pub findings: Vec<FindingContext>,
    /// Path of the notebook.
    pub notebook_path: &'a str,
    /// The data file beside the page.
    pub data_href: String,
    /// Whether something is made here.
    pub makes: bool,
    /// One line on safety.
    pub closing: &'static str,
    /// Left side of the running foot in print.
    pub foot: String,
    /// Whether a formula's sheet stands on it.
    pub has_sheets: bool,
    /// Version of the program.
    pub version: &'static str,
}

/// The context of `index.html`.
#[derive(Debug, Serialize)]
pub struct IndexContext<'a> {
    /// The collection.
    pub site: &'a Site,
    /// Always empty: the index lies at the root.
    pub root: &'static str,
    /// The title, unless the introduction brings a heading of its own.
    pub heading: &'a str,
    /// The body of the collection's own `index.md`.
    pub intro: String,
    /// Notebooks by folder.
    pub groups: Vec<IndexGroup>,
    /// The next checks of stability logs, by date.
    pub due: Vec<DueRow>,
    /// How many more there are.
    pub due_more: usize,
    /// Numbers of `index.md` that changed after they were published.
    pub corrections: Vec<ErratumContext>,
    /// The ways to look something up, unless they stand in the introduction already.
    pub lookup: Vec<LookUp>,
    /// Whether the list is so long that it has titles alone.
    pub is_long: bool,
    /// Errors of `index.md`, only while watching.
    pub errors: Vec<FindingContext>,
    /// Whether a formula's sheet stands in the introduction.
    pub has_sheets: bool,
    /// Version of the program.
    pub version: &'static str,
}

/// A check that a stability log still asks for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DueRow {
    /// Its date.
    pub date: String,
    /// How long after the start, as written.
    pub check: String,
    /// What is looked at.
    pub conditions: Vec<String>,
    /// What the log is about.
    pub title: String,
    /// The log.
    pub href: String,
}

/// Notebooks of one folder.
#[derive(Debug, Serialize)]
pub struct IndexGroup {
    /// The folder, empty for the top.
    pub title: String,
    /// Its anchor.
    pub anchor: String,
    /// Its notebooks, unless there are too many for the index.
    pub entries: Vec<IndexEntry>,
    /// How many they are.
    pub count: usize,
    /// Where they begin in the list of all notebooks, where they do not stand here.
    pub href: String,
}

/// One notebook in the index.
#[derive(Debug, Serialize)]
pub struct IndexEntry {
    /// Title.
    pub title: String,
    /// Page.
    pub href: String,
    /// Notebook.
    pub path: String,
    /// First sentence.
    pub summary: String,
    /// Its formulas.
    pub formulas: Vec<IndexFormula>,
    /// How many findings.
    pub findings: IndexTally,
}

/// One formula in the index.
#[derive(Debug, Serialize)]
pub struct IndexFormula {
    /// Id.
    pub id: String,
    /// Title.
    pub title: String,
    /// Product type.
    pub product: String,
    /// Its sheet.
    pub href: String,
    /// Active matter, or empty.
    pub active: String,
    /// The batch.
    pub batch: String,
    /// The pH of its specification, or empty.
    pub ph: String,
}

/// Counts of findings.
#[derive(Debug, Default, Serialize)]
pub struct IndexTally {
    /// Cautions other than those of handling, which every page with powders has.
    pub cautions: usize,
    /// Questions.
    pub questions: usize,
    /// Notes.
    pub notes: usize,
}

/// The line at the foot of every page that makes something.
pub const CLOSING: &str = "The safety data sheets of the lots in hand come first when anything is weighed or heated. \
Before anybody uses it, patch test it on yourself; only a challenge test shows that a preservative holds. Local rules and \
licensed practice come before anything on this page.";
