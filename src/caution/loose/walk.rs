//! Which texts of a notebook are read, and for which of its formulas: the prose block by block, tables, remarks and the words of methods.

use super::scope::Sizes;
use super::words::{any_stands, sentences};
use super::{Around, Judge, plain_bytes, table};
use crate::block::Body;
use crate::report::Place;
use std::ops::Range;

impl Judge<'_> {
    pub(super) fn go_through_prose(&mut self) {
        let notebook = self.notebook;
        let prose = &notebook.prose;
        let mut sizes = Sizes::default();
        let (mut section_is_elsewhere, mut next_is_elsewhere) = (false, false);
        for block in &prose.blocks {
            let Some(text) = prose.text.get(block.text.clone()) else { continue };
            let at = prose.bytes_of(block.text.start..block.text.start).start;
            if block.is_heading {
                section_is_elsewhere = self.leads_elsewhere(block.text.clone()) || self.is_about_another_block(at);
                sizes = Sizes::default();
            }
            let is_elsewhere = section_is_elsewhere || next_is_elsewhere;
            next_is_elsewhere = false;
            sizes.next_block();
            if let Some(table) = table::Table::of(notebook, block) {
                if !is_elsewhere {
                    self.read_table(&table, at, &mut sizes);
                }
                continue;
            }
            let mut start = block.text.start;
            let mut rest_is_elsewhere = false;
            for line in text.split_inclusive('\n') {
                let span = start..start + line.len();
                start = span.end;
                let opens = line.trim_end().ends_with(':');
                let leads = opens && self.leads_elsewhere(span.clone());
                if !is_elsewhere && !rest_is_elsewhere && !section_is_elsewhere {
                    let around = Around { home: self.home_of(at), has_links: true };
                    self.read(&prose.text, span, &around, &mut sizes, &|span| plain_bytes(prose, span));
                }
                sizes.end_line(opens || block.is_heading);
                rest_is_elsewhere |= leads;
                next_is_elsewhere = leads;
            }
        }
    }

    /// Remarks of formulas and the words of methods, where their place can be told exactly.
    pub(super) fn go_through_blocks(&mut self) {
        let notebook = self.notebook;
        let mut texts: Vec<(&str, &Place, Option<usize>)> = Vec::new();
        for (index, block) in notebook.formulas.iter().enumerate() {
            let lines = block.phases.iter().flat_map(|phase| &phase.lines);
            let notes = block.phases.iter().map(|phase| &phase.note).chain(lines.map(|line| &line.note));
            texts.extend(block.note.iter().map(|note| (note.value.as_str(), &note.place, Some(index))));
            texts.extend(notes.flatten().map(|note| (note.as_str(), &block.place, Some(index))));
        }
        for block in &notebook.blocks {
            let Some(Body::Method(method)) = &block.body else { continue };
            let home = notebook.formulas.iter().position(|one| one.id.value == method.formula.value);
            texts.extend(method.steps.iter().map(|step| (step.words.value.as_str(), &step.words.place, home)));
        }
        for (text, place, home) in texts {
            let home = home.filter(|index| self.formulas.iter().any(|(known, _)| known == index));
            let around = Around { home, has_links: false };
            self.read(text, 0..text.len(), &around, &mut Sizes::default(), &|span| {
                let inner = crate::caution::claims::inner_place(&notebook.text, place, text, span);
                (!inner.span.is_empty()).then_some(inner.span)
            });
        }
    }

    /// The formula in whose part of the notebook a byte lies: the last that begins before it, or the first.
    pub(super) fn home_of(&self, at: usize) -> Option<usize> {
        let before = self.notebook.formulas.iter().filter(|block| block.place.span.start <= at).count();
        let index = before.saturating_sub(1);
        self.formulas.iter().any(|(known, _)| *known == index).then_some(index)
    }

    /// Whether a heading, or a line that ends with a colon, says that what follows is not about the formula as it stands.
    fn leads_elsewhere(&self, span: Range<usize>) -> bool {
        sentences(&self.notebook.prose.text, span).iter().any(|tokens| any_stands(&self.words.sections, tokens))
    }

    /// Whether the section that begins at a byte holds blocks that reckon something of their own, and no formula.
    fn is_about_another_block(&self, at: usize) -> bool {
        let notebook = self.notebook;
        let headings = notebook.prose.blocks.iter().filter(|block| block.is_heading);
        let end = headings
            .map(|block| notebook.prose.bytes_of(block.text.start..block.text.start).start)
            .find(|start| *start > at)
            .unwrap_or(notebook.text.len());
        let section = at..end;
        let reckons = |body: &Body| {
            matches!(
                body,
                Body::Buffer(_)
                    | Body::Dilution(_)
                    | Body::Curve(_)
                    | Body::Titration(_)
                    | Body::Filling(_)
                    | Body::Costing(_)
                    | Body::ShoppingList(_)
                    | Body::Kit(_)
                    | Body::Label(_)
                    | Body::Saponification(_)
                    | Body::Workings(_)
            )
        };
        let others = notebook
            .blocks
            .iter()
            .any(|block| section.contains(&block.place.span.start) && block.body.as_ref().is_none_or(reckons));
        others && !notebook.formulas.iter().any(|block| section.contains(&block.place.span.start))
    }
}
