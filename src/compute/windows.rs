//! The pH and the temperature in which every material of a formula works and keeps.
//!
//! What a raw material's entry does not say is not known: such lines are listed, and stay out of the windows.

use super::figure::{Figure, Value, Working};
use super::{AddressFault, Computed, WeakAcid, watery_of};
use crate::block::PhSpan;
use crate::material::{Fact, Material};
use crate::quantity::{Decimal, Ph, Range, Temperature};
use crate::report::list;
use std::sync::Arc;

/// From low to high, where an end may be open.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Span {
    /// Lower end.
    pub low: Option<Decimal>,
    /// Upper end.
    pub high: Option<Decimal>,
}

impl Span {
    /// The ends of a fact.
    pub fn of(fact: &Fact) -> Span {
        Span { low: fact.min, high: fact.max }
    }

    /// What lies in both; it may be empty.
    #[must_use]
    pub fn shared_with(self, other: Span) -> Span {
        let low = self.low.max(other.low);
        let high = [self.high, other.high].into_iter().flatten().min();
        Span { low, high }
    }

    /// Whether nothing lies in it.
    pub fn is_empty(self) -> bool {
        self.low.zip(self.high).is_some_and(|(low, high)| high < low)
    }

    /// Whether both ends are open.
    pub fn is_open(self) -> bool {
        self.low.is_none() && self.high.is_none()
    }

    /// Whether all from one value to another lies in it.
    pub fn holds(self, low: Decimal, high: Decimal) -> bool {
        self.low.is_none_or(|own| own <= low) && self.high.is_none_or(|own| high <= own)
    }
}

/// A line with the pH in which it works and which it withstands.
#[derive(Clone, Debug)]
pub struct LineWindow {
    /// Its name as written.
    pub written: String,
    /// The index of the first line of this name.
    pub line: usize,
    /// Its raw material.
    pub material: Arc<Material>,
    /// Where it works and keeps.
    pub span: Span,
}

/// The pH windows of a formula.
#[derive(Clone, Debug)]
pub struct PhWindows {
    /// Lines of which something is known, in the order of the formula.
    pub lines: Vec<LineWindow>,
    /// Lines of which nothing is known, as written.
    pub unknown: Vec<String>,
    /// What is in all windows; empty when `pairs` is not.
    pub shared: Span,
    /// Lines that do not meet, by index in `lines`, the more acid one first.
    pub pairs: Vec<(usize, usize)>,
    /// The stated pH.
    pub target: Option<PhSpan>,
    /// Whether there is enough water for the windows to be judged.
    pub is_watery: bool,
}

/// From so much water on, % of the product, pH windows of what is dissolved or dispersed in it are judged. In a bar or an oil a window
/// given for products based on water says little. Common practice, no source.
const WATERY: Decimal = Decimal::from_parts(20, 0, 0, false, 0);

impl PhWindows {
    /// The pH windows of a formula.
    pub fn of(computed: &Computed) -> PhWindows {
        let mut lines: Vec<LineWindow> = Vec::new();
        let mut unknown: Vec<String> = Vec::new();
        for (index, line) in computed.formula.lines().enumerate() {
            if lines.iter().any(|known| known.written == line.written) || unknown.contains(&line.written) {
                continue;
            }
            match span_of(&line.material) {
                Some(span) => lines.push(LineWindow {
                    written: line.written.clone(),
                    line: index,
                    material: Arc::clone(&line.material),
                    span,
                }),
                None => unknown.push(line.written.clone()),
            }
        }
        let shared = lines.iter().fold(Span::default(), |shared, line| shared.shared_with(line.span));
        let mut pairs = Vec::new();
        for (acid, lower) in lines.iter().enumerate() {
            for (base, upper) in lines.iter().enumerate() {
                if lower.span.high.zip(upper.span.low).is_some_and(|(high, low)| high < low) {
                    pairs.push((acid, base));
                }
            }
        }
        let is_watery = watery_of(&computed.composition).high >= WATERY || !computed.composition.unknown.is_empty();
        PhWindows { lines, unknown, shared, pairs, target: computed.formula.ph, is_watery }
    }

    /// Whether a line's window holds the whole stated pH; unknown while none is stated.
    pub fn holds_target(&self, line: &LineWindow) -> Option<bool> {
        self.target.map(|ph| line.span.holds(ph.low.value(), ph.high.value()))
    }

