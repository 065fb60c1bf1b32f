//! `export` and `import`: nothing is lost, nothing is written over, and every key is told in the manual.

#![expect(clippy::disallowed_methods, reason = "the collections are folders of files")]

use crate::support::{Bench, Tree};
use proptest::prelude::*;
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;

const COLLECTIONS: [&str; 3] = ["notebooks", "notebooks/manual", "notebooks/checks"];
const BALM: &str = "# Balm\n\n```formula\nid = \"balm\"\nproduct = \"lip balm\"\nbatch = \"100 g\"\n\
    [phase.A]\nsunflower-oil = \"q.s. to 100\"\ncastor-oil = 20\n```\n";

/// A collection of this repository, as a path to hand to the program.
fn of_repository(path: &str) -> String {
    format!("{}/{path}", env!("CARGO_MANIFEST_DIR"))
}

/// What `export` prints of a collection of this repository.
fn exported(path: &str) -> String {
    Bench::new().run(["export", &of_repository(path)]).ends_with(0).complains_of_nothing().out()
}

/// Exports a folder, imports it, exports that, and hands back the first document.
#[track_caller]
fn goes_round(bench: &Bench, folder: &str) -> String {
    let _ = bench.run(["export", folder, "--into", "one.json"]).ends_with(0).complains_of_nothing();
    let said = bench.run(["import", "one.json", "--into", "again"]).ends_with(0).complains_of_nothing().out();
    assert!(said.contains("figures come out as the file says"), "{said}");
    let _ = bench.run(["export", "again", "--into", "two.json"]).ends_with(0).complains_of_nothing();
    let (one, two) = (bench.read("one.json"), bench.read("two.json"));
    assert!(one == two, "the second export is not the first");
    one
}

#[test]
fn what_is_exported_comes_back_byte_for_byte() {
    for path in COLLECTIONS {
        let bench = Bench::new();
        let document = goes_round(&bench, &of_repository(path));
        let document: Value = serde_json::from_str(&document).unwrap();
        for source in document.get("sources").unwrap().as_array().unwrap() {
            let name = source.get("path").unwrap().as_str().unwrap();
            let (was, is) = (
                std::fs::read(Path::new(&of_repository(path)).join(name)),
                std::fs::read(bench.path("again").join(name)),
            );
            assert!(was.unwrap() == is.unwrap(), "{path}/{name}");
        }
    }
}

#[test]
fn no_number_is_a_binary_fraction_and_nothing_is_of_this_machine() {
    fn check(value: &Value) {
        match value {
            Value::Number(number) => assert!(number.is_u64() || number.is_i64(), "{number}"),
            Value::Null => panic!("nothing is null"),
            Value::Array(list) => list.iter().for_each(check),
            Value::Object(map) => map.values().for_each(check),
            Value::Bool(_) | Value::String(_) => {}
        }
    }
    for path in COLLECTIONS {
        let text = exported(path);
        check(&serde_json::from_str(&text).unwrap());
        assert!(!text.contains(env!("CARGO_MANIFEST_DIR")));
    }
}

/// Objects whose keys are names of raw materials, substances and the like, and none of the schema.
const BY_NAME: [&str; 9] = ["materials", "names", "substances", "fatty_acids", "solutes", "acids", "eu", "us", "rates"];

fn keys_of(value: &Value, under: &str, keys: &mut BTreeSet<String>) {
    match value {
        Value::Object(map) => {
            let is_named = BY_NAME.contains(&under) || (under == "triggers") || map.keys().any(|key| key.contains(' '));
            for (key, inner) in map {
                if !is_named {
                    keys.insert(key.clone());
                }
                keys_of(inner, if is_named { "" } else { key }, keys);
            }
        }
        Value::Array(list) => list.iter().for_each(|inner| keys_of(inner, "", keys)),
        _ => {}
    }
}

#[test]
fn the_manual_tells_every_key() {
    let manual = std::fs::read_to_string(of_repository("notebooks/manual/exported-data.md")).unwrap();
    let told = |key: &String| manual.contains(&format!("| `{key}` |"));
    let mut keys = BTreeSet::new();
    for path in COLLECTIONS {
        keys_of(&serde_json::from_str(&exported(path)).unwrap(), "", &mut keys);
    }
    assert!(keys.len() > 200);
    let missing: Vec<&String> = keys.iter().filter(|key| !told(key)).collect();
    assert!(missing.is_empty(), "notebooks/manual/exported-data.md does not tell {missing:?}");
}

