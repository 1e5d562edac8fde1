//! The demo's practice: what years of work leave in a folder, with truths put into it that questions can find. All invented.
//!
//! [`people`] says who comes and what is true of them; [`write()`] makes the recordings, the launch monitor's table, the table
//! of players and `TRUTH.md`, which says it all in words.
pub mod monitor;
pub mod people;
pub mod truth;

use crate::fail::{Exit, Fail};
use crate::{export, record};
use mechanics::Axis;
use people::{GROUP, REGULARS, SPARE_READS};
use rayon::prelude::*;
use simulate::misfit::{self, PlateMisfit};
use simulate::{Days, Noise, PlateType, PlayerSpec, RigSpec, Simulated, Unbuildable};
use std::path::Path;

/// Where a laboratory of the demo has its target.
pub const TARGET: Axis = Axis::MinusY;

/// The folder of the second rig's recordings, beside that of the practice.
pub const SPARE: &str = "practice-spare";

/// Days of the long record: on one plate, on two, after alder's change, with two rigs at once.
pub const DAYS: [&str; 4] = ["2024-05-14", "2026-05-12", "2026-09-15", "2026-09-22"];

/// Days of the group before the training block; of those who trained, after it.
pub const BEFORE: [&str; 5] = ["2026-06-08", "2026-06-09", "2026-06-10", "2026-06-11", "2026-06-12"];
/// See [`BEFORE`].
pub const AFTER: [&str; 3] = ["2026-07-20", "2026-07-21", "2026-07-22"];

/// How much of it is made: the truths are the same.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Amount {
    /// Swings with the driver a session of the long record on two plates.
    pub record: usize,
    /// Swings a session of the group.
    pub group: usize,
    /// Samples a second of the long record, and of the group.
    pub rate_hz: [f64; 2],
}

impl Amount {
    /// What `underfoot demo` writes.
    pub const DEMO: Self = Self { record: 12, group: 6, rate_hz: [1000.0, 500.0] };
}

/// What was written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Written {
    /// Players.
    pub players: usize,
    /// Swings of the practice.
    pub swings: usize,
    /// Of them, swings that the second rig has recorded too.
    pub twice: usize,
    /// Bytes of all files.
    pub bytes: u64,
}

/// One player, one day, one club.
struct Visit {
    /// The player as ever, whom the folder is called after.
    alias: String,
    day: &'static str,
    club: &'static str,
    /// Numbers of the swings.
    numbers: Vec<usize>,
    /// The player as on that day.
    player: PlayerSpec,
    rig: RigSpec,
    /// Of the swings.
    seed: u64,
    /// The second rig's seed, where there is one.
    spare: Option<u64>,
    /// The launch monitor's figures do not know of the day: speed of the usual swing, m/s.
    club_m_s: f64,
}

/// Writes `PLAYER/DAY/CLUB-NUMBER.c3d`, `launch-monitor.csv`, `players.csv` and `TRUTH.md` into a folder, and what the second
/// rig recorded beside it, into the folder [`SPARE`] with its `rig.toml`. Same seed, same bytes, on any number of threads.
///
/// Errors: a folder that cannot be written.
pub fn write(folder: &Path, seed: u64, amount: &Amount) -> Result<Written, Fail> {
    let made: Vec<(String, Written)> = visits(seed, amount)?
        .par_iter()
        .with_max_len(1)
        .map(|visit| write_visit(folder, visit))
        .collect::<Result<_, Fail>>()?;
    let mut all = Written { players: REGULARS.len() + GROUP.len(), ..Written::default() };
    let mut monitor = String::from(monitor::HEAD);
    for (rows, written) in made {
        monitor.push_str(&rows);
        all.swings += written.swings;
        all.twice += written.twice;
        all.bytes += written.bytes;
    }
    let tables = [
        ("launch-monitor.csv", monitor),
        ("players.csv", players_csv()),
        ("TRUTH.md", truth::text(seed, amount)?),
    ];
    for (name, text) in tables {
        all.put(&folder.join(name), text.as_bytes())?;
    }
    Ok(all)
}

impl Written {
    fn put(&mut self, path: &Path, bytes: &[u8]) -> Result<(), Fail> {
        self.bytes += bytes.len() as u64;
        export::whole_file(path, bytes)
    }
}

/// The recordings of one visit; gives its rows of the launch monitor.
fn write_visit(folder: &Path, visit: &Visit) -> Result<(String, Written), Fail> {
    let place = format!("{}/{}", visit.alias, visit.day);
    let spare = folder.with_file_name(SPARE);
    let (mut rows, mut written) = (String::new(), Written::default());
    made_folder(&folder.join(&place))?;
    for (k, number) in (0..).zip(&visit.numbers) {
        let name = format!("{place}/{}-{number}.c3d", visit.club);
        let made = simulate::nth(&visit.player, &visit.rig, &Noise::USUAL, visit.seed, k).map_err(bug)?;
        written.put(&folder.join(&name), &record::c3d(&made.recording)?)?;
        written.swings += 1;
        rows.push_str(&monitor::row(&name, visit, k));
        let Some(plates) = visit.spare else { continue };
        made_folder(&spare.join(&place))?;
        let made = felt_by_spare(visit, plates, k)?;
        if k == 0 {
            let text = record::rig_text(&made.rig, &made.recording, &[]);
            written.put(&spare.join("rig.toml"), text.as_bytes())?;
        }
        // Its program writes numbers with two digits.
        let name = format!("{place}/{}-{number:02}.c3d", visit.club);
        written.put(&spare.join(name), &record::c3d(&made.recording)?)?;
        written.twice += 1;
    }
    Ok((rows, written))
}

