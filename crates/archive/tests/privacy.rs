//! A player who is deleted is gone from every byte of the study.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;
mod faults;

use archive::Study;
use faults::{entered, files, leaves, measured, raw, rebuild, same, second, small_study, spoil, verify};
use std::path::Path;

/// What would tell of the second player of [`faults::second`].
const WORDS: [&str; 11] = [
    "Zebedee",
    "zebedee",
    "Quillfeather",
    "quill@",
    "Marchbanks",
    "sore-knee",
    "agreed-words",
    "session-remark",
    "north-bay",
    "private-tag-word",
    "75.25",
];

/// Files of a study that hold a text, in UTF-8.
fn holding(root: &Path, text: &str) -> Vec<String> {
    let has = |bytes: &[u8]| bytes.windows(text.len()).any(|w| w == text.as_bytes());
    files(root)
        .into_iter()
        .filter(|(path, bytes)| has(bytes) || path.to_string_lossy().contains(text))
        .map(|(path, _)| path.strip_prefix(root).unwrap().display().to_string())
        .collect()
}

fn hashes(root: &Path, player: i64) -> Vec<String> {
    let db = raw(root);
    let ask = "SELECT w.hash FROM swing w JOIN session s ON s.id = w.session WHERE s.player = ?1";
    let mut ask = db.prepare(ask).unwrap();
    ask.query_map([player], |r| r.get(0)).unwrap().collect::<Result<_, _>>().unwrap()
}

fn decorate(root: &Path) {
    raw(root)
        .execute_batch(
            "INSERT INTO tag VALUES (3, 'private-tag-word');
             UPDATE swing SET note = 'sore-knee again', club = 'private-tag-word' WHERE id = 3;
             INSERT INTO outcome VALUES (3, 'carry', 75.25, 'm', '75.25', 'Marchbanks.csv');
             INSERT INTO watched (path, bytes, modified, state, swing) VALUES ('/in/Marchbanks/1.c3d', 1, '', 'kept', 3),
               ('/in/Marchbanks/2.c3d', 1, '', 'no recording', NULL), ('/in/other.c3d', 1, '', 'kept', 1);",
        )
        .unwrap();
}

#[test]
fn no_byte_remembers_a_deleted_player() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 2);
    let root = study.root.clone();
    decorate(&root);
    let player = study.player_called("zebedee-77").unwrap();
    let noted = archive::Player { note: "sore-knee-right-remark".into(), ..player.clone() };
    study.edit_player(&player, &noted).unwrap();
    study.mark(3, "impact", Some((1.3, None))).unwrap();
    let hashes = hashes(&root, player.id);
    for word in WORDS.iter().copied().chain(hashes.iter().map(String::as_str)) {
        assert!(!holding(&root, word).is_empty(), "{word} is nowhere: this test would prove nothing");
    }
    raw(&root).query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
    let before = std::fs::metadata(root.join("catalogue.sqlite")).unwrap().len();
    let going = study.going(player.id).unwrap();
    assert_eq!((going.sessions, going.swings, going.files, going.named), (1, 2, 4, true));
    assert!(going.damaged.is_empty() && going.strays.is_empty());

    assert!(study.delete_player(player.id).unwrap().nothing());
    // Zeros over what is deleted (`secure_delete`) would do for the words; pages written anew leave nothing to doubt.
    let after = std::fs::metadata(root.join("catalogue.sqlite")).unwrap().len();
    assert!(after < before, "the catalogue was not written anew: {before} bytes before, {after} after");
    for word in WORDS.iter().copied().chain(hashes.iter().map(String::as_str)) {
        assert_eq!(holding(&root, word), Vec::<String>::new(), "{word} is still there");
    }
    // And stays gone when the study is closed and opened.
    drop(study);
    let study = Study::open(&root).unwrap();
    for word in WORDS {
        assert_eq!(holding(&root, word), Vec::<String>::new(), "{word} is back");
    }
    let last = study.changes_since(0, 1000).unwrap().into_iter().last().unwrap();
    assert_eq!(
        (last.what.as_str(), last.player, last.before, last.after),
        ("player deleted", None, None, None)
    );
    let verdict = verify(&root);
    assert!(verdict.clean() && verdict.notes.is_empty() && verdict.swings == 2, "{verdict:#?}");
    let watched = faults::dump(&raw(&root), "SELECT path FROM watched");
    assert_eq!(watched, "/in/other.c3d|\n");
}

