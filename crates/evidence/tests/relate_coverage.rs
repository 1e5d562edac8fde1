//! How often the intervals of associations hold the truth, and how often an association is claimed where there is none.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)] // tests may

use evidence::association::{between, slopes_differ, within};
use evidence::bootstrap::Bootstrap;
use evidence::draws::Draws;
use evidence::permutation::Permutation;
use evidence::{InTurn, Interval};

const TRIALS: usize = 1000;

/// Of 1,000 intervals at 95 %, so many hold the truth: 99.9 % of binomial outcomes (927 to 972).
const AS_SAID: std::ops::RangeInclusive<usize> = 927..=972;

/// Of 1,000 claims at 5 %, so many are false: 99.9 % of binomial outcomes (28 to 73).
const FALSELY: std::ops::RangeInclusive<usize> = 28..=73;

fn holds(interval: Interval, truth: f64) -> usize {
    usize::from(interval.low <= truth && truth <= interval.high)
}

/// Two quantities of players on days: how they go together between players and from swing to swing.
#[derive(Clone, Copy)]
struct Truth {
    between: f64,
    within: f64,
    /// Scatter from day to day, of each for itself.
    day: f64,
}

/// Normal pairs with a correlation.
fn pair(r: f64, draws: &mut Draws) -> (f64, f64) {
    let (x, e) = (draws.normal(), draws.normal());
    (x, r * x + (1.0 - r * r).sqrt() * e)
}

fn study(players: usize, truth: Truth, draws: &mut Draws) -> Vec<Vec<Vec<(f64, f64)>>> {
    (0..players)
        .map(|k| {
            let (px, py) = pair(truth.between, draws);
            (0..1 + k % 3)
                .map(|_| {
                    let (dx, dy) = (truth.day * draws.normal(), truth.day * draws.normal());
                    (0..5 + k % 4)
                        .map(|_| {
                            let (x, y) = pair(truth.within, draws);
                            (3.0 * px + dx + x, 3.0 * py + dy + y)
                        })
                        .collect()
                })
                .collect()
        })
        .collect()
}

fn together(study: &[Vec<Vec<(f64, f64)>>]) -> Vec<Vec<(f64, f64)>> {
    study.iter().map(|s| s.concat()).collect()
}

fn boot(resamples: usize, trial: usize) -> Bootstrap {
    Bootstrap { resamples, seed: trial as u64, level: 0.95 }
}

#[test]
fn intervals_within() {
    let truth = Truth { between: -0.6, within: 0.5, day: 2.0 };
    let (mut r, mut slope, mut again) = (0, 0, 0);
    for trial in 0..TRIALS {
        let data = study(14, truth, &mut Draws::new(8, trial));
        let found = within(&data, &boot(400, trial), &InTurn).unwrap();
        r += holds(found.linear.r, truth.within);
        slope += holds(found.slope, truth.within);
        again += holds(found.slope_again, truth.within);
    }
    assert!(AS_SAID.contains(&r) && AS_SAID.contains(&slope), "{r} {slope}");
    // Fourteen players drawn again: the bootstrap is known to be some hundredths short.
    assert!((890..=970).contains(&again), "{again}");
}

/// Means of players: their scatter holds a little of that of swings, so the truth is that of pairs of means.
#[test]
fn intervals_between() {
    let (mut r, mut rank, mut slope, mut again) = (0, 0, 0, 0);
    for trial in 0..TRIALS {
        let mut draws = Draws::new(9, trial);
        let data: Vec<Vec<(f64, f64)>> = (0..16).map(|_| vec![pair(0.6, &mut draws)]).collect();
        let none = Permutation { most: 1, seed: 1 };
        let found = between(&data, &boot(400, trial), &none, &InTurn).unwrap();
        r += holds(found.linear.r, 0.6);
        // Of a normal pair: 6/π·arcsin(r/2).
        rank += holds(found.rank.r, 0.581_7);
        slope += holds(found.slope, 0.6);
        again += holds(found.slope_again, 0.6);
    }
    assert!(AS_SAID.contains(&r) && AS_SAID.contains(&slope), "{r} {slope}");
    assert!((915..=980).contains(&rank), "{rank}");
    assert!((890..=970).contains(&again), "{again}");
}

