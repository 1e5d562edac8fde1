//! The one function of the project.
use crate::about::{About, resolve};
use crate::address::{Address, find_address};
use crate::condition::{Done, condition};
use crate::feet::{Split, assign};
use crate::{quality, target};
use glam::DVec3;
use mechanics::feet::{FootSeries, net_only, two_feet};
use mechanics::ledger::{Ledger, ledger};
use mechanics::wrench::{PlateWrench, Surface, wrenches};
use mechanics::{Checked, Conditioning, Finding, Frame, Hand, Player, Recording, Rig, Target};

/// What the user decides. No hidden default: every face states each field.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Target direction; overrides the rig's.
    pub target: Option<Target>,
    /// Handedness; right-handed is taken, with a finding, where nobody says.
    pub hand: Option<Hand>,
    /// Body mass, kg; overrides the recording's.
    pub mass_kg: Option<f64>,
    /// Reference point of the turn account.
    pub about: About,
    /// Treat all plates as the one plate they would have been.
    pub collapse: bool,
    /// What is done to the plates before accounts are formed; `None`: as the rig says.
    pub conditioning: Option<Conditioning>,
}

impl Settings {
    /// Nothing stated: target and hand are worked out or assumed, with findings; about the net centre of pressure.
    /// Not a `Default`: a face names it, so that what is left unstated can be seen.
    pub const UNSTATED: Self = Self {
        target: None,
        hand: None,
        mass_kg: None,
        about: About::NetCop,
        collapse: false,
        conditioning: None,
    };
}

/// A recording with its accounts.
#[derive(Clone, Debug, PartialEq)]
pub struct Swing {
    /// The golf frame in laboratory axes.
    pub frame: Frame,
    /// Handedness used, and mass where known (stated, else from the file).
    pub player: Player,
    /// Samples a second of everything below; the recording's, unless it was resampled.
    pub rate_hz: f64,
    /// Time of the first sample, s.
    pub start_s: f64,
    /// Every plate of the rig that could be read, loaded or not.
    pub plates: Vec<PlateShadow>,
    /// How plates were booked to feet.
    pub split: Split,
    /// Forces, centres of pressure and free moments, golf frame.
    pub series: FootSeries,
    /// The accounts, player components.
    pub ledger: Ledger,
    /// The quiet interval before the swing, where there is one.
    pub address: Option<Address>,
    /// What %BW means: mass × g where a mass is known, else the quiet standing force, N.
    pub body_weight_n: Option<BodyWeight>,
    /// The reference point asked for.
    pub about: About,
    /// What was done to the plates before.
    pub done: Done,
}

/// Where the body weight comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BodyWeight {
    /// N.
    pub newton: f64,
    /// How it is known.
    pub from: WeightSource,
}

impl BodyWeight {
    /// A force in percent of body weight.
    pub fn percent(self, force_n: f64) -> f64 {
        100.0 * force_n / self.newton
    }
}

/// Origin of a body weight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WeightSource {
    /// Mass stated by the user, times standard gravity.
    Stated,
    /// Mass written in the recording, times standard gravity.
    Recording,
    /// Mean vertical force of the quiet interval.
    Standing,
}

/// Standard gravity, m/s². Source: exact by definition (CGPM 1901).
pub const STANDARD_GRAVITY: f64 = 9.80665;

/// What is kept of a plate once its wrench has been booked.
#[derive(Clone, Debug, PartialEq)]
pub struct PlateShadow {
    /// Name.
    pub name: String,
    /// Index in the rig.
    pub plate: usize,
    /// Where it lies, golf frame.
    pub surface: Surface,
    /// Largest vertical force, N.
    pub peak_n: f64,
    /// Median vertical force, N.
    pub median_n: f64,
    /// Vertical force that a twentieth of the samples stays under, N: what the plate reads at its emptiest.
    pub low_n: f64,
    /// True where the plate carries a foot.
    pub loaded: bool,
}

/// Why there is no swing at all.
#[derive(Clone, Debug, PartialEq)]
pub enum SwingError {
    /// The rig has no plate that can be read.
    NoPlates,
    /// No plate is ever loaded; the largest vertical force is given, N.
    NothingLoaded(f64),
    /// The target has no horizontal part, or names a plate that is not there.
    TargetUnusable(String),
    /// The reference point cannot be had from this recording; why.
    AboutUnavailable(String),
}

/// `Recording → PlateWrenches → conditioned → FootSeries → Ledger`, for one plate, two or more.
///
/// Frame: everything in the result is in the golf frame or the player's components ([`mechanics::ledger`]).
/// Errors: only where no ledger exists at all ([`SwingError`]); everything else is a finding.
pub fn analyse(recording: &Recording, rig: &Rig, how: &Settings) -> Result<Checked<Swing>, SwingError> {
    let mut findings = Vec::new();
    let swing = analyse_into(recording, rig, how, &mut findings)?;
    Ok(Checked { value: swing, findings })
}

/// [`analyse`] with the findings in the caller's hand, so that those made before an error are not lost with it.
///
/// Errors: as [`analyse`].
pub fn analyse_into(
    recording: &Recording,
    rig: &Rig,
    how: &Settings,
    findings: &mut Vec<Finding>,
) -> Result<Swing, SwingError> {
    let already = findings.len();
    let made = made(recording, rig, how, findings);
    // Everything below counts from the first sample and by plate numbers; people count in the recording's own time,
    // and know plates by their names.
    let start_s = recording.analog.start_s;
    for finding in findings.iter_mut().skip(already) {
        finding.span_s = finding.span_s.map(|(from, to)| (from + start_s, to + start_s));
        *finding = finding.clone().naming(&rig.plates);
    }
    made
}

