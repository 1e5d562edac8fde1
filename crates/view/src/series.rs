//! One row a sample: every column of the ledger in the convention asked for, with its unit and meaning.
use crate::convention::{Convention, Shown};
use crate::words;
use glam::DVec3;
use mechanics::feet::Foot;
use mechanics::ledger::Side;
use mechanics::uncertainty::{Along, Flat, Who};
use mechanics::{Recording, Rig};
use serde::Serialize;
use swing::{Sure, Swing};

/// One column of an export.
#[derive(Clone, Debug, Serialize)]
pub struct Column {
    /// Stable name, with the unit in it.
    pub name: String,
    /// Unit.
    pub unit: &'static str,
    /// What it is, in one line.
    pub what: String,
    /// One value a sample; NaN (null) where not defined.
    #[serde(skip)]
    pub values: Vec<f64>,
}

/// All columns of a swing.
///
/// `Player` frame: the columns fixed by the manual (`lead_target_n` … `turn_offset_nm`). `Golf` and `Lab`: force and
/// centre of pressure by axis (`lead_x_n`, `lead_cop_x_m` …). Turn columns keep their names in every frame: in
/// `Player` positive turns toward the target, otherwise positive is about the upward axis.
/// Forces and moments change sign for `Action`; positions never do. Columns of a foot are not defined where the feet
/// share a plate.
pub fn columns(swing: &Swing, how: Convention) -> Vec<Column> {
    let rows = swing.ledger.turn_nm.len();
    let mut out = vec![Column {
        name: "time_s".into(),
        unit: "s",
        what: "time of the recording".into(),
        values: (0..rows).map(|k| swing.start_s + k as f64 / swing.rate_hz).collect(),
    }];
    let feet = swing.series.feet.as_ref();
    let ledger = &swing.ledger;
    let sides = [
        ("lead", feet.map(|f| &f.lead), ledger.lead.as_ref()),
        ("trail", feet.map(|f| &f.trail), ledger.trail.as_ref()),
        ("net", Some(&swing.series.net), Some(&ledger.net)),
    ];
    for (name, foot, side) in sides {
        match how.frame {
            Shown::Player => player_side(name, side, rows, how, &mut out),
            Shown::Golf | Shown::Lab => axes_side(name, foot, rows, swing, how, &mut out),
        }
    }
    turn(swing, rows, how, &mut out);
    out
}

