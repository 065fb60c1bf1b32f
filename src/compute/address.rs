//! Looking up a figure by its address: `barley-wash/glycerin/weight`.

use super::address_of_rules::{self, Backing};
use super::figure::{Figure, Value, Working};
use super::figures as make;
use super::{Computed, Emulsion, HeatWindows, PhWindows, Sheet};
use crate::material::SurfactantClass;
use crate::model::{Line, Phase};
use crate::quantity::{Decimal, Volume};
use crate::quantity::{Density, Mass, MassUnit, Percent, Range, VolumeUnit, read_decimal, split_number};

/// Why an address gives no figure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum AddressFault {
    /// Nothing has this address; the addresses there are, for suggestions.
    Unknown(Vec<String>),
    /// The formula has no line of this raw material, although the address asks for one.
    NoLine {
        /// The formula.
        formula: String,
        /// The raw material as asked for.
        material: String,
    },
    /// The figure could not be computed; why.
    NoValue(String),
    /// The batch of the query is not understood.
    BadBatch(String),
}

/// Every address of a formula, in the order of the sheet.
pub fn address_tree(computed: &Computed, backing: Backing<'_>) -> Vec<String> {
    let mut tree = own_addresses(computed);
    let id = &computed.formula.id;
    tree.extend(address_of_rules::addresses(computed, backing).into_iter().map(|address| format!("{id}/{address}")));
    tree
}

/// The figure at a path below a formula's id that rests on the formula alone, for its own batch.
pub(super) fn look_up_own(computed: &Computed, path: &[&str]) -> Result<Figure, AddressFault> {
    find(computed, &computed.sheet, path).map_err(|fault| match fault {
        AddressFault::Unknown(_) => AddressFault::Unknown(own_addresses(computed)),
        other => other,
    })
}

/// Those that rest on the formula alone.
pub(super) fn own_addresses(computed: &Computed) -> Vec<String> {
    let id = &computed.formula.id;
    let mut tree: Vec<String> =
        ["batch", "total/percent", "total/weight", "water", "check-value"].map(str::to_owned).into();
    if computed.formula.ph.is_some() {
        tree.push("ph".to_owned());
    }
    if !PhWindows::of(computed).lines.is_empty() {
        tree.push("window/ph".to_owned());
    }
    if HeatWindows::of(computed).shared.is_some() {
        tree.push("window/temperature".to_owned());
    }
    if let Some(emulsion) = Emulsion::of(computed) {
        tree.extend(emulsion.addresses());
    }
    tree.push("balance".to_owned());
    tree.extend(computed.formula.density.map(|_| "density".to_owned()));
    tree.extend(computed.formula.date.map(|_| "date".to_owned()));
    for part in ["version", "title", "product"] {
        if text_of(computed, part).is_some() {
            tree.push(part.to_owned());
        }
    }
    if make::units_figure(computed).is_some() {
        tree.extend(["units".to_owned(), "fill".to_owned()]);
    }
    if computed.active.is_any() || !computed.active.unknown.is_empty() {
        tree.push("active-matter".to_owned());
        tree.extend(SurfactantClass::ALL.iter().map(|class| format!("active-matter/{}", class.word())));
    }
    for phase in &computed.formula.phases {
        let key = &phase.key;
        tree.extend(["percent", "weight", "vessel"].map(|part| format!("phase/{key}/{part}")));
        tree.extend(phase.title.is_some().then(|| format!("phase/{key}/title")));
        tree.extend(phase.hold.is_some().then(|| format!("phase/{key}/hold")));
        for line in &phase.lines {
            for part in ["percent", "weight"] {
                tree.push(format!("{}/{part}", line.written));
                tree.push(format!("phase/{key}/{}/{part}", line.written));
            }
        }
    }
    for (index, line) in computed.formula.lines().enumerate() {
        if make::line_active_figure(computed, index, line).is_some() {
            tree.push(format!("{}/active", line.written));
        }
    }
    for line in computed.formula.lines() {
        tree.extend(
            LINE_WORDS
                .iter()
                .filter(|part| words_of(line, part).is_some())
                .map(|part| format!("{}/{part}", line.written)),
        );
        tree.extend(line.strength.map(|_| format!("{}/strength", line.written)));
    }
    tree.extend(computed.composition.substances.keys().map(|inci| format!("substance/{}", make::slug_of(inci))));
    let mut seen = std::collections::BTreeSet::new();
    tree.retain(|address| seen.insert(address.clone()));
    tree.into_iter().map(|address| format!("{id}/{address}")).collect()
}

