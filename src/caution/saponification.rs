//! Lye and fats: what cannot be worked out, what may leave alkali in the soap, what mends a weighing mistake, and how lye is handled.

use super::{handling, poorly_weighed};
use crate::block::{Balance, SaponificationBlock, Stage};
use crate::compute::{Fat, MOST, Outcome, Rescue, Saponification, SaponificationFault, span};
use crate::material::{Catalogue, Material};
use crate::quantity::{Decimal, Mass, MassUnit, round_half_even, show};
use crate::report::{Finding, Kind, Place, Severity, echo, kind, suggestion};
use std::sync::Arc;

pub(super) const KINDS: &[&Kind] = &[
    NO_VALUE,
    BELOW_ZERO,
    NOT_LYE,
    NOT_SHARED,
    NOTHING_TAKES_LYE,
    FREE_ALKALI,
    HIGH,
    UNLIKE,
    STRENGTH,
    WEIGHED_OTHERWISE,
    PAST_RESCUE,
    PURITY,
    STAYS,
];

const NO_VALUE: &Kind = &Kind {
    name: "no-saponification-value",
    severity: Severity::Error,
    summary: "A raw material among the fats of which no saponification value is known.",
    why: "How much lye it takes is then not known, and lye that nothing takes burns skin.",
    mend: "Give the value of its certificate: `{ percent = 10, saponification-value = \"190 mg KOH/g\" }`.",
};

const BELOW_ZERO: &Kind = &Kind {
    name: "superfat-below-zero",
    severity: Severity::Error,
    summary: "More lye than the fats can take.",
    why: "What the fats do not take stays in the soap as lye and burns skin and eyes. Soap that is boiled with too much lye and salted out is another craft.",
    mend: "Write a superfat from 0 % on; 3 to 8 % is usual for skin (common practice, no source).",
};

const NOT_LYE: &Kind = &Kind {
    name: "no-solid-hydroxide",
    severity: Severity::Error,
    summary: "Something in `[lye]` that is neither solid sodium hydroxide nor solid potassium hydroxide.",
    why: "What it brings of alkali is not known, or it brings water of its own.",
    mend: "Name `sodium-hydroxide` or `potassium-hydroxide`, with its `purity`.",
};

const NOT_SHARED: &Kind = &Kind {
    name: "lye-not-shared",
    severity: Severity::Error,
    summary: "Hydroxides of which it is not settled how they share the fat.",
    why: "One gram of sodium hydroxide does as much as 1.40 g of potassium hydroxide.",
    mend: "Give one of two hydroxides its `share`.",
};

const NOTHING_TAKES_LYE: &Kind = &Kind {
    name: "nothing-takes-lye",
    severity: Severity::Error,
    summary: "A saponification in which nothing takes lye.",
    why: "Mineral oils and waxes of petroleum do not become soap, however much lye there is.",
    mend: "Take a fat.",
};

const FREE_ALKALI: &Kind = &Kind {
    name: "free-alkali-possible",
    severity: Severity::Caution,
    summary: "Fats and lye of which the worst case leaves alkali in the soap.",
    why: "Fats vary from lot to lot; lye that the fats do not take burns skin and eyes.",
    mend: "Raise the superfat, or give the saponification values that the certificates of the lots state.",
};

const HIGH: &Kind = &Kind {
    name: "superfat-high",
    severity: Severity::Caution,
    summary: "A superfat above 20 %.",
    why: "So much fat stays as it is that the soap is soft, lathers little and turns rancid. Up to 20 % is usual in soap of coconut oil alone.",
    mend: "Lower the superfat, or look for a slip of the point.",
};

const UNLIKE: &Kind = &Kind {
    name: "saponification-value-unlike",
    severity: Severity::Caution,
    summary: "A saponification value far from what is published for the fat.",
    why: "A list for sodium hydroxide, a slip of the pen and another fat all look like this.",
    mend: "Look at the unit: a value for sodium hydroxide is written `\"135 mg NaOH/g\"`; then at the certificate.",
};

