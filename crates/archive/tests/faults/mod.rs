//! What tests of faults share: light recordings, what a study holds in comparable form, damage to order.
#![allow(dead_code, clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may; not every file uses all

use crate::common;
use archive::verify::Verdict;
use archive::{Identity, Player, Session, Study, StudyError, StudySettings};
use rusqlite::Connection;
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Simulated, Style};
use std::path::{Path, PathBuf};

/// Short swings at a low rate, for tests that measure many: 3 s at 200 a second, one marker.
pub fn light(count: u32, seed: u64, two: bool) -> Vec<Simulated> {
    let player = PlayerSpec { quiet_s: 0.8, follow_s: 0.5, hold_s: 0.3, ..PlayerSpec::right(Style::early()) };
    let rig = if two { RigSpec::two_plates(PlateType::Two) } else { RigSpec::one_plate(PlateType::Two) };
    let rig = RigSpec { rate_hz: 200.0, marker_rate_hz: 100.0, ..rig };
    simulate::session(&player, count, seed, &rig, &Noise::USUAL).expect("a session")
}

/// Two players, one of them named, with a session and swings each; tags, an event placed by hand, an outcome.
pub fn small_study(folder: &Path, swings: u32) -> Study {
    let (study, first, session) = common::study(&folder.join("study"));
    let files = common::write(&folder.join("in"), &light(swings, 1, true), "first");
    common::import(&study, &files, session);
    let named = Identity { name: "Invented Person".into(), contact: "person@invented.example".into() };
    study.set_identity(first, Some(&named)).unwrap();
    second(&study, folder, swings);
    study.mark(1, "impact", Some((1.4, None))).unwrap();
    let db = raw(&study.root);
    db.execute_batch(
        "INSERT INTO tag VALUES (1, 'driver'); INSERT INTO tag VALUES (2, 'windy');
         INSERT INTO outcome VALUES (1, 'carry', 212.0, 'm', '212 m', 'launch.csv');",
    )
    .unwrap();
    study
}

/// A second player with everything a player can have; gives the player's number.
pub fn second(study: &Study, folder: &Path, swings: u32) -> i64 {
    let player = Player {
        hand: Some("right".into()),
        note: "sore-knee-left-remark".into(),
        consent_to: "agreed-words-to-keep".into(),
        ..Player::called("Zebedee-77")
    };
    let who = Identity { name: "Quillfeather Marchbanks".into(), contact: "quill@invented.example".into() };
    let player = study.add_player(&player, Some(&who)).unwrap();
    let session = Session {
        target: Some("+x".into()),
        mass_kg: Some(75.25),
        place: "north-bay-place".into(),
        note: "session-remark-words".into(),
        ..Session::of(player)
    };
    let session = study.add_session(&session).unwrap();
    let files = common::write(&folder.join("in-second"), &light(swings, 2, true), "Marchbanks-file");
    common::import(study, &files, session);
    player
}

/// A player by a name with a session and two swings; gives the player's number.
pub fn second_called(study: &Study, folder: &Path, alias: &str) -> i64 {
    let player =
        study.add_player(&Player { hand: Some("right".into()), ..Player::called(alias) }, None).unwrap();
    let session = Session { target: Some("+x".into()), ..Session::of(player) };
    let session = study.add_session(&session).unwrap();
    common::import(study, &common::write(folder, &light(2, 77, true), "gone"), session);
    player
}

/// A look past the archive.
pub fn raw(root: &Path) -> Connection {
    let db = Connection::open(root.join("catalogue.sqlite")).unwrap();
    db.busy_timeout(std::time::Duration::from_secs(10)).unwrap();
    db.pragma_update(None, "foreign_keys", "on").unwrap();
    db
}

/// The answer to a question as text, a line a row: doubles bit by bit.
pub fn dump(db: &Connection, ask: &str) -> String {
    use rusqlite::types::ValueRef;
    let mut ask = db.prepare(ask).unwrap();
    let width = ask.column_count();
    let mut rows = ask.query([]).unwrap();
    let mut out = String::new();
    while let Some(row) = rows.next().unwrap() {
        for k in 0..width {
            out.push_str(&match row.get_ref(k).unwrap() {
                ValueRef::Null => "-".to_string(),
                ValueRef::Integer(n) => n.to_string(),
                ValueRef::Real(v) => format!("{:016x}", v.to_bits()),
                ValueRef::Text(t) => String::from_utf8_lossy(t).into_owned(),
                ValueRef::Blob(_) => "blob".into(),
            });
            out.push('|');
        }
        out.push('\n');
    }
    out
}

