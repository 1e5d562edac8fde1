//! Butterworth filters as second-order sections, with the cut-off correction for several passes.
//!
//! The poles of the normalised low-pass lie on the unit circle of the s plane, so every pair gives
//! s² + 2 sin(θ) s + 1. A change of variable makes it low, high or band-pass at the warped frequency
//! tan(π f / rate), and the bilinear transform s = (1 − z⁻¹)/(1 + z⁻¹) makes it a difference equation.
//! Nothing is ever multiplied out to one long polynomial, which would lose digits at low cut-offs.
//! Source: Winter2009 (ch. 3: second order, warped cut-off and its correction); the band change of
//! variable is textbook filter design. Checked: refs/butterworth.toml (scipy), and Winter's coefficients.

use crate::math;
use std::f64::consts::PI;
use std::fmt;

/// The highest order [`butterworth`] designs: far above use, low enough to keep sections accurate.
pub const HIGHEST_ORDER: usize = 16;

/// What is let through. Frequencies in Hz; each is a half-power frequency (gain √½).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Band {
    /// Everything below.
    Low(f64),
    /// Everything above.
    High(f64),
    /// Everything between the two.
    Pass(f64, f64),
}

/// One second-order section: y\[n\] = b0 x\[n\] + b1 x\[n−1\] + b2 x\[n−2\] − a1 y\[n−1\] − a2 y\[n−2\].
/// A first-order section has b2 = a2 = 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// b0, b1, b2.
    pub b: [f64; 3],
    /// a1, a2 (a0 is 1).
    pub a: [f64; 2],
}

/// Why no filter could be designed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DesignError {
    /// The order is 0 or above [`HIGHEST_ORDER`].
    Order(usize),
    /// The sampling rate is not a positive number of Hz.
    Rate(f64),
    /// A cut-off is not inside 0..rate/2.
    CutOff {
        /// The frequency asked for, Hz.
        cut_off_hz: f64,
        /// Half the sampling rate, Hz.
        nyquist_hz: f64,
    },
    /// The band's lower edge is not below its upper edge.
    Edges {
        /// Lower edge, Hz.
        low_hz: f64,
        /// Upper edge, Hz.
        high_hz: f64,
    },
}

impl fmt::Display for DesignError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Order(order) => write!(f, "filter order {order} is not in 1..={HIGHEST_ORDER}"),
            Self::Rate(rate) => write!(f, "sampling rate {rate} Hz is not a positive number"),
            Self::CutOff { cut_off_hz, nyquist_hz } => {
                write!(
                    f,
                    "cut-off {cut_off_hz} Hz is not between 0 and half the sampling rate, {nyquist_hz} Hz"
                )
            }
            Self::Edges { low_hz, high_hz } => {
                write!(f, "band edge {low_hz} Hz is not below band edge {high_hz} Hz")
            }
        }
    }
}

impl std::error::Error for DesignError {}

/// A Butterworth filter whose half-power frequencies hold for **one** pass.
///
/// Shape: ⌈order/2⌉ sections for low and high-pass, `order` sections for band-pass (which has twice as
/// many poles), the best damped first. Unit: Hz. Errors: order, rate or cut-off outside its range.
/// Source: Winter2009. Checked: refs/butterworth.toml.
pub fn butterworth(order: usize, band: Band, rate_hz: f64) -> Result<Vec<Section>, DesignError> {
    design(order, band, rate_hz, 1.0)
}

/// A Butterworth filter whose half-power frequencies hold for a forward **and** a backward pass together.
///
/// The correction acts on the warped frequency, not on the frequency in Hz, so it is exact up to half the
/// sampling rate. Order 2 here is what papers call a fourth-order zero-lag filter.
/// Shape, unit, errors: as [`butterworth`]. Source: Winter2009 (p. 69 of its fourth edition). Checked: a
/// table of coefficients from an independent computation, in the tests.
pub fn butterworth_both_ways(order: usize, band: Band, rate_hz: f64) -> Result<Vec<Section>, DesignError> {
    design(order, band, rate_hz, correction(order, 2))
}

