//! Answers about agreement, of tables made by hand.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)] // tests may
use super::*;
use crate::claim::players::tests::table;

const HOW: AgreeHow = AgreeHow { level: 0.95, pairing: Pairing::SameSwing };

/// A number between −1 and 1 that repeats itself late: scatter without chance.
fn wobble(k: usize) -> f64 {
    ((k * 7919 % 101) as f64 - 50.0) / 50.0
}

/// Players of a day with six swings each, recorded by two rigs: the second reads `less` less and errs by up to `error`.
fn rigs(players: usize, less: impl Fn(f64) -> f64, error: f64) -> (Table, Table) {
    const NAMES: [&str; 6] = ["a", "b", "c", "d", "e", "f"];
    let side = |rig: &str, from: i64, of: &dyn Fn(usize, f64) -> f64| {
        let mut rows = Vec::new();
        for (p, name) in NAMES.iter().take(players).enumerate() {
            for k in 0..6 {
                let truth = 140.0 + 8.0 * p as f64 + 4.0 * wobble(6 * p + k);
                rows.push((*name, from + p as i64, of(6 * p + k, truth)));
            }
        }
        let mut table = table(&rows);
        for swing in &mut table.swings {
            swing.rig = rig.into();
            swing.date = Some("2026-05-01".into());
            swing.swing += 1000 * from;
        }
        table
    };
    let first = side("bay", 1, &|_, v| v);
    let second = side("spare", 11, &|k, v| v - less(v) + error * wobble(5 * k + 2));
    (first, second)
}

fn of(first: &Table, second: &Table) -> Answer<Agree> {
    agree(first, second, ["bay", "spare"], &HOW).unwrap()
}

#[test]
fn a_small_disagreement_and_a_large_one() {
    let (first, second) = rigs(5, |_| 0.5, 0.2);
    let found = of(&first, &second);
    let m = &found.numbers.measures[0];
    assert_eq!((m.pairs, m.players, m.by_player, m.size), (30, 5, true, Size::Small));
    assert!((m.bias.value - 0.5).abs() < 0.1 && m.lower.value > 0.0, "{m:?}");
    assert!(found.verdict.starts_with("Net up, most: bay reads 0."), "{}", found.verdict);
    assert!(found.verdict.contains("is small beside what one swing scatters by"), "{}", found.verdict);
    assert!(found.text().lines().all(|l| l.chars().count() <= 100));
    assert_eq!((found.counted.swings, found.counted.players), (30, 5));

    let (first, second) = rigs(5, |_| 0.0, 12.0);
    let found = of(&first, &second);
    assert_eq!(found.numbers.measures[0].size, Size::Larger);
    assert!(found.verdict.contains("no difference to be seen"), "{}", found.verdict);
    let (first, second) = rigs(5, |_| 0.0, 1.0);
    assert_eq!(of(&first, &second).numbers.measures[0].size, Size::OfTheSize);
}

/// A rig that reads 5 % less: the difference follows the size, and its limits at both ends are told.
#[test]
fn a_bias_that_grows_is_told() {
    let (first, second) = rigs(6, |v| 0.05 * v, 0.3);
    let found = of(&first, &second);
    let m = &found.numbers.measures[0];
    assert!(m.bias_trend.p < 0.01 && (m.bias_trend.slope.value - 0.05 / 0.975).abs() < 0.01, "{m:?}");
    assert!(
        found.caveats.iter().any(|c| c.contains("the difference follows the size")),
        "{:?}",
        found.caveats
    );
}

#[test]
fn one_player_speaks_of_itself() {
    let (first, second) = rigs(1, |_| 0.5, 0.2);
    let found = of(&first, &second);
    assert!(!found.numbers.measures[0].by_player);
    assert!(found.caveats[0].contains("this player only"));
    assert!(found.method[0].contains("1986"));
}

/// Only the same player, day and number make a pair; what has none is counted with its reason.
#[test]
fn what_makes_a_pair() {
    let (mut first, mut second) = rigs(4, |_| 0.5, 0.2);
    first.swings[0].date = None;
    second.swings[1].number = 99;
    first.swings[3].number = 3; // as the one before it
    let found = of(&first, &second);
    assert_eq!(found.counted.swings, 20);
    let left: Vec<(&str, &str)> = found.left_out.iter().map(|l| (l.what.as_str(), l.why.as_str())).collect();
    assert_eq!(left.len(), 3, "{left:?}");
    assert!(left.contains(&("1 swing", "their session has no day")));
    // A recording is not its own partner.
    let none = agree(&first, &first, ["bay", "bay"], &HOW).unwrap_err();
    assert!(none.starts_with("no swing was recorded on both sides"), "{none}");
}

/// The same recordings, looked at in two ways: paired by their number.
#[test]
fn a_recording_with_itself() {
    let (first, _) = rigs(4, |_| 0.0, 0.0);
    let mut second = first.clone();
    second.collapse = true;
    for (k, v) in second.columns[0].values.iter_mut().enumerate() {
        *v += 0.01 * wobble(k);
    }
    second.swings.pop();
    second.columns[0].values.pop();
    let how = AgreeHow { pairing: Pairing::SameRecording, ..HOW };
    let found = agree(&first, &second, ["two plates", "one plate"], &how).unwrap();
    assert_eq!((found.counted.swings, found.numbers.measures[0].size), (23, Size::Small));
    assert_eq!(found.left_out[0].why, "not looked at in both ways");
    let same = agree(&first, &first, ["two plates", "one plate"], &how).unwrap();
    assert_eq!(same.numbers.measures[0].size, Size::Same);
    assert_eq!(same.verdict, "Net up, most comes out the same, to rounding.");
    assert!(found.question.contains("put together as one"));
}
