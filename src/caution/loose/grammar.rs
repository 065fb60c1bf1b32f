//! Which quantity of a sentence is said of which name: by the words between them, never by mere nearness.

use super::names::{Name, Names, What};
use super::quantity::{Quantity, Unit};
use super::words::{Kind, Token, any_begins, any_ends, phrase_end, phrase_ends};
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
    fn name_after(&self, index: usize, quantity: &Quantity) -> Option<Statement> {
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

    /// Whether nothing right before or after makes something else of the statement.
    fn is_sound(&self, statement: &Statement) -> bool {
        let (Some(quantity), Some(mention)) = (self.quantities.get(statement.quantity), self.names.get(statement.name))
        else {
            return false;
        };
        let (words, tokens) = (self.words, self.tokens);
        // "At 3 % the glycerin is noticeable" speaks of this formula, "at 3 % glycerin is noticeable" does not.
        let at_the = self.is_article(quantity.tokens.end) && quantity.tokens.end + 1 == mention.tokens.start;
        let led_by_at = quantity.first.checked_sub(1).and_then(|at| tokens.get(at)).is_some_and(|token| token.is("at"));
        if statement.before && at_the != led_by_at && (at_the || led_by_at) {
            return false;
        }
        let bound = statement.before && !at_the && any_ends(&words.before_number, tokens, quantity.first);
        if mention.name.what == What::Unclear || bound {
            return false;
        }
        let name = &mention.tokens;
        // A name that goes on with a hyphen is another one: "glycerin-free".
        let goes_on = tokens.get(name.end).is_some_and(|token| token.joined);
        if goes_on
            || any_begins(&words.after_name, tokens, name.end)
            || any_ends(&words.before_name, tokens, name.start)
        {
            return false;
        }
        // "The taurate brings 7 % anionic": what the quantity leads to belongs to it.
        let end = match statement.is_active {
            true => self.active_end(statement.quantity).unwrap_or(quantity.tokens.end),
            false => quantity.tokens.end,
        };
        if statement.before {
            // What is said of another thing goes on: "a spoon holds 6 g of salt, but only 4 g of soda".
            let mut so_far = self.quantities.iter().take(statement.quantity + 1);
            let in_another = so_far.any(|quantity| self.is_in_another(quantity));
            return !quantity.is_measure && !self.is_joined_on(name.end, mention.name) && !in_another;
        }
        if mention.name.what != What::Ph && !self.is_said_of(name) {
            return false;
        }
        let whole = any_begins(&words.of_the_whole, tokens, end);
        let spoiled = any_begins(&words.after_number, tokens, end) && !whole;
        let again = self.quantities.iter().any(|other| {
            words.same.iter().any(|phrase| phrase_end(phrase, tokens, end) == Some(other.first))
                && other.is_mass() != quantity.is_mass()
        });
        let tail = again
            || tokens.get(end).is_none_or(|token| token.kind == Kind::Mark || any_begins(&words.tail, tokens, end));
        !spoiled && (tail || whole) && !self.is_joined_to(name.start, mention.name)
    }

    /// Where the words for active matter end that a quantity leads to.
    fn active_end(&self, quantity: usize) -> Option<usize> {
        let one = self.name_after(quantity, self.quantities.get(quantity)?)?;
        self.names.get(one.name).map(|mention| mention.tokens.end)
    }

    /// "The extract holds 50 % glycerin": whether a quantity is said to be in something that is not the formula.
    fn is_in_another(&self, quantity: &Quantity) -> bool {
        let Some(verb) = self.words.holds.iter().find(|phrase| phrase_ends(phrase, self.tokens, quantity.first)) else {
            return false;
        };
        let before = quantity.first.checked_sub(verb.len() + 1).and_then(|at| self.tokens.get(at));
        let Some(before) = before else { return true };
        let is_phase = self
            .names
            .iter()
            .any(|mention| mention.name.what == What::Phase && mention.tokens.end + verb.len() == quantity.first);
        !is_phase && !self.words.formula_words.iter().any(|word| before.is(word))
    }

    /// Whether a name is what the sentence speaks of, and not what a vessel holds: "a bottle of glycerin weighs 300 g".
    fn is_said_of(&self, name: &Range<usize>) -> bool {
        let token = |at: usize| self.tokens.get(at);
        // "Fill up with water to 500 g"
        if token(name.end).is_some_and(|token| token.is("to")) {
            return false;
        }
        let article = name.start > 0 && self.is_article(name.start - 1);
        let start = name.start - usize::from(article);
        // "Glycerin at 10 % is sticky" is said in general.
        let opens = start == 0 || token(start - 1).is_some_and(|token| token.kind == Kind::Mark);
        if opens && !article && token(name.end).is_some_and(|token| token.is("at")) {
            let ends = self
                .quantities
                .iter()
                .find(|quantity| quantity.first == name.end + 1)
                .map(|quantity| quantity.tokens.end);
            return ends.and_then(token).is_none_or(|token| token.kind == Kind::Mark || token.is("and"));
        }
        let Some(before) = start.checked_sub(1).and_then(token) else { return true };
        if before.is("of") {
            let noun = start.checked_sub(2).and_then(token);
            return noun
                .is_none_or(|noun| self.words.amounts.iter().any(|word| noun.is(word)) || noun.kind == Kind::Mark);
        }
        // "Stir in the glycerin" speaks of the glycerin, "stir it in the glycerin" of what goes into it.
        let verb = start.checked_sub(2).and_then(token);
        if before.is("in") && verb.is_some_and(|verb| self.words.adding.iter().any(|word| verb.is(word))) {
            return true;
        }
        !["with", "without", "in", "from", "into", "on", "after", "before", "by", "like", "beside", "than", "to"]
            .iter()
            .any(|word| before.is(word))
    }

    /// Whether another name is added after a name, so that the quantity belongs to both: "4 % glycerin and panthenol".
    fn is_joined_on(&self, at: usize, of: &Name) -> bool {
        let Some(token) = self.tokens.get(at) else { return false };
        let joint =
            ["and", "or", "plus", "with"].iter().any(|word| token.is(word)) || token.is_mark('+') || token.is_mark('/');
        let at = if self.is_article(at + 1) { at + 2 } else { at + 1 };
        joint && self.names.iter().any(|mention| mention.tokens.start == at && !same_lines(mention.name, of))
    }

    /// Whether another name stands before a name, so that the quantity belongs to both: "glycerin and panthenol: 4 %".
    fn is_joined_to(&self, at: usize, of: &Name) -> bool {
        let at = if at > 0 && self.is_article(at - 1) { at - 1 } else { at };
        let Some(token) = at.checked_sub(1).and_then(|before| self.tokens.get(before)) else { return false };
        let joint =
            ["and", "or", "plus", "with"].iter().any(|word| token.is(word)) || token.is_mark('+') || token.is_mark('/');
        let comma = token.is_mark(',');
        self.names.iter().any(|mention| {
            let before = mention.tokens.end == at - 1 && !same_lines(mention.name, of);
            before && ((joint && mention.name.what != What::Ph) || (comma && mention.name.what == What::Material))
        })
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

    fn is_article(&self, at: usize) -> bool {
        self.tokens.get(at).is_some_and(|token| ["the", "our", "your", "its"].iter().any(|word| token.is(word)))
    }
}

/// Whether two names mean the same lines, as the two halves of a blend do.
fn same_lines(one: &Name, other: &Name) -> bool {
    one.what == other.what && !one.of.is_empty() && one.of == other.of
}
