//! Reading TOML with the place of every key and value, and all mistakes at once.
//!
//! A thin layer over the `toml` crate's span-keeping, recovering parser. It knows where the text stands in its file (a block
//! inside a notebook may be indented or quoted), reports keys that nobody asked for, and turns typed numbers into exact
//! decimals by their digits as typed.

mod heads;
mod slips;

use super::rows::RowFiles;
use crate::quantity::{Decimal, NumberFault, read_decimal};
use crate::report::{Finding, Kind, Place, echo, kind, suggestion};
use heads::{Below, Level};
use slips::likely_mend;
use std::cell::RefCell;
use std::collections::BTreeSet;
use std::ops::Range;
use std::rc::Rc;
use std::sync::Arc;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value with the bytes of its file where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Placed<T> {
    /// The value.
    pub value: T,
    /// Where.
    pub place: Place,
}

/// In data files a value stands without its place.
impl<T: serde::Serialize> serde::Serialize for Placed<T> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.value.serialize(serializer)
    }
}

/// In data files what was not understood is nothing; with such a mistake no data is written.
pub(super) fn understood<T: serde::Serialize, E, S: serde::Serializer>(
    value: &Result<T, E>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serde::Serialize::serialize(&value.as_ref().ok(), serializer)
}

impl<T> Placed<T> {
    /// The same place with another value.
    pub fn with<U>(&self, value: U) -> Placed<U> {
        Placed { value, place: self.place.clone() }
    }
}

/// A piece of TOML text cut out of a file, and how its bytes map back to the file's.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cutting {
    /// The file.
    pub path: Arc<str>,
    /// The text as TOML sees it.
    pub text: String,
    /// For each stretch of the text: where it starts in the text, and where in the file. In order.
    pub starts: Vec<(usize, usize)>,
    /// The bytes of the whole block in the file, fences included.
    pub whole: Range<usize>,
    /// Whether the block was not closed, so that its text is not all its own.
    pub is_open: bool,
    /// Stretches of the text that were written out for something that stands elsewhere, in another file perhaps. In order.
    pub pieces: Vec<(Range<usize>, Place)>,
}

impl Cutting {
    /// A whole file.
    pub fn whole_file(path: &Arc<str>, text: &str) -> Cutting {
        Cutting {
            path: Arc::clone(path),
            text: text.to_owned(),
            starts: vec![(0, 0)],
            whole: 0..text.len(),
            is_open: false,
            pieces: Vec::new(),
        }
    }

    /// A text that was written out for `whole`, each piece of it for something of its own.
    pub(super) fn put_together(whole: &Place, text: String, pieces: Vec<(Range<usize>, Place)>) -> Cutting {
        let span = whole.span.clone();
        Cutting { path: Arc::clone(&whole.path), text, starts: Vec::new(), whole: span, is_open: false, pieces }
    }

    /// Whether it is a file by itself, and not a block of a notebook.
    fn is_whole_file(&self) -> bool {
        self.starts == [(0, 0)] && self.whole == (0..self.text.len())
    }

    /// Where a stretch of the text stands in the file.
    pub fn place(&self, span: Range<usize>) -> Place {
        if let Some((_, place)) =
            self.pieces.iter().find(|(piece, _)| piece.start <= span.start && span.end <= piece.end)
        {
            return place.clone();
        }
        Place { path: Arc::clone(&self.path), span: self.offset(span.start)..self.offset(span.end) }
    }

    /// The place of the block as a whole: its first line.
    pub fn head(&self) -> Place {
        Place { path: Arc::clone(&self.path), span: self.whole.start..self.whole.start }
    }

    fn offset(&self, position: usize) -> usize {
        let index = self.starts.partition_point(|(start, _)| *start <= position);
        match index.checked_sub(1).and_then(|index| self.starts.get(index)) {
            Some((start, file)) => (file + (position - start)).min(self.whole.end),
            None => self.whole.start,
        }
    }
}

