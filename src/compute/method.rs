//! A method weighed out: what each step adds, what its vessel then holds, and how warm what meets there is.
//!
//! Weights are the printed ones of the formula's sheet. A part of a line is rounded to the balance, halves to even (ASTM E29); the rest of the
//! line takes the rounding, so that the parts add up to the line's weight on the sheet.
//!
//! **Temperature.** A vessel has the temperature that a step states for it (`at`, the upper end of a span), and keeps it until another step
//! states one. What is poured into a vessel without a stated temperature makes it as warm as the hotter of the two: the mixture is cooler,
//! but what goes in may meet the hot part before it has mixed. What joins a vessel counts as being as warm as the vessel. A vessel for which
//! nothing was stated has no known temperature; it is neither taken for cold nor for hot.

use super::figure::{Figure, Value, Working};
use super::{Computed, Sheet};
use crate::block::{Placed, Share};
use crate::model::{Line, Method, Portion, Step, Vessel};
use crate::quantity::{Decimal, Mass, Temperature, apportion, round_to_step};
use crate::report::{Finding, echo, kind};

/// A method with its weights.
#[derive(Clone, Debug)]
pub struct WeighedMethod {
    /// The formula's id.
    pub formula: String,
    /// Its version, as the author counts.
    pub version: Option<String>,
    /// The check value of its sheet.
    pub check: String,
    /// The batch as the sheet makes it.
    pub batch: Mass,
    /// Decimals of the weights, in grams.
    pub decimals: u32,
    /// The vessels, the main one first.
    pub vessels: Vec<Vessel>,
    /// The steps.
    pub steps: Vec<WeighedStep>,
}

/// A step with its weights.
#[derive(Clone, Debug)]
pub struct WeighedStep {
    /// The step.
    pub step: Step,
    /// What goes in, in order.
    pub added: Vec<Added>,
    /// What is poured in, in order.
    pub poured: Vec<Poured>,
    /// What the vessel held before.
    pub before: Mass,
    /// What the vessel holds after the step, without the vessel; doses to effect counted with their usual amount.
    pub holds: Mass,
    /// How warm the vessel is, where it is known.
    pub held: Option<Held>,
    /// The lines that are in the vessel during the step.
    pub meets: Vec<Meeting>,
}

/// A line, or part of a line, with its weight.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Added {
    /// The line's index among all lines of the formula.
    pub line: usize,
    /// The id as the line names it.
    pub written: String,
    /// The raw material's name.
    pub name: String,
    /// The weight.
    pub weight: Mass,
    /// Whether this is a part of the line.
    pub is_part: bool,
    /// What it is dosed to, for a dose to effect.
    pub effect: Option<String>,
}

/// The content of a vessel that is poured into another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Poured {
    /// The vessel, an index of the method's vessels.
    pub vessel: usize,
    /// What it held.
    pub weight: Mass,
}

/// How warm a vessel is, and which step says so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Held {
    /// The temperature, the upper end of a span.
    pub temperature: Temperature,
    /// Whether it is the upper end of a span, or a limit.
    pub is_upper: bool,
    /// The step, counted from zero.
    pub step: usize,
}

/// A line in a vessel during a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Meeting {
    /// The line's index among all lines of the formula.
    pub line: usize,
    /// How it came there.
    pub came: Came,
    /// The hottest that it had been before, where that is known.
    pub hottest: Option<Temperature>,
}

/// How a line came into the vessel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Came {
    /// The step adds it.
    Added,
    /// The step pours it in from another vessel.
    Poured(usize),
    /// It was there before.
    Inside,
}

/// What is in a vessel while the steps are followed.
#[derive(Clone, Debug, Default)]
struct Content {
    lines: Vec<(usize, Option<Temperature>)>,
    weight: Mass,
    held: Option<Held>,
}

