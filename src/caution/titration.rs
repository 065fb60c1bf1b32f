//! Titrations that give no dose, readings to be looked at again, what the dose does to the formula, and the care that acids and bases need.

use super::curve::OUTSIDE;
use super::{Case, examine, handling};
use crate::block::{Balance, TitrationBlock};
use crate::compute::{Computed, Titration, TitrationFault, with_dose};
use crate::material::{Catalogue, Group, IonTable, Material};
use crate::model::Settings;
use crate::quantity::{Decimal, Mass, MassUnit, Range, show};
use crate::report::{Finding, Kind, Place, Severity, echo, kind};
use std::sync::Arc;

pub(super) const KINDS: &[&Kind] = &[
    TOO_FEW,
    LESS,
    NOTHING_ADDED,
    USED_UP,
    NOT_STATED,
    TURNS_BACK,
    COARSE,
    WITHOUT_LINE,
    NOT_AS_COUNTED,
    BESIDE_SPECIFICATION,
    NO_TITRANT,
];

const TOO_FEW: &Kind = &Kind {
    name: "too-few-readings",
    severity: Severity::Error,
    summary: "A titration with fewer than three readings.",
    why: "pH does not follow the dose in proportion; two readings say nothing of what is between them.",
    mend: "Add in smaller steps and read after each, the first time before anything is added.",
};

const LESS: &Kind = &Kind {
    name: "addition-becomes-less",
    severity: Severity::Error,
    summary: "A cumulative addition that is less than the one before.",
    why: "What is in the sample stays there. Either the amounts are each and not cumulative, or one is a slip.",
    mend: "Write `additions = \"each\"`, or correct the amount.",
};

const NOTHING_ADDED: &Kind = &Kind {
    name: "nothing-added-between",
    severity: Severity::Error,
    summary: "Two readings of a titration with nothing added between them.",
    why: "One dose cannot have two pH; the second reading is mostly the one that has settled.",
    mend: "Keep the settled reading, or correct the amount.",
};

const USED_UP: &Kind = &Kind {
    name: "sample-used-up",
    severity: Severity::Error,
    summary: "A titration whose readings take more than its sample.",
    why: "Each reading takes its portion out of the sample, and what is thrown away cannot be dosed.",
    mend: "Correct the `sample` or the `product` of the `dilution`; where all of it stands in the water, both are the same.",
};

pub(super) const NOT_STATED: &Kind = &Kind {
    name: "reading-not-stated",
    severity: Severity::Question,
    summary: "A pH of which it is not said whether it was read neat or diluted.",
    why: "The two are different readings, and a specification holds for one of them.",
    mend: "Write `dilution = { product = \"2 g\", water = \"20 g\" }`, or `dilution = \"neat\"`.",
};

const TURNS_BACK: &Kind = &Kind {
    name: "reading-turns-back",
    severity: Severity::Question,
    summary: "A reading of a titration that goes against what was added.",
    why: "An acid takes the pH down and a base up. A reading that turns back was mostly taken before it had settled, or is a slip.",
    mend: "Read again, or correct it. Until then the first dose that reaches the pH is shown.",
};

const COARSE: &Kind = &Kind {
    name: "sample-too-small",
    severity: Severity::Note,
    summary: "A sample so small that the balance hardly sees the dose in it.",
    why: "An error in the sample's dose is the same share of the batch's.",
    mend: "Take a larger sample, a weaker solution, or a finer balance (`balance = \"0.01 g\"`).",
};

pub(super) const WITHOUT_LINE: &Kind = &Kind {
    name: "dose-without-line",
    severity: Severity::Question,
    summary: "A dose of something that the formula does not hold.",
    why: "On top of 100 % it is missing from the declaration and the limits, and everything else becomes less.",
    mend: "Give it a line that is dosed to effect: `{ percent = \"q.s.\", usual = 0.4, to = \"pH 5.2\" }`.",
};

const NOT_AS_COUNTED: &Kind = &Kind {
    name: "dose-not-as-counted",
    severity: Severity::Note,
    summary: "A dose that is far from what the formula counts for it.",
    why: "The difference is taken from the line that is q.s. to 100, so its weight on the sheet is not what the finished product holds.",
    mend: "Put the share found here into the formula as `usual`.",
};

const BESIDE_SPECIFICATION: &Kind = &Kind {
    name: "target-beside-specification",
    severity: Severity::Question,
    summary: "A titration to a pH that is not the one the formula states.",
    why: "A batch dosed to it would miss its own specification.",
    mend: "Correct the `target`, or leave it out: then the formula's `ph` holds.",
};

const NO_TITRANT: &Kind = &Kind {
    name: "titrant-not-known",
    severity: Severity::Question,
    summary: "A titration with something that is not known to be an acid or a base.",
    why: "What moves a pH only by thinning the product gives no dose that holds for a batch.",
    mend: "Name the acid or base that was added; for a material of your own say so in its `functions`, \"acid\" or \"base\".",
};

