//! The words of the prose as a reader of the page sees them, each with its bytes in the source.
//!
//! Gathered while the Markdown is walked, for checks that read sentences. Headings, paragraphs, list items, table cells,
//! footnotes and the words of images count. Code, raw HTML, addresses and the numbers of calc links do not: where one stands
//! inside a sentence there is a [`GAP`], so that the words on both sides do not become neighbours.

use pulldown_cmark::{Event, LinkType, Tag, TagEnd};
use std::ops::Range;

/// Stands for something inside a sentence that is not prose (U+FFFC, object replacement character).
pub const GAP: char = '\u{fffc}';

/// How a stretch of prose is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meant {
    /// As the author's own words.
    Plain,
    /// Struck out.
    Struck,
    /// Marked as quoted by a link to `quoted:`; printed, but not the author's own words.
    Quoted,
}

/// A stretch of the prose and where it stands in the source.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// Where it starts in [`ProseText::text`]. It goes on to the start of the next.
    pub start: usize,
    /// Its bytes in the source. As many as the stretch has, unless an entity or an escape is among them.
    pub bytes: Range<usize>,
    /// How it is meant.
    pub meant: Meant,
}

/// All prose of a notebook as plain text. A line end stands after each paragraph, heading, item, cell and the like; a line
/// break within one is a space.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ProseText {
    /// The text.
    pub text: String,
    /// Its stretches, in order.
    pub stretches: Vec<Stretch>,
    /// The part of each top-level block of the notebook, in order.
    pub blocks: Vec<ProseBlock>,
}

/// The prose of a top-level block.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProseBlock {
    /// Its part of [`ProseText::text`].
    pub text: Range<usize>,
    /// Whether it is a heading.
    pub is_heading: bool,
}

impl ProseText {
    fn stretch_at(&self, position: usize) -> Option<(&Stretch, usize)> {
        let index = self.stretches.partition_point(|stretch| stretch.start <= position).checked_sub(1)?;
        let end = self.stretches.get(index + 1).map_or(self.text.len(), |next| next.start);
        self.stretches.get(index).map(|stretch| (stretch, end))
    }

    /// The bytes in the source of a part of the text. Inside an entity or an escape it is the whole of it.
    pub fn bytes_of(&self, part: Range<usize>) -> Range<usize> {
        let start = self.stretch_at(part.start).map_or(0, |(stretch, end)| {
            let same = end - stretch.start == stretch.bytes.len();
            stretch.bytes.start + if same { part.start - stretch.start } else { 0 }
        });
        let end = self.stretch_at(part.end.saturating_sub(1)).map_or(start, |(stretch, end)| {
            let same = end - stretch.start == stretch.bytes.len();
            if same { stretch.bytes.start + (part.end - stretch.start) } else { stretch.bytes.end }
        });
        start..end.max(start)
    }

    /// How the text at a position is meant.
    pub fn meant_at(&self, position: usize) -> Meant {
        self.stretch_at(position).map_or(Meant::Plain, |(stretch, _)| stretch.meant)
    }

    fn push(&mut self, text: &str, bytes: Range<usize>, meant: Meant) {
        self.stretches.push(Stretch { start: self.text.len(), bytes, meant });
        self.text.push_str(text);
    }

    fn end_line(&mut self, at: usize) {
        let begun = self.blocks.last().map_or(0, |block| block.text.start);
        if self.text.len() > begun && !self.text.ends_with('\n') {
            self.push("\n", at..at, Meant::Plain);
        }
    }
}

/// Gathers the prose from the events of the Markdown.
#[derive(Default)]
pub(super) struct Gatherer {
    prose: ProseText,
    is_code: bool,
    /// Inside a link whose text is its address.
    is_address: bool,
    is_quoted: bool,
    struck: usize,
}

impl Gatherer {
    pub(super) fn new(source: &str) -> Gatherer {
        let mut gatherer = Gatherer::default();
        gatherer.prose.text.reserve(source.len());
        gatherer
    }

    /// Takes an event that no calc link and no block of ours has swallowed. `is_top` when it opens a top-level block.
    pub(super) fn take(&mut self, event: &Event<'_>, span: &Range<usize>, is_top: bool) {
        match event {
            Event::Start(tag) => self.start(tag, span, is_top),
            Event::End(tag) => self.end(*tag, span),
            Event::Text(text) if !self.is_code && !self.is_address => {
                let meant = self.meant();
                // After a backslash the span begins at the character itself; an entity's is the whole entity.
                self.prose.push(text, span.clone(), meant);
            }
            Event::SoftBreak | Event::HardBreak => self.prose.push(" ", span.clone(), self.meant()),
            Event::InlineHtml(html) if html.starts_with("<br") => self.prose.push(" ", span.clone(), self.meant()),
            Event::Code(_) => self.gap(span.clone()),
            _ => {}
        }
    }

