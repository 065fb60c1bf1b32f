//! The manual holds what it says: shown sources are the live ones, and no block, key, command, option or setting is left out.
//!
//! How the manual's notebooks are written so that this can be checked: a fenced block with the word `markdown` is followed by exactly its content, with at
//! most one paragraph of one line between; `toml` is an excerpt of a file of the manual, `html` a template whose first line names it, `json` a part of the
//! data beside the page. Anything else that is only shown has the word `text`.

#![expect(clippy::disallowed_methods, reason = "the manual is a folder of files")]
#![expect(clippy::unwrap_used, reason = "what goes wrong here fails the test")]

use crate::support::{collection, everything};
use pulldown_cmark::{CodeBlockKind, Event, Options, Parser, Tag, TagEnd};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tarebook::block::{Cutting, KINDS, RowFiles, read_block, read_formula};
use tarebook::collection::Collection;
use tarebook::edge::Folder;
use tarebook::model::Settings;
use tarebook::page::BUILT_IN_TEMPLATES;
use tarebook::report::{Finding, by_name};

fn notebooks() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("notebooks")
}

/// The texts of the manual's own folder by file name. Notebooks in folders below have tests of their own.
fn manual() -> BTreeMap<String, String> {
    let entries = std::fs::read_dir(notebooks().join("manual")).unwrap();
    let names = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let texts = names.filter(|name| name.ends_with(".md")).map(|name| {
        let text = std::fs::read_to_string(notebooks().join("manual").join(&name)).unwrap();
        (name, text)
    });
    texts.collect()
}

fn built() -> Collection {
    let mut collection = Collection::new();
    collection.update(Folder::open(&notebooks().join("manual"), None).unwrap().read());
    collection
}

/// A fenced block: the first word of its info string, its content, and where it stands.
struct Fenced {
    word: String,
    content: String,
    place: Range<usize>,
}

fn fenced(text: &str) -> Vec<Fenced> {
    let mut blocks: Vec<Fenced> = Vec::new();
    let mut is_open = false;
    for (event, place) in Parser::new_ext(text, Options::empty()).into_offset_iter() {
        match event {
            Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) => {
                let word = info.split_whitespace().next().unwrap_or_default().to_owned();
                blocks.push(Fenced { word, content: String::new(), place });
                is_open = true;
            }
            Event::Text(part) if is_open => blocks.last_mut().unwrap().content.push_str(&part),
            Event::End(TagEnd::CodeBlock) => is_open = false,
            _ => {}
        }
    }
    blocks
}

/// All that stands as code in a text: spans and blocks. What is named, is named there.
fn code(text: &str) -> String {
    let mut code = String::new();
    let mut is_open = false;
    for event in Parser::new_ext(text, Options::ENABLE_TABLES) {
        match event {
            Event::Code(part) => code.push_str(&format!("{part}\n")),
            Event::Text(part) if is_open => code.push_str(&part),
            Event::Start(Tag::CodeBlock(_)) => is_open = true,
            Event::End(TagEnd::CodeBlock) => is_open = false,
            _ => {}
        }
    }
    code
}

/// Whether a name stands in a text as a whole word: `ph` is not named by `ph-works`.
fn names(text: &str, name: &str) -> bool {
    let is_part = |c: char| c.is_ascii_alphanumeric() || c == '-';
    text.split(|c| !is_part(c)).any(|word| word == name)
}

#[track_caller]
fn assert_none(missing: Vec<String>, what: &str) {
    assert!(missing.is_empty(), "{what}:\n  {}", missing.join("\n  "));
}

/// The content of a block may follow it at once, or after one line of text.
fn stands_below(content: &str, below: &str) -> bool {
    let below = below.trim_start_matches('\n');
    let is_here = |text: &str| text.strip_prefix(content).is_some_and(|rest| rest.is_empty() || rest.starts_with('\n'));
    let after_line = below.split_once("\n\n").filter(|(line, _)| !line.contains('\n')).map(|(_, rest)| rest);
    is_here(below) || after_line.is_some_and(is_here)
}

