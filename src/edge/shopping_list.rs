//! `shopping-list`: what has to be bought for batches and kits that are named on the command line, or for a list that stands in a notebook; as text, CSV or
//! JSON.

mod print;

use super::errata::today;
use super::publish::{load, opened};
use super::{Outcome, Terminal};
use crate::block::{STALE_AFTER, ShoppingListBlock};
use crate::caution::examine_shopping_list;
use crate::collection::{Collection, SETTINGS_PATH};
use crate::compute::{Answer, Computed, ListWanted, ShoppingList, read_batch_size};
use crate::page::{Hrefs, block_context, finding_context};
use crate::quantity::{Date, Mass, Percent};
use crate::report::{Place, echo, suggestion};
use print::{as_csv, as_text};
use std::path::Path;

/// The form of a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum ListFormat {
    /// A table to read.
    Text,
    /// Comma-separated values (RFC 4180), one row for each raw material.
    Csv,
    /// The list with all figures, workings and findings.
    Json,
}

/// What is asked for, as typed. What is not said comes from the written list, where one is named.
#[derive(Clone, Copy, Debug, Default)]
pub struct Shopping<'a> {
    /// Formulas and kits, or one written list, by id.
    pub ids: &'a [String],
    /// Batches: `first-wash=2kg`.
    pub batches: &'a [String],
    /// What is taken on top of what is weighed.
    pub overage: Option<Percent>,
    /// What is taken on top of what is dosed to effect.
    pub dose_reserve: Option<Percent>,
    /// Whether what is in the cupboard is left out of account.
    pub without_stock: bool,
    /// Raw materials that are not bought.
    pub not_bought: &'a [String],
    /// The day for which it is reckoned.
    pub date: Option<Date>,
    /// So many days old a price may be on that day.
    pub stale_after: Option<u32>,
}

/// What is to be made, and how the list is reckoned.
struct Order<'a> {
    /// The id of the written list, or empty.
    id: &'a str,
    make: Vec<(&'a str, Option<Mass>)>,
    wanted: ListWanted,
    stale_after: u32,
}

/// What an id stands for.
enum Named<'a> {
    Formula(&'a Computed),
    Kit,
    List(&'a ShoppingListBlock, &'a ShoppingList),
}

/// Why there is no list.
enum Refusal {
    /// Each thing that cannot be done as it was typed.
    Typed(Vec<String>),
    /// Errors in the notebooks stand against it.
    Errors(String),
}

/// Prints what has to be bought.
pub fn shopping_list(asked: Shopping<'_>, root: &Path, format: ListFormat, terminal: &Terminal) -> Outcome {
    let Some(folder) = opened(root, terminal) else { return Outcome::CouldNotRun };
    let collection = load(&folder, terminal);
    let order = match asked.order(&collection, root) {
        Ok(order) => order,
        Err(Refusal::Typed(reasons)) => {
            reasons.iter().for_each(|reason| terminal.refuse(reason));
            return Outcome::CouldNotRun;
        }
        Err(Refusal::Errors(reason)) => {
            terminal.complain(&Terminal::findings_text(&collection.errors(), &collection));
            terminal.complain(&reason);
            return Outcome::Findings;
        }
    };
    let Some(list) = collection.list_of(&order.make, order.wanted) else { return Outcome::CouldNotRun };
    // What is found is printed without its place: the list need not stand in a notebook.
    let findings = examine_shopping_list(&list, order.stale_after, &Place::start_of(&SETTINGS_PATH.into()));
    // A price or stock that was not understood is missing in the list, and whoever goes shopping has to know.
    let outside = collection.errors_outside();
    if !outside.is_empty() {
        terminal.complain(&Terminal::findings_text(&outside, &collection));
        terminal.complain("These errors may concern prices and stock; what was not understood is not in the list.");
    }
    match format {
        ListFormat::Text => terminal.say(&as_text(&list, order.id, &findings)),
        ListFormat::Csv => terminal.say(&as_csv(&list)),
        ListFormat::Json => {
            let contexts = findings.iter().map(|finding| finding_context(finding, None)).collect();
            let nowhere = |_: &str| String::new();
            let hrefs = Hrefs { sheet: &nowhere, material: &nowhere, bench: &nowhere, lot: &|_, _| String::new() };
            let list = block_context(&Answer::ShoppingList(Box::new(list)), order.id, contexts, hrefs);
            let document = serde_json::json!({ "schema": "tarebook shopping list 1", "list": list });
            terminal.say(&serde_json::to_string_pretty(&document).unwrap_or_default());
        }
    }
    if outside.is_empty() { Outcome::Clean } else { Outcome::Findings }
}

