//! Changes in a collection folder, gathered into batches.
//!
//! Place in the pipeline: before the first station, in watch mode only. It says which paths may have changed and
//! whether the shape of the folder did; it reads no file and decides nothing about rebuilding.
//!
//! One save is many events: an editor may write a temporary file, rename the old one away and the new one in. So events
//! are gathered until it has been quiet for a while, and the batch is a list of paths to look at again, not a history.
//! A path in it may be gone, or half written, by the time somebody looks.

#![expect(clippy::disallowed_methods, reason = "looking at the folder and waiting is what this module is for")]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Receiver, Sender};
use std::time::{Duration, Instant};

use notify::event::{CreateKind, MetadataKind, ModifyKind, RemoveKind, RenameMode};
use notify::{Event, EventKind, RecommendedWatcher, RecursiveMode, Watcher};

/// How often the call to stop and the folder itself are looked at while nothing happens.
const POLL: Duration = Duration::from_millis(100);
/// A batch is handed over after this many quiet times even if it never becomes quiet.
const MOST_QUIET_TIMES: u32 = 10;

/// What changed in one burst.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Batch {
    /// Files and folders that changed, sorted, each once, spelled as below the folder that is watched.
    pub paths: Vec<PathBuf>,
    /// True if folders came, went or moved, or if events were lost: the whole collection has to be listed again.
    pub rescan: bool,
}

/// A watch on one collection folder and everything in it.
#[derive(Debug)]
pub(super) struct Events {
    /// As the caller spelled it.
    folder: PathBuf,
    /// The same without links, which is how paths arrive.
    real: PathBuf,
    ignore: Vec<PathBuf>,
    /// None while the folder is gone.
    watcher: Option<RecommendedWatcher>,
    identity: Option<Identity>,
    /// True if the present watch can no longer be relied on.
    is_stale: bool,
    last_look: Instant,
    sender: Sender<notify::Result<Event>>,
    receiver: Receiver<notify::Result<Event>>,
}

impl Events {
    /// Begins to watch. Call it before the first build, so that no change in between is missed.
    ///
    /// What is in one of the `ignore` folders (the output folder) does not count, and neither do hidden and temporary
    /// files: names that begin with "." or "#" or end in "~", ".swp" or ".tmp". The `ignore` folders need not exist
    /// yet.
    ///
    /// # Errors
    ///
    /// What the system says if the folder cannot be watched: it does not exist, or the number of watched folders is
    /// used up.
    pub(super) fn watch(folder: &Path, ignore: Vec<PathBuf>) -> Result<Events, notify::Error> {
        let (sender, receiver) = mpsc::channel();
        let mut events = Events {
            folder: folder.to_path_buf(),
            real: PathBuf::new(),
            ignore: ignore.into_iter().map(|path| without_links(&path)).collect(),
            watcher: None,
            identity: None,
            is_stale: false,
            last_look: Instant::now(),
            sender,
            receiver,
        };
        events.watch_anew()?;
        Ok(events)
    }

    /// Waits until something has changed and it has then been quiet for `quiet`, though no longer than ten times that.
    ///
    /// Returns none as soon as `wake` says true; it is asked at least every 100 ms.
    pub(super) fn next(&mut self, quiet: Duration, wake: impl Fn() -> bool) -> Option<Batch> {
        let mut gathered = Gathered::default();
        // When the first and the latest event of this batch came.
        let mut since: Option<(Instant, Instant)> = None;
        loop {
            if wake() {
                return None;
            }
            let mut has_news = self.look_after_folder(&mut gathered);
            let mut wait = POLL;
            if let Some((first, latest)) = since {
                let longest = quiet.saturating_mul(MOST_QUIET_TIMES);
                let left = quiet.saturating_sub(latest.elapsed()).min(longest.saturating_sub(first.elapsed()));
                if left.is_zero() {
                    return Some(gathered.into_batch());
                }
                wait = left.min(POLL);
            }
            match self.receiver.recv_timeout(wait) {
                Ok(Ok(event)) => has_news |= self.take(&event, &mut gathered),
                Ok(Err(_)) => {
                    // Whatever went wrong, events may be missing; listing the folder again makes up for them.
                    gathered.rescan = true;
                    self.is_stale = true;
                    has_news = true;
                }
                // Time is up. The channel cannot be closed, because this value holds a sender itself.
                Err(_) => {}
            }
            if has_news {
                let now = Instant::now();
                since = Some((since.map_or(now, |(first, _)| first), now));
            }
        }
    }

