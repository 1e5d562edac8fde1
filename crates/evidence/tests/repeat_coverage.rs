//! How often the intervals of repeatability hold the truth that the data were made with.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)] // tests may

use evidence::Interval;
use evidence::draws::Draws;
use evidence::repeatability::{Form, Means, Redrawn, Unlike, crossed, icc, levels, nested};

const TRIALS: usize = 1000;

/// Of 1,000 intervals at 95 %, so many hold the truth: 99.9 % of binomial outcomes (927 to 972).
const AS_SAID: std::ops::RangeInclusive<usize> = 927..=972;

fn holds(interval: Interval, truth: f64) -> usize {
    usize::from(interval.low <= truth && truth <= interval.high)
}

/// Standard deviations of subjects, occasions and repeats.
#[derive(Clone, Copy)]
struct Truth {
    subject: f64,
    occasion: f64,
    repeat: f64,
}

fn study(sizes: &[Vec<usize>], truth: Truth, draws: &mut Draws) -> Vec<Vec<Vec<f64>>> {
    sizes
        .iter()
        .map(|occasions| {
            let own = 100.0 + truth.subject * draws.normal();
            occasions
                .iter()
                .map(|n| {
                    let day = own + truth.occasion * draws.normal();
                    (0..*n).map(|_| day + truth.repeat * draws.normal()).collect()
                })
                .collect()
        })
        .collect()
}

fn uneven() -> Vec<Vec<usize>> {
    [
        &[8, 12, 5][..],
        &[10, 6],
        &[9],
        &[4, 15, 10],
        &[12, 12],
        &[7, 5, 8],
        &[10],
        &[6, 14],
        &[11, 9],
        &[5, 5, 5],
    ]
    .map(<[usize]>::to_vec)
    .to_vec()
}

