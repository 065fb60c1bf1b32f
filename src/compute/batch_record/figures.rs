//! The figures of a batch record, each with its working.

use super::{BatchRecord, LotPart, RecordLine, Stage, ends_of, step_of};
use crate::block::PhReading;
use crate::compute::address::{look_up_own, own_addresses};
use crate::compute::{AddressFault, Figure, Value, Working};
use crate::quantity::{Decimal, Mass, Percent, Ph, show};

/// What a yield is a share of: OpenStax, Chemistry 2e, section 4.4 (from memory).
const YIELD_SOURCE: &str = "percent yield: OpenStax, Chemistry 2e, section 4.4 (from memory)";

impl BatchRecord {
    /// The addresses below the block's id. Below `actual` stands everything of a formula that takes no rules to be told.
    pub fn addresses(&self) -> Vec<String> {
        let mut addresses: Vec<String> = Vec::new();
        if self.date.is_some() {
            addresses.push("date".to_owned());
        }
        addresses.extend(self.batch_number.iter().map(|_| "batch-number".to_owned()));
        if let Some(release) = &self.release {
            addresses.push("release".to_owned());
            addresses.extend(release.date.iter().map(|_| "release/date".to_owned()));
        }
        addresses.push("batch".to_owned());
        for line in &self.lines {
            let key = &line.key;
            addresses.push(format!("{key}/planned"));
            if line.weighed.is_some() {
                addresses.push(format!("{key}/weighed"));
            }
            if line.deviation().is_some() {
                addresses.push(format!("{key}/deviation"));
            }
            if line.deviation_percent().is_some() {
                addresses.push(format!("{key}/deviation/percent"));
            }
            if self.to_hundred(line).is_some() {
                addresses.push(format!("{key}/per-100g"));
            }
        }
        if self.total().is_some() && !self.is_blank {
            addresses.push("total".to_owned());
        }
        if let Some(account) = &self.account {
            addresses.push("content".to_owned());
            for stage in &account.stages {
                let base = base_of(stage);
                addresses.extend(["content", "missing", "top-up"].map(|part| format!("{base}/{part}")));
            }
            addresses.extend(["evaporation", "spill", "sample", "top-up"].map(str::to_owned));
        }
        if self.filled.is_some() {
            addresses.extend(["yield", "yield/percent"].map(str::to_owned));
        }
        if self.packs.is_some() {
            addresses.push("packs".to_owned());
        }
        if self.per_pack().is_some() {
            addresses.push("yield/per-pack".to_owned());
        }
        if !self.ph.is_empty() {
            addresses.push("ph".to_owned());
            if self.last_ph().and_then(ends_of).is_some() {
                addresses.extend(["ph/low", "ph/high"].map(str::to_owned));
            }
            addresses.extend((1..=self.ph.len()).map(|number| format!("ph/{number}")));
        }
        if self.declarations.is_some() {
            addresses.push("declaration".to_owned());
        }
        if let Some(actual) = &self.actual {
            let id = format!("{}/", actual.formula.id);
            let below = |address: String| address.strip_prefix(&id).map(|rest| format!("actual/{rest}"));
            // The specification is no property of what was made; what was read is `ph`.
            let of_batch = |address: &String| address != "actual/ph";
            addresses.extend(own_addresses(actual).into_iter().filter_map(below).filter(of_batch));
        }
        addresses
    }

    /// The figure at a path below the block's id, or why there is none.
    pub fn look_up(&self, id: &str, path: &[&str]) -> Option<Result<Figure, AddressFault>> {
        if let ["actual", "ph"] = path {
            let why = match self.ph.is_empty() {
                true => "no pH was read of this batch, and the specification is the formula's".to_owned(),
                false => format!("the pH that was read is `{id}/ph`"),
            };
            return Some(Err(AddressFault::NoValue(why)));
        }
        if let ["actual", rest @ ..] = path {
            let Some(actual) = &self.actual else {
                let why = "not everything that went in was weighed".to_owned();
                return Some(Err(AddressFault::NoValue(why)));
            };
            let own = |address: &str| {
                let below = address.strip_prefix(&actual.formula.id).unwrap_or(address);
                format!("{id}/actual{below}")
            };
            return Some(match look_up_own(actual, rest) {
                Ok(figure) => Ok(Figure { address: own(&figure.address), ..figure }),
                Err(AddressFault::Unknown(known)) => {
                    Err(AddressFault::Unknown(known.iter().map(|address| own(address)).collect()))
                }
                Err(fault) => Err(fault),
            });
        }
        if let (["declaration"], Some((made, _))) = (path, &self.declarations) {
            return Some(Ok(made.figure(format!("{id}/declaration"))));
        }
        let (value, working) = self.value(path)?;
        Some(Ok(Figure { address: format!("{id}/{}", path.join("/")), value, working }))
    }

