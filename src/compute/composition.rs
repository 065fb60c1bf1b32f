//! What is really in the bottle: the formula in substances, with ranges.

pub(crate) use crate::material::WATER;
use crate::material::{Component, Material};
use crate::model::{Formula, Line};
use crate::quantity::{Decimal, Range};
use std::collections::BTreeMap;

/// Substances by INCI name, % of the product.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Composition {
    /// Share of each substance.
    pub substances: BTreeMap<String, Range>,
    /// What the entries of the raw materials do not name: moisture, by-products and the like. Together with the substances it is 100.
    pub unnamed: Range,
    /// What oils and scents are made of in their turn, as far as it is known, % of the product. It is part of the substances, not beside them.
    pub constituents: BTreeMap<String, Range>,
    /// Lines whose material's composition is not known in full, by the id written. Their substances are missing above.
    pub unknown: Vec<String>,
}

/// The substances of a formula whose lines have these shares (in % of the product, in the order of the lines).
///
/// Share of a substance = Σ line % × share in the material ÷ 100, end by end.
pub fn composition_of(formula: &Formula, percents: &[Decimal]) -> Composition {
    let mut composition = Composition::default();
    for (line, percent) in formula.lines().zip(percents) {
        let mut known = !line.material.contains.is_empty();
        for (component, share) in components_of_line(line) {
            match share {
                Some(share) => {
                    let part = share.times(*percent).divided_by(Decimal::ONE_HUNDRED);
                    let entry = composition.substances.entry(component.inci.clone()).or_default();
                    *entry = *entry + part;
                }
                None => known = false,
            }
        }
        for constituent in &line.material.constituents {
            let Some(share) = constituent.percent.range() else { continue };
            let entry = composition.constituents.entry(constituent.inci.clone()).or_default();
            *entry = *entry + share.times(*percent).divided_by(Decimal::ONE_HUNDRED);
        }
        if known {
            let rest = rest_of_line(line).times(*percent).divided_by(Decimal::ONE_HUNDRED);
            composition.unnamed = composition.unnamed + rest;
        } else {
            composition.unknown.push(line.written.clone());
        }
    }
    composition
}

impl Composition {
    /// A substance by itself and in the oils and scents that hold it, % of the product; nothing where it is nowhere.
    pub fn anywhere(&self, inci: &str) -> Option<Range> {
        let places = [self.substances.get(inci), self.constituents.get(inci)];
        places.into_iter().flatten().copied().reduce(|sum, share| sum + share)
    }
}

/// Water in the product from all sources, % of the product.
pub fn water_of(composition: &Composition) -> Range {
    composition.substances.get(WATER).copied().unwrap_or_default()
}

/// Water and what is nearly all water: plant waters and plant juices, which bring germs besides, % of the product. Their INCI
/// names end in "Water" and "Juice" (common practice of INCI naming, no source).
pub fn watery_of(composition: &Composition) -> Range {
    let watery = |inci: &str| inci == WATER || inci.ends_with(" Water") || inci.ends_with(" Juice");
    composition.substances.iter().filter(|(inci, _)| watery(inci)).map(|(_, share)| *share).sum()
}

/// The components of a line's material, with this lot's strength put in the place of the catalogue's.
pub fn components_of_line(line: &Line) -> Vec<(&Component, Option<Range>)> {
    parts_of_line(line).components
}

/// What the entry of a line's material does not name, % of the material: its remainder, and what a lot's strength leaves open.
fn rest_of_line(line: &Line) -> Range {
    parts_of_line(line).rest
}

/// A material taken apart: its components and what is not named.
struct Parts<'m> {
    components: Vec<(&'m Component, Option<Range>)>,
    rest: Range,
}

