//! Answers about associations, of tables made by hand.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)] // tests may
use super::*;
use crate::claim::players::tests::{column, table};
use evidence::InTurn;

const HOW: RelateHow = RelateHow {
    level: 0.95,
    seed: 1,
    resamples: 500,
    permutations: 500,
    control: Control::Holm,
    across_days: false,
};

/// A number between −1 and 1 that repeats itself late: scatter without chance.
fn wobble(k: usize) -> f64 {
    ((k * 7919 % 101) as f64 - 50.0) / 50.0
}

/// Players of two sessions with six swings each: x (a force) and y (a speed), which go together between players and within
/// them as asked.
fn study(players: usize, between: f64, within: f64) -> Table {
    const NAMES: [&str; 10] = ["a", "b", "c", "d", "e", "f", "g", "h", "i", "j"];
    let (mut rows, mut y) = (Vec::new(), Vec::new());
    let mut k = 0;
    for (p, name) in NAMES.iter().take(players).enumerate() {
        let own = 10.0 * wobble(p + 3);
        for session in 0..2 {
            for _ in 0..6 {
                k += 1;
                let x = 5.0 * wobble(k);
                rows.push((*name, (2 * p + session) as i64 + 1, 150.0 + own + x));
                y.push(44.0 + between * own + within * x + 0.5 * wobble(3 * k + 1));
            }
        }
    }
    let mut table = table(&rows);
    table.columns.insert(0, column("outcome.clubhead-speed", y));
    table
}

fn parts(found: &Answer<Relate>) -> (Found, Found) {
    let pair = &found.numbers.pairs[0];
    (pair.between.unwrap().found, pair.within.unwrap().found)
}

#[test]
fn each_part_where_it_is() {
    let found = relate(&study(10, 0.2, 0.0), &HOW, &InTurn);
    assert_eq!(parts(&found), (Found::More, Found::NotSeen));
    assert!(found.verdict.starts_with("Players with more \"net up, most\" have more \"clubhead speed\": +"));
    assert!(
        found.verdict.contains("But from swing to swing of one player this is not seen:"),
        "{}",
        found.verdict
    );
    assert_eq!(found.numbers.looked_at, 2);

    let found = relate(&study(10, 0.2, -0.3), &HOW, &InTurn);
    assert_eq!(parts(&found), (Found::More, Found::Less));
    assert!(found.verdict.contains("The two go opposite ways."), "{}", found.verdict);

    let found = relate(&study(10, 0.2, 0.2), &HOW, &InTurn);
    assert_eq!(parts(&found), (Found::More, Found::More));
    assert!(found.verdict.contains("So do a player's own swings: +"), "{}", found.verdict);

    let found = relate(&study(10, 0.0, 0.0), &HOW, &InTurn);
    assert_eq!(parts(&found), (Found::NotSeen, Found::NotSeen));
    assert!(
        found.verdict.contains("only a correlation beyond ±0.63 would have stood out"),
        "{}",
        found.verdict
    );
}

/// With 10 players a correlation of 0.632 is just seen at 5 % (tables of Pearson's r, 8 degrees of freedom).
#[test]
fn numbers_of_a_pair() {
    let found = relate(&study(10, 0.2, 0.0), &HOW, &InTurn);
    let pair = &found.numbers.pairs[0];
    let (outer, inner) = (pair.between.unwrap(), pair.within.unwrap());
    assert!((outer.least_seen - 0.632).abs() < 5e-4);
    assert!((outer.slope.value - 0.2).abs() < 0.03 && outer.players == 10);
    assert_eq!((inner.swings, inner.cells, inner.players, inner.degrees), (120, 20, 10, 99.0));
    assert_eq!(pair.step, 10.0);
    // Two probabilities: Holm doubles the smaller.
    assert!((outer.p_adjusted - 2.0 * outer.p).abs() < 1e-12);
    assert_eq!(pair.points.len(), 10);
    let text = found.text();
    assert!(text.lines().all(|l| l.chars().count() <= 100), "{text}");
    assert!(text.contains("a letter a player's mean"));
}

#[test]
fn one_player_and_too_few() {
    let found = relate(&study(1, 0.0, 0.3), &HOW, &InTurn);
    assert!(found.numbers.pairs[0].between.is_none());
    assert!(
        found.verdict.starts_with("The player's own swings with more \"net up, most\" have more"),
        "{}",
        found.verdict
    );
    assert!(found.caveats.iter().any(|c| c.starts_with("This speaks of one player only")));
    assert!(found.text().contains("a letter a swing"));
    let few = relate(&study(3, 0.2, 0.0), &HOW, &InTurn);
    assert!(few.verdict.contains("cannot be told from 3 players"), "{}", few.verdict);
    let mut none = study(1, 0.0, 0.0);
    for v in &mut none.columns[0].values {
        *v = f64::NAN;
    }
    let none = relate(&none, &HOW, &InTurn);
    assert!(none.verdict.starts_with("It cannot be told") && none.counted.swings == 0);
    assert_eq!(none.left_out.len(), 1);
}

/// Swings of two clubs are held against their own club's mean; days against one another only where asked.
#[test]
fn clubs_and_days_are_kept_apart() {
    let mut of = study(6, 0.0, 0.0);
    for k in 0..of.swings.len() {
        if k % 2 == 1 {
            of.swings[k].club = "iron7".into();
            of.columns[0].values[k] -= 20.0;
            of.columns[1].values[k] -= 20.0;
        }
    }
    let found = relate(&of, &HOW, &InTurn);
    assert_eq!(found.numbers.pairs[0].within.unwrap().cells, 24);
    assert_eq!(found.numbers.pairs[0].within.unwrap().found, Found::NotSeen);
    let heap = relate(&of, &RelateHow { across_days: true, ..HOW }, &InTurn);
    assert_eq!(heap.numbers.pairs[0].within.unwrap().cells, 12);
    assert!(heap.caveats.iter().any(|c| c.contains("one heap")));
}

#[test]
fn many_figures() {
    let mut of = study(10, 0.2, 0.0);
    for k in 0..5 {
        let mut next = of.columns[1].clone();
        next.measure.label = format!("figure {k}");
        next.values = (0..next.values.len()).map(|i| wobble(i * (k + 2) + 11)).collect();
        of.columns.push(next);
    }
    let found = relate(&of, &HOW, &InTurn);
    assert_eq!(found.numbers.looked_at, 12);
    assert!(
        found.verdict.starts_with("Of 6 figures, \"clubhead speed\" goes with \"net up, most\""),
        "{}",
        found.verdict
    );
    assert!(!found.text().contains("a letter"), "no plots");
}
