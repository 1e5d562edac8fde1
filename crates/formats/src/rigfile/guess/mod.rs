//! A first rig file from a recording: what its names and numbers tell, and questions for what they cannot.
mod answer;
mod figures;
mod labels;

use super::schema::{
    AxesWord, Foot, Force, Piezo, PlateEntry, Reduced, RigFile, Six, TargetEntry, TriggerEntry, Vertical,
};
use super::words::quoted_list;
use crate::table::Column;
use figures::Figures;
use glam::DVec3;
use labels::{Group, Kind};
use mechanics::{Axis, Recording};

pub use answer::AnswerError;

/// Size of a plate where nobody states it, m: a common one, marked as assumed wherever it is used.
const USUAL_SIZE_M: [f64; 2] = [0.6, 0.4];

/// Two feet do not stand nearer than this, middle to middle, m. From memory of foot widths, no source.
const FEET_APART_M: f64 = 0.05;

/// A proposed rig file, what was seen, and what must be asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// The rig as far as it is known, with every question at its default.
    pub rig: RigFile,
    /// What was seen in the recording, one sentence each.
    pub seen: Vec<String>,
    /// What the recording cannot tell, in the order in which to ask.
    pub questions: Vec<Question>,
}

/// One question.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// Stable name, such as "target" or "plate2.size".
    pub id: String,
    /// For people.
    pub wording: String,
    /// The answer taken when nobody answers.
    pub default: String,
    /// Possible answers, where they can be listed.
    pub choices: Vec<String>,
    /// True once somebody has answered.
    pub answered: bool,
}

/// Looks at a recording and proposes a rig file for it. Never fails: what is not seen is asked.
pub fn propose(recording: &Recording) -> Proposal {
    let mut out = Proposal { rig: RigFile::default(), seen: Vec::new(), questions: Vec::new() };
    out.ask("name", "A name for the rig?", "my rig", &[]);
    out.rig.name = Some("my rig".into());
    let analog = &recording.analog;
    if analog.rate_hz.is_nan() {
        out.ask("rate_hz", "How many samples a second? The recording does not say.", "1000", &[]);
        out.rig.rate_hz = Some(1000.0);
    } else {
        out.seen.push(format!(
            "{} samples in each of {} channels at {} Hz: {:.2} s.",
            analog.len(),
            analog.channels.len(),
            analog.rate_hz,
            analog.duration_s()
        ));
    }
    if recording.plates.is_empty() {
        from_channels(recording, &mut out);
    } else {
        let rig = mechanics::Rig::of_recording(recording);
        let count = recording.plates.len();
        out.seen.push(format!(
            "The recording describes {count} plate{} itself; the rig adds only what it does not say.",
            if count == 1 { "" } else { "s" }
        ));
        out.rig.up = Some(rig.up);
        out.ask("up", "Which laboratory axis points up?", rig.up.name(), &axis_names());
    }
    let up = out.rig.up.unwrap_or(Axis::PlusZ);
    let target = super::geometry::first_horizontal(up);
    out.rig.target = Some(TargetEntry::Axis(target));
    let level: Vec<&str> =
        Axis::ALL.into_iter().filter(|a| a.unit().dot(up.unit()) == 0.0).map(Axis::name).collect();
    out.ask(
        "target",
        "Where is the target, as a laboratory axis (or a vector such as 1 0 0, or \"from A to B\" by plates)?",
        target.name(),
        &level,
    );
    propose_trigger(recording, &mut out);
    out
}

fn axis_names() -> Vec<&'static str> {
    Axis::ALL.into_iter().map(Axis::name).collect()
}

impl Proposal {
    fn ask(&mut self, id: &str, wording: &str, default: &str, choices: &[&str]) {
        self.questions.push(Question {
            id: id.to_owned(),
            wording: wording.to_owned(),
            default: default.to_owned(),
            choices: choices.iter().map(|c| (*c).to_owned()).collect(),
            answered: false,
        });
    }

