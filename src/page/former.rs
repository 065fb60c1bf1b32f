//! The data file of an earlier publish, read again: what a page said.

use super::context::NumberContext;
use serde_json::{Map, Value};
use std::collections::{BTreeMap, BTreeSet};

/// The schema that is read.
pub const PAGE_SCHEMA: &str = "tarebook page 1";

/// What a page said, from its data file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FormerPage {
    /// The notebook's path.
    pub notebook: String,
    /// Its title.
    pub title: String,
    /// Its formulas and blocks, and those that its text takes numbers from, by id.
    pub parts: BTreeMap<String, FormerPart>,
    /// What was found about it.
    pub findings: BTreeSet<FormerFinding>,
}

/// Something that was found about a page.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct FormerFinding {
    /// The name of its kind.
    pub name: String,
    /// caution, question or note.
    pub severity: String,
    /// The sentence.
    pub what: String,
}

/// What a page said of a formula or block.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FormerPart {
    /// The title of a formula, or empty.
    pub title: String,
    /// The author's version, or empty.
    pub version: String,
    /// The check value of a formula, or empty.
    pub check: String,
    /// The pH specification of a formula as printed, or empty.
    pub specification: String,
    /// The batch of a formula, as printed.
    pub batch: Option<String>,
    /// The raw materials of a formula, as they are written, with the letters of their phases.
    pub phases: BTreeMap<String, Vec<String>>,
    /// The names of an ingredient declaration, in order.
    pub declared: Vec<String>,
    /// The formula that a block builds on, or empty.
    pub formula: String,
    /// Whether its sheet or block stands on the page; otherwise only numbers of the text name it.
    pub is_here: bool,
    /// Its numbers, by the address below the id, with the query of a calc link that asks for another batch.
    pub numbers: BTreeMap<String, FormerNumber>,
    /// The addresses in the order of the page.
    pub order: Vec<String>,
}

/// A number as it was printed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FormerNumber {
    /// What it is of, in words.
    pub what: String,
    /// As printed.
    pub text: String,
    /// The exact value, or words.
    pub value: String,
    /// Its unit, or empty.
    pub unit: String,
    /// Lower end of a range.
    pub low: Option<String>,
    /// Upper end.
    pub high: Option<String>,
}

impl FormerNumber {
    /// A number of now in the same form.
    pub fn of(number: &NumberContext) -> FormerNumber {
        FormerNumber {
            what: String::new(),
            text: number.text.clone(),
            value: number.value.clone(),
            unit: number.unit.to_string(),
            low: number.low.clone(),
            high: number.high.clone(),
        }
    }

    /// Whether the exact value and its ends are the same.
    pub fn is_same_value(&self, other: &FormerNumber) -> bool {
        let exact = |one: &FormerNumber| (one.value.clone(), one.unit.clone(), one.low.clone(), one.high.clone());
        exact(self) == exact(other)
    }
}

impl FormerPage {
    /// Reads a data file.
    ///
    /// # Errors
    /// A sentence that says why it is none.
    pub fn read(bytes: &[u8]) -> Result<FormerPage, String> {
        let data: Value = serde_json::from_slice(bytes).map_err(|error| format!("this is not JSON: {error}"))?;
        let schema = text(data.as_object(), "schema");
        if schema != PAGE_SCHEMA {
            return Err(match schema.as_str() {
                "" => "this is not the data file of a page".to_owned(),
                other => format!("its schema is “{other}”, and only “{PAGE_SCHEMA}” is known"),
            });
        }
        let mut page = FormerPage {
            notebook: text(data.as_object(), "notebook"),
            title: text(data.as_object(), "title"),
            parts: BTreeMap::new(),
            findings: BTreeSet::new(),
        };
        page.take_findings(&data);
        items(&data, "formulas").chain(items(&data, "blocks")).for_each(|part| page.take_part(part));
        items(&data, "numbers").for_each(|link| page.take_link(link));
        Ok(page)
    }

    fn take_findings(&mut self, data: &Value) {
        for finding in items(data, "findings") {
            let said = |key| text(finding.as_object(), key);
            let finding = FormerFinding { name: said("name"), severity: said("severity"), what: said("what") };
            self.findings.insert(finding);
        }
    }

    fn take_part(&mut self, data: &Value) {
        let Some(object) = data.as_object() else { return };
        let id = text(Some(object), "id");
        self.take_findings(data);
        // Numbers of a block without an id cannot be told from those of another one; an expectation repeats those of others.
        if id.is_empty() || text(Some(object), "word") == "expect" {
            return;
        }
        let part = self.parts.entry(id.clone()).or_default();
        part.is_here = true;
        part.title = text(Some(object), "title");
        part.formula = text(Some(object), "formula");
        part.version = text(Some(object), "version");
        part.check = text(Some(object), "check");
        part.specification = text(Some(object), "specification");
        for phase in items(data, "phases") {
            let key = text(phase.as_object(), "key");
            for line in items(phase, "lines") {
                let phases = part.phases.entry(text(line.as_object(), "written")).or_default();
                phases.push(key.clone());
            }
        }
        if text(Some(object), "word") == "declaration" {
            part.declared = items(data, "ingredients").map(|one| text(one.as_object(), "name")).collect();
        }
        part.batch = object.get("batch").and_then(|batch| Some(batch.get("text")?.as_str()?.to_owned()));
        part.walk(&id, data, "");
    }

