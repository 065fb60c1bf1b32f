//! `watch`: rebuilds what depends on what was saved, and shows it on a loopback page.

#![expect(clippy::disallowed_methods, reason = "watching takes time, and this module tells how much")]

use super::due::due_today;
use super::events::Events;
use super::publish::NotWritten;
use super::serve::Server;
use super::{Folder, Keep, Outcome, OutputFolder, Terminal};
use crate::collection::{Collection, INDEX_NOTEBOOK, Sources};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// How long it must be quiet before a burst of saves counts as over.
const QUIET: Duration = Duration::from_millis(60);

/// Where the pages go unless told otherwise, in the collection's folder.
const DRAFT: &str = ".draft";

/// A collection that is kept built. Each rebuild leaves in the output folder what a full publish would.
pub struct Watcher {
    folder: Folder,
    sources: Sources,
    collection: Collection,
    keys: BTreeMap<Arc<str>, u64>,
    index_key: u64,
    written: BTreeMap<Arc<str>, Vec<String>>,
    copies: BTreeSet<Arc<str>>,
    is_first: bool,
    /// True after a rebuild that failed: which files still have to be copied is not known then.
    is_unsure: bool,
}

/// What one rebuild did.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Rebuild {
    /// Notebooks whose pages were made again, by path.
    pub pages: Vec<Arc<str>>,
    /// Files written.
    pub written: usize,
    /// Whether there are errors in the collection.
    pub has_errors: bool,
}

impl Watcher {
    /// A watcher that has built nothing yet.
    pub fn new(folder: Folder) -> Watcher {
        Watcher {
            folder,
            sources: Sources::default(),
            collection: Collection::new(),
            keys: BTreeMap::new(),
            index_key: 0,
            written: BTreeMap::new(),
            copies: BTreeSet::new(),
            is_first: true,
            is_unsure: false,
        }
    }

    /// The collection as last built.
    pub fn collection(&self) -> &Collection {
        &self.collection
    }

    /// Builds again after these paths changed; with `rescan`, or the first time, the whole folder is listed.
    ///
    /// # Errors
    /// A sentence that says why the pages could not be written; the old ones stay.
    pub fn rebuild(&mut self, paths: &[PathBuf], rescan: bool) -> Result<Rebuild, String> {
        let again = if rescan || self.is_first { None } else { self.folder.read_again(&self.sources, paths) };
        let sources = again.unwrap_or_else(|| self.folder.read());
        self.collection.update(sources.clone());
        self.sources = sources;
        let all = rescan || self.is_first || self.is_unsure;
        let result = self.write(if all { None } else { Some(paths) });
        self.is_unsure = result.is_err();
        if result.is_err() {
            // What stands in the folder is not known for sure now, so the next rebuild writes everything again.
            self.keys.clear();
            self.index_key = 0;
        }
        result.map_err(|error| match error {
            NotWritten::Finding(finding) => finding.what.clone(),
            NotWritten::Output(error) => error.to_string(),
            NotWritten::Copy(reason) => reason,
        })
    }

    /// Writes what changed. Linked files are copied again when they are among the changed paths, or all when there is no list.
    fn write(&mut self, paths: Option<&[PathBuf]>) -> Result<Rebuild, NotWritten> {
        let collection = &self.collection;
        let output = OutputFolder::open(self.folder.output())?;
        let staging = output.begin()?;
        let mut sources = collection.page_sources();
        sources.extend(collection.generated_pages());
        let keys: BTreeMap<Arc<str>, u64> =
            sources.par_iter().map(|path| (Arc::clone(path), collection.page_key(path))).collect();
        let index_key = collection.index_key();
        let changed: Vec<Arc<str>> = keys
            .iter()
            .filter(|(path, key)| {
                // The index notebook's page is the index, which shows all others too.
                &***path != INDEX_NOTEBOOK && self.keys.get(*path) != Some(key)
            })
            .map(|(path, _)| Arc::clone(path))
            .collect();
        let pages: Vec<(Arc<str>, Vec<String>)> = changed
            .par_iter()
            .map(|path| -> Result<(Arc<str>, Vec<String>), NotWritten> {
                let files = collection.render(path).map_err(NotWritten::Finding)?;
                for file in &files {
                    staging.put(&file.path, &file.bytes)?;
                }
                Ok((Arc::clone(path), files.into_iter().map(|file| file.path).collect()))
            })
            .collect::<Result<_, _>>()?;
        let mut written: BTreeMap<Arc<str>, Vec<String>> = pages.into_iter().collect();
        if index_key != self.index_key || self.is_first {
            let files = collection.render_index().map_err(NotWritten::Finding)?;
            for file in &files {
                staging.put(&file.path, &file.bytes)?;
            }
            written.insert(INDEX_NOTEBOOK.into(), files.into_iter().map(|file| file.path).collect());
            if self.collection.text_of(INDEX_NOTEBOOK).is_none() {
                staging.removed("index.json");
            }
        }
        let gone: Vec<Arc<str>> = self
            .written
            .keys()
            .filter(|path| !keys.contains_key(*path) && &***path != INDEX_NOTEBOOK)
            .cloned()
            .collect();
        for file in gone.iter().filter_map(|path| self.written.get(path)).flatten() {
            staging.removed(file);
        }
        for file in collection.shared_files() {
            staging.put(&file.path, &file.bytes)?;
        }
        let copies = collection.linked_files();
        for path in &copies {
            let named = |paths: &[PathBuf]| paths.iter().any(|changed| *changed == self.folder.root().join(&**path));
            if self.copies.contains(path) && !paths.is_none_or(named) {
                continue;
            }
            // A file that vanished or is half written comes back with its next event.
            if let Ok(bytes) = self.folder.bytes(path) {
                staging.put(path, &bytes)?;
            }
        }
        for path in self.copies.difference(&copies) {
            staging.removed(path);
        }
        let keep = if self.is_first { Keep::OnlyThese } else { Keep::Others };
        let summary = staging.commit(keep)?;
        self.keys = keys;
        self.index_key = index_key;
        gone.iter().for_each(|path| drop(self.written.remove(path)));
        self.written.append(&mut written);
        self.copies = copies;
        self.is_first = false;
        let pages = changed.into_iter().filter(|path| crate::notebook::is_notebook_path(path)).collect();
        Ok(Rebuild { pages, written: summary.written, has_errors: self.collection.has_errors() })
    }
}

