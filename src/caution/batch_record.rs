//! Batch records that contradict their formula or themselves, weights outside of their tolerance, readings outside of the specification, and what the product as it
//! was made is to be cautioned for.

mod as_made;
mod packs;
mod papers;

use super::handling;
use super::lot::of_lot;
use super::titration::{NOT_STATED, WITHOUT_LINE};
use crate::block::{BatchRecordBlock, PhReading};
use crate::compute::{BatchRecord, RecordFault, RecordLine, Stage, ends_of};
use crate::material::Catalogue;
use crate::model::Settings;
use crate::quantity::{Decimal, Mass, MassUnit, Ph, show};
use crate::report::{Finding, Kind, Place, Severity, echo, kind, list, suggestion};
pub use as_made::is_of_batches;
pub use papers::number_twice;

pub(super) const KINDS: &[&Kind] = &[
    BESIDE,
    WHICH_LINE,
    LOT_OF_NOTHING,
    TOO_MUCH,
    BEFORE_MADE,
    papers::BEFORE_MADE,
    papers::RELEASED,
    papers::NO_REASON,
    papers::NUMBER_TWICE,
    NOTHING,
    OUTSIDE,
    OFF_SPECIFICATION,
    MISSING,
    DOSE,
    DISAGREES,
    PUT_BACK,
    ABOVE_ALL,
    packs::SHORT,
    packs::LEFT_OVER,
    BLANK,
    COARSE,
    VERSION,
    as_made::GONE,
    as_made::DECLARATION,
];

const BESIDE: &Kind = &Kind {
    name: "weighed-beside-formula",
    severity: Severity::Error,
    summary: "A batch record that names something the formula does not hold.",
    why: "A weight without a line would be missing from the product as it was made.",
    mend: "Correct the name. What was really added besides is a `[[top-up]]`.",
};

const WHICH_LINE: &Kind = &Kind {
    name: "which-line-was-weighed",
    severity: Severity::Error,
    summary: "A weight for a raw material that stands on several lines, or two weights for one line.",
    why: "The weight could belong to any of them.",
    mend: "Put the phase before the name: `\"B/water\" = \"30.2 g\"`. Several weighings of one line are a list.",
};

const LOT_OF_NOTHING: &Kind = &Kind {
    name: "lot-of-nothing-weighed",
    severity: Severity::Error,
    summary: "A lot in `lots` of a raw material of which every weighing names another.",
    why: "Who traces the lot would not find this batch, or find it and look for what was never in it.",
    mend: "Take the wrong one away. Where both went in, write what was weighed of each: `[{ weight = \"100 g\", lot = \"A\" }, { weight = \"50 g\", lot = \"B\" }]`.",
};

const TOO_MUCH: &Kind = &Kind {
    name: "lost-more-than-there-was",
    severity: Severity::Error,
    summary: "A loss that is larger than what was in the vessel.",
    why: "What was not there cannot leave.",
    mend: "Correct the weight or the phase after which it was. Steam is of water where the loss does not name another raw material: `of = \"ethanol-96\"`.",
};

const BEFORE_MADE: &Kind = &Kind {
    name: "read-before-made",
    severity: Severity::Error,
    summary: "A reading from a day before the batch was made.",
    why: "One of the two dates is a slip, and it is not said which.",
    mend: "Correct the `date` of the reading or of the record.",
};

const NOTHING: &Kind = &Kind {
    name: "nothing-weighed",
    severity: Severity::Error,
    summary: "A batch record without any weight.",
    why: "It would say nothing of what was made.",
    mend: "Write what was weighed in `[weighed]`, say `rest = \"as planned\"`, or `blank = true` for a record to be filled in by hand.",
};

const OUTSIDE: &Kind = &Kind {
    name: "weighed-outside-tolerance",
    severity: Severity::Caution,
    summary: "A weight that is farther from the plan than the tolerance allows.",
    why: "The product is not the one that the formula describes; what was computed for the plan need not hold for it.",
    mend: "Look at what is said of the product as it was made, and decide whether the batch is kept. Correct the record only where the number is a slip of the pen.",
};

const OFF_SPECIFICATION: &Kind = &Kind {
    name: "ph-outside-specification",
    severity: Severity::Caution,
    summary: "A batch whose last pH lies outside of its specification.",
    why: "What depends on the pH, preservation first of all, was planned for the specification.",
    mend: "Correct the batch in small steps, let it rest, read again and note both.",
};

const MISSING: &Kind = &Kind {
    name: "weights-missing",
    severity: Severity::Question,
    summary: "A batch record that does not say what was weighed of some lines.",
    why: "What is not noted is not known, so there is no total and no product as it was made.",
    mend: "Note the weights, or say `rest = \"as planned\"` if these lines were weighed to plan.",
};

