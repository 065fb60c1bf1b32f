//! Words, numbers and marks of a line, and the sentences they make.

use crate::material::{Form, Part, Pattern, Patterns};
use std::ops::Range;

/// What a token is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Word,
    Number,
    Mark,
}

/// A word, a number or a mark.
#[derive(Clone, Copy, Debug)]
pub(super) struct Token<'t> {
    pub text: &'t str,
    pub start: usize,
    pub end: usize,
    pub kind: Kind,
    /// A hyphen without spaces stands before it.
    pub joined: bool,
    /// It stands in quotation marks.
    pub in_quotes: bool,
}

impl Token<'_> {
    pub(super) fn is(&self, word: &str) -> bool {
        self.text.eq_ignore_ascii_case(word)
    }

    pub(super) fn is_mark(&self, mark: char) -> bool {
        self.kind == Kind::Mark && self.text.chars().eq([mark])
    }
}

/// After these a full stop ends no sentence.
const SHORT: [&str; 12] = ["approx", "ca", "e", "g", "i", "no", "vs", "max", "min", "incl", "resp", "cf"];

/// The sentences of a part of a text, a line or less.
pub(super) fn sentences(text: &str, part: Range<usize>) -> Vec<Vec<Token<'_>>> {
    let mut sentences = Vec::new();
    let mut sentence: Vec<Token<'_>> = Vec::new();
    for token in tokens(text, part.clone()) {
        let ends = token.kind == Kind::Mark && matches!(token.text, "." | "!" | "?" | ";" | "…") && {
            let rest = text.get(token.end..part.end).unwrap_or_default();
            let next = rest.chars().find(|c| !matches!(c, '"' | '”' | '»' | ')' | '’' | '*' | '.' | '!' | '?'));
            let after_short =
                token.text == "." && sentence.last().is_some_and(|last| SHORT.iter().any(|short| last.is(short)));
            next.is_none_or(char::is_whitespace) && !after_short
        };
        sentence.push(token);
        if ends {
            sentences.push(std::mem::take(&mut sentence));
        }
    }
    if !sentence.is_empty() {
        sentences.push(sentence);
    }
    sentences
}

fn tokens(text: &str, part: Range<usize>) -> Vec<Token<'_>> {
    let mut tokens: Vec<Token<'_>> = Vec::new();
    let mut position = part.start;
    let (mut joined, mut in_quotes) = (false, false);
    while let Some(rest) = text.get(position..part.end).filter(|rest| !rest.is_empty()) {
        let Some(first) = rest.chars().next() else { break };
        let hyphen =
            first == '-' && touches(tokens.last(), position) && rest.chars().nth(1).is_some_and(char::is_alphanumeric);
        if first.is_whitespace() || hyphen {
            joined = hyphen;
            position += first.len_utf8();
            continue;
        }
        let (length, kind) = match first {
            _ if first.is_ascii_digit() => (number_length(rest), Kind::Number),
            '½' | '¼' | '¾' => (first.len_utf8(), Kind::Number),
            _ if first.is_alphabetic() => (word_length(rest), Kind::Word),
            _ => (first.len_utf8(), Kind::Mark),
        };
        match first {
            '“' | '«' | '„' => in_quotes = true,
            '”' | '»' => in_quotes = false,
            '"' => in_quotes = !in_quotes,
            _ => {}
        }
        let text = rest.get(..length).unwrap_or_default();
        tokens.push(Token { text, start: position, end: position + length, kind, joined, in_quotes });
        (joined, position) = (false, position + length);
    }
    tokens
}

fn touches(last: Option<&Token<'_>>, position: usize) -> bool {
    last.is_some_and(|last| last.end == position && (last.kind != Kind::Mark || last.is_mark('%')))
}

/// Digits with points or commas between them.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
    let mut length = 0;
    while digit(length) || (matches!(bytes.get(length), Some(b'.' | b',')) && digit(length + 1)) {
        length += 1;
    }
    length
}

