//! The walk through the Markdown: events of `pulldown-cmark` in, HTML cut at slots out.

mod blocks;
mod calc;
mod cut;
mod links;

use self::blocks::first_line_length;
use self::calc::OpenCalc;
use self::cut::{cut, lost_elements};
use self::links::{OpenLink, OpenTerm};
use super::address::CalcLink;
use super::attributes;
use super::link::{self, LinkKind, LocalLink};
use super::runs::{Gatherer, ProseText};
use super::terms::{TERM, Term, TermLink};
use super::words::Words;
use super::{ReadOptions, clean, slug};
use crate::block::{self, Cutting};
use crate::report::{Finding, Place, echo, kind};
use crate::stamp::Stamp;
use pulldown_cmark::{CodeBlockKind, Event, HeadingLevel, Options, Parser, Tag, TagEnd, html};
use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::Arc;

/// A place in the page where something computed stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slot {
    /// The number of a calc link.
    Number(usize),
    /// The number of a calc link in the words of an image, where no element may stand.
    PlainNumber(usize),
    /// The sheet of a formula.
    Sheet(usize),
    /// What a block of another kind gives.
    Block(usize),
    /// Before a top-level block that has an aside.
    AsideOpen(usize),
    /// After it.
    AsideClose(usize),
    /// Before the words of a link to a term.
    TermOpen(usize),
    /// After them.
    TermClose(usize),
    /// Below the title: what the page contains.
    Contents,
}

/// A heading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HeadingLine {
    /// From 1 for the title to 6.
    pub level: usize,
    /// Its anchor.
    pub anchor: String,
    /// Its words.
    pub words: Words,
    /// Its bytes.
    pub span: Range<usize>,
}

/// A top-level block of prose that may have an aside: its bytes and its calc links.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AsideBlock {
    /// The block's bytes.
    pub span: Range<usize>,
    /// The calc links in it.
    pub calc_links: Range<usize>,
    /// The links to terms in it.
    pub terms: Range<usize>,
}

/// Marks around a slot's number in the HTML. Both are noncharacters that no text may hold; a text that does is cleaned first.
/// Written as entities they would come out of the parser all the same, so a mark also carries a number made from the text.
const OPEN: char = '\u{fdd0}';
const CLOSE: char = '\u{fdd1}';

/// What the address of a passage begins with that is quoted and not the author's own promise.
pub(super) const QUOTED: &str = "quoted:";

