//! Promises in the prose that a cosmetic must not make.
//!
//! The words to look for are a list of the catalogue ([`Claims`]). The prose is gone through once, word by word; only where a
//! word begins a pattern is the sentence around it looked at. Words that a negation governs, questions, sentences about claims,
//! quoted and struck-out words make no promise. English only: a list in another language would be another list.

mod negation;

use crate::compute::Computed;
use crate::material::{Catalogue, Claims, Form, Pattern, Promise, Use, Weight};
use crate::model::Settings;
use crate::notebook::{Meant, Notebook, ProseText};
use crate::report::{Finding, Kind, Place, Severity, echo};
use negation::{denies, is_denied};
use std::ops::Range;
use std::sync::Arc;

/// The kinds raised here.
pub(super) const KINDS: &[&Kind] = &[MEDICINE, DOUBTFUL];

const MEDICINE: &Kind = &Kind {
    name: "promises-a-cure",
    severity: Severity::Caution,
    summary: "Words that promise what a cosmetic must not: to heal, to change the body, to kill germs, to keep off the sun.",
    why: "Words decide what a product is: with such a promise it is judged as a medicine, and somebody may rely on it.",
    mend: "Say what the product does for healthy skin or hair. A passage that only quotes such words is marked: `[treats acne](quoted: \"what a label must not say\")`.",
};

const DOUBTFUL: &Kind = &Kind {
    name: "doubtful-claim",
    severity: Severity::Note,
    summary: "Words that promise what can hardly be kept or proved.",
    why: "A claim must be lawful, true, proved, honest, fair and clear to the reader.",
    mend: "Say what you know. A passage that only quotes such words is marked: `[hypoallergenic](quoted: \"as the old label said\")`.",
};

/// Further places named with a finding, at most.
const MOST_PLACES: usize = 5;

/// Judges the prose of a notebook. `computed` gives each formula as computed, for its product.
pub(crate) fn judge<'a>(
    notebook: &Notebook,
    computed: impl Fn(usize) -> Option<&'a Computed>,
    catalogue: &Catalogue,
    settings: &Settings,
) -> Vec<Finding> {
    let is_english = settings.language.split('-').next().is_some_and(|tag| tag.eq_ignore_ascii_case("en"));
    if !is_english || !settings.rules.iter().any(|set| set == "eu" || set == "us") {
        return Vec::new();
    }
    let product_use = |index: usize| {
        let written = notebook.formulas.get(index)?.product.as_ref();
        match written {
            Some(name) => Some(catalogue.product(&name.value)?.product_use),
            None => Some(computed(index)?.formula.product.as_ref()?.product_use),
        }
    };
    // What kills germs on a floor is not judged as a cosmetic.
    let n_formulas = notebook.formulas.len();
    if n_formulas > 0 && (0..n_formulas).all(|index| product_use(index) == Some(Use::Household)) {
        return Vec::new();
    }
    let claims = Claims::built_in();
    let mut found: Vec<Found<'_>> = Vec::new();
    search_prose(claims, notebook, &mut found);
    for (text, place) in printed_texts(notebook) {
        search(claims, text, 0..text.len(), &mut |promise, words| {
            let inner = inner_place(&notebook.text, &place, text, words.clone());
            let written = text.get(words).unwrap_or_default().to_owned();
            found.push(Found { promise, written, place: inner });
        });
    }
    found.sort_by_key(|one| one.place.span.start);
    findings(claims, settings, &found)
}

/// A promise found in the text.
struct Found<'c> {
    promise: &'c Promise,
    written: String,
    place: Place,
}

