//! Reading material files, the built-in ones and a collection's own, with every mistake at its place.

use super::cas::check_cas;
use super::classification::read_classification;
use super::lot::read_lots;
use super::price::read_prices;
use super::read_behaviour::{read_cover, read_incompatible, read_stated};
use super::stock::read_stocks;
use super::{Component, Detail, Fact, Handling, Known, Material, Origin, Source, SurfactantClass};
use crate::block::{Placed, Reader, Table, as_table, number_text, read_number};
use crate::quantity::Decimal;
use crate::report::{Finding, echo, kind, suggestion};
use std::collections::BTreeMap;
use std::sync::Arc;
use toml::Spanned;
use toml::de::DeValue;

/// The keys of a material that are kept as words for the reader. Each is a text, a list, a figure or a list of tables.
const DETAIL_KEYS: &[&str] = &[
    "acid-value",
    "active-matter-as-declared",
    "addition",
    "assay",
    "buffering",
    "charge-behaviour",
    "colour-index",
    "composition-note",
    "congealing-point",
    "dose-note",
    "fatty-acid-titre",
    "flash-point",
    "foam",
    "grades",
    "hard-water",
    "hydrolysis",
    "hydroxyl-value",
    "impurities",
    "iodine-value",
    "microbiology",
    "neutralisation",
    "note",
    "ph-as-supplied",
    "pka",
    "ratio",
    "regulatory-note",
    "reported-use",
    "scope",
    "solubility",
    "spectrum",
    "strength-note",
    "temperature-note",
    "thickening",
    "true-density",
    "unsaponifiable",
    "viscosity",
];

/// Sources by their short names.
pub(crate) type Sources = BTreeMap<String, Arc<Source>>;

/// Reads the `[source.*]` tables of a file.
pub(crate) fn read_sources(reader: &Reader<'_>, root: &Table<'_, '_>, shared: &Sources) -> Sources {
    let mut sources = shared.clone();
    for (name, table) in named_tables(root, "source") {
        let how = table.text("how");
        let text = table.text("text");
        table.finish();
        let known = match &how {
            Some(word) => {
                let known = Known::from_word(&word.value);
                if known.is_none() {
                    reader.wrong(word.place.clone(), "`how`", "\"published\", \"common practice\" or \"memory\"");
                }
                known
            }
            None => missing(reader, &name, "how"),
        };
        if text.is_none() && table.get("text").is_none() {
            missing::<()>(reader, &name, "text");
        }
        if let (Some(how), Some(text)) = (known, text) {
            sources.insert(name.value, Arc::new(Source { how, text: text.value }));
        }
    }
    sources
}

fn missing<T>(reader: &Reader<'_>, name: &Placed<String>, key: &str) -> Option<T> {
    reader.push(Finding::new(
        kind::MISSING_KEY,
        name.place.clone(),
        format!("`{}` has no `{key}`.", echo(&name.value)),
    ));
    None
}

/// The tables below a key, `[key.NAME]`, in the order written.
pub(crate) fn named_tables<'t, 'a>(root: &Table<'t, 'a>, key: &'static str) -> Vec<(Placed<String>, Table<'t, 'a>)> {
    let Some(all) = root.table(key) else { return Vec::new() };
    all.entries().filter_map(|(name, value)| Some((name.clone(), all.inside(&name.value, value)?))).collect()
}

/// What a material entry says; absent fields are `None` or empty, so that an own entry can override a built-in one by parts.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    pub(crate) id: Placed<String>,
    pub(crate) name: Option<String>,
    pub(crate) material: Material,
    /// Materials and substances that it is incompatible with, to be looked up when all entries are read.
    pub(crate) partners: Vec<Placed<String>>,
}

/// Reads all materials of a file.
pub(crate) fn read_materials(
    reader: &Reader<'_>,
    root: &Table<'_, '_>,
    sources: &Sources,
    origin: &Origin,
) -> Vec<Entry> {
    named_tables(root, "material")
        .into_iter()
        .map(|(id, table)| read_material(reader, id, &table, sources, origin))
        .collect()
}

