//! A linear model of values that come in several from each subject: fixed effects, and an intercept of its own for every
//! subject. So repeats of a subject count for what they are, neither as independent nor as one.
//!
//! y = Xβ + bᵢ + e, b of variance σ_b², e of variance σ². With λ = σ_b²/σ² the inverse of a subject's covariance is
//! I − λ/(1 + nλ)·J, so that sums by subject are all that is needed, whatever the number of values.
use crate::interval::Interval;
use signal::{math, stats, student};

/// A fitted model.
#[derive(Clone, Debug, PartialEq)]
pub struct Mixed {
    /// The intercept, then each column of the design.
    pub terms: Vec<Term>,
    /// Variance of the subjects' own intercepts.
    pub between: f64,
    /// Variance of the values of a subject.
    pub within: f64,
    /// Subjects.
    pub subjects: usize,
    /// Values.
    pub values: usize,
}

/// A fixed effect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Term {
    /// The estimate and its interval, by Student's t.
    pub estimate: Interval,
    /// Standard error.
    pub se: f64,
    /// Degrees of freedom after Satterthwaite.
    pub degrees: f64,
    /// Probability of an estimate as far from 0, to either side.
    pub p: f64,
}

/// Fits the model by restricted maximum likelihood.
///
/// Shape: a value, a subject's number and a row of each of `columns` for every observation; the intercept is added. Rows with
/// something that is not defined are left out. Undefined: `None` where the design is not of full rank, no subject has two
/// values, subjects cannot be told from the design (one subject a side), or nothing varies. Source: PattersonThompson1971
/// (restricted likelihood, here profiled to λ, searched on a grid of ln λ and then by halving of its derivative);
/// degrees of freedom: Satterthwaite1946 with the expected information (GiesbrechtBurns1985), which is n − 1 or n − 2 subjects
/// where numbers are equal, and also holds where σ_b² comes out as 0. Checked: statsmodels MixedLM (refs/mixed.toml), closed
/// forms of balanced designs.
pub fn random_intercept(
    values: &[f64],
    subjects: &[usize],
    columns: &[Vec<f64>],
    level: f64,
) -> Option<Mixed> {
    let sums = Sums::of(values, subjects, columns)?;
    let lambda = sums.most_likely()?;
    let fit = sums.fit(lambda)?;
    let within = fit.rest / sums.degrees();
    let shift = |k: usize| if k == 0 { sums.shift } else { 0.0 };
    let terms = (0..sums.p)
        .map(|k| {
            let (at, se) = (fit.beta.get(k)? + shift(k), (within * fit.inverse.at(k, k)).sqrt());
            let degrees = fit.satterthwaite(k)?;
            let half = student::quantile(0.5 * (1.0 + level), degrees) * se;
            let p = 2.0 * student::upper_tail((at / se).abs(), degrees);
            Some(Term { estimate: Interval::around(at, half), se, degrees, p })
        })
        .collect::<Option<Vec<Term>>>()?;
    Some(Mixed { terms, between: lambda * within, within, subjects: sums.groups.len(), values: sums.n })
}

/// What the model needs of the observations.
struct Sums {
    /// Fixed effects, the intercept among them.
    p: usize,
    n: usize,
    /// Taken off every value, so that a large mean costs no digits.
    shift: f64,
    xx: Square,
    xy: Vec<f64>,
    yy: f64,
    groups: Vec<Group>,
}

/// Of one subject: how many values, and the sums of design and value.
#[derive(Clone, Debug, Default)]
struct Group {
    n: f64,
    x: Vec<f64>,
    y: f64,
}

/// The fit at one λ, σ² taken as 1.
struct Fit {
    beta: Vec<f64>,
    /// (X'V⁻¹X)⁻¹.
    inverse: Square,
    /// Weighted sum of squares of what is left.
    rest: f64,
    /// −2 ln of the restricted likelihood, but for a constant.
    unlikely: f64,
    /// Its derivative over λ.
    slope: f64,
    lambda: f64,
    /// Σ aᵢ² xᵢxᵢ', a = 1/(1 + nλ).
    between: Square,
    /// tr(P·Z·Z') and tr((P·Z·Z')²).
    traces: (f64, f64),
    degrees: f64,
}

