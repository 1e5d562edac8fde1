//! Other readings of the same channels, and the lines of a rig file that state them.
//!
//! A plate whose load comes out upward has one other reading with the same load: its z turned over *and* the force
//! turned. The two differ in both horizontal forces against the place where they act, so that physics can tell them
//! apart, but not the vertical channel (docs/rig.md, "z and force").
use super::hand;
use super::pendulum::{Pendulum, pendulum};
use crate::address::Address;
use crate::analyse::Swing;
use crate::footmarks::{self, FootMark};
use glam::DVec3;
use mechanics::feet::{Foot, net_only};
use mechanics::finding::{self, Finding};
use mechanics::plate::ReducedAxes;
use mechanics::wrench::{PlateWrench, collapse, wrenches};
use mechanics::{Measures, Plate, Recording, Rig, Sensing};

/// One way to read a plate.
#[derive(Clone, Debug)]
pub(super) struct Reading {
    /// The plate, read so.
    pub plate: Plate,
    /// What a rig file has to say of it, below its number.
    pub lines: String,
}

/// True where this plate's force and moment were turned into the reaction.
pub(super) fn turned(plate: usize, rig: &Rig, findings: &[Finding]) -> bool {
    match rig.plates.get(plate).map(|p| p.measures) {
        Some(Measures::OnPlate) => true,
        Some(Measures::BySign) => {
            findings.iter().any(|f| f.kind == &finding::FORCE_SIGN_TURNED && f.plate == Some(plate))
        }
        _ => false,
    }
}

pub(super) fn force_word(turned: bool) -> &'static str {
    if turned { "on plate" } else { "on player" }
}

/// z turned over with x kept, and the force turned. `None` for numbers that are already in laboratory axes, which have
/// no z of the plate.
pub(super) fn other(plate: &Plate, up: DVec3, turned: bool) -> Option<Reading> {
    let [c1, c2, c3, c4] = plate.corners_m;
    let mut out = as_read(Plate { corners_m: [c4, c3, c2, c1], ..plate.clone() }, !turned);
    let up_now = out.axes()?.z_axis.dot(up) > 0.0;
    match &mut out.sensing {
        // The sensors stay under the surface whichever way z points; y turned with z.
        Sensing::Linear { origin_m, .. } => {
            let z = if up_now { origin_m.z.abs() } else { -origin_m.z.abs() };
            *origin_m = DVec3::new(origin_m.x, -origin_m.y, z);
        }
        Sensing::Reduced { axes: ReducedAxes::Lab, .. } => return None,
        Sensing::Reduced { .. } => {}
    }
    let z = if up_now { "up" } else { "down" };
    let lines = format!("z = \"{z}\"\nforce = \"{}\"", force_word(!turned));
    Some(Reading { plate: out, lines })
}

/// The same with y kept and x mirrored, which is [`other`] turned half round on the floor.
fn other_half_round(plate: &Plate, up: DVec3, turned: bool) -> Option<Reading> {
    let mut out = other(plate, up, turned)?;
    let [c1, c2, c3, c4] = plate.corners_m;
    out.plate.corners_m = [c2, c1, c4, c3];
    // The sheet of the plate gives its origin in the plate's own axes; only the corners were listed wrongly.
    if let (Sensing::Linear { origin_m, .. }, Sensing::Linear { origin_m: sheet_m, .. }) =
        (&mut out.plate.sensing, &plate.sensing)
    {
        *origin_m = DVec3::new(sheet_m.x, sheet_m.y, origin_m.z);
    }
    let origin = match &out.plate.sensing {
        Sensing::Linear { origin_m, .. } => format!("\norigin_m = {}", list(*origin_m)),
        Sensing::Reduced { .. } => String::new(),
    };
    out.lines =
        format!("{}{origin}\nforce = \"{}\"", corners_line(&out.plate.corners_m), force_word(!turned));
    Some(out)
}

/// Horizontal forces and the vertical moment alone turned; the places where forces act stay.
fn level_turned(plate: &Plate, recording: &Recording, turned: bool) -> Option<Reading> {
    let columns = about_surface(&plate.sensing)?;
    let turn = |c: &[f64; 6]| [-c[0], -c[1], c[2], c[3], c[4], -c[5]];
    with_columns(plate, recording, columns.iter().map(turn).collect(), turned)
}

