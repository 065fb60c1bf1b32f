//! `compare`: formulas side by side, their differences reckoned by hand, and what holds of every pair.

use crate::support::{Bench, cases, collection};
use proptest::prelude::*;
use tarebook::quantity::Decimal;

/// A wash, a variant with one change, one with three, and a formula of another family.
const WASHES: &str = "# Washes\n\n```formula\nid = \"wash\"\nproduct = \"body wash\"\nbatch = \"500 g\"\nph = \"4.8..5.2\"\nbalance = \"0.1 g\"\n\
    [phase.A]\nwater = \"q.s. to 100\"\nglycerin = 3\nsodium-benzoate = 0.5\n[phase.B]\ncocamidopropyl-betaine = 20\n```\n\n\
    ```formula\nid = \"more\"\nbased-on = \"wash\"\n[change.A]\nglycerin = 5.25\n```\n\n\
    ```formula\nid = \"three\"\nbased-on = \"wash\"\nph = \"5..5.5\"\n[change.A]\nglycerin = \"drop\"\n[change.B]\ncocamidopropyl-betaine = 18\n```\n\n\
    ```formula\nid = \"balm\"\nproduct = \"lip balm\"\nbatch = \"100 g\"\n[phase.A]\nsunflower-oil = \"q.s. to 100\"\ncastor-oil = 20\n```\n";

/// A line of the text with single spaces.
fn lines(text: &str) -> Vec<String> {
    let plain = text.replace('\u{a0}', " ");
    plain.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ")).collect()
}

#[track_caller]
fn check(arguments: &[&str], expected: &[&str], absent: &[&str]) {
    let bench = Bench::new().with("washes.md", WASHES);
    let all = std::iter::once("compare").chain(arguments.iter().copied());
    let out = bench.run(all).ends_with(0).complains_of_nothing().out();
    let lines = lines(&out);
    for line in expected {
        assert!(lines.iter().any(|known| known == line), "no line {line:?} in\n{out}");
    }
    for part in absent {
        assert!(!lines.iter().any(|known| known.contains(part)), "{part:?} stands in\n{out}");
    }
}

/// By hand, for 500 g: 15.0 g of glycerin at 10 EUR a kilogram and 100 g of betaine at 5 make 0.65 EUR; 26.25 g of glycerin make 0.7625 EUR. Water is
/// said to cost nothing. 2.5 g of sodium benzoate at 20 EUR a kilogram are 0.05 EUR more in both.
#[test]
fn a_cost_with_a_price_missing_is_what_it_costs_at_least() {
    let price = |name: &str, price: &str| {
        format!("[[material.{name}.price]]\npack = \"1 kg\"\nprice = \"{price} EUR\"\ndate = 2026-11-20\n")
    };
    let known = price("water", "0") + &price("glycerin", "10.00") + &price("cocamidopropyl-betaine", "5.00");
    let bench = Bench::new().with("washes.md", WASHES).with("collection.toml", "currency = \"EUR\"\n");
    let bench = bench.with("materials/own.toml", &known);
    let costs = || -> Vec<String> {
        let out = bench.run(["compare", "wash", "more"]).ends_with(0).complains_of_nothing().out();
        lines(&out).into_iter().filter(|line| line.starts_with("raw materials for ")).collect()
    };
    assert_eq!(
        costs(),
        [
            "raw materials for the batch at least 0.65 EUR at least 0.76 EUR",
            "raw materials for 100 g at least 0.13 EUR at least 0.15 EUR",
        ]
    );
    bench.write("materials/own.toml", known.clone() + &price("sodium-benzoate", "20.00"));
    assert_eq!(
        costs(),
        ["raw materials for the batch 0.70 EUR 0.81 EUR (+0.11)", "raw materials for 100 g 0.14 EUR 0.16 EUR (+0.02)",]
    );
}

