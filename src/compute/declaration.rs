//! The ingredient declaration: what is in the product, by ingredient and not by raw material, in the order that the rules ask for.
//!
//! EU: Regulation (EC) No 1223/2009, Article 19(1)(g): descending order of weight, ingredients below 1 % in any order after those above, colorants other than for hair
//! in any order at the end, perfume and its raw materials as "parfum", and the allergens of Annex III by name where they exceed the triggers of Regulation (EU) 2023/1545.
//! US: 21 CFR 701.3(a) and (f): descending order of predominance, ingredients of not more than 1 % in any order after those above, color
//! additives in any order at the end, fragrance as "fragrance".

use super::Computed;
use super::composition::{components_of_line, ingredients_of_line};
use super::figure::{Figure, Value, Working};
use crate::block::Placed;
use crate::material::{Allergen, Catalogue, Use};
use crate::model::Line;
use crate::quantity::{Decimal, Range};
use crate::report::{Finding, echo, kind, suggestion};
use std::collections::BTreeMap;

/// The rules by which a declaration is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rules {
    /// European Union.
    Eu,
    /// United States.
    Us,
}

impl Rules {
    /// The rule sets that have rules for declarations.
    pub const ALL: [Rules; 2] = [Rules::Eu, Rules::Us];

    /// The word in `collection.toml`.
    pub fn word(self) -> &'static str {
        match self {
            Rules::Eu => "eu",
            Rules::Us => "us",
        }
    }

    /// The rule that sets the order.
    pub fn source(self) -> &'static str {
        match self {
            Rules::Eu => "Regulation (EC) No 1223/2009, Article 19(1)(g)",
            Rules::Us => "21 CFR 701.3",
        }
    }

    /// The first of the collection's rule sets that has rules for declarations; the EU's where none has.
    pub fn of_collection(rules: &[String]) -> Rules {
        rules.iter().find_map(|word| Rules::ALL.into_iter().find(|rules| rules.word() == word)).unwrap_or(Rules::Eu)
    }

    /// The rule set that a block asks for; an unknown one is reported.
    pub(crate) fn wanted(
        asked: Option<&Placed<String>>,
        of_collection: &[String],
        findings: &mut Vec<Finding>,
    ) -> Option<Rules> {
        let Some(asked) = asked else { return Some(Rules::of_collection(of_collection)) };
        let found = Rules::ALL.into_iter().find(|rules| rules.word() == asked.value);
        if found.is_none() {
            let what = format!("There are no rules for declarations called `{}`.", echo(&asked.value));
            let known = Rules::ALL.map(Rules::word);
            findings.push(Finding::new(kind::WRONG_VALUE, asked.place.clone(), what).mend(suggestion(
                &asked.value,
                known,
                "Write \"eu\" or \"us\".",
            )));
        }
        found
    }

    /// Whether an ingredient at this share belongs to those whose order is free: below 1 % in the EU, not above 1 % in the US.
    fn is_free(self, share: Decimal) -> bool {
        match self {
            Rules::Eu => share < Decimal::ONE,
            Rules::Us => share <= Decimal::ONE,
        }
    }

    /// The one word for perfume and the raw materials of it.
    fn fragrance(self) -> &'static str {
        match self {
            Rules::Eu => "Parfum",
            Rules::Us => "Fragrance",
        }
    }
}

/// Which part of the list an ingredient stands in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// In descending order.
    Ordered,
    /// In any order, after those.
    Free,
    /// Colours, in any order, last.
    Colour,
}

/// One name of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ingredient {
    /// The name to print.
    pub name: String,
    /// Its part of the list.
    pub group: Group,
    /// Its share of the product, %.
    pub share: Range,
    /// Whether it is named as an allergen that is part of the fragrance, and by which entry.
    pub allergen: Option<String>,
    /// The lines that bring it, most first.
    pub lines: Vec<String>,
    /// The line whose range makes most of the ingredient's own.
    pub widest: Option<String>,
}

/// Two ingredients whose order the ranges leave open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpenPair {
    /// Listed first.
    pub first: String,
    /// Its share.
    pub first_share: Range,
    /// Listed second.
    pub second: String,
    /// Its share.
    pub second_share: Range,
    /// The line whose own figure would settle it.
    pub settled_by: Option<String>,
}

/// An allergen that some lots bring above its trigger and others do not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpenAllergen {
    /// Its name.
    pub name: String,
    /// Its share of the product, %.
    pub share: Range,
    /// The trigger, %.
    pub trigger: Decimal,
}

