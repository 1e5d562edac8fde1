//! Channels that mark an instant: a step ("step@1") or a sound ("sound@1").
use super::file::{event, half_a_sample_s};
use super::types::{Event, Events, Name, Source, Unnamed, hypotenuse};
use super::words::{name_of, words};
use mechanics::finding::{self, Finding};
use mechanics::{Channel, Recording, Rig, Trigger, TriggerKind};

/// Speed of sound, m/s, and its standard uncertainty between 0 and 40 °C (331 to 355 m/s, as a rectangle).
/// Source: 331.3 m/s at 0 °C and 0.606 m/s a degree, any textbook of physics; from memory.
const SOUND_M_S: f64 = 343.0;
const SOUND_U_M_S: f64 = 7.0;

/// Distance from ball to microphone where nobody states it: somewhere from 0 to 3 m, as a rectangle.
/// Common practice, no source.
const UNSTATED_M: f64 = 1.5;
const UNSTATED_U_M: f64 = 0.87;

/// Standard uncertainty of a stated distance, m. Common practice, no source: a tape from the ball.
const STATED_U_M: f64 = 0.05;

/// A sound begins where it exceeds its own noise (a normal standard deviation from the median) this many times.
const ABOVE_NOISE: f64 = 6.0;

/// The loudest must exceed the noise by this much more to be called a sound at all.
const LOUD: f64 = 20.0;

/// A sound is followed back from its loudest for this long, s: what rings longer has begun before.
const RISE_S: f64 = 0.03;

/// The rig's own trigger.
pub(super) fn stated(
    recording: &Recording,
    rig: &Rig,
    out: &mut Events,
    found: &mut Vec<Event>,
    findings: &mut Vec<Finding>,
) {
    let Some(trigger) = &rig.trigger else { return };
    let Some(channel) = recording.analog.channels.get(trigger.channel) else { return };
    let Some((time_s, u_s)) = instant(channel, recording.analog.rate_hz, trigger) else {
        let level = trigger
            .level
            .map_or("rises out of its noise".into(), |l| format!("crosses {l} {}", channel.unit));
        let seen = format!("channel {} never {}", channel.label, level.trim());
        findings.push(Finding::new(&finding::EVENT_CHANNEL_SILENT, seen));
        return;
    };
    let (source, method) = match trigger.kind {
        TriggerKind::Step => (Source::Trigger, "step@1"),
        TriggerKind::Sound => (Source::Sound, "sound@1"),
    };
    match name_of(&trigger.marks) {
        Some(name) => {
            found.push(event(name, (time_s, u_s), source, method, format!("channel {}", channel.label)));
        }
        None => out.unnamed.push(Unnamed { label: format!("{} ({})", trigger.marks, channel.label), time_s }),
    }
}

/// Channels that the rig does not speak of, but whose label plainly does, as candidates for impact: they must act
/// within `window_s`, where an impact can be.
pub(super) fn recognised(recording: &Recording, rig: &Rig, window_s: (f64, f64)) -> Vec<Event> {
    let mut found = Vec::new();
    for (index, channel) in recording.analog.channels.iter().enumerate() {
        if rig.trigger.as_ref().is_some_and(|t| t.channel == index) {
            continue;
        }
        let Some(kind) = kind_of(&channel.label) else { continue };
        let level = match kind {
            TriggerKind::Sound => None,
            TriggerKind::Step => match channel.extent() {
                (low, high) if high > low => Some((low + high) / 2.0),
                _ => continue,
            },
        };
        let trigger = Trigger { channel: index, level, marks: "impact".into(), kind, distance_m: None };
        let Some((time_s, u_s)) = instant(channel, recording.analog.rate_hz, &trigger) else { continue };
        if !(window_s.0..=window_s.1).contains(&time_s) {
            continue;
        }
        let (source, method) = match kind {
            TriggerKind::Step => (Source::Trigger, "step@1"),
            TriggerKind::Sound => (Source::Sound, "sound@1"),
        };
        let seen = format!("channel {}, by its label", channel.label);
        found.push(event(Name::Impact, (time_s, u_s), source, method, seen));
    }
    found
}

