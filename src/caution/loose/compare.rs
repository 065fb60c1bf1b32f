//! What a formula gives for a name, and whether a quantity in a sentence agrees with it at the precision it was written with.

use super::names::What;
use super::quantity::{Quantity, Unit};
use crate::compute::{Backing, Computed, Figure, Value, look_up, read_batch_size, slug_of};
use crate::material::{Fact, Material};
use crate::quantity::{Decimal, Mass, Range};

/// From where to where a figure lies, in the unit of the quantity that it is compared with.
type Ends = (Decimal, Decimal);
/// The same, with the value that it typically has in the middle.
type Span = (Decimal, Decimal, Decimal);

/// How far a rough number may be off, as a share of the figure.
const ROUGH: Decimal = Decimal::from_parts(15, 0, 0, false, 2);
/// From this share on a part is taken for the whole, with a slip in it.
const NEARLY_ALL: Decimal = Decimal::from_parts(9, 0, 0, false, 1);
/// How far a strength or the content of a raw material may be off, in points of per cent: lots differ.
const LOTS: Decimal = Decimal::from_parts(3, 0, 0, false, 0);

/// Whether a quantity agrees with a figure.
fn agrees(quantity: &Quantity, (low, high): Ends) -> bool {
    let step = Decimal::new(5, quantity.digits() + 1);
    let slack = if quantity.is_rough { step.max(high * ROUGH) } else { step };
    let (from, to) = (quantity.low - slack, quantity.high + slack);
    // One lies within the other: a figure within a span, or a number within a range.
    (from <= low && high <= to) || (low - slack <= quantity.low && quantity.high <= high + slack)
}

/// Whether a quantity is a figure that the words only may mean: it has to lie within it, or round to its typical value.
fn fits(quantity: &Quantity, (low, typical, high): Span) -> bool {
    let step = Decimal::new(5, quantity.digits() + 1);
    let slack = if quantity.is_rough { step.max(high * ROUGH) } else { step };
    let within = low <= quantity.low && quantity.high <= high;
    within || (quantity.low - slack < typical && typical < quantity.high + slack)
}

fn middle(value: &Value, (low, high): Ends) -> Span {
    match value {
        Value::PercentRange(range) => (low, range.typical, high),
        _ => (low, (low + high) / Decimal::TWO, high),
    }
}

/// The ends of a figure in a unit; `density` turns weights into volumes.
fn ends(value: &Value, unit: Unit, density: Option<Range>) -> Option<Ends> {
    match (value, unit) {
        (Value::Percent(percent), Unit::Percent) => Some((percent.value(), percent.value())),
        (Value::PercentRange(range), Unit::Percent) => Some((range.low, range.high)),
        (Value::Mass { mass, .. }, Unit::Mass(unit)) => Some((mass.to_unit(unit), mass.to_unit(unit))),
        (Value::Mass { mass, .. }, Unit::Millilitres(factor)) => {
            let density = density?;
            let volume = |density: Decimal| mass.grams().checked_div(density)?.checked_div(factor);
            Some((volume(density.high)?, volume(density.low)?))
        }
        (Value::Ph(span), Unit::None) => Some((span.low.value(), span.high.value())),
        _ => None,
    }
}

fn span_of(fact: Option<&Fact>) -> Option<Range> {
    fact.and_then(Fact::range)
}

/// A name as one formula has it.
pub(super) struct Subject<'a> {
    pub computed: &'a Computed,
    pub what: What,
    /// Lines, or the phase.
    pub of: &'a [usize],
    /// Whether a share may be one of a phase.
    pub in_phase: bool,
    /// Whether the active matter of the raw material is meant.
    pub is_active: bool,
    /// Whether a share may be the strength of the raw material: "30 % betaine".
    pub may_be_strength: bool,
}

