//! What holds for any formula, any text and any sequence of edits.
//!
//! The seed is fixed, so that a run is as repeatable as every other test; PROPTEST_RNG_SEED and PROPTEST_CASES look further.

#![expect(clippy::indexing_slicing, clippy::panic, reason = "what goes wrong here fails the test")]

use crate::commonmark::{attributes, danger, tag_of};
use crate::support::{Tree, cases, collection, difference, everything, sources};
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::ops::Range;
use std::sync::Arc;
use tarebook::block::Expression;
use tarebook::collection::{Collection, Sources};
use tarebook::compute::{Answer, Computed, Working, look_up};
use tarebook::notebook::{Notebook, ReadOptions};
use tarebook::page::working_text;
use tarebook::quantity::{Decimal, Exact, UnitValue, Units, read_literal};
use tarebook::report::{Finding, Severity, kind};

/// Raw materials of every kind: water, surfactants, a preservative, oils, powders, an acid.
const MATERIALS: [&str; 12] = [
    "water",
    "glycerin",
    "decyl-glucoside",
    "cocamidopropyl-betaine",
    "sodium-cocoyl-isethionate",
    "phenoxyethanol",
    "sodium-benzoate",
    "citric-acid-50",
    "panthenol",
    "xanthan-gum",
    "lactic-acid",
    "sunflower-oil",
];

/// A formula in figures: amounts in ten-thousandths of a per cent, with the phase of each line.
#[derive(Clone, Debug)]
struct Lines {
    lines: Vec<(usize, i64, char)>,
    /// The line that is q.s. to 100, if there is one.
    balance: Option<usize>,
}

/// One hundred per cent in the unit of [`Lines`].
const WHOLE: i64 = 1_000_000;

impl Lines {
    /// The whole cut at random places, so that the sum is exactly 100.
    fn any() -> impl Strategy<Value = Lines> {
        let cuts = proptest::collection::vec(prop_oneof![1..WHOLE, (1_i64..100).prop_map(|n| n * 10_000)], 0..12);
        let order = Just((0..MATERIALS.len()).collect::<Vec<_>>()).prop_shuffle();
        let phases = proptest::collection::vec(prop::sample::select(vec!['A', 'B', 'C']), MATERIALS.len());
        (cuts, order, phases, proptest::option::weighted(0.6, any::<prop::sample::Index>())).prop_map(
            |(mut cuts, order, mut phases, balance)| {
                cuts.extend([0, WHOLE]);
                cuts.sort_unstable();
                cuts.dedup();
                phases.truncate(cuts.len() - 1);
                phases.sort_unstable();
                let amounts = cuts.windows(2).map(|pair| pair[1] - pair[0]);
                let lines: Vec<_> =
                    order.into_iter().zip(amounts).zip(phases).map(|((m, amount), phase)| (m, amount, phase)).collect();
                let balance = balance.map(|index| index.index(lines.len()));
                Lines { lines, balance }
            },
        )
    }

    /// The block, with each amount written by `write` unless it is the balance line.
    fn block(&self, head: &str, write: impl Fn(i64) -> String) -> String {
        let mut text = format!("```formula\nid = \"f\"\n{head}\n");
        let mut open = None;
        for (index, (material, amount, phase)) in self.lines.iter().enumerate() {
            if open.replace(*phase) != Some(*phase) {
                let _ = writeln!(text, "[phase.{phase}]");
            }
            let amount = if self.balance == Some(index) { "\"q.s. to 100\"".to_owned() } else { write(*amount) };
            let _ = writeln!(text, "{} = {amount}", MATERIALS[*material]);
        }
        text.push_str("```\n");
        text
    }
}

impl Lines {
    /// Steps that add all phases in order, each in one of four ways: as a phase, line by line, in a vessel of its own, or with a part of its
    /// first line ahead of the rest.
    fn steps(&self, ways: &[usize]) -> String {
        let mut text = String::new();
        let mut step = |more: &str| {
            let _ = writeln!(text, "[[step]]\ndo = \"Do it.\"\n{more}");
        };
        for (phase, way) in ['A', 'B', 'C'].into_iter().zip(ways) {
            let of_phase = self.lines.iter().filter(|(_, _, own)| *own == phase);
            let names: Vec<&str> = of_phase.map(|(material, _, _)| MATERIALS[*material]).collect();
            let Some(first) = names.first() else { continue };
            match way {
                0 => step(&format!("add = [\"phase {phase}\"]")),
                1 => step(&format!("add = {names:?}")),
                2 => {
                    step(&format!("in = \"beaker\"\nadd = [\"phase {phase}\"]"));
                    step("pour = \"beaker\"");
                }
                _ => {
                    step(&format!("add = [\"10 % of {first}\"]"));
                    step(&format!("add = [\"phase {phase}\"]"));
                }
            }
        }
        step("until = \"even\"");
        text
    }
}

fn percent_text(amount: i64) -> String {
    Decimal::new(amount, 4).normalize().to_string()
}

/// Computes the formula `f` of a notebook, which must have no error.
#[track_caller]
fn computed(text: &str) -> Computed {
    let collection = collection([("a.md", text)]);
    match collection.formula("f") {
        Some(computed) => computed.clone(),
        None => panic!("not computed: {:?}\n{text}", collection.findings()),
    }
}

/// Batches from a gram to ten tonnes, in milligrams.
fn any_batch() -> impl Strategy<Value = i64> {
    prop_oneof![1_000_i64..100_000, 100_000_i64..10_000_000, (1_i64..10_000).prop_map(|kg| kg * 1_000_000)]
}

