//! Writes the small invented C3D files that fuzzing starts from: `seed_c3d FOLDER`.
use formats::c3d::{self, Encoding, Length, PlateType, Processor, Storage};
use glam::DVec3;
use mechanics::plate::ReducedAxes;
use mechanics::recording::Mark;
use mechanics::{Analog, Axis, Channel, Marker, Measures, Plate, Recording, Sensing};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).ok_or("usage: seed_c3d FOLDER")?;
    for (k, kind) in PlateType::ALL.into_iter().enumerate() {
        let how = Encoding {
            processor: Processor::ALL[k % 3],
            storage: Storage::ALL[k % 2],
            unsigned: k > 3,
            length: if k == 5 { Length::Metres } else { Length::Millimetres },
            types: Some(vec![kind]),
        };
        let bytes = c3d::encode(&recording(kind), &how)?;
        std::fs::write(format!("{folder}/type-{}.c3d", kind.code()), bytes)?;
    }
    Ok(())
}

/// One plate of the type, one marker that is hidden once, one event.
fn recording(kind: PlateType) -> Recording {
    let six = ["N", "N", "N", "Nmm", "Nmm", "Nmm"];
    let channel = |k: usize| Channel {
        label: format!("c{k}"),
        unit: if kind.channels() == 6 { six[k] } else { "N" }.into(),
        description: String::new(),
        samples: (0..8).map(|t| (10 * k + t) as f64 + 100.0).collect(),
    };
    let eight = [0, 1, 2, 3, 4, 5, 6, 7];
    let diagonal =
        |n: usize| (0..n).map(|k| std::array::from_fn(|r| if r == k % 6 { 2.0 } else { 0.1 })).collect();
    let sensing = match kind {
        PlateType::One => Sensing::Reduced {
            force: [0, 1, 2],
            force_gain: [1.0; 3],
            centre: [Some(3), Some(4), None],
            centre_gain: 1e-3,
            free_moment: Some(5),
            free_moment_gain: 1e-3,
            axes: ReducedAxes::Plate,
        },
        PlateType::Two => Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 1e-3, DVec3::Z * -0.04),
        PlateType::Three | PlateType::Seven => Sensing::piezo8(eight, 1.0, 0.12, 0.2, -0.05),
        PlateType::Four | PlateType::Five => {
            let n = kind.channels();
            Sensing::calibrated((0..n).collect(), diagonal(n), DVec3::Z * -0.04)
        }
        PlateType::Six => {
            let corner = |k: usize| [(0.2, 0.1), (-0.2, 0.1), (-0.2, -0.1), (0.2, -0.1)][k / 3];
            let columns = (0..12).map(|k| {
                let (x, y) = corner(k);
                let force = [DVec3::X, DVec3::Y, DVec3::Z][k % 3];
                let moment = DVec3::new(x, y, 0.0).cross(force);
                [force.x, force.y, force.z, moment.x, moment.y, moment.z]
            });
            Sensing::calibrated((0..12).collect(), columns.collect(), DVec3::Z * -0.04)
        }
    };
    let plate = Plate {
        name: "1".into(),
        corners_m: [[0.6, 0.0], [0.0, 0.0], [0.0, 0.4], [0.6, 0.4]].map(|[x, y]| DVec3::new(x, y, 0.0)),
        sensing,
        measures: Measures::BySign,
        cover_m: 0.0,
        baseline: Some((0, 2)),
        foot: None,
        kind: String::new(),
    };
    Recording {
        name: "seed".into(),
        analog: Analog {
            rate_hz: 200.0,
            start_s: 0.0,
            channels: (0..kind.channels()).map(channel).collect(),
        },
        markers: vec![Marker {
            label: "m".into(),
            description: "invented".into(),
            path_m: vec![[0.1, 0.2, 0.3], [f32::NAN; 3], [0.0; 3], [0.1, 0.2, 0.4]],
        }],
        marker_rate_hz: 100.0,
        marks: vec![Mark { label: "impact".into(), context: "General".into(), time_s: 0.02 }],
        plates: vec![plate],
        mass_kg: Some(80.0),
        up: Some(Axis::PlusZ),
        ..Recording::default()
    }
}
