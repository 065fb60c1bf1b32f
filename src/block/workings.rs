//! The `workings` block: named lines, each an expression with units.
//!
//! Keys: `title`, and any other name for a line: `cost = "price × amount"`. A line is text, a plain number, or a table with `value` and a `note`.

use super::expect::Address;
use super::expression::{Expression, SyntaxFault, WORDS};
use super::reader::{Cutting, Placed, Reader, Table, as_table, number_text, understood};
use crate::quantity::Unit;
use crate::report::{Finding, Place, echo, kind};
use serde::Serialize;
use std::ops::Range;
use std::sync::Arc;
use toml::Spanned;
use toml::de::DeValue;

/// Most lines of a block.
const MOST_LINES: usize = 200;

/// A line of workings as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct WorkingsLine {
    /// Its name.
    pub name: Placed<String>,
    /// Its expression, or why it is none.
    #[serde(serialize_with = "understood")]
    pub expression: Result<Expression, SyntaxFault>,
    /// The text of the expression.
    pub text: String,
    /// What is said about it.
    pub note: Option<String>,
    /// The figures of other blocks that it names.
    pub figures: Vec<Address>,
    #[serde(skip)]
    path: Arc<str>,
    /// For each byte of the text, and for its end, the byte of the file.
    #[serde(skip)]
    bytes: Vec<usize>,
}

impl WorkingsLine {
    /// Where a part of the expression stands in the file.
    pub fn place(&self, span: &Range<usize>) -> Place {
        let at = |index: usize| self.bytes.get(index).or(self.bytes.last()).copied().unwrap_or_default();
        Place { path: Arc::clone(&self.path), span: at(span.start)..at(span.end) }
    }
}

/// Workings as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct WorkingsBlock {
    /// What they are about.
    pub title: Option<String>,
    /// The lines, in the order written.
    pub lines: Vec<WorkingsLine>,
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<WorkingsBlock> {
    let title = table.text("title").map(|text| text.value);
    let mut lines = Vec::new();
    let others = table.others();
    let n_lines = others.len();
    let mut is_whole = true;
    for (name, value) in others {
        table.take(&name.value);
        if lines.len() == MOST_LINES {
            let what = format!("The block has {n_lines} lines, more than {MOST_LINES}.");
            reader.push(Finding::new(kind::WRONG_VALUE, name.place, what).mend("Make two blocks of it."));
            return None;
        }
        is_whole &= check_name(reader, &name);
        match read_line(reader, name, value) {
            Some(line) => lines.push(line),
            None => is_whole = false,
        }
    }
    if n_lines == 0 {
        reader.push(
            Finding::new(kind::MISSING_KEY, reader.cutting.head(), "The block has no lines.")
                .mend("Write a line such as `cost = \"12.50 €/kg × 0.300 kg\"`."),
        );
        return None;
    }
    is_whole.then_some(WorkingsBlock { title, lines })
}

/// A name has to be told from a unit, a word of the language, and a sign.
fn check_name(reader: &Reader<'_>, name: &Placed<String>) -> bool {
    let shown = echo(&name.value);
    let begins = name.value.starts_with(|c: char| c.is_ascii_lowercase());
    if !super::formula::is_id(&name.value) || !begins || name.value.ends_with('-') {
        let suggested = name.value.to_lowercase().replace(['_', ' '], "-");
        let what = format!("`{shown}` cannot be the name of a line.");
        reader.push(Finding::new(kind::WRONG_VALUE, name.place.clone(), what).mend(format!(
            "Names are lower-case letters, digits and hyphens, and begin with a letter: `{}`.",
            echo(&suggested)
        )));
        return false;
    }
    let is_taken = WORDS.contains(&name.value.as_str()) || Unit::is_named(&name.value);
    if is_taken {
        let what = format!("`{shown}` is a unit or a word of the workings, and cannot be the name of a line.");
        reader.push(Finding::new(kind::WRONG_VALUE, name.place.clone(), what).mend("Call the line something else."));
    }
    !is_taken
}

fn read_line(reader: &Reader<'_>, name: Placed<String>, value: &Spanned<DeValue<'_>>) -> Option<WorkingsLine> {
    if let Some((text, bytes)) = text_of(reader.cutting, value) {
        return Some(line_of(reader, name, text, bytes, None));
    }
    if !matches!(value.get_ref(), DeValue::Table(_)) {
        let wanted = "an expression in double quotes, a number, or `{ value = \"…\", note = \"…\" }`";
        reader.wrong(reader.place_of(value), &format!("`{}`", echo(&name.value)), wanted);
        return None;
    }
    let table = as_table(reader, &name.value, value)?;
    let inner = table.get("value");
    let note = table.text("note").map(|text| text.value);
    table.finish();
    let Some((text, bytes)) = inner.and_then(|inner| text_of(reader.cutting, inner)) else {
        let what = format!("The line `{}` has no `value`.", echo(&name.value));
        reader.push(
            Finding::new(kind::MISSING_KEY, table.place().clone(), what)
                .mend("Write its expression: `value = \"price × amount\"`."),
        );
        return None;
    };
    Some(line_of(reader, name, text, bytes, note))
}

