//! Swings chosen, listed and compared: each filter keeps what a plain loop over everything keeps; two-plate swings stand
//! beside one-plate swings as the one plate they would have been.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use archive::condition::metric_called;
use archive::import::{Incoming, Told};
use archive::list::{By, Order};
use archive::recipe::Basis;
use archive::rigs::Since;
use archive::{Player, Selection, Session, Study, StudyError, StudySettings};
use common::{rig_text, swings, write};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use swing::About;
use view::study::SwingRow;

/// Two players; three sessions, one of them without a day, one with a rig; clubs, tags and a mark. Swings on two plates
/// and on one.
fn made(folder: &Path) {
    let study = Study::create(&folder.join("study"), &StudySettings::named("invented")).unwrap();
    let player = |alias: &str| {
        study.add_player(&Player { hand: Some("right".into()), ..Player::called(alias) }, None).unwrap()
    };
    let (first, second) = (player("P01"), player("P02"));
    let made: Vec<_> = [(1, true), (2, false), (3, true)].map(|(seed, two)| swings(3, seed, two)).into();
    let rig = study.add_rig("north bay", &rig_text(&made[1][0].rig, &made[1][0]), &Since::New).unwrap();
    let session = |player, date: Option<&str>, rig| {
        let target = Some("+x".to_string());
        let date = date.map(str::to_string);
        study.add_session(&Session { target, date, rig, ..Session::of(player) }).unwrap()
    };
    let sessions = [
        session(first, Some("2026-05-12"), None),
        session(second, Some("2026-06-01"), Some(rig.rig)),
        session(first, None, None),
    ];
    let mut incoming = Vec::new();
    for (k, (session, made)) in sessions.into_iter().zip(&made).enumerate() {
        for (file, club) in
            write(&folder.join("in"), made, &format!("s{k}")).iter().zip(["Driver", "7 iron", ""])
        {
            incoming.push(Incoming { club: club.to_string(), ..Incoming::new(file, session) });
        }
    }
    study
        .import(&incoming, |_, told| assert!(matches!(told, Told::Kept { .. }), "{told:?}"), || true)
        .unwrap();
    assert_eq!(study.add_tag(&[1, 4, 7], "warm-up").unwrap(), 3);
    assert_eq!(study.add_tag(&[2, 4], "odd").unwrap(), 2);
    study.mark(5, "takeaway", Some((1.15, None))).unwrap();
}

/// A copy of that study for a test to do with as it likes: made once.
fn mixed(folder: &Path) -> Study {
    static MADE: OnceLock<PathBuf> = OnceLock::new();
    let first = MADE.get_or_init(|| {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("list");
        let _ = std::fs::remove_dir_all(&folder);
        made(&folder);
        folder
    });
    copy(&first.join("study"), &folder.join("study"));
    Study::open(&folder.join("study")).unwrap()
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let to = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &to);
        } else {
            std::fs::copy(&path, &to).unwrap();
        }
    }
}

/// The catalogue by another way, for what a test plants or counts.
fn catalogue(study: &Study) -> rusqlite::Connection {
    rusqlite::Connection::open(study.root.join("catalogue.sqlite")).unwrap()
}

fn all(study: &Study) -> Vec<SwingRow> {
    study.list(&Selection::default(), Order::NEWEST, None, 0).unwrap().rows
}

fn key(row: &SwingRow, metric: &str) -> (Option<f64>, Option<f64>) {
    let figure = row.figures.iter().find(|f| f.metric == metric).unwrap();
    (figure.value, figure.body_value)
}

