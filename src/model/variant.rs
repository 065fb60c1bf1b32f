//! Variants: the parent's lines with the changes made.

use super::formula::VariantOf;
use crate::block::{Amount, Change, FormulaBlock, LineBlock, PhaseBlock, Placed};
use crate::report::{Finding, Place, echo, kind, suggestion};

/// A block with its parents' lines put in. `None` for a block that could not be worked out; why is in the findings.
///
/// `find` gives the block of an id; `ids` all ids, for suggestions. Parents are followed to any depth; a circle is an error
/// that names its path.
pub fn expand<'b>(
    block: &FormulaBlock,
    find: &dyn Fn(&str) -> Option<&'b FormulaBlock>,
    ids: &dyn Fn() -> Vec<String>,
) -> (Option<(FormulaBlock, Option<VariantOf>)>, Vec<Finding>) {
    let Some(based_on) = &block.based_on else { return (Some((block.clone(), None)), Vec::new()) };
    let mut findings = Vec::new();
    let mut chain: Vec<&FormulaBlock> = Vec::new();
    let mut path = vec![block.id.value.clone()];
    let mut next = Some(based_on);
    while let Some(parent_id) = next {
        path.push(parent_id.value.clone());
        if path.iter().filter(|id| **id == parent_id.value).count() > 1 {
            if parent_id.value != block.id.value {
                findings.push(parent_failed(based_on));
                return (None, findings);
            }
            let circle = path.join(" → ");
            findings.push(Finding::new(
                kind::VARIANT_CIRCLE,
                based_on.place.clone(),
                format!("`{}` is based on itself: {circle}.", echo(&parent_id.value)),
            ));
            return (None, findings);
        }
        let Some(parent) = find(&parent_id.value) else {
            // Only the block that names the missing parent reports it.
            if chain.is_empty() {
                let known: Vec<String> = ids().into_iter().filter(|id| *id != block.id.value).collect();
                findings.push(
                    Finding::new(
                        kind::UNKNOWN_PARENT,
                        parent_id.place.clone(),
                        format!("There is no formula `{}` to be based on.", echo(&parent_id.value)),
                    )
                    .mend(suggestion(
                        &parent_id.value,
                        known.iter().map(String::as_str),
                        kind::UNKNOWN_PARENT.mend,
                    )),
                );
            } else {
                findings.push(parent_failed(based_on));
            }
            return (None, findings);
        };
        chain.push(parent);
        next = parent.based_on.as_ref();
    }
    let Some(root) = chain.pop() else { return (None, findings) };
    let mut result = root.clone();
    for child in chain.iter().rev() {
        // Mistakes in a parent's own changes are reported with the parent.
        result = apply(&result, child, &mut Vec::new()).0;
    }
    let (mut result, changes) = apply(&result, block, &mut findings);
    // Lines taken over stand in the parent's notebook; what is found about them in this formula is said at `based-on`.
    let own = |place: &Place| place.path == block.place.path && block.place.span.contains(&place.span.start);
    for phase in &mut result.phases {
        for line in &mut phase.lines {
            if !own(&line.material.place) {
                line.material.place = based_on.place.clone();
                line.amount.place = based_on.place.clone();
            }
        }
        if let Some(hold) = &mut phase.hold
            && !own(&hold.place)
        {
            hold.place = based_on.place.clone();
        }
    }
    if let Some(ph) = &mut result.ph
        && !own(&ph.place)
    {
        ph.place = based_on.place.clone();
    }
    (Some((result, Some(VariantOf { id: based_on.value.clone(), changes }))), findings)
}

/// The note for a variant that is stopped by what is wrong with its parent.
pub(crate) fn parent_failed(based_on: &Placed<String>) -> Finding {
    Finding::new(
        kind::PARENT_FAILED,
        based_on.place.clone(),
        format!("`{}` has errors, so this variant was not computed.", echo(&based_on.value)),
    )
}

