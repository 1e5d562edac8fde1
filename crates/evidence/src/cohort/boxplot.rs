//! Fences around curves: the functional boxplot.
use super::depth;
use crate::Spread;

/// How far the fences stand from the central region, in heights of that region. Source: SunGenton2011, as a boxplot's.
pub const FACTOR: f64 = 1.5;

/// The central half of curves, and the fences around it.
#[derive(Clone, Debug, PartialEq)]
pub struct Boxplot {
    /// The row of the deepest curve.
    pub median: usize,
    /// Lower edge of the central region, a value a node.
    pub central_low: Vec<f64>,
    /// Upper edge of the central region.
    pub central_high: Vec<f64>,
    /// Lower fence.
    pub low: Vec<f64>,
    /// Upper fence.
    pub high: Vec<f64>,
}

impl Boxplot {
    /// Nodes at which a curve lies beyond a fence, in order.
    pub fn beyond(&self, curve: &[f64]) -> Vec<usize> {
        let fences = self.low.iter().zip(&self.high);
        let outside = curve.iter().zip(fences).map(|(v, (low, high))| v < low || v > high);
        outside.enumerate().filter_map(|(q, out)| out.then_some(q)).collect()
    }
}

/// The functional boxplot of curves, one a subject.
///
/// Shape: rows of equal length. Unit: that of the curves. The central region is what the deeper half of the curves spans, by
/// modified band depth; of two as deep the earlier row comes first. Undefined: `None` with fewer than three curves that have a
/// depth; NaN at nodes where none of the deeper half is defined. Source: SunGenton2011. Checked: scikit-fda (refs/cohort.toml).
pub fn boxplot(rows: &[Vec<f64>], spread: &impl Spread) -> Option<Boxplot> {
    let depths = depth::modified_band(rows, spread);
    let mut order: Vec<(usize, f64)> =
        depths.iter().copied().enumerate().filter(|(_, d)| !d.is_nan()).collect();
    if order.len() < 3 {
        return None;
    }
    order.sort_by(|a, b| b.1.total_cmp(&a.1));
    let median = order.first()?.0;
    order.truncate(order.len().div_ceil(2));
    let nodes = rows.iter().map(Vec::len).min().unwrap_or(0);
    let span = |pick: fn(f64, f64) -> f64| -> Vec<f64> {
        let at =
            |q: usize| order.iter().filter_map(|(k, _)| rows.get(*k)?.get(q).copied()).fold(f64::NAN, pick);
        (0..nodes).map(at).collect()
    };
    // The least and the greatest leave out what is not defined.
    let (central_low, central_high) = (span(f64::min), span(f64::max));
    let fence = |side: f64| -> Vec<f64> {
        let from = if side < 0.0 { &central_low } else { &central_high };
        let height = central_low.iter().zip(&central_high).map(|(low, high)| high - low);
        from.iter().zip(height).map(|(edge, h)| edge + side * FACTOR * h).collect()
    };
    let (low, high) = (fence(-1.0), fence(1.0));
    Some(Boxplot { median, central_low, central_high, low, high })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;
    use crate::InTurn;

    /// Seven level curves: the middle four of them span the central region (by hand), the fences stand 1.5 heights off.
    #[test]
    fn by_hand() {
        let rows: Vec<Vec<f64>> = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0].iter().map(|v| vec![*v; 3]).collect();
        let found = boxplot(&rows, &InTurn).unwrap();
        // Depths 6, 11, 14, 15, 14, 11, 6 of 21 pairs: of the two that are 11/21 deep the earlier one is the fourth.
        assert_eq!((found.median, found.central_low[0], found.central_high[2]), (3, 1.0, 4.0));
        assert_eq!((found.low[1], found.high[1]), (1.0 - 4.5, 4.0 + 4.5));
        assert_eq!(found.beyond(&[9.0, 0.0, f64::NAN]), [0]);
        assert!(found.beyond(&rows[6]).is_empty());
        assert!(boxplot(&rows[..2], &InTurn).is_none());
    }
}
