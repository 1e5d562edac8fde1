//! Where a curve peaks, between samples, and how surely; its steepest rise.
use mechanics::uncertainty::noise;
use std::ops::Range;

/// A place on a curve, in samples.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peak {
    /// The sample of the extreme value.
    pub sample: usize,
    /// The vertex between samples.
    pub place: f64,
    /// Second derivative there, value per sample²; NaN where the curve has no clear vertex.
    pub curvature: f64,
    /// Middle of the fit.
    pub centre: usize,
    /// Half width of the fit, samples.
    pub half: usize,
    /// Standard uncertainty of the place from noise and from the fit, samples.
    pub noise: f64,
    /// Samples around it that noise makes as good as the greatest.
    pub level: usize,
    /// How many independent ones that is; the greatest of so many lies above the curve.
    pub independent: f64,
    /// The best other peak of the same kind, with a valley between.
    pub rival: Option<usize>,
}

/// Least half width of the parabola that places a peak, s.
pub const VERTEX_S: f64 = 0.008;

/// Values within so many standard deviations of noise of the extreme one are as good as it: the greatest of some tens
/// lies two above the curve, and one in forty lies two below.
pub const REACH: f64 = 4.0;

/// Share of the width of a fit by which an uneven peak may shift it. Ours, from simulated swings.
const UNEVEN: f64 = 0.06;

/// Noise of a curve.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Grain {
    /// Standard deviation of a sample, the curve's unit.
    pub sigma: f64,
    /// Samples for each independent one ([`mechanics::uncertainty::noise`]); 1 or less: white.
    pub length: f64,
}

/// The greatest (`most`) or least value of a curve within a range, and the vertex of a parabola fitted around it.
///
/// The parabola spans at least [`VERTEX_S`] to both sides, and all that noise makes as good as the extreme value: a
/// narrower one would follow the noise. `noise_at`: noise of the curve at a sample.
/// Shape: any length. Undefined: `None` where no value in the range is defined. A fit that is not a peak of the right
/// kind, or whose vertex falls outside its own window, leaves the sample itself, with the window as its uncertainty.
/// Source: least squares; the window is ours.
pub fn peak(
    curve: &[f64],
    within: Range<usize>,
    most: bool,
    rate_hz: f64,
    noise_at: impl FnOnce(usize) -> Grain,
) -> Option<Peak> {
    let sign = if most { 1.0 } else { -1.0 };
    let within = within.start..within.end.min(curve.len());
    let mut best = None;
    let mut top = f64::NEG_INFINITY;
    for (k, value) in curve.get(within.clone())?.iter().enumerate() {
        // NaN is greater than nothing.
        if sign * value > top && value.is_finite() {
            (best, top) = (Some(within.start + k), sign * value);
        }
    }
    let sample = best?;
    let grain = Some(noise_at(sample)).filter(|g| g.sigma.is_finite()).unwrap_or_default();
    let sigma = grain.sigma;
    let least = ((VERTEX_S * rate_hz).round() as usize).max(1);
    let value = |k: usize| sign * curve[k];

    // As good as the top: outward, over gaps no wider than the least window.
    let good = |k: usize| value(k) >= top - REACH * sigma;
    let reach = |steps: &mut dyn Iterator<Item = usize>| {
        let (mut last, mut level) = (sample, 0);
        for k in steps {
            if k.abs_diff(last) > least {
                break;
            }
            if good(k) {
                last = k;
                level += 1;
            }
        }
        (last, level)
    };
    let (first, left) = reach(&mut (within.start..sample).rev());
    let (last, right) = reach(&mut (sample + 1..within.end));
    let centre = first.midpoint(last);
    let half = ((last - first).div_ceil(2)).max(least);

    let (before, after) = (curve.get(within.start..first)?, curve.get(last + 1..within.end)?);
    let others = [
        beyond(before.iter().rev().map(|v| sign * v), top, REACH * sigma).map(|steps| first - 1 - steps),
        beyond(after.iter().map(|v| sign * v), top, REACH * sigma).map(|steps| last + 1 + steps),
    ];
    let rival = others.into_iter().flatten().max_by(|a, b| value(*a).total_cmp(&value(*b)));

    let mut found = Peak {
        sample,
        place: sample as f64,
        curvature: f64::NAN,
        centre,
        half,
        noise: half as f64 / 3f64.sqrt(),
        level: left + right + 1,
        independent: 1.0 + (left + right) as f64 / grain.length.max(1.0),
        rival,
    };
    let Some(window) = centre.checked_sub(half).and_then(|from| curve.get(from..=centre + half)) else {
        return Some(found);
    };
    // Least squares on −half..half: the odd and even parts are independent.
    let (mut x2, mut slope, mut mean) = (0.0, 0.0, 0.0);
    for (i, y) in window.iter().enumerate() {
        let x = i as f64 - half as f64;
        x2 += x * x;
        slope += x * y;
        mean += y;
    }
    let n = window.len() as f64;
    mean /= n;
    let spread = x2 / n;
    let (mut x4, mut bend) = (0.0, 0.0);
    for (i, y) in window.iter().enumerate() {
        let x = i as f64 - half as f64;
        let even = x * x - spread;
        x4 += even * even;
        bend += even * (y - mean);
    }
    let (slope, bend) = (slope / x2, bend / x4);
    let vertex = -slope / (2.0 * bend);
    if sign * bend < 0.0 && vertex.abs() <= half as f64 {
        found.place = centre as f64 + vertex;
        found.curvature = 2.0 * bend;
        // Slope and bend are both made of noise: v = −s/2b.
        let [u_slope, u_bend] =
            [noise::slope_var, noise::bend_var].map(|var| sigma * var(n, grain.length).sqrt());
        let parts = [u_slope / (2.0 * bend), vertex * u_bend / bend];
        // A peak that is wide for its noise is seldom even: what a parabola over it misses.
        let uneven = UNEVEN * (half - least) as f64;
        let square = parts.iter().map(|p| p * p).sum::<f64>() + uneven * uneven;
        found.noise = square.sqrt().min(found.noise);
    }
    Some(found)
}

