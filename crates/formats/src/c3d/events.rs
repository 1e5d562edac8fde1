//! Events of the header and of the EVENT group.
//!
//! Source: C3D user guide, header events (times from the first stored sample) and EVENT group (minutes and seconds;
//! measured cropped files count from frame 1 of the original capture).
use super::header::FOUR_CHARACTERS;
use super::params::{continued, find, texts};
use super::text::shown;
use super::view::View;
use mechanics::recording::Mark;

/// All events, group first, in the order of the file. No display flag hides one. A header event that repeats one of the
/// group (same first four characters, less than a frame apart) is not listed twice.
pub(super) fn read(view: &View, frame_rate_hz: f64) -> Vec<Mark> {
    let mut marks = of_group(view, frame_rate_hz);
    let frame_s = if frame_rate_hz > 0.0 { 1.0 / frame_rate_hz } else { 0.0 };
    let width = if view.header.label_key == FOUR_CHARACTERS { 4 } else { 2 };
    let count = usize::from(view.header.events).min(18);
    for (time_s, label) in view.header.event_times_s.iter().zip(&view.header.event_labels).take(count) {
        let time_s = f64::from(*time_s);
        let label = shown(&label[..width]);
        let start = |l: &str| l.chars().take(width).collect::<String>().trim().to_string();
        let known = marks.iter().any(|m| start(&m.label) == label && (m.time_s - time_s).abs() <= frame_s);
        if time_s.is_finite() && !known {
            marks.push(Mark { label, context: String::new(), time_s });
        }
    }
    marks
}

fn of_group(view: &View, frame_rate_hz: f64) -> Vec<Mark> {
    let groups = &view.groups;
    let has = |group: &&str| find(groups, group, "TIMES").is_some();
    let Some(group) = ["EVENT", "EVENTS"].into_iter().find(has) else { return Vec::new() };
    let mut times = Vec::new();
    for parameter in continued(groups, group, "TIMES") {
        let pair = |k| Some(60.0 * parameter.number(2 * k)? + parameter.number(2 * k + 1)?);
        times.extend((0..parameter.values.len() / 2).map_while(pair));
    }
    let used = find(groups, group, "USED").and_then(|p| p.count(0)).unwrap_or(times.len());
    let labels = texts(groups, group, "LABELS");
    let contexts = texts(groups, group, "CONTEXTS");

    // Times count from frame 1 of the capture; in a cropped file the first stored frame has another number. Should
    // they all lie in the stored time only as they are, they were counted from the first stored frame.
    let frames = view.layout.frames as f64;
    let crop_s = (view.layout.first_frame as f64 - 1.0) / frame_rate_hz;
    let crop_s = if crop_s.is_finite() { crop_s } else { 0.0 };
    let duration_s = frames / frame_rate_hz;
    let within =
        |shift: f64| times.iter().take(used).filter(|t| (0.0..=duration_s).contains(&(**t - shift))).count();
    let shift = if within(0.0) > within(crop_s) { 0.0 } else { crop_s };

    let mark = |(k, time): (usize, &f64)| {
        let text = |list: &[String]| list.get(k).cloned().unwrap_or_default();
        let (label, context) = (text(&labels), text(&contexts));
        let label = if label.is_empty() { context.clone() } else { label };
        Mark { label, context, time_s: time - shift }
    };
    times.iter().take(used).enumerate().filter(|(_, t)| t.is_finite()).map(mark).collect()
}
