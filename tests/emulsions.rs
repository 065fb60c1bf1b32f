//! HLB of formulas: what holds for any emulsion, when it is no guide, and what the sheet says.

#![expect(clippy::indexing_slicing, clippy::unwrap_used, reason = "what goes wrong here fails the test")]

use crate::support::collection;
use proptest::prelude::*;
use std::fmt::Write as _;
use tarebook::collection::Collection;
use tarebook::compute::{Computed, Emulsion, NoGuide};
use tarebook::material::SurfactantClass;
use tarebook::quantity::Decimal;

const OILS: [&str; 6] =
    ["sunflower-oil", "castor-oil", "cetyl-alcohol", "isopropyl-myristate", "beeswax", "caprylic-capric-triglyceride"];

/// A formula of these lines in water.
fn formula(id: &str, lines: &[(&str, Decimal)]) -> String {
    let mut text = format!("```formula\nid = \"{id}\"\n[phase.A]\nwater = \"q.s. to 100\"\n");
    for (material, percent) in lines {
        let _ = writeln!(text, "{material} = {percent}");
    }
    text + "```\n"
}

fn built(text: &str) -> Collection {
    collection([("a.md", text)])
}

fn emulsion(lines: &[(&str, &str)]) -> Option<Emulsion> {
    let lines: Vec<(&str, Decimal)> = lines.iter().map(|(id, percent)| (*id, percent.parse().unwrap())).collect();
    let collection = built(&formula("a", &lines));
    Emulsion::of(collection.formula("a").unwrap())
}

proptest! {
    #![proptest_config(ProptestConfig { rng_seed: proptest::test_runner::RngSeed::Fixed(19), ..ProptestConfig::default() })]

    /// Two emulsifiers taken as the split says have the HLB that the oil phase requires.
    #[test]
    fn the_split_returns_its_target(
        oils in proptest::collection::btree_map(0..OILS.len(), 1_i64..120, 1..4),
        together in 10_i64..60,
    ) {
        let mut lines: Vec<(&str, Decimal)> =
            oils.iter().map(|(index, tenths)| (OILS[*index], Decimal::new(*tenths, 1))).collect();
        let half = Decimal::new(together, 1);
        lines.extend([("polysorbate-20", half), ("sorbitan-oleate", half)]);
        let first = built(&formula("a", &lines));
        let emulsion = Emulsion::of(first.formula("a").unwrap()).unwrap();
        let required = emulsion.required().unwrap();
        let Some(split) = emulsion.split() else {
            prop_assert!(required.typical < Decimal::new(43, 1) || required.typical > Decimal::new(167, 1));
            return Ok(());
        };
        prop_assert_eq!(split.higher.1.typical + split.lower.1.typical, Decimal::ONE_HUNDRED);
        let share = |percent: Decimal| percent * split.together / Decimal::ONE_HUNDRED;
        let count = lines.len();
        // Fourteen digits are the most that a line may have.
        lines[count - 2].1 = share(split.higher.1.typical).round_dp(10);
        lines[count - 1].1 = share(split.lower.1.typical).round_dp(10);
        let second = built(&formula("a", &lines));
        let emulsion = Emulsion::of(second.formula("a").unwrap()).unwrap();
        let off = emulsion.mismatch().unwrap().typical.abs();
        prop_assert!(off < Decimal::new(1, 8), "off by {}", off);
    }
}

#[test]
fn charged_polymeric_and_soapy_emulsifiers_are_not_compared() {
    let why = |lines: &[(&str, &str)]| emulsion(lines).unwrap().no_guide;
    let charged = |name: &str, class| Some(NoGuide::Charged(name.to_owned(), class));
    assert_eq!(why(&[("sunflower-oil", "10"), ("polysorbate-60", "2")]), None);
    assert_eq!(
        why(&[("sunflower-oil", "10"), ("potassium-cetyl-phosphate", "2")]),
        charged("Potassium cetyl phosphate", SurfactantClass::Anionic)
    );
    assert_eq!(
        why(&[("cetyl-alcohol", "4"), ("behentrimonium-chloride", "2")]),
        charged("Behentrimonium chloride, 80 %", SurfactantClass::Cationic)
    );
    assert!(matches!(
        why(&[("sunflower-oil", "10"), ("acrylates-c10-30-alkyl-acrylate-crosspolymer", "0.3")]),
        Some(NoGuide::Polymer(_))
    ));
    assert!(matches!(
        why(&[("sunflower-oil", "10"), ("stearic-acid", "4"), ("triethanolamine", "1")]),
        Some(NoGuide::Soap(..))
    ));
    assert_eq!(
        why(&[("sunflower-oil", "2"), ("polysorbate-20", "2"), ("sodium-laureth-sulfate-28", "30")]),
        Some(NoGuide::Wash)
    );
}

