//! Regulation (EC) No 1223/2009, Annex V: ceilings counted as the acid. What of a salt or an ester passes was worked out from the
//! molar masses of the formulas (Python package molmass 2026.1.8), rounded down, never up.

use super::rules::Trial;
use std::sync::Arc;
use tarebook::caution::{Case, label_warnings};
use tarebook::collection::{Collection, Sources};

/// The findings on a limit for a leave-on product with so much of a substance as preservative.
fn over_limit(inci: &str, percent: &str) -> Vec<String> {
    let material = format!(
        "[material.kept-by]\nname = \"Kept by\"\nfunctions = [\"preservative\"]\ncontains = [ {{ inci = \"{inci}\", percent = 100 }} ]\n"
    );
    let text = format!(
        "```formula\nid = \"check\"\nproduct = \"face cream\"\nbatch = \"10 kg\"\nbalance = \"0.001 g\"\n\
         [phase.A]\nwater = \"q.s. to 100\"\nkept-by = {percent}\n```\n"
    );
    let mut sources = Sources::default();
    sources.materials.insert(Arc::from("materials/check.toml"), Arc::from(material));
    sources.notebooks.insert(Arc::from("check.md"), Arc::from(text));
    let mut collection = Collection::new();
    collection.update(sources);
    assert!(collection.formula("check").is_some(), "{:?}", collection.findings());
    let findings = collection.formula_findings("check").iter();
    findings.filter(|finding| finding.kind.name.starts_with("over-limit")).map(|finding| finding.what.clone()).collect()
}

/// The most that passes, and a thousandth of a per cent more that does not.
#[track_caller]
fn check_most(inci: &str, most: &str) {
    check_between(inci, most, &(super::d(most) + super::d("0.001")).to_string());
}

#[track_caller]
fn check_between(inci: &str, inside: &str, outside: &str) {
    assert_eq!(over_limit(inci, inside), Vec::<String>::new());
    let found = over_limit(inci, outside);
    assert_eq!(found.len(), 1, "{inci} at {outside}: {found:?}");
}

/// Entry 1: 0.5 % benzoic acid in leave-on products are 0.589 % sodium benzoate (122.12 and 144.10 g/mol). 0.590 % is 0.500 00 %:
/// the sixth digit of the molar masses decides, and tables differ there, so 0.591 % is the first that is checked to fail.
#[test]
fn sodium_benzoate() {
    check_between("Sodium Benzoate", "0.589", "0.591");
}

/// Entry 1, the example of the class: 0.58 % sodium benzoate are 0.4915 % as the acid and pass, 0.60 % are 0.508 % and do not.
#[test]
fn sodium_benzoate_at_two_amounts() {
    assert_eq!(over_limit("Sodium Benzoate", "0.58"), Vec::<String>::new());
    let found = over_limit("Sodium Benzoate", "0.60");
    assert_eq!(found.len(), 1);
    assert!(found[0].contains("0.508\u{a0}%"), "{found:?}");
}

/// Entry 4: 0.6 % sorbic acid are 0.803 % potassium sorbate (112.13 and 150.22 g/mol).
#[test]
fn potassium_sorbate() {
    check_most("Potassium Sorbate", "0.803");
}

/// Entry 13: 0.6 % dehydroacetic acid are 0.678 % of its anhydrous sodium salt (168.15 and 190.13 g/mol).
#[test]
fn sodium_dehydroacetate() {
    check_most("Sodium Dehydroacetate", "0.678");
}

/// Entry 3: 0.5 % salicylic acid are 0.579 % sodium salicylate (138.12 and 160.10 g/mol).
#[test]
fn sodium_salicylate() {
    check_most("Sodium Salicylate", "0.579");
}

/// Entry 14: 0.5 % formic acid are 0.738 % sodium formate (46.03 and 68.01 g/mol).
#[test]
fn sodium_formate() {
    check_most("Sodium Formate", "0.738");
}