#[test]
fn what_is_shown_is_what_is_live() {
    let mut n_shown = 0;
    let mut missing = Vec::new();
    for (name, text) in manual() {
        for block in fenced(&text).into_iter().filter(|block| block.word == "markdown") {
            n_shown += 1;
            if !stands_below(&block.content, &text[block.place.end..]) {
                missing.push(format!("{name}: {}", block.content.lines().take(3).collect::<Vec<_>>().join(" / ")));
            }
        }
    }
    assert_none(missing, "shown, but not what stands live below it");
    assert!(n_shown >= 40, "only {n_shown} examples");
}

#[test]
fn what_stands_below_is_compared_byte_by_byte() {
    assert!(stands_below("a\nb\n", "\n\na\nb\n"));
    assert!(stands_below("a\nb\n", "\n\ngives\n\na\nb\n\nmore\n"));
    assert!(!stands_below("a\nb\n", "\n\na\nb \n"));
    assert!(!stands_below("a\nb\n", "\n\na\nb\nc\n"));
    assert!(!stands_below("a\nb\n", "\n\ntwo\nlines\n\na\nb\n"));
}

/// Each block has a notebook of its name, in which every block of this word is shown as it is typed.
#[test]
fn every_block_has_its_notebook() {
    let manual = manual();
    let mut missing = Vec::new();
    for kind in KINDS {
        let Some(text) = manual.get(&format!("{}.md", kind.word)) else {
            missing.push(format!("{}.md", kind.word));
            continue;
        };
        let blocks = fenced(text);
        let live: Vec<&Fenced> = blocks.iter().filter(|block| block.word == kind.word).collect();
        let shown = |wanted: &Fenced| {
            let typed = &text[wanted.place.clone()];
            blocks.iter().any(|block| block.word == "markdown" && block.content.contains(typed))
        };
        if live.is_empty() {
            missing.push(format!("{}.md has no live block", kind.word));
        }
        let hidden = live.into_iter().filter(|block| !shown(block));
        missing.extend(hidden.map(|block| format!("{}.md does not show {:?}", kind.word, block.content)));
    }
    assert_none(missing, "missing in the manual");
}

/// A key that no table has.
const STRANGER: &str = "zzzzzzzz";

/// The text of a block with a stranger among the keys of every table in it: its own, its sections, and those in braces.
fn with_strangers(text: &str) -> String {
    let mut out = format!("{STRANGER} = 1\n");
    let mut quote: Option<char> = None;
    let mut depth = 0_i32;
    for line in text.lines() {
        let is_section = depth == 0 && line.starts_with('[');
        let mut before = ' ';
        for character in line.chars() {
            out.push(character);
            match (quote, character) {
                (Some(open), _) if character == open && before != '\\' => quote = None,
                (Some(_), _) => {}
                (None, '"' | '\'') => quote = Some(character),
                (None, '{') => out.push_str(&format!(" {STRANGER} = 1, ")),
                (None, '[') => depth += 1,
                (None, ']') => depth -= 1,
                (None, _) => {}
            }
            before = character;
            if quote.is_none() && character == '#' {
                break;
            }
        }
        out.push('\n');
        if is_section {
            out.push_str(&format!("{STRANGER} = 1\n"));
        }
    }
    out
}

/// The keys that are known in the tables where a stranger was found.
fn known_keys(findings: &[Finding]) -> BTreeSet<String> {
    let of_stranger = findings.iter().filter(|finding| finding.kind.name == "unknown-key");
    let known = of_stranger.filter_map(|finding| finding.mend_text().strip_prefix("Known here: "));
    known
        .flat_map(|list| list.trim_end_matches('.').replace(" and ", ", ").split(", ").map(bare).collect::<Vec<_>>())
        .collect()
}

fn bare(name: &str) -> String {
    name.trim_matches('`').to_owned()
}

