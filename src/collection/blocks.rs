//! Blocks that build on formulas or on each other: in which order they are computed, and which again after a change.

use super::Collection;
use super::state::broken;
use crate::block::{
    BatchRecordBlock, Block, Body, DilutionBlock, FillingBlock, Placed, StabilityBlock, TitrationBlock, WindowShown,
};
use crate::caution::{
    RecordCase, StabilityCase, TitrationCase, costing_fault, curve_faults, dilution_fault, examine_batch_record,
    examine_buffer, examine_costing, examine_curve, examine_declaration, examine_dilution, examine_filling,
    examine_method, examine_saponification, examine_stability, examine_titration, filling_fault, record_faults,
    saponification_faults, stability_faults, titration_faults,
};
use crate::compute::{
    Answer, BatchRecord, Buffer, Computed, Costing, Curve, Declaration, Dilution, Filling, HeatWindows, PhWindows,
    Rules, Saponification, Stability, Titration, Watched, WeighedMethod, Windows, weak_acids,
};
use crate::material::Material;
use crate::model::resolve_method;
use crate::report::{Finding, echo, kind, suggestion};
use crate::stamp::Stamp;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

/// A block of a notebook, worked out.
#[derive(Clone, Debug, Default)]
pub struct BlockState {
    /// What it comes to, unless errors stand against it.
    pub answer: Option<Arc<Answer>>,
    /// What was found while computing and judging it.
    pub findings: Vec<Finding>,
    /// Hash of its text and of everything that it builds on.
    pub stamp: u64,
}

/// A block by its notebook and its index there.
type BlockKey = (Arc<str>, usize);

/// How far a block stands above the formulas, and its stamp.
#[derive(Clone, Copy)]
struct Standing {
    level: usize,
    stamp: u64,
    in_circle: bool,
}

/// Blocks on blocks may be stacked this high; beyond it nobody can follow them, and a circle has no end.
const HIGHEST: usize = 64;

impl Collection {
    /// Computes the blocks for which anything that they rest on changed, those first that others build on.
    pub(super) fn compute_blocks(&mut self) {
        let mut known: BTreeMap<BlockKey, Standing> = BTreeMap::new();
        let mut levels: Vec<Vec<(BlockKey, Standing)>> = Vec::new();
        for (path, entry) in &self.entries {
            for index in 0..entry.notebook.blocks.len() {
                let key = (Arc::clone(path), index);
                let standing = self.standing(&key, &mut known, 0);
                if levels.len() <= standing.level {
                    levels.resize_with(standing.level + 1, Vec::new);
                }
                if let Some(level) = levels.get_mut(standing.level) {
                    level.push((key, standing));
                }
            }
        }
        for entry in self.entries.values_mut() {
            if entry.blocks.len() != entry.notebook.blocks.len() {
                entry.blocks = vec![BlockState::default(); entry.notebook.blocks.len()];
                entry.is_touched = true;
            }
        }
        for level in levels {
            let work = level.into_par_iter().filter(|((path, index), standing)| {
                let old = self.entries.get(path).and_then(|entry| entry.blocks.get(*index));
                old.is_none_or(|old| old.stamp != standing.stamp)
            });
            let done: Vec<(BlockKey, BlockState)> = work
                .map(|(key, standing)| {
                    let state = self.work_out(&key, standing);
                    (key, state)
                })
                .collect();
            for ((path, index), state) in done {
                let Some(entry) = self.entries.get_mut(&path) else { continue };
                if let Some(old) = entry.blocks.get_mut(index) {
                    *old = state;
                    entry.is_touched = true;
                }
            }
        }
    }