#[test]
fn each_filter_keeps_what_a_loop_keeps() {
    let folder = tempfile::tempdir().unwrap();
    let study = mixed(folder.path());
    // A stop, planted: invented swings have none.
    catalogue(&study).execute("UPDATE measurement SET stops = 1 WHERE swing IN (3, 8)", []).unwrap();
    let words = |list: &[&str]| list.iter().map(|w| (*w).to_string()).collect::<Vec<_>>();
    let none = Selection::default;
    keeps(&study, Selection::of(&[2, 8]), |r| [2, 8].contains(&r.swing));
    keeps(&study, Selection { players: words(&["p02"]), ..none() }, |r| r.player == "P02");
    keeps(&study, Selection { sessions: vec![1, 3], ..none() }, |r| [1, 3].contains(&r.session));
    keeps(&study, Selection { rigs: words(&["North Bay"]), ..none() }, |r| r.session == 2);
    keeps(&study, Selection { clubs: words(&["DRIVER"]), ..none() }, |r| r.club == "Driver");
    let day = |r: &SwingRow| r.date.clone().unwrap_or_default();
    keeps(&study, Selection { from: Some("20260601".into()), ..none() }, |r| *day(r) >= *"2026-06-01");
    keeps(&study, Selection { to: Some("2026-05-12".into()), ..none() }, |r| day(r) == "2026-05-12");
    keeps(&study, Selection { feet: Some(1), ..none() }, |r| r.feet == Some(1));
    keeps(&study, Selection { feet: Some(2), ..none() }, |r| r.feet == Some(2));
    keeps(&study, Selection { no_stops: true, ..none() }, |r| r.stops == 0);
    let has = |r: &SwingRow, word: &str| r.tags.iter().any(|t| t == word);
    keeps(&study, Selection { tags: words(&["Odd"]), ..none() }, |r| has(r, "odd"));
    keeps(&study, Selection { tags: words(&["warm-up", "odd"]), ..none() }, |r| {
        has(r, "odd") && has(r, "warm-up")
    });
    let both = Selection { players: words(&["P01"]), clubs: words(&["driver", "7 iron"]), ..none() };
    keeps(&study, both, |r| r.player == "P01" && !r.club.is_empty());

    let found: BTreeSet<i64> = catalogue(&study)
        .prepare("SELECT swing FROM finding WHERE code = 'F107'")
        .unwrap()
        .query_map([], |r| r.get(0))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    keeps(&study, Selection { findings: words(&["f107"]), ..none() }, |r| found.contains(&r.swing));

    // The middle swing's own figures as the limit, so that every sign has something on each side.
    let middle = |metric: &str| {
        let mut values: Vec<_> = all(&study).iter().map(|r| key(r, metric)).collect();
        values.sort_by(|a, b| a.partial_cmp(b).unwrap());
        (values[4].0.unwrap(), values[4].1.unwrap())
    };
    let (newton, percent) = middle("up.net.most");
    let on = |text: String| Selection { metrics: vec![text.parse().unwrap()], ..none() };
    let up = |r: &SwingRow| key(r, "up.net.most");
    keeps(&study, on(format!("up.net.most > {newton}")), |r| up(r).0.unwrap() > newton);
    keeps(&study, on(format!("up.net.most >= {newton} N")), |r| up(r).0.unwrap() >= newton);
    keeps(&study, on(format!("up.net.most < {newton} N")), |r| up(r).0.unwrap() < newton);
    keeps(&study, on(format!("up.net.most ≤ {newton} N")), |r| up(r).0.unwrap() <= newton);
    let above = percent + 0.001;
    keeps(&study, on(format!("up.net.most > {above} %BW")), |r| up(r).1.unwrap() > above);
    let below = middle("turn.net-cop.most").1 - 0.001;
    let turn = on(format!("turn.net-cop.most<{below}Nm/kg"));
    keeps(&study, turn, |r| key(r, "turn.net-cop.most").1.unwrap() < below);
}