/// The figure at a path below the formula's id, for the formula's own batch or another.
///
/// # Errors
/// Why there is no such figure; for an address that nothing has, with all that there are.
pub fn look_up(
    computed: &Computed,
    backing: Backing<'_>,
    path: &[&str],
    batch: Option<&str>,
) -> Result<Figure, AddressFault> {
    let other;
    let sheet = match batch {
        None => &computed.sheet,
        Some(text) => {
            let mass = read_batch_size(text, computed.formula.density).map_err(AddressFault::BadBatch)?;
            other = Sheet::new(&computed.formula, mass);
            &other
        }
    };
    let found = address_of_rules::figure(computed, backing, path).unwrap_or_else(|| find(computed, sheet, path));
    found.map_err(|fault| match fault {
        AddressFault::Unknown(_) => AddressFault::Unknown(address_tree(computed, backing)),
        other => other,
    })
}

/// A batch size as typed in a query or on the command line: `2kg`, `500 g`, `2l` with a density.
pub fn read_batch_size(text: &str, density: Option<Density>) -> Result<Mass, String> {
    let (number, unit) = split_number(text);
    let number = read_decimal(number).map_err(|fault| format!("`{text}` {}", fault.sentence()))?;
    if number <= Decimal::ZERO {
        return Err(format!("a batch of {text} is nothing to weigh"));
    }
    if let Some(unit) = MassUnit::from_symbol(unit) {
        return Ok(Mass::from_unit(number, unit));
    }
    match (VolumeUnit::from_symbol(unit), density) {
        (Some(unit), Some(density)) => Ok(density.mass_of(Volume::from_unit(number, unit))),
        (Some(_), None) => Err(format!("{text} is a volume, and the formula has no `density`")),
        (None, _) => Err(format!("`{text}` needs a unit such as g, kg or l")),
    }
}

fn text_of<'a>(computed: &'a Computed, part: &str) -> Option<&'a str> {
    let formula = &computed.formula;
    match part {
        "version" => formula.version.as_deref(),
        "title" => formula.title.as_deref(),
        "product" => formula.product.as_ref().map(|product| product.name.as_str()),
        _ => None,
    }
}

fn find(computed: &Computed, sheet: &Sheet, path: &[&str]) -> Result<Figure, AddressFault> {
    let unknown = || AddressFault::Unknown(own_addresses(computed));
    let words = |text: &str, part: &str| Figure {
        address: format!("{}/{part}", computed.formula.id),
        value: Value::Text(text.to_owned()),
        working: Working::new().text("as written"),
    };
    match path {
        ["batch"] => Ok(make::batch_figure(computed, sheet)),
        ["total", "percent"] => Ok(make::total_percent_figure(computed)),
        ["total", "weight"] => Ok(make::total_weight_figure(computed, sheet)),
        ["water"] => make::water_figure(computed).ok_or_else(|| {
            AddressFault::NoValue(format!(
                "the composition of {} is not known",
                computed.composition.unknown.join(", ")
            ))
        }),
        ["substance", slug] => make::substance_figure(computed, slug).ok_or_else(unknown),
        ["check-value"] => Ok(Figure {
            working: Working::new().text("made from the figures of the sheet"),
            ..words(&computed.check, "check-value")
        }),
        ["ph"] => {
            let ph = computed.formula.ph.ok_or_else(unknown)?;
            Ok(Figure { value: Value::Ph(ph), ..words("", "ph") })
        }
        ["date"] => {
            let date = computed.formula.date.ok_or_else(unknown)?;
            Ok(words(&date.to_string(), "date"))
        }
        ["balance"] => {
            let mass = computed.formula.balance.readability;
            let value = Value::Mass { mass, decimals: mass.grams().normalize().scale() };
            Ok(Figure { value, ..words("", "balance") })
        }
        ["density"] => {
            let density = computed.formula.density.ok_or_else(unknown)?;
            Ok(Figure { value: Value::Density(density), ..words("", "density") })
        }
        ["window", "ph"] => PhWindows::of(computed).figure(format!("{}/window/ph", computed.formula.id)),
        ["window", "temperature"] => {
            HeatWindows::of(computed).figure(format!("{}/window/temperature", computed.formula.id))
        }
        ["hlb", rest @ ..] => in_emulsion(computed, rest),
        ["units"] => make::units_figure(computed).ok_or_else(unknown),
        ["fill"] => make::fill_figure(computed).ok_or_else(unknown),
        ["active-matter"] => make::active_figure(computed).ok_or_else(|| no_active(computed)),
        ["active-matter", class] => {
            let class = SurfactantClass::ALL.into_iter().find(|known| known.word() == *class).ok_or_else(unknown)?;
            make::class_figure(computed, class).ok_or_else(|| no_active(computed))
        }
        ["phase", key, rest @ ..] => in_phase(computed, sheet, key, rest),
        [part] => text_of(computed, part).map(|text| words(text, part)).ok_or_else(unknown),
        [material, quantity] => in_lines(computed, sheet, material, quantity),
        _ => Err(unknown()),
    }
}

