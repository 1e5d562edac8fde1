//! Tests of whole curves: one sample, pairs, two groups, several groups, a regression.
use super::field::{Field, Kind, smoothness};
use signal::stats;
use std::ops::Range;

/// Which way a difference counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tails {
    /// Above only.
    Above,
    /// Above and below.
    Both,
}

/// A stretch beyond the threshold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cluster {
    /// Where it begins, nodes, where the curve crosses the threshold (straight between nodes).
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// True where it lies above, false below.
    pub above: bool,
    /// Probability of a stretch as long by chance, anywhere along the curve.
    pub p: f64,
}

/// What came of a test.
#[derive(Clone, Debug, PartialEq)]
pub struct CurveTest {
    /// The statistic, node by node; NaN where a curve is not defined.
    pub statistic: Vec<f64>,
    /// What it follows where there is no difference; how smooth it is.
    pub field: Field,
    /// The level.
    pub alpha: f64,
    /// Which way counts.
    pub tails: Tails,
    /// The height it passes anywhere with that probability.
    pub threshold: f64,
    /// Stretches beyond it, in order.
    pub clusters: Vec<Cluster>,
}

/// Nodes that every curve has, as unbroken stretches.
fn stretches(groups: &[&[Vec<f64>]]) -> Vec<Range<usize>> {
    let nodes = groups.iter().flat_map(|g| g.iter()).map(Vec::len).min().unwrap_or(0);
    let defined =
        |q: usize| groups.iter().flat_map(|g| g.iter()).all(|row| row.get(q).is_some_and(|v| v.is_finite()));
    let mut out: Vec<Range<usize>> = Vec::new();
    for q in (0..nodes).filter(|q| defined(*q)) {
        match out.last_mut() {
            Some(last) if last.end == q => last.end = q + 1,
            _ => out.push(q..q + 1),
        }
    }
    out
}

fn column(rows: &[Vec<f64>], q: usize) -> Vec<f64> {
    rows.iter().map(|r| r.get(q).copied().unwrap_or(f64::NAN)).collect()
}

/// Residuals about the mean curve.
fn about_mean(rows: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let nodes = rows.iter().map(Vec::len).min().unwrap_or(0);
    let mean: Vec<f64> = (0..nodes).map(|q| stats::mean(&column(rows, q))).collect();
    rows.iter().map(|r| r.iter().zip(&mean).map(|(v, m)| v - m).collect()).collect()
}

/// How a test is decided.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// Level.
    pub alpha: f64,
    /// Which way counts.
    pub tails: Tails,
}

/// Is a mean curve other than nothing? `None` with fewer than two curves, or no node that all have.
///
/// Shape: one curve a row. Source: Pataky2010; fields as [`super::field`]. Checked: spm1d in the tests.
pub fn one_sample(rows: &[Vec<f64>], rule: Rule) -> Option<CurveTest> {
    let n = rows.len() as f64;
    let at = |q: usize| {
        let c = column(rows, q);
        stats::mean(&c) / (stats::standard_deviation(&c) / n.sqrt())
    };
    finish(&[rows], about_mean(rows), Kind::T(n - 1.0), rule, at)
}

/// Do curves of the same units differ? As [`one_sample`] of their differences.
pub fn pairs(first: &[Vec<f64>], second: &[Vec<f64>], rule: Rule) -> Option<CurveTest> {
    if first.len() != second.len() {
        return None;
    }
    let less = |(a, b): (&Vec<f64>, &Vec<f64>)| a.iter().zip(b).map(|(x, y)| x - y).collect();
    let differences: Vec<Vec<f64>> = first.iter().zip(second).map(less).collect();
    one_sample(&differences, rule)
}

/// Do two groups of curves differ, their scatter taken as alike? `None` with fewer than two curves in a group.
pub fn two_groups(first: &[Vec<f64>], second: &[Vec<f64>], rule: Rule) -> Option<CurveTest> {
    if first.len() < 2 || second.len() < 2 {
        return None;
    }
    let (n, m) = (first.len() as f64, second.len() as f64);
    let degrees = n + m - 2.0;
    let at = |q: usize| {
        let (a, b) = (column(first, q), column(second, q));
        let pooled = ((n - 1.0) * stats::variance(&a) + (m - 1.0) * stats::variance(&b)) / degrees;
        (stats::mean(&a) - stats::mean(&b)) / (pooled * (1.0 / n + 1.0 / m)).sqrt()
    };
    let mut residuals = about_mean(first);
    residuals.extend(about_mean(second));
    finish(&[first, second], residuals, Kind::T(degrees), rule, at)
}

