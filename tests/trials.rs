//! Series of trials: what each changed is what a comparison finds, and what was varied alone is plotted against what was measured.

#![expect(clippy::panic, reason = "what goes wrong here fails the test")]

use crate::support::{Bench, collection, everything};
use tarebook::collection::Collection;
use tarebook::compute::{Answer, TrialSeries};
use tarebook::page::figure_text;

/// A wash with salt in four amounts; in the last of them the glycerin is another one too. The readings are invented.
const TRIALS: &str = "# Salt\n\n```formula\nid = \"wash\"\nproduct = \"body wash\"\nbatch = \"500 g\"\nph = \"4.8..5.2\"\n[phase.A]\nwater = \"q.s. to 100\"\n\
glycerin = 3\nsodium-benzoate = 0.5\n[phase.B]\ncocamidopropyl-betaine = 20\n```\n\n\
```formula\nid = \"half\"\nbased-on = \"wash\"\n[change.A]\nsodium-chloride = 0.5\n```\n\n\
```formula\nid = \"one\"\nbased-on = \"half\"\n[change.A]\nsodium-chloride = 1\n```\n\n\
```formula\nid = \"muddle\"\nbased-on = \"one\"\n[change.A]\nsodium-chloride = 2\nglycerin = 5\n```\n\n\
```trial-series\nid = \"salt\"\nbase = \"wash\"\nwanted = { viscosity = \"3000..5000 mPa·s\" }\n\
[[trial]]\nformula = \"one\"\nmeasured = { viscosity = \"4000 mPa·s\" }\n\
[[trial]]\nformula = \"wash\"\nmeasured = { viscosity = \"200 mPa·s\", ph = \"4.6..4.9\" }\n\
[[trial]]\nformula = \"half\"\nmeasured = { viscosity = \"1000..1200 mPa·s\" }\n\
[[trial]]\nformula = \"muddle\"\nmeasured = { viscosity = \"900 mPa·s\" }\n\
[choice]\ntrial = \"one\"\nreason = \"It pours.\"\n```\n";

#[track_caller]
fn series(collection: &Collection) -> &TrialSeries {
    match collection.answer("salt") {
        Some(Answer::TrialSeries(series)) => series,
        _ => panic!("no series: {:#?}", collection.errors()),
    }
}

fn text(collection: &Collection, id: &str, path: &[&str]) -> Option<String> {
    Some(figure_text(&collection.figure(id, path, None)?.ok()?).replace('\u{a0}', " "))
}

/// The differences are those of a comparison block with the same two formulas.
#[test]
fn what_a_trial_changed_is_what_a_comparison_finds() {
    let with = format!("{TRIALS}\n```comparison\nid = \"two\"\nformulas = [\"one\", \"muddle\"]\n```\n");
    let collection = collection([("a.md", with.as_str())]);
    for path in
        [["sodium-chloride", "percent-difference"], ["glycerin", "percent-difference"], ["water", "percent-difference"]]
    {
        let of_trial = text(&collection, "salt", &["muddle", path[0], path[1]]);
        assert!(of_trial.is_some(), "{path:?}");
        assert_eq!(of_trial, text(&collection, "two", &path), "{path:?}");
    }
    // 1 % more salt and 2 % more glycerin take 3 % of the water.
    assert_eq!(text(&collection, "salt", &["muddle", "water", "percent-difference"]).as_deref(), Some("−3 %"));
    // Trials are made in sizes of their own; the start is made from nothing.
    assert_eq!(text(&collection, "salt", &["muddle", "water", "weight-difference"]), None);
    assert_eq!(text(&collection, "salt", &["wash", "water", "percent-difference"]), None);
}

/// Each trial stands beside what it is based on, also where that is no trial yet or stands below it.
#[test]
fn a_trial_stands_beside_what_it_was_made_from() {
    let collection = collection([("a.md", TRIALS)]);
    let from: Vec<_> = series(&collection).trials.iter().map(|trial| (trial.id.as_str(), trial.from())).collect();
    assert_eq!(from, [("one", Some("half")), ("wash", None), ("half", Some("wash")), ("muddle", Some("one"))]);
}

