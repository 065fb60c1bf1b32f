//! The words and signs of expressions, each with its bytes.

use super::expression::{Sign, SyntaxFault, SyntaxWhy, WORDS};
use crate::quantity::{Decimal, Rounding, UnitFault, UnitValue, Units, scan_number};
use std::ops::Range;

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Token {
    Value(UnitValue),
    Name(String),
    Figure(String),
    Sign(Sign),
    Open,
    Close,
    Next,
    To,
    ToUnit(Units),
    Round(Rounding),
    Choice(bool),
}

pub(super) type PlacedToken = (Token, Range<usize>);

fn is_space(character: char) -> bool {
    character.is_whitespace() || matches!(character, '\u{a0}' | '\u{202f}' | '\u{2009}')
}

pub(super) fn tokens_of(text: &str) -> Result<Vec<PlacedToken>, SyntaxFault> {
    let mut tokens = Vec::new();
    let mut at = 0;
    while let Some(rest) = text.get(at..).filter(|rest| !rest.is_empty()) {
        let Some(character) = rest.chars().next() else { break };
        if is_space(character) {
            at += character.len_utf8();
            continue;
        }
        let is_operand = !matches!(
            tokens.last(),
            Some((Token::Value(_) | Token::Name(_) | Token::Figure(_) | Token::Close | Token::ToUnit(_), _))
        );
        let (token, length) =
            token_of(rest, is_operand).map_err(|(why, from, to)| SyntaxFault { why, span: at + from..at + to })?;
        tokens.push((token, at..at + length));
        at += length;
    }
    Ok(tokens)
}

type LexFault = (SyntaxWhy, usize, usize);

/// The token that a text starts with. Where an operand may stand, a minus right before a number belongs to it: −5 °C is a reading below zero, and
/// −1..2 goes from −1 to 2.
fn token_of(rest: &str, is_operand: bool) -> Result<(Token, usize), LexFault> {
    let character = rest.chars().next().unwrap_or(' ');
    let length = character.len_utf8();
    if is_operand
        && is_minus(character)
        && let Some((value, end)) = quantity(rest.get(length..).unwrap_or_default(), true)
            .map_err(|(why, from, to)| (why, from + length, to + length))?
    {
        return Ok((Token::Value(value), length + end));
    }
    let sign = match character {
        '+' => Some(Token::Sign(Sign::Plus)),
        _ if is_minus(character) => Some(Token::Sign(Sign::Minus)),
        '×' | '*' => Some(Token::Sign(Sign::Times)),
        '÷' | '/' => Some(Token::Sign(Sign::Over)),
        '(' => Some(Token::Open),
        ')' => Some(Token::Close),
        ';' => Some(Token::Next),
        _ => None,
    };
    if let Some(token) = sign {
        return Ok((token, length));
    }
    if let Some(found) = quantity(rest, false)? {
        return Ok((Token::Value(found.0), found.1));
    }
    if let Some(after) = rest.strip_prefix("calc:") {
        let ends = |c: char| is_space(c) || matches!(c, '(' | ')' | '×' | '*' | '÷' | '+' | ';' | ',');
        let end = after.find(ends).unwrap_or(after.len());
        let address = after.get(..end).unwrap_or_default();
        if !address.contains('/') {
            return Err((SyntaxWhy::NoAddress, 0, "calc:".len() + end));
        }
        return Ok((Token::Figure(address.to_owned()), "calc:".len() + end));
    }
    let word = word_of(rest);
    let token = match word {
        "" => return Err((SyntaxWhy::Character, 0, length)),
        "of" => Token::Sign(Sign::Of),
        "to" => return to_token(rest),
        "round" => {
            let after = rest.get(word.len()..).unwrap_or_default();
            let spaces = after.len() - after.trim_start_matches(is_space).len();
            let way = word_of(after.trim_start_matches(is_space));
            return Ok(match way {
                "up" => (Token::Round(Rounding::Up), word.len() + spaces + way.len()),
                "down" => (Token::Round(Rounding::Down), word.len() + spaces + way.len()),
                _ => (Token::Round(Rounding::Nearest), word.len()),
            });
        }
        "min" => Token::Choice(false),
        "max" => Token::Choice(true),
        name => Token::Name(name.to_owned()),
    };
    Ok((token, word.len()))
}

/// A name: letters and digits, with hyphens between them. A hyphen with a space beside it is a minus.
fn word_of(rest: &str) -> &str {
    let mut end = 0;
    for (at, character) in rest.char_indices() {
        let goes_on = character.is_alphanumeric()
            || character == '_'
            || (character == '-'
                && at > 0
                && rest.get(at + 1..).is_some_and(|after| after.starts_with(char::is_alphanumeric)));
        if !goes_on {
            break;
        }
        end = at + character.len_utf8();
    }
    rest.get(..end).unwrap_or_default()
}

