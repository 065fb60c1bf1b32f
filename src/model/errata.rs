//! The corrections of a notebook: numbers that changed after they were published, in a TOML file beside it.
//!
//! `publish` adds to the file; an author may write a note to an entry, mend one or take it out. What stands in the file is what the page
//! shows.

use crate::block::{Cutting, Reader, Table, read_date_of};
use crate::quantity::Date;
use crate::report::{Finding, kind};
use std::fmt::Write as _;
use std::sync::Arc;

/// How the file of a notebook's corrections ends.
const ERRATA_END: &str = ".corrections.toml";

/// The notebook that a file of corrections belongs to, by their paths; `None` for any other file.
pub fn notebook_of_errata(path: &str) -> Option<String> {
    let stem = path.strip_suffix(ERRATA_END).filter(|stem| !stem.is_empty() && !stem.ends_with('/'))?;
    Some(format!("{stem}.md"))
}

/// The file of a notebook's corrections.
pub fn errata_path(notebook: &str) -> String {
    format!("{}{ERRATA_END}", notebook.strip_suffix(".md").unwrap_or(notebook))
}

/// What changed in one formula or block at one publish.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Erratum {
    /// The day of the publish.
    pub date: Date,
    /// The id of the formula or block.
    pub of: String,
    /// The check value before and after.
    pub check: Option<(String, String)>,
    /// The author's version before and after, where both have one.
    pub version: Option<(String, String)>,
    /// Why, in the author's words.
    pub note: Option<String>,
    /// The numbers.
    pub numbers: Vec<ErratumNumber>,
}

/// One number that changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ErratumNumber {
    /// Its address, below the id, with the query of a calc link.
    pub address: String,
    /// What it is of, in words.
    pub what: String,
    /// As it was printed, or empty for a line that was not there.
    pub old: String,
    /// As it is printed now, or empty for a line that is gone.
    pub new: String,
    /// The batch size that it holds for, where it hangs on one.
    pub batch: String,
}

/// Reads a file of corrections. Never fails: what was not understood is reported and left out.
pub fn read_errata(path: &Arc<str>, text: &str) -> (Vec<Erratum>, Vec<Finding>) {
    let cutting = Cutting::whole_file(path, text);
    Reader::read(&cutting, |reader, table| {
        let errata = table.tables("correction").iter().filter_map(|table| read_one(reader, table)).collect();
        table.finish();
        errata
    })
}

fn read_one(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<Erratum> {
    let date = read_date_of(table, "date");
    let of = table.text("of");
    let erratum = (|| {
        let missing = |key: &str, wanted: &str| {
            reader.push(
                Finding::new(kind::MISSING_KEY, table.place().clone(), format!("This correction has no `{key}`."))
                    .mend(format!("Write {wanted}.")),
            );
        };
        if date.is_none() {
            missing("date", "the day on which it was published: `date = 2026-03-14`");
        }
        if of.is_none() && table.get("of").is_none() {
            missing("of", "the id of the formula or block: `of = \"oat-wash\"`");
        }
        Some((date??.value, of?.value))
    })();
    let word = |table: &Table<'_, '_>, key: &'static str| table.text(key).map(|text| text.value).unwrap_or_default();
    let numbers = table
        .tables("numbers")
        .iter()
        .map(|number| {
            let read = ErratumNumber {
                address: word(number, "address"),
                what: word(number, "what"),
                old: word(number, "old"),
                new: word(number, "new"),
                batch: word(number, "batch"),
            };
            number.finish();
            read
        })
        .collect();
    let pair = |key: &'static str| {
        table.get(key)?;
        let place = table.place().clone();
        match table.texts(key).as_slice() {
            [old, new] => Some((old.value.clone(), new.value.clone())),
            _ => {
                reader.wrong(place, &format!("`{key}`"), "two texts, the old and the new one");
                None
            }
        }
    };
    let (check, version) = (pair("check"), pair("version"));
    let note = table.text("note").map(|note| note.value).filter(|note| !note.trim().is_empty());
    table.finish();
    let (date, of) = erratum?;
    Some(Erratum { date, of, check, version, note, numbers })
}

/// The head of a new file.
pub const ERRATA_HEAD: &str = "# Numbers that changed after they were published. `tarebook publish` adds to this list, and the page shows it.\n\
    # It is yours to edit: a `note` says why, and an entry that is nobody's concern can be taken out.\n";

impl Erratum {
    /// The entry as it is added to the file.
    pub fn to_toml(&self) -> String {
        let mut text = format!("\n[[correction]]\ndate = {}\nof = {}\n", self.date, quoted(&self.of));
        for (key, pair) in [("check", &self.check), ("version", &self.version)] {
            if let Some((old, new)) = pair {
                let _ = writeln!(text, "{key} = [{}, {}]", quoted(old), quoted(new));
            }
        }
        let _ = writeln!(text, "note = {}", quoted(self.note.as_deref().unwrap_or_default()));
        text.push_str("numbers = [\n");
        for number in &self.numbers {
            let _ = write!(
                text,
                "  {{ what = {}, old = {}, new = {}",
                quoted(&number.what),
                quoted(&number.old),
                quoted(&number.new)
            );
            if !number.batch.is_empty() {
                let _ = write!(text, ", batch = {}", quoted(&number.batch));
            }
            let _ = writeln!(text, ", address = {} }},", quoted(&number.address));
        }
        text.push_str("]\n");
        text
    }
}

/// A basic string of TOML.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            // An author who edits the file sees and types plain spaces.
            '\u{a0}' => out.push(' '),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn erratum() -> Erratum {
        Erratum {
            date: Date::new(2026, 11, 28).unwrap(),
            of: "wash".to_owned(),
            check: Some(("AAA-BBBB".to_owned(), "CCC-DDDD".to_owned())),
            version: None,
            note: Some("The \"betaine\" of the new lot\nis stronger \\ purer.".to_owned()),
            numbers: vec![ErratumNumber {
                address: "glycerin/weight".to_owned(),
                what: "Glycerin, weight".to_owned(),
                old: "15 g".to_owned(),
                new: String::new(),
                batch: "500 g".to_owned(),
            }],
        }
    }

    #[test]
    fn what_is_written_is_read_again() {
        let text = format!("{ERRATA_HEAD}{}{}", erratum().to_toml(), Erratum { note: None, ..erratum() }.to_toml());
        let (read, findings) = read_errata(&"a.corrections.toml".into(), &text);
        assert_eq!(findings, []);
        assert_eq!(read, [erratum(), Erratum { note: None, ..erratum() }]);
    }

    #[test]
    fn mistakes_are_all_reported() {
        let text = "[[correction]]\ndate = \"2026-02-30\"\nof = \"wash\"\n[[correction]]\nof = \"wash\"\nchek = 3\n[[corection]]\n";
        let (read, findings) = read_errata(&"a.corrections.toml".into(), text);
        assert_eq!(read, []);
        let names: Vec<&str> = findings.iter().map(|finding| finding.kind.name).collect();
        assert_eq!(names.len(), 4, "{names:?}");
    }

    #[test]
    fn a_notebook_and_its_file_know_each_other() {
        assert_eq!(errata_path("notes/a.md"), "notes/a.corrections.toml");
        assert_eq!(notebook_of_errata("notes/a.corrections.toml").as_deref(), Some("notes/a.md"));
        assert_eq!(notebook_of_errata("notes/.corrections.toml"), None);
        assert_eq!(notebook_of_errata("notes/a.toml"), None);
    }
}
