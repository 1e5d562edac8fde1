//! Shapes of invented curves: found, refused, and told in words.
#![allow(clippy::unwrap_used)] // tests may
use super::*;
use crate::claim::accounts::account_called;
use crate::claim::curves::Register;
use crate::claim::table::{SwingOf, Trace};
use evidence::InTurn;
use evidence::draws::Draws;
use signal::math;

pub(crate) const ENDS: Ends =
    Ends { from: None, to: None, estimates: false, register: Register::Even, nodes: 101 };
const HOW: ShapesHow =
    ShapesHow { ends: ENDS, with_size: false, most: 6, stable: 0.75, references: 60, resamples: 60, seed: 1 };

/// Curves of swings at 100 Hz: a second from takeaway to impact, its top at 70 %. `curve`: by player and swing, over the share of that.
pub(crate) fn traces(players: usize, swings: usize, curve: impl Fn(usize, usize, f64) -> f64) -> Traces {
    let (mut of, mut traces) = (Vec::new(), Vec::new());
    for (p, s) in (0..players).flat_map(|p| (0..swings).map(move |s| (p, s))) {
        of.push(SwingOf {
            swing: (p * swings + s) as i64 + 1,
            player: format!("p{p:02}"),
            session: p as i64 + 1,
            number: s as i64 + 1,
            club: "driver".into(),
            feet: Some(2),
            ..SwingOf::default()
        });
        traces.push(Trace {
            rate_hz: 100.0,
            start_s: 0.0,
            values: (0..200).map(|k| curve(p, s, (f64::from(k) - 50.0) / 100.0)).collect(),
            events_s: [0.2, 0.5, 1.2, 1.5, 1.9],
            estimated: [false; 5],
        });
    }
    Traces {
        named: "all swings".into(),
        account: account_called("toe.net").unwrap(),
        unit: "%BW".into(),
        swings: of,
        traces,
        absent: Vec::new(),
        stale: 0,
        point: "the net centre of pressure".into(),
        collapse: false,
    }
}

fn hill(t: f64, at: f64, width: f64) -> f64 {
    math::exp(-0.5 * (t - at) * (t - at) / (width * width))
}

/// A draw that belongs to a player, or to a swing.
fn draw(of: usize) -> f64 {
    Draws::new(5, of).normal()
}

/// One heel-ward peak at 85 %, or two, at 72 and 95 %, of sizes and times a little unlike.
fn made(p: usize, s: usize, t: f64) -> f64 {
    let size = -10.0 * (1.0 + 0.15 * draw(p)) * (1.0 + 0.03 * draw(1000 + 10 * p + s));
    let t = t - 0.01 * draw(500 + p);
    size * if p.is_multiple_of(2) {
        hill(t, 0.85, 0.06)
    } else {
        hill(t, 0.72, 0.05) + 0.9 * hill(t, 0.95, 0.04)
    } + 0.5 * draw(900 + p)
}

#[test]
fn two_kinds_are_told_apart_and_put_into_words() {
    let found = shapes(&traces(20, 3, made), &HOW, &InTurn).unwrap();
    let n = &found.numbers;
    assert_eq!((n.outcome, n.groups.len(), n.apart), ("groups", 2, 2), "{}", found.verdict);
    let (one, two): (Vec<&GroupOf>, Vec<&GroupOf>) =
        n.groups.iter().partition(|g| g.words.starts_with("one peak toward the heels"));
    assert_eq!((one.len(), two.len()), (1, 1), "{}", found.verdict);
    assert!(
        one[0]
            .members
            .iter()
            .all(|m| m.name[1..].parse::<usize>().unwrap() % 2 == 0 && m.swings_alike == Some(3))
    );
    assert!(
        two[0]
            .words
            .starts_with("two peaks toward the heels, at 72 % and 95 % (0.28 and 0.05 s before impact)")
    );
    assert!(found.verdict.starts_with("Yes, 2 groups of players. A, 10 players: "), "{}", found.verdict);
    assert!(n.agreement > 0.99 && n.farthest.as_ref().unwrap().times_scatter > 3.0);
    assert_eq!((found.counted.players, found.counted.swings), (20, 60));
    let text = found.text();
    assert!(text.lines().all(|l| l.chars().count() <= 100), "{text}");
    assert!(text.contains("30 of 30") && text.contains("◂ chosen"), "{text}");
}

