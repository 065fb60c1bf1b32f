//! Rules of the United States: OTC Monograph M020 for sunscreens (orders OTC000006 and OTC000039; nine of the figures stand in
//! 21 CFR 352.10, which is stayed), 21 CFR part 700 subpart B, 21 CFR 740.17, and what the expert panel and the agency advise.

use super::rules::Trial;

const SUNSCREEN: Trial = Trial { rules: "us", product: "body lotion", function: "UV filter" };

/// M020, the highest strength of each filter.
#[test]
fn sunscreen_monograph() {
    for (inci, ceiling) in [
        ("Butyl Methoxydibenzoylmethane", "3"),                  // avobenzone
        ("Ethylhexyl Salicylate", "5"),                          // octisalate
        ("Octocrylene", "10"),                                   // octocrylene
        ("Homosalate", "15"),                                    // homosalate
        ("Ethylhexyl Methoxycinnamate", "7.5"),                  // octinoxate
        ("Benzophenone-3", "6"),                                 // oxybenzone
        ("Phenylbenzimidazole Sulfonic Acid", "4"),              // ensulizole
        ("Titanium Dioxide", "25"),                              // titanium dioxide
        ("Zinc Oxide", "25"),                                    // zinc oxide
        ("Bis-Ethylhexyloxyphenol Methoxyphenyl Triazine", "6"), // bemotrizinol, since 9 August 2026
    ] {
        SUNSCREEN.check_ceiling(inci, ceiling);
    }
}

/// 21 CFR part 700 subpart B: substances that a cosmetic may not hold.
#[test]
fn what_part_700_bars() {
    for inci in ["Bithionol", "Chloroform", "Methylene Chloride", "Thimerosal"] {
        SUNSCREEN.check_ban(inci);
    }
}

/// 21 CFR 250.250, from memory: 0.1 % hexachlorophene at most.
#[test]
fn hexachlorophene() {
    SUNSCREEN.check_ceiling("Hexachlorophene", "0.1");
}

/// Zinc pyrithione is barred in Europe and no matter of these rules for cosmetics (21 CFR 358.710 makes it a drug).
#[test]
fn a_ban_of_one_market_is_not_one_of_the_other() {
    let shampoo = Trial { product: "shampoo", function: "active", ..SUNSCREEN };
    assert_eq!(shampoo.findings("over-limit", "Zinc Pyrithione", super::d("1")), Vec::<String>::new());
    Trial { rules: "eu", ..shampoo }.check_ban("Zinc Pyrithione");
}

/// Cosmetic Ingredient Review, Int. J. Toxicol. 36 (Suppl. 2), 2017: alpha-hydroxy acids at 10 % and less. The agency's guidance of
/// January 2005 asks for words about the sun on every such product.
#[test]
fn alpha_hydroxy_acids() {
    for inci in ["Glycolic Acid", "Lactic Acid"] {
        assert_eq!(SUNSCREEN.findings("over-advised-limit", inci, super::d("10")), Vec::<String>::new());
        assert_eq!(SUNSCREEN.findings("over-advised-limit", inci, super::d("10.01")).len(), 1);
        assert_eq!(SUNSCREEN.findings("label-warning", inci, super::d("10")).len(), 1);
    }
}
