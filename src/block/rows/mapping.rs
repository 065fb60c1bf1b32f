//! What an entry says of a file of rows: which column gives which key, and which rows count.

use super::cells::{DateOrder, DecimalSign, NUMBERS, day_of, numeral};
use super::file::{Cell, Separator, rows};
use super::{CellColumn, Entry};
use crate::block::reader::{Placed, Reader, Table, as_table, number_text};
use crate::report::{Finding, Place, echo, kind, list, nearest, suggestion};
use std::ops::Range;
use std::sync::Arc;
use toml::de::DeValue;

/// Where a key finds its value.
struct ColumnOf {
    field: &'static str,
    name: Placed<String>,
    unit: Option<String>,
    order: Option<DateOrder>,
}

/// A value that holds for every row: the key, its TOML text, and where it stands.
struct Held {
    field: &'static str,
    toml: String,
    place: Place,
}

/// What an entry says of a file.
pub(super) struct Mapping {
    fields: Vec<&'static str>,
    columns: Vec<ColumnOf>,
    only: Vec<(Placed<String>, Vec<String>)>,
    separator: Option<Separator>,
    header_line: usize,
    decimal: Option<DecimalSign>,
    held: Vec<Held>,
}

impl Mapping {
    pub(super) fn read(table: &Table<'_, '_>, fields: &[&'static str]) -> Option<Mapping> {
        let reader = table.reader();
        let columns = read_columns(table, fields);
        let only = read_only(table);
        let separator = match table.text("separator") {
            Some(text) => {
                let wanted = text.value.replace('\t', "tab");
                let found = Separator::ALL.into_iter().find(|one| one.word() == wanted);
                if found.is_none() {
                    reader.wrong(text.place, "`separator`", "\",\", \";\" or \"tab\"");
                    return None;
                }
                found
            }
            None => None,
        };
        let header_line = match table.number("header-line") {
            Some(number) => {
                let line =
                    (number.value.is_integer()).then(|| number.value.to_string().parse::<usize>().ok()).flatten();
                let Some(line) = line.filter(|line| *line >= 1) else {
                    reader.wrong(number.place, "`header-line`", "the number of a line, counted from 1");
                    return None;
                };
                line
            }
            None => 1,
        };
        let decimal = match table.text("decimal") {
            Some(text) => {
                let found = DecimalSign::ALL.into_iter().find(|one| one.text() == text.value);
                if found.is_none() {
                    reader.wrong(text.place, "`decimal`", "\",\" or \".\"");
                    return None;
                }
                found
            }
            None => None,
        };
        let mut held = Vec::new();
        for field in fields {
            let Some(value) = table.get(field) else { continue };
            let place = reader.place_of(value);
            let toml = reader.cutting.text.get(value.span()).unwrap_or_default().to_owned();
            if value.get_ref().is_table() && !toml.starts_with('{') {
                reader.wrong(place, &format!("`{field}`"), "written in one line, `{ … }`, beside a file of rows");
                return None;
            }
            held.push(Held { field, toml, place });
        }
        let (columns, only) = (columns?, only?);
        if let Some(twice) = held.iter().find(|one| columns.iter().any(|column| column.field == one.field)) {
            let what = format!("`{}` is said for every row and read from a column.", twice.field);
            reader.push(Finding::new(kind::WRONG_VALUE, twice.place.clone(), what).mend("Leave one of them out."));
            return None;
        }
        Some(Mapping { fields: fields.to_vec(), columns, only, separator, header_line, decimal, held })
    }

    /// The cells of the file that count, by key.
    pub(super) fn choose(
        &self,
        reader: &Reader<'_>,
        from: &Placed<String>,
        path: &Arc<str>,
        text: &str,
    ) -> Option<Data<'_>> {
        let start = start_of_line(text, self.header_line);
        let header_line = start.and_then(|start| text.get(start..)?.lines().next());
        let Some((start, line)) = start.zip(header_line).filter(|(_, line)| !line.trim().is_empty()) else {
            if text.trim().is_empty() {
                let what = format!("`{}` is empty.", echo(&from.value));
                let mend = "Save the readings into it; its first line names the columns.";
                reader.push(Finding::new(kind::NO_ROW_FILE, from.place.clone(), what).mend(mend));
                return None;
            }
            let what = format!("`{}` has no header in line {}.", echo(&from.value), self.header_line);
            let mend = "The header names the columns; say in which line it stands, counted from 1, with `header-line`.";
            reader.push(Finding::new(kind::NO_ROW_FILE, from.place.clone(), what).mend(mend));
            return None;
        };
        let separator = match (self.separator, Separator::in_line(line).as_slice()) {
            (Some(separator), _) => separator,
            (None, [one]) => *one,
            (None, []) => Separator::Comma,
            (None, several) => {
                let words: Vec<&str> = several.iter().map(|one| one.word()).collect();
                let what = format!("The header holds {}, and any of them may part the cells.", list(&words, "and"));
                let place = Place { path: Arc::clone(path), span: start..start + line.len() };
                let mend = "Say which it is in the block, beside `from`: `separator = \";\"`.";
                reader.push(Finding::new(kind::WHICH_SEPARATOR, place, what).mend(mend));
                return None;
            }
        };
        let mut all = rows(text, start, separator).into_iter();
        let header = all.next()?;
        let all: Vec<Vec<Cell>> = all.collect();
        if let Some(open) = header.iter().chain(all.iter().flatten()).find(|cell| cell.is_open) {
            let what = "This quotation mark is not closed, so that the rest of the file would be one cell.";
            let place = Place { path: Arc::clone(path), span: open.span.start..open.span.start + 1 };
            reader.push(
                Finding::new(kind::UNEVEN_ROW, place, what).mend("Close it, or write it twice where it is meant."),
            );
            return None;
        }
        let chosen = self.columns_in(reader, &header, path, text);
        let tests: Vec<Option<(usize, &[String])>> = self
            .only
            .iter()
            .map(|(name, values)| Some((find_column(reader, &header, name, text)?, values.as_slice())))
            .collect();
        let (chosen, tests) = (chosen?, tests.into_iter().collect::<Option<Vec<_>>>()?);
        let mut is_even = true;
        for row in all.iter().filter(|row| row.len() != header.len()) {
            is_even = false;
            self.say_uneven(reader, path, row, &header, separator);
        }
        if !is_even {
            return None;
        }
        if self.separator.is_none()
            && separator == Separator::Comma
            && let Some(span) = split_numbers(text, &all, &chosen)
        {
            let seen = echo(text.get(span.clone()).unwrap_or_default());
            let what = format!("`{seen}` may be two cells, or one number with a decimal comma.");
            let mend = "If they are two cells, say so in the block, beside `from`: `separator = \",\"`. If it is a number, save the file with semicolons, or the number in quotation marks.";
            let place = Place { path: Arc::clone(path), span };
            reader.push(Finding::new(kind::WHICH_SEPARATOR, place, what).mend(mend));
            return None;
        }
        let counts = |row: &Vec<Cell>| {
            tests.iter().all(|(column, values)| row.get(*column).is_some_and(|cell| values.contains(&cell.text)))
        };
        let n_all = all.len();
        let rows: Vec<Vec<Cell>> = all.into_iter().filter(counts).collect();
        if rows.is_empty()
            && n_all > 0
            && let Some((name, _)) = self.only.first()
        {
            let what = format!("None of the {n_all} rows of `{}` is one of these.", echo(&from.value));
            let mend = "Write the value as it stands in the file.";
            reader.push(Finding::new(kind::WRONG_VALUE, name.place.clone(), what).mend(mend));
            return None;
        }
        Some(Data { mapping: self, chosen, header, rows })
    }

