//! Batch numbers of the whole collection: two batches of one number are found wherever their records stand.

use super::Collection;
use crate::block::{BatchRecordBlock, Body, Placed};
use crate::caution::number_twice;
use crate::report::Finding;
use std::collections::BTreeMap;
use std::sync::Arc;

impl Collection {
    /// Looks for numbers that several records bear. The earliest batch keeps it; the others are found. It is done after every change, since any notebook may
    /// hold the other one; a record to be filled in by hand is no batch yet.
    pub(super) fn compare_batch_numbers(&mut self) {
        let mut bearers: BTreeMap<&str, Vec<(&BatchRecordBlock, &Placed<String>)>> = BTreeMap::new();
        for block in self.entries.values().flat_map(|entry| &entry.notebook.blocks) {
            if let Some(Body::BatchRecord(record)) = &block.body
                && let Some(number) = record.batch_number.as_ref().filter(|_| !record.is_blank)
            {
                bearers.entry(&number.value).or_default().push((record, number));
            }
        }
        let mut found: BTreeMap<Arc<str>, Vec<Finding>> = BTreeMap::new();
        for mut records in bearers.into_values() {
            let day = |record: &BatchRecordBlock| record.date.as_ref().map(|date| date.value);
            // Of one day the first is that of the first notebook, by path.
            records.sort_by_key(|(record, _)| (record.date.is_none(), day(record)));
            let Some(((record, first), others)) = records.split_first() else { continue };
            for (_, number) in others {
                let finding = number_twice(number, (&record.formula.value, day(record), first));
                found.entry(Arc::clone(&number.place.path)).or_default().push(finding);
            }
        }
        for (path, entry) in &mut self.entries {
            let found = found.remove(path).unwrap_or_default();
            if found != entry.number_findings {
                entry.number_findings = found;
                entry.is_touched = true;
            }
        }
    }
}
