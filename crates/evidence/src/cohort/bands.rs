//! Centiles of curves, node by node.
use super::centile::{at_ranks, ranks};
use crate::{Interval, Spread};

/// A centile of curves.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// The share of curves that lies below it at a node, 0..=1.
    pub share: f64,
    /// Estimate and interval, a node each; NaN at nodes where the curves that are defined are too few.
    pub at: Vec<Interval>,
}

/// Bands, and what they rest on.
#[derive(Clone, Debug, PartialEq)]
pub struct Bands {
    /// Curves defined at each node.
    pub n: Vec<usize>,
    /// A band a share, in the order asked for.
    pub bands: Vec<Band>,
}

/// Nodes of a piece of work: a line of a processor's cache.
const AT_ONCE: usize = 8;

/// Puts values in rising order; as whole numbers in the same order they compare faster.
fn in_order(values: &mut [f64]) {
    let turn = |bits: i64| bits ^ (((bits >> 63) as u64) >> 1) as i64;
    let mut keys: Vec<i64> = values.iter().map(|v| turn(v.to_bits() as i64)).collect();
    keys.sort_unstable();
    for (v, key) in values.iter_mut().zip(keys) {
        *v = f64::from_bits(turn(key) as u64);
    }
}

/// Centiles of curves, one curve a subject, node by node; intervals hold for a node, not for all nodes at once.
///
/// Shape: rows of equal length; nodes beyond the shortest are left out. Unit: that of the curves. Undefined: NaN at a node where
/// fewer curves than [`super::centile::needed`] are defined. Source: [`super::centile::of_ordered`] at each node.
pub fn bands<R: AsRef<[f64]> + Sync>(rows: &[R], shares: &[f64], level: f64, spread: &impl Spread) -> Bands {
    let nodes = rows.iter().map(|r| r.as_ref().len()).min().unwrap_or(0);
    // Where all curves are defined the ranks are the same at all nodes.
    let whole: Vec<_> = shares.iter().map(|share| ranks(rows.len(), *share, level)).collect();
    // Neighbouring nodes lie together in memory: a few of them are a piece.
    let pieces = spread.each(nodes.div_ceil(AT_ONCE), |piece| {
        let from = piece * AT_ONCE;
        let part = from..nodes.min(from + AT_ONCE);
        let mut columns = vec![Vec::with_capacity(rows.len()); part.len()];
        for row in rows {
            let values = row.as_ref().get(part.clone()).unwrap_or_default();
            for (column, v) in columns.iter_mut().zip(values).filter(|(_, v)| !v.is_nan()) {
                column.push(*v);
            }
        }
        let of_column = |mut column: Vec<f64>| {
            in_order(&mut column);
            let at = |(share, known): (&f64, &Option<(usize, usize)>)| {
                let limits =
                    if column.len() == rows.len() { *known } else { ranks(column.len(), *share, level) };
                at_ranks(&column, *share, limits)
            };
            (column.len(), shares.iter().zip(&whole).map(at).collect::<Vec<Interval>>())
        };
        columns.into_iter().map(of_column).collect::<Vec<_>>()
    });
    let columns: Vec<(usize, Vec<Interval>)> = pieces.into_iter().flatten().collect();
    let band = |(k, share): (usize, &f64)| Band {
        share: *share,
        at: columns.iter().map(|(_, c)| c.get(k).copied().unwrap_or(Interval::NONE)).collect(),
    };
    Bands {
        n: columns.iter().map(|(n, _)| *n).collect(),
        bands: shares.iter().enumerate().map(band).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::InTurn;
    use crate::cohort::centile::centiles;

    /// A band is a row of centiles; a node that some curves lack rests on the others.
    #[test]
    fn node_by_node() {
        let rows: Vec<Vec<f64>> = (0..20)
            .map(|k| {
                let v = f64::from((7 * k) % 20);
                vec![v, -2.0 * v, if k < 16 { f64::NAN } else { v }, if k < 5 { f64::NAN } else { v }]
            })
            .collect();
        let found = bands(&rows, &[0.5, 0.25, 0.05], 0.95, &InTurn);
        assert_eq!(found.n, [20, 20, 4, 15]);
        for q in 0..4 {
            let column: Vec<f64> = rows.iter().map(|r| r[q]).collect();
            for (band, c) in found.bands.iter().zip(centiles(&column, &[0.5, 0.25, 0.05], 0.95)) {
                assert_eq!(format!("{:?}", band.at[q]), format!("{:?}", c.at), "node {q}");
            }
        }
        assert!(found.bands[0].at[2].value.is_nan(), "four curves hold no median");
        assert!(found.bands[0].at[3].value.is_finite());
        assert!(bands(&Vec::<Vec<f64>>::new(), &[0.5], 0.95, &InTurn).n.is_empty());
    }
}
