//! Costings that cannot be worked out, raw materials without a price, and prices that have grown old.

use crate::block::CostingBlock;
use crate::compute::{Costing, CostingFault, NoPrice};
use crate::model::Rate;
use crate::quantity::{Currency, Date};
use crate::report::{Finding, Kind, Place, Severity, capital, echo, kind};
use std::collections::BTreeMap;

pub(super) const KINDS: &[&Kind] = &[CURRENCY, UNITS, PRICE, RATE, LATER_RATE, STALE];

const CURRENCY: &Kind = &Kind {
    name: "currency-not-stated",
    severity: Severity::Error,
    summary: "A costing in a collection that does not say in which currency it reckons.",
    why: "Sums are made in one currency; which one is nobody's to guess.",
    mend: "Write `currency = \"EUR\"` in `collection.toml`.",
};

const UNITS: &Kind = &Kind {
    name: "units-not-known",
    severity: Severity::Error,
    summary: "A costing with packaging of which nobody knows for how many units, or with a unit that is never filled.",
    why: "What the packs cost follows from how many there are.",
    mend: "Write `units = 12`, or what one holds: `content = \"250 g\"`.",
};

pub(super) const PRICE: &Kind = &Kind {
    name: "price-not-known",
    severity: Severity::Question,
    summary: "A raw material whose price is not known, so that the sum is not either.",
    why: "Nothing unknown counts as free; the sum shown is only what it costs at least.",
    mend: "Add its price to a file in `materials/`: `[[material.NAME.price]]` with `pack`, `price` and `date`.",
};

pub(super) const RATE: &Kind = &Kind {
    name: "rate-not-known",
    severity: Severity::Question,
    summary: "A price in a currency of which the collection does not say what it is worth.",
    why: "Two currencies cannot be added; the sum shown is only what it costs at least.",
    mend: "Look the rate up, and write it with its day in `collection.toml`: `[rate]` and `GBP = { is = \"1.17 EUR\", date = 2026-10-01 }`.",
};

const LATER_RATE: &Kind = &Kind {
    name: "rate-of-later-day",
    severity: Severity::Question,
    summary: "A rate that is of a later day than the costing or shopping list.",
    why: "Of each currency the collection holds one rate; on the day that was reckoned for, nobody knew this one.",
    mend: "Give the block the day of the rate or a later one, or look up the rate of its day.",
};

pub(super) const STALE: &Kind = &Kind {
    name: "stale-price",
    severity: Severity::Note,
    summary: "A price or a rate that was old on the day of the costing or shopping list.",
    why: "Suppliers change their lists; how old is too old says `stale-after`, 365 days where the block does not say it (common practice, no source).",
    mend: "Ask for today's price and add it with its date; the old one may stay in the file. A rate is written anew with its day.",
};

/// The finding for a costing that cannot be worked out.
pub fn costing_fault(fault: CostingFault, block: &CostingBlock) -> Finding {
    let formula = block.formula.place.clone();
    let content = block.content.as_ref().map_or_else(|| formula.clone(), |content| content.place.clone());
    match fault {
        CostingFault::NoCurrency => {
            Finding::new(CURRENCY, formula, "The collection does not say in which currency costs are reckoned.")
        }
        CostingFault::NoUnits => {
            let place = block.packaging.first().map_or(formula, |item| item.name.place.clone());
            Finding::new(UNITS, place, "There is packaging, and how many units the batch gives is not said.")
        }
        CostingFault::NoFullUnit => Finding::new(UNITS, content, "The batch does not fill one unit.")
            .mend("Make a larger batch, or take smaller units."),
        CostingFault::NeedsDensity => Finding::new(
            kind::NEEDS_DENSITY,
            content,
            "A unit is by volume, and the density of the product is not given.",
        )
        .mend("Measure it at 20 °C, and write `density = \"1.02 g/ml\"` in the formula."),
    }
}

