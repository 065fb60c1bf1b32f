//! A substance over a ceiling of a rule set or over the advice of a committee, in the formula as written or as it will be weighed.

use super::counted::{amount_words, bound_words, place_of, present, serves_purpose, total};
use super::{Case, Caution, source_of};
use crate::compute::composition_of;
use crate::material::{Ceiling, Limit};
use crate::quantity::{Decimal, Range};
use crate::report::{Finding, Kind, Severity, list};
use std::cell::OnceCell;

pub(super) const CAUTION: Caution = Caution { kinds: &[OVER, OVER_AS_WEIGHED, OVER_ADVICE], examine };

const OVER: &Kind = &Kind {
    name: "over-limit",
    severity: Severity::Caution,
    summary: "A substance over a legal ceiling of the chosen rule sets.",
    why: "The ceiling holds for the finished product and is there for the skin of whoever uses it.",
    mend: "Use less. Whether a product may be sold is for local rules and a qualified assessor to say.",
};

const OVER_AS_WEIGHED: &Kind = &Kind {
    name: "over-limit-as-weighed",
    severity: Severity::Caution,
    summary: "A substance that the rounding of the balance takes over a legal ceiling.",
    why: "What is weighed is what is in the bottle.",
    mend: "Make a larger batch, weigh on a finer balance, weigh a pre-dilution, or plan a little less.",
};

const OVER_ADVICE: &Kind = &Kind {
    name: "over-advised-limit",
    severity: Severity::Caution,
    summary: "A substance over what a safety committee advises.",
    why: "No rule sets a ceiling here, but the committee found no more than this safe.",
    mend: "Use less, or ask a qualified assessor.",
};

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    // The rules behind the limits are for cosmetics.
    if case.product_use().is_some_and(|product_use| !product_use.is_cosmetic()) {
        return;
    }
    let product = case.computed.formula.product.as_ref();
    // Most formulas hold no limited substance at all, so this is worked out only when one does.
    let as_weighed = OnceCell::new();
    let mut excesses: Vec<Excess<'_>> = Vec::new();
    for limit in case.catalogue.limits() {
        if !case.settings.rules.contains(&limit.rules) || !serves_purpose(case, &limit.counting) {
            continue;
        }
        let Some(ceiling) = limit.ceiling(product) else { continue };
        let is_over = |amount: Range| {
            let max = ceiling.percent.value();
            if ceiling.is_below { amount.high >= max } else { amount.high > max }
        };
        let Some(formulated) = total(case, &limit.counting, &case.computed.composition) else { continue };
        let as_weighed = as_weighed
            .get_or_init(|| composition_of(&case.computed.formula, &case.computed.sheet.percents_as_weighed()));
        let weighed = total(case, &limit.counting, as_weighed).unwrap_or(formulated);
        // The upper end of the range decides: a lot at the strong end of its specification is still that raw material.
        let (kind, amount) = match (is_over(formulated), is_over(weighed)) {
            (true, _) if limit.is_advice => (OVER_ADVICE, formulated),
            (true, _) => (OVER, formulated),
            (false, true) if !limit.is_advice => (OVER_AS_WEIGHED, weighed),
            (false, _) => continue,
        };
        let excess = Excess {
            finding: describe(case, limit, kind, amount, ceiling),
            substances: present(case, &limit.counting),
            // A ban is exceeded most of all.
            times: amount.high.checked_div(ceiling.percent.value()).unwrap_or(Decimal::MAX),
        };
        // The same substances may stand under two entries; they are said once, by the stricter, with both sources.
        match excesses.iter_mut().find(|known| known.is_about_the_same(&excess)) {
            Some(known) => known.take_in(excess),
            None => excesses.push(excess),
        }
    }
    findings.extend(excesses.into_iter().map(|excess| excess.finding));
}

/// A finding with what it takes to tell whether another says the same.
struct Excess<'r> {
    finding: Finding,
    substances: Vec<&'r String>,
    /// The amount as a multiple of the ceiling.
    times: Decimal,
}

impl Excess<'_> {
    fn is_about_the_same(&self, other: &Excess<'_>) -> bool {
        std::ptr::eq(self.finding.kind, other.finding.kind) && self.substances == other.substances
    }

    fn take_in(&mut self, other: Self) {
        let (first, second) = (self.finding.source.take(), other.finding.source.clone());
        if other.times > self.times {
            *self = other;
        }
        self.finding.source = join(first, second);
    }
}

fn join(first: Option<String>, second: Option<String>) -> Option<String> {
    match (first, second) {
        (Some(first), Some(second)) if first == second => Some(first),
        (Some(first), Some(second)) => Some(format!("{first}; {second}")),
        (first, second) => first.or(second),
    }
}

fn describe(case: &Case<'_>, limit: &Limit, kind: &'static Kind, amount: Range, ceiling: &Ceiling) -> Finding {
    let max = ceiling.percent.value();
    let names = list(&present(case, &limit.counting), "and");
    let weighed = if std::ptr::eq(kind, OVER_AS_WEIGHED) { " as it will be weighed" } else { "" };
    let amount = format!("{}{weighed}", amount_words(amount, max, &limit.counting));
    let scope = scope_words(case, limit, ceiling);
    let from = limit.from.as_ref().map_or(String::new(), |day| format!(", a rule from {day}"));
    let what = match (max.is_zero(), limit.is_advice) {
        (true, _) => format!("{names} ({amount}) is not allowed{scope}{from}."),
        (false, true) => {
            format!("{names} at {amount} is over the advised limit of {}{scope}{from}.", bound_words(max))
        }
        (false, false) if ceiling.is_below => {
            format!("{names} at {amount} must stay below {}{scope}{from}.", bound_words(max))
        }
        (false, false) => format!("{names} at {amount} is over the limit of {}{scope}{from}.", bound_words(max)),
    };
    let finding = Finding::new(kind, place_of(case, &limit.counting), what).source(source_of(&limit.entry, limit.how));
    let finding = match max.is_zero() {
        true => finding
            .mend("Leave it out. Whether a product may be sold is for local rules and a qualified assessor to say."),
        false => finding,
    };
    match &limit.note {
        Some(note) => finding.because(format!("{} Remark to this limit: {note}.", kind.why)),
        None => finding,
    }
}

/// For which products the ceiling holds, as the sentence ends. A limit that tells products apart names the product.
fn scope_words(case: &Case<'_>, limit: &Limit, ceiling: &Ceiling) -> String {
    let tells_apart = limit.ceilings.iter().any(|ceiling| ceiling.scope.is_named());
    match &case.computed.formula.product {
        Some(product) if tells_apart => format!(" in `{}` products", product.name),
        Some(_) => ceiling.scope.words(),
        None if limit.ceilings.len() == 1 && ceiling.scope.words().is_empty() => String::new(),
        None => format!("{} (the product type is not stated)", ceiling.scope.words()),
    }
}
