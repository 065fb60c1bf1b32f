//! Rebuilding while somebody writes: the pages are always those of a full publish, and no more is done than what depends on
//! the edit.

#![expect(clippy::indexing_slicing, clippy::unwrap_used, reason = "what goes wrong here fails the test")]

use crate::support::{Bench, Tree, cases, difference};
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::PathBuf;
use std::process::{Child, Command};
use std::time::Duration;
use tarebook::edge::{Folder, Rebuild, Watcher};

const WASH: &str = "# Wash\n\nIt is [](calc:wash/glycerin/percent) glycerin. ![jar](jar.svg)\n\n\
    ```formula\nid = \"wash\"\n[phase.A]\nwater = \"q.s. to 100\"\nglycerin = 3\n```\n";
const VARIANT: &str =
    "# Variant\n\n```formula\nid = \"variant\"\nbased-on = \"wash\"\n[change.A]\npanthenol = 1\n```\n";
const LINKED: &str = "# Linked\n\nWeigh [](calc:wash/glycerin/weight?batch=2kg), see [the wash](wash.md#wash).\n";
const ALONE: &str = "# Words\n\nNothing is computed here.\n";
const OWN: &str = "[source.s]\nhow = \"memory\"\ntext = \"s\"\n[material.glycerin]\nname = \"Our glycerin\"\n";

/// A collection of four notebooks: one with a formula, one with a variant of it, one with a number from it, one alone.
fn kitchen() -> Bench {
    Bench::new()
        .with("kitchen/wash.md", WASH)
        .with("kitchen/variant.md", VARIANT)
        .with("kitchen/linked.md", LINKED)
        .with("kitchen/words.md", ALONE)
        .with("kitchen/jar.svg", "<svg/>")
}

fn watcher(bench: &Bench) -> Watcher {
    let mut watcher = Watcher::new(Folder::open(&bench.path("kitchen"), None).unwrap());
    watcher.rebuild(&[], true).unwrap();
    watcher
}

/// The pages that a build from nothing makes of the folder as it is, and whether there are errors.
fn built_anew(bench: &Bench) -> Result<(Tree, bool), String> {
    let other = bench.path("anew");
    if other.exists() {
        bench.remove("anew");
    }
    let mut watcher = Watcher::new(Folder::open(&bench.path("kitchen"), Some(&other)).unwrap());
    let rebuild = watcher.rebuild(&[], true)?;
    Ok((bench.tree("anew"), rebuild.has_errors))
}

/// Writes a file and says so to the watcher; the notebooks that were made again, and how many files were written.
#[track_caller]
fn check(bench: &Bench, watcher: &mut Watcher, path: &str, text: &str, redone: &[&str], written: usize) {
    bench.write(&format!("kitchen/{path}"), text);
    let rebuild = watcher.rebuild(&[bench.path("kitchen").join(path)], false).unwrap();
    let pages: Vec<&str> = rebuild.pages.iter().map(|path| &**path).collect();
    assert_eq!(pages, redone, "after a change of {path}");
    assert_eq!(rebuild.written, written, "after a change of {path}");
    assert_eq!(difference(&bench.tree("kitchen/pages"), &built_anew(bench).unwrap().0), None);
}

#[test]
fn only_what_depends_on_an_edit_is_made_again() {
    let bench = kitchen();
    let mut watcher = watcher(&bench);
    let all = ["linked.md", "variant.md", "wash.md", "words.md"];
    // Saved without a change.
    check(&bench, &mut watcher, "wash.md", WASH, &[], 0);
    // A number: the formula, its variant and the number elsewhere, each page with its data; the index has it in a first sentence;
    // the pages of the two raw materials have it in a list, the two bench sheets in their tables, with their data; a finding has it, and the search.
    let five = WASH.replace("glycerin = 3", "glycerin = 5");
    check(&bench, &mut watcher, "wash.md", &five, &["linked.md", "variant.md", "wash.md"], 17);
    // Words: the page itself and the search. The index shows the first sentence.
    check(&bench, &mut watcher, "words.md", &ALONE.replace("Nothing", "No number"), &["words.md"], 3);
    check(&bench, &mut watcher, "words.md", &format!("{ALONE}\nMore words.\n"), &["words.md"], 3);
    // A title: the index and the page before it too, though not the data of that page.
    let titled = format!("{ALONE}\nMore words.\n").replace("# Words", "# Other words");
    check(&bench, &mut watcher, "words.md", &titled, &["wash.md", "words.md"], 5);
    // A file that is copied: no page.
    check(&bench, &mut watcher, "jar.svg", "<svg></svg>", &[], 1);
    // Materials and settings may concern any notebook. The name of glycerin stands on two pages, two bench sheets and in the search, the title on all.
    check(&bench, &mut watcher, "materials/own.toml", OWN, &all, 12);
    check(&bench, &mut watcher, "collection.toml", "title = \"Kitchen\"\n", &all, 14);
    check(&bench, &mut watcher, "templates/number.html", "<b>{{ n.text }}</b>", &all, 2);
    check(&bench, &mut watcher, "templates/style.css", "p { color: red }", &all, 1);
}