/// What is to be said about a costing. One cause, one message: raw materials without a price stand together, and of a price that was not understood the
/// mistake is all.
pub fn examine_costing(costing: &Costing, block: &CostingBlock) -> Vec<Finding> {
    let place: &Place = &block.formula.place;
    let mut findings = Vec::new();
    let ids = |wanted: fn(NoPrice) -> bool| -> Vec<String> {
        let lines = costing.lines.iter().filter(|line| line.price.as_ref().is_err_and(|why| wanted(*why)));
        lines.map(|line| format!("`{}`", echo(&line.material))).collect()
    };
    for (wanted, why) in [
        ((|why| why == NoPrice::NotListed) as fn(NoPrice) -> bool, "No price is known of"),
        (|why| why == NoPrice::LaterOnly, "All prices are later than the day of this costing, of"),
        (|why| why == NoPrice::NoDensity, "The pack is by volume and the density is not known, of"),
    ] {
        let names = ids(wanted);
        if !names.is_empty() {
            let what = format!("{why} {}; the sum is incomplete.", names.join(", "));
            let finding = Finding::new(PRICE, place.clone(), what);
            findings.push(match why.starts_with("The pack") {
                true => finding.mend("Write the `pack` by weight, or give the raw material a `density`."),
                false => finding,
            });
        }
    }
    findings.extend(no_rate(costing, block));
    findings.extend(later_rates(costing.rates(), costing.date, place));
    findings.extend(grown_old(costing, block));
    findings
}

/// Prices and rates that are older than the costing allows. Without a day of its own the newest price is what the others are held against.
fn grown_old(costing: &Costing, block: &CostingBlock) -> Option<Finding> {
    let day = costing.reference_day()?;
    let held_against = match costing.date {
        Some(day) => day.to_string(),
        None => format!("the newest price here, of {day}"),
    };
    let prices = costing.lines.iter().filter_map(|line| {
        let price = line.price.as_ref().ok()?;
        Some((format!("the price of `{}`", echo(&line.material)), price.listed.date))
    });
    let rates = costing.rates().into_iter().map(|(currency, rate)| (format!("the rate of {currency}"), rate.date));
    stale(prices.chain(rates), day, &held_against, block.stale_after, &block.formula.place)
}

/// What of these was older than so many days on a day.
pub(super) fn stale(
    dated: impl Iterator<Item = (String, Date)>,
    day: Date,
    held_against: &str,
    stale_after: u32,
    place: &Place,
) -> Option<Finding> {
    let old: Vec<(String, Date)> = dated.filter(|(_, date)| day.days_since(*date) > i64::from(stale_after)).collect();
    let what = match old.as_slice() {
        [] => return None,
        [(name, date)] => format!(
            "{} is of {date}, {} days before {held_against}; up to {stale_after} days are allowed here.",
            capital(name),
            day.days_since(*date),
        ),
        several => {
            let each: Vec<String> = several.iter().map(|(name, date)| format!("{name}, of {date}")).collect();
            format!("More than {stale_after} days before {held_against} are {}.", each.join("; "))
        }
    };
    Some(Finding::new(STALE, place.clone(), what))
}

/// Rates that were looked up for a later day than is reckoned for.
pub(super) fn later_rates(rates: BTreeMap<Currency, Rate>, day: Option<Date>, place: &Place) -> Vec<Finding> {
    let Some(day) = day else { return Vec::new() };
    let later = rates.into_iter().filter(|(_, rate)| rate.date > day);
    let found = later.map(|(currency, rate)| {
        let what = format!("The rate of {currency} is of {}, and this is reckoned for {day}.", rate.date);
        Finding::new(LATER_RATE, place.clone(), what)
    });
    found.collect()
}

fn no_rate(costing: &Costing, block: &CostingBlock) -> Option<Finding> {
    let of_lines = costing.lines.iter().filter_map(|line| match line.price {
        Err(NoPrice::NoRate(currency)) => Some(currency),
        _ => None,
    });
    let of_extras = costing.extras.iter().filter(|extra| extra.cost.is_none()).map(|extra| extra.one.currency());
    let mut codes: Vec<String> = of_lines.chain(of_extras).map(|currency| format!("`{currency}`")).collect();
    codes.sort_unstable();
    codes.dedup();
    if codes.is_empty() {
        return None;
    }
    let what =
        format!("What {} is worth in {} is not said; the sum is incomplete.", codes.join(", "), costing.currency);
    Some(Finding::new(RATE, block.formula.place.clone(), what))
}
