//! Whether the preservatives of a formula together keep bacteria, yeasts and moulds down.

use super::water_without_preservative::needs_preserving;
use super::{Case, Caution};
use crate::material::{Cover, Coverage, Vocabulary};
use crate::model::Line;
use crate::quantity::Decimal;
use crate::report::{Finding, Kind, Severity, list};

pub(super) const CAUTION: Caution = Caution { kinds: &[GAP, THIN, UNKNOWN], examine };

const GAP: &Kind = &Kind {
    name: "cover-has-gap",
    severity: Severity::Caution,
    summary: "A product with water whose preservatives leave bacteria, yeasts or moulds a gap.",
    why: "Germs that one preservative leaves alone have the product to themselves. Broad cover needs something good against each group.",
    mend: "Add a preservative that is good against the group named, inside its dose and pH.",
};

const THIN: &Kind = &Kind {
    name: "cover-is-thin",
    severity: Severity::Note,
    summary: "A product with water whose preservatives are only weak against yeasts, or only weak against moulds.",
    why: "They are the slower growers, but they come with the first dirty finger.",
    mend: "Add something good against the group named, inside its dose and pH, or stay at the upper end of the dose.",
};

const UNKNOWN: &Kind = &Kind {
    name: "cover-unknown",
    severity: Severity::Question,
    summary: "A product with water whose preservatives are not known to cover bacteria, yeasts and moulds.",
    why: "Cover that is not known is not there.",
    mend: "Say in the material's entry what it keeps down: `covers = { bacteria = \"good\", yeast = \"good\", mould = \"weak\" }`.",
};

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    if !needs_preserving(case) {
        return;
    }
    let there = |line: &&Line| formula.percent(line).value() > Decimal::ZERO;
    let preservatives: Vec<&Line> =
        formula.lines().filter(there).filter(|line| line.material.serves_as("preservative")).collect();
    // Without any preservative that is said already.
    if preservatives.is_empty() {
        return;
    }
    let helpers = formula.lines().filter(there).filter(|line| line.material.covers.is_some());
    let covers: Vec<(&Line, &Cover)> =
        helpers.filter_map(|line| Some((line, line.material.covers.as_ref()?))).collect();
    let mut open: Vec<(&str, bool, bool)> = Vec::new();
    for (index, name) in ["bacteria", "yeasts", "moulds"].into_iter().enumerate() {
        let known: Vec<Coverage> = covers
            .iter()
            .filter_map(|(_, cover)| cover.groups().get(index).and_then(|(_, coverage)| *coverage))
            .collect();
        if known.contains(&Coverage::Good) {
            continue;
        }
        let all_known = preservatives.iter().all(|line| {
            let cover = line.material.covers.as_ref();
            cover.is_some_and(|cover| cover.groups().get(index).is_some_and(|(_, coverage)| coverage.is_some()))
        });
        open.push((name, all_known, known.contains(&Coverage::Weak)));
    }
    let gaps: Vec<&str> = open.iter().filter(|(_, known, _)| *known).map(|(name, _, _)| *name).collect();
    let place = || preservatives.first().map_or_else(|| formula.id_place.clone(), |line| line.place.clone());
    if !gaps.is_empty() {
        let each: Vec<String> =
            covers.iter().map(|(line, cover)| format!("`{}`: {}", line.written, words(cover))).collect();
        let mut sources: Vec<String> = Vec::new();
        for source in covers.iter().filter_map(|(_, cover)| cover.source.as_ref()) {
            let source = source.line();
            if !sources.contains(&source) {
                sources.push(source);
            }
        }
        // One of the two slower groups that something is at least weak against is worth knowing; bacteria, or more than one group, is a gap.
        let weak = |name: &str| open.iter().any(|(group, _, is_weak)| *group == name && *is_weak);
        let is_thin = matches!(gaps.as_slice(), [only] if *only != "bacteria" && weak(only));
        let kind = if is_thin { THIN } else { GAP };
        let what = format!("Nothing here is good against {} ({}).", joined(&gaps), each.join("; "));
        findings.push(Finding::new(kind, place(), what).source(sources.join("; ")));
    } else if let Some(unknown) = (!open.is_empty()).then(|| {
        let is_open = |line: &&&Line| {
            line.material.covers.as_ref().is_none_or(|cover| cover.groups().iter().any(|(_, one)| one.is_none()))
        };
        preservatives.iter().filter(is_open).map(|line| line.written.as_str()).collect::<Vec<_>>()
    }) {
        let groups: Vec<&str> = open.iter().map(|(name, _, _)| *name).collect();
        let what = format!("Whether {} keeps {} down is not known.", list(&unknown, "and"), joined(&groups));
        findings.push(Finding::new(UNKNOWN, place(), what));
    }
}

fn words(cover: &Cover) -> String {
    let group = |(name, coverage): (&str, Option<Coverage>)| {
        format!("{name} {}", coverage.map_or("not known", Vocabulary::word))
    };
    cover.groups().map(group).join(", ")
}

fn joined(names: &[&str]) -> String {
    match names.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_owned(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}
