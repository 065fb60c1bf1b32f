//! How a raw material is classified by the Globally Harmonized System (GHS): signal word, hazard statements, pictograms.
//!
//! Holds the standard's tables of statements and pictograms, the classification of materials as supplied, and the rules by which
//! statements make a label. It does not classify mixtures: what a diluted material or a finished product would be is never worked out.

use super::read::{Sources, named_tables, read_source};
use super::{Fact, Material, Source};
use crate::block::{Reader, Table};
use crate::quantity::{Decimal, Range};
use crate::report::{Finding, Place, echo, kind, suggestion};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The word on a label that says how severe the worst of its hazards is (UN GHS, 1.4.10.5.2; Regulation (EC) No 1272/2008,
/// Article 20: where "Danger" applies, "Warning" is not printed).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Signal {
    /// The less severe.
    Warning,
    /// The more severe.
    Danger,
}

impl Signal {
    /// As the label prints it.
    pub fn word(self) -> &'static str {
        match self {
            Signal::Warning => "Warning",
            Signal::Danger => "Danger",
        }
    }

    fn from_word(word: &str) -> Option<Signal> {
        [Signal::Warning, Signal::Danger].into_iter().find(|signal| signal.word() == word)
    }
}

/// A hazard statement of the standard (UN GHS, Annex 3, section 1; Regulation (EC) No 1272/2008, Annex III).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Statement {
    /// Its code, such as H314.
    pub code: String,
    /// The standard's words.
    pub text: String,
    /// The signal word that goes with it; of its most severe category, where categories share it.
    pub signal: Option<Signal>,
    /// The signal word of a milder category that carries the same statement.
    pub milder: Option<Signal>,
    /// The code of its pictogram.
    pub pictogram: Option<String>,
    /// The key of the hazard under which handling names it.
    pub hazard: String,
    /// Whether it is worth a line of handling by itself.
    pub opens_line: bool,
    /// Statements that it makes superfluous (Article 27 there).
    pub covers: Vec<String>,
}

/// How one raw material is classified as supplied.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Classification {
    /// The signal word of the label, if it has one.
    pub signal: Option<Signal>,
    /// The codes of its statements; none when it is known to have no class.
    pub statements: Vec<String>,
    /// The codes of the pictograms of the label.
    pub pictograms: Vec<String>,
    /// A remark: what older sheets show, where sheets differ.
    pub note: Option<String>,
    /// Where it comes from.
    pub source: Option<Arc<Source>>,
}

/// The tables of the standard.
#[derive(Clone, Debug, Default)]
pub struct Statements {
    statements: BTreeMap<String, Statement>,
    pictograms: BTreeMap<String, String>,
}

impl Statements {
    /// The statement of a code.
    pub fn statement(&self, code: &str) -> Option<&Statement> {
        self.statements.get(code)
    }

    /// All statements by code.
    pub fn statements(&self) -> impl Iterator<Item = &Statement> {
        self.statements.values()
    }

    /// The standard's name of a pictogram, such as "corrosion" for GHS05 (UN GHS, Annex 1).
    pub fn pictogram(&self, code: &str) -> Option<&str> {
        self.pictograms.get(code).map(String::as_str)
    }

    /// All pictograms: code and name.
    pub fn pictograms(&self) -> impl Iterator<Item = (&str, &str)> {
        self.pictograms.iter().map(|(code, name)| (code.as_str(), name.as_str()))
    }

    /// The signal word and the pictograms of a label with these statements. "Danger" wins (Regulation (EC) No 1272/2008, Article 20).
    /// The exclamation mark is left out where it would only repeat a graver pictogram (Article 26(1)): with the skull; for skin and eye
    /// irritation with the corrosion; for skin allergy and irritation with the health hazard of an allergy of the airways. It stays
    /// when another statement asks for it. Unknown codes count for nothing.
    pub fn label<S: AsRef<str>>(&self, codes: &[S]) -> (Option<Signal>, Vec<String>) {
        let known: Vec<&Statement> = codes.iter().filter_map(|code| self.statement(code.as_ref())).collect();
        let has = |code: &str| known.iter().any(|statement| statement.code == code);
        let shows = |picture: &str| known.iter().any(|statement| statement.pictogram.as_deref() == Some(picture));
        let is_repeated = |statement: &Statement| {
            let code = statement.code.as_str();
            statement.pictogram.as_deref() == Some("GHS07")
                && (shows("GHS06")
                    || (["H315", "H319"].contains(&code) && (has("H314") || has("H318")))
                    || (["H315", "H317", "H319"].contains(&code) && has("H334")))
        };
        let mut pictograms: Vec<String> =
            known.iter().filter(|one| !is_repeated(one)).filter_map(|one| one.pictogram.clone()).collect();
        pictograms.sort_unstable();
        pictograms.dedup();
        (known.iter().filter_map(|statement| statement.signal).max(), pictograms)
    }

