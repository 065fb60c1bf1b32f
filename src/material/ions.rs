//! How solutes come apart into ions, for predicted pH: `catalogue/ions.toml`, beside the substances that hold molar masses and pKa.

use super::Catalogue;
use super::read::{Sources, named_tables, read_fact, read_sources};
use super::tables::{Dissociation, read_dissociation};
use crate::block::{Cutting, Reader};
use crate::quantity::Decimal;
use crate::report::Finding;
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

const FILE: (&str, &str) = ("ions.toml", include_str!("catalogue/ions.toml"));

static BUILT_IN: LazyLock<(IonTable, Vec<Finding>)> = LazyLock::new(read);

/// An ion that takes no part in any balance of protons.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PlainIon {
    /// Na⁺.
    Sodium,
    /// K⁺.
    Potassium,
    /// Cl⁻.
    Chloride,
}

impl PlainIon {
    /// Every one with its word.
    pub const ALL: [(PlainIon, &'static str); 3] =
        [(PlainIon::Sodium, "sodium"), (PlainIon::Potassium, "potassium"), (PlainIon::Chloride, "chloride")];

    /// Its charge.
    pub fn charge(self) -> i32 {
        match self {
            PlainIon::Sodium | PlainIon::Potassium => 1,
            PlainIon::Chloride => -1,
        }
    }
}

/// An acid, base or salt that dissolves into ions.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Solute {
    /// Its id, for amounts of the pure substance.
    pub id: String,
    /// Its INCI name, by which raw materials hold it.
    pub inci: Option<String>,
    /// **Unit** g/mol.
    pub molar_mass: Decimal,
    /// The acid or base that takes part in the balance of protons, and how many of it one molecule gives.
    pub acid: Option<(String, Decimal)>,
    /// The other ions.
    pub ions: Vec<(PlainIon, Decimal)>,
    /// The codes of its gravest hazard statements, where it is no raw material.
    pub statements: Vec<String>,
}

/// The constants of the calculation at 25 °C, with their sources.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct SolutionConstants {
    /// The factor A of Davies' equation, kg^½ mol^−½.
    pub davies_a: Decimal,
    /// The factor of its linear term.
    pub davies_salt: Decimal,
    /// Where both come from.
    pub davies_source: String,
    /// −log₁₀ of the ion product of water.
    pub pkw: Decimal,
    /// Where that comes from.
    pub pkw_source: String,
    /// Density of water, g/ml.
    pub water_density: Decimal,
}

/// All solutes and acids.
#[derive(Clone, Debug, Default)]
pub struct IonTable {
    solutes: BTreeMap<String, Solute>,
    acids: BTreeMap<String, Arc<Dissociation>>,
    /// The constants.
    pub constants: SolutionConstants,
}

impl IonTable {
    /// The built-in table.
    pub fn built_in() -> &'static IonTable {
        &BUILT_IN.0
    }

    /// What is wrong with the built-in file; a test demands that this is nothing.
    pub fn built_in_findings() -> &'static [Finding] {
        &BUILT_IN.1
    }

    /// A pure solute by its id.
    pub fn solute(&self, id: &str) -> Option<&Solute> {
        self.solutes.get(id)
    }

    /// The solute that raw materials hold under an INCI name.
    pub fn by_inci(&self, inci: &str) -> Option<&Solute> {
        self.solutes.values().find(|solute| solute.inci.as_deref() == Some(inci))
    }

    /// The ids of all solutes.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.solutes.keys().map(String::as_str)
    }

    /// How an acid or base gives off its protons.
    pub fn acid(&self, name: &str) -> Option<&Dissociation> {
        self.acids.get(name).map(|acid| &**acid)
    }
}

