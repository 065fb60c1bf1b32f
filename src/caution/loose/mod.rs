//! Numbers in the prose that say something else than the formula beside them, without being calc links.
//!
//! A sentence is read as names, quantities and other words (`words.rs`, `quantity.rs`, `names.rs`); which quantity is said of
//! which name is told by the words between them (`grammar.rs`), and what the formula gives for it by `compare.rs`. The words
//! are a list of the catalogue ([`LooseWords`]). A number is never accused in doubt: where a sentence speaks of what is usual, of
//! another version, batch or product, of a part or a change, or where any formula of the notebook agrees, nothing is said.
//! English only.

mod compare;
mod grammar;
mod names;
mod quantity;
mod scope;
mod table;
mod words;

use crate::block::{Addition, Body, Share};
use crate::compute::{Computed, Figure, Value};
use crate::material::{Catalogue, LooseWords};
use crate::model::Settings;
use crate::notebook::{Meant, Notebook, ProseText};
use crate::quantity::{Decimal, MassUnit, show, split_number};
use crate::report::{Finding, Kind, Place, Severity, echo};
use compare::Subject;
use grammar::{Sentence, Statement, mentions};
use names::{Names, What};
use quantity::{Quantity, Unit, quantities, with_plain_numbers};
use scope::{Size, Sizes};
use std::cell::OnceCell;
use std::ops::Range;
use std::sync::Arc;
use words::{Token, any_stands, sentences};

/// The kinds raised here.
pub(super) const KINDS: &[&Kind] = &[LOOSE, AGREEING];

const LOOSE: &Kind = &Kind {
    name: "loose-number",
    severity: Severity::Caution,
    summary: "A number in a sentence that is not what the formula gives, and no calc link.",
    why: "Who reads the sentence follows it, and weighs something else than the sheet says.",
    mend: "Write a calc link in its place, which is always what the formula gives. A number that means something else is marked: `[12 g](quoted: \"what the book says\")`.",
};

const AGREEING: &Kind = &Kind {
    name: "agreeing-number",
    severity: Severity::Note,
    summary: "A number in a sentence that is what the formula gives, but no calc link; listed by `proofread --loose`.",
    why: "When the formula changes, the number stays as it is.",
    mend: "Write a calc link in its place.",
};

/// How a figure is printed, in a unit of mass where one is wanted.
pub(crate) type Show<'a> = &'a dyn Fn(&Value, Option<MassUnit>) -> String;

/// What a judgement needs besides the notebook.
#[derive(Clone, Copy)]
pub(crate) struct Means<'a> {
    pub catalogue: &'a Catalogue,
    pub settings: &'a Settings,
    pub show: Show<'a>,
    /// Whether the numbers that agree are wanted as well.
    pub all: bool,
}

/// Judges the prose of a notebook. `computed` gives each formula as computed.
pub(crate) fn judge<'a>(
    notebook: &'a Notebook,
    computed: impl Fn(usize) -> Option<&'a Computed>,
    means: Means<'a>,
) -> Vec<Finding> {
    let is_english = means.settings.language.split('-').next().is_some_and(|tag| tag.eq_ignore_ascii_case("en"));
    let formulas: Vec<(usize, &Computed)> =
        (0..notebook.formulas.len()).filter_map(|index| Some((index, computed(index)?))).collect();
    if !is_english || formulas.is_empty() {
        return Vec::new();
    }
    let words = LooseWords::built_in();
    let names = Names::of(words, &formulas);
    let mut judge = Judge { notebook, words, names, formulas, means, elsewhere: OnceCell::new(), findings: Vec::new() };
    judge.go_through_prose();
    judge.go_through_blocks();
    let mut findings = judge.findings;
    findings.sort_by_key(|finding| finding.place.span.start);
    findings
}

struct Judge<'a> {
    notebook: &'a Notebook,
    words: &'static LooseWords,
    names: Names,
    formulas: Vec<(usize, &'a Computed)>,
    means: Means<'a>,
    /// Quantities that blocks of other kinds hold.
    elsewhere: OnceCell<Vec<Quantity>>,
    findings: Vec<Finding>,
}

