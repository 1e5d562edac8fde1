//! From one sampling rate to another.

use crate::{math, runs};
use std::f64::consts::PI;
use std::fmt;
use std::ops::Range;

/// Terms of the ratio of rates go up to this: filters of at most 20 001 weights, any rate met to a thousandth.
pub const LARGEST_TERM: u32 = 1000;

/// A resampled column of more values than this is refused.
pub const MOST_VALUES: usize = 1 << 26;

/// Parameter of the Kaiser window, and zero crossings of the filter on each side of its middle.
const KAISER: f64 = 5.0;
const CROSSINGS: usize = 10;

/// New rate / old rate as a fraction in lowest terms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ratio {
    /// Numerator, at least 1.
    pub up: u32,
    /// Denominator, at least 1.
    pub down: u32,
}

impl Ratio {
    /// The rate that this ratio makes of another; exact up to rounding. Unit: Hz.
    #[must_use]
    pub fn rate_hz(self, from_hz: f64) -> f64 {
        from_hz * f64::from(self.up) / f64::from(self.down)
    }
}

/// Why nothing was resampled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ResampleError {
    /// A rate is not a positive number of Hz.
    Rate(f64),
    /// One rate is more than [`LARGEST_TERM`] times the other.
    TooFar {
        /// Rate of the column, Hz.
        from_hz: f64,
        /// Rate asked for, Hz.
        to_hz: f64,
    },
    /// A term of the ratio is 0 or above [`LARGEST_TERM`].
    Terms(Ratio),
    /// The answer would have more than [`MOST_VALUES`] values.
    TooLong(u64),
}

impl fmt::Display for ResampleError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Rate(rate) => write!(f, "sampling rate {rate} Hz is not a positive number"),
            Self::TooFar { from_hz, to_hz } => {
                write!(f, "rates {from_hz} Hz and {to_hz} Hz are more than a factor of {LARGEST_TERM} apart")
            }
            Self::Terms(Ratio { up, down }) => {
                write!(f, "ratio {up}/{down} has a term outside 1..={LARGEST_TERM}")
            }
            Self::TooLong(values) => {
                write!(f, "{values} values after resampling; at most {MOST_VALUES} are made")
            }
        }
    }
}

impl std::error::Error for ResampleError {}

/// The ratio of two rates, exact where its terms are at most [`LARGEST_TERM`], else the last convergent of its
/// continued fraction that is: the rate then achieved is [`Ratio::rate_hz`], off by less than a thousandth and mostly far
/// less. Time must be counted with the rate achieved, not with the one asked for.
///
/// Unit: Hz. Errors: a rate that is not positive, rates too far apart. Source: continued fractions, textbook arithmetic.
pub fn ratio(from_hz: f64, to_hz: f64) -> Result<Ratio, ResampleError> {
    let positive =
        |rate: f64| if rate.is_finite() && rate > 0.0 { Ok(rate) } else { Err(ResampleError::Rate(rate)) };
    let exact = positive(to_hz)? / positive(from_hz)?;
    let largest = f64::from(LARGEST_TERM);
    if !(exact <= largest && exact >= 1.0 / largest) {
        return Err(ResampleError::TooFar { from_hz, to_hz });
    }
    // Convergents p/q; whole numbers far below 2^53.
    let (mut before, mut now) = ((0.0, 1.0), (1.0, 0.0));
    let mut rest = exact;
    loop {
        let whole = rest.floor();
        let next: (f64, f64) = (whole * now.0 + before.0, whole * now.1 + before.1);
        if next.0 > largest || next.1 > largest {
            break;
        }
        (before, now) = (now, next);
        let part = rest - whole;
        // What is left is rounding: the fraction is exact.
        if part < 1e-9 || (now.0 / now.1 - exact).abs() <= 1e-15 * exact {
            break;
        }
        rest = 1.0 / part;
    }
    // A ratio just under 1/n may leave 0/1 as its only small convergent; the nearest unit fraction is better.
    let (up, down) = if now.0 < 1.0 { (1.0, (1.0 / exact).round()) } else { now };
    Ok(Ratio { up: up as u32, down: down as u32 })
}

