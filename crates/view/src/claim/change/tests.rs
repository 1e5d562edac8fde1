//! Hand-made tables; what is said of them is read by a person once and held here.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)] // tests may
use super::*;
use crate::claim::table::{Column, Measure, SwingOf};
use evidence::InTurn;

const USUAL_ASKED: Asked = Asked {
    pairing: Pairing::ByData,
    control: Control::Holm,
    alpha: 0.05,
    level: 0.95,
    resamples: 2000,
    permutations: 20_000,
    seed: 1,
};

fn measure(label: &str, unit: &str) -> Measure {
    Measure {
        id: label.replace(' ', "."),
        label: label.into(),
        unit: unit.into(),
        decimals: 1,
        signed: true,
        metric: None,
    }
}

/// A scatter of about 1.
fn wobble(k: usize) -> f64 {
    let mut chance = evidence::chance::Chance::new(5, k);
    (chance.below(65_536) as f64 / 65_536.0 - 0.5) * 3.4
}

/// Swings of players (alias, session, rig), `each` of them, all with these columns: label, unit, level.
fn table(
    named: &str,
    of: &[(&str, i64, &str)],
    each: usize,
    columns: &[(&str, &str, f64)],
    salt: usize,
) -> Table {
    let swings: Vec<SwingOf> = of
        .iter()
        .flat_map(|(player, session, rig)| {
            (0..each).map(move |k| SwingOf {
                swing: session * 1000 + k as i64,
                player: player.to_string(),
                session: *session,
                date: Some(format!("2026-05-{session:02}")),
                number: k as i64,
                club: "driver".into(),
                feet: Some(2),
                rig: rig.to_string(),
                ..SwingOf::default()
            })
        })
        .collect();
    let columns = columns
        .iter()
        .enumerate()
        .map(|(c, (label, unit, level))| Column {
            measure: measure(label, unit),
            values: (0..swings.len()).map(|k| level + wobble(k + 100 * c + 1000 * salt)).collect(),
            u: vec![0.5; swings.len()],
            absent: Vec::new(),
            doubted: 0,
            estimated: 0,
        })
        .collect();
    Table {
        named: named.into(),
        swings,
        columns,
        point: "the net centre of pressure".into(),
        ..Table::default()
    }
}

fn names(n: usize) -> Vec<String> {
    (0..n).map(|k| format!("player-{k:02}")).collect()
}

/// Each of some players in a session of the same number as theirs, and `add`.
fn players(names: &[String], add: i64) -> Vec<(&str, i64, &str)> {
    names.iter().enumerate().map(|(k, n)| (n.as_str(), k as i64 + add, "bay")).collect()
}

fn words_fit(answer: &Answer<ChangeNumbers>) {
    let text = answer.text();
    let widest = text.lines().map(|l| l.chars().count()).max().unwrap();
    assert!(widest <= 100, "{widest} columns:\n{text}");
}

