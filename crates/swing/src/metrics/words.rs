//! Ids, labels, definitions, formulas and signs, worked out from recipes.
use super::{Over, Part, Recipe, Series, Unit, When};
use crate::events::Name;
use mechanics::uncertainty::{Along, Column, Flat, Point, Who};

fn who(w: Who) -> &'static str {
    match w {
        Who::Lead => "lead",
        Who::Trail => "trail",
        Who::Net => "net",
    }
}

fn along(a: Along) -> &'static str {
    match a {
        Along::Target => "target",
        Along::Toe => "toe",
        Along::Up => "up",
    }
}

fn flat(f: Flat) -> &'static str {
    match f {
        Flat::Target => "target",
        Flat::Toe => "toe",
    }
}

fn point_id(p: Point) -> &'static str {
    match p {
        Point::Asked => "asked",
        Point::NetCop => "net-cop",
        Point::MidCop => "mid-cop",
        Point::RigCentre => "rig-centre",
        Point::Stance => "stance",
        Point::LeadPlate => "lead-plate",
        Point::TrailPlate => "trail-plate",
    }
}

/// A reference point in words.
pub fn point(p: Point) -> &'static str {
    match p {
        Point::Asked => "the point asked for",
        Point::NetCop => "the net cop",
        Point::MidCop => "the midpoint of the cops",
        Point::RigCentre => "the rig's centre",
        Point::Stance => "the stance centre",
        Point::LeadPlate => "the lead plate's centre",
        Point::TrailPlate => "the trail plate's centre",
    }
}

/// "up.lead", "turn.net-cop", "entry.couple-toe".
pub fn series_id(series: Series) -> String {
    match series {
        Series::Account(column) => match column {
            Column::Force(w, a) => format!("{}.{}", along(a), who(w)),
            Column::Cop(w, f) => format!("cop.{}.{}", who(w), flat(f)),
            Column::FreeMoment(w) => format!("free-moment.{}", who(w)),
            Column::CoupleToe => "entry.couple-toe".into(),
            Column::CoupleTarget => "entry.couple-target".into(),
            Column::FreeLead => "entry.free-lead".into(),
            Column::FreeTrail => "entry.free-trail".into(),
            Column::Turn(p) => format!("turn.{}", point_id(p)),
            Column::Offset(p) => format!("entry.offset.{}", point_id(p)),
            Column::TurnLead(p) => format!("turn-of-lead.{}", point_id(p)),
            Column::TurnTrail(p) => format!("turn-of-trail.{}", point_id(p)),
            Column::Opposition(a) => format!("opposition.{}", along(a)),
            Column::LeadShare => "lead-share".into(),
        },
        Series::Velocity(a) => format!("body.velocity.{}", along(a)),
        Series::Displacement(a) => format!("body.displacement.{}", along(a)),
        Series::Power => "body.power".into(),
    }
}

/// "lead up", "turn about the net cop", "shear couple, toe–heel part".
pub fn series(series: Series) -> String {
    match series {
        Series::Account(column) => match column {
            Column::Force(w, a) => format!("{} {}", who(w), along(a)),
            Column::Cop(w, f) => format!("{} cop, {}", who(w), flat(f)),
            Column::FreeMoment(w) => format!("{} free moment", who(w)),
            Column::CoupleToe => "shear couple, toe–heel part".into(),
            Column::CoupleTarget => "shear couple, along-target part".into(),
            Column::FreeLead => "lead free moment (entry)".into(),
            Column::FreeTrail => "trail free moment (entry)".into(),
            Column::Turn(p) => format!("turn about {}", point(p)),
            Column::Offset(p) => format!("offset about {}", point(p)),
            Column::TurnLead(p) => format!("lead foot's turn about {}", point(p)),
            Column::TurnTrail(p) => format!("trail foot's turn about {}", point(p)),
            Column::Opposition(a) => format!("opposition, {}", along(a)),
            Column::LeadShare => "lead foot's share of the weight".into(),
        },
        Series::Velocity(a) => format!("velocity of the centre of mass, {}", along(a)),
        Series::Displacement(a) => format!("displacement of the centre of mass, {}", along(a)),
        Series::Power => "power on the centre of mass".into(),
    }
}

