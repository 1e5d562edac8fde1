//! A swing of the study, read and analysed anew from its original, as it was measured: for what the catalogue does not hold.
use crate::keep;
use crate::recipe::Basis;
use crate::wanted::Wanted;
use formats::Read;
use mechanics::Checked;
use std::path::Path;
use swing::Swing;

/// Reads an original and analyses it.
///
/// Errors, in words: an original that cannot be read or is damaged, and a recording without a swing.
pub fn analysed(root: &Path, wanted: &Wanted, basis: &Basis) -> Result<(Read, Swing), String> {
    let bytes = original(root, wanted)?;
    let rig = wanted.rig_file()?;
    let Checked { value: read, mut findings } =
        formats::read(&wanted.name, &bytes, rig).map_err(|e| e.to_string())?;
    let (how, _) = wanted.recipe.settings(basis, &read.rig.plates, read.recording.analog.start_s)?;
    let swing = swing::analyse_into(&read.recording, &read.rig, &how, &mut findings)
        .map_err(|_| "it has no accounts: `underfoot list` says why".to_string())?;
    Ok((read, swing))
}

/// The bytes of an original, known to be what came in.
pub fn original(root: &Path, wanted: &Wanted) -> Result<Vec<u8>, String> {
    let path = wanted.path(root);
    let bytes = std::fs::read(&path).map_err(|e| format!("its original cannot be read: {e}"))?;
    if keep::hash(&bytes) == wanted.hash {
        Ok(bytes)
    } else {
        Err("its original is damaged: `underfoot study verify` tells more".into())
    }
}
