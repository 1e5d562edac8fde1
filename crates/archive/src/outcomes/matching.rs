//! Which row of outcomes is of which swing: by file, by number, by order or by time. What is not sure is told, not guessed.
use super::rows::{Candidate, OutcomeRow, Table};
use crate::people::key;
use crate::place::clock;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// How rows and swings are matched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum By {
    /// By the file's name.
    File,
    /// By the swing's number in the study, or in its session.
    Swing,
    /// Row after row, swing after swing; there must be as many.
    Order,
    /// By clocks that may differ by a constant.
    Time {
        /// Nothing farther apart than this is matched, s.
        within_s: f64,
        /// How much later the recordings' clock is than the rows', where it is known, s.
        offset_s: Option<f64>,
    },
}

/// A row that found its swing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Pair {
    /// Place of the row in the table.
    pub row: usize,
    /// Place of the swing among the candidates.
    pub swing: usize,
    /// How far apart they are once the clocks agree, s.
    pub apart_s: Option<f64>,
}

/// Rows and swings, matched.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Match {
    /// What was matched, by row.
    pub pairs: Vec<Pair>,
    /// Places of rows that found no swing, with why.
    pub alone: Vec<(usize, String)>,
    /// Places of swings in sessions that were matched that no row is of.
    pub without: Vec<usize>,
    /// How much later the recordings' clock is, s, for each group that was matched by time.
    pub offsets_s: Vec<f64>,
    /// Why nothing may be written, and the two lists side by side.
    pub refused: Vec<Refusal>,
}

/// Rows and swings that cannot be matched as asked.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Refusal {
    /// Why.
    pub why: String,
    /// Places of the rows.
    pub rows: Vec<usize>,
    /// Places of the swings.
    pub swings: Vec<usize>,
}

/// Which rows are of which swings. `rows`: places of the rows that count.
pub fn matched(table: &Table, rows: &[usize], swings: &[Candidate], by: By) -> Match {
    let mut all = Match::default();
    for (_, rows) in groups(table, rows) {
        let Some(first) = rows.first().and_then(|k| table.rows.get(*k)) else { continue };
        let near: Vec<usize> =
            (0..swings.len()).filter(|k| swings.get(*k).is_some_and(|s| fits(first, s))).collect();
        match by {
            By::File => by_file(table, &rows, swings, &near, &mut all),
            By::Swing => by_number(table, &rows, swings, &near, &mut all),
            By::Order => by_order(&rows, swings, &near, &mut all),
            By::Time { within_s, offset_s } => {
                by_time(table, &rows, swings, &near, (within_s, offset_s), &mut all);
            }
        }
    }
    no_swing_twice(&mut all, table, swings);
    let sessions: BTreeSet<i64> =
        all.pairs.iter().filter_map(|p| swings.get(p.swing)).map(|s| s.session).collect();
    let found: BTreeSet<usize> = all.pairs.iter().map(|p| p.swing).collect();
    all.without = (0..swings.len())
        .filter(|k| !found.contains(k) && swings.get(*k).is_some_and(|s| sessions.contains(&s.session)))
        .collect();
    all.pairs.sort_by_key(|p| p.row);
    all.alone.sort();
    all
}

type Group = (Option<String>, Option<i64>, Option<String>);

/// Rows that state the same player, session and day.
fn groups(table: &Table, rows: &[usize]) -> BTreeMap<Group, Vec<usize>> {
    let mut groups: BTreeMap<Group, Vec<usize>> = BTreeMap::new();
    for k in rows {
        let Some(row) = table.rows.get(*k) else { continue };
        let group = (row.player.as_deref().map(key), row.session, row.date.clone());
        groups.entry(group).or_default().push(*k);
    }
    groups
}

fn fits(row: &OutcomeRow, swing: &Candidate) -> bool {
    row.player.as_deref().is_none_or(|p| key(p) == key(&swing.player))
        && row.session.is_none_or(|s| s == swing.session)
        && row.date.as_deref().is_none_or(|d| swing.date.as_deref().is_none_or(|s| s == d))
}

