//! Values whose truth is known: how often a change is claimed where there is none, and found where there is one.
//! A thousand trials each, from stated seeds; bounds are three standard deviations of a binomial count.
#![allow(missing_docs, clippy::unwrap_used)] // tests may

use evidence::change::{
    Change, Chosen, How, Occasions, Pairing, Value, Verdict, change, design, judged, occasions,
};
use evidence::draws::Draws;
use evidence::permutation::{Permutation, two_groups};
use evidence::{InTurn, effect, mixed};
use signal::{noncentral, stats, student};

const TRIALS: usize = 1000;
const ALPHA: f64 = 0.05;
const HOW: How = How { level: 0.95, resamples: 200, permutations: 1000, seed: 1 };

/// True where a count of [`TRIALS`] is one that a chance of `p` gives.
fn fits(count: usize, p: f64) -> bool {
    let n = TRIALS as f64;
    (count as f64 - n * p).abs() <= 3.0 * (n * p * (1.0 - p)).sqrt()
}

/// `each` values of each of some subjects, who differ by 2 where values differ by 1; occasion by subject and side.
fn side(draws: &mut Draws, own: &[(usize, f64)], each: usize, side: usize, add: f64) -> Vec<Value> {
    own.iter()
        .flat_map(|(subject, level)| {
            (0..each)
                .map(|_| Value {
                    subject: *subject,
                    occasion: 2 * subject + side,
                    instrument: 0,
                    value: level + add + draws.normal(),
                    u: f64::NAN,
                })
                .collect::<Vec<_>>()
        })
        .collect()
}

fn levels(draws: &mut Draws, subjects: std::ops::Range<usize>, sd: f64) -> Vec<(usize, f64)> {
    subjects.map(|s| (s, sd * draws.normal())).collect()
}

fn chosen(a: &[Value], b: &[Value]) -> Chosen {
    let who = |of: &[Value]| of.iter().map(|v| v.subject).collect::<Vec<_>>();
    design(&who(a), &who(b), Pairing::ByData)
}

/// Claims by p alone, and by the whole rule.
fn claims(of: impl Fn(usize) -> Change) -> (usize, usize) {
    let (mut by_p, mut clear) = (0, 0);
    for trial in 0..TRIALS {
        let found = of(trial);
        by_p += usize::from(found.permuted.p <= ALPHA);
        clear += usize::from(judged(&found, found.permuted.p, ALPHA).verdict == Verdict::Clear);
    }
    (by_p, clear)
}

fn compared(a: &[Value], b: &[Value], days: Option<&Occasions>) -> Change {
    change(a, b, &chosen(a, b), days, &HOW, &InTurn)
}

/// Six and six subjects, uneven numbers of values each. Of 924 divisions, 46 have p ≤ 0.05. The same values taken as if each were
/// a subject claim a difference in more than a third of all trials.
#[test]
fn two_groups_without_a_difference() {
    let sets = |trial| {
        let mut draws = Draws::new(1, trial);
        let (of_a, of_b) = (levels(&mut draws, 0..6, 2.0), levels(&mut draws, 6..12, 2.0));
        let mut a = side(&mut draws, &of_a, 3, 0, 0.0);
        a.extend(side(&mut draws, &of_a[..3], 4, 0, 0.0));
        (a, side(&mut draws, &of_b, 5, 1, 0.0))
    };
    let (by_p, clear) = claims(|trial| {
        let (a, b) = sets(trial);
        compared(&a, &b, None)
    });
    assert!(fits(by_p, 46.0 / 924.0), "{by_p}");
    assert!(clear <= by_p && clear > 5, "{clear}");
    let plain = |of: &[Value]| of.iter().map(|v| v.value).collect::<Vec<_>>();
    let naive = (0..TRIALS)
        .filter(|trial| {
            let (a, b) = sets(*trial);
            let how = Permutation { most: 400, seed: 1 };
            two_groups(&plain(&a), &plain(&b), &how, &InTurn).p <= ALPHA
        })
        .count();
    assert!(naive > 6 * TRIALS * 5 / 100, "swings as players: {naive} of {TRIALS}");
}

/// Eight subjects who each change by something of their own, on average not at all. Of 256 sets of signs 12 have p ≤ 0.05.
#[test]
fn pairs_without_a_change() {
    let (by_p, clear) = claims(|trial| {
        let mut draws = Draws::new(2, trial);
        let before = levels(&mut draws, 0..8, 2.0);
        let after: Vec<(usize, f64)> = before.iter().map(|(s, v)| (*s, v + draws.normal())).collect();
        compared(&side(&mut draws, &before, 4, 0, 0.0), &side(&mut draws, &after, 6, 1, 0.0), None)
    });
    assert!(fits(by_p, 12.0 / 256.0), "{by_p}");
    assert!(clear <= by_p && clear > 5, "{clear}");
}

/// One subject, ten values on each of two days that are alike; and on days that differ as much as values do.
#[test]
fn one_subject_without_a_change() {
    let sets = |trial, day: f64| {
        let mut draws = Draws::new(3, trial);
        let (a, b) = (day * draws.normal(), day * draws.normal());
        (side(&mut draws, &[(0, 5.0)], 10, 0, a), side(&mut draws, &[(0, 5.0)], 10, 1, b))
    };
    let alike = claims(|trial| {
        let (a, b) = sets(trial, 0.0);
        compared(&a, &b, None)
    });
    assert!(fits(alike.0, ALPHA) && alike.1 <= alike.0 && alike.1 > 20, "{alike:?}");
    let unknown = claims(|trial| {
        let (a, b) = sets(trial, 1.0);
        compared(&a, &b, None)
    });
    assert!(unknown.1 > TRIALS / 3, "a difference of days is a difference: {unknown:?}");
    // Eight other subjects with two days each tell how far days differ.
    let known = claims(|trial| {
        let mut draws = Draws::new(4, trial);
        let cells: Vec<Vec<Vec<f64>>> = (0..8)
            .map(|_| {
                (0..2)
                    .map(|_| {
                        let day = draws.normal();
                        (0..6).map(|_| day + draws.normal()).collect()
                    })
                    .collect()
            })
            .collect();
        let (a, b) = sets(trial, 1.0);
        compared(&a, &b, Some(&occasions(&cells).unwrap()))
    });
    assert!(known.1 <= 65, "with days in the noise it is no claim: {known:?}");
}

