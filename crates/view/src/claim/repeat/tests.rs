//! Answers about repeatability, of tables made by hand.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)] // tests may
use super::*;
use crate::claim::players::tests::{column, table};
use evidence::InTurn;

const HOW: RepeatHow =
    RepeatHow { level: 0.95, seed: 1, draws: 1000, by: By::All, forms: false, precision: None };

/// Three players with two sessions of three swings: mean squares worked by hand below.
fn small() -> Table {
    table(&[
        ("ash", 1, 100.0),
        ("ash", 1, 102.0),
        ("ash", 1, 104.0),
        ("ash", 2, 108.0),
        ("ash", 2, 110.0),
        ("ash", 2, 112.0),
        ("bay", 3, 120.0),
        ("bay", 3, 122.0),
        ("bay", 3, 124.0),
        ("bay", 4, 120.0),
        ("bay", 4, 122.0),
        ("bay", 4, f64::NAN),
        ("fir", 5, 140.0),
        ("fir", 5, 142.0),
        ("fir", 5, 144.0),
    ])
}

/// By hand: squares within sessions 8 + 8 + 8 + 2 + 8 = 34 over 9 degrees, SEM √(34/9) = 1.9437; the least change of two single
/// swings 1.96·√2·1.9437 = 5.3874.
#[test]
fn numbers_by_hand() {
    let found = repeat(&small(), &HOW, &InTurn);
    let of = &found.numbers.measures[0];
    assert!((of.sem.value - (34.0_f64 / 9.0).sqrt()).abs() < 1e-12 && of.degrees == 9.0);
    assert_eq!((of.players, of.sessions, of.swings), (3, 5, 14));
    assert!((of.means[0].change_one_day.value - 5.387_4).abs() < 1e-4);
    assert!((of.means[2].error_that_day.value - of.sem.value / 3.0_f64.sqrt()).abs() < 1e-12);
    assert!(of.day.unwrap().value > 1.0 && of.between.unwrap().value > 10.0);
    assert!(of.icc.unwrap().value > 0.8 && of.icc_one_way.is_some());
    assert!((of.cv_percent.unwrap().value - 100.0 * of.sem.value / of.mean).abs() < 1e-9);
    assert_eq!(of.usual.swings, 3);
    assert_eq!((found.counted.players, found.counted.sessions, found.counted.swings), (3, 5, 14));
    assert!(
        found
            .verdict
            .starts_with("Net up, most: one swing of a player lies within ±3.8 %BW of that day's mean")
    );
    assert!(found.verdict.contains("; from one day to another, means of 3 swings must differ by more than"));
    assert!(found.caveats.iter().any(|c| c.contains("rests on 2 sessions beyond the first")));
    assert!(found.text().lines().all(|l| l.chars().count() <= 100));
}

#[test]
fn one_player_and_one_day() {
    let few = table(&[("ash", 1, -1.0), ("ash", 1, 2.0), ("ash", 1, 1.0)]);
    let found = repeat(&few, &HOW, &InTurn);
    let of = &found.numbers.measures[0];
    assert!(of.icc.is_none() && of.day.is_none() && of.between.is_none() && of.cv_percent.is_none());
    assert_eq!(of.no_cv, Some("values lie on both sides of 0, or near it"));
    assert!(found.verdict.contains("what another day adds is not known here"), "{}", found.verdict);
    assert!(found.caveats.iter().any(|c| c == "This speaks of one player only."));
    // Single swings carry no scatter.
    let none = repeat(&table(&[("ash", 1, 1.0), ("bay", 2, 2.0)]), &HOW, &InTurn);
    assert!(none.verdict.starts_with("It cannot be told") && none.numbers.measures.is_empty());
    assert_eq!(none.left_out[0].what, "net up, most");
}

