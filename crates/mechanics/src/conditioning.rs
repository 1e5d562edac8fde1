//! What is done to the plates' wrenches before feet and accounts are formed: a rig's choice, plain data.
//!
//! Everything acts on force and moment; the centre of pressure is computed after, so that nothing is ever
//! filtered or bridged across a stretch in which it does not exist.
use crate::recording::Recording;
use std::sync::Arc;

/// What is done, in this order: gaps bridged, zero removed, drift removed, low-pass, resampled.
#[derive(Clone, Debug, PartialEq)]
pub struct Conditioning {
    /// Longest gap that is bridged, s; 0 bridges none.
    pub bridge_s: f64,
    /// What counts as the zero of the plates.
    pub zero: Zero,
    /// What happens to a drift between an empty interval early and one late.
    pub drift: Drift,
    /// Low-pass of the three force components; `None`: as recorded.
    pub force: Option<LowPass>,
    /// Low-pass of the three moment components about the plate's surface centre; `None`: as recorded.
    pub moment: Option<LowPass>,
    /// Samples a second of everything that follows; `None`: as recorded.
    pub resample_hz: Option<f64>,
}

impl Conditioning {
    /// Nothing is done: raw.
    pub const RAW: Self = Self {
        bridge_s: 0.0,
        zero: Zero::Nothing,
        drift: Drift::Kept,
        force: None,
        moment: None,
        resample_hz: None,
    };
}

/// What counts as the zero of a plate: the mean wrench that is taken off.
#[derive(Clone, Debug, PartialEq)]
pub enum Zero {
    /// As recorded.
    Nothing,
    /// The mean over the file's own ZERO window, plate by plate, where that window is unloaded.
    FileWindow,
    /// The mean over an interval of the recording, s of the recording's own time, where the plate is unloaded in it.
    Interval(f64, f64),
    /// The quietest unloaded interval of each plate that the recording has.
    Found,
    /// The mean of a recording of the empty plates, made with the same rig.
    Empty(Arc<Recording>),
}

/// What happens to a plate's drift between an empty interval early in the recording and one late in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drift {
    /// It stays.
    Kept,
    /// The straight line between the two intervals is taken off.
    Removed,
}

/// A zero-lag Butterworth low-pass: run forward and backward.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LowPass {
    /// Order of one pass; both passes together have twice this.
    pub order: usize,
    /// Frequency at which both passes together have half the power, Hz.
    pub cut_off_hz: f64,
}

impl LowPass {
    /// Order of one pass where nobody states another: two passes make the "fourth-order zero-lag" filter of papers.
    pub const ORDER: usize = 2;
}
