//! Recordings spoilt on purpose: each function makes one mistake that is made in the field.
//!
//! A recording goes in, the same recording with the mistake comes out; what is not touched stays bit for bit.
//! A plate index that does not exist leaves the recording as it is.
use crate::plate::{Inverse, Wrench};
use glam::DVec3;
use mechanics::plate::Foothold;
use mechanics::{Axis, Hand, Recording, Sensing};

/// The plates' channels plugged in crosswise: each plate is described by its own place and the other's cables.
pub fn swapped_plates(recording: &Recording, a: usize, b: usize) -> Recording {
    let mut out = recording.clone();
    if let (Some(first), Some(second)) = (recording.plates.get(a), recording.plates.get(b)) {
        out.plates[a].sensing = second.sensing.clone();
        out.plates[b].sensing = first.sensing.clone();
    }
    out
}

/// One plate's numbers written in axes turned half round its own x: y and z of force and moment change sign, those of
/// the moment as the sensors see it, about their own origin.
pub fn z_flipped(recording: &Recording, plate: usize) -> Recording {
    let half_round = DVec3::new(1.0, -1.0, -1.0);
    let origin_m = sensor_origin_m(recording, plate);
    rewrite(recording, plate, |_, w| {
        let force_n = w.force_n * half_round;
        let about_sensors = (w.moment_nm - w.force_n.cross(origin_m)) * half_round;
        Wrench { force_n, moment_nm: about_sensors + force_n.cross(origin_m) }
    })
}

/// The vertical force of one plate alone with its sign changed, as by a cable or a setting.
pub fn vertical_negated(recording: &Recording, plate: usize) -> Recording {
    rewrite(recording, plate, |_, w| Wrench { force_n: w.force_n * DVec3::new(1.0, 1.0, -1.0), ..w })
}

/// Every plate writes the force on the plate where the description means the reaction, or the reverse.
pub fn action_for_reaction(recording: &Recording) -> Recording {
    every(recording, |_, w| Wrench { force_n: -w.force_n, moment_nm: -w.moment_nm })
}

/// Only the horizontal forces and the vertical moment of every plate are those of the action: the vertical force
/// looks right, and nothing but physics tells.
pub fn horizontal_action(recording: &Recording) -> Recording {
    every(recording, |_, w| Wrench {
        force_n: w.force_n * DVec3::new(-1.0, -1.0, 1.0),
        moment_nm: w.moment_nm * DVec3::new(1.0, 1.0, -1.0),
    })
}

/// Moments in N·mm (and centres in mm) called N·m (and m): a thousand times too large.
pub fn millimetres_called_metres(recording: &Recording) -> Recording {
    let mut out = recording.clone();
    for plate in &mut out.plates {
        match &mut plate.sensing {
            Sensing::Linear { columns, .. } => {
                columns.iter_mut().flat_map(|c| &mut c[3..]).for_each(|moment| *moment *= 1000.0);
            }
            Sensing::Reduced { centre_gain, free_moment_gain, .. } => {
                *centre_gain *= 1000.0;
                *free_moment_gain *= 1000.0;
            }
        }
    }
    for channel in &mut out.analog.channels {
        match channel.unit.as_str() {
            "Nmm" => channel.unit = "Nm".into(),
            "mm" => channel.unit = "m".into(),
            _ => {}
        }
    }
    out
}

/// Force channels in another unit than the file says: with 1000, newtons called kilonewtons; with 0.001 the reverse.
/// Moments (and centres) stay.
pub fn forces_called(recording: &Recording, factor: f64) -> Recording {
    let mut out = recording.clone();
    for plate in &mut out.plates {
        match &mut plate.sensing {
            Sensing::Linear { columns, .. } => {
                columns.iter_mut().flat_map(|c| &mut c[..3]).for_each(|force| *force *= factor);
            }
            Sensing::Reduced { force_gain, .. } => force_gain.iter_mut().for_each(|gain| *gain *= factor),
        }
    }
    let word = if factor > 1.0 { "kN" } else { "N" };
    let forces = out.analog.channels.iter_mut().filter(|c| ["N", "kN"].contains(&c.unit.as_str()));
    forces.for_each(|channel| channel.unit = word.into());
    out
}

