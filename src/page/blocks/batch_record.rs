//! A batch record as its template sees it, filled in or to be filled in by hand.

use super::super::context::{Hrefs, NumberContext, number_context};
use super::super::text::kept_together;
use crate::block::{CheckBlock, LossKind, PhReading, ReadingOf};
use crate::compute::{self, BatchRecord, Computed, LotPart, RecordLine, Stage, ends_of};
use crate::quantity::{Date, Decimal, Mass, MassUnit, Ph, show};
use serde::Serialize;

/// The part of the context `b` that belongs to a batch record.
#[derive(Debug, Serialize)]
pub(super) struct RecordContext {
    formula: String,
    href: String,
    title: String,
    version: String,
    made_by: String,
    check: String,
    blank: bool,
    date: String,
    operator: String,
    batch_number: String,
    equipment: Vec<String>,
    cleaned: String,
    checks: Vec<CheckContext>,
    retained: String,
    release: Option<ReleaseContext>,
    batch: NumberContext,
    tolerance: String,
    tolerance_source: &'static str,
    tare: String,
    specification: String,
    phases: Vec<PhaseContext>,
    planned: String,
    total: Option<NumberContext>,
    vessel: Vec<VesselContext>,
    evaporation: Option<NumberContext>,
    content: Option<NumberContext>,
    #[serde(rename = "yield")]
    filled: Option<NumberContext>,
    yield_percent: Option<NumberContext>,
    per_pack: Option<NumberContext>,
    packs: Option<NumberContext>,
    made: Vec<MadeContext>,
    declaration: Option<NumberContext>,
    readings: Vec<ReadingContext>,
    viscosity: Vec<ViscosityContext>,
    went_wrong: Vec<String>,
}

#[derive(Debug, Serialize)]
struct PhaseContext {
    key: String,
    title: String,
    hold: String,
    lines: Vec<LineContext>,
}

#[derive(Debug, Serialize)]
struct LineContext {
    key: String,
    name: String,
    lot: String,
    lot_href: String,
    /// Every lot with what was weighed of it, where there is more than one.
    lots: Vec<LotPartContext>,
    planned: NumberContext,
    weighed: Option<NumberContext>,
    as_planned: bool,
    deviation: Option<NumberContext>,
    percent: Option<NumberContext>,
    outside: bool,
    effect: String,
    per_hundred: Option<NumberContext>,
    note: String,
}

/// What was weighed of one of several lots; an empty number where it is not noted.
#[derive(Debug, Serialize)]
struct LotPartContext {
    number: String,
    href: String,
    weight: String,
}

/// A row of what happened in the vessel: it stood on the balance, or something left it or was put back, which is then all in `words`.
#[derive(Debug, Default, Serialize)]
struct VesselContext {
    words: String,
    note: String,
    gross: String,
    expected: String,
    content: Option<NumberContext>,
    missing: Option<NumberContext>,
    restores: Option<NumberContext>,
}

/// A figure of the product as it was made beside the planned one.
#[derive(Debug, Serialize)]
struct MadeContext {
    name: &'static str,
    n: NumberContext,
    planned: String,
}

#[derive(Debug, Serialize)]
struct ReadingContext {
    n: NumberContext,
    span: String,
    date: String,
    how: String,
    with: String,
    at: String,
    fits: &'static str,
}

#[derive(Debug, Serialize)]
struct ViscosityContext {
    value: String,
    how: String,
    date: String,
}

/// Something that was looked at; what is not said is empty.
#[derive(Debug, Serialize)]
struct CheckContext {
    what: String,
    wanted: String,
    found: String,
    /// "passed", "not passed" or empty.
    passed: &'static str,
    when: String,
    by: String,
}

/// What was decided about the batch.
#[derive(Debug, Serialize)]
struct ReleaseContext {
    decision: &'static str,
    by: String,
    date: String,
    why: String,
}

fn check_context(check: &CheckBlock) -> CheckContext {
    let words = |text: &Option<String>| text.as_deref().map(kept_together).unwrap_or_default().into_owned();
    CheckContext {
        what: kept_together(&check.what.value).into_owned(),
        wanted: words(&check.wanted),
        found: words(&check.found),
        passed: match check.passed {
            Some(true) => "passed",
            Some(false) => "not passed",
            None => "",
        },
        when: words(&check.when),
        by: words(&check.by),
    }
}

