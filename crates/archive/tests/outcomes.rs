//! Outcomes find their swings by name, number, order and time; what is not sure is told, and units are those of the definitions.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use archive::Selection;
use archive::outcomes::columns::Said;
use archive::outcomes::matching::{By, Match, matched};
use archive::outcomes::rows::{Candidate, Table};
use common::{import, study, swings, write};

fn candidate(swing: i64, number: i64, name: &str, at: &str) -> Candidate {
    Candidate {
        swing,
        session: 7,
        number,
        name: name.into(),
        player: "P01".into(),
        date: Some("2026-05-12".into()),
        recorded_at: None,
        file_time: Some(format!("2026-05-12T{at}Z")),
    }
}

/// Swings at seconds after ten o'clock.
fn at_seconds(seconds: &[f64]) -> Vec<Candidate> {
    let swing = |(k, s): (usize, &f64)| {
        let k = k as i64 + 1;
        candidate(100 + k, k, &format!("s{k:02}.c3d"), &clock(10.0 * 3600.0 + s))
    };
    seconds.iter().enumerate().map(swing).collect()
}

fn clock(seconds: f64) -> String {
    let whole = seconds.floor() as i64;
    format!("{:02}:{:02}:{:02}", whole / 3600 % 24, whole / 60 % 60, whole % 60)
}

fn rows_at(seconds: &[f64], from: f64) -> Table {
    let mut text = String::from("time,carry (m)\n");
    for s in seconds {
        text.push_str(&format!("{},200\n", clock(from + s)));
    }
    Table::parse("radar.csv", text.as_bytes(), &[], None).unwrap()
}

fn all(table: &Table) -> Vec<usize> {
    (0..table.rows.len()).collect()
}

fn pairs(found: &Match) -> Vec<(usize, usize)> {
    found.pairs.iter().map(|p| (p.row, p.swing)).collect()
}

const TIME: By = By::Time { within_s: 20.0, offset_s: None };

/// An uneven session; the radar's clock is 3723 s behind (an hour, two minutes and three seconds), a shot was not recorded
/// and a recording has no shot.
#[test]
fn clocks_that_differ_by_a_constant_are_brought_together() {
    let swings = at_seconds(&[0.0, 41.0, 95.0, 150.0, 182.0, 260.0, 301.0, 377.0]);
    let table = rows_at(&[0.0, 41.0, 97.0, 183.0, 210.0, 260.0, 302.0, 377.0], 10.0 * 3600.0 - 3723.0);
    let found = matched(&table, &all(&table), &swings, TIME);
    assert_eq!(pairs(&found), [(0, 0), (1, 1), (2, 2), (3, 4), (5, 5), (6, 6), (7, 7)]);
    assert!((found.offsets_s[0] - 3723.0).abs() < 1.5, "{:?}", found.offsets_s);
    assert_eq!(found.without, [3], "the recording without a shot");
    assert_eq!(found.alone.len(), 1);
    assert!(found.alone[0].0 == 4 && found.alone[0].1.contains("no swing within 20 s"), "{:?}", found.alone);
}

/// One shot every half minute, and one fewer than swings: two constants fit as well as each other.
#[test]
fn an_even_rhythm_is_not_guessed() {
    let even: Vec<f64> = (0..8).map(|k| 30.0 * f64::from(k)).collect();
    let swings = at_seconds(&even);
    let table = rows_at(&even[..7], 9.0 * 3600.0);
    let found = matched(&table, &all(&table), &swings, TIME);
    assert!(found.pairs.is_empty());
    let why = &found.refused[0].why;
    assert!(why.contains("3600 s") && why.contains("3630 s") && why.contains("--clock-offset"), "{why}");
    // Nearly even: one constant is a little better, and that is no reason.
    let nearly = [0.0, 31.0, 60.0, 89.0, 120.0, 150.0, 181.0, 210.0];
    let found =
        matched(&rows_at(&nearly[1..], 9.0 * 3600.0), &[0, 1, 2, 3, 4, 5, 6], &at_seconds(&nearly), TIME);
    assert!(found.pairs.is_empty() && !found.refused.is_empty(), "{:?}", found.offsets_s);
    // Said, it is no guess.
    let said = By::Time { within_s: 20.0, offset_s: Some(3600.0) };
    let found = matched(&table, &all(&table), &swings, said);
    assert_eq!(pairs(&found), (0..7).map(|k| (k, k)).collect::<Vec<_>>());
    // Clocks that agree need no constant.
    let table = rows_at(&even[..7], 10.0 * 3600.0 + 2.0);
    let found = matched(&table, &all(&table), &swings, TIME);
    assert_eq!(pairs(&found), (0..7).map(|k| (k, k)).collect::<Vec<_>>());
    // With as many rows as swings, only one constant brings all together.
    let table = rows_at(&even, 9.0 * 3600.0);
    assert_eq!(pairs(&matched(&table, &all(&table), &swings, TIME)).len(), 8);
}