fn findings(claims: &Claims, settings: &Settings, found: &[Found<'_>]) -> Vec<Finding> {
    let mut said: Vec<(&str, String)> = Vec::new();
    let mut findings: Vec<Finding> = Vec::new();
    let mut index_of: Vec<usize> = Vec::new();
    for one in found {
        let key = (one.promise.name.as_str(), simple(&one.written));
        if let Some(index) = said.iter().position(|known| *known == key).and_then(|index| index_of.get(index)) {
            if let Some(finding) = findings.get_mut(*index).filter(|finding| finding.more.len() < MOST_PLACES) {
                finding.more.push((one.place.clone(), "here too".to_owned()));
            }
            continue;
        }
        if let Some(finding) = finding(claims, settings, one) {
            said.push(key);
            index_of.push(findings.len());
            findings.push(finding);
        }
    }
    findings
}

/// The finding, if one of the promise's rules is among the collection's.
fn finding(claims: &Claims, settings: &Settings, one: &Found<'_>) -> Option<Finding> {
    let promise = one.promise;
    let rules = promise.rules.iter().filter_map(|index| claims.rules.get(*index));
    let mut of_set: Vec<&str> = Vec::new();
    let rules: Vec<_> = rules
        .filter(|rule| settings.rules.contains(&rule.set))
        // The first of a rule set says it; the others only stand among the sources.
        .map(|rule| {
            let first = !of_set.contains(&rule.set.as_str());
            of_set.push(&rule.set);
            (rule, first)
        })
        .collect();
    let makes: Vec<&str> = rules.iter().filter(|(_, first)| *first).map(|(rule, _)| rule.makes.as_str()).collect();
    if makes.is_empty() {
        return None;
    }
    let mut sources: Vec<String> = rules.iter().map(|(rule, _)| rule.source.line()).collect();
    sources.extend(promise.source.as_ref().map(|source| source.line()));
    let (kind, example) = match promise.weight {
        Weight::Medicine => (MEDICINE, "what a label must not say"),
        Weight::Doubtful => (DOUBTFUL, "what others write"),
    };
    let written = echo(&simple_spaces(&one.written));
    let what = format!("`{written}` promises {}: the words of {}.", promise.what, makes.join(", and of "));
    let mend = format!(
        "{} Where the words are only quoted, mark them: `[{written}](quoted: \"{example}\")`.",
        promise.instead
    );
    Some(Finding::new(kind, one.place.clone(), what).because(promise.why.clone()).mend(mend).source(sources.join("; ")))
}

fn simple_spaces(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn simple(text: &str) -> String {
    simple_spaces(text).to_lowercase()
}

/// Titles and remarks of formulas, which are printed on the sheet, with the place of each or of its block.
fn printed_texts(notebook: &Notebook) -> Vec<(&str, Place)> {
    let mut texts = Vec::new();
    for block in &notebook.formulas {
        texts.extend([&block.title, &block.note].into_iter().flatten().map(|text| (&*text.value, text.place.clone())));
        let lines =
            block.phases.iter().flat_map(|phase| &phase.lines).chain(block.changes.iter().flat_map(|c| &c.lines));
        let notes = lines.filter_map(|line| line.note.as_deref());
        let of_phases = block.phases.iter().flat_map(|phase| [phase.title.as_deref(), phase.note.as_deref()]);
        texts.extend(of_phases.flatten().chain(notes).map(|text| (text, block.place.clone())));
    }
    texts
}

/// The place of some words of a TOML text: exact where the text stands as written between quotation marks inside `around`.
pub(super) fn inner_place(source: &str, around: &Place, text: &str, words: Range<usize>) -> Place {
    let whole = source.get(around.span.clone()).unwrap_or_default();
    let quoted = ["\"", "'"].iter().find_map(|mark| Some(whole.find(&format!("{mark}{text}{mark}"))? + 1));
    let span = match quoted {
        Some(start) => around.span.start + start + words.start..around.span.start + start + words.end,
        // Escapes inside, or several lines: the value or the block as a whole.
        None => around.span.start..around.span.start,
    };
    Place { path: Arc::clone(&around.path), span }
}

/// Goes through the prose, block by block.
fn search_prose<'c>(claims: &'c Claims, notebook: &Notebook, found: &mut Vec<Found<'c>>) {
    let prose = &notebook.prose;
    // A heading or a line with a colon that says "what must not be said" speaks for what follows it.
    let mut section_is_quoted = false;
    let mut next_is_quoted = false;
    for block in &prose.blocks {
        let Some(text) = prose.text.get(block.text.clone()) else { continue };
        if block.is_heading {
            section_is_quoted = forbids(claims, &words_of(text, 0..text.len()));
        }
        let is_quoted = section_is_quoted || next_is_quoted;
        next_is_quoted = false;
        let mut start = block.text.start;
        let mut rest_is_quoted = false;
        for line in text.split_inclusive('\n') {
            let span = start..start + line.len();
            start = span.end;
            let opens = line.trim_end().ends_with(':') && opens_a_quotation(claims, line);
            if !is_quoted && !rest_is_quoted {
                search(claims, &prose.text, span, &mut |promise, words| {
                    if as_plain(prose, &words) {
                        let place = Place { path: Arc::clone(&notebook.path), span: prose.bytes_of(words.clone()) };
                        let written = prose.text.get(words).unwrap_or_default().to_owned();
                        found.push(Found { promise, written, place });
                    }
                });
            }
            rest_is_quoted |= opens;
            next_is_quoted = opens;
        }
    }
}

fn as_plain(prose: &ProseText, words: &Range<usize>) -> bool {
    [words.start, words.end.saturating_sub(1)].iter().all(|position| prose.meant_at(*position) == Meant::Plain)
}

/// Whether a heading or a line plainly forbids the words under it. A heading such as "Our claims" does not.
fn forbids(claims: &Claims, words: &[Word<'_>]) -> bool {
    claims.forbids.iter().any(|pattern| stands_in(pattern, words))
}

/// Whether a line that ends with a colon says of what follows that it must not be said.
fn opens_a_quotation(claims: &Claims, line: &str) -> bool {
    let start = sentence_around(line, line.trim_end().len().saturating_sub(1)).start;
    let words = words_of(line, start..line.len());
    forbids(claims, &words)
        || words.len().checked_sub(1).is_some_and(|last| {
            negation::says(claims, words.get(last..).unwrap_or_default()) && is_denied(claims, &words, last)
        })
}

/// A word of the text.
#[derive(Clone, Copy, Debug)]
struct Word<'t> {
    text: &'t str,
    start: usize,
    end: usize,
    /// What stands between it and the word before it.
    pause: Pause,
    /// It stands in quotation marks.
    in_quotes: bool,
}

/// How far a word is parted from the one before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Pause {
    None,
    /// A comma or a bracket.
    Short,
    /// A colon or a dash.
    Long,
}

