//! The `saponification` block: fats and lye, for soap.
//!
//! Keys: `[fats]` with a line for each, all in per cent of the fats (with `batch`, the weight of all fats) or all in weights; `[lye]` with `sodium-hydroxide`,
//! `potassium-hydroxide` or both, each with its `purity`, its `share` where there are two, and what was really `weighed`; `superfat`; the water as
//! `lye-strength` or `water`; `stage`, how far a batch with a weighing mistake has come; `title` and `balance`.

use super::amount::{Amount, read_amount, read_amount_text, read_mass};
use super::formula::{Balance, read_balance, read_share_range};
use super::reader::{Placed, Reader, Table, as_table, flat, number_text};
use crate::quantity::{Decimal, Mass, Percent, Range, read_decimal, split_number};
use crate::report::{Finding, echo, kind};
use serde::Serialize;
use toml::Spanned;
use toml::de::DeValue;

/// How much of a fat.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FatAmount {
    /// % by weight of all fats.
    Percent(Percent),
    /// A weight.
    Mass(Mass),
    /// What the others leave of 100 %.
    Rest,
}

/// The alkali that a saponification value counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ValueUnit {
    /// mg KOH/g, as saponification values are stated (ISO 3657).
    PotassiumHydroxide,
    /// mg NaOH/g, as lists for soap makers state them.
    SodiumHydroxide,
}

/// A saponification value as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct GivenValue {
    /// The value or its range.
    pub range: Range,
    /// What it counts.
    pub unit: ValueUnit,
    /// As typed.
    pub text: String,
}

/// A line of `[fats]`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FatBlock {
    /// The raw material.
    pub name: Placed<String>,
    /// How much.
    pub amount: Placed<FatAmount>,
    /// The saponification value of the lot.
    pub value: Option<Placed<GivenValue>>,
    /// The lot.
    pub lot: Option<String>,
}

/// What the share of a hydroxide is a share of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ShareOf {
    /// Of the fat that is saponified: so much of it is saponified with this hydroxide.
    Fat,
    /// Of the pure alkali by weight.
    Alkali,
}

/// A line of `[lye]`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LyeBlock {
    /// The raw material.
    pub name: Placed<String>,
    /// Its share beside the other hydroxide, %.
    pub share: Option<Placed<(Percent, ShareOf)>>,
    /// How much of it is the hydroxide, % by weight.
    pub purity: Option<Range>,
    /// What was really weighed.
    pub weighed: Option<Placed<Mass>>,
}

/// How much water.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LyeWater {
    /// Hydroxide as weighed, % of hydroxide and water.
    Strength(Percent),
    /// So many parts of water to one of hydroxide as weighed.
    Ratio(Decimal),
    /// % of the weight of the fats.
    OfFats(Percent),
    /// A weight.
    Mass(Mass),
}

/// How far a batch has come in which something else was weighed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// The lye stands by itself.
    Lye,
    /// Lye and fats are mixed and still pour.
    Batter,
    /// It has set.
    Set,
}

/// A saponification as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SaponificationBlock {
    /// Its title.
    pub title: Option<String>,
    /// The fats, one or more, all in per cent or all in weights.
    pub fats: Vec<FatBlock>,
    /// The weight of all fats, where they are in per cent.
    pub batch: Option<Mass>,
    /// The hydroxides, one or two.
    pub lyes: Vec<LyeBlock>,
    /// So much less lye than the fats take in all, %.
    pub superfat: Placed<Percent>,
    /// The water.
    pub water: Placed<LyeWater>,
    /// How far a batch with a weighing mistake has come.
    pub stage: Option<Stage>,
    /// The balance.
    pub balance: Option<Balance>,
}

/// The bounds of the water, beyond which a point or a basis has slipped: parts to one of hydroxide, and % of the fats.
const MOST_RATIO: Decimal = Decimal::from_parts(20, 0, 0, false, 0);
const MOST_OF_FATS: Decimal = Decimal::from_parts(300, 0, 0, false, 0);

