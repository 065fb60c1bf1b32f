//! What has to be bought: the raw materials of formulas and kits put together, less what is in the cupboard, in whole packs.
//!
//! Everything is exact; nothing unknown is free, and a raw material without a known pack is bought by weight. Where an amount is not certain, the list
//! takes the upper end: of a line that was written as a volume, and of a dose to effect as far as the reserve says it.

mod figures;
mod packs;

use super::{AddressFault, Computed, Figure, Kit, NoPrice, needs_of};
use crate::block::ShoppingListBlock;
use crate::material::{Material, NotCounted};
use crate::model::{Rate, Settings};
use crate::quantity::{Currency, Date, Decimal, Mass, Money, Percent};
pub use packs::{Packs, Purchase};
use std::collections::BTreeMap;
use std::sync::Arc;

/// What a list is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ListWanted {
    /// What is taken on top of what is weighed.
    pub overage: Percent,
    /// What is taken on top of what is dosed to effect.
    pub dose_reserve: Percent,
    /// Whether what is in the cupboard is taken off.
    pub stock: bool,
    /// The ids of raw materials that are not bought.
    pub not_bought: Vec<String>,
    /// The day for which it is reckoned.
    pub date: Option<Date>,
}

impl From<&ShoppingListBlock> for ListWanted {
    fn from(block: &ShoppingListBlock) -> ListWanted {
        ListWanted {
            overage: block.overage,
            dose_reserve: block.dose_reserve,
            stock: block.stock,
            not_bought: block.not_bought.iter().map(|id| id.value.clone()).collect(),
            date: block.date,
        }
    }
}

/// Something that is made.
#[derive(Clone, Copy, Debug)]
pub enum Made<'a> {
    /// A batch of a formula.
    Batch(&'a Computed, Mass),
    /// A kit by its id, with the overage and the reserve that it has itself.
    Kit(&'a str, &'a Kit),
}

/// A shopping list, worked out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShoppingList {
    /// What is made.
    pub made: Vec<MadeEntry>,
    /// What it was asked for.
    pub wanted: ListWanted,
    /// The raw materials, each once, in the order in which they are met.
    pub lines: Vec<ListLine>,
    /// The currency of the collection.
    pub currency: Option<Currency>,
    /// Decimals of the finest balance of the formulas, for weights.
    pub decimals: u32,
}

/// Something that is made, as the list names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MadeEntry {
    /// The id of the formula or kit.
    pub id: String,
    /// Its batch; nothing for a kit.
    pub batch: Option<Mass>,
}

/// A raw material on the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ListLine {
    /// The raw material.
    pub material: Arc<Material>,
    /// What is needed of it, by what it is for.
    pub shares: Vec<ListShare>,
    /// How much is in the cupboard.
    pub in_stock: Mass,
    /// What is in the cupboard and does not count, as written, and why.
    pub not_counted: Vec<(String, NotCounted)>,
    /// Whether it is bought at all.
    pub is_bought: bool,
    /// What is bought, or why no pack is known.
    pub purchase: Result<Purchase, NoPrice>,
}

/// What one thing that is made needs of a raw material.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ListShare {
    /// The id of the formula or kit.
    pub of: String,
    /// How much, with everything on top.
    pub mass: Mass,
    /// Whether some of it is dosed to effect.
    pub dosed: bool,
    /// Whether a reserve for that is in it.
    pub reserve: bool,
    /// Whether it is the upper end of an amount that is not certain.
    pub upper: bool,
}

impl ListLine {
    /// How much is needed.
    pub fn needed(&self) -> Mass {
        self.shares.iter().map(|share| share.mass).sum()
    }

    /// How much has to be bought.
    pub fn to_buy(&self) -> Mass {
        let missing = self.needed() - self.in_stock;
        if missing > Mass::ZERO && self.is_bought { missing } else { Mass::ZERO }
    }

    /// The packs to buy; none where nothing has to be bought, or no pack is known.
    pub fn packs(&self) -> Option<&Purchase> {
        self.purchase.as_ref().ok().filter(|_| self.to_buy() > Mass::ZERO)
    }

    /// Why what it costs is not known, where something has to be bought.
    pub fn no_pack(&self) -> Option<NoPrice> {
        self.purchase.as_ref().err().copied().filter(|_| self.to_buy() > Mass::ZERO)
    }

    /// What is then left in the cupboard when all is made; nothing where it is not known what will be bought.
    pub fn left_over(&self) -> Option<Mass> {
        if !self.is_bought {
            return None;
        }
        let bought = match self.to_buy() > Mass::ZERO {
            true => self.packs()?.content(),
            false => Mass::ZERO,
        };
        Some(self.in_stock + bought - self.needed())
    }
}

