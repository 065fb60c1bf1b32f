//! Figures in the terminal: one with its working, all of a formula or block, and those that hold a word.

use crate::collection::Collection;
use crate::compute::{AddressFault, Value};
use crate::notebook::read_calc_address;
use crate::page::{value_text_in, working_text};
use crate::quantity::{MassUnit, Units};
use crate::report::{Place, suggestion};
use std::fmt::Write as _;
use std::sync::Arc;

/// So many addresses are listed when a word is looked for.
const MOST_FOUND: usize = 40;

/// The figure of an address with its working.
pub(super) fn explain_figure(
    path: &str,
    query: &str,
    parts: (&str, &[&str]),
    collection: &Collection,
) -> Result<String, String> {
    let (id, rest) = parts;
    let (unit, digits, batch) = read_query(path, query)?;
    let Some(found) = collection.figure(id, rest, batch.as_deref()) else {
        return Err(format!("`{id}` has errors, so it has no figures yet"));
    };
    match found {
        Ok(mut figure) => {
            let unit = match (unit, &figure.value) {
                (None, _) => None,
                (Some(symbol), Value::Worked(value)) => {
                    let found = Units::read(&symbol).ok().and_then(|units| value.to(&units).ok());
                    let what = || format!("`{symbol}` is no unit of {}", value.units().measures());
                    figure.value = Value::Worked(found.ok_or_else(what)?);
                    None
                }
                (Some(symbol), _) => {
                    Some(MassUnit::from_symbol(&symbol).ok_or_else(|| format!("`{symbol}` is no unit of mass"))?)
                }
            };
            let source = figure.working.source.as_ref().map_or(String::new(), |source| format!("  source: {source}\n"));
            let value = value_text_in(&figure.value, unit, digits);
            Ok(format!("{path} = {value}\n  {}\n{source}", working_text(&figure.working)))
        }
        Err(AddressFault::Unknown(known)) => {
            let below: Vec<&String> = known.iter().filter(|address| is_below(address, path)).collect();
            let like: Vec<&String> = known.iter().filter(|address| address.contains(path)).collect();
            let found = if below.is_empty() { like } else { below };
            if !found.is_empty() {
                return Ok(list_of(collection, found.into_iter().map(String::as_str)));
            }
            Err(format!(
                "nothing has the address `{path}`. {}",
                suggestion(
                    path,
                    known.iter().map(String::as_str),
                    &format!("Try `tarebook explain {id}` for all of them.")
                )
            ))
        }
        Err(AddressFault::NoLine { formula, material }) => Err(format!("`{formula}` has no line `{material}`")),
        Err(AddressFault::NoValue(why)) => Err(format!("`{path}` has no value: {why}")),
        Err(AddressFault::BadBatch(why)) => Err(format!("the batch is not understood: {why}")),
    }
}

fn is_below(address: &str, path: &str) -> bool {
    address.strip_prefix(path.trim_end_matches('/')).is_some_and(|rest| rest.starts_with('/'))
}

/// Every address of the collection in which a text stands, with its value; `None` when there is none.
pub(super) fn search_figures(text: &str, collection: &Collection) -> Option<String> {
    let known: Vec<String> = collection.ids().flat_map(|id| collection.addresses(id)).collect();
    let found: Vec<&str> = known.iter().map(String::as_str).filter(|address| address.contains(text)).collect();
    if found.is_empty() {
        return None;
    }
    let mut list = format!("Addresses with `{text}`:\n");
    list.push_str(&list_of(collection, found.iter().take(MOST_FOUND).copied()));
    if found.len() > MOST_FOUND {
        let _ = writeln!(list, "and {} more; write more of the address to see fewer", found.len() - MOST_FOUND);
    }
    Some(list)
}

/// Addresses with their values, a line each.
fn list_of<'a>(collection: &Collection, addresses: impl Iterator<Item = &'a str>) -> String {
    let mut text = String::new();
    for address in addresses {
        let mut parts = address.split('/');
        let id = parts.next().unwrap_or_default();
        let rest: Vec<&str> = parts.collect();
        let found = collection.figure(id, &rest, None);
        let value = match found {
            Some(Ok(figure)) => value_text_in(&figure.value, None, None),
            Some(Err(AddressFault::NoValue(why))) => format!("not known: {why}"),
            _ => "not known".to_owned(),
        };
        let _ = writeln!(text, "  {address} = {value}");
    }
    text
}

/// Everything that a formula or block computes.
pub(super) fn explain_all(collection: &Collection, id: &str) -> String {
    let mut text = match collection.formula(id) {
        Some(computed) => {
            let title = computed.formula.title.as_deref().unwrap_or(id);
            format!("{title} ({id}), check {}\n\nAddresses for calc links:\n", computed.check)
        }
        None => format!("{id}\n\nAddresses for calc links:\n"),
    };
    let tree = collection.addresses(id);
    let is_shown = |address: &&String| {
        // A line of a phase has a shorter address too, unless its material stands in two phases.
        let short =
            address.split_once("/phase/").and_then(|(id, rest)| Some(format!("{id}/{}", rest.split_once('/')?.1)));
        let repeated = collection.formula(id).is_some_and(|computed| {
            computed.formula.lines().filter(|line| address.contains(&format!("/{}/", line.written))).count() > 1
        });
        repeated || !short.is_some_and(|short| tree.contains(&short))
    };
    text.push_str(&list_of(collection, tree.iter().filter(is_shown).map(String::as_str)));
    text
}

type Asked = (Option<String>, Option<u32>, Option<String>);

/// The query of an address, by the rules of calc links.
fn read_query(path: &str, query: &str) -> Result<Asked, String> {
    let mut findings = Vec::new();
    let place = Place::start_of(&Arc::from(""));
    let (_, asked) = read_calc_address(&format!("{path}?{query}"), &place, &mut findings);
    match findings.first() {
        Some(finding) => Err(finding.what.clone()),
        None => Ok((asked.unit, asked.digits, asked.batch)),
    }
}
