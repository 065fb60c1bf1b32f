//! The figures of a kit, each with its working.

use super::super::{Figure, Value, Working};
use super::{Kit, KitTotal};
use crate::quantity::{Decimal, Mass, show};

pub(super) fn addresses(kit: &Kit) -> Vec<String> {
    let own = ["tables", "cups", "table", "total"].map(str::to_owned).into_iter();
    let totals =
        kit.totals.iter().flat_map(|total| ["cup", "total"].map(|part| format!("{}/{part}", total.material.id)));
    let cups = kit.parts.iter().flat_map(|part| {
        part.phases.iter().flat_map(move |phase| {
            let ids = phase.cups.iter().map(|cup| cup.material.id.as_str());
            ids.map(move |id| format!("{}/{}/{id}/cup", part.formula, phase.key))
        })
    });
    let mut all: Vec<String> = own.chain(totals).chain(cups).collect();
    all.dedup();
    all
}

pub(super) fn look_up(kit: &Kit, id: &str, path: &[&str]) -> Option<Figure> {
    let address = std::iter::once(id).chain(path.iter().copied()).collect::<Vec<_>>().join("/");
    let weight = |mass: Mass, decimals| Value::Mass { mass, decimals };
    let tables = Value::Number(kit.tables);
    let (value, working) = match path {
        ["tables"] => (tables, Working::new()),
        ["cups"] => (Value::Number(Decimal::from(kit.cups())), Working::new().text("cups of one table")),
        ["table"] => {
            let sum = kit.totals.iter().map(|total| total.cup).sum();
            (weight(sum, kit.decimals), Working::new().text("all cups of one table"))
        }
        ["total"] => {
            let sum = kit.totals.iter().map(|total| total.total).sum();
            (weight(sum, kit.decimals), Working::new().text("sum of what is weighed out of each raw material"))
        }
        [material, part @ ("cup" | "total")] => {
            let total = kit.totals.iter().find(|total| total.material.id == *material)?;
            if *part == "cup" {
                let mut cups = kit.parts.iter().flat_map(|part| part.phases.iter().flat_map(|phase| &phase.cups));
                let mut working = Working::new();
                if total.cups > 1 {
                    for (index, cup) in cups.by_ref().filter(|cup| cup.material.id == *material).enumerate() {
                        working = if index == 0 { working } else { working.text(" + ") };
                        working = working.value(weight(cup.mass, total.decimals));
                    }
                } else {
                    working = working.text("as on the weighing sheet for the batch of a table");
                }
                (weight(total.cup, total.decimals), working)
            } else {
                (weight(total.total, total.decimals), total_working(kit, total))
            }
        }
        [formula, phase, material, "cup"] => {
            let part = kit.parts.iter().find(|part| part.formula == *formula)?;
            let phase = part.phases.iter().find(|known| known.key == *phase)?;
            let cup = phase.cups.iter().find(|cup| cup.material.id == *material)?;
            let working = Working::new()
                .text("as on the weighing sheet of ")
                .text(part.title.clone())
                .text(" for ")
                .value(weight(part.batch, part.decimals));
            (weight(cup.mass, part.decimals), working)
        }
        _ => return None,
    };
    Some(Figure { address, value, working })
}

fn total_working(kit: &Kit, total: &KitTotal) -> Working {
    let decimals = total.decimals;
    let weight = |mass| Value::Mass { mass, decimals };
    let mut working = Working::new().value(Value::Number(kit.tables)).text(" × ");
    if total.dosed > Mass::ZERO && kit.dose_reserve.value() > Decimal::ZERO {
        working = working.text("(").value(weight(total.cup)).text(" + ").value(Value::Percent(kit.dose_reserve));
        working = working.text(" of ").value(weight(total.dosed)).text(" that is dosed to effect)");
    } else {
        working = working.value(weight(total.cup));
    }
    if kit.overage.value() > Decimal::ZERO {
        let factor = Decimal::ONE + kit.overage.value() / Decimal::ONE_HUNDRED;
        working = working.text(" × ").value(Value::Number(factor));
    }
    if total.exact != total.total {
        let exact = show::plain(total.exact.grams());
        working = working.text(format!(" = {exact}\u{a0}g, rounded to the balance"));
    }
    working
}
