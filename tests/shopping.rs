//! Shopping lists on the command line: what any set of batches needs, and the same figures as a list that stands in a notebook.

#![expect(clippy::indexing_slicing, clippy::unwrap_used, reason = "what goes wrong here fails the test")]

use crate::support::Bench;
use serde_json::Value;

/// Two formulas that share an oil, a kit and a list; prices in two currencies, stock in two bottles.
fn kitchen() -> Bench {
    Bench::new()
        .with(
            "kitchen/oils.md",
            "# Oils\n\n```formula\nid = \"body\"\nproduct = \"body oil\"\nbatch = \"1 kg\"\ndensity = \"0.92 g/ml\"\n[phase.A]\nsunflower-oil = \"q.s. to 100\"\ncastor-oil = 25\n```\n\n\
             ```formula\nid = \"hands\"\nproduct = \"body oil\"\nbatch = \"200 g\"\n[phase.A]\ncastor-oil = \"q.s. to 100\"\njojoba-oil = 12.5\n```\n\n\
             ```formula\nid = \"wash\"\nproduct = \"body wash\"\nbatch = \"1 kg\"\nph = \"4.6..5.0\"\n[phase.A]\nwater = \"q.s. to 100\"\nsodium-benzoate = 0.5\ncoco-glucoside = 20\n\
             citric-acid-50 = { percent = \"q.s.\", usual = 0.4, to = \"pH 4.8\" }\n```\n\n\
             ```kit\nid = \"evening\"\nformula = \"hands\"\nbatch = \"40 g\"\ntables = 5\noverage = \"10 %\"\n```\n\n\
             ```shopping-list\nid = \"spring\"\ndate = 2026-03-20\noverage = \"5 %\"\nstale-after = 30\n[[make]]\nformula = \"body\"\nbatch = \"2 kg\"\n[[make]]\nkit = \"evening\"\n```\n\n\
             ```window\nid = \"ph\"\nformula = \"wash\"\n```\n",
        )
        .with("kitchen/collection.toml", "currency = \"EUR\"\n[rate]\nGBP = { is = \"1.25 EUR\", date = 2026-03-01 }\n")
        .with(
            "kitchen/materials/own.toml",
            "[material.castor-oil]\nstock = [{ amount = \"150 g\", date = 2026-03-14 }, { amount = \"50 g\", date = 2026-03-14 }]\n\
             [[material.castor-oil.price]]\npack = \"250 g\"\nprice = \"4 GBP\"\ndate = 2026-03-01\nsupplier = \"=an, \\\"invented\\\" one\"\n\
             [[material.castor-oil.price]]\npack = \"1 kg\"\nprice = \"9 GBP\"\npostage = \"1 GBP\"\ndate = 2026-03-01\n\
             [[material.sunflower-oil.price]]\npack = \"500 g\"\nprice = \"3.10 EUR\"\ndate = 2026-03-10\n\
             [[material.jojoba-oil.price]]\npack = \"100 g\"\nprice = \"7.50 EUR\"\ndate = 2026-03-10\n",
        )
}

/// The document of `--format json`.
fn json(bench: &Bench, arguments: &str) -> Value {
    let arguments = ["shopping-list"].into_iter().chain(arguments.split(' '));
    let out = bench.run(arguments.chain(["--in", "kitchen", "--format", "json"])).ends_with(0).out();
    serde_json::from_str(&out).unwrap()
}

/// The values of a number of each raw material, by its id.
fn values(document: &Value, part: &str) -> Vec<(String, String)> {
    let lines = document["list"]["lines"].as_array().unwrap();
    let text = |value: &Value| value.as_str().unwrap_or_default().replace('\u{a0}', " ");
    lines.iter().map(|line| (text(&line["id"]), text(&line[part]["value"]))).collect()
}

#[track_caller]
fn check(document: &Value, part: &str, expected: &[(&str, &str)]) {
    let expected: Vec<_> = expected.iter().map(|(id, value)| ((*id).to_owned(), (*value).to_owned())).collect();
    assert_eq!(values(document, part), expected, "{part}");
}

