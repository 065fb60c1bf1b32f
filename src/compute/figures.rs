//! Every figure of a formula, each made with its working when it is asked for.

use super::figure::{Figure, Value, Working};
use super::{Computed, Sheet, water_of};
use crate::block::FillContent;
use crate::material::SurfactantClass;
use crate::model::{Basis, BatchGiven, Line, Phase};
use crate::quantity::{Decimal, Mass, Percent, Range};

fn percent(value: Decimal) -> Value {
    Value::Percent(Percent::new(value))
}

fn exact(mass: Mass) -> Value {
    Value::Mass { mass, decimals: mass.grams().normalize().scale().min(6) }
}

fn printed(sheet: &Sheet, mass: Mass) -> Value {
    Value::Mass { mass, decimals: sheet.decimals() }
}

fn address(computed: &Computed, rest: &str) -> String {
    format!("{}/{rest}", computed.formula.id)
}

/// A line's share, % w/w.
pub fn line_percent_figure(computed: &Computed, line: &Line) -> Figure {
    let formula = &computed.formula;
    let value = Value::Percent(formula.percent(line));
    let working = match formula.basis {
        Basis::Percent if line.is_balance => {
            let others = formula.whole - line.amount;
            Working::new()
                .text("q.s. to 100: ")
                .value(percent(Decimal::ONE_HUNDRED))
                .text(" − ")
                .value(percent(others))
                .text(" of the other lines = ")
                .value(value.clone())
        }
        Basis::Percent => Working::new().text("as written in the formula"),
        Basis::Weights => Working::new()
            .value(exact(Mass::from_grams(line.amount)))
            .text(" ÷ ")
            .value(exact(Mass::from_grams(formula.whole)))
            .text(" × 100 = ")
            .value(value.clone()),
        Basis::Parts => Working::new()
            .value(Value::Number(line.amount))
            .text(" of ")
            .value(Value::Number(formula.whole))
            .text(" parts × 100 = ")
            .value(value.clone()),
    };
    Figure { address: address(computed, &format!("{}/percent", line.written)), value, working }
}

/// A line's weight on a sheet.
pub fn line_weight_figure(computed: &Computed, sheet: &Sheet, index: usize, line: &Line) -> Figure {
    let (mass, weight) = (sheet.exact_of(index), sheet.printed_of(index));
    let share = Value::Percent(computed.formula.percent(line));
    let mut working = Working::new().value(share).text(" of ").value(exact(sheet.batch)).text(" = ").value(exact(mass));
    if computed.formula.basis == Basis::Weights && line.amount != mass.grams() && line.volume.is_none() {
        working =
            working.text("; written as ").value(exact(Mass::from_grams(line.amount))).text(" and scaled to the batch");
    }
    if let Some(volume) = &line.volume {
        working = working.text(format!("; written as {volume}, turned into a weight"));
        let share = line.uncertainty.unwrap_or_default() * sheet.batch.grams();
        let uncertainty = share.checked_div(computed.formula.whole).unwrap_or_default();
        if uncertainty > Decimal::ZERO {
            let decimals = sheet.decimals() + 1;
            let uncertainty = Value::Mass { mass: Mass::from_grams(uncertainty), decimals };
            working = working.text(" by a density that leaves it uncertain by ±").value(uncertainty);
        }
    }
    if mass != weight {
        let readability = sheet.readability.grams();
        let is_nearest = (mass.grams() - weight.grams()).abs() * Decimal::TWO <= readability;
        working = working.text(match (line.is_balance, is_nearest, weight.grams() > mass.grams()) {
            (true, _, _) => "; the balance line takes the rounding of the others, so that the sheet adds up: ",
            (false, true, _) => "; rounded to the balance: ",
            (false, false, true) => "; rounded up to the balance, so that the sheet adds up: ",
            (false, false, false) => "; rounded down to the balance, so that the sheet adds up: ",
        });
        working = working.value(printed(sheet, weight));
    }
    Figure { address: address(computed, &format!("{}/weight", line.written)), value: printed(sheet, weight), working }
}

/// What a line brings of that which its material's strength counts, % of the product: surfactant active matter, or the
/// substance that the strength names.
pub fn line_active_figure(computed: &Computed, index: usize, line: &Line) -> Option<Figure> {
    let surfactant = computed.active.lines.iter().find(|active| active.line == index);
    let (strength, percent, counted) = match surfactant {
        Some(active) => (active.strength, active.percent, "active matter"),
        None => {
            let (counted, strength) = super::composition::counted_share(line)?;
            let percent = strength.times(computed.formula.percent(line).value()).divided_by(Decimal::ONE_HUNDRED);
            (strength, percent, counted)
        }
    };
    let of_lot = if line.strength.is_some() { " of this lot" } else { "" };
    let working = Working::new()
        .value(Value::Percent(computed.formula.percent(line)))
        .text(" × ")
        .value(Value::PercentRange(strength))
        .text(format!(" {counted}{of_lot} = "))
        .value(Value::PercentRange(percent));
    let working = with_strength_source(working, line);
    Some(Figure {
        address: address(computed, &format!("{}/active", line.written)),
        value: Value::PercentRange(percent),
        working,
    })
}