/// Searches a part of a text, a line or less, and gives each promise with its bytes in the text.
fn search<'c>(claims: &'c Claims, text: &str, part: Range<usize>, found: &mut dyn FnMut(&'c Promise, Range<usize>)) {
    let mut sentence: Option<(Range<usize>, Vec<Word<'_>>)> = None;
    let mut done = part.start;
    // One promise made twice in a sentence is one promise.
    let mut made: Vec<&str> = Vec::new();
    for (start, end) in raw_words(text, part.clone()) {
        if start < done {
            continue;
        }
        let word = bare(text.get(start..end).unwrap_or_default());
        let mut patterns = claims.beginning_with(word).peekable();
        if patterns.peek().is_none() {
            continue;
        }
        if sentence.as_ref().is_none_or(|(span, _)| !span.contains(&start)) {
            let line = text.get(part.clone()).unwrap_or_default();
            let span = sentence_around(line, start - part.start);
            let span = span.start + part.start..span.end + part.start;
            let words = words_of(text, span.clone());
            sentence = Some((span, words));
            made.clear();
        }
        let Some((span, words)) = &sentence else { continue };
        let Some(at) = words.iter().position(|word| word.start == start) else { continue };
        let longest = patterns
            .filter_map(|pattern| Some((match_end(&pattern.parts, words, at)?, pattern)))
            .filter(|(end, _)| !claims.spoils.iter().any(|pattern| match_end(&pattern.parts, words, *end).is_some()))
            .filter_map(|(end, pattern)| Some((end, claims.promises.get(pattern.promise)?)))
            .filter(|(_, promise)| {
                let holds = |pattern: &Pattern| stands_in(pattern, words);
                (promise.near.is_empty() || promise.near.iter().any(holds)) && !promise.unless.iter().any(holds)
            })
            // The first of the list among those of equal length.
            .fold(
                None::<(usize, &Promise)>,
                |best, one| if best.is_some_and(|best| best.0 >= one.0) { best } else { Some(one) },
            );
        let Some((next, promise)) = longest else { continue };
        let Some(last) = next.checked_sub(1).and_then(|last| words.get(last)) else { continue };
        done = last.end;
        if !made.contains(&promise.name.as_str()) && !is_taken_back(claims, text, span, words, at..next) {
            made.push(&promise.name);
            found(promise, start..last.end);
        }
    }
}

/// Where a pattern that begins at a word ends: the index of the word after it.
fn match_end(parts: &[crate::material::Part], words: &[Word<'_>], at: usize) -> Option<usize> {
    let Some((part, rest)) = parts.split_first() else { return Some(at) };
    (at..=at + part.between).find_map(|from| {
        let ends = part.choices.iter().filter_map(|choice| choice_end(choice, words, from));
        ends.filter_map(|end| match_end(rest, words, end)).max()
    })
}

fn choice_end(choice: &[Form], words: &[Word<'_>], from: usize) -> Option<usize> {
    let end = from + choice.len();
    let fits = words.get(from..end)?.iter().zip(choice).all(|(word, form)| form.fits(word.text));
    fits.then_some(end)
}

fn stands_in(pattern: &Pattern, words: &[Word<'_>]) -> bool {
    (0..words.len()).any(|at| match_end(&pattern.parts, words, at).is_some())
}

/// Whether the sentence does not mean what its words say.
fn is_taken_back(claims: &Claims, text: &str, span: &Range<usize>, words: &[Word<'_>], matched: Range<usize>) -> bool {
    let sentence = text.get(span.clone()).unwrap_or_default();
    if sentence.trim_end_matches(['"', '”', '»', ')', ' ', '\n']).ends_with('?') || about_claims(claims, words) {
        return true;
    }
    let named = |pattern: &Pattern| {
        (0..matched.start).any(|at| match_end(&pattern.parts, words, at).is_some_and(|end| end == matched.start))
    };
    if is_denied(claims, words, matched.start) || claims.names.iter().any(named) {
        return true;
    }
    // Quoted words may be turned down by what follows: "… must not stand on the bottle".
    let quoted = words.get(matched.clone()).is_some_and(|words| words.iter().all(|word| word.in_quotes));
    quoted && denies(claims, words, matched.end)
}

fn about_claims(claims: &Claims, words: &[Word<'_>]) -> bool {
    claims.about_claims.iter().any(|pattern| stands_in(pattern, words))
}

/// The sentence around a position in a line.
fn sentence_around(line: &str, position: usize) -> Range<usize> {
    let ends = |(index, mark): (usize, char)| {
        let after = index + mark.len_utf8();
        let rest = line.get(after..).unwrap_or_default();
        let at_end = rest.chars().find(|c| !matches!(c, '"' | '”' | '»' | ')' | '’' | '.' | '!' | '?'));
        match mark {
            ';' | '\n' => Some(after),
            '.' | '!' | '?' => at_end.is_none_or(char::is_whitespace).then_some(after),
            _ => None,
        }
    };
    let mut start = 0;
    for end in line.char_indices().filter_map(ends) {
        if end > position {
            return start..end;
        }
        start = end;
    }
    start..line.len()
}

/// The bytes of each word of a part of a text. Letters and digits are parted, so that "SPF30" is two words.
fn raw_words(text: &str, part: Range<usize>) -> impl Iterator<Item = (usize, usize)> + '_ {
    let mut position = part.start;
    std::iter::from_fn(move || {
        let bytes = text.as_bytes();
        let class = |at: usize| bytes.get(at).filter(|_| at < part.end).map_or(Class::Other, |byte| class_of(*byte));
        while position < part.end && class(position) == Class::Other {
            position += 1;
        }
        let start = position;
        let first = class(start);
        while position < part.end {
            let here = class(position);
            let apostrophe = first == Class::Letter
                && apostrophe_at(bytes, position).filter(|length| class(position + length) == Class::Letter).is_some();
            if here != first && !apostrophe {
                break;
            }
            position += if apostrophe { apostrophe_at(bytes, position).unwrap_or(1) } else { 1 };
        }
        (start < position).then_some((start, position))
    })
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Class {
    Letter,
    Digit,
    Other,
}

fn class_of(byte: u8) -> Class {
    match byte {
        b'0'..=b'9' => Class::Digit,
        b'a'..=b'z' | b'A'..=b'Z' => Class::Letter,
        _ => Class::Other,
    }
}

/// How many bytes an apostrophe at a position has: the straight one, or U+2019.
fn apostrophe_at(bytes: &[u8], at: usize) -> Option<usize> {
    match bytes.get(at..) {
        Some([b'\'', ..]) => Some(1),
        Some([0xe2, 0x80, 0x99, ..]) => Some(3),
        _ => None,
    }
}

/// A word without the ending of possession.
fn bare(word: &str) -> &str {
    word.strip_suffix("'s").or_else(|| word.strip_suffix("’s")).unwrap_or(word)
}

/// The words of a part of a text.
fn words_of(text: &str, part: Range<usize>) -> Vec<Word<'_>> {
    let mut words = Vec::new();
    let mut last = part.start;
    let mut in_quotes = false;
    for (start, end) in raw_words(text, part) {
        let between = text.get(last..start).unwrap_or_default();
        for mark in between.chars() {
            match mark {
                '“' | '«' | '„' => in_quotes = true,
                '”' | '»' => in_quotes = false,
                '"' => in_quotes = !in_quotes,
                _ => {}
            }
        }
        let pause = match between {
            _ if between.contains([':', '–', '—']) || between.contains(" - ") => Pause::Long,
            _ if between.contains([',', '(', ')']) => Pause::Short,
            _ => Pause::None,
        };
        let word = text.get(start..end).unwrap_or_default();
        words.push(Word { text: bare(word), start, end, pause, in_quotes });
        last = end;
    }
    words
}
