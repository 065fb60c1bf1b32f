//! Regulation (EC) No 1223/2009, Annex III, and Annexes II and IV where they bar a substance: the Commission's export of the annexes
//! (CosIng), last updated 28 August 2026, and the amending acts named at each figure.

use super::rules::Trial;

const RINSE_OFF: Trial = Trial { rules: "eu", product: "body wash", function: "active" };
const LEAVE_ON: Trial = Trial { product: "face cream", ..RINSE_OFF };
const SHAMPOO: Trial = Trial { product: "shampoo", ..RINSE_OFF };

const fn product(product: &'static str) -> Trial {
    Trial { product, ..RINSE_OFF }
}

/// Ceilings that are the same in every product: entries 4, 72, 73, 89, 154, 157, 175, 186, 196, 312, 325, 373, 374.
#[test]
fn ceilings_that_are_the_same_in_all_products() {
    for (inci, ceiling) in [
        ("Ammonia", "6"),
        ("Hydroxycitronellal", "1.0"),
        ("Isoeugenol", "0.02"),
        ("Methyl 2-Octynoate", "0.01"),
        ("Myroxylon Pereirae Oil", "0.4"),
        ("Rose Ketones", "0.02"),
        ("3-Propylidenephthalide", "0.01"),
        ("Diethylene Glycol", "0.1"),
        ("Lippia Citriodora Absolute", "0.2"),
        ("Furfural", "0.001"),
        ("BHT", "0.8"),
        ("Genistein", "0.007"),
        ("Daidzein", "0.02"),
        ("Retinol", "0.3"),
    ] {
        RINSE_OFF.check_ceiling(inci, ceiling);
        LEAVE_ON.check_ceiling(inci, ceiling);
    }
}

/// Entries 12, 62, 102, 257, 297, 308, 324 and 380: rinse-off, leave-on.
#[test]
fn ceilings_that_differ_by_use() {
    for (inci, rinse_off, leave_on) in [
        ("Hydrogen Peroxide", "4", "4"),
        ("Methyl Eugenol", "0.001", "0.0002"),
        ("Laureth-9", "4.0", "3.0"),
        ("Ethoxydiglycol", "10", "2.6"),
        ("Tagetes Minuta Flower Oil", "0.1", "0.01"),
        ("Methyl Salicylate", "0.06", "0.06"),
        ("Hexyl Salicylate", "0.5", "0.3"),
    ] {
        RINSE_OFF.check_ceiling(inci, rinse_off);
        LEAVE_ON.check_ceiling(inci, leave_on);
    }
    LEAVE_ON.check_ceiling("Triethanolamine", "2.5");
    assert_eq!(RINSE_OFF.findings("over-limit", "Triethanolamine", super::d("5")), Vec::<String>::new());
}

/// Entries that name products: 12, 22, 49, 53, 98, 102, 286, 287, 310, 322, 324, 375 to 378, 380.
#[test]
fn ceilings_for_named_products() {
    for (type_name, inci, ceiling) in [
        ("shampoo", "Hydrogen Peroxide", "12"),
        ("shampoo", "Resorcinol", "0.5"),
        ("shampoo", "Selenium Sulfide", "1"),
        ("conditioner", "Etidronic Acid", "1.5"),
        ("bar soap", "Etidronic Acid", "0.2"),
        ("shampoo", "Salicylic Acid", "3.0"),
        ("face cream", "Salicylic Acid", "2.0"),
        ("body lotion", "Salicylic Acid", "0.5"),
        ("perfume", "Methyl Eugenol", "0.004"),
        ("conditioner", "Cetrimonium Chloride", "2.5"),
        ("leave-in", "Cetrimonium Chloride", "1.0"),
        ("conditioner", "Behentrimonium Chloride", "5.0"),
        ("leave-in", "Behentrimonium Chloride", "3.0"),
        ("shampoo", "Climbazole", "2.0"),
        ("hand wash", "Methyl Salicylate", "0.6"),
        ("lip balm", "Methyl Salicylate", "0.03"),
        ("hand cream", "Kojic Acid", "1"),
        ("body lotion", "Retinol", "0.05"),
        ("face cream", "Alpha-Arbutin", "2"),
        ("body lotion", "Alpha-Arbutin", "0.5"),
        ("face cream", "Arbutin", "7"),
        ("perfume", "Hexyl Salicylate", "2"),
        ("baby wash", "Hexyl Salicylate", "0.1"),
    ] {
        product(type_name).check_ceiling(inci, ceiling);
    }
}

/// The same entries outside the products that they name.
#[test]
fn products_that_an_entry_does_not_name() {
    for (type_name, inci) in [
        ("face cream", "Selenium Sulfide"),
        ("face cream", "Resorcinol"),
        ("body wash", "Etidronic Acid"),
        ("body lotion", "Kojic Acid"),
        ("body lotion", "Arbutin"),
        ("body wash", "6-Methyl Coumarin"),
        ("conditioner", "Climbazole"),
        ("face cream", "HEMA"),
        ("body wash", "CI 77820"),
    ] {
        product(type_name).check_ban(inci);
    }
    product("lip balm").check_ceiling("CI 77820", "0.2");
}

