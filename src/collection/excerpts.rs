//! Excerpts: what they show is looked up here, through other excerpts where need be.

use super::Collection;
use crate::block::{Block, Column, ExcerptBlock, ExcerptOf};
use crate::caution::{Case, examine};
use crate::compute::{Answer, Excerpt, ExcerptPart, for_batch, read_batch_size};
use crate::report::{Finding, Severity, echo, kind, list, suggestion};

impl Collection {
    /// What an excerpt shows; why it shows nothing is reported.
    pub(super) fn excerpt(&self, block: &Block, wanted: &ExcerptBlock, findings: &mut Vec<Finding>) -> Option<Excerpt> {
        let id = wanted.of.value.as_str();
        let place = wanted.of.place.clone();
        if self.formula_state(id).is_some() {
            let computed = self.formula_for(block, &wanted.of, findings)?;
            return self.excerpt_of_formula(block, wanted, computed, findings);
        }
        let Some((home, state)) = self.block_state(id) else {
            let what = format!("There is no formula or method `{}`.", echo(id));
            let mend = suggestion(id, self.ids(), kind::UNKNOWN_REFERENCE.mend);
            findings.push(Finding::new(kind::UNKNOWN_REFERENCE, place, what).mend(mend));
            return None;
        };
        match state.answer.as_deref() {
            None => {
                let what = format!("`{}` has errors, so there is nothing of it to show.", echo(id));
                findings.push(Finding::new(kind::REFERENCE_FAILED, place, what));
                None
            }
            Some(Answer::Method(method)) => {
                if let Some(batch) = &wanted.batch {
                    findings.push(
                        Finding::new(
                            kind::WRONG_VALUE,
                            batch.place.clone(),
                            "A method is weighed for the batch of its formula, not for another.",
                        )
                        .mend("Leave `batch` out, or show the formula."),
                    );
                    return None;
                }
                let step = match &wanted.part {
                    ExcerptOf::Whole => None,
                    ExcerptOf::Step(number) if *number <= method.steps.len() => Some(number - 1),
                    _ => {
                        let what =
                            format!("`{}` has {} and nothing else to show.", echo(id), steps_words(method.steps.len()));
                        findings.push(Finding::new(kind::UNKNOWN_ADDRESS, place, what));
                        return None;
                    }
                };
                let is_beside = home.notebook.path == block.place.path;
                let cautions = if is_beside { Vec::new() } else { cautions_of(home.blocks_findings(id)) };
                let part = ExcerptPart::Method { method: Box::new(method.clone()), step };
                Some(self.shown(wanted, part, id, cautions))
            }
            Some(Answer::Excerpt(other)) => Some(Excerpt {
                blank: with(&other.blank, &wanted.blank),
                without: with(&other.without, &wanted.without),
                ..self.excerpt_of_excerpt(block, wanted, other, findings)?
            }),
            Some(_) => {
                let what = format!("`{}` is no formula, method or excerpt.", echo(id));
                findings.push(
                    Finding::new(kind::UNKNOWN_REFERENCE, place, what)
                        .mend("Show one of these; numbers of other blocks are shown by calc links."),
                );
                None
            }
        }
    }

    fn excerpt_of_excerpt(
        &self,
        block: &Block,
        wanted: &ExcerptBlock,
        other: &Excerpt,
        findings: &mut Vec<Finding>,
    ) -> Option<Excerpt> {
        match &other.part {
            ExcerptPart::Formula { computed, phase } => {
                let mut excerpt = self.excerpt_of_formula(block, wanted, computed, findings)?;
                if let (ExcerptPart::Formula { phase: shown, .. }, true) =
                    (&mut excerpt.part, wanted.part == ExcerptOf::Whole)
                {
                    *shown = *phase;
                }
                Some(excerpt)
            }
            ExcerptPart::Method { .. } if wanted.part == ExcerptOf::Whole && wanted.batch.is_none() => {
                Some(other.clone())
            }
            ExcerptPart::Method { .. } => {
                let what = "Of an excerpt of a method only the whole can be shown again, for its own batch.";
                findings.push(
                    Finding::new(kind::UNKNOWN_ADDRESS, wanted.of.place.clone(), what)
                        .mend("Name the method itself: `oat-wash-method/step/3`."),
                );
                None
            }
        }
    }

