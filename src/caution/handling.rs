//! How the materials and the hot phases of the formula are to be handled: one caution for each hazard, naming them.
//!
//! A material comes in by its own rows of handling and by its classification as supplied. Its statements stand behind its name as
//! codes; the standard's words for a code are said once for the formula, with the first hazard that shows it. What a mixture of the
//! materials would be classified as is not worked out.

use super::{Case, Caution};
use crate::material::{Catalogue, Classification, Material, Statement, Statements};
use crate::model::Formula;
use crate::quantity::{Decimal, Range, show};
use crate::report::{Finding, Kind, Place, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[KIND], examine };

pub(super) const KIND: &Kind = &Kind {
    name: "handle-with-care",
    severity: Severity::Caution,
    summary: "Raw materials and hot phases that need care while they are handled.",
    why: "",
    mend: "",
};

/// From this temperature on a phase scalds whoever it is spilt on, °C. Common practice, no source.
pub(super) const SCALDING: Decimal = Decimal::from_parts(60, 0, 0, false, 0);

/// How a source that was recalled begins, as `Source::line` writes it.
const FROM_MEMORY: &str = "from memory: ";

/// Hazards whose measures hold everything that a lesser hazard of the same material asks for; the lesser one then gets no line of
/// its own, and its statements stand with the graver one. The gravest first. Common practice, no source.
const INCLUDED: &[(&str, &str)] =
    &[("corrosive", "eye damage"), ("corrosive", "irritant"), ("eye damage", "irritant"), ("sensitiser", "irritant")];

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    findings.extend(of_formula(formula, case.catalogue, &formula.id_place));
}

/// How a formula is handled, said at a place.
pub(super) fn of_formula(formula: &Formula, catalogue: &Catalogue, place: &Place) -> Vec<Finding> {
    let materials = formula.lines().map(|line| (&*line.material, line.strength));
    let hot = formula.phases.iter().filter_map(|phase| Some((phase, phase.hold.as_ref()?.0)));
    let hot: Vec<String> = hot
        .filter(|(_, hold)| hold.celsius() >= SCALDING)
        .map(|(phase, hold)| format!("phase {} at {}", phase.key, show::celsius(hold)))
        .collect();
    of_materials(materials, &hot, catalogue, place)
}

/// One caution at a place for each hazard of these materials, at their strengths where they have another than the entry, and for what is hot.
pub(super) fn of_materials<'m>(
    materials: impl Iterator<Item = (&'m Material, Option<Range>)>,
    hot: &[String],
    catalogue: &'m Catalogue,
    place: &Place,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut cares: Vec<(&Material, Vec<Care<'_>>)> = Vec::new();
    for (material, strength) in materials {
        if cares.iter().all(|(known, _)| known.name != material.name) {
            cares.push((material, cares_of(material, strength, catalogue)));
        }
    }
    let mut said: Vec<&str> = Vec::new();
    for hazard in catalogue.hazards() {
        let mut named = Named::default();
        for (material, care) in &cares {
            for care in care.iter().filter(|care| care.hazard == hazard.key) {
                named.add(&material.name, care.marks());
                care.sources.iter().for_each(|source| named.cite(source));
            }
        }
        for hot in hot.iter().filter(|_| hazard.key == "hot") {
            named.add(hot, String::new());
            named.cite(&hazard.source.as_ref().map_or_else(String::new, |source| source.line()));
        }
        if named.groups.is_empty() {
            continue;
        }
        let what = format!("{}: {}. {}", hazard.title, named.words(), hazard.measure);
        let mut finding = Finding::new(KIND, place.clone(), what).source(named.source());
        let here = cares.iter().flat_map(|(_, care)| care).filter(|care| care.hazard == hazard.key);
        let words = words_of_codes(here, catalogue.statements(), &mut said);
        if !words.is_empty() {
            finding = finding.because(words);
        }
        findings.push(finding);
    }
    findings
}

/// What one material asks for against one hazard.
struct Care<'c> {
    hazard: &'c str,
    statements: Vec<&'c Statement>,
    classification: Option<&'c Classification>,
    sources: Vec<String>,
}

impl Care<'_> {
    /// The signal word of the material, the codes that belong here, and those pictograms of the label that come from them:
    /// "Danger, H314, GHS05". Empty where nothing is classified.
    fn marks(&self) -> String {
        let signal = self.classification.filter(|_| !self.statements.is_empty()).and_then(|known| known.signal);
        let codes = self.statements.iter().map(|statement| statement.code.as_str());
        signal
            .map(|signal| signal.word())
            .into_iter()
            .chain(codes)
            .chain(self.pictograms())
            .collect::<Vec<_>>()
            .join(", ")
    }

    fn pictograms(&self) -> impl Iterator<Item = &str> {
        let shown = |code: &&String| {
            self.statements.iter().any(|statement| statement.pictogram.as_deref() == Some(code.as_str()))
        };
        let all = self.classification.into_iter().flat_map(|known| &known.pictograms);
        all.filter(shown).map(String::as_str)
    }
}

