//! What a negation reaches.
//!
//! It denies a promise that it governs: one after it in the same clause. A colon, "and it", "that it" or another verb ends its
//! reach, so that "we do not test on animals and it treats acne" promises; through a word of saying it reaches on: "we do not
//! claim that it treats acne". There is no grammar here, only the small words that carry it, and common practice in reading them.

use super::{Pause, Word, match_end};
use crate::material::Claims;

fn is_one_of<S: AsRef<str>>(word: &Word<'_>, list: &[S]) -> bool {
    list.iter().any(|known| word.text.eq_ignore_ascii_case(known.as_ref()))
}

/// Whether some words are of saying or knowing.
pub(super) fn says(claims: &Claims, words: &[Word<'_>]) -> bool {
    (0..words.len()).any(|at| claims.sayings.iter().any(|saying| match_end(&saying.parts, words, at).is_some()))
}

/// Whether a negation before the word at `matched` governs it.
pub(super) fn is_denied(claims: &Claims, words: &[Word<'_>], matched: usize) -> bool {
    (0..matched).any(|at| {
        negation_end(claims, words, at)
            .filter(|end| *end <= matched)
            .is_some_and(|end| !(end..=matched).any(|index| ends_reach(claims, words, (at, end), index, matched)))
    })
}

/// Whether the clause that goes on at a word denies something.
pub(super) fn denies(claims: &Claims, words: &[Word<'_>], from: usize) -> bool {
    (from..words.len())
        .take_while(|index| *index == from || !begins_clause(claims, words, *index))
        .any(|at| negation_end(claims, words, at).is_some())
}

/// Where a negation that begins at a word ends.
fn negation_end(claims: &Claims, words: &[Word<'_>], at: usize) -> Option<usize> {
    let text = words.get(at)?.text.to_ascii_lowercase();
    // The typographic apostrophe has three bytes.
    let contracted = text.len() > 3 && (text.ends_with("n't") || text.ends_with("n’t"));
    let written = claims.negations.iter().filter_map(|negation| match_end(&negation.parts, words, at)).max();
    let end = if contracted { Some(at + 1) } else { written }?;
    // "No doubt", "never fails to".
    let is_idle = (at.saturating_sub(2)..=at).any(|from| {
        claims.idle.iter().any(|idle| match_end(&idle.parts, words, from).is_some_and(|idle_end| idle_end > at))
    });
    (!is_idle).then_some(end)
}

/// Whether a clause with a subject of its own begins at a word.
fn begins_clause(claims: &Claims, words: &[Word<'_>], index: usize) -> bool {
    let Some(word) = words.get(index) else { return false };
    let previous = index.checked_sub(1).and_then(|previous| words.get(previous));
    let joined = previous.is_some_and(|previous| is_one_of(previous, &claims.grammar.joins));
    let joined_after_pause = joined && previous.is_some_and(|previous| previous.pause != Pause::None);
    claims.turns.iter().any(|turn| match_end(&turn.parts, words, index).is_some())
        || (is_one_of(word, &claims.grammar.pronouns) && (word.pause != Pause::None || joined))
        || (is_one_of(word, &claims.grammar.articles) && joined_after_pause)
}

/// Whether a negation, given by where it begins and ends, reaches no further than the word at `index`.
fn ends_reach(claims: &Claims, words: &[Word<'_>], negation: (usize, usize), index: usize, matched: usize) -> bool {
    let (begin, end) = negation;
    let Some(word) = words.get(index) else { return false };
    let previous = index.checked_sub(1).and_then(|previous| words.get(previous));
    let between = words.get(end..index).unwrap_or_default();
    // "Never write: heals wounds".
    if word.pause == Pause::Long && !between.last().is_some_and(|last| says(claims, std::slice::from_ref(last))) {
        return true;
    }
    if begins_clause(claims, words, index) {
        return true;
    }
    if says(claims, between) {
        return false;
    }
    let is_subject =
        |word: &Word<'_>| is_one_of(word, &claims.grammar.pronouns) || is_one_of(word, &claims.grammar.articles);
    // "It is no accident that it …", "you need no cream when our …".
    if is_one_of(word, &claims.grammar.links) && index < matched && words.get(index + 1).is_some_and(is_subject) {
        return true;
    }
    let is_joined = word.pause == Pause::Short || previous.is_some_and(|word| is_one_of(word, &claims.grammar.adds));
    // "It does not smell and heals": the verb's form shows that it does not belong to "does not". It does where another such
    // verb came before: "no soap treats acne and heals wounds".
    let is_promising_verb =
        |word: &Word<'_>| word.text.ends_with('s') && claims.beginning_with(word.text).next().is_some();
    let is_finite = is_one_of(word, &claims.grammar.finite) || (index == matched && is_promising_verb(word));
    let verb_before = between.iter().any(|word| is_one_of(word, &claims.grammar.finite) || is_promising_verb(word));
    if is_joined && is_finite && !verb_before {
        return true;
    }
    let Some(first) = words.get(begin).filter(|first| is_one_of(first, &claims.grammar.of_noun)) else {
        // "We use it never in our healing balm".
        return is_inside_product(claims, words, end, index, matched);
    };
    // "No perfume, SPF 30", while "no soap, cream or balm heals".
    let has_or =
        words.get(end..matched).is_some_and(|words| words.iter().any(|word| is_one_of(word, &claims.grammar.chooses)));
    if is_joined && index > end && !has_or && !verb_before {
        return true;
    }
    // "Without perfume it …".
    let is_adverbial = !is_one_of(first, &claims.grammar.whole);
    (is_adverbial && index > end && index < matched && is_subject(word))
        || is_inside_product(claims, words, end, index, matched)
}

/// Whether the promise is the name of a product that something is said of: "no perfume in our healing balm".
fn is_inside_product(claims: &Claims, words: &[Word<'_>], end: usize, index: usize, matched: usize) -> bool {
    let at = |back: usize| matched.checked_sub(back).filter(|at| *at >= end).and_then(|at| words.get(at));
    index == matched
        && at(1).is_some_and(|word| is_one_of(word, &claims.grammar.owners))
        && at(2).is_some_and(|word| is_one_of(word, &claims.grammar.inside))
}
