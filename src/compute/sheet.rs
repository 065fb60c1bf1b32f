//! The weighing sheet: every line's weight for one batch size, rounded to the balance so that the sheet adds up.

use crate::model::Formula;
use crate::quantity::{Decimal, Mass, apportion_shares, round_to_step};

/// Weights of all lines in order, for one batch.
///
/// Weight = amount × batch ÷ whole. Printed weights are rounded to the balance's readability, halves to even (ASTM E29); the
/// balance line takes the rounding, or, without one, the largest remainders do, so that the printed sheet adds up to the batch
/// to the last digit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// The batch as asked for.
    pub batch: Mass,
    /// The batch as the sheet makes it: rounded to the readability.
    pub batch_printed: Mass,
    /// Readability of the balance.
    pub readability: Mass,
    /// Exact weights.
    pub exact: Vec<Mass>,
    /// Weights to be weighed.
    pub printed: Vec<Mass>,
}

impl Sheet {
    /// The sheet of a formula for a batch.
    pub fn new(formula: &Formula, batch: Mass) -> Sheet {
        let step = formula.balance.readability.grams();
        let share = |amount: Decimal| (amount * batch.grams()).checked_div(formula.whole).unwrap_or_default();
        let amounts: Vec<Decimal> = formula.lines().map(|line| line.amount).collect();
        let exact: Vec<Decimal> = amounts.iter().map(|amount| share(*amount)).collect();
        let taker = formula.lines().position(|line| line.is_balance);
        let printed = apportion_shares(&amounts, formula.whole, batch.grams(), step, taker);
        let masses = |grams: Vec<Decimal>| grams.into_iter().map(Mass::from_grams).collect();
        Sheet {
            batch,
            batch_printed: Mass::from_grams(round_to_step(batch.grams(), step)),
            readability: formula.balance.readability,
            exact: masses(exact),
            printed: masses(printed),
        }
    }

    /// Decimals that weights are printed with.
    pub fn decimals(&self) -> u32 {
        self.readability.grams().normalize().scale()
    }

    /// Each line's share of the batch as it will really be weighed, %.
    pub fn percents_as_weighed(&self) -> Vec<Decimal> {
        let total = self.batch_printed.grams();
        self.printed
            .iter()
            .map(|mass| (mass.grams() * Decimal::ONE_HUNDRED).checked_div(total).unwrap_or_default())
            .collect()
    }

    /// The printed weight of a line by its index among all lines.
    pub fn printed_of(&self, index: usize) -> Mass {
        self.printed.get(index).copied().unwrap_or_default()
    }

    /// The exact weight of a line by its index among all lines.
    pub fn exact_of(&self, index: usize) -> Mass {
        self.exact.get(index).copied().unwrap_or_default()
    }
}
