//! Pages for students that give one or two worked examples each: study cards, worksheets, course slides, laboratory notes. Volumes
//! are taken as additive there, so they stand as weights here.

use super::{Sheet, check, plain, solution};

/// University of Kent, Student Learning Advisory Service, Pharmacy calculations: ratio strengths. 200 mL of 1 in 500 w/v hold 0.4 g.
#[test]
fn ratio_by_weight_in_volume() {
    let body = "batch = \"200 ml\"\ndensity = \"1 g/ml\"\n[phase.A]\nsalt = \"1 part\"\nwater = \"499 parts\"";
    check(Sheet::of(&[plain("salt")], body).figure("salt/weight"), "0.4");
}

/// Pharmacy calculations study cards: a 10 % zinc oxide ointment with 5 g of zinc oxide takes 45 g of base; 2 L of a 4 % w/v solution
/// take 80 g.
#[test]
fn study_cards() {
    let body = "batch = \"50 g\"\n[phase.A]\nbase = \"q.s. to 100\"\nzinc-oxide = 10";
    let sheet = Sheet::of(&[plain("base")], body);
    check(sheet.figure("zinc-oxide/weight"), "5");
    check(sheet.figure("base/weight"), "45");
    let body = "batch = \"2 l\"\ndensity = \"1 g/ml\"\n[phase.A]\nwater = \"q.s. to 100\"\ndrug = 4";
    check(Sheet::of(&[plain("drug")], body).figure("drug/weight"), "80");
}

/// Teaching page on reducing and enlarging pharmaceutical formulas: 60 g, 30 g and 910 g are 1000 g; the 1.2 g, 0.6 g and 18.2 g of a
/// reduction to 20 g follow from the factor 0.02.
#[test]
fn reducing_an_ointment() {
    let body = "[phase.A]\nbenzoic = \"60 g\"\nsalicylic = \"30 g\"\nbase = \"910 g\"";
    let sheet = Sheet::of(&[plain("benzoic"), plain("salicylic"), plain("base")], body);
    check(sheet.figure("total/weight"), "1000");
    for (line, printed) in [("benzoic", "1.2"), ("salicylic", "0.6"), ("base", "18.2")] {
        check(sheet.figure_for(&format!("{line}/weight"), "20g"), printed);
    }
}

/// Pharmacy calculations worksheet of four solved prescriptions: 80 mL of 85 % and 500 mL of 95 % alcohol, 160 mL of glycerin and
/// water to 1000 mL hold 54.3 %; 3000 mL of 40 %, 1000 mL of 60 % and 1000 mL of 70 % alcohol give 50 %.
#[test]
fn alcohol_in_prescriptions() {
    let body = "batch = \"1000 g\"\n[phase.A]\nwater = \"q.s. to 100\"\ntar = \"80 g\"\nalcohol-95 = \"500 g\"\nsweet = \"160 g\"";
    check(
        Sheet::of(&[solution("tar", "85"), solution("alcohol-95", "95"), solution("sweet", "0")], body).solute(),
        "54.3",
    );
    let body = "[phase.A]\nweak = \"3000 parts\"\nmiddle = \"1000 parts\"\nstrong = \"1000 parts\"";
    let stocks = [solution("weak", "40"), solution("middle", "60"), solution("strong", "70")];
    check(Sheet::of(&stocks, body).solute(), "50");
}

/// Public mathematics question-and-answer page: 25 parts of 30 % and 40 parts of 95 % alcohol make 70 %; the 30 % is 5/13 of it. The
/// page misprints the other share as 9/13; 8/13 is checked.
#[test]
fn alligation_of_two_alcohols() {
    let body = "[phase.A]\nweak = \"25 parts\"\nstrong = \"40 parts\"";
    let sheet = Sheet::of(&[solution("weak", "30"), solution("strong", "95")], body);
    check(sheet.solute(), "70");
    check(sheet.figure("weak/percent") * super::d("13") / super::d("100"), "5.0000");
    check(sheet.figure("strong/percent") * super::d("13") / super::d("100"), "8.0000");
}

/// Public tutoring question-and-answer page: 20 mL of 35 % and 240 mL of 100 % make 260 mL of 95 %.
#[test]
fn alligation_to_a_total() {
    let body = "batch = \"260 g\"\n[phase.A]\npure = \"q.s. to 100\"\nweak = \"20 g\"";
    let sheet = Sheet::of(&[plain("pure"), solution("weak", "35")], body);
    check(sheet.solute(), "95");
    check(sheet.figure("pure/weight"), "240");
}

/// Public mathematics question-and-answer page: 0.0685 L of pure alcohol added to 1 L of 22 % make 27 %.
#[test]
fn strengthening_with_pure_alcohol() {
    let body = "[phase.A]\nweak = \"1000 g\"\npure = \"68.5 g\"";
    check(Sheet::of(&[solution("weak", "22"), plain("pure")], body).solute(), "27.0");
}

/// Stock and water for a total of a lower strength. Course slides "Calculation examples: alcohol percentages": 200 mL of 86 % from
/// 96 % take 179 mL (179.166) and 21 mL of water. Teacher laboratory-skills page "Percent solutions": 50 mL of 70 % from 95 % take
/// 36.8 and 13.2 mL, from 100 % 35 and 15 mL. Laboratory note on preparing 70 % ethanol: 100 mL from 95 % take 73.68 mL.
#[test]
fn diluting_alcohol() {
    for (stock, taken, made, strength, water) in [
        ("96", "179.166", "200", "86.00", "21"),
        ("95", "36.84", "50", "70.0", "13.2"),
        ("100", "35", "50", "70", "15"),
        ("95", "73.68", "100", "70.0", "26.3"),
    ] {
        let body = format!(
            "batch = \"{made} g\"\nbalance = \"0.001 g\"\n[phase.A]\nwater = \"q.s. to 100\"\nstock = \"{taken} g\""
        );
        let sheet = Sheet::of(&[solution("stock", stock)], &body);
        check(sheet.figure("stock/active"), strength);
        check(sheet.figure("water/weight"), water);
    }
}

/// Textbook chapter "Accurate weighing for prescriptions" (basicmedicalkey.com), aliquot method: 120 mg of drug in 7500 mg of mixture
/// take 7380 mg of diluent, and 125 mg of the mixture hold 2 mg.
#[test]
fn aliquot() {
    let body = "batch = \"7500 mg\"\nbalance = \"0.001 g\"\n[phase.A]\ndiluent = \"q.s. to 100\"\ndrug = \"120 mg\"";
    let sheet = Sheet::of(&[plain("diluent"), plain("drug")], body);
    check(sheet.figure("diluent/weight") * super::d("1000"), "7380");
    check(sheet.figure_for("drug/weight", "125mg") * super::d("1000"), "2");
}
