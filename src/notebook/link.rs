//! Links: which are local, where they lead, and which addresses never reach a page.

use super::address::percent_decoded;
use crate::report::Place;
use std::sync::Arc;

/// What a link is used as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LinkKind {
    /// A link to follow.
    Link,
    /// An image shown.
    Image,
}

/// A link to something in the collection.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LocalLink {
    /// The whole link in the text.
    pub place: Place,
    /// As link or as image.
    pub kind: LinkKind,
    /// The address as written.
    pub written: String,
    /// The file it leads to, from the collection's folder; `None` when outside the collection. Empty path parts resolved.
    pub target: Option<Arc<str>>,
    /// The part after `#`, decoded.
    pub anchor: Option<String>,
}

/// The scheme of an address, lower case, with the letters a browser would skip taken out first.
fn scheme(address: &str) -> Option<String> {
    // Browsers drop tabs and newlines inside an address and control characters and spaces before it (WHATWG URL standard).
    let plain: String = address.chars().filter(|c| !c.is_ascii_control()).collect();
    let plain = plain.trim_start();
    let (scheme, _) = plain.split_once(':')?;
    let valid = scheme.starts_with(|c: char| c.is_ascii_alphabetic())
        && scheme.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '+' | '-' | '.'));
    valid.then(|| scheme.to_ascii_lowercase())
}

/// Whether an address may reach a page: everything but the schemes that a browser would run or read as a document of the page.
pub fn is_safe_address(address: &str, kind: LinkKind) -> bool {
    match scheme(address).as_deref() {
        Some("javascript" | "vbscript" | "blob" | "filesystem" | "view-source") => false,
        Some("data") => {
            let start: String = address.chars().filter(|c| !c.is_ascii_control()).take(24).collect();
            let start = start.trim_start().to_ascii_lowercase();
            let picture = ["png", "jpeg", "gif", "webp"].iter().any(|t| start.starts_with(&format!("data:image/{t}")));
            kind == LinkKind::Image && picture
        }
        _ => true,
    }
}

/// Whether an address points into the collection: no scheme, no host, not to the site's root.
pub(crate) fn is_local(address: &str) -> bool {
    !address.is_empty() && scheme(address).is_none() && !address.starts_with('/') && !address.starts_with('\\')
}

/// Splits a local address into path and anchor, and resolves the path against the notebook that holds it.
pub(crate) fn resolve(from: &str, address: &str) -> (Option<Arc<str>>, Option<String>) {
    let (path, anchor) = address.split_once('#').map_or((address, None), |(path, anchor)| (path, Some(anchor)));
    let path = path.split_once('?').map_or(path, |(path, _)| path);
    let anchor = anchor.map(percent_decoded);
    if path.is_empty() {
        return (Some(from.into()), anchor);
    }
    let decoded = percent_decoded(path);
    let mut parts: Vec<&str> = from.split('/').collect();
    parts.pop();
    for part in decoded.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                if parts.pop().is_none() {
                    return (None, anchor);
                }
            }
            other => parts.push(other),
        }
    }
    (Some(parts.join("/").into()), anchor)
}

/// Whether a path is a notebook's.
pub fn is_notebook(path: &str) -> bool {
    path.strip_suffix(".md").is_some_and(|stem| !stem.is_empty() && !stem.ends_with('/'))
}

/// The page of a notebook.
pub fn page_path(path: &str) -> String {
    format!("{}.html", path.strip_suffix(".md").unwrap_or(path))
}

/// The name of a file without folders and ending.
pub(crate) fn file_stem(path: &str) -> &str {
    let name = path.rsplit('/').next().unwrap_or(path);
    name.strip_suffix(".md").unwrap_or(name)
}

/// The address as it stands on a page: a notebook's becomes its page's, everything else stays.
pub(crate) fn page_address(address: &str) -> Option<String> {
    let (path, rest) = match address.find(['#', '?']) {
        Some(index) => address.split_at(index),
        None => (address, ""),
    };
    (is_local(address) && is_notebook(path)).then(|| format!("{}{rest}", page_path(path)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn programs_in_addresses_are_seen_through() {
        for address in [
            "javascript:alert(1)",
            "JavaScript:alert(1)",
            " java\nscript:alert(1)",
            "\u{1}javascript:alert(1)",
            "vbscript:x",
            "data:text/html,x",
            "data:image/svg+xml,x",
        ] {
            assert!(!is_safe_address(address, LinkKind::Link), "{address:?}");
        }
        for address in ["https://example.org/a:b", "mailto:a@example.org", "a/b.md", "#part", "data.csv"] {
            assert!(is_safe_address(address, LinkKind::Link), "{address:?}");
        }
        assert!(is_safe_address("data:image/png;base64,AA", LinkKind::Image));
    }

    #[test]
    fn paths_are_taken_from_the_notebooks_folder() {
        assert_eq!(resolve("a/b.md", "../c.md#x%20y"), (Some("c.md".into()), Some("x y".to_owned())));
        assert_eq!(resolve("a/b.md", "#x"), (Some("a/b.md".into()), Some("x".to_owned())));
        assert_eq!(resolve("b.md", "../c.md"), (None, None));
        assert_eq!(page_address("c.md#x"), Some("c.html#x".to_owned()));
        assert_eq!(page_address("https://example.org/c.md"), None);
    }
}
