//! `explain`: one figure, formula, raw material, product type, substance or finding in the terminal.

mod figures;

use super::publish::load;
use super::{Folder, Outcome, Terminal};
use crate::collection::Collection;
use crate::compute::{Answer, BatchRecord};
use crate::material::{
    Catalogue, Counting, Fact, Material, Origin, ProductType, Signal, Source, Statement, Statements,
};
use crate::quantity::{Date, show};
use crate::report::entries::{Entry, ExampleFile, NOTEBOOK, entry};
use crate::report::{self, by_name, suggestion};
use std::fmt::Write;
use std::path::Path;

use figures::{explain_all, explain_figure, search_figures};

/// Explains an address or a name.
pub fn explain(name: &str, root: &Path, terminal: &Terminal) -> Outcome {
    let name = name.strip_prefix("calc:").unwrap_or(name);
    // Names of the catalogue and of findings need no collection.
    let collection = match Folder::open(root, None) {
        Ok(folder) => load(&folder, terminal),
        Err(_) => Collection::new(),
    };
    let id = name.split(['/', '?']).next().unwrap_or(name);
    if collection.ids().any(|known| known == id) && collection.formula(id).is_none() && collection.answer(id).is_none()
    {
        terminal.complain(&Terminal::findings_text(&collection.errors(), &collection));
        terminal.complain(&format!("`{id}` has errors, so there is nothing to explain yet."));
        return Outcome::Findings;
    }
    match find(name, &collection) {
        Ok(text) => {
            terminal.say(&text);
            Outcome::Clean
        }
        Err(reason) => {
            terminal.refuse(&reason);
            if collection.has_errors() {
                terminal.complain(
                    "The collection has errors, so some of it may be missing; `tarebook proofread` lists them.",
                );
            }
            Outcome::CouldNotRun
        }
    }
}

fn find(name: &str, collection: &Collection) -> Result<String, String> {
    if let Some(kind) = by_name(name) {
        let mut text = format!("{} ({})\n\n{}\n", kind.name, kind.severity.word(), kind.summary);
        for (label, words) in [("Why it matters", kind.why), ("What to do", kind.mend)] {
            if !words.is_empty() {
                let _ = writeln!(text, "{label}: {words}");
            }
        }
        text.push_str(&entry(kind.name).as_ref().map_or(String::new(), explain_examples));
        return Ok(text);
    }
    if let Some(block) = crate::block::KINDS.iter().find(|block| block.word == name) {
        return Ok(format!("{} (block)\n  {}\n  {}\n", block.word, block.says, block.gives));
    }
    let (path, query) = name.split_once('?').unwrap_or((name, ""));
    let parts: Vec<&str> = path.split('/').filter(|part| !part.is_empty()).collect();
    if let Some((id, rest)) = parts.split_first()
        && collection.ids().any(|known| known == *id)
    {
        if rest.is_empty() {
            return Ok(explain_all(collection, id));
        }
        return explain_figure(path, query, (id, rest), collection);
    }
    if let Some(number) = name.strip_prefix("lot/") {
        return explain_lot(number, collection);
    }
    if let Some(number) = name.strip_prefix("batch/") {
        return explain_batch(number, collection);
    }
    let catalogue = collection.catalogue();
    if let Some(list) = list_of(name, catalogue) {
        return Ok(list);
    }
    if let Some(material) = catalogue.material(name) {
        return Ok(explain_material(material, catalogue.statements()));
    }
    if let Some(statement) = catalogue.statements().statement(name) {
        return Ok(explain_statement(statement, catalogue.statements()));
    }
    if let Some(hazard) = catalogue.hazards().iter().find(|hazard| hazard.key == name) {
        let source = hazard.source.as_ref().map_or(String::new(), |source| format!("  source: {}\n", source.line()));
        return Ok(format!("{} (hazard)\n  {}\n{source}", hazard.title, hazard.measure));
    }
    if let Some(product) = catalogue.product(name) {
        let mut text = format!("{} (product type, {})\n", product.name, product.product_use.word());
        line(&mut text, "usual active matter", product.active.as_ref(), " %");
        line(&mut text, "usual pH", product.ph.as_ref(), "");
        if let Some(why) = &product.keeps_itself {
            let _ = writeln!(text, "  keeps itself: {why}");
        }
        return Ok(text);
    }
    let function = name.to_lowercase();
    let serving: Vec<&str> = catalogue
        .materials()
        .filter(|material| material.serves_as(&function))
        .map(|material| material.id.as_str())
        .collect();
    if !serving.is_empty() {
        return Ok(format!("Raw materials used as {function}:\n  {}\n", serving.join("\n  ")));
    }
    if let Some(substance) = catalogue.substances().find(|substance| substance.inci.eq_ignore_ascii_case(name)) {
        return Ok(explain_substance(catalogue, &substance.inci));
    }
    if let Some(found) = search_figures(name, collection) {
        return Ok(found);
    }
    if let Some(hint) = lot_or_batch(name, collection) {
        return Err(format!("nothing is called `{}`. {hint}", report::echo(name)));
    }
    let kinds: Vec<&str> =
        report::ALL_KINDS.iter().copied().chain(crate::caution::kinds()).map(|kind| kind.name).collect();
    let words: Vec<&str> = crate::block::words().collect();
    let ids: Vec<&str> = collection.ids().collect();
    if let called @ [_, ..] = catalogue.called(name).take(3).collect::<Vec<_>>().as_slice() {
        let called = report::list(called, "or");
        return Err(format!("nothing is called `{}`. Did you mean {called}?", report::echo(name)));
    }
    let known = ids.into_iter().chain(catalogue.ids()).chain(kinds).chain(words);
    Err(format!(
        "nothing is called `{}`. {}",
        report::echo(name),
        suggestion(
            name,
            known,
            "Give a formula or an address of it (--in names its collection), a raw material, a product type, or the name of a finding; `products`, `materials`, `findings` and `blocks` list all of a sort."
        )
    ))
}

