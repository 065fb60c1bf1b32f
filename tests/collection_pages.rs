//! Finding one's way in a collection: breadcrumbs and contents, the lists, the glossary, the data of the search, and pages as one file.

#![expect(clippy::unwrap_used, reason = "what goes wrong here fails the test")]

use crate::support::{Bench, Tree, collection, everything};
use std::fmt::Write as _;

const WASH: &str = "# Wash\n\nIt is [](calc:wash/glycerin/percent) glycerin, `code` and all. ![jar](jar.svg)\n\n## Why\n\nBecause.\n\n\
    ## How\n\n```formula\nid = \"wash\"\ntitle = \"Oat wash\"\nproduct = \"body wash\"\nbatch = \"500 g\"\nph = \"4.8..5.2\"\n\
    [phase.A]\nwater = \"q.s. to 100\"\nglycerin = 3\nsodium-benzoate = 0.4\n```\n\n## What then\n\nNothing.\n";
const NOTE: &str = "# A note\n\nThe [rest](term:balance-line) and the [superfat](term:), see [the wash](../wash.md#why) and \
    [a list](list.csv).\n\nOnce more the [rest](term:balance-line).\n\n## One\n\n## Two\n";
const WORDS: &str = "# Words\n\nBalance line\n: Takes what the others leave, here [](calc:wash/water/percent).\n";

fn kitchen() -> Vec<(&'static str, &'static str)> {
    vec![
        ("collection.toml", "title = \"Kitchen\"\nglossary = \"words.md\"\n"),
        ("wash.md", WASH),
        ("my notes/note.md", NOTE),
        ("words.md", WORDS),
        ("jar.svg", ""),
        ("my notes/list.csv", ""),
    ]
}

fn pages() -> Tree {
    everything(&collection(kitchen()))
}

fn text<'t>(tree: &'t Tree, path: &str) -> &'t str {
    std::str::from_utf8(&tree[path]).unwrap()
}

#[track_caller]
fn check(page: &str, parts: &[&str]) {
    for part in parts {
        assert!(page.contains(part), "no {part:?} in {page}");
    }
}

#[test]
fn a_page_says_where_it_lies_and_what_it_contains() {
    let tree = pages();
    let folder =
        "<li><a href=\"../index.html#folder-my%2520notes\">my notes</a></li>\n<li aria-current=\"page\">A note</li>";
    let note = text(&tree, "my notes/note.html");
    check(note, &["<nav class=\"path\" aria-label=\"Where this page is\">", folder]);
    check(text(&tree, "index.html"), &["id=\"folder-my%20notes\""]);
    // Two headings are seen at a glance.
    assert!(!note.contains("On this page"));
    check(text(&tree, "wash.html"), &["aria-label=\"On this page\"", "<li><a href=\"#what-then\">What then</a></li>"]);
}

#[test]
fn formulas_stand_under_their_product_type() {
    let tree = pages();
    let row = "<a href=\"../wash.html#sheet-wash\">Oat wash</a> <small>Wash</small></th><td class=\"n\">500\u{a0}g</td>\
        <td class=\"n\" data-head=\"active\"></td><td class=\"n\" data-head=\"pH\">4.8–5.2</td>";
    check(text(&tree, "index/products.html"), &["<th id=\"body-wash\" colspan=\"4\" scope=\"rowgroup\">", row]);
}

#[test]
fn findings_stand_under_their_kind_with_the_place() {
    let tree = pages();
    let page = text(&tree, "index/findings.html");
    check(page, &["id=\"active-matter-outside\"", "<a href=\"../wash.html#sheet-wash\">Wash</a>"]);
    assert!(!page.contains("handle-with-care"));
}

#[test]
fn a_term_leads_to_its_place_and_is_told_once_beside() {
    let tree = pages();
    let note = text(&tree, "my notes/note.html");
    check(
        note,
        &[
            "<a class=\"term\" href=\"../words.html#term-balance-line\">rest</a>",
            "<a class=\"term\" href=\"../index/words.html#term-superfat\">superfat</a>",
            "Takes what the others leave, here 96.6\u{a0}%.</p>",
            "<small>common practice, no source</small>",
        ],
    );
    assert_eq!(note.matches("Takes what the others leave").count(), 1);
    check(text(&tree, "words.html"), &["<dt id=\"term-balance-line\">Balance line</dt>"]);
    check(text(&tree, "index/words.html"), &["<dt id=\"term-superfat\">Superfat, Lye discount</dt>"]);
    // The program's words have a page where a link needs them, and not otherwise.
    let without = kitchen().into_iter().filter(|(path, _)| *path != "my notes/note.md");
    assert!(!everything(&collection(without)).contains_key("index/words.html"));
}