#[test]
fn a_page_follows_the_file_that_it_reads_rows_from() {
    let curve = "# Salt\n\n```curve\nid = \"salt\"\nx = \"salt, %\"\ny = \"viscosity, mPa·s\"\npoints = { from = \"data/salt.csv\" }\n```\n";
    let bench = kitchen().with("kitchen/curve.md", curve).with("kitchen/data/salt.csv", "x,y\n1,2\n2,4\n3,9\n");
    let mut watcher = watcher(&bench);
    let page = || String::from_utf8(bench.tree("kitchen/pages")["curve.html"].clone()).unwrap();
    assert!(page().contains("href=\"data/salt.csv\">salt.csv</a>") && page().contains(">9\u{a0}mPa·s<"), "{}", page());
    // The page, its data, the search, and the file itself, which is put beside the pages.
    check(&bench, &mut watcher, "data/salt.csv", "x,y\n1,2\n2,4\n3,8\n", &["curve.md"], 3);
    assert!(page().contains(">8\u{a0}mPa·s<"));
    bench.remove("kitchen/data/salt.csv");
    let rebuild = watcher.rebuild(&[bench.path("kitchen/data/salt.csv")], false).unwrap();
    assert!(rebuild.has_errors && page().contains("no-row-file"));
    bench.write("kitchen/data/salt.csv", b"x,y\n1,\xff\n");
    assert!(watcher.rebuild(&[bench.path("kitchen/data/salt.csv")], false).unwrap().has_errors);
    assert!(page().contains("is not UTF-8 text"));
    bench.write("kitchen/data/salt.csv", format!("x,y\n{}", "1,2\n".repeat(300_000)));
    assert!(watcher.rebuild(&[bench.path("kitchen/data/salt.csv")], false).unwrap().has_errors);
    assert!(page().contains("is larger than 1 MB"));
}

/// Two batches of one number stand in two notebooks: an edit of either changes what is said on the other.
#[test]
fn a_batch_number_is_looked_for_in_all_notebooks() {
    let record = |number: &str, day: u32| {
        format!(
            "# Log\n\n```batch-record\nformula = \"wash\"\ndate = 2026-03-{day}\nbatch-number = \"{number}\"\nrest = \"as planned\"\n```\n"
        )
    };
    let bench = kitchen().with("kitchen/log-1.md", record("W-1", 14)).with("kitchen/log-2.md", record("W-2", 16));
    let mut watcher = watcher(&bench);
    let mut after = |path: &str, text: Option<String>| {
        match text {
            Some(text) => bench.write(path, text),
            None => bench.remove(path),
        }
        watcher.rebuild(&[bench.path(path)], false).unwrap();
        assert_eq!(difference(&bench.tree("kitchen/pages"), &built_anew(&bench).unwrap().0), None, "{path}");
        let of = |page: &str| bench.tree("kitchen/pages").get(page).cloned().unwrap_or_default();
        ["log-1.html", "log-2.html"]
            .map(|page| String::from_utf8(of(page)).unwrap().matches("batch-number-twice").count())
    };
    let (one, other) = ("kitchen/log-1.md", "kitchen/log-2.md");
    assert_eq!(after(one, Some(record("W-1", 15))), [0, 0]);
    // The later of the two has it, whichever is edited.
    assert_eq!(after(one, Some(record("W-2", 15))), [0, 1]);
    assert_eq!(after(one, Some(record("W-2", 17))), [1, 0]);
    assert_eq!(after(other, Some(record("W-2", 18))), [0, 1]);
    // The place of the first one moves with the text above it.
    assert_eq!(after(one, Some(record("W-2", 17).replace("# Log", "# A longer log"))), [0, 1]);
    // So does its line, which the data beside the page of the other one shows.
    let noted = record("W-2", 17).replace("\"W-2\"", "\"W-2\" # as on the jars");
    assert_eq!(after(one, Some(record("W-2", 17))), [0, 1]);
    assert_eq!(after(one, Some(noted)), [0, 1]);
    assert_eq!(after(one, None), [0, 0]);
    assert_eq!(after(one, Some(record("W-2", 17))), [0, 1]);
    assert_eq!(after(other, Some(record("W-3", 18))), [0, 0]);
}