    /// The stamp of a block: its text, its place, and the stamps of all that it builds on.
    fn standing(&self, key: &BlockKey, known: &mut BTreeMap<BlockKey, Standing>, depth: usize) -> Standing {
        if let Some(standing) = known.get(key) {
            return *standing;
        }
        let lost = Standing { level: 0, stamp: 1, in_circle: true };
        let Some(entry) = self.entries.get(&key.0).filter(|_| depth <= HIGHEST) else { return lost };
        let Some(block) = entry.notebook.blocks.get(key.1) else { return lost };
        // Until it is worked out, whoever meets it again has come round in a circle.
        known.insert(key.clone(), lost);
        // The places in findings move with the text above the block, so the whole text counts.
        let start = Stamp::new().number(self.epoch).number(entry.text_stamp).number(key.1 as u64);
        let mut standing = Standing { level: 0, stamp: 0, in_circle: false };
        let stamp = block.builds_on().into_iter().fold(start, |stamp, id| {
            if let Some((_, state)) = self.formula_state(&id.value) {
                return stamp.number(state.stamp).number(u64::from(state.computed.is_some()));
            }
            match self.blocks.get(&id.value) {
                Some(other) => {
                    let below = self.standing(other, known, depth + 1);
                    standing.level = standing.level.max(below.level + 1);
                    standing.in_circle |= below.in_circle;
                    stamp.number(below.stamp)
                }
                // Which ids there are decides what is suggested for a missing one.
                None => {
                    let words = self.blocks.keys().map(|id| self.word_of(id));
                    words.fold(self.ids().fold(stamp.number(0), Stamp::text), Stamp::text)
                }
            }
        });
        standing.stamp = stamp.number(u64::from(standing.in_circle)).value();
        known.insert(key.clone(), standing);
        standing
    }

    fn work_out(&self, key: &BlockKey, standing: Standing) -> BlockState {
        let block = self.entries.get(&key.0).and_then(|entry| entry.notebook.blocks.get(key.1));
        let Some(block) = block else { return BlockState::default() };
        let work = || self.answer_of(block, standing.in_circle);
        let (answer, findings) = catch_unwind(AssertUnwindSafe(work))
            .unwrap_or_else(|_| (None, vec![broken(&key.0, block.place.span.start)]));
        BlockState { answer: answer.map(Arc::new), findings, stamp: standing.stamp }
    }

