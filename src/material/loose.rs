//! How sentences speak of a formula's figures: the word list `catalogue/loose.toml`, read once.
//!
//! The list is data; judging a text by it is the work of `caution/loose/`.

use super::claims::read_words;
use super::patterns::Patterns;
use crate::block::{Cutting, Reader, Table};
use crate::report::Finding;
use std::collections::BTreeMap;
use std::sync::LazyLock;

const FILE: &str = include_str!("catalogue/loose.toml");

static BUILT_IN: LazyLock<(LooseWords, Vec<Finding>)> = LazyLock::new(|| read(FILE));

/// Words in a row that are taken as one.
pub type Phrase = Vec<String>;

/// The word list, ready for matching.
#[derive(Debug, Default)]
pub struct LooseWords {
    /// In a sentence these say that its numbers are no figures of the formula as it stands.
    pub elsewhere: Patterns,
    /// The same for a clause.
    pub elsewhere_near: Patterns,
    /// The same where no strong mark parts them from the number.
    pub elsewhere_past: Patterns,
    /// Things that are called after a kind of product and are none.
    pub not_products: Patterns,
    /// Right before a number these give it another meaning.
    pub before_number: Patterns,
    /// Right before a number these make it a rough one.
    pub about: Patterns,
    /// Right after a number these give it another meaning.
    pub after_number: Patterns,
    /// Of these, those that mean the formula as a whole.
    pub of_the_whole: Patterns,
    /// What may follow a number that is said of the name before it.
    pub tail: Patterns,
    /// Right after a name these make another thing of it.
    pub after_name: Patterns,
    /// Right before a name these make another thing or a part of it.
    pub before_name: Patterns,
    /// In headings, and in lines that end with a colon, these hold for what follows.
    pub sections: Patterns,
    /// Signs of money.
    pub money: Vec<String>,
    /// Say that something is in something.
    pub holds: Vec<Phrase>,
    /// What may be the formula where something is in it.
    pub formula_words: Vec<String>,
    /// Verbs that put something in: "stir in the glycerin".
    pub adding: Vec<String>,
    /// Kinds of product, as single words.
    pub product_words: Vec<String>,
    /// Stand before "of" and a name, and mean its amount.
    pub amounts: Vec<String>,
    /// Stand between two ways of saying one quantity.
    pub same: Vec<Phrase>,
    /// Heads of columns that hold figures of the formula.
    pub columns: Vec<Phrase>,
    /// Words that take a part out of the whole, between a quantity and a name.
    pub part_of: Vec<Phrase>,
    /// What may stand between a quantity and a name, by kind of name.
    joins: BTreeMap<&'static str, Vec<Phrase>>,
    /// In a sentence about a pH these show that the specification is meant.
    pub ph_meant: Patterns,
    /// These show that something else is.
    pub ph_not_meant: Patterns,
    /// Names of totals, by what they mean.
    names: BTreeMap<&'static str, Vec<Phrase>>,
    /// Last words of names that mean too much alone.
    pub too_wide: Vec<String>,
    /// Last words of names that may be left away.
    pub kinds: Vec<String>,
    /// What a function of raw materials is called.
    pub functions: Vec<(String, Vec<Phrase>)>,
    /// Other names of raw materials, by the beginning of their id.
    pub spellings: Vec<(String, Vec<Phrase>)>,
}

const JOINS: [&str; 8] = ["to-name", "to-number", "phase", "content", "batch", "sum", "making", "ph"];
const NAMES: [&str; 6] = ["active", "water", "batch", "sum", "making", "ph"];
impl LooseWords {
    /// The built-in word list.
    pub fn built_in() -> &'static LooseWords {
        &BUILT_IN.0
    }

    /// What may stand between a quantity and a name of this kind.
    pub fn joins(&self, kind: &str) -> &[Phrase] {
        self.joins.get(kind).map_or(&[], Vec::as_slice)
    }

    /// What this total is called.
    pub fn names(&self, kind: &str) -> &[Phrase] {
        self.names.get(kind).map_or(&[], Vec::as_slice)
    }
}

fn phrases(table: &Table<'_, '_>, key: &'static str) -> Vec<Phrase> {
    table.texts(key).iter().map(|text| text.value.split(' ').map(str::to_owned).collect()).collect()
}

/// What something is called: "fragrance: perfume, scent".
fn called(table: &Table<'_, '_>, key: &'static str) -> Vec<(String, Vec<Phrase>)> {
    let texts = table.texts(key).into_iter().map(|text| text.value);
    texts
        .filter_map(|text| {
            let (what, names) = text.split_once(": ")?;
            let names = names.split(", ").map(|name| name.split(' ').map(str::to_owned).collect());
            Some((what.to_owned(), names.collect()))
        })
        .collect()
}

fn read(text: &str) -> (LooseWords, Vec<Finding>) {
    let cutting = Cutting::whole_file(&"catalogue/loose.toml".into(), text);
    Reader::read(&cutting, |reader, root| {
        let none = BTreeMap::new();
        let patterns = |table: &Table<'_, '_>, key| Patterns::new(read_words(reader, table.texts(key), &none));
        let plain = |key| root.texts(key).into_iter().map(|text| text.value).collect();
        let mut words = LooseWords {
            elsewhere: patterns(&root, "elsewhere"),
            elsewhere_near: patterns(&root, "elsewhere-near"),
            elsewhere_past: patterns(&root, "elsewhere-past"),
            not_products: patterns(&root, "not-products"),
            before_number: patterns(&root, "before-number"),
            about: patterns(&root, "about"),
            after_number: patterns(&root, "after-number"),
            of_the_whole: patterns(&root, "of-the-whole"),
            tail: patterns(&root, "tail"),
            after_name: patterns(&root, "after-name"),
            before_name: patterns(&root, "before-name"),
            sections: patterns(&root, "sections"),
            money: plain("money"),
            too_wide: plain("too-wide"),
            kinds: plain("kinds"),
            formula_words: plain("formula-words"),
            amounts: plain("amounts"),
            adding: plain("adding"),
            product_words: plain("product-words"),
            functions: called(&root, "functions"),
            spellings: called(&root, "spellings"),
            holds: phrases(&root, "holds"),
            same: phrases(&root, "same"),
            columns: phrases(&root, "columns"),
            ..LooseWords::default()
        };
        if let Some(table) = root.table("joins") {
            words.part_of = phrases(&table, "part-of");
            words.joins = JOINS.iter().map(|key| (*key, phrases(&table, key))).collect();
            table.finish();
        }
        if let Some(table) = root.table("ph") {
            words.ph_meant = patterns(&table, "meant");
            words.ph_not_meant = patterns(&table, "not-meant");
            table.finish();
        }
        if let Some(table) = root.table("names") {
            words.names = NAMES.iter().map(|key| (*key, phrases(&table, key))).collect();
            table.finish();
        }
        root.finish();
        words
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_read_without_a_finding() {
        let faults: Vec<String> = BUILT_IN.1.iter().map(|finding| format!("{finding:?}")).collect();
        assert!(faults.is_empty(), "{}", faults.join("\n"));
        let words = LooseWords::built_in();
        for kind in JOINS {
            assert!(!words.joins(kind).is_empty(), "{kind}");
        }
        for kind in NAMES {
            assert!(!words.names(kind).is_empty(), "{kind}");
        }
        assert!(words.functions.iter().chain(&words.spellings).all(|(_, names)| !names.is_empty()));
    }
}