/// By hand: glycerin 5.25 − 3 = 2.25 points, of 500 g 26.2 − 15.0 = 11.2 g on a balance of 0.1 g (26.25 rounds to the even 26.2); water
/// 100 − 23.5 = 76.5, 100 − 25.75 = 74.25, so −2.25 points and 371.3 − 382.5 = −11.2 g, the balance line taking the rounding.
#[test]
fn one_change_is_told_with_what_the_balance_line_makes_of_it() {
    check(
        &["wash", "more"],
        &[
            "weights for 500.0 g wash more",
            "Glycerin (glycerol), 99.5 % 3 % 5.25 % (+2.25)",
            "15.0 g 26.2 g (+11.2)",
            "Purified water 76.5 % 74.25 % (\u{2212}2.25)",
            "382.5 g 371.3 g (\u{2212}11.2)",
            "changed: glycerin 5.25 % instead of 3 %",
        ],
        &["things changed at once", "Sodium benzoate", "active matter", "declaration"],
    );
}

/// By hand: betaine 18 − 20 = −2 points, of 500 g −10.0 g.
#[test]
fn several_changes_at_once_are_said_and_what_is_left_out_is_no_zero() {
    check(
        &["wash", "three"],
        &[
            "Glycerin (glycerol), 99.5 % 3 % not in it",
            "100.0 g 90.0 g (\u{2212}10.0)",
            "pH specification 4.8–5.2 5–5.5",
            "changed: glycerin left out",
            "changed: cocamidopropyl-betaine 18 % instead of 20 %",
            "changed: pH 5–5.5 instead of pH 4.8–5.2",
            "declaration: Glycerin goes",
            "3 things changed at once, so what each of them does cannot be told apart. Change one thing at a time, in a variant of its own.",
        ],
        &[],
    );
}

#[test]
fn formulas_of_other_families_may_differ_in_anything() {
    check(&["wash", "balm", "--batch", "1kg"], &["weights for 1000.0 g wash balm"], &["things changed at once"]);
    check(&["wash", "wash"], &["changed: nothing"], &["weights", "gained", "no more", "declaration"]);
    check(&["wash", "more", "three"], &["weights for 500.0 g wash more three", "From wash to three"], &[]);
}

#[test]
fn what_cannot_be_compared_is_said() {
    let bench = Bench::new().with("washes.md", WASHES);
    let _ = bench.run(["compare", "wash", "mroe"]).ends_with(2).complains("there is no formula `mroe`");
    let _ = bench.run(["compare", "wash"]).ends_with(2);
    let _ =
        bench.run(["compare", "wash", "more", "--batch", "7"]).ends_with(2).complains("the batch is not understood");
}

#[test]
fn json_holds_exact_differences() {
    let bench = Bench::new().with("washes.md", WASHES);
    let out = bench.run(["compare", "wash", "three", "--format", "json"]).ends_with(0).out();
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(json["schema"], "tarebook comparison 1");
    let line = |id: &str| json["lines"].as_array().unwrap().iter().find(|line| line["material"] == id).unwrap();
    assert_eq!(line("cocamidopropyl-betaine")["formulas"][1]["percent-difference"], "-2");
    assert_eq!(line("water")["formulas"][1]["percent-difference"], "5");
    assert!(line("glycerin")["formulas"][1].is_null());
    assert_eq!(json["steps"][0]["changes"].as_array().unwrap().len(), 3);
}

