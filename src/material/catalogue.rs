//! The catalogue: the built-in tables with a collection's own materials laid over them, and look-up by id.

use super::classification::{self, Statements};
use super::label::{self, Allergen, Allergens, LabelNames};
use super::limits::{self as limit_tables, Limit, Warning};
use super::read::{Entry, Sources, read_materials, read_sources};
use super::tables::{self, Hazard, ProductType, Substance};
use super::{Classification, Fact, Group, Material, Origin, Use, Vocabulary};
use crate::block::{Cutting, Placed, Reader};
use crate::quantity::Decimal;
use crate::report::{Finding, Place, echo, kind, list, nearest, suggestion};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

/// The built-in files, by name.
const FILES: &[(&str, &str)] = &[
    ("acids-and-bases.toml", include_str!("catalogue/acids-and-bases.toml")),
    ("actives-and-proteins.toml", include_str!("catalogue/actives-and-proteins.toml")),
    ("colours.toml", include_str!("catalogue/colours.toml")),
    ("conditioners.toml", include_str!("catalogue/conditioners.toml")),
    ("emulsifiers.toml", include_str!("catalogue/emulsifiers.toml")),
    ("essential-oils.toml", include_str!("catalogue/essential-oils.toml")),
    ("humectants.toml", include_str!("catalogue/humectants.toml")),
    ("oils-butters-waxes.toml", include_str!("catalogue/oils-butters-waxes.toml")),
    ("powders-and-scrubs.toml", include_str!("catalogue/powders-and-scrubs.toml")),
    ("preservatives.toml", include_str!("catalogue/preservatives.toml")),
    ("solvents-and-salts.toml", include_str!("catalogue/solvents-and-salts.toml")),
    ("surfactants.toml", include_str!("catalogue/surfactants.toml")),
    ("thickeners.toml", include_str!("catalogue/thickeners.toml")),
    ("waters-and-extracts.toml", include_str!("catalogue/waters-and-extracts.toml")),
];
const SOURCES: (&str, &str) = ("sources.toml", include_str!("catalogue/sources.toml"));
const SUBSTANCES: (&str, &str) = ("substances.toml", include_str!("catalogue/substances.toml"));
const LIMITS: (&str, &str) = ("limits.toml", include_str!("catalogue/limits.toml"));
const LIMITED: (&str, &str) = ("limited-substances.toml", include_str!("catalogue/limited-substances.toml"));
const WARNINGS: (&str, &str) = ("warnings.toml", include_str!("catalogue/warnings.toml"));
const PRODUCTS: (&str, &str) = ("products.toml", include_str!("catalogue/products.toml"));
const HAZARDS: (&str, &str) = ("hazards.toml", include_str!("catalogue/hazards.toml"));
const CLASSIFICATION: (&str, &str) = ("classification.toml", include_str!("catalogue/classification.toml"));
const ALLERGENS: (&str, &str) = ("allergens.toml", include_str!("catalogue/allergens.toml"));
const LABEL_NAMES: (&str, &str) = ("label-names.toml", include_str!("catalogue/label-names.toml"));

static BUILT_IN: LazyLock<(Catalogue, Vec<Finding>)> = LazyLock::new(read_built_in);

/// A collection's own material file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnFile {
    /// Path from the collection's folder.
    pub path: Arc<str>,
    /// Its text.
    pub text: Arc<str>,
}

/// Everything known about raw materials, substances, limits, products and hazards.
#[derive(Clone, Debug, Default)]
pub struct Catalogue {
    materials: BTreeMap<String, Arc<Material>>,
    aliases: BTreeMap<String, String>,
    substances: BTreeMap<String, Arc<Substance>>,
    /// INCI names by their lower-case spelling.
    spellings: Arc<BTreeMap<String, String>>,
    limits: Arc<Vec<Limit>>,
    warnings: Arc<Vec<Warning>>,
    products: Arc<Vec<ProductType>>,
    hazards: Arc<Vec<Hazard>>,
    statements: Arc<Statements>,
    allergens: Arc<Allergens>,
    label_names: Arc<LabelNames>,
    shared: Arc<Sources>,
}

