//! Functional principal components: the few ways in which curves differ most.
use super::eigen;
use signal::stats;

/// Components of a sample of curves.
#[derive(Clone, Debug, PartialEq)]
pub struct Components {
    /// The mean curve, over nodes that all curves have; NaN elsewhere.
    pub mean: Vec<f64>,
    /// Variance along each component, the greatest first: unit of the curves squared, times that of the axis.
    pub variances: Vec<f64>,
    /// Variance in all.
    pub total: f64,
    /// Each component as a curve, of unit size under the nodes' weights; NaN where not all curves are defined.
    pub curves: Vec<Vec<f64>>,
    /// How far each curve goes along each component: a row a curve.
    pub scores: Vec<Vec<f64>>,
    /// Weights of the nodes; 0 where not all curves are defined.
    pub weights: Vec<f64>,
}

impl Components {
    /// How far another curve goes along each component. NaN where it lacks a node that took part.
    pub fn scores_of(&self, curve: &[f64]) -> Vec<f64> {
        let along = |component: &Vec<f64>| {
            let used = self
                .weights
                .iter()
                .zip(&self.mean)
                .zip(component)
                .enumerate()
                .filter(|(_, ((w, _), _))| **w > 0.0);
            used.map(|(q, ((w, m), c))| w * c * (curve.get(q).copied().unwrap_or(f64::NAN) - m)).sum()
        };
        self.curves.iter().map(along).collect()
    }

    /// How many components hold at least a share of the variance; one at least where there is one.
    pub fn leading(&self, share: f64) -> usize {
        let mut so_far = 0.0;
        let under = self.variances.iter().take_while(|v| {
            let before = so_far;
            so_far += **v;
            before < share * self.total
        });
        under.count()
    }
}

/// Weights of the trapezoidal rule for nodes at rising places, over the unbroken stretches of those that take part.
fn weights(at: &[f64], takes_part: &[bool]) -> Vec<f64> {
    let mut out = vec![0.0; at.len()];
    for k in 1..at.len() {
        if takes_part[k - 1] && takes_part[k] {
            let half = 0.5 * (at[k] - at[k - 1]);
            out[k - 1] += half;
            out[k] += half;
        }
    }
    out
}

/// Principal components of curves.
///
/// Shape: one curve a row; `at`: the places of the nodes, rising. Nodes that some curve lacks take no part.
/// Components of no variance (under 1e-12 of all) are left out; at most one less than there are curves. Sign: the first node at
/// which a component reaches half of its greatest size is positive. Undefined: `None` with fewer than two curves, fewer than two
/// neighbouring nodes that all have, or rows or places of unequal length.
/// Source: RamsaySilverman2005 ch. 8 (trapezoidal weights, covariance over n − 1). Checked: a case with known
/// components; scikit-fda (refs/cohort.toml).
pub fn components(rows: &[Vec<f64>], at: &[f64]) -> Option<Components> {
    let (n, nodes) = (rows.len(), at.len());
    if n < 2 || rows.iter().any(|r| r.len() != nodes) || at.windows(2).any(|w| w[0] >= w[1]) {
        return None;
    }
    let takes_part: Vec<bool> = (0..nodes).map(|q| rows.iter().all(|r| r[q].is_finite())).collect();
    let weight = weights(at, &takes_part);
    // A node alone between gaps has no weight and takes no part.
    let used: Vec<usize> = (0..nodes).filter(|q| weight[*q] > 0.0).collect();
    if used.is_empty() {
        return None;
    }
    let column = |q: usize| rows.iter().map(|r| r[q]).collect::<Vec<f64>>();
    let mut mean = vec![f64::NAN; nodes];
    used.iter().for_each(|q| mean[*q] = stats::mean(&column(*q)));
    // Centred, and weighted so that plain products are integrals.
    let centred: Vec<Vec<f64>> =
        rows.iter().map(|r| used.iter().map(|q| (r[*q] - mean[*q]) * weight[*q].sqrt()).collect()).collect();
    let degrees = n as f64 - 1.0;
    let total = centred.iter().flatten().map(|v| v * v).sum::<f64>() / degrees;
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    // The smaller of the two matrices that have the same eigenvalues.
    let directions: Vec<(f64, Vec<f64>)> = if n <= used.len() {
        let gram = centred.iter().map(|a| centred.iter().map(|b| dot(a, b) / degrees).collect()).collect();
        let along = |(value, of_rows): (f64, Vec<f64>)| {
            let mut curve = vec![0.0; used.len()];
            for (row, share) in centred.iter().zip(&of_rows) {
                curve.iter_mut().zip(row).for_each(|(c, v)| *c += share * v);
            }
            let size = dot(&curve, &curve).sqrt();
            curve.iter_mut().for_each(|c| *c /= size);
            (value, curve)
        };
        eigen::symmetric(gram).into_iter().filter(|(v, _)| *v > 1e-12 * total).map(along).collect()
    } else {
        let mut covariance = vec![vec![0.0; used.len()]; used.len()];
        for row in &centred {
            for (line, a) in covariance.iter_mut().zip(row) {
                line.iter_mut().zip(row).for_each(|(cell, b)| *cell += a * b / degrees);
            }
        }
        eigen::symmetric(covariance).into_iter().filter(|(v, _)| *v > 1e-12 * total).collect()
    };
    let mut found = Components {
        mean,
        variances: Vec::new(),
        total,
        curves: Vec::new(),
        scores: vec![Vec::new(); n],
        weights: weight.clone(),
    };
    for (variance, mut direction) in directions.into_iter().take(n - 1) {
        let mut curve = vec![f64::NAN; nodes];
        used.iter().zip(&direction).for_each(|(q, d)| curve[*q] = d / weight[*q].sqrt());
        if is_turned(&curve) {
            curve.iter_mut().chain(&mut direction).for_each(|v| *v = -*v);
        }
        found.variances.push(variance);
        found.curves.push(curve);
        found.scores.iter_mut().zip(&centred).for_each(|(s, row)| s.push(dot(row, &direction)));
    }
    Some(found)
}

