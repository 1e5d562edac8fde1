//! Whether a single case is unusual beside a reference: by how far it lies from the middle, and by its rank.
use super::centile::standing;
use signal::{stats, student};

/// How unusual a case is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unusual {
    /// Subjects of the reference.
    pub n: usize,
    /// Distance from the reference's mean over the scatter of a further case; its sign is that of the distance.
    pub t: f64,
    /// Probability of a distance as large, to either side, where the reference scatters normally.
    pub p: f64,
    /// Probability of a rank as far out, to either side, whatever the reference's distribution.
    pub by_rank: f64,
    /// The least that `by_rank` can be with so many subjects: that of a case beyond all of them.
    pub least: f64,
}

impl Unusual {
    /// True where the case is called unusual at a level.
    ///
    /// `adjusted`: `p` as it stands when many are looked at. Both must hold: it is at most `alpha`; and the rank is as far out as
    /// `alpha` asks, or beyond the whole reference where that is too small for such a rank. The first sees how far the case
    /// is even beside few; the second keeps a long tail of the reference from being called unusual.
    pub fn is_so(&self, adjusted: f64, alpha: f64) -> bool {
        adjusted <= alpha && self.by_rank <= alpha.max(self.least * (1.0 + 1e-9))
    }
}

/// How unusual a value is beside subjects, each of which counts the same however many values it has.
///
/// Shape: a list of values a subject. Undefined: NaN with fewer than three subjects, or where nothing scatters. With repeats the
/// scatter is that of one value of any subject, with the degrees of freedom of the subjects alone.
/// Source: CrawfordHowell1998 (the t test of one case against few); ranks of an exchangeable case (VovkGammermanShafer2005 ch. 2).
/// Checked: worked values in the tests; false alarms by simulation.
pub fn unusual(subjects: &[Vec<f64>], value: f64) -> Unusual {
    let means: Vec<f64> = subjects.iter().map(|s| stats::mean(s)).filter(|m| !m.is_nan()).collect();
    let n = means.len();
    let none = f64::NAN;
    if n < 3 || value.is_nan() {
        return Unusual { n, t: none, p: none, by_rank: none, least: none };
    }
    let count = n as f64;
    let mean = stats::mean(&means);
    let squares = |own: &Vec<f64>| {
        let off: Vec<f64> = own.iter().map(|v| (v - mean) * (v - mean)).collect();
        stats::mean(&off)
    };
    let sum: f64 = subjects.iter().map(squares).filter(|s| !s.is_nan()).sum();
    let sd = (sum / (count - 1.0)).sqrt();
    let t = (value - mean) / (sd * (1.0 + 1.0 / count).sqrt());
    let at = standing(subjects, value, 0.95);
    let outer = at.at_or_below.min(at.at_or_above);
    let t = if sd > 0.0 { t } else { none };
    Unusual {
        n,
        t,
        p: 2.0 * student::upper_tail(t.abs(), count - 1.0),
        by_rank: (2.0 * (count * outer + 1.0) / (count + 1.0)).min(1.0),
        least: 2.0 / (count + 1.0),
    }
}

