//! Words that a rule wants on the label because of what the formula holds.

use super::counted::{amount_words, bound_words, place_of, present, serves_purpose, total};
use super::{Case, Caution, source_of};
use crate::material::Warning;
use crate::quantity::{Decimal, Percent, Range};
use crate::report::{Finding, Kind, Place, Severity, list};

pub(super) const CAUTION: Caution = Caution { kinds: &[DUE], examine };

const DUE: &Kind = &Kind {
    name: "label-warning",
    severity: Severity::Note,
    summary: "Words that must stand on the label.",
    why: "Whoever uses the product must be able to read it there; the language is that of the country where it is sold.",
    mend: "Put it on the label, in the exact words of the rule.",
};

/// A warning that is due for a formula.
#[derive(Clone, Debug)]
pub struct LabelWarning<'a> {
    /// The rule that asks for it, with the words, their kind, the entry and the remark.
    pub warning: &'a Warning,
    /// What brings it, by INCI name; empty where any surfactant does.
    pub substances: Vec<String>,
    /// How much of it there is, % of the product, on the warning's basis.
    pub amount: Range,
    /// The line that brings most of it, or the formula.
    pub place: Place,
}

impl LabelWarning<'_> {
    /// The warning is due above so much, % of the product.
    pub fn above(&self) -> Percent {
        self.warning.above
    }

    /// The entry that asks for it, and how it is known if it was not read.
    pub fn source(&self) -> String {
        source_of(&self.warning.entry, self.warning.how)
    }
}

/// The warnings that are due for a formula by the rule sets of its collection, in the order of the catalogue.
pub fn label_warnings<'a>(case: &Case<'a>) -> Vec<LabelWarning<'a>> {
    // The rules behind the warnings are for cosmetics.
    if case.product_use().is_some_and(|product_use| !product_use.is_cosmetic()) {
        return Vec::new();
    }
    let product = case.computed.formula.product.as_ref();
    let warnings = case.catalogue.warnings().iter();
    warnings
        .filter(|warning| case.settings.rules.contains(&warning.rules))
        .filter(|warning| match product {
            // What goes to one kind of product only is no matter of a product that nobody has named.
            None => !warning.scope.is_named() && warning.scope.can_be_judged(),
            product => warning.scope.holds_for(product),
        })
        .filter_map(|warning| due(case, warning))
        .collect()
}

fn due<'a>(case: &Case<'a>, warning: &'a Warning) -> Option<LabelWarning<'a>> {
    if warning.is_for_surfactants {
        let amount = case.computed.active.total;
        let place = case.computed.formula.id_place.clone();
        return (amount.high > warning.above.value()).then(|| LabelWarning {
            warning,
            substances: Vec::new(),
            amount,
            place,
        });
    }
    let counting = &warning.counting;
    if !serves_purpose(case, counting) {
        return None;
    }
    let amount = total(case, counting, &case.computed.composition)?;
    (amount.high > warning.above.value()).then(|| LabelWarning {
        warning,
        substances: present(case, counting).into_iter().cloned().collect(),
        amount,
        place: place_of(case, counting),
    })
}

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for due in label_warnings(case) {
        let warning = due.warning;
        let must = if warning.is_advice { "should" } else { "must" };
        let words =
            if warning.is_prescribed { format!("say \"{}\"", warning.words) } else { format!("say {}", warning.words) };
        let above = warning.above.value();
        let amount = amount_words(due.amount, above, &warning.counting);
        let cause = if warning.is_for_surfactants {
            format!("surfactants at {amount}")
        } else {
            format!("{} at {amount}", list(&due.substances, "and"))
        };
        let threshold =
            if above > Decimal::ZERO { format!(", which is above {}", bound_words(above)) } else { String::new() };
        let what = format!("The label {must} {words}: {cause}{threshold}.");
        let finding = Finding::new(DUE, due.place.clone(), what).source(due.source());
        findings.push(match &warning.note {
            Some(note) => finding.because(format!("{} Remark to this warning: {note}.", DUE.why)),
            None => finding,
        });
    }
}
