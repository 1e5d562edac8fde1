//! White noise in a column that also moves.

/// Standard deviation of the white noise in a column, from its third differences.
///
/// Shape: any length. Unit: that of the column. A movement smooth over four samples all but vanishes from
/// x\[i+3\] − 3x\[i+2\] + 3x\[i+1\] − x\[i\], and white noise comes out with variance 1 + 9 + 9 + 1 = 20 times its own. The
/// median of the sizes stands for the standard deviation (divided by 0.6745, the normal distribution's), so that
/// spikes and impacts do not count. A difference that touches a value not finite is left out. Noise that is
/// not white counts by what it has near half the rate: a column that was filtered on the way shows too little.
/// Where most differences are 0, so is the answer: the noise is then below the column's last digit.
/// Undefined: NaN where no difference is defined. Source: differences of rising order are textbook time-series
/// practice, no source; 0.6745 is the upper quartile of the normal distribution. Checked: seeded noise of known size on a movement.
#[must_use]
pub fn white_noise(column: &[f64]) -> f64 {
    let third = |w: &[f64]| (w[3] - w[0] - 3.0 * (w[2] - w[1])).abs();
    let sizes: Vec<f64> = column.windows(4).map(third).filter(|d| d.is_finite()).collect();
    let median = crate::stats::median(&sizes, &mut Vec::new());
    median / (UPPER_QUARTILE * 20.0_f64.sqrt())
}

/// Of the standard normal distribution.
const UPPER_QUARTILE: f64 = 0.674_489_750_196_081_7;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math;
    use crate::testing::normal;

    /// 0.8 N of noise on a swing of hundreds of newtons, with impacts and a gap.
    #[test]
    fn noise_under_a_movement() {
        let mut draw = normal(7);
        let mut x: Vec<f64> =
            (0..6000).map(|i| 700.0 + 400.0 * math::sin(f64::from(i) / 150.0) + 0.8 * draw()).collect();
        x[1000] += 500.0;
        x[2000..2100].fill(f64::NAN);
        x[3000] = f64::INFINITY;
        let sigma = white_noise(&x);
        assert!((sigma / 0.8 - 1.0).abs() < 0.05, "{sigma}");
    }

    #[test]
    fn cubes_vanish_and_little_is_nothing() {
        let parabola: Vec<f64> = (0..20).map(|i| f64::from(i * i - 3 * i)).collect();
        assert_eq!(white_noise(&parabola), 0.0);
        assert!(white_noise(&[1.0, 2.0, 3.0]).is_nan() && white_noise(&[]).is_nan());
        assert!(white_noise(&[1.0, 2.0, f64::NAN, 3.0, 4.0, 5.0]).is_nan());
        // Third difference −1: 1/(0.6745·√20), by hand.
        assert!((white_noise(&[1.0, 0.0, 0.0, 0.0]) - 0.331_520).abs() < 1e-6);
    }
}
