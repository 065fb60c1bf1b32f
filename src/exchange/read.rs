//! Reading a document back: its source files, and the figures that it says they give.

use super::SCHEMA;
use crate::base64;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt;

/// What a document holds.
#[derive(Clone, Debug, Default)]
pub struct Restored {
    /// Its source files, by path.
    pub files: BTreeMap<String, Vec<u8>>,
    /// The program that wrote it.
    pub program: String,
    /// What each figure is said to be, by notebook, block and address.
    pub figures: BTreeMap<String, String>,
}

/// What is wrong with a document, and where, as far as that is known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Damage {
    /// Line and column, from one.
    pub place: Option<(usize, usize)>,
    /// In a sentence.
    pub what: String,
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.place {
            Some((line, column)) => write!(f, "line {line}, column {column}: {}", self.what),
            None => write!(f, "{}", self.what),
        }
    }
}

#[derive(Deserialize)]
struct Head {
    schema: Option<String>,
}

#[derive(Deserialize)]
struct ReadDocument {
    program: String,
    sources: Vec<ReadSource>,
    notebooks: Vec<ReadNotebook>,
}

#[derive(Deserialize)]
struct ReadSource {
    path: String,
    text: Option<String>,
    base64: Option<String>,
}

#[derive(Deserialize)]
struct ReadNotebook {
    path: String,
    blocks: Vec<ReadBlock>,
}

#[derive(Deserialize)]
struct ReadBlock {
    figures: Vec<ReadFigure>,
}

#[derive(Deserialize)]
struct ReadFigure {
    address: String,
    value: Option<String>,
    low: Option<String>,
    high: Option<String>,
    unit: Option<String>,
    text: Option<String>,
    unknown: Option<String>,
}

impl ReadFigure {
    /// All that it says, to be compared and to be shown.
    fn words(self) -> String {
        let Some(text) = self.text else { return format!("not known: {}", self.unknown.unwrap_or_default()) };
        let parts = [self.value, self.low, self.high, self.unit];
        let exact: Vec<String> = parts.into_iter().flatten().filter(|part| *part != text).collect();
        if exact.is_empty() { text } else { format!("{text} ({})", exact.join(", ")) }
    }
}

/// Reads a document.
///
/// # Errors
/// All that is wrong with it, so far as it can be read.
pub fn read_document(bytes: &[u8]) -> Result<Restored, Vec<Damage>> {
    let head: Head = serde_json::from_slice(bytes).map_err(|error| vec![not_json(&error)])?;
    let one = |what: String| Err(vec![Damage { place: None, what }]);
    match head.schema.as_deref() {
        Some(SCHEMA) => {}
        None => return one(format!("it does not say `\"schema\": \"{SCHEMA}\"`, so it is no exported collection")),
        Some(other) => {
            return one(match other.strip_prefix("tarebook collection ") {
                Some(version) => format!(
                    "its schema is version {version} of exported collections, and this tarebook reads version 1; take a newer tarebook"
                ),
                None => format!("its schema is `{other}`; only `{SCHEMA}` can be imported"),
            });
        }
    }
    let document: ReadDocument = serde_json::from_slice(bytes).map_err(|error| vec![not_json(&error)])?;
    let text = String::from_utf8_lossy(bytes);
    let (files, damages) = files_of(document.sources, &text);
    if !damages.is_empty() {
        return Err(damages);
    }
    let mut figures = BTreeMap::new();
    for notebook in document.notebooks {
        for (index, block) in notebook.blocks.into_iter().enumerate() {
            for figure in block.figures {
                let key = format!("{}, block {}: {}", notebook.path, index + 1, figure.address);
                figures.insert(key, figure.words());
            }
        }
    }
    Ok(Restored { files, program: document.program, figures })
}

fn not_json(error: &serde_json::Error) -> Damage {
    let message = error.to_string();
    let what = message.split(" at line ").next().unwrap_or_default();
    let place = (error.line() > 0).then(|| (error.line(), error.column().max(1)));
    Damage { place, what: format!("the file is damaged: {what}") }
}