/// Do several groups differ? `None` with fewer than two groups, or one without two curves.
pub fn groups(all: &[&[Vec<f64>]], rule: Rule) -> Option<CurveTest> {
    if all.len() < 2 || all.iter().any(|g| g.len() < 2) {
        return None;
    }
    let k = all.len() as f64;
    let count: usize = all.iter().map(|g| g.len()).sum();
    let (above, below) = (k - 1.0, count as f64 - k);
    let at = |q: usize| {
        let columns: Vec<Vec<f64>> = all.iter().map(|g| column(g, q)).collect();
        let grand = columns.iter().flatten().sum::<f64>() / count as f64;
        let between: f64 = columns
            .iter()
            .map(|c| {
                let shift = stats::mean(c) - grand;
                c.len() as f64 * shift * shift
            })
            .sum();
        let within: f64 = columns.iter().map(|c| (c.len() as f64 - 1.0) * stats::variance(c)).sum();
        (between / above) / (within / below)
    };
    let residuals = all.iter().flat_map(|g| about_mean(g)).collect();
    finish(all, residuals, Kind::F(above, below), Rule { tails: Tails::Above, ..rule }, at)
}

/// Do curves follow a number that each of them has? `None` with fewer than three curves, or where the number does not vary.
pub fn regression(rows: &[Vec<f64>], number: &[f64], rule: Rule) -> Option<CurveTest> {
    let n = rows.len();
    if n < 3 || number.len() != n || number.iter().any(|v| !v.is_finite()) {
        return None;
    }
    let mean = stats::mean(number);
    let centred: Vec<f64> = number.iter().map(|x| x - mean).collect();
    let sxx: f64 = centred.iter().map(|x| x * x).sum();
    if sxx <= 0.0 {
        return None;
    }
    let degrees = n as f64 - 2.0;
    let slope = |q: usize| centred.iter().zip(column(rows, q)).map(|(x, y)| x * y).sum::<f64>() / sxx;
    let residual = |q: usize| -> Vec<f64> {
        let c = column(rows, q);
        let (mean, slope) = (stats::mean(&c), slope(q));
        c.iter().zip(&centred).map(|(y, x)| y - mean - slope * x).collect()
    };
    let nodes = rows.iter().map(Vec::len).min().unwrap_or(0);
    let columns: Vec<Vec<f64>> = (0..nodes).map(residual).collect();
    let of_row = |k: usize| columns.iter().map(|c| c.get(k).copied().unwrap_or(f64::NAN)).collect();
    let residuals: Vec<Vec<f64>> = (0..n).map(of_row).collect();
    let at = |q: usize| {
        let rest: f64 = columns.get(q).map_or(f64::NAN, |c| c.iter().map(|r| r * r).sum());
        slope(q) / (rest / degrees / sxx).sqrt()
    };
    finish(&[rows], residuals, Kind::T(degrees), rule, at)
}

fn finish(
    all: &[&[Vec<f64>]],
    residuals: Vec<Vec<f64>>,
    kind: Kind,
    rule: Rule,
    at: impl Fn(usize) -> f64,
) -> Option<CurveTest> {
    let there = stretches(all);
    if all.iter().any(|g| g.len() < 2) || there.is_empty() {
        return None;
    }
    let nodes = all.iter().flat_map(|g| g.iter()).map(Vec::len).min()?;
    let mut statistic = vec![f64::NAN; nodes];
    for q in there.iter().cloned().flatten() {
        if let Some(place) = statistic.get_mut(q) {
            *place = at(q);
        }
    }
    let fwhm = smoothness(&residuals, &there);
    let field = Field { kind, nodes: there.iter().map(Range::len).sum(), stretches: there.len(), fwhm };
    let share = if rule.tails == Tails::Both { 0.5 } else { 1.0 };
    let threshold = field.threshold(share * rule.alpha);
    let mut clusters = beyond(&statistic, &there, threshold, &field, share, true);
    if rule.tails == Tails::Both {
        let turned: Vec<f64> = statistic.iter().map(|v| -v).collect();
        clusters.extend(beyond(&turned, &there, threshold, &field, share, false));
        clusters.sort_by(|a, b| a.from.total_cmp(&b.from));
    }
    Some(CurveTest { statistic, field, alpha: rule.alpha, tails: rule.tails, threshold, clusters })
}