/// The curve's symbol in formulas.
fn symbol(series: Series) -> String {
    let f = |w: Who, a: Along| format!("F_{},{}", who(w), along(a));
    match series {
        Series::Account(column) => match column {
            Column::Force(w, a) => f(w, a),
            Column::Cop(w, d) => format!("cop_{},{}", who(w), flat(d)),
            Column::FreeMoment(w) => format!("T_{}", who(w)),
            Column::CoupleToe => "−s_target·D_toe".into(),
            Column::CoupleTarget => "s_toe·D_target".into(),
            Column::FreeLead => "T_lead".into(),
            Column::FreeTrail => "T_trail".into(),
            Column::Turn(p) => format!("Σ_i [T_i + ((cop_i − P) × F_i)_z], P = {}", point(p)),
            Column::Offset(p) => format!("((c − P) × F)_z, P = {}", point(p)),
            Column::TurnLead(p) => format!("T_lead + ((cop_lead − P) × F_lead)_z, P = {}", point(p)),
            Column::TurnTrail(p) => format!("T_trail + ((cop_trail − P) × F_trail)_z, P = {}", point(p)),
            Column::Opposition(a) => {
                let (l, t, n) = (f(Who::Lead, a), f(Who::Trail, a), f(Who::Net, a));
                format!("(|{l}| + |{t}| − |{n}|)/2")
            }
            Column::LeadShare => format!("{}/{}", f(Who::Lead, Along::Up), f(Who::Net, Along::Up)),
        },
        Series::Velocity(a) => format!("v_{} = ∫(F_net,{0} − F_0)/m dt", along(a)),
        Series::Displacement(a) => format!("∫v_{} dt", along(a)),
        Series::Power => "F_net · v".into(),
    }
}

/// The unit of a curve.
pub fn unit(series: Series) -> Unit {
    match series {
        Series::Account(column) => match column {
            Column::Force(..) | Column::Opposition(_) => Unit::Newton,
            Column::Cop(..) => Unit::Metre,
            Column::LeadShare => Unit::Share,
            _ => Unit::NewtonMetre,
        },
        Series::Velocity(_) => Unit::MetrePerSecond,
        Series::Displacement(_) => Unit::Metre,
        Series::Power => Unit::Watt,
    }
}

/// What a positive value means.
pub fn sign(series: Series) -> &'static str {
    let toward = |a: Along| match a {
        Along::Target => "positive: the ground pushes the player toward the target",
        Along::Toe => "positive: the ground pushes the player toward the toes",
        Along::Up => "positive: the ground pushes the player up",
    };
    match series {
        Series::Account(column) => match column {
            Column::Force(_, a) => toward(a),
            Column::Cop(_, Flat::Target) => "positive: toward the target from the golf origin",
            Column::Cop(_, Flat::Toe) => "positive: toward the toes from the golf origin",
            Column::Opposition(_) | Column::LeadShare => "never negative while both feet press",
            _ => "positive: turns the player toward the target",
        },
        Series::Velocity(Along::Up) | Series::Displacement(Along::Up) => "positive: up",
        Series::Velocity(Along::Target) | Series::Displacement(Along::Target) => {
            "positive: toward the target"
        }
        Series::Velocity(Along::Toe) | Series::Displacement(Along::Toe) => "positive: toward the toes",
        Series::Power => "positive: the ground gives energy to the centre of mass",
    }
}

fn when_id(when: When) -> String {
    match when {
        When::Most(s) => format!("at.{}.most", series_id(s)),
        When::Least(s) => format!("at.{}.least", series_id(s)),
        When::At(name) => format!("at.{}", name.name()),
    }
}

/// "at impact", "where net up is greatest".
pub fn when(when: When) -> String {
    match when {
        When::Most(s) => format!("where {} is greatest", series(s)),
        When::Least(s) => format!("where {} is least", series(s)),
        When::At(name) => format!("at {}", name.name()),
    }
}

/// The two ends of a force along the target have names of their own.
fn extreme(s: Series, most: bool) -> &'static str {
    match (s, most) {
        (Series::Account(Column::Force(_, Along::Target)), true) => "most (driving)",
        (Series::Account(Column::Force(_, Along::Target)), false) => "least (braking)",
        (_, true) => "most",
        (_, false) => "least",
    }
}