impl WeighedMethod {
    /// Follows the steps. `None` when something is poured before it is there, is left over at the end, or parts of a line do not come to it.
    pub fn of(
        computed: &Computed,
        method: &Method,
        place: &Placed<String>,
        findings: &mut Vec<Finding>,
    ) -> Option<Self> {
        let lines: Vec<&Line> = computed.formula.lines().collect();
        let n_before = findings.len();
        let weights = portion_weights(computed, method, place, findings);
        let mut contents = vec![Content::default(); method.vessels.len()];
        let mut steps = Vec::with_capacity(method.steps.len());
        for (index, (step, weights)) in method.steps.iter().zip(weights).enumerate() {
            let mut follow = Follow { method, contents: &mut contents, findings };
            let mut weighed = follow.step(index, step);
            for (portion, weight) in step.portions.iter().zip(weights) {
                let Some(line) = lines.get(portion.line) else { continue };
                weighed.holds = weighed.holds + weight;
                weighed.added.push(Added {
                    line: portion.line,
                    written: line.written.clone(),
                    name: line.material.name.clone(),
                    weight,
                    is_part: portion.share != Share::Whole,
                    effect: line.effect.clone(),
                });
            }
            if let Some(content) = contents.get_mut(step.vessel) {
                content.weight = weighed.holds;
            }
            steps.push(weighed);
        }
        for (vessel, content) in method.vessels.iter().zip(&contents).skip(1) {
            if content.lines.is_empty() {
                continue;
            }
            let name = echo(vessel.name.as_deref().unwrap_or_default());
            let names: Vec<String> =
                content.lines.iter().filter_map(|(line, _)| Some(echo(&lines.get(*line)?.written))).collect();
            let what = format!("At the end, {} {} still in `{name}`.", listed(&names), are(names.len()));
            let last = method
                .steps
                .iter()
                .rfind(|step| method.vessels.get(step.vessel).is_some_and(|used| used.name == vessel.name));
            let place = last.map_or_else(|| place.place.clone(), |step| step.place.clone());
            findings.push(Finding::new(kind::LEFT_IN_VESSEL, place, what));
        }
        (findings.len() == n_before).then(|| WeighedMethod {
            formula: computed.formula.id.clone(),
            version: computed.formula.version.clone(),
            check: computed.check.clone(),
            batch: computed.sheet.batch_printed,
            decimals: computed.sheet.decimals(),
            vessels: method.vessels.clone(),
            steps,
        })
    }

    /// What a step's vessel weighs with what it holds, and with how many decimals that is known. `None` without its tare.
    pub fn with_tare(&self, step: &WeighedStep) -> Option<(Mass, Mass, u32)> {
        let tare = self.vessels.get(step.step.vessel)?.tare?;
        // A sum is not known more finely than its coarser part.
        let decimals = tare.grams().scale().min(self.decimals);
        Some((tare, tare + step.holds, decimals))
    }

    /// What a step adds of a line.
    pub fn added_figure(&self, address: &str, index: usize, added: &Added) -> Figure {
        let words = if added.is_part {
            "part of the line’s weight on the sheet of "
        } else {
            "the line’s weight on the sheet of "
        };
        Figure {
            address: format!("{address}/step/{}/{}/weight", index + 1, added.written),
            value: self.mass(added.weight),
            working: Working::new().text(format!("{words}{}", self.formula)),
        }
    }

    /// What a step's vessel holds after it.
    pub fn vessel_figure(&self, address: &str, index: usize, step: &WeighedStep) -> Figure {
        let mut working = Working::new();
        let before = (step.before > Mass::ZERO).then_some(step.before);
        let parts = before.into_iter().chain(step.poured.iter().map(|part| part.weight));
        for (place, part) in parts.chain(step.added.iter().map(|part| part.weight)).enumerate() {
            if place > 0 {
                working = working.text(" + ");
            }
            working = working.value(self.mass(part));
        }
        Figure {
            address: format!("{address}/step/{}/vessel", index + 1),
            value: self.mass(step.holds),
            working: working.text(" = ").value(self.mass(step.holds)),
        }
    }

    /// What a step's vessel weighs after it, the vessel counted.
    pub fn tare_figure(&self, address: &str, index: usize, step: &WeighedStep) -> Option<Figure> {
        let (tare, sum, decimals) = self.with_tare(step)?;
        let working = Working::new()
            .text("the empty vessel, ")
            .value(Value::Mass { mass: tare, decimals: tare.grams().scale() })
            .text(", and what it holds, ")
            .value(self.mass(step.holds));
        Some(Figure {
            address: format!("{address}/step/{}/with-tare", index + 1),
            value: Value::Mass { mass: sum, decimals },
            working,
        })
    }