/// The plate with other columns (force, and moment about the surface centre), as a matrix in a rig file.
pub(super) fn with_columns(
    plate: &Plate,
    recording: &Recording,
    columns: Vec<[f64; 6]>,
    turned: bool,
) -> Option<Reading> {
    let Sensing::Linear { channels, .. } = &plate.sensing else { return None };
    let names: Vec<String> = channels.iter().map(|&c| named(recording, c)).collect();
    let row = |i: usize| {
        let values: Vec<String> = columns.iter().map(|c| number(c[i])).collect();
        format!("  [{}],\n", values.join(", "))
    };
    let rows: String = (0..6).map(row).collect();
    let lines = format!(
        "force = \"{}\"\nforce_unit = \"N\"\nmoment_unit = \"Nm\"\n[plate.matrix]\nchannels = [{}]\nrows = [\n{rows}]",
        force_word(turned),
        names.join(", ")
    );
    let sensing = Sensing::calibrated(channels.clone(), columns, DVec3::ZERO);
    Some(Reading { plate: as_read(Plate { sensing, ..plate.clone() }, turned), lines })
}

/// Columns of linear channels with the moment taken about the centre of the surface.
pub(super) fn about_surface(sensing: &Sensing) -> Option<Vec<[f64; 6]>> {
    let Sensing::Linear { columns, origin_m, .. } = sensing else { return None };
    let moved = |c: &[f64; 6]| {
        let force = DVec3::new(c[0], c[1], c[2]);
        let moment = DVec3::new(c[3], c[4], c[5]) + force.cross(*origin_m);
        [force.x, force.y, force.z, moment.x, moment.y, moment.z]
    };
    Some(columns.iter().map(moved).collect())
}

fn as_read(plate: Plate, turned: bool) -> Plate {
    Plate { measures: if turned { Measures::OnPlate } else { Measures::OnPlayer }, ..plate }
}

/// A channel as a rig file names it: by its label where that is plain, else by its number.
fn named(recording: &Recording, channel: usize) -> String {
    let label = recording.analog.channels.get(channel).map_or("", |c| c.label.as_str());
    let plain = !label.is_empty()
        && label.trim() == label
        && label.chars().all(|c| (c.is_ascii_graphic() || c == ' ') && c != '"' && c != '\\');
    if plain && recording.analog.find(label) == Some(channel) {
        format!("\"{label}\"")
    } else {
        (channel + 1).to_string()
    }
}

fn number(value: f64) -> String {
    // −0 would only puzzle.
    format!("{}", value + 0.0)
}

fn list(v: DVec3) -> String {
    let digits = |x: f64| number((x * 1e5).round() / 1e5);
    format!("[{}, {}, {}]", digits(v.x), digits(v.y), digits(v.z))
}

/// "corners_m = […]".
pub(super) fn corners_line(corners_m: &[DVec3; 4]) -> String {
    format!("corners_m = [{}]", corners_m.map(list).join(", "))
}

/// Lines for some plates, one block each, after a sentence that says where they belong.
pub(super) fn blocks(recording: &Recording, rig: &Rig, lines: &[(usize, String)]) -> String {
    let mut out = String::new();
    for (plate, lines) in lines {
        let Some(of_rig) = rig.plates.get(*plate) else { continue };
        if recording.plates.len() == rig.plates.len() {
            out.push_str(&format!("\n[[plate]]\nnumber = {}\n{lines}", plate + 1));
            continue;
        }
        // A table's plates are the rig file's own blocks.
        out.push_str(&format!(
            "\n# in the block of plate \"{}\", in place of what it says there",
            of_rig.name
        ));
        if lines.contains("z = \"") {
            let [c1, c2, c3, c4] = of_rig.corners_m;
            let line = corners_line(&[c4, c3, c2, c1]);
            out.push_str(&format!("\n# corners, where stated, go in the order 4, 3, 2, 1: {line}"));
        }
        if lines.contains("[plate.matrix]") {
            out.push_str("\n# the matrix replaces six (or piezo), origin_m and depth_mm");
        }
        out.push_str(&format!("\n{lines}"));
    }
    out
}

