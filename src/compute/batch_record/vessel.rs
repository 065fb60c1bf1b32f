//! The vessel from phase to phase: what went in, what left it, and what the balance shows.
//!
//! The amounts are kept line by line. Steam takes of one raw material, water as a rule; a spill or a sample takes some of everything that is in the vessel by then.
//! Within a phase the order is: its lines go in, losses leave, the vessel is weighed, top-ups go in; at the end it is weighed last. What is missing on the balance
//! before a top-up is taken to have left as steam of what is put back, which is what a top-up is for; what is missing anywhere else is only shown.

use super::{RecordFault, RecordLine, lines_called};
use crate::block::{BatchRecordBlock, LossBlock, LossKind, Placed, TopUpBlock};
use crate::material::Material;
use crate::model::Formula;
use crate::quantity::{Decimal, Mass, round_half_even};
use std::sync::Arc;

/// What happened in the vessel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Account {
    /// What there is of each line at the end, in relation to the others; times `scale` it is grams. A spill then changes no share.
    pub amounts: Vec<Decimal>,
    /// Grams to one of the amounts: 1 where nothing was spilt or taken out.
    pub scale: Decimal,
    /// Top-ups with what the formula does not hold.
    pub foreign: Vec<TopUp>,
    /// Each time that the vessel was weighed.
    pub stages: Vec<Stage>,
    /// What left as steam, as noted and as found by weighing before a top-up.
    pub evaporated: Mass,
    /// What was spilt.
    pub spilt: Mass,
    /// What was taken out as samples.
    pub sampled: Mass,
    /// What was put back or on top.
    pub topped_up: Mass,
}

/// The vessel on the balance.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stage {
    /// The phase after which, by its letter; none for the end.
    pub after: Option<String>,
    /// With the vessel.
    pub gross: Mass,
    /// Without it.
    pub content: Mass,
    /// What should be in it.
    pub expected: Mass,
    /// What is missing to that; less than nothing where there is more than went in.
    pub missing: Mass,
    /// What brings it back to what was weighed in: what is missing, with what had left as steam before and was not put back.
    pub restores: Mass,
    /// Whether it was followed by a top-up.
    pub is_topped_up: bool,
    /// How many weighings stand behind what should be in it.
    pub n_weighings: usize,
}

/// A top-up with what the formula does not hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TopUp {
    /// The raw material.
    pub material: Arc<Material>,
    /// How much, as the amounts of lines are.
    pub amount: Decimal,
    /// Its lot.
    pub lot: Option<String>,
}

/// The vessel while it is filled.
struct Vessel<'a> {
    account: Account,
    lines: &'a [RecordLine],
    formula: &'a Formula,
    n_weighings: usize,
    /// What the balance showed differently from what went in, and was not made part of the amounts.
    unexplained: Decimal,
    /// Steam that was not put back.
    open: Decimal,
}

