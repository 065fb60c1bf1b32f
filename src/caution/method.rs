//! What the steps of a method do to the batch: heat where something does not bear it, and phases in another order than the formula has them.

use super::below_melting_point::{self, melts_at};
use super::handling;
use super::held_too_hot::limit_of;
use crate::compute::{Came, Computed, Held, WeighedMethod, WeighedStep};
use crate::material::Catalogue;
use crate::model::{Line, Phase};
use crate::quantity::{Decimal, Temperature, show};
use crate::report::{Finding, Kind, Place, Severity, echo};
use std::collections::{BTreeMap, BTreeSet};

pub(super) const KINDS: &[&Kind] =
    &[ADDED_TOO_HOT, REHEATED, NO_TEMPERATURE, NEVER_SO_HOT, PHASE_ORDER, ACID_BEFORE_SALT, WATER_INTO_LYE];

const ADDED_TOO_HOT: &Kind = &Kind {
    name: "added-too-hot",
    severity: Severity::Caution,
    summary: "Something that goes into a vessel above its temperature limit.",
    why: "Heat may drive it off, break it down or undo its work, and what is left may be too little.",
    mend: "Let the vessel cool first, and give the step the temperature it has then: `at = \"40 °C\"`.",
};

const REHEATED: &Kind = &Kind {
    name: "reheated",
    severity: Severity::Caution,
    summary: "A vessel heated above the temperature limit of something that is already in it.",
    why: "Heat may drive it off, break it down or undo its work, and what is left may be too little.",
    mend: "Heat first and add it after cooling, or stay below its limit.",
};

const NO_TEMPERATURE: &Kind = &Kind {
    name: "step-without-temperature",
    severity: Severity::Question,
    summary: "Something heat-sensitive goes into a vessel that was heated, and no step says how warm it is.",
    why: "Whether it is added too hot cannot be judged.",
    mend: "Give the step its temperature: `at = \"40 °C\"`, or `at = \"room temperature\"`.",
};

const PHASE_ORDER: &Kind = &Kind {
    name: "out-of-phase-order",
    severity: Severity::Caution,
    summary: "Something of a later phase goes in before an earlier phase is complete.",
    why: "Phases stand in the order in which they are combined. What comes out of its turn may not dissolve, swell or emulsify.",
    mend: "Change the order of the steps, begin it in a vessel of its own, or put the line into the phase with which it goes in.",
};

const NEVER_SO_HOT: &Kind = &Kind {
    name: "never-so-hot",
    severity: Severity::Caution,
    summary: "A phase that no step of the method makes as hot as the formula holds it.",
    why: "What should melt, swell or lose its germs at that temperature does not; whoever follows the method makes another product.",
    mend: "Give the step that heats the phase its temperature, or correct `hold` in the formula.",
};

const ACID_BEFORE_SALT: &Kind = &Kind {
    name: "acid-before-salt",
    severity: Severity::Caution,
    summary: "Acid that is in the vessel before the salt of an acid preservative is dissolved.",
    why: "In acid the preservative's own acid falls out as crystals, and what lies on the bottom does not preserve.",
    mend: "Dissolve the preservative in the water first, and add the acid slowly, last but one.",
};

const WATER_INTO_LYE: &Kind = &Kind {
    name: "water-into-lye",
    severity: Severity::Caution,
    summary: "Water that is added to lye.",
    why: "Where water meets solid lye it boils and throws hot lye out of the vessel.",
    mend: "Put the water into the vessel first, and the lye into the water, a little at a time; goggles, gloves, long sleeves.",
};

/// Two phases at one temperature may be so far apart, °C (common practice, no source).
const APART: Decimal = Decimal::from_parts(5, 0, 0, false, 0);

/// Where no published source is known.
const PRACTICE: &str = "common practice, no source";

/// Everything that is to be said about a method.
pub fn examine_method(computed: &Computed, catalogue: &Catalogue, method: &WeighedMethod) -> Vec<Finding> {
    let review = Review::new(computed, method);
    let mut findings = Vec::new();
    for (index, step) in method.steps.iter().enumerate() {
        findings.extend(review.added_too_hot(index, step));
        findings.extend(review.reheated(index, step));
        findings.extend(review.water_into_lye(index, step));
    }
    findings.extend(review.without_temperature());
    findings.extend(review.never_so_hot());
    findings.extend(review.acid_before_salt(catalogue));
    review.phase_order(&mut findings);
    findings.extend(review.scalding(catalogue));
    findings
}

