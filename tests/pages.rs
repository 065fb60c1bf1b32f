//! What readers get to see, as snapshots: pages, data files, the terminal. And the collections that come with the program.
//!
//! Each snapshot shows what went in above what came out. To take in a change, run the tests with INSTA_UPDATE=always and read
//! every difference.

#![expect(clippy::disallowed_methods, reason = "snapshots and notebooks are files")]
#![expect(clippy::indexing_slicing, clippy::unwrap_used, reason = "what goes wrong here fails the test")]

use crate::support::{Bench, collection, everything};
use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use tarebook::block::Body;
use tarebook::collection::Collection;
use tarebook::edge::Folder;
use tarebook::report::{Finding, Severity, by_name};

/// Every snapshot that a test makes. One that is not on the list fails a test, and so does a file that is nobody's.
const SNAPSHOTS: &[&str] =
    &["page", "data", "index", "page-with-errors", "proofread", "proofread-json", "weigh", "weigh-csv", "exercise"];

const SETTINGS: &str =
    "title   = \"Tidewater evening class\"\nlicence = \"CC BY 4.0\"\ncontact = \"class@tidewater.example\"\n";

/// Raw materials of its own, so that the snapshots do not change with the built-in catalogue.
const MATERIALS: &str = r#"[source.sheet]
how  = "published"
text = "sheet of the lot in the cupboard"

[source.class]
how  = "common practice"
text = "habit of the class"

[material.spring-water]
name      = "Spring water"
functions = ["solvent"]
form      = "liquid"
contains  = [{ inci = "Aqua", percent = { typical = 100, source = "class" } }]

[material.oat-surfactant]
name      = "Oat surfactant solution"
functions = ["surfactant"]
form      = "liquid"
strength  = { min = 29, max = 31, typical = 30, of = "active matter", source = "sheet" }
use       = { min = 5, max = 20, source = "class" }

[[material.oat-surfactant.contains]]
inci       = "Sodium Oatmoyl Sarcosinate"
surfactant = "anionic"
percent    = { typical = 30, min = 29, max = 31, source = "sheet" }

[[material.oat-surfactant.contains]]
inci    = "Aqua"
percent = { typical = 70, source = "sheet" }

[[material.oat-surfactant.handling]]
hazard = "eye damage"
text   = "harms the eyes neat"
source = "sheet"

[material.oat-preservative]
name      = "Oat preservative"
functions = ["preservative"]
form      = "liquid"
use       = { min = 0.5, max = 1, source = "sheet" }
ph-works  = { min = 4, max = 6, source = "sheet" }
covers    = { bacteria = "good", yeast = "good", mould = "good", source = "sheet" }
contains  = [{ inci = "Avena Preservans", percent = { typical = 100, source = "sheet" } }]

[material.bench-acid]
name      = "Bench acid"
functions = ["acid"]
form      = "liquid"
contains  = [{ inci = "Avena Acid", percent = { typical = 50, source = "class" } }, { inci = "Aqua", percent = { typical = 50, source = "class" } }]
"#;

const WASH: &str = r#"# Oat wash

A wash for *one evening*, with [11 %](calc:oat-wash/active-matter) active matter.
For two kilograms weigh [](calc:oat-wash/oat-preservative/weight?batch=2kg&unit=oz) of the preservative.

```formula
id      = "oat-wash"
title   = "Oat & barley wash"
product = "body wash"
version = 2
batch   = { fill = "250 g", units = 4, overfill = "2 %" }
ph      = "4.8..5.2"
balance = "0.1 g"
note    = "A class example, not a tested product."

[phase.A]
title = "Water phase"
hold  = "40 °C"
spring-water = "q.s. to 100"

[phase.B]
title = "Surfactant phase"
note  = "without beating in air"
oat-surfactant   = { percent = 40.5, strength = "30.4 %", lot = "24-117" }
oat-preservative = 0.8
bench-acid       = { percent = "q.s.", usual = 0.4, to = "pH 5.0", note = "drop by drop" }
```