impl Account {
    /// The account of a record; none while the weight of a line is missing.
    pub(super) fn of<'c>(
        block: &BatchRecordBlock,
        lines: &[RecordLine],
        formula: &Formula,
        material: &impl Fn(&str) -> Option<&'c Arc<Material>>,
        faults: &mut Vec<RecordFault>,
    ) -> Option<Account> {
        let phases: Vec<&str> = formula.phases.iter().map(|phase| phase.key.as_str()).collect();
        let afters = block
            .gross
            .iter()
            .map(|one| &one.after)
            .chain(block.losses.iter().map(|one| &one.after))
            .chain(block.top_ups.iter().map(|one| &one.after));
        let n_before = faults.len();
        let unknown = afters.flatten().filter(|after| !phases.contains(&phase_of(after)));
        faults.extend(unknown.map(|after| RecordFault::NoPhase(after.clone())));
        // Names are looked up before anything is added up, so that all that are wrong are said at once.
        let sources: Vec<Option<Option<usize>>> =
            block.losses.iter().map(|loss| steam_of(loss, formula, faults)).collect();
        let targets: Vec<Option<Target>> =
            block.top_ups.iter().map(|one| target_of(one, formula, material, faults)).collect();
        if faults.len() > n_before || lines.iter().any(|line| line.weighed.is_none()) {
            return None;
        }
        let account = Account {
            amounts: vec![Decimal::ZERO; lines.len()],
            scale: Decimal::ONE,
            foreign: Vec::new(),
            stages: Vec::new(),
            evaporated: Mass::ZERO,
            spilt: Mass::ZERO,
            sampled: Mass::ZERO,
            topped_up: Mass::ZERO,
        };
        let mut vessel =
            Vessel { account, lines, formula, n_weighings: 0, unexplained: Decimal::ZERO, open: Decimal::ZERO };
        let tare = block.tare.as_ref().map(|tare| tare.value);
        for stage in (0..phases.len()).map(Some).chain([None]) {
            if let Some(phase) = stage {
                vessel.fill(phase);
            }
            let key = stage.and_then(|index| phases.get(index)).copied();
            let is_now = |after: &Option<Placed<String>>| after.as_ref().map(phase_of) == key;
            for (loss, source) in block.losses.iter().zip(&sources).filter(|(loss, _)| is_now(&loss.after)) {
                vessel.lose(loss, source.flatten(), faults);
            }
            let top_ups = || block.top_ups.iter().zip(&targets).filter(|(one, _)| is_now(&one.after));
            let steam_target = top_ups().next().and_then(|(_, target)| target.as_ref()).filter(|_| key.is_some());
            let readings = || block.gross.iter().filter(|one| is_now(&one.after));
            if let Some(tare) = tare.filter(|_| key.is_some()) {
                readings().for_each(|one| vessel.weigh(key, one.weight.value, tare, steam_target));
            }
            for (one, target) in top_ups() {
                vessel.top_up(one, target.as_ref());
            }
            if let Some(tare) = tare.filter(|_| key.is_none()) {
                readings().for_each(|one| vessel.weigh(key, one.weight.value, tare, None));
            }
        }
        Some(vessel.account)
    }

    /// All that left the vessel and is known of.
    pub fn lost(&self) -> Mass {
        self.evaporated + self.spilt + self.sampled
    }

    /// What should be in the vessel at the end.
    pub fn content(&self) -> Mass {
        // Dividing by the scale leaves an error in the last of 28 digits, which is none of the batch's.
        Mass::from_grams(round_half_even(self.whole() * self.scale, 18).normalize())
    }

    /// The sum of the amounts.
    pub(super) fn whole(&self) -> Decimal {
        self.amounts.iter().copied().chain(self.foreign.iter().map(|one| one.amount)).sum()
    }

    /// Grams as an amount.
    fn amount_of(&self, grams: Decimal) -> Decimal {
        grams.checked_div(self.scale).unwrap_or_default()
    }

    /// The vessel at the end, where it was weighed then.
    pub fn end(&self) -> Option<&Stage> {
        self.stages.iter().rev().find(|stage| stage.after.is_none())
    }
}

/// "phase A" or "A".
fn phase_of(after: &Placed<String>) -> &str {
    let text = after.value.trim();
    text.strip_prefix("phase ").map_or(text, str::trim)
}

/// Where a top-up goes: to a line of the formula, or beside it.
enum Target {
    Line(usize),
    Foreign(Arc<Material>),
}

/// The line that steam leaves; the inner one is missing where the formula holds no water.
#[expect(clippy::option_option, reason = "a wrong name and no water are two things")]
fn steam_of(loss: &LossBlock, formula: &Formula, faults: &mut Vec<RecordFault>) -> Option<Option<usize>> {
    let Some(of) = &loss.of else { return Some(water_line(formula)) };
    match lines_called(formula, &of.value).first() {
        Some(index) => Some(Some(*index)),
        None => {
            faults.push(RecordFault::NoLine(of.clone(), "loss"));
            None
        }
    }
}

/// The first line that is nothing but water.
fn water_line(formula: &Formula) -> Option<usize> {
    formula.lines().position(|line| line.material.inci_names() == [crate::material::WATER])
}

