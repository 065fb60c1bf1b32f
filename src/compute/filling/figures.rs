//! The figures of a filling, each with its working.

use super::super::dilution::Amounts;
use super::super::{Figure, Value, Working};
use super::Filling;
use crate::quantity::{Decimal, Mass, MassUnit, Percent, show};

/// Every address that a filling may have.
pub(super) const ADDRESSES: [&str; 19] = [
    "content",
    "content/weight",
    "content/volume",
    "fill",
    "fill/weight",
    "fill/volume",
    "gross",
    "packs",
    "left-over",
    "left-over/weight",
    "left-over/volume",
    "tolerable-error",
    "least",
    "least/weight",
    "lowest",
    "lowest/weight",
    "headspace",
    "label/metric",
    "label/us",
];

/// Where the tolerable error comes from.
const DIRECTIVE: &str = "Council Directive 76/211/EEC, Annex I, 2.4";

pub(super) fn figure(filling: &Filling, id: &str, path: &[&str]) -> Option<Figure> {
    let address = std::iter::once(id).chain(path.iter().copied()).collect::<Vec<_>>().join("/");
    let (whole, measure) = match path {
        ["label", _] => (path, None),
        [rest @ .., measure @ ("weight" | "volume")] => (rest, Some(*measure == "weight")),
        _ => (path, None),
    };
    let (value, working) = match whole {
        ["content"] => {
            let content = filling.amounts(filling.nominal());
            (amount(filling, content, measure, false)?, by_density(filling, Working::new().text("as declared"), measure))
        }
        ["fill"] => (fill(filling, measure)?, working_of_fill(filling, measure)),
        ["gross"] if measure.is_none() => {
            let decimals = filling.readability.grams().normalize().scale();
            let tare = exact(filling.tare?);
            let gross = Value::Mass { mass: filling.gross()?, decimals: decimals.max(decimals_of(filling.tare?)) };
            (gross, Working::new().value(fill(filling, Some(true))?).text(" + ").value(tare).text(" of the empty pack"))
        }
        ["packs"] if measure.is_none() => (Value::Number(filling.packs()), working_of_packs(filling)?),
        ["left-over"] => (
            amount(filling, filling.left_over(), measure, false)?,
            Working::new().text("what can be filled less the full packs; less than one pack"),
        ),
        ["tolerable-error"] if measure.is_none() => (
            in_content_unit(filling, filling.tolerable_error()?),
            Working::new().text("for a nominal quantity of ").value(nominal(filling)).source(DIRECTIVE),
        ),
        ["least"] => (amount(filling, filling.short_by(1)?, measure, true)?, working_of_short(filling, 1)?),
        ["lowest"] => (amount(filling, filling.short_by(2)?, measure, true)?, working_of_short(filling, 2)?),
        ["headspace"] if measure.is_none() => {
            let capacity = Value::Volume { volume: filling.capacity?, text: volume_text(filling.capacity?.millilitres()) };
            let share = filling.headspace()?;
            let working = Working::new()
                .text("(")
                .value(capacity.clone())
                .text(" − ")
                .value(fill(filling, Some(false))?)
                .text(") ÷ ")
                .value(capacity);
            (Value::Percent(Percent::new(crate::quantity::round_half_even(share, 1).normalize())), working)
        }
        ["label", "metric"] => (Value::Text(filling.metric_label()), Working::new().text("as declared")),
        ["label", "us"] => (
            Value::Text(filling.us_label()),
            Working::new().text("US units with three digits, rounded down so that they do not promise more; then metric").source(
                "21 CFR 701.13; 16 CFR 500.8; rounding from memory: NIST Handbook 130, Uniform Packaging and Labeling Regulation",
            ),
        ),
        _ => return None,
    };
    Some(Figure { address, value, working })
}

/// Decimals of a mass, at most those that a balance shows: a weight in ounces has no end of them.
fn decimals_of(mass: Mass) -> u32 {
    mass.grams().normalize().scale().min(4)
}

fn exact(mass: Mass) -> Value {
    Value::Mass { mass, decimals: decimals_of(mass) }
}

