//! What holds for any fats and any lye.

#![expect(clippy::unwrap_used, reason = "what goes wrong here fails the test")]

use crate::support::{cases, collection};
use proptest::prelude::*;
use std::fmt::Write;
use tarebook::compute::{Answer, Value};
use tarebook::quantity::Decimal;

/// Fats of the catalogue, and a wax.
const FATS: [&str; 6] = ["olive-oil", "coconut-oil", "shea-butter", "castor-oil", "beeswax", "lard"];

/// Weights of these fats in tenths of a gram; some may be left out.
fn any_weights() -> impl Strategy<Value = Vec<i64>> {
    proptest::collection::vec(prop_oneof![Just(0_i64), 1_i64..=100_000], FATS.len())
        .prop_filter("some fat", |weights| weights.iter().sum::<i64>() > 0)
}

fn body(weights: &[i64], superfat: i64, lye: &str) -> String {
    let mut text = format!(
        "```saponification\nid = \"a\"\nsuperfat = \"{} %\"\nwater = \"2.5:1\"\nbalance = \"0.000001 g\"\n[fats]\n",
        Decimal::new(superfat, 2)
    );
    for (fat, weight) in FATS.iter().zip(weights).filter(|(_, weight)| **weight > 0) {
        let _ = writeln!(text, "{fat} = \"{} g\"", Decimal::new(*weight, 1));
    }
    let _ = write!(text, "[lye]\n{lye}\n```\n");
    text
}

fn answer(text: &str) -> Answer {
    let collection = collection([("a.md", text)]);
    let errors: Vec<_> =
        collection.findings().into_iter().filter(|one| one.severity().word() == "error").map(|one| one.what).collect();
    assert!(errors.is_empty(), "{errors:?}\n{text}");
    collection.answer("a").unwrap().clone()
}

fn number(answer: &Answer, path: &[&str]) -> Decimal {
    match answer.look_up("a", path).unwrap().value {
        Value::Quantity { value, .. } => value,
        Value::Mass { mass, .. } => mass.grams(),
        Value::Percent(percent) => percent.value(),
        other => unreachable!("{other:?}"),
    }
}

const SODA: &str = "sodium-hydroxide = { purity = \"97..99 %\" }";
const POTASH: &str = "potassium-hydroxide = { purity = \"97..99 %\" }";

/// Equal to the step of the balance, once for each weight that was rounded.
fn near(one: Decimal, other: Decimal, steps: i64) -> bool {
    (one - other).abs() <= Decimal::new(steps, 6)
}

proptest! {
    #![proptest_config(cases(64))]

    /// What all fats take together is what each takes alone, and twice the fat takes twice the lye.
    #[test]
    fn lye_is_linear_in_each_fat(weights in any_weights(), superfat in 0_i64..=2_000) {
        let all = number(&answer(&body(&weights, superfat, SODA)), &["lye"]);
        let mut alone = Decimal::ZERO;
        for index in 0..FATS.len() {
            let one: Vec<i64> = weights.iter().enumerate().map(|(at, weight)| if at == index { *weight } else { 0 }).collect();
            if one.iter().sum::<i64>() > 0 {
                alone += number(&answer(&body(&one, superfat, SODA)), &["lye"]);
            }
        }
        prop_assert!(near(all, alone, 4), "{all} and {alone}");
        let double: Vec<i64> = weights.iter().map(|weight| weight * 2).collect();
        let twice = number(&answer(&body(&double, superfat, SODA)), &["lye"]);
        prop_assert!(near(all * Decimal::TWO, twice, 2), "{all} and {twice}");
    }

    /// Of the same purity the two hydroxides stand in the ratio of their molar masses, and a mixture lies between, the more sodium the lighter.
    #[test]
    fn hydroxides_stand_by_their_molar_masses(weights in any_weights(), superfat in 0_i64..=2_000, share in 1_i64..=98) {
        let soda = number(&answer(&body(&weights, superfat, SODA)), &["lye"]);
        let potash = number(&answer(&body(&weights, superfat, POTASH)), &["lye"]);
        prop_assert!(near(soda * Decimal::new(5_611, 2), potash * Decimal::new(4_000, 2), 60), "{soda} and {potash}");
        for of in ["fat", "alkali"] {
            let mixed = |share: i64| {
                let lye = format!("{SODA}\npotassium-hydroxide = {{ purity = \"97..99 %\", share = \"{share} % of the {of}\" }}");
                number(&answer(&body(&weights, superfat, &lye)), &["lye"])
            };
            let (one, more) = (mixed(share), mixed(share + 1));
            prop_assert!(soda <= one && one <= more && more <= potash, "{soda}, {one}, {more}, {potash}");
        }
    }

    /// More superfat never takes more lye, nor leaves more free alkali; the worst case is never better than the superfat wanted.
    #[test]
    fn more_superfat_never_takes_more_lye(weights in any_weights(), superfat in 0_i64..=1_900, more in 1_i64..=100) {
        let (less, more) = (answer(&body(&weights, superfat, SODA)), answer(&body(&weights, superfat + more, SODA)));
        prop_assert!(number(&more, &["lye"]) <= number(&less, &["lye"]));
        prop_assert!(number(&more, &["free-alkali"]) <= number(&less, &["free-alkali"]));
        let lowest = number(&less, &["superfat", "lowest"]);
        let free = number(&less, &["free-alkali"]);
        let slack = Decimal::new(1, 2);
        prop_assert!(lowest <= number(&less, &["superfat"]) + slack);
        prop_assert!(number(&less, &["superfat"]) <= number(&less, &["superfat", "highest"]) + slack);
        prop_assert_eq!(lowest < Decimal::ZERO, free > Decimal::ZERO);
        // Fats, hydroxide and water are all of it.
        let parts: Decimal = ["fats", "lye", "water"].iter().map(|part| number(&less, &[part])).sum();
        prop_assert_eq!(parts, number(&less, &["total"]));
    }

    /// With what mends lye that was weighed from another column, the lye that was weighed is right for the fats.
    #[test]
    fn what_mends_restores_the_superfat(weights in any_weights(), superfat in 0_i64..=2_000, times in 101_i64..=199) {
        let heavy: Vec<i64> = weights.iter().map(|weight| weight * 100).collect();
        let planned = number(&answer(&body(&heavy, superfat, SODA)), &["lye"]);
        let weighed = (planned * Decimal::new(times, 2)).round_dp(6);
        let lye = format!("sodium-hydroxide = {{ purity = \"97..99 %\", weighed = \"{weighed} g\" }}");
        let mended = answer(&body(&heavy, superfat, &lye));
        let more = number(&mended, &["rescue", "fats"]);
        let fats = number(&mended, &["fats"]);
        prop_assert!(near(fats * weighed / planned, fats + more, 1_000), "{fats} and {more}");
        let water = number(&mended, &["rescue", "water"]) + number(&mended, &["water"]);
        prop_assert!(near(water, weighed * Decimal::new(25, 1), 10), "{water} for {weighed}");
    }
}

