//! Which packs are bought: of those of the latest day with a price, the ones that reach what is missing for the least money.

use super::super::NoPrice;
use crate::material::{Material, Price};
use crate::model::{Rate, Settings};
use crate::quantity::{Currency, Date, Decimal, Mass, Money};

/// So many packs of one size.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Packs {
    /// How many.
    pub count: Decimal,
    /// The pack with its price.
    pub listed: Price,
    /// What is in one.
    pub pack: Mass,
}

/// What is bought of a raw material: packs of one size, or of two; all in one currency.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Purchase {
    /// The packs, the larger ones first.
    pub packs: Vec<Packs>,
    cost: Money,
    /// What they cost in the currency of the collection, with the rate where there was need of one.
    pub converted: Option<(Money, Option<Rate>)>,
}

impl Purchase {
    /// What all packs hold.
    pub fn content(&self) -> Mass {
        Mass::from_grams(self.packs.iter().map(|packs| packs.pack.grams() * packs.count).sum())
    }

    /// What they cost, in the currency in which they are paid, with the postage.
    pub fn cost(&self) -> Money {
        self.cost
    }

    /// What they cost in a currency: their own, or that of the collection where a rate is known.
    pub fn in_currency(&self, currency: Currency) -> Option<Money> {
        let converted = self.converted.map(|(money, _)| money);
        std::iter::once(self.cost).chain(converted).find(|money| money.currency() == currency)
    }

    fn count(&self) -> Decimal {
        self.packs.iter().map(|packs| packs.count).sum()
    }
}

/// So many of the larger pack are tried from either end. Beyond it two sizes cannot be cheaper than one unless their contents share no handy measure.
const TRIED: i64 = 1000;

/// The packs that reach `missing` for the least money; of equal ones those that are fewest, then those listed first.
pub(super) fn choose(
    material: &Material,
    missing: Mass,
    day: Option<Date>,
    settings: &Settings,
) -> Result<Purchase, NoPrice> {
    let in_time = || material.prices.iter().filter(|price| day.is_none_or(|day| price.date <= day));
    let latest = in_time().map(|price| price.date).max().ok_or_else(|| NoPrice::in_time(material))?;
    let sizes: Vec<(&Price, Mass)> = in_time()
        .filter(|price| price.date == latest)
        .filter_map(|price| Some((price, price.mass(material)?)))
        .collect();
    let needed = missing.grams().max(Decimal::ZERO);
    let mut best: Option<Purchase> = None;
    let mut offer = |packs: &[(&(&Price, Mass), Decimal)]| {
        let Some(new) = purchase(packs, settings) else { return };
        if best.as_ref().is_none_or(|best| is_better(&new, best)) {
            best = Some(new);
        }
    };
    for (index, size) in sizes.iter().enumerate() {
        offer(&[(size, count(needed, size.1))]);
        for other in sizes.iter().skip(index + 1).filter(|other| other.0.price.currency() == size.0.price.currency()) {
            let (large, small) = if other.1 > size.1 { (other, size) } else { (size, other) };
            let most = count(needed, large.1);
            let mut large_count = Decimal::ONE;
            while large_count < most {
                let rest = needed - large_count * large.1.grams();
                offer(&[(large, large_count), (small, count(rest, small.1))]);
                let is_middle = large_count == Decimal::from(TRIED) && most > Decimal::from(2 * TRIED);
                large_count = if is_middle { most - Decimal::from(TRIED) } else { large_count + Decimal::ONE };
            }
        }
    }
    best.ok_or(NoPrice::NoDensity)
}

/// How many packs reach so much.
fn count(needed: Decimal, pack: Mass) -> Decimal {
    needed.checked_div(pack.grams()).map_or(Decimal::ZERO, |packs| {
        let whole = packs.floor();
        // The quotient has 28 digits; whether so many packs are enough is asked of the product.
        if whole * pack.grams() < needed { whole + Decimal::ONE } else { whole }
    })
}