#[test]
fn what_is_no_emulsion_says_nothing_of_hlb() {
    // No emulsifier, no oils but scent, no water to speak of.
    assert_eq!(emulsion(&[("sunflower-oil", "10")]), None);
    assert_eq!(emulsion(&[("lavender-oil", "0.3"), ("polysorbate-20", "2")]), None);
    assert_eq!(emulsion(&[("sunflower-oil", "90"), ("sorbitan-oleate", "5")]), None);
}

#[test]
fn an_unknown_hlb_makes_the_average_unknown() {
    let found = emulsion(&[("sunflower-oil", "10"), ("safflower-oil", "2"), ("polysorbate-60", "2")]).unwrap();
    assert_eq!((found.required(), Emulsion::unknown(&found.oils)), (None, vec!["Safflower oil"]));
    assert!(found.blend().is_some() && found.mismatch().is_none() && found.split().is_none());
}

/// What the sheet of a formula says.
#[track_caller]
fn check_sheet(lines: &[(&str, &str)], words: &[&str]) {
    let lines: Vec<(&str, Decimal)> = lines.iter().map(|(id, percent)| (*id, percent.parse().unwrap())).collect();
    let collection = built(&formula("a", &lines));
    let tree = crate::support::everything(&collection);
    let page = String::from_utf8(tree["a.html"].clone()).unwrap().replace('\u{a0}', " ");
    for word in words {
        assert!(page.contains(word), "{word} in {page}");
    }
}

#[test]
fn the_sheet_says_how_far_the_emulsifiers_are_off() {
    check_sheet(
        &[("sunflower-oil", "14"), ("polysorbate-60", "2"), ("sorbitan-stearate", "2")],
        &["for the oil phase of 14 % in water", "of 4 % of emulsifier, 2.8 too high", "the split of 4 % that meets it"],
    );
    check_sheet(
        &[("sunflower-oil", "14"), ("polysorbate-60", "2"), ("sorbitan-laurate", "2")],
        &["no split of Polysorbate 60 and Sorbitan laurate meets it"],
    );
    check_sheet(&[("mineral-oil", "20"), ("sorbitan-oleate", "3")], &["such a blend makes water-in-oil emulsions"]);
    check_sheet(
        &[("sunflower-oil", "10"), ("potassium-cetyl-phosphate", "2")],
        &["no guide here: Potassium cetyl phosphate is anionic"],
    );
}

/// The figures are addresses, and the working can be done again.
#[test]
fn the_figures_have_addresses() {
    let lines = [("sunflower-oil", "14"), ("polysorbate-60", "2"), ("sorbitan-stearate", "2")];
    let lines: Vec<(&str, Decimal)> = lines.iter().map(|(id, percent)| (*id, percent.parse().unwrap())).collect();
    let collection = built(&formula("a", &lines));
    let computed: &Computed = collection.formula("a").unwrap();
    let tree = tarebook::compute::address_tree(computed, tarebook::compute::Backing::built_in());
    for address in ["a/hlb/required", "a/hlb/emulsifiers", "a/hlb/mismatch", "a/hlb/split/polysorbate-60"] {
        assert!(tree.iter().any(|known| known == address), "{address}");
    }
    let figure = tarebook::compute::look_up(
        computed,
        tarebook::compute::Backing::built_in(),
        &["hlb", "split", "polysorbate-60"],
        None,
    )
    .unwrap();
    let working = tarebook::page::working_text(&figure.working).replace('\u{a0}', " ");
    assert_eq!(working, "(7.000 − 4.700) ÷ (14.900 − 4.700) = 22.55 % of 4 % = 0.9 %");
}