    fn answer_of(&self, block: &Block, in_circle: bool) -> (Option<Answer>, Vec<Finding>) {
        let Some(body) = &block.body else { return (None, Vec::new()) };
        if in_circle && let Some(first) = block.builds_on().first() {
            let path: Vec<String> = self.circle_from(block).iter().map(|id| format!("`{}`", echo(id))).collect();
            let what = format!("What this block builds on leads round in a circle: {}.", path.join(" → "));
            return (None, vec![Finding::new(kind::REFERENCE_CIRCLE, first.place.clone(), what)]);
        }
        let mut findings = Vec::new();
        let answer = match body {
            Body::Declaration(wanted) => self.formula_for(block, &wanted.formula, &mut findings).and_then(|computed| {
                let rules = Rules::wanted(wanted.rules.as_ref(), &self.settings.rules, &mut findings)?;
                let declaration = Declaration::of(computed, &self.catalogue, rules);
                findings.extend(examine_declaration(computed, &declaration, &block.place));
                Some(Answer::Declaration(declaration))
            }),
            Body::Window(wanted) => self.formula_for(block, &wanted.formula, &mut findings).map(|computed| {
                let (ph, temperature) = (wanted.show != WindowShown::Temperature, wanted.show != WindowShown::Ph);
                Answer::Window(Windows {
                    formula: computed.formula.id.clone(),
                    ph: ph.then(|| PhWindows::of(computed)),
                    temperature: temperature.then(|| HeatWindows::of(computed)),
                    acids: if ph { weak_acids(computed, &self.catalogue) } else { Vec::new() },
                })
            }),
            Body::Method(wanted) => self.formula_for(block, &wanted.formula, &mut findings).and_then(|computed| {
                let (method, faults) = resolve_method(wanted, &computed.formula);
                findings.extend(faults);
                let method = WeighedMethod::of(computed, &method?, &wanted.formula, &mut findings)?;
                findings.extend(examine_method(computed, &self.catalogue, &method));
                Some(Answer::Method(method))
            }),
            Body::Buffer(wanted) => {
                let answer = Buffer::of(wanted, |id| self.catalogue.material(id));
                findings.extend(examine_buffer(&answer, wanted, &self.catalogue, &block.place));
                answer.ok().map(Answer::Buffer)
            }
            Body::Dilution(wanted) => self.dilution(block, wanted, &mut findings).map(Answer::Dilution),
            Body::Titration(wanted) => {
                self.titration(block, wanted, &mut findings).map(|one| Answer::Titration(Box::new(one)))
            }
            Body::Curve(wanted) => match Curve::of(wanted) {
                Ok(curve) => {
                    findings.extend(examine_curve(wanted));
                    Some(Answer::Curve(curve))
                }
                Err(faults) => {
                    findings.extend(curve_faults(&faults, wanted, &block.place));
                    None
                }
            },
            Body::BatchRecord(wanted) => {
                self.batch_record(block, wanted, &mut findings).map(|one| Answer::BatchRecord(Box::new(one)))
            }
            Body::Stability(wanted) => {
                self.stability(block, wanted, &mut findings).map(|one| Answer::Stability(Box::new(one)))
            }
            Body::Filling(wanted) => self.filling(block, wanted, &mut findings).map(Answer::Filling),
            Body::Costing(wanted) => self.formula_for(block, &wanted.formula, &mut findings).and_then(|computed| {
                match Costing::of(wanted, computed, &self.settings) {
                    Ok(costing) => {
                        findings.extend(examine_costing(&costing, wanted));
                        Some(Answer::Costing(Box::new(costing)))
                    }
                    Err(fault) => {
                        findings.push(costing_fault(fault, wanted));
                        None
                    }
                }
            }),
            Body::ShoppingList(wanted) => {
                self.shopping_list(block, wanted, &mut findings).map(|list| Answer::ShoppingList(Box::new(list)))
            }
            Body::Kit(wanted) => self.kit(block, wanted, &mut findings).map(|kit| Answer::Kit(Box::new(kit))),
            Body::Label(wanted) => self.label(block, wanted, &mut findings).map(|one| Answer::Label(Box::new(one))),
            Body::Saponification(wanted) => {
                let balance = wanted.balance.unwrap_or(self.settings.balance);
                let soap = Saponification::of(wanted, |id| self.catalogue.material(id), balance.readability);
                findings.extend(match &soap {
                    Ok(soap) => examine_saponification(soap, wanted, &self.catalogue, balance, &block.place),
                    Err(faults) => saponification_faults(faults, wanted, &self.catalogue, &block.place),
                });
                soap.ok().map(|soap| Answer::Saponification(Box::new(soap)))
            }
            Body::Excerpt(wanted) => {
                self.excerpt(block, wanted, &mut findings).map(|excerpt| Answer::Excerpt(Box::new(excerpt)))
            }
            Body::Comparison(wanted) => {
                self.comparison(block, wanted, &mut findings).map(|one| Answer::Comparison(Box::new(one)))
            }
            Body::TrialSeries(wanted) => {
                self.trial_series(block, wanted, &mut findings).map(|one| Answer::TrialSeries(Box::new(one)))
            }
            Body::Workings(wanted) => self.workings(wanted, &mut findings).map(Answer::Workings),
            Body::Expect(wanted) => self.expect(wanted, &mut findings).map(Answer::Expect),
        };
        (answer, findings)
    }

    /// A dilution, with what is known of the raw materials that its stocks are.
    fn dilution(&self, block: &Block, wanted: &DilutionBlock, findings: &mut Vec<Finding>) -> Option<Dilution> {
        let mut materials: Vec<Option<&Arc<Material>>> = Vec::new();
        for stock in &wanted.stocks {
            materials.push(match &stock.material {
                Some(id) => Some(self.material_for(id, findings)?),
                None => None,
            });
        }
        let names: Vec<Option<&str>> = materials.iter().map(|one| Some(one.as_ref()?.name.as_str())).collect();
        let balance = wanted.balance.unwrap_or(self.settings.balance);
        match Dilution::of(wanted, &names, balance.readability) {
            Ok(dilution) => {
                findings.extend(examine_dilution(
                    &dilution,
                    materials.into_iter().flatten(),
                    &self.catalogue,
                    balance,
                    &block.place,
                ));
                Some(dilution)
            }
            Err(fault) => {
                findings.push(dilution_fault(&fault, wanted, &block.place));
                None
            }
        }
    }