/// What is counted in a trial: name, interval, truth.
type Counted = Vec<(&'static str, Interval, f64)>;

/// Makes data a thousand times and counts how often each interval holds its truth.
fn as_often_as_said(mut made: impl FnMut(&mut Draws, usize) -> Counted) {
    let mut held: Vec<(&'static str, usize)> = Vec::new();
    for trial in 0..TRIALS {
        let found = made(&mut Draws::new(2026, trial), trial);
        held.resize(found.len(), ("", 0));
        for (place, (name, interval, truth)) in held.iter_mut().zip(found) {
            *place = (name, place.1 + holds(interval, truth));
        }
    }
    for (name, held) in held {
        assert!(AS_SAID.contains(&held), "{name}: {held} of {TRIALS}");
    }
}

/// Every figure of three levels.
fn figures(sizes: &[Vec<usize>], truth: Truth) {
    let (o, r) = (truth.occasion * truth.occasion, truth.repeat * truth.repeat);
    let whole = truth.subject * truth.subject + o + r;
    let apart = Means { first: 6, second: 10, one_occasion: false };
    as_often_as_said(|draws, trial| {
        let of = levels(&study(sizes, truth, draws)).unwrap();
        let how = Redrawn { draws: 1000, seed: trial as u64, level: 0.95 };
        vec![
            ("repeats", of.repeats(0.95).sd, truth.repeat),
            ("occasions", of.between_occasions(0.95).sd, truth.occasion),
            ("subjects", of.between_subjects(0.95).sd, truth.subject),
            ("error of a mean", of.error_of_mean(10, 0.95), (o + r / 10.0).sqrt()),
            ("detectable", of.detectable(apart, 0.95), 1.959_964 * (2.0 * o + r / 6.0 + r / 10.0).sqrt()),
            ("means of subjects", of.scatter_of_means(10, 0.95), (whole - r + r / 10.0).sqrt()),
            ("icc", of.icc(&how), truth.subject * truth.subject / whole),
        ]
    });
}

#[test]
fn three_levels_with_even_numbers() {
    figures(&vec![vec![6; 3]; 8], Truth { subject: 10.0, occasion: 3.0, repeat: 6.0 });
}

/// Sessions of 4 to 15 swings, one to three of them a player.
#[test]
fn three_levels_with_uneven_numbers() {
    figures(&uneven(), Truth { subject: 10.0, occasion: 3.0, repeat: 6.0 });
    figures(&uneven(), Truth { subject: 4.0, occasion: 8.0, repeat: 6.0 });
    figures(&uneven(), Truth { subject: 10.0, occasion: 1.0, repeat: 6.0 });
}

/// The six coefficients: twelve subjects under four conditions that shift all of them.
#[test]
fn all_forms_of_the_intraclass_correlation() {
    let (subject, condition, rest) = (8.0_f64, 3.0_f64, 5.0_f64);
    let (s, c, r) = (subject * subject, condition * condition, rest * rest);
    let of_mean = |one: f64| 4.0 * one / (1.0 + 3.0 * one);
    let (agreement, consistency) = (s / (s + c + r), s / (s + r));
    as_often_as_said(|draws, _| {
        let shifts: Vec<f64> = (0..4).map(|_| condition * draws.normal()).collect();
        let rows: Vec<Vec<f64>> = (0..12)
            .map(|_| {
                let own = subject * draws.normal();
                shifts.iter().map(|shift| own + shift + rest * draws.normal()).collect()
            })
            .collect();
        // One-way forms are for conditions that each subject has for itself.
        let own: Vec<Vec<f64>> = (0..12)
            .map(|_| {
                let own = subject * draws.normal();
                (0..4).map(|_| own + rest * draws.normal()).collect()
            })
            .collect();
        let (crossed, apart) = (crossed(&rows).unwrap(), crossed(&own).unwrap());
        vec![
            ("one way, single", icc(&apart, Form::OneWaySingle, 0.95), consistency),
            ("one way, mean", icc(&apart, Form::OneWayMean, 0.95), of_mean(consistency)),
            ("agreement, single", icc(&crossed, Form::AgreementSingle, 0.95), agreement),
            ("agreement, mean", icc(&crossed, Form::AgreementMean, 0.95), of_mean(agreement)),
            ("consistency, single", icc(&crossed, Form::ConsistencySingle, 0.95), consistency),
            ("consistency, mean", icc(&crossed, Form::ConsistencyMean, 0.95), of_mean(consistency)),
        ]
    });
}

/// Two levels with 3 to 15 repeats a subject: the correlation, the error and the least change.
#[test]
fn nested_with_uneven_numbers() {
    let (subject, repeat) = (8.0_f64, 6.0_f64);
    let sizes = [3, 15, 8, 6, 12, 9, 4, 10, 7, 5, 11, 6];
    as_often_as_said(|draws, _| {
        let groups: Vec<Vec<f64>> = sizes
            .iter()
            .map(|n| {
                let own = subject * draws.normal();
                (0..*n).map(|_| own + repeat * draws.normal()).collect()
            })
            .collect();
        let of = nested(&groups).unwrap();
        let error = of.error(0.95);
        vec![
            ("icc", of.icc(0.95), 64.0 / 100.0),
            ("sem", error.sem, repeat),
            ("detectable", error.detectable, 1.959_964 * 2.0_f64.sqrt() * repeat),
        ]
    });
}

/// Where all scatter alike, the test that they do not says so in at most one of twenty: distances from medians of few values
/// make it cautious (BrownForsythe1974 found the same).
#[test]
fn unlike_scatter_is_claimed_falsely_as_often_as_said() {
    let truth = Truth { subject: 10.0, occasion: 3.0, repeat: 6.0 };
    let (mut claims, mut seen) = (0, 0);
    for trial in 0..TRIALS {
        let mut draws = Draws::new(31, trial);
        let data = study(&uneven(), truth, &mut draws);
        claims += usize::from(Unlike::of(&data).unwrap().p <= 0.05);
        // And with one player who scatters four times as much, it nearly always does.
        let mut wild = data;
        for v in wild.iter_mut().take(1).flatten().flatten() {
            *v *= 4.0;
        }
        seen += usize::from(Unlike::of(&wild).unwrap().p <= 0.05);
    }
    assert!((8..=72).contains(&claims), "{claims} of {TRIALS}");
    assert!(seen > 950, "{seen} of {TRIALS}");
}