/// The two examples of the manual: what they have in common, what is wrong, what is right. Each text is indented.
fn explain_examples(entry: &Entry) -> String {
    let is_in = |files: &[ExampleFile], file: &ExampleFile| files.contains(file);
    let (both, wrong): (Vec<_>, Vec<_>) = entry.wrong.iter().partition(|file| is_in(&entry.right, file));
    let right = entry.right.iter().filter(|file| !is_in(&entry.wrong, file)).collect();
    let mut text = String::new();
    for (label, files) in [("With", both), ("Wrong", wrong), ("Right", right)] {
        for file in files {
            let place = if file.path == NOTEBOOK { String::new() } else { format!(", in {}", file.path) };
            let _ = writeln!(text, "\n{label}{place}:\n");
            for line in file.text.lines() {
                let indented = format!("    {line}");
                let _ = writeln!(text, "{}", indented.trim_end());
            }
        }
    }
    text
}

/// All names of one sort, one a line with a few words.
fn list_of(sort: &str, catalogue: &Catalogue) -> Option<String> {
    let mut rows: Vec<(&str, String)> = match sort {
        "products" => {
            let words = |product: &ProductType| {
                let also = if product.also.is_empty() { "" } else { "; also called " };
                format!("{}{also}{}", product.product_use.word(), product.also.join(", "))
            };
            catalogue.products().iter().map(|product| (product.name.as_str(), words(product))).collect()
        }
        "materials" => {
            let words = |material: &Material| format!("{}; {}", material.name, material.functions.join(", "));
            catalogue.materials().map(|material| (material.id.as_str(), words(material))).collect()
        }
        "findings" => {
            let kinds = report::ALL_KINDS.iter().copied().chain(crate::caution::kinds());
            kinds.map(|kind| (kind.name, format!("{}; {}", kind.severity.word(), kind.summary))).collect()
        }
        "blocks" => crate::block::KINDS.iter().map(|block| (block.word, block.gives.to_owned())).collect(),
        _ => return None,
    };
    rows.sort_by_key(|(name, _)| *name);
    Some(rows.into_iter().map(|(name, words)| format!("{name}: {words}\n")).collect())
}

