//! What mends a batch in which another amount of lye was weighed than planned.

use super::{Lye, Saponification, share_of_whole, superfat_of, water_for};
use crate::block::{LyeWater, SaponificationBlock, Stage};
use crate::quantity::{Decimal, Mass};

/// Beyond so many times the lye that was planned a batch is not mended: more fat would have to go in than there is, into a vessel, a heat and a
/// stirring that were meant for half of it. Common practice, no source.
pub(crate) const MOST: Decimal = Decimal::TWO;

/// What follows from what was really weighed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rescue {
    /// The hydroxides with what was planned and what was weighed.
    pub weighed: Vec<(String, Mass, Mass)>,
    /// The superfat that the fats as planned have with it, %; below zero alkali is left over.
    pub superfat: Decimal,
    /// The same if all fats are at the low end of their saponification values and the hydroxides at the high end of their purities, %.
    pub lowest: Decimal,
    /// The alkali left over in that worst case, as NaOH in % of the whole.
    pub free: Decimal,
    /// How far the batch has come.
    pub stage: Option<Stage>,
    /// What is to be done.
    pub outcome: Outcome,
}

/// What is to be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Nothing: it is what was planned, to the step of the balance.
    AsPlanned,
    /// Too little was weighed: how much of each hydroxide is missing.
    Little(Vec<(String, Mass)>),
    /// Too much was weighed: how much more of each fat, and of water, goes in for the same superfat.
    Much {
        /// The fats by their keys.
        fats: Vec<(String, Mass)>,
        /// More water.
        water: Mass,
    },
    /// It has set with less superfat than planned, and even in the worst case no alkali is left over.
    Held,
    /// Far too much was weighed.
    TooMuch,
    /// It has set, with alkali left over in the worst case at least.
    Set,
}

impl Rescue {
    pub(super) fn of(block: &SaponificationBlock, plan: &Saponification) -> Option<Rescue> {
        if block.lyes.iter().all(|lye| lye.weighed.is_none()) {
            return None;
        }
        // A hydroxide of which nothing is said was weighed as planned.
        let weighed: Vec<(String, Mass, Mass)> = plan
            .lyes
            .iter()
            .zip(&block.lyes)
            .map(|(lye, written)| {
                let weighed = written.weighed.as_ref().map_or(lye.weighed, |weighed| weighed.value);
                (lye.key.clone(), lye.weighed, weighed)
            })
            .collect();
        let moles = |lye: &Lye, mass: Mass, purity: Decimal| {
            mass.grams() * purity / Decimal::ONE_HUNDRED / lye.alkali.molar_mass()
        };
        let each = || plan.lyes.iter().zip(&weighed);
        let brought: Decimal = each().map(|(lye, (_, _, mass))| moles(lye, *mass, lye.purity.typical)).sum();
        let most: Decimal = each().map(|(lye, (_, _, mass))| moles(lye, *mass, lye.purity.high)).sum();
        let (full, least) = (plan.full(), plan.taken(|value| value.low));
        let lye: Mass = weighed.iter().map(|(_, _, mass)| *mass).sum();
        let whole = plan.fats_weighed() + plan.water_weighed() + lye;
        let wanted = full * (Decimal::ONE_HUNDRED - plan.superfat.value()) / Decimal::ONE_HUNDRED;
        let times = brought.checked_div(wanted)?;
        let step = plan.readability;
        let is_as_planned = weighed.iter().all(|(_, planned, weighed)| {
            let off = (weighed.grams() - planned.grams()).abs();
            off <= step.grams()
        });
        let outcome = if is_as_planned {
            Outcome::AsPlanned
        } else if times < Decimal::ONE {
            // Of the hydroxides that fall short, so much that all of them together bring what is wanted: one that was weighed too heavily does a part of it.
            let short = || each().filter(|(_, (_, planned, weighed))| planned > weighed);
            let missing: Decimal =
                short().map(|(lye, (_, planned, had))| moles(lye, *planned - *had, lye.purity.typical)).sum();
            let part = (wanted - brought).checked_div(missing)?;
            let more = |planned: Mass, had: Mass| plan.rounded(Mass::from_grams((planned - had).grams() * part));
            Outcome::Little(short().map(|(_, (key, planned, had))| (key.clone(), more(*planned, *had))).collect())
        } else if block.stage == Some(Stage::Set) {
            if most > least { Outcome::Set } else { Outcome::Held }
        } else if times > MOST {
            Outcome::TooMuch
        } else {
            much(plan, times, lye)
        };
        Some(Rescue {
            weighed,
            superfat: superfat_of(brought, full)?,
            lowest: superfat_of(most, least)?,
            free: share_of_whole(most - least, whole),
            stage: block.stage,
            outcome,
        })
    }
}

/// More of everything by the same factor; the water by its own rule, for the lye that there is.
fn much(plan: &Saponification, times: Decimal, lye: Mass) -> Outcome {
    let more = |mass: Mass| Mass::from_grams(mass.grams() * times);
    let fats: Vec<(String, Mass)> =
        plan.fats.iter().map(|fat| (fat.key.clone(), plan.rounded(more(fat.mass) - fat.mass))).collect();
    let all: Mass = plan.fats.iter().map(|fat| more(fat.mass)).sum();
    let water = match plan.water_as {
        LyeWater::Mass(mass) => more(mass),
        rule => water_for(rule, lye, all),
    };
    let water = plan.rounded(water - plan.water);
    Outcome::Much { fats, water: if water.grams() < Decimal::ZERO { Mass::ZERO } else { water } }
}
