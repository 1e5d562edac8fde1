//! The body's motion from the net force, with the rests and the drift handling chosen by one rule.
//!
//! 1. The *rest* is the stillest second (or half second) before the largest vertical force, in all three components, at the
//!    weight of the quiet interval. Where the recording is quiet only after a movement, it is looked for everywhere.
//! 2. A *second rest* is the stillest half second after that peak, if it is as still as a person who stands, carries the
//!    weight of the first within 2 %, and would take away no more than 1 % of body weight in any component. A finish held
//!    on both feet is one; a step out of the finish is not.
//! 3. With both, [`Drift::RestToRest`]; with the first only, [`Drift::FromRest`]; with neither, no motion.
//!
//! The mass is the one that was weighed: what moves is the player with club and shoes, and a gain error of the vertical
//! channels then cancels in the vertical motion. A stated mass that disagrees widens the uncertainty.
use crate::analyse::{STANDARD_GRAVITY, Swing};
use mechanics::ErrorBudget;
use mechanics::body::doubt::{Beyond, doubts};
use mechanics::body::{Doubt, Drift, Mass, Motion, motion};
use std::ops::Range;

/// The motion of the body, player components, at the analog rate.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    /// Acceleration, velocity, displacement, power, energy: columns target, toe, up.
    pub motion: Motion,
    /// Standard uncertainties of each component: `doubts[axis].velocity_m_s(sample, value)`, and displacement likewise.
    pub doubts: [Doubt; 3],
    /// How drift was met, and over which samples the body was taken to rest.
    pub drift: Drift,
    /// What a stated mass that disagrees adds, as a share of the value: their difference as a rectangle; 0 without one.
    pub stated_share: f64,
}

/// Lengths of the rest that is looked for, s; the longer is taken where it is about as still.
const REST_S: [f64; 2] = [1.0, 0.5];
/// A longer rest may vary by this much more than a shorter one.
const AS_STILL: f64 = 1.5;
/// Still: the force varies (all components together) by less than this share of weight. Common practice, no source.
const STILL_SHARE: f64 = 0.03;
/// A second rest carries the weight of the first within this share.
const SAME_WEIGHT: f64 = 0.02;
/// A second rest may take away a constant force of no more than this share of weight: more is not drift.
const DRIFT_SHARE: f64 = 0.01;
/// Standard deviation of the centre of mass's velocity in quiet standing, m/s: target, toe, up. Two measured minutes of
/// quiet standing (Santos & Duarte 2016; dos Santos et al. 2017), their net force integrated and passed above 0.1 Hz, gave
/// 0.8 to 3.6 mm/s level and 1.6 mm/s up; a player over a ball is taken for no stiller than the looser of the two.
const SWAY_M_S: [f64; 3] = [0.004, 0.004, 0.002];