/// A solid hydroxide holds at least so much of it, %. The pharmacopoeias allow potassium hydroxide down to 85 % (Handbook of Pharmaceutical Excipients,
/// 5th ed., 2006); what is far below is a solution.
pub(crate) const LEAST_PURITY: Decimal = Decimal::from_parts(80, 0, 0, false, 0);

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<SaponificationBlock> {
    let title = table.text("title").map(|title| title.value);
    let balance = table.get("balance").map(|value| read_balance(reader, value));
    let batch_text = table.text("batch");
    let batch = batch_text.as_ref().map(|text| read_mass(reader, text, "`batch`"));
    let superfat = read_superfat(reader, table);
    let water = read_water(reader, table);
    let stage = table.text("stage").map(|word| {
        let stage = match word.value.trim() {
            "lye" => Some(Stage::Lye),
            "batter" => Some(Stage::Batter),
            "set" => Some(Stage::Set),
            _ => None,
        };
        if stage.is_none() {
            reader.wrong(word.place, "`stage`", "\"lye\", \"batter\" or \"set\"");
        }
        stage
    });
    let fats = read_fats(reader, table);
    let lyes = read_lyes(reader, table);
    let (fats, lyes) = (fats?, lyes?);
    let in_percent = fats.iter().any(|fat| !matches!(fat.amount.value, FatAmount::Mass(_)));
    match (in_percent, &batch_text) {
        (true, None) if table.get("batch").is_none() => {
            reader.push(
                Finding::new(
                    kind::MISSING_KEY,
                    reader.cutting.head(),
                    "The fats are in per cent and there is no `batch`.",
                )
                .mend("Write how much all fats weigh together: `batch = \"1 kg\"`."),
            );
            return None;
        }
        (false, Some(batch)) => {
            reader.push(
                Finding::new(
                    kind::WRONG_VALUE,
                    batch.place.clone(),
                    "The fats are in weights, so `batch` says nothing.",
                )
                .mend("Leave it out, or write the fats in per cent; `batch` is the weight of all fats."),
            );
            return None;
        }
        _ => {}
    }
    if let Some(stage) = table.get("stage").filter(|_| lyes.iter().all(|lye| lye.weighed.is_none())) {
        reader.push(
            Finding::new(kind::WRONG_VALUE, reader.place_of(stage), "`stage` says nothing where nothing is `weighed`.")
                .mend("Write beside the hydroxide what was weighed, `{ purity = \"98 %\", weighed = \"180 g\" }`, or leave `stage` out."),
        );
    }
    Some(SaponificationBlock {
        title,
        fats,
        batch: flat(batch)?,
        lyes,
        superfat: superfat?,
        water: water?,
        stage: flat(stage)?,
        balance: flat(balance)?,
    })
}

