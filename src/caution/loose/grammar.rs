//! Which quantity of a sentence is said of which name: by the words between them, never by mere nearness.

use super::names::{Name, Names, What};
use super::quantity::{Quantity, Unit};
use super::words::{Kind, Token, any_begins, phrase_end};
use crate::material::{LooseWords, Phrase};
use std::ops::Range;

/// Behind a comma these begin a clause.
const CLAUSES: [&str; 15] = [
    "and", "but", "so", "which", "while", "because", "whereas", "though", "although", "yet", "for", "since", "as",
    "where", "nor",
];

/// A name in a sentence.
#[derive(Clone, Debug)]
pub(super) struct Mention<'n> {
    pub name: &'n Name,
    pub tokens: Range<usize>,
}

/// A quantity that is said of a name, by index.
#[derive(Clone, Copy, Debug)]
pub(super) struct Statement {
    pub quantity: usize,
    pub name: usize,
    /// A part is taken out: "10 g of the glycerin".
    pub is_part: bool,
    /// The quantity stands before the name.
    pub before: bool,
    /// The active matter that a raw material brings is meant: "the taurate brings 7 % anionic".
    pub is_active: bool,
}

/// The names in a sentence. Those that are part of another thing's name stay among them as unclear ones.
pub(super) fn mentions<'n>(names: &'n Names, tokens: &[Token<'_>]) -> Vec<Mention<'n>> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        // "The latter" is the name before it.
        let latter = tokens
            .get(at)
            .filter(|token| token.is("latter"))
            .and(found.last().map(|mention: &Mention<'n>| mention.name));
        match latter.map(|name| (name, at + 1)).or_else(|| names.at(tokens, at)) {
            Some((name, end)) => {
                found.push(Mention { name, tokens: at..end });
                at = end;
            }
            None => at += 1,
        }
    }
    found
}

/// Everything that can be read off the words of a sentence.
#[derive(Clone, Copy)]
pub(super) struct Sentence<'s, 't, 'n> {
    pub words: &'s LooseWords,
    pub tokens: &'s [Token<'t>],
    pub quantities: &'s [Quantity],
    pub names: &'s [Mention<'n>],
}