/// Forces and moments written in another unit than they are called, so that each number is what it should be divided by
/// these: kilograms-force called newtons are (9.80665, 9.80665).
pub fn called_otherwise(recording: &Recording, force: f64, moment: f64) -> Recording {
    (0..recording.plates.len()).fold(recording.clone(), |r, plate| {
        let origin_m = sensor_origin_m(&r, plate);
        rewrite(&r, plate, |_, w| {
            let about_sensors = (w.moment_nm - w.force_n.cross(origin_m)) / moment;
            let force_n = w.force_n / force;
            Wrench { force_n, moment_nm: about_sensors + force_n.cross(origin_m) }
        })
    })
}

/// Channels of a plate cut off at a share of their own largest size, as by an amplifier set too high.
pub fn clipped(recording: &Recording, plate: usize, share: f64) -> Recording {
    let mut out = recording.clone();
    for k in channels(recording, plate) {
        if let Some(channel) = out.analog.channels.get_mut(k) {
            let most = channel.samples.iter().fold(0.0f64, |m, v| m.max(v.abs()));
            let limit = most * share.abs();
            channel.samples.iter_mut().for_each(|v| *v = v.clamp(-limit, limit));
        }
    }
    out
}

/// Samples lost from every channel at a time; what follows moves up.
pub fn dropped_samples(recording: &Recording, at_s: f64, count: usize) -> Recording {
    let mut out = recording.clone();
    let from = ((at_s * recording.analog.rate_hz).max(0.0) as usize).min(recording.analog.len());
    for channel in &mut out.analog.channels {
        let (from, to) =
            (from.min(channel.samples.len()), from.saturating_add(count).min(channel.samples.len()));
        channel.samples.drain(from..to);
    }
    out
}

/// One plate runs late by whole samples against the rest; its first value is held until it begins.
pub fn late_plate(recording: &Recording, plate: usize, by_s: f64) -> Recording {
    let mut out = recording.clone();
    let late = ((by_s * recording.analog.rate_hz).max(0.0).round() as usize).min(recording.analog.len());
    for k in channels(recording, plate) {
        if let Some(channel) = out.analog.channels.get_mut(k) {
            let first = channel.samples.first().copied().unwrap_or(f64::NAN);
            let n = channel.samples.len();
            channel.samples.splice(0..0, std::iter::repeat_n(first, late));
            channel.samples.truncate(n);
        }
    }
    out
}

/// So many samples of one channel of a plate replaced by one value, as by a spark or an error of transmission.
pub fn spike(
    recording: &Recording,
    plate: usize,
    channel: usize,
    at_s: f64,
    value: f64,
    samples: usize,
) -> Recording {
    let mut out = recording.clone();
    let from = ((at_s * recording.analog.rate_hz).max(0.0).round() as usize).min(recording.analog.len());
    if let Some(channel) =
        channels(recording, plate).get(channel).and_then(|k| out.analog.channels.get_mut(*k))
    {
        channel.samples.iter_mut().skip(from).take(samples).for_each(|v| *v = value);
    }
    out
}

/// One channel of a plate reads one value all along.
pub fn dead_channel(recording: &Recording, plate: usize, channel: usize, value: f64) -> Recording {
    spike(recording, plate, channel, 0.0, value, usize::MAX)
}

/// A plate stops reading for a while: its channels hold their last value, or fall to 0.
pub fn dropout(recording: &Recording, plate: usize, from_s: f64, to_s: f64, to_zero: bool) -> Recording {
    let mut out = recording.clone();
    let at = |s: f64| ((s * recording.analog.rate_hz).max(0.0).round() as usize).min(recording.analog.len());
    let (from, to) = (at(from_s), at(to_s));
    for k in channels(recording, plate) {
        if let Some(channel) = out.analog.channels.get_mut(k) {
            let last = channel.samples.get(from).copied().unwrap_or(f64::NAN);
            let value = if to_zero { 0.0 } else { last };
            channel.samples.iter_mut().take(to).skip(from).for_each(|v| *v = value);
        }
    }
    out
}

