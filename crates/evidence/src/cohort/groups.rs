//! Whether units fall into groups, into how many, and whether the groups would come again.
//!
//! Four hurdles. The gap statistic must find more than one group. A group of a few is no group: its members are set aside and the rest
//! is looked at again. Between any two groups there must be a valley, or there are fewer groups: a long or bent cloud is
//! easily cut in pieces. And units drawn anew must fall into the same groups.
use super::dip::dip;
use super::k_means::{Partition, k_means, nearest, square, uniform};
use super::rand_index::adjusted;
use crate::Spread;
use crate::chance::Chance;
use signal::{math, stats};

/// How groups are looked for. No hidden default.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grouping {
    /// Up to so many groups.
    pub most: usize,
    /// Members that a group has at least.
    pub least: usize,
    /// Uniform samples that the scatter within groups, and the valleys between them, are held against.
    pub references: usize,
    /// Random beginnings of every search for groups.
    pub starts: usize,
    /// How often units are drawn anew.
    pub resamples: usize,
    /// Level at which a valley counts.
    pub alpha: f64,
    /// The mean adjusted Rand index from which groups count as stable.
    pub stable: f64,
    /// Seed of chance.
    pub seed: u64,
}

/// Units under which nothing is looked for. Source: ours.
pub const FEWEST: usize = 8;

/// The share of units that may be set aside.
const ASIDE: f64 = 0.2;

/// What came of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Under [`FEWEST`] units.
    TooFew,
    /// One group describes them best, or nothing separates several.
    One,
    /// More would be chosen, but they do not come again when units are drawn anew, or too many units are in none.
    Unstable,
    /// Groups that come again.
    Groups,
}

/// The gap statistic of a number of groups.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Criterion {
    /// How many groups.
    pub groups: usize,
    /// Logarithm of the squared distances to the groups' means.
    pub log_within: f64,
    /// The same of uniform samples, on average.
    pub expected: f64,
    /// By how much the units lie closer than uniform ones.
    pub gap: f64,
    /// Its standard error from the number of samples.
    pub error: f64,
}

/// Groups, or why there are none.
#[derive(Clone, Debug, PartialEq)]
pub struct Groups {
    /// What came of it.
    pub outcome: Outcome,
    /// The criterion, a row a number of groups, of the units that were not set aside.
    pub criteria: Vec<Criterion>,
    /// The number that the criterion chose; 0 with too few units.
    pub chosen: usize,
    /// The number of groups with a valley between any two; 1 where there is none, 0 with too few units.
    pub apart: usize,
    /// The probability of so deep a valley in one even cloud, the greatest over pairs of groups; where there is one group, of two.
    /// NaN where not asked.
    pub valley: f64,
    /// The group of each unit, the largest group first; `None` for those set aside, and for all where there are no groups.
    pub labels: Vec<Option<usize>>,
    /// Units set aside, since they are like hardly any other.
    pub aside: Vec<usize>,
    /// The most central unit of each group (of all where there is one group).
    pub medoids: Vec<usize>,
    /// Mean adjusted Rand index over the resamples; NaN where it was not asked.
    pub agreement: f64,
    /// How far each group came again: its mean greatest overlap (Jaccard) with a group of a resample.
    pub recovered: Vec<f64>,
    /// Share of the resamples in which each unit falls to its own group; NaN where there is none.
    pub certainty: Vec<f64>,
}

/// Streams of chance, so that no two uses draw from one.
const FIRST: usize = 0;
const REFERENCE: usize = 1 << 20;
const VALLEY: usize = 2 << 20;
const RESAMPLE: usize = 3 << 20;

