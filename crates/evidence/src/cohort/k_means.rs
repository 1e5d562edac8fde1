//! A stated number of groups: every point with the nearest of so many centres.
use crate::chance::Chance;

/// Points in groups.
#[derive(Clone, Debug, PartialEq)]
pub struct Partition {
    /// The group of each point, from 0.
    pub labels: Vec<usize>,
    /// The mean of each group.
    pub centres: Vec<Vec<f64>>,
    /// Sum of squared distances of the points to their centres.
    pub within: f64,
}

/// Squared distance of two points.
pub fn square(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| (x - y) * (x - y)).sum()
}

/// The nearest centre and the squared distance to it; of two as near the first.
pub fn nearest(point: &[f64], centres: &[Vec<f64>]) -> (usize, f64) {
    let each = centres.iter().enumerate().map(|(k, c)| (k, square(point, c)));
    each.fold((0, f64::INFINITY), |best, one| if one.1 < best.1 { one } else { best })
}

/// Puts points into at most `k` groups, so that the squared distances to the groups' means are small in all: the best of `starts`.
///
/// Shape: rows of equal length, all defined. Fewer groups come where fewer points differ. Groups are numbered by their first point.
/// Undefined: no group with no point or k = 0. Source: Lloyd1982, begun as ArthurVassilvitskii2007 (each further centre a point,
/// as likely as its squared distance). Checked: scikit-learn's `KMeans` (refs/cohort.toml).
pub fn k_means(points: &[Vec<f64>], k: usize, starts: usize, chance: &mut Chance) -> Partition {
    let mut best = Partition { labels: Vec::new(), centres: Vec::new(), within: f64::INFINITY };
    // One centre is the mean wherever one begins.
    let starts = if k == 1 { 1 } else { starts };
    for _ in 0..starts {
        let begun = begin(points, k, chance);
        let found = settle(points, begun);
        if found.within < best.within {
            best = found;
        }
    }
    numbered(best)
}

fn begin(points: &[Vec<f64>], k: usize, chance: &mut Chance) -> Vec<Vec<f64>> {
    let mut centres: Vec<Vec<f64>> = Vec::with_capacity(k);
    let mut off = vec![f64::INFINITY; points.len()];
    while centres.len() < k {
        let next = if centres.is_empty() {
            chance.below(points.len())
        } else {
            let total: f64 = off.iter().sum();
            if total <= 0.0 || !total.is_finite() {
                break;
            }
            let mut left = total * uniform(chance);
            let taken = off.iter().position(|d| {
                left -= d;
                left < 0.0
            });
            // Rounding may leave a crumb beyond the last: then the farthest.
            taken.unwrap_or_else(|| farthest(&off))
        };
        let Some(centre) = points.get(next) else { break };
        for (d, p) in off.iter_mut().zip(points) {
            *d = d.min(square(p, centre));
        }
        centres.push(centre.clone());
    }
    centres
}

fn farthest(off: &[f64]) -> usize {
    let each = off.iter().copied().enumerate();
    each.fold((0, f64::NEG_INFINITY), |best, one| if one.1 > best.1 { one } else { best }).0
}

/// A number in 0..1.
pub(super) fn uniform(chance: &mut Chance) -> f64 {
    chance.below(1 << 52) as f64 / (1_u64 << 52) as f64
}

/// Moves points and centres in turn until no point changes its group.
fn settle(points: &[Vec<f64>], mut centres: Vec<Vec<f64>>) -> Partition {
    const ROUNDS: usize = 300;
    let mut labels = vec![usize::MAX; points.len()];
    for _ in 0..ROUNDS {
        let mut changed = false;
        for (label, point) in labels.iter_mut().zip(points) {
            let (to, _) = nearest(point, &centres);
            changed |= *label != to;
            *label = to;
        }
        if !changed {
            break;
        }
        centres = means(points, &labels, &centres);
    }
    let off = |(point, label): (&Vec<f64>, &usize)| centres.get(*label).map_or(0.0, |c| square(point, c));
    let within = points.iter().zip(&labels).map(off).sum();
    Partition { labels, centres, within }
}

/// The mean of each group; one that has lost its points stays where it was.
fn means(points: &[Vec<f64>], labels: &[usize], before: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let mut sums: Vec<Vec<f64>> = before.iter().map(|c| vec![0.0; c.len()]).collect();
    let mut counts = vec![0.0_f64; before.len()];
    for (point, label) in points.iter().zip(labels) {
        if let (Some(sum), Some(count)) = (sums.get_mut(*label), counts.get_mut(*label)) {
            sum.iter_mut().zip(point).for_each(|(s, v)| *s += v);
            *count += 1.0;
        }
    }
    for ((sum, count), old) in sums.iter_mut().zip(&counts).zip(before) {
        if *count > 0.0 {
            sum.iter_mut().for_each(|s| *s /= count);
        } else {
            sum.clone_from(old);
        }
    }
    sums
}

/// Groups numbered in the order of their first points; those without a point are dropped.
fn numbered(found: Partition) -> Partition {
    let mut order: Vec<usize> = Vec::new();
    for label in &found.labels {
        if !order.contains(label) {
            order.push(*label);
        }
    }
    let to = |label: &usize| order.iter().position(|l| l == label).unwrap_or(0);
    Partition {
        labels: found.labels.iter().map(to).collect(),
        centres: order.iter().filter_map(|l| found.centres.get(*l).cloned()).collect(),
        within: found.within,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_groups_are_found() {
        let points: Vec<Vec<f64>> =
            [0.0, 10.0, 0.5, 10.5, 20.0, -0.5].iter().map(|x| vec![*x, 1.0]).collect();
        let found = k_means(&points, 3, 10, &mut Chance::new(1, 0));
        assert_eq!(found.labels, [0, 1, 0, 1, 2, 0]);
        // 0.5² + 0.5² about 0, 0.25² twice about 10.25.
        assert!((found.within - 0.625).abs() < 1e-12 && (found.centres[1][0] - 10.25).abs() < 1e-12);
    }

    #[test]
    fn as_many_groups_as_points_differ() {
        let same = vec![vec![1.0], vec![1.0], vec![2.0]];
        let found = k_means(&same, 3, 5, &mut Chance::new(1, 0));
        assert_eq!((found.labels, found.centres.len(), found.within), (vec![0, 0, 1], 2, 0.0));
        assert!(k_means(&[], 2, 5, &mut Chance::new(1, 0)).centres.is_empty());
        assert!(k_means(&same, 0, 5, &mut Chance::new(1, 0)).centres.is_empty());
    }
}
