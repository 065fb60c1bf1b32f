//! WHO Guidelines on Hand Hygiene in Health Care (2009), Part I, section 12: the two handrub formulations for 10 litres. The volumes
//! were read, the final strengths are from memory. Volumes are taken as additive, as there.

use super::{Sheet, check, check_within, d, solution};

const FIRST: &str = "[phase.A]\nethanol-stock = \"8333 parts\"\nperoxide = \"417 parts\"\nglycerol = \"145 parts\"\nboiled-water = \"1105 parts\"";

fn first(head: &str) -> Sheet {
    let stocks = [
        solution("ethanol-stock", "96"),
        solution("peroxide", "0"),
        solution("glycerol", "0"),
        solution("boiled-water", "0"),
    ];
    Sheet::of(&stocks, &format!("{head}\n{FIRST}"))
}

/// Formulation 1: 8333 mL of 96 % ethanol in 10 L are 80 % v/v.
#[test]
fn ethanol() {
    check(first("").solute(), "80");
}

/// Formulation 1: 145 mL of glycerol in 10 L are 1.45 % v/v; its 98 % purity is passed over there.
#[test]
fn glycerol() {
    check(first("").figure("glycerol/percent"), "1.45");
}

/// Formulation 2: 7515 mL of 99.8 % isopropyl alcohol in 10 L are 75 % v/v.
#[test]
fn isopropyl_alcohol() {
    let body = "[phase.A]\nalcohol-stock = \"7515 parts\"\nrest = \"2485 parts\"";
    check(Sheet::of(&[solution("alcohol-stock", "99.8"), solution("rest", "0")], body).solute(), "75");
}

/// Reduced to 1 L, science-education page quoting the WHO guide: 833, 42 and 15 mL. The page rounds 14.5 up; the exact weights are
/// checked, and the sheet itself puts the half to the even side.
#[test]
fn reduced_to_a_litre() {
    let sheet = first("batch = \"1 l\"\ndensity = \"1 g/ml\"\nbalance = \"1 g\"");
    check(sheet.exact_weight("ethanol-stock"), "833");
    check(sheet.exact_weight("peroxide"), "42");
    check_within(sheet.exact_weight("glycerol"), "15", d("0.5"));
    check(sheet.figure("total/weight"), "1000");
}
