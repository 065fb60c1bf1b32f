//! Findings for the terminal. Colours are asked for through [`Paint`], never decided here.

use super::{Finding, Located, Severity, Tally};
use anstyle::{AnsiColor, Style};
use std::fmt::Write;
use unicode_width::UnicodeWidthStr;

/// Whether words may be coloured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paint {
    /// With ANSI styles; the writer drops them where they are not wanted.
    Styled,
    /// Plain characters only.
    Plain,
}

impl Paint {
    fn wrap(self, style: Style, text: &str) -> String {
        match self {
            Paint::Plain => text.to_owned(),
            Paint::Styled => format!("{style}{text}{style:#}"),
        }
    }
}

fn style_of(severity: Severity) -> Style {
    let colour = match severity {
        Severity::Error => AnsiColor::Red,
        Severity::Caution => AnsiColor::Yellow,
        Severity::Question => AnsiColor::Cyan,
        Severity::Note => AnsiColor::Blue,
    };
    Style::new().bold().fg_color(Some(colour.into()))
}

/// One finding as lines of text: what, where with the source line, why, what to do, name and source.
pub fn render_finding(finding: &Finding, located: &Located, paint: Paint) -> String {
    let mut out = String::new();
    let word = paint.wrap(style_of(finding.severity()), finding.severity().word());
    let bold = Style::new().bold();
    let soft = Style::new().dimmed();
    let _ = writeln!(out, "{word}: {}", paint.wrap(bold, &finding.what));
    let place = format!("{}, line {}, column {}", finding.place.path, located.line, located.column);
    let _ = writeln!(out, "  in {place}");
    if !located.text.trim().is_empty() {
        let (line, mark) = marked_line(located);
        let _ = writeln!(out, "\n      {line}\n      {}\n", paint.wrap(style_of(finding.severity()), &mark));
    }
    if !finding.why_text().is_empty() {
        out.push_str(&paragraph("why", finding.why_text()));
    }
    if !finding.mend_text().is_empty() {
        out.push_str(&paragraph("to do", finding.mend_text()));
    }
    for (place, words) in &finding.more {
        out.push_str(&paragraph("see", &format!("{}: {words}", place.path)));
    }
    let named = match &finding.source {
        Some(source) => format!("{}; source: {source}", finding.kind.name),
        None => finding.kind.name.to_owned(),
    };
    out.push_str(&paint.wrap(soft, paragraph("name", &named).trim_end_matches('\n')));
    out.push('\n');
    out
}

/// The source line cut to a readable width around the mark, and the line of marks below it.
fn marked_line(located: &Located) -> (String, String) {
    const WIDEST: usize = 100;
    let line = located.text.replace('\t', " ");
    let before = line.get(..located.marked.start).unwrap_or_default();
    let marked = line.get(located.marked.clone()).unwrap_or_default();
    let after = line.get(located.marked.end..).unwrap_or_default();
    let skip = before.chars().count().saturating_sub(WIDEST / 2);
    let head: String =
        if skip > 0 { format!("…{}", before.chars().skip(skip).collect::<String>()) } else { before.to_owned() };
    let shown: String = marked.chars().take(WIDEST).collect();
    let tail: String =
        after.chars().take(WIDEST.saturating_sub(head.chars().count() + shown.chars().count())).collect();
    let clean = |text: &str| text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect::<String>();
    let (head, shown, tail) = (clean(&head), clean(&shown), clean(&tail));
    let mark = format!("{}{}", " ".repeat(head.width()), "~".repeat(shown.width().max(1)));
    (format!("{head}{shown}{tail}").trim_end().to_owned(), mark)
}

fn paragraph(label: &str, text: &str) -> String {
    const WIDTH: usize = 88;
    let mut out = String::new();
    let mut line = String::new();
    let mut first = true;
    let mut flush = |line: &mut String, first: &mut bool| {
        let label = if *first { label } else { "" };
        let _ = writeln!(out, "  {label:<6} {line}");
        line.clear();
        *first = false;
    };
    for word in text.split(' ') {
        if !line.is_empty() && line.width() + 1 + word.width() > WIDTH {
            flush(&mut line, &mut first);
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    flush(&mut line, &mut first);
    out
}

/// One line that counts the findings: "2 errors, 1 caution", or "nothing found".
pub fn render_summary(tally: Tally) -> String {
    let count = |n: usize, word: &str| match n {
        0 => None,
        1 => Some(format!("1 {word}")),
        _ => Some(format!("{n} {word}s")),
    };
    let parts: Vec<String> = [
        count(tally.errors, "error"),
        count(tally.cautions, "caution"),
        count(tally.questions, "question"),
        count(tally.notes, "note"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if parts.is_empty() { "nothing found".to_owned() } else { parts.join(", ") }
}