/// Where a lot went, and its dates and papers; a number may stand on drums of several raw materials.
fn explain_lot(number: &str, collection: &Collection) -> Result<String, String> {
    let lots = collection.lots();
    let mut text = String::new();
    for ((material, lot), (listed, held)) in lots.iter().filter(|((_, lot), _)| lot == number) {
        let _ = writeln!(text, "lot {lot} of {material}");
        match listed {
            None => text.push_str("  not in the material files: dates and papers are not known\n"),
            Some(listed) => {
                let dates = [("received", listed.received), ("retest", listed.retest), ("expires", listed.expires)];
                for (label, date) in dates {
                    let date = date.map_or_else(|| "not known".to_owned(), |date| date.to_string());
                    let _ = writeln!(text, "  {label}: {date}");
                }
                if let Some(strength) = listed.strength {
                    let _ = writeln!(text, "  strength: {} %", show::ends(strength.low, strength.high));
                }
                for document in &listed.documents {
                    let _ = writeln!(text, "  paper: {document}");
                }
                let _ = writeln!(text, "  listed in {}", listed.file);
            }
        }
        for one in held {
            let at = &one.at;
            let day = if at.date.is_empty() { String::new() } else { format!("{} ", at.date) };
            let id = if at.id.is_empty() { String::new() } else { format!(" {}", at.id) };
            let late = one.date.is_some_and(|day| listed.is_some_and(|lot| lot.is_expired_on(day)));
            let late = if late { ", expired by then" } else { "" };
            let _ = writeln!(text, "  {day}{}{id}: {}, {}{late}", at.what, at.title, at.amount);
        }
        if held.is_empty() {
            text.push_str("  not yet used\n");
        }
    }
    if text.is_empty() {
        let known = lots.keys().map(|(_, lot)| lot.as_str());
        let otherwise = "The page of all lots lists those that are known.";
        return Err(format!(
            "no lot has the number `{}`. {}",
            report::echo(number),
            suggestion(number, known, otherwise)
        ));
    }
    Ok(text)
}

/// The records of a batch number: what was made, when, and what was decided.
fn explain_batch(number: &str, collection: &Collection) -> Result<String, String> {
    let records: Vec<(&str, &BatchRecord)> = collection
        .ids()
        .filter_map(|id| match collection.answer(id) {
            Some(Answer::BatchRecord(record)) => Some((id, &**record)),
            _ => None,
        })
        .collect();
    let mut text = String::new();
    for (id, record) in records.iter().filter(|(_, record)| record.batch_number.as_deref() == Some(number)) {
        let _ = writeln!(text, "batch {number}: {id} (batch-record)");
        let version = record.made_by.as_ref().map_or_else(String::new, |version| format!(", version {version}"));
        let _ = writeln!(text, "  of {}{version}", record.formula);
        let date = |date: Option<Date>| date.map_or_else(|| "not known".to_owned(), |date| date.to_string());
        let _ = writeln!(text, "  made: {}", date(record.date));
        let decided = record.release.as_ref().map_or_else(
            || "nothing noted".to_owned(),
            |release| match &release.date {
                Some(day) => format!("{}, {}", release.decision.value.word(), day.value),
                None => release.decision.value.word().to_owned(),
            },
        );
        let _ = writeln!(text, "  decided: {decided}");
    }
    if text.is_empty() {
        let known = records.iter().filter_map(|(_, record)| record.batch_number.as_deref());
        let otherwise = "Only records with an `id` and a `batch-number` are found by it.";
        let echoed = report::echo(number);
        return Err(format!("no record has the batch number `{echoed}`. {}", suggestion(number, known, otherwise)));
    }
    Ok(text)
}

/// How a number is asked for that stands on a drum or on a batch; small and capital letters count the same here.
fn lot_or_batch(number: &str, collection: &Collection) -> Option<String> {
    let is_meant = |known: &str| known.trim().to_lowercase() == number.trim().to_lowercase();
    let lots = collection.lots();
    let lot = lots.keys().map(|(_, lot)| lot.as_str()).find(|lot| is_meant(lot)).map(|lot| format!("lot/{lot}"));
    let batches = collection.ids().filter_map(|id| match collection.answer(id) {
        Some(Answer::BatchRecord(record)) => record.batch_number.as_deref(),
        _ => None,
    });
    let batch = batches.into_iter().find(|batch| is_meant(batch)).map(|batch| format!("batch/{batch}"));
    let names: Vec<String> = lot.into_iter().chain(batch).collect();
    (!names.is_empty()).then(|| format!("Ask for it as {}.", report::list(&names, "or")))
}

fn line(text: &mut String, label: &str, fact: Option<&Fact>, unit: &str) {
    if let Some(fact) = fact {
        let note = fact.note.as_ref().map_or(String::new(), |note| format!("; {note}"));
        let _ = writeln!(text, "  {label}: {}{unit} ({}{note})", fact.words(), fact.source_line());
    }
}

