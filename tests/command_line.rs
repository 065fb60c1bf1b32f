//! The real program in fresh folders: what it prints, how it ends, and which files are there afterwards.

use crate::support::{Bench, Tree, assert_same};

/// A notebook with one formula and nothing to find but how to handle it.
const BALM: &str = "# Balm\n\n```formula\nid = \"balm\"\nproduct = \"lip balm\"\nbatch = \"100 g\"\n\
    [phase.A]\nsunflower-oil = \"q.s. to 100\"\ncastor-oil = 20\n```\n";
/// A notebook with an error: the lines add up to 99 %.
const SHORT: &str = "# Short\n\n```formula\nid = \"short\"\n[phase.A]\nsunflower-oil = 79\ncastor-oil = 20\n```\n";

fn kitchen() -> Bench {
    Bench::new().with("kitchen/balm.md", BALM)
}

/// The names of the files in a tree, without the pages of raw materials, those by which a collection is looked up and the bench sheets.
fn names(tree: &Tree) -> Vec<&str> {
    tree.keys()
        .map(String::as_str)
        .filter(|name| !["materials/", "index/", "bench/"].iter().any(|folder| name.starts_with(folder)))
        .collect()
}

#[test]
fn publish_writes_the_pages_and_says_what_to_open() {
    let bench = kitchen();
    let out = bench.run(["publish", "kitchen"]).ends_with(0).complains_of_nothing().out();
    assert_eq!(
        out,
        "Published 1 notebook into kitchen/pages: 17 files written, 0 as they were.\n\
         Nothing found.\n\
         Open kitchen/pages/index.html\n"
    );
    assert_eq!(names(&bench.tree("kitchen/pages")), ["balm.html", "balm.json", "bench.js", "index.html", "style.css"]);
    let manifest = bench.read("kitchen/pages/.tarebook/manifest");
    let files: Vec<&str> = manifest.lines().filter_map(|line| line.strip_prefix("file ")).collect();
    let files: Vec<&str> = files.iter().filter_map(|line| line.split(' ').next_back()).collect();
    let materials = ["castor-oil", "index", "sunflower-oil"].map(|id| format!("materials/{id}.html"));
    let data = ["castor-oil", "sunflower-oil"].map(|id| format!("materials/{id}.json"));
    let mut expected: Vec<String> =
        ["balm.html", "balm.json", "bench.js", "index.html", "style.css"].map(str::to_owned).into();
    let looked_up = ["products.html", "search-1.js", "search-materials.js", "search.html", "search.js"];
    expected.extend(looked_up.map(|name| format!("index/{name}")));
    expected.extend(materials.into_iter().chain(data));
    expected.extend(["html", "json"].map(|end| format!("bench/balm.{end}")));
    expected.sort();
    assert_eq!(files, expected);
}

#[test]
fn a_second_publish_writes_nothing() {
    let bench = kitchen();
    let _ = bench.run(["publish", "kitchen"]).ends_with(0);
    let when = |bench: &Bench| bench.path("kitchen/pages/balm.html").metadata().unwrap().modified().unwrap();
    let before = when(&bench);
    let _ = bench.run(["publish", "kitchen"]).ends_with(0).says("into kitchen/pages: nothing had changed.");
    assert_eq!(when(&bench), before);
}

#[test]
fn the_present_folder_is_the_collection_unless_one_is_named() {
    let bench = Bench::new().with("balm.md", BALM);
    let _ = bench.run(["publish"]).ends_with(0).says("into ./pages: 17 files written");
    let _ = bench.run(["proofread"]).ends_with(0).says("1 notebook read: nothing found.");
    let _ = bench.run(["weigh", "balm"]).ends_with(0).says("balm; batch 100\u{a0}g");
}

#[test]
fn with_an_error_the_old_pages_stay_to_the_byte() {
    let bench = kitchen();
    let _ = bench.run(["publish", "kitchen"]).ends_with(0);
    let before = bench.tree("kitchen/pages");
    bench.write("kitchen/balm.md", BALM.replace("# Balm", "# New balm"));
    bench.write("kitchen/short.md", SHORT);
    let done = bench.run(["publish", "kitchen"]).ends_with(1);
    assert_eq!(done.out, "");
    let _ = done
        .complains("in short.md, line 4")
        .complains("99 %")
        .complains("name   sum-not-100")
        .complains("Nothing was published: 1 error");
    assert_same(&bench.tree("kitchen/pages"), &before);
    bench.remove("kitchen/short.md");
    let _ = bench.run(["publish", "kitchen"]).ends_with(0).says("10 files written, 7 as they were");
    assert!(bench.read("kitchen/pages/balm.html").contains("New balm"));
}