struct Review<'a> {
    computed: &'a Computed,
    method: &'a WeighedMethod,
    /// Each line with its phase and the index of the phase.
    lines: Vec<(usize, &'a Phase, &'a Line)>,
}

/// A line that is hotter than it bears.
struct Hurt<'a> {
    line: &'a Line,
    limit: Decimal,
    source: String,
    came: Came,
}

impl<'a> Review<'a> {
    fn new(computed: &'a Computed, method: &'a WeighedMethod) -> Self {
        let phases = computed.formula.phases.iter().enumerate();
        let lines =
            phases.flat_map(|(index, phase)| phase.lines.iter().map(move |line| (index, phase, line))).collect();
        Review { computed, method, lines }
    }

    /// What a step makes hotter than it bears, and had not been so hot before. What the formula itself holds as hot is said there.
    fn hurt(&self, step: &WeighedStep, temperature: Temperature) -> Vec<Hurt<'a>> {
        let mut seen = BTreeSet::new();
        let hurt = |meeting: &crate::compute::Meeting| {
            let (_, phase, line) = *self.lines.get(meeting.line)?;
            let (fact, limit, _) = limit_of(&line.material)?;
            let said = phase.hold.as_ref().is_some_and(|(hold, _)| hold.celsius() > limit && *hold == temperature);
            let before = meeting.hottest.is_some_and(|hottest| hottest.celsius() > limit);
            if temperature.celsius() <= limit || said || before || !seen.insert(meeting.line) {
                return None;
            }
            Some(Hurt { line, limit, source: fact.source_line(), came: meeting.came })
        };
        step.meets.iter().filter_map(hurt).collect()
    }

    fn added_too_hot(&self, index: usize, step: &WeighedStep) -> Option<Finding> {
        let held = step.held?;
        let hurt: Vec<Hurt<'_>> =
            self.hurt(step, held.temperature).into_iter().filter(|one| one.came != Came::Inside).collect();
        let first = hurt.first()?;
        let verb = if hurt.iter().any(|one| one.came == Came::Added) { "adds" } else { "pours" };
        let earlier = match held.step < index {
            true => format!(" That is the temperature of step {}; none since says that it has cooled.", held.step + 1),
            false => String::new(),
        };
        let what = format!("Step {} {verb} {} at {}.{earlier}", index + 1, with_limits(&hurt), temperature_words(held));
        let place = match first.came {
            Came::Poured(vessel) => {
                step.step.pours.iter().find(|pour| pour.value == vessel).map(|pour| pour.place.clone())
            }
            _ => self.place_of(step, first.line),
        };
        let place = place.unwrap_or_else(|| step.step.place.clone());
        let lowest = hurt.iter().map(|one| one.limit).min().unwrap_or(first.limit);
        let mend = format!(
            "Let the vessel cool to {} first, and give the step the temperature it has then, with `at`.",
            show::celsius(Temperature::from_celsius(lowest))
        );
        let finding = Finding::new(ADDED_TOO_HOT, place, what).source(sources(&hurt)).mend(mend);
        Some(self.heated_at(finding, index, held))
    }

    fn reheated(&self, index: usize, step: &WeighedStep) -> Option<Finding> {
        let held = step.held?;
        let hurt: Vec<Hurt<'_>> =
            self.hurt(step, held.temperature).into_iter().filter(|one| one.came == Came::Inside).collect();
        hurt.first()?;
        let what = format!(
            "Step {} brings the vessel to {}; in it {} already {}.",
            index + 1,
            temperature_words(held),
            if hurt.len() == 1 { "is" } else { "are" },
            with_limits(&hurt)
        );
        let at = step.step.at.as_ref().map(|at| at.place.clone());
        let place = at.or_else(|| step.step.pours.first().map(|pour| pour.place.clone()));
        let place = place.unwrap_or_else(|| step.step.place.clone());
        Some(self.heated_at(Finding::new(REHEATED, place, what).source(sources(&hurt)), index, held))
    }

    /// Points at the step that states the temperature, when it is another.
    fn heated_at(&self, finding: Finding, index: usize, held: Held) -> Finding {
        let stated = self.method.steps.get(held.step).and_then(|step| step.step.at.as_ref());
        match stated {
            Some(at) if held.step != index => finding.also_at(at.place.clone(), "the temperature is stated here"),
            _ => finding,
        }
    }

    /// The first step of each vessel with something heat-sensitive where a phase was heated and nothing says how warm it is now.
    fn without_temperature(&self) -> Vec<Finding> {
        let mut asked: BTreeSet<usize> = BTreeSet::new();
        let mut findings = Vec::new();
        for (index, step) in self.method.steps.iter().enumerate() {
            if step.held.is_some() || asked.contains(&step.step.vessel) {
                continue;
            }
            let holds = step.meets.iter().filter_map(|meeting| {
                let (_, phase, _) = self.lines.get(meeting.line)?;
                phase.hold.as_ref().map(|(hold, place)| (*phase, *hold, place))
            });
            let Some((phase, hold, hold_place)) = holds.max_by_key(|(_, hold, _)| *hold) else { continue };
            let sensitive: Vec<Hurt<'_>> = self
                .hurt(step, hold)
                .into_iter()
                .filter(|one| one.came != Came::Inside)
                // A line of the hot phase itself is judged where the phase is held.
                .filter(|one| !phase.lines.iter().any(|line| line.place == one.line.place))
                .collect();
            let Some(first) = sensitive.first() else { continue };
            asked.insert(step.step.vessel);
            let what = format!(
                "Step {} adds {}, and no step says how warm the vessel is; phase {} in it is held at {}.",
                index + 1,
                with_limits(&sensitive),
                echo(&phase.key),
                show::celsius(hold)
            );
            let place = self.place_of(step, first.line).unwrap_or_else(|| step.step.place.clone());
            findings.push(
                Finding::new(NO_TEMPERATURE, place, what)
                    .source(sources(&sensitive))
                    .also_at(hold_place.clone(), "held here"),
            );
        }
        findings
    }

    /// The hottest that a line becomes, with the step; nothing where a step that it is in says nothing of its temperature.
    fn hottest(&self, line: usize) -> Option<(usize, Temperature)> {
        let with_line = |step: &&WeighedStep| step.meets.iter().any(|meeting| meeting.line == line);
        let steps = self.method.steps.iter().enumerate().filter(|(_, step)| with_line(step));
        let held: Option<Vec<(usize, Temperature)>> =
            steps.map(|(index, step)| Some((index, step.held?.temperature))).collect();
        // Of equal ones the first.
        held?.into_iter().rev().max_by_key(|(_, temperature)| *temperature)
    }

    /// Phases that stay cooler than the formula holds them, and what stays below its melting point where it holds nothing.
    fn never_so_hot(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        let mut said: BTreeSet<usize> = BTreeSet::new();
        for (index, (phase_index, phase, line)) in self.lines.iter().enumerate() {
            let Some((step_index, hottest)) = self.hottest(index) else { continue };
            let Some(step) = self.method.steps.get(step_index) else { continue };
            let place = step.step.at.as_ref().map_or_else(|| step.step.place.clone(), |at| at.place.clone());
            let (shown, number) = (show::celsius(hottest), step_index + 1);
            match &phase.hold {
                Some((hold, hold_place)) if hottest.celsius() + APART < hold.celsius() => {
                    if !said.insert(*phase_index) {
                        continue;
                    }
                    let what = format!(
                        "Phase {} is held at {}, but no step brings `{}` above {shown} (step {number}).",
                        echo(&phase.key),
                        show::celsius(*hold),
                        echo(&line.written),
                    );
                    findings.push(
                        Finding::new(NEVER_SO_HOT, place, what)
                            .source(PRACTICE)
                            .also_at(hold_place.clone(), "the formula says so here"),
                    );
                }
                Some(_) => {}
                None => {
                    let Some((melts, fact)) = melts_at(&line.material).filter(|(melts, _)| hottest.celsius() < *melts)
                    else {
                        continue;
                    };
                    let what = format!(
                        "No step brings `{}` above {shown} (step {number}), but it melts at {}.",
                        echo(&line.written),
                        show::celsius(Temperature::from_celsius(melts)),
                    );
                    findings.push(Finding::new(below_melting_point::KIND, place, what).source(fact.source_line()));
                }
            }
        }
        findings
    }

    /// The first step that has acid in a vessel to which the salt of an acid preservative comes only later.
    fn acid_before_salt(&self, catalogue: &Catalogue) -> Option<Finding> {
        let is_salt = |line: &Line| {
            let becomes_acid = |inci: &str| catalogue.substance(inci).is_some_and(|substance| substance.acid.is_some());
            line.material.serves_as("preservative")
                && line.material.contains.iter().any(|part| becomes_acid(&part.inci))
        };
        for (index, step) in self.method.steps.iter().enumerate() {
            let line_of = |meeting: &crate::compute::Meeting| self.lines.get(meeting.line).map(|(_, _, line)| *line);
            let there = || step.meets.iter().filter(|meeting| meeting.came == Came::Inside).filter_map(line_of);
            let coming = || step.meets.iter().filter(|meeting| meeting.came != Came::Inside).filter_map(line_of);
            let acid = there().find(|line| line.material.serves_as("acid"));
            let salt = coming().find(|line| is_salt(line));
            if let (Some(acid), Some(salt)) = (acid, salt) {
                let (acid, written) = (echo(&acid.written), echo(&salt.written));
                let what = format!("Step {} adds `{written}` where `{acid}` is already.", index + 1);
                let place = self.place_of(step, salt).unwrap_or_else(|| step.step.place.clone());
                return Some(Finding::new(ACID_BEFORE_SALT, place, what).source(PRACTICE));
            }
        }
        None
    }

    /// Where a step adds a line, as the author wrote it.
    fn place_of(&self, step: &WeighedStep, line: &Line) -> Option<Place> {
        let is_line = |index: usize| self.lines.get(index).is_some_and(|(_, _, known)| known.place == line.place);
        step.step.portions.iter().find(|portion| is_line(portion.line)).map(|portion| portion.place.clone())
    }

    /// Lines of later phases that reach the main vessel before lines of earlier phases are in any vessel. Each step that explains most of what is out
    /// of order is named once.
    fn phase_order(&self, findings: &mut Vec<Finding>) {
        let n_lines = self.lines.len();
        let mut first: Vec<Option<usize>> = vec![None; n_lines];
        let mut arrives: Vec<Option<usize>> = vec![None; n_lines];
        for (index, step) in self.method.steps.iter().enumerate() {
            for meeting in &step.meets {
                if let Some(first) = first.get_mut(meeting.line) {
                    first.get_or_insert(index);
                }
                if step.step.vessel == 0
                    && let Some(arrives) = arrives.get_mut(meeting.line)
                {
                    arrives.get_or_insert(index);
                }
            }
        }
        let mut pairs: Vec<(usize, usize)> = Vec::new();
        for (early, (late_phase, _, line)) in self.lines.iter().enumerate() {
            for (late, (early_phase, _, other)) in self.lines.iter().enumerate() {
                let to_effect = line.effect.is_some() || other.effect.is_some();
                let arrived = arrives.get(early).copied().flatten();
                let begun = first.get(late).copied().flatten();
                if !to_effect
                    && early_phase < late_phase
                    && arrived.zip(begun).is_some_and(|(arrived, begun)| arrived < begun)
                {
                    pairs.push((early, late));
                }
            }
        }
        let step_of = |steps: &[Option<usize>], line: usize| steps.get(line).copied().flatten().unwrap_or_default();
        while !pairs.is_empty() {
            // How much each step explains, by its number and by whether it comes too late.
            let mut counts: BTreeMap<(usize, bool), usize> = BTreeMap::new();
            for (early, late) in &pairs {
                *counts.entry((step_of(&arrives, *early), false)).or_default() += 1;
                *counts.entry((step_of(&first, *late), true)).or_default() += 1;
            }
            // Of equal ones the first step, where it is early.
            let best = counts.into_iter().rev().max_by_key(|(_, count)| *count);
            let Some(((step, is_late), _)) = best else { return };
            let is_early = !is_late;
            let (here, others): (Vec<_>, Vec<_>) = pairs.iter().copied().partition(|(early, late)| {
                if is_early { step_of(&arrives, *early) == step } else { step_of(&first, *late) == step }
            });
            findings.extend(self.out_of_order(is_early, step, &here));
            pairs = others;
        }
    }

    fn out_of_order(&self, is_early: bool, index: usize, pairs: &[(usize, usize)]) -> Option<Finding> {
        let step = self.method.steps.get(index)?;
        let early: BTreeSet<usize> = pairs.iter().map(|(early, _)| *early).collect();
        let late: BTreeSet<usize> = pairs.iter().map(|(_, late)| *late).collect();
        let what = if is_early {
            format!("Step {} puts {} in before {}.", index + 1, self.of_phases(&early), self.of_phases(&late))
        } else {
            format!("Step {} adds {} after {}.", index + 1, self.of_phases(&late), self.of_phases(&early))
        };
        let here = if is_early { &early } else { &late };
        let line = here.first().and_then(|line| self.lines.get(*line)).map(|(_, _, line)| *line);
        let place = line.and_then(|line| self.place_of(step, line));
        let place = place.or_else(|| step.step.pours.first().map(|pour| pour.place.clone()));
        let place = place.unwrap_or_else(|| step.step.place.clone());
        Some(Finding::new(PHASE_ORDER, place, what).source(PRACTICE))
    }

    /// Lines with their phases: "`panthenol` and `lavender-oil` of phase C"; a whole phase only as such.
    fn of_phases(&self, lines: &BTreeSet<usize>) -> String {
        let mut groups: Vec<(usize, &Phase, Vec<String>)> = Vec::new();
        for line in lines {
            let Some((index, phase, line)) = self.lines.get(*line) else { continue };
            let name = echo(&line.written);
            match groups.last_mut() {
                Some((known, _, names)) if known == index => names.push(name),
                _ => groups.push((*index, phase, vec![name])),
            }
        }
        let words: Vec<String> = groups
            .into_iter()
            .map(|(_, phase, names)| {
                let key = echo(&phase.key);
                if names.len() == phase.lines.len() && names.len() > 1 {
                    return format!("phase {key}");
                }
                format!("{} of phase {key}", crate::report::list(&names, "and"))
            })
            .collect();
        words.join(" and ")
    }

    /// Water put upon dry lye, in another step or later in the list of the same one. Dilute lye, which sets a pH, meets water everywhere.
    fn water_into_lye(&self, index: usize, step: &WeighedStep) -> Option<Finding> {
        let mut lye: Option<&Line> = None;
        for meeting in &step.meets {
            let Some((_, _, line)) = self.lines.get(meeting.line) else { continue };
            if holds_most(line, &["Sodium Hydroxide", "Potassium Hydroxide"]) {
                lye = lye.or(Some(line));
            } else if holds_most(line, &[crate::material::WATER]) {
                // Lye that goes into water is well; what comes to both of them later changes nothing.
                let lye = lye.filter(|_| meeting.came != Came::Inside)?;
                let what = format!("Step {} puts `{}` upon `{}`.", index + 1, echo(&line.written), echo(&lye.written));
                let place =
                    self.place_of(step, line).or_else(|| step.step.pours.first().map(|pour| pour.place.clone()));
                let place = place.unwrap_or_else(|| step.step.place.clone());
                return Some(Finding::new(WATER_INTO_LYE, place, what).source(PRACTICE));
            }
        }
        None
    }

    /// The usual caution on hot phases, where the formula does not say that it is heated and the method does.
    fn scalding(&self, catalogue: &Catalogue) -> Option<Finding> {
        let is_hot = |temperature: Temperature| temperature.celsius() >= handling::SCALDING;
        if self.computed.formula.phases.iter().any(|phase| phase.hold.as_ref().is_some_and(|(hold, _)| is_hot(*hold))) {
            return None;
        }
        let hazard = catalogue.hazards().iter().find(|hazard| hazard.key == "hot")?;
        let hot = self.method.steps.iter().enumerate();
        let (index, step) =
            hot.max_by_key(|(index, step)| (step.held.map(|held| held.temperature), std::cmp::Reverse(*index)))?;
        let held = step.held.filter(|held| is_hot(held.temperature))?;
        let what = format!("{}: step {} at {}. {}", hazard.title, index + 1, temperature_words(held), hazard.measure);
        let place = step.step.at.as_ref().map_or_else(|| step.step.place.clone(), |at| at.place.clone());
        let source = hazard.source.as_ref().map_or_else(String::new, |source| source.line());
        Some(Finding::new(handling::KIND, place, what).source(source))
    }
}

/// Whether at least half of a line, as usually supplied, is one of these substances.
fn holds_most(line: &Line, incis: &[&str]) -> bool {
    let half = Decimal::new(50, 0);
    let is_most = |share: crate::quantity::Range| share.typical >= half;
    let mut parts = line.material.contains.iter();
    parts.any(|part| incis.contains(&part.inci.as_str()) && part.percent.range().is_some_and(is_most))
}

fn temperature_words(held: Held) -> String {
    let shown = show::celsius(held.temperature);
    if held.is_upper { format!("up to {shown}") } else { shown }
}

fn with_limits(hurt: &[Hurt<'_>]) -> String {
    let words: Vec<String> = hurt
        .iter()
        .map(|one| {
            let limit = show::celsius(Temperature::from_celsius(one.limit));
            format!("`{}` (at or below {limit})", echo(&one.line.written))
        })
        .collect();
    match words.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => words.concat(),
    }
}

fn sources(hurt: &[Hurt<'_>]) -> String {
    let mut lines: Vec<&str> = Vec::new();
    for one in hurt {
        if !lines.contains(&one.source.as_str()) {
            lines.push(&one.source);
        }
    }
    lines.join("; ")
}
