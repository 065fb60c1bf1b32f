//! `correct`: numbers in the notebooks' text that went stale, written anew.

#![expect(clippy::disallowed_methods, reason = "writing the corrected notebooks is what this module is for")]

use super::publish::{load, opened};
use super::{Folder, Outcome, Terminal};
use crate::collection::{Collection, Correction, Corrections};
use crate::report::{Place, locate};
use similar::TextDiff;
use std::ffi::OsString;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// What an editor on some systems writes before a UTF-8 text; it stays.
const BYTE_ORDER_MARK: &str = "\u{feff}";

/// Writes what went stale anew, or shows what would be written.
pub fn correct(root: &Path, dry_run: bool, terminal: &Terminal) -> Outcome {
    let Some(folder) = opened(root, terminal) else { return Outcome::CouldNotRun };
    let collection = load(&folder, terminal);
    let all = collection.corrections();
    if dry_run {
        for correction in &all.corrections {
            terminal.say(&diff_of(&collection, correction));
        }
    } else if let Err(reason) = write_all(&folder, &collection, &all.corrections) {
        terminal.refuse(&reason);
        return Outcome::CouldNotRun;
    } else {
        for correction in &all.corrections {
            terminal.say(&list_of(&collection, correction));
        }
    }
    let summary = summary(&all, dry_run, &collection);
    if dry_run {
        terminal.complain(&summary)
    } else {
        terminal.say(&summary)
    }
    if all.without_figure > 0 {
        let plural = if all.without_figure == 1 { "number has" } else { "numbers have" };
        terminal.complain(&format!(
            "{} {plural} no value because of errors; `tarebook proofread {}` lists them.",
            all.without_figure,
            root.display()
        ));
        return Outcome::Findings;
    }
    Outcome::Clean
}

fn summary(all: &Corrections, dry_run: bool, collection: &Collection) -> String {
    let numbers: usize = all.corrections.iter().map(|correction| correction.rewrites.len()).sum();
    let notebooks = all.corrections.len();
    let plural = |count: usize, word: &str| format!("{count} {word}{}", if count == 1 { "" } else { "s" });
    let mut text = match (numbers, dry_run) {
        (0, _) => "Nothing to correct: every number says what is computed.\n".to_owned(),
        (_, true) => {
            format!("{} would be written in {}.\n", plural(numbers, "number"), plural(notebooks, "notebook"))
        }
        (_, false) => format!("{} written in {}.\n", plural(numbers, "number"), plural(notebooks, "notebook")),
    };
    if numbers == 0 && !all.left.is_empty() {
        text.clear();
    }
    for left in &all.left {
        let place = Place { path: left.path.clone(), span: left.span.clone() };
        let line = locate(&place, collection.text_of(&left.path).unwrap_or_default()).line;
        let _ = writeln!(text, "Left to you: {}, line {line}: {}.", left.path, left.why);
    }
    text
}

/// What was written where, a line each.
fn list_of(collection: &Collection, correction: &Correction) -> String {
    let before = collection.text_of(&correction.path).unwrap_or_default();
    let mut text = String::new();
    for rewrite in &correction.rewrites {
        let place = Place { path: correction.path.clone(), span: rewrite.span.clone() };
        let line = locate(&place, before).line;
        let old = if rewrite.old.trim().is_empty() { "(empty)" } else { &rewrite.old };
        let _ = writeln!(text, "{}:{line}: {old} → {}", correction.path, rewrite.new);
    }
    text
}

/// The change of a notebook as a unified diff.
fn diff_of(collection: &Collection, correction: &Correction) -> String {
    let before = collection.text_of(&correction.path).unwrap_or_default();
    let diff = TextDiff::from_lines(before, &correction.text);
    diff.unified_diff().context_radius(1).header(&correction.path, &correction.path).to_string()
}

/// A corrected notebook ready to take the place of the old one.
struct Ready {
    target: PathBuf,
    staged: PathBuf,
    before: Vec<u8>,
}

/// Writes all notebooks, or none when one of them cannot be written or was changed meanwhile.
fn write_all(folder: &Folder, collection: &Collection, corrections: &[Correction]) -> Result<(), String> {
    let mut ready: Vec<Ready> = Vec::new();
    let staged = corrections.iter().try_for_each(|correction| {
        ready.push(stage(folder, collection, correction)?);
        Ok(())
    });
    let written = staged.and_then(|()| put_in_place(&ready));
    if written.is_err() {
        for one in &ready {
            let _ = fs::remove_file(&one.staged);
        }
    }
    written
}

