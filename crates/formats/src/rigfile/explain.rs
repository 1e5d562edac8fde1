//! A rig in plain sentences.
use mechanics::plate::{Foothold, ReducedAxes};
use mechanics::{Axis, Measures, Plate, Recording, Rig, Sensing, Target, TriggerKind};
use std::fmt::Write as _;

/// Says what a rig means, one paragraph a plate. With a recording, channels are called by their names.
pub fn explain(rig: &Rig, recording: Option<&Recording>) -> String {
    let mut text = String::new();
    let count = rig.plates.len();
    let _ = writeln!(
        text,
        "{}: {count} plate{}. Up is the laboratory's {}. {}",
        rig.name,
        if count == 1 { "" } else { "s" },
        rig.up.name(),
        target(rig)
    );
    let _ = writeln!(
        text,
        "The golf frame starts at {}; under {} N of vertical force a plate or foot has no centre of pressure.",
        match rig.origin_m {
            Some(o) => format!("({}, {}, {}) m", metres(o.x), metres(o.y), metres(o.z)),
            None => "the middle of the plates".into(),
        },
        rig.load_floor_n
    );
    for plate in &rig.plates {
        let _ = write!(text, "\nPlate {}\n{}", plate.name, describe(plate, rig.up, recording));
    }
    if let Some(trigger) = &rig.trigger {
        let name = label(recording, trigger.channel);
        let does = match (trigger.kind, trigger.level) {
            (_, Some(level)) => format!("first crosses {level}"),
            (TriggerKind::Sound, None) => "rises out of its noise".into(),
            (TriggerKind::Step, None) => "steps".into(),
        };
        let heard = match (trigger.kind, trigger.distance_m) {
            (TriggerKind::Step, _) => String::new(),
            (TriggerKind::Sound, Some(m)) => format!(", less the time that sound takes over {m} m"),
            (TriggerKind::Sound, None) => {
                ", less the time that sound takes over a distance not stated".into()
            }
        };
        let _ = writeln!(text, "\nThe {} is where {name} {does}{heard}.", trigger.marks);
    }
    let b = &rig.budget;
    let _ = writeln!(
        text,
        "\nTaken as uncertain, one standard deviation: force {} %, moment {} %, cross-talk {} %, drift {} N and {} N·m, place {} mm, angle {}°, time between plates {} ms.",
        short(b.force_gain * 100.0),
        short(b.moment_gain * 100.0),
        short(b.crosstalk * 100.0),
        short(b.force_drift_n),
        short(b.moment_drift_nm),
        short(b.position_m * 1000.0),
        short(b.angle_rad.to_degrees()),
        short(b.skew_s * 1000.0),
    );
    text
}

fn target(rig: &Rig) -> String {
    let name = |index: usize| rig.plates.get(index).map_or("?", |p| p.name.as_str());
    match rig.target {
        None => "Where the target is, nobody has said.".into(),
        Some(Target::Axis(axis)) => format!("The target lies toward the laboratory's {}.", axis.name()),
        Some(Target::Vector(v)) => {
            format!(
                "The target lies along ({}, {}, {}) in laboratory axes.",
                short(v.x),
                short(v.y),
                short(v.z)
            )
        }
        Some(Target::FromTo(a, b)) => {
            format!("The target lies from plate {} toward plate {}.", name(a), name(b))
        }
    }
}

fn describe(plate: &Plate, up: Axis, recording: Option<&Recording>) -> String {
    let mut lines = Vec::new();
    let centre = plate.centre_m();
    let (along, across) = plate.size_m();
    lines.push(format!(
        "{} m along its x by {} m along its y, its centre at ({}, {}, {}) m.",
        metres(along),
        metres(across),
        metres(centre.x),
        metres(centre.y),
        metres(centre.z)
    ));
    match plate.axes() {
        None => lines.push("Its corners span no rectangle, so it has no axes.".into()),
        Some(axes) => {
            let z = match axes.z_axis.dot(up.unit()) {
                d if d > 0.5 => "up",
                d if d < -0.5 => "down",
                _ => "sideways",
            };
            lines.push(format!(
                "Its x points to the laboratory's {}, its y to {}, its z {z}.",
                direction(axes.x_axis),
                direction(axes.y_axis)
            ));
        }
    }
    lines.push(sensing(&plate.sensing, recording));
    lines.push(whose(plate, up));
    if plate.cover_m > 0.0 {
        lines.push(format!(
            "A cover of {} mm lies on it and raises the surface.",
            short(plate.cover_m * 1000.0)
        ));
    }
    lines.push(match plate.foot {
        None => {
            "Which foot stands on it is told by the target: the lead foot is the one nearer to it.".into()
        }
        Some(Foothold::Both) => "Both feet stand on it, so only net accounts exist.".into(),
        Some(Foothold::Lead) => "The lead foot stands on it.".into(),
        Some(Foothold::Trail) => "The trail foot stands on it.".into(),
        Some(Foothold::Left) => "The left foot stands on it.".into(),
        Some(Foothold::Right) => "The right foot stands on it.".into(),
    });
    lines.iter().map(|l| format!("  {l}\n")).collect()
}