fn explain_material(material: &Material, statements: &Statements) -> String {
    let mut text = format!("{} ({})\n", material.name, material.id);
    match &material.origin {
        Origin::BuiltIn => {}
        Origin::Own { path, over: false } => {
            let _ = writeln!(text, "  own material, from {path}");
        }
        Origin::Own { path, over: true } => {
            let _ = writeln!(text, "  own entry over the built-in one, from {path}");
        }
    }
    if !material.also.is_empty() {
        let _ = writeln!(text, "  also called: {}", material.also.join(", "));
    }
    let _ = writeln!(text, "  used as: {}", material.functions.join(", "));
    if let Some(form) = &material.form {
        let _ = writeln!(text, "  form: {form}");
    }
    for component in &material.contains {
        let class = component.surfactant.map_or(String::new(), |class| format!(", {} active matter", class.word()));
        let bound = component.bound_to.as_ref().map_or(String::new(), |to| format!(", bound in {to}"));
        let _ = writeln!(
            text,
            "  contains {}: {} %{class}{bound} ({})",
            component.inci,
            component.percent.words(),
            component.percent.source_line()
        );
    }
    for constituent in &material.constituents {
        line(&mut text, &format!("constituent {}", constituent.inci), Some(&constituent.percent), " %");
    }
    for detail in material.told(statements) {
        let _ = writeln!(text, "  {}: {} ({})", detail.key, detail.text, detail.source_line());
    }
    text
}

fn explain_statement(statement: &Statement, statements: &Statements) -> String {
    let code = &statement.code;
    let mut text = format!("{code} (hazard statement of the GHS)\n  {}\n", statement.text);
    let signals: Vec<&str> = statement.signal.into_iter().chain(statement.milder).map(Signal::word).collect();
    if !signals.is_empty() {
        let _ = writeln!(text, "  signal word: {}", signals.join(" or "));
    }
    if let Some(pictogram) = &statement.pictogram {
        let _ = writeln!(text, "  pictogram: {pictogram} {}", statements.pictogram(pictogram).unwrap_or_default());
    }
    text
}

/// Source and remark behind a statement.
fn in_brackets(source: Option<&Source>, note: Option<&str>) -> String {
    let source = source.map_or_else(|| "no source given".to_owned(), Source::line);
    let note = note.map_or(String::new(), |note| format!("; {note}"));
    format!(" ({source}{note})")
}

fn explain_substance(catalogue: &Catalogue, inci: &str) -> String {
    let Some(substance) = catalogue.substance(inci) else { return String::new() };
    let mut text = format!("{inci} (substance)\n");
    if let Some(cas) = &substance.cas {
        let _ = writeln!(text, "  CAS number: {cas}");
    }
    line(&mut text, "molar mass", substance.molar_mass.as_ref(), " g/mol");
    if let Some(acid) = &substance.acid {
        let _ = writeln!(text, "  counted as {acid} where a limit says so");
    }
    if let Some(steps) = &substance.pka {
        let values: Vec<String> = steps.pka.iter().map(ToString::to_string).collect();
        let brackets = in_brackets(steps.source.as_deref(), steps.note.as_deref());
        let _ = writeln!(text, "  pKa at 25 °C: {}{brackets}", values.join(", "));
    }
    explain_rules(catalogue, inci, &mut text);
    let used: Vec<&str> = catalogue
        .materials()
        .filter(|material| material.contains.iter().any(|part| part.inci == inci))
        .map(|material| material.id.as_str())
        .collect();
    let used = if used.is_empty() { "no raw material of the catalogue".to_owned() } else { used.join(", ") };
    let _ = writeln!(text, "  in: {used}");
    text
}

/// Every ceiling, pH bound and label warning of all rule sets that counts a substance.
fn explain_rules(catalogue: &Catalogue, inci: &str, text: &mut String) {
    let counts = |counting: &Counting| counting.substances.iter().any(|known| known == inci);
    for limit in catalogue.limits().iter().filter(|limit| counts(&limit.counting)) {
        let basis = limit.counting.counted_as.as_ref().map_or(String::new(), |basis| format!(", as {basis}"));
        let purpose = match limit.counting.purpose.as_deref() {
            None => String::new(),
            Some("other") => ", for another purpose than preserving".to_owned(),
            Some(purpose) => format!(", as {purpose}"),
        };
        let from = limit.from.as_ref().map_or(String::new(), |day| format!(", from {day}"));
        let rest = format!("{basis}{purpose}{from} ({}, {}, {})", limit.rules, limit.entry, limit.how.words());
        let label = if limit.is_advice { "advice" } else { "limit" };
        for words in limit.texts() {
            let _ = writeln!(text, "  {label}: {words}{rest}");
        }
    }
    for warning in catalogue.warnings().iter().filter(|warning| counts(&warning.counting)) {
        let above = match warning.above.value() {
            above if above.is_zero() => String::new(),
            above => format!(" above {above} %"),
        };
        let _ = writeln!(
            text,
            "  on the label{above}{}: {} ({}, {}, {})",
            warning.scope.words(),
            warning.words,
            warning.rules,
            warning.entry,
            warning.how.words()
        );
    }
}