/// What a label says of its channel, by whole words.
fn kind_of(label: &str) -> Option<TriggerKind> {
    let words = words(label);
    let any = |list: &[&str]| words.iter().any(|w| list.contains(&w.as_str()));
    if any(&["mic", "microphone", "sound", "audio"]) {
        Some(TriggerKind::Sound)
    } else if any(&["impact", "trigger", "trig", "strike"]) {
        Some(TriggerKind::Step)
    } else {
        None
    }
}

/// When a channel acts, and the standard uncertainty of that, s.
fn instant(channel: &Channel, rate_hz: f64, trigger: &Trigger) -> Option<(f64, f64)> {
    let sample = half_a_sample_s(rate_hz);
    match trigger.kind {
        TriggerKind::Step => crossing(&channel.samples, trigger.level?).map(|k| (k / rate_hz, sample)),
        TriggerKind::Sound => {
            let heard = match trigger.level {
                Some(level) => crossing(&channel.samples, level)?,
                None => first_heard(&channel.samples, rate_hz)?,
            } / rate_hz;
            let (far_m, u_m) = trigger.distance_m.map_or((UNSTATED_M, UNSTATED_U_M), |m| (m, STATED_U_M));
            let travel_u = hypotenuse(u_m / SOUND_M_S, far_m / SOUND_M_S * SOUND_U_M_S / SOUND_M_S);
            Some((heard - far_m / SOUND_M_S, hypotenuse(sample, travel_u)))
        }
    }
}

/// The first crossing of a level from whichever side the channel begins, in samples, interpolated.
fn crossing(samples: &[f64], level: f64) -> Option<f64> {
    let above = *samples.iter().find(|v| v.is_finite())? >= level;
    let mut last = None;
    for (k, &v) in samples.iter().enumerate().filter(|(_, v)| v.is_finite()) {
        if (v >= level) != above {
            let (before, at): (usize, f64) = last?;
            return Some(before as f64 + (level - at) / (v - at) * (k - before) as f64);
        }
        last = Some((k, v));
    }
    None
}

/// Where the loudest sound begins: the earliest sample, within [`RISE_S`] before the loudest one, beyond the noise.
/// It began half a sample earlier, on average. In samples.
fn first_heard(samples: &[f64], rate_hz: f64) -> Option<f64> {
    let mut scratch = Vec::new();
    let middle = signal::stats::median(samples, &mut scratch);
    let size: Vec<f64> = samples.iter().map(|v| (v - middle).abs()).collect();
    // 1.4826 turns the median deviation of normal noise into its standard deviation.
    let noise = 1.4826 * signal::stats::median(&size, &mut scratch);
    let defined = |k: &usize| size[*k].is_finite();
    let loudest = (0..size.len()).filter(defined).max_by(|a, b| size[*a].total_cmp(&size[*b]))?;
    if size[loudest] <= LOUD * noise || size[loudest] == 0.0 {
        return None;
    }
    // A channel without noise has a sound of its own to be measured by.
    let floor = (ABOVE_NOISE * noise).max(0.02 * size[loudest]);
    let from = loudest.saturating_sub((RISE_S * rate_hz) as usize);
    let first = (from..=loudest).find(|k| size[*k] > floor)?;
    Some(first as f64 - 0.5)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_is_interpolated_from_either_side() {
        assert_eq!(crossing(&[0.0, 0.0, 5.0, 5.0], 2.5), Some(1.5));
        assert_eq!(crossing(&[5.0, 4.0, 0.0], 3.0), Some(1.25));
        assert_eq!(crossing(&[0.0, f64::NAN, 2.0], 1.0), Some(1.0));
        assert_eq!(crossing(&[0.0, 1.0], 2.5), None);
        assert_eq!(crossing(&[f64::NAN], 2.5), None);
    }

    #[test]
    fn channels_are_known_by_whole_words() {
        assert_eq!(kind_of("Mic 1"), Some(TriggerKind::Sound));
        assert_eq!(kind_of("IMPACT"), Some(TriggerKind::Step));
        for other in ["FZ1", "dynamic", "Microvolt", "EMG"] {
            assert_eq!(kind_of(other), None, "{other}");
        }
    }
}
