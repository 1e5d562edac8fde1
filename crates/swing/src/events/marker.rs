//! Top and impact from the path of a marker: the clubhead's, or for the top alone the hands'.
use super::file::{event, half_a_sample_s};
use super::path::Path;
use super::settings::EventSettings;
use super::types::{Event, Name, Source, hypotenuse};
use super::words::words;
use mechanics::finding::{self, Finding};
use mechanics::{Marker, Recording};

/// A clubhead that stays slower swings no full shot, m/s. Common practice, no source.
const CLUB_LEAST_M_S: f64 = 8.0;
/// Hands that stay slower make no full swing, m/s. Common practice, no source.
const HANDS_LEAST_M_S: f64 = 3.0;
/// The clubhead is fastest at impact or a little before, s, as a standard uncertainty. Common practice, no source.
const IMPACT_U_S: f64 = 0.002;
/// The club's slowest place and the top that people mean lie this far apart, s, as a standard uncertainty: the club turns
/// round in no single instant. From simulated swings; common practice, no source.
const TURN_U_S: f64 = 0.006;
/// The hands turn round before or after the club, s, as a standard uncertainty. Common practice, no source.
const HANDS_U_S: f64 = 0.030;
/// A gap this long at the fastest place hides the impact, s.
const GAP_MOST_S: f64 = 0.05;

/// Candidates from markers.
///
/// Impact ("club-fastest@1"): the maximum of the clubhead's speed, refined by a parabola. Top ("club-turns@1",
/// "hands-turn@1"): where the velocity along the way into the downswing changes sign; while it is within the
/// noise of the markers the instant is not known, which is what the uncertainty says.
/// Absent: where the marker is too slow for a full swing, or not seen there.
pub(super) fn candidates(
    recording: &Recording,
    how: &EventSettings,
    swings: bool,
    found: &mut Vec<Event>,
    findings: &mut Vec<Finding>,
) {
    if recording.marker_rate_hz.is_nan() || recording.marker_rate_hz <= 0.0 {
        return;
    }
    if let Some(label) = &how.club_marker
        && !recording.markers.iter().any(|m| same_marker(&m.label, label))
    {
        let seen = format!("there is no marker {label}");
        findings.push(Finding::new(&finding::EVENT_CHANNEL_SILENT, seen));
    }
    let club = fastest(recording, |m| match &how.club_marker {
        Some(label) => same_marker(&m.label, label),
        None => is_club(&m.label),
    });
    if let Some((marker, path)) = club {
        of_club(recording, marker, &path, how.club_marker.is_some(), found);
    }
    if !swings {
        return;
    }
    if let Some((marker, path)) = fastest(recording, |m| is_hand(&m.label))
        && path.fastest().is_some_and(|k| path.speed(k) >= HANDS_LEAST_M_S)
        && let Some((frame, u_frames)) = path.turns_round()
    {
        let (time_s, u_s) = clock(recording, frame, u_frames);
        let at = (time_s, hypotenuse(u_s, HANDS_U_S));
        found.push(event(Name::Top, at, Source::Marker, "hands-turn@1", format!("marker {}", marker.label)));
    }
}

fn of_club(recording: &Recording, marker: &Marker, path: &Path, stated: bool, found: &mut Vec<Event>) {
    let Some(peak) = path.fastest().filter(|k| stated || path.speed(*k) >= CLUB_LEAST_M_S) else { return };
    let seen = || format!("marker {}", marker.label);
    if let Some((frame, u_frames)) = path.turns_round() {
        let (time_s, u_s) = clock(recording, frame, u_frames);
        let at = (time_s, hypotenuse(u_s, TURN_U_S));
        found.push(event(Name::Top, at, Source::Marker, "club-turns@1", seen()));
    }
    if let Some((frame, u_frames)) = path.fastest_refined(peak, GAP_MOST_S * recording.marker_rate_hz) {
        let (time_s, u_s) = clock(recording, frame, u_frames);
        let at = (time_s, hypotenuse(u_s, IMPACT_U_S));
        found.push(event(Name::Impact, at, Source::Marker, "club-fastest@1", seen()));
    }
}

/// Frames to seconds from the first analog sample; a frame is itself half a frame wide on either side.
fn clock(recording: &Recording, frame: f64, u_frames: f64) -> (f64, f64) {
    let rate = recording.marker_rate_hz;
    (recording.marker_start_s + frame / rate, hypotenuse(u_frames / rate, half_a_sample_s(rate)))
}

/// The marker that gets fastest of those wanted, and its path.
fn fastest(recording: &Recording, wanted: impl Fn(&Marker) -> bool) -> Option<(&Marker, Path)> {
    let paths = recording.markers.iter().filter(|m| wanted(m)).filter_map(|m| {
        let path = Path::of(m, recording.marker_rate_hz);
        let speed = path.speed(path.fastest()?);
        Some((m, path, speed))
    });
    // Of equals the first.
    let best = paths.reduce(|best, next| if next.2 > best.2 { next } else { best });
    best.map(|(marker, path, _)| (marker, path))
}

/// True where two labels name one marker: case aside, and whatever subject stands before one of them.
pub fn same_marker(a: &str, b: &str) -> bool {
    bare(a).eq_ignore_ascii_case(bare(b)) || a.trim().eq_ignore_ascii_case(b.trim())
}

/// A label without the subject some programs write before it ("Subject:LABEL").
fn bare(label: &str) -> &str {
    label.rsplit(':').next().unwrap_or(label).trim()
}

/// Labels of a club. A bare "HEAD" is the player's; a grip moves with the hands.
fn is_club(label: &str) -> bool {
    let words = words(bare(label));
    let club = words.iter().any(|w| w.starts_with("club") || w == "clb");
    club && !words.iter().any(|w| w.contains("grip") || w.contains("butt") || w.contains("handle"))
}

/// Labels of wrists, hands and fingers in marker sets in use. Common practice, no source.
fn is_hand(label: &str) -> bool {
    const EXACT: [&str; 18] = [
        "lwra", "lwrb", "rwra", "rwrb", "lwri", "rwri", "lfin", "rfin", "lhand", "rhand", "lwrist", "rwrist",
        "lhan", "rhan", "lhnd", "rhnd", "hand", "hands",
    ];
    words(bare(label)).iter().any(|w| EXACT.contains(&w.as_str()) || w == "wrist" || w == "finger")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clubs_and_hands_are_told_from_heads_and_feet() {
        for club in ["CLUBHEAD", "Club1", "S1:CLUB_TOE", "club head", "ClubFace"] {
            assert!(is_club(club), "{club}");
        }
        for other in ["HEAD", "LFHD", "C7", "CLAV", "CLUB_GRIP", "RHEEL", "clubgrip"] {
            assert!(!is_club(other), "{other}");
        }
        for hand in ["LWRA", "Jane:RFIN", "L_WRIST", "Lwri", "left wrist", "RHand"] {
            assert!(is_hand(hand), "{hand}");
        }
        for other in ["LHEE", "RKNE", "handle", "LFHD"] {
            assert!(!is_hand(other), "{other}");
        }
    }
}
