//! Words of a comparison, the same on pages and in the terminal.

use crate::compute::{Compared, Comparison, MaterialsCost, OrderChange, Row, Step, span_words};
use crate::quantity::{Decimal, MassUnit, Money, Range, show};

/// What a raw material reads that a formula does not hold.
pub(crate) const NOT_IN_IT: &str = "not in it";

/// The batch of the weights.
pub(crate) fn batch_words(comparison: &Comparison) -> String {
    show::mass_in(comparison.batch, MassUnit::Gram, comparison.decimals)
}

/// The id of what the others are compared with.
pub(crate) fn first_id(comparison: &Comparison) -> &str {
    comparison.sides.first().map_or("", |side| side.id.as_str())
}

/// What a formula holds of a raw material, in words.
pub(crate) struct CellWords {
    /// "5.25 %".
    pub percent: String,
    /// "26.2 g".
    pub weight: String,
    /// The same exactly, in grams.
    pub grams: String,
    /// "phase A, B", or empty where all formulas have it in phases of the same letters.
    pub phase: String,
}

/// The cells of a row; `None` where a formula does not hold it.
pub(crate) fn cell_words(row: &Row, decimals: u32) -> Vec<Option<CellWords>> {
    let mut held = row.cells.iter().flatten();
    let first = held.next();
    let moves = held.any(|cell| first.is_some_and(|first| first.phases != cell.phases));
    let words = |cell: &crate::compute::Cell| CellWords {
        percent: show::percent(cell.percent),
        weight: show::mass_in(cell.weight, MassUnit::Gram, decimals),
        grams: show::plain(cell.weight.grams()),
        phase: if moves { format!("phase {}", cell.phases.join(", ")) } else { String::new() },
    };
    row.cells.iter().map(|cell| cell.as_ref().map(words)).collect()
}

const ACTIVE: &str = "active matter";
/// What the raw materials for the common batch cost.
pub(crate) const COST_OF_BATCH: &str = "raw materials for the batch";
const COST_OF_100_G: &str = "raw materials for 100\u{a0}g";

/// Something that is said of each formula as a whole.
pub(crate) struct Measure {
    /// "active matter".
    pub title: &'static str,
    /// What it is in each formula.
    pub cells: Vec<MeasureCell>,
    /// The address of the differences behind the id of the block and that of the formula, where they have one.
    pub differs_by: &'static str,
}

/// A measure in one formula.
pub(crate) struct MeasureCell {
    /// As printed.
    pub text: String,
    /// By how much it differs from the first formula's, or empty.
    pub by: String,
}

