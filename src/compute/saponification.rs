//! How much lye fats take, and what follows from it: water, the worst case, the fatty acids, and what mends a weighing mistake.
//!
//! A saponification value is the potassium hydroxide, in mg, that takes one gram of a fat wholly into soap (ISO 3657), so m × value ÷ 1000 ÷ 56.11 mol of
//! any alkali do. Everything is exact decimals; weights are rounded to the balance on the way out, and the worst case is reckoned for them as rounded.

mod figures;
mod rescue;

pub(crate) use figures::span;
pub(crate) use rescue::MOST;
pub use rescue::{Outcome, Rescue};

use crate::block::{
    FatAmount, FatBlock, LEAST_PURITY, LyeBlock, LyeWater, Placed, SaponificationBlock, ShareOf, ValueUnit,
};
use crate::material::{Component, FATTY_ACIDS, FatProfile, FattyAcids, Material};
use crate::quantity::{Decimal, Mass, Percent, Range, apportion, round_to_step};
use std::sync::Arc;

/// Where the molar masses of the two hydroxides come from.
pub(crate) const MOLAR_MASSES: &str =
    "molar masses 40.00 g/mol (NaOH) and 56.11 g/mol (KOH): IUPAC standard atomic weights, 39.997 and 56.106, rounded";

/// The alkali of a lye.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Alkali {
    /// NaOH: hard soap.
    Sodium,
    /// KOH: soft soap.
    Potassium,
}

impl Alkali {
    /// Both.
    pub const ALL: [Alkali; 2] = [Alkali::Sodium, Alkali::Potassium];

    /// **Unit** g/mol. IUPAC standard atomic weights give 39.997 and 56.106; rounded as soap makers' books have them.
    pub const fn molar_mass(self) -> Decimal {
        match self {
            Alkali::Sodium => Decimal::from_parts(4_000, 0, 0, false, 2),
            Alkali::Potassium => Decimal::from_parts(5_611, 0, 0, false, 2),
        }
    }

    /// Its INCI name.
    pub fn inci(self) -> &'static str {
        match self {
            Alkali::Sodium => "Sodium Hydroxide",
            Alkali::Potassium => "Potassium Hydroxide",
        }
    }

    /// Its name in a sentence.
    pub fn word(self) -> &'static str {
        match self {
            Alkali::Sodium => "sodium hydroxide",
            Alkali::Potassium => "potassium hydroxide",
        }
    }
}

/// A fat with its weight and what it takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fat {
    /// As written.
    pub key: String,
    /// Its name.
    pub name: String,
    /// The lot.
    pub lot: Option<String>,
    /// Its weight, exact.
    pub mass: Mass,
    /// Its weight as it is weighed.
    pub weighed: Mass,
    /// Its share of all fats, %.
    pub percent: Decimal,
    /// Saponification value, mg KOH/g; reckoned with the typical one.
    pub value: Range,
    /// Where that comes from.
    pub source: String,
    /// Whether it is the middle of a range for which no usual value is known.
    pub is_middle: bool,
    /// Whether the author gave it.
    pub is_given: bool,
    /// What the catalogue says of it, where the author gave another.
    pub published: Option<Range>,
    /// Its fatty acids, where they are known.
    pub acids: Option<FatProfile>,
}

/// A hydroxide with its weight.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lye {
    /// As written.
    pub key: String,
    /// Its name.
    pub name: String,
    /// What it is.
    pub alkali: Alkali,
    /// How much of it is that, %.
    pub purity: Range,
    /// Whether the author said so, and not the catalogue.
    pub is_purity_given: bool,
    /// The share of the fat that it saponifies, 0 to 1.
    pub part: Decimal,
    /// Its weight, exact.
    pub mass: Mass,
    /// Its weight as it is weighed.
    pub weighed: Mass,
}

/// The fatty acids of a mixture of fats.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Profile {
    /// Name, carbon atoms and double bonds, and share in %, of the fats that are known.
    pub acids: Vec<(&'static str, &'static str, Range)>,
    /// How much of the fats is known, % by weight.
    pub known: Decimal,
    /// The names of the others.
    pub unknown: Vec<String>,
    /// Where the shares are printed.
    pub sources: Vec<String>,
}

