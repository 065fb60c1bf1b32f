//! Declarations by the rules themselves: Regulation (EC) No 1223/2009, Article 19(1)(g), with the allergens of Regulation (EU) 2023/1545, and 21 CFR
//! 701.3; and sums of allergens over oils whose constituents are given by pharmacopoeias and ISO standards.
//!
//! The formulas are made for the checks; what is checked are the rule's own boundaries and the published limits of the oils.

use super::d;
use std::sync::Arc;
use tarebook::collection::{Collection, Sources};
use tarebook::compute::{Answer, Declaration, Group};
use tarebook::quantity::Decimal;

/// Own materials: surfactant of 30 %, and an oil of which exactly 30 % is linalool.
const MATERIALS: &str = r#"[material.wash-base]
name = "Wash base"
functions = ["surfactant"]
contains = [{ inci = "Sodium Laureth Sulfate", surfactant = "anionic", percent = 30 }, { inci = "Aqua", percent = 70 }]
[material.thirty]
name = "Oil with 30 % linalool"
functions = ["fragrance", "essential oil"]
contains = [{ inci = "Thirty Oil", percent = 100 }]
constituent = [{ inci = "Linalool", min = 30, max = 30 }]
[material.plain-glycerin]
name = "Glycerin"
contains = [{ inci = "Glycerin", percent = 100 }]
[material.plain-water]
name = "Water"
contains = [{ inci = "Aqua", percent = 100 }]
[material.plain-urea]
name = "Urea"
contains = [{ inci = "Urea", percent = 100 }]
[material.plain-starch]
name = "Starch"
contains = [{ inci = "Zea Mays Starch", percent = 100 }]
[material.plain-red]
name = "Iron oxide"
functions = ["colour"]
contains = [{ inci = "CI 77491", percent = 100 }]
[material.plain-white]
name = "Titanium dioxide"
functions = ["colour"]
contains = [{ inci = "CI 77891", percent = 100 }]
"#;

/// The declaration of a formula of these lines.
#[track_caller]
fn declaration(product: &str, rules: &str, lines: &str) -> Declaration {
    let text = format!(
        "```formula\nid = \"f\"\nproduct = \"{product}\"\n[phase.A]\n{lines}\n```\n\n\
         ```declaration\nid = \"list\"\nformula = \"f\"\nrules = \"{rules}\"\n```\n"
    );
    let mut sources = Sources::default();
    sources.materials.insert(Arc::from("materials/own.toml"), Arc::from(MATERIALS));
    sources.notebooks.insert(Arc::from("a.md"), Arc::from(text.as_str()));
    let mut collection = Collection::new();
    collection.update(sources);
    let errors: Vec<String> = collection.errors().into_iter().map(|error| error.what).collect();
    assert!(errors.is_empty(), "{errors:?}");
    match collection.answer("list") {
        Some(Answer::Declaration(declaration)) => declaration.clone(),
        _ => panic!("no declaration of {lines}"),
    }
}

#[track_caller]
fn check(product: &str, rules: &str, lines: &str, expected: &str) {
    assert_eq!(declaration(product, rules, lines).text(), expected);
}

/// The share that an allergen is declared with, low and high end in % of the product; `None` when it need not be named.
#[track_caller]
fn check_allergen(product: &str, lines: &str, allergen: &str, expected: Option<(&str, &str)>) {
    let declaration = declaration(product, "eu", lines);
    let found = declaration.ingredients.iter().find(|ingredient| ingredient.name == allergen);
    let ends = found.map(|one| (one.share.low.normalize(), one.share.high.normalize()));
    assert_eq!(ends, expected.map(|(low, high)| (d(low), d(high))), "{allergen} in {lines}");
    assert!(found.is_none_or(|one| one.allergen.is_some()), "{allergen} is named as an allergen");
}

/// Article 19(1)(g): "in descending order of weight of the ingredients". Ingredients, not raw materials: 25 % of a surfactant solution of 30 % is
/// 7.5 % of the surfactant, which comes after 9 % of glycerin.
#[test]
fn ingredients_and_not_raw_materials_are_put_in_order() {
    check(
        "body wash",
        "eu",
        "plain-water = \"q.s. to 100\"\nwash-base = 25\nplain-glycerin = 9",
        "Aqua, Glycerin, Sodium Laureth Sulfate",
    );
    check(
        "body wash",
        "eu",
        "plain-water = \"q.s. to 100\"\nwash-base = 31\nplain-glycerin = 9",
        "Aqua, Sodium Laureth Sulfate, Glycerin",
    );
}