fn in_emulsion(computed: &Computed, path: &[&str]) -> Result<Figure, AddressFault> {
    let unknown = || AddressFault::Unknown(own_addresses(computed));
    let no_value = |why: &str| AddressFault::NoValue(why.to_owned());
    let emulsion = Emulsion::of(computed)
        .ok_or_else(|| no_value("the formula is no emulsion: it has not water, an oil phase and an emulsifier"))?;
    let is_known = match path {
        ["required" | "emulsifiers" | "mismatch"] => true,
        ["split", written] => emulsion.emulsifiers.iter().any(|part| part.written == *written),
        _ => false,
    };
    emulsion.figure(path).ok_or_else(|| match (is_known, emulsion.no_guide.is_some()) {
        (false, _) => unknown(),
        (true, true) => no_value("HLB is no guide for this formula; its sheet says why"),
        (true, false) => no_value("an HLB is not known, or no split of two emulsifiers meets it; the sheet says which"),
    })
}

fn no_active(computed: &Computed) -> AddressFault {
    let names: Vec<&str> = computed
        .formula
        .lines()
        .enumerate()
        .filter(|(index, _)| computed.active.unknown.contains(index))
        .map(|(_, line)| line.written.as_str())
        .collect();
    if names.is_empty() {
        return AddressFault::NoValue("the formula holds no surfactant".to_owned());
    }
    AddressFault::NoValue(format!("the active matter of {} is not known", names.join(", ")))
}

fn in_phase(computed: &Computed, sheet: &Sheet, key: &str, rest: &[&str]) -> Result<Figure, AddressFault> {
    let unknown = || AddressFault::Unknown(own_addresses(computed));
    let mut first = 0;
    let mut found: Option<(usize, &Phase)> = None;
    for phase in &computed.formula.phases {
        if phase.key == key {
            found = Some((first, phase));
            break;
        }
        first += phase.lines.len();
    }
    let (first, phase) = found.ok_or_else(unknown)?;
    match rest {
        ["percent"] => Ok(make::phase_percent_figure(computed, phase)),
        ["weight"] => Ok(make::phase_weight_figure(computed, sheet, first, phase)),
        ["vessel"] => Ok(make::vessel_figure(computed, sheet, first + phase.lines.len(), phase)),
        ["title"] => Ok(as_written(
            computed,
            &format!("phase/{key}/title"),
            Value::Text(phase.title.clone().ok_or_else(unknown)?),
        )),
        ["hold"] => {
            let (hold, _) = phase.hold.as_ref().ok_or_else(unknown)?;
            let value = hold.celsius();
            let decimals = value.normalize().scale();
            Ok(as_written(computed, &format!("phase/{key}/hold"), Value::Quantity { value, decimals, unit: "°C" }))
        }
        [material, quantity] => {
            let index = phase.lines.iter().position(|line| answers(line, material)).ok_or_else(unknown)?;
            let line = phase.lines.get(index).ok_or_else(unknown)?;
            let mut figure = of_line(computed, sheet, first + index, line, quantity).ok_or_else(unknown)?;
            figure.address = format!("{}/phase/{key}/{}/{quantity}", computed.formula.id, line.written);
            Ok(figure)
        }
        _ => Err(unknown()),
    }
}

