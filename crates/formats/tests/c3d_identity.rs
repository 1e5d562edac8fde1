//! Write then read is the identity, in every encoding; and no bytes bring the reader down.
#![allow(clippy::unwrap_used, clippy::panic)]
mod c3d_common;
use c3d_common::{analog_only, channel, encodings, plate};
use formats::c3d::{
    self, Document, Group, Header, Parameter, PlateType, Processor, Storage, Text, Values, View, Words,
};
use glam::DVec3;
use mechanics::recording::Mark;
use mechanics::{Axis, Marker, Recording, Sensing};
use proptest::collection::vec;
use proptest::prelude::*;

/// A float that every processor can write.
fn any_float() -> impl Strategy<Value = f32> {
    prop_oneof![
        Just(0.0f32),
        -1e6f32..1e6,
        any::<u32>().prop_map(f32::from_bits).prop_filter("DEC has no form for it", |f| {
            c3d::put_dec_f32(*f).is_some_and(|b| c3d::dec_f32(b).to_bits() == f.to_bits())
        }),
    ]
}

fn any_text(most: usize) -> impl Strategy<Value = Text> {
    vec(any::<u8>(), 0..most).prop_map(Text)
}

fn any_values() -> impl Strategy<Value = (Vec<u8>, Values)> {
    (vec(0u8..5, 0..4), 0..5).prop_flat_map(|(dims, kind)| {
        let count = dims.iter().map(|&d| usize::from(d)).product::<usize>();
        let values = match kind {
            0 => vec(any::<u8>(), count).prop_map(Values::Char).boxed(),
            1 => vec(any::<u8>(), count).prop_map(Values::Byte).boxed(),
            2 => vec(any::<i16>(), count).prop_map(Values::Int).boxed(),
            3 => vec(any_float(), count).prop_map(Values::Float).boxed(),
            _ => vec(any::<u8>(), 3 * count).prop_map(|bytes| Values::Other { kind: 3, bytes }).boxed(),
        };
        (Just(dims), values)
    })
}

fn any_parameter() -> impl Strategy<Value = Parameter> {
    ("[A-Z_]{1,12}", any::<bool>(), any_text(40), any_values()).prop_map(
        |(name, locked, description, (dims, values))| Parameter {
            name: Text::from(name.as_str()),
            locked,
            description,
            dims,
            values,
        },
    )
}

/// A group of some other program.
fn any_group(id: u8) -> impl Strategy<Value = Group> {
    ("X[A-Z_]{1,12}", any::<bool>(), any_text(40), vec(any_parameter(), 0..5)).prop_map(
        move |(name, locked, description, parameters)| Group {
            id,
            name: Text::from(name.as_str()),
            locked,
            description,
            parameters,
        },
    )
}

fn any_header() -> impl Strategy<Value = Header> {
    let events = (any::<[[u8; 4]; 18]>(), any::<[u8; 18]>(), vec(any_float(), 18), 0u16..25, any::<u16>());
    (events, vec(any::<u16>(), 137 + 22), any::<[u16; 3]>()).prop_map(|(events, reserved, words)| Header {
        event_labels: events.0,
        event_flags: events.1,
        event_times_s: events.2.try_into().unwrap(),
        events: events.3,
        label_key: events.4,
        reserved_a: reserved[..137].try_into().unwrap(),
        reserved_d: reserved[137..].try_into().unwrap(),
        reserved_b: words[0],
        reserved_c: words[1],
        max_gap: words[2],
        ..Header::empty()
    })
}

