//! Regulation (EC) No 1223/2009, Annex VI, sun filters: the Commission's export of the annexes (CosIng), last updated 28 August 2026,
//! and the amending acts named at each figure.

use super::rules::Trial;

const FACE: Trial = Trial { rules: "eu", product: "face cream", function: "UV filter" };
const BODY: Trial = Trial { product: "body lotion", ..FACE };
const HAIR: Trial = Trial { product: "leave-in", ..FACE };

/// Entries 6, 7, 8, 10, 12, 15, 20, 23, 25, 26, 27, 28, 30 and 33: one ceiling for all products.
#[test]
fn ceilings_that_are_the_same_in_all_products() {
    for (inci, ceiling) in [
        ("Phenylbenzimidazole Sulfonic Acid", "8"),
        ("Terephthalylidene Dicamphor Sulfonic Acid", "10"),
        ("Butyl Methoxydibenzoylmethane", "5"),
        ("Octocrylene", "10"),
        ("Ethylhexyl Methoxycinnamate", "10"),
        ("Ethylhexyl Triazone", "5"),
        ("Ethylhexyl Salicylate", "5"),
        ("Methylene Bis-Benzotriazolyl Tetramethylbutylphenol", "10"),
        ("Bis-Ethylhexyloxyphenol Methoxyphenyl Triazine", "10"),
        ("Polysilicone-15", "10"),
        ("Titanium Dioxide", "25"),
        ("Diethylamino Hydroxybenzoyl Hexyl Benzoate", "10"),
        ("Zinc Oxide", "25"),
        ("Bis-(Diethylaminohydroxybenzoyl Benzoyl) Piperazine", "10"),
    ] {
        FACE.check_ceiling(inci, ceiling);
        BODY.check_ceiling(inci, ceiling);
    }
}

/// Entry 3, Regulation (EU) 2022/2195: homosalate in face products only.
#[test]
fn homosalate() {
    FACE.check_ceiling("Homosalate", "7.34");
    BODY.check_ban("Homosalate");
}

/// Entry 4, Regulation (EU) 2022/1176: benzophenone-3 by the part of the body, and 0.5 % that protects the product. It is named on the
/// label above that.
#[test]
fn benzophenone_3() {
    FACE.check_ceiling("Benzophenone-3", "6");
    Trial { product: "hand cream", ..FACE }.check_ceiling("Benzophenone-3", "6");
    Trial { product: "lip balm", ..FACE }.check_ceiling("Benzophenone-3", "6");
    BODY.check_ceiling("Benzophenone-3", "2.2");
    HAIR.check_ceiling("Benzophenone-3", "0.5");
    assert_eq!(BODY.findings("label-warning", "Benzophenone-3", super::d("0.5")), Vec::<String>::new());
    assert_eq!(BODY.findings("label-warning", "Benzophenone-3", super::d("0.51")).len(), 1);
}

/// Entry 6, as the acid: 274.295 ÷ 296.277 = 0.92581 for the sodium salt, so 8.641 %.
#[test]
fn phenylbenzimidazole_sulfonates() {
    BODY.check_between("Sodium Phenylbenzimidazole Sulfonate", "8.641", "8.642", "8");
}

/// Zinc oxide and titanium dioxide that only colour are not judged as filters.
#[test]
fn pigments_are_no_filters() {
    let colour = Trial { function: "colour", ..FACE };
    assert_eq!(colour.findings("over-limit", "Zinc Oxide", super::d("30")), Vec::<String>::new());
    assert_eq!(colour.findings("over-limit", "Titanium Dioxide", super::d("30")), Vec::<String>::new());
}
