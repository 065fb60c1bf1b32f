//! A buffer as its template sees it.

use super::super::context::{NumberContext, number_context};
use crate::compute::{Buffer, BufferLine, Value};
use crate::material::IonTable;
use crate::quantity::{MassUnit, show};
use serde::Serialize;

/// The part of the context `b` that belongs to a buffer.
#[derive(Debug, Serialize)]
pub(super) struct BufferContext {
    size: String,
    size_of: &'static str,
    lines: Vec<LineContext>,
    figures: Vec<StateContext>,
    dose: Option<DoseContext>,
    acids: Vec<AcidContext>,
    pkw: String,
    pkw_source: String,
    activity_source: String,
}

#[derive(Debug, Serialize)]
struct LineContext {
    name: String,
    written: String,
    amount: String,
    weight: String,
    strength: String,
    solutes: Vec<String>,
}

/// pH, ionic strength and capacity.
#[derive(Debug, Serialize)]
struct StateContext {
    title: &'static str,
    ph: Option<NumberContext>,
    ionic_strength: Option<NumberContext>,
    capacity: Option<NumberContext>,
}

#[derive(Debug, Serialize)]
struct DoseContext {
    line: LineContext,
    weight: Option<NumberContext>,
    amount: Option<NumberContext>,
}

#[derive(Debug, Serialize)]
struct AcidContext {
    name: String,
    pka: String,
    source: String,
}

pub(super) fn context(buffer: &Buffer, id: &str) -> BufferContext {
    let figure = |path: &[&str]| buffer.figure(id, path).map(|figure| number_context(&figure, None, None));
    let mut figures = vec![StateContext {
        title: "as written",
        ph: figure(&["ph"]),
        ionic_strength: figure(&["ionic-strength"]),
        capacity: figure(&["capacity"]),
    }];
    if buffer.dose.is_some() {
        figures.push(StateContext {
            title: "with the dose",
            ph: figure(&["target", "ph"]),
            ionic_strength: figure(&["target", "ionic-strength"]),
            capacity: figure(&["target", "capacity"]),
        });
    }
    let constants = &IonTable::built_in().constants;
    BufferContext {
        size: super::super::text::kept_together(&buffer.size).into_owned(),
        size_of: buffer.size_of,
        lines: buffer.lines.iter().map(line).collect(),
        figures,
        dose: buffer.dose.as_ref().map(|dose| DoseContext {
            line: line(&dose.line),
            weight: figure(&["dose"]),
            amount: figure(&["dose", "amount"]),
        }),
        acids: buffer
            .acids
            .iter()
            .map(|acid| AcidContext {
                name: acid.name.clone(),
                pka: acid.pka.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
                source: acid.source.clone(),
            })
            .collect(),
        pkw: constants.pkw.to_string(),
        pkw_source: constants.pkw_source.clone(),
        activity_source: constants.davies_source.clone(),
    }
}

fn line(line: &BufferLine) -> LineContext {
    let grams = line.mass.grams();
    let amount = |value| {
        super::super::text::value_text(&Value::Quantity { value, decimals: show::decimals_for(value, 4), unit: "mmol" })
    };
    LineContext {
        name: line.name.clone(),
        written: line.written.clone(),
        amount: line.text.clone(),
        weight: show::mass_in(line.mass, MassUnit::Gram, show::decimals_for(grams, 4)),
        strength: line.strength.map(|strength| show::percent(strength.value())).unwrap_or_default(),
        solutes: line
            .solutes
            .iter()
            .map(
                |(name, value)| {
                    if line.solutes.len() == 1 { amount(*value) } else { format!("{} {name}", amount(*value)) }
                },
            )
            .collect(),
    }
}
