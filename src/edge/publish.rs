//! `publish` and `proofread`.

use super::errata::{add_errata, today};
use super::standalone::{no_notebook, write_standalone};
use super::{Folder, Keep, Outcome, OutputError, OutputFolder, Terminal};
use crate::collection::Collection;
use crate::quantity::Date;
use crate::report::{Finding, Severity, arrange, findings_data};
use rayon::prelude::*;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};

/// From this many notebooks on, progress is shown.
const MANY: usize = 200;

/// Why pages were not written.
pub(super) enum NotWritten {
    /// A template failed.
    Finding(Box<Finding>),
    /// The output folder.
    Output(OutputError),
    /// A file to be copied.
    Copy(String),
}

impl From<OutputError> for NotWritten {
    fn from(error: OutputError) -> NotWritten {
        NotWritten::Output(error)
    }
}

/// The folder of a collection; nothing where it cannot be read, which is said.
pub(super) fn opened(root: &Path, terminal: &Terminal) -> Option<Folder> {
    Folder::open(root, None).map_err(|error| terminal.refuse(&error.to_string())).ok()
}

/// Reads and checks a folder.
pub(super) fn load(folder: &Folder, terminal: &Terminal) -> Collection {
    let sources = folder.read();
    let many = sources.notebooks.len() >= MANY;
    if many {
        terminal.progress(&format!("Computing {} notebooks …", sources.notebooks.len()));
    }
    let mut collection = Collection::new();
    collection.update(sources);
    if many {
        terminal.progress("");
    }
    collection
}

/// What `publish` is asked for.
#[derive(Clone, Copy, Debug)]
pub struct Publishing<'a> {
    /// The folder for the pages.
    pub into: Option<&'a Path>,
    /// The day of new corrections; today if it is not said.
    pub date: Option<Date>,
    /// Each page as one file that needs no other.
    pub standalone: bool,
    /// Of one notebook alone, by its path in the collection; only with `standalone`.
    pub only: Option<&'a str>,
}

/// Compiles a collection into pages. All or nothing: with an error no page is written and the old set stays. Numbers that are different from
/// those of the last publish are added to the corrections beside their notebooks, with this day; standalone pages have no figures beside
/// them to compare with, so they only show the corrections that there are.
pub fn publish(root: &Path, asked: Publishing<'_>, terminal: &Terminal) -> Outcome {
    let beside = root.join("standalone");
    let folder = match Folder::open(root, asked.into.or_else(|| asked.standalone.then_some(beside.as_path()))) {
        Ok(folder) => folder,
        Err(error) => {
            terminal.refuse(&error.to_string());
            return Outcome::CouldNotRun;
        }
    };
    let mut collection = load(&folder, terminal);
    if collection.has_errors() {
        terminal.complain(&Terminal::findings_text(&collection.errors(), &collection));
        let mut end = format!("Nothing was published: {}.", Terminal::tally_line(&collection.findings()));
        if folder.has_output() {
            end.push_str(&format!(" The pages in {} are as they were.", folder.output().display()));
        }
        terminal.complain(&end);
        return Outcome::Findings;
    }
    if collection.page_sources().is_empty() {
        terminal.refuse(&no_notebooks(root));
        return Outcome::CouldNotRun;
    }
    let added = match asked.standalone {
        true => Ok(String::new()),
        false => add_errata(&folder, &mut collection, asked.date.unwrap_or_else(today)),
    };
    let added = match added {
        Ok(added) => added,
        Err(reason) => {
            terminal.refuse(&reason);
            return Outcome::CouldNotRun;
        }
    };
    let notebooks = if asked.only.is_some() { 1 } else { collection.page_sources().len() };
    let written = match (asked.standalone, asked.only) {
        (false, _) => write_all(&folder, &collection, terminal).map(|summary| (summary, String::new())),
        (true, Some(only)) if !collection.page_sources().iter().any(|path| &**path == only) => {
            terminal.refuse(&no_notebook(only, &collection));
            return Outcome::CouldNotRun;
        }
        (true, only) => write_standalone(&folder, &collection, only),
    };
    match written {
        Ok((summary, said)) => {
            let summary = summary_text(&folder, &collection, notebooks, &summary, asked, &said);
            terminal.say(&format!("{added}{summary}"));
            Outcome::Clean
        }
        Err(NotWritten::Finding(finding)) => {
            terminal.complain(&Terminal::findings_text(std::slice::from_ref(&*finding), &collection));
            terminal.complain("Nothing was published.");
            Outcome::Findings
        }
        Err(NotWritten::Output(error)) => {
            terminal.refuse(&error.to_string());
            Outcome::CouldNotRun
        }
        Err(NotWritten::Copy(reason)) => {
            terminal.refuse(&reason);
            Outcome::CouldNotRun
        }
    }
}