/// What reading the Markdown yields.
pub(crate) struct Prose {
    pub(crate) pieces: Vec<String>,
    pub(crate) slots: Vec<Slot>,
    pub(crate) asides: Vec<AsideBlock>,
    pub(crate) cuttings: Vec<(&'static str, Cutting)>,
    pub(crate) calc_links: Vec<CalcLink>,
    pub(crate) links: Vec<LocalLink>,
    pub(crate) anchors: BTreeSet<String>,
    pub(crate) title: Option<Words>,
    pub(crate) summary: Words,
    pub(crate) prose: ProseText,
    pub(crate) headings: Vec<HeadingLine>,
    pub(crate) terms: Vec<TermLink>,
    pub(crate) glossary: Vec<Term>,
    pub(crate) findings: Vec<Finding>,
}

/// CommonMark with the GFM extensions, footnotes, definition lists and anchors given by hand.
pub(crate) fn markdown_options() -> Options {
    Options::ENABLE_TABLES
        | Options::ENABLE_FOOTNOTES
        | Options::ENABLE_STRIKETHROUGH
        | Options::ENABLE_TASKLISTS
        | Options::ENABLE_HEADING_ATTRIBUTES
        | Options::ENABLE_GFM
        | Options::ENABLE_DEFINITION_LIST
}

pub(crate) fn read(path: &Arc<str>, text: &Arc<str>, options: ReadOptions) -> Prose {
    // The two marks have no meaning in any text (Unicode, noncharacters), and their stand-in has as many bytes.
    let replaced;
    let source: &str = if text.contains([OPEN, CLOSE]) {
        replaced = text.replace([OPEN, CLOSE], "\u{fffd}");
        &replaced
    } else {
        text
    };
    let mut walk = Walk::new(path, source);
    for (event, span) in Parser::new_ext(source, markdown_options()).into_offset_iter() {
        walk.take(event, span);
    }
    walk.finish(options)
}

struct Walk<'s> {
    path: &'s Arc<str>,
    source: &'s str,
    events: Vec<Event<'s>>,
    slots: Vec<Slot>,
    asides: Vec<AsideBlock>,
    cuttings: Vec<(&'static str, Cutting)>,
    /// How many of the cuttings are formulas.
    n_formulas: usize,
    calc_links: Vec<CalcLink>,
    links: Vec<LocalLink>,
    anchors: BTreeSet<String>,
    title: Option<Words>,
    summary: Words,
    findings: Vec<Finding>,
    raw_html: Option<Range<usize>>,
    /// Code and raw HTML: what looks like Markdown there is none.
    verbatim: Vec<Range<usize>>,
    /// What every mark begins with.
    seal: u64,
    depth: usize,
    /// How many images are open around the present event.
    images: usize,
    top: Option<Top>,
    heading: Option<Heading>,
    calc: Option<OpenCalc>,
    block: Option<(&'static str, Cutting)>,
    paragraph: Option<Words>,
    prose: Gatherer,
    /// For each open link what it is.
    open_links: Vec<OpenLink>,
    /// The link to a term being read.
    term: Option<OpenTerm>,
    headings: Vec<HeadingLine>,
    terms: Vec<TermLink>,
    glossary: Vec<Term>,
    /// The line of a definition list being read: its event, its words and its bytes.
    definition_title: Option<(usize, String, Range<usize>)>,
    /// Whether what a term means is being read.
    in_definition: bool,
    /// The bytes of quoted passages.
    quoted: Vec<Range<usize>>,
}

/// The top-level block being read.
struct Top {
    event: usize,
    span: Range<usize>,
    first_link: usize,
    first_term: usize,
}

/// The heading being read.
struct Heading {
    event: usize,
    level: HeadingLevel,
    /// As written, for the anchor.
    text: String,
    /// With places for numbers, for the title.
    words: Words,
    given: Option<String>,
    span: Range<usize>,
}

impl<'s> Walk<'s> {
    fn new(path: &'s Arc<str>, source: &'s str) -> Walk<'s> {
        Walk {
            path,
            source,
            events: Vec::with_capacity(source.len() / 16),
            slots: Vec::new(),
            asides: Vec::new(),
            cuttings: Vec::new(),
            n_formulas: 0,
            calc_links: Vec::new(),
            links: Vec::new(),
            anchors: BTreeSet::new(),
            title: None,
            summary: Words::default(),
            findings: Vec::new(),
            raw_html: None,
            verbatim: Vec::new(),
            seal: Stamp::new().text(source).value(),
            depth: 0,
            images: 0,
            top: None,
            heading: None,
            calc: None,
            block: None,
            paragraph: None,
            prose: Gatherer::new(source),
            open_links: Vec::new(),
            term: None,
            headings: Vec::new(),
            terms: Vec::new(),
            glossary: Vec::new(),
            definition_title: None,
            in_definition: false,
            quoted: Vec::new(),
        }
    }

    fn place(&self, span: Range<usize>) -> Place {
        Place { path: Arc::clone(self.path), span }
    }

    fn slot(&mut self, slot: Slot) -> Event<'s> {
        let index = self.slots.len();
        self.slots.push(slot);
        Event::InlineHtml(format!("{OPEN}{}.{index}{CLOSE}", self.seal).into())
    }

    fn take(&mut self, event: Event<'s>, span: Range<usize>) {
        if self.swallowed_by_calc_link(&event, &span) || self.swallowed_by_block(&event, &span) {
            return;
        }
        // The text of a term's address between angle brackets is the address.
        if self.term.as_ref().is_some_and(|term| term.autolink) && matches!(event, Event::Text(_)) {
            return;
        }
        self.gather_text(&event);
        self.prose.take(&event, &span, self.depth == 0);
        match event {
            Event::Start(tag) => self.start(tag, span),
            Event::End(tag) => self.end(tag),
            Event::Html(ref html) | Event::InlineHtml(ref html) => {
                self.gather_from_html(html, &span);
                self.verbatim.push(span.clone());
                self.raw_html.get_or_insert(span);
                self.events.push(event);
            }
            Event::Code(_) => {
                self.verbatim.push(span);
                self.events.push(event);
            }
            Event::TaskListMarker(is_done) => {
                let state = if is_done { " checked=\"\"" } else { "" };
                // As GFM has it, with a name for those who hear the page.
                let html = format!("<input disabled=\"\" type=\"checkbox\"{state} aria-label=\"done\"/>\n");
                self.events.push(Event::InlineHtml(html.into()));
            }
            other => self.events.push(other),
        }
    }