/// True where a component's first large node is negative.
fn is_turned(curve: &[f64]) -> bool {
    let most = curve.iter().filter(|v| !v.is_nan()).fold(0.0_f64, |m, v| m.max(v.abs()));
    curve.iter().find(|v| v.abs() >= 0.5 * most).is_some_and(|v| *v < 0.0)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;
    use signal::math;
    use std::f64::consts::{PI, SQRT_2};

    const A: [f64; 5] = [3.0, -1.0, -2.0, 1.0, -1.0];
    const B: [f64; 5] = [0.5, 1.0, -1.0, 0.0, -0.5];

    fn made(times: usize) -> (Vec<Vec<f64>>, Vec<f64>) {
        let at: Vec<f64> = (0..=100).map(|k| f64::from(k) / 100.0).collect();
        let wave = |k: f64, t: f64| SQRT_2 * math::sin(k * PI * t);
        let curve =
            |(a, b): (&f64, &f64)| at.iter().map(|t| 5.0 + a * wave(1.0, *t) + b * wave(2.0, *t)).collect();
        let rows: Vec<Vec<f64>> = A.iter().zip(&B).map(curve).collect();
        (std::iter::repeat_n(rows, times).flatten().collect(), at)
    }

    /// Two waves that are orthonormal under trapezoidal weights, in known amounts: variances 4.159161 and 0.465839 (the
    /// eigenvalues of a 2 × 2 matrix, by hand and by numpy's singular values), scores with it.
    #[test]
    fn known_components() {
        let (rows, at) = made(1);
        let found = components(&rows, &at).unwrap();
        assert_eq!(
            (found.variances.len(), found.leading(0.89), found.leading(0.95), found.leading(1.0)),
            (2, 1, 2, 2)
        );
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-6, "{a} {b}");
        near(found.variances[0], 4.159_161);
        near(found.variances[1], 0.465_839);
        near(found.total, 4.625);
        let expected = [
            [-3.038_443, 0.133_667],
            [0.770_624, -1.185_807],
            [2.164_023, 0.563_033],
            [-0.978_216, 0.207_591],
            [1.082_011, 0.281_516],
        ];
        let sign = [0, 1].map(|k| (found.scores[0][k] * expected[0][k]).signum());
        for (row, e) in found.scores.iter().zip(expected) {
            near(row[0], sign[0] * e[0]);
            near(row[1], sign[1] * e[1]);
        }
        // The first component rises first; with it the curve of the greatest amount of the first wave scores above.
        assert!(found.scores[0][0] > 3.0 && found.curves[0][50] > 0.0);
        // A curve of the sample has the scores it was given.
        let again = found.scores_of(&rows[3]);
        assert!(again.iter().zip(&found.scores[3]).all(|(a, b)| (a - b).abs() < 1e-12));
        // A curve is the mean and its scores along the components.
        for (q, v) in rows[2].iter().enumerate() {
            let again: f64 = found.curves.iter().zip(&found.scores[2]).map(|(c, s)| s * c[q]).sum();
            assert!((found.mean[q] + again - v).abs() < 1e-12);
        }
    }

    /// More curves than nodes go another way and come to the same (the same five curves 30 times: n·σ² over n − 1).
    #[test]
    fn both_ways_agree() {
        let (few, at) = made(1);
        let (many, _) = made(30);
        let (one, other) = (components(&few, &at).unwrap(), components(&many, &at).unwrap());
        let ratio = (150.0 / 149.0) / (5.0 / 4.0);
        assert_eq!(other.variances.len(), 2);
        for k in 0..2 {
            assert!((other.variances[k] - ratio * one.variances[k]).abs() < 1e-9);
            for (row, again) in one.scores.iter().zip(&other.scores) {
                assert!((row[k] - again[k]).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn gaps_take_no_part() {
        let (mut rows, at) = made(1);
        rows[1][40] = f64::NAN;
        rows[3][42] = f64::NAN;
        let found = components(&rows, &at).unwrap();
        assert!(found.curves[0][40].is_nan() && found.curves[0][41].is_nan(), "alone between gaps");
        assert!(found.mean[39].is_finite() && found.total < 4.625 && found.total > 4.1);
        assert!(components(&rows[..1], &at).is_none());
        assert!(components(&rows, &at[1..]).is_none());
        assert!(components(&vec![vec![f64::NAN; 101]; 3], &at).is_none());
        let flat = components(&vec![vec![1.0; 101]; 3], &at).unwrap();
        assert!(flat.variances.is_empty() && flat.leading(0.9) == 0);
    }
}
