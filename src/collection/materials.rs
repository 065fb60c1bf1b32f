//! The materials part: a page for each raw material that the collection uses, with where it is used, and a list of them.
//!
//! A page that is made of no notebook is known by the path it is written to; a notebook's path ends in `.md` and no page's does.

use super::Collection;
use super::assemble::{OutputFile, json_bytes, percent_encoded, relative};
use super::bench_sheets::formula_of;
use super::lists::{ROWS, is_list};
use super::state::Entry;
use crate::page::{
    LookUp, MaterialContext, MaterialListContext, MaterialUse, UsesContext, material_context, material_item,
};
use crate::quantity::show;
use crate::report::Finding;
use crate::stamp::Stamp;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The folder of the materials part in the output.
const FOLDER: &str = "materials";
/// The list of all raw materials.
pub(super) const LIST: &str = "materials/index.html";

/// Formulas, by notebook and index there.
type Places = Vec<(Arc<str>, usize)>;

/// Where raw materials are used, by their id.
#[derive(Default)]
pub(super) struct Uses {
    /// For each raw material the formulas that hold it, by notebook and index there, in the order of the index.
    by_material: BTreeMap<String, Places>,
    /// For each a hash over all that its page says of its uses.
    stamps: BTreeMap<String, u64>,
    /// Hash over everything here.
    pub(super) stamp: u64,
}

impl Uses {
    /// Whether no raw material is used at all.
    pub(super) fn is_empty(&self) -> bool {
        self.by_material.is_empty()
    }
}

/// The page of a raw material.
pub(super) fn material_page(id: &str) -> String {
    format!("{FOLDER}/{id}.html")
}

/// A further page of the formulas that hold a raw material; `part` counts from 1, the page of the raw material being 0.
fn uses_page(id: &str, part: usize) -> String {
    match part {
        0 => material_page(id),
        _ => format!("{FOLDER}/uses/{id}-{}.html", part + 1),
    }
}

/// The raw material and the part of a further page.
fn uses_of_page(page: &str) -> Option<(&str, usize)> {
    let name = page.strip_prefix(FOLDER)?.strip_prefix("/uses/")?.strip_suffix(".html")?;
    let (id, number) = name.rsplit_once('-')?;
    Some((id, number.parse::<usize>().ok()?.checked_sub(1)?))
}

/// A formula of a notebook that holds a raw material.
#[derive(Clone, Debug)]
pub(super) struct UsedIn {
    material: String,
    /// Index of the formula in its notebook.
    index: usize,
    /// Hash over what the raw material's page says of it.
    stamp: u64,
}

/// The raw materials that a notebook uses. Made when the notebook is touched, so that gathering them all stays cheap.
pub(super) fn uses_of_entry(entry: &Entry) -> Vec<UsedIn> {
    let home = Stamp::new().text(&entry.notebook.path).text(&entry.title());
    let mut uses: Vec<UsedIn> = Vec::new();
    for (index, state) in entry.formulas.iter().enumerate() {
        let Some(computed) = &state.computed else { continue };
        let formula = &computed.formula;
        let stamp = home.text(&formula.id).text(formula.title.as_deref().unwrap_or_default());
        let stamp = stamp.text(formula.product.as_ref().map_or("", |product| &product.name));
        for line in formula.lines() {
            let with_share = |stamp: Stamp| stamp.text(&formula.percent(line).value().to_string());
            let known = uses.iter_mut().find(|used| used.index == index && used.material == line.material.id);
            match known {
                Some(used) => used.stamp = with_share(Stamp::new().number(used.stamp)).value(),
                None => {
                    let material = line.material.id.clone();
                    uses.push(UsedIn { material, index, stamp: with_share(stamp).value() });
                }
            }
        }
    }
    uses
}

