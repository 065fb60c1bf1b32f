//! A formula, phase, method or step shown once more: the same figures, for its own batch or another.

use super::{Computed, WeighedMethod};
use crate::block::Column;
use crate::model::{Batch, BatchGiven, Phase};
use crate::quantity::Mass;
use crate::report::Finding;

/// What an excerpt shows.
#[derive(Clone, Debug)]
pub struct Excerpt {
    /// The id of the formula or method.
    pub of: String,
    /// The part.
    pub part: ExcerptPart,
    /// Columns to be filled in by hand.
    pub blank: Vec<Column>,
    /// Columns that are left out.
    pub without: Vec<Column>,
    /// The cautions of what is shown, which go with every copy.
    pub cautions: Vec<Finding>,
}

/// The part that is shown.
#[derive(Clone, Debug)]
pub enum ExcerptPart {
    /// A formula, or one phase of it, with the index of its first line.
    Formula {
        /// The formula, weighed for the batch that is shown.
        computed: Box<Computed>,
        /// The phase, when it is only one.
        phase: Option<usize>,
    },
    /// A method, or one step of it.
    Method {
        /// The method.
        method: Box<WeighedMethod>,
        /// The step, counted from zero, when it is only one.
        step: Option<usize>,
    },
}

impl Excerpt {
    /// The phases that are shown of a formula, each with the index of its first line.
    pub fn phases(computed: &Computed, only: Option<usize>) -> Vec<(usize, &Phase)> {
        let mut first = 0;
        let mut phases = Vec::new();
        for (index, phase) in computed.formula.phases.iter().enumerate() {
            if only.is_none_or(|only| only == index) {
                phases.push((first, phase));
            }
            first += phase.lines.len();
        }
        phases
    }
}

/// A formula weighed for another batch.
pub fn for_batch(computed: &Computed, mass: Mass) -> Computed {
    let mut formula = computed.formula.clone();
    formula.batch = Batch { mass, given: BatchGiven::Mass };
    Computed::new(formula)
}
