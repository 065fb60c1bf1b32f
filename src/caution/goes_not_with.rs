//! Two raw materials of one formula that do not go with each other, as the entry of one of them says.

use super::water_without_preservative::free_water;
use super::{Case, Caution};
use crate::compute::{percent_of_substances, watery_of};
use crate::material::{Coverage, Group, Incompatible, Material, Partner, SALTS, SurfactantClass};
use crate::model::Line;
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[NITROSAMINE, SALT, BOUND, OTHER], examine };

const NITROSAMINE: &Kind = &Kind {
    name: "nitrosamine-risk",
    severity: Severity::Caution,
    summary: "An amine or amide together with something that turns it into a nitrosamine.",
    why: "Nitrosamines cause cancer in animals; rules forbid the pair.",
    mend: "Take out one of the two.",
};

const SALT: &Kind = &Kind {
    name: "salt-thins-gel",
    severity: Severity::Caution,
    summary: "A thickener that does not bear salts, together with salts.",
    why: "Salts screen the charges that hold the gel apart, and it runs thin.",
    mend: "Take a thickener that bears salts, or fewer salts; surfactant solutions, juices and extracts bring some as well.",
};

const BOUND: &Kind = &Kind {
    name: "preservative-bound",
    severity: Severity::Note,
    summary: "A preservative beside so much ethoxylated emulsifier or solubiliser that part of it is bound.",
    why: "What is bound inside the micelles does not reach the germs.",
    mend: "Stay at the upper end of the preservative's dose, take less solubiliser, and do not count on it without a challenge test.",
};

const OTHER: &Kind = &Kind {
    name: "does-not-go-with",
    severity: Severity::Note,
    summary: "Two raw materials of which one's entry says that they do not go together.",
    why: "They may react, fall out or undo each other's work.",
    mend: "Try it in a small batch and look again after a week, or take out one of the two.",
};

/// From this much salt on a gel that does not bear it runs thin, % of the product. Common practice, no source.
const GEL_BEARS: Decimal = Decimal::from_parts(5, 0, 0, false, 1);

/// From this much ethoxylate on preservatives are measurably bound, % of the product: 2.5 % polysorbate 80 undid a dose of phenoxyethanol and parabens
/// (formulating-education article on preservative inactivation, 3 November 2010).
const BINDS: Decimal = Decimal::from_parts(25, 0, 0, false, 1);

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    let lines: Vec<&Line> =
        case.lines().map(|(_, line)| line).filter(|line| !formula.percent(line).value().is_zero()).collect();
    salts(case, &lines, findings);
    bound(case, &lines, findings);
    // Each pair is said once, whichever of the two entries names the other.
    let mut said: Vec<(&str, &str)> = Vec::new();
    for line in &lines {
        for pair in &line.material.incompatible {
            for other in
                lines.iter().filter(|other| other.material.id != line.material.id && concerns(case, pair, other))
            {
                let (one, two) = (line.material.id.as_str(), other.material.id.as_str());
                if said.contains(&(one, two))
                    || said.contains(&(two, one))
                    || is_said_elsewhere(line, pair, &other.material)
                {
                    continue;
                }
                if !matters(case, &line.material, &other.material) {
                    continue;
                }
                said.push((one, two));
                findings.push(describe(line, other, pair));
            }
        }
    }
}

/// From this much on a substance counts, % of the product: what an extract is preserved with is no partner. Common practice, no source.
const COUNTS: Decimal = Decimal::from_parts(1, 0, 0, false, 1);

/// Whether a pair of an entry concerns another line: by its group or id, or by a substance that it brings enough of.
fn concerns(case: &Case<'_>, pair: &Incompatible, other: &Line) -> bool {
    pair.with.iter().any(|partner| match partner {
        Partner::Group(group) => group.holds(&other.material),
        Partner::Named(name) => {
            let material = &other.material;
            let brought = || -> Decimal {
                let parts = material.contains.iter().filter(|part| part.inci.eq_ignore_ascii_case(name));
                let share: Decimal = parts.filter_map(|part| Some(part.percent.range()?.typical)).sum();
                case.computed.formula.percent(other).of(share)
            };
            material.id == *name || material.also.contains(name) || brought() >= COUNTS
        }
    })
}

fn describe(line: &Line, other: &Line, pair: &Incompatible) -> Finding {
    let effect = pair.effect.as_ref().map_or(String::new(), |effect| format!(": {effect}"));
    let risk = pair
        .with
        .iter()
        .any(|partner| *partner == Partner::Group(Group::NitrosatingAgents) && partner.is_in(&other.material));
    let kind = if risk { NITROSAMINE } else { OTHER };
    let what = format!("`{}` does not go with `{}`{effect}.", line.written, other.written);
    let source = pair.source.as_ref().map_or_else(|| "no source given".to_owned(), |source| source.line());
    Finding::new(kind, line.place.clone(), what)
        .source(source)
        .also_at(other.place.clone(), format!("`{}`", other.written))
}

