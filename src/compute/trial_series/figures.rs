//! The figures of a series of trials: how many there are, which was chosen, what was measured, and by how much each differs from what it was made from.

use super::super::address::AddressFault;
use super::super::{Figure, Value, Working};
use super::{Comparison, Trial, TrialSeries, decimals};
use crate::quantity::Decimal;

const MEASURED: &str = "measured";

/// Whether a difference is one of shares: trials are made in sizes of their own, and no weights are laid beside each other.
fn is_of_any_batch(address: &str) -> bool {
    !["weight-difference", "per-batch-difference"].iter().any(|last| address.ends_with(last))
}

impl TrialSeries {
    /// The addresses below the block's id.
    pub fn addresses(&self) -> Vec<String> {
        let mut addresses = vec!["trials".to_owned()];
        addresses.extend(self.choice.as_ref().map(|_| "chosen".to_owned()));
        for trial in &self.trials {
            let id = &trial.id;
            addresses.extend(trial.date.map(|_| format!("{id}/date")));
            let measured = self.columns.iter().zip(&trial.readings).filter(|(_, reading)| reading.is_some());
            addresses.extend(measured.map(|(column, _)| format!("{id}/{MEASURED}/{}", column.name)));
            let against =
                trial.against.iter().flat_map(Comparison::addresses).filter(|address| is_of_any_batch(address));
            addresses.extend(against.map(|address| format!("{id}/{address}")));
        }
        addresses
    }

    /// The figure at a path, or why it has no value; nothing when there is no such path.
    pub fn look_up(&self, id: &str, path: &[&str]) -> Option<Result<Figure, AddressFault>> {
        let address = format!("{id}/{}", path.join("/"));
        let figure = |value, working| Some(Ok(Figure { address: address.clone(), value, working }));
        let trial_of = |name: &str| self.trials.iter().find(|trial| trial.id == name);
        match path {
            ["trials"] => {
                let ids: Vec<&str> = self.trials.iter().map(|trial| trial.id.as_str()).collect();
                figure(Value::Number(Decimal::from(ids.len())), Working::new().text(ids.join(", ")))
            }
            ["chosen"] => {
                let reason = self.choice.as_ref()?.reason.clone().unwrap_or_default();
                figure(Value::Text(self.chosen()?.id.clone()), Working::new().text(reason))
            }
            [name, "date"] => figure(Value::Text(trial_of(name)?.date?.to_string()), Working::new()),
            [name, MEASURED, what] => Some(Ok(self.measured(trial_of(name)?, what, address)?)),
            [name, rest @ ..] if rest.last().is_some_and(|last| is_of_any_batch(last)) => {
                trial_of(name)?.against.as_ref()?.look_up(&format!("{id}/{name}"), rest)
            }
            _ => None,
        }
    }

    fn measured(&self, trial: &Trial, name: &str, address: String) -> Option<Figure> {
        let (column, reading) = self.columns.iter().zip(&trial.readings).find(|(column, _)| column.name == name)?;
        let range = (*reading)?;
        let on = trial.date.map_or_else(String::new, |date| format!(", {date}"));
        let working = Working::new().text(format!("measured of {}{on}", trial.id));
        let value = Value::QuantityRange { range, decimals: decimals(range), unit: column.unit.clone().into() };
        Some(Figure { address, value, working })
    }
}