/// Looks for groups of units.
///
/// Shape: a row of scores a unit, all defined and of equal length, columns in principal directions (as
/// [`super::components::components`] gives them). Undefined: see [`Outcome`]. Source: gap statistic with uniform
/// samples over the box of the principal directions, Tibshirani2001, the least k with gap(k) ≥ gap(k + 1) − error; groups by
/// [`k_means`]; units drawn anew as Hennig2007, compared by [`adjusted`]; his 0.75 for a group's overlap is commonly taken as limit.
/// Checked: false groups and found groups by simulation (tests/cohort_groups.rs); Tibshirani's second example.
pub fn groups(points: &[Vec<f64>], how: &Grouping, spread: &impl Spread) -> Groups {
    let mut found = Groups {
        outcome: Outcome::TooFew,
        criteria: Vec::new(),
        chosen: 0,
        apart: 0,
        valley: f64::NAN,
        labels: vec![None; points.len()],
        aside: Vec::new(),
        medoids: Vec::new(),
        agreement: f64::NAN,
        recovered: Vec::new(),
        certainty: vec![f64::NAN; points.len()],
    };
    let width = points.first().map_or(0, Vec::len);
    if width == 0 || points.iter().any(|p| p.len() != width || p.iter().any(|v| !v.is_finite())) {
        return found;
    }
    let mut active: Vec<usize> = (0..points.len()).collect();
    loop {
        if active.len() < FEWEST {
            return found;
        }
        let rows: Vec<Vec<f64>> = active.iter().filter_map(|k| points.get(*k).cloned()).collect();
        found.criteria = criteria(&rows, how, spread);
        found.chosen = chosen(&found.criteria);
        match separate(&rows, how, spread, &mut found) {
            Split::Aside(small) => {
                let (out, rest) = active.iter().zip(&small).partition::<Vec<_>, _>(|(_, s)| **s);
                found.aside.extend(out.into_iter().map(|(k, _)| *k));
                found.aside.sort_unstable();
                active = rest.into_iter().map(|(k, _)| *k).collect();
                if found.aside.len() as f64 > ASIDE * points.len() as f64 {
                    found.outcome = Outcome::Unstable;
                    return found;
                }
            }
            Split::One => {
                (found.outcome, found.apart) = (Outcome::One, 1);
                let middle = medoids(&rows, &vec![0; rows.len()], 1);
                found.medoids = middle.iter().filter_map(|k| active.get(*k).copied()).collect();
                return found;
            }
            Split::Into(partition) => {
                found.apart = partition.centres.len();
                stability(&rows, &active, &partition, how, spread, &mut found);
                return found;
            }
        }
    }
}

/// What became of points that the criterion would put into several groups.
enum Split {
    One,
    /// True for those of groups that are too small.
    Aside(Vec<bool>),
    Into(Partition),
}

/// The greatest number of groups, at most that chosen, with a valley between any two.
fn separate(rows: &[Vec<f64>], how: &Grouping, spread: &impl Spread, found: &mut Groups) -> Split {
    for k in (2..=found.chosen).rev() {
        let partition = by_size(k_means(rows, k, how.starts, &mut Chance::new(how.seed, FIRST)));
        let groups = partition.centres.len();
        if groups < 2 {
            break;
        }
        let members = |g: usize| partition.labels.iter().filter(|l| **l == g).count();
        let small: Vec<bool> = partition.labels.iter().map(|l| members(*l) < how.least).collect();
        if small.iter().any(|s| *s) {
            return Split::Aside(small);
        }
        let pairs = (0..groups).flat_map(|a| (0..a).map(move |b| (a, b)));
        found.valley = pairs.map(|(a, b)| valley(rows, &partition, (a, b), how, spread)).fold(0.0, f64::max);
        if found.valley <= how.alpha {
            return Split::Into(partition);
        }
    }
    Split::One
}

/// How often two groups of one even cloud lie as far apart: the dip of the units along the line between the groups' means,
/// beside that of uniform samples that are cut in two and looked at in the same way.
///
/// Source: dip of HartiganHartigan1985; to look along the line between means, and so to choose the line by the data in the
/// samples too, is ours.
fn valley(
    rows: &[Vec<f64>],
    partition: &Partition,
    (a, b): (usize, usize),
    how: &Grouping,
    spread: &impl Spread,
) -> f64 {
    let of_two = |(_, label): &(&Vec<f64>, &usize)| **label == a || **label == b;
    let own: Vec<Vec<f64>> =
        rows.iter().zip(&partition.labels).filter(of_two).map(|(row, _)| row.clone()).collect();
    let (Some(first), Some(second)) = (partition.centres.get(a), partition.centres.get(b)) else {
        return f64::NAN;
    };
    let seen = dip_between(&own, first, second);
    let sides = sides(&own);
    let as_deep = spread.each(how.references, |k| {
        let mut chance = Chance::new(how.seed, VALLEY + k);
        let cloud = uniform_cloud(&sides, own.len(), &mut chance);
        let cut = k_means(&cloud, 2, how.starts, &mut chance);
        match cut.centres.as_slice() {
            [one, other] => dip_between(&cloud, one, other) >= seen,
            _ => false,
        }
    });
    (as_deep.iter().filter(|d| **d).count() as f64 + 1.0) / (how.references as f64 + 1.0)
}