fn with_strength_source(working: Working, line: &Line) -> Working {
    match (&line.strength, &line.material.strength) {
        (Some(_), _) => working.source("strength given on the line"),
        (None, Some(fact)) => working.source(format!("strength: {}", fact.source_line())),
        (None, None) => working,
    }
}

/// Weight of a phase.
pub fn phase_weight_figure(computed: &Computed, sheet: &Sheet, first: usize, phase: &Phase) -> Figure {
    let weights: Vec<Mass> = (first..first + phase.lines.len()).map(|index| sheet.printed_of(index)).collect();
    let sum: Mass = weights.iter().copied().sum();
    Figure {
        address: address(computed, &format!("phase/{}/weight", phase.key)),
        value: printed(sheet, sum),
        working: sum_working(weights.into_iter().map(|mass| printed(sheet, mass)), printed(sheet, sum)),
    }
}

/// Share of a phase, % w/w.
pub fn phase_percent_figure(computed: &Computed, phase: &Phase) -> Figure {
    let shares: Vec<Percent> = phase.lines.iter().map(|line| computed.formula.percent(line)).collect();
    // Amounts are added and divided once: the sum of rounded thirds would not be the whole.
    let sum = computed.formula.percent_of(phase.lines.iter().map(|line| line.amount).sum());
    Figure {
        address: address(computed, &format!("phase/{}/percent", phase.key)),
        value: Value::Percent(sum),
        working: sum_working(shares.into_iter().map(Value::Percent), Value::Percent(sum)),
    }
}

/// What the vessel should hold once a phase is in, without the vessel itself.
pub fn vessel_figure(computed: &Computed, sheet: &Sheet, last: usize, phase: &Phase) -> Figure {
    let sum: Mass = (0..last).map(|index| sheet.printed_of(index)).sum();
    Figure {
        address: address(computed, &format!("phase/{}/vessel", phase.key)),
        value: printed(sheet, sum),
        working: Working::new().text("all lines down to this phase, vessel not counted: ").value(printed(sheet, sum)),
    }
}

fn sum_working(parts: impl Iterator<Item = Value>, sum: Value) -> Working {
    let mut working = Working::new();
    for (index, part) in parts.enumerate() {
        if index > 0 {
            working = working.text(" + ");
        }
        working = working.value(part);
    }
    working.text(" = ").value(sum)
}

/// The sum of all shares, 100 %.
pub fn total_percent_figure(computed: &Computed) -> Figure {
    let sum: Percent = computed.formula.lines().map(|line| computed.formula.percent(line)).sum();
    // Written out the sum may be 100.00; the zeros say nothing.
    let sum =
        if computed.formula.basis == Basis::Percent { Percent::new(sum.value().normalize()) } else { Percent::HUNDRED };
    Figure {
        address: address(computed, "total/percent"),
        value: Value::Percent(sum),
        working: Working::new().text("all lines added"),
    }
}

/// The sum of all printed weights, equal to the batch.
pub fn total_weight_figure(computed: &Computed, sheet: &Sheet) -> Figure {
    let sum: Mass = sheet.printed.iter().copied().sum();
    Figure {
        address: address(computed, "total/weight"),
        value: printed(sheet, sum),
        working: Working::new().text("all weights on the sheet added: ").value(printed(sheet, sum)),
    }
}

/// The batch.
pub fn batch_figure(computed: &Computed, sheet: &Sheet) -> Figure {
    let formula = &computed.formula;
    let own = sheet.batch == formula.batch.mass;
    let working = match &formula.batch.given {
        BatchGiven::Volume { text, density } if own => Working::new()
            .text(format!("{text} × "))
            .value(Value::Density(*density))
            .text(" = ")
            .value(exact(sheet.batch)),
        BatchGiven::Fill { content, units, overfill, density } if own => {
            let mut working = Working::new().value(Value::Number(*units)).text(" × ");
            working = match (content, density) {
                (FillContent::Volume(volume, text), Some(density)) => working
                    .value(Value::Volume { volume: *volume, text: text.clone() })
                    .text(" × ")
                    .value(Value::Density(*density)),
                (FillContent::Volume(volume, text), None) => {
                    working.value(Value::Volume { volume: *volume, text: text.clone() })
                }
                (FillContent::Mass(mass), _) => working.value(exact(*mass)),
            };
            working.text(" + ").value(Value::Percent(*overfill)).text(" for losses = ").value(exact(sheet.batch))
        }
        BatchGiven::Default if own && formula.basis != Basis::Weights => {
            Working::new().text("no batch is given; 100 g shown")
        }
        BatchGiven::Default if own => Working::new().text("the weights as written, added"),
        _ => Working::new().text("as written"),
    };
    Figure { address: address(computed, "batch"), value: exact(sheet.batch), working }
}

