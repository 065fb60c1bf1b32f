//! Tables in the prose: which cell stands under which head, and beside which name.

use super::compare::Subject;
use super::names::What;
use super::quantity::{Unit, quantities};
use super::words::{Token, any_stands, phrase_end};
use crate::compute::Computed;
use crate::material::LooseWords;
use crate::notebook::{Notebook, ProseBlock};
use crate::quantity::MassUnit;
use std::ops::Range;

/// The cells of a table as parts of the prose, row by row; the first row is its head.
pub(super) struct Table {
    rows: Vec<Vec<Range<usize>>>,
}

impl Table {
    /// The table that a block of the prose is, if it is one: cells are lines of their own there, and in the source a bar
    /// stands between them.
    pub(super) fn of(notebook: &Notebook, block: &ProseBlock) -> Option<Table> {
        let (prose, source) = (&notebook.prose, &notebook.text);
        let text = prose.text.get(block.text.clone())?;
        let mut rows: Vec<Vec<Range<usize>>> = vec![Vec::new()];
        let mut start = block.text.start;
        let mut last_end: Option<usize> = None;
        for line in text.split_inclusive('\n') {
            let cell = start..start + line.trim_end_matches('\n').len();
            start += line.len();
            let bytes = prose.bytes_of(cell.clone());
            let between = last_end.and_then(|end| source.get(end..bytes.start)).unwrap_or_default();
            if last_end.is_some() && !between.contains('|') {
                return None;
            }
            if between.contains('\n') {
                rows.push(Vec::new());
            }
            rows.last_mut()?.push(cell);
            last_end = Some(bytes.end);
        }
        (rows.len() > 1).then_some(Table { rows })
    }

    pub(super) fn heads(&self) -> impl Iterator<Item = &Range<usize>> {
        self.rows.first().into_iter().flatten()
    }

    /// The rows that have as many cells as the head; where one is empty, its neighbours cannot be told apart.
    pub(super) fn rows(&self) -> impl Iterator<Item = &Vec<Range<usize>>> {
        let wanted = self.rows.first().map_or(0, Vec::len);
        self.rows.iter().skip(1).filter(move |row| row.len() == wanted)
    }
}

/// What the head of a column says of its cells.
pub(super) struct Head {
    /// They do not speak of the formula as it stands.
    pub leads_elsewhere: bool,
    /// They hold figures of the formula.
    pub is_figure: bool,
    /// The unit of plain numbers.
    pub unit: Option<Unit>,
}

impl Head {
    pub(super) fn of(words: &LooseWords, tokens: Vec<Token<'_>>, own: Option<&Computed>) -> Head {
        let is_own_size = |quantity| {
            let subject = own.map(|computed| Subject {
                computed,
                what: What::Batch,
                of: &[],
                in_phase: false,
                is_active: false,
                may_be_strength: false,
            });
            subject.is_some_and(|subject| {
                subject
                    .figure(Unit::Mass(MassUnit::Gram), None)
                    .is_some_and(|figure| subject.may_agree(quantity, &figure, None))
            })
        };
        let sizes = quantities(words, &tokens);
        let other_size = sizes.iter().any(|quantity| !is_own_size(quantity));
        let holds = |word: &str| tokens.iter().any(|token| token.is(word));
        let unit =
            match (tokens.iter().any(|token| token.is_mark('%')) || holds("percent"), holds("g") || holds("grams")) {
                (true, false) => Some(Unit::Percent),
                (false, true) => Some(Unit::Mass(MassUnit::Gram)),
                _ => None,
            };
        let named =
            words.columns.iter().any(|phrase| (0..tokens.len()).any(|at| phrase_end(phrase, &tokens, at).is_some()));
        // "g/ml" is no weight.
        let is_ratio = tokens.iter().any(|token| token.is_mark('/')) && !holds("w");
        let leads_elsewhere =
            other_size || any_stands(&words.elsewhere, &tokens) || any_stands(&words.sections, &tokens);
        Head { leads_elsewhere, is_figure: named && !leads_elsewhere && !is_ratio, unit }
    }
}
