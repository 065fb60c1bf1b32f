//! The built-in catalogue: read without a finding, and sound in itself.

#![expect(clippy::expect_used, reason = "a check that cannot be made fails the test")]

use std::collections::{BTreeMap, BTreeSet};
use tarebook::material::{
    Catalogue, Counting, Dissolves, Electrolytes, Fact, Group, Known, Material, OwnFile, Partner, SALTS, Scope, Signal,
    Source, SurfactantClass, ThickensWith, Vocabulary, WithAnionics,
};
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
        for part in material.contains.iter().chain(&material.constituents) {
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
            ("melting-point", &material.melting_point),
            ("hlb", &material.hlb),
            ("required-hlb", &material.required_hlb),
            ("saponification-value", &material.saponification_value),
            ("ionic-character-ph", &material.charge_ph),
            ("thick-ph", &material.thick_ph),
            ("solubiliser", &material.solubiliser),
        ];
        for (key, fact) in facts {
            if let Some(fact) = fact {
                check(&material.id, key, fact.source.as_deref());
            }
        }
        for constituent in &material.constituents {
            check(&material.id, &constituent.inci, constituent.percent.source.as_deref());
        }
        let words = [
            ("ionic-character", material.charge.as_ref().map(|stated| &stated.source)),
            ("with-anionics", material.with_anionics.as_ref().map(|stated| &stated.source)),
            ("covers", material.covers.as_ref().map(|cover| &cover.source)),
            ("dissolves", material.dissolves.as_ref().map(|stated| &stated.source)),
            ("electrolytes", material.electrolytes.as_ref().map(|stated| &stated.source)),
            ("thickens-with", material.thickens_with.as_ref().map(|stated| &stated.source)),
        ];
        for (key, source) in words {
            if let Some(source) = source {
                check(&material.id, key, source.as_deref());
            }
        }
        for pair in &material.incompatible {
            check(&material.id, &pair.words, pair.source.as_deref());
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
        if let Some(steps) = &substance.pka {
            check(&substance.inci, "pka", steps.source.as_deref());
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
            && [&material.temperature_limit, &material.add_below].iter().all(|fact| within(fact, 20, 300))
            && within(&material.melting_point, -200, 500)
            && [&material.hlb, &material.required_hlb].iter().all(|fact| within(fact, 0, 42))
            && within(&material.saponification_value, 0, 400)
            && [&material.thick_ph, &material.charge_ph].iter().all(|fact| within(fact, 0, 14))
            && within(&material.solubiliser, 1, 10)
            && material.constituents.iter().all(|part| within(&Some(part.percent.clone()), 0, 100));
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

#[track_caller]
fn material(id: &str) -> &'static Material {
    catalogue().material(id).expect("a material of the catalogue")
}

/// Each preservative and each booster says of bacteria, yeast and mould how well it keeps them down; nothing else does.
#[test]
fn preservatives_say_what_they_cover() {
    let mut faults = Vec::new();
    for material in catalogue().materials() {
        let preserves = material.serves_as("preservative") || material.serves_as("preservative booster");
        match &material.covers {
            None if preserves => faults.push(format!("{} does not say what it covers", material.id)),
            Some(_) if !preserves => faults.push(format!("{} covers germs but is no preservative", material.id)),
            Some(cover) if cover.groups().iter().any(|(_, coverage)| coverage.is_none()) => {
                faults.push(format!("{} leaves a group of germs out", material.id));
            }
            _ => {}
        }
    }
    check_none(faults);
}

/// Every material says what it dissolves in. Pigments and clays dissolve in nothing, fats in oil, salts in water (common
/// practice, no source).
#[test]
fn materials_say_what_they_dissolve_in() {
    let mut faults = Vec::new();
    for material in catalogue().materials() {
        let found = material.dissolves.as_ref().map(|stated| stated.value);
        let expected = if material.serves_as("soap-making fat") || material.serves_as("essential oil") {
            Some(Dissolves::Oil)
        } else if Group::Electrolytes.holds(material)
            || material.serves_as("surfactant") && material.form.as_deref() == Some("liquid")
        {
            Some(Dissolves::Water)
        } else if material.serves_as("clay") {
            Some(Dissolves::Neither)
        } else {
            found
        };
        if found.is_none() || found != expected {
            faults.push(format!("{}: {found:?}", material.id));
        }
    }
    check_none(faults);
}

/// Quaternary ammonium groups carry a positive charge at any pH, amines once acid, carboxylate and sulfate a negative one, and
/// ethoxylates, sugars and polyglycerols none (general chemistry of the groups that the INCI names tell).
#[test]
fn charges_follow_the_groups() {
    let cases = [
        ("polyquaternium-7", SurfactantClass::Cationic),
        ("polyquaternium-10", SurfactantClass::Cationic),
        ("guar-hydroxypropyltrimonium-chloride", SurfactantClass::Cationic),
        ("behentrimonium-methosulfate-25", SurfactantClass::Cationic),
        ("behentrimonium-chloride", SurfactantClass::Cationic),
        ("cetrimonium-chloride", SurfactantClass::Cationic),
        ("stearamidopropyl-dimethylamine", SurfactantClass::Cationic),
        ("chitosan", SurfactantClass::Cationic),
        ("xanthan-gum", SurfactantClass::Anionic),
        ("carbomer", SurfactantClass::Anionic),
        ("sodium-laureth-sulfate-28", SurfactantClass::Anionic),
        ("soap-noodles", SurfactantClass::Anionic),
        ("sodium-lauryl-glucose-carboxylate", SurfactantClass::Anionic),
        ("cocamidopropyl-betaine", SurfactantClass::Amphoteric),
        ("decyl-glucoside", SurfactantClass::Nonionic),
        ("hydroxyethylcellulose", SurfactantClass::Nonionic),
        ("polysorbate-20", SurfactantClass::Nonionic),
    ];
    for (id, charge) in cases {
        assert_eq!(material(id).charge(), Some(charge), "{id}");
    }
    assert_eq!(material("glycerin").charge(), None);
    let unstated = catalogue().materials().filter(|material| {
        let by_name = material
            .contains
            .iter()
            .any(|part| part.inci.contains("trimonium") || part.inci.starts_with("Polyquaternium"));
        by_name && material.charge() != Some(SurfactantClass::Cationic)
    });
    check_none(unstated.map(|material| format!("{} is not cationic", material.id)).collect());
}

/// Whatever is cationic says how it goes with anionic surfactant. Conditioning polymers of shampoos are made for it (common
/// practice, no source).
#[test]
fn cationics_say_how_they_go_with_anionics() {
    let mut faults = Vec::new();
    for material in catalogue().materials() {
        let cationic = material.charge() == Some(SurfactantClass::Cationic);
        if cationic != material.with_anionics.is_some() {
            faults.push(material.id.clone());
        }
    }
    check_none(faults);
    for id in ["polyquaternium-7", "polyquaternium-10", "guar-hydroxypropyltrimonium-chloride"] {
        assert_eq!(
            material(id).with_anionics.as_ref().map(|stated| stated.value),
            Some(WithAnionics::Compatible),
            "{id}"
        );
    }
}

/// What is thick only when neutralised says from which pH on; carbomer is so by its pharmacopoeia monograph, which measures the
/// viscosity after neutralising (USP, Carbomer 940).
#[test]
fn neutralised_thickeners_have_a_ph() {
    let mut faults = Vec::new();
    for material in catalogue().materials() {
        let neutralised = material
            .thickens_with
            .as_ref()
            .is_some_and(|stated| matches!(stated.value, ThickensWith::Base | ThickensWith::Acid));
        if neutralised != material.thick_ph.is_some() {
            faults.push(material.id.clone());
        }
    }
    check_none(faults);
    let carbomer = material("carbomer");
    assert_eq!(carbomer.thickens_with.as_ref().map(|stated| stated.value), Some(ThickensWith::Base));
    assert_eq!(carbomer.electrolytes.as_ref().map(|stated| stated.value), Some(Electrolytes::Sensitive));
}

/// Groups find their members and leave the others out.
#[test]
fn groups_hold_their_members() {
    let holds = |group: Group, id: &str| group.holds(material(id));
    assert!(holds(Group::Electrolytes, "sodium-chloride") && holds(Group::Electrolytes, "sodium-lactate"));
    assert!(!holds(Group::Electrolytes, "cocamidopropyl-betaine") && !holds(Group::Electrolytes, "water"));
    assert!(holds(Group::Ethoxylates, "polysorbate-80") && holds(Group::Ethoxylates, "emulsifying-wax"));
    assert!(holds(Group::Ethoxylates, "ceteareth-20") && !holds(Group::Ethoxylates, "sodium-laureth-sulfate-28"));
    assert!(
        holds(Group::CationicPolymers, "polyquaternium-10") && !holds(Group::CationicPolymers, "cetrimonium-chloride")
    );
    assert!(holds(Group::AnionicPolymers, "xanthan-gum") && !holds(Group::AnionicPolymers, "hydroxyethylcellulose"));
    assert!(holds(Group::Soap, "soap-noodles") && !holds(Group::Soap, "decyl-glucoside"));
    assert!(holds(Group::Parabens, "phenoxyethanol-parabens") && !holds(Group::Parabens, "phenoxyethanol"));
    for group in Group::ALL {
        // Bronopol and its like are substances of the limits; no raw material of the catalogue holds one.
        let wanted = *group != Group::NitrosatingAgents;
        assert_eq!(catalogue().materials().any(|material| group.holds(material)), wanted, "{}", group.word());
    }
}

/// What entries are to be looked for is found in some material or substance, and xanthan falls out with cationic polymers.
#[test]
fn incompatible_partners_are_known() {
    let mut faults = Vec::new();
    for material in catalogue().materials() {
        for pair in &material.incompatible {
            for partner in &pair.with {
                if let Partner::Named(name) = partner
                    && catalogue().material(name).is_none()
                    && catalogue().substance(name).is_none()
                {
                    faults.push(format!("{}: {name}", material.id));
                }
            }
        }
    }
    check_none(faults);
    let (xanthan, cationic) = (material("xanthan-gum"), material("polyquaternium-10"));
    assert!(xanthan.incompatible.iter().any(|pair| pair.concerns(cationic)));
    assert!(cationic.incompatible.iter().any(|pair| pair.concerns(xanthan)));
    assert!(!xanthan.incompatible.iter().any(|pair| pair.concerns(material("decyl-glucoside"))));
}

/// Acid constants stand in order; a salt's acid is a substance; those of the weak-acid preservatives are all there.
#[test]
fn acid_constants_are_sound() {
    let mut faults = Vec::new();
    for substance in catalogue().substances() {
        if let Some(steps) = &substance.pka {
            let rising = steps.pka.windows(2).all(|pair| pair[0] < pair[1]);
            let within = steps.pka.iter().all(|value| (Decimal::ZERO..Decimal::from(15)).contains(value));
            let charge = (Decimal::ZERO..=Decimal::from(steps.pka.len())).contains(&steps.charge);
            if steps.pka.is_empty() || !rising || !within || !charge {
                faults.push(format!("{}: {:?}", substance.inci, steps.pka));
            }
        }
        if let Some(acid) = substance.acid.as_ref().filter(|acid| catalogue().substance(acid).is_none()) {
            faults.push(format!("{} is a salt of the unknown {acid}", substance.inci));
        }
    }
    for acid in
        ["Benzoic", "Sorbic", "Dehydroacetic", "Salicylic", "Propionic", "Formic", "Levulinic", "p-Anisic", "Lactic"]
    {
        let inci = format!("{acid} Acid");
        if catalogue().substance(&inci).is_none_or(|substance| substance.pka.is_none()) {
            faults.push(format!("{inci} has no pKa"));
        }
    }
    check_none(faults);
}

/// The catalogue's constants against a second table: "A guide for the preparation and use of buffers in biological systems",
/// table of ionization constants. Working tables are rounded and differ in the second decimal, phosphoric acid by up to 0.06.
#[test]
fn acid_constants_agree_with_a_second_table() {
    let table: [(&str, &[&str]); 4] = [
        ("Acetic Acid", &["4.76"]),
        ("Citric Acid", &["3.13", "4.77", "6.40"]),
        ("Formic Acid", &["3.75"]),
        ("Phosphoric Acid", &["2.12", "7.21", "12.32"]),
    ];
    for (inci, printed) in table {
        let substance = catalogue().substance(inci).expect("a substance of the catalogue");
        let known = &substance.pka.as_ref().expect("an acid").pka;
        assert_eq!(known.len(), printed.len(), "{inci}");
        for (value, printed) in known.iter().zip(printed) {
            let printed: Decimal = printed.parse().expect("a number");
            assert!((value - printed).abs() <= Decimal::new(6, 2), "{inci}: {value} and {printed}");
        }
    }
}

/// Salts that thin gels are substances of the catalogue, but for one that an author may bring.
#[test]
fn salts_are_substances() {
    let unknown = SALTS.iter().filter(|salt| catalogue().substance(salt).is_none() && **salt != "Potassium Chloride");
    check_none(unknown.map(|salt| (*salt).to_owned()).collect());
}

/// Parts of solubiliser: a supplier's guide to polysorbate 20 gives 1 part for citrus and lavender, 2 for peppermint, 3 to 5 for
/// patchouli.
#[test]
fn oils_say_how_much_solubiliser_they_need() {
    let parts = |id: &str| material(id).solubiliser.as_ref().map(Fact::words);
    assert_eq!(parts("lemon-oil").as_deref(), Some("1"));
    assert_eq!(parts("peppermint-oil").as_deref(), Some("2"));
    assert_eq!(parts("patchouli-oil").as_deref(), Some("3–5"));
    let mut faults = Vec::new();
    for material in catalogue().materials() {
        let Some(fact) = &material.solubiliser else { continue };
        let is_oil = material.serves_as("essential oil");
        let named = fact.of.as_ref().is_some_and(|of| catalogue().substance(of).is_some());
        if is_oil != named || is_oil == material.serves_as("solubiliser") {
            faults.push(material.id.clone());
        }
    }
    check_none(faults);
}

/// What an own entry does not say stays as the catalogue has it, and what it says counts.
#[test]
fn own_entries_keep_the_rest() {
    let text = "[material.carbomer]\nelectrolytes = \"tolerant\"\n";
    let file = OwnFile { path: "materials/own.toml".into(), text: text.into() };
    let (own, findings) = catalogue().with_own(&[file]);
    assert!(findings.is_empty(), "{findings:?}");
    let (base, own) = (material("carbomer"), own.material("carbomer").expect("the same material"));
    assert_eq!(own.electrolytes.as_ref().map(|stated| stated.value), Some(Electrolytes::Tolerant));
    assert_eq!(own.electrolytes.as_ref().and_then(|stated| stated.source.clone()), None);
    assert_eq!(
        (own.charge(), &own.thick_ph, &own.dissolves, &own.incompatible),
        (base.charge(), &base.thick_ph, &base.dissolves, &base.incompatible)
    );
}

/// Chelators and plant waters are found by their function.
#[test]
fn chelators_and_plant_waters_are_named() {
    for id in [
        "disodium-edta",
        "sodium-phytate",
        "phytic-acid",
        "tetrasodium-glutamate-diacetate",
        "sodium-gluconate",
        "citric-acid",
    ] {
        assert!(material(id).serves_as("chelator"), "{id}");
    }
    for material in catalogue().materials() {
        let named = material.contains.iter().any(|part| part.inci.ends_with(" Water") || part.inci.ends_with(" Juice"));
        assert!(!named || material.serves_as("plant water"), "{}", material.id);
    }
    assert!(!material("water").serves_as("plant water") && !material("glycerin").serves_as("chelator"));
}

/// Every raw material, alone or with half its usual strength, comes to 100 % with what its entry does not name.
#[test]
fn every_composition_comes_to_a_hundred_in_a_formula() {
    use tarebook::compute::{has_strength, usual_strength};
    let mut text = String::new();
    let mut expected = 0;
    for material in catalogue().materials() {
        let id = &material.id;
        text.push_str(&format!("```formula\nid = \"as-{id}\"\n[phase.A]\n{id} = 100\n```\n\n"));
        expected += 1;
        if let Some(usual) = usual_strength(material).filter(|_| has_strength(material)) {
            let half = (usual.typical / Decimal::TWO).round_dp(3).normalize();
            let line = format!("{id} = {{ percent = 100, strength = \"{half} %\" }}");
            text.push_str(&format!("```formula\nid = \"half-{id}\"\n[phase.A]\n{line}\n```\n\n"));
            expected += 1;
        }
    }
    let collection = crate::support::collection([("all.md", text.as_str())]);
    let mut counted = 0;
    for id in collection.formula_ids() {
        let computed = collection.formula(id).expect(id);
        let composition = &computed.composition;
        if !composition.unknown.is_empty() {
            continue;
        }
        let sum: Decimal = composition.substances.values().map(|share| share.typical).sum();
        let whole = sum + composition.bound.typical + composition.unnamed.typical;
        assert!((whole - Decimal::ONE_HUNDRED).abs() < Decimal::new(1, 12), "{id}: {whole}");
        counted += 1;
    }
    assert!(counted > 400 && counted <= expected, "{counted} of {expected}");
}