fn read_material(
    reader: &Reader<'_>,
    id: Placed<String>,
    table: &Table<'_, '_>,
    sources: &Sources,
    origin: &Origin,
) -> Entry {
    if !crate::block::is_id(&id.value) {
        reader.wrong(id.place.clone(), "A material's id", "lower-case letters, digits and hyphens");
    }
    let name = table.text("name").map(|name| name.value);
    let fact = |key: &'static str| read_fact(reader, table, key, sources);
    let words = |key: &'static str| -> Vec<String> { table.texts(key).into_iter().map(|text| text.value).collect() };
    let (incompatible, partners) = read_incompatible(reader, table, sources);
    let lots = read_lots(table);
    let (prices, has_unread_price) = read_prices(table);
    let material = Material {
        id: id.value.clone(),
        name: name.clone().unwrap_or_else(|| id.value.clone()),
        also: words("also"),
        functions: words("functions"),
        form: table.text("form").map(|form| form.value),
        strength: fact("strength"),
        density: fact("density"),
        use_any: fact("use"),
        use_rinse_off: fact("use-rinse-off"),
        use_leave_on: fact("use-leave-on"),
        ph_works: fact("ph-works"),
        ph_stable: fact("ph-stable"),
        temperature_limit: fact("temperature-limit"),
        add_below: fact("add-below"),
        contains: table.tables("contains").iter().filter_map(|part| read_component(reader, part, sources)).collect(),
        remainder: fact("remainder"),
        constituents: table
            .tables("constituent")
            .iter()
            .filter_map(|part| read_constituent(reader, part, sources))
            .collect(),
        melting_point: fact("melting-point"),
        hlb: fact("hlb"),
        required_hlb: fact("required-hlb"),
        saponification_value: fact("saponification-value"),
        charge: read_stated(reader, table, "ionic-character", sources),
        charge_ph: fact("ionic-character-ph"),
        with_anionics: read_stated(reader, table, "with-anionics", sources),
        covers: read_cover(reader, table, sources),
        dissolves: read_stated(reader, table, "dissolves", sources),
        electrolytes: read_stated(reader, table, "electrolytes", sources),
        thickens_with: read_stated(reader, table, "thickens-with", sources),
        thick_ph: fact("thick-ph"),
        solubiliser: fact("solubiliser"),
        incompatible,
        handling: table.tables("handling").iter().filter_map(|part| read_handling(reader, part, sources)).collect(),
        classification: table.table("classification").map(|part| Arc::new(read_classification(reader, &part, sources))),
        stocks: read_stocks(table, &lots),
        lots,
        has_unread_price,
        prices,
        details: read_details(reader, table, sources),
        origin: origin.clone(),
    };
    table.finish();
    check_composition(reader, &id, &material);
    check_bound(reader, &id, &material);
    Entry { id, name, material, partners }
}

/// A composition that names typical values must not exceed the whole; one that is complete adds up to it.
fn check_composition(reader: &Reader<'_>, id: &Placed<String>, material: &Material) {
    let typical = |fact: &Fact| fact.range().map(|range| range.typical);
    let parts: Option<Vec<Decimal>> = material.contains.iter().map(|component| typical(&component.percent)).collect();
    let Some(parts) = parts else { return };
    let remainder = material.remainder.as_ref().and_then(typical).unwrap_or_default();
    let sum = parts.iter().copied().sum::<Decimal>() + remainder;
    if sum != Decimal::ONE_HUNDRED && !parts.is_empty() {
        reader.push(
            Finding::new(
                kind::BAD_MATERIAL,
                id.place.clone(),
                format!("The composition of `{}` adds up to {} %, not 100 %.", echo(&id.value), sum.normalize()),
            )
            .mend("Correct a share, or name the rest: `remainder = { percent = 1, text = \"salts\" }`."),
        );
    }
}

/// What is bound is bound to another part of the same material.
fn check_bound(reader: &Reader<'_>, id: &Placed<String>, material: &Material) {
    for component in &material.contains {
        let Some(to) = &component.bound_to else { continue };
        let others = || material.contains.iter().filter(|part| part.bound_to.is_none());
        if !others().any(|part| part.inci == *to) {
            let what = format!(
                "`{}` of `{}` is bound to `{}`, which is no other part of it.",
                echo(&component.inci),
                echo(&id.value),
                echo(to)
            );
            let known = others().map(|part| part.inci.as_str());
            let mend = suggestion(to, known, "Name the salt or powder that holds it, as it stands in `contains`.");
            reader.push(Finding::new(kind::BAD_MATERIAL, id.place.clone(), what).mend(mend));
        }
    }
}

