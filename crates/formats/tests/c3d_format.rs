//! The format itself, byte by byte. Sources are named beside each check.
#![allow(clippy::unwrap_used, clippy::panic)]
mod c3d_common;
use c3d_common::{analog_only, channel, encodings};
use formats::c3d::{
    self, Document, Encoding, Group, Header, Parameter, Point, Processor, Storage, Text, Values, View, Words,
};
use mechanics::finding::*;
use mechanics::{Marker, Recording};

fn parameter(name: &str, dims: &[u8], values: Values) -> Parameter {
    let (dims, name) = (dims.to_vec(), Text::from(name));
    Parameter { name, locked: false, description: Text::default(), dims, values }
}

fn group(id: u8, name: &str, parameters: Vec<Parameter>) -> Group {
    Group { id, name: name.into(), locked: false, description: Text::default(), parameters }
}

/// One point, six channels, two samples a frame, three frames, 100 Hz: built by hand, and read the same by two public
/// libraries (ezc3d 1.7.2 and c3d 0.6.0).
fn smallest(processor: Processor) -> Document {
    let int = |name, value| parameter(name, &[], Values::Int(vec![value]));
    let float = |name, value| parameter(name, &[], Values::Float(vec![value]));
    let mut header = Header::empty();
    header.points = 1;
    header.analog_per_frame = 12;
    (header.first_frame, header.last_frame, header.max_gap) = (1, 3, 10);
    header.scale = -0.1;
    header.samples_per_frame = 2;
    header.rate_hz = 100.0;
    header.events = 1;
    header.event_times_s[0] = 0.01;
    header.event_labels[0] = *b"HIT ";
    let point = vec![
        int("USED", 1),
        int("FRAMES", 3),
        float("SCALE", -0.1),
        float("RATE", 100.0),
        int("DATA_START", 4),
        parameter("UNITS", &[2], Values::Char(b"mm".to_vec())),
    ];
    let analog = vec![
        int("USED", 6),
        float("RATE", 200.0),
        float("GEN_SCALE", 1.0),
        parameter("SCALE", &[6], Values::Float(vec![2.0; 6])),
        parameter("OFFSET", &[6], Values::Int(vec![1, 0, 0, 0, 0, 0])),
        parameter("LABELS", &[2, 6], Values::Char(b"FxFyFzMxMyMz".to_vec())),
    ];
    let mut words = Vec::new();
    for frame in 0..3 {
        words.extend([1000.0 + frame as f32, 2000.0, 3000.0, 15888.0]);
        words.extend((0..12).map(|k| (100 * frame + k) as f32));
    }
    Document {
        processor,
        header,
        parameter_prefix: [1, 0x50],
        before_parameters: Vec::new(),
        groups: vec![group(1, "POINT", point), group(2, "ANALOG", analog)],
        data_block: 4,
        points: 1,
        channels: 6,
        samples_per_frame: 2,
        scale: f64::from(0.1f32),
        words: Words::Float(words),
    }
}

/// Byte facts of the smallest verified file.
#[test]
fn smallest_file_has_the_verified_bytes() {
    let bytes = smallest(Processor::Intel).write().unwrap();
    assert_eq!(bytes.len(), 2048);
    let first = [
        0x02, 0x50, 0x01, 0x00, 0x0c, 0x00, 0x01, 0x00, 0x03, 0x00, 0x0a, 0x00, 0xcd, 0xcc, 0xcc, 0xbd, 0x04,
        0x00, 0x02, 0x00, 0x00, 0x00, 0xc8, 0x42,
    ];
    assert_eq!(bytes[..24], first);
    assert_eq!(bytes[298..304], [0x39, 0x30, 0x01, 0x00, 0x00, 0x00]);
    let parameters = [
        0x01, 0x50, 0x02, 0x54, 0x05, 0xff, 0x50, 0x4f, 0x49, 0x4e, 0x54, 0x03, 0x00, 0x00, 0x04, 0x01, 0x55,
        0x53, 0x45, 0x44, 0x07, 0x00, 0x02, 0x00, 0x01, 0x00, 0x00,
    ];
    assert_eq!(bytes[512..512 + parameters.len()], parameters);
}

