//! HLB: what the oil phase of an emulsion asks for, what its emulsifiers bring, and the split of two emulsifiers that meets it.
//!
//! The HLB of a blend of emulsifiers and the required HLB of an oil phase are weight averages (Griffin, J. Soc. Cosmet. Chem. 1, 1949, 311).
//! Both are approximate guides only; that they add up was never proved (Pasquali et al., Int. J. Pharm. 356, 2008, 44–51). Ends of ranges are
//! carried through. Where HLB says nothing, the reason is given instead of a comparison.

use super::{Computed, Figure, Value, Working, watery_of};
use crate::material::{Dissolves, Fact, Group, Material, SurfactantClass};
use crate::model::Line;
use crate::quantity::{Decimal, Percent, Range};

/// From this much water on a formula with oils and an emulsifier is looked at as an emulsion, % of the product. Common practice, no source.
const WATERY: Decimal = Decimal::from_parts(10, 0, 0, false, 0);
/// From this much surfactant active matter on a product is a wash, in which micelles hold the oil, % of the product. Common practice, no
/// source.
const WASH: Decimal = Decimal::from_parts(3, 0, 0, false, 0);
/// Below this HLB a blend makes water-in-oil emulsions (Griffin's bands: 3 to 6 water in oil, 7 to 9 wetting, 8 to 18 oil in water).
const OIL_IN_WATER: Decimal = Decimal::from_parts(7, 0, 0, false, 0);
/// Where the averages come from, and how far they are to be trusted.
const SOURCE: &str = "weight averages: Griffin, J. Soc. Cosmet. Chem. 1 (1949) 311; an approximate guide only";

/// An oil or an emulsifier of the emulsion.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// The id as its line names it.
    pub written: String,
    /// Its name.
    pub name: String,
    /// How much of it, % of the product.
    pub percent: Decimal,
    /// The HLB that it needs, as an oil, or has, as an emulsifier; nothing where it is not known.
    pub hlb: Option<Range>,
    /// Where that is known from.
    pub source: String,
}

/// Why HLB is no guide for a formula, with the names of the raw materials.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoGuide {
    /// An emulsifier carries a charge; Griffin's scale is for uncharged ones.
    Charged(String, SurfactantClass),
    /// An emulsifier is a polymer: it holds the droplets by thickening the water and by size.
    Polymer(String),
    /// Soap is made in the vessel, by an acid and a base.
    Soap(String, String),
    /// Surfactants that wash hold the oil.
    Wash,
}

/// The emulsion of a formula.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Emulsion {
    id: String,
    /// The oil phase: oils, fats, waxes, fatty alcohols and acids, esters.
    pub oils: Vec<Part>,
    /// The emulsifiers.
    pub emulsifiers: Vec<Part>,
    /// Why HLB says nothing here.
    pub no_guide: Option<NoGuide>,
}