/// The channels of one plate written in the place of another's.
pub fn copied_plate(recording: &Recording, from: usize, to: usize) -> Recording {
    let mut out = recording.clone();
    for (a, b) in channels(recording, from).into_iter().zip(channels(recording, to)) {
        let source = recording.analog.channels.get(a).map(|c| c.samples.clone());
        if let (Some(source), Some(channel)) = (source, out.analog.channels.get_mut(b)) {
            channel.samples = source;
        }
    }
    out
}

/// The other hand than the player's.
pub fn wrong_hand(hand: Hand) -> Hand {
    match hand {
        Hand::Right => Hand::Left,
        Hand::Left => Hand::Right,
    }
}

/// Left called right: markers beginning with L and R change names, and so do the feet that plates state.
pub fn sides_mislabelled(recording: &Recording) -> Recording {
    let mut out = recording.clone();
    for marker in &mut out.markers {
        let other = match marker.label.chars().next() {
            Some('L') => "R",
            Some('R') => "L",
            _ => continue,
        };
        marker.label.replace_range(0..1, other);
    }
    for plate in &mut out.plates {
        plate.foot = plate.foot.map(|foot| match foot {
            Foothold::Left => Foothold::Right,
            Foothold::Right => Foothold::Left,
            Foothold::Lead => Foothold::Trail,
            Foothold::Trail => Foothold::Lead,
            Foothold::Both => Foothold::Both,
        });
    }
    out
}

/// One plate drifts, as when it warms: force (N/s) and moment (N·m/s) about the surface centre, plate axes.
pub fn drifting(recording: &Recording, plate: usize, force_n_s: DVec3, moment_nm_s: DVec3) -> Recording {
    rewrite(recording, plate, |t, w| Wrench {
        force_n: w.force_n + force_n_s * t,
        moment_nm: w.moment_nm + moment_nm_s * t,
    })
}

/// An offset that nobody removed: a constant force (N) and moment (N·m) about the surface centre, plate axes.
pub fn unloaded_offset(recording: &Recording, plate: usize, force_n: DVec3, moment_nm: DVec3) -> Recording {
    rewrite(recording, plate, |_, w| Wrench {
        force_n: w.force_n + force_n,
        moment_nm: w.moment_nm + moment_nm,
    })
}

/// A foot that bridges a gap: a share of what `from` carries goes into plate `to`, acting where it acted. Read
/// from `to` alone, that share lies outside its outline.
pub fn foot_over_gap(recording: &Recording, from: usize, to: usize, share: f64) -> Recording {
    let (Some(source), Some(target)) = (recording.plates.get(from), recording.plates.get(to)) else {
        return recording.clone();
    };
    let (Some(source_axes), Some(target_axes), Some(inverse)) =
        (source.axes(), target.axes(), Inverse::of(source, up(recording)))
    else {
        return recording.clone();
    };
    let apart = source.centre_m() - target.centre_m();
    let carried: Vec<Wrench> = read(recording, &inverse);
    let moved = |i: usize| -> Wrench {
        let w = carried.get(i).copied().unwrap_or(Wrench::ZERO);
        let force = source_axes * w.force_n * share;
        let moment = source_axes * w.moment_nm * share + apart.cross(force);
        let back = target_axes.transpose();
        Wrench { force_n: back * force, moment_nm: back * moment }
    };
    let less = rewrite(recording, from, |_, w| Wrench {
        force_n: w.force_n * (1.0 - share),
        moment_nm: w.moment_nm * (1.0 - share),
    });
    rewrite_indexed(&less, to, |i, w| {
        let more = moved(i);
        Wrench { force_n: w.force_n + more.force_n, moment_nm: w.moment_nm + more.moment_nm }
    })
}

/// Part of what one plate carries is borne beside it, on the surround, and lost.
pub fn foot_off_plate(recording: &Recording, plate: usize, share: f64) -> Recording {
    rewrite(recording, plate, |_, w| Wrench {
        force_n: w.force_n * (1.0 - share),
        moment_nm: w.moment_nm * (1.0 - share),
    })
}

/// Every plate reads too much or too little by a factor: a wrong gain, so body weight is off.
pub fn body_weight_off(recording: &Recording, factor: f64) -> Recording {
    every(recording, |_, w| Wrench { force_n: w.force_n * factor, moment_nm: w.moment_nm * factor })
}

