//! Predicted pH against published standards and tables, and against a general-purpose equilibrium library.
//!
//! The prediction is for the pH scale of today (activities of hydrogen ions, as the NIST standards define it). Old tables stand on Sørensen's scale, which
//! is about 0.04 lower (Bates, Determination of pH; from memory), and their measurements carry errors of their own.

use super::{Blocks, check, d};
use std::fmt::Write;
use tarebook::quantity::Decimal;

/// A block of millimoles in so much of something.
fn block(id: &str, size: &str, contains: &[(&str, Decimal)]) -> String {
    let mut text = format!("```buffer\nid = \"{id}\"\n{size}\n[contains]\n");
    for (solute, amount) in contains {
        let _ = writeln!(text, "{solute} = \"{amount} mmol\"");
    }
    text + "```\n"
}

#[track_caller]
fn ph(size: &str, contains: &[(&str, Decimal)]) -> Decimal {
    Blocks::of(&block("a", size, contains)).figure("a/ph")
}

#[track_caller]
fn near(found: Decimal, expected: Decimal, within: &str) {
    assert!((found - expected).abs() <= d(within), "{found} is {} off {expected}", found - expected);
}

/// Primary standards at 25 °C, each within 0.02. Potassium hydrogen phthalate 0.05 mol/kg: 4.006 (Hetzer, Durst, Robinson and Bates, J. Res. NBS 81A (1977) 21,
/// equation). Phosphates 0.025 mol/kg each: 6.86, and borax 0.01: 9.18 (JIS Z 8802, table by temperature). Carbonates 0.025 mol/kg each: 10.012, and
/// potassium dihydrogen citrate 0.05 mol/kg: 3.776 (Staples and Bates, J. Res. NBS 73A (1969) 37, abstract).
#[test]
fn primary_standards() {
    let kilogram = "water = \"1 kg\"";
    for (contains, printed) in [
        (vec![("potassium-hydrogen-phthalate", d("50"))], "4.006"),
        (vec![("potassium-dihydrogen-phosphate", d("25")), ("disodium-hydrogen-phosphate", d("25"))], "6.86"),
        (vec![("borax", d("10"))], "9.18"),
        (vec![("sodium-bicarbonate", d("25")), ("sodium-carbonate", d("25"))], "10.012"),
        (vec![("potassium-dihydrogen-citrate", d("50"))], "3.776"),
    ] {
        near(ph(kilogram, &contains), d(printed), "0.02");
    }
}

/// McIlvaine, J. Biol. Chem. 49 (1921) 183, table: millilitres of 0.2 mol/l disodium hydrogen phosphate and of 0.1 mol/l citric acid in 20 ml, of pH 2.2 to 8.0. The
/// prediction is 0.03 to 0.19 higher, 0.12 in the mean; about 0.04 of that is the scale, and the most of it lies between ionic strengths of 0.25 and
/// 0.6 mol/kg, where the activity of a citrate of three charges is the weakest point of Davies' equation.
#[test]
fn the_table_of_mcilvaine() {
    let rows: [(&str, &str); 30] = [
        ("2.2", "0.4"),
        ("2.4", "1.24"),
        ("2.6", "2.18"),
        ("2.8", "3.17"),
        ("3.0", "4.11"),
        ("3.2", "4.94"),
        ("3.4", "5.7"),
        ("3.6", "6.44"),
        ("3.8", "7.1"),
        ("4.0", "7.71"),
        ("4.2", "8.28"),
        ("4.4", "8.82"),
        ("4.6", "9.35"),
        ("4.8", "9.86"),
        ("5.0", "10.3"),
        ("5.2", "10.72"),
        ("5.4", "11.15"),
        ("5.6", "11.6"),
        ("5.8", "12.09"),
        ("6.0", "12.63"),
        ("6.2", "13.22"),
        ("6.4", "13.85"),
        ("6.6", "14.55"),
        ("6.8", "15.45"),
        ("7.0", "16.47"),
        ("7.2", "17.39"),
        ("7.4", "18.17"),
        ("7.6", "18.73"),
        ("7.8", "19.15"),
        ("8.0", "19.45"),
    ];
    let mut sum = Decimal::ZERO;
    for (printed, phosphate) in rows {
        let phosphate = d(phosphate);
        let citric = d("20") - phosphate;
        let found = ph(
            "volume = \"20 ml\"",
            &[("citric-acid-monohydrate", citric * d("0.1")), ("disodium-hydrogen-phosphate", phosphate * d("0.2"))],
        );
        near(found, d(printed) + d("0.1"), "0.1");
        sum += found - d(printed);
    }
    near(sum / Decimal::from(rows.len()), d("0.12"), "0.01");
}

