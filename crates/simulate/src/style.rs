//! Styles: how a player builds a swing from the ground. Invented by us, as are their names; each is plain data.
//!
//! Times are *phases*: 0 takeaway, 1 top, 2 impact, 3 finish, and evenly between. Forces are in body weights in
//! the player's own components (target, toe, up). Sizes were chosen so that peaks fall in the ranges printed for
//! golfers (Worsfold, Smith & Dyson 2007, J Sports Sci Med 6:484-489; 2008, 7:408-414) or, where nothing is
//! printed, in ranges of common practice, no source.

/// Something that happens between two phases of the swing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Move {
    /// Phase at which it begins.
    pub from: f64,
    /// Phase at which it ends.
    pub to: f64,
    /// Peak of a push, or height of a step; unit of the list it stands in.
    pub size: f64,
}

const fn m(from: f64, to: f64, size: f64) -> Move {
    Move { from, to, size }
}

/// Where a foot's centre of pressure goes under the foot: a start, then steps.
#[derive(Clone, Debug, PartialEq)]
pub struct Travel {
    /// At address.
    pub start: f64,
    /// Steps from there.
    pub steps: Vec<Move>,
}

/// How the body is pushed toward the heels about the top and in the downswing: the net toe–heel force.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToePeaks {
    /// Once, midway through the downswing.
    One,
    /// Twice: at the top and before impact, and hardly between.
    Two,
}

/// A style.
#[derive(Clone, Debug, PartialEq)]
pub struct Style {
    /// Our name for it.
    pub name: String,
    /// What it does, in a sentence.
    pub account: String,
    /// Pushes on the body along the target line, body weights.
    pub target: Vec<Move>,
    /// Pushes on the body toward the toes, body weights.
    pub toe: Vec<Move>,
    /// Pushes on the body upward beyond its weight, body weights.
    pub up: Vec<Move>,
    /// The lead foot's share of the vertical force; kept within 0..1 by [`crate::shape::keep_share`].
    pub share: Travel,
    /// Shear with which the feet oppose one another along the target line, lead foot's part, body weights, when
    /// both feet carry the same; start is held through the swing.
    pub oppose_target: Travel,
    /// Pushes of the same kind as `oppose_target`, added to it.
    pub oppose_target_pushes: Vec<Move>,
    /// The same toe–heel: pushes, lead foot's part. Negative turns the player toward the target.
    pub oppose_toe: Vec<Move>,
    /// Free moment under the lead foot, pushes, N·m per kg, positive turns toward the target.
    pub free_lead: Vec<Move>,
    /// Free moment under the trail foot, likewise.
    pub free_trail: Vec<Move>,
    /// Lead centre of pressure from heel (0) to toe (1).
    pub along_lead: Travel,
    /// Trail centre of pressure from heel (0) to toe (1).
    pub along_trail: Travel,
    /// Lead centre of pressure across the foot in foot widths, 0 the middle, positive to the outside.
    pub across_lead: Travel,
    /// Trail centre of pressure across the foot, likewise.
    pub across_trail: Travel,
}

/// Gives the greatest of some pushes another size.
fn greatest(pushes: &mut [Move], size: f64) {
    if let Some(push) = pushes.iter_mut().max_by(|a, b| a.size.total_cmp(&b.size)) {
        push.size = size;
    }
}

