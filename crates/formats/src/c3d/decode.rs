//! A C3D file as a [`Recording`].
//!
//! # Steps
//! layout and parameters ([`View::read`]) → labels, units, gains → columns → up axis, plates, events, mass.
use super::columns::{Gain, columns};
use super::error::C3dError;
use super::events;
use super::layout::Layout;
use super::params::{Group, Parameter, continued, find, texts};
use super::plates;
use super::units::{Unit, unit};
use super::view::View;
use mechanics::finding::{
    FILE_COUNTS_DISAGREE, FILE_DUPLICATE_LABEL, FILE_PARAMETER_ODD, FILE_RATE_FROM_HEADER, FILE_RATE_MISSING,
    Finding, UNITS_ASSUMED, UP_TURNED,
};
use mechanics::{Analog, Axis, Channel, Checked, Marker, Recording};
use std::collections::BTreeSet;

/// Reads a whole C3D image. Never panics, whatever the bytes.
///
/// Analog values are in the file's unit after OFFSET, SCALE and GEN_SCALE; markers, corners and origins in metres;
/// times count from the first stored sample. Whose force the plates' channels hold is not settled here
/// ([`mechanics::Measures::BySign`]); no baseline is removed. Errors: see [`View::read`].
pub fn decode(name: &str, bytes: &[u8]) -> Result<Checked<Recording>, C3dError> {
    Ok(recording(name, View::read(bytes)?))
}

fn recording(name: &str, mut view: View) -> Checked<Recording> {
    let mut findings = std::mem::take(&mut view.findings);
    let View { groups, layout, .. } = &view;
    let length_m = length_m(groups, &mut findings);
    let (analog_rate_hz, marker_rate_hz) = rates(&view, &mut findings);
    let gains = gains(groups, layout, &mut findings);
    let data = columns(&view, &gains, length_m);

    let mut labels = labels(groups, "ANALOG", "channel", layout.channels, &mut findings).into_iter();
    let mut units = texts(groups, "ANALOG", "UNITS").into_iter();
    let mut notes = texts(groups, "ANALOG", "DESCRIPTIONS").into_iter();
    let channels = data.analog.into_iter().map(|samples| Channel {
        label: labels.next().unwrap_or_default(),
        unit: units.next().unwrap_or_default(),
        description: notes.next().unwrap_or_default(),
        samples,
    });
    let analog = Analog { rate_hz: analog_rate_hz, start_s: 0.0, channels: channels.collect() };

    let mut labels = self::labels(groups, "POINT", "marker", layout.points, &mut findings).into_iter();
    let mut notes = texts(groups, "POINT", "DESCRIPTIONS").into_iter();
    let markers = data.paths_m.into_iter().map(|path_m| Marker {
        label: labels.next().unwrap_or_default(),
        description: notes.next().unwrap_or_default(),
        path_m,
    });
    let markers: Vec<_> = markers.collect();

    let up = up(groups, &markers, length_m, &mut findings);
    let plates = plates::read(groups, layout, &analog, length_m, up, &mut findings);
    let marks = events::read(&view, marker_rate_hz);
    let value = Recording {
        name: name.into(),
        format: format!("C3D, {}, {}", view.processor.name(), layout.storage.name()),
        marker_rate_hz: if markers.is_empty() { 0.0 } else { marker_rate_hz },
        marker_start_s: 0.0,
        mass_kg: mass_kg(groups),
        analog,
        markers,
        marks,
        plates,
        up,
    };
    Checked { value, findings }
}

/// Metres per unit of length as POINT:UNITS states it.
pub(super) fn length_of(groups: &[Group]) -> Option<f64> {
    match unit(&find(groups, "POINT", "UNITS").and_then(Parameter::text)?) {
        Unit::Length(metres) => Some(metres),
        _ => None,
    }
}