/// By file: names agree (with or without their endings), and where several do, as many folders before them as agree nowhere else.
fn by_file(table: &Table, rows: &[usize], swings: &[Candidate], near: &[usize], all: &mut Match) {
    let mut of_name: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for k in near {
        let Some(swing) = swings.get(*k) else { continue };
        let name = parts(&swing.name).pop().unwrap_or_default();
        of_name.entry(stem(&name)).or_default().push(*k);
        of_name.entry(name).or_default().push(*k);
    }
    for k in rows {
        let file = table.rows.get(*k).and_then(|r| r.file.as_deref());
        let Some(file) = file else {
            all.alone.push((*k, "it names no file".into()));
            continue;
        };
        let path = parts(file);
        let named = path.last().and_then(|name| of_name.get(name)).map(Vec::as_slice).unwrap_or_default();
        let agree = |k: &usize| swings.get(*k).map_or(0, |s| folders_agree(&path, &parts(&s.name)));
        let most = named.iter().map(agree).max().unwrap_or(0);
        let best: Vec<usize> = named.iter().copied().filter(|k| agree(k) == most).collect();
        match best.as_slice() {
            [one] => all.pairs.push(Pair { row: *k, swing: *one, apart_s: None }),
            [] => all.alone.push((*k, format!("no swing came from a file \"{file}\""))),
            many => {
                let numbers: Vec<String> =
                    many.iter().filter_map(|k| swings.get(*k)).map(|s| s.swing.to_string()).collect();
                let numbers = numbers.join(", ");
                all.alone.push((*k, format!("swings {numbers} all came from a file \"{file}\"")));
            }
        }
    }
}

/// Folders and name of a path, as they are compared.
fn parts(path: &str) -> Vec<String> {
    path.split(['/', '\\']).filter(|p| !p.is_empty()).map(key).collect()
}

fn stem(name: &str) -> String {
    name.rsplit_once('.').map_or(name.to_string(), |(stem, _)| stem.to_string())
}

/// How many folders agree, counted from the file upward.
fn folders_agree(a: &[String], b: &[String]) -> usize {
    a.iter().rev().skip(1).zip(b.iter().rev().skip(1)).take_while(|(a, b)| a == b).count()
}

fn by_number(table: &Table, rows: &[usize], swings: &[Candidate], near: &[usize], all: &mut Match) {
    let of_session = one_session(swings, near);
    for k in rows {
        let Some(row) = table.rows.get(*k) else { continue };
        let found = match (row.swing, row.number) {
            (Some(id), _) => {
                let is = |n: &&usize| swings.get(**n).is_some_and(|s| s.swing == id);
                near.iter().find(is).ok_or(format!("there is no swing {id} among those meant"))
            }
            (None, Some(number)) if of_session => {
                let is = |n: &&usize| swings.get(**n).is_some_and(|s| s.number == number);
                near.iter().find(is).ok_or(format!("there is no number {number} in the session"))
            }
            (None, Some(_)) => Err("numbers are those of one session; say which with --session".into()),
            (None, None) => Err("it states no number".into()),
        };
        match found {
            Ok(swing) => all.pairs.push(Pair { row: *k, swing: *swing, apart_s: None }),
            Err(why) => all.alone.push((*k, why)),
        }
    }
}

fn one_session(swings: &[Candidate], near: &[usize]) -> bool {
    let sessions: BTreeSet<i64> = near.iter().filter_map(|k| swings.get(*k)).map(|s| s.session).collect();
    sessions.len() == 1
}

fn by_order(rows: &[usize], swings: &[Candidate], near: &[usize], all: &mut Match) {
    let mut refuse = |why: String| {
        all.refused.push(Refusal { why, rows: rows.to_vec(), swings: near.to_vec() });
    };
    if near.is_empty() {
        return refuse("there are no swings to match".into());
    }
    if !one_session(swings, near) {
        return refuse("the swings are of several sessions; order is that of one".into());
    }
    if rows.len() != near.len() {
        return refuse(format!("{} rows, but {} swings", rows.len(), near.len()));
    }
    let pair = |(row, swing): (&usize, &usize)| Pair { row: *row, swing: *swing, apart_s: None };
    all.pairs.extend(rows.iter().zip(near).map(pair));
}

const DAY_S: f64 = 86_400.0;

/// So many differences between a row's time and a swing's are looked through for the clocks' constant: some 300 of each, more
/// than a session or a day has. All of a study's would take hours, and agree by chance.
const MOST_PAIRS: usize = 100_000;

