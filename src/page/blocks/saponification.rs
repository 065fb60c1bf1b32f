//! A saponification as its template sees it.

use super::super::context::{FindingContext, NumberContext, number_context};
use crate::block::{LyeWater, Stage};
use crate::compute::{Alkali, Outcome, Saponification, span};
use crate::quantity::show;
use serde::Serialize;

/// The part of the context `b` that belongs to a saponification.
#[derive(Debug, Serialize)]
pub(super) struct SaponificationContext {
    title: String,
    cares: Vec<FindingContext>,
    fats: Vec<FatContext>,
    lyes: Vec<LyeContext>,
    hydroxides: String,
    water: Option<NumberContext>,
    water_as: String,
    fats_total: Option<NumberContext>,
    lye_solution: Option<NumberContext>,
    total: Option<NumberContext>,
    superfat: Option<NumberContext>,
    lowest: Option<NumberContext>,
    highest: Option<NumberContext>,
    free_alkali: Option<NumberContext>,
    strength: Option<NumberContext>,
    value: Option<NumberContext>,
    is_soft: bool,
    profile: ProfileContext,
    rescue: Option<RescueContext>,
}

#[derive(Debug, Serialize)]
struct FatContext {
    key: String,
    name: String,
    lot: String,
    range: String,
    value: Option<NumberContext>,
    percent: String,
    weight: Option<NumberContext>,
    lye: Option<NumberContext>,
    source: String,
}

#[derive(Debug, Serialize)]
struct LyeContext {
    key: String,
    name: String,
    purity: String,
    part: String,
    weight: Option<NumberContext>,
}

#[derive(Debug, Serialize)]
struct ProfileContext {
    acids: Vec<AcidContext>,
    known: String,
    unknown: Vec<String>,
    sources: Vec<String>,
}

#[derive(Debug, Serialize)]
struct AcidContext {
    name: &'static str,
    code: &'static str,
    share: Option<NumberContext>,
}

#[derive(Debug, Serialize)]
struct RescueContext {
    /// as-planned, little, much, too-much or set.
    outcome: &'static str,
    stage: &'static str,
    superfat: Option<NumberContext>,
    lowest: Option<NumberContext>,
    free_alkali: Option<NumberContext>,
    lines: Vec<LineContext>,
    water: Option<NumberContext>,
}

#[derive(Debug, Serialize)]
struct LineContext {
    name: String,
    weight: Option<NumberContext>,
}

/// The care that lye needs stands at the head of the block, so it is taken out of the findings below.
pub(super) fn context(soap: &Saponification, id: &str, findings: &mut Vec<FindingContext>) -> SaponificationContext {
    let figure = |path: &[&str]| soap.figure(id, path).map(|figure| number_context(&figure, None, None));
    let cares = findings.extract_if(.., |finding| finding.name == "handle-with-care").collect();
    let fats: Vec<FatContext> = soap
        .fats
        .iter()
        .map(|fat| FatContext {
            key: fat.key.clone(),
            name: fat.name.clone(),
            lot: fat.lot.clone().unwrap_or_default(),
            range: span(fat.value),
            value: figure(&[&fat.key, "saponification-value"]),
            percent: show::percent_number(fat.percent),
            weight: figure(&[&fat.key, "weight"]),
            lye: figure(&[&fat.key, "lye"]),
            source: fat.source.clone(),
        })
        .collect();
    let is_both = soap.lyes.len() > 1;
    let lyes = soap
        .lyes
        .iter()
        .map(|lye| LyeContext {
            key: lye.key.clone(),
            name: lye.name.clone(),
            purity: if lye.purity.is_exact() {
                show::percent(lye.purity.typical)
            } else {
                let given = show::percent_range(lye.purity, if lye.purity.low.fract().is_zero() { 0 } else { 1 });
                format!("{} ({given})", show::percent(lye.purity.typical.normalize()))
            },
            part: if is_both {
                show::percent((lye.part * crate::quantity::Decimal::ONE_HUNDRED).normalize())
            } else {
                String::new()
            },
            weight: figure(&[&lye.key]),
        })
        .collect();
    let hydroxides: Vec<&str> = soap.lyes.iter().map(|lye| lye.alkali.word()).collect();
    SaponificationContext {
        title: soap.title.clone().unwrap_or_else(|| format!("Soap with {}", hydroxides.join(" and "))),
        cares,
        fats,
        lyes,
        hydroxides: hydroxides.join(" and "),
        water: figure(&["water"]),
        water_as: match soap.water_as {
            LyeWater::Strength(strength) => format!("for a lye of {}", show::percent(strength.value())),
            LyeWater::Ratio(ratio) => format!("{} to 1 of hydroxide", show::plain(ratio.round_dp(2))),
            LyeWater::OfFats(share) => format!("{} of the fats", show::percent(share.value())),
            LyeWater::Mass(_) => "as given".to_owned(),
        },
        fats_total: figure(&["fats"]),
        lye_solution: figure(&["lye-solution"]),
        total: figure(&["total"]),
        superfat: figure(&["superfat"]),
        lowest: figure(&["superfat", "lowest"]),
        highest: figure(&["superfat", "highest"]),
        free_alkali: figure(&["free-alkali"]),
        strength: figure(&["lye-strength"]),
        value: figure(&["saponification-value"]),
        is_soft: soap.lyes.iter().all(|lye| lye.alkali == Alkali::Potassium),
        profile: ProfileContext {
            acids: soap
                .profile
                .acids
                .iter()
                .map(|(name, code, _)| AcidContext { name, code, share: figure(&["acids", name]) })
                .collect(),
            known: show::percent(soap.profile.known),
            unknown: soap.profile.unknown.clone(),
            sources: soap.profile.sources.clone(),
        },
        rescue: soap.rescue.as_ref().map(|rescue| {
            let (outcome, keys): (_, Vec<&String>) = match &rescue.outcome {
                Outcome::AsPlanned => ("as-planned", Vec::new()),
                Outcome::Little(missing) => ("little", missing.iter().map(|(key, _)| key).collect()),
                Outcome::Much { fats, .. } => ("much", fats.iter().map(|(key, _)| key).collect()),
                Outcome::Held => ("held", Vec::new()),
                Outcome::TooMuch => ("too-much", Vec::new()),
                Outcome::Set => ("set", Vec::new()),
            };
            let name_of = |key: &str| {
                let fat = soap.fats.iter().find(|fat| fat.key == key).map(|fat| fat.name.clone());
                fat.or_else(|| soap.lyes.iter().find(|lye| lye.key == key).map(|lye| lye.name.clone()))
            };
            RescueContext {
                outcome,
                stage: match rescue.stage {
                    None => "",
                    Some(Stage::Lye) => "lye",
                    Some(Stage::Batter) => "batter",
                    Some(Stage::Set) => "set",
                },
                superfat: figure(&["rescue", "superfat"]),
                lowest: figure(&["rescue", "lowest"]),
                free_alkali: figure(&["rescue", "free-alkali"]),
                lines: keys
                    .into_iter()
                    .map(|key| LineContext { name: name_of(key).unwrap_or_default(), weight: figure(&["rescue", key]) })
                    .collect(),
                water: figure(&["rescue", "water"]),
            }
        }),
    }
}
