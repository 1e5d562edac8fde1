//! Impulses: what a force gathers over a phase, split by its direction.
use core::ops::Range;

/// Impulse of one component over a range of samples, N·s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Impulse {
    /// What pushed one way: `driving` along the target line, above weight up.
    pub positive_ns: f64,
    /// What pushed the other way: `braking` along the target line, below weight up. Not above zero.
    pub negative_ns: f64,
}

impl Impulse {
    /// Both together: mass times the change of velocity.
    pub fn net_ns(self) -> f64 {
        self.positive_ns + self.negative_ns
    }
}

/// Splits the impulse of a force beyond `rest_n` over a range of samples.
///
/// Shape: from the first to the last sample of the range; a range of one sample is an instant and gathers nothing.
/// Unit: N, Hz → N·s. Sign: that of the column. `rest_n`: the force at rest of that component (weight for up,
/// [`super::Motion::rest_n`]). A trapezoid that crosses zero is cut where the straight line does, so that the two parts add up to
/// the trapezoids' sum. Undefined: NaN in both where a value in the range is not defined, or the range is empty or not inside.
/// Source: Linthorne 2001; definition. Checked: half sines in closed form.
pub fn impulse(force_n: &[f64], rest_n: f64, rate_hz: f64, range: Range<usize>) -> Impulse {
    let nothing = Impulse { positive_ns: f64::NAN, negative_ns: f64::NAN };
    let Some(values) = force_n.get(range).filter(|v| !v.is_empty() && v.iter().all(|f| f.is_finite())) else {
        return nothing;
    };
    let step = 1.0 / rate_hz;
    let mut out = Impulse { positive_ns: 0.0, negative_ns: 0.0 };
    let mut add = |ns: f64| {
        if ns > 0.0 {
            out.positive_ns += ns;
        } else {
            out.negative_ns += ns;
        }
    };
    for pair in values.windows(2) {
        let (a, b) = (pair[0] - rest_n, pair[1] - rest_n);
        if a * b < 0.0 {
            // Two triangles that meet where the line crosses.
            let share = a / (a - b);
            add(step * share * a / 2.0);
            add(step * (1.0 - share) * b / 2.0);
        } else {
            add(step * (a + b) / 2.0);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use signal::math;

    /// A whole sine of amplitude A and period T holds A·T/π on each side of zero.
    #[test]
    fn a_whole_sine() {
        let (amplitude, period, rate) = (300.0, 0.6, 1000.0);
        let force: Vec<f64> = (0..=600)
            .map(|k| 700.0 + amplitude * math::sin(core::f64::consts::TAU * f64::from(k) / (period * rate)))
            .collect();
        let got = impulse(&force, 700.0, rate, 0..601);
        let closed = amplitude * period / core::f64::consts::PI;
        assert!((got.positive_ns - closed).abs() < 1e-3, "{got:?}, closed {closed}");
        assert!((got.negative_ns + closed).abs() < 1e-3);
        assert!(got.net_ns().abs() < 1e-9);
    }

    /// By hand: from +30 to −10 N over 1 s crosses at ¾: +11.25 and −1.25 N·s.
    #[test]
    fn a_crossing_is_cut() {
        let got = impulse(&[30.0, -10.0], 0.0, 1.0, 0..2);
        assert_eq!((got.positive_ns, got.negative_ns), (11.25, -1.25));
    }

    #[test]
    fn gaps_and_ranges() {
        let force = [1.0, f64::NAN, 2.0, 4.0];
        assert!(impulse(&force, 0.0, 1.0, 0..3).net_ns().is_nan());
        assert_eq!(impulse(&force, 0.0, 1.0, 2..4).net_ns(), 3.0);
        assert_eq!(impulse(&force, 0.0, 1.0, 3..4).net_ns(), 0.0);
        assert!(impulse(&force, 0.0, 1.0, 2..9).net_ns().is_nan());
        assert!(impulse(&force, 0.0, 1.0, 2..2).net_ns().is_nan());
    }
}
