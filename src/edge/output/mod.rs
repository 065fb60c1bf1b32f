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
mod manifest;
mod names;

pub use error::OutputError;

use files::*;
use manifest::*;
use names::*;
use std::collections::{BTreeMap, BTreeSet};

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

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

/// A publish in preparation. Holds the lock of the output folder until it is committed, abandoned or dropped.
#[derive(Debug)]
pub struct Staging<'a> {
    folder: &'a OutputFolder,
    lock: File,
    /// Folders that `begin` had to make, outermost first.
    made: Vec<PathBuf>,
    before: Manifest,
    state: Mutex<State>,
    finished: bool,
}

#[derive(Debug, Default)]
struct State {
    /// Every path a `put` was begun for, in lower case, with the path as given.
    names: BTreeMap<String, String>,
    /// Every `put` that succeeded.
    puts: BTreeMap<String, Put>,
    removed: BTreeSet<String>,
    /// True once a `put` failed.
    is_broken: bool,
}

#[derive(Clone, Copy, Debug)]
struct Put {
    entry: Entry,
    /// Name of the staged file; none if the present file is right already.
    staged: Option<usize>,
}

impl Staging<'_> {
    /// Stages one file, or finds that the present one has the same bytes. May be called from many threads at once.
    ///
    /// `relative` is the path inside the output folder with `/` between its parts.
    ///
    /// # Errors
    ///
    /// [`OutputError::Name`] for a path that could lead outside the folder or into our own corner of it,
    /// [`OutputError::Collision`] for one that was put before, also if only capitals differ, and [`OutputError::Io`].
    /// After an error the staging can no longer be committed.
    pub fn put(&self, relative: &str, bytes: &[u8]) -> Result<Change, OutputError> {
        let result = self.stage(relative, bytes);
        if result.is_err() {
            // A caller who overlooks the error must still not commit an incomplete set.
            self.state().is_broken = true;
        }
        result
    }

    /// Drops one file of an earlier publish at the next commit. A path that is put as well stays; an unknown one is
    /// ignored.
    pub fn removed(&self, relative: &str) {
        self.state().removed.insert(relative.to_owned());
    }

    /// Replaces the set of pages by what was staged, or leaves the old set whole.
    ///
    /// # Errors
    ///
    /// Before anything moves: [`OutputError::Unfinished`] if a `put` failed, [`OutputError::Collision`] if two paths of
    /// the new set exclude each other, [`OutputError::Foreign`] if a file of other origin is in the way. Later:
    /// [`OutputError::Io`], after all steps were taken back, or [`OutputError::NotRestored`] if even that failed.
    pub fn commit(mut self, keep: Keep) -> Result<Summary, OutputError> {
        let plan = self.plan(keep)?;
        if plan.journal.steps.is_empty() && plan.after == self.before && !self.before.is_new {
            return Ok(plan.summary);
        }
        plan.journal.write(&self.folder.own("journal"))?;
        match self.apply(plan) {
            Ok(summary) => {
                self.finished = true;
                Ok(summary)
            }
            Err(first) => match self.folder.undo_unfinished() {
                Ok(()) => Err(first),
                Err(second) => Err(OutputError::NotRestored {
                    path: self.folder.path.clone(),
                    first: Box::new(first),
                    second: Box::new(second),
                }),
            },
        }
    }

    /// Throws away what was staged. The set of pages stays as it is.
    pub fn abandon(self) {
        drop(self);
    }

    fn state(&self) -> MutexGuard<'_, State> {
        // A thread that panicked cannot have left the maps half changed, and its missing `put` is noticed by the
        // commit.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn staged(&self, number: usize) -> PathBuf {
        self.folder.own("staging").join(number.to_string())
    }

    fn stage(&self, relative: &str, bytes: &[u8]) -> Result<Change, OutputError> {
        let number = self.reserve(relative)?;
        let entry = Entry { check: content_hash(bytes), length: bytes.len() as u64 };
        let staged = if self.is_present(relative, bytes)? {
            None
        } else {
            let path = self.staged(number);
            fs::write(&path, bytes).map_err(io_error("write the file", &path))?;
            Some(number)
        };
        self.state().puts.insert(relative.to_owned(), Put { entry, staged });
        Ok(if staged.is_some() { Change::Written } else { Change::Unchanged })
    }

    /// Claims a path for one `put` and gives the number its staged file goes by.
    fn reserve(&self, relative: &str) -> Result<usize, OutputError> {
        check_name(relative).map_err(|reason| OutputError::Name { name: relative.to_owned(), reason })?;
        let mut state = self.state();
        let number = state.names.len();
        match state.names.insert(relative.to_lowercase(), relative.to_owned()) {
            None => Ok(number),
            Some(other) => Err(OutputError::Collision { name: relative.to_owned(), other }),
        }
    }

    /// True if the manifest names this file and it has these bytes. The length is compared first: it is nearly free.
    fn is_present(&self, relative: &str, bytes: &[u8]) -> Result<bool, OutputError> {
        if !self.before.files.contains_key(relative) {
            return Ok(false);
        }
        let target = self.folder.path.join(relative);
        Ok(match look_at(&target)? {
            // If the file vanishes or is locked between the two looks it is simply written anew.
            Present::File { length } if length == bytes.len() as u64 => {
                fs::read(&target).is_ok_and(|present| present == bytes)
            }
            Present::File { .. } | Present::Nothing | Present::Folder | Present::Other => false,
        })
    }

    /// Works out and checks the whole commit. Moves nothing.
    fn plan(&self, keep: Keep) -> Result<Plan, OutputError> {
        let state = self.state();
        // A `put` that panicked is in `names` only.
        if state.is_broken || state.puts.len() != state.names.len() {
            return Err(OutputError::Unfinished { path: self.folder.path.clone() });
        }
        let mut after = Manifest { is_new: false, files: BTreeMap::new(), folders: self.before.folders.clone() };
        let mut dropped = Vec::new();
        for (relative, entry) in &self.before.files {
            let goes = match keep {
                Keep::OnlyThese => true,
                Keep::Others => state.removed.contains(relative),
            };
            if goes && !state.puts.contains_key(relative) {
                dropped.push((relative, entry));
            } else {
                after.files.insert(relative.clone(), *entry);
            }
        }
        let mut has_new_names = false;
        for (relative, put) in &state.puts {
            has_new_names |= after.files.insert(relative.clone(), put.entry).is_none();
        }
        // The usual rebuild of one page brings no new name, and then there is nothing to look for.
        if has_new_names {
            check_collisions(&after.files)?;
        }

        let mut plan =
            Plan { journal: Journal::default(), after, drops_some: !dropped.is_empty(), summary: Summary::default() };
        plan.journal.first = self.before.is_new;
        let mut ground = Ground { root: &self.folder.path, folders: BTreeMap::new(), leaving: BTreeSet::new() };
        let mut number = state.names.len();
        for (relative, entry) in dropped {
            match self.fate(&mut ground, relative, *entry)? {
                Fate::Remove => {
                    plan.journal.push(Action::Remove, number, relative);
                    plan.summary.removed += 1;
                    number += 1;
                    ground.leaving.insert(relative.clone());
                }
                Fate::Leave => plan.summary.left.push(relative.clone()),
                Fate::Gone => {}
            }
        }
        let mut moves = Vec::new();
        for (relative, put) in &state.puts {
            let Some(number) = put.staged else {
                plan.summary.unchanged += 1;
                continue;
            };
            plan.summary.written += 1;
            plan.summary.bytes += put.entry.length;
            for folder in ground.folders_to_make(relative)? {
                plan.journal.push(Action::Folder, 0, &folder);
                plan.after.folders.insert(folder);
            }
            moves.push((ground.way_in(relative, self.before.files.contains_key(relative))?, number, relative));
        }
        for (action, number, relative) in moves {
            plan.journal.push(action, number, relative);
        }
        Ok(plan)
    }

    /// Decides what becomes of a file of an earlier publish that is no longer wanted. Only what still holds the bytes
    /// we wrote is ours to remove.
    fn fate(&self, ground: &mut Ground<'_>, relative: &str, entry: Entry) -> Result<Fate, OutputError> {
        let target = self.folder.path.join(relative);
        if !ground.stands_on_real_folders(relative)? {
            return Ok(Fate::Leave);
        }
        Ok(match look_at(&target)? {
            Present::Nothing => Fate::Gone,
            Present::File { length } if length == entry.length => {
                let bytes = fs::read(&target).map_err(io_error("read the file", &target))?;
                if content_hash(&bytes) == entry.check { Fate::Remove } else { Fate::Leave }
            }
            Present::File { .. } | Present::Folder | Present::Other => Fate::Leave,
        })
    }

    /// Carries out a plan whose journal is written. On an error the caller takes everything back.
    fn apply(&self, mut plan: Plan) -> Result<Summary, OutputError> {
        let aside = self.folder.own("aside");
        // The first publish into an empty folder has nothing to set aside.
        if !self.before.is_new {
            fs::create_dir(&aside).map_err(io_error("make the folder", &aside))?;
        }
        let mut is_pruned = !plan.drops_some;
        for step in &plan.journal.steps {
            // Removals come first in a journal. Folders they leave empty go before anything is moved in, because a file
            // may take the name a folder had.
            if !is_pruned && step.action != Action::Remove {
                self.prune(&mut plan.after);
                is_pruned = true;
            }
            let target = self.folder.path.join(&step.relative);
            let old = aside.join(step.number.to_string());
            match step.action {
                Action::Remove => rename(&target, &old)?,
                Action::Folder => fs::create_dir(&target).map_err(io_error("make the folder", &target))?,
                Action::Replace => {
                    set_aside(&target, &old)?;
                    rename(&self.staged(step.number), &target)?;
                }
                Action::New => rename(&self.staged(step.number), &target)?,
            }
        }
        if !is_pruned {
            self.prune(&mut plan.after);
        }
        let manifest = self.folder.own("manifest");
        if !self.before.is_new {
            set_aside(&manifest, &aside.join("manifest"))?;
        }
        write_whole(&manifest, &plan.after.to_text())?;
        remove_file(&self.folder.own("journal"))?;
        Ok(plan.summary)
    }

    /// Removes the folders we once made that hold nothing any more, innermost first.
    fn prune(&self, after: &mut Manifest) {
        let mut needed: BTreeSet<&str> = BTreeSet::new();
        for relative in after.files.keys() {
            needed.extend(ancestors(relative));
        }
        let idle: Vec<String> =
            self.before.folders.iter().filter(|folder| !needed.contains(folder.as_str())).cloned().collect();
        // In reverse order a folder comes after everything inside it. One that holds a foreign file refuses to go and
        // stays ours.
        for folder in idle.iter().rev() {
            let path = self.folder.path.join(folder);
            let is_gone = match fs::remove_dir(&path) {
                Ok(()) => true,
                Err(error) => error.kind() == io::ErrorKind::NotFound,
            };
            if is_gone {
                after.folders.remove(folder);
            }
        }
    }

    /// Removes what only the preparation needed. Nobody is left to report to: what stays is removed by the next
    /// `begin`.
    fn clear_away(&self) {
        // With a journal still there, what was set aside is needed to put the old set back.
        if is_there(&self.folder.own("journal")).unwrap_or(true) {
            return;
        }
        drop(fs::remove_dir_all(self.folder.own("staging")));
        drop(fs::remove_dir_all(self.folder.own("aside")));
        if !self.finished && self.before.is_new {
            // No page was ever written here, so no trace of the attempt stays either.
            drop(fs::remove_file(self.folder.own("lock")));
            drop(fs::remove_dir(self.folder.path.join(OWN)));
            for folder in self.made.iter().rev() {
                drop(fs::remove_dir(folder));
            }
        }
    }
}

