//! The hills of a curve: where it has peaks that stand out.

/// A peak.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peak {
    /// Its node; the middle of a level top.
    pub node: usize,
    /// Its height.
    pub height: f64,
    /// How far one must come down from it before one can climb higher; from the highest, to the lower of the two sides' lowest.
    pub prominence: f64,
}

/// Peaks whose prominence is at least a share of the curve's whole range, in order along it.
///
/// Unit: that of the curve. A rise at an end is no peak, and a peak lies within one stretch between gaps. Undefined: none where
/// nothing is defined or the curve is level. Source: prominence as of mountains (common practice; Checked: scipy's `find_peaks` in
/// refs/cohort.toml).
pub fn peaks(curve: &[f64], share: f64) -> Vec<Peak> {
    let defined = || curve.iter().copied().filter(|v| !v.is_nan());
    let range = defined().fold(f64::NEG_INFINITY, f64::max) - defined().fold(f64::INFINITY, f64::min);
    let mut found = Vec::new();
    for stretch in signal::runs::finite(curve) {
        let Some(part) = curve.get(stretch.clone()) else { continue };
        let tops = tops(part).into_iter().map(|(node, height)| Peak {
            node: stretch.start + node,
            height,
            prominence: prominence(part, node, height),
        });
        found.extend(tops.filter(|p| p.prominence > 0.0 && p.prominence >= share * range));
    }
    found
}

/// Local maxima: nodes, or the middles of level stretches, with lower ground on both sides.
fn tops(part: &[f64]) -> Vec<(usize, f64)> {
    let mut found = Vec::new();
    let mut from = 0;
    for level in part.chunk_by(|a, b| a == b) {
        let (to, height) = (from + level.len(), level.first().copied().unwrap_or(f64::NAN));
        let lower = |k: Option<usize>| k.and_then(|k| part.get(k)).is_some_and(|v| *v < height);
        if lower(from.checked_sub(1)) && lower(Some(to)) {
            found.push(((from + to - 1) / 2, height));
        }
        from = to;
    }
    found
}

fn prominence(part: &[f64], node: usize, height: f64) -> f64 {
    let lowest = |side: &mut dyn Iterator<Item = &f64>| {
        side.take_while(|v| **v <= height).fold(height, |low, v| low.min(*v))
    };
    let (before, after) = part.split_at(node.min(part.len()));
    let base = lowest(&mut before.iter().rev()).max(lowest(&mut after.iter()));
    height - base
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: the saddle between 5 and 4 lies at 1; the highest one stands over the higher of its two feet.
    #[test]
    fn by_hand() {
        let curve = [0.0, 5.0, 1.0, 4.0, 4.0, 2.0, 2.5, 2.0, 9.0];
        let found = peaks(&curve, 0.0);
        let told: Vec<(usize, f64, f64)> = found.iter().map(|p| (p.node, p.height, p.prominence)).collect();
        assert_eq!(told, [(1, 5.0, 4.0), (3, 4.0, 2.0), (6, 2.5, 0.5)]);
        assert_eq!(peaks(&curve, 0.2).len(), 2, "a fifth of the range of nine");
        let gap = [0.0, 2.0, f64::NAN, 1.0, 3.0, 1.0];
        assert_eq!(peaks(&gap, 0.1), [Peak { node: 4, height: 3.0, prominence: 2.0 }], "an end is no peak");
        assert!(
            peaks(&[1.0; 5], 0.1).is_empty()
                && peaks(&[], 0.1).is_empty()
                && peaks(&[f64::NAN], 0.1).is_empty()
        );
    }
}