/// The factor C by which the warped cut-off of one pass is divided (low-pass) so that `passes` passes of
/// an `order` filter have gain √½ at the cut-off: C = (2^(1/passes) − 1)^(1/(2·order)).
///
/// Undefined: NaN where order or passes is 0. Source: Winter2009, for order 2; the general exponent
/// follows from |H|² = 1/(1 + w^(2·order)).
#[must_use]
pub fn correction(order: usize, passes: usize) -> f64 {
    if order == 0 || passes == 0 {
        return f64::NAN;
    }
    math::powf(math::powf(2.0, 1.0 / passes as f64) - 1.0, 0.5 / order as f64)
}

/// Gain |H| of one pass through all sections at a frequency.
///
/// Unit: Hz → 1. Undefined: NaN for a NaN frequency or rate. Source: the definition of the section.
#[must_use]
pub fn gain(sections: &[Section], frequency_hz: f64, rate_hz: f64) -> f64 {
    let (s1, c1) = math::sin_cos(2.0 * PI * frequency_hz / rate_hz);
    let (s2, c2) = math::sin_cos(4.0 * PI * frequency_hz / rate_hz);
    let size = |k: [f64; 3]| math::hypot(k[0] + k[1] * c1 + k[2] * c2, k[1] * s1 + k[2] * s2);
    sections.iter().fold(1.0, |g, s| g * size(s.b) / size([1.0, s.a[0], s.a[1]]))
}

/// All designs; `c` is the correction of [`correction`], 1 for none.
fn design(order: usize, band: Band, rate_hz: f64, c: f64) -> Result<Vec<Section>, DesignError> {
    if order == 0 || order > HIGHEST_ORDER {
        return Err(DesignError::Order(order));
    }
    if !(rate_hz.is_finite() && rate_hz > 0.0) {
        return Err(DesignError::Rate(rate_hz));
    }
    let warped = |cut_off_hz: f64| {
        let nyquist_hz = rate_hz / 2.0;
        if cut_off_hz > 0.0 && cut_off_hz < nyquist_hz {
            Ok(math::tan(PI * cut_off_hz / rate_hz))
        } else {
            Err(DesignError::CutOff { cut_off_hz, nyquist_hz })
        }
    };
    // Angles of the prototype's pole pairs from the imaginary axis: nearest the real axis first.
    let pairs = (0..order / 2).rev().map(|k| PI * (2 * k + 1) as f64 / (2 * order) as f64);
    let odd = order % 2 == 1;
    match band {
        Band::Low(f) => {
            let w = warped(f)? / c;
            let first = odd.then(|| section([w, 0.0], [w, 0.0], true));
            let rest = pairs.map(|t| section([w * w, 0.0], [w * w, 2.0 * math::sin(t) * w], false));
            Ok(first.into_iter().chain(rest).collect())
        }
        Band::High(f) => {
            let w = warped(f)? * c;
            let first = odd.then(|| section([0.0, 1.0], [w, 0.0], true));
            let rest = pairs.map(|t| high_section(w, 2.0 * math::sin(t)));
            Ok(first.into_iter().chain(rest).collect())
        }
        Band::Pass(low_hz, high_hz) => {
            let (low, high) = (warped(low_hz)?, warped(high_hz)?);
            if low >= high {
                return Err(DesignError::Edges { low_hz, high_hz });
            }
            // The centre stays; the correction widens the band.
            let (width, centre2) = ((high - low) / c, low * high);
            let mut all = Vec::with_capacity(order);
            if odd {
                all.push(section([0.0, width], [centre2, width], false));
            }
            for t in pairs {
                for (c0, c1) in band_pair(t, width, centre2) {
                    all.push(section([0.0, width], [c0, c1], false));
                }
            }
            Ok(all)
        }
    }
}

/// Bilinear transform of (n0 + n1 s)/(d0 + d1 s + s²), or of (n0 + n1 s)/(d0 + s) when `first_order`.
fn section(n: [f64; 2], d: [f64; 2], first_order: bool) -> Section {
    if first_order {
        let norm = 1.0 + d[0];
        return Section {
            b: [(n[0] + n[1]) / norm, (n[0] - n[1]) / norm, 0.0],
            a: [(d[0] - 1.0) / norm, 0.0],
        };
    }
    let norm = 1.0 + d[1] + d[0];
    Section {
        b: [(n[0] + n[1]) / norm, 2.0 * n[0] / norm, (n[0] - n[1]) / norm],
        a: [2.0 * (d[0] - 1.0) / norm, (1.0 - d[1] + d[0]) / norm],
    }
}