impl Catalogue {
    /// The built-in catalogue, read once.
    pub fn built_in() -> &'static Catalogue {
        &BUILT_IN.0
    }

    /// What is wrong with the built-in files; a test demands that this is nothing.
    pub fn built_in_findings() -> &'static [Finding] {
        &BUILT_IN.1
    }

    /// The catalogue with a collection's own materials over it. Fields that an own entry gives replace the built-in ones;
    /// the others stay.
    pub fn with_own(&self, files: &[OwnFile]) -> (Catalogue, Vec<Finding>) {
        let mut catalogue = self.clone();
        let mut findings = Vec::new();
        let mut seen: BTreeMap<String, Place> = BTreeMap::new();
        let mut partners = Vec::new();
        for file in files {
            let origin = Origin::Own { path: Arc::clone(&file.path), over: false };
            let (entries, found) = read_file(&file.path, &file.text, &self.shared, &origin);
            findings.extend(found);
            for mut entry in entries {
                findings.extend(catalogue.settle_names(&mut entry));
                if let Some(own) = &mut entry.material.classification {
                    let own = Arc::make_mut(own);
                    findings.extend(catalogue.statements.complete(own, &entry.id.value, &entry.id.place));
                }
                if let Some(first) = seen.get(&entry.id.value) {
                    findings.push(
                        Finding::new(
                            kind::DUPLICATE_ID,
                            entry.id.place.clone(),
                            format!("The material `{}` is described twice in this collection.", echo(&entry.id.value)),
                        )
                        .also_at(first.clone(), "described here first"),
                    );
                    continue;
                }
                seen.insert(entry.id.value.clone(), entry.id.place.clone());
                partners.append(&mut entry.partners);
                findings.extend(catalogue.lay_over(entry));
            }
        }
        findings.extend(catalogue.unknown_partners(&partners));
        (catalogue, findings)
    }

    /// Puts the catalogue's spelling on the INCI names of an own entry, so that limits, water and limits' sums see them, and asks
    /// about names that are nearly one of the catalogue's. A surfactant of the built-in entry keeps its class.
    fn settle_names(&self, entry: &mut Entry) -> Vec<Finding> {
        let mut findings = Vec::new();
        let base = self.material(&entry.id.value);
        for constituent in &mut entry.material.constituents {
            if let Some(known) = self.spellings.get(&constituent.inci.to_lowercase()) {
                constituent.inci.clone_from(known);
            }
        }
        for component in &mut entry.material.contains {
            let lower = component.inci.to_lowercase();
            if ["water", "aqua/water", "aqua (water)", "water/aqua"].contains(&lower.as_str()) {
                component.inci = super::WATER.to_owned();
            } else if !self.substances.contains_key(&component.inci) {
                match self.spellings.get(&lower) {
                    Some(known) => component.inci.clone_from(known),
                    None => {
                        let near = nearest(&component.inci, self.substances.keys().map(String::as_str));
                        let close = near.first().filter(|near| strsim::osa_distance(near, &component.inci) <= 2);
                        if let Some(close) = close {
                            findings.push(
                                Finding::new(
                                    kind::NEARLY_A_SUBSTANCE,
                                    entry.id.place.clone(),
                                    format!(
                                        "`{}` contains `{}`, which is no known substance.",
                                        echo(&entry.id.value),
                                        echo(&component.inci)
                                    ),
                                )
                                .mend(format!("Did you mean `{close}`?")),
                            );
                        }
                    }
                }
            }
            let built_in = base.and_then(|base| base.contains.iter().find(|part| part.inci == component.inci));
            if component.surfactant.is_none() {
                component.surfactant = built_in.and_then(|part| part.surfactant);
            }
            // A salt that is a hydrate in the catalogue is one in the collection's own entry too.
            if component.bound_to.is_none() {
                component.bound_to = built_in.and_then(|part| part.bound_to.clone());
            }
        }
        let held: Vec<String> = entry.material.contains.iter().map(|part| part.inci.clone()).collect();
        for component in &mut entry.material.contains {
            component.bound_to = component.bound_to.take().filter(|to| held.contains(to));
        }
        findings
    }

    /// What entries are incompatible with, where it is neither a group, nor a material, nor a substance.
    fn unknown_partners(&self, partners: &[Placed<String>]) -> Vec<Finding> {
        let is_known = |name: &str| {
            self.material(name).is_some()
                || self.substances.contains_key(name)
                || self.spellings.contains_key(&name.to_lowercase())
        };
        let groups = || Group::ALL.iter().map(|group| group.word());
        let known = || groups().chain(self.ids()).chain(self.substances.keys().map(String::as_str));
        let unknown = partners.iter().filter(|partner| !is_known(&partner.value));
        unknown
            .map(|partner| {
                let what = format!("`{}` is no group, raw material or substance.", echo(&partner.value));
                let otherwise = format!(
                    "Write an id, an INCI name, {}, or a text without brackets for what cannot be looked for.",
                    list(&groups().collect::<Vec<_>>(), "or")
                );
                Finding::new(kind::WRONG_VALUE, partner.place.clone(), what).mend(suggestion(
                    &partner.value,
                    known(),
                    &otherwise,
                ))
            })
            .collect()
    }

    fn lay_over(&mut self, entry: Entry) -> Option<Finding> {
        let id = self.main_id(&entry.id.value).to_owned();
        let finding = match self.materials.get(&id) {
            None if entry.name.is_none() => {
                let known = self.materials.keys().map(String::as_str);
                let what = format!("The material `{}` has no `name`.", echo(&entry.id.value));
                let mend = suggestion(&entry.id.value, known, "A raw material of your own needs one.");
                Some(Finding::new(kind::MISSING_KEY, entry.id.place.clone(), what).mend(mend))
            }
            _ => None,
        };
        let mut material = match self.materials.get(&id) {
            Some(base) => overlay(base, entry),
            None => entry.material,
        };
        material.id.clone_from(&id);
        for alias in &material.also {
            self.aliases.entry(alias.clone()).or_insert_with(|| id.clone());
        }
        self.materials.insert(id, Arc::new(material));
        finding
    }

    /// Puts a classification of the built-in file to its material.
    fn classify(&mut self, id: &str, classification: Classification) -> Option<Finding> {
        let Some(material) = self.materials.get_mut(id) else {
            let place = Place::start_of(&Arc::from("catalogue/classification.toml"));
            return Some(Finding::new(kind::UNKNOWN_MATERIAL, place, id.to_owned()));
        };
        Arc::make_mut(material).classification = Some(Arc::new(classification));
        None
    }

    fn main_id<'a>(&'a self, id: &'a str) -> &'a str {
        if self.materials.contains_key(id) { id } else { self.aliases.get(id).map_or(id, String::as_str) }
    }

    /// The material of an id or of another id it answers to.
    pub fn material(&self, id: &str) -> Option<&Arc<Material>> {
        self.materials.get(self.main_id(id))
    }

    /// All materials by id.
    pub fn materials(&self) -> impl Iterator<Item = &Arc<Material>> {
        self.materials.values()
    }

    /// All ids and other ids, for suggestions.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.materials.keys().chain(self.aliases.keys()).map(String::as_str)
    }

    /// The ids of the raw materials whose printed name begins with these words: `rose-water` is "Rose water (hydrosol)".
    pub fn called<'c>(&'c self, words: &str) -> impl Iterator<Item = &'c str> + use<'c> {
        let wanted = hyphened(words);
        let is_called = move |name: &str| {
            let name = hyphened(name);
            !wanted.is_empty()
                && name.strip_prefix(&wanted).is_some_and(|rest| rest.is_empty() || rest.starts_with('-'))
        };
        self.materials.values().filter(move |material| is_called(&material.name)).map(|material| material.id.as_str())
    }

    /// The substance of an INCI name.
    pub fn substance(&self, inci: &str) -> Option<&Arc<Substance>> {
        self.substances.get(inci)
    }

    /// All substances by INCI name.
    pub fn substances(&self) -> impl Iterator<Item = &Arc<Substance>> {
        self.substances.values()
    }

    /// All limits.
    pub fn limits(&self) -> &[Limit] {
        &self.limits
    }

    /// All label warnings.
    pub fn warnings(&self) -> &[Warning] {
        &self.warnings
    }

    /// All hazards.
    pub fn hazards(&self) -> &[Hazard] {
        &self.hazards
    }

    /// The standard's hazard statements and pictograms.
    pub fn statements(&self) -> &Statements {
        &self.statements
    }

    /// All fragrance allergens that have to be named.
    pub fn allergens(&self) -> &[Allergen] {
        &self.allergens.all
    }

    /// From which share of the product on an allergen has to be named, %.
    pub fn allergen_trigger(&self, product_use: Use) -> Option<Decimal> {
        self.allergens.trigger(product_use)
    }

    /// The name of an ingredient on labels by a rule set.
    pub fn label_name<'n>(&'n self, inci: &'n str, rules: &str) -> &'n str {
        self.label_names.get(rules).and_then(|names| names.get(inci)).map_or(inci, String::as_str)
    }

    /// All product types.
    pub fn products(&self) -> &[ProductType] {
        &self.products
    }

    /// A product type by its name or another name; capitals and hyphens do not matter.
    pub fn product(&self, name: &str) -> Option<&ProductType> {
        let simple = |text: &str| text.to_lowercase().replace('-', " ");
        let wanted = simple(name);
        self.products
            .iter()
            .find(|product| simple(&product.name) == wanted)
            .or_else(|| self.products.iter().find(|product| product.also.iter().any(|other| simple(other) == wanted)))
    }
}

