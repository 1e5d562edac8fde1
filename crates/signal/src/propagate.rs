//! Uncertainty handed on from inputs to results, to first order (GUM).
//!
//! A matrix is a slice of rows, each an array or a vector; the covariance of the inputs holds their squared standard
//! uncertainties on its diagonal.

use crate::student;

/// Covariance of the results: J·V·Jᵀ.
///
/// Shape: `jacobian` m rows (results) of n (inputs), `covariance` n rows of n; the answer m rows of m. Unit: result ×
/// result. NaN in gives NaN in the results it reaches, unless its sensitivity is exactly 0: an input that does not matter
/// may be unknown. `None`: the shapes do not fit. Source: GUM, 5.2.2 and F.1.2.3.
/// Checked: GUM H.2.
#[must_use]
pub fn propagate<R: AsRef<[f64]>, C: AsRef<[f64]>>(
    jacobian: &[R],
    covariance: &[C],
) -> Option<Vec<Vec<f64>>> {
    let n = covariance.len();
    let square = covariance.iter().all(|row| row.as_ref().len() == n);
    if !square || jacobian.iter().any(|row| row.as_ref().len() != n) {
        return None;
    }
    let half = |row: &R| -> Vec<f64> { covariance.iter().map(|c| dot(row.as_ref(), c.as_ref())).collect() };
    let halves: Vec<Vec<f64>> = jacobian.iter().map(half).collect();
    Some(jacobian.iter().map(|row| halves.iter().map(|half| dot(row.as_ref(), half)).collect()).collect())
}

/// Combined standard uncertainty of one result: √(c·V·cᵀ).
///
/// Shape: a sensitivity for each input. Unit: that of the result. `None`: the shapes do not fit. Undefined: NaN where
/// the covariance is none, so that the square is negative. Source: GUM, 5.2.2. Checked: GUM H.1 and H.2.
#[must_use]
pub fn combined<C: AsRef<[f64]>>(sensitivities: &[f64], covariance: &[C]) -> Option<f64> {
    propagate(&[sensitivities], covariance)?.first()?.first().map(|variance| variance.sqrt())
}

/// Sum of products, leaving out those of which the first factor is 0.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).filter(|(x, _)| **x != 0.0).map(|(x, y)| x * y).sum()
}

/// How each result changes with each input, by central differences.
///
/// Shape: a step for each input; m rows of n, as [`propagate`] takes. Unit: result per input. The inputs' standard uncertainties are good
/// steps: they ask how the result changes over what may really be. A step of 0 gives a sensitivity of 0, for an
/// input held to be exact. Undefined: NaN where the results are NaN or differ in number from place to place. An input
/// without a step counts as exact. Source: GUM, 5.1.3, note 2. Checked: GUM H.2 against derivatives by hand.
#[must_use]
pub fn jacobian(f: impl Fn(&[f64]) -> Vec<f64>, at: &[f64], steps: &[f64]) -> Vec<Vec<f64>> {
    let results = f(at).len();
    let mut rows = vec![vec![0.0; at.len()]; results];
    let mut place = at.to_vec();
    for (i, (&middle, &step)) in at.iter().zip(steps).enumerate().filter(|(_, (_, step))| **step != 0.0) {
        let mut moved = |by: f64| {
            place[i] = middle + by;
            // The step that was really made, rounding and all.
            (f(&place), place[i])
        };
        let ((above, high), (below, low)) = (moved(step), moved(-step));
        place[i] = middle;
        for (k, row) in rows.iter_mut().enumerate() {
            let rise = above.get(k).zip(below.get(k)).map_or(f64::NAN, |(a, b)| a - b);
            row[i] = rise / (high - low);
        }
    }
    rows
}

/// Effective degrees of freedom of a combined uncertainty (Welch–Satterthwaite).
///
/// Shape: for each input that is independent of the others its share |c·u| of the combined uncertainty, unit of the result, and
/// its degrees of freedom, which may be infinite. Infinite where no share has finite degrees. Undefined: NaN where a share is NaN or
/// degrees are not positive. Source: GUM, G.4.1. Checked: GUM H.1.
#[must_use]
pub fn effective_degrees(shares: &[(f64, f64)]) -> f64 {
    let (mut variance, mut below) = (0.0, 0.0);
    for &(share, degrees) in shares {
        if degrees.is_nan() || degrees <= 0.0 {
            return f64::NAN;
        }
        let square = share * share;
        variance += square;
        below += square * square / degrees;
    }
    if below == 0.0 { f64::INFINITY } else { variance * variance / below }
}