/// Acetate buffers by Walpole's proportions (Pearse, Histochemistry, 1980): millilitres of 0.1 N acetic acid and sodium acetate in 200 ml. The prediction is
/// 0.03 to 0.06 higher, which is the difference of the scales.
#[test]
fn acetate_buffers() {
    for (printed, acid) in [
        ("3.6", "185"),
        ("3.8", "176"),
        ("4.0", "164"),
        ("4.2", "147"),
        ("4.4", "126"),
        ("4.6", "102"),
        ("4.8", "80"),
        ("5.0", "59"),
        ("5.2", "42"),
        ("5.4", "29"),
        ("5.6", "19"),
    ] {
        let acid = d(acid);
        let found = ph(
            "volume = \"200 ml\"",
            &[("acetic-acid", acid * d("0.1")), ("sodium-acetate", (d("200") - acid) * d("0.1"))],
        );
        near(found, d(printed) + d("0.04"), "0.02");
    }
}

/// Weights for 100 ml of citric acid and disodium phosphate buffer, as a laboratory buffer sheet prints them beside the volumes of its stocks (21.01 g/l of
/// citric acid monohydrate, 71.64 g/l of disodium phosphate 12-hydrate).
#[test]
fn weights_of_a_buffer() {
    for (citric, phosphate, citric_weight, phosphate_weight) in [
        ("61.45", "38.55", "1.29", "2.76"),
        ("48.5", "51.5", "1.02", "3.69"),
        ("36.85", "63.15", "0.77", "4.52"),
        ("17.65", "82.35", "0.37", "5.90"),
    ] {
        let blocks = Blocks::of(&block(
            "a",
            "volume = \"100 ml\"",
            &[
                ("citric-acid-monohydrate", d(citric) * d("0.1")),
                ("disodium-hydrogen-phosphate-12-hydrate", d(phosphate) * d("0.2")),
            ],
        ));
        check(blocks.figure("a/citric-acid-monohydrate/weight"), citric_weight);
        check(blocks.figure("a/disodium-hydrogen-phosphate-12-hydrate/weight"), phosphate_weight);
    }
}

/// A general-purpose equilibrium library (the Python package phreeqc 1.1.1), as `buffer_equilibria.py` recorded it. On the same constants its solver finds the
/// same ionic strength within 0.6 %, and the same pH within 0.001 in thin solutions and 0.006 at 0.4 mol/kg: it counts the activity of the water,
/// which is then 0.986 and here taken for 1. With a database of its own (minteq.v4.dat), where sodium pairs with phosphate, carbonate and citrate,
/// the pH differs by up to 0.03 in solutions up to 0.05 mol/kg, and by up to 0.3 in phosphate and citrate above: so far a prediction can be off.
#[test]
fn an_equilibrium_library_agrees() {
    let recorded = include_str!("buffer_equilibria.csv");
    let mut n_own = 0;
    for row in recorded.lines().skip(1) {
        let [mixture, same, strength, own] = row.split(',').collect::<Vec<_>>().try_into().unwrap();
        let contains: Vec<(&str, Decimal)> = mixture
            .split(" + ")
            .map(|part| part.split_once(' ').unwrap())
            .map(|(amount, solute)| (solute, d(amount)))
            .collect();
        let blocks = Blocks::of(&block("a", "water = \"1 kg\"", &contains));
        let (found, ionic) = (blocks.figure("a/ph"), blocks.figure("a/ionic-strength"));
        near(found, d(same), &(d("0.001") + ionic * d("0.015")).to_string());
        assert!(
            (ionic - d(strength)).abs() <= d(strength) * d("0.006") + d("0.00001"),
            "{mixture}: {ionic} {strength}"
        );
        if !own.is_empty() {
            n_own += 1;
            let within = if ionic < d("0.052") { "0.03" } else { "0.31" };
            near(found, d(own), within);
        }
    }
    assert!(n_own > 15);
}