/// An own entry over a built-in one: each field given replaces the built-in field.
fn overlay(base: &Material, entry: Entry) -> Material {
    let own = entry.material;
    let classification = own.classification.clone().or_else(|| classification::kept(base, &own));
    let path = match own.origin {
        Origin::Own { path, .. } => path,
        Origin::BuiltIn => return base.clone(),
    };
    let pick = |own: Option<Fact>, base: &Option<Fact>| own.or_else(|| base.clone());
    fn pick_list<T: Clone>(own: Vec<T>, base: &[T]) -> Vec<T> {
        if own.is_empty() { base.to_vec() } else { own }
    }
    // An own composition brings its own strength; keeping the built-in strength beside it would contradict it.
    let new_composition = !own.contains.is_empty();
    let strength = if new_composition { own.strength } else { pick(own.strength, &base.strength) };
    let remainder = if new_composition { own.remainder } else { pick(own.remainder, &base.remainder) };
    let mut details = own.details;
    for detail in &base.details {
        if details.iter().all(|known| known.key != detail.key) {
            details.push(detail.clone());
        }
    }
    let mut material = Material {
        id: base.id.clone(),
        name: entry.name.unwrap_or_else(|| base.name.clone()),
        also: base.also.iter().chain(&own.also).cloned().collect(),
        functions: pick_list(own.functions, &base.functions),
        form: own.form.or_else(|| base.form.clone()),
        strength,
        density: pick(own.density, &base.density),
        use_any: pick(own.use_any, &base.use_any),
        use_rinse_off: pick(own.use_rinse_off, &base.use_rinse_off),
        use_leave_on: pick(own.use_leave_on, &base.use_leave_on),
        ph_works: pick(own.ph_works, &base.ph_works),
        ph_stable: pick(own.ph_stable, &base.ph_stable),
        temperature_limit: pick(own.temperature_limit, &base.temperature_limit),
        add_below: pick(own.add_below, &base.add_below),
        contains: pick_list(own.contains, &base.contains),
        remainder,
        constituents: pick_list(own.constituents, &base.constituents),
        melting_point: pick(own.melting_point, &base.melting_point),
        hlb: pick(own.hlb, &base.hlb),
        required_hlb: pick(own.required_hlb, &base.required_hlb),
        saponification_value: pick(own.saponification_value, &base.saponification_value),
        charge: own.charge.or_else(|| base.charge.clone()),
        charge_ph: pick(own.charge_ph, &base.charge_ph),
        with_anionics: own.with_anionics.or_else(|| base.with_anionics.clone()),
        covers: own.covers.or_else(|| base.covers.clone()),
        dissolves: own.dissolves.or_else(|| base.dissolves.clone()),
        electrolytes: own.electrolytes.or_else(|| base.electrolytes.clone()),
        thickens_with: own.thickens_with.or_else(|| base.thickens_with.clone()),
        thick_ph: pick(own.thick_ph, &base.thick_ph),
        solubiliser: pick(own.solubiliser, &base.solubiliser),
        incompatible: pick_list(own.incompatible, &base.incompatible),
        handling: pick_list(own.handling, &base.handling),
        classification,
        lots: pick_list(own.lots, &base.lots),
        prices: pick_list(own.prices, &base.prices),
        has_unread_price: own.has_unread_price || base.has_unread_price,
        stocks: pick_list(own.stocks, &base.stocks),
        details,
        origin: base.origin.clone(),
    };
    // An entry that only lists lots, prices and stock says nothing else of the material than the catalogue does.
    let (lots, prices, stocks) = (base.lots.clone(), base.prices.clone(), base.stocks.clone());
    let has_unread_price = base.has_unread_price;
    let is_changed = Material { lots, prices, stocks, has_unread_price, ..material.clone() } != *base;
    if is_changed {
        material.origin = Origin::Own { path, over: true };
    }
    material
}