/// What an author writes stands on the page as text.
#[test]
fn no_text_of_an_author_reaches_the_tags_of_a_page() {
    let nasty = "<script>alert(1)</script><b onclick=x>";
    let text = format!(
        "```saponification\nid = \"a\"\ntitle = \"{nasty}\"\nsuperfat = \"5 %\"\nwater = \"2:1\"\n\
         [fats]\nolive-oil = {{ weight = \"500 g\", lot = \"{nasty}\" }}\n[lye]\n{SODA}\n```\n"
    );
    let collection = collection([("a.md", text.as_str())]);
    let page = String::from_utf8(collection.render("a.md").unwrap().remove(0).bytes).unwrap();
    assert!(page.contains("&lt;script&gt;"));
    assert!(!page.contains("<script>alert") && !page.contains("<b onclick"));
}

/// The largest and the smallest that can be typed are worked out or refused, and nothing breaks.
#[test]
fn extremes_do_not_break_it() {
    let weights = ["99999999999999 kg", "0.00000000000001 mg", "1 g"];
    let waters = [
        "water = \"20:1\"",
        "water = \"0.00000000000001:1\"",
        "water = \"99999999999999 kg\"",
        "lye-strength = 1",
        "water = \"300 % of fats\"",
    ];
    let lyes = [
        "sodium-hydroxide = { purity = \"80..100 %\", weighed = \"99999999999999 kg\" }",
        "sodium-hydroxide = { purity = \"100 %\", weighed = \"0.00000000000001 mg\" }",
        "sodium-hydroxide = { purity = \"98 %\" }\npotassium-hydroxide = { share = \"0.00000000000001 % of the alkali\" }",
    ];
    let balances = ["0.001 mg", "100 kg"];
    for weight in weights {
        for value in ["10", "800", "10..800"] {
            for water in waters {
                for lye in lyes {
                    for balance in balances {
                        let text = format!(
                            "```saponification\nid = \"a\"\nsuperfat = \"99.9999999999 %\"\n{water}\nbalance = \"{balance}\"\n\
                             [fats]\nolive-oil = {{ weight = \"{weight}\", saponification-value = \"{value}\" }}\nbeeswax = \"1 g\"\n[lye]\n{lye}\n```\n"
                        );
                        let collection = collection([("a.md", text.as_str())]);
                        let broken =
                            collection.findings().into_iter().find(|finding| finding.kind.name == "fault-in-tarebook");
                        assert_eq!(broken, None, "{text}");
                    }
                }
            }
        }
    }
}

/// A page that makes soap ends with what every page ends with that makes something.
#[test]
fn the_page_of_a_soap_has_the_closing_line() {
    let text = body(&[1_000], 50, SODA);
    let tree = crate::support::everything(&collection([("a.md", text.as_str())]));
    let page = String::from_utf8(tree["a.html"].clone()).unwrap();
    assert!(page.contains("<p class=\"closing\">"), "{page}");
}