/// Readabilities that balances have, in milligrams, and a few that they do not.
fn any_readability() -> impl Strategy<Value = i64> {
    prop::sample::select(vec![1_i64, 2, 5, 10, 20, 50, 100, 200, 500, 1_000, 2_000, 5_000, 7, 30])
}

fn grams_text(milligrams: i64) -> String {
    format!("{} g", Decimal::new(milligrams, 3).normalize())
}

fn head(batch: i64, readability: i64) -> String {
    format!("batch = \"{}\"\nbalance = \"{}\"", grams_text(batch), grams_text(readability))
}

/// Milligrams to the nearest multiple of a step, halves to the even multiple: worked out in whole numbers, beside the program.
fn rounded(milligrams: i64, step: i64) -> i64 {
    let (down, rest) = (milligrams.div_euclid(step), milligrams.rem_euclid(step));
    let up = match (rest * 2).cmp(&step) {
        std::cmp::Ordering::Less => 0,
        std::cmp::Ordering::Greater => 1,
        std::cmp::Ordering::Equal => down % 2,
    };
    (down + up) * step
}

proptest! {
    #![proptest_config(cases(150))]

    /// The printed sheet adds up to the batch to the last digit of the balance, whatever is weighed on whatever balance, and
    /// no line is further from its exact weight than one step, the balance line aside.
    #[test]
    fn the_printed_sheet_adds_up(lines in Lines::any(), batch in any_batch(), readability in any_readability()) {
        prop_assume!(batch >= readability);
        let computed = computed(&lines.block(&head(batch, readability), percent_text));
        let sheet = &computed.sheet;
        let step = Decimal::new(readability, 3);
        let sum: Decimal = sheet.printed.iter().map(|mass| mass.grams()).sum();
        prop_assert_eq!(sum, Decimal::new(rounded(batch, readability), 3));
        prop_assert_eq!(sum, sheet.batch_printed.grams());
        let exact_sum: Decimal = sheet.exact.iter().map(|mass| mass.grams()).sum();
        prop_assert_eq!(exact_sum, Decimal::new(batch, 3));
        for (index, (printed, exact)) in sheet.printed.iter().zip(&sheet.exact).enumerate() {
            prop_assert!(printed.grams() >= Decimal::ZERO, "line {} is {} g", index, printed.grams());
            prop_assert!((printed.grams() % step).is_zero(), "line {} is {} g", index, printed.grams());
            let off = (printed.grams() - exact.grams()).abs();
            prop_assert!(off < step || lines.balance == Some(index), "line {} is off by {} g", index, off);
        }
    }

    /// Another batch size scales the weights and nothing else; the query of a calc link gives the same as a batch in the block.
    #[test]
    fn scaling_scales_weights_and_nothing_else(lines in Lines::any(), batch in any_batch(), factor in 2_i64..100) {
        let small = computed(&lines.block(&head(batch, 1), percent_text));
        let large = computed(&lines.block(&head(batch * factor, 1), percent_text));
        let times = Decimal::new(factor, 0);
        let scaled: Vec<Decimal> = small.sheet.exact.iter().map(|mass| mass.grams() * times).collect();
        let weights: Vec<Decimal> = large.sheet.exact.iter().map(|mass| mass.grams()).collect();
        prop_assert_eq!(scaled, weights);
        prop_assert_eq!(&small.active, &large.active);
        prop_assert_eq!(&small.composition, &large.composition);
        let asked = grams_text(batch * factor).replace(' ', "");
        for (material, _, _) in &lines.lines {
            for part in ["weight", "percent"] {
                let path = [MATERIALS[*material], part];
                prop_assert_eq!(look_up(&small, &path, Some(&asked)), look_up(&large, &path, None));
            }
        }
    }

    /// A method that adds all lines in the order of the phases, some of them in parts, some phases by way of another vessel, finds
    /// nothing out of order, adds each line's weight of the sheet, and ends with the batch in the vessel.
    #[test]
    fn a_method_makes_the_batch(
        lines in Lines::any(),
        batch in any_batch(),
        readability in any_readability(),
        ways in proptest::collection::vec(0_usize..4, 3),
    ) {
        prop_assume!(batch >= readability);
        let (block, steps) = (lines.block(&head(batch, readability), percent_text), lines.steps(&ways));
        let text = format!("{block}\n```method\nid = \"m\"\nformula = \"f\"\ntare = \"250 g\"\n{steps}```\n");
        let collection = collection([("a.md", &*text)]);
        let found: Vec<Finding> = collection.findings();
        let names: Vec<&str> = found.iter().map(|finding| finding.kind.name).collect();
        // A tenth of a line of some steps of the balance is nothing to weigh, and that is said.
        if names.contains(&"wrong-value") {
            prop_assert!(ways.contains(&3));
            return Ok(());
        }
        prop_assert!(!names.contains(&"out-of-phase-order"), "{:?}\n{}", found, text);
        let Some(Answer::Method(method)) = collection.answer("m") else { panic!("{found:?}\n{text}") };
        let sheet = &collection.formula("f").unwrap().sheet;
        for (index, printed) in sheet.printed.iter().enumerate() {
            let added = method.steps.iter().flat_map(|step| &step.added).filter(|added| added.line == index);
            let sum: Decimal = added.map(|added| added.weight.grams()).sum();
            prop_assert_eq!(sum, printed.grams());
        }
        let last = method.steps.last().unwrap();
        prop_assert_eq!(last.holds, sheet.batch_printed);
        let (_, with_tare, _) = method.with_tare(last).unwrap();
        prop_assert_eq!(with_tare.grams(), sheet.batch_printed.grams() + Decimal::new(250, 0));
    }

    /// In which order the lines of a phase stand, and the phases, changes no total.
    #[test]
    fn the_order_of_lines_changes_no_total(lines in Lines::any(), seed in any::<u64>(), batch in any_batch()) {
        let mut keyed: Vec<_> = lines.lines.iter().enumerate().collect();
        keyed.sort_by_key(|(index, line)| {
            // A shuffle that keeps phases together and orders them anew.
            let mix = |n: u64| (n ^ seed).wrapping_mul(0x9e37_79b9_7f4a_7c15);
            (mix(u64::from(line.2)), mix(*index as u64))
        });
        let balance = lines.balance.and_then(|old| keyed.iter().position(|(index, _)| *index == old));
        let shuffled = Lines { lines: keyed.iter().map(|(_, line)| **line).collect(), balance };
        let one = computed(&lines.block(&head(batch, 10), percent_text));
        let other = computed(&shuffled.block(&head(batch, 10), percent_text));
        prop_assert_eq!(one.active.total, other.active.total);
        prop_assert_eq!(&one.active.classes, &other.active.classes);
        prop_assert_eq!(&one.composition.substances, &other.composition.substances);
        for path in [&["total", "weight"][..], &["total", "percent"], &["water"], &["active-matter"]] {
            let value = |computed: &Computed| look_up(computed, path, None).map(|figure| figure.value);
            prop_assert_eq!(value(&one), value(&other));
        }
        // With a balance line that is large enough to take the rounding of eleven others, each material weighs the same too.
        let takes_it = lines.balance.is_some_and(|index| one.sheet.exact[index].grams() >= Decimal::new(6, 2));
        for (material, _, _) in lines.lines.iter().filter(|_| takes_it) {
            let weight = |computed: &Computed| look_up(computed, &[MATERIALS[*material], "weight"], None).map(|f| f.value);
            prop_assert_eq!(weight(&one), weight(&other));
        }
    }

    /// The same formula in parts or in weights, however large they are taken, is the same formula.
    #[test]
    fn parts_and_weights_are_percentages_of_their_sum(lines in Lines::any(), batch in any_batch(), times in 1_i64..50) {
        let whole = Lines { balance: None, ..lines };
        let percent = computed(&whole.block(&head(batch, 10), percent_text));
        let parts = computed(&whole.block(&head(batch, 10), |amount| format!("\"{} parts\"", percent_text(amount * times))));
        let weights = computed(&whole.block(&head(batch, 10), |amount| format!("\"{} g\"", percent_text(amount * times))));
        for other in [&parts, &weights] {
            for (left, right) in percent.formula.lines().zip(other.formula.lines()) {
                prop_assert_eq!(percent.formula.percent(left), other.formula.percent(right));
            }
            prop_assert_eq!(&percent.sheet, &other.sheet);
            prop_assert_eq!(percent.active.total, other.active.total);
        }
    }

    /// A sum that is not 100 is refused, by however little it misses, and says by how much.
    #[test]
    fn a_sum_that_is_not_100_is_refused(lines in Lines::any(), off in prop_oneof![1_i64..100, 1_000_i64..500_000]) {
        let mut wrong = Lines { balance: None, ..lines };
        wrong.lines[0].1 += off;
        prop_assume!(wrong.lines[0].1 <= WHOLE);
        let collection_of = collection([("a.md", wrong.block("", percent_text).as_str())]);
        prop_assert!(collection_of.formula("f").is_none());
        let findings = collection_of.findings();
        let finding = findings.iter().find(|finding| finding.kind == kind::SUM_NOT_100).unwrap();
        let miss = percent_text(off);
        prop_assert!(finding.what.contains(&miss), "{} does not say {}", finding.what, miss);
    }
}

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
        let notebook = Notebook::read(&path, &shared, ReadOptions { trust_html });
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