/// Entry 12: 0.4 % 4-hydroxybenzoic acid are 0.44 % methylparaben (138.12 and 152.15 g/mol).
#[test]
fn methylparaben() {
    check_most("Methylparaben", "0.440");
}

/// Entry 12a: 0.14 % 4-hydroxybenzoic acid are 0.182 % propylparaben (180.20 g/mol) and 0.196 % butylparaben (194.23 g/mol).
#[test]
fn propyl_and_butylparaben() {
    check_most("Propylparaben", "0.182");
    check_most("Butylparaben", "0.196");
}

/// Entry 42: 0.3 % chlorhexidine are 0.532 % of its digluconate (505.45 and 897.76 g/mol).
#[test]
fn chlorhexidine_digluconate() {
    check_most("Chlorhexidine Digluconate", "0.532");
}

/// Entries 29 and 34: 1.0 % phenoxyethanol and 1.0 % benzyl alcohol, as they are.
#[test]
fn ceilings_that_count_the_substance_itself() {
    check_most("Phenoxyethanol", "1.000");
    check_most("Benzyl Alcohol", "1.000");
}

const RINSE_OFF: Trial = Trial { rules: "eu", product: "hand wash", function: "preservative" };
const LEAVE_ON: Trial = Trial { product: "face cream", ..RINSE_OFF };

/// Entries whose ceiling counts the substance itself and is the same in every product: entry, name, ceiling.
const SAME_IN_ALL: &[(&str, &str, &str)] = &[
    ("11", "Chlorobutanol", "0.5"),
    ("15", "Dibromohexamidine Isethionate", "0.1"),
    ("19", "Hexetidine", "0.1"),
    ("21", "2-Bromo-2-Nitropropane-1,3-Diol", "0.1"),
    ("22", "Dichlorobenzyl Alcohol", "0.15"),
    ("23", "Triclocarban", "0.2"),
    ("24", "p-Chloro-m-Cresol", "0.2"),
    ("26", "Chloroxylenol", "0.5"),
    ("27", "Imidazolidinyl Urea", "0.6"),
    ("28", "Polyaminopropyl Biguanide", "0.1"),
    ("29", "Phenoxyethanol", "1.0"),
    ("30", "Methenamine", "0.15"),
    ("33", "DMDM Hydantoin", "0.6"),
    ("34", "Benzyl Alcohol", "1.0"),
    ("37", "Bromochlorophene", "0.1"),
    ("38", "o-Cymen-5-ol", "0.1"),
    ("44", "Behentrimonium Chloride", "0.1"),
    ("45", "Dimethyl Oxazolidine", "0.1"),
    ("46", "Diazolidinyl Urea", "0.5"),
    ("47", "Hexamidine", "0.1"),
    ("48", "Glutaral", "0.1"),
    ("49", "7-Ethylbicyclooxazolidine", "0.3"),
    ("50", "Chlorphenesin", "0.3"),
    ("53", "Benzethonium Chloride", "0.1"),
    ("54", "Benzalkonium Chloride", "0.1"),
    ("58", "Ethyl Lauroyl Arginate HCl", "0.4"),
    ("60", "Hydroxyethoxyphenyl Butanone", "0.7"),
];

#[test]
fn ceilings_that_are_the_same_in_all_products() {
    for (_, inci, ceiling) in SAME_IN_ALL {
        RINSE_OFF.check_ceiling(inci, ceiling);
        LEAVE_ON.check_ceiling(inci, ceiling);
    }
}

