//! Which figures hang on the size of the batch, and how those that are weights follow it.

use super::{Computed, WeighedMethod};
use crate::model::BatchGiven;

/// How a figure of a formula follows its batch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Scaling {
    /// It is the batch.
    Batch,
    /// It is the sum of the printed weights of these lines, counted from zero.
    Lines(Vec<usize>),
    /// It belongs to one sheet and is not reckoned again.
    Other,
}

/// How the figure at a path below the formula's id follows the batch; none where it does not.
pub fn scaling_of(computed: &Computed, path: &[&str]) -> Option<Scaling> {
    let formula = &computed.formula;
    let lines = |wanted: &dyn Fn(&str, &str) -> bool| {
        let all = formula.phases.iter().flat_map(|phase| phase.lines.iter().map(move |line| (phase, line)));
        let found = all
            .enumerate()
            .filter(|(_, (phase, line))| wanted(&phase.key, &line.written) || wanted(&phase.key, &line.material.id));
        Some(found.map(|(index, _)| index).collect()).filter(|found: &Vec<usize>| !found.is_empty()).map(Scaling::Lines)
    };
    match *path {
        ["batch"] => Some(Scaling::Batch),
        ["check-value"] => Some(Scaling::Other),
        ["units"] => matches!(formula.batch.given, BatchGiven::Fill { .. }).then_some(Scaling::Other),
        ["total", "weight"] => lines(&|_, _| true),
        ["phase", key, "weight"] => lines(&|phase, _| phase == key),
        ["phase", key, "vessel"] => {
            let last = formula.phases.iter().position(|phase| phase.key == key)?;
            let count: usize = formula.phases.iter().take(last + 1).map(|phase| phase.lines.len()).sum();
            Some(Scaling::Lines((0..count).collect()))
        }
        // In a phase an address means the first line of its name, elsewhere all of them.
        ["phase", key, material, "weight"] => match lines(&|phase, line| phase == key && line == material)? {
            Scaling::Lines(found) => Some(Scaling::Lines(found.into_iter().take(1).collect())),
            other => Some(other),
        },
        [material, "weight"] => lines(&|_, line| line == material),
        _ => None,
    }
}

impl WeighedMethod {
    /// The step of the weight at a path below the block's id, from one, and what of it the weight is: `vessel`, `with-tare`, or lines
    /// of the formula, counted from zero.
    pub fn scaling(&self, path: &[&str]) -> Option<(String, String)> {
        let ["step", number, rest @ ..] = path else { return None };
        let step = self.steps.get(number.parse::<usize>().ok()?.checked_sub(1)?)?;
        let parts = match rest {
            ["vessel"] => "vessel".to_owned(),
            ["with-tare"] => "with-tare".to_owned(),
            [material, "weight"] => {
                let mut lines: Vec<usize> =
                    step.added.iter().filter(|added| added.written == **material).map(|added| added.line).collect();
                lines.dedup();
                lines.iter().map(usize::to_string).collect::<Vec<_>>().join(" ")
            }
            _ => return None,
        };
        (!parts.is_empty()).then(|| ((*number).to_owned(), parts))
    }
}