const DOSE: &Kind = &Kind {
    name: "dose-not-noted",
    severity: Severity::Question,
    summary: "A dose to effect of which only the usual amount is taken.",
    why: "It is found by measuring, so no plan says what was added.",
    mend: "Write down what it took, in `[weighed]`.",
};

const DISAGREES: &Kind = &Kind {
    name: "vessel-disagrees",
    severity: Severity::Question,
    summary: "A vessel that does not weigh what went into it.",
    why: "Something left it that is not noted, stayed in another vessel, or a weight is a slip.",
    mend: "Note what was lost (`[[loss]]`), put steam back (`[[top-up]]`), or correct the weight that is wrong.",
};

const PUT_BACK: &Kind = &Kind {
    name: "put-back-more-than-left",
    severity: Severity::Question,
    summary: "A top-up that is larger than all that is known to have left.",
    why: "What is more than the loss thins the product, the preservative too.",
    mend: "Weigh the vessel before the top-up (`[[gross]]` with `after`), or note the loss.",
};

const ABOVE_ALL: &Kind = &Kind {
    name: "yield-above-all",
    severity: Severity::Question,
    summary: "More weighed out than there was.",
    why: "A batch does not grow. A tare was forgotten, or a number is a slip.",
    mend: "Correct the `yield`, or the weights that went in.",
};

const BLANK: &Kind = &Kind {
    name: "blank-with-weights",
    severity: Severity::Question,
    summary: "A record to be filled in by hand that says what was weighed or read.",
    why: "A blank record shows none of it, and nothing of it is reckoned with.",
    mend: "Take `blank` away if the batch was made, and what was weighed if it was not.",
};

pub(super) const COARSE: &Kind = &Kind {
    name: "ph-reading-too-coarse",
    severity: Severity::Question,
    summary: "A reading of the pH that cannot tell whether the specification is met.",
    why: "The pH that was read may lie anywhere within half a step of the meter or strip.",
    mend: "Read with a finer meter, and say its step: `resolution = \"0.01\"`.",
};

const VERSION: &Kind = &Kind {
    name: "made-by-another-version",
    severity: Severity::Caution,
    summary: "A batch that was made by another version of the formula than the present one.",
    why: "The plan beside the record, and with it every deviation, is that of the formula as it stands now.",
    mend: "Keep the old version as a formula of its own, and let the record name that one.",
};

/// What is missing in a vessel is asked about from this share of it on, %. Common practice, no source.
const DISAGREEMENT: Decimal = Decimal::from_parts(5, 0, 0, false, 1);

/// What a record is judged with.
#[derive(Clone, Copy)]
pub struct RecordCase<'a> {
    /// The block as written.
    pub block: &'a BatchRecordBlock,
    /// Where it stands.
    pub place: &'a Place,
    /// Materials, limits and hazards.
    pub catalogue: &'a Catalogue,
    /// Rule sets and the like.
    pub settings: &'a Settings,
}

/// A weight as it is printed in sentences.
pub(super) fn grams(mass: Mass) -> String {
    let grams = crate::quantity::round_half_even(mass.grams(), 4).normalize();
    show::mass_in(Mass::from_grams(grams), MassUnit::Gram, grams.scale())
}