/// `to` with the unit behind it; before a number it belongs to `round`.
fn to_token(rest: &str) -> Result<(Token, usize), LexFault> {
    let after = rest.get("to".len()..).unwrap_or_default();
    let trimmed = after.trim_start_matches(is_space);
    let from = rest.len() - trimmed.len();
    if trimmed.starts_with(|c: char| c.is_ascii_digit()) || matches!(money_before(trimmed), Ok(Some(_))) {
        return Ok((Token::To, "to".len()));
    }
    match Units::scan(trimmed) {
        Ok(Some((units, length))) => Ok((Token::ToUnit(units), from + length)),
        Ok(None) => {
            let word = unit_word(trimmed);
            let fault = Units::read(word).err().unwrap_or(UnitFault::NotADifference);
            Err((SyntaxWhy::Unit(fault), from.min(rest.len()), from + word.len()))
        }
        Err(fault) => Err((SyntaxWhy::Unit(fault), from, rest.len())),
    }
}

/// What stands where a unit should: one word, or two where the first is half of a name (`fl oz`).
fn unit_word(text: &str) -> &str {
    if text.starts_with("fl oz") {
        return "fl oz";
    }
    let end = text.find(|c: char| !(c.is_alphanumeric() || matches!(c, '°' | 'µ' | '_'))).unwrap_or(text.len());
    text.get(..end).unwrap_or_default()
}

type Scanned = Result<Option<(UnitValue, usize)>, LexFault>;

/// Money before its number: `€3.80`. Gives the unit and where the number begins.
fn money_before(rest: &str) -> Result<Option<(Units, usize)>, LexFault> {
    let Ok(Some((units, length))) = Units::scan(rest) else { return Ok(None) };
    let after = rest.get(length..).unwrap_or_default();
    let number = after.trim_start_matches(is_space);
    let is_money = units.is_money() && number.starts_with(|c: char| c.is_ascii_digit());
    Ok(is_money.then(|| (units, rest.len() - number.len())))
}

fn is_minus(character: char) -> bool {
    matches!(character, '-' | '−')
}

/// The quantity that a text starts with: a number or a range, with its unit. `is_negative` tells that a minus stands before it.
fn quantity(rest: &str, is_negative: bool) -> Scanned {
    let money = money_before(rest)?;
    let start = money.as_ref().map_or(0, |(_, start)| *start);
    let Some((low, mut at)) = number_at(rest, start)? else { return Ok(None) };
    let low = if is_negative { -low } else { low };
    let mut high = None;
    let after = rest.get(at..).unwrap_or_default();
    if let Some(skip) =
        [("..", 2), ("–", '–'.len_utf8())].iter().find_map(|(sign, n)| after.starts_with(sign).then_some(*n))
    {
        let behind = rest.get(at + skip..).and_then(|after| after.chars().next()).filter(|next| is_minus(*next));
        let minus = behind.map_or(0, char::len_utf8);
        let Some((number, end)) = number_at(rest, at + skip + minus)? else {
            return Err((SyntaxWhy::Wanted("the upper end of the range"), at, at + skip));
        };
        let number = if minus > 0 { -number } else { number };
        high = Some(number);
        at = end;
    }
    let units = match money {
        Some((money, _)) => {
            let after = rest.get(at..).unwrap_or_default();
            let (units, length) =
                Units::scan_under(money, after).map_err(|fault| (SyntaxWhy::Unit(fault), at, rest.len()))?;
            at += length;
            units
        }
        None => {
            let (units, end) = unit_at(rest, at)?;
            at = end;
            units
        }
    };
    let high = high.unwrap_or(low);
    if high < low {
        return Err((SyntaxWhy::Backwards, start, at));
    }
    let middle = (low + high) / Decimal::TWO;
    Ok(Some((UnitValue::between(low, middle, high, units), at)))
}

fn number_at(rest: &str, at: usize) -> Result<Option<(Decimal, usize)>, LexFault> {
    match scan_number(rest.get(at..).unwrap_or_default()) {
        None => Ok(None),
        Some((Ok(number), length)) => Ok(Some((number, at + length))),
        Some((Err(fault), length)) => Err((SyntaxWhy::Number(fault), at, at + length)),
    }
}

/// The unit behind a number, if there is one, and where it ends.
fn unit_at(rest: &str, at: usize) -> Result<(Units, usize), LexFault> {
    let after = rest.get(at..).unwrap_or_default();
    let trimmed = after.trim_start_matches(is_space);
    let from = rest.len() - trimmed.len();
    match Units::scan(trimmed) {
        Ok(Some((units, length))) => Ok((units, from + length)),
        Ok(None) => {
            let word = unit_word(trimmed);
            if word.is_empty() || WORDS.contains(&word_of(trimmed)) || trimmed.starts_with("calc:") {
                return Ok((Units::none(), at));
            }
            let fault = Units::read(word).err().unwrap_or(UnitFault::NotADifference);
            Err((SyntaxWhy::Unit(fault), from, from + word.len()))
        }
        Err(fault) => Err((SyntaxWhy::Unit(fault), from, from + unit_word(trimmed).len().max(1))),
    }
}
