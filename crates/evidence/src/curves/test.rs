//! Tests of whole curves, decided by random field theory or by rearranging the rows.
use super::clusters::{Cluster, beyond};
use super::comparison::{Comparison, NoTest, Prepared};
use super::field::{Field, Kind, smoothness};
use super::permute::permuted;
use crate::permutation::Permutation;
use crate::work::Spread;
use std::ops::Range;

/// Which way a difference counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tails {
    /// Above only.
    Above,
    /// Above and below.
    Both,
}

/// How a test is decided.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// Level.
    pub alpha: f64,
    /// Which way counts. Where several sets are compared there is no way, and F counts above.
    pub tails: Tails,
}

/// What the threshold comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum By {
    /// Random field theory.
    Field(Field),
    /// Rearrangements of the rows.
    Permutation {
        /// Rearrangements looked at, the one that happened among them.
        looked_at: usize,
        /// True where these are all there are.
        exact: bool,
        /// The least p that any curve could get of these; above alpha there is no answer.
        least_p: f64,
    },
}

/// What came of a test.
#[derive(Clone, Debug, PartialEq)]
pub struct CurveTest {
    /// The statistic, node by node; NaN where it is not tested.
    pub statistic: Vec<f64>,
    /// What it follows where there is nothing to see.
    pub kind: Kind,
    /// Mean, difference of means or slope, node by node, in the unit of the curves (over that of the number); NaN where not
    /// tested or where several sets are compared.
    pub estimate: Vec<f64>,
    /// Its standard error; the estimate is the statistic times this.
    pub se: Vec<f64>,
    /// Stretches of nodes that are tested: there every curve is defined, and they scatter.
    pub tested: Vec<Range<usize>>,
    /// Nodes that are left out although every curve is defined: they do not scatter there.
    pub without_scatter: usize,
    /// How it is decided.
    pub rule: Rule,
    /// What the threshold comes from.
    pub by: By,
    /// The height passed anywhere along the curve with probability alpha at most; infinite where too few rearrangements exist.
    pub threshold: f64,
    /// Probability of a curve that rises as high anywhere.
    pub p: f64,
    /// Stretches beyond the threshold, in order.
    pub clusters: Vec<Cluster>,
}

impl CurveTest {
    /// Stretches of nodes that are not tested.
    pub fn left_out(&self) -> Vec<Range<usize>> {
        let mut out = Vec::new();
        let mut from = 0;
        for stretch in &self.tested {
            if from < stretch.start {
                out.push(from..stretch.start);
            }
            from = stretch.end;
        }
        if from < self.statistic.len() {
            out.push(from..self.statistic.len());
        }
        out
    }
}

/// F has one side.
fn rule_for(of: &Prepared, rule: Rule) -> Rule {
    if matches!(of.kind, Kind::T(_)) { rule } else { Rule { tails: Tails::Above, ..rule } }
}

fn told(of: Prepared, rule: Rule, by: By, threshold: f64, p: f64, clusters: Vec<Cluster>) -> CurveTest {
    CurveTest {
        statistic: of.statistic,
        kind: of.kind,
        estimate: of.estimate,
        se: of.se,
        tested: of.tested,
        without_scatter: of.flat,
        rule,
        by,
        threshold,
        p,
        clusters,
    }
}

/// Decides by random field theory: fast, and right where the curves' scatter is smooth and nearly normal.
///
/// Unit: p is a probability; thresholds are of the statistic. Stretches: probability of one as long. Errors: [`NoTest`].
/// Source: Friston1994, Worsley1996, Pataky2010. Checked: spm1d in the tests and checks/curves_peer.py.
pub fn by_field(comparison: &Comparison, rule: Rule) -> Result<CurveTest, NoTest> {
    let of = comparison.prepared()?;
    let rule = rule_for(&of, rule);
    let nodes = of.tested.iter().map(Range::len).sum();
    let fwhm = smoothness(&of.residuals, &of.tested);
    let field = Field { kind: of.kind, nodes, stretches: of.tested.len(), fwhm };
    let both = rule.tails == Tails::Both;
    let sides = if both { 2.0 } else { 1.0 };
    let threshold = field.threshold(rule.alpha / sides);
    let mut clusters = beyond(&of.statistic, &of.tested, threshold, both);
    for cluster in &mut clusters {
        cluster.p = (sides * field.stretch_above(threshold, cluster.to - cluster.from)).min(1.0);
    }
    let heights = of.statistic.iter().filter(|v| !v.is_nan()).map(|v| if both { v.abs() } else { *v });
    let p = (sides * field.survival(heights.fold(f64::NEG_INFINITY, f64::max))).min(1.0);
    Ok(told(of, rule, By::Field(field), threshold, p, clusters))
}

