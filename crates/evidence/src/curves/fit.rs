//! What is fitted at a node: means, differences, a line; its statistic and what it leaves.
use super::field::Kind;

/// How the values of a node are explained. Rows stand set by set.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Design {
    /// By their mean.
    Mean,
    /// By the means of two groups, the first of so many; scatter alike.
    Two(usize),
    /// The same, each group with its own scatter.
    Welch(usize),
    /// By the means of groups of these sizes.
    Groups(Vec<usize>),
    /// By the means of units and of sets, each set with all units in the same order.
    Within {
        /// Units.
        units: usize,
        /// Sets.
        sets: usize,
    },
    /// By a straight line over these numbers, whose mean is 0.
    Line(Vec<f64>),
}

/// What is found at a node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Fit {
    /// Mean, difference of means, slope; NaN where several means are compared.
    pub estimate: f64,
    /// Its standard error; NaN with it.
    pub se: f64,
    /// Student's t, Welch's t or F.
    pub statistic: f64,
    /// Variances of the first and the second group over the pooled one; (1, 1) where there are no two groups.
    pub scatter: (f64, f64),
}

/// Residuals this small beside the values are rounding.
const ROUNDING: f64 = 1e-28;

fn mean(of: &[f64]) -> f64 {
    of.iter().sum::<f64>() / of.len() as f64
}

fn squares(of: &[f64]) -> f64 {
    of.iter().map(|v| v * v).sum()
}

/// Takes the mean off; gives it.
pub(super) fn centre(of: &mut [f64]) -> f64 {
    let m = mean(of);
    of.iter_mut().for_each(|v| *v -= m);
    m
}

impl Design {
    /// What the statistic follows where there is nothing to see.
    ///
    /// `rows`: curves; `scatter`: sums over the nodes of [`Fit::scatter`]. Welch's degrees are Satterthwaite's of the two
    /// groups' variances, pooled along the curve, each node on the scale of its own pooled variance.
    pub fn kind(&self, rows: usize, scatter: (f64, f64)) -> Kind {
        let n = rows as f64;
        match self {
            Self::Mean => Kind::T(n - 1.0),
            Self::Two(_) | Self::Line(_) => Kind::T(n - 2.0),
            Self::Welch(first) => {
                let (n, m) = (*first as f64, n - *first as f64);
                let (a, b) = (scatter.0 / n, scatter.1 / m);
                Kind::T((a + b) * (a + b) / (a * a / (n - 1.0) + b * b / (m - 1.0)))
            }
            Self::Groups(sizes) => {
                let k = sizes.len() as f64;
                Kind::F(k - 1.0, n - k)
            }
            Self::Within { units, sets } => {
                let (units, sets) = (*units as f64, *sets as f64);
                Kind::F(sets - 1.0, (sets - 1.0) * (units - 1.0))
            }
        }
    }
}

