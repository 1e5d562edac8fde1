//! Plates out of step.
//!
//! While a body is still, what one foot gains the other loses: w₁ + w₂ = W. Where plate 2 runs late by d, the sum is
//! W + w₁(t) − w₁(t − d) ≈ W + d·w₁′: it follows the *rate* of the passing of weight. The regression of the sum on
//! that rate gives d. In a swing it does not, since the body's own acceleration goes with the passing of weight; so
//! only the quiet stretch about the address is used, and only where the rate explains most of the sum.
use crate::address::Address;
use crate::analyse::Swing;
use mechanics::finding::{self, Finding};
use signal::filter::{Band, ShortRuns, butterworth, zero_phase};

/// Two bands, Hz: sway is slower, noise is faster. Both must say the same.
const BANDS_HZ: [(f64, f64); 2] = [(1.0, 6.0), (3.0, 12.0)];

/// Smaller delays than this are not told, s.
const LEAST_S: f64 = 0.005;

/// Longer ones are no delay of a plate; something else moves the sum, s.
const MOST_S: f64 = 0.15;

/// Standard errors that a delay must be away from nothing.
const SIGMAS: f64 = 3.0;

/// Share of the sum's own movement that the rate must explain, as a correlation. Measured standing without delay
/// stays under 0.6; ours, tried on six measured recordings.
const EXPLAINED: f64 = 0.7;

/// The sum may move by this share of itself in the quiet stretch; a late plate moves it too.
const QUIET_SHARE: f64 = 0.02;

/// Before it moves that far a takeaway has begun: so much is left out at an end where it does, s.
const BEGUN_S: f64 = 0.25;

/// Shortest and longest stretch that is used, s.
const STRETCH_S: (f64, f64) = (0.9, 8.0);

/// A delay between two columns, s, and its standard error.
#[derive(Clone, Copy, Debug)]
struct Delay {
    seconds: f64,
    error: f64,
    correlation: f64,
}

/// Lead and trail foot, each on plates of its own.
pub(super) fn check(swing: &Swing, findings: &mut Vec<Finding>) {
    let (Some(feet), Some(address)) = (&swing.series.feet, &swing.address) else { return };
    let column = |foot: &mechanics::feet::Foot| foot.wrench.force_n.iter().map(|f| f.z).collect::<Vec<f64>>();
    let (lead, trail) = (column(&feet.lead), column(&feet.trail));
    let stretch = quiet_stretch(&lead, &trail, address, swing.rate_hz);
    let (Some(a), Some(b)) = (lead.get(stretch.clone()), trail.get(stretch.clone())) else { return };
    let [Some(slow), Some(fast)] = BANDS_HZ.map(|band| delay(a, b, band, swing.rate_hz)) else { return };
    let sure = |d: &Delay| {
        d.correlation.abs() > EXPLAINED
            && d.seconds.abs() > (SIGMAS * d.error).max(LEAST_S)
            && d.seconds.abs() < MOST_S
    };
    let apart = (slow.seconds - fast.seconds).abs();
    let agree = apart
        < SIGMAS * (slow.error * slow.error + fast.error * fast.error).sqrt() + 0.2 * fast.seconds.abs();
    if !(sure(&slow) && sure(&fast) && agree) {
        return;
    }
    let best = if slow.error < fast.error { slow } else { fast };
    let (late, early) =
        if best.seconds > 0.0 { (&feet.trail, &feet.lead) } else { (&feet.lead, &feet.trail) };
    let name = |foot: &mechanics::feet::Foot| {
        let names = foot.plates.iter().filter_map(|k| swing.plates.iter().find(|s| s.plate == *k));
        names.map(|s| s.name.as_str()).collect::<Vec<_>>().join(" and ")
    };
    let seen = format!(
        "plate {} seems {:.0} ± {:.0} ms behind plate {}: in quiet standing the sum follows the passing of weight \
         (correlation {:.2})",
        name(late),
        1e3 * best.seconds.abs(),
        1e3 * 2.0 * best.error,
        name(early),
        best.correlation.abs()
    );
    let at = |k: usize| k as f64 / swing.rate_hz;
    let mut found =
        Finding::new(&finding::PLATES_OUT_OF_STEP, seen).during(at(stretch.start), at(stretch.end));
    if let [only] = late.plates.as_slice() {
        found = found.on_plate(*only);
    }
    findings.push(found);
}

/// The stretch about the address in which the sum stays near its mean there; empty where it is too short.
fn quiet_stretch(a: &[f64], b: &[f64], address: &Address, rate_hz: f64) -> std::ops::Range<usize> {
    let near = |k: &usize| {
        let off = a[*k] + b[*k] - address.vertical_n;
        off.abs() < QUIET_SHARE * address.vertical_n
    };
    let n = a.len().min(b.len());
    let window = address.samples.start.min(n)..address.samples.end.min(n);
    let reach = (STRETCH_S.1 / 2.0 * rate_hz) as usize;
    let from = (0..window.start).rev().take(reach).take_while(near).last().unwrap_or(window.start);
    let to = (window.end..n).take(reach).take_while(near).last().map_or(window.end, |k| k + 1);
    let begun = (BEGUN_S * rate_hz) as usize;
    let from = if from > 0 && from + reach > window.start { (from + begun).min(window.start) } else { from };
    let to = if to < n && to < window.end + reach { to.saturating_sub(begun).max(window.end) } else { to };
    let long = (to - from) as f64 > STRETCH_S.0 * rate_hz;
    if long { from..to } else { 0..0 }
}

/// How late `b` is against `a` by the regression of their sum on the rate of their difference, in a band.
fn delay(a: &[f64], b: &[f64], (low_hz, high_hz): (f64, f64), rate_hz: f64) -> Option<Delay> {
    if a.is_empty() || rate_hz.is_nan() || rate_hz < 4.0 * high_hz {
        return None;
    }
    let sections = butterworth(2, Band::Pass(low_hz, high_hz), rate_hz).ok()?;
    let mut scratch = Vec::new();
    let mut pass = |value: &dyn Fn(usize) -> f64| {
        let mut column: Vec<f64> = (0..a.len()).map(value).collect();
        zero_phase(&sections, &mut column, ShortRuns::Drop, &mut scratch);
        column
    };
    let sum = pass(&|k| a[k] + b[k]);
    // The weight that passes to a.
    let passing = pass(&|k| (a[k] - b[k]) / 2.0);
    let rate = signal::integrate::derivative(&passing, 1.0 / rate_hz);
    let dot = |x: &[f64], y: &[f64]| x.iter().zip(y).map(|(x, y)| x * y).sum::<f64>();
    let (rate_rate, rate_sum, sum_sum) = (dot(&rate, &rate), dot(&rate, &sum), dot(&sum, &sum));
    let seconds = rate_sum / rate_rate;
    // A band of this width has so many independent values in a second, whatever the sampling rate.
    let independent = a.len() as f64 / rate_hz * 2.0 * (high_hz - low_hz);
    let left = (sum_sum - seconds * rate_sum).max(0.0);
    let error = (left / rate_rate / (independent - 2.0).max(1.0)).sqrt();
    let correlation = rate_sum / (rate_rate * sum_sum).sqrt();
    (seconds.is_finite() && error.is_finite()).then_some(Delay { seconds, error, correlation })
}
