//! Corrections beside the notebooks: what a publish adds to them.

#![expect(
    clippy::disallowed_methods,
    reason = "reading the last publish and writing the corrections is what this module is for"
)]

use super::Folder;
use crate::collection::{Collection, NewErrata};
use crate::quantity::Date;
use std::fmt::Write as _;
use std::fs;
use std::sync::Arc;

/// The present day where the author is.
pub(super) fn today() -> Date {
    let day = jiff::ZonedDateTime::now().date();
    let part = |number: i8| u8::try_from(number).unwrap_or(1);
    let year = u16::try_from(day.year()).unwrap_or_default();
    // A clock before the calendar is a clock that was never set; the first day that can be written says so plainly.
    Date::new(year, part(day.month()), part(day.day())).unwrap_or(Date::FIRST)
}

/// Compares with what was last published into the folder, writes what is to be added to the files of corrections, and takes it into the
/// collection. Gives what was added, in words. The files are written before the pages, and what stands there already is not added
/// again, so that nothing is lost or said twice when the pages then cannot be written.
pub(super) fn add_errata(folder: &Folder, collection: &mut Collection, date: Date) -> Result<String, String> {
    let former = |path: &str| fs::read(folder.output().join(path)).ok();
    let added = collection.new_errata(date, &former);
    if added.is_empty() {
        return Ok(String::new());
    }
    let mut sources = collection.sources().clone();
    let mut words = String::new();
    for one in added {
        write(folder, &one)?;
        let plural = if one.numbers == 1 { "" } else { "s" };
        let _ =
            writeln!(words, "Changed since the last publish: {} number{plural}, added to {}", one.numbers, one.path);
        sources.errata.insert(one.path, Arc::from(one.text));
    }
    collection.update(sources);
    Ok(words)
}

fn write(folder: &Folder, one: &NewErrata) -> Result<(), String> {
    let target = folder.root().join(&*one.path);
    // A link stays a link: what it points to is written.
    let target = fs::canonicalize(&target).unwrap_or(target);
    let staged = target.with_extension("toml.tarebook~");
    let written = fs::write(&staged, &one.text).and_then(|()| fs::rename(&staged, &target));
    written.map_err(|error| {
        let _ = fs::remove_file(&staged);
        format!("the corrections could not be added to {}: {error}. Nothing was published", one.path)
    })
}
