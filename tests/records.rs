//! Batch records: what was weighed to plan is the plan, what went another way shows, and lots are found from both ends.

#![expect(clippy::panic, clippy::unwrap_used, reason = "what goes wrong here fails the test")]

use crate::support::{Bench, cases, collection, everything};
use proptest::prelude::*;
use std::str::FromStr;
use tarebook::collection::Collection;
use tarebook::compute::{Answer, BatchRecord, Figure, Value};
use tarebook::page::figure_text;
use tarebook::quantity::Decimal;

fn d(text: &str) -> Decimal {
    Decimal::from_str(text).unwrap()
}

#[track_caller]
fn record<'c>(collection: &'c Collection, id: &str) -> &'c BatchRecord {
    match collection.answer(id) {
        Some(Answer::BatchRecord(record)) => record,
        _ => panic!("no record `{id}`: {:#?}", collection.errors()),
    }
}

#[track_caller]
fn figure(collection: &Collection, address: &str) -> Figure {
    let parts: Vec<&str> = address.split('/').collect();
    let (id, rest) = parts.split_first().unwrap();
    match collection.figure(id, rest, None) {
        Some(Ok(figure)) => figure,
        other => panic!("{address}: {other:?}"),
    }
}

#[track_caller]
fn text(collection: &Collection, address: &str) -> String {
    figure_text(&figure(collection, address)).replace('\u{a0}', " ")
}

/// A wash of 1 kg whose weights are whole tenths of a gram.
const WASH: &str = "```formula\nid = \"wash\"\nproduct = \"body wash\"\nbatch = \"1 kg\"\nph = \"4.6..5.0\"\nversion = \"2\"\n\
[phase.A]\nwater = \"q.s. to 100\"\nsodium-benzoate = 0.5\n[phase.B]\ncoco-glucoside = 20\nglycerin = 4\n\
phenoxyethanol-ethylhexylglycerin = 0.8\ncitric-acid-50 = { percent = \"q.s.\", usual = 0.4, to = \"pH 4.8\" }\n```\n";

fn with(record: &str) -> Collection {
    let text = format!("{WASH}```batch-record\nid = \"made\"\nformula = \"wash\"\ndate = 2026-03-14\n{record}\n```\n");
    collection([("a.md", text.as_str())])
}

/// OpenStax, Chemistry 2e (2019), section 4.4, example on percent yield, from memory: 0.392 g of copper where 0.5072 g could have been made are 77.3 %.
#[test]
fn percent_yield() {
    let text = "```formula\nid = \"copper\"\nbatch = \"0.5072 g\"\nbalance = \"0.0001 g\"\n[phase.A]\nwater = 100\n```\n\
                ```batch-record\nid = \"made\"\nformula = \"copper\"\ndate = 2026-03-14\nyield = \"0.392 g\"\nrest = \"as planned\"\n```\n";
    let collection = collection([("a.md", text)]);
    let Value::Percent(percent) = figure(&collection, "made/yield/percent").value else { panic!("no percentage") };
    assert_eq!(percent.value().round_dp(1), d("77.3"));
}

/// Least weighable amounts, as pharmacy text books and USP general chapter 41 reckon them: a balance that is off by 6 mg keeps within 1 % from 600 mg on.
#[test]
fn a_deviation_is_a_share_of_what_was_planned() {
    let text = "```formula\nid = \"dose\"\nbatch = \"1.2 g\"\nbalance = \"0.001 g\"\n[phase.A]\nwater = 50\nglycerin = 50\n```\n\
                ```batch-record\nid = \"made\"\nformula = \"dose\"\ndate = 2026-03-14\ntolerance = \"1 %\"\n[weighed]\nwater = \"0.606 g\"\nglycerin = \"593 mg\"\n```\n";
    let collection = collection([("a.md", text)]);
    let shares = ["made/water/deviation/percent", "made/glycerin/deviation/percent"];
    let shares = shares.map(|address| match figure(&collection, address).value {
        Value::Percent(percent) => percent.value().round_dp(3),
        other => panic!("{other:?}"),
    });
    assert_eq!(shares, [d("1"), d("-1.167")]);
    let outside: Vec<String> = collection
        .findings()
        .iter()
        .filter(|finding| finding.kind.name == "weighed-outside-tolerance")
        .map(|finding| finding.what.clone())
        .collect();
    assert_eq!(outside.len(), 1, "{outside:?}");
    assert!(outside.iter().all(|what| what.contains("glycerin")));
}

