//! A notebook: Markdown into prose and blocks, each with its bytes.
//!
//! The Markdown is read once. The prose becomes HTML cut at *slots*, the places where something computed will stand: a number
//! in a sentence, a formula sheet, the aside of a paragraph. Links, anchors and calc links are gathered with their places.
//! Nothing is looked up here; that is the work of later stations.

mod address;
mod attributes;
mod clean;
mod link;
mod prose;
mod runs;
mod slug;
mod terms;
mod words;

pub(crate) use address::percent_decoded;
pub use address::{CalcLink, Query, read_calc_address};
pub(crate) use attributes::{Tag, decoded as attribute_decoded, tags as html_tags};
pub(crate) use link::resolve as resolve_address;
pub use link::{LinkKind, LocalLink, is_notebook as is_notebook_path, is_safe_address, page_path as page_path_of};
pub use prose::{AsideBlock, HeadingLine, Slot};
pub use runs::{GAP, Meant, ProseBlock, ProseText, Stretch};
pub use terms::{Term, TermLink, term_key};
pub use words::Words;

use crate::block::{Block, FORMULA, FormulaBlock, RowFiles, read_block, read_formula};
use crate::report::Finding;
use std::collections::BTreeSet;
use std::sync::Arc;

/// One notebook, read.
#[derive(Clone, Debug)]
pub struct Notebook {
    /// Path from the collection's folder, with `/`.
    pub path: Arc<str>,
    /// The text.
    pub text: Arc<str>,
    /// The first first-level heading, or the file's name.
    pub title: Words,
    /// Whether the title stands in the text as a first-level heading.
    pub has_title: bool,
    /// The first paragraph as plain text, cut at a sentence.
    pub summary: Words,
    /// The prose as HTML between slots: `pieces.len() == slots.len() + 1`.
    pub pieces: Vec<String>,
    /// What stands between the pieces.
    pub slots: Vec<Slot>,
    /// Asides of top-level blocks, by index.
    pub asides: Vec<AsideBlock>,
    /// Formula blocks in order.
    pub formulas: Vec<FormulaBlock>,
    /// Blocks of other kinds in order.
    pub blocks: Vec<Block>,
    /// Calc links in order.
    pub calc_links: Vec<CalcLink>,
    /// Links to local files and parts.
    pub links: Vec<LocalLink>,
    /// The prose as plain text, for checks that read sentences.
    pub prose: ProseText,
    /// Headings in order.
    pub headings: Vec<HeadingLine>,
    /// Links to terms in order.
    pub terms: Vec<TermLink>,
    /// What its definition lists explain.
    pub glossary: Vec<Term>,
    /// Anchors that links may point at.
    pub anchors: BTreeSet<String>,
    /// What is wrong with the text itself.
    pub findings: Vec<Finding>,
}

/// How a notebook is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReadOptions {
    /// Whether raw HTML is passed through as written.
    pub trust_html: bool,
}

impl Notebook {
    /// Reads a notebook, with the files that its blocks may read rows from. Never fails: every text is a notebook.
    pub fn read(path: &Arc<str>, text: &Arc<str>, options: ReadOptions, row_files: &RowFiles) -> Notebook {
        let prose = prose::read(path, text, options);
        let mut findings = prose.findings;
        let (mut formulas, mut blocks) = (Vec::with_capacity(prose.cuttings.len()), Vec::new());
        for (word, cutting) in &prose.cuttings {
            let found = if *word == FORMULA {
                let (formula, found) = read_formula(cutting);
                formulas.push(formula);
                found
            } else {
                let (block, found) = read_block(word, cutting, row_files);
                blocks.push(block);
                found
            };
            findings.extend(found);
        }
        let has_title = prose.title.is_some();
        let title = prose.title.unwrap_or_else(|| Words::plain(&link::file_stem(path).replace('-', " ")));
        Notebook {
            path: Arc::clone(path),
            text: Arc::clone(text),
            title,
            has_title,
            summary: prose.summary,
            pieces: prose.pieces,
            slots: prose.slots,
            asides: prose.asides,
            formulas,
            blocks,
            calc_links: prose.calc_links,
            links: prose.links,
            prose: prose.prose,
            headings: prose.headings,
            terms: prose.terms,
            glossary: prose.glossary,
            anchors: prose.anchors,
            findings,
        }
    }

    /// The files that its blocks read rows from, whether they are there or not.
    pub fn row_files(&self) -> impl Iterator<Item = &Arc<str>> {
        self.blocks.iter().flat_map(|block| &block.row_files)
    }

    /// Where the notebook's page goes: the path with `.html`.
    pub fn page_path(&self) -> String {
        link::page_path(&self.path)
    }
}
