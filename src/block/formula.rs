//! The `formula` block: what its TOML may say.
//!
//! Keys of the block: `id`, `title`, `product`, `version`, `date`, `batch`, `density`, `ph`, `balance`, `note`, `based-on`; tables
//! `[phase.X]` with `title`, `hold`, `note` and lines, and `[change.X]` with lines. Every other key of a phase is a raw material.

use super::amount::{
    Amount, BatchSpec, DropSize, PhSpan, VolumeAmount, read_amount, read_amount_text, read_batch, read_density,
    read_mass, read_percent, read_ph, read_temperature,
};
use super::reader::{Cutting, Placed, Reader, Table, as_table};
use crate::quantity::{Date, Decimal, Density, Mass, Percent, Range, Temperature, read_decimal};
use crate::report::{Finding, Place, Severity, echo, kind};
use serde::Serialize;
use toml::Spanned;
use toml::de::DeValue;

/// A formula as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FormulaBlock {
    /// The block's place in its notebook, fences included.
    #[serde(skip)]
    pub place: Place,
    /// Its id, unique in the collection. Always there; a missing one is reported and replaced by an unusable one.
    pub id: Placed<String>,
    /// Its title.
    pub title: Option<Placed<String>>,
    /// The product type.
    pub product: Option<Placed<String>>,
    /// The author's version.
    pub version: Option<Placed<String>>,
    /// The day of that version.
    pub date: Option<Placed<Date>>,
    /// A remark under the sheet.
    pub note: Option<Placed<String>>,
    /// How much is made.
    pub batch: Option<Placed<BatchSpec>>,
    /// The product's density, for batches by volume.
    pub density: Option<Placed<Density>>,
    /// The pH specification.
    pub ph: Option<Placed<PhSpan>>,
    /// The balance.
    pub balance: Option<Placed<Balance>>,
    /// The id of the parent formula.
    pub based_on: Option<Placed<String>>,
    /// What changes against the parent.
    pub changes: Vec<Change>,
    /// The phases, in order.
    pub phases: Vec<PhaseBlock>,
    /// Whether something in the block was not understood. It is then not computed: a batch, a balance or a strength that was
    /// misread would be replaced by the usual one in silence, and every weight and caution would rest on it.
    pub broken: bool,
}

/// The balance that the reader weighs on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Balance {
    /// Its readability (OIML R 76, "actual scale interval").
    pub readability: Mass,
    /// Largest rounding error that is still well weighed, in % of the line's weight.
    pub within: Percent,
}

/// A phase as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PhaseBlock {
    /// Its letter or short name.
    pub key: Placed<String>,
    /// Its title.
    pub title: Option<String>,
    /// The temperature at which it is held.
    pub hold: Option<Placed<Temperature>>,
    /// A remark.
    pub note: Option<String>,
    /// Its lines, in order.
    pub lines: Vec<LineBlock>,
}

/// Changes to one phase of the parent.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Change {
    /// The phase.
    pub phase: Placed<String>,
    /// New or changed lines; [`Amount::Drop`] takes one out.
    pub lines: Vec<LineBlock>,
}

/// One line as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LineBlock {
    /// The raw material's id.
    pub material: Placed<String>,
    /// How much.
    pub amount: Placed<Amount>,
    /// This lot's strength, % w/w.
    pub strength: Option<Placed<Range>>,
    /// The lot number.
    pub lot: Option<String>,
    /// A remark.
    pub note: Option<String>,
    /// What a dose to effect is dosed to.
    pub to: Option<String>,
}

/// Reads a formula block. Never fails: what was not understood is reported and left unknown.
pub fn read_formula(cutting: &Cutting) -> (FormulaBlock, Vec<Finding>) {
    let (mut block, mut findings) = Reader::read(cutting, read_block);
    if cutting.is_open {
        // What follows is prose or other blocks; only the id is taken, so that links to it are not said to lead nowhere.
        findings.clear();
        block.phases.clear();
        block.changes.clear();
        block.product = None;
        block.based_on = None;
        block.broken = true;
        return (block, findings);
    }
    block.broken = findings.iter().any(|finding| finding.severity() == Severity::Error);
    (block, findings)
}

