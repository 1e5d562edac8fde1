//! A marker's path as velocities, with what its noise hides.
use super::extremum::parabola;
use super::types::hypotenuse;
use glam::DVec3;
use mechanics::Marker;
use signal::stats;

/// A path by its velocities, one a frame; NaN where the marker or a neighbour of it was not seen.
pub(super) struct Path {
    velocity_m_s: Vec<DVec3>,
    /// Speed, the median of each frame and its neighbours: a single wrong frame is not a fast one.
    steady_m_s: Vec<f64>,
    /// Standard deviation of a velocity component from the noise of the marker, m/s.
    noise_m_s: f64,
}

/// The swing starts slower than this share of its fastest before the top and after it.
const SLOW: f64 = 0.4;
/// A speed that has risen by this share of the fastest above its least has turned round.
const RISEN: f64 = 0.04;
/// Frames slower than the fastest by no more than so many standard deviations of the noise could be the fastest.
const FLAT: f64 = 3.0;
/// Velocities this share of the fastest give the way of the club on either side of the top.
const UNDER_WAY: f64 = 0.06;

impl Path {
    /// Central differences of the positions.
    pub(super) fn of(marker: &Marker, rate_hz: f64) -> Self {
        let place =
            |k: usize| marker.path_m.get(k).map_or(DVec3::NAN, |p| DVec3::from_array(p.map(f64::from)));
        let frames = marker.path_m.len();
        let velocity_m_s: Vec<DVec3> = (0..frames)
            .map(|k| match k.checked_sub(1) {
                Some(before) => (place(k + 1) - place(before)) * (rate_hz / 2.0),
                None => DVec3::NAN,
            })
            .collect();
        // The third difference of white noise has 20 times its variance; a smooth path leaves next to nothing.
        let third: Vec<f64> = (0..frames.saturating_sub(3))
            .flat_map(|k| ((place(k + 3) - place(k)) - (place(k + 2) - place(k + 1)) * 3.0).abs().to_array())
            .collect();
        let spread = 1.4826 * stats::median(&third, &mut Vec::new()) / 20.0_f64.sqrt();
        let noise_m_s = if spread.is_finite() { spread * rate_hz / 2.0_f64.sqrt() } else { 0.0 };
        let speed: Vec<f64> = velocity_m_s.iter().map(|v| v.length()).collect();
        let steady_m_s = (0..frames)
            .map(|k| {
                let at = |k: usize| speed.get(k).copied().unwrap_or(f64::NAN);
                let (a, b, c) = (at(k.wrapping_sub(1)), at(k), at(k + 1));
                a.min(b).max(a.max(b).min(c)) + 0.0 * (a + b + c)
            })
            .collect();
        Self { velocity_m_s, steady_m_s, noise_m_s }
    }

    /// Speed at a frame, m/s.
    pub(super) fn speed(&self, frame: usize) -> f64 {
        self.steady_m_s.get(frame).copied().unwrap_or(f64::NAN)
    }

    /// The fastest frame.
    pub(super) fn fastest(&self) -> Option<usize> {
        let defined = (0..self.steady_m_s.len()).filter(|k| self.steady_m_s[*k].is_finite());
        defined.max_by(|a, b| self.steady_m_s[*a].total_cmp(&self.steady_m_s[*b]))
    }

    /// Where the speed is greatest, about frame `peak`, and its standard uncertainty, in frames: the vertex of a
    /// parabola through five frames, together with how far that through seven is from it. Where the noise hides
    /// which of more frames is fastest, the middle of those, as a rectangle. Where frames are missing there, the gap
    /// is the uncertainty; `None` where it is longer than `most` frames.
    pub(super) fn fastest_refined(&self, peak: usize, most: f64) -> Option<(f64, f64)> {
        let whole = (peak.checked_sub(3)?..=peak + 3).all(|k| self.speed(k).is_finite());
        if whole {
            let slower = |k: &usize| {
                let speed = self.speed(*k);
                speed.is_nan() || speed < self.speed(peak) - FLAT * self.noise_m_s
            };
            let before = (0..peak).rev().find(slower).unwrap_or(0);
            let after = (peak..self.steady_m_s.len()).find(slower).unwrap_or(peak);
            if after - before > 5 {
                let width = (after - before) as f64;
                return Some(((before + after) as f64 / 2.0, width / 12.0_f64.sqrt()));
            }
            let y = |i: isize| self.velocity_m_s[peak.wrapping_add_signed(i)].length();
            let (near, _, u) = parabola(2, y, self.noise_m_s)?;
            let (far, ..) = parabola(3, y, self.noise_m_s)?;
            return Some((peak as f64 + near, hypotenuse(u, near - far)));
        }
        let seen = |k: &usize| self.speed(*k).is_finite();
        let before = (0..peak).rev().take_while(|k| seen(k)).last().unwrap_or(peak);
        let after = (peak + 1..self.steady_m_s.len()).take_while(|k| seen(k)).last().unwrap_or(peak);
        // The gap is on the side on which the sight ends sooner.
        let hidden = if after - peak < peak - before {
            let next = (after + 1..self.steady_m_s.len()).find(seen)?;
            (peak, next)
        } else {
            ((0..before).rev().find(seen)?, peak)
        };
        let width = (hidden.1 - hidden.0) as f64;
        (width <= most).then_some(((hidden.0 + hidden.1) as f64 / 2.0, width / 12.0_f64.sqrt()))
    }

    /// Where the path turns round before it is fastest, and the standard uncertainty of that, in frames.
    /// `None` where no slow place lies before the fastest, or nothing faster before that.
    pub(super) fn turns_round(&self) -> Option<(f64, f64)> {
        let peak = self.fastest()?;
        let most = self.speed(peak);
        let mut slowest = (peak, most);
        let mut turned = false;
        for k in (0..peak).rev() {
            let speed = self.speed(k);
            if speed < slowest.1 {
                slowest = (k, speed);
            }
            if slowest.1 < SLOW * most && speed > slowest.1 + RISEN * most {
                turned = true;
                break;
            }
        }
        if !turned {
            return None;
        }
        let fast = |k: &usize| self.speed(*k) > (UNDER_WAY * most).max(slowest.1 * 1.5);
        let (before, after) = ((0..slowest.0).rev().find(fast)?, (slowest.0..peak).find(fast)?);
        let way = (self.velocity_m_s[after] - self.velocity_m_s[before]).try_normalize()?;
        // Signed speed is negative in the backswing, positive in the downswing; in between the noise may hide it,
        // and so may a gap.
        let signed = |k: usize| self.velocity_m_s[k].dot(way);
        let hidden = 2.0 * self.noise_m_s;
        let back = (before..after).rev().find(|k| signed(*k) < -hidden).unwrap_or(before);
        let down = (back + 1..=after).find(|k| signed(*k) > hidden).unwrap_or(after);
        // A crossing between neighbours is interpolated.
        if down == back + 1 {
            let part = signed(back) / (signed(back) - signed(down));
            return Some((back as f64 + part, 0.5));
        }
        let width = (down - back) as f64;
        Some(((back + down) as f64 / 2.0, width / 12.0_f64.sqrt()))
    }
}
