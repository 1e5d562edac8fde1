//! What a careful reader would notice: findings about plates and about the whole swing.
use crate::address::{ADDRESS_S, Address, STANDING_LEAST_N};
use crate::analyse::{PlateShadow, STANDARD_GRAVITY, Swing, WeightSource};
use crate::footmarks;
use glam::DVec3;
use mechanics::feet::Foot;
use mechanics::finding::{self, Finding};
use mechanics::pressure::contact;
use mechanics::wrench::{PlateWrench, Surface};
use mechanics::{Hand, Recording, Rig};
use signal::filter::{Band, ShortRuns, butterworth, zero_phase};
use signal::quiet::{Search, quietest};
use signal::stats::correlation;

/// A plate carries a foot when its vertical force is well above the load floor for more than a hundredth of the
/// recording; `high_n` is the force that a hundredth of the samples exceeds. Common practice, no source.
pub fn is_loaded(high_n: f64, floor_n: f64) -> bool {
    high_n > 2.5 * floor_n
}

/// Findings that need only the plates.
pub fn plates(rig: &Rig, plates: &[PlateWrench], shadows: &[PlateShadow], findings: &mut Vec<Finding>) {
    for (k, a) in shadows.iter().enumerate() {
        for b in &shadows[k + 1..] {
            let area = overlap_m2(&a.surface, &b.surface);
            if area > 0.005 {
                let seen = format!("plates {} and {} share {area:.2} m²", a.name, b.name);
                findings.push(Finding::new(&finding::PLATES_OVERLAP, seen).on_plate(b.plate));
            }
        }
    }
    let turned = |plate: usize| {
        findings.iter().any(|f| f.kind == &finding::FORCE_SIGN_TURNED && f.plate == Some(plate))
    };
    let loaded = || shadows.iter().filter(|s| s.loaded);
    let odd: Vec<usize> = loaded().map(|s| s.plate).filter(|p| turned(*p)).collect();
    if !odd.is_empty() && odd.len() < loaded().count() {
        for plate in odd {
            let seen = "its vertical force is negative under load, that of others is not";
            findings.push(Finding::new(&finding::SIGNS_DIFFER, seen).on_plate(plate));
        }
    }
    for (plate, shadow) in plates.iter().zip(shadows) {
        unloaded_offset(shadow, rig, findings);
        if shadow.loaded {
            cop_off_plate(plate, rig.load_floor_n, findings);
        }
    }
}

/// Overlap of the two outlines' bounding boxes, m² (exact for plates that lie along the frame's axes).
fn overlap_m2(a: &Surface, b: &Surface) -> f64 {
    let bounds = |s: &Surface| {
        let low = s.corners_m.iter().copied().fold(DVec3::INFINITY, DVec3::min);
        let high = s.corners_m.iter().copied().fold(DVec3::NEG_INFINITY, DVec3::max);
        (low, high)
    };
    let ((low_a, high_a), (low_b, high_b)) = (bounds(a), bounds(b));
    let side = high_a.min(high_b) - low_a.max(low_b);
    side.x.max(0.0) * side.y.max(0.0)
}

/// The force a plate reads while nobody is on it, where the recording shows that: a plate that is loaded
/// throughout shows no offset; only a low level far under any load is one.
fn unloaded_offset(shadow: &PlateShadow, rig: &Rig, findings: &mut Vec<Finding>) {
    let low = shadow.low_n;
    let empty = low < 0.1 * shadow.peak_n.max(1.0) || !shadow.loaded;
    if empty && low.abs() > rig.load_floor_n / 4.0 {
        let seen = format!("about {low:+.1} N vertical while unloaded");
        let large = low.abs() > 5.0 * rig.load_floor_n;
        let kind = if large { &finding::OFFSET_LARGE } else { &finding::BASELINE_SEEN };
        findings.push(Finding::new(kind, seen).on_plate(shadow.plate));
    }
}

fn cop_off_plate(plate: &PlateWrench, floor_n: f64, findings: &mut Vec<Finding>) {
    // Far above the floor, so that noise at low load is not reported.
    let least = 5.0 * floor_n;
    let (mut outside, mut loaded, mut farthest) = (0_usize, 0_usize, 0.0_f64);
    for (force, moment) in plate.wrench.force_n.iter().zip(&plate.wrench.moment_nm) {
        let touch = contact(*force, *moment, &plate.surface, least);
        if touch.free_nm.is_nan() {
            continue;
        }
        loaded += 1;
        let beyond = beyond_m(&plate.surface, touch.cop_m);
        if beyond > 0.005 {
            outside += 1;
            farthest = farthest.max(beyond);
        }
    }
    if outside * 100 > loaded {
        findings.push(
            Finding::new(
                &finding::COP_OFF_PLATE,
                format!("in {outside} of {loaded} loaded samples, by up to {:.0} mm", farthest * 1e3),
            )
            .on_plate(plate.plate),
        );
    }
}

/// How far a place lies outside a surface's outline, m; 0 inside.
pub fn beyond_m(surface: &Surface, place: DVec3) -> f64 {
    let [c1, c2, c3, c4] = surface.corners_m;
    let centre = surface.centre_m;
    let half_x = ((c1 - c2) + (c4 - c3)) / 4.0;
    let half_y = ((c1 - c4) + (c2 - c3)) / 4.0;
    let past = |half: DVec3| {
        let length = half.length();
        if length == 0.0 { 0.0 } else { ((place - centre).dot(half).abs() / length - length).max(0.0) }
    };
    past(half_x).max(past(half_y))
}

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

