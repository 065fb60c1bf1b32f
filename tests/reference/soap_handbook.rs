//! Simmons and Appleton, The Handbook of Soap Manufacture (1908), chapter XI, analysis of raw materials. Only what is a matter of
//! shares; its titrations belong to another block.

use super::{Sheet, check, plain};

/// Essential oils: of 70.2 % total alcohols in a geranium oil 17.6 % are combined, so 52.6 % are free.
#[test]
fn free_alcohols() {
    let body = "[phase.A]\nfree = \"q.s. to 100\"\ncombined = 17.6\nothers = 29.8";
    let sheet = Sheet::of(&[plain("free"), plain("combined"), plain("others")], body);
    check(sheet.figure("free/percent"), "52.6");
}