/// Collects findings while reading one TOML text.
pub struct Reader<'a> {
    /// The text being read.
    pub cutting: &'a Cutting,
    findings: RefCell<Vec<Finding>>,
    row_files: &'a RowFiles,
    /// The files of rows that were asked for.
    asked_files: RefCell<BTreeSet<Arc<str>>>,
    /// The text as a whole, in which all tables stand.
    top: Rc<Level>,
    /// Keys below heads that may be meant for what is above.
    below: RefCell<Vec<Below>>,
}

impl<'a> Reader<'a> {
    /// Parses the text; syntax mistakes are kept as findings and what could be read is given to `read`.
    pub fn read<T>(cutting: &'a Cutting, read: impl FnOnce(&Reader<'a>, Table<'_, 'a>) -> T) -> (T, Vec<Finding>) {
        static NONE: RowFiles = RowFiles::new();
        Reader::read_with(cutting, &NONE, read)
    }

    /// [`Reader::read`], with the files that blocks may read rows from.
    pub fn read_with<T>(
        cutting: &'a Cutting,
        row_files: &'a RowFiles,
        read: impl FnOnce(&Reader<'a>, Table<'_, 'a>) -> T,
    ) -> (T, Vec<Finding>) {
        let (document, faults) = DeTable::parse_recoverable(&cutting.text);
        // One line, one message: a slip makes the parser stumble several times on the same line.
        let mut broken: Vec<Range<usize>> = Vec::new();
        let mut in_twin = false;
        let mut findings = Vec::new();
        for fault in faults {
            let span = fault.span().unwrap_or(0..0);
            let place = cutting.place(span.clone());
            let message = fault.message();
            if message.starts_with("duplicate key") {
                let name = echo(cutting.text.get(span.clone()).unwrap_or_default());
                let line = cutting.text.get(line_around(&cutting.text, span.start)).unwrap_or_default().trim();
                let what = format!("`{name}` is written twice in this table.");
                let finding = Finding::new(kind::WRITTEN_TWICE, place, what);
                let is_head = line.strip_prefix('[').and_then(|head| head.strip_suffix(']')) == Some(name.as_str());
                // What stands below the same head once more is twice there too.
                if in_twin && !line.starts_with('[') {
                    continue;
                }
                in_twin = is_head;
                findings.push(match is_head {
                    true => finding.mend(format!(
                        "One of several has two brackets on each side, `[[{name}]]`, where the block knows such; otherwise put all lines under one heading."
                    )),
                    false => finding,
                });
                continue;
            }
            let line = line_around(&cutting.text, span.start);
            let in_file = cutting.place(line.clone()).span;
            if broken.contains(&in_file) {
                continue;
            }
            broken.push(in_file);
            let finding = Finding::new(kind::NOT_TOML, place, format!("This is not TOML: {message}."));
            findings.push(match likely_mend(cutting.text.get(line).unwrap_or_default()) {
                Some(mend) => finding.mend(mend),
                None => finding,
            });
        }
        let reader = Reader {
            cutting,
            findings: RefCell::default(),
            row_files,
            asked_files: RefCell::default(),
            top: Level::new(0..0, None),
            below: RefCell::default(),
        };
        let table = Table {
            reader: &reader,
            table: document.get_ref(),
            place: cutting.head(),
            level: Rc::clone(&reader.top),
            taken: RefCell::default(),
        };
        let value = read(&reader, table);
        reader.judge_keys_below_heads();
        // One cause, one message: what was made of a place that is not TOML says nothing, and keys after a broken section
        // head only seem to stand in the wrong table.
        let first = broken.iter().map(|line| line.start).min();
        findings.extend(reader.findings.into_inner().into_iter().filter(|finding| {
            let start = finding.place.span.start;
            let on_broken_line = broken.iter().any(|line| line.start <= start && start <= line.end);
            let is_of_key = finding.kind == kind::UNKNOWN_KEY || finding.kind == kind::KEY_BELOW_HEAD;
            let misplaced = is_of_key && first.is_some_and(|first| first < start);
            !on_broken_line && !misplaced
        }));
        (value, findings)
    }

    /// Says which keys below heads are keys of what is above, when everything was asked for. What else was made of them says nothing.
    fn judge_keys_below_heads(&self) {
        for below in self.below.take() {
            if below.swallowed(self.cutting).is_some() {
                self.findings.borrow_mut().retain(|finding| !below.holds(&finding.place));
            }
            self.findings.borrow_mut().extend(below.finding(self.cutting));
        }
    }

    /// The files that blocks may read rows from.
    pub(super) fn row_files(&self) -> &'a RowFiles {
        self.row_files
    }

    /// Notes that a file of rows is read, or would be if it were there.
    pub(super) fn note_row_file(&self, path: &Arc<str>) {
        self.asked_files.borrow_mut().insert(Arc::clone(path));
    }

    /// The files of rows that were asked for, by path from the collection's folder.
    pub(super) fn asked_files(&self) -> Vec<Arc<str>> {
        self.asked_files.borrow().iter().cloned().collect()
    }

    /// Adds a finding.
    pub fn push(&self, finding: Finding) {
        self.findings.borrow_mut().push(finding);
    }

    /// The place of a spanned value.
    pub fn place_of<T>(&self, spanned: &Spanned<T>) -> Place {
        self.cutting.place(spanned.span())
    }

    /// Reports a value that does not fit; `wanted` completes "… must be".
    pub fn wrong(&self, place: Place, what: &str, wanted: &str) {
        self.push(
            Finding::new(kind::WRONG_VALUE, place, format!("{what} must be {wanted}."))
                .mend(format!("Write {wanted}.")),
        );
    }
}

