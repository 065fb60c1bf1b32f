//! The calculations: pure functions from a resolved formula to figures that can show their working.
//!
//! One file per calculation. Nothing here reads files, knows Markdown or makes HTML; figures are formatted in `page/`.

mod active_matter;
mod address;
mod address_of_rules;
mod answer;
mod batch_record;
mod buffer;
mod check_value;
mod comparison;
mod composition;
mod costing;
mod curve;
mod declaration;
mod dilution;
mod dissociation;
mod emulsion;
mod excerpt;
mod expect;
mod figure;
mod figures;
mod filling;
mod interpolation;
mod kit;
mod label;
mod method;
mod need;
mod robust_slope;
mod saponification;
mod scaling;
mod sheet;
mod shopping_list;
mod solution;
mod stability;
mod titration;
mod trial_series;
mod weighing;
mod windows;
mod workings;

pub use active_matter::{ActiveMatter, LineActive, active_of_line, active_of_material};
pub use address::{AddressFault, address_tree, look_up, read_batch_size};
pub use address_of_rules::Backing;
pub use answer::Answer;
pub use batch_record::{
    Account, BatchRecord, LotPart, RecordFault, RecordLine, Stage, Tolerance, TopUp, ends_of, step_of,
};
pub(crate) use buffer::{BEYOND, WELL_WITHIN};
pub use buffer::{Buffer, BufferAcid, BufferFault, BufferLine, Dose, SolutionState};
pub use check_value::check_value;
pub(crate) use check_value::fnv_step;
pub use comparison::{
    Cell, Change, Compared, Comparison, FoundChanges, OrderChange, Row, Side as ComparedSide, SideBySide, Step,
    order_changes,
};
pub use composition::{
    Composition, components_of_line as components_of, composition_of, has_strength, percent_of_substances,
    usual_strength, water_of, watery_of,
};
pub use costing::{CostLine, Costing, CostingFault, Extra, MaterialsCost, NoPrice, Sort, UsedPrice};
pub(crate) use curve::LEAST_POINTS;
pub use curve::{Axis, Curve, CurveFault, CurvePoint, Peak, Reached, Side};
pub use declaration::{Declaration, Group, Ingredient, OpenAllergen, OpenPair, Rules};
pub(crate) use dilution::amount_text;
pub use dilution::{Amounts, Dilution, DilutionFault, Portion, Reach};
pub(crate) use dissociation::preserving_acid;
pub use dissociation::{Least, WeakAcid, rests_on_weak_acids, undissociated_share, weak_acids};
pub(crate) use emulsion::is_oil;
pub use emulsion::{Emulsion, NoGuide, Part, Split};
pub use excerpt::{Excerpt, ExcerptPart, for_batch};
pub use expect::{Expect, HeldRow, Miss, Off};
pub use figure::{Figure, Piece, Value, Working};
pub(crate) use figures::slug_of;
pub use figures::{
    active_figure, batch_figure, class_figure, fill_figure, line_active_figure, line_percent_figure,
    line_weight_figure, phase_percent_figure, phase_weight_figure, total_percent_figure, total_weight_figure,
    units_figure, vessel_figure, water_figure,
};
pub use filling::{Filling, FillingFault, tolerable_negative_error};
pub use interpolation::{Crossing, INTERPOLATION_SOURCE, Knot, Pchip};
pub use kit::{Cup, Kit, KitPart, KitPhase, KitTotal};
pub use label::{
    DueWords, Durability, Label, LabelCheck, LabelSources, LabelState, Proof, durability_of, letter_height,
};
pub use method::{Added, Came, Held, Meeting, Poured, WeighedMethod, WeighedStep};
pub use need::{Need, needs_of};
pub(crate) use robust_slope::SLOPE_SOURCE;
pub use robust_slope::{RobustSlope, Slope};
pub use saponification::{Alkali, Fat, Lye, Outcome, Profile, Rescue, Saponification, SaponificationFault};
pub(crate) use saponification::{MOST, span};
pub use scaling::{Scaling, scaling_of};
pub use sheet::Sheet;
pub use shopping_list::{ListLine, ListShare, ListWanted, Made, MadeEntry, Packs, Purchase, ShoppingList};
pub(crate) use stability::no_drift_words;
pub use stability::{
    Check, CheckState, Condition, Drift, Due, Fit, LEAST_DAYS, LEAST_READINGS, Leaves, Look, Measure, NoDrift, Reading,
    Row as SeenRow, Seen, Stability, StabilityFault, Standing, Watched,
};
pub use titration::{Effect, Titrated, Titration, TitrationFault, with_dose};
pub use trial_series::{Bounds, Choice, Column, Outside, Trial, TrialFault, TrialSeries, Tried, Varied};
pub use weighing::{Predilution, WeighingError, predilution, weighing_error};
pub(crate) use windows::SHARE_SOURCE;
pub use windows::{HeatWindows, LineHeat, LineWindow, PhWindows, Span, Windows, span_words};
pub use workings::{WorkedLine, Workings, WorkingsFault, WorkingsWhy, is_quantity};

use crate::model::Formula;

/// A formula with everything computed from it.
#[derive(Clone, Debug)]
pub struct Computed {
    /// The formula.
    pub formula: Formula,
    /// The weighing sheet for the formula's own batch.
    pub sheet: Sheet,
    /// Surfactant active matter.
    pub active: ActiveMatter,
    /// Substances as formulated.
    pub composition: Composition,
    /// The short check value.
    pub check: String,
}

impl Computed {
    /// Computes everything of a formula.
    pub fn new(formula: Formula) -> Computed {
        let sheet = Sheet::new(&formula, formula.batch.mass);
        let active = ActiveMatter::of(&formula);
        let as_formulated: Vec<_> = formula.lines().map(|line| formula.percent(line).value()).collect();
        let composition = composition_of(&formula, &as_formulated);
        let check = check_value(&formula, &sheet, &active);
        Computed { formula, sheet, active, composition, check }
    }
}
