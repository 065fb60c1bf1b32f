//! Small steps on the file system, each with its error put into words.

use super::error::OutputError;
use std::fs::{self, File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};

/// A check value of 64 bits that is the same on every machine and in every version.
///
/// FNV-1a by Fowler, Noll and Vo, with offset basis and prime as in the Internet draft "The FNV Non-Cryptographic Hash
/// Algorithm" (draft-eastlake-fnv; from memory). DEVIATION: eight bytes are taken per step, with a shift after each so
/// that the upper bits of a step reach the lower ones. One byte per step would cost as much as writing the file. It
/// notices accidents and edits, and is no protection against somebody who wants to deceive.
pub(super) fn content_hash(bytes: &[u8]) -> u64 {
    const OFFSET_BASIS: u64 = 0xcbf2_9ce4_8422_2325;
    const PRIME: u64 = 0x0100_0000_01b3;
    let (words, rest) = bytes.as_chunks::<8>();
    let mut check = OFFSET_BASIS;
    for word in words {
        check = (check ^ u64::from_le_bytes(*word)).wrapping_mul(PRIME);
        check ^= check >> 32;
    }
    for byte in rest {
        check = (check ^ u64::from(*byte)).wrapping_mul(PRIME);
    }
    check
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Present {
    Nothing,
    File {
        length: u64,
    },
    Folder,
    /// A link or a device; never written by us.
    Other,
}

pub(super) fn look_at(path: &Path) -> Result<Present, OutputError> {
    match fs::symlink_metadata(path) {
        Ok(metadata) if metadata.is_file() => Ok(Present::File { length: metadata.len() }),
        Ok(metadata) if metadata.is_dir() => Ok(Present::Folder),
        Ok(_) => Ok(Present::Other),
        Err(error) if is_absence(&error) => Ok(Present::Nothing),
        Err(error) => Err(io_error("look at", path)(error)),
    }
}

pub(super) fn is_there(path: &Path) -> Result<bool, OutputError> {
    Ok(look_at(path)? != Present::Nothing)
}

/// Nothing is there either if what should be its folder is a file.
pub(super) fn is_absence(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::NotFound | io::ErrorKind::NotADirectory)
}

pub(super) fn is_same_file(one: &Path, other: &Path) -> bool {
    match (one.canonicalize(), other.canonicalize()) {
        (Ok(one), Ok(other)) => one == other,
        (Ok(_) | Err(_), Ok(_) | Err(_)) => false,
    }
}

/// The folders down to `path` that do not exist yet, outermost first.
pub(super) fn missing_folders(path: &Path) -> Vec<PathBuf> {
    let mut missing: Vec<PathBuf> = path
        .ancestors()
        .take_while(|folder| !folder.as_os_str().is_empty() && !folder.exists())
        .map(Path::to_path_buf)
        .collect();
    missing.reverse();
    missing
}

pub(super) fn take_lock(path: &Path) -> Result<File, OutputError> {
    let file =
        File::options().create(true).truncate(false).write(true).open(path).map_err(io_error("open the file", path))?;
    match file.try_lock() {
        // An abandoned first publish takes its lock file away; a lock on a file that is gone guards nothing.
        Ok(()) if !is_there(path)? => Err(OutputError::Busy { path: path.to_path_buf() }),
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(OutputError::Busy { path: path.to_path_buf() }),
        // Some network folders know no locks. Publishing there is worth more than the guard against two at once.
        Err(TryLockError::Error(error)) if error.kind() == io::ErrorKind::Unsupported => Ok(file),
        Err(TryLockError::Error(error)) => Err(io_error("lock the file", path)(error)),
    }
}

/// Keeps the old file under another name. A second link leaves the page readable at every moment; where links are
/// unknown, it moves.
pub(super) fn set_aside(target: &Path, aside: &Path) -> Result<(), OutputError> {
    match fs::hard_link(target, aside) {
        Ok(()) => Ok(()),
        Err(error) if is_absence(&error) => Err(io_error("set aside the file", target)(error)),
        Err(_) => rename(target, aside),
    }
}

pub(super) fn write_whole(path: &Path, text: &str) -> Result<(), OutputError> {
    let temporary = path.with_extension("new");
    fs::write(&temporary, text).map_err(io_error("write the file", &temporary))?;
    rename(&temporary, path)
}

pub(super) fn rename(from: &Path, to: &Path) -> Result<(), OutputError> {
    fs::rename(from, to).map_err(io_error("put in place the file", to))
}

/// Removes a file; one that is not there is as good.
pub(super) fn remove_file(path: &Path) -> Result<(), OutputError> {
    match fs::remove_file(path) {
        Err(error) if !is_absence(&error) => Err(io_error("remove the file", path)(error)),
        Ok(()) | Err(_) => Ok(()),
    }
}

pub(super) fn remove_tree(path: &Path) -> Result<(), OutputError> {
    match fs::remove_dir_all(path) {
        Err(error) if !is_absence(&error) => Err(io_error("remove the folder", path)(error)),
        Ok(()) | Err(_) => Ok(()),
    }
}

pub(super) fn io_error(action: &'static str, path: &Path) -> impl FnOnce(io::Error) -> OutputError {
    move |error| OutputError::Io { action, path: path.to_path_buf(), error }
}