/// A page from its body on, where nothing of the template's own head stands.
fn without_sheets(page: &str) -> String {
    page.split_once("<body>").map_or("", |(_, body)| body).to_owned()
}

/// A text that ends whatever it stands in, if it is not escaped.
const NASTY: [&str; 4] = [
    "</p><script>alert(1)</script>",
    "\\\" onmouseover=\\\"alert(1)",
    "' autofocus onfocus='alert(1)",
    "{{ site.title }} &lt;b&gt; --> ]]> \\n; color: red; x: \\\"",
];

/// The tags of a page with the names of their attributes: what a text must not change.
fn skeleton(html: &str) -> Vec<String> {
    let mut tags = Vec::new();
    let mut rest = html;
    while let Some((_, after)) = rest.split_once('<') {
        let (tag, text) = tag_of(after);
        rest = text;
        let name = tag.split_whitespace().next().unwrap_or_default();
        let names: Vec<String> = attributes(tag).into_iter().map(|(name, _)| name).collect();
        tags.push(format!("{name} {}", names.join(" ")));
    }
    tags
}

/// A collection with one text in every place where an author may write one. Without errors, so that it could be published.
fn with_everywhere(text: &str) -> Vec<(&'static str, String)> {
    let settings = format!("title = \"{text}\"\nlicence = \"{text}\"\ncontact = \"{text}\"\n");
    let materials = format!(
        "[source.s]\nhow = \"published\"\ntext = \"s {text}\"\n\
         [material.own]\nname = \"n {text}\"\nfunctions = [\"surfactant\", \"f {text}\"]\nform = \"liquid\"\n\
         strength = {{ typical = 30, of = \"o {text}\", source = \"s\" }}\n\
         density = {{ min = 1, max = 1.1, source = \"s\", note = \"d {text}\" }}\n\
         use = {{ min = 0.1, max = 0.2, source = \"s\", note = \"u {text}\" }}\n\
         solubility = {{ text = \"water-soluble {text}\", source = \"s\" }}\n\
         [[material.own.contains]]\ninci = \"i {text}\"\nsurfactant = \"anionic\"\n\
         percent = {{ typical = 30, source = \"s\" }}\n\
         [[material.own.contains]]\ninci = \"j {text}\"\npercent = {{ typical = 70, source = \"s\" }}\n\
         [[material.own.handling]]\nhazard = \"eye damage\"\ntext = \"h {text}\"\nsource = \"s\"\n"
    );
    let literal = text.replace("\\\"", "\"").replace("\\n", " ");
    let notebook = format!(
        "# Heading `{literal}`\n\nA `{literal}` sentence. [old {quoted}](calc:wash/own/percent)\n\n\
         ```formula\nid = \"wash\"\ntitle = \"t {text}\"\nversion = \"v {text}\"\nnote = \"n {text}\"\nproduct = \"shampoo\"\n\
         batch = \"10 g\"\nbalance = \"0.1 g\"\n\
         [phase.\"A {text}\"]\ntitle = \"pt {text}\"\nnote = \"pn {text}\"\n\
         water = \"q.s. to 100\"\nown = {{ percent = 3, note = \"ln {text}\", lot = \"ll {text}\", strength = \"31 %\" }}\n\
         glycerin = {{ percent = \"q.s.\", usual = 1, to = \"e {text}\" }}\n```\n\n\
         ```formula\nid = \"wash-b\"\nbased-on = \"wash\"\n[change.\"A {text}\"]\n\
         own = {{ percent = 2, note = \"cn {text}\" }}\n```\n",
        quoted = literal.replace(['<', '>', '[', ']', '&', '\\'], "")
    );
    let names = format!("# Another `{literal}`\n\n[](calc:wash/title) [](calc:wash/version)\n");
    vec![
        ("collection.toml", settings),
        ("materials/own.toml", materials),
        ("a.md", notebook),
        ("b.md", names),
        ("c/<i>&\"'.md", "# C\n".to_owned()),
    ]
}

