//! Numbers in sentences: sixty notebooks that each state one figure their formula contradicts, and notebooks in which no figure may
//! be accused, written by somebody who did not know the word list.
//!
//! `tests/loose/planted.md` says under each notebook which words are planted, `tests/loose/clean.md` only that it is clean. The
//! arithmetic behind the planted figures is plain per cent of a batch; nothing here rests on a source outside of it.

#![expect(clippy::disallowed_methods, reason = "the notebooks stand in files")]
#![expect(clippy::unwrap_used, reason = "a notebook that cannot be read fails the test")]

use std::fmt::Write;
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;
use tarebook::collection::{Collection, Sources};
use tarebook::report::{Finding, Severity};

/// How many of the planted figures must be found.
const FOUND: usize = 50;

/// A notebook with what is said under it.
struct Case {
    title: String,
    text: String,
    planted: Option<String>,
}

fn cases(name: &str) -> Vec<Case> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/loose").join(name);
    let mut cases: Vec<Case> = Vec::new();
    let mut in_fence = false;
    for line in std::fs::read_to_string(path).unwrap().lines() {
        if line.starts_with("````") {
            in_fence = !in_fence;
        } else if in_fence {
            let case = cases.last_mut().unwrap();
            case.text.push_str(line);
            case.text.push('\n');
        } else if let Some(title) = line.strip_prefix("## ") {
            cases.push(Case { title: title.to_owned(), text: String::new(), planted: None });
        } else if let Some(said) = line.strip_prefix("- planted: `") {
            let (words, _) = said.split_once('`').unwrap();
            cases.last_mut().unwrap().planted = Some(words.to_owned());
        }
    }
    assert!(cases.iter().all(|case| !case.text.is_empty()), "{name}: a case without a notebook");
    cases
}

/// The numbers that are accused. The notebook must be one without errors, or nothing would be judged in it.
fn accused(case: &Case) -> Vec<Finding> {
    let mut sources = Sources::default();
    sources.notebooks.insert("a.md".into(), Arc::from(case.text.as_str()));
    let mut collection = Collection::new();
    collection.update(sources);
    let findings = collection.findings();
    for finding in &findings {
        assert_ne!(finding.severity(), Severity::Error, "{}: {}", case.title, finding.what);
    }
    findings.into_iter().filter(|finding| finding.kind.name == "loose-number").collect()
}

fn meet(one: &Range<usize>, other: &Range<usize>) -> bool {
    one.start < other.end && other.start < one.end
}

#[test]
fn planted_figures_are_found_at_their_words() {
    let cases = cases("planted.md");
    assert_eq!(cases.len(), 60);
    let (mut found, mut missed, mut wrong) = (0, String::new(), String::new());
    for case in &cases {
        let words = case.planted.as_deref().unwrap_or_else(|| panic!("{}: nothing is planted", case.title));
        let places: Vec<usize> = case.text.match_indices(words).map(|(at, _)| at).collect();
        let [at] = places.as_slice() else { panic!("{}: the words stand {} times", case.title, places.len()) };
        let planted = *at..at + words.len();
        let accused = accused(case);
        match accused.iter().any(|finding| meet(&finding.place.span, &planted)) {
            true => found += 1,
            false => writeln!(missed, "  {}: {words}", case.title).unwrap(),
        }
        for finding in accused.iter().filter(|finding| !meet(&finding.place.span, &planted)) {
            writeln!(wrong, "  {}: {}", case.title, finding.what).unwrap();
        }
    }
    assert!(found >= FOUND, "only {found} of {} found; missed:\n{missed}", cases.len());
    assert!(wrong.is_empty(), "accused beside what is planted:\n{wrong}");
}

#[test]
fn clean_notebooks_are_not_accused() {
    let cases = cases("clean.md");
    assert_eq!(cases.len(), 120);
    let mut wrong = String::new();
    for case in &cases {
        assert!(case.planted.is_none(), "{}: planted among the clean", case.title);
        for finding in accused(case) {
            let words = case.text.get(finding.place.span.clone()).unwrap_or_default();
            writeln!(wrong, "  {}: `{words}`: {}", case.title, finding.what).unwrap();
        }
    }
    assert!(wrong.is_empty(), "accused:\n{wrong}");
}