    fn mass(&self, mass: Mass) -> Value {
        Value::Mass { mass, decimals: self.decimals }
    }

    /// The addresses below the block's id.
    pub fn addresses(&self) -> Vec<String> {
        let mut all = Vec::new();
        for (index, step) in self.steps.iter().enumerate() {
            let number = index + 1;
            all.push(format!("step/{number}/vessel"));
            if self.with_tare(step).is_some() {
                all.push(format!("step/{number}/with-tare"));
            }
            for added in &step.added {
                let address = format!("step/{number}/{}/weight", added.written);
                if !all.contains(&address) {
                    all.push(address);
                }
            }
        }
        all
    }

    /// The figure at a path below the block's id.
    pub fn figure(&self, id: &str, path: &[&str]) -> Option<Figure> {
        let ["step", number, rest @ ..] = path else { return None };
        let index = number.parse::<usize>().ok()?.checked_sub(1)?;
        let step = self.steps.get(index)?;
        match rest {
            ["vessel"] => Some(self.vessel_figure(id, index, step)),
            ["with-tare"] => self.tare_figure(id, index, step),
            [material, "weight"] => {
                let parts: Vec<&Added> = step.added.iter().filter(|added| added.written == **material).collect();
                let first = parts.first()?;
                let weight = parts.iter().map(|added| added.weight).sum();
                Some(self.added_figure(id, index, &Added { weight, ..(*first).clone() }))
            }
            _ => None,
        }
    }
}

fn listed(names: &[String]) -> String {
    crate::report::list(names, "and")
}

fn are(count: usize) -> &'static str {
    if count == 1 { "is" } else { "are" }
}

/// Following the steps.
struct Follow<'a> {
    method: &'a Method,
    contents: &'a mut Vec<Content>,
    findings: &'a mut Vec<Finding>,
}

impl Follow<'_> {
    /// Empties vessels into the step's, sets its temperature and puts in its lines; weights of what the step itself adds are left to the caller.
    fn step(&mut self, index: usize, step: &Step) -> WeighedStep {
        let mut inside = self.contents.get(step.vessel).cloned().unwrap_or_default();
        let before = inside.weight;
        let mut meets: Vec<Meeting> = inside
            .lines
            .iter()
            .map(|(line, hottest)| Meeting { line: *line, came: Came::Inside, hottest: *hottest })
            .collect();
        let mut poured = Vec::new();
        let mut holds = before;
        for pour in &step.pours {
            let other = self.contents.get_mut(pour.value).map(std::mem::take).unwrap_or_default();
            if other.lines.is_empty() {
                let name = self.method.vessels.get(pour.value).and_then(|vessel| vessel.name.as_deref());
                let name = echo(name.unwrap_or_default());
                let what =
                    format!("Step {} pours from `{name}`, in which there is nothing yet or nothing left.", index + 1);
                self.findings.push(Finding::new(kind::NOTHING_TO_POUR, pour.place.clone(), what));
                continue;
            }
            holds = holds + other.weight;
            poured.push(Poured { vessel: pour.value, weight: other.weight });
            meets.extend(other.lines.iter().map(|(line, hottest)| Meeting {
                line: *line,
                came: Came::Poured(pour.value),
                hottest: *hottest,
            }));
            inside.held = hotter(inside.held, other.held);
        }
        if let Some(at) = &step.at {
            let is_upper = at.value.low != Some(at.value.high);
            inside.held = Some(Held { temperature: at.value.high, is_upper, step: index });
        }
        meets.extend(step.portions.iter().map(|portion| Meeting {
            line: portion.line,
            came: Came::Added,
            hottest: None,
        }));
        let now = inside.held.map(|held| held.temperature);
        inside.lines = meets.iter().map(|meeting| (meeting.line, meeting.hottest.max(now))).collect();
        let held = inside.held;
        if let Some(content) = self.contents.get_mut(step.vessel) {
            *content = inside;
        }
        WeighedStep { step: step.clone(), added: Vec::new(), poured, before, holds, held, meets }
    }
}

