//! Reference points of the turn account.
use crate::address::Address;
use crate::analyse::mean_over;
use glam::DVec3;
use mechanics::feet::FootSeries;
use mechanics::ledger::Reference;
use mechanics::wrench::surface_of;
use mechanics::{Frame, Recording, Rig};

/// A reference point as a person names it.
#[derive(Clone, Debug, PartialEq)]
pub enum About {
    /// Net centre of pressure: moves, and does not depend on where the player stands on the plates.
    NetCop,
    /// Origin of the golf frame: the rig's centre.
    RigCentre,
    /// Centre of a plate's surface; index from 0.
    Plate(usize),
    /// Midpoint of the feet's mean centres of pressure at address: fixed to the player.
    Stance,
    /// Midpoint of the two centres of pressure: moves.
    MidCop,
    /// A fixed point of the golf frame, (x toward the target, y), m.
    Fixed(f64, f64),
    /// A marker (a body's centre of mass, where a file has it as one).
    Marker(String),
    /// The body's centre of mass, by the marker model ([`crate::body::landmarks`]), where the marker set allows it.
    BodyCentre,
}

/// The point as it is written in options and settings; [`str::parse`] reads it back.
impl std::fmt::Display for About {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NetCop => f.write_str("net-cop"),
            Self::RigCentre => f.write_str("rig-centre"),
            Self::Plate(k) => write!(f, "plate:{}", k + 1),
            Self::Stance => f.write_str("stance"),
            Self::MidCop => f.write_str("mid-cop"),
            Self::Fixed(x, y) => write!(f, "{x},{y}"),
            Self::Marker(label) => write!(f, "marker:{label}"),
            Self::BodyCentre => f.write_str("body"),
        }
    }
}

impl std::str::FromStr for About {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let point = |text: &str| {
            let (x, y) = text.split_once(',')?;
            Some(Self::Fixed(x.trim().parse().ok()?, y.trim().parse().ok()?))
        };
        let numbered = |n: &str| n.parse::<usize>().ok().filter(|n| *n > 0).map(|n| Self::Plate(n - 1));
        let found = match text {
            "net-cop" => Some(Self::NetCop),
            "rig-centre" | "rig-center" => Some(Self::RigCentre),
            "stance" => Some(Self::Stance),
            "mid-cop" => Some(Self::MidCop),
            "body" => Some(Self::BodyCentre),
            _ => match text.split_once(':') {
                Some(("plate", n)) => numbered(n),
                Some(("marker", label)) if !label.is_empty() => Some(Self::Marker(label.into())),
                _ => point(text),
            },
        };
        match found {
            Some(Self::Fixed(x, y)) if !(x.is_finite() && y.is_finite()) => {
                Err("x and y must be finite".into())
            }
            Some(about) => Ok(about),
            None => Err(
                "one of net-cop, rig-centre, plate:N (N from 1), stance, mid-cop, body, marker:LABEL, or x,y in metres"
                    .into(),
            ),
        }
    }
}

/// Finds the point in a recording.
///
/// Errors: a sentence saying what the point needs and what is missing.
pub fn resolve(
    about: &About,
    recording: &Recording,
    rig: &Rig,
    frame: &Frame,
    series: &FootSeries,
    rate_hz: f64,
    address: Option<&Address>,
) -> Result<Reference, String> {
    match about {
        About::NetCop => Ok(Reference::NetCop),
        About::RigCentre => Ok(Reference::Fixed(DVec3::ZERO)),
        About::Fixed(x, y) => Ok(Reference::Fixed(DVec3::new(*x, *y, 0.0))),
        About::Plate(k) => {
            let plate = rig.plates.get(*k).ok_or_else(|| {
                format!("there is no plate {}; the rig has {}", k + 1, count(rig.plates.len(), "plate"))
            })?;
            let surface = surface_of(plate, frame).ok_or("that plate's corners span nothing")?;
            Ok(Reference::Fixed(surface.centre_m))
        }
        About::MidCop => match series.feet {
            Some(_) => Ok(Reference::MidCop),
            None => Err("the midpoint of two centres of pressure needs a plate for each foot".into()),
        },
        About::Stance => stance(series, address).map(Reference::Fixed),
        About::Marker(label) => {
            path(recording, frame, label, rate_hz, series.net.wrench.len()).map(Reference::Path)
        }
        About::BodyCentre => {
            let centre = crate::body::centre(recording, frame)?;
            let at = |k: usize| centre.get(k).copied().unwrap_or(DVec3::NAN);
            Ok(Reference::Path(at_force_rate(recording, rate_hz, series.net.wrench.len(), at)))
        }
    }
}

/// Stance centre: midpoint of the two feet's mean centres of pressure over the address.
pub fn stance(series: &FootSeries, address: Option<&Address>) -> Result<DVec3, String> {
    let feet = series.feet.as_ref().ok_or("the stance centre needs a plate for each foot")?;
    let address = address.ok_or("the stance centre needs a quiet, loaded interval; none was found")?;
    if address.after_movement {
        return Err(
            "the stance centre needs a quiet interval before the swing; this recording is quiet only after"
                .into(),
        );
    }
    let mean = |contacts: &[mechanics::pressure::Contact]| {
        mean_over(contacts.get(address.samples.clone()).unwrap_or_default().iter().map(|c| c.cop_m))
    };
    let centre = (mean(&feet.lead.contact) + mean(&feet.trail.contact)) / 2.0;
    if centre.is_finite() {
        Ok(centre)
    } else {
        Err("the stance centre needs both feet loaded in the quiet interval".into())
    }
}

/// A marker's path at the rate of the series, golf frame; straight lines between marker samples, NaN in gaps.
fn path(
    recording: &Recording,
    frame: &Frame,
    label: &str,
    rate_hz: f64,
    samples: usize,
) -> Result<Vec<DVec3>, String> {
    let marker = recording
        .markers
        .iter()
        .find(|m| m.label.trim().eq_ignore_ascii_case(label.trim()))
        .ok_or_else(|| format!("the recording has no marker \"{label}\""))?;
    let at = |k: usize| {
        marker
            .path_m
            .get(k)
            .map_or(DVec3::NAN, |p| frame.place(DVec3::new(p[0].into(), p[1].into(), p[2].into())))
    };
    Ok(at_force_rate(recording, rate_hz, samples, at))
}

/// What moves with the markers, at the rate of the force: straight lines between marker samples, NaN in gaps.
fn at_force_rate(
    recording: &Recording,
    rate_hz: f64,
    samples: usize,
    at: impl Fn(usize) -> DVec3,
) -> Vec<DVec3> {
    let step = recording.marker_rate_hz / rate_hz;
    let shift = recording.marker_start_s * recording.marker_rate_hz;
    (0..samples)
        .map(|k| {
            let place = k as f64 * step - shift;
            let before = place.floor();
            if before.is_nan() || before < 0.0 {
                return DVec3::NAN;
            }
            let share = place - before;
            let before = before as usize;
            if share == 0.0 {
                at(before)
            } else {
                at(before) * (1.0 - share) + at(before.saturating_add(1)) * share
            }
        })
        .collect()
}

/// "1 plate", "2 plates".
pub(crate) fn count(n: usize, noun: &str) -> String {
    if n == 1 { format!("1 {noun}") } else { format!("{n} {noun}s") }
}
