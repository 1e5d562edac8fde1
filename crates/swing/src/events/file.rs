//! Events written in the recording, and events placed by hand.
use super::settings::{ByHand, EventSettings};
use super::types::{Event, Events, Name, Source, Unnamed};
use super::words::name_of;
use mechanics::finding::{self, Finding};
use mechanics::{Mark, Recording};

/// Standard deviation of a rectangle of half a sample on either side: a sample over √12.
pub(super) fn half_a_sample_s(rate_hz: f64) -> f64 {
    1.0 / (rate_hz * 12.0_f64.sqrt())
}

/// Candidates from the file's own marks ("mark@1"); what is none of the five names is kept aside.
///
/// Uncertainty: a mark stands on a sample of the coarser clock, half of one on either side, as a rectangle
/// (JCGM 100:2008, 4.3.7). How well a person saw the instant is not known to us.
pub(super) fn marks(
    recording: &Recording,
    out: &mut Events,
    found: &mut Vec<Event>,
    findings: &mut Vec<Finding>,
) {
    let u_s = half_a_sample_s(coarser_hz(recording));
    for mark in &recording.marks {
        match name_of(&mark.label) {
            _ if !within(recording, mark.time_s) => findings.push(outside(mark, recording)),
            None => out.unnamed.push(Unnamed { label: mark.label.clone(), time_s: mark.time_s }),
            Some(name) => found.push(Event {
                name,
                time_s: mark.time_s,
                u_s,
                source: Source::File,
                method: "mark@1",
                seen: format!("\"{}\"", mark.label.trim()),
            }),
        }
    }
}

/// How closely a person places an instant, as a standard uncertainty, s: a frame of a video at 120 Hz, as a rectangle
/// to either side. Common practice, no source.
const HAND_U_S: f64 = 0.005;

/// Candidates placed by hand ("by-hand@2"). Where nobody says better, 5 ms, and never less than half a sample of the
/// coarser clock.
pub(super) fn by_hand(
    recording: &Recording,
    how: &EventSettings,
    found: &mut Vec<Event>,
    findings: &mut Vec<Finding>,
) {
    let usual_s = HAND_U_S.max(half_a_sample_s(coarser_hz(recording)));
    for &ByHand { name, time_s, u_s } in &how.by_hand {
        let u_s = u_s.unwrap_or(usual_s);
        if within(recording, time_s) {
            found.push(Event {
                name,
                time_s,
                u_s,
                source: Source::Hand,
                method: "by-hand@2",
                seen: "placed by hand".into(),
            });
        } else {
            findings.push(outside(
                &Mark { label: name.name().into(), context: String::new(), time_s },
                recording,
            ));
        }
    }
}

fn coarser_hz(recording: &Recording) -> f64 {
    let analog = recording.analog.rate_hz;
    if recording.marker_rate_hz > 0.0 { recording.marker_rate_hz.min(analog) } else { analog }
}

fn within(recording: &Recording, time_s: f64) -> bool {
    (0.0..=recording.analog.duration_s()).contains(&time_s)
}

fn outside(mark: &Mark, recording: &Recording) -> Finding {
    let start = recording.analog.start_s;
    let seen = format!(
        "{} at {:.3} s; the recording lasts from {:.3} to {:.3} s",
        mark.label.trim(),
        mark.time_s + start,
        start,
        start + recording.analog.duration_s()
    );
    Finding::new(&finding::EVENT_OUTSIDE, seen)
}

/// An event of a name, as found by a method: for the other files of this folder.
pub(super) fn event(
    name: Name,
    (time_s, u_s): (f64, f64),
    source: Source,
    method: &'static str,
    seen: String,
) -> Event {
    Event { name, time_s, u_s, source, method, seen }
}
