//! A publish in preparation: files are staged, then all of them come in or none does.

use super::files::*;
use super::ground::{Fate, Ground};
use super::manifest::*;
use super::names::*;
use super::{Change, Keep, OWN, OutputError, OutputFolder, Summary};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io;
use std::path::PathBuf;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// A publish in preparation. Holds the lock of the output folder until it is committed, abandoned or dropped.
#[derive(Debug)]
pub struct Staging<'a> {
    pub(super) folder: &'a OutputFolder,
    pub(super) lock: File,
    /// Folders that `begin` had to make, outermost first.
    pub(super) made: Vec<PathBuf>,
    pub(super) before: Manifest,
    pub(super) state: Mutex<State>,
    pub(super) finished: bool,
}

#[derive(Debug, Default)]
pub(super) struct State {
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

    pub(super) fn staged(&self, number: usize) -> PathBuf {
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
    pub(super) fn plan(&self, keep: Keep) -> Result<Plan, OutputError> {
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
    pub(super) fn apply(&self, mut plan: Plan) -> Result<Summary, OutputError> {
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
pub(super) struct Plan {
    pub(super) journal: Journal,
    pub(super) after: Manifest,
    /// True if files leave the set, so that folders may become empty.
    pub(super) drops_some: bool,
    pub(super) summary: Summary,
}
