//! What a plate reads while nobody is on it.
use crate::analyse::PlateShadow;
use mechanics::Rig;
use mechanics::finding::{self, Finding};
use mechanics::wrench::PlateWrench;
use signal::quiet::{Search, quietest};

/// Length of the interval that is looked for, s.
const EMPTY_S: f64 = 0.15;

/// An empty plate is as still as its own noise, which a foot never is: spread of the vertical force within this many
/// times the white noise, and what hum and the steps of a converter add, N. Ours, tried on measured recordings.
const STILL: (f64, f64) = (1.5, 0.5);

/// More than this is not taken for the reading of an empty plate when zeroing, N.
const PRESSES_N: f64 = 100.0;

/// The force a plate reads while nobody is on it, where the recording shows that: a plate that is loaded throughout
/// shows no offset; only a low level far under any load, and as still as an empty plate, is one.
///
/// A foot that rests beside a loaded one may press as little as an offset: there, twice the limit counts, unless the
/// level is one that no foot can have.
pub(super) fn check(
    plate: &PlateWrench,
    shadows: &[PlateShadow],
    rig: &Rig,
    rate_hz: f64,
    findings: &mut Vec<Finding>,
) {
    let Some(shadow) = shadows.iter().find(|s| s.plate == plate.plate) else { return };
    let low = shadow.low_n;
    // Single outliers are no load.
    let high = high_n(plate);
    let empty = || low < 0.1 * high.max(1.0) || !shadow.loaded || constant(plate, shadow, high);
    let other = shadows.iter().any(|s| s.loaded && s.plate != shadow.plate);
    let may_rest = low > 0.0 && shadow.loaded && other;
    let limit = rig.load_floor_n / if may_rest { 2.0 } else { 4.0 };
    if low.abs() > limit && empty() && still(plate, shadow, high, rate_hz) {
        let seen = format!("about {low:+.1} N vertical while unloaded");
        let large = low.abs() > 5.0 * rig.load_floor_n;
        let kind = if large { &finding::OFFSET_LARGE } else { &finding::BASELINE_SEEN };
        let mut found = Finding::new(kind, seen).on_plate(shadow.plate);
        if low > PRESSES_N {
            // It presses like a foot, so the plate's own readings cannot be taken for those of an empty one.
            found = found.with_remedy(
                "Zero the plate and record again; or record the empty plates once and give that file to --zero.",
            );
        }
        findings.push(found);
    }
}

/// What a plate that drifts reads at one instant is not what it reads at another: no zero of one instant is offered.
pub(super) fn drifting(findings: &mut [Finding]) {
    let kind = &finding::DRIFTED;
    let drifts: Vec<usize> = findings.iter().filter(|f| f.kind == kind).filter_map(|f| f.plate).collect();
    let offsets = [&finding::BASELINE_SEEN, &finding::OFFSET_LARGE];
    for found in findings.iter_mut().filter(|f| offsets.contains(&f.kind)) {
        if found.plate.is_some_and(|plate| drifts.contains(&plate)) {
            found.remedy_here = Some(
                "Take the drift off first (Q327, --drift remove): what stays then is the offset. A zero from one instant \
                 is wrong at every other."
                    .into(),
            );
        }
    }
}

/// Vertical force that a two-hundredth of the samples exceeds, N.
fn high_n(plate: &PlateWrench) -> f64 {
    let vertical: Vec<f64> = plate.wrench.force_n.iter().map(|f| f.z).collect();
    signal::stats::quantile(&vertical, 0.995, &mut Vec::new())
}

/// A plate that reads as much as a light foot, and never anything else, carries none. Heavier it may be a foot that
/// stands very still.
fn constant(plate: &PlateWrench, shadow: &PlateShadow, high_n: f64) -> bool {
    if shadow.low_n.abs() >= 200.0 || high_n - shadow.low_n > 200.0 {
        return false;
    }
    let vertical: Vec<f64> = plate.wrench.force_n.iter().map(|f| f.z).collect();
    // Peak to peak of noise alone is within five standard deviations either side.
    let range = 10.0 * signal::white::white_noise(&vertical) + 2.0;
    high_n - shadow.low_n < range
}

/// True where the plate's low level is held as still as by an empty plate: a light foot rests, but not so.
fn still(plate: &PlateWrench, shadow: &PlateShadow, high_n: f64, rate_hz: f64) -> bool {
    let vertical: Vec<f64> = plate.wrench.force_n.iter().map(|f| f.z).collect();
    let length = ((EMPTY_S * rate_hz).round() as usize).max(4);
    let highest_mean = (0.1 * high_n).max(shadow.low_n.abs() * 1.5);
    let search = Search { within: 0..vertical.len(), length, lowest_mean: f64::NEG_INFINITY, highest_mean };
    let noise = signal::white::white_noise(&vertical);
    quietest(&vertical, &search).is_some_and(|w| w.variance.sqrt() <= STILL.0 * noise + STILL.1)
}
