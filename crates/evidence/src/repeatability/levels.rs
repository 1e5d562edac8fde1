//! Three levels: subjects, occasions of a subject, repeats on an occasion; any number of each.
use super::combined::{MeanSquare, combined};
use crate::interval::Interval;
use signal::{fisher, stats, student};

/// Mean squares of three levels, and what they expect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Levels {
    /// Subjects with at least one value.
    pub subjects: usize,
    /// Occasions with at least one value.
    pub occasions: usize,
    /// Values in all.
    pub values: usize,
    /// Between subjects: expects σ² of repeats + `weights.1`·σ² of occasions + `weights.2`·σ² of subjects.
    pub subject: MeanSquare,
    /// Between occasions of a subject: expects σ² of repeats + `weights.0`·σ² of occasions. Not defined where every subject has one.
    pub occasion: MeanSquare,
    /// Between repeats on an occasion: expects σ² of repeats.
    pub repeat: MeanSquare,
    /// How often each variance counts in the expectations, as the numbers of repeats have it.
    pub weights: (f64, f64, f64),
    /// Mean of all values.
    pub mean: f64,
    /// True where all values lie on one side of 0.
    pub one_sign: bool,
}

/// A standard deviation that belongs to one level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// With its interval, in the unit of the values; limits that lie under 0 are cut there.
    pub sd: Interval,
    /// The estimate as a variance; under 0 where there is less scatter between than the scatter within lets expect.
    pub variance: f64,
}

impl Part {
    fn of(variance: Interval) -> Self {
        let root = |v: f64| if v.is_nan() { v } else { v.max(0.0).sqrt() };
        let sd = Interval { value: root(variance.value), low: root(variance.low), high: root(variance.high) };
        // A variance cut at 0 lies inside its own interval.
        Self { sd: Interval { high: sd.high.max(sd.value), ..sd }, variance: variance.value }
    }
    /// True where the estimate was under 0 and stands as 0.
    pub fn is_cut(&self) -> bool {
        self.variance < 0.0
    }
}

/// Two means that are compared: how many repeats each has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Means {
    /// Repeats of the first.
    pub first: usize,
    /// Repeats of the second.
    pub second: usize,
    /// True where both come from one occasion.
    pub one_occasion: bool,
}

/// Mean squares of subjects with occasions with repeats; values that are not defined are left out.
///
/// Shape: subjects of occasions of values. Undefined: `None` where no occasion has two values. Source: Henderson1953, method I
/// (sums of squares of the nested analysis, weighted by numbers); SearleEtAl1992 for the expectations. Checked: a published
/// balanced example, and statsmodels' mean squares on unequal numbers.
pub fn levels(subjects: &[Vec<Vec<f64>>]) -> Option<Levels> {
    let defined = |o: &Vec<f64>| o.iter().copied().filter(|v| v.is_finite()).collect::<Vec<f64>>();
    let clean: Vec<Vec<Vec<f64>>> = subjects
        .iter()
        .map(|s| s.iter().map(defined).filter(|o| !o.is_empty()).collect::<Vec<_>>())
        .filter(|s: &Vec<_>| !s.is_empty())
        .collect();
    let counts: Vec<Vec<f64>> = clean.iter().map(|s| s.iter().map(|o| o.len() as f64).collect()).collect();
    let (a, b) = (clean.len(), clean.iter().map(Vec::len).sum::<usize>());
    let values = clean.iter().flatten().map(Vec::len).sum::<usize>();
    if values <= b {
        return None;
    }
    let n = values as f64;
    let all = || clean.iter().flatten().flatten().copied();
    let mean = all().sum::<f64>() / n;
    let square = |v: f64| v * v;
    let mean_of =
        |s: &Vec<Vec<f64>>| s.iter().flatten().sum::<f64>() / s.iter().map(Vec::len).sum::<usize>() as f64;
    let (mut between, mut occasions, mut within) = (0.0, 0.0, 0.0);
    for subject in &clean {
        let own = mean_of(subject);
        for occasion in subject {
            let there = stats::mean(occasion);
            between += occasion.len() as f64 * square(own - mean);
            occasions += occasion.len() as f64 * square(there - own);
            within += occasion.iter().map(|v| square(v - there)).sum::<f64>();
        }
    }
    // Σ n² over occasions: in all, and over the subject's own number.
    let squares: f64 = counts.iter().flatten().map(|c| square(*c)).sum();
    let own: f64 =
        counts.iter().map(|s| s.iter().map(|c| square(*c)).sum::<f64>() / s.iter().sum::<f64>()).sum();
    let subjects_squared: f64 = counts.iter().map(|s| square(s.iter().sum::<f64>())).sum();
    let (da, db, de) = (a as f64 - 1.0, (b - a) as f64, n - b as f64);
    let part = |sum: f64, degrees: f64| {
        if degrees > 0.0 { MeanSquare { value: sum / degrees, degrees } } else { MeanSquare::NONE }
    };
    let (low, high) = all().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    Some(Levels {
        subjects: a,
        occasions: b,
        values,
        subject: part(between, da),
        occasion: part(occasions, db),
        repeat: part(within, de),
        weights: ((n - own) / db, (own - squares / n) / da, (n - subjects_squared / n) / da),
        mean,
        one_sign: low > 0.0 || high < 0.0,
    })
}

