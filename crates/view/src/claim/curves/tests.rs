//! Curves whose truth is known, by hand: a hump before impact of a stated height, under waves that differ from swing to swing.
#![allow(clippy::unwrap_used)] // tests may
use super::*;
use crate::claim::accounts::account_called;
use crate::claim::table::{Column, Measure, SwingOf, Trace};
use evidence::InTurn;
use signal::math::{exp, sin};

const HOW: How = How {
    from: None,
    to: None,
    estimates: false,
    nodes: 101,
    register: Register::Even,
    method: Method::Permutation,
    alpha: 0.05,
    tails: Tails::Both,
    permutations: 2000,
    seed: 1,
};

/// A swing to be made: player, session, height of the hump, where it is as a share of takeaway to impact, top's share.
#[derive(Clone, Copy)]
struct Made<'a>(&'a str, i64, f64, f64, f64);

/// Takeaway at 1 s, impact at 2 s, finish at 3 s of the recording; waves by the swing's number.
fn traces(named: &str, first: i64, made: &[Made]) -> Traces {
    let swing = |(k, m): (usize, &Made)| SwingOf {
        swing: first + k as i64,
        player: m.0.into(),
        session: m.1,
        number: k as i64 + 1,
        club: "driver".into(),
        feet: Some(2),
        ..SwingOf::default()
    };
    let trace = |(k, m): (usize, &Made)| {
        let i = (first + k as i64) as f64;
        let value = |share: f64| {
            let hump = (share - m.3) / 0.08;
            100.0
                + m.2 * exp(-hump * hump)
                + 2.0 * sin(9.0 * share + 1.7 * i)
                + sin(23.0 * share + 2.9 * i * i)
        };
        Trace {
            rate_hz: 500.0,
            start_s: 0.0,
            values: (0..1750).map(|k| value(f64::from(k) / 500.0 - 1.0)).collect(),
            events_s: [0.5, 1.0, 1.0 + m.4, 2.0, 3.0],
            estimated: [false; 5],
        }
    };
    Traces {
        named: named.into(),
        account: account_called("up.net").unwrap(),
        unit: "%BW".into(),
        swings: made.iter().enumerate().map(swing).collect(),
        traces: made.iter().enumerate().map(trace).collect(),
        absent: Vec::new(),
        stale: 0,
        point: "the net centre of pressure".into(),
        collapse: false,
    }
}

