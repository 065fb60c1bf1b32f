//! Ceilings, pH bounds and label warnings of the rule sets, as the catalogue writes them. Nothing here judges a formula.

use super::read::named_tables;
use super::{Known, ProductType};
use crate::block::{Reader, Table, as_table, number_text, read_number};
use crate::quantity::{Decimal, Percent, show};
use crate::report::{Finding, kind, list};
use serde::Serialize;
use std::collections::BTreeMap;

/// Substances that a rule adds up, and as what.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Counting {
    /// The substances counted together, by INCI name.
    pub substances: Vec<String>,
    /// The substance as which they are counted; as they are, without one.
    pub counted_as: Option<String>,
    /// How many molecules of it one molecule of a substance gives, where that is not what the substance table says of its acid.
    pub units: BTreeMap<String, Decimal>,
    /// For which purpose the rule holds: "preservative" or another function of raw materials, or "other" for all but preserving.
    pub purpose: Option<String>,
    /// The substance without which the rule says nothing: one of a mixture.
    pub only_with: Option<String>,
}

/// A ceiling, a ban or a bound on the pH that a rule sets.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Limit {
    /// Its id in the catalogue.
    pub id: String,
    /// The rule set it belongs to.
    pub rules: String,
    /// The entry that sets it.
    pub entry: String,
    /// What it is about.
    pub what: String,
    /// What is counted.
    pub counting: Counting,
    /// The ceilings.
    pub ceilings: Vec<Ceiling>,
    /// The bounds on the pH of the finished product.
    pub ph: Option<PhBound>,
    /// Whether it is advice of a committee and no rule.
    pub is_advice: bool,
    /// The day from which it holds, when it does not hold yet.
    pub from: Option<String>,
    /// How it is known.
    pub how: Known,
    /// A remark.
    pub note: Option<String>,
}

impl Limit {
    /// The ceiling for a product. A ceiling that names the product or where it goes comes before one for all others; of several
    /// the lowest holds. Without a known product type it is the lowest of all that could be judged.
    pub fn ceiling(&self, product: Option<&ProductType>) -> Option<&Ceiling> {
        let lowest = |named: Option<bool>| {
            self.ceilings
                .iter()
                .filter(|ceiling| named.is_none_or(|named| ceiling.scope.is_named() == named))
                .filter(|ceiling| ceiling.scope.holds_for(product))
                // Of two equal ones the wider is the better reason.
                .min_by_key(|ceiling| (ceiling.percent.value(), ceiling.scope.is_named()))
        };
        match product {
            Some(_) => lowest(Some(true)).or_else(|| lowest(Some(false))),
            // What is said of some kinds of product only is no matter of a product that nobody has named.
            None if self.ceilings.iter().all(|ceiling| ceiling.scope.is_named()) => None,
            None => lowest(None),
        }
    }
}

impl Limit {
    /// Each ceiling and bound in words: "at most 0.5 % in leave-on products", "not allowed in other products", "pH of the product
    /// below 11". A ceiling is printed as the rule writes it, never rounded.
    pub fn texts(&self) -> Vec<String> {
        let tells_apart = self.ceilings.iter().any(|ceiling| ceiling.scope.is_named());
        let ceilings = self.ceilings.iter().map(|ceiling| {
            let scope = match ceiling.scope.words() {
                words if words.is_empty() && tells_apart => " in other products".to_owned(),
                words => words,
            };
            let percent = ceiling.percent.value();
            if percent.is_zero() {
                return format!("not allowed{scope}");
            }
            let at_most = if ceiling.is_below { "below" } else { "at most" };
            format!("{at_most} {}{scope}", show::percent_to(percent, percent.scale()))
        });
        ceilings.chain(self.ph.iter().map(|bound| format!("pH of the product {}", bound.words()))).collect()
    }
}

/// One ceiling of a limit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Ceiling {
    /// At most so much, % of the product.
    pub percent: Percent,
    /// Whether exactly so much is already too much.
    pub is_below: bool,
    /// For which products.
    pub scope: Scope,
}

