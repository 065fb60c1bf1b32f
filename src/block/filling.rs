//! The `filling` block: what one pack is filled to, how many packs a batch gives, and what the label declares.
//!
//! Keys: `formula`, whose batch is filled, or `bulk`, how much product there is; `content`, the nominal quantity of a pack; `density` of the product and
//! `density-at`, the temperature at which it was measured; `overfill`, on top of the content; `left-behind`, the share of the bulk that stays in vessel
//! and hose; `tare` of the empty pack; `capacity` of the pack to the brim; `balance`.

use super::amount::{read_density, read_mass, read_on_top, read_temperature};
use super::dilution::{Measured, read_measured};
use super::formula::{Balance, read_balance, read_reference};
use super::reader::{Placed, Reader, Table, flat};
use crate::quantity::{Decimal, Density, Mass, Percent, Temperature, Volume};
use crate::report::{Finding, kind};
use serde::Serialize;

/// A filling as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FillingBlock {
    /// The formula whose batch is filled.
    pub formula: Option<Placed<String>>,
    /// How much product there is, where it is not the formula's batch.
    pub bulk: Option<Placed<Measured>>,
    /// The nominal quantity of a pack and how it is written, where it is not that of the formula's batch.
    pub content: Option<(Placed<Measured>, String)>,
    /// The density of the product, where it is not the formula's.
    pub density: Option<Density>,
    /// The temperature at which the density was measured.
    pub density_at: Option<Temperature>,
    /// What is filled on top of the content.
    pub overfill: Option<Percent>,
    /// What of the bulk stays behind.
    pub left_behind: Percent,
    /// The empty pack.
    pub tare: Option<Mass>,
    /// The pack to the brim.
    pub capacity: Option<Placed<Volume>>,
    /// The balance.
    pub balance: Option<Balance>,
}

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<FillingBlock> {
    let formula = table.get("formula").map(|_| read_reference(reader, table, "formula"));
    let measured = |key: &'static str, what: &str| {
        let text = table.text(key);
        let is_missing = text.is_none() && table.get(key).is_none();
        let value = text.as_ref().map(|text| read_measured(reader, text, what));
        (is_missing, value.or_else(|| (!is_missing).then_some(None)), text)
    };
    let (no_bulk, bulk, _) = measured("bulk", "`bulk`");
    let (no_content, content, content_text) = measured("content", "`content`");
    let (_, capacity, _) = measured("capacity", "`capacity`");
    let density = table.get("density").map(|value| read_density(reader, value));
    let density_at = table.text("density-at").map(|text| read_temperature(reader, &text));
    let overfill = table.get("overfill").map(|value| read_share(reader, value, "`overfill`"));
    let left_behind = table.get("left-behind").map(|value| read_share(reader, value, "`left-behind`"));
    let tare = table.text("tare").map(|text| read_mass(reader, &text, "`tare`"));
    let balance = table.get("balance").map(|value| read_balance(reader, value));
    let capacity = match capacity {
        None => None,
        Some(None) => Some(None),
        Some(Some(Placed { value: Measured::Volume(volume), place })) => Some(Some(Placed { value: volume, place })),
        Some(Some(Placed { value: Measured::Mass(_), place })) => {
            reader.wrong(place, "`capacity`", "a volume, to the brim, such as \"265 ml\"");
            Some(None)
        }
    };
    if formula.is_none() {
        for (is_missing, what, mend) in [
            (
                no_bulk,
                "A filling has a `formula` or a `bulk`.",
                "Write `formula = \"barley-wash\"`, or how much product there is: `bulk = \"3 kg\"`.",
            ),
            (
                no_content,
                "A filling without a formula has a `content`.",
                "Write what is declared for one pack: `content = \"250 ml\"`.",
            ),
        ] {
            if is_missing {
                reader.push(Finding::new(kind::MISSING_KEY, reader.cutting.head(), what).mend(mend));
            }
        }
        if no_bulk || no_content {
            return None;
        }
    }
    let content = flat(content)?.map(|content| {
        let text = content_text.map_or_else(String::new, |text| text.value.trim().to_owned());
        (content, text)
    });
    Some(FillingBlock {
        formula: flat(formula)?,
        bulk: flat(bulk)?,
        content,
        density: flat(density)?,
        density_at: flat(density_at)?,
        overfill: flat(overfill)?,
        left_behind: flat(left_behind)?.unwrap_or(Percent::ZERO),
        tare: flat(tare)?,
        capacity: flat(capacity)?,
        balance: flat(balance)?,
    })
}

/// A share from nothing to less than all of it.
fn read_share(reader: &Reader<'_>, value: &toml::Spanned<toml::de::DeValue<'_>>, what: &str) -> Option<Percent> {
    let share = read_on_top(reader, value, what)?;
    if share.value() < Decimal::ZERO || share.value() >= Decimal::ONE_HUNDRED {
        reader.wrong(reader.place_of(value), what, "from 0 % to less than 100 %");
        return None;
    }
    Some(share)
}
