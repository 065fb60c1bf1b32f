//! The steps of a method with every name resolved to lines of the formula, each line going in exactly once.

use super::formula::{Formula, Line};
use crate::block::{Addition, MethodBlock, Placed, Share, Warmth};
use crate::quantity::Mass;
use crate::report::{Finding, Place, echo, kind, list, suggestion};
use std::collections::BTreeSet;

/// A method, ready to be weighed out.
#[derive(Clone, Debug)]
pub struct Method {
    /// Its vessels; the main one first.
    pub vessels: Vec<Vessel>,
    /// Its steps.
    pub steps: Vec<Step>,
}

/// A vessel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Vessel {
    /// Its name; the main vessel has none unless the method names all vessels.
    pub name: Option<String>,
    /// What it weighs empty.
    pub tare: Option<Mass>,
}

/// A step.
#[derive(Clone, Debug)]
pub struct Step {
    /// What to do.
    pub words: String,
    /// What goes in, in order.
    pub portions: Vec<Portion>,
    /// The vessel in which it is done, an index of the method's vessels.
    pub vessel: usize,
    /// Vessels that are emptied into it.
    pub pours: Vec<Placed<usize>>,
    /// The vessel's temperature.
    pub at: Option<Placed<Warmth>>,
    /// How it is stirred.
    pub stir: Option<String>,
    /// For how long.
    pub time: Option<String>,
    /// Until what is seen.
    pub until: Option<String>,
    /// What makes up for evaporation.
    pub top_up: Option<String>,
    /// The step's place.
    pub place: Place,
}

/// A line, or part of a line, that a step adds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Portion {
    /// The line's index among all lines of the formula.
    pub line: usize,
    /// How much of it.
    pub share: Share,
    /// Where it is said.
    pub place: Place,
}

/// Resolves the steps against the formula. The method is `None` when a name was not found, or a line does not go in exactly once.
pub fn resolve_method(block: &MethodBlock, formula: &Formula) -> (Option<Method>, Vec<Finding>) {
    let lines: Vec<(usize, &Line)> = formula
        .phases
        .iter()
        .enumerate()
        .flat_map(|(phase, part)| part.lines.iter().map(move |line| (phase, line)))
        .collect();
    let mut resolver = Resolver { formula, lines, findings: Vec::new() };
    let method = resolver.method(block);
    let failed = !resolver.findings.is_empty();
    (Some(method).filter(|_| !failed), resolver.findings)
}

struct Resolver<'a> {
    formula: &'a Formula,
    /// Each line with the index of its phase.
    lines: Vec<(usize, &'a Line)>,
    findings: Vec<Finding>,
}

/// What one addition of the author comes to.
struct Claim {
    step: usize,
    portion: Portion,
}

