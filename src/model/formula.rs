//! A formula with every name resolved and every amount on one basis.

use crate::block::{Balance, FillContent, Measured, PhSpan};
use crate::material::{Material, ProductType};
use crate::quantity::{Date, Decimal, Density, Mass, Percent, Range, Temperature, show};
use crate::report::Place;
use serde::{Serialize, Serializer};
use std::sync::Arc;

/// What the amounts of a formula are written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// % w/w; the whole is 100.
    Percent,
    /// Weights; the whole is their sum.
    Weights,
    /// Parts; the whole is their sum.
    Parts,
}

/// A formula, ready to be computed. Every line has a material and an amount; the amounts add up to `whole` exactly.
#[derive(Clone, Debug, Serialize)]
pub struct Formula {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: Option<String>,
    /// Its product type.
    pub product: Option<ProductType>,
    /// The author's version.
    pub version: Option<String>,
    /// The day of that version.
    pub date: Option<Date>,
    /// A remark.
    pub note: Option<String>,
    /// How much is made.
    pub batch: Batch,
    /// The product's density.
    pub density: Option<Density>,
    /// The pH specification.
    pub ph: Option<PhSpan>,
    /// The balance it is weighed on.
    pub balance: Balance,
    /// The basis of the amounts.
    pub basis: Basis,
    /// The whole that the amounts are shares of.
    pub whole: Decimal,
    /// Its phases.
    pub phases: Vec<Phase>,
    /// What it is a variant of.
    pub variant: Option<VariantOf>,
    /// The block.
    #[serde(skip)]
    pub place: Place,
    /// Where the id stands, for findings about the formula as a whole.
    #[serde(skip)]
    pub id_place: Place,
    /// Where the pH stands.
    #[serde(skip)]
    pub ph_place: Option<Place>,
}

/// The parent of a variant.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct VariantOf {
    /// Its id.
    pub id: String,
    /// The changes, in words.
    pub changes: Vec<String>,
}

/// How much is made, as a mass and as it was said.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Batch {
    /// The mass of the batch.
    pub mass: Mass,
    /// How it was given.
    pub given: BatchGiven,
}

impl Batch {
    /// What one pack is filled with, and as written, where it is made in packs.
    pub fn fill(&self) -> Option<(Measured, String)> {
        match &self.given {
            BatchGiven::Fill { content: FillContent::Mass(mass), .. } => {
                Some((Measured::Mass(*mass), show::grams(*mass)))
            }
            BatchGiven::Fill { content: FillContent::Volume(volume, text), .. } => {
                Some((Measured::Volume(*volume), text.clone()))
            }
            _ => None,
        }
    }

    /// The same by weight, and as written; a volume weighs what the density of the product says.
    pub fn pack(&self) -> Option<(Mass, String)> {
        let (fill, text) = self.fill()?;
        let mass = match (fill, &self.given) {
            (Measured::Mass(mass), _) => mass,
            (Measured::Volume(volume), BatchGiven::Fill { density, .. }) => density.as_ref()?.mass_of(volume),
            (Measured::Volume(_), _) => return None,
        };
        Some((mass, text))
    }
}

/// How a batch was given.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BatchGiven {
    /// Not at all: the sum of the weights, or 100 g.
    Default,
    /// As a weight.
    Mass,
    /// As a volume with the product's density.
    Volume {
        /// As typed.
        text: String,
        /// The density used.
        density: Density,
    },
    /// As packs.
    Fill {
        /// Content of one pack.
        content: FillContent,
        /// How many.
        units: Decimal,
        /// On top.
        overfill: Percent,
        /// The density used, for content by volume.
        density: Option<Density>,
    },
}

/// A phase.
#[derive(Clone, Debug, Serialize)]
pub struct Phase {
    /// Its letter.
    pub key: String,
    /// Its title.
    pub title: Option<String>,
    /// The temperature at which it is held, and where that is written.
    #[serde(serialize_with = "without_place")]
    pub hold: Option<(Temperature, Place)>,
    /// A remark.
    pub note: Option<String>,
    /// Its lines.
    pub lines: Vec<Line>,
}

/// A line.
#[derive(Clone, Debug, Serialize)]
pub struct Line {
    /// The raw material; in data files its id.
    #[serde(serialize_with = "id_of")]
    pub material: Arc<Material>,
    /// The id as the line names it.
    pub written: String,
    /// The amount, a share of the formula's `whole`.
    pub amount: Decimal,
    /// Half the width of the amount's uncertainty when it came from a volume, on the same basis.
    pub uncertainty: Option<Decimal>,
    /// Whether it takes the rest.
    pub is_balance: bool,
    /// Whether it is dosed to effect, and to which.
    pub effect: Option<String>,
    /// The volume it was written as.
    pub volume: Option<String>,
    /// This lot's strength.
    pub strength: Option<Range>,
    /// The lot.
    pub lot: Option<String>,
    /// A remark.
    pub note: Option<String>,
    /// The name's place.
    #[serde(skip)]
    pub place: Place,
    /// The amount's place.
    #[serde(skip)]
    pub amount_place: Place,
}

fn id_of<S: Serializer>(material: &Arc<Material>, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&material.id)
}

fn without_place<S: Serializer>(hold: &Option<(Temperature, Place)>, serializer: S) -> Result<S::Ok, S::Error> {
    hold.as_ref().map(|(temperature, _)| temperature).serialize(serializer)
}

impl Formula {
    /// All lines, phase by phase.
    pub fn lines(&self) -> impl Iterator<Item = &Line> {
        self.phases.iter().flat_map(|phase| &phase.lines)
    }

    /// A line's share, % w/w of the product.
    pub fn percent(&self, line: &Line) -> Percent {
        self.percent_of(line.amount)
    }

    /// The share of an amount on the basis of the formula, % w/w of the product. One that was typed keeps its zeros; one that was
    /// divided has none to keep.
    pub fn percent_of(&self, amount: Decimal) -> Percent {
        match self.basis {
            Basis::Percent => Percent::new(amount),
            _ => Percent::new((amount * Decimal::ONE_HUNDRED).checked_div(self.whole).unwrap_or_default().normalize()),
        }
    }
}