const STRENGTH: &Kind = &Kind {
    name: "lye-strength-unusual",
    severity: Severity::Caution,
    summary: "A lye that is thinner or stronger than soap makers use.",
    why: "Thin lye makes a batter that separates; strong lye does not dissolve, spits, and leaves grains of hydroxide in the soap.",
    mend: "Between 25 and 40 % is usual with sodium hydroxide, 22 to 33 % with potassium hydroxide.",
};

const WEIGHED_OTHERWISE: &Kind = &Kind {
    name: "lye-weighed-otherwise",
    severity: Severity::Caution,
    summary: "Another amount of lye was weighed than the fats need.",
    why: "Lye that the fats do not take burns skin and eyes.",
    mend: "Do what the table says, and write down what was done.",
};

const PAST_RESCUE: &Kind = &Kind {
    name: "past-rescue",
    severity: Severity::Caution,
    summary: "So much lye, or so late, that more fat does not make the batch safe.",
    why: "More fat cannot be stirred evenly into soap that has set, nor so much of it into a vessel meant for half.",
    mend: "Use none of it. Hand it in as corrosive waste, closed and labelled, as the local rules say.",
};

const PURITY: &Kind = &Kind {
    name: "purity-not-stated",
    severity: Severity::Question,
    summary: "A hydroxide whose purity is not stated.",
    why: "Hydroxides are sold from 85 to 100 %; the difference is larger than any usual superfat.",
    mend: "Write what the label says: `purity = \"98 %\"`.",
};

const STAYS: &Kind = &Kind {
    name: "stays-unsaponified",
    severity: Severity::Note,
    summary: "A part of a fat or wax that does not become soap.",
    why: "It stays in the soap as it is, beside the superfat: it softens the soap or makes it waxy, and takes from the lather.",
    mend: "Nothing has to be changed; its share of the lye is reckoned from its saponification value.",
};

/// Above this a superfat is cautioned, %. Common practice, no source.
const HIGH_FROM: Decimal = Decimal::from_parts(20, 0, 0, false, 0);

/// A material that takes less is a wax or is half of something else, mg KOH/g: the fats of the catalogue begin at 160, its waxes end at 110.
const FAT_FROM: Decimal = Decimal::from_parts(120, 0, 0, false, 0);

/// Hydroxide in the lye, %: the usual spans for both hydroxides with some room. Common practice, no source.
const STRENGTHS: (Decimal, Decimal) =
    (Decimal::from_parts(20, 0, 0, false, 0), Decimal::from_parts(45, 0, 0, false, 0));

const PRACTICE: &str = "common practice, no source";

