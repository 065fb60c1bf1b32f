//! The data file of a page as an earlier publish wrote it, read back: what the formulas of a notebook were then.
//!
//! Pure: the edge hands in the text of a file. Only what is written beside every page is asked for, so that files of older versions of the program
//! with the same schema can be read; a key that is not there is empty.

use super::context::{NumberContext, PAGE_SCHEMA};
use serde_json::{Map, Value};
use std::collections::BTreeMap;
use std::fmt;

/// A page of an earlier publish.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormerPage {
    /// Path of its notebook in the collection.
    pub notebook: String,
    /// Its title.
    pub title: String,
    /// Its formulas in the order of the page.
    pub formulas: Vec<FormerFormula>,
    /// Figures of its other blocks, by address.
    pub blocks: BTreeMap<String, FormerFigure>,
    /// The numbers of its prose, by what their calc link asked for.
    pub numbers: BTreeMap<String, FormerFigure>,
    /// Its ingredient declarations in the order of the page.
    pub declarations: Vec<FormerDeclaration>,
    /// What was found about the page.
    pub findings: Vec<FormerFinding>,
}

/// A formula of an earlier publish.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FormerFormula {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// The author's version, or empty.
    pub version: String,
    /// Its check value.
    pub check: String,
    /// Its pH specification as printed, or empty.
    pub specification: String,
    /// How much was made.
    pub batch: FormerFigure,
    /// Its lines in the order of the sheet.
    pub lines: Vec<FormerLine>,
    /// All figures of its sheet, by address.
    pub figures: BTreeMap<String, FormerFigure>,
    /// What stood under its sheet.
    pub findings: Vec<FormerFinding>,
}

/// One line of an earlier sheet.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FormerLine {
    /// The letter of its phase.
    pub phase: String,
    /// The id of the raw material.
    pub material: String,
    /// Its name.
    pub name: String,
    /// Its share, %.
    pub percent: FormerFigure,
    /// Its weight, g.
    pub weight: FormerFigure,
}

/// A number of an earlier page.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FormerFigure {
    /// As it was printed.
    pub text: String,
    /// The exact value, a decimal as text; the typical one of a range.
    pub value: String,
    /// Its unit, or empty.
    pub unit: String,
    /// Lower end, where the value was a range.
    pub low: Option<String>,
    /// Upper end, where the value was a range.
    pub high: Option<String>,
}

/// An ingredient declaration of an earlier page.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FormerDeclaration {
    /// The id of the formula.
    pub formula: String,
    /// The word of the rule set.
    pub rules: String,
    /// As it stood on the label.
    pub text: String,
}

/// Something that was found then.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct FormerFinding {
    /// The name of its kind.
    pub name: String,
    /// caution, question or note.
    pub severity: String,
    /// The sentence.
    pub what: String,
}

/// Why a text is no data file of a page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FormerFault {
    /// It is no JSON; what the reader says, with line and column.
    NotJson(String),
    /// It is JSON of another kind: no object, or one that names no schema.
    NotOurs,
    /// It names another schema.
    OtherSchema(String),
    /// Something that every data file has is missing or of another type.
    Missing(String),
}

impl fmt::Display for FormerFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FormerFault::NotJson(reason) => write!(f, "this is no JSON: {reason}"),
            FormerFault::NotOurs => {
                write!(f, "this JSON names no schema; the data file beside a page names `{PAGE_SCHEMA}`")
            }
            FormerFault::OtherSchema(schema) => {
                let schema = crate::report::echo(schema);
                write!(f, "its schema is `{schema}`; only `{PAGE_SCHEMA}` can be read here")
            }
            FormerFault::Missing(what) => {
                write!(
                    f,
                    "it says `{PAGE_SCHEMA}`, but {what}; publish that collection again, or take the file from a copy"
                )
            }
        }
    }
}

impl FormerPage {
    /// Reads the data file beside a page.
    ///
    /// # Errors
    /// When the text is no JSON, names another schema than `tarebook page 1`, or lacks what every such file has.
    pub fn read(text: &str) -> Result<FormerPage, FormerFault> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let json: Value = serde_json::from_str(text).map_err(|error| FormerFault::NotJson(error.to_string()))?;
        let page = json.as_object().ok_or(FormerFault::NotOurs)?;
        match page.get("schema").and_then(Value::as_str) {
            None => return Err(FormerFault::NotOurs),
            Some(PAGE_SCHEMA) => {}
            Some(other) => return Err(FormerFault::OtherSchema(other.to_owned())),
        }
        let notebook = needed_text(page, "notebook", "the page")?;
        let sheets = needed_list(page, "formulas", "the page")?;
        let mut blocks = BTreeMap::new();
        gather(page.get("blocks").unwrap_or(&Value::Null), &mut blocks);
        let numbers = list(page, "numbers").iter().filter_map(|linked| {
            let asked = linked.get("asked")?.as_str()?;
            Some((asked.to_owned(), figure(linked.get("number")?)?))
        });
        Ok(FormerPage {
            notebook,
            title: text_of(page, "title"),
            formulas: sheets.iter().map(read_formula).collect::<Result<_, _>>()?,
            blocks,
            numbers: numbers.collect(),
            declarations: list(page, "blocks").iter().filter_map(read_declaration).collect(),
            findings: read_findings(page),
        })
    }
}