impl Sums {
    fn of(values: &[f64], subjects: &[usize], columns: &[Vec<f64>]) -> Option<Self> {
        let p = columns.len() + 1;
        let row = |k: usize| {
            let mut row = vec![1.0];
            row.extend(columns.iter().filter_map(|c| c.get(k)));
            row
        };
        let whole: Vec<(f64, usize, Vec<f64>)> = values
            .iter()
            .zip(subjects)
            .enumerate()
            .map(|(k, (y, subject))| (*y, *subject, row(k)))
            .filter(|(y, _, row)| y.is_finite() && row.len() == p && row.iter().all(|v| v.is_finite()))
            .collect();
        let shift = stats::mean(&whole.iter().map(|r| r.0).collect::<Vec<f64>>());
        let mut known: Vec<usize> = whole.iter().map(|r| r.1).collect();
        known.sort_unstable();
        known.dedup();
        let blank = Group { n: 0.0, x: vec![0.0; p], y: 0.0 };
        let mut groups = vec![blank; known.len()];
        let (mut xx, mut xy, mut yy) = (Square::zero(p), vec![0.0; p], 0.0);
        for (y, subject, row) in &whole {
            let y = y - shift;
            let group = groups.get_mut(known.binary_search(subject).ok()?)?;
            group.n += 1.0;
            group.y += y;
            group.x.iter_mut().zip(row).for_each(|(sum, x)| *sum += x);
            xx.add(1.0, row);
            xy.iter_mut().zip(row).for_each(|(sum, x)| *sum += x * y);
            yy += y * y;
        }
        let repeats = groups.iter().any(|g| g.n > 1.0);
        let n = whole.len();
        (repeats && n > p && yy > 0.0).then_some(Self { p, n, shift, xx, xy, yy, groups })
    }

    fn degrees(&self) -> f64 {
        (self.n - self.p) as f64
    }

    fn fit(&self, lambda: f64) -> Option<Fit> {
        let (mut xwx, mut xwy, mut ywy, mut logs) = (self.xx.clone(), self.xy.clone(), self.yy, 0.0);
        for g in &self.groups {
            let c = lambda / (1.0 + g.n * lambda);
            xwx.add(-c, &g.x);
            xwy.iter_mut().zip(&g.x).for_each(|(sum, x)| *sum -= c * x * g.y);
            ywy -= c * g.y * g.y;
            logs += math::ln_1p(g.n * lambda);
        }
        let (inverse, log_determinant) = xwx.inverse()?;
        let beta = inverse.times(&xwy);
        let rest = ywy - dot(&beta, &xwy);
        let (mut between, mut trace, mut squares, mut of_sums) = (Square::zero(self.p), 0.0, 0.0, 0.0);
        for g in &self.groups {
            let a = 1.0 / (1.0 + g.n * lambda);
            let lever = dot(&g.x, &inverse.times(&g.x));
            let left = g.y - dot(&g.x, &beta);
            between.add(a * a, &g.x);
            trace += g.n * a - a * a * lever;
            squares += g.n * a * g.n * a - 2.0 * g.n * a * a * a * lever;
            of_sums += a * a * left * left;
        }
        let turned = inverse.product(&between);
        squares += turned.product(&turned).trace();
        let degrees = self.degrees();
        (rest > 0.0).then(|| Fit {
            unlikely: degrees * math::ln(rest) + logs + log_determinant,
            slope: trace - degrees * of_sums / rest,
            beta,
            inverse,
            rest,
            lambda,
            between,
            traces: (trace, squares),
            degrees,
        })
    }

    /// The λ of greatest restricted likelihood; 0 where subjects differ by no more than their values do.
    fn most_likely(&self) -> Option<f64> {
        const STEP: f64 = 0.25;
        let place = |k: i32| if k == 0 { 0.0 } else { math::exp(STEP * f64::from(k) - 18.5) };
        // ln λ from −18.25 to 18.5.
        let grid: Vec<(i32, f64)> =
            (0..=148).filter_map(|k| Some((k, self.fit(place(k))?.unlikely))).collect();
        let best = grid.iter().min_by(|a, b| a.1.total_cmp(&b.1))?.0;
        if best == 0 {
            return Some(0.0);
        }
        let slope = |log: f64| self.fit(math::exp(log)).map(|f| f.slope);
        let middle = STEP * f64::from(best) - 18.5;
        let (mut low, mut high) = (middle - STEP, middle + STEP);
        if !(slope(low)? < 0.0 && slope(high).is_none_or(|s| s > 0.0)) {
            return Some(place(best));
        }
        for _ in 0..60 {
            let at = 0.5 * (low + high);
            if slope(at).is_none_or(|s| s > 0.0) { high = at } else { low = at }
        }
        Some(math::exp(0.5 * (low + high)))
    }
}