/// The findings for a saponification that cannot be worked out.
pub fn saponification_faults(
    faults: &[SaponificationFault],
    block: &SaponificationBlock,
    catalogue: &Catalogue,
    place: &Place,
) -> Vec<Finding> {
    let head = Place { path: place.path.clone(), span: place.span.start..place.span.start };
    let one = |fault: &SaponificationFault| match fault {
        SaponificationFault::Unknown(name) => {
            let what = format!("`{}` is not a raw material that is known here.", echo(&name.value));
            let mend = suggestion(&name.value, catalogue.ids(), kind::UNKNOWN_MATERIAL.mend);
            Finding::new(kind::UNKNOWN_MATERIAL, name.place.clone(), what).mend(mend)
        }
        SaponificationFault::NoValue(name, material) => {
            let what = format!("`{}` ({}) has no saponification value.", echo(&name.value), material.name);
            Finding::new(NO_VALUE, name.place.clone(), what)
        }
        SaponificationFault::NotLye(name) => {
            let what = format!("`{}` is no solid sodium or potassium hydroxide.", echo(&name.value));
            Finding::new(NOT_LYE, name.place.clone(), what)
        }
        SaponificationFault::Sum(sum)
            if block.fats.iter().any(|fat| fat.amount.value == crate::block::FatAmount::Rest) =>
        {
            let what = format!("The other fats already make {}.", show::percent(*sum));
            Finding::new(kind::BALANCE_BELOW_ZERO, head.clone(), what)
        }
        SaponificationFault::Sum(sum) => {
            let off = *sum - Decimal::ONE_HUNDRED;
            let side = if off > Decimal::ZERO { "more" } else { "less" };
            let what =
                format!("The fats add up to {}, {} {side} than 100 %.", show::percent(*sum), show::percent(off.abs()));
            Finding::new(kind::SUM_NOT_100, head.clone(), what)
                .because("Every fat would be weighed off by the same share, and the lye with them.")
        }
        SaponificationFault::TwoRests(second) => {
            Finding::new(kind::TWO_BALANCE_LINES, second.place.clone(), "More than one fat is q.s. to 100.")
        }
        SaponificationFault::SuperfatBelowZero => {
            let superfat = &block.superfat;
            let what =
                format!("A superfat of {} is more lye than the fats take.", show::percent(superfat.value.value()));
            Finding::new(BELOW_ZERO, superfat.place.clone(), what)
        }
        SaponificationFault::ShareNotSettled(mend) => {
            let place = block.lyes.first().map_or_else(|| head.clone(), |lye| lye.name.place.clone());
            Finding::new(NOT_SHARED, place, "It is not settled how much each hydroxide does.").mend(*mend)
        }
        SaponificationFault::NothingTakesLye => {
            let place = block.fats.first().map_or_else(|| head.clone(), |fat| fat.name.place.clone());
            Finding::new(NOTHING_TAKES_LYE, place, "Nothing among the fats takes lye.")
        }
    };
    faults.iter().map(one).collect()
}

/// What is to be said about a saponification.
pub fn examine_saponification(
    soap: &Saponification,
    block: &SaponificationBlock,
    catalogue: &Catalogue,
    balance: Balance,
    place: &Place,
) -> Vec<Finding> {
    let head = Place { path: place.path.clone(), span: place.span.start..place.span.start };
    let mut findings = Vec::new();
    if let Some(rescue) = &soap.rescue {
        let weighed = block.lyes.iter().find_map(|lye| lye.weighed.as_ref()).map(|weighed| weighed.place.clone());
        findings.extend(of_rescue(soap, rescue, &weighed.unwrap_or_else(|| head.clone())));
    }
    findings.extend(free_alkali(soap, &block.superfat.place));
    if soap.superfat.value() > HIGH_FROM {
        let what = format!("A superfat of {} is above {HIGH_FROM} %.", show::percent(soap.superfat.value()));
        findings.push(Finding::new(HIGH, block.superfat.place.clone(), what).source(PRACTICE));
    }
    findings.extend(strength(soap, &block.water.place));
    for (lye, written) in soap.lyes.iter().zip(&block.lyes).filter(|(lye, _)| !lye.is_purity_given) {
        let what = format!(
            "The purity of `{}` is not stated; it was counted as {}, from the catalogue's {}.",
            lye.key,
            show::percent(lye.purity.typical),
            show::percent_range(lye.purity, 0),
        );
        findings.push(Finding::new(PURITY, written.name.place.clone(), what));
    }
    for (fat, written) in soap.fats.iter().zip(&block.fats) {
        findings.extend(unlike(fat, &written.amount.place));
        findings.extend(stays(fat, catalogue.material(&fat.key), &written.name.place));
    }
    findings.extend(badly_weighed(soap, balance, &head));
    let all = soap.lyes.iter().map(|lye| &lye.key).chain(soap.fats.iter().map(|fat| &fat.key));
    let materials = all.filter_map(|key| catalogue.material(key));
    findings.extend(handling::of_materials(materials.map(|one| (&**one, None)), &[], catalogue, &head));
    findings.extend(CARES.iter().map(|care| Finding::new(handling::KIND, head.clone(), *care).source(PRACTICE)));
    findings
}

