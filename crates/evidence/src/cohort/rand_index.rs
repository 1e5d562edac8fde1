//! How far two ways of putting the same units into groups agree.

/// Adjusted Rand index: 1 where they agree, about 0 where they agree as often as chance would have them.
///
/// Shape: a label a unit, both of one length; what a label is called does not matter. Unit: 1. Undefined: NaN with no
/// unit or unequal lengths; 1 where both put all into one group, or each unit into its own. Source: HubertArabie1985. Checked: scikit-learn's
/// `adjusted_rand_score` in the tests and in refs/cohort.toml.
pub fn adjusted(first: &[usize], second: &[usize]) -> f64 {
    if first.len() != second.len() || first.is_empty() {
        return f64::NAN;
    }
    let pairs = |n: usize| (n * n.saturating_sub(1)) as f64 / 2.0;
    // Pairs within runs of equal labels in an ordered list.
    fn within<T: PartialEq>(
        mut list: Vec<T>,
        order: fn(&T, &T) -> std::cmp::Ordering,
        pairs: &dyn Fn(usize) -> f64,
    ) -> f64 {
        list.sort_by(order);
        list.chunk_by(|a, b| a == b).map(|run| pairs(run.len())).sum()
    }
    let together = within(first.iter().copied().zip(second.iter().copied()).collect(), Ord::cmp, &pairs);
    let (in_first, in_second) =
        (within(first.to_vec(), Ord::cmp, &pairs), within(second.to_vec(), Ord::cmp, &pairs));
    let expected = in_first * in_second / pairs(first.len());
    let most = 0.5 * (in_first + in_second);
    if most == expected || first.len() == 1 { 1.0 } else { (together - expected) / (most - expected) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scikit-learn 1.9.1, `adjusted_rand_score`; the third is its documentation's 0.57.
    #[test]
    fn worked_values() {
        let near = |a: &[usize], b: &[usize], expected: f64| {
            let found = adjusted(a, b);
            assert!((found - expected).abs() < 1e-12, "{found} {expected}");
            assert_eq!(found, adjusted(b, a));
        };
        near(&[0, 0, 1, 1], &[1, 1, 0, 0], 1.0);
        near(&[0, 0, 1, 2], &[0, 0, 1, 1], 0.571_428_571_428_571_4);
        near(&[0, 0, 0, 0], &[0, 1, 2, 3], 0.0);
        near(&[0, 0, 1, 1], &[0, 1, 0, 1], -0.5);
        near(&[7, 7, 7], &[1, 1, 1], 1.0);
        near(&[0, 1, 2], &[5, 3, 4], 1.0);
        assert!(adjusted(&[], &[]).is_nan() && adjusted(&[1], &[1, 2]).is_nan());
        assert_eq!(adjusted(&[1], &[2]), 1.0);
    }
}