    /// Plain text goes to the heading or the first paragraph being read.
    fn gather_text(&mut self, event: &Event<'s>) {
        let text: &str = match event {
            Event::Text(text) | Event::Code(text) => text,
            Event::SoftBreak | Event::HardBreak => " ",
            _ => return,
        };
        if let Some(heading) = &mut self.heading {
            heading.text.push_str(text);
            heading.words.push_text(text);
        }
        if let Some(paragraph) = &mut self.paragraph {
            paragraph.push_text(text);
        }
        if let Some(term) = &mut self.term {
            term.text.push_str(text);
        }
        if let Some((_, title, _)) = &mut self.definition_title {
            title.push_str(text);
        }
        if let Some(definition) = self.definition() {
            definition.push_text(text);
        }
    }

    /// What the term just named means, while it is being read.
    fn definition(&mut self) -> Option<&mut Words> {
        self.glossary.last_mut().filter(|_| self.in_definition).map(|term| &mut term.definition)
    }

    fn start(&mut self, tag: Tag<'s>, span: Range<usize>) {
        if self.depth == 0 {
            let (first_link, first_term) = (self.calc_links.len(), self.terms.len());
            self.top = Some(Top { event: self.events.len(), span: span.clone(), first_link, first_term });
        }
        self.depth += 1;
        if matches!(tag, Tag::CodeBlock(_) | Tag::HtmlBlock) {
            self.verbatim.push(span.clone());
        }
        match tag {
            Tag::CodeBlock(CodeBlockKind::Fenced(ref info)) => {
                let word = info.split_whitespace().next().unwrap_or_default();
                if let Some(known) = block::words().find(|known| known.eq_ignore_ascii_case(word)) {
                    let cutting = Cutting {
                        path: Arc::clone(self.path),
                        text: String::new(),
                        starts: Vec::new(),
                        whole: span,
                        is_open: false,
                        pieces: Vec::new(),
                    };
                    self.block = Some((known, cutting));
                    return;
                }
                self.nearly_a_block(word, &span);
                self.events.push(Event::Start(tag));
            }
            Tag::Heading { level, id, classes, attrs } => {
                // The parser takes any attribute here, event handlers too. Only the anchor is meant.
                if !classes.is_empty() || !attrs.is_empty() {
                    let place = self.place(span.start..span.start + first_line_length(self.source, &span));
                    self.findings.push(
                        Finding::new(
                            kind::HTML_CLEANED,
                            place,
                            "Of what stands in the heading's braces only the anchor was kept.",
                        )
                        .mend("Write `{#anchor}` alone."),
                    );
                }
                let given = id.as_ref().map(ToString::to_string);
                self.heading = Some(Heading {
                    event: self.events.len(),
                    level,
                    text: String::new(),
                    words: Words::default(),
                    given,
                    span: span.clone(),
                });
                let (classes, attrs) = (Vec::new(), Vec::new());
                self.events.push(Event::Start(Tag::Heading { level, id, classes, attrs }));
            }
            Tag::Paragraph => {
                if self.summary.is_empty() && self.depth == 1 {
                    self.paragraph = Some(Words::default());
                }
                self.events.push(Event::Start(Tag::Paragraph));
            }
            Tag::DefinitionListTitle => {
                self.definition_title = Some((self.events.len(), String::new(), span));
                self.events.push(Event::Start(tag));
            }
            Tag::DefinitionListDefinition => {
                self.in_definition = true;
                self.events.push(Event::Start(tag));
            }
            Tag::FootnoteDefinition(ref name) => {
                self.anchors.insert(name.to_string());
                self.events.push(Event::Start(tag));
            }
            Tag::Link { link_type, dest_url, title, id } => self.start_link(link_type, dest_url, title, id, span),
            Tag::Image { link_type, dest_url, title, id } => {
                self.images += 1;
                if dest_url.starts_with("calc:") {
                    self.verbatim.push(span.clone());
                    self.findings.push(
                        Finding::new(
                            kind::UNKNOWN_ADDRESS,
                            self.place(span.clone()),
                            "A calc link gives a number, not an image.",
                        )
                        .mend("Take out the exclamation mark before the bracket."),
                    );
                }
                if dest_url.starts_with(TERM) {
                    self.verbatim.push(span.clone());
                    let what = "A link to a term gives words, not an image.";
                    self.findings.push(
                        Finding::new(kind::UNKNOWN_TERM, self.place(span.clone()), what)
                            .mend("Take out the exclamation mark before the bracket."),
                    );
                }
                let dest_url = self.address(dest_url, LinkKind::Image, &span);
                self.events.push(Event::Start(Tag::Image { link_type, dest_url, title, id }));
            }
            other => self.events.push(Event::Start(other)),
        }
    }