    /// The rig file as text. Values that nobody has answered for are listed at its head as assumed.
    pub fn write(&self) -> String {
        let open: Vec<&Question> = self.questions.iter().filter(|q| !q.answered && q.id != "name").collect();
        let mut text = String::new();
        if !open.is_empty() {
            text.push_str(
                "# Assumed, not measured. Check each against the rig, then delete its line here:\n",
            );
            for question in open {
                text.push_str(&format!("#   {} = {}\n", question.id, question.default));
            }
            text.push('\n');
        }
        text + &super::write::write(&self.rig)
    }
}

fn from_channels(recording: &Recording, out: &mut Proposal) {
    let labels: Vec<&str> = recording.analog.channels.iter().map(|c| c.label.as_str()).collect();
    let groups = labels::groups(&labels);
    if groups.is_empty() {
        let names: Vec<String> = labels.iter().map(|l| (*l).to_owned()).collect();
        out.seen.push(format!(
            "No channel names that look like a plate's were found among {}; add a [[plate]] by hand.",
            quoted_list(&names, 12)
        ));
        return;
    }
    let mut seen = Vec::new();
    for group in groups {
        if let Some(kind) = group.kind()
            && let Some(figures) = figures::figures(recording, &group, kind)
        {
            seen.push((group, kind, figures));
        }
    }
    // The heaviest plate knows best which axis is loaded, and whose force the channels hold.
    let heaviest = seen.iter().max_by(|a, b| a.2.load_n.abs().total_cmp(&b.2.load_n.abs()));
    let Some((_, kind, best)) = heaviest else { return };
    let whose = whose(*kind, best);
    let up = up_axis(*kind, best, whose);
    out.rig.up = Some(up);
    out.ask("up", "Which laboratory axis points up?", up.name(), &axis_names());
    let (vertical, sign) = (best.vertical, best.load_n);
    out.seen.push(format!(
        "The loaded force channels have {} as their vertical axis, {} under load.",
        ["x", "y", "z"][vertical],
        if sign < 0.0 { "negative" } else { "positive" }
    ));
    if let Some((a, b)) = best.pendulum {
        out.seen.push(format!(
            "In quiet standing horizontal force and centre of pressure correlate {a:+.2} and {b:+.2}: {}.",
            match reads(best) {
                Some(Force::OnPlayer) => "the channels read as the force on the player",
                Some(Force::OnPlate) => "the channels read as the force on the plate",
                None => "not clear enough to tell whose force the channels hold",
            }
        ));
    }
    let count = seen.len();
    for (index, (group, kind, figures)) in seen.iter().enumerate() {
        let entry = plate(recording, out, index, count, group, *kind, figures, (vertical, whose, sign));
        out.rig.plate.push(entry);
    }
    set_apart(out, up);
}

/// Two plates cannot lie in each other. Where the centres of pressure of two reduced plates lie nearer than plates of
/// the assumed size can, the plates are taken to touch midway between the feet. Common practice, no source.
fn set_apart(out: &mut Proposal, up: Axis) {
    let [a, b] = out.rig.plate.as_mut_slice() else { return };
    let (Some(from), Some(to), Some(size)) = (a.centre_m, b.centre_m, a.size_m) else { return };
    if a.reduced.is_none() || b.reduced.is_none() {
        return;
    }
    let (from, to) = (DVec3::from_array(from), DVec3::from_array(to));
    let first = super::geometry::first_horizontal(up).unit();
    let second = up.unit().cross(first);
    let apart = to - from;
    let (line, length) =
        if apart.dot(first).abs() > apart.dot(second).abs() { (first, size[0]) } else { (second, size[1]) };
    let distance = apart.dot(line);
    if distance.abs() >= length {
        return;
    }
    let centimetres = 100.0 * distance.abs();
    if distance.abs() < FEET_APART_M {
        out.seen.push(format!(
            "The two centres of pressure lie {centimetres:.0} cm apart, nearer than feet can stand: each may be in its own \
             plate's axes. If so, answer \"plate\" where the axes are asked, and state the centres."
        ));
        return;
    }
    let middle = (from + to) / 2.0;
    let half = line * (length / 2.0).copysign(distance);
    let places = [middle - half, middle + half].map(|c| to_millimetre(c.to_array()));
    (a.centre_m, b.centre_m) = (Some(places[0]), Some(places[1]));
    out.seen.push(format!(
        "The feet stand {centimetres:.0} cm apart, nearer than the middles of two plates of {} m by {} m can lie: the plates \
         are taken to touch midway between the feet.",
        size[0], size[1]
    ));
    for (index, place) in places.into_iter().enumerate() {
        let id = format!("plate{}.centre", index + 1);
        for question in out.questions.iter_mut().filter(|q| q.id == id) {
            question.default = words_of(place);
        }
    }
}

