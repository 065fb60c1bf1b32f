//! What holds for any text: it is read without a panic, and every place lies inside it.

use super::without_sheets;
use crate::commonmark::danger;
use crate::support::{cases, collection, sources};
use proptest::prelude::*;
use std::ops::Range;
use std::sync::Arc;
use tarebook::block::RowFiles;
use tarebook::collection::Collection;
use tarebook::notebook::{Notebook, ReadOptions};
use tarebook::report::kind;

/// Pieces of notebooks: Markdown, blocks, good and bad TOML, and what trips readers up.
const PIECES: &[&str] = &[
    "# Wash\n",
    "\n",
    "\r\n",
    "\n\n",
    "```formula\n",
    "~~~~formula\n",
    "```saponification\nid = \"s\"\nsuperfat = \"5 %\"\nwater = \"2:1\"\nbatch = \"1 kg\"\n[fats]\nolive-oil = 100\n[lye]\nsodium-hydroxide = { purity = \"98 %\" }\n",
    "[fats]\n",
    "[lye]\n",
    "```\n",
    "~~~~\n",
    "> ```formula\n> id = \"q\"\n> ```\n",
    "- ```formula\n  id = \"l\"\n  [phase.A]\n  water = 100\n  ```\n",
    "   ```formula\n   id = \"i\"\n",
    "id = \"wash\"\n",
    "id = \"ä\"\n",
    "id = 3\n",
    "title = \"Wäsche\"\n",
    "product = \"shampoo\"\n",
    "product = \"shampo\"\n",
    "batch = \"500 g\"\n",
    "batch = { fill = \"250 ml\", units = 12, overfill = \"2 %\" }\n",
    "batch = { fill = 3 }\n",
    "batch = \"99999999999999 lb\"\n",
    "batch = \"0.00000000000001 mg\"\n",
    "density = \"1.02 g/ml\"\n",
    "density = \"99999999999999 g/ml\"\n",
    "ph = \"4.8..5.2\"\n",
    "ph = \"5..4\"\n",
    "balance = \"0.1 g\"\n",
    "balance = { readability = \"99999999999999 kg\", within = \"0 %\" }\n",
    "balance = { readability = \"0.0000000000001 mg\", within = \"0.000000000001 %\" }\n",
    "based-on = \"wash\"\n",
    "based-on = \"l\"\n",
    "[phase.A]\n",
    "[phase.\"ü\"]\n",
    "[phase]\n",
    "phase = 3\n",
    "[change.A]\n",
    "hold = \"70 °C\"\n",
    "water = \"q.s. to 100\"\n",
    "water = 97\n",
    "water = \"99999999999999 parts\"\n",
    "water = \"99999999999999 lb\"\n",
    "glycerin = 3\n",
    "glycerin = 0\n",
    "glycerin = -3\n",
    "glycerin = 1e400\n",
    "glycerin = 0x10\n",
    "glycerin = nan\n",
    "glycerin = \"1,234\"\n",
    "glycerin = \"12 drops\"\n",
    "glycerin = \"2 metric teaspoons\"\n",
    "glycerin = { percent = 3, note = \"süß\", lot = \"1\", strength = \"29..31 %\" }\n",
    "glycerin = { volume = \"99999999999999 l\" }\n",
    "glycerin = { volume = \"99999999999999 drops\", drop-weighs = \"99999999999999 lb\" }\n",
    "glycerin = { percent = \"q.s.\", usual = 99.9999, to = \"pH 5\" }\n",
    "glycerin = \"drop\"\n",
    "\"glycer\\u0069n\" = 3\n",
    "gly.cerin = 3\n",
    "unobtainium = \"\"\"\n",
    "cocamidopropyl-betaine = 0.00000000000001\n",
    "sodium-benzoate = { percent = 0.58",
    "[](calc:wash/active-matter)",
    "[11.2 %](calc:wash/glycerin/weight?batch=2kg&unit=oz&digits=6)",
    "[](calc:wash/batch?batch=99999999999999lb)",
    "[](calc:wash/water/weight?batch=99999999999999kg&unit=mg)",
    "[*a* `b` ![c](d)](calc:wash/%F0%9F)",
    "<calc:wash/water>",
    "![[](calc:wash/water)](x.png)",
    "[a](b.md#c)",
    "[a](../../b.md)",
    "[a](%ff%2e%2e/b)",
    "[a]: calc:wash/water\n",
    "[a]",
    "[^1]",
    "[^1]: note [](calc:wash/water)\n",
    "| a | b |\n| - | - |\n| [](calc:wash/water) | c |\n",
    "- [ ] a\n  - b\n",
    "> a\n",
    "<b onclick=x>",
    "<!-- ",
    "--> ",
    "<script>",
    "&#xFDD0;0&#xFDD1;",
    "\u{fdd0}0\u{fdd1}",
    "\u{feff}",
    "\u{0}",
    "\u{a0}",
    "\u{2028}",
    "é",
    "e\u{301}",
    "🧴",
    "\t",
    "    ",
    "\\",
    "*",
    "`",
];

