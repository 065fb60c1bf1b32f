//! `compare --since`: the figures of a collection beside those of an earlier publish or an earlier state of its notebooks.

#![expect(clippy::disallowed_methods, reason = "reading what was kept of another time is what this module is for")]

use super::compare::aligned;
use super::publish::{load, opened};
use super::weigh::not_computed;
use super::{Folder, Outcome, Terminal};
use crate::collection::{ChangedNumber, Collection, PartName, PartSince, Since, State};
use crate::compute::FoundChanges;
use crate::page::comparison::{NOT_IN_IT, order_words};
use crate::page::{FormerFinding, FormerPage, PAGE_SCHEMA};
use crate::quantity::show;
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::Path;
use std::{fs, io};

/// What was kept of another time.
enum Kept {
    Pages,
    Notebooks,
}

impl Kept {
    fn words(&self) -> &'static str {
        match self {
            Kept::Pages => "published pages",
            Kept::Notebooks => "notebooks",
        }
    }
}

/// Prints what is different from what a folder holds: pages that were published, or notebooks as they were.
pub fn since(ids: &[String], former: &Path, root: &Path, json: bool, terminal: &Terminal) -> Outcome {
    let Some(folder) = opened(root, terminal) else { return Outcome::CouldNotRun };
    let (kept, then) = match read(former, terminal) {
        Ok(read) => read,
        Err(reason) => {
            terminal.refuse(&format!("{}: {reason}", former.display()));
            return Outcome::CouldNotRun;
        }
    };
    let collection = load(&folder, terminal);
    let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
    for id in &ids {
        let was = then.pages.iter().any(|page| page.parts.get(*id).is_some_and(|part| part.is_here));
        let is = collection.formula(id).is_some() || collection.answer(id).is_some();
        if !was && !is {
            return not_computed(id, "compare", &collection, root, terminal);
        }
    }
    let since = collection.since(&then, &ids);
    if json {
        terminal.say(&serde_json::to_string_pretty(&as_json(&since)).unwrap_or_default());
    } else {
        terminal.say(&format!("Compared with the {} in {}\n{}", kept.words(), former.display(), as_text(&since)));
        errors_hint(&collection, &since, root, terminal);
    }
    Outcome::Clean
}

/// What cannot be compared now can be, once its errors are mended.
fn errors_hint(collection: &Collection, since: &Since, root: &Path, terminal: &Terminal) {
    if !since.not_computed.is_empty() && collection.has_errors() {
        terminal.complain(&format!("To read the errors: tarebook proofread {}", root.display()));
    }
}

/// Reads what is kept at a path.
fn read(path: &Path, terminal: &Terminal) -> Result<(Kept, State), String> {
    let metadata = fs::metadata(path).map_err(|error| match error.kind() {
        io::ErrorKind::NotFound => {
            "there is nothing of this name; name a folder of published pages, one of their data files, or a folder \
                                    with the notebooks as they were"
                .to_owned()
        }
        _ => error.to_string(),
    })?;
    let mut pages = Vec::new();
    if metadata.is_file() {
        let bytes = fs::read(path).map_err(|error| error.to_string())?;
        pages.push(FormerPage::read(&bytes)?);
        return Ok((Kept::Pages, State { pages, ..State::default() }));
    }
    if fs::metadata(path.join(".tarebook")).is_err() {
        let folder = Folder::open(path, None).map_err(|error| error.to_string())?;
        let collection = load(&folder, terminal);
        if collection.notebooks().next().is_some() {
            return Ok((Kept::Notebooks, collection.state()));
        }
    }
    read_pages(path, &mut pages)?;
    if pages.is_empty() {
        return Err(format!("this folder holds neither notebooks nor data files of published pages ({PAGE_SCHEMA})"));
    }
    pages.sort_by(|one, other| one.notebook.cmp(&other.notebook));
    Ok((Kept::Pages, State { pages, ..State::default() }))
}