impl Fit {
    /// 2·f²/var f of the variance f of an effect, by the delta rule in (σ_b², σ²); σ² falls out.
    fn satterthwaite(&self, k: usize) -> Option<f64> {
        let variance = self.inverse.at(k, k);
        let of_between = self.inverse.product(&self.between).product(&self.inverse).at(k, k);
        let of_within = variance - self.lambda * of_between;
        let (trace, both) = self.traces;
        let cross = trace - self.lambda * both;
        let within = self.degrees - 2.0 * self.lambda * trace + self.lambda * self.lambda * both;
        let determinant = both * within - cross * cross;
        // Where the design knows every subject, nothing tells how much subjects differ.
        if determinant <= 1e-9 * both * within || both <= 1e-12 {
            return None;
        }
        let spread = (of_between * of_between * within - 2.0 * of_between * of_within * cross
            + of_within * of_within * both)
            / determinant;
        Some(variance * variance / spread)
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// A small symmetric matrix, or the product of two.
#[derive(Clone, Debug)]
struct Square {
    p: usize,
    rows: Vec<f64>,
}

impl Square {
    fn zero(p: usize) -> Self {
        Self { p, rows: vec![0.0; p * p] }
    }
    fn at(&self, i: usize, j: usize) -> f64 {
        self.rows.get(i * self.p + j).copied().unwrap_or(f64::NAN)
    }
    fn put(&mut self, i: usize, j: usize, value: f64) {
        if let Some(place) = self.rows.get_mut(i * self.p + j) {
            *place = value;
        }
    }
    fn add(&mut self, factor: f64, x: &[f64]) {
        for (row, a) in self.rows.chunks_mut(self.p).zip(x) {
            row.iter_mut().zip(x).for_each(|(sum, b)| *sum += factor * a * b);
        }
    }
    fn times(&self, x: &[f64]) -> Vec<f64> {
        self.rows.chunks(self.p).map(|row| dot(row, x)).collect()
    }
    fn product(&self, other: &Self) -> Self {
        let mut out = Self::zero(self.p);
        for i in 0..self.p {
            for j in 0..self.p {
                out.put(i, j, (0..self.p).map(|k| self.at(i, k) * other.at(k, j)).sum());
            }
        }
        out
    }
    fn trace(&self) -> f64 {
        (0..self.p).map(|k| self.at(k, k)).sum()
    }
    /// Inverse and ln of the determinant, by Gauss–Jordan steps down the diagonal; `None` where a column is as good as made of
    /// the others.
    fn inverse(&self) -> Option<(Self, f64)> {
        let (mut left, mut right, mut log) = (self.clone(), Self::zero(self.p), 0.0);
        (0..self.p).for_each(|k| right.put(k, k, 1.0));
        for k in 0..self.p {
            let pivot = left.at(k, k);
            if pivot.is_nan() || pivot <= 1e-10 * self.at(k, k) {
                return None;
            }
            log += math::ln(pivot);
            for j in 0..self.p {
                left.put(k, j, left.at(k, j) / pivot);
                right.put(k, j, right.at(k, j) / pivot);
            }
            for i in (0..self.p).filter(|i| *i != k) {
                let factor = left.at(i, k);
                for j in 0..self.p {
                    left.put(i, j, left.at(i, j) - factor * left.at(k, j));
                    right.put(i, j, right.at(i, j) - factor * right.at(k, j));
                }
            }
        }
        Some((right, log))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;
    use crate::chance::Chance;
    use crate::repeatability::nested;

    fn near(a: f64, b: f64, by: f64) {
        assert!((a - b).abs() <= by * (1.0 + b.abs()), "{a}, not {b}");
    }

    /// `n` subjects with `k` values each, about a mean that is large beside them.
    fn made(n: usize, k: usize, between: f64) -> Vec<Vec<f64>> {
        let mut chance = Chance::new(11, n * k);
        let mut uniform = || chance.below(1 << 20) as f64 / f64::from(1 << 20) - 0.5;
        (0..n)
            .map(|_| {
                let own = 5000.0 + between * uniform();
                (0..k).map(|_| own + uniform()).collect()
            })
            .collect()
    }

    fn long(groups: &[Vec<f64>]) -> (Vec<f64>, Vec<usize>) {
        let subjects = groups.iter().enumerate().flat_map(|(k, g)| vec![k; g.len()]).collect();
        (groups.concat(), subjects)
    }

    /// Balanced, the analysis of variance is the answer: σ² = MSW, σ_b² = (MSB − MSW)/k, the mean's standard error √(MSB/nk) with
    /// n − 1 degrees.
    #[test]
    fn one_way_with_equal_numbers() {
        let groups = made(7, 4, 3.0);
        let (y, s) = long(&groups);
        let (ours, table) = (random_intercept(&y, &s, &[], 0.95).unwrap(), nested(&groups).unwrap());
        near(ours.within, table.within, 1e-10);
        near(ours.between, (table.between - table.within) / 4.0, 1e-9);
        near(ours.terms[0].estimate.value, table.mean, 1e-14);
        near(ours.terms[0].se, (table.between / 28.0).sqrt(), 1e-10);
        near(ours.terms[0].degrees, 6.0, 1e-7);
    }

    /// Two groups of subjects: the t of subjects' means. The same subjects on both sides: within subjects, with what is left
    /// after subjects and side.
    #[test]
    fn two_sides_with_equal_numbers() {
        let groups = made(10, 3, 2.0);
        let (y, s) = long(&groups);
        let side: Vec<f64> = s.iter().map(|k| f64::from(u8::from(*k >= 5))).collect();
        let ours = random_intercept(&y, &s, &[side], 0.95).unwrap();
        let means: Vec<f64> = groups.iter().map(|g| stats::mean(g)).collect();
        let (a, b) = means.split_at(5);
        near(ours.terms[1].estimate.value, stats::mean(b) - stats::mean(a), 1e-11);
        let pooled = 0.5 * (stats::variance(a) + stats::variance(b));
        near(ours.terms[1].se, (pooled * 2.0 / 5.0).sqrt(), 1e-9);
        near(ours.terms[1].degrees, 8.0, 1e-6);

        let pairs = made(6, 4, 2.0);
        let (y, s) = long(&pairs);
        let side: Vec<f64> = (0..24).map(|k| f64::from(u8::from(k % 4 > 1))).collect();
        let ours = random_intercept(&y, &s, std::slice::from_ref(&side), 0.95).unwrap();
        let of = |which: f64| {
            let kept: Vec<f64> = y.iter().zip(&side).filter(|(_, v)| **v == which).map(|(y, _)| *y).collect();
            stats::mean(&kept)
        };
        let change = of(1.0) - of(0.0);
        near(ours.terms[1].estimate.value, change, 1e-11);
        // Within subjects there are 18 degrees, of which the side takes one.
        let within: f64 =
            pairs.iter().map(|g| stats::variance(g) * 3.0).sum::<f64>() - 24.0 * change * change / 4.0;
        near(ours.within, within / 17.0, 1e-9);
        near(ours.terms[1].se, (within / 17.0 * 2.0 / 12.0).sqrt(), 1e-9);
        near(ours.terms[1].degrees, 17.0, 1e-6);
    }

    #[test]
    fn nothing_to_fit() {
        let none = |y: &[f64], s: &[usize], x: &[Vec<f64>]| random_intercept(y, s, x, 0.95).is_none();
        assert!(none(&[1., 2., 3.], &[0, 1, 2], &[]), "no repeats");
        assert!(none(&[1., 2., 3., 4.], &[0, 0, 1, 1], &[vec![0., 0., 1., 1.]]), "a subject a side");
        assert!(none(&[1., 2., 3., 5.], &[0, 0, 1, 1], &[vec![2.; 4]]), "as the intercept");
        assert!(none(&[1.; 4], &[0, 0, 1, 1], &[]), "nothing varies");
        assert!(none(&[f64::NAN; 4], &[0, 0, 1, 1], &[]) && none(&[], &[], &[]));
    }

    /// Subjects that differ less than their values do: the variance between is 0, not less.
    #[test]
    fn subjects_that_do_not_differ() {
        let y = [1.0, 9.0, 2.0, 8.0, 3.0, 7.0];
        let ours = random_intercept(&y, &[0, 0, 1, 1, 2, 2], &[], 0.95).unwrap();
        assert_eq!(ours.between, 0.0);
        near(ours.within, stats::variance(&y), 1e-12);
        assert!(ours.terms[0].degrees > 1.0 && ours.terms[0].degrees <= 5.0);
    }
}
