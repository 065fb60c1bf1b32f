//! How well a balance can weigh a line, and what to weigh instead.

use crate::quantity::{Decimal, Mass, Percent};

/// The rounding of one line at the balance's readability.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WeighingError {
    /// How far the printed weight is from the exact one, in % of the exact one.
    pub error: Percent,
    /// The smallest batch at which a weight of this share is never rounded off by more than allowed.
    pub fine_from: Mass,
}

/// The weighing error of a line, if it is larger than allowed.
///
/// `most_off` is how far the sheet's rule can take the line's weight from the exact one: half a readability where it is rounded by
/// itself, a whole one where the largest remainders are, and half a readability for each other line on the balance line. The
/// weight is fine from m = `most_off` ÷ within. (The same reasoning as a balance's minimum weight in USP general chapter 41, with
/// the readability in the place of the repeatability.)
pub fn weighing_error(
    exact: Mass,
    printed: Mass,
    batch: Mass,
    most_off: Mass,
    within: Percent,
) -> Option<WeighingError> {
    let exact = exact.grams();
    if exact <= Decimal::ZERO || within.value() <= Decimal::ZERO {
        return None;
    }
    let error = Percent::new((printed.grams() - exact).abs() * Decimal::ONE_HUNDRED / exact);
    if error <= within {
        return None;
    }
    let least = (most_off.grams() * Decimal::ONE_HUNDRED).checked_div(within.value())?;
    let fine_from = Mass::from_grams(round_up(batch.grams().checked_mul(least)?.checked_div(exact)?));
    Some(WeighingError { error, fine_from })
}

/// A pre-dilution to weigh instead of a small amount.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Predilution {
    /// Strength of the dilution, % w/w.
    pub strength: Percent,
    /// How much of the dilution to weigh.
    pub take: Mass,
    /// How much of the diluent that brings, to be left out elsewhere.
    pub diluent: Mass,
}

/// The strongest of the usual dilutions (10, 5, 2, 1 %) of which the balance can weigh enough. None that weighs more than the
/// whole batch: its diluent could not be left out elsewhere.
pub fn predilution(exact: Mass, batch: Mass, most_off: Mass, within: Percent) -> Option<Predilution> {
    let least = (most_off.grams() * Decimal::ONE_HUNDRED).checked_div(within.value())?;
    [10, 5, 2, 1].into_iter().map(|percent| Decimal::new(percent, 0)).find_map(|percent| {
        let take = exact.grams() * Decimal::ONE_HUNDRED / percent;
        (take >= least && take <= batch.grams()).then(|| Predilution {
            strength: Percent::new(percent),
            take: Mass::from_grams(take),
            diluent: Mass::from_grams(take - exact.grams()),
        })
    })
}

/// Up to two significant digits, so that a batch size is one that people would choose.
fn round_up(value: Decimal) -> Decimal {
    let mut step = Decimal::ONE;
    while value / step >= Decimal::ONE_HUNDRED {
        step *= Decimal::TEN;
    }
    (value / step).ceil() * step
}

#[cfg(test)]
mod tests {
    use super::*;

    fn g(hundredths: i64) -> Mass {
        Mass::from_grams(Decimal::new(hundredths, 2))
    }

    #[test]
    fn a_small_amount_on_a_coarse_balance_is_not_well_weighed() {
        let one = Percent::new(Decimal::ONE);
        let error = weighing_error(g(75), g(80), g(10_000), g(5), one).unwrap();
        assert_eq!(error.error.value().round_dp(2), Decimal::new(667, 2));
        assert_eq!(error.fine_from, g(67_000));
        assert_eq!(weighing_error(g(80), g(80), g(10_000), g(5), one), None);
    }

    #[test]
    fn a_predilution_is_as_strong_as_the_balance_allows() {
        let one = Percent::new(Decimal::ONE);
        let dilution = predilution(g(75), g(10_000), g(5), one).unwrap();
        assert_eq!(dilution.strength.value(), Decimal::TEN);
        assert_eq!((dilution.take, dilution.diluent), (g(750), g(675)));
        // 7 g in a batch of 10 g: a tenth of them would be 70 g of mixture.
        assert_eq!(predilution(g(700), g(1_000), g(100), one), None);
        assert_eq!(predilution(g(75), g(750), g(5), one).map(|dilution| dilution.take), Some(g(750)));
        assert_eq!(predilution(g(75), g(749), g(5), one), None);
    }
}