/// Random characters, or pieces of notebooks in a row with some of it damaged.
fn any_text() -> impl Strategy<Value = String> {
    let pieces = proptest::collection::vec(prop::sample::select(PIECES), 0..30).prop_map(|pieces| pieces.concat());
    let edit = (
        any::<prop::sample::Index>(),
        0_usize..8,
        prop_oneof![Just(String::new()), "\\PC{0,3}", "[\"'\\[\\]{}=#\n`.,-]"],
    );
    let damaged = (pieces, proptest::collection::vec(edit, 0..5)).prop_map(|(text, edits)| {
        edits.into_iter().fold(text, |text, (at, length, put)| {
            let characters: Vec<char> = text.chars().collect();
            let at = at.index(characters.len() + 1);
            let end = characters.len().min(at + length);
            characters[..at].iter().copied().chain(put.chars()).chain(characters[end..].iter().copied()).collect()
        })
    });
    prop_oneof![1 => ".{0,200}", 1 => "(?s).{0,80}", 6 => damaged]
}

/// Whether a span may be cut out of a text.
fn fits(text: &str, span: &Range<usize>) -> bool {
    span.start <= span.end && text.get(span.clone()).is_some()
}

/// Every span in what was read and found, with a word for what it is.
fn spans(collection: &Collection, notebook: &Notebook) -> Vec<(String, Arc<str>, Range<usize>)> {
    let mut spans = Vec::new();
    let mut add = |what: &str, path: &Arc<str>, span: &Range<usize>| {
        spans.push((what.to_owned(), Arc::clone(path), span.clone()));
    };
    for finding in collection.findings().iter().chain(&notebook.findings) {
        add(finding.kind.name, &finding.place.path, &finding.place.span);
        for (place, words) in &finding.more {
            add(words, &place.path, &place.span);
        }
    }
    for link in &notebook.calc_links {
        add("calc link", &link.place.path, &link.place.span);
        add("text of a calc link", &link.place.path, &link.text_span);
    }
    for link in &notebook.links {
        add("link", &link.place.path, &link.place.span);
    }
    for aside in &notebook.asides {
        add("aside", &notebook.path, &aside.span);
    }
    for formula in &notebook.formulas {
        add("formula", &formula.place.path, &formula.place.span);
        add("id", &formula.id.place.path, &formula.id.place.span);
        let lines = formula.phases.iter().flat_map(|phase| &phase.lines);
        for line in lines.chain(formula.changes.iter().flat_map(|change| &change.lines)) {
            add("material", &line.material.place.path, &line.material.place.span);
            add("amount", &line.amount.place.path, &line.amount.place.span);
        }
    }
    spans
}

proptest! {
    #![proptest_config(cases(200))]

    /// Any text is a notebook, settings and materials too: nothing panics, and every place lies inside its text.
    #[test]
    fn any_text_is_read_with_places_inside_it(text in any_text(), trust_html in any::<bool>()) {
        let path: Arc<str> = "a.md".into();
        let shared: Arc<str> = text.as_str().into();
        // Directly, where nothing catches a panic.
        let notebook = Notebook::read(&path, &shared, ReadOptions { trust_html }, &RowFiles::new());
        let settings = format!("trust-html = {trust_html}\n");
        let mut collection = Collection::new();
        collection.update(sources([("collection.toml", settings.as_str()), ("a.md", &text), ("materials/m.toml", &text)]));
        for finding in collection.findings() {
            prop_assert!(finding.kind != kind::BROKEN_PROGRAM, "{:?}", finding);
        }
        for (what, path, span) in spans(&collection, &notebook) {
            let text = if &*path == "a.md" { Some(text.as_str()) } else { collection.text_of(&path) };
            prop_assert!(text.is_some_and(|text| fits(text, &span)), "{} at {:?} of {}", what, span, path);
        }
        let page = collection.render("a.md").unwrap().remove(0);
        let page = String::from_utf8(page.bytes).unwrap();
        if !trust_html {
            prop_assert_eq!(danger(&without_sheets(&page)), None);
        }
    }

    /// So is any text in the place of the settings.
    #[test]
    fn any_text_may_stand_for_the_settings(text in any_text()) {
        let collection = collection([("collection.toml", text.as_str()), ("a.md", "# A\n")]);
        for finding in collection.findings() {
            let source = collection.text_of(&finding.place.path).unwrap_or_default();
            prop_assert!(fits(source, &finding.place.span), "{:?}", finding);
        }
        prop_assert!(collection.render("a.md").is_ok());
    }
}
