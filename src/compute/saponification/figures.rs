//! The figures of a saponification, each with its working.

use super::{Alkali, Fat, Lye, MOLAR_MASSES, Outcome, Saponification};
use crate::block::{LyeWater, ShareOf};
use crate::compute::{Figure, Value, Working};
use crate::quantity::{Decimal, Mass, Percent, Range, round_half_even, show};

impl Saponification {
    /// The addresses below the block's id.
    pub fn addresses(&self) -> Vec<String> {
        let mut addresses = Vec::new();
        for fat in &self.fats {
            for what in ["weight", "percent", "saponification-value", "lye"] {
                addresses.push(format!("{}/{what}", fat.key));
            }
        }
        addresses.extend(self.lyes.iter().map(|lye| lye.key.clone()));
        let fixed = [
            "lye",
            "water",
            "lye-solution",
            "lye-strength",
            "fats",
            "total",
            "superfat",
            "superfat/lowest",
            "superfat/highest",
            "free-alkali",
            "saponification-value",
        ];
        addresses.extend(fixed.map(str::to_owned));
        addresses.extend(self.profile.acids.iter().map(|(acid, _, _)| format!("acids/{acid}")));
        if let Some(rescue) = &self.rescue {
            addresses.push("rescue/superfat".to_owned());
            addresses.push("rescue/lowest".to_owned());
            addresses.push("rescue/free-alkali".to_owned());
            match &rescue.outcome {
                Outcome::Little(missing) => addresses.extend(missing.iter().map(|(key, _)| format!("rescue/{key}"))),
                Outcome::Much { fats, .. } => {
                    addresses.extend(fats.iter().map(|(key, _)| format!("rescue/{key}")));
                    addresses.push("rescue/fats".to_owned());
                    addresses.push("rescue/water".to_owned());
                }
                Outcome::AsPlanned | Outcome::Held | Outcome::TooMuch | Outcome::Set => {}
            }
        }
        addresses
    }

    /// The figure at a path below the block's id.
    pub fn figure(&self, id: &str, path: &[&str]) -> Option<Figure> {
        let (value, working) = match path {
            ["lye"] => (self.mass(self.lye_weighed()), self.working_of_lye()),
            ["water"] => (self.mass(self.water_weighed()), self.working_of_water()),
            ["lye-solution"] => {
                let both = self.lye_weighed() + self.water_weighed();
                let working = Working::new().value(self.mass(self.lye_weighed())).text(" of hydroxide + ");
                (self.mass(both), working.value(self.mass(self.water_weighed())).text(" of water"))
            }
            ["lye-strength"] => {
                let both = (self.lye_weighed() + self.water_weighed()).grams();
                let share = (self.lye_weighed().grams() * Decimal::ONE_HUNDRED).checked_div(both)?;
                let working = Working::new().value(self.mass(self.lye_weighed())).text(" of hydroxide as weighed in ");
                (per_cent(share, 1), working.value(self.mass(self.lye_weighed() + self.water_weighed())).text(" of lye"))
            }
            ["fats"] => (self.mass(self.fats_weighed()), Working::new().text("all fats")),
            ["total"] => {
                let working = Working::new().value(self.mass(self.fats_weighed())).text(" of fats + ");
                let working = working.value(self.mass(self.lye_weighed())).text(" of hydroxide + ");
                (self.mass(self.total_weighed()), working.value(self.mass(self.water_weighed())).text(" of water"))
            }
            ["superfat"] => (
                Value::Percent(self.superfat),
                Working::new().text("as lye discount: so much less lye than the fats take in all, at the saponification values and the purity that were reckoned with"),
            ),
            ["superfat", "lowest"] => (per_cent(self.lowest_superfat()?, 1), self.working_of_worst()),
            ["superfat", "highest"] => (
                per_cent(self.highest_superfat()?, 1),
                Working::new().text("all fats at the high end of their saponification values, the lye at the low end of its purity"),
            ),
            ["free-alkali"] => (per_cent(self.free_alkali(), 2), self.working_of_free()),
            ["saponification-value"] => {
                let mean = self.mean_value();
                let working = Working::new().text("the values of the fats by their weight; ").text(span(mean)).text(" mg KOH/g from their ranges");
                (milligrams(mean.typical), working)
            }
            ["acids", acid] => {
                let (name, code, range) = self.profile.acids.iter().find(|(name, _, _)| name == acid)?;
                (Value::PercentRange(*range), self.working_of_acid(name, code))
            }
            ["rescue", rest @ ..] => self.rescue_figure(rest)?,
            [lye] => {
                let lye = self.lyes.iter().find(|one| one.key == *lye)?;
                (self.mass(lye.weighed), self.working_of(lye))
            }
            [fat, what] => {
                let fat = self.fats.iter().find(|one| one.key == *fat)?;
                self.fat_figure(fat, what)?
            }
            _ => return None,
        };
        let address = std::iter::once(id).chain(path.iter().copied()).collect::<Vec<_>>().join("/");
        Some(Figure { address, value, working })
    }

