//! Terms of the trade, for links to words that a collection's own glossary does not explain: `catalogue/terms.toml`.

use super::Known;
use super::read::named_tables;
use crate::block::{Cutting, Reader};
use crate::report::Finding;
use std::sync::{Arc, LazyLock};

const FILE: (&str, &str) = ("terms.toml", include_str!("catalogue/terms.toml"));

static BUILT_IN: LazyLock<(Vec<TradeTerm>, Vec<Finding>)> = LazyLock::new(read);

/// A term with what it means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TradeTerm {
    /// The term.
    pub name: String,
    /// Other words for it.
    pub also: Vec<String>,
    /// What it means, in our own sentences.
    pub says: String,
    /// The document that defines it, where one does.
    pub source: Option<String>,
    /// How that is known.
    pub how: Known,
}

impl TradeTerm {
    /// Every term, by its name.
    pub fn all() -> &'static [TradeTerm] {
        &BUILT_IN.0
    }

    /// What is wrong with the entries; nothing, or a test fails.
    pub fn faults() -> &'static [Finding] {
        &BUILT_IN.1
    }

    /// Its names, the chief one first.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        std::iter::once(self.name.as_str()).chain(self.also.iter().map(String::as_str))
    }

    /// Where its meaning comes from, in words.
    pub fn source_line(&self) -> String {
        match &self.source {
            Some(source) => format!("{source}, {}", self.how.words()),
            None => self.how.words().to_owned(),
        }
    }
}

fn read() -> (Vec<TradeTerm>, Vec<Finding>) {
    let cutting = Cutting::whole_file(&Arc::from(FILE.0), FILE.1);
    Reader::read(&cutting, |_, root| {
        let mut terms: Vec<TradeTerm> = named_tables(&root, "term")
            .into_iter()
            .map(|(name, table)| {
                let how = table.text("how").and_then(|word| Known::from_word(&word.value)).unwrap_or(Known::Memory);
                let term = TradeTerm {
                    name: name.value,
                    also: table.texts("also").into_iter().map(|text| text.value).collect(),
                    says: table.text("says").map(|text| text.value).unwrap_or_default(),
                    source: table.text("source").map(|text| text.value),
                    how,
                };
                table.finish();
                term
            })
            .collect();
        root.finish();
        terms.sort_by_key(|term| term.name.to_lowercase());
        terms
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::notebook::term_key;
    use std::collections::BTreeSet;

    #[test]
    fn every_term_is_explained_once_in_sentences() {
        assert_eq!(TradeTerm::faults(), []);
        let mut keys = BTreeSet::new();
        for term in TradeTerm::all() {
            assert!(term.says.ends_with('.') && term.says.len() > 20, "{}", term.name);
            assert!(term.source.is_some() || term.how == Known::CommonPractice, "{}", term.name);
            assert!(term.names().all(|name| keys.insert(term_key(name))), "{} stands twice", term.name);
        }
        assert!(keys.len() > 40);
    }
}
