//! OIML R 22, International alcoholometric tables (1975): strengths worked out from its general formula at 20 °C.

use super::{Sheet, check};

/// 96 % v/v is 93.84 % w/w at 807.42 kg/m³: the catalogue's ethanol of 96 % v/v, 100 ml of it.
#[test]
fn ethanol_of_96_per_cent() {
    let body = "batch = \"200 g\"\nbalance = \"0.001 g\"\n[phase.A]\nwater = \"q.s. to 100\"\nethanol-96 = \"100 ml\"";
    let sheet = Sheet::of(&[], body);
    check(sheet.figure("ethanol-96/weight"), "80.742");
    let computed = sheet.collection.formula("check").unwrap();
    let alcohol = computed.composition.substances.get("Alcohol").unwrap().typical;
    // Grams of alcohol in 200 g of product, from the 80.742 g of the stock.
    check(alcohol * super::d("2") / super::d("80.742") * super::d("100"), "93.84");
}

/// 70 % v/v is 62.39 % w/w at 885.56 kg/m³: so much ethanol of 96 % v/v (93.84 % w/w) that a product holds it.
#[test]
fn seventy_per_cent_by_volume() {
    let body = "[phase.A]\nwater = \"q.s. to 100\"\nethanol-96 = 66.49";
    let sheet = Sheet::of(&[], body);
    check(sheet.figure("ethanol-96/active"), "62.39");
}
