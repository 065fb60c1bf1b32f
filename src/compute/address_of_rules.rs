//! Figures of a formula that rest on more than the formula: on rule sets and on what the catalogue knows of substances.

use super::address::AddressFault;
use super::declaration::{Declaration, Rules};
use super::dissociation::{WeakAcid, weak_acids};
use super::figure::Figure;
use super::{Computed, PhWindows, figures};
use crate::material::Catalogue;

/// What a look-up rests on besides the formula.
#[derive(Clone, Copy)]
pub struct Backing<'a> {
    /// Materials and substances.
    pub catalogue: &'a Catalogue,
    /// The rule sets of the collection.
    pub rules: &'a [String],
}

impl Backing<'static> {
    /// The built-in catalogue, and no rule sets named.
    pub fn built_in() -> Backing<'static> {
        Backing { catalogue: Catalogue::built_in(), rules: &[] }
    }
}

/// The addresses below the formula's id.
pub(super) fn addresses(computed: &Computed, backing: Backing<'_>) -> Vec<String> {
    let mut all = vec!["declaration".to_owned()];
    all.extend(Rules::ALL.map(|rules| format!("declaration/{}", rules.word())));
    for acid in weak_acids(computed, backing.catalogue) {
        all.extend(acid.addresses());
    }
    all
}

/// The figure at a path below the formula's id, where it is one of these.
pub(super) fn figure(computed: &Computed, backing: Backing<'_>, path: &[&str]) -> Option<Result<Figure, AddressFault>> {
    let address = format!("{}/{}", computed.formula.id, path.join("/"));
    match path {
        ["declaration", rest @ ..] => {
            let rules = match rest {
                [] => Rules::of_collection(backing.rules),
                [word] => Rules::ALL.into_iter().find(|rules| rules.word() == *word)?,
                _ => return None,
            };
            Some(Ok(Declaration::of(computed, backing.catalogue, rules).figure(address)))
        }
        ["undissociated", slug, rest @ ..] => {
            let acids = weak_acids(computed, backing.catalogue);
            let acid = acids.iter().find(|acid| figures::slug_of(&acid.acid) == *slug)?;
            acid.look_up(address, PhWindows::of(computed).target, rest)
        }
        _ => None,
    }
}

impl WeakAcid {
    /// The addresses of its figures, below the id of a formula or of a `window` block.
    pub(super) fn addresses(&self) -> Vec<String> {
        let slug = figures::slug_of(&self.acid);
        let mut all = Vec::new();
        if self.share.is_some() {
            all.extend([format!("undissociated/{slug}"), format!("undissociated/{slug}/left")]);
        }
        all.push(format!("undissociated/{slug}/dose"));
        all
    }
}
