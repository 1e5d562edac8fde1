//! How often limits of agreement and their intervals hold what they say they hold.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)] // tests may

use evidence::Interval;
use evidence::agreement::{agreement, repeated, trend};
use evidence::draws::Draws;

const TRIALS: usize = 1000;

/// Of 1,000 intervals at 95 %, so many hold the truth: 99.9 % of binomial outcomes (927 to 972).
const AS_SAID: std::ops::RangeInclusive<usize> = 927..=972;

fn holds(interval: Interval, truth: f64) -> usize {
    usize::from(interval.low <= truth && truth <= interval.high)
}

/// Twelve subjects with 2 to 12 pairs: bias 2, scatter of subjects 3 and of pairs 4, so that single differences scatter by 5.
fn pairs(draws: &mut Draws) -> Vec<Vec<(f64, f64)>> {
    [2, 5, 8, 3, 12, 6, 4, 9, 7, 2, 5, 10]
        .map(|n| {
            let (size, own) = (100.0 + 20.0 * draws.normal(), 2.0 + 3.0 * draws.normal());
            (0..n)
                .map(|_| {
                    let (true_size, d) = (size + 6.0 * draws.normal(), own + 4.0 * draws.normal());
                    (true_size + 0.5 * d, true_size - 0.5 * d)
                })
                .collect()
        })
        .to_vec()
}

#[test]
fn limits_of_repeated_pairs() {
    let (mut bias, mut lower, mut upper, mut trends) = (0, 0, 0, [0, 0]);
    for trial in 0..TRIALS {
        let found = repeated(&pairs(&mut Draws::new(21, trial)), 0.95).unwrap();
        bias += holds(found.bias, 2.0);
        lower += holds(found.lower, 2.0 - 1.959_964 * 5.0);
        upper += holds(found.upper, 2.0 + 1.959_964 * 5.0);
        trends[0] += usize::from(found.bias_trend.p <= 0.05);
        trends[1] += usize::from(found.scatter_trend.p <= 0.05);
    }
    assert!(AS_SAID.contains(&bias), "{bias}");
    assert!(AS_SAID.contains(&lower) && AS_SAID.contains(&upper), "{lower} {upper}");
    // Nothing grows, and this is claimed in one of twenty: 99.9 % of binomial outcomes.
    assert!(trends.iter().all(|n| (28..=73).contains(n)), "{trends:?}");
}

/// Twenty single pairs: the published standard error is a rough one, and nearly right.
#[test]
fn limits_of_single_pairs() {
    let (mut bias, mut lower, mut upper, mut grows) = (0, 0, 0, 0);
    for trial in 0..TRIALS {
        let mut draws = Draws::new(22, trial);
        let of: Vec<(f64, f64)> = (0..20)
            .map(|_| {
                let (size, d) = (100.0 + 20.0 * draws.normal(), 2.0 + 5.0 * draws.normal());
                (size + 0.5 * d, size - 0.5 * d)
            })
            .collect();
        let (a, b): (Vec<f64>, Vec<f64>) = of.into_iter().unzip();
        let found = agreement(&a, &b, 0.95).unwrap();
        bias += holds(found.bias, 2.0);
        lower += holds(found.lower, 2.0 - 1.959_964 * 5.0);
        upper += holds(found.upper, 2.0 + 1.959_964 * 5.0);
        grows += usize::from(found.scatter_trend.p <= 0.05);
    }
    assert!(AS_SAID.contains(&bias), "{bias}");
    assert!((915..=980).contains(&lower) && (915..=980).contains(&upper), "{lower} {upper}");
    assert!((28..=80).contains(&grows), "{grows}");
}

/// Scatter that is a tenth of the size, and a bias that is a twentieth: seen, and the limits at both ends follow it.
#[test]
fn what_grows_is_seen() {
    let (mut seen, mut biased, mut at_ends) = (0, 0, [0.0, 0.0]);
    for trial in 0..200 {
        let mut draws = Draws::new(23, trial);
        let (a, b): (Vec<f64>, Vec<f64>) = (0..60)
            .map(|k| {
                let size = 50.0 + 200.0 * f64::from(k) / 59.0;
                let d = size * (0.05 + 0.1 * draws.normal());
                (size + 0.5 * d, size - 0.5 * d)
            })
            .unzip();
        let found = agreement(&a, &b, 0.95).unwrap();
        seen += usize::from(found.scatter_trend.p <= 0.05);
        biased += usize::from(found.bias_trend.p <= 0.05);
        for (sum, size) in at_ends.iter_mut().zip([50.0, 250.0]) {
            let (low, high) = found.limits_at(size);
            *sum += 0.5 * (high - low) / 200.0;
        }
    }
    assert!(seen > 180 && biased > 40, "{seen} {biased}");
    // 1.96 times a tenth of 50 and of 250.
    assert!((at_ends[0] - 9.8).abs() < 1.5 && (at_ends[1] - 49.0).abs() < 2.0, "{at_ends:?}");
}

/// scipy 1.17.1, linregress of ten pairs: slope 0.79545455 with its error 0.14060635, p 4.7735855e-4.
#[test]
fn a_line_as_scipy_has_it() {
    let points =
        [(1., 2.), (2., 1.), (2., 4.), (3., 4.), (5., 3.), (5., 7.), (5., 6.), (8., 8.), (9., 8.), (10., 9.)];
    let found = trend(&points, 0.95);
    assert!((found.slope.value - 0.795_454_55).abs() < 1e-8 && (found.p - 4.773_585_5e-4).abs() < 1e-10);
    assert!((found.slope.high - found.slope.value - 2.306_004_1 * 0.140_606_35).abs() < 1e-7);
    assert!(trend(&points[..2], 0.95).p.is_nan());
}