fn stage(folder: &Folder, collection: &Collection, correction: &Correction) -> Result<Ready, String> {
    let path = &correction.path;
    let fault = |what: &str, error: &std::io::Error| format!("{path}: {what}: {error}. Nothing was written");
    // A link stays a link: what it points to is written.
    let target = fs::canonicalize(folder.root().join(&**path)).map_err(|error| fault("it cannot be found", &error))?;
    let before = fs::read(&target).map_err(|error| fault("it cannot be read", &error))?;
    let mark = if before.starts_with(BYTE_ORDER_MARK.as_bytes()) { BYTE_ORDER_MARK } else { "" };
    let text = collection.text_of(path).unwrap_or_default();
    if before != [mark, text].concat().as_bytes() {
        return Err(changed(path));
    }
    let metadata = fs::metadata(&target).map_err(|error| fault("it cannot be looked at", &error))?;
    if metadata.permissions().readonly() {
        return Err(format!("{path}: it is write-protected. Nothing was written"));
    }
    let mut name = OsString::from(".");
    name.push(target.file_name().unwrap_or_default());
    name.push(".tarebook");
    let staged = target.with_file_name(name);
    fs::write(&staged, [mark, &correction.text].concat()).map_err(|error| fault("it cannot be written", &error))?;
    if let Err(error) = fs::set_permissions(&staged, metadata.permissions()) {
        let _ = fs::remove_file(&staged);
        return Err(fault("its permissions cannot be kept", &error));
    }
    Ok(Ready { target, staged, before })
}

fn put_in_place(ready: &[Ready]) -> Result<(), String> {
    for one in ready {
        if fs::read(&one.target).ok().as_ref() != Some(&one.before) {
            return Err(changed(&one.target.display().to_string()));
        }
    }
    for (done, one) in ready.iter().enumerate() {
        // Between the look above and here there are only renames; an editor that saves just now is still noticed.
        let is_same = fs::read(&one.target).ok().as_ref() == Some(&one.before);
        let renamed = if is_same {
            fs::rename(&one.staged, &one.target).map_err(|error| error.to_string())
        } else {
            Err("it was changed while it was being corrected".to_owned())
        };
        if let Err(reason) = renamed {
            let name = one.target.display();
            return Err(format!(
                "{name}: {reason}. {done} notebooks were written before it; run it again for the rest"
            ));
        }
    }
    Ok(())
}

fn changed(path: &str) -> String {
    format!("{path}: it was changed while it was being corrected. Nothing was written; run it again")
}

#[cfg(test)]
mod tests {
    use super::*;

    const OIL: &str = "```formula\nid = \"oil\"\nproduct = \"body oil\"\n[phase.A]\nolive-oil = \"q.s. to 100\"\n\
        castor-oil = 3\n```\n\n[9 %](calc:oil/castor-oil/percent)\n";
    const OTHER: &str = "[9 %](calc:oil/castor-oil/percent)\n";

    #[test]
    fn a_notebook_that_is_saved_meanwhile_stops_everything() {
        let folder = tempfile::TempDir::new().unwrap();
        let path = |name: &str| folder.path().join(name);
        fs::write(path("a.md"), OIL).unwrap();
        fs::write(path("b.md"), OTHER).unwrap();
        let opened = Folder::open(folder.path(), None).unwrap();
        let collection = load(&opened, &Terminal::default());
        let corrections = collection.corrections().corrections;
        assert_eq!(corrections.len(), 2);
        fs::write(path("b.md"), "saved meanwhile\n").unwrap();
        let reason = write_all(&opened, &collection, &corrections).unwrap_err();
        assert_eq!(reason, changed("b.md"));
        assert_eq!(fs::read_to_string(path("a.md")).unwrap(), OIL);
        assert_eq!(fs::read_to_string(path("b.md")).unwrap(), "saved meanwhile\n");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2, "nothing of ours is left there");
    }

    #[test]
    fn a_save_after_everything_was_prepared_is_noticed_too() {
        let folder = tempfile::TempDir::new().unwrap();
        let path = folder.path().join("a.md");
        fs::write(&path, OIL).unwrap();
        let opened = Folder::open(folder.path(), None).unwrap();
        let collection = load(&opened, &Terminal::default());
        let ready = vec![stage(&opened, &collection, &collection.corrections().corrections[0]).unwrap()];
        fs::write(&path, "saved meanwhile\n").unwrap();
        assert!(put_in_place(&ready).is_err());
        assert_eq!(fs::read_to_string(&path).unwrap(), "saved meanwhile\n");
    }
}