/// Whether another check judges the pair with figures: charges, salts in gels, preservatives bound by ethoxylates and glucosides.
fn is_said_elsewhere(line: &Line, pair: &Incompatible, other: &Material) -> bool {
    let opposite = |one: Option<SurfactantClass>, two: Option<SurfactantClass>| {
        matches!(
            (one, two),
            (Some(SurfactantClass::Cationic), Some(SurfactantClass::Anionic))
                | (Some(SurfactantClass::Anionic), Some(SurfactantClass::Cationic))
        )
    };
    let salts_and_gel = |gel: &Material, salt: &Material| {
        gel.electrolytes.is_some()
            && (Group::Electrolytes.holds(salt) || salt.contains.iter().any(|part| SALTS.contains(&part.inci.as_str())))
    };
    let preserves = |material: &Material| material.serves_as("preservative");
    let binds = |material: &Material| Group::Ethoxylates.holds(material) || Group::NonionicSurfactants.holds(material);
    let charged_group = |partner: &Partner| {
        matches!(
            partner,
            Partner::Group(
                Group::CationicPolymers
                    | Group::CationicSurfactants
                    | Group::AnionicPolymers
                    | Group::AnionicSurfactants
            )
        ) && partner.is_in(other)
    };
    opposite(line.material.charge(), other.charge())
        || pair.with.iter().any(charged_group)
        || salts_and_gel(&line.material, other)
        || salts_and_gel(other, &line.material)
        || (preserves(&line.material) && binds(other))
        || (preserves(other) && binds(&line.material))
}

/// Acid on carbonate or on soap is the purpose of a fizzing bath and a slip elsewhere: it matters where there is water to react in, and on soap
/// only below the pH that soap has.
fn matters(case: &Case<'_>, one: &Material, two: &Material) -> bool {
    let either = |group: Group| group.holds(one) || group.holds(two);
    if either(Group::Soap) && either(Group::Acids) {
        // Soap is alkaline from pH 9 on (practice of the trade, no source); acid that leaves it there only takes up what lye was over.
        return case.computed.formula.ph.is_none_or(|ph| ph.low.value() < Decimal::new(85, 1));
    }
    free_water(case).typical >= REACTS_IN
}

/// From this much water on what is dry in the tin reacts, % of the product; what binds a pressed bath bomb is less. Common practice, no source.
const REACTS_IN: Decimal = Decimal::from_parts(3, 0, 0, false, 0);

fn salts(case: &Case<'_>, lines: &[&Line], findings: &mut Vec<Finding>) {
    let salt = percent_of_substances(&case.computed.composition, &SALTS);
    if salt.typical < GEL_BEARS {
        return;
    }
    let sensitive = |line: &&&Line| {
        let stated = line.material.electrolytes.as_ref();
        stated.is_some_and(|stated| stated.value == crate::material::Electrolytes::Sensitive)
    };
    for line in lines.iter().filter(sensitive) {
        let source = line.material.electrolytes.as_ref().and_then(|stated| stated.source.as_ref());
        let bringers: Vec<&str> = lines
            .iter()
            .filter(|other| other.material.contains.iter().any(|part| SALTS.contains(&part.inci.as_str())))
            .map(|other| other.written.as_str())
            .collect();
        let shown =
            if salt.is_exact() { show::percent(salt.typical.normalize()) } else { show::percent_range(salt, 1) };
        findings.push(
            Finding::new(
                SALT,
                line.place.clone(),
                format!(
                    "`{}` does not bear salts, and {} bring {shown}.",
                    line.written,
                    crate::report::list(&bringers, "and")
                ),
            )
            .source(source.map_or_else(|| "no source given".to_owned(), |source| source.line())),
        );
    }
}

fn bound(case: &Case<'_>, lines: &[&Line], findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    let binders: Vec<&&Line> = lines.iter().filter(|line| Group::Ethoxylates.holds(&line.material)).collect();
    // The fatty alcohol of an emulsifying wax binds nothing: the same article saw none of it with cetearyl alcohol.
    let percent: Decimal = binders.iter().map(|line| formula.percent(line).of(line.material.ethoxylated())).sum();
    let of_lines: Decimal = binders.iter().map(|line| formula.percent(line).value()).sum();
    // Blends are said with what is ethoxylate in them; a solubiliser with a little moisture is no blend.
    let is_blend = percent < of_lines * Decimal::new(9, 1);
    if percent < BINDS || watery_of(&case.computed.composition).high < Decimal::ONE {
        return;
    }
    let names: Vec<&str> = binders.iter().map(|line| line.written.as_str()).collect();
    let is_bound = |line: &&&Line| {
        let covers = line.material.covers.as_ref();
        line.material.serves_as("preservative")
            && covers.is_none_or(|cover| cover.bacteria != Some(Coverage::None))
            && (line
                .material
                .incompatible
                .iter()
                .any(|pair| binders.iter().any(|binder| pair.concerns(&binder.material)))
                || binders
                    .iter()
                    .any(|binder| binder.material.incompatible.iter().any(|pair| pair.concerns(&line.material))))
    };
    let preservatives: Vec<&&Line> = lines.iter().filter(is_bound).collect();
    let Some(first) = preservatives.first() else { return };
    let bound: Vec<&str> = preservatives.iter().map(|line| line.written.as_str()).collect();
    findings.push(
        Finding::new(
            BOUND,
            first.place.clone(),
            format!(
                "{} {} {}{} {} part of {}.",
                crate::report::list(&names, "and"),
                if is_blend { "with" } else { "at" },
                show::percent(if is_blend { percent } else { of_lines }.normalize()),
                if is_blend { " ethoxylate" } else { "" },
                if names.len() > 1 { "together bind" } else { "binds" },
                crate::report::list(&bound, "and")
            ),
        )
        .source("formulating-education article on preservative inactivation, 3 November 2010: from 2.5 % of polysorbate 80 on"),
    );
}