fn all_notebooks(folder: &Path, texts: &mut Vec<String>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            all_notebooks(&path, texts);
        } else if path.extension().is_some_and(|ending| ending == "md") {
            texts.push(std::fs::read_to_string(path).unwrap());
        }
    }
}

/// What each block accepts, learnt from the blocks of all notebooks with a stranger put into every table: the message that refuses it lists what is known.
/// The lines of a phase have free names, so nothing is refused there; its own keys are those that no raw material may have.
fn keys_of_blocks() -> BTreeMap<&'static str, BTreeSet<String>> {
    let mut texts = Vec::new();
    all_notebooks(&notebooks(), &mut texts);
    let path: Arc<str> = "a.md".into();
    let mut keys: BTreeMap<&str, BTreeSet<String>> = BTreeMap::new();
    for block in texts.iter().flat_map(|text| fenced(text)) {
        let Some(kind) = KINDS.iter().find(|kind| kind.word == block.word) else { continue };
        let cutting = Cutting::whole_file(&path, &with_strangers(&block.content));
        let findings = if kind.word == "formula" {
            read_formula(&cutting).1
        } else {
            read_block(kind.word, &cutting, &RowFiles::new()).1
        };
        keys.entry(kind.word).or_default().extend(known_keys(&findings));
    }
    keys.entry("formula").or_default().extend(["title", "hold", "note"].map(str::to_owned));
    keys
}

#[test]
fn every_key_of_a_block_is_named_in_its_notebook() {
    let manual = manual();
    let keys = keys_of_blocks();
    let mut missing = Vec::new();
    for kind in KINDS {
        let Some(text) = manual.get(&format!("{}.md", kind.word)) else { continue };
        // What any block says of a file of rows stands in one notebook, which those blocks name.
        let rows = if text.contains("(rows-from-files.md)") { manual.get("rows-from-files.md") } else { None };
        let code = text.lines().chain(rows.into_iter().flat_map(|rows| rows.lines())).collect::<Vec<_>>().join("\n");
        let code = self::code(&code);
        let known = keys.get(kind.word).unwrap_or_else(|| panic!("no notebook has a `{}`", kind.word));
        let unnamed = known.iter().filter(|key| !names(&code, key));
        missing.extend(unnamed.map(|key| format!("`{key}` in {}.md", kind.word)));
    }
    assert_none(missing, "keys that the manual does not name");
    // Keys of tables within tables are found, or the test would prove little.
    for (word, key) in
        [("formula", "overfill"), ("formula", "drop-weighs"), ("method", "top-up"), ("saponification", "purity")]
    {
        assert!(keys[word].contains(key), "{key} of {word} in {:?}", keys[word]);
    }
}

#[test]
fn every_setting_is_named() {
    let (_, findings) = Settings::read(&"collection.toml".into(), &format!("{STRANGER} = 1\n"));
    let known = known_keys(&findings);
    assert!(known.contains("trust-html"), "{known:?}");
    let code = code(&manual()["settings.md"]);
    assert_none(known.into_iter().filter(|key| !names(&code, key)).collect(), "settings that the manual does not name");
}

#[test]
fn every_key_of_a_raw_material_is_named() {
    let own = std::fs::read_to_string(notebooks().join("manual/materials/own.toml")).unwrap();
    let collection = collection([("materials/own.toml", with_strangers(&own).as_str()), ("a.md", "# A\n")]);
    let known = known_keys(&collection.findings());
    assert!(["constituent", "bound-to", "how", "viscosity"].iter().all(|key| known.contains(*key)), "{known:?}");
    let code = code(&manual()["raw-materials.md"]);
    // What is read over in the catalogue's own entries is nothing to write.
    let is_ours = |key: &String| !["declarable", "entry"].contains(&key.as_str());
    let missing = known.into_iter().filter(is_ours).filter(|key| !names(&code, key));
    assert_none(missing.collect(), "keys of raw materials that the manual does not name");
}

