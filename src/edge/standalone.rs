//! `publish --standalone`: every page as one file that can be sent by itself.

use super::output::Summary;
use super::publish::NotWritten;
use super::{Folder, Keep, OutputFolder};
use crate::collection::{Collection, INDEX_NOTEBOOK, OutputFile};
use crate::notebook::page_path_of;
use crate::page::{Standalone, Target, standalone};
use crate::report::suggestion;
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::sync::Arc;

/// A file of more bytes than this is said to be large; mail often refuses it.
const LARGE: usize = 1024 * 1024;

/// What is said when the one notebook that is asked for is not there.
pub(super) fn no_notebook(only: &str, collection: &Collection) -> String {
    let known = collection.page_sources();
    let near = suggestion(only, known.iter().map(|path| &**path), "Write its path from the collection's folder.");
    format!("there is no notebook `{only}` in this collection. {near}")
}

/// Renders and writes each page as one file, or that of one notebook and no other. What is worth saying comes with it.
pub(super) fn write_standalone(
    folder: &Folder,
    collection: &Collection,
    only: Option<&str>,
) -> Result<(Summary, String), NotWritten> {
    let output = OutputFolder::open(folder.output())?;
    let staging = output.begin()?;
    let mut sources = collection.page_sources();
    match only {
        Some(only) => sources.retain(|path| &**path == only),
        None if !sources.iter().any(|path| &**path == INDEX_NOTEBOOK) => sources.push(INDEX_NOTEBOOK.into()),
        None => {}
    }
    let pages: BTreeSet<String> = sources.iter().map(|path| page_path_of(path)).collect();
    let linked = collection.linked_files();
    let said: Vec<String> = sources
        .par_iter()
        .map(|source| -> Result<String, NotWritten> {
            let files = match &**source {
                INDEX_NOTEBOOK => collection.render_index(),
                path => collection.render(path),
            };
            let Some(page) = files.map_err(NotWritten::Finding)?.into_iter().next() else { return Ok(String::new()) };
            let whole = whole_page(folder, collection, &page, &pages, &linked)?;
            staging.put(&page.path, whole.html.as_bytes())?;
            Ok(said_of(&page.path, &whole))
        })
        .collect::<Result<_, _>>()?;
    // One page alone leaves those that were written before where they are.
    let keep = if only.is_some() { Keep::Others } else { Keep::OnlyThese };
    Ok((staging.commit(keep)?, said.concat()))
}

fn whole_page(
    folder: &Folder,
    collection: &Collection,
    page: &OutputFile,
    pages: &BTreeSet<String>,
    linked: &BTreeSet<Arc<str>>,
) -> Result<Standalone, NotWritten> {
    let shared = collection.shared_files();
    let failed = std::sync::Mutex::new(None);
    let whole = standalone(&String::from_utf8_lossy(&page.bytes), |address| {
        let Some(path) = from_page(&page.path, address) else { return Target::Absent };
        if pages.contains(&path) {
            return Target::Beside;
        }
        if let Some(file) = shared.iter().find(|file| file.path == path) {
            return Target::File(file.bytes.clone());
        }
        if !linked.contains(path.as_str()) {
            return Target::Absent;
        }
        match folder.bytes(&path) {
            Ok(bytes) => Target::File(bytes),
            Err(error) => {
                let reason = format!("{path} could not be read: {error}");
                *failed.lock().unwrap_or_else(std::sync::PoisonError::into_inner) = Some(reason);
                Target::Absent
            }
        }
    });
    match failed.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner) {
        Some(reason) => Err(NotWritten::Copy(reason)),
        None => Ok(whole),
    }
}

/// The path that a local address on a page leads to, from the output's root.
fn from_page(page: &str, address: &str) -> Option<String> {
    let mut parts: Vec<&str> = page.split('/').collect();
    parts.pop();
    for part in address.split('?').next().unwrap_or_default().split('/') {
        match part {
            "" | "." => {}
            ".." => drop(parts.pop()?),
            other => parts.push(other),
        }
    }
    Some(parts.join("/"))
}

fn said_of(page: &str, whole: &Standalone) -> String {
    let mut said = String::new();
    if whole.html.len() > LARGE {
        said.push_str(&format!("Large: {page} has {}.\n", megabytes(whole.html.len())));
    }
    for (file, size) in &whole.left_out {
        said.push_str(&format!("Not in {page}, because it is too large: {file}, {}.\n", megabytes(*size)));
    }
    said
}

fn megabytes(bytes: usize) -> String {
    let tenths = (bytes as u64 * 10).div_ceil(1024 * 1024);
    format!("{}.{} MB", tenths / 10, tenths % 10)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_lead_from_the_page_to_a_path() {
        assert_eq!(from_page("notes/a.html", "../style.css").as_deref(), Some("style.css"));
        assert_eq!(from_page("notes/a.html", "b.html").as_deref(), Some("notes/b.html"));
        assert_eq!(from_page("a.html", "../b.html"), None);
        assert_eq!(megabytes(1_500_000), "1.5 MB");
    }
}