/// By hand: 2 kg of the body oil are 1500 g and 500 g, 600 g of the other 525 g and 75 g, all with 4 %. Of 1066 g of castor oil 200 g are there; 866 g are
/// one pack of 1 kg for 10 pounds, less than four of 250 g for 16. 1560 g of sunflower oil are four packs of 500 g.
#[test]
fn batches_of_several_formulas_are_put_together() {
    let bench = kitchen();
    let list = json(&bench, "--batch body=2kg --batch hands=600g --overage 4% --date 2026-03-20");
    assert_eq!(list["schema"], "tarebook shopping list 1");
    check(&list, "needed", &[("sunflower-oil", "1560"), ("castor-oil", "1066"), ("jojoba-oil", "78")]);
    check(&list, "to_buy", &[("sunflower-oil", "1560"), ("castor-oil", "866"), ("jojoba-oil", "78")]);
    check(&list, "packs", &[("sunflower-oil", "4 × 500 g"), ("castor-oil", "1 × 1 kg"), ("jojoba-oil", "1 × 100 g")]);
    check(&list, "cost", &[("sunflower-oil", "12.4"), ("castor-oil", "10"), ("jojoba-oil", "7.5")]);
    check(&list, "left_over", &[("sunflower-oil", "440"), ("castor-oil", "134"), ("jojoba-oil", "22")]);
    // 12.40 + 7.50 + 10 × 1.25 euros.
    assert_eq!((&list["list"]["cost"]["value"], &list["list"]["complete"]), (&"32.4".into(), &true.into()));
    // It stands in no notebook, so that nothing of it has an address.
    assert!(list["list"]["lines"][0]["needed"]["address"].as_str().unwrap().is_empty());
    let list = json(&bench, "--batch body=2kg --without-stock --not-bought sunflower-oil --date 2026-03-20");
    check(&list, "to_buy", &[("sunflower-oil", ""), ("castor-oil", "500")]);
    check(&list, "packs", &[("sunflower-oil", ""), ("castor-oil", "2 × 250 g")]);
}

#[test]
fn a_size_may_be_a_volume_or_left_out() {
    let bench = kitchen();
    // 2 l at 0.92 g/ml are 1840 g.
    check(
        &json(&bench, "body --batch 2l --date 2026-03-20"),
        "needed",
        &[("sunflower-oil", "1380"), ("castor-oil", "460")],
    );
    check(&json(&bench, "body --date 2026-03-20"), "needed", &[("sunflower-oil", "750"), ("castor-oil", "250")]);
    // The usual 4 g of the dose with half of it on top.
    let list = json(&bench, "wash --dose-reserve 50% --date 2026-03-20");
    assert_eq!(values(&list, "needed")[3], ("citric-acid-50".to_owned(), "6".to_owned()));
    assert_eq!(list["list"]["lines"][3]["dosed"], true);
}

/// Two batches of one formula are two batches: what they need is what one batch of their sum needs.
#[test]
fn a_formula_that_is_named_twice_counts_twice() {
    let bench = kitchen();
    let (twice, once) = (json(&bench, "--batch body=700g --batch body=1.3kg"), json(&bench, "--batch body=2kg"));
    for part in ["needed", "to_buy", "packs", "cost", "left_over"] {
        assert_eq!(values(&twice, part), values(&once, part), "{part}");
    }
    let out = bench.run(["shopping-list", "evening", "evening", "--in", "kitchen"]).ends_with(0).out();
    assert!(out.starts_with("What to buy for evening, evening\n"), "{out}");
}

#[test]
fn a_list_of_a_notebook_is_the_one_on_its_page() {
    let bench = kitchen();
    let _ = bench.run(["publish", "kitchen"]).ends_with(0);
    let page: Value = serde_json::from_str(&bench.read("kitchen/pages/oils.json")).unwrap();
    let on_page = page["blocks"].as_array().unwrap().iter().find(|block| block["id"] == "spring").unwrap();
    let printed = json(&bench, "spring");
    for part in ["lines", "cost", "complete", "sums", "date", "overage", "counts_stock"] {
        assert_eq!(printed["list"][part], on_page[part], "{part}");
    }
    let words =
        |found: &Value| -> Vec<Value> { found.as_array().unwrap().iter().map(|one| one["what"].clone()).collect() };
    assert_eq!(words(&printed["list"]["findings"]), words(&on_page["findings"]));
    assert_eq!(printed["list"]["lines"][0]["needed"]["address"], "spring/sunflower-oil/needed");
    // What is typed takes the place of what the list says: before the prices of the 10th, and without its 5 %.
    let list = json(&bench, "spring --date 2026-03-09 --overage 0% --without-stock");
    assert_eq!(values(&list, "needed")[0].1, "1500");
    assert_eq!(list["list"]["lines"][0]["why"], "later prices only");
    assert_eq!(values(&list, "to_buy")[1].1, "692.5");
    assert_eq!((&list["list"]["date"], &list["list"]["complete"]), (&"2026-03-09".into(), &false.into()));
}