/// One substance from two raw materials is one ingredient with its whole weight.
#[test]
fn the_same_substance_is_named_once() {
    check("body wash", "eu", "plain-urea = 40\nwash-base = 50\nplain-water = 10", "Aqua, Urea, Sodium Laureth Sulfate");
}

#[track_caller]
fn check_group(rules: &str, percent: &str, expected: Group) {
    let lines = format!("plain-water = \"q.s. to 100\"\nplain-urea = {percent}");
    let declaration = declaration("body wash", rules, &lines);
    let urea = declaration.ingredients.iter().find(|ingredient| ingredient.name == "Urea").unwrap();
    assert_eq!(urea.group, expected, "{percent} % by {rules}");
}

/// Article 19(1)(g): "Ingredients in concentrations of less than 1 % may be listed in any order after those in concentrations of more than 1 %";
/// 21 CFR 701.3(f)(2): ingredients "present at a concentration not exceeding 1 percent". At exactly 1 % the two differ.
#[test]
fn the_free_group_begins_where_each_rule_says() {
    check_group("eu", "0.999", Group::Free);
    check_group("eu", "1", Group::Ordered);
    check_group("us", "1", Group::Free);
    check_group("us", "1.001", Group::Ordered);
}

/// Article 19(1)(g): colorants other than for hair may be listed in any order after the other ingredients; 21 CFR 701.3(f)(3): color additives "without respect
/// to order of predominance", in a third group. Even 5 % of a colour comes after 0.2 % of anything else.
#[test]
fn colours_come_last() {
    let lines = "plain-water = \"q.s. to 100\"\nplain-red = 5\nplain-urea = 0.2\nplain-white = 2";
    check("hand cream", "eu", lines, "Aqua, Urea, CI 77491, CI 77891");
    // 21 CFR 73.2250 and 73.2575 name the two (from memory).
    check("hand cream", "us", lines, "Water, Urea, Iron Oxides, Titanium Dioxide");
}

/// Article 19(1)(g), third subparagraph: perfume and its raw materials are referred to as "parfum"; 21 CFR 701.3(a): fragrance may be listed as
/// "fragrance". Two oils of 0.4 % are one ingredient of 0.8 %, before 0.5 % of urea.
#[test]
fn fragrance_is_one_word() {
    let lines = "plain-starch = \"q.s. to 100\"\nthirty = 0.4\nlemon-oil = 0.4\nplain-urea = 0.5";
    let eu = declaration("body wash", "eu", lines);
    let parfum = eu.ingredients.iter().find(|ingredient| ingredient.name == "Parfum").unwrap();
    assert_eq!(parfum.share.typical.normalize(), d("0.8"));
    assert!(eu.text().starts_with("Zea Mays Starch, Parfum, Urea"), "{}", eu.text());
    check("body wash", "us", lines, "Zea Mays Starch, Fragrance, Urea");
}

/// Regulation (EU) 2023/1545: named above 0.001 % in leave-on and 0.01 % in rinse-off products. 0.02 % of an oil with 30 % linalool is 0.006 %.
#[test]
fn triggers_differ_by_use() {
    let lines = "plain-starch = \"q.s. to 100\"\nthirty = 0.02";
    check_allergen("hand cream", lines, "Linalool", Some(("0.006", "0.006")));
    check_allergen("body wash", lines, "Linalool", None);
}

/// Regulation (EU) 2023/1545: "exceeds" 0.001 % and 0.01 %; at exactly the trigger it need not be named.
#[test]
fn a_share_at_the_trigger_does_not_exceed_it() {
    let with = |percent: &str| format!("plain-starch = \"q.s. to 100\"\nthirty = {percent}");
    check_allergen("hand cream", &with("0.0033333"), "Linalool", None);
    check_allergen("hand cream", &with("0.0033334"), "Linalool", Some(("0.00100002", "0.00100002")));
    check_allergen("body wash", &with("0.033333"), "Linalool", None);
    check_allergen("body wash", &with("0.04"), "Linalool", Some(("0.012", "0.012")));
}

