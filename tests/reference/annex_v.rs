//! Regulation (EC) No 1223/2009, Annex V: ceilings counted as the acid. What of a salt or an ester passes was worked out from the
//! molar masses of the formulas (Python package molmass 2026.1.8), rounded down, never up.

use std::sync::Arc;
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