/// Resamples a column by a ratio of rates, with a low-pass at half the lower of both rates.
///
/// Shape: ⌈n·up/down⌉ values, the first at the place of the column's first. Unit: that of the column.
/// Each run of finite values is resampled by itself, continued at both ends by the straight line through its first and
/// last value, so that an offset makes no ringing. A gap stays a gap: places between a finite value and one that is
/// not are NaN, and where a gap lies wholly between two new places the nearer one becomes NaN, so that none is lost.
/// Memory: the answer and 20·max(up, down) weights. Errors: a term outside 1..=[`LARGEST_TERM`], an answer longer than
/// [`MOST_VALUES`]. Source: polyphase filtering with a windowed sinc (Kaiser window of parameter 5, 10 zero crossings on
/// each side), as `scipy.signal.resample_poly(padtype='line')`, but that the weights meeting one new place sum to 1, which
/// for up = 1 they do there too. Checked: refs/resample.toml.
pub fn resample(column: &[f64], ratio: Ratio) -> Result<Vec<f64>, ResampleError> {
    let terms = 1..=LARGEST_TERM;
    if !terms.contains(&ratio.up) || !terms.contains(&ratio.down) {
        return Err(ResampleError::Terms(ratio));
    }
    let common = greatest_common_divisor(ratio.up, ratio.down);
    let (up, down) = ((ratio.up / common) as usize, (ratio.down / common) as usize);
    let values = (column.len() as u64).saturating_mul(up as u64).div_ceil(down as u64);
    if values > MOST_VALUES as u64 {
        return Err(ResampleError::TooLong(values));
    }
    if up == down {
        return Ok(column.to_vec());
    }
    let weights = weights(up, down);
    let mut out = vec![f64::NAN; values as usize];
    for run in runs::finite(column) {
        // The column's end is a run's end as any, but for the last part of a sample that the length counts in.
        let last = if run.end == column.len() { values as usize } else { (run.end - 1) * up / down + 1 };
        let first = (run.start * up).div_ceil(down);
        for (place, y) in out.iter_mut().enumerate().take(last).skip(first) {
            *y = at(column, &run, place * down, up, &weights);
        }
    }
    let mut gap_from = 0;
    for run in runs::finite(column) {
        mark_gap(&mut out, gap_from..run.start, up, down);
        gap_from = run.end;
    }
    mark_gap(&mut out, gap_from..column.len(), up, down);
    Ok(out)
}

/// The filtered run at a place in steps of 1/up sample.
fn at(column: &[f64], run: &Range<usize>, place: usize, up: usize, weights: &[f64]) -> f64 {
    let x = column.get(run.clone()).unwrap_or_default();
    let (&[first, ..], &[.., last]) = (x, x) else { return f64::NAN };
    let slope = if x.len() > 1 { (last - first) / (x.len() - 1) as f64 } else { 0.0 };
    let half = weights.len() / 2;
    // Weight of sample n is weights[half + place − n·up]; the last sample reached has the first weight.
    let reach = place + half;
    let (mut n, offset) = (reach as i64 / up as i64 - run.start as i64, reach % up);
    let mut sum = 0.0;
    for &weight in weights.iter().skip(offset).step_by(up) {
        let value = match usize::try_from(n).ok().and_then(|n| x.get(n)) {
            Some(&value) => value,
            None if n < 0 => first + n as f64 * slope,
            None => last + (n - (x.len() as i64 - 1)) as f64 * slope,
        };
        sum += weight * value;
        n -= 1;
    }
    sum
}

/// Windowed sinc of 2·half + 1 weights, those that meet one new place summing to 1.
///
/// The window alone leaves these sums off by up to half a thousandth, in turn from place to place: body weight would
/// come out with half a newton of ripple at the old rate.
fn weights(up: usize, down: usize) -> Vec<f64> {
    let longest = up.max(down);
    let half = CROSSINGS * longest;
    let one = |i: usize| {
        let place = i as f64 - half as f64;
        let angle = PI * place / longest as f64;
        let sinc = if i == half { 1.0 } else { math::sin(angle) / angle };
        let edge = place / half as f64;
        sinc * bessel_i0(KAISER * (1.0 - edge * edge).sqrt())
    };
    let mut all: Vec<f64> = (0..=2 * half).map(one).collect();
    for phase in 0..up {
        let sum: f64 = all.iter().skip(phase).step_by(up).sum();
        all.iter_mut().skip(phase).step_by(up).for_each(|w| *w /= sum);
    }
    all
}

/// Modified Bessel function I₀ by its power series, for the small arguments of a window.
fn bessel_i0(x: f64) -> f64 {
    let quarter = x * x / 4.0;
    let (mut term, mut sum, mut k) = (1.0, 1.0, 1.0);
    while term > 1e-18 * sum {
        term *= quarter / (k * k);
        sum += term;
        k += 1.0;
    }
    sum
}

/// Makes sure that a gap has left a NaN: the new place nearest to its middle, which lies in the gap if any does.
fn mark_gap(out: &mut [f64], gap: Range<usize>, up: usize, down: usize) {
    if gap.is_empty() {
        return;
    }
    let middle = (gap.start + gap.end - 1) as f64 / 2.0;
    let nearest = (middle * up as f64 / down as f64).round() as usize;
    let last = out.len().saturating_sub(1);
    if let Some(y) = out.get_mut(nearest.min(last)) {
        *y = f64::NAN;
    }
}

