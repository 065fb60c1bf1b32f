//! A collection's folder: which files belong to it, and their texts.

#![expect(clippy::disallowed_methods, reason = "reading the notebooks is what this module is for")]

use super::events::is_hidden_or_temporary;
use crate::collection::{SETTINGS_PATH, Sources};
use crate::report::{Finding, Place, kind};
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::{fs, io};

/// A collection's folder, without the folder its pages go to.
#[derive(Clone, Debug)]
pub struct Folder {
    root: PathBuf,
    output: PathBuf,
}

/// Why a folder is no collection.
#[derive(Debug)]
pub struct FolderError {
    path: PathBuf,
    reason: String,
}

impl fmt::Display for FolderError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.path.display(), self.reason)
    }
}

/// The largest file that rows are read from, in bytes.
const LARGEST_ROWS: u64 = 1_000_000;

/// What a file of the folder is.
enum Role {
    Settings,
    Material,
    Errata,
    Template(String),
    Notebook,
    Rows,
    Other,
}

impl Folder {
    /// A folder with its output folder. Pages go to `pages` inside it unless told otherwise.
    ///
    /// # Errors
    /// When there is no such folder.
    pub fn open(root: &Path, into: Option<&Path>) -> Result<Folder, FolderError> {
        let fault = |reason: &str| FolderError { path: root.to_path_buf(), reason: reason.to_owned() };
        match fs::metadata(root) {
            Ok(metadata) if metadata.is_dir() => {}
            Ok(_) => return Err(fault("this is a file; give the folder that holds the notebooks")),
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Err(fault("there is no such folder; `tarebook begin DIR` makes one to start from"));
            }
            Err(error) => return Err(fault(&error.to_string())),
        }
        let output = into.map_or_else(|| root.join("pages"), Path::to_path_buf);
        Ok(Folder { root: root.to_path_buf(), output })
    }

    /// The collection's folder.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// The folder for the pages.
    pub fn output(&self) -> &Path {
        &self.output
    }

    /// Whether the output folder exists.
    pub fn has_output(&self) -> bool {
        fs::metadata(&self.output).is_ok()
    }

    /// Reads everything.
    pub fn read(&self) -> Sources {
        let mut paths = BTreeSet::new();
        let mut sources = Sources::default();
        self.walk(&self.root, "", &mut paths, &mut sources.findings);
        let (texts, others): (Vec<&String>, Vec<&String>) =
            paths.iter().partition(|path| !matches!(role_of(path), Role::Rows | Role::Other));
        for path in others {
            self.note_file(&mut sources, path);
        }
        type ReadText<'p> = (&'p String, Result<Arc<str>, Box<Finding>>);
        let read: Vec<ReadText<'_>> = texts.into_par_iter().map(|path| (path, self.read_text(path))).collect();
        for (path, text) in read {
            match text {
                Ok(text) => put(&mut sources, path, Some(text)),
                Err(finding) => sources.findings.push(*finding),
            }
        }
        sources
    }

    /// Reads again only these paths. `None` when the whole folder has to be listed again.
    pub fn read_again(&self, before: &Sources, paths: &[PathBuf]) -> Option<Sources> {
        // What could not be read before may be readable now.
        if !before.findings.is_empty() {
            return None;
        }
        let mut sources = before.clone();
        for path in paths {
            let relative = self.relative(path)?;
            if relative.is_empty() || is_hidden(&relative) || relative.ends_with(&format!("/{SETTINGS_PATH}")) {
                return None;
            }
            match fs::metadata(path) {
                Ok(metadata) if metadata.is_dir() => return None,
                Ok(_) => {}
                // A file that is gone for the moment of a rename comes back in a later batch.
                Err(_) => {
                    put(&mut sources, &relative, None);
                    continue;
                }
            }
            // A file of a collection inside this one is none of ours.
            if self.in_nested_collection(&relative) {
                return None;
            }
            match role_of(&relative) {
                Role::Rows | Role::Other => self.note_file(&mut sources, &relative),
                _ => match self.read_text(&relative) {
                    Ok(text) => put(&mut sources, &relative, Some(text)),
                    Err(finding) => {
                        put(&mut sources, &relative, None);
                        sources.findings.push(*finding);
                    }
                },
            }
        }
        Some(sources)
    }

    /// Takes in a file that is no source by itself. One that blocks may read rows from is read too; that it cannot be read matters only to a block that wants to.
    fn note_file(&self, sources: &mut Sources, relative: &str) {
        let path: Arc<str> = Arc::from(relative);
        if let Role::Rows = role_of(relative) {
            sources.row_files.insert(Arc::clone(&path), self.read_rows(relative));
        }
        sources.files.insert(path);
    }

    fn read_rows(&self, relative: &str) -> Result<Arc<str>, String> {
        let unreadable = |error: io::Error| format!("could not be read: {error}");
        let path = self.root.join(relative);
        let length = fs::metadata(&path).map_err(unreadable)?.len();
        if length > LARGEST_ROWS {
            return Err("is larger than 1 MB, more than is read for a block; keep the rows that are wanted".to_owned());
        }
        let bytes = fs::read(&path).map_err(unreadable)?;
        let text = String::from_utf8(bytes).map_err(|_| "is not UTF-8 text; save it as UTF-8".to_owned())?;
        Ok(Arc::from(text.strip_prefix('\u{feff}').unwrap_or(&text)))
    }

    /// The bytes of a file that is copied.
    ///
    /// # Errors
    /// What the system says.
    pub fn bytes(&self, relative: &str) -> io::Result<Vec<u8>> {
        fs::read(self.root.join(relative))
    }

    fn relative(&self, path: &Path) -> Option<String> {
        let relative = path.strip_prefix(&self.root).ok()?;
        let parts: Option<Vec<&str>> = relative.components().map(|part| part.as_os_str().to_str()).collect();
        Some(parts?.join("/"))
    }

    fn in_nested_collection(&self, relative: &str) -> bool {
        let mut folder = relative;
        while let Some((parent, _)) = folder.rsplit_once('/') {
            if fs::metadata(self.root.join(parent).join(SETTINGS_PATH)).is_ok() {
                return true;
            }
            folder = parent;
        }
        false
    }

    fn read_text(&self, relative: &str) -> Result<Arc<str>, Box<Finding>> {
        let path: Arc<str> = Arc::from(relative);
        let place = Place::start_of(&path);
        let bytes = fs::read(self.root.join(relative)).map_err(|error| {
            Box::new(Finding::new(kind::UNREADABLE, place.clone(), format!("`{relative}` could not be read: {error}.")))
        })?;
        match String::from_utf8(bytes) {
            Ok(text) => Ok(Arc::from(text.strip_prefix('\u{feff}').unwrap_or(&text))),
            Err(error) => {
                let at = error.utf8_error().valid_up_to();
                let before = error.as_bytes().get(..at).unwrap_or_default();
                let line = before.iter().filter(|byte| **byte == b'\n').count() + 1;
                let what = format!("`{relative}` is not UTF-8 text; the first wrong character is in line {line}.");
                Err(Box::new(Finding::new(kind::NOT_UTF8, place, what)))
            }
        }
    }

    fn walk(&self, folder: &Path, prefix: &str, paths: &mut BTreeSet<String>, findings: &mut Vec<Finding>) {
        let entries = match fs::read_dir(folder) {
            Ok(entries) => entries,
            Err(error) => {
                let path: Arc<str> = Arc::from(if prefix.is_empty() { "." } else { prefix.trim_end_matches('/') });
                findings.push(Finding::new(
                    kind::UNREADABLE,
                    Place::start_of(&path),
                    format!("The folder could not be read: {error}."),
                ));
                return;
            }
        };
        for entry in entries.flatten() {
            let Some(name) = entry.file_name().to_str().map(str::to_owned) else { continue };
            if is_hidden(&name) {
                continue;
            }
            let relative = format!("{prefix}{name}");
            let Ok(file_type) = entry.file_type() else { continue };
            let path = entry.path();
            if file_type.is_dir() {
                if !self.is_foreign(&path) {
                    self.walk(&path, &format!("{relative}/"), paths, findings);
                }
            } else if file_type.is_file() || fs::metadata(&path).is_ok_and(|metadata| metadata.is_file()) {
                // A link to a file counts as the file; links to folders are not followed, so that no circle can arise.
                paths.insert(relative);
            }
        }
    }

    /// Folders that are not part of this collection: its pages, other pages of ours, and collections of their own.
    fn is_foreign(&self, path: &Path) -> bool {
        path == self.output
            || fs::metadata(path.join(".tarebook")).is_ok()
            || fs::metadata(path.join(SETTINGS_PATH)).is_ok()
            || same_folder(path, &self.output)
    }
}