/// The dip of points along a line.
fn dip_between(points: &[Vec<f64>], from: &[f64], to: &[f64]) -> f64 {
    let along = |p: &Vec<f64>| p.iter().zip(from).zip(to).map(|((v, f), t)| v * (t - f)).sum::<f64>();
    dip(&points.iter().map(along).collect::<Vec<f64>>())
}

/// The least and the greatest of each column.
fn sides(rows: &[Vec<f64>]) -> Vec<(f64, f64)> {
    let width = rows.first().map_or(0, Vec::len);
    let column = |j: usize| rows.iter().filter_map(move |r| r.get(j).copied());
    let of =
        |j: usize| (column(j).fold(f64::INFINITY, f64::min), column(j).fold(f64::NEG_INFINITY, f64::max));
    (0..width).map(of).collect()
}

/// Points spread evenly over a box.
fn uniform_cloud(sides: &[(f64, f64)], count: usize, chance: &mut Chance) -> Vec<Vec<f64>> {
    let mut point = |_| sides.iter().map(|(low, high)| low + (high - low) * uniform(chance)).collect();
    (0..count).map(&mut point).collect()
}

/// The gap statistic of 1 up to `how.most` groups.
pub fn criteria(rows: &[Vec<f64>], how: &Grouping, spread: &impl Spread) -> Vec<Criterion> {
    let most = how.most.min(rows.len() / how.least.max(1)).max(1);
    let sides = sides(rows);
    let within = |points: &[Vec<f64>], chance: &mut Chance| -> Vec<f64> {
        (1..=most).map(|k| math::ln(k_means(points, k, how.starts, chance).within)).collect()
    };
    let own = within(rows, &mut Chance::new(how.seed, FIRST));
    let uniforms = spread.each(how.references, |b| {
        let mut chance = Chance::new(how.seed, REFERENCE + b);
        within(&uniform_cloud(&sides, rows.len(), &mut chance), &mut chance)
    });
    let one = |(k, log_within): (usize, &f64)| {
        let column: Vec<f64> = uniforms.iter().filter_map(|u| u.get(k).copied()).collect();
        let expected = stats::mean(&column);
        // As the paper has it: the standard deviation over B, not B − 1.
        let off: Vec<f64> = column.iter().map(|v| v - expected).collect();
        let error = stats::root_mean_square(&off) * (1.0 + 1.0 / how.references as f64).sqrt();
        Criterion { groups: k + 1, log_within: *log_within, expected, gap: expected - log_within, error }
    };
    own.iter().enumerate().map(one).collect()
}

/// The least number of groups whose gap the next one does not clearly pass; the greatest looked at where there is none.
fn chosen(criteria: &[Criterion]) -> usize {
    let pairs = criteria.iter().zip(criteria.iter().skip(1));
    let mut settled = pairs.filter(|(one, next)| one.gap >= next.gap - next.error || one.gap.is_nan());
    settled.next().map_or(criteria.len(), |(one, _)| one.groups)
}

/// The largest group first; of two as large the one with the earlier first point.
fn by_size(found: Partition) -> Partition {
    let count = |g: usize| found.labels.iter().filter(|l| **l == g).count();
    let mut order: Vec<usize> = (0..found.centres.len()).collect();
    order.sort_by_key(|g| (std::cmp::Reverse(count(*g)), *g));
    let place = |label: &usize| order.iter().position(|g| g == label).unwrap_or(0);
    Partition {
        labels: found.labels.iter().map(place).collect(),
        centres: order.iter().filter_map(|g| found.centres.get(*g).cloned()).collect(),
        within: found.within,
    }
}

/// The unit of each group with the least sum of distances to the others of it.
fn medoids(rows: &[Vec<f64>], labels: &[usize], groups: usize) -> Vec<usize> {
    let of = |g: usize| {
        let own = || rows.iter().zip(labels).enumerate().filter(move |(_, (_, l))| **l == g);
        let sum = |(k, (row, _)): (usize, (&Vec<f64>, &usize))| {
            (k, own().map(|(_, (other, _))| square(row, other).sqrt()).sum::<f64>())
        };
        let best =
            own().map(sum).fold((usize::MAX, f64::INFINITY), |b, one| if one.1 < b.1 { one } else { b });
        best.0
    };
    (0..groups).map(of).collect()
}