fn purchase(packs: &[(&(&Price, Mass), Decimal)], settings: &Settings) -> Option<Purchase> {
    let (first, _) = packs.first()?;
    let mut cost = Money::zero(first.0.price.currency());
    let mut bought = Vec::new();
    for ((listed, pack), count) in packs {
        cost = cost.plus(listed.total().times(*count)?)?;
        bought.push(Packs { count: *count, listed: (*listed).clone(), pack: *pack });
    }
    let converted = settings.currency.and_then(|own| settings.rates.convert(cost, own));
    Some(Purchase { packs: bought, cost, converted })
}

/// Two currencies are compared by what they are worth in that of the collection; where that is not known, what is listed first stays.
fn is_better(new: &Purchase, best: &Purchase) -> bool {
    let (cost, other) = match (new.converted, best.converted) {
        _ if new.cost.currency() == best.cost.currency() => (new.cost, best.cost),
        (Some((cost, _)), Some((other, _))) => (cost, other),
        // Of a price that can be added up and one that cannot, the former is better.
        (one, other) => return one.is_some() && other.is_none(),
    };
    let order = cost.amount().cmp(&other.amount()).then_with(|| new.count().cmp(&best.count()));
    order.is_lt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::block::Measured;
    use crate::material::Catalogue;
    use std::sync::Arc;

    fn price(grams: i64, cents: i64) -> Price {
        let pack = Mass::from_grams(Decimal::from(grams));
        let date = Date::read("2026-10-01").unwrap();
        let euro = Currency::from_code("EUR").unwrap();
        Price {
            pack: Measured::Mass(pack),
            pack_text: format!("{grams} g"),
            price: Money::new(Decimal::new(cents, 2), euro),
            postage: None,
            date,
            supplier: None,
            file: "a.toml".into(),
        }
    }

    fn bought(prices: &[(i64, i64)], need: Decimal) -> Purchase {
        let glycerin = Catalogue::built_in().material("glycerin").unwrap();
        let mut material = Arc::unwrap_or_clone(Arc::clone(glycerin));
        material.prices = prices.iter().map(|(grams, cents)| price(*grams, *cents)).collect();
        choose(&material, Mass::from_grams(need), None, &Settings::default()).unwrap()
    }

    #[track_caller]
    fn check(prices: &[(i64, i64)], need: i64, expected: &[(i64, i64)], cents: i64) {
        let purchase = bought(prices, Decimal::from(need));
        let packs: Vec<(Decimal, Decimal)> =
            purchase.packs.iter().map(|packs| (packs.count, packs.pack.grams())).collect();
        let expected: Vec<_> =
            expected.iter().map(|(count, grams)| (Decimal::from(*count), Decimal::from(*grams))).collect();
        assert_eq!((packs, purchase.cost().amount()), (expected, Decimal::new(cents, 2)));
    }

    #[test]
    fn the_cheapest_packs_that_reach_it_are_taken() {
        check(&[(500, 300)], 1000, &[(2, 500)], 600);
        check(&[(500, 300)], 1001, &[(3, 500)], 900);
        // One large pack and one small one are cheaper than two large ones or five small ones.
        check(&[(1000, 1000), (250, 400)], 1200, &[(1, 1000), (1, 250)], 1400);
        check(&[(250, 400), (1000, 1000)], 1600, &[(2, 1000)], 2000);
        // A larger pack that costs less than the small ones needed.
        check(&[(100, 300), (1000, 500)], 150, &[(1, 1000)], 500);
        // Of equal costs the fewest packs.
        check(&[(500, 500), (1000, 1000)], 900, &[(1, 1000)], 1000);
    }

    /// Against every combination there is, for all needs up to 3 kg.
    #[test]
    fn nothing_is_cheaper_than_what_is_chosen() {
        let sizes = [(700, 690), (300, 340)];
        for need in 1..=3000_i64 {
            let purchase = bought(&sizes, Decimal::from(need));
            let mut least = i64::MAX;
            for large in 0..=5 {
                for small in 0..=10 {
                    if large * 700 + small * 300 >= need {
                        least = least.min(large * 690 + small * 340);
                    }
                }
            }
            assert_eq!(purchase.cost().amount(), Decimal::new(least, 2), "{need}");
            assert!(purchase.content().grams() >= Decimal::from(need));
            let smallest = purchase.packs.iter().map(|packs| packs.pack).min().unwrap_or_default();
            assert!((purchase.content() - smallest).grams() < Decimal::from(need), "one pack fewer: {need}");
        }
    }
}