#[test]
fn with_an_error_nothing_is_made_at_all() {
    let bench = Bench::new().with("kitchen/short.md", SHORT);
    let _ = bench.run(["publish", "kitchen"]).ends_with(1).complains("Nothing was published");
    assert!(!bench.path("kitchen/pages").exists());
}

/// Asserts that a command cannot run, says why, prints nothing else and leaves the folder as it was.
#[track_caller]
fn check_refused(bench: &Bench, arguments: &[&str], words: &[&str]) {
    let before = bench.tree(".");
    let mut done = bench.run(arguments.iter().copied()).ends_with(2);
    assert_eq!(done.out, "");
    for word in words {
        done = done.complains(word);
    }
    assert_same(&bench.tree("."), &before);
}

#[test]
fn what_cannot_run_says_why_and_ends_with_2() {
    let bench = kitchen().with("empty/notes.txt", "no notebook").with("foreign/letter.txt", "mine");
    check_refused(&bench, &["publish", "nowhere"], &["nowhere: there is no such folder", "tarebook begin"]);
    check_refused(&bench, &["proofread", "nowhere"], &["nowhere: there is no such folder"]);
    check_refused(&bench, &["watch", "nowhere"], &["nowhere: there is no such folder"]);
    check_refused(&bench, &["weigh", "balm", "--in", "nowhere"], &["nowhere: there is no such folder"]);
    check_refused(&bench, &["publish", "kitchen/balm.md"], &["this is a file; give the folder"]);
    check_refused(&bench, &["publish", "empty"], &["empty: there is no notebook"]);
    check_refused(
        &bench,
        &["publish", "kitchen", "--into", "foreign"],
        &["foreign", "no manifest", "empty or a new folder"],
    );
    check_refused(&bench, &["publish", "kitchen", "--into", "foreign/letter.txt"], &["letter.txt"]);
    check_refused(&bench, &["begin", "kitchen"], &["kitchen: this folder is not empty"]);
    check_refused(&bench, &["weigh", "blam", "--in", "kitchen"], &["no formula `blam`", "Did you mean `balm`?"]);
    check_refused(
        &bench,
        &["weigh", "other", "--in", "kitchen"],
        &["no formula `other`", "Formulas in kitchen: balm."],
    );
    check_refused(&bench, &["weigh", "balm", "--in", "kitchen", "--batch", "2"], &["`2` needs a unit"]);
    check_refused(&bench, &["weigh", "balm", "--in", "kitchen", "--batch", "0g"], &["0g"]);
    check_refused(&bench, &["weigh", "balm", "--in", "kitchen", "--batch", "2l"], &["2l", "`density`"]);
    check_refused(&bench, &["weigh", "balm", "--in", "kitchen", "--batch", "1,234g"], &["1,234", "two ways"]);
    check_refused(&bench, &["weigh", "balm", "--in", "kitchen", "--balance", "1ml"], &["`1ml`", "0.1g"]);
    check_refused(&bench, &["weigh", "balm", "--in", "kitchen", "--format", "xml"], &["xml", "csv"]);
    check_refused(&bench, &["explain", "nothng", "--in", "kitchen"], &["nothing is called `nothng`"]);
    check_refused(
        &bench,
        &["explain", "balm/castor-oi/weight", "--in", "kitchen"],
        &["nothing has the address `balm/castor-oi/weight`", "Did you mean `balm/castor-oil/weight`"],
    );
    check_refused(&bench, &["frob"], &["frob", "Usage"]);
    check_refused(&bench, &[], &["Usage", "tarebook watch kitchen"]);
}

#[test]
fn a_formula_with_errors_is_not_weighed() {
    let bench = Bench::new().with("kitchen/short.md", SHORT);
    let done = bench.run(["weigh", "short", "--in", "kitchen"]).ends_with(1);
    assert_eq!(done.out, "");
    let _ = done.complains("sum-not-100").complains("`short` has errors, so there is nothing to weigh yet.");
}

#[test]
fn pages_go_where_they_are_told() {
    let bench = kitchen();
    let _ = bench.run(["publish", "kitchen", "--into", "www/class"]).ends_with(0).says("Open www/class/index.html");
    assert_eq!(names(&bench.tree("www/class")), ["balm.html", "balm.json", "bench.js", "index.html", "style.css"]);
    assert!(!bench.path("kitchen/pages").exists());
    // Pages inside the collection are no part of it, wherever they lie.
    let _ = bench.run(["publish", "kitchen", "--into", "kitchen/out"]).ends_with(0);
    let _ = bench.run(["publish", "kitchen"]).ends_with(0).says("17 files written");
}