/// The hotter of two; one that is not known does not count.
fn hotter(one: Option<Held>, other: Option<Held>) -> Option<Held> {
    match (one, other) {
        (Some(one), Some(other)) => Some(if other.temperature > one.temperature { other } else { one }),
        (one, other) => one.or(other),
    }
}

/// The weight of every portion, step by step.
fn portion_weights(
    computed: &Computed,
    method: &Method,
    place: &Placed<String>,
    findings: &mut Vec<Finding>,
) -> Vec<Vec<Mass>> {
    let mut weights: Vec<Vec<Mass>> = method.steps.iter().map(|step| vec![Mass::ZERO; step.portions.len()]).collect();
    for (index, line) in computed.formula.lines().enumerate() {
        let mut at = Vec::new();
        for (step, part) in method.steps.iter().enumerate() {
            at.extend(
                part.portions
                    .iter()
                    .enumerate()
                    .filter(|(_, portion)| portion.line == index)
                    .map(|(rank, portion)| (step, rank, portion)),
            );
        }
        let portions: Vec<&Portion> = at.iter().map(|(_, _, portion)| *portion).collect();
        let split = split(&computed.sheet, index, &portions);
        let whole = computed.sheet.printed_of(index);
        let too_small = |(portion, part): (&&Portion, &Mass)| {
            matches!(portion.share, Share::Percent(_) | Share::Weight(_)) && *part == Mass::ZERO && whole > Mass::ZERO
        };
        if let Some((portion, _)) = portions.iter().zip(&split).find(|pair| too_small(*pair)) {
            findings.push(too_small_to_weigh(&computed.sheet, line, portion));
            continue;
        }
        let left = computed.sheet.printed_of(index) - split.iter().copied().sum();
        let no_rest = |(portion, part): (&&Portion, &Mass)| portion.share == Share::Rest && *part <= Mass::ZERO;
        let splits = portions.len() > 1 && whole > Mass::ZERO;
        if left != Mass::ZERO || splits && portions.iter().zip(&split).any(no_rest) {
            findings.push(parts_do_not_fit(&computed.sheet, index, line, &split, &portions, place));
        }
        for ((step, rank, _), weight) in at.into_iter().zip(split) {
            if let Some(slot) = weights.get_mut(step).and_then(|step| step.get_mut(rank)) {
                *slot = weight;
            }
        }
    }
    weights
}

/// A line's weight split over its portions.
fn split(sheet: &Sheet, line: usize, portions: &[&Portion]) -> Vec<Mass> {
    let whole = sheet.printed_of(line).grams();
    let step = sheet.readability.grams();
    let shares: Vec<Decimal> = portions
        .iter()
        .map(|portion| match portion.share {
            Share::Percent(percent) => percent.of(whole),
            Share::Weight(mass) => mass.grams(),
            Share::Whole => whole,
            Share::Rest => Decimal::ZERO,
        })
        .collect();
    let sum: Decimal = shares.iter().copied().sum();
    let masses = |grams: Vec<Decimal>| grams.into_iter().map(Mass::from_grams).collect();
    if sum == whole {
        return masses(apportion(&shares, whole, step, None));
    }
    let rounded: Vec<Decimal> = shares.iter().map(|share| round_to_step(*share, step)).collect();
    let rest = whole - rounded.iter().copied().sum::<Decimal>();
    let take = |(portion, share): (&&Portion, Decimal)| if portion.share == Share::Rest { rest } else { share };
    masses(portions.iter().zip(rounded).map(take).collect())
}

