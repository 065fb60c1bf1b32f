//! Talbot, An Introductory Course of Quantitative Chemical Analysis, 6th edition, Problems, volumetric analysis. The book works
//! with four-place logarithms and says that the last figure may vary by one. Normalities stand as per cent here: they mix alike.

use super::{Sheet, Stock, check, check_within, d, solution};

/// No. 5: 1 mL of acid of sp. gr. 1.12 and 23.81 % w/w holds 0.2667 g of HCl. In a batch of 100 g per cent and grams are one number.
#[test]
fn grams_in_a_millilitre() {
    let stock = Stock { id: "acid-stock", percent: "23.81", density: "1.12" };
    let body = "batch = \"100 g\"\n[phase.A]\nrest = \"q.s. to 100\"\nacid-stock = \"1 ml\"";
    check(Sheet::of(&[solution("rest", "0"), stock], body).solute(), "0.2667");
}

/// No. 6: mL of acid of sp. gr. 1.20 and 39.80 % w/w that hold 36.45 g of HCl. Printed are 76.33; 76.32 is right and checked.
#[test]
fn millilitres_for_a_weight() {
    let stock = Stock { id: "acid-stock", percent: "39.80", density: "1.20" };
    let body = "batch = \"100 g\"\n[phase.A]\nrest = \"q.s. to 100\"\nacid-stock = \"76.32 ml\"";
    check(Sheet::of(&[solution("rest", "0"), stock], body).solute(), "36.45");
}

/// No. 9: 42.75 mL of 0.5162 N are as much as 22.07 mL of 1 N. As 42.75 parts made up to 100.
#[test]
fn as_much_of_normal() {
    let body = "[phase.A]\nwater = \"q.s. to 100\"\nstock = 42.75";
    check(Sheet::of(&[solution("stock", "51.62")], body).figure("stock/active"), "22.07");
}

/// No. 17: 9.0 mL of water to 100 mL of alkali (0.5446 N, from 1.117 × 0.4876) make 0.5 N. Printed are 9.0; 8.93 mL is exact, so the
/// check is within a tenth of a millilitre.
#[test]
fn water_to_make_half_normal() {
    let body = "batch = \"108.93 g\"\nbalance = \"0.01 g\"\n[phase.A]\nwater = \"q.s. to 100\"\nstock = \"100 g\"";
    let sheet = Sheet::of(&[solution("stock", "54.46492")], body);
    check(sheet.figure("stock/active"), "50.00");
    check_within(sheet.figure("water/weight"), "9.0", d("0.1"));
}

/// No. 32: 25 mL of 3 N acid added to 300 mL of 0.4 N make 0.6 N.
#[test]
fn strengthening_an_acid() {
    let body = "[phase.A]\nweak = \"300 g\"\nstrong = \"25 g\"";
    check(Sheet::of(&[solution("weak", "4"), solution("strong", "30")], body).solute(), "6.0");
}