fn sensing(sensing: &Sensing, recording: Option<&Recording>) -> String {
    let name = |c: &usize| label(recording, *c);
    match sensing {
        Sensing::Linear { channels, columns, origin_m } => {
            let names = channels.iter().map(name).collect::<Vec<_>>().join(", ");
            let plain =
                |(k, c): (usize, &[f64; 6])| c.iter().enumerate().all(|(row, v)| row == k || *v == 0.0);
            let six = channels.len() == 6 && columns.len() == 6 && columns.iter().enumerate().all(plain);
            let what = match (six, channels.len()) {
                (true, _) => format!("Its six components Fx, Fy, Fz, Mx, My, Mz are {names}"),
                (false, 8) => format!("Force and moment come from eight channels: {names}"),
                (false, n) => format!("Force and moment come from {n} channels through a matrix: {names}"),
            };
            let units = if six {
                let [f, m] = [columns[2][2], columns[5][5]];
                let unit =
                    |v: f64, si: &str| if v == 1.0 { si.to_owned() } else { format!("{} {si}", short(v)) };
                format!(" (one unit is {} and {})", unit(f, "N"), unit(m, "N·m"))
            } else {
                String::new()
            };
            let o = *origin_m * 1000.0;
            let origin = if o == glam::DVec3::ZERO {
                "moments are about the centre of the surface".to_owned()
            } else if o.x == 0.0 && o.y == 0.0 {
                format!("moments are about a point {} mm under it", short(o.z.abs()))
            } else {
                format!(
                    "moments are about a point from which the surface's centre lies ({}, {}, {}) mm away in plate axes",
                    short(o.x),
                    short(o.y),
                    short(o.z)
                )
            };
            format!("{what}{units}; {origin}.")
        }
        Sensing::Reduced { force, centre, free_moment, axes, .. } => {
            let axes = match axes {
                ReducedAxes::Lab => "laboratory axes",
                ReducedAxes::Plate => "its own axes",
            };
            let force = force.iter().map(name).collect::<Vec<_>>().join(", ");
            let centre = centre.iter().flatten().map(name).collect::<Vec<_>>().join(", ");
            let free = match free_moment {
                Some(c) => format!("free moment {}", name(c)),
                None => "no free moment, so none is counted".into(),
            };
            format!("It is already reduced, in {axes}: force {force}; centre of pressure {centre}; {free}.")
        }
    }
}

/// What a person standing on the plate makes its vertical channel read.
fn whose(plate: &Plate, up: Axis) -> String {
    let lab = matches!(plate.sensing, Sensing::Reduced { axes: ReducedAxes::Lab, .. });
    let z = plate.axes().map_or(0.0, |a| a.z_axis.dot(up.unit()));
    let upward = if lab { up.name().starts_with('+') } else { z > 0.0 };
    let vertical = if lab { format!("laboratory {}", &up.name()[1..]) } else { "z".to_owned() };
    let sign = |on_player: bool| if on_player == upward { "positive" } else { "negative" };
    match plate.measures {
        Measures::OnPlayer => format!(
            "Its channels hold the force of the plate on the player: a standing person reads {} along {vertical}.",
            sign(true)
        ),
        Measures::OnPlate => format!(
            "Its channels hold the force of the player on the plate: a standing person reads {} along {vertical}. Force and moment are turned together.",
            sign(false)
        ),
        Measures::BySign => {
            "Whose force its channels hold is not stated: it is turned so that the load comes out upward."
                .into()
        }
    }
}

fn label(recording: Option<&Recording>, channel: usize) -> String {
    match recording.and_then(|r| r.analog.channels.get(channel)) {
        Some(found) => found.label.clone(),
        None => format!("channel {}", channel + 1),
    }
}

/// An axis where the direction is near one, else its components.
fn direction(v: glam::DVec3) -> String {
    match Axis::ALL.into_iter().find(|a| a.unit().dot(v) > 0.9999) {
        Some(axis) => axis.name().to_owned(),
        None => format!("({}, {}, {})", short(v.x), short(v.y), short(v.z)),
    }
}

fn metres(value: f64) -> f64 {
    (value * 1e4).round() / 1e4 + 0.0
}

fn short(value: f64) -> f64 {
    (value * 1e3).round() / 1e3 + 0.0
}
