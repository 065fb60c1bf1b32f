//! Whether a number is really said of the name it was given to: what stands right before and after them, and what the sentence
//! says of other things.

use super::grammar::{Sentence, Statement};
use super::names::{Name, What};
use super::quantity::Quantity;
use super::words::{Kind, any_begins, any_ends, phrase_end, phrase_ends};
use std::ops::Range;

impl Sentence<'_, '_, '_> {
    /// Whether nothing right before or after makes something else of the statement.
    pub(super) fn is_sound(&self, statement: &Statement) -> bool {
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
}

/// Whether two names mean the same lines, as the two halves of a blend do.
fn same_lines(one: &Name, other: &Name) -> bool {
    one.what == other.what && !one.of.is_empty() && one.of == other.of
}
