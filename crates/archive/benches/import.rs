//! Import of many invented swings: `cargo bench -p archive --bench import -- [SWINGS]`. Writes the recordings into a folder of
//! the target first (kept between runs), then times the study.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)] // a bench may

use archive::import::{Incoming, Told};
use archive::{Player, Session, Study, StudySettings};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Style};
use std::path::{Path, PathBuf};
use std::time::Instant;

/// Swings of a player: a hundred of the seed, on two plates for even seeds and one for odd.
const A_PLAYER: usize = 100;

fn recordings(folder: &Path, count: usize) -> Vec<(usize, PathBuf)> {
    std::fs::create_dir_all(folder).unwrap();
    let mut files = Vec::new();
    for seed in 0..count.div_ceil(A_PLAYER) {
        let path = |k: usize| folder.join(format!("{seed:04}-{k:03}.c3d"));
        if !path(A_PLAYER - 1).is_file() {
            let kind = PlateType::Two;
            let rig = if seed % 2 == 0 { RigSpec::two_plates(kind) } else { RigSpec::one_plate(kind) };
            let rig = RigSpec { marker_rate_hz: 250.0, ..rig };
            let player = PlayerSpec::right(Style::early());
            let swings =
                simulate::session(&player, A_PLAYER as u32, seed as u64, &rig, &Noise::USUAL).unwrap();
            for (k, swing) in swings.iter().enumerate() {
                let bytes = formats::c3d::encode(&swing.recording, &formats::c3d::Encoding::PLAIN).unwrap();
                std::fs::write(path(k), bytes).unwrap();
            }
        }
        files.extend((0..A_PLAYER).map(|k| (seed, path(k))));
    }
    files.truncate(count);
    files
}

fn main() {
    let count = std::env::args().filter_map(|a| a.parse::<usize>().ok()).next().unwrap_or(1000);
    let target = Path::new(env!("CARGO_TARGET_TMPDIR"));
    let files = recordings(&target.join("bench-recordings"), count);
    let root = target.join("bench-study");
    let _ = std::fs::remove_dir_all(&root);
    let settings = StudySettings {
        series: std::env::args().all(|a| a != "--no-series"),
        ..StudySettings::named("bench")
    };
    let study = Study::create(&root, &settings).unwrap();
    let mut sessions = Vec::new();
    for seed in 0..count.div_ceil(A_PLAYER) {
        let player = Player { hand: Some("right".into()), ..Player::called(&format!("P{seed:04}")) };
        let player = study.add_player(&player, None).unwrap();
        let session =
            Session { target: Some("+x".into()), date: Some("2026-05-12".into()), ..Session::of(player) };
        sessions.push(study.add_session(&session).unwrap());
    }
    let incoming: Vec<Incoming> = files.iter().map(|(seed, f)| Incoming::new(f, sessions[*seed])).collect();
    let begin = Instant::now();
    let mut kept = 0;
    study.import(&incoming, |_, t| kept += usize::from(matches!(t, Told::Kept { .. })), || true).unwrap();
    let took = begin.elapsed().as_secs_f64();
    println!("{kept} of {count} swings in {took:.2} s: {:.0} swings/s", kept as f64 / took);
    let begin = Instant::now();
    drop(study);
    let study = Study::open(&root).unwrap();
    println!("open: {:.1} ms", begin.elapsed().as_secs_f64() * 1e3);
    drop(study);
}
