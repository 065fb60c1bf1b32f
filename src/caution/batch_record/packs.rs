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

pub(super) const LEFT_OVER: &Kind = &Kind {
    name: "packs-disagree-with-yield",
    severity: Severity::Question,
    summary: "Packs that do not hold what was weighed out, although the rest would have filled another one.",
    why: "The packs were filled with more than the formula says, or one of the numbers is a slip; the label states what the formula says.",
    mend: "Correct the number of `packs` or the `weight`, or weigh a pack.",
};

/// Packs of the formula's fill that leave more than another one would hold. The tolerance of the record is allowed.
pub(super) fn left_over(record: &BatchRecord, case: &RecordCase<'_>) -> Option<Finding> {
    let (filled, packs) = (record.filled?, record.packs?);
    let (pack, _) = record.pack_content.as_ref().filter(|_| !record.is_of_another_version())?;
    let in_packs = Mass::from_grams(pack.grams() * packs);
    let allowed = record.tolerance.percent.of(filled.grams()) + record.readability().grams();
    if filled.grams() - in_packs.grams() <= pack.grams() + allowed {
        return None;
    }
    let what = format!(
        "{} was weighed out, and {} packs of `{}` hold {}, {} each.",
        grams(filled),
        packs.normalize(),
        echo(&record.planned.formula.id),
        grams(in_packs),
        grams(*pack)
    );
    let place = case.block.filled.as_ref().map_or(&case.block.formula.place, |filled| &filled.place);
    Some(Finding::new(LEFT_OVER, place.clone(), what).source(record.tolerance.source))
}
