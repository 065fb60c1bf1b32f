//! A line too small for the balance.

use super::{Case, Caution};
use crate::block::Balance;
use crate::compute::{predilution, weighing_error};
use crate::material::{Dissolves, WATER};
use crate::model::Line;
use crate::quantity::{Decimal, Mass, MassUnit, show};
use crate::report::{Finding, Kind, Place, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

pub(super) const KIND: &Kind = &Kind {
    name: "poorly-weighed",
    severity: Severity::Caution,
    summary: "A line that the balance rounds off by more than 1 % (or what the formula allows).",
    why: "What is weighed is what is in the product: what the balance rounds away is missing there, or too much.",
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
        "`{key}` is {} in {which}; a balance that reads {} makes it {}, off by {}, where {} is allowed.",
        grams(exact, 2),
        show::grams(balance.readability),
        grams(printed, 0),
        off_by(error, balance),
        show::percent(balance.within.value()),
    );
    Some(Finding::new(KIND, place.clone(), what).source(
        "half the readability of the balance (OIML R 76) against the weight; allowed share by common practice, no source",
    ))
}

/// A share that is too large, with so many decimals that it is seen to be.
fn off_by(error: Decimal, balance: Balance) -> String {
    let is_seen = |decimals: &u32| crate::quantity::round_half_even(error, *decimals) > balance.within.value();
    show::percent_to(error, (1..6).find(is_seen).unwrap_or(6))
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
        if let Some(dilution) = predilution(exact, sheet.batch, most_off, balance.within)
            && let Some(diluent) = diluent(case, index, line, dilution.diluent)
        {
            let grams = |mass: Mass| show::mass_in(mass, MassUnit::Gram, sheet.decimals());
            mend.push_str(&format!(
                " Or mix it beforehand to {} in `{diluent}`: take {} of the mixture, and {} less of the `{diluent}`.",
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
                    "`{}` is {} in this batch; a balance that reads {readability} makes it {}, off by {}, where {} is allowed.",
                    line.written,
                    show::mass_in(exact, MassUnit::Gram, sheet.decimals() + 2),
                    show::mass_in(printed, MassUnit::Gram, sheet.decimals()),
                    off_by(error.error.value(), balance),
                    show::percent(balance.within.value()),
                ),
            )
            .mend(mend)
            .source("half the readability of the balance (OIML R 76) against the weight; allowed share by common practice, no source"),
        );
    }
}

/// The line that dissolves a material and of which the batch holds so much: the largest one, since least is changed by it.
fn diluent<'a>(case: &Case<'a>, index: usize, line: &Line, needed: Mass) -> Option<&'a str> {
    let dissolves_in = |line: &Line| line.material.dissolves.as_ref().map(|stated| stated.value);
    let in_water = dissolves_in(line).is_some_and(|one| matches!(one, Dissolves::Water | Dissolves::Both));
    let is_water = |line: &Line| {
        let mut contains = line.material.contains.iter();
        contains.next().is_some_and(|part| part.inci == WATER) && contains.next().is_none()
    };
    let is_liquid = |line: &Line| line.material.form.as_deref() == Some("liquid");
    let suits = |other: &Line| match dissolves_in(line) {
        None => false,
        Some(_) if in_water => is_water(other),
        Some(Dissolves::Oil) => is_liquid(other) && dissolves_in(other) == Some(Dissolves::Oil),
        Some(_) => false,
    };
    let sheet = &case.computed.sheet;
    case.lines()
        .filter(|(other, candidate)| *other != index && suits(candidate) && sheet.printed_of(*other) >= needed)
        .max_by_key(|(other, _)| (sheet.printed_of(*other), std::cmp::Reverse(*other)))
        .map(|(_, candidate)| candidate.written.as_str())
}