    /// Notes what an event says about paths that count. False if it says nothing about any.
    fn take(&mut self, event: &Event, gathered: &mut Gathered) -> bool {
        if event.need_rescan() {
            // Lost events may have been about new folders, which are then not watched.
            self.is_stale = true;
            gathered.rescan = true;
            return true;
        }
        if matches!(
            event.kind,
            EventKind::Access(_) | EventKind::Modify(ModifyKind::Metadata(MetadataKind::AccessTime))
        ) {
            return false;
        }
        // The second half of a rename tells whether it was a folder that moved, even if its new name does not count.
        if matches!(event.kind, EventKind::Modify(ModifyKind::Name(RenameMode::To | RenameMode::Both)))
            && event.tracker().is_some_and(|tracker| gathered.half_renames.remove(&tracker))
            && event.paths.last().is_some_and(|path| path.is_dir())
        {
            gathered.rescan = true;
        }
        let mut has_news = false;
        for path in &event.paths {
            if let Some(relative) = self.relative(path) {
                has_news |= self.take_path(event, &relative, gathered);
            }
        }
        has_news
    }

    fn take_path(&mut self, event: &Event, relative: &Path, gathered: &mut Gathered) -> bool {
        if relative.as_os_str().is_empty() {
            // The folder itself. Removed or renamed, it takes its watch with it.
            let is_lost = matches!(event.kind, EventKind::Remove(_) | EventKind::Modify(ModifyKind::Name(_)));
            self.is_stale |= is_lost;
            gathered.rescan |= is_lost;
            return is_lost;
        }
        let path = self.folder.join(relative);
        let is_folder = path.is_dir();
        match event.kind {
            // Not every system says what was removed, and what is gone can no longer be asked.
            EventKind::Create(CreateKind::Folder)
            | EventKind::Remove(RemoveKind::Folder | RemoveKind::Any | RemoveKind::Other) => gathered.rescan = true,
            EventKind::Modify(ModifyKind::Name(RenameMode::From)) => match event.tracker() {
                Some(tracker) => drop(gathered.half_renames.insert(tracker)),
                None => gathered.rescan = true,
            },
            EventKind::Modify(ModifyKind::Name(RenameMode::Any | RenameMode::Other)) => {
                gathered.rescan |= is_folder || !path.exists();
            }
            // Some systems report a folder whenever a file in it changes; the file is reported as well.
            EventKind::Modify(ModifyKind::Any | ModifyKind::Data(_) | ModifyKind::Other) if is_folder => return false,
            EventKind::Any
            | EventKind::Access(_)
            | EventKind::Create(CreateKind::Any | CreateKind::File | CreateKind::Other)
            | EventKind::Modify(
                ModifyKind::Any
                | ModifyKind::Data(_)
                | ModifyKind::Metadata(_)
                | ModifyKind::Name(RenameMode::To | RenameMode::Both)
                | ModifyKind::Other,
            )
            | EventKind::Remove(RemoveKind::File)
            | EventKind::Other => gathered.rescan |= is_folder,
        }
        gathered.paths.insert(path);
        true
    }