/// Whether the groups come again when units are drawn anew.
fn stability(
    rows: &[Vec<f64>],
    active: &[usize],
    partition: &Partition,
    how: &Grouping,
    spread: &impl Spread,
    found: &mut Groups,
) {
    let (n, k) = (rows.len(), partition.centres.len());
    let again = spread.each(how.resamples, |b| {
        let mut chance = Chance::new(how.seed, RESAMPLE + b);
        let drawn: Vec<Vec<f64>> = (0..n).filter_map(|_| rows.get(chance.below(n)).cloned()).collect();
        let centres = k_means(&drawn, k, how.starts, &mut chance).centres;
        rows.iter().map(|r| nearest(r, &centres).0).collect::<Vec<usize>>()
    });
    let agreements: Vec<f64> = again.iter().map(|labels| adjusted(&partition.labels, labels)).collect();
    found.agreement = stats::mean(&agreements);
    let mut recovered = vec![0.0; k];
    let mut certain = vec![0.0; n];
    for labels in &again {
        // A group of the resample stands for the group it overlaps most.
        let overlap = |g: usize, h: usize| {
            let both = |(own, new): &(&usize, &usize)| **own == g && **new == h;
            let either = |(own, new): &(&usize, &usize)| **own == g || **new == h;
            let pairs = || partition.labels.iter().zip(labels);
            let of = pairs().filter(either).count();
            if of == 0 { 0.0 } else { pairs().filter(both).count() as f64 / of as f64 }
        };
        for (g, sum) in recovered.iter_mut().enumerate() {
            let mut best = (0, 0.0);
            (0..k).for_each(|h| {
                if overlap(g, h) > best.1 {
                    best = (h, overlap(g, h))
                }
            });
            *sum += best.1 / again.len() as f64;
            for ((own, new), share) in partition.labels.iter().zip(labels).zip(&mut certain) {
                *share += f64::from(u8::from(*own == g && *new == best.0)) / again.len() as f64;
            }
        }
    }
    if found.agreement.is_nan() || found.agreement < how.stable {
        found.outcome = Outcome::Unstable;
        return;
    }
    found.outcome = Outcome::Groups;
    found.recovered = recovered;
    for ((place, label), share) in active.iter().zip(&partition.labels).zip(&certain) {
        if let (Some(cell), Some(sure)) = (found.labels.get_mut(*place), found.certainty.get_mut(*place)) {
            (*cell, *sure) = (Some(*label), *share);
        }
    }
    let typical = medoids(rows, &partition.labels, k);
    found.medoids = typical.iter().filter_map(|place| active.get(*place).copied()).collect();
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::InTurn;

    const HOW: Grouping = Grouping {
        most: 6,
        least: 3,
        references: 60,
        starts: 10,
        resamples: 60,
        alpha: 0.05,
        stable: 0.75,
        seed: 1,
    };

    fn near(at: f64, count: usize, seed: usize) -> Vec<Vec<f64>> {
        let mut chance = Chance::new(8, seed);
        (0..count).map(|_| vec![at + uniform(&mut chance), uniform(&mut chance)]).collect()
    }

    #[test]
    fn two_that_lie_apart() {
        let mut points = near(0.0, 5, 0);
        points.extend(near(4.0, 8, 1));
        points.push(vec![40.0, 0.0]);
        let found = groups(&points, &HOW, &InTurn);
        assert_eq!((found.outcome, found.chosen, found.aside.as_slice()), (Outcome::Groups, 2, &[13][..]));
        assert_eq!(found.labels[..5], [Some(1); 5]);
        assert_eq!(found.labels[5..], [[Some(0); 8].as_slice(), &[None]].concat());
        assert!(found.agreement > 0.99 && found.recovered.iter().all(|r| *r > 0.99), "{found:?}");
        assert!(found.certainty[0] > 0.99 && found.certainty[13].is_nan());
        assert!((5..13).contains(&found.medoids[0]) && found.medoids[1] < 5);
    }

    #[test]
    fn what_cannot_be_looked_at() {
        assert_eq!(groups(&near(0.0, 7, 0), &HOW, &InTurn).outcome, Outcome::TooFew);
        assert_eq!(groups(&[], &HOW, &InTurn).outcome, Outcome::TooFew);
        let mut gap = near(0.0, 20, 0);
        gap[3][1] = f64::NAN;
        assert_eq!(groups(&gap, &HOW, &InTurn).outcome, Outcome::TooFew);
        let same = groups(&vec![vec![1.0, 2.0]; 12], &HOW, &InTurn);
        assert_eq!((same.outcome, same.medoids.len()), (Outcome::One, 1));
    }
}
