//! Published figures, reached through formulas: text in, collection, figure out.
//!
//! One file per source; `teaching_pages.rs` gathers pages that give one example each. Every test names its document, edition
//! and example. A figure agrees when it is within half a unit of the last digit that was printed, unless the source says how it
//! rounded. Where a source misprints, the recomputed value is checked and the test says so. Volumes stand for weights where a
//! source adds up volumes: the arithmetic is the same, and the density is then 1.

#![expect(clippy::panic, clippy::unwrap_used, reason = "a check that cannot be made fails the test")]

mod annex_iii;
mod annex_v;
mod annex_vi;
mod astm_e29;
mod buffers;
mod declaration_rules;
mod dilutions;
mod dissociation;
mod fillings;
mod ghs;
mod hlb;
mod hospital_corpsman;
mod iso_8601;
mod labels;
mod money;
mod monotone_curves;
mod nist_units;
mod oiml_r22;
mod openstax_chemistry;
mod pharmaceutical_calculations;
mod robust_slope;
mod rules;
mod saponification;
mod soap_handbook;
mod soap_making_manual;
mod talbot;
mod teaching_pages;
mod trade_practice;
mod us_rules;
mod usp_41;
mod who_handrub;

use std::fmt::Write;
use std::str::FromStr;
use std::sync::Arc;
use tarebook::collection::{Collection, Sources};
use tarebook::compute::{Figure, Value, look_up};
use tarebook::page::value_text_in;
use tarebook::quantity::{Decimal, MassUnit};
use tarebook::report::Severity;

/// The substance that the stocks of a check hold.
const SOLUTE: &str = "Solute";

/// A raw material of a check: so many per cent of the solute in water, and its density in g/ml.
#[derive(Clone, Copy)]
struct Stock {
    id: &'static str,
    percent: &'static str,
    density: &'static str,
}

/// A stock without a solute or of nothing else, where only its weight counts.
const fn plain(id: &'static str) -> Stock {
    Stock { id, percent: "100", density: "1" }
}

/// A stock of a strength, % w/w.
const fn solution(id: &'static str, percent: &'static str) -> Stock {
    Stock { id, percent, density: "1" }
}

/// A liquid of a density, g/ml.
const fn liquid(id: &'static str, density: &'static str) -> Stock {
    Stock { id, percent: "100", density }
}

/// A formula compiled as the only one of a collection.
struct Sheet {
    collection: Collection,
}

impl Sheet {
    /// Compiles the body of a formula block whose lines name these stocks, or raw materials of the catalogue.
    #[track_caller]
    fn of(stocks: &[Stock], body: &str) -> Sheet {
        let mut materials = String::new();
        for Stock { id, percent, density } in stocks {
            let water = d("100") - d(percent);
            let _ = write!(
                materials,
                "[material.{id}]\nname = \"{id}\"\ndensity = {density}\n\
                 strength = {{ typical = {percent}, of = \"{SOLUTE}\" }}\n\
                 contains = [ {{ inci = \"{SOLUTE}\", percent = {percent} }}, {{ inci = \"Aqua\", percent = {water} }} ]\n"
            );
        }
        Sheet::with(materials, body)
    }

    /// Compiles the body of a formula block whose lines name these raw materials, given as a file, or those of the catalogue.
    #[track_caller]
    fn with(materials: String, body: &str) -> Sheet {
        let text = format!("```formula\nid = \"check\"\n{body}\n```\n");
        let mut sources = Sources::default();
        sources.materials.insert(Arc::from("materials/check.toml"), Arc::from(materials));
        sources.notebooks.insert(Arc::from("check.md"), Arc::from(text));
        let mut collection = Collection::new();
        collection.update(sources);
        let found = collection.findings();
        let errors: Vec<&str> = found
            .iter()
            .filter(|finding| finding.severity() == Severity::Error)
            .map(|finding| finding.what.as_str())
            .collect();
        assert!(errors.is_empty(), "{errors:?}");
        Sheet { collection }
    }