fn volume_text(millilitres: Decimal) -> String {
    show::quantity_to(millilitres, show::decimals_for(millilitres, 4), "ml")
}

fn in_content_unit(filling: &Filling, number: Decimal) -> Value {
    let unit = if filling.is_by_volume() { "ml" } else { MassUnit::Gram.symbol() };
    Value::Quantity { value: number, decimals: show::decimals_for(number, 4), unit }
}

fn nominal(filling: &Filling) -> Value {
    in_content_unit(filling, filling.nominal())
}

/// An amount by weight (true), by volume, or as the content is declared. A bound is not rounded to the balance.
fn amount(filling: &Filling, amounts: Amounts, by_weight: Option<bool>, is_bound: bool) -> Option<Value> {
    let by_weight = by_weight.unwrap_or(!filling.is_by_volume());
    if by_weight {
        let mass = amounts.mass?;
        let decimals = decimals_of(filling.readability) + u32::from(is_bound);
        return Some(Value::Mass { mass, decimals });
    }
    let millilitres = amounts.volume?.millilitres();
    Some(Value::Quantity { value: millilitres, decimals: show::decimals_for(millilitres, 4), unit: "ml" })
}

/// What is filled: by weight as the balance shows it, rounded up.
fn fill(filling: &Filling, by_weight: Option<bool>) -> Option<Value> {
    if by_weight.unwrap_or(filling.fill().mass.is_some()) {
        return Some(Value::Mass { mass: filling.fill_weighed()?, decimals: decimals_of(filling.readability) });
    }
    amount(filling, filling.fill(), Some(false), false)
}

/// Goes on with the density where the figure is not in the unit of the content.
fn by_density(filling: &Filling, working: Working, by_weight: Option<bool>) -> Working {
    let Some((density, by_weight)) = filling.density.zip(by_weight) else { return working };
    if by_weight != filling.is_by_volume() {
        return working;
    }
    let working = working.text(if by_weight { " × " } else { " ÷ " }).value(Value::Density(density));
    match filling.density_at {
        Some(temperature) => working.text(format!(" at {}", show::celsius(temperature))),
        None => working,
    }
}

fn working_of_fill(filling: &Filling, by_weight: Option<bool>) -> Working {
    let by_weight = by_weight.unwrap_or(filling.fill().mass.is_some());
    let mut working = Working::new().value(nominal(filling));
    if !filling.overfill.value().is_zero() {
        working = working.text(" + ").value(Value::Percent(filling.overfill)).text(" on top");
    }
    let working = by_density(filling, working, Some(by_weight));
    match filling.fill().mass.filter(|_| by_weight) {
        Some(mass) => {
            let decimals = decimals_of(mass).min(decimals_of(filling.readability) + 2);
            let exact = Value::Mass { mass, decimals };
            working
                .text(" = ")
                .value(exact)
                .text("; rounded up to what the balance shows, so that no pack is short by it")
        }
        None => working,
    }
}

fn working_of_packs(filling: &Filling) -> Option<Working> {
    let bulk = amount(filling, filling.bulk, Some(filling.fill().mass.is_some()), false)?;
    let mut working = Working::new().value(bulk);
    if !filling.left_behind.value().is_zero() {
        working = working.text(" − ").value(Value::Percent(filling.left_behind)).text(" that stay behind");
    }
    let each = match fill(filling, None)? {
        weighed @ Value::Mass { .. } => weighed,
        _ => in_content_unit(filling, filling.fill_in_content_unit()),
    };
    Some(working.text(", ÷ ").value(each).text(" in each, full packs only"))
}

fn working_of_short(filling: &Filling, errors: i64) -> Option<Working> {
    let error = in_content_unit(filling, filling.tolerable_error()?);
    let times = if errors == 1 { " − " } else { " − 2 × " };
    let working = Working::new().value(nominal(filling)).text(times).value(error);
    let source = if errors == 1 {
        "Council Directive 76/211/EEC, Annex I, 1.2: few packs may be shorter; Fertigpackungsverordnung § 9: at most 2 %"
    } else {
        "Council Directive 76/211/EEC, Annex I, 1.3: no pack may be shorter"
    };
    Some(working.source(source))
}