fn to_millimetre(place_m: [f64; 3]) -> [f64; 3] {
    // The added 0 makes a negative one positive.
    place_m.map(|c| (c * 1000.0).round() / 1000.0 + 0.0)
}

fn words_of(place_m: [f64; 3]) -> String {
    let [x, y, z] = place_m;
    format!("{x} {y} {z}")
}

/// Whose force the channels read as, by the standing pendulum; `None` where it is not clear.
fn reads(figures: &Figures) -> Option<Force> {
    let (a, b) = figures.pendulum?;
    match () {
        () if a.min(b) > 0.35 && a + b > 1.1 => Some(Force::OnPlate),
        () if a.max(b) < -0.35 && a + b < -1.1 => Some(Force::OnPlayer),
        () => None,
    }
}

/// By the pendulum, else by habit: reduced forces are mostly the reaction, and plates mostly have z down, where
/// a positive load is the force on the plate (common practice, no source).
fn whose(kind: Kind, figures: &Figures) -> Force {
    reads(figures).unwrap_or(match (kind, figures.load_n < 0.0) {
        (Kind::Reduced, _) | (_, true) => Force::OnPlayer,
        (_, false) => Force::OnPlate,
    })
}

/// The sign of a vertical force and whose it is tell where the channels' z points.
fn z_of(whose: Force, load_n: f64) -> Vertical {
    match (whose, load_n < 0.0) {
        (Force::OnPlayer, false) | (Force::OnPlate, true) => Vertical::Up,
        (Force::OnPlayer, true) | (Force::OnPlate, false) => Vertical::Down,
    }
}

fn up_axis(kind: Kind, figures: &Figures, whose: Force) -> Axis {
    let (plus, minus) = match figures.vertical {
        0 => (Axis::PlusX, Axis::MinusX),
        1 => (Axis::PlusY, Axis::MinusY),
        _ => (Axis::PlusZ, Axis::MinusZ),
    };
    // Reduced channels are in laboratory axes; for others the laboratory is ours to choose, so it stands upright.
    match (kind, z_of(whose, figures.load_n)) {
        (Kind::Reduced, Vertical::Down) => minus,
        _ => plus,
    }
}

