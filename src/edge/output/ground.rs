//! What a commit finds on the ground: folders, foreign files, links.

use super::OutputError;
use super::files::*;
use super::manifest::Action;
use super::names::ancestors;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// What becomes of a file of an earlier publish that is no longer wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fate {
    Remove,
    Leave,
    Gone,
}

/// What the commit finds on the ground: the folders it stands on, each looked at once, and the files about to leave.
pub(super) struct Ground<'a> {
    pub(super) root: &'a Path,
    /// Relative path of a folder, and whether it is a real one by now (or will be).
    pub(super) folders: BTreeMap<String, bool>,
    pub(super) leaving: BTreeSet<String>,
}

impl Ground<'_> {
    /// False if a folder on the way is a link or a file: following it would lead out of the set.
    pub(super) fn stands_on_real_folders(&mut self, relative: &str) -> Result<bool, OutputError> {
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
    pub(super) fn folders_to_make(&mut self, relative: &str) -> Result<Vec<String>, OutputError> {
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
    pub(super) fn way_in(&self, relative: &str, is_ours: bool) -> Result<Action, OutputError> {
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