| step | what |
| ---: | --- |
| 1 | weigh |
"#;

const VARIANT: &str = r#"# Milder

```formula
id       = "oat-wash-mild"
title    = "Milder oat wash"
based-on = "oat-wash"
batch    = "100 g"
[change.B]
oat-surfactant   = 35
oat-preservative = 0.75
```
"#;

const INDEX: &str = "# What we make\n\nEverything in [our first evening](wash.md#oat-wash) and after.\n";

const MISTAKEN: &str = r#"# Mistaken <wash>

It has [](calc:mistaken/batch) and a [link](nowhere.md).

```formula
id      = "mistaken"
product = "body wsh"
[phase.A]
spring-water   = 96.5
oat-surfactan  = 3
bench-acid     = "1,234 g"
```
"#;

fn good() -> Vec<(&'static str, &'static str)> {
    vec![
        ("collection.toml", SETTINGS),
        ("materials/own.toml", MATERIALS),
        ("index.md", INDEX),
        ("wash.md", WASH),
        ("more/milder.md", VARIANT),
    ]
}

fn mistaken() -> Vec<(&'static str, &'static str)> {
    vec![("collection.toml", SETTINGS), ("materials/own.toml", MATERIALS), ("mistaken.md", MISTAKEN)]
}

fn on_disk(files: &[(&str, &str)]) -> Bench {
    files.iter().fold(Bench::new(), |bench, (path, text)| bench.with(&format!("class/{path}"), text))
}