#[test]
fn pages_of_notebooks_that_are_gone_go_and_other_files_stay() {
    let bench =
        kitchen().with("kitchen/sub/other.md", "# Other\n\n![jar](jar.svg)\n").with("kitchen/sub/jar.svg", "<svg/>");
    let _ = bench.run(["publish", "kitchen"]).ends_with(0);
    assert!(bench.path("kitchen/pages/sub/other.html").exists() && bench.path("kitchen/pages/sub/jar.svg").exists());
    bench.write("kitchen/pages/mine.txt", "mine");
    bench.remove("kitchen/sub/other.md");
    let _ = bench.run(["publish", "kitchen"]).ends_with(0).says("3 removed");
    assert_eq!(
        names(&bench.tree("kitchen/pages")),
        ["balm.html", "balm.json", "bench.js", "index.html", "mine.txt", "style.css"]
    );
    assert!(!bench.path("kitchen/pages/sub").exists());
    assert_eq!(bench.read("kitchen/pages/mine.txt"), "mine");
}

#[test]
fn a_page_that_somebody_changed_is_left_when_its_notebook_goes() {
    let bench = kitchen().with("kitchen/other.md", "# Other\n");
    let _ = bench.run(["publish", "kitchen"]).ends_with(0);
    bench.write("kitchen/pages/other.html", "mine now");
    bench.remove("kitchen/other.md");
    let _ = bench
        .run(["publish", "kitchen"])
        .ends_with(0)
        .says("Left in place, because somebody changed it since: other.html");
    assert_eq!(bench.read("kitchen/pages/other.html"), "mine now");
}

#[test]
fn a_file_of_other_origin_is_not_overwritten() {
    let bench = kitchen();
    let _ = bench.run(["publish", "kitchen"]).ends_with(0);
    bench.write("kitchen/pages/other.html", "mine");
    bench.write("kitchen/other.md", "# Other\n");
    let before = bench.tree("kitchen/pages");
    let _ = bench.run(["publish", "kitchen"]).ends_with(2).complains("other.html");
    assert_same(&bench.tree("kitchen/pages"), &before);
}

#[test]
fn proofread_lists_everything_in_order_as_text() {
    let bench = Bench::new().with("kitchen/short.md", SHORT).with("kitchen/another.md", "[a](missing.md)\n");
    let out = bench.run(["proofread", "kitchen"]).ends_with(1).complains_of_nothing().out();
    assert_eq!(
        out,
        "error: There is no file `missing.md`.\n  \
           in another.md, line 1, column 1\n\
         \n      \
               [a](missing.md)\n      \
               ~~~~~~~~~~~~~~~\n\
         \n  \
           why    The reader of the page would find nothing.\n  \
           to do  Correct the path; it is taken from the notebook's own folder.\n  \
           name   broken-link\n\
         \n\
         error: The lines of `short` add up to 99 %, 1 % too little.\n  \
           in short.md, line 4, column 6\n\
         \n      \
               id = \"short\"\n           \
                    ~~~~~~~\n\
         \n  \
           why    Every weight of the batch would be off by the same share, the preservative's too.\n  \
           to do  Correct a line, or let one line be `\"q.s. to 100\"`.\n  \
           name   sum-not-100\n\
         \n\
         2 notebooks read: 2 errors.\n"
    );
    assert!(!bench.path("kitchen/pages").exists());
}

#[test]
fn proofread_lists_everything_as_json() {
    let bench = Bench::new().with("kitchen/short.md", SHORT);
    let out = bench.run(["proofread", "kitchen", "--format", "json"]).ends_with(1).complains_of_nothing().out();
    let document: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(document["schema"], "tarebook findings 1");
    assert_eq!((&document["errors"], &document["cautions"]), (&1.into(), &0.into()));
    let finding = &document["findings"][0];
    assert_eq!(finding["name"], "sum-not-100");
    assert_eq!(finding["severity"], "error");
    let place = &finding["place"];
    assert_eq!((&place["file"], &place["line"], &place["column"]), (&"short.md".into(), &4.into(), &6.into()));
    let [from, to] = [0, 1].map(|index| usize::try_from(place["bytes"][index].as_u64().unwrap()).unwrap());
    assert_eq!(&SHORT[from..to], "\"short\"");
}

#[test]
fn without_errors_proofread_ends_with_0() {
    let bench = kitchen();
    let out = bench.run(["proofread", "kitchen"]).ends_with(0).complains_of_nothing().out();
    assert_eq!(out, "1 notebook read: nothing found.\n");
}

#[test]
fn weigh_prints_the_sheet_of_another_batch() {
    let bench = kitchen();
    let out =
        bench.run(["weigh", "balm", "--in", "kitchen", "--batch", "2kg"]).ends_with(0).complains_of_nothing().out();
    let weights: Vec<&str> = out.lines().filter(|line| line.ends_with("\u{a0}g") && line.starts_with("  ")).collect();
    assert_eq!(weights.len(), 3, "{out}");
    assert!(weights[0].ends_with("1600.0\u{a0}g") && weights[1].ends_with("400.0\u{a0}g"), "{out}");
    assert!(out.contains("batch 2000\u{a0}g") && out.contains("Total  100\u{a0}%  2000.0\u{a0}g"), "{out}");
}

