//! What the C3D tests share: small recordings, wrenches by hand, and where the measured recordings lie.
#![allow(dead_code, clippy::unwrap_used)]
use formats::c3d::{Encoding, Length, Processor, Storage};
use glam::DVec3;
use mechanics::plate::ReducedAxes;
use mechanics::{Analog, Channel, Measures, Plate, Recording, Sensing};
use std::path::PathBuf;

/// Every processor, storage and sign.
pub fn encodings() -> Vec<Encoding> {
    let mut out = Vec::new();
    for processor in Processor::ALL {
        for storage in Storage::ALL {
            for unsigned in [false, true] {
                out.push(Encoding { processor, storage, unsigned, length: Length::Millimetres, types: None });
            }
        }
    }
    out
}

/// The bytes of a measured recording, or `None` after saying that the test is skipped for it.
pub fn measured(name: &str) -> Option<Vec<u8>> {
    let folder = std::env::var_os("UNDERFOOT_RECORDINGS").map_or_else(
        || PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data/real"),
        PathBuf::from,
    );
    match std::fs::read(folder.join(name)) {
        Ok(bytes) => Some(bytes),
        Err(why) => {
            println!("skipped: {name} is not in the folder of measured recordings ({why})");
            None
        }
    }
}

/// Force and moment about the surface centre in plate axes at one sample: Σ column · channel, then M + F × origin; for
/// reduced channels P × F + T. Source: C3D user guide, TYPE-1 to TYPE-4.
pub fn surface(plate: &Plate, analog: &Analog, sample: usize) -> (DVec3, DVec3) {
    let value = |channel: usize| analog.channels[channel].samples[sample];
    match &plate.sensing {
        Sensing::Linear { channels, columns, origin_m } => {
            let mut w = [0.0; 6];
            for (channel, column) in channels.iter().zip(columns) {
                for row in 0..6 {
                    w[row] += column[row] * value(*channel);
                }
            }
            let (force, moment) = (DVec3::new(w[0], w[1], w[2]), DVec3::new(w[3], w[4], w[5]));
            (force, moment + force.cross(*origin_m))
        }
        Sensing::Reduced { force, force_gain, centre, centre_gain, free_moment, free_moment_gain, axes } => {
            assert_eq!(*axes, ReducedAxes::Plate);
            let force = DVec3::from_array([0, 1, 2].map(|k| force_gain[k] * value(force[k])));
            let place = centre.map(|c| c.map_or(0.0, |c| centre_gain * value(c)));
            let free = DVec3::Z * free_moment.map_or(0.0, |c| free_moment_gain * value(c));
            (force, DVec3::from_array(place).cross(force) + free)
        }
    }
}

/// Centre of pressure in plate axes and free moment from a wrench about the surface centre.
pub fn pressure(force: DVec3, moment: DVec3) -> (f64, f64, f64) {
    let (x, y) = (-moment.y / force.z, moment.x / force.z);
    (x, y, moment.z - (x * force.y - y * force.x))
}

/// Corners of a plate 600 by 400 mm with z down, as in the published check (lab x = plate x, lab y = −plate y).
pub const CORNERS: [DVec3; 4] = [
    DVec3::new(0.6, 0.0, 0.0),
    DVec3::new(0.0, 0.0, 0.0),
    DVec3::new(0.0, 0.4, 0.0),
    DVec3::new(0.6, 0.4, 0.0),
];

/// A plate with those corners.
pub fn plate(number: usize, sensing: Sensing, kind: &str) -> Plate {
    let shift = DVec3::X * 0.7 * (number as f64 - 1.0);
    Plate {
        name: number.to_string(),
        corners_m: CORNERS.map(|c| c + shift),
        sensing,
        measures: Measures::BySign,
        cover_m: 0.0,
        baseline: None,
        foot: None,
        kind: kind.into(),
    }
}

/// A channel.
pub fn channel(label: &str, unit: &str, samples: Vec<f64>) -> Channel {
    Channel { label: label.into(), unit: unit.into(), description: format!("about {label}"), samples }
}

/// A recording of analog channels alone, 1000 Hz.
pub fn analog_only(channels: Vec<Channel>, plates: Vec<Plate>) -> Recording {
    Recording {
        name: "made".into(),
        analog: Analog { rate_hz: 1000.0, start_s: 0.0, channels },
        plates,
        ..Recording::default()
    }
}
