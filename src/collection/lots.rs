//! The lots part: one page with every lot that the material files list or that a formula or batch record names, and where it went.

use super::Collection;
use super::assemble::{OutputFile, json_bytes, percent_encoded, relative};
use super::state::Entry;
use crate::compute::{Answer, BatchRecord};
use crate::material::Lot;
use crate::page::{LotContext, LotListContext, LotMaterial, LotUse};
use crate::quantity::{Date, Mass, MassUnit, show};
use crate::report::Finding;
use crate::stamp::Stamp;
use std::collections::{BTreeMap, BTreeSet};

/// The page of all lots.
pub(super) const LIST: &str = "lots/index.html";

/// A lot that a formula or a batch record holds. Made when the notebook is touched, so that gathering them all stays cheap.
#[derive(Clone, Debug)]
pub struct HeldLot {
    /// The raw material, by its id.
    pub material: String,
    /// The number.
    pub lot: String,
    /// The day of a batch record; none for a formula.
    pub date: Option<Date>,
    /// What holds it.
    pub at: LotUse,
}

/// Lots by raw material and number: what the material files list of each, and what holds it.
pub type Lots<'c> = BTreeMap<(String, String), (Option<&'c Lot>, Vec<&'c HeldLot>)>;

/// The lots that a notebook names.
pub(super) fn lots_of_entry(entry: &Entry) -> Vec<HeldLot> {
    let page = entry.notebook.page_path();
    let mut held = Vec::new();
    for computed in entry.formulas.iter().filter_map(|state| state.computed.as_ref()) {
        let formula = &computed.formula;
        for line in formula.lines() {
            let Some(lot) = &line.lot else { continue };
            held.push(HeldLot {
                material: line.material.id.clone(),
                lot: lot.trim().to_owned(),
                date: None,
                at: LotUse {
                    what: "formula",
                    id: formula.id.clone(),
                    title: formula.title.clone().unwrap_or_else(|| formula.id.clone()),
                    href: format!("{}#sheet-{}", relative(LIST, &page), formula.id),
                    date: String::new(),
                    amount: show::percent(formula.percent(line).value()),
                    expired: false,
                },
            });
        }
    }
    for (block, state) in entry.notebook.blocks.iter().zip(&entry.blocks) {
        let Some(Answer::BatchRecord(record)) = state.answer.as_deref() else { continue };
        let id = block.id.as_ref().map_or("", |id| id.value.as_str());
        held.extend(lots_of_record(record, id, &relative(LIST, &page)));
    }
    held
}

fn lots_of_record(record: &BatchRecord, id: &str, page: &str) -> Vec<HeldLot> {
    if record.is_blank {
        return Vec::new();
    }
    let decimals = record.planned.sheet.decimals();
    let at = |amount: Option<Mass>| LotUse {
        what: "batch",
        id: id.to_owned(),
        title: record.title.clone(),
        href: if id.is_empty() { page.to_owned() } else { format!("{page}#sheet-{id}") },
        date: record.date.map_or_else(String::new, |date| date.to_string()),
        amount: amount.map_or_else(
            || "not noted".to_owned(),
            |mass| {
                show::mass_in(mass, MassUnit::Gram, mass.grams().normalize().scale().clamp(decimals, decimals.max(6)))
            },
        ),
        expired: false,
    };
    let of_lines = record.lines.iter().flat_map(|line| line.lots.iter().map(move |part| (line, part))).filter_map(
        |(line, part)| {
            let lot = part.number.as_ref()?.trim().to_owned();
            let material = line.material.id.clone();
            Some(HeldLot { material, lot, date: record.date, at: at(part.weight) })
        },
    );
    let material_of = |written: &str| {
        let line = record.lines.iter().find(|line| line.written == written || line.material.id == written);
        line.map_or(written, |line| line.material.id.as_str()).to_owned()
    };
    let of_top_ups = record.top_ups.iter().filter_map(|one| {
        let lot = one.lot.as_ref()?.value.trim().to_owned();
        let material = material_of(one.with.value.trim());
        Some(HeldLot { material, lot, date: record.date, at: at(Some(one.weight.value)) })
    });
    of_lines.chain(of_top_ups).collect()
}

/// The element of a lot on the page: letters, digits and hyphens as they are, everything else by its number, so that no two lots share one.
fn anchor_of(material: &str, lot: &str) -> String {
    let plain: String = lot
        .trim()
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || c == '-' { c.to_string() } else { format!("_{:x}_", u32::from(c)) })
        .collect();
    format!("lot-{material}--{plain}")
}

