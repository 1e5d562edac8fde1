//! The demo's practice: what years of work leave in a folder. Three invented players, each with an early session on one plate
//! and a late one on two, and what an invented launch monitor said of every swing.
use mechanics::Axis;
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Unbuildable};
use std::ops::Range;
use std::path::Path;
use underfoot::fail::{Exit, Fail};
use underfoot::{export, record};

/// Day, two plates or one, club, numbers of the swings.
const SESSIONS: [(&str, bool, &str, Range<usize>); 3] = [
    ("2024-05-14", false, "driver", 1..5),
    ("2026-05-12", true, "driver", 1..5),
    ("2026-05-12", true, "iron7", 5..8),
];

/// Players of the cast who visit the practice.
const PLAYERS: usize = 3;

/// Where a laboratory of the demo has its target.
pub const TARGET: Axis = Axis::MinusY;

/// Writes `PLAYER/DAY/CLUB-NUMBER.c3d` and `launch-monitor.csv` into a folder; gives how many swings.
///
/// Errors: a folder that cannot be written.
pub fn write(folder: &Path, seed: u64) -> Result<usize, Fail> {
    let mut table = String::from("file,Clubhead speed (mph),Carry (yd)\n");
    let mut swings = 0;
    for (p, player) in PlayerSpec::cast().into_iter().take(PLAYERS).enumerate() {
        for (s, (day, two, club, numbers)) in SESSIONS.into_iter().enumerate() {
            let kind = PlateType::Two;
            let rig = if two { RigSpec::two_plates(kind) } else { RigSpec::one_plate(kind) };
            let rig = rig.in_lab(Axis::PlusZ, TARGET.unit(), glam::DVec3::new(1.2, 0.4, 0.0));
            let seed = seed + 100 * p as u64 + 10 * s as u64;
            let made =
                simulate::session(&player, numbers.len() as u32, seed, &rig, &Noise::USUAL).map_err(bug)?;
            let place = format!("{}/{day}", player.alias.to_lowercase());
            let inside = folder.join(&place);
            std::fs::create_dir_all(&inside).map_err(|e| {
                Fail::input(format!("cannot make the folder {}: {e}", inside.display()))
                    .fix("choose another folder with -o")
            })?;
            // An iron goes slower than a driver.
            let share = if club == "driver" { 1.0 } else { 0.78 };
            for (k, swing) in numbers.zip(&made) {
                let name = format!("{place}/{club}-{k}.c3d");
                export::whole_file(&folder.join(&name), &record::c3d(&swing.recording)?)?;
                table.push_str(&shot(&name, share * player.club_m_s, k));
                swings += 1;
            }
        }
    }
    export::whole_file(&folder.join("launch-monitor.csv"), table.as_bytes())?;
    Ok(swings)
}

/// A row of the invented launch monitor: the player's speed, a little more or less from swing to swing.
fn shot(name: &str, club_m_s: f64, k: usize) -> String {
    const WANDER: [f64; 4] = [0.0, 0.012, -0.015, 0.006];
    let mph = club_m_s * (1.0 + WANDER[k % WANDER.len()]) / 0.44704;
    format!("{name},{mph:.1},{:.0}\n", 2.6 * mph - 18.0)
}

fn bug(error: Unbuildable) -> Fail {
    Fail { exit: Exit::Bug, ..Fail::input(format!("the demo's practice cannot be made: {error}")) }
}
