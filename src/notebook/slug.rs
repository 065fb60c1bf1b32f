//! Anchors of headings: lower case, spaces to hyphens, punctuation dropped, repeated ones numbered.

use std::collections::BTreeSet;

/// The anchor of a heading's text, not taken yet; it is added to `taken`.
pub(crate) fn anchor(text: &str, taken: &mut BTreeSet<String>) -> String {
    let mut slug = String::with_capacity(text.len());
    for character in text.trim().chars() {
        if character.is_alphanumeric() || character == '_' {
            slug.extend(character.to_lowercase());
        } else if character.is_whitespace() || character == '-' {
            slug.push('-');
        }
    }
    if slug.is_empty() {
        slug.push_str("part");
    }
    if is_reserved(&slug) {
        slug.insert_str(0, "part-");
    }
    let mut candidate = slug.clone();
    let mut count = 1;
    while !taken.insert(candidate.clone()) {
        candidate = format!("{slug}-{count}");
        count += 1;
    }
    candidate
}

/// Anchors that every page has for its own parts: the text, the findings, the sheets, the workings.
pub(crate) fn is_reserved(anchor: &str) -> bool {
    let is_working = |number: &str| !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit());
    anchor == "main"
        || anchor == "findings"
        || anchor == "corrections"
        || anchor.starts_with("sheet-")
        || anchor.strip_prefix('w').is_some_and(is_working)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn anchors_are_lower_case_and_unique() {
        let mut taken = BTreeSet::new();
        assert_eq!(anchor("A ten percent dilution", &mut taken), "a-ten-percent-dilution");
        assert_eq!(anchor("What goes wrong?", &mut taken), "what-goes-wrong");
        assert_eq!(anchor("What goes wrong", &mut taken), "what-goes-wrong-1");
        assert_eq!(anchor("…", &mut taken), "part");
        assert_eq!(anchor("Sheet wash", &mut taken), "part-sheet-wash");
        assert_eq!(anchor("W1", &mut taken), "part-w1");
        assert_eq!(anchor("Wash", &mut taken), "wash");
    }
}
