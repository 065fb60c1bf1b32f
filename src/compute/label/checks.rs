//! What belongs on a label, rule by rule, and how it stands.

use super::{DURABILITY, DueWords, Durability, LabelCheck, LabelState, Proof, letter_height, letter_text};
use crate::block::{AfterOpening, Extent, Measured};
use crate::compute::Declaration;
use crate::quantity::{Decimal, Mass, MassUnit};

/// A net content below so many g or ml need not be declared in the EU (Article 19(1)(b)).
const SMALL: i64 = 5;

/// On a front panel above so many square inches the net contents stand in its bottom part (21 CFR 701.13(f)).
const SMALL_PANEL: i64 = 5;

fn check(what: &'static str, source: &'static str, state: LabelState, words: impl Into<String>) -> LabelCheck {
    LabelCheck { what, state, words: words.into(), source }
}

/// There or missing, with the words for when it is missing.
fn is_there(what: &'static str, source: &'static str, text: Option<&str>, missing: &str) -> LabelCheck {
    match text {
        Some(text) => check(what, source, LabelState::There, text),
        None => check(what, source, LabelState::Missing, missing),
    }
}

fn ingredients(source: &'static str, declaration: &Declaration) -> LabelCheck {
    let what = "list of ingredients";
    let mut open: Vec<&str> =
        declaration.unknown.iter().chain(&declaration.unknown_scents).map(String::as_str).collect();
    open.dedup();
    if open.is_empty() {
        return check(what, source, LabelState::There, "by ingredient, in the order that the rule asks for");
    }
    check(what, source, LabelState::Missing, format!("it is not whole: not enough is known of {}", open.join(", ")))
}

fn warnings_words(warnings: &[DueWords]) -> String {
    let found = match warnings.len() {
        0 => "none was found to be due for what the formula holds".to_owned(),
        1 => "one is due for what the formula holds".to_owned(),
        n_due => format!("{n_due} are due for what the formula holds"),
    };
    format!(
        "{found}; what follows from the pack, from those who use it and from the safety assessment only you can tell"
    )
}

pub(super) fn eu_checks(
    proof: &Proof,
    content: Option<Measured>,
    (shown_by, after): (Option<&str>, Option<AfterOpening>),
    declaration: &Declaration,
) -> Vec<LabelCheck> {
    use LabelState::{FilledIn, Missing, There, ToJudge};
    let is_small = content.is_some_and(|content| {
        let number = match content {
            Measured::Mass(mass) => mass.grams(),
            Measured::Volume(volume) => volume.millilitres(),
        };
        number < Decimal::from(SMALL)
    });
    let net = "Regulation (EC) No 1223/2009, Article 19(1)(b)";
    let (state, durability) = durability_words(proof.durability.unwrap_or(Durability::NotStated), shown_by, after);
    vec![
        is_there(
            "responsible person with an address",
            "Regulation (EC) No 1223/2009, Article 19(1)(a)",
            proof.maker.as_deref(),
            "write `responsible-person` here or in `collection.toml`",
        ),
        match &proof.origin {
            Some(origin) => {
                check("country of origin", "Regulation (EC) No 1223/2009, Article 19(1)", There, origin.as_str())
            }
            None => check(
                "country of origin",
                "Regulation (EC) No 1223/2009, Article 19(1)",
                ToJudge,
                "for imported products only: `origin`",
            ),
        },
        match &proof.content {
            Some(content) if is_small => {
                check("nominal content", net, There, format!("{content}; below 5 g or 5 ml it need not be declared"))
            }
            content => is_there(
                "nominal content",
                net,
                content.as_deref(),
                "write `content`; free samples and packs for a single use need none",
            ),
        },
        check("durability", DURABILITY, state, durability),
        check(
            "precautions",
            "Regulation (EC) No 1223/2009, Article 19(1)(d)",
            ToJudge,
            warnings_words(&proof.warnings),
        ),
        match &proof.batch_number {
            Some(number) => {
                check("batch number", "Regulation (EC) No 1223/2009, Article 19(1)(e)", There, number.as_str())
            }
            None => check(
                "batch number",
                "Regulation (EC) No 1223/2009, Article 19(1)(e)",
                FilledIn,
                "a field to write it in",
            ),
        },
        match &proof.function {
            Some(function) => {
                check("function", "Regulation (EC) No 1223/2009, Article 19(1)(f)", There, function.as_str())
            }
            None => check(
                "function",
                "Regulation (EC) No 1223/2009, Article 19(1)(f)",
                Missing,
                "write `function`, or leave it out where the look of the pack makes it clear",
            ),
        },
        ingredients("Regulation (EC) No 1223/2009, Article 19(1)(g)", declaration),
        check(
            "language",
            "Regulation (EC) No 1223/2009, Article 19(5)",
            ToJudge,
            "content, durability, precautions and function in the language of the country of sale",
        ),
    ]
}