#[test]
fn weigh_prints_the_sheet_of_another_balance() {
    let bench = kitchen();
    let out =
        bench.run(["weigh", "balm", "--in", "kitchen", "--batch", "33.333g", "--balance", "0.01g"]).ends_with(0).out();
    assert!(
        out.contains("balance 0.01\u{a0}g") && out.contains("6.67\u{a0}g") && out.contains("26.66\u{a0}g"),
        "{out}"
    );
}

#[test]
fn weigh_prints_comma_separated_values() {
    let notebook =
        BALM.replace("castor-oil = 20", "castor-oil = { percent = 20, lot = \"=1+1\", note = \"a \\\"b\\\", c\" }");
    let bench = Bench::new().with("kitchen/balm.md", notebook);
    let out =
        bench.run(["weigh", "balm", "--in", "kitchen", "--format", "csv"]).ends_with(0).complains_of_nothing().out();
    // RFC 4180: records end with CRLF, fields with commas or quotation marks are quoted, quotation marks doubled.
    assert_eq!(out.matches('\n').count(), out.matches("\r\n").count());
    let lines: Vec<&str> = out.lines().collect();
    assert_eq!(lines.len(), 3);
    assert_eq!(
        lines[0],
        "formula,version,check,phase,material,name,percent,weight_g,strength_percent,lot,dose_to,note"
    );
    assert!(lines[1].starts_with("balm,,") && lines[1].contains(",A,sunflower-oil,"), "{out}");
    assert!(lines[2].contains(",20,20.0,,'=1+1,,\"a \"\"b\"\", c\""), "{out}");
}

#[test]
fn weigh_prints_everything_as_json() {
    let bench = kitchen();
    let out = bench.run(["weigh", "balm", "--in", "kitchen", "--format", "json", "--batch", "50g"]).ends_with(0).out();
    let document: serde_json::Value = serde_json::from_str(&out).unwrap();
    let line = &document["formula"]["phases"][0]["lines"][1];
    assert_eq!(line["material"], "castor-oil");
    assert_eq!((&line["weight"]["value"], &line["weight"]["unit"]), (&"10".into(), &"g".into()));
    assert!(line["weight"]["working"].as_str().unwrap().starts_with("20\u{a0}% of 50\u{a0}g"));
}

/// Asserts what `explain` says of a name.
#[track_caller]
fn check_explained(name: &str, words: &[&str]) {
    let bench = kitchen();
    let mut done = bench.run(["explain", name, "--in", "kitchen"]).ends_with(0).complains_of_nothing();
    for word in words {
        done = done.says(word);
    }
}

/// A log of the balm with one check made and one to come.
const LOG: &str = "# Log\n\n```stability\nid = \"shelf\"\nof = \"balm\"\nstart = 2026-02-03\nchecks = [\"1 week\", \"4 weeks\"]\n\
    [conditions]\nroom = \"20 C\"\n[specification]\ncolour = \"yellow\"\n[[observation]]\nafter = \"1 week\"\ncondition = \"room\"\n\
    colour = \"yellow\"\n```\n";

#[test]
fn due_compares_the_checks_with_the_day() {
    let bench = kitchen().with("kitchen/log.md", LOG);
    for (day, words) in [
        ("2026-02-01", "in 30 days"),
        ("2026-03-02", "tomorrow"),
        ("2026-03-03", "today"),
        ("2026-03-04", "overdue since yesterday"),
        ("2026-04-03", "overdue for 31 days"),
    ] {
        let out = bench.run(["due", "kitchen", "--date", day]).ends_with(0).out();
        let expected =
            format!("2026-03-03  {words}: 4 weeks, room of balm (shelf), log.md\n1 check to come, on {day}.\n");
        assert_eq!(out, expected);
    }
    let out = kitchen().run(["due", "kitchen"]).ends_with(0).out();
    assert_eq!(out, "No stability log has a check to come.\n");
}

#[test]
fn due_names_what_is_dated_after_today() {
    // No clock of a machine that runs this is past the year 9000.
    let log = LOG.replace("after = \"1 week\"", "date = 9026-02-10");
    let bench = kitchen().with("kitchen/log.md", log);
    let words = "Dated after today, perhaps by a slip:\n9026-02-10  an observation of balm, room, log.md\n";
    let _ = bench.run(["due", "kitchen"]).ends_with(0).says(words);
    let out = bench.run(["due", "kitchen", "--date", "2026-03-03"]).ends_with(0).out();
    assert!(!out.contains("Dated after"), "{out}");
}