    fn fat_figure(&self, fat: &Fat, what: &str) -> Option<(Value, Working)> {
        Some(match what {
            "weight" => {
                let working = Working::new().value(Value::Percent(Percent::new(fat.percent))).text(" of all fats");
                (self.mass(fat.weighed), working)
            }
            "percent" => {
                let working = Working::new().value(self.mass(fat.weighed)).text(" of ");
                (
                    Value::Percent(Percent::new(fat.percent)),
                    working.value(self.mass(self.fats_weighed())).text(" of fats"),
                )
            }
            "saponification-value" => {
                let mut working = Working::new();
                if !fat.value.is_exact() {
                    working = working.text(if fat.is_middle { "the middle of " } else { "from a range of " });
                    working = working.text(span(fat.value)).text(" mg KOH/g");
                }
                (milligrams(fat.value.typical), working.source(fat.source.clone()))
            }
            "lye" => {
                let each = |lye: &Lye| super::moles(fat.mass, fat.value.typical) * lye.part * lye.alkali.molar_mass();
                let pure: Decimal = self.lyes.iter().map(each).sum();
                let working = Working::new()
                    .value(self.mass(fat.weighed))
                    .text(" × ")
                    .value(milligrams(fat.value.typical))
                    .text(self.factor_words())
                    .text(": pure hydroxide that takes all of it, before the superfat");
                (self.mass(self.rounded(Mass::from_grams(pure))), working.source(MOLAR_MASSES))
            }
            _ => return None,
        })
    }

    fn rescue_figure(&self, path: &[&str]) -> Option<(Value, Working)> {
        let rescue = self.rescue.as_ref()?;
        let weighed = || {
            rescue.weighed.iter().fold(Working::new(), |working, (key, planned, weighed)| {
                let working = if working.pieces.is_empty() { working } else { working.text("; ") };
                working
                    .value(self.mass(*weighed))
                    .text(format!(" of {key} weighed, "))
                    .value(self.mass(*planned))
                    .text(" planned")
            })
        };
        Some(match path {
            ["superfat"] => (per_cent(rescue.superfat, 1), weighed().text(", with the fats as planned")),
            ["lowest"] => (
                per_cent(rescue.lowest, 1),
                weighed().text(", with the fats as planned at the low end of their values and the lye at its purest"),
            ),
            ["free-alkali"] => (
                per_cent(rescue.free, 2),
                weighed().text("; as NaOH of the whole, with the fats as planned at the low end of their values and the lye at its purest"),
            ),
            ["fats"] => match &rescue.outcome {
                Outcome::Much { fats, .. } => (
                    self.mass(fats.iter().map(|(_, mass)| *mass).sum()),
                    weighed().text(", so all fats more by the same factor"),
                ),
                _ => return None,
            },
            ["water"] => match &rescue.outcome {
                Outcome::Much { water, .. } => {
                    (self.mass(*water), weighed().text("; water by the same rule as planned"))
                }
                _ => return None,
            },
            [key] => match &rescue.outcome {
                Outcome::Little(missing) => {
                    let (_, mass) = missing.iter().find(|(name, _)| name == key)?;
                    (self.mass(*mass), weighed().text("; so much that all hydroxides together bring what was planned"))
                }
                Outcome::Much { fats, .. } => {
                    let (_, mass) = fats.iter().find(|(name, _)| name == key)?;
                    (self.mass(*mass), weighed().text(", so all fats more by the same factor"))
                }
                _ => return None,
            },
            _ => return None,
        })
    }

    /// A weight as the balance shows it.
    pub(crate) fn mass(&self, mass: Mass) -> Value {
        Value::Mass { mass, decimals: self.readability.grams().normalize().scale() }
    }

    /// " × 40.00 ÷ 56.11", or what turns the one into two hydroxides.
    fn factor_words(&self) -> String {
        match self.lyes.as_slice() {
            [lye] if lye.alkali == Alkali::Sodium => " × 40.00 ÷ 56.11".to_owned(),
            [_] => String::new(),
            _ => {
                let parts = self.lyes.iter().map(|lye| {
                    let percent = show::percent(hundred(lye.part));
                    match lye.alkali {
                        Alkali::Sodium => format!("{percent} × 40.00 ÷ 56.11"),
                        Alkali::Potassium => percent,
                    }
                });
                format!(" × ({})", parts.collect::<Vec<_>>().join(" + "))
            }
        }
    }