    /// The shared window as a figure.
    ///
    /// # Errors
    /// Why there is none.
    pub fn figure(&self, address: String) -> Result<Figure, AddressFault> {
        if let Some((acid, base)) = self.pairs.first() {
            let name = |index: &usize| self.lines.get(*index).map_or("", |line| line.written.as_str());
            return Err(AddressFault::NoValue(format!("no pH suits both {} and {}", name(acid), name(base))));
        }
        if self.shared.is_open() {
            return Err(AddressFault::NoValue("no raw material of the formula names a pH".to_owned()));
        }
        let ph = |end: Option<Decimal>| end.and_then(Ph::new);
        let value = match (ph(self.shared.low), ph(self.shared.high)) {
            (Some(low), Some(high)) => Value::Ph(PhSpan { low, high }),
            _ => Value::Text(span_words(self.shared)),
        };
        let end = |pick: fn(&Span) -> Option<Decimal>| {
            let ends = self.lines.iter().filter(move |line| pick(&line.span) == pick(&self.shared));
            let names: Vec<&str> = ends.map(|line| line.written.as_str()).collect();
            list(&names, "and")
        };
        let mut working = Working::new();
        if let Some(low) = self.shared.low {
            working = working.text(format!("from {low}, the lower end of {}", end(|span| span.low)));
        }
        if let Some(high) = self.shared.high {
            let comma = if self.shared.low.is_some() { ", " } else { "" };
            working = working.text(format!("{comma}to {high}, the upper end of {}", end(|span| span.high)));
        }
        if !self.unknown.is_empty() {
            working = working.text(format!("; nothing is known of {}", list(&self.unknown, "and")));
        }
        Ok(Figure { address, value, working })
    }
}

/// Where a material works and keeps; none when its entry says neither.
fn span_of(material: &Material) -> Option<Span> {
    let works = material.ph_works.as_ref().map(Span::of).filter(|span| !span.is_open());
    let stable = material.ph_stable.as_ref().map(Span::of).filter(|span| !span.is_open());
    match (works, stable) {
        (Some(works), Some(stable)) => {
            let both = works.shared_with(stable);
            Some(if both.is_empty() { works } else { both })
        }
        (one, other) => one.or(other),
    }
}

/// "2–5.5", "at most 5.5", "at least 6".
pub fn span_words(span: Span) -> String {
    match (span.low, span.high) {
        (Some(low), Some(high)) => crate::quantity::show::ends(low, high),
        (Some(low), None) => format!("at least {low}"),
        (None, Some(high)) => format!("at most {high}"),
        (None, None) => String::new(),
    }
}

/// A line with the heat it bears.
#[derive(Clone, Debug)]
pub struct LineHeat {
    /// Its name as written.
    pub written: String,
    /// Its raw material.
    pub material: Arc<Material>,
    /// The lower of the limit and of the temperature at which it is added, °C.
    pub highest: Decimal,
    /// Whether that is the temperature at which it is added.
    pub is_addition: bool,
    /// The temperature at which its phase is held.
    pub hold: Option<Temperature>,
    /// The phase.
    pub phase: String,
}

impl LineHeat {
    /// Whether its phase is held within what it bears; unknown while no temperature is stated.
    pub fn holds_target(&self) -> Option<bool> {
        self.hold.map(|hold| hold.celsius() <= self.highest)
    }
}

/// The temperatures that the lines of a formula bear.
#[derive(Clone, Debug)]
pub struct HeatWindows {
    /// Lines of which something is known.
    pub lines: Vec<LineHeat>,
    /// Lines of which nothing is known, as written.
    pub unknown: Vec<String>,
    /// What all known ones bear, °C.
    pub shared: Option<Decimal>,
}

impl HeatWindows {
    /// The temperatures of a formula.
    pub fn of(computed: &Computed) -> HeatWindows {
        let mut lines = Vec::new();
        let mut unknown: Vec<String> = Vec::new();
        for phase in &computed.formula.phases {
            for line in &phase.lines {
                let material = &line.material;
                let end = |fact: &Option<Fact>| fact.as_ref().and_then(|fact| fact.max.or(fact.typical));
                let (limit, addition) = (end(&material.temperature_limit), end(&material.add_below));
                match [limit, addition].into_iter().flatten().min() {
                    Some(highest) => lines.push(LineHeat {
                        written: line.written.clone(),
                        material: Arc::clone(material),
                        highest,
                        is_addition: addition == Some(highest),
                        hold: phase.hold.as_ref().map(|(hold, _)| *hold),
                        phase: phase.key.clone(),
                    }),
                    None if unknown.contains(&line.written) => {}
                    None => unknown.push(line.written.clone()),
                }
            }
        }
        let shared = lines.iter().map(|line: &LineHeat| line.highest).min();
        HeatWindows { lines, unknown, shared }
    }

