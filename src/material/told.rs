//! What an entry says beside its composition, one statement after another: for the page of the material and for `explain`, so that
//! neither knows less than the other.

use super::behaviour::{figure, with_note};
use super::{Classification, Detail, Material, Statements};

impl Material {
    /// Every statement in reading order: figures with their units, how it behaves, how it is classified, the care it needs, and what
    /// else the entry holds.
    pub fn told(&self, tables: &Statements) -> Vec<Detail> {
        let figures = [
            ("strength", &self.strength, "\u{a0}%"),
            ("not named", &self.remainder, "\u{a0}%"),
            ("density", &self.density, "\u{a0}g/ml"),
            ("use level", &self.use_any, "\u{a0}% of the product"),
            ("use level, rinse-off", &self.use_rinse_off, "\u{a0}% of the product"),
            ("use level, leave-on", &self.use_leave_on, "\u{a0}% of the product"),
            ("works at pH", &self.ph_works, ""),
            ("stable at pH", &self.ph_stable, ""),
            ("temperature limit", &self.temperature_limit, "\u{a0}°C"),
            ("added at or below", &self.add_below, "\u{a0}°C"),
        ];
        let mut told: Vec<Detail> =
            figures.into_iter().filter_map(|(label, fact, unit)| figure(label, fact.as_ref(), unit)).collect();
        told.extend(self.behaviour());
        if let Some(classification) = &self.classification {
            told.extend(classification.told(tables));
        }
        told.extend(self.handling.iter().map(|handling| Detail {
            key: "care".to_owned(),
            text: match &handling.text {
                Some(text) => format!("{}: {text}", handling.hazard),
                None => handling.hazard.clone(),
            },
            source: handling.source.clone(),
        }));
        let further = self.details.iter().map(|detail| Detail { key: detail.key.replace('-', " "), ..detail.clone() });
        told.extend(further);
        told
    }
}

impl Classification {
    /// The label of the material as supplied: signal word and pictograms, then each hazard statement in the standard's words.
    fn told(&self, tables: &Statements) -> Vec<Detail> {
        let pictograms = self.pictograms.iter().map(|code| match tables.pictogram(code) {
            Some(name) => format!("{code} {name}"),
            None => code.clone(),
        });
        let signal = self.signal.map(|signal| signal.word().to_owned());
        let label: Vec<String> = signal.into_iter().chain(pictograms).collect();
        let label = match (self.statements.is_empty(), label.is_empty()) {
            (true, _) => "no class".to_owned(),
            (false, true) => "no signal word, no pictogram".to_owned(),
            (false, false) => label.join(", "),
        };
        let detail = |key: &str, text: String| Detail { key: key.to_owned(), text, source: self.source.clone() };
        let words = |code: &String| tables.statement(code).map_or(String::new(), |statement| statement.text.clone());
        let head = detail("classified as supplied (GHS)", with_note(label, self.note.as_deref()));
        std::iter::once(head).chain(self.statements.iter().map(|code| detail(code, words(code)))).collect()
    }
}