/// A dose off by this share of itself from the formula's is worth a word, and half a step of the balance above this share of the sample's dose too.
/// Common practice, no source.
const FAR: Decimal = Decimal::from_parts(2, 0, 0, false, 1);
const BALANCE_SHARE: Decimal = Decimal::from_parts(5, 0, 0, false, 2);

/// The findings for a titration that gives no dose.
pub fn titration_faults(faults: &[TitrationFault], block: &TitrationBlock, place: &Place) -> Vec<Finding> {
    let head = || head_of(place);
    let grams = |mass: Mass| show::grams(Mass::from_grams(mass.grams().normalize()));
    faults
        .iter()
        .map(|fault| match fault {
            TitrationFault::TooFew(count) => {
                let what = match count {
                    1 => "There is one reading; a titration has three at least.".to_owned(),
                    count => format!("There are {count} readings; a titration has three at least."),
                };
                Finding::new(TOO_FEW, head(), what)
            }
            TitrationFault::Less(amount, before) => {
                let what = format!("{} in all comes after {} in all.", grams(amount.value), grams(*before));
                Finding::new(LESS, amount.place.clone(), what).also_at(block.basis.place.clone(), "by this")
            }
            TitrationFault::NothingAdded(amount) => {
                let what = "Nothing was added since the reading before.";
                Finding::new(NOTHING_ADDED, amount.place.clone(), what)
            }
            TitrationFault::UsedUp(readings) => {
                let at = block.reading.as_ref().map_or_else(head, |reading| reading.place.clone());
                let what = match readings {
                    1 => format!("The first reading takes all of the {}.", grams(block.sample.value)),
                    n => format!("After {n} readings nothing is left of the {}.", grams(block.sample.value)),
                };
                Finding::new(USED_UP, at, what)
            }
            TitrationFault::NoTarget => {
                let what = "No pH is wanted: there is no `target`, and no formula that states its pH.";
                Finding::new(kind::MISSING_KEY, head(), what).mend("Write `target = 5.2` or `target = \"5.0..5.4\"`.")
            }
            TitrationFault::NoBatch => {
                let what = "It is not said how much product is to be dosed.";
                Finding::new(kind::MISSING_KEY, head(), what)
                    .mend("Write `batch = \"3 kg\"`, or name the `formula` whose batch it is.")
            }
            TitrationFault::Outside(target, wanted, low, high) => {
                let at = target.as_ref().map_or_else(head, |target| target.place.clone());
                let middle = match target {
                    Some(target) if target.value.low != target.value.high => ", the middle of what is wanted,",
                    _ => "",
                };
                let what =
                    format!("pH {wanted}{middle} lies outside of the readings, which go from pH {low} to {high}.");
                Finding::new(OUTSIDE, at, what).mend("Titrate on until the readings have passed it.")
            }
        })
        .collect()
}

fn head_of(place: &Place) -> Place {
    Place { path: place.path.clone(), span: place.span.start..place.span.start }
}

/// What a titration is judged with.
#[derive(Clone, Copy)]
pub struct TitrationCase<'a> {
    /// The block as written.
    pub block: &'a TitrationBlock,
    /// Where it stands.
    pub place: &'a Place,
    /// The acid or base.
    pub material: &'a Arc<Material>,
    /// The formula whose product is dosed.
    pub computed: Option<&'a Computed>,
    /// Materials, limits and hazards.
    pub catalogue: &'a Catalogue,
    /// Rule sets and the like.
    pub settings: &'a Settings,
    /// The balance.
    pub balance: Balance,
}

/// Everything that is to be said about a titration.
pub fn examine_titration(titration: &Titration, case: &TitrationCase<'_>) -> Vec<Finding> {
    let TitrationCase { block, place, material, .. } = *case;
    let mut findings = Vec::new();
    if titration.reading.is_none() {
        let what = "It is not said whether the pH was read in the product itself or in a dilution.";
        findings.push(Finding::new(NOT_STATED, head_of(place), what));
    }
    if !moves_the_ph(material) {
        let what = format!("`{}` is not known to be an acid, a base or a salt of one.", echo(&block.with.value));
        findings.push(Finding::new(NO_TITRANT, block.with.place.clone(), what));
    }
    findings.extend(turning_back(titration, case));
    findings.extend(coarse(titration, case));
    if let Some(computed) = case.computed {
        findings.extend(in_formula(titration, case, computed));
    }
    let strength = block.strength.map(|percent| Range::exactly(percent.value()));
    let materials = std::iter::once((&**material, strength));
    findings.extend(handling::of_materials(materials, &[], case.catalogue, &head_of(place)));
    findings
}

/// Whether a raw material is known to take a pH up or down: by what it is used for, or by an acid or base in it.
fn moves_the_ph(material: &Material) -> bool {
    let table = IonTable::built_in();
    let gives = |inci: &str| {
        // Hydroxides are ions without an acid of their own.
        table.by_inci(inci).is_some_and(|solute| solute.acid.is_some()) || inci.ends_with(" Hydroxide")
    };
    ["acid", "base"].iter().any(|function| material.serves_as(function))
        || Group::Acids.holds(material)
        || Group::Bases.holds(material)
        || material.contains.iter().any(|part| gives(&part.inci))
}

