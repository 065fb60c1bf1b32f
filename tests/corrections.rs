//! Corrections: what a publish adds to the list beside a notebook when a published number changed, and what it does not.

use crate::support::Bench;

const WASH: &str = "# Wash\n\n```formula\nid = \"wash\"\ntitle = \"Oat wash\"\nproduct = \"body wash\"\nbatch = \"500 g\"\nph = \"4.8..5.2\"\n\
    [phase.A]\nwater = \"q.s. to 100\"\nglycerin = 3\ncocamidopropyl-betaine = 30\nsodium-benzoate = 0.4\n\
    phenoxyethanol-ethylhexylglycerin = 0.9\n```\n\nTake [](calc:wash/glycerin/weight?batch=2kg) for two kilograms.\n";

fn kitchen(text: &str) -> Bench {
    Bench::new().with("kitchen/wash.md", text)
}

fn publish(bench: &Bench, day: &str) -> String {
    bench.run(["publish", "kitchen", "--date", day]).ends_with(0).out()
}

/// The corrections after the notebook was changed from one text to another between two publishes.
#[track_caller]
fn after(before: &str, now: &str) -> Option<String> {
    let bench = kitchen(before);
    let first = publish(&bench, "2026-03-14");
    assert!(!first.contains("Changed since"), "a first publish has nothing to compare with: {first}");
    bench.write("kitchen/wash.md", now);
    let _ = publish(&bench, "2026-04-02");
    bench.path("kitchen/wash.corrections.toml").exists().then(|| bench.read("kitchen/wash.corrections.toml"))
}

#[test]
fn a_changed_number_is_listed_with_old_new_and_the_batch() {
    let text = after(WASH, &WASH.replace("glycerin = 3", "glycerin = 3.5")).expect("corrections");
    for line in [
        "date = 2026-04-02\nof = \"wash\"\n",
        "  { what = \"Glycerin (glycerol), 99.5 %: % w/w\", old = \"3 %\", new = \"3.5 %\", address = \"glycerin/percent\" },\n",
        "  { what = \"Glycerin (glycerol), 99.5 %: weight\", old = \"15.0 g\", new = \"17.5 g\", batch = \"500 g\", address = \"glycerin/weight\" },\n",
        "old = \"60.0 g\", new = \"70.0 g\", address = \"glycerin/weight?batch=2kg\" },\n",
        "old = \"65.7 %\", new = \"65.2 %\", address = \"water/percent\" },\n",
    ] {
        assert!(text.contains(line), "{line}\n{text}");
    }
    let check = text.lines().find(|line| line.starts_with("check = ")).expect("the check value changes with it");
    assert_ne!(check.split('"').nth(1), check.split('"').nth(3));
    assert!(!text.contains("cocamidopropyl"), "what did not change is not listed: {text}");
    assert!(!text.contains("phase/A/glycerin"), "nor is anything said twice: {text}");
}

#[test]
fn wording_and_format_are_no_corrections() {
    for now in [
        WASH.replace("Take [](", "You need [60 g]("),
        WASH.replace("batch=2kg)", "batch=2kg&digits=3)"),
        WASH.replace("batch=2kg)", "batch=2000g)"),
        WASH.replace("glycerin = 3\n", "glycerin = 3.0\n"),
        WASH.replace("id = \"wash\"\n", "id = \"wash\"\nnote = \"mild\"\n"),
        WASH.replace("title = \"Oat wash\"", "title = \"Mild oat wash\""),
        format!("{WASH}\n```workings\nid = \"more\"\nhalf = \"calc:wash/batch ÷ 2\"\n```\n"),
        WASH.replace("[phase.A]", "[phase.B]"),
    ] {
        assert_eq!(after(WASH, &now), None, "{now}");
    }
}

#[test]
fn another_batch_size_alone_does_not_correct_the_weights() {
    let text = after(WASH, &WASH.replace("batch = \"500 g\"", "batch = \"1 kg\"")).expect("corrections");
    let numbers: Vec<&str> = text.lines().filter(|line| line.starts_with("  {")).collect();
    assert_eq!(numbers, ["  { what = \"batch\", old = \"500 g\", new = \"1000 g\", address = \"batch\" },"]);
}

#[test]
fn with_another_batch_size_weights_are_compared_at_the_old_one() {
    let now = WASH.replace("batch = \"500 g\"", "batch = \"1 kg\"").replace("glycerin = 3", "glycerin = 4");
    let text = after(WASH, &now).expect("corrections");
    assert!(
        text.contains("old = \"15.0 g\", new = \"20.0 g\", batch = \"500 g\", address = \"glycerin/weight\""),
        "{text}"
    );
}