#[test]
fn explain_knows_every_kind_of_name() {
    check_explained(
        "balm/castor-oil/weight",
        &["balm/castor-oil/weight = 20.0\u{a0}g", "20\u{a0}% of 100\u{a0}g = 20\u{a0}g"],
    );
    check_explained("calc:balm/castor-oil/weight?batch=2kg", &["= 400.0\u{a0}g"]);
    check_explained(
        "balm",
        &["Addresses for calc links:", "balm/sunflower-oil/percent = 80\u{a0}%", "balm/check-value = "],
    );
    check_explained("glycerin", &["also called: glycerol", "contains Glycerin", "from memory"]);
    check_explained("shampoo", &["product type, rinse-off", "usual active matter: 10–15 %"]);
    check_explained("Sodium Benzoate", &["substance", "CAS number: 532-32-1", "as Benzoic Acid", "Annex V entry 1"]);
    check_explained(
        "sodium-hydroxide",
        &["(GHS): Danger, GHS05 corrosion", "H314: Causes severe skin burns and eye damage"],
    );
    check_explained("H314", &["hazard statement of the GHS", "signal word: Danger", "pictogram: GHS05 corrosion"]);
    check_explained("preservative", &["Raw materials used as preservative:", "phenoxyethanol"]);
    check_explained("sum-not-100", &["(error)", "Why it matters:", "What to do:"]);
    check_explained("over-limit", &["(caution)"]);
    let record = "```batch-record\nid = \"made\"\nformula = \"balm\"\ndate = 2026-03-04\nbatch-number = \"FC-261128\"\n\
                  rest = \"as planned\"\nlots = { castor-oil = \"GL-77\" }\n```\n";
    let bench = kitchen().with("kitchen/made.md", record);
    check_refused(&bench, &["explain", "gl-77", "--in", "kitchen"], &["nothing is called `gl-77`", "`lot/GL-77`"]);
    check_refused(&bench, &["explain", "FC-261128", "--in", "kitchen"], &["Ask for it as `batch/FC-261128`."]);
    // The manual's examples, a file beside the notebook with its path.
    check_explained("sum-not-100", &["\nWrong:\n\n    ```formula\n", "\nRight:\n\n    ```formula\n"]);
    check_explained(
        "bad-material",
        &["\nWith:\n\n    ```formula\n", "\nWrong, in materials/own.toml:\n\n    [material.wax-blend]\n"],
    );
}

#[test]
fn explain_lists_all_names_of_a_sort() {
    let bench = Bench::new();
    for (sort, row) in [
        ("products", "body wash: rinse-off; also called shower gel"),
        ("materials", "glycerin: Glycerin"),
        ("findings", "sum-not-100: error; "),
        ("blocks", "declaration: Gives the list of ingredients"),
    ] {
        let out = bench.run(["explain", sort]).ends_with(0).complains_of_nothing().says(row).out();
        let names: Vec<&str> = out.lines().filter_map(|line| line.split_once(": ")).map(|(name, _)| name).collect();
        assert_eq!(names.len(), out.trim_end().lines().count(), "{out}");
        assert!(names.len() > 4 && names.is_sorted(), "{names:?}");
        // Each name leads on.
        let first = names.first().copied().unwrap_or_default();
        let _ = bench.run(["explain", first]).ends_with(0).complains_of_nothing();
    }
    check_refused(&bench, &["explain", "product"], &["nothing is called `product`"]);
}

#[test]
fn explain_needs_no_collection_for_the_catalogue() {
    let bench = Bench::new();
    let _ = bench.run(["explain", "glycerin"]).ends_with(0).says("Glycerin").complains_of_nothing();
}

#[test]
fn what_begin_makes_publishes_without_errors() {
    let bench = Bench::new();
    let out = bench.run(["begin", "kitchen"]).ends_with(0).complains_of_nothing().out();
    assert_eq!(
        out,
        "A collection to start from, in kitchen:\n  collection.toml\n  first-wash.md\n  materials/own.toml\n\
         Next: tarebook watch kitchen\n"
    );
    let _ = bench.run(["proofread", "kitchen"]).ends_with(0).complains_of_nothing();
    let _ = bench.run(["publish", "kitchen"]).ends_with(0).complains_of_nothing();
    assert!(bench.read("kitchen/pages/first-wash.html").contains("<h1 id=\"a-first-hand-wash\">"));
}

#[test]
fn completions_are_printed_for_each_shell() {
    let bench = Bench::new();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let _ =
            bench.run(["completions", shell]).ends_with(0).complains_of_nothing().says("proofread").says("tarebook");
    }
    check_refused(&bench, &["completions", "nush"], &["nush"]);
}

