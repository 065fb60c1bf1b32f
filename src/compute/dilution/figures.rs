//! The figures of a dilution, each with its working.

use super::{Amounts, Dilution, Portion};
use crate::compute::{Figure, Value, Working};
use crate::quantity::{Decimal, Mass, MassUnit, Strength, Volume, show};

impl Dilution {
    /// The addresses below the block's id.
    pub fn addresses(&self) -> Vec<String> {
        let mut addresses = Vec::new();
        for portion in &self.portions {
            let take = if self.is_single { "take".to_owned() } else { format!("take/{}", portion.key) };
            add_amounts(&mut addresses, take, portion.take);
            if portion.parts.is_some() {
                addresses.push(format!("parts/{}", portion.key));
            }
        }
        if let Some(add) = self.add {
            add_amounts(&mut addresses, "add".to_owned(), add);
        }
        add_amounts(&mut addresses, "total".to_owned(), self.total);
        addresses.push("strength".to_owned());
        if self.factor().is_some() {
            addresses.push("factor".to_owned());
        }
        for (text, other) in &self.sheet {
            let amounts = other.addresses().into_iter().filter(|one| one.starts_with("take") || one.starts_with("add"));
            addresses.extend(amounts.map(|address| format!("sheet/{}/{address}", size_of(text))));
        }
        addresses
    }

    /// The figure at a path below the block's id.
    pub fn figure(&self, id: &str, path: &[&str]) -> Option<Figure> {
        let address = || std::iter::once(id).chain(path.iter().copied()).collect::<Vec<_>>().join("/");
        if let ["sheet", size, rest @ ..] = path {
            let (_, other) = self.sheet.iter().find(|(text, _)| size_of(text) == *size)?;
            return Some(Figure { address: address(), ..other.figure(id, rest)? });
        }
        let (path, measure) = match path {
            [rest @ .., measure @ ("weight" | "volume")] => (rest, Some(*measure == "weight")),
            _ => (path, None),
        };
        let (value, working) = match path {
            ["take"] if self.is_single => {
                let portion = self.portions.first()?;
                (self.taken(portion, measure)?, self.working_of_take(portion, measure))
            }
            ["take", key] => {
                let portion = self.portions.iter().find(|portion| portion.key == *key)?;
                (self.taken(portion, measure)?, self.working_of_take(portion, measure))
            }
            ["add"] => (self.added(measure)?, self.working_of_add(measure)),
            ["total"] => (self.whole(measure)?, Working::new().text("all that is made")),
            ["strength"] if measure.is_none() => (strength_value(&self.strength), self.working_of_strength()),
            ["factor"] if measure.is_none() => (
                Value::Number(self.factor()?.round_sf(3).unwrap_or_default().normalize()),
                Working::new().text("all that is made ÷ the stock that is taken"),
            ),
            ["parts", key] if measure.is_none() => {
                let portion = self.portions.iter().find(|portion| portion.key == *key)?;
                (Value::Number(portion.parts?), self.working_of_parts(portion))
            }
            _ => return None,
        };
        Some(Figure { address: address(), value, working })
    }

    /// How much of a stock is taken, by weight (true) or volume, or as it is measured out.
    pub fn taken(&self, portion: &Portion, by_weight: Option<bool>) -> Option<Value> {
        self.value(portion.take, portion.take.mass.map(|mass| self.weighed(mass)), by_weight)
    }

    /// How much is added.
    pub fn added(&self, by_weight: Option<bool>) -> Option<Value> {
        self.value(self.add?, self.add_weighed(), by_weight)
    }

    /// How much is made.
    pub fn whole(&self, by_weight: Option<bool>) -> Option<Value> {
        self.value(self.total, self.total.mass.map(|mass| self.weighed(mass)), by_weight)
    }

    fn value(&self, amounts: Amounts, weighed: Option<Mass>, by_weight: Option<bool>) -> Option<Value> {
        let by_weight = by_weight.unwrap_or(if self.by_weight { weighed.is_some() } else { amounts.volume.is_none() });
        if by_weight {
            return Some(Value::Mass { mass: weighed?, decimals: self.readability.grams().normalize().scale() });
        }
        Some(self.volume_value(amounts.volume?))
    }

    fn volume_value(&self, volume: Volume) -> Value {
        Value::Quantity { value: volume.millilitres(), decimals: self.volume_decimals(), unit: "ml" }
    }

