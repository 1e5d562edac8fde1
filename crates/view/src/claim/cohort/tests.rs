//! Cohorts of invented tables.
#![allow(clippy::unwrap_used)] // tests may
use super::*;
use crate::claim::players::tests::{column, table};
use evidence::InTurn;

const HOW: CohortHow = CohortHow {
    by: Vec::new(),
    of: None,
    each: false,
    aside: None,
    level: 0.95,
    alpha: 0.05,
    resamples: 400,
    seed: 1,
};

/// So many players p00, p01 …, each with swings about a level of its own, 100 + its number.
fn players(count: usize, swings: usize) -> Vec<(String, i64, f64)> {
    let of = |k: usize| {
        let about = 100.0 + k as f64;
        (0..swings)
            .map(move |j| (format!("p{k:02}"), k as i64, about + j as f64 - (swings as f64 - 1.0) / 2.0))
    };
    (0..count).flat_map(of).collect()
}

fn tabled(rows: &[(String, i64, f64)]) -> Table {
    table(&rows.iter().map(|(p, s, v)| (p.as_str(), *s, *v)).collect::<Vec<_>>())
}

/// Some rows of a table, as a choice of its own.
fn chosen(of: &Table, keep: impl Fn(usize) -> bool) -> Table {
    let mut own = of.clone();
    let mut row = 0..;
    own.swings.retain(|_| row.next().is_some_and(&keep));
    for column in &mut own.columns {
        let (mut row, mut u) = (0.., 0..);
        column.values.retain(|_| row.next().is_some_and(&keep));
        column.u.retain(|_| u.next().is_some_and(&keep));
    }
    own.named = "those".into();
    own
}

/// The unit is the player: three swings each are one value each, and only centiles that 14 players hold are shown. By hand: the means
/// are 100 to 113, their middle 106.5; of 14 the 3rd and 12th hold it (tables of the sign test).
#[test]
fn players_count_once() {
    let found = cohort(&tabled(&players(14, 3)), None, &HOW, &InTurn);
    let row = &found.numbers.measures[0].rows[0];
    assert_eq!((row.units, row.swings, row.stratum.as_str()), (14, 42, "all"));
    let at = |percent: u8| row.centiles.iter().find(|c| c.percent == percent).unwrap();
    assert_eq!((at(50).at.value, at(50).at.low, at(50).at.high), (106.5, 102.0, 111.0));
    assert!(at(25).at.value.is_finite() && at(10).at.value.is_nan() && at(10).needs == 36);
    assert!(
        found.verdict.starts_with("Half of the players lie within: net up, most +103"),
        "{}",
        found.verdict
    );
    let text = found.text();
    assert!(text.contains("— takes more players: 36 for 10 and 90, 72 for 5 and 95"), "{text}");
    assert!(text.lines().all(|l| l.chars().count() <= 100));
}

/// A player is placed among the others by the mean, a single swing among single swings; its player is left out of both. By hand:
/// p07's mean is 107: of the 13 others 7 lie below.
#[test]
fn placed_without_oneself() {
    let all = tabled(&players(14, 3));
    let mine = chosen(&all, |row| all.swings[row].player == "p07");
    let found = cohort(&all, Some(&mine), &HOW, &InTurn);
    let s = &found.numbers.placed[0].standings[0];
    assert_eq!((found.numbers.of, s.units, s.value), ("means of players", 13, 107.0));
    assert!((s.percent.value - 700.0 / 13.0).abs() < 1e-9, "{s:?}");
    assert!(
        !s.unusual
            && found
                .verdict
                .starts_with("The one figure looked at is not unusual. P07 (3 swings), beside 13")
    );
    let one = chosen(&all, |row| row == 22);
    assert_eq!((all.swings[22].player.as_str(), all.columns[0].values[22]), ("p07", 107.0));
    let found = cohort(&all, Some(&one), &HOW, &InTurn);
    let s = &found.numbers.placed[0].standings[0];
    // Of p06 (105, 106, 107) two lie below and one is level, of p08 (107, 108, 109) one is level: 6 + 5/6 + 1/6 of 13.
    assert_eq!((found.numbers.of, s.units), ("single swings", 13));
    assert!((s.percent.value - 700.0 / 13.0).abs() < 1e-9, "{s:?}");
    assert!(
        found.verdict.contains("Swing 23 of p07, beside single swings of 13 other players"),
        "{}",
        found.verdict
    );
    let each = cohort(&all, Some(&mine), &CohortHow { each: true, ..HOW }, &InTurn);
    assert_eq!(each.numbers.placed.len(), 3);
}

