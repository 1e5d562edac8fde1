//! Sentences computed from the ledger. Each says who does what to whom, then the figures that add up.
use crate::quantity::{plain, signed};
use mechanics::ledger::Ledger;
use mechanics::uncertainty::{Along, Column, Who};
use mechanics::{Drift, Hand, LowPass, Zero};
use swing::condition::{Done, PlateDone};
use swing::{About, Swing};

/// A force component of the player.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Component {
    /// Toward the target.
    Target,
    /// Toward the toes.
    Toe,
    /// Up.
    Up,
}

impl Component {
    /// Short name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Target => "target",
            Self::Toe => "toe",
            Self::Up => "up",
        }
    }
    /// The column of the accounts.
    pub fn column(self, who: Who) -> Column {
        Column::Force(
            who,
            match self {
                Self::Target => Along::Target,
                Self::Toe => Along::Toe,
                Self::Up => Along::Up,
            },
        )
    }
    /// The column of one side.
    pub fn of(self, side: &mechanics::ledger::Side) -> &[f64] {
        match self {
            Self::Target => &side.target_n,
            Self::Toe => &side.toe_n,
            Self::Up => &side.up_n,
        }
    }
    fn direction(self, positive: bool) -> &'static str {
        match (self, positive) {
            (Self::Target, true) => "toward the target",
            (Self::Target, false) => "away from the target",
            (Self::Toe, true) => "toward the toes",
            (Self::Toe, false) => "toward the heels",
            (Self::Up, true) => "up",
            (Self::Up, false) => "down",
        }
    }
}

/// "The ground pushes the player away from the target: lead −27.1, trail +6.0, together −21.1 %BW."
///
/// `unit_n` is the force that counts as one unit (1 for N, body weight / 100 for %BW).
pub fn push(ledger: &Ledger, component: Component, k: usize, unit_n: f64, unit: &str) -> Option<String> {
    let net = *component.of(&ledger.net).get(k)? / unit_n;
    if net.is_nan() {
        return None;
    }
    // One decimal, so that rounded parts are seen to add up to the rounded whole (to one in the last place).
    let figure = |value: f64| signed(value, 1);
    let parts = match (&ledger.lead, &ledger.trail) {
        (Some(lead), Some(trail)) => format!(
            "lead {}, trail {}, together {} {unit}",
            figure(component.of(lead)[k] / unit_n),
            figure(component.of(trail)[k] / unit_n),
            figure(net)
        ),
        _ => format!("{} {unit}", figure(net)),
    };
    Some(format!("The ground pushes the player {}: {parts}.", component.direction(net >= 0.0)))
}

/// "The ground turns the player toward the target about the net centre of pressure: +68.2 N·m."
pub fn turn(swing: &Swing, k: usize) -> Option<String> {
    let net = *swing.ledger.turn_nm.get(k)?;
    if net.is_nan() {
        return None;
    }
    let way = if net >= 0.0 { "toward" } else { "away from" };
    Some(format!(
        "The ground turns the player {way} the target about {}: {} N·m.",
        about(&swing.about),
        signed(net, 1)
    ))
}

/// The reference point in words.
pub fn about(about: &About) -> String {
    match about {
        About::NetCop => "the net centre of pressure".into(),
        About::RigCentre => "the rig's centre".into(),
        About::Plate(k) => format!("the centre of plate {}", k + 1),
        About::Stance => "the stance centre at address".into(),
        About::MidCop => "the midpoint of the two centres of pressure".into(),
        About::Fixed(x, y) => format!("the point x {x:+.3}, y {y:+.3} m of the golf frame"),
        About::Marker(label) => format!("the marker {label}"),
        About::BodyCentre => "the body's centre of mass (by markers)".into(),
    }
}

/// What was done to the plates, in one line: "as recorded", "zero found in the recording; low-pass 50 Hz …"; what was
/// asked for but could not be done is said to be so.
pub fn conditioning(done: &Done) -> String {
    let how = &done.asked;
    let mut parts = Vec::new();
    if how.bridge_s > 0.0 {
        parts.push(format!("gaps up to {} ms bridged", plain(how.bridge_s * 1e3, 0)));
    }
    let zero = match &how.zero {
        Zero::Nothing => None,
        Zero::FileWindow => Some("zero from the file's ZERO window".to_string()),
        Zero::Interval(from, to) => Some(format!("zero from {} to {} s", plain(*from, 2), plain(*to, 2))),
        Zero::Found => Some("zero found in the recording".into()),
        Zero::Empty(empty) => Some(format!("zero from {}", empty.name)),
    };
    parts.extend(zero.map(|what| on_plates(done, what, |p| p.zero.is_some())));
    if how.drift == Drift::Removed {
        parts.push(on_plates(done, "drift removed".into(), |p| p.drift_removed));
    }
    let pass =
        |low: LowPass| format!("{} Hz (zero-lag Butterworth, order {} both ways)", low.cut_off_hz, low.order);
    match (how.force, how.moment) {
        (None, None) => {}
        (force, moment) if force == moment => parts.extend(force.map(|f| format!("low-pass {}", pass(f)))),
        (force, moment) => {
            parts.extend(force.map(|f| format!("forces low-pass {}", pass(f))));
            parts.extend(moment.map(|m| format!("moments low-pass {}", pass(m))));
        }
    }
    parts.extend(how.resample_hz.map(|hz| format!("resampled to {hz} Hz")));
    if parts.is_empty() { "as recorded: no zero taken off, unfiltered".into() } else { parts.join("; ") }
}

/// What was done, with the plates it was done to where it was not all of them.
fn on_plates(done: &Done, what: String, did: impl Fn(&PlateDone) -> bool) -> String {
    let numbers: Vec<String> =
        done.plates.iter().filter(|p| did(p)).map(|p| (p.plate + 1).to_string()).collect();
    match numbers.as_slice() {
        [] => format!("not done on any plate: {what}"),
        all if all.len() == done.plates.len() => what,
        some => format!("{what} (plate {} only)", some.join(" and ")),
    }
}

/// "right-handed", "left-handed".
pub fn hand(hand: Hand) -> &'static str {
    match hand {
        Hand::Right => "right-handed",
        Hand::Left => "left-handed",
    }
}

/// "left" or "right": which foot leads.
pub fn lead_foot(hand: Hand) -> &'static str {
    match hand {
        Hand::Right => "left",
        Hand::Left => "right",
    }
}

/// A golf-frame axis named by the laboratory axis it lies along ("+y"), or its components.
pub fn direction(vector: glam::DVec3) -> String {
    mechanics::Axis::ALL.into_iter().find(|a| a.unit().dot(vector) > 1.0 - 1e-9).map_or_else(
        || format!("({:.3}, {:.3}, {:.3})", vector.x, vector.y, vector.z),
        |a| a.name().to_string(),
    )
}
