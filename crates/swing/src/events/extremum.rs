//! Where a sampled curve peaks or crosses, between samples, and how sure that is.

/// The vertex of the least-squares parabola through the samples −`reach`..=`reach` in samples, σ, and the vertex's
/// standard uncertainty in samples. `None` where the curve is not bent, or the vertex lies outside.
///
/// y = a + b t + c t²; vertex −b/2c. With errors of standard deviation σ, var b = σ²/Σt², so u = σ/(2|c|√Σt²): first
/// order. σ is what the samples leave over the parabola, or `noise` where that is more.
/// Source: least squares on an even grid, any textbook.
pub(super) fn parabola(reach: isize, y: impl Fn(isize) -> f64, noise: f64) -> Option<(f64, f64, f64)> {
    let (mut s2, mut s4, mut n) = (0.0, 0.0, 0.0);
    let (mut y0, mut y1, mut y2) = (0.0, 0.0, 0.0);
    for i in -reach..=reach {
        let (t, v) = (i as f64, y(i));
        let tt = t * t;
        (s2, s4, n) = (s2 + tt, s4 + tt * tt, n + 1.0);
        (y0, y1, y2) = (y0 + v, y1 + v * t, y2 + v * tt);
    }
    let b = y1 / s2;
    let c = (n * y2 - s2 * y0) / (n * s4 - s2 * s2);
    let a = (y0 - c * s2) / n;
    let vertex = -b / (2.0 * c);
    if vertex.is_nan() || vertex.abs() > reach as f64 {
        return None;
    }
    let left: f64 = (-reach..=reach)
        .map(|i| {
            let t = i as f64;
            let r = y(i) - (a + b * t + c * t * t);
            r * r
        })
        .sum();
    let sigma = (left / (n - 3.0).max(1.0)).sqrt().max(noise);
    Some((vertex, sigma, sigma / (2.0 * c.abs() * s2.sqrt())))
}

/// Where the least-squares line through the samples −`reach`..=`reach` crosses nothing, and its standard
/// uncertainty, in samples. `None` where it does not cross there.
///
/// y = a + b t; crossing −a/b; var a = σ²/n, var b = σ²/Σt², independent on an even grid.
pub(super) fn line(reach: isize, y: impl Fn(isize) -> f64) -> Option<(f64, f64)> {
    let (mut s2, mut n, mut y0, mut y1) = (0.0, 0.0, 0.0, 0.0);
    for i in -reach..=reach {
        let (t, v) = (i as f64, y(i));
        (s2, n, y0, y1) = (s2 + t * t, n + 1.0, y0 + v, y1 + v * t);
    }
    let (a, b) = (y0 / n, y1 / s2);
    let at = -a / b;
    if at.is_nan() || at.abs() > reach as f64 {
        return None;
    }
    let left: f64 = (-reach..=reach).map(|i| y(i) - a - b * i as f64).map(|r| r * r).sum();
    let sigma = (left / (n - 2.0).max(1.0)).sqrt();
    Some((at, sigma / b.abs() * (1.0 / n + at * at / s2).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn vertex_and_crossing_by_hand() {
        // 5 − 2 (t − 0.3)²: vertex 0.3, exactly.
        let (at, _, u) = parabola(3, |i| 5.0 - 2.0 * (i as f64 - 0.3).powi(2), 0.0).unwrap();
        assert!((at - 0.3).abs() < 1e-12 && u < 1e-12);
        // σ = 0.5, c = −2, Σt² = 28: u = 0.5/(4 √28).
        let (_, _, u) = parabola(3, |i| 5.0 - 2.0 * (i as f64 - 0.3).powi(2), 0.5).unwrap();
        assert!((u - 0.5 / (4.0 * 28.0_f64.sqrt())).abs() < 1e-12);
        assert_eq!(parabola(3, |i| i as f64, 0.1), None);
        assert_eq!(parabola(3, |_| f64::NAN, 0.1), None);
        let (at, u) = line(2, |i| 3.0 * (i as f64 - 0.7)).unwrap();
        assert!((at - 0.7).abs() < 1e-12 && u < 1e-9);
        assert_eq!(line(2, |i| i as f64 + 9.0), None);
    }
}
