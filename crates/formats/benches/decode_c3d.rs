//! Reading a C3D beside copying the same bytes: 10 s, two plates of six channels at 2 kHz, 40 markers at 200 Hz.
//!
//! `cargo bench -p formats --bench decode_c3d`
use divan::{Bencher, black_box, counter::BytesCount};
use formats::c3d::{self, Encoding, Processor, Storage};
use glam::DVec3;
use mechanics::{Analog, Channel, Marker, Measures, Plate, Recording, Sensing};

fn main() {
    divan::main();
}

const FRAMES: usize = 2_000;
const SAMPLES: usize = 10;

fn recording() -> Recording {
    let wave =
        |k: usize| (0..FRAMES * SAMPLES).map(|t| ((t * (k + 3)) % 4096) as f64 * 0.25 - 300.0).collect();
    let units = ["N", "N", "N", "Nmm", "Nmm", "Nmm"];
    let channel = |k: usize| Channel {
        label: format!("c{k}"),
        unit: units[k % 6].into(),
        description: String::new(),
        samples: wave(k),
    };
    let marker = |k: usize| Marker {
        label: format!("m{k}"),
        description: String::new(),
        path_m: (0..FRAMES).map(|t| [t as f32 * 1e-3, k as f32 * 0.1, 1.0]).collect(),
    };
    let plate = |n: usize| {
        let x = 0.7 * n as f64;
        Plate {
            name: (n + 1).to_string(),
            corners_m: [[x + 0.6, 0.0], [x, 0.0], [x, 0.4], [x + 0.6, 0.4]]
                .map(|[x, y]| DVec3::new(x, y, 0.0)),
            sensing: Sensing::six(std::array::from_fn(|k| 6 * n + k), 1.0, 1e-3, DVec3::Z * -0.04),
            measures: Measures::BySign,
            cover_m: 0.0,
            baseline: None,
            foot: None,
            kind: String::new(),
        }
    };
    Recording {
        name: "made".into(),
        analog: Analog { rate_hz: 2000.0, start_s: 0.0, channels: (0..12).map(channel).collect() },
        markers: (0..40).map(marker).collect(),
        marker_rate_hz: 200.0,
        plates: (0..2).map(plate).collect(),
        ..Recording::default()
    }
}

fn bytes(processor: Processor, storage: Storage) -> Vec<u8> {
    let how = Encoding { processor, storage, ..Encoding::PLAIN };
    c3d::encode(&recording(), &how).unwrap_or_default()
}

#[divan::bench]
fn copy_of_the_bytes(bencher: Bencher) {
    let bytes = bytes(Processor::Intel, Storage::Float);
    bencher.counter(BytesCount::of_slice(&bytes)).bench_local(|| black_box(&bytes).to_vec());
}

#[divan::bench(args = [
    (Processor::Intel, Storage::Float),
    (Processor::Dec, Storage::Float),
    (Processor::Mips, Storage::Float),
    (Processor::Intel, Storage::Int),
])]
fn decode(bencher: Bencher, (processor, storage): (Processor, Storage)) {
    let bytes = bytes(processor, storage);
    bencher.counter(BytesCount::of_slice(&bytes)).bench_local(|| c3d::decode("made", black_box(&bytes)));
}

#[divan::bench]
fn view_alone(bencher: Bencher) {
    let bytes = bytes(Processor::Intel, Storage::Float);
    bencher.bench_local(|| c3d::View::read(black_box(&bytes)).map(|v| v.data.len()));
}

// The results of a sample are kept until its end, so every one of them needs memory that the process did not have, as
// the first file of a run does. Pages cost the copy and the reader alike.
#[divan::bench(sample_size = 32, sample_count = 10)]
fn fresh_copy_of_the_bytes(bencher: Bencher) {
    let bytes = bytes(Processor::Intel, Storage::Float);
    bencher.counter(BytesCount::of_slice(&bytes)).bench_local(|| black_box(&bytes).to_vec());
}

#[divan::bench(sample_size = 32, sample_count = 10)]
fn fresh_decode(bencher: Bencher) {
    let bytes = bytes(Processor::Intel, Storage::Float);
    bencher.counter(BytesCount::of_slice(&bytes)).bench_local(|| c3d::decode("made", black_box(&bytes)));
}
