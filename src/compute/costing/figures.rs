//! The figures of a costing, each with its working. A sum in which something is missing is no figure: only `at-least` is.

use super::super::{AddressFault, Figure, Value, Working};
use super::{CostLine, Costing, Sort};
use crate::block::Measured;
use crate::quantity::{Decimal, Mass, Money, show};

/// What every costing has.
const SUMS: [&str; 3] = ["per-batch", "per-100-g", "materials"];
/// What a line has beside its weight.
const OF_LINE: [&str; 3] = ["cost", "price", "share"];

pub(super) fn addresses(costing: &Costing) -> Vec<String> {
    let all = SUMS.into_iter().chain([
        "per-unit",
        "units",
        "packaging",
        "labour",
        "overheads",
        "at-least",
        "materials/at-least",
        "oldest-price",
    ]);
    let lines = costing
        .lines
        .iter()
        .flat_map(|line| std::iter::once("weight").chain(OF_LINE).map(|part| format!("{}/{part}", line.material)));
    let is_there = |address: &String| {
        let path: Vec<&str> = address.split('/').collect();
        matches!(look_up(costing, "", &path), Some(Ok(_)))
    };
    all.map(str::to_owned).chain(lines).filter(is_there).collect()
}

pub(super) fn look_up(costing: &Costing, id: &str, path: &[&str]) -> Option<Result<Figure, AddressFault>> {
    let address = std::iter::once(id).chain(path.iter().copied()).collect::<Vec<_>>().join("/");
    let (value, working) = match path {
        [sum] if SUMS.contains(sum) || ["per-unit", "packaging"].contains(sum) => {
            let wanted = match *sum {
                "materials" => costing.materials(),
                // Without packs, labour and overheads: what one formula costs beside another.
                "per-100-g" => costing.materials(),
                "packaging" => costing.extras_of(Sort::Packaging)?,
                _ => costing.total(),
            };
            if *sum == "per-unit" && costing.units.is_none() {
                return None;
            }
            let (money, is_whole) = wanted;
            if !is_whole {
                return Some(Err(AddressFault::NoValue(unknown(costing))));
            }
            of_sum(costing, sum, money)?
        }
        ["at-least"] | ["materials", "at-least"] => {
            let (money, is_whole) = if path.len() == 1 { costing.total() } else { costing.materials() };
            if is_whole {
                let whole = if path.len() == 1 { "per-batch" } else { "materials" };
                let why = format!("all of it is known: `{whole}` says what it costs");
                return Some(Err(AddressFault::NoValue(why)));
            }
            (value_of(money), Working::new().text(format!("incomplete: {}", unknown(costing))))
        }
        ["units"] => (Value::Number(costing.units?), working_of_units(costing)),
        ["labour"] | ["overheads"] => {
            let sort = if path == ["labour"] { Sort::Labour } else { Sort::Overheads };
            let extra = costing.extras.iter().find(|extra| extra.sort == sort)?;
            let Some(cost) = extra.cost else {
                return Some(Err(AddressFault::NoValue(unknown(costing))));
            };
            let working = match sort {
                Sort::Labour => Working::new()
                    .value(Value::Quantity { value: extra.count, decimals: extra.count.scale(), unit: "h" })
                    .text(" × ")
                    .value(value_of(extra.one)),
                _ => Working::new(),
            };
            (value_of(cost), working)
        }
        ["oldest-price"] => (Value::Text(costing.oldest_price()?.to_string()), Working::new()),
        [material, part] => {
            let line = costing.lines.iter().find(|line| line.material == *material)?;
            match of_line(costing, line, part)? {
                Ok(figure) => figure,
                Err(fault) => return Some(Err(fault)),
            }
        }
        _ => return None,
    };
    Some(Ok(Figure { address, value, working }))
}

/// Money as a figure: exact, shown at the minor unit.
fn value_of(money: Money) -> Value {
    Value::Quantity { value: money.amount(), decimals: money.currency().minor_digits(), unit: money.currency().code() }
}

fn of_sum(costing: &Costing, sum: &str, money: Money) -> Option<(Value, Working)> {
    let whole = value_of(money);
    Some(match sum {
        "per-unit" => {
            let units = costing.units?;
            let one = money.divided_by(units)?;
            (value_of(one), Working::new().value(whole).text(" ÷ ").value(Value::Number(units)).text(" units"))
        }
        "per-100-g" => {
            let batch = costing.batch.grams();
            let per = money.times(Decimal::ONE_HUNDRED)?.divided_by(batch)?;
            let working = Working::new().text("raw materials ").value(whole).text(" × 100 g ÷ ");
            (value_of(per), working.value(mass_value(costing, costing.batch)))
        }
        "materials" => (whole, Working::new().text("sum of the costs of the raw materials")),
        "packaging" => (whole, packaging_working(costing)),
        _ => (whole, total_working(costing)),
    })
}