#[test]
fn an_error_is_shown_on_the_page_and_goes_with_its_cause() {
    let bench = kitchen();
    let mut watcher = watcher(&bench);
    let before = bench.tree("kitchen/pages");
    let path = bench.path("kitchen/wash.md");
    bench.write("kitchen/wash.md", WASH.replace("glycerin = 3", "glycerim = 3"));
    let rebuild = watcher.rebuild(std::slice::from_ref(&path), false).unwrap();
    assert!(rebuild.has_errors);
    let page = bench.read("kitchen/pages/wash.html");
    assert!(page.contains("No raw material is called <code>glycerim</code>.") && page.contains("line 9"), "{page}");
    assert!(bench.read("kitchen/pages/linked.html").contains("[not computed]"));
    bench.write("kitchen/wash.md", WASH);
    let rebuild = watcher.rebuild(&[path], false).unwrap();
    assert!(!rebuild.has_errors);
    assert_eq!(difference(&bench.tree("kitchen/pages"), &before), None);
}

#[test]
fn half_written_and_vanished_files_do_no_lasting_harm() {
    let bench = kitchen();
    let mut watcher = watcher(&bench);
    let before = bench.tree("kitchen/pages");
    let path = bench.path("kitchen/wash.md");
    let mut rebuild = |content: Option<&[u8]>| -> Rebuild {
        match content {
            Some(content) => bench.write("kitchen/wash.md", content),
            None => bench.remove("kitchen/wash.md"),
        }
        watcher.rebuild(std::slice::from_ref(&path), false).unwrap()
    };
    // Cut off inside a character, inside the block, and nothing at all.
    assert!(rebuild(Some(b"# W\xc3")).has_errors);
    assert!(rebuild(Some(&WASH.as_bytes()[..90])).has_errors);
    assert!(rebuild(Some(b"")).has_errors);
    assert!(rebuild(None).has_errors);
    assert!(!bench.path("kitchen/pages/wash.html").exists());
    assert!(!rebuild(Some(WASH.as_bytes())).has_errors);
    assert_eq!(difference(&bench.tree("kitchen/pages"), &before), None);
}

/// A template that fails only when it is used: nothing is written, and nothing that came meanwhile is forgotten.
#[test]
fn what_came_while_nothing_could_be_written_is_made_up_for() {
    let bench = kitchen();
    let mut watcher = watcher(&bench);
    let before = bench.tree("kitchen/pages");
    let template = bench.path("kitchen/templates/number.html");
    bench.write("kitchen/templates/number.html", "{{ n.text.nothing.there }}");
    bench.write("kitchen/jar.svg", "<svg>new</svg>");
    let failed = watcher.rebuild(&[template.clone(), bench.path("kitchen/jar.svg")], false);
    assert!(failed.unwrap_err().contains("number.html"));
    assert_eq!(difference(&bench.tree("kitchen/pages"), &before), None);
    bench.remove("kitchen/templates");
    watcher.rebuild(&[template], false).unwrap();
    assert_eq!(difference(&bench.tree("kitchen/pages"), &built_anew(&bench).unwrap().0), None);
}

/// What stands in a file of the collection at some moment: one of these, or nothing.
const VERSIONS: &[(&str, &[&str])] = &[
    (
        "wash.md",
        &[
            WASH,
            "# Wash\n\n```formula\nid = \"wash\"\nbatch = \"500 g\"\n[phase.A]\nwater = 96\nglycerin = 4\n```\n",
            "# Wash\n\n```formula\nid = \"wash\"\n[phase.A]\nwater = \"q.s. to 100\"\nglycerin = 30",
            "# Other wash\n\nNo formula any more.\n",
        ],
    ),
    ("variant.md", &[VARIANT, "# Variant\n\n```formula\nid = \"wash\"\n[phase.B]\nwater = 100\n```\n"]),
    ("linked.md", &[LINKED, "# Linked\n\n![a](jar.svg) ![b](sub/lid.svg) [c](sub/deep.md)\n", "![a](jar.svg)\n"]),
    ("words.md", &[ALONE, "# Words\n\n[a](linked.md#linked) [b](Words.md)\n", ""]),
    ("sub/deep.md", &["# Deep\n\n[](calc:wash/batch) ![a](lid.svg)\n", "# Deeper\n"]),
    ("index.md", &["# All\n\n[](calc:wash/water/percent)\n", "All of it, [a](words.md).\n"]),
    ("jar.svg", &["<svg/>", "<svg></svg>"]),
    ("sub/lid.svg", &["<svg/>", "<svg>lid</svg>"]),
    ("index.json", &["{}"]),
    ("collection.toml", &["title = \"Kitchen\"\n", "balance = \"1 g\"\norder = [\"words.md\"]\n", "title = \n"]),
    ("sub/collection.toml", &["title = \"A collection of its own\"\n"]),
    ("materials/own.toml", &[OWN, "[material\n"]),
    ("templates/number.html", &["<b>{{ n.text }}</b>", "{{ n.text", "{{ n.text.nothing.there }}"]),
    ("templates/page.html", &["<main>{{ body | safe }}{% include \"part.html\" %}</main>"]),
    ("templates/part.html", &["part", "other part"]),
    ("templates/style.css", &["p { color: red }"]),
    ("site/page.html", &["a file that lies beside the notebooks"]),
];

