//! Answers about plans, of tables made by hand.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)] // tests may
use super::*;
use crate::claim::players::tests::table;
use evidence::InTurn;
use evidence::plan::Test;

const HOW: PlanHow = PlanHow {
    level: 0.95,
    alpha: 0.05,
    power: 0.8,
    change: None,
    swings: None,
    response: 0.0,
    trials: 0,
    rearrangements: 199,
    seed: 1,
};

/// A number between −1 and 1 that repeats itself late: scatter without chance.
fn wobble(k: usize) -> f64 {
    ((k * 7919 % 101) as f64 - 50.0) / 50.0
}

/// Players of some sessions with six swings each.
fn study(players: usize, sessions: usize) -> Table {
    const NAMES: [&str; 8] = ["a", "b", "c", "d", "e", "f", "g", "h"];
    let mut rows = Vec::new();
    for (p, name) in NAMES.iter().take(players).enumerate() {
        for s in 0..sessions {
            let day = 150.0 + 12.0 * wobble(p + 3) + 3.0 * wobble(11 * (2 * p + s) + 1);
            for k in 0..6 {
                rows.push((*name, (sessions * p + s) as i64 + 1, day + 6.0 * wobble(13 * (6 * p + k) + s)));
            }
        }
    }
    table(&rows)
}

fn asked(change: &str) -> PlanHow {
    PlanHow { change: change.parse().ok(), ..HOW }
}

fn design<'a>(of: &'a MeasurePlan, name: &str) -> Option<&'a DesignPlan> {
    of.designs.iter().find(|d| d.design == name)
}

/// Counts are those of the t test with the scatter that the answer shows.
#[test]
fn counts_follow_from_the_noise_shown() {
    let found = plan(&study(8, 2), &asked("5%BW"), &InTurn);
    let of = &found.numbers.measures[0];
    assert_eq!((of.changes.as_slice(), of.changes_are, of.swings), (&[5.0][..], "asked for", 6));
    let (swing, day, between) = (of.swing.value, of.day.unwrap().value, of.between.unwrap().value);
    let one = design(of, "one-player-one-day").unwrap().needed[0];
    let expected = |n: usize| Test::Two.power(5.0, swing, n, 0.05);
    let n = one.count.unwrap();
    assert!(expected(n) >= 0.8 && expected(n - 1) < 0.8, "{n}");
    assert!(one.low.unwrap() < n && one.high.unwrap() > n);
    let mean = (day * day + swing * swing / 6.0).sqrt();
    let pairs = design(of, "same-players").unwrap().needed[0].count.unwrap();
    let expected = |n: usize| Test::Paired.power(5.0, mean * 2.0_f64.sqrt(), n, 0.05);
    assert!(expected(pairs) >= 0.8 && (pairs == 6 || expected(pairs - 1) < 0.8), "{pairs}");
    let groups = design(of, "two-groups").unwrap();
    let sd = (between * between + mean * mean).sqrt();
    let expected = |n: usize| Test::Two.power(5.0, sd, n, 0.05);
    let n = groups.needed[0].count.unwrap();
    assert!(expected(n) >= 0.8 && expected(n - 1) < 0.8, "{n}");
    let point = groups.curve.iter().find(|p| p.count == 20).unwrap();
    assert!((point.power - expected(20)).abs() < 1e-12 && !point.tried);
    assert_eq!(groups.curve[0].power, 0.0, "two players a group can show nothing");
    assert!(
        found.verdict.starts_with(
            "To see a change of 5.0 %BW in \"net up, most\" 4 times in 5, it takes: in one player"
        )
    );
    assert!(found.text().lines().all(|l| l.chars().count() <= 100), "{}", found.text());
}

#[test]
fn days_set_a_floor_that_is_said() {
    let found = plan(&study(8, 3), &asked("1%BW"), &InTurn);
    let of = &found.numbers.measures[0];
    assert_eq!(design(of, "one-player-two-days").unwrap().needed[0].count, None);
    assert!(design(of, "one-player-days").unwrap().needed[0].count.is_some());
    assert!(
        found.verdict.contains("no number of swings, since two days differ by up to"),
        "{}",
        found.verdict
    );
    // Players who change unlike: more of them.
    let unlike = plan(&study(8, 3), &PlanHow { response: 4.0, ..asked("1%BW") }, &InTurn);
    let players =
        |of: &Answer<Plan>| design(&of.numbers.measures[0], "same-players").unwrap().needed[0].count.unwrap();
    assert!(players(&unlike) > players(&found));
}

#[test]
fn one_player_and_one_session() {
    let found = plan(&study(1, 1), &HOW, &InTurn);
    let of = &found.numbers.measures[0];
    assert!(of.day.is_none() && of.between.is_none());
    assert_eq!(of.designs.len(), 2, "no groups without players, no days without days");
    assert!((of.changes[1] - of.swing.value).abs() < 1e-12, "multiples of the scatter of swings");
    assert!(found.caveats.iter().any(|c| c.contains("not known and counts as none")));
    let several = plan(&study(5, 1), &HOW, &InTurn);
    let of = &several.numbers.measures[0];
    assert!((of.changes[0] - 0.2 * of.between.unwrap().value).abs() < 1e-12);
    let none = plan(&table(&[("a", 1, 1.0)]), &HOW, &InTurn);
    assert!(none.verdict.starts_with("It cannot be told") && none.numbers.measures.is_empty());
    let other = plan(&study(5, 1), &asked("1 s"), &InTurn);
    assert_eq!(other.left_out[0].why, "the change is in another unit");
}

/// A plan that is tried sees the change about as often as it is to be seen; with few pairs it takes more than the formula says.
#[test]
fn plans_are_tried() {
    let how = PlanHow { trials: 400, ..asked("9%BW") };
    let found = plan(&study(8, 2), &how, &InTurn);
    let of = &found.numbers.measures[0];
    for d in &of.designs {
        let tried = d.tried.unwrap();
        assert_eq!(tried.trials, 400);
        assert!(tried.power.high >= 0.8, "{}: {tried:?}", d.design);
    }
    let pairs = design(of, "same-players").unwrap();
    let hopeful = plan(&study(8, 2), &asked("9%BW"), &InTurn);
    let by_formula = design(&hopeful.numbers.measures[0], "same-players").unwrap().needed[0].count.unwrap();
    assert!(pairs.needed[0].count.unwrap() >= by_formula && pairs.least == 6);
    assert!(found.text().contains("tried: a "), "{}", found.text());
    assert_eq!(found, plan(&study(8, 2), &how, &InTurn), "the same seed, the same answer");
}