/// How often one of the reference, or the case itself, is as shallow as the case: its rank among depths from below.
///
/// Shape: a list of depths a subject, each subject counting the same; depths are of the reference with the case among them, so
/// that all are alike where the case is one of them. Unit: 1, from 1/(n + 1). Undefined: NaN where the case has no depth or no subject
/// has one. Source: ranks of an exchangeable case (VovkGammermanShafer2005 ch. 2).
pub fn as_shallow(depths: &[Vec<f64>], own: f64) -> f64 {
    let at = standing(depths, own, 0.95);
    (at.n as f64 * at.at_or_below + 1.0) / (at.n as f64 + 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::Chance;

    fn single(values: &[f64]) -> Vec<Vec<f64>> {
        values.iter().map(|v| vec![*v]).collect()
    }

    /// By hand: 1 to 5 have mean 3 and variance 2.5; 7 lies 4 off, over √(2.5·1.2) = √3: t = 2.3094 with 4 degrees,
    /// p = 0.08209 (scipy `t.sf`). Beyond all five: 2/6.
    #[test]
    fn one_case_against_five() {
        let found = unusual(&single(&[1.0, 2.0, 3.0, 4.0, 5.0]), 7.0);
        assert!(
            (found.t - 4.0 / 3.0_f64.sqrt()).abs() < 1e-12 && (found.p - 0.082_086).abs() < 1e-6,
            "{found:?}"
        );
        assert!((found.by_rank - 1.0 / 3.0).abs() < 1e-12 && found.least == found.by_rank);
        assert!(!found.is_so(found.p, 0.05) && found.is_so(0.01, 0.05));
        let inside = unusual(&single(&[1.0, 2.0, 3.0, 4.0, 5.0]), 4.5);
        assert!(!inside.is_so(0.01, 0.05), "within the reference");
        // Repeats of the same value are that value once.
        let often: Vec<Vec<f64>> = (1..=5).map(|k| vec![f64::from(k); k as usize]).collect();
        assert_eq!(unusual(&often, 7.0), found);
        assert!(unusual(&single(&[1.0, 1.0, 1.0]), 2.0).t.is_nan(), "nothing scatters");
        assert!(unusual(&single(&[1.0, 2.0]), 2.0).p.is_nan());
        assert!(!unusual(&single(&[1.0, 2.0]), f64::NAN).is_so(f64::NAN, 0.05));
    }

    #[test]
    fn shallow_ranks() {
        let depths = single(&[0.5, 0.4, 0.3, 0.2]);
        assert!((as_shallow(&depths, 0.1) - 0.2).abs() < 1e-12);
        assert!((as_shallow(&depths, 0.3) - 0.6).abs() < 1e-12);
        assert!(as_shallow(&depths, f64::NAN).is_nan() && as_shallow(&[], 0.1).is_nan());
    }

    /// A further case of the same kind is called unusual at most as often as the level says where the reference is normal: in
    /// 4,000 trials 4.9 % beside 10, 4.0 % beside 23, 3.0 % beside 100, 3.4 % beside 23 with four values each. Where it is log-normal
    /// with a long tail (σ 0.8): 7.3, 3.6, 1.6 and 3.5 %. One that lies far off beside eight is seen.
    #[test]
    fn false_alarms() {
        let trials = 4000;
        let alarms = |make: &dyn Fn(&mut Chance) -> f64, n: usize, repeats: usize| {
            let mut called = 0;
            for trial in 0..trials {
                let mut chance = Chance::new(11, trial);
                let mut subject = || {
                    let own = make(&mut chance);
                    let within = |_| if repeats > 1 { own + 0.3 * normal(&mut chance) } else { own };
                    (0..repeats).map(within).collect::<Vec<f64>>()
                };
                let reference: Vec<Vec<f64>> = (0..n).map(|_| subject()).collect();
                let found = unusual(&reference, subject()[0]);
                called += usize::from(found.is_so(found.p, 0.05));
            }
            called as f64 / trials as f64
        };
        // 5 % of 4,000, and two and a half standard deviations of it: 5.9 %.
        for (n, repeats) in [(10, 1), (23, 1), (100, 1), (23, 4)] {
            let plain = alarms(&normal, n, repeats);
            let skewed = alarms(&|c| signal::math::exp(0.8 * normal(c)), n, repeats);
            let of_skewed = if n < 20 { 0.09 } else { 0.059 };
            assert!(plain < 0.059 && skewed < of_skewed, "{n} {repeats}: {plain} {skewed}");
            assert!(plain > 0.02, "{n} {repeats}: {plain}");
        }
        let far = unusual(&single(&[1.0, 2.0, 3.0, 2.0, 1.5, 2.5, 2.2, 1.9]), 9.0);
        assert!(far.is_so(4.0 * far.p, 0.05));
    }

    /// Nearly normal: the sum of twelve uniform numbers less 6.
    fn normal(chance: &mut Chance) -> f64 {
        (0..12).map(|_| chance.below(1 << 20) as f64 / f64::from(1 << 20)).sum::<f64>() - 6.0
    }
}