/// The products that a ceiling or a warning holds for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Scope {
    /// "any", "rinse-off" or "leave-on"; other words name a use that no product type tells, and are left to the reader.
    pub product_use: String,
    /// Product types, or places where a product goes; empty for all.
    pub on: Vec<String>,
}

impl Scope {
    /// Whether it names product types or places.
    pub fn is_named(&self) -> bool {
        !self.on.is_empty()
    }

    /// Whether it can be told from a product type at all.
    pub fn can_be_judged(&self) -> bool {
        ["any", "rinse-off", "leave-on"].contains(&self.product_use.as_str())
    }

    /// Whether it holds for a product; when the product is not known, whether it could.
    pub fn holds_for(&self, product: Option<&ProductType>) -> bool {
        let Some(product) = product else { return self.can_be_judged() };
        let use_fits = self.product_use == "any" || self.product_use == product.product_use.word();
        use_fits && (self.on.is_empty() || self.on.iter().any(|word| product.goes_on(word)))
    }

    /// In words that follow a ceiling: " in leave-on `face` products"; nothing when it holds for all.
    pub fn words(&self) -> String {
        if !self.can_be_judged() {
            return format!(" ({})", self.product_use);
        }
        let product_use = if self.product_use == "any" { "" } else { self.product_use.as_str() };
        match (product_use, self.on.as_slice()) {
            ("", []) => String::new(),
            ("", on) => format!(" in {} products", list(on, "and")),
            (product_use, []) => format!(" in {product_use} products"),
            (product_use, on) => format!(" in {product_use} {} products", list(on, "and")),
        }
    }
}

/// Bounds on the pH of a finished product; the whole stretch of its specification must keep them.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct PhBound {
    /// The pH must stay below this.
    pub below: Option<Decimal>,
    /// The pH must be above this.
    pub above: Option<Decimal>,
    /// The pH may be as low as this.
    pub at_least: Option<Decimal>,
}

impl PhBound {
    /// Whether a stretch of pH keeps the bounds with both its ends.
    pub fn is_kept_by(&self, low: Decimal, high: Decimal) -> bool {
        self.below.is_none_or(|bound| high < bound)
            && self.above.is_none_or(|bound| low > bound)
            && self.at_least.is_none_or(|bound| low >= bound)
    }

    /// In words: "below 11", "above 6", "3.5 or more".
    pub fn words(&self) -> String {
        let below = self.below.map(|bound| format!("below {bound}"));
        let above = self.above.map(|bound| format!("above {bound}"));
        let at_least = self.at_least.map(|bound| format!("{bound} or more"));
        [above, at_least, below].into_iter().flatten().collect::<Vec<_>>().join(" and ")
    }
}

/// Words that a rule wants on the label.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warning {
    /// Its id in the catalogue.
    pub id: String,
    /// The rule set it belongs to.
    pub rules: String,
    /// The entry that asks for it.
    pub entry: String,
    /// What is counted; nothing when the product type alone brings the warning.
    pub counting: Counting,
    /// Whether any surfactant counts.
    pub is_for_surfactants: bool,
    /// It is due above so much, % of the product.
    pub above: Percent,
    /// For which products.
    pub scope: Scope,
    /// What the label says: the rule's own words, or their gist as "that …".
    pub words: String,
    /// Whether `words` are the rule's own.
    pub is_prescribed: bool,
    /// Whether it is a recommendation and no rule.
    pub is_advice: bool,
    /// How it is known.
    pub how: Known,
    /// What was assumed, and other remarks.
    pub note: Option<String>,
}

pub(crate) fn read_limits(reader: &Reader<'_>, root: &Table<'_, '_>) -> Vec<Limit> {
    named_tables(root, "limit")
        .into_iter()
        .filter_map(|(id, table)| {
            let text = |key: &'static str| table.text(key).map(|text| text.value);
            let ceilings = table.tables("max").iter().filter_map(read_ceiling).collect();
            let limit = Limit {
                rules: text("rules").unwrap_or_default(),
                entry: text("entry").unwrap_or_default(),
                what: text("what").unwrap_or_default(),
                counting: read_counting(reader, &table),
                ceilings,
                ph: table.table("ph").map(|bound| read_ph_bound(&bound)),
                is_advice: table.boolean("advice").unwrap_or(false),
                from: text("from"),
                how: read_how(reader, &table),
                note: text("note"),
                id: id.value,
            };
            table.finish();
            if limit.rules.is_empty() || limit.entry.is_empty() || limit.counting.substances.is_empty() {
                let what = "A limit needs `rules`, `entry` and `substances`.";
                reader.push(Finding::new(kind::MISSING_KEY, id.place, what));
                return None;
            }
            Some(limit)
        })
        .collect()
}