    fn excerpt_of_formula(
        &self,
        block: &Block,
        wanted: &ExcerptBlock,
        computed: &crate::compute::Computed,
        findings: &mut Vec<Finding>,
    ) -> Option<Excerpt> {
        let id = computed.formula.id.as_str();
        let phase = match &wanted.part {
            ExcerptOf::Whole => None,
            ExcerptOf::Phase(key) => {
                let found = computed.formula.phases.iter().position(|phase| phase.key == *key);
                if found.is_none() {
                    let keys: Vec<&str> = computed.formula.phases.iter().map(|phase| phase.key.as_str()).collect();
                    let what = format!("`{}` has no phase `{}`.", echo(id), echo(key));
                    findings.push(
                        Finding::new(kind::UNKNOWN_ADDRESS, wanted.of.place.clone(), what)
                            .mend(format!("Its phases are {}.", list(&keys, "and"))),
                    );
                    return None;
                }
                found
            }
            ExcerptOf::Step(_) => {
                let what = format!("`{}` is a formula; steps belong to a method.", echo(id));
                findings.push(
                    Finding::new(kind::UNKNOWN_ADDRESS, wanted.of.place.clone(), what)
                        .mend("Give the `method` block an `id` and name that."),
                );
                return None;
            }
        };
        let computed = match &wanted.batch {
            None => computed.clone(),
            Some(batch) => match read_batch_size(&batch.value, computed.formula.density) {
                Ok(mass) => for_batch(computed, mass),
                Err(why) => {
                    let what = format!("The batch is not understood: {why}.");
                    findings.push(
                        Finding::new(kind::WRONG_VALUE, batch.place.clone(), what)
                            .mend("Write a size such as \"200 g\"."),
                    );
                    return None;
                }
            },
        };
        let case = Case { computed: &computed, catalogue: &self.catalogue, settings: &self.settings };
        let all = examine(&case);
        // Beside the formula only what another batch adds is said again.
        let is_beside = self.formulas.get(id).is_some_and(|(home, _)| *home == block.place.path);
        let said = if is_beside { self.formula_findings(id) } else { &[] };
        let is_said = |finding: &&Finding| said.iter().any(|one| one.kind == finding.kind && one.what == finding.what);
        let cautions = cautions_of(all.iter().filter(|finding| !is_said(finding)));
        let id = id.to_owned();
        Some(self.shown(wanted, ExcerptPart::Formula { computed: Box::new(computed), phase }, &id, cautions))
    }

    fn shown(&self, wanted: &ExcerptBlock, part: ExcerptPart, of: &str, cautions: Vec<Finding>) -> Excerpt {
        let (blank, without) = (wanted.blank.clone(), wanted.without.clone());
        Excerpt { of: of.to_owned(), part, blank, without, cautions }
    }

    /// How a block that builds on itself comes back to itself, as ids.
    pub(super) fn circle_from(&self, block: &Block) -> Vec<String> {
        let mut path: Vec<String> = block.id.iter().map(|id| id.value.clone()).collect();
        let mut next = block;
        loop {
            let ids = next.builds_on().into_iter().map(|id| &id.value);
            let mut blocks = ids.filter_map(|id| {
                let (home, index) = self.blocks.get(id)?;
                Some((id, self.entries.get(home)?.notebook.blocks.get(*index)?))
            });
            // The way round is the one that has been there already, or else the first that is in a circle itself.
            let Some((id, found)) = blocks.find(|(id, found)| path.contains(id) || self.leads_round(found)) else {
                return path;
            };
            path.push(id.clone());
            if path.iter().filter(|one| *one == id).count() > 1 {
                return path;
            }
            next = found;
        }
    }

    /// Whether what a block builds on comes back to something that was met before.
    fn leads_round(&self, block: &Block) -> bool {
        fn follow<'c>(all: &'c Collection, block: &'c Block, above: &mut Vec<&'c str>) -> bool {
            block.builds_on().into_iter().any(|id| {
                let Some((home, index)) = all.blocks.get(&id.value) else { return false };
                if above.contains(&id.value.as_str()) {
                    return true;
                }
                let Some(next) = all.entries.get(home).and_then(|entry| entry.notebook.blocks.get(*index)) else {
                    return false;
                };
                above.push(&id.value);
                let round = follow(all, next, above);
                above.pop();
                round
            })
        }
        follow(self, block, &mut block.id.iter().map(|id| id.value.as_str()).collect())
    }
}

fn steps_words(count: usize) -> String {
    if count == 1 { "one step".to_owned() } else { format!("{count} steps") }
}

fn with(first: &[Column], second: &[Column]) -> Vec<Column> {
    let mut all = first.to_vec();
    all.extend(second.iter().filter(|column| !first.contains(column)));
    all
}

/// What must go with every copy.
fn cautions_of<'f>(findings: impl IntoIterator<Item = &'f Finding>) -> Vec<Finding> {
    findings.into_iter().filter(|finding| finding.severity() == Severity::Caution).cloned().collect()
}