#[derive(Clone, Debug)]
enum Edit {
    /// One of the versions of a file is saved, at once or by renaming.
    Save { file: usize, version: prop::sample::Index, by_renaming: bool },
    /// Only the first bytes of one are saved.
    Half { file: usize, length: usize },
    /// A file that is no text.
    NoText { file: usize },
    /// A file goes.
    Remove { file: usize },
}

fn any_edit() -> impl Strategy<Value = Edit> {
    let file = 0..VERSIONS.len();
    prop_oneof![
        6 => (file.clone(), any::<prop::sample::Index>(), any::<bool>())
            .prop_map(|(file, version, by_renaming)| Edit::Save { file, version, by_renaming }),
        1 => (file.clone(), 0_usize..100).prop_map(|(file, length)| Edit::Half { file, length }),
        1 => file.clone().prop_map(|file| Edit::NoText { file }),
        3 => file.prop_map(|file| Edit::Remove { file }),
    ]
}

impl Edit {
    /// Makes the edit; the path that changed, and whether a folder came or went with it.
    fn make(&self, bench: &Bench) -> Option<(PathBuf, bool)> {
        let (Edit::Save { file, .. } | Edit::Half { file, .. } | Edit::NoText { file } | Edit::Remove { file }) = self;
        let (name, versions) = VERSIONS[*file];
        let path = format!("kitchen/{name}");
        let full = bench.path(&path);
        let folder = full.parent().unwrap().to_path_buf();
        let folder_was_there = folder.exists();
        match self {
            Edit::Save { version, by_renaming: true, .. } => bench.write_and_rename(&path, version.get(versions)),
            Edit::Save { version, .. } => bench.write(&path, version.get(versions)),
            Edit::Half { length, .. } => {
                let text = versions[0].as_bytes();
                bench.write(&path, &text[..text.len().min(*length)]);
            }
            Edit::NoText { .. } => bench.write(&path, b"# \xff\xfe\n"),
            Edit::Remove { .. } if full.exists() => bench.remove(&path),
            Edit::Remove { .. } => return None,
        }
        Some((full, !folder_was_there))
    }
}

proptest! {
    #![proptest_config(cases(40))]

    /// After any edits on disk, in bursts of any size, the pages are those of a build from nothing, and where there is no error
    /// those that the program publishes.
    #[test]
    fn rebuilding_equals_a_full_publish(bursts in proptest::collection::vec(proptest::collection::vec(any_edit(), 1..4), 1..8)) {
        let bench = kitchen();
        let mut watcher = watcher(&bench);
        let mut is_publishable = false;
        for (number, burst) in bursts.iter().enumerate() {
            let changed: Vec<(PathBuf, bool)> = burst.iter().filter_map(|edit| edit.make(&bench)).collect();
            let rescan = changed.iter().any(|(_, folder_came)| *folder_came);
            let paths: BTreeSet<PathBuf> = changed.into_iter().map(|(path, _)| path).collect();
            let paths: Vec<PathBuf> = paths.into_iter().collect();
            let rebuilt = watcher.rebuild(&paths, rescan);
            let anew = built_anew(&bench);
            is_publishable = false;
            match (rebuilt, anew) {
                (Ok(rebuilt), Ok((pages, has_errors))) => {
                    let difference = difference(&bench.tree("kitchen/pages"), &pages);
                    prop_assert!(difference.is_none(), "after burst {} of {:?}: {}", number + 1, bursts, difference.unwrap_or_default());
                    prop_assert_eq!(rebuilt.has_errors, has_errors);
                    is_publishable = !has_errors && !watcher.collection().page_sources().is_empty();
                }
                (Err(_), Err(_)) => {}
                (rebuilt, anew) => prop_assert!(false, "after burst {} of {:?}: {:?} and {:?}", number + 1, bursts, rebuilt, anew.map(drop)),
            }
        }
        if is_publishable {
            let _ = bench.run(["publish", "kitchen", "--into", "published"]).ends_with(0);
            prop_assert_eq!(difference(&bench.tree("kitchen/pages"), &bench.tree("published")), None);
        }
    }
}

