//! Surfactant active matter: the washing substance itself, not the water and salt it is supplied in.
//!
//! Active matter in % of the product = Σ use level × active matter of the raw material ÷ 100 (standard practice of the trade;
//! the active matter of a raw material is what ISO 2271 and ISO 2870 titrate). Ends of ranges are carried through.

use super::composition::{components_of_line, is_counted};
use crate::material::{Material, SurfactantClass};
use crate::model::{Formula, Line};
use crate::quantity::{Decimal, Range};

/// Active matter of a formula.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ActiveMatter {
    /// All classes together, % of the product.
    pub total: Range,
    /// By class, in the order of [`SurfactantClass::ALL`], only those that occur.
    pub classes: Vec<(SurfactantClass, Range)>,
    /// By line, in order, only lines that bring some.
    pub lines: Vec<LineActive>,
    /// Lines with a surfactant whose strength is not known, by index among all lines.
    pub unknown: Vec<usize>,
}

/// What one line brings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineActive {
    /// Index among all lines.
    pub line: usize,
    /// Active matter of the raw material, % of it.
    pub strength: Range,
    /// What it brings, % of the product.
    pub percent: Range,
}

impl ActiveMatter {
    /// The active matter of a formula.
    pub fn of(formula: &Formula) -> ActiveMatter {
        let mut active = ActiveMatter::default();
        let mut by_class = [Range::ZERO; 4];
        for (index, line) in formula.lines().enumerate() {
            let percent = formula.percent(line).value();
            let in_product = |strength: Range| strength.times(percent).divided_by(Decimal::ONE_HUNDRED);
            let parts = match active_of_line(line) {
                None => {
                    active.unknown.push(index);
                    continue;
                }
                Some(parts) => parts,
            };
            if parts.is_empty() {
                continue;
            }
            let strength: Range = parts.iter().map(|(_, share)| *share).sum();
            for (class, share) in &parts {
                if let Some((_, sum)) =
                    SurfactantClass::ALL.iter().zip(&mut by_class).find(|(known, _)| *known == class)
                {
                    *sum = *sum + in_product(*share);
                }
            }
            active.lines.push(LineActive { line: index, strength, percent: in_product(strength) });
        }
        active.total = active.lines.iter().map(|line| line.percent).sum();
        active.classes =
            SurfactantClass::ALL.into_iter().zip(by_class).filter(|(_, sum)| sum.high > Decimal::ZERO).collect();
        active
    }

    /// Whether the formula holds any surfactant.
    pub fn is_any(&self) -> bool {
        !self.lines.is_empty()
    }

    /// The share of one class, % of the product.
    pub fn class(&self, wanted: SurfactantClass) -> Range {
        self.classes.iter().find(|(class, _)| *class == wanted).map_or(Range::ZERO, |(_, range)| *range)
    }
}

/// The surfactants of a line's raw material by class, % of the material; empty when there are none, `None` when there are but
/// their share or class is not known.
pub fn active_of_line(line: &Line) -> Option<Vec<(SurfactantClass, Range)>> {
    let components = components_of_line(line);
    // A material that is used as a surfactant and names none holds some all the same: unknown is not zero.
    if line.material.serves_as("surfactant") && components.iter().all(|(component, _)| component.surfactant.is_none()) {
        return None;
    }
    let surfactants = components.iter().filter(|(component, _)| component.surfactant.is_some());
    let mut parts: Vec<(SurfactantClass, Range)> = Vec::new();
    for (component, share) in surfactants {
        let class = component.surfactant?;
        parts.push((class, (*share)?));
    }
    // A strength given for the material as a whole bounds the sum better than the parts' own ranges do.
    if line.strength.is_none()
        && let Some(range) = stated_range(&line.material)
    {
        let sum: Decimal = parts.iter().map(|(_, share)| share.typical).sum();
        if sum > Decimal::ZERO {
            for (_, share) in &mut parts {
                *share = range.times(share.typical).divided_by(sum);
            }
        }
    }
    Some(parts)
}

/// Active matter of a raw material as the catalogue has it, % of the material.
pub fn active_of_material(material: &Material) -> Option<Range> {
    if let Some(range) = stated_range(material) {
        return Some(range);
    }
    let mut sum = Range::ZERO;
    for component in material.contains.iter().filter(|component| component.surfactant.is_some()) {
        sum = sum + component.percent.range()?;
    }
    (sum.high > Decimal::ZERO).then_some(sum)
}

/// The strength of the material when it counts the surfactants.
fn stated_range(material: &Material) -> Option<Range> {
    let strength = material.strength.as_ref()?;
    let counts_surfactants =
        material.contains.iter().any(|part| part.surfactant.is_some() && is_counted(material, part));
    // A usual value alone bounds nothing: the ranges of the parts do.
    let is_bounded = strength.min.is_some() && strength.max.is_some();
    if counts_surfactants && is_bounded { strength.range() } else { None }
}
