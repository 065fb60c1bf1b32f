//! Printing. `anstream` drops colours where the stream is no terminal or NO_COLOR is set (no-color.org).

use crate::collection::Collection;
use crate::report::{Finding, Paint, Place, Severity, Tally, locate, render_finding, render_summary};
use std::io::{ErrorKind, IsTerminal, Write};
use std::sync::atomic::{AtomicBool, Ordering};

/// The two streams of the program.
#[derive(Debug, Default)]
pub struct Terminal {
    /// Whether something could not be written.
    has_failed: AtomicBool,
}

impl Terminal {
    /// Prints to the standard output. A closed pipe is no fault: whoever reads has had enough.
    pub fn say(&self, text: &str) {
        let mut out = anstream::stdout().lock();
        let end = if text.ends_with('\n') { "" } else { "\n" };
        let written =
            out.write_all(text.as_bytes()).and_then(|()| out.write_all(end.as_bytes())).and_then(|()| out.flush());
        if let Err(error) = written
            && error.kind() != ErrorKind::BrokenPipe
        {
            self.has_failed.store(true, Ordering::Relaxed);
            self.refuse(&format!("the output could not be written: {error}"));
        }
    }

    /// Whether something that was to be said could not be written.
    pub fn has_failed(&self) -> bool {
        self.has_failed.load(Ordering::Relaxed)
    }

    /// Prints to the standard error.
    pub fn complain(&self, text: &str) {
        let mut out = anstream::stderr().lock();
        let _ = out.write_all(text.as_bytes());
        if !text.ends_with('\n') {
            let _ = out.write_all(b"\n");
        }
        let _ = out.flush();
    }

    /// Says why a command could not run, and what to do.
    pub fn refuse(&self, what: &str) {
        self.complain(&format!("tarebook: {what}"));
    }

    /// Shows progress on one line that is written over, only to a person at a terminal.
    pub fn progress(&self, text: &str) {
        if std::io::stderr().is_terminal() {
            let mut out = anstream::stderr().lock();
            let _ = write!(out, "\r\x1b[K{text}");
            let _ = out.flush();
        }
    }

    /// Findings as text, each with its source line.
    pub fn findings_text(findings: &[Finding], collection: &Collection) -> String {
        let mut out = String::new();
        for finding in findings {
            let text = collection.text_of(&finding.place.path).unwrap_or_default();
            let located = locate(&finding.place, text);
            let mut finding = finding.clone();
            // Further places read better with their line than with their bytes.
            for (place, words) in &mut finding.more {
                let line = locate(place, collection.text_of(&place.path).unwrap_or_default()).line;
                *words = format!("line {line}, {words}");
                *place = Place { path: place.path.clone(), span: 0..0 };
            }
            out.push_str(&render_finding(&finding, &located, Paint::Styled));
            out.push('\n');
        }
        out
    }

    /// Where the errors are, so that they are found among much else; nothing where there is nothing else.
    pub fn errors_line(findings: &[Finding], collection: &Collection) -> String {
        let is_error = |finding: &&Finding| finding.severity() == Severity::Error;
        if findings.iter().all(|finding| is_error(&finding)) {
            return String::new();
        }
        let mut places: Vec<(&str, Vec<String>)> = Vec::new();
        for finding in findings.iter().filter(is_error) {
            let path = &*finding.place.path;
            let line = locate(&finding.place, collection.text_of(path).unwrap_or_default()).line.to_string();
            match places.iter_mut().find(|(known, _)| *known == path) {
                Some((_, lines)) if lines.contains(&line) => {}
                Some((_, lines)) => lines.push(line),
                None => places.push((path, vec![line])),
            }
        }
        let words = |(path, lines): &(&str, Vec<String>)| {
            let plural = if lines.len() == 1 { "" } else { "s" };
            format!("{path}, line{plural} {}", lines.join(", "))
        };
        match places.is_empty() {
            true => String::new(),
            false => format!("\nErrors in {}.", places.iter().map(words).collect::<Vec<_>>().join("; ")),
        }
    }

    /// The count of findings as a line.
    pub fn tally_line(findings: &[Finding]) -> String {
        let mut line = render_summary(Tally::of(findings));
        let handling = findings.iter().filter(|finding| finding.kind.name == "handle-with-care").count();
        if handling > 0 {
            line.push_str(&format!(" ({handling} of the cautions on handling)"));
        }
        line
    }
}
