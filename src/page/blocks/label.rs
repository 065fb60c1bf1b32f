//! A label as its template sees it.

use super::super::context::{NumberContext, number_context};
use crate::block::{AfterOpening, Extent};
use crate::compute::{DueWords, Durability, Label, LabelState, Proof, Rules, letter_height};
use crate::quantity::Date;
use serde::Serialize;

/// The part of the context `b` that belongs to a label.
#[derive(Debug, Serialize)]
pub(super) struct LabelContext {
    formula: String,
    href: String,
    version: String,
    name: String,
    /// "60 × 40 mm", or empty.
    size: String,
    width: String,
    height: String,
    proofs: Vec<ProofContext>,
}

#[derive(Debug, Serialize)]
struct ProofContext {
    rules: &'static str,
    rules_name: &'static str,
    function: String,
    content: Option<NumberContext>,
    /// How high its letters are at least, inches; empty where no rule is known to say it.
    letters: String,
    durability: DurabilityContext,
    warnings: Vec<WordsContext>,
    ingredients: String,
    batch_number: String,
    maker: String,
    contact: String,
    origin: String,
    checks: Vec<CheckContext>,
}

/// What stands on the label about durability; all empty where nothing does.
#[derive(Debug, Default, Serialize)]
struct DurabilityContext {
    /// The last day, day before month before year.
    date: String,
    /// Whether the date is filled in by hand.
    by_hand: bool,
    /// Months after opening, or empty.
    opened: String,
}

#[derive(Debug, Serialize)]
struct WordsContext {
    words: String,
    prescribed: bool,
    source: String,
}

#[derive(Debug, Serialize)]
struct CheckContext {
    what: &'static str,
    state: &'static str,
    words: String,
    source: &'static str,
}

pub(super) fn context(label: &Label, id: &str, href_of: &dyn Fn(&str) -> String) -> LabelContext {
    LabelContext {
        formula: label.formula.clone(),
        href: href_of(&label.formula),
        version: label.version.clone().unwrap_or_default(),
        name: label.name.clone(),
        size: label.size.map(Extent::text).unwrap_or_default(),
        width: label.size.map(|size| size.width.to_string()).unwrap_or_default(),
        height: label.size.map(|size| size.height.to_string()).unwrap_or_default(),
        proofs: label.proofs.iter().map(|proof| proof_context(label, proof, id)).collect(),
    }
}

fn proof_context(label: &Label, proof: &Proof, id: &str) -> ProofContext {
    let measure = if proof.rules == Rules::Eu { "metric" } else { "us" };
    // Where the front panel is not known, what is enough for one of up to 25 square inches.
    let letters = match proof.rules {
        Rules::Eu => String::new(),
        Rules::Us => label.front_panel.map_or_else(|| "0.125".to_owned(), |panel| letter_height(panel).to_string()),
    };
    let content = label.look_up(id, &["content", measure]).and_then(Result::ok);
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    ProofContext {
        rules: proof.rules.word(),
        rules_name: match proof.rules {
            Rules::Eu => "European Union",
            Rules::Us => "United States",
        },
        function: text(&proof.function),
        content: content.map(|figure| number_context(&figure, None, None)),
        letters,
        durability: proof.durability.map(durability_context).unwrap_or_default(),
        warnings: proof.warnings.iter().map(words_context).collect(),
        ingredients: proof.ingredients.clone(),
        batch_number: text(&proof.batch_number),
        maker: text(&proof.maker),
        contact: text(&proof.contact),
        origin: text(&proof.origin),
        checks: proof
            .checks
            .iter()
            .map(|check| CheckContext {
                what: check.what,
                state: match check.state {
                    LabelState::There => "there",
                    LabelState::FilledIn => "filled in by hand",
                    LabelState::Missing => "missing",
                    LabelState::ToJudge => "for you to judge",
                },
                words: check.words.clone(),
                source: check.source,
            })
            .collect(),
    }
}

fn words_context(due: &DueWords) -> WordsContext {
    WordsContext { words: due.words.clone(), prescribed: due.is_prescribed, source: due.source.clone() }
}

fn durability_context(durability: Durability) -> DurabilityContext {
    match durability {
        Durability::Date(date, _) => DurabilityContext {
            date: date.map(label_date).unwrap_or_default(),
            by_hand: date.is_none(),
            opened: String::new(),
        },
        Durability::AfterOpening(months) => DurabilityContext { opened: months.to_string(), ..Default::default() },
        Durability::NotStated
        | Durability::AfterOpeningNotStated
        | Durability::Neither(
            AfterOpening::Months(_) | AfterOpening::SingleUse | AfterOpening::NeverOpen | AfterOpening::DoesNotSpoil,
        ) => DurabilityContext::default(),
    }
}

/// Day, month and year, in the order of Regulation (EC) No 1223/2009, Article 19(1)(c) (from memory).
fn label_date(date: Date) -> String {
    let (year, month, day) = date.parts();
    format!("{day:02}/{month:02}/{year}")
}
