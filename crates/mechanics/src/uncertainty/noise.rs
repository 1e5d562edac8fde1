//! Random noise, and how much of it is left in a mean, a slope and a bend when neighbouring samples are alike.
//!
//! A low-pass leaves noise whose samples resemble their neighbours: a mean of n of them is less sure than 1/√n says,
//! a slope over a short stretch surer than that of white noise of the same size. One number tells how alike they
//! are: the *length* L, samples for each independent one, so that the mean of many samples has the variance σ²·L/n. White
//! noise has L = 1. A low-pass that leaves the share g of white noise's standard deviation makes L = 1/g², since the mean
//! of a long stretch is as unsure as it was before.
//!
//! Between many samples (n ≫ L) and few (n ≪ L, where noise is a smooth curve) the functions below join the two limits. The limit of few takes the spectrum of a second-order Butterworth low-pass run both
//! ways, |H|⁴ = 1/(1 + x⁴)² with x = f/f_c: its mean squares of x² and x⁴ are both ⅓ and L = 0.6·rate/f_c. The join is
//! ours. Checked: seeded noise filtered with 6 to 100 Hz at 1000 Hz, windows of 5 to 400 samples.

/// Noise of a plate's Fx … Mz, plate axes, about the surface centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Noise {
    /// Standard deviation of one sample, N and N·m.
    pub sigma: [f64; 6],
    /// Samples for each independent one: 1 for white noise, never less.
    pub length: [f64; 6],
}

impl Default for Noise {
    fn default() -> Self {
        Self::white([0.0; 6])
    }
}

impl Noise {
    /// Independent from sample to sample.
    pub fn white(sigma: [f64; 6]) -> Self {
        Self { sigma, length: [1.0; 6] }
    }
}

/// Variance of the mean of `n` samples, in that of one. `length`: samples for each independent one.
///
/// Exact for white noise and for one sample. `n` may be any positive number (an integral's ends count half).
#[must_use]
pub fn mean_var(n: f64, length: f64) -> f64 {
    let length = length.max(1.0);
    length / (n * n + length * length - 1.0).sqrt()
}

/// Variance of the difference of the means of two neighbouring stretches of `n` samples, in that of one sample.
///
/// From the mean of both together, whose variance is ½(var + covariance): 4·(mean of n − mean of 2n).
#[must_use]
pub fn step_var(n: f64, length: f64) -> f64 {
    4.0 * (mean_var(n, length) - mean_var(2.0 * n, length))
}

/// Variance of the slope of a straight line fitted to `n` samples, per sample², in the variance of one.
///
/// White noise: 12/(n³ − n), exactly. Few samples: the mean square of the derivative, (2π·0.6/L)²/3 = 4.74/L².
#[must_use]
pub fn slope_var(n: f64, length: f64) -> f64 {
    let l = length.max(1.0);
    let (many, few) = ((n * n * n - n) / 12.0, (l * l * l - 1.0) / 4.74);
    l / (many + few)
}

/// Variance of the square term of a parabola fitted to `n` samples, per sample⁴, in the variance of one.
///
/// White noise: 180/(n(n² − 1)(n² − 4)), exactly. Few samples: a quarter of the mean square of the second derivative,
/// (2π·0.6/L)⁴/12 = 16.8/L⁴.
#[must_use]
pub fn bend_var(n: f64, length: f64) -> f64 {
    let l = length.max(1.0);
    let (many, few) = (n * (n * n - 1.0) * (n * n - 4.0) / 180.0, (l * l * l * l * l - 1.0) / 16.8);
    // Between the limits it is far below both.
    let root = many.max(0.0).sqrt() + few.sqrt();
    l / (root * root)
}

#[cfg(test)]
mod tests {
    use super::*;
    use signal::filter::{Band, ShortRuns, butterworth_both_ways, noise_gain, zero_phase};

