//! Dilutions and mixtures of stocks: how much of each, and what is added to it.
//!
//! What a stock holds is neither lost nor won: c₁m₁ + c₂m₂ + … = c·m, with c on one basis throughout (alligation medial). Solved for two amounts it is
//! alligation alternate: the parts of each stock are the distance of the other's strength from the strength wanted. Both are the rules of
//! pharmaceutical arithmetic (for example US Army Medical Department, Subcourse MD0802, Pharmaceutical Calculations).
//!
//! Weights add up; volumes do not: alcohol and water shrink when they are mixed. So all is reckoned by weight where the densities are known, and
//! otherwise the last liquid is added up to the volume. Only in mixtures of several stocks by volume are volumes taken to add up, and that is said.

mod figures;
mod mixture;

pub(crate) use figures::amount_text;

use crate::block::{DilutionBlock, Measured, Placed, StockBlock};
use crate::quantity::{Base, Decimal, Density, Mass, Strength, StrengthUnit, Volume, round_to_step};

/// An amount by weight and by volume, as far as each is known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Amounts {
    /// Its weight, exact.
    pub mass: Option<Mass>,
    /// Its volume, exact.
    pub volume: Option<Volume>,
}

impl Amounts {
    pub(super) fn new(amount: Measured, density: Option<Density>) -> Amounts {
        let density = density.map(Density::grams_per_millilitre);
        match amount {
            Measured::Mass(mass) => Amounts {
                mass: Some(mass),
                volume: density.and_then(|density| mass.grams().checked_div(density)).map(Volume::from_millilitres),
            },
            Measured::Volume(volume) => Amounts {
                mass: density.and_then(|density| volume.millilitres().checked_mul(density)).map(Mass::from_grams),
                volume: Some(volume),
            },
        }
    }

    /// In grams, or in millilitres.
    fn in_unit(self, by_weight: bool) -> Option<Decimal> {
        if by_weight { self.mass.map(Mass::grams) } else { self.volume.map(Volume::millilitres) }
    }

    /// What is left of it when another is taken out; a volume only as the difference of the two.
    fn less(self, other: Amounts) -> Amounts {
        Amounts {
            mass: self.mass.zip(other.mass).map(|(whole, part)| whole - part),
            volume: self
                .volume
                .zip(other.volume)
                .map(|(whole, part)| Volume::from_millilitres(whole.millilitres() - part.millilitres())),
        }
    }

    fn plus(self, other: Amounts) -> Amounts {
        Amounts {
            mass: self.mass.zip(other.mass).map(|(one, more)| one + more),
            volume: self
                .volume
                .zip(other.volume)
                .map(|(one, more)| Volume::from_millilitres(one.millilitres() + more.millilitres())),
        }
    }
}

fn measured(number: Decimal, by_weight: bool) -> Measured {
    if by_weight {
        Measured::Mass(Mass::from_grams(number))
    } else {
        Measured::Volume(Volume::from_millilitres(number))
    }
}

/// One of the stocks, and how much of it goes in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Portion {
    /// Its key.
    pub key: String,
    /// What it is called.
    pub name: String,
    /// Its strength.
    pub strength: Strength,
    /// Its density.
    pub density: Option<Density>,
    /// How much is taken.
    pub take: Amounts,
    /// In parts, by weight or by volume as the mixture goes, when a mixture was settled or written so.
    pub parts: Option<Decimal>,
}

/// A dilution worked out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dilution {
    /// The stocks.
    pub portions: Vec<Portion>,
    /// Whether one stock is diluted.
    pub is_single: bool,
    /// What is added to them, and how much; a volume is only the difference.
    pub add: Option<Amounts>,
    /// What that is called.
    pub with: String,
    /// How much is made.
    pub total: Amounts,
    /// How strong it is.
    pub strength: Strength,
    /// Whether the strength was asked for, and not worked out.
    pub is_target: bool,
    /// Whether parts, and the amounts of a mixture, go by weight.
    pub by_weight: bool,
    /// Whether volumes were taken to add up.
    pub adds_volumes: bool,
    /// Whether the amount made was chosen, since none was given.
    pub is_for_example: bool,
    /// The smallest step of the balance.
    pub readability: Mass,
    /// The same for other amounts, each as it is written: the making-up sheet.
    pub sheet: Vec<(String, Dilution)>,
}

