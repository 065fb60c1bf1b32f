//! Quantities in a sentence: a number or a span of numbers with its unit, in digits or in words.

use super::words::{Kind, Token, begin_of_end, longest_end};
use crate::material::LooseWords;
use crate::quantity::{Decimal, MassUnit, read_decimal};
use std::ops::Range;

/// What a quantity is counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unit {
    Percent,
    Mass(MassUnit),
    /// Millilitres, from so many to one of what was written.
    Millilitres(Decimal),
    /// A plain number, which can only be a pH.
    None,
}

/// A quantity and where it stands.
#[derive(Clone, Debug)]
pub(super) struct Quantity {
    pub low: Decimal,
    pub high: Decimal,
    pub unit: Unit,
    /// One of something, in words: "a kilo of beeswax" is a measure, no weight of the formula.
    pub is_measure: bool,
    /// A rough number: "about 12 g", "a third of the formula".
    pub is_rough: bool,
    /// Its tokens, without a word such as "about".
    pub tokens: Range<usize>,
    /// With that word.
    pub first: usize,
}

impl Quantity {
    /// So many grams, not from a sentence.
    pub(super) fn grams(grams: Decimal) -> Quantity {
        Quantity {
            low: grams,
            high: grams,
            unit: Unit::Mass(MassUnit::Gram),
            is_measure: false,
            is_rough: false,
            tokens: 0..0,
            first: 0,
        }
    }

    /// Decimals that were written.
    pub(super) fn digits(&self) -> u32 {
        self.low.scale().max(self.high.scale())
    }

    pub(super) fn is_mass(&self) -> bool {
        matches!(self.unit, Unit::Mass(_) | Unit::Millilitres(_))
    }
}