fn files_of(sources: Vec<ReadSource>, text: &str) -> (BTreeMap<String, Vec<u8>>, Vec<Damage>) {
    let mut files: BTreeMap<String, Vec<u8>> = BTreeMap::new();
    let mut damages = Vec::new();
    for source in sources {
        let mut damage = |what: String| damages.push(Damage { place: place_of(&source.path, text), what });
        let shown = source.path.escape_debug().to_string();
        if let Err(why) = check_path(&source.path) {
            damage(format!("`{shown}` is no path of a file in a collection: {why}"));
            continue;
        }
        let bytes = match (source.text, source.base64) {
            (Some(text), None) => text.into_bytes(),
            (None, Some(letters)) => match base64::decode(&letters) {
                Some(bytes) => bytes,
                None => {
                    damage(format!("the bytes of `{shown}` are not base64"));
                    continue;
                }
            },
            (None, None) => {
                damage(format!("`{shown}` has neither `text` nor `base64`"));
                continue;
            }
            (Some(_), Some(_)) => {
                damage(format!("`{shown}` has both `text` and `base64`"));
                continue;
            }
        };
        if files.insert(source.path.clone(), bytes).is_some() {
            damage(format!("`{shown}` stands there twice"));
        }
    }
    for (one, other) in collisions(files.keys().map(String::as_str)) {
        let what = format!("`{one}` and `{other}` cannot stand beside each other on every system");
        damages.push(Damage { place: place_of(&other, text), what });
    }
    (files, damages)
}

/// Where a path stands in the document.
fn place_of(path: &str, text: &str) -> Option<(usize, usize)> {
    let written = format!("\"path\": {}", serde_json::to_string(path).ok()?);
    let at = text.rfind(&written)?;
    let before = text.get(..at)?;
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
    Some((line, column))
}

/// Whether a path leads to a file inside of a collection, on every system.
///
/// # Errors
/// Why it does not.
pub fn check_path(path: &str) -> Result<(), &'static str> {
    if path.is_empty() {
        return Err("it is empty");
    }
    if path.contains('\\') {
        return Err("it holds a backslash");
    }
    if path.chars().any(char::is_control) {
        return Err("it holds a control character");
    }
    if path.starts_with('/') {
        return Err("it leads to the root of the machine");
    }
    if path.as_bytes().get(1) == Some(&b':') && path.as_bytes().first().is_some_and(u8::is_ascii_alphabetic) {
        return Err("it names a drive");
    }
    for part in path.split('/') {
        match part {
            "" => return Err("one of its parts is empty"),
            ".." => return Err("it leads out of the folder"),
            _ if part.starts_with('.') => return Err("one of its parts is hidden"),
            _ => {}
        }
    }
    Ok(())
}

/// Paths that differ only in capitals, and a file that is named like a folder.
pub fn collisions<'a>(paths: impl Iterator<Item = &'a str>) -> Vec<(String, String)> {
    let mut folded: BTreeMap<String, &str> = BTreeMap::new();
    let mut found = Vec::new();
    for path in paths {
        if let Some(other) = folded.insert(path.to_lowercase(), path) {
            found.push((other.to_owned(), path.to_owned()));
        }
    }
    for (lower, path) in &folded {
        let folders = lower.match_indices('/').filter_map(|(at, _)| lower.get(..at));
        found.extend(folders.filter_map(|folder| Some(((*folded.get(folder)?).to_owned(), (*path).to_owned()))));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_that_leave_the_folder_are_refused() {
        for path in
            ["", "/a", "../a", "a/../b", "a//b", "./a", "C:/a", "c:a", "a\\b", "a\nb", ".hidden/a", "a/.b", "a/"]
        {
            assert!(check_path(path).is_err(), "{path}");
        }
        for path in ["a", "a/b.md", "a b/ü.md", "a..b", "ab:c", "-", "%2e%2e"] {
            assert_eq!(check_path(path), Ok(()), "{path}");
        }
    }

    #[test]
    fn names_that_are_one_on_some_systems_are_found() {
        let found = |paths: &[&str]| collisions(paths.iter().copied()).len();
        assert_eq!(found(&["a.md", "A.md"]), 1);
        assert_eq!(found(&["a", "a/b"]), 1);
        assert_eq!(found(&["Ä", "ä/b"]), 1);
        assert_eq!(found(&["a", "b/a", "b/c"]), 0);
    }
}