/// Metres per unit of length: POINT:UNITS; else judged by the size of the plates, for which feet need 0.1 to 5 m.
fn length_m(groups: &[Group], findings: &mut Vec<Finding>) -> f64 {
    if let Some(metres) = length_of(groups) {
        return metres;
    }
    let stated = find(groups, "POINT", "UNITS").and_then(Parameter::text);
    let size = plates::raw_corners(groups, 0).map_or(f64::NAN, |c| c[0].distance(c[2]));
    let (taken, name) = if (0.1..8.0).contains(&size) { (1.0, "m") } else { (1e-3, "mm") };
    // Without plates and markers a length has nothing to be wrong about.
    if size.is_finite() || find(groups, "POINT", "LABELS").is_some() {
        let stated = stated.map_or("missing".into(), |s| format!("\"{s}\""));
        let seen = format!("POINT:UNITS is {stated}; {name} was taken (diagonal of plate 1: {size:.1})");
        findings.push(Finding::new(&UNITS_ASSUMED, seen));
    }
    taken
}

/// Analog and marker rates. The number of samples in a frame is a fact of the layout, so the two are tied.
fn rates(view: &View, findings: &mut Vec<Finding>) -> (f64, f64) {
    let rate =
        |group| find(&view.groups, group, "RATE").and_then(|p| p.number(0)).filter(|r| Analog::is_rate(*r));
    let header = Some(f64::from(view.header.rate_hz)).filter(|r| Analog::is_rate(*r));
    let samples = view.layout.samples_per_frame as f64;
    let (points, analog) = (rate("POINT"), rate("ANALOG"));
    let frames_hz = points.or(header);
    let analog_hz = match (analog, frames_hz) {
        (Some(analog), Some(frames))
            if (analog - frames * samples).abs() > 1e-3 * analog && view.layout.channels > 0 =>
        {
            let seen = format!(
                "ANALOG:RATE is {analog} Hz; {samples} samples a frame at {frames} frames a second make {} Hz, which was taken",
                frames * samples
            );
            findings.push(Finding::new(&FILE_COUNTS_DISAGREE, seen));
            frames * samples
        }
        (Some(analog), _) => analog,
        (None, Some(frames)) => {
            if view.layout.channels > 0 {
                let seen =
                    format!("{frames} frames a second × {samples} samples a frame = {} Hz", frames * samples);
                findings.push(Finding::new(&FILE_RATE_FROM_HEADER, seen));
            }
            frames * samples
        }
        (None, None) => {
            findings.push(Finding::new(
                &FILE_RATE_MISSING,
                "ANALOG:RATE, POINT:RATE and the header's rate (words 11 and 12) are missing or 0",
            ));
            f64::NAN
        }
    };
    (analog_hz, frames_hz.unwrap_or(analog_hz / samples))
}

/// OFFSET and SCALE × GEN_SCALE of each channel. Missing entries are 0 and 1.
fn gains(groups: &[Group], layout: &Layout, findings: &mut Vec<Finding>) -> Vec<Gain> {
    let numbers = |name| -> Vec<f64> {
        let list = continued(groups, "ANALOG", name);
        let value = |p: &Parameter, k| {
            let unsigned = layout.unsigned && name == "OFFSET" && matches!(p.values, super::Values::Int(_));
            if unsigned { p.count(k).map(|c| c as f64) } else { p.number(k) }
        };
        list.flat_map(|p| (0..p.values.len()).map(move |k| value(p, k).unwrap_or(f64::NAN))).collect()
    };
    let general =
        find(groups, "ANALOG", "GEN_SCALE").and_then(|p| p.number(0)).filter(|g| *g != 0.0 && g.is_finite());
    let (scales, offsets) = (numbers("SCALE"), numbers("OFFSET"));
    for (name, list) in [("SCALE", &scales), ("OFFSET", &offsets)] {
        let finite = list.iter().take(layout.channels).filter(|v| v.is_finite()).count();
        if finite < layout.channels {
            let seen = format!(
                "ANALOG:{name} holds {finite} numbers for {} channels; {} was taken for the others",
                layout.channels,
                if name == "SCALE" { 1 } else { 0 }
            );
            findings.push(Finding::new(&FILE_PARAMETER_ODD, seen));
        }
    }
    let entry = |list: &[f64], k: usize, missing: f64| {
        list.get(k).copied().filter(|v| v.is_finite()).unwrap_or(missing)
    };
    let gain =
        |k| Gain { offset: entry(&offsets, k, 0.0), gain: entry(&scales, k, 1.0) * general.unwrap_or(1.0) };
    (0..layout.channels).map(gain).collect()
}

