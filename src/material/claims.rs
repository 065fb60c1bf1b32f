//! What a cosmetic must not promise: the word list `catalogue/claims.toml`, read once into patterns.
//!
//! The list is data; how its patterns are written is told at its head. Judging a text by it is the work of `caution/claims.rs`.

use super::Source;
use super::read::{Sources, named_tables, read_source, read_sources};
use crate::block::{Cutting, Placed, Reader, Table};
use crate::report::{Finding, kind};
use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

const FILE: &str = include_str!("catalogue/claims.toml");

static BUILT_IN: LazyLock<(Claims, Vec<Finding>)> = LazyLock::new(|| read(FILE));

/// Farthest apart that two neighbouring words of a pattern may stand, in words between them.
const MOST_BETWEEN: usize = 6;

/// The small words of a language by which the reach of a negation is told, in lower case.
#[derive(Clone, Debug, Default)]
pub struct Grammar {
    /// Begin a clause as its subject.
    pub pronouns: Vec<String>,
    /// Begin a noun, which may be a subject.
    pub articles: Vec<String>,
    /// Begin a clause that hangs on the one before.
    pub links: Vec<String>,
    /// Join clauses.
    pub joins: Vec<String>,
    /// Join words to more of them.
    pub adds: Vec<String>,
    /// Join words of which none is meant after a negation.
    pub chooses: Vec<String>,
    /// Verbs in the form that a subject of its own takes.
    pub finite: Vec<String>,
    /// Negations that belong to a noun.
    pub of_noun: Vec<String>,
    /// Of these, those that deny the whole clause with it.
    pub whole: Vec<String>,
    /// Stand before a product that something is said of.
    pub owners: Vec<String>,
    /// Say that something is in such a product.
    pub inside: Vec<String>,
}

/// The word list, ready for matching.
#[derive(Debug, Default)]
pub struct Claims {
    /// The rules that promises offend against.
    pub rules: Vec<Rule>,
    /// What may be promised wrongly.
    pub promises: Vec<Promise>,
    /// Their patterns.
    pub patterns: Vec<Pattern>,
    /// Words that turn a clause into its contrary.
    pub negations: Vec<Pattern>,
    /// Negations that deny nothing of what follows: "no doubt".
    pub idle: Vec<Pattern>,
    /// Words of saying and knowing, through which a negation reaches into "that it …".
    pub sayings: Vec<Pattern>,
    /// Words of a heading, or of a line with a colon, that plainly forbid the words under it.
    pub forbids: Vec<Pattern>,
    /// Words right before a promise that only name it: "the words".
    pub names: Vec<Pattern>,
    /// Words right after a promise that make none of it: "acne-prone".
    pub spoils: Vec<Pattern>,
    /// Words of a sentence that speaks about claims or about medicine, and so makes none.
    pub about_claims: Vec<Pattern>,
    /// Words that begin a clause of its own, so that a negation before them does not reach further.
    pub turns: Vec<Pattern>,
    /// The small words by which the reach of a negation is told.
    pub grammar: Grammar,
    /// For each pair of first letters the words that patterns begin with.
    first: Vec<Vec<(Form, usize)>>,
}

/// How much a promise weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// It makes the product a medicine or a biocide, or somebody may rely on it and be hurt.
    Medicine,
    /// It cannot be kept or proved.
    Doubtful,
}

/// A rule that a promise offends against.
#[derive(Debug, PartialEq, Eq)]
pub struct Rule {
    /// Its name in the list.
    pub name: String,
    /// The rule set of the collection that it belongs to.
    pub set: String,
    /// What it makes of the promise, completing "the words of …".
    pub makes: String,
    /// Where it stands.
    pub source: Arc<Source>,
}

/// A kind of promise.
#[derive(Debug, PartialEq, Eq)]
pub struct Promise {
    /// Its name in the list.
    pub name: String,
    /// How much it weighs.
    pub weight: Weight,
    /// What is promised, completing "… promises".
    pub what: String,
    /// Why it must not be.
    pub why: String,
    /// What may be said instead.
    pub instead: String,
    /// The rules it offends against, by index.
    pub rules: Vec<usize>,
    /// Where it is said that such words are judged so.
    pub source: Option<Arc<Source>>,
    /// Words of which one must stand in the same sentence; with none, any sentence will do.
    pub near: Vec<Pattern>,
    /// Words that must not stand in the same sentence.
    pub unless: Vec<Pattern>,
}

/// Words in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pattern {
    /// The promise it belongs to, by index; without meaning in lists of words.
    pub promise: usize,
    /// Its words.
    pub parts: Vec<Part>,
}

/// A place of a pattern.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Part {
    /// At most so many other words before it.
    pub between: usize,
    /// What may stand there: each a row of words that follow each other.
    pub choices: Vec<Vec<Form>>,
}

/// A word of a pattern.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Form {
    /// This word.
    Word(String),
    /// A word that begins so.
    Beginning(String),
    /// Any number.
    Number,
}