/// Compares with the snapshot of a name: what went in, a line, what came out.
#[track_caller]
fn check(name: &str, input: &str, output: &str) {
    assert!(SNAPSHOTS.contains(&name), "{name} is not on the list");
    let mut settings = insta::Settings::clone_current();
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.set_snapshot_path(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/snapshots"));
    settings.bind(|| insta::assert_snapshot!(name, format!("{input}\n──── gives ────\n\n{output}")));
}

fn text_of(files: &[(&str, &str)], output: &str) -> String {
    String::from_utf8(everything(&collection(files.iter().copied()))[output].clone()).unwrap()
}

#[test]
fn a_page() {
    check("page", WASH, &text_of(&good(), "wash.html"));
}

#[test]
fn the_data_beside_a_page() {
    let data: serde_json::Value = serde_json::from_str(&text_of(&good(), "more/milder.json")).unwrap();
    check("data", VARIANT, &serde_json::to_string_pretty(&data).unwrap());
}

#[test]
fn the_index() {
    check("index", INDEX, &text_of(&good(), "index.html"));
}

#[test]
fn a_raw_material_has_a_page_with_where_it_is_used() {
    let tree = everything(&collection(good().iter().copied()));
    let text = |path: &str| String::from_utf8(tree[path].clone()).unwrap();
    let page = text("materials/oat-surfactant.html");
    for expected in [
        "<h1>Oat surfactant solution</h1>",
        "The collection’s own material, from materials/own.toml.",
        "Sodium Oatmoyl Sarcosinate <small>anionic active matter</small>",
        "<a href=\"../wash.html#sheet-oat-wash\">Oat &amp; barley wash</a>",
        "40.5\u{a0}%",
        "<a href=\"../more/milder.html#sheet-oat-wash-mild\">Milder oat wash</a>",
    ] {
        assert!(page.contains(expected), "{expected} in {page}");
    }
    let data: serde_json::Value = serde_json::from_str(&text("materials/oat-surfactant.json")).unwrap();
    assert_eq!(data["uses"][1]["value"], "35");
    assert!(text("materials/index.html").contains("<a href=\"bench-acid.html\">Bench acid</a>"));
    // The sheets lead there.
    assert!(
        text("more/milder.html").contains("<a href=\"../materials/oat-surfactant.html\">Oat surfactant solution</a>")
    );
    // What no formula holds has no page.
    assert!(!tree.contains_key("materials/glycerin.html"));
}

#[test]
fn the_page_of_a_raw_material_and_explain_say_the_same() {
    let balm = "```formula\nid = \"lye\"\nproduct = \"bar soap\"\n[phase.A]\nsodium-hydroxide = 30\nwater = 70\n```\n";
    let page =
        String::from_utf8(everything(&collection([("lye.md", balm)]))["materials/sodium-hydroxide.html"].clone())
            .unwrap();
    let rows = page.split("What is known of it").nth(1).unwrap().split("</table>").next().unwrap();
    let rows: Vec<&str> = rows.split("<tr><th scope=\"row\">").skip(1).collect();
    assert!(rows.iter().any(|row| row.starts_with("H314</th><td>Causes severe skin burns and eye damage")), "{page}");
    let bench = Bench::new();
    // A page keeps units with their numbers by spaces that do not break.
    let spaced = |text: &str| text.replace('\u{a0}', " ");
    let explained = spaced(&bench.run(["explain", "sodium-hydroxide"]).ends_with(0).out());
    for (label, rest) in rows.iter().filter_map(|row| row.split_once("</th><td>")) {
        let text = spaced(rest.split("</td>").next().unwrap());
        assert!(explained.contains(&format!("  {label}: {text} (")), "{label}: {text} in {explained}");
    }
}

#[test]
fn a_page_with_errors_as_watching_shows_it() {
    check("page-with-errors", MISTAKEN, &text_of(&mistaken(), "mistaken.html"));
}

#[test]
fn the_report_in_the_terminal() {
    let bench = on_disk(&[&good()[..], &[("mistaken.md", MISTAKEN)]].concat());
    check("proofread", MISTAKEN, &bench.run(["proofread", "class"]).ends_with(1).complains_of_nothing().out());
}

#[test]
fn the_report_as_json() {
    let bench = on_disk(&mistaken());
    let out = bench.run(["proofread", "class", "--format", "json"]).ends_with(1).complains_of_nothing().out();
    check("proofread-json", MISTAKEN, &out);
}

#[test]
fn the_weighing_sheet() {
    let out =
        on_disk(&good()).run(["weigh", "oat-wash-mild", "--in", "class"]).ends_with(0).complains_of_nothing().out();
    check("weigh", VARIANT, &out);
}

#[test]
fn the_weighing_sheet_as_comma_separated_values() {
    let out = on_disk(&good()).run(["weigh", "oat-wash", "--in", "class", "--format", "csv", "--batch", "1kg"]);
    check("weigh-csv", WASH, &out.ends_with(0).complains_of_nothing().out().replace('\r', ""));
}

#[test]
fn every_snapshot_belongs_to_a_test() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/snapshots");
    let files: BTreeSet<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| !name.ends_with(".new"))
        .collect();
    assert_eq!(files, SNAPSHOTS.iter().map(|name| format!("{name}.snap")).collect());
}

fn folder(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// A collection as it lies in a folder, everything of it rendered.
#[track_caller]
fn built(path: &Path) -> Collection {
    let mut collection = Collection::new();
    collection.update(Folder::open(path, None).unwrap().read());
    assert!(!collection.page_sources().is_empty());
    for path in collection.page_sources() {
        let files = collection.render(&path).unwrap();
        assert!(files.iter().all(|file| !file.bytes.is_empty()), "{path}");
    }
    collection
}

/// Findings in a line each, handling left out.
fn lines_of<'a>(findings: impl IntoIterator<Item = &'a Finding>) -> String {
    findings.into_iter().filter(|finding| finding.kind.name != "handle-with-care").fold(
        String::new(),
        |mut lines, finding| {
            let _ = writeln!(
                lines,
                "{}: {} {}: {}",
                finding.place.path,
                finding.severity().word(),
                finding.kind.name,
                finding.what
            );
            lines
        },
    )
}