    /// The path below the folder; none if it does not count.
    fn relative(&self, path: &Path) -> Option<PathBuf> {
        let relative = path.strip_prefix(&self.real).ok()?;
        let is_ignored = self.ignore.iter().any(|folder| path.starts_with(folder));
        let is_hidden = relative.iter().any(|name| is_hidden_or_temporary(name.as_encoded_bytes()));
        (!is_ignored && !is_hidden).then(|| relative.to_path_buf())
    }

    /// Notices that the folder was removed, came back or was replaced by another, and watches what is there now. True
    /// if so.
    fn look_after_folder(&mut self, gathered: &mut Gathered) -> bool {
        if self.last_look.elapsed() < POLL && !self.is_stale {
            return false;
        }
        self.last_look = Instant::now();
        let identity = identity(&self.folder);
        if !self.is_stale && identity == self.identity {
            return false;
        }
        let was_watched = self.watcher.take().is_some();
        self.identity = None;
        self.is_stale = false;
        // Without success it is tried again at the next look, because the identity stays unknown.
        let is_watched = identity.is_some() && self.watch_anew().is_ok();
        gathered.rescan |= was_watched || is_watched;
        was_watched || is_watched
    }

    fn watch_anew(&mut self) -> Result<(), notify::Error> {
        // Asked first: if the folder is replaced in the middle of this, the next look sees a difference.
        let identity = identity(&self.folder);
        self.real =
            self.folder.canonicalize().map_err(|error| notify::Error::io(error).add_path(self.folder.clone()))?;
        let mut watcher = notify::recommended_watcher(self.sender.clone())?;
        watcher.watch(&self.real, RecursiveMode::Recursive)?;
        self.watcher = Some(watcher);
        self.identity = identity;
        Ok(())
    }
}

#[derive(Debug, Default)]
struct Gathered {
    paths: BTreeSet<PathBuf>,
    rescan: bool,
    /// Renames of which only the old name was heard. Without the new one nobody knows whether it was a folder.
    half_renames: BTreeSet<usize>,
}

impl Gathered {
    fn into_batch(self) -> Batch {
        Batch { paths: self.paths.into_iter().collect(), rescan: self.rescan || !self.half_renames.is_empty() }
    }
}

/// Names that begin with "." or "#", or end as editors' temporary files do.
pub(super) fn is_hidden_or_temporary(name: &[u8]) -> bool {
    let ends_in = |end: &[u8]| {
        name.len()
            .checked_sub(end.len())
            .and_then(|from| name.get(from..))
            .is_some_and(|tail| tail.eq_ignore_ascii_case(end))
    };
    name.starts_with(b".") || name.starts_with(b"#") || ends_in(b"~") || ends_in(b".swp") || ends_in(b".tmp")
}

/// The path as events will spell it. What does not exist yet is added to the part that does.
fn without_links(path: &Path) -> PathBuf {
    let absolute = std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf());
    absolute
        .ancestors()
        .find_map(|present| Some(present.canonicalize().ok()?.join(absolute.strip_prefix(present).ok()?)))
        // Joining nothing leaves a separator at the end, which is dropped by collecting the parts.
        .map_or_else(|| absolute.clone(), |found| found.iter().collect())
}

/// What tells a folder from another that was put in its place.
#[cfg(unix)]
type Identity = (u64, u64);
#[cfg(not(unix))]
type Identity = Option<std::time::SystemTime>;

