//! What is measured again after a change is exactly what depends on it, and comes out as the pipeline says.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use archive::rigs::Since;
use archive::{Player, Session, Study};
use common::{import, rig_text, study, swings, write};
use rusqlite::Connection;
use std::collections::BTreeMap;
use std::path::Path;
use swing::events::{ByHand, EventSettings, Name};
use swing::{MeasureSettings, Settings};

/// Every row that was made of every swing, in words; by swing.
fn rows(root: &Path) -> BTreeMap<i64, Vec<String>> {
    let db = Connection::open(root.join("catalogue.sqlite")).unwrap();
    let mut all: BTreeMap<i64, Vec<String>> = BTreeMap::new();
    for (table, column) in [("figure", 2), ("measurement", 1), ("event", 1), ("finding", 1)] {
        let mut ask = db.prepare(&format!("SELECT * FROM {table}")).unwrap();
        let columns = ask.column_count();
        let mut found = ask.query([]).unwrap();
        while let Some(row) = found.next().unwrap() {
            let words: Vec<String> = (0..columns).map(|k| format!("{:?}", row.get_ref(k).unwrap())).collect();
            all.entry(row.get(column).unwrap()).or_default().push(format!("{table} {}", words.join(" ")));
        }
    }
    all
}

/// Numbers of the swings whose rows differ.
fn differing(before: &BTreeMap<i64, Vec<String>>, after: &BTreeMap<i64, Vec<String>>) -> Vec<i64> {
    after.iter().filter(|(swing, rows)| before.get(swing) != Some(rows)).map(|(swing, _)| *swing).collect()
}

/// A study with two players and three sessions of two swings: two of the first player's, one with a rig file.
fn three_sessions(folder: &Path) -> (Study, Player, i64) {
    let (study, player, plain) = study(&folder.join("study"));
    let made = swings(6, 3, true);
    let text = rig_text(&made[0].rig, &made[0]);
    let rig = study.add_rig("bay", &text, &Since::New).unwrap();
    let in_bay = Session { rig: Some(rig.rig), date: Some("2026-06-01".into()), ..Session::of(player) };
    let in_bay = study.add_session(&in_bay).unwrap();
    let other =
        study.add_player(&Player { hand: Some("right".into()), ..Player::called("P02") }, None).unwrap();
    let of_other = study.add_session(&Session { target: Some("+x".into()), ..Session::of(other) }).unwrap();
    let files = write(&folder.join("in"), &made, "a");
    for (files, session) in files.chunks(2).zip([plain, in_bay, of_other]) {
        import(&study, files, session);
    }
    let player = study.player(player).unwrap();
    (study, player, rig.rig)
}

#[test]
fn an_event_moved_is_one_swing_measured_again_as_the_pipeline_does() {
    let folder = tempfile::tempdir().unwrap();
    let (study, ..) = three_sessions(folder.path());
    let before = rows(&study.root);
    let again = study.mark(3, "impact", Some((2.5, Some(0.002)))).unwrap();
    assert_eq!(differing(&before, &rows(&study.root)), [3]);
    assert_eq!(again.changed.len() + again.same, swing::metrics::catalogue().len());

    // The same recording, measured without a study.
    let made = &swings(6, 3, true)[2];
    let bytes = formats::c3d::encode(&made.recording, &formats::c3d::Encoding::PLAIN).unwrap();
    let text = rig_text(&swings(1, 3, true)[0].rig, &swings(1, 3, true)[0]);
    let rig = formats::rigfile::parse("bay", &text).unwrap();
    let read = formats::read("a-03.c3d", &bytes, Some(&rig)).unwrap().value;
    let how = Settings { hand: Some(mechanics::Hand::Right), ..Settings::UNSTATED };
    let by_hand = vec![ByHand { name: Name::Impact, time_s: 2.5, u_s: Some(0.002) }];
    let events = EventSettings { by_hand, ..EventSettings::UNSTATED };
    let what = MeasureSettings { events, estimates: false };
    let direct = swing::measure(&read.recording, &read.rig, &how, &what).unwrap().value;
    let (basis, _) = study.usual_basis().unwrap();
    let kept = study.figures_of(basis, 3).unwrap();
    assert_eq!(kept.len(), direct.metrics.len());
    let mut held = 0;
    for (kept, direct) in kept.iter().zip(&direct.metrics) {
        assert_eq!(kept.metric.id, direct.metric.id);
        let value = |f: &swing::metrics::Figure| (f.value.to_bits(), f.u.to_bits(), f.by_weight);
        let (a, b) = (kept.figure.as_ref().ok().map(value), direct.figure.as_ref().ok().map(value));
        assert_eq!(a, b, "{}", kept.metric.id);
        held += usize::from(a.is_some());
    }
    assert!(held > 300, "{held} figures");

    study.mark(3, "top", Some((2.2, None))).unwrap();
    study.undo_mark(3).unwrap().unwrap();
    assert_eq!(study.sheet(3).unwrap().marks.len(), 1, "the top is taken back, impact stays");
    study.undo_mark(3).unwrap().unwrap();
    assert!(study.sheet(3).unwrap().marks.is_empty() && study.undo_mark(3).unwrap().is_none());
    study.mark(3, "impact", Some((2.5, Some(0.002)))).unwrap();

    // Taken back, everything is as it was but for when it was measured.
    study.mark(3, "impact", None).unwrap();
    let log = study.changes_of_swing(3).unwrap().len();
    assert!(study.mark(3, "impact", None).unwrap().changed.is_empty());
    assert_eq!(study.changes_of_swing(3).unwrap().len(), log, "nothing was done, and nothing is logged");
    let figures = |all: &BTreeMap<i64, Vec<String>>| {
        all[&3].iter().filter(|r| r.starts_with("figure")).cloned().collect::<Vec<_>>()
    };
    let (before, after) = (figures(&before), figures(&rows(&study.root)));
    // Numbers of shared phrases may be new; values are not.
    let values = |rows: &[String]| -> Vec<String> {
        rows.iter().map(|r| r.split(' ').take(5).collect::<Vec<_>>().join(" ")).collect()
    };
    assert_eq!(values(&before), values(&after));
}

