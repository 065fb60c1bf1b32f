//! What a dose does to the formula whose product it goes into.

use crate::compute::Computed;
use crate::material::Material;
use crate::model::{Formula, Line};
use crate::quantity::{Decimal, Percent};
use crate::report::Place;
use std::sync::Arc;

/// What the dose does to a formula.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Effect {
    /// The formula.
    pub formula: String,
    /// The share of the dose's material in the formula as written, %; none without such a line.
    pub line: Option<Decimal>,
    /// Whether it is dosed to effect there.
    pub is_to_effect: bool,
    /// The line that is q.s. to 100, and its share before and with the dose, %. None without one, or where too little of it is left.
    pub balance: Option<(String, Decimal, Decimal)>,
}

impl Effect {
    /// What so many per cent of a material do to a formula.
    pub fn of(computed: &Computed, material: &Material, percent: Decimal) -> Effect {
        let formula = &computed.formula;
        let line = percent_in(formula, material);
        let more = percent - line.unwrap_or_default();
        let balance = formula.lines().find(|line| line.is_balance).and_then(|balance| {
            let before = formula.percent(balance).value();
            (before >= more).then(|| (balance.written.clone(), before, before - more))
        });
        Effect {
            formula: formula.id.clone(),
            line,
            is_to_effect: formula.lines().any(|line| line.material.id == material.id && line.effect.is_some()),
            balance,
        }
    }
}

/// The share of a material in a formula, %; none without a line of it.
pub(super) fn percent_in(formula: &Formula, material: &Material) -> Option<Decimal> {
    let mut lines = formula.lines().filter(|line| line.material.id == material.id).peekable();
    lines.peek()?;
    Some(lines.map(|line| formula.percent(line)).sum::<Percent>().value())
}

/// The formula with so many per cent of a material. The line that is q.s. to 100 takes the difference; without one, or with too little of it, all other
/// lines share it.
pub fn with_dose(formula: &Formula, material: &Arc<Material>, percent: Decimal, place: &Place) -> Formula {
    let mut changed = formula.clone();
    let is_dosed = |line: &Line| line.material.id == material.id;
    let whole = formula.whole;
    let wanted = percent * whole / Decimal::ONE_HUNDRED;
    let before: Decimal = formula.lines().filter(|line| is_dosed(line)).map(|line| line.amount).sum();
    let balance = formula.lines().find(|line| line.is_balance && !is_dosed(line)).map(|line| line.amount);
    let by_balance = balance.is_some_and(|balance| balance >= wanted - before);
    let rest = (whole - wanted).checked_div(whole - before).unwrap_or_default();
    let mut left = wanted;
    let mut is_first = true;
    for line in changed.phases.iter_mut().flat_map(|phase| &mut phase.lines) {
        if is_dosed(line) {
            // Where it stands on several lines, the first takes all.
            line.amount = if is_first { left } else { Decimal::ZERO };
            (is_first, left) = (false, Decimal::ZERO);
        } else if by_balance {
            if line.is_balance {
                line.amount -= wanted - before;
            }
        } else {
            line.amount *= rest;
        }
    }
    if is_first && let Some(phase) = changed.phases.last_mut() {
        phase.lines.push(Line {
            material: Arc::clone(material),
            written: material.id.clone(),
            amount: wanted,
            uncertainty: None,
            is_balance: false,
            effect: Some("pH".to_owned()),
            volume: None,
            strength: None,
            lot: None,
            note: None,
            place: place.clone(),
            amount_place: place.clone(),
        });
    }
    changed
}