#[test]
fn smallest_file_is_read_the_same_from_every_processor() {
    for processor in Processor::ALL {
        let document = smallest(processor);
        let bytes = document.write().unwrap();
        assert_eq!(Document::read(&bytes).unwrap().value, document, "{processor:?}");
        let read = c3d::decode("a.c3d", &bytes).unwrap();
        let recording = read.value;
        assert_eq!(recording.analog.rate_hz, 200.0);
        assert_eq!(recording.marker_rate_hz, 100.0);
        // (stored − OFFSET) × SCALE: channel 1 holds 0, 6, 100, 106, 200, 206.
        assert_eq!(recording.analog.channels[0].samples, [-2.0, 10.0, 198.0, 210.0, 398.0, 410.0]);
        assert_eq!(recording.analog.channels[5].samples[5], 422.0);
        assert_eq!(recording.analog.channels[2].label, "Fz");
        assert_eq!(recording.markers[0].path_m[2], [1.002, 2.0, 3.0]);
        assert_eq!(recording.marks.len(), 1);
        assert_eq!(recording.marks[0].label, "HIT");
        assert!((recording.marks[0].time_s - 0.01).abs() < 1e-9);
        let view = View::read(&bytes).unwrap();
        assert_eq!(view.analog(1, 1, 3), Some(109.0));
        assert_eq!(view.analog(3, 0, 0), None);
        assert_eq!(view.point(0, 0).unwrap().cameras, 0x3e);
        assert_eq!(view.point(0, 1), None);
    }
}

/// C3D user guide, 3D residual: 0x3E10 with scale 0.0833333 is cameras 2 to 6 and 1.3333.
#[test]
fn residual_and_cameras() {
    let point = Point::of_words([1.0; 3], 0x3e10, 0.083_333_3);
    let cameras: Vec<_> = (0..7).filter(|bit| point.cameras >> bit & 1 == 1).map(|bit| bit + 1).collect();
    assert_eq!(cameras, [2, 3, 4, 5, 6]);
    assert!((point.residual.unwrap() - 1.3333).abs() < 1e-4);
    assert!((Point::of_words([1.0; 3], 0x3e10, 0.1).residual.unwrap() - 1.6).abs() < 1e-6);
    assert_eq!(Point::of_words([1.0; 3], -1, 0.1).residual, None);
}

/// A file of integers with one channel: the stored word and what comes out.
fn one_word(word: u16, format: &str, offset: i16, scale: f32) -> f64 {
    let mut document = smallest(Processor::Intel);
    document.words = Words::Int([[0, 0, 0, 0].to_vec(), vec![word as i16; 12]].concat().repeat(3));
    document.header.scale = 0.1;
    document.groups[0].parameters[2].values = Values::Float(vec![0.1]);
    let analog = &mut document.groups[1].parameters;
    analog[3].values = Values::Float(vec![scale; 6]);
    analog[4].values = Values::Int(vec![offset; 6]);
    analog.push(parameter("FORMAT", &[8], Values::Char(format!("{format:8}").into_bytes())));
    let recording = c3d::decode("a", &document.write().unwrap()).unwrap().value;
    recording.analog.channels[0].samples[0]
}

/// C3D user guide, ADC: ±10 V at 12 bits is 20/4096 V a count. Offset 32768 of an unsigned file is stored as −32768;
/// a public library that ignores FORMAT gets −3226.8 for the second figure.
#[test]
fn counts_become_volts_and_newtons() {
    assert_eq!(20.0 / 4096.0, 0.0048828125);
    assert_eq!(one_word(4095, "SIGNED", 2048, 0.0048828125), 2047.0 * 0.0048828125);
    assert!((one_word(32768 + 1000, "UNSIGNED", -32768, 0.05) - 50.0).abs() < 1e-6);
    assert_eq!(one_word(40000, "SIGNED", 0, 1.0), 40000.0 - 65536.0);
    assert_eq!(one_word(40000, "UNSIGNED", 0, 1.0), 40000.0);
}