/// Entries 20, 35, 39, 43, 55, 56 and 57 tell rinse-off from leave-on; five of them bar leave-on products.
#[test]
fn ceilings_that_differ_by_use() {
    for (inci, rinse_off, leave_on) in [
        ("5-Bromo-5-Nitro-1,3-Dioxane", "0.1", None),
        ("Piroctone Olamine", "1.0", Some("0.5")),
        ("Phenoxyisopropanol", "1.0", None),
        ("Benzylhemiformal", "0.15", None),
        ("Iodopropynyl Butylcarbamate", "0.02", Some("0.01")),
        ("o-Phenylphenol", "0.2", Some("0.15")),
    ] {
        RINSE_OFF.check_ceiling(inci, rinse_off);
        match leave_on {
            Some(ceiling) => LEAVE_ON.check_ceiling(inci, ceiling),
            None => LEAVE_ON.check_ban(inci),
        }
    }
    // Methylisothiazolinone stands under 57 and, in the mixture, under 39, with one figure.
    assert_eq!(RINSE_OFF.findings("over-limit", "Methylisothiazolinone", super::d("0.0015")), Vec::<String>::new());
    assert!(!RINSE_OFF.findings("over-limit", "Methylisothiazolinone", super::d("0.0016")).is_empty());
    LEAVE_ON.check_ban("Methylchloroisothiazolinone");
}

/// Entry 56: 0.0075 % in deodorants, and neither body lotion nor lip products.
#[test]
fn iodopropynyl_butylcarbamate_by_product() {
    Trial { product: "deodorant", ..LEAVE_ON }.check_ceiling("Iodopropynyl Butylcarbamate", "0.0075");
    Trial { product: "body lotion", ..LEAVE_ON }.check_ban("Iodopropynyl Butylcarbamate");
    Trial { product: "lip balm", ..LEAVE_ON }.check_ban("Iodopropynyl Butylcarbamate");
}

/// Entries 25 and 32 are closed lists of products.
#[test]
fn closed_lists_of_products() {
    RINSE_OFF.check_ceiling("Triclosan", "0.3");
    LEAVE_ON.check_ban("Triclosan");
    LEAVE_ON.check_ceiling("Climbazole", "0.2");
    Trial { product: "shampoo", ..RINSE_OFF }.check_ceiling("Climbazole", "0.5");
    RINSE_OFF.check_ban("Climbazole");
}

/// Entry 1 in rinse-off products, 2.5 % as the acid: 2.949 % sodium benzoate (2.5 ÷ 0.8475 = 2.9499; the last digit rests on the sixth
/// digit of the molar masses, so 2.951 % is the first that is checked to fail).
#[test]
fn sodium_benzoate_in_a_rinse_off_product() {
    RINSE_OFF.check_between("Sodium Benzoate", "2.949", "2.951", "2.5");
}

/// Entry 1a: potassium benzoate has 0.5 % in rinse-off products too. 122.121 ÷ 160.212 = 0.76225: 0.655 % passes.
#[test]
fn potassium_benzoate_is_no_entry_1() {
    RINSE_OFF.check_between("Potassium Benzoate", "0.655", "0.657", "0.5");
}

/// Two units of acid from one calcium salt: 2 × 122.121 ÷ 282.305 = 0.86517, so 0.577 % (entry 1a); 2 × 112.127 ÷ 262.315 = 0.8549, so 0.701 %
/// (entry 4); 2 × 138.121 ÷ 314.304 = 0.87890, so 0.568 % (entry 3); 2 × 74.079 ÷ 186.219 = 0.79561, so 2.513 % (entry 2).
#[test]
fn calcium_salts_count_twice() {
    LEAVE_ON.check_between("Calcium Benzoate", "0.577", "0.579", "0.5");
    LEAVE_ON.check_between("Calcium Sorbate", "0.701", "0.703", "0.6");
    LEAVE_ON.check_between("Calcium Salicylate", "0.568", "0.570", "0.5");
    LEAVE_ON.check_between("Calcium Propionate", "2.513", "2.515", "2.0");
}

/// Entry 18, salts as undecylenic acid: 184.275 ÷ 206.258 = 0.89342, so 0.223 % of the sodium salt.
#[test]
fn sodium_undecylenate() {
    LEAVE_ON.check_between("Sodium Undecylenate", "0.223", "0.225", "0.2");
}

