//! The swings of a table by player and session, and what must be said of every choice of swings.
use super::table::{Column, SwingOf, Table};
use super::{Counted, LeftOut};
use crate::quantity::count;
use std::collections::BTreeSet;
use swing::metrics::{Recipe, Unit};

/// The swings of a player.
#[derive(Clone, Debug, PartialEq)]
pub struct Player<'a> {
    /// Alias.
    pub alias: &'a str,
    /// Sessions, by day and number.
    pub sessions: Vec<Session<'a>>,
}

/// The swings of a session.
#[derive(Clone, Debug, PartialEq)]
pub struct Session<'a> {
    /// Its number.
    pub number: i64,
    /// Its day, where known.
    pub date: Option<&'a str>,
    /// Rows of the table.
    pub rows: Vec<usize>,
}

/// Players with their sessions, in the order of the table; rows that `keep` refuses are left out, and with them players and
/// sessions without any.
pub fn players<'a>(table: &'a Table, keep: impl Fn(usize) -> bool) -> Vec<Player<'a>> {
    let mut all: Vec<Player<'a>> = Vec::new();
    for (row, swing) in table.swings.iter().enumerate().filter(|(row, _)| keep(*row)) {
        if all.last().is_none_or(|p| p.alias != swing.player) {
            all.push(Player { alias: &swing.player, sessions: Vec::new() });
        }
        let Some(player) = all.last_mut() else { continue };
        if player.sessions.last().is_none_or(|s| s.number != swing.session) {
            let date = swing.date.as_deref();
            player.sessions.push(Session { number: swing.session, date, rows: Vec::new() });
        }
        if let Some(session) = player.sessions.last_mut() {
            session.rows.push(row);
        }
    }
    all
}