fn grams(mass: Mass, decimals: u32) -> String {
    let written = mass.grams().normalize().scale();
    show::mass_in(mass, MassUnit::Gram, if written <= 6 { written.max(decimals) } else { decimals })
}

pub(super) fn context(record: &BatchRecord, id: &str, hrefs: Hrefs<'_>) -> RecordContext {
    let figure =
        |path: &[&str]| record.look_up(id, path).and_then(Result::ok).map(|figure| number_context(&figure, None, None));
    let formula = &record.planned.formula;
    let decimals = record.planned.sheet.decimals();
    let account = record.account.as_ref().filter(|_| !record.is_blank);
    let date = |date: Option<Date>| date.map_or_else(String::new, |date| date.to_string());
    RecordContext {
        formula: record.formula.clone(),
        href: (hrefs.sheet)(&record.formula),
        title: record.title.clone(),
        version: record.version.clone().unwrap_or_default(),
        made_by: record.made_by.clone().filter(|made_by| record.version.as_ref() != Some(made_by)).unwrap_or_default(),
        check: record.planned.check.clone(),
        blank: record.is_blank,
        date: date(record.date),
        operator: record.operator.clone().unwrap_or_default(),
        batch_number: record.batch_number.clone().unwrap_or_default(),
        equipment: record.equipment.iter().map(|text| kept_together(text).into_owned()).collect(),
        cleaned: record.cleaned.clone().unwrap_or_default(),
        checks: record.checks.iter().map(check_context).collect(),
        retained: record.retained.as_deref().map(kept_together).unwrap_or_default().into_owned(),
        release: record.release.as_ref().map(|release| ReleaseContext {
            decision: release.decision.value.word(),
            by: release.by.clone().unwrap_or_default(),
            date: date(release.date.as_ref().map(|date| date.value)),
            why: release.why.as_deref().map(kept_together).unwrap_or_default().into_owned(),
        }),
        batch: figure(&["batch"]).unwrap_or_else(NumberContext::empty),
        tolerance: show::percent(record.tolerance.percent.value()),
        tolerance_source: record.tolerance.source,
        tare: record.tare.map_or_else(String::new, |tare| grams(tare, decimals)),
        specification: formula
            .ph
            .map_or_else(String::new, |ph| format!("pH{}{}", show::NBSP, show::ends(ph.low.value(), ph.high.value()))),
        phases: formula
            .phases
            .iter()
            .enumerate()
            .map(|(index, phase)| PhaseContext {
                key: phase.key.clone(),
                title: phase.title.clone().unwrap_or_default(),
                hold: phase.hold.as_ref().map_or_else(String::new, |(hold, _)| show::celsius(*hold)),
                lines: record
                    .lines
                    .iter()
                    .filter(|line| line.phase == index)
                    .map(|line| line_context(record, line, &figure, hrefs))
                    .collect(),
            })
            .collect(),
        planned: grams(record.planned_batch(), decimals),
        total: figure(&["total"]),
        vessel: if record.is_blank { Vec::new() } else { vessel_rows(record, decimals, &figure) },
        evaporation: figure(&["evaporation"]).filter(|_| account.is_some_and(|one| one.evaporated != Mass::ZERO)),
        content: figure(&["content"])
            .filter(|_| account.is_some_and(|one| one.lost() != Mass::ZERO || one.topped_up != Mass::ZERO)),
        filled: figure(&["yield"]),
        yield_percent: figure(&["yield", "percent"]),
        per_pack: figure(&["yield", "per-pack"]),
        packs: figure(&["packs"]),
        made: made(record, &figure),
        declaration: figure(&["declaration"]),
        readings: (1..=record.ph.len())
            .zip(&record.ph)
            .filter_map(|(number, reading)| {
                Some(reading_context(record, reading, figure(&["ph", &number.to_string()])?))
            })
            .collect(),
        viscosity: record
            .viscosity
            .iter()
            .map(|one| ViscosityContext {
                value: kept_together(&one.value).into_owned(),
                how: one.how.clone(),
                date: date(one.date.as_ref().map(|date| date.value).or(record.date)),
            })
            .collect(),
        went_wrong: record.went_wrong.iter().map(|text| kept_together(text).into_owned()).collect(),
    }
}