    fn say_uneven(&self, reader: &Reader<'_>, path: &Arc<str>, row: &[Cell], header: &[Cell], separator: Separator) {
        let Some((first, last)) = row.first().zip(row.last()) else { return };
        let place = Place { path: Arc::clone(path), span: first.span.start..last.span.end };
        let (cells, columns) = (counted(row.len(), "cell"), counted(header.len(), "column"));
        let what = format!("This row has {cells}, and the header {columns}.");
        let mend = match separator == Separator::Comma && row.len() > header.len() {
            true => {
                "A decimal comma parts the cell in two: put the number in quotation marks, or save the file with semicolons."
            }
            false => "Complete the row; a cell may be empty.",
        };
        reader.push(Finding::new(kind::UNEVEN_ROW, place, what).mend(mend));
    }

    /// The column of each key that has one.
    fn columns_in(&self, reader: &Reader<'_>, header: &[Cell], path: &Arc<str>, text: &str) -> Option<Vec<Chosen<'_>>> {
        if !self.columns.is_empty() {
            let chosen: Vec<Option<Chosen<'_>>> = self
                .columns
                .iter()
                .map(|column| {
                    let at = find_column(reader, header, &column.name, text)?;
                    Some(Chosen { field: column.field, column: at, of: Some(column) })
                })
                .collect();
            return chosen.into_iter().collect();
        }
        // Without a word on the columns they have to be called as the keys are, all of them: one that is passed over may hold what was measured.
        let mut chosen = Vec::new();
        let (mut is_known, mut unknown) = (true, Vec::new());
        for (column, cell) in header.iter().enumerate() {
            let field = self.fields.iter().find(|field| field.eq_ignore_ascii_case(&cell.text));
            let is_test = self.only.iter().any(|(name, _)| name.value == cell.text);
            match field {
                Some(field) if chosen.iter().any(|one: &Chosen<'_>| one.field == *field) => {
                    let what = format!("There are two columns `{}`.", echo(&cell.text));
                    reader.push(
                        Finding::new(kind::UNKNOWN_COLUMN, cell.place(path), what)
                            .mend("Take one of them out, or call it otherwise."),
                    );
                    is_known = false;
                }
                Some(field) => chosen.push(Chosen { field, column, of: None }),
                None if is_test => {}
                None => unknown.push(cell),
            }
        }
        self.say_unknown(reader, &unknown, path);
        (is_known && unknown.is_empty()).then_some(chosen)
    }

    /// Columns whose name is no key, all at once: one may hold what was measured.
    fn say_unknown(&self, reader: &Reader<'_>, unknown: &[&Cell], path: &Arc<str>) {
        let Some((first, others)) = unknown.split_first() else { return };
        let names: Vec<String> = unknown.iter().map(|cell| echo(&cell.text)).collect();
        let what = match others {
            [] => format!("The column `{}` is none that is read here.", echo(&first.text)),
            _ => format!("The columns {} are none that are read here.", list(&names, "and")),
        };
        let known = list(&self.fields, "and");
        // With a slip in one name the rest of the file needs no words on it.
        let mend = match (others, nearest(&first.text, self.fields.iter().copied()).first()) {
            ([], Some(near)) => format!(
                "Did you mean `{near}`? Otherwise say in the block which columns are to be read, beside `from`, in `columns`."
            ),
            _ => format!(
                "Say in the block which columns are to be read, beside `from`: `columns = {{ {} = \"{}\", … }}`, with the right one for each key. Keys here: {known}.",
                self.fields.first().copied().unwrap_or_default(),
                echo(&first.text),
            ),
        };
        reader.push(Finding::new(kind::UNKNOWN_COLUMN, first.place(path), what).mend(mend));
    }
}

/// The first number that a decimal comma may have parted: a column in which all numbers are whole and each has a cell of one to three digits behind it, in a
/// column that gives no number of its own. A pH is never whole in all its readings.
fn split_numbers(text: &str, rows: &[Vec<Cell>], chosen: &[Chosen<'_>]) -> Option<Range<usize>> {
    let digits = |cell: &Cell| !cell.text.is_empty() && cell.text.bytes().all(|byte| byte.is_ascii_digit());
    let is_bare = |cell: &Cell| text.as_bytes().get(cell.span.start) != Some(&b'"');
    let is_number = |column: usize| chosen.iter().any(|one| one.column == column && NUMBERS.contains(&one.field));
    // What stands along a curve is whole often enough, and its file has no column to leave off.
    let is_asked = |one: &&Chosen<'_>| NUMBERS.contains(&one.field) && !["x", "y"].contains(&one.field);
    chosen.iter().filter(is_asked).find_map(|one| {
        if is_number(one.column + 1) && !["ph", "value"].contains(&one.field) {
            return None;
        }
        let filled: Vec<(&Cell, &Cell)> = rows
            .iter()
            .filter_map(|row| row.get(one.column).zip(row.get(one.column + 1)))
            .filter(|(cell, _)| !cell.text.is_empty())
            .collect();
        let may_be_one = |(cell, next): &(&Cell, &Cell)| {
            digits(cell) && is_bare(cell) && digits(next) && next.text.len() <= 3 && is_bare(next)
        };
        // A point, or a cell behind it that is no part of a number, tells how all are meant; numbers in quotation marks do not.
        let (first, next) = filled.iter().copied().find(may_be_one)?;
        let is_open = filled.iter().all(|pair| may_be_one(pair) || !is_bare(pair.0));
        is_open.then_some(first.span.start..next.span.end)
    })
}

fn counted(number: usize, of: &str) -> String {
    format!("{number} {of}{}", if number == 1 { "" } else { "s" })
}

/// Where a line begins, counted from 1.
fn start_of_line(text: &str, line: usize) -> Option<usize> {
    let mut starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1));
    starts.nth(line.saturating_sub(1))
}