#[test]
fn the_search_has_what_readers_see() {
    let tree = pages();
    let data = text(&tree, "index/search-1.js");
    let list = data.strip_prefix("(self.searched ??= []).push(").unwrap().trim_end().strip_suffix(");").unwrap();
    let found: serde_json::Value = serde_json::from_str(&format!("[{list}]")).unwrap();
    let wash = found.as_array().unwrap().iter().find(|page| page["title"] == "Wash").unwrap();
    assert_eq!(wash["href"], "../wash.html");
    assert_eq!(wash["parts"][0]["text"], "It is 3\u{a0}% glycerin, code and all. jar".replace('\u{a0}', " "));
    assert_eq!(
        (wash["parts"][1]["heading"].as_str(), wash["parts"][1]["text"].as_str()),
        (Some("Why"), Some("Because."))
    );
    let sheet = &wash["parts"][4];
    assert_eq!((sheet["anchor"].as_str(), sheet["product"].as_str()), (Some("sheet-wash"), Some("body wash")));
    assert_eq!(sheet["holds"], serde_json::json!(["glycerin", "sodium-benzoate", "water"]));
    check(text(&tree, "index/search-materials.js"), &["\"id\":\"sodium-benzoate\"", "Sodium Benzoate"]);
    check(text(&tree, "index/search.html"), &["<script defer src=\"search-1.js\"></script>"]);
}

/// More notebooks than the index can hold, all with the same raw material: no page grows with the collection.
#[test]
fn no_page_grows_without_end() {
    let texts: Vec<(String, String)> = (0..1500)
        .map(|number| {
            let formula = format!(
                "```formula\nid = \"f-{number}\"\ntitle = \"Formula of number {number}\"\nproduct = \"body wash\"\nbatch = \"500 g\"\n[phase.A]\n\
                 water = \"q.s. to 100\"\nglycerin = 2\n```\n"
            );
            let path = if number < 20 { format!("n{number}.md") } else { format!("folder-{}/n{number}.md", number % 7) };
            (path, format!("# Notebook number {number}\n\n{formula}"))
        })
        .collect();
    let tree = everything(&collection(texts.iter().map(|(path, text)| (path.as_str(), text.as_str()))));
    for (path, bytes) in tree.iter().filter(|(path, _)| path.ends_with(".html")) {
        assert!(bytes.len() < 150_000, "{path} has {} bytes", bytes.len());
    }
    let text = |path: &str| std::str::from_utf8(&tree[path]).unwrap();
    let listed: usize = (1..=6)
        .map(|part| if part == 1 { "index/notebooks.html".to_owned() } else { format!("index/notebooks-{part}.html") })
        .map(|path| text(&path).matches("class=\"title\"").count())
        .sum();
    assert_eq!(listed, 1500);
    assert!(!tree.contains_key("index/notebooks-7.html"));
    check(text("index.html"), &["<a href=\"index/notebooks.html#top\">20 notebooks</a>", ">All notebooks</a>"]);
    // A folder's link leads to the page on which it begins.
    for link in text("index.html").split("href=\"index/notebooks").skip(1).filter(|link| link.contains('#')) {
        let (page, rest) = link.split_once('#').unwrap();
        let anchor = rest.split('"').next().unwrap();
        assert!(text(&format!("index/notebooks{page}")).contains(&format!("id=\"{anchor}\"")), "{page}#{anchor}");
    }
    let uses: usize = text("materials/glycerin.html").matches("#sheet-f-").count()
        + (2..=6)
            .map(|part| text(&format!("materials/uses/glycerin-{part}.html")).matches("#sheet-f-").count())
            .sum::<usize>();
    assert_eq!(uses, 1500);
    check(text("materials/uses/glycerin-6.html"), &["href=\"../../folder-", "<a href=\"../glycerin.html\">Glycerin"]);
}

