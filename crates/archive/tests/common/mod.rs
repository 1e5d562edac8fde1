//! What tests of the archive share: invented recordings as files, and a study with a player.
#![allow(dead_code, clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may; not every file uses all

use archive::import::{Incoming, Told};
use archive::{Player, Session, Study, StudySettings};
use mechanics::Rig;
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Simulated, Style};
use std::path::{Path, PathBuf};

/// Swings of an invented right-handed player on one plate or two, target along +x.
pub fn swings(count: u32, seed: u64, two: bool) -> Vec<Simulated> {
    let player = PlayerSpec::right(Style::early());
    let rig = if two { RigSpec::two_plates(PlateType::Two) } else { RigSpec::one_plate(PlateType::Two) };
    simulate::session(&player, count, seed, &rig, &Noise::USUAL).expect("a session")
}

/// Writes them as C3D files; gives their paths.
pub fn write(folder: &Path, swings: &[Simulated], name: &str) -> Vec<PathBuf> {
    std::fs::create_dir_all(folder).unwrap();
    let put = |(k, s): (usize, &Simulated)| {
        let path = folder.join(format!("{name}-{:02}.c3d", k + 1));
        std::fs::write(&path, formats::c3d::encode(&s.recording, &formats::c3d::Encoding::PLAIN).unwrap())
            .unwrap();
        path
    };
    swings.iter().enumerate().map(put).collect()
}

/// The rig file of such swings as text; `turned` adds a comment, so that it is another version.
pub fn rig_text(rig: &Rig, swing: &Simulated) -> String {
    formats::rigfile::write(&formats::rigfile::of_rig(rig, &swing.recording, &[]))
}

/// A study with one right-handed player and a session of hers with target +x.
pub fn study(folder: &Path) -> (Study, i64, i64) {
    let study = Study::create(folder, &StudySettings::named("invented")).unwrap();
    let player =
        study.add_player(&Player { hand: Some("right".into()), ..Player::called("P01") }, None).unwrap();
    let session =
        Session { target: Some("+x".into()), date: Some("2026-05-12".into()), ..Session::of(player) };
    let session = study.add_session(&session).unwrap();
    (study, player, session)
}

/// Takes files in; gives what was told.
pub fn import(study: &Study, files: &[PathBuf], session: i64) -> Vec<Told> {
    let incoming: Vec<Incoming> = files.iter().map(|f| Incoming::new(f, session)).collect();
    let mut told = Vec::new();
    study.import(&incoming, |_, t| told.push(t), || true).unwrap();
    told
}