/// Curves that each group must have where signs of residuals are turned: of fewer there are too few different ones, and the test claims
/// too often (1,000 made-up trials: 4 curves against 10, 8 %; 3, 27 % and more).
pub const SIGNS_NEED: usize = 6;

/// Decides by rearranging the rows: supposes no normal scatter and no smoothness, only that it does not matter which curve is
/// in which set. One sample, pairs: that a difference is as likely as its negative. Welch: that a residual is, which takes
/// [`SIGNS_NEED`] curves a group; then scatter may differ.
///
/// All rearrangements are gone through where there are at most `how.most`, else so many are drawn. The threshold is that of the
/// highest node; a stretch's probability is that of as much mass beyond it (area between curve and threshold) in one stretch.
/// Errors: [`NoTest`]. Source, checked: the module `permute`.
pub fn by_permutation(
    comparison: &Comparison,
    rule: Rule,
    how: &Permutation,
    hands: &impl Spread,
) -> Result<CurveTest, NoTest> {
    if let Comparison::Welch(first, second) = comparison {
        let sets = [first, second].into_iter().enumerate();
        if let Some((set, rows)) = sets.into_iter().find(|(_, rows)| rows.len() < SIGNS_NEED) {
            return Err(NoTest::TooFew { set, has: rows.len(), needs: SIGNS_NEED });
        }
    }
    let of = comparison.prepared()?;
    let rule = rule_for(&of, rule);
    let found = permuted(&of, rule, how, hands);
    let mut clusters = beyond(&of.statistic, &of.tested, found.threshold, rule.tails == Tails::Both);
    for cluster in &mut clusters {
        cluster.p = found.p_of_mass(cluster.mass);
    }
    let by = By::Permutation { looked_at: found.looked_at, exact: found.exact, least_p: found.least_p };
    Ok(told(of, rule, by, found.threshold, found.p, clusters))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;
    use signal::math::{cos, exp, sin};
    use std::f64::consts::PI;

    /// Eight made-up curves with a bump of a height at node 60; `off` moves their waves.
    fn curves(height: f64, off: f64) -> Vec<Vec<f64>> {
        let curve = |i: u32| {
            let i = f64::from(i) + off;
            (0..=100)
                .map(|q| {
                    let q = f64::from(q);
                    let bump = height * exp(-((q - 60.0) / 10.0) * ((q - 60.0) / 10.0));
                    bump + 0.6 * sin(2.0 * PI * q / 40.0 + 1.7 * i)
                        + 0.4 * cos(2.0 * PI * q / 25.0 + 2.9 * i * i)
                })
                .collect()
        };
        (0..8).map(curve).collect()
    }

    fn near(a: f64, b: f64, by: f64) {
        assert!((a - b).abs() < by, "{a} {b}");
    }

    const TWO: Rule = Rule { alpha: 0.05, tails: Tails::Both };
    const ONE: Rule = Rule { alpha: 0.05, tails: Tails::Above };

    fn field_of(t: &CurveTest) -> Field {
        match t.by {
            By::Field(field) => field,
            By::Permutation { .. } => panic!("by field"),
        }
    }

    /// spm1d 0.4.55 on the same curves: smoothness, statistic, threshold, where the cluster lies, its probability.
    #[test]
    fn as_spm1d_finds() {
        let (a, b, c) = (curves(1.6, 0.0), curves(0.0, 11.0), curves(0.8, 23.0));
        near(a.iter().flatten().sum(), 230.793_212, 1e-6);
        let held = |of: Comparison, rule, fwhm: f64, at60: f64, threshold: f64, from: f64, to: f64| {
            let t = by_field(&of, rule).unwrap();
            near(field_of(&t).fwhm, fwhm, 1e-6);
            near(t.statistic[60], at60, 1e-6);
            near(t.threshold, threshold, 1e-5);
            assert_eq!(t.clusters.len(), 1, "{:?}", t.clusters);
            near(t.clusters[0].from, from, 1e-3);
            near(t.clusters[0].to, to, 1e-3);
            near(
                t.estimate[60] / t.se[60],
                t.statistic[60],
                if t.estimate[60].is_nan() { f64::NAN } else { 1e-9 },
            );
            t
        };
        let one = Comparison::OneSample(&a);
        held(one, ONE, 8.892_334, 10.572_003, 4.512_131, 52.6143, 69.0851);
        held(one, TWO, 8.892_334, 10.572_003, 5.251_461, 53.3539, 68.4958);
        let groups = Comparison::TwoGroups(&a, &b);
        let two = held(groups, TWO, 8.773_607, 6.149_578, 3.918_557, 54.2959, 66.3865);
        near(two.clusters[0].p, 4.633_93e-7, 1e-10);
        let one = held(groups, ONE, 8.773_607, 6.149_578, 3.513_720, 53.5771, 67.1168);
        near(one.clusters[0].p, 3.281_85e-7, 1e-10);
        held(Comparison::Pairs(&a, &b), TWO, 6.597_026, 9.986_190, 5.577_351, 52.0296, 68.3161);
        let numbers: Vec<f64> = (0..8).map(f64::from).collect();
        let along = by_field(&Comparison::Regression(&a, &numbers), TWO).unwrap();
        near(field_of(&along).fwhm, 9.159_335, 1e-6);
        near(along.statistic[60], 3.004_182, 1e-6);
        near(along.statistic[0], -3.714_087, 1e-6);
        near(along.threshold, 5.855_324, 1e-5);
        assert!(along.clusters.is_empty());
        let three = by_field(&Comparison::Groups(&[&a, &b, &c]), TWO).unwrap();
        near(three.statistic[60], 19.105_238, 1e-6);
        near(three.threshold, 8.918_889, 1e-5);
        near(three.clusters[0].p, 4.012_05e-7, 1e-10);
        assert!(three.estimate[60].is_nan() && three.rule.tails == Tails::Above);
    }

    /// Welch: spm1d 0.4.55 gives 13.99617658 degrees, 3.918837, 54.2964 to 66.3860, 4.63541e-7. It finds the two variances by an
    /// iteration that it leaves a little before its end, which is where the difference comes from: 13.9954 here.
    #[test]
    fn welch_as_spm1d_nearly() {
        let (a, b) = (curves(1.6, 0.0), curves(0.0, 11.0));
        let t = by_field(&Comparison::Welch(&a, &b), TWO).unwrap();
        let Kind::T(degrees) = t.kind else { panic!("t") };
        near(degrees, 13.996_176_58, 1e-3);
        near(t.statistic[60], 6.149_578, 1e-6);
        near(t.threshold, 3.918_837, 1e-4);
        near(t.clusters[0].from, 54.2964, 1e-3);
        near(t.clusters[0].to, 66.3860, 1e-3);
        near(t.clusters[0].p, 4.635_41e-7, 1e-9);
    }

    /// Below counts as above does, where both do.
    #[test]
    fn a_difference_turned_round_is_a_stretch_below() {
        let (a, b) = (curves(1.6, 0.0), curves(0.0, 11.0));
        let there = by_field(&Comparison::TwoGroups(&a, &b), TWO).unwrap();
        let back = by_field(&Comparison::TwoGroups(&b, &a), TWO).unwrap();
        assert!(there.clusters[0].above && !back.clusters[0].above);
        assert_eq!(
            (there.clusters[0].from, there.clusters[0].p, there.p),
            (back.clusters[0].from, back.clusters[0].p, back.p)
        );
    }

    /// The whole curve's p and the threshold say the same.
    #[test]
    fn p_is_alpha_at_the_threshold() {
        let (a, b) = (curves(1.6, 0.0), curves(0.0, 11.0));
        for rule in [ONE, TWO] {
            let of = Comparison::TwoGroups(&a, &b);
            let t = by_field(&of, rule).unwrap();
            let again = by_field(&of, Rule { alpha: t.p, ..rule }).unwrap();
            let highest = t.statistic.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
            near(again.threshold, highest, 1e-6);
        }
    }

    /// A gap in one curve is a gap in the statistic, and what lies beside it is tested in pieces.
    #[test]
    fn gaps_are_gaps() {
        let mut a = curves(1.6, 0.0);
        a[3][20..25].fill(f64::NAN);
        let found = by_field(&Comparison::OneSample(&a), TWO).unwrap();
        assert!(found.statistic[20..25].iter().all(|v| v.is_nan()) && found.statistic[25].is_finite());
        assert_eq!((field_of(&found).nodes, field_of(&found).stretches), (96, 2));
        assert_eq!((found.clusters.len(), found.left_out()), (1, vec![Range { start: 20, end: 25 }]));
        a.iter_mut().for_each(|row| row[100] = 2.0);
        let flat = by_field(&Comparison::OneSample(&a), TWO).unwrap();
        assert_eq!((flat.without_scatter, flat.left_out()), (1, vec![20..25, 100..101]));
        a[0].fill(f64::NAN);
        assert_eq!(by_field(&Comparison::OneSample(&a), TWO), Err(NoTest::NoNode));
        let why = |of: Comparison| by_field(&of, TWO).unwrap_err();
        assert_eq!(why(Comparison::OneSample(&a[..1])), NoTest::TooFew { set: 0, has: 1, needs: 2 });
        assert_eq!(why(Comparison::Regression(&curves(1.0, 0.0), &[0.1; 8])), NoTest::FlatNumber);
        assert_eq!(why(Comparison::Regression(&curves(1.0, 0.0), &[f64::NAN; 8])), NoTest::NoNumber);
        assert_eq!(why(Comparison::Pairs(&a, &a[1..])), NoTest::Uneven);
        assert_eq!(why(Comparison::Repeated(&[&a])), NoTest::TooFewSets);
    }
}