impl Style {
    /// Loads the trail foot, then the lead foot pushes up well before impact.
    pub fn early() -> Self {
        Self {
            name: "early".into(),
            account: "The lead foot takes the load in transition and pushes up hard well before impact."
                .into(),
            target: vec![m(0.0, 0.5, -0.07), m(0.35, 0.95, 0.05), m(0.72, 1.72, 0.21), m(1.66, 2.30, -0.13)],
            toe: vec![m(0.3, 1.3, -0.010), m(0.95, 1.8, -0.046), m(1.65, 2.3, 0.05)],
            up: vec![
                m(0.10, 0.60, -0.03),
                m(0.35, 0.80, 0.04),
                m(0.66, 1.28, -0.17),
                m(1.10, 2.08, 0.66),
                m(1.85, 2.45, -0.36),
            ],
            share: Travel {
                start: 0.50,
                steps: vec![
                    m(0.05, 0.85, -0.27),
                    m(0.93, 1.72, 0.60),
                    m(1.95, 2.25, -0.06),
                    m(2.25, 2.8, 0.10),
                ],
            },
            oppose_target: Travel { start: -0.03, steps: vec![] },
            oppose_target_pushes: vec![m(0.3, 1.2, -0.04), m(1.15, 2.25, -0.09)],
            oppose_toe: vec![
                m(0.0, 0.55, 0.06),
                m(0.45, 1.05, -0.05),
                m(0.96, 2.0, -0.16),
                m(1.95, 2.8, 0.06),
            ],
            free_lead: vec![m(0.0, 0.6, -0.06), m(1.0, 2.0, 0.20)],
            free_trail: vec![m(0.0, 0.6, -0.05), m(0.5, 1.1, 0.03), m(0.9, 1.9, 0.09)],
            along_lead: Travel {
                start: 0.5,
                steps: vec![m(0.1, 0.9, 0.10), m(0.95, 2.05, -0.24), m(2.1, 2.9, 0.06)],
            },
            along_trail: Travel {
                start: 0.5,
                steps: vec![m(0.1, 0.9, -0.10), m(1.0, 2.0, 0.32), m(2.0, 2.6, 0.12)],
            },
            across_lead: Travel { start: 0.0, steps: vec![m(0.1, 0.9, -0.12), m(1.0, 2.1, 0.36)] },
            across_trail: Travel { start: 0.0, steps: vec![m(0.1, 0.9, 0.08), m(1.0, 1.9, -0.34)] },
        }
    }

    /// As [`Style::early`], but the lead foot's push comes at impact or after it.
    pub fn late() -> Self {
        Self {
            name: "late".into(),
            account: "The load arrives on the lead foot late; the push up peaks about impact.".into(),
            target: vec![m(0.0, 0.5, -0.05), m(0.35, 0.95, 0.035), m(0.84, 1.90, 0.18), m(1.85, 2.40, -0.09)],
            up: vec![
                m(0.10, 0.70, -0.02),
                m(0.45, 0.95, 0.03),
                m(0.80, 1.50, -0.14),
                m(1.40, 2.16, 0.42),
                m(2.05, 2.60, -0.26),
            ],
            share: Travel {
                start: 0.50,
                steps: vec![
                    m(0.05, 0.9, -0.20),
                    m(1.02, 2.05, 0.48),
                    m(2.05, 2.35, -0.06),
                    m(2.3, 2.8, 0.12),
                ],
            },
            oppose_toe: vec![
                m(0.0, 0.55, 0.05),
                m(0.45, 1.05, -0.04),
                m(1.05, 2.08, -0.12),
                m(2.0, 2.8, 0.06),
            ],
            free_lead: vec![m(0.0, 0.6, -0.05), m(1.1, 2.1, 0.17)],
            ..Self::early()
        }
    }

    /// Stays centred and turns: large opposed toe–heel shears, and load that comes back toward the trail foot.
    pub fn pivot() -> Self {
        Self {
            name: "pivot".into(),
            account: "Little shift; the feet shear against each other, and load returns to the trail foot by impact."
                .into(),
            target: vec![
                m(0.0, 0.45, -0.03),
                m(0.35, 0.95, 0.025),
                m(0.78, 1.55, 0.14),
                m(1.37, 2.13, -0.13),
            ],
            toe: vec![m(0.2, 0.9, 0.012), m(0.9, 1.75, -0.05), m(1.7, 2.3, 0.04)],
            up: vec![
                m(0.10, 0.70, -0.03),
                m(0.45, 0.95, 0.04),
                m(0.66, 1.30, -0.15),
                m(1.15, 2.10, 0.56),
                m(1.90, 2.50, -0.32),
            ],
            share: Travel {
                start: 0.50,
                steps: vec![m(0.05, 0.85, -0.20), m(0.93, 1.60, 0.40), m(1.55, 2.05, -0.14), m(2.05, 2.8, 0.22)],
            },
            oppose_toe: vec![
                m(0.0, 0.55, 0.07),
                m(0.45, 1.05, -0.06),
                m(0.93, 1.95, -0.18),
                m(2.0, 2.9, 0.10),
            ],
            along_lead: Travel { start: 0.5, steps: vec![m(0.1, 0.9, 0.14), m(0.95, 2.05, -0.22), m(2.2, 2.9, 0.05)] },
            ..Self::early()
        }
    }

