//! Do the intervals of a cohort hold what they say, as often as they say? By simulation, from a distribution with a long tail.
#![allow(clippy::unwrap_used)] // tests may

use evidence::InTurn;
use evidence::bootstrap::Bootstrap;
use evidence::cohort::centile::{centiles, of_repeats, standing};
use evidence::draws::Draws;
use signal::{math, student};

const TRIALS: usize = 1000;

/// Share of trials in which something held.
fn share(holds: impl Fn(&mut Draws) -> bool) -> f64 {
    (0..TRIALS).filter(|t| holds(&mut Draws::new(31, *t))).count() as f64 / TRIALS as f64
}

/// The quantile of a log-normal with σ 0.8.
fn truth(p: f64) -> f64 {
    math::exp(0.8 * student::quantile(p, f64::INFINITY))
}

/// Limits between order statistics hold the true centile in at least 95 % of samples, whatever the distribution.
#[test]
fn centiles_are_held() {
    for (n, p) in [(6, 0.5), (24, 0.5), (24, 0.25), (24, 0.75), (40, 0.9), (80, 0.05)] {
        let held = share(|d| {
            let values: Vec<f64> = (0..n).map(|_| math::exp(0.8 * d.normal())).collect();
            let at = centiles(&values, &[p], 0.95)[0].at;
            at.low <= truth(p) && truth(p) <= at.high
        });
        // 95 % of 1,000, less two and a half standard deviations; not much more than one place of n gives.
        assert!((0.933..=0.995).contains(&held), "{n} {p}: {held}");
    }
}

/// The same for single swings of players with several, by drawing players anew. A value is exp(0.8·(player + swing)/√1.25): a player's
/// own part scatters twice as widely as a swing's.
#[test]
fn centiles_of_repeats_are_held() {
    let how = Bootstrap { resamples: 400, seed: 5, level: 0.95 };
    for (n, p) in [(24, 0.5), (24, 0.25), (40, 0.9)] {
        let held = share(|d| {
            let subjects: Vec<Vec<f64>> = (0..n)
                .map(|k| {
                    let own = d.normal();
                    let swing = |d: &mut Draws| math::exp(0.8 * (own + 0.5 * d.normal()) / 1.25_f64.sqrt());
                    (0..1 + k % 5).map(|_| swing(d)).collect()
                })
                .collect();
            let at = of_repeats(&subjects, &[p], &how, &InTurn)[0].at;
            at.low <= truth(p) && truth(p) <= at.high
        });
        // A percentile bootstrap of few players holds a little less than it says.
        assert!((0.91..=0.985).contains(&held), "{n} {p}: {held}");
    }
}

/// The exact interval of a standing holds the true share at least as often as it says, also for players with repeats, where it is
/// on the wide side.
#[test]
fn standings_are_held() {
    for (n, repeats, p) in
        [(10, 1, 0.5), (24, 1, 0.9), (24, 1, 0.5), (24, 4, 0.9), (24, 4, 0.5), (24, 4, 0.02)]
    {
        let held = share(|d| {
            let subjects: Vec<Vec<f64>> = (0..n)
                .map(|_| {
                    let own = d.normal();
                    let swing = |d: &mut Draws| {
                        if repeats == 1 { own } else { (own + 0.5 * d.normal()) / 1.25_f64.sqrt() }
                    };
                    (0..repeats).map(|_| swing(d)).collect()
                })
                .collect();
            let at = standing(&subjects, student::quantile(p, f64::INFINITY), 0.95).share;
            at.low <= p && p <= at.high
        });
        assert!(held >= 0.933, "{n} {repeats} {p}: {held}");
    }
}
