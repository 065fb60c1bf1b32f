//! Reading the statements of [`super::behaviour`]: words of small vocabularies, each with its source.

use super::behaviour::{Cover, Coverage, Group, Incompatible, Partner, Stated, Vocabulary};
use super::read::{Sources, read_source};
use crate::block::{Placed, Reader, Table, as_table};
use crate::report::{Finding, echo, kind, list, suggestion};
use toml::de::DeValue;

/// A word: alone (`dissolves = "oil"`), or with its source (`dissolves = { value = "oil", source = "…" }`).
pub(super) fn read_stated<T: Vocabulary>(
    reader: &Reader<'_>,
    table: &Table<'_, '_>,
    key: &'static str,
    sources: &Sources,
) -> Option<Stated<T>> {
    let value = table.get(key)?;
    if let DeValue::Table(_) = value.get_ref() {
        let inner = as_table(reader, key, value)?;
        let word = inner.text("value");
        let source = read_source(reader, &inner, sources);
        let note = inner.text("note").map(|note| note.value);
        inner.finish();
        let value = read_word(reader, key, &present(reader, &inner, "value", word)?)?;
        return Some(Stated { value, source, note });
    }
    let value = read_word(reader, key, &table.text(key)?)?;
    Some(Stated { value, source: None, note: None })
}

fn read_word<T: Vocabulary>(reader: &Reader<'_>, key: &str, word: &Placed<String>) -> Option<T> {
    let known = T::ALL.iter().copied().find(|known| known.word() == word.value);
    if known.is_none() {
        let words: Vec<&str> = T::ALL.iter().map(|known| known.word()).collect();
        reader.push(
            Finding::new(
                kind::WRONG_VALUE,
                word.place.clone(),
                format!("`{}` is no word for `{key}`.", echo(&word.value)),
            )
            .mend(suggestion(
                &word.value,
                words.iter().copied(),
                &format!("Write {}.", list(&words, "or")),
            )),
        );
    }
    known
}

fn present(
    reader: &Reader<'_>,
    table: &Table<'_, '_>,
    key: &'static str,
    word: Option<Placed<String>>,
) -> Option<Placed<String>> {
    if word.is_none() && table.get(key).is_none() {
        reader.push(Finding::new(kind::MISSING_KEY, table.place().clone(), format!("This statement has no `{key}`.")));
    }
    word
}

/// `covers = { bacteria = "weak", yeast = "good", mould = "good", source = "…" }`.
pub(super) fn read_cover(reader: &Reader<'_>, table: &Table<'_, '_>, sources: &Sources) -> Option<Cover> {
    let table = table.table("covers")?;
    let coverage = |key: &'static str| -> Option<Coverage> { read_word(reader, key, &table.text(key)?) };
    let cover = Cover {
        bacteria: coverage("bacteria"),
        yeast: coverage("yeast"),
        mould: coverage("mould"),
        source: read_source(reader, &table, sources),
        note: table.text("note").map(|note| note.value),
    };
    table.finish();
    Some(cover)
}

/// The entries of `incompatible`, with the names among them that must be materials or substances. `with` is a list of groups,
/// ids and INCI names to be looked for in a formula, or a text for reading; a text that is a group's word counts as the group.
pub(super) fn read_incompatible(
    reader: &Reader<'_>,
    table: &Table<'_, '_>,
    sources: &Sources,
) -> (Vec<Incompatible>, Vec<Placed<String>>) {
    let mut names = Vec::new();
    let all = table.tables("incompatible");
    let entries = all.iter().filter_map(|entry| read_one(reader, entry, sources, &mut names)).collect();
    (entries, names)
}

fn read_one(
    reader: &Reader<'_>,
    table: &Table<'_, '_>,
    sources: &Sources,
    names: &mut Vec<Placed<String>>,
) -> Option<Incompatible> {
    let group = |word: &str| Group::ALL.iter().copied().find(|group| group.word() == word);
    let value = table.get("with");
    let mut with = Vec::new();
    let mut words = Vec::new();
    match value.map(|value| value.get_ref()) {
        Some(DeValue::Array(_)) => {
            for word in table.texts("with") {
                with.push(group(&word.value).map_or_else(|| Partner::Named(word.value.clone()), Partner::Group));
                words.push(word.value.clone());
                if group(&word.value).is_none() {
                    names.push(word);
                }
            }
        }
        Some(_) => {
            if let Some(text) = table.text("with") {
                with.extend(group(&text.value).map(Partner::Group));
                words.push(text.value);
            }
        }
        None => {
            let text = "This incompatibility has no `with`.";
            reader.push(Finding::new(kind::MISSING_KEY, table.place().clone(), text));
        }
    }
    let also = table.text("also").map(|also| also.value);
    words.extend(also);
    let entry = Incompatible {
        with,
        words: words.join(", "),
        effect: table.text("effect").map(|effect| effect.value),
        source: read_source(reader, table, sources),
    };
    table.finish();
    (!entry.words.is_empty()).then_some(entry)
}
