//! Where a finding stands: line, column and the line itself.

use super::Place;
use std::ops::Range;

/// A place in lines and columns, with the text to show.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Located {
    /// Line number, from 1.
    pub line: usize,
    /// Column of the first character, from 1, counted in characters.
    pub column: usize,
    /// The source line.
    pub text: String,
    /// What of that line is meant, in bytes of the line.
    pub marked: Range<usize>,
}

/// Finds the line and column of a place in its file's text. A span that ends on a later line is marked to the end of the
/// first; one outside the text is moved inside.
pub fn locate(place: &Place, text: &str) -> Located {
    let start = floor_char_boundary(text, place.span.start);
    let end = floor_char_boundary(text, place.span.end).max(start);
    let before = text.get(..start).unwrap_or_default();
    let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    let rest = text.get(line_start..).unwrap_or_default();
    let line = rest.lines().next().unwrap_or_default();
    let from = (start - line_start).min(line.len());
    let to = (end - line_start).min(line.len()).max(from);
    Located {
        line: before.matches('\n').count() + 1,
        column: line.get(..from).unwrap_or_default().chars().count() + 1,
        text: line.to_owned(),
        marked: from..to,
    }
}

fn floor_char_boundary(text: &str, index: usize) -> usize {
    let mut index = index.min(text.len());
    while !text.is_char_boundary(index) {
        index -= 1;
    }
    index
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, span: Range<usize>, line: usize, column: usize, marked: &str) {
        let located = locate(&Place { path: "a.md".into(), span }, text);
        assert_eq!((located.line, located.column), (line, column));
        assert_eq!(located.text.get(located.marked).unwrap(), marked);
    }

    #[test]
    fn lines_and_columns_count_from_one() {
        check("ab\ncd\n", 3..5, 2, 1, "cd");
        check("ab\r\ncd\r\n", 4..6, 2, 1, "cd");
        check("äb", 2..3, 1, 2, "b");
        check("ab\ncd", 1..5, 1, 2, "b");
        check("", 7..9, 1, 1, "");
    }
}
