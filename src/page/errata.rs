//! The list of corrections of a page.

use crate::model::Erratum;
use serde::Serialize;

/// An entry of the list, in the template `corrections.html` and in the data file.
#[derive(Clone, Debug, Serialize)]
pub struct ErratumContext {
    /// The day, ISO 8601.
    pub date: String,
    /// The id of the formula or block.
    pub of: String,
    /// The title of the formula, or the id.
    pub title: String,
    /// Link to it, or empty when it is gone.
    pub href: String,
    /// Check value before and after, or empty.
    pub old_check: String,
    /// After.
    pub new_check: String,
    /// The author's version before, or empty.
    pub old_version: String,
    /// After.
    pub new_version: String,
    /// The author's note, or empty.
    pub note: String,
    /// What changed.
    pub numbers: Vec<ErratumNumberContext>,
}

/// One number of an entry.
#[derive(Clone, Debug, Serialize)]
pub struct ErratumNumberContext {
    what: String,
    old: String,
    new: String,
    batch: String,
    address: String,
}

/// An entry as its page shows it.
pub fn erratum_context(erratum: &Erratum, title: String, href: String) -> ErratumContext {
    let both = |pair: &Option<(String, String)>| pair.clone().unwrap_or_default();
    let ((old_check, new_check), (old_version, new_version)) = (both(&erratum.check), both(&erratum.version));
    // Numbers stand in the file with the spaces that an author types.
    let kept = |text: &str| text.replace(' ', "\u{a0}");
    let is_short = |text: &str| text.chars().count() <= 24;
    let shown = |text: &str| if is_short(text) { kept(text) } else { text.to_owned() };
    ErratumContext {
        date: erratum.date.to_string(),
        of: erratum.of.clone(),
        title,
        href,
        old_check,
        new_check,
        old_version,
        new_version,
        note: erratum.note.clone().unwrap_or_default(),
        numbers: erratum
            .numbers
            .iter()
            .map(|number| ErratumNumberContext {
                what: number.what.clone(),
                old: shown(&number.old),
                new: shown(&number.new),
                batch: kept(&number.batch),
                address: number.address.clone(),
            })
            .collect(),
    }
}