#[test]
fn prices_grow_old_by_the_day_that_is_asked_for() {
    let bench = kitchen();
    let found = |arguments: &str| {
        let document = json(&bench, arguments);
        let findings = document["list"]["findings"].as_array().unwrap();
        findings.iter().map(|one| one["what"].as_str().unwrap().to_owned()).collect::<Vec<_>>().join("\n")
    };
    assert_eq!(found("body --date 2026-03-20"), "");
    assert!(
        found("body --date 2026-03-20 --stale-after 10 --without-stock").contains(
            "More than 10 days before 2026-03-20 are the price of `castor-oil`, of 2026-03-01; the rate of GBP"
        )
    );
    assert_eq!(found("spring"), "");
    assert!(found("spring --date 2026-05-20").contains("the rate of GBP, of 2026-03-01"));
    // Stock that is counted after the day is not there yet.
    assert!(
        found("body --date 2026-03-12").contains("150 g, is not taken off: it was counted after the day of this list")
    );
}

#[test]
fn the_table_has_its_columns_under_each_other() {
    let bench = kitchen();
    let arguments = [
        "shopping-list",
        "--batch",
        "body=2kg",
        "--batch",
        "wash=500g",
        "--not-bought",
        "water",
        "--date",
        "2026-03-20",
    ];
    let out = bench.run(arguments.into_iter().chain(["--in", "kitchen"])).ends_with(0).complains_of_nothing().out();
    let out = out.replace('\u{a0}', " ");
    let table: Vec<&str> = out.lines().skip(3).take_while(|line| !line.is_empty()).collect();
    assert!(
        out.starts_with(
            "What to buy for 2000.0 g of body, 500.0 g of wash\nreckoned for 2026-03-20; less what is in stock\n\n"
        ),
        "{out}"
    );
    let column = |title: &str| table[0].chars().collect::<String>().find(title).unwrap() + title.len();
    let ends = ["needed", "in stock", "to buy", "packs", "cost", "left over"].map(column);
    let castor = table.iter().find(|line| line.starts_with("Castor oil")).unwrap();
    for (end, text) in ends.into_iter().zip(["500.0 g", "200.0 g", "300.0 g", "2 × 250 g", "8.00 GBP", "200.0 g"]) {
        // The multiplication sign has two bytes.
        let cut: String = castor.chars().take(end).collect();
        assert!(cut.ends_with(text), "{text} does not end under its title:\n{out}");
    }
    let row = |name: &str| {
        table
            .iter()
            .find(|line| line.starts_with(name))
            .unwrap()
            .split("  ")
            .map(str::trim)
            .filter(|cell| !cell.is_empty())
            .collect::<Vec<_>>()
    };
    assert_eq!(row("Purified water"), ["Purified water", "395.5 g", "–", "–", "not bought", "–", "–"]);
    assert_eq!(
        row("Sodium benzoate"),
        ["Sodium benzoate", "2.5 g", "–", "2.5 g", "no pack is known", "not known", "–"]
    );
    // 3 × 3.10 + 8 × 1.25 euros, without what is not known.
    assert_eq!(row("All of it, at least"), ["All of it, at least", "19.30 EUR"]);
    assert_eq!(row("Paid in GBP"), ["Paid in GBP", "8.00 GBP"]);
    assert!(out.contains("dosed to effect: the usual amount, more may be needed"), "{out}");
    assert!(
        out.contains("question: No pack is known of `sodium-benzoate`, `coco-glucoside`, `citric-acid-50`"),
        "{out}"
    );
}

/// RFC 4180: records end with CRLF, fields with commas or quotation marks are quoted, quotation marks doubled. A field that a spreadsheet would run is text.
#[test]
fn comma_separated_values_are_exact() {
    let bench = kitchen();
    let arguments =
        ["shopping-list", "body", "--batch", "1.0001kg", "--date", "2026-03-20", "--format", "csv", "--in", "kitchen"];
    let out = bench.run(arguments).ends_with(0).complains_of_nothing().out();
    assert_eq!(out.matches('\n').count(), out.matches("\r\n").count());
    let lines: Vec<&str> = out.lines().collect();
    assert_eq!(
        lines,
        [
            "material,name,needed_g,in_stock_g,to_buy_g,packs,bought_g,cost,left_over_g,currency,supplier,note",
            "sunflower-oil,Sunflower oil,750.075,,750.075,2 × 500 g,1000,6.2,249.925,EUR,,",
            "castor-oil,Castor oil,250.025,200,50.025,1 × 250 g,250,4,199.975,GBP,\"'=an, \"\"invented\"\" one\",",
        ]
    );
}