fn read() -> (IonTable, Vec<Finding>) {
    let catalogue = Catalogue::built_in();
    let (name, text) = FILE;
    let cutting = Cutting::whole_file(&Arc::from(format!("catalogue/{name}")), text);
    Reader::read(&cutting, |reader, root| {
        let sources = read_sources(reader, &root, &Sources::default());
        let mut table = IonTable::default();
        if let Some(constants) = root.table("constants") {
            let fact = |key: &'static str| {
                let fact = read_fact(reader, &constants, key, &sources);
                let source = fact.as_ref().map(super::Fact::source_line).unwrap_or_default();
                (fact.and_then(|fact| fact.typical).unwrap_or_default(), source)
            };
            let (davies_a, davies_source) = fact("davies-a");
            let (pkw, pkw_source) = fact("pkw");
            table.constants = SolutionConstants {
                davies_a,
                davies_salt: fact("davies-salt").0,
                davies_source,
                pkw,
                pkw_source,
                water_density: fact("water-density").0,
            };
            constants.finish();
        }
        for (name, entry) in named_tables(&root, "acid") {
            if let Some(pka) = read_dissociation(reader, &entry, &sources) {
                table.acids.insert(name.value, Arc::new(pka));
            }
            entry.finish();
        }
        for substance in catalogue.substances() {
            if let Some(pka) = &substance.pka {
                table.acids.entry(substance.inci.clone()).or_insert_with(|| Arc::new(pka.clone()));
            }
        }
        for (id, entry) in named_tables(&root, "solute") {
            let inci = entry.text("inci").map(|inci| inci.value);
            let known = inci.as_deref().and_then(|inci| catalogue.substance(inci));
            let molar_mass = read_fact(reader, &entry, "molar-mass", &sources)
                .or_else(|| known.and_then(|known| known.molar_mass.clone()))
                .and_then(|fact| fact.typical);
            let named = entry.text("acid").map(|acid| acid.value);
            let units = entry.number("units").map_or(Decimal::ONE, |units| units.value);
            let ions: Vec<(PlainIon, Decimal)> = entry
                .table("ions")
                .map(|ions| {
                    let all = PlainIon::ALL.into_iter();
                    let read = all.filter_map(|(ion, word)| Some((ion, ions.number(word)?.value))).collect();
                    ions.finish();
                    read
                })
                .unwrap_or_default();
            let statements = entry.texts("statements").into_iter().map(|code| code.value).collect();
            entry.finish();
            let own = inci.clone().filter(|inci| table.acids.contains_key(inci));
            let acid = named.or(own).map(|acid| (acid, units));
            let is_known = acid.as_ref().is_none_or(|(acid, _)| table.acids.contains_key(acid));
            match molar_mass {
                Some(molar_mass) if is_known && (acid.is_some() || !ions.is_empty()) => {
                    let solute = Solute { id: id.value.clone(), inci, molar_mass, acid, ions, statements };
                    table.solutes.insert(id.value, solute);
                }
                _ => reader.wrong(id.place, "A solute", "given with a molar mass and an acid or ions that are known"),
            }
        }
        root.finish();
        table
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_has_no_mistakes() {
        assert_eq!(IonTable::built_in_findings(), []);
        assert!(IonTable::built_in().ids().count() > 40);
    }

    /// A salt that is given a molar mass of its own weighs what its acid and its ions weigh, less the protons that they replace, and a whole number of
    /// waters (18.015 g/mol). Atomic weights: IUPAC, rounded to 0.001.
    #[test]
    fn molar_masses_are_those_of_the_parts() {
        let table = IonTable::built_in();
        let weight = |ion: PlainIon| match ion {
            PlainIon::Sodium => Decimal::new(22_990, 3),
            PlainIon::Potassium => Decimal::new(39_098, 3),
            PlainIon::Chloride => Decimal::new(35_450, 3),
        };
        for solute in table.solutes.values() {
            let Some((acid, units)) = &solute.acid else { continue };
            let Some(acid_mass) = table.by_inci(acid).map(|acid| acid.molar_mass) else { continue };
            let ions: Decimal =
                solute.ions.iter().map(|(ion, number)| (weight(*ion) - Decimal::new(1_008, 3)) * number).sum();
            let water = (solute.molar_mass - acid_mass * units - ions) / Decimal::new(18_015, 3);
            assert!((water - water.round()).abs() < Decimal::new(1, 3), "{}: {water} waters", solute.id);
        }
    }
}