#[track_caller]
fn everything_of(files: &[(&'static str, String)]) -> (Collection, Tree) {
    let collection = collection(files.iter().map(|(path, text)| (*path, text.as_str())));
    let tree = everything(&collection);
    (collection, tree)
}

/// What the errors of a collection say.
fn errors(collection: &Collection) -> Vec<String> {
    let errors = collection.findings().into_iter().filter(|finding| finding.severity() == Severity::Error);
    errors.map(|finding| finding.what).collect()
}

#[test]
fn no_text_of_an_author_reaches_the_tags_of_a_page() {
    let (plain, plain_pages) = everything_of(&with_everywhere("word"));
    assert_eq!(errors(&plain), Vec::<String>::new());
    for nasty in NASTY {
        let (collection, pages) = everything_of(&with_everywhere(nasty));
        assert_eq!(errors(&collection), Vec::<String>::new(), "{nasty}");
        let mut compared = 0;
        for (path, bytes) in pages.iter().filter(|(path, _)| path.ends_with(".html")) {
            let page = std::str::from_utf8(bytes).unwrap();
            let plain = std::str::from_utf8(&plain_pages[path]).unwrap();
            assert_eq!(skeleton(page), skeleton(plain), "{nasty} in {path}");
            compared += 1;
        }
        assert_eq!(compared, 8);
    }
}

/// The running foot of a printed page is a string of CSS, which a quotation mark, a backslash or a line break would end.
#[test]
fn no_text_of_an_author_ends_the_string_of_the_foot() {
    for text in ["1\\\"; color: red; x: \\\"", "1\\\\", "1\\n; color: red", "1\\f; color: red", "1\\r; color: red"] {
        let block = format!("```formula\nid = \"f\"\nversion = \"{text}\"\n[phase.A]\nglycerin = 100\n```\n");
        let collection = collection([("a.md", block.as_str())]);
        let page = String::from_utf8(collection.render("a.md").unwrap().remove(0).bytes).unwrap();
        let (_, style) = page.split_once("style=\"--foot:&quot;").unwrap();
        let (style, _) = style.split_once('"').unwrap();
        let inside = style.strip_suffix("&quot;").unwrap();
        assert!(!inside.contains("&quot;") && !inside.contains('\\'), "{inside:?}");
        assert!(!inside.contains(char::is_control), "{inside:?}");
    }
}

/// Mistakes are shown on the page while watching; they repeat what the author wrote.
#[test]
fn no_mistake_reaches_the_tags_of_a_page() {
    let of = |text: &str| {
        let literal = text.replace("\\\"", "\"").replace("\\n", " ");
        let inner = format!(
            "id = \"wash {text}\"\n\"k {text}\" = 1\nproduct = \"{text}\"\nbatch = \"{text}\"\nph = \"{text}\"\n\
             balance = \"1 {text}\"\nbased-on = \"{text}\"\n[phase.A]\nhold = \"{text}\"\n\"m {text}\" = 3\n\
             water = \"5 {text}\"\nglycerin = {{ percent = 1, strength = \"{text}\", \"x {text}\" = 1 }}\n\
             [change.\"{text}\"]\nwater = \"drop\"\n"
        );
        let address: String = literal.bytes().map(|byte| format!("%{byte:02X}")).collect();
        vec![
            ("collection.toml", format!("order = [\"{text}\"]\nrules = [\"{text}\"]\n\"{text}\" = 3\n")),
            ("a.md", format!("# A\n\n```formula\n{inner}```\n\n[](calc:{address}/{address}?{address}={address})\n")),
            (
                "b.md",
                format!(
                    "# B\n\n[a]({address}.png) [b](a.md#{address}) ![c]({address})\n\n```formula\n= {literal}\n```\n"
                ),
            ),
        ]
    };
    let (_, plain_pages) = everything_of(&of("word"));
    for nasty in NASTY {
        let (collection, pages) = everything_of(&of(nasty));
        assert!(collection.has_errors());
        for path in ["a.html", "b.html", "index.html"] {
            let page = std::str::from_utf8(&pages[path]).unwrap();
            assert_eq!(danger(&without_sheets(page)), None, "{nasty} in {path}");
            let names = |html: &str| skeleton(html).into_iter().collect::<std::collections::BTreeSet<_>>();
            let plain = std::str::from_utf8(&plain_pages[path]).unwrap();
            assert_eq!(names(page), names(plain), "{nasty} in {path}");
        }
    }
}

/// A small collection as an author may have it at some moment: which notebooks there are and what stands in them.
#[derive(Clone, Debug)]
struct State {
    notebooks: BTreeMap<usize, Page>,
    settings: usize,
    materials: usize,
    templates: usize,
    files: usize,
    index: usize,
}

#[derive(Clone, Debug, Default)]
struct Page {
    amount: i64,
    id: usize,
    parent: usize,
    heading: usize,
    link: usize,
    calc: usize,
    block: usize,
    broken: bool,
    lines_above: usize,
    in_folder: bool,
}

#[derive(Clone, Debug)]
enum Edit {
    Amount(usize, i64),
    Id(usize, usize),
    Parent(usize, usize),
    Heading(usize, usize),
    Link(usize, usize),
    Calc(usize, usize),
    Block(usize, usize),
    Break(usize),
    Shift(usize, usize),
    Move(usize),
    Remove(usize),
    Settings(usize),
    Materials(usize),
    Templates(usize),
    Files(usize),
    Index(usize),
}

const NAMES: [&str; 5] = ["ash", "birch", "cedar", "dogwood", "elder"];
const HEADINGS: [&str; 4] = ["Weighing", "Weighing it", "Stirring", "Weighing and stirring"];
const LINKS: [&str; 9] = [
    "nothing",
    "[a](birch.md)",
    "[a](birch.md#weighing)",
    "[a](birch.md#weigh)",
    "[a](../cedar.md#sheet-elm)",
    "[a](birches.md)",
    "![a](jar.svg)",
    "![a](jars.svg)",
    "[a](../outside.md)",
];
const CALCS: [&str; 8] = [
    "nothing",
    "[](calc:oak/glycerin/weight)",
    "[3 %](calc:elm/glycerin/percent)",
    "[](calc:elm/glycerin/percent?batch=2kg)",
    "[](calc:fir/batch)",
    "[](calc:oaks/batch)",
    "[](calc:oak/extract/weight)",
    "[](calc:oak/glycerine/weight)",
];
/// Blocks that rest on formulas and on each other, in a circle too.
const BLOCKS: [&str; 8] = [
    "",
    "```expect\n\"oak/glycerin/percent\" = \"3 %\"\n```\n",
    "```workings\nid = \"sum\"\na = \"calc:oak/glycerin/weight × 2\"\n```\n",
    "```workings\nid = \"half\"\nb = \"calc:sum/a ÷ 2\"\n```\n",
    "```workings\nid = \"sum\"\na = \"calc:half/b + 1 g\"\n```\n",
    "```expect\n\"half/b\" = \"15 g\"\n\"sum/aa\" = 3\n```\n",
    "```expect\n\"elm/glycerin/weight?batch=2kg\" = \"60.0 g\"\n```\n",
    "```workings\nk = \"calc:fir/batch to kg\"\n```\n\n[](calc:sum/a?unit=lb)\n",
];
const IDS: [&str; 4] = ["oak", "elm", "fir", "yew"];
const SETTINGS: [Option<&str>; 5] = [
    None,
    Some("title = \"Wood\"\n"),
    Some("title = \"Wood\"\nbalance = \"1 g\"\norder = [\"cedar.md\", \"ash.md\"]\n"),
    Some("trust-html = true\nrules = [\"us\"]\n"),
    Some("title = \n"),
];
const OWN: [Option<&str>; 4] = [
    None,
    Some(
        "[source.s]\nhow = \"memory\"\ntext = \"s\"\n[material.extract]\nname = \"Extract\"\nfunctions = [\"extract\"]\n\
         form = \"liquid\"\n[[material.extract.contains]]\ninci = \"Aqua\"\npercent = { typical = 60, source = \"s\" }\n",
    ),
    Some(
        "[source.s]\nhow = \"memory\"\ntext = \"s\"\n[material.extract]\nname = \"Strong extract\"\nfunctions = [\"extract\"]\n\
         form = \"liquid\"\n[material.glycerin]\nname = \"Our glycerin\"\n",
    ),
    Some("[material\n"),
];
const TEMPLATES: [&[(&str, &str)]; 5] = [
    &[],
    &[("number.html", "<b>{{ n.text }}</b>")],
    &[("page.html", "<main>{{ body | safe }}</main>{% include \"part.html\" %}"), ("part.html", "part")],
    &[("style.css", "p { color: red }")],
    &[("number.html", "{{ n.text")],
];
const FILES: [&[&str]; 3] = [&[], &["jar.svg"], &["jar.svg", "jars.svg", "wood/jar.svg"]];
const INDEXES: [Option<&str>; 4] = [
    None,
    Some("# All our wood\n\n[](calc:oak/batch)\n"),
    Some("No heading, [a](ash.md)\n"),
    Some("# Broken\n\n[](calc:nothing)\n"),
];

impl State {
    fn beginning() -> State {
        let page = |index: usize| Page { amount: 300, id: index % IDS.len(), parent: 4, ..Page::default() };
        State {
            notebooks: (0..3).map(|index| (index, page(index))).collect(),
            settings: 1,
            materials: 1,
            templates: 0,
            files: 1,
            index: 0,
        }
    }

    fn edit(&mut self, edit: &Edit) {
        let notebooks = &mut self.notebooks;
        match *edit {
            Edit::Amount(index, amount) => notebooks.entry(index).or_default().amount = amount,
            Edit::Id(index, id) => notebooks.entry(index).or_default().id = id,
            Edit::Parent(index, parent) => notebooks.entry(index).or_default().parent = parent,
            Edit::Heading(index, heading) => notebooks.entry(index).or_default().heading = heading,
            Edit::Link(index, link) => notebooks.entry(index).or_default().link = link,
            Edit::Calc(index, calc) => notebooks.entry(index).or_default().calc = calc,
            Edit::Block(index, block) => notebooks.entry(index).or_default().block = block,
            Edit::Break(index) => notebooks.entry(index).or_default().broken ^= true,
            Edit::Shift(index, lines) => notebooks.entry(index).or_default().lines_above = lines,
            Edit::Move(index) => notebooks.entry(index).or_default().in_folder ^= true,
            Edit::Remove(index) => drop(notebooks.remove(&index)),
            Edit::Settings(settings) => self.settings = settings,
            Edit::Materials(materials) => self.materials = materials,
            Edit::Templates(templates) => self.templates = templates,
            Edit::Files(files) => self.files = files,
            Edit::Index(index) => self.index = index,
        }
    }

    /// Every file with its text, in the order of the notebooks.
    fn files(&self) -> Vec<(String, String)> {
        let mut files: Vec<(String, String)> =
            self.notebooks.iter().map(|(index, page)| (page.path(NAMES[*index]), page.text())).collect();
        let single = [
            ("collection.toml", SETTINGS[self.settings]),
            ("materials/own.toml", OWN[self.materials]),
            ("index.md", INDEXES[self.index]),
        ];
        files.extend(single.iter().filter_map(|(path, text)| Some(((*path).to_owned(), (*text)?.to_owned()))));
        let templates = TEMPLATES[self.templates].iter();
        files.extend(templates.map(|(name, text)| (format!("templates/{name}"), (*text).to_owned())));
        files.extend(FILES[self.files].iter().map(|path| ((*path).to_owned(), String::new())));
        files
    }

    fn sources(&self) -> Sources {
        let files = self.files();
        sources(files.iter().map(|(path, text)| (path.as_str(), text.as_str())))
    }

    fn fresh(&self) -> Collection {
        let mut collection = Collection::new();
        collection.update(self.sources());
        collection
    }
}

impl Page {
    fn path(&self, name: &str) -> String {
        if self.in_folder { format!("wood/{name}.md") } else { format!("{name}.md") }
    }

    fn text(&self) -> String {
        let heading = HEADINGS[self.heading];
        let above = "Words.\n\n".repeat(self.lines_above);
        let end = if self.broken { "]" } else { "" };
        let id = IDS[self.id];
        let amount = percent_text(self.amount * 100);
        let block = match IDS.get(self.parent) {
            Some(parent) => {
                format!(
                    "id = \"{id}\"\nbased-on = \"{parent}\"\n[change.A]\nglycerin = {amount}{end}\nxanthan-gum = 1\n"
                )
            }
            None => format!(
                "id = \"{id}\"\nproduct = \"shampoo\"\nbatch = \"500 g\"\n[phase.A]\nwater = \"q.s. to 100\"\n\
                 glycerin = {amount}{end}\nextract = 2\n"
            ),
        };
        let (link, calc, more) = (LINKS[self.link], CALCS[self.calc], BLOCKS[self.block]);
        format!(
            "# {heading}\n\n{above}{link} and {calc}.\n\n```formula\n{block}```\n\n{more}\n<b>raw</b><script></script>\n"
        )
    }
}

fn any_edit() -> impl Strategy<Value = Edit> {
    let page = 0..NAMES.len();
    prop_oneof![
        3 => (page.clone(), prop_oneof![1_i64..1_000, Just(9_900_i64)]).prop_map(|(page, amount)| Edit::Amount(page, amount)),
        2 => (page.clone(), 0..IDS.len()).prop_map(|(page, id)| Edit::Id(page, id)),
        2 => (page.clone(), 0..=IDS.len()).prop_map(|(page, parent)| Edit::Parent(page, parent)),
        2 => (page.clone(), 0..HEADINGS.len()).prop_map(|(page, heading)| Edit::Heading(page, heading)),
        2 => (page.clone(), 0..LINKS.len()).prop_map(|(page, link)| Edit::Link(page, link)),
        3 => (page.clone(), 0..CALCS.len()).prop_map(|(page, calc)| Edit::Calc(page, calc)),
        3 => (page.clone(), 0..BLOCKS.len()).prop_map(|(page, block)| Edit::Block(page, block)),
        1 => page.clone().prop_map(Edit::Break),
        2 => (page.clone(), 0_usize..3).prop_map(|(page, lines)| Edit::Shift(page, lines)),
        1 => page.clone().prop_map(Edit::Move),
        2 => page.prop_map(Edit::Remove),
        1 => (0..SETTINGS.len()).prop_map(Edit::Settings),
        1 => (0..OWN.len()).prop_map(Edit::Materials),
        1 => (0..TEMPLATES.len()).prop_map(Edit::Templates),
        1 => (0..FILES.len()).prop_map(Edit::Files),
        1 => (0..INDEXES.len()).prop_map(Edit::Index),
    ]
}

/// The files that a notebook's page key stands for.
fn rendered(collection: &Collection, path: &str) -> Vec<Vec<u8>> {
    match collection.render(path) {
        Ok(files) => files.into_iter().map(|file| file.bytes).collect(),
        Err(finding) => vec![finding.what.into_bytes()],
    }
}

proptest! {
    #![proptest_config(cases(32))]

    /// A collection that went through edits gives what a fresh build of the last state gives, every file and every finding;
    /// and a page whose key did not change did not change either.
    #[test]
    fn an_update_equals_a_fresh_build(edits in proptest::collection::vec(any_edit(), 1..16)) {
        let mut state = State::beginning();
        let mut kept = Collection::new();
        kept.update(state.sources());
        let mut pages: BTreeMap<Arc<str>, (u64, Vec<Vec<u8>>)> = BTreeMap::new();
        let mut index: Option<(u64, Tree)> = None;
        for (step, edit) in edits.iter().enumerate() {
            state.edit(edit);
            kept.update(state.sources());
            let now = everything(&kept);
            let difference = difference(&now, &everything(&state.fresh()));
            prop_assert!(difference.is_none(), "after edit {} of {:?}: {}", step + 1, edits, difference.unwrap_or_default());
            for path in kept.page_sources().iter().filter(|path| &***path != "index.md") {
                let new = (kept.page_key(path), rendered(&kept, path));
                if let Some(old) = pages.get(path).filter(|old| old.0 == new.0) {
                    prop_assert!(old.1 == new.1, "{} changed, its key did not, at edit {} of {:?}", path, step + 1, edits);
                }
                pages.insert(Arc::clone(path), new);
            }
            let is_of_index = |path: &&String| path.starts_with("index");
            let new: Tree = now.keys().filter(is_of_index).map(|path| (path.clone(), now[path].clone())).collect();
            if let Some(old) = index.filter(|old| old.0 == kept.index_key()) {
                prop_assert!(old.1 == new, "the index changed, its key did not, at edit {} of {:?}", step + 1, edits);
            }
            index = Some((kept.index_key(), new));
        }
    }

    /// In which order notebooks come in, one by one or all at once, and on how many threads, does not change a byte.
    #[test]
    fn order_and_threads_do_not_change_a_byte(edits in proptest::collection::vec(any_edit(), 0..16), seed in any::<u64>()) {
        let mut state = State::beginning();
        edits.iter().for_each(|edit| state.edit(edit));
        let on_threads = |number: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(number).build().unwrap();
            pool.install(|| everything(&state.fresh()))
        };
        let one = on_threads(1);
        prop_assert_eq!(difference(&one, &on_threads(4)), None);
        prop_assert_eq!(difference(&one, &on_threads(1)), None);
        let mut files = state.files();
        files.sort_by_key(|(path, _)| path.bytes().fold(seed, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)));
        let mut growing = Collection::new();
        for count in 1..=files.len() {
            growing.update(sources(files[..count].iter().map(|(path, text)| (path.as_str(), text.as_str()))));
        }
        prop_assert_eq!(difference(&one, &everything(&growing)), None);
    }
}

