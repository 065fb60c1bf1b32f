//! What holds for any measured series and any titration.

#![expect(clippy::unwrap_used, reason = "what goes wrong here fails the test")]

use crate::support::{answer, cases};
use proptest::prelude::*;
use std::fmt::Write;
use tarebook::compute::{Answer, Pchip, Value};
use tarebook::quantity::Decimal;

fn number(answer: &Answer, path: &[&str]) -> Decimal {
    match answer.look_up("a", path).unwrap().value {
        Value::Quantity { value, .. } | Value::Reading { value, .. } => value,
        Value::Mass { mass, .. } => mass.grams(),
        Value::Percent(percent) => percent.value(),
        other => unreachable!("{other:?}"),
    }
}

/// Steps of x in hundredths, and values of y, levels among them.
fn series() -> impl Strategy<Value = Vec<(i64, i64)>> {
    let step = prop_oneof![1_i64..10, 1_i64..5_000];
    let y = prop_oneof![-50_i64..50, -1_000_000_i64..1_000_000];
    proptest::collection::vec((step, y), 3..14).prop_map(|steps| {
        let mut x = -1_000;
        steps
            .into_iter()
            .map(|(step, y)| {
                x += step;
                (x, y)
            })
            .collect()
    })
}

#[expect(clippy::cast_precision_loss, reason = "the numbers are small")]
fn floats(series: &[(i64, i64)]) -> Vec<(f64, f64)> {
    series.iter().map(|(x, y)| (*x as f64 / 100.0, *y as f64)).collect()
}

fn points(series: &[(i64, i64)]) -> String {
    let mut text = String::new();
    for (x, y) in series {
        let _ = write!(text, "[{}, {y}], ", Decimal::new(*x, 2));
    }
    text
}

proptest! {
    #![proptest_config(cases(128))]

    /// The curve goes through every point, between two points it only rises or only falls, and it never leaves what both of them have.
    #[test]
    fn a_curve_never_swings_beyond_its_points(series in series()) {
        let points = floats(&series);
        let curve = Pchip::new(&points).unwrap();
        for pair in points.windows(2) {
            let [(x0, y0), (x1, y1)] = pair else { unreachable!() };
            prop_assert_eq!(curve.at(*x0), Some(*y0));
            prop_assert_eq!(curve.at(*x1), Some(*y1));
            // Rounding may leave a bit of the height of the piece.
            let bit = (y1 - y0).abs() * 1e-12;
            let mut before = *y0;
            for step in 1..=40 {
                let x = (x0 + (x1 - x0) * f64::from(step) / 40.0).min(*x1);
                let y = curve.at(x).unwrap();
                prop_assert!(y0.min(*y1) <= y && y <= y0.max(*y1));
                let goes_on = if y0 <= y1 { y >= before - bit } else { y <= before + bit };
                prop_assert!(goes_on);
                before = y;
            }
        }
    }

    /// Where a value is reached, the curve has it; and each x is among the places where its own value is reached.
    #[test]
    fn there_and_back_again(series in series(), share in 0.0_f64..=1.0, of_height in 0.0_f64..=1.0) {
        let points = floats(&series);
        let curve = Pchip::new(&points).unwrap();
        let (low, high) = points.iter().fold((f64::MAX, f64::MIN), |(low, high), (_, y)| (low.min(*y), high.max(*y)));
        let (first, last) = (points.first().unwrap().0, points.last().unwrap().0);
        let y = low + (high - low) * of_height;
        let places = curve.crossings(y);
        prop_assert!(!places.is_empty());
        for place in &places {
            prop_assert!((curve.at(place.middle()).unwrap() - y).abs() <= (high - low) * 1e-9);
        }
        prop_assert!(places.windows(2).all(|pair| matches!(pair, [one, other] if one.to < other.from)));
        let x = (first + (last - first) * share).clamp(first, last);
        let value = curve.at(x).unwrap();
        // Where the curve is nearly level an x cannot be told to the last digit; a value next to it then can.
        let near = |place: f64| (place - x).abs() <= (last - first) * 1e-6
            || (curve.at(f64::midpoint(place, x)).unwrap() - value).abs() <= (high - low) * 1e-9;
        let is_found = curve
            .crossings(value)
            .iter()
            .any(|place| (place.from <= x && x <= place.to) || near(place.from) || near(place.to));
        prop_assert!(is_found);
    }

    /// The order in which the points are written does not matter, nor whether a reading is repeated.
    #[test]
    fn a_series_is_the_same_in_any_order(series in series(), swap in any::<prop::sample::Index>(), share in 0_i64..=100) {
        let (first, last) = (series.first().unwrap().0, series.last().unwrap().0);
        let at = Decimal::new(first + (last - first) * share / 100, 2).to_string();
        let curve = |points: String| answer(&format!("curve\nid = \"a\"\nx = \"x, g\"\ny = \"y\"\npoints = [{points}]"));
        let one = curve(points(&series));
        let mut turned = series.clone();
        turned.rotate_left(swap.index(series.len()));
        let mut twice = String::new();
        for (x, y) in turned.iter().rev() {
            let _ = write!(twice, "[{}, {y}, {y}], ", Decimal::new(*x, 2));
        }
        let other = curve(twice);
        for path in [vec!["peak"], vec!["low"], vec!["high"], vec!["at", &at]] {
            prop_assert_eq!(number(&one, &path), number(&other, &path));
        }
        let highest = series.iter().map(|(_, y)| *y).max().unwrap();
        prop_assert_eq!(number(&one, &["peak"]), Decimal::from(highest));
        prop_assert!(number(&one, &["at", &at]) <= Decimal::from(highest));
    }
}

