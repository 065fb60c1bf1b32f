//! Lots of raw materials: past their date, due for a test, used before they came, or not on the list of the cupboard.

use super::{Case, Caution};
use crate::material::{Lot, Material};
use crate::quantity::{Date, Range, show};
use crate::report::{Finding, Kind, Place, Severity, echo, suggestion};

pub(super) const CAUTION: Caution = Caution { kinds: KINDS, examine };

pub(super) const KINDS: &[&Kind] = &[EXPIRED, BEFORE_RECEIVED, STRENGTH, RETEST, NOT_LISTED];

pub(super) const EXPIRED: &Kind = &Kind {
    name: "expired-lot",
    severity: Severity::Caution,
    summary: "A lot that was used after its expiry date.",
    why: "Nobody vouches for its strength, its purity or its germs any more.",
    mend: "Ask the supplier or a qualified assessor before the batch is used; take another lot next time.",
};

const BEFORE_RECEIVED: &Kind = &Kind {
    name: "used-before-received",
    severity: Severity::Question,
    summary: "A lot that was used before the day on which it came.",
    why: "One of the dates or the lot number is a slip; whoever traces the lot would miss this batch or find a wrong one.",
    mend: "Look at the label on the drum, and correct the record or the material file.",
};

const STRENGTH: &Kind = &Kind {
    name: "lot-of-two-strengths",
    severity: Severity::Question,
    summary: "A line whose strength is not the one that the list of lots has for its lot.",
    why: "One certificate states one strength; the line's own is reckoned with until this is settled.",
    mend: "Correct one of the two, or leave the strength of the line out: then that of the lot holds.",
};

const RETEST: &Kind = &Kind {
    name: "retest-due",
    severity: Severity::Note,
    summary: "A lot that was used after the date on which it had to be tested again.",
    why: "A retest date is no expiry date: the lot may be good, and nobody has looked.",
    mend: "Test it or look it over, and note the new date in the material file.",
};

const NOT_LISTED: &Kind = &Kind {
    name: "lot-not-listed",
    severity: Severity::Note,
    summary: "A lot that the material file does not list, although it lists others.",
    why: "Its papers and dates cannot be found from here.",
    mend: "Add it as `[[material.NAME.lot]]`, or correct the number.",
};

/// What is to be said of a lot that was used on a day.
pub(super) fn of_lot(material: &Material, number: &str, date: Option<Date>, place: &Place) -> Vec<Finding> {
    let Some(lot) = material.lot(number) else { return not_listed(material, number, place).into_iter().collect() };
    let (name, id) = (echo(number), echo(&material.id));
    let Some(date) = date else { return Vec::new() };
    let mut findings = Vec::new();
    if let Some(expires) = lot.expires.filter(|_| lot.is_expired_on(date)) {
        let what = format!("Lot `{name}` of `{id}` expired on {expires}, and was used on {date}.");
        let source = format!("expiry date in {}", lot.file);
        findings.push(Finding::new(EXPIRED, place.clone(), what).source(source));
    } else if let Some(retest) = lot.retest.filter(|_| lot.is_due_on(date)) {
        let what = format!("Lot `{name}` of `{id}` had to be tested again by {retest}, and was used on {date}.");
        findings.push(Finding::new(RETEST, place.clone(), what));
    }
    if let Some(received) = lot.received.filter(|received| date < *received) {
        let what = format!("Lot `{name}` of `{id}` came on {received}, and was used on {date}.");
        findings.push(Finding::new(BEFORE_RECEIVED, place.clone(), what));
    }
    findings
}

fn not_listed(material: &Material, number: &str, place: &Place) -> Option<Finding> {
    if material.lots.is_empty() || material.lot(number).is_some() {
        return None;
    }
    let what = format!("Lot `{}` of `{}` is not on the list of its lots.", echo(number), echo(&material.id));
    let known = material.lots.iter().map(|lot| lot.number.as_str());
    Some(Finding::new(NOT_LISTED, place.clone(), what).mend(suggestion(number, known, NOT_LISTED.mend)))
}

/// Lots on the lines of a formula. A formula has no date, so nothing is said of dates.
fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for (_, line) in case.lines() {
        let Some(number) = &line.lot else { continue };
        findings.extend(not_listed(&line.material, number, &line.place));
        let of_lot: Option<(&Lot, Range)> = line.material.lot(number).and_then(|lot| Some((lot, lot.strength?)));
        if let Some((lot, listed)) = of_lot
            && let Some(own) = line.strength.filter(|own| *own != listed)
        {
            let shown = |range: Range| show::ends(range.low.normalize(), range.high.normalize());
            let what = format!(
                "`{}` says {}{}%, and {} has {}{}% for lot `{}`.",
                echo(&line.written),
                shown(own),
                show::NBSP,
                lot.file,
                shown(listed),
                show::NBSP,
                echo(number)
            );
            findings.push(Finding::new(STRENGTH, line.place.clone(), what));
        }
    }
}
