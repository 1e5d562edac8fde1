//! Sines of known frequency in a column: what the mains leave in it.

use crate::math;
use std::f64::consts::TAU;

/// The most frequencies [`sines`] fits at once.
pub const MOST_SINES: usize = 8;

/// One fitted sine, x = amplitude·sin(2π·frequency·t + phase), t from the first sample of the column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sine {
    /// Frequency that was asked for, Hz.
    pub frequency_hz: f64,
    /// Amplitude, half the peak-to-peak, unit of the column. Noise alone gives an amplitude of about 1.25 times its
    /// uncertainty, since it cannot be negative.
    pub amplitude: f64,
    /// Phase at the first sample, rad, in −π..=π.
    pub phase_rad: f64,
    /// Standard uncertainty of the amplitude, unit of the column.
    pub amplitude_uncertainty: f64,
    /// Standard uncertainty of the phase, rad; first order, so of use only where it is well below 1.
    pub phase_uncertainty_rad: f64,
}

/// A level and sines, fitted together.
#[derive(Clone, Debug, PartialEq)]
pub struct Sines {
    /// The level about which the sines swing, unit of the column.
    pub level: f64,
    /// One for each frequency, in the order asked.
    pub sines: Vec<Sine>,
    /// Standard deviation of what is left (divisor n − unknowns), unit of the column.
    pub residual: f64,
}

/// Fits a level and sines of known frequencies by least squares: the mains and its harmonics.
///
/// Shape: any length; values that are not finite are left out. Unit: Hz; that of the column. The uncertainties take what is
/// left over as independent from sample to sample. Slow movement in the column is left over too, and makes them too
/// large: choose a quiet stretch, or take the movement out first. `None`: no frequency or more than
/// [`MOST_SINES`], a frequency not inside 0..rate/2, no more values than unknowns, or a stretch too short to tell the
/// frequencies from each other or from a level.
/// Source: linear least squares, covariance (residual variance)·(XᵀX)⁻¹ as in GUM, H.3, first order for amplitude and
/// phase. Checked: refs/periodic.toml (`numpy.linalg.lstsq`), and the scatter of a thousand fits.
#[must_use]
pub fn sines(column: &[f64], rate_hz: f64, frequencies_hz: &[f64]) -> Option<Sines> {
    let inside = |f: &f64| *f > 0.0 && *f < rate_hz / 2.0;
    if frequencies_hz.is_empty() || frequencies_hz.len() > MOST_SINES || !frequencies_hz.iter().all(inside) {
        return None;
    }
    let unknowns = 1 + 2 * frequencies_hz.len();
    let values = || column.iter().enumerate().filter(|(_, x)| x.is_finite());
    let count = values().count();
    if count <= unknowns {
        return None;
    }
    // The basis at each sample: 1, then sine and cosine of each frequency.
    let mut basis = vec![1.0; count * unknowns];
    for (row, (i, _)) in basis.chunks_exact_mut(unknowns).zip(values()) {
        for (pair, f) in row[1..].as_chunks_mut().0.iter_mut().zip(frequencies_hz) {
            let turns = f / rate_hz * i as f64;
            let (sin, cos) = math::sin_cos(TAU * (turns - turns.floor()));
            *pair = [sin, cos];
        }
    }
    let rows = || basis.chunks_exact(unknowns).zip(values().map(|(_, x)| x));
    // Around the mean, so that body weight costs the sines no digits.
    let mean = values().map(|(_, x)| x).sum::<f64>() / count as f64;
    let mut normal = vec![vec![0.0; unknowns]; unknowns];
    let mut right = vec![0.0; unknowns];
    for (row, x) in rows() {
        for ((line, sum), a) in normal.iter_mut().zip(&mut right).zip(row) {
            line.iter_mut().zip(row).for_each(|(n, b)| *n += a * b);
            *sum += a * (x - mean);
        }
    }
    let inverse = inverse(normal)?;
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let weights: Vec<f64> = inverse.iter().map(|line| dot(line, &right)).collect();
    let left = rows().map(|(row, x)| x - mean - dot(row, &weights));
    let variance = left.map(|e| e * e).sum::<f64>() / (count - unknowns) as f64;
    let one = |(k, &frequency_hz): (usize, &f64)| {
        let (s, c) = (1 + 2 * k, 2 + 2 * k);
        let (a, b) = (weights[s], weights[c]);
        let amplitude = math::hypot(a, b);
        let (ss, sc, cc) = (inverse[s][s] * variance, inverse[s][c] * variance, inverse[c][c] * variance);
        let size2 = amplitude * amplitude;
        Sine {
            frequency_hz,
            amplitude,
            phase_rad: math::atan2(b, a),
            amplitude_uncertainty: ((a * a * ss + 2.0 * a * b * sc + b * b * cc) / size2).sqrt(),
            phase_uncertainty_rad: ((b * b * ss - 2.0 * a * b * sc + a * a * cc) / (size2 * size2)).sqrt(),
        }
    };
    let sines = frequencies_hz.iter().enumerate().map(one).collect();
    Some(Sines { level: mean + weights[0], sines, residual: variance.sqrt() })
}