/// None if there is no folder.
fn identity(folder: &Path) -> Option<Identity> {
    let metadata = fs::metadata(folder).ok().filter(fs::Metadata::is_dir)?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        Some((metadata.dev(), metadata.ino()))
    }
    #[cfg(not(unix))]
    {
        Some(metadata.created().ok())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::error::Error;
    use std::thread;

    type Outcome = Result<(), Box<dyn Error>>;

    const QUIET: Duration = Duration::from_millis(60);

    struct Scene {
        home: tempfile::TempDir,
        folder: PathBuf,
        events: Events,
    }

    /// A watched folder with a notebook, a subfolder and an ignored output folder.
    fn scene() -> Result<Scene, Box<dyn Error>> {
        let home = tempfile::tempdir()?;
        let folder = home.path().join("collection");
        fs::create_dir_all(folder.join("bars"))?;
        fs::create_dir_all(folder.join("pages"))?;
        fs::write(folder.join("soap.md"), "one")?;
        fs::write(folder.join("bars/hair.md"), "one")?;
        let events = Events::watch(&folder, vec![folder.join("pages"), folder.join("later/pages")])?;
        Ok(Scene { home, folder, events })
    }

    impl Scene {
        /// The next batch, or none if nothing happens for a while.
        fn next_within(&mut self, at_most: Duration) -> Option<Batch> {
            let end = Instant::now() + at_most;
            self.events.next(QUIET, || end < Instant::now())
        }

        fn next(&mut self) -> Option<Batch> {
            self.next_within(Duration::from_secs(5))
        }

        #[track_caller]
        fn check(&mut self, expected: &[&str], rescan: bool) {
            let paths = expected.iter().map(|name| self.folder.join(name)).collect();
            assert_eq!(self.next(), Some(Batch { paths, rescan }));
        }

        /// Nothing more is to come.
        #[track_caller]
        fn check_silence(&mut self) {
            assert_eq!(self.next_within(QUIET * 5), None);
        }
    }

    #[test]
    fn a_plain_save_is_one_path() -> Outcome {
        let mut scene = scene()?;
        fs::write(scene.folder.join("soap.md"), "two")?;
        scene.check(&["soap.md"], false);
        fs::write(scene.folder.join("bars/hair.md"), "two")?;
        scene.check(&["bars/hair.md"], false);
        scene.check_silence();
        Ok(())
    }

    #[test]
    fn a_temporary_file_renamed_in_is_one_path() -> Outcome {
        let mut scene = scene()?;
        for temporary in [".soap.md.swp", "soap.md~", "soap.TMP", "#soap.md#"] {
            fs::write(scene.folder.join(temporary), "two")?;
            fs::rename(scene.folder.join(temporary), scene.folder.join("soap.md"))?;
            scene.check(&["soap.md"], false);
        }
        // The other way round: the old file becomes a backup first.
        fs::rename(scene.folder.join("soap.md"), scene.folder.join("soap.md~"))?;
        fs::write(scene.folder.join("soap.md"), "three")?;
        scene.check(&["soap.md"], false);
        // A name that does not look temporary is reported, and still needs no listing.
        fs::write(scene.folder.join("4913"), "four")?;
        fs::rename(scene.folder.join("4913"), scene.folder.join("soap.md"))?;
        scene.check(&["4913", "soap.md"], false);
        Ok(())
    }

    #[test]
    fn a_burst_is_one_batch() -> Outcome {
        let mut scene = scene()?;
        let names: Vec<String> = (10..60).map(|n| format!("{n}.md")).collect();
        for name in &names {
            fs::write(scene.folder.join(name), "one")?;
            fs::write(scene.folder.join(name), "two")?;
        }
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        scene.check(&names, false);
        scene.check_silence();
        Ok(())
    }

    #[test]
    fn a_restless_folder_does_not_wait_for_ever() -> Outcome {
        let mut scene = scene()?;
        let path = scene.folder.join("soap.md");
        let end = Instant::now() + QUIET * 30;
        let writer = thread::spawn(move || {
            while Instant::now() < end {
                drop(fs::write(&path, "again"));
                thread::sleep(QUIET / 6);
            }
        });
        scene.check(&["soap.md"], false);
        assert!(Instant::now() < end);
        writer.join().map_err(|_| "the writer panicked")?;
        Ok(())
    }

    #[test]
    fn folders_that_come_move_and_go_ask_for_a_listing() -> Outcome {
        let mut scene = scene()?;
        fs::create_dir(scene.folder.join("creams"))?;
        scene.check(&["creams"], true);
        fs::write(scene.folder.join("creams/hand.md"), "one")?;
        scene.check(&["creams/hand.md"], false);
        fs::rename(scene.folder.join("creams"), scene.folder.join("balms"))?;
        scene.check(&["balms", "creams"], true);
        fs::write(scene.folder.join("balms/hand.md"), "two")?;
        scene.check(&["balms/hand.md"], false);
        fs::remove_dir_all(scene.folder.join("balms"))?;
        let batch = scene.next().ok_or("no batch")?;
        assert!(batch.rescan && batch.paths.contains(&scene.folder.join("balms")));
        // Moved out of the collection, it might have been either.
        fs::rename(scene.folder.join("bars"), scene.home.path().join("elsewhere"))?;
        scene.check(&["bars"], true);
        Ok(())
    }

    #[test]
    fn a_removed_file_is_one_path() -> Outcome {
        let mut scene = scene()?;
        fs::remove_file(scene.folder.join("soap.md"))?;
        scene.check(&["soap.md"], false);
        Ok(())
    }

    #[test]
    fn reading_and_what_is_ignored_wakes_nobody() -> Outcome {
        let mut scene = scene()?;
        fs::read(scene.folder.join("soap.md"))?;
        assert_eq!(fs::read_dir(&scene.folder)?.count(), 3);
        fs::create_dir(scene.folder.join("pages/soap"))?;
        fs::write(scene.folder.join("pages/soap/index.html"), "page")?;
        fs::remove_dir_all(scene.folder.join("pages/soap"))?;
        fs::create_dir(scene.folder.join(".history"))?;
        fs::write(scene.folder.join(".history/soap.md"), "old")?;
        fs::write(scene.folder.join("bars/hair.md~"), "old")?;
        scene.check_silence();
        // An ignored folder that did not exist when the watch began.
        fs::create_dir_all(scene.folder.join("later/pages"))?;
        scene.check(&["later"], true);
        fs::write(scene.folder.join("later/pages/index.html"), "page")?;
        scene.check_silence();
        Ok(())
    }

    #[test]
    fn the_folder_may_go_and_come_back() -> Outcome {
        let mut scene = scene()?;
        fs::remove_dir_all(&scene.folder)?;
        assert!(scene.next().is_some_and(|batch| batch.rescan));
        scene.check_silence();
        fs::create_dir(&scene.folder)?;
        scene.check(&[], true);
        fs::write(scene.folder.join("soap.md"), "two")?;
        scene.check(&["soap.md"], false);
        Ok(())
    }

    #[test]
    fn the_folder_may_be_replaced_at_once() -> Outcome {
        let mut scene = scene()?;
        fs::rename(&scene.folder, scene.home.path().join("old"))?;
        fs::create_dir(&scene.folder)?;
        assert!(scene.next().is_some_and(|batch| batch.rescan));
        fs::write(scene.home.path().join("old/soap.md"), "two")?;
        scene.check_silence();
        fs::write(scene.folder.join("soap.md"), "two")?;
        scene.check(&["soap.md"], false);
        Ok(())
    }

    #[cfg(unix)]
    #[test]
    fn paths_are_spelled_as_the_folder_was_given() -> Outcome {
        let mut scene = scene()?;
        let link = scene.home.path().join("link");
        std::os::unix::fs::symlink(&scene.folder, &link)?;
        scene.events = Events::watch(&link, vec![link.join("pages")])?;
        fs::write(scene.folder.join("pages/soap.html"), "page")?;
        fs::write(scene.folder.join("soap.md"), "two")?;
        assert_eq!(scene.next(), Some(Batch { paths: vec![link.join("soap.md")], rescan: false }));
        Ok(())
    }

    #[test]
    fn stop_and_missing_folders_are_told() -> Outcome {
        let mut scene = scene()?;
        assert_eq!(scene.events.next(QUIET, || true), None);
        assert!(Events::watch(&scene.home.path().join("nowhere"), Vec::new()).is_err());
        Ok(())
    }
}