/// The findings for a record that cannot be worked out.
pub fn record_faults(
    faults: &[RecordFault],
    case: &RecordCase<'_>,
    lines: &[String],
    phases: &[String],
) -> Vec<Finding> {
    let home = || case.block.formula.place.clone();
    let formula = echo(&case.block.formula.value);
    let finding = |fault: &RecordFault| match fault {
        RecordFault::NoLine(name, what) => {
            let bare = name.value.rsplit_once('/').map_or(name.value.as_str(), |(_, bare)| bare);
            let what = format!("`{formula}` has no line `{}` for this {what}.", echo(&name.value));
            let known = format!("Its lines are {}.", list(lines, "and"));
            Finding::new(BESIDE, name.place.clone(), what).mend(suggestion(
                bare,
                lines.iter().map(String::as_str),
                &known,
            ))
        }
        RecordFault::WhichLine(name, keys) => {
            let names: Vec<String> = keys.iter().map(|key| format!("{key}/{}", echo(&name.value))).collect();
            let what = format!("`{}` stands in the phases {} of `{formula}`.", echo(&name.value), list(keys, "and"));
            Finding::new(WHICH_LINE, name.place.clone(), what)
                .mend(format!("Write {} in quotation marks.", list(&names, "or")))
        }
        RecordFault::Twice(name) => {
            let what = format!("There is already a weight for the line of `{}`.", echo(&name.value));
            Finding::new(WHICH_LINE, name.place.clone(), what)
                .mend(format!("Write several weighings as a list: `{} = [\"500 g\", \"20.4 g\"]`.", echo(&name.value)))
        }
        RecordFault::LotOfNothing(name, lot, other) => {
            let (name, number) = (echo(&name.value), echo(&lot.value));
            let (instead, also) = match other {
                Some((other, place)) => (format!("lot {} is named where it was weighed", echo(other)), Some(place)),
                None => ("other lots are named where it was weighed".to_owned(), None),
            };
            let what = format!("Lot {number} of `{name}` stands in `lots`, and {instead}.");
            let finding = Finding::new(LOT_OF_NOTHING, lot.place.clone(), what);
            match also {
                Some(place) => finding.also_at(place.clone(), "the other lot"),
                None => finding,
            }
        }
        RecordFault::NoPhase(name) => {
            let what = format!("`{formula}` has no phase `{}`.", echo(&name.value));
            let known = phases.iter().map(|key| format!("phase {key}")).collect::<Vec<_>>();
            Finding::new(kind::UNKNOWN_REFERENCE, name.place.clone(), what)
                .mend(format!("Write {}, or leave `after` out for the end.", list(&known, "or")))
        }
        RecordFault::NoTare(place) => {
            let what = "The vessel was weighed full, and what it weighs empty is not noted.";
            Finding::new(kind::MISSING_KEY, place.clone(), what).mend("Write `tare = \"612.4 g\"`.")
        }
        RecordFault::TareAboveGross(gross, tare) => {
            let (full, empty) = (grams(gross.value), grams(tare.value));
            let what = format!("The empty vessel weighs {empty}, more than the {full} with what is in it.");
            Finding::new(kind::WRONG_VALUE, gross.place.clone(), what)
                .mend("One of the two weights is of another vessel, or a slip of the point: look at both.")
                .also_at(tare.place.clone(), "the empty vessel")
        }
        RecordFault::LostTooMuch(weight, there) => {
            let what = format!("{} left, and {} of it was there.", grams(weight.value), grams(*there));
            Finding::new(TOO_MUCH, weight.place.clone(), what)
        }
        RecordFault::NoMaterial(name) => {
            let what = format!("`{}` is not a raw material that is known here.", echo(&name.value));
            let known = lines.iter().map(String::as_str).chain(case.catalogue.ids());
            Finding::new(kind::UNKNOWN_MATERIAL, name.place.clone(), what).mend(suggestion(
                &name.value,
                known,
                kind::UNKNOWN_MATERIAL.mend,
            ))
        }
        RecordFault::BeforeMade(read, made) => {
            let what = format!("This was read on {}, and the batch was made on {made}.", read.value);
            Finding::new(BEFORE_MADE, read.place.clone(), what)
        }
        RecordFault::DecidedBefore(decided, made) => papers::decided_before(decided, *made),
        RecordFault::Nothing => {
            Finding::new(NOTHING, home(), format!("Nothing was weighed for this batch of `{formula}`."))
        }
    };
    faults.iter().map(finding).collect()
}

/// Everything that is to be said about a record.
pub fn examine_batch_record(record: &BatchRecord, case: &RecordCase<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    findings.extend(version(record, case));
    if record.is_blank {
        findings.extend(filled_in(case.block));
        // It is taken to the bench without the sheet of its formula.
        findings.extend(handling::of_formula(&record.planned.formula, case.catalogue, &case.block.formula.place));
        return findings;
    }
    findings.extend(missing(record, case));
    for line in &record.lines {
        findings.extend(outside(record, line));
        if line.effect.is_some() && line.is_as_planned {
            let what = format!(
                "It is not noted how much `{}` it took; the usual {} is counted.",
                echo(&line.key),
                grams(line.planned)
            );
            findings.push(Finding::new(DOSE, line.place.clone(), what));
        }
        for part in &line.lots {
            let Some(number) = &part.number else { continue };
            let place = part.place.as_ref().unwrap_or(&line.place);
            findings.extend(of_lot(&line.material, number, record.date, place));
        }
    }
    findings.extend(in_vessel(record, case));
    findings.extend(yielded(record, case));
    findings.extend(packs::filled_short(record, case));
    findings.extend(packs::left_over(record, case));
    findings.extend(record.last_ph().and_then(|reading| ph_of(record, reading)));
    findings.extend(record.last_ph().filter(|one| one.reading.is_none() && record.planned.formula.ph.is_some()).map(
        |one| {
            let what = "It is not said whether this pH was read in the product itself or in a dilution.";
            Finding::new(NOT_STATED, one.ph.place.clone(), what)
                .mend("Write `dilution = \"10 %\"`, or `dilution = \"neat\"`.")
        },
    ));
    let as_made = as_made::examine_as_made(record, case);
    let release = papers::examine_release(record, &findings, &as_made);
    findings.extend(as_made);
    findings.extend(release);
    findings
}

