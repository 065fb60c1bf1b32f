//! What holds for any expression of workings.

use crate::support::{cases, collection};
use proptest::prelude::*;
use tarebook::block::Expression;
use tarebook::compute::{Answer, Working};
use tarebook::page::working_text;
use tarebook::quantity::{Decimal, Exact, UnitValue, Units, read_literal};

/// Texts that look like expressions, and what they are made of.
fn any_expression_text() -> impl Strategy<Value = String> {
    let piece = prop::sample::select(vec![
        "1",
        "2.50",
        "1,5",
        "1,234",
        "10..12",
        "-",
        "−",
        "+",
        "×",
        "*",
        "/",
        "÷",
        "(",
        ")",
        "of",
        "to",
        "round",
        "up",
        "min",
        "max",
        ";",
        " ",
        "g",
        "kg",
        "ml",
        "€/kg",
        "€3.80",
        "%",
        "% v/v",
        "°C",
        "°F",
        "K",
        "oz",
        "us fluid ounce",
        "price",
        "net-price",
        "calc:a/b",
        "calc:",
        "x",
        "^",
        "..",
        "–",
        "\u{a0}",
        "ü",
        "per",
        "\u{202f}",
        "99999999999999",
    ]);
    proptest::collection::vec(piece, 0..24).prop_map(|pieces| pieces.concat())
}

/// A quantity of small numbers in a unit of one kind, as text.
fn any_mass_text() -> impl Strategy<Value = String> {
    let unit = prop::sample::select(vec!["µg", "mg", "g", "kg", "lb", "avoirdupois ounce"]);
    (1_i64..1_000_000, 0_u32..5, unit)
        .prop_map(|(number, scale, unit)| format!("{} {unit}", Decimal::new(number, scale)))
}

/// An expression that has a value: sums of weights, times and over numbers.
fn any_sound_expression() -> impl Strategy<Value = String> {
    let leaf = any_mass_text();
    leaf.prop_recursive(4, 24, 2, |inner| {
        let number = (1_i64..10_000, 0_u32..3).prop_map(|(number, scale)| Decimal::new(number, scale).to_string());
        prop_oneof![
            (inner.clone(), inner.clone()).prop_map(|(a, b)| format!("({a} + {b})")),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| format!("{a} - ({b})")),
            (number.clone(), inner.clone()).prop_map(|(n, a)| format!("{n} × ({a})")),
            (inner.clone(), number).prop_map(|(a, n)| format!("({a}) ÷ {n}")),
            inner.clone().prop_map(|a| format!("25 % of ({a})")),
            inner.clone().prop_map(|a| format!("-({a})")),
            inner.prop_map(|a| format!("({a} to kg)")),
        ]
    })
}

/// What a line of workings comes to, as text for the page, with its exact ends in grams.
fn worked(expression: &str) -> Option<(String, [Exact; 3])> {
    let text = format!("```workings\nid = \"w\"\na = \"{expression}\"\n```\n");
    let collection = collection([("a.md", text.as_str())]);
    let Some(Answer::Workings(workings)) = collection.answer("w") else { return None };
    let line = workings.lines.first()?;
    let pieces = workings.expression_pieces(line);
    let shown = working_text(&Working { pieces, source: None });
    Some((shown, line.value.ends_in(&read_literal("1 g").ok()?)?))
}

proptest! {
    #![proptest_config(cases(256))]

    /// No text takes the parser down, and every fault lies inside the text, on its characters.
    #[test]
    fn any_expression_is_read_or_refused_in_place(text in prop_oneof![any_expression_text(), ".{0,80}"]) {
        match Expression::read(&text) {
            Ok(expression) => prop_assert!(text.get(expression.span).is_some()),
            Err(fault) => prop_assert!(text.get(fault.span.clone()).is_some(), "{:?} in {text:?}", fault),
        }
    }

    /// The same inside a notebook: every finding stands inside the file, whatever the quotation marks.
    #[test]
    fn findings_of_workings_lie_in_the_notebook(one in any_expression_text(), two in any_expression_text()) {
        let text = format!("> ```workings\n> price = '{one}'\n> net-price = \"\"\"\n> {two}\"\"\"\n> ```\n");
        let collection = collection([("a.md", text.as_str())]);
        for finding in collection.findings() {
            let span = finding.place.span.clone();
            prop_assert!(span.start <= span.end && text.get(span).is_some(), "{}", finding.what);
        }
    }

    /// What is printed of an expression can be typed, and comes to the same.
    #[test]
    fn a_printed_expression_comes_to_the_same(text in any_sound_expression()) {
        prop_assume!(text.len() < 300);
        let (shown, ends) = worked(&text).ok_or_else(|| TestCaseError::fail(text.clone()))?;
        let (again, same) = worked(&shown).ok_or_else(|| TestCaseError::fail(shown.clone()))?;
        prop_assert_eq!(&ends, &same, "{} and {}", text, shown);
        prop_assert_eq!(again, shown);
    }

    /// A unit turned into another and back is the same to the last digit, by way of any unit.
    #[test]
    fn units_come_back(text in any_mass_text(), way in prop::sample::select(vec!["lb", "avoirdupois ounce", "mg", "kg"])) {
        let value = read_literal(&text).unwrap_or_else(|_| UnitValue::number(Decimal::ZERO));
        let there = value.to(&Units::of(way)).and_then(|there| there.to(value.units()));
        prop_assert_eq!(there.map(|back| back.ends()), Ok(value.ends()));
    }

    /// Temperatures too, and so do volumes.
    #[test]
    fn readings_and_volumes_come_back(number in -100_000_i64..100_000, scale in 0_u32..4) {
        for (unit, way) in [("°C", "°F"), ("°F", "°C"), ("°C", "K"), ("ml", "us gallon"), ("us teaspoon", "l")] {
            let value = UnitValue::exactly(Decimal::new(number, scale), Units::of(unit));
            let there = value.to(&Units::of(way)).and_then(|there| there.to(value.units()));
            prop_assert_eq!(there.map(|back| back.ends()), Ok(value.ends()));
        }
    }

    /// The range of a result holds the results of the ends and of the middle, for every sign.
    #[test]
    fn a_range_holds_what_its_ends_give(
        one in (-1_000_i64..1_000, 0_i64..1_000), two in (-1_000_i64..1_000, 0_i64..1_000), sign in 0_usize..4,
    ) {
        let range = |(low, width): (i64, i64)| {
            let (low, high) = (Decimal::new(low, 1), Decimal::new(low + width, 1));
            UnitValue::between(low, (low + high) / Decimal::TWO, high, Units::none())
        };
        let act = |a: &UnitValue, b: &UnitValue| match sign {
            0 => a.plus(b),
            1 => a.minus(b),
            2 => a.times(b),
            _ => a.over(b),
        };
        let points = |(low, width): (i64, i64)| {
            [Decimal::new(low, 1), Decimal::new(low, 1) + Decimal::new(width, 1) / Decimal::TWO, Decimal::new(low + width, 1)].map(UnitValue::number)
        };
        if let Ok(whole) = act(&range(one), &range(two)) {
            let [low, typical, high] = whole.ends();
            prop_assert!(low <= typical && typical <= high);
            for a in points(one) {
                for b in points(two) {
                    let [point, ..] = act(&a, &b).map_err(|fault| TestCaseError::fail(format!("{fault:?}")))?.ends();
                    prop_assert!(low <= point && point <= high);
                }
            }
        }
    }
}
