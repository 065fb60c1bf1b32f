//! Shopping lists and the kits of classes: the formulas that they name, each for its batch.

use super::Collection;
use crate::block::{Block, Body, KitBlock, MakeBlock, Measured, ShoppingListBlock};
use crate::caution::{examine_kit, examine_shopping_list};
use crate::compute::{Answer, Computed, Kit, ListWanted, Made, ShoppingList, for_batch};
use crate::quantity::Mass;
use crate::report::{Finding, echo, kind, suggestion};

impl Collection {
    /// A list that stands in no notebook: of formulas, each with its batch where that is not its own, and of kits, by their ids. `None` when one of them is
    /// not computed.
    pub fn list_of(&self, make: &[(&str, Option<Mass>)], wanted: ListWanted) -> Option<ShoppingList> {
        let made: Option<Vec<Made<'_>>> = make
            .iter()
            .map(|(id, batch)| match self.answer(id) {
                Some(Answer::Kit(kit)) => Some(Made::Kit(id, kit)),
                _ => {
                    let computed = self.formula(id)?;
                    Some(Made::Batch(computed, batch.unwrap_or(computed.formula.batch.mass)))
                }
            })
            .collect();
        Some(ShoppingList::of(&made?, wanted, &self.settings))
    }

    /// What the `shopping-list` block of an id says.
    pub fn written_list(&self, id: &str) -> Option<&ShoppingListBlock> {
        let (path, index) = self.blocks.get(id)?;
        match &self.entries.get(path)?.notebook.blocks.get(*index)?.body {
            Some(Body::ShoppingList(list)) => Some(list),
            _ => None,
        }
    }

    /// A shopping list of formulas and kits.
    pub(super) fn shopping_list(
        &self,
        block: &Block,
        wanted: &ShoppingListBlock,
        findings: &mut Vec<Finding>,
    ) -> Option<ShoppingList> {
        // All that cannot be made is said at once.
        let made: Vec<Option<Made<'_>>> = wanted
            .make
            .iter()
            .map(|one| {
                if one.is_kit {
                    return self.kit_for(block, one, findings).map(|kit| Made::Kit(&one.id.value, kit));
                }
                let computed = self.formula_for(block, &one.id, findings)?;
                Some(Made::Batch(computed, batch_of(one, computed, findings)?))
            })
            .collect();
        let known: Vec<bool> = wanted.not_bought.iter().map(|id| self.material_for(id, findings).is_some()).collect();
        let made: Vec<Made<'_>> = made.into_iter().collect::<Option<_>>()?;
        if known.contains(&false) {
            return None;
        }
        let list = ShoppingList::of(&made, ListWanted::from(wanted), &self.settings);
        let first = wanted.make.first()?;
        findings.extend(examine_shopping_list(&list, wanted.stale_after, &first.id.place));
        Some(list)
    }

    fn kit_for(&self, block: &Block, one: &MakeBlock, findings: &mut Vec<Finding>) -> Option<&Kit> {
        let id = &one.id.value;
        let (kind, what, mend) = match self.answer(id) {
            Some(Answer::Kit(kit)) => return Some(kit),
            None if self.blocks.contains_key(id) => {
                let what = format!("`{}` has errors, so this {} was not computed.", echo(id), block.word);
                (kind::REFERENCE_FAILED, what, None)
            }
            None if !self.formulas.contains_key(id) => {
                let mend = suggestion(id, self.ids_of("kit"), "Give the `kit` block an `id`, and name that.");
                (kind::UNKNOWN_REFERENCE, format!("There is no kit `{}`.", echo(id)), Some(mend))
            }
            _ => {
                let mend = "Name a kit by its id, or write `formula` in the place of `kit`.".to_owned();
                (kind::UNKNOWN_REFERENCE, format!("`{}` is no kit.", echo(id)), Some(mend))
            }
        };
        let finding = Finding::new(kind, one.id.place.clone(), what);
        findings.push(match mend {
            Some(mend) => finding.mend(mend),
            None => finding,
        });
        None
    }

    /// A kit, with its formulas computed for what a table makes.
    pub(super) fn kit(&self, block: &Block, wanted: &KitBlock, findings: &mut Vec<Finding>) -> Option<Kit> {
        let parts: Vec<Option<Computed>> = wanted
            .make
            .iter()
            .map(|one| {
                let computed = self.formula_for(block, &one.id, findings)?;
                Some(for_batch(computed, batch_of(one, computed, findings)?))
            })
            .collect();
        let parts: Vec<Computed> = parts.into_iter().collect::<Option<_>>()?;
        let kit = Kit::of(&parts, wanted.tables, wanted.overage, wanted.dose_reserve);
        findings.extend(examine_kit(&parts, wanted, &self.catalogue, &self.settings));
        Some(kit)
    }
}

/// The batch of an entry as a weight; a volume needs the density of the product.
fn batch_of(one: &MakeBlock, computed: &Computed, findings: &mut Vec<Finding>) -> Option<Mass> {
    let formula = &computed.formula;
    let Some(batch) = &one.batch else { return Some(formula.batch.mass) };
    match (batch.value, formula.density) {
        (Measured::Mass(mass), _) => Some(mass),
        (Measured::Volume(volume), Some(density)) => Some(density.mass_of(volume)),
        (Measured::Volume(_), None) => {
            let what = format!("The batch is by volume, and the density of `{}` is not given.", echo(&formula.id));
            findings.push(Finding::new(kind::NEEDS_DENSITY, batch.place.clone(), what).mend(
                "Measure it at 20 °C, and write `density = \"1.02 g/ml\"` in the formula; or give the batch by weight.",
            ));
            None
        }
    }
}
