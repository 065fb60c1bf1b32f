//! The table of units, and what is written like one and refused.

use super::unit::{Dimension, Unit};

pub(super) const NUMBER: Dimension = [0; 6];
pub(super) const MASS: Dimension = [1, 0, 0, 0, 0, 0];
pub(super) const LENGTH: Dimension = [0, 1, 0, 0, 0, 0];
pub(super) const AREA: Dimension = [0, 2, 0, 0, 0, 0];
pub(super) const VOLUME: Dimension = [0, 3, 0, 0, 0, 0];
pub(super) const TIME: Dimension = [0, 0, 1, 0, 0, 0];
pub(super) const AMOUNT: Dimension = [0, 0, 0, 1, 0, 0];
pub(super) const WARMTH: Dimension = [0, 0, 0, 0, 1, 0];
pub(super) const MONEY: Dimension = [0, 0, 0, 0, 0, 1];
pub(super) const VISCOSITY: Dimension = [1, -1, -1, 0, 0, 0];

const fn unit(symbol: &'static str, also: &'static [&'static str], dimension: Dimension, factor: (i64, u32)) -> Unit {
    Unit { symbol, also, dimension, factor }
}

/// Every unit. SI symbols as the SI brochure (BIPM, 9th edition) writes them. The pound is 0.453 592 37 kg, the inch 2.54 cm and the US gallon 231 cubic
/// inches, all exactly; a gallon is 4 quarts, 8 pints or 128 fluid ounces, and a fluid ounce 8 fluid drams (NIST Handbook 44, appendix C). Metric
/// spoons are round numbers by common practice, no source. A poise is a gram for each centimetre and second, 0.1 Pa·s (NIST SP 811, appendix B).
pub(super) const UNITS: &[Unit] = &[
    unit("% w/w", &["% m/m"], NUMBER, (1, 2)),
    unit("% v/v", &[], NUMBER, (1, 2)),
    unit("% w/v", &["% m/v"], [1, -3, 0, 0, 0, 0], (1, 2)),
    unit("%", &["percent", "per cent"], NUMBER, (1, 2)),
    unit("‰", &[], NUMBER, (1, 3)),
    unit("ppm", &[], NUMBER, (1, 6)),
    unit("ppb", &[], NUMBER, (1, 9)),
    unit("µg", &["μg", "ug"], MASS, (1, 6)),
    unit("mg", &[], MASS, (1, 3)),
    unit("g", &[], MASS, (1, 0)),
    unit("kg", &[], MASS, (1000, 0)),
    unit("lb", &[], MASS, (45_359_237, 5)),
    unit("avoirdupois ounce", &["avoirdupois ounces"], MASS, (28_349_523_125, 9)),
    unit("µl", &["μl", "ul", "µL", "μL"], VOLUME, (1, 3)),
    unit("ml", &["mL", "cm³", "cm3"], VOLUME, (1, 0)),
    unit("l", &["L"], VOLUME, (1000, 0)),
    unit("metric teaspoon", &["metric teaspoons"], VOLUME, (5, 0)),
    unit("metric tablespoon", &["metric tablespoons"], VOLUME, (15, 0)),
    unit("australian tablespoon", &["australian tablespoons"], VOLUME, (20, 0)),
    unit("us teaspoon", &["us teaspoons"], VOLUME, (492_892_159_375, 11)),
    unit("us tablespoon", &["us tablespoons"], VOLUME, (1_478_676_478_125, 11)),
    unit("us fluid dram", &["us fluid drams"], VOLUME, (36_966_911_953_125, 13)),
    unit("us fluid ounce", &["us fluid ounces"], VOLUME, (295_735_295_625, 10)),
    unit("us pint", &["us pints"], VOLUME, (473_176_473, 6)),
    unit("us quart", &["us quarts"], VOLUME, (946_352_946, 6)),
    unit("us gallon", &["us gallons"], VOLUME, (3_785_411_784, 6)),
    unit("mm", &[], LENGTH, (1, 1)),
    unit("cm", &[], LENGTH, (1, 0)),
    unit("m", &[], LENGTH, (100, 0)),
    unit("inch", &["in", "inches"], LENGTH, (254, 2)),
    unit("ft", &[], LENGTH, (3048, 2)),
    unit("mm²", &["mm2"], AREA, (1, 2)),
    unit("cm²", &["cm2"], AREA, (1, 0)),
    unit("m²", &["m2"], AREA, (10_000, 0)),
    unit("m³", &["m3"], VOLUME, (1_000_000, 0)),
    unit("s", &[], TIME, (1, 0)),
    unit("min", &[], TIME, (60, 0)),
    unit("h", &[], TIME, (3600, 0)),
    unit("d", &[], TIME, (86_400, 0)),
    unit("mPa·s", &[], VISCOSITY, (1, 2)),
    unit("Pa·s", &[], VISCOSITY, (10, 0)),
    unit("cP", &[], VISCOSITY, (1, 2)),
    unit("P", &[], VISCOSITY, (1, 0)),
    unit("mmol", &[], AMOUNT, (1, 3)),
    unit("mol", &[], AMOUNT, (1, 0)),
    unit("K", &[], WARMTH, (1, 0)),
    unit(CELSIUS, &["℃"], WARMTH, (1, 0)),
    unit(FAHRENHEIT, &["℉"], WARMTH, (1, 0)),
    unit("€", &["EUR"], MONEY, (1, 0)),
    unit("$", &["USD"], MONEY, (1, 0)),
    unit("£", &["GBP"], MONEY, (1, 0)),
    unit("CHF", &[], MONEY, (1, 0)),
    unit("CAD", &[], MONEY, (1, 0)),
    unit("AUD", &[], MONEY, (1, 0)),
    unit("NZD", &[], MONEY, (1, 0)),
    unit("SEK", &[], MONEY, (1, 0)),
    unit("NOK", &[], MONEY, (1, 0)),
    unit("DKK", &[], MONEY, (1, 0)),
    unit("PLN", &[], MONEY, (1, 0)),
    unit("CZK", &[], MONEY, (1, 0)),
];

/// Seven days. It stands only behind "a", "per" or a stroke, as drifts are told: `0.02 a week`; alone it is a word as good as any for a line of workings.
pub(super) static WEEK: Unit = unit("week", &[], TIME, (604_800, 0));

pub(super) const CELSIUS: &str = "°C";
pub(super) const FAHRENHEIT: &str = "°F";

/// What is written like a unit and names none, with what to write instead.
pub(super) const REFUSED: &[(&str, &str)] = &[
    (
        "oz",
        "An ounce of a liquid is a weight to one reader and a volume to another: write `avoirdupois ounce` or `us fluid ounce`.",
    ),
    ("fl oz", "Fluid ounces differ by country: write `us fluid ounce`, or millilitres."),
    ("tsp", "Spoons differ by country: write `metric teaspoon` or `us teaspoon`, or grams."),
    ("teaspoon", "Spoons differ by country: write `metric teaspoon` or `us teaspoon`, or grams."),
    (
        "tbsp",
        "Spoons differ by country: write `metric tablespoon`, `australian tablespoon` or `us tablespoon`, or grams.",
    ),
    (
        "tablespoon",
        "Spoons differ by country: write `metric tablespoon`, `australian tablespoon` or `us tablespoon`, or grams.",
    ),
    ("cup", "Cups differ by country: write millilitres."),
    ("cups", "Cups differ by country: write millilitres."),
    ("gallon", "Gallons differ by country: write `us gallon`, or litres."),
    ("gal", "Gallons differ by country: write `us gallon`, or litres."),
    ("pint", "Pints differ by country: write `us pint`, or millilitres."),
    ("quart", "Quarts differ by country: write `us quart`, or litres."),
    ("drop", "A drop weighs what its dropper makes of it: weigh twenty, and write grams."),
    ("drops", "A drop weighs what its dropper makes of it: weigh twenty, and write grams."),
    ("M", "Write `mol/l`."),
    ("gr", "A grain is 0.0648 g and a gram is `g`: write `g`."),
    ("gm", "Write `g` for grams."),
    ("gms", "Write `g` for grams."),
    ("gram", "Write `g`."),
    ("grams", "Write `g`."),
    ("cc", "Write `ml`."),
    ("liter", "Write `l`."),
    ("litre", "Write `l`."),
    ("litres", "Write `l`."),
    ("hours", "Write `h`."),
    ("minutes", "Write `min`."),
    ("x", "Write `×` or `*` to multiply."),
    ("°", "Write `°C` or `°F`."),
    ("°K", "Write `K` for a difference of temperatures."),
];
