//! `correct`: which bytes of the notebooks it writes, and which it never does.

#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::string_slice,
    reason = "what goes wrong here fails the test"
)]

use crate::support::{Bench, Tree, assert_same, cases};
use proptest::prelude::*;
use std::path::Path;
use std::sync::Arc;
use tarebook::collection::{Collection, Sources};
use tarebook::edge::Folder;

/// 10.5 g and 3 % of castor oil in 350 g.
const OIL: &str = "```formula\nid = \"oil\"\nproduct = \"body oil\"\nbatch = \"350 g\"\n\
    [phase.A]\nolive-oil = \"q.s. to 100\"\ncastor-oil = 3\n```\n\n";

/// The notebook after `correct`.
#[track_caller]
fn corrected(prose: &str) -> String {
    let bench = Bench::new().with("a.md", format!("{OIL}{prose}"));
    let _ = bench.run(["correct"]).ends_with(0);
    let once = bench.read("a.md");
    let _ = bench.run(["correct"]).ends_with(0);
    assert_eq!(bench.read("a.md"), once, "a second run changes nothing");
    once.strip_prefix(OIL).expect("the block stays as it is").to_owned()
}

#[track_caller]
fn check(prose: &str, expected: &str) {
    assert_eq!(corrected(prose), expected);
}

#[test]
fn stale_numbers_are_written_anew_and_empty_brackets_filled() {
    check("Weigh [35 g](calc:oil/castor-oil/weight).\n", "Weigh [10.5 g](calc:oil/castor-oil/weight).\n");
    check("It is [](calc:oil/castor-oil/percent) of it.\n", "It is [3 %](calc:oil/castor-oil/percent) of it.\n");
    check("[ ](calc:oil/castor-oil/percent)\n", "[3 %](calc:oil/castor-oil/percent)\n");
}

#[test]
fn numbers_that_agree_keep_their_writing() {
    let prose = "[3.0 %](calc:oil/castor-oil/percent), [10 g](calc:oil/castor-oil/weight?digits=0), \
        [0.0105 kg](calc:oil/castor-oil/weight)\n";
    check(prose, prose);
}

#[test]
fn the_query_tells_how_it_is_written() {
    check(
        "[1 g](calc:oil/castor-oil/weight?batch=2kg&unit=kg)\n",
        "[0.0600 kg](calc:oil/castor-oil/weight?batch=2kg&unit=kg)\n",
    );
    check("[9](calc:oil/castor-oil/percent?digits=2)\n", "[3.00 %](calc:oil/castor-oil/percent?digits=2)\n");
}

#[test]
fn code_and_names_of_links_stay() {
    for prose in [
        "`[35 g](calc:oil/castor-oil/weight)`\n",
        "    [35 g](calc:oil/castor-oil/weight)\n",
        "```text\n[35 g](calc:oil/castor-oil/weight)\n```\n",
        "Weigh [`35 g`](calc:oil/castor-oil/weight).\n",
        "Weigh <calc:oil/castor-oil/weight>.\n",
        "Weigh [35 g].\n\n[35 g]: calc:oil/castor-oil/weight\n",
        "Weigh [35 g][].\n\n[35 g]: calc:oil/castor-oil/weight\n",
        "<p title=\"[35 g](calc:oil/castor-oil/weight)\">\n",
    ] {
        check(prose, prose);
    }
}

#[test]
fn what_is_left_is_said() {
    let bench = Bench::new().with("a.md", format!("{OIL}Weigh [`35 g`](calc:oil/castor-oil/weight).\n"));
    let _ = bench
        .run(["correct"])
        .ends_with(0)
        .says("Left to you: a.md, line 10: it stands in code, or is the name of a link given elsewhere.");
}

