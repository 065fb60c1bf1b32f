//! A method as its template sees it.

use super::super::context::{NumberContext, number_context};
use super::super::text::kept_together;
use crate::block::Share;
use crate::compute::{Added, WeighedMethod, WeighedStep};
use crate::quantity::show;
use serde::Serialize;

/// The part of the context `b` that belongs to a method.
#[derive(Debug, Serialize)]
pub(super) struct MethodContext {
    formula: String,
    href: String,
    batch: String,
    version: String,
    check: String,
    steps: Vec<StepContext>,
}

#[derive(Debug, Serialize)]
struct StepContext {
    number: usize,
    #[serde(rename = "do")]
    words: String,
    vessel: String,
    at: String,
    /// The vessel's temperature in °C by which heat is judged, also where an earlier step states it; or empty.
    celsius: String,
    stir: String,
    time: String,
    until: String,
    added: Vec<AddedContext>,
    poured: Vec<PouredContext>,
    holds: NumberContext,
    with_tare: Option<NumberContext>,
    tare: String,
    is_changed: bool,
    top_up: String,
}

#[derive(Debug, Serialize)]
struct AddedContext {
    material: String,
    /// The line of the formula, counted from zero.
    line: usize,
    /// How much of it: "80 %", "2 g" or "rest"; empty for all of it.
    share: String,
    name: String,
    weight: NumberContext,
    part: bool,
    effect: String,
}

#[derive(Debug, Serialize)]
struct PouredContext {
    vessel: String,
    weight: NumberContext,
}

pub(super) fn context(method: &WeighedMethod, id: &str, href_of: &dyn Fn(&str) -> String) -> MethodContext {
    MethodContext {
        formula: method.formula.clone(),
        href: href_of(&method.formula),
        batch: show::mass_in(method.batch, crate::quantity::MassUnit::Gram, method.decimals),
        version: method.version.clone().unwrap_or_default(),
        check: method.check.clone(),
        steps: method.steps.iter().enumerate().map(|(index, step)| step_context(method, id, index, step)).collect(),
    }
}

fn step_context(method: &WeighedMethod, id: &str, index: usize, weighed: &WeighedStep) -> StepContext {
    let step = &weighed.step;
    let name = |vessel: usize| {
        method.vessels.get(vessel).and_then(|vessel| vessel.name.as_deref()).unwrap_or_default().to_owned()
    };
    let text = |text: &Option<String>| text.as_deref().map(kept_together).unwrap_or_default().into_owned();
    let tare = method.vessels.get(step.vessel).and_then(|vessel| vessel.tare);
    StepContext {
        number: index + 1,
        words: kept_together(&step.words).into_owned(),
        vessel: name(step.vessel),
        at: step.at.as_ref().map_or_else(String::new, |at| at.value.text.clone()),
        celsius: weighed.held.map_or_else(String::new, |held| held.temperature.celsius().normalize().to_string()),
        stir: text(&step.stir),
        time: text(&step.time),
        until: text(&step.until),
        added: weighed
            .added
            .iter()
            .zip(&step.portions)
            .map(|(added, portion)| added_context(method, id, index, added, share_text(portion.share)))
            .collect(),
        poured: weighed
            .poured
            .iter()
            .map(|poured| {
                // What was poured in is what the other vessel held after the last step that was done in it.
                let before = method.steps.iter().enumerate().take(index);
                let last = before.rev().find(|(_, step)| step.step.vessel == poured.vessel);
                let figure = last.map(|(index, step)| method.vessel_figure(id, index, step));
                let mut weight = figure.as_ref().map(|figure| shown(figure, id));
                if let Some(weight) = &mut weight {
                    weight.working = String::new();
                }
                (poured, weight)
            })
            .filter_map(|(poured, weight)| Some(PouredContext { vessel: name(poured.vessel), weight: weight? }))
            .collect(),
        holds: shown(&method.vessel_figure(id, index, weighed), id),
        with_tare: method.tare_figure(id, index, weighed).map(|figure| shown(&figure, id)),
        tare: tare.map(show::grams).unwrap_or_default(),
        is_changed: !weighed.added.is_empty() || !weighed.poured.is_empty(),
        top_up: step.top_up.clone().unwrap_or_default(),
    }
}

/// How much of a line goes in, with the digits it was written with.
fn share_text(share: Share) -> String {
    match share {
        Share::Whole => String::new(),
        Share::Rest => "rest".to_owned(),
        Share::Percent(percent) => format!("{} %", percent.value()),
        Share::Weight(mass) => format!("{} g", mass.grams()),
    }
}

fn added_context(method: &WeighedMethod, id: &str, index: usize, added: &Added, share: String) -> AddedContext {
    let mut weight = shown(&method.added_figure(id, index, added), id);
    // The sheet shows how the weight is reached.
    weight.working = String::new();
    AddedContext {
        material: added.written.clone(),
        line: added.line,
        share,
        name: kept_together(&added.name).into_owned(),
        weight,
        part: added.is_part,
        effect: added
            .effect
            .as_ref()
            .map_or_else(String::new, |to| format!("dose to {to}: begin with half, measure, go on")),
    }
}

/// A figure; a method without an id has no addresses.
fn shown(figure: &crate::compute::Figure, id: &str) -> NumberContext {
    let mut number = number_context(figure, None, None);
    if id.is_empty() {
        number.address = String::new();
    }
    number
}
