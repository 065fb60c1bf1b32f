//! Names to materials, amounts to one basis, batch to a mass.

use super::formula::{Basis, Batch, BatchGiven, Formula, Line, Phase, VariantOf};
use super::settings::Settings;
use crate::block::{Amount, BatchSpec, FillContent, FormulaBlock, LineBlock, Placed, VolumeAmount};
use crate::material::{Catalogue, Material};
use crate::quantity::{Decimal, Density, Mass, show};
use crate::report::{Finding, Place, echo, kind, suggestion};
use std::sync::Arc;

/// Resolves an expanded block. The formula is `None` when any line could not be resolved; the findings say why, all of them.
pub fn resolve(
    block: &FormulaBlock,
    variant: Option<VariantOf>,
    catalogue: &Catalogue,
    settings: &Settings,
) -> (Option<Formula>, Vec<Finding>) {
    let mut resolver = Resolver { block, catalogue, findings: Vec::new(), failed: block.broken };
    let formula = resolver.formula(variant, settings);
    let failed = resolver.failed;
    (formula.filter(|_| !failed), resolver.findings)
}

struct Resolver<'a> {
    block: &'a FormulaBlock,
    catalogue: &'a Catalogue,
    findings: Vec<Finding>,
    failed: bool,
}

/// A line whose amount is still on its own basis.
struct Half {
    line: Line,
    amount: Written,
}

/// An amount before all lines are known.
#[derive(Clone, Copy, PartialEq)]
enum Written {
    On(Basis, Decimal),
    Balance,
}