/// A declaration.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Declaration {
    /// The formula.
    pub formula: String,
    /// The rules it follows.
    pub rules: Rules,
    /// The list, in order.
    pub ingredients: Vec<Ingredient>,
    /// Pairs whose order is not settled.
    pub open_pairs: Vec<OpenPair>,
    /// Allergens named for the sake of the strongest lot only.
    pub open_allergens: Vec<OpenAllergen>,
    /// The trigger for allergens that was used, %, where the rules have one.
    pub trigger: Option<Decimal>,
    /// Lines that are scented by something of which it is not known what allergens it holds.
    pub unknown_scents: Vec<String>,
    /// Lines whose composition is not known, so that the list is not whole.
    pub unknown: Vec<String>,
    /// What the raw materials hold beside the substances named in their entries, % of the product.
    pub unnamed: Range,
}

/// What a substance comes to over all lines.
#[derive(Default)]
struct Sum {
    share: Range,
    lines: Vec<(String, Range)>,
}

impl Sum {
    fn add(&mut self, part: Range, line: &Line) {
        self.share = self.share + part;
        match self.lines.iter_mut().find(|(name, _)| *name == line.written) {
            Some((_, share)) => *share = *share + part,
            None => self.lines.push((line.written.clone(), part)),
        }
    }

    fn widest(&self) -> Option<String> {
        let width = |share: &Range| share.high - share.low;
        let widest = self.lines.iter().max_by_key(|(_, share)| width(share));
        widest.filter(|(_, share)| width(share) > Decimal::ZERO).map(|(name, _)| name.clone())
    }

    fn line_names(mut self) -> Vec<String> {
        self.lines.sort_by_key(|(_, share)| std::cmp::Reverse(share.typical));
        self.lines.into_iter().map(|(name, _)| name).collect()
    }
}

impl Declaration {
    /// The declaration of a formula.
    pub fn of(computed: &Computed, catalogue: &Catalogue, rules: Rules) -> Declaration {
        let formula = &computed.formula;
        let mut sums: BTreeMap<(Group, String), Sum> = BTreeMap::new();
        for line in formula.lines() {
            let percent = formula.percent(line).value();
            let is_scent = line.material.serves_as("fragrance") && !line.material.serves_as("preservative");
            for (component, share) in ingredients_of_line(line) {
                let Some(share) = share else { continue };
                let part = share.times(percent).divided_by(Decimal::ONE_HUNDRED);
                if part.high.is_zero() {
                    continue;
                }
                // The carrier of a scent (water, an oil) stays an ingredient of its own only where it is no fragrance itself; what a scent material
                // is made of is not told apart here, so all of it is fragrance but water.
                let is_water = component.inci == super::composition::WATER;
                let (group, name) = match component.inci.as_str() {
                    inci if inci.starts_with("CI ") => (Group::Colour, catalogue.label_name(inci, rules.word())),
                    _ if is_scent && !is_water => (Group::Ordered, rules.fragrance()),
                    inci => (Group::Ordered, catalogue.label_name(inci, rules.word())),
                };
                sums.entry((group, name.to_owned())).or_default().add(part, line);
            }
        }
        let mut declaration = Declaration {
            formula: formula.id.clone(),
            rules,
            ingredients: Vec::new(),
            open_pairs: Vec::new(),
            open_allergens: Vec::new(),
            trigger: None,
            unknown_scents: Vec::new(),
            unknown: computed.composition.unknown.clone(),
            unnamed: computed.composition.unnamed,
        };
        let mut named: BTreeMap<String, String> = BTreeMap::new();
        if rules == Rules::Eu {
            declaration.add_allergens(computed, catalogue, &mut sums, &mut named);
        }
        declaration.ingredients = sums
            .into_iter()
            .map(|((group, name), sum)| {
                let group = match group {
                    Group::Colour => Group::Colour,
                    _ if rules.is_free(sum.share.typical) => Group::Free,
                    _ => Group::Ordered,
                };
                let share = sum.share;
                let (allergen, widest) = (named.get(&name).cloned(), sum.widest());
                Ingredient { allergen, name, group, share, widest, lines: sum.line_names() }
            })
            .collect();
        declaration.ingredients.sort_by(|left, right| {
            // Of equal shares the fragrance comes before what is named of it.
            let rest = |one: &Ingredient| (one.allergen.is_some(), one.name.clone());
            (left.group, right.share.typical, rest(left)).cmp(&(right.group, left.share.typical, rest(right)))
        });
        declaration.open_pairs = open_pairs(&declaration.ingredients, rules);
        declaration
    }

