//! Numbers in digits and in words: "12.5", "twenty-five", "one and a half", "three quarters".

use super::words::{Kind, Token};
use crate::quantity::{Decimal, read_decimal};

const ONES: [&str; 20] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
const TENS: [&str; 8] = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];

/// The number at a token, in digits or in words, and the token after it.
pub(super) fn number_at(tokens: &[Token<'_>], at: usize) -> Option<(Decimal, usize)> {
    let token = tokens.get(at)?;
    match token.kind {
        Kind::Mark => None,
        Kind::Number => match token.text {
            "½" => Some((Decimal::new(5, 1), at + 1)),
            "¼" => Some((Decimal::new(25, 2), at + 1)),
            "¾" => Some((Decimal::new(75, 2), at + 1)),
            text => {
                let number = read_decimal(text).ok()?;
                let half = tokens.get(at + 1).filter(|next| next.text == "½").map(|_| Decimal::new(5, 1));
                Some((number + half.unwrap_or_default(), at + 1 + usize::from(half.is_some())))
            }
        },
        // Most words are no number.
        Kind::Word if token.is("a") || is_number_word(token.text) => worded(tokens, at),
        Kind::Word => None,
    }
}

/// Whether a number in words may begin with a word, other than "a".
fn is_number_word(word: &str) -> bool {
    let Some(first) = word.as_bytes().first().map(u8::to_ascii_lowercase) else { return false };
    let begins = |known: &&str| known.as_bytes().first() == Some(&first) && word.eq_ignore_ascii_case(known);
    matches!(first, b'z' | b'o' | b't' | b'f' | b's' | b'e' | b'n' | b'h')
        && ONES.iter().chain(&TENS).chain(&["half", "hundred", "thousand"]).any(begins)
}

/// Whether a text may hold a number, in digits or in words. Where it does not, nothing more need be looked at.
pub(super) fn may_hold_a_number(text: &str) -> bool {
    let bytes = text.as_bytes();
    // Fractions such as "½" begin with this byte; that "°" does as well costs a look.
    if bytes.iter().any(|byte| byte.is_ascii_digit() || *byte == 0xC2) {
        return true;
    }
    // Behind "a" these make a number: "a kilo", "a third of the formula".
    let after_a = ["kilo", "gram", "litre", "kilogram", "per", "percent", "third", "quarter", "fifth", "tenth"];
    // Few words begin like a number; only those are looked at whole.
    let words = bytes.split(|byte| !byte.is_ascii_alphabetic()).filter(|word| {
        let first = word.first().map(u8::to_ascii_lowercase);
        word.len() > 2 && first.is_some_and(|first| b"zotfsenhkglpq".contains(&first))
    });
    words
        .filter_map(|word| std::str::from_utf8(word).ok())
        .any(|word| is_number_word(word) || after_a.iter().any(|known| word.eq_ignore_ascii_case(known)))
}

fn worded(tokens: &[Token<'_>], at: usize) -> Option<(Decimal, usize)> {
    if let Some(found) = fraction(tokens, at) {
        return Some(found);
    }
    let article = tokens.get(at).is_some_and(|token| token.is("a"));
    let (whole, next) = match article {
        // "a hundred grams"; "a gram" only where the unit follows at once.
        true => match tokens.get(at + 1)? {
            word if word.is("hundred") || word.is("thousand") => hundreds(tokens, at + 1)?,
            word if ["kilo", "gram", "litre", "kilogram", "per", "percent"].iter().any(|unit| word.is(unit)) => {
                return Some((Decimal::ONE, at + 1));
            }
            _ => return None,
        },
        false => hundreds(tokens, at)?,
    };
    let whole = Decimal::from(whole);
    let word = |offset: usize, text: &str| tokens.get(next + offset).is_some_and(|token| token.is(text));
    if word(0, "and") && word(1, "a") && (word(2, "half") || word(2, "quarter")) {
        let part = if word(2, "half") { Decimal::new(5, 1) } else { Decimal::new(25, 2) };
        return Some((whole + part, next + 3));
    }
    if word(0, "point") {
        let mut digits = String::new();
        let mut after = next + 1;
        while let Some(digit) = tokens.get(after).and_then(|token| ONES.iter().take(10).position(|one| token.is(one))) {
            digits.push_str(&digit.to_string());
            after += 1;
        }
        let number = read_decimal(&format!("{whole}.{digits}")).ok()?;
        return Some((number, after));
    }
    Some((whole, next))
}

/// "half", "a quarter", "two thirds".
fn fraction(tokens: &[Token<'_>], at: usize) -> Option<(Decimal, usize)> {
    let token = tokens.get(at)?;
    let counts = ["a", "one", "two", "three", "four"];
    let (count, part) = match counts.iter().position(|count| token.is(count)) {
        Some(0 | 1) => (1, at + 1),
        Some(index) => (index, at + 1),
        None => (1, at),
    };
    let word = tokens.get(part)?;
    let parts = [
        ("half", 2),
        ("third", 3),
        ("thirds", 3),
        ("quarter", 4),
        ("quarters", 4),
        ("fifth", 5),
        ("fifths", 5),
        ("tenth", 10),
        ("tenths", 10),
    ];
    let (_, divisor) = parts.iter().find(|(name, _)| word.is(name))?;
    // Without a count only "half" is a number.
    if part == at && !word.is("half") {
        return None;
    }
    Some((Decimal::from(count) / Decimal::from(*divisor), part + 1))
}

fn hundreds(tokens: &[Token<'_>], at: usize) -> Option<(u32, usize)> {
    let word = |at: usize, text: &str| tokens.get(at).is_some_and(|token| token.is(text));
    let (mut number, mut next) = match (word(at, "hundred"), word(at, "thousand")) {
        (true, _) | (_, true) => (1, at),
        _ => below_hundred(tokens, at)?,
    };
    if word(next, "thousand") {
        return Some((number * 1000, next + 1));
    }
    if word(next, "hundred") {
        number *= 100;
        next += 1;
        let rest = if word(next, "and") { next + 1 } else { next };
        if let Some((more, after)) = below_hundred(tokens, rest) {
            return Some((number + more, after));
        }
    }
    Some((number, next))
}

fn below_hundred(tokens: &[Token<'_>], at: usize) -> Option<(u32, usize)> {
    let token = tokens.get(at)?;
    let index = |list: &[&str], token: &Token<'_>| {
        list.iter().position(|word| token.is(word)).and_then(|at| u32::try_from(at).ok())
    };
    if let Some(number) = index(&ONES, token) {
        return Some((number, at + 1));
    }
    let tens = (index(&TENS, token)? + 2) * 10;
    let ones = tokens
        .get(at + 1)
        .filter(|next| next.joined)
        .and_then(|next| index(&ONES, next))
        .filter(|one| (1..10).contains(one));
    Some((tens + ones.unwrap_or(0), at + 1 + usize::from(ones.is_some())))
}