#[test]
fn a_text_beside_its_address_is_written() {
    check(
        "Weigh [35 g][castor].\n\n[castor]: calc:oil/castor-oil/weight\n",
        "Weigh [10.5 g][castor].\n\n[castor]: calc:oil/castor-oil/weight\n",
    );
    check(
        "| a |\n| - |\n| [35 g](calc:oil/castor-oil/weight) |\n",
        "| a |\n| - |\n| [10.5 g](calc:oil/castor-oil/weight) |\n",
    );
    check(
        "# Oil of [35 g](calc:oil/castor-oil/weight) {#oil}\n",
        "# Oil of [10.5 g](calc:oil/castor-oil/weight) {#oil}\n",
    );
    check("**[35 g](calc:oil/castor-oil/weight)**\n", "**[10.5 g](calc:oil/castor-oil/weight)**\n");
    check("[**35 g**](calc:oil/castor-oil/weight)\n", "[**10.5 g**](calc:oil/castor-oil/weight)\n");
    check("[**35** g](calc:oil/castor-oil/weight)\n", "[10.5 g](calc:oil/castor-oil/weight)\n");
    check("[*a* *b*](calc:oil/castor-oil/weight)\n", "[10.5 g](calc:oil/castor-oil/weight)\n");
    check("[***35 g***](calc:oil/castor-oil/weight)\n", "[***10.5 g***](calc:oil/castor-oil/weight)\n");
    check("[35\ng](calc:oil/castor-oil/weight)\n", "[10.5 g](calc:oil/castor-oil/weight)\n");
    check("[3\\.5 g](calc:oil/castor-oil/weight)\n", "[10.5 g](calc:oil/castor-oil/weight)\n");
    check("[\\*35 g](calc:oil/castor-oil/weight)\n", "[10.5 g](calc:oil/castor-oil/weight)\n");
    check("[35&nbsp;g](calc:oil/castor-oil/weight)\n", "[10.5 g](calc:oil/castor-oil/weight)\n");
    check("[35\u{a0}g](calc:oil/castor-oil/weight)\n", "[10.5\u{a0}g](calc:oil/castor-oil/weight)\n");
}

#[test]
fn words_are_written_so_that_markdown_reads_them_as_they_are() {
    let block = "```formula\nid = \"balm\"\ntitle = \"a * b_c [d] <e> & `f`\"\nproduct = \"lip balm\"\n[phase.A]\nsunflower-oil = \"q.s. to 100\"\n```\n\n";
    let bench = Bench::new().with("a.md", format!("{block}[x](calc:balm/title)\n"));
    let _ = bench.run(["correct"]).ends_with(0);
    let text = bench.read("a.md");
    assert_eq!(text, format!("{block}[a \\* b\\_c \\[d\\] \\<e\\> \\& \\`f\\`](calc:balm/title)\n"));
    let _ = bench.run(["correct"]).ends_with(0).says("Nothing to correct");
    assert_eq!(bench.read("a.md"), text);
    let _ = bench.run(["proofread"]).ends_with(0).says("nothing found");
}

#[test]
fn line_ends_and_the_byte_order_mark_stay() {
    let text = format!("\u{feff}{OIL}Weigh [35 g](calc:oil/castor-oil/weight).\nÄ\n").replace('\n', "\r\n");
    let bench = Bench::new().with("a.md", &text);
    let _ = bench.run(["correct"]).ends_with(0).says("a.md:10: 35 g → 10.5 g\n1 number written in 1 notebook.");
    assert_eq!(bench.read("a.md"), text.replace("35 g", "10.5 g"));
}

#[test]
fn a_dry_run_shows_a_diff_and_writes_nothing() {
    let text = format!("{OIL}One\nWeigh [35 g](calc:oil/castor-oil/weight).\nTwo\nThree\n");
    let bench = Bench::new().with("a.md", &text);
    let done = bench.run(["correct", "--dry-run"]).ends_with(0).complains("1 number would be written in 1 notebook.");
    assert_eq!(
        done.out,
        "--- a.md\n+++ a.md\n@@ -10,3 +10,3 @@\n One\n-Weigh [35 g](calc:oil/castor-oil/weight).\n\
         +Weigh [10.5 g](calc:oil/castor-oil/weight).\n Two\n"
    );
    assert_eq!(bench.read("a.md"), text);
}