/// Three hundred notebooks, each as long as one of the class: every page stays light, and all are on the lists.
#[test]
fn a_large_collection_stays_usable() {
    let materials = ["glycerin", "panthenol", "xanthan-gum", "sodium-benzoate", "citric-acid-anhydrous", "allantoin"];
    let products = ["body wash", "hand cream", "shampoo", "body lotion", "face cream"];
    let texts: Vec<(String, String)> = (0..300)
        .map(|number| {
            let mut text = format!("# Notebook number {number}\n\nThe first sentence of number {number}, which is as long as such sentences are.\n\n");
            for part in 0..6 {
                let words: Vec<String> = (0..90).map(|word| format!("word{}", (number * 7 + part * 13 + word * word) % 2000)).collect();
                let _ = writeln!(text, "## Part {part} of {number}\n\n{}.\n", words.join(" "));
            }
            for variant in 0..2 {
                let _ = writeln!(
                    text,
                    "```formula\nid = \"f-{number}-{variant}\"\ntitle = \"Formula {variant} of number {number}\"\nproduct = \"{}\"\n\
                     batch = \"500 g\"\nph = \"4.8..5.2\"\n[phase.A]\nwater = \"q.s. to 100\"\n{} = 2\n{} = 0.5\n```\n",
                    products[number % products.len()], materials[number % materials.len()], materials[(number + 1 + variant) % materials.len()]
                );
            }
            (format!("folder-{}/n{number}.md", number % 7), text)
        })
        .collect();
    let tree = everything(&collection(texts.iter().map(|(path, text)| (path.as_str(), text.as_str()))));
    for (path, bytes) in tree.iter().filter(|(path, _)| path.ends_with(".html")) {
        assert!(bytes.len() < 150_000, "{path} has {} bytes", bytes.len());
    }
    let all = |first: &str, what: &str| -> usize {
        let parts = tree.iter().filter(|(path, _)| path.starts_with(first) && path.ends_with(".html"));
        parts.map(|(_, bytes)| std::str::from_utf8(bytes).unwrap().matches(what).count()).sum()
    };
    assert_eq!(all("index/products", "#sheet-f-"), 600);
    assert_eq!(all("index.html", "class=\"title\""), 300);
    check(
        text(&tree, "index/products.html"),
        &["href=\"products-2.html\"", "<a href=\"products-2.html#shampoo\">shampoo</a>"],
    );
    // The search loads no more than half as much again as the texts have.
    let searched: usize =
        tree.iter().filter(|(path, _)| path.starts_with("index/search-")).map(|(_, bytes)| bytes.len()).sum();
    let written: usize = texts.iter().map(|(_, text)| text.len()).sum();
    assert!(searched < written * 3 / 2, "{searched} bytes of search for {written} bytes of text");
}

fn on_disk() -> Bench {
    let bench = kitchen().iter().fold(Bench::new(), |bench, (path, text)| bench.with(&format!("kitchen/{path}"), text));
    bench
        .with("kitchen/jar.svg", "<svg xmlns=\"http://www.w3.org/2000/svg\"/>")
        .with("kitchen/my notes/list.csv", "a,b\n")
}

/// Every address on a page that is not inside of it.
fn addresses(page: &str) -> Vec<&str> {
    let parts = page.split(" href=\"").skip(1).chain(page.split(" src=\"").skip(1));
    let addresses = parts.filter_map(|part| part.split_once('"')).map(|(address, _)| address);
    addresses.filter(|address| !address.starts_with('#') && !address.starts_with("data:")).collect()
}

#[test]
fn a_standalone_page_needs_no_other_file() {
    let bench = on_disk();
    let done = bench.run(["publish", "kitchen", "--standalone"]).ends_with(0).complains_of_nothing();
    let _ = done.says("Published 3 notebooks, each as one file, into kitchen/standalone: 4 files written");
    let tree = bench.tree("kitchen/standalone");
    assert_eq!(tree.keys().collect::<Vec<_>>(), ["index.html", "my notes/note.html", "wash.html", "words.html"]);
    let note = text(&tree, "my notes/note.html");
    // Links lead to the others, which are sent along, and to nothing else.
    assert_eq!(addresses(note).iter().filter(|address| !address.contains(".html")).count(), 0, "{:?}", addresses(note));
    check(
        note,
        &["<style>\n", "href=\"../wash.html#why\"", "href=\"data:text/csv;base64,YSxiCg==\" download=\"list.csv\""],
    );
    check(note, &["<a class=\"term\">superfat</a>"]);
    assert!(!note.contains("index/") && !note.contains("materials/") && !note.contains(">Search<"));
    check(text(&tree, "wash.html"), &["src=\"data:image/svg+xml;base64,"]);
    // The pages beside are no notebooks of the collection, and a second time nothing changes.
    let _ = bench.run(["publish", "kitchen", "--standalone"]).ends_with(0).says("nothing had changed");
    let _ = bench.run(["publish", "kitchen"]).ends_with(0).says("Published 3 notebooks into");
}

