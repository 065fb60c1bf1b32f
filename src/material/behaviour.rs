//! How a raw material behaves beside others: its charge, what it dissolves in, what thins it, what it keeps down, what it does not
//! go with. Each is one of a few words with its source, so that cautions can look for it.

use super::{Detail, Fact, Material, Source, SurfactantClass, WATER};
use crate::quantity::Decimal;
use serde::Serialize;
use std::sync::Arc;

/// A word of a small vocabulary, as material files write it.
pub trait Vocabulary: Copy + 'static {
    /// All words, in the order in which messages list them.
    const ALL: &'static [Self];
    /// As written in files and shown.
    fn word(self) -> &'static str;
}

/// A word with its source.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Stated<T> {
    /// The word.
    pub value: T,
    /// Where it comes from.
    pub source: Option<Arc<Source>>,
    /// A remark.
    pub note: Option<String>,
}

/// Writes an enum of words: the variants, their words and the table of both.
macro_rules! vocabulary {
    ($(#[$doc:meta])* $name:ident { $($(#[$variant_doc:meta])* $variant:ident = $word:literal,)* }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
        #[serde(rename_all = "snake_case")]
        pub enum $name {
            $($(#[$variant_doc])* $variant,)*
        }

        impl Vocabulary for $name {
            const ALL: &'static [Self] = &[$(Self::$variant,)*];

            fn word(self) -> &'static str {
                match self {
                    $(Self::$variant => $word,)*
                }
            }
        }
    };
}

vocabulary! {
    /// What a raw material dissolves in at the shares used in products.
    Dissolves {
        /// Water.
        Water = "water",
        /// Oils and fats.
        Oil = "oil",
        /// Alcohol and glycols, and neither water nor oil at the usual dose.
        Alcohol = "alcohol",
        /// Water and oil, or dispersible in both.
        Both = "both",
        /// Nothing: powders, pigments, what only floats.
        Neither = "neither",
    }
}

vocabulary! {
    /// What salts do to a thickener.
    Electrolytes {
        /// They thin it or make it fall out.
        Sensitive = "sensitive",
        /// It stands usual amounts of them.
        Tolerant = "tolerant",
    }
}

vocabulary! {
    /// What makes a thickener thick.
    ThickensWith {
        /// Neutralising with a base.
        Base = "base",
        /// Acid.
        Acid = "acid",
        /// Salt.
        Salt = "salt",
        /// Melting or heating.
        Heat = "heat",
        /// Water alone.
        Water = "water",
    }
}

vocabulary! {
    /// How a cationic material goes with anionic surfactant.
    WithAnionics {
        /// Made for it: dissolves in a surplus of anionic surfactant, as in conditioning shampoos.
        Compatible = "compatible",
        /// May cloud; has to be tried.
        Uncertain = "uncertain",
        /// Falls out or loses its work.
        Precipitates = "precipitates",
    }
}

vocabulary! {
    /// How well a preservative keeps a group of germs down.
    Coverage {
        /// At its usual dose it does.
        Good = "good",
        /// Only partly, or only together with another preservative.
        Weak = "weak",
        /// It does not.
        None = "none",
    }
}

vocabulary! {
    /// Groups of raw materials that an entry may be incompatible with.
    Group {
        /// With an anionic surfactant in it.
        AnionicSurfactants = "anionic surfactants",
        /// With a nonionic surfactant in it.
        NonionicSurfactants = "nonionic surfactants",
        /// With a cationic surfactant in it: conditioning quats.
        CationicSurfactants = "cationic surfactants",
        /// With an ethoxylated emulsifier or solubiliser in it.
        Ethoxylates = "ethoxylates",
        /// Cationic, and no surfactant.
        CationicPolymers = "cationic polymers",
        /// Anionic, and no surfactant: gums, carbomer.
        AnionicPolymers = "anionic polymers",
        /// Soap.
        Soap = "soap",
        /// Chiefly a salt.
        Electrolytes = "electrolytes",
        /// Acids.
        Acids = "acids",
        /// Bases.
        Bases = "bases",
        /// What turns amines into nitrosamines.
        NitrosatingAgents = "nitrosating agents",
        /// Parabens.
        Parabens = "parabens",
        /// What gives off formaldehyde.
        FormaldehydeDonors = "formaldehyde donors",
        /// Proteins.
        Proteins = "proteins",
        /// Preservatives.
        Preservatives = "preservatives",
    }
}

impl Vocabulary for SurfactantClass {
    const ALL: &'static [Self] = &SurfactantClass::ALL;

    fn word(self) -> &'static str {
        SurfactantClass::word(self)
    }
}

/// Salts that charged gels and emulsions feel, by INCI name. General chemistry: all fall apart into ions in water.
pub const SALTS: [&str; 22] = [
    "Ammonium Sulfate",
    "Calcium Gluconate",
    "Disodium EDTA",
    "Magnesium Chloride",
    "Magnesium Nitrate",
    "Magnesium Sulfate",
    "Potassium Chloride",
    "Sodium Bicarbonate",
    "Sodium Borate",
    "Sodium Carbonate",
    "Sodium Chloride",
    "Sodium Citrate",
    "Sodium Gluconate",
    "Sodium Lactate",
    "Sodium PCA",
    "Sodium Phytate",
    "Sodium Silicate",
    "Sodium Sulfate",
    "Tetrasodium EDTA",
    "Tetrasodium Glutamate Diacetate",
    "Trisodium Ethylenediamine Disuccinate",
    "Zinc PCA",
];

/// Preservatives and salts that turn secondary amines into nitrosamines, by INCI name: Regulation (EC) No 1223/2009, Annex III
/// entries 60 to 62 and Annex V entries 20 and 21 forbid such pairs.
const NITROSATING: [&str; 3] = ["2-Bromo-2-Nitropropane-1,3-Diol", "5-Bromo-5-Nitro-1,3-Dioxane", "Sodium Nitrite"];

impl Group {
    /// Whether a raw material belongs to the group.
    pub fn holds(self, material: &Material) -> bool {
        let contains = |test: &dyn Fn(&str) -> bool| material.contains.iter().any(|part| test(&part.inci));
        let class = |class: SurfactantClass| material.contains.iter().any(|part| part.surfactant == Some(class));
        let polymer = |charge: SurfactantClass| {
            material.stated_charge() == Some(charge) && material.contains.iter().all(|part| part.surfactant.is_none())
        };
        match self {
            Group::AnionicSurfactants => class(SurfactantClass::Anionic),
            Group::NonionicSurfactants => class(SurfactantClass::Nonionic),
            Group::CationicSurfactants => class(SurfactantClass::Cationic),
            Group::Ethoxylates => contains(&is_ethoxylate),
            Group::CationicPolymers => polymer(SurfactantClass::Cationic) && !material.serves_as("preservative"),
            Group::AnionicPolymers => {
                // Anionic humectants that are no salts are polymers: hyaluronates and the like (general chemistry).
                let works = ["thickener", "gelling agent", "suspending agent", "humectant"];
                polymer(SurfactantClass::Anionic)
                    && works.into_iter().any(|work| material.serves_as(work))
                    && !is_chiefly_salt(material)
            }
            Group::Soap => material.serves_as("soap"),
            Group::Electrolytes => is_chiefly_salt(material),
            Group::Acids => material.serves_as("acid"),
            Group::Bases => material.serves_as("base"),
            Group::NitrosatingAgents => contains(&|inci| NITROSATING.contains(&inci)),
            Group::Parabens => contains(&|inci| inci.ends_with("paraben")),
            Group::FormaldehydeDonors => material.serves_as("formaldehyde donor"),
            Group::Proteins => material.serves_as("protein"),
            Group::Preservatives => material.serves_as("preservative"),
        }
    }
}

/// Nonionic ethoxylates by the way INCI names them: PEG-40 Hydrogenated Castor Oil, Polysorbate 20, Ceteareth-20. Ethoxylated
/// anionics such as Sodium Laureth Sulfate are surfactants of their own and do not count.
fn is_ethoxylate(inci: &str) -> bool {
    let ends_in_units = inci
        .rsplit_once("eth-")
        .is_some_and(|(_, units)| !units.is_empty() && units.chars().all(|c| c.is_ascii_digit()));
    inci.starts_with("PEG-") || inci.starts_with("Polysorbate ") || ends_in_units
}

impl Material {
    /// How much of the material is nonionic ethoxylate, % of the material; all of it when a share is not known.
    pub fn ethoxylated(&self) -> Decimal {
        let parts = self.contains.iter().filter(|part| is_ethoxylate(&part.inci));
        let shares: Option<Decimal> = parts.map(|part| part.percent.range().map(|range| range.typical)).sum();
        shares.unwrap_or(Decimal::ONE_HUNDRED)
    }
}

/// Whether at least half of what is not water is salt.
fn is_chiefly_salt(material: &Material) -> bool {
    let share = |test: &dyn Fn(&str) -> bool| -> Decimal {
        let parts = material.contains.iter().filter(|part| test(&part.inci));
        parts.filter_map(|part| Some(part.percent.range()?.typical)).sum()
    };
    let salt = share(&|inci| SALTS.contains(&inci));
    salt > Decimal::ZERO && salt * Decimal::TWO >= share(&|inci| inci != WATER)
}

/// What a preservative keeps down at its usual dose and in its pH window. `None` is not known, which is not the same as
/// [`Coverage::None`].
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Cover {
    /// Bacteria, the Gram-negative ones of water first of all.
    pub bacteria: Option<Coverage>,
    /// Yeasts.
    pub yeast: Option<Coverage>,
    /// Moulds.
    pub mould: Option<Coverage>,
    /// Where it comes from.
    pub source: Option<Arc<Source>>,
    /// A remark.
    pub note: Option<String>,
}

impl Cover {
    /// The three groups with their names.
    pub fn groups(&self) -> [(&'static str, Option<Coverage>); 3] {
        [("bacteria", self.bacteria), ("yeast", self.yeast), ("mould", self.mould)]
    }
}

/// What a raw material does not go with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Incompatible {
    /// What to look for in a formula; empty when it is for reading only.
    pub with: Vec<Partner>,
    /// The same in words.
    pub words: String,
    /// What happens.
    pub effect: Option<String>,
    /// Where it comes from.
    pub source: Option<Arc<Source>>,
}

/// One thing that a raw material does not go with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Partner {
    /// A group.
    Group(Group),
    /// A raw material by its id, or a substance by its INCI name.
    Named(String),
}