/// So many swings of each player, each with a height of its own.
fn group(named: &str, first: i64, players: &[(&'static str, f64)], each: usize) -> Traces {
    let made: Vec<Made> =
        players.iter().flat_map(|(p, h)| std::iter::repeat_n(Made(p, first, *h, 0.8, 0.7), each)).collect();
    traces(named, first, &made)
}

fn of_alder(named: &str, first: i64, height: f64) -> Traces {
    group(named, first, &[("alder", height)], 8)
}

fn ask(sets: &[Traces], asking: Asking, how: &How) -> Answer<CurveNumbers> {
    curves(sets, asking, how, &InTurn).unwrap()
}

#[test]
fn a_hump_is_found_where_it_is() {
    let sets = [of_alder("session 1 of alder", 1, 20.0), of_alder("session 9 of alder", 9, 30.0)];
    let told = ask(&sets, Asking::Differ, &HOW);
    let test = told.numbers.test.as_ref().unwrap();
    assert_eq!((told.numbers.outcome, test.name, test.stretches.len()), ("differ", "Welch's t", 1));
    let s = &test.stretches[0];
    assert!(s.from_percent > 68.0 && s.to_percent < 92.0 && (s.largest_percent - 80.0).abs() <= 3.0, "{s:?}");
    assert!((s.largest - 10.0).abs() < 2.0 && s.largest_interval[0] > 0.0, "{s:?}");
    assert!((s.from_s + (100.0 - s.from_percent) / 100.0).abs() < 1e-9, "takeaway to impact is one second");
    assert_eq!(s.direction, "in B the ground pushes the player up more than in A");
    assert!(
        told.verdict
            .starts_with("They differ between these two days on the way from takeaway to impact: from ")
    );
    assert!(
        told.verdict.contains("whether the player changed cannot be told from curves alone"),
        "{}",
        told.verdict
    );
    assert!(told.caveats.iter().any(|c| c.starts_with("One account looked at; ")));
    assert!(
        told.verdict.contains("s before impact, in the downswing), in B the ground pushes"),
        "{}",
        told.verdict
    );
    assert!(told.caveats.iter().any(|c| c.contains("It speaks of alder only")));
    assert_eq!(told.counted, Counted { players: 1, sessions: 2, swings: 16 });
    // The other way round: as much less.
    let [a, b] = sets;
    let back = ask(&[b, a], Asking::Differ, &HOW);
    let less = &back.numbers.test.as_ref().unwrap().stretches[0];
    assert_eq!(less.direction, "in B the ground pushes the player up less than in A");
    assert!((less.largest + s.largest).abs() < 1e-9);
    // The word says which way, the size has no sign.
    assert!(
        less.largest < 0.0 && !back.verdict.contains("by −") && !back.verdict.contains("by +"),
        "{}",
        back.verdict
    );
    assert!(!s.barely && !told.verdict.contains("barely"));
    let text = back.text();
    assert!(text.contains("━ where they differ") && text.lines().all(|l| l.chars().count() <= 100), "{text}");
}

#[test]
fn nothing_is_found_where_nothing_is_and_what_would_have_been_is_said() {
    let sets = [of_alder("A", 1, 20.0), of_alder("B", 9, 20.0)];
    for method in [Method::Permutation, Method::Field] {
        let told = ask(&sets, Asking::Differ, &How { method, ..HOW });
        assert_eq!(told.numbers.outcome, "no difference seen");
        assert!(
            told.verdict.starts_with("No difference was seen anywhere from takeaway to impact: by chance")
        );
        let test = told.numbers.test.as_ref().unwrap();
        let most = test.would_pass.iter().copied().fold(0.0, f64::max);
        assert!(told.verdict.contains(&format!("to {} %BW, depending", plain_of(most))), "{}", told.verdict);
        // Where the statistic passes is where the difference does.
        for k in 0..101 {
            let passes = test.difference[k].abs() > test.would_pass[k];
            assert_eq!(passes, test.statistic[k].abs() > test.threshold);
        }
    }
}

fn plain_of(v: f64) -> String {
    crate::quantity::plain(v, crate::quantity::decimals(v))
}

#[test]
fn too_few_rearrangements_are_not_too_few_swings() {
    let sets = [of_alder("A", 1, 20.0), of_alder("B", 9, 30.0)];
    let told = ask(&sets, Asking::Differ, &How { permutations: 10, ..HOW });
    assert_eq!(told.numbers.outcome, "cannot be told");
    assert!(told.verdict.starts_with("Cannot be told: 10 rearrangements are too few"), "{}", told.verdict);
}

/// A hundred and twenty swings of six players are six witnesses.
#[test]
fn players_are_counted_not_their_swings() {
    let a = group("A", 1, &[("ash", 20.0), ("elm", 21.0), ("fir", 19.0)], 20);
    let b = group("B", 61, &[("oak", 30.0), ("pine", 31.0), ("yew", 29.0)], 20);
    let told = ask(&[a, b], Asking::Differ, &HOW);
    assert_eq!((told.numbers.outcome, told.numbers.counted), ("cannot be told", "player"));
    assert!(
        told.verdict.contains("only 20 ways") && told.verdict.contains("it takes 4 players in each"),
        "{}",
        told.verdict
    );
    assert_eq!(told.numbers.sets[0].units.len(), 3);
    assert_eq!(told.numbers.sets[0].units[0].swings, 20);
    // The field supposes more, and answers.
    let a = group("A", 1, &[("ash", 20.0), ("elm", 21.0), ("fir", 19.0)], 20);
    let b = group("B", 61, &[("oak", 30.0), ("pine", 31.0), ("yew", 29.0)], 20);
    let field = ask(&[a, b], Asking::Differ, &How { method: Method::Field, ..HOW });
    assert_eq!(field.numbers.outcome, "differ");
}

#[test]
fn the_same_players_are_compared_with_themselves() {
    let players = [("ash", 10.0), ("elm", 25.0), ("fir", 40.0), ("oak", 15.0), ("pine", 30.0), ("yew", 20.0)];
    let more: Vec<(&'static str, f64)> = players.iter().map(|(p, h)| (*p, h + 8.0)).collect();
    let a = group("before", 1, &players, 4);
    let mut b = group("after", 25, &more, 4);
    b.swings[0].player = "zelkova".into();
    let told = ask(&[a.clone(), b.clone()], Asking::Differ, &HOW);
    let test = told.numbers.test.as_ref().unwrap();
    assert_eq!((test.name, told.numbers.outcome), ("Student's t of pairs", "differ"));
    assert_eq!((test.rearrangements, test.exact), (Some(64), Some(true)));
    assert!(told.verdict.starts_with("They differ, in the same players, on the way"));
    assert!(told.left_out.iter().any(|l| l.what == "1 player" && l.why == "not in every choice"));
    assert_eq!(
        told.numbers.sets[1].units.iter().map(|u| u.name.as_str()).collect::<Vec<_>>(),
        ["ash", "elm", "fir", "oak", "pine", "yew"]
    );
    // Six against six others: the players differ too much.
    for swing in &mut b.swings {
        swing.player.push_str(" II");
    }
    let apart = ask(&[a, b], Asking::Differ, &HOW);
    assert_eq!(apart.numbers.outcome, "no difference seen");
}

#[test]
fn several_choices_and_who_is_most() {
    let sets = [of_alder("A", 1, 20.0), of_alder("B", 9, 32.0), of_alder("C", 17, 26.0)];
    let told = ask(&sets, Asking::Differ, &HOW);
    let test = told.numbers.test.as_ref().unwrap();
    assert_eq!(test.name, "F of choices");
    assert_eq!(test.stretches[0].direction, "it is greatest in B, least in A");
    assert!(test.difference.iter().all(|v| v.is_nan()) && told.text().contains("means of A, B, C"));
}

#[test]
fn curves_that_follow_a_number() {
    let players: Vec<(&'static str, f64)> = ["ash", "elm", "fir", "oak", "pine", "rowan", "yew"]
        .into_iter()
        .zip((0..7).map(|k| 10.0 + 4.0 * f64::from(k)))
        .collect();
    let set = group("all", 1, &players, 3);
    let speed = |k: usize| 40.0 + 2.0 * (k / 3) as f64 + 0.1 * (k % 3) as f64;
    let measure = Measure {
        id: "outcome.clubhead-speed".into(),
        label: "clubhead speed".into(),
        unit: "m/s".into(),
        decimals: 1,
        signed: false,
        metric: None,
    };
    let mut table = Table {
        swings: set.swings.clone(),
        columns: vec![Column {
            measure,
            values: (0..21).map(speed).collect(),
            u: vec![f64::NAN; 21],
            absent: Vec::new(),
            doubted: 0,
            estimated: 0,
        }],
        ..Table::default()
    };
    let told = ask(std::slice::from_ref(&set), Asking::Along(&table), &HOW);
    assert_eq!(told.numbers.outcome, "follow");
    let s = &told.numbers.test.as_ref().unwrap().stretches[0];
    // 4 %BW a player, 2 m/s a player.
    assert!((s.largest - 2.0).abs() < 0.5, "{s:?}");
    assert_eq!(s.direction, "with more clubhead speed the ground pushes the player up more");
    assert!(told.verdict.contains("%BW for each m/s at most") && told.text().contains("for each m/s"));
    // Rows in another order, and one without: its player is left out.
    table.swings.reverse();
    table.columns[0].values.reverse();
    let turned = ask(std::slice::from_ref(&set), Asking::Along(&table), &HOW);
    assert!(turned.text() == told.text(), "rows in another order");
    table.columns[0].values[0] = f64::NAN;
    let less = ask(std::slice::from_ref(&set), Asking::Along(&table), &HOW);
    assert!(less.left_out.iter().any(|l| l.what == "1 player" && l.why.contains("clubhead speed")));
    table.columns[0].values.fill(44.0);
    let flat = ask(&[set], Asking::Along(&table), &HOW);
    assert!(flat.verdict.starts_with("Cannot be told: clubhead speed is the same for all"));
}

#[test]
fn one_choice_is_described() {
    let told = ask(&[of_alder("alder", 1, 20.0)], Asking::Shape, &HOW);
    assert_eq!((told.numbers.outcome, told.numbers.test.is_none()), ("described", true));
    assert!(told.verdict.starts_with("On the mean, net force up is greatest with +1"), "{}", told.verdict);
    assert!(told.verdict.contains("95 of 100 further swings would lie within"));
    let set = &told.numbers.sets[0];
    let peak = (0..101).max_by(|a, b| set.mean[*a].total_cmp(&set.mean[*b])).unwrap();
    assert!((70..=88).contains(&peak));
    let one = ask(&[group("alder", 1, &[("alder", 20.0)], 1)], Asking::Shape, &HOW);
    assert!(
        one.verdict.ends_with("One swing says nothing of how far others lie from it."),
        "{}",
        one.verdict
    );
}

#[test]
fn where_curves_are_cut_is_said() {
    let mut sets = [of_alder("A", 1, 20.0), of_alder("B", 9, 30.0)];
    sets[0].traces[3].estimated[3] = true;
    let told = ask(&sets, Asking::Differ, &HOW);
    assert_eq!((told.numbers.way.to, told.numbers.way.anchor), ("finish", "takeaway"));
    assert!(told.caveats[0].starts_with(
        "1 of 16 swings have no impact (an estimate is not taken for it), so curves run to the finish"
    ));
    // Stated, it leaves that swing out; estimates taken, it is in.
    let stated = ask(&sets, Asking::Differ, &How { to: Some(Name::Impact), ..HOW });
    assert_eq!((stated.counted.swings, stated.numbers.way.to), (15, "impact"));
    assert_eq!(
        stated.left_out[0],
        LeftOut { what: "1 swing of A".into(), why: "impact is only an estimate".into() }
    );
    let taken = ask(&sets, Asking::Differ, &How { estimates: true, ..HOW });
    assert_eq!((taken.counted.swings, taken.numbers.way.to), (16, "impact"));
    assert!(taken.caveats.iter().any(|c| c.starts_with("In 1 swing an event is an estimate")));
    // The finish on its way: impact is an event between, and times are told from it.
    sets[0].traces[3].estimated[3] = false;
    let beyond = ask(&sets, Asking::Differ, &How { to: Some(Name::Finish), ..HOW });
    assert_eq!((beyond.numbers.way.anchor, beyond.numbers.way.events.len()), ("impact", 2));
    assert!(beyond.verdict.contains("before impact"), "{}", beyond.verdict);
}

/// Humps that sit on the top: where the top wanders, evenly stretched curves smear them; laid over one another they do not.
#[test]
fn registration_lays_events_over_one_another() {
    let tops = [0.60, 0.70, 0.66, 0.74, 0.64, 0.72, 0.68, 0.70];
    let made = |height: f64| tops.map(|t| Made("alder", 1, height, t, t));
    let sets = [traces("A", 1, &made(20.0)), traces("B", 9, &made(26.0))];
    let even = ask(&sets, Asking::Differ, &HOW);
    let laid = ask(&sets, Asking::Differ, &How { register: Register::Landmarks, ..HOW });
    let mean = tops.iter().sum::<f64>() / 8.0;
    assert!((laid.numbers.way.events[0].percent - 100.0 * mean).abs() < 1e-9 && laid.numbers.way.registered);
    let at_top = (100.0 * mean).round() as usize;
    let (a, b) = (&even.numbers.sets[0], &laid.numbers.sets[0]);
    assert!(
        b.deviation[at_top] < 0.5 * a.deviation[at_top],
        "{} {}",
        b.deviation[at_top],
        a.deviation[at_top]
    );
    assert_eq!((a.warps.len(), b.warps.len()), (0, 8));
    // The first top is 0.08 s early; a warp moves at least that far there.
    assert!((b.warps[0].moved_s - (mean - 0.60)).abs() < 0.005, "{:?}", b.warps[0]);
    assert!((b.warps[0].events_percent[0] - 60.0).abs() < 1e-9);
    assert!(laid.text().contains("moved by, s"));
    let width = |n: &CurveNumbers| n.test.as_ref().unwrap().would_pass[at_top];
    assert!(width(&laid.numbers) < width(&even.numbers));
}

#[test]
fn gaps_are_not_looked_at() {
    let mut sets = [of_alder("A", 1, 20.0), of_alder("B", 9, 30.0)];
    // 1.4 to 1.5 s: 40 to 50 %.
    sets[0].traces[2].values[700..=750].fill(f64::NAN);
    let told = ask(&sets, Asking::Differ, &HOW);
    let test = told.numbers.test.as_ref().unwrap();
    assert_eq!(test.not_tested, [[40.0, 50.0]]);
    assert!(
        told.caveats
            .iter()
            .any(|c| c.starts_with("Not looked at: 40 to 50 % (11 of 101 nodes), where not every curve"))
    );
    assert_eq!(told.numbers.sets[0].defined[45], 7);
    assert!(told.numbers.sets[0].mean[45].is_nan());
}

#[test]
fn what_cannot_be_asked_is_refused_with_what_to_do() {
    let (a, b) = (of_alder("A", 1, 20.0), of_alder("B", 9, 30.0));
    let why = |sets: &[Traces], asking: Asking, how: &How| curves(sets, asking, how, &InTurn).unwrap_err();
    assert_eq!(
        why(std::slice::from_ref(&a), Asking::Differ, &HOW).what,
        "1 choice of swings where it takes two"
    );
    assert_eq!(
        why(&[a.clone(), a.clone()], Asking::Differ, &HOW).what,
        "8 swings are in more than one choice"
    );
    let both = [a.clone(), b.clone()];
    assert!(why(&both, Asking::Shape, &HOW).what.starts_with("2 choices"));
    assert!(why(&both, Asking::Differ, &How { nodes: 3, ..HOW }).what.starts_with("3 nodes"));
    assert!(why(&both, Asking::Differ, &How { alpha: f64::NAN, ..HOW }).remedy.contains("0.05"));
    let turned = How { from: Some(Name::Impact), to: Some(Name::Top), ..HOW };
    assert_eq!(why(&both, Asking::Differ, &turned).what, "impact does not come before top");
    assert!(
        settled(&HOW).is_ok() && settled(&turned).is_err() && settled(&How { alpha: 0.5, ..HOW }).is_err()
    );
    assert!(settled(&How { from: Some(Name::Finish), ..HOW }).is_err(), "nothing comes after it");
    assert!(why(&both, Asking::Differ, &How { alpha: 0.5, ..HOW }).remedy.contains("above 0 and below 0.5"));
    let mut bare = b;
    bare.traces.iter_mut().for_each(|t| t.events_s[1] = f64::NAN);
    let none = why(&[a, bare], Asking::Differ, &HOW);
    assert_eq!(none.what, "no swing of B can be cut from takeaway to impact: no takeaway was found");
}

#[test]
fn machines_get_the_same() {
    let sets = [of_alder("A", 1, 20.0), of_alder("B", 9, 30.0)];
    let told = ask(&sets, Asking::Differ, &HOW);
    assert_eq!(told.schema, "underfoot.curves/1");
    assert_eq!(told.numbers.way.percent.len(), 101);
    assert!((told.numbers.way.seconds[0] + 1.0).abs() < 1e-9 && told.numbers.way.seconds[100].abs() < 1e-9);
    // Another seed moves what is drawn, nothing else.
    let other = ask(&sets, Asking::Differ, &How { seed: 2, ..HOW });
    let (a, b) = (told.numbers.test.unwrap(), other.numbers.test.unwrap());
    assert!(a.statistic == b.statistic && a.threshold != b.threshold);
    assert_eq!(told.settings.iter().map(|s| s.name).collect::<Vec<_>>().len(), 10);
}

/// Sessions of one day are one day; and rigs that differ stand in the verdict too.
#[test]
fn days_and_rigs_are_in_the_verdict() {
    let mut sets = [of_alder("A", 1, 20.0), of_alder("B", 9, 30.0)];
    for set in &mut sets {
        set.swings.iter_mut().for_each(|s| s.date = Some("2026-06-01".into()));
    }
    let same = ask(&sets, Asking::Differ, &HOW);
    assert!(
        same.verdict.starts_with("They differ on the way") && !same.verdict.contains("day"),
        "{}",
        same.verdict
    );
    assert!(!same.verdict.contains("rig"));
    sets[1].swings.iter_mut().for_each(|s| s.rig = "other".into());
    let rigs = ask(&sets, Asking::Differ, &HOW);
    assert!(rigs.verdict.contains("The choices were recorded by different rigs"), "{}", rigs.verdict);
    sets[1].swings[0].date = Some("2026-06-02".into());
    sets[1].swings[1].date = Some("2026-06-03".into());
    let days = ask(&sets, Asking::Differ, &HOW);
    assert!(days.verdict.starts_with("They differ between these days on the way"), "{}", days.verdict);
}

/// A case of 16 swings and a test of hand-made stretches: (from, to, peak) in nodes; every estimate is 3 with an interval of ± `half`.
fn stretched(stretches: &[(f64, f64, usize)], half: f64) -> (Vec<StretchOf>, String) {
    let sets = [of_alder("A", 1, 20.0), of_alder("B", 9, 30.0)];
    let mut cut = cut(&sets, &HOW).unwrap();
    let who = units(&mut cut, false, |_| f64::NAN);
    let permutation = Permutation { most: 200, seed: 1 };
    let rule = Rule { alpha: 0.05, tails: Tails::Both };
    let (name, tested) = test(&who, Asking::Differ, Method::Permutation, rule, &permutation, &InTurn);
    let mut tested = tested.unwrap().unwrap();
    let like = tested.clusters[0];
    let made = |(from, to, peak): &(f64, f64, usize)| evidence::curves::Cluster {
        from: *from,
        to: *to,
        peak: *peak,
        ..like
    };
    tested.clusters = stretches.iter().map(made).collect();
    tested.estimate.fill(3.0);
    let se = half / tested.threshold;
    tested.se.fill(se);
    let bands: Vec<Bands> = who.sets.iter().map(|s| bands(&rows(s), 0.95, None, &InTurn)).collect();
    let way = Way::of(&cut, 1.0);
    let case =
        Case { asking: Asking::Differ, how: &HOW, cut: &cut, who: &who, bands: &bands, way: &way, name };
    let numbers = case.numbers(Some(&tested));
    let verdict = case.verdict(&numbers, Some(&Ok(tested)));
    (numbers.test.unwrap().stretches, verdict)
}

/// One node, or an interval that touches 0 as it is written, is told as barely; stretches within a node of one another as one.
#[test]
fn small_stretches_are_told_as_small() {
    let (one, verdict) = stretched(&[(2.8, 3.2, 3), (40.0, 50.0, 45)], 1.0);
    assert_eq!(one.iter().map(|s| s.barely).collect::<Vec<_>>(), [true, false]);
    assert!(verdict.contains("barely: at one place, 3 % (0.97 s before impact"), "{verdict}");
    let (zero, verdict) = stretched(&[(40.0, 50.0, 45)], 2.9999);
    assert!(zero[0].barely && verdict.contains("barely: from 40 to 50 %"), "{verdict}");
    let (joined, _) = stretched(&[(20.0, 29.6, 25), (30.4, 50.0, 45), (51.2, 60.0, 55)], 1.0);
    let ends: Vec<(f64, f64)> = joined.iter().map(|s| (s.from_percent, s.to_percent)).collect();
    assert_eq!(ends, [(20.0, 50.0), (51.2, 60.0)]);
}

/// A repeated-measures F by field says what it does not correct for.
#[test]
fn sphericity_is_minded() {
    let players = [("ash", 10.0), ("elm", 25.0), ("fir", 40.0), ("oak", 15.0), ("pine", 30.0)];
    let sets = [group("A", 1, &players, 2), group("B", 11, &players, 2), group("C", 21, &players, 2)];
    let minded = |method: Method| ask(&sets, Asking::Differ, &How { method, ..HOW }).caveats.join(" ");
    assert!(minded(Method::Field).contains("not corrected for sphericity"));
    assert!(!minded(Method::Permutation).contains("sphericity"));
}