/// The body's motion from the net force of a swing.
///
/// Shape: columns as long as the recording. Frame: player components (target, toe, up). Undefined: NaN beyond gaps.
/// Errors: a sentence that says what is missing. Source: [`mechanics::body::motion()`]. Checked: the simulator's truth, a jump in
/// closed form, measured jumps beside a marker model.
pub fn of(swing: &Swing, budget: &ErrorBudget) -> Result<Body, String> {
    let net = &swing.ledger.net;
    let force = [&net.target_n[..], &net.toe_n[..], &net.up_n[..]];
    let needs = "the body's motion from force needs a quiet, loaded interval; none was found";
    let address = swing.address.as_ref().ok_or(needs)?;
    let still = Stillness::of(force, address.vertical_n);
    let samples = net.up_n.len();
    let finite = |k: &usize| net.up_n[*k].is_finite();
    let peak =
        (0..samples).filter(finite).max_by(|a, b| net.up_n[*a].total_cmp(&net.up_n[*b])).unwrap_or(samples);

    let length = |seconds: f64| ((seconds * swing.rate_hz).round() as usize).clamp(2, samples.max(2));
    let within = if address.after_movement { 0..samples } else { 0..peak };
    let [long, short] = REST_S.map(|s| still.stillest(within.clone(), length(s)));
    let quiet = match (long, short) {
        (Some(long), Some(short)) if long.spread_n <= AS_STILL * short.spread_n => long.samples,
        (_, Some(short)) => short.samples,
        // A recording with less than half a second before its peak.
        (Some(only), None) => only.samples,
        (None, None) => address.samples.clone(),
    };
    let try_with = |drift: &Drift| motion(force, swing.rate_hz, Mass::Weighed, STANDARD_GRAVITY, drift);
    let second = still.stillest(peak.max(quiet.end)..samples, length(REST_S[1]));
    let two = second.filter(|_| !address.after_movement).and_then(|second| {
        let two = Drift::RestToRest { quiet: quiet.clone(), later: second.samples };
        let other = try_with(&two).ok()?;
        // Not drift, where it would take away more than a little of what was measured at rest.
        let most = DRIFT_SHARE * address.vertical_n;
        let at_rest = |axis: usize| signal::stats::mean(force[axis].get(quiet.clone()).unwrap_or_default());
        let little = (0..3).all(|axis| (other.rest_n[axis] - at_rest(axis)).abs() <= most);
        (other.joined && little).then_some((other, two))
    });
    let (found, drift) = match two {
        Some(both) => both,
        None => {
            let from_rest = Drift::FromRest { quiet };
            (try_with(&from_rest).map_err(|unfit| format!("no motion of the body: {unfit}"))?, from_rest)
        }
    };

    let seconds = samples as f64 / swing.rate_hz;
    let plates = swing.plates.iter().filter(|p| p.loaded).count().max(1) as f64;
    let zero_n = budget.force_drift_n * plates.sqrt();
    let weight_n = found.mass_kg * STANDARD_GRAVITY;
    let stated = swing.player.mass_kg.map_or(0.0, |kg| (found.mass_kg / kg - 1.0).abs());
    let square = |v: f64| v * v;
    let scale = (square(budget.force_gain) + square(zero_n / weight_n) + square(stated) / 3.0).sqrt();
    let beyond = Beyond { sway_m_s: SWAY_M_S, creep_n_s: zero_n / seconds, scale };
    let stated_share = stated / 3f64.sqrt();
    let doubts = doubts(&found, force, swing.rate_hz, &drift, &beyond);
    Ok(Body { motion: found, doubts, drift, stated_share })
}

/// A window and how much the force varies over it.
struct Still {
    samples: Range<usize>,
    /// Root of the three components' variances together, N.
    spread_n: f64,
}

/// Running sums, so that every window costs the same.
struct Stillness {
    /// Weight expected, N.
    weight_n: f64,
    /// Sums over all samples before each place.
    before: Vec<Sums>,
}

/// Sums of the three components, weight taken off, and of their squares; and how many samples are not defined.
#[derive(Clone, Copy, Default)]
struct Sums {
    components: [f64; 3],
    squares: f64,
    gaps: u32,
}

impl Stillness {
    fn of(force: [&[f64]; 3], weight_n: f64) -> Self {
        let [target, toe, up] = force;
        let mut before = Vec::with_capacity(up.len() + 1);
        let mut sums = Sums::default();
        before.push(sums);
        for ((target, toe), up) in target.iter().zip(toe).zip(up) {
            // Weight is taken off first, so that squares keep their digits.
            let value = [*target, *toe, up - weight_n];
            if value.iter().all(|v| v.is_finite()) {
                for (sum, v) in sums.components.iter_mut().zip(value) {
                    *sum += v;
                    sums.squares += v * v;
                }
            } else {
                sums.gaps = sums.gaps.saturating_add(1);
            }
            before.push(sums);
        }
        Self { weight_n, before }
    }

    /// The stillest window of that length that carries the weight and is still at all; of equals, the first.
    fn stillest(&self, within: Range<usize>, length: usize) -> Option<Still> {
        let end = within.end.min(self.before.len().saturating_sub(1));
        let most_n = STILL_SHARE * self.weight_n;
        let mut best: Option<(usize, f64)> = None;
        let mut least = most_n * most_n;
        let per = 1.0 / length as f64;
        let windows = self.before.get(within.start..=end)?.iter();
        for (from, (first, last)) in windows.clone().zip(windows.skip(length)).enumerate() {
            let means: [f64; 3] =
                core::array::from_fn(|axis| (last.components[axis] - first.components[axis]) * per);
            let square = (last.squares - first.squares) * per;
            let variance =
                (square - (means[0] * means[0] + means[1] * means[1] + means[2] * means[2])).max(0.0);
            let sooner = variance < least || (best.is_none() && variance == least);
            if sooner && last.gaps == first.gaps && means[2].abs() <= SAME_WEIGHT * self.weight_n {
                (best, least) = (Some((within.start + from, variance)), variance);
            }
        }
        best.map(|(from, variance)| Still { samples: from..from + length, spread_n: variance.sqrt() })
    }
}