/// The column of a name, which is written as in the header, but for upper and lower case.
fn find_column(reader: &Reader<'_>, header: &[Cell], name: &Placed<String>, text: &str) -> Option<usize> {
    let all = |same: &dyn Fn(&str) -> bool| -> Vec<usize> {
        header.iter().enumerate().filter(|(_, cell)| same(&cell.text)).map(|(at, _)| at).collect()
    };
    let wanted = name.value.trim();
    let mut found = all(&|text| text == wanted);
    if found.is_empty() {
        found = all(&|text| text.to_lowercase() == wanted.to_lowercase());
    }
    match found.as_slice() {
        [one] => Some(*one),
        [] => {
            let known: Vec<String> =
                header.iter().map(|cell| echo(&cell.text)).filter(|name| !name.is_empty()).collect();
            let what = format!("The file has no column `{}`.", echo(wanted));
            // Instruments write who and when above the header.
            let is_cell = |line: &str| {
                line.split([',', ';', '\t']).any(|cell| cell.trim().trim_matches('"').eq_ignore_ascii_case(wanted))
            };
            let is_header = |line: &str| known.iter().all(|name| line.contains(name.as_str()));
            let below = text.lines().take(30).position(|line| is_cell(line) && !is_header(line));
            let other = header
                .first()
                .filter(|_| header.len() == 1)
                .and_then(|one| Separator::in_line(&one.text).into_iter().next());
            let mend = match below {
                _ if let Some(other) = other => {
                    format!(
                        "The cells seem to be parted otherwise; say so beside `from`: `separator = \"{}\"`.",
                        other.word()
                    )
                }
                Some(line) => format!("It stands in line {0} of the file: `header-line = {0}`.", line + 1),
                None => {
                    let otherwise = format!("Its columns are {}.", list(&known, "and"));
                    suggestion(wanted, known.iter().map(String::as_str), &otherwise)
                }
            };
            reader.push(Finding::new(kind::UNKNOWN_COLUMN, name.place.clone(), what).mend(mend));
            None
        }
        several => {
            let what = format!("The file has {} columns `{}`.", several.len(), echo(wanted));
            reader
                .push(Finding::new(kind::UNKNOWN_COLUMN, name.place.clone(), what).mend("Call one of them otherwise."));
            None
        }
    }
}