/// A strength that is wanted, and those that there are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reach {
    /// The strength wanted.
    pub target: Strength,
    /// The weakest stock; nothing for the diluent.
    pub weakest: Option<Strength>,
    /// The strongest.
    pub strongest: Strength,
}

/// Why a dilution cannot be made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DilutionFault {
    /// Stronger than the strongest stock or weaker than the weakest.
    OutOfReach(Box<Reach>),
    /// More is taken than is made.
    MoreThanMade {
        /// All that is taken, in g or ml.
        taken: Decimal,
        /// What is made.
        made: Decimal,
        /// Whether that is in grams.
        by_weight: bool,
    },
    /// A density is missing; of which stock, or of what is made.
    NeedsDensity(Option<String>),
    /// An amount of the sheet, by its index, is in a measure in which the whole is not known.
    SheetNeedsDensity(usize),
    /// A density that cannot be: by it more of a stock is in the whole than there is of the whole, or more of the substance in a stock than the stock
    /// weighs. Of which stock, or of what is made.
    Density(Option<String>),
    /// The strengths count different things.
    NotComparable(Box<(Strength, Strength)>),
    /// More than one answer, or none; what would settle it.
    NotSettled(&'static str),
}

impl Dilution {
    /// Works a dilution out. `names` are those of the raw materials that the stocks are, in order; weights are printed at the steps of a balance.
    ///
    /// # Errors
    /// Why it cannot be made, or has no single answer.
    pub fn of(block: &DilutionBlock, names: &[Option<&str>], readability: Mass) -> Result<Dilution, DilutionFault> {
        let stocks: Vec<Portion> = block
            .stocks
            .iter()
            .enumerate()
            .map(|(index, stock)| portion(stock, names.get(index).copied().flatten(), block.is_single))
            .collect();
        for (strength, density, key) in stocks
            .iter()
            .map(|stock| (&stock.strength, stock.density, Some(stock.key.clone())))
            .chain(block.target.as_ref().map(|target| (&target.value, block.density, None)))
        {
            let Some(density) = density.filter(|_| strength.base == Base::WeightInVolume) else { continue };
            if strength.value > density.grams_per_millilitre() {
                return Err(DilutionFault::Density(key));
            }
        }
        let mut dilution = Dilution {
            portions: Vec::new(),
            is_single: block.is_single,
            add: None,
            with: block.with.clone().unwrap_or_else(|| "water".to_owned()),
            total: Amounts::default(),
            strength: strongest(&stocks).ok_or(DilutionFault::NotSettled("Give at least one stock."))?,
            is_target: block.target.is_some(),
            by_weight: false,
            adds_volumes: false,
            is_for_example: false,
            readability,
            sheet: Vec::new(),
        };
        match stocks.as_slice() {
            [stock] if block.is_single => dilution.dilute(block, stock.clone())?,
            _ => dilution.mix(block, stocks)?,
        }
        for (index, (amount, text)) in block.sheet.iter().enumerate() {
            let scaled = dilution.scaled_to(amount.value).ok_or(DilutionFault::SheetNeedsDensity(index))?;
            dilution.sheet.push((text.clone(), scaled));
        }
        Ok(dilution)
    }

    /// The same dilution for another amount; nothing where that is in a measure in which the whole is not known.
    fn scaled_to(&self, amount: Measured) -> Option<Dilution> {
        let wanted = Amounts::new(amount, None);
        let by_weight = wanted.mass.is_some();
        let (wanted, whole) = (wanted.in_unit(by_weight)?, self.total.in_unit(by_weight)?);
        // Multiplied before it is divided, so that nothing is lost.
        let scale = |number: Decimal| number.checked_mul(wanted)?.checked_div(whole);
        let scaled = |amounts: Amounts| Amounts {
            mass: amounts.mass.and_then(|mass| scale(mass.grams())).map(Mass::from_grams),
            volume: amounts.volume.and_then(|volume| scale(volume.millilitres())).map(Volume::from_millilitres),
        };
        let mut other = Dilution { sheet: Vec::new(), is_for_example: false, ..self.clone() };
        for portion in &mut other.portions {
            portion.take = scaled(portion.take);
        }
        other.add = other.add.map(scaled);
        other.total = scaled(other.total);
        Some(other)
    }

