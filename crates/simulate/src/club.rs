//! The clubhead's path: an arc in a tilted plane. For markers only; the body's mechanics do not know the club.
use crate::truth::{Events, Truth};
use glam::DVec3;
use signal::math;

/// Angle of the club round its hub: at the top and at the finish, rad from the ball.
const TOP: f64 = -4.3;
const FINISH: f64 = 4.5;

/// A clubhead's path, golf frame.
#[derive(Clone, Copy, Debug)]
pub struct Path {
    hub_m: DVec3,
    /// From the hub to the ball.
    down_m: DVec3,
    /// Toward the target, as long as `down_m`.
    across_m: DVec3,
    events: Events,
    /// Rate at impact, rad/s.
    rate: f64,
}

impl Path {
    /// The path of a swing; `None` for a recording without one.
    pub fn of(truth: &Truth) -> Option<Self> {
        let speed = truth.club_m_s?;
        let middle = (truth.lead.print.centre_m() + truth.trail.print.centre_m()) / 2.0;
        let toe = DVec3::Y * truth.hand.toe_sign();
        let hub_m = middle + toe * 0.10 + DVec3::new(0.05, 0.0, 1.35);
        let down_m = middle + toe * 0.95 + DVec3::new(0.10, 0.0, 0.02) - hub_m;
        let radius = down_m.length();
        // Square to the way down, so that the path is a circle and impact runs nearly along the target line.
        let across_m = (DVec3::X - down_m * (down_m.x / (radius * radius))).try_normalize()? * radius;
        Some(Self { hub_m, down_m, across_m, events: truth.events, rate: speed / radius })
    }

    /// Place of the clubhead, m.
    pub fn place_m(&self, t_s: f64) -> DVec3 {
        let (sin, cos) = math::sin_cos(self.angle(t_s));
        self.hub_m + self.down_m * cos + self.across_m * sin
    }

    fn angle(&self, t_s: f64) -> f64 {
        let e = &self.events;
        let piece = |from_s: f64, to_s: f64, ends: [f64; 2], rates: [f64; 2]| {
            let span = to_s - from_s;
            quintic((t_s - from_s) / span, ends, [rates[0] * span, rates[1] * span])
        };
        if t_s <= e.takeaway_s {
            0.0
        } else if t_s <= e.top_s {
            piece(e.takeaway_s, e.top_s, [0.0, TOP], [0.0, 0.0])
        } else if t_s <= e.impact_s {
            piece(e.top_s, e.impact_s, [TOP, 0.0], [0.0, self.rate])
        } else {
            let round = (e.impact_s + 0.4).min(e.finish_s);
            if t_s >= round { FINISH } else { piece(e.impact_s, round, [0.0, FINISH], [self.rate, 0.0]) }
        }
    }
}

/// The polynomial of degree 5 over 0..1 with given values and rates at both ends and no acceleration there.
fn quintic(u: f64, [p0, p1]: [f64; 2], [v0, v1]: [f64; 2]) -> f64 {
    let d = p1 - p0;
    let c3 = 10.0 * d - 6.0 * v0 - 4.0 * v1;
    let c4 = -15.0 * d + 8.0 * v0 + 7.0 * v1;
    let c5 = 6.0 * d - 3.0 * v0 - 3.0 * v1;
    p0 + u * (v0 + u * u * (c3 + u * (c4 + u * c5)))
}

#[cfg(test)]
mod tests {
    use super::quintic;

    #[test]
    fn quintic_meets_both_ends() {
        let p = |u| quintic(u, [1.0, 3.0], [0.5, -2.0]);
        let rate = |u: f64| (p(u + 1e-6) - p(u - 1e-6)) / 2e-6;
        assert!((p(0.0) - 1.0).abs() < 1e-15 && (p(1.0) - 3.0).abs() < 1e-14);
        assert!((rate(0.0) - 0.5).abs() < 1e-8 && (rate(1.0) + 2.0).abs() < 1e-8);
    }
}