/// One player far beyond the others is called so, and the number looked at is held against it.
#[test]
fn what_lies_far_off_is_unusual() {
    let mut rows = players(14, 3);
    rows.extend([("zeta".to_string(), 99, 160.0), ("zeta".to_string(), 99, 161.0)]);
    let all = tabled(&rows);
    let mine = chosen(&all, |row| all.swings[row].player == "zeta");
    let found = cohort(&all, Some(&mine), &HOW, &InTurn);
    let s = &found.numbers.placed[0].standings[0];
    assert!(s.unusual && s.all_below && s.p_adjusted == s.p, "{s:?}");
    let verdict = &found.verdict;
    assert!(
        verdict.starts_with("1 of 1 figure looked at is unusual: net up, most of zeta (2 swings)."),
        "{verdict}"
    );
    assert!(verdict.contains("higher than all of them (than at least 77 % of such)"), "{verdict}");
    // The same beside 400 other figures looked at is a p four hundred times as large.
    let mut wide = all.clone();
    wide.columns = vec![all.columns[0].clone(); 401];
    for (k, c) in wide.columns.iter_mut().enumerate() {
        c.measure.id = format!("m{k}");
    }
    let mine = chosen(&wide, |row| wide.swings[row].player == "zeta");
    let found = cohort(&wide, Some(&mine), &HOW, &InTurn);
    let again = &found.numbers.placed[0].standings[0];
    assert_eq!((found.numbers.looked_at, again.p), (401, s.p));
    assert!((again.p_adjusted - (401.0 * s.p).min(1.0)).abs() < 1e-12);
}

/// A reference of one player's own swings counts swings, leaves out only what is placed, and says whom it speaks of.
#[test]
fn among_ones_own_swings() {
    let all = tabled(&players(1, 20));
    let mine = chosen(&all, |row| row == 0);
    let found = cohort(&all, Some(&mine), &HOW, &InTurn);
    let s = &found.numbers.placed[0].standings[0];
    assert_eq!((found.numbers.unit, s.units, s.all_above), ("swing", 19, true));
    assert!(found.caveats[0].contains("speaks of this player only"));
    assert!(found.verdict.contains("beside 19 other swings of the player"), "{}", found.verdict);
    assert!(found.settings.iter().all(|s| s.name != "seed"), "no chance is in it");
}

/// Strata have references of their own; what is not known of a swing leaves it out; a column may be there for that alone.
#[test]
fn strata_are_apart() {
    let mut all = tabled(&players(16, 2));
    for (k, swing) in all.swings.iter_mut().enumerate() {
        swing.handicap = if k < 4 { None } else { Some(k as f64) };
    }
    all.columns.push(column("outcome.clubhead-speed", (0..32).map(f64::from).collect()));
    let speed = By::Speed { measure: "outcome.clubhead-speed".into(), cuts: vec![20.0] };
    let by = vec![By::Handicap(vec![10.0]), speed];
    let how = CohortHow { by, aside: Some("outcome.clubhead-speed".into()), ..HOW };
    let mine = chosen(&all, |row| row == 30);
    let found = cohort(&all, Some(&mine), &how, &InTurn);
    let told: Vec<(&str, usize)> =
        found.numbers.measures[0].rows.iter().map(|r| (r.stratum.as_str(), r.units)).collect();
    let (slow, fast) = ("clubhead speed under 20 m/s", "clubhead speed 20 m/s and more");
    let expected = [
        (format!("handicap under 10, {slow}"), 3),
        (format!("handicap 10 and more, {slow}"), 5),
        (format!("handicap 10 and more, {fast}"), 6),
    ];
    assert_eq!(told, expected.iter().map(|(s, n)| (s.as_str(), *n)).collect::<Vec<_>>());
    assert_eq!(
        (found.numbers.measures.len(), found.left_out[0].what.as_str()),
        (1, "4 swings have no stratum")
    );
    assert_eq!(found.numbers.placed[0].stratum, expected[2].0);
    assert_eq!(found.numbers.placed[0].standings[0].units, 5);
    let few = &found.numbers.measures[0].rows[0];
    assert!(few.centiles.iter().all(|c| c.at.value.is_nan()), "three players hold no centile");
}

