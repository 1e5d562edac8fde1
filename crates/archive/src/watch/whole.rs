//! Whether bytes are a whole recording or the beginning of one.
use formats::rigfile::RigFile;
use mechanics::Recording;
use mechanics::finding::{FILE_FRAMES_FROM_SIZE, FILE_TRUNCATED};

/// What a look at the bytes says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Look {
    /// It ends where it says that it does.
    Whole,
    /// It can be read, but nothing in it says that this is all.
    MayGoOn,
    /// It cannot be read, or ends too early.
    NotYet(String),
}

/// Looks at the bytes of a file.
pub fn look(name: &str, bytes: &[u8], rig: Option<&RigFile>) -> Look {
    let read = match formats::decode(name, bytes, rig) {
        Err(error) => return Look::NotYet(error.to_string()),
        Ok(read) => read,
    };
    let found = |kind| read.findings.iter().find(|f| f.kind == kind);
    if let Some(cut) = found(&FILE_TRUNCATED) {
        return Look::NotYet(format!("it is cut short: {}", cut.seen));
    }
    let ends = formats::is_c3d(bytes) && found(&FILE_FRAMES_FROM_SIZE).is_none();
    if ends && !stands_still(&read.value) { Look::Whole } else { Look::MayGoOn }
}

/// Samples at the end that must not all be alike.
const TAIL: usize = 8;

/// True where every channel ends on one value, as in a file whose whole length was set aside before it is filled in.
fn stands_still(recording: &Recording) -> bool {
    recording.analog.channels.iter().all(|c| {
        let tail = c.samples.iter().rev().take(TAIL);
        tail.clone().zip(tail.skip(1)).all(|(a, b)| a == b || (a.is_nan() && b.is_nan()))
    })
}
