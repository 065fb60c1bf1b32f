//! Comma-separated values (RFC 4180) for spreadsheets.

/// Records with their line ends, the head first.
pub(super) fn records(rows: &[Vec<String>]) -> String {
    let lines: Vec<String> = rows.iter().map(|row| row.iter().map(field).collect::<Vec<_>>().join(",")).collect();
    format!("{}\r\n", lines.join("\r\n"))
}

fn field(text: &String) -> String {
    // A cell that begins like a formula would be run by a spreadsheet; the quote keeps it text.
    let guarded = if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.clone() };
    if guarded.contains([',', '"', '\n', '\r']) { format!("\"{}\"", guarded.replace('"', "\"\"")) } else { guarded }
}