/// To know the mean to ±1 where single swings scatter by 1.9437: (1.96·1.9437/1)² = 14.5 swings.
#[test]
fn swings_that_are_enough() {
    let how = RepeatHow { precision: "1%BW".parse().ok(), ..HOW };
    let found = repeat(&small(), &how, &InTurn);
    let enough = found.numbers.measures[0].enough.unwrap();
    assert_eq!(enough.that_day, 15);
    assert!(enough.that_day_low < 15 && enough.that_day_high > 15);
    assert_eq!(enough.any_day, None, "days scatter by more than that");
    assert!(enough.sessions.unwrap() > 10);
    assert!(
        found.verdict.contains("takes 15 swings")
            && found.verdict.contains("no number of swings of one session")
    );
    let other = RepeatHow { precision: "1 s".parse().ok(), ..HOW };
    let found = repeat(&small(), &other, &InTurn);
    assert!(found.numbers.measures[0].enough.is_none());
    assert!(!found.verdict.contains("precision"), "{}", found.verdict);
    let ninety = repeat(&small(), &RepeatHow { level: 0.9, ..HOW }, &InTurn);
    assert!(ninety.method[1].contains("larger than 1.64"), "{}", ninety.method[1]);
}

/// One player's days lie far apart: said, with what is left without.
#[test]
fn one_player_moves_most() {
    let mut rows = Vec::new();
    for (player, far) in [("ash", 30.0), ("bay", 1.0), ("fir", -1.0), ("oak", 0.5)] {
        for (session, shift) in [(0, 0.0), (1, far)] {
            for k in 0..4 {
                rows.push((
                    player,
                    session + i64::from(player.as_bytes()[0]) * 2,
                    100.0 + shift + f64::from(k % 3),
                ));
            }
        }
    }
    let found = repeat(&table(&rows), &HOW, &InTurn);
    let most = found.numbers.measures[0].day_most.clone().unwrap();
    assert_eq!(most.player, "ash");
    assert!(most.share > 0.99 && most.without < 1.5, "{most:?}");
    assert!(
        found.caveats.iter().any(|c| c.contains("% of what days differ by is ash's")),
        "{:?}",
        found.caveats
    );
    assert!(repeat(&small(), &HOW, &InTurn).numbers.measures[0].day_most.is_none(), "two players only");
}

#[test]
fn rows_and_forms() {
    let how = RepeatHow { by: By::Session, forms: true, ..HOW };
    let found = repeat(&small(), &how, &InTurn);
    let of = &found.numbers.measures[0];
    assert_eq!(of.rows.len(), 5);
    assert_eq!((of.rows[3].session, of.rows[3].swings, of.rows[3].mean), (Some(4), 2, 121.0));
    assert!((of.rows[0].sem.value - 2.0).abs() < 1e-12, "100, 102, 104");
    let forms = of.forms.as_ref().unwrap();
    assert_eq!((forms.swings, forms.players, forms.rows.len()), (3, 3, 6));
    let text = found.text();
    assert!(text.contains("ICC(2,k)") && text.contains("ICC(A,k)"), "{text}");
    let players = repeat(&small(), &RepeatHow { by: By::Player, ..HOW }, &InTurn);
    assert_eq!(players.numbers.measures[0].rows.len(), 3);
    assert_eq!(players.numbers.measures[0].rows[0].sessions, 2);
}

/// Many measures: a row each, and the one that tells players apart best is named.
#[test]
fn many_measures() {
    let mut of = small();
    let values = of.columns[0].values.clone();
    for k in 0..7 {
        let noisy = values.iter().enumerate().map(|(i, v)| v + f64::from(k * 7) * ((i * 5 % 7) as f64 - 3.0));
        let mut next = column("up.net.most", noisy.collect());
        next.measure.label = format!("figure {k}");
        of.columns.push(next);
    }
    let found = repeat(&of, &HOW, &InTurn);
    assert!(
        found.verdict.starts_with("Of 8 figures, single swings tell players apart best by"),
        "{}",
        found.verdict
    );
    assert!(found.text().lines().all(|l| l.chars().count() <= 100));
}