    fn value(&self, path: &[&str]) -> Option<(Value, Working)> {
        let noted = || Working::new().text("as noted");
        Some(match path {
            ["date"] => (Value::Text(self.date?.to_string()), noted()),
            ["batch-number"] => (Value::Text(self.batch_number.clone()?), noted()),
            ["release"] => {
                let release = self.release.as_ref()?;
                let why = release.why.clone().unwrap_or_else(|| "as noted".to_owned());
                (Value::Text(release.decision.value.word().to_owned()), Working::new().text(why))
            }
            ["release", "date"] => (Value::Text(self.release.as_ref()?.date.as_ref()?.value.to_string()), noted()),
            ["batch"] => (
                self.mass(self.planned_batch()),
                Working::new().text("the batch that was planned, as the balance reads it"),
            ),
            ["total"] => {
                let total = self.mass(self.total()?);
                (total.clone(), Working::new().text("all weights of the lines added: ").value(total))
            }
            ["content"] => self.content()?,
            ["after", phase, part] => self.of_stage(self.stage(Some(*phase))?, part)?,
            ["end", part] => self.of_stage(self.stage(None)?, part)?,
            ["evaporation"] => {
                let words = "noted as evaporated, and missing on the balance before a top-up; a loss is what was seen, it does not grow with the batch";
                (self.mass(self.account.as_ref()?.evaporated), Working::new().text(words))
            }
            ["spill"] => (self.mass(self.account.as_ref()?.spilt), noted()),
            ["sample"] => (self.mass(self.account.as_ref()?.sampled), noted()),
            ["top-up"] => (self.mass(self.account.as_ref()?.topped_up), noted()),
            ["yield"] => (self.mass(self.filled?), noted()),
            ["yield", "percent"] => {
                let filled = self.filled?;
                let percent = self.share(filled, self.planned_batch())?;
                let working = Working::new()
                    .value(self.mass(filled))
                    .text(" weighed out ÷ ")
                    .value(self.mass(self.planned_batch()))
                    .text(" planned × 100 = ")
                    .value(Value::Percent(percent));
                (Value::Percent(percent), working.source(YIELD_SOURCE))
            }
            ["yield", "per-pack"] => {
                let (filled, packs) = (self.mass(self.filled?), Value::Number(self.packs?));
                let working = Working::new().value(filled).text(" weighed out ÷ ").value(packs).text(" packs");
                (self.mass(self.per_pack()?), working)
            }
            ["packs"] => (Value::Number(self.packs?), noted()),
            ["ph", "low"] => self.end_of_ph(true)?,
            ["ph", "high"] => self.end_of_ph(false)?,
            ["ph"] => self.of_reading(self.last_ph()?),
            ["ph", number] => {
                let index = number.parse::<usize>().ok()?.checked_sub(1)?;
                self.of_reading(self.ph.get(index)?)
            }
            [rest @ .., "deviation", "percent"] => {
                let line = self.line(rest)?;
                let percent = Value::Percent(line.deviation_percent()?);
                let working = Working::new()
                    .value(self.mass(line.deviation()?))
                    .text(" ÷ ")
                    .value(self.mass(line.planned))
                    .text(" planned × 100 = ")
                    .value(percent.clone());
                (percent, working)
            }
            [rest @ .., part] => self.of_line(self.line(rest)?, part)?,
            [] => return None,
        })
    }

    fn line(&self, key: &[&str]) -> Option<&RecordLine> {
        let key = key.join("/");
        self.lines.iter().find(|line| line.key == key)
    }

    fn of_line(&self, line: &RecordLine, part: &str) -> Option<(Value, Working)> {
        match part {
            "planned" => Some((self.mass(line.planned), Working::new().text("the weight on the sheet for this batch"))),
            "weighed" => Some((self.mass(line.weighed?), self.working_of_weight(line))),
            "deviation" => {
                let deviation = self.mass(line.deviation()?);
                let working = Working::new()
                    .value(self.mass(line.weighed?))
                    .text(" weighed − ")
                    .value(self.mass(line.planned))
                    .text(" planned = ")
                    .value(deviation.clone());
                Some((deviation, working))
            }
            "per-100g" => {
                let (ratio, product) = self.to_hundred(line)?;
                let value =
                    Value::Quantity { value: ratio, decimals: show::decimals_for(ratio, 3), unit: "g to 100 g" };
                let working = Working::new()
                    .value(self.mass(line.weighed?))
                    .text(" ÷ ")
                    .value(self.mass(product))
                    .text(" of everything else × 100 = ")
                    .value(value.clone());
                Some((value, working))
            }
            _ => None,
        }
    }