fn parts_do_not_fit(
    sheet: &Sheet,
    index: usize,
    line: &Line,
    split: &[Mass],
    portions: &[&Portion],
    place: &Placed<String>,
) -> Finding {
    let whole = sheet.printed_of(index);
    let parts: Mass = split.iter().copied().filter(|part| *part > Mass::ZERO).sum();
    let grams = |mass: Mass| crate::quantity::show::mass_in(mass, crate::quantity::MassUnit::Gram, sheet.decimals());
    let name = echo(&line.written);
    let at = portions.last().map_or_else(|| place.place.clone(), |portion| portion.place.clone());
    let (kind, what) = if parts < whole {
        (kind::NEVER_ADDED, format!("come to {}, less than the {} of the sheet.", grams(parts), grams(whole)))
    } else if parts > whole {
        (kind::ADDED_TWICE, format!("come to {}, more than the {} of the sheet.", grams(parts), grams(whole)))
    } else {
        (kind::ADDED_TWICE, format!("come to all {} of the sheet, and there is no rest of it.", grams(whole)))
    };
    Finding::new(kind, at, format!("The parts of `{name}` {what}"))
        .also_at(line.place.clone(), format!("`{name}`"))
        .mend(format!("Let one step take `rest of {name}`, or correct a part."))
}

/// A part that would be weighed as nothing.
fn too_small_to_weigh(sheet: &Sheet, line: &Line, portion: &Portion) -> Finding {
    let name = echo(&line.written);
    let what = format!("A part of `{name}` is less than the balance can weigh.");
    let readability = crate::quantity::show::grams(sheet.readability);
    Finding::new(kind::WRONG_VALUE, portion.place.clone(), what)
        .because(format!("The balance reads {readability}, so the step would say to weigh nothing."))
        .mend("Take a larger part, or weigh it on a finer balance and give the formula its `balance`.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Percent;
    use crate::report::Place;

    fn portion(share: Share) -> Portion {
        Portion { line: 0, share, place: Place::start_of(&"a.md".into()) }
    }

    fn percent(value: i64) -> Share {
        Share::Percent(Percent::new(Decimal::new(value, 0)))
    }

    /// Splits a line of so many tenths of a gram on a balance that reads 0.1 g.
    #[track_caller]
    fn check(tenths: i64, shares: &[Share], expected: &[i64]) {
        let line = Mass::from_grams(Decimal::new(tenths, 1));
        let sheet = Sheet {
            batch: line,
            batch_printed: line,
            readability: Mass::from_grams(Decimal::new(1, 1)),
            exact: vec![line],
            printed: vec![line],
        };
        let portions: Vec<Portion> = shares.iter().map(|share| portion(*share)).collect();
        let weights = split(&sheet, 0, &portions.iter().collect::<Vec<_>>());
        let expected: Vec<Mass> = expected.iter().map(|tenths| Mass::from_grams(Decimal::new(*tenths, 1))).collect();
        assert_eq!(weights, expected);
    }

    #[test]
    fn the_rest_takes_the_rounding() {
        // 33 % of 10.0 g is 3.3 g; 33 % of 0.5 g is 0.165 g.
        check(100, &[percent(33), Share::Rest], &[33, 67]);
        check(5, &[percent(33), Share::Rest], &[2, 3]);
        check(5, &[Share::Rest, percent(33), percent(33)], &[1, 2, 2]);
    }

    #[test]
    fn halves_of_an_odd_weight_still_add_up() {
        check(5, &[percent(50), percent(50)], &[3, 2]);
        check(10, &[percent(30), percent(30), percent(40)], &[3, 3, 4]);
    }

    #[test]
    fn a_weight_is_weighed_as_written() {
        let two = Share::Weight(Mass::from_grams(Decimal::new(2, 0)));
        check(100, &[two, Share::Rest], &[20, 80]);
        check(100, &[two, percent(80)], &[20, 80]);
    }

    /// A weight that is more than the line leaves a rest below zero, which is then reported.
    #[test]
    fn too_much_leaves_less_than_nothing() {
        check(10, &[Share::Weight(Mass::from_grams(Decimal::new(2, 0))), Share::Rest], &[20, -10]);
    }

    #[test]
    fn the_hotter_vessel_counts() {
        let held = |celsius: i64, step: usize| {
            Some(Held { temperature: Temperature::from_celsius(Decimal::new(celsius, 0)), is_upper: false, step })
        };
        assert_eq!(hotter(held(40, 0), held(75, 1)), held(75, 1));
        assert_eq!(hotter(held(75, 0), held(40, 1)), held(75, 0));
        assert_eq!(hotter(held(75, 0), held(75, 1)), held(75, 0));
        assert_eq!(hotter(None, held(40, 1)), held(40, 1));
        assert_eq!(hotter(None, None), None);
    }
}