fn line_context(
    record: &BatchRecord,
    line: &RecordLine,
    figure: &dyn Fn(&[&str]) -> Option<NumberContext>,
    hrefs: Hrefs<'_>,
) -> LineContext {
    let parts: Vec<&str> = line.key.split('/').collect();
    let of = |below: &[&str]| figure(&[parts.as_slice(), below].concat());
    let is_off = line.deviation().is_some_and(|deviation| deviation != Mass::ZERO);
    let lot_href =
        |part: &LotPart| part.number.as_deref().map_or_else(String::new, |lot| (hrefs.lot)(&line.material.id, lot));
    LineContext {
        key: line.key.clone(),
        name: kept_together(&line.material.name).into_owned(),
        lot: line.lots_in_words().unwrap_or_default(),
        lot_href: match line.lots.as_slice() {
            [one] => lot_href(one),
            _ => String::new(),
        },
        lots: match line.lots.as_slice() {
            [] | [_] => Vec::new(),
            several => several
                .iter()
                .map(|part| LotPartContext {
                    number: part.number.clone().unwrap_or_default(),
                    href: lot_href(part),
                    weight: part
                        .weight
                        .map_or_else(String::new, |weight| grams(weight, record.planned.sheet.decimals())),
                })
                .collect(),
        },
        planned: of(&["planned"]).unwrap_or_else(NumberContext::empty),
        weighed: of(&["weighed"]).filter(|_| !record.is_blank),
        as_planned: line.is_as_planned,
        deviation: of(&["deviation"]).filter(|_| is_off).map(signed),
        percent: of(&["deviation", "percent"]).filter(|_| is_off).map(signed),
        outside: line.is_outside(record.tolerance, record.readability()),
        effect: line.effect.clone().unwrap_or_default(),
        per_hundred: of(&["per-100g"]),
        note: line.note.as_deref().map(kept_together).unwrap_or_default().into_owned(),
    }
}

/// A difference with its sign in front, as a minus or a plus.
fn signed(mut number: NumberContext) -> NumberContext {
    if !number.text.starts_with(['-', '−']) {
        number.text.insert(0, '+');
    }
    number.text = number.text.replace('-', "−");
    number.working = number.working.replace("= -", "= −").replace("÷ -", "÷ −");
    if let Some(rest) = number.working.strip_prefix('-') {
        number.working = format!("−{rest}");
    }
    number
}

/// What happened in the vessel, in order: after each phase what left, the balance, what was put back; at the end the balance last.
fn vessel_rows(
    record: &BatchRecord,
    decimals: u32,
    figure: &dyn Fn(&[&str]) -> Option<NumberContext>,
) -> Vec<VesselContext> {
    let is_after = |written: Option<&str>, key: Option<&str>| {
        written.map(|written| written.trim().strip_prefix("phase ").unwrap_or(written).trim()) == key
    };
    let mut rows = Vec::new();
    let phases = record.planned.formula.phases.iter().map(|phase| Some(phase.key.as_str()));
    for key in phases.chain([None]) {
        let when = key.map_or_else(|| "at the end".to_owned(), |key| format!("after phase {key}"));
        let happened = |words: &str, weight: Mass, note: String| VesselContext {
            words: format!("{} {words} {when}", grams(weight, decimals)),
            note,
            ..VesselContext::default()
        };
        let losses =
            record.losses.iter().filter(|loss| is_after(loss.after.as_ref().map(|one| one.value.as_str()), key));
        rows.extend(losses.map(|loss| {
            let words = match (&loss.what.value, &loss.of) {
                (LossKind::Evaporation, Some(of)) => format!("of {} evaporated", of.value),
                (LossKind::Evaporation, None) => "evaporated".to_owned(),
                (LossKind::Spill, _) => "spilt".to_owned(),
                (LossKind::Sample, _) => "taken out as a sample".to_owned(),
            };
            happened(&words, loss.weight.value, loss.note.clone().unwrap_or_default())
        }));
        let top_ups =
            record.top_ups.iter().filter(|one| is_after(one.after.as_ref().map(|one| one.value.as_str()), key));
        let top_ups = top_ups.map(|one| {
            let note = one.lot.as_ref().map_or_else(String::new, |lot| format!("lot {}", lot.value));
            happened(&format!("of {} put back", one.with.value), one.weight.value, note)
        });
        let stages = record.account.iter().flat_map(|account| &account.stages);
        let stages =
            stages.filter(|stage| stage.after.as_deref() == key).map(|stage| stage_row(stage, decimals, figure));
        if key.is_some() {
            rows.extend(stages.chain(top_ups));
        } else {
            rows.extend(top_ups.chain(stages));
        }
    }
    rows
}

