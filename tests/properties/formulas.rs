//! What holds for any formula: sums, scaling, order, steps.

use super::percent_text;
use crate::support::{cases, collection};
use proptest::prelude::*;
use std::fmt::Write as _;
use tarebook::compute::{Answer, Computed, look_up};
use tarebook::quantity::Decimal;
use tarebook::report::{Finding, kind};

/// Raw materials of every kind: water, surfactants, a preservative, oils, powders, an acid.
const MATERIALS: [&str; 12] = [
    "water",
    "glycerin",
    "decyl-glucoside",
    "cocamidopropyl-betaine",
    "sodium-cocoyl-isethionate",
    "phenoxyethanol",
    "sodium-benzoate",
    "citric-acid-50",
    "panthenol",
    "xanthan-gum",
    "lactic-acid",
    "sunflower-oil",
];

/// A formula in figures: amounts in ten-thousandths of a per cent, with the phase of each line.
#[derive(Clone, Debug)]
struct Lines {
    lines: Vec<(usize, i64, char)>,
    /// The line that is q.s. to 100, if there is one.
    balance: Option<usize>,
}

/// One hundred per cent in the unit of [`Lines`].
const WHOLE: i64 = 1_000_000;

impl Lines {
    /// The whole cut at random places, so that the sum is exactly 100.
    fn any() -> impl Strategy<Value = Lines> {
        let cuts = proptest::collection::vec(prop_oneof![1..WHOLE, (1_i64..100).prop_map(|n| n * 10_000)], 0..12);
        let order = Just((0..MATERIALS.len()).collect::<Vec<_>>()).prop_shuffle();
        let phases = proptest::collection::vec(prop::sample::select(vec!['A', 'B', 'C']), MATERIALS.len());
        (cuts, order, phases, proptest::option::weighted(0.6, any::<prop::sample::Index>())).prop_map(
            |(mut cuts, order, mut phases, balance)| {
                cuts.extend([0, WHOLE]);
                cuts.sort_unstable();
                cuts.dedup();
                phases.truncate(cuts.len() - 1);
                phases.sort_unstable();
                let amounts = cuts.windows(2).map(|pair| pair[1] - pair[0]);
                let lines: Vec<_> =
                    order.into_iter().zip(amounts).zip(phases).map(|((m, amount), phase)| (m, amount, phase)).collect();
                let balance = balance.map(|index| index.index(lines.len()));
                Lines { lines, balance }
            },
        )
    }

    /// The block, with each amount written by `write` unless it is the balance line.
    fn block(&self, head: &str, write: impl Fn(i64) -> String) -> String {
        let mut text = format!("```formula\nid = \"f\"\n{head}\n");
        let mut open = None;
        for (index, (material, amount, phase)) in self.lines.iter().enumerate() {
            if open.replace(*phase) != Some(*phase) {
                let _ = writeln!(text, "[phase.{phase}]");
            }
            let amount = if self.balance == Some(index) { "\"q.s. to 100\"".to_owned() } else { write(*amount) };
            let _ = writeln!(text, "{} = {amount}", MATERIALS[*material]);
        }
        text.push_str("```\n");
        text
    }
}

impl Lines {
    /// Steps that add all phases in order, each in one of four ways: as a phase, line by line, in a vessel of its own, or with a part of its
    /// first line ahead of the rest.
    fn steps(&self, ways: &[usize]) -> String {
        let mut text = String::new();
        let mut step = |more: &str| {
            let _ = writeln!(text, "[[step]]\ndo = \"Do it.\"\n{more}");
        };
        for (phase, way) in ['A', 'B', 'C'].into_iter().zip(ways) {
            let of_phase = self.lines.iter().filter(|(_, _, own)| *own == phase);
            let names: Vec<&str> = of_phase.map(|(material, _, _)| MATERIALS[*material]).collect();
            let Some(first) = names.first() else { continue };
            match way {
                0 => step(&format!("add = [\"phase {phase}\"]")),
                1 => step(&format!("add = {names:?}")),
                2 => {
                    step(&format!("in = \"beaker\"\nadd = [\"phase {phase}\"]"));
                    step("pour = \"beaker\"");
                }
                _ => {
                    step(&format!("add = [\"10 % of {first}\"]"));
                    step(&format!("add = [\"phase {phase}\"]"));
                }
            }
        }
        step("until = \"even\"");
        text
    }
}

/// Computes the formula `f` of a notebook, which must have no error.
#[track_caller]
fn computed(text: &str) -> Computed {
    let collection = collection([("a.md", text)]);
    match collection.formula("f") {
        Some(computed) => computed.clone(),
        None => panic!("not computed: {:?}\n{text}", collection.findings()),
    }
}

/// Batches from a gram to ten tonnes, in milligrams.
fn any_batch() -> impl Strategy<Value = i64> {
    prop_oneof![1_000_i64..100_000, 100_000_i64..10_000_000, (1_i64..10_000).prop_map(|kg| kg * 1_000_000)]
}