/// Findings that need the whole swing.
pub fn swing(recording: &Recording, swing: &Swing, findings: &mut Vec<Finding>) {
    match &swing.address {
        None => findings.push(Finding::new(
            &finding::NO_QUIET_STANCE,
            format!("no {ADDRESS_S} s in which the vertical force stays within 3 % of a person's weight"),
        )),
        Some(address) => weight(swing, address, findings),
    }
    markers(recording, swing, findings);
    finish(swing, findings);
    if let Some(reading) = pendulum(&swing.series.net, swing.rate_hz)
        && reading.reads_as_action()
    {
        let seen = format!(
            "in quiet standing horizontal force and centre of pressure correlate {:+.2} along the target and {:+.2} \
             across it; for a reaction both are negative",
            reading.along, reading.across
        );
        findings.push(Finding::new(&finding::READS_AS_ACTION, seen).during(reading.from_s, reading.to_s));
    }
}

fn weight(swing: &Swing, address: &Address, findings: &mut Vec<Finding>) {
    let net = &swing.series.net.wrench.force_n;
    let standing =
        crate::analyse::mean_over(net.get(address.samples.clone()).unwrap_or_default().iter().copied()).z;
    let span = (address.samples.start as f64 / swing.rate_hz, address.samples.end as f64 / swing.rate_hz);
    if !(STANDING_LEAST_N..=2500.0).contains(&standing) {
        findings.push(
            Finding::new(&finding::WEIGHT_ODD, format!("{standing:.1} N in the quiet interval"))
                .during(span.0, span.1),
        );
    }
    if let Some(weight) = swing.body_weight_n
        && weight.from != WeightSource::Standing
    {
        let share = standing / weight.newton - 1.0;
        if share.abs() > 0.02 {
            findings.push(
                Finding::new(
                    &finding::MASS_DISAGREES,
                    format!(
                        "standing {standing:.1} N is {:.1} kg; the mass stated is {:.1} kg ({:+.1} %)",
                        standing / STANDARD_GRAVITY,
                        weight.newton / STANDARD_GRAVITY,
                        share * 100.0
                    ),
                )
                .during(span.0, span.1),
            );
        }
    }
}

/// A swing that began on both feet should end on the lead foot.
fn finish(swing: &Swing, findings: &mut Vec<Finding>) {
    let (Some(address), Some(lead), Some(trail)) = (&swing.address, &swing.ledger.lead, &swing.ledger.trail)
    else {
        return;
    };
    let samples = swing.ledger.net.up_n.len();
    let share = |from: usize, to: usize| {
        let sum = |column: &[f64]| column.get(from..to).unwrap_or_default().iter().sum::<f64>();
        let (lead, trail) = (sum(&lead.up_n), sum(&trail.up_n));
        trail / (lead + trail)
    };
    let begin = share(address.samples.start, address.samples.end);
    let end = share(samples - samples / 10, samples);
    let peak = swing.ledger.net.up_n.iter().copied().fold(f64::NAN, f64::max);
    // A swing: it begins before the last third on both feet, pushes well above weight, and ends elsewhere.
    let swings =
        !address.after_movement && address.samples.end < samples * 2 / 3 && (0.25..0.75).contains(&begin);
    if swings && peak > 1.2 * address.vertical_n && end > 0.65 {
        let (begin, end) = (100.0 * begin, 100.0 * end);
        let seen = format!("the trail foot carries {begin:.0} % at address and {end:.0} % at the end");
        findings.push(Finding::new(&finding::ENDS_ON_TRAIL, seen));
    }
}

/// Compares feet seen by markers with feet seen by plates, at address.
fn markers(recording: &Recording, swing: &Swing, findings: &mut Vec<Finding>) {
    let (Some(address), Some(feet)) = (&swing.address, &swing.series.feet) else { return };
    let to_marker = |sample: usize| {
        ((sample as f64 / swing.rate_hz - recording.marker_start_s) * recording.marker_rate_hz).max(0.0)
            as usize
    };
    let samples = to_marker(address.samples.start)..to_marker(address.samples.end).saturating_add(1);
    let marks = footmarks::find(recording, &swing.frame, samples);
    if marks.len() < 2 {
        return;
    }
    let left_leads = swing.player.hand == Hand::Right;
    for (foot, name, left) in [(&feet.lead, "lead", left_leads), (&feet.trail, "trail", !left_leads)] {
        let window = foot.contact.get(address.samples.clone()).unwrap_or_default();
        let cop = crate::analyse::mean_over(window.iter().map(|c| c.cop_m));
        let own = marks.iter().find(|m| m.left == left).map_or(f64::NAN, |m| m.distance_m(cop));
        let other = marks.iter().find(|m| m.left != left).map_or(f64::NAN, |m| m.distance_m(cop));
        let side = if left { "left" } else { "right" };
        if other < own {
            findings.push(Finding::new(
                &finding::FEET_SWAPPED,
                format!(
                    "the {name} foot should be the {side} one, but its centre of pressure lies {:.0} mm from the \
                     other foot's markers and {:.0} mm from its own",
                    other * 1e3,
                    own * 1e3
                ),
            ));
            // The other foot can only say the same.
            return;
        } else if own > 0.12 {
            let mut found = Finding::new(
                &finding::MARKERS_DISAGREE,
                format!(
                    "the {name} foot's centre of pressure lies {:.0} mm from its heel–toe line",
                    own * 1e3
                ),
            );
            if let Some(&plate) = foot.plates.first() {
                found = found.on_plate(plate);
            }
            findings.push(found);
        }
    }
}
