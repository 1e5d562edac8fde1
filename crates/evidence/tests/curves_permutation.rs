//! Permutation tests of curves against going through every rearrangement one by one, with the statistic written out.
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

use evidence::curves::{By, Comparison, CurveTest, NoTest, Rule, Tails, by_permutation};
use evidence::permutation::Permutation;
use evidence::{InTurn, Spread};

const ALL: Permutation = Permutation { most: 100_000, seed: 1 };

fn rule(alpha: f64, tails: Tails) -> Rule {
    Rule { alpha, tails }
}

fn exactly(of: &Comparison, rule: Rule) -> (CurveTest, usize) {
    let test = by_permutation(of, rule, &ALL, &InTurn).unwrap();
    match test.by {
        By::Permutation { looked_at, exact: true, .. } => (test, looked_at),
        other => panic!("{other:?}"),
    }
}

fn mean(x: &[f64]) -> f64 {
    x.iter().sum::<f64>() / x.len() as f64
}

fn squares(x: &[f64]) -> f64 {
    let m = mean(x);
    x.iter().map(|v| (v - m) * (v - m)).sum()
}

/// Student's t of two columns.
fn student(a: &[f64], b: &[f64]) -> f64 {
    let (n, m) = (a.len() as f64, b.len() as f64);
    let pooled = (squares(a) + squares(b)) / (n + m - 2.0);
    (mean(a) - mean(b)) / (pooled * (1.0 / n + 1.0 / m)).sqrt()
}

fn welch(a: &[f64], b: &[f64]) -> f64 {
    let (n, m) = (a.len() as f64, b.len() as f64);
    (mean(a) - mean(b)) / (squares(a) / (n * (n - 1.0)) + squares(b) / (m * (m - 1.0))).sqrt()
}

fn one_sample(x: &[f64]) -> f64 {
    let n = x.len() as f64;
    mean(x) / (squares(x) / (n * (n - 1.0))).sqrt()
}

fn one_way(sets: &[Vec<f64>]) -> f64 {
    let all = sets.concat();
    let within: f64 = sets.iter().map(|s| squares(s)).sum();
    let (k, n) = (sets.len() as f64, all.len() as f64);
    ((squares(&all) - within) / (k - 1.0)) / (within / (n - k))
}

/// Sets as columns, rows the units: error is what is left beside means of sets and units.
fn repeated(sets: &[Vec<f64>]) -> f64 {
    let (k, n) = (sets.len() as f64, sets[0].len() as f64);
    let grand = mean(&sets.concat());
    let unit = |u: usize| sets.iter().map(|s| s[u]).sum::<f64>() / k;
    let between: f64 = sets.iter().map(|s| n * (mean(s) - grand).powi(2)).sum();
    let error: f64 = sets
        .iter()
        .flat_map(|s| {
            s.iter().enumerate().map(|(u, v)| (v - mean(s) - unit(u) + grand).powi(2)).collect::<Vec<_>>()
        })
        .sum();
    (between / (k - 1.0)) / (error / ((k - 1.0) * (n - 1.0)))
}

fn line(x: &[f64], y: &[f64]) -> f64 {
    let (mx, my) = (mean(x), mean(y));
    let slope = x.iter().zip(y).map(|(a, b)| (a - mx) * (b - my)).sum::<f64>() / squares(x);
    let rest: f64 = x.iter().zip(y).map(|(a, b)| (b - my - slope * (a - mx)).powi(2)).sum();
    slope / (rest / (x.len() as f64 - 2.0) / squares(x)).sqrt()
}

/// Every order of so many things, the one in which they stand first.
fn orders(n: usize) -> Vec<Vec<usize>> {
    if n == 0 {
        return vec![vec![]];
    }
    let put = |order: Vec<usize>| {
        (0..n).rev().map(move |k| {
            let mut longer = order.clone();
            longer.insert(k, n - 1);
            longer
        })
    };
    orders(n - 1).into_iter().flat_map(put).collect()
}