/// Letters, with apostrophes between them.
fn word_length(text: &str) -> usize {
    let mut length = 0;
    let mut characters = text.chars().peekable();
    while let Some(character) = characters.next() {
        let apostrophe = matches!(character, '\'' | '’') && characters.peek().is_some_and(|c| c.is_alphabetic());
        if !character.is_alphabetic() && !apostrophe {
            break;
        }
        length += character.len_utf8();
    }
    length
}

/// A word without the ending of possession.
pub(super) fn bare(word: &str) -> &str {
    word.strip_suffix("'s").or_else(|| word.strip_suffix("’s")).unwrap_or(word)
}

/// Where the patterns that begin at a token end: the index of the token after each.
fn ends<'p>(patterns: &'p Patterns, tokens: &'p [Token<'_>], at: usize) -> impl Iterator<Item = usize> + 'p {
    let begun = tokens.get(at).map(|token| patterns.beginning_with(bare(token.text)));
    begun.into_iter().flatten().filter_map(move |pattern: &Pattern| parts_end(&pattern.parts, tokens, at))
}

fn parts_end(parts: &[Part], tokens: &[Token<'_>], at: usize) -> Option<usize> {
    let Some((part, rest)) = parts.split_first() else { return Some(at) };
    (at..=at + part.between).find_map(|from| {
        let ends = part.choices.iter().filter_map(|choice| choice_end(choice, tokens, from));
        ends.filter_map(|end| parts_end(rest, tokens, end)).max()
    })
}

fn choice_end(choice: &[Form], tokens: &[Token<'_>], from: usize) -> Option<usize> {
    let end = from + choice.len();
    let mut pairs = tokens.get(from..end)?.iter().zip(choice);
    let fits = pairs.all(|(token, form)| match form {
        Form::Number => token.kind == Kind::Number,
        form => token.kind == Kind::Word && form.fits(bare(token.text)),
    });
    fits.then_some(end)
}

/// Whether any of the patterns stands anywhere among the tokens.
pub(super) fn any_stands(patterns: &Patterns, tokens: &[Token<'_>]) -> bool {
    (0..tokens.len()).any(|at| any_begins(patterns, tokens, at))
}

/// Whether any of the patterns begins at a token.
pub(super) fn any_begins(patterns: &Patterns, tokens: &[Token<'_>], at: usize) -> bool {
    ends(patterns, tokens, at).next().is_some()
}

/// The farthest end of the patterns that begin at a token.
pub(super) fn longest_end(patterns: &Patterns, tokens: &[Token<'_>], at: usize) -> Option<usize> {
    ends(patterns, tokens, at).max()
}

/// Whether any of the patterns ends right before a token.
pub(super) fn any_ends(patterns: &Patterns, tokens: &[Token<'_>], at: usize) -> bool {
    begin_of_end(patterns, tokens, at).is_some()
}

/// Where the longest of the patterns begins that ends right before a token.
pub(super) fn begin_of_end(patterns: &Patterns, tokens: &[Token<'_>], at: usize) -> Option<usize> {
    (at.saturating_sub(6)..at).find(|start| ends(patterns, tokens, *start).any(|end| end == at))
}

/// Where a phrase that begins at a token ends.
pub(super) fn phrase_end(phrase: &[String], tokens: &[Token<'_>], at: usize) -> Option<usize> {
    let end = at + phrase.len();
    let mut pairs = tokens.get(at..end)?.iter().zip(phrase);
    pairs.all(|(token, word)| bare(token.text).eq_ignore_ascii_case(word)).then_some(end)
}

/// Whether a phrase ends right before a token.
pub(super) fn phrase_ends(phrase: &[String], tokens: &[Token<'_>], at: usize) -> bool {
    at.checked_sub(phrase.len()).is_some_and(|start| phrase_end(phrase, tokens, start) == Some(at))
}
