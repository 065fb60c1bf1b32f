//! Labels: for each rule set the declaration and the words that are due, and what the label makes of them.

use super::Collection;
use crate::block::{Block, LabelBlock};
use crate::caution::{Case, examine_label, label_fault, label_warnings};
use crate::compute::{Declaration, DueWords, Label, LabelSources, Rules};
use crate::model::Settings;
use crate::report::Finding;

impl Collection {
    /// A label, for the rule set that it asks for or all of the collection's that have rules for labels.
    pub(super) fn label(&self, block: &Block, wanted: &LabelBlock, findings: &mut Vec<Finding>) -> Option<Label> {
        let computed = self.formula_for(block, &wanted.formula, findings)?;
        if let Some(product) = computed.formula.product.as_ref().filter(|product| !product.product_use.is_cosmetic()) {
            findings.push(label_fault(wanted, &product.name));
            return None;
        }
        let chosen = &self.settings.rules;
        let mut rules: Vec<Rules> =
            Rules::ALL.into_iter().filter(|rules| chosen.iter().any(|word| word == rules.word())).collect();
        if wanted.rules.is_some() || rules.is_empty() {
            rules = vec![Rules::wanted(wanted.rules.as_ref(), chosen, findings)?];
        }
        let of_rules = rules.into_iter().map(|rules| {
            let settings = Settings { rules: vec![rules.word().to_owned()], ..self.settings.clone() };
            let case = Case { computed, catalogue: &self.catalogue, settings: &settings };
            let due = label_warnings(&case).into_iter().map(|due| DueWords {
                words: due.warning.words.clone(),
                is_prescribed: due.warning.is_prescribed,
                source: due.source(),
            });
            (Declaration::of(computed, &self.catalogue, rules), due.collect())
        });
        let sources = LabelSources { computed, settings: &self.settings, of_rules: of_rules.collect() };
        let label = Label::of(wanted, sources);
        findings.extend(examine_label(&label, wanted, &computed.formula, &block.place));
        Some(label)
    }
}