/// A filter keeps exactly the swings that a loop over all keeps: some, not all.
#[track_caller]
fn keeps(study: &Study, selection: Selection, keep: impl Fn(&SwingRow) -> bool) {
    let by_hand: BTreeSet<i64> = all(study).iter().filter(|r| keep(r)).map(|r| r.swing).collect();
    assert!(!by_hand.is_empty() && by_hand.len() < 9, "a filter that keeps {by_hand:?} shows nothing");
    let page = study.list(&selection, Order::NEWEST, None, 0).unwrap();
    assert_eq!(page.rows.iter().map(|r| r.swing).collect::<BTreeSet<_>>(), by_hand);
    assert_eq!((page.total, page.rows.len()), (by_hand.len(), by_hand.len()));
    assert_eq!(study.chosen(&selection).unwrap().into_iter().collect::<BTreeSet<_>>(), by_hand);
    let metric = metric_called("up.net.most").unwrap();
    let values = study.values_of(metric, &selection).unwrap();
    assert_eq!(values.values.iter().map(|v| v.swing).collect::<BTreeSet<_>>(), by_hand);
    let first = study.list(&selection, Order::NEWEST, Some(1), 0).unwrap();
    assert_eq!((first.total, &first.rows[..]), (by_hand.len(), &page.rows[..1]));
}

#[test]
fn what_is_nowhere_is_told_with_the_nearest() {
    let folder = tempfile::tempdir().unwrap();
    let study = mixed(folder.path());
    let words = |word: &str| vec![word.to_string()];
    let told = |selection: Selection| study.chosen(&selection).unwrap_err().to_string();
    let none = Selection::default;
    assert_eq!(
        told(Selection { players: words("P03"), ..none() }),
        "there is no player \"P03\"; did you mean \"P01\"?"
    );
    assert!(told(Selection { clubs: words("7-iron"), ..none() }).contains("did you mean \"7 iron\"?"));
    assert!(told(Selection { tags: words("warmup"), ..none() }).contains("did you mean \"warm-up\"?"));
    assert!(told(Selection { findings: words("Q3O3"), ..none() }).contains("did you mean \"Q303\"?"));
    assert!(told(Selection { rigs: words("north bye"), ..none() }).contains("did you mean \"north bay\"?"));
    assert!(told(Selection { from: Some("yesterday".into()), ..none() }).contains("2026-05-12"));
}

#[test]
fn orders_and_pages() {
    let folder = tempfile::tempdir().unwrap();
    let study = mixed(folder.path());
    let ids = |by: By, reverse, limit, offset| {
        let page = study.list(&Selection::default(), Order { by, reverse }, limit, offset).unwrap();
        assert_eq!(page.total, 9);
        page.rows.iter().map(|r| r.swing).collect::<Vec<_>>()
    };
    assert_eq!(ids(By::Newest, false, None, 0), [6, 5, 4, 3, 2, 1, 9, 8, 7], "without a day last");
    assert_eq!(ids(By::Newest, true, None, 0), [7, 8, 9, 1, 2, 3, 4, 5, 6]);
    assert_eq!(ids(By::Player, false, None, 0), [3, 2, 1, 9, 8, 7, 6, 5, 4]);
    assert_eq!(ids(By::Club, true, Some(3), 0), [4, 1, 7]);
    assert_eq!(ids(By::Newest, false, Some(4), 6), [9, 8, 7]);
    assert_eq!(ids(By::Newest, false, Some(4), 9), [0_i64; 0]);
    // The metric's order is that of its values; where they are the same, or absent, the newest is first.
    let lead: By = "up.net.most".parse().unwrap();
    let value =
        |id: &i64| key(all(&study).iter().find(|r| r.swing == *id).unwrap(), "up.net.most").0.unwrap();
    let down: Vec<f64> = ids(lead, false, None, 0).iter().map(value).collect();
    assert!(down.is_sorted_by(|a, b| a >= b), "{down:?}");
    let foot: By = "up.lead.most".parse().unwrap();
    assert_eq!(ids(foot, false, None, 0)[6..], [6, 5, 4], "on one plate there is no lead foot");
    assert_eq!(ids(foot, true, None, 0)[6..], [6, 5, 4]);
}

