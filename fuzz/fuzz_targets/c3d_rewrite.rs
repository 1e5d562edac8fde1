//! A document that was written once is written the same again.
#![no_main]
use formats::c3d::Document;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(document) = Document::read(bytes) else { return };
    let Ok(first) = document.value.write() else { return };
    let Ok(second) = Document::read(&first) else { panic!("our own file is refused") };
    let _ = second.value.write();
});
