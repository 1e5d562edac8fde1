//! The golf frame and the player's own components.
use glam::{DMat3, DVec3};

/// The golf frame: right-handed, x toward the target, z up, y = z × x, origin at the rig's centre on the surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Origin in laboratory coordinates, m.
    pub origin_m: DVec3,
    /// Columns: golf x, y, z as unit vectors in laboratory axes.
    pub axes: DMat3,
}

impl Frame {
    /// A frame from an upward vector and a target vector; the target is made square to up.
    /// `None` where the target has no horizontal part.
    pub fn new(origin_m: DVec3, up: DVec3, target: DVec3) -> Option<Self> {
        let z = up.try_normalize()?;
        let x = (target - z * target.dot(z)).try_normalize()?;
        Some(Self { origin_m, axes: DMat3::from_cols(x, z.cross(x), z) })
    }
    /// A laboratory position in the golf frame.
    pub fn place(&self, lab_m: DVec3) -> DVec3 {
        self.axes.transpose() * (lab_m - self.origin_m)
    }
    /// A laboratory vector (force, direction) in the golf frame.
    pub fn turn(&self, lab: DVec3) -> DVec3 {
        self.axes.transpose() * lab
    }
}

/// Right- or left-handed player.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hand {
    /// Plays right-handed: left foot leads.
    Right,
    /// Plays left-handed: right foot leads.
    Left,
}

impl Hand {
    /// Golf-frame y to the player's toe direction: −1 right-handed, +1 left-handed.
    pub fn toe_sign(self) -> f64 {
        match self {
            Self::Right => -1.0,
            Self::Left => 1.0,
        }
    }
    /// Golf-frame Mz to the player's turn: +1 right-handed, −1 left-handed (positive turns toward the target).
    pub fn turn_sign(self) -> f64 {
        -self.toe_sign()
    }
}

/// Who swings, as far as mechanics needs to know.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Player {
    /// Handedness.
    pub hand: Hand,
    /// Body mass, kg, where known.
    pub mass_kg: Option<f64>,
}