fn read_block(reader: &Reader<'_>, table: Table<'_, '_>) -> FormulaBlock {
    let cutting = reader.cutting;
    let whole = Place { path: cutting.path.clone(), span: cutting.whole.clone() };
    let id = read_id(reader, &table);
    let title = table.text("title");
    let product = table.text("product");
    let version = table.text_or_number("version");
    let date = super::date::read_date_of(&table, "date").flatten();
    let note = table.text("note");
    let batch = table.get("batch").and_then(|value| {
        let inner = value.get_ref().is_table().then(|| as_table(reader, "batch", value)).flatten();
        read_batch(reader, value, inner).map(|batch| Placed { value: batch, place: reader.place_of(value) })
    });
    let density = placed(reader, table.get("density"), read_density);
    let ph = placed(reader, table.get("ph"), read_ph);
    let balance = placed(reader, table.get("balance"), read_balance);
    let based_on = table.text("based-on");
    let phases =
        sections(&table, "phase").into_iter().map(|(key, section)| read_phase(reader, key, &section)).collect();
    let changes = sections(&table, "change")
        .into_iter()
        .map(|(phase, section)| Change { phase, lines: read_lines(reader, &section) })
        .collect::<Vec<_>>();
    table.finish();
    let block = FormulaBlock {
        place: whole,
        id,
        title,
        product,
        version,
        date,
        note,
        batch,
        density,
        ph,
        balance,
        based_on,
        changes,
        phases,
        broken: false,
    };
    if let (None, Some(change)) = (&block.based_on, block.changes.first()) {
        reader.push(
            Finding::new(
                kind::MISSING_KEY,
                change.phase.place.clone(),
                "There is a change, but no `based-on` to change.",
            )
            .mend("Name the parent: `based-on = \"its-id\"`."),
        );
    }
    block
}

fn placed<T>(
    reader: &Reader<'_>,
    value: Option<&Spanned<DeValue<'_>>>,
    read: impl Fn(&Reader<'_>, &Spanned<DeValue<'_>>) -> Option<T>,
) -> Option<Placed<T>> {
    let value = value?;
    read(reader, value).map(|inner| Placed { value: inner, place: reader.place_of(value) })
}

fn read_id(reader: &Reader<'_>, table: &Table<'_, '_>) -> Placed<String> {
    let head = reader.cutting.head();
    match table.text("id") {
        Some(id) if is_id(&id.value) => id,
        Some(id) => {
            wrong_id(reader, &id.place);
            Placed { value: String::new(), place: id.place }
        }
        None => {
            if table.get("id").is_none() {
                reader.push(
                    Finding::new(kind::MISSING_KEY, head.clone(), "The formula has no `id`.")
                        .mend("Add `id = \"…\"` with a short name that no other formula has."),
                );
            }
            Placed { value: String::new(), place: head }
        }
    }
}