/// Power of the permutation test is that of Student's t to within what trials allow and a hundredth or two; the closed form is
/// the noncentral t (textbook).
#[test]
fn power_is_what_the_closed_form_says() {
    for (n, difference) in [(8_usize, 1.5), (12, 1.0), (12, 1.5), (20, 1.0)] {
        let (by_p, _) = claims(|trial| {
            let mut draws = Draws::new(5, trial);
            let a = side(&mut draws, &[(0, 0.0)], n, 0, 0.0);
            compared(&a, &side(&mut draws, &[(0, 0.0)], n, 0, difference), None)
        });
        let degrees = 2.0 * n as f64 - 2.0;
        let (t, delta) = (student::quantile(0.975, degrees), difference * (n as f64 / 2.0).sqrt());
        let power = noncentral::share_above(t, degrees, delta) + noncentral::share_below(-t, degrees, delta);
        let seen = by_p as f64 / TRIALS as f64;
        let allowed = 3.0 * (power * (1.0 - power) / TRIALS as f64).sqrt() + 0.02;
        assert!((seen - power).abs() < allowed, "{n} {difference}: {seen}, not {power}");
    }
}

/// A true change is called clear about as often as it has power; what is called within noise lies under what would stand out.
#[test]
fn a_true_change_is_seen() {
    let mut clear = 0;
    for trial in 0..TRIALS {
        let mut draws = Draws::new(6, trial);
        let before = levels(&mut draws, 0..10, 2.0);
        let (a, b) = (side(&mut draws, &before, 8, 0, 0.0), side(&mut draws, &before, 8, 1, 1.0));
        let found = compared(&a, &b, None);
        clear += usize::from(judged(&found, found.permuted.p, ALPHA).verdict == Verdict::Clear);
        assert!(found.changes.len() == 10 && found.first.values == 80 && found.mixed.is_some());
    }
    assert!(clear > 940, "{clear}");
}

/// The t of the mixed model: subjects in two groups, with uneven numbers, who differ much, little or not at all.
#[test]
fn a_mixed_model_claims_as_often_as_it_says() {
    for sd in [2.0, 0.3, 0.0] {
        let mut claims = 0;
        for trial in 0..TRIALS {
            let mut draws = Draws::new(7, trial);
            let (mut values, mut who, mut group) = (Vec::new(), Vec::new(), Vec::new());
            for subject in 0..10 {
                let own = sd * draws.normal();
                for _ in 0..2 + subject % 4 {
                    values.push(own + draws.normal());
                    who.push(subject);
                    group.push(f64::from(u8::from(subject >= 5)));
                }
            }
            let found = mixed::random_intercept(&values, &who, &[group], 0.95).unwrap();
            claims += usize::from(found.terms.last().unwrap().p <= ALPHA);
        }
        // Where subjects hardly differ, Satterthwaite's degrees are too few rather than too many.
        let most = if sd > 1.0 { fits(claims, ALPHA) } else { claims <= 71 };
        assert!(most && claims > 15, "{sd}: {claims}");
    }
}

/// Intervals of effect sizes cover the truth as often as they say, and Hedges' g is right on average.
#[test]
fn effects_cover_their_truth() {
    let (mut groups, mut of_changes, mut average) = (0, 0, 0);
    let (mut g, mut av) = (Vec::new(), Vec::new());
    // Pairs whose two sides correlate by 0.6: changes have the variance 2 − 1.2.
    let (r, truth) = (0.6_f64, 0.8);
    let z_truth = truth / (2.0 - 2.0 * r).sqrt();
    for trial in 0..TRIALS {
        let mut draws = Draws::new(8, trial);
        let a: Vec<f64> = (0..9).map(|_| draws.normal()).collect();
        let b: Vec<f64> = (0..7).map(|_| truth + draws.normal()).collect();
        let found = effect::two_groups(&a, &b, 0.95);
        groups += usize::from(found.g.low <= truth && truth <= found.g.high);
        g.push(found.g.value);
        let after: Vec<f64> =
            a.iter().map(|v| truth + r * v + (1.0 - r * r).sqrt() * draws.normal()).collect();
        let found = effect::pairs(&a, &after, 0.95);
        let z = found.of_changes.g;
        of_changes += usize::from(z.low <= z_truth && z_truth <= z.high);
        average += usize::from(found.average.g.low <= truth && truth <= found.average.g.high);
        av.push(found.average.g.value);
    }
    assert!(fits(groups, 0.95) && fits(of_changes, 0.95), "exact: {groups} {of_changes}");
    assert!((920..=975).contains(&average), "nearly right: {average}");
    for (of, what) in [(&g, "groups"), (&av, "pairs")] {
        let unsure = 3.0 * stats::standard_deviation(of) / (TRIALS as f64).sqrt();
        assert!((stats::mean(of) - truth).abs() < unsure, "{what}: {}", stats::mean(of));
    }
}