#[test]
fn a_hand_is_one_players_swings_and_a_corrected_rig_its_sessions() {
    let folder = tempfile::tempdir().unwrap();
    let (study, player, _) = three_sessions(folder.path());
    let (basis, _) = study.usual_basis().unwrap();
    let stale =
        |study: &Study| -> Vec<i64> { study.stale(basis, false).unwrap().iter().map(|w| w.swing).collect() };
    assert!(stale(&study).is_empty());

    let text = study.rig_called("bay").unwrap()[0].text.clone();
    let later = Since::From("2026-07-01".into());
    study.add_rig("bay", &format!("{text}\n# rebuilt\n"), &later).unwrap();
    assert!(stale(&study).is_empty(), "a version from a later day touches nothing before it");

    let before = rows(&study.root);
    let left = Player { hand: Some("left".into()), ..player.clone() };
    study.edit_player(&player, &left).unwrap();
    assert_eq!(stale(&study), [1, 2, 3, 4]);
    let again = study.catch_up(false).unwrap();
    assert_eq!(again.iter().map(|a| a.swing).collect::<Vec<_>>(), [1, 2, 3, 4]);
    assert!(again.iter().all(|a| a.changed.iter().any(|c| c.metric == "toe.net.most")));
    assert_eq!(differing(&before, &rows(&study.root)), [1, 2, 3, 4]);
    assert!(stale(&study).is_empty());

    study.edit_player(&left, &player).unwrap();
    study.catch_up(false).unwrap();
    let before = rows(&study.root);
    // The older version, described better: its error budget is stated now.
    let better = text.clone() + "\n[uncertainty]\nforce_gain = 0.002\n";
    let session = study.session(2).unwrap();
    study.edit_session(&session, &Session { date: Some("2026-07-02".into()), ..session.clone() }).unwrap();
    study.catch_up(false).unwrap();
    study.add_rig("bay", &better, &Since::Corrects).unwrap();
    assert_eq!(stale(&study), [3, 4]);
    let again = study.catch_up(false).unwrap();
    assert_eq!(again.len(), 2);
    assert_eq!(differing(&before, &rows(&study.root)), [3, 4]);
    let sheet = study.sheet(3).unwrap().measured.unwrap();
    assert_eq!(sheet.rig.as_deref(), Some("bay, version 3"));
}

#[test]
fn a_rig_that_does_not_fit_leaves_no_figures_and_an_original_that_is_gone_leaves_them() {
    let folder = tempfile::tempdir().unwrap();
    let (study, player, _) = three_sessions(folder.path());
    let (basis, _) = study.usual_basis().unwrap();
    let figures =
        |swing: i64| study.figures_of(basis, swing).unwrap().iter().filter(|f| f.figure.is_ok()).count();
    let before = figures(3);
    let text = study.rig_called("bay").unwrap()[0].text.clone();
    study.add_rig("bay", &text.replace("FZ2", "Nowhere"), &Since::Corrects).unwrap();
    let again = study.catch_up(false).unwrap();
    assert_eq!(again.iter().map(|a| (a.swing, a.unread)).collect::<Vec<_>>(), [(3, false), (4, false)]);
    assert!(again.iter().all(|a| a.failed.as_ref().is_some_and(|why| why.contains("Nowhere"))), "{again:?}");
    assert_eq!(figures(3), 0);
    assert!(study.sheet(3).unwrap().measured.unwrap().failed.is_some_and(|why| why.contains("Nowhere")));
    assert!(study.stale(basis, false).unwrap().is_empty(), "it is what follows from what is stated");
    study.add_rig("bay", &text, &Since::Corrects).unwrap();
    study.catch_up(false).unwrap();
    assert_eq!(figures(3), before);

    // Of an original that is gone nothing follows: what was measured of it stays, and is out of date.
    std::fs::remove_file(study.wanted(Some(&[3])).unwrap()[0].path(&study.root)).unwrap();
    study.edit_player(&player, &Player { hand: Some("left".into()), ..player.clone() }).unwrap();
    let again = study.catch_up(false).unwrap();
    let third = again.iter().find(|a| a.swing == 3).unwrap();
    assert!(
        third.unread && third.failed.as_ref().is_some_and(|why| why.contains("cannot read")),
        "{third:?}"
    );
    assert_eq!(figures(3), before);
    assert_eq!(study.stale(basis, false).unwrap().iter().map(|w| w.swing).collect::<Vec<_>>(), [3]);
}

