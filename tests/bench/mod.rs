//! What the page script has to say for another batch: pages, and a table of what the compiler says for five hundred sizes that it was not
//! told of. The table lies in the folder for tests below `target/`; `tests/browser/bench.mjs` compares it with what is seen.

#![expect(clippy::disallowed_methods, reason = "the pages and the table are files")]
#![expect(clippy::unwrap_used, clippy::indexing_slicing, reason = "what goes wrong here fails the test")]

use crate::support::{everything, sources};
use serde_json::{Value as Json, json};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::Arc;
use tarebook::collection::{Collection, Sources};
use tarebook::compute::Value;
use tarebook::page::value_text_in;
use tarebook::quantity::{Decimal, Mass, MassUnit};

/// So many sizes are compared.
const SIZES: usize = 500;

/// The readabilities that the page offers besides the author's, in grams.
const READABILITIES: [&str; 10] = ["10", "5", "2", "1", "0.5", "0.1", "0.05", "0.02", "0.01", "0.001"];

/// Splitmix64, from a fixed seed: the same sizes every time.
struct Dice(u64);

impl Dice {
    fn throw(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        bits ^ (bits >> 31)
    }

    fn below(&mut self, count: usize) -> usize {
        usize::try_from(self.throw() % count as u64).unwrap()
    }

    fn one_of<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[self.below(all.len())]
    }

    /// A batch as somebody may type it, from a gram to some fifty kilograms.
    fn batch(&mut self, has_density: bool) -> String {
        let digits = self.below(99_999) + 1;
        let decimals = self.below(5);
        let number = Decimal::new(i64::try_from(digits).unwrap(), u32::try_from(decimals).unwrap());
        let mut units = vec!["g", " g", " g", " g", "kg", " oz", " lb"];
        if has_density {
            units.extend([" ml", "l", " us fluid ounce"]);
        }
        let unit = self.one_of(&units);
        // A thousandth of a gram is nothing to weigh, and a hundred tonnes is no batch.
        let grams = number * Decimal::from(if unit.contains("kg") || *unit == "l" { 1000 } else { 1 });
        if grams < Decimal::ONE || grams > Decimal::from(50_000) {
            return self.batch(has_density);
        }
        let number = number.to_string();
        // A decimal comma where it cannot be misread.
        let three = number.split('.').nth(1).is_some_and(|after| after.len() == 3);
        if !three && self.below(8) == 0 {
            format!("{}{unit}", number.replace('.', ","))
        } else {
            format!("{number}{unit}")
        }
    }
}

/// A folder of notebooks as it lies in the repository, without the collections inside it.
fn folder(path: &str) -> BTreeMap<String, String> {
    fn gather(at: &Path, prefix: &str, files: &mut BTreeMap<String, String>) {
        for entry in fs::read_dir(at).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_str().unwrap();
            if path.is_dir() {
                if !path.join("collection.toml").exists() {
                    gather(&path, &format!("{prefix}{name}/"), files);
                }
            } else if let Ok(text) = fs::read_to_string(&path) {
                files.insert(format!("{prefix}{name}"), text);
            }
        }
    }
    let mut files = BTreeMap::new();
    gather(Path::new(path), "", &mut files);
    files
}

/// The notebook with another batch and balance written into one of its formulas.
fn rewritten(text: &str, id: &str, batch: &str, readability: &str) -> String {
    let mut out = String::new();
    let mut block = Vec::new();
    let mut is_formula = false;
    for line in text.lines() {
        if line.starts_with("```formula") {
            is_formula = true;
        }
        if !is_formula {
            out.push_str(line);
            out.push('\n');
            continue;
        }
        block.push(line);
        if line != "```" {
            continue;
        }
        let is_it = block.iter().any(|line| line.starts_with("id") && line.ends_with(&format!("\"{id}\"")));
        for line in block.drain(..) {
            let key = line.split('=').next().unwrap().trim();
            if is_it && (key == "batch" || (key == "balance" && !line.contains('{'))) {
                continue;
            }
            match line.split_once("readability = \"") {
                Some((before, after)) if is_it => {
                    let rest = after.split_once('"').unwrap().1;
                    out.push_str(&format!("{before}readability = \"{readability} g\"{rest}"));
                }
                _ => out.push_str(line),
            }
            out.push('\n');
            if is_it && key == "id" {
                out.push_str(&format!("batch = \"{batch}\"\n"));
                if !text_has_table(text, id) {
                    out.push_str(&format!("balance = \"{readability} g\"\n"));
                }
            }
        }
        is_formula = false;
    }
    out
}

/// Whether a formula's balance says more than its readability.
fn text_has_table(text: &str, id: &str) -> bool {
    let block = text
        .split("```formula")
        .find(|block| block.lines().take(4).any(|line| line.starts_with("id") && line.ends_with(&format!("\"{id}\""))));
    block.is_some_and(|block| block.split("```").next().unwrap().contains("readability ="))
}

/// A number of the data file as text in a unit.
fn in_unit(number: &Json, unit: &str) -> String {
    let text = number["text"].as_str().unwrap();
    let unit = MassUnit::from_symbol(unit).unwrap();
    if unit == MassUnit::Gram || number["unit"] != "g" {
        return text.to_owned();
    }
    let mass = Mass::from_grams(number["value"].as_str().unwrap().parse().unwrap());
    let digits = text.split('\u{a0}').find(|part| part.starts_with(|c: char| c.is_ascii_digit())).unwrap();
    let decimals = digits.split_once('.').map_or(0, |(_, after)| u32::try_from(after.len()).unwrap());
    value_text_in(&Value::Mass { mass, decimals }, Some(unit), None)
}