fn made(
    recording: &Recording,
    rig: &Rig,
    how: &Settings,
    findings: &mut Vec<Finding>,
) -> Result<Swing, SwingError> {
    let player = who(recording, how, findings);
    let frame = target::frame(recording, rig, how.target, player.hand)
        .map_err(SwingError::TargetUnusable)?
        .take(findings);

    let plates = wrenches(recording, rig, &frame).take(findings);
    // Of the plates as recorded: what was done to them must not hide what they are.
    quality::recorded(recording, rig, &plates, findings);
    if plates.is_empty() {
        return Err(SwingError::NoPlates);
    }
    let how_conditioned = how.conditioning.as_ref().unwrap_or(&rig.conditioning);
    let conditioned = condition(plates, recording, rig, &frame, how_conditioned).take(findings);
    let (plates, rate_hz, done) = (conditioned.plates, conditioned.rate_hz, conditioned.done);
    let shadows: Vec<PlateShadow> = plates.iter().map(|p| shadow(p, rig)).collect();
    let address = find_address(&plates, rate_hz);
    let at = quality::Place { recording, rig, frame: &frame };
    quality::plates(&at, &plates, rate_hz, &shadows, &player, findings);

    let split = assign(rig, &plates, &shadows, address.as_ref(), player.hand, how.collapse)
        .map_err(SwingError::NothingLoaded)?
        .take(findings);
    let series = book(plates, &split, rig.load_floor_n);
    let about = resolve(&how.about, recording, rig, &frame, &series, rate_hz, address.as_ref())
        .map_err(SwingError::AboutUnavailable)?;
    let ledger = ledger(&series, player.hand, &about);

    let body_weight_n = body_weight(recording, how, &series, address.as_ref());
    let swing = Swing {
        frame,
        player,
        rate_hz,
        start_s: recording.analog.start_s,
        plates: shadows,
        split,
        series,
        ledger,
        address,
        body_weight_n,
        about: how.about.clone(),
        done,
    };
    quality::swing(recording, rig, &swing, findings);
    Ok(swing)
}

fn who(recording: &Recording, how: &Settings, findings: &mut Vec<Finding>) -> Player {
    if how.hand.is_none() {
        findings.push(Finding::new(&mechanics::finding::HAND_ASSUMED, "right-handed was taken"));
    }
    Player { hand: how.hand.unwrap_or(Hand::Right), mass_kg: how.mass_kg.or(recording.mass_kg) }
}

pub(crate) fn shadow(plate: &PlateWrench, rig: &Rig) -> PlateShadow {
    let mut vertical: Vec<f64> = plate.wrench.force_n.iter().map(|f| f.z).filter(|z| z.is_finite()).collect();
    let count = vertical.len();
    let mut ranked = |rank: usize| {
        if rank < count { *vertical.select_nth_unstable_by(rank, f64::total_cmp).1 } else { f64::NAN }
    };
    let last = count.saturating_sub(1);
    let high_n = ranked(last - last / 100);
    PlateShadow {
        name: plate.name.clone(),
        plate: plate.plate,
        surface: plate.surface,
        peak_n: ranked(last),
        median_n: ranked(count / 2),
        low_n: ranked(count / 20),
        loaded: quality::is_loaded(high_n, rig.load_floor_n),
    }
}

/// Moves the plates' wrenches to the feet they were assigned to.
fn book(plates: Vec<PlateWrench>, split: &Split, floor_n: f64) -> FootSeries {
    let (mut lead, mut trail, mut both) = (Vec::new(), Vec::new(), Vec::new());
    for plate in plates {
        if split.lead.contains(&plate.plate) {
            lead.push(plate);
        } else if split.trail.contains(&plate.plate) {
            trail.push(plate);
        } else if split.both.contains(&plate.plate) {
            both.push(plate);
        }
    }
    if lead.is_empty() || trail.is_empty() {
        both.append(&mut lead);
        both.append(&mut trail);
        // Several plates under both feet: their wrenches are summed, as the one plate they would have been.
        return net_only(both, floor_n);
    }
    two_feet(lead, trail, floor_n)
}

fn body_weight(
    recording: &Recording,
    how: &Settings,
    series: &FootSeries,
    address: Option<&Address>,
) -> Option<BodyWeight> {
    let weigh = |kg: f64, from| BodyWeight { newton: kg * STANDARD_GRAVITY, from };
    how.mass_kg
        .map(|kg| weigh(kg, WeightSource::Stated))
        .or_else(|| recording.mass_kg.map(|kg| weigh(kg, WeightSource::Recording)))
        .or_else(|| {
            let window = address?.samples.clone();
            let quiet = series.net.wrench.force_n.get(window)?;
            let newton = quiet.iter().map(|f| f.z).sum::<f64>() / quiet.len() as f64;
            (newton > 0.0).then_some(BodyWeight { newton, from: WeightSource::Standing })
        })
}

/// Mean of a column of vectors over a range, leaving out samples that are not defined; NaN where none is.
pub(crate) fn mean_over(vectors: impl Iterator<Item = DVec3>) -> DVec3 {
    let (sum, count) =
        vectors.filter(|v| v.is_finite()).fold((DVec3::ZERO, 0_usize), |(s, n), v| (s + v, n + 1));
    sum / count as f64
}
