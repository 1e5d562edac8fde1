//! Runs of finite values: what is left of a column between its gaps.

use std::ops::Range;

/// The runs of finite values, first to last, as ranges of samples.
///
/// Shape: any length; nothing is allocated. NaN and infinite values belong to no run.
pub fn finite(column: &[f64]) -> impl Iterator<Item = Range<usize>> + '_ {
    let mut at = 0;
    std::iter::from_fn(move || {
        let start = at + column.get(at..)?.iter().position(|x| x.is_finite())?;
        let length = column.get(start..)?.iter().take_while(|x| x.is_finite()).count();
        at = start + length;
        Some(start..at)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn between_the_gaps() {
        let gap = f64::NAN;
        let found = |x: &[f64]| finite(x).collect::<Vec<_>>();
        assert_eq!(found(&[gap, 1.0, 2.0, f64::INFINITY, gap, 3.0]), [1..3, 5..6]);
        assert_eq!(found(&[1.0, gap]), [Range { start: 0, end: 1 }]);
        assert!(found(&[gap]).is_empty() && found(&[]).is_empty());
    }
}
