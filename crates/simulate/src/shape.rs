//! The two curves everything is drawn with: a *push* and a *step*, both polynomials of bounded support.
//!
//! A push is (1 − s²)³ on −1..1: twice continuously differentiable, with exact first and second integrals, so
//! that a body accelerated by pushes has a speed and a place in closed form and impulse equals the change of
//! momentum exactly. Source: ours; elementary calculus.

/// A push: an acceleration (or any rate) that rises from nothing, peaks half-way and ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Push {
    /// Begin, s.
    pub from_s: f64,
    /// End, s.
    pub to_s: f64,
    /// Value at the middle; the unit is the caller's.
    pub peak: f64,
}

/// Integral of (1 − s²)³ over −1..1.
const AREA: f64 = 32.0 / 35.0;

impl Push {
    fn scaled(&self, t_s: f64) -> (f64, f64) {
        let half = (self.to_s - self.from_s) / 2.0;
        ((t_s - self.from_s - half) / half, half)
    }
    /// The push itself at a time.
    pub fn value(&self, t_s: f64) -> f64 {
        let (s, _) = self.scaled(t_s);
        if s.abs() < 1.0 { self.peak * cube(1.0 - s * s) } else { 0.0 }
    }
    /// Its integral from the beginning of time. Unit: the push's unit times s.
    pub fn first_integral(&self, t_s: f64) -> f64 {
        let (s, half) = self.scaled(t_s);
        let q = s * s;
        let inner = 16.0 / 35.0 + s * (1.0 - q * (1.0 - q * (3.0 / 5.0 - q / 7.0)));
        self.peak
            * half
            * match s {
                s if s <= -1.0 => 0.0,
                s if s >= 1.0 => AREA,
                _ => inner,
            }
    }
    /// Its second integral from the beginning of time. Unit: the push's unit times s².
    pub fn second_integral(&self, t_s: f64) -> f64 {
        let (s, half) = self.scaled(t_s);
        let q = s * s;
        let inner =
            1.0 / 8.0 + 16.0 / 35.0 * s + q * (1.0 / 2.0 - q * (1.0 / 4.0 - q * (1.0 / 10.0 - q / 56.0)));
        self.peak
            * half
            * half
            * match s {
                s if s <= -1.0 => 0.0,
                s if s >= 1.0 => AREA * s,
                _ => inner,
            }
    }
}

fn cube(x: f64) -> f64 {
    x * x * x
}

/// A step: from 0 to `size` between two instants, without a jump in speed or acceleration.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Begin, s.
    pub from_s: f64,
    /// End, s.
    pub to_s: f64,
    /// Height of the step; the unit is the caller's.
    pub size: f64,
}

impl Step {
    /// The step at a time: 0 before, `size` after.
    pub fn value(&self, t_s: f64) -> f64 {
        self.size * rise((t_s - self.from_s) / (self.to_s - self.from_s))
    }
}

/// 0 below 0, 1 above 1, and 10u³ − 15u⁴ + 6u⁵ between: first and second derivative vanish at both ends.
pub fn rise(u: f64) -> f64 {
    if u <= 0.0 {
        0.0
    } else if u >= 1.0 {
        1.0
    } else {
        cube(u) * (10.0 - u * (15.0 - 6.0 * u))
    }
}

/// Keeps a share within 0..1 without a kink: itself between 0.1 and 0.9, exactly 0 from −0.1 down and
/// exactly 1 from 1.1 up, twice continuously differentiable.
pub fn keep_share(share: f64) -> f64 {
    if share > 0.9 {
        let u = ((share - 0.9) / 0.2).min(1.0);
        if u >= 1.0 { 1.0 } else { 0.9 + 0.2 * (u - cube(u) * (1.0 - u / 2.0)) }
    } else if share < 0.1 {
        1.0 - keep_share(1.0 - share)
    } else {
        share
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The closed integrals against Simpson's rule (any calculus text), fine enough to agree to 1e-12.
    #[test]
    fn integrals_are_those_of_the_push() {
        let push = Push { from_s: 0.3, to_s: 0.9, peak: 2.5 };
        let simpson = |f: &dyn Fn(f64) -> f64, to: f64| {
            let n = 4000;
            let h = to / f64::from(n);
            (0..n)
                .map(|i| {
                    let a = f64::from(i) * h;
                    h / 6.0 * (f(a) + 4.0 * f(a + h / 2.0) + f(a + h))
                })
                .sum::<f64>()
        };
        for to in [0.2, 0.35, 0.6, 0.85, 0.9, 1.4] {
            assert!(
                (push.first_integral(to) - simpson(&|t| push.value(t), to)).abs() < 1e-9,
                "speed at {to}"
            );
            assert!(
                (push.second_integral(to) - simpson(&|t| push.first_integral(t), to)).abs() < 1e-9,
                "place at {to}"
            );
        }
        assert_eq!(push.value(0.6), 2.5);
    }

    #[test]
    fn shares_are_kept_without_a_kink() {
        assert_eq!(keep_share(1.1), 1.0);
        assert_eq!(keep_share(-0.3), 0.0);
        assert_eq!(keep_share(0.4), 0.4);
        let d = 1e-5;
        let slope = |x: f64| (keep_share(x + d) - keep_share(x - d)) / (2.0 * d);
        for x in [-0.1, 0.0, 0.1, 0.5, 0.9, 1.0, 1.1] {
            assert!((slope(x + 2.0 * d) - slope(x - 2.0 * d)).abs() < 1e-3, "kink at {x}");
            assert!((keep_share(x) + keep_share(1.0 - x) - 1.0).abs() < 1e-15);
        }
    }
}