fn read_component(reader: &Reader<'_>, table: &Table<'_, '_>, sources: &Sources) -> Option<Component> {
    let inci = table.text("inci");
    let percent = read_fact(reader, table, "percent", sources);
    let surfactant = table.text("surfactant").and_then(|word| {
        let class = SurfactantClass::from_word(&word.value);
        if class.is_none() {
            reader.wrong(word.place, "`surfactant`", "anionic, amphoteric, nonionic or cationic");
        }
        class
    });
    let bound_to = table.text("bound-to").map(|inci| inci.value);
    check_cas(reader, table);
    let _remark = table.get("note");
    table.finish();
    for (key, given) in [("inci", inci.is_some()), ("percent", percent.is_some())] {
        if !given && table.get(if key == "inci" { "inci" } else { "percent" }).is_none() {
            reader.push(Finding::new(
                kind::MISSING_KEY,
                table.place().clone(),
                format!("This part of the composition has no `{key}`."),
            ));
        }
    }
    Some(Component { inci: inci?.value, percent: percent?, surfactant, bound_to })
}

/// A constituent of an oil: its figures stand in the table itself.
fn read_constituent(reader: &Reader<'_>, table: &Table<'_, '_>, sources: &Sources) -> Option<Component> {
    let inci = table.text("inci").map(|inci| inci.value);
    let number = |key: &'static str| table.number(key).map(|number| number.value);
    let (min, max, typical) = (number("min"), number("max"), number("typical").or_else(|| number("value")));
    let source = read_source(reader, table, sources);
    let note = table.text("note").map(|note| note.value);
    check_cas(reader, table);
    let _remarks = (table.get("declarable"), table.get("entry"));
    table.finish();
    if inci.is_none() && table.get("inci").is_none() {
        let text = "This constituent has no `inci`.";
        reader.push(Finding::new(kind::MISSING_KEY, table.place().clone(), text));
    }
    if min.zip(max).is_some_and(|(min, max)| min > max) {
        reader.wrong(table.place().clone(), "`min` of a constituent", "at most its `max`");
        return None;
    }
    let percent = Fact { min, typical, max, source, note, of: None };
    Some(Component { inci: inci?, percent, surfactant: None, bound_to: None })
}

fn read_handling(reader: &Reader<'_>, table: &Table<'_, '_>, sources: &Sources) -> Option<Handling> {
    let hazard = table.text("hazard");
    let text = table.text("text").map(|text| text.value);
    let source = read_source(reader, table, sources);
    table.finish();
    if hazard.is_none() {
        reader.push(Finding::new(kind::MISSING_KEY, table.place().clone(), "This handling caution has no `hazard`."));
    }
    Some(Handling { hazard: hazard?.value, text, source })
}

/// The source a table names, with its own `how` put in place of the source's.
pub(crate) fn read_source(reader: &Reader<'_>, table: &Table<'_, '_>, sources: &Sources) -> Option<Arc<Source>> {
    let how = table.text("how").and_then(|word| {
        let known = Known::from_word(&word.value);
        if known.is_none() {
            reader.wrong(word.place, "`how`", "\"published\", \"common practice\" or \"memory\"");
        }
        known
    });
    // One end of a range may rest on memory although the rest was read; the whole figure is then no better than that.
    let weaker =
        [table.text("min-how"), table.text("max-how")].into_iter().flatten().any(|word| word.value == "memory");
    let name = table.text("source")?;
    let Some(source) = sources.get(&name.value) else {
        reader.push(
            Finding::new(
                kind::BAD_MATERIAL,
                name.place,
                format!("There is no source `{}` in this file.", echo(&name.value)),
            )
            .mend(suggestion(
                &name.value,
                sources.keys().map(String::as_str),
                "Add `[source.NAME]` with `how` and `text`.",
            )),
        );
        return None;
    };
    let how = how.unwrap_or(source.how);
    if weaker && how == Known::Published {
        return Some(Arc::new(Source { how, text: format!("{}; one end from memory", source.text) }));
    }
    Some(if how == source.how { Arc::clone(source) } else { Arc::new(Source { how, text: source.text.clone() }) })
}