fn same_folder(left: &Path, right: &Path) -> bool {
    match (fs::canonicalize(left), fs::canonicalize(right)) {
        (Ok(left), Ok(right)) => left == right,
        _ => false,
    }
}

/// Hidden files and what editors leave behind, anywhere on a path.
fn is_hidden(path: &str) -> bool {
    path.split('/').any(|name| is_hidden_or_temporary(name.as_bytes()))
}

fn role_of(path: &str) -> Role {
    let in_folder = |folder: &str| path.strip_prefix(folder).filter(|name| !name.contains('/'));
    if path == SETTINGS_PATH {
        Role::Settings
    } else if in_folder("materials/").is_some_and(|name| name.ends_with(".toml")) {
        Role::Material
    } else if let Some(name) =
        in_folder("templates/").filter(|name| name.ends_with(".html") || name.ends_with(".css") || *name == "bench.js")
    {
        Role::Template(name.to_owned())
    } else if crate::model::notebook_of_errata(path).is_some() {
        Role::Errata
    } else if crate::notebook::is_notebook_path(path) {
        Role::Notebook
    } else if crate::block::is_row_file(path) {
        Role::Rows
    } else {
        Role::Other
    }
}

/// Puts a text in its place among the sources, or takes it out.
fn put(sources: &mut Sources, path: &str, text: Option<Arc<str>>) {
    let key: Arc<str> = Arc::from(path);
    match (role_of(path), text) {
        (Role::Settings, text) => sources.settings = text,
        (Role::Material, Some(text)) => drop(sources.materials.insert(key, text)),
        (Role::Material, None) => drop(sources.materials.remove(&key)),
        (Role::Errata, Some(text)) => drop(sources.errata.insert(key, text)),
        (Role::Errata, None) => drop(sources.errata.remove(&key)),
        (Role::Template(name), Some(text)) => drop(sources.templates.insert(name, text)),
        (Role::Template(name), None) => drop(sources.templates.remove(&name)),
        (Role::Notebook, Some(text)) => drop(sources.notebooks.insert(key, text)),
        (Role::Notebook, None) => drop(sources.notebooks.remove(&key)),
        (Role::Rows | Role::Other, _) => {
            sources.row_files.remove(&key);
            sources.files.remove(&key);
        }
    }
}