#[test]
fn every_kind_of_block_has_a_model() {
    let mut kinds = BTreeSet::new();
    for path in COLLECTIONS {
        let document: Value = serde_json::from_str(&exported(path)).unwrap();
        let notebooks = document.get("notebooks").unwrap().as_array().unwrap();
        for block in notebooks.iter().flat_map(|notebook| notebook.get("blocks").unwrap().as_array().unwrap()) {
            assert!(block.get("model").unwrap().is_object(), "{block}");
            kinds.insert(block.get("kind").unwrap().as_str().unwrap().to_owned());
        }
    }
    let words: BTreeSet<String> = tarebook::block::words().map(str::to_owned).collect();
    assert_eq!(kinds, words);
}

#[test]
fn with_an_error_nothing_is_written() {
    let bench = Bench::new().with("kitchen/balm.md", BALM.replace("\"q.s. to 100\"", "79"));
    let said = bench.run(["export", "kitchen", "--into", "kitchen.json"]).ends_with(1).err;
    assert!(said.contains("error[sum-not-100]") || said.contains("sum-not-100"), "{said}");
    assert!(said.contains("Nothing was exported"), "{said}");
    assert!(!bench.path("kitchen.json").exists());
}

#[test]
fn a_file_of_the_collection_is_not_written_over() {
    let bench = Bench::new().with("kitchen/balm.md", BALM);
    let said = bench.run(["export", "kitchen", "--into", "kitchen/balm.md"]).ends_with(2).err;
    assert!(said.contains("of the collection itself"), "{said}");
    assert_eq!(bench.read("kitchen/balm.md"), BALM);
}

/// A bench with an exported balm, its document changed.
fn changed(from: &str, to: &str) -> Bench {
    let bench = Bench::new().with("kitchen/balm.md", BALM);
    let _ = bench.run(["export", "kitchen", "--into", "kitchen.json"]).ends_with(0).complains_of_nothing();
    let text = bench.read("kitchen.json");
    assert!(text.contains(from), "{from}");
    bench.write("kitchen.json", text.replacen(from, to, 1));
    bench
}

#[track_caller]
fn is_refused(bench: &Bench, why: &str) {
    let said = bench.run(["import", "kitchen.json", "--into", "again"]).ends_with(2).err;
    assert!(said.contains(why), "{said}");
    assert!(!bench.path("again").exists());
    let names: Vec<String> = bench.tree(".").into_keys().filter(|name| name.contains("again")).collect();
    assert!(names.is_empty(), "{names:?}");
}

#[test]
fn paths_that_lead_elsewhere_are_refused_with_their_line() {
    for (path, why) in [
        ("../balm.md", "it leads out of the folder"),
        ("/balm.md", "it leads to the root of the machine"),
        ("a/../../balm.md", "it leads out of the folder"),
        ("C:balm.md", "it names a drive"),
        ("a\\\\balm.md", "it holds a backslash"),
        ("a//balm.md", "one of its parts is empty"),
        (".tarebook/x", "one of its parts is hidden"),
    ] {
        let bench =
            changed("\"path\": \"balm.md\",\n      \"text\"", &format!("\"path\": \"{path}\",\n      \"text\""));
        is_refused(&bench, why);
        is_refused(&bench, "kitchen.json, line ");
    }
}

#[test]
fn paths_that_are_one_on_some_systems_are_refused() {
    let twin = |path: &str| format!("\"sources\": [\n    {{ \"path\": \"{path}\", \"text\": \"\" }},");
    is_refused(&changed("\"sources\": [", &twin("Balm.md")), "cannot stand beside each other on every system");
    is_refused(&changed("\"sources\": [", &twin("balm.md/x")), "cannot stand beside each other on every system");
    is_refused(&changed("\"sources\": [", &twin("balm.md")), "stands there twice");
}

#[test]
fn other_schemas_and_damaged_files_are_refused() {
    is_refused(&changed("tarebook collection 1", "tarebook collection 2"), "take a newer tarebook");
    is_refused(&changed("tarebook collection 1", "tarebook page 1"), "only `tarebook collection 1` can be imported");
    is_refused(&changed("\"schema\"", "\"scheme\""), "it is no exported collection");
    is_refused(&changed("\"text\": \"#", "\"base64\": \"#"), "are not base64");
    let bench = Bench::new().with("kitchen/balm.md", BALM);
    let _ = bench.run(["export", "kitchen", "--into", "kitchen.json"]).ends_with(0).complains_of_nothing();
    let text = bench.read("kitchen.json");
    for (length, why) in [(text.len() / 2, "line "), (0, "the file is damaged")] {
        bench.write("kitchen.json", text.get(..length).unwrap_or_default());
        is_refused(&bench, why);
    }
}