/// Additions in hundredths of a gram, and how far the pH falls with each, in hundredths.
fn additions() -> impl Strategy<Value = Vec<(i64, i64)>> {
    proptest::collection::vec((1_i64..200, 5_i64..60), 3..9)
}

/// A titration of 100 g from pH 8, by a way to write the additions.
fn titration(additions: &[(i64, i64)], cumulative: bool, extra: &str, share: i64) -> String {
    let (mut total, mut ph) = (0, 800);
    let mut points = String::from("[0, 8.00]");
    for (added, fall) in additions {
        total += added;
        ph -= fall;
        let amount = Decimal::new(if cumulative { total } else { *added }, 2);
        let _ = write!(points, ", [\"{amount} g\", {}]", Decimal::new(ph, 2));
    }
    let basis = if cumulative { "cumulative" } else { "each" };
    let target = Decimal::new(800 - (800 - ph) * share / 100, 2);
    format!(
        "titration\nid = \"a\"\nwith = \"citric-acid-50\"\nsample = \"100 g\"\nadditions = \"{basis}\"\npoints = [{points}]\ntarget = {target}\n{extra}"
    )
}

proptest! {
    #![proptest_config(cases(64))]

    /// Twice the batch takes twice the dose, and nothing else changes; half of it is half; the share is that of the whole.
    #[test]
    fn a_dose_scales_with_its_batch(additions in additions(), share in 5_i64..=100, batch in 1_i64..50_000, times in 2_i64..20) {
        let of = |batch: i64| answer(&titration(&additions, false, &format!("dilution = \"neat\"\nbatch = \"{batch} g\""), share));
        let (one, other) = (of(batch), of(batch * times));
        let (dose, larger) = (number(&one, &["dose"]), number(&other, &["dose"]));
        prop_assert_eq!(dose * Decimal::from(times), larger);
        prop_assert_eq!(number(&one, &["dose", "half"]) * Decimal::TWO, dose);
        for path in ["percent", "per-100g", "ph-start", "ph-half"] {
            prop_assert_eq!(number(&one, &[path]), number(&other, &[path]));
        }
        let whole = dose + Decimal::from(batch);
        prop_assert!((number(&one, &["percent"]) * whole - dose * Decimal::ONE_HUNDRED).abs() <= Decimal::new(1, 9));
    }

    /// Each or cumulative are two ways to write the same. A portion taken out for each reading makes the dose larger, as it leaves less product.
    #[test]
    fn additions_are_the_same_each_and_cumulative(additions in additions(), share in 5_i64..=100) {
        let neat = "dilution = \"neat\"\nbatch = \"1 kg\"";
        let each = number(&answer(&titration(&additions, false, neat, share)), &["dose"]);
        prop_assert_eq!(each, number(&answer(&titration(&additions, true, neat, share)), &["dose"]));
        let portions = "dilution = { product = \"2 g\", water = \"18 g\" }\nbatch = \"1 kg\"";
        prop_assert!(each < number(&answer(&titration(&additions, false, portions, share)), &["dose"]));
        let whole = "dilution = { product = \"100 g\", water = \"900 g\" }\nbatch = \"1 kg\"";
        prop_assert_eq!(each, number(&answer(&titration(&additions, false, whole, share)), &["dose"]));
    }
}