/// Everything that was measured, in words and bits, and free of row numbers that are handed out as they come.
pub fn measured(db: &Connection) -> String {
    let mut out = dump(
        db,
        "SELECT m.name, b.collapse, b.about, f.swing, f.value, f.u, f.by_weight, f.by_weight_u, f.at_s, l.text, f.led_share,
         f.estimated, t.text, a.text FROM figure f JOIN metric m ON m.id = f.metric JOIN basis b ON b.id = f.basis
         LEFT JOIN phrase l ON l.id = f.led_by LEFT JOIN phrase t ON t.id = f.touched LEFT JOIN phrase a ON a.id = f.absent
         ORDER BY m.name, b.about, b.collapse, f.swing",
    );
    out += &dump(db, "SELECT * FROM event ORDER BY basis, swing, event");
    out += &dump(db, "SELECT * FROM finding ORDER BY basis, swing, number");
    out += &dump(
        db,
        "SELECT m.basis, m.swing, r.hash, m.rig_version, m.failed, m.feet, m.plates, m.hand, m.body_weight_n, m.rate_hz,
         m.samples, m.start_s, m.conditioning, m.stops, m.doubts, m.notes, m.figures, m.series, m.series_hash
         FROM measurement m JOIN recipe r ON r.id = m.recipe ORDER BY m.basis, m.swing",
    );
    out
}

/// Two answers are alike; says the first line that is not.
#[track_caller]
pub fn same(found: &str, expected: &str) {
    for (a, b) in found.lines().zip(expected.lines()) {
        assert_eq!(a, b);
    }
    assert_eq!(found.lines().count(), expected.lines().count());
}

/// Everything that a person entered.
pub fn entered(db: &Connection) -> String {
    ["player", "identity", "rig", "rig_version", "session", "swing", "tag", "mark", "outcome", "watched"]
        .iter()
        .map(|table| format!("{table}\n{}", dump(db, &format!("SELECT * FROM {table} ORDER BY 1, 2"))))
        .collect()
}

/// The log, as far as a row of it.
pub fn logged(db: &Connection, to: i64) -> String {
    dump(db, &format!("SELECT * FROM change WHERE id <= {to} ORDER BY id"))
}

/// Every file under a folder with its content.
pub fn files(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut out = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            out.extend(files(&path));
        } else {
            out.push((path.clone(), std::fs::read(&path).unwrap()));
        }
    }
    out.sort();
    out
}

/// Copies a study.
pub fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &target);
        } else {
            std::fs::copy(&path, &target).unwrap();
        }
    }
}

/// Verifies; nobody listens to the progress.
pub fn verify(root: &Path) -> Verdict {
    archive::verify::verify(root, &|_| {}).unwrap()
}

/// Makes everything again.
pub fn rebuild(root: &Path) -> Result<archive::rebuild::Rebuilt, StudyError> {
    archive::rebuild::rebuild(root, archive::rebuild::Which::All, &mut |_| {})
}

/// Leaf pages of a table or an index, with the log brought home first.
pub fn leaves(root: &Path, name: &str) -> Vec<u64> {
    let db = raw(root);
    db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
    let page = |r: &rusqlite::Row<'_>| Ok(r.get::<_, i64>(0)? as u64);
    let mut ask =
        db.prepare("SELECT pageno FROM dbstat WHERE name = ?1 AND pagetype = 'leaf' ORDER BY path").unwrap();
    ask.query_map([name], page).unwrap().collect::<Result<_, _>>().unwrap()
}

/// Writes noise over a page of the catalogue.
pub fn spoil(root: &Path, page: u64) {
    use std::io::{Seek as _, SeekFrom, Write as _};
    let size: i64 = raw(root).query_row("PRAGMA page_size", [], |r| r.get(0)).unwrap();
    let size = size as u64;
    let path = root.join("catalogue.sqlite");
    let mut file = std::fs::File::options().write(true).open(path).unwrap();
    file.seek(SeekFrom::Start((page - 1) * size)).unwrap();
    let noise: Vec<u8> = (0..size).map(|k| (k.wrapping_mul(2_654_435_761) >> 7) as u8 | 0x80).collect();
    file.write_all(&noise).unwrap();
}

/// An empty study.
pub fn empty(root: &Path) -> Study {
    Study::create(root, &StudySettings::named("invented")).unwrap()
}

/// Tables of a catalogue, in the order in which they were made.
pub fn tables(db: &Connection) -> Vec<String> {
    let ask =
        "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY rowid";
    db.prepare(ask).unwrap().query_map([], |r| r.get(0)).unwrap().collect::<Result<_, _>>().unwrap()
}