/// Another peak on the way down from `top`: how many steps on the greatest value lies beyond a valley that noise does
/// not make.
fn beyond(values: impl Iterator<Item = f64>, top: f64, noise: f64) -> Option<usize> {
    let (mut valley, mut found) = (top, None);
    let mut greatest = f64::NEG_INFINITY;
    for (steps, value) in values.enumerate() {
        // NaN passes no comparison.
        if value < valley {
            valley = if value.is_finite() { value } else { valley };
        } else if value > greatest && value - valley > noise && value > valley && value.is_finite() {
            (found, greatest) = (Some(steps), value);
        }
    }
    found
}

/// How far the greatest of `n` independent numbers of noise lies up on average, in standard deviations; `n` need not be
/// whole. 0 for one or less.
///
/// Source: Tippett 1925, Biometrika 17:364-387, between whose values ln n leads; beyond them Cramér, Mathematical Methods of
/// Statistics (1946), 28.6: the location of the greatest and 0.5772 (Euler's constant) times its scale.
pub fn lift(n: f64) -> f64 {
    let between = GREATEST.windows(2).find(|pair| n < pair[1].0);
    if let Some(&[(few, low), (many, high)]) = between {
        let share = signal::math::ln(n.max(1.0) / few) / signal::math::ln(many / few);
        return low + share * (high - low);
    }
    let log = signal::math::ln(n);
    let root = (2.0 * log).sqrt();
    root - (signal::math::ln(log) + signal::math::ln(4.0 * std::f64::consts::PI)) / (2.0 * root)
        + EULER_GAMMA / root
}

/// Mean of the greatest of so many standard normal numbers.
const GREATEST: [(f64, f64); 10] = [
    (1.0, 0.0),
    (2.0, 0.564),
    (3.0, 0.846),
    (4.0, 1.029),
    (5.0, 1.163),
    (10.0, 1.539),
    (20.0, 1.867),
    (50.0, 2.249),
    (100.0, 2.508),
    (1000.0, 3.241),
];

/// Euler's constant.
const EULER_GAMMA: f64 = 0.577_215_664_901_532_9;

/// The steepest straight line over a window of `length` samples, by least squares.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steepest {
    /// First sample of the window.
    pub from: usize,
    /// Value per sample.
    pub slope: f64,
}

/// The window of a curve whose fitted line rises most. A window with a gap is passed over; `None` where none is left.
///
/// Source: least squares.
pub fn steepest(curve: &[f64], within: Range<usize>, length: usize) -> Option<Steepest> {
    let curve = curve.get(within.start..within.end.min(curve.len()))?;
    if length < 3 || curve.len() < length {
        return None;
    }
    let n = length as f64;
    let centre = (n - 1.0) / 2.0;
    let x2 = n * (n * n - 1.0) / 12.0;
    // Running sums from the first value of each run, so that a large mean costs no digits.
    let mut best: Option<Steepest> = None;
    for run in signal::runs::finite(curve) {
        let Some(values) = curve.get(run.clone()).filter(|v| v.len() >= length) else { continue };
        let base = values[0];
        let (mut sum, mut moment) = (0.0, 0.0);
        for (i, y) in values[..length].iter().enumerate() {
            sum += y - base;
            moment += i as f64 * (y - base);
        }
        for from in 0..=values.len() - length {
            if from > 0 {
                let (out, new) = (values[from - 1] - base, values[from + length - 1] - base);
                // Everything moves one place down.
                moment += out - sum + (n - 1.0) * new;
                sum += new - out;
            }
            let slope = (moment - centre * sum) / x2;
            if best.is_none_or(|b| slope > b.slope) {
                best = Some(Steepest { from: within.start + run.start + from, slope });
            }
        }
    }
    best
}

