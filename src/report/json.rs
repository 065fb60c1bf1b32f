//! Findings as JSON, the same content as in the terminal.

use super::{Finding, Place, locate};
use serde_json::{Value, json};

/// One finding as a JSON object. `text` is the source of the file that it stands in, where known.
pub fn finding_to_json(finding: &Finding, text: Option<&str>) -> Value {
    let mut object = json!({
        "name": finding.kind.name,
        "severity": finding.severity().word(),
        "what": finding.what,
        "why": finding.why_text(),
        "to_do": finding.mend_text(),
        "source": finding.source,
        "place": place_to_json(&finding.place, text),
    });
    if !finding.more.is_empty()
        && let Some(map) = object.as_object_mut()
    {
        let more: Vec<Value> = finding
            .more
            .iter()
            .map(|(place, words)| {
                let own = text.filter(|_| place.path == finding.place.path);
                json!({ "words": words, "place": place_to_json(place, own) })
            })
            .collect();
        map.insert("more".to_owned(), Value::Array(more));
    }
    object
}

fn place_to_json(place: &Place, text: Option<&str>) -> Value {
    let mut object = json!({ "file": &*place.path, "bytes": [place.span.start, place.span.end] });
    if let (Some(text), Some(map)) = (text, object.as_object_mut()) {
        let located = locate(place, text);
        map.insert("line".to_owned(), json!(located.line));
        map.insert("column".to_owned(), json!(located.column));
        map.insert("text".to_owned(), json!(located.text));
    }
    object
}

/// All findings as one JSON document with a schema name and a count.
pub fn findings_to_json<'a>(findings: &'a [Finding], text_of: impl Fn(&str) -> Option<&'a str>) -> Value {
    let tally = super::Tally::of(findings);
    json!({
        "schema": "tarebook findings 1",
        "errors": tally.errors,
        "cautions": tally.cautions,
        "questions": tally.questions,
        "notes": tally.notes,
        "findings": findings
            .iter()
            .map(|finding| finding_to_json(finding, text_of(&finding.place.path)))
            .collect::<Vec<_>>(),
    })
}
