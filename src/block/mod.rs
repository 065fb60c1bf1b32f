//! What a fenced block may say: TOML text into typed values, each with its place. Names are not looked up here.
//!
//! One file per kind of block. [`KINDS`] is the registry: a new kind is one file and one line.

mod amount;
mod formula;
mod reader;

pub use amount::{Amount, BatchSpec, DropSize, Fill, FillContent, PhSpan, VolumeAmount};
pub use formula::{Balance, Change, FormulaBlock, LineBlock, PhaseBlock, read_formula};
pub(crate) use formula::{is_id, read_balance};
pub use reader::{Cutting, Placed, Reader, Table, as_table, number_text, read_number};

/// The info strings that name a block of ours. Any other fenced code passes through untouched.
pub const KINDS: &[&str] = &["formula"];
