//! An excerpt as its template sees it.

use super::super::context::{FindingContext, finding_context};
use super::super::text::{figure_text, kept_together};
use crate::block::Column;
use crate::compute::{self, Computed, Excerpt, ExcerptPart, WeighedMethod};
use crate::quantity::{MassUnit, show};
use serde::Serialize;

/// The part of the context `b` that belongs to an excerpt.
#[derive(Debug, Serialize)]
pub(super) struct ExcerptContext {
    of: String,
    href: String,
    title: String,
    batch: String,
    version: String,
    check: String,
    blank: Columns,
    without: Columns,
    columns: usize,
    is_whole: bool,
    phases: Vec<PhaseContext>,
    total: Option<TotalContext>,
    first_step: usize,
    steps: Vec<StepContext>,
    cautions: Vec<FindingContext>,
}

#[derive(Debug, Serialize)]
struct Columns {
    inci: bool,
    percent: bool,
    weight: bool,
    notes: bool,
}

#[derive(Debug, Serialize)]
struct PhaseContext {
    key: String,
    title: String,
    hold: String,
    note: String,
    percent: String,
    weight: String,
    lines: Vec<LineContext>,
}

#[derive(Debug, Serialize)]
struct LineContext {
    name: String,
    inci: String,
    percent: String,
    weight: String,
    effect: String,
    notes: Vec<String>,
}

#[derive(Debug, Serialize)]
struct TotalContext {
    percent: String,
    weight: String,
}

#[derive(Debug, Serialize)]
struct StepContext {
    number: usize,
    #[serde(rename = "do")]
    words: String,
    vessel: String,
    how: Vec<String>,
    added: Vec<AddedContext>,
    poured: Vec<AddedContext>,
    holds: String,
}

#[derive(Debug, Serialize)]
struct AddedContext {
    name: String,
    weight: String,
    effect: String,
}

pub(super) fn context(excerpt: &Excerpt, href_of: &dyn Fn(&str) -> String) -> ExcerptContext {
    let columns = |chosen: &[Column]| Columns {
        inci: chosen.contains(&Column::Inci),
        percent: chosen.contains(&Column::Percent),
        weight: chosen.contains(&Column::Weight),
        notes: chosen.contains(&Column::Notes),
    };
    let start = ExcerptContext {
        of: excerpt.of.clone(),
        href: href_of(&excerpt.of),
        title: excerpt.of.clone(),
        batch: String::new(),
        version: String::new(),
        check: String::new(),
        blank: columns(&excerpt.blank),
        without: columns(&excerpt.without),
        columns: 1 + [Column::Inci, Column::Percent, Column::Weight]
            .iter()
            .filter(|one| !excerpt.without.contains(one))
            .count(),
        is_whole: true,
        phases: Vec::new(),
        total: None,
        first_step: 1,
        steps: Vec::new(),
        cautions: excerpt.cautions.iter().map(|finding| finding_context(finding, None)).collect(),
    };
    match &excerpt.part {
        ExcerptPart::Formula { computed, phase } => of_formula(start, computed, *phase),
        ExcerptPart::Method { method, step } => of_method(start, method, *step),
    }
}

fn of_formula(start: ExcerptContext, computed: &Computed, phase: Option<usize>) -> ExcerptContext {
    let formula = &computed.formula;
    let is_whole = phase.is_none();
    ExcerptContext {
        title: formula.title.clone().unwrap_or_else(|| formula.id.clone()),
        batch: figure_text(&compute::batch_figure(computed, &computed.sheet)),
        version: formula.version.clone().unwrap_or_default(),
        check: computed.check.clone(),
        is_whole,
        phases: Excerpt::phases(computed, phase)
            .into_iter()
            .map(|(first, one)| phase_context(computed, first, one))
            .collect(),
        total: is_whole.then(|| TotalContext {
            percent: share(figure_text(&compute::total_percent_figure(computed))),
            weight: figure_text(&compute::total_weight_figure(computed, &computed.sheet)),
        }),
        ..start
    }
}