proptest! {
    #![proptest_config(cases(24))]

    /// Comparing back gives the same differences with the other sign; a formula differs from itself in nothing.
    #[test]
    fn a_comparison_turned_round_is_its_negation(first in 1u32..4000, other in 1u32..4000, betaine in 1u32..3000) {
        let block = |id: &str, glycerin: u32, betaine: u32| format!(
            "```formula\nid = \"{id}\"\nbatch = \"300 g\"\n[phase.A]\nwater = \"q.s. to 100\"\nglycerin = {}\ncocamidopropyl-betaine = {}\n```\n\n",
            Decimal::new(i64::from(glycerin), 2), Decimal::new(i64::from(betaine), 2)
        );
        let text = block("a", first, 1200) + &block("b", other, betaine);
        let all = collection([("a.md", text.as_str())]);
        let there = all.compare(&["a", "b"], None).unwrap();
        let back = all.compare(&["b", "a"], None).unwrap();
        for row in &there.rows {
            let turned = back.rows.iter().find(|other| other.material == row.material).unwrap();
            prop_assert_eq!(row.percent_difference(1).map(|by| -by), turned.percent_difference(1));
            prop_assert_eq!(row.weight_difference(1).map(|by| -by), turned.weight_difference(1));
        }
        let (one, two) = (there.steps[0].active.unwrap(), back.steps[0].active.unwrap());
        prop_assert_eq!((one.low, one.typical, one.high), (-two.high, -two.typical, -two.low));
        let itself = all.compare(&["a", "a"], None).unwrap();
        prop_assert!(itself.steps[0].is_nothing() && itself.rows.iter().all(|row| row.is_unchanged()));
        prop_assert!(itself.steps[0].active.unwrap().is_exact() && itself.steps[0].active.unwrap().typical.is_zero());
    }
}

/// Two batches of the wash: 500 g were weighed in each, and in the second 100 g of betaine became 110 g and 10 g of water were left out.
const BATCHES: &str = "# Log\n\n```batch-record\nid = \"monday\"\nformula = \"wash\"\ndate = 2026-03-02\nrest = \"as planned\"\n[weighed]\nglycerin = \"15.1 g\"\nwater = \"382.4 g\"\n\
    [[ph]]\nvalue = \"5.05\"\n```\n\n```batch-record\nid = \"friday\"\nformula = \"wash\"\ndate = 2026-03-06\nrest = \"as planned\"\n[weighed]\nwater = \"372.5 g\"\n\
    cocamidopropyl-betaine = \"110 g\"\n[[viscosity]]\nvalue = \"31 s\"\nhow = \"cup\"\n```\n\n```batch-record\nid = \"sunday\"\nformula = \"wash\"\ndate = 2026-03-08\n[weighed]\nwater = \"372.5 g\"\n```\n";

#[track_caller]
fn check_batches(arguments: &[&str], expected: &[&str], absent: &[&str]) {
    let bench = Bench::new().with("washes.md", WASHES).with("log.md", BATCHES);
    let out = bench.run(std::iter::once("compare").chain(arguments.iter().copied())).ends_with(0).out();
    let lines = lines(&out);
    for line in expected {
        assert!(lines.iter().any(|known| known == line), "no line {line:?} in\n{out}");
    }
    for part in absent {
        assert!(!lines.iter().any(|known| known.contains(part)), "{part:?} stands in\n{out}");
    }
}

/// By hand: 110 of 500 g are 22 %, 2 points more than 20 %; 372.5 of 500 g are 74.5 %, 2 points less than 76.5 %. Glycerin, 15.1 of 500 g, is 3.02 %: 0.7 % of
/// itself more than 3 %, which is within the usual tolerance of 2 % (common practice, no source) and no change.
#[test]
fn a_batch_stands_beside_its_formula() {
    check_batches(
        &["wash", "monday", "friday"],
        &[
            "monday: wash, made 2026-03-02",
            "Glycerin (glycerol), 99.5 % 3 % 3.02 % (+0.02) 3 % (0)",
            "Cocamidopropyl betaine solution, 30 % 20 % 20 % (0) 22 % (+2)",
            "100.0 g 100.0 g (0.0) 110.0 g (+10.0)",
            "with other figures: caution active-matter-outside: `friday` holds 6.6–7.9 % active matter, below the 9–16 % that is usual for a body wash.",
            "pH as read no batch 5.05 not read",
            "viscosity as read no batch not read 31 s",
            "changed: nothing",
            "changed: cocamidopropyl-betaine 22.00 % instead of 20.00 %",
            "changed: water 74.50 % instead of 76.50 %",
            "(what deviates by 2 % of itself or less is not counted)",
        ],
        &["changed: glycerin", "things changed at once"],
    );
}

