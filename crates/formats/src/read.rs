//! The whole way from bytes to what the pipeline takes: sniffed, decoded, joined with a rig.
use crate::rigfile::{RigError, RigFile};
use crate::{c3d, table};
use mechanics::finding::{CORNERS_EXCHANGED, CORNERS_NORMAL_UP, FILE_NO_PLATES};
use mechanics::{Checked, Finding, Plate, Recording, Rig};

/// A recording with the rig it is to be read by.
#[derive(Clone, Debug, PartialEq)]
pub struct Read {
    /// What the file holds.
    pub recording: Recording,
    /// How to read it: the rig file's plates, or the file's own.
    pub rig: Rig,
}

/// Why bytes give no recording, or a rig does not fit it.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ReadError {
    /// There is not one byte.
    #[error("the file is empty")]
    Empty,
    /// It begins as a C3D file does, and is none that can be read.
    #[error("{0}")]
    C3d(c3d::C3dError),
    /// Neither C3D nor a table.
    #[error("not a C3D file, and not a table either: {0}")]
    Table(table::TableError),
    /// The rig file does not fit the recording.
    #[error("{0}")]
    Rig(RigError),
}

/// Reads a recording's bytes and lays a rig file over it, where one is given. `name` is the file's name.
///
/// # Errors
/// [`ReadError`]; everything else that is odd is a finding. What the rig file has answered is no finding any more.
pub fn read(name: &str, bytes: &[u8], rig: Option<&RigFile>) -> Result<Checked<Read>, ReadError> {
    let mut findings = Vec::new();
    let recording = decode(name, bytes, rig)?.take(&mut findings);
    join(recording, rig, findings).map_err(ReadError::Rig)
}

/// A recording without a rig's plates; a rig file may still say how a table is laid out.
///
/// # Errors
/// As [`read`], without those of a rig.
pub fn decode(name: &str, bytes: &[u8], rig: Option<&RigFile>) -> Result<Checked<Recording>, ReadError> {
    if bytes.is_empty() {
        return Err(ReadError::Empty);
    }
    if is_c3d(bytes) {
        return c3d::decode(name, bytes).map_err(ReadError::C3d);
    }
    let layout = rig.map(RigFile::table_layout);
    table::decode(name, bytes, layout.as_ref()).map_err(ReadError::Table)
}

/// Lays a rig file over a recording. `findings`: those made while reading it.
///
/// # Errors
/// Where the rig file does not fit the recording.
pub fn join(
    mut recording: Recording,
    rig: Option<&RigFile>,
    mut findings: Vec<Finding>,
) -> Result<Checked<Read>, RigError> {
    let rig = match rig {
        None => Rig::of_recording(&recording),
        Some(file) => {
            findings.append(&mut file.apply_rate(&mut recording));
            let rig = file.resolve(&recording)?.take(&mut findings);
            // What the file could not say, the rig file has now said.
            findings.retain(|f| !settled(f, &recording, &rig));
            rig
        }
    };
    let findings = findings.into_iter().map(|f| f.naming(&rig.plates)).collect();
    Ok(Checked { value: Read { recording, rig }, findings })
}

/// True where the rig file answers what the recording alone left open.
fn settled(finding: &Finding, recording: &Recording, rig: &Rig) -> bool {
    if finding.kind == &FILE_NO_PLATES {
        return !rig.plates.is_empty();
    }
    let about_corners = [&CORNERS_EXCHANGED, &CORNERS_NORMAL_UP].contains(&finding.kind);
    let corners = |plates: &[Plate]| Some(plates.get(finding.plate?)?.corners_m);
    about_corners && corners(&rig.plates) != corners(&recording.plates)
}

/// The second byte of every C3D file is 0x50. Source: C3D user guide, header.
pub fn is_c3d(bytes: &[u8]) -> bool {
    bytes.get(1) == Some(&0x50) && bytes.len() >= 512
}