/// What a test must say when these curves of statistics are all that can come, the first being what came. The first two of their four
/// nodes are one stretch, the last two another.
fn held(test: &CurveTest, curves: &[Vec<f64>], alpha: f64, both: bool) {
    let height = |c: &[f64]| c.iter().map(|v| if both { v.abs() } else { *v }).fold(f64::MIN, f64::max);
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9 * (1.0 + b.abs()), "{a} {b}");
    for (q, v) in curves[0].iter().enumerate() {
        near(test.statistic[if q < 2 { q } else { q + 1 }], *v);
    }
    assert!(test.statistic[2].is_nan());
    let mut heights: Vec<f64> = curves.iter().map(|c| height(c)).collect();
    let count = heights.len() as f64;
    let as_high = heights.iter().filter(|h| **h >= heights[0] * (1.0 - 1e-9)).count() as f64;
    near(test.p, as_high / count);
    heights.sort_by(|a, b| b.total_cmp(a));
    let threshold = heights[(alpha * count + 1e-9) as usize];
    assert!((test.threshold - threshold).abs() < 1e-6 * (1.0 + threshold), "{} {threshold}", test.threshold);
    // Trapezoids of what stands out, each stretch and each side apart.
    let mass = |c: &[f64]| {
        let out = |v: f64, sign: f64| (sign * v - test.threshold).max(0.0);
        let of =
            |sign: f64| c.chunks(2).map(|s| 0.5 * (out(s[0], sign) + out(s[1], sign))).fold(0.0, f64::max);
        if both { of(1.0).max(of(-1.0)) } else { of(1.0) }
    };
    assert_eq!(test.clusters.is_empty(), height(&curves[0]) <= test.threshold);
    for cluster in &test.clusters {
        let more = curves.iter().filter(|c| mass(c) >= cluster.mass * (1.0 - 1e-9)).count() as f64;
        near(cluster.p, more / count);
    }
}

/// Four nodes, a gap between the second and the third.
fn rows(numbers: &[[f64; 4]]) -> Vec<Vec<f64>> {
    numbers.iter().map(|n| vec![n[0], n[1], f64::NAN, n[2], n[3]]).collect()
}

const TEN: [[f64; 4]; 10] = [
    [8.1, 7.0, 2.3, 1.0],
    [9.0, 8.3, 1.9, 2.2],
    [7.7, 9.1, 3.5, 2.9],
    [8.9, 7.9, 2.8, 0.7],
    [9.6, 8.8, 1.1, 1.8],
    [4.3, 5.1, 2.0, 3.4],
    [5.2, 4.0, 2.6, 1.3],
    [3.1, 6.2, 4.1, 2.5],
    [4.9, 5.5, 0.9, 0.2],
    [6.3, 4.4, 1.7, 3.9],
];

fn column(of: &[[f64; 4]], q: usize) -> Vec<f64> {
    of.iter().map(|r| r[q]).collect()
}

#[test]
fn two_groups() {
    let (a, b) = (rows(&TEN[..4]), rows(&TEN[4..]));
    let splits: Vec<Vec<usize>> = (0_u32..1 << 10)
        .filter(|s| s.count_ones() == 4)
        .map(|s| (0..10).filter(|k| s >> k & 1 == 1).collect::<Vec<usize>>())
        .collect();
    let curve = |split: &Vec<usize>| -> Vec<f64> {
        let pick = |q: usize, inside: bool| -> Vec<f64> {
            (0..10).filter(|k| split.contains(k) == inside).map(|k| TEN[k][q]).collect()
        };
        (0..4).map(|q| student(&pick(q, true), &pick(q, false))).collect()
    };
    for (tails, both) in [(Tails::Both, true), (Tails::Above, false)] {
        for alpha in [0.05, 0.2] {
            // The first split is the first four.
            let all: Vec<_> = splits.iter().map(curve).collect();
            let (test, count) = exactly(&Comparison::TwoGroups(&a, &b), rule(alpha, tails));
            assert_eq!(count, 210);
            held(&test, &all, alpha, both);
            // Turned round, the larger group first.
            let all: Vec<_> =
                splits.iter().map(|s| curve(s).iter().map(|v| -v).collect::<Vec<_>>()).collect();
            held(&exactly(&Comparison::TwoGroups(&b, &a), rule(alpha, tails)).0, &all, alpha, both);
        }
    }
}