/// What the hazards of the hydroxides do not say already.
const CARES: [&str; 3] = [
    "Mind the vessel and the air: stainless steel, or polypropylene that bears boiling water; never aluminium, zinc or tin, from which lye makes hydrogen. Open the windows, and do not breathe what rises.",
    "Keep others out: children and animals stay out until all is washed up, nothing with lye in it stands alone or without a label, and fresh soap is handled like lye.",
    "On skin or in an eye: rinse with running water, at once, for a quarter of an hour at least, and take off what is soaked; then medical help. Vinegar is not the first aid. Local rules and the rules of the house come first.",
];

/// The superfat is judged by the worst case as it is printed: what rounds to nothing is nothing.
fn free_alkali(soap: &Saponification, place: &Place) -> Option<Finding> {
    let free = soap.free_alkali();
    if round_half_even(free, 2).is_zero() {
        return None;
    }
    let lowest = soap.lowest_superfat().unwrap_or_default();
    let what = format!(
        "With all fats at the low end of their saponification values and the lye at the high end of its purity the superfat is {}, and {} of the whole is free alkali, as NaOH.",
        show::percent_to(lowest, 1).replace('-', "−"),
        show::percent_to(free, 2),
    );
    let safe = soap.safe_superfat();
    let finding = Finding::new(FREE_ALKALI, place.clone(), what)
        .source("the published ranges of the saponification values, in the table");
    if safe > HIGH_FROM {
        return Some(finding.mend("Give the saponification values and the purity that the certificates of the lots state; a superfat alone does not cover so wide a range."));
    }
    Some(finding.mend(format!(
        "From a superfat of {safe} % on nothing is left over in the worst case. With the saponification values that the certificates of the lots state, the range narrows."
    )))
}

fn strength(soap: &Saponification, place: &Place) -> Option<Finding> {
    let lye = soap.lye_weighed().grams();
    let strength = (lye * Decimal::ONE_HUNDRED).checked_div(lye + soap.water_weighed().grams())?;
    let (low, high) = STRENGTHS;
    let is_usual = low <= strength && strength <= high;
    (!is_usual).then(|| {
        let what = format!("The lye is {} hydroxide; {low} to {high} % is usual.", show::percent_to(strength, 1));
        Finding::new(STRENGTH, place.clone(), what).source(PRACTICE)
    })
}

/// A value that is given and lies a tenth or more outside what is published.
fn unlike(fat: &Fat, place: &Place) -> Option<Finding> {
    let published = fat.published.filter(|_| fat.is_given)?;
    let tenth = Decimal::new(1, 1);
    let given = fat.value.typical;
    let fits = published.low * (Decimal::ONE - tenth) <= given && given <= published.high * (Decimal::ONE + tenth);
    (!fits).then(|| {
        let what = format!(
            "`{}` is given {} mg KOH/g; {} is published.",
            fat.key,
            show::plain(round_half_even(given, 1)),
            span(published),
        );
        Finding::new(UNLIKE, place.clone(), what)
            .source("a tenth beyond the published range: common practice, no source")
    })
}

fn stays(fat: &Fat, material: Option<&Arc<Material>>, place: &Place) -> Option<Finding> {
    let known = material.and_then(|one| one.details.iter().find(|detail| detail.key == "unsaponifiable"));
    let what = if fat.value.high.is_zero() {
        format!("`{}` takes no lye: all of it stays as it is.", fat.key)
    } else if fat.value.high < FAT_FROM {
        format!(
            "`{}` takes {} mg KOH/g, about half of what a fat takes: a wax of which the alcohols, or whatever else it holds, do not become soap.",
            fat.key,
            span(fat.value)
        )
    } else {
        let detail = known?;
        let source = detail.source.as_ref().map_or_else(|| PRACTICE.to_owned(), |source| source.line());
        let what = format!("Of `{}` {} does not become soap.", fat.key, detail.text);
        return Some(Finding::new(STAYS, place.clone(), what).source(source));
    };
    Some(Finding::new(STAYS, place.clone(), what).source(fat.source.clone()))
}