/// What is known about a sentence before it is read.
#[derive(Clone, Copy)]
struct Around {
    /// The formula in whose section it stands.
    home: Option<usize>,
    /// Whether calc links work where it stands.
    has_links: bool,
}

impl<'a> Judge<'a> {
    /// The quantities in blocks that are no formulas: who repeats one of them does not speak of the formula.
    fn numbers_of_blocks(&self) -> Vec<Quantity> {
        let mut found = Vec::new();
        for block in &self.notebook.blocks {
            if let Some(Body::Method(method)) = &block.body {
                // Its words are judged themselves; what its steps add in part is no slip.
                let additions = method.steps.iter().flat_map(|step| &step.add);
                found.extend(additions.filter_map(|addition| match addition.value {
                    Addition::Line { share: Share::Weight(mass), .. } => Some(Quantity::grams(mass.grams())),
                    _ => None,
                }));
                continue;
            }
            for sentence in sentences(&self.notebook.text, block.place.span.clone()) {
                found.extend(quantities(self.words, &sentence));
            }
        }
        found.retain(|quantity| quantity.unit != Unit::None);
        found
    }

    fn go_through_prose(&mut self) {
        let notebook = self.notebook;
        let prose = &notebook.prose;
        let mut sizes = Sizes::default();
        let (mut section_is_elsewhere, mut next_is_elsewhere) = (false, false);
        for block in &prose.blocks {
            let Some(text) = prose.text.get(block.text.clone()) else { continue };
            let at = prose.bytes_of(block.text.start..block.text.start).start;
            if block.is_heading {
                section_is_elsewhere = self.leads_elsewhere(block.text.clone()) || self.is_about_another_block(at);
                sizes = Sizes::default();
            }
            let is_elsewhere = section_is_elsewhere || next_is_elsewhere;
            next_is_elsewhere = false;
            sizes.next_block();
            if let Some(table) = table::Table::of(notebook, block) {
                if !is_elsewhere {
                    self.read_table(&table, at, &mut sizes);
                }
                continue;
            }
            let mut start = block.text.start;
            let mut rest_is_elsewhere = false;
            for line in text.split_inclusive('\n') {
                let span = start..start + line.len();
                start = span.end;
                let opens = line.trim_end().ends_with(':');
                let leads = opens && self.leads_elsewhere(span.clone());
                if !is_elsewhere && !rest_is_elsewhere && !section_is_elsewhere {
                    let around = Around { home: self.home_of(at), has_links: true };
                    self.read(&prose.text, span, &around, &mut sizes, &|span| plain_bytes(prose, span));
                }
                sizes.end_line(opens || block.is_heading);
                rest_is_elsewhere |= leads;
                next_is_elsewhere = leads;
            }
        }
    }

    /// Reads a table: the sentences in its cells, and the rows that begin with a name, by the heads of their columns.
    fn read_table(&mut self, table: &table::Table, at: usize, sizes: &mut Sizes) {
        let prose = &self.notebook.prose;
        let around = Around { home: self.home_of(at), has_links: true };
        let heads: Vec<table::Head> = table
            .heads()
            .map(|cell| {
                table::Head::of(self.words, sentences(&prose.text, cell.clone()).concat(), self.own_batch(around.home))
            })
            .collect();
        for row in table.rows() {
            let cells: Vec<Vec<Token<'_>>> =
                row.iter().map(|cell| sentences(&prose.text, cell.clone()).concat()).collect();
            let Some(first) = cells.first() else { continue };
            if any_stands(&self.words.elsewhere, first) || any_stands(&self.words.sections, first) {
                continue;
            }
            for ((cell, tokens), head) in row.iter().zip(&cells).zip(&heads) {
                if head.leads_elsewhere {
                    continue;
                }
                self.read(&prose.text, cell.clone(), &around, sizes, &|span| plain_bytes(prose, span));
                let is_first = Some(cell) == row.first();
                if !is_first && head.is_figure && !self.adds_up(table, row, cell, first) {
                    let found = self.read_cell(first, tokens, head, &around, sizes);
                    self.findings.extend(found);
                }
            }
        }
    }

