//! A kit as its template sees it.

use super::super::context::{NumberContext, number_context};
use super::super::text::kept_together;
use crate::compute::Kit;
use crate::quantity::{Decimal, Mass, MassUnit, show};
use serde::Serialize;

/// The part of the context `b` that belongs to a kit.
#[derive(Debug, Serialize)]
pub(super) struct KitContext {
    tables: NumberContext,
    cups: NumberContext,
    overage: String,
    dose_reserve: String,
    parts: Vec<PartContext>,
    totals: Vec<TotalContext>,
    table: NumberContext,
    total: NumberContext,
}

/// What a table makes.
#[derive(Debug, Serialize)]
struct PartContext {
    formula: String,
    title: String,
    href: String,
    batch: String,
    check: String,
    phases: Vec<PhaseContext>,
}

#[derive(Debug, Serialize)]
struct PhaseContext {
    key: String,
    title: String,
    hold: String,
    cups: Vec<CupContext>,
}

#[derive(Debug, Serialize)]
struct CupContext {
    name: String,
    weight: NumberContext,
    effect: String,
    lot: String,
    note: String,
}

/// What all tables need of a raw material.
#[derive(Debug, Serialize)]
struct TotalContext {
    id: String,
    name: String,
    cups: usize,
    cup: NumberContext,
    total: NumberContext,
    dosed: bool,
}

pub(super) fn context(kit: &Kit, id: &str, href_of: &dyn Fn(&str) -> String) -> KitContext {
    let number = |path: &[&str]| match kit.look_up(id, path) {
        Some(Ok(figure)) => number_context(&figure, None, None),
        _ => NumberContext::empty(),
    };
    let on_top = |share: Decimal| if share.is_zero() { String::new() } else { show::percent(share) };
    let parts = kit.parts.iter().map(|part| PartContext {
        formula: part.formula.clone(),
        title: part.title.clone(),
        href: href_of(&part.formula),
        batch: show::mass_in(part.batch, MassUnit::Gram, part.decimals),
        check: part.check.clone(),
        phases: part
            .phases
            .iter()
            .map(|phase| PhaseContext {
                key: phase.key.clone(),
                title: phase.title.clone(),
                hold: phase.hold.map_or_else(String::new, show::celsius),
                cups: phase
                    .cups
                    .iter()
                    .map(|cup| CupContext {
                        name: kept_together(&cup.material.name).into_owned(),
                        weight: number(&[&part.formula, &phase.key, &cup.material.id, "cup"]),
                        effect: cup
                            .effect
                            .as_ref()
                            .map_or_else(String::new, |to| format!("dose to {to}: begin with half, measure, go on")),
                        lot: cup.lot.clone().unwrap_or_default(),
                        note: cup.note.clone().unwrap_or_default(),
                    })
                    .collect(),
            })
            .collect(),
    });
    let totals = kit.totals.iter().map(|total| TotalContext {
        id: total.material.id.clone(),
        name: kept_together(&total.material.name).into_owned(),
        cups: total.cups,
        cup: number(&[&total.material.id, "cup"]),
        total: number(&[&total.material.id, "total"]),
        dosed: total.dosed > Mass::ZERO,
    });
    KitContext {
        tables: number(&["tables"]),
        cups: number(&["cups"]),
        overage: on_top(kit.overage.value()),
        dose_reserve: on_top(kit.dose_reserve.value()),
        parts: parts.collect(),
        totals: totals.collect(),
        table: number(&["table"]),
        total: number(&["total"]),
    }
}