/// The link from a notebook's page to a lot.
pub(super) fn lot_href(from: &str, material: &str, lot: &str) -> String {
    format!("{}#{}", relative(from, LIST), anchor_of(material, lot))
}

impl Collection {
    /// Every lot by raw material and number: what the collection lists of it, and what holds it, batches by date first.
    pub fn lots(&self) -> Lots<'_> {
        let mut lots = Lots::new();
        for material in self.catalogue.materials() {
            for lot in &material.lots {
                lots.insert((material.id.clone(), lot.number.clone()), (Some(lot), Vec::new()));
            }
        }
        for held in self.entries_in_order().filter_map(|path| self.entries.get(path)).flat_map(|entry| &entry.lots) {
            lots.entry((held.material.clone(), held.lot.clone())).or_default().1.push(held);
        }
        for (_, held) in lots.values_mut() {
            held.sort_by_key(|one| (one.date.is_none(), one.date));
        }
        lots
    }

    /// Whether there is anything to put on the page.
    pub(super) fn has_lots(&self) -> bool {
        self.entries.values().any(|entry| !entry.lots.is_empty())
            || self.catalogue.materials().any(|material| !material.lots.is_empty())
    }

    /// A hash over everything that the page shows beside the material files.
    pub(super) fn lots_stamp(&self) -> u64 {
        let held = self.entries_in_order().filter_map(|path| self.entries.get(path)).flat_map(|entry| &entry.lots);
        held.fold(Stamp::new().number(self.lookup_stamp()), |stamp, one| {
            let at = &one.at;
            [&one.material, &one.lot, &at.id, &at.title, &at.href, &at.date, &at.amount]
                .into_iter()
                .fold(stamp.text(at.what), |stamp, text| stamp.text(text))
        })
        .value()
    }

    pub(super) fn render_lots(&self) -> Result<Vec<OutputFile>, Box<Finding>> {
        let used: BTreeSet<&str> = self.used_materials().collect();
        let mut materials: Vec<LotMaterial> = Vec::new();
        for ((id, number), (listed, held)) in self.lots() {
            let is_new = materials.last().is_none_or(|last| last.id != id);
            if is_new {
                let name = self.catalogue.material(&id).map_or(&id, |material| &material.name).clone();
                let href = if used.contains(id.as_str()) {
                    format!("../materials/{}.html", percent_encoded(&id))
                } else {
                    String::new()
                };
                materials.push(LotMaterial { id: id.clone(), name, href, lots: Vec::new() });
            }
            let date = |date: Option<Date>| date.map_or_else(String::new, |date| date.to_string());
            let context = LotContext {
                anchor: anchor_of(&id, &number),
                received: date(listed.and_then(|lot| lot.received)),
                expires: date(listed.and_then(|lot| lot.expires)),
                retest: date(listed.and_then(|lot| lot.retest)),
                strength: listed.and_then(|lot| lot.strength).map_or_else(String::new, |strength| {
                    format!("{}{}%", show::ends(strength.low, strength.high), show::NBSP)
                }),
                documents: listed.map_or_else(Vec::new, |lot| lot.documents.clone()),
                note: listed.and_then(|lot| lot.note.clone()).unwrap_or_default(),
                listed: listed.is_some(),
                uses: held
                    .into_iter()
                    .map(|one| {
                        let expired = one.date.is_some_and(|day| listed.is_some_and(|lot| lot.is_expired_on(day)));
                        LotUse { expired, ..one.at.clone() }
                    })
                    .collect(),
                number,
            };
            if let Some(last) = materials.last_mut() {
                last.lots.push(context);
            }
        }
        let data_path = super::assemble::data_path(LIST);
        let context = LotListContext {
            site: &self.site,
            root: "../",
            materials,
            lookup: self.lookup(LIST),
            errors: self.outside_contexts(),
            data_href: percent_encoded(data_path.rsplit('/').next().unwrap_or_default()),
            version: super::assemble::VERSION,
        };
        let data = serde_json::json!({
            "schema": "tarebook lots 1",
            "program": super::assemble::PROGRAM,
            "page": LIST,
            "materials": &context.materials,
        });
        let bytes = self.render_template("lots.html", &context)?;
        Ok(vec![OutputFile { path: LIST.to_owned(), bytes }, OutputFile { path: data_path, bytes: json_bytes(&data) }])
    }
}