#[test]
fn what_was_put_back_is_what_had_left() {
    // Phase A is 743 + 5 g; 38 g of it were missing on the balance, and 30 g were put back.
    let collection = with(
        "rest = \"as planned\"\ntare = \"400 g\"\n[weighed]\nwater = \"743 g\"\ncitric-acid-50 = \"4 g\"\n\
         [[gross]]\nafter = \"phase A\"\nweight = \"1110 g\"\n[[gross]]\nweight = \"1392 g\"\n\
         [[top-up]]\nwith = \"water\"\nweight = \"30 g\"\nafter = \"phase A\"\n",
    );
    for (address, expected) in [
        ("made/total", "1000.0 g"),
        ("made/after/A/content", "710.0 g"),
        ("made/after/A/missing", "38.0 g"),
        ("made/after/A/top-up", "38.0 g"),
        ("made/evaporation", "38.0 g"),
        ("made/content", "992.0 g"),
        ("made/end/missing", "0.0 g"),
        ("made/end/top-up", "8.0 g"),
        ("made/actual/water/weight", "735.0 g"),
        ("made/actual/coco-glucoside/weight", "200.0 g"),
        ("made/citric-acid-50/per-100g", "0.402 g to 100 g"),
    ] {
        assert_eq!(text(&collection, address), expected, "{address}");
    }
}

/// A spill before the second phase takes some of everything that is in by then, one at the end changes no share.
#[test]
fn a_spill_takes_some_of_everything() {
    let base = "rest = \"as planned\"\n[weighed]\ncitric-acid-50 = \"4 g\"\n";
    let plan = with(base);
    let at_end = with(&format!("{base}[[loss]]\nwhat = \"spill\"\nweight = \"100 g\"\n"));
    let early = with(&format!("{base}[[loss]]\nwhat = \"spill\"\nweight = \"74.8 g\"\nafter = \"phase A\"\n"));
    let shares = |collection: &Collection| {
        let computed = record(collection, "made").actual.clone().unwrap();
        computed.formula.lines().map(|line| computed.formula.percent(line).value().normalize()).collect::<Vec<_>>()
    };
    assert_eq!(shares(&plan), shares(&at_end));
    assert_eq!(text(&at_end, "made/content"), "900.0 g");
    // Phase A is 748 g, so a tenth of it is gone.
    assert_eq!(text(&early, "made/content"), "925.2 g");
    assert_eq!(text(&early, "made/actual/sodium-benzoate/weight"), "4.5 g");
    assert_eq!(text(&early, "made/actual/coco-glucoside/weight"), "200.0 g");
}

/// 80 g of 1000 g spilt, and then 781.5 g of steam: the share of a spill is no round number, what is left is.
#[test]
fn a_spill_and_steam_leave_a_round_number() {
    let text_of = "```formula\nid = \"sap\"\nversion = \"1\"\nbatch = \"1000 g\"\n[phase.A]\nwater = 86\nglycerin = 14\n```\n\
        ```batch-record\nid = \"made\"\nformula = \"sap\"\nversion = \"1\"\ndate = 2026-03-14\nrest = \"as planned\"\n\
        [[loss]]\nwhat = \"spill\"\nweight = \"80 g\"\n[[loss]]\nwhat = \"evaporation\"\nweight = \"781.5 g\"\n```\n";
    let collection = collection([("a.md", text_of)]);
    assert_eq!(text(&collection, "made/actual/batch"), "138.5 g");
}

#[test]
fn another_batch_is_weighed_by_its_own_sheet() {
    let collection = with("batch = \"500 g\"\nrest = \"as planned\"\n[weighed]\ncitric-acid-50 = \"2 g\"\n");
    assert_eq!(text(&collection, "made/batch"), "500.0 g");
    assert_eq!(text(&collection, "made/glycerin/planned"), "20.0 g");
}