/// The real program, watching. Ended at the latest when the test ends.
struct Watching {
    process: Child,
    lines: BufReader<std::process::ChildStdout>,
    address: String,
}

impl Watching {
    fn start(bench: &Bench) -> Watching {
        let mut process = bench.program(["watch", "kitchen"]).start();
        let mut lines = BufReader::new(process.stdout.take().unwrap());
        let mut line = String::new();
        while !line.contains("Open http://") {
            line.clear();
            assert!(lines.read_line(&mut line).unwrap() > 0, "watch ended");
        }
        let address = line.split_once("Open http://").unwrap().1.split('/').next().unwrap().to_owned();
        Watching { process, lines, address }
    }

    /// Asks for a page of the loopback server.
    fn ask(&self, path: &str) -> BufReader<TcpStream> {
        let mut stream = TcpStream::connect(&self.address).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        write!(stream, "GET {path} HTTP/1.1\r\nHost: {}\r\n\r\n", self.address).unwrap();
        BufReader::new(stream)
    }

    fn page(&self, path: &str) -> String {
        let mut page = String::new();
        self.ask(path).read_to_string(&mut page).unwrap();
        page
    }

    /// Opens the stream of changes, makes an edit, and reads the stream until it tells of it.
    #[track_caller]
    fn sees(&self, edit: impl FnOnce()) {
        let mut changes = self.ask("/-/changes");
        let mut line = String::new();
        while !line.starts_with("retry:") {
            line.clear();
            assert!(changes.read_line(&mut line).unwrap() > 0, "no stream of changes");
        }
        edit();
        while line.trim_end() != "event: reload" {
            line.clear();
            assert!(changes.read_line(&mut line).unwrap() > 0, "the stream of changes ended");
        }
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        // Only fails when it has ended already, as it should.
        drop(self.process.kill());
    }
}

#[test]
fn the_program_watches_until_it_is_told_to_end() {
    let bench = kitchen();
    let mut watching = Watching::start(&bench);
    assert!(watching.page("/wash.html").contains("3\u{a0}%"));
    watching.sees(|| bench.write("kitchen/wash.md", WASH.replace("glycerin = 3", "glycerin = 5")));
    assert!(watching.page("/wash.html").contains("5\u{a0}%"));
    assert!(bench.read("kitchen/.draft/wash.html").contains("5\u{a0}%"));
    // Written beside and renamed.
    watching.sees(|| bench.write_and_rename("kitchen/wash.md", WASH.replace("glycerin = 3", "glycerin = 7")));
    assert!(watching.page("/wash.html").contains("7\u{a0}%"));
    // A mistake shows on the page, and the program goes on.
    watching.sees(|| bench.write("kitchen/wash.md", WASH.replace("glycerin = 3", "glycerim = 3")));
    assert!(watching.page("/wash.html").contains("No raw material is called <code>glycerim</code>."));
    // A notebook in a folder that is new.
    watching.sees(|| bench.write("kitchen/new/other.md", "# Other\n"));
    watching.sees(|| bench.write("kitchen/wash.md", WASH));
    assert!(watching.page("/new/other.html").contains("<h1 id=\"other\">Other</h1>"));
    let _ = bench.run(["publish", "kitchen", "--into", "published"]).ends_with(0);
    assert_eq!(difference(&bench.tree("kitchen/.draft"), &bench.tree("published")), None);

    let told = Command::new("kill").args(["-INT", &watching.process.id().to_string()]).status().unwrap();
    assert!(told.success());
    let mut rest = String::new();
    watching.lines.read_to_string(&mut rest).unwrap();
    assert!(rest.ends_with("Ended.\n"), "{rest}");
    assert_eq!(watching.process.wait().unwrap().code(), Some(0));
}

/// An error that no notebook can help stands on every page, with the file it is in.
#[test]
fn an_error_outside_the_notebooks_is_shown_on_every_page() {
    let bench = kitchen();
    let mut watcher = watcher(&bench);
    bench.write("kitchen/materials/bad.toml", "[material.pods]\nname = 3\n");
    let rebuild = watcher.rebuild(&[bench.path("kitchen/materials/bad.toml")], false).unwrap();
    assert!(rebuild.has_errors);
    for page in ["wash.html", "words.html", "index.html"] {
        assert!(bench.read(&format!("kitchen/pages/{page}")).contains("materials/bad.toml, line 2"), "{page}");
    }
}