/// Each group's residuals keep or turn their signs; what happened joins them.
#[test]
fn welch_by_signs_of_residuals() {
    let twelve: Vec<[f64; 4]> = [&TEN[..], &[[7.5, 6.1, 1.2, 2.0], [5.9, 7.2, 3.3, 3.1]]].concat();
    let t = |rows: &[Vec<f64>]| -> Vec<f64> {
        let pick = |part: &[Vec<f64>], q: usize| part.iter().map(|r| r[q]).collect::<Vec<_>>();
        (0..4).map(|q| welch(&pick(&rows[..6], q), &pick(&rows[6..], q))).collect()
    };
    let happened: Vec<Vec<f64>> = twelve.iter().map(|r| r.to_vec()).collect();
    let off = |k: usize, q: usize| {
        let group = if k < 6 { &happened[..6] } else { &happened[6..] };
        happened[k][q] - mean(&group.iter().map(|r| r[q]).collect::<Vec<_>>())
    };
    let mut all = vec![t(&happened)];
    all.extend((0_u32..1 << 12).map(|s| {
        let sign = |k: usize| if s >> k & 1 == 1 { -1.0 } else { 1.0 };
        t(&(0..12).map(|k| (0..4).map(|q| sign(k) * off(k, q)).collect()).collect::<Vec<_>>())
    }));
    let (a, b) = (rows(&twelve[..6]), rows(&twelve[6..]));
    for (tails, both) in [(Tails::Both, true), (Tails::Above, false)] {
        for alpha in [0.05, 0.2] {
            let (test, count) = exactly(&Comparison::Welch(&a, &b), rule(alpha, tails));
            assert_eq!(count, 4097);
            held(&test, &all, alpha, both);
        }
    }
    let few = by_permutation(&Comparison::Welch(&a, &b[..5]), rule(0.05, Tails::Both), &ALL, &InTurn);
    assert_eq!(few.unwrap_err(), NoTest::TooFew { set: 1, has: 5, needs: 6 });
}

#[test]
fn signs() {
    let all: Vec<Vec<f64>> = (0_u32..32)
        .map(|s| {
            let sign = |k: usize| if s >> k & 1 == 1 { -1.0 } else { 1.0 };
            let difference =
                |q: usize| -> Vec<f64> { (0..5).map(|k| sign(k) * (TEN[k][q] - TEN[k + 5][q])).collect() };
            (0..4).map(|q| one_sample(&difference(q))).collect()
        })
        .collect();
    let (a, b) = (rows(&TEN[..5]), rows(&TEN[5..]));
    for (tails, both) in [(Tails::Both, true), (Tails::Above, false)] {
        let (test, count) = exactly(&Comparison::Pairs(&a, &b), rule(0.2, tails));
        assert_eq!(count, 32);
        held(&test, &all, 0.2, both);
    }
}

#[test]
fn regression() {
    let number = [3.0, 1.0, 4.0, 1.5, 9.0];
    let all: Vec<Vec<f64>> = orders(5)
        .into_iter()
        .map(|order| {
            let x: Vec<f64> = order.iter().map(|k| number[*k]).collect();
            (0..4).map(|q| line(&x, &column(&TEN[3..8], q))).collect()
        })
        .collect();
    let five = rows(&TEN[3..8]);
    let (test, count) = exactly(&Comparison::Regression(&five, &number), rule(0.2, Tails::Both));
    assert_eq!(count, 120);
    held(&test, &all, 0.2, true);
}

#[test]
fn one_way_by_labels() {
    let seven: Vec<[f64; 4]> = [&TEN[..2], &TEN[3..6], &TEN[8..]].concat();
    // Orders within a set are the same split, 2!·3!·2! times each: shares are the same.
    let all: Vec<Vec<f64>> = orders(7)
        .into_iter()
        .map(|order| {
            let of = |q: usize| -> Vec<Vec<f64>> {
                let pick = |part: &[usize]| part.iter().map(|k| seven[*k][q]).collect();
                vec![pick(&order[..2]), pick(&order[2..5]), pick(&order[5..])]
            };
            (0..4).map(|q| one_way(&of(q))).collect()
        })
        .collect();
    let sets = [rows(&TEN[..2]), rows(&TEN[3..6]), rows(&TEN[8..])];
    let sets: Vec<&[Vec<f64>]> = sets.iter().map(Vec::as_slice).collect();
    let (test, count) = exactly(&Comparison::Groups(&sets), rule(0.1, Tails::Both));
    assert_eq!((count, all.len()), (210, 5040));
    held(&test, &all, 0.1, false);
}

