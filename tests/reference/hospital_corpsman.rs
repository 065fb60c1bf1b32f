//! US Navy, Hospital Corpsman 3 & 2 (NAVEDTRA 10669-C), pharmacy chapter.

use super::{Sheet, check, plain};

/// Ratio solutions: 500 g of 1 : 2000 w/w need 0.25 g of solute and 499.75 g of solvent.
#[test]
fn ratio_by_weight() {
    let body = "batch = \"500 g\"\nbalance = \"0.01 g\"\n[phase.A]\nsolute = \"1 part\"\nsolvent = \"1999 parts\"";
    let sheet = Sheet::of(&[plain("solute"), plain("solvent")], body);
    check(sheet.figure("solute/weight"), "0.25");
    check(sheet.figure("solvent/weight"), "499.75");
}

/// Ratio solutions: 500 mL of 1 : 250 v/v need 2 mL of a liquid solute.
#[test]
fn ratio_by_volume() {
    let body = "batch = \"500 ml\"\ndensity = \"1 g/ml\"\n[phase.A]\nsolute = \"1 part\"\nsolvent = \"249 parts\"";
    let sheet = Sheet::of(&[plain("solute"), plain("solvent")], body);
    check(sheet.figure("solute/weight"), "2");
}

/// Enlarging formulas: a lotion with 3 fl dr of glycerin and 1 fl dr of liquefied phenol, made up with water to 4 fl oz (32 fl dr),
/// enlarged to one gallon (128 fl oz): 12 and 4 fl oz. The copy prints the original total as 4 fl dr, which the printed factor of
/// 32 contradicts; 4 fl oz are taken.
#[test]
fn enlarging_to_a_gallon() {
    let stocks = [plain("glycerin-part"), plain("phenol-part"), plain("water-part")];
    let lotion = "density = \"1 g/ml\"\nbalance = \"0.0001 g\"\n[phase.A]\n\
                  glycerin-part = \"3 parts\"\nphenol-part = \"1 part\"\nwater-part = \"28 parts\"";
    let sheet = Sheet::of(&stocks, &format!("batch = \"1 us fluid ounce\"\n{lotion}"));
    let ounce = sheet.figure("total/weight");
    let gallon = Sheet::of(&stocks, &format!("batch = \"128 us fluid ounce\"\n{lotion}"));
    check(gallon.figure("glycerin-part/weight") / ounce, "12");
    check(gallon.figure("phenol-part/weight") / ounce, "4");
    check(gallon.figure("total/weight") / ounce, "128");
}