    /// One stock, made weaker.
    fn dilute(&mut self, block: &DilutionBlock, mut stock: Portion) -> Result<(), DilutionFault> {
        let taken = block.stocks.first().and_then(|stock| stock.take.as_ref());
        let target = block.target.as_ref().map(|target| target.value.clone());
        let by_weight = stock.strength.base.is_by_weight();
        if let Some(target) = &target {
            check_measures(&stock.strength, target)?;
        }
        match (target, &block.make, taken) {
            (Some(target), make, None) => {
                let in_grams = target.base.is_by_weight();
                let make = make.as_ref().map_or_else(
                    || {
                        self.is_for_example = true;
                        measured(Decimal::ONE_HUNDRED, in_grams)
                    },
                    |make| make.value,
                );
                self.total = Amounts::new(make, block.density);
                let whole = self.total.in_unit(in_grams).ok_or(DilutionFault::NeedsDensity(None))?;
                let solute = whole * target.value;
                let out_of_reach = || out_of_reach(&target, None, &stock.strength);
                let take = solute.checked_div(stock.strength.value).ok_or_else(out_of_reach)?;
                stock.take = Amounts::new(measured(take, by_weight), stock.density);
                if stock.strength.base == target.base && take > whole {
                    return Err(out_of_reach());
                }
                if is_more(stock.take, self.total) {
                    // On one basis the strengths tell; across two the densities do, and one of the two is then wrong.
                    return Err(if stock.strength.base == target.base {
                        DilutionFault::Density(None)
                    } else {
                        out_of_reach()
                    });
                }
                self.strength = target;
            }
            (Some(target), None, Some(taken)) => {
                stock.take = Amounts::new(taken.value, stock.density);
                let take = stock.take.in_unit(by_weight).ok_or_else(|| needs_density(&stock))?;
                let whole = (take * stock.strength.value).checked_div(target.value);
                let out_of_reach = || out_of_reach(&target, None, &stock.strength);
                let whole = whole.ok_or_else(out_of_reach)?;
                self.total = Amounts::new(measured(whole, target.base.is_by_weight()), block.density);
                if is_more(stock.take, self.total) {
                    let is_weaker = stock.strength.base == target.base && target.value <= stock.strength.value;
                    return Err(if is_weaker { DilutionFault::Density(None) } else { out_of_reach() });
                }
                self.strength = target;
            }
            (None, Some(make), Some(taken)) => {
                stock.take = Amounts::new(taken.value, stock.density);
                self.total = Amounts::new(make.value, block.density);
                more_than_made(stock.take, self.total)?;
                let take = stock.take.in_unit(by_weight).ok_or_else(|| needs_density(&stock))?;
                self.strength = strength_of(take * stock.strength.value, &stock.strength, self.total)?;
            }
            (None, _, None) | (None, None, Some(_)) => {
                return Err(DilutionFault::NotSettled("Give `target` and `make`, or `take` with one of them."));
            }
            (Some(_), Some(_), Some(_)) => {
                return Err(DilutionFault::NotSettled(
                    "Leave out one of `target`, `make` and `take`; the other two settle it.",
                ));
            }
        }
        self.add = Some(self.total.less(stock.take));
        self.by_weight = self.total.mass.is_some() && stock.take.mass.is_some();
        self.portions = vec![stock];
        Ok(())
    }

    /// The weight that is printed: a multiple of the balance's step.
    pub fn weighed(&self, mass: Mass) -> Mass {
        Mass::from_grams(round_to_step(mass.grams(), self.readability.grams()))
    }

