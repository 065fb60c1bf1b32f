//! Which fatty acids a fat is made of: `catalogue/fatty-acids.toml`, by the ids of the raw materials.

use super::Source;
use super::read::{Sources, named_tables, read_source, read_sources};
use crate::block::{Cutting, Reader};
use crate::quantity::{Decimal, Range};
use crate::report::Finding;
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

const FILE: (&str, &str) = ("fatty-acids.toml", include_str!("catalogue/fatty-acids.toml"));

static BUILT_IN: LazyLock<(FattyAcids, Vec<Finding>)> = LazyLock::new(read);

/// The acids by name, with carbon atoms and double bonds; the shortest chain first.
pub const FATTY_ACIDS: [(&str, &str); 15] = [
    ("caproic", "C6:0"),
    ("caprylic", "C8:0"),
    ("capric", "C10:0"),
    ("lauric", "C12:0"),
    ("myristic", "C14:0"),
    ("palmitic", "C16:0"),
    ("palmitoleic", "C16:1"),
    ("stearic", "C18:0"),
    ("oleic", "C18:1"),
    ("linoleic", "C18:2"),
    ("linolenic", "C18:3"),
    ("arachidic", "C20:0"),
    ("eicosenoic", "C20:1"),
    ("behenic", "C22:0"),
    ("erucic", "C22:1"),
];

/// What a fat is made of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FatProfile {
    /// Lowest and highest share of each acid of [`FATTY_ACIDS`] that is listed, % by weight of all fatty acids, in that order.
    pub acids: Vec<(&'static str, Range)>,
    /// Where that is printed.
    pub source: Arc<Source>,
}

/// The profiles of all fats that have one.
#[derive(Clone, Debug, Default)]
pub struct FattyAcids {
    fats: BTreeMap<String, FatProfile>,
}

impl FattyAcids {
    /// The built-in table.
    pub fn built_in() -> &'static FattyAcids {
        &BUILT_IN.0
    }

    /// What is wrong with the built-in file; a test demands that this is nothing.
    pub fn built_in_findings() -> &'static [Finding] {
        &BUILT_IN.1
    }

    /// The profile of a raw material.
    pub fn of(&self, id: &str) -> Option<&FatProfile> {
        self.fats.get(id)
    }

    /// The ids of all fats.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.fats.keys().map(String::as_str)
    }
}

fn read() -> (FattyAcids, Vec<Finding>) {
    let (name, text) = FILE;
    let cutting = Cutting::whole_file(&Arc::from(format!("catalogue/{name}")), text);
    Reader::read(&cutting, |reader, root| {
        let sources = read_sources(reader, &root, &Sources::default());
        let mut table = FattyAcids::default();
        for (id, entry) in named_tables(&root, "fat") {
            let source = read_source(reader, &entry, &sources);
            let mut acids = Vec::new();
            for (acid, _) in FATTY_ACIDS {
                let ends: Vec<Decimal> = entry.numbers(acid).into_iter().map(|end| end.value).collect();
                match ends.as_slice() {
                    [] => {}
                    [low, high] if low <= high => acids.push((acid, Range::new(*low, *high, None))),
                    _ => reader.wrong(
                        id.place.clone(),
                        "The share of a fatty acid",
                        "a list of its lowest and its highest",
                    ),
                }
            }
            entry.finish();
            match source {
                Some(source) => drop(table.fats.insert(id.value, FatProfile { acids, source })),
                None => reader.wrong(id.place, "A fat", "given with its `source`"),
            }
        }
        root.finish();
        table
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::Catalogue;

    #[test]
    fn the_table_has_no_mistakes() {
        assert_eq!(FattyAcids::built_in_findings(), []);
        assert!(FattyAcids::built_in().ids().count() > 10);
    }

    /// Every fat is a raw material, the lowest shares leave room for one another and the highest reach the whole.
    #[test]
    fn the_shares_can_add_up() {
        let table = FattyAcids::built_in();
        for id in table.ids() {
            assert_eq!(Catalogue::built_in().material(id).map(|material| material.id.as_str()), Some(id));
            let acids = table.of(id).map(|profile| profile.acids.as_slice()).unwrap_or_default();
            let (low, high) = acids
                .iter()
                .fold((Decimal::ZERO, Decimal::ZERO), |(low, high), (_, range)| (low + range.low, high + range.high));
            assert!(low < Decimal::ONE_HUNDRED && Decimal::ONE_HUNDRED < high, "{id}: {low} to {high}");
        }
    }
}
