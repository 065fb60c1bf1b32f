//! The registry of findings, and the cases that raise them.
//!
//! Every kind of finding has a stable name and its words, and `tests/cases/*.md` holds for each a case that raises it and a
//! near-miss that does not. A case is a heading, prose that says what holds, the texts of a small collection in fences of
//! four backticks, and the list of all findings:
//!
//! - a fence ```` ````notebook wash.md ````: a notebook; ```` ````file collection.toml ````: any other file of the collection;
//! - `- error sum-not-100 line 5 "99.02 %"`: severity, name, line and a piece of the sentence, or several pieces, in the first
//!   notebook; `in materials/own.toml` before `line` names another file;
//! - `- nothing but handling`: no other finding; cautions of handling may be left out of every list;
//! - `- nothing`: no finding at all, handling included;
//! - `- not sum-not-100`: this case is the near-miss of that kind.
//!
//! The findings must be exactly those listed.

#![expect(clippy::disallowed_methods, reason = "the cases are files")]
#![expect(clippy::panic, clippy::unwrap_used, reason = "a case that cannot be read fails the test")]

use crate::support::sources;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::path::Path;
use tarebook::collection::{Collection, Sources};
use tarebook::edge::Folder;
use tarebook::report::{ALL_KINDS, Finding, Kind, Severity, by_name, locate};

/// Kinds that no text can raise, and why.
const NOT_FROM_TEXT: &[(&str, &str)] = &[
    ("not-utf-8", "needs bytes that are no text; `a_file_that_is_not_utf8_is_named` below"),
    ("unreadable", "needs a folder that cannot be read; `a_folder_that_cannot_be_read_is_named` below"),
    ("fault-in-tarebook", "a text that raises it would show a fault of the program, and the fault would be mended"),
];

/// The one kind whose words come from the hazard, not from the kind.
const HANDLING: &str = "handle-with-care";

/// The kind that `proofread --loose` lists; cases that name it are judged so.
const AGREEING: &str = "agreeing-number";

fn all_kinds() -> impl Iterator<Item = &'static Kind> {
    ALL_KINDS.iter().copied().chain(tarebook::caution::kinds())
}

#[test]
fn names_are_unique_and_kebab_case() {
    let mut seen = BTreeSet::new();
    for kind in all_kinds() {
        let name = kind.name;
        assert!(seen.insert(name), "{name} stands twice in the registry");
        assert!(name.split('-').all(is_plain_word), "{name} is not kebab-case");
        assert_eq!(by_name(name), Some(kind));
    }
    assert!(seen.len() > 40, "the registry holds only {} kinds", seen.len());
}

fn is_plain_word(word: &str) -> bool {
    !word.is_empty() && word.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit())
}

#[test]
fn every_kind_is_explained_in_sentences() {
    for kind in all_kinds() {
        let name = kind.name;
        check_sentence(name, kind.summary);
        // Handling takes its reason and its measure from the hazard; a stopped variant or block has no harm of its own to explain.
        if name != HANDLING {
            check_sentence(name, kind.mend);
            if !["parent-failed", "rests-on-errors"].contains(&name) {
                check_sentence(name, kind.why);
            }
        }
    }
}

#[track_caller]
fn check_sentence(name: &str, text: &str) {
    if let Some(fault) = fault_of_sentence(text) {
        panic!("{name}: {fault}: {text:?}");
    }
}

/// What is wrong with the form of a sentence shown to readers.
fn fault_of_sentence(text: &str) -> Option<&'static str> {
    let end = text.chars().next_back();
    if !matches!(end, Some('.' | '?')) {
        return Some("does not end with a full stop");
    }
    if ["..", "?.", "  ", " ."].iter().any(|wrong| text.ends_with(wrong)) {
        return Some("ends with more than a full stop");
    }
    (text.contains('!') || text.trim() != text).then_some("holds an exclamation mark or outer spaces")
}

