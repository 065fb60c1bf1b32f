//! Flowers, Theopold, Langley and Robinson, Chemistry, 2nd edition (OpenStax).

use super::{Sheet, check, check_within, d, liquid, plain, solution};
use tarebook::quantity::{Decimal, MassUnit, Temperature};

const ROUNDED_BY_BALANCE: &str = "batch = \"1000 g\"\n[phase.A]\nrest = \"q.s. to 100\"\nsample = ";

/// A weight on a balance of the readability that the example's digits ask for.
#[track_caller]
fn check_rounding(weight: &str, readability: &str, printed: &str) {
    let body = format!("balance = \"{readability} g\"\n{ROUNDED_BY_BALANCE}\"{weight} g\"");
    let sheet = Sheet::of(&[plain("rest"), plain("sample")], &body);
    assert_eq!(sheet.figure("sample/weight"), d(printed));
    assert_eq!(sheet.figure("total/weight"), d("1000"));
}

/// Example 1.3 (a), (c), (d) and its check (b), (c): rounding to significant figures, an exact half to the even digit.
#[test]
fn significant_figures() {
    check_rounding("31.57", "1", "32");
    check_rounding("0.051065", "0.00001", "0.05106");
    check_rounding("0.90275", "0.0001", "0.9028");
    check_rounding("0.0038661", "0.00001", "0.00387");
    check_rounding("421.25", "0.1", "421.2");
}

/// Example 1.4 (a): 1.0023 g + 4.383 g = 5.385 g, to the fewest decimals.
#[test]
fn a_sum_of_weights() {
    let body = "balance = \"0.001 g\"\n[phase.A]\none = \"1.0023 g\"\ntwo = \"4.383 g\"";
    let sheet = Sheet::of(&[plain("one"), plain("two")], body);
    assert_eq!(sheet.figure("total/weight"), d("5.385"));
}

/// Example 1.4 (b): 486 g − 421.23 g = 65 g, to the fewest decimals. Here as the balance line of a batch of 486 g.
#[test]
fn a_difference_of_weights() {
    let body = "batch = \"486 g\"\nbalance = \"1 g\"\n[phase.A]\nrest = \"q.s. to 100\"\none = \"421.23 g\"";
    let sheet = Sheet::of(&[plain("rest"), plain("one")], body);
    assert_eq!(sheet.figure("rest/weight"), d("65"));
}

/// Example 1.6, check, and example 1.5 (b): 30.13 cm³ at 1.034 g/mL weigh 31.1415 g; 486 mL at 0.867 g/mL weigh 421.23 g. Taken
/// the other way round, from volume to weight, within half a unit of the last digit of the printed density.
#[test]
fn a_density() {
    for (volume, density, weight, tolerance) in
        [("30.13", "1.034", "31.1415", "0.0151"), ("486", "0.867", "421.23", "0.243")]
    {
        let body = format!(
            "batch = \"{volume} ml\"\ndensity = \"{density} g/ml\"\nbalance = \"0.0001 g\"\n[phase.A]\none = 100"
        );
        let sheet = Sheet::of(&[plain("one")], &body);
        check_within(sheet.figure("one/weight"), weight, d(tolerance));
    }
}

/// Example 1.8: 125 g are 4.41 oz.
#[test]
fn grams_to_ounces() {
    let sheet = Sheet::of(&[plain("one")], "batch = \"125 g\"\n[phase.A]\none = 100");
    assert_eq!(sheet.printed("one/weight", MassUnit::Ounce, 2), "4.41 oz");
}

/// Example 1.9: 9.26 lb are 4.20 × 10³ g; 4.00 qt (128 fl oz) of it are 3.78 L and the density is 1.11 g/mL. The printed 3.78 L
/// is cut off: 3.785 L are checked.
#[test]
fn pounds_and_fluid_ounces() {
    let sheet = Sheet::of(&[plain("one")], "batch = \"9.26 lb\"\n[phase.A]\none = 100");
    check_within(sheet.figure("one/weight"), "4200", d("5"));
    let sheet =
        Sheet::of(&[plain("one")], "batch = \"128 us fluid ounce\"\ndensity = \"1 g/ml\"\n[phase.A]\none = 100");
    check(
        sheet.printed("one/weight", MassUnit::Kilogram, 5).trim_end_matches(" kg").parse::<Decimal>().unwrap(),
        "3.785",
    );
    let sheet =
        Sheet::of(&[plain("one")], "batch = \"128 us fluid ounce\"\ndensity = \"1.11 g/ml\"\n[phase.A]\none = 100");
    check_within(sheet.figure("one/weight"), "4200", d("20"));
}

