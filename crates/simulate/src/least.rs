//! The least vector that satisfies a few linear equations.

/// The shortest x with A x = b, where A has full row rank: x = Aᵀ (A Aᵀ)⁻¹ b.
///
/// Shape: `rows[i]` is a row of A, all of one length; `b` has one entry a row. `None` where the rows depend on
/// one another. One step of refinement is made.
/// Source: Golub & Van Loan, Matrix Computations, full-rank underdetermined systems.
pub fn least(rows: &[Vec<f64>], b: &[f64]) -> Option<Vec<f64>> {
    let gram: Vec<Vec<f64>> = rows.iter().map(|r| rows.iter().map(|s| dot(r, s)).collect()).collect();
    let back = |y: &[f64]| -> Vec<f64> {
        let width = rows.first().map_or(0, Vec::len);
        (0..width).map(|k| rows.iter().zip(y).map(|(r, y)| r[k] * y).sum()).collect()
    };
    let mut x = back(&solve(gram.clone(), b.to_vec())?);
    let left: Vec<f64> = rows.iter().zip(b).map(|(r, b)| b - dot(r, &x)).collect();
    for (x, more) in x.iter_mut().zip(back(&solve(gram, left)?)) {
        *x += more;
    }
    Some(x)
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Gauss with rows exchanged for the largest pivot, after each row is scaled to 1. `None` for a singular matrix.
fn solve(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Option<Vec<f64>> {
    let n = b.len();
    for (row, b) in a.iter_mut().zip(&mut b) {
        let scale = row.iter().fold(0.0f64, |m, v| m.max(v.abs()));
        if !(scale > 0.0 && scale.is_finite()) {
            return None;
        }
        row.iter_mut().for_each(|v| *v /= scale);
        *b /= scale;
    }
    for k in 0..n {
        let pivot = (k..n).max_by(|&i, &j| a[i][k].abs().total_cmp(&a[j][k].abs()))?;
        if a[pivot][k].abs() < 1e-13 {
            return None;
        }
        a.swap(k, pivot);
        b.swap(k, pivot);
        let (done, below) = a.split_at_mut(k + 1);
        let pivot_row = &done[k];
        let pivot_b = b[k];
        for (row, b) in below.iter_mut().zip(&mut b[k + 1..]) {
            let factor = row[k] / pivot_row[k];
            for (v, p) in row.iter_mut().zip(pivot_row) {
                *v -= factor * p;
            }
            *b -= factor * pivot_b;
        }
    }
    let mut x = vec![0.0; n];
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|j| a[k][j] * x[j]).sum();
        x[k] = (b[k] - known) / a[k][k];
    }
    Some(x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shortest_point_of_a_line_and_of_a_plane() {
        // By hand: the foot of the perpendicular from 0 to x + 2y = 5 is (1, 2).
        let x = least(&[vec![1.0, 2.0]], &[5.0]).unwrap();
        assert!((x[0] - 1.0).abs() < 1e-15 && (x[1] - 2.0).abs() < 1e-15);
        // By hand: 2x + y = 3 and x − y = 0 meet in (1, 1).
        let x = least(&[vec![2.0, 1.0], vec![1.0, -1.0]], &[3.0, 0.0]).unwrap();
        assert!((x[0] - 1.0).abs() < 1e-14 && (x[1] - 1.0).abs() < 1e-14);
        assert_eq!(least(&[vec![1.0, 2.0], vec![2.0, 4.0]], &[1.0, 2.0]), None);
    }
}
