//! The crossed design: every subject under each of the same conditions, and the six intraclass correlations.
use super::Error;
use crate::interval::Interval;
use signal::{fisher, stats};

/// Mean squares of a crossed design. Source: ShroutFleiss1979.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossed {
    /// Subjects.
    pub n: usize,
    /// Conditions.
    pub k: usize,
    /// Between subjects (BMS).
    pub between: f64,
    /// Within subjects (WMS).
    pub within: f64,
    /// Between conditions (JMS).
    pub conditions: f64,
    /// What is left (EMS).
    pub residual: f64,
}

/// Mean squares of a table; rows with a value that is not defined are left out.
///
/// Shape: rows of equal length, one a subject. Undefined: `None` with fewer than two whole rows or two columns, or rows of
/// unequal length. Source: ShroutFleiss1979, two-way analysis of variance with one value a cell.
pub fn crossed(rows: &[Vec<f64>]) -> Option<Crossed> {
    let k = rows.first()?.len();
    if k < 2 || rows.iter().any(|r| r.len() != k) {
        return None;
    }
    let whole: Vec<&Vec<f64>> = rows.iter().filter(|r| r.iter().all(|v| v.is_finite())).collect();
    let n = whole.len();
    if n < 2 {
        return None;
    }
    let (nf, kf) = (n as f64, k as f64);
    let grand = whole.iter().flat_map(|r| r.iter()).sum::<f64>() / (nf * kf);
    let square = |v: f64| v * v;
    let between: f64 = whole.iter().map(|r| square(stats::mean(r) - grand)).sum::<f64>() * kf;
    let column = |j: usize| whole.iter().filter_map(|r| r.get(j)).sum::<f64>() / nf;
    let conditions: f64 = (0..k).map(|j| square(column(j) - grand)).sum::<f64>() * nf;
    let within: f64 = whole.iter().map(|r| r.iter().map(|v| square(v - stats::mean(r))).sum::<f64>()).sum();
    Some(Crossed {
        n,
        k,
        between: between / (nf - 1.0),
        within: within / (nf * (kf - 1.0)),
        conditions: conditions / (kf - 1.0),
        residual: (within - conditions).max(0.0) / ((nf - 1.0) * (kf - 1.0)),
    })
}

/// The six forms of the intraclass correlation of Shrout & Fleiss (1979), with the names of McGraw & Wong (1996).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// ICC(1,1), ICC(1): conditions are not the same for all subjects; one measurement.
    OneWaySingle,
    /// ICC(2,1), ICC(A,1): conditions are a sample of many, and a shift between them counts as error; one measurement.
    AgreementSingle,
    /// ICC(3,1), ICC(C,1): a shift between conditions does not count; one measurement.
    ConsistencySingle,
    /// ICC(1,k), ICC(k): the mean of k, as the first.
    OneWayMean,
    /// ICC(2,k), ICC(A,k): the mean of k, as the second.
    AgreementMean,
    /// ICC(3,k), ICC(C,k): the mean of k, as the third.
    ConsistencyMean,
}

impl Form {
    /// All, in the order of Shrout & Fleiss.
    pub const ALL: [Self; 6] = [
        Self::OneWaySingle,
        Self::AgreementSingle,
        Self::ConsistencySingle,
        Self::OneWayMean,
        Self::AgreementMean,
        Self::ConsistencyMean,
    ];

    /// As Shrout & Fleiss write it, and as McGraw & Wong do.
    pub fn names(self) -> (&'static str, &'static str) {
        match self {
            Self::OneWaySingle => ("ICC(1,1)", "ICC(1)"),
            Self::AgreementSingle => ("ICC(2,1)", "ICC(A,1)"),
            Self::ConsistencySingle => ("ICC(3,1)", "ICC(C,1)"),
            Self::OneWayMean => ("ICC(1,k)", "ICC(k)"),
            Self::AgreementMean => ("ICC(2,k)", "ICC(A,k)"),
            Self::ConsistencyMean => ("ICC(3,k)", "ICC(C,k)"),
        }
    }
}

/// Intraclass correlation with its interval.
///
/// Unit: 1. Undefined: NaN where nothing varies. Source: ShroutFleiss1979 (F-based limits; that of ICC(2,·) with
/// Satterthwaite's degrees of freedom). Checked: their table.
pub fn icc(of: &Crossed, form: Form, level: f64) -> Interval {
    let (n, k) = (of.n as f64, of.k as f64);
    let (b, w, j, e) = (of.between, of.within, of.conditions, of.residual);
    let p = 0.5 * (1.0 + level);
    let (residual_degrees, within_degrees) = ((n - 1.0) * (k - 1.0), n * (k - 1.0));
    // Limits of F: divided and multiplied by the quantile.
    let limits = |f: f64, degrees: f64| {
        (f / fisher::quantile(p, n - 1.0, degrees), f * fisher::quantile(p, degrees, n - 1.0))
    };
    let single = |f: f64| (f - 1.0) / (f + k - 1.0);
    let mean = |f: f64| 1.0 - 1.0 / f;
    let through = |value: f64, (low, high): (f64, f64), of: &dyn Fn(f64) -> f64| Interval {
        value,
        low: of(low),
        high: of(high),
    };
    match form {
        Form::OneWaySingle => through((b - w) / (b + (k - 1.0) * w), limits(b / w, within_degrees), &single),
        Form::OneWayMean => through((b - w) / b, limits(b / w, within_degrees), &mean),
        Form::ConsistencySingle => {
            through((b - e) / (b + (k - 1.0) * e), limits(b / e, residual_degrees), &single)
        }
        Form::ConsistencyMean => through((b - e) / b, limits(b / e, residual_degrees), &mean),
        Form::AgreementSingle | Form::AgreementMean => {
            let single = (b - e) / (b + (k - 1.0) * e + k * (j - e) / n);
            let (low, high) = agreement_limits(of, single, p);
            if form == Form::AgreementSingle {
                return Interval { value: single, low, high };
            }
            // The mean of k, by the Spearman–Brown formula.
            let of_mean = |r: f64| k * r / (1.0 + (k - 1.0) * r);
            Interval { value: (b - e) / (b + (j - e) / n), low: of_mean(low), high: of_mean(high) }
        }
    }
}