#[test]
fn every_command_and_option_is_named() {
    let code: String = manual().values().map(|text| code(text)).collect();
    let mut missing = Vec::new();
    let arguments = tarebook::cli::command_tree();
    let commands: Vec<&clap::Command> = arguments.get_subcommands().collect();
    assert!(commands.len() >= 7);
    for command in commands {
        let name = command.get_name();
        if !code.contains(&format!("tarebook {name}")) {
            missing.push(format!("tarebook {name}"));
        }
        for option in command.get_arguments().filter_map(clap::Arg::get_long) {
            if !names(&code, &format!("--{option}")) {
                missing.push(format!("--{option} of {name}"));
            }
        }
        for argument in command.get_arguments().filter(|argument| argument.get_long() == Some("format")) {
            let values = argument.get_possible_values();
            let words = values.iter().map(|value| format!("--format {}", value.get_name()));
            missing.extend(words.filter(|words| !code.contains(words.as_str())));
        }
    }
    assert_none(missing, "commands and options that the manual does not name");
}

#[test]
fn every_template_is_named() {
    let code = code(&manual()["templates.md"]);
    let named = |name: &str| code.lines().any(|line| line == name);
    let missing = BUILT_IN_TEMPLATES.iter().map(|(name, _)| (*name).to_owned()).filter(|name| !named(name));
    assert_none(missing.collect(), "templates that the manual does not name");
}

/// Files that are shown are those that are there, templates that are shown can be used, data that is shown is what programs get.
#[test]
fn what_is_shown_of_files_is_so() {
    let folder = notebooks().join("manual");
    let files =
        ["collection.toml", "materials/own.toml"].map(|name| std::fs::read_to_string(folder.join(name)).unwrap());
    let tree = everything(&built());
    let mut templates: Vec<(String, String)> = Vec::new();
    let mut missing = Vec::new();
    for (name, text) in manual() {
        for block in fenced(&text) {
            match block.word.as_str() {
                "toml" if !files.iter().any(|file| file.contains(&block.content)) => missing.push(block.content),
                "html" => {
                    let path = block.content.trim_start_matches("{#- ").split(':').next().unwrap().to_owned();
                    templates.push((path, block.content));
                }
                "json" => {
                    let data = &tree[&name.replace(".md", ".json")];
                    let page: serde_json::Value = serde_json::from_slice(data).unwrap();
                    let shown: serde_json::Value = serde_json::from_str(&block.content).unwrap();
                    if !holds(&page, &shown) {
                        missing.push(block.content);
                    }
                }
                _ => {}
            }
        }
    }
    assert_none(missing, "shown, but in no file");
    assert!(templates.len() >= 3 && templates.iter().all(|(path, _)| path.starts_with("templates/")));
    let page = (
        "a.md",
        "# A\n\nIt holds [](calc:a/olive-oil/percent).\n\n```formula\nid = \"a\"\n[phase.A]\nolive-oil = 100\n```\n",
    );
    let files = templates.iter().map(|(path, text)| (path.as_str(), text.as_str())).chain([page]);
    let tree = everything(&collection(files));
    let made = String::from_utf8(tree["a.html"].clone()).unwrap();
    assert!(made.contains("Tidewater evening class.") && made.contains("<b class=\"number\">100\u{a0}%</b>"), "{made}");
}

fn holds(value: &serde_json::Value, part: &serde_json::Value) -> bool {
    value == part
        || match value {
            serde_json::Value::Array(items) => items.iter().any(|item| holds(item, part)),
            serde_json::Value::Object(items) => items.values().any(|item| holds(item, part)),
            _ => false,
        }
}

