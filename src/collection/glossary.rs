//! Terms of the trade: the collection's own glossary, which is the definition lists of one of its notebooks, and behind it the terms
//! that come with the program.

use super::assemble::relative;
use super::lists::WORDS;
use super::{Collection, Entry, SETTINGS_PATH};
use crate::material::TradeTerm;
use crate::model::Settings;
use crate::notebook::{TermLink, page_path_of, term_key};
use crate::page::TermContext;
use crate::report::{Finding, Place, echo, kind, suggestion};
use crate::stamp::Stamp;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, LazyLock};

/// The terms of the program by their keys.
static TRADE: LazyLock<BTreeMap<String, usize>> = LazyLock::new(|| {
    let terms = TradeTerm::all().iter().enumerate();
    terms.flat_map(|(index, term)| term.names().map(move |name| (term_key(name), index))).collect()
});

/// Where a term is explained, by index there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Explained {
    /// In the collection's own glossary.
    Own(usize),
    /// Among the terms that come with the program.
    Trade(usize),
}

/// The terms of the collection's own glossary by their keys.
#[derive(Default)]
pub(super) struct Glossary {
    path: Option<Arc<str>>,
    terms: BTreeMap<String, usize>,
    /// Hash over names and anchors, and over which notebook it is.
    pub(super) stamp: u64,
}

impl Glossary {
    pub(super) fn new(settings: &Settings, entries: &BTreeMap<Arc<str>, Entry>) -> Glossary {
        let Some(path) = &settings.glossary else { return Glossary::default() };
        let Some((path, entry)) = entries.get_key_value(path.value.as_str()) else { return Glossary::default() };
        let mut terms = BTreeMap::new();
        let mut stamp = Stamp::new().text(path);
        for (index, term) in entry.notebook.glossary.iter().enumerate() {
            stamp = stamp.text(&term.title).text(&term.anchor);
            for name in term.names() {
                terms.entry(term_key(name)).or_insert(index);
            }
        }
        Glossary { path: Some(Arc::clone(path)), terms, stamp: stamp.value() }
    }

    /// Whether a notebook is the glossary.
    pub(super) fn is_at(&self, path: &str) -> bool {
        self.path.as_deref() == Some(path)
    }
}

impl Collection {
    /// What is wrong with the setting itself.
    pub(super) fn faults_of_glossary(&self) -> Option<Finding> {
        let named = self.settings.glossary.as_ref()?;
        let place = Place { path: SETTINGS_PATH.into(), span: named.place.span.clone() };
        let shown = echo(&named.value);
        match self.entries.get(named.value.as_str()) {
            None => Some(
                Finding::new(kind::BROKEN_LINK, place, format!("`{shown}` is not a notebook of this collection."))
                    .because("`glossary` is the notebook whose definition lists explain the terms.")
                    .mend(suggestion(
                        &named.value,
                        self.sources.notebooks.keys().map(|path| &**path),
                        "Write the path from the collection's folder, with its ending.",
                    )),
            ),
            Some(entry) if entry.notebook.glossary.is_empty() => Some(
                Finding::new(kind::WRONG_VALUE, place, format!("`{shown}` has no definition list, so it explains no term."))
                    .mend("Write each term on a line of its own, and below it a line with a colon, a space and what it means."),
            ),
            Some(_) => None,
        }
    }

    /// Where a term is explained.
    pub(super) fn explained(&self, link: &TermLink) -> Option<Explained> {
        let key = term_key(&link.asked);
        let own = self.glossary.terms.get(&key).map(|index| Explained::Own(*index));
        own.or_else(|| TRADE.get(&key).map(|index| Explained::Trade(*index)))
    }

    /// Goes on with where a term is explained; what is suggested for one that is not hangs on all names.
    pub(super) fn stamp_term(&self, stamp: Stamp, link: &TermLink) -> Stamp {
        match self.explained(link) {
            Some(Explained::Own(index)) => stamp.number(1).number(index as u64),
            Some(Explained::Trade(index)) => stamp.number(2).number(index as u64),
            None => stamp.number(0).number(self.glossary.stamp),
        }
    }