    fn working_of_weight(&self, line: &RecordLine) -> Working {
        if line.is_as_planned {
            return Working::new().text("not noted by itself: the record says that the rest was weighed as planned");
        }
        let by_lot = |part: &LotPart| {
            let lot = part
                .number
                .as_ref()
                .map_or_else(|| " of a lot that is not noted".to_owned(), |number| format!(" of lot {number}"));
            Some((part.weight?, lot))
        };
        let parts: Vec<(Mass, String)> = match line.lots.len() {
            0 | 1 => line.portions.iter().map(|part| (*part, String::new())).collect(),
            _ => line.lots.iter().filter_map(by_lot).collect(),
        };
        if parts.is_empty() {
            return Working::new().text("as noted");
        }
        let mut working = Working::new();
        for (index, (part, lot)) in parts.into_iter().enumerate() {
            let working_before = if index == 0 { working } else { working.text(" + ") };
            working = working_before.value(self.mass(part)).text(lot);
        }
        working.text(" = ").value(self.mass(line.weighed.unwrap_or_default()))
    }

    /// What a dose to effect took: grams to a hundred grams of everything else, and how much that is.
    fn to_hundred(&self, line: &RecordLine) -> Option<(Decimal, Mass)> {
        let dose = line.weighed.filter(|_| line.effect.is_some() && !line.is_as_planned)?;
        let product = self.total()? - dose;
        Some(((dose.grams() * Decimal::ONE_HUNDRED).checked_div(product.grams())?, product))
    }

    fn content(&self) -> Option<(Value, Working)> {
        let account = self.account.as_ref()?;
        let mut working = Working::new().value(self.mass(self.total()?)).text(" weighed in");
        for (mass, words) in
            [(account.evaporated, " evaporated"), (account.spilt, " spilt"), (account.sampled, " taken as samples")]
        {
            if mass != Mass::ZERO {
                working = working.text(" − ").value(self.mass(mass)).text(words);
            }
        }
        if account.topped_up != Mass::ZERO {
            working = working.text(" + ").value(self.mass(account.topped_up)).text(" put back");
        }
        let content = self.mass(account.content());
        Some((content.clone(), working.text(" = ").value(content)))
    }

    fn stage(&self, after: Option<&str>) -> Option<&Stage> {
        self.account.as_ref()?.stages.iter().rev().find(|stage| stage.after.as_deref() == after)
    }

    fn of_stage(&self, stage: &Stage, part: &str) -> Option<(Value, Working)> {
        match part {
            "content" => {
                let content = self.mass(stage.content);
                let working = Working::new()
                    .value(self.mass(stage.gross))
                    .text(" gross − ")
                    .value(self.mass(self.tare?))
                    .text(" tare = ")
                    .value(content.clone());
                Some((content, working))
            }
            "missing" => {
                let missing = self.mass(stage.missing);
                let working = Working::new()
                    .value(self.mass(stage.expected))
                    .text(" should be in it − ")
                    .value(self.mass(stage.content))
                    .text(" in it = ")
                    .value(missing.clone());
                Some((missing, working))
            }
            "top-up" => {
                let words = "what is missing, with what had left as steam before and was not put back; it brings the vessel to ";
                let full = self.mass(stage.gross + stage.restores);
                Some((self.mass(stage.restores), Working::new().text(words).value(full).text(" on the balance")))
            }
            _ => None,
        }
    }

    fn of_reading(&self, reading: &PhReading) -> (Value, Working) {
        let ph = Ph::value(reading.ph.value);
        let words = match (step_of(reading), reading.resolution) {
            (Some(step), Some(_)) => format!("as read, in steps of {}", show::plain(step)),
            (Some(step), None) => format!("as read, to the last digit written, {}", show::plain(step)),
            (None, _) => "as read; the step of the strip is not stated".to_owned(),
        };
        let words = match ends_of(reading) {
            Some((low, high)) => format!("{words}: half a step either way, from {low} to {high}"),
            None => words,
        };
        let value = Value::Reading { value: ph, ends: None, decimals: ph.scale(), unit: String::new() };
        (value, Working::new().text(words))
    }

    /// An end of what the last reading may be.
    fn end_of_ph(&self, is_low: bool) -> Option<(Value, Working)> {
        let reading = self.last_ph()?;
        let (low, high) = ends_of(reading)?;
        let value = if is_low { low } else { high };
        let (_, working) = self.of_reading(reading);
        Some((Value::Reading { value, ends: None, decimals: value.scale(), unit: String::new() }, working))
    }

    /// What a pack holds on average.
    pub fn per_pack(&self) -> Option<Mass> {
        self.filled?.grams().checked_div(self.packs?).map(Mass::from_grams)
    }

    fn share(&self, part: Mass, whole: Mass) -> Option<Percent> {
        let quotient = (part.grams() * Decimal::ONE_HUNDRED).checked_div(whole.grams())?;
        Some(Percent::new(quotient.normalize()))
    }

    /// A weight with the digits of the balance, or more where more were written.
    fn mass(&self, mass: Mass) -> Value {
        // What was divided on the way has as many digits as a decimal can hold; none of them were read.
        let written = mass.grams().normalize().scale();
        let of_balance = self.planned.sheet.decimals();
        Value::Mass { mass, decimals: if written <= 6 { written.max(of_balance) } else { of_balance } }
    }
}

fn base_of(stage: &Stage) -> String {
    stage.after.as_ref().map_or_else(|| "end".to_owned(), |after| format!("after/{after}"))
}
