//! What holds for any dilution, any mixture, any buffer and any filling.

#![expect(clippy::unwrap_used, reason = "what goes wrong here fails the test")]

use crate::support::{answer, cases, collection};
use proptest::prelude::*;
use tarebook::compute::{Answer, Value};
use tarebook::quantity::Decimal;

fn number(answer: &Answer, path: &[&str]) -> Decimal {
    match answer.look_up("a", path).unwrap().value {
        Value::Quantity { value, .. } => value,
        Value::Mass { mass, .. } => mass.grams(),
        Value::Number(number) => number,
        other => unreachable!("{other:?}"),
    }
}

/// Equal to twenty digits: the calculation has twenty-eight.
fn same(one: Decimal, other: Decimal) -> bool {
    (one - other).abs() <= one.abs().max(Decimal::ONE) * Decimal::new(1, 20)
}

/// A strength in hundredths of a per cent.
fn percent(hundredths: i64) -> Decimal {
    Decimal::new(hundredths, 2)
}

proptest! {
    #![proptest_config(cases(64))]

    /// What is taken of the solute is what is made of it, and take and add make up the whole.
    #[test]
    fn a_dilution_keeps_the_solute(stock in 1_i64..=10_000, share in 1_i64..=10_000, make in 1_i64..=1_000_000) {
        let target = (stock * share / 10_000).max(1);
        let (stock, target, make) = (percent(stock), percent(target), Decimal::new(make, 1));
        let answer = answer(&format!(
            "dilution\nid = \"a\"\nstock = {{ strength = \"{stock} % v/v\" }}\ntarget = \"{target} % v/v\"\nmake = \"{make} ml\"\nsheet = [\"1 l\"]"
        ));
        let (take, add) = (number(&answer, &["take"]), number(&answer, &["add"]));
        prop_assert!(same(take * stock, make * target));
        prop_assert!(same(take + add, make));
        prop_assert!(add >= Decimal::ZERO);
        // Its sheet keeps it for other amounts too.
        let sheet = [["sheet", "1-l", "take"], ["sheet", "1-l", "add"]].map(|path| number(&answer, &path));
        prop_assert!(same(sheet[0] * stock, target * Decimal::ONE_THOUSAND));
        prop_assert!(same(sheet[0] + sheet[1], Decimal::ONE_THOUSAND));
    }

    /// Two stocks mixed as the alligation says have the strength that was wanted.
    #[test]
    fn a_mixture_has_its_target(weak in 0_i64..9_999, wider in 1_i64..10_000, at in 0_i64..=1_000, make in 1_i64..=1_000_000) {
        let strong = (weak + wider).min(10_000);
        let target = weak + (strong - weak) * at / 1_000;
        let (weak, strong, target, make) = (percent(weak), percent(strong), percent(target), Decimal::new(make, 1));
        let stocks = |takes: [String; 2]| {
            let [one, other] = takes;
            format!(
                "[stocks]\nweak = {{ strength = \"{weak} % w/w\"{one} }}\nstrong = {{ strength = \"{strong} % w/w\"{other} }}"
            )
        };
        let mixed = answer(&format!(
            "dilution\nid = \"a\"\nbalance = \"0.0001 g\"\ntarget = \"{target} % w/w\"\nmake = \"{make} g\"\n{}",
            stocks([String::new(), String::new()])
        ));
        let (one, other) = (number(&mixed, &["take", "weak"]), number(&mixed, &["take", "strong"]));
        prop_assert!((one + other - make).abs() <= Decimal::new(1, 4));
        prop_assert!(((one * weak + other * strong) / make - target).abs() <= Decimal::ONE_HUNDRED * Decimal::new(1, 4) / make);
        if one > Decimal::ZERO && other > Decimal::ZERO {
            let back = answer(&format!(
                "dilution\nid = \"a\"\n{}",
                stocks([format!(", take = \"{one} g\""), format!(", take = \"{other} g\"")])
            ));
            let off = (number(&back, &["strength"]) - target).abs();
            prop_assert!(off <= Decimal::ONE_HUNDRED * Decimal::new(1, 4) / make);
        }
    }
}

