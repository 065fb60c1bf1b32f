//! Ions in water: the pH at which all charges balance.
//!
//! Every acid is shared out over its forms by its constants and the pH, and the pH is the one at which the charges of all ions add up to nothing. The
//! constants hold at zero ionic strength; activities follow Davies' equation, log₁₀ γ = −A z² (√I ÷ (1 + √I) − 0.3 I), with the ionic strength that the
//! solution itself reaches: it is found by going round until it no longer changes. Uncharged forms and the water have activity 1. **Holds** for
//! 25 °C, water without much of anything else, and I up to about 0.5 mol/kg (Davies, Ion Association, 1962; from memory).
//!
//! The pH is found by halving an interval: the sum of charges falls steadily with the pH, so this cannot miss, and gives the same bits everywhere. Floating
//! point with `libm`, which does not differ between machines.

/// An acid or base, all its forms together.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Acid {
    /// **Unit** mol/kg of water.
    pub(crate) molality: f64,
    /// pKa of each step at zero ionic strength, the most acid first.
    pub(crate) pka: Vec<f64>,
    /// Charge of the form with all protons.
    pub(crate) charge: f64,
}

/// What is in the water.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Solution {
    /// The acids and bases.
    pub(crate) acids: Vec<Acid>,
    /// Ions that take no part: molality and charge.
    pub(crate) plain: Vec<(f64, f64)>,
}

/// The constants at the temperature of the calculation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Constants {
    /// A of Davies' equation.
    pub(crate) a: f64,
    /// The factor of its linear term.
    pub(crate) salt: f64,
    /// −log₁₀ of the ion product of water.
    pub(crate) pkw: f64,
}

/// A solution whose charges balance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Balanced {
    /// −log₁₀ of the activity of hydrogen ions.
    pub(crate) ph: f64,
    /// **Unit** mol/kg.
    pub(crate) ionic_strength: f64,
    /// How much strong base, mol/kg, takes the pH up by one, at this ionic strength.
    pub(crate) capacity: f64,
}

/// The interval in which the pH is sought; no solution at all is outside it.
const LOWEST: f64 = -2.0;
const HIGHEST: f64 = 16.0;
/// Halvings of it: enough to reach the last bit.
const HALVINGS: u32 = 54;
/// Rounds in which the ionic strength has to settle.
const ROUNDS: u32 = 200;
/// So many of them go all the way to the strength that was reached.
const DIRECT_ROUNDS: u32 = 30;
/// Half the step over which the capacity is taken.
const STEP: f64 = 0.001;

impl Solution {
    /// The pH, unless the ionic strength does not settle, which happens far outside the equation's range only.
    pub(crate) fn balance(&self, constants: Constants) -> Option<Balanced> {
        let mut strength = self.plain.iter().map(|(molality, charge)| molality * charge * charge).sum::<f64>() / 2.0;
        for round in 0..ROUNDS {
            let ph = self.ph_at(strength, constants);
            let (_, reached) = self.charges(ph, strength, constants);
            let settled = (reached - strength).abs() <= 1e-13 * (1.0 + reached);
            // Strong solutions may swing to and fro: then half the way each time.
            strength = if settled || round < DIRECT_ROUNDS { reached } else { f64::midpoint(strength, reached) };
            if settled {
                let above = self.charges(ph + STEP, strength, constants).0;
                let below = self.charges(ph - STEP, strength, constants).0;
                return Some(Balanced { ph, ionic_strength: strength, capacity: (below - above) / (2.0 * STEP) });
            }
        }
        None
    }

    fn ph_at(&self, strength: f64, constants: Constants) -> f64 {
        let (mut low, mut high) = (LOWEST, HIGHEST);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if self.charges(middle, strength, constants).0 > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        f64::midpoint(low, high)
    }

    /// The sum of all charges, mol/kg, and the ionic strength, at a pH and with the activities of an ionic strength.
    fn charges(&self, ph: f64, strength: f64, constants: Constants) -> (f64, f64) {
        let root = strength.sqrt();
        // log γ of a charge z is z² times this.
        let unit = -constants.a * (root / (1.0 + root) - constants.salt * strength);
        let hydrogen = libm::exp10(-ph - unit);
        let hydroxide = libm::exp10(ph - constants.pkw - unit);
        let mut sum = hydrogen - hydroxide;
        let mut squares = hydrogen + hydroxide;
        for (molality, charge) in &self.plain {
            sum += molality * charge;
            squares += molality * charge * charge;
        }
        for acid in &self.acids {
            let mut log = 0.0_f64;
            let mut logs = vec![(log, acid.charge)];
            let mut charge = acid.charge;
            for pka in &acid.pka {
                let lower = charge - 1.0;
                log += ph - pka + unit * (charge * charge - lower * lower);
                charge = lower;
                logs.push((log, charge));
            }
            let most = logs.iter().map(|(log, _)| *log).fold(f64::MIN, f64::max);
            let (mut whole, mut charges, mut charge_squares) = (0.0_f64, 0.0_f64, 0.0_f64);
            for (log, charge) in logs {
                let share = libm::exp10(log - most);
                whole += share;
                charges += share * charge;
                charge_squares += share * charge * charge;
            }
            sum += acid.molality * charges / whole;
            squares += acid.molality * charge_squares / whole;
        }
        (sum, squares / 2.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WATER: Constants = Constants { a: 0.509, salt: 0.3, pkw: 13.997 };

    fn near(found: f64, expected: f64, within: f64) {
        assert!((found - expected).abs() <= within, "{found} is not {expected}");
    }

    #[test]
    fn pure_water_is_neutral() {
        let water = Solution::default().balance(WATER).unwrap();
        near(water.ph, 13.997 / 2.0, 1e-9);
    }

    #[test]
    fn salt_does_not_change_a_neutral_ph() {
        let brine = Solution { acids: Vec::new(), plain: vec![(0.1, 1.0), (0.1, -1.0)] }.balance(WATER).unwrap();
        near(brine.ph, 13.997 / 2.0, 1e-9);
        near(brine.ionic_strength, 0.1, 1e-6);
    }

    /// 0.01 mol/kg of a strong acid: γ of Davies' equation at I = 0.01 is 0.9018 by hand, so the pH is 2.0449.
    #[test]
    fn a_strong_acid_has_the_activity_of_its_ionic_strength() {
        let acid = Solution { acids: Vec::new(), plain: vec![(0.01, -1.0)] }.balance(WATER).unwrap();
        near(acid.ph, 2.0 + 0.509 * (0.1 / 1.1 - 0.003), 1e-9);
        near(acid.ionic_strength, 0.01, 1e-9);
    }

    /// Half a weak acid neutralised, activities left out: pH = pKa, and the capacity is ln 10 times a quarter of it (Van Slyke's equation).
    #[test]
    fn a_half_neutralised_acid_buffers_best() {
        let ideal = Constants { a: 0.0, ..WATER };
        let acid = Acid { molality: 0.1, pka: vec![4.757], charge: 0.0 };
        let buffer = Solution { acids: vec![acid], plain: vec![(0.05, 1.0)] }.balance(ideal).unwrap();
        near(buffer.ph, 4.757, 1e-3);
        near(buffer.capacity, std::f64::consts::LN_10 * 0.025, 1e-4);
    }
}
