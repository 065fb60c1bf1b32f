//! Findings as JSON, the same content as in the terminal.

use super::{Finding, Place, Tally, locate};
use serde::Serialize;

/// A finding as the data files and `proofread --format json` give it.
#[derive(Debug, Serialize)]
pub struct FindingData<'a> {
    name: &'static str,
    severity: &'static str,
    what: &'a str,
    why: &'a str,
    to_do: &'a str,
    source: Option<&'a str>,
    place: PlaceData<'a>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    more: Vec<FurtherData<'a>>,
}

#[derive(Debug, Serialize)]
struct FurtherData<'a> {
    words: &'a str,
    place: PlaceData<'a>,
}

#[derive(Debug, Serialize)]
struct PlaceData<'a> {
    file: &'a str,
    bytes: [usize; 2],
    #[serde(skip_serializing_if = "Option::is_none")]
    line: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    column: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    text: Option<String>,
}

/// One finding. `text_of` gives the text of a source file, where known.
pub fn finding_data<'a>(finding: &'a Finding, text_of: &dyn Fn(&str) -> Option<&'a str>) -> FindingData<'a> {
    FindingData {
        name: finding.kind.name,
        severity: finding.severity().word(),
        what: &finding.what,
        why: finding.why_text(),
        to_do: finding.mend_text(),
        source: finding.source.as_deref(),
        place: place_data(&finding.place, text_of),
        more: finding
            .more
            .iter()
            .map(|(place, words)| FurtherData { words, place: place_data(place, text_of) })
            .collect(),
    }
}

fn place_data<'a>(place: &'a Place, text_of: &dyn Fn(&str) -> Option<&'a str>) -> PlaceData<'a> {
    let located = text_of(&place.path).map(|text| locate(place, text));
    PlaceData {
        file: &place.path,
        bytes: [place.span.start, place.span.end],
        line: located.as_ref().map(|located| located.line),
        column: located.as_ref().map(|located| located.column),
        text: located.map(|located| located.text),
    }
}

/// All findings as one document with a schema name and a count.
#[derive(Debug, Serialize)]
pub struct FindingsData<'a> {
    schema: &'static str,
    errors: usize,
    cautions: usize,
    questions: usize,
    notes: usize,
    findings: Vec<FindingData<'a>>,
}

/// The document of `proofread --format json`.
pub fn findings_data<'a>(findings: &'a [Finding], text_of: &dyn Fn(&str) -> Option<&'a str>) -> FindingsData<'a> {
    let tally = Tally::of(findings);
    FindingsData {
        schema: "tarebook findings 1",
        errors: tally.errors,
        cautions: tally.cautions,
        questions: tally.questions,
        notes: tally.notes,
        findings: findings.iter().map(|finding| finding_data(finding, text_of)).collect(),
    }
}