/// Texts that look like expressions, and what they are made of.
fn any_expression_text() -> impl Strategy<Value = String> {
    let piece = prop::sample::select(vec![
        "1",
        "2.50",
        "1,5",
        "1,234",
        "10..12",
        "-",
        "−",
        "+",
        "×",
        "*",
        "/",
        "÷",
        "(",
        ")",
        "of",
        "to",
        "round",
        "up",
        "min",
        "max",
        ";",
        " ",
        "g",
        "kg",
        "ml",
        "€/kg",
        "€3.80",
        "%",
        "% v/v",
        "°C",
        "°F",
        "K",
        "oz",
        "us fluid ounce",
        "price",
        "net-price",
        "calc:a/b",
        "calc:",
        "x",
        "^",
        "..",
        "–",
        "\u{a0}",
        "ü",
        "per",
        "\u{202f}",
        "99999999999999",
    ]);
    proptest::collection::vec(piece, 0..24).prop_map(|pieces| pieces.concat())
}

/// A quantity of small numbers in a unit of one kind, as text.
fn any_mass_text() -> impl Strategy<Value = String> {
    let unit = prop::sample::select(vec!["µg", "mg", "g", "kg", "lb", "avoirdupois ounce"]);
    (1_i64..1_000_000, 0_u32..5, unit)
        .prop_map(|(number, scale, unit)| format!("{} {unit}", Decimal::new(number, scale)))
}