impl Resolver<'_> {
    fn method(&mut self, block: &MethodBlock) -> Method {
        let claims = self.claims(block);
        self.each_once(block, &claims);
        let names = vessel_names(block);
        let index_of =
            |name: Option<&String>| names.iter().position(|known| known.as_ref() == name).unwrap_or_default();
        let mut vessels: Vec<Vessel> = names.iter().map(|name| Vessel { name: name.clone(), tare: None }).collect();
        if let Some(main) = vessels.first_mut() {
            main.tare = block.tare;
        }
        let mut steps = Vec::with_capacity(block.steps.len());
        for (index, step) in block.steps.iter().enumerate() {
            let vessel = index_of(step.vessel.as_ref().map(|name| &name.value));
            if let (Some(tare), Some(vessel)) = (step.tare, vessels.get_mut(vessel)) {
                vessel.tare = Some(tare);
            }
            let mut pours = Vec::new();
            for name in &step.pour {
                match names.iter().position(|known| known.as_ref() == Some(&name.value)) {
                    Some(other) if other != vessel => pours.push(name.with(other)),
                    _ => self.nothing_to_pour(index, name, &names),
                }
            }
            steps.push(Step {
                words: step.words.value.clone(),
                portions: claims
                    .iter()
                    .filter(|claim| claim.step == index)
                    .map(|claim| claim.portion.clone())
                    .collect(),
                vessel,
                pours,
                at: step.at.clone(),
                stir: step.stir.clone(),
                time: step.time.clone(),
                until: step.until.clone(),
                top_up: step.top_up.as_ref().and_then(|name| self.top_up(index, name)),
                place: step.words.place.clone(),
            });
        }
        Method { vessels, steps }
    }

    /// Every line that each step adds, in order; what steps name by itself is not taken by a whole phase.
    fn claims(&mut self, block: &MethodBlock) -> Vec<Claim> {
        let mut named: Vec<Claim> = Vec::new();
        let mut phases: Vec<(usize, usize, Placed<usize>)> = Vec::new();
        // The order within a step, as written.
        let mut order: Vec<(usize, usize)> = Vec::new();
        for (step, part) in block.steps.iter().enumerate() {
            for (rank, addition) in part.add.iter().enumerate() {
                match &addition.value {
                    Addition::Phase(key) => match self.phase(key) {
                        Some(phase) => phases.push((step, rank, addition.with(phase))),
                        None => self.unknown(step, addition, &format!("phase {key}")),
                    },
                    Addition::Line { material, phase, share } => {
                        for line in self.find(step, addition, material, phase.as_deref(), *share) {
                            let portion = Portion { line, share: *share, place: addition.place.clone() };
                            named.push(Claim { step, portion });
                            order.push((step, rank));
                        }
                    }
                }
            }
        }
        let mut seen: BTreeSet<usize> = BTreeSet::new();
        let mut of_phases = Vec::new();
        for (step, rank, phase) in phases {
            if !seen.insert(phase.value) {
                let key = self.key(phase.value);
                let what = format!("Step {} adds phase {key}, which a step before it has added.", step + 1);
                self.findings.push(Finding::new(kind::ADDED_TWICE, phase.place, what));
                continue;
            }
            let mut any = false;
            for (line, _) in self.lines.iter().enumerate().filter(|(_, (own, _))| *own == phase.value) {
                let shares =
                    || named.iter().filter(|claim| claim.portion.line == line).map(|claim| claim.portion.share);
                if shares().any(|share| matches!(share, Share::Whole | Share::Rest)) {
                    continue;
                }
                any = true;
                let share = if shares().next().is_some() { Share::Rest } else { Share::Whole };
                of_phases.push((step, rank, Portion { line, share, place: phase.place.clone() }));
            }
            if !any {
                let key = self.key(phase.value);
                let what = format!("Step {} adds phase {key}, but other steps add each of its lines.", step + 1);
                self.findings.push(Finding::new(kind::ADDED_TWICE, phase.place.clone(), what));
            }
        }
        let mut all: Vec<((usize, usize), Claim)> = order.into_iter().zip(named).collect();
        all.extend(of_phases.into_iter().map(|(step, rank, portion)| ((step, rank), Claim { step, portion })));
        // A stable sort keeps the formula's order within a phase.
        all.sort_by_key(|(key, _)| *key);
        all.into_iter().map(|(_, claim)| claim).collect()
    }

    /// Reports lines that no step adds, and lines that are added again after all of them went in.
    fn each_once(&mut self, block: &MethodBlock, claims: &[Claim]) {
        let of_line = |line: usize| claims.iter().filter(move |claim| claim.portion.line == line);
        let unread =
            self.findings.iter().any(|finding| [kind::NOT_IN_FORMULA, kind::WRONG_VALUE].contains(&finding.kind));
        let mut missing: Vec<usize> = Vec::new();
        for line in 0..self.lines.len() {
            let takes_all = |claim: &&Claim| matches!(claim.portion.share, Share::Whole | Share::Rest);
            let whole = |claim: &&Claim| claim.portion.share == Share::Whole;
            let again = if of_line(line).any(|claim| whole(&claim)) {
                of_line(line).nth(1)
            } else {
                of_line(line).filter(takes_all).nth(1)
            };
            let first = of_line(line).next();
            match (first, again) {
                (None, _) => missing.push(line),
                (Some(first), Some(again)) => {
                    let name = self.full_name(line);
                    let what = if first.step == again.step {
                        format!("Step {} adds `{name}` twice.", again.step + 1)
                    } else {
                        format!("`{name}` is added in step {} and again in step {}.", first.step + 1, again.step + 1)
                    };
                    self.findings.push(
                        Finding::new(kind::ADDED_TWICE, again.portion.place.clone(), what)
                            .also_at(first.portion.place.clone(), "the first time"),
                    );
                }
                _ => {}
            }
        }
        // A mistyped name leaves its line without a step; that is one mistake.
        if missing.is_empty() || unread {
            return;
        }
        let names: Vec<String> = missing.iter().map(|line| self.full_name(*line)).collect();
        let what = format!("No step adds {}.", list(&names, "or"));
        let finding = Finding::new(kind::NEVER_ADDED, block.formula.place.clone(), what);
        let places = missing.iter().filter_map(|line| self.lines.get(*line));
        let finding = places.fold(finding, |finding, (_, line)| {
            finding.also_at(line.place.clone(), format!("`{}`", echo(&line.written)))
        });
        self.findings.push(finding);
    }

    fn find(
        &mut self,
        step: usize,
        addition: &Placed<Addition>,
        material: &str,
        phase: Option<&str>,
        share: Share,
    ) -> Vec<usize> {
        let wanted = phase.map(|key| self.phase(key));
        let found: Vec<usize> = self
            .lines
            .iter()
            .enumerate()
            .filter(|(_, (own, line))| answers(line, material) && wanted.is_none_or(|wanted| wanted == Some(*own)))
            .map(|(index, _)| index)
            .collect();
        if found.is_empty() {
            let words = phase.map_or_else(|| material.to_owned(), |key| format!("{material} of phase {key}"));
            self.unknown(step, addition, &words);
        } else if found.len() > 1 && share != Share::Whole {
            let phases: Vec<&str> =
                found.iter().filter_map(|index| Some(self.key(self.lines.get(*index)?.0))).collect();
            let what = format!("`{}` stands in phases {}.", echo(material), phases.join(" and "));
            let first = phases.first().copied().unwrap_or_default();
            let mend = format!("Say of which a part is meant: `… of {material} of phase {first}`.");
            self.findings.push(Finding::new(kind::WRONG_VALUE, addition.place.clone(), what).mend(mend));
            return Vec::new();
        }
        found
    }

    fn top_up(&mut self, step: usize, name: &Placed<String>) -> Option<String> {
        let line = self.lines.iter().find(|(_, line)| answers(line, &name.value));
        if let Some((_, line)) = line {
            return Some(line.material.name.clone());
        }
        self.unknown(step, name, &name.value);
        None
    }

    fn unknown<T>(&mut self, step: usize, place: &Placed<T>, words: &str) {
        let id = echo(&self.formula.id);
        let what = format!("Step {} names `{}`, which `{id}` does not have.", step + 1, echo(words));
        let phases: Vec<String> = self.formula.phases.iter().map(|phase| format!("phase {}", phase.key)).collect();
        let known = self.lines.iter().map(|(_, line)| line.written.as_str()).chain(phases.iter().map(String::as_str));
        let mend = suggestion(words, known, kind::NOT_IN_FORMULA.mend);
        self.findings.push(Finding::new(kind::NOT_IN_FORMULA, place.place.clone(), what).mend(mend));
    }

    fn nothing_to_pour(&mut self, step: usize, name: &Placed<String>, names: &[Option<String>]) {
        let what =
            format!("Step {} pours from `{}`, in which no other step puts anything.", step + 1, echo(&name.value));
        let known = names.iter().flatten().map(String::as_str).filter(|known| *known != name.value);
        let mend = suggestion(&name.value, known, kind::NOTHING_TO_POUR.mend);
        self.findings.push(Finding::new(kind::NOTHING_TO_POUR, name.place.clone(), what).mend(mend));
    }

    fn phase(&self, key: &str) -> Option<usize> {
        self.formula.phases.iter().position(|phase| phase.key == key)
    }

    fn key(&self, phase: usize) -> &str {
        self.formula.phases.get(phase).map_or("", |phase| phase.key.as_str())
    }

    /// A line's name, with its phase where the raw material stands in several.
    fn full_name(&self, line: usize) -> String {
        let Some((phase, line)) = self.lines.get(line) else { return String::new() };
        let name = echo(&line.written);
        let is_only = self.lines.iter().filter(|(_, other)| answers(other, &line.material.id)).count() == 1;
        if is_only { name } else { format!("{name} of phase {}", self.key(*phase)) }
    }
}

fn answers(line: &Line, id: &str) -> bool {
    line.written == id || line.material.id == id || line.material.also.iter().any(|also| also == id)
}

/// The vessels in the order in which they are first used, the main one first: that of steps that name none, or else that of the last step.
fn vessel_names(block: &MethodBlock) -> Vec<Option<String>> {
    let of_step = |step: &crate::block::StepBlock| step.vessel.as_ref().map(|name| name.value.clone());
    let has_main = block.steps.iter().any(|step| step.vessel.is_none());
    let main = if has_main { None } else { block.steps.last().and_then(of_step) };
    let mut names = vec![main];
    for step in &block.steps {
        let name = of_step(step);
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}