/// Entry 376, as retinol: 286.452 ÷ 328.488 = 0.87203 for the acetate, so 0.344 %; 286.452 ÷ 524.860 = 0.54577 for the palmitate, so
/// 0.549 %, and 0.091 % in a body lotion.
#[test]
fn vitamin_a_as_retinol() {
    LEAVE_ON.check_between("Retinyl Acetate", "0.344", "0.345", "0.3");
    LEAVE_ON.check_between("Retinyl Palmitate", "0.549", "0.550", "0.3");
    product("body lotion").check_between("Retinyl Palmitate", "0.091", "0.092", "0.05");
}

/// Entry 24, as zinc: 65.38 ÷ 136.286 = 0.47973 for the chloride, so 2.084 %; 65.38 ÷ 161.443 = 0.40497 for the sulfate, so 2.469 %;
/// 3 × 65.38 ÷ 574.339 = 0.34151 for the citrate, so 2.928 %.
#[test]
fn zinc_salts_as_zinc() {
    LEAVE_ON.check_between("Zinc Chloride", "2.084", "2.085", "1");
    LEAVE_ON.check_between("Zinc Sulfate", "2.469", "2.470", "1");
    LEAVE_ON.check_between("Zinc Citrate", "2.928", "2.929", "1");
}

/// Entry 12, what is released counts: 34.015 ÷ 94.070 = 0.36159 for urea peroxide, so 11.062 % in skin products; 3 × 34.015 ÷ 314.021 = 0.32496 for
/// sodium carbonate peroxide, so 12.309 %.
#[test]
fn peroxides_as_hydrogen_peroxide() {
    LEAVE_ON.check_between("Urea Peroxide", "11.06", "11.07", "4");
    LEAVE_ON.check_between("Sodium Carbonate Peroxide", "12.30", "12.31", "4");
}

/// Entry 53, as the acid: 206.028 ÷ 293.956 = 0.70088 for the tetrasodium salt, so 0.285 % in soap and 2.140 % in hair products.
#[test]
fn etidronates_as_the_acid() {
    product("bar soap").check_between("Tetrasodium Etidronate", "0.285", "0.286", "0.2");
    SHAMPOO.check_between("Tetrasodium Etidronate", "2.140", "2.141", "1.5");
}

/// Regulation (EU) 2026/909, entries 70, 75 and 382, from 1 January 2027.
#[test]
fn ceilings_of_2027() {
    for (type_name, inci, ceiling) in [
        ("lip balm", "Citral", "0.11"),
        ("deodorant", "Citral", "0.032"),
        ("perfume", "Citral", "0.6"),
        ("hand cream", "Citral", "0.15"),
        ("leave-in", "Citral", "1.2"),
        ("body wash", "Citral", "1.2"),
        ("perfume", "Benzyl Salicylate", "4"),
        ("body wash", "Benzyl Salicylate", "1.3"),
        ("hand wash", "Benzyl Salicylate", "0.5"),
        ("body lotion", "Benzyl Salicylate", "0.7"),
        ("face cream", "Benzyl Salicylate", "0.5"),
        ("body wash", "Acetylated Vetiveria Zizanioides Root Oil", "0.2"),
        ("deodorant", "Acetylated Vetiveria Zizanioides Root Oil", "0.05"),
    ] {
        product(type_name).check_ceiling(inci, ceiling);
    }
}

/// Annex II: bans, by entry.
#[test]
fn what_may_not_be_in_a_cosmetic() {
    for inci in [
        "Cholecalciferol",             // 335
        "Minoxidil",                   // 372
        "Tretinoin",                   // 375
        "Lidocaine",                   // 399
        "Coal Tar",                    // 420
        "Lippia Citriodora Oil",       // 450
        "Myroxylon Pereirae Resin",    // 1136
        "Hydroquinone",                // 1339
        "Phytonadione",                // 1371
        "Isobutylparaben",             // 1375
        "Quaternium-15",               // 1386
        "Cyclotetrasiloxane",          // 1388
        "Sodium Borate",               // 1396
        "Ketoconazole",                // 1528
        "Formaldehyde",                // 1577
        "Butylphenyl Methylpropional", // 1666
        "Zinc Pyrithione",             // 1670
        "4-Methylbenzylidene Camphor", // 1730
    ] {
        RINSE_OFF.check_ban(inci);
        LEAVE_ON.check_ban(inci);
    }
    // Entry 360: 100 ppm safrole from natural oils.
    LEAVE_ON.check_ceiling("Safrole", "0.01");
}