/// An expression that has a value: sums of weights, times and over numbers.
fn any_sound_expression() -> impl Strategy<Value = String> {
    let leaf = any_mass_text();
    leaf.prop_recursive(4, 24, 2, |inner| {
        let number = (1_i64..10_000, 0_u32..3).prop_map(|(number, scale)| Decimal::new(number, scale).to_string());
        prop_oneof![
            (inner.clone(), inner.clone()).prop_map(|(a, b)| format!("({a} + {b})")),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| format!("{a} - ({b})")),
            (number.clone(), inner.clone()).prop_map(|(n, a)| format!("{n} × ({a})")),
            (inner.clone(), number).prop_map(|(a, n)| format!("({a}) ÷ {n}")),
            inner.clone().prop_map(|a| format!("25 % of ({a})")),
            inner.clone().prop_map(|a| format!("-({a})")),
            inner.prop_map(|a| format!("({a} to kg)")),
        ]
    })
}

/// What a line of workings comes to, as text for the page, with its exact ends in grams.
fn worked(expression: &str) -> Option<(String, [Exact; 3])> {
    let text = format!("```workings\nid = \"w\"\na = \"{expression}\"\n```\n");
    let collection = collection([("a.md", text.as_str())]);
    let Some(Answer::Workings(workings)) = collection.answer("w") else { return None };
    let line = workings.lines.first()?;
    let pieces = workings.expression_pieces(line);
    let shown = working_text(&Working { pieces, source: None });
    Some((shown, line.value.ends_in(&read_literal("1 g").ok()?)?))
}