fn read_columns(table: &Table<'_, '_>, fields: &[&'static str]) -> Option<Vec<ColumnOf>> {
    let reader = table.reader();
    if table.get("columns").is_none() {
        return Some(Vec::new());
    }
    let columns = table.table("columns")?;
    let mut read = Vec::new();
    for field in fields {
        let Some(value) = columns.get(field) else { continue };
        let place = reader.place_of(value);
        if let DeValue::String(name) = value.get_ref() {
            let name = Placed { value: name.to_string(), place };
            read.push(Some(ColumnOf { field, name, unit: None, order: None }));
            continue;
        }
        if !value.get_ref().is_table() {
            reader.wrong(place, &format!("`{field}`"), "the name of a column, or `{ name = \"Net\", unit = \"g\" }`");
            read.push(None);
            continue;
        }
        read.push(as_table(reader, field, value).and_then(|inner| read_column(reader, field, &inner)));
    }
    columns.finish();
    read.into_iter().collect()
}

fn read_column(reader: &Reader<'_>, field: &'static str, inner: &Table<'_, '_>) -> Option<ColumnOf> {
    let name = inner.text("name");
    if name.is_none() {
        let what = format!("The column of `{field}` has no `name`.");
        let mend = "Write it as it stands in the header: `name = \"Net\"`.";
        reader.push(Finding::new(kind::MISSING_KEY, inner.place().clone(), what).mend(mend));
    }
    let unit = inner.text("unit").map(|unit| unit.value.trim().to_owned());
    let order = match inner.text("order") {
        Some(text) => {
            let found = DateOrder::ALL.into_iter().find(|one| one.word() == text.value.trim());
            if found.is_none() || field != "date" {
                reader.wrong(
                    text.place,
                    "`order`",
                    "\"day month year\" or \"month day year\", and stands with a `date`",
                );
                return None;
            }
            found
        }
        None => None,
    };
    inner.finish();
    Some(ColumnOf { field, name: name?, unit, order })
}

fn read_only(table: &Table<'_, '_>) -> Option<Vec<(Placed<String>, Vec<String>)>> {
    let reader = table.reader();
    if table.get("only").is_none() {
        return Some(Vec::new());
    }
    let only = table.table("only")?;
    let wanted = "a text, or a list of texts, as they stand in the file";
    let all: Vec<Option<(Placed<String>, Vec<String>)>> = only
        .entries()
        .map(|(name, value)| {
            let text_of = |value: &DeValue<'_>| -> Option<String> {
                number_text(value).or(value.as_str()).map(|text| text.trim().to_owned())
            };
            let values: Option<Vec<String>> = match value.get_ref().as_array() {
                Some(items) => items.iter().map(|item| text_of(item.get_ref())).collect(),
                None => text_of(value.get_ref()).map(|one| vec![one]),
            };
            if values.is_none() {
                reader.wrong(reader.place_of(value), &format!("`{}`", echo(&name.value)), wanted);
            }
            Some((name, values?))
        })
        .collect();
    all.into_iter().collect()
}