impl Levels {
    /// True where some subject has several occasions, so that their scatter is known apart.
    pub fn knows_occasions(&self) -> bool {
        self.occasion.degrees > 0.0
    }
    /// Scatter of repeats on one occasion: the standard error of measurement.
    pub fn repeats(&self, level: f64) -> Part {
        Part::of(combined(&[(1.0, self.repeat)], level))
    }
    /// Scatter from occasion to occasion of a subject, freed of that of repeats.
    pub fn between_occasions(&self, level: f64) -> Part {
        Part::of(combined(&self.of_occasions(1.0), level))
    }
    /// Scatter between subjects, freed of the two others; where occasions are not known apart they are part of it.
    pub fn between_subjects(&self, level: f64) -> Part {
        let (one, two, three) = self.weights;
        let mut terms = vec![(1.0 / three, self.subject)];
        if self.knows_occasions() {
            terms.push((-two / one / three, self.occasion));
            terms.push(((two / one - 1.0) / three, self.repeat));
        } else {
            terms.push((-1.0 / three, self.repeat));
        }
        Part::of(combined(&terms, level))
    }

    /// Standard error of the mean of `n` repeats of one occasion, as the figure of the subject on any occasion; of that occasion
    /// alone where occasions are not known apart.
    ///
    /// Its floor, for ever more repeats, is [`Levels::between_occasions`].
    pub fn error_of_mean(&self, n: usize, level: f64) -> Interval {
        self.sum(1.0, 1.0 / n.max(1) as f64, level)
    }

    /// Standard error of the mean of `n` repeats as the figure of their own occasion.
    pub fn error_on_occasion(&self, n: usize, level: f64) -> Interval {
        self.sum(0.0, 1.0 / n.max(1) as f64, level)
    }

    /// Least difference of two means that is more than noise at the level: z·√(variances of both).
    ///
    /// Source: Weir2005 (minimal difference) for single values; for means the same with their variances.
    pub fn detectable(&self, of: Means, level: f64) -> Interval {
        let occasions = if of.one_occasion { 0.0 } else { 2.0 };
        let repeats = 1.0 / of.first.max(1) as f64 + 1.0 / of.second.max(1) as f64;
        self.sum(occasions, repeats, level).times(student::quantile(0.5 * (1.0 + level), f64::INFINITY))
    }