/// The lots of a small cupboard.
const LOTS: &str = "[[material.glycerin.lot]]\nnumber = \"24/081\"\nreceived = 2025-06-01\nexpires = 2026-03-10\n\
supplier-document = [\"certificate <G-18>\", \"safety data sheet\"]\n\n[[material.coco-glucoside.lot]]\nnumber = \"7\"\nstrength = \"51 %\"\n";

#[test]
fn a_lot_leads_to_its_batches_and_back() {
    let text = format!(
        "{WASH}```batch-record\nid = \"made\"\nformula = \"wash\"\ndate = 2026-03-14\nrest = \"as planned\"\nlots = {{ glycerin = \"24/081\", coco-glucoside = \"7\" }}\n\
         [weighed]\ncitric-acid-50 = \"4 g\"\n```\n"
    );
    let bench = Bench::new().with("log/a.md", &text).with("materials/own.toml", LOTS);
    let found = bench.run(["explain", "lot/24/081"]).ends_with(0).complains_of_nothing();
    let found = found.says("expires: 2026-03-10").says("paper: certificate <G-18>");
    let _ = found.says("2026-03-14 batch made: wash, 40.0\u{a0}g, expired by then");
    let missing = bench.run(["explain", "lot/24/81"]).ends_with(2);
    let _ = missing.complains("no lot has the number `24/81`");
    let _ = bench.run(["publish"]).ends_with(0);
    let lots = bench.read("pages/lots/index.html");
    assert!(lots.contains("id=\"lot-glycerin--24_2f_081\""), "{lots}");
    assert!(lots.contains("href=\"../log/a.html#sheet-made\""), "{lots}");
    assert!(lots.contains("certificate &lt;G-18&gt;") && lots.contains("expired by then"), "{lots}");
    let page = bench.read("pages/log/a.html");
    assert!(page.contains("href=\"../lots/index.html#lot-glycerin--24_2f_081\""), "{page}");
    assert!(bench.read("pages/index.html").contains("href=\"lots/index.html\""));
    // The strength of the lot is that of the product as it was made.
    let collection = collection([("a.md", text.as_str()), ("materials/own.toml", LOTS)]);
    assert_eq!(self::text(&collection, "made/actual/active-matter"), "10.2 %");
    assert_ne!(self::text(&collection, "wash/active-matter"), "10.2 %");
}

#[test]
fn a_blank_record_prints_from_any_formula() {
    let bench = Bench::new().with("a.md", format!("{WASH}```batch-record\nformula = \"wash\"\nblank = true\n```\n"));
    let printed = bench.run(["weigh", "wash", "--record", "--batch", "500g"]).ends_with(0).complains_of_nothing();
    let printed =
        printed.says("Batch record: wash").says("20.0\u{a0}g  ___________  ____________  ______  ________").out();
    assert!(!printed.contains("1000"), "{printed}");
    let _ = bench.run(["weigh", "wash", "--record", "--format", "csv"]).ends_with(2);
    let _ = bench.run(["publish"]).ends_with(0);
    let page = bench.read("pages/a.html");
    assert_eq!(page.matches("<td class=\"box\">").count(), 6 * 4 + 2 + 3 * 6 + 2 * 6);
}

/// Pages after an edit of one record are those of a fresh build.
#[test]
fn an_edited_record_gives_the_same_pages_as_a_fresh_one() {
    let log = |lot: &str| {
        format!(
            "```batch-record\nid = \"made\"\nformula = \"wash\"\ndate = 2026-03-14\nrest = \"as planned\"\n[weighed]\ncitric-acid-50 = {{ weight = \"4 g\", lot = \"{lot}\" }}\n```\n"
        )
    };
    let sources = |log: &str| crate::support::sources([("a.md", WASH), ("log.md", log), ("materials/own.toml", LOTS)]);
    let mut edited = Collection::new();
    for text in ["", &log("1"), &log("2")] {
        edited.update(sources(text));
        let mut fresh = Collection::new();
        fresh.update(sources(text));
        crate::support::assert_same(&everything(&edited), &everything(&fresh));
    }
    let key = edited.page_key("lots/index.html");
    edited.update(sources(&log("3")));
    assert_ne!(edited.page_key("lots/index.html"), key);
}

