//! Formulas of a collection side by side, and what is found about one and not about the other.

use super::Collection;
use crate::block::{Block, ComparisonBlock, Placed};
use crate::caution::{Case, examine, examine_comparison, is_of_batches};
use crate::compute::{
    Answer, BatchRecord, ComparedSide, Comparison, Computed, Declaration, FoundChanges, Rules, SideBySide,
    read_batch_size,
};
use crate::quantity::Mass;
use crate::report::{Finding, echo, kind};

impl Collection {
    /// Formulas and records side by side, the first being what the others are compared with; `None` when one of them is not computed.
    pub fn compare(&self, ids: &[&str], batch: Option<Mass>) -> Option<Comparison> {
        let rules = Rules::of_collection(&self.settings.rules);
        let computed: Vec<_> = ids.iter().map(|id| self.comparable(id)).collect::<Option<_>>()?;
        let declared: Vec<Vec<String>> = computed
            .iter()
            .map(|(one, _)| {
                Declaration::of(one, &self.catalogue, rules).ingredients.into_iter().map(|one| one.name).collect()
            })
            .collect();
        let sides: Vec<ComparedSide<'_>> = ids
            .iter()
            .zip(&computed)
            .zip(&declared)
            .map(|((id, (computed, record)), declared)| ComparedSide {
                id,
                computed,
                record: *record,
                declared,
                root: self.root_of(&computed.formula.id),
            })
            .collect();
        Comparison::of(&sides, batch, &self.settings, &|one, other| self.found_changes(one, other))
    }

    /// A formula, or what a record says is in the vessel; `None` when there is none, or it is not computed.
    pub fn comparable(&self, id: &str) -> Option<(&Computed, Option<&BatchRecord>)> {
        match self.answer(id) {
            Some(Answer::BatchRecord(record)) => Some((record.actual.as_deref()?, Some(record))),
            _ => self.formula(id).map(|computed| (computed, None)),
        }
    }

    /// What a block compares, where it can be.
    fn comparable_for(&self, block: &Block, id: &Placed<String>, findings: &mut Vec<Finding>) -> Option<&Computed> {
        match self.answer(&id.value) {
            Some(Answer::BatchRecord(record)) if record.actual.is_none() => {
                let what = format!("It is not known what is in the vessel of `{}`.", echo(&id.value));
                findings.push(
                    Finding::new(kind::WRONG_VALUE, id.place.clone(), what)
                        .because("A record can be compared when every line of it was weighed.")
                        .mend("Write the missing weights into the record, or leave it out here."),
                );
                None
            }
            Some(Answer::BatchRecord(_)) => self.comparable(&id.value).map(|(computed, _)| computed),
            _ if self.is_record(&id.value) => {
                let what = format!("`{}` has errors, so this {} was not computed.", echo(&id.value), block.word);
                findings.push(Finding::new(kind::REFERENCE_FAILED, id.place.clone(), what));
                None
            }
            _ => self.formula_for(block, id, findings),
        }
    }

    fn is_record(&self, id: &str) -> bool {
        let block = self.blocks.get(id).and_then(|(path, index)| self.entries.get(path)?.notebook.blocks.get(*index));
        block.is_some_and(|block| block.word == "batch-record")
    }

