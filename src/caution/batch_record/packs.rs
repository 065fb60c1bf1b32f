//! What was weighed out against what the packs declare.

use super::{RecordCase, grams};
use crate::compute::BatchRecord;
use crate::quantity::{Decimal, Mass};
use crate::report::{Finding, Kind, Severity, echo};

pub(super) const SHORT: &Kind = &Kind {
    name: "packs-filled-short",
    severity: Severity::Caution,
    summary: "Packs that on average hold less than they declare.",
    why: "Whoever takes a pack goes by what stands on it; single packs may be short by a little, the average of a batch may not.",
    mend: "Weigh some packs against the empty one. Correct the `yield` where it is a slip; fill up what is short, or declare less.",
};

/// The average of the packs against what the formula declares. What was made by another version of it may have had other packs.
pub(super) fn filled_short(record: &BatchRecord, case: &RecordCase<'_>) -> Option<Finding> {
    let (filled, packs, average) = (record.filled?, record.packs?, record.per_pack()?);
    let (declared, written) = record.pack_content.as_ref().filter(|_| !record.is_of_another_version())?;
    if filled.grams() + record.readability().grams() >= declared.grams() * packs {
        return None;
    }
    let average = Mass::from_grams(average.grams().round_dp(record.planned.sheet.decimals()));
    let each = if packs == Decimal::ONE { "pack" } else { "packs" };
    let is = if *written == grams(*declared) { String::new() } else { format!(", which are {}", grams(*declared)) };
    let what = format!(
        "{} was weighed out in {packs} {each}, {} in each on average, and a pack declares {}{is}.",
        grams(filled),
        grams(average),
        echo(written),
    );
    let place =
        case.block.filled.as_ref().map_or_else(|| case.block.formula.place.clone(), |filled| filled.place.clone());
    Some(Finding::new(SHORT, place, what).source("Council Directive 76/211/EEC, Annex I, 1.1"))
}
