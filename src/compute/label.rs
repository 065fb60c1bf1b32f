//! What a label says for one rule set, and what it still lacks.
//!
//! EU: Regulation (EC) No 1223/2009, Article 19. US: 21 CFR 701 and 740, and 21 U.S.C. 364e. How long a product keeps is never guessed: it is what the
//! author states. That the list of a rule set is whole makes no label lawful; other rules and the language of the country come on top.

mod checks;

use super::filling::{metric_net_content, us_net_content};
use super::{AddressFault, Computed, Declaration, Figure, Rules, Value, Working};
use crate::block::{AfterOpening, Extent, LabelBlock, Measured};
use crate::model::Settings;
use crate::quantity::{Date, Decimal, show};
use checks::{eu_checks, us_checks};

/// Where durability is ruled.
pub(crate) const DURABILITY: &str = "Regulation (EC) No 1223/2009, Article 19(1)(c)";
/// Where the height of letters is ruled.
pub(crate) const LETTERS: &str = "21 CFR 701.13(i)";
/// A product that keeps so many months or less shows a date; one that keeps longer does not have to (Article 19(1)(c)).
const DATE_UP_TO: u32 = 30;

/// A label, worked out for each rule set that was asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// The formula.
    pub formula: String,
    /// Its version, if it has one.
    pub version: Option<String>,
    /// The name of the product.
    pub name: String,
    /// Its net content, metric, and in US units with metric behind.
    pub content: Option<(String, String)>,
    /// The day up to which it keeps, or why it is not known: it takes the day of making and the durability that are stated.
    pub until: Result<Date, &'static str>,
    /// How large it is.
    pub size: Option<Extent>,
    /// How large the side of the pack is that the buyer sees.
    pub front_panel: Option<Extent>,
    /// One for each rule set.
    pub proofs: Vec<Proof>,
}

/// The label for one rule set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Proof {
    /// The rule set.
    pub rules: Rules,
    /// What the product is for.
    pub function: Option<String>,
    /// The net content.
    pub content: Option<String>,
    /// What it says about durability; `None` where the rules ask for nothing.
    pub durability: Option<Durability>,
    /// The words of warning that are due.
    pub warnings: Vec<DueWords>,
    /// The list of ingredients.
    pub ingredients: String,
    /// The batch number; empty where it is filled in by hand.
    pub batch_number: Option<String>,
    /// The responsible person or the business.
    pub maker: Option<String>,
    /// Whom to tell of harm, for the US.
    pub contact: Option<String>,
    /// The country of origin.
    pub origin: Option<String>,
    /// What belongs on it, in the order of the rule.
    pub checks: Vec<LabelCheck>,
}

/// Words that a rule wants on the label.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DueWords {
    /// The rule's own words, or their gist as "that …".
    pub words: String,
    /// Whether they are the rule's own.
    pub is_prescribed: bool,
    /// The entry that asks for them.
    pub source: String,
}

/// What the label says about how long the product keeps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Durability {
    /// It is not stated.
    NotStated,
    /// A date: the last day, or `None` where it is filled in by hand, so many months after the day of making.
    Date(Option<Date>, u32),
    /// So many months after opening.
    AfterOpening(u32),
    /// It keeps long enough to need no date, and how long after opening is not stated.
    AfterOpeningNotStated,
    /// Neither: what opening does to it does not matter.
    Neither(AfterOpening),
}

/// One thing that belongs on a label.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LabelCheck {
    /// What it is.
    pub what: &'static str,
    /// How it stands.
    pub state: LabelState,
    /// What there is to say about it.
    pub words: String,
    /// The rule that asks for it.
    pub source: &'static str,
}

/// How one thing on a label stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LabelState {
    /// It is on the label.
    There,
    /// It is written in by hand on the day.
    FilledIn,
    /// It is not there.
    Missing,
    /// Nobody but the author can tell.
    ToJudge,
}

/// What the label says about durability in the EU: a date for what keeps 30 months or less, and the time after opening for what keeps longer, unless
/// opening does not matter. Only what is stated counts.
pub fn durability_of(months: Option<u32>, made: Option<Date>, after: Option<AfterOpening>) -> Durability {
    match (months, after) {
        (None, _) => Durability::NotStated,
        (Some(months), _) if months <= DATE_UP_TO => {
            Durability::Date(made.and_then(|made| made.plus_months(months)), months)
        }
        (Some(_), None) => Durability::AfterOpeningNotStated,
        (Some(_), Some(AfterOpening::Months(months))) => Durability::AfterOpening(months),
        (Some(_), Some(other)) => Durability::Neither(other),
    }
}

/// What a label is made from, beside its block.
pub struct LabelSources<'a> {
    /// The formula.
    pub computed: &'a Computed,
    /// The settings of the collection.
    pub settings: &'a Settings,
    /// For each rule set its declaration and the words that are due.
    pub of_rules: Vec<(Declaration, Vec<DueWords>)>,
}

impl Label {
    /// Works a label out.
    pub fn of(block: &LabelBlock, sources: LabelSources<'_>) -> Label {
        let formula = &sources.computed.formula;
        let content = nominal(block, sources.computed);
        let mut label = Label {
            formula: formula.id.clone(),
            version: formula.version.clone(),
            name: block.name.clone().or_else(|| formula.title.clone()).unwrap_or_else(|| formula.id.clone()),
            content: content.as_ref().map(|(content, written)| {
                let metric = metric_net_content(*content, written);
                let us = us_net_content(*content, &metric);
                (metric, us)
            }),
            until: until(block),
            size: block.size.as_ref().map(|size| size.value),
            front_panel: block.front_panel.as_ref().map(|size| size.value),
            proofs: Vec::new(),
        };
        for (declaration, warnings) in sources.of_rules {
            let measured = content.as_ref().map(|(content, _)| *content);
            label.proofs.push(proof(block, &label, measured, sources.settings, &declaration, warnings));
        }
        label
    }