#[test]
fn repeated_within_units() {
    let columns = [&TEN[..3], &TEN[3..6], &TEN[6..9]];
    let sets: Vec<Vec<Vec<f64>>> = columns.iter().map(|c| rows(c)).collect();
    let sets: Vec<&[Vec<f64>]> = sets.iter().map(Vec::as_slice).collect();
    let three = orders(3);
    let mut all = Vec::new();
    for a in &three {
        for b in &three {
            for c in &three {
                let of = |q: usize| -> Vec<Vec<f64>> {
                    let unit = |s: usize| {
                        [a, b, c].iter().enumerate().map(|(u, o)| columns[o[s]][u][q]).collect::<Vec<_>>()
                    };
                    (0..3).map(unit).collect()
                };
                all.push((0..4).map(|q| repeated(&of(q))).collect::<Vec<_>>());
            }
        }
    }
    let (test, count) = exactly(&Comparison::Repeated(&sets), rule(0.2, Tails::Both));
    assert_eq!(count, 216);
    held(&test, &all, 0.2, false);
}

/// By hand: of the 20 ways to split six curves into threes, two are as far apart as 1 2 3 and 4 5 6; at 5 % none can pass.
#[test]
fn too_few_rearrangements_have_no_threshold() {
    let curve = |v: f64| vec![v, v];
    let (a, b): (Vec<_>, Vec<_>) = ([1., 2., 3.].map(curve).to_vec(), [4., 5., 6.].map(curve).to_vec());
    let (test, count) = exactly(&Comparison::TwoGroups(&a, &b), rule(0.05, Tails::Both));
    assert_eq!((count, test.p, test.threshold, test.clusters.len()), (20, 0.1, f64::INFINITY, 0));
    assert!(matches!(test.by, By::Permutation { least_p, .. } if least_p == 0.1));
    let (test, _) = exactly(&Comparison::TwoGroups(&a, &b), rule(0.1, Tails::Both));
    assert!(test.threshold.is_finite() && test.clusters.len() == 1 && test.clusters[0].p == 0.1);
}

/// Pieces done in any order.
struct Backward;

impl Spread for Backward {
    fn each<T: Send>(&self, count: usize, piece: impl Fn(usize) -> T + Sync + Send) -> Vec<T> {
        let mut all: Vec<T> = (0..count).rev().map(piece).collect();
        all.reverse();
        all
    }
}

/// The same bits whoever does the pieces, in whatever order: one block of all there are, and three that are drawn.
#[test]
fn pieces_in_any_order() {
    let (a, b, ten) = (rows(&TEN[..5]), rows(&TEN[5..]), rows(&TEN));
    let number = [1.0, 2.0, 3.0, 4.0, 5.0, 7.0, 8.0, 9.0, 11.0, 6.0];
    let how = Permutation { most: 600, seed: 9 };
    for of in [Comparison::TwoGroups(&a, &b), Comparison::Regression(&ten, &number)] {
        let told = |test: CurveTest| format!("{test:?}");
        let forward = told(by_permutation(&of, rule(0.3, Tails::Both), &how, &InTurn).unwrap());
        assert_eq!(forward, told(by_permutation(&of, rule(0.3, Tails::Both), &how, &Backward).unwrap()));
    }
}

/// Drawn, it is what going through all of them gives, to its own scatter; never 0.
#[test]
fn drawn_is_nearly_exact() {
    let (a, b) = (rows(&TEN[..5]), rows(&TEN[5..]));
    let of = Comparison::TwoGroups(&a, &b);
    for alpha in [0.05, 0.3] {
        let whole = exactly(&of, rule(alpha, Tails::Both)).0;
        let some = Permutation { most: 240, seed: 9 };
        let drawn = by_permutation(&of, rule(alpha, Tails::Both), &some, &InTurn).unwrap();
        assert!(matches!(drawn.by, By::Permutation { looked_at: 241, exact: false, .. }));
        let scatter = |p: f64| 4.0 * (p * (1.0 - p) / 240.0).sqrt() + 1.0 / 241.0;
        assert!((drawn.p - whole.p).abs() < scatter(whole.p), "{} {}", drawn.p, whole.p);
        assert!(drawn.p >= 1.0 / 241.0);
        for (d, w) in drawn.clusters.iter().zip(&whole.clusters) {
            assert!((d.p - w.p).abs() < 2.0 * scatter(w.p), "{d:?} {w:?}");
        }
    }
}