    /// The comparison of a block; why there is none is reported.
    pub(super) fn comparison(
        &self,
        block: &Block,
        wanted: &ComparisonBlock,
        findings: &mut Vec<Finding>,
    ) -> Option<SideBySide> {
        let known: Vec<_> = wanted.formulas.iter().map(|id| self.comparable_for(block, id, findings)).collect();
        let known: Vec<_> = known.into_iter().collect::<Option<_>>()?;
        let density = known.first().and_then(|first| first.formula.density);
        let batch = match &wanted.batch {
            None => None,
            Some(batch) => match read_batch_size(&batch.value, density) {
                Ok(mass) => Some(mass),
                Err(why) => {
                    let what = format!("The batch is not understood: {why}.");
                    let finding = Finding::new(kind::WRONG_VALUE, batch.place.clone(), what);
                    findings.push(finding.mend("Write a size such as \"200 g\"."));
                    return None;
                }
            },
        };
        let ids: Vec<&str> = wanted.formulas.iter().map(|id| id.value.as_str()).collect();
        let comparison = self.compare(&ids, batch)?;
        findings.extend(examine_comparison(&comparison, &block.place));
        Some(SideBySide { comparison, show: wanted.show.clone(), unchanged: wanted.unchanged })
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

    /// What is found about one formula and not about another, or with other figures.
    fn found_changes(&self, one: &str, other: &str) -> FoundChanges {
        let mut ids = [one, other];
        // The longer first: `wash-plain` holds `wash`.
        ids.sort_by_key(|id| std::cmp::Reverse(id.len()));
        let plain = |finding: &Finding| {
            (finding.kind.name.to_owned(), ids.iter().fold(finding.what.clone(), |what, id| what.replace(id, "\0")))
        };
        let is_batch = [one, other].iter().any(|id| matches!(self.comparable(id), Some((_, Some(_)))));
        pair_findings(&self.found_about(one, is_batch), &self.found_about(other, is_batch), &plain)
    }

    /// What is found about a formula, or about what is in the vessel; beside a batch without what is said of what is still to be weighed.
    fn found_about(&self, id: &str, beside_a_batch: bool) -> Vec<Finding> {
        let mut found = match self.comparable(id) {
            Some((computed, Some(_))) => {
                let mut found = examine(&Case { computed, catalogue: &self.catalogue, settings: &self.settings });
                // It is the batch that this is about.
                let (formula, batch) = (format!("`{}`", computed.formula.id), format!("`{id}`"));
                found.iter_mut().for_each(|finding| finding.what = finding.what.replace(&formula, &batch));
                found
            }
            _ => self.formula_findings(id).to_vec(),
        };
        found.retain(|finding| !beside_a_batch || is_of_batches(finding));
        found
    }
}

/// Pairs what was found with what is found: the same sentence is nothing new, and the same one with other figures is a change. `plain` gives the kind
/// and the sentence without what makes no difference.
pub(super) fn pair_findings<F: Clone>(was: &[F], is: &[F], plain: &dyn Fn(&F) -> (String, String)) -> FoundChanges<F> {
    let mut lost: Vec<&F> = was.iter().filter(|one| !is.iter().any(|two| plain(one) == plain(two))).collect();
    let mut found = FoundChanges::default();
    let shape = |one: &F| {
        let (kind, sentence) = plain(one);
        (kind, without_figures(&sentence))
    };
    let mut new: Vec<&F> = is.iter().filter(|one| !was.iter().any(|two| plain(one) == plain(two))).collect();
    // First by the sentence without its figures, then by what stands before its list: "Dust: …" with another raw material in it.
    for likeness in [&shape as &dyn Fn(&F) -> (String, String), &|one: &F| {
        let (kind, sentence) = plain(one);
        let head = sentence.split_once(": ").map_or("", |(head, _)| head).to_owned();
        (kind, head)
    }] {
        new.retain(|finding| {
            let like = likeness(finding);
            match lost.iter().position(|one| !like.1.is_empty() && likeness(one) == like) {
                Some(index) => {
                    found.changed.push((lost.remove(index).clone(), (*finding).clone()));
                    false
                }
                None => true,
            }
        });
    }
    found.gained = new.into_iter().cloned().collect();
    found.lost = lost.into_iter().cloned().collect();
    found
}

/// A sentence with a mark for every number or range.
pub(super) fn without_figures(text: &str) -> String {
    let mut out = String::new();
    let mut characters = text.chars().peekable();
    while let Some(character) = characters.next() {
        if !character.is_ascii_digit() {
            out.push(character);
            continue;
        }
        out.push('#');
        let goes_on = |next: &char| next.is_ascii_digit();
        while let Some(next) = characters.next_if(|next| goes_on(next) || ['.', '–'].contains(next)) {
            // The full stop of a sentence is none of a number.
            if !goes_on(&next) && !characters.peek().is_some_and(goes_on) {
                out.push(next);
                break;
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::without_figures;

    #[test]
    fn numbers_and_ranges_are_marked_and_words_stay() {
        assert_eq!(without_figures("holds 12.3–12.9 %, usual 9–16 %."), "holds # %, usual # %.");
        assert_eq!(without_figures("holds 12 %, usual 9–16 %."), "holds # %, usual # %.");
        assert_eq!(without_figures("comes to 5."), "comes to #.");
        assert_eq!(without_figures("two – or three"), "two – or three");
    }
}