    /// Something inside a sentence that is not prose.
    pub(super) fn gap(&mut self, span: Range<usize>) {
        self.prose.push(GAP.encode_utf8(&mut [0; 4]), span, self.meant());
    }

    /// A block of ours has ended; its end event was swallowed.
    pub(super) fn block_ended(&mut self) {
        self.is_code = false;
    }

    pub(super) fn finish(mut self) -> ProseText {
        self.close_block();
        self.prose
    }

    fn meant(&self) -> Meant {
        match (self.is_quoted, self.struck) {
            (true, _) => Meant::Quoted,
            (false, 0) => Meant::Plain,
            (false, _) => Meant::Struck,
        }
    }

    fn close_block(&mut self) {
        let end = self.prose.text.len();
        if let Some(block) = self.prose.blocks.last_mut() {
            block.text.end = end;
        }
    }

    fn start(&mut self, tag: &Tag<'_>, span: &Range<usize>, is_top: bool) {
        if is_top {
            self.close_block();
            let start = self.prose.text.len();
            let is_heading = matches!(tag, Tag::Heading { .. });
            self.prose.blocks.push(ProseBlock { text: start..start, is_heading });
        }
        match tag {
            Tag::Link { link_type, dest_url, .. } => {
                self.is_address = matches!(link_type, LinkType::Autolink | LinkType::Email);
                self.is_quoted = dest_url.starts_with(super::prose::QUOTED);
                // The events of a calc link are swallowed from here on.
                self.is_address &= !dest_url.starts_with("calc:");
            }
            Tag::Strikethrough => self.struck += 1,
            Tag::Emphasis | Tag::Strong | Tag::Image { .. } | Tag::Superscript | Tag::Subscript => {}
            other => {
                self.is_code = matches!(other, Tag::CodeBlock(_));
                // A nested block begins a new line of its own.
                self.prose.end_line(span.start);
            }
        }
    }

    fn end(&mut self, tag: TagEnd, span: &Range<usize>) {
        match tag {
            TagEnd::Link => (self.is_address, self.is_quoted) = (false, false),
            TagEnd::Strikethrough => self.struck = self.struck.saturating_sub(1),
            TagEnd::Emphasis | TagEnd::Strong | TagEnd::Image | TagEnd::Superscript | TagEnd::Subscript => {}
            _ => {
                self.is_code = false;
                self.prose.end_line(span.end);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::notebook::{Notebook, ReadOptions};
    use std::sync::Arc;

    fn prose_of(text: &str) -> ProseText {
        Notebook::read(
            &Arc::from("a.md"),
            &Arc::from(text),
            ReadOptions { trust_html: false },
            &crate::block::RowFiles::new(),
        )
        .prose
    }

    #[track_caller]
    fn check(text: &str, expected: &str) {
        assert_eq!(prose_of(text).text.replace(GAP, "▯"), expected);
    }

    #[test]
    fn what_is_read_as_prose() {
        check("# Head *line*\n\ntwo\nlines\n", "Head line\ntwo lines\n");
        check("- one\n- two\n\n  more\n", "one\ntwo\nmore\n");
        check("| a | b |\n| --- | --- |\n| c | d |\n", "a\nb\nc\nd\n");
        check("![words](a.svg) [here](b.md) <https://example.org/heals>\n", "words here \n");
        check("a `code` and [3 g](calc:wash/batch) b\n", "a ▯ and ▯ b\n");
        check("```text\nheals\n```\n\n<div>heals</div>\n\nend\n", "end\n");
        check("```formula\nid = \"a\"\n```\n\nend\n", "end\n");
        check("- ```formula\n  id = \"a\"\n  ```\n  end\n", "end\n");
    }

    #[test]
    fn every_part_leads_back_to_its_bytes() {
        let source = "A **bold** claim &amp; an \\*odd\\* one:\n\n> - it [heals](quoted: \"no\") ~~cures~~\n";
        let prose = prose_of(source);
        let find = |word: &str| {
            let start = prose.text.find(word).unwrap();
            let bytes = prose.bytes_of(start..start + word.len());
            (&source[bytes], prose.meant_at(start))
        };
        assert_eq!(find("bold claim"), ("bold** claim", Meant::Plain));
        assert_eq!(find("&"), ("&amp;", Meant::Plain));
        assert_eq!(find("odd"), ("odd", Meant::Plain));
        assert_eq!(find("heals"), ("heals", Meant::Quoted));
        assert_eq!(find("cures"), ("cures", Meant::Struck));
        assert_eq!(find("it heals"), ("it [heals", Meant::Plain));
        assert_eq!(prose.blocks.len(), 2);
    }
}
