//! Raw materials and substances: what they are made of, how much is used, what they withstand, and where each figure comes from.
//!
//! The built-in catalogue is a set of TOML files in `catalogue/`, embedded in the program. A collection's own
//! `materials/*.toml` files have the same form and extend or override it. Nothing here computes a formula.

mod behaviour;
mod cas;
mod catalogue;
mod claims;
mod classification;
mod fatty_acids;
mod ions;
mod label;
mod limits;
mod loose;
mod lot;
mod patterns;
mod price;
mod read;
mod read_behaviour;
mod stock;
mod tables;
mod terms;
mod told;

pub use behaviour::{
    Cover, Coverage, Dissolves, Electrolytes, Group, Incompatible, Partner, SALTS, Stated, ThickensWith, Vocabulary,
    WithAnionics,
};
pub use catalogue::{Catalogue, OwnFile};
pub use claims::{Claims, Form, Grammar, Part, Pattern, Promise, Rule, Weight};
pub use classification::{Classification, Signal, Statement, Statements};
pub use fatty_acids::{FATTY_ACIDS, FatProfile, FattyAcids};
pub use ions::{IonTable, PlainIon, Solute, SolutionConstants};
pub use label::Allergen;
pub use limits::{Ceiling, Counting, Limit, PhBound, Scope, Warning};
pub use loose::{LooseWords, Phrase};
pub use lot::Lot;
pub use patterns::Patterns;
pub use price::Price;
pub use stock::{NotCounted, Stock};
pub use tables::{Dissociation, Hazard, KeptBy, ProductType, Substance, Use};
pub use terms::TradeTerm;

use crate::quantity::{Decimal, Range};
use serde::Serialize;
use std::sync::Arc;

/// The INCI name of water.
pub(crate) const WATER: &str = "Aqua";

/// How a figure is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Known {
    /// Read in a published document.
    Published,
    /// A rule of the trade without a single source.
    CommonPractice,
    /// Known, but the document was not found.
    Memory,
}

impl Known {
    /// As the pages and messages say it.
    pub fn words(self) -> &'static str {
        match self {
            Known::Published => "published",
            Known::CommonPractice => "common practice, no source",
            Known::Memory => "from memory",
        }
    }

    fn from_word(word: &str) -> Option<Known> {
        match word {
            "published" => Some(Known::Published),
            "common practice" => Some(Known::CommonPractice),
            "memory" => Some(Known::Memory),
            _ => None,
        }
    }
}

/// Where a figure comes from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Source {
    /// How it is known.
    pub how: Known,
    /// The document, table or kind of sheet.
    pub text: String,
}

impl Source {
    /// One line for the page: the document for what was read, else how it is known and from where.
    pub fn line(&self) -> String {
        match self.how {
            Known::Published => self.text.clone(),
            Known::CommonPractice => "common practice, no source".to_owned(),
            Known::Memory => format!("from memory: {}", self.text),
        }
    }
}

/// A figure with its ends and its source. Units are those of the field that holds it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Fact {
    /// Lowest value.
    pub min: Option<Decimal>,
    /// Usual value.
    pub typical: Option<Decimal>,
    /// Highest value.
    pub max: Option<Decimal>,
    /// Where it comes from.
    pub source: Option<Arc<Source>>,
    /// A remark.
    pub note: Option<String>,
    /// What is counted, for a strength.
    pub of: Option<String>,
}

impl Fact {
    /// The figure as a range, when it has a typical value or both ends.
    pub fn range(&self) -> Option<Range> {
        match (self.min, self.typical, self.max) {
            (Some(min), typical, Some(max)) => Some(Range::new(min, max, typical)),
            (min, Some(typical), max) => {
                Some(Range::new(min.unwrap_or(typical), max.unwrap_or(typical), Some(typical)))
            }
            _ => None,
        }
    }

    /// The figure in words: "29–31", "at most 5", "at least 2".
    pub fn words(&self) -> String {
        match (self.min, self.typical, self.max) {
            (Some(min), _, Some(max)) if min == max => min.to_string(),
            (Some(min), _, Some(max)) => format!("{min}–{max}"),
            (None, None, Some(max)) => format!("at most {max}"),
            (Some(min), None, None) => format!("at least {min}"),
            (_, Some(typical), _) => typical.to_string(),
            (None, None, None) => String::new(),
        }
    }