/// Shares by the published limits of the oil: 1 % of an oil brings a hundredth of what the monograph or standard allows.
#[track_caller]
fn check_oil(oil: &str, allergen: &str, low: &str, high: &str) {
    let lines = format!("plain-starch = \"q.s. to 100\"\n{oil} = 1");
    let hundredth = |end: &str| (d(end) / Decimal::ONE_HUNDRED).normalize().to_string();
    let (low, high) = (hundredth(low), hundredth(high));
    check_allergen("hand cream", &lines, allergen, Some((&low, &high)));
}

/// Ph. Eur. 10 and ISO 3515:2002, lavender oil, as given in Molecules 27, 2022, 3216, Table 2: linalool 20–45 %, linalyl acetate 25–47 %,
/// limonene at most 1 %, camphor at most 1.2 %.
#[test]
fn lavender_oil_by_its_monograph() {
    check_oil("lavender-oil", "Linalool", "20", "45");
    check_oil("lavender-oil", "Linalyl Acetate", "25", "47");
    check_oil("lavender-oil", "Limonene", "0", "1");
    check_oil("lavender-oil", "Camphor", "0", "1.2");
}

/// ISO 8902 and ISO 3054, lavandin oil, as given in Molecules 27, 2022, 2152, Table 6.
#[test]
fn lavandin_oil_by_its_standard() {
    check_oil("lavandin-oil", "Linalool", "24", "38");
    check_oil("lavandin-oil", "Linalyl Acetate", "19", "38");
    check_oil("lavandin-oil", "Camphor", "6", "11");
    check_oil("lavandin-oil", "Limonene", "0.5", "1.5");
}

/// ISO 4719, spike lavender oil, as given in Molecules 27, 2022, 2152, Table 6.
#[test]
fn spike_lavender_oil_by_its_standard() {
    check_oil("spike-lavender-oil", "Linalool", "34", "50");
    check_oil("spike-lavender-oil", "Camphor", "8", "16");
    check_oil("spike-lavender-oil", "Limonene", "0.5", "3");
}

/// ISO 4730, tea tree oil, as given in Oral Implantol. 10, 2017, 59-70, Table 1.
#[test]
fn tea_tree_oil_by_its_standard() {
    check_oil("tea-tree-oil", "Alpha-Terpinene", "5", "13");
    check_oil("tea-tree-oil", "Terpinolene", "1.5", "5");
    check_oil("tea-tree-oil", "Limonene", "0.5", "4");
}

/// Ph. Eur. 6.2, lemon oil and sweet orange oil.
#[test]
fn citrus_oils_by_their_monographs() {
    check_oil("lemon-oil", "Limonene", "56", "78");
    check_oil("orange-oil", "Limonene", "92", "97");
    check_oil("orange-oil", "Linalool", "0.2", "0.7");
    check_oil("orange-oil", "Citral", "0.04", "0.3");
}

/// Ph. Eur., peppermint oil: limonene 1–5 %, carvone at most 1 %, menthol 30–55 %.
#[test]
fn peppermint_oil_by_its_monograph() {
    check_oil("peppermint-oil", "Limonene", "1", "5");
    check_oil("peppermint-oil", "Carvone", "0", "1");
    check_oil("peppermint-oil", "Menthol", "30", "55");
}

/// EMA assessment report on clove: eugenol 75–88 %, beta-caryophyllene 5–14 %.
#[test]
fn clove_oil_by_its_monograph() {
    check_oil("clove-bud-oil", "Eugenol", "75", "88");
    check_oil("clove-bud-oil", "Beta-Caryophyllene", "5", "14");
}

/// An allergen is summed over all its sources before it is compared with the trigger (public label-help page on fragrance allergens): lavender oil with 20–45 %
/// and clary sage oil with 6.5–24 % linalool (Ph. Eur. 5.0, as quoted in Adams and Yanke), half a per cent of each.
#[test]
fn allergens_are_summed_over_oils() {
    let lines = "plain-starch = \"q.s. to 100\"\nlavender-oil = 0.5\nclary-sage-oil = 0.5";
    check_allergen("hand cream", lines, "Linalool", Some(("0.1325", "0.345")));
    check_allergen("hand cream", lines, "Linalyl Acetate", Some(("0.405", "0.625")));
    // Neither oil alone would pass the trigger of a rinse-off product with 0.02 % of each: 0.009 and 0.0048 % at most.
    let little = "plain-starch = \"q.s. to 100\"\nlavender-oil = 0.02\nclary-sage-oil = 0.02";
    check_allergen("body wash", little, "Linalool", Some(("0.0053", "0.0138")));
}
