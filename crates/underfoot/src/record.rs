//! Recordings to files: the bytes of a C3D file or a table, and the rig file that goes with a table.
use crate::fail::Fail;
use formats::rigfile;
use mechanics::{Recording, Rig};

/// A C3D image of a recording: Intel, floating point.
pub fn c3d(recording: &Recording) -> Result<Vec<u8>, Fail> {
    formats::c3d::encode(recording, &formats::c3d::Encoding::PLAIN).map_err(|e| {
        Fail::input(format!("this recording cannot be written as C3D: {e}"))
            .at(&recording.name)
            .fix("write it as a table instead: `convert` to a name that ends in .csv, `simulate` with --format csv")
    })
}

/// A table of a recording: tab-separated where the file's name ends in .tsv, else commas; a row of units.
pub fn table(recording: &Recording, tabs: bool) -> Vec<u8> {
    let how = if tabs { formats::table::Writing::TSV } else { formats::table::Writing::CSV };
    formats::table::encode(recording, &how)
}

/// The rig file that a table of this recording needs, as text.
pub fn rig_text(rig: &Rig, recording: &Recording, turned: &[bool]) -> String {
    rigfile::write(&rigfile::of_rig(rig, recording, turned))
}