    /// A term of a definition list gets an anchor.
    fn close_definition_title(&mut self) {
        let Some((event, title, span)) = self.definition_title.take() else { return };
        let title = title.trim().to_owned();
        let anchor = slug::anchor(&format!("term-{title}"), &mut self.anchors);
        if let Some(start) = self.events.get_mut(event) {
            *start = Event::InlineHtml(format!("<dt id=\"{anchor}\">").into());
        }
        self.glossary.push(Term { title, anchor, definition: Words::default(), span });
    }

    fn end(&mut self, tag: TagEnd) {
        match self.open_links.pop_if(|_| tag == TagEnd::Link) {
            Some(OpenLink::Silent) => {}
            Some(OpenLink::Quoted) => self.events.push(Event::InlineHtml("</span>".into())),
            Some(OpenLink::Term) => self.close_term(),
            Some(OpenLink::Plain) | None => self.events.push(Event::End(tag)),
        }
        self.depth = self.depth.saturating_sub(1);
        let mut is_title = false;
        match tag {
            TagEnd::Heading(_) => is_title = self.close_heading(),
            TagEnd::Image => self.images = self.images.saturating_sub(1),
            TagEnd::DefinitionListTitle => self.close_definition_title(),
            TagEnd::DefinitionListDefinition => {
                if let Some(definition) = self.definition() {
                    *definition = definition.trimmed();
                    // A second meaning of the same term follows the first.
                    definition.push_text(" ");
                }
                self.in_definition = false;
            }
            TagEnd::Paragraph => {
                if let Some(paragraph) = self.paragraph.take() {
                    self.summary = paragraph.first_sentence();
                }
            }
            _ => {}
        }
        if self.depth == 0
            && let Some(top) = self.top.take()
        {
            self.close_top(top, tag);
            if is_title {
                let slot = self.slot(Slot::Contents);
                self.events.push(slot);
            }
        }
    }

    /// Whether it was the title.
    fn close_heading(&mut self) -> bool {
        let Some(heading) = self.heading.take() else { return false };
        let is_title = self.title.is_none() && heading.level == HeadingLevel::H1;
        if is_title {
            self.title = Some(heading.words.trimmed());
        }
        let anchor = match heading.given {
            Some(given) => {
                if !self.anchors.insert(given.clone()) || slug::is_reserved(&given) {
                    let span = heading.span.start..heading.span.start + first_line_length(self.source, &heading.span);
                    self.findings.push(Finding::new(
                        kind::ANCHOR_TWICE,
                        self.place(span),
                        format!("The anchor `{}` is taken already.", echo(&given)),
                    ));
                }
                given
            }
            None => slug::anchor(&heading.text, &mut self.anchors),
        };
        self.headings.push(HeadingLine {
            level: heading.level as usize,
            anchor: anchor.clone(),
            words: heading.words.trimmed(),
            span: heading.span,
        });
        if let Some(Event::Start(Tag::Heading { id, .. })) = self.events.get_mut(heading.event) {
            *id = Some(anchor.into());
        }
        is_title
    }

    /// A top-level block with calc links gets an aside, so that each working stands beside its line.
    fn close_top(&mut self, top: Top, tag: TagEnd) {
        let has_links = self.calc_links.len() > top.first_link || self.terms.len() > top.first_term;
        if !has_links || matches!(tag, TagEnd::FootnoteDefinition) {
            return;
        }
        let index = self.asides.len();
        self.asides.push(AsideBlock {
            span: top.span,
            calc_links: top.first_link..self.calc_links.len(),
            terms: top.first_term..self.terms.len(),
        });
        let open = self.slot(Slot::AsideOpen(index));
        let close = self.slot(Slot::AsideClose(index));
        self.events.insert(top.event, open);
        // The heading's event index moves with the insertion, but no heading is open at the end of a top-level block.
        self.events.push(close);
    }

    /// Anchors that an author sets by hand in raw HTML, and what it leads to in the collection.
    fn gather_from_html(&mut self, html: &str, span: &Range<usize>) {
        for attribute in attributes::attributes(html) {
            let value = attributes::decoded(html.get(attribute.value.clone()).unwrap_or_default());
            if matches!(attribute.name.as_str(), "id" | "name") {
                self.anchors.insert(value);
            } else if attributes::is_address(&attribute.name) && link::is_local(&value) {
                let (target, anchor) = link::resolve(self.path, &value);
                let kind = if attribute.name == "href" { LinkKind::Link } else { LinkKind::Image };
                self.links.push(LocalLink { place: self.place(span.clone()), kind, written: value, target, anchor });
            }
        }
    }

