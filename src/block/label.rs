//! The `label` block: what the label of a product says, and what it still lacks.
//!
//! Keys: `formula`; `name` and `function` of the product; `content` of a pack; `durability`, how long it keeps unopened, and `shown-by`, what that rests on;
//! `made`, the day it was made; `after-opening`; `batch-number`; `responsible-person` and `business`; `origin`; `size` of the label and `front-panel` of the pack;
//! `rules`, the rule set where only one is wanted.

use super::date::read_date_of;
use super::dilution::{Measured, read_measured};
use super::reader::{Placed, Reader, Table, flat};
use crate::quantity::{Date, Decimal, read_decimal, show};
use serde::Serialize;
use std::str::FromStr;

/// A label as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LabelBlock {
    /// The formula.
    pub formula: Placed<String>,
    /// The name of the product, where it is not the formula's title.
    pub name: Option<String>,
    /// What it is for.
    pub function: Option<String>,
    /// The nominal quantity of a pack and how it is written, where it is not that of the formula's batch.
    pub content: Option<(Placed<Measured>, String)>,
    /// How many months it keeps unopened.
    pub durability: Option<Placed<u32>>,
    /// What that rests on.
    pub shown_by: Option<String>,
    /// The day on which it was made.
    pub made: Option<Placed<Date>>,
    /// How long it may be used once opened.
    pub after_opening: Option<Placed<AfterOpening>>,
    /// The batch number.
    pub batch_number: Option<String>,
    /// The responsible person with the address, for the EU.
    pub responsible_person: Option<String>,
    /// The business with its address, for the US.
    pub business: Option<String>,
    /// The country of origin.
    pub origin: Option<String>,
    /// How large the label is.
    pub size: Option<Placed<Extent>>,
    /// How large the side of the pack is that the buyer sees.
    pub front_panel: Option<Placed<Extent>>,
    /// The rule set, where not all of the collection's are meant.
    pub rules: Option<Placed<String>>,
}

/// Width and height, mm.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Extent {
    /// From side to side.
    pub width: Decimal,
    /// From top to bottom.
    pub height: Decimal,
}

impl Extent {
    /// The area in square inches; an inch is 25.4 mm.
    pub fn square_inches(self) -> Decimal {
        self.width * self.height / Decimal::new(64_516, 2)
    }

    /// As it is shown: "60 × 40 mm".
    pub fn text(self) -> String {
        format!("{} × {}{}mm", show::plain(self.width), show::plain(self.height), show::NBSP)
    }
}

/// How long a product may be used once it was opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum AfterOpening {
    /// So many months.
    Months(u32),
    /// It is used up at once.
    SingleUse,
    /// The pack is never open, as with a spray can.
    NeverOpen,
    /// Nothing in it can go off.
    DoesNotSpoil,
}

/// No label or front panel is taken to be wider or higher, mm.
const LARGEST: i64 = 1000;
/// The longest time that is understood, in months: a hundred years.
const LONGEST: u32 = 1200;

