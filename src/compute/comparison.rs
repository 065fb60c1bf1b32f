//! Two or more formulas side by side: what each holds, and by how much the others differ from the first.
//!
//! Difference = the other formula − the first, exact. A raw material that one of them does not hold has no difference in numbers: it comes or
//! goes. What is known only between two ends (active matter, water) differs by Σ (other % − first %) × share of the raw material, end by end, so
//! that a raw material of unchanged amount adds nothing, however uncertain its strength is; where the strength itself differs, end by end of both.

mod changes;
mod figures;
mod order;

pub use changes::Change;
pub use order::{OrderChange, between as order_changes};

use super::{
    BatchRecord, Computed, Emulsion, HeatWindows, MaterialsCost, PhWindows, Sheet, active_of_line, components_of,
};
use crate::block::{ComparisonPart, PhSpan};
use crate::material::WATER;
use crate::model::{Line, Settings};
use crate::quantity::{Date, Decimal, Mass, Percent, Ph, Range};
use crate::report::Finding;
use std::collections::BTreeSet;

/// What is compared: a formula, a variant, or a batch as it was really made.
#[derive(Clone, Copy, Debug)]
pub struct Side<'a> {
    /// The id of the formula or record.
    pub id: &'a str,
    /// The formula; of a record the one that is in the vessel.
    pub computed: &'a Computed,
    /// The record.
    pub record: Option<&'a BatchRecord>,
    /// The names of its ingredient declaration in order.
    pub declared: &'a [String],
    /// The formula at the root of its variants, itself when it is no variant.
    pub root: &'a str,
}

/// Formulas side by side.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// The formulas, the first one being what the others are compared with.
    pub sides: Vec<Compared>,
    /// The batch that all weights are for.
    pub batch: Mass,
    /// Decimals of the weights: those of the finest balance.
    pub decimals: u32,
    /// A row for each raw material, in the order of the first formula, then what only the others hold.
    pub rows: Vec<Row>,
    /// For each of the others, what changed from the first.
    pub steps: Vec<Step>,
}

/// A comparison as a page shows it.
#[derive(Clone, Debug)]
pub struct SideBySide {
    /// What is compared.
    pub comparison: Comparison,
    /// The parts that are shown.
    pub show: Vec<ComparisonPart>,
    /// Whether unchanged lines are listed.
    pub unchanged: bool,
}

/// What is known of one of the formulas as a whole.
#[derive(Clone, Debug)]
pub struct Compared {
    /// Its id.
    pub id: String,
    /// Its title, or its id.
    pub title: String,
    /// Its version.
    pub version: Option<String>,
    /// Its check value; empty for a record.
    pub check: String,
    /// The day of a record.
    pub made: Option<Date>,
    /// The pH that was last read of a record.
    pub ph_read: Option<Decimal>,
    /// The viscosity that was last read of a record, with its unit.
    pub viscosity: Option<String>,
    /// Active matter, % of the product; `None` while a strength is not known.
    pub active: Option<Range>,
    /// Water, % of the product; `None` while a composition is not known.
    pub water: Option<Range>,
    /// Its pH specification.
    pub ph: Option<PhSpan>,
    /// What the pH windows of its raw materials come to.
    pub ph_window: PhWindows,
    /// What its raw materials bear, °C.
    pub bears: Option<Decimal>,
    /// Required HLB of its oils, and the HLB of its emulsifiers.
    pub hlb: Option<(Range, Range)>,
    /// What its raw materials cost; nothing where none has a price.
    pub cost: Option<MaterialsCost>,
}

/// One raw material in all formulas.
#[derive(Clone, Debug)]
pub struct Row {
    /// The id of the raw material.
    pub material: String,
    /// Its name.
    pub name: String,
    /// What each formula holds of it.
    pub cells: Vec<Option<Cell>>,
}

/// What one formula holds of a raw material, all its lines together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell {
    /// Share of the product, %.
    pub percent: Decimal,
    /// Weight for the common batch, as the balance of the formula shows it.
    pub weight: Mass,
    /// The letters of its phases.
    pub phases: Vec<String>,
    /// Whether one of its lines takes the rest.
    pub is_balance: bool,
}

impl Row {
    /// Another formula's cell beside the first one's, where both hold the raw material.
    pub fn both(&self, other: usize) -> Option<(&Cell, &Cell)> {
        self.cells.first()?.as_ref().zip(self.cells.get(other)?.as_ref())
    }