/// A figure: a number, or a table with `min`, `typical` or `value`, `max`, `source` and so on.
pub(crate) fn read_fact(
    reader: &Reader<'_>,
    table: &Table<'_, '_>,
    key: &'static str,
    sources: &Sources,
) -> Option<Fact> {
    let value = table.get(key)?;
    let place = reader.place_of(value);
    if let Some(text) = number_text(value.get_ref()) {
        let number = read_number(reader, text, &place)?;
        return Some(Fact { min: None, typical: Some(number), max: None, source: None, note: None, of: None });
    }
    let table = as_table(reader, key, value)?;
    let number = |key: &'static str| table.number(key).map(|number| number.value);
    let (min, max) = (number("min"), number("max"));
    let typical = number("typical").or_else(|| number("value")).or_else(|| number("percent"));
    let source = read_source(reader, &table, sources);
    let note = table.text("note").or_else(|| table.text("text")).map(|note| note.value);
    let of = table.text("of").map(|of| of.value);
    let _units = (table.get("unit"), table.get("derived"), table.get("dilution"), table.get("at"), table.get("basis"));
    table.finish();
    if min.is_none() && max.is_none() && typical.is_none() {
        reader.push(
            Finding::new(
                kind::MISSING_KEY,
                place.clone(),
                format!("`{key}` has neither `typical` nor `min` or `max`."),
            )
            .mend("Write `{ min = 1, max = 5, source = \"…\" }`."),
        );
        return None;
    }
    if min.zip(max).is_some_and(|(min, max)| min > max) {
        reader.wrong(place, &format!("`min` of `{key}`"), "at most its `max`");
        return None;
    }
    Some(Fact { min, typical, max, source, note, of })
}

fn read_details(reader: &Reader<'_>, table: &Table<'_, '_>, sources: &Sources) -> Vec<Detail> {
    let mut details = Vec::new();
    for key in DETAIL_KEYS {
        let Some(value) = table.get(key) else { continue };
        match value.get_ref() {
            DeValue::Array(items) => {
                let tables = items.iter().filter(|item| item.get_ref().is_table()).count();
                if tables == 0 {
                    let words: Vec<String> = items.iter().map(|item| scalar_words(item.get_ref())).collect();
                    details.push(Detail { key: (*key).to_owned(), text: words.join(", "), source: None });
                }
                for item in items.iter().filter(|item| item.get_ref().is_table()) {
                    details.extend(detail_of(reader, key, item, sources));
                }
            }
            DeValue::Table(_) => details.extend(detail_of(reader, key, value, sources)),
            other => details.push(Detail { key: (*key).to_owned(), text: scalar_words(other), source: None }),
        }
    }
    details
}

fn detail_of(reader: &Reader<'_>, key: &str, value: &Spanned<DeValue<'_>>, sources: &Sources) -> Option<Detail> {
    let table = as_table(reader, key, value)?;
    let source = read_source(reader, &table, sources);
    let mut words = Vec::new();
    let plain = |key: &'static str| table.get(key).map(|value| scalar_words(value.get_ref()));
    let (min, max) = (plain("min"), plain("max"));
    let figure = match (min, max) {
        (Some(min), Some(max)) => Some(format!("{min}–{max}")),
        (Some(min), None) => Some(format!("at least {min}")),
        (None, Some(max)) => Some(format!("at most {max}")),
        (None, None) => None,
    };
    let unit = plain("unit");
    let typical = plain("typical").or_else(|| plain("value"));
    for part in [typical, figure, unit, plain("text"), plain("note")] {
        words.extend(part);
    }
    Some(Detail { key: key.to_owned(), text: words.join(" "), source })
}

fn scalar_words(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => text.to_string(),
        DeValue::Boolean(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        DeValue::Array(items) => items.iter().map(|item| scalar_words(item.get_ref())).collect::<Vec<_>>().join("–"),
        other => number_text(other).unwrap_or_default().to_owned(),
    }
}