/// Which column gives which key.
struct Chosen<'m> {
    field: &'static str,
    column: usize,
    of: Option<&'m ColumnOf>,
}

/// The rows that count.
pub(super) struct Data<'m> {
    mapping: &'m Mapping,
    chosen: Vec<Chosen<'m>>,
    header: Vec<Cell>,
    pub(super) rows: Vec<Vec<Cell>>,
}

impl Data<'_> {
    /// The table that a row stands for.
    pub(super) fn entry(&self, path: &Arc<str>, row: &[Cell]) -> Entry {
        let span = row.first().zip(row.last()).map_or(0..0, |(first, last)| first.span.start..last.span.end);
        let row_place = Place { path: Arc::clone(path), span };
        let mut entry =
            Entry { text: String::new(), pieces: Vec::new(), columns: Vec::new(), amiss: Vec::new(), row: row_place };
        for one in &self.mapping.held {
            entry.put(one.field, &one.toml, one.place.clone());
        }
        for chosen in &self.chosen {
            let Some(cell) = row.get(chosen.column).filter(|cell| !cell.text.is_empty()) else { continue };
            let place = cell.place(path);
            if let Some(name) = self.header.get(chosen.column) {
                let column = CellColumn { name: name.text.clone(), hint: chosen.hint(&name.text, &cell.text) };
                entry.columns.push((place.clone(), column));
            }
            let Some(text) = chosen.value(&cell.text, self.mapping.decimal) else {
                let sign = self.mapping.decimal.map_or("", DecimalSign::text);
                let what =
                    format!("`{}` does not keep to the decimal sign `{sign}` that the block says.", echo(&cell.text));
                let mend = "Correct the cell, or `decimal` where the whole file writes so.";
                entry.amiss.push(Finding::new(kind::NOT_AN_AMOUNT, place, what).mend(mend));
                continue;
            };
            entry.put(chosen.field, &toml::Value::String(text).to_string(), place);
        }
        entry
    }
}