fn stage_row(stage: &Stage, decimals: u32, figure: &dyn Fn(&[&str]) -> Option<NumberContext>) -> VesselContext {
    let of = |part: &str| match &stage.after {
        Some(phase) => figure(&["after", phase, part]),
        None => figure(&["end", part]),
    };
    VesselContext {
        words: stage.after.as_ref().map_or_else(|| "At the end".to_owned(), |phase| format!("After phase {phase}")),
        note: String::new(),
        gross: grams(stage.gross, decimals),
        expected: grams(stage.expected, decimals),
        content: of("content"),
        missing: of("missing").map(|mut missing| {
            missing.text = missing.text.replace('-', "−");
            missing
        }),
        restores: of("top-up").filter(|_| stage.restores != Mass::ZERO && stage.after.is_some()),
    }
}

/// Active matter and water of the product as it was made, beside the plan.
fn made(record: &BatchRecord, figure: &dyn Fn(&[&str]) -> Option<NumberContext>) -> Vec<MadeContext> {
    let planned = |make: fn(&Computed) -> Option<compute::Figure>| {
        make(&record.planned).map_or_else(String::new, |figure| super::super::text::figure_text(&figure))
    };
    let rows = [
        ("Active matter", "active-matter", planned(compute::active_figure)),
        ("Water", "water", planned(compute::water_figure)),
    ];
    let with_number = |(name, part, planned)| Some(MadeContext { name, n: figure(&["actual", part])?, planned });
    rows.into_iter().filter_map(with_number).collect()
}

fn reading_context(record: &BatchRecord, reading: &PhReading, n: NumberContext) -> ReadingContext {
    let how = match reading.reading.as_ref().map(|reading| reading.value) {
        None => String::new(),
        Some(ReadingOf::Neat) => "neat".to_owned(),
        Some(ReadingOf::Diluted { product, water }) if product.grams() + water.grams() == Decimal::ONE_HUNDRED => {
            format!("{} dilution", show::percent(product.grams().normalize()))
        }
        Some(ReadingOf::Diluted { product, water }) => {
            format!("{} in {} of water", show::grams(product), show::grams(water))
        }
    };
    let date = reading.date.as_ref().map(|date| date.value).or(record.date);
    ReadingContext {
        n,
        span: ends_of(reading).map_or_else(String::new, |(low, high)| show::ends(low, high)),
        date: date.map_or_else(String::new, |date| date.to_string()),
        how,
        with: reading.with.clone().unwrap_or_default(),
        at: reading.at.map_or_else(String::new, show::celsius),
        fits: fits(record, reading),
    }
}

/// Whether a reading meets the specification, as far as its step tells.
fn fits(record: &BatchRecord, reading: &PhReading) -> &'static str {
    let Some(stated) = record.planned.formula.ph else { return "" };
    let (least, most) = (stated.low.value(), stated.high.value());
    match ends_of(reading) {
        None => "cannot be told",
        Some((low, high)) if high < least || most < low => "outside",
        Some((low, high)) if least <= low && high <= most => "inside",
        Some(_) if least == most && Ph::value(reading.ph.value) == least => "inside",
        Some(_) => "cannot be told",
    }
}