/// Example 1.9, check: 1.000 fl oz is 2.957 × 10⁻² L.
#[test]
fn one_fluid_ounce() {
    let body =
        "batch = \"100 g\"\nbalance = \"0.00001 g\"\n[phase.A]\nrest = \"q.s. to 100\"\none = \"1.000 us fluid ounce\"";
    let sheet = Sheet::of(&[plain("rest"), plain("one")], body);
    check(sheet.figure("one/weight"), "29.57");
}

/// Example 1.11, check, and example 1.12: 80.92 °C are 177.66 °F; 450 °F are 230 °C (to two figures). The second through the
/// temperature at which a phase is held.
#[test]
fn degrees() {
    check(Temperature::from_celsius(d("80.92")).fahrenheit(), "177.66");
    let sheet = Sheet::of(&[plain("one")], "[phase.A]\nhold = \"450 °F\"\none = 100");
    let computed = sheet.collection.formula("check").unwrap();
    let (hold, _) = computed.formula.phases[0].hold.as_ref().unwrap();
    check_within(hold.celsius(), "230", d("5"));
}

/// Example 3.22: 3.75 mg of glucose in a sample of 5.0 g are 0.075 %.
#[test]
fn glucose_in_a_sample() {
    let body = "batch = \"5.0 g\"\n[phase.A]\nrest = \"q.s. to 100\"\nglucose = \"3.75 mg\"";
    let sheet = Sheet::of(&[plain("rest"), plain("glucose")], body);
    check(sheet.figure("glucose/percent"), "0.075");
}

/// Example 3.22, check: 135 g of HCl with 775 g of water are 14.8 %.
#[test]
fn acid_in_a_cleaner() {
    let sheet = Sheet::of(&[plain("hcl")], "[phase.A]\nhcl = \"135 g\"\nwater = \"775 g\"");
    check(sheet.figure("hcl/percent"), "14.8");
}

/// Example 3.23, check: 282 mL of 37.2 % acid of 1.19 g/mL hold 125 g of HCl. In a batch of 100 g that per cent and grams are one
/// number the volume is divided by ten.
#[test]
fn acid_by_volume() {
    let stock = super::Stock { id: "acid-stock", percent: "37.2", density: "1.19" };
    let body = "batch = \"100 g\"\n[phase.A]\nrest = \"q.s. to 100\"\nacid-stock = \"28.2 ml\"";
    let sheet = Sheet::of(&[solution("rest", "0"), stock], body);
    check(sheet.solute() * d("10"), "125");
}

/// Example 3.24: 355 mL of 70 % v/v isopropyl alcohol hold 248.5 mL, at 0.785 g/mL 195 g.
#[test]
fn alcohol_by_volume() {
    let body =
        "batch = \"300 g\"\nbalance = \"0.01 g\"\n[phase.A]\nrest = \"q.s. to 100\"\nalcohol-pure = \"248.5 ml\"";
    let sheet = Sheet::of(&[plain("rest"), liquid("alcohol-pure", "0.785")], body);
    check(sheet.figure("alcohol-pure/weight"), "195");
}

/// Example 3.25: 15 ppb (0.015 ppm) of lead in 300 mL of water of 1.00 g/mL are 4.5 µg.
#[test]
fn lead_in_water() {
    let body = "batch = \"300 ml\"\ndensity = \"1.00 g/ml\"\n[phase.A]\nwater = \"q.s. to 100\"\nlead = 0.0000015";
    let sheet = Sheet::of(&[plain("lead")], body);
    check(sheet.exact_weight("lead") * d("1000000"), "4.5");
    check(sheet.figure("lead/percent") * d("10000"), "0.015");
}

/// Examples 3.19 and 3.20 with check, and 3.21 check: c₁V₁ = c₂V₂, here with per cent for mol/L. 0.850 of 5.00 in 1.80 are 2.36;
/// 11 of 0.45 in 41 are 0.12; 0.250 of 1.88 in 3.76 are 0.125; 50.00 of 3.00 in 261 are 0.575.
#[test]
fn dilutions() {
    for (stock, taken, made, printed) in [
        ("5.00", "0.850", "1.80", "2.36"),
        ("0.45", "11", "41", "0.12"),
        ("1.88", "0.250", "3.76", "0.125"),
        ("3.00", "50.00", "261", "0.575"),
    ] {
        let body = format!("batch = \"{made} kg\"\n[phase.A]\nwater = \"q.s. to 100\"\nstock = \"{taken} kg\"");
        let sheet = Sheet::of(&[solution("stock", stock)], &body);
        check(sheet.figure("stock/active"), printed);
    }
}

/// Example 4.15: 0.3181 g of MgSO₄ in a mixture of 0.4550 g are 69.91 %.
#[test]
fn share_of_a_mixture() {
    let body = "batch = \"0.4550 g\"\n[phase.A]\nrest = \"q.s. to 100\"\nmgso4 = \"0.3181 g\"";
    let sheet = Sheet::of(&[plain("rest"), plain("mgso4")], body);
    check(sheet.figure("mgso4/percent"), "69.91");
}