impl<'a> Shopping<'a> {
    /// What it comes to, or everything that is wrong with it.
    fn order(self, collection: &'a Collection, root: &Path) -> Result<Order<'a>, Refusal> {
        let (mut make, mut lists, mut faults) = (Vec::new(), Vec::new(), Vec::new());
        let typed = self.typed(&mut faults);
        for (id, size) in &typed {
            match (named(id, collection, root), size) {
                (Err(Refusal::Errors(reason)), _) => return Err(Refusal::Errors(reason)),
                (Err(Refusal::Typed(reasons)), _) => faults.extend(reasons),
                (Ok(Named::List(block, list)), None) => lists.push((*id, block, list)),
                (Ok(Named::List(..)), Some(_)) => {
                    faults.push(format!("`{id}` is a shopping list and has its own batches; name it without a size"));
                }
                (Ok(Named::Kit), Some(_)) => {
                    faults.push(format!("`{id}` is a kit and has its own batches; name it without a size"));
                }
                (Ok(Named::Formula(_)), Some(_)) if typed.contains(&(id, None)) => {
                    faults.push(format!("`{id}` is named with a size and without one; take one of the two away"));
                }
                (Ok(Named::Formula(computed)), Some(size)) => match read_batch_size(size, computed.formula.density) {
                    Ok(mass) => make.push((*id, Some(mass))),
                    Err(why) => faults.push(format!("the batch of `{id}` is not understood: {why}")),
                },
                (Ok(Named::Formula(_) | Named::Kit), None) => make.push((*id, None)),
            }
        }
        faults.extend(self.not_bought.iter().filter_map(|id| unknown_material(id, collection)));
        if let Some((id, ..)) = lists.first().filter(|_| typed.len() > 1) {
            faults.push(format!("`{id}` is a shopping list; print it alone, or name what it makes"));
        }
        let has_formula = make.iter().any(|(id, _)| collection.formula(id).is_some());
        if self.overage.or(self.dose_reserve).is_some() && lists.is_empty() && !make.is_empty() && !has_formula {
            faults
                .push("a kit has an `overage` and a `dose-reserve` of its own; these options are for formulas".into());
        }
        if !faults.is_empty() {
            return Err(Refusal::Typed(faults));
        }
        Ok(self.with_options(match lists.first() {
            Some((id, block, list)) => Order {
                id,
                make: list.made.iter().map(|one| (one.id.as_str(), one.batch)).collect(),
                wanted: list.wanted.clone(),
                stale_after: block.stale_after,
            },
            None => {
                let (none, date) = (Percent::ZERO, Some(self.date.unwrap_or_else(today)));
                let wanted =
                    ListWanted { overage: none, dose_reserve: none, stock: true, not_bought: Vec::new(), date };
                Order { id: "", make, wanted, stale_after: STALE_AFTER }
            }
        }))
    }

    /// The ids with the sizes that were typed to them.
    fn typed(self, faults: &mut Vec<String>) -> Vec<(&'a str, Option<&'a str>)> {
        if let ([only], [size]) = (self.ids, self.batches)
            && !size.contains('=')
        {
            // As `weigh` has it: the size of the one that is named.
            return vec![(only, Some(size))];
        }
        let mut typed: Vec<_> = self.ids.iter().map(|id| (id.as_str(), None)).collect();
        for text in self.batches {
            match text.split_once('=').map(|(id, size)| (id.trim(), size.trim())) {
                Some((id, size)) if !id.is_empty() && !size.is_empty() => typed.push((id, Some(size))),
                _ => {
                    let text = echo(text);
                    faults.push(format!(
                        "`--batch {text}` does not say of which formula how much is made; write `--batch first-wash=2kg`"
                    ));
                }
            }
        }
        if typed.is_empty() && faults.is_empty() {
            faults.push(
                "it is not said what is made; write `--batch first-wash=2kg`, or the id of a formula, kit or shopping list"
                    .to_owned(),
            );
        }
        typed
    }

    /// An order with what was typed in the place of what the list says.
    fn with_options(self, mut order: Order<'a>) -> Order<'a> {
        let wanted = &mut order.wanted;
        wanted.overage = self.overage.unwrap_or(wanted.overage);
        wanted.dose_reserve = self.dose_reserve.unwrap_or(wanted.dose_reserve);
        wanted.stock &= !self.without_stock;
        wanted.date = self.date.or(wanted.date);
        if !self.not_bought.is_empty() {
            wanted.not_bought = self.not_bought.to_vec();
        }
        order.stale_after = self.stale_after.unwrap_or(order.stale_after);
        order
    }
}

/// What an id stands for, or why it cannot be put on a list.
fn named<'a>(id: &str, collection: &'a Collection, root: &Path) -> Result<Named<'a>, Refusal> {
    if let Some(computed) = collection.formula(id) {
        return Ok(Named::Formula(computed));
    }
    match (collection.answer(id), collection.written_list(id)) {
        (Some(Answer::Kit(_)), _) => return Ok(Named::Kit),
        (Some(Answer::ShoppingList(list)), Some(block)) => return Ok(Named::List(block, list)),
        (Some(_), _) => {
            let what = format!("`{id}` is neither a formula nor a kit nor a shopping list");
            return Err(Refusal::Typed(vec![what]));
        }
        (None, _) => {}
    }
    if collection.ids().any(|known| known == id) {
        return Err(Refusal::Errors(format!("`{id}` has errors, so there is nothing to buy yet.")));
    }
    let name = echo(id);
    if collection.has_errors() {
        let what =
            format!("There is no formula, kit or shopping list `{name}`, but there are errors that may hide it.");
        return Err(Refusal::Errors(what));
    }
    if let Some((id, size)) = id.split_once('=') {
        return Err(Refusal::Typed(vec![format!("`{name}` is no id; write `--batch {}={}`", echo(id), echo(size))]));
    }
    let is_list = |id: &&str| matches!(collection.answer(id), Some(Answer::Kit(_) | Answer::ShoppingList(_)));
    let known: Vec<&str> = collection.ids().filter(|id| collection.formula(id).is_some() || is_list(id)).collect();
    let root = root.display();
    let all = match known.as_slice() {
        [] => format!("There is nothing to make in {root}; --in names another collection."),
        known => format!("Formulas, kits and shopping lists in {root}: {}.", known.join(", ")),
    };
    let hint = suggestion(id, known, &all);
    Err(Refusal::Typed(vec![format!("there is no formula, kit or shopping list `{name}`. {hint}")]))
}

fn unknown_material(id: &str, collection: &Collection) -> Option<String> {
    let catalogue = collection.catalogue();
    if catalogue.material(id).is_some() {
        return None;
    }
    let hint = suggestion(id, catalogue.ids(), "`tarebook explain materials` lists them.");
    Some(format!("there is no raw material `{}`. {hint}", echo(id)))
}
