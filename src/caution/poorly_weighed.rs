//! A line too small for the balance.

use super::{Case, Caution};
use crate::block::Balance;
use crate::compute::{predilution, weighing_error};
use crate::model::Line;
use crate::quantity::{Decimal, Mass, MassUnit, show};
use crate::report::{Finding, Kind, Place, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

pub(super) const KIND: &Kind = &Kind {
    name: "poorly-weighed",
    severity: Severity::Caution,
    summary: "A line that the balance rounds off by more than 1 % (or what the formula allows).",
    why: "What is weighed is what is in the product: an amount that the balance rounds up by a third is a third over.",
    mend: "Make a larger batch, weigh on a finer balance, or weigh a pre-dilution.",
};

/// The finding for an amount of a block that the balance rounds off by more than is allowed; what to do about it is for the block to say.
pub(super) fn amount(
    key: &str,
    exact: Mass,
    printed: Mass,
    which: &str,
    balance: Balance,
    place: &Place,
) -> Option<Finding> {
    let off = (printed.grams() - exact.grams()).abs();
    let error = (off * Decimal::ONE_HUNDRED).checked_div(exact.grams())?;
    if error <= balance.within.value() {
        return None;
    }
    let decimals = balance.readability.grams().normalize().scale();
    let grams = |mass: Mass, more: u32| show::mass_in(mass, MassUnit::Gram, decimals + more);
    let what = format!(
        "`{key}` is {} in {which}; a balance that reads {} makes it {}, off by {}.",
        grams(exact, 2),
        show::grams(balance.readability),
        grams(printed, 0),
        show::percent_to(error, 1),
    );
    Some(Finding::new(KIND, place.clone(), what).source(
        "half the readability of the balance (OIML R 76) against the weight; allowed share by common practice, no source",
    ))
}

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    let sheet = &case.computed.sheet;
    let balance = formula.balance;
    let has_balance = formula.lines().any(|line| line.is_balance);
    let others = Decimal::from(formula.lines().count().saturating_sub(1));
    // How many readabilities the sheet's rule can move a line by.
    let steps = |line: &Line| match (has_balance, line.is_balance) {
        (true, true) => others / Decimal::TWO,
        (true, false) => Decimal::new(5, 1),
        (false, _) => Decimal::ONE,
    };
    for (index, line) in case.lines() {
        // A dose to effect is found by measuring, not by this weight.
        if line.effect.is_some() {
            continue;
        }
        let (exact, printed) = (sheet.exact_of(index), sheet.printed_of(index));
        let most_off = Mass::from_grams(balance.readability.grams() * steps(line));
        let Some(error) = weighing_error(exact, printed, sheet.batch, most_off, balance.within) else {
            continue;
        };
        let readability = show::grams(balance.readability);
        let mut mend = format!("It is fine from a batch of {} on.", show::grams(error.fine_from));
        if let Some(dilution) = predilution(exact, sheet.batch, most_off, balance.within) {
            let decimals = sheet.decimals();
            let (diluent, that) = diluent(line);
            let grams = |mass: Mass| show::mass_in(mass, MassUnit::Gram, decimals);
            mend.push_str(&format!(
                " Or mix it beforehand to {} in {diluent}: take {} of the mixture, and {} less of {that}.",
                show::percent(dilution.strength.value()),
                grams(dilution.take),
                grams(dilution.diluent),
            ));
        }
        findings.push(
            Finding::new(
                KIND,
                line.amount_place.clone(),
                format!(
                    "`{}` is {} in this batch; a balance that reads {readability} makes it {}, off by {}.",
                    line.written,
                    show::mass_in(exact, MassUnit::Gram, sheet.decimals() + 2),
                    show::mass_in(printed, MassUnit::Gram, sheet.decimals()),
                    show::percent_to(error.error.value(), 1),
                ),
            )
            .mend(mend)
            .source("half the readability of the balance (OIML R 76) against the weight; allowed share by common practice, no source"),
        );
    }
}

/// What dilutes a material, and the same thing named again.
fn diluent(line: &Line) -> (&'static str, &'static str) {
    let soluble =
        line.material.details.iter().find(|detail| detail.key == "solubility").map(|detail| detail.text.as_str());
    let in_water = soluble.is_some_and(|text| {
        (text.starts_with("water-soluble") || text.contains("miscible with water") || text.contains("soluble in water"))
            && !text.contains("insoluble in water")
    });
    if in_water { ("water", "the water") } else { ("a liquid of the formula that dissolves it", "that liquid") }
}