    /// By how many percentage points another formula holds more than the first; nothing where one of them does not hold it.
    pub fn percent_difference(&self, other: usize) -> Option<Decimal> {
        self.both(other).map(|(first, other)| other.percent - first.percent)
    }

    /// By how much more another formula has weighed in than the first, g.
    pub fn weight_difference(&self, other: usize) -> Option<Decimal> {
        self.both(other).map(|(first, other)| other.weight.grams() - first.weight.grams())
    }

    /// Whether all formulas hold the same of it, in phases of the same letters.
    pub fn is_unchanged(&self) -> bool {
        let same = |one: &Cell, other: &Cell| {
            one.percent == other.percent && one.weight == other.weight && one.phases == other.phases
        };
        (1..self.cells.len()).all(|other| self.both(other).is_some_and(|(first, other)| same(first, other)))
    }
}

/// What changed from the first formula to another.
#[derive(Clone, Debug)]
pub struct Step {
    /// The changes that somebody made, in words; what follows from them (the balance line, a dose to effect) is none.
    pub changes: Vec<Change>,
    /// Where a record is among them, the deviation that counts as none, % of what was planned.
    pub tolerance: Option<Percent>,
    /// Whether the formulas share an ancestor, or one is the other's.
    pub is_related: bool,
    /// By how much active matter differs, percentage points.
    pub active: Option<Range>,
    /// By how much water differs, percentage points.
    pub water: Option<Range>,
    /// What changed in the ingredient declaration.
    pub declaration: Vec<OrderChange>,
    /// What is found about one of them and not about the other.
    pub found: FoundChanges,
}

/// What is found about one formula and not about another, or about a page now and not then.
#[derive(Clone, Debug)]
pub struct FoundChanges<F = Finding> {
    /// About the other alone.
    pub gained: Vec<F>,
    /// About the first alone.
    pub lost: Vec<F>,
    /// About both, with other figures: as it was, and as it is.
    pub changed: Vec<(F, F)>,
}

impl<F> Default for FoundChanges<F> {
    fn default() -> FoundChanges<F> {
        FoundChanges { gained: Vec::new(), lost: Vec::new(), changed: Vec::new() }
    }
}

impl<F> FoundChanges<F> {
    /// Whether all is as it was.
    pub fn is_empty(&self) -> bool {
        self.gained.is_empty() && self.lost.is_empty() && self.changed.is_empty()
    }
}

impl Step {
    /// Whether nothing at all is different.
    pub fn is_nothing(&self) -> bool {
        self.changes.is_empty() && self.declaration.is_empty()
    }
}