fn any_document() -> impl Strategy<Value = Document> {
    let counts =
        (0usize..4, 0usize..5, 1usize..4, 1usize..9).prop_filter("something is stored", |c| c.0 + c.1 > 0);
    let encoding = (0usize..3, any::<bool>(), any::<bool>());
    (
        any_header(),
        counts,
        encoding,
        vec((3u8..128).prop_flat_map(any_group), 0..4),
        any::<[u8; 2]>(),
        0usize..3,
    )
        .prop_flat_map(|(header, counts, encoding, groups, prefix, between)| {
            let (points, channels, samples, frames) = counts;
            let values = frames * (4 * points + channels * samples);
            let words = if encoding.1 {
                vec(any_float(), values).prop_map(Words::Float).boxed()
            } else {
                vec(any::<i16>(), values).prop_map(Words::Int).boxed()
            };
            let before = vec(any::<u8>(), 512 * between);
            (Just((header, counts, encoding, groups, prefix)), words, before)
        })
        .prop_map(
            |((mut header, counts, encoding, mut groups, parameter_prefix), words, before_parameters)| {
                let (points, channels, samples_per_frame, frames) = counts;
                let scale = if encoding.1 { -0.5f32 } else { 0.5 };
                let int = |name: &str, value: usize| Parameter {
                    name: name.into(),
                    locked: encoding.2,
                    description: Text::from("counts"),
                    dims: Vec::new(),
                    values: Values::Int(vec![value as i16]),
                };
                let float =
                    |name: &str, value: f32| Parameter { values: Values::Float(vec![value]), ..int(name, 0) };
                header.points = points as u16;
                header.analog_per_frame = (channels * samples_per_frame) as u16;
                header.samples_per_frame = samples_per_frame as u16;
                (header.first_frame, header.last_frame) = (1, frames as u16);
                header.scale = scale;
                header.rate_hz = 100.0;
                let data_block = 60u16;
                let group = |id, name: &str, parameters| Group {
                    id,
                    name: name.into(),
                    locked: encoding.2,
                    description: Text::from("ours"),
                    parameters,
                };
                // Numbers of groups are unique; foreign ones come first.
                groups.dedup_by_key(|g| g.id);
                for (id, group) in (3..).zip(&mut groups) {
                    group.id = id;
                }
                groups.push(group(
                    1,
                    "POINT",
                    vec![
                        int("USED", points),
                        int("FRAMES", frames),
                        int("DATA_START", usize::from(data_block)),
                        float("SCALE", scale),
                        float("RATE", 100.0),
                    ],
                ));
                groups.push(group(
                    2,
                    "ANALOG",
                    vec![int("USED", channels), float("RATE", 100.0 * samples_per_frame as f32)],
                ));
                Document {
                    processor: Processor::ALL[encoding.0],
                    header,
                    parameter_prefix,
                    before_parameters,
                    groups,
                    data_block,
                    points,
                    channels,
                    samples_per_frame,
                    scale: 0.5,
                    words,
                }
            },
        )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    /// Header, foreign and locked groups, descriptions, every stored word.
    #[test]
    fn a_document_survives_writing(document in any_document()) {
        let bytes = document.write().unwrap();
        prop_assert_eq!(bytes.len() % 512, 0);
        let again = Document::read(&bytes).unwrap();
        prop_assert_eq!(&again.value, &document);
        prop_assert_eq!(again.value.write().unwrap(), bytes);
    }

    /// Changing the processor changes bytes and no value.
    #[test]
    fn a_document_survives_another_processor(document in any_document()) {
        for processor in Processor::ALL {
            let other = Document { processor, ..document.clone() };
            let again = Document::read(&other.write().unwrap()).unwrap().value;
            prop_assert_eq!(again, other);
        }
    }

    /// View and document give the same points and samples.
    #[test]
    fn view_and_document_agree(document in any_document()) {
        let bytes = document.write().unwrap();
        let view = View::read(&bytes).unwrap();
        prop_assert_eq!(view.layout.frames, document.frames());
        for frame in 0..document.frames() {
            for point in 0..=document.points {
                let (a, b) = (view.point(frame, point), document.point(frame, point));
                prop_assert_eq!(format!("{a:?}"), format!("{b:?}"));
            }
        }
        let recording = c3d::decode("a", &bytes).unwrap().value;
        for (c, channel) in recording.analog.channels.iter().enumerate() {
            for (k, value) in channel.samples.iter().enumerate() {
                let stored = view.analog(k / document.samples_per_frame, k % document.samples_per_frame, c).unwrap();
                prop_assert_eq!(stored, *value);
            }
        }
    }
}