/// Everything that happens, player by player and day by day.
fn visits(seed: u64, amount: &Amount) -> Result<Vec<Visit>, Fail> {
    let mut visits = Vec::new();
    let [early, many, changed, twice] = DAYS;
    let drives: Vec<usize> = (1..5).chain(8..).take(amount.record).collect();
    let day_of = |who: usize, day: u64| seed + 1000 * who as u64 + 10 * day;
    for (who, usual) in people::regulars().into_iter().enumerate() {
        let mut visit =
            |day: &'static str, on: u64, club: &'static str, numbers: Vec<usize>, is: &PlayerSpec| {
                let rig =
                    if day == early { bay(RigSpec::one_plate(PlateType::Two), 1) } else { two_plates(2) };
                let seed = day_of(who, on);
                visits.push(Visit {
                    alias: usual.alias.to_lowercase(),
                    day,
                    club,
                    numbers,
                    player: is.on_day(&Days::USUAL, seed),
                    rig,
                    seed: if club == "driver" { seed } else { seed + 5 },
                    spare: (day == twice).then_some(seed + 7),
                    club_m_s: usual.club_m_s,
                });
            };
        visit(early, 0, "driver", (1..5).collect(), &usual);
        match who {
            0 | 1 => {
                visit(many, 1, "driver", drives.clone(), &usual);
                visit(many, 1, "iron7", (5..8).collect(), &usual);
                let now = if who == 0 { people::alder_changed(&usual) } else { usual.clone() };
                visit(changed, 2, "driver", (1..=amount.record).collect(), &now);
            }
            _ => {
                visit(many, 1, "driver", (1..5).collect(), &usual);
                visit(many, 1, "iron7", (5..8).collect(), &usual);
                visit(twice, 2, "driver", (1..=amount.record).collect(), &usual);
            }
        }
    }
    let mut trained = 0;
    for (k, person) in GROUP.iter().enumerate() {
        let who = REGULARS.len() + k;
        let club_m_s = monitor::usual_speed(person)?;
        let mut visit = |day, on, after| {
            let seed = day_of(who, on);
            visits.push(Visit {
                alias: person.alias.into(),
                day,
                club: "driver",
                numbers: (1..=amount.group).collect(),
                player: person.spec(after).on_day(&Days::USUAL, seed),
                rig: RigSpec { rate_hz: amount.rate_hz[1], marker_rate_hz: 0.0, ..two_plates(2) },
                seed,
                spare: None,
                club_m_s,
            });
        };
        visit(BEFORE[k % BEFORE.len()], 0, false);
        if person.trained.is_some() {
            // The seventh draw: on their first days those who train have, by chance, a quick tempo, beside which other draws
            // look slower than they are.
            visit(AFTER[trained % AFTER.len()], 7, true);
            trained += 1;
        }
    }
    Ok(visits)
}

fn two_plates(number: u64) -> RigSpec {
    bay(RigSpec::two_plates(PlateType::Two), number)
}

/// A laboratory that is not the golf frame; the same plates on every day.
fn bay(rig: RigSpec, number: u64) -> RigSpec {
    RigSpec { bay: Some(number), ..rig }.in_lab(Axis::PlusZ, TARGET.unit(), glam::DVec3::new(1.2, 0.4, 0.0))
}

/// The same swing as the second rig has it: other plates, which read too much.
fn felt_by_spare(visit: &Visit, plates: u64, k: u32) -> Result<Simulated, Fail> {
    let rig = RigSpec { name: "spare".into(), bay: Some(3), ..visit.rig.clone() };
    let made = simulate::nth_felt(&visit.player, &rig, &Noise::USUAL, visit.seed, plates, k).map_err(bug)?;
    let off = PlateMisfit::reading(SPARE_READS, made.rig.plates.len());
    let recording = misfit::record(&made.recording, &made.rig, &off);
    Ok(Simulated { recording, ..made })
}

fn players_csv() -> String {
    let mut out = String::from("alias,hand,sex,handicap,born,note\n");
    let mut row = |alias: &str, hand: &str, sex: &str, handicap: f64, born: i64| {
        // As golfers write it: better than scratch has a plus.
        let sign = if handicap < 0.0 { "+" } else { "" };
        out.push_str(&format!("{alias},{hand},{sex},{sign}{:.1},{born},invented\n", handicap.abs()));
    };
    for (player, (hand, sex, handicap, born)) in people::regulars().iter().zip(REGULARS) {
        row(&player.alias.to_lowercase(), hand, sex, handicap, born);
    }
    for p in &GROUP {
        row(p.alias, view::words::hand(p.hand).trim_end_matches("-handed"), p.sex, p.handicap, p.born);
    }
    out
}

fn made_folder(folder: &Path) -> Result<(), Fail> {
    std::fs::create_dir_all(folder).map_err(|e| {
        Fail::input(format!("cannot make the folder {}: {e}", folder.display()))
            .fix("choose another folder with -o")
    })
}

fn bug(error: Unbuildable) -> Fail {
    Fail { exit: Exit::Bug, ..Fail::input(format!("the demo's practice cannot be made: {error}")) }
}
