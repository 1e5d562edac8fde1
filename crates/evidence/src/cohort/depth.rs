//! How deep a curve lies among curves: band depths of two curves each.
//!
//! The deepest curve is the most central one, the shallowest the most unusual: in its level, or in its shape.
use crate::Spread;

/// Modified band depth of each curve within its sample, bands of two curves: the share of nodes at which a curve lies in the band
/// of two curves, over all pairs of the sample, the curve itself among them.
///
/// Shape: rows of equal length, one a subject. Unit: 1. A node counts where the curve is defined and at least two curves are; pairs
/// are those of the curves defined there. Undefined: NaN where no node counts. Source: LopezPintado2009; fast by ranks,
/// SunGentonNychka2012, here with ties counted as the definition's closed bands have it; part of a curve as Elias2022.
/// Checked: by enumeration in the tests; scikit-fda (refs/cohort.toml).
pub fn modified_band(rows: &[Vec<f64>], spread: &impl Spread) -> Vec<f64> {
    let nodes = rows.iter().map(Vec::len).min().unwrap_or(0);
    let columns = spread.each(nodes, |q| {
        let mut ordered: Vec<(f64, usize)> = defined(rows, q).collect();
        ordered.sort_by(|a, b| a.0.total_cmp(&b.0));
        let n = ordered.len();
        let mut shares = vec![f64::NAN; rows.len()];
        if n < 2 {
            return shares;
        }
        let pairs = |m: usize| (m * m.saturating_sub(1)) as f64 / 2.0;
        let mut from = 0;
        while let Some((value, _)) = ordered.get(from) {
            let to = from + ordered.iter().skip(from).take_while(|(v, _)| v == value).count();
            // Two curves both below, or both above, hold it not between them.
            let share = (pairs(n) - pairs(from) - pairs(n - to)) / pairs(n);
            for (_, k) in ordered.iter().take(to).skip(from) {
                if let Some(place) = shares.get_mut(*k) {
                    *place = share;
                }
            }
            from = to;
        }
        shares
    });
    (0..rows.len()).map(|k| mean_of(columns.iter().filter_map(|c| c.get(k).copied()))).collect()
}

/// Band depth of each curve within its sample: the share of pairs of curves that hold all of it between them.
///
/// Shape, unit: as [`modified_band`]. Undefined: NaN for a curve with a node that is not defined; such curves make no bands either.
/// Source: LopezPintado2009, J = 2, closed bands. Checked: by enumeration in the tests.
pub fn band(rows: &[Vec<f64>], spread: &impl Spread) -> Vec<f64> {
    let nodes = rows.iter().map(Vec::len).min().unwrap_or(0);
    let whole: Vec<&[f64]> =
        rows.iter().filter_map(|r| r.get(..nodes)).filter(|r| r.iter().all(|v| !v.is_nan())).collect();
    let n = whole.len();
    spread.each(rows.len(), |k| {
        let Some(own) = rows.get(k).and_then(|r| r.get(..nodes)) else { return f64::NAN };
        if nodes == 0 || n < 2 || own.iter().any(|v| v.is_nan()) {
            return f64::NAN;
        }
        // A bit a node: where the other curve does not lie below, and where it does not lie above.
        let bits = |other: &[f64], holds: fn(f64, f64) -> bool| -> Vec<u64> {
            let word = |(a, b): (&[f64], &[f64])| {
                a.iter().zip(b).enumerate().fold(0, |w, (q, (x, y))| w | u64::from(holds(*x, *y)) << q)
            };
            other.chunks(64).zip(own.chunks(64)).map(word).collect()
        };
        let sides: Vec<[Vec<u64>; 2]> =
            whole.iter().map(|other| [bits(other, |o, x| o >= x), bits(other, |o, x| o <= x)]).collect();
        let all = bits(own, |o, x| o >= x);
        let mut held = 0_usize;
        for (j, [up, down]) in sides.iter().enumerate() {
            for [other_up, other_down] in sides.iter().skip(j + 1) {
                let first = up.iter().zip(other_down);
                let second = down.iter().zip(other_up);
                let between = first.zip(second).map(|((a, b), (c, d))| (a & b) | (c & d));
                held += usize::from(between.zip(&all).all(|(b, a)| b == *a));
            }
        }
        held as f64 / (n * (n - 1) / 2) as f64
    })
}