    /// The addresses below the block's id.
    pub fn addresses(&self) -> Vec<String> {
        let known = ["content/metric", "content/us", "best-before", "letters"];
        known
            .into_iter()
            .filter(|path| matches!(self.look_up("", &path.split('/').collect::<Vec<_>>()), Some(Ok(_))))
            .map(str::to_owned)
            .collect()
    }

    /// The figure at a path below the block's id, or why it has no value; nothing where there is none of that path.
    pub fn look_up(&self, id: &str, path: &[&str]) -> Option<Result<Figure, AddressFault>> {
        let address = std::iter::once(id).chain(path.iter().copied()).collect::<Vec<_>>().join("/");
        let found = match path {
            ["content", which @ ("metric" | "us")] => self.net_content(which),
            ["best-before"] => self.until.map(|until| {
                let words = "the day of making and the durability that is stated";
                (until.to_string(), Working::new().text(words).source(DURABILITY))
            }),
            ["letters"] => self.front_panel.ok_or("the label does not say its `front-panel`").map(|panel| {
                let area = show::quantity_to(panel.square_inches(), 2, "in²");
                let words = format!("a front panel of {}, {area}", panel.text());
                (letter_text(letter_height(panel)), Working::new().text(words).source(LETTERS))
            }),
            _ => return None,
        };
        Some(match found {
            Ok((text, working)) => Ok(Figure { address, value: Value::Text(text), working }),
            Err(why) => Err(AddressFault::NoValue(why.to_owned())),
        })
    }

    fn net_content(&self, which: &str) -> Result<(String, Working), &'static str> {
        let why = "neither the label says its `content`, nor is the batch of the formula made in packs";
        let (metric, us) = self.content.as_ref().ok_or(why)?;
        if which == "metric" {
            return Ok((metric.clone(), Working::new().text("as declared")));
        }
        let words = "US units with three digits, rounded down so that they do not promise more; then metric";
        Ok((us.clone(), Working::new().text(words).source("21 CFR 701.13; 16 CFR 500.8")))
    }
}

/// The day up to which it keeps, or what is missing for it.
fn until(block: &LabelBlock) -> Result<Date, &'static str> {
    match (&block.durability, &block.made) {
        (Some(months), Some(made)) => {
            made.value.plus_months(months.value).ok_or("the day is after the last that the calendar here knows")
        }
        (None, Some(_)) => Err("the label does not say its `durability`"),
        (Some(_), None) => Err("the label does not say when it was `made`"),
        (None, None) => Err("the label says neither its `durability` nor when it was `made`"),
    }
}

/// How high the letters of the net contents are at least in the US, in inches, by the area of the front panel (21 CFR 701.13(i)): 1/16 up to 5 square inches,
/// 1/8 up to 25, 3/16 up to 100, 1/4 up to 400 and 1/2 above.
pub fn letter_height(panel: Extent) -> Decimal {
    let steps = [(5, 625), (25, 1250), (100, 1875), (400, 2500)];
    let area = panel.square_inches();
    let height = steps.iter().find(|(up_to, _)| area <= Decimal::from(*up_to)).map_or(5000, |(_, height)| *height);
    Decimal::new(height, 4)
}

/// A height of letters in inches, and exactly in mm.
fn letter_text(inches: Decimal) -> String {
    let sixteenths = (inches * Decimal::from(16)).normalize();
    let fraction = match sixteenths.to_string().as_str() {
        "1" => "1/16",
        "2" => "1/8",
        "3" => "3/16",
        "4" => "1/4",
        _ => "1/2",
    };
    let mm = (inches * Decimal::new(254, 1)).normalize();
    format!("{fraction}{0}in ({1}{0}mm)", show::NBSP, show::plain(mm))
}

/// What a pack declares: what the block says, or what the formula's batch is filled into.
fn nominal(block: &LabelBlock, computed: &Computed) -> Option<(Measured, String)> {
    if let Some((content, text)) = &block.content {
        return Some((content.value, text.clone()));
    }
    computed.formula.batch.fill()
}

fn proof(
    block: &LabelBlock,
    label: &Label,
    content: Option<Measured>,
    settings: &Settings,
    declaration: &Declaration,
    warnings: Vec<DueWords>,
) -> Proof {
    let rules = declaration.rules;
    let is_eu = rules == Rules::Eu;
    let after = block.after_opening.as_ref().map(|after| after.value);
    let months = block.durability.as_ref().map(|months| months.value);
    let made = block.made.as_ref().map(|made| made.value);
    let maker = if is_eu {
        block.responsible_person.clone().or_else(|| settings.responsible_person.clone())
    } else {
        block.business.clone().or_else(|| settings.business.clone())
    };
    let mut proof = Proof {
        rules,
        function: block.function.clone(),
        content: label.content.clone().map(|(metric, us)| if is_eu { metric } else { us }),
        durability: is_eu.then(|| durability_of(months, made, after)),
        warnings,
        ingredients: declaration.text(),
        batch_number: block.batch_number.clone(),
        maker,
        contact: settings.contact.clone().filter(|_| !is_eu),
        origin: block.origin.clone(),
        checks: Vec::new(),
    };
    proof.checks = if is_eu {
        eu_checks(&proof, content, (block.shown_by.as_deref(), after), declaration)
    } else {
        us_checks(&proof, content, declaration, label.front_panel)
    };
    proof
}