#[test]
fn one_player_changed_in_one_of_two() {
    let of = |named, session, up, salt| {
        table(named, &[("alder", session, "bay")], 10, &[("net up", "%BW", up), ("tempo", "", 3.0)], salt)
    };
    let (a, b) = (of("alder in session 1", 1, 160.0, 1), of("alder in session 2", 2, 170.0, 4));
    let found = compared(&a, &b, None, &USUAL_ASKED, &InTurn);
    assert_eq!(found.question, "Did alder's swings change from A (session 1) to B (session 2)?");
    assert!(
        found.verdict.starts_with(
            "No clear change in any of 2 metrics: 1 differs between these days, 1 is within noise. "
        ) && found.verdict.contains("Between these days net up by +")
            && found
                .verdict
                .contains("whether the player changed or days differ by as much anyway cannot be told"),
        "{}",
        found.verdict
    );
    let (up, tempo) = (&found.numbers.metrics[0], &found.numbers.metrics[1]);
    assert_eq!(
        (up.verdict, tempo.verdict, found.numbers.design),
        ("between-days", "within noise", "one player")
    );
    assert!(
        up.said.starts_with("between days. It differs between these two days by +")
            && up.said.contains(" %BW (between +"),
        "{}",
        up.said
    );
    assert!(tempo.said.starts_with("within noise. A change of "), "{}", tempo.said);
    assert!((up.mean_b - up.mean_a - up.difference.value).abs() < 1e-12);
    assert!(up.detectable.of_days.is_nan() && up.detectable.of_rigs == 0.0);
    assert_eq!((found.numbers.verdicts.clear, found.numbers.verdicts.between_days), (0, 1));
    assert!(found.text().contains(" days?"));
    assert!(found.caveats.iter().any(|c| c.contains("different days")), "{:?}", found.caveats);
    assert_eq!((found.counted.swings, found.counted.sessions, found.counted.players), (20, 2, 1));
    words_fit(&found);
    // Two sessions of one day: nothing to mind about days.
    let mut same = b.clone();
    same.swings.iter_mut().for_each(|s| s.date = Some("2026-05-01".into()));
    let found = compared(&a, &same, None, &USUAL_ASKED, &InTurn);
    assert!(!found.caveats.iter().any(|c| c.contains("different days")));
    let up = &found.numbers.metrics[0];
    assert_eq!((up.detectable.of_days, up.verdict), (0.0, "clear"));
    assert!(
        up.said.starts_with("clear. It rose by ")
            && up.said.contains("or more would have stood out by itself")
    );
    assert!(
        found.verdict.starts_with("1 of 2 metrics changed clearly: net up +")
            && found.verdict.ends_with("The other is within noise."),
        "{}",
        found.verdict
    );
}

/// Other players whose days differ by five tell that a change of three is none of this player's own.
#[test]
fn days_of_others_count() {
    let of = |named, session, up, salt| {
        table(named, &[("alder", session, "bay")], 10, &[("net up", "%BW", up)], salt)
    };
    let (a, b) = (of("session 1", 1, 160.0, 1), of("session 2", 2, 163.0, 2));
    let names = names(6);
    let mut around = table("others", &players(&names, 3), 6, &[("net up", "%BW", 150.0)], 3);
    let later = table("others", &players(&names, 13), 6, &[("net up", "%BW", 150.0)], 4);
    for (k, swing) in later.swings.iter().enumerate() {
        let day = if swing.session % 2 == 0 { 5.0 } else { -5.0 };
        around.swings.push(swing.clone());
        around.columns[0].values.push(later.columns[0].values[k] + day);
        around.columns[0].u.push(0.5);
    }
    let alone = compared(&a, &b, None, &USUAL_ASKED, &InTurn);
    let among = compared(&a, &b, Some(&around), &USUAL_ASKED, &InTurn);
    assert_eq!(
        (alone.numbers.metrics[0].verdict, among.numbers.metrics[0].verdict),
        ("between-days", "unclear")
    );
    let row = &among.numbers.metrics[0];
    assert!(row.said.contains("since days of a player differ"), "{}", row.said);
    assert!(row.detectable.of_days > 4.0 && row.detectable.size > 10.0, "{:?}", row.detectable);
    assert!(!among.caveats.iter().any(|c| c.contains("make most of it")), "{:?}", among.caveats);
    assert!(among.method.iter().any(|m| m.contains("these swings only: how far days differ is not in it")));
    // One of them alone differs: then most of it is his or hers.
    let mut one = around.clone();
    let own = one
        .swings
        .iter()
        .zip(&mut one.columns[0].values)
        .filter(|(s, _)| s.player == "player-02" && s.session > 10);
    own.for_each(|(_, v)| *v += 60.0);
    let found = compared(&a, &b, Some(&one), &USUAL_ASKED, &InTurn);
    assert!(
        found.caveats.iter().any(|c| c.contains("player-02's days make most of it in 1 of 1 metric.")),
        "{:?}",
        found.caveats
    );
    assert!(among.method.iter().any(|m| m.contains("from 12 days of 6 players")), "{:?}", among.method);
    assert!(!among.caveats.iter().any(|c| c.contains("different days")));
    words_fit(&among);
}

