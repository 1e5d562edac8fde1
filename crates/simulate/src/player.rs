//! Players. Every one of them is invented.
use crate::bench::Unbuildable;
use crate::style::Style;
use mechanics::Hand;

/// An invented player. Lengths in metres, angles in radians, times in seconds.
#[derive(Clone, Debug, PartialEq)]
pub struct PlayerSpec {
    /// An alias; nobody's name.
    pub alias: String,
    /// Right- or left-handed.
    pub hand: Hand,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Height, m.
    pub height_m: f64,
    /// Distance between the feet's centres of pressure at address, along the target line.
    pub stance_m: f64,
    /// How far the lead toe points toward the target, away from square.
    pub flare_lead_rad: f64,
    /// How far the trail toe points away from the target.
    pub flare_trail_rad: f64,
    /// Length of the sole.
    pub foot_length_m: f64,
    /// Width of the sole.
    pub foot_width_m: f64,
    /// How the player builds the swing.
    pub style: Style,
    /// Quiet address before the takeaway.
    pub quiet_s: f64,
    /// Takeaway to top.
    pub backswing_s: f64,
    /// Top to impact.
    pub downswing_s: f64,
    /// Impact to finish.
    pub follow_s: f64,
    /// The finish is held so long.
    pub hold_s: f64,
    /// Speed of the clubhead at impact, m/s.
    pub club_m_s: f64,
    /// Standing sway: 1 is a usual player, 0 a statue.
    pub sway: f64,
    /// How one swing differs from the next.
    pub scatter: Scatter,
}

/// Standard deviations from swing to swing. Sizes are common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scatter {
    /// Of each push and step, relative.
    pub size: f64,
    /// Of the instant of each push and step, s.
    pub timing_s: f64,
    /// Of the duration of each phase, relative.
    pub tempo: f64,
    /// Of where each foot is put down, m.
    pub placement_m: f64,
    /// Of the angle of each foot, rad.
    pub angle_rad: f64,
}

impl Scatter {
    /// A practised player.
    pub const USUAL: Self =
        Self { size: 0.05, timing_s: 0.006, tempo: 0.015, placement_m: 0.006, angle_rad: 0.02 };
    /// Every swing the same, sway apart.
    pub const NONE: Self = Self { size: 0.0, timing_s: 0.0, tempo: 0.0, placement_m: 0.0, angle_rad: 0.0 };
}

impl PlayerSpec {
    /// A right-handed player of 75 kg with a style.
    pub fn right(style: Style) -> Self {
        Self {
            alias: "Alder".into(),
            hand: Hand::Right,
            mass_kg: 75.0,
            height_m: 1.78,
            stance_m: 0.48,
            flare_lead_rad: 0.35,
            flare_trail_rad: 0.10,
            foot_length_m: 0.295,
            foot_width_m: 0.105,
            style,
            quiet_s: 1.4,
            backswing_s: 0.85,
            downswing_s: 0.26,
            follow_s: 0.85,
            hold_s: 0.9,
            club_m_s: 45.0,
            sway: 1.0,
            scatter: Scatter::USUAL,
        }
    }

    /// Refuses figures of which no swing can be made.
    ///
    /// Errors: the first figure out of range.
    pub fn check(&self) -> Result<(), Unbuildable> {
        let ranges = [
            ("mass_kg", self.mass_kg, 20.0, 250.0),
            ("height_m", self.height_m, 1.0, 2.5),
            ("stance_m", self.stance_m, 0.15, 1.0),
            ("flare_lead_rad", self.flare_lead_rad, -0.8, 0.8),
            ("flare_trail_rad", self.flare_trail_rad, -0.8, 0.8),
            ("foot_length_m", self.foot_length_m, 0.15, 0.4),
            ("foot_width_m", self.foot_width_m, 0.05, 0.2),
            ("quiet_s", self.quiet_s, 0.6, 20.0),
            ("backswing_s", self.backswing_s, 0.3, 3.0),
            ("downswing_s", self.downswing_s, 0.15, 1.0),
            ("follow_s", self.follow_s, 0.3, 3.0),
            ("hold_s", self.hold_s, 0.0, 20.0),
            ("club_m_s", self.club_m_s, 5.0, 70.0),
            ("sway", self.sway, 0.0, 4.0),
            ("scatter.size", self.scatter.size, 0.0, 0.3),
            ("scatter.timing_s", self.scatter.timing_s, 0.0, 0.05),
            ("scatter.tempo", self.scatter.tempo, 0.0, 0.1),
            ("scatter.placement_m", self.scatter.placement_m, 0.0, 0.05),
            ("scatter.angle_rad", self.scatter.angle_rad, 0.0, 0.2),
        ];
        let odd = ranges.into_iter().find(|(_, value, low, high)| !(value >= low && value <= high));
        match odd.map(|(name, value, ..)| (name, value)).or_else(|| self.style.odd()) {
            Some((name, value)) => Err(Unbuildable::Figure(name, value)),
            None => Ok(()),
        }
    }

    /// The same player seen in a mirror.
    pub fn mirrored(&self) -> Self {
        let hand = match self.hand {
            Hand::Right => Hand::Left,
            Hand::Left => Hand::Right,
        };
        Self { hand, ..self.clone() }
    }

    /// Six invented players, of both hands and every style.
    pub fn cast() -> Vec<Self> {
        let base = Self::right;
        vec![
            base(Style::early()),
            Self {
                alias: "Birch".into(),
                hand: Hand::Left,
                mass_kg: 82.0,
                height_m: 1.85,
                stance_m: 0.52,
                downswing_s: 0.25,
                club_m_s: 48.0,
                ..base(Style::press())
            },
            Self {
                alias: "Cedar".into(),
                mass_kg: 63.0,
                height_m: 1.68,
                stance_m: 0.44,
                foot_length_m: 0.265,
                foot_width_m: 0.095,
                backswing_s: 0.80,
                club_m_s: 42.0,
                ..base(Style::pivot())
            },
            Self {
                alias: "Dogwood".into(),
                mass_kg: 94.0,
                height_m: 1.82,
                stance_m: 0.50,
                backswing_s: 0.98,
                downswing_s: 0.30,
                club_m_s: 39.0,
                scatter: Scatter { size: 0.09, timing_s: 0.014, tempo: 0.03, ..Scatter::USUAL },
                ..base(Style::late())
            },
            Self {
                alias: "Elm".into(),
                hand: Hand::Left,
                mass_kg: 70.0,
                height_m: 1.74,
                stance_m: 0.46,
                club_m_s: 44.0,
                ..base(Style::early())
            },
            Self {
                alias: "Fir".into(),
                mass_kg: 88.0,
                height_m: 1.90,
                stance_m: 0.54,
                backswing_s: 0.90,
                downswing_s: 0.27,
                foot_length_m: 0.31,
                club_m_s: 50.0,
                ..base(Style::press())
            },
        ]
    }
}