    /// The names of the findings about the formula.
    fn findings(&self) -> Vec<&'static str> {
        self.collection.formula_findings("check").iter().map(|finding| finding.kind.name).collect()
    }

    #[track_caller]
    fn look_up(&self, address: &str, batch: Option<&str>) -> Figure {
        let path: Vec<&str> = address.split('/').collect();
        look_up(self.collection.formula("check").unwrap(), tarebook::compute::Backing::built_in(), &path, batch)
            .unwrap()
    }

    /// A figure as a number: per cent, or grams as the sheet prints them.
    #[track_caller]
    fn figure(&self, address: &str) -> Decimal {
        number(&self.look_up(address, None))
    }

    /// A figure for another batch.
    #[track_caller]
    fn figure_for(&self, address: &str, batch: &str) -> Decimal {
        number(&self.look_up(address, Some(batch)))
    }

    /// A figure as a page prints it in a unit, with so many decimals.
    #[track_caller]
    fn printed(&self, address: &str, unit: MassUnit, digits: u32) -> String {
        let figure = self.look_up(address, None);
        value_text_in(&figure.value, Some(unit), Some(digits)).replace('\u{a0}', " ")
    }

    /// The exact weight of a line, before the balance rounds it, in grams.
    fn exact_weight(&self, material: &str) -> Decimal {
        let computed = self.collection.formula("check").unwrap();
        let index = computed.formula.lines().position(|line| line.written == material).unwrap();
        computed.sheet.exact_of(index).grams()
    }

    /// The solute from all stocks, % of the product.
    fn solute(&self) -> Decimal {
        self.collection.formula("check").unwrap().composition.substances.get(SOLUTE).unwrap().typical
    }
}

/// Blocks compiled as the only ones of a collection.
struct Blocks {
    collection: Collection,
}

impl Blocks {
    /// Compiles a notebook; errors fail the test.
    #[track_caller]
    fn of(text: &str) -> Blocks {
        let mut sources = Sources::default();
        sources.notebooks.insert(Arc::from("check.md"), Arc::from(text));
        let mut collection = Collection::new();
        collection.update(sources);
        let found = collection.findings();
        let errors: Vec<&str> = found
            .iter()
            .filter(|finding| finding.severity() == Severity::Error)
            .map(|finding| finding.what.as_str())
            .collect();
        assert!(errors.is_empty(), "{errors:?}\n{text}");
        Blocks { collection }
    }

    /// A figure of a block as a number.
    #[track_caller]
    fn figure(&self, address: &str) -> Decimal {
        let path: Vec<&str> = address.split('/').collect();
        let (id, rest) = path.split_first().unwrap();
        number(&self.collection.answer(id).unwrap().look_up(id, rest).unwrap())
    }
}

#[track_caller]
fn number(figure: &Figure) -> Decimal {
    match &figure.value {
        Value::Mass { mass, .. } => mass.grams(),
        Value::Percent(percent) => percent.value(),
        Value::PercentRange(range) | Value::QuantityRange { range, .. } if range.is_exact() => range.typical,
        Value::Quantity { value, .. } | Value::Number(value) => *value,
        other => panic!("no single number: {other:?}"),
    }
}

fn d(text: &str) -> Decimal {
    Decimal::from_str(text).unwrap()
}

/// Checks a figure against a printed one: within half a unit of the last digit printed.
#[track_caller]
fn check(value: Decimal, printed: &str) {
    let printed_value = d(printed);
    let half_unit = Decimal::new(5, printed_value.scale() + 1);
    check_within(value, printed, half_unit);
}

/// Checks a figure against a printed one within a tolerance that the source's rounding asks for.
#[track_caller]
fn check_within(value: Decimal, printed: &str, tolerance: Decimal) {
    let off = (value - d(printed)).abs();
    assert!(off <= tolerance, "{value} is {off} off the printed {printed}");
}

/// The check itself: half a unit is inside, a little more is not.
#[test]
fn half_a_unit_of_the_last_digit_is_the_tolerance() {
    check(d("54.25"), "54.3");
    check(d("54.35"), "54.3");
    let outside = std::panic::catch_unwind(|| check(d("54.351"), "54.3"));
    assert!(outside.is_err());
}