/// How durability stands on a label for the EU, and why.
fn durability_words(
    durability: Durability,
    shown_by: Option<&str>,
    after: Option<AfterOpening>,
) -> (LabelState, String) {
    let rests_on = match shown_by {
        Some(reason) => format!("; it rests on: {reason}"),
        None => "; what that rests on is not stated (`shown-by`)".to_owned(),
    };
    // What is stated and left away is said, so that nobody looks for it on the pack.
    let not_shown = match after {
        None => String::new(),
        Some(AfterOpening::Months(months)) => format!(
            "; the time after opening, {months} months, is not shown: it is asked for where a product keeps longer than 30 months"
        ),
        Some(_) => "; what is stated in `after-opening` is of no account: it is asked where a product keeps longer than 30 months".to_owned(),
    };
    match durability {
        Durability::NotStated => (
            LabelState::Missing,
            format!(
                "write `durability`: how long it keeps unopened is known from tests, and nothing here can guess it{not_shown}"
            ),
        ),
        Durability::Date(Some(_), months) => {
            (LabelState::There, format!("a date, as {months} months are not more than 30{not_shown}{rests_on}"))
        }
        Durability::Date(None, months) => (
            LabelState::FilledIn,
            format!(
                "a date, as {months} months are not more than 30: {months} months after the day it was made (`made`){not_shown}{rests_on}"
            ),
        ),
        Durability::AfterOpening(_) => (
            LabelState::There,
            format!(
                "no date, as it keeps longer than 30 months; the time after opening, with the open-jar symbol of Annex VII{rests_on}"
            ),
        ),
        Durability::AfterOpeningNotStated => (
            LabelState::Missing,
            "no date, as it keeps longer than 30 months; then the time after opening is needed: write `after-opening`"
                .to_owned(),
        ),
        Durability::Neither(after) => {
            let reason = match after {
                AfterOpening::SingleUse => "it is used up once opened",
                AfterOpening::NeverOpen => "the pack is never open",
                AfterOpening::Months(_) | AfterOpening::DoesNotSpoil => "nothing in it is stated to go off",
            };
            (
                LabelState::There,
                format!("no date, as it keeps longer than 30 months, and no time after opening, as {reason}{rests_on}"),
            )
        }
    }
}

/// How high letters have to be in the US, as far as the front panel is known.
fn letters_words(front_panel: Option<Extent>) -> String {
    let ingredients = "ingredients at least 1/16 inch high";
    let Some(panel) = front_panel else {
        return format!(
            "{ingredients}; net contents from 1/16 inch on by the area of the front panel: write `front-panel`"
        );
    };
    // Above 5 square inches it has a place as well.
    let place = if Decimal::from(SMALL_PANEL) < panel.square_inches() { ", in the bottom 30 % of it" } else { "" };
    let height = letter_text(letter_height(panel));
    format!("{ingredients}; net contents at least {height} on a front panel of {}{place}", panel.text())
}

pub(super) fn us_checks(
    proof: &Proof,
    content: Option<Measured>,
    declaration: &Declaration,
    front_panel: Option<Extent>,
) -> Vec<LabelCheck> {
    use LabelState::{There, ToJudge};
    let is_large = content.is_some_and(|content| match content {
        // From a pound and a pint on, larger units go with the ounces (21 CFR 701.13, from memory).
        Measured::Mass(mass) => {
            mass.grams() >= Decimal::from(16) * Mass::from_unit(Decimal::ONE, MassUnit::Ounce).grams()
        }
        Measured::Volume(volume) => volume.millilitres() >= Decimal::new(473_176_473, 6),
    });
    let mut net = is_there(
        "net contents",
        "21 CFR 701.13",
        proof.content.as_deref(),
        "write `content`: by weight for solids and semisolids, by volume for liquids",
    );
    if is_large {
        net.state = ToJudge;
        net.words.push_str("; from a pound or a pint on larger units have to stand there too (from memory), which are not worked out here");
    }
    let mut checks = vec![
        match &proof.function {
            Some(function) => check("what the product is", "21 CFR 701.11", There, function.as_str()),
            None => check(
                "what the product is",
                "21 CFR 701.11",
                ToJudge,
                "whether the name says it; if not, write `function`",
            ),
        },
        net,
        is_there(
            "name and place of business",
            "21 CFR 701.12",
            proof.maker.as_deref(),
            "write `business` here or in `collection.toml`; who did not make it says so, as with \"Distributed by\"",
        ),
        ingredients("21 CFR 701.3", declaration),
        check("warnings", "21 CFR 740.1", ToJudge, warnings_words(&proof.warnings)),
        is_there(
            "contact for reports of harm",
            "21 U.S.C. 364e(a)",
            proof.contact.as_deref(),
            "write `contact` in `collection.toml`: an address, a telephone number or an electronic one in the United States",
        ),
        check("size of the letters", "21 CFR 701.3(b), 701.13(f) and (i)", ToJudge, letters_words(front_panel)),
    ];
    if let Some(origin) = &proof.origin {
        checks.push(check("country of origin", "as stated by the author", There, origin.as_str()));
    }
    checks
}