    /// Fills in what an own entry leaves to the standard, and reports codes that are not in the tables.
    pub(super) fn complete(&self, own: &mut Classification, id: &str, place: &Place) -> Vec<Finding> {
        let unknown = |code: &String| self.statement(code).is_none();
        let findings = own.statements.iter().filter(|code| unknown(code)).map(|code| {
            let known = self.statements.keys().map(String::as_str);
            let otherwise = "Take the code from the safety data sheet, or describe the hazard under `handling`.";
            Finding::new(
                kind::BAD_MATERIAL,
                place.clone(),
                format!("`{}` is classified as `{}`, which is no known hazard statement.", echo(id), echo(code)),
            )
            .mend(suggestion(code, known, otherwise))
        });
        let findings = findings.collect();
        let (signal, pictograms) = self.label(&own.statements);
        own.signal = own.signal.or(signal);
        if own.pictograms.is_empty() {
            own.pictograms = pictograms;
        }
        findings
    }
}

impl Material {
    /// The classification, when it holds for what is weighed: a lot of another strength than the catalogue's has another class.
    pub fn classification_at(&self, strength: Option<Range>) -> Option<&Classification> {
        let classification = self.classification.as_deref()?;
        let within = match (strength, self.strength.as_ref().and_then(Fact::range)) {
            (Some(lot), Some(usual)) => is_same_grade(lot, usual),
            _ => true,
        };
        within.then_some(classification)
    }
}

/// Whether a strength is that of a grade, both in %: within its range, or a tenth of it beyond, which is the spread of lots and not another
/// grade. Common practice, no source.
fn is_same_grade(lot: Range, grade: Range) -> bool {
    let tenth = Decimal::from_parts(1, 0, 0, false, 1);
    let (low, high) = (grade.low * (Decimal::ONE - tenth), grade.high * (Decimal::ONE + tenth));
    low <= lot.typical && lot.typical <= high
}

/// The classification that an own entry keeps of the built-in one: all of it while what is in the bottle is still the same.
pub(super) fn kept(base: &Material, own: &Material) -> Option<Arc<Classification>> {
    let within = |own: &Fact, base: &Fact| match (own.range(), base.range()) {
        (Some(own), Some(base)) => is_same_grade(own, base),
        _ => false,
    };
    let same_strength = match (&own.strength, &base.strength) {
        (Some(own), Some(base)) => within(own, base),
        _ => true,
    };
    let part_stays = |part: &super::Component| {
        base.contains.iter().any(|known| known.inci == part.inci && within(&part.percent, &known.percent))
    };
    let same_parts =
        own.contains.is_empty() || (own.contains.len() == base.contains.len() && own.contains.iter().all(part_stays));
    base.classification.clone().filter(|_| same_strength && same_parts)
}

/// One classification: the table of a material in the catalogue's file, or `classification` in an own entry.
pub(super) fn read_classification(reader: &Reader<'_>, table: &Table<'_, '_>, sources: &Sources) -> Classification {
    let texts = |key| table.texts(key).into_iter().map(|text| text.value).collect();
    let classification = Classification {
        signal: read_signal(reader, table, "signal"),
        statements: texts("statements"),
        pictograms: texts("pictograms"),
        note: table.text("note").map(|note| note.value),
        source: read_source(reader, table, sources),
    };
    table.finish();
    if table.get("statements").is_none() {
        let what = "This classification has no `statements`.";
        reader.push(
            Finding::new(kind::MISSING_KEY, table.place().clone(), what)
                .mend("Write the codes of the safety data sheet: `statements = [\"H315\", \"H318\"]`."),
        );
    }
    classification
}

fn read_signal(reader: &Reader<'_>, table: &Table<'_, '_>, key: &'static str) -> Option<Signal> {
    let word = table.text(key)?;
    let signal = Signal::from_word(&word.value);
    if signal.is_none() {
        reader.wrong(word.place, &format!("`{key}`"), "\"Danger\" or \"Warning\"");
    }
    signal
}

/// What the catalogue's file holds: the tables of the standard, and classifications by the id of their material.
pub(super) type Read = (Statements, Vec<(String, Classification)>);

/// Reads the catalogue's file.
pub(super) fn read(reader: &Reader<'_>, root: &Table<'_, '_>, sources: &Sources) -> Read {
    let mut tables = Statements::default();
    for (code, table) in named_tables(root, "statement") {
        let statement = Statement {
            text: table.text("text").map(|text| text.value).unwrap_or_default(),
            signal: read_signal(reader, &table, "signal"),
            milder: read_signal(reader, &table, "or"),
            pictogram: table.text("pictogram").map(|text| text.value),
            hazard: table.text("hazard").map(|text| text.value).unwrap_or_default(),
            opens_line: table.boolean("opens-line").unwrap_or(true),
            covers: table.texts("covers").into_iter().map(|text| text.value).collect(),
            code: code.value.clone(),
        };
        table.finish();
        tables.statements.insert(code.value, statement);
    }
    if let Some(pictograms) = root.table("pictogram") {
        for (code, name) in pictograms.entries() {
            if let Some(name) = name.get_ref().as_str() {
                tables.pictograms.insert(code.value, name.to_owned());
            }
        }
    }
    let classifications = named_tables(root, "classification")
        .into_iter()
        .map(|(id, table)| (id.value, read_classification(reader, &table, sources)))
        .collect();
    (tables, classifications)
}
