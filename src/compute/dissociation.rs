//! How much of a weak acid keeps its proton at a pH, and how much of the dose that leaves.
//!
//! Only the undissociated form of an acid preservative gets into a germ. The share follows from the acidity constant alone: OpenStax,
//! Chemistry 2e, section 14.6 (the Henderson–Hasselbalch equation), solved for the acid. It **holds** for dilute solutions in water
//! at 25 °C; surfactants, oils and salts take a share away or shift it. So it informs, and is never the verdict on a product.

use super::Computed;
use crate::material::{Catalogue, Component, Material, Substance};
use crate::quantity::{Decimal, Range};
use std::sync::Arc;

/// The share of an acid that has all its protons, from 0 to 1, at a **pH** of 0 to 14, for **pKa** values in order, the most acid
/// first. Rounded to eight significant digits.
///
/// One step: 1 ÷ (1 + 10^(pH − pKa)). Further steps add 10^(2 pH − pKa₁ − pKa₂) and so on to the divisor.
///
/// Floating point, by a library that gives the same bits on every machine.
pub fn undissociated_share(ph: Decimal, pka: &[Decimal]) -> Decimal {
    let mut divisor = 1.0_f64;
    let mut exponent = Decimal::ZERO;
    for step in pka {
        exponent += ph - step;
        divisor += libm::exp10(as_float(exponent));
    }
    Decimal::from_f64_retain(1.0 / divisor).and_then(|share| share.round_sf(8)).unwrap_or_default().normalize()
}

fn as_float(value: Decimal) -> f64 {
    rust_decimal::prelude::ToPrimitive::to_f64(&value).unwrap_or_default()
}

/// A weak acid that preserves a formula.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WeakAcid {
    /// INCI name of the acid.
    pub acid: String,
    /// Its pKa at 25 °C, by step.
    pub pka: Vec<Decimal>,
    /// Where that comes from.
    pub pka_source: Option<String>,
    /// The preservative lines that bring it, as written.
    pub lines: Vec<String>,
    /// All of it in the product, with its salts counted as the acid, % w/w.
    pub dose: Range,
    /// Share undissociated at the upper and the lower end of the stated pH, from 0 to 1; none without a stated pH.
    pub share: Option<Range>,
    /// What that leaves, % of the product.
    pub left: Option<Range>,
    /// What the least usual dose leaves at the upper end of its window.
    pub least: Option<Least>,
}

/// A dose known to be usual, at the least favourable pH it is said to work at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Least {
    /// Undissociated acid, % of the product.
    pub left: Decimal,
    /// The raw material.
    pub material: String,
    /// Its least usual share, % of the product as supplied.
    pub percent: Decimal,
    /// Upper end of the pH in which it works.
    pub ph: Decimal,
    /// Where both come from.
    pub source: String,
}

impl WeakAcid {
    /// Whether even the strongest lot leaves less than the least usual dose does.
    pub fn leaves_little(&self) -> bool {
        // At the upper end of the pH, where the least is left.
        let at_upper = self.share.map(|share| self.dose.high * share.low);
        at_upper.zip(self.least.as_ref()).is_some_and(|(left, least)| left < least.left)
    }
}

/// Acids that keep products although no list of preservatives names them. Common practice, no source.
const UNLISTED: [&str; 2] = ["Levulinic Acid", "p-Anisic Acid"];

/// The weak acids that the preservatives of a formula bring, by name.
pub fn weak_acids(computed: &Computed, catalogue: &Catalogue) -> Vec<WeakAcid> {
    let formula = &computed.formula;
    let mut acids: Vec<WeakAcid> = Vec::new();
    for line in formula.lines().filter(|line| line.material.serves_as("preservative") && !line.amount.is_zero()) {
        for component in &line.material.contains {
            let Some(acid) = preserving_acid(catalogue, &component.inci) else { continue };
            match acids.iter_mut().find(|known| known.acid == acid.inci) {
                Some(known) if known.lines.contains(&line.written) => {}
                Some(known) => known.lines.push(line.written.clone()),
                None => acids.push(WeakAcid {
                    acid: acid.inci.clone(),
                    pka: acid.pka.as_ref().map(|steps| steps.pka.clone()).unwrap_or_default(),
                    pka_source: acid.pka.as_ref().and_then(|steps| steps.source.as_ref()).map(|source| source.line()),
                    lines: vec![line.written.clone()],
                    dose: Range::ZERO,
                    share: None,
                    left: None,
                    least: None,
                }),
            }
        }
    }
    acids.sort_by(|left, right| left.acid.cmp(&right.acid));
    for acid in &mut acids {
        for (inci, share) in &computed.composition.substances {
            if preserving_acid(catalogue, inci).is_some_and(|other| other.inci == acid.acid) {
                acid.dose = acid.dose + share.times(as_acid(catalogue, inci, &acid.acid).unwrap_or_default());
            }
        }
        acid.share = formula.ph.map(|ph| {
            let at = |ph| undissociated_share(ph, &acid.pka);
            Range::new(at(ph.high.value()), at(ph.low.value()), None)
        });
        acid.left = acid.share.map(|share| Range {
            low: acid.dose.low * share.low,
            typical: acid.dose.typical * share.typical,
            high: acid.dose.high * share.high,
        });
        let own = || formula.lines().filter(|line| acid.lines.contains(&line.written)).map(|line| &line.material);
        let of_its_own = catalogue.materials().filter(|material| is_nothing_else(catalogue, material, &acid.acid));
        let product_use = formula.product.as_ref().map(|product| product.product_use);
        let least = |material: &Arc<Material>| {
            let level = material.use_level(product_use)?;
            let window = material.ph_works.as_ref()?;
            let (percent, ph) = (level.min?, window.max?);
            let share: Decimal = parts(catalogue, material, &acid.acid).sum();
            let left = percent * share / Decimal::ONE_HUNDRED * undissociated_share(ph, &acid.pka);
            let (dose, span) = (level.source_line(), window.source_line());
            let source = if dose == span { dose } else { format!("least dose: {dose}; pH: {span}") };
            (!left.is_zero()).then(|| Least { left, material: material.id.clone(), percent, ph, source })
        };
        // What a raw material that is this acid and nothing else leaves says most; a blend's own least dose leans on its other parts.
        acid.least = of_its_own
            .filter_map(least)
            .min_by_key(|least| least.left)
            .or_else(|| own().filter_map(least).min_by_key(|least| least.left));
    }
    acids
}