#[test]
fn the_demo_collection_has_no_errors_and_no_cautions_but_those_of_handling() {
    let collection = built(&folder("notebooks"));
    assert!(collection.page_sources().len() >= 7, "six notebooks and an index at the least");
    let findings = collection.findings();
    // The log keeps what went wrong on two evenings; that is found, and nothing else.
    let of_log = |finding: &&Finding| finding.place.path.starts_with("log/");
    let grave = findings.iter().filter(|finding| finding.severity() <= Severity::Caution);
    let (logged, grave): (Vec<&Finding>, Vec<&Finding>) = grave.partition(of_log);
    assert_eq!(lines_of(grave), "");
    let names = logged.iter().map(|finding| finding.kind.name).filter(|name| *name != "handle-with-care");
    let names: Vec<&str> = names.collect();
    // And what a warm box did to the wash.
    let on_the_shelf = ["drifts-out-of-specification", "outside-specification", "outside-specification"];
    assert_eq!(
        names,
        [["weighed-outside-tolerance", "expired-lot", "ph-outside-specification"], on_the_shelf].concat()
    );
    for id in collection.formula_ids() {
        assert!(collection.formula(id).is_some(), "{id}");
    }
    // What handling asks for is said somewhere, or the line above would prove nothing.
    assert!(findings.iter().any(|finding| finding.kind.name == "handle-with-care"));
    assert!(by_name("handle-with-care").is_some_and(|kind| kind.severity == Severity::Caution));
}

/// Every mistake of the exercise is found, and nothing else.
#[test]
fn the_exercise_is_full_of_mistakes() {
    let collection = built(&folder("notebooks/exercise"));
    let findings = collection.findings();
    let notebooks = collection.page_sources().join(", ");
    check("exercise", &notebooks, &lines_of(&findings));
}

/// The published checks are a collection of their own. None of its numbers differs from what was printed, and nothing else is wrong.
#[test]
fn the_published_checks_agree() {
    // A juice that was thickened, and milk that was skimmed, hold another thing most than before.
    nothing_but_handling("notebooks/checks", &["declared-otherwise-as-weighed"]);
}

/// How many expectations the notebooks of the published checks hold whose paths are wanted.
fn expectations(is_wanted: impl Fn(&str) -> bool) -> usize {
    let collection = built(&folder("notebooks/checks"));
    let wanted = collection.notebooks().filter(|notebook| is_wanted(&notebook.path));
    let counts = wanted.flat_map(|notebook| &notebook.blocks).map(|block| match &block.body {
        Some(Body::Expect(expect)) => expect.lines.len(),
        _ => 0,
    });
    counts.sum()
}

/// What others have printed is held by so many expectations. The number only ever grows.
#[test]
fn the_published_checks_stay_many() {
    let n_expected = expectations(|_| true);
    assert!(n_expected >= 530, "only {n_expected} expectations are left");
}

/// What lab notes rest on: packs, costs, days, yields and drifts. Each has its number of expectations, which only ever grows.
#[test]
fn the_checks_of_lab_notes_stay_many() {
    let least = [
        ("packs.md", 52),
        ("fillings.md", 5),
        ("costings.md", 9),
        ("calendar.md", 47),
        ("records.md", 27),
        ("drifts.md", 33),
    ];
    for (path, least) in least {
        let n_expected = expectations(|known| known == path);
        assert!(n_expected >= least, "only {n_expected} expectations are left in {path}");
    }
}

/// The manual's examples are as they should be, but for those that are made to show a finding.
#[test]
fn the_manual_is_without_mistakes() {
    let shown = [
        "lye-weighed-otherwise",
        "over-limit",
        "label-warning",
        "promises-a-cure",
        "doubtful-claim",
        "two-changes-at-once",
        "weighed-outside-tolerance",
        "price-not-known",
        "outside-specification",
        "preservation-not-tested",
    ];
    nothing_but_handling("notebooks/manual", &shown);
}

