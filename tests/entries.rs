//! The manual's entries about findings: each kind has one, its wrong example raises it, and its right one is clean.
//!
//! An example shows nothing but its own subject: what else a wrong one raises stands in [`BESIDE`] with the reason.

#![expect(clippy::unwrap_used, reason = "what goes wrong here fails the test")]

use crate::support::{Bench, sources};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use tarebook::collection::Collection;
use tarebook::edge::Folder;
use tarebook::report::entries::{Entry, ExampleFile, PAGES, entry, read};
use tarebook::report::{ALL_KINDS, Kind};

/// The one finding that any example may raise beside its own: hazards are said wherever there are any.
const HANDLING: &str = "handle-with-care";

/// Kinds that no text raises, so their entries show no wrong example, and how they are raised here.
const NOT_FROM_TEXT: &[(&str, &str)] = &[
    ("not-utf-8", "bytes: `the_right_example_in_another_encoding_is_not_utf8`"),
    ("unreadable", "a folder that is gone: `a_folder_that_is_gone_is_unreadable`"),
    (
        "fault-in-tarebook",
        "nowhere: a text that raised it would show a fault of the program, and the fault would be mended",
    ),
];

/// What else a wrong example raises, and why that cannot be helped. Right examples raise nothing else.
const BESIDE: &[(&str, &str, &str)] = &[
    ("rests-on-errors", "unknown-material", "the error that the block rests on"),
    ("parent-failed", "unknown-material", "the error of the parent"),
    ("strength-unknown", "composition-unknown", "the same missing figure, asked for twice"),
    ("declaration-not-whole", "composition-unknown", "the same missing composition, asked for twice"),
    ("strength-far-off", "active-matter-outside", "a hundredth of the strength is a hundredth of the active matter"),
    ("over-limit-as-weighed", "poorly-weighed", "a rounding that goes over a limit is a coarse one"),
    ("limit-ph-not-judged", "ph-not-stated", "the preservative hangs on the missing pH as well"),
    ("nitrosamine-risk", "label-warning", "bronopol releases formaldehyde"),
    ("not-so-as-weighed", "over-limit", "what the batch is spared is found about the formula"),
    ("swallowed-by-html", "html-cleaned", "what swallows a sheet is taken out"),
];

fn all_kinds() -> impl Iterator<Item = &'static Kind> {
    ALL_KINDS.iter().copied().chain(tarebook::caution::kinds())
}

fn entries() -> Vec<Entry> {
    PAGES.iter().flat_map(|(_, page)| read(page)).collect()
}

#[test]
fn every_kind_has_one_entry_and_every_entry_a_kind() {
    let mut counts: BTreeMap<&str, usize> = all_kinds().map(|kind| (kind.name, 0)).collect();
    let mut faults = String::new();
    for entry in entries() {
        match counts.get_mut(entry.name) {
            Some(count) => *count += 1,
            None => writeln!(faults, "{}: an entry, and no kind of that name", entry.name).unwrap(),
        }
    }
    for (name, count) in counts.into_iter().filter(|(_, count)| *count != 1) {
        let how = "write it in notebooks/manual/findings/*.md: a wrong example and the right one";
        writeln!(faults, "{name}: {count} entries, not one ({how})").unwrap();
    }
    assert!(faults.is_empty(), "{faults}");
}

/// Under the heading stands the severity, and one to three sentences that are not the finding's own.
#[test]
fn every_entry_begins_with_its_severity_and_is_short() {
    for kind in all_kinds() {
        let mut severity = kind.severity.word().to_owned();
        severity.get_mut(..1).unwrap().make_ascii_uppercase();
        let head = format!("\n## {}\n\n**{severity}.** ", kind.name);
        let Some(rest) = PAGES.iter().find_map(|(_, page)| page.split_once(&head)) else {
            panic!("{}: no page has {head:?}", kind.name);
        };
        let words = rest.1.split("\n\n").next().unwrap().replace('\n', " ");
        let n_sentences = words.split(' ').filter(|word| word.ends_with(['.', '?'])).count();
        assert!((1..=3).contains(&n_sentences), "{}: {n_sentences} sentences: {words}", kind.name);
        for own in [kind.summary, kind.why, kind.mend].into_iter().filter(|own| !own.is_empty()) {
            assert!(!words.contains(own), "{}: says again what the finding says: {own}", kind.name);
        }
    }
}

#[test]
fn every_page_of_entries_is_embedded() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/notebooks/manual/findings");
    let sources = Folder::open(folder.as_ref(), None).unwrap().read();
    let there: BTreeSet<&str> = sources.notebooks.keys().map(|path| &**path).collect();
    assert_eq!(PAGES.iter().map(|(name, _)| *name).collect::<BTreeSet<_>>(), there);
}

