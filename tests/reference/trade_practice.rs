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
