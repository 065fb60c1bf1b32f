//! Links looked up: files and anchors that must exist, figures that calc links ask for.

use super::glossary::Explained;
use super::state::broken;
use super::{Collection, Entry, stale};
use crate::compute::{AddressFault, Figure, Value};
use crate::notebook::{CalcLink, LocalLink, Query};
use crate::page::{Scales, value_text_in};
use crate::quantity::{MassUnit, Units};
use crate::report::{Finding, Kind, Place, echo, kind, nearest, suggestion};
use crate::stamp::Stamp;
use rayon::prelude::*;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

/// A calc link's figure, in the way it is wanted.
#[derive(Clone, Debug)]
pub(super) struct Linked {
    /// The figure.
    pub figure: Figure,
    /// In this unit.
    pub unit: Option<MassUnit>,
    /// With so many decimals.
    pub digits: Option<u32>,
    /// The formula.
    pub formula: String,
    /// How it follows a formula's batch, where it does.
    pub scales: Option<Scales>,
}

/// What the links of a notebook lead to.
struct Resolved {
    numbers: Vec<Option<Linked>>,
    terms: Vec<Option<Explained>>,
    findings: Vec<Finding>,
}

impl Collection {
    /// Looks up all links of notebooks where anything they lead to changed.
    pub(super) fn resolve_links(&mut self) {
        let work: Vec<(Arc<str>, u64)> = self
            .entries
            .par_iter()
            .filter_map(|(path, entry)| {
                let stamp = self.stamp_of_links(entry);
                (stamp != entry.link_stamp).then(|| (Arc::clone(path), stamp))
            })
            .collect();
        type Done = (Arc<str>, u64, Resolved);
        let done: Vec<Done> = work
            .into_par_iter()
            .filter_map(|(path, stamp)| {
                let entry = self.entries.get(&path)?;
                let resolved =
                    catch_unwind(AssertUnwindSafe(|| self.resolve_notebook(entry))).unwrap_or_else(|_| Resolved {
                        numbers: vec![None; entry.notebook.calc_links.len()],
                        terms: vec![None; entry.notebook.terms.len()],
                        findings: vec![broken(&path, 0)],
                    });
                Some((path, stamp, resolved))
            })
            .collect();
        for (path, stamp, resolved) in done {
            if let Some(entry) = self.entries.get_mut(&path) {
                entry.is_touched = true;
                entry.numbers = resolved.numbers;
                entry.terms = resolved.terms;
                entry.link_stamp = stamp;
                entry.link_findings = resolved.findings;
            }
        }
    }

    fn resolve_notebook(&self, entry: &Entry) -> Resolved {
        let mut findings: Vec<Finding> = entry.notebook.links.iter().filter_map(|link| self.check_link(link)).collect();
        let numbers = entry.notebook.calc_links.iter().map(|link| self.look_up_calc(link, &mut findings)).collect();
        let terms: Vec<_> = entry.notebook.terms.iter().map(|link| self.explained(link)).collect();
        let unknown = entry.notebook.terms.iter().zip(&terms).filter(|(_, explained)| explained.is_none());
        findings.extend(unknown.map(|(link, _)| self.unknown_term(link)));
        if self.glossary.is_at(&entry.notebook.path) {
            findings.extend(self.terms_twice(entry));
        }
        Resolved { numbers, terms, findings }
    }

    /// Hash over everything that the links of a notebook lead to.
    fn stamp_of_links(&self, entry: &Entry) -> u64 {
        let mut stamp = Stamp::new().number(entry.text_stamp);
        for link in &entry.notebook.links {
            // What is suggested for a broken link hangs on all other files, so the whole finding counts.
            stamp = match self.check_link(link) {
                None => stamp.number(1),
                Some(finding) => stamp.finding(&finding),
            };
        }
        for link in &entry.notebook.calc_links {
            let id = link.path.first().map_or("", String::as_str);
            stamp = match self.formula_state(id) {
                Some((home, state)) => stamp.number(state.stamp).text(&home.notebook.path),
                None => match self.block_state(id) {
                    Some((home, state)) => stamp.number(state.stamp).text(&home.notebook.path),
                    // Which ids there are decides what is suggested for a missing one.
                    None => self.ids().fold(stamp.number(0), |stamp, id| stamp.text(id)),
                },
            };
        }
        stamp = entry.notebook.terms.iter().fold(stamp, |stamp, link| self.stamp_term(stamp, link));
        stamp.number(u64::from(self.glossary.is_at(&entry.notebook.path))).value()
    }

