//! Quantities: masses, volumes, percentages, temperatures, pH and money-safe decimals.
//!
//! First station of the pipeline. Every number that an author types or that a computation yields is one of these types, an
//! exact decimal with a unit. Nothing here reads files, knows Markdown or formats HTML.

mod currency;
mod data;
mod date;
mod elapsed;
mod exact;
mod literal;
mod mass;
mod measure;
mod money;
mod number;
mod range;
mod rounding;
pub mod show;
mod strength;
mod unit;
mod unit_table;
mod unit_value;
mod volume;

pub use currency::Currency;
pub use date::{Date, DateFault};
pub use elapsed::Elapsed;
pub use exact::Exact;
pub use literal::{LiteralFault, read_literal, scan_number};
pub use mass::{Mass, MassUnit};
pub use measure::{Density, Percent, Ph, Temperature};
pub use money::{Money, MoneyFault};
pub use number::{NumberFault, read_decimal, split_number};
pub use range::Range;
pub use rounding::{apportion, apportion_shares, round_half_even, round_to_step};
pub use rust_decimal::Decimal;
pub use strength::{Base, Strength, StrengthFault, StrengthUnit};
pub use unit::{ScannedUnit, Unit, UnitFault, Units};
pub use unit_value::{Misfit, Rounding, UnitValue};
pub use volume::{Spoon, Volume, VolumeUnit};