#[test]
fn a_row_between_two_swings_belongs_to_neither() {
    let swings = at_seconds(&[0.0, 60.0, 66.0, 200.0]);
    let table = rows_at(&[0.0, 63.0, 200.0], 10.0 * 3600.0);
    let found = matched(&table, &all(&table), &swings, TIME);
    assert_eq!(pairs(&found), [(0, 0), (2, 3)]);
    assert!(found.alone[0].1.contains("swings 102 and 103 are as near"), "{:?}", found.alone);
    // Two rows of one swing belong to neither.
    let table = rows_at(&[0.0, 1.0, 200.0], 10.0 * 3600.0);
    let found = matched(&table, &all(&table), &swings, TIME);
    assert_eq!(pairs(&found), [(2, 3)]);
    assert!(found.alone[0].1.contains("lines 2, 3 are all of swing 101"), "{:?}", found.alone);
}

#[test]
fn a_session_past_midnight_goes_on() {
    let late = [0.0, 50.0, 130.0, 300.0];
    let mut swings = at_seconds(&late);
    for (swing, s) in swings.iter_mut().zip(late) {
        let day = if s < 100.0 { "2026-05-12" } else { "2026-05-13" };
        swing.file_time = Some(format!("{day}T{}Z", clock(86_300.0 + s)));
    }
    let table = rows_at(&late, 86_290.0);
    let found = matched(&table, &all(&table), &swings, TIME);
    assert_eq!(pairs(&found), [(0, 0), (1, 1), (2, 2), (3, 3)]);
}

#[test]
fn order_wants_as_many_rows_as_swings() {
    let swings = at_seconds(&[0.0, 10.0, 20.0]);
    let table = rows_at(&[0.0, 1.0, 2.0, 3.0], 0.0);
    let found = matched(&table, &all(&table), &swings, By::Order);
    assert!(found.pairs.is_empty() && found.refused[0].why == "4 rows, but 3 swings");
    assert_eq!((found.refused[0].rows.len(), found.refused[0].swings.len()), (4, 3));
    let found = matched(&table, &[1, 2, 3], &swings, By::Order);
    assert_eq!(pairs(&found), [(1, 0), (2, 1), (3, 2)]);
    let mut two = swings.clone();
    two[2].session = 8;
    let found = matched(&table, &[1, 2, 3], &two, By::Order);
    assert!(found.refused[0].why.contains("several sessions"), "{:?}", found.refused);
}

#[test]
fn names_and_numbers_are_exact() {
    let swings = at_seconds(&[0.0, 10.0, 20.0]);
    let text = "file,number,carry (m)\nin\\S02.C3D,1,200\ns03,3,201\ns09.c3d,9,202\n,,203\n";
    let table = Table::parse("t.csv", text.as_bytes(), &[], None).unwrap();
    let found = matched(&table, &all(&table), &swings, By::File);
    assert_eq!(pairs(&found), [(0, 1), (1, 2)]);
    assert_eq!(found.alone[0].1, "no swing came from a file \"s09.c3d\"");
    assert_eq!(found.alone[1].1, "it names no file");
    let found = matched(&table, &all(&table), &swings, By::Swing);
    assert_eq!(pairs(&found), [(0, 0), (1, 2)]);
    assert_eq!(found.alone[0].1, "there is no number 9 in the session");
    let mut twin = swings.clone();
    twin[2].name = "s02.c3d".into();
    let found = matched(&table, &[0], &twin, By::File);
    assert!(found.alone[0].1.contains("swings 102, 103 all came from a file"), "{:?}", found.alone);
    // A swing's number in the study comes before its number in a session; a player who is stated must be the swing's.
    let text = "swing,player,carry (m)\n102,p01,200\n103,P02,200\n";
    let table = Table::parse("t.csv", text.as_bytes(), &[], None).unwrap();
    let found = matched(&table, &all(&table), &swings, By::Swing);
    assert_eq!(pairs(&found), [(0, 1)]);
    assert!(found.alone[0].1.contains("there is no swing 103 among those meant"), "{:?}", found.alone);
}