    fn check_link_kind(&self, link: &LocalLink) -> Option<&'static Kind> {
        let Some(target) = &link.target else { return Some(kind::OUTSIDE_LINK) };
        let target: &str = target;
        if let Some(entry) = self.entries.get(target) {
            let anchor = link.anchor.as_deref().filter(|anchor| !anchor.is_empty())?;
            return (!has_anchor(entry, anchor)).then_some(kind::BROKEN_ANCHOR);
        }
        (!self.sources.files.contains(target)).then_some(kind::BROKEN_LINK)
    }

    fn check_link(&self, link: &LocalLink) -> Option<Finding> {
        let kind = self.check_link_kind(link)?;
        let written = echo(&link.written);
        let target = link.target.as_deref().unwrap_or_default();
        let finding = match kind.name {
            "outside-link" => {
                return Some(Finding::new(
                    kind,
                    link.place.clone(),
                    format!("`{written}` leads out of the collection's folder."),
                ));
            }
            "broken-anchor" => {
                let anchor = link.anchor.as_deref().unwrap_or_default();
                let what = if target == &*link.place.path {
                    format!("This notebook has no part `#{}`.", echo(anchor))
                } else {
                    format!("`{target}` has no part `#{}`.", echo(anchor))
                };
                let entry = self.entries.get(target)?;
                let anchors = entry.notebook.anchors.iter().map(String::as_str);
                Finding::new(kind, link.place.clone(), what).mend(suggestion(anchor, anchors, kind.mend))
            }
            _ if self.text_of(target).is_some() => {
                let what = format!("`{}` is read by tarebook and not published.", echo(target));
                Finding::new(kind, link.place.clone(), what)
                    .mend("Say in words what stands in it, or link to a copy under another name.")
            }
            _ => {
                let known = self.sources.notebooks.keys().chain(&self.sources.files).map(|path| &**path);
                let near = nearest(target, known);
                let what = format!("There is no file `{}`.", echo(target));
                let finding = Finding::new(kind, link.place.clone(), what);
                match near.as_slice() {
                    [] => finding,
                    names => finding.mend(format!("There is {}.", crate::report::list(names, "and"))),
                }
            }
        };
        Some(finding)
    }

    fn look_up_calc(&self, link: &CalcLink, findings: &mut Vec<Finding>) -> Option<Linked> {
        let (id, rest) = match link.path.split_first() {
            Some((id, rest)) => (id.as_str(), rest),
            None => ("", [].as_slice()),
        };
        let (figure, unit) = self.look_up_address(id, rest, &link.query, &link.place, findings)?;
        let shown = value_text_in(&figure.value, unit, link.query.digits);
        if let Some(finding) = stale::check(link, &figure.value, &shown) {
            findings.push(finding);
        }
        let scales = self.scales(id, rest, &link.query);
        Some(Linked { figure, unit, digits: link.query.digits, formula: id.to_owned(), scales })
    }

    /// The figure of an address with what its query asks, for calc links and for blocks that name figures; a unit of mass is given beside it, in which it is
    /// to be shown. What is wrong is reported.
    pub(super) fn look_up_address(
        &self,
        id: &str,
        rest: &[String],
        query: &Query,
        place: &Place,
        findings: &mut Vec<Finding>,
    ) -> Option<(Figure, Option<MassUnit>)> {
        if id.is_empty() {
            findings.push(
                Finding::new(kind::UNKNOWN_ADDRESS, place.clone(), "This calc link has no address.")
                    .mend("Write `calc:formula/quantity`, such as `calc:barley-wash/active-matter`."),
            );
            return None;
        }
        if !self.ids().any(|known| known == id) {
            let what = format!("There is no formula or block `{}`.", echo(id));
            let known: Vec<&str> = self.ids().take(9).collect();
            let all = match known.as_slice() {
                [] => "There is none with an id yet.".to_owned(),
                known if known.len() > 8 => kind::UNKNOWN_ADDRESS.mend.to_owned(),
                known => format!("The ids here: {}.", crate::report::list(known, "and")),
            };
            findings.push(Finding::new(kind::UNKNOWN_ADDRESS, place.clone(), what).mend(suggestion(
                id,
                self.ids(),
                &all,
            )));
            return None;
        }
        // Where there is no figure, the block's own errors say why; a second error for each number would only repeat them.
        let path: Vec<&str> = rest.iter().map(String::as_str).collect();
        match self.figure(id, &path, query.batch.as_deref())? {
            Ok(figure) => in_unit(figure, query, place, findings),
            Err(fault) => {
                findings.push(fault_finding(fault, id, rest, place));
                None
            }
        }
    }
}

