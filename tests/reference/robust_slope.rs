//! The slope that bad readings do not move, against its author's example and against a statistics library.

use super::d;
use tarebook::compute::RobustSlope;
use tarebook::quantity::Decimal;

/// Points written as "x y;x y".
fn points(text: &str) -> Vec<(Decimal, Decimal)> {
    let point = |pair: &str| pair.split_once(' ').map(|(x, y)| (d(x), d(y))).unwrap();
    text.split(';').map(point).collect()
}

#[track_caller]
fn check(series: &str, slope: &str, intercept: &str, low: &str, high: &str) {
    let found = RobustSlope::of(&points(series)).unwrap();
    let pairs = [
        ("slope", found.slope.over(Decimal::ONE), slope),
        ("intercept", found.intercept(), intercept),
        ("low", found.low.over(Decimal::ONE), low),
        ("high", found.high.over(Decimal::ONE), high),
    ];
    for (name, value, expected) in pairs {
        let expected = d(expected);
        let half_unit = Decimal::new(5, expected.scale() + 1);
        assert!((value - expected).abs() <= half_unit, "{series}: {name} is {value}, expected {expected}");
    }
}

/// P. K. Sen, Estimates of the regression coefficient based on Kendall's tau, Journal of the American Statistical Association 63 (1968) 1379–1389, the numerical
/// example: seven points, slope 4, interval from 26/7 to 35/8 (there at 93 % by the exact distribution; from memory, and the same by the library below).
#[test]
fn the_example_of_sen() {
    check("1 9;2 15;3 19;4 20;10 45;12 55;18 78", "4", "4", "3.7142857143", "4.375");
    let found = RobustSlope::of(&points("1 9;2 15;3 19;4 20;10 45;12 55;18 78")).unwrap();
    assert_eq!(found.high.over(d("8")), d("35"));
    assert!(found.is_seen());
}

/// scipy 1.17.1 (scipy.org, BSD licence), `scipy.stats.theilslopes(y, x)` at its 95 %, `method="separate"`: slope, intercept, interval, as it printed them. The data are
/// made up.
#[test]
fn the_same_as_a_statistics_library() {
    // A pH read to 0.01 that falls in the warm.
    let warm = "1 4.86;7 4.84;14 4.82;28 4.79;42 4.74;56 4.70;84 4.65";
    check(warm, "-0.0028571429", "4.87000000", "-0.0030769231", "-0.0023809524");
    // A level pH with many ties.
    check(
        "0 4.85;7 4.85;14 4.86;28 4.85;56 4.86;84 4.85",
        "0.0000000000",
        "4.85000000",
        "-0.0001428571",
        "0.0003571429",
    );
    // One reading far off.
    check(
        "0 3200;7 3150;14 9900;28 3050;42 2980;56 2900;70 2850;84 2790",
        "-4.9404761905",
        "3187.91666667",
        "-7.1428571429",
        "-4.5238095238",
    );
    // Two readings on one day.
    check(
        "0 5.02;0 5.04;7 5.01;14 4.99;28 4.97;28 4.98;56 4.93;84 4.90",
        "-0.0015178571",
        "5.01687500",
        "-0.0021428571",
        "-0.0014285714",
    );
    // Five readings, the least of a drift.
    check("0 100.0;7 99.6;14 99.1;21 98.9;28 98.2", "-0.0642857143", "100.00000000", "-0.1000000000", "-0.0285714286");
    // Scatter without a trend.
    let scatter = "0 12;5 9;10 14;15 11;20 8;25 13;30 12;35 10;40 11";
    check(scatter, "-0.0375000000", "11.75000000", "-0.1600000000", "0.1500000000");
    assert!(!RobustSlope::of(&points(scatter)).unwrap().is_seen());
}

/// M. G. Kendall, Rank Correlation Methods: of the 24 orders of four readings one rises throughout and one falls, 8.3 %; of the 120 of five, 1.7 % (general
/// combinatorics). So four readings exclude no standstill at 95 %, and five can.
#[test]
fn four_readings_are_too_few_and_five_are_not() {
    assert_eq!(tarebook::compute::LEAST_READINGS, 5);
    let orders = |n: u32| (1..=n).product::<u32>();
    assert!(f64::from(2) / f64::from(orders(4)) > 0.05);
    assert!(f64::from(2) / f64::from(orders(5)) < 0.05);
}

/// By hand: readings on the days 1, 8, 15, 29 and 43 whose slopes have the median −0.03 in 14 days. In a week that is exactly half of it; a slope for each day, rounded
/// before it is multiplied, would miss the half and round the other way.
#[test]
fn no_digit_is_lost_between_a_day_and_a_week() {
    let found = RobustSlope::of(&points("1 5.22;8 5.20;15 5.19;29 5.16;43 5.13")).unwrap();
    assert_eq!(found.slope.over(d("7")), d("-0.015"));
}
