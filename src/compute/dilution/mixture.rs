//! Mixtures of several stocks.

use super::{
    Amounts, Dilution, DilutionFault, Portion, check_measures, measured, more_than_made, needs_density, out_of_reach,
    strength_of, take_of,
};
use crate::block::DilutionBlock;
use crate::quantity::{Base, Decimal, Density, Strength};

/// A stock with what a gram or millilitre of it holds, and how much of it is fixed.
struct Known {
    portion: Portion,
    holds: Decimal,
    fixed: Option<Decimal>,
}

impl Dilution {
    pub(super) fn mix(&mut self, block: &DilutionBlock, stocks: Vec<Portion>) -> Result<(), DilutionFault> {
        let Some(first) = stocks.first().map(|stock| stock.strength.clone()) else {
            return Err(DilutionFault::NotSettled("Give at least one stock."));
        };
        let target = block.target.as_ref().map(|target| target.value.clone());
        for other in stocks.iter().map(|stock| &stock.strength).chain(&target) {
            check_measures(&first, other)?;
        }
        let by_weight = goes_by_weight(block, &stocks);
        self.by_weight = by_weight;
        self.adds_volumes = !by_weight && stocks.len() > 1;
        let mut known: Vec<Known> = Vec::new();
        for (stock, written) in stocks.into_iter().zip(&block.stocks) {
            let holds = holds(&stock.strength, stock.density, by_weight).ok_or_else(|| needs_density(&stock))?;
            let fixed = match take_of(written) {
                Some(take) => {
                    let amount = Amounts::new(take, stock.density).in_unit(by_weight);
                    Some(amount.ok_or_else(|| needs_density(&stock))?)
                }
                None => None,
            };
            known.push(Known { portion: stock, holds, fixed });
        }
        let wanted = match &target {
            Some(target) => Some(holds(target, block.density, by_weight).ok_or(DilutionFault::NeedsDensity(None))?),
            None => None,
        };
        let make = match &block.make {
            Some(make) => {
                let amount = Amounts::new(make.value, block.density).in_unit(by_weight);
                Some(amount.ok_or(DilutionFault::NeedsDensity(None))?)
            }
            None => None,
        };
        if let (Some(target), Some(wanted)) = (&target, wanted) {
            within_reach(&known, target, wanted)?;
        }
        let n_parts = block.stocks.iter().filter(|stock| stock.parts.is_some()).count();
        let whole = if n_parts > 0 {
            self.by_parts(block, &mut known, make, wanted.is_some())?
        } else {
            self.by_amounts(&mut known, make, wanted)?
        };
        self.finish(block, known, whole, target, &first)
    }

    /// All stocks in parts: how much that is of each.
    fn by_parts(
        &mut self,
        block: &DilutionBlock,
        known: &mut [Known],
        make: Option<Decimal>,
        has_target: bool,
    ) -> Result<Decimal, DilutionFault> {
        let all_in_parts = block.stocks.iter().all(|stock| stock.parts.is_some() && stock.take.is_none());
        if !all_in_parts || has_target {
            return Err(DilutionFault::NotSettled(
                "With `parts` every stock has its parts, and neither `take` nor `target` is given: the parts settle the strength.",
            ));
        }
        let parts: Vec<Decimal> =
            block.stocks.iter().filter_map(|stock| stock.parts.as_ref().map(|parts| parts.value)).collect();
        let sum: Decimal = parts.iter().copied().sum();
        self.is_for_example = make.is_none();
        let whole = make.unwrap_or(Decimal::ONE_HUNDRED);
        for (stock, part) in known.iter_mut().zip(parts) {
            stock.portion.parts = Some(part);
            stock.fixed = (part * whole).checked_div(sum);
        }
        Ok(whole)
    }

