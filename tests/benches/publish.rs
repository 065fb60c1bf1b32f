//! `cargo bench`: how long a publish takes, beside its own floor measured in the same run.
//!
//! The floor is what no compiler of notebooks can avoid: `pulldown-cmark` to HTML for every notebook, and writing the same
//! files with the same bytes, on one thread, without reading, computing or checking anything. The publish is the real program
//! as a new process, cold: it reads the notebooks, computes, checks, renders and writes into a folder that does not exist.
//!
//! Reported: median of several runs, the ratio to the floor, peak memory (Linux), growth from 1,000 to 10,000 notebooks, and the
//! time from a saved notebook to its rewritten page in a collection of 1,000. The notebooks are generated, invented data.

#![expect(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a benchmark reads clocks, writes files and prints"
)]
#![expect(clippy::expect_used, clippy::indexing_slicing, reason = "a benchmark that fails should stop at once")]

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use tarebook::edge::{Folder, Watcher};

const RUNS: usize = 7;

fn main() {
    let quick = std::env::args().any(|argument| argument == "--quick");
    let sizes: &[usize] = if quick { &[1_000] } else { &[1_000, 2_000, 5_000, 10_000] };
    println!(
        "{:>10}  {:>10}  {:>10}  {:>6}  {:>10}  {:>12}",
        "notebooks", "floor", "publish", "ratio", "peak", "per notebook"
    );
    for size in sizes {
        let runs = if *size > 2_000 { 3 } else { RUNS };
        let folder = tempfile::tempdir().expect("a temporary folder");
        let source = folder.path().join("notebooks");
        let texts = generate(&source, *size);
        let mut publish = Vec::new();
        let mut floor = Vec::new();
        let mut peak = 0;
        for run in 0..runs {
            let into = folder.path().join(format!("pages-{run}"));
            let (took, memory) = run_publish(&source, &into);
            publish.push(took);
            peak = peak.max(memory);
            let files = read_all(&into);
            let plain = folder.path().join(format!("floor-{run}"));
            floor.push(run_floor(&texts, &files, &plain));
            fs::remove_dir_all(&into).expect("removing pages");
            fs::remove_dir_all(&plain).expect("removing pages");
        }
        let (publish, floor) = (median(publish), median(floor));
        println!(
            "{size:>10}  {:>7.1} ms  {:>7.1} ms  {:>5.2}×  {:>7.1} MB  {:>9.1} µs",
            milliseconds(floor),
            milliseconds(publish),
            publish.as_secs_f64() / floor.as_secs_f64(),
            peak as f64 / 1024.0,
            milliseconds(publish) * 1000.0 / *size as f64,
        );
    }
    watch(1_000);
}

/// From a saved notebook to its rewritten page, without the debounce.
fn watch(size: usize) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let source = folder.path().join("notebooks");
    generate(&source, size);
    let into = folder.path().join("pages");
    let mut watcher = Watcher::new(Folder::open(&source, Some(&into)).expect("the folder"));
    watcher.rebuild(&[], true).expect("the first build");
    let notebook = source.join("notebook-00100.md");
    let mut times = Vec::new();
    for edit in 0..31 {
        let text = fs::read_to_string(&notebook).expect("the notebook");
        let text = text.replacen("glycerin = 3", "glycerin = 4", 1);
        let text = if edit % 2 == 1 { text.replacen("glycerin = 4", "glycerin = 3", 1) } else { text };
        fs::write(&notebook, text).expect("saving");
        let start = Instant::now();
        let rebuild = watcher.rebuild(std::slice::from_ref(&notebook), false).expect("a rebuild");
        times.push(start.elapsed());
        assert!(rebuild.written >= 1, "the page must have been rewritten");
    }
    println!(
        "one notebook saved in a collection of {size}: page rewritten after {:.2} ms",
        milliseconds(median(times))
    );
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times[times.len() / 2]
}

fn milliseconds(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}

/// Runs the program and takes the highest resident memory seen, in kB.
fn run_publish(source: &Path, into: &Path) -> (Duration, u64) {
    let start = Instant::now();
    let mut child = Command::new(env!("CARGO_BIN_EXE_tarebook"))
        .arg("publish")
        .arg(source)
        .arg("--into")
        .arg(into)
        .stdout(Stdio::null())
        .spawn()
        .expect("the program");
    let status = PathBuf::from(format!("/proc/{}/status", child.id()));
    let mut peak = 0;
    let exit = loop {
        if let Some(exit) = child.try_wait().expect("waiting") {
            break exit;
        }
        let text = fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kilobytes = line.and_then(|line| line.split_whitespace().next()?.parse::<u64>().ok());
        peak = peak.max(kilobytes.unwrap_or_default());
        std::thread::sleep(Duration::from_millis(2));
    };
    let took = start.elapsed();
    assert!(exit.success(), "the generated collection must publish without errors");
    (took, peak)
}

