//! Eigenvalues and eigenvectors of a symmetric matrix.

/// Eigenvalues, the greatest first, with their eigenvectors of unit length.
///
/// Shape: `matrix` in rows, n × n, symmetric; what comes is a vector of length n an eigenvalue. Deterministic: rotations in a fixed
/// order. Undefined: NaN in, NaN out. Source: Jacobi's cyclic rotations (GolubVanLoan2013 ch. 8.5).
/// Checked: closed forms and by putting the matrix together again, in the tests.
pub fn symmetric(mut matrix: Vec<Vec<f64>>) -> Vec<(f64, Vec<f64>)> {
    const SWEEPS: usize = 60;
    let n = matrix.len();
    let mut vectors: Vec<Vec<f64>> =
        (0..n).map(|k| (0..n).map(|j| f64::from(u8::from(j == k))).collect()).collect();
    let size: f64 = matrix.iter().flatten().map(|v| v * v).sum();
    for _ in 0..SWEEPS {
        let off: f64 =
            (0..n).flat_map(|p| (0..p).map(move |q| (p, q))).map(|(p, q)| matrix[p][q] * matrix[p][q]).sum();
        if off <= 1e-30 * size || off.is_nan() {
            break;
        }
        for p in 0..n {
            for q in p + 1..n {
                if matrix[p][q] != 0.0 {
                    rotate(&mut matrix, &mut vectors, p, q);
                }
            }
        }
    }
    let mut found: Vec<(f64, Vec<f64>)> =
        vectors.into_iter().enumerate().map(|(k, v)| (matrix[k][k], v)).collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found
}

/// Turns the plane of rows p and q so that their element becomes nothing.
fn rotate(matrix: &mut [Vec<f64>], vectors: &mut [Vec<f64>], p: usize, q: usize) {
    let (app, aqq, apq) = (matrix[p][p], matrix[q][q], matrix[p][q]);
    let half = (aqq - app) / (2.0 * apq);
    let tangent = half.signum() / (half.abs() + (1.0 + half * half).sqrt());
    let cosine = 1.0 / (1.0 + tangent * tangent).sqrt();
    let sine = tangent * cosine;
    // Rows first (they lie together), then the symmetric columns.
    let turned = |a: f64, b: f64| (cosine * a - sine * b, sine * a + cosine * b);
    let (upper, lower) = matrix.split_at_mut(q);
    for (a, b) in upper[p].iter_mut().zip(lower[0].iter_mut()) {
        (*a, *b) = turned(*a, *b);
    }
    let (upper, lower) = vectors.split_at_mut(q);
    for (a, b) in upper[p].iter_mut().zip(lower[0].iter_mut()) {
        (*a, *b) = turned(*a, *b);
    }
    for row in matrix.iter_mut() {
        (row[p], row[q]) = turned(row[p], row[q]);
    }
    (matrix[p][p], matrix[q][q]) = (app - tangent * apq, aqq + tangent * apq);
    (matrix[p][q], matrix[q][p]) = (0.0, 0.0);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::Chance;
    use signal::math;

    /// Second differences of n points have eigenvalues 2 − 2·cos(kπ/(n + 1)) (textbook).
    #[test]
    fn a_closed_form() {
        let n = 12;
        let at = |p: usize, q: usize| match p.abs_diff(q) {
            0 => 2.0,
            1 => -1.0,
            _ => 0.0,
        };
        let found = symmetric((0..n).map(|p| (0..n).map(|q| at(p, q)).collect()).collect());
        for (k, (value, vector)) in found.iter().rev().enumerate() {
            let expected = 2.0 - 2.0 * math::cos((k + 1) as f64 * std::f64::consts::PI / (n + 1) as f64);
            assert!((value - expected).abs() < 1e-13, "{k}");
            assert!((vector.iter().map(|v| v * v).sum::<f64>() - 1.0).abs() < 1e-13);
        }
    }

    /// Σ λ·v·vᵀ is the matrix again; ones that repeat, and one of nothing, are no trouble.
    #[test]
    fn put_together_again() {
        let mut chance = Chance::new(1, 0);
        let rows: Vec<Vec<f64>> =
            (0..5).map(|_| (0..9).map(|_| chance.below(100) as f64 - 50.0).collect()).collect();
        let at = |p: usize, q: usize| rows.iter().map(|r| r[p] * r[q]).sum::<f64>();
        let matrix: Vec<Vec<f64>> = (0..9).map(|p| (0..9).map(|q| at(p, q)).collect()).collect();
        let found = symmetric(matrix.clone());
        for p in 0..9 {
            for q in 0..9 {
                let again: f64 = found.iter().map(|(value, v)| value * v[p] * v[q]).sum();
                assert!((again - matrix[p][q]).abs() < 1e-8 * found[0].0);
            }
        }
        assert!(found[5].0.abs() < 1e-9 * found[0].0, "of rank five");
        assert_eq!(symmetric(vec![vec![0.0; 2]; 2])[0].0, 0.0);
        assert!(symmetric(Vec::new()).is_empty());
        assert!(symmetric(vec![vec![f64::NAN; 2]; 2])[0].0.is_nan());
    }
}