fn of_rescue(soap: &Saponification, rescue: &Rescue, place: &Place) -> Option<Finding> {
    let grams = |mass: Mass| show::mass_in(mass, MassUnit::Gram, soap.readability.grams().normalize().scale());
    let weighed = rescue.weighed.iter().filter(|(_, planned, weighed)| planned != weighed);
    let weighed: Vec<String> = weighed
        .map(|(key, planned, weighed)| {
            format!("{} of `{key}` were weighed where the fats need {}", grams(*weighed), grams(*planned))
        })
        .collect();
    let shown = |superfat| show::percent_to(superfat, 1).replace('-', "−");
    let worst = match shown(rescue.lowest) {
        lowest if lowest == shown(rescue.superfat) => String::new(),
        lowest => format!(", in the worst case {lowest}"),
    };
    let left = if round_half_even(rescue.free, 2).is_zero() {
        String::new()
    } else {
        format!(", and {} of the whole would be free alkali, as NaOH", show::percent_to(rescue.free, 2))
    };
    let what = format!("{}: the superfat would be {}{worst}{left}.", weighed.join(" and "), shown(rescue.superfat),);
    let finding = |kind| Finding::new(kind, place.clone(), what.clone()).source(PRACTICE);
    match &rescue.outcome {
        Outcome::AsPlanned => None,
        Outcome::Little(_) if rescue.stage == Some(Stage::Set) => Some(
            finding(WEIGHED_OTHERWISE)
                .because("Too little lye burns nobody, but the soap is soft and turns rancid.")
                .mend("Nothing can be added any more; use it soon, or grate it and melt it again with the lye that is missing."),
        ),
        Outcome::Little(_) => Some(
            finding(WEIGHED_OTHERWISE)
                .because("Too little lye burns nobody, but the soap stays soft and turns rancid.")
                .mend("Weigh the hydroxide that the table says as well; in a batter, dissolve it in three times its weight of water, let that cool, and stir it in."),
        ),
        Outcome::Held => Some(
            finding(WEIGHED_OTHERWISE)
                .because("There is less superfat than planned, and even in the worst case no alkali is left over.")
                .mend("Nothing has to be added; measure the pH before anybody uses it, and write down what was weighed."),
        ),
        Outcome::Much { .. } => Some(finding(WEIGHED_OTHERWISE).mend(
            "While it is lye, or a batter that still pours: warm what the table says of the fats, in a vessel that holds it all, and stir it in with the water. Once it has set, use none of it.",
        )),
        Outcome::TooMuch => Some(finding(PAST_RESCUE).because(format!(
            "It is more than {MOST} times the lye that was planned; so much more fat does not go into a vessel, a heat and a stirring that were meant for half of it."
        )).mend("Do not pour fat into it. As lye that has met no fat it can be kept, closed and labelled, for batches that are worked out for it; mixed with fat it is handed in as corrosive waste, as the local rules say.")),
        Outcome::Set => Some(finding(PAST_RESCUE).because("Fat cannot be stirred evenly into soap that has set: one bar would be mild and the next would burn.")),
    }
}

fn badly_weighed(soap: &Saponification, balance: Balance, place: &Place) -> Vec<Finding> {
    let lyes = soap.lyes.iter().map(|lye| (&lye.key, lye.mass, lye.weighed));
    let fats = soap.fats.iter().map(|fat| (&fat.key, fat.mass, fat.weighed));
    let mend = "Make a larger batch, or weigh on a finer balance (`balance = \"0.01 g\"`).";
    lyes.chain(fats)
        .filter_map(|(key, exact, printed)| poorly_weighed::amount(key, exact, printed, "this batch", balance, place))
        .map(|finding| finding.mend(mend))
        .collect()
}
