//! HLB as a formula's sheet shows it: what is required, what the emulsifiers bring, the split that meets it, or why HLB says nothing.

use super::context::{NumberContext, number_context};
use crate::compute::{Emulsion, NoGuide, Part};
use crate::quantity::{Decimal, Range, show};
use serde::Serialize;

/// The emulsion of a sheet.
#[derive(Debug, Serialize)]
pub(crate) struct EmulsionContext {
    required: Option<NumberContext>,
    required_words: String,
    blend: Option<NumberContext>,
    blend_words: String,
    split: Vec<SplitContext>,
    split_words: String,
    no_guide: String,
}

/// An emulsifier of the split, and how much of it.
#[derive(Debug, Serialize)]
struct SplitContext {
    name: String,
    n: NumberContext,
}

/// The emulsion for the sheet.
pub(crate) fn emulsion_context(emulsion: &Emulsion) -> EmulsionContext {
    let number = |path: &[&str]| emulsion.figure(path).map(|figure| number_context(&figure, None, None));
    let split = emulsion.split().filter(|_| !emulsion.is_water_in_oil());
    let rows = split.iter().flat_map(|split| [split.higher.0, split.lower.0]).filter_map(|part| {
        Some(SplitContext { name: part.name.clone(), n: number(&["split", part.written.as_str()])? })
    });
    EmulsionContext {
        required: number(&["required"]),
        required_words: required_words(emulsion),
        blend: number(&["emulsifiers"]),
        blend_words: blend_words(emulsion),
        split: rows.collect(),
        split_words: split.as_ref().map_or_else(
            || no_split_words(emulsion),
            |split| format!("the split of {} that meets it", show::percent(split.together.normalize())),
        ),
        no_guide: emulsion.no_guide.as_ref().map_or_else(String::new, no_guide_words),
    }
}

fn together(parts: &[Part]) -> String {
    show::percent(parts.iter().map(|part| part.percent).sum::<Decimal>().normalize())
}

fn required_words(emulsion: &Emulsion) -> String {
    match Emulsion::unknown(&emulsion.oils).as_slice() {
        [] => format!("for the oil phase of {} in water", together(&emulsion.oils)),
        unknown => format!("since that of {} is not", unknown.join(" and ")),
    }
}

fn blend_words(emulsion: &Emulsion) -> String {
    let unknown = Emulsion::unknown(&emulsion.emulsifiers);
    if !unknown.is_empty() {
        return format!("since that of {} is not", unknown.join(" and "));
    }
    let of = format!("of {} of emulsifier", together(&emulsion.emulsifiers));
    if emulsion.is_water_in_oil() {
        return format!("{of}: such a blend makes water-in-oil emulsions, and what is required holds for oil in water");
    }
    match emulsion.mismatch() {
        Some(off) => format!("{of}, {}", mismatch_words(off)),
        None => of,
    }
}

/// How far off, in words. Figures that are known within a range meet where the ranges do.
fn mismatch_words(off: Range) -> String {
    let tenth = |value: Decimal| show::quantity_to(value.abs(), 1, "");
    let is_met = off.low <= Decimal::ZERO && Decimal::ZERO <= off.high;
    match (is_met, off.typical < Decimal::ZERO) {
        (true, _) if off.is_exact() => "which is what is required".to_owned(),
        (true, _) => "which meets it within the spread of the figures".to_owned(),
        (false, true) => format!("{} too low", tenth(off.typical)),
        (false, false) => format!("{} too high", tenth(off.typical)),
    }
}

fn no_split_words(emulsion: &Emulsion) -> String {
    match (emulsion.mismatch(), emulsion.emulsifiers.as_slice()) {
        (Some(_), [one, other]) if !emulsion.is_water_in_oil() => {
            format!("no split of {} and {} meets it: it lies outside both", one.name, other.name)
        }
        _ => String::new(),
    }
}

fn no_guide_words(why: &NoGuide) -> String {
    match why {
        NoGuide::Charged(name, class) => {
            format!("no guide here: {name} is {}, and the scale is for emulsifiers without a charge", class.word())
        }
        NoGuide::Polymer(name) => format!("no guide here: {name} is a polymer, which the scale does not know"),
        NoGuide::Soap(acid, base) => format!("no guide here: {acid} and {base} make soap, which carries a charge"),
        NoGuide::Wash => "no guide here: the surfactants that wash hold the oil".to_owned(),
    }
}