fn by_time(
    table: &Table,
    rows: &[usize],
    swings: &[Candidate],
    near: &[usize],
    (within_s, offset_s): (f64, Option<f64>),
    all: &mut Match,
) {
    let refuse = |all: &mut Match, why: &str| {
        all.refused.push(Refusal { why: why.into(), rows: rows.to_vec(), swings: near.to_vec() });
    };
    if offset_s.is_none() && rows.len().saturating_mul(near.len()) > MOST_PAIRS {
        let why = format!(
            "{} rows and {} swings are too many to find how the clocks differ; say which session or day with --session or \
             --date, or the difference with --clock-offset",
            rows.len(),
            near.len()
        );
        return refuse(all, &why);
    }
    let Some(clock_of) = swing_times(swings, near) else {
        return refuse(all, "not every swing has a time: neither stated nor of its file");
    };
    let Some(day) = clock_of.first().map(|(_, t)| (t / DAY_S).floor() * DAY_S) else {
        return refuse(all, "there are no swings to match");
    };
    let mut dated = true;
    let mut of_row: Vec<(usize, f64)> = Vec::with_capacity(rows.len());
    for k in rows {
        let Some(row) = table.rows.get(*k) else { continue };
        let Some(time) = row.time.as_deref() else {
            all.alone.push((*k, "it states no time".into()));
            continue;
        };
        dated &= row.date.is_some();
        let on = row.date.as_deref().unwrap_or("1970-01-01");
        let Some(at) = clock::seconds(&format!("{on}T{time}")) else {
            all.alone.push((*k, format!("\"{time}\" is no time")));
            continue;
        };
        let at = if row.date.is_some() { at } else { at + day };
        // Past midnight the times of a session without days begin anew.
        let before = of_row.last().map(|(_, t)| *t);
        let next = row.date.is_none() && before.is_some_and(|b| at < b - 0.5 * DAY_S);
        of_row.push((*k, if next { at + DAY_S } else { at }));
    }
    let found = offset_s.map_or_else(|| offset(&of_row, &clock_of, within_s, dated), Ok);
    let shift = match found {
        Ok(shift) => shift,
        Err(why) => return refuse(all, &why),
    };
    all.offsets_s.push(shift);
    for (row, at) in &of_row {
        match nearest(*at + shift, &clock_of, within_s) {
            Ok((swing, apart)) => {
                all.pairs.push(Pair { row: *row, swing, apart_s: Some(apart) });
            }
            Err(None) => all.alone.push((*row, format!("no swing within {within_s} s of it"))),
            Err(Some((a, b))) => {
                let name = |k: usize| swings.get(k).map_or(0, |s| s.swing);
                let why = format!("swings {} and {} are as near to it as each other", name(a), name(b));
                all.alone.push((*row, why));
            }
        }
    }
}

/// Times of swings by one clock: the stated ones where all have one, else the files'.
fn swing_times(swings: &[Candidate], near: &[usize]) -> Option<Vec<(usize, f64)>> {
    let by = |of: fn(&Candidate) -> Option<&str>| -> Option<Vec<(usize, f64)>> {
        near.iter().map(|k| Some((*k, clock::seconds(of(swings.get(*k)?)?)?))).collect()
    };
    by(|s| s.recorded_at.as_deref()).or_else(|| by(|s| s.file_time.as_deref()))
}

/// The swing nearest to an instant. Errors: `None`, nothing near enough; two that are nearly as near as each other: the
/// second not more than twice as far and 2 s.
fn nearest(at: f64, swings: &[(usize, f64)], within_s: f64) -> Result<(usize, f64), Option<(usize, usize)>> {
    let mut near: Vec<(usize, f64)> = swings.iter().map(|(k, t)| (*k, t - at)).collect();
    near.sort_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
    near.retain(|(_, apart)| apart.abs() <= within_s);
    match near.as_slice() {
        [] => Err(None),
        [a, b, ..] if b.1.abs() <= 2.0 * a.1.abs() + 2.0 => Err(Some((a.0, b.0))),
        [a, ..] => Ok(*a),
    }
}