    /// Whether a cell in a row of totals is what the rows above it add up to. Where they do not come to the whole formula, the
    /// total is none of it, and that counts as well.
    fn adds_up(&self, table: &table::Table, row: &[Range<usize>], cell: &Range<usize>, first: &[Token<'_>]) -> bool {
        let names = mentions(&self.names, first);
        if !names.first().is_some_and(|mention| mention.name.what == What::Sum) {
            return false;
        }
        let text = &self.notebook.prose.text;
        let Some(column) = row.iter().position(|one| one == cell) else { return true };
        let quantity_in = |cell: &Range<usize>| {
            let tokens = sentences(text, cell.clone()).concat();
            with_plain_numbers(self.words, &tokens).into_iter().next()
        };
        let above = table.rows().take_while(|other| other.first() != row.first());
        let parts: Option<Vec<Quantity>> = above.map(|other| quantity_in(other.get(column)?)).collect();
        let (Some(parts), Some(total)) = (parts, quantity_in(cell)) else { return true };
        let sum: Decimal = parts.iter().map(|part| part.low).sum();
        let lines =
            self.formulas.iter().map(|(_, computed)| computed.formula.lines().count()).max().unwrap_or_default();
        sum == total.low || parts.len() < lines || parts.iter().any(|part| part.unit != total.unit)
    }

    /// A cell that is a quantity and nothing else, in a row whose first cell is a name and nothing else.
    fn read_cell(
        &self,
        first: &[Token<'_>],
        tokens: &[Token<'_>],
        head: &table::Head,
        around: &Around,
        sizes: &Sizes,
    ) -> Option<Finding> {
        let prose = &self.notebook.prose;
        let all: Vec<Token<'_>> = first.iter().chain(tokens).copied().collect();
        let names: Vec<_> =
            mentions(&self.names, first).into_iter().filter(|mention| mention.tokens == (0..first.len())).collect();
        let mut quantity =
            with_plain_numbers(self.words, tokens).into_iter().next().filter(|one| one.tokens == (0..tokens.len()))?;
        if matches!(names.first()?.name.what, What::Ph | What::Batch | What::Making) {
            return None;
        }
        if quantity.unit == Unit::None {
            quantity.unit = head.unit?;
        }
        (quantity.first, quantity.tokens) = (first.len() + quantity.first, first.len()..all.len());
        let quantities = [quantity];
        let sentence = Sentence { words: self.words, tokens: &all, quantities: &quantities, names: &names };
        let statement = Statement { quantity: 0, name: 0, is_part: false, before: false, is_active: false };
        self.judge(&sentence, &statement, around, sizes, &[], &|span| plain_bytes(prose, span))
    }

    /// Whether a heading, or a line that ends with a colon, says that what follows is not about the formula as it stands.
    fn leads_elsewhere(&self, span: Range<usize>) -> bool {
        sentences(&self.notebook.prose.text, span).iter().any(|tokens| any_stands(&self.words.sections, tokens))
    }

    /// Whether the section that begins at a byte holds blocks that reckon something of their own, and no formula.
    fn is_about_another_block(&self, at: usize) -> bool {
        let notebook = self.notebook;
        let headings = notebook.prose.blocks.iter().filter(|block| block.is_heading);
        let end = headings
            .map(|block| notebook.prose.bytes_of(block.text.start..block.text.start).start)
            .find(|start| *start > at)
            .unwrap_or(notebook.text.len());
        let section = at..end;
        let reckons = |body: &Body| {
            matches!(
                body,
                Body::Buffer(_)
                    | Body::Dilution(_)
                    | Body::Curve(_)
                    | Body::Titration(_)
                    | Body::Filling(_)
                    | Body::Label(_)
                    | Body::Saponification(_)
                    | Body::Workings(_)
            )
        };
        let others = notebook
            .blocks
            .iter()
            .any(|block| section.contains(&block.place.span.start) && block.body.as_ref().is_none_or(reckons));
        others && !notebook.formulas.iter().any(|block| section.contains(&block.place.span.start))
    }

    /// The formula in whose part of the notebook a byte lies: the last that begins before it, or the first.
    fn home_of(&self, at: usize) -> Option<usize> {
        let before = self.notebook.formulas.iter().filter(|block| block.place.span.start <= at).count();
        let index = before.saturating_sub(1);
        self.formulas.iter().any(|(known, _)| *known == index).then_some(index)
    }

    /// Remarks of formulas and the words of methods, where their place can be told exactly.
    fn go_through_blocks(&mut self) {
        let notebook = self.notebook;
        let mut texts: Vec<(&str, &Place, Option<usize>)> = Vec::new();
        for (index, block) in notebook.formulas.iter().enumerate() {
            let lines = block.phases.iter().flat_map(|phase| &phase.lines);
            let notes = block.phases.iter().map(|phase| &phase.note).chain(lines.map(|line| &line.note));
            texts.extend(block.note.iter().map(|note| (note.value.as_str(), &note.place, Some(index))));
            texts.extend(notes.flatten().map(|note| (note.as_str(), &block.place, Some(index))));
        }
        for block in &notebook.blocks {
            let Some(Body::Method(method)) = &block.body else { continue };
            let home = notebook.formulas.iter().position(|one| one.id.value == method.formula.value);
            texts.extend(method.steps.iter().map(|step| (step.words.value.as_str(), &step.words.place, home)));
        }
        for (text, place, home) in texts {
            let home = home.filter(|index| self.formulas.iter().any(|(known, _)| known == index));
            let around = Around { home, has_links: false };
            self.read(text, 0..text.len(), &around, &mut Sizes::default(), &|span| {
                let inner = super::claims::inner_place(&notebook.text, place, text, span);
                (!inner.span.is_empty()).then_some(inner.span)
            });
        }
    }

    /// Reads a part of a text, a line or less. `bytes` gives the place of a part of it, if it is meant as it stands there.
    fn read(
        &mut self,
        text: &str,
        span: Range<usize>,
        around: &Around,
        sizes: &mut Sizes,
        bytes: &dyn Fn(Range<usize>) -> Option<Range<usize>>,
    ) {
        for tokens in sentences(text, span) {
            let quantities = quantities(self.words, &tokens);
            if quantities.is_empty() {
                continue;
            }
            let names = mentions(&self.names, &tokens);
            let sentence = Sentence { words: self.words, tokens: &tokens, quantities: &quantities, names: &names };
            let statements = sentence.statements();
            let others = scope::other_sizes(&sentence, &statements, self.own_batch(around.home));
            sizes.add(&others);
            if statements.is_empty() || self.is_elsewhere(&sentence, around) {
                continue;
            }
            let Some(whole) = bytes(tokens.first().map_or(0, |t| t.start)..tokens.last().map_or(0, |t| t.end)) else {
                continue;
            };
            if self.leads_to_another_page(&whole) {
                continue;
            }
            let mut found = Vec::new();
            for statement in &statements {
                found.extend(self.judge(&sentence, statement, around, sizes, &others, bytes));
            }
            self.findings.extend(found);
        }
    }

    fn own_batch(&self, home: Option<usize>) -> Option<&'a Computed> {
        self.formulas.iter().find(|(index, _)| Some(*index) == home).map(|(_, computed)| *computed)
    }

    /// Whether a sentence says that its numbers are no figures of a formula as it stands.
    fn is_elsewhere(&self, sentence: &Sentence<'_, '_, '_>, around: &Around) -> bool {
        let tokens = sentence.tokens;
        let marks = |token: &Token<'_>| token.is_mark('?') || self.words.money.iter().any(|sign| token.text == sign);
        tokens.iter().any(marks)
            || any_stands(&self.words.elsewhere, tokens)
            || self.is_about_another_product(tokens, around)
    }

    /// Whether a sentence names a kind of product that its formula is not.
    fn is_about_another_product(&self, tokens: &[Token<'_>], around: &Around) -> bool {
        let Some(home) = around.home.and_then(|index| self.notebook.formulas.get(index)) else { return false };
        let mut own = self.notebook.title.filled(|_| String::new()).to_lowercase();
        for text in [Some(&home.id), home.title.as_ref(), home.product.as_ref()].into_iter().flatten() {
            own.push(' ');
            own.push_str(&text.value.to_lowercase().replace('-', " "));
        }
        if let Some(product) = home.product.as_ref().and_then(|name| self.means.catalogue.product(&name.value)) {
            own.push_str(&format!(" {} {}", product.name, product.also.join(" ")));
        }
        let stands = |phrase: &[String]| (0..tokens.len()).any(|at| words::phrase_end(phrase, tokens, at).is_some());
        let kinds =
            self.means.catalogue.products().iter().flat_map(|product| product.also.iter().chain([&product.name]));
        let kinds = kinds.map(|name| name.split([' ', '-']).map(str::to_lowercase).collect::<Vec<String>>());
        let words = self.words.product_words.iter().map(|word| vec![word.clone()]);
        let is_no_product = any_stands(&self.words.not_products, tokens);
        !is_no_product && kinds.chain(words).any(|phrase| stands(&phrase) && !own.contains(&phrase.join(" ")))
    }

    /// Whether a link to another notebook stands within these bytes.
    fn leads_to_another_page(&self, bytes: &Range<usize>) -> bool {
        self.notebook.links.iter().any(|link| {
            bytes.contains(&link.place.span.start)
                && link.target.as_ref().is_some_and(|target| *target != self.notebook.path && target.ends_with(".md"))
        })
    }

    fn judge(
        &self,
        sentence: &Sentence<'_, '_, '_>,
        statement: &Statement,
        around: &Around,
        sizes: &Sizes,
        others: &[Size],
        bytes: &dyn Fn(Range<usize>) -> Option<Range<usize>>,
    ) -> Option<Finding> {
        let quantity = sentence.quantities.get(statement.quantity)?;
        let mention = sentence.names.get(statement.name)?;
        let in_quotes = sentence.tokens.get(quantity.tokens.clone())?.iter().any(|token| token.in_quotes);
        let near = any_stands(&self.words.elsewhere_near, sentence.clause(statement, false))
            || any_stands(&self.words.elsewhere_past, sentence.clause(statement, true));
        if in_quotes || near || (mention.name.what == What::Ph && !scope::is_specification(sentence)) {
            return None;
        }
        if statement.is_part && (quantity.unit == Unit::Percent || mention.name.what == What::Phase) {
            return None;
        }
        let first = sentence.tokens.get(quantity.tokens.start)?;
        let last = sentence.tokens.get(quantity.tokens.end.checked_sub(1)?)?;
        let span = bytes(first.start..last.end)?;
        let source = self.notebook.text.get(span.clone()).unwrap_or_default();
        let place = Place { path: Arc::clone(&self.notebook.path), span };
        let said = Said {
            quantity,
            place,
            written: source.split_whitespace().collect::<Vec<_>>().join(" "),
            has_links: around.has_links,
        };
        let (in_phase, may_be_strength) = (sentence.names_a_phase(), sentence.is_close(statement));
        let subjects: Vec<(usize, Subject<'_>)> = self
            .formulas
            .iter()
            .filter_map(|(index, computed)| {
                let (_, of) = mention.name.of.iter().find(|(formula, _)| formula == index)?;
                Some((
                    *index,
                    Subject {
                        computed,
                        what: mention.name.what,
                        of,
                        in_phase,
                        is_active: statement.is_active,
                        may_be_strength,
                    },
                ))
            })
            .collect();
        // Another batch of which the sentence, or the text before it, speaks.
        let is_mass = quantity.is_mass();
        let mut batches: Vec<Option<&str>> = vec![None];
        if is_mass && !matches!(mention.name.what, What::Batch | What::Making | What::Sum) {
            batches.extend(sizes.all().map(Some));
        }
        for batch in &batches {
            for (_, subject) in &subjects {
                let Some(figure) = subject.figure(quantity.unit, *batch) else { continue };
                if subject.may_agree(quantity, &figure, *batch) {
                    let wanted = self.means.all && subject.agrees(quantity, &figure);
                    return wanted.then(|| self.agreeing(&said, subject, &figure, *batch));
                }
            }
        }
        if self
            .elsewhere
            .get_or_init(|| self.numbers_of_blocks())
            .iter()
            .any(|other| (other.low, other.high, other.unit) == (quantity.low, quantity.high, quantity.unit))
        {
            return None;
        }
        let batch = match (is_mass && batches.len() > 1, others) {
            (false, _) => None,
            (true, [only]) if batches.len() == 2 && only.is_batch => Some(only.query.as_str()),
            (true, _) => return None,
        };
        let home = scope::named_formula(sentence, self.notebook).or(around.home)?;
        let (_, subject) = subjects.iter().find(|(index, _)| *index == home)?;
        let figure = subject.figure(quantity.unit, batch)?;
        let is_part = statement.is_part && (subject.is_water() || subject.is_less(quantity, &figure));
        if is_part || (is_mass && scope::is_portion(sentence, statement, subject, &figure)) {
            return None;
        }
        Some(self.loose(&said, subject, &figure, batch))
    }

    fn loose(&self, said: &Said<'_>, subject: &Subject<'_>, figure: &Figure, batch: Option<&str>) -> Finding {
        let (shown, link) = self.link(said, figure, batch);
        let id = echo(&subject.computed.formula.id);
        let size = batch.map(|batch| {
            let (number, unit) = split_number(batch);
            format!(" for {number}{}{unit}", show::NBSP)
        });
        let size = size.unwrap_or_default();
        let what = format!("The text says {}, and `{id}` gives {shown}{size}.", echo(&said.written));
        let mend = match said.has_links {
            true => format!(
                "Write `{link}`, or correct the formula. A number that means something else is marked: `[{}](quoted: \"why\")`.",
                echo(&said.written)
            ),
            false => format!("Write {shown}, or leave the figure out: the sheet prints it. Or correct the formula."),
        };
        Finding::new(LOOSE, said.place.clone(), what)
            .mend(mend)
            .source(format!("worked out from the formula: `tarebook explain {}`", echo(&figure.address)))
    }

    fn agreeing(&self, said: &Said<'_>, subject: &Subject<'_>, figure: &Figure, batch: Option<&str>) -> Finding {
        let (shown, link) = self.link(said, figure, batch);
        let what = format!(
            "{} agrees with `{}`, which gives {shown}.",
            echo(&said.written),
            echo(&subject.computed.formula.id)
        );
        let mend = match said.has_links {
            true => format!("Write `{link}`."),
            false => "Leave the figure out: the sheet prints it.".to_owned(),
        };
        Finding::new(AGREEING, said.place.clone(), what).mend(mend)
    }

    /// The figure as printed in the unit that was written, and the link to paste.
    fn link(&self, said: &Said<'_>, figure: &Figure, batch: Option<&str>) -> (String, String) {
        let unit = match said.quantity.unit {
            Unit::Mass(unit) if unit != MassUnit::Gram => Some(unit),
            _ => None,
        };
        let shown = (self.means.show)(&figure.value, unit);
        let mut query: Vec<String> = Vec::new();
        query.extend(batch.map(|batch| format!("batch={batch}")));
        query.extend(unit.map(|unit| format!("unit={}", unit.symbol())));
        let query = if query.is_empty() { String::new() } else { format!("?{}", query.join("&")) };
        let link = format!("[{shown}](calc:{}{query})", figure.address);
        (shown, link)
    }
}

/// The bytes of a part of the prose, if it stands there as the author's own words.
fn plain_bytes(prose: &ProseText, span: Range<usize>) -> Option<Range<usize>> {
    let plain = |at: usize| prose.meant_at(at) == Meant::Plain;
    (plain(span.start) && plain(span.end.saturating_sub(1))).then(|| prose.bytes_of(span))
}

/// A number in a sentence, ready to be spoken of.
struct Said<'q> {
    quantity: &'q Quantity,
    place: Place,
    written: String,
    has_links: bool,
}