#[test]
fn help_of_each_command_teaches_by_example() {
    let bench = Bench::new();
    for command in ["publish", "proofread", "watch", "weigh", "shopping-list", "explain", "begin", "completions"] {
        let _ = bench
            .run([command, "--help"])
            .ends_with(0)
            .complains_of_nothing()
            .says("Example")
            .says(&format!("  tarebook {command} "));
    }
    let _ = bench.run(["--help"]).ends_with(0).complains_of_nothing().says("Examples:").says("Exit status: 0 no error");
    let version = bench.run(["--version"]).ends_with(0).complains_of_nothing().out();
    assert_eq!(version, format!("tarebook {}\n", env!("CARGO_PKG_VERSION")));
}

/// no-color.org: a program adds no colour when NO_COLOR is set, and a pipe is no terminal anyway.
#[test]
fn pipes_and_no_color_have_no_escape_codes() {
    let bench = Bench::new().with("kitchen/short.md", SHORT);
    for variables in [&[][..], &[("NO_COLOR", "1")], &[("NO_COLOR", "1"), ("TERM", "xterm-256color")]] {
        for arguments in [&["proofread", "kitchen"][..], &["publish", "kitchen"], &["--help"], &["frob"]] {
            let program = bench.program(arguments.iter().copied());
            let done = variables.iter().fold(program, |program, (name, value)| program.environment(name, value)).run();
            assert!(
                !done.out.contains('\u{1b}') && !done.err.contains('\u{1b}'),
                "{arguments:?} {variables:?} {done:?}"
            );
        }
    }
}

#[test]
fn colours_can_be_asked_for() {
    let bench = Bench::new().with("kitchen/short.md", SHORT);
    let done = bench.program(["proofread", "kitchen"]).environment("CLICOLOR_FORCE", "1").run().ends_with(1);
    assert!(done.out.contains("\u{1b}["), "{done:?}");
}

#[test]
fn a_collection_inside_another_is_none_of_its_own() {
    let bench =
        kitchen().with("kitchen/inner/collection.toml", "title = \"Inner\"\n").with("kitchen/inner/short.md", SHORT);
    let _ = bench.run(["publish", "kitchen"]).ends_with(0).says("Published 1 notebook");
    let _ = bench.run(["proofread", "kitchen/inner"]).ends_with(1).says("1 notebook read: 1 error");
    // Nor can it be linked to.
    bench.write("kitchen/link.md", "[a](inner/short.md)\n");
    let _ = bench.run(["proofread", "kitchen"]).ends_with(1).says("There is no file `inner/short.md`.");
}

#[test]
fn linked_files_are_copied_and_others_are_not() {
    let bench = kitchen()
        .with("kitchen/sub/a.md", "![a](../img/jar%20one.svg) [b](data.csv) [c](../balm.md#sheet-balm)\n")
        .with("kitchen/img/jar one.svg", "<svg/>")
        .with("kitchen/img/other.svg", "<svg/>")
        .with("kitchen/sub/data.csv", "a,b\n");
    let _ = bench.run(["publish", "kitchen"]).ends_with(0);
    let pages = bench.tree("kitchen/pages");
    assert_eq!(
        names(&pages),
        [
            "balm.html",
            "balm.json",
            "bench.js",
            "img/jar one.svg",
            "index.html",
            "style.css",
            "sub/a.html",
            "sub/a.json",
            "sub/data.csv"
        ]
    );
    let page = bench.read("kitchen/pages/sub/a.html");
    assert!(
        page.contains("src=\"../img/jar%20one.svg\"") && page.contains("href=\"../balm.html#sheet-balm\""),
        "{page}"
    );
}

/// Asserts what `proofread` says of a second notebook beside `balm.md`.
#[track_caller]
fn check_found(name: &str, content: impl AsRef<[u8]>, status: i32, words: &[&str]) {
    let bench = kitchen().with(&format!("kitchen/{name}"), content);
    let mut done = bench.run(["proofread", "kitchen"]).ends_with(status).complains_of_nothing();
    for word in words {
        done = done.says(word);
    }
}

