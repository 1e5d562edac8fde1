//! How much of white noise a filter lets through.

use super::Section;

/// Samples of an impulse response taken at once, and the most that are taken: it has died out long before for any
/// cut-off above a hundred-thousandth of the rate.
const BLOCK: usize = 1024;
const LONGEST: usize = 1 << 20;

/// The factor by which forward and backward filtering multiplies the standard deviation of white noise, away from
/// the ends of the column.
///
/// Unit: 1; 1 for no sections. Undefined: NaN where the response has not died out after a million samples (an unstable
/// filter, or a cut-off of some hundred-thousandths of the rate). Errors: none. Source: the variance of a weighted sum of
/// independent values is the sum of the squared weights, which here are the response of both passes to an impulse.
/// Checked: refs/noise_gain.toml (scipy, over the frequencies), and filtered noise.
#[must_use]
pub fn noise_gain(sections: &[Section]) -> f64 {
    let Some(once) = settled(sections, std::iter::once(1.0)) else { return f64::NAN };
    // A second pass forward: it differs from one backward in its phases only, and a sum of squares has none.
    settled(sections, once.iter().copied())
        .map_or(f64::NAN, |both| both.iter().map(|y| y * y).sum::<f64>().sqrt())
}

/// One pass from rest over an input, and on over zeros until a block adds nothing any more.
fn settled(sections: &[Section], input: impl ExactSizeIterator<Item = f64>) -> Option<Vec<f64>> {
    let mut state = vec![[0.0; 2]; sections.len()];
    let at_least = input.len();
    let mut input = input.chain(std::iter::repeat(0.0));
    let mut out = Vec::new();
    let mut energy = 0.0_f64;
    while out.len() < at_least + LONGEST && energy.is_finite() {
        let mut block = 0.0;
        for mut x in input.by_ref().take(BLOCK) {
            for (s, z) in sections.iter().zip(&mut state) {
                let y = s.b[0] * x + z[0];
                z[0] = s.b[1] * x + z[1] - s.a[0] * y;
                z[1] = s.b[2] * x - s.a[1] * y;
                x = y;
            }
            out.push(x);
            block += x * x;
        }
        energy += block;
        if out.len() >= at_least && block <= 1e-24 * energy {
            return Some(out);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::filter::{Band, ShortRuns, butterworth, butterworth_both_ways, zero_phase};
    use crate::stats;

    /// Filtered noise of an integer generator: 200 000 values, of which 2·gain²-fold fewer are independent, so the
    /// ratio is known to about a percent.
    #[test]
    fn as_filtered_noise_has_it() {
        let mut draw = crate::testing::uniform(99);
        let noise: Vec<f64> = (0..200_000).map(|_| draw() - 0.5).collect();
        for band in [Band::Low(20.0), Band::Low(200.0), Band::High(150.0), Band::Pass(40.0, 120.0)] {
            let sections = butterworth_both_ways(2, band, 1000.0).unwrap();
            let mut filtered = noise.clone();
            zero_phase(&sections, &mut filtered, ShortRuns::Drop, &mut Vec::new());
            let ratio = stats::standard_deviation(&filtered) / stats::standard_deviation(&noise);
            let gain = noise_gain(&sections);
            assert!((ratio / gain - 1.0).abs() < 0.02, "{band:?}: {ratio} is not {gain}");
        }
    }

    #[test]
    fn limits() {
        assert_eq!(noise_gain(&[]), 1.0);
        let slow = butterworth(2, Band::Low(0.01), 1000.0).unwrap();
        assert!(
            (noise_gain(&slow) / noise_gain(&butterworth(2, Band::Low(0.04), 1000.0).unwrap()) - 0.5).abs()
                < 1e-3
        );
        let growing = Section { b: [1.0, 0.0, 0.0], a: [-1.01, 0.0] };
        assert!(noise_gain(&[growing]).is_nan());
        assert!(noise_gain(&[Section { b: [f64::NAN; 3], a: [0.0; 2] }]).is_nan());
    }
}