/// Inverse of a symmetric positive matrix by Gauss–Jordan steps on the diagonal; `None` where a pivot has shrunk to
/// rounding, since then the unknowns cannot be told apart.
fn inverse(mut m: Vec<Vec<f64>>) -> Option<Vec<Vec<f64>>> {
    let n = m.len();
    let scale: Vec<f64> = (0..n).map(|i| m[i][i]).collect();
    for k in 0..n {
        let pivot = m[k][k];
        // Also refuses a NaN.
        if !pivot.is_finite() || pivot <= 1e-9 * scale[k] {
            return None;
        }
        m[k][k] = 1.0;
        m[k].iter_mut().for_each(|x| *x /= pivot);
        let row = m[k].clone();
        for (i, line) in m.iter_mut().enumerate().filter(|(i, _)| *i != k) {
            let factor = std::mem::replace(&mut line[k], 0.0);
            debug_assert_ne!(i, k);
            line.iter_mut().zip(&row).for_each(|(x, r)| *x -= factor * r);
        }
    }
    Some(m)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats;
    use crate::testing::normal;

    #[test]
    fn a_pure_hum_is_found_through_gaps() {
        let mut x: Vec<f64> = (0..777)
            .map(|i| TAU * f64::from(i) / 1000.0)
            .map(|t| 800.0 + 0.5 * math::sin(50.0 * t + 0.7) + 0.2 * math::sin(100.0 * t - 2.0))
            .collect();
        x[100..150].fill(f64::NAN);
        let fit = sines(&x, 1000.0, &[50.0, 100.0]).unwrap();
        assert!((fit.level - 800.0).abs() < 1e-10 && fit.residual < 1e-10);
        for (sine, (amplitude, phase)) in fit.sines.iter().zip([(0.5, 0.7), (0.2, -2.0)]) {
            assert!((sine.amplitude - amplitude).abs() < 1e-11, "{sine:?}");
            assert!((sine.phase_rad - phase).abs() < 1e-10, "{sine:?}");
        }
    }

    /// The stated uncertainties are the scatter of the answers.
    #[test]
    fn uncertainty_is_the_scatter() {
        let mut draw = normal(5);
        let (mut amplitudes, mut phases, mut stated) = (Vec::new(), Vec::new(), (0.0, 0.0));
        for _ in 0..1000 {
            let x: Vec<f64> = (0..150)
                .map(|i| 3.0 * math::sin(TAU * 60.0 * f64::from(i) / 1000.0 + 0.4) + draw())
                .collect();
            let sine = sines(&x, 1000.0, &[60.0]).unwrap().sines[0];
            amplitudes.push(sine.amplitude);
            phases.push(sine.phase_rad);
            stated.0 += sine.amplitude_uncertainty / 1000.0;
            stated.1 += sine.phase_uncertainty_rad / 1000.0;
        }
        assert!((stats::standard_deviation(&amplitudes) / stated.0 - 1.0).abs() < 0.07);
        assert!((stats::standard_deviation(&phases) / stated.1 - 1.0).abs() < 0.07);
        assert!((stats::mean(&amplitudes) - 3.0).abs() < 0.02 && (stats::mean(&phases) - 0.4).abs() < 0.01);
    }

    #[test]
    fn what_cannot_be_told() {
        let x: Vec<f64> = (0..100).map(|i| f64::from(i % 7)).collect();
        assert!(sines(&x, 1000.0, &[50.0]).is_some());
        for bad in [
            &[][..],
            &[0.0],
            &[-50.0],
            &[500.0],
            &[f64::NAN],
            &[50.0, 50.0],
            &[50.0, 50.000_01],
            &[1e-9],
            &[10.0; 9],
        ] {
            assert_eq!(sines(&x, 1000.0, bad), None, "{bad:?}");
        }
        assert_eq!(sines(&x, f64::NAN, &[50.0]), None);
        assert_eq!(sines(&x[..3], 1000.0, &[50.0]), None);
        assert_eq!(sines(&[f64::NAN; 50], 1000.0, &[50.0]), None);
    }
}