#[test]
fn every_case_finds_exactly_what_it_says() {
    let mut faults = String::new();
    for case in read_cases() {
        let fault = fault_of_case(&case);
        if !fault.is_empty() {
            let _ = writeln!(faults, "{}, line {}, \"{}\":\n{fault}", case.topic, case.line, case.title);
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

#[test]
fn every_kind_has_a_case_and_a_near_miss() {
    let cases = read_cases();
    let raised: BTreeSet<&str> = cases.iter().flat_map(|case| &case.expected).map(|one| one.name.as_str()).collect();
    let missed: BTreeSet<&str> = cases.iter().flat_map(|case| &case.near_misses).map(String::as_str).collect();
    for kind in all_kinds() {
        let excused = NOT_FROM_TEXT.iter().any(|(name, _)| *name == kind.name);
        assert_ne!(
            excused,
            raised.contains(kind.name),
            "{}: a case that raises it, or a reason why there is none",
            kind.name
        );
        assert_ne!(excused, missed.contains(kind.name), "{}: a near-miss, or a reason why there is none", kind.name);
    }
}

#[test]
fn a_file_that_is_not_utf8_is_named() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("bad.md"), b"caf\xe9").unwrap();
    std::fs::write(folder.path().join("good.md"), "café").unwrap();
    let sources = Folder::open(folder.path(), None).unwrap().read();
    let [finding] = sources.findings.as_slice() else { panic!("{:?}", sources.findings) };
    assert_eq!((finding.kind.name, &*finding.place.path), ("not-utf-8", "bad.md"));
    assert_eq!(finding.what, "`bad.md` is not UTF-8 text; the first wrong character is in line 1.");
    assert!(sources.notebooks.contains_key("good.md"));
}

#[test]
fn a_folder_that_cannot_be_read_is_named() {
    let outer = tempfile::tempdir().unwrap();
    let root = outer.path().join("notebooks");
    std::fs::create_dir_all(&root).unwrap();
    let folder = Folder::open(&root, None).unwrap();
    assert!(folder.read().findings.is_empty());
    std::fs::remove_dir_all(&root).unwrap();
    let sources = folder.read();
    let [finding] = sources.findings.as_slice() else { panic!("{:?}", sources.findings) };
    assert_eq!((finding.kind.name, &*finding.place.path), ("unreadable", "."));
}

/// One case of a topic.
struct Case {
    topic: String,
    title: String,
    line: usize,
    files: Vec<(String, String)>,
    expected: Vec<Expected>,
    near_misses: Vec<String>,
    /// Whether cautions of handling must be listed too.
    handling_counts: bool,
    /// Whether there is a list at all.
    says_something: bool,
}

/// A finding that a case lists.
struct Expected {
    severity: String,
    name: String,
    path: Option<String>,
    line: usize,
    pieces: Vec<String>,
}

/// A finding as it was raised, ready to be compared.
struct Raised<'f> {
    finding: &'f Finding,
    path: String,
    line: usize,
    what: String,
}

fn read_cases() -> Vec<Case> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    let cases: Vec<Case> = paths
        .iter()
        .flat_map(|path| {
            let topic = path.file_name().unwrap().to_string_lossy().into_owned();
            read_topic(&topic, &std::fs::read_to_string(path).unwrap())
        })
        .collect();
    assert!(cases.len() > 100, "only {} cases were read", cases.len());
    cases
}

fn read_topic(topic: &str, text: &str) -> Vec<Case> {
    let mut cases: Vec<Case> = Vec::new();
    let mut fence: Option<(String, String)> = None;
    for (index, line) in text.lines().enumerate() {
        let place = || format!("{topic}, line {}", index + 1);
        if let Some((_, body)) = &mut fence {
            if line == "````" {
                cases.last_mut().unwrap().files.extend(fence.take());
            } else {
                body.push_str(line);
                body.push('\n');
            }
        } else if let Some(info) = line.strip_prefix("````") {
            let (word, path) = info.split_once(' ').unwrap_or_else(|| panic!("{}: a fence without a path", place()));
            assert!(word == "file" || (word == "notebook" && path.ends_with(".md")), "{}: {info}", place());
            fence = Some((path.to_owned(), String::new()));
        } else if let Some(title) = line.strip_prefix("## ") {
            cases.push(Case {
                topic: topic.to_owned(),
                title: title.to_owned(),
                line: index + 1,
                files: Vec::new(),
                expected: Vec::new(),
                near_misses: Vec::new(),
                handling_counts: false,
                says_something: false,
            });
        } else if let (Some(item), Some(case)) = (line.strip_prefix("- "), cases.last_mut()) {
            read_item(item, case).unwrap_or_else(|| panic!("{}: not understood: {line}", place()));
        }
    }
    assert!(fence.is_none(), "{topic}: a fence is not closed");
    cases
}