/// A share for the column headed "% w/w": without the sign.
fn share(text: String) -> String {
    text.trim_end_matches('%').trim_end().to_owned()
}

fn phase_context(computed: &Computed, first: usize, phase: &crate::model::Phase) -> PhaseContext {
    let sheet = &computed.sheet;
    let lines = phase.lines.iter().enumerate().map(|(offset, line)| {
        let lot = line.lot.as_ref().map(|lot| format!("lot {lot}"));
        let strength = line.strength.map(|strength| {
            let decimals = strength.low.scale().max(strength.high.scale());
            format!("{}, this lot", show::percent_range(strength, decimals))
        });
        LineContext {
            name: kept_together(&line.material.name).into_owned(),
            inci: line.material.inci_names().join(", "),
            percent: share(figure_text(&compute::line_percent_figure(computed, line))),
            weight: figure_text(&compute::line_weight_figure(computed, sheet, first + offset, line)),
            effect: effect(line.effect.as_ref()),
            notes: [strength, lot, line.note.clone()].into_iter().flatten().collect(),
        }
    });
    PhaseContext {
        key: phase.key.clone(),
        title: phase.title.clone().unwrap_or_default(),
        hold: phase.hold.as_ref().map_or_else(String::new, |(hold, _)| show::celsius(*hold)),
        note: phase.note.as_deref().map(kept_together).unwrap_or_default().into_owned(),
        percent: share(figure_text(&compute::phase_percent_figure(computed, phase))),
        weight: figure_text(&compute::phase_weight_figure(computed, sheet, first, phase)),
        lines: lines.collect(),
    }
}

fn effect(to: Option<&String>) -> String {
    to.map_or_else(String::new, |to| format!("dose to {to}: begin with half, measure, go on"))
}

fn of_method(start: ExcerptContext, method: &WeighedMethod, step: Option<usize>) -> ExcerptContext {
    let steps = method.steps.iter().enumerate().filter(|(index, _)| step.is_none_or(|only| only == *index));
    let grams = |mass| show::mass_in(mass, MassUnit::Gram, method.decimals);
    let vessel = |index: usize| method.vessels.get(index).and_then(|vessel| vessel.name.clone()).unwrap_or_default();
    let steps = steps.map(|(index, weighed)| {
        let step = &weighed.step;
        let timed =
            |word: &str, text: &Option<String>| text.as_ref().map(|text| format!("{word} {}", kept_together(text)));
        let at = step.at.as_ref().map(|at| match at.value.text.starts_with("below") {
            true => at.value.text.clone(),
            false => format!("at {}", at.value.text),
        });
        StepContext {
            number: index + 1,
            words: kept_together(&step.words).into_owned(),
            vessel: vessel(step.vessel),
            how: [at, timed("stir", &step.stir), timed("for", &step.time), timed("until", &step.until)]
                .into_iter()
                .flatten()
                .collect(),
            added: weighed
                .added
                .iter()
                .map(|added| AddedContext {
                    name: kept_together(&added.name).into_owned(),
                    weight: grams(added.weight),
                    effect: effect(added.effect.as_ref()),
                })
                .collect(),
            poured: weighed
                .poured
                .iter()
                .map(|poured| AddedContext {
                    name: format!("from the {}", vessel(poured.vessel)),
                    weight: grams(poured.weight),
                    effect: String::new(),
                })
                .collect(),
            holds: grams(weighed.holds),
        }
    });
    ExcerptContext {
        title: method.formula.clone(),
        batch: grams(method.batch),
        version: method.version.clone().unwrap_or_default(),
        check: method.check.clone(),
        is_whole: step.is_none(),
        first_step: step.map_or(1, |step| step + 1),
        steps: steps.collect(),
        ..start
    }
}
