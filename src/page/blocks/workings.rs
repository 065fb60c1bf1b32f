//! Workings as their template sees them.

use super::super::context::{NumberContext, number_context};
use super::super::text::working_text;
use crate::compute::{Piece, Working, Workings, is_quantity};
use serde::Serialize;

/// The part of the context `b` that belongs to workings.
#[derive(Debug, Serialize)]
pub(super) struct WorkingsContext {
    title: String,
    lines: Vec<LineContext>,
}

#[derive(Debug, Serialize)]
struct LineContext {
    name: String,
    /// Empty where the line is a quantity and nothing else.
    expression: String,
    /// Empty where no names stand in it.
    put_in: String,
    result: NumberContext,
    exact: bool,
    note: String,
}

pub(super) fn context(workings: &Workings, id: &str) -> WorkingsContext {
    let text = |pieces: Vec<Piece>| working_text(&Working { pieces, source: None });
    let lines = workings.lines.iter().map(|line| LineContext {
        name: line.name.clone(),
        expression: match is_quantity(&line.expression) {
            true => String::new(),
            false => text(workings.expression_pieces(line)),
        },
        put_in: workings.put_in(line).map(text).unwrap_or_default(),
        result: number_context(&workings.figure_of(id, line), None, None),
        exact: line.value.is_shown_exactly(),
        note: line.note.clone().unwrap_or_default(),
    });
    WorkingsContext { title: workings.title.clone().unwrap_or_default(), lines: lines.collect() }
}