fn target_of<'c>(
    one: &TopUpBlock,
    formula: &Formula,
    material: &impl Fn(&str) -> Option<&'c Arc<Material>>,
    faults: &mut Vec<RecordFault>,
) -> Option<Target> {
    if let Some(index) = lines_called(formula, &one.with.value).first() {
        return Some(Target::Line(*index));
    }
    match material(one.with.value.trim()) {
        Some(material) => Some(Target::Foreign(Arc::clone(material))),
        None => {
            faults.push(RecordFault::NoMaterial(one.with.clone()));
            None
        }
    }
}

impl Vessel<'_> {
    fn fill(&mut self, phase: usize) {
        for (index, line) in self.lines.iter().enumerate().filter(|(_, line)| line.phase == phase) {
            self.add(index, line.weighed.unwrap_or_default().grams());
            self.n_weighings += line.portions.len().max(1);
        }
    }

    /// Puts grams of a line in, or takes them out.
    fn add(&mut self, line: usize, grams: Decimal) {
        let more = self.account.amount_of(grams);
        if let Some(amount) = self.account.amounts.get_mut(line) {
            *amount += more;
        }
    }

    /// Grams of a line that are there.
    fn grams_of(&self, line: usize) -> Decimal {
        self.account.amounts.get(line).copied().unwrap_or_default() * self.account.scale
    }

    fn lose(&mut self, loss: &LossBlock, source: Option<usize>, faults: &mut Vec<RecordFault>) {
        let weight = loss.weight.value.grams();
        let there = match loss.what.value {
            LossKind::Evaporation => source.map(|line| self.grams_of(line)).unwrap_or_default(),
            LossKind::Spill | LossKind::Sample => self.account.content().grams(),
        };
        if weight > there {
            faults.push(RecordFault::LostTooMuch(loss.weight.clone(), Mass::from_grams(there)));
            return;
        }
        match loss.what.value {
            LossKind::Evaporation => {
                if let Some(line) = source {
                    self.add(line, -weight);
                }
                self.open += weight;
                self.account.evaporated = self.account.evaporated + loss.weight.value;
            }
            LossKind::Spill => {
                self.shrink(there - weight, there);
                self.account.spilt = self.account.spilt + loss.weight.value;
            }
            LossKind::Sample => {
                self.shrink(there - weight, there);
                self.account.sampled = self.account.sampled + loss.weight.value;
            }
        }
    }

    /// Some of everything leaves: so much of so much stays.
    fn shrink(&mut self, stays: Decimal, of: Decimal) {
        self.account.scale = (self.account.scale * stays).checked_div(of).unwrap_or(self.account.scale);
    }

    fn weigh(&mut self, after: Option<&str>, gross: Mass, tare: Mass, steam: Option<&Target>) {
        let content = gross - tare;
        let expected = Mass::from_grams(self.account.content().grams() - self.unexplained);
        let missing = expected - content;
        let restores = Mass::from_grams((missing.grams() + self.open).max(Decimal::ZERO));
        self.account.stages.push(Stage {
            after: after.map(str::to_owned),
            gross,
            content,
            expected,
            missing,
            restores,
            is_topped_up: steam.is_some(),
            n_weighings: self.n_weighings,
        });
        let left = missing.grams();
        let line = match steam {
            Some(Target::Line(index)) => Some(*index),
            Some(Target::Foreign(_)) => water_line(self.formula),
            None => None,
        };
        match line.filter(|line| Decimal::ZERO < left && left <= self.grams_of(*line)) {
            Some(line) => {
                self.add(line, -left);
                self.open += left;
                self.account.evaporated = self.account.evaporated + missing;
            }
            None => self.unexplained += left,
        }
    }

    fn top_up(&mut self, one: &TopUpBlock, target: Option<&Target>) {
        let weight = one.weight.value;
        match target {
            Some(Target::Line(index)) => self.add(*index, weight.grams()),
            Some(Target::Foreign(material)) => self.account.foreign.push(TopUp {
                material: Arc::clone(material),
                amount: self.account.amount_of(weight.grams()),
                lot: one.lot.as_ref().map(|lot| lot.value.clone()),
            }),
            None => {}
        }
        self.open = (self.open - weight.grams()).max(Decimal::ZERO);
        self.n_weighings += 1;
        self.account.topped_up = self.account.topped_up + weight;
    }
}