    /// Adds the allergens that have to be named, each with all of it that the materials bring.
    fn add_allergens(
        &mut self,
        computed: &Computed,
        catalogue: &Catalogue,
        sums: &mut BTreeMap<(Group, String), Sum>,
        named: &mut BTreeMap<String, String>,
    ) {
        let formula = &computed.formula;
        // While the use is not stated the lower trigger is taken.
        let product_use = formula.product.as_ref().map_or(Use::LeaveOn, |product| product.product_use);
        let Some(trigger) = catalogue.allergen_trigger(product_use) else { return };
        self.trigger = Some(trigger);
        let scents = formula.lines().filter(|line| line.material.serves_as("fragrance"));
        for line in scents.filter(|line| line.material.constituents.is_empty()) {
            // A single scent substance is its own whole composition; an oil or a composed scent is not.
            let is_composed = line.material.contains.is_empty()
                || line.material.serves_as("essential oil")
                || line.material.contains.iter().any(|part| part.inci == Rules::Eu.fragrance());
            if is_composed && formula.percent(line).value() > trigger {
                self.unknown_scents.push(line.written.clone());
            }
        }
        for allergen in catalogue.allergens() {
            let sum = allergen_sum(computed, allergen);
            if sum.share.high <= trigger {
                continue;
            }
            if sum.share.low <= trigger {
                self.open_allergens.push(OpenAllergen { name: allergen.name.clone(), share: sum.share, trigger });
            }
            // A substance that is declared under its own name already is not named twice.
            let key = sums.keys().find(|(_, name)| name.eq_ignore_ascii_case(&allergen.name)).cloned();
            let key = key.unwrap_or_else(|| (Group::Ordered, allergen.name.clone()));
            named.insert(key.1.clone(), allergen.entry.clone());
            sums.insert(key, sum);
        }
    }

    /// The list as it is printed.
    pub fn text(&self) -> String {
        self.ingredients.iter().map(|ingredient| ingredient.name.as_str()).collect::<Vec<_>>().join(", ")
    }

    /// The list as a figure.
    pub fn figure(&self, address: String) -> Figure {
        Figure {
            address,
            value: Value::Text(self.text()),
            working: Working::new()
                .text("the substances of all raw materials, added up by name and put in order of weight")
                .source(self.rules.source()),
        }
    }
}

/// All of an allergen that the lines bring: as a substance of their composition and as a constituent of their oils, % of the product.
fn allergen_sum(computed: &Computed, allergen: &Allergen) -> Sum {
    let mut sum = Sum::default();
    for line in computed.formula.lines() {
        let percent = computed.formula.percent(line).value();
        let mut share = Range::ZERO;
        for (component, part) in components_of_line(line) {
            if let Some(part) = part.filter(|_| allergen.covers(&component.inci)) {
                share = share + part;
            }
        }
        for constituent in line.material.constituents.iter().filter(|part| allergen.covers(&part.inci)) {
            share = share + constituent_range(&constituent.percent);
        }
        if share.high > Decimal::ZERO {
            // Nothing is more than the whole raw material.
            let whole = |end: Decimal| end.min(Decimal::ONE_HUNDRED);
            let share = Range { low: whole(share.low), typical: whole(share.typical), high: whole(share.high) };
            sum.add(share.times(percent).divided_by(Decimal::ONE_HUNDRED), line);
        }
    }
    sum
}

/// A constituent's share of its oil: between nothing and the highest where only that is known, up to all of it where only the lowest is.
fn constituent_range(fact: &crate::material::Fact) -> Range {
    fact.range()
        .unwrap_or_else(|| Range::new(fact.min.unwrap_or_default(), fact.max.unwrap_or(Decimal::ONE_HUNDRED), None))
}

/// The pairs of one list whose order could be the other way round for some lots. Below 1 % any order is right.
fn open_pairs(ingredients: &[Ingredient], rules: Rules) -> Vec<OpenPair> {
    let mut pairs = Vec::new();
    let ordered: Vec<&Ingredient> = ingredients
        .iter()
        .filter(|ingredient| ingredient.group != Group::Colour && ingredient.allergen.is_none())
        .collect();
    for (index, first) in ordered.iter().enumerate() {
        for second in ordered.iter().skip(index + 1) {
            if second.share.high <= first.share.low || rules.is_free(second.share.high) {
                continue;
            }
            let wider = [first, second].into_iter().max_by_key(|one| one.share.high - one.share.low);
            pairs.push(OpenPair {
                first: first.name.clone(),
                first_share: first.share,
                second: second.name.clone(),
                second_share: second.share,
                settled_by: wider.and_then(|one| one.widest.clone()),
            });
        }
    }
    pairs
}
