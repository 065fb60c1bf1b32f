//! Which paths may be written, and which exclude each other.

use super::OWN;
use super::error::OutputError;
use super::manifest::Entry;
use std::collections::BTreeMap;
use std::path::{Component, Path};

/// Only plain names joined by `/` pass, so that joining them to the output folder can never leave it.
pub(super) fn check_name(relative: &str) -> Result<(), &'static str> {
    if relative.is_empty() {
        return Err("it is empty");
    }
    if relative.contains('\\') {
        return Err("it holds a backslash");
    }
    if relative.chars().any(char::is_control) {
        return Err("it holds a control character");
    }
    for part in relative.split('/') {
        if part.is_empty() {
            return Err("one of its parts is empty");
        }
        if part.eq_ignore_ascii_case(OWN) {
            return Err("that folder belongs to tarebook itself");
        }
        let mut components = Path::new(part).components();
        if !matches!((components.next(), components.next()), (Some(Component::Normal(name)), None) if name == part) {
            return Err("one of its parts is not a plain name");
        }
    }
    Ok(())
}

/// Refuses sets that not every file system can hold: names that differ only in capitals, and a file named like a
/// folder.
pub(super) fn check_collisions(files: &BTreeMap<String, Entry>) -> Result<(), OutputError> {
    let mut folded: BTreeMap<String, &str> = BTreeMap::new();
    for relative in files.keys() {
        if let Some(other) = folded.insert(relative.to_lowercase(), relative) {
            return Err(OutputError::Collision { name: relative.clone(), other: other.to_owned() });
        }
    }
    for (lower, relative) in &folded {
        for folder in ancestors(lower) {
            if let Some(other) = folded.get(folder) {
                return Err(OutputError::Collision { name: (*relative).to_owned(), other: (*other).to_owned() });
            }
        }
    }
    Ok(())
}

/// The folders a file lies in, outermost first: "a/b/c.html" gives "a" and "a/b".
pub(super) fn ancestors(relative: &str) -> impl Iterator<Item = &str> {
    relative.match_indices('/').filter_map(|(at, _)| relative.get(..at))
}
