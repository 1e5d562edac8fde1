//! A straight line through points, by least squares.

/// A straight line and how well it fits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Rise of y for each unit of x.
    pub slope: f64,
    /// y at x = 0.
    pub intercept: f64,
    /// Share of the variance of y that the line explains, 0..=1; NaN where y does not vary.
    pub r2: f64,
    /// Standard error of the slope from the scatter about the line, which must be free from point to point;
    /// NaN for two points.
    pub slope_error: f64,
    /// Points used.
    pub points: usize,
}

/// The line y = intercept + slope·x through the points of which both places are finite.
///
/// Unit: those of x and y. `None`: fewer than two such points, or all at one x. Source: definition of least squares,
/// sums about the means so that a large mean costs no digits. Checked: refs/calculus.toml (`scipy.stats.linregress`).
#[must_use]
pub fn fit(points: impl Iterator<Item = (f64, f64)> + Clone) -> Option<Line> {
    let points = points.filter(|(x, y)| x.is_finite() && y.is_finite());
    let (count, sum_x, sum_y) = points.clone().fold((0, 0.0, 0.0), |(n, a, b), (x, y)| (n + 1, a + x, b + y));
    let n = count as f64;
    let (mean_x, mean_y) = (sum_x / n, sum_y / n);
    let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
    for (x, y) in points.clone() {
        let (u, v) = (x - mean_x, y - mean_y);
        xx += u * u;
        yy += v * v;
        xy += u * v;
    }
    if count < 2 || !(xx > 0.0 && xx.is_finite()) {
        return None;
    }
    let slope = xy / xx;
    let intercept = mean_y - slope * mean_x;
    // The scatter is summed itself: the difference of two sums would lose it where the line is good.
    let scatter: f64 = points.map(|(x, y)| (y - mean_y) - slope * (x - mean_x)).map(|e| e * e).sum();
    let slope_error = if count > 2 { (scatter / (n - 2.0) / xx).sqrt() } else { f64::NAN };
    Some(Line { slope, intercept, r2: 1.0 - scatter / yy, slope_error, points: count })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: means 2 and 3, of the points (1, 2), (2, 2), (3, 5):
    /// slope 3/2, intercept 0, scatter ½² + 1² + ½² = 1.5, yy = 6, r² = 0.75, slope error √(1.5/1/2).
    #[test]
    fn three_points_by_hand() {
        let points = [(1.0, 2.0), (f64::NAN, 9.0), (2.0, 2.0), (3.0, 5.0), (4.0, f64::INFINITY)];
        let line = fit(points.into_iter()).unwrap();
        assert_eq!((line.slope, line.intercept, line.r2, line.points), (1.5, 0.0, 0.75, 3));
        assert!((line.slope_error - 0.75_f64.sqrt()).abs() < 1e-15);
    }

    #[test]
    fn too_little_for_a_line() {
        assert_eq!(fit([].into_iter()), None);
        assert_eq!(fit([(1.0, 1.0)].into_iter()), None);
        assert_eq!(fit([(1.0, 1.0), (1.0, 2.0)].into_iter()), None);
        let level = fit([(0.0, 4.0), (1.0, 4.0)].into_iter()).unwrap();
        assert_eq!((level.slope, level.intercept), (0.0, 4.0));
        assert!(level.r2.is_nan() && level.slope_error.is_nan());
    }
}