/// A saponification worked out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Saponification {
    /// Its title.
    pub title: Option<String>,
    /// The fats.
    pub fats: Vec<Fat>,
    /// The hydroxides.
    pub lyes: Vec<Lye>,
    /// What the share of the hydroxides was stated of, where there are two.
    pub share_of: Option<(String, Percent, ShareOf)>,
    /// So much less lye than the fats take in all, %.
    pub superfat: Percent,
    /// How the water was stated.
    pub water_as: LyeWater,
    /// The water, exact.
    pub water: Mass,
    /// The smallest step of the balance.
    pub readability: Mass,
    /// The fatty acids.
    pub profile: Profile,
    /// What follows from what was really weighed.
    pub rescue: Option<Rescue>,
}

/// Why a saponification cannot be worked out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SaponificationFault {
    /// A raw material that is not known.
    Unknown(Placed<String>),
    /// A raw material without a saponification value.
    NoValue(Placed<String>, Arc<Material>),
    /// A raw material that is no solid hydroxide.
    NotLye(Placed<String>),
    /// The per cent of the fats do not add up to 100; their sum.
    Sum(Decimal),
    /// More than one fat takes the rest.
    TwoRests(Placed<()>),
    /// More lye than the fats take.
    SuperfatBelowZero,
    /// It is not said how the hydroxides share the fat.
    ShareNotSettled(&'static str),
    /// No fat takes any lye.
    NothingTakesLye,
}

