//! Blocks that reckon with the figures of other blocks: what they name is looked up as calc links are.

use super::Collection;
use crate::block::{Address, ExpectBlock, WorkingsBlock};
use crate::caution::{expect_fault, workings_fault};
use crate::compute::{Expect, Figure, Value, Workings};
use crate::quantity::{MassUnit, Units};
use crate::report::{Finding, echo, kind};
use std::collections::BTreeMap;

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

    /// The lines of workings with the figures that they name.
    pub(super) fn workings(&self, wanted: &WorkingsBlock, findings: &mut Vec<Finding>) -> Option<Workings> {
        let mut figures = BTreeMap::new();
        for address in wanted.lines.iter().flat_map(|line| &line.figures) {
            if let Some(figure) = self.figure_for(address, findings) {
                figures.insert(address.written.clone(), figure);
            }
        }
        match Workings::of(wanted, figures) {
            Ok(workings) => Some(workings),
            Err(faults) => {
                findings.extend(faults.iter().filter_map(|fault| workings_fault(fault, wanted)));
                None
            }
        }
    }

    /// The figure of an address in a block; why there is none is reported.
    fn figure_for(&self, address: &Address, findings: &mut Vec<Finding>) -> Option<Figure> {
        let (id, n_before) = (&address.id, findings.len());
        let found = self.look_up_address(&id.value, &address.path, &address.query, &id.place, findings);
        let figure = found.map(|(figure, unit)| in_mass_unit(figure, unit));
        // What has errors has said so itself; here it only has to be seen that nothing was compared.
        if figure.is_none() && findings.len() == n_before {
            let what = format!("`{}` has errors, so `{}` has no figure.", echo(&id.value), echo(&address.written));
            findings.push(Finding::new(kind::REFERENCE_FAILED, id.place.clone(), what));
        }
        figure
    }
}

/// A weight in the unit that the address asks for.
fn in_mass_unit(figure: Figure, unit: Option<MassUnit>) -> Figure {
    let units = match unit {
        None => return figure,
        Some(MassUnit::Ounce) => Units::of("avoirdupois ounce"),
        Some(unit) => Units::of(unit.symbol()),
    };
    match figure.value.unit_value().and_then(|value| value.to(&units).ok()) {
        Some(value) => Figure { value: Value::Worked(value), ..figure },
        None => figure,
    }
}
