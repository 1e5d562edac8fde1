//! Any bytes give a recording or an error, and no more samples than the bytes can hold.
#![no_main]
use formats::c3d;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let _ = c3d::inspect(bytes);
    let Ok(read) = c3d::decode("fuzz", bytes) else { return };
    let recording = read.value;
    let samples: usize = recording.analog.channels.iter().map(|c| c.samples.len()).sum();
    let places: usize = recording.markers.iter().map(|m| m.path_m.len()).sum();
    assert!(2 * samples + 8 * places <= bytes.len());
    // What was read can be written, or the reason said.
    if let Ok(bytes) = c3d::encode(&recording, &c3d::Encoding::PLAIN) {
        let again = c3d::decode("fuzz", &bytes).expect("our own file").value;
        assert_eq!(again.analog.channels.len(), recording.analog.channels.len());
        assert_eq!(again.analog.len(), recording.analog.len());
    }
});
