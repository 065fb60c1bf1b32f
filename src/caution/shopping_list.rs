//! Shopping lists: raw materials without a known pack, stock that does not count, and prices that have grown old.

use super::costing::{PRICE, RATE};
use crate::compute::{ListLine, NoPrice, ShoppingList};
use crate::material::NotCounted;
use crate::report::{Finding, Kind, Place, Severity, echo};

pub(super) const KINDS: &[&Kind] = &[STOCK];

const STOCK: &Kind = &Kind {
    name: "stock-not-counted",
    severity: Severity::Question,
    summary: "Stock of a raw material that a shopping list does not take off.",
    why: "Nothing is taken for usable that is not known to be: the list then buys more, never less.",
    mend: "Count it again and write the amount with its day; or leave what is not to be used out of the stock.",
};

/// What is to be said about a list, at its first entry. One cause, one message.
pub fn examine_shopping_list(list: &ShoppingList, stale_after: u32, place: &Place) -> Vec<Finding> {
    let mut findings = Vec::new();
    let ids = |wanted: fn(NoPrice) -> bool| -> Vec<String> {
        let lines = list.lines.iter().filter(|line| line.no_pack().is_some_and(wanted));
        lines.map(|line| format!("`{}`", echo(&line.material.id))).collect()
    };
    let exact = "the list says how much to buy, not how many packs, and the sum is incomplete";
    for (wanted, why, mend) in [
        ((|why| why == NoPrice::NotListed) as fn(NoPrice) -> bool, "No pack is known of", None),
        (|why| why == NoPrice::LaterOnly, "All prices are later than the day of this list, of", None),
        (
            |why| why == NoPrice::NoDensity,
            "The pack is by volume and the density is not known, of",
            Some("Write the `pack` by weight, or give the raw material a `density`."),
        ),
    ] {
        let names = ids(wanted);
        if !names.is_empty() {
            let finding = Finding::new(PRICE, place.clone(), format!("{why} {}; {exact}.", names.join(", ")));
            findings.push(match mend {
                Some(mend) => finding.mend(mend),
                None => finding,
            });
        }
    }
    findings.extend(no_rate(list, place));
    findings.extend(super::costing::later_rates(list.rates(), list.wanted.date, place));
    findings.extend(list.lines.iter().flat_map(|line| not_counted(list, line, place)));
    findings.extend(grown_old(list, stale_after, place));
    findings
}

fn no_rate(list: &ShoppingList, place: &Place) -> Option<Finding> {
    let Some(own) = list.sum_currency() else {
        if list.sums().is_empty() {
            return None;
        }
        let codes: Vec<String> = list.sums().keys().map(|currency| format!("`{currency}`")).collect();
        let what =
            format!("The packs are paid in {}, and there is no currency to add them up in.", codes.join(" and "));
        return Some(Finding::new(RATE, place.clone(), what).mend(
            "Write the `currency` of the collection in `collection.toml`, and below `[rate]` what the others are worth in it.",
        ));
    };
    let unknown = list.lines.iter().filter_map(ListLine::packs).filter(|packs| packs.in_currency(own).is_none());
    let mut codes: Vec<String> = unknown.map(|packs| format!("`{}`", packs.cost().currency())).collect();
    codes.sort_unstable();
    codes.dedup();
    if codes.is_empty() {
        return None;
    }
    let what = format!("What {} is worth in {own} is not said; the sum is incomplete.", codes.join(", "));
    Some(Finding::new(RATE, place.clone(), what))
}

fn not_counted(list: &ShoppingList, line: &ListLine, place: &Place) -> Vec<Finding> {
    let day = list.wanted.date.map_or_else(|| "the day it was counted".to_owned(), |day| day.to_string());
    let id = echo(&line.material.id);
    let found = line.not_counted.iter().map(|(amount, why)| {
        let amount = echo(amount);
        let because = match why {
            NotCounted::NoDensity => "it is by volume, and the density is not known".to_owned(),
            NotCounted::Later => format!("it was counted after the day of this list, {day}"),
            NotCounted::Expired(last) => format!("its lot expired on {last}, before {day}"),
            NotCounted::Retest(last) => format!("its lot had to be tested again by {last}, before {day}"),
        };
        Finding::new(STOCK, place.clone(), format!("The stock of `{id}`, {amount}, is not taken off: {because}."))
    });
    found.collect()
}

/// Prices and rates that are older than the list allows. Without a day of its own the newest price is what the others are held against.
fn grown_old(list: &ShoppingList, stale_after: u32, place: &Place) -> Option<Finding> {
    let day = list.reference_day()?;
    let held_against = match list.wanted.date {
        Some(day) => day.to_string(),
        None => format!("the newest price here, of {day}"),
    };
    let prices = list.lines.iter().filter_map(|line| {
        let packs = line.packs()?.packs.first()?;
        Some((format!("the price of `{}`", echo(&line.material.id)), packs.listed.date))
    });
    let rates = list.rates().into_iter().map(|(currency, rate)| (format!("the rate of {currency}"), rate.date));
    super::costing::stale(prices.chain(rates), day, &held_against, stale_after, place)
}
