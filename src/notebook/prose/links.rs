//! Links to files, terms and quoted passages, and what only looks like a link.

use super::calc::OpenCalc;
use super::{QUOTED, Slot, Walk};
use crate::notebook::address::percent_decoded;
use crate::notebook::link::{self, LinkKind, LocalLink};
use crate::notebook::terms::{TERM, TermLink};
use crate::report::{Finding, Place, echo, kind};
use pulldown_cmark::{CowStr, Event, LinkType, Tag};
use std::ops::Range;

/// What an open link is on the page.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum OpenLink {
    Plain,
    /// Its text alone, among the words of an image.
    Silent,
    Quoted,
    Term,
}

/// The link to a term being read.
pub(super) struct OpenTerm {
    pub(super) place: Place,
    pub(super) address: String,
    pub(super) text: String,
    pub(super) autolink: bool,
}

impl<'s> Walk<'s> {
    pub(super) fn start_link(
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
    pub(super) fn start_quoted(&mut self, address: &str, title: &str, span: &Range<usize>) {
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

    pub(super) fn start_term(&mut self, address: &str, link_type: LinkType, span: &Range<usize>) {
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
    pub(super) fn close_term(&mut self) {
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

    /// The address as it will stand on the page. Local ones are gathered, unsafe ones taken out.
    pub(super) fn address(&mut self, dest_url: CowStr<'s>, link_kind: LinkKind, span: &Range<usize>) -> CowStr<'s> {
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

    /// Calc links and quoted passages that Markdown does not take for links: they would stand on the page as they were typed.
    pub(super) fn find_unread_links(&mut self) {
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

    pub(super) fn find_unread(&mut self, start: &str, finding: fn(usize, usize, &Walk<'_>) -> Finding) {
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
}

/// What stands between the brackets right before an address, with or without a space between them; empty when there are none.
fn words_before(text: &str) -> &str {
    let line = text.rsplit('\n').next().unwrap_or_default();
    let inside = line.trim_end_matches(' ').strip_suffix(']').unwrap_or_default();
    inside.rsplit_once('[').map_or("", |(_, words)| words)
}
