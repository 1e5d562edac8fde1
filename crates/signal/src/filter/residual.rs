//! Residual analysis: which cut-off leaves the movement and takes the noise.
//!
//! What a low-pass takes away, as a function of its cut-off, falls steeply while movement is being cut and then, where
//! only noise is left to cut, along a straight line. That line carried back to 0 Hz says how large the noise is
//! altogether; at the cut-off whose residual is just that, as much movement is lost as noise is kept.

use super::{Band, DesignError, ShortRuns, butterworth_both_ways, zero_phase};
use crate::line::{self, Line};

/// Which residuals the straight line is fitted to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stretch {
    /// The longest stretch up to the highest cut-off, of at least [`FEWEST_POINTS`], whose line has r² of
    /// [`STRAIGHT`] or more; where there is none, the upper half of the cut-offs.
    Found,
    /// The cut-offs from the first frequency to the second, both in, Hz.
    Stated(f64, f64),
}

/// The fewest cut-offs that a line is fitted to when the stretch is found.
pub const FEWEST_POINTS: usize = 5;

/// The least r² of a stretch that counts as straight.
pub const STRAIGHT: f64 = 0.95;

/// A found line that would meet zero below this share of half the rate is not one of noise; see [`residual_analysis`].
pub const NOISE_REACHES: f64 = 0.7;

/// The straight line through the high cut-offs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NoiseLine {
    /// Lowest cut-off it was fitted to, Hz.
    pub from_hz: f64,
    /// Highest cut-off it was fitted to, Hz.
    pub to_hz: f64,
    /// Residual against cut-off; its intercept is the size of the noise (root mean square).
    pub line: Line,
}

/// The residuals of a column and what they propose.
#[derive(Clone, Debug, PartialEq)]
pub struct Residuals {
    /// Cut-offs, rising, Hz.
    pub cutoffs_hz: Vec<f64>,
    /// Root mean square of what a low-pass at that cut-off takes away, unit of the column.
    pub residual: Vec<f64>,
    /// The line through the high part; `None` where fewer than two residuals are defined there.
    pub line: Option<NoiseLine>,
    /// Cut-off at which the residual equals the line's intercept, Hz.
    pub proposed_hz: Option<f64>,
}

/// Winter's residual analysis with the low-pass that [`zero_phase()`] runs both ways, its cut-off corrected for that.
///
/// Shape: any length, any number of cut-offs in any order; the answer has them rising. Unit: Hz; that of the column.
/// Gaps split the column; only samples that could be filtered count. Undefined: residuals are NaN where the column is
/// too short to filter.
/// No proposal: where no line could be fitted, its intercept is not above 0, the residual never comes down to it (the
/// cut-offs end too early or begin too late), or a *found* line meets zero below [`NOISE_REACHES`] of half the rate. White noise's
/// residual meets zero only at half the rate, so below such a line lies movement, not noise. A recording with little
/// noise, or one smoothed before, gives no proposal for that reason: the caller then keeps its stated cut-off and
/// says that the recording proposes none. A stated stretch is believed.
/// Let the cut-offs reach a quarter of the rate: with impacts in the column, the straight part begins far above the movement
/// (in measured jumps at a tenth to a sixth of the rate), and cut-offs that end before it find no line of noise.
/// The method tends to smooth impacts too much, and differs with the range of cut-offs: it proposes, it does not decide.
/// Errors: as [`butterworth_both_ways`], for the first cut-off that fails.
/// Source: Winter2009, ch. 3 (residual analysis); the rules for stretch and refusal are ours. Checked: values
/// computed independently, in the tests.
pub fn residual_analysis(
    column: &[f64],
    rate_hz: f64,
    order: usize,
    cutoffs_hz: &[f64],
    stretch: Stretch,
) -> Result<Residuals, DesignError> {
    let mut cutoffs_hz = cutoffs_hz.to_vec();
    cutoffs_hz.sort_by(f64::total_cmp);
    let (mut filtered, mut scratch) = (Vec::new(), Vec::new());
    let mut residual = Vec::with_capacity(cutoffs_hz.len());
    for &f in &cutoffs_hz {
        let sections = butterworth_both_ways(order, Band::Low(f), rate_hz)?;
        filtered.clear();
        filtered.extend_from_slice(column);
        zero_phase(&sections, &mut filtered, ShortRuns::Drop, &mut scratch);
        let squares = column.iter().zip(&filtered).map(|(x, y)| (x - y) * (x - y)).filter(|e| e.is_finite());
        let (count, sum) = squares.fold((0, 0.0), |(n, s), e| (n + 1, s + e));
        residual.push((sum / f64::from(count)).sqrt());
    }
    let line = noise_line(&cutoffs_hz, &residual, stretch);
    let noise = line.map(|l| l.line).filter(|l| l.intercept > 0.0).filter(|l| {
        let meets_zero_hz = if l.slope < 0.0 { -l.intercept / l.slope } else { f64::INFINITY };
        stretch != Stretch::Found || meets_zero_hz >= NOISE_REACHES * rate_hz / 2.0
    });
    let proposed_hz = noise.and_then(|l| comes_down_to(l.intercept, &cutoffs_hz, &residual));
    Ok(Residuals { cutoffs_hz, residual, line, proposed_hz })
}

