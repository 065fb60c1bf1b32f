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
mod number;
mod quantity;
mod scope;
mod sound;
mod table;
mod verdict;
mod walk;
mod words;

use crate::block::{Addition, Body, Share};
use crate::compute::{Computed, Value};
use crate::material::{Catalogue, LooseWords};
use crate::model::Settings;
use crate::notebook::{Meant, Notebook, ProseText};
use crate::quantity::MassUnit;
use crate::report::{Finding, Kind, Severity};
use grammar::{Sentence, mentions};
use names::Names;
use number::may_hold_a_number;
use quantity::{Quantity, Unit, quantities};
use scope::Sizes;
use std::cell::OnceCell;
use std::ops::Range;
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
    let mut judge = Judge {
        notebook,
        words,
        names: OnceCell::new(),
        formulas,
        means,
        elsewhere: OnceCell::new(),
        findings: Vec::new(),
    };
    judge.go_through_prose();
    judge.go_through_blocks();
    let mut findings = judge.findings;
    findings.sort_by_key(|finding| finding.place.span.start);
    findings
}

struct Judge<'a> {
    notebook: &'a Notebook,
    words: &'static LooseWords,
    names: OnceCell<Names>,
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

    /// Reads a part of a text, a line or less. `bytes` gives the place of a part of it, if it is meant as it stands there.
    fn read(
        &mut self,
        text: &str,
        span: Range<usize>,
        around: &Around,
        sizes: &mut Sizes,
        bytes: &dyn Fn(Range<usize>) -> Option<Range<usize>>,
    ) {
        if !text.get(span.clone()).is_some_and(may_hold_a_number) {
            return;
        }
        for tokens in sentences(text, span) {
            let quantities = quantities(self.words, &tokens);
            if quantities.is_empty() {
                continue;
            }
            // What costs little is asked first: most numbers are calc links, or are said of what is usual.
            let no_names = Sentence { words: self.words, tokens: &tokens, quantities: &quantities, names: &[] };
            let may_be_accused = self.is_meant(&no_names, bytes);
            if !may_be_accused && !scope::may_name_a_size(&no_names) {
                continue;
            }
            let names = mentions(self.names(), &tokens);
            let sentence = Sentence { names: &names, ..no_names };
            let statements = sentence.statements();
            let others = scope::other_sizes(&sentence, &statements, self.own_batch(around.home));
            sizes.add(&others);
            if !may_be_accused {
                continue;
            }
            let found: Vec<Finding> = statements
                .iter()
                .filter_map(|statement| self.judge(&sentence, statement, around, sizes, &others, bytes))
                .collect();
            if !found.is_empty() && !self.is_about_another_product(&tokens, around) {
                self.findings.extend(found);
            }
        }
    }

    /// Whether any number of a sentence stands there as the author's own words, and may be a figure of a formula as it stands.
    fn is_meant(&self, sentence: &Sentence<'_, '_, '_>, bytes: &dyn Fn(Range<usize>) -> Option<Range<usize>>) -> bool {
        let tokens = sentence.tokens;
        let bytes_of = |part: &[Token<'_>]| bytes(part.first()?.start..part.last()?.end);
        let is_plain = |quantity: &Quantity| tokens.get(quantity.tokens.clone()).and_then(bytes_of).is_some();
        let money = |token: &Token<'_>| self.words.money.iter().any(|sign| token.text == sign);
        sentence.quantities.iter().any(is_plain)
            && bytes_of(tokens).is_some_and(|whole| !self.leads_to_another_page(&whole))
            && !tokens.iter().any(|token| token.is_mark('?') || money(token))
            && !any_stands(&self.words.elsewhere, tokens)
    }

    /// The names of the notebook's formulas, which are worked out where a sentence needs them.
    fn names(&self) -> &Names {
        self.names.get_or_init(|| Names::of(self.words, &self.formulas))
    }

    fn own_batch(&self, home: Option<usize>) -> Option<&'a Computed> {
        self.formulas.iter().find(|(index, _)| Some(*index) == home).map(|(_, computed)| *computed)
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
}

/// The bytes of a part of the prose, if it stands there as the author's own words.
fn plain_bytes(prose: &ProseText, span: Range<usize>) -> Option<Range<usize>> {
    let plain = |at: usize| prose.meant_at(at) == Meant::Plain;
    (plain(span.start) && plain(span.end.saturating_sub(1))).then(|| prose.bytes_of(span))
}