/// Expanded uncertainty: half the width of the interval that holds the value with a probability.
///
/// Unit: that of `uncertainty`. `degrees` as [`effective_degrees`] gives them; the GUM rounds them down first, which is the
/// caller's choice. Undefined: NaN where the probability is not inside 0..1 or the degrees are not positive.
/// Source: GUM, G.3.2. Checked: GUM H.1.
#[must_use]
pub fn expanded(uncertainty: f64, probability: f64, degrees: f64) -> f64 {
    uncertainty * -student::quantile(0.5 - 0.5 * probability, degrees)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{math, stats};

    fn near(a: f64, b: f64, within: f64) {
        assert!((a - b).abs() <= within, "{a} is not {b}");
    }

    /// Voltage (V), current (A) and phase (rad), read five times together (GUM, table H.2).
    const V: [f64; 5] = [5.007, 4.994, 5.005, 4.990, 4.999];
    const I: [f64; 5] = [0.019_663, 0.019_639, 0.019_640, 0.019_685, 0.019_678];
    const PHI: [f64; 5] = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];

    /// Resistance, reactance, impedance, ohm.
    fn circuit(x: &[f64]) -> Vec<f64> {
        let z = x[0] / x[1];
        vec![z * math::cos(x[2]), z * math::sin(x[2]), z]
    }

    fn inputs() -> (Vec<f64>, Vec<f64>, Vec<Vec<f64>>) {
        let columns = [V, I, PHI];
        let means: Vec<f64> = columns.iter().map(|c| stats::mean(c)).collect();
        let u: Vec<f64> = columns.iter().map(|c| stats::standard_deviation(c) / 5.0_f64.sqrt()).collect();
        let covariance = |i: usize, j: usize| stats::correlation(&columns[i], &columns[j]) * u[i] * u[j];
        let covariance = (0..3).map(|i| (0..3).map(|j| covariance(i, j)).collect()).collect();
        (means, u, covariance)
    }

    /// GUM H.2 prints R = 127.732 ± 0.071, X = 219.847 ± 0.295, Z = 254.260 ± 0.236 Ω and r = −0.588, −0.485, 0.993.
    #[test]
    fn gum_h2_correlated_inputs() {
        let (means, u, covariance) = inputs();
        let results = circuit(&means);
        for (value, printed) in results.iter().zip([127.732, 219.847, 254.260]) {
            near(*value, printed, 5e-4);
        }
        let jacobian = jacobian(circuit, &means, &u);
        // By hand: Z's sensitivities 1/I and −V/I², and none to the phase.
        near(jacobian[2][0], 1.0 / means[1], 1e-6);
        near(jacobian[2][1], -means[0] / (means[1] * means[1]), 1e-2);
        assert_eq!(jacobian[2][2], 0.0);
        let out = propagate(&jacobian, &covariance).unwrap();
        for (k, expected) in [0.071_071, 0.295_582, 0.236_336].into_iter().enumerate() {
            near(out[k][k].sqrt(), expected, 1e-6);
            near(combined(&jacobian[k], &covariance).unwrap(), expected, 1e-6);
        }
        for ((i, j), r) in [((0, 1), -0.588_430), ((0, 2), -0.485_259), ((1, 2), 0.992_512)] {
            near(out[i][j] / (out[i][i] * out[j][j]).sqrt(), r, 2e-6);
            near(out[i][j], out[j][i], 1e-12);
        }
    }

    /// Left out, the correlations change every uncertainty: the test above would not pass by accident.
    #[test]
    fn gum_h2_without_correlations() {
        let (means, u, mut covariance) = inputs();
        for (i, row) in covariance.iter_mut().enumerate() {
            row.iter_mut().enumerate().filter(|(j, _)| *j != i).for_each(|(_, c)| *c = 0.0);
        }
        let out = propagate(&jacobian(circuit, &means, &u), &covariance).unwrap();
        for (k, expected) in [0.194_544, 0.200_909, 0.204_076].into_iter().enumerate() {
            near(out[k][k].sqrt(), expected, 1e-6);
        }
    }

    /// GUM H.1, end gauge: u_c = 32 nm, 16 degrees, U99 = 93 nm; shares in nm with their degrees.
    #[test]
    fn gum_h1_end_gauge() {
        let shares = [(25.0, 18.0), (9.7, 25.6), (2.9, 50.0), (16.7, 2.0)];
        let sensitivities = [1.0; 4];
        let mut covariance = [[0.0; 4]; 4];
        shares.iter().enumerate().for_each(|(i, s)| covariance[i][i] = s.0 * s.0);
        let u = combined(&sensitivities, &covariance).unwrap();
        near(u, 31.71, 0.02);
        let degrees = effective_degrees(&shares);
        near(degrees, 16.66, 0.06);
        near(student::quantile(0.995, 16.0), 2.9208, 5e-5);
        assert_eq!(expanded(u, 0.99, degrees.floor()).round(), 93.0);
    }

    #[test]
    fn shapes_and_what_is_not_defined() {
        assert_eq!(propagate(&[[1.0, 2.0]], &[[1.0]]), None);
        assert_eq!(propagate(&[vec![1.0]], &[vec![1.0, 0.0]]), None);
        assert_eq!(propagate::<[f64; 0], [f64; 0]>(&[], &[]), Some(Vec::new()));
        assert_eq!(combined(&[1.0, 0.0], &[[4.0, 0.0], [0.0, f64::NAN]]), Some(2.0));
        assert!(combined(&[1.0, 0.1], &[[4.0, 0.0], [0.0, f64::NAN]]).unwrap().is_nan());
        assert_eq!(effective_degrees(&[(1.0, f64::INFINITY)]), f64::INFINITY);
        assert_eq!(effective_degrees(&[(2.0, f64::INFINITY), (2.0, 4.0)]), 16.0);
        assert!(effective_degrees(&[(1.0, 0.0)]).is_nan() && effective_degrees(&[(f64::NAN, 3.0)]).is_nan());
        near(expanded(2.0, 0.95, f64::INFINITY), 3.919_927_969, 1e-9);
        assert!(expanded(1.0, 1.0, 5.0).is_nan() && expanded(1.0, f64::NAN, 5.0).is_nan());
        let uneven = jacobian(|x| if x[0] > 1.0 { vec![] } else { vec![x[0]] }, &[1.0, 2.0], &[0.5, 0.0]);
        assert!(uneven[0][0].is_nan() && uneven[0][1] == 0.0);
    }
}