#[test]
fn tags_and_notes_are_changes_with_a_row_each() {
    let folder = tempfile::tempdir().unwrap();
    let study = mixed(folder.path());
    let before = study.changes_since(0, 1000).unwrap().len();
    assert_eq!(study.add_tag(&[1, 2, 3], "ODD").unwrap(), 2, "swing 2 has it, in other letters");
    assert_eq!(study.remove_tag(&[1, 9], "Odd").unwrap(), 1);
    let told = |word: &str| study.tags().unwrap().into_iter().find(|t| t.word == word).map(|t| t.swings);
    assert_eq!((told("odd"), told("ODD"), told("warm-up")), (Some(3), None, Some(3)));
    study.set_swing_note(2, "  lost balance ").unwrap();
    study.set_session_note(2, "wet mat").unwrap();
    assert_eq!(
        (study.swing_note(2).unwrap(), study.session(2).unwrap().note),
        ("lost balance".into(), "wet mat".into())
    );
    let rows = study.changes_since(0, 1000).unwrap().split_off(before);
    let brief: Vec<_> =
        rows.iter().map(|c| (c.what.as_str(), c.swing, c.player, c.after.as_deref())).collect();
    assert_eq!(
        brief,
        [
            ("tag added", Some(1), Some(1), Some("odd")),
            ("tag added", Some(3), Some(1), Some("odd")),
            ("tag removed", Some(1), Some(1), None),
            ("note written", Some(2), Some(1), Some("lost balance")),
            ("note written", None, Some(2), Some("wet mat")),
        ]
    );
    // Nothing of a change that cannot be made whole is made.
    assert!(matches!(study.add_tag(&[6, 99], "odd"), Err(StudyError::Unknown { kind: "swing", .. })));
    assert_eq!(told("odd"), Some(3));
    assert!(study.add_tag(&[1], "a,b").is_err() && study.add_tag(&[1], " ").is_err());
    assert!(study.remove_tag(&[1], "warm up").unwrap_err().to_string().contains("\"warm-up\""));
    assert!(study.set_swing_note(99, "x").is_err() && study.set_session_note(99, "x").is_err());
}

/// What a loop over recipes says is what the comparison of their numbers says.
#[track_caller]
fn stale(study: &Study, basis: i64, expected: &[i64]) {
    let catalogue = catalogue(study);
    let by_hand: Vec<i64> = study
        .wanted(None)
        .unwrap()
        .into_iter()
        .filter(|w| {
            let ask = "SELECT r.text FROM measurement m JOIN recipe r ON r.id = m.recipe WHERE basis = ?1 AND swing = ?2";
            let made: Option<String> = catalogue.query_row(ask, [basis, w.swing], |r| r.get(0)).ok();
            made != Some(w.recipe.text().unwrap())
        })
        .map(|w| w.swing)
        .collect();
    let told: Vec<i64> = study.stale(basis, false).unwrap().iter().map(|w| w.swing).collect();
    assert_eq!((&told[..], &by_hand[..]), (expected, expected));
    let some: Vec<i64> = expected.iter().copied().filter(|s| *s != 5).collect();
    let mut asked = vec![9, 8, 7, 6, 4, 3, 2, 1];
    assert_eq!(study.stale_among(basis, Some(&asked), false).unwrap(), some);
    // A long list is gone about otherwise; numbers that are no swing's do no harm.
    asked.extend(100..2000);
    assert_eq!(study.stale_among(basis, Some(&asked), false).unwrap(), some);
    assert_eq!(study.info().unwrap().stale as usize, if basis == 1 { expected.len() } else { 0 });
}