/// What a page that was written for this size says of the formula: everything that bench.js has to say for it.
fn answer(data: &Json, id: &str, unit: &str) -> Json {
    let formula = formula_of(data, id);
    let list =
        |value: &Json, one: &dyn Fn(&Json) -> Json| value.as_array().unwrap().iter().map(one).collect::<Vec<_>>();
    let both = |number: &Json| json!([in_unit(number, unit), number["working"]]);
    let lines: Vec<Json> =
        list(&formula["phases"], &|phase| json!(list(&phase["lines"], &|line| both(&line["weight"]))))
            .into_iter()
            .flat_map(|lines| lines.as_array().unwrap().clone())
            .collect();
    let poor = formula["findings"].as_array().unwrap().iter().filter(|one| one["name"] == "poorly-weighed");
    let blocks = data["blocks"].as_array().map(Vec::as_slice).unwrap_or_default();
    let methods = blocks.iter().filter(|block| block["word"] == "method" && block["formula"] == id).map(|block| {
        let steps = list(&block["steps"], &|step| {
            let text = |one: &Json| json!(in_unit(&one["weight"], unit));
            let tare = &step["with_tare"];
            json!({
                "added": list(&step["added"], &text),
                "poured": list(&step["poured"], &text),
                "holds": in_unit(&step["holds"], unit),
                "working": step["holds"]["working"],
                "with_tare": if tare.is_null() { Json::Null } else { json!(in_unit(tare, unit)) },
            })
        });
        (block["id"].as_str().unwrap().to_owned(), json!(steps))
    });
    let numbers = data["numbers"].as_array().unwrap().iter().map(|one| {
        let asked = one["asked"].as_str().unwrap();
        let keeps = asked.contains("unit=") || asked.contains("digits=");
        let number = &one["number"];
        let text = if keeps { number["text"].clone() } else { json!(in_unit(number, unit)) };
        (asked.to_owned(), json!([text, number["working"]]))
    });
    json!({
        "batch": in_unit(&formula["batch"], unit),
        "lines": lines,
        "phases": list(&formula["phases"], &|phase| json!([both(&phase["weight"]), both(&phase["vessel"])])),
        "total": both(&formula["total"]["weight"]),
        "poor": poor.map(|one| one["what"].as_str().unwrap().replace('`', "")).collect::<Vec<_>>(),
        "methods": methods.collect::<serde_json::Map<_, _>>(),
        "numbers": numbers.collect::<serde_json::Map<_, _>>(),
    })
}

fn formula_of<'a>(data: &'a Json, id: &str) -> &'a Json {
    data["formulas"].as_array().unwrap().iter().find(|formula| formula["id"] == id).unwrap()
}

fn data_of(collection: &Collection, notebook: &str) -> Json {
    let files = collection.render(notebook).unwrap();
    serde_json::from_slice(&files.iter().find(|file| file.path.ends_with(".json")).unwrap().bytes).unwrap()
}

/// Sources with one notebook put in the place of the old one.
fn with(sources: &Sources, notebook: &str, text: &str) -> Sources {
    let mut changed = sources.clone();
    changed.notebooks.insert(notebook.into(), text.into());
    changed
}

#[test]
fn the_table_for_the_page_script() {
    let target = Path::new(env!("CARGO_TARGET_TMPDIR")).join("bench");
    if target.exists() {
        fs::remove_dir_all(&target).unwrap();
    }
    let mut dice = Dice(20_240_229);
    let mut table = Vec::new();
    for (name, files) in [("demo", folder("notebooks")), ("awkward", folder("tests/bench"))] {
        let all = sources(files.iter().map(|(path, text)| (path.as_str(), text.as_str())));
        let mut collection = Collection::new();
        collection.update(all.clone());
        assert!(!collection.has_errors(), "{:?}", collection.errors());
        for (path, bytes) in everything(&collection) {
            let path = target.join(name).join(&path);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, bytes).unwrap();
        }
        let formulas: Vec<(Arc<str>, String, bool)> = all
            .notebooks
            .keys()
            .flat_map(|notebook| {
                let data = data_of(&collection, notebook);
                let formulas = data["formulas"].as_array().unwrap().clone();
                formulas.into_iter().map(|formula| {
                    let has_density = formula["scaling"]["density"] != "";
                    (Arc::clone(notebook), formula["id"].as_str().unwrap().to_owned(), has_density)
                })
            })
            .collect();
        assert!(formulas.len() >= 6);
        for size in 0..SIZES / 2 {
            let (notebook, id, has_density) = &formulas[size % formulas.len()];
            let unit = *dice.one_of(&["g", "g", "g", "kg", "oz", "lb"]);
            // What is less than the balance can weigh is refused by the page.
            let (batch, readability, data) = loop {
                let (batch, readability) = (dice.batch(*has_density), *dice.one_of(&READABILITIES));
                let text = rewritten(&all.notebooks[notebook], id, &batch, readability);
                collection.update(with(&all, notebook, &text));
                let data = data_of(&collection, notebook);
                if formula_of(&data, id)["total"]["weight"]["value"] != "0" {
                    break (batch, readability, data);
                }
            };
            let page = format!("{name}/{}", data["page"].as_str().unwrap());
            let expected = answer(&data, id, unit);
            table.push(json!({
                "page": page, "formula": id, "batch": batch, "readability": readability, "unit": unit, "expected": expected,
            }));
        }
    }
    assert_eq!(table.len(), SIZES);
    // Some methods cannot be divided at some sizes, and most can.
    let divided = table.iter().filter(|one| one["expected"]["methods"].as_object().is_some_and(|all| !all.is_empty()));
    assert!(divided.count() > SIZES / 10);
    fs::write(target.join("expected.json"), serde_json::to_vec(&table).unwrap()).unwrap();
}