    /// What is added, as it is weighed: what the others as they are weighed leave of the whole as it is weighed.
    pub fn add_weighed(&self) -> Option<Mass> {
        let whole = self.weighed(self.total.mass?);
        self.add.filter(|add| add.mass.is_some())?;
        let taken: Option<Mass> = self.portions.iter().map(|portion| Some(self.weighed(portion.take.mass?))).sum();
        Some(whole - taken?)
    }

    /// How many times the stock is diluted: the whole by what is taken, in the same measure.
    pub fn factor(&self) -> Option<Decimal> {
        let [only] = self.portions.as_slice() else { return None };
        [true, false]
            .into_iter()
            .find_map(|by_weight| self.total.in_unit(by_weight)?.checked_div(only.take.in_unit(by_weight)?))
    }
}

fn portion(stock: &StockBlock, material: Option<&str>, is_single: bool) -> Portion {
    let name = stock.name.clone().or_else(|| material.map(str::to_owned));
    Portion {
        key: stock.key.value.clone(),
        name: name.unwrap_or_else(|| if is_single { "stock".to_owned() } else { stock.key.value.clone() }),
        strength: stock.strength.value.clone(),
        density: stock.density,
        take: Amounts::default(),
        parts: None,
    }
}

fn strongest(stocks: &[Portion]) -> Option<Strength> {
    stocks.first().map(|stock| stock.strength.clone())
}

fn needs_density(stock: &Portion) -> DilutionFault {
    DilutionFault::NeedsDensity(Some(stock.key.clone()))
}

fn out_of_reach(target: &Strength, weakest: Option<&Strength>, strongest: &Strength) -> DilutionFault {
    DilutionFault::OutOfReach(Box::new(Reach {
        target: target.clone(),
        weakest: weakest.cloned(),
        strongest: strongest.clone(),
    }))
}

/// What a strength counts: a weight, a volume or an amount of the substance.
fn counts(base: Base) -> u8 {
    match base {
        Base::WeightInWeight | Base::WeightInVolume => 0,
        Base::VolumeInVolume => 1,
        Base::AmountInVolume => 2,
    }
}

fn check_measures(one: &Strength, other: &Strength) -> Result<(), DilutionFault> {
    if counts(one.base) == counts(other.base) {
        Ok(())
    } else {
        Err(DilutionFault::NotComparable(Box::new((one.clone(), other.clone()))))
    }
}

/// Whether more is taken than there is in the whole, by weight or by volume as far as both are known.
fn is_more(taken: Amounts, whole: Amounts) -> bool {
    [true, false].into_iter().any(|unit| taken.in_unit(unit).zip(whole.in_unit(unit)).is_some_and(|(a, b)| a > b))
}

fn more_than_made(taken: Amounts, whole: Amounts) -> Result<(), DilutionFault> {
    for by_weight in [true, false] {
        if let Some((taken, made)) = taken.in_unit(by_weight).zip(whole.in_unit(by_weight))
            && taken > made
        {
            return Err(DilutionFault::MoreThanMade { taken, made, by_weight });
        }
    }
    Ok(())
}

/// The strength of a whole that holds so much, on the basis of the stock where the whole is known in its measure.
///
/// `solute` is in g, ml, or mol/l × ml, as the stock's strength counts it.
fn strength_of(solute: Decimal, stock: &Strength, whole: Amounts) -> Result<Strength, DilutionFault> {
    let bases: &[Base] = match stock.base {
        Base::WeightInWeight => &[Base::WeightInWeight, Base::WeightInVolume],
        Base::WeightInVolume => &[Base::WeightInVolume, Base::WeightInWeight],
        Base::VolumeInVolume => &[Base::VolumeInVolume],
        Base::AmountInVolume => &[Base::AmountInVolume],
    };
    bases
        .iter()
        .find_map(|base| {
            let value = solute.checked_div(whole.in_unit(base.is_by_weight())?)?;
            let unit = if *base == stock.base { stock.unit } else { StrengthUnit::Percent };
            Some(Strength { value, base: *base, unit, ratio: None })
        })
        .ok_or(DilutionFault::NeedsDensity(None))
}

fn take_of(stock: &StockBlock) -> Option<Measured> {
    stock.take.as_ref().map(|take: &Placed<Measured>| take.value)
}
