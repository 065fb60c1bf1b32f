//! Labels, reached through `label` blocks: net contents in both units, and what Article 19 asks about durability.

use super::Blocks;
use tarebook::block::AfterOpening;
use tarebook::compute::{Answer, Durability, Value, durability_of};
use tarebook::quantity::Date;

#[track_caller]
fn check_content(content: &str, us: &str) {
    let blocks = Blocks::of(&format!(
        "```formula\nid = \"oil\"\nproduct = \"body oil\"\n[phase.A]\nsunflower-oil = 100\n```\n\n\
         ```label\nid = \"a\"\nformula = \"oil\"\ncontent = \"{content}\"\n```\n"
    ));
    let figure = blocks.collection.answer("a").unwrap().look_up("a", &["content", "us"]).unwrap();
    let Value::Text(text) = figure.value else { panic!("no text") };
    assert_eq!(text.replace('\u{a0}', " "), us, "{content}");
}

/// NIST Handbook 44, Appendix C: 1 US fluid ounce is 29.573 529 562 5 ml and 1 ounce 28.349 523 125 g, exactly. The same number of ounces comes out.
#[test]
fn an_ounce_is_an_ounce() {
    check_content("29.5735295625 ml", "1 fl oz (29.5735295625 ml)");
    check_content("28.349523125 g", "1 oz (28.349523125 g)");
}

/// NIST Handbook 44, Appendix C, prints 29.573 53 ml for a fluid ounce, which is a little more, and NIST SP 811 (2008), Appendix B, 28.349 52 g for an ounce,
/// which is a little less: cut off, it must not be called an ounce.
#[test]
fn what_is_less_than_an_ounce_is_not_declared_as_one() {
    check_content("29.57353 ml", "1 fl oz (29.57353 ml)");
    check_content("28.34952 g", "0.999 oz (28.34952 g)");
    check_content("29.5735 ml", "0.999 fl oz (29.5735 ml)");
}

/// NIST Handbook 44, Appendix C: a cup is 8 fluid ounces and 236.588 236 5 ml, a gill 4 and 118.294 118 25 ml, a pint 16 and 473.176 473 ml; a pound is
/// 16 ounces and 453.592 37 g.
#[test]
fn larger_units_in_ounces() {
    check_content("118.29411825 ml", "4 fl oz (118.29411825 ml)");
    check_content("236.5882365 ml", "8 fl oz (236.5882365 ml)");
    check_content("473.176473 ml", "16 fl oz (473.176473 ml)");
    check_content("453.59237 g", "16 oz (453.59237 g)");
}

/// Supplier technical data, packaging pages on standard and overflow capacity: 236.59 ml is sold as 8 US fluid ounces. Written in fluid ounces, the metric content is
/// cut off as well: 8 fl oz are 236.588… ml and not 236.6.
#[test]
fn eight_ounces_both_ways() {
    check_content("236.59 ml", "8 fl oz (236.59 ml)");
    check_content("8 us fluid ounce", "8 fl oz (236.5 ml)");
}

#[track_caller]
fn check(months: Option<u32>, after: Option<AfterOpening>, expected: Durability) {
    let made = Date::read("2026-11-14").unwrap();
    assert_eq!(durability_of(months, Some(made), after), expected, "{months:?}, {after:?}");
}

fn date(text: &str) -> Option<Date> {
    Some(Date::read(text).unwrap())
}

/// Regulation (EC) No 1223/2009, Article 19(1)(c): what keeps 30 months or less shows a date, at 30 months exactly too, whatever opening does to it.
#[test]
fn up_to_thirty_months_a_date() {
    check(Some(1), None, Durability::Date(date("2026-12-14"), 1));
    check(Some(29), None, Durability::Date(date("2029-04-14"), 29));
    check(Some(30), None, Durability::Date(date("2029-05-14"), 30));
    check(Some(30), Some(AfterOpening::Months(12)), Durability::Date(date("2029-05-14"), 30));
    check(Some(24), Some(AfterOpening::SingleUse), Durability::Date(date("2028-11-14"), 24));
    assert_eq!(durability_of(Some(30), None, None), Durability::Date(None, 30));
}

