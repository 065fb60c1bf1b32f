//! A file of separated values into cells with their places (RFC 4180, with semicolons and tabs too).

use crate::report::Place;
use csv_core::{ReadFieldResult, ReaderBuilder};
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

/// The files that blocks may read rows from, by path from the collection's folder: the text, or why it could not be read, as the end of a sentence.
pub type RowFiles = BTreeMap<Arc<str>, Result<Arc<str>, String>>;

/// Whether rows may be read from a file of this name.
pub fn is_row_file(path: &str) -> bool {
    [".csv", ".tsv", ".txt"].iter().any(|ending| path.ends_with(ending))
}

/// What stands between the cells of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Separator {
    Comma,
    Semicolon,
    Tab,
}

impl Separator {
    pub(super) const ALL: [Separator; 3] = [Separator::Comma, Separator::Semicolon, Separator::Tab];

    /// As it is written in a block.
    pub(super) fn word(self) -> &'static str {
        match self {
            Separator::Comma => ",",
            Separator::Semicolon => ";",
            Separator::Tab => "tab",
        }
    }

    fn byte(self) -> u8 {
        match self {
            Separator::Comma => b',',
            Separator::Semicolon => b';',
            Separator::Tab => b'\t',
        }
    }

    /// Those that stand in a line outside of quotation marks.
    pub(super) fn in_line(line: &str) -> Vec<Separator> {
        let bare: String = line.split('"').step_by(2).collect();
        Separator::ALL.into_iter().filter(|one| bare.bytes().any(|byte| byte == one.byte())).collect()
    }
}

/// A cell: its text without quotation marks and spaces around it, and the bytes of the file where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Cell {
    pub(super) text: String,
    pub(super) span: Range<usize>,
    /// Whether a quotation mark was opened and not closed.
    pub(super) is_open: bool,
}

impl Cell {
    pub(super) fn place(&self, path: &Arc<str>) -> Place {
        Place { path: Arc::clone(path), span: self.span.clone() }
    }
}

/// The rows of a text from a byte on; lines with nothing in them are passed over.
pub(super) fn rows(text: &str, start: usize, separator: Separator) -> Vec<Vec<Cell>> {
    let mut reader = ReaderBuilder::new().delimiter(separator.byte()).build();
    let bytes = text.as_bytes();
    // A cell holds no more than the file does.
    let mut buffer = vec![0; bytes.len() + 1];
    let (mut rows, mut row) = (Vec::new(), Vec::new());
    let mut from = start;
    loop {
        let (mut at, mut written) = (from, 0);
        let result = loop {
            let input = bytes.get(at..).unwrap_or_default();
            let (result, read, wrote) = reader.read_field(input, buffer.get_mut(written..).unwrap_or_default());
            at += read;
            written += wrote;
            // An empty input tells the reader that this was all.
            if !matches!(result, ReadFieldResult::InputEmpty | ReadFieldResult::OutputFull) {
                break result;
            }
        };
        let ReadFieldResult::Field { record_end } = result else { break };
        let inside = String::from_utf8_lossy(buffer.get(..written).unwrap_or_default());
        row.push(cell(text, from..at, &inside, separator));
        from = at;
        if record_end {
            rows.push(std::mem::take(&mut row));
        }
    }
    rows.retain(|row: &Vec<Cell>| row.iter().any(|cell| !cell.text.is_empty()));
    rows
}

/// A cell out of the bytes that were read for it: the line ends before it and the separator after it are not its own.
fn cell(text: &str, read: Range<usize>, inside: &str, separator: Separator) -> Cell {
    let raw = text.get(read.clone()).unwrap_or_default();
    let is_line_end = |c: char| matches!(c, '\r' | '\n');
    let body = raw.trim_start_matches(is_line_end);
    let body = body.strip_suffix(char::from(separator.byte())).unwrap_or_else(|| body.trim_end_matches(is_line_end));
    let bare = body.trim();
    let start = read.start + raw.find(bare).unwrap_or(0);
    let is_open = bare.starts_with('"') && (bare.len() == 1 || bare.matches('"').count() % 2 == 1);
    Cell { text: inside.trim().to_owned(), span: start..start + bare.len(), is_open }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, separator: Separator, expected: &[&[(&str, &str)]]) {
        let rows = rows(text, 0, separator);
        let seen: Vec<Vec<(&str, &str)>> = rows
            .iter()
            .map(|row| row.iter().map(|cell| (cell.text.as_str(), text.get(cell.span.clone()).unwrap())).collect())
            .collect();
        assert_eq!(seen, expected);
    }

    // RFC 4180, section 2, in its rules' order; the values are our own.
    #[test]
    fn rfc_4180_is_read_with_the_place_of_each_cell() {
        check("a,b\r\n1,2\r\n", Separator::Comma, &[&[("a", "a"), ("b", "b")], &[("1", "1"), ("2", "2")]]);
        check("a,b\r\n1,2", Separator::Comma, &[&[("a", "a"), ("b", "b")], &[("1", "1"), ("2", "2")]]);
        check("\"a\",\"b\"\r\n1,\r\n", Separator::Comma, &[&[("a", "\"a\""), ("b", "\"b\"")], &[("1", "1"), ("", "")]]);
        check("\"a,\r\nb\",c\r\n", Separator::Comma, &[&[("a,\r\nb", "\"a,\r\nb\""), ("c", "c")]]);
        check("\"a \"\"b\"\"\",c\n", Separator::Comma, &[&[("a \"b\"", "\"a \"\"b\"\"\""), ("c", "c")]]);
    }

    #[test]
    fn semicolons_tabs_spaces_and_empty_lines_are_read() {
        check(
            "a; b ;\n\n4,85;ä;x\n",
            Separator::Semicolon,
            &[&[("a", "a"), ("b", "b"), ("", "")], &[("4,85", "4,85"), ("ä", "ä"), ("x", "x")]],
        );
        check("a\tb\n1\t\n", Separator::Tab, &[&[("a", "a"), ("b", "b")], &[("1", "1"), ("", "")]]);
        check("", Separator::Comma, &[]);
        check("\n\r\n", Separator::Comma, &[]);
    }

    #[test]
    fn an_open_quotation_mark_is_noticed() {
        let open = |text: &str| rows(text, 0, Separator::Comma).iter().flatten().any(|cell| cell.is_open);
        assert!(open("a,b\n\"1,2\n3,4\n"));
        assert!(!open("a,b\n\"1\",2\n"));
        assert!(!open("a,b\n\"\"\"1\"\"\",2\n"));
        assert!(!open("a,5\" pipe\n"));
    }
}
