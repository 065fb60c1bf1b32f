//! What a block says, as JSON.

use crate::block::Body;
use serde::Serialize;
use serde_json::Value;

/// A value as JSON, without what is not said.
pub(super) fn value_of(value: &impl Serialize) -> Value {
    let mut value = serde_json::to_value(value).unwrap_or_default();
    leave_out_nulls(&mut value);
    value
}

fn leave_out_nulls(value: &mut Value) {
    match value {
        Value::Object(map) => {
            map.retain(|_, inner| !inner.is_null());
            map.values_mut().for_each(leave_out_nulls);
        }
        Value::Array(list) => list.iter_mut().for_each(leave_out_nulls),
        _ => {}
    }
}

/// What a block that is no formula says. A test demands that no kind of block is without.
pub(super) fn model_of(body: &Body) -> Value {
    match body {
        Body::Declaration(block) => value_of(block),
        Body::Window(block) => value_of(block),
        Body::Method(block) => value_of(block),
        Body::Buffer(block) => value_of(block),
        Body::Dilution(block) => value_of(block),
        Body::Curve(block) => value_of(block),
        Body::Titration(block) => value_of(block),
        Body::BatchRecord(block) => value_of(block),
        Body::Stability(block) => value_of(block),
        Body::Filling(block) => value_of(block),
        Body::Costing(block) => value_of(block),
        Body::ShoppingList(block) => value_of(block),
        Body::Kit(block) => value_of(block),
        Body::Label(block) => value_of(block),
        Body::Saponification(block) => value_of(block),
        Body::Excerpt(block) => value_of(block),
        Body::Comparison(block) => value_of(block),
        Body::TrialSeries(block) => value_of(block),
        Body::Expect(block) => value_of(block),
        Body::Workings(block) => value_of(block),
    }
}