/// Two rigs: what they may be off by does not cancel.
#[test]
fn rigs_that_differ() {
    let of =
        |session, rig, up, salt| table("x", &[("alder", session, rig)], 10, &[("net up", "%BW", up)], salt);
    let (a, mut b) = (of(1, "bay", 160.0, 1), of(1, "tee", 162.0, 2));
    b.swings.iter_mut().for_each(|s| s.swing += 500);
    b.columns[0].u = vec![2.0; 10];
    let found = compared(&a, &b, None, &USUAL_ASKED, &InTurn);
    let row = &found.numbers.metrics[0];
    assert!((row.detectable.of_rigs - (0.25_f64 + 4.0).sqrt()).abs() < 1e-12);
    assert!(row.verdict == "unclear" && row.said.contains("different rigs"), "{}", row.said);
    assert!(found.caveats.iter().any(|c| c.contains("(A: bay; B: tee)")), "{:?}", found.caveats);
}

/// Eight players before and after, one who came before only.
#[test]
fn players_are_compared_with_themselves() {
    let names = names(9);
    let before = table("before", &players(&names, 1), 5, &[("net target", "%BW", -20.0)], 1);
    let after = table("after", &players(&names[..8], 11), 4, &[("net target", "%BW", -16.0)], 2);
    let found = compared(&before, &after, None, &USUAL_ASKED, &InTurn);
    assert_eq!(found.question, "Did 8 players change from A (before) to B (after)?");
    let row = &found.numbers.metrics[0];
    assert_eq!((row.verdict, row.players_a, row.values_a, row.values_b), ("clear", 8, 40, 32));
    assert_eq!((row.rose, row.players.len(), row.exact, row.rearrangements), (Some([8, 0]), 8, true, 256));
    assert!(
        row.said.contains("It moved nearer to zero by ") && row.said.contains("it rose in 8 of 8 players"),
        "{}",
        row.said
    );
    // Players change by amounts of their own, which the model does not know.
    assert!(row.model.is_none() && row.g_of_changes.is_some());
    assert_eq!(found.left_out[0].what, "1 player (player-08)");
    assert!(found.caveats[0].starts_with("72 swings are of 8 players"), "{:?}", found.caveats);
    words_fit(&found);
    // Twelve metrics at once are more than eight players can carry: 2/256 times 12.
    let many: Vec<(String, f64)> = (0..12).map(|k| (format!("metric {k}"), -20.0)).collect();
    let of = |add: f64| many.iter().map(|(n, v)| (n.as_str(), "%BW", v + add)).collect::<Vec<_>>();
    let (a, b) = (
        table("before", &players(&names[..8], 1), 5, &of(0.0), 1),
        table("after", &players(&names[..8], 11), 5, &of(4.0), 2),
    );
    let found = compared(&a, &b, None, &USUAL_ASKED, &InTurn);
    assert_eq!((found.numbers.verdicts.clear, found.numbers.verdicts.unclear), (0, 12));
    assert!(
        found.verdict.starts_with("With 12 figures looked at, so few players cannot show any of them clearly (no adjusted p is under 0.094); ask"),
        "{}",
        found.verdict
    );
    assert!(
        found.numbers.metrics[0].said.contains("the least that so few can show"),
        "{}",
        found.numbers.metrics[0].said
    );
    let found =
        compared(&a, &b, None, &Asked { control: Control::BenjaminiHochberg, ..USUAL_ASKED }, &InTurn);
    assert_eq!(found.numbers.verdicts.clear, 12);
    words_fit(&found);
}