/// The id of a block that may go without one.
pub(super) fn read_optional_id(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<Placed<String>> {
    let id = table.text("id")?;
    if is_id(&id.value) {
        return Some(id);
    }
    wrong_id(reader, &id.place);
    None
}

fn wrong_id(reader: &Reader<'_>, place: &Place) {
    reader.wrong(place.clone(), "An id", "lower-case letters, digits and hyphens, such as \"barley-wash\"");
}

/// The id of a formula or block that this one builds on; a missing one is an error.
pub(super) fn read_reference(reader: &Reader<'_>, table: &Table<'_, '_>, key: &'static str) -> Option<Placed<String>> {
    let id = table.text(key);
    if id.is_none() && table.get(key).is_none() {
        reader.push(
            Finding::new(kind::MISSING_KEY, reader.cutting.head(), format!("The block has no `{key}`."))
                .mend(format!("Say which one is meant by its id: `{key} = \"barley-wash\"`.")),
        );
    }
    id
}

/// Whether a text may be an id: lower-case letters, digits and hyphens, beginning with a letter or digit.
pub(crate) fn is_id(text: &str) -> bool {
    text.starts_with(|c: char| c.is_ascii_lowercase() || c.is_ascii_digit())
        && text.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
}

fn sections<'t, 'a>(table: &Table<'t, 'a>, key: &'static str) -> Vec<(Placed<String>, Table<'t, 'a>)> {
    let Some(all) = table.table(key) else { return Vec::new() };
    all.entries().filter_map(|(name, value)| Some((name.clone(), all.inside(&name.value, value)?))).collect()
}

/// A balance: a readability, or `{ readability = "0.1 g", within = "1 %" }`.
pub(crate) fn read_balance(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>) -> Option<Balance> {
    let usual = Percent::new(Decimal::ONE);
    if value.get_ref().is_table() {
        let table = as_table(reader, "balance", value)?;
        let readability = table.text("readability").and_then(|text| read_mass(reader, &text, "`readability`"));
        let within = table.get("within").map_or(Some(usual), |value| read_percent(reader, value, "`within`"));
        table.finish();
        let balance = Balance { readability: readability?, within: within? };
        return sensible(reader, balance, &reader.place_of(value)).then_some(balance);
    }
    let place = reader.place_of(value);
    match value.get_ref().as_str() {
        Some(text) => read_mass(reader, &Placed { value: text.to_owned(), place: place.clone() }, "`balance`")
            .map(|readability| Balance { readability, within: usual })
            .filter(|balance| sensible(reader, *balance, &place)),
        None => {
            reader.wrong(place, "`balance`", "the readability with its unit, such as \"0.1 g\"");
            None
        }
    }
}

/// Balances are made with readabilities from a microgram (OIML R 76 knows none finer that stands in a workshop) to 100 kg.
fn sensible(reader: &Reader<'_>, balance: Balance, place: &Place) -> bool {
    let readability = balance.readability.grams();
    if readability < Decimal::new(1, 6) || readability > Decimal::new(100_000, 0) {
        reader.wrong(place.clone(), "A readability", "between 0.001 mg and 100 kg, such as \"0.1 g\"");
        return false;
    }
    let within = balance.within.value();
    if within < Decimal::new(1, 3) || within > Decimal::ONE_HUNDRED {
        reader.wrong(place.clone(), "`within`", "between 0.001 % and 100 %, such as \"1 %\"");
        return false;
    }
    true
}

fn read_phase(reader: &Reader<'_>, key: Placed<String>, table: &Table<'_, '_>) -> PhaseBlock {
    let title = table.text("title").map(|title| title.value);
    let hold = table
        .text("hold")
        .and_then(|text| read_temperature(reader, &text).map(|hold| Placed { value: hold, place: text.place }));
    let note = table.text("note").map(|note| note.value);
    PhaseBlock { key, title, hold, note, lines: read_lines(reader, table) }
}

fn read_lines(reader: &Reader<'_>, table: &Table<'_, '_>) -> Vec<LineBlock> {
    table.names().into_iter().map(|(material, value)| read_line(reader, material, value)).collect()
}

fn read_line(reader: &Reader<'_>, material: Placed<String>, value: &Spanned<DeValue<'_>>) -> LineBlock {
    let place = reader.place_of(value);
    if !value.get_ref().is_table() {
        let amount = Placed { value: read_amount(reader, value), place };
        if matches!(amount.value, Amount::Effect { .. }) {
            missing_usual(reader, &material, &amount.place);
        }
        return check_line(reader, LineBlock { material, amount, strength: None, lot: None, note: None, to: None });
    }
    let Some(table) = as_table(reader, &material.value, value) else {
        let amount = Placed { value: Amount::Unknown, place };
        return LineBlock { material, amount, strength: None, lot: None, note: None, to: None };
    };
    let usual = table.get("usual").and_then(|value| read_usual(reader, value));
    let amount = read_line_amount(reader, &table, &material, usual, &place);
    let strength = table.get("strength").and_then(|value| {
        read_share_range(reader, value).map(|range| Placed { value: range, place: reader.place_of(value) })
    });
    let line = LineBlock {
        amount: Placed { value: amount, place },
        strength,
        lot: table.text_or_number("lot").map(|lot| lot.value),
        note: table.text("note").map(|note| note.value),
        to: table.text("to").map(|to| to.value),
        material,
    };
    table.finish();
    check_line(reader, line)
}

/// The usual amount of a dose to effect, on any basis.
fn read_usual(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>) -> Option<Amount> {
    match read_amount(reader, value) {
        amount @ (Amount::Percent(_) | Amount::Mass { .. } | Amount::Parts(_)) => Some(amount),
        Amount::Unknown => None,
        _ => {
            reader.wrong(reader.place_of(value), "`usual`", "a percentage, a weight or parts");
            None
        }
    }
}

fn missing_usual(reader: &Reader<'_>, material: &Placed<String>, place: &Place) {
    reader.push(
        Finding::new(
            kind::MISSING_KEY,
            place.clone(),
            format!("`{}` is dosed to effect, but its usual amount is not given.", echo(&material.value)),
        )
        .because("The usual amount counts in the sum; without it the balance line would be wrong.")
        .mend(
            "Write `{ percent = \"q.s.\", usual = 0.4, to = \"pH 5.0\" }`, or `\"q.s. to 100\"` for the balance line.",
        ),
    );
}

fn read_line_amount(
    reader: &Reader<'_>,
    table: &Table<'_, '_>,
    material: &Placed<String>,
    usual: Option<Amount>,
    place: &Place,
) -> Amount {
    let percent = table.get("percent").map(|value| match read_amount(reader, value) {
        amount @ (Amount::Percent(_) | Amount::Balance | Amount::Effect { .. } | Amount::Unknown) => amount,
        _ => {
            reader.wrong(reader.place_of(value), "`percent`", "a number such as `3`, or \"q.s.\"");
            Amount::Unknown
        }
    });
    let weight = table.text("weight").map(|text| match read_amount_text(reader, &text.value, &text.place) {
        amount @ (Amount::Mass { .. } | Amount::Balance | Amount::Effect { .. } | Amount::Unknown) => amount,
        _ => {
            reader.wrong(text.place.clone(), "`weight`", "a weight such as \"12.5 g\", or \"q.s.\"");
            Amount::Unknown
        }
    });
    let parts = table.get("parts").map(|value| match read_amount(reader, value) {
        Amount::Percent(number) => Amount::Parts(number.value()),
        other => other,
    });
    let volume = table.text("volume").map(|text| (read_amount_text(reader, &text.value, &text.place), text.place));
    let drop = table.text("drop-weighs").and_then(|text| read_mass(reader, &text, "`drop-weighs`"));
    let volume = volume.map(|(amount, place)| match amount {
        Amount::Volume(mut volume) => {
            if let Some((_, size)) = &mut volume.drops {
                *size = drop.map(DropSize);
            }
            Amount::Volume(volume)
        }
        Amount::Unknown => Amount::Unknown,
        _ => {
            reader.wrong(place, "`volume`", "a volume such as \"5 ml\" or \"12 drops\"");
            Amount::Unknown
        }
    });
    let given: Vec<Amount> = [percent, weight, parts, volume].into_iter().flatten().collect();
    let n_given = given.len();
    let amount = match given.into_iter().next() {
        Some(amount) if n_given == 1 => amount,
        Some(_) => {
            reader.push(
                Finding::new(kind::NOT_AN_AMOUNT, place.clone(), "The line gives more than one amount.")
                    .mend("Keep one of `percent`, `weight`, `parts` and `volume`."),
            );
            return Amount::Unknown;
        }
        None => {
            let keys = ["percent", "weight", "parts", "volume"];
            if keys.iter().all(|key| table.entries().all(|(name, _)| name.value != *key)) {
                reader.push(
                    Finding::new(
                        kind::MISSING_KEY,
                        place.clone(),
                        format!("`{}` has no amount.", echo(&material.value)),
                    )
                    .mend("Add `percent`, `weight`, `parts` or `volume`."),
                );
            }
            return Amount::Unknown;
        }
    };
    match amount {
        Amount::Effect { .. } => {
            if usual.is_none() {
                missing_usual(reader, material, place);
            }
            Amount::Effect { usual: usual.map(Box::new) }
        }
        other => other,
    }
}

fn check_line(reader: &Reader<'_>, mut line: LineBlock) -> LineBlock {
    let amount = match &line.amount.value {
        Amount::Percent(percent) => Some(percent.value()),
        Amount::Mass { mass, .. } => Some(mass.grams()),
        Amount::Parts(parts) => Some(*parts),
        Amount::Volume(VolumeAmount { volume, drops, .. }) => {
            volume.map(|volume| volume.millilitres()).or(drops.map(|(count, _)| count))
        }
        _ => None,
    };
    if amount.is_some_and(|amount| amount < Decimal::ZERO) {
        reader.push(
            Finding::new(
                kind::NOT_AN_AMOUNT,
                line.amount.place.clone(),
                format!("The amount of `{}` is below zero.", echo(&line.material.value)),
            )
            .mend("Write an amount of zero or more."),
        );
        line.amount.value = Amount::Unknown;
    }
    if let Amount::Percent(percent) = &line.amount.value
        && percent.value() > Decimal::ONE_HUNDRED
    {
        reader.push(
            Finding::new(
                kind::NOT_AN_AMOUNT,
                line.amount.place.clone(),
                format!(
                    "`{}` is {} % of the product, more than all of it.",
                    echo(&line.material.value),
                    percent.value()
                ),
            )
            .mend("A bare number is % w/w; weights carry their unit: `\"250 g\"`."),
        );
        line.amount.value = Amount::Unknown;
    }
    line
}

/// A share or a span of shares: `31.2`, `"31.2 %"`, `"29..31 %"`, between 0 and 100.
pub(crate) fn read_share_range(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>) -> Option<Range> {
    let place = reader.place_of(value);
    let text = match value.get_ref() {
        DeValue::String(text) => text.to_string(),
        other => super::reader::number_text(other).unwrap_or_default().to_owned(),
    };
    let text = text.trim().trim_end_matches('%').trim_end();
    let (low, high) = text.split_once("..").or_else(|| text.split_once('–')).unwrap_or((text, text));
    let ends = read_decimal(low).ok().zip(read_decimal(high).ok());
    let fits = |low: Decimal, high: Decimal| low >= Decimal::ZERO && high <= Decimal::ONE_HUNDRED && low <= high;
    let Some((low, high)) = ends.filter(|(low, high)| fits(*low, *high)) else {
        reader.wrong(place, "A strength", "between 0 and 100 %, such as \"31.2 %\" or \"29..31 %\"");
        return None;
    };
    Some(Range::new(low, high, None))
}
