//! A shopping list as its template sees it.

use super::super::context::{NumberContext, number_context};
use super::super::text::kept_together;
use crate::compute::{ListLine, NoPrice, ShoppingList};
use crate::quantity::{Decimal, MassUnit, show};
use serde::Serialize;

/// The part of the context `b` that belongs to a shopping list.
#[derive(Debug, Serialize)]
pub(super) struct ListContext {
    made: Vec<MadeContext>,
    date: String,
    overage: String,
    dose_reserve: String,
    counts_stock: bool,
    lines: Vec<LineContext>,
    sums: Vec<NumberContext>,
    complete: bool,
    cost: Option<NumberContext>,
}

/// A formula with its batch, or a kit.
#[derive(Debug, Serialize)]
struct MadeContext {
    id: String,
    href: String,
    batch: String,
}

/// A raw material.
#[derive(Debug, Serialize)]
struct LineContext {
    id: String,
    name: String,
    needed: NumberContext,
    in_stock: Option<NumberContext>,
    to_buy: Option<NumberContext>,
    packs: Option<NumberContext>,
    cost: Option<NumberContext>,
    left_over: Option<NumberContext>,
    supplier: String,
    why: &'static str,
    dosed: bool,
    upper: bool,
    bought: bool,
    enough: bool,
}

pub(super) fn context(list: &ShoppingList, id: &str, href_of: &dyn Fn(&str) -> String) -> ListContext {
    let number = |path: &[&str]| {
        let number = number_context(&list.look_up(id, path)?.ok()?, None, None);
        // A list without an id has no addresses.
        let address = if id.is_empty() { String::new() } else { number.address };
        Some(NumberContext { address, ..number })
    };
    let on_top = |share: Decimal| if share.is_zero() { String::new() } else { show::percent(share) };
    let made = list.made.iter().map(|one| MadeContext {
        id: one.id.clone(),
        href: href_of(&one.id),
        batch: one.batch.map_or_else(String::new, |mass| show::mass_in(mass, MassUnit::Gram, list.decimals)),
    });
    let sums: Vec<NumberContext> =
        list.sums().keys().filter_map(|currency| number(&["cost", currency.code()])).collect();
    ListContext {
        made: made.collect(),
        date: list.wanted.date.map_or_else(String::new, |date| date.to_string()),
        overage: on_top(list.wanted.overage.value()),
        dose_reserve: on_top(list.wanted.dose_reserve.value()),
        counts_stock: list.wanted.stock,
        lines: list.lines.iter().map(|line| line_context(line, &number)).collect(),
        complete: list.cost().is_some_and(|(_, is_whole)| is_whole),
        cost: number(&["cost"]).or_else(|| number(&["at-least"])),
        // One currency alone says what the sum says.
        sums: if sums.len() > 1 { sums } else { Vec::new() },
    }
}

fn line_context(line: &ListLine, number: &dyn Fn(&[&str]) -> Option<NumberContext>) -> LineContext {
    let of_line = |part: &str| number(&[&line.material.id, part]);
    LineContext {
        id: line.material.id.clone(),
        name: kept_together(&line.material.name).into_owned(),
        needed: of_line("needed").unwrap_or_else(NumberContext::empty),
        in_stock: of_line("in-stock"),
        to_buy: of_line("to-buy"),
        packs: of_line("packs"),
        cost: of_line("cost"),
        left_over: of_line("left-over"),
        supplier: suppliers_of(line),
        why: line.no_pack().map_or("", no_pack_words),
        dosed: line.shares.iter().any(|share| share.dosed),
        upper: line.shares.iter().any(|share| share.upper),
        bought: line.is_bought,
        enough: line.is_bought && line.to_buy().grams().is_zero(),
    }
}

/// Where the packs of a raw material are bought, each once.
pub(crate) fn suppliers_of(line: &ListLine) -> String {
    let mut suppliers: Vec<&str> = Vec::new();
    for packs in line.packs().into_iter().flat_map(|purchase| &purchase.packs) {
        suppliers.extend(packs.listed.supplier.as_deref().filter(|name| !suppliers.contains(name)));
    }
    suppliers.join("; ")
}

/// Why no pack of a raw material is known.
pub(crate) fn no_pack_words(why: NoPrice) -> &'static str {
    match why {
        NoPrice::NotListed => "no pack is known",
        NoPrice::NotRead => "price not understood",
        NoPrice::LaterOnly => "later prices only",
        NoPrice::NoDensity => "density not known",
        NoPrice::NoRate(_) => "rate not known",
    }
}