    /// Drives over the lead foot; the trail foot comes off the ground after impact.
    pub fn press() -> Self {
        Self {
            name: "press".into(),
            account:
                "Drives over the lead foot early; the trail foot is off the ground for a while after impact."
                    .into(),
            target: vec![m(0.0, 0.5, -0.08), m(0.35, 0.90, 0.05), m(0.66, 1.70, 0.24), m(1.66, 2.25, -0.15)],
            toe: vec![m(0.4, 1.4, -0.028), m(1.0, 1.8, -0.04), m(1.6, 2.3, 0.06)],
            share: Travel {
                start: 0.50,
                steps: vec![
                    m(0.05, 0.80, -0.31),
                    m(0.88, 1.75, 0.68),
                    m(1.85, 2.15, 0.26),
                    m(2.17, 2.7, -0.28),
                ],
            },
            oppose_toe: vec![
                m(0.0, 0.55, 0.05),
                m(0.45, 1.05, -0.05),
                m(0.90, 1.95, -0.16),
                m(1.95, 2.8, 0.10),
            ],
            ..Self::early()
        }
    }

    /// The same with another size of its greatest push up, body weights.
    pub fn pushing_up(mut self, size: f64) -> Self {
        greatest(&mut self.up, size);
        self
    }

    /// The same with another size of its greatest push toward the target, body weights.
    pub fn driving(mut self, size: f64) -> Self {
        greatest(&mut self.target, size);
        self
    }

    /// The same with another pattern of the net toe–heel force. The net force goes through the net centre of pressure, so
    /// turn about it stays as it is but for what stops the turn in the end.
    pub fn with_toe(self, peaks: ToePeaks) -> Self {
        let toe = match peaks {
            ToePeaks::One => vec![m(0.3, 1.0, 0.012), m(0.88, 2.05, -0.10), m(1.9, 2.6, 0.055)],
            ToePeaks::Two => {
                vec![m(0.3, 0.75, 0.012), m(0.76, 1.36, -0.09), m(1.44, 2.04, -0.10), m(1.9, 2.6, 0.055)]
            }
        };
        Self { toe, ..self }
    }

    /// The first figure of which no swing can be made: a phase outside 0..3 or out of order, or a size that is no
    /// number of the trade.
    pub(crate) fn odd(&self) -> Option<(&'static str, f64)> {
        let travels = [&self.share, &self.oppose_target, &self.along_lead, &self.along_trail];
        let across = [&self.across_lead, &self.across_trail];
        let pushes = [&self.target, &self.toe, &self.up, &self.oppose_target_pushes, &self.oppose_toe];
        let free = [&self.free_lead, &self.free_trail];
        let steps = travels.iter().chain(&across).map(|t| &t.steps);
        let moves = pushes.into_iter().chain(free).chain(steps).flatten();
        let starts = travels.iter().chain(&across).map(|t| ("style start", t.start, 1.0));
        let sizes = moves.clone().map(|m| ("style size", m.size, 2.0));
        let phase =
            moves.map(|m| ("style phase", if m.from >= 0.0 && m.from < m.to { m.to } else { f64::NAN }, 3.0));
        let odd =
            starts.chain(sizes).chain(phase).find(|(_, value, most)| value.is_nan() || value.abs() > *most);
        odd.map(|(name, value, _)| (name, value))
    }

    /// All styles, in the order in which they are listed to people.
    pub fn all() -> [Self; 4] {
        [Self::early(), Self::late(), Self::pivot(), Self::press()]
    }

    /// The style of this name, if there is one.
    pub fn named(name: &str) -> Option<Self> {
        Self::all().into_iter().find(|s| s.name.eq_ignore_ascii_case(name.trim()))
    }
}