impl Subject<'_> {
    /// The figure that a quantity in this unit would be, for the formula's own batch or another.
    pub(super) fn figure(&self, unit: Unit, batch: Option<&str>) -> Option<Figure> {
        let formula = &self.computed.formula;
        let is_percent = unit == Unit::Percent;
        let part = if is_percent { "percent" } else { "weight" };
        let class;
        let path: Vec<&str> = match self.what {
            What::Material => {
                let line = formula.lines().nth(*self.of.first()?)?;
                vec![line.written.as_str(), if self.is_active { "active" } else { part }]
            }
            What::Phase => vec!["phase", formula.phases.get(*self.of.first()?)?.key.as_str(), part],
            What::Active(None) if is_percent => vec!["active-matter"],
            What::Active(Some(of_class)) if is_percent => {
                class = of_class;
                vec!["active-matter", class.word()]
            }
            What::Water if is_percent => vec!["water"],
            What::Batch | What::Making if !is_percent => vec!["batch"],
            What::Sum => vec!["total", part],
            What::Ph => vec!["ph"],
            What::Active(_) | What::Water | What::Batch | What::Making | What::Unclear => return None,
        };
        let figure = look_up(self.computed, Backing::built_in(), &path, batch).ok()?;
        self.ends(&figure.value, unit).map(|_| figure)
    }

    /// Whether a quantity agrees with that figure.
    pub(super) fn agrees(&self, quantity: &Quantity, figure: &Figure) -> bool {
        if let (Value::Ph(span), true) = (&figure.value, quantity.low < quantity.high) {
            // A specification is what it says, not something within it.
            return (span.low.value(), span.high.value()) == (quantity.low, quantity.high);
        }
        self.ends(&figure.value, quantity.unit).is_some_and(|ends| agrees(quantity, ends))
    }

    /// Whether a quantity agrees with that figure or with another one that the words may mean.
    pub(super) fn may_agree(&self, quantity: &Quantity, figure: &Figure, batch: Option<&str>) -> bool {
        self.agrees(quantity, figure) || self.others(quantity.unit, batch).into_iter().any(|span| fits(quantity, span))
    }

    /// Whether a mass is so much less than the whole of what is named that a part of it may be meant.
    pub(super) fn is_less(&self, quantity: &Quantity, figure: &Figure) -> bool {
        quantity.is_mass()
            && self.ends(&figure.value, quantity.unit).is_some_and(|(low, _)| quantity.high < low * NEARLY_ALL)
    }

    /// Whether it is the water, or whatever else takes the rest.
    pub(super) fn is_water(&self) -> bool {
        let lines = self.of.iter().filter_map(|index| self.computed.formula.lines().nth(*index));
        let is_water = |material: &Material| {
            material.contains.iter().any(|component| component.inci == crate::material::WATER)
                && material.contains.len() == 1
        };
        self.what == What::Material && lines.into_iter().any(|line| line.is_balance || is_water(&line.material))
    }

    fn ends(&self, value: &Value, unit: Unit) -> Option<Ends> {
        let line = self.of.first().and_then(|index| self.computed.formula.lines().nth(*index));
        let density = match self.what {
            What::Material => span_of(line?.material.density.as_ref()),
            _ => self.computed.formula.density.map(|density| Range::exactly(density.grams_per_millilitre())),
        };
        ends(value, unit, density)
    }

    /// Everything else that a quantity in this unit may mean.
    fn others(&self, unit: Unit, batch: Option<&str>) -> Vec<Span> {
        let mut all = Vec::new();
        let mut push = |path: &[&str]| {
            let value = look_up(self.computed, Backing::built_in(), path, batch).ok().map(|figure| figure.value);
            all.extend(value.and_then(|value| Some(middle(&value, self.ends(&value, unit)?))));
        };
        let formula = &self.computed.formula;
        match self.what {
            What::Material => {
                for phase in &formula.phases {
                    for line in phase.lines.iter().filter(|line| self.holds(&line.material)) {
                        push(&["phase", &phase.key, &line.written, "percent"]);
                        push(&["phase", &phase.key, &line.written, "weight"]);
                    }
                }
                for line in formula.lines().filter(|line| self.holds(&line.material)) {
                    push(&[&line.written, "active"]);
                    for component in &line.material.contains {
                        push(&["substance", &slug_of(&component.inci)]);
                    }
                }
                if self.is_water() {
                    push(&["water"]);
                }
                all.extend(self.further(unit, batch));
            }
            What::Phase => push(&[
                "phase",
                self.of.first().and_then(|at| formula.phases.get(*at)).map_or("", |p| &p.key),
                "vessel",
            ]),
            What::Active(_) => {
                push(&["active-matter"]);
                for class in crate::material::SurfactantClass::ALL {
                    push(&["active-matter", class.word()]);
                }
                for line in formula.lines() {
                    push(&[&line.written, "active"]);
                }
            }
            What::Water => {
                formula.lines().filter(|line| line.is_balance).for_each(|line| push(&[&line.written, "percent"]))
            }
            What::Batch | What::Making | What::Sum => {
                push(&["total", "weight"]);
                push(&["batch"]);
                push(&["fill"]);
            }
            What::Ph | What::Unclear => {}
        }
        all
    }

    /// Of a raw material: its exact weight, its share of its phase, what its strength makes of its weight, its strength.
    fn further(&self, unit: Unit, batch: Option<&str>) -> Vec<Span> {
        let formula = &self.computed.formula;
        let other = batch.and_then(|text| read_batch_size(text, formula.density).ok());
        let grams = other.unwrap_or(self.computed.sheet.batch).grams();
        let one = |value: Decimal| (value, value, value);
        let mut all = Vec::new();
        for phase in &formula.phases {
            let whole: Decimal = phase.lines.iter().map(|line| formula.percent(line).value()).sum();
            for line in phase.lines.iter().filter(|line| self.holds(&line.material)) {
                let percent = formula.percent(line).value();
                let strength = line.strength.or_else(|| span_of(line.material.strength.as_ref()));
                match unit {
                    Unit::Percent => {
                        let in_phase = percent.checked_div(whole).filter(|_| self.in_phase);
                        all.extend(in_phase.map(|part| one(part * Decimal::ONE_HUNDRED)));
                        if self.may_be_strength {
                            let parts = line.material.contains.iter().map(|component| Some(&component.percent));
                            let facts =
                                parts.chain([line.material.strength.as_ref(), line.material.remainder.as_ref()]);
                            let stocks = strength.into_iter().chain(facts.filter_map(span_of));
                            let stocks = stocks.filter(|range| range.low > LOTS * Decimal::TWO);
                            all.extend(stocks.map(|range| (range.low - LOTS, range.typical, range.high + LOTS)));
                        }
                    }
                    Unit::Mass(unit) => {
                        let mass =
                            |percent: Decimal| Mass::from_grams(grams * percent / Decimal::ONE_HUNDRED).to_unit(unit);
                        let active = strength.map(|range| range.times(percent).divided_by(Decimal::ONE_HUNDRED));
                        all.push(one(mass(percent)));
                        all.extend(active.map(|range| (mass(range.low), mass(range.typical), mass(range.high))));
                    }
                    Unit::Millilitres(_) | Unit::None => {}
                }
            }
        }
        all
    }

    fn holds(&self, material: &Material) -> bool {
        let first = self.of.first().and_then(|index| self.computed.formula.lines().nth(*index));
        first.is_some_and(|line| line.material.id == material.id)
    }
}