    /// Scatter of subjects' means of `n` repeats of one occasion each: what two groups of subjects are told apart in.
    ///
    /// Undefined: NaN with one subject. Variances under 0 count as 0.
    pub fn scatter_of_means(&self, n: usize, level: f64) -> Interval {
        let n = n.max(1) as f64;
        let (one, two, three) = self.weights;
        let mut terms = vec![(1.0 / three, self.subject)];
        if self.knows_occasions() {
            terms.push((1.0 / one - two / one / three, self.occasion));
            terms.push(((two / one - 1.0) / three - 1.0 / one + 1.0 / n, self.repeat));
        } else {
            terms.push((1.0 / n - 1.0 / three, self.repeat));
        }
        let all = Part::of(combined(&terms, level)).sd;
        let least = self.error_of_mean(n as usize, level);
        let cut = self.between_subjects(level).is_cut() || self.occasion.value < self.repeat.value;
        let own = self.between_subjects(level).sd.value;
        let value = if cut { signal::math::hypot(own, least.value) } else { all.value };
        Interval { value, low: all.low.max(least.low).min(value), high: all.high.max(value) }
    }

    /// Root of `o`·σ² of occasions + `r`·σ² of repeats. A variance of occasions under 0, or not known, counts as 0.
    fn sum(&self, o: f64, r: f64, level: f64) -> Interval {
        let alone = Part::of(combined(&[(r, self.repeat)], level)).sd;
        if o == 0.0 || !self.knows_occasions() {
            return alone;
        }
        let mut terms = self.of_occasions(o).to_vec();
        terms.iter_mut().skip(1).for_each(|t| t.0 += r);
        let both = Part::of(combined(&terms, level)).sd;
        // What occasions add is not under 0, so neither the estimate nor a limit is under that of the repeats alone.
        let value = if self.occasion.value < self.repeat.value { alone.value } else { both.value };
        Interval {
            value,
            low: both.low.max(alone.low).min(value),
            high: both.high.max(alone.high.min(value)),
        }
    }

    fn of_occasions(&self, weight: f64) -> [(f64, MeanSquare); 2] {
        let each = weight / self.weights.0;
        [(each, self.occasion), (-each, self.repeat)]
    }

    /// Coefficient of variation of repeats: their scatter over the mean of all.
    ///
    /// Undefined: NaN where values lie on both sides of 0 or the mean is not above the scatter. Whether 0 means *nothing there*
    /// on the scale, the caller knows. Its interval is that of the scatter: the mean is much better known.
    pub fn variation(&self, level: f64) -> Interval {
        let sd = self.repeats(level).sd;
        if self.one_sign && self.mean.abs() > sd.value {
            sd.times(1.0 / self.mean.abs())
        } else {
            Interval::NONE
        }
    }
}

/// Whether subjects scatter alike: an F test of the distances of values from the middle of their occasion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unlike {
    /// F.
    pub f: f64,
    /// Probability of so large an F where all scatter alike.
    pub p: f64,
}