fn version(record: &BatchRecord, case: &RecordCase<'_>) -> Option<Finding> {
    let made_by = case.block.version.as_ref()?;
    if !record.is_of_another_version() {
        return None;
    }
    let id = echo(&record.formula);
    let now = match &record.version {
        Some(version) => format!("`{id}` is now version {}", echo(version)),
        None => format!("`{id}` states no version"),
    };
    let rest = if case.block.rest_as_planned { " What was weighed as planned then is not known any more." } else { "" };
    let what = format!("This batch was made by version {}, and {now}.{rest}", echo(&made_by.value));
    Some(Finding::new(VERSION, made_by.place.clone(), what).source("common practice, no source"))
}

fn missing(record: &BatchRecord, case: &RecordCase<'_>) -> Option<Finding> {
    // That the plan of another version is not known is said by itself.
    if case.block.rest_as_planned && record.is_of_another_version() {
        return None;
    }
    let names: Vec<String> =
        record.lines.iter().filter(|line| line.weighed.is_none()).map(|line| echo(&line.key)).collect();
    let (first, more) = names.split_at_checked(4).filter(|(_, more)| more.len() > 1).unwrap_or((&names, &[]));
    let names = match (first, more) {
        ([], _) => return None,
        (first, []) => list(first, "and"),
        (first, more) => format!(
            "{} and {} more lines",
            first.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", "),
            more.len()
        ),
    };
    Some(Finding::new(
        MISSING,
        case.block.formula.place.clone(),
        format!("It is not noted what was weighed of {names}."),
    ))
}

fn outside(record: &BatchRecord, line: &RecordLine) -> Option<Finding> {
    if !line.is_outside(record.tolerance, record.readability()) {
        return None;
    }
    let (weighed, deviation) = (line.weighed?, line.deviation()?);
    let more = if deviation > Mass::ZERO { "more" } else { "less" };
    let by = Mass::from_grams(deviation.grams().abs());
    let share = line
        .deviation_percent()
        .map_or(String::new(), |percent| format!(" ({})", show::percent(percent.value().abs())));
    let what = format!(
        "`{}` weighs {}, {}{share} {more} than the {} planned; {} is allowed.",
        echo(&line.key),
        grams(weighed),
        grams(by),
        grams(line.planned),
        show::percent(record.tolerance.percent.value())
    );
    Some(Finding::new(OUTSIDE, line.place.clone(), what).source(record.tolerance.source))
}

fn in_vessel(record: &BatchRecord, case: &RecordCase<'_>) -> Vec<Finding> {
    let Some(account) = &record.account else { return Vec::new() };
    let mut findings: Vec<Finding> = Vec::new();
    for (index, stage) in account.stages.iter().enumerate() {
        let place = case.block.gross.iter().filter(|one| one.after.is_some() == stage.after.is_some());
        let place = place.filter(|one| one.weight.value == stage.gross).map(|one| one.weight.place.clone()).next();
        let place = place.or_else(|| Some(case.block.gross.get(index)?.weight.place.clone()));
        findings.extend(disagrees(
            stage,
            record.readability(),
            place.unwrap_or_else(|| case.block.formula.place.clone()),
        ));
    }
    for one in &account.foreign {
        let place = case.block.top_ups.iter().find(|top_up| top_up.with.value.trim() == one.material.id);
        let place = place.map_or_else(|| case.block.formula.place.clone(), |top_up| top_up.with.place.clone());
        let what = format!(
            "`{}` has no line for `{}`, which was added to this batch.",
            echo(&record.formula),
            echo(&one.material.id)
        );
        findings.push(
            Finding::new(WITHOUT_LINE, place.clone(), what).because(
                "It is counted in the product as it was made, and in nothing that is computed for the formula.",
            ),
        );
        if let Some(lot) = &one.lot {
            findings.extend(of_lot(&one.material, lot, record.date, &place));
        }
    }
    let put_back: Mass = case.block.top_ups.iter().map(|one| one.weight.value).sum();
    let foreign = Mass::from_grams(account.foreign.iter().map(|one| one.amount * account.scale).sum());
    let surplus = put_back - foreign - account.lost();
    if surplus.grams() > record.readability().grams() * Decimal::TWO
        && let Some(first) = case.block.top_ups.first()
    {
        let left = if account.lost() == Mass::ZERO { "nothing".to_owned() } else { grams(account.lost()) };
        let what = format!("{} was put back, and {left} is known to have left.", grams(put_back - foreign));
        findings.push(Finding::new(PUT_BACK, first.weight.place.clone(), what));
    }
    findings
}