#[test]
fn a_folder_that_is_not_empty_is_left_alone() {
    let bench = changed("balm", "balm").with("again/own.md", "# Own\n");
    let said = bench.run(["import", "kitchen.json", "--into", "again"]).ends_with(2).err;
    assert!(said.contains("again is not empty"), "{said}");
    assert_eq!(bench.tree("again").into_keys().collect::<Vec<_>>(), ["own.md"]);
    std::fs::create_dir(bench.path("empty")).unwrap();
    let _ = bench.run(["import", "kitchen.json", "--into", "empty"]).ends_with(0).complains_of_nothing();
    assert_eq!(bench.read("empty/balm.md"), BALM);
}

#[test]
fn figures_that_come_out_differently_are_told() {
    let bench = changed("\"text\": \"80.0\u{a0}g\"", "\"text\": \"81.0\u{a0}g\"");
    let said = bench.run(["import", "kitchen.json", "--into", "again"]).ends_with(1).err;
    assert!(said.contains("81.0\u{a0}g (80.0, g) in the file, 80.0\u{a0}g (80.0, g) now"), "{said}");
    assert!(said.contains("it was changed afterwards"), "{said}");
    let version = format!("\"program\": \"tarebook {}\"", env!("CARGO_PKG_VERSION"));
    let text = bench.read("kitchen.json").replacen(&version, "\"program\": \"tarebook 0.0.1\"", 1);
    bench.write("kitchen.json", text);
    let said = bench.run(["import", "kitchen.json", "--into", "later"]).ends_with(0).err;
    assert!(said.contains("its rules or its catalogue are different"), "{said}");
}

/// Names of files as people and programs make them, and contents of all sorts.
fn odd_files() -> impl Strategy<Value = Vec<(String, Vec<u8>)>> {
    let name = "[a-zA-Z0-9äß€ %'()!,@~#&+=;–-]{1,8}";
    let ending = prop::sample::select(vec!["md", "png", "csv", "TXT", "toml", "md.txt"]);
    let bytes = prop_oneof![
        prop::collection::vec(any::<u8>(), 0..40),
        "(\u{feff})?# [a-z é\u{1F9FC}\t]{0,20}(\r\n|\n|\r)[a-z\\\\\"\u{0}]{0,20}".prop_map(String::into_bytes),
    ];
    prop::collection::vec((prop::option::of(name), name, ending, bytes), 1..6).prop_map(|files| {
        let mut seen = BTreeSet::new();
        let path = |(folder, name, ending, bytes): (Option<String>, String, &str, Vec<u8>)| {
            let name = format!("{name}.{ending}");
            (folder.map_or(name.clone(), |folder| format!("{folder}/{name}")), bytes)
        };
        files.into_iter().map(path).filter(|(path, _)| seen.insert(path.to_lowercase())).collect()
    })
}

proptest! {
    #![proptest_config(crate::support::cases(24))]

    /// What has errors is refused; all else comes back.
    #[test]
    fn odd_names_and_contents_come_back(files in odd_files()) {
        let bench = Bench::new().with("kitchen/balm.md", BALM);
        let mut links = String::from("# Links\n\n");
        for (path, bytes) in &files {
            bench.write(&format!("kitchen/{path}"), bytes);
            let encoded: String = path.bytes().map(|byte| if byte == b'/' { "/".to_owned() } else { format!("%{byte:02X}") }).collect();
            links.push_str(&format!("[file]({encoded})\n\n"));
        }
        bench.write("kitchen/links.md", &links);
        let status = bench.run(["proofread", "kitchen"]).status;
        if status == Some(0) {
            goes_round(&bench, "kitchen");
            let (was, is): (Tree, Tree) = (bench.tree("kitchen"), bench.tree("again"));
            for (path, bytes) in &was {
                // Hidden files and what editors leave behind are no part of a collection.
                if let Some(found) = is.get(path) {
                    prop_assert_eq!(found, bytes);
                }
            }
            prop_assert!(is.contains_key("links.md"));
        } else {
            let _ = bench.run(["export", "kitchen", "--into", "one.json"]).ends_with(1);
        }
    }
}