#[test]
fn a_batch_with_a_weight_missing_cannot_be_compared() {
    let bench = Bench::new().with("washes.md", WASHES).with("log.md", BATCHES);
    let _ =
        bench.run(["compare", "wash", "sunday"]).ends_with(2).complains("not known what is in the vessel of `sunday`");
    bench.write("more.md", "```comparison\nformulas = [\"wash\", \"sunday\"]\n```\n");
    let _ = bench.run(["proofread"]).ends_with(1).says("It is not known what is in the vessel of `sunday`.");
    bench.write("more.md", "```comparison\nid = \"days\"\nformulas = [\"monday\", \"friday\"]\n```\n\n[2 g](calc:days/cocamidopropyl-betaine/weight-difference)\n");
    let _ = bench.run(["proofread"]).ends_with(0);
}

/// The washes as they were in a folder of their own, published into `kitchen/pages`, and a kitchen with the washes as they are.
fn kept(now: &str) -> Bench {
    let bench = Bench::new().with("kitchen/washes.md", WASHES).with("before/washes.md", WASHES);
    let _ = bench.run(["publish", "kitchen"]).ends_with(0);
    bench.write("kitchen/washes.md", now);
    bench
}

/// What `compare --since` prints, the same beside the published pages and beside the notebooks of then.
#[track_caller]
fn since(bench: &Bench, more: &[&str]) -> String {
    let run = |former: &str| {
        let all = ["compare", "--since", former, "--in", "kitchen"].into_iter().chain(more.iter().copied());
        let out = bench.run(all).ends_with(0).complains_of_nothing().out();
        let (head, rest) = out.split_once('\n').unwrap_or((out.as_str(), ""));
        if head.starts_with("Compared with") { rest.to_owned() } else { out }
    };
    let (pages, notebooks) = (run("kitchen/pages"), run("before"));
    assert_eq!(pages, notebooks, "what was published and what it was made of say the same");
    pages
}

#[track_caller]
fn check_since(now: &str, expected: &[&str], absent: &[&str]) {
    let out = since(&kept(now), &[]);
    let lines = lines(&out);
    for line in expected {
        assert!(lines.iter().any(|known| known == line), "no line {line:?} in\n{out}");
    }
    for part in absent {
        assert!(!lines.iter().any(|known| known.contains(part)), "{part:?} stands in\n{out}");
    }
}

/// By hand: glycerin 3.5 − 3 = 0.5 points, of 500 g 17.5 − 15.0 = 2.5 g, which the water gives: 76.5 − 0.5 = 76.0 %, 382.5 − 2.5 = 380.0 g. The variants that
/// take their glycerin from themselves keep it.
#[test]
fn what_changed_since_a_publish_is_told_with_then_and_now() {
    check_since(
        &WASHES.replace("glycerin = 3\n", "glycerin = 3.5\n"),
        &[
            "wash",
            "weights for 500 g then now difference",
            "Glycerin (glycerol), 99.5 %: % w/w 3 % 3.5 % +0.5",
            "Glycerin (glycerol), 99.5 %: weight 15.0 g 17.5 g +2.5",
            "Purified water: % w/w 76.5 % 76.0 % \u{2212}0.5",
            "Purified water: weight 382.5 g 380.0 g \u{2212}2.5",
            "Nothing changed in balm, more, three",
        ],
        &["Sodium benzoate", "New", "There no more"],
    );
}

#[test]
fn what_is_as_it_was_has_nothing_to_tell() {
    for now in [
        WASHES.to_owned(),
        WASHES.replace("# Washes", "# Our washes"),
        WASHES.replace("glycerin = 3\n", "glycerin = 3.0\n"),
    ] {
        assert_eq!(since(&kept(&now), &[]).trim(), "Nothing changed in any of 4 formulas and blocks");
    }
}

