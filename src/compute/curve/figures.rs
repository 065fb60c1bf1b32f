//! The figures of a curve, each with its working.

use super::{Axis, Curve, Reached, Side};
use crate::compute::{AddressFault, Figure, INTERPOLATION_SOURCE, Value, Working};
use crate::quantity::{Decimal, read_decimal, split_number};

impl Curve {
    /// The addresses below the block's id. A value at any x inside the data can be asked for besides.
    pub fn addresses(&self) -> Vec<String> {
        let mut addresses: Vec<String> = ["peak", "peak/at", "low", "high"].map(str::to_owned).into();
        if let [_] = self.at.as_slice() {
            addresses.push("at".to_owned());
        }
        addresses.extend(self.at.iter().map(|x| format!("at/{x}")));
        let is_single = self.targets.len() == 1;
        for y in &self.targets {
            let reached = self.reached(*y);
            let names = names_of(&reached);
            for name in &names {
                let name = if name.is_empty() { String::new() } else { format!("/{name}") };
                if is_single {
                    addresses.push(format!("target{name}"));
                }
                addresses.push(format!("target/{y}{name}"));
            }
        }
        addresses
    }

    /// Where a value is reached, each place with its address.
    pub(crate) fn reached_with_addresses(&self, id: &str, y: Decimal) -> Vec<(String, Reached)> {
        let reached = self.reached(y);
        let start = if self.targets.len() == 1 { format!("{id}/target") } else { format!("{id}/target/{y}") };
        let names = names_of(&reached);
        let address = |name: &String| if name.is_empty() { start.clone() } else { format!("{start}/{name}") };
        names.iter().map(address).zip(reached).collect()
    }

    /// The figure of where a target is reached.
    pub(crate) fn reached_figure(&self, address: String, y: Decimal, reached: &Reached) -> Figure {
        let side = reached.side.map_or(String::new(), |side| format!(", {}", side.words()));
        let level = match reached.ends {
            Some(_) if self.pchip.crossings(super::float(y)).iter().any(|one| one.from < one.to) => {
                "; the curve is level there"
            }
            Some(_) => "; the span is that of the repeated readings",
            None => "",
        };
        Figure {
            address,
            value: reading(&self.x, reached.x, reached.ends, self.x_decimals()),
            working: Working::new()
                .text(format!("where the curve through the measured points has {}{side}{level}", self.y.text(y)))
                .source(INTERPOLATION_SOURCE),
        }
    }

    /// The figure of the value at an x.
    fn at_figure(&self, address: String, x: Decimal) -> Option<Figure> {
        let value = self.value_at(x)?;
        let points = || self.points.iter();
        let working = match points().find(|point| point.x == x) {
            Some(point) => match point.deviation {
                None => Working::new().text("as measured"),
                Some(deviation) => Working::new()
                    .text(format!("mean of {} readings, standard deviation ", point.readings.len()))
                    .value(reading(&self.y, deviation, None, self.y_decimals() + 1)),
            },
            None => {
                let (start, end) = points().zip(points().skip(1)).find(|(_, end)| x < end.x)?;
                let at = |point: &super::CurvePoint| {
                    format!("{} at {}", self.y.rounded(point.mean, self.y_decimals()), self.x.text(point.x))
                };
                Working::new()
                    .text(format!("on the curve through all points, between {} and {}", at(start), at(end)))
                    .source(INTERPOLATION_SOURCE)
            }
        };
        Some(Figure { address, value: reading(&self.y, value, self.spread_at(x), self.y_decimals()), working })
    }
}

fn reading(axis: &Axis, value: Decimal, ends: Option<(Decimal, Decimal)>, decimals: u32) -> Value {
    Value::Reading { value, ends, decimals, unit: axis.unit.clone() }
}

/// The last part of the address of each place where a target is reached: nothing where there is one, its side where that tells it apart, otherwise its
/// number.
fn names_of(reached: &[Reached]) -> Vec<String> {
    let on = |side: Side| reached.iter().filter(|one| one.side == Some(side)).count();
    reached
        .iter()
        .enumerate()
        .map(|(index, one)| match one.side {
            _ if reached.len() == 1 => String::new(),
            Some(Side::Before) if on(Side::Before) == 1 => "before".to_owned(),
            Some(Side::After) if on(Side::After) == 1 => "after".to_owned(),
            _ => (index + 1).to_string(),
        })
        .collect()
}

pub(super) fn look_up(curve: &Curve, id: &str, path: &[&str]) -> Option<Result<Figure, AddressFault>> {
    let address = format!("{id}/{}", path.join("/"));
    let (low, high) = curve.range();
    let of_points = |value, words: &'static str| {
        Ok(Figure {
            address: address.clone(),
            value: reading(&curve.x, value, None, value.scale()),
            working: Working::new().text(words),
        })
    };
    match path {
        ["peak"] => Some(Ok(Figure {
            address: address.clone(),
            value: reading(&curve.y, curve.peak.y, None, curve.y_decimals()),
            working: Working::new().text(peak_words(curve)),
        })),
        ["peak", "at"] => {
            let (first, last) = curve.peak.at;
            let ends = (first < last).then_some((first, last));
            let middle = if first < last { (first + last) / Decimal::TWO } else { first };
            Some(Ok(Figure {
                address: address.clone(),
                value: reading(&curve.x, middle, ends, first.scale().max(last.scale())),
                working: Working::new().text(peak_words(curve)),
            }))
        }
        ["low"] => Some(of_points(low, "the lowest measured")),
        ["high"] => Some(of_points(high, "the highest measured")),
        ["at"] => match curve.at.as_slice() {
            [x] => curve.at_figure(address, *x).map(Ok),
            _ => None,
        },
        ["at", x] => {
            let x = number_on(&curve.x, x)?;
            Some(curve.at_figure(address, x).ok_or_else(|| {
                AddressFault::NoValue(format!(
                    "{} lies outside of what was measured, from {} to {}",
                    curve.x.text(x),
                    curve.x.text(low),
                    curve.x.text(high)
                ))
            }))
        }
        ["target", rest @ ..] => {
            let only = match curve.targets.as_slice() {
                [only] => Some(*only),
                _ => None,
            };
            let (y, name) = match rest {
                [] => (only?, ""),
                [y, name] => (number_on(&curve.y, y)?, *name),
                [one] => match number_on(&curve.y, one).filter(|y| curve.targets.contains(y)) {
                    Some(y) => (y, ""),
                    None => (only?, *one),
                },
                _ => return None,
            };
            let reached = curve.reached(y);
            let index = names_of(&reached).iter().position(|known| known == name)?;
            reached.get(index).map(|reached| Ok(curve.reached_figure(address, y, reached)))
        }
        _ => None,
    }
}

/// A number of an address, alone or with the unit of its axis.
fn number_on(axis: &Axis, text: &str) -> Option<Decimal> {
    let (number, unit) = split_number(text);
    (unit.is_empty() || unit == axis.unit).then(|| read_decimal(number).ok()).flatten()
}

/// How the highest value is to be taken.
fn peak_words(curve: &Curve) -> String {
    match curve.peak.between {
        (Some(before), Some(after)) => format!(
            "the highest measured; the curve never rises above it, and the true peak lies somewhere between {} and {}",
            curve.x.text(before),
            curve.x.text(after)
        ),
        _ => "the highest measured, at the end of the data: whether it goes on rising is not known".to_owned(),
    }
}