/// All quantities of a sentence, in order. Numbers whose unit is another stay out.
pub(super) fn quantities(words: &LooseWords, tokens: &[Token<'_>]) -> Vec<Quantity> {
    // Without a unit a number can only be a pH.
    let mut found = with_plain_numbers(words, tokens);
    if !tokens.iter().any(|token| token.is("ph")) {
        found.retain(|quantity| quantity.unit != Unit::None);
    }
    found
}

/// The quantities of a table's cell, where the head of the column may hold the unit.
pub(super) fn with_plain_numbers(words: &LooseWords, tokens: &[Token<'_>]) -> Vec<Quantity> {
    let mut found = Vec::new();
    let mut at = 0;
    // Most words begin no number.
    while at < tokens.len() {
        match quantity_at(words, tokens, at) {
            Some((quantity, next)) => {
                found.extend(quantity);
                at = next.max(at + 1);
            }
            None => at += 1,
        }
    }
    found
}

/// The quantity that begins at a token, and the token after it; without a quantity where the number means nothing here.
fn quantity_at(words: &LooseWords, tokens: &[Token<'_>], at: usize) -> Option<(Option<Quantity>, usize)> {
    let (low, next) = number_at(tokens, at)?;
    let (unit, next) = unit_at(tokens, next);
    let (high, unit, next) = match second_at(tokens, at, next) {
        Some((high, after)) => {
            let (second, after) = unit_at(tokens, after);
            (high, second.or(unit), after)
        }
        None => (low, unit, next),
    };
    let in_words = tokens.get(at).is_some_and(|token| token.kind == Kind::Word);
    let (unit, next, share) = match unit {
        Some(unit) => (unit, next, false),
        None => match share_end(words, tokens, at, next).filter(|_| in_words && low < Decimal::ONE) {
            Some(end) => (Unit::Percent, end, true),
            None if in_words => return None,
            None => (Unit::None, next, false),
        },
    };
    let touches = |index: usize| index > 0 && tokens.get(index).is_some_and(|token| token.joined);
    let spoiled = tokens.get(next).is_some_and(|token| token.is_mark('/') || token.is_mark('°') || token.is_mark('±'))
        || at.checked_sub(1).and_then(|before| tokens.get(before)).is_some_and(|token| {
            ['/', '±', '×', '+', '<', '>', '≤', '≥', '−', ':'].iter().any(|mark| {
                token.is_mark(*mark) && (*mark != ':' || token.end == tokens.get(at).map_or(0, |t| t.start))
            })
        })
        || (unit == Unit::None && touches(at));
    if spoiled {
        return Some((None, next));
    }
    let is_measure = in_words && low == Decimal::ONE && matches!(unit, Unit::Mass(_) | Unit::Millilitres(_));
    let factor = if share { Decimal::ONE_HUNDRED } else { Decimal::ONE };
    let about = if unit == Unit::None { None } else { begin_of_end(&words.about, tokens, at) };
    let near = at.checked_sub(1).filter(|before| tokens.get(*before).is_some_and(|t| t.is_mark('~') || t.is_mark('≈')));
    let first = about.or(near).unwrap_or(at);
    let mut is_rough = share || first < at;
    let mut end = next;
    if tokens.get(next).is_some_and(|t| t.is("or")) && tokens.get(next + 1).is_some_and(|t| t.is("so")) {
        (is_rough, end) = (true, next + 2);
    }
    let quantity =
        Quantity { low: low * factor, high: high * factor, unit, is_measure, is_rough, tokens: at..end, first };
    let sound = quantity.low <= quantity.high;
    Some((sound.then_some(quantity), end))
}

/// After "–", "to", or "and" behind "between": the upper end of a span.
fn second_at(tokens: &[Token<'_>], at: usize, next: usize) -> Option<(Decimal, usize)> {
    let token = tokens.get(next)?;
    let between = at.checked_sub(1).and_then(|before| tokens.get(before)).is_some_and(|token| token.is("between"));
    if token.joined && token.kind == Kind::Number {
        return number_at(tokens, next);
    }
    let joins =
        ['–', '—', '-', '−'].iter().any(|mark| token.is_mark(*mark)) || token.is("to") || (between && token.is("and"));
    if !joins { None } else { number_at(tokens, next + 1) }
}

/// Where a fraction ends that is a share of the formula: "half of the formula", "is half water".
fn share_end(words: &LooseWords, tokens: &[Token<'_>], at: usize, next: usize) -> Option<usize> {
    let is =
        at.checked_sub(1).and_then(|before| tokens.get(before)).is_some_and(|token| token.is("is") || token.is("are"));
    let word = tokens.get(next).is_some_and(|token| {
        token.kind == Kind::Word && !["of", "a", "an", "the", "full", "empty"].iter().any(|word| token.is(word))
    });
    if is && word {
        return Some(next);
    }
    let next = if tokens.get(next).is_some_and(|token| token.is("the") || token.is("this") || token.is("our")) {
        // "half the formula": the list has it behind "of".
        let whole = ["formula", "batch", "product", "recipe", "wash", "cream", "soap"];
        return tokens.get(next + 1).filter(|token| whole.iter().any(|word| token.is(word))).map(|_| next + 2);
    } else {
        next
    };
    longest_end(&words.of_the_whole, tokens, next)
}

fn unit_at(tokens: &[Token<'_>], at: usize) -> (Option<Unit>, usize) {
    let Some(token) = tokens.get(at) else { return (None, at) };
    let is = |words: &[&str]| words.iter().any(|word| token.is(word));
    let of_a = |at: usize| {
        // "half a per cent", "three quarters of a gram"
        let of = tokens.get(at).is_some_and(|token| token.is("of"));
        let at = if of { at + 1 } else { at };
        tokens.get(at).is_some_and(|token| token.is("a") || token.is("one")).then_some(at + 1)
    };
    if token.is_mark('%') || is(&["percent"]) {
        return by_weight(tokens, at + 1);
    }
    if token.is("per") && tokens.get(at + 1).is_some_and(|token| token.is("cent")) {
        return by_weight(tokens, at + 2);
    }
    let mass = if matches!(token.text, "g") || is(&["gram", "grams", "gramme", "grammes"]) {
        Some(MassUnit::Gram)
    } else if is(&["kg", "kilo", "kilos", "kilogram", "kilograms"]) {
        Some(MassUnit::Kilogram)
    } else if is(&["mg", "milligram", "milligrams"]) {
        Some(MassUnit::Milligram)
    } else if is(&["oz", "ounce", "ounces"]) {
        Some(MassUnit::Ounce)
    } else if is(&["lb", "lbs", "pound", "pounds"]) {
        Some(MassUnit::Pound)
    } else {
        None
    };
    if let Some(mass) = mass {
        return (Some(Unit::Mass(mass)), at + 1);
    }
    if is(&["ml", "millilitre", "millilitres", "milliliter", "milliliters"]) {
        return (Some(Unit::Millilitres(Decimal::ONE)), at + 1);
    }
    if matches!(token.text, "l" | "L") || is(&["litre", "litres", "liter", "liters"]) {
        return (Some(Unit::Millilitres(Decimal::ONE_THOUSAND)), at + 1);
    }
    match of_a(at) {
        Some(next) if !matches!(unit_at(tokens, next).0, None | Some(Unit::None)) => unit_at(tokens, next),
        _ => (None, at),
    }
}

/// After a per cent sign: "w/w" says what is meant anyhow, "v/v" and "w/v" something else.
fn by_weight(tokens: &[Token<'_>], at: usize) -> (Option<Unit>, usize) {
    let [Some(over), Some(slash), Some(under)] = [at, at + 1, at + 2].map(|index| tokens.get(index)) else {
        return (Some(Unit::Percent), at);
    };
    if !slash.is_mark('/') {
        return (Some(Unit::Percent), at);
    }
    let same = (over.is("w") && under.is("w")) || (over.is("m") && under.is("m"));
    if same { (Some(Unit::Percent), at + 3) } else { (Some(Unit::Percent), at + 1) }
}

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
fn number_at(tokens: &[Token<'_>], at: usize) -> Option<(Decimal, usize)> {
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
        && ONES.iter().chain(&TENS).chain(&["half", "hundred", "thousand"]).any(|known| begins(&known))
}

/// Whether a text may hold a number, in digits or in words. Where it does not, nothing more need be looked at.
pub(super) fn may_hold_a_number(text: &str) -> bool {
    let bytes = text.as_bytes();
    if bytes.iter().any(u8::is_ascii_digit) || text.contains(['½', '¼', '¾']) {
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
