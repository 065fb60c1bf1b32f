//! Blocks that are computed: a fence with a known word, cut out of the text.

use super::{Slot, Walk};
use crate::block::{self, Cutting, FORMULA};
use crate::report::{Finding, echo, kind, nearest};
use pulldown_cmark::{Event, TagEnd};
use std::ops::Range;

impl<'s> Walk<'s> {
    pub(super) fn swallowed_by_block(&mut self, event: &Event<'s>, span: &Range<usize>) -> bool {
        let Some((_, cutting)) = &mut self.block else { return false };
        match event {
            Event::Text(text) => {
                cutting.starts.push((cutting.text.len(), span.start));
                cutting.text.push_str(text);
            }
            Event::End(TagEnd::CodeBlock) => {
                if let Some((word, cutting)) = self.block.take() {
                    self.close_block(word, cutting);
                }
            }
            _ => {}
        }
        true
    }

    pub(super) fn close_block(&mut self, word: &'static str, mut cutting: Cutting) {
        let holds_another = cutting
            .text
            .lines()
            .any(|line| line.trim_start().starts_with("```") || line.trim_start().starts_with("~~~"));
        let runs_on = !is_closed(self.source, &cutting.whole);
        if runs_on || holds_another {
            cutting.is_open = true;
            let what = match holds_another {
                true => format!("The {word} block is not closed before the next block begins."),
                false => format!("The {word} block has no closing fence, so it runs to the end of the notebook."),
            };
            self.findings.push(Finding::new(kind::UNCLOSED_BLOCK, cutting.head(), what));
        }
        let slot = if word == FORMULA {
            self.n_formulas += 1;
            Slot::Sheet(self.n_formulas - 1)
        } else {
            Slot::Block(self.cuttings.len() - self.n_formulas)
        };
        self.cuttings.push((word, cutting));
        self.depth -= 1;
        self.prose.block_ended();
        let slot = self.slot(slot);
        self.events.push(slot);
        if self.depth == 0 {
            self.top = None;
        }
    }

    pub(super) fn nearly_a_block(&mut self, word: &str, span: &Range<usize>) {
        // A shorter word is as likely the name of a language.
        if word.len() >= 5
            && let [near, ..] = nearest(word, block::words()).as_slice()
        {
            let near = (*near).to_owned();
            let place = self.place(span.start..span.start + first_line_length(self.source, span));
            self.findings.push(
                Finding::new(kind::NEARLY_A_BLOCK, place, format!("`{}` is no kind of block.", echo(word)))
                    .mend(format!("Did you mean `{near}`?")),
            );
        }
    }
}

fn is_closed(source: &str, whole: &Range<usize>) -> bool {
    let block = source.get(whole.clone()).unwrap_or_default();
    let fence: String = {
        let start = block.trim_start();
        let mark = start.chars().next().unwrap_or('`');
        start.chars().take_while(|c| *c == mark).collect()
    };
    let mut lines = block.lines();
    let first = lines.next();
    first.is_some()
        && lines.next_back().is_some_and(|line| line.trim_start_matches(['>', ' ', '\t']).starts_with(&fence))
}

pub(super) fn first_line_length(source: &str, span: &Range<usize>) -> usize {
    source.get(span.clone()).and_then(|text| text.lines().next()).map_or(0, str::len)
}