    /// A number of the text, unless the sheet or block says it already.
    fn take_link(&mut self, link: &Value) {
        let asked = text(link.as_object(), "asked");
        let (path, query) = asked.split_once('?').unwrap_or((&asked, ""));
        let Some((id, below)) = path.split_once('/') else { return };
        let Some(number) = link.get("number").and_then(Value::as_object) else { return };
        let part = self.parts.entry(id.to_owned()).or_default();
        let batch = query.split('&').find(|pair| pair.starts_with("batch="));
        let address = match batch {
            Some(batch) => format!("{below}?{batch}"),
            None => below.to_owned(),
        };
        part.put(address, number, "");
    }
}

impl FormerPart {
    /// Gathers every number below a piece of data; `name` is what the nearest object around it is called.
    fn walk(&mut self, id: &str, data: &Value, name: &str) {
        match data {
            Value::Object(object) => {
                let own = text(Some(object), "name");
                let name = if own.is_empty() { name } else { &own };
                let address = text(Some(object), "address");
                if object.contains_key("working")
                    && let Some(below) = address.strip_prefix(id).and_then(|rest| rest.strip_prefix('/'))
                {
                    self.put(below.to_owned(), object, name);
                }
                object.values().for_each(|inner| self.walk(id, inner, name));
            }
            Value::Array(list) => list.iter().for_each(|inner| self.walk(id, inner, name)),
            _ => {}
        }
    }

    fn put(&mut self, address: String, number: &Map<String, Value>, name: &str) {
        if self.numbers.contains_key(&address) {
            return;
        }
        let end = |key: &str| number.get(key).and_then(Value::as_str).map(str::to_owned);
        let unit = text(Some(number), "unit");
        let mut printed = text(Some(number), "text");
        // Percentages in a column that is headed so are printed without their sign.
        if unit == "%" && !printed.ends_with('%') {
            printed.push_str("\u{a0}%");
        }
        let one = FormerNumber {
            what: words_of(&address, name),
            text: printed,
            value: text(Some(number), "value"),
            unit,
            low: end("low"),
            high: end("high"),
        };
        self.order.push(address.clone());
        self.numbers.insert(address, one);
    }
}

fn items<'v>(data: &'v Value, key: &str) -> impl Iterator<Item = &'v Value> {
    data.get(key).and_then(Value::as_array).into_iter().flatten()
}

fn text(object: Option<&Map<String, Value>>, key: &str) -> String {
    object.and_then(|object| object.get(key)?.as_str()).unwrap_or_default().to_owned()
}

/// What an address is of, in words: "Glycerin: weight", "active matter: anionic".
fn words_of(address: &str, name: &str) -> String {
    let path = address.split('?').next().unwrap_or(address);
    let parts: Vec<&str> = path.split('/').collect();
    let spaced = |part: &str| part.replace('-', " ");
    let plain = |part: &&str| if *part == "percent" { "% w/w".to_owned() } else { spaced(part) };
    match (parts.as_slice(), name) {
        ([_, last], name) if !name.is_empty() => format!("{name}: {}", plain(last)),
        // Phases and steps keep their letter or number.
        ([word @ ("phase" | "step"), key, rest @ .., last], _) => {
            let head: Vec<String> =
                [format!("{word} {key}")].into_iter().chain(rest.iter().map(|part| spaced(part))).collect();
            format!("{}: {}", head.join(", "), plain(last))
        }
        ([head @ .., last], _) if !head.is_empty() => {
            format!("{}: {}", head.iter().map(|part| spaced(part)).collect::<Vec<_>>().join(", "), plain(last))
        }
        ([only], _) => plain(only),
        _ => spaced(path),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn fault(bytes: &str, expected: &str) {
        let error = FormerPage::read(bytes.as_bytes()).unwrap_err();
        assert!(error.contains(expected), "{error}");
    }

    #[test]
    fn other_files_are_told_apart() {
        fault("# Wash", "not JSON");
        fault("{}", "not the data file of a page");
        fault("[1]", "not the data file of a page");
        fault("{\"schema\":\"tarebook page 9\"}", "“tarebook page 9”");
    }

    #[test]
    fn addresses_become_words() {
        assert_eq!(words_of("glycerin/percent", "Glycerin"), "Glycerin: % w/w");
        assert_eq!(words_of("phase/A/vessel", ""), "phase A: vessel");
        assert_eq!(words_of("active-matter/anionic", ""), "active matter: anionic");
        assert_eq!(words_of("glycerin/weight?batch=2kg", ""), "glycerin: weight");
        assert_eq!(words_of("step/2/glycerin/weight", ""), "step 2, glycerin: weight");
        assert_eq!(words_of("batch", ""), "batch");
    }
}