pub(crate) fn read_warnings(reader: &Reader<'_>, root: &Table<'_, '_>) -> Vec<Warning> {
    named_tables(root, "warning")
        .into_iter()
        .filter_map(|(id, table)| {
            let text = |key: &'static str| table.text(key).map(|text| text.value);
            let (say, say_that) = (text("say"), text("say-that"));
            let warning = Warning {
                rules: text("rules").unwrap_or_default(),
                entry: text("entry").unwrap_or_default(),
                counting: read_counting(reader, &table),
                is_for_surfactants: table.boolean("surfactants").unwrap_or(false),
                above: Percent::new(table.number("above").map_or(Decimal::ZERO, |above| above.value)),
                scope: read_scope(&table),
                is_prescribed: say.is_some(),
                words: say.or(say_that).unwrap_or_default(),
                is_advice: table.boolean("advice").unwrap_or(false),
                how: read_how(reader, &table),
                note: text("note"),
                id: id.value,
            };
            table.finish();
            let counts = warning.is_for_surfactants || !warning.counting.substances.is_empty();
            if warning.rules.is_empty() || warning.entry.is_empty() || warning.words.is_empty() || !counts {
                let what = "A warning needs `rules`, `entry`, `say` or `say-that`, and `substances` or `surfactants`.";
                reader.push(Finding::new(kind::MISSING_KEY, id.place, what));
                return None;
            }
            Some(warning)
        })
        .collect()
}

fn read_ceiling(table: &Table<'_, '_>) -> Option<Ceiling> {
    let percent = table.number("percent");
    let below = table.number("below");
    let ceiling = Ceiling {
        is_below: below.is_some(),
        percent: Percent::new(below.or(percent)?.value),
        scope: read_scope(table),
    };
    table.finish();
    Some(ceiling)
}

fn read_scope(table: &Table<'_, '_>) -> Scope {
    Scope {
        product_use: table.text("for").map_or_else(|| "any".to_owned(), |text| text.value),
        on: table.texts("on").into_iter().map(|text| text.value).collect(),
    }
}

fn read_ph_bound(table: &Table<'_, '_>) -> PhBound {
    let number = |key: &'static str| table.number(key).map(|number| number.value);
    let bound = PhBound { below: number("below"), above: number("above"), at_least: number("at-least") };
    table.finish();
    bound
}

fn read_counting(reader: &Reader<'_>, table: &Table<'_, '_>) -> Counting {
    let mut units = BTreeMap::new();
    for (name, value) in
        table.get("units").and_then(|units| as_table(reader, "units", units)).iter().flat_map(Table::entries)
    {
        match number_text(value.get_ref()).and_then(|text| read_number(reader, text, &name.place)) {
            Some(number) => drop(units.insert(name.value, number)),
            None => reader.wrong(name.place, "Each of `units`", "a plain number"),
        }
    }
    Counting {
        substances: table.texts("substances").into_iter().map(|text| text.value).collect(),
        counted_as: table.text("as").map(|text| text.value),
        units,
        purpose: table.text("purpose").map(|text| text.value),
        only_with: table.text("only-with").map(|text| text.value),
    }
}

fn read_how(reader: &Reader<'_>, table: &Table<'_, '_>) -> Known {
    let word = table.text("how");
    let known = word.as_ref().and_then(|word| Known::from_word(&word.value));
    known.unwrap_or_else(|| {
        let place = word.map_or_else(|| table.place().clone(), |word| word.place);
        reader.wrong(place, "`how`", "\"published\", \"common practice\" or \"memory\"");
        Known::Memory
    })
}