impl Partner {
    /// Whether a raw material is it or holds it.
    pub fn is_in(&self, material: &Material) -> bool {
        match self {
            Partner::Group(group) => group.holds(material),
            Partner::Named(name) => {
                material.id == *name
                    || material.also.contains(name)
                    || material.contains.iter().any(|part| part.inci.eq_ignore_ascii_case(name))
            }
        }
    }
}

impl Incompatible {
    /// Whether a raw material is among what this goes against.
    pub fn concerns(&self, material: &Material) -> bool {
        self.with.iter().any(|partner| partner.is_in(material))
    }
}

impl Material {
    /// The charge that decides what the material falls out with: as stated, else by its surfactants. Charged surfactants go
    /// before uncharged ones; anionic and cationic together say nothing.
    pub fn charge(&self) -> Option<SurfactantClass> {
        let has = |class: SurfactantClass| self.contains.iter().any(|part| part.surfactant == Some(class));
        let by_surfactants = || match (has(SurfactantClass::Anionic), has(SurfactantClass::Cationic)) {
            (true, true) => None,
            (true, false) => Some(SurfactantClass::Anionic),
            (false, true) => Some(SurfactantClass::Cationic),
            (false, false) => {
                [SurfactantClass::Amphoteric, SurfactantClass::Nonionic].into_iter().find(|class| has(*class))
            }
        };
        self.stated_charge().or_else(by_surfactants)
    }