/// Whether a material has one of these hazards.
pub(super) fn has_hazard(
    material: &Material,
    strength: Option<Range>,
    catalogue: &Catalogue,
    hazards: &[&str],
) -> bool {
    cares_of(material, strength, catalogue).iter().any(|care| hazards.contains(&care.hazard))
}

/// The hazards of a material, from its rows of handling and from its classification at this strength.
fn cares_of<'c>(material: &'c Material, strength: Option<Range>, catalogue: &'c Catalogue) -> Vec<Care<'c>> {
    let classification = material.classification_at(strength);
    let codes = classification.into_iter().flat_map(|known| &known.statements);
    let statements: Vec<&Statement> = codes.filter_map(|code| catalogue.statements().statement(code)).collect();
    let mut cares = Vec::new();
    for hazard in catalogue.hazards() {
        let rows = || material.handling.iter().filter(|row| row.hazard == hazard.key);
        let own: Vec<&Statement> = statements.iter().copied().filter(|one| one.hazard == hazard.key).collect();
        if rows().next().is_none() && own.iter().all(|statement| !statement.opens_line) {
            continue;
        }
        // Where the class is known it is what the line rests on; the rows of handling say the same in other words.
        let classed = classification.filter(|_| !own.is_empty()).and_then(|known| known.source.as_ref());
        let mut sources: Vec<String> = classed.map(|source| source.line()).into_iter().collect();
        if sources.is_empty() {
            sources = rows().filter_map(|row| Some(row.source.as_ref()?.line())).collect();
        }
        cares.push(Care { hazard: &hazard.key, statements: own, classification, sources });
    }
    for (graver, lesser) in INCLUDED {
        let Some(from) = cares.iter().position(|care| care.hazard == *lesser) else { continue };
        if cares.iter().any(|care| care.hazard == *graver) {
            let included = cares.remove(from);
            for care in cares.iter_mut().filter(|care| care.hazard == *graver) {
                care.statements.extend(&included.statements);
                care.statements.sort_by_key(|statement| in_order(&statement.code));
            }
        }
    }
    cares
}

/// Statements stand by number, and those that only the European Union has after the others.
fn in_order(code: &str) -> (bool, String) {
    (code.starts_with("EUH"), code.to_owned())
}

/// What a line names: materials with the same marks together.
#[derive(Default)]
struct Named {
    groups: Vec<(String, Vec<String>)>,
    sources: Vec<String>,
}

impl Named {
    fn add(&mut self, name: &str, marks: String) {
        match self.groups.iter_mut().find(|(known, _)| *known == marks) {
            Some((_, names)) => names.push(name.to_owned()),
            None => self.groups.push((marks, vec![name.to_owned()])),
        }
    }

    fn cite(&mut self, source: &str) {
        if !source.is_empty() && self.sources.iter().all(|known| known != source) {
            self.sources.push(source.to_owned());
        }
    }

    /// All sources in one line: what was read and what is common practice, then what is from memory, which is said once.
    fn source(&self) -> String {
        let (recalled, read): (Vec<&String>, Vec<&String>) =
            self.sources.iter().partition(|source| source.starts_with(FROM_MEMORY));
        let mut parts: Vec<String> = read.into_iter().cloned().collect();
        let recalled: Vec<&str> = recalled.into_iter().filter_map(|source| source.strip_prefix(FROM_MEMORY)).collect();
        if !recalled.is_empty() {
            parts.push(format!("{FROM_MEMORY}{}", recalled.join("; ")));
        }
        parts.join("; ")
    }

    /// "A; B (each Danger, H318, GHS05); C (Warning, H319, GHS07); D": those without marks last.
    fn words(&self) -> String {
        let (plain, marked): (Vec<_>, Vec<_>) = self.groups.iter().partition(|(marks, _)| marks.is_empty());
        let words = |(marks, names): &(String, Vec<String>)| {
            let each = if names.len() > 1 { "each " } else { "" };
            let marks = if marks.is_empty() { String::new() } else { format!(" ({each}{marks})") };
            format!("{}{marks}", names.join("; "))
        };
        marked.into_iter().chain(plain).map(words).collect::<Vec<_>>().join("; ")
    }
}

/// The standard's words for the codes that were not said before: "H318: Causes serious eye damage. GHS05: corrosion."
fn words_of_codes<'c>(
    cares: impl Iterator<Item = &'c Care<'c>>,
    tables: &'c Statements,
    said: &mut Vec<&'c str>,
) -> String {
    let mut codes: Vec<(&str, &str)> = Vec::new();
    let mut pictures: Vec<(&str, &str)> = Vec::new();
    for care in cares {
        codes.extend(care.statements.iter().map(|statement| (statement.code.as_str(), statement.text.as_str())));
        pictures.extend(care.pictograms().filter_map(|code| Some((code, tables.pictogram(code)?))));
    }
    codes.sort_unstable_by_key(|(code, _)| in_order(code));
    pictures.sort_unstable();
    let mut words: Vec<String> = Vec::new();
    for (code, text) in codes.into_iter().chain(pictures) {
        if !said.contains(&code) {
            said.push(code);
            words.push(format!("{code}: {text}."));
        }
    }
    words.join(" ")
}