/// A figure in the unit that is asked for: a result of workings in any that fits, everything else in units of mass.
fn in_unit(
    figure: Figure,
    query: &Query,
    place: &Place,
    findings: &mut Vec<Finding>,
) -> Option<(Figure, Option<MassUnit>)> {
    let Some(symbol) = &query.unit else { return Some((figure, None)) };
    let shown = echo(symbol);
    if let Value::Worked(value) = &figure.value {
        let found = Units::read(symbol).ok().and_then(|units| value.to(&units).ok());
        if let Some(value) = found {
            return Some((Figure { value: Value::Worked(value), ..figure }, None));
        }
        let what = format!("`{shown}` is no unit of {}.", value.units().measures());
        findings.push(Finding::new(kind::BAD_QUERY, place.clone(), what));
        return Some((figure, None));
    }
    let unit = MassUnit::from_symbol(symbol);
    if unit.is_none() {
        let known: Vec<&str> = MassUnit::ALL.iter().map(|(_, symbol)| *symbol).collect();
        findings.push(
            Finding::new(kind::BAD_QUERY, place.clone(), format!("`{shown}` is no unit of mass."))
                .mend(format!("Units are {}.", known.join(", "))),
        );
    }
    Some((figure, unit))
}

fn has_anchor(entry: &Entry, anchor: &str) -> bool {
    entry.notebook.anchors.contains(anchor)
        || anchor
            .strip_prefix("sheet-")
            .is_some_and(|id| super::state::ids_of(&entry.notebook).any(|(known, _, _)| known.value == id))
}

fn fault_finding(fault: AddressFault, id: &str, rest: &[String], place: &Place) -> Finding {
    let wanted = rest.join("/");
    let written = echo(&format!("{id}/{wanted}"));
    let place = place.clone();
    match fault {
        AddressFault::NoLine { formula, material } => {
            let what = format!("`{}` has no line `{}`.", echo(&formula), echo(&material));
            Finding::new(kind::UNKNOWN_ADDRESS, place, what)
        }
        AddressFault::Unknown(known) => {
            // The formula's own id is right; only what follows it is compared.
            let below = |address: &str| address.strip_prefix(id).map(|rest| rest.trim_start_matches('/').to_owned());
            let parts: Vec<String> = known.iter().filter_map(|address| below(address)).collect();
            let near: Vec<String> = nearest(&wanted, parts.iter().map(String::as_str))
                .into_iter()
                .map(|part| format!("{id}/{part}"))
                .collect();
            // Where all but the last part is right, what can stand there is told.
            let before = wanted.rsplit_once('/').map_or(String::new(), |(before, _)| format!("{before}/"));
            let beside: Vec<String> = parts
                .iter()
                .filter_map(|part| part.strip_prefix(&before).filter(|last| !before.is_empty() && !last.contains('/')))
                .map(str::to_owned)
                .collect();
            let mend = match near.as_slice() {
                _ if !beside.is_empty() => format!(
                    "Below `{id}/{}` stand {}.",
                    before.trim_end_matches('/'),
                    crate::report::list(&beside, "and")
                ),
                [] => format!(
                    "Some of its addresses: {}. `tarebook explain {id}` lists all {}.",
                    known.iter().take(8).cloned().collect::<Vec<_>>().join(", "),
                    known.len()
                ),
                names => format!("Did you mean {}?", crate::report::list(names, "or")),
            };
            Finding::new(kind::UNKNOWN_ADDRESS, place, format!("Nothing has the address `{written}`.")).mend(mend)
        }
        AddressFault::NoValue(why) => Finding::new(kind::NO_VALUE, place, format!("`{written}` has no value: {why}.")),
        AddressFault::BadBatch(why) => {
            Finding::new(kind::BAD_QUERY, place, format!("The batch is not understood: {why}."))
        }
    }
}
