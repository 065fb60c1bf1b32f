//! What is known of the raw materials and substances that a collection uses, as far as figures rest on it.

use super::model::value_of;
use crate::block::Body;
use crate::collection::Collection;
use crate::material::{FattyAcids, IonTable, Material, Use};
use serde::Serialize;
use serde_json::{Map, Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The facts, each by the name that models call it by.
#[derive(Debug, Serialize)]
pub(super) struct Facts {
    materials: BTreeMap<String, Value>,
    /// For each name of a raw material that blocks use, its id.
    names: BTreeMap<String, String>,
    substances: BTreeMap<String, Value>,
    /// Lowest and highest share of fatty acids, for the fats that are used.
    fatty_acids: BTreeMap<String, Value>,
    solutes: BTreeMap<String, Value>,
    /// How the acids of the solutes come apart.
    acids: BTreeMap<String, Value>,
    constants: Value,
    allergens: Value,
    /// Names of substances on a label, by rule set.
    label_names: BTreeMap<&'static str, BTreeMap<String, String>>,
    limits: Vec<Value>,
}

impl Facts {
    /// The facts behind a collection's figures.
    pub(super) fn of(collection: &Collection) -> Facts {
        let catalogue = collection.catalogue();
        let mut names = BTreeMap::new();
        let mut used: BTreeMap<String, Arc<Material>> = BTreeMap::new();
        for name in names_used(collection) {
            if let Some(material) = catalogue.material(&name) {
                names.insert(name, material.id.clone());
                used.insert(material.id.clone(), Arc::clone(material));
            }
        }
        let mut incis: BTreeSet<String> = BTreeSet::new();
        for material in used.values() {
            incis.extend(material.contains.iter().chain(&material.constituents).map(|part| part.inci.clone()));
        }
        let acids_of: Vec<String> = incis.iter().filter_map(|inci| catalogue.substance(inci)?.acid.clone()).collect();
        incis.extend(acids_of);
        let ions = IonTable::built_in();
        let solutes: BTreeMap<String, Value> =
            ions.ids().filter_map(|id| Some((id.to_owned(), value_of(ions.solute(id)?)))).collect();
        let acids = ions.ids().filter_map(|id| {
            let (acid, _) = ions.solute(id)?.acid.as_ref()?;
            Some((acid.clone(), value_of(ions.acid(acid)?)))
        });
        let limits = catalogue.limits().iter().filter(|limit| {
            collection.settings().rules.contains(&limit.rules)
                && limit.counting.substances.iter().any(|inci| incis.contains(inci))
        });
        Facts {
            materials: used.iter().map(|(id, material)| (id.clone(), value_of(&**material))).collect(),
            names,
            substances: incis
                .iter()
                .filter_map(|inci| Some((inci.clone(), value_of(&**catalogue.substance(inci)?))))
                .collect(),
            fatty_acids: used
                .keys()
                .filter_map(|id| Some((id.clone(), value_of(FattyAcids::built_in().of(id)?))))
                .collect(),
            solutes,
            acids: acids.collect(),
            constants: value_of(&ions.constants),
            allergens: allergens(collection),
            label_names: label_names(collection, &incis),
            limits: limits.map(value_of).collect(),
        }
    }
}

/// Every name of a raw material that stands in a formula or block.
fn names_used(collection: &Collection) -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    for entry in collection.entries_by_path() {
        let computed = entry.formulas.iter().filter_map(|state| state.computed.as_ref());
        for line in computed.flat_map(|computed| computed.formula.lines()) {
            names.insert(line.written.clone());
            names.insert(line.material.id.clone());
        }
        for body in entry.notebook.blocks.iter().filter_map(|block| block.body.as_ref()) {
            match body {
                Body::Saponification(block) => {
                    names.extend(block.fats.iter().map(|fat| fat.name.value.clone()));
                    names.extend(block.lyes.iter().map(|lye| lye.name.value.clone()));
                }
                Body::Buffer(block) => {
                    names.extend(block.contains.iter().map(|solute| solute.name.value.clone()));
                    names.extend(block.target.iter().map(|target| target.with.value.clone()));
                }
                Body::Titration(block) => names.extend([block.with.value.clone()]),
                Body::Dilution(block) => {
                    let named = block.stocks.iter().filter_map(|stock| stock.material.as_ref());
                    names.extend(named.map(|name| name.value.clone()));
                }
                Body::BatchRecord(block) => {
                    names.extend(block.weighed.iter().map(|line| line.material.value.clone()));
                }
                _ => {}
            }
        }
    }
    names
}

fn allergens(collection: &Collection) -> Value {
    let catalogue = collection.catalogue();
    let mut triggers = Map::new();
    for product_use in [Use::RinseOff, Use::LeaveOn] {
        if let Some(trigger) = catalogue.allergen_trigger(product_use) {
            triggers.insert(product_use.word().to_owned(), value_of(&trigger));
        }
    }
    json!({ "triggers": triggers, "substances": value_of(&catalogue.allergens()) })
}

/// The names that differ from the INCI name, for each rule set of declarations.
fn label_names(collection: &Collection, incis: &BTreeSet<String>) -> BTreeMap<&'static str, BTreeMap<String, String>> {
    let catalogue = collection.catalogue();
    let of_rules = |rules: crate::compute::Rules| {
        let other = |inci: &String| {
            let name = catalogue.label_name(inci, rules.word());
            (name != inci).then(|| (inci.clone(), name.to_owned()))
        };
        (rules.word(), incis.iter().filter_map(other).collect())
    };
    crate::compute::Rules::ALL.map(of_rules).into()
}