    /// A titration, with what is known of what is added and of the formula that it goes into.
    fn titration(&self, block: &Block, wanted: &TitrationBlock, findings: &mut Vec<Finding>) -> Option<Titration> {
        let material = self.material_for(&wanted.with, findings);
        let computed = match &wanted.formula {
            Some(id) => Some(self.formula_for(block, id, findings)?),
            None => None,
        };
        let material = material?;
        let of_formula = computed.map(|computed| computed.formula.balance);
        // The dose is weighed on the balance of the batch; the one of the block is for the sample.
        let of_batch = of_formula.unwrap_or(self.settings.balance);
        match Titration::of(wanted, material, computed, of_batch.readability) {
            Ok(titration) => {
                let case = TitrationCase {
                    block: wanted,
                    place: &block.place,
                    material,
                    computed,
                    catalogue: &self.catalogue,
                    settings: &self.settings,
                    balance: wanted.balance.unwrap_or(of_batch),
                };
                findings.extend(examine_titration(&titration, &case));
                Some(titration)
            }
            Err(faults) => {
                findings.extend(titration_faults(&faults, wanted, &block.place));
                None
            }
        }
    }

    /// A batch record, with the product as it was made.
    fn batch_record(
        &self,
        block: &Block,
        wanted: &BatchRecordBlock,
        findings: &mut Vec<Finding>,
    ) -> Option<BatchRecord> {
        let computed = self.formula_for(block, &wanted.formula, findings)?;
        let case =
            RecordCase { block: wanted, place: &block.place, catalogue: &self.catalogue, settings: &self.settings };
        let material = |id: &str| self.catalogue.material(id);
        match BatchRecord::of(wanted, &block.place, computed, self.settings.tolerance, material) {
            Ok(record) => {
                let record = record.declared(&self.catalogue, Rules::of_collection(&self.settings.rules));
                findings.extend(examine_batch_record(&record, &case));
                Some(record)
            }
            Err(faults) => {
                let lines: Vec<String> = computed.formula.lines().map(|line| line.written.clone()).collect();
                let phases: Vec<String> = computed.formula.phases.iter().map(|phase| phase.key.clone()).collect();
                findings.extend(record_faults(&faults, &case, &lines, &phases));
                None
            }
        }
    }

    /// A stability log of a formula or of a batch record.
    fn stability(&self, block: &Block, wanted: &StabilityBlock, findings: &mut Vec<Finding>) -> Option<Stability> {
        let (watched, computed) = match self.answer(&wanted.of.value) {
            Some(Answer::BatchRecord(record)) => {
                let formula = &record.planned.formula;
                let watched =
                    Watched { title: record.title.clone(), is_record: true, made: record.date, ph: formula.ph };
                (watched, record.actual.as_deref().unwrap_or(&record.planned))
            }
            Some(_) => {
                let what = format!("`{}` is neither a formula nor a batch record.", echo(&wanted.of.value));
                let finding = Finding::new(kind::UNKNOWN_REFERENCE, wanted.of.place.clone(), what);
                findings.push(finding.mend("Name the formula or the record that was watched."));
                return None;
            }
            None if !self.formulas.contains_key(&wanted.of.value) && !self.blocks.contains_key(&wanted.of.value) => {
                let what = format!("There is no formula and no batch record `{}`.", echo(&wanted.of.value));
                let known = self.formula_ids().chain(self.ids_of("batch-record"));
                let mend = suggestion(&wanted.of.value, known, kind::UNKNOWN_REFERENCE.mend);
                findings.push(Finding::new(kind::UNKNOWN_REFERENCE, wanted.of.place.clone(), what).mend(mend));
                return None;
            }
            None if self.blocks.contains_key(&wanted.of.value) => {
                let what = format!("`{}` has errors, so this stability log was not computed.", echo(&wanted.of.value));
                findings.push(Finding::new(kind::REFERENCE_FAILED, wanted.of.place.clone(), what));
                return None;
            }
            None => {
                let computed = self.formula_for(block, &wanted.of, findings)?;
                let formula = &computed.formula;
                let title = formula.title.clone().unwrap_or_else(|| formula.id.clone());
                (Watched { title, is_record: false, made: None, ph: formula.ph }, computed)
            }
        };
        let case = StabilityCase {
            block: wanted,
            place: &block.place,
            computed,
            catalogue: &self.catalogue,
            settings: &self.settings,
        };
        match Stability::of(wanted, watched) {
            Ok(log) => {
                findings.extend(examine_stability(&log, &case));
                Some(log)
            }
            Err(faults) => {
                findings.extend(stability_faults(&faults, &case));
                None
            }
        }
    }

