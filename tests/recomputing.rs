//! A program in another language does every sum of the demo collection again, from what `export` writes, and finds every slip.
//!
//! `tests/recompute/` is Python, its standard library only: exact fractions, and decimals for powers of ten. It is written from the manual, and
//! shares nothing with the program but the document.

#![expect(clippy::indexing_slicing, clippy::unwrap_used, reason = "a document without these parts fails the test")]
#![expect(clippy::panic, reason = "what goes wrong here fails the test")]

use crate::support::Bench;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

/// What the script says of a document.
struct Said {
    is_success: bool,
    text: String,
}

/// A collection of this repository as `export` writes it.
fn exported(path: &str) -> Value {
    let path = format!("{}/{path}", env!("CARGO_MANIFEST_DIR"));
    let text = Bench::new().run(["export", &path]).ends_with(0).complains_of_nothing().out();
    serde_json::from_str(&text).unwrap()
}

/// The demo collection.
fn document() -> Value {
    exported("notebooks")
}

fn recomputed(document: &Value) -> Said {
    let bench = Bench::new().with("collection.json", document.to_string());
    let script = format!("{}/tests/recompute/recompute.py", env!("CARGO_MANIFEST_DIR"));
    let done = Command::new("python3").arg("-B").arg(script).arg(bench.path("collection.json")).output();
    let done = done.unwrap_or_else(|fault| panic!("this test needs python3 (tests/run installs it): {fault}"));
    let text = [done.stdout, done.stderr].map(|bytes| String::from_utf8(bytes).unwrap()).concat();
    Said { is_success: done.status.success(), text }
}

/// Each figure of a document, with the kind of its block.
fn figures(document: &mut Value) -> Vec<(String, &mut Value)> {
    let mut all = Vec::new();
    for notebook in document["notebooks"].as_array_mut().unwrap() {
        for block in notebook["blocks"].as_array_mut().unwrap() {
            let kind = block["kind"].as_str().unwrap().to_owned();
            let figures = block["figures"].as_array_mut().unwrap();
            all.extend(figures.iter_mut().map(|figure| (kind.clone(), figure)));
        }
    }
    all
}

#[test]
fn every_figure_is_recomputed() {
    let mut document = document();
    let said = recomputed(&document);
    let count = figures(&mut document).len();
    assert!(count > 2000);
    let expected = format!("{count} of {count} figures recomputed, 0 differ, 0 not attempted\n");
    assert!(said.is_success && said.text == expected, "{}", said.text);
}

/// The kinds of block of which the script leaves some figures out, as its `LEFT_OUT` says; in the demo collection there are none of these.
const LEFT_OUT: [&str; 6] = ["buffer", "curve", "dilution", "label", "saponification", "workings"];

/// In the other collections no figure differs; how many are left out at the most is written here, so that it does not grow unseen.
#[test]
fn no_figure_of_the_other_collections_differs() {
    for (path, most) in [("notebooks/manual", 50), ("notebooks/checks", 165)] {
        let said = recomputed(&exported(path));
        let last = said.text.lines().last().unwrap_or_default();
        assert!(last.contains(", 0 differ, "), "{path}: {}", said.text);
        let left: Vec<&str> = said.text.lines().filter(|line| line.contains(": not attempted, ")).collect();
        assert!(last.ends_with(&format!(" {} not attempted", left.len())) && left.len() <= most, "{path}: {last}");
        for line in left {
            assert!(LEFT_OUT.iter().any(|kind| line.contains(&format!(" ({kind}): "))), "{path}: {line}");
        }
    }
}

/// Puts a slip into one part of a figure: the last of the digits that count is another one, or a letter where there is none.
fn slipped(text: &str) -> String {
    // Of a quotient that never ends no more than twenty digits are compared.
    let digits: Vec<usize> = text.match_indices(|letter: char| letter.is_ascii_digit()).map(|(at, _)| at).collect();
    let at = digits.iter().copied().take(18).next_back().unwrap_or_default();
    let other = match text.as_bytes()[at] {
        b'9' => '0',
        digit @ b'0'..=b'8' => char::from(digit + 1),
        _ => '#',
    };
    let width = text[at..].chars().next().unwrap().len_utf8();
    format!("{}{other}{}", &text[..at], &text[at + width..])
}