fn read_formula(sheet: &Value) -> Result<FormerFormula, FormerFault> {
    let what = "one of its formulas";
    let sheet = sheet.as_object().ok_or_else(|| FormerFault::Missing(format!("{what} is no object")))?;
    let id = needed_text(sheet, "id", what)?;
    let whose = format!("the formula `{}`", crate::report::echo(&id));
    let batch = sheet.get("batch").and_then(figure);
    let mut lines = Vec::new();
    for phase in needed_list(sheet, "phases", &whose)? {
        let phase =
            phase.as_object().ok_or_else(|| FormerFault::Missing(format!("{whose} has a phase that is no object")))?;
        for line in needed_list(phase, "lines", &whose)? {
            lines.push(read_line(line, &text_of(phase, "key"), &whose)?);
        }
    }
    let mut figures = BTreeMap::new();
    sheet.values().for_each(|part| gather(part, &mut figures));
    Ok(FormerFormula {
        check: needed_text(sheet, "check", &whose)?,
        batch: batch.ok_or_else(|| FormerFault::Missing(format!("{whose} has no batch")))?,
        title: text_of(sheet, "title"),
        version: text_of(sheet, "version"),
        specification: text_of(sheet, "specification"),
        lines,
        figures,
        findings: read_findings(sheet),
        id,
    })
}

fn read_line(line: &Value, phase: &str, whose: &str) -> Result<FormerLine, FormerFault> {
    let incomplete = || FormerFault::Missing(format!("{whose} has a line without material, share and weight"));
    let line = line.as_object().ok_or_else(incomplete)?;
    let number = |key: &str| line.get(key).and_then(figure).ok_or_else(incomplete);
    Ok(FormerLine {
        phase: phase.to_owned(),
        material: line.get("material").and_then(Value::as_str).ok_or_else(incomplete)?.to_owned(),
        name: text_of(line, "name"),
        percent: number("percent")?,
        weight: number("weight")?,
    })
}

fn read_declaration(block: &Value) -> Option<FormerDeclaration> {
    let block = block.as_object().filter(|block| text_of(block, "word") == "declaration")?;
    Some(FormerDeclaration {
        formula: text_of(block, "formula"),
        rules: text_of(block, "rules"),
        text: text_of(block, "text"),
    })
}

fn read_findings(whose: &Map<String, Value>) -> Vec<FormerFinding> {
    let findings = list(whose, "findings").iter().filter_map(Value::as_object);
    findings
        .map(|finding| FormerFinding {
            name: text_of(finding, "name"),
            severity: text_of(finding, "severity"),
            what: text_of(finding, "what"),
        })
        .collect()
}

