//! Whether values have one hump or more: Hartigans' dip.

/// A value that occurs, with the share of values below it, and of those at or below.
#[derive(Clone, Copy)]
struct Step {
    at: f64,
    before: f64,
    after: f64,
}

/// The dip: how far the values' distribution lies from the nearest one with a single hump.
///
/// Unit: 1, from 1/(2n) to a quarter. Undefined: NaN with no value, or with one that is not defined. Source: HartiganHartigan1985: the
/// interval of the hump is narrowed from both sides, between the greatest curve under the distribution that bends up and the
/// least one above it that bends down. Checked: the package diptest (refs/cohort.toml), by hand in the tests.
pub fn dip(values: &[f64]) -> f64 {
    let n = values.len();
    if n == 0 || values.iter().any(|v| v.is_nan()) {
        return f64::NAN;
    }
    let mut ordered = values.to_vec();
    ordered.sort_unstable_by(f64::total_cmp);
    let mut steps: Vec<Step> = Vec::with_capacity(n);
    let mut so_far = 0;
    for run in ordered.chunk_by(|a, b| a == b) {
        let before = so_far as f64 / n as f64;
        so_far += run.len();
        steps.push(Step {
            at: run.first().copied().unwrap_or(f64::NAN),
            before,
            after: so_far as f64 / n as f64,
        });
    }
    // Twice the dip so far.
    let mut width = 1.0 / n as f64;
    let (mut low, mut high) = (0, steps.len() - 1);
    while let Some(part) = steps.get(low..=high) {
        let under = bound(part, |s| s.before, 1.0);
        let over = bound(part, |s| s.after, -1.0);
        let apart = |k: &usize| over.values[*k] - under.values[*k];
        let widest =
            |of: &[usize]| of.iter().copied().fold(0, |b, k| if apart(&k) > apart(&b) { k } else { b });
        let (of_under, of_over) = (widest(&under.corners), widest(&over.corners));
        let (left, right) = if apart(&of_under) >= apart(&of_over) {
            (of_under, over.corners.iter().copied().find(|k| *k >= of_under).unwrap_or(part.len() - 1))
        } else {
            (under.corners.iter().copied().rfind(|k| *k <= of_over).unwrap_or(0), of_over)
        };
        if apart(&of_under).max(apart(&of_over)) <= width {
            break;
        }
        // The hump itself may be a heap of equal values: there the distribution may jump.
        let rising = part.iter().zip(&under.values).take(left).map(|(s, u)| s.after - u);
        let falling = part.iter().zip(&over.values).skip(right + 1).map(|(s, o)| o - s.before);
        width = rising.chain(falling).fold(width, f64::max);
        if (left, right) == (0, part.len() - 1) {
            break;
        }
        (low, high) = (low + left, low + right);
    }
    0.5 * width
}

/// A curve through some of the steps' corners, straight between them.
struct Bound {
    corners: Vec<usize>,
    /// Its height at each step.
    values: Vec<f64>,
}

/// The greatest curve under the corners that bends up (`sign` 1), or the least one above them that bends down (−1).
fn bound(part: &[Step], height: fn(&Step) -> f64, sign: f64) -> Bound {
    let mut corners: Vec<usize> = Vec::with_capacity(part.len());
    let rise = |from: usize, to: usize| sign * (height(&part[to]) - height(&part[from]));
    let run = |from: usize, to: usize| part[to].at - part[from].at;
    for k in 0..part.len() {
        while let [.., a, b] = *corners.as_slice() {
            if rise(a, b) * run(a, k) < rise(a, k) * run(a, b) {
                break;
            }
            corners.pop();
        }
        corners.push(k);
    }
    let mut values = Vec::with_capacity(part.len());
    for pair in corners.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let slope = (height(&part[b]) - height(&part[a])) / run(a, b);
        values.extend((a..b).map(|k| height(&part[a]) + slope * run(a, k)));
    }
    values.extend(part.last().map(height));
    Bound { corners, values }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::Chance;

    /// By hand: evenly spaced values have the least dip there is, 1/(2n); two heaps far apart one of nearly a quarter: half on each
    /// side, where a straight line through their middle leaves a quarter at both.
    #[test]
    fn by_hand() {
        let even: Vec<f64> = (0..10).map(f64::from).collect();
        assert!((dip(&even) - 0.05).abs() < 1e-15);
        assert_eq!(dip(&[3.0]), 0.5);
        // diptest 0.12.0: 0.185185…
        assert!((dip(&[0.0, 0.1, 0.2, 0.5, 3.0, 3.2, 3.3, 3.35, 7.0]) - 5.0 / 27.0).abs() < 1e-12);
        let heaps = [vec![0.0; 50], vec![1.0; 50]].concat();
        assert!((dip(&heaps) - 0.25).abs() < 1e-12, "{}", dip(&heaps));
        assert!(dip(&[]).is_nan() && dip(&[1.0, f64::NAN]).is_nan());
    }

    /// Of 50 uniform values 95 % have a dip under 0.0702 (the 95 % point in the tables of HartiganHartigan1985, as the R package
    /// diptest has them).
    #[test]
    fn the_table_of_its_authors() {
        let over = (0..8000)
            .filter(|k| {
                let mut chance = Chance::new(4, *k);
                let values: Vec<f64> = (0..50).map(|_| chance.below(1 << 40) as f64).collect();
                dip(&values) > 0.0702
            })
            .count();
        assert!((330..=490).contains(&over), "{over} of 8000");
    }
}