/// The split of two emulsifiers that meets the required HLB.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Split<'a> {
    /// The emulsifier of the higher HLB, and its share of the two, % w/w.
    pub higher: (&'a Part, Range),
    /// The one of the lower HLB, and its share.
    pub lower: (&'a Part, Range),
    /// The two together, % of the product.
    pub together: Decimal,
}

impl Emulsion {
    /// The emulsion of a formula with water, an oil phase and an emulsifier; nothing for any other.
    pub fn of(computed: &Computed) -> Option<Emulsion> {
        let formula = &computed.formula;
        let there = || formula.lines().filter(|line| formula.percent(line).value() > Decimal::ZERO);
        let part = |line: &Line, fact: &Option<Fact>| Part {
            written: line.written.clone(),
            name: line.material.name.clone(),
            percent: formula.percent(line).value(),
            hlb: fact.as_ref().and_then(Fact::range),
            source: fact.as_ref().map_or_else(String::new, Fact::source_line),
        };
        let oils: Vec<Part> =
            there().filter(|line| is_oil(&line.material)).map(|line| part(line, &line.material.required_hlb)).collect();
        let emulsifiers: Vec<Part> =
            there().filter(|line| is_emulsifier(&line.material)).map(|line| part(line, &line.material.hlb)).collect();
        let no_guide = no_guide(computed);
        let is_held = !emulsifiers.is_empty() || matches!(no_guide, Some(NoGuide::Polymer(_) | NoGuide::Soap(..)));
        if oils.is_empty() || !is_held || watery_of(&computed.composition).typical < WATERY {
            return None;
        }
        Some(Emulsion { id: formula.id.clone(), oils, emulsifiers, no_guide })
    }

    /// The names of the parts without a figure.
    pub fn unknown(parts: &[Part]) -> Vec<&str> {
        parts.iter().filter(|part| part.hlb.is_none()).map(|part| part.name.as_str()).collect()
    }

    /// The HLB that the oil phase needs for oil in water; nothing while that of one of its parts is not known.
    pub fn required(&self) -> Option<Range> {
        average(&self.oils)
    }

    /// The HLB of the emulsifiers together; nothing while that of one of them is not known, or where HLB is no guide.
    pub fn blend(&self) -> Option<Range> {
        average(&self.emulsifiers).filter(|_| self.no_guide.is_none())
    }

    /// How far the emulsifiers lie above what is required, below zero when they lie under it.
    pub fn mismatch(&self) -> Option<Range> {
        let (required, blend) = (self.required()?, self.blend()?);
        Some(Range {
            low: blend.low - required.high,
            typical: blend.typical - required.typical,
            high: blend.high - required.low,
        })
    }

    /// Whether the emulsifiers are such as make water-in-oil emulsions, for which the required figures do not hold.
    pub fn is_water_in_oil(&self) -> bool {
        self.blend().is_some_and(|blend| blend.typical < OIL_IN_WATER)
    }

    /// The split of exactly two emulsifiers that meets the required HLB R: the one of the higher HLB H takes (R − L) ÷ (H − L) of
    /// their weight, L the lower. Nothing when R lies outside them, or when they are the same.
    pub fn split(&self) -> Option<Split<'_>> {
        let (required, _) = (self.required()?, self.blend()?);
        let [one, other] = self.emulsifiers.as_slice() else { return None };
        let (high, low) = if one.hlb?.typical >= other.hlb?.typical { (one, other) } else { (other, one) };
        let (h, l) = (high.hlb?, low.hlb?);
        let share = |r: Decimal, h: Decimal, l: Decimal| (r - l).checked_div(h - l);
        let typical = share(required.typical, h.typical, l.typical)?;
        if typical < Decimal::ZERO || typical > Decimal::ONE {
            return None;
        }
        // It grows with R and shrinks with H and with L; ends that meet leave it open.
        let end = |r, h, l| share(r, h, l).filter(|_| h > l).map(|end| end.clamp(Decimal::ZERO, Decimal::ONE));
        let (from, to) = (end(required.low, h.high, l.high)?, end(required.high, h.low, l.low)?);
        let of_higher = Range::new(from, to, Some(typical)).times(Decimal::ONE_HUNDRED);
        let rest = |end: Decimal| Decimal::ONE_HUNDRED - end;
        let of_lower = Range { low: rest(of_higher.high), typical: rest(of_higher.typical), high: rest(of_higher.low) };
        Some(Split {
            higher: (high, of_higher),
            lower: (low, of_lower),
            together: (one.percent + other.percent).normalize(),
        })
    }

    /// The addresses below the formula's id.
    pub fn addresses(&self) -> Vec<String> {
        let mut addresses = Vec::new();
        for (address, value) in
            [("hlb/required", self.required()), ("hlb/emulsifiers", self.blend()), ("hlb/mismatch", self.mismatch())]
        {
            addresses.extend(value.map(|_| address.to_owned()));
        }
        if let Some(split) = self.split() {
            addresses.extend([split.higher.0, split.lower.0].map(|part| format!("hlb/split/{}", part.written)));
        }
        addresses
    }

    /// The figure at a path below `hlb`.
    pub fn figure(&self, path: &[&str]) -> Option<Figure> {
        let address = |rest: &str| format!("{}/hlb/{rest}", self.id);
        let value = |range| Value::QuantityRange { range, decimals: 1, unit: "".into() };
        let averaged = |rest: &str, parts: &[Part], range: Range| {
            let working = working_of(parts).text(" = ").value(value(range)).source(sources(parts));
            Figure { address: address(rest), value: value(range), working }
        };
        match path {
            ["required"] => Some(averaged("required", &self.oils, self.required()?)),
            ["emulsifiers"] => Some(averaged("emulsifiers", &self.emulsifiers, self.blend()?)),
            ["mismatch"] => {
                let (required, blend, mismatch) = (self.required()?, self.blend()?, self.mismatch()?);
                let working = Working::new()
                    .value(value(blend))
                    .text(" of the emulsifiers − ")
                    .value(value(required))
                    .text(" required = ")
                    .value(value(mismatch))
                    .source(SOURCE);
                Some(Figure { address: address("mismatch"), value: value(mismatch), working })
            }
            ["split", written] => {
                let split = self.split()?;
                let (part, share) =
                    [split.higher, split.lower].into_iter().find(|(part, _)| part.written == *written)?;
                let (high, low, required) = (split.higher.0.hlb?, split.lower.0.hlb?, self.required()?);
                let percent = share.times(split.together).divided_by(Decimal::ONE_HUNDRED);
                let mut working = Working::new();
                // (R − L) ÷ (H − L) for the higher, (H − R) ÷ (H − L) for the lower; R with digits enough to do the sum again.
                let value = |range| Value::QuantityRange { range, decimals: 3, unit: "".into() };
                let (from, less) = if part == split.higher.0 { (required, low) } else { (high, required) };
                working = working.text("(").value(value(from)).text(" − ").value(value(less)).text(") ÷ (");
                working = working.value(value(high)).text(" − ").value(value(low)).text(") = ");
                let working = working
                    .value(Value::PercentRange(share))
                    .text(" of ")
                    .value(Value::Percent(Percent::new(split.together)))
                    .text(" = ")
                    .value(Value::PercentRange(percent))
                    .source(SOURCE);
                Some(Figure {
                    address: address(&format!("split/{written}")),
                    value: Value::PercentRange(percent),
                    working,
                })
            }
            _ => None,
        }
    }
}