impl Resolver<'_> {
    fn fail(&mut self, finding: Finding) {
        self.failed = true;
        self.findings.push(finding);
    }

    fn formula(&mut self, variant: Option<VariantOf>, settings: &Settings) -> Option<Formula> {
        let block = self.block;
        let product = block.product.as_ref().and_then(|name| {
            let product = self.catalogue.product(&name.value).cloned();
            // A name in typographic quotation marks is already reported as not being TOML.
            if product.is_none() && !name.value.contains(['“', '”', '„']) {
                let names = self.catalogue.products();
                let known = || names.iter().flat_map(|p| p.also.iter().chain([&p.name])).map(String::as_str);
                let all = names.iter().map(|p| p.name.as_str()).collect::<Vec<_>>().join(", ");
                let finding = Finding::new(
                    kind::UNKNOWN_PRODUCT,
                    name.place.clone(),
                    format!("`{}` is not a known product type.", echo(&name.value)),
                )
                .mend(suggestion(&name.value, known(), &format!("Known product types: {all}.")));
                self.findings.push(finding);
            }
            product
        });
        let mut phases: Vec<(usize, Vec<Half>)> = Vec::new();
        for (index, phase) in block.phases.iter().enumerate() {
            phases.push((index, phase.lines.iter().filter_map(|line| self.line(line)).collect()));
        }
        if block.phases.iter().all(|phase| phase.lines.is_empty()) {
            if block.based_on.is_none() && !block.broken {
                self.fail(Finding::new(
                    kind::EMPTY_FORMULA,
                    block.id.place.clone(),
                    format!("The formula `{}` has no raw material.", echo(&block.id.value)),
                ));
            }
            return None;
        }
        let batch = self.batch().filter(|batch| self.is_weighable(batch));
        if self.failed {
            return None;
        }
        let basis = self.basis(&phases)?;
        let whole = self.put_on_basis(&mut phases, basis, batch.as_ref())?;
        let batch = batch.unwrap_or_else(|| Batch {
            mass: Mass::from_grams(if basis == Basis::Weights { whole } else { Decimal::ONE_HUNDRED }),
            given: BatchGiven::Default,
        });
        let phases = phases
            .into_iter()
            .filter_map(|(index, halves)| {
                let phase = block.phases.get(index)?;
                Some(Phase {
                    key: phase.key.value.clone(),
                    title: phase.title.clone(),
                    hold: phase.hold.as_ref().map(|hold| (hold.value, hold.place.clone())),
                    note: phase.note.clone(),
                    lines: halves.into_iter().map(|half| half.line).collect(),
                })
            })
            .collect();
        let text = |text: &Option<Placed<String>>| text.as_ref().map(|text| text.value.clone());
        Some(Formula {
            id: block.id.value.clone(),
            title: text(&block.title),
            product,
            version: text(&block.version),
            date: block.date.as_ref().map(|date| date.value),
            note: text(&block.note),
            batch,
            density: block.density.as_ref().map(|density| density.value),
            ph: block.ph.as_ref().map(|ph| ph.value),
            balance: block.balance.as_ref().map_or(settings.balance, |balance| balance.value),
            basis,
            whole,
            phases,
            variant,
            place: block.place.clone(),
            id_place: block.id.place.clone(),
            ph_place: block.ph.as_ref().map(|ph| ph.place.clone()),
        })
    }

    fn line(&mut self, line: &LineBlock) -> Option<Half> {
        let Some(material) = self.catalogue.material(&line.material.value).cloned() else {
            let finding = Finding::new(
                kind::UNKNOWN_MATERIAL,
                line.material.place.clone(),
                format!("No raw material is called `{}`.", echo(&line.material.value)),
            )
            .mend(self.material_suggestion(&line.material.value));
            self.fail(finding);
            return None;
        };
        let (amount, uncertainty, volume) = self.amount(&material, line, &line.amount.value)?;
        let effect = match &line.amount.value {
            Amount::Effect { .. } => Some(line.to.clone().unwrap_or_else(|| "effect".to_owned())),
            _ => None,
        };
        // The certificate of a lot says more than the catalogue's usual strength.
        let strength_of_lot = line.lot.as_ref().and_then(|lot| material.lot(lot)?.strength);
        Some(Half {
            amount,
            line: Line {
                material,
                written: line.material.value.clone(),
                amount: Decimal::ZERO,
                uncertainty,
                is_balance: line.amount.value == Amount::Balance,
                effect,
                volume,
                strength: line.strength.as_ref().map(|strength| strength.value).or(strength_of_lot),
                lot: line.lot.clone(),
                note: line.note.clone(),
                place: line.material.place.clone(),
                amount_place: line.amount.place.clone(),
            },
        })
    }

    /// The nearest raw materials, each named once by its main id.
    fn material_suggestion(&self, name: &str) -> String {
        let mut near: Vec<&str> = Vec::new();
        // A printed name that begins so is surer than letters that are alike.
        let called: Vec<&str> = self.catalogue.called(name).take(3).collect();
        let alike = if called.is_empty() { crate::report::nearest(name, self.catalogue.ids()) } else { called };
        for id in alike {
            let main = self.catalogue.material(id).map_or(id, |material| material.id.as_str());
            if !near.contains(&main) {
                near.push(main);
            }
        }
        match near.as_slice() {
            [] => kind::UNKNOWN_MATERIAL.mend.to_owned(),
            near => format!("Did you mean {}?", crate::report::list(near, "or")),
        }
    }

    /// The amount on its own basis, the uncertainty of a volume, and the volume as typed.
    fn amount(
        &mut self,
        material: &Arc<Material>,
        line: &LineBlock,
        amount: &Amount,
    ) -> Option<(Written, Option<Decimal>, Option<String>)> {
        match amount {
            Amount::Percent(percent) => Some((Written::On(Basis::Percent, percent.value()), None, None)),
            Amount::Parts(parts) => Some((Written::On(Basis::Parts, *parts), None, None)),
            Amount::Mass { mass, bare_ounce } => {
                let liquid = material.form.as_deref() == Some("liquid");
                if *bare_ounce && liquid {
                    self.findings.push(Finding::new(
                        kind::BARE_OUNCE,
                        line.amount.place.clone(),
                        format!(
                            "`{}` is a liquid given in ounces; it was taken as ounces by weight, {}.",
                            echo(&line.material.value),
                            show::mass_in(*mass, crate::quantity::MassUnit::Gram, 1)
                        ),
                    ));
                }
                Some((Written::On(Basis::Weights, mass.grams()), None, None))
            }
            Amount::Balance => Some((Written::Balance, None, None)),
            Amount::Effect { usual: Some(usual) } => self.amount(material, line, usual),
            Amount::Effect { usual: None } | Amount::Unknown => {
                // Reported where it was read.
                self.failed = true;
                None
            }
            Amount::Drop => {
                self.fail(
                    Finding::new(
                        kind::NOT_AN_AMOUNT,
                        line.amount.place.clone(),
                        format!(
                            "`drop` takes a line out of a variant; `{}` stands in a phase.",
                            echo(&line.material.value)
                        ),
                    )
                    .mend("Delete the line, or write it in a `[change.X]` table of a variant."),
                );
                None
            }
            Amount::Volume(volume) => {
                let (mass, uncertainty) = self.volume_to_mass(material, line, volume)?;
                Some((Written::On(Basis::Weights, mass), Some(uncertainty), Some(volume.text.clone())))
            }
        }
    }

    fn volume_to_mass(
        &mut self,
        material: &Arc<Material>,
        line: &LineBlock,
        volume: &VolumeAmount,
    ) -> Option<(Decimal, Decimal)> {
        let place = line.amount.place.clone();
        let refused = ["preservative", "acid", "base", "saponifier"].into_iter().find(|role| material.serves_as(role));
        if let Some(role) = refused {
            self.fail(Finding::new(
                kind::VOLUME_REFUSED,
                place,
                format!(
                    "`{}` is given as {}, but it is {} {role} and must be weighed.",
                    echo(&line.material.value),
                    echo(&volume.text),
                    if role == "acid" { "an" } else { "a" }
                ),
            ));
            return None;
        }
        if let Some((count, size)) = &volume.drops {
            let Some(size) = size else {
                self.fail(
                    Finding::new(
                        kind::NEEDS_DENSITY,
                        place,
                        format!("{} of `{}`: how much does one drop weigh?", echo(&volume.text), echo(&line.material.value)),
                    )
                    .because("From 20 to 41 drops of a liquid make one millilitre, depending on the bottle.")
                    .mend("Weigh 50 drops from the bottle in hand and write `{ volume = \"12 drops\", drop-weighs = \"0.03 g\" }`."),
                );
                return None;
            };
            return Some((*count * size.0.grams(), Decimal::ZERO));
        }
        let density = material.density.as_ref().and_then(|fact| fact.range());
        match (density, volume.volume) {
            (Some(density), Some(volume)) => {
                let mass = density.times(volume.millilitres());
                Some((mass.typical, (mass.high - mass.low) / Decimal::TWO))
            }
            _ => {
                self.fail(Finding::new(
                    kind::NEEDS_DENSITY,
                    place,
                    format!(
                        "{} of `{}` cannot be turned into a weight: its density is not known.",
                        echo(&volume.text),
                        echo(&line.material.value)
                    ),
                ));
                None
            }
        }
    }

    fn batch(&mut self) -> Option<Batch> {
        let spec = self.block.batch.as_ref()?;
        let density = self.block.density.as_ref().map(|density| density.value);
        match &spec.value {
            BatchSpec::Mass(mass) => Some(Batch { mass: *mass, given: BatchGiven::Mass }),
            BatchSpec::Volume(volume, text) => {
                let density = self.needed_density(density, &spec.place, text)?;
                let given = BatchGiven::Volume { text: text.clone(), density };
                Some(Batch { mass: density.mass_of(*volume), given })
            }
            BatchSpec::Fill(fill) => {
                let (one, density) = match &fill.content {
                    FillContent::Mass(mass) => (*mass, None),
                    FillContent::Volume(volume, text) => {
                        let density = self.needed_density(density, &spec.place, text)?;
                        (density.mass_of(*volume), Some(density))
                    }
                };
                let filled = one.grams() * fill.units;
                let mass = Mass::from_grams(filled + fill.overfill.of(filled));
                let (content, units, overfill) = (fill.content.clone(), fill.units, fill.overfill);
                Some(Batch { mass, given: BatchGiven::Fill { content, units, overfill, density } })
            }
        }
    }

    /// A batch that anybody could make; larger ones are slips of the point.
    fn is_weighable(&mut self, batch: &Batch) -> bool {
        let good = batch.mass.grams() <= Decimal::new(1_000_000_000_000, 0);
        if !good {
            let place =
                self.block.batch.as_ref().map_or_else(|| self.block.id.place.clone(), |batch| batch.place.clone());
            self.fail(
                Finding::new(
                    kind::WRONG_VALUE,
                    place,
                    format!("The batch comes to {} g.", batch.mass.grams().normalize()),
                )
                .mend("Look at the units and the number of packs; a batch is at most a million tonnes."),
            );
        }
        good
    }

    fn needed_density(&mut self, density: Option<Density>, place: &Place, text: &str) -> Option<Density> {
        if density.is_none() {
            self.failed = true;
        }
        // In a block that was misread the density may be what was; then that is already said.
        if density.is_none() && !self.block.broken {
            self.fail(
                Finding::new(
                    kind::NEEDS_DENSITY,
                    place.clone(),
                    format!("The batch is given by volume ({}), but the product's density is not.", echo(text)),
                )
                .mend("Weigh 100 ml of the product and add `density = \"1.02 g/ml\"`, or give the batch as a weight."),
            );
        }
        density
    }

    /// The one basis of all lines; lines on another are errors.
    fn basis(&mut self, phases: &[(usize, Vec<Half>)]) -> Option<Basis> {
        let halves = || phases.iter().flat_map(|(_, halves)| halves);
        let count = |wanted: Basis| {
            halves().filter(|half| matches!(half.amount, Written::On(basis, _) if basis == wanted)).count()
        };
        let counts = [Basis::Percent, Basis::Weights, Basis::Parts].map(|basis| (basis, count(basis)));
        // The most used basis is taken as meant; of equal ones the first.
        let (basis, _) = counts.into_iter().rev().max_by_key(|(_, count)| *count)?;
        let strangers: Vec<Finding> = halves()
            .filter_map(|half| match half.amount {
                Written::On(other, _) if other != basis => Some(Finding::new(
                    kind::MIXED_BASES,
                    half.line.amount_place.clone(),
                    format!(
                        "`{}` is in {}, the other lines are in {}.",
                        echo(&half.line.written),
                        words(other),
                        words(basis)
                    ),
                )),
                _ => None,
            })
            .collect();
        if strangers.is_empty() {
            return Some(basis);
        }
        strangers.into_iter().for_each(|finding| self.fail(finding));
        None
    }

    /// Gives every line its amount on the basis and returns the whole they add up to.
    fn put_on_basis(
        &mut self,
        phases: &mut [(usize, Vec<Half>)],
        basis: Basis,
        batch: Option<&Batch>,
    ) -> Option<Decimal> {
        let id = echo(&self.block.id.value);
        let halves = || phases.iter().flat_map(|(_, halves)| halves);
        let sum: Decimal =
            halves().map(|half| if let Written::On(_, amount) = half.amount { amount } else { Decimal::ZERO }).sum();
        let balances: Vec<(Place, String)> = halves()
            .filter(|half| half.amount == Written::Balance)
            .map(|half| (half.line.amount_place.clone(), half.line.written.clone()))
            .collect();
        if let [(first, first_name), (second, second_name), ..] = balances.as_slice() {
            self.fail(
                Finding::new(
                    kind::TWO_BALANCE_LINES,
                    second.clone(),
                    format!("Both `{}` and `{}` are q.s. to 100.", echo(first_name), echo(second_name)),
                )
                .also_at(first.clone(), "the first one"),
            );
            return None;
        }
        let whole = match (basis, balances.is_empty(), batch) {
            (Basis::Percent, _, _) => Decimal::ONE_HUNDRED,
            (Basis::Weights, false, Some(batch)) => batch.mass.grams(),
            (_, true, _) => sum,
            (_, false, _) => {
                let (place, name) = balances.first()?;
                self.fail(
                    Finding::new(
                        kind::MIXED_BASES,
                        place.clone(),
                        format!("`{}` is q.s. to 100, but the formula is in {}.", echo(name), words(basis)),
                    )
                    .mend(if basis == Basis::Weights {
                        "Give a `batch`, and the line takes what is missing to it; or write its weight."
                    } else {
                        "Write how many parts it is."
                    }),
                );
                return None;
            }
        };
        let rest = whole - sum;
        if let Some((place, name)) = balances.first() {
            if rest < Decimal::ZERO {
                let (kind, what) = if basis == Basis::Percent {
                    (
                        kind::BALANCE_BELOW_ZERO,
                        format!(
                            "The other lines of `{id}` add up to {sum} %, so `{}` would be −{} %.",
                            echo(name),
                            -rest
                        ),
                    )
                } else {
                    (
                        kind::BATCH_TOO_SMALL,
                        format!("The other lines of `{id}` weigh {sum} g, more than the batch of {whole} g."),
                    )
                };
                self.fail(Finding::new(kind, place.clone(), what));
                return None;
            }
        } else if !rest.is_zero() {
            let off =
                if rest > Decimal::ZERO { format!("{rest} % too little") } else { format!("{} % too much", -rest) };
            self.fail(Finding::new(
                kind::SUM_NOT_100,
                self.block.id.place.clone(),
                format!("The lines of `{id}` add up to {sum} %, {off}."),
            ));
            return None;
        }
        if whole <= Decimal::ZERO {
            self.fail(Finding::new(
                kind::EMPTY_FORMULA,
                self.block.id.place.clone(),
                format!("All amounts of `{id}` are zero."),
            ));
            return None;
        }
        if let (Basis::Weights, true, Some(batch)) = (basis, balances.is_empty(), batch)
            && whole != batch.mass.grams()
        {
            let place =
                self.block.batch.as_ref().map_or_else(|| self.block.id.place.clone(), |batch| batch.place.clone());
            self.findings.push(Finding::new(
                kind::WEIGHTS_SCALED,
                place,
                format!(
                    "The lines of `{id}` weigh {} g together, the batch is {} g; every line was scaled to it.",
                    whole.normalize(),
                    batch.mass.grams().normalize()
                ),
            ));
        }
        for (_, halves) in phases {
            for half in halves {
                half.line.amount = match half.amount {
                    Written::On(_, amount) => amount,
                    Written::Balance => rest,
                };
            }
        }
        Some(whole)
    }
}

fn words(basis: Basis) -> &'static str {
    match basis {
        Basis::Percent => "percent",
        Basis::Weights => "weights",
        Basis::Parts => "parts",
    }
}