#[test]
fn without_a_day_it_is_today() {
    let bench = kitchen();
    let day = |out: &str| out.split("reckoned for ").nth(1).unwrap().split(';').next().unwrap().to_owned();
    let out = bench.run(["shopping-list", "body", "--in", "kitchen"]).ends_with(0).out();
    assert!(*day(&out) > *"2026-03-20" && day(&out).len() == 10, "{out}");
    // A list of a notebook has its own.
    assert_eq!(day(&bench.run(["shopping-list", "spring", "--in", "kitchen"]).ends_with(0).out()), "2026-03-20");
}

#[track_caller]
fn check_refused(bench: &Bench, arguments: &str, words: &[&str]) {
    let typed =
        ["shopping-list", "--in", "kitchen"].into_iter().chain(arguments.split(' ').filter(|word| !word.is_empty()));
    let mut done = bench.run(typed).ends_with(2);
    assert_eq!(done.out, "", "{arguments}");
    for word in words {
        done = done.complains(word);
    }
}

#[test]
fn what_cannot_be_bought_is_said_at_once() {
    let bench = kitchen();
    check_refused(&bench, "", &["it is not said what is made; write `--batch first-wash=2kg`"]);
    check_refused(
        &bench,
        "bodi --batch hand=2kg --batch hands=2 --batch 5kg --batch body= --not-bought watr",
        &[
            "no formula, kit or shopping list `bodi`. Did you mean `body`?",
            "no formula, kit or shopping list `hand`. Did you mean `hands`?",
            "the batch of `hands` is not understood: `2` needs a unit",
            "`--batch 5kg` does not say of which formula",
            "`--batch body=` does not say of which formula how much",
            "no raw material `watr`. Did you mean `water`?",
        ],
    );
    check_refused(
        &bench,
        "other",
        &["Formulas, kits and shopping lists in kitchen: body, hands, wash, evening, spring."],
    );
    check_refused(&bench, "body=2kg", &["`body=2kg` is no id; write `--batch body=2kg`"]);
    check_refused(&bench, "body --batch body=2kg", &["`body` is named with a size and without one"]);
    check_refused(&bench, "hands --batch 2l", &["2l is a volume, and the formula has no `density`"]);
    check_refused(&bench, "body --batch -2kg", &["a batch of -2kg is nothing to weigh"]);
    check_refused(&bench, "body --batch 0g", &["a batch of 0g is nothing to weigh"]);
    check_refused(&bench, "ph", &["`ph` is neither a formula nor a kit nor a shopping list"]);
    check_refused(&bench, "evening --batch 2kg", &["`evening` is a kit and has its own batches"]);
    check_refused(&bench, "--batch spring=2kg", &["`spring` is a shopping list and has its own batches"]);
    check_refused(&bench, "spring body", &["`spring` is a shopping list; print it alone"]);
    check_refused(&bench, "evening --overage 5%", &["a kit has an `overage`"]);
    check_refused(&bench, "body --overage 101%", &["from 0 % to 100 %"]);
    check_refused(&bench, "body --overage 5", &["it is in %"]);
    check_refused(&bench, "body --date 2026-13-01", &["2026-13-01"]);
}

#[test]
fn errors_in_the_notebooks_stand_against_it() {
    let bench = kitchen();
    let oils = bench.read("kitchen/oils.md");
    bench.write("kitchen/oils.md", oils.replace("jojoba-oil = 12.5", "jojobaa-oil = 12.5"));
    let run = |id| bench.run(["shopping-list", id, "--in", "kitchen"]);
    let _ = run("hands")
        .ends_with(1)
        .complains("unknown-material")
        .complains("`hands` has errors, so there is nothing to buy yet.");
    let _ = run("spring").ends_with(1).complains("`spring` has errors");
    let _ =
        run("heel").ends_with(1).complains("There is no formula, kit or shopping list `heel`, but there are errors");
    // What is sound can be bought all the same.
    let _ = run("body").ends_with(0).complains_of_nothing().says("Sunflower oil");
    let own = bench.read("kitchen/materials/own.toml");
    bench.write("kitchen/materials/own.toml", own.replace("3.10 EUR", "3.10 euros"));
    let done = run("body").ends_with(1).says("price not understood");
    assert!(!done.out.contains("question"), "{}", done.out);
    let _ = done.complains("`3.10 euros`").complains("what was not understood is not in the list");
}