    /// Some stocks fixed, the others to be found; what is made in all.
    fn by_amounts(
        &mut self,
        known: &mut [Known],
        make: Option<Decimal>,
        wanted: Option<Decimal>,
    ) -> Result<Decimal, DilutionFault> {
        let taken: Decimal = known.iter().filter_map(|stock| stock.fixed).sum();
        let held: Decimal = known.iter().filter_map(|stock| Some(stock.fixed? * stock.holds)).sum();
        let free: Vec<usize> =
            known.iter().enumerate().filter(|(_, stock)| stock.fixed.is_none()).map(|(index, _)| index).collect();
        let holds = |index: usize| known.get(index).map_or(Decimal::ZERO, |stock| stock.holds);
        const AS_STRONG: DilutionFault = DilutionFault::NotSettled(
            "The stock whose amount is left open is as strong as the target, so no amount of it changes anything; leave another open.",
        );
        let (whole, found) = match (free.as_slice(), wanted, make) {
            ([], None, make) => (make.unwrap_or(taken), vec![]),
            // Everything is taken; what is missing to the strength is the diluent.
            ([], Some(wanted), None) => match held.checked_div(wanted) {
                Some(whole) if whole >= taken => (whole, vec![]),
                _ => {
                    return Err(DilutionFault::NotSettled(
                        "All amounts are given, and together they are weaker than the target; leave the `take` of the strongest stock open.",
                    ));
                }
            },
            ([only], Some(wanted), None) if !taken.is_zero() => {
                let needed = (wanted * taken - held).checked_div(holds(*only) - wanted).ok_or(AS_STRONG)?;
                (taken + needed, vec![needed])
            }
            ([_], None, Some(make)) => (make, vec![make - taken]),
            ([one, other], Some(wanted), make) => {
                // Without an amount the parts alone are settled, and hundred is made of them.
                self.is_for_example = make.is_none();
                if make.is_none() && !taken.is_zero() {
                    return Err(DilutionFault::NotSettled(
                        "With one amount fixed and two stocks free, `make` settles how much of each.",
                    ));
                }
                let whole = make.unwrap_or(Decimal::ONE_HUNDRED);
                let rest = whole - taken;
                let first =
                    (wanted * whole - held - holds(*other) * rest).checked_div(holds(*one) - holds(*other)).ok_or(
                        DilutionFault::NotSettled("Two of the stocks are equally strong; give one of them its `take`."),
                    )?;
                (whole, vec![first, rest - first])
            }
            ([] | [_], Some(_), Some(_)) => {
                return Err(DilutionFault::NotSettled(
                    "With all but one amount given, either `target` or `make` settles the rest; leave the other out.",
                ));
            }
            ([_], _, None) | ([_, _], None, _) => {
                return Err(DilutionFault::NotSettled(
                    "Give the strength wanted as `target`, or the amount of each as `take`.",
                ));
            }
            (_, _, _) => {
                return Err(DilutionFault::NotSettled(
                    "Three stocks and more can be mixed to one strength in many ways: fix all but two with `take`, or give every stock its `parts`.",
                ));
            }
        };
        if found.iter().any(|amount| *amount < Decimal::ZERO) {
            if make.is_some_and(|make| taken > make) {
                return Err(DilutionFault::MoreThanMade { taken, made: whole, by_weight: self.by_weight });
            }
            return Err(DilutionFault::NotSettled(
                "The amounts that are fixed already take the mixture past the target; fix less of them.",
            ));
        }
        let pair = match (free.as_slice(), wanted) {
            ([one, other], Some(wanted)) if taken.is_zero() => {
                Some([(*one, (holds(*other) - wanted).abs()), (*other, (holds(*one) - wanted).abs())])
            }
            _ => None,
        };
        for (index, amount) in free.iter().zip(found) {
            if let Some(stock) = known.get_mut(*index) {
                stock.fixed = Some(amount);
            }
        }
        // Alligation alternate: each stock's parts are the other's distance, in points of per cent.
        for (index, distance) in pair.into_iter().flatten() {
            if let Some(stock) = known.get_mut(index) {
                stock.portion.parts = Some((distance * Decimal::ONE_HUNDRED).normalize());
            }
        }
        Ok(whole)
    }

