//! Calc links: their text is gathered, and a slot takes the place of their events.

use super::{Slot, Walk};
use crate::notebook::address::{CalcLink, read_calc_address};
use crate::report::Place;
use pulldown_cmark::{Event, LinkType, TagEnd};
use std::ops::Range;

/// The calc link being read: its text is gathered, its events are swallowed.
pub(super) struct OpenCalc {
    pub(super) place: Place,
    pub(super) address: String,
    pub(super) text: String,
    /// The bytes of all that stands between the brackets, and those of the words alone.
    pub(super) inner_span: Option<Range<usize>>,
    pub(super) words_span: Option<Range<usize>>,
    /// Whether emphasis and the like opens or closes in the midst of the words; it has after some of them.
    pub(super) is_cut: bool,
    pub(super) has_ended: bool,
    pub(super) has_markup: bool,
    pub(super) link_type: LinkType,
    pub(super) has_code: bool,
    pub(super) depth: usize,
}

impl OpenCalc {
    pub(super) fn take(&mut self, event: &Event<'_>, span: &Range<usize>) {
        match event {
            Event::Start(_) => self.depth += 1,
            Event::End(_) => self.depth -= 1,
            Event::Text(text) => self.text.push_str(text),
            Event::Code(text) => {
                self.has_code = true;
                self.text.push_str(text);
            }
            Event::SoftBreak | Event::HardBreak => self.text.push(' '),
            _ => {}
        }
        self.inner_span = Some(hull(self.inner_span.as_ref(), span));
        if matches!(event, Event::Start(_) | Event::End(_)) {
            self.has_markup = true;
            self.has_ended = self.words_span.is_some();
        } else {
            self.is_cut |= self.has_ended;
            self.words_span = Some(hull(self.words_span.as_ref(), span));
        }
    }

    /// The bytes that are the text between the brackets: all of it, or what emphasis holds where it holds everything.
    pub(super) fn text_span(&self) -> Range<usize> {
        let first = self.place.span.start + 1;
        match (&self.words_span, &self.inner_span) {
            _ if self.link_type == LinkType::Autolink => first..first,
            (Some(words), _) if !self.has_markup => first..words.end,
            (Some(words), _) if !self.is_cut => words.clone(),
            (_, Some(inner)) => inner.clone(),
            (_, None) => first..first,
        }
    }
}

impl<'s> Walk<'s> {
    pub(super) fn swallowed_by_calc_link(&mut self, event: &Event<'s>, span: &Range<usize>) -> bool {
        let Some(calc) = &mut self.calc else { return false };
        match event {
            Event::End(TagEnd::Link) if calc.depth == 0 => {
                if let Some(calc) = self.calc.take() {
                    self.close_calc_link(calc);
                }
                return true;
            }
            _ => {}
        }
        calc.take(event, span);
        true
    }

    pub(super) fn close_calc_link(&mut self, calc: OpenCalc) {
        let (path, query) = read_calc_address(&calc.address, &calc.place, &mut self.findings);
        let text_span = calc.text_span();
        let is_autolink = calc.link_type == LinkType::Autolink;
        // The text of `[60 g]` and `[60 g][]` is the name under which the address stands elsewhere.
        let is_name = matches!(
            calc.link_type,
            LinkType::Shortcut | LinkType::ShortcutUnknown | LinkType::Collapsed | LinkType::CollapsedUnknown
        );
        let text = if is_autolink { String::new() } else { calc.text };
        let index = self.calc_links.len();
        if let Some(heading) = &mut self.heading {
            // The anchor must not move with the number, so it keeps what the author last saw.
            heading.text.push_str(&text);
            heading.words.push_number(index);
        }
        if let Some(paragraph) = &mut self.paragraph {
            paragraph.push_number(index);
        }
        if let Some(definition) = self.definition() {
            definition.push_number(index);
        }
        self.prose.gap(calc.place.span.clone());
        self.calc_links.push(CalcLink {
            text_span,
            place: calc.place,
            text,
            path,
            query,
            written: calc.address,
            can_be_rewritten: !is_autolink && !is_name && !calc.has_code,
        });
        let slot = self.slot(if self.images == 0 { Slot::Number(index) } else { Slot::PlainNumber(index) });
        self.events.push(slot);
    }
}

pub(super) fn hull(known: Option<&Range<usize>>, span: &Range<usize>) -> Range<usize> {
    known.map_or_else(|| span.clone(), |known| known.start.min(span.start)..known.end.max(span.end))
}