/// Modified band depth of each curve among the subjects that it is not of: the share of nodes at which it lies between a
/// curve of one other subject and a curve of another, every subject, and every curve of a subject, as likely.
///
/// Shape: a list of curves a subject; depths likewise. With one curve a subject this ranks curves as [`modified_band`] does. Unit: 1.
/// A node counts where the curve is defined and two other subjects are. Undefined: NaN where no node counts.
/// Source: ours, the definition of [`modified_band`] for subjects with repeats. Checked: by enumeration in the tests.
pub fn among_others<R: AsRef<[f64]> + Sync>(subjects: &[Vec<R>], spread: &impl Spread) -> Vec<Vec<f64>> {
    let nodes = subjects.iter().flatten().map(|r| r.as_ref().len()).min().unwrap_or(0);
    let first: Vec<usize> = subjects
        .iter()
        .scan(0, |next, s| {
            let own = *next;
            *next += s.len();
            Some(own)
        })
        .collect();
    let count: usize = subjects.iter().map(Vec::len).sum();
    let columns = spread.each(nodes, |q| {
        let mut there: Vec<(f64, usize, usize)> = Vec::with_capacity(count);
        for (s, (own, begin)) in subjects.iter().zip(&first).enumerate() {
            let values =
                own.iter().enumerate().filter_map(|(k, r)| Some((*r.as_ref().get(q)?, s, begin + k)));
            there.extend(values.filter(|(v, _, _)| !v.is_nan()));
        }
        there.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.2.cmp(&b.2)));
        let mut curves = vec![0.0_f64; subjects.len()];
        there.iter().for_each(|(_, s, _)| add(&mut curves, *s, 1.0));
        let subjects_there = curves.iter().filter(|n| **n > 0.0).count() as f64;
        let below = both(&there, &curves, count);
        there.reverse();
        let above = both(&there, &curves, count);
        let pairs = (subjects_there - 1.0) * (subjects_there - 2.0);
        let share = |(b, a): (&f64, &f64)| if pairs > 0.0 { 1.0 - (b + a) / pairs } else { f64::NAN };
        below.iter().zip(&above).map(share).collect::<Vec<f64>>()
    });
    let depth = |place: usize| mean_of(columns.iter().filter_map(|c| c.get(place).copied()));
    let of = |(own, begin): (&Vec<R>, &usize)| (*begin..begin + own.len()).map(depth).collect();
    subjects.iter().zip(&first).map(of).collect()
}

/// For values in order: how many ordered pairs of other subjects' values come strictly before, a subject counting the same
/// however many it has. NaN for curves that are not there.
fn both(there: &[(f64, usize, usize)], curves: &[f64], count: usize) -> Vec<f64> {
    let mut out = vec![f64::NAN; count];
    let mut shares = vec![0.0_f64; curves.len()];
    let (mut sum, mut squares) = (0.0_f64, 0.0_f64);
    let mut from = 0;
    while let Some((value, _, _)) = there.get(from) {
        let to = from + there.iter().skip(from).take_while(|(v, _, _)| v == value).count();
        let level = there.get(from..to).unwrap_or_default();
        for (_, s, place) in level {
            let own = shares.get(*s).copied().unwrap_or(0.0);
            let (others, their_squares) = (sum - own, squares - own * own);
            if let Some(cell) = out.get_mut(*place) {
                // Two of one subject make no pair. Sums of shares leave rounding where there is nothing.
                *cell = (others * others - their_squares).max(0.0);
            }
        }
        for (_, s, _) in level {
            let Some(share) = shares.get_mut(*s) else { continue };
            let before = *share;
            *share += 1.0 / curves.get(*s).copied().unwrap_or(1.0);
            sum += *share - before;
            squares += *share * *share - before * before;
        }
        from = to;
    }
    out
}

fn add(counts: &mut [f64], at: usize, what: f64) {
    if let Some(place) = counts.get_mut(at) {
        *place += what;
    }
}

fn defined(rows: &[Vec<f64>], q: usize) -> impl Iterator<Item = (f64, usize)> {
    rows.iter().enumerate().filter_map(move |(k, r)| Some((*r.get(q)?, k))).filter(|(v, _)| !v.is_nan())
}

