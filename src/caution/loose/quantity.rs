//! Quantities in a sentence: a number or a span of numbers with its unit, in digits or in words.

use super::number::number_at;
use super::words::{Kind, Token, begin_of_end, longest_end};
use crate::material::LooseWords;
use crate::quantity::{Decimal, MassUnit};
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