pub(super) fn read(reader: &Reader<'_>, table: &Table<'_, '_>) -> Option<LabelBlock> {
    let formula = super::formula::read_reference(reader, table, "formula");
    let text =
        |key: &'static str| table.text(key).map(|text| text.value.trim().to_owned()).filter(|text| !text.is_empty());
    let content_text = table.text("content");
    let content = content_text.as_ref().map(|text| read_measured(reader, text, "`content`"));
    let durability = table.text("durability").map(|text| {
        let months = read_months(&text.value);
        if months.is_none() {
            reader.wrong(text.place.clone(), "`durability`", "a time in months or years, such as \"24 months\"");
        }
        months.map(|months| text.with(months))
    });
    let after_opening = table.text("after-opening").map(|text| {
        let after = match text.value.trim() {
            "single use" => Some(AfterOpening::SingleUse),
            "never open" => Some(AfterOpening::NeverOpen),
            "does not spoil" => Some(AfterOpening::DoesNotSpoil),
            time => read_months(time).map(AfterOpening::Months),
        };
        if after.is_none() {
            let wanted = "a time such as \"12 months\", or \"single use\", \"never open\" or \"does not spoil\"";
            reader.wrong(text.place.clone(), "`after-opening`", wanted);
        }
        after.map(|after| text.with(after))
    });
    let made = read_date_of(table, "made");
    let (name, function, shown_by) = (text("name"), text("function"), text("shown-by"));
    let (batch_number, origin) = (text("batch-number"), text("origin"));
    let (responsible_person, business) = (text("responsible-person"), text("business"));
    let extent = |key: &'static str| {
        table.text(key).map(|text| {
            let read = read_extent(&text.value);
            if read.is_none() {
                let wanted = "width and height up to 1 m, such as \"60 x 40 mm\"";
                reader.wrong(text.place.clone(), &format!("`{key}`"), wanted);
            }
            read.map(|extent| text.with(extent))
        })
    };
    let (size, front_panel) = (extent("size"), extent("front-panel"));
    let rules = table.text("rules");
    let content = flat(content)?.map(|content| {
        let text = content_text.map_or_else(String::new, |text| text.value.trim().to_owned());
        (content, text)
    });
    Some(LabelBlock {
        formula: formula?,
        name,
        function,
        content,
        durability: flat(durability)?,
        shown_by,
        made: flat(made)?,
        after_opening: flat(after_opening)?,
        batch_number,
        responsible_person,
        business,
        origin,
        size: flat(size)?,
        front_panel: flat(front_panel)?,
        rules,
    })
}

/// Width and height with one unit behind: "60 x 40 mm", "2.5 × 1 in".
fn read_extent(text: &str) -> Option<Extent> {
    let end = text.rfind(|character: char| character.is_ascii_digit())? + 1;
    let (numbers, unit) = text.split_at_checked(end)?;
    let to_mm = match unit.trim() {
        "mm" => Decimal::ONE,
        "cm" => Decimal::TEN,
        "in" => Decimal::new(254, 1),
        _ => return None,
    };
    let (width, height) = numbers.split_once(['x', '×'])?;
    let side = |text: &str| {
        let side = read_decimal(text.trim()).ok()?.checked_mul(to_mm)?;
        (Decimal::ZERO < side && side <= Decimal::from(LARGEST)).then_some(side.normalize())
    };
    Some(Extent { width: side(width)?, height: side(height)? })
}

/// A time in whole months: "24 months", "2 years", "1 month".
fn read_months(text: &str) -> Option<u32> {
    let (number, unit) = text.trim().split_once([' ', '\u{a0}'])?;
    let number = u32::from_str(number).ok()?;
    let months = match unit.trim() {
        "month" | "months" => number,
        "year" | "years" => number.checked_mul(12)?,
        _ => return None,
    };
    (1..=LONGEST).contains(&months).then_some(months)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: Option<u32>) {
        assert_eq!(read_months(text), expected, "{text}");
    }

    #[test]
    fn an_extent_has_two_sides_and_one_unit() {
        let read = |text| read_extent(text).map(Extent::text);
        assert_eq!(read("60 x 40 mm").as_deref(), Some("60 × 40\u{a0}mm"));
        assert_eq!(read("6×4.5 cm").as_deref(), Some("60 × 45\u{a0}mm"));
        assert_eq!(read("2.5 x 1 in").as_deref(), Some("63.5 × 25.4\u{a0}mm"));
        for text in
            ["60 mm", "60 x 40", "60 mm x 40 mm", "0 x 40 mm", "-60 x 40 mm", "1001 x 40 mm", "60,40 mm", "x mm", ""]
        {
            assert_eq!(read(text), None, "{text}");
        }
    }

    #[test]
    fn times_are_whole_months() {
        check("24 months", Some(24));
        check("1 month", Some(1));
        check(" 2\u{a0}years ", Some(24));
        check("0 months", None);
        check("2.5 years", None);
        check("30", None);
        check("12 weeks", None);
        check("-3 months", None);
        check("101 years", None);
        check("4294967295 years", None);
    }
}
