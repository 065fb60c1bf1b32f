//! Addresses: every figure that is computed has one, each leads to its figure, and the manual lists them all.

#![expect(clippy::unwrap_used, reason = "what goes wrong here fails the test")]

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use tarebook::collection::Collection;
use tarebook::compute::AddressFault;
use tarebook::edge::Folder;

/// Blocks with addresses that none of the collections happens to have.
const MORE: &str = "# More\n\n```dilution\nid = \"two\"\ntarget = \"10 % w/w\"\nmake = \"1 kg\"\nsheet = [\"200 g\"]\n\
    density = \"1.02 g/ml\"\n[stocks]\nstrong = { strength = \"30 % w/w\", density = \"1.1 g/ml\" }\n\
    weak = { strength = \"5 % w/w\", density = \"1.01 g/ml\" }\n```\n\n\
    ```formula\nid = \"oil\"\nproduct = \"body oil\"\n[phase.A]\nsunflower-oil = 100\n```\n\n\
    ```method\nid = \"way\"\nformula = \"oil\"\ntare = \"120 g\"\n[[step]]\ndo = \"Weigh.\"\nadd = [\"phase A\"]\n```\n";

const COLLECTIONS: [&str; 3] = ["notebooks", "notebooks/manual", "notebooks/checks"];

fn collection(path: &str) -> Collection {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    let mut collection = Collection::new();
    collection.update(Folder::open(&folder, None).unwrap().read());
    collection
}

/// Goes through a data file and calls `with` for every computed number in it.
fn each_number(data: &Value, with: &mut impl FnMut(&serde_json::Map<String, Value>)) {
    match data {
        Value::Object(object) => {
            if object.contains_key("working") && object.contains_key("text") {
                with(object);
            }
            object.values().for_each(|inner| each_number(inner, with));
        }
        Value::Array(list) => list.iter().for_each(|inner| each_number(inner, with)),
        _ => {}
    }
}

/// The figure of an address of the collection; `None` when its block has no id.
fn look_up(collection: &Collection, address: &str) -> Option<Result<String, AddressFault>> {
    let mut parts = address.split('/');
    let id = parts.next().unwrap_or_default();
    let rest: Vec<&str> = parts.collect();
    let found = collection.figure(id, &rest, None)?;
    Some(found.map(|figure| tarebook::page::value_text(&figure.value)))
}

#[test]
fn every_number_of_every_page_has_an_address_that_leads_to_it() {
    let mut seen = 0;
    for path in COLLECTIONS {
        let collection = collection(path);
        for page in collection.page_sources() {
            for file in collection.render(&page).unwrap().iter().filter(|file| file.path.ends_with(".json")) {
                let data: Value = serde_json::from_slice(&file.bytes).unwrap();
                let mut check = |number: &serde_json::Map<String, Value>| {
                    let text = |key: &str| number.get(key).and_then(Value::as_str).unwrap_or_default();
                    let address = text("address");
                    assert!(!address.is_empty(), "{path}/{page}: {} has no address", text("text"));
                    // A block without an id has no addresses of its own; with an id it has all of these.
                    let Some(found) = look_up(&collection, address) else { return };
                    let found = found.unwrap_or_else(|fault| panic!("{path}/{page}: {address}: {fault:?}"));
                    // Percentages under a head that says so carry no sign, and a table may give the ends in a column of their own.
                    let shown = text("text");
                    // A difference has its sign in a table.
                    assert!(found.starts_with(shown.trim_start_matches('+')), "{address}: {found} and {shown}");
                    seen += 1;
                };
                // A block without an id has no addresses.
                // An expectation may ask for another batch or unit; its figure is another block's in any case.
                let has_own = |part: &&Value| {
                    part.get("word").is_none_or(|word| word != "expect") && part.get("id").is_some_and(|id| id != "")
                };
                let parts = ["formulas", "blocks"].iter().filter_map(|part| data.get(part)?.as_array());
                parts.flatten().filter(has_own).for_each(|part| each_number(part, &mut check));
            }
        }
    }
    assert!(seen > 1000, "{seen}");
}