/// Whether all preserving of a formula rests on weak acids: every preservative line brings one, and none brings another substance that
/// the lists of preservatives name.
pub fn rests_on_weak_acids(computed: &Computed, catalogue: &Catalogue) -> bool {
    let mut lines = computed.formula.lines().filter(|line| line.material.serves_as("preservative")).peekable();
    lines.peek().is_some()
        && lines.all(|line| {
            let mut has_acid = false;
            let only_acids = line.material.contains.iter().all(|component| {
                let is_acid = preserving_acid(catalogue, &component.inci).is_some();
                has_acid |= is_acid;
                is_acid || !is_listed(catalogue, &component.inci)
            });
            has_acid && only_acids
        })
}

fn is_listed(catalogue: &Catalogue, inci: &str) -> bool {
    let mut lists = catalogue.limits().iter().filter(|limit| limit.counting.purpose.as_deref() == Some("preservative"));
    lists.any(|limit| limit.counting.substances.iter().any(|one| one == inci))
}

/// The weak acid that a substance is or gives in water, if it preserves.
pub(crate) fn preserving_acid<'c>(catalogue: &'c Catalogue, inci: &str) -> Option<&'c Substance> {
    let substance = catalogue.substance(inci)?;
    let acid = match &substance.acid {
        None => substance,
        // An ester is counted as its acid by the lists, but does not fall apart into it.
        Some(acid) if is_salt(inci) => catalogue.substance(acid)?,
        Some(_) => return None,
    };
    let is_acid = acid.pka.as_ref().is_some_and(|steps| steps.charge.is_zero());
    (is_acid && (is_listed(catalogue, &acid.inci) || UNLISTED.contains(&acid.inci.as_str()))).then_some(acid)
}

/// Whether a name is that of a salt: INCI puts the base first.
fn is_salt(inci: &str) -> bool {
    let bases = ["Sodium ", "Potassium ", "Calcium ", "Magnesium ", "Ammonium ", "MEA-", "TEA-"];
    // The sodium salt of a paraben is a phenolate, which turns into the ester and not into the acid.
    bases.into_iter().any(|base| inci.starts_with(base)) && !inci.ends_with("paraben")
}

/// Grams of acid that a gram of the substance counts as: units × M(acid) ÷ M(substance).
fn as_acid(catalogue: &Catalogue, inci: &str, acid: &str) -> Option<Decimal> {
    if inci == acid {
        return Some(Decimal::ONE);
    }
    let molar_mass = |inci: &str| {
        let substance = catalogue.substance(inci)?;
        Some((substance.molar_mass.as_ref()?.range()?.typical, substance.units))
    };
    let (of_acid, _) = molar_mass(acid)?;
    let (of_substance, units) = molar_mass(inci)?;
    (of_acid * units).checked_div(of_substance)
}

/// What each component of a material brings of an acid, % of the material.
fn parts<'m>(
    catalogue: &'m Catalogue,
    material: &'m Material,
    acid: &'m str,
) -> impl Iterator<Item = Decimal> + use<'m> {
    material.contains.iter().filter_map(move |component| {
        let own = preserving_acid(catalogue, &component.inci).filter(|own| own.inci == acid)?;
        Some(component.percent.range()?.typical * as_acid(catalogue, &component.inci, &own.inci)?)
    })
}

fn is_nothing_else(catalogue: &Catalogue, material: &Material, acid: &str) -> bool {
    let is_it = |component: &Component| preserving_acid(catalogue, &component.inci).is_some_and(|own| own.inci == acid);
    material.serves_as("preservative") && material.contains.len() == 1 && material.contains.iter().all(is_it)
}