    /// The finding for a term that is explained nowhere.
    pub(super) fn unknown_term(&self, link: &TermLink) -> Finding {
        let shown = echo(&link.asked);
        let what = match link.asked.is_empty() {
            true => "This link asks for no term.".to_owned(),
            false => format!("No term is called `{shown}`."),
        };
        let own =
            self.own_glossary().into_iter().flat_map(|entry| &entry.notebook.glossary).flat_map(|term| term.names());
        let trade = TradeTerm::all().iter().flat_map(TradeTerm::names);
        let known: BTreeSet<&str> = own.chain(trade).collect();
        let finding = Finding::new(kind::UNKNOWN_TERM, link.place.clone(), what);
        finding.mend(suggestion(&link.asked, known, kind::UNKNOWN_TERM.mend))
    }

    pub(super) fn own_glossary(&self) -> Option<&Entry> {
        self.entries.get(self.glossary.path.as_ref()?)
    }

    /// Terms that the glossary explains a second time.
    pub(super) fn terms_twice(&self, entry: &Entry) -> Vec<Finding> {
        let path = &entry.notebook.path;
        let mut findings = Vec::new();
        for (index, term) in entry.notebook.glossary.iter().enumerate() {
            for name in term.names() {
                let first = self.glossary.terms.get(&term_key(name)).copied().unwrap_or(index);
                if let Some(earlier) = entry.notebook.glossary.get(first).filter(|_| first < index) {
                    let place = |span: &std::ops::Range<usize>| Place { path: Arc::clone(path), span: span.clone() };
                    let what = format!("`{}` is explained above already.", echo(name));
                    findings.push(
                        Finding::new(kind::TERM_TWICE, place(&term.span), what)
                            .also_at(place(&earlier.span), "the first one"),
                    );
                }
            }
        }
        findings
    }

    /// What the links to terms of a page lead to. Each meaning is told beside the first link to it; the glossary itself tells all.
    pub(super) fn term_contexts(&self, path: &str, entry: &Entry) -> Vec<Option<TermContext>> {
        let mut told: Vec<Explained> = Vec::new();
        entry
            .terms
            .iter()
            .map(|explained| {
                let explained = (*explained)?;
                let is_new = !told.contains(&explained);
                told.push(explained);
                self.term_context(path, explained, is_new)
            })
            .collect()
    }

    fn term_context(&self, from: &str, explained: Explained, is_new: bool) -> Option<TermContext> {
        match explained {
            Explained::Own(index) => {
                let home = self.own_glossary()?;
                let term = home.notebook.glossary.get(index)?;
                let is_here = self.glossary.is_at(from);
                let page = if is_here { String::new() } else { relative(from, &page_path_of(&home.notebook.path)) };
                let says = home.filled(&term.definition).trim().to_owned();
                Some(TermContext {
                    name: term.title.clone(),
                    is_told: is_new && !is_here && !says.is_empty(),
                    says,
                    source: String::new(),
                    href: format!("{page}#{}", super::assemble::percent_encoded(&term.anchor)),
                })
            }
            Explained::Trade(index) => {
                let term = TradeTerm::all().get(index)?;
                Some(TermContext {
                    name: term.name.clone(),
                    says: term.says.clone(),
                    source: term.source_line(),
                    href: format!("{}#{}", relative(from, WORDS), word_anchor(term)),
                    is_told: is_new,
                })
            }
        }
    }

    /// Whether any link leads to the terms of the program.
    pub(super) fn needs_words(&self) -> bool {
        let mut terms = self.entries.values().flat_map(|entry| &entry.terms);
        terms.any(|term| matches!(term, Some(Explained::Trade(_))))
    }
}

/// The anchor of a term on the page of the program's terms.
pub(super) fn word_anchor(term: &TradeTerm) -> String {
    format!("term-{}", term_key(&term.name))
}