/// Bilinear transform of s²/(w² + damping w s + s²).
fn high_section(w: f64, damping: f64) -> Section {
    let low = section([1.0, 0.0], [w * w, damping * w], false);
    Section { b: [low.b[0], -low.b[1], low.b[2]], a: low.a }
}

/// The two denominators (c0, c1 of c0 + c1 s + s²) that a prototype pole pair at `angle` becomes under
/// s → (s² + centre²)/(width s).
fn band_pair(angle: f64, width: f64, centre2: f64) -> [(f64, f64); 2] {
    // Roots of s² − q s + centre² = 0 for q = width · pole; the other pole of the pair gives their conjugates.
    let (sin, cos) = math::sin_cos(angle);
    let (qr, qi) = (-width * sin, width * cos);
    let (rr, ri) = complex_sqrt(qr * qr - qi * qi - 4.0 * centre2, 2.0 * qr * qi);
    // Add the root that does not cancel; the product of the two roots gives the other.
    let sign = if qr * rr + qi * ri < 0.0 { -1.0 } else { 1.0 };
    let (ar, ai) = ((qr + sign * rr) / 2.0, (qi + sign * ri) / 2.0);
    let size2 = ar * ar + ai * ai;
    let other_r = centre2 * ar / size2;
    let pair = [(size2, -2.0 * ar), (centre2 * centre2 / size2, -2.0 * other_r)];
    // Best damped first, as everywhere in this file.
    let damping = |(c0, c1): (f64, f64)| c1 / c0.sqrt();
    if damping(pair[0]) < damping(pair[1]) { [pair[1], pair[0]] } else { pair }
}