fn agreement_limits(of: &Crossed, icc: f64, p: f64) -> (f64, f64) {
    let (n, k) = (of.n as f64, of.k as f64);
    let (b, j, e) = (of.between, of.conditions, of.residual);
    let f = j / e;
    let (x, y) = (k * icc * f, n * (1.0 + (k - 1.0) * icc) - k * icc);
    let degrees = (k - 1.0) * (n - 1.0) * (x + y) * (x + y) / ((n - 1.0) * x * x + y * y);
    let (above, below) = (fisher::quantile(p, n - 1.0, degrees), fisher::quantile(p, degrees, n - 1.0));
    let rest = k * j + (k * n - k - n) * e;
    (n * (b - above * e) / (above * rest + n * b), n * (below * b - e) / (rest + n * below * b))
}

/// Error of a crossed design, a shift between conditions left out: the root of the residual mean square.
///
/// Source: Weir2005 (SEM, minimal difference); Hopkins2000 (typical error). Checked: Weir's worked example.
pub fn error(of: &Crossed, level: f64) -> Error {
    Error::of(of.residual, (of.n - 1) as f64 * (of.k - 1) as f64, level)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)] // tests may
    use super::*;

    fn shrout() -> Vec<Vec<f64>> {
        [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
            .map(|r| r.map(f64::from).to_vec())
            .to_vec()
    }

    /// Shrout & Fleiss 1979, Psychological Bulletin 86:420-428, table 2 and 4 (six targets, four judges): mean squares 11.24,
    /// 6.26, 32.49, 1.02; coefficients .17 .29 .71 .44 .62 .91. Limits: the same data in pingouin.
    #[test]
    fn the_published_table() {
        let of = crossed(&shrout()).unwrap();
        for (ours, theirs) in [
            (of.between, 11.241_666_7),
            (of.within, 6.263_888_9),
            (of.conditions, 32.486_111_1),
            (of.residual, 1.019_444_4),
        ] {
            assert!((ours - theirs).abs() < 1e-6, "{ours} {theirs}");
        }
        let expected = [
            (0.165_741_8, -0.132_932_3, 0.722_560_1),
            (0.289_763_8, 0.018_786_5, 0.761_084_4),
            (0.714_840_7, 0.342_464_8, 0.945_858_3),
            (0.442_797_1, -0.884_442_2, 0.912_415_4),
            (0.620_050_5, 0.071_136_8, 0.927_232_0),
            (0.909_315_5, 0.675_674_7, 0.985_891_7),
        ];
        for (form, (value, low, high)) in Form::ALL.into_iter().zip(expected) {
            let ours = icc(&of, form, 0.95);
            for (a, b) in [(ours.value, value), (ours.low, low), (ours.high, high)] {
                assert!((a - b).abs() < 1e-6, "{}: {ours:?}", form.names().0);
            }
        }
        // A row with a hole is left out, not filled.
        let mut holed = shrout();
        holed.push(vec![1.0, f64::NAN, 2.0, 3.0]);
        assert_eq!(crossed(&holed), crossed(&shrout()));
    }

    /// Weir 2005, J Strength Cond Res 19:231-240, data sets A and B (from memory; they reproduce his printed results): the
    /// same error of 7.6 and minimal difference of 20.9 in people who differ much and little.
    #[test]
    fn the_same_error_in_wide_and_narrow_people() {
        let a =
            [[146, 140], [148, 152], [170, 152], [90, 99], [157, 145], [156, 153], [176, 167], [205, 218]];
        let b =
            [[166, 160], [168, 172], [160, 142], [150, 159], [147, 135], [146, 143], [156, 147], [155, 168]];
        for (rows, expected) in [(a, 0.947_016), (b, 0.537_728)] {
            let of = crossed(&rows.map(|r| r.map(f64::from).to_vec())).unwrap();
            let found = error(&of, 0.95);
            assert!((found.sem.value - 7.556_927).abs() < 1e-6);
            assert!((found.detectable.value - 20.946_732).abs() < 1e-3, "{}", found.detectable.value);
            assert!((icc(&of, Form::ConsistencySingle, 0.95).value - expected).abs() < 1e-6);
        }
        // Hopkins 2000: the 90 % interval of that typical error.
        let of = crossed(&a.map(|r| r.map(f64::from).to_vec())).unwrap();
        let found = error(&of, 0.9).sem;
        assert!((found.low - 5.3308).abs() < 1e-4 && (found.high - 13.5810).abs() < 1e-4, "{found:?}");
    }
}