    fn finish(
        &mut self,
        block: &DilutionBlock,
        known: Vec<Known>,
        whole: Decimal,
        target: Option<Strength>,
        first: &Strength,
    ) -> Result<(), DilutionFault> {
        let by_weight = self.by_weight;
        let held: Decimal = known.iter().filter_map(|stock| Some(stock.fixed? * stock.holds)).sum();
        let taken: Decimal = known.iter().filter_map(|stock| stock.fixed).sum();
        self.total = Amounts::new(measured(whole, by_weight), block.density);
        more_than_made(Amounts::new(measured(taken, by_weight), None), self.total)?;
        self.portions = known
            .into_iter()
            .map(|stock| {
                let amount = measured(stock.fixed.unwrap_or_default(), by_weight);
                Portion { take: Amounts::new(amount, stock.portion.density), ..stock.portion }
            })
            .collect();
        let all = self
            .portions
            .iter()
            .skip(1)
            .fold(self.portions.first().map(|one| one.take), |sum, portion| sum.map(|sum| sum.plus(portion.take)));
        let is_filled_up = taken < whole;
        if is_filled_up {
            self.add = all.map(|all| self.total.less(all));
            // Filled up to the mark, nothing has to be taken for additive but the stocks among themselves, which the mark settles too.
            self.adds_volumes = false;
        }
        self.strength = match target {
            Some(target) => target,
            None => {
                let stated = Strength { base: basis(first.base, by_weight), ..first.clone() };
                strength_of(held, &stated, self.total)?
            }
        };
        Ok(())
    }
}

/// Whether the mixture can be reckoned by weight: everything that is given turns into grams.
fn goes_by_weight(block: &DilutionBlock, stocks: &[Portion]) -> bool {
    use crate::block::Measured::Mass;
    let stocks_do = stocks.iter().zip(&block.stocks).all(|(stock, written)| {
        let weighed = take_of(written).is_none_or(|take| matches!(take, Mass(_)));
        stock.density.is_some() || (stock.strength.base.is_by_weight() && weighed)
    });
    let target_does =
        block.target.as_ref().is_none_or(|target| block.density.is_some() || target.value.base.is_by_weight());
    let make_does = block.make.as_ref().is_none_or(|make| block.density.is_some() || matches!(make.value, Mass(_)));
    // A strength by volume that comes out of a mixture by weight needs the density of the whole.
    let result_does = block.target.is_some()
        || block.density.is_some()
        || stocks.iter().all(|stock| matches!(stock.strength.base, Base::WeightInWeight | Base::WeightInVolume));
    stocks_do && target_does && make_does && result_does
}

/// What one gram or one millilitre holds.
fn holds(strength: &Strength, density: Option<Density>, by_weight: bool) -> Option<Decimal> {
    let density = density.map(Density::grams_per_millilitre);
    match (by_weight, strength.base.is_by_weight()) {
        (true, true) | (false, false) => Some(strength.value),
        (true, false) => strength.value.checked_div(density?),
        (false, true) => strength.value.checked_mul(density?),
    }
}

/// The basis that a sum of what is held in grams or millilitres leads to.
fn basis(base: Base, by_weight: bool) -> Base {
    match base {
        Base::WeightInWeight | Base::WeightInVolume if by_weight => Base::WeightInWeight,
        Base::WeightInWeight | Base::WeightInVolume => Base::WeightInVolume,
        other => other,
    }
}

fn within_reach(known: &[Known], target: &Strength, wanted: Decimal) -> Result<(), DilutionFault> {
    let weakest = known.iter().map(|stock| stock.holds).min().unwrap_or_default();
    let strongest = known.iter().map(|stock| stock.holds).max().unwrap_or_default();
    // Where every amount is given the diluent makes it weaker than the weakest.
    let is_filled_up = known.iter().all(|stock| stock.fixed.is_some());
    if wanted > strongest || (wanted < weakest && !is_filled_up) {
        let first = known.first().map_or(target, |stock| &stock.portion.strength);
        return Err(extremes(known, target, first));
    }
    Ok(())
}

/// The fault that names the weakest and the strongest stock.
fn extremes(known: &[Known], target: &Strength, otherwise: &Strength) -> DilutionFault {
    let weakest = known.iter().min_by_key(|stock| stock.holds).map(|stock| &stock.portion.strength);
    let strongest = known.iter().max_by_key(|stock| stock.holds).map_or(otherwise, |stock| &stock.portion.strength);
    out_of_reach(target, weakest, strongest)
}