/// Nothing to compare with is said, not computed.
#[test]
fn too_few() {
    let few = tabled(&players(4, 2));
    assert!(
        cohort(&few, None, &HOW, &InTurn).verdict.starts_with("Too few for any centile: at most 4 players")
    );
    let two = tabled(&players(2, 1));
    let mine = chosen(&two, |row| row == 0);
    let found = cohort(&two, Some(&mine), &HOW, &InTurn);
    assert!(
        found.verdict.starts_with("Whether it is unusual cannot be told: it takes at least 3"),
        "{}",
        found.verdict
    );
    assert!(!found.numbers.placed[0].standings[0].unusual);
    let mut empty = tabled(&players(8, 1));
    empty.columns[0].values.iter_mut().for_each(|v| *v = f64::NAN);
    assert!(cohort(&empty, None, &HOW, &InTurn).text().starts_with("How far apart"));
}

/// A reference of one player places only that player's swings: for another it is no cohort, and nothing is called unusual.
#[test]
fn one_other_player_is_no_cohort() {
    let all = tabled(&players(2, 20));
    let reference = chosen(&all, |row| all.swings[row].player == "p00");
    let other = chosen(&all, |row| row == 25);
    let found = cohort(&reference, Some(&other), &HOW, &InTurn);
    assert_eq!(
        found.verdict,
        "Cannot be told: the reference has swings of p00 alone, and one player is no cohort; choose a reference of at least 3 other \
         players, or place p00's own swings."
    );
    let s = &found.numbers.placed[0].standings[0];
    assert!(!s.unusual && s.p.is_nan() && s.percent.value.is_nan() && s.units == 1, "{s:?}");
    assert_eq!((found.numbers.unit, found.numbers.looked_at), ("player", 0));
    assert!(!found.method.iter().any(|m| m.contains("all are of one player")), "{:?}", found.method);
    // Two others are too few as well.
    let three = tabled(&players(3, 4));
    let mine = chosen(&three, |row| row < 4);
    let found = cohort(&three, Some(&mine), &HOW, &InTurn);
    assert!(
        !found.verdict.contains("higher than") && !found.verdict.contains("lower than"),
        "{}",
        found.verdict
    );
}

/// Of one player's own swings each that is placed stands by itself, beside those that are not; where none is left, that is said.
#[test]
fn own_swings_are_placed_one_by_one() {
    let all = tabled(&players(1, 20));
    let mine = chosen(&all, |row| row < 3);
    let found = cohort(&all, Some(&mine), &HOW, &InTurn);
    let told: Vec<(usize, usize)> =
        found.numbers.placed.iter().map(|p| (p.swings.len(), p.standings[0].units)).collect();
    assert_eq!(told, [(1, 17), (1, 17), (1, 17)]);
    let whole = cohort(&all, Some(&all), &HOW, &InTurn);
    assert!(
        whole.verdict.starts_with(
            "Cannot be told: all 20 swings of the reference are to be placed, and no other swing of the player is left"
        ),
        "{}",
        whole.verdict
    );
    assert!(whole.numbers.placed.iter().all(|p| !p.standings[0].unusual));
}

/// What alpha implies is written with it: 2 / (n + 1) is not above 0.01 from 199 on.
#[test]
fn figures_follow_alpha() {
    let all = tabled(&players(14, 3));
    let mine = chosen(&all, |row| all.swings[row].player == "p07");
    let said = |alpha: f64| {
        let found = cohort(&all, Some(&mine), &CohortHow { alpha, ..HOW }, &InTurn);
        [found.method, found.caveats].concat().join(" ")
    };
    let (usual, strict) = (said(0.05), said(0.01));
    assert!(usual.contains("outermost 5 %") && usual.contains("fewer than 39 players"), "{usual}");
    assert!(strict.contains("outermost 1 %") && strict.contains("fewer than 199 players"), "{strict}");
    assert!(
        !said(0.2).contains("by rank alone") && !said(0.2).contains("Beside fewer than"),
        "14 are enough"
    );
}