/// The data files of pages in a folder and those below. Other files are left alone, even those that end in `.json`.
fn read_pages(folder: &Path, pages: &mut Vec<FormerPage>) -> Result<(), String> {
    let entries = fs::read_dir(folder).map_err(|error| error.to_string())?;
    for entry in entries.flatten() {
        let (path, kind) = (entry.path(), entry.file_type().map_err(|error| error.to_string())?);
        // What is hidden is being written, or is ours to keep books with.
        if entry.file_name().as_encoded_bytes().starts_with(b".") {
            continue;
        }
        if kind.is_dir() {
            read_pages(&path, pages)?;
        } else if path.extension().is_some_and(|extension| extension == "json") {
            let bytes = fs::read(&path).map_err(|error| format!("{}: {error}", path.display()))?;
            match FormerPage::read(&bytes) {
                Ok(page) => pages.push(page),
                Err(reason) if reason.starts_with("its schema is “tarebook page ") => {
                    return Err(format!("{}: {reason}", path.display()));
                }
                Err(_) => {}
            }
        }
    }
    Ok(())
}

fn as_text(since: &Since) -> String {
    let mut out = String::new();
    for part in &since.parts {
        out.push_str(&part_text(part));
    }
    for (notebook, found) in &since.found {
        let _ = writeln!(out, "\nFound in {notebook}");
        out.push_str(&found_text(found));
    }
    let names = |parts: &[PartName]| {
        let one = |part: &PartName| format!("  {} ({})", called(part), part.notebook);
        parts.iter().map(one).collect::<Vec<_>>().join("\n")
    };
    if !since.come.is_empty() {
        let _ = writeln!(out, "\nNew\n{}", names(&since.come));
    }
    if !since.gone.is_empty() {
        let _ = writeln!(out, "\nThere no more\n{}", names(&since.gone));
    }
    let list = |ids: &mut dyn Iterator<Item = &String>| ids.map(String::as_str).collect::<Vec<_>>().join(", ");
    if !since.not_computed.is_empty() {
        let ids = list(&mut since.not_computed.iter());
        let _ = writeln!(out, "\nNot compared, because then or now it has errors: {ids}");
    }
    let is_all = since.parts.is_empty() && since.come.is_empty() && since.gone.is_empty();
    match since.unchanged.as_slice() {
        [] => {}
        [only] => {
            let _ = writeln!(out, "\nNothing changed in {only}");
        }
        ids if is_all && since.not_computed.is_empty() => {
            let _ = writeln!(out, "\nNothing changed in any of {} formulas and blocks", ids.len());
        }
        ids => {
            let _ = writeln!(out, "\nNothing changed in {}", list(&mut ids.iter()));
        }
    }
    out
}

/// The id, and the title where there is one.
fn called(part: &PartName) -> String {
    match part.title.as_str() {
        title if title.is_empty() || title == part.id => part.id.clone(),
        title => format!("{}, {title}", part.id),
    }
}

fn part_text(part: &PartSince) -> String {
    let mut out = format!("\n{}\n", called(&part.name));
    let mut pair = |what: &str, pair: &Option<(String, String)>| {
        let word = |text: &str| if text.is_empty() { "none".to_owned() } else { text.to_owned() };
        if let Some((was, is)) = pair {
            let _ = writeln!(out, "  {what}: {}, now {}", word(was), word(is));
        }
    };
    pair("notebook", &part.notebook);
    pair("version", &part.version);
    pair("check", &part.check);
    pair("batch", &part.batch);
    pair("specification", &part.specification);
    for (line, was, is) in &part.moved {
        let _ = writeln!(out, "  {line}: in phase {}, now {}", was.join(" and "), is.join(" and "));
    }
    for change in &part.declaration {
        let _ = writeln!(out, "  declaration: {}", order_words(change));
    }
    if !part.numbers.is_empty() {
        let batch = part.numbers.iter().map(|changed| changed.number.batch.as_str()).find(|batch| !batch.is_empty());
        let title = batch.map_or(String::new(), |batch| format!("weights for {batch}"));
        let head = ["  ".to_owned() + &title, "then".into(), "now".into(), "difference".into()];
        let table: Vec<Vec<String>> =
            std::iter::once(head.to_vec()).chain(part.numbers.iter().map(number_row)).collect();
        out.push_str(&aligned(&table));
    }
    out
}

