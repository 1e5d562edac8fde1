//! Stretches of a curve beyond a threshold.
use std::ops::Range;

/// A stretch beyond the threshold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cluster {
    /// Where it begins, nodes, where the curve crosses the threshold (straight between nodes).
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// True where it lies above, false below.
    pub above: bool,
    /// The node where the statistic is farthest out.
    pub peak: usize,
    /// The statistic there.
    pub peak_statistic: f64,
    /// Area between curve and threshold, nodes times the statistic's unit (trapezoids of the nodes' heights).
    pub mass: f64,
    /// Probability of such a stretch by chance, anywhere along the curve: as long by random field theory, of as much mass by
    /// permutation.
    pub p: f64,
}

/// Stretches beyond a threshold in order, to either side where `both`; p is not yet known.
pub(super) fn beyond(curve: &[f64], tested: &[Range<usize>], threshold: f64, both: bool) -> Vec<Cluster> {
    let mut out = Vec::new();
    side(curve, tested, threshold, 1.0, &mut out);
    if both {
        side(curve, tested, threshold, -1.0, &mut out);
        out.sort_by(|a, b| a.from.total_cmp(&b.from));
    }
    out
}

fn side(curve: &[f64], tested: &[Range<usize>], threshold: f64, sign: f64, out: &mut Vec<Cluster>) {
    let at = |q: usize| curve.get(q).map_or(f64::NAN, |v| sign * v);
    for stretch in tested {
        let mut q = stretch.start;
        while q < stretch.end {
            let outside = !matches!(at(q).partial_cmp(&threshold), Some(std::cmp::Ordering::Greater));
            if outside {
                q += 1;
                continue;
            }
            let (first, mut peak, mut mass) = (q, q, 0.0);
            while q < stretch.end && at(q) > threshold {
                if at(q) > at(peak) {
                    peak = q;
                }
                let end = (q == stretch.start) != (q + 1 == stretch.end);
                mass += if end { 0.5 } else { 1.0 } * (at(q) - threshold);
                q += 1;
            }
            let last = q - 1;
            // From the node outside to the one inside, where the line crosses.
            let crossing = |outside: usize, inside: usize| {
                let part = (threshold - at(outside)) / (at(inside) - at(outside));
                outside as f64 + part * (inside as f64 - outside as f64)
            };
            let from = if first > stretch.start { crossing(first - 1, first) } else { first as f64 };
            let to = if last + 1 < stretch.end { crossing(last + 1, last) } else { last as f64 };
            let peak_statistic = sign * at(peak);
            out.push(Cluster { from, to, above: sign > 0.0, peak, peak_statistic, mass, p: f64::NAN });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand.
    #[test]
    fn crossings_and_masses() {
        let curve = [3.0, 1.0, 0.0, 2.0, 4.0, 1.0, f64::NAN, -3.0, -1.0, 5.0];
        let found = beyond(&curve, &[0..6, 7..9, 9..10], 1.5, true);
        let told: Vec<_> = found.iter().map(|c| (c.from, c.to, c.above, c.peak, c.mass)).collect();
        assert_eq!(
            told,
            [
                (0.0, 0.75, true, 0, 0.75),
                (2.75, 5.0 - 0.5 / 3.0, true, 4, 3.0),
                (7.0, 7.75, false, 7, 0.75),
                (9.0, 9.0, true, 9, 3.5),
            ]
        );
        assert_eq!(found[2].peak_statistic, -3.0);
        assert_eq!(beyond(&curve, &[0..6, 7..9, 9..10], 1.5, false).len(), 3);
        let all = [0..6, 7..9];
        assert!(beyond(&curve, &all, f64::INFINITY, true).is_empty());
        assert!(beyond(&curve, &all, f64::NAN, true).is_empty());
    }
}