/// Stretches above a threshold.
fn beyond(
    curve: &[f64],
    there: &[Range<usize>],
    threshold: f64,
    field: &Field,
    share: f64,
    above: bool,
) -> Vec<Cluster> {
    let at = |q: usize| curve.get(q).copied().unwrap_or(f64::NAN);
    let mut out = Vec::new();
    for stretch in there {
        let mut q = stretch.start;
        while q < stretch.end {
            if at(q) <= threshold || at(q).is_nan() {
                q += 1;
                continue;
            }
            let first = q;
            while q < stretch.end && at(q) > threshold {
                q += 1;
            }
            let last = q - 1;
            // From the node outside to the one inside, where the line crosses.
            let crossing = |outside: usize, inside: usize| {
                let part = (threshold - at(outside)) / (at(inside) - at(outside));
                outside as f64 + part * (inside as f64 - outside as f64)
            };
            let from = if first > stretch.start { crossing(first - 1, first) } else { first as f64 };
            let to = if last + 1 < stretch.end { crossing(last + 1, last) } else { last as f64 };
            let p = (field.stretch_above(threshold, to - from) / share).min(1.0);
            out.push(Cluster { from, to, above, p });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;
    use signal::math::{cos, exp, sin};
    use std::f64::consts::PI;

    /// Eight made-up curves with a bump of a height at node 60; `off` moves their waves.
    fn curves(height: f64, off: f64) -> Vec<Vec<f64>> {
        let curve = |i: u32| {
            let i = f64::from(i) + off;
            (0..=100)
                .map(|q| {
                    let q = f64::from(q);
                    let bump = height * exp(-((q - 60.0) / 10.0) * ((q - 60.0) / 10.0));
                    bump + 0.6 * sin(2.0 * PI * q / 40.0 + 1.7 * i)
                        + 0.4 * cos(2.0 * PI * q / 25.0 + 2.9 * i * i)
                })
                .collect()
        };
        (0..8).map(curve).collect()
    }

    fn near(a: f64, b: f64, by: f64) {
        assert!((a - b).abs() < by, "{a} {b}");
    }

    const TWO: Rule = Rule { alpha: 0.05, tails: Tails::Both };
    const ONE: Rule = Rule { alpha: 0.05, tails: Tails::Above };

    /// spm1d 0.4.55 on the same curves: smoothness, statistic, threshold, where the cluster lies, its probability.
    #[test]
    fn as_spm1d_finds() {
        let (a, b, c) = (curves(1.6, 0.0), curves(0.0, 11.0), curves(0.8, 23.0));
        near(a.iter().flatten().sum(), 230.793_212, 1e-6);
        let held = |t: &CurveTest, fwhm: f64, at60: f64, threshold: f64, from: f64, to: f64| {
            near(t.field.fwhm, fwhm, 1e-6);
            near(t.statistic[60], at60, 1e-6);
            near(t.threshold, threshold, 1e-5);
            assert_eq!(t.clusters.len(), 1, "{:?}", t.clusters);
            near(t.clusters[0].from, from, 1e-3);
            near(t.clusters[0].to, to, 1e-3);
        };
        held(&one_sample(&a, ONE).unwrap(), 8.892_334, 10.572_003, 4.512_131, 52.6143, 69.0851);
        held(&one_sample(&a, TWO).unwrap(), 8.892_334, 10.572_003, 5.251_461, 53.3539, 68.4958);
        let two = two_groups(&a, &b, TWO).unwrap();
        held(&two, 8.773_607, 6.149_578, 3.918_557, 54.2959, 66.3865);
        near(two.clusters[0].p, 4.633_93e-7, 1e-10);
        let one = two_groups(&a, &b, ONE).unwrap();
        held(&one, 8.773_607, 6.149_578, 3.513_720, 53.5771, 67.1168);
        near(one.clusters[0].p, 3.281_85e-7, 1e-10);
        held(&pairs(&a, &b, TWO).unwrap(), 6.597_026, 9.986_190, 5.577_351, 52.0296, 68.3161);
        let three = groups(&[&a, &b, &c], ONE).unwrap();
        held(&three, 8.758_589, 19.105_238, 8.918_889, 54.2377, 66.4617);
        near(three.clusters[0].p, 4.012_05e-7, 1e-10);
        let numbers: Vec<f64> = (0..8).map(f64::from).collect();
        let along = regression(&a, &numbers, TWO).unwrap();
        near(along.field.fwhm, 9.159_335, 1e-6);
        near(along.statistic[60], 3.004_182, 1e-6);
        near(along.statistic[0], -3.714_087, 1e-6);
        near(along.threshold, 5.855_324, 1e-5);
        assert!(along.clusters.is_empty());
    }

    /// Below counts as above does, where both do.
    #[test]
    fn a_difference_turned_round_is_a_stretch_below() {
        let (a, b) = (curves(1.6, 0.0), curves(0.0, 11.0));
        let (there, back) = (two_groups(&a, &b, TWO).unwrap(), two_groups(&b, &a, TWO).unwrap());
        assert!(there.clusters[0].above && !back.clusters[0].above);
        assert_eq!(
            (there.clusters[0].from, there.clusters[0].p),
            (back.clusters[0].from, back.clusters[0].p)
        );
    }

    /// A gap in one curve is a gap in the statistic, and what lies beside it is tested in pieces.
    #[test]
    fn gaps_are_gaps() {
        let mut a = curves(1.6, 0.0);
        a[3][20..25].fill(f64::NAN);
        let found = one_sample(&a, TWO).unwrap();
        assert!(found.statistic[20..25].iter().all(|v| v.is_nan()) && found.statistic[25].is_finite());
        assert_eq!((found.field.nodes, found.field.stretches), (96, 2));
        assert_eq!(found.clusters.len(), 1);
        a[0].fill(f64::NAN);
        assert!(one_sample(&a, TWO).is_none() && one_sample(&a[..1], TWO).is_none());
        assert!(regression(&curves(1.0, 0.0), &[2.0; 8], TWO).is_none());
    }
}