fn read_item(item: &str, case: &mut Case) -> Option<()> {
    match item {
        "nothing" => case.handling_counts = true,
        "nothing but handling" => {}
        _ => {
            if let Some(name) = item.strip_prefix("not ") {
                case.near_misses.push(by_name(name)?.name.to_owned());
                return Some(());
            }
            let (head, pieces) = item.strip_suffix('"')?.split_once(" \"")?;
            let words: Vec<&str> = head.split(' ').collect();
            let (severity, name, path, line) = match words.as_slice() {
                [severity, name, "line", line] => (severity, name, None, line),
                [severity, name, "in", path, "line", line] => (severity, name, Some((*path).to_owned()), line),
                _ => return None,
            };
            case.handling_counts |= *name == HANDLING;
            case.expected.push(Expected {
                severity: (*severity).to_owned(),
                name: by_name(name)?.name.to_owned(),
                path,
                line: line.parse().ok()?,
                pieces: pieces.split("\" \"").map(str::to_owned).collect(),
            });
        }
    }
    case.says_something = true;
    Some(())
}

fn sources_of(case: &Case) -> Sources {
    sources(case.files.iter().map(|(path, text)| (path.as_str(), text.as_str())))
}

/// What a case and the program disagree about; empty when they agree.
fn fault_of_case(case: &Case) -> String {
    let mut fault = String::new();
    if case.files.is_empty() || !case.says_something {
        return "  the case has no file or no list of findings\n".to_owned();
    }
    let texts: BTreeMap<&str, &str> = case.files.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
    let first = case.files.iter().find(|(path, _)| path.ends_with(".md")).map_or("", |(path, _)| path);
    let mut collection = Collection::new();
    collection.update(sources_of(case));
    let mut raised: Vec<Raised<'_>> = Vec::new();
    let mut findings = collection.findings();
    // Numbers that agree are listed only where they are asked for.
    if case.expected.iter().map(|one| &one.name).chain(&case.near_misses).any(|name| name == AGREEING) {
        findings.extend(collection.agreeing_numbers());
    }
    for finding in &findings {
        fault.push_str(&fault_of_form(finding, &texts));
        if finding.kind.name != HANDLING || case.handling_counts {
            let text = texts.get(&*finding.place.path).copied().unwrap_or_default();
            let line = locate(&finding.place, text).line;
            let what = finding.what.replace('\u{a0}', " ");
            raised.push(Raised { finding, path: finding.place.path.to_string(), line, what });
        }
    }
    for expected in &case.expected {
        let path = expected.path.as_deref().unwrap_or(first);
        let found = raised.iter().position(|one| {
            one.finding.severity().word() == expected.severity
                && one.finding.kind.name == expected.name
                && (one.path.as_str(), one.line) == (path, expected.line)
                && expected.pieces.iter().all(|piece| one.what.contains(piece))
        });
        match found {
            Some(index) => drop(raised.remove(index)),
            None => {
                let Expected { severity, name, line, pieces, .. } = expected;
                let _ = writeln!(fault, "  missing: {severity} {name} in {path} line {line} {pieces:?}");
            }
        }
    }
    for Raised { finding, path, line, what } in raised {
        let place = if path == first { String::new() } else { format!(" in {path}") };
        let _ = writeln!(
            fault,
            "  surplus: {} {}{place} line {line} \"{what}\"",
            finding.severity().word(),
            finding.kind.name
        );
    }
    for name in &case.near_misses {
        if case.expected.iter().any(|expected| expected.name == *name) {
            let _ = writeln!(fault, "  {name} is listed as found and as not found");
        }
    }
    fault
}

/// What holds for every finding: whole sentences, a place inside its file, and a source for each caution.
fn fault_of_form(finding: &Finding, texts: &BTreeMap<&str, &str>) -> String {
    let mut fault = String::new();
    let name = finding.kind.name;
    for text in [finding.what.as_str(), finding.why_text(), finding.mend_text()] {
        if let Some(wrong) = fault_of_sentence(text).filter(|_| !text.is_empty()) {
            let _ = writeln!(fault, "  {name}: {wrong}: {text:?}");
        }
    }
    for place in std::iter::once(&finding.place).chain(finding.more.iter().map(|(place, _)| place)) {
        let inside = texts.get(&*place.path).is_none_or(|text| text.get(place.span.clone()).is_some());
        if !inside || (!texts.contains_key(&*place.path) && !place.span.is_empty()) {
            let _ = writeln!(fault, "  {name}: {place:?} is not inside its file");
        }
    }
    if finding.severity() == Severity::Caution && finding.source.as_deref().unwrap_or_default().is_empty() {
        let _ = writeln!(fault, "  {name}: a caution without a source");
    }
    fault
}