/// What is said of each formula as a whole, as far as it differs.
pub(crate) fn measures(comparison: &Comparison) -> Vec<Measure> {
    let unknown = || "not known".to_owned();
    let mut measures = Vec::new();
    let mut put = |title: &'static str, cells: Vec<MeasureCell>| {
        let first = cells.first().map(|cell| cell.text.clone());
        if cells.iter().any(|cell| Some(&cell.text) != first.as_ref() || !cell.by.is_empty()) {
            let differs_by = match title {
                ACTIVE => "active-matter/percent-difference",
                COST_OF_BATCH => "cost/per-batch-difference",
                COST_OF_100_G => "cost/per-100-g-difference",
                _ => "",
            };
            measures.push(Measure { title, cells, differs_by });
        }
    };
    let share = |range: Option<Range>, by: Option<Range>| MeasureCell {
        text: range.map_or_else(unknown, |range| show::percent_range(range, if range.is_exact() { 2 } else { 1 })),
        by: by.filter(|by| *by != Range::ZERO).map(signed_range).unwrap_or_default(),
    };
    let steps = || std::iter::once(None).chain(comparison.steps.iter().map(Some));
    let shares = |of: fn(&Compared) -> Option<Range>, by: fn(&Step) -> Option<Range>| {
        comparison.sides.iter().zip(steps()).map(|(side, step)| share(of(side), step.and_then(by))).collect()
    };
    put(ACTIVE, shares(|side| side.active, |step| step.active));
    put("water", shares(|side| side.water, |step| step.water));
    let words = |of: &dyn Fn(&Compared) -> String| {
        comparison.sides.iter().map(|side| MeasureCell { text: of(side), by: String::new() }).collect()
    };
    put(
        "pH specification",
        words(&|side| {
            side.ph.map_or_else(|| "not stated".to_owned(), |ph| show::ends(ph.low.value(), ph.high.value()))
        }),
    );
    let read = |side: &Compared, text: Option<String>| match side.made {
        None => "no batch".to_owned(),
        Some(_) => text.unwrap_or_else(|| "not read".to_owned()),
    };
    if comparison.sides.iter().any(|side| side.ph_read.is_some()) {
        put("pH as read", words(&|side| read(side, side.ph_read.map(|ph| ph.to_string()))));
    }
    if comparison.sides.iter().any(|side| side.viscosity.is_some()) {
        put("viscosity as read", words(&|side| read(side, side.viscosity.clone())));
    }
    put(
        "pH of all materials",
        words(&|side| {
            let window = &side.ph_window;
            match (window.pairs.is_empty(), window.shared.is_open()) {
                (false, _) => "no pH for all".to_owned(),
                (true, true) => unknown(),
                (true, false) => span_words(window.shared),
            }
        }),
    );
    put(
        "heat of all materials",
        words(&|side| {
            side.bears.map_or_else(unknown, |highest| format!("at most {}{}°C", show::plain(highest), show::NBSP))
        }),
    );
    let hlb: Option<Vec<(Range, Range)>> = comparison.sides.iter().map(|side| side.hlb).collect();
    if let Some(hlb) = hlb {
        let shown = |of: fn(&(Range, Range)) -> Range| {
            let text = |pair| show::quantity_range(of(pair), 1, "");
            hlb.iter().map(|pair| MeasureCell { text: text(pair), by: String::new() }).collect()
        };
        put("HLB required", shown(|pair| pair.0));
        put("HLB of the emulsifiers", shown(|pair| pair.1));
    }
    if comparison.sides.iter().any(|side| side.cost.is_some()) {
        put(COST_OF_BATCH, costs(comparison, |cost| cost.batch, |by| by.0));
        put(COST_OF_100_G, costs(comparison, |cost| cost.per_100_g, |by| by.1));
    }
    measures
}

/// What the raw materials of each formula cost. With a price missing it is what they cost at least, and no difference.
fn costs(
    comparison: &Comparison,
    of: fn(&MaterialsCost) -> Money,
    by: fn((Decimal, Decimal)) -> Decimal,
) -> Vec<MeasureCell> {
    let cell = |(index, side): (usize, &Compared)| {
        let text = match &side.cost {
            None => "not known".to_owned(),
            Some(cost) if cost.missing.is_empty() => of(cost).to_string(),
            Some(cost) => format!("at least {}", of(cost)),
        };
        let difference = comparison.cost_difference(index).map(by).filter(|by| index > 0 && !by.is_zero());
        let decimals = side.cost.as_ref().map(|cost| of(cost).currency().minor_digits());
        MeasureCell { text, by: difference.map_or_else(String::new, |by| show::signed(by, decimals)) }
    };
    comparison.sides.iter().enumerate().map(cell).collect()
}

/// A difference between two ends with its sign: "+0.12 to +0.48".
pub(crate) fn signed_range(by: Range) -> String {
    let end = |end: Decimal| show::signed(end, Some(2));
    let (low, high) = (end(by.low), end(by.high));
    if low == high { low } else { format!("{low} to {high}") }
}

/// What is said beside the changes where a batch as it was weighed is among what is compared.
pub(crate) fn within_words(step: &Step) -> Option<String> {
    let percent = show::percent(step.tolerance?.value());
    Some(format!("what deviates by {percent} of itself or less is not counted"))
}

/// A change of an ingredient declaration in words.
pub(crate) fn order_words(change: &OrderChange) -> String {
    match change {
        OrderChange::Comes(name) => format!("{name} comes"),
        OrderChange::Goes(name) => format!("{name} goes"),
        OrderChange::Moves { name, from, to } => format!("{name} from place {from} to place {to}"),
    }
}
