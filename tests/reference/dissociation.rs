//! Undissociated shares of weak acids: acidity constants and buffer tables as published, each named at its check. The equation holds for dilute
//! solutions in water at 25 °C, so a mixture at real strength is checked with the constant that holds in it.

use super::d;
use tarebook::compute::undissociated_share;
use tarebook::quantity::Decimal;

/// The share in per cent is the printed one within so much.
#[track_caller]
fn check(ph: &str, pka: &[&str], printed: &str, tolerance: &str) {
    let pka: Vec<Decimal> = pka.iter().map(|step| d(step)).collect();
    let share = undissociated_share(d(ph), &pka) * Decimal::ONE_HUNDRED;
    let off = (share - d(printed)).abs();
    assert!(off <= d(tolerance), "pH {ph}: {share} % is {off} off the published {printed} %");
}

/// Where the pH equals the constant, half is undissociated: the definition of pKa (IUPAC, Compendium of Chemical Terminology) with
/// benzoic acid 4.21 (J. Res. NBS 71A (1967) 379, table 1), sorbic acid 4.76 (encyclopaedia article, property box), acetic 4.757,
/// propionic 4.874, formic 3.745 (NIST Database 46).
#[test]
fn half_at_the_constant() {
    for pka in ["4.21", "4.76", "4.757", "4.874", "3.745"] {
        check(pka, &[pka], "50", "0");
    }
}

/// Sodium benzoate, supplier technical data: about 94 % undissociated at pH 3, about 1.5 % at pH 6. The constant is that of the NBS.
#[test]
fn benzoic_acid_at_two_ends() {
    check("3", &["4.21"], "94", "0.5");
    check("6", &["4.21"], "1.5", "0.15");
}

/// OpenStax, Chemistry 2e, Example 14.20 (a): 0.10 M acetic acid and as much acetate, Ka 1.8 × 10⁻⁵ (pKa 4.745), have pH 4.74.
#[test]
fn acetic_acid_with_as_much_acetate() {
    check("4.74", &["4.745"], "50", "0.6");
}

/// OpenStax, Chemistry 2e, Example 14.22, check: 50.0 mL of 0.100 M formic acid, Ka 1.8 × 10⁻⁴ (pKa 3.745). With 15.0 mL of 0.200 M
/// sodium hydroxide two fifths of the acid are left, at pH 3.92. With none the pH is 2.37: 4.3 of 100 mmol/L have fallen apart.
#[test]
fn formic_acid_in_a_titration() {
    check("3.92", &["3.745"], "40", "0.3");
    check("2.37", &["3.745"], "95.7", "0.4");
}

/// Acetate buffers of 0.1 mol/L: Pearse, Histochemistry (1980), table, the proportions of the Walpole series, millilitres of acid in
/// 200. The constant at this strength is the one that its row of pH 4.6 gives, 4.617. In the rows at both ends the acid
/// itself falls apart a little and the salt takes up some of the water's protons, which the table counts and the equation does not.
#[test]
fn acetate_buffers() {
    let rows = [
        ("3.6", 185),
        ("3.8", 176),
        ("4.0", 164),
        ("4.2", 147),
        ("4.4", 126),
        ("4.6", 102),
        ("4.8", 80),
        ("5.0", 59),
        ("5.2", 42),
        ("5.4", 29),
        ("5.6", 19),
    ];
    for (ph, acid) in rows {
        let percent = Decimal::new(acid * 5, 1).to_string();
        check(ph, &["4.617"], &percent, "1.5");
    }
}

/// A step further than the first leaves the share alone while it is far away: salicylic acid, 3.1 and 13.7 (NIST Database 46).
#[test]
fn salicylic_acid_has_one_step_that_counts() {
    for ph in ["2.0", "3.1", "5.0"] {
        assert_eq!(undissociated_share(d(ph), &[d("3.1"), d("13.7")]), undissociated_share(d(ph), &[d("3.1")]));
    }
    check("3.1", &["3.1", "13.7"], "50", "0.001");
}

/// Two steps close together both count: midway between the steps of succinic acid, 4.21 and 5.64 (table of organic acids, aqion.de/sd/178),
/// as much is whole as has lost two protons, and the rest has lost one. From 10^(½ × 1.43) = 5.188: 1 ÷ (2 + 5.188).
#[test]
fn succinic_acid_between_its_steps() {
    check("4.925", &["4.21", "5.64"], "13.91", "0.01");
}

/// A unit above the constant one part in eleven is left, two units one in 101: arithmetic of the definition, with dehydroacetic acid 5.27 (from
/// memory: CRC Handbook of Chemistry and Physics), levulinic acid 4.64 and p-anisic acid 4.47 (from memory: the same).
#[test]
fn a_unit_and_two_above() {
    for (one, two, pka) in [("6.27", "7.27", "5.27"), ("5.64", "6.64", "4.64"), ("5.47", "6.47", "4.47")] {
        check(one, &[pka], "9.090909", "0.000001");
        check(two, &[pka], "0.990099", "0.000001");
    }
}

/// The extremes stay within 0 and 1.
#[test]
fn the_ends_of_the_scale() {
    check("0", &["4.21"], "99.994", "0.001");
    let share = undissociated_share(d("14"), &[d("4.21")]);
    assert!(share > Decimal::ZERO && share < d("0.000000001"), "{share}");
}
