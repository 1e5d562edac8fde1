//! A recording as a measured swing: accounts, events, metrics, each with its uncertainty.
use crate::analyse::{Settings, Swing, SwingError, analyse_into};
use crate::body;
use crate::events::{EventSettings, Events, locate};
use crate::metrics::{Measured, figures};
use mechanics::{Checked, Finding, Recording, Rig};

/// What the user decides about a measurement, beside the accounts ([`Settings`]). No hidden default.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasureSettings {
    /// Events.
    pub events: EventSettings,
    /// Whether an estimated top or impact may stand in; what rests on one says so.
    pub estimates: bool,
}

impl MeasureSettings {
    /// Nothing stated, no estimate used. Not a `Default`: a face names it.
    pub const UNSTATED: Self = Self { events: EventSettings::UNSTATED, estimates: false };
}

/// A swing with its events and metrics.
#[derive(Clone, Debug, PartialEq)]
pub struct Measurement {
    /// The accounts.
    pub swing: Swing,
    /// When things happened.
    pub events: Events,
    /// Every metric of the catalogue, in its order.
    pub metrics: Vec<Measured>,
}

impl Measurement {
    /// A metric by its id.
    pub fn metric(&self, id: &str) -> Option<&Measured> {
        self.metrics.iter().find(|m| m.metric.id == id)
    }
}

/// The whole way of the data: `Recording → PlateWrenches → conditioned → FootSeries → Ledger → Events → Metrics`.
///
/// Errors: as [`analyse()`](crate::analyse()).
pub fn measure(
    recording: &Recording,
    rig: &Rig,
    how: &Settings,
    what: &MeasureSettings,
) -> Result<Checked<Measurement>, SwingError> {
    let mut findings = Vec::new();
    let value = measure_into(recording, rig, how, what, &mut findings)?;
    Ok(Checked { value, findings })
}

/// [`measure`] with the findings in the caller's hand, so that those made before an error are not lost with it, and
/// those made before (while reading the file) put metrics in doubt too.
///
/// Errors: as [`measure`].
pub fn measure_into(
    recording: &Recording,
    rig: &Rig,
    how: &Settings,
    what: &MeasureSettings,
    findings: &mut Vec<Finding>,
) -> Result<Measurement, SwingError> {
    let swing = analyse_into(recording, rig, how, findings)?;
    let events = locate(recording, rig, &swing, &what.events).take(findings);
    // A sentence why there is none is what its metrics say anyway: no quiet address.
    let body = body::of(&swing, &rig.budget).ok();
    let metrics = figures(&swing, rig, &events, body.as_ref(), findings, what.estimates);
    Ok(Measurement { swing, events, metrics })
}

/// The edition of the methods: raised whenever a figure of the same recording and settings may come out otherwise than
/// before. Archives keep it beside every result, and so know which were made by older methods.
pub const EDITION: u32 = 1;