#[test]
fn every_address_listed_has_its_figure_or_says_why_not() {
    for path in COLLECTIONS {
        let collection = collection(path);
        let ids: Vec<&str> = collection.ids().collect();
        for address in ids.iter().flat_map(|id| collection.addresses(id)) {
            match look_up(&collection, &address) {
                Some(Ok(text)) => assert!(!text.is_empty(), "{address}"),
                Some(Err(AddressFault::NoValue(why))) => assert!(!why.is_empty(), "{address}"),
                other => panic!("{path}: {address}: {other:?}"),
            }
        }
    }
}

/// The paths that the manual lists, by the word of the block.
fn listed() -> BTreeMap<String, Vec<String>> {
    let collection = collection("notebooks/manual");
    let text = collection.text_of("addresses.md").unwrap().to_owned();
    let mut listed: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut word = String::new();
    for line in text.lines() {
        if let Some(heading) = line.strip_prefix("## `") {
            word = heading.trim_end_matches('`').to_owned();
        } else if let Some(row) = line.strip_prefix("| `") {
            let paths = row.split(" |").next().unwrap_or_default();
            let paths =
                paths.split(", ").map(|path| path.trim_matches('`').to_owned()).filter(|path| !path.ends_with("…"));
            listed.entry(word.clone()).or_default().extend(paths);
        }
    }
    listed
}

/// Whether an address below an id has the form of a listed path; words in capitals stand for any name.
fn has_form(address: &str, form: &str) -> bool {
    let (parts, forms): (Vec<&str>, Vec<&str>) = (address.split('/').collect(), form.split('/').collect());
    let is_name = |form: &str| form.chars().all(|c| c.is_ascii_uppercase());
    parts.len() == forms.len() && parts.iter().zip(&forms).all(|(part, form)| part == form || is_name(form))
}

#[test]
fn the_manual_lists_every_path_and_none_that_is_not_there() {
    let listed = listed();
    let mut met: BTreeSet<(&str, &str)> = BTreeSet::new();
    let mut missing: BTreeSet<String> = BTreeSet::new();
    let more = crate::support::collection([("more.md", MORE)]);
    assert_eq!(more.errors(), []);
    let all: Vec<Collection> = COLLECTIONS.into_iter().map(collection).chain([more]).collect();
    for collection in &all {
        for notebook in collection.notebooks() {
            let formulas = notebook.formulas.iter().map(|block| ("formula", &block.id.value));
            let blocks = notebook.blocks.iter().filter_map(|block| Some((block.word, &block.id.as_ref()?.value)));
            for (word, id) in formulas.chain(blocks) {
                let forms = listed.get_key_value(word);
                let formula_forms = listed.get_key_value("formula");
                for address in collection.addresses(id) {
                    let below = address.strip_prefix(&format!("{id}/")).unwrap();
                    // The product as it was made has the paths of a formula.
                    let (below, forms) = match (word, below.strip_prefix("actual/")) {
                        ("batch-record", Some(below)) => (below, formula_forms),
                        _ => (below, forms),
                    };
                    let mut fitting =
                        forms.iter().flat_map(|(word, forms)| forms.iter().map(move |form| (*word, form)));
                    match fitting.find(|(_, form)| has_form(below, form)) {
                        Some((word, form)) => drop(met.insert((word, form))),
                        None => drop(missing.insert(format!("{word}: {below}"))),
                    }
                }
            }
        }
    }
    assert_eq!(missing, BTreeSet::new(), "paths that the manual does not list");
    let never: Vec<(&str, &str)> = listed
        .iter()
        .flat_map(|(word, forms)| forms.iter().map(move |form| (word.as_str(), form.as_str())))
        .filter(|listed| !met.contains(listed))
        .collect();
    assert_eq!(never, [], "paths in the manual that no block of the collections has");
}