/// Fits a node's values and leaves the residuals in their place. `None` where nothing is left: no scatter.
///
/// Source: any textbook of linear models; Welch1947. Checked: scipy.stats and spm1d (checks/curves_peer.py).
pub(super) fn fit(design: &Design, values: &mut [f64]) -> Option<Fit> {
    let n = values.len() as f64;
    let size = squares(values);
    let alike = (1.0, 1.0);
    let of = |estimate: f64, se: f64, scatter| Fit { estimate, se, statistic: estimate / se, scatter };
    let of_f = |f: f64| Fit { estimate: f64::NAN, se: f64::NAN, statistic: f, scatter: alike };
    let left = |values: &[f64]| Some(squares(values)).filter(|s| *s > ROUNDING * size);
    match design {
        Design::Mean => {
            let m = centre(values);
            let rest = left(values)?;
            Some(of(m, (rest / (n - 1.0) / n).sqrt(), alike))
        }
        Design::Two(first) | Design::Welch(first) => {
            let (a, b) = values.split_at_mut_checked(*first)?;
            let (count, other) = (a.len() as f64, b.len() as f64);
            let difference = centre(a) - centre(b);
            let (sa, sb) = (squares(a), squares(b));
            let rest = left(values)?;
            let pooled = rest / (n - 2.0);
            let (va, vb) = (sa / (count - 1.0), sb / (other - 1.0));
            let variance = match design {
                Design::Welch(_) => va / count + vb / other,
                _ => pooled * (1.0 / count + 1.0 / other),
            };
            Some(of(difference, variance.sqrt(), (va / pooled, vb / pooled)))
        }
        Design::Groups(sizes) => {
            let grand = mean(values);
            let mut between = 0.0;
            let mut rest = &mut *values;
            for size in sizes {
                let (group, others) = rest.split_at_mut_checked(*size)?;
                let shift = centre(group) - grand;
                between += *size as f64 * shift * shift;
                rest = others;
            }
            let k = sizes.len() as f64;
            Some(of_f(between / (k - 1.0) / (left(values)? / (n - k))))
        }
        Design::Within { units, sets } => {
            centre(values);
            for unit in 0..*units {
                let own = values.iter().skip(unit).step_by(*units).sum::<f64>() / *sets as f64;
                values.iter_mut().skip(unit).step_by(*units).for_each(|v| *v -= own);
            }
            let mut between = 0.0;
            for set in values.chunks_mut((*units).max(1)) {
                let m = centre(set);
                between += *units as f64 * m * m;
            }
            // Mean squares share the factor of the sets.
            Some(of_f(between / (left(values)? / (*units as f64 - 1.0))))
        }
        Design::Line(centred) => {
            centre(values);
            let sxx = squares(centred);
            let slope = centred.iter().zip(&*values).map(|(x, y)| x * y).sum::<f64>() / sxx;
            values.iter_mut().zip(centred).for_each(|(y, x)| *y -= slope * x);
            let rest = left(values)?;
            Some(of(slope, (rest / (n - 2.0) / sxx).sqrt(), alike))
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    fn near(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-9 * (1.0 + b.abs()), "{a} {b}");
    }

    /// Published examples: groups of eight with t(14) = 3.147984 (facts of effect sizes, pingouin); Shrout & Fleiss 1979, six
    /// targets by four judges: judges against residual F = 32.4861111 / 1.0194444.
    #[test]
    fn as_worked_by_others() {
        let mut values = [10., 12., 9., 11., 14., 13., 10., 12., 8., 9., 11., 7., 10., 9., 8., 10.];
        let two = fit(&Design::Two(8), &mut values).unwrap();
        assert!((two.statistic - 3.147_984).abs() < 1e-6);
        let judges = [
            [9., 6., 8., 7., 10., 6.],
            [2., 1., 4., 1., 5., 2.],
            [5., 3., 6., 2., 6., 4.],
            [8., 2., 8., 6., 9., 7.],
        ];
        let mut all = judges.concat();
        let within = fit(&Design::Within { units: 6, sets: 4 }, &mut all).unwrap();
        assert!((within.statistic - 32.486_111_1 / 1.019_444_4).abs() < 1e-5, "{within:?}");
        near(squares(&all), 15.0 * 1.019_444_444_444);
    }

    /// scipy 1.17.1: ttest_ind(equal_var=False) of (1 2 4 7) and (3 9 8 14 11 2): statistic, degrees; f_oneway; linregress.
    #[test]
    fn as_scipy() {
        let all = [1., 2., 4., 7., 3., 9., 8., 14., 11., 2.];
        let welch = fit(&Design::Welch(4), &mut all.clone()).unwrap();
        near(welch.statistic, WELCH.0);
        let Kind::T(degrees) = Design::Welch(4).kind(10, welch.scatter) else { panic!("t") };
        near(degrees, WELCH.1);
        near(fit(&Design::Groups(vec![4, 3, 3]), &mut all.clone()).unwrap().statistic, ONE_WAY);
        let number: Vec<f64> = [1., 5., 2., 8., 4., 9., 3., 7., 6., 2.].iter().map(|x| x - 4.7).collect();
        let line = fit(&Design::Line(number), &mut all.clone()).unwrap();
        near(line.estimate, LINE.0);
        near(line.se, LINE.1);
    }
    const WELCH: (f64, f64) = (-1.880_309_775_956_208_4, 7.929_947_800_977_342_5);
    const ONE_WAY: f64 = 1.556_963_788_300_836;
    const LINE: (f64, f64) = (1.076_358_296_622_613_5, 0.415_386_293_104_619_4);

    #[test]
    fn without_scatter_there_is_no_statistic() {
        assert_eq!(fit(&Design::Mean, &mut [0.1 + 0.2, 0.3, 0.3]), None);
        assert_eq!(fit(&Design::Two(2), &mut [2.0, 2.0, 1.0, 1.0]), None);
        assert!(fit(&Design::Mean, &mut [0.30001, 0.3, 0.3]).is_some());
    }
}