#[test]
fn swings_are_measured_in_another_way_once_and_after_a_change() {
    let folder = tempfile::tempdir().unwrap();
    let study = mixed(folder.path());
    let metric = metric_called("up.net.most").unwrap();
    let look = Basis { collapse: true, about: About::RigCentre };
    let measured = |selection: &Selection| {
        let mut told = Vec::new();
        let view = study.values_on(&look, metric, selection, |done, of| told.push((done, of))).unwrap();
        assert_eq!(told, (1..=told.len()).map(|k| (k, told.len())).collect::<Vec<_>>());
        assert_eq!((view.reading.measured_now, view.reading.collapse), (told.len(), true));
        told.len()
    };
    let (usual, _) = study.usual_basis().unwrap();
    let everything = Selection::default();
    let basis = study.basis_id(&look).unwrap();
    stale(&study, basis, &[1, 2, 3, 4, 5, 6, 7, 8, 9]);
    assert_eq!(measured(&Selection { players: vec!["P02".into()], ..everything.clone() }), 3);
    stale(&study, basis, &[1, 2, 3, 7, 8, 9]);
    assert_eq!(measured(&everything), 6);
    assert_eq!(measured(&everything), 0);
    // A change is followed on the usual basis alone; in this way, what is out of date is never shown, and swept when asked.
    study.mark(5, "takeaway", Some((1.12, None))).unwrap();
    assert!(study.catch_up(false).unwrap().is_empty());
    stale(&study, basis, &[5]);
    let wanted = study.wanted(Some(&[5])).unwrap();
    let (place, away) = (wanted[0].path(&study.root), folder.path().join("away.c3d"));
    std::fs::rename(&place, &away).unwrap();
    let view = study.values_on(&look, metric, &everything, |_, _| {}).unwrap();
    let row = view.values.iter().find(|r| r.swing == 5).unwrap();
    assert_eq!(row.figure.value, None);
    assert!(row.figure.absent.as_deref().unwrap().contains("cannot read"), "{:?}", row.figure);
    std::fs::rename(&away, &place).unwrap();
    assert_eq!((study.vacuum(false).unwrap().stale, study.vacuum(false).unwrap().stale), (1, 0));
    assert_eq!(measured(&everything), 1);
    // An event moved: its swing alone, and on the usual basis it was measured with the change.
    study.mark(5, "takeaway", Some((1.2, None))).unwrap();
    stale(&study, basis, &[5]);
    stale(&study, usual, &[]);
    assert_eq!(measured(&everything), 1);
    // A hand: the player's swings, on every basis.
    let player = study.player_called("P02").unwrap();
    study.edit_player(&player, &Player { hand: Some("left".into()), ..player.clone() }).unwrap();
    stale(&study, usual, &[4, 5, 6]);
    assert_eq!(study.values_of(metric, &everything).unwrap().reading.stale, 3);
    assert_eq!(measured(&everything), 3);
    stale(&study, usual, &[4, 5, 6]);
}

#[test]
fn common_ground() {
    let folder = tempfile::tempdir().unwrap();
    let study = mixed(folder.path());
    let ground = |feet: Option<u8>| study.common_ground(&Selection { feet, ..Selection::default() }).unwrap();
    let (mixed, one, two) = (ground(None), ground(Some(1)), ground(Some(2)));
    assert_eq!((mixed.one, mixed.two, mixed.nothing), (3, 6, 0));
    assert_eq!((one.one, one.two, two.one, two.two), (3, 0, 0, 6));
    // By a loop: a metric belongs to the ground where every swing has a value.
    for (ground, feet) in [(&mixed, None), (&one, Some(1)), (&two, Some(2))] {
        let has = |id: &str| {
            let selection = Selection { feet, ..Selection::default() };
            let view = study.values_of(metric_called(id).unwrap(), &selection).unwrap();
            view.values.iter().all(|v| v.figure.value.is_some())
        };
        let by_loop: Vec<&str> =
            swing::metrics::catalogue().iter().map(|m| m.id.as_str()).filter(|id| has(id)).collect();
        assert_eq!(ground.metrics, by_loop);
    }
    assert!(mixed.metrics.contains(&"up.net.most") && !mixed.metrics.contains(&"up.lead.most"));
    assert!(two.metrics.contains(&"up.lead.most") && one.metrics.contains(&"up.net.most"));
    assert_eq!(study.common_ground(&Selection::of(&[99])).unwrap(), archive::values::Ground::default());
}