#[test]
fn what_cannot_be_is_refused_and_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (study, ..) = three_sessions(folder.path());
    let before = rows(&study.root);
    let refused = |what: &str, at: f64| study.mark(1, what, Some((at, None))).unwrap_err().to_string();
    assert!(refused("impct", 2.0).contains("is no event"));
    assert!(refused("impact", 99.0).contains("outside the recording"));
    study.mark(1, "top", Some((2.4, None))).unwrap();
    assert!(refused("impact", 2.3).contains("impact would come before top"));
    assert!(study.mark(99, "impact", Some((2.0, None))).unwrap_err().to_string().contains("no swing"));
    study.mark(1, "top", None).unwrap();
    assert_eq!(differing(&before, &rows(&study.root)), [1], "only when it was measured");
    assert!(study.stale(study.usual_basis().unwrap().0, true).unwrap().is_empty());
}

#[test]
fn a_time_comes_back_from_the_log_to_the_last_bit() {
    let mut time_s = 1.618_f64;
    for _ in 0..2000 {
        time_s = 1.0 + (time_s * 997.0).fract();
        let mark = archive::recipe::Mark { event: "impact".into(), time_s, u_s: Some(time_s / 300.0) };
        let text = serde_json::to_string(&[&mark]).unwrap();
        let back: Vec<archive::recipe::Mark> = serde_json::from_str(&text).unwrap();
        assert_eq!(back, [mark], "{text}");
    }
}

#[test]
fn an_edit_that_was_cut_short_is_finished_by_the_next_opening() {
    let folder = tempfile::tempdir().unwrap();
    let (study, player, _) = three_sessions(folder.path());
    let (root, basis) = (study.root.clone(), study.usual_basis().unwrap().0);
    assert!(!study.is_behind().unwrap());
    study.edit_player(&player, &Player { note: "seen".into(), ..player.clone() }).unwrap();
    assert!(!study.is_behind().unwrap(), "a note touches no measurement");
    let player = study.player(player.id).unwrap();
    study.edit_player(&player, &Player { hand: Some("left".into()), ..player.clone() }).unwrap();
    assert!(study.is_behind().unwrap());
    assert_eq!(study.stale(basis, false).unwrap().len(), 4);
    drop(study);
    let study = Study::open(&root).unwrap();
    assert!(study.stale(basis, false).unwrap().is_empty() && !study.is_behind().unwrap());
}

#[test]
fn another_rig_of_the_same_text_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let (study, ..) = three_sessions(folder.path());
    let text = study.rig_called("bay").unwrap()[0].text.clone();
    let rig = study.add_rig("hall", &text, &Since::New).unwrap().rig;
    let session = study.session(2).unwrap();
    study.edit_session(&session, &Session { rig: Some(rig), ..session.clone() }).unwrap();
    let again = study.catch_up(false).unwrap();
    assert_eq!(again.iter().map(|a| a.swing).collect::<Vec<_>>(), [3, 4]);
    assert!(again.iter().all(|a| a.changed.is_empty()), "the same plates give the same figures");
    let sheet = study.sheet(3).unwrap().measured.unwrap();
    assert_eq!(sheet.rig.as_deref(), Some("hall, version 1"));
}

#[test]
fn two_events_move_at_once_and_what_stands_is_not_set_again() {
    let folder = tempfile::tempdir().unwrap();
    let (study, ..) = three_sessions(folder.path());
    let events = study.events_of(1).unwrap();
    let at = |name: &str| events.iter().find(|e| e.event == name).unwrap().time_s;
    let (top, impact) = (at("top"), at("impact"));
    study.mark_all(1, &[("top", Some((top - 0.2, None))), ("impact", Some((top - 0.1, None)))]).unwrap();
    assert!(study.mark(1, "impact", Some((top - 0.1, None))).unwrap().changed.is_empty());
    // One step back is both.
    study.undo_mark(1).unwrap().unwrap();
    assert!(study.sheet(1).unwrap().marks.is_empty() && (at("impact") - impact).abs() < 1e-12);
    // Only the ± of an instant, and what rests on it, changes: no value is said to have moved by it.
    study.mark(2, "impact", Some((impact, Some(0.002)))).unwrap();
    let wider = study.mark(2, "impact", Some((impact, Some(0.008)))).unwrap();
    let time = wider.changed.iter().find(|c| c.metric == "impact.time");
    assert!(time.is_some_and(|c| !c.moved() && c.u_before != c.u_after), "{time:?}");
}