    /// White: the sums of squares of the weights, by hand.
    #[test]
    fn white_noise_is_exact() {
        for n in [3_u32, 10, 101] {
            let (many, middle) = (f64::from(n), f64::from(n - 1) / 2.0);
            let x2: f64 = (0..n).map(|i| (f64::from(i) - middle) * (f64::from(i) - middle)).sum();
            assert!((mean_var(many, 1.0) * many - 1.0).abs() < 1e-12);
            assert!((step_var(many, 1.0) * many / 2.0 - 1.0).abs() < 1e-12);
            assert!((slope_var(many, 1.0) * x2 - 1.0).abs() < 1e-12);
            let even = |i: u32| (f64::from(i) - middle) * (f64::from(i) - middle) - x2 / many;
            let x4: f64 = (0..n).map(|i| even(i) * even(i)).sum();
            assert!((bend_var(many, 1.0) * x4 - 1.0).abs() < 1e-9);
        }
        assert_eq!(mean_var(1.0, 40.0), 1.0);
    }

    /// Sums of twelve uniform numbers of an integer generator (constants: Knuth, The Art of Computer Programming 2, 3.3.4).
    fn noise(samples: usize) -> Vec<f64> {
        let mut s = 5_u64;
        let mut uniform = || {
            s = s.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (s >> 11) as f64 / (1_u64 << 53) as f64
        };
        (0..samples).map(|_| (0..12).map(|_| uniform()).sum::<f64>() - 6.0).collect()
    }

    /// Weighted sums over windows that overlap, root mean square.
    fn seen(x: &[f64], weights: &[f64]) -> f64 {
        let sums = x.windows(weights.len()).step_by(1 + weights.len() / 8);
        let (mut sum, mut count) = (0.0, 0.0);
        for window in sums {
            let one: f64 = window.iter().zip(weights).map(|(v, w)| v * w).sum();
            sum += one * one;
            count += 1.0;
        }
        (sum / count).sqrt()
    }

    /// Filtered noise of 100 s, cut-offs and windows around each other: each standard deviation within 0.9 to 1.2 of what is seen.
    #[test]
    fn filtered_noise_is_as_seen() {
        let white = noise(100_000);
        for cut_off_hz in [6.0, 20.0, 50.0, 100.0] {
            let sections = butterworth_both_ways(2, Band::Low(cut_off_hz), 1000.0).expect("a filter");
            let mut x = white.clone();
            zero_phase(&sections, &mut x, ShortRuns::Drop, &mut Vec::new());
            let sigma = noise_gain(&sections);
            let length = 1.0 / (sigma * sigma);
            for n in [5_usize, 9, 17, 25, 51, 101, 201, 401] {
                let many = n as f64;
                let at = |i: usize| i as f64 - (many - 1.0) / 2.0;
                let x2: f64 = (0..n).map(|i| at(i) * at(i)).sum();
                let even = |i: usize| at(i) * at(i) - x2 / many;
                let x4: f64 = (0..n).map(|i| even(i) * even(i)).sum();
                let weights = |w: &dyn Fn(usize) -> f64| (0..n).map(w).collect::<Vec<f64>>();
                let step: Vec<f64> =
                    (0..2 * n).map(|i| if i < n { -1.0 / many } else { 1.0 / many }).collect();
                let rows = [
                    ("mean", weights(&|_| 1.0 / many), mean_var(many, length)),
                    ("step", step, step_var(many, length)),
                    ("slope", weights(&|i| at(i) / x2), slope_var(many, length)),
                    ("bend", weights(&|i| even(i) / x4), bend_var(many, length)),
                ];
                for (name, weights, told) in rows {
                    let ratio = sigma * told.sqrt() / seen(&x, &weights);
                    // A step over no more than the length is stated wide, as are slopes and bends about it.
                    let most = if name == "mean" { 1.07 } else { 1.2 };
                    assert!(ratio > 0.9 && ratio < most, "{name}, {cut_off_hz} Hz, {n}: {ratio}");
                }
            }
        }
    }
}