#[test]
fn values_of_a_mixed_study_say_what_they_stand_on() {
    let folder = tempfile::tempdir().unwrap();
    let study = mixed(folder.path());
    let all = Selection::default();
    let foot = study.values_of(metric_called("up.lead.most").unwrap(), &all).unwrap();
    let text = view::study::values_text(&foot, 50);
    assert!(text.contains("it needs a plate for each foot, which 6 of 9 swings have"), "{text}");
    assert!(text.contains("without a value: 3 swings, since the feet share a plate"), "{text}");
    assert_eq!((foot.summary[0].swings, foot.summary[0].players), (6, 1));
    let net = study.values_of(metric_called("up.net.most").unwrap(), &all).unwrap();
    let text = view::study::values_text(&net, 4);
    assert!(
        text.contains("as recorded: 6 with a plate for each foot beside 3 with both feet on one; --collapse")
    );
    assert!(text.contains("and 5 more; --limit 0 shows all"), "{text}");
    // By hand: of nine values in order the median is the fifth, the quartiles the third and the seventh.
    let mut values: Vec<f64> = net.values.iter().map(|v| v.figure.body_value.unwrap()).collect();
    values.sort_by(f64::total_cmp);
    let body = &net.summary[1];
    assert_eq!((body.unit, body.swings, body.players), ("%BW", 9, 2));
    assert_eq!((body.lower_quartile, body.median, body.upper_quartile), (values[2], values[4], values[6]));
    // However few are asked for, and however far apart: each has its own value.
    for some in [&[1, 9][..], &[5], &[3, 4, 5]] {
        let told = study.values_of(metric_called("up.net.most").unwrap(), &Selection::of(some)).unwrap();
        let of = |v: &view::study::ValueRow| (v.swing, v.figure.value, v.figure.u, v.figure.body_value);
        let expected = net.values.iter().filter(|v| some.contains(&v.swing)).map(of).collect::<Vec<_>>();
        assert_eq!(told.values.iter().map(of).collect::<Vec<_>>(), expected);
    }
    // One ground alone needs no remark.
    let two = Selection { feet: Some(2), ..all };
    let text =
        view::study::values_text(&study.values_of(metric_called("up.net.most").unwrap(), &two).unwrap(), 50);
    assert!(!text.contains("as recorded"), "{text}");
}

#[test]
fn a_study_that_can_only_be_read_is_listed() {
    let folder = tempfile::tempdir().unwrap();
    let root = mixed(folder.path()).root;
    // About another point nothing has been measured yet, and nothing can be.
    let file = root.join("study.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, text.replace("net-cop", "rig-centre")).unwrap();
    // A folder where the lock's file should be: nobody can write that, whoever runs the test.
    let lock = root.join(".lock");
    std::fs::remove_file(&lock).unwrap();
    std::fs::create_dir(&lock).unwrap();
    let study = Study::open(&root).unwrap();
    assert!(study.read_only());
    let rows = all(&study);
    assert_eq!(rows.len(), 9);
    assert!(rows.iter().all(|r| r.feet.is_none() && r.figures.iter().all(|f| f.value.is_none())));
    assert!(matches!(study.add_tag(&[1], "odd"), Err(StudyError::ReadOnly(_))));
}

/// SQLite takes 32,766 values in one question (its documentation, "Implementation Limits For SQLite").
#[test]
fn a_list_of_numbers_may_be_long() {
    let folder = tempfile::tempdir().unwrap();
    let (study, _, session) = common::study(&folder.path().join("study"));
    let files = common::write(&folder.path().join("in"), &common::swings(1, 1, false), "a");
    common::import(&study, &files, session);
    let long: Vec<i64> = (1..=40_000).collect();
    let all = archive::Selection { sessions: long.clone(), ..archive::Selection::of(&long) };
    assert_eq!(study.chosen(&all).unwrap(), [1]);
    assert!(study.chosen(&archive::Selection::of(&long[1..])).unwrap().is_empty());
}