/// The line of a text that a position stands on, without its end.
fn line_around(text: &str, position: usize) -> Range<usize> {
    let position = position.min(text.len());
    let start = text.get(..position).and_then(|before| before.rfind('\n')).map_or(0, |newline| newline + 1);
    let length = text.get(start..).and_then(|rest| rest.lines().next()).map_or(0, str::len);
    start..start + length
}

/// One TOML table being read. Every key asked for is remembered; [`Table::finish`] reports the others.
pub struct Table<'t, 'a> {
    reader: &'t Reader<'a>,
    table: &'t DeTable<'a>,
    place: Place,
    level: Rc<Level>,
    /// Keys that the reader of the table has taken in whatever they are called.
    taken: RefCell<Vec<String>>,
}

impl<'t, 'a> Table<'t, 'a> {
    /// Where the table stands.
    pub fn place(&self) -> &Place {
        &self.place
    }

    /// The reader, for findings.
    pub fn reader(&self) -> &'t Reader<'a> {
        self.reader
    }

    /// The raw value of a key.
    pub fn get(&self, key: &'static str) -> Option<&'t Spanned<DeValue<'a>>> {
        self.level.ask(key);
        self.table.get(key)
    }

    /// All entries in the order written.
    pub fn entries(&self) -> impl Iterator<Item = (Placed<String>, &'t Spanned<DeValue<'a>>)> + use<'t, 'a> {
        let reader = self.reader;
        self.table
            .iter()
            .map(move |(key, value)| (Placed { value: key.get_ref().to_string(), place: reader.place_of(key) }, value))
    }

    /// The entries that were not asked for by name, in the order written.
    pub fn others(&self) -> Vec<(Placed<String>, &'t Spanned<DeValue<'a>>)> {
        let asked = self.level.asked();
        self.entries().filter(|(key, _)| !asked.contains(&key.value.as_str())).collect()
    }

    /// The entries whose names the author chooses, without those that are keys of this table. One that is a key of what the table stands in is an error
    /// where it stands below a head.
    pub fn names(&self) -> Vec<(Placed<String>, &'t Spanned<DeValue<'a>>)> {
        let mut names = self.others();
        names.retain(|(key, value)| {
            let is_above = self.is_below_head() && self.level.meant(&key.value).is_some();
            self.note_below(key, value, None);
            !is_above
        });
        names
    }