/// The child's own statements over the parent's, then its changes; the changes in words.
fn apply(parent: &FormulaBlock, child: &FormulaBlock, findings: &mut Vec<Finding>) -> (FormulaBlock, Vec<String>) {
    let mut result = FormulaBlock {
        place: child.place.clone(),
        id: child.id.clone(),
        title: child.title.clone().or_else(|| parent.title.clone()),
        product: child.product.clone().or_else(|| parent.product.clone()),
        version: child.version.clone(),
        date: child.date.clone(),
        note: child.note.clone(),
        batch: child.batch.clone().or_else(|| parent.batch.clone()),
        density: child.density.clone().or_else(|| parent.density.clone()),
        ph: child.ph.clone().or_else(|| parent.ph.clone()),
        balance: child.balance.clone().or_else(|| parent.balance.clone()),
        based_on: child.based_on.clone(),
        changes: Vec::new(),
        phases: parent.phases.clone(),
        broken: parent.broken || child.broken,
    };
    let mut words = Vec::new();
    for change in &child.changes {
        change_phase(&mut result.phases, change, findings, &mut words);
    }
    for phase in &child.phases {
        if result.phases.iter().any(|known| known.key.value == phase.key.value) {
            findings.push(
                Finding::new(
                    kind::NOTHING_TO_CHANGE,
                    phase.key.place.clone(),
                    format!("The parent already has a phase {}.", echo(&phase.key.value)),
                )
                .mend(format!("To change it write `[change.{}]`; a new phase needs another letter.", phase.key.value)),
            );
            continue;
        }
        words.push(format!("phase {} added", phase.key.value));
        result.phases.push(phase.clone());
    }
    result.phases.retain(|phase| !phase.lines.is_empty());
    (result, words)
}

fn change_phase(phases: &mut [PhaseBlock], change: &Change, findings: &mut Vec<Finding>, words: &mut Vec<String>) {
    let key = &change.phase.value;
    let keys: Vec<String> = phases.iter().map(|phase| phase.key.value.clone()).collect();
    let Some(phase) = phases.iter_mut().find(|phase| phase.key.value == *key) else {
        findings.push(
            Finding::new(
                kind::NOTHING_TO_CHANGE,
                change.phase.place.clone(),
                format!("The parent has no phase {}.", echo(key)),
            )
            .mend(format!("Its phases are {}; a new phase is written as `[phase.{key}]`.", keys.join(", "))),
        );
        return;
    };
    for line in &change.lines {
        let known = phase.lines.iter().position(|old| old.material.value == line.material.value);
        let name = &line.material.value;
        match (known, &line.amount.value) {
            (Some(index), Amount::Drop) => {
                phase.lines.remove(index);
                words.push(format!("{name} dropped"));
            }
            (None, Amount::Drop) => {
                let names: Vec<&str> = phase.lines.iter().map(|old| old.material.value.as_str()).collect();
                findings.push(
                    Finding::new(
                        kind::NOTHING_TO_CHANGE,
                        line.material.place.clone(),
                        format!("Phase {} of the parent has no `{}` to drop.", echo(key), echo(name)),
                    )
                    .mend(suggestion(name, names.iter().copied(), kind::NOTHING_TO_CHANGE.mend)),
                );
            }
            (Some(index), _) => {
                if let Some(old) = phase.lines.get_mut(index) {
                    words.push(match (amount_words(&old.amount), amount_words(&line.amount)) {
                        (Some(from), Some(to)) if from != to => format!("{name} {to} instead of {from}"),
                        _ if line.lot.is_some() && line.lot != old.lot => {
                            format!("{name} of lot {}", line.lot.as_deref().unwrap_or_default())
                        }
                        _ => format!("{name} changed"),
                    });
                    *old = merged(old, line);
                }
            }
            (None, _) => {
                words.push(match amount_words(&line.amount) {
                    Some(amount) => format!("{name} {amount} added"),
                    None => format!("{name} added"),
                });
                phase.lines.push(line.clone());
            }
        }
    }
}

/// The changed line; what it does not say stays as the parent has it.
fn merged(old: &LineBlock, new: &LineBlock) -> LineBlock {
    LineBlock {
        material: new.material.clone(),
        amount: new.amount.clone(),
        // A new lot has its own strength; the old lot's says nothing of it.
        strength: new.strength.clone().or_else(|| old.strength.clone().filter(|_| new.lot.is_none())),
        lot: new.lot.clone().or_else(|| old.lot.clone()),
        note: new.note.clone().or_else(|| old.note.clone()),
        to: new.to.clone().or_else(|| old.to.clone()),
    }
}

fn amount_words(amount: &Placed<Amount>) -> Option<String> {
    match &amount.value {
        Amount::Percent(percent) => Some(format!("{}\u{a0}%", percent.value())),
        Amount::Balance => Some("q.s. to 100".to_owned()),
        Amount::Effect { .. } => Some("q.s.".to_owned()),
        Amount::Mass { mass, .. } => Some(format!("{}\u{a0}g", mass.grams())),
        Amount::Parts(parts) => Some(format!("{parts}\u{a0}parts")),
        Amount::Volume(volume) => Some(volume.text.clone()),
        Amount::Drop | Amount::Unknown => None,
    }
}