    fn working_of(&self, lye: &Lye) -> Working {
        let mut working = Working::new()
            .value(self.mass(self.fats_weighed()))
            .text(" of fats × ")
            .value(milligrams(self.mean_value().typical));
        if lye.alkali == Alkali::Sodium {
            working = working.text(" × 40.00 ÷ 56.11");
        }
        if let Some((key, share, of)) = self.share_of.as_ref().filter(|_| self.lyes.len() > 1) {
            let of = match of {
                ShareOf::Fat => "of the fat",
                ShareOf::Alkali => "of the pure alkali by weight",
            };
            working = working
                .text(" × ")
                .value(Value::Percent(Percent::new(hundred(lye.part))))
                .text(format!(" (the fat that it saponifies; {key} is {} {of})", show::percent(share.value())));
        }
        let pure = self.full() * lye.part * lye.alkali.molar_mass();
        working
            .text(" = ")
            .value(self.mass(self.rounded(Mass::from_grams(pure))))
            .text(" pure for all of the fat; × ")
            .value(Value::Percent(Percent::new(Decimal::ONE_HUNDRED - self.superfat.value())))
            .text(" for the superfat, ÷ ")
            .value(Value::Percent(Percent::new(lye.purity.typical.normalize())))
            .text(" purity")
            .source(MOLAR_MASSES)
    }

    fn working_of_lye(&self) -> Working {
        match self.lyes.as_slice() {
            [only] => self.working_of(only),
            several => several.iter().fold(Working::new(), |working, lye| {
                let working = if working.pieces.is_empty() { working } else { working.text(" + ") };
                working.value(self.mass(lye.weighed)).text(format!(" of {}", lye.key))
            }),
        }
    }

    fn working_of_water(&self) -> Working {
        let lye = self.mass(self.lye_weighed());
        match self.water_as {
            LyeWater::Strength(strength) => Working::new()
                .value(lye)
                .text(" of hydroxide as weighed is to be ")
                .value(Value::Percent(strength))
                .text(" of hydroxide and water"),
            LyeWater::Ratio(ratio) => Working::new()
                .value(Value::Number(round_half_even(ratio, 4)))
                .text(" × ")
                .value(lye)
                .text(" of hydroxide as weighed"),
            LyeWater::OfFats(share) => Working::new()
                .value(Value::Percent(share))
                .text(" of ")
                .value(self.mass(self.fats_weighed()))
                .text(" of fats"),
            LyeWater::Mass(_) => Working::new().text("as given"),
        }
    }

    fn working_of_worst(&self) -> Working {
        Working::new().text("all fats at the low end of their saponification values, the lye at the high end of its purity, weights as they are weighed")
    }

    fn working_of_free(&self) -> Working {
        let lowest = self.lowest_superfat().unwrap_or_default();
        let working = self.working_of_worst().text(": superfat ").value(per_cent(lowest, 1));
        if lowest < Decimal::ZERO {
            working.text("; what is left of the alkali, reckoned as NaOH, of ").value(self.mass(self.total_weighed()))
        } else {
            working.text(", so no alkali is left")
        }
    }

    fn working_of_acid(&self, name: &str, code: &str) -> Working {
        let mut working = Working::new().text(format!("{name} acid, {code}: "));
        let mut first = true;
        for fat in &self.fats {
            let Some(profile) = &fat.acids else { continue };
            let Some((_, range)) = profile.acids.iter().find(|(acid, _)| *acid == name) else { continue };
            if !std::mem::take(&mut first) {
                working = working.text(" + ");
            }
            let part = (fat.percent * Decimal::ONE_HUNDRED).checked_div(self.profile.known).unwrap_or_default();
            working =
                working.value(Value::Percent(Percent::new(part))).text(format!(" × {} % ({})", span(*range), fat.key));
        }
        working.source(self.profile.sources.join("; "))
    }
}

/// A part as per cent.
fn hundred(part: Decimal) -> Decimal {
    (part * Decimal::ONE_HUNDRED).normalize()
}

fn per_cent(value: Decimal, decimals: u32) -> Value {
    Value::Quantity { value, decimals, unit: "%" }
}

/// A saponification value with one decimal.
fn milligrams(value: Decimal) -> Value {
    Value::Quantity { value, decimals: 1, unit: "mg KOH/g" }
}

/// "184–196", with one decimal at most.
pub(crate) fn span(range: Range) -> String {
    let end = |end: Decimal| round_half_even(end, 1).normalize();
    show::ends(end(range.low), end(range.high))
}