/// Principal square root of a complex number.
fn complex_sqrt(re: f64, im: f64) -> (f64, f64) {
    let size = math::hypot(re, im);
    // One of the two halves never cancels; the other follows from 2·x·y = im.
    if re >= 0.0 {
        let x = ((size + re) / 2.0).sqrt();
        (x, if x == 0.0 { 0.0 } else { im / (2.0 * x) })
    } else {
        let y = ((size - re) / 2.0).sqrt().copysign(im);
        (im / (2.0 * y), y)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::FRAC_1_SQRT_2;

    fn near(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not {b} within {tolerance}");
    }

    /// Corrections for two to four passes of order 2, and two passes of order 1 to 4: Winter's formula
    /// (Winter 2009, p. 69 of the fourth edition) worked out independently to ten figures.
    #[test]
    fn corrections() {
        let expected =
            [(2, 1, 1.0), (2, 2, 0.802_243_262_9), (2, 3, 0.714_019_977_7), (2, 4, 0.659_529_712_8)];
        let by_order = [(1, 2, 0.643_594_252_9), (3, 2, 0.863_384_111_9), (4, 2, 0.895_680_335_2)];
        for (order, passes, c) in expected.into_iter().chain(by_order) {
            near(correction(order, passes), c, 1e-10);
        }
        assert!(correction(0, 2).is_nan() && correction(2, 0).is_nan());
    }

    /// Winter's low-pass coefficients (a0, b1 = −a1, b2 = −a2 in his names), computed apart from this code.
    #[test]
    fn winter_coefficients() {
        #[rustfmt::skip]
        let table = [
            (6.0, 100.0, false, 0.027_859_766_12, 1.475_480_444, -0.586_919_508_1, 0.5),
            (6.0, 100.0, true, 0.040_594_681_45, 1.354_748_815, -0.517_127_541, FRAC_1_SQRT_2),
            (10.0, 1000.0, false, 0.000_944_691_843_8, 1.911_197_067, -0.914_975_834_8, 0.5),
            (10.0, 1000.0, true, 0.001_451_863_366, 1.889_362_92, -0.895_170_374, FRAC_1_SQRT_2),
            (20.0, 1000.0, true, 0.005_505_744_328, 1.779_406_304, -0.801_429_281, FRAC_1_SQRT_2),
            (50.0, 1000.0, true, 0.029_569_074_72, 1.458_103_86, -0.576_380_159_3, FRAC_1_SQRT_2),
            (15.0, 500.0, true, 0.011_760_722_39, 1.670_647_686, -0.717_690_575_3, FRAC_1_SQRT_2),
        ];
        for (f, rate, corrected, a0, b1, b2, two_pass_gain) in table {
            let make = if corrected { butterworth_both_ways } else { butterworth };
            let s = make(2, Band::Low(f), rate).unwrap();
            assert_eq!(s.len(), 1);
            near(s[0].b[0], a0, 5e-11);
            near(s[0].b[1], 2.0 * a0, 1e-10);
            near(s[0].b[2], a0, 5e-11);
            near(-s[0].a[0], b1, 1e-9);
            near(-s[0].a[1], b2, 1e-9);
            near(gain(&s, f, rate).powi(2), two_pass_gain, 5e-7);
        }
    }

    /// By definition of the filter: gain √½ at each cut-off after the passes it is designed for, and the
    /// whole curve |H|² = 1/(1 + w^(2N)) on the warped axis.
    #[test]
    fn half_power_at_every_cut_off() {
        for order in 1..=HIGHEST_ORDER {
            for band in [Band::Low(35.0), Band::High(35.0), Band::Pass(20.0, 60.0), Band::Pass(2.0, 400.0)] {
                let once = butterworth(order, band, 1000.0).unwrap();
                let both = butterworth_both_ways(order, band, 1000.0).unwrap();
                let edges = match band {
                    Band::Low(f) | Band::High(f) => vec![f],
                    Band::Pass(f, g) => vec![f, g],
                };
                for f in edges {
                    near(gain(&once, f, 1000.0), 0.5_f64.sqrt(), 1e-9);
                    near(gain(&both, f, 1000.0).powi(2), 0.5_f64.sqrt(), 1e-9);
                }
                let w = |f: f64| math::tan(PI * f / 1000.0);
                for f in [5.0, 17.0, 50.0, 110.0, 333.0] {
                    let prototype = match band {
                        Band::Low(c) => w(f) / w(c),
                        Band::High(c) => w(c) / w(f),
                        Band::Pass(l, h) => (w(f) * w(f) - w(l) * w(h)) / (w(f) * (w(h) - w(l))),
                    };
                    let squared = 1.0 / (1.0 + math::powi(prototype * prototype, order as i32));
                    let g2 = gain(&once, f, 1000.0).powi(2);
                    assert!(
                        (g2 - squared).abs() <= 1e-9 * squared + 1e-15,
                        "{order} {band:?} {f}: {g2} {squared}"
                    );
                }
            }
        }
    }

    #[test]
    fn refusals_say_what_is_wrong() {
        assert_eq!(butterworth(0, Band::Low(10.0), 1000.0), Err(DesignError::Order(0)));
        assert_eq!(butterworth(17, Band::Low(10.0), 1000.0), Err(DesignError::Order(17)));
        assert_eq!(butterworth(2, Band::Low(10.0), 0.0), Err(DesignError::Rate(0.0)));
        assert!(butterworth(2, Band::Low(10.0), f64::NAN).is_err());
        assert!(butterworth(2, Band::Low(f64::NAN), 1000.0).is_err());
        for f in [0.0, -3.0, 500.0, 900.0] {
            let refused = DesignError::CutOff { cut_off_hz: f, nyquist_hz: 500.0 };
            assert_eq!(butterworth(2, Band::Low(f), 1000.0), Err(refused));
            assert_eq!(butterworth(2, Band::High(f), 1000.0), Err(refused));
        }
        let swapped = butterworth(2, Band::Pass(60.0, 20.0), 1000.0).unwrap_err();
        assert_eq!(swapped, DesignError::Edges { low_hz: 60.0, high_hz: 20.0 });
        assert_eq!(swapped.to_string(), "band edge 60 Hz is not below band edge 20 Hz");
    }
}