#[test]
fn one_notebook_alone_as_one_file() {
    let bench = on_disk();
    let arguments = ["publish", "kitchen", "--standalone", "--only", "my notes/note.md", "--into", "stick"];
    let _ = bench.run(arguments).ends_with(0).says("Published 1 notebook, as one file, into stick");
    let tree = bench.tree("stick");
    assert_eq!(tree.keys().collect::<Vec<_>>(), ["my notes/note.html"]);
    assert_eq!(addresses(text(&tree, "my notes/note.html")), Vec::<&str>::new());
    let _ = bench
        .run(["publish", "kitchen", "--standalone", "--only", "wish.md"])
        .ends_with(2)
        .complains("Did you mean `wash.md`?");
    let _ = bench.run(["publish", "kitchen", "--only", "wash.md"]).ends_with(2).complains("--standalone");
}

#[test]
fn what_is_too_large_to_send_is_said() {
    let bench = on_disk()
        .with("kitchen/my notes/list.csv", vec![b'a'; 2_000_000])
        .with("kitchen/jar.svg", vec![b' '; 1_500_000]);
    let done = bench.run(["publish", "kitchen", "--standalone"]).ends_with(0);
    let done = done.says("Not in my notes/note.html, because it is too large: list.csv, 2.0 MB.");
    let _ = done.says("Large: wash.html has 2.1 MB.");
    check(&bench.read("kitchen/standalone/my notes/note.html"), &["<a>a list</a>"]);
}

#[test]
fn an_error_leaves_the_old_standalone_pages() {
    let bench = on_disk();
    let _ = bench.run(["publish", "kitchen", "--standalone"]).ends_with(0);
    let before = bench.tree("kitchen/standalone");
    bench.write("kitchen/words.md", "# Other words\n");
    let _ = bench.run(["publish", "kitchen", "--standalone"]).ends_with(1).complains("are as they were");
    assert_eq!(bench.tree("kitchen/standalone"), before);
}

/// A variant has a sheet of its own, which is printed by itself: what is said of handling under its parent's is at least named there.
#[test]
fn a_variant_names_the_handling_that_its_parent_explains() {
    let text = "# A\n\n```formula\nid = \"wash\"\nproduct = \"body wash\"\nbatch = \"500 g\"\nph = \"4.6..5.0\"\n[phase.A]\nwater = \"q.s. to 100\"\nsodium-benzoate = 0.5\n\
        coco-glucoside = 20\nphenoxyethanol-ethylhexylglycerin = 0.8\nlavender-oil = 0.2\n```\n\n```formula\nid = \"plain\"\nbased-on = \"wash\"\n[change.A]\nlavender-oil = \"drop\"\n```\n";
    let pages = everything(&collection([("a.md", text)]));
    let page = String::from_utf8(pages["a.html"].clone()).unwrap();
    let under = page.split("id=\"sheet-plain\"").nth(1).unwrap();
    let told = "Handle it as is said under the sheet of <code>wash</code> on this page: Harms the eyes; ";
    assert!(under.contains(told), "{under}");
    assert_eq!(page.matches("Handle it as is said").count(), 1);
}

/// A log of the wash with one check made and two to come.
const LOG: &str = "# Log\n\n```stability\nid = \"shelf\"\nof = \"wash\"\nstart = 2026-02-03\nchecks = [\"1 week\", \"4 weeks\", \"1 year\"]\n\
    [conditions]\nroom = \"20 C\"\n[specification]\ncolour = \"yellow\"\n[[observation]]\nafter = \"1 week\"\ncondition = \"room\"\n\
    colour = \"yellow\"\n```\n";

#[test]
fn the_index_lists_the_next_checks() {
    assert!(!text(&pages(), "index.html").contains("Next checks"));
    let mut files = kitchen();
    files.push(("my notes/log.md", LOG));
    let index = everything(&collection(files));
    let row = |date: &str, check: &str| {
        format!(
            "<li><time datetime=\"{date}\">{date}</time> <a href=\"my%20notes/log.html#sheet-shelf\">Oat wash</a>: {check}, room</li>"
        )
    };
    let rows = format!("{}\n{}\n</ul>", row("2026-03-03", "4 weeks"), row("2027-02-03", "1 year"));
    check(text(&index, "index.html"), &["<h2>Next checks</h2>", &rows]);
}

#[test]
fn the_index_has_the_first_of_many_checks() {
    let checks: Vec<String> = (2..=21).map(|week| format!("\"{week} weeks\"")).collect();
    let log = LOG.replace("\"4 weeks\", \"1 year\"", &checks.join(", "));
    let mut files = kitchen();
    files.push(("log.md", &log));
    let tree = everything(&collection(files));
    let index = text(&tree, "index.html");
    assert_eq!(index.matches("<time ").count(), 12);
    check(index, &[": 13 weeks, room</li>\n<li>8 more; <code>tarebook due</code> lists them all</li>"]);
}