    fn is_below_head(&self) -> bool {
        self.level.head(self.reader.cutting).is_some()
    }

    /// Keeps a key until all keys of what is above are known.
    fn note_below(&self, key: &Placed<String>, value: &Spanned<DeValue<'a>>, otherwise: Option<Finding>) {
        if !self.is_below_head() {
            self.reader.findings.borrow_mut().extend(otherwise);
            return;
        }
        let end = self.reader.place_of(value).span.end.max(key.place.span.end);
        let entry = Place { path: Arc::clone(&key.place.path), span: key.place.span.start..end };
        let below = Below { key: key.clone(), entry, level: Rc::clone(&self.level), otherwise };
        self.reader.below.borrow_mut().push(below);
    }

    /// Takes in a key whose name the author chose, so that it is not reported as unknown.
    pub fn take(&self, key: &str) {
        self.taken.borrow_mut().push(key.to_owned());
    }

    /// Reports keys that were not asked for, with the nearest known one.
    pub fn finish(&self) {
        let asked = self.level.asked();
        let taken = self.taken.borrow();
        for (key, value) in self.others().into_iter().filter(|(key, _)| !taken.contains(&key.value)) {
            let known = format!("Known here: {}.", crate::report::list(&sorted(&asked), "and"));
            let what = format!("`{}` is not a key of this table.", echo(&key.value));
            let mend = suggestion(&key.value, asked.iter().copied(), &known);
            let finding = Finding::new(kind::UNKNOWN_KEY, key.place.clone(), what).mend(mend);
            self.note_below(&key, value, Some(finding));
        }
    }

    /// A text value.
    pub fn text(&self, key: &'static str) -> Option<Placed<String>> {
        let value = self.get(key)?;
        match value.get_ref() {
            DeValue::String(text) => Some(Placed { value: text.to_string(), place: self.reader.place_of(value) }),
            _ => {
                self.reader.wrong(self.reader.place_of(value), &format!("`{key}`"), "text in double quotes");
                None
            }
        }
    }

    /// A text value, or a number taken as text: for versions and the like.
    pub fn text_or_number(&self, key: &'static str) -> Option<Placed<String>> {
        let value = self.get(key)?;
        match number_text(value.get_ref()) {
            Some(text) => Some(Placed { value: text.to_owned(), place: self.reader.place_of(value) }),
            None => self.text(key),
        }
    }

    /// A yes or no.
    pub fn boolean(&self, key: &'static str) -> Option<bool> {
        let value = self.get(key)?;
        let answer = value.get_ref().as_bool();
        if answer.is_none() {
            self.reader.wrong(self.reader.place_of(value), &format!("`{key}`"), "`true` or `false`");
        }
        answer
    }

    /// A list of texts.
    pub fn texts(&self, key: &'static str) -> Vec<Placed<String>> {
        let Some(value) = self.get(key) else { return Vec::new() };
        let Some(items) = value.get_ref().as_array() else {
            self.reader.wrong(self.reader.place_of(value), &format!("`{key}`"), "a list of texts in square brackets");
            return Vec::new();
        };
        let mut texts = Vec::new();
        for item in items.iter() {
            match item.get_ref() {
                DeValue::String(text) => {
                    texts.push(Placed { value: text.to_string(), place: self.reader.place_of(item) });
                }
                _ => self.reader.wrong(self.reader.place_of(item), "Each of these", "text in double quotes"),
            }
        }
        texts
    }

    /// A plain number, digits as typed.
    pub fn number(&self, key: &'static str) -> Option<Placed<Decimal>> {
        let value = self.get(key)?;
        let place = self.reader.place_of(value);
        match number_text(value.get_ref()) {
            Some(text) => read_number(self.reader, text, &place).map(|number| Placed { value: number, place }),
            None => {
                self.reader.wrong(place, &format!("`{key}`"), "a plain number");
                None
            }
        }
    }

