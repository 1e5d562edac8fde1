//! The motion of the centre of mass as metrics read it.
use crate::analyse::Swing;

/// Motion of the centre of mass, player components (target, toe, up), at the swing's rate.
#[derive(Clone, Debug, PartialEq)]
pub struct Motion {
    /// Velocity, m/s.
    pub velocity_m_s: [Vec<f64>; 3],
    /// Displacement from where it was at rest, m.
    pub displacement_m: [Vec<f64>; 3],
    /// Power of the ground reaction, W.
    pub power_w: Vec<f64>,
    /// Sample at which it is at rest: the integrals begin there.
    pub from_sample: usize,
    /// Mass, kg.
    pub mass_kg: f64,
    /// True where the mass was weighed in this recording and shares the plates' errors.
    pub mass_weighed: bool,
    /// Whether the mean force at rest was taken off, component by component.
    pub quiet_off: [bool; 3],
}

/// The motion of a swing that begins at rest; `None` where it does not, or where no weight is known.
pub fn motion(swing: &Swing) -> Option<Motion> {
    let _ = swing;
    None
}
