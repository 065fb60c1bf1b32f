//! The output folder: the set of pages on disk, replaced whole or left whole.
//!
//! Place in the pipeline: the very end. Finished bytes come in, files go out. Nothing here knows what a page is, and
//! nothing here ever touches a file that the manifest does not name.
//!
//! How a publish keeps the set whole:
//!
//! 1. [`OutputFolder::begin`] takes a lock and makes `.tarebook/staging` inside the output folder, so that staged files
//!    lie on the same file system as the pages and a rename is enough to move them.
//! 2. [`Staging::put`] writes each file there, from as many threads as the caller likes, unless the present page has the
//!    same bytes.
//! 3. [`Staging::commit`] checks everything first, then writes a journal of what it is about to do, moves the old files
//!    aside and the new ones in, and writes the manifest. Removing the journal is the moment at which the new set counts.
//!
//! A step that fails is undone from the journal at once. If the program itself was ended in between, the next `begin`
//! finds the journal and undoes it then. Files are not forced to the disk one by one: that would cost more than all the
//! rest, and pages can be computed again. The promise therefore holds when the program dies, not when the power does.

#![expect(clippy::disallowed_methods, reason = "writing the pages is what this module is for")]

mod error;
mod files;
mod ground;
mod manifest;
mod names;
mod staging;

pub use error::OutputError;
pub(super) use staging::Staging;

use files::*;
use manifest::*;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// Our own corner of the output folder. Hidden, and no page may have this name.
const OWN: &str = ".tarebook";

/// An output folder with its manifest. The folder need not exist yet.
#[derive(Debug)]
pub struct OutputFolder {
    path: PathBuf,
}

impl OutputFolder {
    /// Opens a folder without creating or changing anything.
    ///
    /// # Errors
    ///
    /// [`OutputError::NotOurs`] if it exists, is not empty and has no manifest: pages are never mixed with files of
    /// other origin. [`OutputError::Manifest`] if the manifest cannot be understood.
    pub fn open(path: &Path) -> Result<OutputFolder, OutputError> {
        let folder = OutputFolder { path: path.to_path_buf() };
        folder.check_origin()?;
        Manifest::read(&folder.own("manifest"))?;
        Ok(folder)
    }

    /// The folder, as it was given to [`OutputFolder::open`].
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Makes the staging place, after clearing away what a publish that was cut short left behind.
    ///
    /// The folder itself is made now if it does not exist, and taken away again if the staging is abandoned.
    ///
    /// # Errors
    ///
    /// [`OutputError::Busy`] while another publish holds the folder; [`OutputError::Io`] if a folder cannot be made or
    /// read.
    pub fn begin(&self) -> Result<Staging<'_>, OutputError> {
        let own = self.path.join(OWN);
        let made = missing_folders(&own);
        fs::create_dir_all(&own).map_err(io_error("make the folder", &own))?;
        let lock = take_lock(&self.own("lock"))?;
        // Only now is it certain that nobody else is at work here, so everything seen before the lock is looked at
        // again.
        self.check_origin()?;
        self.undo_unfinished()?;
        let staging = self.own("staging");
        remove_tree(&staging)?;
        remove_tree(&self.own("aside"))?;
        fs::create_dir(&staging).map_err(io_error("make the folder", &staging))?;
        let before = Manifest::read(&self.own("manifest"))?;
        Ok(Staging { folder: self, lock, made, before, state: Mutex::default(), finished: false })
    }

    fn own(&self, name: &str) -> PathBuf {
        self.path.join(OWN).join(name)
    }

    /// A folder is ours if it is empty, missing, or carries a manifest or the journal of a first publish that was cut
    /// short.
    fn check_origin(&self) -> Result<(), OutputError> {
        let entries = match fs::read_dir(&self.path) {
            Ok(entries) => entries,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
            Err(error) if error.kind() == io::ErrorKind::NotADirectory => {
                return Err(OutputError::NotOurs { path: self.path.clone() });
            }
            Err(error) => return Err(io_error("read the folder", &self.path)(error)),
        };
        if is_there(&self.own("manifest"))? || is_there(&self.own("journal"))? {
            return Ok(());
        }
        for entry in entries {
            let entry = entry.map_err(io_error("read the folder", &self.path))?;
            if entry.file_name() != OWN {
                return Err(OutputError::NotOurs { path: self.path.clone() });
            }
        }
        Ok(())
    }

    /// If a commit left a journal, takes back every step of it that was carried out, in reverse order, and then the
    /// journal.
    ///
    /// It may itself be cut short and run again: what lies in `staging` and `aside` tells for each step whether it
    /// happened.
    fn undo_unfinished(&self) -> Result<(), OutputError> {
        let Some(journal) = Journal::read(&self.own("journal"))? else { return Ok(()) };
        let manifest = self.own("manifest");
        let old_manifest = self.own("aside").join("manifest");
        if is_there(&old_manifest)? {
            rename(&old_manifest, &manifest)?;
        } else if journal.first {
            remove_file(&manifest)?;
        }
        for step in journal.steps.iter().rev() {
            let target = self.path.join(&step.relative);
            let aside = self.own("aside").join(step.number.to_string());
            match step.action {
                Action::New => {
                    // While the staged file is still there, whatever is at the target is not ours to remove.
                    if !is_there(&self.own("staging").join(step.number.to_string()))? {
                        remove_file(&target)?;
                    }
                }
                Action::Replace | Action::Remove => {
                    if is_there(&aside)? {
                        if let Some(parent) = target.parent() {
                            fs::create_dir_all(parent).map_err(io_error("make the folder", parent))?;
                        }
                        rename(&aside, &target)?;
                    }
                }
                // A folder that holds something stays; that is what `remove_dir` refuses to remove.
                Action::Folder => drop(fs::remove_dir(&target)),
            }
        }
        remove_file(&self.own("journal"))
    }
}

/// Whether [`Staging::put`] had to write a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// The file is new or differs from the present one, and is staged.
    Written,
    /// The present file has these very bytes; nothing was written.
    Unchanged,
}

/// What happens at a commit to files of the last publish that were not put this time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Keep {
    /// They are removed: a full publish.
    OnlyThese,
    /// They stay, save for those named with [`Staging::removed`]: a partial rebuild.
    Others,
}

/// What a commit did.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Summary {
    /// Files that are new or were replaced.
    pub written: usize,
    /// Files that were put and had the same bytes already.
    pub unchanged: usize,
    /// Files of an earlier publish that were taken away.
    pub removed: usize,
    /// Bytes of the files counted in `written`.
    pub bytes: u64,
    /// Files that were to be removed but no longer hold what was written: somebody changed them, so they are left to
    /// that person and no longer counted as ours. Relative paths, sorted.
    pub left: Vec<String>,
}

#[cfg(test)]
mod tests;
