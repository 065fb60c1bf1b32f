//! Attributes of raw HTML: found for anchors and links, and made harmless where they would run a program.

use super::link::{LinkKind, is_safe_address};
use std::ops::Range;

/// An attribute in a piece of HTML: its name in lower case, and where its value stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Attribute {
    pub(crate) name: String,
    pub(crate) value: Range<usize>,
}

/// A start tag in a piece of HTML.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Tag {
    /// In lower case.
    pub(crate) name: String,
    /// From its `<` to its `>`.
    pub(crate) span: Range<usize>,
    /// Where its name ends.
    pub(crate) name_end: usize,
    pub(crate) attributes: Vec<TagAttribute>,
}

/// An attribute of a tag.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct TagAttribute {
    /// In lower case.
    pub(crate) name: String,
    /// Its value, without quotation marks.
    pub(crate) value: Option<Range<usize>>,
    /// All of it.
    pub(crate) whole: Range<usize>,
}

/// Every attribute of every tag.
pub(crate) fn attributes(html: &str) -> Vec<Attribute> {
    let all = tags(html).into_iter().flat_map(|tag| tag.attributes);
    all.filter_map(|one| Some(Attribute { name: one.name, value: one.value? })).collect()
}

/// Every start tag, as the WHATWG HTML standard reads them (section 13.2.5): attributes quoted either way or not at all.
pub(crate) fn tags(html: &str) -> Vec<Tag> {
    let bytes = html.as_bytes();
    let at = |index: usize| bytes.get(index).copied();
    let mut found = Vec::new();
    let mut index = 0;
    while let Some(open) = bytes.get(index..).and_then(|rest| rest.iter().position(|byte| *byte == b'<')) {
        let begun = index + open;
        index += open + 1;
        if !at(index).is_some_and(|byte| byte.is_ascii_alphabetic()) {
            continue;
        }
        let name_start = index;
        while at(index).is_some_and(|byte| !byte.is_ascii_whitespace() && byte != b'>' && byte != b'/') {
            index += 1;
        }
        let name_end = index;
        let mut attributes = Vec::new();
        loop {
            while at(index).is_some_and(|byte| byte.is_ascii_whitespace() || byte == b'/') {
                index += 1;
            }
            if at(index).is_none_or(|byte| byte == b'>') {
                break;
            }
            let start = index;
            index += 1;
            while at(index).is_some_and(|byte| !byte.is_ascii_whitespace() && !matches!(byte, b'=' | b'>' | b'/')) {
                index += 1;
            }
            let name = html.get(start..index).unwrap_or_default().to_ascii_lowercase();
            let mut next = index;
            while at(next).is_some_and(|byte| byte.is_ascii_whitespace()) {
                next += 1;
            }
            if at(next) != Some(b'=') {
                attributes.push(TagAttribute { name, value: None, whole: start..index });
                continue;
            }
            index = next + 1;
            while at(index).is_some_and(|byte| byte.is_ascii_whitespace()) {
                index += 1;
            }
            let quote = at(index).filter(|byte| matches!(byte, b'"' | b'\''));
            index += usize::from(quote.is_some());
            let value = index;
            let ends = |byte: u8| match quote {
                Some(quote) => byte == quote,
                None => byte.is_ascii_whitespace() || byte == b'>',
            };
            while at(index).is_some_and(|byte| !ends(byte)) {
                index += 1;
            }
            let value = value..index;
            index += usize::from(quote.is_some());
            attributes.push(TagAttribute { name, value: Some(value), whole: start..index.min(html.len()) });
        }
        let end = (index + 1).min(html.len());
        let name = html.get(name_start..name_end).unwrap_or_default().to_ascii_lowercase();
        found.push(Tag { name, span: begun..end, name_end, attributes });
    }
    found
}

/// The attributes whose value a browser follows as an address.
const ADDRESSES: [&str; 9] =
    ["href", "src", "action", "formaction", "xlink:href", "data", "poster", "background", "cite"];

/// Whether an attribute holds an address.
pub(crate) fn is_address(name: &str) -> bool {
    ADDRESSES.contains(&name)
}

/// The HTML with every address that would run a program replaced by `#`, and whether there was one.
pub(crate) fn without_programs(html: &str) -> (String, bool) {
    let mut out = String::with_capacity(html.len());
    let mut copied = 0;
    for attribute in attributes(html).into_iter().filter(|attribute| is_address(&attribute.name)) {
        let value = html.get(attribute.value.clone()).unwrap_or_default();
        if !is_safe_address(&decoded(value), LinkKind::Image) {
            out.push_str(html.get(copied..attribute.value.start).unwrap_or_default());
            out.push('#');
            copied = attribute.value.end;
        }
    }
    let changed = copied > 0;
    out.push_str(html.get(copied..).unwrap_or_default());
    (out, changed)
}

/// A value with its character references read: the numeric ones, and those by name that can hide a scheme.
pub(crate) fn decoded(value: &str) -> String {
    let mut parts = value.split('&');
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let numeric = part.strip_prefix('#').and_then(|part| {
            let (digits, radix) = match part.strip_prefix(['x', 'X']) {
                Some(digits) => (digits, 16),
                None => (part, 10),
            };
            let length = digits.find(|c: char| !c.is_digit(radix)).unwrap_or(digits.len());
            let (number, rest) = digits.split_at(length);
            let character = char::from_u32(u32::from_str_radix(number, radix).ok()?)?;
            Some((character, rest.strip_prefix(';').unwrap_or(rest)))
        });
        let named = [("colon;", ':'), ("Tab;", '\t'), ("NewLine;", '\n'), ("amp;", '&'), ("lpar;", '(')];
        let named = || named.into_iter().find_map(|(name, character)| Some((character, part.strip_prefix(name)?)));
        match numeric.or_else(named) {
            Some((character, rest)) => {
                out.push(character);
                out.push_str(rest);
            }
            None => {
                out.push('&');
                out.push_str(part);
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(html: &str, expected: &[(&str, &str)]) {
        let found: Vec<(String, &str)> =
            attributes(html).into_iter().map(|found| (found.name, html.get(found.value).unwrap())).collect();
        let expected: Vec<(String, &str)> = expected.iter().map(|(name, value)| ((*name).to_owned(), *value)).collect();
        assert_eq!(found, expected);
    }

    #[test]
    fn attributes_are_found_however_they_are_quoted() {
        check("<a HREF='x y' id=\"b\" disabled data-id=q>", &[("href", "x y"), ("id", "b"), ("data-id", "q")]);
        check("a < b <img/src = p.png>", &[("src", "p.png")]);
        check("</a href=x> <a href=\"open", &[("href", "open")]);
    }

    #[test]
    fn programs_are_taken_out_however_they_hide() {
        for address in
            ["javascript:a()", "java\nscript:a()", "&#106;avascript:a()", "javascript&colon;a()", "&#x6a;avascript:a()"]
        {
            let (html, changed) = without_programs(&format!("<a href=\"{address}\">x</a>"));
            assert!(changed && html == "<a href=\"#\">x</a>", "{address}: {html}");
        }
        assert_eq!(without_programs("<a href=\"b.md\">x</a>"), ("<a href=\"b.md\">x</a>".to_owned(), false));
    }
}
