//! Buffers of which no pH can be given, or one that is less sure than it looks, and the care that their materials need.

use super::handling;
use crate::block::{BufferBlock, Placed};
use crate::compute::{BEYOND, Buffer, BufferFault, BufferLine, WELL_WITHIN};
use crate::material::{Catalogue, IonTable, Solute};
use crate::quantity::{Decimal, Percent, show};
use crate::report::{Finding, Kind, Place, Severity, echo, kind, suggestion};

pub(super) const KINDS: &[&Kind] =
    &[IONS_UNKNOWN, TOO_CONCENTRATED, CONCENTRATED, PH_OUT_OF_REACH, STRENGTH_OPEN, STRENGTH_ABOVE];

const IONS_UNKNOWN: &Kind = &Kind {
    name: "ions-unknown",
    severity: Severity::Error,
    summary: "Something in a buffer of which it is not known how it comes apart in water.",
    why: "Left out it would count as nothing, and the pH would be another.",
    mend: "Only acids, bases and salts of the table are predicted; for a product with surfactants, oils or thickeners the pH has to be measured.",
};

const TOO_CONCENTRATED: &Kind = &Kind {
    name: "too-concentrated",
    severity: Severity::Error,
    summary: "A solution too concentrated for a predicted pH.",
    why: "Activities follow Davies' equation, which holds up to about 0.5 mol/kg; no pH is given beyond 1 mol/kg.",
    mend: "Take more water, or measure the pH.",
};

const CONCENTRATED: &Kind = &Kind {
    name: "ionic-strength-high",
    severity: Severity::Caution,
    summary: "A predicted pH at an ionic strength where the activities are no longer sure.",
    why: "Beyond about 0.5 mol/kg Davies' equation is off by more than a tenth of a pH in places.",
    mend: "Take the pH as a first guess and measure it.",
};

const PH_OUT_OF_REACH: &Kind = &Kind {
    name: "ph-out-of-reach",
    severity: Severity::Error,
    summary: "A pH that cannot be reached with what is to be added.",
    why: "A base only takes the pH up and an acid only down, and each only so far within what can be predicted.",
    mend: "Reach it with something else, or correct the pH.",
};

const STRENGTH_OPEN: &Kind = &Kind {
    name: "strength-of-lot-open",
    severity: Severity::Note,
    summary: "A raw material of a buffer whose lots differ in strength.",
    why: "The pH and the dose were predicted with the usual strength; the lot in hand may hold more or less.",
    mend: "Give the strength on its certificate: `{ amount = \"5 g\", strength = \"88 %\" }`.",
};

const STRENGTH_ABOVE: &Kind = &Kind {
    name: "strength-above-lots",
    severity: Severity::Question,
    summary: "A strength that is higher than lots of the raw material have.",
    why: "Either the number counts something else, such as a hydrate with its crystal water, or it is another grade; the pH and the dose follow it.",
    mend: "Count the substance itself, a hydrate without its water, or name the raw material whose lots are so strong.",
};

/// So far above the lots of the catalogue a strength is asked about, as a multiple of their highest. Common practice, no source.
const BEYOND_LOTS: Decimal = Decimal::from_parts(105, 0, 0, false, 2);

/// The range of the activities.
const RANGE_SOURCE: &str = "from memory: Davies, Ion Association (1962)";

/// A spread of strengths that leaves the pH open by more than a few hundredths, as a share of the strength. Common practice, no source.
const WIDE: Decimal = Decimal::from_parts(3, 0, 0, false, 2);

/// Everything that is to be said about a buffer.
pub fn examine_buffer(
    answer: &Result<Buffer, BufferFault>,
    block: &BufferBlock,
    catalogue: &Catalogue,
    place: &Place,
) -> Vec<Finding> {
    let head = Place { path: place.path.clone(), span: place.span.start..place.span.start };
    let buffer = match answer {
        Ok(buffer) => buffer,
        Err(fault) => return vec![fault_finding(fault, block, catalogue, head)],
    };
    let mut findings = Vec::new();
    let states = std::iter::once(buffer.state).chain(buffer.dose.as_ref().map(|dose| dose.state));
    let strongest = states.map(|state| state.ionic_strength).max().unwrap_or_default();
    if strongest > WELL_WITHIN {
        let (found, bound) = (molality(strongest), molality(WELL_WITHIN));
        let what = format!("The ionic strength is {found}, above the {bound} up to which activities are sure.");
        findings.push(Finding::new(CONCENTRATED, head.clone(), what).source(RANGE_SOURCE));
    }
    let named = block.contains.iter().map(|line| &line.name).chain(block.target.as_ref().map(|target| &target.with));
    let lines = buffer.lines.iter().chain(buffer.dose.as_ref().map(|dose| &dose.line));
    for (name, line) in named.clone().zip(lines) {
        findings.extend(strength_finding(name, line));
    }
    let stated = block.contains.iter().map(|line| (&line.name, line.strength));
    let stated = stated.chain(block.target.as_ref().map(|target| (&target.with, target.strength)));
    findings.extend(stated.filter_map(|(name, strength)| above_lots(name, strength?, catalogue)));
    let materials: Vec<_> = named.filter_map(|name| catalogue.material(&name.value)).collect();
    findings.extend(handling::of_materials(materials.iter().map(|one| (&***one, None)), &[], catalogue, &head));
    findings.extend(of_solutes(block, catalogue, &head));
    findings
}

