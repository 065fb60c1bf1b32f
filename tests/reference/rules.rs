//! The check that the files on annexes and rules share: the most of a substance that passes, and a little more that does not.

use std::sync::Arc;
use tarebook::collection::{Collection, Sources};
use tarebook::quantity::Decimal;

/// What a rule is tried on.
#[derive(Clone, Copy)]
pub(super) struct Trial {
    /// The rule set.
    pub rules: &'static str,
    /// The product type.
    pub product: &'static str,
    /// What the raw material is used as.
    pub function: &'static str,
}

impl Trial {
    /// A collection of one product, `check`, with so much of the pure substance.
    pub(super) fn collection(self, inci: &str, percent: Decimal) -> Collection {
        let Trial { rules, product, function } = self;
        let material = format!(
            "[material.tried]\nname = \"Tried\"\nfunctions = [\"{function}\"]\n\
             contains = [ {{ inci = \"{inci}\", percent = 100 }} ]\n"
        );
        let text = format!(
            "```formula\nid = \"check\"\nproduct = \"{product}\"\nbatch = \"100 kg\"\nbalance = \"0.001 g\"\n\
             [phase.A]\nglycerin = \"q.s. to 100\"\ntried = {percent}\n```\n"
        );
        let mut sources = Sources { settings: Some(format!("rules = [\"{rules}\"]\n").into()), ..Sources::default() };
        sources.materials.insert(Arc::from("materials/check.toml"), Arc::from(material));
        sources.notebooks.insert(Arc::from("check.md"), Arc::from(text));
        let mut collection = Collection::new();
        collection.update(sources);
        assert!(collection.formula("check").is_some(), "{:?}", collection.findings());
        collection
    }

    /// The sentences of one kind of finding about that product.
    pub(super) fn findings(self, kind: &str, inci: &str, percent: Decimal) -> Vec<String> {
        let collection = self.collection(inci, percent);
        let findings = collection.formula_findings("check").iter();
        findings.filter(|finding| finding.kind.name == kind).map(|finding| finding.what.clone()).collect()
    }

    /// A published ceiling: so much passes, and a thousandth of it more does not; the sentence names the ceiling.
    #[track_caller]
    pub(super) fn check_ceiling(self, inci: &str, ceiling: &str) {
        let most = super::d(ceiling);
        self.check(inci, most, most + most * super::d("0.001"), ceiling);
    }

    /// A ceiling counted as something else: the most of this substance that passes, and the next step that does not.
    #[track_caller]
    pub(super) fn check_between(self, inci: &str, inside: &str, outside: &str, ceiling: &str) {
        self.check(inci, super::d(inside), super::d(outside), ceiling);
    }

    /// A ban: the least amount is too much.
    #[track_caller]
    pub(super) fn check_ban(self, inci: &str) {
        let found = self.findings("over-limit", inci, super::d("0.0001"));
        assert_eq!(found.len(), 1, "{inci}: {found:?}");
        assert!(found.iter().all(|what| what.contains("is not allowed")), "{inci}: {found:?}");
    }

    #[track_caller]
    fn check(self, inci: &str, inside: Decimal, outside: Decimal, ceiling: &str) {
        assert_eq!(self.findings("over-limit", inci, inside), Vec::<String>::new(), "{inci} at {inside} %");
        let found = self.findings("over-limit", inci, outside);
        assert_eq!(found.len(), 1, "{inci} at {outside} %: {found:?}");
        let named = format!("{ceiling}\u{a0}%");
        assert!(found.iter().all(|what| what.contains(&named)), "{inci}: {found:?} does not name {named}");
    }
}
