//! Formulas of a collection side by side, and what is found about one and not about the other.

use super::Collection;
use crate::compute::{ComparedSide, Comparison, Declaration, Rules};
use crate::quantity::Mass;
use crate::report::Finding;
use std::collections::BTreeSet;

impl Collection {
    /// Formulas side by side, the first being what the others are compared with; `None` when one of them is not computed.
    pub fn compare(&self, ids: &[&str], batch: Option<Mass>) -> Option<Comparison> {
        let rules = Rules::of_collection(&self.settings.rules);
        let computed: Vec<_> = ids.iter().map(|id| self.formula(id)).collect::<Option<_>>()?;
        let declared: Vec<Vec<String>> = computed
            .iter()
            .map(|one| {
                Declaration::of(one, &self.catalogue, rules).ingredients.into_iter().map(|one| one.name).collect()
            })
            .collect();
        let sides: Vec<ComparedSide<'_>> = computed
            .iter()
            .zip(&declared)
            .map(|(one, declared)| ComparedSide::Formula {
                computed: one,
                declared,
                root: self.root_of(&one.formula.id),
            })
            .collect();
        Comparison::of(&sides, batch)
    }

    /// The formula at the root of a variant, the formula itself when it is none.
    fn root_of<'a>(&'a self, id: &'a str) -> &'a str {
        let mut root = id;
        // A circle is an error elsewhere; here it only has to come to an end.
        for _ in 0..=self.formulas.len() {
            let parent = self.find_block(root).and_then(|(block, _)| block.based_on.as_ref());
            match parent {
                Some(parent) => root = &parent.value,
                None => break,
            }
        }
        root
    }

    /// What is found about one formula and not about another. Their own ids in the sentences make no difference.
    pub fn found_only_about(&self, one: &str, other: &str) -> Vec<&Finding> {
        let mut ids = [one, other];
        ids.sort_by_key(|id| std::cmp::Reverse(id.len()));
        let plain = |finding: &Finding| {
            let what = ids.iter().fold(finding.what.clone(), |what, id| what.replace(id, "\0"));
            (finding.kind.name, what)
        };
        let known: BTreeSet<_> = self.formula_findings(other).iter().map(plain).collect();
        self.formula_findings(one).iter().filter(|finding| !known.contains(&plain(finding))).collect()
    }
}