fn run_floor(texts: &[String], files: &[(PathBuf, Vec<u8>)], into: &Path) -> Duration {
    let start = Instant::now();
    let mut length = 0;
    for text in texts {
        let mut html = String::with_capacity(text.len() * 3 / 2);
        let parser = pulldown_cmark::Parser::new_ext(text, pulldown_cmark::Options::ENABLE_TABLES);
        pulldown_cmark::html::push_html(&mut html, parser);
        length += html.len();
    }
    fs::create_dir_all(into).expect("a folder");
    for (path, bytes) in files {
        fs::write(into.join(path), bytes).expect("writing");
    }
    let took = start.elapsed();
    assert!(length > 0);
    took
}

/// All published files, by name; the generated collection has no folders.
fn read_all(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut files: Vec<_> = fs::read_dir(folder)
        .expect("pages")
        .map(|entry| entry.expect("a page").path())
        .filter(|path| path.is_file())
        .map(|path| (PathBuf::from(path.file_name().expect("a name")), fs::read(&path).expect("a page")))
        .collect();
    files.sort();
    files
}

/// Writes notebooks of about 6 kB with two formulas each.
fn generate(folder: &Path, size: usize) -> Vec<String> {
    fs::create_dir_all(folder).expect("a folder");
    fs::write(folder.join("collection.toml"), "title = \"Generated\"\nbalance = \"0.01 g\"\n").expect("writing");
    let texts: Vec<String> = (0..size).map(notebook).collect();
    for (index, text) in texts.iter().enumerate() {
        fs::write(folder.join(format!("notebook-{index:05}.md")), text).expect("writing");
    }
    texts
}

fn notebook(index: usize) -> String {
    let mut text = format!("# Wash number {index}\n\nA generated notebook, to measure with. ");
    let other = index / 2;
    let _ = write!(
        text,
        "It holds [](calc:wash-{index}-a/active-matter) of active matter, and [](calc:wash-{index}-a/glycerin/weight?batch=2kg) of \
         glycerin for two kilograms. The [other one](notebook-{other:05}.md#method) holds [](calc:wash-{other}-b/active-matter).\n\n"
    );
    for (letter, betaine) in [("a", 12 + index % 5), ("b", 10 + index % 7)] {
        let _ = write!(
            text,
            "```formula\nid = \"wash-{index}-{letter}\"\ntitle = \"Wash {index} {letter}\"\nproduct = \"body wash\"\nbatch = \"{} g\"\n\
             ph = \"4.8..5.2\"\n\n[phase.A]\ntitle = \"Water phase\"\nwater = \"q.s. to 100\"\nglycerin = 3\nsodium-benzoate = 0.5\n\
             disodium-edta = 0.1\nxanthan-gum = 0.6\n\n[phase.B]\ntitle = \"Surfactants\"\ncocamidopropyl-betaine = {{ percent = {betaine}, \
             strength = \"31.2 %\", lot = \"{index}\" }}\ndecyl-glucoside = 9\ncoco-glucoside = 4\n\n[phase.C]\ntitle = \"To finish\"\n\
             panthenol = 1\nphenoxyethanol-ethylhexylglycerin = 0.8\ncitric-acid-50 = {{ percent = \"q.s.\", usual = 0.4, to = \"pH 5.0\" }}\n```\n\n",
            500 + index
        );
    }
    text.push_str("## Method\n\n");
    let sentence = "Stir the gum into the glycerin before the water is poured on, so that every grain is wetted before it can swell, \
                    and keep the *paddle* below the surface while it turns, since air that is beaten in takes a day to leave again. ";
    let mut step = 1;
    while text.len() < 5_600 {
        let _ = write!(text, "{step}. {sentence}\n   {sentence}\n");
        step += 1;
    }
    text.push_str("\n| what you see | why | what to do |\n| --- | --- | --- |\n");
    for row in 0..4 {
        let _ = writeln!(text, "| sign {row} | cause {row} | wait, then look **again** |");
    }
    text
}