/// Number of packs.
pub fn units_figure(computed: &Computed) -> Option<Figure> {
    let BatchGiven::Fill { units, .. } = &computed.formula.batch.given else { return None };
    Some(Figure {
        address: address(computed, "units"),
        value: Value::Number(*units),
        working: Working::new().text("as written"),
    })
}

/// Content of one pack.
pub fn fill_figure(computed: &Computed) -> Option<Figure> {
    let BatchGiven::Fill { content, .. } = &computed.formula.batch.given else { return None };
    let value = match content {
        FillContent::Mass(mass) => exact(*mass),
        FillContent::Volume(volume, text) => Value::Volume { volume: *volume, text: text.clone() },
    };
    Some(Figure { address: address(computed, "fill"), value, working: Working::new().text("as written") })
}

/// Active matter in all, % of the product.
pub fn active_figure(computed: &Computed) -> Option<Figure> {
    let active = &computed.active;
    if !active.unknown.is_empty() || !active.is_any() {
        return None;
    }
    let lines: Vec<&Line> = computed.formula.lines().collect();
    let mut working = Working::new();
    for (index, part) in active.lines.iter().enumerate() {
        let Some(line) = lines.get(part.line) else { continue };
        if index > 0 {
            working = working.text(" + ");
        }
        working = working
            .value(Value::Percent(computed.formula.percent(line)))
            .text(format!(" of {} × ", line.written))
            .value(Value::PercentRange(part.strength));
    }
    let working = working.text(" = ").value(Value::PercentRange(active.total));
    let mut sources: Vec<String> = Vec::new();
    for part in &active.lines {
        let Some(line) = lines.get(part.line) else { continue };
        if let (None, Some(fact)) = (&line.strength, &line.material.strength) {
            let source = fact.source_line();
            if !sources.contains(&source) {
                sources.push(source);
            }
        }
    }
    let working =
        if sources.is_empty() { working } else { working.source(format!("strengths: {}", sources.join("; "))) };
    Some(Figure { address: address(computed, "active-matter"), value: Value::PercentRange(active.total), working })
}

/// Active matter of one class, % of the product.
pub fn class_figure(computed: &Computed, class: SurfactantClass) -> Option<Figure> {
    if !computed.active.unknown.is_empty() || !computed.active.is_any() {
        return None;
    }
    let value = Value::PercentRange(computed.active.class(class));
    Some(Figure {
        address: address(computed, &format!("active-matter/{}", class.word())),
        working: Working::new()
            .text(format!("the {} part of each surfactant, added: ", class.word()))
            .value(value.clone()),
        value,
    })
}

/// Water from all sources, % of the product. `None` while a material's composition is not known.
pub fn water_figure(computed: &Computed) -> Option<Figure> {
    if !computed.composition.unknown.is_empty() {
        return None;
    }
    let water: Range = water_of(&computed.composition);
    let working = Working::new().text("water of all raw materials: ");
    let working = brought_by_lines(computed, super::composition::WATER, working);
    let working = match water.high.is_zero() {
        true => Working::new().text("no raw material brings any; crystal water is not counted"),
        false => working.text(" = ").value(Value::PercentRange(water)),
    };
    Some(Figure { address: address(computed, "water"), value: Value::PercentRange(water), working })
}

/// The last part of a substance's address: its INCI name in lower case, everything but letters and digits as hyphens.
pub(crate) fn slug_of(inci: &str) -> String {
    let words: Vec<&str> = inci.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    words.join("-").to_lowercase()
}

/// One substance from all sources, % of the product. `None` when nothing brings it.
pub(super) fn substance_figure(computed: &Computed, slug: &str) -> Option<Figure> {
    let inci = computed.composition.substances.keys().find(|inci| slug_of(inci) == slug)?;
    let share = *computed.composition.substances.get(inci)?;
    let working = brought_by_lines(computed, inci, Working::new().text(format!("{inci} of all raw materials: ")));
    let mut working = working.text(" = ").value(Value::PercentRange(share));
    if !computed.composition.unknown.is_empty() {
        working = working.text(format!("; what {} would bring is not known", computed.composition.unknown.join(", ")));
    }
    Some(Figure {
        address: address(computed, &format!("substance/{slug}")),
        value: Value::PercentRange(share),
        working,
    })
}

/// Goes on with each line's part of a substance: "3 % of glycerin × 99.5 % + …".
fn brought_by_lines(computed: &Computed, inci: &str, mut working: Working) -> Working {
    let mut first = true;
    for line in computed.formula.lines() {
        let share: Range = super::composition::components_of_line(line)
            .into_iter()
            .filter(|(component, _)| component.inci == inci && component.bound_to.is_none())
            .filter_map(|(_, share)| share)
            .sum();
        if share.high.is_zero() {
            continue;
        }
        if !first {
            working = working.text(" + ");
        }
        first = false;
        working = working
            .value(Value::Percent(computed.formula.percent(line)))
            .text(format!(" of {} × ", line.written))
            .value(Value::PercentRange(share));
    }
    working
}