impl Collection {
    /// Gathers the uses again when any of them changed.
    pub(super) fn gather_uses(&mut self) {
        let start = Stamp::new().number(self.epoch);
        let entries = || self.entries_in_order().filter_map(|path| Some((path, self.entries.get(path)?)));
        let stamp =
            entries().flat_map(|(_, entry)| &entry.uses).fold(start, |stamp, used| stamp.number(used.stamp)).value();
        if stamp == self.uses.stamp {
            return;
        }
        let mut by_material: BTreeMap<String, (Stamp, Places)> = BTreeMap::new();
        for (path, entry) in entries() {
            for used in &entry.uses {
                if !by_material.contains_key(&used.material) {
                    by_material.insert(used.material.clone(), (start, Vec::new()));
                }
                if let Some((stamp, places)) = by_material.get_mut(&used.material) {
                    *stamp = stamp.number(used.stamp);
                    places.push((Arc::clone(path), used.index));
                }
            }
        }
        let stamps = by_material.iter().map(|(id, (stamp, _))| (id.clone(), stamp.value())).collect();
        let by_material = by_material.into_iter().map(|(id, (_, places))| (id, places)).collect();
        self.uses = Uses { by_material, stamps, stamp };
    }

    pub(super) fn entries_in_order(&self) -> impl Iterator<Item = &Arc<str>> {
        self.order.iter().chain(self.entries.get_key_value(super::INDEX_NOTEBOOK).map(|(path, _)| path))
    }

    /// The pages of raw materials and lots and the bench sheets, by the path they are written to.
    pub fn generated_pages(&self) -> Vec<Arc<str>> {
        let list = (!self.uses.by_material.is_empty()).then(|| Arc::from(LIST));
        let materials = list.into_iter().chain(self.used_materials().map(|id| Arc::from(material_page(id))));
        let lots = self.has_lots().then(|| Arc::from(super::lots::LIST));
        let further =
            self.uses.by_material.iter().flat_map(|(id, places)| {
                (1..places.len().div_ceil(ROWS)).map(move |part| Arc::from(uses_page(id, part)))
            });
        materials.chain(further).chain(lots).chain(self.list_pages()).chain(self.bench_pages()).collect()
    }

    /// The ids of the raw materials that formulas hold; each has a page.
    pub(super) fn used_materials(&self) -> impl Iterator<Item = &str> {
        self.uses.by_material.keys().map(String::as_str)
    }

    /// A hash over everything that a generated page shows.
    pub(super) fn generated_key(&self, page: &str) -> u64 {
        if let Some(id) = formula_of(page) {
            return self.bench_key(id);
        }
        let stamp = Stamp::new().number(self.epoch).number(self.outside_stamp.value());
        if page == super::lots::LIST {
            return stamp.number(self.uses.stamp).number(self.lots_stamp()).value();
        }
        if is_list(page) {
            return self.list_key(page, stamp);
        }
        let id = uses_of_page(page).map(|(id, _)| id).or_else(|| material_of(page));
        match id {
            None => stamp.number(self.uses.stamp).number(self.lookup_stamp()).value(),
            Some(id) => stamp.number(self.uses.stamps.get(id).copied().unwrap_or_default()).value(),
        }
    }

    /// How a formula uses a raw material, as seen from a page.
    fn use_of(&self, from: &str, id: &str, path: &str, index: usize) -> Option<MaterialUse> {
        let entry = self.entries.get(path)?;
        let computed = entry.formulas.get(index)?.computed.as_ref()?;
        let formula = &computed.formula;
        let lines = formula.lines().filter(|line| line.material.id == id);
        let percent = lines.map(|line| formula.percent(line).value()).sum();
        let page = entry.notebook.page_path();
        Some(MaterialUse {
            formula: formula.id.clone(),
            title: formula.title.clone().unwrap_or_else(|| formula.id.clone()),
            href: format!("{}#sheet-{}", relative(from, &page), formula.id),
            product: formula.product.as_ref().map_or_else(String::new, |product| product.name.clone()),
            notebook: entry.title(),
            percent: show::percent(percent),
            value: percent.normalize().to_string(),
        })
    }

    /// The formulas of one part of the list, as seen from the page of that part.
    fn uses_of(&self, from: &str, id: &str, part: usize) -> Vec<MaterialUse> {
        let places = self.uses.by_material.get(id).map_or(&[][..], Vec::as_slice);
        let places = places.iter().skip(part * ROWS).take(ROWS);
        places.filter_map(|(path, index)| self.use_of(from, id, path, *index)).collect()
    }