    /// The source as one line, or "no source given".
    pub fn source_line(&self) -> String {
        source_line(self.source.as_deref())
    }
}

/// The classes into which surfactants are split, by the charge of their head in water.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SurfactantClass {
    /// Negative.
    Anionic,
    /// Both, by pH.
    Amphoteric,
    /// None.
    Nonionic,
    /// Positive.
    Cationic,
}

impl SurfactantClass {
    /// All classes in the order they are listed.
    pub const ALL: [SurfactantClass; 4] =
        [SurfactantClass::Anionic, SurfactantClass::Amphoteric, SurfactantClass::Nonionic, SurfactantClass::Cationic];

    /// The trade's word.
    pub fn word(self) -> &'static str {
        match self {
            SurfactantClass::Anionic => "anionic",
            SurfactantClass::Amphoteric => "amphoteric",
            SurfactantClass::Nonionic => "nonionic",
            SurfactantClass::Cationic => "cationic",
        }
    }

    fn from_word(word: &str) -> Option<SurfactantClass> {
        Self::ALL.into_iter().find(|class| class.word() == word)
    }
}

/// One substance in a raw material.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Component {
    /// INCI name.
    pub inci: String,
    /// Share of the material as supplied, % w/w.
    pub percent: Fact,
    /// Its class, if it counts as surfactant active matter.
    pub surfactant: Option<SurfactantClass>,
    /// The component that it belongs to, by INCI name: crystal water to its salt, the moisture of a powder to the powder. A label names the
    /// two together, and such water is not free.
    pub bound_to: Option<String>,
}

/// A handling caution.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Handling {
    /// Key of the hazard table.
    pub hazard: String,
    /// What it does.
    pub text: Option<String>,
    /// Where it is said.
    pub source: Option<Arc<Source>>,
}

/// Where an entry was made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Origin {
    /// The built-in catalogue.
    BuiltIn,
    /// The collection's own file; `over` when it overrides a built-in entry.
    Own {
        /// The file.
        path: Arc<str>,
        /// Whether a built-in entry stood under this id.
        over: bool,
    },
}

