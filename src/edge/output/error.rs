//! Why pages could not be written.

use std::fmt;
use std::io;
use std::path::PathBuf;

/// Why pages could not be written. The text says what happened and what to do.
#[derive(Debug)]
#[non_exhaustive]
pub enum OutputError {
    /// The folder holds files and no manifest.
    NotOurs {
        /// The folder.
        path: PathBuf,
    },
    /// Another publish holds the folder.
    Busy {
        /// The lock file.
        path: PathBuf,
    },
    /// The manifest or the journal cannot be understood.
    Manifest {
        /// The manifest or journal.
        path: PathBuf,
        /// What is wrong with it.
        reason: String,
    },
    /// A path is not fit to be written.
    Name {
        /// The path as given.
        name: String,
        /// What is wrong with it.
        reason: &'static str,
    },
    /// Two files of one set exclude each other.
    Collision {
        /// The path as given.
        name: String,
        /// The path it collides with.
        other: String,
    },
    /// A file of other origin is where a page should go.
    Foreign {
        /// The file in the way.
        path: PathBuf,
    },
    /// A file could not be staged, so the set is incomplete.
    Unfinished {
        /// The output folder.
        path: PathBuf,
    },
    /// Reading, writing or moving failed.
    Io {
        /// What was attempted, as in "could not …".
        action: &'static str,
        /// The file or folder concerned.
        path: PathBuf,
        /// What the system said.
        error: io::Error,
    },
    /// A commit failed, and taking it back failed too.
    NotRestored {
        /// The output folder.
        path: PathBuf,
        /// Why the commit failed.
        first: Box<OutputError>,
        /// Why it could not be taken back.
        second: Box<OutputError>,
    },
}

impl fmt::Display for OutputError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            OutputError::NotOurs { path } => write!(
                f,
                "{} is not a folder tarebook wrote: it exists and has no manifest. Name an empty or a new folder for the pages.",
                path.display()
            ),
            OutputError::Busy { path } => write!(
                f,
                "another publish is writing to this folder: {} is locked. Wait until it has ended and try again.",
                path.display()
            ),
            OutputError::Manifest { path, reason } => write!(
                f,
                "{} cannot be understood: {reason}. Publish into a new folder, or move the old one away first.",
                path.display()
            ),
            OutputError::Name { name, reason } => {
                write!(
                    f,
                    "“{}” cannot be the path of a page: {reason}. Give the notebook another name.",
                    name.escape_debug()
                )
            }
            OutputError::Collision { name, other } if name == other => {
                write!(f, "“{name}” would be written twice. Give one of the two notebooks another name.")
            }
            OutputError::Collision { name, other } => write!(
                f,
                "“{name}” and “{other}” cannot stand side by side on every computer. Give one of the two notebooks another name."
            ),
            OutputError::Foreign { path } => write!(
                f,
                "{} is in the way of a page and was not written by tarebook. Move it away, or publish into another folder.",
                path.display()
            ),
            OutputError::Unfinished { path } => write!(
                f,
                "a page could not be prepared, so the pages in {} stay as they were. Mend the error named before and publish again.",
                path.display()
            ),
            OutputError::Io { action, path, error } => write!(
                f,
                "could not {action} {}: {error}. The pages stay as they were. Check the space and the permissions there and try again.",
                path.display()
            ),
            OutputError::NotRestored { path, first, second } => write!(
                f,
                "the pages in {} could not be replaced and not be put back either, so do not use them now. First: {first} Then: {second} \
                 Once the cause is mended, the next publish puts them in order.",
                path.display()
            ),
        }
    }
}

impl std::error::Error for OutputError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            OutputError::Io { error, .. } => Some(error),
            OutputError::NotRestored { first, .. } => Some(first),
            OutputError::NotOurs { .. }
            | OutputError::Busy { .. }
            | OutputError::Manifest { .. }
            | OutputError::Name { .. }
            | OutputError::Collision { .. }
            | OutputError::Foreign { .. }
            | OutputError::Unfinished { .. } => None,
        }
    }
}