    fn stated_charge(&self) -> Option<SurfactantClass> {
        self.charge.as_ref().map(|stated| stated.value)
    }
}

impl Material {
    /// What this module knows of the material, in words for the reader; [`Detail::key`] is what each is called.
    pub fn behaviour(&self) -> Vec<Detail> {
        let mut details = Vec::new();
        details.extend(figure("melting point", self.melting_point.as_ref(), "\u{a0}°C"));
        details.extend(figure("HLB", self.hlb.as_ref(), ""));
        details.extend(figure("required HLB", self.required_hlb.as_ref(), ""));
        details.extend(figure("saponification value", self.saponification_value.as_ref(), "\u{a0}mg KOH/g"));
        details.extend(word("ionic character", self.charge.as_ref()));
        details.extend(figure("has this charge at pH", self.charge_ph.as_ref(), ""));
        details.extend(word("with anionic surfactants", self.with_anionics.as_ref()));
        details.extend(word("dissolves in", self.dissolves.as_ref()));
        details.extend(word("thickens with", self.thickens_with.as_ref()));
        details.extend(figure("thick at pH", self.thick_ph.as_ref(), ""));
        details.extend(word("with salts", self.electrolytes.as_ref()));
        let solubiliser = self.solubiliser.as_ref().and_then(|fact| fact.of.as_deref()).unwrap_or("it");
        details.extend(figure(&format!("parts of {solubiliser} per part of oil"), self.solubiliser.as_ref(), ""));
        details.extend(self.covers.as_ref().map(Cover::words));
        details.extend(self.incompatible.iter().map(|pair| {
            let effect = pair.effect.as_ref().map_or(String::new(), |effect| format!(": {effect}"));
            let text = format!("{}{effect}", pair.words);
            Detail { key: "does not go with".to_owned(), text, source: pair.source.clone() }
        }));
        details
    }
}

impl Cover {
    fn words(&self) -> Detail {
        let group = |(name, coverage): (&str, Option<Coverage>)| {
            format!("{name} {}", coverage.map_or("not known", Vocabulary::word))
        };
        let text = with_note(self.groups().map(group).join(", "), self.note.as_deref());
        Detail { key: "keeps down".to_owned(), text, source: self.source.clone() }
    }
}

/// A figure with its unit and its remark; nothing where it is not known.
pub(super) fn figure(key: &str, fact: Option<&Fact>, unit: &str) -> Option<Detail> {
    let fact = fact?;
    let text = with_note(format!("{}{unit}", fact.words()), fact.note.as_deref());
    Some(Detail { key: key.to_owned(), text, source: fact.source.clone() })
}

fn word<T: Vocabulary>(key: &str, stated: Option<&Stated<T>>) -> Option<Detail> {
    let stated = stated?;
    let text = with_note(stated.value.word().to_owned(), stated.note.as_deref());
    Some(Detail { key: key.to_owned(), text, source: stated.source.clone() })
}

/// A statement with the remark behind it.
pub(super) fn with_note(text: String, note: Option<&str>) -> String {
    match note {
        Some(note) => format!("{text}; {note}"),
        None => text,
    }
}