#[track_caller]
fn nothing_but_handling(path: &str, shown: &[&str]) {
    let collection = built(&folder(path));
    let findings = collection.findings();
    let is_shown = |name: &str| name == "handle-with-care" || shown.contains(&name);
    let other = findings.iter().filter(|finding| !is_shown(finding.kind.name));
    assert_eq!(lines_of(other), "");
}

#[test]
fn the_collection_to_start_from_has_nothing_but_handling() {
    let bench = Bench::new();
    let _ = bench.run(["begin", "kitchen"]).ends_with(0);
    assert_eq!(lines_of(&built(&bench.path("kitchen")).findings()), "");
}

/// A volume becomes a weight by the density, and its working says how far the density's range leaves it open.
#[test]
fn a_volume_says_how_uncertain_its_weight_is() {
    let text = "```formula\nid = \"rub\"\nproduct = \"body oil\"\n[phase.A]\ncastor-oil = \"100 ml\"\nolive-oil = \"50 g\"\n```\n";
    let collection = crate::support::collection([("rub.md", text)]);
    let computed = collection.formula("rub").unwrap();
    let figure =
        tarebook::compute::look_up(computed, tarebook::compute::Backing::built_in(), &["castor-oil", "weight"], None)
            .unwrap();
    let working = tarebook::page::working_text(&figure.working);
    assert!(
        working.contains("written as 100 ml, turned into a weight by a density that leaves it uncertain by ±"),
        "{working}"
    );
}

/// The README shows a notebook and a picture of its page; both are made from the same file.
#[test]
fn the_notebook_in_the_readme_is_the_one_in_the_picture() {
    let notebook = include_str!("pictures/first-page.md");
    assert!(include_str!("../README.md").contains(&format!("````markdown\n{notebook}````\n")));
    let collection = crate::support::collection([("first-page.md", notebook)]);
    let other: Vec<_> =
        collection.findings().into_iter().filter(|finding| finding.kind.name != "handle-with-care").collect();
    assert_eq!(other, []);
}

/// By hand: 30 % of a solution with 29–31 % of the substance are 8.7–9.3 %; the bar is solid up to 8.7 and hollow up to 9.3 of an axis that ends at 10, which
/// lies between 6 and 394: 6 + 8.7 ÷ 10 × 388 = 343.6 and 6 + 9.3 ÷ 10 × 388 = 366.8. Water is far beyond twice that, so its bar runs out.
#[test]
fn the_shares_of_a_declaration_are_drawn_as_far_as_they_are_certain() {
    let own = "[source.own]\nhow = \"common practice\"\ntext = \"habit of the class\"\n\n[material.syrup]\nname = \"Syrup\"\nfunctions = [\"humectant\"]\nform = \"liquid\"\n\
        contains = [{ inci = \"Syrup\", percent = { min = 29, typical = 30, max = 31, source = \"own\" } }]\n\
        remainder = { min = 69, typical = 70, max = 71, text = \"sugars\" }\n";
    let text = "# A\n\n```formula\nid = \"a\"\nbatch = \"100 g\"\n[phase.A]\nwater = \"q.s. to 100\"\nsyrup = 30\n```\n\n\
        ```declaration\nid = \"list\"\nformula = \"a\"\nrules = \"eu\"\n```\n";
    let pages = everything(&collection([("a.md", text), ("materials/own.toml", own)]));
    let page = String::from_utf8(pages["a.html"].clone()).unwrap().replace('\u{a0}', " ");
    for part in [
        "Shares of a from 0.1 % on: Aqua 70 %, Syrup 8.70–9.30 %; the first bar runs out of the chart.",
        "<rect class=\"bar\" x=\"6\" y=\"61\" width=\"337.6\" height=\"8\"/>",
        "<rect class=\"perhaps\" x=\"343.6\" y=\"61.5\" width=\"23.2\" height=\"7\"/>",
    ] {
        assert!(page.contains(part), "{part}\n{page}");
    }
}