fn number_row(changed: &ChangedNumber) -> Vec<String> {
    let number = &changed.number;
    let cell = |text: &str| if text.is_empty() { NOT_IN_IT.to_owned() } else { text.to_owned() };
    let batch = number.address.split_once("?batch=").map_or(String::new(), |(_, batch)| format!(" for {batch}"));
    let decimals = decimals_of(&number.old).max(decimals_of(&number.new));
    let by = changed.by.map_or(String::new(), |by| show::signed(by.round_dp(decimals), Some(decimals)));
    vec![format!("  {}{batch}", number.what), cell(&number.old), cell(&number.new), by]
}

/// How many decimals a printed number has.
fn decimals_of(text: &str) -> u32 {
    let after = text.split_once('.').map_or("", |(_, after)| after);
    let digits = after.chars().take_while(char::is_ascii_digit).count();
    u32::try_from(digits).unwrap_or_default()
}

fn found_text(found: &FoundChanges<FormerFinding>) -> String {
    let mut out = String::new();
    let mut say = |word: &str, finding: &FormerFinding| {
        let _ = writeln!(out, "  {word}: {} {}: {}", finding.severity, finding.name, finding.what);
    };
    found.gained.iter().for_each(|finding| say("gained", finding));
    found.lost.iter().for_each(|finding| say("no more", finding));
    for (was, is) in &found.changed {
        say("with other figures", is);
        say("                as", was);
    }
    out
}

fn as_json(since: &Since) -> Value {
    let names = |parts: &[PartName]| {
        let one = |part: &PartName| json!({ "id": part.id, "title": part.title, "notebook": part.notebook });
        parts.iter().map(one).collect::<Vec<_>>()
    };
    let pair = |pair: &Option<(String, String)>| pair.as_ref().map(|(was, is)| json!({ "then": was, "now": is }));
    let part = |part: &PartSince| {
        let number = |changed: &ChangedNumber| {
            let number = &changed.number;
            json!({
                "address": format!("{}/{}", part.name.id, number.address), "what": number.what, "batch": number.batch,
                "then": number.old, "now": number.new, "difference": changed.by.map(|by| by.normalize().to_string()),
            })
        };
        let moved =
            |(line, was, is): &(String, Vec<String>, Vec<String>)| json!({ "line": line, "then": was, "now": is });
        json!({
            "id": part.name.id, "title": part.name.title, "notebook": part.name.notebook,
            "moved-from": part.notebook.as_ref().map(|(was, _)| was),
            "version": pair(&part.version), "check": pair(&part.check), "batch": pair(&part.batch),
            "specification": pair(&part.specification),
            "phases": part.moved.iter().map(moved).collect::<Vec<_>>(),
            "numbers": part.numbers.iter().map(number).collect::<Vec<_>>(),
            "declaration": part.declaration.iter().map(order_words).collect::<Vec<_>>(),
        })
    };
    let found = |(notebook, found): &(String, FoundChanges<FormerFinding>)| {
        let one = |one: &FormerFinding| json!({ "name": one.name, "severity": one.severity, "what": one.what });
        let changed = |(was, is): &(FormerFinding, FormerFinding)| json!({ "name": is.name, "severity": is.severity, "what": is.what, "was": was.what });
        json!({
            "notebook": notebook, "gained": found.gained.iter().map(one).collect::<Vec<_>>(),
            "lost": found.lost.iter().map(one).collect::<Vec<_>>(), "changed": found.changed.iter().map(changed).collect::<Vec<_>>(),
        })
    };
    json!({
        "schema": "tarebook changes 1",
        "changed": since.parts.iter().map(part).collect::<Vec<_>>(),
        "findings": since.found.iter().map(found).collect::<Vec<_>>(),
        "new": names(&since.come), "gone": names(&since.gone), "unchanged": since.unchanged,
        "not-computed": since.not_computed,
    })
}