#[test]
fn groups_and_two_players() {
    let names = names(14);
    let a = table("beginners", &players(&names[..7], 1), 5, &[("net up", "%BW", 150.0)], 1);
    let b = table("others", &players(&names[7..], 11), 5, &[("net up", "%BW", 154.0)], 2);
    let found = compared(&a, &b, None, &USUAL_ASKED, &InTurn);
    assert_eq!(found.question, "Do the 7 players of B (others) differ from the 7 players of A (beginners)?");
    let row = &found.numbers.metrics[0];
    assert!(row.verdict == "clear" && row.said.contains("It is higher in B by "), "{}", row.said);
    assert!(row.rose.is_none() && row.players.is_empty() && row.model.is_some());
    let a = table("alder", &[("alder", 1, "bay")], 8, &[("net up", "%BW", 150.0)], 1);
    let b = table("birch", &[("birch", 2, "bay")], 8, &[("net up", "%BW", 154.0)], 2);
    let found = compared(&a, &b, None, &USUAL_ASKED, &InTurn);
    assert_eq!((found.numbers.design, found.numbers.unit), ("two players", "swing"));
    assert!(
        found.question.starts_with("Do birch's swings (B: birch) differ from alder's"),
        "{}",
        found.question
    );
    assert!(found.caveats.iter().any(|c| c.contains("no groups")));
    words_fit(&found);
}

#[test]
fn too_few_to_tell_and_metrics_of_one_side() {
    let of = |session, salt| {
        let columns = [
            ("net up", "%BW", 150.0 + 90.0 * session as f64),
            (
                "a-name-of-one-word-that-is-far-longer-than-the-room-there-is-for-a-name a name that is far too long for any table of a terminal that has so few columns",
                "N·m·s/kg",
                1.0,
            ),
            ("lead up", "%BW", 80.0),
        ];
        table("x", &[("alder", session, "bay")], 3, &columns, salt)
    };
    let (mut a, b) = (of(1, 1), of(2, 2));
    a.columns[2].values = vec![f64::NAN; 3];
    a.columns[2].absent = vec![LeftOut { what: "3 swings".into(), why: "the feet share a plate".into() }];
    a.stale = 1;
    a.columns[0].doubted = 2;
    a.swings[0].club = "iron7".into();
    let found = compared(&a, &b, None, &USUAL_ASKED, &InTurn);
    assert_eq!(
        (found.numbers.metrics.len(), found.numbers.verdicts.cannot_be_told, found.numbers.looked_at),
        (2, 2, 0)
    );
    assert_eq!(
        found.verdict,
        "It cannot be told. A has 3 swings, B 3 swings, and among so few the greatest difference comes by chance in 10 in 100; it \
         takes at least 4 swings a side."
    );
    assert_eq!(
        found.left_out,
        [LeftOut { what: "lead up".into(), why: "no swing of A has it: the feet share a plate".into() }]
    );
    assert!(found.numbers.metrics[0].p_adjusted.is_nan() && found.numbers.metrics[0].p == 0.1);
    for part in ["Clubs are together in a side (driver and iron7): ", "2 of 12 values are put in doubt"] {
        assert!(found.caveats.iter().any(|c| c.starts_with(part)), "{part}: {:?}", found.caveats);
    }
    assert!(found.caveats.iter().any(|c| c.starts_with("1 swing is out of date")), "{:?}", found.caveats);
    words_fit(&found);
    let nothing = compared(&Table { columns: Vec::new(), ..a.clone() }, &b, None, &USUAL_ASKED, &InTurn);
    assert!(nothing.verdict.starts_with("Nothing can be compared"));
    words_fit(&nothing);
}

/// "İ" in lower case is longer than it was; 0.001 and 99.9 % keep their digits.
#[test]
fn names_and_settings_as_they_are() {
    let of = |day: i64, salt| {
        let named = format!("İ in {}", "İ".repeat(3));
        let mut table = table(&named, &[("İ", day, "bay")], 10, &[("net up", "%BW", 160.0)], salt);
        table.swings.iter_mut().for_each(|s| s.date = None);
        table
    };
    let found =
        compared(&of(1, 1), &of(2, 2), None, &Asked { alpha: 0.001, level: 0.999, ..USUAL_ASKED }, &InTurn);
    assert_eq!(found.question, "Did İ's swings change from A (İİİ) to B (İİİ)?");
    let text = found.text();
    assert!(text.contains("Intervals are 99.9 %") && text.contains("99.9 % of it"), "{text}");
    assert!(found.method.iter().any(|m| m.contains("adjusted p is at most 0.001,")), "{:?}", found.method);
    // Without days, sessions are the occasions.
    assert!(found.numbers.metrics[0].detectable.of_days.is_nan());
}