/// The net of some plates of a rig as one foot; `None` where none can be read.
fn read(recording: &Recording, rig: &Rig, swing: &Swing, wanted: &[usize]) -> Option<Vec<PlateWrench>> {
    let mut plates = wrenches(recording, rig, &swing.frame).value;
    plates.retain(|p| wanted.contains(&p.plate));
    (!plates.is_empty()).then_some(plates)
}

/// The net of plates as one foot.
pub(super) fn net_of(plates: &[PlateWrench], rig: &Rig) -> Option<Foot> {
    let net = match plates {
        [only] => only.clone(),
        many => collapse(many)?,
    };
    Some(net_only(vec![net], rig.load_floor_n).net)
}

/// Mean distance of the feet's centres of pressure from the feet that markers show, m; `None` without markers.
fn from_markers_m(
    plates: &[PlateWrench],
    rig: &Rig,
    address: Option<&Address>,
    marks: &[FootMark],
) -> Option<f64> {
    let window = address?.samples.clone();
    let [first, second] = marks else { return None };
    let middle = |mark: &FootMark| (mark.heel_m + mark.toe_m) / 2.0;
    // Both feet on one plate: their common centre of pressure lies between them.
    let between = FootMark { left: true, heel_m: middle(first), toe_m: middle(second) };
    let feet = if plates.len() == 1 { std::slice::from_ref(&between) } else { marks };
    let mut sum = 0.0;
    for plate in plates {
        let places = window.clone().filter_map(|k| {
            let (force, moment) = (plate.wrench.force_n.get(k)?, plate.wrench.moment_nm.get(k)?);
            Some(mechanics::pressure::contact(*force, *moment, &plate.surface, rig.load_floor_n).cop_m)
        });
        let cop = crate::analyse::mean_over(places);
        sum += feet.iter().map(|m| m.distance_m(cop)).fold(f64::NAN, f64::min);
    }
    Some(sum / plates.len() as f64).filter(|d| d.is_finite())
}

/// A way to read one plate otherwise: plate, up, whether it is turned now.
type Way<'a> = &'a dyn Fn(&Plate, bool) -> Option<Reading>;

/// How the pendulum reads when some plates are read otherwise, whether a swing then turns the wrong way, how far the
/// feet are from their markers, and the lines that say so.
struct Tried {
    pendulum: Pendulum,
    turns_away: bool,
    from_markers_m: Option<f64>,
    lines: Vec<(usize, String)>,
}

fn tried(
    recording: &Recording,
    rig: &Rig,
    swing: &Swing,
    findings: &[Finding],
    plates: &[usize],
    way: Way,
) -> Option<Tried> {
    let mut other_rig = rig.clone();
    let mut lines = Vec::new();
    for &k in plates {
        let reading = way(rig.plates.get(k)?, turned(k, rig, findings))?;
        lines.push((k, reading.lines));
        other_rig.plates[k] = reading.plate;
    }
    let read = read(recording, &other_rig, swing, &loaded(swing))?;
    let marks = markers(recording, swing);
    let net = net_of(&read, rig)?;
    let address = as_recorded(swing, recording);
    let turns_away = address.as_ref().is_some_and(|a| hand::away(&net, a, swing.player.hand).is_some());
    Some(Tried {
        pendulum: pendulum(&net, recording.analog.rate_hz)?,
        turns_away,
        from_markers_m: from_markers_m(&read, rig, address.as_ref(), &marks),
        lines,
    })
}

/// The quiet interval in samples of the recording, which may have been resampled since.
fn as_recorded(swing: &Swing, recording: &Recording) -> Option<Address> {
    let address = swing.address.clone()?;
    let at = |k: usize| (k as f64 * recording.analog.rate_hz / swing.rate_hz).round() as usize;
    Some(Address { samples: at(address.samples.start)..at(address.samples.end), ..address })
}

/// Plates that carry a foot.
fn loaded(swing: &Swing) -> Vec<usize> {
    let split = &swing.split;
    split.lead.iter().chain(&split.trail).chain(&split.both).copied().collect()
}