    /// The highest temperature that all known lines bear, as a figure.
    ///
    /// # Errors
    /// Why there is none.
    pub fn figure(&self, address: String) -> Result<Figure, AddressFault> {
        let none = || AddressFault::NoValue("no raw material of the formula names a temperature".to_owned());
        let shared = self.shared.ok_or_else(none)?;
        let lowest = self.lines.iter().filter(|line| line.highest == shared);
        let names: Vec<&str> = lowest.map(|line| line.written.as_str()).collect();
        let shown = crate::quantity::show::celsius(Temperature::from_celsius(shared));
        let mut working = Working::new().text(format!("the lowest of all, that of {}", list(&names, "and")));
        if !self.unknown.is_empty() {
            working = working.text(format!("; nothing is known of {}", list(&self.unknown, "and")));
        }
        Ok(Figure { address, value: Value::Text(format!("at most {shown}")), working })
    }
}

/// What a window block comes to.
#[derive(Clone, Debug)]
pub struct Windows {
    /// The formula.
    pub formula: String,
    /// The pH windows, where they are shown.
    pub ph: Option<PhWindows>,
    /// The temperatures, where they are shown.
    pub temperature: Option<HeatWindows>,
    /// The weak acids that preserve it, where pH is shown.
    pub acids: Vec<WeakAcid>,
}

impl Windows {
    /// The addresses below the block's id.
    pub(super) fn addresses(&self) -> Vec<String> {
        let mut addresses = Vec::new();
        addresses.extend(self.ph.is_some().then(|| "ph".to_owned()));
        addresses.extend(self.temperature.is_some().then(|| "temperature".to_owned()));
        addresses.extend(self.acids.iter().flat_map(WeakAcid::addresses));
        addresses
    }

    /// The figure at a path below the block's id, if there is one.
    pub(super) fn look_up(&self, id: &str, path: &[&str]) -> Option<Result<Figure, AddressFault>> {
        let address = format!("{id}/{}", path.join("/"));
        match path {
            ["ph"] => self.ph.as_ref().map(|ph| ph.figure(address)),
            ["temperature"] => self.temperature.as_ref().map(|temperature| temperature.figure(address)),
            ["undissociated", slug, rest @ ..] => {
                let acid = self.acids.iter().find(|acid| super::figures::slug_of(&acid.acid) == *slug)?;
                acid.look_up(address, self.ph.as_ref()?.target, rest)
            }
            _ => None,
        }
    }
}

impl WeakAcid {
    /// Its figure at a path, with the pH that the formula states.
    pub(super) fn look_up(
        &self,
        address: String,
        ph: Option<PhSpan>,
        path: &[&str],
    ) -> Option<Result<Figure, AddressFault>> {
        let unstated = || AddressFault::NoValue("the formula states no pH".to_owned());
        let at_ph = || Some((ph?, self.share?, self.left?));
        match path {
            [] => Some(at_ph().map(|(ph, share, _)| self.figure(address, ph, share)).ok_or_else(unstated)),
            ["left"] => {
                Some(at_ph().map(|(ph, share, left)| self.left_figure(address, ph, share, left)).ok_or_else(unstated))
            }
            ["dose"] => Some(Ok(self.dose_figure(address))),
            _ => None,
        }
    }

    /// The undissociated share at the stated pH, % of the acid.
    fn figure(&self, address: String, ph: PhSpan, share: Range) -> Figure {
        let share = share.times(Decimal::ONE_HUNDRED);
        let pka: Vec<String> = self.pka.iter().map(Decimal::to_string).collect();
        let value = Value::PercentRange(share);
        let working = Working::new()
            .text(format!("1 ÷ (1 + 10^(pH − pKa)) with pKa {} of {} at pH ", pka.join(", "), self.acid))
            .value(Value::Ph(ph))
            .text(" = ")
            .value(value.clone())
            .text("; an estimate for water at 25 °C");
        let pka_source = self.pka_source.as_deref().unwrap_or("no source given");
        Figure { address, value, working: working.source(format!("{SHARE_SOURCE}; pKa: {pka_source}")) }
    }

    /// What that leaves of the dose, % of the product.
    fn left_figure(&self, address: String, ph: PhSpan, share: Range, left: Range) -> Figure {
        let value = Value::PercentRange(left);
        let share = share.times(Decimal::ONE_HUNDRED);
        let working = Working::new()
            .value(Value::PercentRange(self.dose))
            .text(format!(" of {} × ", self.acid))
            .value(Value::PercentRange(share))
            .text(" undissociated at pH ")
            .value(Value::Ph(ph))
            .text(" = ")
            .value(value.clone())
            .text("; an estimate for water at 25 °C");
        Figure { address, value, working: working.source(SHARE_SOURCE) }
    }

    /// All of the acid in the product, its salts counted as the acid, % of the product.
    fn dose_figure(&self, address: String) -> Figure {
        let working = Working::new().text(format!(
            "all {} of {}, its salts by their molar masses",
            self.acid,
            list(&self.lines, "and")
        ));
        Figure { address, value: Value::PercentRange(self.dose), working }
    }
}

/// Where the share comes from.
pub(crate) const SHARE_SOURCE: &str = "OpenStax, Chemistry 2e, section 14.6, Example 14.20";
