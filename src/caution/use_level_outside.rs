//! A line outside the use level of its material, and a line so far above that a slip of the point is likely.

use super::{Case, Caution};
use crate::material::Fact;
use crate::model::Line;
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[FIVE_TIMES, ABOVE, BELOW_PRESERVATIVE, BELOW], examine };

const FIVE_TIMES: &Kind = &Kind {
    name: "five-times-usual",
    severity: Severity::Caution,
    summary: "A line at five times its usual maximum or more.",
    why: "So much is more often a slip than a choice: a decimal point, drops for grams, percent for a fraction.",
    mend: "Look at the decimal point and the unit of this line.",
};

const ABOVE: &Kind = &Kind {
    name: "above-use-level",
    severity: Severity::Caution,
    summary: "A line above the usual maximum of its material.",
    why: "Above its use level a material may irritate, spoil the feel or upset the formula.",
    mend: "Use less, or check the sheet of the material in hand.",
};

const BELOW_PRESERVATIVE: &Kind = &Kind {
    name: "preservative-too-low",
    severity: Severity::Caution,
    summary: "A preservative below the least usual amount.",
    why: "Too little preservative lets germs grow and makes the hardy ones stay.",
    mend: "Raise it into its range, or say how the product is kept otherwise.",
};

const BELOW: &Kind = &Kind {
    name: "below-use-level",
    severity: Severity::Note,
    summary: "A line below the least usual amount of its material.",
    why: "It may do nothing at this amount.",
    mend: "Raise it, or leave it out.",
};

/// From this multiple of the maximum on, a slip is likely. Common practice, no source.
const SLIP: Decimal = Decimal::from_parts(5, 0, 0, false, 0);

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    // A material may stand on several lines; what counts is how much of it is in the product.
    let mut seen: Vec<&str> = Vec::new();
    for (_, line) in case.lines() {
        let id = line.material.id.as_str();
        if seen.contains(&id) {
            continue;
        }
        seen.push(id);
        let makes =
            |product: &crate::material::ProductType| product.made_of.iter().any(|work| line.material.serves_as(work));
        if formula.product.as_ref().is_some_and(makes) {
            continue;
        }
        let Some(level) = line.material.use_level(case.product_use()) else { continue };
        let lines: Vec<&Line> = formula.lines().filter(|other| other.material.id == id).collect();
        let percent: Decimal = lines.iter().map(|line| formula.percent(line).value()).sum();
        if percent.is_zero() {
            continue;
        }
        let largest = lines.iter().copied().max_by_key(|line| formula.percent(line)).unwrap_or(line);
        let found = judge(case, largest, level, percent).map(|finding| {
            lines.iter().filter(|other| !std::ptr::eq(**other, largest)).fold(finding, |finding, other| {
                finding.also_at(other.amount_place.clone(), format!("`{}` stands here too", other.written))
            })
        });
        findings.extend(found);
    }
}

fn judge(case: &Case<'_>, line: &Line, level: &Fact, percent: Decimal) -> Option<Finding> {
    let place = line.amount_place.clone();
    let scope = case.product_use().map_or(String::new(), |product_use| format!(" in {} products", product_use.word()));
    let source = level.source_line();
    if let Some(max) = level.max.filter(|max| percent > *max) {
        let shown = show::percent_beyond(percent, max);
        let ceiling = show::percent(max);
        // Of nothing there is no multiple.
        if let Some(times) = percent.checked_div(max).filter(|times| *times >= SLIP) {
            let times = show::plain(times.round_dp(1));
            let what = format!("`{}` at {shown} is {times} times its usual maximum of {ceiling}{scope}.", line.written);
            return Some(Finding::new(FIVE_TIMES, place, what).source(source));
        }
        let what = format!("`{}` at {shown} is above its usual maximum of {ceiling}{scope}.", line.written);
        return Some(Finding::new(ABOVE, place, what).source(source));
    }
    let min = level.min.filter(|min| percent < *min)?;
    let shown = show::percent_beyond(percent, min);
    let kind = if line.material.serves_as("preservative") { BELOW_PRESERVATIVE } else { BELOW };
    // Surfactants share the work: where there is enough of them together, a second or third one is meant to be little.
    let usual = case.computed.formula.product.as_ref().and_then(|product| product.active.as_ref()?.min);
    let is_enough = usual.is_some_and(|usual| usual <= case.computed.active.total.high);
    if kind == BELOW && is_enough && line.material.contains.iter().any(|part| part.surfactant.is_some()) {
        return None;
    }
    // Of a scent less is never a fault.
    if kind == BELOW && ["fragrance", "essential oil"].into_iter().any(|work| line.material.serves_as(work)) {
        return None;
    }
    let what = format!("`{}` at {shown} is below its usual minimum of {}{scope}.", line.written, show::percent(min));
    Some(Finding::new(kind, place, what).source(source))
}