impl Saponification {
    /// Works a saponification out. `material` looks a raw material up; weights are printed at the steps of a balance.
    ///
    /// # Errors
    /// Everything that stands against it.
    pub fn of<'m>(
        block: &SaponificationBlock,
        material: impl Fn(&str) -> Option<&'m Arc<Material>>,
        readability: Mass,
    ) -> Result<Saponification, Vec<SaponificationFault>> {
        let mut faults = Vec::new();
        if block.superfat.value.value() < Decimal::ZERO {
            faults.push(SaponificationFault::SuperfatBelowZero);
        }
        let masses = masses(block, &mut faults);
        let mut fats = Vec::new();
        for (fat, mass) in block.fats.iter().zip(&masses) {
            match material(&fat.name.value) {
                Some(known) => fats.extend(fat_of(fat, *mass, known, &mut faults)),
                None => faults.push(SaponificationFault::Unknown(fat.name.clone())),
            }
        }
        let mut lyes = Vec::new();
        for lye in &block.lyes {
            match material(&lye.name.value) {
                Some(known) => lyes.extend(lye_of(lye, known, &mut faults)),
                None => faults.push(SaponificationFault::Unknown(lye.name.clone())),
            }
        }
        if lyes.len() == block.lyes.len() {
            share_out(block, &mut lyes, &mut faults);
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let whole: Decimal = masses.iter().map(|mass| mass.grams()).sum();
        let step = readability.grams();
        let printed = apportion(&masses.iter().map(|mass| mass.grams()).collect::<Vec<_>>(), whole, step, None);
        for (fat, printed) in fats.iter_mut().zip(printed) {
            // Weights are printed as they were written; only what was worked out from per cent is made to add up to the batch.
            let own = if block.batch.is_some() { printed } else { round_to_step(fat.mass.grams(), step) };
            fat.weighed = Mass::from_grams(own);
            fat.percent = (fat.mass.grams() * Decimal::ONE_HUNDRED).checked_div(whole).unwrap_or_default().normalize();
        }
        let profile = profile_of(&fats);
        let share_of = block.lyes.iter().find_map(|lye| {
            let share = lye.share.as_ref()?;
            Some((lye.name.value.clone(), share.value.0, share.value.1))
        });
        let mut answer = Saponification {
            title: block.title.clone(),
            fats,
            lyes,
            share_of,
            superfat: block.superfat.value,
            water_as: block.water.value,
            water: Mass::ZERO,
            readability,
            profile,
            rescue: None,
        };
        let full = answer.full();
        if full.is_zero() {
            return Err(vec![SaponificationFault::NothingTakesLye]);
        }
        let wanted = full * (Decimal::ONE_HUNDRED - answer.superfat.value()) / Decimal::ONE_HUNDRED;
        for lye in &mut answer.lyes {
            let pure = wanted * lye.part * lye.alkali.molar_mass();
            let mass = (pure * Decimal::ONE_HUNDRED).checked_div(lye.purity.typical).unwrap_or_default();
            lye.mass = Mass::from_grams(mass);
            lye.weighed = Mass::from_grams(round_to_step(mass, step));
        }
        // The water is for the lye that is weighed, so that the strength in the vessel is the one stated.
        answer.water = water_for(block.water.value, answer.lye_weighed(), Mass::from_grams(whole));
        answer.rescue = Rescue::of(block, &answer);
        Ok(answer)
    }

    /// What all of the fat takes, mol of alkali.
    pub fn full(&self) -> Decimal {
        self.fats.iter().map(|fat| moles(fat.mass, fat.value.typical)).sum()
    }

    /// The weight of all fats as they are weighed.
    pub fn fats_weighed(&self) -> Mass {
        self.fats.iter().map(|fat| fat.weighed).sum()
    }

    /// The weight of the hydroxides as they are weighed.
    pub fn lye_weighed(&self) -> Mass {
        self.lyes.iter().map(|lye| lye.weighed).sum()
    }

    /// The weight of the water as it is weighed.
    pub fn water_weighed(&self) -> Mass {
        self.rounded(self.water)
    }

    /// Everything that goes in.
    pub fn total_weighed(&self) -> Mass {
        self.fats_weighed() + self.lye_weighed() + self.water_weighed()
    }

    /// The weight that is printed: a multiple of the balance's step.
    pub fn rounded(&self, mass: Mass) -> Mass {
        Mass::from_grams(round_to_step(mass.grams(), self.readability.grams()))
    }

    /// What the fats as they are weighed take at the ends of their saponification values, mol of alkali.
    fn taken(&self, end: impl Fn(&Range) -> Decimal) -> Decimal {
        self.fats.iter().map(|fat| moles(fat.weighed, end(&fat.value))).sum()
    }

    /// What the hydroxides as they are weighed bring at the ends of their purities, mol of alkali.
    fn brought(&self, end: impl Fn(&Range) -> Decimal) -> Decimal {
        self.lyes
            .iter()
            .map(|lye| lye.weighed.grams() * end(&lye.purity) / Decimal::ONE_HUNDRED / lye.alkali.molar_mass())
            .sum()
    }

    /// The superfat, %, if all fats are at the low end of their saponification values and the hydroxides at the high end of their purities.
    pub fn lowest_superfat(&self) -> Option<Decimal> {
        superfat_of(self.brought(|purity| purity.high), self.taken(|value| value.low))
    }

    /// The superfat, %, at the other ends.
    pub fn highest_superfat(&self) -> Option<Decimal> {
        superfat_of(self.brought(|purity| purity.low), self.taken(|value| value.high))
    }

    /// The alkali that is left over in the worst case of [`Saponification::lowest_superfat`], as NaOH, % of the whole.
    pub fn free_alkali(&self) -> Decimal {
        let left = self.brought(|purity| purity.high) - self.taken(|value| value.low);
        share_of_whole(left, self.total_weighed())
    }

    /// The least superfat, in whole per cent, that leaves no alkali over in the worst case.
    pub fn safe_superfat(&self) -> Decimal {
        let full = self.full();
        let stronger: Decimal = self
            .lyes
            .iter()
            .map(|lye| lye.part * lye.purity.high.checked_div(lye.purity.typical).unwrap_or(Decimal::ONE))
            .sum();
        let least: Decimal = self.fats.iter().map(|fat| moles(fat.mass, fat.value.low)).sum();
        superfat_of(full * stronger, least)
            .and_then(|short| {
                // 1 − s = least ÷ (full · stronger), and `short` is 1 − full · stronger ÷ least.
                let ratio = Decimal::ONE - short / Decimal::ONE_HUNDRED;
                Decimal::ONE.checked_div(ratio)
            })
            .map_or(Decimal::ONE_HUNDRED, |part| ((Decimal::ONE - part) * Decimal::ONE_HUNDRED).ceil())
            .max(Decimal::ZERO)
    }

    /// The saponification value of all fats together, mg KOH/g.
    pub fn mean_value(&self) -> Range {
        let weighed = |end: fn(&Range) -> Decimal| -> Decimal {
            self.fats.iter().map(|fat| fat.percent * end(&fat.value)).sum::<Decimal>() / Decimal::ONE_HUNDRED
        };
        Range {
            low: weighed(|value| value.low),
            typical: weighed(|value| value.typical),
            high: weighed(|value| value.high),
        }
    }
}

/// m × value ÷ 1000 ÷ 56.11: the alkali that a fat takes, mol.
fn moles(mass: Mass, value: Decimal) -> Decimal {
    mass.grams() * value / Decimal::ONE_THOUSAND / Alkali::Potassium.molar_mass()
}

