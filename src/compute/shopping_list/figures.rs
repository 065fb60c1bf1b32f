//! The figures of a shopping list, each with its working.

use super::super::{AddressFault, Figure, Value, Working};
use super::{ListLine, Packs, ShoppingList};
use crate::quantity::{Currency, Decimal, Mass, Money, show};

const OF_LINE: [&str; 7] = ["needed", "in-stock", "to-buy", "packs", "bought", "cost", "left-over"];

pub(super) fn addresses(list: &ShoppingList) -> Vec<String> {
    let sums = list.sums().into_keys().map(|currency| format!("cost/{currency}"));
    let lines = list.lines.iter().flat_map(|line| OF_LINE.map(|part| format!("{}/{part}", line.material.id)));
    let is_there = |address: &String| {
        let path: Vec<&str> = address.split('/').collect();
        matches!(look_up(list, "", &path), Some(Ok(_)))
    };
    ["cost", "at-least"].map(str::to_owned).into_iter().chain(sums).chain(lines).filter(is_there).collect()
}

pub(super) fn look_up(list: &ShoppingList, id: &str, path: &[&str]) -> Option<Result<Figure, AddressFault>> {
    let address = std::iter::once(id).chain(path.iter().copied()).collect::<Vec<_>>().join("/");
    let found = match path {
        ["cost" | "at-least"] => total(list, path == ["cost"]),
        ["cost", code] => {
            let sum = *list.sums().get(&Currency::from_code(code)?)?;
            Ok((value_of(sum), Working::new().text("what is paid in this currency")))
        }
        [material, part] => {
            let line = list.lines.iter().find(|line| line.material.id == *material)?;
            of_line(list, line, part)?
        }
        _ => return None,
    };
    Some(found.map(|(value, working)| Figure { address, value, working }).map_err(AddressFault::NoValue))
}

type Found = Result<(Value, Working), String>;

fn value_of(money: Money) -> Value {
    Value::Quantity { value: money.amount(), decimals: money.currency().minor_digits(), unit: money.currency().code() }
}

fn total(list: &ShoppingList, wants_all: bool) -> Found {
    let Some((money, is_whole)) = list.cost() else {
        return Err("the collection does not say in which `currency` it reckons".to_owned());
    };
    match (wants_all, is_whole) {
        (true, true) => Ok((value_of(money), total_working(list))),
        (true, false) => Err(unknown(list)),
        (false, false) => Ok((value_of(money), Working::new().text(format!("incomplete: {}", unknown(list))))),
        (false, true) => Err("all of it is known: `cost` says what it costs".to_owned()),
    }
}

fn total_working(list: &ShoppingList) -> Working {
    let rates = list.rates();
    let mut working = Working::new().text("sum of what the packs cost with their postage");
    for (currency, rate) in rates {
        let (is, of) = (show::plain(rate.is.amount()), rate.is.currency());
        working = working.text(format!("; {is} {of} for 1 {currency} ({})", rate.date));
    }
    working
}

fn unknown(list: &ShoppingList) -> String {
    let currency = list.sum_currency();
    let is_unknown = |line: &&ListLine| {
        line.no_pack().is_some()
            || line.packs().is_some_and(|packs| currency.is_none_or(|own| packs.in_currency(own).is_none()))
    };
    let names: Vec<String> = list.lines.iter().filter(is_unknown).map(|line| line.material.id.clone()).collect();
    format!("what it costs is not known of {}", crate::report::list(&names, "and"))
}

fn of_line(list: &ShoppingList, line: &ListLine, part: &str) -> Option<Found> {
    let weight = |mass: Mass| Value::Mass { mass, decimals: list.decimals };
    let id = &line.material.id;
    let no_pack = || format!("no pack of `{id}` is known");
    Some(Ok(match part {
        "needed" => (weight(line.needed()), needed_working(list, line)),
        "in-stock" if list.wanted.stock && line.is_bought => {
            let days: Vec<String> = line.material.stocks.iter().map(|stock| stock.date.to_string()).collect();
            let working = match (days.is_empty(), line.not_counted.is_empty()) {
                (true, _) => Working::new().text("no stock is listed"),
                (false, true) => Working::new().text(format!("counted on {}", days.join(", "))),
                (false, false) => Working::new().text("what of the stock counts"),
            };
            (weight(line.in_stock), working)
        }
        "to-buy" if line.is_bought => {
            let working = match line.in_stock > line.needed() {
                true => Working::new().text("there is enough in stock"),
                false => Working::new().value(weight(line.needed())).text(" − ").value(weight(line.in_stock)),
            };
            (weight(line.to_buy()), working)
        }
        "packs" | "bought" | "cost" if line.is_bought => {
            let Some(purchase) = line.packs() else {
                return Some(Err(match line.no_pack() {
                    Some(_) => no_pack(),
                    None => format!("nothing of `{id}` has to be bought"),
                }));
            };
            let packs = words_of(&purchase.packs);
            match part {
                "packs" => {
                    let working =
                        Working::new().value(weight(line.to_buy())).text(" in whole packs, for the least money");
                    (Value::Text(packs), working.source(sources_of(&purchase.packs)))
                }
                "bought" => (weight(purchase.content()), Working::new().text(packs)),
                _ => {
                    let mut working = Working::new();
                    for (index, one) in purchase.packs.iter().enumerate() {
                        working = if index == 0 { working } else { working.text(" + ") };
                        working =
                            working.value(Value::Number(one.count)).text(" × ").value(value_of(one.listed.total()));
                    }
                    (value_of(purchase.cost()), working.source(sources_of(&purchase.packs)))
                }
            }
        }
        "left-over" if line.is_bought => {
            let Some(left) = line.left_over() else { return Some(Err(no_pack())) };
            let bought = line.packs().map_or(Mass::ZERO, |purchase| purchase.content());
            let working = Working::new().value(weight(line.in_stock)).text(" + ").value(weight(bought));
            (weight(left), working.text(" − ").value(weight(line.needed())))
        }
        _ => return None,
    }))
}

/// "2 × 500 g", or "1 × 1 kg and 1 × 250 g".
pub(super) fn words_of(packs: &[Packs]) -> String {
    let words: Vec<String> = packs
        .iter()
        .filter(|one| one.count > Decimal::ZERO)
        .map(|one| format!("{}\u{a0}×\u{a0}{}", one.count, one.listed.pack_text.replace(' ', "\u{a0}")))
        .collect();
    words.join(" and ")
}

fn sources_of(packs: &[Packs]) -> String {
    let mut words: Vec<String> = packs
        .iter()
        .map(|one| {
            let supplier = one.listed.supplier.as_ref().map_or(String::new(), |name| format!(", {name}"));
            format!("price of {}{supplier}", one.listed.date)
        })
        .collect();
    words.dedup();
    words.join("; ")
}

fn needed_working(list: &ShoppingList, line: &ListLine) -> Working {
    let mut working = Working::new();
    for (index, share) in line.shares.iter().enumerate() {
        working = if index == 0 { working } else { working.text(" + ") };
        working =
            working.text(format!("{} ", share.of)).value(Value::Mass { mass: share.mass, decimals: list.decimals });
        if share.dosed {
            working = working.text(if share.reserve { " (usual dose, with the reserve)" } else { " (usual dose)" });
        } else if share.upper {
            working = working.text(" (upper end)");
        }
    }
    let overage = list.wanted.overage.value();
    if overage > Decimal::ZERO && list.made.iter().any(|one| one.batch.is_some()) {
        working = working.text(format!("; with {} of overage on the batches", show::percent(overage)));
    }
    working
}