proptest! {
    #![proptest_config(cases(256))]

    /// No text takes the parser down, and every fault lies inside the text, on its characters.
    #[test]
    fn any_expression_is_read_or_refused_in_place(text in prop_oneof![any_expression_text(), ".{0,80}"]) {
        match Expression::read(&text) {
            Ok(expression) => prop_assert!(text.get(expression.span).is_some()),
            Err(fault) => prop_assert!(text.get(fault.span.clone()).is_some(), "{:?} in {text:?}", fault),
        }
    }

    /// The same inside a notebook: every finding stands inside the file, whatever the quotation marks.
    #[test]
    fn findings_of_workings_lie_in_the_notebook(one in any_expression_text(), two in any_expression_text()) {
        let text = format!("> ```workings\n> price = '{one}'\n> net-price = \"\"\"\n> {two}\"\"\"\n> ```\n");
        let collection = collection([("a.md", text.as_str())]);
        for finding in collection.findings() {
            let span = finding.place.span.clone();
            prop_assert!(span.start <= span.end && text.get(span).is_some(), "{}", finding.what);
        }
    }

    /// What is printed of an expression can be typed, and comes to the same.
    #[test]
    fn a_printed_expression_comes_to_the_same(text in any_sound_expression()) {
        prop_assume!(text.len() < 300);
        let (shown, ends) = worked(&text).ok_or_else(|| TestCaseError::fail(text.clone()))?;
        let (again, same) = worked(&shown).ok_or_else(|| TestCaseError::fail(shown.clone()))?;
        prop_assert_eq!(&ends, &same, "{} and {}", text, shown);
        prop_assert_eq!(again, shown);
    }

    /// A unit turned into another and back is the same to the last digit, by way of any unit.
    #[test]
    fn units_come_back(text in any_mass_text(), way in prop::sample::select(vec!["lb", "avoirdupois ounce", "mg", "kg"])) {
        let value = read_literal(&text).unwrap_or_else(|_| UnitValue::number(Decimal::ZERO));
        let there = value.to(&Units::of(way)).and_then(|there| there.to(value.units()));
        prop_assert_eq!(there.map(|back| back.ends()), Ok(value.ends()));
    }

    /// Temperatures too, and so do volumes.
    #[test]
    fn readings_and_volumes_come_back(number in -100_000_i64..100_000, scale in 0_u32..4) {
        for (unit, way) in [("°C", "°F"), ("°F", "°C"), ("°C", "K"), ("ml", "us gallon"), ("us teaspoon", "l")] {
            let value = UnitValue::exactly(Decimal::new(number, scale), Units::of(unit));
            let there = value.to(&Units::of(way)).and_then(|there| there.to(value.units()));
            prop_assert_eq!(there.map(|back| back.ends()), Ok(value.ends()));
        }
    }

    /// The range of a result holds the results of the ends and of the middle, for every sign.
    #[test]
    fn a_range_holds_what_its_ends_give(
        one in (-1_000_i64..1_000, 0_i64..1_000), two in (-1_000_i64..1_000, 0_i64..1_000), sign in 0_usize..4,
    ) {
        let range = |(low, width): (i64, i64)| {
            let (low, high) = (Decimal::new(low, 1), Decimal::new(low + width, 1));
            UnitValue::between(low, (low + high) / Decimal::TWO, high, Units::none())
        };
        let act = |a: &UnitValue, b: &UnitValue| match sign {
            0 => a.plus(b),
            1 => a.minus(b),
            2 => a.times(b),
            _ => a.over(b),
        };
        let points = |(low, width): (i64, i64)| {
            [Decimal::new(low, 1), Decimal::new(low, 1) + Decimal::new(width, 1) / Decimal::TWO, Decimal::new(low + width, 1)].map(UnitValue::number)
        };
        if let Ok(whole) = act(&range(one), &range(two)) {
            let [low, typical, high] = whole.ends();
            prop_assert!(low <= typical && typical <= high);
            for a in points(one) {
                for b in points(two) {
                    let [point, ..] = act(&a, &b).map_err(|fault| TestCaseError::fail(format!("{fault:?}")))?.ends();
                    prop_assert!(low <= point && point <= high);
                }
            }
        }
    }
}
