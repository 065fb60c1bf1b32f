//! A page as one file that needs no other: style and scripts stand in it, pictures and small files are part of it, and a link to what is
//! not sent along becomes plain text.
//!
//! It works on the finished page, so that a collection's own templates need not know of it. What is read here was written by our
//! templates or cleaned before; where an author's raw HTML is trusted, anything that is not understood stays as it is.

use crate::base64;
use crate::notebook::{Tag, attribute_decoded, html_tags, percent_decoded};
use std::fmt::Write as _;

/// What a local address leads to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Target {
    /// A page that is written as one file too, at the same place.
    Beside,
    /// The bytes of a file.
    File(Vec<u8>),
    /// Nothing that is sent along.
    Absent,
}

/// A page in one file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Standalone {
    /// Its text.
    pub html: String,
    /// Files that the page links to and that were too large to be part of it, with their sizes in bytes.
    pub left_out: Vec<(String, usize)>,
}

/// A file that is only linked becomes part of the page up to so many bytes. Pictures, which the page shows, always do.
pub const LARGEST_LINKED: usize = 256 * 1024;

/// What marks an element that means something only beside the other pages, such as the way to the search: it is left out.
const ONLY_TOGETHER: &str = "data-only-together";

/// The page with everything in it. `target` tells what a local address leads to.
pub fn standalone(page: &str, target: impl Fn(&str) -> Target) -> Standalone {
    let mut html = String::with_capacity(page.len() * 2);
    let mut left_out = Vec::new();
    let mut scripts = String::new();
    let mut copied = 0;
    for tag in html_tags(page) {
        if tag.span.start < copied {
            continue;
        }
        let Some((replaced, end)) = replace(page, &tag, &target, &mut scripts, &mut left_out) else { continue };
        html.push_str(page.get(copied..tag.span.start).unwrap_or_default());
        html.push_str(&replaced);
        copied = end;
    }
    html.push_str(page.get(copied..).unwrap_or_default());
    html.push_str(&scripts);
    Standalone { html, left_out }
}

/// What stands in the place of a tag, and up to where; `None` when it stays.
fn replace(
    page: &str,
    tag: &Tag,
    target: &impl Fn(&str) -> Target,
    scripts: &mut String,
    left_out: &mut Vec<(String, usize)>,
) -> Option<(String, usize)> {
    let value = |wanted: &str| {
        let found = tag.attributes.iter().find(|attribute| attribute.name == wanted)?;
        Some(attribute_decoded(page.get(found.value.clone()?)?))
    };
    let after = |end_tag: &str| {
        let rest = page.get(tag.span.end..).unwrap_or_default();
        rest.find(end_tag).map_or(tag.span.end, |at| tag.span.end + at + end_tag.len())
    };
    if tag.attributes.iter().any(|attribute| attribute.name == ONLY_TOGETHER) {
        return Some((String::new(), after(&format!("</{}>", tag.name))));
    }
    let key = if matches!(tag.name.as_str(), "link" | "a") { "href" } else { "src" };
    let address = value(key).filter(|address| is_local(address))?;
    let (path, part) = address.split_once('#').map_or((address.as_str(), ""), |(path, part)| (path, part));
    let path = percent_decoded(path);
    let with = |attributes: &str| with_attributes(page, tag, key, attributes);
    let end = tag.span.end;
    match (tag.name.as_str(), target(&path)) {
        ("link", Target::File(bytes)) if value("rel").as_deref() == Some("stylesheet") => {
            // In a style element only its own end tag would end it.
            let style = String::from_utf8_lossy(&bytes).replace("</style", "<\\/style");
            Some((format!("<style>\n{style}</style>"), end))
        }
        ("link", Target::Beside) => None,
        ("link", _) => Some((String::new(), end)),
        ("script", Target::File(bytes)) => {
            let text = String::from_utf8_lossy(&bytes).replace("</script", "<\\/script");
            // It runs when all of the page is there, as it does from a file of its own, and is told the same by its attributes.
            let _ = writeln!(scripts, "{}\n{text}</script>", with(""));
            Some((String::new(), after("</script>")))
        }
        ("script", _) => Some((String::new(), after("</script>"))),
        ("a", Target::Beside) => None,
        ("a", Target::File(bytes)) if bytes.len() <= LARGEST_LINKED => {
            let name = escaped(path.rsplit('/').next().unwrap_or_default());
            Some((with(&format!(" href=\"{}\" download=\"{name}\"", data_address(&path, &bytes))), end))
        }
        ("a", found) => {
            if let Target::File(bytes) = found {
                left_out.push((path.clone(), bytes.len()));
            }
            Some((with(""), end))
        }
        (_, Target::File(bytes)) => {
            // A part of a picture may be named.
            let part = if part.is_empty() { String::new() } else { format!("#{}", escaped(part)) };
            Some((with(&format!(" src=\"{}{part}\"", data_address(&path, &bytes))), end))
        }
        (_, Target::Beside | Target::Absent) => None,
    }
}