/// Readings that go against what was added, by more than the meter can tell.
fn turning_back(titration: &Titration, case: &TitrationCase<'_>) -> Vec<Finding> {
    let (acid, base) = (case.material.serves_as("acid"), case.material.serves_as("base"));
    let phs = || titration.readings.iter().map(|one| one.ph);
    // What is neither or both goes where its readings go on the whole.
    let falls = if acid == base { phs().next_back() < phs().next() } else { acid };
    let step = titration.resolution.unwrap_or_default();
    let pairs = phs().zip(phs().skip(1)).zip(case.block.points.iter().skip(1));
    pairs
        .filter(|((before, now), _)| if falls { *now > *before + step } else { *now < *before - step })
        .map(|((before, now), point)| {
            let (turned, thing) = if falls { ("above", "an acid") } else { ("below", "a base") };
            let thing = if acid == base { "more" } else { thing };
            let what = format!("pH {now} stands {turned} the {before} before it, although {thing} was added.");
            Finding::new(TURNS_BACK, point.ph.place.clone(), what)
        })
        .collect()
}

fn coarse(titration: &Titration, case: &TitrationCase<'_>) -> Option<Finding> {
    // Drops are counted, and what one weighs is known from many.
    if case.block.in_drops {
        return None;
    }
    let readability = case.balance.readability;
    // Nothing has to be added.
    if titration.per_hundred.is_zero() {
        return None;
    }
    let in_sample = titration.per_hundred * titration.sample.grams() / Decimal::ONE_HUNDRED;
    if readability.grams() / Decimal::TWO <= in_sample * BALANCE_SHARE {
        return None;
    }
    let decimals = readability.grams().normalize().scale();
    let what = format!(
        "The dose in the sample is {}, and the balance reads {}.",
        show::mass_in(Mass::from_grams(in_sample), MassUnit::Gram, decimals + 1),
        show::grams(readability)
    );
    Some(Finding::new(COARSE, case.block.sample.place.clone(), what))
}

/// What the dose does to the formula.
fn in_formula(titration: &Titration, case: &TitrationCase<'_>, computed: &Computed) -> Vec<Finding> {
    let mut findings = Vec::new();
    let formula = &computed.formula;
    let (id, percent) = (echo(&formula.id), titration.percent());
    let with = echo(&titration.with);
    let place = case.block.formula.as_ref().map_or_else(|| head_of(case.place), |formula| formula.place.clone());
    let line = titration.effect.as_ref().and_then(|effect| effect.line);
    match line {
        None => {
            let what = format!("`{id}` has no line `{with}`; the dose would be {} of it.", show::percent(percent));
            findings.push(Finding::new(WITHOUT_LINE, place.clone(), what));
        }
        Some(counted) => {
            let inside = titration.percent_ends().is_some_and(|(low, high)| low <= counted && counted <= high);
            if !inside && (percent - counted).abs() > counted.max(percent) * FAR {
                let what = format!(
                    "The dose is {} of the product, and `{id}` counts {} of `{with}`.",
                    show::percent(percent),
                    show::percent(counted)
                );
                findings.push(Finding::new(NOT_AS_COUNTED, place.clone(), what));
            }
        }
    }
    let middle = titration.middle();
    if let Some(ph) = formula.ph.filter(|ph| middle < ph.low.value() || ph.high.value() < middle) {
        let at = case.block.target.as_ref().map_or_else(|| place.clone(), |target| target.place.clone());
        let stated = show::ends(ph.low.value(), ph.high.value());
        let what = format!("The titration goes to pH {middle}, and `{id}` states {stated}.");
        findings.push(Finding::new(BESIDE_SPECIFICATION, at, what));
    }
    findings.extend(over_a_bound(titration, case, computed, &place));
    findings
}

/// Bounds of use levels and limits that the formula keeps as written and misses with the dose in it.
fn over_a_bound(titration: &Titration, case: &TitrationCase<'_>, computed: &Computed, place: &Place) -> Vec<Finding> {
    const BOUNDS: [&str; 5] =
        ["over-limit", "over-limit-as-weighed", "over-advised-limit", "above-use-level", "five-times-usual"];
    let dosed = Computed::new(with_dose(&computed.formula, case.material, titration.percent(), place));
    let of = |computed| {
        let case = Case { computed, catalogue: case.catalogue, settings: case.settings };
        let mut findings = examine(&case);
        findings.retain(|finding| BOUNDS.contains(&finding.kind.name));
        findings
    };
    let before = of(computed);
    let is_known = |finding: &Finding| {
        before.iter().any(|known| known.kind.name == finding.kind.name && known.place == finding.place)
    };
    of(&dosed)
        .into_iter()
        .filter(|finding| !is_known(finding))
        .map(|mut finding| {
            finding.what = format!("With this dose in `{}`: {}", echo(&computed.formula.id), finding.what);
            finding.place = place.clone();
            finding.more.clear();
            finding
        })
        .collect()
}