impl Sentence<'_, '_, '_> {
    /// All statements. A quantity that could belong to two names belongs to none.
    pub(super) fn statements(&self) -> Vec<Statement> {
        let mut forward: Vec<Statement> = Vec::new();
        let mut backward: Vec<Statement> = Vec::new();
        for (index, quantity) in self.quantities.iter().enumerate() {
            forward.extend(self.name_after(index, quantity));
        }
        for (index, mention) in self.names.iter().enumerate() {
            // "3 % glycerin, 1 % panthenol": the name has its number already.
            if !forward.iter().any(|one| one.name == index) {
                backward.extend(self.number_after(index, mention));
            }
        }
        let claims = |list: &[Statement], one: &Statement| {
            list.iter().any(|other| other.quantity == one.quantity && other.name != one.name)
        };
        // "They come to a round sum: the total is 110 g": the nearer of two words for one thing.
        let what = |one: &Statement| self.names.get(one.name).map(|mention| mention.name.what);
        let nearer = |one: &Statement| {
            backward
                .iter()
                .any(|other| other.quantity == one.quantity && other.name > one.name && what(other) == what(one))
        };
        let farther: Vec<bool> = backward.iter().map(|one| what(one) == Some(What::Sum) && nearer(one)).collect();
        let mut farther = farther.into_iter();
        backward.retain(|_| !farther.next().unwrap_or_default());
        let mut statements: Vec<Statement> = Vec::new();
        statements.extend(forward.iter().filter(|one| !claims(&backward, one)).copied());
        statements.extend(backward.iter().filter(|one| !claims(&forward, one) && !claims(&backward, one)).copied());
        for one in &backward {
            let is =
                |number: usize, wanted: fn(What) -> bool| self.names.get(number).is_some_and(|m| wanted(m.name.what));
            let mut others = forward.iter().filter(|other| other.quantity == one.quantity);
            let of_active = others.any(|other| is(other.name, |what| matches!(what, What::Active(_))));
            if of_active && is(one.name, |what| what == What::Material) {
                statements.push(Statement { is_active: true, ..*one });
            }
        }
        statements.sort_by_key(|one| one.quantity);
        statements.retain(|one| self.is_sound(one));
        let doubles: Vec<Statement> = statements.iter().filter_map(|one| self.said_again(one)).collect();
        statements.extend(doubles.into_iter().filter(|one| !self.is_taken(one.quantity, &forward, &backward)));
        statements
    }

    fn is_taken(&self, quantity: usize, forward: &[Statement], backward: &[Statement]) -> bool {
        forward.iter().chain(backward).any(|one| one.quantity == quantity)
    }

    /// The same once more in another unit: "15 g (3 %)", "3 % glycerin (15 g)".
    fn said_again(&self, one: &Statement) -> Option<Statement> {
        let quantity = self.quantities.get(one.quantity)?;
        let name = &self.names.get(one.name)?.tokens;
        let leads = |from: usize, to: usize| {
            self.words.same.iter().any(|phrase| phrase_end(phrase, self.tokens, from) == Some(to))
        };
        let index = self.quantities.iter().position(|other| {
            let is_other = other.is_mass() != quantity.is_mass() && other.unit != Unit::None;
            let after = leads(quantity.tokens.end, other.first) || (one.before && leads(name.end, other.first));
            let before = one.before && leads(other.tokens.end, quantity.first);
            is_other && (after || before)
        })?;
        let again = self.quantities.get(index)?;
        let end = again.tokens.end;
        let goes_on = self.tokens.get(end).is_some_and(|token| token.kind != Kind::Mark)
            && !any_begins(&self.words.tail, self.tokens, end)
            && !one.before;
        (!goes_on).then_some(Statement { quantity: index, ..*one })
    }

    /// "12 g of glycerin": the name that a quantity leads to.
    pub(super) fn name_after(&self, index: usize, quantity: &Quantity) -> Option<Statement> {
        let starts = |at: usize| self.names.iter().position(|mention| mention.tokens.start == at);
        // "15 g (3 %) of glycerin"
        let opened =
            quantity.first.checked_sub(1).and_then(|at| self.tokens.get(at)).is_some_and(|token| token.is_mark('('));
        let closed = self.tokens.get(quantity.tokens.end).is_some_and(|token| token.is_mark(')'));
        let end = quantity.tokens.end + usize::from(opened && closed);
        let material = |number: &usize| {
            self.names
                .get(*number)
                .is_some_and(|mention| mention.name.what == What::Material || mention.name.what == What::Unclear)
        };
        let found = |number: usize, is_part: bool| Statement {
            quantity: index,
            name: number,
            is_part,
            before: true,
            is_active: false,
        };
        if let Some(number) = starts(end) {
            let what = self.names.get(number)?.name.what;
            let goes = matches!(what, What::Material | What::Active(_) | What::Unclear);
            return goes.then(|| found(number, false));
        }
        let by_phrase = |phrases: &[Phrase]| {
            let ends = phrases.iter().filter_map(|phrase| phrase_end(phrase, self.tokens, end));
            ends.filter_map(starts).next()
        };
        if let Some(number) = by_phrase(self.words.joins("to-name")) {
            let what = self.names.get(number)?.name.what;
            let goes = matches!(what, What::Material | What::Active(_) | What::Unclear | What::Phase);
            return goes.then(|| found(number, false));
        }
        if self.is_article(end)
            && let Some(number) = starts(end + 1)
        {
            return material(&number).then(|| found(number, false));
        }
        by_phrase(&self.words.part_of)
            .filter(|number| material(number) || self.is_phase(*number))
            .map(|number| found(number, true))
    }

    fn is_phase(&self, number: usize) -> bool {
        self.names.get(number).is_some_and(|mention| mention.name.what == What::Phase)
    }

    /// "Glycerin makes up 3 %": the quantity that a name leads to.
    fn number_after(&self, index: usize, mention: &Mention<'_>) -> Option<Statement> {
        let joins = match mention.name.what {
            What::Material | What::Unclear => "to-number",
            What::Phase => "phase",
            What::Active(_) | What::Water => "content",
            What::Batch => "batch",
            What::Sum => "sum",
            What::Making => "making",
            What::Ph => "ph",
        };
        let joins = self.words.joins(joins);
        let mut ends = vec![mention.tokens.end];
        let mut reached = Vec::new();
        // At most five phrases in a row.
        for _ in 0..5 {
            let mut next: Vec<usize> = Vec::new();
            for at in ends {
                for phrase in joins {
                    let end = phrase_end(phrase, self.tokens, at).filter(|end| !next.contains(end));
                    next.extend(end);
                }
            }
            reached.extend(next.iter().copied());
            ends = next;
        }
        let bare = matches!(mention.name.what, What::Material | What::Ph) && self.starts_quantity(mention.tokens.end);
        if bare {
            reached.push(mention.tokens.end);
        }
        let quantity = self.quantities.iter().position(|quantity| {
            reached.contains(&quantity.first) && (quantity.unit == Unit::None) == (mention.name.what == What::Ph)
        })?;
        Some(Statement { quantity, name: index, is_part: false, before: false, is_active: false })
    }

    fn starts_quantity(&self, at: usize) -> bool {
        self.quantities.iter().any(|quantity| quantity.first == at)
    }

    /// The clause of a statement: from the mark before it to the mark after it. A comma parts clauses only with a word such as "and" behind it.
    /// With `strong`, only colons, dashes and brackets part them.
    pub(super) fn clause(&self, one: &Statement, strong: bool) -> &[Token<'_>] {
        let spans = [
            self.quantities.get(one.quantity).map(|q| q.first..q.tokens.end),
            self.names.get(one.name).map(|m| m.tokens.clone()),
        ];
        let from = spans.iter().flatten().map(|span| span.start).min().unwrap_or_default();
        let to = spans.iter().flatten().map(|span| span.end).max().unwrap_or_default();
        let parts = |at: usize| {
            self.tokens.get(at).is_some_and(|token| {
                let is_strong = [':', '–', '—', '(', ')'].iter().any(|mark| token.is_mark(*mark));
                let joint = self.tokens.get(at + 1).is_some_and(|next| CLAUSES.iter().any(|word| next.is(word)));
                is_strong || (!strong && token.is_mark(',') && joint)
            })
        };
        let start = (0..from).rev().find(|at| parts(*at)).map_or(0, |at| at + 1);
        let end = (to..self.tokens.len()).find(|at| parts(*at)).unwrap_or(self.tokens.len());
        self.tokens.get(start..end).unwrap_or_default()
    }

    /// Whether nothing but marks stands between the quantity and the name of a statement.
    pub(super) fn is_close(&self, one: &Statement) -> bool {
        let (Some(quantity), Some(mention)) = (self.quantities.get(one.quantity), self.names.get(one.name)) else {
            return false;
        };
        let (from, to) = match one.before {
            true => (quantity.tokens.end, mention.tokens.start),
            false => (mention.tokens.end, quantity.first),
        };
        self.tokens.get(from..to).is_none_or(|between| between.iter().all(|token| token.kind == Kind::Mark))
    }

    /// Whether it names a phase.
    pub(super) fn names_a_phase(&self) -> bool {
        self.names.iter().any(|mention| mention.name.what == What::Phase)
    }

    pub(super) fn is_article(&self, at: usize) -> bool {
        self.tokens.get(at).is_some_and(|token| ["the", "our", "your", "its"].iter().any(|word| token.is(word)))
    }
}
