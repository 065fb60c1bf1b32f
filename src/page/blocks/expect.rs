//! Expectations as their template sees them.

use super::super::context::{NumberContext, number_context};
use crate::compute::{Expect, Value};
use serde::Serialize;

/// The part of the context `b` that belongs to expectations.
#[derive(Debug, Serialize)]
pub(super) struct ExpectContext {
    rows: Vec<RowContext>,
}

#[derive(Debug, Serialize)]
struct RowContext {
    address: String,
    expected: String,
    within: String,
    typical: bool,
    words: bool,
    found: NumberContext,
}

pub(super) fn context(expect: &Expect) -> ExpectContext {
    let rows = expect.rows.iter().map(|row| RowContext {
        address: row.address.clone(),
        expected: super::super::text::spaced(&row.expected),
        within: row.within.as_ref().map(crate::quantity::UnitValue::text).unwrap_or_default(),
        typical: row.is_typical,
        words: matches!(row.figure.value, Value::Text(_)),
        found: number_context(&row.figure, None, None),
    });
    ExpectContext { rows: rows.collect() }
}
