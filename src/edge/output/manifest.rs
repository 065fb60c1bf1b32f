//! The manifest, which names every file of ours in the output folder, and the journal of a commit in progress.

use super::error::OutputError;
use super::files::*;
use super::names::*;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

const MANIFEST_HEAD: &str = "tarebook manifest 1";
const JOURNAL_HEAD: &str = "tarebook journal 1";

/// The list of files and folders that we wrote, kept in `.tarebook/manifest`.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Manifest {
    /// True if there was no manifest on disk yet.
    pub(super) is_new: bool,
    pub(super) files: BTreeMap<String, Entry>,
    /// Folders we made, which may be removed once they are empty.
    pub(super) folders: BTreeSet<String>,
}

/// What a file held when we wrote it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Entry {
    pub(super) check: u64,
    /// In bytes.
    pub(super) length: u64,
}

impl Manifest {
    pub(super) fn read(path: &Path) -> Result<Manifest, OutputError> {
        let mut manifest = Manifest { is_new: false, files: BTreeMap::new(), folders: BTreeSet::new() };
        let Some(lines) = read_lines(path, MANIFEST_HEAD)? else {
            manifest.is_new = true;
            return Ok(manifest);
        };
        for line in lines.lines() {
            let is_understood = if let Some(folder) = line.strip_prefix("folder ") {
                check_name(folder).is_ok() && manifest.folders.insert(folder.to_owned())
            } else {
                Manifest::file_line(line)
                    .is_some_and(|(relative, entry)| manifest.files.insert(relative.to_owned(), entry).is_none())
            };
            if !is_understood {
                return Err(not_understood(path, line));
            }
        }
        Ok(manifest)
    }

    pub(super) fn file_line(line: &str) -> Option<(&str, Entry)> {
        let mut parts = line.strip_prefix("file ")?.splitn(3, ' ');
        let check = u64::from_str_radix(parts.next()?, 16).ok()?;
        let length = parts.next()?.parse().ok()?;
        let relative = parts.next()?;
        // The manifest decides what may be removed, so a path that leads outside must not get in by this door either.
        check_name(relative).ok()?;
        Some((relative, Entry { check, length }))
    }

    pub(super) fn to_text(&self) -> String {
        let mut text = format!("{MANIFEST_HEAD}\n");
        for folder in &self.folders {
            let _ = writeln!(text, "folder {folder}");
        }
        for (relative, Entry { check, length }) in &self.files {
            let _ = writeln!(text, "file {check:016x} {length} {relative}");
        }
        text.push_str("end\n");
        text
    }
}

/// What a commit is about to do, written down before it does it.
#[derive(Debug, Default)]
pub(super) struct Journal {
    /// True if there was no manifest before, so that undoing removes it.
    pub(super) first: bool,
    pub(super) steps: Vec<Step>,
}

#[derive(Debug)]
pub(super) struct Step {
    pub(super) action: Action,
    /// Name of the file in `staging` (new, replace) and in `aside` (replace, remove).
    pub(super) number: usize,
    pub(super) relative: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Action {
    Remove,
    Folder,
    Replace,
    New,
}

impl Action {
    const ALL: [(Action, &'static str); 4] =
        [(Action::Remove, "remove"), (Action::Folder, "folder"), (Action::Replace, "replace"), (Action::New, "new")];
}

impl Journal {
    pub(super) fn push(&mut self, action: Action, number: usize, relative: &str) {
        self.steps.push(Step { action, number, relative: relative.to_owned() });
    }

    pub(super) fn write(&self, path: &Path) -> Result<(), OutputError> {
        let mut text = format!("{JOURNAL_HEAD}\n");
        if self.first {
            text.push_str("first\n");
        }
        for step in &self.steps {
            for (_, word) in Action::ALL.iter().filter(|(action, _)| *action == step.action) {
                let _ = writeln!(text, "{word} {} {}", step.number, step.relative);
            }
        }
        text.push_str("end\n");
        write_whole(path, &text)
    }

    pub(super) fn read(path: &Path) -> Result<Option<Journal>, OutputError> {
        let Some(lines) = read_lines(path, JOURNAL_HEAD)? else { return Ok(None) };
        let mut journal = Journal::default();
        for line in lines.lines() {
            if line == "first" {
                journal.first = true;
            } else {
                journal.steps.push(Journal::step(line).ok_or_else(|| not_understood(path, line))?);
            }
        }
        Ok(Some(journal))
    }

    pub(super) fn step(line: &str) -> Option<Step> {
        let mut parts = line.splitn(3, ' ');
        let word = parts.next()?;
        let (action, _) = Action::ALL.iter().find(|(_, name)| *name == word)?;
        let number = parts.next()?.parse().ok()?;
        let relative = parts.next()?.to_owned();
        check_name(&relative).ok()?;
        Some(Step { action: *action, number, relative })
    }
}

/// The lines between head and end of one of our own files; none if there is no such file.
pub(super) fn read_lines(path: &Path, head: &str) -> Result<Option<String>, OutputError> {
    let bytes = match fs::read(path) {
        Ok(bytes) => bytes,
        Err(error) if is_absence(&error) => return Ok(None),
        Err(error) => return Err(io_error("read the file", path)(error)),
    };
    let text = String::from_utf8(bytes).ok();
    let lines = text.as_deref().and_then(|text| text.strip_prefix(head)?.strip_prefix('\n')?.strip_suffix("end\n"));
    match lines {
        Some(lines) => Ok(Some(lines.to_owned())),
        None => Err(OutputError::Manifest {
            path: path.to_path_buf(),
            reason: format!("it does not begin with “{head}” and finish with “end”"),
        }),
    }
}

pub(super) fn not_understood(path: &Path, line: &str) -> OutputError {
    OutputError::Manifest {
        path: path.to_path_buf(), reason: format!("its line “{}” is unknown", line.escape_debug())
    }
}
