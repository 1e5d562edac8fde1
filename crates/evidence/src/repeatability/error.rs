//! The error of one measurement, and how it falls when several are averaged.
use crate::interval::{Interval, of_standard_deviation};

/// The error of one measurement.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Error {
    /// Standard error of measurement (typical error, within-subject standard deviation), in the unit of the values.
    pub sem: Interval,
    /// Its degrees of freedom.
    pub degrees: f64,
    /// Least difference of two single measurements that is more than noise at the level: SEM·z·√2.
    pub detectable: Interval,
}

impl Error {
    pub(super) fn of(mean_square: f64, degrees: f64, level: f64) -> Self {
        let sem = of_standard_deviation(mean_square.max(0.0).sqrt(), degrees, level);
        let z = signal::student::quantile(0.5 * (1.0 + level), f64::INFINITY);
        Self { sem, degrees, detectable: sem.times(z * std::f64::consts::SQRT_2) }
    }

    /// Least difference of two means, of `n` and `m` measurements, that is more than noise.
    pub fn detectable_of_means(&self, n: usize, m: usize) -> f64 {
        self.detectable.value * (0.5 * (1.0 / n as f64 + 1.0 / m as f64)).sqrt()
    }
}

/// Standard error of a mean of n repeats, for n = 1, 2, …: how the error falls.
pub fn error_of_means(sem: f64, most: usize) -> Vec<f64> {
    (1..=most).map(|n| sem / (n as f64).sqrt()).collect()
}

/// How many repeats bring the standard error of a mean to `wanted` or under; `None` where no number does.
pub fn repeats_for(sem: f64, wanted: f64) -> Option<usize> {
    let n = (sem / wanted) * (sem / wanted);
    (n.is_finite() && n < 1e9).then(|| (n - 1e-9).ceil().max(1.0) as usize)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)] // tests may
    use super::super::nested;
    use super::*;

    #[test]
    fn means_settle_with_the_root_of_their_number() {
        assert_eq!(repeats_for(2.0, 1.0), Some(4));
        assert_eq!(repeats_for(2.0, 0.9), Some(5));
        assert_eq!(repeats_for(2.0, 0.0), None);
        assert!((error_of_means(3.0, 9)[8] - 1.0).abs() < 1e-12);
        let of =
            nested(&[vec![9., 2., 5., 8.], vec![6., 1., 3., 2.], vec![8., 4., 6., 8.]]).unwrap().error(0.95);
        assert!((of.detectable_of_means(1, 1) - of.detectable.value).abs() < 1e-12);
        assert!((of.detectable_of_means(4, 4) - 0.5 * of.detectable.value).abs() < 1e-12);
    }
}