/// So much less is brought than is taken, %.
fn superfat_of(brought: Decimal, taken: Decimal) -> Option<Decimal> {
    let share = brought.checked_div(taken)?;
    Some((Decimal::ONE - share) * Decimal::ONE_HUNDRED)
}

/// Alkali that is left over, in mol, as NaOH in % of the whole.
fn share_of_whole(left: Decimal, whole: Mass) -> Decimal {
    let mass = left.max(Decimal::ZERO) * Alkali::Sodium.molar_mass() * Decimal::ONE_HUNDRED;
    mass.checked_div(whole.grams()).unwrap_or_default()
}

/// The weights of the fats.
fn masses(block: &SaponificationBlock, faults: &mut Vec<SaponificationFault>) -> Vec<Mass> {
    let percents: Decimal = block
        .fats
        .iter()
        .filter_map(|fat| match fat.amount.value {
            FatAmount::Percent(percent) => Some(percent.value()),
            FatAmount::Mass(_) | FatAmount::Rest => None,
        })
        .sum();
    let mut rests = block.fats.iter().filter(|fat| fat.amount.value == FatAmount::Rest);
    let has_rest = rests.next().is_some();
    if let Some(second) = rests.next() {
        faults.push(SaponificationFault::TwoRests(second.amount.with(())));
    }
    let in_percent = block.batch.is_some();
    let fits = if has_rest { percents < Decimal::ONE_HUNDRED } else { percents == Decimal::ONE_HUNDRED };
    if in_percent && !fits {
        faults.push(SaponificationFault::Sum(percents));
    }
    let batch = block.batch.unwrap_or(Mass::ZERO);
    block
        .fats
        .iter()
        .map(|fat| match fat.amount.value {
            FatAmount::Mass(mass) => mass,
            FatAmount::Percent(percent) => Mass::from_grams(percent.of(batch.grams())),
            FatAmount::Rest => Mass::from_grams(Percent::new(Decimal::ONE_HUNDRED - percents).of(batch.grams())),
        })
        .collect()
}

fn fat_of(fat: &FatBlock, mass: Mass, known: &Arc<Material>, faults: &mut Vec<SaponificationFault>) -> Option<Fat> {
    let fact = known.saponification_value.as_ref();
    let published = fact.and_then(|fact| fact.range());
    let (value, source, is_middle) = match (&fat.value, fact.zip(published)) {
        (Some(given), _) => {
            let range = match given.value.unit {
                ValueUnit::PotassiumHydroxide => given.value.range,
                ValueUnit::SodiumHydroxide => {
                    given.value.range.times(Alkali::Potassium.molar_mass()).divided_by(Alkali::Sodium.molar_mass())
                }
            };
            (range, format!("as given, {}", given.value.text), !range.is_exact())
        }
        (None, Some((fact, range))) => (range, fact.source_line(), fact.typical.is_none() && !range.is_exact()),
        (None, None) => {
            faults.push(SaponificationFault::NoValue(fat.name.clone(), Arc::clone(known)));
            return None;
        }
    };
    Some(Fat {
        key: fat.name.value.clone(),
        name: known.name.clone(),
        lot: fat.lot.clone(),
        mass,
        weighed: mass,
        percent: Decimal::ZERO,
        value,
        source,
        is_middle,
        is_given: fat.value.is_some(),
        published,
        acids: FattyAcids::built_in().of(&known.id).cloned(),
    })
}

fn lye_of(lye: &LyeBlock, known: &Arc<Material>, faults: &mut Vec<SaponificationFault>) -> Option<Lye> {
    // What holds a little of it beside other things is no lye, whatever purity is written beside it.
    let is_most = |part: &&Component| part.percent.range().is_some_and(|range| range.high >= LEAST_PURITY);
    let holds = |alkali: &Alkali| known.contains.iter().filter(is_most).find(|part| part.inci == alkali.inci());
    let found = Alkali::ALL.into_iter().find_map(|alkali| Some((alkali, holds(&alkali)?)));
    // A solution would bring water with it, and its strength changes as it stands.
    let solid = |purity: &Range| purity.low >= LEAST_PURITY;
    let usable = found.and_then(|(alkali, part)| {
        let purity = lye.purity.or_else(|| part.percent.range().filter(solid))?;
        Some((alkali, purity)).filter(|_| known.form.as_deref() != Some("liquid"))
    });
    let Some((alkali, purity)) = usable else {
        faults.push(SaponificationFault::NotLye(lye.name.clone()));
        return None;
    };
    Some(Lye {
        key: lye.name.value.clone(),
        name: known.name.clone(),
        alkali,
        purity,
        is_purity_given: lye.purity.is_some(),
        part: Decimal::ONE,
        mass: Mass::ZERO,
        weighed: Mass::ZERO,
    })
}