/// Whether a material belongs to the oil phase whose HLB counts. Scent, vitamins, antioxidants and preservatives are too little to.
pub(crate) fn is_oil(material: &Material) -> bool {
    let in_oil = material.dissolves.as_ref().is_some_and(|stated| stated.value == Dissolves::Oil);
    let fatty =
        ["emollient", "wax", "soap-making acid", "pearliser"].iter().any(|function| material.serves_as(function));
    !is_emulsifier(material)
        && !material.serves_as("vitamin")
        && (material.required_hlb.is_some() || (in_oil && fatty && !Group::CationicSurfactants.holds(material)))
}

fn is_emulsifier(material: &Material) -> bool {
    material.serves_as("emulsifier")
}

fn no_guide(computed: &Computed) -> Option<NoGuide> {
    let lines = || computed.formula.lines();
    let name = |line: &Line| line.material.name.clone();
    let base = || lines().find(|line| Group::Bases.holds(&line.material));
    let soap = |function: &str| lines().find(|line| line.material.serves_as(function));
    if let Some((acid, base)) = soap("emulsifier when neutralised").zip(base()) {
        return Some(NoGuide::Soap(name(acid), name(base)));
    }
    if let Some((borax, wax)) = soap("emulsifier with beeswax").zip(lines().find(|line| line.material.id == "beeswax"))
    {
        return Some(NoGuide::Soap(name(wax), name(borax)));
    }
    for line in lines() {
        let charge = line.material.charge().filter(|charge| *charge != SurfactantClass::Nonionic);
        if let Some(class) = charge.filter(|_| is_emulsifier(&line.material)) {
            return Some(NoGuide::Charged(name(line), class));
        }
    }
    if let Some(polymer) = lines().find(|line| line.material.serves_as("polymeric emulsifier")) {
        return Some(NoGuide::Polymer(name(polymer)));
    }
    (computed.active.total.typical >= WASH).then_some(NoGuide::Wash)
}

/// The weight average.
fn average(parts: &[Part]) -> Option<Range> {
    let sum: Decimal = parts.iter().map(|part| part.percent).sum();
    let weighted: Range = parts.iter().map(|part| Some(part.hlb?.times(part.percent))).sum::<Option<Range>>()?;
    (sum > Decimal::ZERO).then(|| weighted.divided_by(sum))
}

/// "(1.5 % of beeswax × 12 + …) ÷ 34 %".
fn working_of(parts: &[Part]) -> Working {
    let mut working = Working::new().text("(");
    for (index, part) in parts.iter().enumerate() {
        let Some(hlb) = part.hlb else { continue };
        if index > 0 {
            working = working.text(" + ");
        }
        working = working
            .value(Value::Percent(Percent::new(part.percent)))
            .text(format!(" of {} × ", part.written))
            .value(Value::QuantityRange { range: hlb, decimals: 1, unit: "".into() });
    }
    let sum: Decimal = parts.iter().map(|part| part.percent).sum();
    working.text(") ÷ ").value(Value::Percent(Percent::new(sum.normalize())))
}

fn sources(parts: &[Part]) -> String {
    let mut known: Vec<String> = Vec::new();
    for part in parts {
        if !known.contains(&part.source) {
            known.push(part.source.clone());
        }
    }
    format!("{SOURCE}; HLB: {}", known.join("; "))
}