#[test]
fn links_that_lead_nowhere_are_errors() {
    check_found("a.md", "[a](blam.md)\n", 1, &["There is no file `blam.md`.", "There is `balm.md`.", "broken-link"]);
    check_found("a.md", "![a](jar.svg)\n", 1, &["There is no file `jar.svg`.", "broken-link"]);
    check_found("a.md", "# A\n\n[a](#b)\n", 1, &["This notebook has no part `#b`.", "broken-anchor"]);
    check_found(
        "a.md",
        "[a](balm.md#blam)\n",
        1,
        &["`balm.md` has no part `#blam`.", "Did you mean `balm`", "broken-anchor"],
    );
    check_found("a.md", "[a](../a.md)\n", 1, &["leads out of the collection's folder", "outside-link"]);
    check_found("a.md", "[a](calc:blam/batch)\n", 1, &["There is no formula or block `blam`.", "Did you mean `balm`?"]);
    check_found("a.md", "[a](calc:balm/cast)\n", 1, &["Nothing has the address `balm/cast`.", "unknown-address"]);
    check_found(
        "a.md",
        "[a](balm.md#balm) [b](#) [c](https://example.org/a.md) [d](balm.md?x#balm)\n",
        0,
        &["nothing found"],
    );
}

#[test]
fn a_notebook_in_a_folder_finds_its_way_back() {
    let bench = kitchen().with("kitchen/deep/er/note.md", "# Note\n\n[](calc:balm/castor-oil/weight)\n");
    let _ = bench.run(["publish", "kitchen"]).ends_with(0);
    let page = bench.read("kitchen/pages/deep/er/note.html");
    for part in ["href=\"../../style.css\"", "href=\"../../index.html\"", "href=\"../../balm.html", "20.0\u{a0}g"] {
        assert!(page.contains(part), "no {part} in\n{page}");
    }
    let index = bench.read("kitchen/pages/index.html");
    assert!(index.contains("href=\"deep/er/note.html\""), "{index}");
}

#[test]
fn names_with_spaces_and_letters_of_any_script() {
    let bench = kitchen()
        .with(
            "kitchen/Über uns & 水.md",
            "# Über uns\n\n[back](balm.md) [self](%C3%9Cber%20uns%20&%20水.md#über-uns)\n",
        )
        .with("kitchen/link.md", "[there](<Über uns & 水.md>)\n");
    let _ = bench.run(["publish", "kitchen"]).ends_with(0).complains_of_nothing();
    assert!(bench.path("kitchen/pages/Über uns & 水.html").exists());
    let index = bench.read("kitchen/pages/index.html");
    assert!(index.contains("href=\"%C3%9Cber%20uns%20%26%20%E6%B0%B4.html\""), "{index}");
    let page = bench.read("kitchen/pages/link.html");
    assert!(page.contains("href=\"%C3%9Cber%20uns%20&amp;%20%E6%B0%B4.html\""), "{page}");
}

/// The pages of a notebook that is saved in another way are those of the plain one.
#[track_caller]
fn check_same_page(content: impl AsRef<[u8]>) {
    let (plain, other) = (kitchen(), Bench::new().with("kitchen/balm.md", content));
    for bench in [&plain, &other] {
        let _ = bench.run(["publish", "kitchen"]).ends_with(0).complains_of_nothing();
    }
    assert_eq!(other.read("kitchen/pages/balm.html"), plain.read("kitchen/pages/balm.html"));
}

#[test]
fn line_ends_and_byte_order_marks_change_nothing() {
    check_same_page(BALM.replace('\n', "\r\n"));
    check_same_page(format!("\u{feff}{BALM}"));
    check_same_page(BALM.trim_end());
    // Places are still right.
    let broken = SHORT.replace('\n', "\r\n");
    check_found("a.md", format!("\u{feff}{broken}"), 1, &["in a.md, line 4, column 6", "id = \"short\"\n"]);
    check_found(
        "materials/a.toml",
        "\u{feff}[material.x]\r\nname = 3\r\n",
        1,
        &["in materials/a.toml, line 2, column 8"],
    );
}

#[test]
fn a_file_that_is_no_text_is_an_error_and_the_others_are_read() {
    check_found(
        "a.md",
        b"# A\n\xff\xfe",
        1,
        &["`a.md` is not UTF-8 text; the first wrong character is in line 2.", "not-utf-8", "1 notebook read: 1 error"],
    );
    check_found("collection.toml", b"title = \"\xe9\"\n", 1, &["`collection.toml` is not UTF-8 text", "not-utf-8"]);
}

#[test]
fn an_empty_notebook_is_a_page() {
    let bench = kitchen().with("kitchen/nothing-yet.md", "");
    let _ = bench.run(["publish", "kitchen"]).ends_with(0).complains_of_nothing();
    assert!(bench.read("kitchen/pages/nothing-yet.html").contains("<title>nothing yet – Recipe notebooks</title>"));
}

#[test]
fn a_block_that_is_not_closed_is_an_error_at_its_first_line() {
    let open = SHORT.trim_end().trim_end_matches('`');
    check_found("a.md", open, 1, &["no closing fence", "in a.md, line 3, column 1", "unclosed-block"]);
}