fn parts_of_line(line: &Line) -> Parts<'_> {
    let material = &line.material;
    let usual = |component: &Component| component.percent.range();
    let rest = material.remainder.as_ref().and_then(|fact| fact.range()).unwrap_or_default();
    let as_usual = || Parts {
        components: bounded(rest, material.contains.iter().map(|component| (component, usual(component))).collect()),
        rest,
    };
    let Some(strength) = line.strength else { return as_usual() };
    let is_counted: Vec<bool> = material.contains.iter().map(|component| is_counted(material, component)).collect();
    let typical = |component: &Component| usual(component).map(|range| range.typical);
    let sum: Option<Decimal> = material
        .contains
        .iter()
        .zip(&is_counted)
        .filter(|(_, counted)| **counted)
        .map(|(component, _)| typical(component))
        .sum();
    let Some(sum) = sum.filter(|sum| *sum > Decimal::ZERO) else { return as_usual() };
    // More active in this lot means less of the carrier, which is water where there is enough: its highest belongs to the lowest
    // strength and the other way round. Without water all the rest shrinks or grows alike.
    let change = strength.typical - sum;
    let (weaker, stronger) = (strength.typical - strength.low, strength.high - strength.typical);
    let water: Decimal = material.contains.iter().filter(|part| part.inci == WATER).filter_map(typical).sum();
    let by_water = water > Decimal::ZERO && change <= water;
    let carrier = |range: Range| {
        let others = Decimal::ONE_HUNDRED - sum;
        let scaled = |end: Decimal, strength: Decimal| {
            (end * (Decimal::ONE_HUNDRED - strength)).checked_div(others).unwrap_or_default().max(Decimal::ZERO)
        };
        Range {
            low: scaled(range.low, strength.high),
            typical: scaled(range.typical, strength.typical),
            high: scaled(range.high, strength.low),
        }
    };
    let components = material
        .contains
        .iter()
        .zip(&is_counted)
        .map(|(component, counted)| {
            if *counted {
                let part = typical(component).unwrap_or_default();
                return (component, Some(strength.times(part).divided_by(sum)));
            }
            let range = usual(component);
            match range {
                Some(range) if !by_water => (component, Some(carrier(range))),
                Some(range) if component.inci == WATER => {
                    let water = shifted(range, -change);
                    let low = (water.low - stronger).max(Decimal::ZERO);
                    (component, Some(Range { low, high: water.high + weaker, ..water }))
                }
                range => (component, range),
            }
        })
        .collect();
    // A material that is usually pure says nothing of what else a weaker lot holds.
    let rest = match (by_water, sum >= Decimal::ONE_HUNDRED) {
        (true, _) => rest,
        (false, false) => carrier(rest),
        (false, true) => Range::new(
            Decimal::ONE_HUNDRED - strength.high,
            Decimal::ONE_HUNDRED - strength.low,
            Some(Decimal::ONE_HUNDRED - strength.typical),
        ),
    };
    Parts { components: bounded(rest, components), rest }
}

/// Narrows the water of a material to what the other parts leave: all parts together are 100 %.
///
/// Lowest water = 100 − highest others, highest water = 100 − lowest others, where that is narrower than the water's own range.
fn bounded(rest: Range, mut components: Vec<(&Component, Option<Range>)>) -> Vec<(&Component, Option<Range>)> {
    let others: Option<Range> =
        components.iter().filter(|(component, _)| component.inci != WATER).map(|(_, share)| *share).sum();
    let Some(others) = others.map(|others| others + rest) else { return components };
    for (_, share) in components.iter_mut().filter(|(component, _)| component.inci == WATER) {
        if let Some(range) = share {
            let low = range.low.max(Decimal::ONE_HUNDRED - others.high).min(range.typical);
            let high = range.high.min(Decimal::ONE_HUNDRED - others.low).max(range.typical);
            *range = Range { low, typical: range.typical, high };
        }
    }
    components
}

fn shifted(range: Range, by: Decimal) -> Range {
    let at_least_zero = |value: Decimal| (value + by).max(Decimal::ZERO);
    Range { low: at_least_zero(range.low), typical: at_least_zero(range.typical), high: at_least_zero(range.high) }
}

/// Whether a component is what the material's strength counts: the surfactants, or the substance that the strength names.
pub(crate) fn is_counted(material: &Material, component: &Component) -> bool {
    match material.strength.as_ref().and_then(|strength| strength.of.as_deref()) {
        Some(of) if of != "active matter" => component.inci == of,
        _ => component.surfactant.is_some(),
    }
}

/// Whether a strength can be put on a material at all: something in it is counted.
pub fn has_strength(material: &Material) -> bool {
    material.contains.iter().any(|component| is_counted(material, component) && component.percent.range().is_some())
}

/// The substance that a material's strength counts, other than surfactant, and its share of the material on this line.
pub(crate) fn counted_share(line: &Line) -> Option<(&str, Range)> {
    let of = line.material.strength.as_ref()?.of.as_deref().filter(|of| *of != "active matter")?;
    let share = components_of_line(line).into_iter().find(|(component, _)| component.inci == of)?.1?;
    Some((of, share))
}

/// What a material's strength usually is, % of it: the stated one, or the sum of what is counted.
pub fn usual_strength(material: &Material) -> Option<Range> {
    if let Some(range) = material.strength.as_ref().and_then(|strength| strength.range()) {
        return Some(range);
    }
    material
        .contains
        .iter()
        .filter(|component| is_counted(material, component))
        .map(|component| component.percent.range())
        .sum()
}

/// Several substances added up, % of the product.
pub fn percent_of_substances(composition: &Composition, incis: &[&str]) -> Range {
    incis.iter().filter_map(|inci| composition.substances.get(*inci)).copied().sum()
}