#[test]
fn wrong_examples_raise_their_kind_and_right_ones_nothing() {
    let mut faults = String::new();
    for entry in entries() {
        let name = entry.name;
        let excused = NOT_FROM_TEXT.iter().any(|(known, _)| *known == name);
        if entry.wrong.is_empty() != excused {
            writeln!(faults, "{name}: a wrong example, or a reason why there is none").unwrap();
        }
        if entry.right.is_empty() && name != "fault-in-tarebook" && name != "unreadable" {
            writeln!(faults, "{name}: no right example").unwrap();
        }
        let beside = BESIDE.iter().filter(|(of, _, _)| *of == name).map(|(_, kind, _)| *kind);
        let wrong: BTreeSet<&str> = beside.chain([name]).collect();
        for (side, files, expected) in [("wrong", &entry.wrong, wrong), ("right", &entry.right, BTreeSet::new())] {
            if files.is_empty() {
                continue;
            }
            let mut found = raised(files, name == "agreeing-number");
            found.retain(|kind, _| *kind != HANDLING || name == HANDLING);
            if !found.keys().copied().eq(expected.iter().copied()) {
                writeln!(faults, "{name}, {side}: raises {found:#?}, expected {expected:?}").unwrap();
            }
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

/// A right example is the wrong one mended, not another: most of its lines are the same.
#[test]
fn right_examples_mend_the_wrong_ones() {
    for entry in entries() {
        if entry.wrong.is_empty() || entry.right.is_empty() {
            continue;
        }
        let lines = |files: &[ExampleFile]| -> Vec<String> {
            let squeeze = |line: &str| line.split_whitespace().collect::<Vec<_>>().join(" ");
            files.iter().flat_map(|file| file.text.lines().map(squeeze)).collect()
        };
        let (wrong, right) = (lines(&entry.wrong), lines(&entry.right));
        let taken = wrong.iter().filter(|line| !right.contains(line)).count();
        let given = right.iter().filter(|line| !wrong.contains(line)).count();
        let paths = |files: &[ExampleFile]| files.iter().map(|file| file.path).collect::<Vec<_>>();
        let same = wrong == right && paths(&entry.wrong) == paths(&entry.right);
        assert!(!same, "{}: both examples are the same", entry.name);
        assert!(taken <= 6 && given <= 8, "{}: {taken} lines go and {given} come", entry.name);
    }
}

#[test]
fn the_right_example_in_another_encoding_is_not_utf8() {
    let entry = entry("not-utf-8").unwrap();
    let [file] = entry.right.as_slice() else { panic!("{:?}", entry.right) };
    let bytes: Vec<u8> = file.text.chars().map(|character| u8::try_from(character).unwrap()).collect();
    assert!(!bytes.is_ascii(), "{:?} is the same in any encoding", file.text);
    let bench = Bench::new().with(file.path, bytes);
    assert_eq!(found_in(&bench), ["not-utf-8"]);
    assert_eq!(found_in(&Bench::new().with(file.path, &file.text)), [""; 0]);
}

#[test]
fn a_folder_that_is_gone_is_unreadable() {
    let bench = Bench::new().with("notes/notebook.md", "Nothing here.\n");
    let folder = Folder::open(&bench.path("notes"), None).unwrap();
    assert_eq!(folder.read().findings, []);
    bench.remove("notes");
    let names: Vec<&str> = folder.read().findings.iter().map(|finding| finding.kind.name).collect();
    assert_eq!(names, ["unreadable"]);
}

fn found_in(bench: &Bench) -> Vec<&'static str> {
    let sources = Folder::open(&bench.path("."), None).unwrap().read();
    let mut collection = Collection::new();
    collection.update(sources);
    collection.findings().iter().map(|finding| finding.kind.name).collect()
}

/// The kinds that a collection of these files raises, each with its sentences; with the numbers that agree as `proofread --loose` lists them.
fn raised(files: &[ExampleFile], with_agreeing: bool) -> BTreeMap<&'static str, Vec<String>> {
    let mut collection = Collection::new();
    collection.update(sources(files.iter().map(|file| (file.path, file.text.as_str()))));
    let mut found: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    let agreeing = if with_agreeing { collection.agreeing_numbers() } else { Vec::new() };
    for finding in collection.findings().into_iter().chain(agreeing) {
        found.entry(finding.kind.name).or_default().push(finding.what.clone());
    }
    found
}
