//! Required HLB of oil phases, HLB of blends, and splits of two emulsifiers. The emulsifiers and their HLB are those of the catalogue; the oils
//! have the required HLB that the source gives them.

use super::{Sheet, check, d};
use std::fmt::Write;

/// A lotion: oils with their share and required HLB, emulsifiers with their share, water for the rest.
#[track_caller]
fn lotion(oils: &[(&str, &str)], emulsifiers: &[(&str, &str)]) -> Sheet {
    let (mut materials, mut body) = (String::new(), "[phase.A]\nwater = \"q.s. to 100\"\n".to_owned());
    for (index, (percent, required)) in oils.iter().enumerate() {
        let _ = write!(
            materials,
            "[material.oil-{index}]\nname = \"oil {index}\"\nfunctions = [\"emollient\"]\ndissolves = \"oil\"\nrequired-hlb = {required}\n\
             contains = [{{ inci = \"Oil {index}\", percent = 100 }}]\n"
        );
        let _ = writeln!(body, "oil-{index} = {percent}");
    }
    for (id, percent) in emulsifiers {
        let _ = writeln!(body, "{id} = {percent}");
    }
    Sheet::with(materials, &body)
}

/// OCL 29 (2022), article ocl210096, Tables 4 and 5, creams F1, F3 and F4: beeswax 12, isopropyl myristate 11.5, glyceryl monostearate (counted as an
/// oil) 3.8, stearic acid 15, seed oil 6.2; 3 % of polysorbate 80 (15) and sorbitan stearate (4.7).
#[test]
fn the_creams_of_a_published_series() {
    for (stearic, required, polysorbate, sorbitan) in
        [("12.5", "10.33", "1.64", "1.36"), ("8.5", "9.71", "1.46", "1.54"), ("6.5", "9.33", "1.35", "1.65")]
    {
        let oils = [("1.5", "12"), ("7.5", "11.5"), ("7.5", "3.8"), (stearic, "15"), ("5", "6.2")];
        let sheet = lotion(&oils, &[("polysorbate-80", polysorbate), ("sorbitan-stearate", sorbitan)]);
        check(sheet.figure("hlb/required"), required);
        check(sheet.figure("hlb/emulsifiers"), required);
        check(sheet.figure("hlb/split/polysorbate-80"), polysorbate);
        check(sheet.figure("hlb/split/sorbitan-stearate"), sorbitan);
    }
}

/// A worked example of a course sheet: 33 % of liquid paraffin and 2 % of mineral oil at 12, 1 % of lanolin at 10, 1 % of cetyl alcohol at 15 need 12.0;
/// 5 % of polysorbate 80 and sorbitan oleate are split into 72.2 and 27.8, which are 3.6 and 1.4 %. The HLB of the two, 15.0 and 4.3, are not in
/// the sheet.
#[test]
fn a_lotion_of_a_course_sheet() {
    let oils = [("33", "12"), ("2", "12"), ("1", "10"), ("1", "15")];
    let sheet = lotion(&oils, &[("polysorbate-80", "3"), ("sorbitan-oleate", "2")]);
    check(sheet.figure("hlb/required"), "12.0");
    check(sheet.figure("hlb/split/polysorbate-80"), "3.6");
    check(sheet.figure("hlb/split/sorbitan-oleate"), "1.4");
    check(sheet.figure("hlb/split/polysorbate-80") * d("20"), "72.2");
    check(sheet.figure("hlb/split/sorbitan-oleate") * d("20"), "27.8");
}

/// AAPS PharmSciTech article PMC3969497, Table I: per cent of two surfactants that make a blend of a given HLB; 68.75 and 31.25 are printed as 68.8 and
/// 31.3, both rounded up.
#[test]
fn mixing_ratios_of_a_published_table() {
    for (high, low, rows) in [
        (
            "polysorbate-80",
            "sorbitan-oleate",
            &[
                ("8", "34.6", "65.4"),
                ("9", "43.9", "56.1"),
                ("11", "62.6", "37.4"),
                ("12", "72.0", "28.0"),
                ("14", "90.7", "9.3"),
            ][..],
        ),
        (
            "polysorbate-20",
            "sorbitan-oleate",
            &[
                ("8", "29.8", "70.2"),
                ("10", "46.0", "54.0"),
                ("11", "54.0", "46.0"),
                ("13", "70.2", "29.8"),
                ("15", "86.3", "13.7"),
            ],
        ),
        (
            "polysorbate-20",
            "sorbitan-laurate",
            &[("10", "17.3", "82.7"), ("11", "29.6", "70.4"), ("13", "54.3", "45.7"), ("14", "66.7", "33.3")],
        ),
        (
            "polysorbate-80",
            "sorbitan-laurate",
            &[("9.5", "14.1", "85.9"), ("10", "21.9", "78.1"), ("12", "53.1", "46.9"), ("13", "68.8", "31.3")],
        ),
    ] {
        for (target, of_high, of_low) in rows {
            // Two parts of each make four per cent, so a share is 25 times the per cent of the product.
            let sheet = lotion(&[("10", target)], &[(high, "2"), (low, "2")]);
            check(sheet.figure(&format!("hlb/split/{high}")) * d("25"), of_high);
            check(sheet.figure(&format!("hlb/split/{low}")) * d("25"), of_low);
        }
    }
}

/// Nonionic surfactant article PMC4137601, Table 2: polysorbate 80 and sorbitan oleate 9 : 1 make 13.93, 8 : 2 make 12.86.
#[test]
fn blends_of_a_published_table() {
    for (high, low, printed) in [("9", "1", "13.93"), ("8", "2", "12.86")] {
        let sheet = lotion(&[("10", "10")], &[("polysorbate-80", high), ("sorbitan-oleate", low)]);
        assert_eq!(sheet.figure("hlb/emulsifiers"), d(printed));
    }
}