/// The same: what keeps longer needs no date, and shows how long it may be used once opened.
#[test]
fn above_thirty_months_the_time_after_opening() {
    check(Some(31), Some(AfterOpening::Months(12)), Durability::AfterOpening(12));
    check(Some(36), Some(AfterOpening::Months(6)), Durability::AfterOpening(6));
    check(Some(31), None, Durability::AfterOpeningNotStated);
}

/// The same: unless durability after opening does not matter, because nothing can go off once opened.
#[test]
fn above_thirty_months_neither_where_opening_does_not_matter() {
    for after in [AfterOpening::SingleUse, AfterOpening::NeverOpen, AfterOpening::DoesNotSpoil] {
        check(Some(36), Some(after), Durability::Neither(after));
    }
}

/// 21 CFR 701.13(i): the letters of the net contents are at least 1/16 inch high on a front panel of up to 5 square inches, 1/8 up to 25, 3/16 up to 100, 1/4 up to
/// 400 and 1/2 above. The steps hold at their upper ends; an inch is 25.4 mm.
#[test]
fn letters_by_the_front_panel() {
    for (inches, height) in [
        ("1 x 1", "1/16"),
        ("2 x 2.5", "1/16"),
        ("2 x 2.51", "1/8"),
        ("5 x 5", "1/8"),
        ("5.01 x 5", "3/16"),
        ("10 x 10", "3/16"),
        ("10 x 10.01", "1/4"),
        ("20 x 20", "1/4"),
        ("20.01 x 20", "1/2"),
    ] {
        let blocks = Blocks::of(&format!(
            "```formula\nid = \"oil\"\nproduct = \"body oil\"\n[phase.A]\nsunflower-oil = 100\n```\n\n\
             ```label\nid = \"a\"\nformula = \"oil\"\nfront-panel = \"{inches} in\"\n```\n"
        ));
        let figure = blocks.collection.answer("a").unwrap().look_up("a", &["letters"]).unwrap();
        let Value::Text(text) = figure.value else { panic!("no text") };
        assert!(text.starts_with(&format!("{height}\u{a0}in (")), "{inches}: {text}");
    }
}

/// The same article asks for the time after opening only where no date is needed. Where it is stated beside a date, the list of checks says that it is not shown.
#[test]
fn a_time_after_opening_beside_a_date_is_said_not_to_be_shown() {
    for (stated, is_said) in [
        ("durability = \"24 months\"\nafter-opening = \"6 months\"", true),
        ("durability = \"24 months\"\nmade = 2026-03-14\nafter-opening = \"6 months\"", true),
        ("after-opening = \"6 months\"", true),
        ("durability = \"24 months\"", false),
        ("durability = \"36 months\"\nafter-opening = \"6 months\"", false),
    ] {
        let blocks = Blocks::of(&format!(
            "```formula\nid = \"oil\"\nproduct = \"body oil\"\n[phase.A]\nsunflower-oil = 100\n```\n\n\
             ```label\nid = \"a\"\nformula = \"oil\"\nrules = \"eu\"\n{stated}\n```\n"
        ));
        let Some(Answer::Label(label)) = blocks.collection.answer("a") else { panic!("no label") };
        let check = label.proofs[0].checks.iter().find(|check| check.what == "durability").unwrap();
        let words = "the time after opening, 6 months, is not shown: it is asked for where a product keeps longer than 30 months";
        assert_eq!(check.words.contains(words), is_said, "{stated}: {}", check.words);
        assert_eq!(check.source, "Regulation (EC) No 1223/2009, Article 19(1)(c)");
    }
}

/// What is not stated is not known; a time after opening alone does not say how long the product keeps.
#[test]
fn durability_is_never_guessed() {
    check(None, None, Durability::NotStated);
    check(None, Some(AfterOpening::Months(12)), Durability::NotStated);
}
