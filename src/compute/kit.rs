//! What is weighed out beforehand for the tables of a class: a cup for each line of the sheet, and what all tables need together.
//!
//! A cup holds what the weighing sheet says for the batch that a table makes. The total of a raw material is all its cups, with the reserve of what is dosed
//! to effect and with the overage, rounded to the balance by the rule of the sheet.

mod figures;

use super::{AddressFault, Computed, Figure};
use crate::material::Material;
use crate::quantity::{Decimal, Mass, Percent, Temperature, round_to_step};
use std::sync::Arc;

/// A kit, worked out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kit {
    /// What a table makes.
    pub parts: Vec<KitPart>,
    /// How many tables there are.
    pub tables: Decimal,
    /// What is weighed out on top.
    pub overage: Percent,
    /// What is taken on top of what is dosed to effect.
    pub dose_reserve: Percent,
    /// What all tables need of each raw material.
    pub totals: Vec<KitTotal>,
    /// Decimals of the finest balance.
    pub decimals: u32,
}

/// A formula in the kit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KitPart {
    /// Its id.
    pub formula: String,
    /// What it is called.
    pub title: String,
    /// How much of it a table makes.
    pub batch: Mass,
    /// The check value of the sheet for that batch.
    pub check: String,
    /// Decimals of its balance.
    pub decimals: u32,
    /// Its phases.
    pub phases: Vec<KitPhase>,
}

/// A phase with its cups.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KitPhase {
    /// Its letter.
    pub key: String,
    /// Its title.
    pub title: String,
    /// The temperature at which it is held.
    pub hold: Option<Temperature>,
    /// Its cups, in the order of the sheet.
    pub cups: Vec<Cup>,
}

/// What a table is given of one line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cup {
    /// The raw material.
    pub material: Arc<Material>,
    /// How much is weighed into it.
    pub mass: Mass,
    /// To which effect it is dosed.
    pub effect: Option<String>,
    /// The lot of the line.
    pub lot: Option<String>,
    /// The remark of the line.
    pub note: Option<String>,
}

/// What all tables need of a raw material.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KitTotal {
    /// The raw material.
    pub material: Arc<Material>,
    /// How many cups of it a table has.
    pub cups: usize,
    /// What is in the cups of one table.
    pub cup: Mass,
    /// How much of that is dosed to effect.
    pub dosed: Mass,
    /// The total, with reserve and overage, exact.
    pub exact: Mass,
    /// The total to weigh out.
    pub total: Mass,
    /// Decimals of the balance.
    pub decimals: u32,
}

impl Kit {
    /// Works a kit out. Each formula comes computed for the batch that a table makes.
    pub fn of(parts: &[Computed], tables: Decimal, overage: Percent, dose_reserve: Percent) -> Kit {
        let mut totals: Vec<(KitTotal, Decimal)> = Vec::new();
        for computed in parts {
            let step = computed.sheet.readability.grams();
            for (line, mass) in computed.formula.lines().zip(&computed.sheet.printed) {
                let dosed = if line.effect.is_some() { *mass } else { Mass::ZERO };
                match totals.iter_mut().find(|(known, _)| known.material.id == line.material.id) {
                    Some((known, finest)) => {
                        known.cups += 1;
                        known.cup = known.cup + *mass;
                        known.dosed = known.dosed + dosed;
                        *finest = step.min(*finest);
                    }
                    None => totals.push((
                        KitTotal {
                            material: Arc::clone(&line.material),
                            cups: 1,
                            cup: *mass,
                            dosed,
                            exact: Mass::ZERO,
                            total: Mass::ZERO,
                            decimals: 0,
                        },
                        step,
                    )),
                }
            }
        }
        let on_top = |percent: Percent| Decimal::ONE + percent.value() / Decimal::ONE_HUNDRED;
        for (total, step) in &mut totals {
            let table = total.cup.grams() + total.dosed.grams() * dose_reserve.value() / Decimal::ONE_HUNDRED;
            let exact = table * tables * on_top(overage);
            let mut rounded = round_to_step(exact, *step);
            // Two balances of odd steps could round below what the cups take.
            if rounded < total.cup.grams() * tables {
                rounded += *step;
            }
            (total.exact, total.total) = (Mass::from_grams(exact), Mass::from_grams(rounded));
            total.decimals = step.normalize().scale();
        }
        let totals: Vec<KitTotal> = totals.into_iter().map(|(total, _)| total).collect();
        Kit {
            parts: parts.iter().map(part_of).collect(),
            tables,
            overage,
            dose_reserve,
            decimals: parts.iter().map(|computed| computed.sheet.decimals()).max().unwrap_or_default(),
            totals,
        }
    }

    /// How many cups a table has.
    pub fn cups(&self) -> usize {
        self.totals.iter().map(|total| total.cups).sum()
    }

    /// The addresses below the block's id.
    pub fn addresses(&self) -> Vec<String> {
        figures::addresses(self)
    }

    /// The figure at a path below the block's id; nothing where there is none of that path.
    pub fn look_up(&self, id: &str, path: &[&str]) -> Option<Result<Figure, AddressFault>> {
        figures::look_up(self, id, path).map(Ok)
    }
}

fn part_of(computed: &Computed) -> KitPart {
    let formula = &computed.formula;
    let mut printed = computed.sheet.printed.iter();
    let phases = formula
        .phases
        .iter()
        .map(|phase| KitPhase {
            key: phase.key.clone(),
            title: phase.title.clone().unwrap_or_default(),
            hold: phase.hold.as_ref().map(|(hold, _)| *hold),
            cups: phase
                .lines
                .iter()
                .zip(printed.by_ref())
                .map(|(line, mass)| Cup {
                    material: Arc::clone(&line.material),
                    mass: *mass,
                    effect: line.effect.clone(),
                    lot: line.lot.clone(),
                    note: line.note.clone(),
                })
                .collect(),
        })
        .collect();
    KitPart {
        formula: formula.id.clone(),
        title: formula.title.clone().unwrap_or_else(|| formula.id.clone()),
        batch: computed.sheet.batch,
        check: computed.check.clone(),
        decimals: computed.sheet.decimals(),
        phases,
    }
}
