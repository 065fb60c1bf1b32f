//! Tables in the prose: which cell stands under which head, and beside which name.

use super::compare::Subject;
use super::grammar::{Sentence, Statement, mentions};
use super::names::What;
use super::number::may_hold_a_number;
use super::quantity::{Quantity, Unit, quantities, with_plain_numbers};
use super::scope::Sizes;
use super::words::{Token, any_stands, phrase_end, sentences};
use super::{Around, Judge, plain_bytes};
use crate::compute::Computed;
use crate::material::LooseWords;
use crate::notebook::{Notebook, ProseBlock};
use crate::quantity::{Decimal, MassUnit};
use crate::report::Finding;
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

impl Judge<'_> {
    /// Reads a table: the sentences in its cells, and the rows that begin with a name, by the heads of their columns.
    pub(super) fn read_table(&mut self, table: &Table, at: usize, sizes: &mut Sizes) {
        let prose = &self.notebook.prose;
        let around = Around { home: self.home_of(at), has_links: true };
        let may_hold = |row: &Vec<Range<usize>>| {
            row.iter().any(|cell| prose.text.get(cell.clone()).is_some_and(may_hold_a_number))
        };
        let mut heads: Option<Vec<Head>> = None;
        for row in table.rows().filter(|row| may_hold(row)) {
            let cells: Vec<Vec<Token<'_>>> =
                row.iter().map(|cell| sentences(&prose.text, cell.clone()).concat()).collect();
            let Some(first) = cells.first() else { continue };
            if any_stands(&self.words.elsewhere, first) || any_stands(&self.words.sections, first) {
                continue;
            }
            let heads = heads.get_or_insert_with(|| self.heads_of(table, &around));
            for ((cell, tokens), head) in row.iter().zip(&cells).zip(heads.iter()) {
                if head.leads_elsewhere {
                    continue;
                }
                self.read(&prose.text, cell.clone(), &around, sizes, &|span| plain_bytes(prose, span));
                let is_first = Some(cell) == row.first();
                if !is_first && head.is_figure && !self.adds_up(table, row, cell, first) {
                    let found = self.read_cell(first, tokens, head, &around, sizes);
                    self.findings.extend(found);
                }
            }
        }
    }

    fn heads_of(&self, table: &Table, around: &Around) -> Vec<Head> {
        let text = &self.notebook.prose.text;
        let heads = table.heads().map(|cell| sentences(text, cell.clone()).concat());
        heads.map(|tokens| Head::of(self.words, tokens, self.own_batch(around.home))).collect()
    }

    /// Whether a cell in a row of totals is what the rows above it add up to. Where they do not come to the whole formula, the
    /// total is none of it, and that counts as well.
    fn adds_up(&self, table: &Table, row: &[Range<usize>], cell: &Range<usize>, first: &[Token<'_>]) -> bool {
        let names = mentions(self.names(), first);
        if !names.first().is_some_and(|mention| mention.name.what == What::Sum) {
            return false;
        }
        let text = &self.notebook.prose.text;
        let Some(column) = row.iter().position(|one| one == cell) else { return true };
        let quantity_in = |cell: &Range<usize>| {
            let tokens = sentences(text, cell.clone()).concat();
            with_plain_numbers(self.words, &tokens).into_iter().next()
        };
        let above = table.rows().take_while(|other| other.first() != row.first());
        let parts: Option<Vec<Quantity>> = above.map(|other| quantity_in(other.get(column)?)).collect();
        let (Some(parts), Some(total)) = (parts, quantity_in(cell)) else { return true };
        let sum: Decimal = parts.iter().map(|part| part.low).sum();
        let lines =
            self.formulas.iter().map(|(_, computed)| computed.formula.lines().count()).max().unwrap_or_default();
        sum == total.low || parts.len() < lines || parts.iter().any(|part| part.unit != total.unit)
    }

    /// A cell that is a quantity and nothing else, in a row whose first cell is a name and nothing else.
    fn read_cell(
        &self,
        first: &[Token<'_>],
        tokens: &[Token<'_>],
        head: &Head,
        around: &Around,
        sizes: &Sizes,
    ) -> Option<Finding> {
        let prose = &self.notebook.prose;
        let all: Vec<Token<'_>> = first.iter().chain(tokens).copied().collect();
        let names: Vec<_> =
            mentions(self.names(), first).into_iter().filter(|mention| mention.tokens == (0..first.len())).collect();
        let mut quantity =
            with_plain_numbers(self.words, tokens).into_iter().next().filter(|one| one.tokens == (0..tokens.len()))?;
        if matches!(names.first()?.name.what, What::Ph | What::Batch | What::Making) {
            return None;
        }
        if quantity.unit == Unit::None {
            quantity.unit = head.unit?;
        }
        (quantity.first, quantity.tokens) = (first.len() + quantity.first, first.len()..all.len());
        let quantities = [quantity];
        let sentence = Sentence { words: self.words, tokens: &all, quantities: &quantities, names: &names };
        let statement = Statement { quantity: 0, name: 0, is_part: false, before: false, is_active: false };
        self.judge(&sentence, &statement, around, sizes, &[], &|span| plain_bytes(prose, span))
    }
}
