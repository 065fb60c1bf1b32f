//! What is said of one number: nothing, that it agrees, or that the formula gives something else.

use super::compare::Subject;
use super::grammar::{Sentence, Statement};
use super::names::What;
use super::quantity::{Quantity, Unit};
use super::scope::{self, Size, Sizes};
use super::words::any_stands;
use super::{AGREEING, Around, Judge, LOOSE};
use crate::compute::Figure;
use crate::quantity::{MassUnit, show, split_number};
use crate::report::{Finding, Place, echo};
use std::ops::Range;
use std::sync::Arc;

impl Judge<'_> {
    pub(super) fn judge(
        &self,
        sentence: &Sentence<'_, '_, '_>,
        statement: &Statement,
        around: &Around,
        sizes: &Sizes,
        others: &[Size],
        bytes: &dyn Fn(Range<usize>) -> Option<Range<usize>>,
    ) -> Option<Finding> {
        let quantity = sentence.quantities.get(statement.quantity)?;
        let mention = sentence.names.get(statement.name)?;
        let in_quotes = sentence.tokens.get(quantity.tokens.clone())?.iter().any(|token| token.in_quotes);
        let near = any_stands(&self.words.elsewhere_near, sentence.clause(statement, false))
            || any_stands(&self.words.elsewhere_past, sentence.clause(statement, true));
        if in_quotes || near || (mention.name.what == What::Ph && !scope::is_specification(sentence)) {
            return None;
        }
        if statement.is_part && (quantity.unit == Unit::Percent || mention.name.what == What::Phase) {
            return None;
        }
        let first = sentence.tokens.get(quantity.tokens.start)?;
        let last = sentence.tokens.get(quantity.tokens.end.checked_sub(1)?)?;
        let span = bytes(first.start..last.end)?;
        let source = self.notebook.text.get(span.clone()).unwrap_or_default();
        let place = Place { path: Arc::clone(&self.notebook.path), span };
        let said = Said {
            quantity,
            place,
            written: source.split_whitespace().collect::<Vec<_>>().join(" "),
            has_links: around.has_links,
        };
        let (in_phase, may_be_strength) = (sentence.names_a_phase(), sentence.is_close(statement));
        let subjects: Vec<(usize, Subject<'_>)> = self
            .formulas
            .iter()
            .filter_map(|(index, computed)| {
                let (_, of) = mention.name.of.iter().find(|(formula, _)| formula == index)?;
                Some((
                    *index,
                    Subject {
                        computed,
                        what: mention.name.what,
                        of,
                        in_phase,
                        is_active: statement.is_active,
                        may_be_strength,
                    },
                ))
            })
            .collect();
        // Another batch of which the sentence, or the text before it, speaks.
        let is_mass = quantity.is_mass();
        let mut batches: Vec<Option<&str>> = vec![None];
        if is_mass && !matches!(mention.name.what, What::Batch | What::Making | What::Sum) {
            batches.extend(sizes.all().map(Some));
        }
        for batch in &batches {
            for (_, subject) in &subjects {
                let Some(figure) = subject.figure(quantity.unit, *batch) else { continue };
                if subject.may_agree(quantity, &figure, *batch) {
                    let wanted = self.means.all && subject.agrees(quantity, &figure);
                    return wanted.then(|| self.agreeing(&said, subject, &figure, *batch));
                }
            }
        }
        if self
            .elsewhere
            .get_or_init(|| self.numbers_of_blocks())
            .iter()
            .any(|other| (other.low, other.high, other.unit) == (quantity.low, quantity.high, quantity.unit))
        {
            return None;
        }
        let batch = match (is_mass && batches.len() > 1, others) {
            (false, _) => None,
            (true, [only]) if batches.len() == 2 && only.is_batch => Some(only.query.as_str()),
            (true, _) => return None,
        };
        let home = scope::named_formula(sentence, self.notebook).or(around.home)?;
        let (_, subject) = subjects.iter().find(|(index, _)| *index == home)?;
        let figure = subject.figure(quantity.unit, batch)?;
        let is_part = statement.is_part && (subject.is_water() || subject.is_less(quantity, &figure));
        if is_part || (is_mass && scope::is_portion(sentence, statement, subject, &figure)) {
            return None;
        }
        Some(self.loose(&said, subject, &figure, batch))
    }

    fn loose(&self, said: &Said<'_>, subject: &Subject<'_>, figure: &Figure, batch: Option<&str>) -> Finding {
        let (shown, link) = self.link(said, figure, batch);
        let id = echo(&subject.computed.formula.id);
        let size = batch.map(|batch| {
            let (number, unit) = split_number(batch);
            format!(" for {number}{}{unit}", show::NBSP)
        });
        let size = size.unwrap_or_default();
        let what = format!("The text says {}, and `{id}` gives {shown}{size}.", echo(&said.written));
        let mend = match said.has_links {
            true => format!(
                "Write `{link}`, or correct the formula. A number that means something else is marked: `[{}](quoted: \"why\")`.",
                echo(&said.written)
            ),
            false => format!("Write {shown}, or leave the figure out: the sheet prints it. Or correct the formula."),
        };
        Finding::new(LOOSE, said.place.clone(), what)
            .mend(mend)
            .source(format!("worked out from the formula: `tarebook explain {}`", echo(&figure.address)))
    }

    fn agreeing(&self, said: &Said<'_>, subject: &Subject<'_>, figure: &Figure, batch: Option<&str>) -> Finding {
        let (shown, link) = self.link(said, figure, batch);
        let what = format!(
            "{} agrees with `{}`, which gives {shown}.",
            echo(&said.written),
            echo(&subject.computed.formula.id)
        );
        let mend = match said.has_links {
            true => format!("Write `{link}`."),
            false => "Leave the figure out: the sheet prints it.".to_owned(),
        };
        Finding::new(AGREEING, said.place.clone(), what).mend(mend)
    }

    /// The figure as printed in the unit that was written, and the link to paste.
    fn link(&self, said: &Said<'_>, figure: &Figure, batch: Option<&str>) -> (String, String) {
        let unit = match said.quantity.unit {
            Unit::Mass(unit) if unit != MassUnit::Gram => Some(unit),
            _ => None,
        };
        let shown = (self.means.show)(&figure.value, unit);
        let mut query: Vec<String> = Vec::new();
        query.extend(batch.map(|batch| format!("batch={batch}")));
        query.extend(unit.map(|unit| format!("unit={}", unit.symbol())));
        let query = if query.is_empty() { String::new() } else { format!("?{}", query.join("&")) };
        let link = format!("[{shown}](calc:{}{query})", figure.address);
        (shown, link)
    }
}

/// A number in a sentence, ready to be spoken of.
struct Said<'q> {
    quantity: &'q Quantity,
    place: Place,
    written: String,
    has_links: bool,
}