proptest! {
    #![proptest_config(cases(40))]

    /// A record that was weighed exactly to plan has the plan's shares, substances, active matter and declaration, and nothing is found that the plan has not.
    #[test]
    fn what_was_weighed_to_plan_is_the_plan(
        glucoside in 50_u32..250, betaine in 0_u32..150, glycerin in 1_u32..60, kilograms in 1_u32..9, lose in prop::bool::ANY,
    ) {
        let tenth = |tenths: u32| Decimal::new(i64::from(tenths), 1);
        let shares = [("coco-glucoside", glucoside), ("cocamidopropyl-betaine", betaine), ("glycerin", glycerin)];
        let lines: String = shares.iter().map(|(name, share)| format!("{name} = {}\n", tenth(*share))).collect();
        let gram = |share: u32| Decimal::new(i64::from(share * kilograms), 0);
        let weights: String = shares.iter().map(|(name, share)| format!("{name} = \"{} g\"\n", gram(*share))).collect();
        let water = gram(1000 - 8 - glucoside - betaine - glycerin);
        let loss = if lose { "[[loss]]\nwhat = \"sample\"\nweight = \"7.3 g\"\n" } else { "" };
        let text = format!(
            "```formula\nid = \"wash\"\nproduct = \"body wash\"\nph = \"4.6..5.0\"\nbatch = \"{kilograms} kg\"\nbalance = \"0.1 g\"\n[phase.A]\nwater = \"q.s. to 100\"\n{lines}\
             phenoxyethanol-ethylhexylglycerin = 0.8\n```\n\
             ```declaration\nid = \"list\"\nformula = \"wash\"\n```\n\
             ```batch-record\nid = \"made\"\nformula = \"wash\"\ndate = 2026-03-14\n[weighed]\nwater = \"{water} g\"\n{weights}\
             phenoxyethanol-ethylhexylglycerin = \"{} g\"\n{loss}```\n",
            gram(8)
        );
        let collection = collection([("a.md", text.as_str())]);
        let plan = collection.formula("wash").unwrap();
        let made = record(&collection, "made").actual.clone().unwrap();
        let percents = |computed: &tarebook::compute::Computed| {
            computed.formula.lines().map(|line| computed.formula.percent(line).value().normalize()).collect::<Vec<_>>()
        };
        prop_assert_eq!(percents(plan), percents(&made));
        prop_assert_eq!(&plan.active, &made.active);
        prop_assert_eq!(&plan.composition, &made.composition);
        prop_assert_eq!(self::text(&collection, "list/text"), self::text(&collection, "made/declaration"));
        let head = text.find("```batch-record").unwrap();
        let found = collection.findings();
        let about: Vec<&str> = found.iter().filter(|one| one.place.span.start >= head).map(|one| one.what.as_str()).collect();
        prop_assert!(about.is_empty(), "{:?}", about);
    }
}

/// By hand: 28 − 30 = −2 g, −2 ÷ 30 = −6.67 %; 30.5 − 30 = +0.5 g.
#[test]
fn a_deviation_has_one_sign() {
    let wash = WASH.replace("glycerin = 4", "glycerin = 3");
    let record = "```batch-record\nid = \"made\"\nformula = \"wash\"\ndate = 2026-03-14\nrest = \"as planned\"\n[weighed]\nglycerin = \"28 g\"\ncoco-glucoside = \"200.5 g\"\n\
        citric-acid-50 = \"3 g\"\n```\n";
    let pages = everything(&collection([("a.md", format!("{wash}{record}").as_str())]));
    let page = String::from_utf8(pages["a.html"].clone()).unwrap().replace('\u{a0}', " ");
    for part in [">−2.0 g<", "<small>−6.67 %</small>", ">+0.5 g<"] {
        assert!(page.contains(part), "{part}\n{page}");
    }
    assert!(!page.contains("+−"));
    // The acid is dosed to effect: there is no plan that it could be off from.
    assert!(!page.contains("made/citric-acid-50/deviation"));
}

