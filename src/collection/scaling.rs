//! What hangs on the size of a formula's batch, so that a page can say it, or reckon it again for another size.

use super::Collection;
use crate::block::{Block, Body};
use crate::compute::{Answer, Scaling, scaling_of};
use crate::notebook::Query;
use crate::page::Scales;
use std::collections::BTreeSet;

/// Blocks on blocks are followed this far.
const DEEPEST: usize = 64;

impl Collection {
    /// How a calc link's number follows the batch of a formula; none where it does not, or where the link names a batch of its own.
    pub(super) fn scales(&self, id: &str, path: &[String], query: &Query) -> Option<Scales> {
        if query.batch.is_some() {
            return None;
        }
        let path: Vec<&str> = path.iter().map(String::as_str).collect();
        let scales = |of: &str, parts: String| Scales { of: vec![of.to_owned()], parts, step: String::new() };
        if let Some((_, formula)) = self.formula_state(id) {
            return Some(match scaling_of(formula.computed.as_deref()?, &path)? {
                Scaling::Batch => scales(id, "batch".to_owned()),
                Scaling::Lines(lines) => scales(id, lines.iter().map(usize::to_string).collect::<Vec<_>>().join(" ")),
                Scaling::Other => scales(id, String::new()),
            });
        }
        let (_, block) = self.block_state(id)?;
        if let Some(Answer::Method(method)) = block.answer.as_deref() {
            let (step, parts) = method.scaling(&path)?;
            return Some(Scales { of: vec![id.to_owned()], parts, step });
        }
        let (home, index) = self.blocks.get(id)?;
        let block = self.entries.get(home)?.notebook.blocks.get(*index).filter(|block| hangs_on_batch(block, &path))?;
        let of = self.batches_behind(block);
        (!of.is_empty()).then(|| Scales { of, parts: String::new(), step: String::new() })
    }

    /// The formulas on whose batch the weights of a block hang, other than a method's, which can be reckoned again.
    pub(super) fn batches_behind(&self, block: &Block) -> Vec<String> {
        let mut found = BTreeSet::new();
        self.follow(block, &mut found, 0);
        found.into_iter().collect()
    }

    /// The formula that an excerpt shows, through its method or through other excerpts.
    fn follow_excerpt(&self, id: &str, found: &mut BTreeSet<String>, depth: usize) {
        if self.formula_state(id).is_some() {
            found.insert(id.to_owned());
        } else if let Some(Answer::Method(method)) = self.answer(id) {
            found.insert(method.formula.clone());
        } else if let Some((home, index)) = self.blocks.get(id)
            && let Some(block) = self.entries.get(home).and_then(|entry| entry.notebook.blocks.get(*index))
        {
            self.follow(block, found, depth + 1);
        }
    }

    fn follow(&self, block: &Block, found: &mut BTreeSet<String>, depth: usize) {
        if depth > DEEPEST {
            return;
        }
        let addresses = match &block.body {
            Some(Body::Titration(titration)) if titration.batch.is_none() => {
                found.extend(titration.formula.iter().map(|id| id.value.clone()));
                return;
            }
            Some(Body::Filling(filling)) if filling.bulk.is_none() => {
                found.extend(filling.formula.iter().map(|id| id.value.clone()));
                return;
            }
            Some(Body::Costing(costing)) if costing.batch.is_none() => {
                found.insert(costing.formula.value.clone());
                return;
            }
            Some(Body::Kit(kit)) => {
                let own = kit.make.iter().filter(|one| one.batch.is_none());
                found.extend(own.map(|one| one.id.value.clone()));
                return;
            }
            Some(Body::ShoppingList(list)) => {
                for one in list.make.iter().filter(|one| one.batch.is_none()) {
                    if !one.is_kit {
                        found.insert(one.id.value.clone());
                    } else if let Some((home, index)) = self.blocks.get(&one.id.value)
                        && let Some(kit) = self.entries.get(home).and_then(|entry| entry.notebook.blocks.get(*index))
                    {
                        self.follow(kit, found, depth + 1);
                    }
                }
                return;
            }
            // What was made stays as it was made; only what is still to be weighed is for a batch.
            Some(Body::BatchRecord(record)) if record.is_blank && record.batch.is_none() => {
                found.insert(record.formula.value.clone());
                return;
            }
            Some(Body::Excerpt(excerpt)) if excerpt.batch.is_none() => {
                self.follow_excerpt(&excerpt.of.value, found, depth);
                return;
            }
            Some(Body::Comparison(comparison)) if comparison.batch.is_none() => {
                let first = comparison.formulas.first().map(|id| &id.value);
                // What was made stays as it was made.
                found.extend(first.filter(|id| self.formula_state(id).is_some()).cloned());
                return;
            }
            Some(Body::Workings(workings)) => workings.lines.iter().flat_map(|line| &line.figures).collect(),
            Some(Body::Expect(expect)) => expect.lines.iter().map(|line| &line.address).collect::<Vec<_>>(),
            _ => return,
        };
        for address in addresses.into_iter().filter(|address| address.query.batch.is_none()) {
            let (id, path) = (&address.id.value, &address.path);
            let path: Vec<&str> = path.iter().map(String::as_str).collect();
            if let Some((_, formula)) = self.formula_state(id) {
                let scaling = formula.computed.as_deref().and_then(|computed| scaling_of(computed, &path));
                found.extend(scaling.map(|_| id.clone()));
                continue;
            }
            let Some((home, index)) = self.blocks.get(id) else { continue };
            let Some(entry) = self.entries.get(home) else { continue };
            if let Some(Answer::Method(method)) = entry.blocks.get(*index).and_then(|state| state.answer.as_deref()) {
                found.insert(method.formula.clone());
            } else if let Some(block) = entry.notebook.blocks.get(*index).filter(|block| hangs_on_batch(block, &path)) {
                self.follow(block, found, depth + 1);
            }
        }
    }
}

/// Whether the figure at a path below a block's id can follow the batch that the block builds on: what goes into one pack does not.
fn hangs_on_batch(block: &Block, path: &[&str]) -> bool {
    let first = path.first().copied().unwrap_or_default();
    match &block.body {
        Some(Body::Filling(_)) => ["packs", "left-over"].contains(&first),
        Some(Body::Costing(_)) => {
            !["per-100-g", "oldest-price"].contains(&first) && !matches!(path.last(), Some(&("price" | "share")))
        }
        Some(Body::Kit(_)) => first != "tables" && first != "cups",
        Some(Body::ShoppingList(_)) => path.last() != Some(&"in-stock"),
        Some(Body::Titration(_)) => ["dose", "dose-neat", "batch"].contains(&first),
        Some(Body::TrialSeries(_)) => false,
        Some(Body::Comparison(_)) => matches!(path.last(), Some(&("weight-difference" | "per-batch-difference"))),
        _ => true,
    }
}