/// Standard uncertainties of the player's columns, one column each (`u_lead_target_n` …), from the rig's budget and
/// the plates' noise. They do not depend on signs.
pub fn uncertainties(swing: &Swing, rig: &Rig) -> Vec<Column> {
    use mechanics::uncertainty::{Column as Of, Point};
    let sure = Sure::of(swing, rig);
    let rows = swing.ledger.turn_nm.len();
    let names = ["lead", "trail", "net"];
    let mut columns: Vec<(String, &'static str, Of)> = Vec::new();
    for (name, who) in names.into_iter().zip(Who::ALL) {
        for (part, along) in [("target", Along::Target), ("toe", Along::Toe), ("up", Along::Up)] {
            columns.push((format!("{name}_{part}_n"), "N", Of::Force(who, along)));
        }
        for (part, flat) in [("target", Flat::Target), ("toe", Flat::Toe)] {
            columns.push((format!("{name}_cop_{part}_m"), "m", Of::Cop(who, flat)));
        }
        if who != Who::Net {
            columns.push((format!("{name}_free_moment_nm"), "N·m", Of::FreeMoment(who)));
        }
    }
    let turn = [
        ("turn_nm", Of::Turn(Point::Asked)),
        ("turn_lead_nm", Of::TurnLead(Point::Asked)),
        ("turn_trail_nm", Of::TurnTrail(Point::Asked)),
        ("turn_free_lead_nm", Of::FreeLead),
        ("turn_free_trail_nm", Of::FreeTrail),
        ("turn_couple_toe_nm", Of::CoupleToe),
        ("turn_couple_target_nm", Of::CoupleTarget),
        ("turn_offset_nm", Of::Offset(Point::Asked)),
    ];
    columns.extend(turn.map(|(name, of)| (name.to_string(), "N·m", of)));
    let mut values: Vec<Vec<f64>> = columns.iter().map(|_| Vec::with_capacity(rows)).collect();
    for k in 0..rows {
        let u = sure.u(swing, k);
        for (values, (.., of)) in values.iter_mut().zip(&columns) {
            values.push(u[of.index()]);
        }
    }
    columns
        .into_iter()
        .zip(values)
        .map(|((name, unit, _), values)| Column {
            what: format!("standard uncertainty of {name}"),
            name: format!("u_{name}"),
            unit,
            values,
        })
        .collect()
}

fn absent(rows: usize) -> Vec<f64> {
    vec![f64::NAN; rows]
}

fn scaled(column: &[f64], sign: f64) -> Vec<f64> {
    column.iter().map(|v| sign * v).collect()
}

fn player_side(name: &str, side: Option<&Side>, rows: usize, how: Convention, out: &mut Vec<Column>) {
    let mut add = |suffix: &str, unit, what: &str, column: fn(&Side) -> &Vec<f64>, sign: f64| {
        out.push(Column {
            name: format!("{name}_{suffix}"),
            unit,
            what: format!("{name}: {what}"),
            values: side.map_or_else(|| absent(rows), |s| scaled(column(s), sign)),
        });
    };
    let sign = how.sign();
    add("target_n", "N", "force toward the target", |s| &s.target_n, sign);
    add("toe_n", "N", "force toward the toes", |s| &s.toe_n, sign);
    add("up_n", "N", "force up", |s| &s.up_n, sign);
    add(
        "cop_target_m",
        "m",
        "centre of pressure toward the target, from the rig's centre",
        |s| &s.cop_target_m,
        1.0,
    );
    add("cop_toe_m", "m", "centre of pressure toward the toes, from the rig's centre", |s| &s.cop_toe_m, 1.0);
    if name != "net" {
        add(
            "free_moment_nm",
            "N·m",
            "free moment, positive turns toward the target",
            |s| &s.free_moment_nm,
            sign,
        );
    }
}

fn axes_side(
    name: &str,
    foot: Option<&Foot>,
    rows: usize,
    swing: &Swing,
    how: Convention,
    out: &mut Vec<Column>,
) {
    let frame = swing.frame;
    let lab = how.frame == Shown::Lab;
    let vector = |v: DVec3| if lab { frame.axes * v } else { v };
    let place = |p: DVec3| if lab { frame.axes * p + frame.origin_m } else { p };
    let whose = if lab { "laboratory" } else { "golf frame" };
    for (axis, letter) in ["x", "y", "z"].into_iter().enumerate() {
        let force = |f: &Foot| f.wrench.force_n.iter().map(|&v| how.sign() * vector(v)[axis]).collect();
        out.push(Column {
            name: format!("{name}_{letter}_n"),
            unit: "N",
            what: format!("{name}: force along {whose} {letter}"),
            values: foot.map_or_else(|| absent(rows), force),
        });
    }
    for (axis, letter) in ["x", "y", "z"].into_iter().enumerate() {
        let cop = |f: &Foot| f.contact.iter().map(|c| place(c.cop_m)[axis]).collect();
        out.push(Column {
            name: format!("{name}_cop_{letter}_m"),
            unit: "m",
            what: format!("{name}: centre of pressure, {whose} {letter}"),
            values: foot.map_or_else(|| absent(rows), cop),
        });
    }
    if name != "net" {
        let free = |f: &Foot| f.contact.iter().map(|c| how.sign() * c.free_nm).collect();
        out.push(Column {
            name: format!("{name}_free_moment_nm"),
            unit: "N·m",
            what: format!("{name}: free moment about the upward axis"),
            values: foot.map_or_else(|| absent(rows), free),
        });
    }
}

fn turn(swing: &Swing, rows: usize, how: Convention, out: &mut Vec<Column>) {
    let ledger = &swing.ledger;
    let (sign, positive) = match how.frame {
        Shown::Player => (how.sign(), "positive turns toward the target"),
        _ => (how.sign() * swing.player.hand.turn_sign(), "positive about the upward axis"),
    };
    let about = crate::words::about(&swing.about);
    let mut add = |name: &str, what: String, column: Option<&Vec<f64>>| {
        out.push(Column {
            name: name.into(),
            unit: "N·m",
            what: format!("{what}; {positive}"),
            values: column.map_or_else(|| absent(rows), |c| scaled(c, sign)),
        });
    };
    let t = ledger.turn.as_ref();
    add("turn_nm", format!("net turn about {about}"), Some(&ledger.turn_nm));
    add("turn_lead_nm", format!("lead foot's turn about {about}"), t.map(|t| &t.lead_nm));
    add("turn_trail_nm", format!("trail foot's turn about {about}"), t.map(|t| &t.trail_nm));
    add("turn_free_lead_nm", "entry: lead free moment".into(), t.map(|t| &t.free_lead_nm));
    add("turn_free_trail_nm", "entry: trail free moment".into(), t.map(|t| &t.free_trail_nm));
    add("turn_couple_toe_nm", "entry: shear couple, toe–heel".into(), t.map(|t| &t.couple_toe_nm));
    add("turn_couple_target_nm", "entry: shear couple, along target".into(), t.map(|t| &t.couple_target_nm));
    add("turn_offset_nm", format!("entry: offset, depends on {about}"), Some(&ledger.offset_nm));
}

/// Facts about an export that its columns cannot carry.
#[derive(Clone, Debug, Serialize)]
pub struct SeriesFacts {
    /// Name and version of this layout.
    pub schema: &'static str,
    /// The recording's file name.
    pub recording: String,
    /// Samples a second.
    pub rate_hz: f64,
    /// Signs and axes.
    pub convention: Convention,
    /// The convention in words.
    pub convention_words: &'static str,
    /// Handedness.
    pub hand: &'static str,
    /// Target direction, laboratory axes.
    pub target: String,
    /// Reference point of turn.
    pub about: String,
    /// Conditioning: none, or which baseline was removed.
    pub conditioning: String,
    /// Vertical force under which a centre of pressure is not defined, N.
    pub load_floor_n: f64,
    /// What happens where a foot has no centre of pressure.
    pub unloaded: &'static str,
    /// Origin of the golf frame in laboratory coordinates, m.
    pub origin_lab_m: [f64; 3],
}

impl SeriesFacts {
    /// Of a swing, the rig it was read by, and the convention of its columns.
    pub fn of(recording: &Recording, rig: &Rig, swing: &Swing, convention: Convention) -> Self {
        Self {
            schema: "underfoot.series/1",
            recording: recording.name.clone(),
            rate_hz: swing.rate_hz,
            convention,
            convention_words: convention.sentence(),
            hand: words::hand(swing.player.hand),
            target: words::direction(swing.frame.axes.x_axis),
            about: words::about(&swing.about),
            conditioning: words::conditioning(&swing.done),
            load_floor_n: rig.load_floor_n,
            unloaded: UNLOADED,
            origin_lab_m: swing.frame.origin_m.to_array(),
        }
    }
}

/// The sentence for [`SeriesFacts::unloaded`].
pub const UNLOADED: &str = "a foot under the load floor has no centre of pressure (null); its small wrench is booked at the \
     other foot's centre of pressure (at the reference point where neither is loaded): no couple, its moment there in its \
     own free entry, so the entries still sum to the net";
