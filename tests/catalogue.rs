//! The built-in catalogue: read without a finding, and sound in itself.

use std::collections::{BTreeMap, BTreeSet};
use tarebook::material::{Catalogue, Counting, Fact, Known, Scope, Signal, Source};
use tarebook::quantity::Decimal;

fn catalogue() -> &'static Catalogue {
    Catalogue::built_in()
}

/// Fails with all that was found, one on a line.
#[track_caller]
fn check_none(faults: Vec<String>) {
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

#[test]
fn it_is_read_without_a_finding() {
    let faults = Catalogue::built_in_findings()
        .iter()
        .map(|finding| format!("{} {}: {}", finding.place.path, finding.kind.name, finding.what));
    check_none(faults.collect());
}

#[test]
fn it_is_large_enough_to_begin_with() {
    assert!(catalogue().materials().count() >= 40);
    assert!(catalogue().substances().count() >= 60);
    assert!(catalogue().products().len() >= 8);
    assert!(catalogue().limits().len() >= 150);
}

/// An id or another id leads to one material only, and each is written as an id.
#[test]
fn ids_are_unique() {
    let mut owners: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for material in catalogue().materials() {
        for id in std::iter::once(&material.id).chain(&material.also) {
            owners.entry(id).or_default().push(&material.id);
        }
    }
    let twice = owners.iter().filter(|(_, owners)| owners.len() > 1).map(|(id, owners)| format!("{id}: {owners:?}"));
    check_none(twice.collect());
    let plain = |id: &&&str| !id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-');
    check_none(owners.keys().filter(plain).map(|id| format!("{id} is no id")).collect());
}

/// CAS Registry, check digit: the digits before it, counted from the right from 1, each times its position; the sum modulo 10.
fn is_cas_number(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [first, second, check] = parts.as_slice() else { return false };
    let shaped = (2..=7).contains(&first.len()) && second.len() == 2 && check.len() == 1;
    let digits: Option<Vec<u32>> = format!("{first}{second}").chars().map(|digit| digit.to_digit(10)).collect();
    let Some(digits) = digits.filter(|_| shaped && !first.starts_with('0')) else { return false };
    let sum: u32 = digits.iter().rev().zip(1..).map(|(digit, position)| digit * position).sum();
    check.parse() == Ok(sum % 10)
}

/// The rule on two numbers: water, 7732-18-5, is the example that the registry itself gives.
#[test]
fn the_check_digit_is_computed_as_the_registry_does() {
    assert!(is_cas_number("7732-18-5"));
    assert!(is_cas_number("56-81-5"));
    assert!(!is_cas_number("7732-18-6"));
    assert!(!is_cas_number("7723-18-5"));
    assert!(!is_cas_number("7732185"));
}

#[test]
fn cas_numbers_have_their_check_digit() {
    let known: Vec<_> =
        catalogue().substances().filter_map(|substance| Some((&substance.inci, substance.cas.as_ref()?))).collect();
    assert!(known.len() >= 60, "only {} CAS numbers", known.len());
    check_none(
        known.iter().filter(|(_, cas)| !is_cas_number(cas)).map(|(inci, cas)| format!("{inci}: {cas}")).collect(),
    );
}

/// What a rule counts is known, and where it counts as something else both molar masses are there: otherwise the rule would
/// never be judged, in silence.
fn faults_of_counting(id: &str, counting: &Counting) -> Vec<String> {
    let mut faults = Vec::new();
    let functions: BTreeSet<&str> =
        catalogue().materials().flat_map(|material| material.functions.iter().map(String::as_str)).collect();
    // No raw material of the catalogue is sold as a sun filter; authors may have one.
    let known = |purpose: &str| functions.contains(purpose) || ["other", "UV filter"].contains(&purpose);
    if let Some(purpose) = counting.purpose.as_deref().filter(|purpose| !known(purpose)) {
        faults.push(format!("{id} has the purpose {purpose}"));
    }
    let mass = |inci: &str| catalogue().substance(inci).and_then(|known| known.molar_mass.as_ref()?.range());
    for inci in &counting.substances {
        if catalogue().substance(inci).is_none() {
            faults.push(format!("{id} counts {inci}, which is not among the substances"));
        }
        let elsewise = counting.counted_as.as_ref().filter(|basis| *basis != inci);
        if let Some(basis) = elsewise
            && (mass(inci).is_none() || mass(basis).is_none())
        {
            faults.push(format!("{id} counts {inci} as {basis}, and a molar mass is missing"));
        }
    }
    let stray = |name: &&String| !counting.substances.contains(name) || counting.counted_as.is_none();
    faults.extend(counting.units.keys().filter(stray).map(|name| format!("{id} has units of {name}")));
    faults
}

/// Products that a scope names are product types or places where one goes.
fn faults_of_scope(id: &str, scope: &Scope) -> Vec<String> {
    let known = |word: &&String| catalogue().products().iter().any(|product| product.goes_on(word));
    let stray = |word: &&String| !known(word);
    scope.on.iter().filter(stray).map(|word| format!("{id} is for {word}, which is no product and no place")).collect()
}

const RULE_SETS: [&str; 3] = ["eu", "us", "ifra"];

#[test]
fn limits_can_be_judged() {
    let mut faults = Vec::new();
    let mut seen = BTreeSet::new();
    for limit in catalogue().limits() {
        let id = &limit.id;
        if (limit.ceilings.is_empty() && limit.ph.is_none()) || limit.entry.is_empty() || limit.what.is_empty() {
            faults.push(format!("{id} has no ceiling, no entry or no name"));
        }
        if !RULE_SETS.contains(&limit.rules.as_str()) || !id.starts_with(&limit.rules) {
            faults.push(format!("{id} belongs to the unknown rule set {}", limit.rules));
        }
        if !seen.insert((limit.entry.as_str(), limit.what.as_str())) {
            faults.push(format!("{id} stands twice"));
        }
        let ph = limit.ph.as_ref();
        if ph.is_some_and(|bound| bound.below.is_none() && bound.above.is_none() && bound.at_least.is_none()) {
            faults.push(format!("{id} bounds no pH"));
        }
        faults.extend(faults_of_counting(id, &limit.counting));
        faults.extend(limit.ceilings.iter().flat_map(|ceiling| faults_of_scope(id, &ceiling.scope)));
    }
    check_none(faults);
}

#[test]
fn label_warnings_can_be_judged() {
    let mut faults = Vec::new();
    for warning in catalogue().warnings() {
        let id = &warning.id;
        if !RULE_SETS.contains(&warning.rules.as_str()) || !id.starts_with(&warning.rules) {
            faults.push(format!("{id} belongs to the unknown rule set {}", warning.rules));
        }
        if warning.is_prescribed == (warning.words.starts_with("that ") || warning.words.starts_with("to ")) {
            faults.push(format!("{id} says: {}", warning.words));
        }
        faults.extend(faults_of_counting(id, &warning.counting));
        faults.extend(faults_of_scope(id, &warning.scope));
    }
    assert!(catalogue().warnings().len() >= 15);
    check_none(faults);
}

/// A salt is heavier than what it counts as, or carries more than one of it.
#[test]
fn acids_of_salts_are_known() {
    let mut faults = Vec::new();
    for substance in catalogue().substances() {
        if substance.units < Decimal::ONE {
            faults.push(format!("{} has {} units", substance.inci, substance.units));
        }
        if let Some(mass) = substance.molar_mass.as_ref().and_then(Fact::range)
            && !(Decimal::ONE..Decimal::from(10_000_000)).contains(&mass.typical)
        {
            faults.push(format!("{} has the molar mass {}", substance.inci, mass.typical));
        }
    }
    check_none(faults);
}

/// Typical shares of a complete composition come to 100 % with the named rest.
#[test]
fn compositions_are_whole() {
    let mut faults = Vec::new();
    for material in catalogue().materials() {
        let typical = |fact: &Fact| fact.range().map(|range| range.typical);
        let parts: Option<Decimal> = material.contains.iter().map(|part| typical(&part.percent)).sum();
        let rest = material.remainder.as_ref().map_or(Some(Decimal::ZERO), typical);
        match (material.contains.is_empty(), parts.zip(rest)) {
            (false, Some((parts, rest))) if parts + rest == Decimal::ONE_HUNDRED => {}
            (_, sum) => faults.push(format!("{}: {sum:?}", material.id)),
        }
        let names: BTreeSet<&str> = material.contains.iter().map(|part| part.inci.as_str()).collect();
        if names.len() != material.contains.len() {
            faults.push(format!("{} names a substance twice", material.id));
        }
    }
    check_none(faults);
}

/// Everything that a material consists of is a substance with a CAS number or at least a name in the table.
#[test]
fn parts_of_materials_are_substances() {
    let mut missing = BTreeSet::new();
    for material in catalogue().materials() {
        for part in &material.contains {
            if catalogue().substance(&part.inci).is_none() {
                missing.insert(part.inci.as_str());
            }
        }
    }
    check_none(missing.into_iter().map(str::to_owned).collect());
}

#[test]
fn hazards_are_described() {
    let known: BTreeSet<&str> = catalogue().hazards().iter().map(|hazard| hazard.key.as_str()).collect();
    let mut faults = Vec::new();
    for material in catalogue().materials() {
        for handling in &material.handling {
            if !known.contains(handling.hazard.as_str()) {
                faults.push(format!("{}: {}", material.id, handling.hazard));
            }
            if handling.source.is_none() {
                faults.push(format!("{}: {} without a source", material.id, handling.hazard));
            }
        }
    }
    for hazard in catalogue().hazards() {
        if !hazard.measure.ends_with('.') || hazard.source.is_none() {
            faults.push(format!("{} has no measure or no source", hazard.key));
        }
    }
    check_none(faults);
}

/// Every code of a classification is in the standard's tables, no code repeats another, and the label is the one that the standard's
/// rules make of the statements (Regulation (EC) No 1272/2008, Articles 20, 26 and 27).
#[test]
fn classifications_agree_with_their_statements() {
    let tables = catalogue().statements();
    let mut faults = Vec::new();
    let mut n_known = 0;
    for material in catalogue().materials() {
        let Some(known) = &material.classification else { continue };
        n_known += 1;
        let id = &material.id;
        for code in &known.statements {
            match tables.statement(code) {
                None => faults.push(format!("{id}: {code} is in no table")),
                Some(statement) => {
                    let covered = known.statements.iter().filter(|other| statement.covers.contains(other));
                    faults.extend(covered.map(|other| format!("{id}: {code} says what {other} says")));
                }
            }
        }
        let (signal, pictograms) = tables.label(&known.statements);
        let milder = known.statements.iter().filter_map(|code| tables.statement(code)?.milder).max();
        if known.signal != signal && (milder.is_none() || known.signal != milder) {
            faults.push(format!("{id}: {:?} where the statements make {signal:?}", known.signal));
        }
        if known.pictograms != pictograms {
            faults.push(format!("{id}: {:?} where the statements make {pictograms:?}", known.pictograms));
        }
        if known.source.is_none() {
            faults.push(format!("{id}: a class without a source"));
        }
        if known.statements.is_empty() && known.note.is_none() {
            faults.push(format!("{id}: no class and no word why"));
        }
    }
    assert!(n_known >= 100, "only {n_known} classifications");
    check_none(faults);
}

/// The tables of the standard are whole in themselves: every pictogram has its name, every hazard its measure.
#[test]
fn hazard_statements_lead_somewhere() {
    let tables = catalogue().statements();
    let hazards: BTreeSet<&str> = catalogue().hazards().iter().map(|hazard| hazard.key.as_str()).collect();
    let mut faults = Vec::new();
    for statement in tables.statements() {
        let code = &statement.code;
        if statement.text.is_empty() || statement.text.ends_with('.') {
            faults.push(format!("{code}: {:?}", statement.text));
        }
        if !hazards.contains(statement.hazard.as_str()) {
            faults.push(format!("{code}: the hazard {:?}", statement.hazard));
        }
        if statement.pictogram.as_ref().is_some_and(|pictogram| tables.pictogram(pictogram).is_none()) {
            faults.push(format!("{code}: the pictogram {:?}", statement.pictogram));
        }
        faults.extend(
            statement
                .covers
                .iter()
                .filter(|code| tables.statement(code).is_none())
                .map(|other| format!("{code}: {other}")),
        );
        // A milder category never has the graver word, and a word that opens no line needs no Danger.
        if statement.milder >= statement.signal && statement.milder.is_some() {
            faults.push(format!("{code}: the milder signal word"));
        }
        if !statement.opens_line && statement.signal == Some(Signal::Danger) {
            faults.push(format!("{code}: a danger without a line"));
        }
    }
    assert_eq!(tables.pictograms().count(), 9);
    assert!(tables.statements().count() >= 60);
    check_none(faults);
}

/// What its handling calls corrosive burns by its class too, where a class is known.
#[test]
fn corrosive_handling_agrees_with_the_class() {
    let mut faults = Vec::new();
    for material in catalogue().materials() {
        let Some(known) = &material.classification else { continue };
        let is_corrosive = material.handling.iter().any(|row| row.hazard == "corrosive");
        if is_corrosive && !known.statements.iter().any(|code| code == "H314") {
            faults.push(material.id.clone());
        }
    }
    check_none(faults);
}

/// Every figure says where it comes from, and what was read names a document.
#[test]
fn figures_carry_their_source() {
    let mut faults = Vec::new();
    let mut check = |owner: &str, key: &str, source: Option<&Source>| match source {
        None => faults.push(format!("{owner}: {key} has no source")),
        Some(source) if source.text.trim().is_empty() => faults.push(format!("{owner}: {key} has an empty source")),
        Some(source) if source.how == Known::Published && source.text.contains("recalled") => {
            faults.push(format!("{owner}: {key} was recalled but is marked as published"));
        }
        Some(_) => {}
    };
    for material in catalogue().materials() {
        let facts = [
            ("strength", &material.strength),
            ("density", &material.density),
            ("use", &material.use_any),
            ("use-rinse-off", &material.use_rinse_off),
            ("use-leave-on", &material.use_leave_on),
            ("ph-works", &material.ph_works),
            ("ph-stable", &material.ph_stable),
            ("temperature-limit", &material.temperature_limit),
            ("add-below", &material.add_below),
        ];
        for (key, fact) in facts {
            if let Some(fact) = fact {
                check(&material.id, key, fact.source.as_deref());
            }
        }
    }
    for product in catalogue().products() {
        for (key, fact) in [("active", &product.active), ("ph", &product.ph)] {
            if let Some(fact) = fact {
                check(&product.name, key, fact.source.as_deref());
            }
        }
    }
    for substance in catalogue().substances() {
        if let Some(fact) = &substance.molar_mass {
            check(&substance.inci, "molar-mass", fact.source.as_deref());
        }
    }
    check_none(faults);
}

/// Figures stand where they can be: shares between 0 and 100 %, pH between 0 and 14, densities of liquids and powders.
#[test]
fn figures_are_plausible() {
    let mut faults = Vec::new();
    let within = |fact: &Option<Fact>, low: i64, high: i64| {
        let (low, high) = (Decimal::from(low), Decimal::from(high));
        fact.iter().flat_map(|fact| [fact.min, fact.typical, fact.max]).flatten().all(|end| low <= end && end <= high)
    };
    for material in catalogue().materials() {
        let shares = [&material.strength, &material.use_any, &material.use_rinse_off, &material.use_leave_on];
        let sound = shares.iter().all(|fact| within(fact, 0, 100))
            && [&material.ph_works, &material.ph_stable].iter().all(|fact| within(fact, 0, 14))
            && within(&material.density, 0, 5)
            && [&material.temperature_limit, &material.add_below].iter().all(|fact| within(fact, 20, 300));
        if !sound {
            faults.push(material.id.clone());
        }
        let ordered = |fact: &&Fact| fact.min.zip(fact.max).is_some_and(|(min, max)| min > max);
        faults.extend(
            shares.iter().filter_map(|fact| fact.as_ref()).filter(ordered).map(|_| format!("{}: ends", material.id)),
        );
        if material.strength.as_ref().is_some_and(|strength| strength.of.is_none()) {
            faults.push(format!("{}: a strength of what", material.id));
        }
    }
    check_none(faults);
}

/// Product types are found by each of their names, and no name means two.
#[test]
fn product_names_are_unique() {
    let mut seen: BTreeMap<String, &str> = BTreeMap::new();
    let mut faults = Vec::new();
    for product in catalogue().products() {
        for name in std::iter::once(&product.name).chain(&product.also) {
            if let Some(other) = seen.insert(name.to_lowercase(), &product.name) {
                faults.push(format!("{name} is {other} and {}", product.name));
            }
            if catalogue().product(name).map(|found| &found.name) != Some(&product.name) {
                faults.push(format!("{name} does not lead to {}", product.name));
            }
        }
    }
    check_none(faults);
}
