//! What becomes of swings when the text of their rig, or who a player is, is damaged or lost.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;
mod faults;

use archive::rigs::Since;
use archive::{Identity, Session, Study};
use faults::{leaves, measured, raw, rebuild, same, spoil, verify};
use std::path::{Path, PathBuf};

/// A study with a session of two swings that is read by a rig file; gives the rig's text.
fn with_a_rig(folder: &Path) -> (PathBuf, String) {
    let (study, player, _) = common::study(&folder.join("study"));
    let made = faults::light(2, 3, true);
    let text = common::rig_text(&made[0].rig, &made[0]);
    let rig = study.add_rig("bay", &text, &Since::New).unwrap();
    let session = Session { rig: Some(rig.rig), date: Some("2026-06-01".into()), ..Session::of(player) };
    let session = study.add_session(&session).unwrap();
    common::import(&study, &common::write(&folder.join("in"), &made, "a"), session);
    study
        .set_identity(player, Some(&Identity { name: "Invented Person".into(), contact: String::new() }))
        .unwrap();
    (study.root.clone(), text)
}

#[test]
fn the_lost_text_of_a_rig_leaves_what_was_measured_with_it() {
    // The table's page alone; with the index that knows its versions; with all that knows of the rig.
    for pages in [
        &["rig_version"][..],
        &["rig_version", "sqlite_autoindex_rig_version_1"],
        &["rig_version", "sqlite_autoindex_rig_version_1", "rig", "sqlite_autoindex_rig_1"],
    ] {
        let folder = tempfile::tempdir().unwrap();
        let (root, text) = with_a_rig(folder.path());
        let before = measured(&raw(&root));
        pages.iter().flat_map(|name| leaves(&root, name)).for_each(|page| spoil(&root, page));
        let rebuilt = rebuild(&root).unwrap();
        let lost: Vec<_> =
            rebuilt.mended.unwrap().lost.iter().map(|l| (l.table.clone(), l.partly.clone())).collect();
        let one = |table: &str| (table.to_string(), vec!["1".to_string()]);
        assert!(lost.contains(&one("rig_version")) && lost.len() <= 2, "{pages:?}: {lost:?}");
        assert_eq!(rebuilt.failed.len(), 2, "{pages:?}");
        assert!(rebuilt.failed[0].1.contains("rig add NAME FILE --corrects"), "{:?}", rebuilt.failed);
        same(&measured(&raw(&root)), &before);
        let verdict = verify(&root);
        let [fault] = verdict.faults.as_slice() else { panic!("{pages:?}: {verdict:#?}") };
        assert!(fault.place.ends_with("table rig_version, row 1"), "{fault:?}");
        // The very text makes it whole again: nothing is out of date.
        let study = Study::open(&root).unwrap();
        let name = study.rigs().unwrap()[0].name.clone();
        assert_eq!(study.add_rig(&name, &text, &Since::Corrects).unwrap().version, 1);
        assert!(study.catch_up(false).unwrap().is_empty());
        drop(study);
        assert!(verify(&root).clean(), "{pages:?}: {:#?}", verify(&root));
        assert!(rebuild(&root).unwrap().failed.is_empty());
        same(&measured(&raw(&root)), &before);
    }
}

#[test]
fn an_altered_rig_holds_up_only_the_swings_that_need_it() {
    let folder = tempfile::tempdir().unwrap();
    let (root, text) = with_a_rig(folder.path());
    let study = Study::open(&root).unwrap();
    common::import(&study, &common::write(&folder.path().join("plain"), &faults::light(1, 8, true), "b"), 1);
    for altered in ["CAST('[[plate' AS TEXT)", "CAST(x'ff' || text AS TEXT)", "text || char(10)"] {
        raw(&root).execute(&format!("UPDATE rig_version SET text = {altered}"), []).unwrap();
        assert_eq!(study.info().unwrap().swings, 3, "{altered}");
        study.mark(3, "impact", Some((1.4, None))).unwrap();
        let error = study.mark(1, "impact", Some((1.4, None))).unwrap_err().to_string();
        assert!(error.contains("rig bay, version 1, is not what it was"), "{error}");
        let verdict = verify(&root);
        let [fault] = verdict.faults.as_slice() else { panic!("{altered}: {verdict:#?}") };
        assert!(fault.place.ends_with("table rig_version, row 1"), "{fault:?}");
        let rebuilt = study.rebuild(archive::rebuild::Which::All, &mut |_| {}).unwrap();
        assert_eq!((rebuilt.measured, rebuilt.failed.len()), (1, 2));
        let told = common::import(
            &study,
            &common::write(&folder.path().join("late"), &faults::light(1, 9, true), "c"),
            2,
        );
        assert!(
            matches!(&told[0], archive::import::Told::Refused { why, .. } if why.contains("--corrects")),
            "{told:?}"
        );
        study.add_rig("bay", &text, &Since::Corrects).unwrap();
        assert!(study.catch_up(false).unwrap().is_empty() && verify(&root).clean());
    }
    // A text that is another takes its place.
    raw(&root).execute("UPDATE rig_version SET text = 'x'", []).unwrap();
    study.add_rig("bay", &format!("{text}\n# as before\n"), &Since::Corrects).unwrap();
    assert_eq!(study.catch_up(false).unwrap().len(), 2);
    assert!(verify(&root).clean(), "{:#?}", verify(&root));
}

#[test]
fn a_lost_name_is_said_to_be_lost() {
    let folder = tempfile::tempdir().unwrap();
    let (root, _) = with_a_rig(folder.path());
    leaves(&root, "identity").into_iter().for_each(|page| spoil(&root, page));
    let whole = folder.path().join("whole");
    faults::copy(&root, &whole);
    let mended = rebuild(&root).unwrap().mended.unwrap();
    let [lost] = mended.lost.as_slice() else { panic!("{mended:#?}") };
    assert_eq!(
        (lost.table.as_str(), lost.unreadable.as_slice()),
        ("identity", &["player 1".to_string()][..])
    );
    // With the players gone as well, nobody knows how many names there were.
    for name in ["player", "sqlite_autoindex_player_1"] {
        leaves(&whole, name).into_iter().for_each(|page| spoil(&whole, page));
    }
    let mended = rebuild(&whole).unwrap().mended.unwrap();
    let lost = mended.lost.iter().find(|l| l.table == "identity").unwrap();
    assert_eq!(lost.unreadable, ["some rows, their number is unknown"], "{mended:#?}");
}