impl Form {
    /// Whether a word of the text is meant. Capitals do not matter.
    pub fn fits(&self, word: &str) -> bool {
        match self {
            Form::Word(text) => word.eq_ignore_ascii_case(text),
            Form::Beginning(text) => {
                word.get(..text.len()).is_some_and(|beginning| beginning.eq_ignore_ascii_case(text))
            }
            Form::Number => !word.is_empty() && word.bytes().all(|byte| byte.is_ascii_digit()),
        }
    }
}

impl Claims {
    /// The built-in word list.
    pub fn built_in() -> &'static Claims {
        &BUILT_IN.0
    }

    /// What is wrong with the built-in list; a test demands that this is nothing.
    pub fn built_in_findings() -> &'static [Finding] {
        &BUILT_IN.1
    }

    /// The patterns that may begin with a word. Quick where there is none, which is nearly everywhere.
    pub fn beginning_with<'a>(&'a self, word: &'a str) -> impl Iterator<Item = &'a Pattern> {
        let forms = bucket(word).and_then(|index| self.first.get(index)).map_or(&[][..], Vec::as_slice);
        forms.iter().filter(|(form, _)| form.fits(word)).filter_map(|(_, index)| self.patterns.get(*index))
    }
}

/// Where words with these first two letters stand in the index.
pub(super) fn bucket(word: &str) -> Option<usize> {
    let letter = |byte: u8| byte.is_ascii_alphabetic().then(|| usize::from(byte.to_ascii_lowercase() - b'a'));
    match word.as_bytes() {
        [first, second, ..] => Some(letter(*first)? * 26 + letter(*second)?),
        _ => None,
    }
}

fn read(text: &str) -> (Claims, Vec<Finding>) {
    let cutting = Cutting::whole_file(&"catalogue/claims.toml".into(), text);
    Reader::read(&cutting, |reader, root| {
        let sources = read_sources(reader, &root, &Sources::new());
        let lists = read_lists(&root);
        let mut claims = Claims { first: vec![Vec::new(); 26 * 26], ..Claims::default() };
        claims.negations = read_words(reader, root.texts("negations"), &lists);
        claims.about_claims = read_words(reader, root.texts("about-claims"), &lists);
        claims.idle = read_words(reader, root.texts("idle-negations"), &lists);
        claims.sayings = read_words(reader, root.texts("sayings"), &lists);
        claims.forbids = read_words(reader, root.texts("forbids"), &lists);
        claims.names = read_words(reader, root.texts("names"), &lists);
        claims.spoils = read_words(reader, root.texts("spoils"), &lists);
        claims.turns = read_words(reader, root.texts("turns"), &lists);
        if let Some(table) = root.table("grammar") {
            let words = |key| table.texts(key).into_iter().map(|word| word.value).collect();
            claims.grammar = Grammar {
                pronouns: words("pronouns"),
                articles: words("articles"),
                links: words("links"),
                joins: words("joins"),
                adds: words("adds"),
                chooses: words("chooses"),
                finite: words("finite"),
                of_noun: words("of-noun"),
                whole: words("whole"),
                owners: words("owners"),
                inside: words("inside"),
            };
            table.finish();
        }
        for (name, table) in named_tables(&root, "rule") {
            let (set, makes) = (table.text("set"), table.text("makes"));
            let source = read_source(reader, &table, &sources);
            table.finish();
            match (set, makes, source) {
                (Some(set), Some(makes), Some(source)) => {
                    claims.rules.push(Rule { name: name.value, set: set.value, makes: makes.value, source })
                }
                _ => reader.push(Finding::new(
                    kind::MISSING_KEY,
                    name.place,
                    "A rule needs `set`, `makes` and `source`.",
                )),
            }
        }
        for (name, table) in named_tables(&root, "promise") {
            read_promise(reader, name, &table, &sources, &lists, &mut claims);
        }
        root.finish();
        claims
    })
}

/// Lists of words that patterns name in braces.
fn read_lists(root: &Table<'_, '_>) -> BTreeMap<String, Vec<Placed<String>>> {
    let Some(table) = root.table("words") else { return BTreeMap::new() };
    const NAMES: [&str; 11] =
        ["ailment", "body", "raises", "lowers", "treats", "product", "germ", "sun", "ache", "insect", "sunscreen"];
    let lists = NAMES.iter().map(|name| ((*name).to_owned(), table.texts(name))).collect();
    table.finish();
    lists
}

