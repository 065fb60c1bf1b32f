//! What the tool found: one type for errors, cautions, questions and notes, shown alike in the terminal, on the page and as JSON.
//!
//! Findings are plain data. They are made by every station of the pipeline through a [`Kind`], carry the place in the
//! author's text, and are put into sentences with their figures where they are made. Nothing here prints or colours.

pub mod entries;
mod json;
mod kinds;
mod place;
mod text;

pub use json::{FindingData, FindingsData, finding_data, findings_data};
pub use kinds::{ALL as ALL_KINDS, by_name};
pub mod kind {
    //! Every kind of finding that is not a caution of `caution/`, by constant.
    pub use super::kinds::*;
}
pub use place::{Located, locate};
pub use text::{Paint, render_finding, render_summary};

use std::ops::Range as Bytes;
use std::sync::Arc;

/// How much a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Cannot be computed or must not be published.
    Error,
    /// Somebody or the batch may come to harm.
    Caution,
    /// Cannot be judged until the author says something.
    Question,
    /// Worth knowing.
    Note,
}

impl Severity {
    /// The word the reader sees.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Caution => "caution",
            Severity::Question => "question",
            Severity::Note => "note",
        }
    }
}

/// One kind of finding: its stable name, how much it weighs, and the words that hold for every case of it.
#[derive(Debug, PartialEq, Eq)]
pub struct Kind {
    /// Stable kebab-case name, never reused.
    pub name: &'static str,
    /// How much it weighs.
    pub severity: Severity,
    /// One line: what was found.
    pub summary: &'static str,
    /// Why it matters.
    pub why: &'static str,
    /// What to do about it.
    pub mend: &'static str,
}

/// A stretch of one source file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Path from the collection's folder, with `/`.
    pub path: Arc<str>,
    /// Bytes of the file's text.
    pub span: Bytes<usize>,
}

impl Place {
    /// The start of a file, for findings about a file as a whole.
    pub fn start_of(path: &Arc<str>) -> Place {
        Place { path: Arc::clone(path), span: 0..0 }
    }
}

/// Something found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// What kind.
    pub kind: &'static Kind,
    /// Where.
    pub place: Place,
    /// What is wrong, one sentence with the figures.
    pub what: String,
    /// Why it matters, when it says more than the kind does.
    pub why: Option<String>,
    /// What to do, when it says more than the kind does.
    pub mend: Option<String>,
    /// The published source or rule it rests on.
    pub source: Option<String>,
    /// Further places, each with a few words.
    pub more: Vec<(Place, String)>,
}

impl Finding {
    /// A finding of a kind at a place, with its sentence.
    pub fn new(kind: &'static Kind, place: Place, what: impl Into<String>) -> Finding {
        Finding { kind, place, what: what.into(), why: None, mend: None, source: None, more: Vec::new() }
    }

    /// Says why it matters in this case.
    #[must_use]
    pub fn because(mut self, why: impl Into<String>) -> Finding {
        self.why = Some(why.into());
        self
    }

    /// Says what to do in this case.
    #[must_use]
    pub fn mend(mut self, mend: impl Into<String>) -> Finding {
        self.mend = Some(mend.into());
        self
    }

    /// Names the source.
    #[must_use]
    pub fn source(mut self, source: impl Into<String>) -> Finding {
        self.source = Some(source.into());
        self
    }

    /// Points at a further place.
    #[must_use]
    pub fn also_at(mut self, place: Place, words: impl Into<String>) -> Finding {
        self.more.push((place, words.into()));
        self
    }

    /// How much it weighs.
    pub fn severity(&self) -> Severity {
        self.kind.severity
    }

    /// Why it matters.
    pub fn why_text(&self) -> &str {
        self.why.as_deref().unwrap_or(self.kind.why)
    }

    /// What to do about it.
    pub fn mend_text(&self) -> &str {
        self.mend.as_deref().unwrap_or(self.kind.mend)
    }
}