/// Nothing goes with anything, and players and days scatter: swings are not mistaken for players, nor days for swings.
#[test]
fn nothing_is_claimed_falsely_more_often_than_said() {
    let truth = Truth { between: 0.0, within: 0.0, day: 2.0 };
    let (mut linear, mut rank, mut inner, mut pooled, mut differ) = (0, 0, 0, 0, 0);
    for trial in 0..TRIALS {
        let data = study(12, truth, &mut Draws::new(10, trial));
        let how = boot(1, trial);
        let permutation = Permutation { most: 499, seed: trial as u64 };
        let outer = between(&together(&data), &how, &permutation, &InTurn).unwrap();
        linear += usize::from(outer.linear.p <= 0.05);
        rank += usize::from(outer.rank.p <= 0.05);
        let found = within(&data, &how, &InTurn).unwrap();
        inner += usize::from(found.linear.p <= 0.05);
        let apart = slopes_differ(
            (outer.slope.value, outer.slope_error, outer.linear.degrees),
            (found.slope.value, found.slope_error, found.degrees),
            0.95,
        );
        differ += 1 - holds(apart, 0.0);
        // What happens where days count as swings of one heap.
        let days = together(&data).into_iter().map(|s| vec![s]).collect::<Vec<_>>();
        pooled += usize::from(within(&days, &how, &InTurn).unwrap().linear.p <= 0.05);
    }
    assert!(FALSELY.contains(&linear) && FALSELY.contains(&rank), "{linear} {rank}");
    assert!(FALSELY.contains(&inner) && FALSELY.contains(&differ), "{inner} {differ}");
    assert!(pooled > 150, "days count here, so that occasions must be kept apart: {pooled}");
}

/// What goes together between players only, or within them only, is found there and not claimed elsewhere.
#[test]
fn each_part_is_found_where_it_is() {
    let count = |truth: Truth| {
        let (mut outer, mut inner) = (0, 0);
        for trial in 0..200 {
            let data = study(14, truth, &mut Draws::new(11, trial));
            let how = boot(1, trial);
            let none = Permutation { most: 1, seed: 1 };
            let found = between(&together(&data), &how, &none, &InTurn).unwrap();
            outer += usize::from(found.linear.p <= 0.05);
            inner += usize::from(within(&data, &how, &InTurn).unwrap().linear.p <= 0.05);
        }
        (outer, inner)
    };
    let (outer, inner) = count(Truth { between: 0.9, within: 0.0, day: 0.5 });
    assert!(outer > 190 && inner < 25, "{outer} {inner}");
    let (outer, inner) = count(Truth { between: 0.0, within: 0.6, day: 0.5 });
    assert!(outer < 25 && inner > 190, "{outer} {inner}");
}

/// Subjects who follow slopes of their own, about nothing on the whole: pairs taken as independent claim far too often, subjects as
/// often as they say.
#[test]
fn slopes_of_their_own() {
    for (players, swings) in [(10, 12), (24, 6)] {
        let (mut of_pairs, mut of_subjects) = (0, 0);
        for trial in 0..TRIALS {
            let mut draws = Draws::new(31, trial);
            let data: Vec<Vec<Vec<(f64, f64)>>> = (0..players)
                .map(|_| {
                    let slope = 0.5 * draws.normal();
                    let swing = |_| {
                        let x = draws.normal();
                        (x, slope * x + draws.normal())
                    };
                    vec![(0..swings).map(swing).collect()]
                })
                .collect();
            let found = within(&data, &boot(2, trial), &InTurn).unwrap();
            of_pairs += usize::from(found.linear.p <= 0.05);
            of_subjects += usize::from(found.p <= 0.05);
        }
        assert!(of_pairs > 100, "{players}: {of_pairs}");
        assert!((20..=73).contains(&of_subjects), "{players}: {of_subjects}");
    }
}