#[test]
fn what_comes_goes_and_moves_is_told() {
    check_since(
        &WASHES
            .replace("id = \"balm\"", "id = \"salve\"")
            .replace("ph = \"4.8..5.2\"", "ph = \"4.8..5\"\nversion = \"2\"")
            .replace(
                "glycerin = 3\nsodium-benzoate = 0.5\n[phase.B]\n",
                "sodium-benzoate = 0.5\n[phase.B]\nglycerin = 3\npanthenol = 1\n",
            )
            // The variants change what stands in the other phase now.
            .replace("[change.A]\nglycerin", "[change.B]\nglycerin")
            .replace("\n[change.B]\ncocamidopropyl-betaine = 18", "\ncocamidopropyl-betaine = 18"),
        &[
            "version: none, now 2",
            "specification: pH 4.8–5.2, now pH 4.8–5",
            "glycerin: in phase A, now B",
            "salve (washes.md)",
            "balm (washes.md)",
        ],
        &["Glycerin (glycerol), 99.5 %: % w/w", "Cocamidopropyl"],
    );
}

/// By hand: the batch of then, 500 g, is what both are weighed for; the 400 g of now change nothing in it.
#[test]
fn another_batch_is_told_and_weights_are_for_the_batch_of_then() {
    check_since(
        &WASHES.replace("batch = \"500 g\"", "batch = \"400 g\"").replace("glycerin = 3\n", "glycerin = 4\n"),
        &["batch: 500 g, now 400 g", "Glycerin (glycerol), 99.5 %: weight 15.0 g 20.0 g +5.0"],
        &["Sodium benzoate"],
    );
}

#[test]
fn findings_that_come_and_go_are_told() {
    let out = since(&kept(&WASHES.replace("sodium-benzoate = 0.5\n", "")), &["wash"]);
    assert!(out.contains("Found in washes.md") && out.contains("gained: caution water-without-preservative"), "{out}");
    assert!(!out.contains("balm"), "one formula was asked for: {out}");
}

#[test]
fn what_has_errors_is_not_compared_and_nothing_is_said_to_be_gone() {
    let bench = kept(&WASHES.replace("castor-oil = 20", "castr-oil = 20"));
    let done = bench.run(["compare", "--since", "before", "--in", "kitchen"]).ends_with(0);
    let out = done.complains("tarebook proofread kitchen").out();
    assert!(out.contains("Not compared, because then or now it has errors: balm"), "{out}");
    assert!(!out.contains("There no more"), "{out}");
}

#[test]
fn the_changes_are_given_as_json() {
    let out = since(&kept(&WASHES.replace("glycerin = 3\n", "glycerin = 3.5\n")), &["--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(json["schema"], "tarebook changes 1");
    assert_eq!(json["changed"][0]["id"], "wash");
    let numbers = json["changed"][0]["numbers"].as_array().unwrap();
    let of = |address: &str| numbers.iter().find(|number| number["address"] == address).unwrap();
    assert_eq!(of("wash/glycerin/percent")["difference"], "0.5");
    assert_eq!(of("wash/water/weight")["difference"], "-2.5");
    assert_eq!(json["unchanged"], serde_json::json!(["balm", "more", "three"]));
}

#[test]
fn what_was_kept_must_be_ours() {
    let bench = kept(WASHES);
    bench.write("other/notes.txt", "nothing");
    bench.write("newer/page.json", "{\"schema\": \"tarebook page 9\"}");
    let run = |former: &str| bench.run(["compare", "--since", former, "--in", "kitchen"]);
    let _ = run("nowhere").ends_with(2).complains("nowhere: there is nothing of this name");
    let _ = run("other").ends_with(2).complains("holds neither notebooks nor data files");
    let _ = run("newer").ends_with(2).complains("its schema is “tarebook page 9”");
    let _ = run("other/notes.txt").ends_with(2).complains("this is not JSON");
    let _ = run("kitchen/pages/washes.json").ends_with(0).says("Nothing changed in any of 4 formulas and blocks");
    let _ = bench
        .run(["compare", "wahs", "--since", "before", "--in", "kitchen"])
        .ends_with(2)
        .complains("Did you mean `wash`");
    let _ = bench.run(["compare", "wash", "--in", "kitchen"]).ends_with(2).complains("nothing to compare `wash` with");
}