fn read_promise(
    reader: &Reader<'_>,
    name: Placed<String>,
    table: &Table<'_, '_>,
    sources: &Sources,
    lists: &BTreeMap<String, Vec<Placed<String>>>,
    claims: &mut Claims,
) {
    let weight = match table.text("weight").as_ref().map(|weight| weight.value.as_str()) {
        Some("medicine") => Weight::Medicine,
        Some("doubtful") => Weight::Doubtful,
        _ => {
            reader.wrong(name.place.clone(), "`weight`", "\"medicine\" or \"doubtful\"");
            Weight::Doubtful
        }
    };
    let text = |key: &'static str| {
        let value = table.text(key).map(|text| text.value).unwrap_or_default();
        if value.is_empty() {
            reader.push(Finding::new(kind::MISSING_KEY, name.place.clone(), format!("A promise needs `{key}`.")));
        }
        value
    };
    let mut rules = Vec::new();
    for rule in table.texts("rules") {
        match claims.rules.iter().position(|known| known.name == rule.value) {
            Some(index) => rules.push(index),
            None => reader.wrong(rule.place, "A rule", "one of the list"),
        }
    }
    let promise = claims.promises.len();
    for written in table.texts("says") {
        let Some(parts) = read_pattern(reader, &written, lists) else { continue };
        let index = claims.patterns.len();
        let Some(first) = parts.first() else { continue };
        for form in first.choices.iter().filter_map(|choice| choice.first()) {
            let letters = match form {
                Form::Word(text) | Form::Beginning(text) => bucket(text),
                Form::Number => None,
            };
            match letters.and_then(|letters| claims.first.get_mut(letters)) {
                Some(forms) => forms.push((form.clone(), index)),
                None => reader.wrong(written.place.clone(), "A pattern", "begun with a word of two letters or more"),
            }
        }
        claims.patterns.push(Pattern { promise, parts });
    }
    claims.promises.push(Promise {
        weight,
        what: text("what"),
        why: text("why"),
        instead: text("instead"),
        rules,
        source: read_source(reader, table, sources),
        near: read_words(reader, table.texts("near"), lists),
        unless: read_words(reader, table.texts("unless"), lists),
        name: name.value,
    });
    table.finish();
}

pub(super) fn read_words(
    reader: &Reader<'_>,
    written: Vec<Placed<String>>,
    lists: &BTreeMap<String, Vec<Placed<String>>>,
) -> Vec<Pattern> {
    let patterns = written.iter().filter_map(|text| read_pattern(reader, text, lists));
    patterns.map(|parts| Pattern { promise: 0, parts }).collect()
}

fn read_pattern(
    reader: &Reader<'_>,
    written: &Placed<String>,
    lists: &BTreeMap<String, Vec<Placed<String>>>,
) -> Option<Vec<Part>> {
    let mut parts: Vec<Part> = Vec::new();
    let mut between = 0;
    for item in written.value.split_whitespace() {
        if let Some(number) = item.strip_prefix("..") {
            between = number.parse().unwrap_or(usize::MAX);
            continue;
        }
        let mut choices: Vec<Vec<Form>> = Vec::new();
        for choice in item.split('|') {
            match choice.strip_prefix('{').and_then(|name| name.strip_suffix('}')) {
                Some(name) => {
                    let list = lists.get(name).map_or(&[][..], Vec::as_slice);
                    if list.is_empty() {
                        reader.wrong(written.place.clone(), "A name in braces", "a list of `[words]`");
                    }
                    choices.extend(list.iter().map(|text| text.value.split(' ').map(form).collect()));
                }
                None => choices.push(vec![form(choice)]),
            }
        }
        let sound = |form: &Form| match form {
            Form::Word(text) | Form::Beginning(text) => {
                text.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'\'')
                    && !text.is_empty()
            }
            Form::Number => true,
        };
        if between > MOST_BETWEEN || choices.iter().flatten().any(|form| !sound(form)) {
            reader.wrong(
                written.place.clone(),
                "A pattern",
                "made of lower-case words, as told at the head of the list",
            );
            return None;
        }
        parts.push(Part { between, choices });
        between = 0;
    }
    (!parts.is_empty()).then_some(parts)
}

fn form(text: &str) -> Form {
    match text.strip_suffix('*') {
        Some(beginning) => Form::Beginning(beginning.to_owned()),
        None if text == "#" => Form::Number,
        None => Form::Word(text.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_read_without_a_finding() {
        let faults: Vec<String> = Claims::built_in_findings().iter().map(|finding| format!("{finding:?}")).collect();
        assert!(faults.is_empty(), "{}", faults.join("\n"));
        let claims = Claims::built_in();
        for promise in &claims.promises {
            assert!(!promise.rules.is_empty(), "{} rests on no rule", promise.name);
            assert!(promise.why.ends_with('.') && promise.instead.ends_with('.'), "{}", promise.name);
        }
        for rule in &claims.rules {
            assert!(["eu", "us"].contains(&rule.set.as_str()), "{}", rule.name);
        }
    }

    #[test]
    fn a_word_leads_to_its_patterns() {
        let claims = Claims::built_in();
        assert!(claims.beginning_with("Treats").count() > 0);
        assert_eq!(claims.beginning_with("treacle").count(), 0);
        assert_eq!(claims.beginning_with("ä").count(), 0);
        assert!(Form::Beginning("regrow".into()).fits("Regrowth"));
        assert!(!Form::Word("cure".into()).fits("cured"));
    }
}
