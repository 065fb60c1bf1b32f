//! What a sentence is about besides its names: another batch size, another formula of the notebook, a part of the whole, the pH
//! that is specified.

use super::compare::Subject;
use super::grammar::{Sentence, Statement};
use super::names::What;
use super::quantity::{Quantity, Unit};
use super::words::{any_begins, any_stands, phrase_end};
use crate::compute::{Computed, Figure};
use crate::notebook::Notebook;
use crate::quantity::Decimal;

/// The other batch sizes that a text has named so far, as a query writes them: `2kg`.
#[derive(Clone, Debug, Default)]
pub(super) struct Sizes {
    /// Of headings, and of lines with a colon: they hold for what follows.
    lasting: Vec<String>,
    /// Of this block.
    line: Vec<String>,
    /// Of the block before this one.
    before: Vec<String>,
}

/// Another size that a sentence speaks of.
#[derive(Clone, Debug)]
pub(super) struct Size {
    /// As a query writes it.
    pub query: String,
    /// Whether it is plainly that of a batch, and not of a sample or a vessel.
    pub is_batch: bool,
}

impl Sizes {
    pub(super) fn all(&self) -> impl Iterator<Item = &str> {
        self.lasting.iter().chain(&self.before).chain(&self.line).map(String::as_str)
    }

    pub(super) fn add(&mut self, sizes: &[Size]) {
        for size in sizes {
            if !self.all().any(|known| known == size.query) {
                self.line.push(size.query.clone());
            }
        }
    }

    /// A line ends; with a colon, or as a heading, what it named holds on.
    pub(super) fn end_line(&mut self, holds_on: bool) {
        if holds_on {
            self.lasting.append(&mut self.line);
        }
    }

    pub(super) fn next_block(&mut self) {
        self.before = std::mem::take(&mut self.line);
    }
}

/// The other batch sizes that a sentence speaks of.
pub(super) fn other_sizes(
    sentence: &Sentence<'_, '_, '_>,
    statements: &[Statement],
    own: Option<&Computed>,
) -> Vec<Size> {
    let mut sizes = Vec::new();
    for (index, quantity) in sentence.quantities.iter().enumerate() {
        let of_material = statements.iter().any(|one| {
            let what = sentence.names.get(one.name).map(|mention| mention.name.what);
            one.quantity == index && what != Some(What::Batch)
        });
        if of_material || !quantity.is_mass() || quantity.low != quantity.high {
            continue;
        }
        let Some(is_batch) = is_size(sentence, quantity) else { continue };
        let own = own.is_some_and(|computed| {
            let subject = Subject {
                computed,
                what: What::Batch,
                of: &[],
                in_phase: false,
                is_active: false,
                may_be_strength: false,
            };
            subject.figure(quantity.unit, None).is_some_and(|figure| subject.may_agree(quantity, &figure, None))
        });
        if !own {
            sizes.push(Size { query: query_of(quantity), is_batch });
        }
    }
    sizes
}

/// Whether the words of a sentence may speak of a size, whatever it names.
pub(super) fn may_name_a_size(sentence: &Sentence<'_, '_, '_>) -> bool {
    let mut masses = sentence.quantities.iter().filter(|quantity| quantity.is_mass() && quantity.low == quantity.high);
    masses.any(|quantity| is_size(sentence, quantity).is_some())
}

fn query_of(quantity: &Quantity) -> String {
    match quantity.unit {
        Unit::Mass(unit) => format!("{}{}", quantity.low.normalize(), unit.symbol()),
        Unit::Millilitres(factor) if factor == Decimal::ONE => format!("{}ml", quantity.low.normalize()),
        _ => format!("{}l", quantity.low.normalize()),
    }
}

/// Whether a mass is said as a size: plainly of a batch ("for 2 kg", "a 2 kg batch"), or of something ("10 g of the wash").
fn is_size(sentence: &Sentence<'_, '_, '_>, quantity: &Quantity) -> Option<bool> {
    let word = |at: Option<usize>, words: &[&str]| {
        at.and_then(|at| sentence.tokens.get(at)).is_some_and(|token| words.iter().any(|word| token.is(word)))
    };
    let back = |by: usize| quantity.first.checked_sub(by);
    let after = Some(quantity.tokens.end);
    let of_whole = any_begins(&sentence.words.of_the_whole, sentence.tokens, quantity.tokens.end);
    let articles = ["a", "the", "exactly", "just", "our", "this"];
    let is_batch = (word(back(1), &["for", "per"]) && !of_whole)
        || word(after, &["batch", "batches"])
        || (word(back(1), &["of"]) && word(back(2), &["batch", "batches", "size"]))
        || (word(back(1), &articles) && word(back(2), &["for", "per"]) && !of_whole);
    let is_some = of_whole
        || word(back(1), &["to", "in", "at", "those", "these", "such"])
        || word(after, &["lot", "recipe", "sample", "trial"])
        || (word(back(1), &articles) && word(back(2), &["of", "in"]));
    (is_batch || is_some).then_some(is_batch)
}

/// The formula of the notebook that a sentence names by its title or id, where that is one alone.
pub(super) fn named_formula(sentence: &Sentence<'_, '_, '_>, notebook: &Notebook) -> Option<usize> {
    if notebook.formulas.len() < 2 {
        return None;
    }
    let stands = |text: &str| {
        let words = text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
        let phrase: Vec<String> = words.map(str::to_lowercase).collect();
        !phrase.is_empty() && (0..sentence.tokens.len()).any(|at| phrase_end(&phrase, sentence.tokens, at).is_some())
    };
    let mut named =
        notebook.formulas.iter().enumerate().filter(|(_, block)| {
            stands(&block.id.value) || block.title.as_ref().is_some_and(|title| stands(&title.value))
        });
    let (first, _) = named.next()?;
    named.next().is_none().then_some(first)
}

/// Whether a part of the line may well be meant: "dissolve it in 10 g of water".
pub(super) fn is_portion(
    sentence: &Sentence<'_, '_, '_>,
    statement: &Statement,
    subject: &Subject<'_>,
    figure: &Figure,
) -> bool {
    let Some(quantity) = sentence.quantities.get(statement.quantity).filter(|_| statement.before) else { return false };
    let before = quantity.first.checked_sub(1).and_then(|at| sentence.tokens.get(at));
    let is = |words: &[&str]| before.is_some_and(|token| words.iter().any(|word| token.is(word)));
    if subject.is_less(quantity, figure) && is(&["in", "into", "with", "through", "onto", "over", "by"]) {
        return true;
    }
    // Water is taken in many portions and for many ends: only words that weigh all of it speak of the line.
    subject.is_water()
        && !is(&[
            "weigh", "out", "takes", "need", "needs", "holds", "contains", "is", "are", "hold", "contain", "take",
            "and",
        ])
}

/// Whether a sentence about a pH means the specification.
pub(super) fn is_specification(sentence: &Sentence<'_, '_, '_>) -> bool {
    any_stands(&sentence.words.ph_meant, sentence.tokens) && !any_stands(&sentence.words.ph_not_meant, sentence.tokens)
}