/// A tag with other attributes in place of the one that holds an address. What says more of a link goes with its address.
fn with_attributes(page: &str, tag: &Tag, key: &str, attributes: &str) -> String {
    let mut out = page.get(tag.span.start..tag.name_end).unwrap_or_default().to_owned();
    out.push_str(attributes);
    for attribute in &tag.attributes {
        if attribute.name != key && !matches!(attribute.name.as_str(), "rel" | "download" | "defer") {
            out.push(' ');
            out.push_str(page.get(attribute.whole.clone()).unwrap_or_default());
        }
    }
    out.push('>');
    out
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('"', "&quot;")
}

/// Whether an address leads to a file beside the page.
fn is_local(address: &str) -> bool {
    let scheme = address.split(['/', '?', '#']).next().is_some_and(|start| start.contains(':'));
    !address.is_empty() && !scheme && !address.starts_with('#') && !address.starts_with('/')
}

/// A file as an address that holds it (RFC 2397).
fn data_address(path: &str, bytes: &[u8]) -> String {
    format!("data:{};base64,{}", media_type(path), base64::encode(bytes))
}

/// The media type of a file by its ending; one that is not known is bytes.
fn media_type(path: &str) -> &'static str {
    let ending = path.rsplit('.').next().unwrap_or_default().to_ascii_lowercase();
    match ending.as_str() {
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "jpg" | "jpeg" => "image/jpeg",
        "gif" => "image/gif",
        "webp" => "image/webp",
        "avif" => "image/avif",
        "pdf" => "application/pdf",
        "csv" => "text/csv",
        "txt" => "text/plain",
        "json" => "application/json",
        "mp3" => "audio/mpeg",
        "mp4" => "video/mp4",
        "webm" => "video/webm",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(page: &str, expected: &str) {
        let target = |path: &str| match path {
            "b.html" => Target::Beside,
            "style.css" => Target::File(b"p{}".to_vec()),
            "a.js" => Target::File(b"go('</script>')".to_vec()),
            "jar.svg" | "list.csv" => Target::File(b"foo".to_vec()),
            "large.pdf" => Target::File(vec![0; LARGEST_LINKED + 1]),
            _ => Target::Absent,
        };
        assert_eq!(standalone(page, target).html, expected);
    }

    #[test]
    fn everything_local_is_put_into_the_page() {
        check("<link rel=\"stylesheet\" href=\"style.css\">", "<style>\np{}</style>");
        check(
            "<script defer src=\"a.js\" data-a=\"1\"></script><p>x",
            "<p>x<script data-a=\"1\">\ngo('<\\/script>')</script>\n",
        );
        check("<img alt=\"\" src=\"jar.svg\">", "<img src=\"data:image/svg+xml;base64,Zm9v\" alt=\"\">");
        check("<a href=\"list.csv\">x</a>", "<a href=\"data:text/csv;base64,Zm9v\" download=\"list.csv\">x</a>");
    }

    #[test]
    fn links_lead_to_what_is_sent_along_or_nowhere() {
        check("<a href=\"gone.html\" class=t rel=\"next\">b</a>", "<a class=t>b</a>");
        check("<nav data-only-together><a href=\"x.html\">x</a></nav><p>b", "<p>b");
        check("<a href=\"large.pdf\">b</a>", "<a>b</a>");
        check("<link rel=\"alternate\" href=\"a.json\">", "");
        for same in [
            "<a class=\"t\" href=\"b.html#x\">b</a>",
            "<a href=\"#x\">b</a>",
            "<a href=\"https://example.org/b.html\">b</a>",
            "<a href=\"mailto:a@b.c\">b</a>",
        ] {
            check(same, same);
        }
    }
}
