//! What is asked of curves.
use super::field::Kind;
use super::fit::{Design, Fit, fit};
use std::ops::Range;

/// Curves, one a row, of equal length.
pub type Rows<'a> = &'a [Vec<f64>];

/// A question about mean curves.
#[derive(Clone, Copy, Debug)]
pub enum Comparison<'a> {
    /// Is a mean curve other than nothing?
    OneSample(Rows<'a>),
    /// Do curves of the same units differ? Row k of both is the same unit.
    Pairs(Rows<'a>, Rows<'a>),
    /// Do two groups differ, their scatter taken as alike (Student)?
    TwoGroups(Rows<'a>, Rows<'a>),
    /// Do two groups differ, each with a scatter of its own (Welch)?
    Welch(Rows<'a>, Rows<'a>),
    /// Do several groups differ (one-way analysis of variance)?
    Groups(&'a [Rows<'a>]),
    /// Do several sets of curves of the same units differ (one-way, repeated measures)? Row k of each set is the same unit.
    Repeated(&'a [Rows<'a>]),
    /// Do curves follow a number that each of them has (straight line at every node)?
    Regression(Rows<'a>, &'a [f64]),
}

/// Why there is no test.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoTest {
    /// A set has fewer curves than the test needs.
    TooFew {
        /// Which set, counted from 0.
        set: usize,
        /// Curves it has.
        has: usize,
        /// Curves it must have.
        needs: usize,
    },
    /// Fewer than two sets.
    TooFewSets,
    /// Sets that should hold the same units are not of one size.
    Uneven,
    /// There is not a number for every curve.
    NoNumber,
    /// The number does not vary.
    FlatNumber,
    /// There is no node at which every curve is defined and the curves scatter.
    NoNode,
}

/// A question made ready: rows that may be rearranged, and what is found at every node.
#[derive(Clone, Debug)]
pub(super) struct Prepared {
    /// One row a unit (pairs: the differences).
    pub rows: Vec<Vec<f64>>,
    /// What is fitted at each node.
    pub design: Design,
    /// Nodes of a curve.
    pub nodes: usize,
    /// Stretches of nodes that are tested.
    pub tested: Vec<Range<usize>>,
    /// Nodes where all curves are defined but do not scatter.
    pub flat: usize,
    /// Mean, difference or slope; NaN where there is no single one.
    pub estimate: Vec<f64>,
    /// Its standard error.
    pub se: Vec<f64>,
    /// Statistic.
    pub statistic: Vec<f64>,
    /// Residuals, a row each, NaN where not tested.
    pub residuals: Vec<Vec<f64>>,
    /// What the statistic follows where there is nothing to see.
    pub kind: Kind,
}

impl Comparison<'_> {
    /// Rows and design. Errors: [`NoTest`].
    fn laid_out(&self) -> Result<(Vec<Vec<f64>>, Design), NoTest> {
        let enough = |set: usize, rows: Rows, needs: usize| {
            if rows.len() < needs { Err(NoTest::TooFew { set, has: rows.len(), needs }) } else { Ok(()) }
        };
        match *self {
            Self::OneSample(rows) => {
                enough(0, rows, 2)?;
                Ok((rows.to_vec(), Design::Mean))
            }
            Self::Pairs(first, second) => {
                if first.len() != second.len() {
                    return Err(NoTest::Uneven);
                }
                enough(0, first, 2)?;
                let less = |(a, b): (&Vec<f64>, &Vec<f64>)| a.iter().zip(b).map(|(x, y)| x - y).collect();
                Ok((first.iter().zip(second).map(less).collect(), Design::Mean))
            }
            Self::TwoGroups(first, second) | Self::Welch(first, second) => {
                enough(0, first, 2)?;
                enough(1, second, 2)?;
                let design = match self {
                    Self::Welch(..) => Design::Welch(first.len()),
                    _ => Design::Two(first.len()),
                };
                Ok(([first, second].concat(), design))
            }
            Self::Groups(sets) => {
                if sets.len() < 2 {
                    return Err(NoTest::TooFewSets);
                }
                sets.iter().enumerate().try_for_each(|(k, rows)| enough(k, rows, 2))?;
                Ok((sets.concat(), Design::Groups(sets.iter().map(|g| g.len()).collect())))
            }
            Self::Repeated(sets) => {
                let Some(first) = sets.first().filter(|_| sets.len() > 1) else {
                    return Err(NoTest::TooFewSets);
                };
                if sets.iter().any(|s| s.len() != first.len()) {
                    return Err(NoTest::Uneven);
                }
                enough(0, first, 2)?;
                Ok((sets.concat(), Design::Within { units: first.len(), sets: sets.len() }))
            }
            Self::Regression(rows, number) => {
                enough(0, rows, 3)?;
                if number.len() != rows.len() || number.iter().any(|v| !v.is_finite()) {
                    return Err(NoTest::NoNumber);
                }
                let mean = number.iter().sum::<f64>() / number.len() as f64;
                let centred: Vec<f64> = number.iter().map(|x| x - mean).collect();
                let squares = |of: &[f64]| of.iter().map(|x| x * x).sum::<f64>();
                if squares(&centred) <= 1e-24 * squares(number) {
                    return Err(NoTest::FlatNumber);
                }
                Ok((rows.to_vec(), Design::Line(centred)))
            }
        }
    }

    /// Everything that does not depend on how the test is decided. Errors: [`NoTest`].
    pub(super) fn prepared(&self) -> Result<Prepared, NoTest> {
        let (rows, design) = self.laid_out()?;
        let nodes = rows.iter().map(Vec::len).min().unwrap_or(0);
        let mut out = Prepared {
            nodes,
            tested: Vec::new(),
            flat: 0,
            estimate: vec![f64::NAN; nodes],
            se: vec![f64::NAN; nodes],
            statistic: vec![f64::NAN; nodes],
            residuals: vec![vec![f64::NAN; nodes]; rows.len()],
            kind: Kind::T(f64::NAN),
            rows,
            design,
        };
        let mut column = vec![0.0; out.rows.len()];
        let mut scatter = (0.0, 0.0);
        for q in 0..nodes {
            for (place, row) in column.iter_mut().zip(&out.rows) {
                *place = row.get(q).copied().unwrap_or(f64::NAN);
            }
            if !column.iter().all(|v| v.is_finite()) {
                continue;
            }
            let Some(Fit { estimate, se, statistic, scatter: (first, second) }) =
                fit(&out.design, &mut column)
            else {
                out.flat += 1;
                continue;
            };
            for (all, value) in
                [(&mut out.estimate, estimate), (&mut out.se, se), (&mut out.statistic, statistic)]
            {
                if let Some(place) = all.get_mut(q) {
                    *place = value;
                }
            }
            for (row, residual) in out.residuals.iter_mut().zip(&column) {
                if let Some(place) = row.get_mut(q) {
                    *place = *residual;
                }
            }
            scatter = (scatter.0 + first, scatter.1 + second);
            match out.tested.last_mut() {
                Some(last) if last.end == q => last.end = q + 1,
                _ => out.tested.push(q..q + 1),
            }
        }
        if out.tested.is_empty() {
            return Err(NoTest::NoNode);
        }
        out.kind = out.design.kind(out.rows.len(), scatter);
        Ok(out)
    }
}
