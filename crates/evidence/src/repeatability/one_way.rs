//! The nested design: subjects with repeats of their own.
use super::Error;
use crate::interval::Interval;
use signal::{fisher, stats};

/// Mean squares of a nested design: subjects with any number of repeats each.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nested {
    /// Subjects with at least one value.
    pub subjects: usize,
    /// Values in all.
    pub values: usize,
    /// Repeats a subject, as the expectation of the mean square has it.
    pub repeats: f64,
    /// Between subjects.
    pub between: f64,
    /// Within subjects.
    pub within: f64,
    /// Mean of all values.
    pub mean: f64,
    /// True where all values lie on one side of 0.
    pub one_sign: bool,
}

/// Mean squares of subjects with repeats; values that are not defined are left out.
///
/// Undefined: `None` where no subject has two values. With one subject there is a within mean square and no between.
/// Source: one-way analysis of variance with unequal numbers (textbook; repeats as in Donner1986).
pub fn nested(subjects: &[Vec<f64>]) -> Option<Nested> {
    let groups: Vec<Vec<f64>> = subjects
        .iter()
        .map(|g| g.iter().copied().filter(|v| v.is_finite()).collect::<Vec<f64>>())
        .filter(|g| !g.is_empty())
        .collect();
    let (count, values) = (groups.len(), groups.iter().map(Vec::len).sum::<usize>());
    if values <= count {
        return None;
    }
    let all = values as f64;
    let mean = groups.iter().flatten().sum::<f64>() / all;
    let square = |v: f64| v * v;
    let between: f64 = groups.iter().map(|g| g.len() as f64 * square(stats::mean(g) - mean)).sum();
    let within: f64 = groups.iter().map(|g| g.iter().map(|v| square(v - stats::mean(g))).sum::<f64>()).sum();
    let squares: f64 = groups.iter().map(|g| square(g.len() as f64)).sum();
    let between_degrees = count as f64 - 1.0;
    Some(Nested {
        subjects: count,
        values,
        repeats: if count > 1 { (all - squares / all) / between_degrees } else { all },
        between: if count > 1 { between / between_degrees } else { f64::NAN },
        within: within / (all - count as f64),
        mean,
        one_sign: groups.iter().flatten().all(|v| *v > 0.0) || groups.iter().flatten().all(|v| *v < 0.0),
    })
}

impl Nested {
    /// Intraclass correlation of one value, ICC(1,1), with its F-based interval (approximate where numbers differ).
    ///
    /// Source: Donner1986 for unequal numbers; equal ones are ShroutFleiss1979's first.
    pub fn icc(&self, level: f64) -> Interval {
        if self.subjects < 2 {
            return Interval::NONE;
        }
        let p = 0.5 * (1.0 + level);
        let (above, below) = (self.subjects as f64 - 1.0, (self.values - self.subjects) as f64);
        let of = |f: f64| (f - 1.0) / (f + self.repeats - 1.0);
        let f = self.between / self.within;
        Interval {
            value: of(f),
            low: of(f / fisher::quantile(p, above, below)),
            high: of(f * fisher::quantile(p, below, above)),
        }
    }

    /// Error of one value: the spread within subjects.
    pub fn error(&self, level: f64) -> Error {
        Error::of(self.within, (self.values - self.subjects) as f64, level)
    }

    /// Coefficient of variation: the error over the mean; NaN where values lie on both sides of 0 or the mean is not above the
    /// error, since a ratio to nearly nothing says nothing. Whether 0 means *nothing there*, the caller knows.
    pub fn variation(&self, level: f64) -> Interval {
        let sem = self.error(level).sem;
        if self.one_sign && self.mean.abs() > sem.value {
            sem.times(1.0 / self.mean.abs())
        } else {
            Interval::NONE
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)] // tests may
    use super::super::{Form, crossed, icc};
    use super::*;

    fn shrout() -> Vec<Vec<f64>> {
        [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
            .map(|r| r.map(f64::from).to_vec())
            .to_vec()
    }

    /// With equal numbers, a nested design is the one-way form of the crossed one.
    #[test]
    fn nested_with_equal_numbers_is_one_way() {
        let (nested, crossed) = (nested(&shrout()).unwrap(), crossed(&shrout()).unwrap());
        assert!((nested.within - crossed.within).abs() < 1e-12 && (nested.repeats - 4.0).abs() < 1e-12);
        let (a, b) = (nested.icc(0.95), icc(&crossed, Form::OneWaySingle, 0.95));
        assert!(
            (a.value - b.value).abs() < 1e-12
                && (a.low - b.low).abs() < 1e-9
                && (a.high - b.high).abs() < 1e-9
        );
        assert!(super::nested(&[vec![1.0], vec![2.0]]).is_none());
        let one = super::nested(&[vec![1.0, 2.0, f64::NAN, 3.0]]).unwrap();
        assert!((one.within - 1.0).abs() < 1e-12 && one.icc(0.95).value.is_nan() && one.values == 3);
    }
}