/// Frame 70,000 is (4464, 1): 4464 + 65536. (The guide's misprint "× 65535" gives 69,999.)
#[test]
fn frames_past_sixteen_bits() {
    let samples: Vec<f64> = (0..70_000).map(f64::from).collect();
    let recording = analog_only(vec![channel("a", "V", samples)], Vec::new());
    let bytes = c3d::encode(&recording, &Encoding::PLAIN).unwrap();
    let view = View::read(&bytes).unwrap();
    let field = c3d::find(&view.groups, "TRIAL", "ACTUAL_END_FIELD").unwrap();
    assert_eq!((field.count(0), field.count(1)), (Some(4464), Some(1)));
    assert_eq!(view.header.last_frame, 65_535);
    let read = c3d::decode("made", &bytes).unwrap();
    assert_eq!(read.value.analog, recording.analog);

    // The same from LONG_FRAMES alone, from a float FRAMES, and from the file's size where nothing helps.
    let mut document = Document::read(&bytes).unwrap().value;
    document.groups.retain(|g| !g.name.is("TRIAL"));
    let frames = |d: &Document| c3d::decode("made", &d.write().unwrap()).unwrap();
    assert_eq!(frames(&document).value.analog.len(), 70_000);
    for group in document.groups.iter_mut().filter(|g| g.name.is("POINT")) {
        group.parameters.retain(|p| !p.name.is("LONG_FRAMES"));
    }
    let sized = frames(&document);
    assert!((70_000..70_128).contains(&sized.value.analog.len()), "{}", sized.value.analog.len());
    assert!(sized.findings.iter().any(|f| f.kind.code == FILE_FRAMES_FROM_SIZE.code));
    for group in document.groups.iter_mut().filter(|g| g.name.is("POINT")) {
        for parameter in group.parameters.iter_mut().filter(|p| p.name.is("FRAMES")) {
            parameter.values = Values::Float(vec![70_000.0]);
        }
    }
    assert_eq!(frames(&document).value.analog.len(), 70_000);
}

/// C3D user guide: lists go on in LABELS2, SCALE2 … past 255 items.
#[test]
fn more_than_255_channels_and_markers() {
    let channels = (0..600).map(|k| channel(&format!("channel-{k}"), "V", vec![f64::from(k); 2])).collect();
    let mut recording = analog_only(channels, Vec::new());
    recording.marker_rate_hz = 1000.0;
    let marker = |k: usize| Marker {
        label: format!("marker-{k}"),
        description: String::new(),
        path_m: vec![[k as f32, 1.0, 2.0]; 2],
    };
    recording.markers = (0..300).map(marker).collect();
    for mut how in encodings() {
        how.length = c3d::Length::Metres;
        let read = c3d::decode("made", &c3d::encode(&recording, &how).unwrap()).unwrap().value;
        let labels = |r: &Recording| r.analog.channels.iter().map(|c| c.label.clone()).collect::<Vec<_>>();
        assert_eq!(labels(&read), labels(&recording));
        assert_eq!(read.markers.len(), 300);
        assert_eq!(read.markers[299].label, "marker-299");
        for (k, channel) in read.analog.channels.iter().enumerate() {
            assert!((channel.samples[1] - k as f64).abs() < 1e-3, "{k} {:?}", how);
        }
    }
}

#[test]
fn parameters_in_any_order_and_without_a_group() {
    let plain = smallest(Processor::Intel).write().unwrap();
    // By hand: a parameter of group 2 before group 2, one of group 9 that nobody defines, a locked group.
    let mut bytes = plain[..516].to_vec();
    bytes.extend(b"\x04\x02USED\x07\x00\x02\x00\x06\x00\x00");
    bytes.extend(b"\x03\x09ODD\x07\x00\x02\x00\x2a\x00\x00");
    bytes.extend(b"\xfa\xfeANALOG\x06\x00\x03abc");
    bytes.extend(b"\x05\xffPOINT\x03\x00\x00");
    bytes.extend([0; 2]);
    bytes.resize(1536, 0);
    bytes.extend(&plain[1536..]);
    let read = Document::read(&bytes).unwrap();
    assert_eq!(read.findings, []);
    let document = read.value;
    assert_eq!(c3d::find(&document.groups, "analog", "used").and_then(|p| p.count(0)), Some(6));
    assert!(document.groups[0].locked);
    assert_eq!(document.groups[0].description, Text::from("abc"));
    assert_eq!(document.groups[2].id, 9);
    assert_eq!(Document::read(&document.write().unwrap()).unwrap().value, document);
}