fn line_of(
    reader: &Reader<'_>,
    name: Placed<String>,
    text: String,
    bytes: Vec<usize>,
    note: Option<String>,
) -> WorkingsLine {
    let path = Arc::clone(&reader.cutting.path);
    let expression = Expression::read(&text);
    let mut line = WorkingsLine { name, expression, text, note, figures: Vec::new(), path, bytes };
    if let Ok(expression) = &line.expression {
        let mut findings = Vec::new();
        let figures = expression.figures().into_iter();
        line.figures =
            figures.map(|(written, span)| Address::read(written, &line.place(&span), &mut findings)).collect();
        findings.into_iter().for_each(|finding| reader.push(finding));
    }
    line
}

/// The text of an expression and for each of its bytes the byte of the file.
fn text_of(cutting: &Cutting, value: &Spanned<DeValue<'_>>) -> Option<(String, Vec<usize>)> {
    let span = value.span();
    let raw = cutting.text.get(span.clone()).unwrap_or_default();
    let (text, inside) = match value.get_ref() {
        DeValue::String(text) => (text.to_string(), bytes_of_string(raw, text)),
        other => {
            let text = number_text(other)?.to_owned();
            // Underscores are not among the digits of a number as TOML gives it.
            let inside = if text.len() == raw.len() { (0..=raw.len()).collect() } else { vec![0; text.len() + 1] };
            (text, inside)
        }
    };
    let bytes = inside.into_iter().map(|at| cutting.place(span.start + at..span.start + at).span.start).collect();
    Some((text, bytes))
}

/// For each byte of a TOML string's text, and for its end, the byte of the source from the opening quotation mark on.
fn bytes_of_string(raw: &str, text: &str) -> Vec<usize> {
    let is_literal = raw.starts_with('\'');
    let mut at = if raw.starts_with("\"\"\"") || raw.starts_with("'''") { 3 } else { 1 };
    let rest = |at: usize| raw.get(at..).unwrap_or_default();
    if at == 3 {
        at += if rest(at).starts_with("\r\n") { 2 } else { usize::from(rest(at).starts_with('\n')) };
    }
    let mut bytes = Vec::with_capacity(text.len() + 1);
    for character in text.chars() {
        // A backslash at the end of a line takes in the white space behind it.
        while !is_literal && continues(rest(at)) {
            let after = rest(at + 1);
            at += 1 + (after.len() - after.trim_start().len());
        }
        bytes.extend(std::iter::repeat_n(at, character.len_utf8()));
        let source = rest(at);
        at += match source.as_bytes() {
            [b'\\', b'u', ..] if !is_literal => 6,
            [b'\\', b'U', ..] if !is_literal => 10,
            [b'\\', b'x', ..] if !is_literal => 4,
            [b'\\', ..] if !is_literal => 2,
            [b'\r', b'\n', ..] if character == '\n' => 2,
            _ => character.len_utf8(),
        };
    }
    bytes.push(at);
    bytes.iter().map(|at| (*at).min(raw.len())).collect()
}

fn continues(rest: &str) -> bool {
    rest.strip_prefix('\\').is_some_and(|after| {
        let line = after.trim_start_matches([' ', '\t']);
        line.starts_with('\n') || line.starts_with("\r\n")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(raw: &str, text: &str, at: usize, expected: &str) {
        let bytes = bytes_of_string(raw, text);
        assert_eq!(bytes.len(), text.len() + 1);
        assert!(raw[bytes[at]..].starts_with(expected), "{raw}: {}", &raw[bytes[at]..]);
    }

    #[test]
    fn bytes_of_a_text_lead_to_its_source() {
        check("\"a + b\"", "a + b", 4, "b");
        check("'a + b'", "a + b", 4, "b");
        check("\"a \\u00d7 b\"", "a × b", 2, "\\u00d7");
        check("\"a \\u00d7 b\"", "a × b", 5, "b");
        check("\"\"\"\na + \\\n   b\"\"\"", "a + b", 4, "b");
        check("'''a \\ b'''", "a \\ b", 4, "b");
    }
}