/// Players of one kind, however large or small, are one group; that is not said to prove anything.
#[test]
fn one_kind_is_not_cut() {
    let one = traces(20, 2, |p, s, t| made(2 * p, s, t));
    let found = shapes(&one, &HOW, &InTurn).unwrap();
    assert_eq!((found.numbers.outcome, found.numbers.groups.len()), ("one group", 1));
    assert!(found.verdict.starts_with("No: one group describes the 20 players"), "{}", found.verdict);
    assert!(found.caveats.iter().any(|c| c.contains("does not say that there are none")));
    assert!(found.text().contains("one peak toward the heels at 85 %"));
}

/// A limit that nothing passes refuses the same groups, and shows none of them.
#[test]
fn what_is_not_stable_is_not_shown() {
    let how = ShapesHow { stable: 1.01, ..HOW };
    let found = shapes(&traces(20, 2, made), &how, &InTurn).unwrap();
    assert_eq!((found.numbers.outcome, found.numbers.groups.len()), ("no stable groups", 0));
    assert!(
        found.verdict.starts_with("No stable groups: cut into 2, 20 players drawn anew"),
        "{}",
        found.verdict
    );
    assert!(!found.text().contains("most typical"));
}

/// Level and size are no shape; they count where they are asked for.
#[test]
fn size_counts_only_where_asked() {
    let sizes = traces(20, 2, |p, s, t| {
        let size = if p.is_multiple_of(2) { 1.0 } else { 6.0 };
        size * hill(t, 0.8, 0.06) * (1.0 + 0.04 * draw(70 + p)) + 0.002 * draw(3000 + 10 * p + s) * t
    });
    assert_eq!(shapes(&sizes, &HOW, &InTurn).unwrap().numbers.outcome, "one group");
    let with = shapes(&sizes, &ShapesHow { with_size: true, ..HOW }, &InTurn).unwrap();
    assert_eq!((with.numbers.outcome, with.numbers.groups.len()), ("groups", 2), "{}", with.verdict);
    assert!(
        with.verdict.contains("A and B lie farthest apart at"),
        "as many peaks in both: {}",
        with.verdict
    );
}

#[test]
fn the_swings_of_one_player_are_counted_as_such() {
    let own = traces(1, 12, |_, s, t| made(2 * s, 0, t));
    let found = shapes(&own, &HOW, &InTurn).unwrap();
    assert_eq!((found.numbers.unit, found.numbers.units), ("swing", 12));
    assert!(found.caveats[0].contains("speaks of this player only"));
    let few = shapes(&traces(3, 1, made), &HOW, &InTurn).unwrap();
    assert_eq!(few.verdict, "It cannot be told: 3 players, and it takes 8 at least.");
    let level = shapes(&traces(9, 1, |_, _, _| 2.0), &HOW, &InTurn).unwrap();
    assert_eq!(
        (level.numbers.outcome, level.left_out[0].why.as_str()),
        ("cannot be told", "the curve is level throughout")
    );
}

#[test]
fn curves_with_long_gaps_are_left_out() {
    let mut all = traces(12, 2, made);
    all.traces[3].values[60..90].fill(f64::NAN);
    all.traces[5].events_s[3] = f64::NAN;
    let how = ShapesHow { ends: Ends { to: Some(swing::events::Name::Impact), ..ENDS }, ..HOW };
    let found = shapes(&all, &how, &InTurn).unwrap();
    let why: Vec<&str> = found.left_out.iter().map(|l| l.why.as_str()).collect();
    assert_eq!(why, ["no impact was found", "more than a tenth of the curve is not defined"]);
    assert_eq!(found.counted.swings, 22);
}
