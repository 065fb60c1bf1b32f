//! What a batch needs of each raw material: the lines of a formula with those of one material put together.
//!
//! Weights are the exact ones of the batch, not those rounded to a balance.

use crate::material::Material;
use crate::model::Formula;
use crate::quantity::{Decimal, Mass};
use std::sync::Arc;

/// What is needed of one raw material.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Need {
    /// The raw material.
    pub material: Arc<Material>,
    /// How much of it.
    pub mass: Mass,
    /// How much of that is dosed to effect, so that it is only the usual amount; nothing where none of it is.
    pub dosed: Option<Mass>,
    /// How much more it may be, where a line was written as a volume and the density lies in a range.
    pub more: Mass,
}

/// The raw materials of a formula, each once, in the order of the sheet. `used` is what is taken for one gram that is weighed.
pub fn needs_of(formula: &Formula, batch: Mass, used: Decimal) -> Vec<Need> {
    let grams = |amount: Decimal| {
        Mass::from_grams((amount * batch.grams() * used).checked_div(formula.whole).unwrap_or_default())
    };
    let mut needs: Vec<Need> = Vec::new();
    for line in formula.lines() {
        let mass = grams(line.amount);
        let more = grams(line.uncertainty.unwrap_or_default());
        let dosed = line.effect.is_some().then_some(mass);
        match needs.iter_mut().find(|known| known.material.id == line.material.id) {
            Some(known) => {
                known.mass = known.mass + mass;
                known.more = known.more + more;
                known.dosed = known.dosed.map_or(dosed, |all| Some(all + dosed.unwrap_or_default()));
            }
            None => needs.push(Need { material: Arc::clone(&line.material), mass, dosed, more }),
        }
    }
    needs
}
