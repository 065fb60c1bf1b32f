//! ASTM E29, Standard Practice for Using Significant Digits in Test Data to Determine Conformance with Specifications, through
//! the public manuals that explain it with numbers. The standard itself was not at hand.

use super::{Sheet, d, plain};

/// The sheet rounds a weight to the balance's readability, the balance line takes the difference.
#[track_caller]
fn check_on_balance(weight: &str, readability: &str, printed: &str) {
    let body = format!(
        "batch = \"100 g\"\nbalance = \"{readability} g\"\n[phase.A]\nrest = \"q.s. to 100\"\nsample = \"{weight} g\""
    );
    let sheet = Sheet::of(&[plain("rest"), plain("sample")], &body);
    assert_eq!(sheet.figure("sample/weight"), d(printed));
    assert_eq!(sheet.figure("rest/weight"), d("100") - d(printed));
}

/// State field sampling and testing manual, rounding procedures after ASTM E29: to the nearest tenth, a half to the even digit,
/// and more than a half up.
#[test]
fn to_the_nearest_tenth() {
    check_on_balance("45.74", "0.1", "45.7");
    check_on_balance("45.76", "0.1", "45.8");
    check_on_balance("45.45", "0.1", "45.4");
    check_on_balance("45.45001", "0.1", "45.5");
}

/// State materials instruction IM 202, procedure for rounding data (modified ASTM E29): 1.861 to the nearest hundredth. The
/// instruction rounds halves up, so only its example that is no half is checked.
#[test]
fn to_the_nearest_hundredth() {
    check_on_balance("1.861", "0.01", "1.86");
}

/// Ontario laboratory testing manual, LS-100, method for rounding-off: 1.347 is 1.35 to two decimals and 1.3 to one, in one step;
/// through 1.35 it would be 1.4.
#[test]
fn in_one_step() {
    check_on_balance("1.347", "0.01", "1.35");
    check_on_balance("1.347", "0.1", "1.3");
}