/// The values of a column: players of sessions of swings.
pub fn values(players: &[Player<'_>], column: &Column) -> Vec<Vec<Vec<f64>>> {
    let of = |rows: &[usize]| rows.iter().filter_map(|row| column.values.get(*row).copied()).collect();
    players.iter().map(|p| p.sessions.iter().map(|s| of(&s.rows)).collect()).collect()
}

/// True where a column has a value in this row.
pub fn has(column: &Column, row: usize) -> bool {
    column.values.get(row).is_some_and(|v| v.is_finite())
}

/// What an answer rests on: the rows that `keep` accepts.
pub fn counted(table: &Table, keep: impl Fn(usize) -> bool) -> Counted {
    let kept = || table.swings.iter().enumerate().filter(|(row, _)| keep(*row)).map(|(_, s)| s);
    Counted {
        players: kept().map(|s| s.player.as_str()).collect::<BTreeSet<_>>().len(),
        sessions: kept().map(|s| s.session).collect::<BTreeSet<_>>().len(),
        swings: kept().count(),
    }
}

/// Values that are absent, a line for each measure and reason; `named`: with the measure's name, where there are several.
pub fn absent(columns: &[Column], named: bool) -> Vec<LeftOut> {
    let told = |column: &Column| {
        let label = if named { format!(" ({})", column.measure.label) } else { String::new() };
        column
            .absent
            .iter()
            .map(|left| LeftOut { what: format!("{}{label}", left.what), why: left.why.clone() })
            .collect::<Vec<_>>()
    };
    columns.iter().flat_map(told).collect()
}

/// What a reader must mind whatever is asked: figures out of date, in doubt or resting on estimates, and swings that were not
/// measured alike.
pub fn caveats(table: &Table, columns: &[Column]) -> Vec<String> {
    let mut all = Vec::new();
    if table.stale > 0 {
        all.push(format!(
            "{} out of date; `underfoot study rebuild --changed` measures again.",
            verb(table.stale, "swing", "is", "are")
        ));
    }
    let told = |of: &dyn Fn(&Column) -> usize| -> Vec<String> {
        const SHOWN: usize = 3;
        let some: Vec<&Column> = columns.iter().filter(|c| of(c) > 0).collect();
        let mut told: Vec<String> =
            some.iter().take(SHOWN).map(|c| format!("{} of {}", of(c), c.measure.label)).collect();
        if some.len() > SHOWN {
            told.push(format!("some of {}", count(some.len() - SHOWN, "other figure")));
        }
        told
    };
    let (doubted, estimated) = (told(&|c| c.doubted), told(&|c| c.estimated));
    if !doubted.is_empty() {
        all.push(format!(
            "Values put in doubt by a finding: {}; --finding and --no-stops choose by them.",
            listed(&doubted)
        ));
    }
    if !estimated.is_empty() {
        all.push(format!("Values that rest on an estimated event: {}.", listed(&estimated)));
    }
    let distinct = |of: &dyn Fn(&SwingOf) -> String| table.swings.iter().map(of).collect::<BTreeSet<_>>();
    if !table.collapse {
        let feet = |n: u8| table.swings.iter().filter(|s| s.feet == Some(n)).count();
        if feet(1) > 0 && feet(2) > 0 {
            all.push(format!(
                "{} with both feet on one plate stand beside {} with a plate for each foot; --collapse measures all as one plate.",
                count(feet(1), "swing"),
                feet(2)
            ));
        }
    }
    let rigs = distinct(&|s| s.rig.clone());
    if rigs.len() > 1 {
        all.push(format!(
            "{} rigs are in it; what one of them measures differently counts as scatter here (`underfoot agree`).",
            rigs.len()
        ));
    }
    let clubs = distinct(&|s| s.club.clone());
    if clubs.len() > 1 {
        let named: Vec<&str> =
            clubs.iter().map(|c| if c.is_empty() { "not stated" } else { c.as_str() }).collect();
        all.push(format!(
            "{} are together in it ({}); what differs between clubs counts as scatter here, --club keeps to one.",
            count(clubs.len(), "club"),
            named.join(", ")
        ));
    }
    for column in columns.iter().filter(|c| is_instant(c)) {
        all.push(format!(
            "{} is a time of the recording, whose beginning the recorder chose and not the player; the same before impact \
             (.before-impact) compares.",
            column.measure.label
        ));
    }
    all
}

/// "1 swing is", "3 swings are".
pub fn verb(n: usize, noun: &str, one: &str, many: &str) -> String {
    format!("{} {}", count(n, noun), if n == 1 { one } else { many })
}

/// True where a measure is an instant of the recording.
fn is_instant(column: &Column) -> bool {
    column.measure.metric.is_some_and(|m| matches!(m.recipe, Recipe::Time(_)))
}

/// True where 0 of a measure means that there is nothing of it, so that ratios say something: not so for instants, places and
/// angles.
pub fn has_true_zero(column: &Column) -> bool {
    match column.measure.metric {
        Some(metric) => match &metric.recipe {
            Recipe::Time(_) | Recipe::Between(_) | Recipe::StanceAngle => false,
            Recipe::Value(..) => !matches!(metric.unit, Unit::Metre | Unit::Radian),
            _ => true,
        },
        None => !["°", "deg", "rad"].contains(&column.measure.unit.as_str()),
    }
}

/// Several things as a sentence has them: "a, b and c".
pub fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::super::table::Measure;
    use super::*;

    /// A table for tests: (player, session, value) of each swing, in one column of %BW.
    pub(crate) fn table(rows: &[(&str, i64, f64)]) -> Table {
        let mut number = 0;
        let mut last = 0;
        let swings = rows
            .iter()
            .enumerate()
            .map(|(k, (player, session, _))| {
                number = if *session == last { number + 1 } else { 1 };
                last = *session;
                SwingOf {
                    swing: k as i64 + 1,
                    player: (*player).to_string(),
                    session: *session,
                    number,
                    club: "driver".into(),
                    feet: Some(2),
                    ..SwingOf::default()
                }
            })
            .collect();
        Table {
            named: "all swings".into(),
            swings,
            columns: vec![column("up.net.most", rows.iter().map(|r| r.2).collect())],
            ..Table::default()
        }
    }

    /// A column of a metric in %BW, or of an outcome in m/s.
    pub(crate) fn column(id: &str, values: Vec<f64>) -> Column {
        let metric = swing::metrics::catalogue().iter().find(|m| m.id == id);
        let measure = Measure {
            id: id.into(),
            label: metric.map_or(id.trim_start_matches("outcome.").replace('-', " "), |m| m.label.clone()),
            unit: if metric.is_some() { "%BW".into() } else { "m/s".into() },
            decimals: 1,
            signed: true,
            metric,
        };
        let u = vec![f64::NAN; values.len()];
        Column { measure, values, u, absent: Vec::new(), doubted: 0, estimated: 0 }
    }

    #[test]
    fn swings_by_player_and_session() {
        let of = table(&[("a", 1, 1.0), ("a", 1, f64::NAN), ("a", 2, 3.0), ("b", 3, 4.0)]);
        let column = of.columns.first().cloned().unwrap_or_else(|| super::tests::column("x", Vec::new()));
        let found = players(&of, |row| has(&column, row));
        assert_eq!(values(&found, &column), [vec![vec![1.0], vec![3.0]], vec![vec![4.0]]]);
        assert_eq!(counted(&of, |row| has(&column, row)), Counted { players: 2, sessions: 3, swings: 3 });
        assert_eq!(players(&of, |_| false).len(), 0);
    }

    #[test]
    fn zeros_that_mean_nothing_is_there() {
        let of = |id: &str| has_true_zero(&column(id, Vec::new()));
        assert!(of("up.net.most") && of("tempo") && of("outcome.clubhead-speed"));
        assert!(!of("up.net.most.time"));
    }

    #[test]
    fn what_must_be_said() {
        let mut of = table(&[("a", 1, 1.0), ("b", 2, 2.0)]);
        assert!(caveats(&of, &of.columns).is_empty());
        of.stale = 1;
        for (k, swing) in of.swings.iter_mut().enumerate() {
            swing.feet = Some(k as u8 + 1);
            swing.club = format!("club {k}");
            swing.rig = format!("rig {k}");
        }
        for column in &mut of.columns {
            (column.doubted, column.estimated) = (1, 2);
        }
        let told = caveats(&of, &of.columns);
        assert_eq!(told.len(), 6, "{told:#?}");
        assert!(told.iter().any(|t| t.contains("an estimated event: 2 of net up, most")));
        assert_eq!(listed(&["a".into(), "b".into(), "c".into()]), "a, b and c");
    }
}
