//! What is said of repeatability: question, verdict, method, caveats.
use super::{By, MeasureRepeat, RepeatHow};
use crate::claim::players::listed;
use crate::claim::span::with_unit;
use crate::claim::table::Table;
use crate::claim::{Counted, Setting};
use crate::quantity::{COVERAGE, count, plain};

/// So many measures have a sentence each.
const SENTENCES: usize = 4;

pub(super) fn question(table: &Table, measures: &[MeasureRepeat]) -> String {
    let labels: Vec<String> = measures.iter().take(SENTENCES).map(|m| m.label.clone()).collect();
    let what = match measures.len() {
        0 => "a figure".to_string(),
        n if n <= SENTENCES => listed(&labels),
        n => format!("each of {n} figures"),
    };
    format!(
        "How far does {what} wander by itself, from swing to swing and from day to day? ({})",
        table.named
    )
}

pub(super) fn verdict(measures: &[MeasureRepeat], counted: &Counted, how: &RepeatHow) -> String {
    match measures {
        [] => "It cannot be told: no session has two swings with a value.".into(),
        few if few.len() <= SENTENCES => {
            let all = few.iter().enumerate().map(|(k, m)| sentence(m, k == 0, counted));
            all.collect::<Vec<_>>().join(" ")
        }
        many => of_many(many, how),
    }
}

/// One swing, and a change; in full for the first measure, short for those after it.
fn sentence(of: &MeasureRepeat, first: bool, counted: &Counted) -> String {
    let figure = |v: f64| with_unit(&plain(v, of.digits), &of.unit);
    let who = if counted.players == 1 { "the player" } else { "a player" };
    let n = of.usual.swings;
    let of_swings = if n == 1 { "single swings".to_string() } else { format!("means of {n} swings") };
    let one = figure(COVERAGE * of.sem.value);
    let change = of.usual.change_two_days.unwrap_or(of.usual.change_one_day);
    let limit = format!(
        "{} ({} to {})",
        figure(change.value),
        plain(change.low, of.digits),
        plain(change.high, of.digits)
    );
    let label = capital(&of.label);
    let mut said = match (first, of.usual.change_two_days.is_some()) {
        (true, true) => format!(
            "{label}: one swing of {who} lies within ±{one} of that day's mean, 19 times in 20; from one day to another, {of_swings} \
             must differ by more than {limit} before it is a change."
        ),
        (true, false) => format!(
            "{label}: one swing of {who} lies within ±{one} of that day's mean, 19 times in 20; on one day, {of_swings} must differ by \
             more than {limit} before it is a change, and what another day adds is not known here."
        ),
        (false, days) => format!(
            "{label}: ±{one} for one swing, {limit} for {} of {n} swings.",
            if days { "two days" } else { "two means of a day" }
        ),
    };
    if of.fits {
        said.push_str(&enough(of));
    }
    said
}

fn enough(of: &MeasureRepeat) -> String {
    let Some(enough) = &of.enough else {
        return " No number of swings gives the precision asked for.".into();
    };
    let to = with_unit(&plain(enough.precision, of.digits), &of.unit);
    let mut said = format!(
        " To know that day's mean to ±{to} takes {} ({} to {}).",
        count(enough.that_day, "swing"),
        enough.that_day_low,
        enough.that_day_high
    );
    let sessions =
        |s: usize| format!("{} of {} would", count(s, "session"), count(enough.swings_a_session, "swing"));
    match (enough.days_known, enough.any_day, enough.sessions) {
        (true, Some(n), _) => said.push_str(&format!(" As the player's figure on any day it takes {n}.")),
        (true, None, Some(s)) => said.push_str(&format!(
            " As the player's figure on any day no number of swings of one session is enough; {}.",
            sessions(s)
        )),
        _ => {}
    }
    said
}

/// Which of many tell players apart best and worst, or scatter least and most beside their size.
fn of_many(many: &[MeasureRepeat], how: &RepeatHow) -> String {
    let by_icc: Vec<(&MeasureRepeat, f64)> =
        many.iter().filter_map(|m| Some((m, m.icc?.value))).filter(|(_, v)| !v.is_nan()).collect();
    let best = by_icc.iter().max_by(|a, b| a.1.total_cmp(&b.1));
    let worst = by_icc.iter().min_by(|a, b| a.1.total_cmp(&b.1));
    let mut said = match (best, worst) {
        (Some((best, high)), Some((worst, low))) => format!(
            "Of {} figures, single swings tell players apart best by {} ({:.0} % of all scatter is between players) and worst by {} ({:.0} %).",
            many.len(),
            best.label,
            100.0 * high,
            worst.label,
            100.0 * low
        ),
        _ => format!("{} figures: how far each wanders stands in the table.", many.len()),
    };
    said.push_str(" A change is more than noise where it is larger than the last column says.");
    if how.precision.is_some() {
        said.push_str(
            " How many swings the precision takes is said for four figures at most: name them with --metric.",
        );
    }
    said
}