#[test]
fn header_and_parameters_disagree() {
    // The parameters are wrong about the channels, the header fits the size.
    let mut document = smallest(Processor::Intel);
    document.groups[1].parameters[0].values = Values::Int(vec![7]);
    document.groups[1].parameters.retain(|p| !p.name.is("SCALE") && !p.name.is("OFFSET"));
    // Enough frames that the wrong count misses the size by more than a block.
    let Words::Float(words) = &mut document.words else { panic!() };
    *words = words.repeat(20);
    document.header.last_frame = 60;
    document.groups[0].parameters[1].values = Values::Int(vec![60]);
    let read = c3d::decode("a", &document.write().unwrap()).unwrap();
    assert_eq!(read.value.analog.channels.len(), 6);
    assert_eq!(read.value.analog.len(), 120);
    assert!(read.findings.iter().any(|f| f.kind.code == FILE_COUNTS_DISAGREE.code));
}

#[test]
fn cut_files_keep_their_whole_frames() {
    let bytes = smallest(Processor::Intel).write().unwrap();
    let cut = &bytes[..1536 + 2 * 64 + 10];
    let read = c3d::decode("a", cut).unwrap();
    assert_eq!(read.value.analog.len(), 4);
    assert!(read.findings.iter().any(|f| f.kind.code == FILE_TRUNCATED.code));
}

#[test]
fn what_is_no_c3d_is_said_with_its_place() {
    let bytes = smallest(Processor::Intel).write().unwrap();
    let fails = |change: &dyn Fn(&mut Vec<u8>)| {
        let mut bytes = bytes.clone();
        change(&mut bytes);
        c3d::decode("a", &bytes).unwrap_err()
    };
    assert_eq!(fails(&|b| b[1] = 0), c3d::C3dError::NotC3d { found: 0 });
    assert_eq!(fails(&|b| b[515] = 99), c3d::C3dError::ProcessorUnknown { offset: 515, found: 99 });
    assert_eq!(
        fails(&|b| b.truncate(100)),
        c3d::C3dError::TooShort { what: "the header", need: 512, len: 100 }
    );
    assert!(matches!(fails(&|b| b[0] = 200), c3d::C3dError::ParametersOutside { block: 200, .. }));
    assert!(matches!(fails(&|b| b[0] = 0), c3d::C3dError::ParametersOutside { block: 0, .. }));
    assert!(matches!(c3d::decode("a", b""), Err(c3d::C3dError::TooShort { .. })));
}

#[test]
fn gaps_are_nan_and_an_origin_is_no_gap() {
    let mut recording = analog_only(Vec::new(), Vec::new());
    recording.analog.rate_hz = f64::NAN;
    recording.marker_rate_hz = 100.0;
    let path_m = vec![[0.0; 3], [f32::NAN; 3], [-0.5, 0.25, 1.0]];
    recording.markers = vec![Marker { label: "m".into(), description: String::new(), path_m }];
    for how in encodings() {
        let read = c3d::decode("made", &c3d::encode(&recording, &how).unwrap()).unwrap().value;
        let path = &read.markers[0].path_m;
        assert_eq!(path[0], [0.0; 3], "{how:?}");
        assert!(path[1].iter().all(|v| v.is_nan()), "{how:?}");
        assert!((path[2][2] - 1.0).abs() < 1e-4, "{how:?}");
    }
    // Other marks of a gap that are found in files: zeros everywhere, and 9999999.
    let mut document = smallest(Processor::Intel);
    let Words::Float(words) = &mut document.words else { panic!() };
    words[..4].copy_from_slice(&[0.0; 4]);
    words[16] = 9_999_999.0;
    let read = c3d::decode("a", &document.write().unwrap()).unwrap().value;
    assert!(read.markers[0].path_m[0][0].is_nan() && read.markers[0].path_m[1][0].is_nan());
    assert_eq!(read.markers[0].path_m[2][1], 2.0);
}