/// Mean of what is defined, in order; NaN where nothing is.
fn mean_of(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, n) = values.filter(|v| !v.is_nan()).fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
    sum / n
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::InTurn;
    use crate::chance::Chance;

    fn near(found: &[f64], expected: &[f64]) {
        assert_eq!(found.len(), expected.len());
        for (f, e) in found.iter().zip(expected) {
            assert!((f - e).abs() < 1e-12 || (f.is_nan() && e.is_nan()), "{found:?} {expected:?}");
        }
    }

    /// Five curves on four points, all ten pairs enumerated by hand (the definition of Lopez-Pintado & Romo 2009).
    #[test]
    fn by_enumeration() {
        let level = |v: f64| vec![v; 4];
        let rows = vec![level(0.0), level(1.0), level(2.0), level(3.0), vec![4.0, 0.0, 4.0, 0.0]];
        near(&band(&rows, &InTurn), &[0.4, 0.6, 0.6, 0.4, 0.4]);
        near(&modified_band(&rows, &InTurn), &[0.55, 0.75, 0.75, 0.55, 0.55]);
    }

    fn walk(chance: &mut Chance, nodes: usize) -> Vec<f64> {
        let mut at = chance.below(7) as f64;
        (0..nodes)
            .map(|_| {
                at += chance.below(5) as f64 - 2.0;
                if chance.below(12) == 0 { f64::NAN } else { at }
            })
            .collect()
    }

    /// Fast against the definition, pair by pair and node by node, with ties, gaps and curves longer than a word of bits.
    #[test]
    fn ranks_are_pairs() {
        let mut chance = Chance::new(5, 0);
        let rows: Vec<Vec<f64>> = (0..9).map(|_| walk(&mut chance, 70)).collect();
        let within = |x: f64, a: f64, b: f64| a.min(b) <= x && x <= a.max(b);
        let of_curve = |row: &Vec<f64>| {
            let at = |q: usize| {
                let others: Vec<f64> = rows.iter().map(|r| r[q]).filter(|v| !v.is_nan()).collect();
                let (mut held, mut pairs) = (0.0, 0.0);
                for (j, a) in others.iter().enumerate() {
                    for b in &others[j + 1..] {
                        pairs += 1.0;
                        held += f64::from(within(row[q], *a, *b));
                    }
                }
                if row[q].is_nan() { f64::NAN } else { held / pairs }
            };
            mean_of((0..70).map(at))
        };
        near(&modified_band(&rows, &InTurn), &rows.iter().map(of_curve).collect::<Vec<_>>());
        let whole: Vec<Vec<f64>> =
            rows.iter().map(|r| r.iter().map(|v| if v.is_nan() { 0.0 } else { *v }).collect()).collect();
        let all_of = |row: &Vec<f64>| {
            let (mut held, mut pairs) = (0.0, 0.0);
            for (j, a) in whole.iter().enumerate() {
                for b in &whole[j + 1..] {
                    pairs += 1.0;
                    held += f64::from((0..70).all(|q| within(row[q], a[q], b[q])));
                }
            }
            held / pairs
        };
        near(&band(&whole, &InTurn), &whole.iter().map(all_of).collect::<Vec<_>>());
        assert!(band(&rows, &InTurn).iter().any(|d| d.is_nan()), "a curve with a gap has no band depth");
    }

    /// The same for subjects with repeats: over ordered pairs of two other subjects, and of their curves.
    #[test]
    fn subjects_are_pairs_too() {
        let mut chance = Chance::new(6, 0);
        let subjects: Vec<Vec<Vec<f64>>> =
            [1, 3, 2, 1, 4].iter().map(|n| (0..*n).map(|_| walk(&mut chance, 12)).collect()).collect();
        let of = |s: usize, row: &Vec<f64>| {
            let at = |q: usize| {
                let own = |k: usize| -> Vec<f64> {
                    subjects[k].iter().map(|r| r[q]).filter(|v| !v.is_nan()).collect()
                };
                let others: Vec<Vec<f64>> =
                    (0..5).filter(|k| *k != s).map(own).filter(|o| !o.is_empty()).collect();
                let (mut held, mut pairs) = (0.0, 0.0);
                for (j, first) in others.iter().enumerate() {
                    for second in &others[j + 1..] {
                        let mut share = 0.0;
                        for (a, b) in first.iter().flat_map(|a| second.iter().map(move |b| (a, b))) {
                            share += f64::from(a.min(*b) <= row[q] && row[q] <= a.max(*b));
                        }
                        held += share / (first.len() * second.len()) as f64;
                        pairs += 1.0;
                    }
                }
                if row[q].is_nan() || pairs == 0.0 { f64::NAN } else { held / pairs }
            };
            mean_of((0..12).map(at))
        };
        for (s, found) in among_others(&subjects, &InTurn).iter().enumerate() {
            near(found, &subjects[s].iter().map(|r| of(s, r)).collect::<Vec<_>>());
        }
    }

    #[test]
    fn nothing_to_lie_between() {
        assert!(modified_band(&[vec![1.0, 2.0]], &InTurn)[0].is_nan());
        assert!(modified_band(&[], &InTurn).is_empty() && band(&[], &InTurn).is_empty());
        assert!(band(&[vec![], vec![]], &InTurn)[0].is_nan());
        assert!(among_others(&[vec![vec![1.0]], vec![vec![2.0]]], &InTurn)[0][0].is_nan());
        assert!(among_others::<Vec<f64>>(&[], &InTurn).is_empty());
    }
}
