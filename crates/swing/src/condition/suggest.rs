//! Which low-pass cut-off a recording proposes, by residual analysis, channel group by channel group.
use super::{Conditioned, condition};
use crate::analyse::{Settings, SwingError};
use crate::target;
use mechanics::conditioning::LowPass;
use mechanics::wrench::wrenches;
use mechanics::{Checked, Conditioning, Hand, Recording, Rig};
use signal::filter::{Residuals, Stretch, residual_analysis};

/// The residuals of one component of one loaded plate.
#[derive(Clone, Debug, PartialEq)]
pub struct Component {
    /// Name of the plate.
    pub plate: String,
    /// "Fx" … "Mz", plate's surface centre, golf axes.
    pub name: &'static str,
    /// True for a force.
    pub force: bool,
    /// Residuals, the line through their high part, and the cut-off they propose.
    pub residuals: Residuals,
}

/// What a recording proposes.
#[derive(Clone, Debug, PartialEq)]
pub struct Suggestion {
    /// Order of one pass that the residuals were made with.
    pub order: usize,
    /// Samples a second.
    pub rate_hz: f64,
    /// Every component of every loaded plate.
    pub components: Vec<Component>,
    /// The highest cut-off that a force proposes, Hz: none of them loses movement.
    pub force_hz: Option<f64>,
    /// The highest that a moment proposes, Hz.
    pub moment_hz: Option<f64>,
}

impl Suggestion {
    /// One cut-off for forces and moments, the higher of both, so that centres of pressure stay true.
    pub fn both_hz(&self) -> Option<f64> {
        match (self.force_hz, self.moment_hz) {
            (Some(a), Some(b)) => Some(a.max(b)),
            (a, b) => a.or(b),
        }
    }
}

const NAMES: [&str; 6] = ["Fx", "Fy", "Fz", "Mx", "My", "Mz"];

/// Cut-offs that are tried: so many, evenly spaced up to a quarter of the rate, where the line of noise must be seen.
const CUT_OFFS: usize = 48;

/// Residual analysis of every loaded plate, after zeroing as asked but before any filter.
///
/// A plate counts as loaded as in [`crate::analyse()`]. Errors: as there.
/// Source: Winter 2009, ch. 3 (residual analysis); the choice of the highest proposal is ours, so that no component is
/// cut into.
pub fn suggest(
    recording: &Recording,
    rig: &Rig,
    how: &Settings,
    order: Option<usize>,
) -> Result<Checked<Suggestion>, SwingError> {
    let mut findings = Vec::new();
    let asked = how.conditioning.as_ref().unwrap_or(&rig.conditioning);
    let order = order.or(asked.force.or(asked.moment).map(|p| p.order)).unwrap_or(LowPass::ORDER);
    let frame = target::frame(recording, rig, how.target, how.hand.unwrap_or(Hand::Right))
        .map_err(SwingError::TargetUnusable)?
        .take(&mut findings);
    let plates = wrenches(recording, rig, &frame).take(&mut findings);
    if plates.is_empty() {
        return Err(SwingError::NoPlates);
    }
    let unfiltered = Conditioning { force: None, moment: None, resample_hz: None, ..asked.clone() };
    let Conditioned { plates, rate_hz, .. } =
        condition(plates, recording, rig, &frame, &unfiltered).take(&mut findings);
    let cut_offs: Vec<f64> = (1..=CUT_OFFS).map(|k| rate_hz / 4.0 * k as f64 / CUT_OFFS as f64).collect();
    let mut components = Vec::new();
    let mut peak_n = f64::NAN;
    for plate in &plates {
        let shadow = crate::analyse::shadow(plate, rig);
        peak_n = peak_n.max(shadow.peak_n);
        if !shadow.loaded {
            continue;
        }
        let centre = plate.surface.centre_m;
        for (axis, name) in NAMES.into_iter().enumerate() {
            let force = axis < 3;
            let column: Vec<f64> = plate
                .wrench
                .force_n
                .iter()
                .zip(&plate.wrench.moment_nm)
                .map(|(f, m)| if force { f[axis] } else { (*m - centre.cross(*f))[axis - 3] })
                .collect();
            if let Ok(residuals) = residual_analysis(&column, rate_hz, order, &cut_offs, Stretch::Found) {
                components.push(Component { plate: plate.name.clone(), name, force, residuals });
            }
        }
    }
    if components.is_empty() {
        return Err(SwingError::NothingLoaded(peak_n));
    }
    let highest = |force: bool| {
        components
            .iter()
            .filter(|c| c.force == force)
            .filter_map(|c| c.residuals.proposed_hz)
            .reduce(f64::max)
    };
    let (force_hz, moment_hz) = (highest(true), highest(false));
    Ok(Checked { value: Suggestion { order, rate_hz, components, force_hz, moment_hz }, findings })
}