proptest! {
    #![proptest_config(cases(64))]

    /// The packs, what is left over and what stays behind make up the bulk; no pack is short by rounding, and no full pack is left over.
    #[test]
    fn a_filling_loses_nothing(
        bulk in 1_i64..=100_000, content in 1_i64..=10_000, over in 0_i64..=200, behind in 0_i64..=100,
        density in 800_i64..=1_300, by_volume in any::<bool>(),
    ) {
        let (bulk, content, density) = (Decimal::new(bulk, 1), Decimal::new(content, 1), Decimal::new(density, 3));
        let (over, behind) = (Decimal::new(over, 1), Decimal::new(behind, 1));
        let unit = if by_volume { "ml" } else { "g" };
        let answer = answer(&format!(
            "filling\nid = \"a\"\nbulk = \"{bulk} g\"\ncontent = \"{content} {unit}\"\noverfill = \"{over} %\"\nleft-behind = \"{behind} %\"\n\
             density = \"{density} g/ml\"\nbalance = \"0.1 g\""
        ));
        let mass = if by_volume { content * density } else { content };
        let fill = mass * (Decimal::ONE + over / Decimal::ONE_HUNDRED);
        let packs = number(&answer, &["packs"]);
        let left = number(&answer, &["left-over", "weight"]);
        let stays = bulk * behind / Decimal::ONE_HUNDRED;
        let weighed = number(&answer, &["fill", "weight"]);
        prop_assert!((packs * weighed + left + stays - bulk).abs() < Decimal::new(1, 15));
        prop_assert!(left >= Decimal::ZERO && left < weighed);
        let weighed_again = number(&answer, &["fill", "weight"]);
        prop_assert_eq!(weighed, weighed_again);
        prop_assert!(weighed >= fill && weighed < fill + Decimal::new(1, 1));
        prop_assert_eq!(weighed.round_dp(1), weighed);
    }
}

proptest! {
    #![proptest_config(cases(24))]

    /// The more acid, the lower the pH; and the dose of lye that is found takes it where it was wanted.
    #[test]
    fn acid_takes_the_ph_down_and_the_dose_where_it_is_wanted(
        salt in 1_i64..200, acid in 0_i64..150, more in 1_i64..50, wanted in 0_i64..100, of in prop::sample::select(vec![
            ("sodium-acetate", "acetic-acid"),
            ("sodium-citrate-dihydrate", "citric-acid-monohydrate"),
            ("disodium-hydrogen-phosphate", "phosphoric-acid"),
            ("triethanolamine", "benzoic-acid"),
        ]),
    ) {
        let body = |acid: i64, target: &str| {
            format!(
                "buffer\nid = \"a\"\nwater = \"1 kg\"\n{target}[contains]\n{} = \"{salt} mmol\"\n{} = \"{acid} mmol\"",
                of.0, of.1
            )
        };
        let (Some(before), Some(after)) = (state(&body(acid, "")), state(&body(acid + more, ""))) else { return Ok(()) };
        prop_assert!(after < before, "{} {}", after, before);
        // A pH above the one that there is, up to 11.5: all within the reach of lye.
        let target = before + (Decimal::new(115, 1) - before) * Decimal::new(wanted, 2);
        let target = target.round_dp(2);
        if target > before {
            let dosed = body(acid, &format!("target = {{ ph = {target}, with = \"potassium-hydroxide\", strength = \"90 %\" }}\n"));
            let text = format!("```{dosed}\n```\n");
            let collection = collection([("a.md", text.as_str())]);
            if let Some(answer) = collection.answer("a") {
                prop_assert!((number(answer, &["target", "ph"]) - target).abs() <= Decimal::new(1, 4));
                prop_assert!(number(answer, &["dose", "amount"]) > Decimal::ZERO);
            }
        }
    }
}

/// The pH of a buffer, unless it is too concentrated for one.
fn state(body: &str) -> Option<Decimal> {
    let text = format!("```{body}\n```\n");
    let collection = collection([("a.md", text.as_str())]);
    collection.answer("a").map(|answer| number(answer, &["ph"]))
}

/// Workings are bounded: a long chain of lines, an expression as long and as deep as may be, and numbers that double their digits in every line end in
/// results or errors, and not in a stack that is full.
#[test]
fn hostile_workings_come_to_an_end() {
    let chain = |first: &str, next: &dyn Fn(usize) -> String, n_lines: usize| {
        let lines: Vec<String> = (1..n_lines).map(|line| format!("l{line} = \"{}\"", next(line))).collect();
        // The lines stand in the order in which each rests on the one below it, so that the first asks for all others.
        format!(
            "```workings\nid = \"a\"\n{}\nl0 = \"{first}\"\n```\n",
            lines.into_iter().rev().collect::<Vec<_>>().join("\n")
        )
    };
    let kinds = |text: &str| -> Vec<&'static str> {
        collection([("a.md", text)]).findings().iter().map(|finding| finding.kind.name).collect()
    };
    assert_eq!(kinds(&chain("1", &|line| format!("l{} + 1", line - 1), 200)), Vec::<&str>::new());
    assert_eq!(kinds(&chain("1", &|line| format!("l{} + 1", line - 1), 201)), ["wrong-value"]);
    assert_eq!(kinds(&chain("1.0000001", &|line| format!("l{0} × l{0}", line - 1), 200)), ["beyond-reckoning"]);
    let long = format!("1{}", " × 1".repeat(79));
    let deep = format!("{}1{}", "(".repeat(24), ")".repeat(24));
    for first in [long.as_str(), deep.as_str()] {
        assert_eq!(kinds(&chain(first, &|line| format!("l{} + 1", line - 1), 3)), Vec::<&str>::new(), "{first}");
    }
    for first in ["(".repeat(50_000), "-".repeat(50_000), "1 + ".repeat(50_000)] {
        assert_eq!(kinds(&chain(&first, &|line| format!("l{} + 1", line - 1), 3)), ["not-an-expression"]);
    }
}
