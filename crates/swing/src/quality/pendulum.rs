//! The standing pendulum: the only witness of whose force the horizontal channels hold.
use super::reading;
use crate::address::STANDING_LEAST_N;
use crate::analyse::Swing;
use mechanics::feet::Foot;
use mechanics::finding::{self, Finding};
use mechanics::{Recording, Rig};
use signal::filter::{Band, ShortRuns, butterworth, zero_phase};
use signal::quiet::{Search, quietest};
use signal::stats::correlation;

/// The standing pendulum: correlation of horizontal force and centre of pressure in quiet standing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pendulum {
    /// Along the target line.
    pub along: f64,
    /// Across it.
    pub across: f64,
    /// Start of the interval, s.
    pub from_s: f64,
    /// End of the interval, s.
    pub to_s: f64,
}

impl Pendulum {
    /// Both axes say that the player is pushed away from, not back over, the centre of pressure.
    pub fn reads_as_action(&self) -> bool {
        let least = self.along.min(self.across);
        least > 0.35 && self.along + self.across > 1.1
    }
    /// Both axes say that the horizontal force is the reaction.
    pub fn reads_as_reaction(&self) -> bool {
        self.along.max(self.across) < -0.35 && self.along + self.across < -1.1
    }
}

/// Correlates the net horizontal force with the net centre of pressure, 0.5 to 6 Hz, over the quietest loaded
/// 1.5 s. `None` where nobody stands quietly for that long.
///
/// A standing body sways like an inverted pendulum: F = (m·g/h)(x_body − x_cop), so force and centre of pressure
/// correlate negatively, axis by axis. It tells a reaction from a force on the plate where the vertical channel
/// cannot. Source: Winter 1995, Gait & Posture 3:193-214 (from memory); tried on nine measured recordings.
pub fn pendulum(net: &Foot, rate_hz: f64) -> Option<Pendulum> {
    let samples = net.wrench.len();
    if rate_hz.is_nan() || rate_hz < 14.0 {
        return None;
    }
    let length = (1.5 * rate_hz).round() as usize;
    let vertical: Vec<f64> = net.wrench.force_n.iter().map(|f| f.z).collect();
    let (lowest_mean, highest_mean) = (STANDING_LEAST_N, f64::INFINITY);
    let window = quietest(&vertical, &Search { within: 0..samples, length, lowest_mean, highest_mean })?;
    if window.variance.sqrt() > 0.05 * window.mean {
        return None;
    }
    // The loaded stretch around it, a few seconds at most: filtering across a step of the load would ring into
    // the window.
    let standing = |k: &usize| vertical[*k] > STANDING_LEAST_N;
    let reach = (4.0 * rate_hz) as usize;
    let from = (0..window.start).rev().take(reach).take_while(standing).last().unwrap_or(window.start);
    let to = (window.end..samples).take(reach).take_while(standing).last().map_or(window.end, |k| k + 1);
    let sections = butterworth(2, Band::Pass(0.5, 6.0), rate_hz).ok()?;
    let mut scratch = Vec::new();
    let mut band = |value: &dyn Fn(usize) -> f64| {
        let mut column: Vec<f64> = (from..to).map(value).collect();
        zero_phase(&sections, &mut column, ShortRuns::Drop, &mut scratch);
        column.get(window.start - from..window.end - from).map(<[f64]>::to_vec).unwrap_or_default()
    };
    let (force, touch) = (&net.wrench.force_n, &net.contact);
    let along = correlation(&band(&|k| force[k].x), &band(&|k| touch[k].cop_m.x));
    let across = correlation(&band(&|k| force[k].y), &band(&|k| touch[k].cop_m.y));
    let (from_s, to_s) = (window.start as f64 / rate_hz, window.end as f64 / rate_hz);
    (along.is_finite() && across.is_finite()).then_some(Pendulum { along, across, from_s, to_s })
}

/// Horizontal forces that push a standing player over are the force on the plate.
pub(super) fn check(recording: &Recording, rig: &Rig, swing: &Swing, findings: &mut Vec<Finding>) {
    let Some(seen) = pendulum(&swing.series.net, swing.rate_hz).filter(Pendulum::reads_as_action) else {
        return;
    };
    let text = format!(
        "in quiet standing horizontal force and centre of pressure correlate {:+.2} along the target and {:+.2} \
         across it; for a reaction both are negative",
        seen.along, seen.across
    );
    let mut found = Finding::new(&finding::READS_AS_ACTION, text).during(seen.from_s, seen.to_s);
    found.remedy_here = reading::settles(recording, rig, swing, findings);
    findings.push(found);
}
