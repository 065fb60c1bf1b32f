//! Blocks that reckon with the figures of other blocks: what they name is looked up as calc links are.

use super::Collection;
use crate::block::{Address, ExpectBlock};
use crate::caution::expect_fault;
use crate::compute::{Expect, Figure};
use crate::report::{Finding, echo, kind};

impl Collection {
    /// The figures that a block expects something of, compared; nothing when one of them is missing or off.
    pub(super) fn expect(&self, wanted: &ExpectBlock, findings: &mut Vec<Finding>) -> Option<Expect> {
        let mut expect = Some(Expect::default());
        for line in &wanted.lines {
            let row = self.figure_for(&line.address, findings).and_then(|figure| {
                Expect::judge(line, figure).map_err(|miss| findings.push(expect_fault(line, &miss))).ok()
            });
            match (row, &mut expect) {
                (Some(row), Some(expect)) => expect.rows.push(row),
                _ => expect = None,
            }
        }
        expect
    }

    /// The figure of an address in a block; why there is none is reported.
    fn figure_for(&self, address: &Address, findings: &mut Vec<Finding>) -> Option<Figure> {
        let (id, n_before) = (&address.id, findings.len());
        let found = self.look_up_address(&id.value, &address.path, &address.query, &id.place, findings);
        let figure = found.map(|(figure, _)| figure);
        // What has errors has said so itself; here it only has to be seen that nothing was compared.
        if figure.is_none() && findings.len() == n_before {
            let what = format!("`{}` has errors, so `{}` has no figure.", echo(&id.value), echo(&address.written));
            findings.push(Finding::new(kind::REFERENCE_FAILED, id.place.clone(), what));
        }
        figure
    }
}