#[test]
fn numbers_without_a_value_stay_and_are_said() {
    let prose = "[35 g](calc:oil/castor-oil/weight) and [1 g](calc:oil/castor-oil/wieght)\n";
    let bench = Bench::new().with("a.md", format!("{OIL}{prose}"));
    let _ = bench
        .run(["correct"])
        .ends_with(1)
        .says("1 number written in 1 notebook.")
        .complains("1 number has no value because of errors; `tarebook proofread .` lists them.");
    assert!(
        bench.read("a.md").ends_with("[10.5 g](calc:oil/castor-oil/weight) and [1 g](calc:oil/castor-oil/wieght)\n")
    );
}

#[cfg(unix)]
#[test]
fn a_link_to_a_notebook_stays_a_link_and_permissions_stay() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let bench = Bench::new().with("store/a.txt", format!("{OIL}[35 g](calc:oil/castor-oil/weight)\n"));
    bench.write("kitchen/b.md", "# B\n");
    symlink("../store/a.txt", bench.path("kitchen/a.md")).unwrap();
    set_mode(&bench.path("store/a.txt"), 0o640);
    let _ = bench.run(["correct", "kitchen"]).ends_with(0);
    assert!(bench.path("kitchen/a.md").is_symlink());
    assert!(bench.read("store/a.txt").contains("[10.5 g]"));
    assert_eq!(bench.path("store/a.txt").metadata().unwrap().permissions().mode() & 0o777, 0o640);
    assert_same(
        &bench.tree("kitchen"),
        &Tree::from([
            ("a.md".to_owned(), bench.read("store/a.txt").into_bytes()),
            ("b.md".to_owned(), b"# B\n".to_vec()),
        ]),
    );
}

#[cfg(unix)]
#[test]
fn one_notebook_that_cannot_be_written_stops_all() {
    let text = format!("{OIL}[35 g](calc:oil/castor-oil/weight)\n");
    let bench = Bench::new().with("a.md", &text).with("b.md", "[35 g](calc:oil/castor-oil/weight)\n");
    set_mode(&bench.path("b.md"), 0o440);
    let before = bench.tree(".");
    let _ = bench.run(["correct"]).ends_with(2).complains("b.md: it is write-protected. Nothing was written");
    assert_same(&bench.tree("."), &before);
}

#[cfg(unix)]
fn set_mode(path: &Path, mode: u32) {
    use std::os::unix::fs::PermissionsExt;
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
}

fn demo() -> Sources {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("notebooks");
    Folder::open(&folder, None).unwrap().read()
}

/// The demo collection with the text of every calc link replaced by `words`.
fn with_texts(sources: &Sources, mut words: impl FnMut(&str) -> String) -> Sources {
    let mut collection = Collection::new();
    collection.update(sources.clone());
    let mut other = sources.clone();
    for notebook in collection.notebooks() {
        let mut text = notebook.text.to_string();
        for link in notebook.calc_links.iter().rev().filter(|link| link.can_be_rewritten) {
            text.replace_range(link.text_span.clone(), &words(&text[link.text_span.clone()]));
        }
        other.notebooks.insert(Arc::clone(&notebook.path), text.into());
    }
    other
}

fn corrected_sources(sources: Sources) -> Sources {
    let mut collection = Collection::new();
    collection.update(sources.clone());
    let mut after = sources;
    for correction in collection.corrections().corrections {
        after.notebooks.insert(correction.path, correction.text.into());
    }
    after
}

proptest! {
    #![proptest_config(cases(12))]

    /// Whatever stands between the brackets, all that `correct` changes stands between brackets, the page's numbers stand
    /// there afterwards, and a second run finds nothing.
    #[test]
    fn only_what_stands_between_the_brackets_changes(texts in prop::collection::vec("[0-9]{0,3}[.,]?[0-9]{0,2} ?(g|kg|%|)", 40)) {
        let demo = demo();
        let mut next = texts.iter().cycle();
        let garbled = with_texts(&demo, |_| next.next().cloned().unwrap_or_default());
        let once = corrected_sources(garbled);
        prop_assert_eq!(&corrected_sources(once.clone()), &once);
        let bare = |sources: &Sources| with_texts(sources, |_| String::new()).notebooks;
        prop_assert_eq!(bare(&once), bare(&demo));
        let mut collection = Collection::new();
        collection.update(once);
        prop_assert!(collection.findings().iter().all(|finding| finding.kind.name != "stale-number"));
    }
}