fn disagrees(stage: &Stage, readability: Mass, place: Place) -> Option<Finding> {
    let missing = stage.missing.grams();
    if stage.is_topped_up && missing > Decimal::ZERO {
        return None;
    }
    // Each weighing may be off by a step, and so may the two of the vessel.
    let steps = Decimal::from(stage.n_weighings + 2) * readability.grams();
    let allowed = (stage.expected.grams() * DISAGREEMENT / Decimal::ONE_HUNDRED).max(steps);
    if missing.abs() <= allowed {
        return None;
    }
    let when =
        stage.after.as_ref().map_or_else(|| "At the end".to_owned(), |phase| format!("After phase {}", echo(phase)));
    let more = if missing > Decimal::ZERO { "less" } else { "more" };
    let what = format!(
        "{when} the vessel holds {}, {} {more} than the {} that should be in it.",
        grams(stage.content),
        grams(Mass::from_grams(missing.abs())),
        grams(stage.expected)
    );
    let finding = Finding::new(DISAGREES, place, what).source("asked about from 0.5 % on: common practice, no source");
    Some(match missing > Decimal::ZERO {
        true => finding,
        false => finding
            .because("A vessel does not hold more than went into it.")
            .mend("Look at the tare first, then at the weights; a line that was weighed twice is twice in the batch."),
    })
}

fn yielded(record: &BatchRecord, case: &RecordCase<'_>) -> Option<Finding> {
    let filled = record.filled?;
    let of_account = record.account.as_ref().map(|account| account.end().map_or(account.content(), |end| end.content));
    let (there, words) = match of_account {
        Some(there) => (there, "was in the vessel"),
        None => (record.planned_batch(), "was planned"),
    };
    if filled.grams() <= there.grams() + record.readability().grams() {
        return None;
    }
    let what = format!("{} was weighed out, and {} {words}.", grams(filled), grams(there));
    let place =
        case.block.filled.as_ref().map_or_else(|| case.block.formula.place.clone(), |filled| filled.place.clone());
    Some(Finding::new(ABOVE_ALL, place, what))
}

/// What a record that is to be filled in by hand says already, at the first of it.
fn filled_in(block: &BatchRecordBlock) -> Option<Finding> {
    let weighed = block.weighed.iter().filter(|line| !line.portions.is_empty()).map(|line| &line.place);
    let on_balance = block.gross.iter().map(|one| &one.weight.place);
    let went = block.losses.iter().map(|one| &one.weight.place);
    let put_back = block.top_ups.iter().map(|one| &one.weight.place);
    let filled = block.filled.iter().map(|filled| &filled.place);
    let read = block.ph.iter().map(|one| &one.ph.place);
    let released = block.release.iter().map(|release| &release.decision.place);
    let all = weighed.chain(on_balance).chain(went).chain(put_back).chain(filled).chain(read).chain(released);
    let first = all.min_by_key(|place| (place.path.clone(), place.span.start))?;
    Some(Finding::new(
        BLANK,
        first.clone(),
        "This record is to be filled in by hand, and it says already what came of it.",
    ))
}

/// The last reading against the specification: outside as a whole, or perhaps.
fn ph_of(record: &BatchRecord, reading: &PhReading) -> Option<Finding> {
    let stated = record.planned.formula.ph?;
    let (least, most) = (stated.low.value(), stated.high.value());
    let specification = show::ends(least, most);
    let place = reading.ph.place.clone();
    let ph = Ph::value(reading.ph.value);
    let Some((low, high)) = ends_of(reading) else {
        let what = format!(
            "pH {ph} was read on a strip, and the step of its scale is not stated; the specification is {specification}."
        );
        return Some(Finding::new(COARSE, place, what));
    };
    let span = show::ends(low, high);
    if high < least || most < low {
        let what = format!("The last reading is pH {ph}, that is {span}, and the specification is {specification}.");
        let source = format!("the specification of {}", echo(&record.formula));
        return Some(Finding::new(OFF_SPECIFICATION, place, what).source(source));
    }
    // One value as a specification is met as well as the meter can tell.
    if (least <= low && high <= most) || least == most {
        return None;
    }
    let what = format!(
        "The last reading is pH {ph}, which may be anything from {low} to {high}; the specification is {specification}."
    );
    Some(Finding::new(COARSE, place, what))
}