    /// A plain number or a list of them, digits as typed.
    pub fn numbers(&self, key: &'static str) -> Vec<Placed<Decimal>> {
        let Some(value) = self.get(key) else { return Vec::new() };
        let Some(items) = value.get_ref().as_array() else { return self.number(key).into_iter().collect() };
        let mut numbers = Vec::new();
        for item in items.iter() {
            let place = self.reader.place_of(item);
            match number_text(item.get_ref()) {
                Some(text) => {
                    let number = read_number(self.reader, text, &place);
                    numbers.extend(number.map(|value| Placed { value, place }));
                }
                None => self.reader.wrong(place, "Each of these", "a plain number"),
            }
        }
        numbers
    }

    /// A table within the table.
    pub fn table(&self, key: &'static str) -> Option<Table<'t, 'a>> {
        let value = self.get(key)?;
        self.inside(key, value)
    }

    /// A value of this table as a table, or a finding.
    pub fn inside(&self, key: &str, value: &'t Spanned<DeValue<'a>>) -> Option<Table<'t, 'a>> {
        table_in(self.reader, key, value, &self.level)
    }

    /// A list of tables (`[[name]]`, or inline).
    pub fn tables(&self, key: &'static str) -> Vec<Table<'t, 'a>> {
        let Some(value) = self.get(key) else { return Vec::new() };
        match value.get_ref() {
            DeValue::Array(items) => items.iter().filter_map(|item| self.inside(key, item)).collect(),
            _ => self.inside(key, value).into_iter().collect(),
        }
    }
}

fn sorted<'s>(asked: &[&'s str]) -> Vec<&'s str> {
    let mut names = asked.to_vec();
    names.sort_unstable();
    names.dedup();
    names
}

/// A value as a table, or a finding.
pub fn as_table<'t, 'a>(reader: &'t Reader<'a>, key: &str, value: &'t Spanned<DeValue<'a>>) -> Option<Table<'t, 'a>> {
    table_in(reader, key, value, &reader.top)
}

fn table_in<'t, 'a>(
    reader: &'t Reader<'a>,
    key: &str,
    value: &'t Spanned<DeValue<'a>>,
    above: &Rc<Level>,
) -> Option<Table<'t, 'a>> {
    let place = reader.place_of(value);
    match value.get_ref() {
        DeValue::Table(table) => {
            let level = Level::new(value.span(), Some(Rc::clone(above)));
            Some(Table { reader, table, place, level, taken: RefCell::default() })
        }
        _ => {
            reader.wrong(place, &format!("`{}`", echo(key)), "a table (`{ … }` or a section of its own)");
            None
        }
    }
}

/// The digits of a number as typed, if the value is a number. Only decimal digits count: a hexadecimal number is no amount.
pub fn number_text<'v>(value: &'v DeValue<'_>) -> Option<&'v str> {
    match value {
        DeValue::Integer(integer) if integer.radix() == 10 => Some(integer.as_str()),
        DeValue::Float(float) => Some(float.as_str()),
        _ => None,
    }
}

/// Reads a decimal and reports what is wrong with it.
pub fn read_number(reader: &Reader<'_>, text: &str, place: &Place) -> Option<Decimal> {
    read_decimal(text).map_err(|fault| reader.push(number_finding(fault, text, place))).ok()
}

/// The finding for a text that is no number.
pub(super) fn number_finding(fault: NumberFault, text: &str, place: &Place) -> Finding {
    let kind: &'static Kind = match fault {
        NumberFault::AmbiguousComma | NumberFault::Thousands => kind::AMBIGUOUS_NUMBER,
        _ => kind::NOT_AN_AMOUNT,
    };
    Finding::new(kind, place.clone(), format!("`{}` {}.", echo(text), fault.sentence()))
}

/// What was written and understood, or not written; nothing when it was written and not understood.
#[expect(clippy::option_option, reason = "missing and not understood are two things")]
pub(super) fn flat<T>(value: Option<Option<T>>) -> Option<Option<T>> {
    match value {
        Some(None) => None,
        Some(some) => Some(some),
        None => Some(None),
    }
}
