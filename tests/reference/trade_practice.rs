//! What the trade takes as usual: common practice, no source. The program must say so beside the figure.

use super::{Sheet, check};
use tarebook::material::{Catalogue, Known};

fn wash(product: &str, percent: &str) -> Sheet {
    let body = format!(
        "product = \"{product}\"\nph = \"5.0..5.5\"\nbatch = \"1 kg\"\n[phase.A]\nwater = \"q.s. to 100\"\n\
         sodium-laureth-sulfate-28 = {{ percent = {percent}, strength = \"28 %\" }}\nphenoxyethanol = 0.9"
    );
    Sheet::of(&[], &body)
}

/// A shampoo holds 10 to 15 % active matter: common practice, no source. 50 % of a 28 % solution are 14 %, inside; 60 % are 16.8 %,
/// above; 30 % are 8.4 %, below.
#[test]
fn active_matter_of_a_shampoo() {
    let shampoo = Catalogue::built_in().product("shampoo").unwrap();
    let usual = shampoo.active.as_ref().unwrap();
    assert_eq!((usual.min, usual.max), (Some(super::d("10")), Some(super::d("15"))));
    assert_eq!(usual.source.as_ref().unwrap().how, Known::CommonPractice);
    let outside = |percent: &str| {
        let sheet = wash("shampoo", percent);
        let findings = sheet.collection.formula_findings("check").iter();
        findings.filter(|finding| finding.kind.name == "active-matter-outside").cloned().collect::<Vec<_>>()
    };
    assert_eq!(outside("50"), []);
    for percent in ["30", "60"] {
        let found = outside(percent);
        assert_eq!(found.len(), 1, "{percent} %");
        assert_eq!(found[0].source.as_deref(), Some("common practice, no source"));
    }
}

/// Household and Personal Products Industry (trade journal), question column on surfactant activity: 12 % of a cocamidopropyl betaine
/// of 28 % activity bring 3.36 % active betaine.
#[test]
fn active_matter_of_a_betaine() {
    let body = "[phase.A]\nwater = \"q.s. to 100\"\ncocamidopropyl-betaine = { percent = 12, strength = \"28 %\" }";
    let sheet = Sheet::of(&[], body);
    check(sheet.figure("cocamidopropyl-betaine/active"), "3.36");
    check(sheet.figure("active-matter"), "3.36");
    check(sheet.figure("active-matter/amphoteric"), "3.36");
}

/// A preservative of which a class is told that it must stay below about 120 °F and works from pH 3 to 8: common practice, no source. What is judged
/// is the figure as the entry gives it: 120 °F is 48.9 °C, and the bounds themselves are inside.
#[track_caller]
fn check_told(hold: &str, ph: &str, expected: &[&str]) {
    let material = "[source.told]\nhow = \"common practice\"\ntext = \"told in class\"\n\
        [material.told]\nname = \"Liquid preservative\"\nfunctions = [\"preservative\"]\nform = \"liquid\"\n\
        ph-works = { min = 3, max = 8, source = \"told\" }\ntemperature-limit = { max = 48.9, source = \"told\" }\n\
        covers = { bacteria = \"good\", yeast = \"good\", mould = \"good\", source = \"told\" }\n\
        contains = [{ inci = \"Told\", percent = { typical = 100, source = \"told\" } }]\n";
    let text = format!(
        "```formula\nid = \"f\"\nproduct = \"hand cream\"\nph = \"{ph}\"\n[phase.A]\nhold = \"{hold}\"\n\
         water = \"q.s. to 100\"\ntold = 1\n```\n"
    );
    let collection = crate::support::collection([("materials/own.toml", material), ("a.md", text.as_str())]);
    let found: Vec<_> = collection.formula_findings("f").iter().collect();
    let told = |finding: &&&tarebook::report::Finding| {
        ["held-too-hot", "preservative-outside-ph"].contains(&finding.kind.name)
    };
    let names: Vec<&str> = found.iter().filter(told).map(|finding| finding.kind.name).collect();
    assert_eq!(names, expected, "{hold}, pH {ph}");
    for finding in found.iter().filter(told) {
        assert_eq!(finding.source.as_deref(), Some("common practice, no source"));
    }
}

#[test]
fn a_preservative_below_120_fahrenheit_and_between_ph_3_and_8() {
    check_told("120 °F", "4.8..5.2", &[]);
    check_told("122 °F", "4.8..5.2", &["held-too-hot"]);
    check_told("118 °F", "3..8", &[]);
    check_told("118 °F", "7.5..8.5", &["preservative-outside-ph"]);
    check_told("60 °C", "2.5", &["preservative-outside-ph", "held-too-hot"]);
}

/// Two grams of product in twenty of water for a reading: common practice, no source. It is often called a ten per cent dilution and is one of
/// 9.09 %; two grams made up to twenty are ten.
#[test]
fn two_grams_in_twenty_of_water() {
    let sheet = Sheet::of(&[], "[phase.A]\nglycerin = \"2 g\"\nwater = \"20 g\"");
    check(sheet.figure("glycerin/percent"), "9.09");
    let sheet = Sheet::of(&[], "[phase.A]\nglycerin = \"2 g\"\nwater = \"18 g\"");
    check(sheet.figure("glycerin/percent"), "10");
}