#[test]
fn two_files_to_one_page_are_an_error() {
    check_found("Balm.md", "# Balm\n", 1, &["balm.html", "same-page", "1 error"]);
    let bench = kitchen().with("kitchen/a.md", "[a](balm.html)\n").with("kitchen/balm.html", "mine");
    let _ = bench.run(["proofread", "kitchen"]).ends_with(1).says("`balm.html` and `balm.md`").says("same-page");
}

#[test]
fn hidden_files_and_what_editors_leave_are_no_notebooks() {
    let bench = kitchen()
        .with("kitchen/.hidden.md", SHORT)
        .with("kitchen/.git/a.md", SHORT)
        .with("kitchen/balm.md~", SHORT)
        .with("kitchen/#balm.md#", SHORT)
        .with("kitchen/.balm.md.swp", b"\xff")
        .with("kitchen/notes.txt", "no notebook");
    let _ = bench.run(["publish", "kitchen"]).ends_with(0).complains_of_nothing().says("Published 1 notebook");
}

#[test]
fn a_template_of_the_collection_stands_in_for_the_built_in_one() {
    let bench = kitchen().with("kitchen/templates/page.html", "<!DOCTYPE html><p>{{ title }}</p>{{ body | safe }}\n");
    let _ = bench.run(["publish", "kitchen"]).ends_with(0);
    assert!(bench.read("kitchen/pages/balm.html").starts_with("<!DOCTYPE html><p>Balm</p>"));
    bench.write("kitchen/templates/page.html", "{{ title");
    let _ = bench.run(["publish", "kitchen"]).ends_with(1).complains("templates/page.html").complains("template-fault");
    bench.write("kitchen/templates/page.html", "{{ title.nothing.there }}");
    let _ =
        bench.run(["publish", "kitchen"]).ends_with(1).complains("template-fault").complains("Nothing was published");
}

#[test]
fn proofread_finds_a_template_that_fails_only_when_it_is_used() {
    let bench = kitchen().with("kitchen/templates/page.html", "{{ title.nothing.there }}");
    let _ = bench.run(["proofread", "kitchen"]).ends_with(1).says("template-fault").says("templates/page.html");
}

#[test]
fn what_help_shows_can_be_run() {
    let bench = Bench::new();
    let _ = bench.run(["begin", "kitchen"]).ends_with(0);
    let kit = "```kit\nid = \"class-of-monday\"\nformula = \"second-wash\"\ntables = 3\n```\n";
    bench.write("kitchen/second.md", format!("{}\n{kit}", BALM.replace("\"balm\"", "\"second-wash\"")));
    for command in ["publish", "proofread", "weigh", "shopping-list", "explain"] {
        let help = bench.run([command, "--help"]).ends_with(0).out();
        let examples = help.lines().filter_map(|line| line.trim().strip_prefix("tarebook "));
        for example in examples.filter(|line| line.contains("kitchen") && !line.contains(['>', '/', '['])) {
            // What follows two spaces says what the example does.
            let arguments: Vec<&str> = example.split("  ").next().unwrap().split_whitespace().collect();
            let _ = bench.run(arguments).ends_with(0);
        }
    }
}

#[cfg(target_os = "linux")]
#[test]
fn output_that_cannot_be_written_is_no_success() {
    let bench = kitchen();
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let status = std::process::Command::new(env!("CARGO_BIN_EXE_tarebook"))
        .args(["weigh", "balm", "--in", "kitchen"])
        .current_dir(bench.path(""))
        .stdout(full)
        .stderr(std::process::Stdio::null())
        .status()
        .unwrap();
    assert_eq!(status.code(), Some(2));
}

#[test]
fn a_formula_that_failed_is_not_said_to_be_unknown() {
    let bench = kitchen().with("kitchen/balm.md", BALM.replace("castor-oil = 20", "castor-oill = 20"));
    for command in [["explain", "balm/castor-oil/weight", "--in"], ["weigh", "balm", "--in"]] {
        let _ = bench.run(command.into_iter().chain(["kitchen"])).ends_with(1).complains("unknown-material");
    }
}

#[test]
fn explain_knows_the_blocks_that_build_on_a_formula() {
    let list = "\n```declaration\nid = \"balm-list\"\nformula = \"balm\"\n```\n";
    let bench = Bench::new().with("kitchen/balm.md", format!("{BALM}{list}"));
    let explained = |name: &str| bench.run(["explain", name, "--in", "kitchen"]);
    let _ = explained("balm-list").ends_with(0).says("balm-list/text = Helianthus Annuus Seed Oil");
    let _ = explained("balm-list/text").ends_with(0).says("source: Regulation (EC) No 1223/2009, Article 19(1)(g)");
    let _ = explained("balm-list/txt").ends_with(2).complains("Did you mean `balm-list/text`?");
    let _ = explained("declaration").ends_with(0).says("Gives the list of ingredients in order");
}