impl Comparison {
    /// Formulas side by side; `batch` is that of the first unless another is wanted. There must be a first. What is found about a formula and not
    /// about another is known to the collection, which gives it by their ids.
    pub fn of(
        sides: &[Side<'_>],
        batch: Option<Mass>,
        settings: &Settings,
        found: &dyn Fn(&str, &str) -> FoundChanges,
    ) -> Option<Comparison> {
        let first = *sides.first()?;
        let batch = batch.unwrap_or(first.computed.formula.batch.mass);
        let sheets: Vec<Sheet> = sides.iter().map(|side| Sheet::new(&side.computed.formula, batch)).collect();
        let mut rows = rows_of(sides);
        for row in &mut rows {
            let cells = sides.iter().zip(&sheets).map(|(side, sheet)| cell_of(side.computed, sheet, &row.material));
            row.cells = cells.collect();
        }
        let steps = sides.iter().skip(1).map(|other| step(first, *other, found)).collect();
        Some(Comparison {
            sides: sides.iter().map(|side| compared(*side, batch, settings)).collect(),
            batch,
            decimals: sheets.iter().map(Sheet::decimals).max().unwrap_or_default(),
            rows,
            steps,
        })
    }
}

/// The raw materials of all sides, each once.
fn rows_of(sides: &[Side<'_>]) -> Vec<Row> {
    let mut seen = BTreeSet::new();
    let lines = sides.iter().flat_map(|side| side.computed.formula.lines());
    lines
        .filter(|line| seen.insert(line.material.id.clone()))
        .map(|line| Row { material: line.material.id.clone(), name: line.material.name.clone(), cells: Vec::new() })
        .collect()
}

fn cell_of(computed: &Computed, sheet: &Sheet, material: &str) -> Option<Cell> {
    let formula = &computed.formula;
    let phase_of = formula.phases.iter().flat_map(|phase| phase.lines.iter().map(move |line| (&phase.key, line)));
    let mut cell: Option<Cell> = None;
    for ((phase, line), weight) in phase_of.zip(&sheet.printed) {
        if line.material.id != material {
            continue;
        }
        let cell = cell.get_or_insert_with(|| Cell {
            percent: Decimal::ZERO,
            weight: Mass::from_grams(Decimal::ZERO),
            phases: Vec::new(),
            is_balance: false,
        });
        cell.percent += formula.percent(line).value();
        cell.weight = cell.weight + *weight;
        cell.is_balance |= line.is_balance;
        if !cell.phases.contains(phase) {
            cell.phases.push(phase.clone());
        }
    }
    cell
}

fn compared(side: Side<'_>, batch: Mass, settings: &Settings) -> Compared {
    let computed = side.computed;
    let formula = &computed.formula;
    let emulsion = Emulsion::of(computed);
    let record = side.record;
    Compared {
        id: side.id.to_owned(),
        title: formula.title.clone().unwrap_or_else(|| formula.id.clone()),
        version: record.map_or_else(|| formula.version.clone(), |record| record.made_by.clone()),
        check: if record.is_some() { String::new() } else { computed.check.clone() },
        made: record.and_then(|record| record.date),
        ph_read: record.and_then(BatchRecord::last_ph).map(|reading| Ph::value(reading.ph.value)),
        viscosity: record.and_then(|record| record.viscosity.last()).map(|reading| reading.value.clone()),
        active: computed.active.unknown.is_empty().then_some(computed.active.total),
        water: computed.composition.unknown.is_empty().then(|| super::water_of(&computed.composition)),
        ph: formula.ph,
        ph_window: PhWindows::of(computed),
        bears: HeatWindows::of(computed).shared,
        cost: MaterialsCost::of(formula, batch, settings),
        hlb: emulsion.as_ref().and_then(|emulsion| emulsion.required().zip(emulsion.blend())),
    }
}

fn step(first: Side<'_>, other: Side<'_>, found: &dyn Fn(&str, &str) -> FoundChanges) -> Step {
    let (one, two) = (first.computed, other.computed);
    let active = |line: &Line| active_of_line(line).map(|parts| parts.into_iter().map(|(_, share)| share).sum());
    let tolerances = [first, other].into_iter().filter_map(|side| Some(side.record?.tolerance.percent));
    let tolerance = tolerances.max_by_key(|percent| percent.value());
    Step {
        changes: changes::between(&one.formula, &two.formula, tolerance),
        tolerance,
        is_related: first.root == other.root,
        active: difference(one, two, &active),
        water: difference(one, two, &water_of_line),
        declaration: order::between(first.declared, other.declared),
        found: found(first.id, other.id),
    }
}

/// Water that a line's raw material brings, % of it; `None` when its composition is not known.
fn water_of_line(line: &Line) -> Option<Range> {
    if line.material.contains.is_empty() {
        return None;
    }
    let components = components_of(line);
    let shares: Option<Vec<_>> = components.into_iter().map(|(part, share)| Some((part, share?))).collect();
    let is_free = |part: &crate::material::Component| part.inci == WATER && part.bound_to.is_none();
    Some(shares?.into_iter().filter(|(part, _)| is_free(part)).map(|(_, share)| share).sum())
}

/// A raw material's lines of one formula, as far as they hold the same: % of the product, and what is counted, % of the raw material.
type Portion = (String, Range, Decimal);

/// Σ (other % − first %) × share, end by end; `None` when a share is not known.
fn difference(first: &Computed, other: &Computed, share: &dyn Fn(&Line) -> Option<Range>) -> Option<Range> {
    let mut portions: Vec<Portion> = Vec::new();
    for (computed, sign) in [(first, -Decimal::ONE), (other, Decimal::ONE)] {
        for line in computed.formula.lines() {
            let (id, share) = (&line.material.id, share(line)?);
            let percent = sign * computed.formula.percent(line).value();
            match portions.iter_mut().find(|(known, counted, _)| known == id && *counted == share) {
                Some((_, _, sum)) => *sum += percent,
                None => portions.push((id.clone(), share, percent)),
            }
        }
    }
    let part = |share: Range, percent: Decimal| {
        let times = |end: Decimal| end * percent / Decimal::ONE_HUNDRED;
        let (low, high) = if percent < Decimal::ZERO { (share.high, share.low) } else { (share.low, share.high) };
        Range { low: times(low), typical: times(share.typical), high: times(high) }
    };
    Some(portions.into_iter().map(|(_, share, percent)| part(share, percent)).sum())
}