impl Unlike {
    /// Of subjects with occasions with repeats. Occasions with fewer than three values are left out.
    ///
    /// Undefined: `None` with fewer than two subjects. Source: BrownForsythe1974 (distances from the median).
    /// Checked: scipy in the tests.
    pub fn of(subjects: &[Vec<Vec<f64>>]) -> Option<Self> {
        let mut scratch = Vec::new();
        let mut distances: Vec<Vec<f64>> = Vec::new();
        for subject in subjects {
            let mut own = Vec::new();
            for occasion in subject {
                let there: Vec<f64> = occasion.iter().copied().filter(|v| v.is_finite()).collect();
                if there.len() >= 3 {
                    let middle = stats::median(&there, &mut scratch);
                    own.extend(there.iter().map(|v| (v - middle).abs()));
                }
            }
            if !own.is_empty() {
                distances.push(own);
            }
        }
        let of = super::nested(&distances).filter(|of| of.subjects > 1)?;
        let f = of.between / of.within;
        let degrees = (of.subjects as f64 - 1.0, (of.values - of.subjects) as f64);
        Some(Self { f, p: fisher::upper_tail(f, degrees.0, degrees.1) })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)] // tests may
    use super::*;

    /// Davies & Goldsmith 1972, strength of a chemical paste: ten batches, three casks each, two assays each.
    const PASTE: [[[f64; 2]; 3]; 10] = [
        [[62.8, 62.6], [60.1, 62.3], [62.7, 63.1]],
        [[60.0, 61.4], [57.5, 56.9], [61.1, 58.9]],
        [[58.7, 57.5], [63.9, 63.1], [65.4, 63.7]],
        [[57.1, 56.4], [56.9, 58.6], [64.7, 64.5]],
        [[55.1, 55.1], [54.7, 54.2], [58.8, 57.5]],
        [[63.4, 64.9], [59.3, 58.1], [60.5, 60.0]],
        [[62.5, 62.6], [61.0, 58.7], [56.9, 57.7]],
        [[59.2, 59.4], [65.2, 66.0], [64.8, 64.1]],
        [[54.8, 54.8], [64.0, 64.0], [57.7, 56.8]],
        [[58.3, 59.3], [59.2, 59.2], [58.9, 56.6]],
    ];

    fn paste() -> Vec<Vec<Vec<f64>>> {
        PASTE.iter().map(|b| b.iter().map(|c| c.to_vec()).collect()).collect()
    }

    /// The data as the R package lme4 carries it (`Pastes`); its documentation prints the restricted likelihood's standard
    /// deviations 1.2874, 2.9041, 0.8234 (from memory), which statsmodels 0.15.0 MixedLM gives again; with equal numbers they
    /// are those of the analysis of variance.
    #[test]
    fn a_published_example() {
        let of = levels(&paste()).unwrap();
        assert_eq!((of.subjects, of.occasions, of.values), (10, 30, 60));
        for (part, expected) in [
            (of.between_subjects(0.95), 1.2874),
            (of.between_occasions(0.95), 2.9041),
            (of.repeats(0.95), 0.8234),
        ] {
            assert!((part.sd.value - expected).abs() < 1e-4 && !part.is_cut(), "{part:?}");
            assert!(part.sd.low < expected && expected < part.sd.high);
        }
        let (b, o, r) = (1.2874_f64, 2.9041_f64, 0.8234_f64);
        let whole = of.scatter_of_means(4, 0.95);
        assert!((whole.value - (b * b + o * o + r * r / 4.0).sqrt()).abs() < 1e-3, "{whole:?}");
        assert!(whole.low > 2.0 && whole.high < 6.0);
        // By hand: the mean of four repeats, σo² + σr²/4; of two such means, twice that.
        let expected = (8.433_7_f64 + 0.678 / 4.0).sqrt();
        assert!((of.error_of_mean(4, 0.95).value - expected).abs() < 1e-3);
        assert!((of.error_on_occasion(4, 0.95).value - 0.8234 / 2.0).abs() < 1e-4);
        let (apart, together) = (
            Means { first: 4, second: 4, one_occasion: false },
            Means { first: 4, second: 4, one_occasion: true },
        );
        let z = 1.959_964;
        assert!((of.detectable(apart, 0.95).value - z * 2.0_f64.sqrt() * expected).abs() < 1e-3);
        assert!((of.detectable(together, 0.95).value - z * 0.8234 * 0.5_f64.sqrt()).abs() < 1e-3);
    }

    /// Sizes of occasions and values of a made-up study, from an integer generator.
    fn uneven() -> Vec<Vec<Vec<f64>>> {
        let mut s = 12_345_u64;
        let mut u = move || {
            s = (1_103_515_245 * s + 12_345) % (1 << 31);
            s as f64 / f64::from(1_u32 << 31)
        };
        let sizes: [&[usize]; 5] = [&[3, 5, 2], &[4], &[6, 2], &[1, 1, 7, 3], &[2, 4]];
        let mut subjects = Vec::new();
        for occasions in sizes {
            let a = 20.0 * u();
            let mut own = Vec::new();
            for n in occasions {
                let b = 6.0 * u();
                own.push((0..*n).map(|_| 100.0 + a + b + 4.0 * u()).collect());
            }
            subjects.push(own);
        }
        subjects
    }

    /// statsmodels 0.15.0 on the same numbers: `anova_lm(ols("y ~ C(subject)"))` 396.059443 (4); difference of the residuals of
    /// `y ~ C(subject)` and `y ~ C(occasion)` 49.705589 (7); residual 1.139753 (28). scipy 1.17.1: `f_oneway` of the distances
    /// from occasions' medians, F 0.37365, p 0.82533.
    #[test]
    fn uneven_numbers() {
        let of = levels(&uneven()).unwrap();
        for (ours, value, degrees) in [
            (of.subject, 396.059_443, 4.0),
            (of.occasion, 49.705_589_2 / 7.0, 7.0),
            (of.repeat, 1.139_753, 28.0),
        ] {
            assert!((ours.value - value).abs() < 1e-6 && ours.degrees == degrees, "{ours:?}");
        }
        let unlike = Unlike::of(&uneven()).unwrap();
        assert!((unlike.f - 0.373_651_88).abs() < 1e-8 && (unlike.p - 0.825_333_46).abs() < 1e-8);
        // What is not defined takes no part.
        let mut holed = uneven();
        holed[1].push(vec![f64::NAN]);
        holed[0][0].push(f64::NAN);
        holed.push(vec![vec![f64::NAN]]);
        assert_eq!(levels(&holed), levels(&uneven()));
    }

    /// One occasion each: two levels, as [`crate::repeatability::nested`] has them; nothing is known of occasions.
    #[test]
    fn without_occasions_it_is_the_nested_design() {
        let groups = vec![vec![1.0, 2.0, 4.0], vec![5.0, 5.5], vec![3.0, 3.5, 2.0, 2.5]];
        let of = levels(&groups.iter().map(|g| vec![g.clone()]).collect::<Vec<_>>()).unwrap();
        let two = crate::repeatability::nested(&groups).unwrap();
        assert!(
            (of.subject.value - two.between).abs() < 1e-12 && (of.repeat.value - two.within).abs() < 1e-12
        );
        assert!((of.weights.2 - two.repeats).abs() < 1e-12);
        assert!(!of.knows_occasions() && of.between_occasions(0.95).sd.value.is_nan());
        let between = of.between_subjects(0.95).variance;
        assert!((between - (two.between - two.within) / two.repeats).abs() < 1e-12);
        assert_eq!(of.error_of_mean(3, 0.95), of.error_on_occasion(3, 0.95));
        assert!(levels(&[vec![vec![1.0], vec![2.0]]]).is_none(), "no repeats at all");
    }

    /// Occasions whose means are nearer than repeats would let them be: nothing is left for them, and this is told.
    #[test]
    fn a_variance_under_nothing_is_told() {
        let of =
            levels(&[vec![vec![1.0, 3.0], vec![1.0, 3.0]], vec![vec![2.0, 5.0], vec![2.0, 5.0]]]).unwrap();
        let part = of.between_occasions(0.95);
        assert!(part.is_cut() && part.variance < 0.0);
        assert_eq!((part.sd.value, part.sd.low), (0.0, 0.0));
        let error = of.error_of_mean(2, 0.95);
        assert_eq!(error.value, of.error_on_occasion(2, 0.95).value);
        assert!(error.low <= error.value && error.value <= error.high);
    }

    #[test]
    fn a_ratio_to_nothing_is_not_said() {
        let of = |shift: f64| {
            levels(&[vec![vec![1.0 + shift, 3.0 + shift], vec![2.0 + shift, 2.5 + shift]]])
                .unwrap()
                .variation(0.95)
        };
        assert!(of(10.0).value > 0.0 && of(-20.0).value > 0.0);
        assert!(of(-2.0).value.is_nan(), "values on both sides of 0");
    }
}