    fn finish(mut self, options: ReadOptions) -> Prose {
        self.find_unread_links();
        let mut body = String::with_capacity(self.source.len() * 3 / 2);
        html::push_html(&mut body, self.events.into_iter());
        if let Some(span) = self.raw_html.clone().filter(|_| !options.trust_html) {
            let cleaned = clean::clean(&body);
            if lost_elements(&body, &cleaned) {
                let end = span.start + first_line_length(self.source, &span);
                self.findings.push(Finding::new(
                    kind::HTML_CLEANED,
                    Place { path: Arc::clone(self.path), span: span.start..end.min(span.end) },
                    "Raw HTML that is not on the list of harmless elements was taken out.",
                ));
            }
            body = cleaned;
        }
        if let Some(span) = self.raw_html.clone().filter(|_| options.trust_html) {
            let (safe, had_program) = attributes::without_programs(&body);
            if had_program {
                let end = span.start + first_line_length(self.source, &span);
                let place = Place { path: Arc::clone(self.path), span: span.start..end.min(span.end) };
                self.findings.push(Finding::new(
                    kind::UNSAFE_LINK,
                    place,
                    "An address in the raw HTML of this notebook could run a program.",
                ));
            }
            body = safe;
        }
        let (pieces, slots) = cut(&body, self.seal, &self.slots);
        // What a page contains can be seen without its list.
        let computed = |slots: &[Slot]| slots.iter().filter(|slot| **slot != Slot::Contents).count();
        let missing = computed(&self.slots).saturating_sub(computed(&slots));
        if missing > 0 {
            let span = self.raw_html.unwrap_or(0..0);
            let end = span.start + first_line_length(self.source, &span);
            self.findings.push(Finding::new(
                kind::SWALLOWED,
                Place { path: Arc::clone(self.path), span: span.start..end.min(span.end) },
                match missing {
                    1 => "Raw HTML on this page swallows something computed.".to_owned(),
                    _ => format!("Raw HTML on this page swallows {missing} things computed."),
                },
            ));
        }
        Prose {
            pieces,
            slots,
            asides: self.asides,
            cuttings: self.cuttings,
            calc_links: self.calc_links,
            links: self.links,
            anchors: self.anchors,
            title: self.title,
            summary: self.summary,
            prose: self.prose.finish(),
            headings: self.headings,
            terms: self.terms,
            glossary: self.glossary,
            findings: self.findings,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: &str) {
        let prose = read(&Arc::from("a.md"), &Arc::from(text), ReadOptions { trust_html: false });
        assert_eq!(prose.pieces.concat(), expected);
    }

    #[test]
    fn a_box_of_a_task_list_has_a_name() {
        check(
            "- [ ] weigh\n- [x] tare\n",
            "<ul>\n<li><input disabled=\"\" type=\"checkbox\" aria-label=\"done\"/>\nweigh</li>\n\
             <li><input disabled=\"\" type=\"checkbox\" checked=\"\" aria-label=\"done\"/>\ntare</li>\n</ul>\n",
        );
    }

    #[test]
    fn a_quoted_passage_is_its_text_with_the_reason() {
        check(
            "so [treats *acne*](quoted: \"not <ours>\") [x](<quoted:an old label>) [y](quoted:) [z](b.html)\n",
            "<p>so <span class=\"quoted\" title=\"not &lt;ours&gt;\">treats <em>acne</em></span> \
             <span class=\"quoted\" title=\"an old label\">x</span> <span class=\"quoted\">y</span> <a href=\"b.html\">z</a></p>\n",
        );
        check(
            "[treats](quoted: \"no\") <b>x</b>\n",
            "<p><span class=\"quoted\" title=\"no\">treats</span> <b>x</b></p>\n",
        );
        check("![a [b](quoted:c) d](e.svg)\n", "<p><img src=\"e.svg\" alt=\"a b d\" /></p>\n");
    }

    #[test]
    fn cleaning_keeps_the_name_of_a_box() {
        check(
            "- [ ] weigh <b>well</b>\n",
            "<ul>\n<li><input disabled=\"\" type=\"checkbox\" aria-label=\"done\">\nweigh <b>well</b></li>\n</ul>\n",
        );
    }
}
