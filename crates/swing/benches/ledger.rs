//! Recording → Ledger on ten seconds of two six-component plates at 2 kHz. Compared with NumPy by `scripts/bench`.
use divan::{Bencher, black_box};
use glam::DVec3;
use mechanics::feet::two_feet;
use mechanics::ledger::{Reference, ledger};
use mechanics::wrench::wrenches;
use mechanics::{Analog, Axis, Channel, Frame, Hand, Measures, Plate, Recording, Rig, Sensing, Target};
use swing::{Settings, analyse};

fn main() {
    divan::main();
}

fn recording() -> Recording {
    let samples = 20_000;
    let wave = |k: usize, slow: f64| signal::math::sin(k as f64 / slow);
    let channels = (0..12)
        .map(|c| {
            let level = if c % 6 == 2 { -400.0 } else { 0.0 };
            let size = if c % 6 < 3 { 60.0 } else { 9.0 };
            let value = |k| level + size * wave(k, 900.0 + 70.0 * c as f64);
            Channel {
                label: format!("c{c}"),
                samples: (0..samples).map(value).collect(),
                ..Channel::default()
            }
        })
        .collect();
    let plate = |index: usize, y: f64| {
        let corner = |dx: f64, dy: f64| DVec3::new(0.3 + dx, y + dy, 0.0);
        Plate {
            name: (index + 1).to_string(),
            corners_m: [corner(0.2, -0.2), corner(-0.2, -0.2), corner(-0.2, 0.2), corner(0.2, 0.2)],
            sensing: Sensing::six(
                std::array::from_fn(|k| 6 * index + k),
                1.0,
                1.0,
                DVec3::new(0.0, 0.0, -0.04),
            ),
            measures: Measures::BySign,
            cover_m: 0.0,
            baseline: None,
            foot: None,
            kind: String::new(),
        }
    };
    Recording {
        analog: Analog { rate_hz: 2000.0, start_s: 0.0, channels },
        plates: vec![plate(0, 0.0), plate(1, 0.5)],
        ..Recording::default()
    }
}

/// The whole of `swing::analyse`, with address and quality findings.
#[divan::bench(name = "analyse")]
fn whole(bencher: Bencher) {
    let recording = recording();
    let rig = Rig::of_recording(&recording);
    let how =
        Settings { target: Some(Target::Axis(Axis::PlusY)), hand: Some(Hand::Right), ..Settings::UNSTATED };
    bencher.bench(|| analyse(black_box(&recording), &rig, &how));
}

/// The same arithmetic as the NumPy peer and nothing else.
#[divan::bench(name = "arithmetic")]
fn arithmetic(bencher: Bencher) {
    let recording = recording();
    let rig = Rig::of_recording(&recording);
    let frame = Frame::new(DVec3::ZERO, DVec3::Z, DVec3::Y);
    bencher.bench(|| {
        let frame = frame?;
        let mut plates = wrenches(black_box(&recording), &rig, &frame).value;
        let lead = plates.split_off(1);
        Some(ledger(&two_feet(lead, plates, 20.0), Hand::Right, &Reference::NetCop))
    });
}