impl Drop for Staging<'_> {
    fn drop(&mut self) {
        self.clear_away();
        // Closing the file would do, but some systems take their time over that.
        drop(self.lock.unlock());
    }
}

/// A checked commit: the steps, the manifest they lead to, and what to report.
#[derive(Debug)]
struct Plan {
    journal: Journal,
    after: Manifest,
    /// True if files leave the set, so that folders may become empty.
    drops_some: bool,
    summary: Summary,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Fate {
    Remove,
    Leave,
    Gone,
}

/// What the commit finds on the ground: the folders it stands on, each looked at once, and the files about to leave.
struct Ground<'a> {
    root: &'a Path,
    /// Relative path of a folder, and whether it is a real one by now (or will be).
    folders: BTreeMap<String, bool>,
    leaving: BTreeSet<String>,
}

impl Ground<'_> {
    /// False if a folder on the way is a link or a file: following it would lead out of the set.
    fn stands_on_real_folders(&mut self, relative: &str) -> Result<bool, OutputError> {
        for folder in ancestors(relative) {
            let is_real = match self.folders.get(folder) {
                Some(is_real) => *is_real,
                None => match look_at(&self.root.join(folder))? {
                    Present::Folder => {
                        self.folders.insert(folder.to_owned(), true);
                        true
                    }
                    // A missing folder is not remembered: it may have to be made later.
                    Present::Nothing => return Ok(true),
                    Present::File { .. } | Present::Other => false,
                },
            };
            if !is_real {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// The folders to make for a file, outermost first; each is returned for the first file that needs it only.
    fn folders_to_make(&mut self, relative: &str) -> Result<Vec<String>, OutputError> {
        let mut to_make = Vec::new();
        for folder in ancestors(relative) {
            if self.folders.get(folder) == Some(&true) {
                continue;
            }
            let path = self.root.join(folder);
            match look_at(&path)? {
                Present::Folder => {}
                Present::Nothing => to_make.push(folder.to_owned()),
                Present::File { .. } if self.leaving.contains(folder) => to_make.push(folder.to_owned()),
                Present::File { .. } | Present::Other => return Err(OutputError::Foreign { path }),
            }
            self.folders.insert(folder.to_owned(), true);
        }
        Ok(to_make)
    }

    /// Whether a staged file replaces one of ours or comes in new; an error if something foreign is there.
    fn way_in(&self, relative: &str, is_ours: bool) -> Result<Action, OutputError> {
        let path = self.root.join(relative);
        let leaves = |other: &String| {
            // Where capitals do not count, the old file is found under the new name; it leaves first, so the way is
            // free.
            other.to_lowercase() == relative.to_lowercase() && is_same_file(&self.root.join(other), &path)
        };
        match look_at(&path)? {
            Present::Nothing => Ok(Action::New),
            Present::File { .. } if is_ours => Ok(Action::Replace),
            Present::File { .. } if self.leaving.iter().any(leaves) => Ok(Action::New),
            // A folder of ours that empties when its files leave. If more is in it, the rename fails and all is taken
            // back.
            Present::Folder
                if self
                    .leaving
                    .iter()
                    .any(|other| other.strip_prefix(relative).is_some_and(|rest| rest.starts_with('/'))) =>
            {
                Ok(Action::New)
            }
            Present::File { .. } | Present::Folder | Present::Other => Err(OutputError::Foreign { path }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::error::Error;

    type Outcome = Result<(), Box<dyn Error>>;

    /// Publishes these files as one set.
    fn publish(folder: &OutputFolder, files: &[(&str, &str)], keep: Keep) -> Result<Summary, OutputError> {
        let staging = folder.begin()?;
        for (relative, text) in files {
            staging.put(relative, text.as_bytes())?;
        }
        staging.commit(keep)
    }

    /// Every file below a folder, with its text; our own corner aside.
    fn contents(root: &Path) -> io::Result<BTreeMap<String, String>> {
        let mut found = BTreeMap::new();
        let mut open = vec![root.to_path_buf()];
        while let Some(folder) = open.pop() {
            for entry in fs::read_dir(&folder)? {
                let path = entry?.path();
                if path.is_dir() {
                    if path.file_name() != Some(OWN.as_ref()) {
                        open.push(path);
                    }
                } else if let Ok(relative) = path.strip_prefix(root) {
                    found.insert(relative.to_string_lossy().into_owned(), fs::read_to_string(&path)?);
                }
            }
        }
        Ok(found)
    }

    #[track_caller]
    fn check(root: &Path, expected: &[(&str, &str)]) {
        let found = contents(root).unwrap_or_default();
        let expected: BTreeMap<String, String> =
            expected.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect();
        assert_eq!(found, expected);
        for leftover in ["staging", "aside", "journal"] {
            assert!(!root.join(OWN).join(leftover).exists(), "{leftover} was left behind");
        }
    }

    #[test]
    fn a_full_publish_writes_replaces_and_removes() -> Outcome {
        let home = tempfile::tempdir()?;
        let root = home.path().join("deep/pages");
        let folder = OutputFolder::open(&root)?;
        assert!(!root.exists());
        let summary =
            publish(&folder, &[("index.html", "one"), ("soap/bar.html", "two"), ("style.css", "x")], Keep::OnlyThese)?;
        assert_eq!(summary, Summary { written: 3, bytes: 7, ..Summary::default() });
        check(&root, &[("index.html", "one"), ("soap/bar.html", "two"), ("style.css", "x")]);

        let summary = publish(&folder, &[("index.html", "ONE"), ("style.css", "x")], Keep::OnlyThese)?;
        assert_eq!(summary, Summary { written: 1, unchanged: 1, removed: 1, bytes: 3, left: Vec::new() });
        check(&root, &[("index.html", "ONE"), ("style.css", "x")]);
        assert!(!root.join("soap").exists());

        let again =
            publish(&OutputFolder::open(&root)?, &[("index.html", "ONE"), ("style.css", "x")], Keep::OnlyThese)?;
        assert_eq!(again, Summary { unchanged: 2, ..Summary::default() });
        Ok(())
    }

    #[test]
    fn a_partial_rebuild_keeps_the_others() -> Outcome {
        let home = tempfile::tempdir()?;
        let folder = OutputFolder::open(home.path())?;
        publish(&folder, &[("a.html", "a"), ("b.html", "b"), ("c/c.html", "c")], Keep::OnlyThese)?;
        let staging = folder.begin()?;
        assert_eq!(staging.put("b.html", b"B")?, Change::Written);
        assert_eq!(staging.put("a.html", b"a")?, Change::Unchanged);
        staging.removed("c/c.html");
        staging.removed("unknown.html");
        let summary = staging.commit(Keep::Others)?;
        assert_eq!(summary, Summary { written: 1, unchanged: 1, removed: 1, bytes: 1, left: Vec::new() });
        check(home.path(), &[("a.html", "a"), ("b.html", "B")]);
        // The manifest still knows the page that was only kept.
        publish(&folder, &[("b.html", "B")], Keep::OnlyThese)?;
        check(home.path(), &[("b.html", "B")]);
        Ok(())
    }

    #[test]
    fn unchanged_files_are_not_touched() -> Outcome {
        let home = tempfile::tempdir()?;
        let folder = OutputFolder::open(home.path())?;
        publish(&folder, &[("a.html", "a")], Keep::OnlyThese)?;
        let manifest = home.path().join(OWN).join("manifest");
        let before = (fs::metadata(home.path().join("a.html"))?.modified()?, fs::metadata(&manifest)?.modified()?);
        publish(&folder, &[("a.html", "a")], Keep::OnlyThese)?;
        assert_eq!(
            before,
            (fs::metadata(home.path().join("a.html"))?.modified()?, fs::metadata(&manifest)?.modified()?)
        );
        Ok(())
    }

    #[test]
    fn an_abandoned_publish_leaves_no_trace() -> Outcome {
        let home = tempfile::tempdir()?;
        let root = home.path().join("deep/pages");
        let folder = OutputFolder::open(&root)?;
        let staging = folder.begin()?;
        staging.put("a.html", b"a")?;
        staging.abandon();
        assert_eq!(fs::read_dir(home.path())?.count(), 0);

        publish(&folder, &[("a.html", "a")], Keep::OnlyThese)?;
        let staging = folder.begin()?;
        staging.put("a.html", b"changed")?;
        drop(staging);
        check(&root, &[("a.html", "a")]);
        Ok(())
    }

    #[test]
    fn a_foreign_folder_is_refused() -> Outcome {
        let home = tempfile::tempdir()?;
        fs::write(home.path().join("letter.txt"), "mine")?;
        assert!(matches!(OutputFolder::open(home.path()), Err(OutputError::NotOurs { .. })));
        assert!(matches!(OutputFolder::open(&home.path().join("letter.txt")), Err(OutputError::NotOurs { .. })));
        Ok(())
    }

    #[test]
    fn foreign_files_survive_and_block() -> Outcome {
        let home = tempfile::tempdir()?;
        let folder = OutputFolder::open(home.path())?;
        publish(&folder, &[("a.html", "a"), ("b/b.html", "b")], Keep::OnlyThese)?;
        fs::write(home.path().join("notes.txt"), "mine")?;
        fs::write(home.path().join("b/photo.txt"), "mine")?;
        publish(&folder, &[("a.html", "A")], Keep::OnlyThese)?;
        check(home.path(), &[("a.html", "A"), ("notes.txt", "mine"), ("b/photo.txt", "mine")]);

        let blocked = publish(&folder, &[("a.html", "new"), ("notes.txt", "page")], Keep::OnlyThese);
        assert!(matches!(blocked, Err(OutputError::Foreign { .. })));
        let blocked = publish(&folder, &[("a.html", "new"), ("notes.txt/x.html", "page")], Keep::OnlyThese);
        assert!(matches!(blocked, Err(OutputError::Foreign { .. })));
        let blocked = publish(&folder, &[("a.html", "new"), ("b", "page")], Keep::OnlyThese);
        assert!(matches!(blocked, Err(OutputError::Foreign { .. })));
        check(home.path(), &[("a.html", "A"), ("notes.txt", "mine"), ("b/photo.txt", "mine")]);
        Ok(())
    }

    #[test]
    fn a_page_somebody_edited_is_not_removed() -> Outcome {
        let home = tempfile::tempdir()?;
        let folder = OutputFolder::open(home.path())?;
        publish(&folder, &[("a.html", "a"), ("b.html", "b")], Keep::OnlyThese)?;
        fs::write(home.path().join("b.html"), "e")?;
        let summary = publish(&folder, &[("a.html", "a")], Keep::OnlyThese)?;
        assert_eq!(summary.left, ["b.html"]);
        check(home.path(), &[("a.html", "a"), ("b.html", "e")]);
        Ok(())
    }

    #[test]
    fn files_and_folders_may_change_places() -> Outcome {
        let home = tempfile::tempdir()?;
        let folder = OutputFolder::open(home.path())?;
        publish(&folder, &[("a", "file"), ("b/one.html", "1"), ("b/c/two.html", "2")], Keep::OnlyThese)?;
        publish(&folder, &[("a/b.html", "inside"), ("b", "file")], Keep::OnlyThese)?;
        check(home.path(), &[("a/b.html", "inside"), ("b", "file")]);
        Ok(())
    }

    #[cfg(unix)]
    #[test]
    fn links_are_not_followed_out_of_the_folder() -> Outcome {
        let home = tempfile::tempdir()?;
        let root = home.path().join("pages");
        let elsewhere = home.path().join("elsewhere");
        let folder = OutputFolder::open(&root)?;
        publish(&folder, &[("a/a.html", "a")], Keep::OnlyThese)?;
        fs::rename(root.join("a"), &elsewhere)?;
        std::os::unix::fs::symlink(&elsewhere, root.join("a"))?;
        assert!(matches!(publish(&folder, &[("a/a.html", "b")], Keep::OnlyThese), Err(OutputError::Foreign { .. })));
        assert_eq!(publish(&folder, &[("x.html", "x")], Keep::OnlyThese)?.left, ["a/a.html"]);
        assert_eq!(fs::read_to_string(elsewhere.join("a.html"))?, "a");
        Ok(())
    }

    #[test]
    fn a_failing_step_is_taken_back() -> Outcome {
        let home = tempfile::tempdir()?;
        let folder = OutputFolder::open(home.path())?;
        let old = [("a.html", "a"), ("b/b.html", "b"), ("z.html", "z")];
        publish(&folder, &old, Keep::OnlyThese)?;
        let manifest = fs::read_to_string(home.path().join(OWN).join("manifest"))?;
        let staging = folder.begin()?;
        for relative in ["a.html", "c/new.html", "z.html"] {
            staging.put(relative, b"changed")?;
        }
        // The third staged file vanishes, so the commit fails after the removal and two moves.
        fs::remove_file(staging.staged(2))?;
        assert!(matches!(staging.commit(Keep::OnlyThese), Err(OutputError::Io { .. })));
        check(home.path(), &old);
        assert!(!home.path().join("c").exists());
        assert_eq!(fs::read_to_string(home.path().join(OWN).join("manifest"))?, manifest);
        Ok(())
    }

    /// Commits, but ends after some steps as if the program had been killed: nothing is taken back or cleared away.
    fn die_after(mut staging: Staging<'_>, n_steps: usize) -> Outcome {
        let mut plan = staging.plan(Keep::OnlyThese)?;
        plan.journal.write(&staging.folder.own("journal"))?;
        let is_whole = plan.journal.steps.len() <= n_steps;
        plan.journal.steps.truncate(n_steps);
        let journal = fs::read(staging.folder.own("journal"))?;
        staging.apply(plan)?;
        // The journal is gone after `apply`; for a death before that moment it is laid back.
        if !is_whole {
            fs::write(staging.folder.own("journal"), journal)?;
        }
        staging.lock.unlock()?;
        staging.finished = true;
        std::mem::forget(staging);
        Ok(())
    }

    #[test]
    fn the_next_publish_undoes_one_that_died() -> Outcome {
        let old = [("a.html", "a"), ("b/b.html", "b"), ("z.html", "z")];
        let new = [("a.html", "A"), ("c/new.html", "N"), ("z.html", "Z")];
        for n_steps in 0..=5 {
            let home = tempfile::tempdir()?;
            let folder = OutputFolder::open(home.path())?;
            publish(&folder, &old, Keep::OnlyThese)?;
            let staging = folder.begin()?;
            for (relative, text) in new {
                staging.put(relative, text.as_bytes())?;
            }
            die_after(staging, n_steps)?;
            OutputFolder::open(home.path())?.begin()?.abandon();
            check(home.path(), if n_steps < 5 { &old } else { &new });
        }
        Ok(())
    }

    #[test]
    fn a_first_publish_that_died_is_undone() -> Outcome {
        let home = tempfile::tempdir()?;
        let folder = OutputFolder::open(home.path())?;
        let staging = folder.begin()?;
        staging.put("a.html", b"a")?;
        staging.put("b.html", b"b")?;
        die_after(staging, 1)?;
        assert!(home.path().join("a.html").exists());
        OutputFolder::open(home.path())?.begin()?.abandon();
        assert_eq!(fs::read_dir(home.path())?.count(), 0);
        Ok(())
    }

    #[test]
    fn two_publishes_do_not_mix() -> Outcome {
        let home = tempfile::tempdir()?;
        let folder = OutputFolder::open(home.path())?;
        let first = folder.begin()?;
        assert!(matches!(folder.begin(), Err(OutputError::Busy { .. })));
        first.put("a.html", b"a")?;
        first.commit(Keep::OnlyThese)?;
        folder.begin()?.abandon();
        check(home.path(), &[("a.html", "a")]);
        Ok(())
    }

    #[test]
    fn names_that_lead_astray_are_refused() -> Outcome {
        let home = tempfile::tempdir()?;
        let folder = OutputFolder::open(home.path())?;
        for name in
            ["", "/etc/x", "a//b", "../x", "a/../b", "a/.", "./a", "a\\b", "a/", ".tarebook/x", "a/.Tarebook", "a\nb"]
        {
            let staging = folder.begin()?;
            assert!(matches!(staging.put(name, b""), Err(OutputError::Name { .. })), "{name:?} was accepted");
            assert!(matches!(staging.commit(Keep::OnlyThese), Err(OutputError::Unfinished { .. })));
        }
        Ok(())
    }

    #[test]
    fn names_that_exclude_each_other_are_refused() -> Outcome {
        let home = tempfile::tempdir()?;
        let folder = OutputFolder::open(home.path())?;
        for (one, other) in [("a.html", "a.html"), ("Öl.html", "öl.html")] {
            let staging = folder.begin()?;
            staging.put(one, b"")?;
            assert!(matches!(staging.put(other, b""), Err(OutputError::Collision { .. })));
        }
        let nested = publish(&folder, &[("a", ""), ("A/b.html", "")], Keep::OnlyThese);
        assert!(matches!(nested, Err(OutputError::Collision { .. })));
        publish(&folder, &[("a.html", "a")], Keep::OnlyThese)?;
        assert!(matches!(publish(&folder, &[("A.html", "a")], Keep::Others), Err(OutputError::Collision { .. })));
        publish(&folder, &[("A.html", "b")], Keep::OnlyThese)?;
        check(home.path(), &[("A.html", "b")]);
        Ok(())
    }

    #[test]
    fn a_damaged_manifest_is_reported() -> Outcome {
        let home = tempfile::tempdir()?;
        let folder = OutputFolder::open(home.path())?;
        publish(&folder, &[("a.html", "a")], Keep::OnlyThese)?;
        let path = home.path().join(OWN).join("manifest");
        let whole = fs::read_to_string(&path)?;
        let half = whole.get(..whole.len() / 2).ok_or("shorter than expected")?.to_owned();
        let outside = whole.replace("a.html", "../a.html");
        for text in [String::new(), half, outside] {
            fs::write(&path, text)?;
            assert!(matches!(OutputFolder::open(home.path()), Err(OutputError::Manifest { .. })));
        }
        Ok(())
    }

    #[test]
    fn many_threads_put_at_once() -> Outcome {
        let home = tempfile::tempdir()?;
        let folder = OutputFolder::open(home.path())?;
        let staging = folder.begin()?;
        std::thread::scope(|scope| {
            let workers: Vec<_> = (0..8)
                .map(|worker| {
                    let staging = &staging;
                    scope.spawn(move || {
                        (0..50).try_for_each(|n| {
                            staging.put(&format!("{worker}/{n}.html"), format!("{worker} {n}").as_bytes()).map(drop)
                        })
                    })
                })
                .collect();
            workers.into_iter().try_for_each(|worker| worker.join().unwrap_or(Ok(())))
        })?;
        assert_eq!(staging.commit(Keep::OnlyThese)?.written, 400);
        let found = contents(home.path())?;
        assert_eq!(found.len(), 400);
        assert_eq!(found.get("7/49.html").map(String::as_str), Some("7 49"));
        Ok(())
    }

    #[test]
    fn content_hashes_stay_the_same() {
        assert_eq!(content_hash(b""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(content_hash(b"a"), 0xaf63_dc4c_8601_ec8c);
        // One bit in the top byte of two neighbouring words must not cancel out.
        let mut flipped = [0_u8; 24];
        let plain = flipped;
        for at in [7, 15] {
            if let Some(byte) = flipped.get_mut(at) {
                *byte ^= 0x80;
            }
        }
        assert_ne!(content_hash(&plain), content_hash(&flipped));
    }

    #[test]
    fn errors_are_plain_sentences() {
        let error = OutputError::Foreign { path: PathBuf::from("pages/a.html") };
        assert_eq!(
            error.to_string(),
            "pages/a.html is in the way of a page and was not written by tarebook. Move it away, or publish into another folder."
        );
    }
}
