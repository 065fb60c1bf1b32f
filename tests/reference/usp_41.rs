//! The least weight that a balance can weigh well: the United States Pharmacopeia and a textbook on dispensing.
//!
//! The program asks that half a step of the balance be at most a share of the weight; both sources ask the same of twice the
//! standard deviation, or of the sensitivity requirement. So a balance whose half step is that figure is put in their place.

use super::{Sheet, plain};

/// Whether a weight on a balance may be off by more than the share allowed: its caution is found for a weight that rounds badly.
#[track_caller]
fn fine_from(balance: &str, within: &str, batch: &str, percent: &str) -> String {
    let body = format!(
        "batch = \"{batch}\"\nbalance = {{ readability = \"{balance}\", within = \"{within}\" }}\n\
         [phase.A]\nrest = \"q.s. to 100\"\nsample = {percent}"
    );
    let sheet = Sheet::of(&[plain("rest"), plain("sample")], &body);
    let findings = sheet.collection.formula_findings("check");
    let finding = findings
        .iter()
        .find(|finding| finding.kind.name == "poorly-weighed" && finding.what.starts_with("`sample`"))
        .unwrap_or_else(|| panic!("no caution: {:?}", sheet.findings()));
    let mend = finding.mend_text().replace('\u{a0}', " ");
    mend.split_once("from a batch of ").unwrap().1.split_once(" on.").unwrap().0.to_owned()
}

/// USP General Chapter <41> Balances (1 August 2019), example: s = 0.000 15 g gives 2000 s = 0.300 00 g at 0.10 %. With a half step of
/// 2 s = 0.0003 g a line of 1 % is fine from a batch of 30 g on, where it weighs 0.3 g.
#[test]
fn minimum_weight() {
    assert_eq!(fine_from("0.0006 g", "0.1 %", "1 g", "1"), "30 g");
}

/// Textbook chapter "Accurate weighing for prescriptions" (basicmedicalkey.com): a sensitivity requirement of 6 mg and an error of 1 %
/// give a least weighable amount of 600 mg. With a half step of 6 mg a line of 1 % is fine from a batch of 60 g on, where it
/// weighs 0.6 g.
#[test]
fn least_weighable_amount() {
    assert_eq!(fine_from("12 mg", "1 %", "1 g", "1"), "60 g");
}
