//! `begin`: a small collection to start from.

#![expect(clippy::disallowed_methods, reason = "writing the first notebooks is what this module is for")]

use super::{Outcome, Terminal};
use std::io::Write;
use std::path::Path;
use std::{fs, io};

/// The files of a new collection.
const FILES: &[(&str, &str)] = &[
    ("collection.toml", include_str!("begin/collection.toml")),
    ("first-wash.md", include_str!("begin/first-wash.md")),
    ("materials/own.toml", include_str!("begin/own.toml")),
];

/// Writes a small collection into a folder that does not exist or is empty.
pub fn begin(folder: &Path, terminal: &Terminal) -> Outcome {
    match write(folder) {
        Ok(()) => {
            let shown = folder.display();
            let mut text = format!("A collection to start from, in {shown}:\n");
            for (name, _) in FILES {
                text.push_str(&format!("  {name}\n"));
            }
            text.push_str(&format!("Next: tarebook watch {shown}\n"));
            terminal.say(&text);
            Outcome::Clean
        }
        Err(reason) => {
            terminal.refuse(&format!("{}: {reason}", folder.display()));
            Outcome::CouldNotRun
        }
    }
}

fn write(folder: &Path) -> Result<(), String> {
    match fs::read_dir(folder) {
        Ok(mut entries) => {
            if entries.next().is_some() {
                return Err("this folder is not empty; give a new one".to_owned());
            }
        }
        Err(error) if error.kind() == io::ErrorKind::NotFound => {}
        Err(error) => return Err(error.to_string()),
    }
    for (name, text) in FILES {
        let path = folder.join(name);
        let parent = path.parent().unwrap_or(folder);
        fs::create_dir_all(parent).map_err(|error| format!("the folder could not be made: {error}"))?;
        // Never over a file that somebody put there meanwhile.
        let mut file = fs::File::create_new(&path).map_err(|error| format!("{name} could not be written: {error}"))?;
        file.write_all(text.as_bytes()).map_err(|error| format!("{name} could not be written: {error}"))?;
    }
    Ok(())
}