/// Watches until Ctrl-C.
pub fn watch(root: &Path, into: Option<&Path>, port: u16, terminal: &Terminal) -> Outcome {
    match try_watch(root, into, port, terminal) {
        Ok(()) => Outcome::Clean,
        Err(reason) => {
            terminal.refuse(&reason);
            Outcome::CouldNotRun
        }
    }
}

fn try_watch(root: &Path, into: Option<&Path>, port: u16, terminal: &Terminal) -> Result<(), String> {
    // Drafts have a folder of their own: what was published stays as it is, and the next publish is compared with it.
    let draft = root.join(DRAFT);
    let folder = Folder::open(root, Some(into.unwrap_or(&draft))).map_err(|error| error.to_string())?;
    let output = folder.output().to_path_buf();
    let stop = Arc::new(AtomicBool::new(false));
    let flag = Arc::clone(&stop);
    ctrlc::set_handler(move || flag.store(true, Ordering::SeqCst))
        .map_err(|error| format!("Ctrl-C could not be caught: {error}"))?;
    let mut events = Events::watch(root, vec![output.clone()])
        .map_err(|error| format!("{} cannot be watched: {error}", root.display()))?;
    let mut watcher = Watcher::new(folder);
    watcher.rebuild(&[], true)?;
    let server = Server::start(output, port)
        .map_err(|error| format!("port {port} on this machine cannot be used: {error}; choose another with --port"))?;
    report(&watcher, terminal);
    if let Some(due) = due_today(watcher.collection()) {
        terminal.say(&due);
    }
    terminal.say(&format!("Watching {}. Open {} — Ctrl-C ends it.", root.display(), server.url()));
    while let Some(batch) = events.next(QUIET, || stop.load(Ordering::SeqCst)) {
        let start = Instant::now();
        match watcher.rebuild(&batch.paths, batch.rescan) {
            Ok(rebuild) if rebuild.written == 0 && rebuild.pages.is_empty() => {}
            Ok(rebuild) => {
                server.reload("rebuilt");
                report(&watcher, terminal);
                terminal.say(&rebuild_line(&rebuild, start.elapsed()));
            }
            Err(reason) => terminal.complain(&format!("The pages could not be written: {reason}")),
        }
    }
    server.stop();
    terminal.say("Ended.");
    Ok(())
}

fn report(watcher: &Watcher, terminal: &Terminal) {
    let collection = watcher.collection();
    let errors = collection.errors();
    if !errors.is_empty() {
        terminal.complain(&Terminal::findings_text(&errors, collection));
    }
}

fn rebuild_line(rebuild: &Rebuild, took: Duration) -> String {
    let pages = match rebuild.pages.as_slice() {
        [] => "the index".to_owned(),
        [only] => only.to_string(),
        [first, rest @ ..] => format!("{first} and {} more", rest.len()),
    };
    let errors = if rebuild.has_errors { "; there are errors, shown on the page" } else { "" };
    format!("Rebuilt {pages} in {:.1} ms{errors}.", took.as_secs_f64() * 1000.0)
}
