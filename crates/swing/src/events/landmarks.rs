//! What force alone defines: peaks of the accounts, and where the weight goes.
use super::extremum::{line, parabola};
use super::types::{Landmark, Unit, hypotenuse};
use crate::analyse::Swing;
use signal::stats::standard_deviation as deviation;
use std::ops::Range;

/// Half of the stretch to which a parabola or a line is fitted, s.
const REACH_S: f64 = 0.015;

/// Means that differ by no more than so many standard deviations of a mean are as high as one another.
const KNOWN: f64 = 2.0;

/// The largest (`most`) or smallest value of an account.
struct Peak<'a> {
    name: &'static str,
    column: &'a [f64],
    most: bool,
    unit: Unit,
}

/// Landmarks between two samples, in order of time.
///
/// Peaks ("parabola@1"): the extreme of the account's running mean over 30 ms, then the vertex of a parabola through
/// those samples; where other places are as high, the uncertainty reaches there. Crossings ("line@1"): where lead and trail carry the same, between stretches in which one
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
    let column = peak.column.get(within.start..within.end.min(peak.column.len()))?;
    let means = running_means(column, 2 * reach + 1)?;
    let sign = if peak.most { 1.0 } else { -1.0 };
    // The last of equals. A mean that is not defined passes no comparison.
    let mut best = None;
    let mut most = f64::NEG_INFINITY;
    for (k, mean) in means.iter().enumerate() {
        if sign * mean >= most {
            (best, most) = (Some(k), sign * mean);
        }
    }
    let best = best?;
    // At the very edge the account has not turned: no peak.
    if best == 0 || best + 1 == means.len() {
        return None;
    }
    let middle = best + reach;
    let y = |i: isize| column[middle.wrapping_add_signed(i)];
    // A peak too flat for a parabola is somewhere within the reach.
    let flat = || (0.0, deviation(&column[best..=best + 2 * reach]), reach as f64 / 3.0_f64.sqrt());
    let (vertex, sigma, u) = parabola(reach as isize, y, 0.0).unwrap_or_else(flat);
    // Other places as high, within what a mean is known to, could be the peak as well.
    let known = KNOWN * sigma / ((2 * reach + 1) as f64).sqrt();
    let as_high = |mean: &f64| (mean - means[best]).abs() <= known;
    let (first, last) = (means.iter().position(as_high), means.iter().rposition(as_high));
    let far = (best - first.unwrap_or(best)).max(last.unwrap_or(best) - best) as f64;
    Some(Landmark {
        name: peak.name,
        time_s: ((within.start + middle) as f64 + vertex) / rate_hz,
        u_s: hypotenuse(u.max(far / 3.0_f64.sqrt()) / rate_hz, skew_s),
        value: means[best],
        unit: peak.unit,
        method: "parabola@1",
    })
}

/// Means over `width` values from every place; NaN where one of them is not defined.
fn running_means(column: &[f64], width: usize) -> Option<Vec<f64>> {
    let head = column.get(..width).filter(|head| !head.is_empty())?;
    let value = |v: f64| if v.is_finite() { v } else { 0.0 };
    let gap = |v: f64| usize::from(!v.is_finite());
    let mut sum = head.iter().fold(0.0, |sum, v| sum + value(*v));
    let mut gaps: usize = head.iter().map(|v| gap(*v)).sum();
    let per = width as f64;
    let mut out = vec![if gaps == 0 { sum / per } else { f64::NAN }; column.len() - width + 1];
    for (mean, (old, new)) in out.iter_mut().skip(1).zip(column.iter().zip(&column[width..])) {
        sum = sum - value(*old) + value(*new);
        gaps = gaps + gap(*new) - gap(*old);
        *mean = if gaps == 0 { sum / per } else { f64::NAN };
    }
    Some(out)
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
