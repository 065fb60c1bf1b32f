//! `export` and `import`: a collection as one file, and back.

#![expect(clippy::disallowed_methods, reason = "writing and reading that file is what this module is for")]

use super::publish::{load, opened};
use super::{Folder, Outcome, Terminal};
use crate::collection::Collection;
use crate::exchange::{Damage, Restored, check_path, collisions, read_document};
use crate::report::Severity;
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// So many figures that came out differently are listed.
const MOST_LISTED: usize = 40;

/// Writes a collection as one JSON file, or prints it. With an error in the notebooks nothing is written.
pub fn export(root: &Path, into: Option<&Path>, terminal: &Terminal) -> Outcome {
    let Some(folder) = opened(root, terminal) else { return Outcome::CouldNotRun };
    let collection = load(&folder, terminal);
    if collection.has_errors() {
        terminal.complain(&Terminal::findings_text(&collection.errors(), &collection));
        let tally = Terminal::tally_line(&collection.findings());
        terminal.complain(&format!("Nothing was exported: {tally}."));
        return Outcome::Findings;
    }
    let written = document_of(&folder, &collection).and_then(|document| match into {
        None => io::stdout().lock().write_all(&document).map_err(|error| format!("it could not be printed: {error}")),
        Some(file) => write_file(file, &document, &folder, &collection),
    });
    match written {
        Ok(()) => {
            if let Some(file) = into {
                let count = collection.exported_paths().len();
                terminal.say(&format!("{count} files with their figures are in {}.", file.display()));
            }
            Outcome::Clean
        }
        Err(reason) => {
            terminal.refuse(&format!("nothing was exported: {reason}"));
            Outcome::CouldNotRun
        }
    }
}

/// The document of a folder whose collection was read before.
fn document_of(folder: &Folder, collection: &Collection) -> Result<Vec<u8>, String> {
    let mut files: BTreeMap<Arc<str>, Vec<u8>> = BTreeMap::new();
    for path in collection.exported_paths() {
        check_path(&path).map_err(|why| format!("the file `{}` cannot be part of it: {why}", path.escape_debug()))?;
        let bytes = folder.bytes(&path).map_err(|error| format!("`{path}` could not be read: {error}"))?;
        let is_as_read = collection.text_of(&path).is_none_or(|text| {
            std::str::from_utf8(&bytes).is_ok_and(|now| now.strip_prefix('\u{feff}').unwrap_or(now) == text)
        });
        if !is_as_read {
            return Err(format!("`{path}` was changed meanwhile; export again"));
        }
        files.insert(path, bytes);
    }
    if files.is_empty() {
        return Err(format!("there is nothing in {}", folder.root().display()));
    }
    if let Some((one, other)) = collisions(files.keys().map(|path| &**path)).first() {
        return Err(format!("`{one}` and `{other}` cannot stand beside each other on every system; rename one"));
    }
    collection.export(&files).map_err(|error| error.to_string())
}

/// Writes beside the target and renames, so that an old file stays whole until the new one is.
fn write_file(file: &Path, document: &[u8], folder: &Folder, collection: &Collection) -> Result<(), String> {
    let is_source = |path: &Arc<str>| match (file.canonicalize(), folder.root().join(&**path).canonicalize()) {
        (Ok(one), Ok(other)) => one == other,
        _ => false,
    };
    if let Some(path) = collection.exported_paths().iter().find(|path| is_source(path)) {
        return Err(format!("{} is `{path}` of the collection itself", file.display()));
    }
    if file.is_dir() {
        return Err(format!("{} is a folder; name a file", file.display()));
    }
    let temporary = hidden_beside(file)?;
    let written = fs::write(&temporary, document).and_then(|()| fs::rename(&temporary, file));
    written.map_err(|error| {
        let _ = fs::remove_file(&temporary);
        format!("{} could not be written: {error}", file.display())
    })
}

/// A hidden name in the same folder.
fn hidden_beside(path: &Path) -> Result<PathBuf, String> {
    let name = path.file_name().ok_or_else(|| format!("{} is no name of a file or folder", path.display()))?;
    Ok(path.with_file_name(format!(".{}.{}.new", name.to_string_lossy(), std::process::id())))
}