/// Puts findings in the order they are shown, by file, place and name, and drops those said twice.
pub fn arrange(findings: &mut Vec<Finding>) {
    findings.sort_by(|left, right| {
        let key =
            |finding: &Finding| (Arc::clone(&finding.place.path), finding.place.span.start, finding.place.span.end);
        key(left)
            .cmp(&key(right))
            .then_with(|| left.kind.severity.cmp(&right.kind.severity))
            .then_with(|| left.kind.name.cmp(right.kind.name))
            .then_with(|| left.what.cmp(&right.what))
    });
    findings.dedup();
}

/// How many findings there are of each weight.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Errors.
    pub errors: usize,
    /// Cautions.
    pub cautions: usize,
    /// Questions.
    pub questions: usize,
    /// Notes.
    pub notes: usize,
}

impl Tally {
    /// Counts findings.
    pub fn of<'a>(findings: impl IntoIterator<Item = &'a Finding>) -> Tally {
        findings.into_iter().fold(Tally::default(), |mut tally, finding| {
            match finding.severity() {
                Severity::Error => tally.errors += 1,
                Severity::Caution => tally.cautions += 1,
                Severity::Question => tally.questions += 1,
                Severity::Note => tally.notes += 1,
            }
            tally
        })
    }
}

/// The nearest of some names to a mistyped one, closest first, at most three. Names that go on where the mistyped one ends, or
/// end where it goes on, come first; then those within an edit distance of a third of the longer name's length; then those
/// that hold it or are held by it.
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let wanted = name.to_lowercase().replace([' ', '_'], "-");
    let mut near: Vec<(usize, usize, &str)> = known
        .into_iter()
        .filter_map(|candidate| {
            let lower = candidate.to_lowercase();
            let lengths = (wanted.chars().count(), lower.chars().count());
            let (shortest, longest) = (lengths.0.min(lengths.1), lengths.0.max(lengths.1));
            let difference = longest - shortest;
            if shortest >= 4 && (lower.starts_with(&wanted) || wanted.starts_with(&lower)) {
                return Some((0, difference, candidate));
            }
            let within = shortest >= 4 && (lower.contains(&wanted) || wanted.contains(&lower));
            // The distance is at least the difference in length, so most candidates need no comparing.
            let distance = (difference <= longest / 3).then(|| strsim::osa_distance(&wanted, &lower));
            match distance.filter(|distance| *distance <= longest / 3) {
                Some(distance) => Some((1, distance, candidate)),
                None => within.then_some((2, difference, candidate)),
            }
        })
        .collect();
    near.sort();
    near.dedup();
    near.into_iter().take(3).map(|(_, _, candidate)| candidate).collect()
}

/// "Did you mean …" for a mistyped name, or the given words when nothing is near.
pub fn suggestion<'a>(name: &str, known: impl IntoIterator<Item = &'a str>, otherwise: &str) -> String {
    match nearest(name, known).as_slice() {
        [] => otherwise.to_owned(),
        names => format!("Did you mean {}?", list(names, "or")),
    }
}

/// A sentence with its first letter large.
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// Words in a row: "`a`, `b` or `c`".
pub fn list<S: AsRef<str>>(names: &[S], joint: &str) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("`{}`", name.as_ref())).collect();
    match quoted.split_last() {
        None => String::new(),
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} {joint} {last}", rest.join(", ")),
    }
}

/// The author's own text, safe to echo in a message: control characters made visible, long text cut.
pub fn echo(text: &str) -> String {
    let mut out = String::new();
    for (index, character) in text.chars().enumerate() {
        if index == 60 {
            out.push('…');
            break;
        }
        if character.is_control() { out.extend(character.escape_default()) } else { out.push(character) }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_names_are_sorted_by_closeness() {
        let known = ["glycerin", "glyceryl-stearate", "glycine", "water"];
        assert_eq!(nearest("glycerine", known), ["glycerin", "glycine"]);
        assert_eq!(nearest("xyz", known), Vec::<&str>::new());
    }

    #[test]
    fn a_family_name_finds_its_members() {
        let known = ["citric-acid-anhydrous", "citric-acid-monohydrate", "water"];
        assert_eq!(nearest("citric-acid", known), ["citric-acid-anhydrous", "citric-acid-monohydrate"]);
    }

    #[test]
    fn lists_read_as_sentences() {
        assert_eq!(list(&["a"], "or"), "`a`");
        assert_eq!(list(&["a", "b", "c"], "or"), "`a`, `b` or `c`");
    }
}
