//! The walk through the Markdown: events of `pulldown-cmark` in, HTML cut at slots out.

use super::address::{CalcLink, percent_decoded, read_calc_address};
use super::attributes;
use super::link::{self, LinkKind, LocalLink};
use super::runs::{Gatherer, ProseText};
use super::terms::{TERM, Term, TermLink};
use super::words::Words;
use super::{ReadOptions, clean, slug};
use crate::block::{self, Cutting, FORMULA};
use crate::report::{Finding, Place, echo, kind, nearest};
use crate::stamp::Stamp;
use pulldown_cmark::{CodeBlockKind, CowStr, Event, HeadingLevel, LinkType, Options, Parser, Tag, TagEnd, html};
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

/// What an open link is on the page.
#[derive(Clone, Copy, PartialEq, Eq)]
enum OpenLink {
    Plain,
    /// Its text alone, among the words of an image.
    Silent,
    Quoted,
    Term,
}

/// The link to a term being read.
struct OpenTerm {
    place: Place,
    address: String,
    text: String,
    autolink: bool,
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

/// The calc link being read: its text is gathered, its events are swallowed.
struct OpenCalc {
    place: Place,
    address: String,
    text: String,
    /// The bytes of all that stands between the brackets, and those of the words alone.
    inner_span: Option<Range<usize>>,
    words_span: Option<Range<usize>>,
    /// Whether emphasis and the like opens or closes in the midst of the words; it has after some of them.
    is_cut: bool,
    has_ended: bool,
    has_markup: bool,
    link_type: LinkType,
    has_code: bool,
    depth: usize,
}

impl OpenCalc {
    fn take(&mut self, event: &Event<'_>, span: &Range<usize>) {
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
    fn text_span(&self) -> Range<usize> {
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

fn hull(known: Option<&Range<usize>>, span: &Range<usize>) -> Range<usize> {
    known.map_or_else(|| span.clone(), |known| known.start.min(span.start)..known.end.max(span.end))
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

    fn swallowed_by_calc_link(&mut self, event: &Event<'s>, span: &Range<usize>) -> bool {
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

    fn close_calc_link(&mut self, calc: OpenCalc) {
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

    fn swallowed_by_block(&mut self, event: &Event<'s>, span: &Range<usize>) -> bool {
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

    fn close_block(&mut self, word: &'static str, mut cutting: Cutting) {
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

    fn start_link(
        &mut self,
        link_type: LinkType,
        dest_url: CowStr<'s>,
        title: CowStr<'s>,
        id: CowStr<'s>,
        span: Range<usize>,
    ) {
        if let Some(address) = dest_url.strip_prefix("calc:") {
            // A link counts as no block of its own: its end event is swallowed, so the depth is put back here.
            self.depth -= 1;
            self.calc = Some(OpenCalc {
                place: self.place(span),
                address: address.to_owned(),
                text: String::new(),
                inner_span: None,
                words_span: None,
                is_cut: false,
                has_ended: false,
                has_markup: false,
                link_type,
                has_code: false,
                depth: 0,
            });
            return;
        }
        if let Some(reason) = dest_url.strip_prefix(QUOTED) {
            self.start_quoted(reason, &title, &span);
            return;
        }
        if let Some(address) = dest_url.strip_prefix(TERM) {
            self.start_term(address, link_type, &span);
            return;
        }
        self.open_links.push(OpenLink::Plain);
        let dest_url =
            if link_type == LinkType::Email { dest_url } else { self.address(dest_url, LinkKind::Link, &span) };
        self.events.push(Event::Start(Tag::Link { link_type, dest_url, title, id }));
    }

    /// A passage that is quoted: the page prints its text, with the reason where the pointer rests on it.
    fn start_quoted(&mut self, address: &str, title: &str, span: &Range<usize>) {
        let decoded = percent_decoded(address);
        let reason = if title.trim().is_empty() { decoded.trim() } else { title.trim() };
        if reason.is_empty() {
            self.findings.push(Finding::new(
                kind::QUOTED_WITHOUT_REASON,
                self.place(span.clone()),
                "This passage is marked as quoted, but not why.",
            ));
        }
        self.quoted.push(span.clone());
        // The words of an image hold no elements.
        if self.images > 0 {
            self.open_links.push(OpenLink::Silent);
            return;
        }
        self.open_links.push(OpenLink::Quoted);
        let mut html = "<span class=\"quoted\"".to_owned();
        if !reason.is_empty() {
            let escaped = reason.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;");
            html.push_str(" title=\"");
            html.push_str(&escaped);
            html.push('"');
        }
        html.push('>');
        self.events.push(Event::InlineHtml(html.into()));
    }

    fn start_term(&mut self, address: &str, link_type: LinkType, span: &Range<usize>) {
        if self.images > 0 {
            self.open_links.push(OpenLink::Silent);
            return;
        }
        self.open_links.push(OpenLink::Term);
        self.term = Some(OpenTerm {
            place: self.place(span.clone()),
            address: percent_decoded(address),
            text: String::new(),
            autolink: link_type == LinkType::Autolink,
        });
        let slot = self.slot(Slot::TermOpen(self.terms.len()));
        self.events.push(slot);
    }

    /// Without a text the term itself is printed; without an address the text is the term.
    fn close_term(&mut self) {
        let Some(term) = self.term.take() else { return };
        if term.text.is_empty() {
            let words = Event::Text(term.address.clone().into());
            self.gather_text(&words);
            self.prose.take(&words, &term.place.span, false);
            self.events.push(words);
        }
        let asked = if term.address.trim().is_empty() { term.text } else { term.address };
        let slot = self.slot(Slot::TermClose(self.terms.len()));
        self.events.push(slot);
        self.terms.push(TermLink { place: term.place, asked: asked.trim().to_owned() });
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

    /// The address as it will stand on the page. Local ones are gathered, unsafe ones taken out.
    fn address(&mut self, dest_url: CowStr<'s>, link_kind: LinkKind, span: &Range<usize>) -> CowStr<'s> {
        if !link::is_safe_address(&dest_url, link_kind) {
            self.findings.push(Finding::new(
                kind::UNSAFE_LINK,
                self.place(span.clone()),
                format!("The address `{}` could run a program.", echo(&dest_url)),
            ));
            return "#".into();
        }
        if !link::is_local(&dest_url) {
            return dest_url;
        }
        let (target, anchor) = link::resolve(self.path, &dest_url);
        self.links.push(LocalLink {
            place: self.place(span.clone()),
            kind: link_kind,
            written: dest_url.to_string(),
            target,
            anchor,
        });
        match link::page_address(&dest_url) {
            Some(page) => page.into(),
            None => dest_url,
        }
    }

    fn nearly_a_block(&mut self, word: &str, span: &Range<usize>) {
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

    /// Calc links and quoted passages that Markdown does not take for links: they would stand on the page as they were typed.
    fn find_unread_links(&mut self) {
        self.find_unread("(calc:", |at, end, walk| {
            let finding = Finding::new(
                kind::UNKNOWN_ADDRESS,
                walk.place(at..end),
                "This looks like a calc link, but Markdown does not read it as a link.",
            );
            let written = walk.source.get(at..end).unwrap_or_default();
            let address: String =
                written.chars().filter(|c| !c.is_whitespace() && !matches!(c, '(' | ')' | '<' | '>')).collect();
            let words = words_before(walk.source.get(..at).unwrap_or_default());
            finding.mend(format!("Write it without spaces: `[{}]({})`.", echo(words), echo(&address)))
        });
        self.find_unread("](quoted:", |at, end, walk| {
            Finding::new(
                kind::UNREAD_QUOTATION,
                walk.place(at..end),
                "This looks like a quoted passage, but Markdown does not read it as a link.",
            )
        });
        self.find_unread("](term:", |at, end, walk| {
            Finding::new(
                kind::UNKNOWN_TERM,
                walk.place(at..end),
                "This looks like a link to a term, but Markdown does not read it as a link.",
            )
            .mend("Write a hyphen for each space: `[washing substance](term:active-matter)`.")
        });
    }

    fn find_unread(&mut self, start: &str, finding: fn(usize, usize, &Walk<'_>) -> Finding) {
        let mut from = 0;
        while let Some(found) = self.source.get(from..).and_then(|rest| rest.find(start)) {
            let at = from + found;
            from = at + start.len();
            let terms = self.terms.iter().map(|link| &link.place.span);
            let mut links = self.calc_links.iter().map(|link| &link.place.span).chain(&self.quoted).chain(terms);
            if links.any(|span| span.contains(&at)) || self.verbatim.iter().any(|span| span.contains(&at)) {
                continue;
            }
            let end = self
                .source
                .get(at..)
                .and_then(|rest| rest.find([')', '\n']))
                .map_or(self.source.len(), |end| at + end + 1);
            self.findings.push(finding(at, end, self));
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

/// Cuts the HTML at its slot marks. A mark that cleaning moved or dropped is simply not there any more; one without the seal
/// is text of the author's and stays, made visible.
fn cut(body: &str, seal: u64, known: &[Slot]) -> (Vec<String>, Vec<Slot>) {
    let seal = format!("{seal}.");
    let mut pieces = vec![String::new()];
    let mut slots = Vec::with_capacity(known.len());
    for (index, part) in body.split(OPEN).enumerate() {
        let slot_of = |number: &str| known.get(number.strip_prefix(&seal)?.parse::<usize>().ok()?);
        let mark = part.split_once(CLOSE).filter(|_| index > 0);
        match mark.and_then(|(number, text)| Some((slot_of(number)?, text))) {
            Some((slot, text)) => {
                slots.push(*slot);
                // The line that the mark took up is none where nothing may come to stand.
                let text = if *slot == Slot::Contents { text.strip_prefix('\n').unwrap_or(text) } else { text };
                pieces.push(text.to_owned());
            }
            None => {
                if let Some(last) = pieces.last_mut() {
                    if index > 0 {
                        last.push('\u{fffd}');
                    }
                    last.push_str(&part.replace(CLOSE, "\u{fffd}"));
                }
            }
        }
    }
    (pieces, slots)
}

/// Whether cleaning took something out, judged by the number of opening brackets of tags.
fn lost_elements(before: &str, after: &str) -> bool {
    after.matches('<').count()
        < before.matches('<').count() - before.matches("<!--").count().min(before.matches('<').count())
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

fn first_line_length(source: &str, span: &Range<usize>) -> usize {
    source.get(span.clone()).and_then(|text| text.lines().next()).map_or(0, str::len)
}

/// What stands between the brackets right before an address, with or without a space between them; empty when there are none.
fn words_before(text: &str) -> &str {
    let line = text.rsplit('\n').next().unwrap_or_default();
    let inside = line.trim_end_matches(' ').strip_suffix(']').unwrap_or_default();
    inside.rsplit_once('[').map_or("", |(_, words)| words)
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