/// Kept in SI, with what was given; written again, what changed is told; one row of the log each time.
/// 100 mph = 44.704 m/s, 250 yd = 228.6 m: international yard and pound agreement 1959.
#[test]
fn outcomes_are_kept_and_replaced_in_the_open() {
    let folder = tempfile::tempdir().unwrap();
    let (study, _, session) = study(&folder.path().join("study"));
    import(&study, &write(&folder.path().join("in"), &swings(2, 1, false), "a"), session);
    let put = |text: &str| {
        let said = [Said::parse("Speed=clubhead-speed [mph]").unwrap()];
        let table = Table::parse("radar.csv", text.as_bytes(), &said, None).unwrap();
        let swings = study.candidates(&Selection::default()).unwrap();
        let found = matched(&table, &all(&table), &swings, By::Order);
        assert!(found.refused.is_empty(), "{:?}", found.refused);
        let rows: Vec<_> =
            found.pairs.iter().map(|p| (swings[p.swing].swing, table.rows[p.row].given.clone())).collect();
        study.put_outcomes(&table.source, &rows).unwrap()
    };
    let first = put("Speed,Carry (yd)\n100,250\n101,\n");
    assert_eq!((first.swings, first.new, first.same, first.replaced.len()), (2, 3, 0, 0));
    let before = study.changes_since(0, 1000).unwrap().len();
    let second = put("Speed,Carry (yd)\n100,240\n101,230\n");
    assert_eq!((second.new, second.same, second.replaced.len()), (1, 2, 1));
    assert_eq!((second.replaced[0].before.as_str(), second.replaced[0].after.as_str()), ("250 yd", "240 yd"));
    let changes = study.changes_since(0, 1000).unwrap();
    assert_eq!(changes.len(), before + 1, "one change, one row");
    assert_eq!(changes.last().unwrap().what, "outcomes written");
    let kept = study.outcomes_of(&[1, 2]).unwrap();
    let value = |swing: i64, name: &str| {
        let one = kept.iter().find(|o| o.swing == swing && o.name == name).unwrap();
        (one.value, one.unit.clone(), one.given.clone())
    };
    let (speed, unit, given) = value(1, "clubhead-speed");
    assert!((speed - 44.704).abs() < 1e-12 && unit == "m/s" && given == "100 mph");
    let (carry, unit, _) = value(1, "carry");
    assert!((carry - 240.0 * 0.9144).abs() < 1e-12 && unit == "m");
    assert_eq!(kept.len(), 4);
    assert!(study.outcomes_of(&[]).unwrap().is_empty());
    let missing = study.put_outcomes("x.csv", &[(99, rows_at(&[0.0], 0.0).rows[0].given.clone())]);
    assert_eq!(missing.unwrap_err().to_string(), "there is no swing \"99\"");
}

/// Files of the same name are told apart by the folders before it, as far as those agree.
#[test]
fn folders_tell_files_of_one_name_apart() {
    let swings = [
        candidate(1, 1, "in/alder/2024/driver-1.c3d", "10:00:00"),
        candidate(2, 2, "in/alder/2026/driver-1.c3d", "10:01:00"),
    ];
    let pairs = |file: &str| {
        let text = format!("file,smash factor\n{file},1.4\n");
        let table = Table::parse("o.csv", text.as_bytes(), &[], None).unwrap();
        let found = matched(&table, &[0], &swings, By::File);
        found.pairs.iter().map(|p| swings[p.swing].swing).collect::<Vec<_>>()
    };
    assert_eq!(pairs("alder/2026/driver-1.c3d"), [2]);
    assert_eq!(pairs("2024\\DRIVER-1"), [1]);
    assert!(pairs("driver-1.c3d").is_empty() && pairs("birch/driver-1.c3d").is_empty());
}

/// Rows of a season against every swing there is.
#[test]
fn a_whole_study_is_too_much_to_find_the_clocks_by() {
    let many: Vec<f64> = (0..320).map(|k| f64::from(k) * 60.0).collect();
    let (swings, table) = (at_seconds(&many), rows_at(&many, 10.0 * 3600.0));
    let found = matched(&table, &all(&table), &swings, TIME);
    let why = &found.refused[0].why;
    assert!(found.pairs.is_empty() && why.contains("320 rows and 320 swings"), "{why}");
    assert!(why.contains("--session") && why.contains("--date") && why.contains("--clock-offset"), "{why}");
    let said = By::Time { within_s: 20.0, offset_s: Some(0.0) };
    assert!(matched(&table, &all(&table), &swings, said).refused.is_empty());
}