    /// Decimals of all volumes: so many that the smallest has three digits, and that what is taken and added makes up the whole as printed.
    fn volume_decimals(&self) -> u32 {
        let takes = self.portions.iter().map(|portion| portion.take).chain(self.add);
        takes
            .filter_map(|amounts| amounts.volume)
            .map(|volume| show::decimals_for(volume.millilitres(), 3))
            .max()
            .unwrap_or_default()
    }

    fn working_of_take(&self, portion: &Portion, by_weight: Option<bool>) -> Working {
        let whole = self.whole(Some(self.strength.base.is_by_weight()));
        let working = Working::new();
        let working = match whole {
            Some(whole) if self.is_single && self.is_target => working
                .value(strength_value(&self.strength))
                .text(" × ")
                .value(whole)
                .text(" ÷ ")
                .value(strength_value(&portion.strength)),
            _ if self.is_target => {
                working.text(format!("what all stocks hold together is {} of the whole", self.strength.text()))
            }
            _ if portion.parts.is_some() => return working.text("its share of all parts"),
            _ => return working.text("as given"),
        };
        // The strength counts volumes or weights; the other of the two follows by the density.
        let is_weight = by_weight.unwrap_or(self.by_weight && portion.take.mass.is_some());
        let reckoned_by_weight = if self.is_single { portion.strength.base.is_by_weight() } else { self.by_weight };
        match (portion.density, is_weight == reckoned_by_weight) {
            (Some(density), false) => {
                working.text(if is_weight { ", × " } else { ", ÷ " }).value(Value::Density(density))
            }
            _ => working,
        }
    }

    fn working_of_add(&self, by_weight: Option<bool>) -> Working {
        let by_weight = by_weight.unwrap_or(self.by_weight);
        let mut working = Working::new();
        if let Some(whole) = self.whole(Some(by_weight)) {
            working = working.value(whole);
        }
        for portion in &self.portions {
            if let Some(taken) = self.taken(portion, Some(by_weight)) {
                working = working.text(" − ").value(taken);
            }
        }
        if by_weight { working } else { working.text("; volumes do not quite add up, so fill up to the mark") }
    }

    fn working_of_strength(&self) -> Working {
        if self.is_target {
            return Working::new().text("as asked for");
        }
        let mut working = Working::new().text("(");
        for (index, portion) in self.portions.iter().enumerate() {
            if index > 0 {
                working = working.text(" + ");
            }
            working = working.value(strength_value(&portion.strength));
            if let Some(taken) = self.taken(portion, Some(portion.strength.base.is_by_weight())) {
                working = working.text(" × ").value(taken);
            }
        }
        working = working.text(") ÷ ");
        match self.whole(Some(self.strength.base.is_by_weight())) {
            Some(whole) => working.value(whole),
            None => working.text("the whole"),
        }
    }

    fn working_of_parts(&self, portion: &Portion) -> Working {
        match self.portions.as_slice() {
            [one, other] if self.is_target => {
                let distant = if one.key == portion.key { other } else { one };
                Working::new()
                    .text("the distance of the other stock from the strength wanted: ")
                    .value(strength_value(&distant.strength))
                    .text(" and ")
                    .value(strength_value(&self.strength))
            }
            _ => Working::new().text("as given"),
        }
    }
}

/// An amount of the sheet as a part of an address: "1 kg" is `1-kg`.
fn size_of(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join("-")
}

fn add_amounts(addresses: &mut Vec<String>, name: String, amounts: Amounts) {
    if amounts.mass.is_some() {
        addresses.push(format!("{name}/weight"));
    }
    if amounts.volume.is_some() {
        addresses.push(format!("{name}/volume"));
    }
    if amounts.mass.is_some() || amounts.volume.is_some() {
        addresses.push(name);
    }
}

/// A strength as a value.
fn strength_value(strength: &Strength) -> Value {
    Value::Quantity { value: strength.number(), decimals: strength.decimals(), unit: strength.unit_text() }
}

/// An amount for a sentence, "250 ml".
pub(crate) fn amount_text(number: Decimal, by_weight: bool) -> String {
    let unit = if by_weight { MassUnit::Gram.symbol() } else { "ml" };
    show::quantity_to(number, show::decimals_for(number, 5), unit)
}