/// Readabilities that balances have, in milligrams, and a few that they do not.
fn any_readability() -> impl Strategy<Value = i64> {
    prop::sample::select(vec![1_i64, 2, 5, 10, 20, 50, 100, 200, 500, 1_000, 2_000, 5_000, 7, 30])
}

fn grams_text(milligrams: i64) -> String {
    format!("{} g", Decimal::new(milligrams, 3).normalize())
}

fn head(batch: i64, readability: i64) -> String {
    format!("batch = \"{}\"\nbalance = \"{}\"", grams_text(batch), grams_text(readability))
}

/// Milligrams to the nearest multiple of a step, halves to the even multiple: worked out in whole numbers, beside the program.
fn rounded(milligrams: i64, step: i64) -> i64 {
    let (down, rest) = (milligrams.div_euclid(step), milligrams.rem_euclid(step));
    let up = match (rest * 2).cmp(&step) {
        std::cmp::Ordering::Less => 0,
        std::cmp::Ordering::Greater => 1,
        std::cmp::Ordering::Equal => down % 2,
    };
    (down + up) * step
}

proptest! {
    #![proptest_config(cases(150))]

    /// The printed sheet adds up to the batch to the last digit of the balance, whatever is weighed on whatever balance, and
    /// no line is further from its exact weight than one step, the balance line aside.
    #[test]
    fn the_printed_sheet_adds_up(lines in Lines::any(), batch in any_batch(), readability in any_readability()) {
        prop_assume!(batch >= readability);
        let computed = computed(&lines.block(&head(batch, readability), percent_text));
        let sheet = &computed.sheet;
        let step = Decimal::new(readability, 3);
        let sum: Decimal = sheet.printed.iter().map(|mass| mass.grams()).sum();
        prop_assert_eq!(sum, Decimal::new(rounded(batch, readability), 3));
        prop_assert_eq!(sum, sheet.batch_printed.grams());
        let exact_sum: Decimal = sheet.exact.iter().map(|mass| mass.grams()).sum();
        prop_assert_eq!(exact_sum, Decimal::new(batch, 3));
        for (index, (printed, exact)) in sheet.printed.iter().zip(&sheet.exact).enumerate() {
            prop_assert!(printed.grams() >= Decimal::ZERO, "line {} is {} g", index, printed.grams());
            prop_assert!((printed.grams() % step).is_zero(), "line {} is {} g", index, printed.grams());
            let off = (printed.grams() - exact.grams()).abs();
            prop_assert!(off < step || lines.balance == Some(index), "line {} is off by {} g", index, off);
        }
    }

    /// Another batch size scales the weights and nothing else; the query of a calc link gives the same as a batch in the block.
    #[test]
    fn scaling_scales_weights_and_nothing_else(lines in Lines::any(), batch in any_batch(), factor in 2_i64..100) {
        let small = computed(&lines.block(&head(batch, 1), percent_text));
        let large = computed(&lines.block(&head(batch * factor, 1), percent_text));
        let times = Decimal::new(factor, 0);
        let scaled: Vec<Decimal> = small.sheet.exact.iter().map(|mass| mass.grams() * times).collect();
        let weights: Vec<Decimal> = large.sheet.exact.iter().map(|mass| mass.grams()).collect();
        prop_assert_eq!(scaled, weights);
        prop_assert_eq!(&small.active, &large.active);
        prop_assert_eq!(&small.composition, &large.composition);
        let asked = grams_text(batch * factor).replace(' ', "");
        for (material, _, _) in &lines.lines {
            for part in ["weight", "percent"] {
                let path = [MATERIALS[*material], part];
                prop_assert_eq!(look_up(&small, tarebook::compute::Backing::built_in(), &path, Some(&asked)), look_up(&large, tarebook::compute::Backing::built_in(), &path, None));
            }
        }
    }

    /// A method that adds all lines in the order of the phases, some of them in parts, some phases by way of another vessel, finds
    /// nothing out of order, adds each line's weight of the sheet, and ends with the batch in the vessel.
    #[test]
    fn a_method_makes_the_batch(
        lines in Lines::any(),
        batch in any_batch(),
        readability in any_readability(),
        ways in proptest::collection::vec(0_usize..4, 3),
    ) {
        prop_assume!(batch >= readability);
        let (block, steps) = (lines.block(&head(batch, readability), percent_text), lines.steps(&ways));
        let text = format!("{block}\n```method\nid = \"m\"\nformula = \"f\"\ntare = \"250 g\"\n{steps}```\n");
        let collection = collection([("a.md", &*text)]);
        let found: Vec<Finding> = collection.findings();
        let names: Vec<&str> = found.iter().map(|finding| finding.kind.name).collect();
        // A tenth of a line of some steps of the balance is nothing to weigh, and that is said.
        if names.contains(&"wrong-value") {
            prop_assert!(ways.contains(&3));
            return Ok(());
        }
        prop_assert!(!names.contains(&"out-of-phase-order"), "{:?}\n{}", found, text);
        let Some(Answer::Method(method)) = collection.answer("m") else { panic!("{found:?}\n{text}") };
        let sheet = &collection.formula("f").unwrap().sheet;
        for (index, printed) in sheet.printed.iter().enumerate() {
            let added = method.steps.iter().flat_map(|step| &step.added).filter(|added| added.line == index);
            let sum: Decimal = added.map(|added| added.weight.grams()).sum();
            prop_assert_eq!(sum, printed.grams());
        }
        let last = method.steps.last().unwrap();
        prop_assert_eq!(last.holds, sheet.batch_printed);
        let (_, with_tare, _) = method.with_tare(last).unwrap();
        prop_assert_eq!(with_tare.grams(), sheet.batch_printed.grams() + Decimal::new(250, 0));
    }

    /// In which order the lines of a phase stand, and the phases, changes no total.
    #[test]
    fn the_order_of_lines_changes_no_total(lines in Lines::any(), seed in any::<u64>(), batch in any_batch()) {
        let mut keyed: Vec<_> = lines.lines.iter().enumerate().collect();
        keyed.sort_by_key(|(index, line)| {
            // A shuffle that keeps phases together and orders them anew.
            let mix = |n: u64| (n ^ seed).wrapping_mul(0x9e37_79b9_7f4a_7c15);
            (mix(u64::from(line.2)), mix(*index as u64))
        });
        let balance = lines.balance.and_then(|old| keyed.iter().position(|(index, _)| *index == old));
        let shuffled = Lines { lines: keyed.iter().map(|(_, line)| **line).collect(), balance };
        let one = computed(&lines.block(&head(batch, 10), percent_text));
        let other = computed(&shuffled.block(&head(batch, 10), percent_text));
        prop_assert_eq!(one.active.total, other.active.total);
        prop_assert_eq!(&one.active.classes, &other.active.classes);
        prop_assert_eq!(&one.composition.substances, &other.composition.substances);
        for path in [&["total", "weight"][..], &["total", "percent"], &["water"], &["active-matter"]] {
            let value = |computed: &Computed| look_up(computed, tarebook::compute::Backing::built_in(), path, None).map(|figure| figure.value);
            prop_assert_eq!(value(&one), value(&other));
        }
        // With a balance line that is large enough to take the rounding of eleven others, each material weighs the same too.
        let takes_it = lines.balance.is_some_and(|index| one.sheet.exact[index].grams() >= Decimal::new(6, 2));
        for (material, _, _) in lines.lines.iter().filter(|_| takes_it) {
            let weight = |computed: &Computed| look_up(computed, tarebook::compute::Backing::built_in(), &[MATERIALS[*material], "weight"], None).map(|f| f.value);
            prop_assert_eq!(weight(&one), weight(&other));
        }
    }

    /// The same formula in parts or in weights, however large they are taken, is the same formula.
    #[test]
    fn parts_and_weights_are_percentages_of_their_sum(lines in Lines::any(), batch in any_batch(), times in 1_i64..50) {
        let whole = Lines { balance: None, ..lines };
        let percent = computed(&whole.block(&head(batch, 10), percent_text));
        let parts = computed(&whole.block(&head(batch, 10), |amount| format!("\"{} parts\"", percent_text(amount * times))));
        let weights = computed(&whole.block(&head(batch, 10), |amount| format!("\"{} g\"", percent_text(amount * times))));
        for other in [&parts, &weights] {
            for (left, right) in percent.formula.lines().zip(other.formula.lines()) {
                prop_assert_eq!(percent.formula.percent(left), other.formula.percent(right));
            }
            prop_assert_eq!(&percent.sheet, &other.sheet);
            prop_assert_eq!(percent.active.total, other.active.total);
        }
    }

    /// A sum that is not 100 is refused, by however little it misses, and says by how much.
    #[test]
    fn a_sum_that_is_not_100_is_refused(lines in Lines::any(), off in prop_oneof![1_i64..100, 1_000_i64..500_000]) {
        let mut wrong = Lines { balance: None, ..lines };
        wrong.lines[0].1 += off;
        prop_assume!(wrong.lines[0].1 <= WHOLE);
        let collection_of = collection([("a.md", wrong.block("", percent_text).as_str())]);
        prop_assert!(collection_of.formula("f").is_none());
        let findings = collection_of.findings();
        let finding = findings.iter().find(|finding| finding.kind == kind::SUM_NOT_100).unwrap();
        let miss = percent_text(off);
        prop_assert!(finding.what.contains(&miss), "{} does not say {}", finding.what, miss);
    }
}
