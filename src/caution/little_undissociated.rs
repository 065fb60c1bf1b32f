//! Weak acids as the only preservatives, and too little of them left undissociated at the stated pH.

use super::{Case, Caution};
use crate::compute::{SHARE_SOURCE, rests_on_weak_acids, weak_acids};
use crate::quantity::show;
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

const KIND: &Kind = &Kind {
    name: "little-undissociated",
    severity: Severity::Note,
    summary: "Weak acids that leave less undissociated than their least usual dose does.",
    why: "Only the undissociated form of an acid preserves. The figure is an estimate for water at 25 °C: surfactants and oils take a share away as well.",
    mend: "Lower the pH specification or raise the dose within its limit; only a challenge test shows that a preservative holds.",
};

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    let Some(ph) = formula.ph else { return };
    if !rests_on_weak_acids(case.computed, case.catalogue) {
        return;
    }
    let acids = weak_acids(case.computed, case.catalogue);
    // Several acids work together; one that leaves enough, or of which nothing is known, leaves nothing to say.
    if acids.is_empty() || !acids.iter().all(crate::compute::WeakAcid::leaves_little) {
        return;
    }
    let high = ph.high.value();
    let words: Vec<String> = acids
        .iter()
        .filter_map(|acid| {
            let (share, least) = (acid.share?, acid.least.as_ref()?);
            Some(format!(
                "{} of {}, where {} of `{}` leaves {} at pH {}",
                show::percent((acid.dose.high * share.low).round_dp(6)),
                acid.acid,
                show::percent(least.percent),
                least.material,
                show::percent(least.left.round_dp(6)),
                least.ph
            ))
        })
        .collect();
    let what = format!("At pH {high} `{}` leaves undissociated {}.", case.id(), words.join("; "));
    let mut sources: Vec<String> = vec![SHARE_SOURCE.to_owned()];
    for least in acids.iter().filter_map(|acid| acid.least.as_ref()) {
        if !sources.contains(&least.source) {
            sources.push(least.source.clone());
        }
    }
    let place = formula.ph_place.clone().unwrap_or_else(|| formula.id_place.clone());
    findings.push(Finding::new(KIND, place, what).source(sources.join("; ")));
}