fn any_recording() -> impl Strategy<Value = Recording> {
    let counts = (1usize..4, 1usize..30, 0usize..4);
    let rate = prop_oneof![Just(100.0), Just(200.0), Just(119.88)];
    (counts, rate, any::<bool>(), proptest::option::of(20.0f64..200.0), proptest::option::of(0usize..6))
        .prop_flat_map(|((samples, frames, markers), rate, loaded, mass_kg, up)| {
            let total = samples * frames;
            let channels = vec(vec(-3000.0f64..3000.0, total), 14);
            let paths =
                vec(vec(proptest::option::of([-3.0f32..3.0, -3.0f32..3.0, 0.01f32..3.0]), frames), markers);
            let marks = vec(("[A-Z]{1,9}", "(Left|Right|)", 0.0f64..100.0), 0..25);
            (channels, paths, marks).prop_map(move |(channels, paths, marks)| {
                let units = ["N", "N", "N", "Nmm", "Nmm", "Nmm"];
                let channels = channels.into_iter().enumerate().map(|(k, samples)| {
                    let offset = if loaded { 5000.0 } else { 0.0 };
                    let samples = samples.iter().map(|v| v + offset).collect();
                    channel(&format!("c{k}"), units.get(k).copied().unwrap_or("N"), samples)
                });
                let sensing = Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 1e-3, DVec3::new(0.001, 0.002, -0.03));
                let piezo = Sensing::piezo8([6, 7, 8, 9, 10, 11, 12, 13], 1.0, 0.2, 0.35, -0.058);
                let plates = vec![
                    plate(1, sensing, PlateType::Two.label()),
                    plate(2, piezo, PlateType::Three.label()),
                ];
                let mut recording = analog_only(channels.collect(), plates);
                recording.mass_kg = mass_kg.map(|m| f64::from(m as f32));
                recording.up = up.map(|_| Axis::PlusZ);
                recording.marker_rate_hz = if markers > 0 { rate } else { 0.0 };
                recording.analog.rate_hz = if markers > 0 { rate * samples as f64 } else { 1000.0 };
                let marker = |(k, path): (usize, Vec<Option<[f32; 3]>>)| Marker {
                    label: format!("m{k}"),
                    description: format!("marker {k}"),
                    path_m: path.into_iter().map(|p| p.unwrap_or([f32::NAN; 3])).collect(),
                };
                recording.markers = paths.into_iter().enumerate().map(marker).collect();
                let mark = |(label, context, time_s): (String, String, f64)| Mark { label, context, time_s };
                recording.marks = marks.into_iter().map(mark).collect();
                recording
            })
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn a_recording_survives_writing(recording in any_recording()) {
        for mut how in encodings() {
            for length in [c3d::Length::Millimetres, c3d::Length::Metres] {
                how.length = length;
                let out = c3d::decode("made", &c3d::encode(&recording, &how).unwrap()).unwrap();
                let read = out.value;
                prop_assert_eq!(read.plates.len(), 2, "{:?}", out.findings);
                prop_assert_eq!(&read.mass_kg, &recording.mass_kg);
                prop_assert_eq!(read.up, recording.up);
                prop_assert!((read.analog.rate_hz / recording.analog.rate_hz - 1.0).abs() < 1e-6);
                prop_assert_eq!(read.analog.channels.len(), recording.analog.channels.len());
                for (a, b) in read.analog.channels.iter().zip(&recording.analog.channels) {
                    prop_assert_eq!((&a.label, &a.unit, &a.description), (&b.label, &b.unit, &b.description));
                    prop_assert_eq!(a.samples.len(), b.samples.len());
                    let low = b.samples.iter().copied().fold(f64::INFINITY, f64::min);
                    let high = b.samples.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                    // The documented quantisation: half a step of range / 64,000, or of 2 × magnitude / 64,000 where
                    // the range does not reach zero; and the rounding of a float.
                    let span = if low * high > 0.0 { 2.0 * low.abs().max(high.abs()) } else { high - low };
                    let step = if how.storage == Storage::Int { span / 64_000.0 * 0.5001 } else { 0.0 };
                    for (x, y) in a.samples.iter().zip(&b.samples) {
                        prop_assert!((x - y).abs() <= step + y.abs() * 1.2e-7 + 1e-9, "{x} {y} {step} {how:?}");
                    }
                }
                prop_assert_eq!(read.markers.len(), recording.markers.len());
                for (a, b) in read.markers.iter().zip(&recording.markers) {
                    prop_assert_eq!((&a.label, &a.description), (&b.label, &b.description));
                    for (x, y) in a.path_m.iter().flatten().zip(b.path_m.iter().flatten()) {
                        let step = if how.storage == Storage::Int { 3.0 / 64_000.0 } else { 0.0 };
                        let exact = how.storage == Storage::Float && length == c3d::Length::Metres;
                        prop_assert!(x.is_nan() == y.is_nan());
                        if exact && y.is_finite() && how.processor != Processor::Dec {
                            prop_assert_eq!(x.to_bits(), y.to_bits());
                        }
                        prop_assert!(y.is_nan() || (x - y).abs() <= step + y.abs() * 2.4e-7, "{x} {y}");
                    }
                }
                prop_assert_eq!(read.marks.len(), recording.marks.len());
                for (a, b) in read.marks.iter().zip(&recording.marks) {
                    prop_assert_eq!((&a.label, &a.context), (&b.label, &b.context));
                    prop_assert!((a.time_s - b.time_s).abs() < 5e-6);
                }
                for (a, b) in read.plates.iter().zip(&recording.plates) {
                    prop_assert_eq!((&a.name, &a.kind), (&b.name, &b.kind));
                    prop_assert!(a.corners_m.iter().zip(b.corners_m).all(|(a, b)| (a - b).length() < 1e-6));
                }
            }
        }
    }

    /// Whatever the bytes, reading returns; and what it returns is no larger than the bytes can account for.
    #[test]
    fn flipped_bits_return(recording in any_recording(), which in 0usize..12, flips in vec((any::<u32>(), 0u8..8), 1..24)) {
        let mut bytes = c3d::encode(&recording, &encodings()[which]).unwrap();
        // Half of the flips hit header and parameters, where they do most harm.
        for (k, (place, bit)) in flips.into_iter().enumerate() {
            let within = if k % 2 == 0 { bytes.len() } else { bytes.len().min(3000) };
            bytes[place as usize % within] ^= 1 << bit;
        }
        bounded(&bytes)?;
    }

    #[test]
    fn random_sections_return(head in vec(any::<u8>(), 0..64), body in vec(any::<u8>(), 0..3000)) {
        let mut bytes = vec![0u8; 512];
        bytes[..head.len()].copy_from_slice(&head);
        (bytes[0], bytes[1]) = (2, 0x50);
        bytes.extend([1, 0x50, 3, 84 + head.first().copied().unwrap_or(0) % 3]);
        bytes.extend(body);
        bounded(&bytes)?;
    }
}

/// Reads the bytes every way there is; a result must not hold more samples than the file has bytes.
fn bounded(bytes: &[u8]) -> Result<(), TestCaseError> {
    if let Ok(read) = c3d::decode("a", bytes) {
        let analog = read.value.analog.channels.iter().map(|c| c.samples.len()).sum::<usize>();
        let markers = read.value.markers.iter().map(|m| m.path_m.len()).sum::<usize>();
        prop_assert!(2 * analog + 8 * markers <= bytes.len());
        prop_assert!(read.value.plates.len() <= 64);
    }
    if let Ok(document) = Document::read(bytes) {
        let _ = document.value.write();
    }
    Ok(())
}

#[test]
fn every_truncation_returns() {
    let wave = (0..24).map(|k| f64::from(k) - 12.0).collect::<Vec<_>>();
    let channels = (0..8).map(|k| channel(&format!("c{k}"), "N", wave.clone())).collect();
    let sensing = Sensing::piezo8([0, 1, 2, 3, 4, 5, 6, 7], 1.0, 0.2, 0.35, -0.058);
    let recording = analog_only(channels, vec![plate(1, sensing, "")]);
    for how in encodings() {
        let bytes = c3d::encode(&recording, &how).unwrap();
        for end in 0..bytes.len() {
            bounded(&bytes[..end]).unwrap();
        }
    }
}