/// How pure solutes that are no raw materials are handled, by their gravest statements.
fn of_solutes(block: &BufferBlock, catalogue: &Catalogue, place: &Place) -> Vec<Finding> {
    let named = block.contains.iter().map(|line| &line.name).chain(block.target.as_ref().map(|target| &target.with));
    let mut solutes: Vec<&Solute> = named
        .filter(|name| catalogue.material(&name.value).is_none())
        .filter_map(|name| IonTable::built_in().solute(&name.value))
        .collect();
    solutes.dedup_by_key(|solute| &solute.id);
    let care = |(solute, code): (&Solute, &String)| {
        let statement = catalogue.statements().statement(code)?;
        let hazard = catalogue.hazards().iter().find(|hazard| hazard.key == statement.hazard)?;
        let what = format!("{}: {} ({code}). {}", hazard.title, solute.id, hazard.measure);
        let finding = Finding::new(handling::KIND, place.clone(), what).because(format!("{code}: {}.", statement.text));
        Some(finding.source("from memory: Regulation (EC) No 1272/2008, Annex VI"))
    };
    solutes.iter().flat_map(|solute| solute.statements.iter().map(|code| (*solute, code))).filter_map(care).collect()
}

fn strength_finding(name: &Placed<String>, line: &BufferLine) -> Option<Finding> {
    let ((low, high), counted) = line.open.zip(line.strength)?;
    if high - low <= counted.value() * WIDE {
        return None;
    }
    let what = format!(
        "`{}` was counted as {}; lots have {}.",
        echo(&name.value),
        show::percent(counted.value()),
        show::percent_range(
            crate::quantity::Range::new(low, high, None),
            low.normalize().scale().max(high.normalize().scale())
        ),
    );
    Some(Finding::new(STRENGTH_OPEN, name.place.clone(), what))
}

fn above_lots(name: &Placed<String>, stated: Percent, catalogue: &Catalogue) -> Option<Finding> {
    let fact = catalogue.material(&name.value)?.strength.as_ref()?;
    let (of, lots) = (fact.of.as_deref()?, fact.range()?);
    if stated.value() <= lots.high * BEYOND_LOTS {
        return None;
    }
    let what = format!(
        "`{}` is given {} of {of}; its lots have at most {}.",
        echo(&name.value),
        show::percent(stated.value()),
        show::percent(lots.high)
    );
    Some(Finding::new(STRENGTH_ABOVE, name.place.clone(), what).source(fact.source_line()))
}

fn molality(value: Decimal) -> String {
    show::quantity_to(value, show::decimals_for(value, 3), "mol/kg")
}

fn fault_finding(fault: &BufferFault, block: &BufferBlock, catalogue: &Catalogue, head: Place) -> Finding {
    match fault {
        BufferFault::Unknown(name) => {
            let what = format!("`{}` is neither a raw material nor a solute that is known here.", echo(&name.value));
            let known = catalogue.ids().chain(IonTable::built_in().ids());
            Finding::new(kind::UNKNOWN_MATERIAL, name.place.clone(), what).mend(suggestion(
                &name.value,
                known,
                kind::UNKNOWN_MATERIAL.mend,
            ))
        }
        BufferFault::IonsUnknown(name, part) => {
            let what = format!("How {} in `{}` comes apart in water is not known here.", echo(part), echo(&name.value));
            Finding::new(IONS_UNKNOWN, name.place.clone(), what)
        }
        BufferFault::PercentOfVolume(amount) => {
            let what = "A share by weight of a solution whose weight is not given.";
            Finding::new(kind::WRONG_VALUE, amount.place.clone(), what)
                .mend("Write the amount in grams or mmol, or the size as `mass = \"1 kg\"`.")
        }
        BufferFault::SeveralSolutes(name) => {
            let what =
                format!("`{}` brings several solutes, so millimoles of it are not one number.", echo(&name.value));
            Finding::new(kind::WRONG_VALUE, name.place.clone(), what).mend("Write the amount in grams.")
        }
        BufferFault::NoWater => {
            let what = format!("Nothing of the {} is left for water.", echo(&block.size_text));
            Finding::new(TOO_CONCENTRATED, head, what)
        }
        BufferFault::TooConcentrated(strength) => {
            let what = match strength {
                Some(strength) => {
                    format!("The ionic strength is {}, above {}.", molality(*strength), molality(BEYOND))
                }
                None => "The solution is so concentrated that its ionic strength does not settle.".to_owned(),
            };
            Finding::new(TOO_CONCENTRATED, head, what).source(RANGE_SOURCE)
        }
        BufferFault::OutOfReach { low, high, is_limit } => {
            let place = block.target.as_ref().map_or(head, |target| target.ph.place.clone());
            let wanted = block.target.as_ref().map_or(Decimal::ZERO, |target| target.ph.value.value());
            let with = block.target.as_ref().map_or("", |target| target.with.value.as_str());
            let ph = |value: Decimal| show::quantity_to(value, 2, "");
            let (from, to) = (ph(*low), ph(*high));
            if *is_limit {
                let bound = molality(BEYOND);
                let what = format!(
                    "pH {wanted} cannot be predicted with `{}`: from pH {from} to {to} the ionic strength stays within {bound}, and beyond that nothing is said.",
                    echo(with)
                );
                return Finding::new(PH_OUT_OF_REACH, place, what)
                    .because("Activities are not sure in so concentrated a solution, and a dose read off them would not be either.")
                    .mend("Take more water, or less of what the solution holds, or find the dose by titrating.")
                    .source(RANGE_SOURCE);
            }
            let what = format!(
                "pH {wanted} cannot be reached with `{}`; it takes the solution from pH {from} to {to} only.",
                echo(with)
            );
            Finding::new(PH_OUT_OF_REACH, place, what)
        }
    }
}