fn markers(recording: &Recording, swing: &Swing) -> Vec<FootMark> {
    let samples = recording.markers.first().map_or(0, |m| m.path_m.len());
    let window = swing.address.as_ref().map(|a| a.samples.clone()).unwrap_or_default();
    let at = |sample: usize| {
        let time_s = sample as f64 / swing.rate_hz - recording.marker_start_s;
        ((time_s * recording.marker_rate_hz).max(0.0) as usize).min(samples)
    };
    footmarks::find(recording, &swing.frame, at(window.start)..at(window.end))
}

/// The remedy where the pendulum says that forces are those on the plate: the lines after which it does not.
///
/// Of the readings that satisfy the pendulum one is taken by which a swing turns toward the target, and of those one
/// that keeps the feet at their markers; where neither tells, z turned over with x kept. `None` where no reading satisfies it.
pub(super) fn settles(
    recording: &Recording,
    rig: &Rig,
    swing: &Swing,
    findings: &[Finding],
) -> Option<String> {
    let up = rig.up.unit();
    let plates = loaded(swing);
    let ways: [Way; 3] = [
        &|plate, turned| other(plate, up, turned),
        &|plate, turned| other_half_round(plate, up, turned),
        &|plate, turned| level_turned(plate, recording, turned),
    ];
    let mut best: Option<Tried> = None;
    for way in ways {
        let Some(now) = tried(recording, rig, swing, findings, &plates, way) else { continue };
        if now.pendulum.along.max(now.pendulum.across) > -0.3 {
            continue;
        }
        // Nearer by more than markers and soles are known.
        let nearer = |best: &Tried| {
            best.from_markers_m.zip(now.from_markers_m).is_some_and(|(best, now)| now < best - 0.02)
        };
        let better = best.as_ref().is_none_or(|best| match (best.turns_away, now.turns_away) {
            (true, false) => true,
            (false, true) => false,
            _ => nearer(best),
        });
        if better {
            best = Some(now);
        }
    }
    let best = best?;
    let by_markers = best.from_markers_m.is_some();
    let places = if by_markers {
        "and the feet stand at their markers"
    } else {
        "check that the feet then stand where they stood"
    };
    Some(format!(
        "State it once for the rig; read so, the correlations are {:+.2} and {:+.2}, {places}:{}",
        best.pendulum.along,
        best.pendulum.across,
        blocks(recording, rig, &best.lines)
    ))
}

/// The lines that turn horizontal forces and vertical moment of every loaded plate, where a swing then turns toward the
/// target. `None` where it does not, or where the plates' channels cannot be turned one by one.
pub(super) fn turns_level(
    recording: &Recording,
    rig: &Rig,
    swing: &Swing,
    findings: &[Finding],
) -> Option<String> {
    let mut other_rig = rig.clone();
    let mut lines = Vec::new();
    for k in loaded(swing) {
        let reading = level_turned(rig.plates.get(k)?, recording, turned(k, rig, findings))?;
        lines.push((k, reading.lines));
        other_rig.plates[k] = reading.plate;
    }
    let net = net_of(&read(recording, &other_rig, swing, &loaded(swing))?, rig)?;
    let address = as_recorded(swing, recording)?;
    let toward = hand::away(&net, &address, swing.player.hand).is_none();
    toward.then(|| blocks(recording, rig, &lines))
}

/// The remedy where plates of one rig hold opposite forces: the reading of some of them otherwise that satisfies the
/// pendulum best, of those turned and those not turned. Gives the plates and the lines.
pub(super) fn agrees(
    recording: &Recording,
    rig: &Rig,
    swing: &Swing,
    findings: &[Finding],
    sides: [&[usize]; 2],
) -> Option<(usize, String)> {
    let up = rig.up.unit();
    let way: Way = &|plate, turned| other(plate, up, turned);
    let mut best: Option<(usize, Tried)> = None;
    for (side, plates) in sides.into_iter().enumerate() {
        let Some(now) = tried(recording, rig, swing, findings, plates, way) else { continue };
        let sum = |t: &Tried| t.pendulum.along + t.pendulum.across;
        if best.as_ref().is_none_or(|(_, best)| sum(&now) < sum(best)) {
            best = Some((side, now));
        }
    }
    let (side, best) = best?;
    let lines = blocks(recording, rig, &best.lines);
    Some((side, format!("If the plates were not set up differently on purpose, state in a rig file:{lines}")))
}