/// Unique labels: a repeated one gets "#2", "#3"; a missing one its number.
fn labels(
    groups: &[Group],
    group: &str,
    what: &str,
    count: usize,
    findings: &mut Vec<Finding>,
) -> Vec<String> {
    let stated = texts(groups, group, "LABELS");
    let mut taken = BTreeSet::new();
    let mut doubled = Vec::new();
    let mut out = Vec::with_capacity(count);
    for index in 0..count {
        let stated = stated.get(index).filter(|l| !l.is_empty());
        let wanted = stated.cloned().unwrap_or_else(|| format!("{what} {}", index + 1));
        let mut label = wanted.clone();
        if !taken.insert(label.clone()) {
            let mut copies = 2;
            loop {
                label = format!("{wanted}#{copies}");
                if taken.insert(label.clone()) {
                    break;
                }
                copies += 1;
            }
            doubled.push(format!("{what} {} became \"{label}\"", index + 1));
        }
        out.push(label);
    }
    if !doubled.is_empty() {
        let more = doubled.len().saturating_sub(8);
        doubled.truncate(8);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        findings.push(Finding::new(&FILE_DUPLICATE_LABEL, format!("{}{more}", doubled.join(", "))));
    }
    out
}

/// Laboratory up axis: POINT:Y_SCREEN, the axis that is vertical on the screen. Its sign is settled by the markers where
/// there are plates and markers: a body is above the floor.
fn up(groups: &[Group], markers: &[Marker], length_m: f64, findings: &mut Vec<Finding>) -> Option<Axis> {
    let stated = find(groups, "POINT", "Y_SCREEN").and_then(Parameter::text).and_then(|t| Axis::parse(&t))?;
    let floor = plates::raw_corners(groups, 0).map(|c| c.iter().sum::<glam::DVec3>() / 4.0 * length_m);
    let Some(floor) = floor.filter(|f| f.is_finite()) else { return Some(stated) };
    let (mut above, mut below) = (0u64, 0u64);
    for marker in markers {
        let step = (marker.path_m.len() / 32).max(1);
        for place in marker.path_m.iter().step_by(step) {
            let height = (glam::DVec3::from(place.map(f64::from)) - floor).dot(stated.unit());
            above += u64::from(height > 0.0);
            below += u64::from(height < 0.0);
        }
    }
    if below <= 4 * above {
        return Some(stated);
    }
    let turned = Axis::ALL.into_iter().find(|a| a.unit() == -stated.unit())?;
    let share = 100 * below / (above + below);
    let seen = format!(
        "POINT:Y_SCREEN is {}, {share} % of the markers' places lie below the plates that way; {} was taken",
        stated.name(),
        turned.name()
    );
    findings.push(Finding::new(&UP_TURNED, seen));
    Some(turned)
}

/// Body mass in kg, if a parameter holds a believable one.
fn mass_kg(groups: &[Group]) -> Option<f64> {
    let places = [
        ("PROCESSING", "BODYMASS"),
        ("PROCESSING", "BODY_MASS"),
        ("PROCESSING", "MASS"),
        ("SUBJECTS", "BODYMASS"),
        ("SUBJECTS", "MASS"),
        ("SUBJECT", "MASS"),
        ("SUBJECT", "WEIGHT"),
    ];
    let read = |(group, name)| find(groups, group, name).and_then(|p| p.number(0));
    places.into_iter().filter_map(read).find(|kg| (10.0..400.0).contains(kg))
}