#[test]
fn the_others_keep_every_bit() {
    let folder = tempfile::tempdir().unwrap();
    let (study, _, session) = common::study(&folder.path().join("study"));
    let files = common::write(&folder.path().join("in"), &faults::light(2, 1, true), "first");
    common::import(&study, &files, session);
    let root = study.root.clone();
    let before = (measured(&raw(&root)), entered(&raw(&root)), faults::logged(&raw(&root), 1000));
    let words = faults::dump(&raw(&root), "SELECT text FROM recipe ORDER BY text") + &phrases(&root);
    let player = second(&study, folder.path(), 2);
    study.delete_player(player).unwrap();
    same(&measured(&raw(&root)), &before.0);
    same(&entered(&raw(&root)), &before.1);
    assert!(faults::logged(&raw(&root), 1000).starts_with(&before.2));
    // Recipes and phrases that only the deleted player's figures used are gone as well.
    assert_eq!(faults::dump(&raw(&root), "SELECT text FROM recipe ORDER BY text") + &phrases(&root), words);
}

fn phrases(root: &Path) -> String {
    faults::dump(&raw(root), "SELECT text FROM phrase ORDER BY text")
}

#[test]
fn a_reader_holds_the_log_until_the_next_opening() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 1);
    let root = study.root.clone();
    let player = study.player_called("Zebedee-77").unwrap().id;
    let reader = raw(&root);
    reader.execute_batch("BEGIN; SELECT count(*) FROM figure;").unwrap();
    let left = study.delete_player(player).unwrap();
    assert!(left.pages.is_some(), "{left:?}");
    assert!(!holding(&root, "Marchbanks").is_empty(), "the reader's view is still whole");
    drop(reader);
    drop(study);
    drop(Study::open(&root).unwrap());
    for word in WORDS {
        assert_eq!(holding(&root, word), Vec::<String>::new(), "{word} is still there");
    }
    assert_eq!(faults::dump(&raw(&root), "SELECT * FROM pending"), "");
}

#[test]
fn damaged_catalogues_go_with_a_player() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 2);
    let root = study.root.clone();
    drop(study);
    decorate(&root);
    spoil(&root, leaves(&root, "figure")[3]);
    // Indexes still know the names of files, and of tags all: what is lost is said by these names.
    for table in ["watched", "tag"] {
        leaves(&root, table).into_iter().for_each(|page| spoil(&root, page));
    }
    let mended = rebuild(&root).unwrap().mended.unwrap();
    let lost: Vec<&String> = mended.lost.iter().flat_map(|l| &l.rows).collect();
    assert!(lost.iter().any(|key| key.contains("Marchbanks")), "this test would prove nothing: {lost:?}");
    let study = Study::open(&root).unwrap();
    let player = study.player_called("Zebedee-77").unwrap().id;
    assert_eq!(study.going(player).unwrap().damaged, ["catalogue.damaged-1.sqlite"]);
    study.delete_player(player).unwrap();
    for word in WORDS {
        assert_eq!(holding(&root, word), Vec::<String>::new(), "{word} is still there");
    }
}

#[test]
fn a_recording_on_its_way_to_a_deleted_player_does_not_come_in() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 1);
    let root = study.root.clone();
    let player = study.player_called("Zebedee-77").unwrap().id;
    let more = common::write(&folder.path().join("more"), &faults::light(1, 9, true), "Marchbanks-late");
    let other = Study::open(&root).unwrap();
    let incoming = [archive::import::Incoming::new(&more[0], 2)];
    let mut told = Vec::new();
    // The deletion comes between the reading of the recipe and the change.
    let deleted = std::sync::atomic::AtomicBool::new(false);
    let delete = || {
        if !deleted.swap(true, std::sync::atomic::Ordering::SeqCst) {
            let third = Study::open(&root).unwrap();
            assert_eq!(third.delete_player(player).unwrap().files, 2, "files wait for the import");
        }
        true
    };
    other.import(&incoming, |_, t| told.push(t), delete).unwrap();
    assert!(
        matches!(&told[0], archive::import::Told::Refused { why, .. } if why.contains("deleted")),
        "{told:?}"
    );
    drop((study, other));
    drop(Study::open(&root).unwrap());
    for word in WORDS {
        assert_eq!(holding(&root, word), Vec::<String>::new(), "{word} is still there");
    }
    assert!(verify(&root).notes.is_empty(), "{:#?}", verify(&root));
}