/// The first column of a table that is headed `name` or `finding` holds names of findings.
#[test]
fn the_findings_that_are_named_exist() {
    let mut n_named = 0;
    let mut unknown = Vec::new();
    for (name, text) in manual() {
        let mut is_list = false;
        for line in text.lines() {
            let first = line.strip_prefix("| ").and_then(|line| line.split(" |").next());
            match first {
                Some("name" | "finding") => is_list = true,
                None if !line.starts_with('|') => is_list = false,
                Some(cell) if is_list && cell.starts_with('`') => {
                    let kinds = cell.split('`').skip(1).step_by(2);
                    n_named += 1;
                    unknown
                        .extend(kinds.filter(|kind| by_name(kind).is_none()).map(|kind| format!("{kind} in {name}")));
                }
                _ => {}
            }
        }
    }
    assert_none(unknown, "no findings");
    assert!(n_named >= 80, "only {n_named} rows");
}

/// Whoever reads on from the index comes to every notebook, and in the order of the settings.
#[test]
fn the_index_leads_to_every_notebook() {
    let mut manual = manual();
    let index = manual.remove("index.md").unwrap();
    let missing = manual.keys().filter(|name| !index.contains(&format!("]({name})")));
    assert_none(missing.cloned().collect(), "notebooks that index.md does not name");
    let collection = built();
    let order: BTreeSet<&str> = collection.settings().order.iter().map(|path| path.value.as_str()).collect();
    let missing = manual.keys().filter(|name| !order.contains(name.as_str()));
    assert_none(missing.cloned().collect(), "notebooks that `order` does not name");
    let links: Vec<usize> =
        collection.settings().order.iter().filter_map(|path| index.find(&format!("]({})", path.value))).collect();
    assert!(links.windows(2).all(|pair| pair[0] < pair[1]), "index.md and `order` tell different orders");
    assert!(include_str!("../README.md").contains("notebooks/manual/"));
}

/// Mistakes that are made to be looked at are found where the text says so. That nothing else is found, another test says.
#[test]
fn what_the_manual_teaches_is_found() {
    let findings = built().findings();
    for (notebook, kind) in [
        ("products-and-limits.md", "over-limit"),
        ("products-and-limits.md", "label-warning"),
        ("quoted-passages.md", "promises-a-cure"),
        ("quoted-passages.md", "doubtful-claim"),
        ("saponification.md", "lye-weighed-otherwise"),
        ("costing.md", "price-not-known"),
        ("shopping-list.md", "price-not-known"),
        ("stability.md", "outside-specification"),
        ("stability.md", "preservation-not-tested"),
    ] {
        let n_found =
            findings.iter().filter(|finding| finding.kind.name == kind && &*finding.place.path == notebook).count();
        assert_eq!(n_found, 1, "{kind} in {notebook}");
    }
}

/// Questions to the program that the manual writes down can be asked as they stand; what needs a collection is about the manual's own.
#[test]
fn what_the_manual_asks_can_be_asked() {
    let mut asked = BTreeSet::new();
    for text in manual().values() {
        let typed: String =
            fenced(text).into_iter().filter(|block| block.word == "text").map(|block| block.content).collect();
        let asks = |line: &&str| ["tarebook explain ", "tarebook weigh "].iter().any(|start| line.starts_with(start));
        let lines = typed.lines().filter(asks);
        // Behind two spaces stands what the command does; words in capitals stand for others.
        let commands = lines.map(|line| line.split("  ").next().unwrap().trim().to_owned());
        asked.extend(commands.filter(|line| !line.contains(char::is_uppercase)));
    }
    assert!(asked.len() >= 10, "{asked:?}");
    for line in asked {
        let mut quoted = false;
        let words: Vec<String> = line
            .replace("--in notebooks/manual", "")
            .split(|c| {
                quoted ^= c == '"';
                c == ' ' && !quoted
            })
            .filter(|word| !word.is_empty())
            .map(|word| word.trim_matches('"').to_owned())
            .collect();
        let done = std::process::Command::new(env!("CARGO_BIN_EXE_tarebook"))
            .args(&words[1..])
            .args(["--in", "notebooks/manual"])
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .output()
            .unwrap();
        assert_eq!(done.status.code(), Some(0), "{line}: {}", String::from_utf8_lossy(&done.stderr));
    }
}