    /// A filling, of a formula's batch or of what the block says.
    fn filling(&self, block: &Block, wanted: &FillingBlock, findings: &mut Vec<Finding>) -> Option<Filling> {
        let computed = match &wanted.formula {
            Some(id) => Some(self.formula_for(block, id, findings)?),
            None => None,
        };
        let own = computed.map(|computed| computed.formula.balance);
        let balance = wanted.balance.or(own).unwrap_or(self.settings.balance);
        match Filling::of(wanted, computed, balance.readability) {
            Ok(filling) => {
                findings.extend(examine_filling(&filling, wanted, &block.place));
                Some(filling)
            }
            Err(fault) => {
                findings.push(filling_fault(fault, wanted, &block.place));
                None
            }
        }
    }

    /// The raw material of an id in a block; an unknown one is reported.
    pub(super) fn material_for(&self, id: &Placed<String>, findings: &mut Vec<Finding>) -> Option<&Arc<Material>> {
        let found = self.catalogue.material(&id.value);
        if found.is_none() {
            let what = format!("`{}` is not a raw material that is known here.", echo(&id.value));
            findings.push(Finding::new(kind::UNKNOWN_MATERIAL, id.place.clone(), what).mend(suggestion(
                &id.value,
                self.catalogue.ids(),
                kind::UNKNOWN_MATERIAL.mend,
            )));
        }
        found
    }

    /// The computed formula that a block builds on; why there is none is reported.
    pub(super) fn formula_for(
        &self,
        block: &Block,
        id: &Placed<String>,
        findings: &mut Vec<Finding>,
    ) -> Option<&Computed> {
        let Some((_, state)) = self.formula_state(&id.value) else {
            findings.push(
                Finding::new(
                    kind::UNKNOWN_REFERENCE,
                    id.place.clone(),
                    format!("There is no formula `{}`.", echo(&id.value)),
                )
                .mend(suggestion(&id.value, self.formula_ids(), kind::UNKNOWN_REFERENCE.mend)),
            );
            return None;
        };
        let computed = state.computed.as_deref();
        if computed.is_none() {
            let what = format!("`{}` has errors, so this {} was not computed.", echo(&id.value), block.word);
            findings.push(Finding::new(kind::REFERENCE_FAILED, id.place.clone(), what));
        }
        computed
    }

    /// The word after the fence of a block with an id.
    fn word_of(&self, id: &str) -> &'static str {
        let block = self.blocks.get(id).and_then(|(path, index)| self.entries.get(path)?.notebook.blocks.get(*index));
        block.map_or("", |block| block.word)
    }

    /// The ids of all blocks of one kind, whether they could be worked out or not.
    pub(super) fn ids_of<'a>(&'a self, word: &'a str) -> impl Iterator<Item = &'a str> {
        self.blocks.keys().map(String::as_str).filter(move |id| self.word_of(id) == word)
    }

    /// The ids of all formulas and blocks.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.formulas.keys().chain(self.blocks.keys()).map(String::as_str)
    }
}