fn peak(when: When) -> String {
    match when {
        When::Most(s) => format!("{}, {}", series(s), extreme(s, true)),
        When::Least(s) => format!("{}, {}", series(s), extreme(s, false)),
        When::At(name) => name.name().into(),
    }
}

fn over(o: Over) -> (&'static str, &'static str) {
    match o {
        Over::Movement => ("movement", "over the movement"),
        Over::Backswing => ("backswing", "over the backswing"),
        Over::Downswing => ("downswing", "over the downswing"),
        Over::FollowThrough => ("follow-through", "over the follow-through"),
    }
}

fn part(column: Column, p: Part) -> (&'static str, &'static str) {
    let driving = matches!(column, Column::Force(_, Along::Target));
    match (p, driving) {
        (Part::All, _) => ("all", ""),
        (Part::Positive, true) => ("driving", ", driving part"),
        (Part::Negative, true) => ("braking", ", braking part"),
        (Part::Positive, false) => ("positive", ", positive part"),
        (Part::Negative, false) => ("negative", ", negative part"),
    }
}

/// Stable id of a recipe.
pub fn id(recipe: Recipe) -> String {
    match recipe {
        Recipe::Value(s, When::Most(of)) if s == of => format!("{}.most", series_id(s)),
        Recipe::Value(s, When::Least(of)) if s == of => format!("{}.least", series_id(s)),
        Recipe::Value(s, w) => format!("{}.{}", when_id(w), series_id(s)),
        Recipe::Time(w) => format!("{}.time", when_id(w).trim_start_matches("at.")),
        Recipe::BeforeImpact(w) => format!("{}.before-impact", when_id(w).trim_start_matches("at.")),
        Recipe::Gap(a, b) => {
            format!(
                "gap.{}.to.{}",
                when_id(a).trim_start_matches("at."),
                when_id(b).trim_start_matches("at.")
            )
        }
        Recipe::Integral(c, p, o) => {
            format!("impulse.{}.{}.{}", over(o).0, series_id(Series::Account(c)), part(c, p).0)
        }
        Recipe::Steepest(c) => format!("rate.{}", series_id(Series::Account(c))),
        Recipe::Path(w) => format!("cop.{}.path", who(w)),
        Recipe::Extent(w, f) => format!("cop.{}.{}.extent", who(w), flat(f)),
        Recipe::Speed(w, f) => format!("cop.{}.{}.speed", who(w), flat(f)),
        Recipe::Between(w) => format!("{}.cop.between-feet", when_id(w)),
        Recipe::StanceWidth => "stance.width".into(),
        Recipe::StanceAngle => "stance.angle".into(),
        Recipe::Placement(p, f) => format!("placement.{}.{}", point_id(p), flat(f)),
        Recipe::Lasts(o) => format!("lasts.{}", over(o).0),
        Recipe::Tempo => "tempo".into(),
    }
}

/// Name for people.
pub fn label(recipe: Recipe) -> String {
    match recipe {
        Recipe::Value(s, w @ (When::Most(of) | When::Least(of))) if s == of => peak(w),
        Recipe::Value(s, w) => format!("{} {}", series(s), when(w)),
        Recipe::Time(w) => format!("time of {}", peak(w)),
        Recipe::BeforeImpact(w) => format!("{}: before impact", peak(w)),
        Recipe::Gap(a, b) => format!("from {} to {}", peak(a), peak(b)),
        Recipe::Integral(c, p, o) => {
            let of = series(Series::Account(c));
            let above =
                if matches!(c, Column::Force(Who::Net, Along::Up)) { " above body weight" } else { "" };
            format!("impulse of {of}{above}{} {}", part(c, p).1, over(o).1)
        }
        Recipe::Steepest(c) => format!("loading rate, {}", series(Series::Account(c))),
        Recipe::Path(w) => format!("{} cop, length of path", who(w)),
        Recipe::Extent(w, f) => format!("{} cop, extent {}", who(w), flat(f)),
        Recipe::Speed(w, f) => format!(
            "{} cop, greatest speed toward the {}",
            who(w),
            match f {
                Flat::Target => "target",
                Flat::Toe => "toes",
            }
        ),
        Recipe::Between(w) => format!("net cop between the feet {}", when(w)),
        Recipe::StanceWidth => "stance width".into(),
        Recipe::StanceAngle => "stance angle".into(),
        Recipe::Placement(p, f) => {
            format!("turn about {}: change with a stance farther {}", point(p), flat(f))
        }
        Recipe::Lasts(o) => format!("{} lasts", over(o).0),
        Recipe::Tempo => "tempo".into(),
    }
}