/// By hand: salt 1, 0 and 0.5 % with all else alike; the fourth holds more glycerin and is left out. The formula without salt holds 0 % of it.
#[test]
fn what_was_varied_alone_is_plotted() {
    let collection = collection([("a.md", TRIALS)]);
    let varied = series(&collection).varied.clone().unwrap();
    let shares: Vec<Option<String>> = varied.shares.iter().map(|share| share.map(|share| share.to_string())).collect();
    assert_eq!(
        (varied.material.as_str(), shares),
        ("sodium-chloride", vec![Some("1".into()), Some("0".into()), Some("0.5".into()), None])
    );
    let page = String::from_utf8(everything(&collection)["a.html"].clone()).unwrap().replace('\u{a0}', " ");
    let title = "Viscosity against Salt (sodium chloride): 200 mPa·s at 0 %, 1000–1200 mPa·s at 0.5 %, 4000 mPa·s at 1 %. \
Left out, as something else changed too: muddle.";
    for part in [title, ">chosen</text>", "<b>chosen</b>", "class=\"spread\"", "<small>partly below</small>"] {
        assert!(page.contains(part), "{part}\n{page}");
    }
    assert!(!page.contains("NaN"));
}

/// With two amounts only there is no row of points.
#[test]
fn two_points_are_no_plot() {
    let two = TRIALS.replace("[[trial]]\nformula = \"half\"\nmeasured = { viscosity = \"1000..1200 mPa·s\" }\n", "");
    let collection = collection([("a.md", two.as_str())]);
    assert_eq!(series(&collection).varied, None);
    let page = String::from_utf8(everything(&collection)["a.html"].clone()).unwrap();
    assert!(!page.contains("<svg"), "{page}");
}

/// A change of the parent, in another notebook, changes what its trials are said to have changed.
#[test]
fn a_change_of_the_parent_is_seen_in_the_series() {
    let (parent, rest) = TRIALS.split_once("```formula\nid = \"half\"").unwrap();
    let rest = format!("# Trials\n\n```formula\nid = \"half\"{rest}");
    let mut known = collection([("parent.md", parent), ("trials.md", &*rest)]);
    let glycerin = |collection: &Collection| text(collection, "salt", &["muddle", "glycerin", "percent-difference"]);
    assert_eq!(glycerin(&known).as_deref(), Some("2 %"));
    let parent = parent.replace("glycerin = 3", "glycerin = 3.5");
    known.update(crate::support::sources([("parent.md", &*parent), ("trials.md", &*rest)]));
    assert_eq!(glycerin(&known).as_deref(), Some("1.5 %"));
    let fresh = collection([("parent.md", &*parent), ("trials.md", &*rest)]);
    assert!(everything(&known) == everything(&fresh), "a fresh publish gives other pages");
}

/// What the author writes is text wherever it stands.
#[test]
fn words_of_the_author_are_escaped() {
    let sly = TRIALS.replace("It pours.", "<script>x</script> & so on").replace("mPa·s", "<b>");
    let page = everything(&collection([("a.md", sly.as_str())]))["a.html"].clone();
    let page = String::from_utf8(page).unwrap();
    assert!(page.contains("&lt;script&gt;x"), "{page}");
    assert!(!page.contains("<script>x") && !page.contains(", <b>"), "{page}");
}

#[test]
fn explain_tells_the_figures_of_a_series() {
    let bench = Bench::new().with("a.md", TRIALS);
    let out = bench.run(["explain", "salt/chosen"]).ends_with(0).out();
    assert!(out.contains("one") && out.contains("It pours."), "{out}");
    let out = bench.run(["explain", "salt/half/measured/viscosity"]).ends_with(0).out().replace('\u{a0}', " ");
    assert!(out.contains("1000–1200 mPa·s"), "{out}");
}