fn read_superfat(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<Placed<Percent>> {
    let Some(value) = table.get("superfat") else {
        reader.push(
            Finding::new(kind::MISSING_KEY, reader.cutting.head(), "There is no `superfat`.")
                .because("How much fat is left unsaponified decides how much lye is safe, so it is not guessed.")
                .mend("Write `superfat = \"5 %\"`: so much less lye than the fats take in all."),
        );
        return None;
    };
    let place = reader.place_of(value);
    match read_amount(reader, value) {
        // Below zero is refused when it is judged, with its reason.
        Amount::Percent(percent) if percent.value().abs() < Decimal::ONE_HUNDRED => {
            Some(Placed { value: percent, place })
        }
        Amount::Unknown => None,
        _ => {
            reader.wrong(place, "`superfat`", "a share below 100 %, such as \"5 %\"");
            None
        }
    }
}

fn read_water(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<Placed<LyeWater>> {
    let strength = table.get("lye-strength");
    let water = table.text("water");
    match (strength, &water) {
        (Some(value), None) if table.get("water").is_none() => {
            let place = reader.place_of(value);
            match read_amount(reader, value) {
                Amount::Percent(percent) if (Decimal::ONE..Decimal::ONE_HUNDRED).contains(&percent.value()) => {
                    Some(Placed { value: LyeWater::Strength(percent), place })
                }
                Amount::Unknown => None,
                _ => {
                    reader.wrong(
                        place,
                        "`lye-strength`",
                        "the hydroxide in % of hydroxide and water, such as \"33 %\"",
                    );
                    None
                }
            }
        }
        (None, Some(text)) => read_water_text(reader, text),
        (None, None) if table.get("water").is_some() => None,
        (both, _) => {
            let what = if both.is_some() {
                "Both `lye-strength` and `water` are given."
            } else {
                "Neither `lye-strength` nor `water` is given."
            };
            reader.push(Finding::new(kind::MISSING_KEY, reader.cutting.head(), what).mend(
                "Write one of them: `lye-strength = \"33 %\"`, `water = \"2:1\"` (water to hydroxide), `water = \"35 % of fats\"` or `water = \"350 g\"`.",
            ));
            None
        }
    }
}

fn read_water_text(reader: &Reader<'_>, text: &Placed<String>) -> Option<Placed<LyeWater>> {
    let wanted = "\"2:1\" (water to hydroxide, at most 20:1), \"35 % of fats\" (at most 300 %) or \"350 g\"";
    let wrong = || {
        reader.wrong(text.place.clone(), "`water`", wanted);
        None
    };
    let trimmed = text.value.trim();
    if let Some((water, lye)) = trimmed.split_once(':') {
        let ends = read_decimal(water.trim()).ok().zip(read_decimal(lye.trim()).ok());
        let ratio = ends.and_then(|(water, lye)| water.checked_div(lye));
        return match ratio {
            Some(ratio) if ratio > Decimal::ZERO && ratio <= MOST_RATIO => Some(text.with(LyeWater::Ratio(ratio))),
            _ => wrong(),
        };
    }
    let (number, unit) = split_number(trimmed);
    if let Some(of) = unit.strip_prefix('%') {
        let basis = of.split_whitespace().filter(|word| *word != "the").collect::<Vec<_>>().join(" ");
        let percent = read_decimal(number).ok().filter(|share| *share > Decimal::ZERO && *share <= MOST_OF_FATS);
        return match (basis.as_str(), percent) {
            ("of fats" | "of oils", Some(percent)) => Some(text.with(LyeWater::OfFats(Percent::new(percent)))),
            ("", Some(_)) => {
                let what = format!("`{}` does not say what it is a share of.", echo(trimmed));
                reader.push(
                    Finding::new(kind::BASIS_NOT_STATED, text.place.clone(), what)
                        .because("A third of the lye and a third of the fats are two amounts of water.")
                        .mend("Write `lye-strength = \"33 %\"` for the hydroxide in the lye, or `water = \"33 % of fats\"`."),
                );
                None
            }
            _ => wrong(),
        };
    }
    match read_amount_text(reader, trimmed, &text.place) {
        Amount::Mass { mass, .. } if mass.grams() > Decimal::ZERO => Some(text.with(LyeWater::Mass(mass))),
        Amount::Volume(_) => {
            refuse_volume(reader, text, "the water of a lye is weighed");
            None
        }
        Amount::Unknown => None,
        _ => wrong(),
    }
}

fn refuse_volume(reader: &Reader<'_>, text: &Placed<String>, why: &str) {
    let what = format!("`{}` is a volume; {why}.", echo(text.value.trim()));
    reader.push(Finding::new(kind::VOLUME_REFUSED, text.place.clone(), what));
}

fn read_fats(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<Vec<FatBlock>> {
    let section = table.table("fats");
    let entries: Vec<_> = section.iter().flat_map(Table::names).collect();
    if entries.is_empty() {
        if section.is_some() || table.get("fats").is_none() {
            reader.push(Finding::new(kind::MISSING_KEY, reader.cutting.head(), "There are no `[fats]`.").mend(
                "Add a section `[fats]` with a line for each, such as `olive-oil = 60` or `olive-oil = \"600 g\"`.",
            ));
        }
        return None;
    }
    // Every line is read, so that all mistakes are told at once.
    let fats: Vec<Option<FatBlock>> = entries.into_iter().map(|(name, value)| read_fat(reader, name, value)).collect();
    let fats: Vec<FatBlock> = fats.into_iter().collect::<Option<_>>()?;
    let is_weight = |fat: &&FatBlock| matches!(fat.amount.value, FatAmount::Mass(_));
    let other = fats.iter().find(|fat| is_weight(fat) != fats.first().is_some_and(|first| is_weight(&first)));
    if let Some(other) = other {
        reader.push(
            Finding::new(
                kind::MIXED_BASES,
                other.amount.place.clone(),
                "Some fats are in per cent and some in weights.",
            )
            .mend("Write all fats in per cent with a `batch`, or all in weights."),
        );
        return None;
    }
    Some(fats)
}

fn read_fat(reader: &Reader<'_>, name: Placed<String>, value: &Spanned<DeValue<'_>>) -> Option<FatBlock> {
    let place = reader.place_of(value);
    if !value.get_ref().is_table() {
        let amount = fat_amount(reader, read_amount(reader, value), &place)?;
        return Some(FatBlock { name, amount: Placed { value: amount, place }, value: None, lot: None });
    }
    let table = as_table(reader, &name.value, value)?;
    let percent = table.get("percent").map(|value| read_amount(reader, value));
    let weight = table.text("weight").map(|text| read_amount_text(reader, &text.value, &text.place));
    let given = match table.get("saponification-value") {
        Some(value) => read_value(reader, value).map(Some),
        None => Some(None),
    };
    let lot = table.text_or_number("lot").map(|lot| lot.value);
    table.finish();
    let amount = match (percent, weight) {
        (Some(amount), None) | (None, Some(amount)) => fat_amount(reader, amount, &place)?,
        _ => {
            let what = format!("`{}` has to have one of `percent` and `weight`.", echo(&name.value));
            reader.push(
                Finding::new(kind::MISSING_KEY, place, what).mend(
                    "Write `{ percent = 60, saponification-value = \"190 mg KOH/g\" }`. A key of the block itself stands above `[fats]`.",
                ),
            );
            return None;
        }
    };
    Some(FatBlock { name, amount: Placed { value: amount, place }, value: given?, lot })
}

fn fat_amount(reader: &Reader<'_>, amount: Amount, place: &crate::report::Place) -> Option<FatAmount> {
    let amount = match amount {
        Amount::Percent(percent) => FatAmount::Percent(percent),
        Amount::Mass { mass, .. } => FatAmount::Mass(mass),
        Amount::Balance => return Some(FatAmount::Rest),
        Amount::Unknown => return None,
        Amount::Volume(volume) => {
            refuse_volume(
                reader,
                &Placed { value: volume.text, place: place.clone() },
                "the lye is reckoned for a weight",
            );
            return None;
        }
        Amount::Effect { .. } | Amount::Parts(_) | Amount::Drop => {
            reader.wrong(place.clone(), "A fat", "in per cent of the fats, such as 60, or a weight such as \"600 g\"");
            return None;
        }
    };
    let number = match amount {
        FatAmount::Percent(percent) => percent.value(),
        FatAmount::Mass(mass) => mass.grams(),
        FatAmount::Rest => Decimal::ONE,
    };
    if number <= Decimal::ZERO
        || matches!(amount, FatAmount::Percent(percent) if percent.value() > Decimal::ONE_HUNDRED)
    {
        reader.wrong(place.clone(), "The amount of a fat", "above zero, and in per cent at most 100");
        return None;
    }
    Some(amount)
}

/// A saponification value: a number or a span in mg KOH/g, or with its unit.
fn read_value(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>) -> Option<Placed<GivenValue>> {
    let place = reader.place_of(value);
    let text = match value.get_ref() {
        DeValue::String(text) => text.to_string(),
        other => number_text(other).unwrap_or_default().to_owned(),
    };
    let text = text.trim().to_owned();
    let end = text.find(|c: char| c.is_alphabetic()).unwrap_or(text.len());
    let (number, unit) = text.split_at_checked(end)?;
    let unit = match unit.split_whitespace().collect::<String>().as_str() {
        "" | "mgKOH/g" => Some(ValueUnit::PotassiumHydroxide),
        "mgNaOH/g" => Some(ValueUnit::SodiumHydroxide),
        _ => None,
    };
    let (low, high) = number.split_once("..").or_else(|| number.split_once('–')).unwrap_or((number, number));
    let ends = read_decimal(low.trim()).ok().zip(read_decimal(high.trim()).ok());
    // The smallest ester of glycerol, triacetin, has 772 (56 110 · 3 ÷ 218.2); a value below 10 is a share in g/g, or no fat.
    let fits = |number: Decimal| number >= Decimal::TEN && number <= Decimal::new(800, 0);
    match (ends, unit) {
        (Some((low, high)), Some(unit)) if low <= high && fits(low) && fits(high) => {
            Some(Placed { value: GivenValue { range: Range::new(low, high, None), unit, text }, place })
        }
        _ => {
            reader.wrong(
                place,
                "`saponification-value`",
                "between 10 and 800 with its unit, such as \"190 mg KOH/g\", \"188..192 mg KOH/g\" or \"135 mg NaOH/g\"",
            );
            None
        }
    }
}

fn read_lyes(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<Vec<LyeBlock>> {
    let section = table.table("lye");
    let entries: Vec<_> = section.iter().flat_map(Table::names).collect();
    if entries.is_empty() {
        if section.is_some() || table.get("lye").is_none() {
            reader.push(Finding::new(kind::MISSING_KEY, reader.cutting.head(), "There is no `[lye]`.").mend(
                "Add a section `[lye]` with `sodium-hydroxide = { purity = \"98 %\" }`, `potassium-hydroxide` or both.",
            ));
        }
        return None;
    }
    let lyes: Vec<Option<LyeBlock>> = entries.into_iter().map(|(name, value)| read_lye(reader, name, value)).collect();
    lyes.into_iter().collect()
}

fn read_lye(reader: &Reader<'_>, name: Placed<String>, value: &Spanned<DeValue<'_>>) -> Option<LyeBlock> {
    let table = as_table(reader, &name.value, value)?;
    let purity = table.get("purity").map(|value| {
        let range = read_share_range(reader, value)?;
        if range.low < LEAST_PURITY {
            reader.wrong(
                reader.place_of(value),
                "The purity of a solid hydroxide",
                "from 80 to 100 %; a solution is not taken here",
            );
            return None;
        }
        Some(range)
    });
    let share = table.text("share").map(|text| read_share(reader, &text));
    let weighed = table.text("weighed").map(|text| {
        let mass = read_mass(reader, &text, "`weighed`")?;
        Some(text.with(mass))
    });
    let misses_share = share.is_none() && table.get("share").is_some();
    let misses_weighed = weighed.is_none() && table.get("weighed").is_some();
    table.finish();
    if misses_share || misses_weighed {
        return None;
    }
    Some(LyeBlock { name, share: flat(share)?, purity: flat(purity)?, weighed: flat(weighed)? })
}

/// A share with what it is of: "40 % of the fat" or "40 % of the alkali".
fn read_share(reader: &Reader<'_>, text: &Placed<String>) -> Option<Placed<(Percent, ShareOf)>> {
    let trimmed = text.value.trim();
    let (number, unit) = split_number(trimmed);
    let basis = unit
        .strip_prefix('%')
        .map(|of| of.split_whitespace().filter(|word| !["of", "the"].contains(word)).collect::<Vec<_>>().join(" "));
    let of = match basis.as_deref() {
        Some("fat" | "fats") => Some(ShareOf::Fat),
        Some("alkali") => Some(ShareOf::Alkali),
        Some("") => {
            let what = format!("`{}` does not say what it is a share of.", echo(trimmed));
            reader.push(
                Finding::new(kind::BASIS_NOT_STATED, text.place.clone(), what)
                    .because("Sodium hydroxide is lighter: half of the fat is saponified by 42 % of the alkali by weight.")
                    .mend("Write `share = \"40 % of the fat\"`, the fat that it saponifies, or `share = \"40 % of the alkali\"`, by weight of pure alkali."),
            );
            return None;
        }
        _ => None,
    };
    let percent = read_decimal(number).ok().filter(|share| *share > Decimal::ZERO && *share < Decimal::ONE_HUNDRED);
    match (percent, of) {
        (Some(percent), Some(of)) => Some(text.with((Percent::new(percent), of))),
        _ => {
            reader.wrong(
                text.place.clone(),
                "`share`",
                "above 0 and below 100 %, such as \"40 % of the fat\" or \"40 % of the alkali\"",
            );
            None
        }
    }
}
