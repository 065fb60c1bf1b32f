//! Cautions: what may harm somebody or the batch, judged on a computed formula.
//!
//! One caution, one file: its kind with the words that hold for every case, and the check. [`REGISTRY`] lists them; a new
//! caution is one file and one line. A check reads the [`Case`] and adds findings, each with its figures and its source.

mod active_matter_outside;
mod batch_record;
mod below_melting_point;
mod buffer;
mod charges_meet;
pub(crate) mod claims;
mod comparison;
mod costing;
mod counted;
mod curve;
mod declaration;
mod dilution;
mod dosed_outside;
mod expect;
mod filling;
mod goes_not_with;
mod handling;
mod held_too_hot;
mod kit;
mod label;
mod label_warning;
mod little_emulsifier;
mod little_undissociated;
pub(crate) mod loose;
mod lot;
mod lye_with_fats;
mod method;
mod oil_without_solubiliser;
mod outside_limit_ph;
mod over_limit;
mod ph_outside_window;
mod ph_unusual_for_product;
mod plant_water;
mod poorly_weighed;
mod preservative_cover;
mod product_not_stated;
mod saponification;
mod shopping_list;
mod stability;
mod strength_unknown;
mod thickener_not_set;
mod titration;
mod trial_series;
mod use_level_outside;
mod water_without_preservative;
mod weak_hand_rub;
mod workings;

pub use batch_record::{RecordCase, examine_batch_record, is_of_batches, number_twice, record_faults};
pub use buffer::examine_buffer;
pub use comparison::{changes_at_once, changes_at_once_in_full, examine_comparison};
pub use costing::{costing_fault, examine_costing};
pub use curve::{curve_faults, examine_curve};
pub use declaration::examine_declaration;
pub use dilution::{dilution_fault, examine_dilution};
pub use expect::expect_fault;
pub use filling::{examine_filling, filling_fault};
pub use kit::examine_kit;
pub use label::{examine_label, label_fault};
pub use label_warning::{LabelWarning, label_warnings};
pub use method::examine_method;
pub use saponification::{examine_saponification, saponification_faults};
pub use shopping_list::examine_shopping_list;
pub use stability::{StabilityCase, examine_stability, stability_faults};
pub use titration::{TitrationCase, examine_titration, titration_faults};
pub use trial_series::{examine_trial_series, trial_faults};
pub(crate) use trial_series::{miss_words, wanted_words};
pub use workings::workings_fault;

use crate::compute::Computed;
use crate::material::{Catalogue, Known, Use};
use crate::model::{Line, Settings};
use crate::report::{Finding, Kind, Place};

/// What a check may look at.
#[derive(Clone, Copy)]
pub struct Case<'a> {
    /// The formula with everything computed.
    pub computed: &'a Computed,
    /// Materials, substances, limits, hazards.
    pub catalogue: &'a Catalogue,
    /// Rule sets and the like.
    pub settings: &'a Settings,
}

impl<'a> Case<'a> {
    /// The id of the formula.
    fn id(&self) -> &'a str {
        &self.computed.formula.id
    }

    /// How the product is used, when its type is stated.
    fn product_use(&self) -> Option<Use> {
        self.computed.formula.product.as_ref().map(|product| product.product_use)
    }

    /// All lines with their index.
    fn lines(&self) -> impl Iterator<Item = (usize, &'a Line)> + use<'a> {
        self.computed.formula.lines().enumerate()
    }
}

/// A caution: the kinds of finding it raises, and the check.
pub struct Caution {
    /// Its kinds.
    pub kinds: &'static [&'static Kind],
    /// The check.
    pub examine: fn(&Case<'_>, &mut Vec<Finding>),
}

/// Every caution.
pub const REGISTRY: &[Caution] = &[
    product_not_stated::CAUTION,
    strength_unknown::CAUTION,
    use_level_outside::CAUTION,
    active_matter_outside::CAUTION,
    water_without_preservative::CAUTION,
    weak_hand_rub::CAUTION,
    over_limit::CAUTION,
    outside_limit_ph::CAUTION,
    ph_outside_window::CAUTION,
    dosed_outside::CAUTION,
    ph_unusual_for_product::CAUTION,
    little_undissociated::CAUTION,
    held_too_hot::CAUTION,
    below_melting_point::CAUTION,
    preservative_cover::CAUTION,
    charges_meet::CAUTION,
    goes_not_with::CAUTION,
    thickener_not_set::CAUTION,
    oil_without_solubiliser::CAUTION,
    little_emulsifier::CAUTION,
    plant_water::CAUTION,
    lye_with_fats::CAUTION,
    poorly_weighed::CAUTION,
    handling::CAUTION,
    label_warning::CAUTION,
    lot::CAUTION,
];

/// The kinds of what is said about blocks that build on formulas; each is examined when its block is computed.
const OF_BLOCKS: &[&[&Kind]] = &[
    declaration::KINDS,
    method::KINDS,
    buffer::KINDS,
    dilution::KINDS,
    filling::KINDS,
    costing::KINDS,
    shopping_list::KINDS,
    kit::KINDS,
    label::KINDS,
    saponification::KINDS,
    expect::KINDS,
    workings::KINDS,
    curve::KINDS,
    titration::KINDS,
    batch_record::KINDS,
    stability::KINDS,
    comparison::KINDS,
    trial_series::KINDS,
];

/// The kinds of what is said about the prose of a notebook; [`claims::judge`] and [`loose::judge`] go through it.
const OF_PROSE: &[&[&Kind]] = &[claims::KINDS, loose::KINDS];

/// The kinds of all cautions.
pub fn kinds() -> impl Iterator<Item = &'static Kind> {
    let others = OF_BLOCKS.iter().chain(OF_PROSE).copied().flatten();
    REGISTRY.iter().flat_map(|caution| caution.kinds).chain(others).copied()
}

/// The entry of a rule as a finding names it, with how it is known when it was not read.
fn source_of(entry: &str, how: Known) -> String {
    match how {
        Known::Published => entry.to_owned(),
        Known::CommonPractice | Known::Memory => format!("{entry} ({})", how.words()),
    }
}

/// Everything that is to be said about a formula.
pub fn examine(case: &Case<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for caution in REGISTRY {
        (caution.examine)(case, &mut findings);
    }
    // One cause, one message: a line over a legal limit is not also said to be above its usual maximum.
    let over: Vec<Place> = findings
        .iter()
        .filter(|finding| ["over-limit", "over-advised-limit"].contains(&finding.kind.name))
        .map(|finding| finding.place.clone())
        .collect();
    findings.retain(|finding| finding.kind.name != "above-use-level" || !over.contains(&finding.place));
    // Nor is what the pH or the dose leaves of a weak acid said beside the caution about that pH or that dose.
    let is_said = ["preservative-outside-ph", "no-ph-for-both", "preservative-too-low"];
    if findings.iter().any(|finding| is_said.contains(&finding.kind.name)) {
        findings.retain(|finding| finding.kind.name != "little-undissociated");
    }
    findings
}