fn answers(line: &Line, id: &str) -> bool {
    line.written == id || line.material.id == id
}

/// A material's figure; one that stands in several phases is added up.
fn in_lines(computed: &Computed, sheet: &Sheet, material: &str, quantity: &str) -> Result<Figure, AddressFault> {
    let unknown = || AddressFault::Unknown(own_addresses(computed));
    let lines: Vec<(usize, &Line)> =
        computed.formula.lines().enumerate().filter(|(_, line)| answers(line, material)).collect();
    let figures: Vec<Figure> =
        lines.iter().filter_map(|(index, line)| of_line(computed, sheet, *index, line, quantity)).collect();
    if figures.is_empty() {
        let known = matches!(quantity, "percent" | "weight" | "active" | "strength") || LINE_WORDS.contains(&quantity);
        let is_near = |line: &Line| !crate::report::nearest(material, [line.written.as_str()]).is_empty();
        if lines.is_empty() && known && !computed.formula.lines().any(is_near) {
            return Err(AddressFault::NoLine { formula: computed.formula.id.clone(), material: material.to_owned() });
        }
        return Err(if quantity == "active" && known && !lines.is_empty() {
            AddressFault::NoValue(format!("{material} has no strength, or it is not known"))
        } else {
            unknown()
        });
    }
    if let [only] = figures.as_slice() {
        return Ok(only.clone());
    }
    let first = figures.first().ok_or_else(unknown)?;
    let mut sum = first.value.clone();
    let mut working = Working::new().value(first.value.clone());
    for figure in figures.iter().skip(1) {
        sum = added(&sum, &figure.value).ok_or_else(unknown)?;
        working = working.text(" + ").value(figure.value.clone());
    }
    if quantity == "percent" {
        sum = Value::Percent(computed.formula.percent_of(lines.iter().map(|(_, line)| line.amount).sum()));
    }
    let working = working.text(" = ").value(sum.clone());
    Ok(Figure { address: first.address.clone(), value: sum, working })
}

fn added(left: &Value, right: &Value) -> Option<Value> {
    match (left, right) {
        (Value::Mass { mass: a, decimals }, Value::Mass { mass: b, .. }) => {
            Some(Value::Mass { mass: *a + *b, decimals: *decimals })
        }
        (Value::Percent(a), Value::Percent(b)) => Some(Value::Percent(Percent::new(a.value() + b.value()))),
        (Value::PercentRange(a), Value::PercentRange(b)) => {
            let sum: Range = *a + *b;
            Some(Value::PercentRange(sum))
        }
        (Value::Text(a), Value::Text(_)) => Some(Value::Text(a.clone())),
        _ => None,
    }
}

fn of_line(computed: &Computed, sheet: &Sheet, index: usize, line: &Line, quantity: &str) -> Option<Figure> {
    match quantity {
        "percent" => Some(make::line_percent_figure(computed, line)),
        "weight" => Some(make::line_weight_figure(computed, sheet, index, line)),
        "active" => make::line_active_figure(computed, index, line),
        "strength" => {
            let value = Value::PercentRange(line.strength?);
            Some(as_written(computed, &format!("{}/strength", line.written), value))
        }
        _ => {
            let (text, from) = words_of(line, quantity)?;
            Some(Figure {
                address: format!("{}/{}/{quantity}", computed.formula.id, line.written),
                value: Value::Text(text),
                working: Working::new().text(from),
            })
        }
    }
}

/// Words of a line that can be asked for.
const LINE_WORDS: [&str; 3] = ["name", "inci", "lot"];

/// Words of a line, and where they are from.
fn words_of(line: &Line, part: &str) -> Option<(String, &'static str)> {
    match part {
        "name" => Some((line.material.name.clone(), "from the catalogue")),
        "inci" => {
            Some((line.material.inci_names().join(", "), "the ingredients of the raw material, from the catalogue"))
        }
        "lot" => Some((line.lot.clone()?, "as written")),
        _ => None,
    }
}

/// What the author wrote, as a figure.
fn as_written(computed: &Computed, rest: &str, value: Value) -> Figure {
    Figure { address: format!("{}/{rest}", computed.formula.id), value, working: Working::new().text("as written") }
}
