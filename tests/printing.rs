//! Bench sheets: pages to print and write on, one for each formula.

use crate::support::collection;
use tarebook::collection::Collection;

const FORMULA: &str = "# Rinse\n\n```formula\nid = \"rinse\"\nproduct = \"body wash\"\nbatch = \"200 g\"\n\n[phase.A]\nwater = \"q.s. to 100\"\nglycerin = { percent = 3, lot = \"GL-17\" }\nsodium-benzoate = 0.5\n```\n";
const METHOD: &str = "\n```method\nformula = \"rinse\"\n\n[[step]]\ndo = \"Stir it all together.\"\nadd = [\"water\", \"glycerin\", \"sodium-benzoate\"]\n```\n";
const OTHER: &str = "# Elsewhere\n\n```method\nformula = \"rinse\"\n\n[[step]]\ndo = \"Quite another way.\"\nadd = [\"water\", \"glycerin\", \"sodium-benzoate\"]\n```\n";

fn sheet(collection: &Collection) -> String {
    let files = collection.render("bench/rinse.html").unwrap_or_default();
    let page = files.iter().find(|file| file.path == "bench/rinse.html");
    page.map_or_else(String::new, |page| String::from_utf8_lossy(&page.bytes).into_owned())
}

#[test]
fn every_formula_has_a_bench_sheet_with_weights_boxes_and_lots() {
    let collection = collection([("rinse.md", FORMULA)]);
    assert!(collection.generated_pages().iter().any(|page| &**page == "bench/rinse.html"));
    let page = sheet(&collection);
    for words in ["193.0", "6.0", "1.0", "GL-17", "pH measured", "Dust: Sodium benzoate", "check "] {
        assert!(page.contains(words), "{words} is missing:\n{page}");
    }
    assert_eq!(page.matches("<tr class=\"line\">").count(), 3);
    assert!(!page.contains("Method</h2>"));
}

#[test]
fn the_notebook_links_to_it_and_it_links_back() {
    let collection = collection([("washes/rinse.md", FORMULA)]);
    let files = collection.render("washes/rinse.md").unwrap();
    let page = String::from_utf8(files[0].bytes.clone()).unwrap();
    assert!(page.contains("href=\"../bench/rinse.html\""), "{page}");
    assert!(sheet(&collection).contains("href=\"../washes/rinse.html#sheet-rinse\""));
}

#[test]
fn the_method_of_its_own_notebook_comes_first() {
    let own = format!("{FORMULA}{METHOD}");
    let both = collection([("a.md", OTHER), ("rinse.md", &own)]);
    assert!(sheet(&both).contains("Stir it all together."));
    let one = collection([("a.md", OTHER), ("rinse.md", FORMULA)]);
    assert!(sheet(&one).contains("Quite another way."));
}

#[test]
fn its_key_follows_the_formula_and_the_method_and_nothing_else() {
    let own = format!("{FORMULA}{METHOD}");
    let key = |texts: [(&str, &str); 2]| collection(texts).page_key("bench/rinse.html");
    let first = key([("rinse.md", &own), ("b.md", "# Before\n")]);
    assert_eq!(first, key([("rinse.md", &own), ("b.md", "# After\n")]));
    assert_ne!(first, key([("rinse.md", &own.replace("= 0.5", "= 0.4")), ("b.md", "# Before\n")]));
    assert_ne!(first, key([("rinse.md", &own.replace("together", "well")), ("b.md", "# Before\n")]));
    assert_ne!(first, key([("rinse.md", &own.replace("# Rinse", "# Wash")), ("b.md", "# Before\n")]));
}

#[test]
fn a_notebook_that_would_become_the_same_page_is_an_error() {
    let collection = collection([("rinse.md", FORMULA), ("bench/rinse.md", "# Bench\n")]);
    let errors = collection.errors();
    assert!(errors.iter().any(|one| one.kind.name == "same-page" && one.what.contains("the bench sheet of a formula")));
}
