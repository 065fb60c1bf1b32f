//! The settings of a collection: `collection.toml`.

use super::Rates;
use crate::block::{Balance, Cutting, Placed, Reader, read_balance, read_currency, read_percent};
use crate::quantity::{Currency, Decimal, Mass, Percent};
use crate::report::{Finding, kind, suggestion};
use serde::Serialize;
use std::sync::Arc;

/// The rule sets that are known. Others are errors, so that a misspelt one does not judge by nothing.
const RULE_SETS: &[&str] = &["eu", "us", "ifra"];

/// What `collection.toml` says, with the defaults for what it does not.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Settings {
    /// Title of the collection.
    pub title: String,
    /// Language of the texts, a BCP 47 tag.
    pub language: String,
    /// Currency of prices, ISO 4217.
    pub currency: Option<Currency>,
    /// What other currencies are worth in it.
    pub rates: Rates,
    /// Balance of formulas that name none.
    pub balance: Balance,
    /// How far a weight in a batch record may be off, % of the planned one, where the collection says it.
    pub tolerance: Option<Percent>,
    /// Rule sets that limits are taken from.
    pub rules: Vec<String>,
    /// Whom to ask.
    pub contact: Option<String>,
    /// The responsible person with the address, for labels in the EU.
    pub responsible_person: Option<String>,
    /// The business with its address, for labels in the US.
    pub business: Option<String>,
    /// Licence of the texts.
    pub licence: Option<String>,
    /// Notebooks in the order they follow each other; the others come after, by path.
    pub order: Vec<Placed<String>>,
    /// The notebook whose definition lists explain the terms.
    pub glossary: Option<Placed<String>>,
    /// Whether raw HTML passes through as written.
    pub trust_html: bool,
}

impl Default for Settings {
    fn default() -> Settings {
        Settings {
            title: "Recipe notebooks".to_owned(),
            language: "en".to_owned(),
            currency: None,
            rates: Rates::default(),
            balance: Balance { readability: Mass::from_grams(Decimal::new(1, 1)), within: Percent::new(Decimal::ONE) },
            tolerance: None,
            rules: vec!["eu".to_owned()],
            contact: None,
            responsible_person: None,
            business: None,
            licence: None,
            order: Vec::new(),
            glossary: None,
            trust_html: false,
        }
    }
}

impl Settings {
    /// Reads the settings; mistakes are reported and the defaults stand.
    pub fn read(path: &Arc<str>, text: &str) -> (Settings, Vec<Finding>) {
        let cutting = Cutting::whole_file(path, text);
        Reader::read(&cutting, |reader, table| {
            let usual = Settings::default();
            let text = |key: &'static str| table.text(key).map(|text| text.value);
            let language = table.text("language");
            if let Some(tag) = &language
                && !tag
                    .value
                    .split('-')
                    .all(|part| (1..=8).contains(&part.len()) && part.chars().all(|c| c.is_ascii_alphanumeric()))
            {
                reader.wrong(tag.place.clone(), "`language`", "a language tag such as \"en\" or \"pt-BR\"");
            }
            let currency =
                table.text("currency").and_then(|code| read_currency(reader, code.value.trim(), &code.place));
            let rules = match table.get("rules") {
                None => usual.rules.clone(),
                Some(_) => {
                    let rules = table.texts("rules");
                    for rule in rules.iter().filter(|rule| !RULE_SETS.contains(&rule.value.as_str())) {
                        reader.push(
                            Finding::new(
                                kind::WRONG_VALUE,
                                rule.place.clone(),
                                format!("There is no rule set `{}`.", crate::report::echo(&rule.value)),
                            )
                            .mend(suggestion(
                                &rule.value,
                                RULE_SETS.iter().copied(),
                                "Known rule sets: eu, us, ifra.",
                            )),
                        );
                    }
                    rules.into_iter().map(|rule| rule.value).collect()
                }
            };
            let settings = Settings {
                title: text("title").unwrap_or(usual.title),
                language: language.map_or(usual.language, |tag| tag.value),
                currency,
                rates: Rates::read(&table, currency),
                balance: table.get("balance").and_then(|value| read_balance(reader, value)).unwrap_or(usual.balance),
                tolerance: table.get("tolerance").and_then(|value| read_percent(reader, value, "`tolerance`")),
                rules,
                contact: text("contact"),
                responsible_person: text("responsible-person"),
                business: text("business"),
                licence: text("licence"),
                order: table.texts("order"),
                glossary: table.text("glossary"),
                trust_html: table.boolean("trust-html").unwrap_or(false),
            };
            table.finish();
            settings
        })
    }
}
