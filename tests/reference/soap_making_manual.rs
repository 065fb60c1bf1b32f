//! Thomssen, Soap-Making Manual (1922): chapter on analytical methods, tables of weights and measures.

use super::{Sheet, check, plain};

/// Analytical methods: 0.4886 g of KOH in 0.505 g of caustic potash. Printed are 96.73 %; the figures give 96.75 %, which is checked.
#[test]
fn purity_of_caustic_potash() {
    let body = "batch = \"0.505 g\"\n[phase.A]\nrest = \"q.s. to 100\"\nkoh = \"0.4886 g\"";
    let sheet = Sheet::of(&[plain("rest"), plain("koh")], body);
    check(sheet.figure("koh/percent"), "96.75");
}

/// Tables of weights and measures: 1 gallon = 128 fl oz, 1 lb avoirdupois = 16 oz.
#[test]
fn weights_and_measures() {
    let weigh =
        |amount: &str| Sheet::of(&[plain("one")], &format!("[phase.A]\none = \"{amount}\"")).exact_weight("one");
    assert_eq!(weigh("1 lb"), weigh("16 oz"));
    // The US gallon is 231 cubic inches of 16.387 064 mL (NIST Handbook 44, Appendix C).
    assert_eq!(weigh("128 us fluid ounce"), super::d("231") * super::d("16.387064"));
}