/// The constant by which the swings' clock is later than the rows': the one at which most differences agree. Every row counts
/// 1 where it lies on a swing, less the farther from one it is, nothing from half of `within_s` on; each swing once. Clocks that
/// agree are preferred to those that do not.
///
/// Errors: two constants of which neither is better by half a row (a session in an even rhythm), in words.
fn offset(rows: &[(usize, f64)], swings: &[(usize, f64)], within_s: f64, dated: bool) -> Result<f64, String> {
    /// Windows that are looked at closely.
    const TRIED: usize = 64;
    let reach = 0.5 * within_s;
    let differ = |swing: f64, row: f64| {
        let d = swing - row;
        if dated { d } else { d - (d / DAY_S).round() * DAY_S }
    };
    let mut shifts: Vec<f64> =
        rows.iter().flat_map(|(_, r)| swings.iter().map(move |(_, s)| differ(*s, *r))).collect();
    shifts.sort_by(f64::total_cmp);
    // As many differences as lie in a window bound how many rows a constant there can match.
    let within =
        |k: usize, from: f64| shifts.get(k..).unwrap_or_default().partition_point(|d| *d <= from + reach);
    let mut windows: Vec<(usize, f64)> =
        shifts.iter().enumerate().map(|(k, d)| (within(k, *d), *d + 0.5 * reach)).collect();
    windows.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.total_cmp(&b.1)));
    let mut tried = vec![settled(rows, swings, 0.0, reach, &differ)];
    let mut looked: Vec<f64> = Vec::new();
    for (_, centre) in windows {
        if looked.len() >= TRIED {
            break;
        }
        if looked.iter().all(|c| (c - centre).abs() > 0.25 * reach) {
            looked.push(centre);
            tried.push(settled(rows, swings, centre, reach, &differ));
        }
    }
    tried.sort_by(|a, b| b.agree.total_cmp(&a.agree));
    let Some(best) = tried.first().filter(|t| t.agree > 0.0) else {
        return Err(format!("no time of a row is within {within_s} s of a swing, whatever the clocks"));
    };
    let as_good = |t: &&Settled| t.agree > best.agree - 0.5;
    if let Some(agree) = tried.iter().filter(as_good).find(|t| t.constant_s.abs() <= reach) {
        return Ok(agree.constant_s);
    }
    let other = tried.iter().filter(as_good).find(|t| (t.constant_s - best.constant_s).abs() > reach);
    match other {
        None => Ok(best.constant_s),
        Some(other) => Err(format!(
            "the clocks may differ by {:.0} s or by {:.0} s: either brings as many rows to swings; say which with --clock-offset",
            best.constant_s, other.constant_s
        )),
    }
}

/// A constant that was tried.
struct Settled {
    /// Seconds.
    constant_s: f64,
    /// How well rows and swings agree there, in rows.
    agree: f64,
}

/// Moves a constant to the middle of the differences around it.
fn settled(
    rows: &[(usize, f64)],
    swings: &[(usize, f64)],
    start_s: f64,
    reach: f64,
    differ: &impl Fn(f64, f64) -> f64,
) -> Settled {
    let mut settled = Settled { constant_s: start_s, agree: 0.0 };
    for _ in 0..6 {
        let mut nearest: BTreeMap<usize, f64> = BTreeMap::new();
        for (_, r) in rows {
            let apart = swings.iter().map(|(k, s)| (*k, differ(*s, *r) - settled.constant_s));
            let Some((k, d)) = apart.min_by(|a, b| a.1.abs().total_cmp(&b.1.abs())) else { continue };
            if d.abs() < reach {
                let held = nearest.entry(k).or_insert(d);
                if d.abs() < held.abs() {
                    *held = d;
                }
            }
        }
        let mut differences: Vec<f64> = nearest.into_values().collect();
        differences.sort_by(f64::total_cmp);
        let Some(middle) = differences.get(differences.len() / 2).copied() else { break };
        settled.constant_s += middle;
        let worth = |d: &f64| (1.0 - ((d - middle) / reach) * ((d - middle) / reach)).max(0.0);
        settled.agree = differences.iter().map(worth).sum();
        if middle.abs() < 1e-6 {
            break;
        }
    }
    settled
}

/// Two rows of one swing belong to neither.
fn no_swing_twice(all: &mut Match, table: &Table, swings: &[Candidate]) {
    let mut rows_of: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for pair in &all.pairs {
        rows_of.entry(pair.swing).or_default().push(pair.row);
    }
    for (swing, rows) in rows_of.into_iter().filter(|(_, rows)| rows.len() > 1) {
        let lines: Vec<String> =
            rows.iter().filter_map(|k| table.rows.get(*k)).map(|r| r.line.to_string()).collect();
        let number = swings.get(swing).map_or(0, |s| s.swing);
        let why = format!("lines {} are all of swing {number}", lines.join(", "));
        all.alone.extend(rows.iter().map(|k| (*k, why.clone())));
        all.pairs.retain(|p| p.swing != swing);
    }
}