/// The corners listed the other way round: the plate's z axis points the wrong way and one axis is mirrored.
pub fn corners_mirrored(recording: &Recording, plate: usize) -> Recording {
    with_corners(recording, plate, |[c1, c2, c3, c4]| [c2, c1, c4, c3])
}

/// Two corners exchanged: the outline crosses itself.
pub fn corners_exchanged(recording: &Recording, plate: usize) -> Recording {
    with_corners(recording, plate, |[c1, c2, c3, c4]| [c2, c1, c3, c4])
}

/// The corners listed in order but from another quadrant: the plate is turned half round on the floor.
pub fn corners_turned(recording: &Recording, plate: usize) -> Recording {
    with_corners(recording, plate, |[c1, c2, c3, c4]| [c3, c4, c1, c2])
}

/// Nobody ever stood on the plate.
pub fn never_loaded(recording: &Recording, plate: usize) -> Recording {
    rewrite(recording, plate, |_, _| Wrench::ZERO)
}

/// The description of the plates is gone; the channels are still there.
pub fn no_plates(recording: &Recording) -> Recording {
    let mut out = recording.clone();
    out.plates.clear();
    out
}

/// Nothing is said of the player's mass and no event is written.
pub fn says_little(recording: &Recording) -> Recording {
    Recording { mass_kg: None, marks: Vec::new(), ..recording.clone() }
}

/// From the sensors' own origin to the surface centre, plate axes, m.
fn sensor_origin_m(recording: &Recording, plate: usize) -> DVec3 {
    match recording.plates.get(plate).map(|p| &p.sensing) {
        Some(Sensing::Linear { origin_m, .. }) => *origin_m,
        _ => DVec3::ZERO,
    }
}

fn with_corners(recording: &Recording, plate: usize, order: impl Fn([DVec3; 4]) -> [DVec3; 4]) -> Recording {
    let mut out = recording.clone();
    if let Some(plate) = out.plates.get_mut(plate) {
        plate.corners_m = order(plate.corners_m);
    }
    out
}

fn channels(recording: &Recording, plate: usize) -> Vec<usize> {
    recording
        .plates
        .get(plate)
        .and_then(|p| Inverse::of(p, up(recording)))
        .map_or(Vec::new(), |i| i.channels())
}

fn up(recording: &Recording) -> Axis {
    recording.up.unwrap_or(Axis::PlusZ)
}

fn every(recording: &Recording, change: impl Fn(f64, Wrench) -> Wrench) -> Recording {
    (0..recording.plates.len()).fold(recording.clone(), |r, plate| rewrite(&r, plate, &change))
}

/// Reads a plate, changes its wrench as a function of time, and writes the channels anew.
fn rewrite(recording: &Recording, plate: usize, change: impl Fn(f64, Wrench) -> Wrench) -> Recording {
    let rate = recording.analog.rate_hz;
    rewrite_indexed(recording, plate, |i, w| change(i as f64 / rate, w))
}

fn rewrite_indexed(
    recording: &Recording,
    plate: usize,
    change: impl Fn(usize, Wrench) -> Wrench,
) -> Recording {
    let mut out = recording.clone();
    let Some(inverse) = recording.plates.get(plate).and_then(|p| Inverse::of(p, up(recording))) else {
        return out;
    };
    let columns = inverse.channels();
    for (i, wrench) in read(recording, &inverse).into_iter().enumerate() {
        for (k, value) in columns.iter().zip(inverse.values(&change(i, wrench))) {
            if let Some(sample) = out.analog.channels.get_mut(*k).and_then(|c| c.samples.get_mut(i)) {
                *sample = value;
            }
        }
    }
    out
}

fn read(recording: &Recording, inverse: &Inverse) -> Vec<Wrench> {
    let columns: Vec<Option<&Vec<f64>>> = inverse
        .channels()
        .into_iter()
        .map(|k| recording.analog.channels.get(k).map(|c| &c.samples))
        .collect();
    let value =
        |column: &Option<&Vec<f64>>, i: usize| column.and_then(|c| c.get(i)).copied().unwrap_or(f64::NAN);
    (0..recording.analog.len())
        .map(|i| inverse.wrench(&columns.iter().map(|c| value(c, i)).collect::<Vec<f64>>()))
        .collect()
}