/// One figure of each kind of block, kind of value and last part of its address, each with a slip in another of its parts.
#[test]
fn every_slip_is_found() {
    let mut document = document();
    let mut slips = BTreeMap::new();
    let mut seen = BTreeSet::new();
    for (kind, figure) in figures(&mut document) {
        let address = figure["address"].as_str().unwrap().to_owned();
        let last = address.rsplit('/').next().unwrap_or_default().to_owned();
        let is = figure["is"].as_str().unwrap_or("unknown").to_owned();
        if is == "unknown" || !seen.insert((kind, is, last)) {
            continue;
        }
        let parts: Vec<&str> =
            ["value", "text", "low", "high"].into_iter().filter(|part| figure.get(part).is_some()).collect();
        let part = parts[slips.len() % parts.len()];
        let text = figure[part].as_str().unwrap().to_owned();
        figure[part] = Value::from(slipped(&text));
        slips.insert(address, part);
    }
    assert!(slips.len() > 100, "{}", slips.len());
    let said = recomputed(&document);
    assert!(!said.is_success);
    let found: BTreeSet<(&str, &str)> = said
        .text
        .lines()
        .filter_map(|line| {
            let (address, rest) = line.split_once(" (")?;
            Some((address, rest.split_once("): ")?.1.split_once(" is ")?.0))
        })
        .collect();
    let planted: BTreeSet<(&str, &str)> = slips.iter().map(|(address, part)| (address.as_str(), *part)).collect();
    assert_eq!(found, planted, "{}", said.text);
}

/// A figure that is missing, one that nothing computes, and one that should be unknown.
#[test]
fn what_is_missing_and_what_is_too_much_is_found() {
    let mut document = document();
    let blocks = document["notebooks"].as_array_mut().unwrap().iter_mut();
    let mut blocks = blocks.flat_map(|notebook| notebook["blocks"].as_array_mut().unwrap());
    let formula = blocks.find(|block| block["id"] == "barley-wash").unwrap();
    let figures = formula["figures"].as_array_mut().unwrap();
    figures.retain(|figure| figure["address"] != "barley-wash/glycerin/weight");
    for figure in figures.iter_mut() {
        if figure["address"] == "barley-wash/panthenol/weight" {
            figure["address"] = Value::from("barley-wash/salt/weight");
        }
        if figure["address"] == "barley-wash/water" {
            *figure = serde_json::json!({ "address": "barley-wash/water", "unknown": "nobody knows" });
        }
    }
    let said = recomputed(&document);
    assert!(!said.is_success);
    for line in [
        "barley-wash/glycerin/weight (formula): address is 'missing'",
        "barley-wash/panthenol/weight (formula): address is 'missing'",
        "barley-wash/salt/weight (formula): not attempted",
        "barley-wash/water (formula): text is None",
    ] {
        assert!(said.text.contains(line), "{line}\n{}", said.text);
    }
}

/// The figures follow from what the blocks say: with another amount in one line they are other figures.
#[test]
fn a_changed_model_has_other_figures() {
    let mut document = document();
    let blocks = document["notebooks"].as_array_mut().unwrap().iter_mut();
    let mut blocks = blocks.flat_map(|notebook| notebook["blocks"].as_array_mut().unwrap());
    let formula = blocks.find(|block| block["id"] == "barley-wash").unwrap();
    let line = &mut formula["model"]["phases"][0]["lines"][3];
    assert_eq!(line["material"], "glycerin");
    line["amount"] = Value::from("3.5");
    let said = recomputed(&document);
    assert!(!said.is_success);
    for address in [
        "barley-wash/glycerin/percent (formula)",
        "barley-wash/substance/glycerin (formula)",
        "wash-log-1/glycerin/deviation (batch-record)",
        "barley-wash/check-value (formula)",
    ] {
        assert!(said.text.contains(address), "{address}\n{}", said.text);
    }
}