impl ShoppingList {
    /// Works a list out.
    pub fn of(made: &[Made<'_>], wanted: ListWanted, settings: &Settings) -> ShoppingList {
        let mut lines: Vec<(Arc<Material>, Vec<ListShare>)> = Vec::new();
        let mut add = |material: &Arc<Material>, share: ListShare| match lines
            .iter_mut()
            .find(|(known, _)| known.id == material.id)
        {
            Some((_, shares)) => shares.push(share),
            None => lines.push((Arc::clone(material), vec![share])),
        };
        let share_of = |percent: Percent| percent.value() / Decimal::ONE_HUNDRED;
        let used = Decimal::ONE + share_of(wanted.overage);
        let mut decimals = 0;
        for one in made {
            match one {
                Made::Batch(computed, batch) => {
                    decimals = decimals.max(computed.sheet.decimals());
                    for need in needs_of(&computed.formula, *batch, used) {
                        let reserve = need.dosed.unwrap_or_default().grams() * share_of(wanted.dose_reserve);
                        let share = ListShare {
                            of: computed.formula.id.clone(),
                            mass: need.mass + need.more + Mass::from_grams(reserve),
                            dosed: need.dosed.is_some(),
                            reserve: reserve > Decimal::ZERO,
                            upper: need.more > Mass::ZERO,
                        };
                        add(&need.material, share);
                    }
                }
                Made::Kit(id, kit) => {
                    decimals = decimals.max(kit.decimals);
                    for total in &kit.totals {
                        let (of, dosed) = ((*id).to_owned(), total.dosed > Mass::ZERO);
                        let reserve = dosed && kit.dose_reserve > Percent::ZERO;
                        add(&total.material, ListShare { of, mass: total.total, dosed, reserve, upper: false });
                    }
                }
            }
        }
        let made = made.iter().map(|one| match one {
            Made::Batch(computed, batch) => MadeEntry { id: computed.formula.id.clone(), batch: Some(*batch) },
            Made::Kit(id, _) => MadeEntry { id: (*id).to_owned(), batch: None },
        });
        ShoppingList {
            made: made.collect(),
            lines: lines.into_iter().map(|(material, shares)| line(material, shares, &wanted, settings)).collect(),
            wanted,
            currency: settings.currency,
            decimals,
        }
    }

    /// What the packs cost in each currency in which they are paid.
    pub fn sums(&self) -> BTreeMap<Currency, Money> {
        let mut sums = BTreeMap::new();
        for money in self.lines.iter().filter_map(|line| Some(line.packs()?.cost())) {
            let sum = sums.entry(money.currency()).or_insert_with(|| Money::zero(money.currency()));
            *sum = sum.plus(money).unwrap_or(*sum);
        }
        sums
    }

    /// The currency in which all is added up: that of the collection, or the only one in which something is paid.
    pub fn sum_currency(&self) -> Option<Currency> {
        let sums = self.sums();
        self.currency.or_else(|| sums.keys().next().copied().filter(|_| sums.len() == 1))
    }

    /// What all costs that is known, and whether that is all; nothing where there is no currency to add it up in.
    pub fn cost(&self) -> Option<(Money, bool)> {
        let currency = self.sum_currency()?;
        let mut sum = Money::zero(currency);
        let mut is_whole = self.lines.iter().all(|line| line.no_pack().is_none());
        for purchase in self.lines.iter().filter_map(ListLine::packs) {
            match purchase.in_currency(currency).and_then(|money| sum.plus(money)) {
                Some(more) => sum = more,
                None => is_whole = false,
            }
        }
        Some((sum, is_whole))
    }

    /// The rates that were used, by their currencies.
    pub fn rates(&self) -> BTreeMap<Currency, Rate> {
        let purchases = self.lines.iter().filter_map(ListLine::packs);
        purchases.filter_map(|purchase| Some((purchase.cost().currency(), purchase.converted?.1?))).collect()
    }

    /// The day against which the age of prices is held: that of the list, and without one that of the newest price in it.
    pub fn reference_day(&self) -> Option<Date> {
        let packs = self.lines.iter().filter_map(ListLine::packs).flat_map(|purchase| &purchase.packs);
        self.wanted.date.or_else(|| packs.map(|packs| packs.listed.date).max())
    }

    /// The addresses below the block's id.
    pub fn addresses(&self) -> Vec<String> {
        figures::addresses(self)
    }

    /// The figure at a path below the block's id; nothing where there is none of that path.
    pub fn look_up(&self, id: &str, path: &[&str]) -> Option<Result<Figure, AddressFault>> {
        figures::look_up(self, id, path)
    }
}

fn line(material: Arc<Material>, shares: Vec<ListShare>, wanted: &ListWanted, settings: &Settings) -> ListLine {
    let mut in_stock = Mass::ZERO;
    let mut not_counted = Vec::new();
    let is_bought = !wanted.not_bought.iter().any(|id| *id == material.id || material.also.contains(id));
    for stock in material.stocks.iter().filter(|_| wanted.stock && is_bought) {
        match stock.mass_on(wanted.date, &material) {
            Ok(mass) => in_stock = in_stock + mass,
            Err(why) => not_counted.push((stock.amount_text.clone(), why)),
        }
    }
    let missing = shares.iter().map(|share| share.mass).sum::<Mass>() - in_stock;
    let purchase = packs::choose(&material, missing, wanted.date, settings);
    ListLine { material, shares, in_stock, not_counted, is_bought, purchase }
}