/// Linear interpolation at a real-valued place; NaN outside or beside a gap.
pub fn at(curve: &[f64], place: f64) -> f64 {
    signal::integrate::at(curve, place)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const EXACT: fn(usize) -> Grain = |_| Grain { sigma: 0.0, length: 1.0 };

    fn white(sigma: f64) -> Grain {
        Grain { sigma, length: 1.0 }
    }

    fn hill(top: f64, height: f64, bend: f64) -> Vec<f64> {
        (0..200).map(|k| height - bend * (k as f64 - top) * (k as f64 - top)).collect()
    }

    /// A skewed hill: 1 at 100, falling faster after it. Vertex of the derivative by hand: x = 0.
    fn skewed() -> Vec<f64> {
        let x = |k: usize| k as f64 - 100.0;
        (0..200).map(|k| 100.0 - 0.01 * x(k) * x(k) - 0.00005 * x(k) * x(k) * x(k)).collect()
    }

    /// Numbers from −1 to 1, the same in every run: an integer generator (the constants are those of ISO C's example).
    fn noise(length: usize) -> Vec<f64> {
        let mut s = 12345_u64;
        let mut next = || {
            s = (1_103_515_245 * s + 12_345) % (1 << 31);
            s as f64 / f64::from(1 << 30) - 1.0
        };
        (0..length).map(|_| next()).collect()
    }

    proptest! {
        /// A parabola's vertex comes back exactly, up or down.
        #[test]
        fn vertex_of_a_parabola(top in 20.0..180.0f64, height in -1e3..1e3f64, bend in 0.01..50.0f64) {
            let curve = hill(top, height, bend);
            let found = peak(&curve, 0..200, true, 1000.0, EXACT).expect("a peak");
            prop_assert!((found.place - top).abs() < 1e-6);
            prop_assert!((found.curvature + 2.0 * bend).abs() < 1e-6 * bend);
            prop_assert!(found.sample.abs_diff(top.round() as usize) <= 1);
            let valley: Vec<f64> = curve.iter().map(|v| -v).collect();
            let least = peak(&valley, 0..200, false, 1000.0, EXACT).expect("a valley");
            prop_assert_eq!((least.sample, least.place), (found.sample, found.place));
            prop_assert_eq!(least.curvature, -found.curvature);
        }

        /// Whatever the curve: the extreme is the greatest value that is defined, within the range.
        #[test]
        fn never_outside(
            curve in prop::collection::vec(prop_oneof![4 => -10.0..10.0f64, 1 => Just(f64::NAN)], 0..80),
            from in 0..90usize, to in 0..90usize, size in 0.0..3.0f64,
        ) {
            let range = from.min(curve.len())..to.min(curve.len());
            let defined = || range.clone().filter(|k| !curve[*k].is_nan());
            match peak(&curve, from..to, true, 500.0, |_| white(size)) {
                None => prop_assert_eq!(defined().count(), 0),
                Some(found) => {
                    prop_assert!(defined().all(|k| curve[k] <= curve[found.sample]));
                    prop_assert!(range.contains(&found.sample));
                    prop_assert!(found.place.is_finite() && found.noise >= 0.0);
                }
            }
        }

        /// Against every window by itself.
        #[test]
        fn steepest_by_brute_force(
            curve in prop::collection::vec(prop_oneof![9 => 500.0..1500.0f64, 1 => Just(f64::NAN)], 0..60),
            length in 3..12usize,
        ) {
            let slope = |w: &[f64]| {
                let n = w.len() as f64;
                let (mx, my) = ((n - 1.0) / 2.0, w.iter().sum::<f64>() / n);
                let xy: f64 = w.iter().enumerate().map(|(i, y)| (i as f64 - mx) * (y - my)).sum();
                xy / (0..w.len()).map(|i| (i as f64 - mx) * (i as f64 - mx)).sum::<f64>()
            };
            let by_hand = curve.windows(length).map(slope).filter(|s| !s.is_nan()).fold(f64::NEG_INFINITY, f64::max);
            match steepest(&curve, 0..curve.len(), length) {
                None => prop_assert_eq!(by_hand, f64::NEG_INFINITY),
                Some(found) => {
                    prop_assert!((found.slope - by_hand).abs() < 1e-9 * (1.0 + by_hand.abs()));
                    prop_assert!((slope(&curve[found.from..found.from + length]) - by_hand).abs() < 1e-9 * (1.0 + by_hand.abs()));
                }
            }
        }
    }

    /// At an end or beside a gap no parabola fits: the sample is the place, and the window is in doubt.
    #[test]
    fn ends_and_gaps_have_no_vertex() {
        let rising: Vec<f64> = (0..50).map(f64::from).collect();
        let end = peak(&rising, 0..50, true, 1000.0, EXACT).expect("a peak");
        assert_eq!((end.sample, end.place), (49, 49.0));
        assert!(end.curvature.is_nan());
        assert!((end.noise - 8.0 / 3f64.sqrt()).abs() < 1e-12);
        let mut holed = hill(60.3, 5.0, 0.1);
        holed[65] = f64::NAN;
        let beside = peak(&holed, 0..200, true, 1000.0, EXACT).expect("a peak");
        assert_eq!(beside.place, 60.0);
        assert!(beside.curvature.is_nan());
        assert_eq!(peak(&[f64::NAN; 9], 0..9, true, 1000.0, EXACT), None);
        assert_eq!(peak(&[], 0..9, true, 1000.0, EXACT), None);
        assert_eq!(steepest(&[f64::NAN; 9], 0..9, 3), None);
        // A slope is taken between gaps, never across one: 1, 2, 3 | 100, 101, 102.
        let steps = [1.0, 2.0, 3.0, f64::NAN, 100.0, 101.0, 102.0];
        assert!((steepest(&steps, 0..7, 3).expect("a slope").slope - 1.0).abs() < 1e-12);
    }

    /// Where noise hides the bend the window grows; the stated u covers what noise does, and a skewed top does not
    /// draw the vertex along.
    #[test]
    fn noise_widens_the_window() {
        let clean = skewed();
        let error = noise(200 * 60);
        let sigma = 0.5 / 3f64.sqrt();
        let (mut inside, mut wide, mut errors) = (0, 0, Vec::new());
        for round in error.chunks(200) {
            let curve: Vec<f64> = clean.iter().zip(round).map(|(c, e)| c + 0.5 * e).collect();
            let found = peak(&curve, 0..200, true, 1000.0, |_| white(sigma)).expect("a peak");
            wide += usize::from(found.half > 8);
            inside += usize::from((found.place - 100.0).abs() <= 1.96 * found.noise);
            errors.push(found.place - 100.0);
        }
        let rms = (errors.iter().map(|e| e * e).sum::<f64>() / 60.0).sqrt();
        assert!(wide >= 50, "{wide} of 60 windows grew");
        assert!(inside >= 52, "{inside} of 60 within 1.96 u");
        // The greatest sample itself strays over some five samples.
        assert!(rms < 2.5, "{rms} samples");
    }

    /// Another peak beyond a valley is named; a shoulder that noise makes is none.
    #[test]
    fn rivals_are_told() {
        let two: Vec<f64> =
            hill(60.0, 5.0, 0.05).iter().zip(hill(140.0, 4.8, 0.05)).map(|(a, b)| a.max(b)).collect();
        let found = peak(&two, 0..200, true, 1000.0, |_| white(0.1)).expect("a peak");
        assert_eq!((found.sample, found.rival), (60, Some(140)));
        let one = peak(&hill(60.0, 5.0, 0.05), 0..200, true, 1000.0, |_| white(0.1)).expect("a peak");
        assert_eq!(one.rival, None);
    }

    /// The greatest of n normal numbers lies so far out. Source: Tippett 1925, Biometrika 17:364-387; also where nothing is
    /// tabled here: 30, 200, 500 and 5000 (the last from Harter 1961, Biometrika 48:151-165, from memory: 3.68).
    #[test]
    fn lifts_are_as_tabled() {
        let tabled = [
            (2.0, 0.564),
            (4.0, 1.029),
            (10.0, 1.539),
            (30.0, 2.043),
            (100.0, 2.508),
            (200.0, 2.746),
            (500.0, 3.037),
            (1000.0, 3.241),
            (5000.0, 3.68),
        ];
        for (n, mean) in tabled {
            assert!((lift(n) - mean).abs() < 0.02 * mean, "{n}: {} {mean}", lift(n));
        }
        assert_eq!((lift(1.0), lift(0.0)), (0.0, 0.0));
        let rising: Vec<f64> = (0..4000).map(|n| lift(0.5 + f64::from(n))).collect();
        assert!(rising.windows(2).all(|w| w[1] >= w[0]), "monotone");
    }
}