fn read_file(path: &Arc<str>, text: &str, shared: &Sources, origin: &Origin) -> (Vec<Entry>, Vec<Finding>) {
    let cutting = Cutting::whole_file(path, text);
    Reader::read(&cutting, |reader, root| {
        let sources = read_sources(reader, &root, shared);
        let entries = read_materials(reader, &root, &sources, origin);
        root.finish();
        entries
    })
}

fn read_table<T>(
    file: (&str, &str),
    shared: &Sources,
    read: impl FnOnce(&Reader<'_>, &crate::block::Table<'_, '_>, &Sources) -> T,
) -> (T, Vec<Finding>) {
    let path: Arc<str> = format!("catalogue/{}", file.0).into();
    let cutting = Cutting::whole_file(&path, file.1);
    Reader::read(&cutting, |reader, root| {
        let sources = read_sources(reader, &root, shared);
        let value = read(reader, &root, &sources);
        root.finish();
        value
    })
}

fn read_built_in() -> (Catalogue, Vec<Finding>) {
    let (shared, mut findings) = read_table(SOURCES, &Sources::new(), |_, _, sources| sources.clone());
    let mut catalogue = Catalogue::default();
    let read_all = || -> Vec<(Vec<Entry>, Vec<Finding>)> {
        FILES
            .par_iter()
            .map(|(name, text)| read_file(&format!("catalogue/{name}").into(), text, &shared, &Origin::BuiltIn))
            .collect()
    };
    let read_rest = || {
        (
            read_table(SUBSTANCES, &shared, tables::read_substances),
            read_table(LIMITED, &shared, tables::read_substances),
            read_table(LIMITS, &shared, |reader, root, _| limit_tables::read_limits(reader, root)),
            read_table(WARNINGS, &shared, |reader, root, _| limit_tables::read_warnings(reader, root)),
            read_table(PRODUCTS, &shared, tables::read_products),
            read_table(HAZARDS, &shared, tables::read_hazards),
            read_table(CLASSIFICATION, &shared, classification::read),
        )
    };
    let (allergens, found) = read_table(ALLERGENS, &shared, |_, root, _| label::read_allergens(root));
    catalogue.allergens = Arc::new(allergens);
    findings.extend(found);
    let (names, found) = read_table(LABEL_NAMES, &shared, |_, root, _| label::read_label_names(root));
    catalogue.label_names = Arc::new(names);
    findings.extend(found);
    let (files, (substances, limited, limits, warnings, products, hazards, classification)) =
        rayon::join(read_all, read_rest);
    let mut partners = Vec::new();
    for (entries, found) in files {
        findings.extend(found);
        for mut entry in entries {
            partners.append(&mut entry.partners);
            if catalogue.materials.contains_key(&entry.id.value) {
                findings.push(Finding::new(kind::DUPLICATE_ID, entry.id.place.clone(), entry.id.value.clone()));
            }
            findings.extend(catalogue.lay_over(entry));
        }
    }
    catalogue.substances = substances
        .0
        .into_iter()
        .chain(limited.0)
        .map(|substance| (substance.inci.clone(), Arc::new(substance)))
        .collect();
    catalogue.spellings =
        Arc::new(catalogue.substances.keys().map(|inci| (inci.to_lowercase(), inci.clone())).collect());
    findings.extend(catalogue.unknown_partners(&partners));
    catalogue.limits = Arc::new(limits.0);
    catalogue.warnings = Arc::new(warnings.0);
    catalogue.products = Arc::new(products.0);
    catalogue.hazards = Arc::new(hazards.0);
    let (statements, classified) = classification.0;
    catalogue.statements = Arc::new(statements);
    findings.extend(classified.into_iter().filter_map(|(id, classification)| catalogue.classify(&id, classification)));
    catalogue.shared = Arc::new(shared);
    findings.extend(substances.1);
    findings.extend(limited.1);
    findings.extend(limits.1);
    findings.extend(warnings.1);
    findings.extend(products.1);
    findings.extend(hazards.1);
    findings.extend(classification.1);
    (catalogue, findings)
}

/// Words in small letters with a hyphen between them, as ids are written.
fn hyphened(text: &str) -> String {
    let words = text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join("-").to_lowercase()
}