/// The unit of a recipe's value.
pub fn unit_of(recipe: Recipe) -> Unit {
    match recipe {
        Recipe::Value(s, _) => unit(s),
        Recipe::Time(_) | Recipe::BeforeImpact(_) | Recipe::Gap(..) | Recipe::Lasts(_) => Unit::Second,
        Recipe::Integral(c, ..) => match unit(Series::Account(c)) {
            Unit::Newton => Unit::NewtonSecond,
            _ => Unit::NewtonMetreSecond,
        },
        Recipe::Steepest(_) => Unit::NewtonPerSecond,
        Recipe::Path(_) | Recipe::Extent(..) | Recipe::StanceWidth => Unit::Metre,
        Recipe::Speed(..) => Unit::MetrePerSecond,
        Recipe::Between(_) => Unit::Share,
        Recipe::Tempo => Unit::One,
        Recipe::StanceAngle => Unit::Radian,
        Recipe::Placement(..) => Unit::NewtonMetrePerMetre,
    }
}

/// What a positive value of a recipe means.
pub fn sign_of(recipe: Recipe) -> &'static str {
    match recipe {
        Recipe::Value(s, _) => sign(s),
        Recipe::Integral(c, ..) => sign(Series::Account(c)),
        Recipe::BeforeImpact(_) => "positive: before impact",
        Recipe::Gap(..) => "positive: the second comes later",
        Recipe::Between(_) => "0 at the trail foot, 1 at the lead foot",
        Recipe::StanceAngle => "positive: the lead foot stands farther toward the toes",
        Recipe::Placement(..) => "positive: turn toward the target grows",
        Recipe::Speed(_, Flat::Target) => "positive: toward the target",
        Recipe::Speed(_, Flat::Toe) => "positive: toward the toes",
        Recipe::Steepest(_)
        | Recipe::Time(_)
        | Recipe::Path(_)
        | Recipe::Extent(..)
        | Recipe::StanceWidth
        | Recipe::Lasts(_)
        | Recipe::Tempo => "",
    }
}

/// The definition in words.
pub fn definition(recipe: Recipe) -> String {
    const WITHIN: &str = "within the movement (from takeaway and to finish, as far as they are found)";
    match recipe {
        Recipe::Value(s, When::Most(of)) if s == of => format!("Greatest value of {} {WITHIN}.", series(s)),
        Recipe::Value(s, When::Least(of)) if s == of => format!("Least value of {} {WITHIN}.", series(s)),
        Recipe::Value(s, w) => format!("Value of {} {}.", series(s), when(w)),
        Recipe::Time(When::At(name)) => format!("When {} is, in the recording's time.", name.name()),
        Recipe::Time(w) => format!(
            "When that is, in the recording's time: the vertex of the parabola fitted over at least 8 ms to either side, more where noise asks for it, of the sample {}.",
            when(w)
        ),
        Recipe::BeforeImpact(w) => {
            format!("How long before impact it is that {}.", when(w).replacen("where ", "", 1))
        }
        Recipe::Gap(a, b) => format!("Time from {} to {}.", peak(a), peak(b)),
        Recipe::Integral(c, p, o) => {
            let of = series(Series::Account(c));
            let above =
                if matches!(c, Column::Force(Who::Net, Along::Up)) { ", above body weight," } else { "" };
            format!("Integral of {of}{above} {}{}.", over(o).1, part(c, p).1)
        }
        Recipe::Steepest(c) => format!(
            "Greatest slope of {} {WITHIN}, of a straight line fitted over 50 ms.",
            series(Series::Account(c))
        ),
        Recipe::Path(w) => format!(
            "Length of the path of the {} cop {WITHIN}, drawn through its places every 20 ms, each from the mean wrench of 20 ms; what noise adds to the square of a step is taken off.",
            who(w)
        ),
        Recipe::Extent(w, f) => format!(
            "From the least to the greatest {} coordinate of the {} cop {WITHIN}, of its places every 20 ms.",
            flat(f),
            who(w)
        ),
        Recipe::Speed(w, f) => format!(
            "Greatest speed of the {} cop {} {WITHIN}, between its places every 20 ms.",
            who(w),
            match f {
                Flat::Target => "toward the target",
                Flat::Toe => "toward the toes",
            }
        ),
        Recipe::Between(w) => {
            format!("Place of the net cop {} on the line between the feet's mean cops at address.", when(w))
        }
        Recipe::StanceWidth => "Distance of the two feet's mean cops at address.".into(),
        Recipe::StanceAngle => {
            "Angle of the line from the trail to the lead foot's mean cop at address from the target line."
                .into()
        }
        Recipe::Placement(p, f) => format!(
            "How much turn about {} where it is greatest changes for each metre that the whole stance stands farther {}; a hundredth of it is the change per centimetre.",
            point(p),
            match f {
                Flat::Target => "toward the target",
                Flat::Toe => "toward the toes",
            }
        ),
        Recipe::Lasts(o) => format!("Duration of the {}.", over(o).0),
        Recipe::Tempo => "Duration of the backswing over that of the downswing.".into(),
    }
}

