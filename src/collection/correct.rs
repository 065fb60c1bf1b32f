//! Numbers in the text of notebooks brought up to date: which bytes say something else than the page, and what they should say.

use super::links::Linked;
use super::{Collection, Entry, stale};
use crate::notebook::{CalcLink, Notebook};
use crate::page::value_text_in;
use std::ops::Range;
use std::sync::Arc;

/// One number to be written anew.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rewrite {
    /// Its bytes in the notebook.
    pub span: Range<usize>,
    /// What stands there.
    pub old: String,
    /// What is to stand there.
    pub new: String,
}

/// A notebook with its numbers brought up to date.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Correction {
    /// The notebook.
    pub path: Arc<str>,
    /// What changes, in the order of the text.
    pub rewrites: Vec<Rewrite>,
    /// The whole text afterwards.
    pub text: String,
}

/// A number that went stale and stays as it is, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftStale {
    /// The notebook.
    pub path: Arc<str>,
    /// Its bytes.
    pub span: Range<usize>,
    /// Why.
    pub why: &'static str,
}

/// What `correct` does to a collection.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Corrections {
    /// The notebooks that change, by path.
    pub corrections: Vec<Correction>,
    /// What has to be written by hand.
    pub left: Vec<LeftStale>,
    /// How many calc links have no figure, because of errors.
    pub without_figure: usize,
}

impl Collection {
    /// The numbers between brackets that say something else than the figures they link to, and empty brackets.
    pub fn corrections(&self) -> Corrections {
        let mut all = Corrections::default();
        for (path, entry) in &self.entries {
            let rewrites = rewrites_of(entry, &mut all);
            if rewrites.is_empty() {
                continue;
            }
            let text = rewritten(&entry.notebook.text, &rewrites);
            let again = Notebook::read(path, &Arc::from(text.as_str()), entry.options, &self.sources().row_files);
            if is_as_meant(entry, &again) {
                all.corrections.push(Correction { path: Arc::clone(path), rewrites, text });
            } else {
                let why = "written there, it would change how the Markdown around it is read";
                all.left.extend(rewrites.into_iter().map(|one| LeftStale {
                    path: Arc::clone(path),
                    span: one.span,
                    why,
                }));
            }
        }
        all
    }
}

fn rewrites_of(entry: &Entry, all: &mut Corrections) -> Vec<Rewrite> {
    let mut rewrites = Vec::new();
    for (link, linked) in entry.notebook.calc_links.iter().zip(&entry.numbers) {
        let Some(linked) = linked else {
            all.without_figure += 1;
            continue;
        };
        let shown = shown(linked);
        // Empty brackets are right as they are where nothing can be written between them.
        let is_empty = link.text.trim().is_empty() && link.can_be_rewritten;
        if !is_empty && stale::check(link, &linked.figure.value, &shown).is_none() {
            continue;
        }
        if !link.can_be_rewritten {
            let why = "it stands in code, or is the name of a link given elsewhere";
            all.left.push(LeftStale { path: link.place.path.clone(), span: link.text_span.clone(), why });
            continue;
        }
        let old = entry.notebook.text.get(link.text_span.clone()).unwrap_or_default().to_owned();
        rewrites.push(Rewrite { span: link.text_span.clone(), new: as_markdown(&shown, &old), old });
    }
    rewrites
}

fn shown(linked: &Linked) -> String {
    value_text_in(&linked.figure.value, linked.unit, linked.digits)
}

/// A text as it is typed: with the spaces that the author types, and a backslash before what Markdown would read.
fn as_markdown(shown: &str, old: &str) -> String {
    let keeps_no_break = old.contains('\u{a0}');
    let mut out = String::with_capacity(shown.len());
    for c in shown.chars() {
        match c {
            '\u{a0}' if !keeps_no_break => out.push(' '),
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '&' | '|' | '~' => out.extend(['\\', c]),
            _ => out.push(c),
        }
    }
    out
}

fn rewritten(text: &str, rewrites: &[Rewrite]) -> String {
    let mut out = String::with_capacity(text.len() + 16);
    let mut done = 0;
    for rewrite in rewrites {
        out.push_str(text.get(done..rewrite.span.start).unwrap_or_default());
        out.push_str(&rewrite.new);
        done = rewrite.span.end;
    }
    out.push_str(text.get(done..).unwrap_or_default());
    out
}

/// Whether the new text reads as the old one did, but for its numbers: the same blocks, the same calc links, and in each
/// of them a text that is right now, or was not to be touched.
fn is_as_meant(entry: &Entry, again: &Notebook) -> bool {
    let old = &entry.notebook;
    let blocks = |notebook: &Notebook| -> Vec<String> {
        let spans =
            notebook.formulas.iter().map(|block| &block.place).chain(notebook.blocks.iter().map(|one| &one.place));
        spans.map(|place| notebook.text.get(place.span.clone()).unwrap_or_default().to_owned()).collect()
    };
    let agrees = |(link, (before, linked)): (&CalcLink, (&CalcLink, &Option<Linked>))| {
        let is_right = |linked: &Linked| {
            !link.text.trim().is_empty() && stale::check(link, &linked.figure.value, &shown(linked)).is_none()
        };
        link.written == before.written && (link.text == before.text || linked.as_ref().is_some_and(is_right))
    };
    let links = old.calc_links.iter().zip(&entry.numbers);
    again.calc_links.len() == old.calc_links.len()
        && blocks(old) == blocks(again)
        && old.links.len() == again.links.len()
        && again.calc_links.iter().zip(links).all(agrees)
}
