//! What holds for any formula, any text, any expression and any sequence of edits.
//!
//! The seed is fixed, so that a run is as repeatable as every other test; PROPTEST_RNG_SEED and PROPTEST_CASES look further.

#![expect(clippy::indexing_slicing, clippy::panic, reason = "what goes wrong here fails the test")]

mod edits;
mod escaping;
mod expressions;
mod formulas;
mod texts;

use tarebook::quantity::Decimal;

/// Ten-thousandths of a per cent as an author writes the share.
fn percent_text(amount: i64) -> String {
    Decimal::new(amount, 4).normalize().to_string()
}

/// A page from its body on, where nothing of the template's own head stands.
fn without_sheets(page: &str) -> String {
    page.split_once("<body>").map_or("", |(_, body)| body).to_owned()
}