/// Entry 7, as the phenol: 170.207 ÷ 192.189 = 0.88562, so 0.169 % of the sodium salt in leave-on products.
#[test]
fn sodium_o_phenylphenate() {
    LEAVE_ON.check_between("Sodium o-Phenylphenate", "0.169", "0.170", "0.15");
}

/// Entry 9, as sulfur dioxide: 2 × 64.064 ÷ 190.107 = 0.67398 for sodium metabisulfite, so 0.296 %; 64.064 ÷ 126.043 = 0.50827 for
/// sodium sulfite, so 0.393 %.
#[test]
fn sulfites_as_sulfur_dioxide() {
    LEAVE_ON.check_between("Sodium Metabisulfite", "0.296", "0.297", "0.2");
    LEAVE_ON.check_between("Sodium Sulfite", "0.393", "0.394", "0.2");
}

/// Entry 51: less than 0.1 % formaldehyde in theory. 30.026 ÷ 127.075 = 0.236286, so 0.423 % (0.09995 %) passes and 0.424 % does not.
#[test]
fn sodium_hydroxymethylglycinate() {
    LEAVE_ON.check_between("Sodium Hydroxymethylglycinate", "0.423", "0.424", "0.1");
}

/// Annex V preamble, point 2: more than 0.001 % released formaldehyde. What could be released at most, from the structural formulas: grams of
/// formaldehyde from one gram, and the amounts on both sides of the figure.
#[test]
fn releasers_of_formaldehyde() {
    for (inci, inside, outside) in [
        // 2 × 30.026 ÷ 188.181 = 0.3191
        ("DMDM Hydantoin", "0.0031", "0.0032"),
        // 3 × 30.026 ÷ 388.294 = 0.2320
        ("Imidazolidinyl Urea", "0.0043", "0.0044"),
        // 4 × 30.026 ÷ 278.220 = 0.4317
        ("Diazolidinyl Urea", "0.0023", "0.0024"),
        // 6 × 30.026 ÷ 140.186 = 1.2851
        ("Methenamine", "0.0007", "0.0008"),
        // 2 × 30.026 ÷ 199.988 = 0.3003
        ("2-Bromo-2-Nitropropane-1,3-Diol", "0.0033", "0.0034"),
        // 30.026 ÷ 138.164 = 0.2173
        ("Benzylhemiformal", "0.0046", "0.0047"),
        // 30.026 ÷ 127.075 = 0.2363
        ("Sodium Hydroxymethylglycinate", "0.0042", "0.0043"),
    ] {
        assert_eq!(RINSE_OFF.findings("label-warning", inci, super::d(inside)), Vec::<String>::new(), "{inci}");
        let found = RINSE_OFF.findings("label-warning", inci, super::d(outside));
        assert_eq!(found.len(), 1, "{inci}: {found:?}");
        assert!(found[0].contains("\"releases formaldehyde\""), "{found:?}");
    }
}

/// What a label is printed from: the warning with its words, entry, amount and figure, without going through findings. 0.3 % DMDM hydantoin
/// could release 0.3 × 0.3191 = 0.0957 %.
#[test]
fn warnings_for_a_label() {
    let collection = RINSE_OFF.collection("DMDM Hydantoin", super::d("0.3"));
    let case = Case {
        computed: collection.formula("check").unwrap(),
        catalogue: collection.catalogue(),
        settings: collection.settings(),
    };
    let due = label_warnings(&case);
    let [warning] = due.as_slice() else { panic!("{due:?}") };
    assert_eq!(warning.warning.words, "releases formaldehyde");
    assert!(warning.warning.is_prescribed);
    assert_eq!(warning.substances, ["DMDM Hydantoin"]);
    assert_eq!(warning.above().value(), super::d("0.001"));
    assert_eq!(warning.source(), "Regulation (EU) 2022/1181, Annex V preamble point 2");
    super::check(warning.amount.high, "0.0957");
}