/// Settles which part of the fat each hydroxide saponifies.
///
/// By weight of pure alkali a of one hydroxide and 1 − a of the other bring a ÷ M₁ and (1 − a) ÷ M₂ mol.
fn share_out(block: &SaponificationBlock, lyes: &mut [Lye], faults: &mut Vec<SaponificationFault>) {
    let shares: Vec<_> = block.lyes.iter().map(|lye| lye.share.as_ref().map(|share| share.value)).collect();
    let ([one, other], [first, second]) = (lyes, shares.as_slice()) else {
        if block.lyes.len() != 1 {
            faults.push(SaponificationFault::ShareNotSettled("There are more than two hydroxides; name each once."));
        } else if shares.first().is_some_and(Option::is_some) {
            faults.push(SaponificationFault::ShareNotSettled(
                "There is one hydroxide only, so it has no share; leave `share` out.",
            ));
        }
        return;
    };
    if one.alkali == other.alkali {
        faults.push(SaponificationFault::ShareNotSettled("Both are the same hydroxide; name it once."));
        return;
    }
    let (share, of, is_first) = match (first, second) {
        (Some((share, of)), None) => (share.value(), *of, true),
        (None, Some((share, of))) => (share.value(), *of, false),
        (Some((share, of)), Some((rest, of_rest)))
            if of == of_rest && share.value() + rest.value() == Decimal::ONE_HUNDRED =>
        {
            (share.value(), *of, true)
        }
        (Some(_), Some(_)) => {
            faults.push(SaponificationFault::ShareNotSettled("The two shares are not of the same thing or do not add up to 100 %; give one, the other takes the rest."));
            return;
        }
        (None, None) => {
            faults.push(SaponificationFault::ShareNotSettled("With two hydroxides one has its share: `share = \"40 % of the fat\"` or `share = \"40 % of the alkali\"`."));
            return;
        }
    };
    let part = share / Decimal::ONE_HUNDRED;
    let (shared, rest) = if is_first { (one, other) } else { (other, one) };
    let part = match of {
        ShareOf::Fat => part,
        ShareOf::Alkali => {
            let own = part / shared.alkali.molar_mass();
            own / (own + (Decimal::ONE - part) / rest.alkali.molar_mass())
        }
    };
    shared.part = part;
    rest.part = Decimal::ONE - part;
}

/// The water to so much hydroxide and fat.
fn water_for(water: LyeWater, lye: Mass, fats: Mass) -> Mass {
    let lye = lye.grams();
    let water = match water {
        LyeWater::Strength(strength) => {
            lye.checked_div(strength.value()).unwrap_or_default() * (Decimal::ONE_HUNDRED - strength.value())
        }
        LyeWater::Ratio(ratio) => lye * ratio,
        LyeWater::OfFats(share) => share.of(fats.grams()),
        LyeWater::Mass(mass) => mass.grams(),
    };
    Mass::from_grams(water)
}

fn profile_of(fats: &[Fat]) -> Profile {
    let known: Decimal = fats.iter().filter(|fat| fat.acids.is_some()).map(|fat| fat.percent).sum();
    let mut profile = Profile {
        known,
        unknown: fats.iter().filter(|fat| fat.acids.is_none()).map(|fat| fat.name.clone()).collect(),
        ..Profile::default()
    };
    for fat in fats {
        let source = fat.acids.as_ref().map(|acids| acids.source.line());
        profile.sources.extend(source.filter(|source| !profile.sources.contains(source)));
    }
    for (acid, code) in FATTY_ACIDS {
        let of_fat = |fat: &Fat| {
            let acids = &fat.acids.as_ref()?.acids;
            let share = acids.iter().find(|(name, _)| *name == acid)?.1;
            Some(share.times(fat.percent))
        };
        let all: Range = fats.iter().filter_map(of_fat).sum();
        if all.high > Decimal::ZERO {
            profile.acids.push((acid, code, all.divided_by(known)));
        }
    }
    profile
}