fn greatest_common_divisor(a: u32, b: u32) -> u32 {
    if b == 0 { a } else { greatest_common_divisor(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::f64::consts::TAU;

    const GAP: f64 = f64::NAN;

    fn of(up: u32, down: u32) -> Ratio {
        Ratio { up, down }
    }

    #[test]
    fn ratios() {
        for (from, to, expected) in [
            (1000.0, 1500.0, of(3, 2)),
            (1200.0, 100.0, of(1, 12)),
            (300.0, 1000.0, of(10, 3)),
            (44_100.0, 48_000.0, of(160, 147)),
            (1000.0, 59.94, of(2997, 50_000)),
            (1000.0, 1000.0, of(1, 1)),
            (1000.0, 1.0, of(1, 1000)),
            (1.0, 1000.0, of(1000, 1)),
        ] {
            let found = ratio(from, to).unwrap();
            if expected.down <= LARGEST_TERM {
                assert_eq!(found, expected, "{from} {to}");
                assert!((found.rate_hz(from) - to).abs() < 1e-9 * to);
            } else {
                assert!(found.down <= LARGEST_TERM && (found.rate_hz(from) / to - 1.0).abs() < 1e-3);
            }
        }
        // √2: the last convergent of small terms, Pell numbers.
        assert_eq!(ratio(1.0, 2.0_f64.sqrt()), Ok(of(577, 408)));
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(matches!(ratio(bad, 100.0), Err(ResampleError::Rate(_))));
            assert!(matches!(ratio(100.0, bad), Err(ResampleError::Rate(_))));
        }
        assert!(matches!(ratio(1.0, 1001.0), Err(ResampleError::TooFar { .. })));
    }

    #[test]
    fn refusals() {
        assert_eq!(resample(&[1.0], of(0, 1)), Err(ResampleError::Terms(of(0, 1))));
        assert_eq!(resample(&[1.0], of(1, 1001)), Err(ResampleError::Terms(of(1, 1001))));
        let long = vec![0.0; MOST_VALUES / 1000 + 1];
        assert!(matches!(resample(&long, of(1000, 1)), Err(ResampleError::TooLong(_))));
        assert_eq!(resample(&[], of(3, 2)), Ok(Vec::new()));
        assert_eq!(resample(&[4.0, GAP], of(6, 6)).unwrap()[0], 4.0);
    }

    /// A slow sine on an offset comes out where it should, at any ratio, away from the ends.
    #[test]
    fn a_sine_is_met_at_the_new_places() {
        let x: Vec<f64> = (0..400).map(|i| 800.0 + math::sin(TAU * f64::from(i) / 60.0)).collect();
        for ratio in [of(3, 2), of(2, 3), of(1, 5), of(7, 1), of(147, 160)] {
            let y = resample(&x, ratio).unwrap();
            for (m, y) in y.iter().enumerate() {
                let place = m as f64 * f64::from(ratio.down) / f64::from(ratio.up);
                let expected = 800.0 + math::sin(TAU * place / 60.0);
                let near_end = !(60.0..340.0).contains(&place);
                assert!(near_end || (y - expected).abs() < 1e-3, "{ratio:?} {place}: {y} {expected}");
            }
        }
    }

    /// A gap keeps its time; each side is as if it stood alone; not even one value is lost without a trace.
    #[test]
    fn gaps_keep_their_time() {
        let whole: Vec<f64> = (0..120).map(|i| f64::from((i * 37) % 101)).collect();
        let mut x = whole.clone();
        x[60..66].fill(GAP);
        let up = resample(&x, of(2, 1)).unwrap();
        assert!(up.iter().enumerate().all(|(m, y)| y.is_nan() == (119..132).contains(&m)), "{up:?}");
        let left = resample(&whole[..60], of(2, 1)).unwrap();
        assert_eq!(up[..119], left[..119]);
        assert_eq!(up[132..], resample(&whole[66..], of(2, 1)).unwrap());
        let mut x = whole;
        x[44] = GAP;
        x[46] = f64::INFINITY;
        let down = resample(&x, of(1, 10)).unwrap();
        assert_eq!(down.len(), 12);
        assert!(down.iter().enumerate().all(|(m, y)| y.is_nan() == (m == 4 || m == 5)), "{down:?}");
        assert!(resample(&[GAP; 9], of(1, 2)).unwrap().iter().all(|y| y.is_nan()));
        assert!((resample(&[5.0, GAP, 5.0], of(3, 1)).unwrap()[0] - 5.0).abs() < 1e-12);
    }

    proptest! {
        /// No panic, the length that is promised, and a constant stays.
        #[test]
        fn any_column_any_ratio(x in prop::collection::vec(prop_oneof![4 => Just(7.0), 1 => Just(GAP)], 0..40), up in 1..30_u32, down in 1..30_u32) {
            let y = resample(&x, of(up, down)).unwrap();
            prop_assert_eq!(y.len(), (x.len() * up as usize).div_ceil(down as usize));
            prop_assert!(y.iter().all(|y| y.is_nan() || (y - 7.0).abs() < 1e-12), "{:?}", y);
            if x.iter().any(|x| x.is_nan()) {
                prop_assert!(y.is_empty() || y.iter().any(|y| y.is_nan()));
            }
        }
    }
}
