//! The signs and axes the user reads in. Inside, everything is a reaction in the golf frame.
use serde::Serialize;

/// Whose force is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Signs {
    /// The ground's force on the player.
    Reaction,
    /// The player's force on the ground.
    Action,
}

/// The axes of what is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Shown {
    /// Target, toe, up: the same for right- and left-handed players.
    Player,
    /// Golf frame: x toward the target, y = z × x, z up.
    Golf,
    /// The recording's own axes and origin.
    Lab,
}

/// What every exported number is relative to. Every export carries it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Convention {
    /// Reaction or action.
    pub signs: Signs,
    /// Axes.
    pub frame: Shown,
}

impl Convention {
    /// What is shown unless the user asks otherwise.
    pub const USUAL: Self = Self { signs: Signs::Reaction, frame: Shown::Player };

    /// +1 for reactions, −1 for actions: multiplies every force and moment, never a position.
    pub fn sign(self) -> f64 {
        match self.signs {
            Signs::Reaction => 1.0,
            Signs::Action => -1.0,
        }
    }

    /// One sentence for a header.
    pub fn sentence(self) -> &'static str {
        match (self.signs, self.frame) {
            (Signs::Reaction, Shown::Player) => {
                "ground reaction on the player; target, toe, up; turn positive toward the target"
            }
            (Signs::Action, Shown::Player) => {
                "force of the player on the ground; target, toe, up; turn positive toward the target"
            }
            (Signs::Reaction, Shown::Golf) => {
                "ground reaction on the player; golf frame: x toward the target, z up, y = z × x; moments about +z"
            }
            (Signs::Action, Shown::Golf) => {
                "force of the player on the ground; golf frame: x toward the target, z up, y = z × x; moments about +z"
            }
            (Signs::Reaction, Shown::Lab) => {
                "ground reaction on the player; laboratory axes and origin of the recording; moments about the upward axis"
            }
            (Signs::Action, Shown::Lab) => {
                "force of the player on the ground; laboratory axes and origin of the recording; moments about the upward axis"
            }
        }
    }
}
