//! What is said of plans: question, verdict, method, caveats.
use super::numbers::{DesignPlan, MeasurePlan, Needed, Plan};
use super::{FEW, PlanHow};
use crate::claim::players::listed;
use crate::claim::repeat::capital;
use crate::claim::span::with_unit;
use crate::claim::table::Table;
use crate::claim::{Counted, LeftOut, Setting};
use crate::quantity::{COVERAGE, count, plain};

pub(super) fn question(table: &Table, of: &Plan) -> String {
    let labels: Vec<String> = of.measures.iter().take(4).map(|m| format!("\"{}\"", m.label)).collect();
    let what = match of.measures.len() {
        0 => "a figure".into(),
        n if n <= 4 => listed(&labels),
        n => format!("each of {n} figures"),
    };
    format!("How many swings, days and players would show a change of {what}? (noise of {})", table.named)
}

/// "4 times in 5".
fn often(power: f64) -> String {
    for (share, words) in [(0.8, "4 times in 5"), (0.9, "9 times in 10"), (0.95, "19 times in 20")] {
        if (power - share).abs() < 1e-9 {
            return words.into();
        }
    }
    format!("{} times in 100", plain(100.0 * power, 0))
}

pub(super) fn verdict(of: &Plan, left_out: &[LeftOut]) -> String {
    let Some(first) = of.measures.first() else {
        let why = left_out.last().map_or("there is no value", |l| l.why.as_str());
        return format!("It cannot be told: {why}.");
    };
    let change = with_unit(&plain(first.change(), first.digits), &first.unit);
    let ways: Vec<String> = first.designs.iter().filter_map(|d| way(first, d)).collect();
    let more = match of.measures.len() {
        1 => String::new(),
        2 => " The other figure stands below.".to_string(),
        n => format!(" The other {} figures stand below.", n - 1),
    };
    format!(
        "To see a change of {change} in \"{}\" {}, it takes: {}.{more}",
        first.label,
        often(of.power),
        ways.join("; ")
    )
}

/// "12 to 17, as the noise is known".
fn range(needed: &Needed) -> String {
    match (needed.low, needed.high) {
        (Some(low), Some(high)) if low == high => String::new(),
        (Some(low), Some(high)) => format!(" ({low} to {high})"),
        (Some(low), None) => format!(" ({low}, or no number at all)"),
        _ => String::new(),
    }
}

fn way(of: &MeasurePlan, design: &DesignPlan) -> Option<String> {
    let needed = design.needed.get(of.told)?;
    let swings = of.swings;
    let (enough, range) = (needed.count, range(needed));
    Some(match (design.design, enough) {
        ("one-player-one-day", Some(n)) => {
            format!("in one player on one day, {n} swings before and {n} after{range}")
        }
        ("one-player-one-day", None) => "in one player on one day, more swings than can be made".into(),
        ("one-player-two-days", Some(n)) => {
            format!("between two days of one player, {n} swings on each{range}")
        }
        ("one-player-two-days", None) => {
            let day = of.day.map_or(f64::NAN, |d| COVERAGE * std::f64::consts::SQRT_2 * d.value);
            format!(
                "between two days of one player, no number of swings, since two days differ by up to {} by themselves",
                with_unit(&plain(day, of.digits), &of.unit)
            )
        }
        ("one-player-days", Some(n)) => {
            format!("in one player, {} before and {n} after, of {swings} swings each{range}", count(n, "day"))
        }
        ("same-players", Some(n)) => {
            format!("in a group measured before and after, {n} players of {swings} swings each time{range}")
        }
        ("two-groups", Some(n)) => {
            format!("between two groups, {n} players in each of {swings} swings{range}")
        }
        _ => return None,
    })
}

pub(super) fn caveats(of: &Plan, counted: &Counted, how: &PlanHow) -> Vec<String> {
    let mut all = Vec::new();
    if of.measures.iter().any(|m| m.day.is_none()) {
        all.push(
            "No player has two sessions here: scatter from day to day is not known and counts as none. Plans over two days are too \
             hopeful."
                .into(),
        );
    } else if !of.measures.is_empty() {
        all.push(
            "A true change of a player between two sessions counts as scatter from day to day here, and makes plans over days too \
             careful; --session, --from and --to choose sessions without one."
                .to_string(),
        );
    }
    if counted.players == 1 {
        all.push("The noise is one player's; others may scatter more or less.".into());
    }
    if how.response == 0.0 {
        all.push(
            "Players are taken to change all by the same amount; where their own changes scatter it takes more players (--response)."
                .into(),
        );
    }
    if let Some(m) = of.measures.iter().find(|m| m.designs.iter().any(rough)) {
        all.push(format!(
            "{}: the noise is known so roughly that the range of a count is wide; more sessions in the study narrow it.",
            capital(&m.label)
        ));
    }
    all
}

/// A range that is wider than three times its lower end, or endless.
fn rough(design: &DesignPlan) -> bool {
    design.needed.iter().any(|n| match (n.low, n.high) {
        (Some(low), Some(high)) => high > 3 * low + 3,
        (Some(_), None) => n.count.is_some(),
        _ => false,
    })
}

pub(super) fn method(of: &Plan, how: &PlanHow) -> Vec<String> {
    let mut all = vec![
        "Noise: scatter of swings, days and players of the chosen swings (docs/evidence/repeatability.md); the ranges are the counts \
         were the noise as small or as large as its interval allows."
            .to_string(),
        format!(
            "Chance of seeing a change: t tests by the noncentral t; between days of one player, a difference larger than {} standard \
             errors of two such means.",
            plain(signal::student::quantile(1.0 - 0.5 * how.alpha, f64::INFINITY), 2)
        ),
    ];
    if of.measures.first().is_some_and(|m| m.designs.iter().any(|d| d.tried.is_some())) {
        all.push(format!(
            "Tried (counts up to {FEW}, and the plans of the first figure): normal data made {} times with the change in them, tested \
             by the permutation tests of `underfoot compare`, which with few units see a little less than the formula says and with \
             very few nothing.",
            how.trials
        ));
    }
    if let Some(m) = of.measures.first() {
        all.push(format!("Changes: {}.", m.changes_are));
    }
    all
}

pub(super) fn settings(how: &PlanHow) -> Vec<Setting> {
    let mut all = vec![
        Setting::of("power", how.power),
        Setting::of("alpha", how.alpha),
        Setting::of("level", how.level),
        Setting::of("response", how.response),
        Setting::of("trials", how.trials),
        Setting::of("rearrangements", how.rearrangements),
        Setting::of("seed", how.seed),
    ];
    if let Some(swings) = how.swings {
        all.insert(2, Setting::of("swings", swings));
    }
    if let Some(change) = &how.change {
        all.insert(0, Setting::of("change", with_unit(&change.value.to_string(), &change.unit)));
    }
    all
}
