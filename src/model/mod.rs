//! The model: formulas with their variants worked out and every name resolved against the catalogue.
//!
//! What a block says becomes what it means: a line's id becomes a raw material, `based-on` becomes the parent's lines with the
//! changes made, the product type becomes its table. What cannot be resolved is reported here, and the formula is then not
//! computed, so that no figure rests on a line that was left out.

mod errata;
mod formula;
mod method;
mod rates;
mod resolve;
mod settings;
mod variant;

pub use errata::{ERRATA_HEAD, Erratum, ErratumNumber, errata_path, notebook_of_errata, read_errata};
pub use formula::{Basis, Batch, BatchGiven, Formula, Line, Phase, VariantOf};
pub use method::{Method, Portion, Step, Vessel, resolve_method};
pub use rates::{Rate, Rates};
pub use resolve::resolve;
pub use settings::Settings;
pub use variant::expand;
pub(crate) use variant::parent_failed;
