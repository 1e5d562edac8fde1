//! Bands and depth of invented curves.
#![allow(clippy::unwrap_used)] // tests may
use super::*;
use crate::claim::shapes::tests::{ENDS, traces};
use evidence::InTurn;

const HOW: CurveHow = CurveHow { ends: ENDS, each: false, level: 0.95, alpha: 0.05 };

/// Player k's curve is level at k, swings one below and one above.
fn levels(players: usize) -> Traces {
    traces(players, 2, |p, s, _| p as f64 + if s == 0 { -1.0 } else { 1.0 })
}

/// By hand: levels 0 to 23: the quartiles of 24 are 5.75 and 17.25, the middle 11.5; of 24 values the 7th and 18th hold it
/// (sign test), 6 and 17.
#[test]
fn bands_are_of_players() {
    let found = cohort_curve(&[levels(24)], &HOW, &InTurn).unwrap();
    let n = &found.numbers;
    let at = |percent: u8| n.bands.iter().find(|b| b.percent == percent).unwrap();
    assert_eq!((n.units, n.defined[50], at(50).value[10]), (24, 24, 11.5));
    assert_eq!((at(50).low[10], at(50).high[10]), (6.0, 17.0));
    assert_eq!((at(25).value[70], at(75).value[70]), (5.75, 17.25));
    assert!(at(10).value.iter().all(|v| v.is_nan()) && at(10).needs == 36);
    assert_eq!(n.widest.as_ref().unwrap().quartiles, [5.75, 17.25]);
    let text = found.text();
    assert!(text.contains("— takes more players: 36 for 10 and 90, 72 for 5 and 95"), "{text}");
    assert!(text.lines().all(|l| l.chars().count() <= 100), "{text}");
    let few = cohort_curve(&[levels(5)], &HOW, &InTurn).unwrap();
    assert!(few.verdict.starts_with("Too few for quartiles: 5 players, and they take 13"), "{}", few.verdict);
}

/// One in the middle is deeper than others; one far beyond them is unusual, and told where. Beside too few it cannot be.
#[test]
fn depth_among_others() {
    let all = levels(24);
    let placed = |level: f64, swings: usize| {
        let mut own = traces(1, swings, |_, _, t| if t > 0.5 { level } else { 11.0 });
        own.swings.iter_mut().for_each(|s| s.player = "guest".into());
        own.named = "guest".into();
        own
    };
    let found = cohort_curve(&[all.clone(), placed(11.0, 2)], &HOW, &InTurn).unwrap();
    let c = &found.numbers.placed[0];
    assert_eq!((c.units, c.of, c.unusual, c.beyond.as_deref()), (24, "means of players", false, Some("")));
    assert!(
        c.percent.value > 90.0 && found.verdict.starts_with("The curve is not unusual. Guest (2 swings)")
    );
    let far = cohort_curve(&[all.clone(), placed(90.0, 1)], &HOW, &InTurn).unwrap();
    let c = &far.numbers.placed[0];
    assert_eq!(
        (c.of, c.beyond_percent.as_ref().unwrap().as_slice()),
        ("single swings", &[[51.0, 100.0]][..])
    );
    assert!(far.verdict.contains("it leaves what is usual from 51 to 100 %"), "{}", far.verdict);
    // Beyond all others throughout, as deep as the lowest of them: two of 61.
    let mut beyond = placed(90.0, 2);
    beyond.traces.iter_mut().for_each(|t| t.values.fill(90.0));
    let c = cohort_curve(&[levels(60), beyond.clone()], &HOW, &InTurn).unwrap().numbers.placed.remove(0);
    assert!((c.p - 2.0 / 61.0).abs() < 1e-12 && c.unusual && c.depth == 0.0, "{}", c.p);
    let few = cohort_curve(&[levels(12), beyond], &HOW, &InTurn).unwrap();
    let c = &few.numbers.placed[0];
    assert!(!c.unusual && c.beyond.is_none() && c.least > 0.05);
    assert!(few.caveats.iter().any(|c| c.contains("it takes 19")), "{:?}", few.caveats);
}

/// The player of what is placed is not among the others; of one player's own swings only those placed are left out.
#[test]
fn nobody_is_beside_oneself() {
    let all = levels(24);
    let mut own = all.clone();
    own.swings.truncate(2);
    own.traces.truncate(2);
    let found = cohort_curve(&[all.clone(), own.clone()], &HOW, &InTurn).unwrap();
    assert_eq!(found.numbers.placed[0].units, 23);
    let each = cohort_curve(&[all, own], &CurveHow { each: true, ..HOW }, &InTurn).unwrap();
    assert_eq!(each.numbers.placed.iter().map(|c| c.units).collect::<Vec<_>>(), [23, 23]);
    let swings = traces(1, 10, |_, s, _| s as f64);
    let mut one = swings.clone();
    one.swings.truncate(1);
    one.traces.truncate(1);
    let found = cohort_curve(&[swings, one], &HOW, &InTurn).unwrap();
    assert_eq!((found.numbers.unit, found.numbers.placed[0].units), ("swing", 9));
    assert!(found.caveats[0].contains("speaks of this player only"));
}

/// One other player is no cohort for a curve either; of one's own swings each stands by itself.
#[test]
fn one_other_player_is_no_cohort() {
    let swings = traces(1, 10, |_, s, _| s as f64);
    let mut other = swings.clone();
    other.swings.truncate(2);
    other.traces.truncate(2);
    let mut guest = other.clone();
    guest.swings.iter_mut().for_each(|s| (s.player, s.swing) = ("guest".into(), s.swing + 100));
    let found = cohort_curve(&[swings.clone(), guest], &HOW, &InTurn).unwrap();
    assert!(found.verdict.contains("alone, and one player is no cohort"), "{}", found.verdict);
    let c = &found.numbers.placed[0];
    assert!(!c.unusual && c.p.is_nan() && c.percent.value.is_nan() && c.units == 1, "{c:?}");
    let own = cohort_curve(&[swings.clone(), other], &HOW, &InTurn).unwrap();
    assert_eq!(
        own.numbers.placed.iter().map(|c| (c.swings.len(), c.units)).collect::<Vec<_>>(),
        [(1, 8), (1, 8)]
    );
    let whole = cohort_curve(&[swings.clone(), swings], &HOW, &InTurn).unwrap();
    assert!(
        whole.verdict.starts_with("Cannot be told: all 10 swings of the reference are to be"),
        "{}",
        whole.verdict
    );
}