fn noise_line(cutoffs_hz: &[f64], residual: &[f64], stretch: Stretch) -> Option<NoiseLine> {
    let n = cutoffs_hz.len();
    let through = |from: usize, to: usize| {
        let (f, r) = (cutoffs_hz.get(from..to)?, residual.get(from..to)?);
        let line = line::fit(f.iter().copied().zip(r.iter().copied()))?;
        Some(NoiseLine { from_hz: *f.first()?, to_hz: *f.last()?, line })
    };
    match stretch {
        Stretch::Stated(low, high) => {
            through(cutoffs_hz.partition_point(|&f| f < low), cutoffs_hz.partition_point(|&f| f <= high))
        }
        Stretch::Found => (0..=n.saturating_sub(FEWEST_POINTS))
            .filter_map(|from| through(from, n))
            .find(|l| l.line.r2 >= STRAIGHT && l.line.points >= FEWEST_POINTS)
            .or_else(|| through(n / 2, n)),
    }
}

/// Where the residual first comes down to a level, linear between cut-offs.
fn comes_down_to(level: f64, cutoffs_hz: &[f64], residual: &[f64]) -> Option<f64> {
    let steps = cutoffs_hz.windows(2).zip(residual.windows(2));
    steps.into_iter().find_map(|(f, r)| {
        let crosses = r[0] > level && r[1] <= level;
        crosses.then(|| f[0] + (f[1] - f[0]) * (r[0] - level) / (r[0] - r[1]))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math;
    use std::f64::consts::TAU;

    /// 2 Hz sine with 0.1 of an integer generator's noise (root mean square 0.02886), 2 s at 200 Hz.
    fn noisy(noise: f64) -> Vec<f64> {
        let mut s: u64 = 12345;
        let mut column = Vec::new();
        for i in 0..400 {
            s = (1_103_515_245 * s + 12345) % (1 << 31);
            let u = s as f64 / (1_u64 << 31) as f64 - 0.5;
            column.push(math::sin(TAU * 2.0 * f64::from(i) / 200.0) + noise * u);
        }
        column
    }

    fn hertz(range: std::ops::RangeInclusive<i32>) -> Vec<f64> {
        range.map(f64::from).collect()
    }

    /// Residuals, line and proposal computed independently with scipy 1.17.1 and numpy.
    #[test]
    fn an_independent_computation() {
        let found =
            residual_analysis(&noisy(0.1), 200.0, 2, &hertz(1..=20), Stretch::Stated(10.0, 20.0)).unwrap();
        let expected = [
            (0, 0.597_055),
            (1, 0.213_973),
            (2, 0.069_320),
            (3, 0.036_093),
            (4, 0.029_221),
            (5, 0.027_697),
            (9, 0.026_297),
            (19, 0.024_149),
        ];
        for (i, r) in expected {
            assert!((found.residual[i] - r).abs() < 5e-7, "R({}) = {}", i + 1, found.residual[i]);
        }
        let line = found.line.unwrap();
        assert_eq!((line.from_hz, line.to_hz, line.line.points), (10.0, 20.0, 11));
        assert!((line.line.slope + 0.000_212_85).abs() < 5e-9);
        assert!((line.line.intercept - 0.028_427_4).abs() < 5e-8);
        assert!((found.proposed_hz.unwrap() - 5.52).abs() < 5e-3);
    }

    /// The stretch that is found is long and straight, and proposes about the same.
    #[test]
    fn finds_the_straight_part() {
        let mut cutoffs = hertz(1..=40);
        cutoffs.reverse();
        let found = residual_analysis(&noisy(0.1), 200.0, 2, &cutoffs, Stretch::Found).unwrap();
        let line = found.line.unwrap();
        assert!(
            line.line.r2 >= STRAIGHT && line.to_hz == 40.0 && (5.0..15.0).contains(&line.from_hz),
            "{line:?}"
        );
        assert!((4.5..6.5).contains(&found.proposed_hz.unwrap()), "{found:?}");
        assert_eq!(found.cutoffs_hz, hertz(1..=40));
    }

    /// Without noise there is nothing to propose; without the flank of the movement, neither.
    #[test]
    fn no_proposal() {
        let found = residual_analysis(&noisy(0.0), 200.0, 2, &hertz(1..=40), Stretch::Found).unwrap();
        assert_eq!(found.proposed_hz, None, "{found:?}");
        let late = residual_analysis(&noisy(0.1), 200.0, 2, &hertz(8..=40), Stretch::Found).unwrap();
        assert!(late.line.is_some() && late.proposed_hz.is_none());
        let none = residual_analysis(&noisy(0.1), 200.0, 2, &[], Stretch::Found).unwrap();
        assert_eq!((none.line, none.proposed_hz), (None, None));
        let short = residual_analysis(&[1.0; 5], 200.0, 2, &hertz(1..=9), Stretch::Found).unwrap();
        assert!(short.residual.iter().all(|r| r.is_nan()) && short.proposed_hz.is_none());
    }

    #[test]
    fn gaps_do_not_count_and_errors_name_the_cut_off() {
        let mut x = noisy(0.1);
        x[200] = f64::NAN;
        let found = residual_analysis(&x, 200.0, 2, &hertz(1..=20), Stretch::Stated(10.0, 20.0)).unwrap();
        assert!((5.0..6.0).contains(&found.proposed_hz.unwrap()));
        let refused = residual_analysis(&x, 200.0, 2, &[10.0, 100.0], Stretch::Found).unwrap_err();
        assert_eq!(refused, DesignError::CutOff { cut_off_hz: 100.0, nyquist_hz: 100.0 });
    }
}
