//! The product as it was made, judged like any formula; only what differs from the plan is said.

use super::RecordCase;
use crate::caution::{Case, examine, lot};
use crate::compute::{BatchRecord, Computed, Declaration, Group};
use crate::model::Formula;
use crate::report::{Finding, Kind, Place, Severity};

pub(super) const GONE: &Kind = &Kind {
    name: "not-so-as-weighed",
    severity: Severity::Note,
    summary: "Something that is to be said of the formula and not of this batch.",
    why: "The weights of this batch differ from the plan in its favour; the next one follows the plan again.",
    mend: "Look whether the formula should be as this batch was.",
};

pub(super) const DECLARATION: &Kind = &Kind {
    name: "declared-otherwise-as-weighed",
    severity: Severity::Note,
    summary: "A batch whose list of ingredients is not that of its formula.",
    why: "A label holds for what is in the pack.",
    mend: "Compare the two lists before this batch is labelled.",
};

/// What is said of every formula with such materials, or only of what is still to be weighed.
const NOT_OF_BATCHES: [&str; 3] = ["handle-with-care", "poorly-weighed", "over-limit-as-weighed"];

/// Whether something can be said of a batch that was made, beside what is said of the formula it was made by.
pub fn is_of_batches(finding: &Finding) -> bool {
    let of_lots = lot::KINDS.iter().any(|kind| kind.name == finding.kind.name);
    !NOT_OF_BATCHES.contains(&finding.kind.name) && !of_lots
}

pub(super) fn examine_as_made(record: &BatchRecord, case: &RecordCase<'_>) -> Vec<Finding> {
    let Some(actual) = &record.actual else { return Vec::new() };
    let found = |formula: &Formula| {
        let computed = Computed::new(numbered(formula));
        let case = Case { computed: &computed, catalogue: case.catalogue, settings: case.settings };
        let mut findings = examine(&case);
        findings.retain(is_of_batches);
        findings
    };
    let (before, now) = (found(&record.planned.formula), found(&actual.formula));
    let is_in = |finding: &Finding, others: &[Finding]| {
        others.iter().any(|other| other.kind.name == finding.kind.name && other.place == finding.place)
    };
    let at_record = |mut finding: Finding, words: &str| {
        finding.what = format!("{words}: {}", finding.what);
        let line = record.lines.get(finding.place.span.start);
        finding.place = line.map_or_else(|| case.block.formula.place.clone(), |line| line.place.clone());
        finding.more.clear();
        finding
    };
    let gained = now.iter().filter(|finding| !is_in(finding, &before)).cloned();
    let mut findings: Vec<Finding> = gained.map(|finding| at_record(finding, "As weighed")).collect();
    let lost = before.iter().filter(|finding| !is_in(finding, &now) && finding.severity() != Severity::Note);
    findings.extend(lost.cloned().map(|finding| {
        let moved = at_record(finding, "As weighed this does not hold");
        Finding { kind: GONE, why: None, mend: None, source: None, ..moved }
    }));
    if let Some((made, planned)) =
        record.declarations.as_ref().map(|(made, planned)| (in_order(made), in_order(planned)))
        && made != planned
    {
        let what = format!(
            "As weighed the list of ingredients is another than that of the formula: {}.",
            difference(&planned, &made)
        );
        findings.push(Finding::new(DECLARATION, case.block.formula.place.clone(), what));
    }
    findings
}

/// The formula with the index of each line in the place of its place, so that findings about two formulas can be compared.
fn numbered(formula: &Formula) -> Formula {
    let path = std::sync::Arc::from("");
    let at = |index: usize| Place { path: std::sync::Arc::clone(&path), span: index..index };
    let whole = at(usize::MAX);
    let mut formula = formula.clone();
    let mut index = 0;
    for phase in &mut formula.phases {
        if let Some((_, place)) = &mut phase.hold {
            *place = whole.clone();
        }
        for line in &mut phase.lines {
            (line.place, line.amount_place) = (at(index), at(index));
            index += 1;
        }
    }
    formula.ph_place = formula.ph_place.map(|_| whole.clone());
    (formula.place, formula.id_place) = (whole.clone(), whole);
    formula
}

/// The names of a declaration, those whose order is free in alphabetical order.
fn in_order(declaration: &Declaration) -> Vec<String> {
    let of =
        |group: Group| declaration.ingredients.iter().filter(move |one| one.group == group).map(|one| one.name.clone());
    let mut names: Vec<String> = of(Group::Ordered).collect();
    for group in [Group::Free, Group::Colour] {
        let mut free: Vec<String> = of(group).collect();
        free.sort();
        names.extend(free);
    }
    names
}

/// What is first another in two lists, or what one of them has alone.
fn difference(planned: &[String], made: &[String]) -> String {
    let new: Vec<&str> = made.iter().filter(|name| !planned.contains(name)).map(String::as_str).collect();
    let gone: Vec<&str> = planned.iter().filter(|name| !made.contains(name)).map(String::as_str).collect();
    let mut words: Vec<String> = Vec::new();
    if !new.is_empty() {
        words.push(format!("{} in it", new.join(", ")));
    }
    if !gone.is_empty() {
        words.push(format!("{} not in it", gone.join(", ")));
    }
    let first = planned.iter().zip(made).find(|(left, right)| left != right);
    if let (true, Some((left, right))) = (words.is_empty(), first) {
        words.push(format!("{right} comes before {left}"));
    }
    words.join("; ")
}