impl Chosen<'_> {
    /// How to say in the block what this cell leaves open: the order of a date, the unit of a number, its decimal sign.
    fn hint(&self, name: &str, cell: &str) -> Option<String> {
        let (field, name) = (self.field, echo(name));
        if field == "date" {
            return self.date_hint(&name, cell);
        }
        if !NUMBERS.contains(&field) {
            return None;
        }
        if !cell.contains(|c: char| c.is_ascii_digit()) || cell.starts_with(char::is_alphabetic) {
            return Some("Leave the cell empty where nothing was measured; otherwise write the number alone, with its unit where the column has none.".to_owned());
        }
        let is_number = cell.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b',' | b'-'));
        let needs_unit = matches!(field, "weight" | "added") && self.of.is_none_or(|column| column.unit.is_none());
        (needs_unit && is_number)
            .then(|| format!("Say its unit in `columns`: `{field} = {{ name = \"{name}\", unit = \"g\" }}`."))
    }

    fn date_hint(&self, name: &str, cell: &str) -> Option<String> {
        let ask = |order: &str| format!("`date = {{ name = \"{name}\", order = {order} }}`");
        match self.of.and_then(|column| column.order) {
            None if cell.contains(['.', '/']) => {
                let orders = DateOrder::ALL.map(|order| format!("\"{}\"", order.word())).join(" or ");
                Some(format!("If the file writes dates so, say in which order, in `columns`: {}, {orders}.", ask("…")))
            }
            Some(order) if order.other().turned(day_of(cell)).is_some() => {
                let other = format!("\"{}\"", order.other().word());
                Some(format!(
                    "The block says `{}`, by which there is no such day. If the file writes the other order, say so: {}.",
                    order.word(),
                    ask(&other)
                ))
            }
            Some(order) => Some(format!("Look at the date again; by `{}` there is no such day.", order.word())),
            None => None,
        }
    }

    /// The value of a cell as the block writes it: a number with its unit, a date in the order of ISO 8601 and without the time of day. Nothing for a number
    /// that does not keep to the decimal sign.
    fn value(&self, cell: &str, decimal: Option<DecimalSign>) -> Option<String> {
        if self.field == "date" {
            let day = day_of(cell);
            let turned = self.of.and_then(|column| column.order).and_then(|order| order.turned(day));
            return Some(turned.unwrap_or_else(|| day.to_owned()));
        }
        if !NUMBERS.contains(&self.field) {
            return Some(cell.to_owned());
        }
        let number = numeral(cell, decimal)?;
        let unit = self.of.and_then(|column| column.unit.as_deref());
        let unit = unit.filter(|_| cell.ends_with(|c: char| c.is_ascii_digit()));
        Some(unit.map_or_else(|| number.clone(), |unit| format!("{number} {unit}")))
    }
}