#[test]
fn lines_that_came_and_went_are_listed() {
    let now =
        WASH.replace("glycerin = 3\n", "propanediol = 3\n").replace("calc:wash/glycerin", "calc:wash/propanediol");
    let text = after(WASH, &now).expect("corrections");
    assert!(text.contains("old = \"3 %\", new = \"\", address = \"glycerin/percent\""), "{text}");
    assert!(text.contains("old = \"\", new = \"3 %\", address = \"propanediol/percent\""), "{text}");
}

#[test]
fn the_list_is_kept_edited_and_shown() {
    let bench = kitchen(WASH);
    let _ = publish(&bench, "2026-03-14");
    bench.write("kitchen/wash.md", WASH.replace("glycerin = 3", "glycerin = 3.5"));
    let out = publish(&bench, "2026-04-02");
    assert!(out.contains("added to wash.corrections.toml"), "{out}");
    let first = bench.read("kitchen/wash.corrections.toml");
    // Nothing changes, nothing is added.
    assert!(!publish(&bench, "2026-04-03").contains("Changed since"));
    assert_eq!(bench.read("kitchen/wash.corrections.toml"), first);
    // The author says why.
    let edited = first.replace("note = \"\"", "note = \"The old one was `sticky` <b>.\"  # as the class found");
    bench.write("kitchen/wash.corrections.toml", &edited);
    bench.write("kitchen/wash.md", WASH.replace("glycerin = 3", "glycerin = 4"));
    let _ = publish(&bench, "2026-05-01");
    let second = bench.read("kitchen/wash.corrections.toml");
    assert!(second.starts_with(edited.trim_end()), "what the author wrote stays");
    assert!(second.contains("date = 2026-05-01"));
    let page = bench.read("kitchen/pages/wash.html");
    let list = page.split("<h2 id=\"corrections\">").nth(1).expect("the list on the page");
    assert!(list.find("2026-05-01") < list.find("2026-04-02"), "the newest first");
    for part in [
        "<del>3\u{a0}%</del>",
        "<ins>3.5\u{a0}%</ins>",
        "<ins>4\u{a0}%</ins>",
        "&lt;b&gt;",
        "in 500\u{a0}g",
        "Check value",
    ] {
        assert!(list.contains(part), "{part}\n{list}");
    }
    assert!(!bench.path("kitchen/pages/wash.corrections.toml").exists(), "the file itself is not published");
}

#[test]
fn what_stands_in_the_list_already_is_not_added_again() {
    let bench = kitchen(WASH);
    let _ = publish(&bench, "2026-03-14");
    let old = bench.tree("kitchen/pages");
    bench.write("kitchen/wash.md", WASH.replace("glycerin = 3", "glycerin = 3.5"));
    let _ = publish(&bench, "2026-04-02");
    let list = bench.read("kitchen/wash.corrections.toml");
    // As if the pages had not been written after the list was.
    for (path, bytes) in &old {
        bench.write(&format!("kitchen/pages/{path}"), bytes);
    }
    let _ = publish(&bench, "2026-04-03");
    assert_eq!(bench.read("kitchen/wash.corrections.toml"), list);
}

#[test]
fn an_error_in_the_list_stands_against_publishing() {
    let bench =
        kitchen(WASH).with("kitchen/wash.corrections.toml", "[[correction]]\ndate = 2026-02-30\nof = \"wash\"\n");
    let _ = bench
        .run(["publish", "kitchen"])
        .ends_with(1)
        .complains("in wash.corrections.toml, line 2")
        .complains("expected day between 01 and 28");
}

#[test]
fn watching_does_not_touch_what_was_published() {
    // Drafts go to a folder of their own, which is no part of the collection either.
    let bench = kitchen(WASH);
    let _ = publish(&bench, "2026-03-14");
    bench.write("kitchen/.draft/.tarebook/manifest", "tarebook manifest 1\nend\n");
    bench.write("kitchen/.draft/draft.md", "# Draft\n");
    let _ = bench.run(["proofread", "kitchen"]).ends_with(0).says("1 notebook read");
}

#[test]
fn a_day_that_is_none_is_refused() {
    let bench = kitchen(WASH);
    let _ = bench
        .run(["publish", "kitchen", "--date", "14.3.2026"])
        .ends_with(2)
        .complains("write the year, the month and the day");
}