fn no_notebooks(root: &Path) -> String {
    format!("{}: there is no notebook (a file ending in .md) in this folder", root.display())
}

fn summary_text(
    folder: &Folder,
    collection: &Collection,
    notebooks: usize,
    summary: &super::output::Summary,
    asked: Publishing<'_>,
    said: &str,
) -> String {
    let plural = if notebooks == 1 { "notebook" } else { "notebooks" };
    let how = match (asked.standalone, notebooks) {
        (false, _) => "",
        (true, 1) => ", as one file,",
        (true, _) => ", each as one file,",
    };
    let mut text = format!("Published {notebooks} {plural}{how} into {}", folder.output().display());
    text.push_str(&match (summary.written, summary.removed) {
        (0, 0) => ": nothing had changed.\n".to_owned(),
        (written, 0) => format!(": {written} files written, {} as they were.\n", summary.unchanged),
        (written, removed) => {
            format!(": {written} files written, {} as they were, {removed} removed.\n", summary.unchanged)
        }
    });
    for left in &summary.left {
        text.push_str(&format!("Left in place, because somebody changed it since: {left}\n"));
    }
    let findings = collection.findings();
    if findings.is_empty() {
        text.push_str("Nothing found.\n");
    } else {
        let root = folder.root().display();
        text.push_str(&format!(
            "Found: {}. To read them: tarebook proofread {root}\n",
            Terminal::tally_line(&findings)
        ));
    }
    text.push_str(said);
    let first = asked.only.map_or_else(|| "index.html".to_owned(), crate::notebook::page_path_of);
    text.push_str(&format!("Open {}\n", folder.output().join(first).display()));
    text
}

/// Renders and writes everything, from all cores.
pub(super) fn write_all(
    folder: &Folder,
    collection: &Collection,
    terminal: &Terminal,
) -> Result<super::output::Summary, NotWritten> {
    let output = OutputFolder::open(folder.output())?;
    let staging = output.begin()?;
    let mut pages = collection.page_sources();
    pages.extend(collection.generated_pages());
    let done = AtomicUsize::new(0);
    let many = pages.len() >= MANY;
    pages.par_iter().try_for_each(|path| -> Result<(), NotWritten> {
        for file in collection.render(path).map_err(NotWritten::Finding)? {
            staging.put(&file.path, &file.bytes)?;
        }
        let count = done.fetch_add(1, Ordering::Relaxed);
        if many && count.is_multiple_of(MANY) {
            terminal.progress(&format!("Writing page {count} of {} …", pages.len()));
        }
        Ok(())
    })?;
    if many {
        terminal.progress("");
    }
    if !pages.iter().any(|path| &**path == crate::collection::INDEX_NOTEBOOK) {
        for file in collection.render_index().map_err(NotWritten::Finding)? {
            staging.put(&file.path, &file.bytes)?;
        }
    }
    for file in collection.shared_files() {
        staging.put(&file.path, &file.bytes)?;
    }
    for path in collection.linked_files() {
        let bytes =
            folder.bytes(&path).map_err(|error| NotWritten::Copy(format!("{path} could not be copied: {error}")))?;
        staging.put(&path, &bytes)?;
    }
    Ok(staging.commit(Keep::OnlyThese)?)
}

/// Prints everything that is found, as text or JSON; writes nothing. With `loose` the numbers of the prose that agree too.
pub fn proofread(root: &Path, json: bool, loose: bool, terminal: &Terminal) -> Outcome {
    let Some(folder) = opened(root, terminal) else { return Outcome::CouldNotRun };
    let collection = load(&folder, terminal);
    if collection.page_sources().is_empty() && !collection.has_errors() {
        terminal.refuse(&no_notebooks(root));
        return Outcome::CouldNotRun;
    }
    let mut findings = collection.findings();
    findings.extend(collection.template_faults());
    if loose {
        findings.extend(collection.agreeing_numbers());
    }
    arrange(&mut findings);
    if json {
        let document = findings_data(&findings, &|path| collection.text_of(path));
        terminal.say(&serde_json::to_string_pretty(&document).unwrap_or_default());
    } else {
        let notebooks = collection.page_sources().len();
        let plural = if notebooks == 1 { "notebook" } else { "notebooks" };
        terminal.say(&format!(
            "{}{notebooks} {plural} read: {}.{}",
            Terminal::findings_text(&findings, &collection),
            Terminal::tally_line(&findings),
            Terminal::errors_line(&findings, &collection)
        ));
    }
    let has_errors = findings.iter().any(|finding| finding.severity() == Severity::Error);
    if has_errors { Outcome::Findings } else { Outcome::Clean }
}
