//! Terms of the trade: links that ask for one, and the definition lists that explain them.

use super::words::Words;
use crate::report::Place;
use std::ops::Range;

/// What the address of a link to a term begins with.
pub(super) const TERM: &str = "term:";

/// A link to a term, `[the betaine](term:amphoteric)`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TermLink {
    /// The whole link.
    pub place: Place,
    /// The term that is asked for: what stands after `term:`, or the text of the link.
    pub asked: String,
}

/// A term of a definition list with what is said of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Term {
    /// The whole line of the term. Several names for one thing are separated by commas.
    pub title: String,
    /// Its anchor on the page.
    pub anchor: String,
    /// What it means.
    pub definition: Words,
    /// The line of the term.
    pub span: Range<usize>,
}

impl Term {
    /// The names on its line.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.title.split(',').map(str::trim).filter(|name| !name.is_empty())
    }
}

/// What two spellings of a term have in common: its letters and digits in lower case, so that `q.s.`, `QS` and `q. s.` are one.
pub fn term_key(name: &str) -> String {
    name.chars().filter(|character| character.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings_of_a_term_have_one_key() {
        for (one, other) in [("q.s.", "QS"), ("Leave-on", "leave on"), ("INCI name", "inci-name")] {
            assert_eq!(term_key(one), term_key(other));
        }
        assert_ne!(term_key("phase"), term_key("phases"));
    }
}
