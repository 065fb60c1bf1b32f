//! Monotone interpolation against a general-purpose library, whose output `monotone_curves.py` recorded (scipy 1.17.1, PchipInterpolator).

use tarebook::compute::Pchip;

/// 80 values on eight curves, and the places of 18 values: uneven spacing, levels, peaks, ends that turn, two and three points. Values agree within a
/// billionth of the height of the curve, places within a billionth of its length.
#[test]
fn a_numerical_library_agrees() {
    let (mut n_values, mut n_places) = (0, 0);
    for row in include_str!("monotone_curves.csv").lines().skip(1) {
        let [_, points, kind, given, found] = row.split(',').collect::<Vec<_>>().try_into().unwrap();
        let number = |text: &str| text.parse::<f64>().unwrap();
        let points: Vec<(f64, f64)> =
            points.split(' ').map(|pair| pair.split_once(':').unwrap()).map(|(x, y)| (number(x), number(y))).collect();
        let curve = Pchip::new(&points).unwrap();
        let spread = |of: fn(&(f64, f64)) -> f64| {
            let all = || points.iter().map(of);
            all().fold(f64::MIN, f64::max) - all().fold(f64::MAX, f64::min)
        };
        if kind == "at" {
            n_values += 1;
            let off = (curve.at(number(given)).unwrap() - number(found)).abs();
            assert!(off <= spread(|point| point.1) * 1e-9, "{row}: {off} off");
        } else {
            let places: Vec<f64> = curve.crossings(number(given)).iter().map(|one| one.middle()).collect();
            let expected: Vec<f64> = found.split(' ').map(number).collect();
            assert_eq!(places.len(), expected.len(), "{row}: {places:?}");
            for (place, expected) in places.iter().zip(expected) {
                n_places += 1;
                assert!((place - expected).abs() <= spread(|point| point.0) * 1e-9, "{row}: {place}");
            }
        }
    }
    assert!(n_values >= 80 && n_places >= 25, "{n_values} {n_places}");
}