/// A raw material as it is bought. Percentages are % w/w of the material as supplied, use levels % of the finished product,
/// temperatures °C, densities g/ml.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Material {
    /// The id that lines name.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Other ids it answers to.
    pub also: Vec<String>,
    /// What it is used for.
    pub functions: Vec<String>,
    /// liquid, paste, powder, solid.
    pub form: Option<String>,
    /// Its strength, and what of.
    pub strength: Option<Fact>,
    /// Density at room temperature.
    pub density: Option<Fact>,
    /// Use level in any product.
    pub use_any: Option<Fact>,
    /// Use level in rinse-off products.
    pub use_rinse_off: Option<Fact>,
    /// Use level in leave-on products.
    pub use_leave_on: Option<Fact>,
    /// pH of the product in which it does its work.
    pub ph_works: Option<Fact>,
    /// pH it withstands.
    pub ph_stable: Option<Fact>,
    /// Temperature it must not exceed.
    pub temperature_limit: Option<Fact>,
    /// Temperature at or below which it is added.
    pub add_below: Option<Fact>,
    /// What it is made of.
    pub contains: Vec<Component>,
    /// The rest of the composition, not listed by name.
    pub remainder: Option<Fact>,
    /// What an oil or scent is made of in its turn, % of the material; the shares need not add up.
    pub constituents: Vec<Component>,
    /// Where it melts.
    pub melting_point: Option<Fact>,
    /// HLB of an emulsifier (Griffin's scale, 0 to 20; soaps and sulfates lie above).
    pub hlb: Option<Fact>,
    /// HLB of the emulsifier that an oil needs in an oil-in-water emulsion.
    pub required_hlb: Option<Fact>,
    /// Saponification value, mg KOH/g.
    pub saponification_value: Option<Fact>,
    /// Ionic character, where no component counts as surfactant or where it is another than theirs. [`Material::charge`]
    /// answers from both.
    pub charge: Option<Stated<SurfactantClass>>,
    /// pH of the product in which it carries that charge, where it depends on it.
    pub charge_ph: Option<Fact>,
    /// How a cationic material goes with anionic surfactant.
    pub with_anionics: Option<Stated<WithAnionics>>,
    /// What a preservative keeps down.
    pub covers: Option<Cover>,
    /// What it dissolves in.
    pub dissolves: Option<Stated<Dissolves>>,
    /// What salts do to it.
    pub electrolytes: Option<Stated<Electrolytes>>,
    /// What makes it thick.
    pub thickens_with: Option<Stated<ThickensWith>>,
    /// pH of the product at which it is thick.
    pub thick_ph: Option<Fact>,
    /// Parts of solubiliser per part of oil: of itself for a solubiliser, of the solubiliser named by `of` for an oil.
    pub solubiliser: Option<Fact>,
    /// What it does not go with.
    #[serde(skip)]
    pub incompatible: Vec<Incompatible>,
    /// Handling cautions.
    #[serde(skip)]
    pub handling: Vec<Handling>,
    /// How it is classified as supplied, where that is known.
    #[serde(skip)]
    pub classification: Option<Arc<Classification>>,
    /// The lots that the collection lists.
    pub lots: Vec<Lot>,
    /// What packs of it cost.
    pub prices: Vec<Price>,
    /// Whether a price of it was not understood, which is reported where it stands.
    #[serde(skip)]
    pub has_unread_price: bool,
    /// What is in the cupboard of it.
    pub stocks: Vec<Stock>,
    /// Everything else the entry says, for reading: key, words, source.
    #[serde(skip)]
    pub details: Vec<Detail>,
    /// Where the entry was made.
    #[serde(skip)]
    pub origin: Origin,
}

/// A statement of an entry, for reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Detail {
    /// The key in the file, or what the reader knows it by.
    pub key: String,
    /// In words.
    pub text: String,
    /// Where it comes from.
    pub source: Option<Arc<Source>>,
}

impl Detail {
    /// The source as one line, or "no source given".
    pub fn source_line(&self) -> String {
        source_line(self.source.as_deref())
    }
}

fn source_line(source: Option<&Source>) -> String {
    source.map_or_else(|| "no source given".to_owned(), Source::line)
}

impl Material {
    /// Whether it serves a function such as "preservative". The functions are plain words, so a function that begins with the
    /// word counts ("preservative booster" is not a preservative; "emulsifier (o/w)" is an emulsifier).
    pub fn serves_as(&self, function: &str) -> bool {
        self.functions.iter().any(|known| {
            known == function || known.strip_prefix(function).is_some_and(|rest| rest.trim_start().starts_with('('))
        })
    }

    /// The INCI names as a label has them, without the water that belongs to a salt or powder, most first.
    pub fn inci_names(&self) -> Vec<&str> {
        let mut components: Vec<&Component> = self.contains.iter().filter(|part| part.bound_to.is_none()).collect();
        let share = |component: &Component| component.percent.range().map(|range| range.typical);
        // A stable sort keeps the file's order among equals and unknowns.
        components.sort_by_key(|component| std::cmp::Reverse(share(component)));
        components.into_iter().map(|component| component.inci.as_str()).collect()
    }

    /// The use level that holds for a use of the product, the specific one first; while the use is not known, the one with the
    /// lowest maximum of all that are stated.
    pub fn use_level(&self, product_use: Option<Use>) -> Option<&Fact> {
        let specific = match product_use {
            Some(Use::RinseOff) => self.use_rinse_off.as_ref(),
            Some(Use::LeaveOn) => self.use_leave_on.as_ref(),
            Some(Use::Household) => None,
            None => {
                let all = [&self.use_rinse_off, &self.use_leave_on, &self.use_any];
                let with_maximum = all.into_iter().flatten().filter_map(|fact| Some((fact, fact.max?)));
                with_maximum.min_by_key(|(_, max)| *max).map(|(fact, _)| fact)
            }
        };
        specific.or(self.use_any.as_ref())
    }
}