/// The definition as a formula.
pub fn formula(recipe: Recipe) -> String {
    match recipe {
        Recipe::Value(s, When::Most(of)) if s == of => format!("max_t {}", symbol(s)),
        Recipe::Value(s, When::Least(of)) if s == of => format!("min_t {}", symbol(s)),
        Recipe::Value(s, When::Most(of)) => format!("{} at argmax_t {}", symbol(s), symbol(of)),
        Recipe::Value(s, When::Least(of)) => format!("{} at argmin_t {}", symbol(s), symbol(of)),
        Recipe::Value(s, When::At(name)) => format!("{} at t_{}", symbol(s), name.name()),
        Recipe::Time(When::Most(s)) => format!("argmax_t {}", symbol(s)),
        Recipe::Time(When::Least(s)) => format!("argmin_t {}", symbol(s)),
        Recipe::Time(When::At(name)) => format!("t_{}", name.name()),
        Recipe::BeforeImpact(w) => format!("t_impact − {}", formula(Recipe::Time(w))),
        Recipe::Gap(a, b) => format!("{} − {}", formula(Recipe::Time(b)), formula(Recipe::Time(a))),
        Recipe::Integral(c, p, _) => {
            let above = if matches!(c, Column::Force(Who::Net, Along::Up)) { " − W" } else { "" };
            let inside = format!("{}{above}", symbol(Series::Account(c)));
            match p {
                Part::All => format!("∫({inside}) dt"),
                Part::Positive => format!("∫max({inside}, 0) dt"),
                Part::Negative => format!("∫min({inside}, 0) dt"),
            }
        }
        Recipe::Steepest(c) => format!("max_t d{}/dt", symbol(Series::Account(c))),
        Recipe::Path(w) => format!("Σ_j √max(0, |cop_{0}(t_j+1) − cop_{0}(t_j)|² − noise²)", who(w)),
        Recipe::Extent(w, f) => format!("max − min of cop_{},{}", who(w), flat(f)),
        Recipe::Speed(w, f) => format!("max_j Δcop_{},{}/20 ms", who(w), flat(f)),
        Recipe::Between(_) => "(cop_net − c_trail)·s/|s|², s = c_lead − c_trail at address".into(),
        Recipe::StanceWidth => "|c_lead − c_trail| at address".into(),
        Recipe::StanceAngle => "atan2(s_toe, s_target) at address".into(),
        Recipe::Placement(_, Flat::Target) => "−F_net,toe".into(),
        Recipe::Placement(_, Flat::Toe) => "F_net,target".into(),
        Recipe::Lasts(o) => match o {
            Over::Movement => "t_finish − t_takeaway".into(),
            Over::Backswing => "t_top − t_takeaway".into(),
            Over::Downswing => "t_impact − t_top".into(),
            Over::FollowThrough => "t_finish − t_impact".into(),
        },
        Recipe::Tempo => format!("(t_top − t_{})/(t_impact − t_top)", Name::Takeaway.name()),
    }
}
