//! What force alone defines: peaks of the accounts, and where the weight goes.
use super::extremum::{line, parabola};
use super::types::{Landmark, Unit, hypotenuse};
use crate::analyse::Swing;
use std::ops::Range;

/// Half of the stretch to which a parabola or a line is fitted, s.
const REACH_S: f64 = 0.015;

/// The largest (`most`) or smallest value of an account.
struct Peak<'a> {
    name: &'static str,
    column: &'a [f64],
    most: bool,
    unit: Unit,
}

/// Landmarks between two samples, in order of time.
///
/// Peaks ("parabola@1"): the extreme of the account smoothed over the reach, then the vertex of a parabola through
/// the samples about it. Crossings ("line@1"): where lead and trail carry the same, between stretches in which one
/// carries a twentieth of the weight more. Plates out of step count in full where both feet take part.
pub(super) fn landmarks(swing: &Swing, within: Range<usize>, skew_s: f64) -> Vec<Landmark> {
    let ledger = &swing.ledger;
    let net = &ledger.net;
    let peak = |name, column, most, unit| Peak { name, column, most, unit };
    let mut peaks = vec![
        peak("net-up-most", &net.up_n[..], true, Unit::Newton),
        peak("net-up-least", &net.up_n, false, Unit::Newton),
        peak("net-target-most", &net.target_n, true, Unit::Newton),
        peak("net-target-least", &net.target_n, false, Unit::Newton),
        peak("net-toe-most", &net.toe_n, true, Unit::Newton),
        peak("net-toe-least", &net.toe_n, false, Unit::Newton),
        peak("turn-most", &net.free_moment_nm, true, Unit::NewtonMetre),
        peak("turn-least", &net.free_moment_nm, false, Unit::NewtonMetre),
    ];
    let (mut lead_share, mut split) = (Vec::new(), Vec::new());
    if let (Some(lead), Some(trail)) = (&ledger.lead, &ledger.trail) {
        let pairs = || lead.up_n.iter().zip(&trail.up_n);
        lead_share = pairs().map(|(l, t)| l / (l + t)).collect();
        split = pairs().map(|(l, t)| l - t).collect();
        peaks.extend([
            peak("trail-heaviest", &trail.up_n, true, Unit::Newton),
            peak("lead-up-most", &lead.up_n, true, Unit::Newton),
            peak("lead-target-least", &lead.target_n, false, Unit::Newton),
            peak("trail-target-most", &trail.target_n, true, Unit::Newton),
            peak("lead-toe-least", &lead.toe_n, false, Unit::Newton),
            peak("trail-toe-most", &trail.toe_n, true, Unit::Newton),
            peak("lead-free-most", &lead.free_moment_nm, true, Unit::NewtonMetre),
            peak("trail-free-most", &trail.free_moment_nm, true, Unit::NewtonMetre),
        ]);
    }
    let one = if ledger.lead.is_some() { skew_s } else { 0.0 };
    let mut out: Vec<Landmark> =
        peaks.iter().filter_map(|p| extreme(p, &within, swing.rate_hz, one)).collect();
    if !lead_share.is_empty() {
        // The lead foot is lightest before it carries most: what it carries after the finish is no landmark.
        let heavy =
            out.iter().find(|l| l.name == "lead-up-most").map(|l| (l.time_s * swing.rate_hz) as usize);
        let before = within.start..heavy.unwrap_or(within.end).clamp(within.start, within.end);
        let lightest = Peak { name: "lead-lightest", column: &lead_share, most: false, unit: Unit::Share };
        out.extend(extreme(&lightest, &before, swing.rate_hz, one));
        let weight = swing.body_weight_n.map_or(f64::NAN, |w| w.newton);
        out.extend(crossings(&split, &within, swing.rate_hz, 0.05 * weight, skew_s));
    }
    out.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
    out
}

fn reach(rate_hz: f64) -> usize {
    ((REACH_S * rate_hz).round() as usize).max(2)
}

fn extreme(peak: &Peak, within: &Range<usize>, rate_hz: f64, skew_s: f64) -> Option<Landmark> {
    let reach = reach(rate_hz);
    let column = peak.column;
    let end = within.end.min(column.len());
    let sign = if peak.most { 1.0 } else { -1.0 };
    // A running mean over the reach: one outlier is not a peak.
    let mut sum: f64 = column.get(within.start..within.start + 2 * reach + 1)?.iter().sum();
    let mut best = (f64::NEG_INFINITY, 0);
    for k in within.start + reach..end.checked_sub(reach)? {
        // A sum that met something undefined is begun anew.
        sum = if k == within.start + reach {
            sum
        } else if sum.is_finite() {
            sum + column[k + reach] - column[k - reach - 1]
        } else {
            column[k - reach..=k + reach].iter().sum()
        };
        if sign * sum > best.0 {
            best = (sign * sum, k);
        }
    }
    let at = best.1;
    // At the very edge the account has not turned: no peak.
    if !best.0.is_finite() || at == within.start + reach || at + 1 == end - reach {
        return None;
    }
    let y = |i: isize| column[at.wrapping_add_signed(i)];
    let (vertex, u) = parabola(reach as isize, y, 0.0)?;
    let value = best.0 * sign / (2 * reach + 1) as f64;
    Some(Landmark {
        name: peak.name,
        time_s: (at as f64 + vertex) / rate_hz,
        u_s: hypotenuse(u / rate_hz, skew_s),
        value,
        unit: peak.unit,
        method: "parabola@1",
    })
}

fn crossings(split: &[f64], within: &Range<usize>, rate_hz: f64, apart: f64, skew_s: f64) -> Vec<Landmark> {
    let reach = reach(rate_hz);
    let mut out = Vec::new();
    // The side that last carried plainly more, and the last change of sign since.
    let mut side = 0.0;
    let mut changed = None;
    let mut last = f64::NAN;
    for k in within.clone() {
        let Some(&v) = split.get(k) else { break };
        if v * last <= 0.0 {
            changed = Some(k);
        }
        last = v;
        if v.abs() < apart || !v.is_finite() {
            continue;
        }
        if side * v < 0.0
            && let Some(at) = changed
            && at >= reach
            && at + reach < split.len()
            && let Some((place, u)) = line(reach as isize, |i| split[at.wrapping_add_signed(i)])
        {
            out.push(Landmark {
                name: "weights-cross",
                time_s: (at as f64 + place) / rate_hz,
                u_s: hypotenuse(u / rate_hz, skew_s),
                value: 0.5,
                unit: Unit::Share,
                method: "line@1",
            });
        }
        side = v;
    }
    out
}