#[test]
fn events_of_the_group_count_from_the_first_stored_frame_of_a_cropped_file() {
    let mut document = smallest(Processor::Intel);
    (document.header.first_frame, document.header.last_frame) = (101, 103);
    document.header.event_flags[0] = 0;
    let times = Values::Float(vec![0.0, 1.0, 0.0, 1.02]);
    document.groups.push(group(
        3,
        "EVENT",
        vec![
            parameter("USED", &[], Values::Int(vec![2])),
            parameter("TIMES", &[2, 2], times),
            parameter("LABELS", &[6, 2], Values::Char(b"first last  ".to_vec())),
            parameter("CONTEXTS", &[5, 2], Values::Char(b"LeftXRight".to_vec())),
        ],
    ));
    let marks = c3d::decode("a", &document.write().unwrap()).unwrap().value.marks;
    let seen: Vec<_> = marks.iter().map(|m| (m.label.as_str(), (m.time_s * 1000.0).round())).collect();
    // Frame 101 at 100 Hz is stored first and stands for 1 s; the header's event is relative to it and not hidden.
    assert_eq!(seen, [("first", 0.0), ("last", 20.0), ("HIT", 10.0)]);
    assert_eq!(marks[1].context, "Right");
}

#[test]
fn labels_are_unique() {
    let mut document = smallest(Processor::Intel);
    document.groups[1].parameters[5].values = Values::Char(b"FxFxFx    Mz".to_vec());
    let read = c3d::decode("a", &document.write().unwrap()).unwrap();
    let labels: Vec<_> = read.value.analog.channels.iter().map(|c| c.label.as_str()).collect();
    assert_eq!(labels, ["Fx", "Fx#2", "Fx#3", "channel 4", "channel 5", "Mz"]);
    assert_eq!(read.findings.iter().filter(|f| f.kind.code == FILE_DUPLICATE_LABEL.code).count(), 1);
}

#[test]
fn rates_from_the_header_and_from_nowhere() {
    let mut document = smallest(Processor::Intel);
    document.groups[1].parameters.retain(|p| !p.name.is("RATE"));
    let read = c3d::decode("a", &document.write().unwrap()).unwrap();
    assert_eq!(read.value.analog.rate_hz, 200.0);
    assert!(read.findings.iter().any(|f| f.kind.code == FILE_RATE_FROM_HEADER.code));
    document.groups[0].parameters.retain(|p| !p.name.is("RATE"));
    document.header.rate_hz = 0.0;
    let read = c3d::decode("a", &document.write().unwrap()).unwrap();
    assert!(read.value.analog.rate_hz.is_nan());
    assert!(read.findings.iter().any(|f| f.kind.code == FILE_RATE_MISSING.code));
}

#[test]
fn what_cannot_be_written_is_said() {
    let mut recording = analog_only(vec![channel("Fz", "N", vec![1.0, f64::NAN])], Vec::new());
    for how in encodings() {
        let out = c3d::encode(&recording, &how);
        if how.storage == Storage::Float && how.processor != Processor::Dec {
            let read = c3d::decode("made", &out.unwrap()).unwrap().value;
            assert!(read.analog.channels[0].samples[1].is_nan());
        } else {
            let error = out.unwrap_err().to_string();
            assert!(error.contains("channel 1 \"Fz\", sample 2"), "{error}");
        }
    }
    recording.analog.channels[0].samples = vec![1.0, 2.0];
    recording.marker_rate_hz = 300.0;
    recording.markers =
        vec![Marker { label: "m".into(), description: String::new(), path_m: vec![[1.0; 3]] }];
    assert!(matches!(c3d::encode(&recording, &Encoding::PLAIN), Err(c3d::C3dError::RatesDoNotFit { .. })));
}