/// The words of the question about `z` and `force` together; the vertical channel's sign leaves two readings.
fn readings(load_n: f64) -> [(&'static str, Vertical, Force); 2] {
    if load_n < 0.0 {
        [
            ("z down, on player", Vertical::Down, Force::OnPlayer),
            ("z up, on plate", Vertical::Up, Force::OnPlate),
        ]
    } else {
        [
            ("z down, on plate", Vertical::Down, Force::OnPlate),
            ("z up, on player", Vertical::Up, Force::OnPlayer),
        ]
    }
}

#[allow(clippy::too_many_arguments)] // one entry from everything seen; called once
fn plate(
    recording: &Recording,
    out: &mut Proposal,
    index: usize,
    count: usize,
    group: &Group,
    kind: Kind,
    figures: &Figures,
    (vertical, force, sign): (usize, Force, f64),
) -> PlateEntry {
    let id = |what: &str| format!("plate{}.{what}", index + 1);
    let name = match group.key.as_str() {
        "R" => "right".to_owned(),
        "L" => "left".to_owned(),
        "" => (index + 1).to_string(),
        key => key.to_lowercase(),
    };
    let taken = |name: &str| out.rig.plate.iter().any(|p| p.name.as_deref() == Some(name));
    let name = if taken(&name) { format!("{name} ({})", index + 1) } else { name };
    let label =
        |c: usize| Column::Name(recording.analog.channels.get(c).map_or(String::new(), |c| c.label.clone()));
    let of = |slot: Option<usize>| slot.map_or(Column::Name("-".into()), label);
    // Channels in laboratory-like axes with another vertical than z: the same turn of all three keeps the hand.
    let turned =
        |parts: [Option<usize>; 3]| [parts[(vertical + 1) % 3], parts[(vertical + 2) % 3], parts[vertical]];
    let mut entry = PlateEntry { name: Some(name.clone()), force: Some(force), ..PlateEntry::default() };
    entry.force_unit = figures.force_unit.map(str::to_owned);
    entry.moment_unit = figures.moment_unit.map(str::to_owned);
    let words = match kind {
        Kind::Six => {
            let [fx, fy, fz] = turned(group.force).map(of);
            let [mx, my, mz] = turned(group.moment).map(of);
            entry.six = Some(Six { fx, fy, fz, mx, my, mz });
            "six components"
        }
        Kind::Piezo => {
            let [fx12, fx34, fy14, fy23, fz1, fz2, fz3, fz4] = group.piezo.map(of);
            let (half_x_mm, half_y_mm, depth_mm) = (200.0, 120.0, Some(50.0));
            entry.piezo =
                Some(Piezo { fx12, fx34, fy14, fy23, fz1, fz2, fz3, fz4, half_x_mm, half_y_mm, depth_mm });
            "eight piezo channels"
        }
        Kind::Reduced => {
            let cop_unit = figures.cop_unit.map(str::to_owned);
            let (force, cop) = (group.force.map(of), group.cop.map(of).to_vec());
            let free_moment = group.free.map(label);
            if free_moment.is_some() && entry.moment_unit.is_none() {
                let unit = group.free.and_then(|c| recording.analog.channels.get(c)).map_or("", |c| &c.unit);
                entry.moment_unit = unit.is_empty().then(|| "Nm".to_owned());
            }
            entry.reduced = Some(Reduced { force, cop, free_moment, axes: AxesWord::Lab, cop_unit });
            "forces and centre of pressure"
        }
    };
    out.seen.push(format!(
        "Plate {name}: {words}, {:.0} N where loaded{}.",
        figures.load_n,
        match figures.force_unit {
            Some(unit) if unit != "N" => format!(" (taken as {unit}: otherwise nobody weighs that)"),
            Some(_) => " (no usable unit stated: taken as N)".into(),
            None => String::new(),
        }
    ));
    let choices: Vec<&str> = readings(sign).iter().map(|r| r.0).collect();
    let z = z_of(force, sign);
    if kind == Kind::Reduced {
        let words = "Are its numbers in laboratory axes or in the plate's own?";
        out.ask(&id("axes"), &format!("Plate {name}: {words}"), "lab", &["lab", "plate"]);
        let words = "whose force do the channels hold?";
        out.ask(&id("force"), &format!("Plate {name}: {words}"), force.word(), &["on player", "on plate"]);
    } else {
        entry.z = Some(z);
        let default = format!("z {}, {}", z.word(), force.word());
        let words = "the vertical channel leaves two readings; where does the plate's z point, and whose force do the channels hold?";
        out.ask(&id("reading"), &format!("Plate {name}: {words}"), &default, &choices);
    }
    let size = USUAL_SIZE_M;
    entry.size_m = Some(size);
    let words = "length along its own x and along its own y, in metres?";
    out.ask(&id("size"), &format!("Plate {name}: {words}"), &format!("{} {}", size[0], size[1]), &[]);
    let centre = match kind {
        Kind::Reduced => middle_of_cop(recording, group, figures),
        Kind::Six | Kind::Piezo => {
            let along = super::geometry::first_horizontal(out.rig.up.unwrap_or(Axis::PlusZ)).unit();
            (along * (size[0] + 0.02) * (index as f64 - (count as f64 - 1.0) / 2.0)).to_array()
        }
    };
    let centre = to_millimetre(centre);
    entry.centre_m = Some(centre);
    let words = "centre of its top surface, laboratory x y z, in metres?";
    out.ask(&id("centre"), &format!("Plate {name}: {words}"), &words_of(centre), &[]);
    let angle = match (kind, vertical) {
        (Kind::Six, 1) => -90.0,
        _ => 0.0,
    };
    entry.angle_deg = Some(angle);
    let words = "angle from the laboratory's first horizontal axis to the plate's x, counter-clockwise from above, in degrees?";
    out.ask(&id("angle"), &format!("Plate {name}: {words}"), &angle.to_string(), &[]);
    match kind {
        Kind::Six => {
            entry.depth_mm = Some(0.0);
            match figures.at_surface {
                Some(true) => out.seen.push(format!(
                    "Plate {name}: its moments give its own centre of pressure, so they are about the surface."
                )),
                _ => {
                    let words = "how deep under the surface lies the point its moments are about, in millimetres (0: moments about the surface)?";
                    out.ask(&id("depth"), &format!("Plate {name}: {words}"), "0", &[]);
                }
            }
        }
        Kind::Piezo => {
            let words = "half the distance between its sensors along x and along y, in millimetres?";
            out.ask(&id("half"), &format!("Plate {name}: {words}"), "200 120", &[]);
            let words = "how deep under the surface lie its sensors, in millimetres?";
            out.ask(&id("depth"), &format!("Plate {name}: {words}"), "50", &[]);
        }
        Kind::Reduced => {}
    }
    entry.foot = match (group.key.as_str(), count) {
        ("R", _) => Some(Foot::Right),
        ("L", _) => Some(Foot::Left),
        (_, 1) => Some(Foot::Both),
        _ => None,
    };
    let default = entry.foot.map_or("by target", Foot::word);
    let words = "which foot stands on it?";
    let choices = ["by target", "lead", "trail", "left", "right", "both"];
    out.ask(&id("foot"), &format!("Plate {name}: {words}"), default, &choices);
    out.ask(
        &id("cover"),
        &format!("Plate {name}: thickness of turf or mat lying on it, in millimetres?"),
        "0",
        &[],
    );
    entry
}

/// Mean place of the centre of pressure, m: a first guess of where the plate lies. 0 for what is not there.
fn middle_of_cop(recording: &Recording, group: &Group, figures: &Figures) -> [f64; 3] {
    let unit_of = |c: usize| recording.analog.channels.get(c).map_or("", |c| c.unit.as_str());
    std::array::from_fn(|k| {
        let Some(channel) = group.cop[k].filter(|_| k != figures.vertical) else { return 0.0 };
        let unit = figures.cop_unit.unwrap_or(unit_of(channel));
        let metres = crate::table::unit::parse(unit).map_or(1.0, |u| u.factor);
        let samples = recording.analog.channels.get(channel).map_or(&[][..], |c| &c.samples);
        let middle = signal::stats::mean(samples) * metres;
        if middle.is_finite() { middle } else { 0.0 }
    })
}

/// A channel whose name speaks of a trigger, and a level halfway up.
fn propose_trigger(recording: &Recording, out: &mut Proposal) {
    let speaks = |label: &str| {
        let label = label.to_lowercase();
        ["trig", "impact", "sync", "strike"].iter().any(|w| label.contains(w))
    };
    let Some(channel) = recording.analog.channels.iter().find(|c| speaks(&c.label)) else { return };
    let Some((low, high)) = signal::stats::extent(&channel.samples).filter(|(l, h)| h > l) else { return };
    let level = (low + high) / 2.0;
    let marks = if channel.label.to_lowercase().contains("impact") { "impact" } else { "trigger" };
    out.seen
        .push(format!("Channel \"{}\" runs from {low} to {high}: it may mark an instant.", channel.label));
    out.rig.trigger = Some(TriggerEntry {
        channel: Column::Name(channel.label.clone()),
        level: Some(level),
        marks: marks.into(),
        kind: None,
        distance_m: None,
    });
    out.ask(
        "trigger",
        &format!("What does channel \"{}\" mark?", channel.label),
        marks,
        &["impact", "trigger", "nothing"],
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use mechanics::{Analog, Channel};

    fn near(found: DVec3, expected: [f64; 3]) {
        assert!((found - DVec3::from_array(expected)).length() < 1e-9, "{found} instead of {expected:?}");
    }

    /// Feet nearer than plates can lie: the plates touch between them. Farther: the centres of pressure say where the plates are.
    #[test]
    fn proposed_plates_of_two_feet_do_not_lie_in_each_other() {
        let feet = |left: [f64; 2], right: [f64; 2]| {
            let parts = ["Force X", "Force Y", "Force Z", "CoP X", "CoP Z"];
            let labels: Vec<String> =
                ["Left", "Right"].iter().flat_map(|f| parts.map(|p| format!("{f} {p}"))).collect();
            let mut table =
                Recording { analog: Analog { rate_hz: 100.0, ..Analog::default() }, ..Recording::default() };
            let values = [1.0, 400.0, 2.0, left[0], left[1], 1.0, 410.0, 2.0, right[0], right[1]];
            for (label, value) in labels.into_iter().zip(values) {
                let unit = if label.contains("Force") { "N" } else { "m" }.to_owned();
                table.analog.channels.push(Channel {
                    label,
                    unit,
                    samples: vec![value; 50],
                    ..Channel::default()
                });
            }
            let proposal = propose(&table);
            let plates = proposal.rig.resolve(&table).unwrap_or_else(|e| panic!("{e}")).value.plates;
            let asked = |id: &str| {
                proposal.questions.iter().find(|q| q.id == id).map(|q| q.default.clone()).unwrap_or_default()
            };
            ([plates[0].centre_m(), plates[1].centre_m()], asked("plate2.centre"), proposal.seen.join(" "))
        };
        // y is up, so x is the first horizontal axis (0.6 m) and z the second (0.4 m).
        let ([left, right], asked, seen) = feet([0.2, -0.1], [0.24, 0.08]);
        near(left, [0.22, 0.0, -0.21]);
        near(right, [0.22, 0.0, 0.19]);
        assert_eq!(asked, "0.22 0 0.19");
        assert!(seen.contains("The feet stand 18 cm apart"), "{seen}");
        let ([left, right], _, _) = feet([0.3, 0.02], [-0.1, 0.0]);
        near(left, [0.4, 0.0, 0.01]);
        near(right, [-0.2, 0.0, 0.01]);
        // Far enough apart.
        let ([left, right], asked, seen) = feet([0.1, -0.25], [0.1, 0.25]);
        near(left, [0.1, 0.0, -0.25]);
        near(right, [0.1, 0.0, 0.25]);
        assert_eq!(asked, "0.1 0 0.25");
        assert!(!seen.contains("apart"), "{seen}");
        // On one spot: in the plates' own axes, as likely as not.
        let (_, _, seen) = feet([0.01, 0.0], [-0.01, 0.02]);
        assert!(seen.contains("in its own plate's axes"), "{seen}");
    }
}
