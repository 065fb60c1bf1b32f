//! Slips in lines that are not TOML, and how each is mended.

use crate::quantity::Date;
use crate::report::echo;

/// What to do about a line that is not TOML, where the usual slips are recognised.
pub(super) fn likely_mend(line: &str) -> Option<String> {
    let line = line.trim();
    if line.contains(['“', '”', '„', '«', '»', '‘', '’']) {
        return Some("Write straight quotation marks, \"…\"; typographic ones mean nothing here.".to_owned());
    }
    if line.starts_with("//") || line.starts_with(';') || line.starts_with("--") {
        return Some(format!("A remark begins with `#`: `# {}`.", echo(line.trim_start_matches(['/', ';', '-', ' ']))));
    }
    if line.starts_with('[') {
        let name = line.trim_matches(['[', ']']).trim();
        let dotted = name.split([' ', '.', '_', '-']).filter(|part| !part.is_empty()).collect::<Vec<_>>().join(".");
        return Some(format!("A section's name is written with a dot and closed: `[{}]`.", echo(&dotted)));
    }
    let Some((key, value)) = line.split_once('=') else {
        let (key, value) = line.split_once(':')?;
        return Some(format!(
            "Between a name and its value stands `=`: `{} = {}`.",
            echo(key.trim()),
            echo(value.trim())
        ));
    };
    let (key, value) = (key.trim(), value.trim());
    if key.contains('/') && !key.starts_with('"') {
        return Some(format!("An address stands in quotation marks: `\"{}\" = {}`.", echo(key), echo(value)));
    }
    if key.contains(' ') && !key.starts_with('"') {
        return Some(format!(
            "A name has no spaces: `{} = {}`.",
            echo(&key.replace(' ', "-").to_lowercase()),
            echo(value)
        ));
    }
    if value.starts_with('"') && value.matches('"').count() == 1 {
        return Some(format!("Close the text with a second quotation mark: `{} = {}\"`.", echo(key), echo(value)));
    }
    if value.is_empty() {
        return Some(format!("Write the value after the `=` of `{}`.", echo(key)));
    }
    if let Some(mend) = mended_date(key, value) {
        return Some(mend);
    }
    if let Some(date) = turned_date(value) {
        return Some(format!("A date is year, month, day: `{} = {date}`.", echo(key)));
    }
    let number = value.trim_end_matches('%').trim_end();
    if !number.is_empty() && number.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',')) {
        let plain = number.replace(',', ".");
        let plain = if plain.starts_with('.') { format!("0{plain}") } else { plain };
        return Some(format!(
            "A bare number is per cent, with a decimal point and no sign: `{} = {}`.",
            echo(key),
            echo(&plain)
        ));
    }
    let bare = !value.starts_with(['"', '\'', '{', '[']) && !value.ends_with('"');
    bare.then(|| format!("Put the text in double quotes: `{} = \"{}\"`.", echo(key), echo(value)))
}

/// What to do about three numbers with hyphens that begin with a year: digits that are missing, or a day that does not exist.
fn mended_date(key: &str, value: &str) -> Option<String> {
    let value = value.trim_matches('"');
    let parts: Vec<u16> = value.split('-').map(str::parse).collect::<Result<_, _>>().ok()?;
    let [year @ 1000..=9999, month, day] = parts.as_slice() else { return None };
    let date = Date::read(&format!("{year}-{month:02}-{day:02}"));
    Some(match date {
        Ok(date) => format!("Month and day have two digits: `{} = {date}`.", echo(key)),
        Err(_) => format!("There is no day `{}`; a date is year, month, day. Look at it again.", echo(value)),
    })
}

/// A date that was written day, month, year with points, turned round; "14.3.2026". With strokes it is not known which comes first.
fn turned_date(value: &str) -> Option<Date> {
    let mut parts = value.split('.').map(str::trim);
    let (day, month, year) = (parts.next()?, parts.next()?, parts.next()?);
    if parts.next().is_some() || year.len() != 4 {
        return None;
    }
    Date::new(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(line: &str, expected: &str) {
        let mend = likely_mend(line).unwrap_or_default();
        assert!(mend.ends_with(&format!("`{expected}`.")) || mend.contains(expected), "{line}: {mend}");
    }

    #[test]
    fn usual_slips_are_told_how_to_be_written() {
        check("// a remark", "# a remark");
        check("[phase A]", "[phase.A]");
        check("shea butter = 3", "shea-butter = 3");
        check("glycerin = 0,9", "glycerin = 0.9");
        check("glycerin = .9%", "glycerin = 0.9");
        check("urea: 2", "urea = 2");
        check("olive-oil = \"3 g", "olive-oil = \"3 g\"");
        check("batch = 500 g", "batch = \"500 g\"");
        check("made = 2026-3-4", "made = 2026-03-04");
        check("made = 2026-02-30", "There is no day `2026-02-30`");
        check("product = “body wash”", "straight quotation marks");
        assert_eq!(likely_mend("glycerin = { percent = 3 lot = 4 }"), None);
    }
}