fn working_of_units(costing: &Costing) -> Working {
    let Some((unit, on_top)) = costing.unit else { return Working::new() };
    let exact = |mass: Mass| {
        let decimals = mass.grams().normalize().scale().clamp(costing.decimals, costing.decimals.max(6));
        Value::Mass { mass, decimals }
    };
    let working = Working::new().value(exact(costing.batch)).text(" ÷ ").value(exact(unit)).text(" for each");
    let on_top = match on_top.value().is_zero() {
        true => String::new(),
        false => format!(", with {} on top of its content", show::percent(on_top.value())),
    };
    working.text(format!("{on_top}; full units only"))
}

fn total_working(costing: &Costing) -> Working {
    let mut working = Working::new().text("raw materials ").value(value_of(costing.materials().0));
    for (sort, name) in [(Sort::Packaging, "packaging"), (Sort::Labour, "labour"), (Sort::Overheads, "overheads")] {
        if let Some((money, _)) = costing.extras_of(sort) {
            working = working.text(format!(" + {name} ")).value(value_of(money));
        }
    }
    working
}

fn packaging_working(costing: &Costing) -> Working {
    let items = costing.extras.iter().filter(|extra| extra.sort == Sort::Packaging);
    items.enumerate().fold(Working::new(), |working, (index, item)| {
        let working = if index == 0 { working } else { working.text(" + ") };
        working.value(Value::Number(item.count)).text(" × ").value(value_of(item.one))
    })
}

fn mass_value(costing: &Costing, mass: Mass) -> Value {
    Value::Mass { mass, decimals: costing.decimals }
}

type Found = Result<(Value, Working), AddressFault>;

fn of_line(costing: &Costing, line: &CostLine, part: &str) -> Option<Found> {
    let weight = mass_value(costing, line.mass);
    if part == "weight" {
        let working = match costing.waste.value().is_zero() {
            true => Working::new(),
            false => Working::new().text(format!("with {} of waste", show::percent(costing.waste.value()))),
        };
        return Some(Ok((weight, working)));
    }
    if !OF_LINE.contains(&part) {
        return None;
    }
    let (Ok(price), Some(cost)) = (&line.price, line.cost()) else {
        return Some(Err(AddressFault::NoValue(format!("what `{}` costs is not known", line.material))));
    };
    let pack = Value::Mass { mass: price.pack, decimals: price.pack.grams().normalize().scale() };
    let listed = |mut working: Working| {
        if let Some(rate) = price.rate {
            working = working.text(format!(
                " at {} {} for 1 {} ({})",
                show::plain(rate.is.amount()),
                rate.is.currency(),
                price.listed.price.currency(),
                rate.date
            ));
        }
        let supplier = price.listed.supplier.as_ref().map_or(String::new(), |name| format!(", {name}"));
        if let Measured::Volume(_) = price.listed.pack {
            working = working.text(format!("; {} by the density of the raw material", price.listed.pack_text));
        }
        working.source(format!("price of {}{supplier}", price.listed.date))
    };
    Some(Ok(match part {
        "cost" => {
            let working = Working::new().value(weight).text(" × ").value(value_of(price.total)).text(" ÷ ").value(pack);
            (value_of(cost), listed(working))
        }
        "price" => {
            let kilogram = price.total.times(Decimal::ONE_THOUSAND)?.amount().checked_div(price.pack.grams())?;
            let value = Value::Reading {
                value: kilogram,
                ends: None,
                decimals: costing.currency.minor_digits(),
                unit: format!("{}/kg", costing.currency),
            };
            (value, listed(Working::new().value(value_of(price.total)).text(" for ").value(pack)))
        }
        _ => {
            let (sum, is_whole) = costing.materials();
            if !is_whole {
                return Some(Err(AddressFault::NoValue(unknown(costing))));
            }
            let share = cost.amount().checked_mul(Decimal::ONE_HUNDRED)?.checked_div(sum.amount())?;
            let working = Working::new().value(value_of(cost)).text(" of ").value(value_of(sum));
            (Value::Quantity { value: share, decimals: 1, unit: "%" }, working)
        }
    }))
}

/// What is missing, as a clause.
fn unknown(costing: &Costing) -> String {
    let lines = costing.lines.iter().filter(|line| line.price.is_err()).map(|line| line.material.clone());
    let extras = costing.extras.iter().filter(|extra| extra.cost.is_none()).map(|extra| match extra.sort {
        Sort::Packaging => extra.name.clone(),
        Sort::Labour => "labour".to_owned(),
        Sort::Overheads => "overheads".to_owned(),
    });
    let names: Vec<String> = lines.chain(extras).collect();
    format!("what it costs is not known of {}", crate::report::list(&names, "and"))
}