pub(super) fn caveats(measures: &[MeasureRepeat], counted: &Counted, how: &RepeatHow) -> Vec<String> {
    let mut all = Vec::new();
    if counted.players == 1 {
        all.push("This speaks of one player only.".to_string());
    }
    if !measures.is_empty() && measures.iter().all(|m| m.day.is_none()) {
        all.push(
            "No player has two sessions here, so that scatter from day to day is not known: another day may differ by more."
                .into(),
        );
    }
    if let Some(few) = measures.iter().find(|m| m.day.is_some() && m.sessions - m.players < 3) {
        all.push(format!(
            "Scatter from day to day rests on {} beyond the first of a player: its interval is wide.",
            count(few.sessions - few.players, "session")
        ));
    }
    if measures.iter().any(|m| m.day.is_some()) {
        all.push(
            "A true change of a player between two sessions counts as scatter from day to day here; --session, --from and --to choose \
             sessions without one."
                .into(),
        );
    }
    for of in measures {
        if let Some(most) = &of.day_most {
            all.push(format!(
                "{}: {:.0} % of what days differ by is {}'s; without {} days scatter by {} instead of {}.",
                capital(&of.label),
                100.0 * most.share,
                most.player,
                most.player,
                plain(most.without, of.digits),
                with_unit(&plain(of.day.map_or(f64::NAN, |d| d.value), of.digits), &of.unit)
            ));
        }
    }
    let unlike: Vec<&MeasureRepeat> =
        measures.iter().filter(|m| m.unlike.as_ref().is_some_and(|u| u.p <= 1.0 - how.level)).collect();
    if let Some(of) = unlike.first() {
        let others = match unlike.len() {
            1 => String::new(),
            n => format!(" (and in {})", count(n - 1, "more figure")),
        };
        if let Some(u) = &of.unlike {
            all.push(format!(
                "Players do not scatter alike: in {} from {} ({}) to {} ({}){others}. For a player's own limits see --by player.",
                of.label,
                plain(u.least_sem, of.digits),
                u.least,
                with_unit(&plain(u.most_sem, of.digits), &of.unit),
                u.most
            ));
        }
    }
    if measures.iter().any(|m| m.between.is_some()) && counted.players < 10 {
        all.push(format!(
            "Scatter between players and ICC rest on {}: others may differ more or less.",
            count(counted.players, "player")
        ));
    }
    all
}

pub(super) fn method(measures: &[MeasureRepeat], how: &RepeatHow) -> Vec<String> {
    let mut all = vec![
        "Scatter: mean squares of players, of their sessions and of swings of a session (Henderson 1953, method I); intervals by \
         the modified large-sample method (Ting et al. 1990)."
            .to_string(),
        format!(
            "A change is larger than {} standard errors of the difference of two means (Weir 2005: 1.96·√2·SEM for single swings \
             at level 0.95); between two days the scatter of days counts twice.",
            plain(signal::student::quantile(0.5 * (1.0 + how.level), f64::INFINITY), 2)
        ),
    ];
    if measures.iter().any(|m| m.icc.is_some()) {
        all.push(
            "ICC(1,1), ICC(1) of McGraw & Wong: share of the scatter of single swings that lies between players; F-based interval \
             (Shrout & Fleiss 1979; Donner 1986), or where days are known apart a generalised one (Weerahandi 1993)."
                .into(),
        );
    }
    if measures.iter().any(|m| m.unlike.is_some()) {
        all.push("Whether players scatter alike: Brown & Forsythe 1974.".into());
    }
    if how.forms {
        all.push(
            "Six forms: Shrout & Fleiss 1979, McGraw & Wong 1996; conditions are a player's first swing, second swing and so on, so \
             that warming up counts as a shift between conditions."
                .into(),
        );
    }
    all
}

pub(super) fn settings(how: &RepeatHow) -> Vec<Setting> {
    let by = match how.by {
        By::All => "all",
        By::Player => "player",
        By::Session => "session",
    };
    let mut all = vec![
        Setting::of("level", how.level),
        Setting::of("by", by),
        Setting::of("draws", how.draws),
        Setting::of("seed", how.seed),
    ];
    if let Some(p) = &how.precision {
        all.insert(1, Setting::of("precision", with_unit(&p.value.to_string(), &p.unit)));
    }
    all
}

/// The first letter large.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
