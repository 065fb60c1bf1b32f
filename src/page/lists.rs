//! The pages by which a collection is looked up: by product type, by finding, by word, and the search.

use super::{FindingContext, PageLink, Site};
use serde::Serialize;

/// What every page of this kind is given; `P` is its own part.
#[derive(Debug, Serialize)]
pub struct ListContext<'a, P: Serialize> {
    /// The collection.
    pub site: &'a Site,
    /// Prefix to the output's root.
    pub root: &'static str,
    /// Its title.
    pub here: String,
    /// The ways to look something up.
    pub lookup: Vec<LookUp>,
    /// Its parts when there are several pages of it.
    pub pages: Vec<LookUp>,
    /// What it lists.
    pub list: P,
    /// Errors outside the notebooks, only while watching.
    pub errors: Vec<FindingContext>,
    /// Version of the program.
    pub version: &'static str,
}

/// A way to look something up.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LookUp {
    /// Its title.
    pub title: String,
    /// Its address.
    pub href: String,
    /// Whether it is this page.
    pub is_here: bool,
}

/// Formulas of a product type.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ProductGroup {
    /// The product type, or empty.
    pub product: String,
    /// Its anchor.
    pub anchor: String,
    /// Whether it goes on from the page before.
    pub goes_on: bool,
    /// Its formulas.
    pub formulas: Vec<ProductRow>,
}

/// A formula in the list of product types.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ProductRow {
    /// Its title.
    pub title: String,
    /// Its sheet.
    pub href: String,
    /// Its notebook, where that has another title.
    pub notebook: String,
    /// Its batch.
    pub batch: String,
    /// Its active matter, or empty.
    pub active: String,
    /// The pH of its specification, or empty.
    pub ph: String,
}

/// Notebooks with one kind of finding.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FoundGroup {
    /// caution, question or note.
    pub severity: &'static str,
    /// Its name, which is its anchor too.
    pub name: &'static str,
    /// What it is.
    pub summary: &'static str,
    /// Whether it goes on from the page before.
    pub goes_on: bool,
    /// Where it was found.
    pub places: Vec<FoundPlace>,
}

/// A place where something was found.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FoundPlace {
    /// The notebook.
    pub notebook: String,
    /// The part of its page.
    pub href: String,
    /// What was found there.
    pub what: String,
}

/// Notebooks of one folder.
#[derive(Debug, Serialize)]
pub struct FolderGroup {
    /// The folder, empty for the top.
    pub folder: String,
    /// Its anchor.
    pub anchor: String,
    /// Whether it goes on from the page before.
    pub goes_on: bool,
    /// Its notebooks.
    pub notebooks: Vec<PageLink>,
}

/// A term of the trade.
#[derive(Debug, Serialize)]
pub struct WordRow {
    /// Its anchor.
    pub anchor: String,
    /// Its names.
    pub names: String,
    /// What it means.
    pub says: &'static str,
    /// Where that comes from.
    pub source: String,
}

/// A jump to a part of a long list.
pub type Jump = PageLink;
