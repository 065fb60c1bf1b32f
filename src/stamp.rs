//! Hashes that tell whether something changed. The same on every machine, so that builds can be compared.

use crate::compute::fnv_step;
use crate::report::{Finding, Place};

/// A hash under construction. FNV-1a over 64 bits; good enough to notice changes, no protection against forgery.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stamp(u64);

impl Stamp {
    /// Nothing hashed yet.
    pub(crate) fn new() -> Stamp {
        Stamp(0xcbf2_9ce4_8422_2325)
    }

    /// Goes on with a text and its length, so that two texts in a row cannot be taken for two others.
    pub(crate) fn text(self, text: &str) -> Stamp {
        Stamp(fnv_step(self.0, text.as_bytes())).number(text.len() as u64)
    }

    /// Goes on with a number.
    pub(crate) fn number(self, number: u64) -> Stamp {
        Stamp(fnv_step(self.0, &number.to_le_bytes()))
    }

    /// Goes on with everything that is shown of a finding, the places in other files too.
    pub(crate) fn finding(self, finding: &Finding) -> Stamp {
        let place = |stamp: Stamp, place: &Place| {
            stamp.text(&place.path).number(place.span.start as u64).number(place.span.end as u64)
        };
        let stamp = place(self.text(finding.kind.name), &finding.place);
        let stamp = stamp.text(&finding.what).text(finding.why_text()).text(finding.mend_text());
        let stamp = stamp.text(finding.source.as_deref().unwrap_or_default());
        finding.more.iter().fold(stamp, |stamp, (other, words)| place(stamp, other).text(words))
    }

    /// The hash; never zero, which stands for "not made yet".
    pub(crate) fn value(self) -> u64 {
        self.0.max(1)
    }
}