#[test]
fn a_record_of_another_version_does_not_change_with_the_formula() {
    let collection = with("version = \"1\"\nrest = \"as planned\"\n[weighed]\nglycerin = \"39 g\"");
    let record = record(&collection, "made");
    let known: Vec<&str> =
        record.lines.iter().filter(|line| line.weighed.is_some()).map(|line| line.key.as_str()).collect();
    assert_eq!(known, ["glycerin"]);
    assert!(record.actual.is_none());
}

#[test]
fn what_was_read_is_not_what_is_specified() {
    let collection = with("rest = \"as planned\"\n[[ph]]\nvalue = \"5.2\"");
    assert_eq!(text(&collection, "made/ph"), "5.2");
    assert!(matches!(collection.figure("made", &["actual", "ph"], None), Some(Err(_))));
    assert!(!collection.addresses("made").iter().any(|address| address.ends_with("actual/ph")));
}

/// What the papers of a batch name beside weights and readings, filled in and to be filled in.
#[test]
fn a_record_names_its_papers_and_a_blank_one_asks_for_them() {
    let papers = "rest = \"as planned\"\nbatch-number = \"W-<7>\"\nequipment = [\"kettle 2\", \"paddle\"]\ncleaned = \"hot water, K.\"\n\
                  retained = \"50 g\"\n[weighed]\ncitric-acid-50 = \"3.6 g\"\n[[check]]\nwhat = \"look\"\nfound = \"cloudy\"\npassed = false\n\
                  [release]\ndecision = \"held\"\nby = \"M.\"\ndate = 2026-03-15\nwhy = \"It stands until Monday.\"";
    let page = |collection: &Collection| String::from_utf8(everything(collection)["a.html"].clone()).unwrap();
    let filled = page(&with(papers));
    for words in [
        "batch number W-&lt;7&gt;",
        "Made with: kettle 2, paddle.",
        "Cleaned and cleared before: hot water, K.",
        "Kept of it: 50",
        "<small>not passed</small>",
        "<b>Held</b> 2026-03-15 by M.: It stands until Monday.",
    ] {
        assert!(filled.contains(words), "{words} is missing:\n{filled}");
    }
    let bare = page(&with("rest = \"as planned\"\nweighed = { citric-acid-50 = \"3.6 g\" }"));
    for words in ["batch number", "Made with", "Cleaned", "Kept of it", "Looked at", "class=\"release\""] {
        assert!(!bare.contains(words), "{words}:\n{bare}");
    }
    let blank =
        page(&collection([("a.md", &*format!("{WASH}```batch-record\nformula = \"wash\"\nblank = true\n```\n"))]));
    for words in [
        "Batch number",
        "Equipment",
        "Cleaned and cleared, by",
        "Sample kept",
        "Released, held or rejected",
        "By, on",
        "Why",
    ] {
        assert!(blank.contains(&format!("<div>{words} <span class=\"line\">")), "{words} is missing:\n{blank}");
    }
}

#[test]
fn a_batch_is_found_by_its_number() {
    let text = format!(
        "{WASH}```batch-record\nid = \"made\"\nformula = \"wash\"\nversion = \"2\"\ndate = 2026-03-14\nbatch-number = \"W-7\"\nrest = \"as planned\"\n\
         release = {{ decision = \"released\", date = 2026-03-16 }}\n```\n"
    );
    let bench = Bench::new().with("a.md", &text);
    let out = bench.run(["explain", "batch/W-7"]).ends_with(0).out();
    assert_eq!(
        out,
        "batch W-7: made (batch-record)\n  of wash, version 2\n  made: 2026-03-14\n  decided: released, 2026-03-16\n"
    );
    let _ = bench.run(["explain", "batch/W-8"]).complains("no record has the batch number `W-8`. Did you mean `W-7`?");
}