    /// All formulas that hold a raw material, as seen from its page.
    fn all_uses_of(&self, id: &str) -> Vec<MaterialUse> {
        let from = material_page(id);
        let places = self.uses.by_material.get(id).map_or(&[][..], Vec::as_slice);
        places.iter().filter_map(|(path, index)| self.use_of(&from, id, path, *index)).collect()
    }

    /// Links to the pages over which the formulas of a raw material go.
    fn pages_of_uses(&self, id: &str, part: usize) -> Vec<LookUp> {
        let parts = self.uses.by_material.get(id).map_or(0, Vec::len).div_ceil(ROWS);
        if parts < 2 {
            return Vec::new();
        }
        let here = uses_page(id, part);
        let link = |index: usize| LookUp {
            title: (index + 1).to_string(),
            href: relative(&here, &uses_page(id, index)),
            is_here: index == part,
        };
        (0..parts).map(link).collect()
    }

    fn render_uses(&self, page: &str, id: &str, part: usize) -> Result<Vec<OutputFile>, Box<Finding>> {
        let Some(material) = self.catalogue.material(id) else { return Ok(Vec::new()) };
        let context = UsesContext {
            site: &self.site,
            root: "../../",
            name: material.name.clone(),
            href: relative(page, &material_page(id)),
            uses: self.uses_of(page, id, part),
            pages: self.pages_of_uses(id, part),
            errors: self.outside_contexts(),
            version: super::assemble::VERSION,
        };
        Ok(vec![OutputFile { path: page.to_owned(), bytes: self.render_template("uses.html", &context)? }])
    }

    /// A generated page with its data file.
    pub(super) fn render_generated(&self, page: &str) -> Result<Vec<OutputFile>, Box<Finding>> {
        if let Some(id) = formula_of(page) {
            return self.render_bench_sheet(id);
        }
        if page == super::lots::LIST {
            return self.render_lots();
        }
        if is_list(page) {
            return self.render_list_page(page);
        }
        if let Some((id, part)) = uses_of_page(page) {
            return self.render_uses(page, id, part);
        }
        let Some(id) = material_of(page) else { return self.render_list() };
        let Some(material) = self.catalogue.material(id) else { return Ok(Vec::new()) };
        let data_path = super::assemble::data_path(page);
        let part = material_context(material, &self.catalogue, &self.settings.rules);
        let mut uses = self.all_uses_of(id);
        let data = serde_json::json!({
            "schema": "tarebook material 1",
            "program": super::assemble::PROGRAM,
            "page": page,
            "title": &material.name,
            "material": &part,
            "uses": &uses,
        });
        // The data file has all uses; the list goes on on further pages where they would make this one too heavy.
        uses.truncate(ROWS);
        let context = MaterialContext {
            site: &self.site,
            root: "../",
            m: part,
            uses,
            pages: self.pages_of_uses(id, 0),
            errors: self.outside_contexts(),
            data_href: percent_encoded(data_path.rsplit('/').next().unwrap_or_default()),
            version: super::assemble::VERSION,
        };
        let bytes = self.render_template("material.html", &context)?;
        Ok(vec![OutputFile { path: page.to_owned(), bytes }, OutputFile { path: data_path, bytes: json_bytes(&data) }])
    }

    fn render_list(&self) -> Result<Vec<OutputFile>, Box<Finding>> {
        let items = self
            .uses
            .by_material
            .iter()
            .filter_map(|(id, places)| Some(material_item(self.catalogue.material(id)?, places.len())))
            .collect();
        let context = MaterialListContext {
            site: &self.site,
            root: "../",
            items,
            lookup: self.lookup(LIST),
            errors: self.outside_contexts(),
            version: super::assemble::VERSION,
        };
        Ok(vec![OutputFile { path: LIST.to_owned(), bytes: self.render_template("materials.html", &context)? }])
    }
}

/// The raw material of a page; `None` for the list.
fn material_of(page: &str) -> Option<&str> {
    let name = page.strip_prefix(FOLDER)?.strip_prefix('/')?.strip_suffix(".html")?;
    (page != LIST).then_some(name)
}

/// Whether a path is that of a generated page.
pub(super) fn is_generated(path: &str) -> bool {
    !crate::notebook::is_notebook_path(path)
}