/// Every object with an address below a value. The JSON reader bounds how deep values are nested.
fn gather(value: &Value, figures: &mut BTreeMap<String, FormerFigure>) {
    match value {
        Value::Object(object) => {
            let address = object.get("address").and_then(Value::as_str).filter(|address| !address.is_empty());
            if let Some((address, figure)) = address.zip(figure(value)) {
                figures.entry(address.to_owned()).or_insert(figure);
            }
            object.values().for_each(|part| gather(part, figures));
        }
        Value::Array(parts) => parts.iter().for_each(|part| gather(part, figures)),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

/// A number as [`NumberContext`] writes it.
fn figure(value: &Value) -> Option<FormerFigure> {
    let number = value.as_object()?;
    let end = |key: &str| number.get(key).and_then(Value::as_str).map(str::to_owned);
    Some(FormerFigure {
        text: number.get("text")?.as_str()?.to_owned(),
        value: number.get("value")?.as_str()?.to_owned(),
        unit: text_of(number, "unit"),
        low: end("low"),
        high: end("high"),
    })
}

impl From<&NumberContext> for FormerFigure {
    /// A number of today in the same form, for telling whether it changed.
    fn from(number: &NumberContext) -> FormerFigure {
        FormerFigure {
            text: number.text.clone(),
            value: number.value.clone(),
            unit: number.unit.to_string(),
            low: number.low.clone(),
            high: number.high.clone(),
        }
    }
}

fn text_of(object: &Map<String, Value>, key: &str) -> String {
    object.get(key).and_then(Value::as_str).unwrap_or_default().to_owned()
}

fn list<'v>(object: &'v Map<String, Value>, key: &str) -> &'v [Value] {
    object.get(key).and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

fn needed_text(object: &Map<String, Value>, key: &str, whose: &str) -> Result<String, FormerFault> {
    let text = object.get(key).and_then(Value::as_str).filter(|text| !text.is_empty());
    text.map(str::to_owned).ok_or_else(|| FormerFault::Missing(format!("{whose} has no `{key}`")))
}

fn needed_list<'v>(object: &'v Map<String, Value>, key: &str, whose: &str) -> Result<&'v [Value], FormerFault> {
    let list = object.get(key).and_then(Value::as_array);
    list.map(Vec::as_slice).ok_or_else(|| FormerFault::Missing(format!("{whose} has no list `{key}`")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::collection::{Collection, Sources};
    use std::sync::Arc;

    const NOTEBOOK: &str = "# Wash\n\n[3 %](calc:wash/glycerin/percent) and [2 g](calc:wash/glycerin/weight?batch=2kg)\n\n```formula\nid = \"wash\"\nversion = \"2\"\n\
        batch = \"500 g\"\nph = \"5..6\"\n[phase.A]\nwater = \"q.s. to 100\"\nglycerin = 3\n[phase.B]\ncocamidopropyl-betaine = 10\n```\n\n\
        ```declaration\nformula = \"wash\"\n```\n";

    fn published() -> String {
        let mut sources = Sources::default();
        sources.notebooks.insert(Arc::from("wash.md"), Arc::from(NOTEBOOK));
        let mut collection = Collection::new();
        collection.update(sources);
        let files = collection.render("wash.md").unwrap_or_default();
        let data = files.into_iter().find(|file| file.path == "wash.json").map(|file| file.bytes);
        String::from_utf8(data.unwrap_or_default()).unwrap_or_default()
    }

    #[track_caller]
    fn refused(text: &str, expected: &str) {
        let fault = FormerPage::read(text).err().map(|fault| fault.to_string()).unwrap_or_default();
        assert!(fault.contains(expected), "{fault}");
    }

    #[test]
    fn what_is_published_can_be_read_back() {
        let page = FormerPage::read(&published()).unwrap();
        assert_eq!((page.notebook.as_str(), page.title.as_str()), ("wash.md", "Wash"));
        let [formula] = page.formulas.as_slice() else { unreachable!("one formula") };
        assert_eq!((formula.id.as_str(), formula.version.as_str(), formula.check.len()), ("wash", "2", 8));
        assert_eq!((formula.batch.value.as_str(), formula.batch.unit.as_str()), ("500", "g"));
        assert_eq!(formula.specification, "pH\u{a0}5\u{2013}6");
        let lines: Vec<[&str; 4]> = formula
            .lines
            .iter()
            .map(|line| [&line.phase, &line.material, &line.percent.value, &line.weight.value].map(String::as_str))
            .collect();
        let expected =
            [["A", "water", "87", "435"], ["A", "glycerin", "3", "15"], ["B", "cocamidopropyl-betaine", "10", "50"]];
        assert_eq!(lines, expected);
        assert_eq!(formula.figures["wash/phase/A/weight"].value, "450");
        let active = &formula.figures["wash/active-matter"];
        assert!(active.low.is_some() && active.low < active.high, "{active:?}");
        // What is asked for another batch stays apart from the sheet's own weight.
        assert_eq!(formula.figures["wash/glycerin/weight"].value, "15");
        assert_eq!(page.numbers["wash/glycerin/weight?batch=2kg"].value, "60");
        assert!(page.declarations[0].text.starts_with("Aqua"), "{:?}", page.declarations);
        assert!(
            page.findings.iter().any(|finding| finding.name == "water-without-preservative"),
            "{:?}",
            page.findings
        );
    }

    #[test]
    fn other_files_are_refused_with_the_reason() {
        refused("", "no JSON");
        refused("{\"schema\": \"tarebook page 1\",", "no JSON: EOF");
        refused("[1, 2]", "names no schema");
        refused("{\"name\": \"wash\"}", "names no schema");
        refused("{\"schema\": \"tarebook page 2\"}", "its schema is `tarebook page 2`; only `tarebook page 1`");
        refused("{\"schema\": \"tarebook page 1\"}", "the page has no `notebook`");
        refused("{\"schema\": \"tarebook page 1\", \"notebook\": \"a.md\"}", "no list `formulas`");
        let formula = |rest: &str| {
            format!(
                "{{\"schema\": \"tarebook page 1\", \"notebook\": \"a.md\", \"formulas\": [{{\"id\": \"a\"{rest}}}]}}"
            )
        };
        refused(&formula(""), "the formula `a` has no list `phases`");
        refused(&formula(", \"phases\": []"), "the formula `a` has no `check`");
        refused(&formula(", \"phases\": [], \"check\": \"ABC-DEFG\""), "the formula `a` has no batch");
        refused(&formula(", \"phases\": [{\"lines\": [{}]}]"), "a line without material");
    }

    #[test]
    fn a_page_of_prose_has_no_figures() {
        let page =
            FormerPage::read("{\"schema\": \"tarebook page 1\", \"notebook\": \"a.md\", \"formulas\": []}").unwrap();
        assert!(page.formulas.is_empty() && page.numbers.is_empty() && page.findings.is_empty());
    }
}