/// Restores a collection from a file that `export` wrote; `-` reads it from the standard input.
pub fn import(file: &Path, into: &Path, terminal: &Terminal) -> Outcome {
    let refuse = |reason: &str| {
        terminal.refuse(&format!("nothing was imported: {reason}"));
        Outcome::CouldNotRun
    };
    let shown = file.display();
    let bytes = if file == Path::new("-") {
        let mut bytes = Vec::new();
        io::stdin().lock().read_to_end(&mut bytes).map(|_| bytes)
    } else {
        fs::read(file)
    };
    let bytes = match bytes {
        Ok(bytes) => bytes,
        Err(error) => return refuse(&format!("{shown} could not be read: {error}")),
    };
    let restored = match read_document(&bytes) {
        Ok(restored) => restored,
        Err(damages) => {
            let list: Vec<String> = damages.iter().map(|damage: &Damage| format!("{shown}, {damage}")).collect();
            return refuse(&list.join("\n"));
        }
    };
    match write_folder(into, &restored) {
        Ok(()) => {}
        Err(reason) => return refuse(&reason),
    }
    let folder = match Folder::open(into, None) {
        Ok(folder) => folder,
        Err(error) => return refuse(&error.to_string()),
    };
    let count = restored.files.len();
    terminal.say(&format!("{count} files are in {}, as they were.", into.display()));
    compare_figures(&restored, &folder, terminal)
}

/// Writes everything into a hidden folder beside the one that is wanted, which then takes its name.
fn write_folder(into: &Path, restored: &Restored) -> Result<(), String> {
    let shown = into.display();
    let is_there = match fs::read_dir(into) {
        Ok(mut entries) => match entries.next() {
            Some(_) => return Err(format!("{shown} is not empty; give a new folder")),
            None => true,
        },
        Err(error) if error.kind() == ErrorKind::NotFound => false,
        Err(error) => return Err(format!("{shown}: {error}")),
    };
    let temporary = hidden_beside(into)?;
    let written = write_all(&temporary, restored).and_then(|()| {
        // An empty folder in the way is not replaced on every system.
        if is_there {
            fs::remove_dir(into).and_then(|()| fs::rename(&temporary, into))
        } else {
            fs::rename(&temporary, into)
        }
    });
    written.map_err(|error| {
        let _ = fs::remove_dir_all(&temporary);
        format!("{shown} could not be written: {error}")
    })
}

fn write_all(folder: &Path, restored: &Restored) -> io::Result<()> {
    if let Some(parent) = folder.parent() {
        fs::create_dir_all(parent)?;
    }
    fs::create_dir(folder)?;
    for (path, bytes) in &restored.files {
        let target = folder.join(path);
        if let Some(parent) = target.parent() {
            fs::create_dir_all(parent)?;
        }
        // Names that this system takes for one are never written over each other.
        fs::File::create_new(&target)?.write_all(bytes)?;
    }
    Ok(())
}

/// Computes what was restored and holds it against what the file says.
fn compare_figures(restored: &Restored, folder: &Folder, terminal: &Terminal) -> Outcome {
    let collection = load(folder, terminal);
    let now = document_of(folder, &collection).ok().and_then(|document| read_document(&document).ok());
    let Some(now) = now else {
        terminal.complain("The figures could not be compared.");
        return Outcome::Findings;
    };
    let none = "no figure".to_owned();
    let keys: std::collections::BTreeSet<&String> = restored.figures.keys().chain(now.figures.keys()).collect();
    let differences: Vec<String> = keys
        .into_iter()
        .map(|key| (key, restored.figures.get(key).unwrap_or(&none), now.figures.get(key).unwrap_or(&none)))
        .filter(|(_, was, is)| was != is)
        .map(|(key, was, is)| format!("  {key}: {was} in the file, {is} now"))
        .collect();
    let has_errors = collection.findings().iter().any(|finding| finding.severity() == Severity::Error);
    if differences.is_empty() && !has_errors {
        terminal.say(&format!("All {} figures come out as the file says.", restored.figures.len()));
        return Outcome::Clean;
    }
    let mut list: Vec<String> = differences.iter().take(MOST_LISTED).cloned().collect();
    if differences.len() > MOST_LISTED {
        list.push(format!("  and {} more", differences.len() - MOST_LISTED));
    }
    let is_same = restored.program == now.program;
    let why = match is_same {
        true => "The same version of tarebook wrote the file, so that it was changed afterwards.".to_owned(),
        false => format!(
            "{} wrote the file and this is {}: its rules or its catalogue are different.",
            restored.program, now.program
        ),
    };
    let errors = if has_errors { " There are errors in the notebooks; `tarebook proofread` lists them." } else { "" };
    let count = differences.len();
    terminal.complain(&format!("{count} of the figures came out differently. {why}{errors}\n{}", list.join("\n")));
    if is_same || has_errors { Outcome::Findings } else { Outcome::Clean }
}
