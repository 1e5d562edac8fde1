//! Lesson mode: from the last byte of a recording to its stored result. `cargo bench -p archive --bench watch -- [SWINGS]`
//!
//! A thread writes invented recordings (1 kHz, two plates, 250 Hz markers) in pieces, as capture programs do, in three ways:
//! closed after the last piece, left open, and under another name that is changed at the end. Times are taken with one clock:
//! from the return of the last write (or of the renaming) until watching tells that the swing is in the study.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)] // a bench may

use archive::watch::{Event, Took, WatchSettings, watch};
use archive::{Player, Session, Study, StudySettings, keep};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Style};
use std::fs::File;
use std::io::Write as _;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::channel;
use std::time::{Duration, Instant};

/// How a capture program ends its file.
#[derive(Clone, Copy, Debug)]
enum Ending {
    Closed,
    LeftOpen,
    Renamed,
}

fn recordings(count: usize, seed: u64) -> Vec<Vec<u8>> {
    let rig = RigSpec { marker_rate_hz: 250.0, ..RigSpec::two_plates(PlateType::Two) };
    let player = PlayerSpec::right(Style::early());
    let swings = simulate::session(&player, count as u32, seed, &rig, &Noise::USUAL).unwrap();
    let encode =
        |s: &simulate::Simulated| formats::c3d::encode(&s.recording, &formats::c3d::Encoding::PLAIN).unwrap();
    swings.iter().map(encode).collect()
}

/// Writes a recording in pieces; gives the instant of its last byte.
fn record(folder: &Path, name: &str, bytes: &[u8], ending: Ending, open: &mut Vec<File>) -> Instant {
    let path = folder.join(format!("{name}.c3d"));
    let writing =
        if matches!(ending, Ending::Renamed) { folder.join(format!("{name}.tmp")) } else { path.clone() };
    let mut file = File::create(&writing).unwrap();
    for piece in bytes.chunks(32 * 1024) {
        std::thread::sleep(Duration::from_millis(3));
        file.write_all(piece).unwrap();
    }
    let last = Instant::now();
    match ending {
        Ending::Closed => last,
        Ending::LeftOpen => {
            open.push(file);
            last
        }
        Ending::Renamed => {
            drop(file);
            std::fs::rename(&writing, &path).unwrap();
            Instant::now()
        }
    }
}

fn quantile(values: &[f64], q: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted[((sorted.len() - 1) as f64 * q).round() as usize]
}

fn line(what: &str, values: &[f64]) {
    let ms = |q: f64| 1e3 * quantile(values, q);
    println!("  {what:<40} {:>7.1} {:>7.1} {:>7.1}", ms(0.5), ms(0.95), ms(1.0));
}

fn main() {
    let count = std::env::args().filter_map(|a| a.parse::<usize>().ok()).next().unwrap_or(50);
    let target = Path::new(env!("CARGO_TARGET_TMPDIR")).join("bench-watch");
    let _ = std::fs::remove_dir_all(&target);
    let folder = target.join("captures");
    std::fs::create_dir_all(&folder).unwrap();
    let study = Study::create(&target.join("study"), &StudySettings::named("bench")).unwrap();
    let player = Player { hand: Some("right".into()), ..Player::called("P01") };
    let player = study.add_player(&player, None).unwrap();
    let session = Session { target: Some("+x".into()), ..Session::of(player) };
    let session = study.add_session(&session).unwrap();

    let (send, events) = channel();
    let stop = Arc::new(AtomicBool::new(false));
    let (other, there, stop_there) = (study.again().unwrap(), folder.clone(), stop.clone());
    let watching = std::thread::spawn(move || {
        let tell = |event| send.send((Instant::now(), event)).unwrap();
        watch(&other, &there, &WatchSettings::of(session), tell, &stop_there)
    });
    let _ = events.recv().unwrap();

    for (seed, ending) in [(1, Ending::Closed), (2, Ending::LeftOpen), (3, Ending::Renamed)] {
        let files = recordings(count, seed);
        let (mut total, mut took, mut open): (Vec<f64>, Vec<Took>, Vec<File>) = Default::default();
        for (k, bytes) in files.iter().enumerate() {
            let last = record(&folder, &format!("{seed}-{k:03}"), bytes, ending, &mut open);
            let (at, event) = events.recv_timeout(Duration::from_secs(20)).unwrap();
            let Event::Kept { took: t, .. } = event else { panic!("{event:?}") };
            total.push((at - last).as_secs_f64());
            took.push(t);
            std::thread::sleep(Duration::from_millis(100));
        }
        let of = |part: fn(&Took) -> f64| took.iter().map(part).collect::<Vec<f64>>();
        let known = of(|t| t.settling_s + t.reading_s + t.measuring_s + t.storing_s);
        let noticing: Vec<f64> = total.iter().zip(&known).map(|(t, k)| t - k).collect();
        println!(
            "{count} swings of {} kB, {ending:?}: ms            median     p95    most",
            files[0].len() / 1000
        );
        line("last byte to stored result", &total);
        line("  noticing that it has changed", &noticing);
        line("  letting it settle", &of(|t| t.settling_s));
        line("  reading, seeing that it is whole", &of(|t| t.reading_s));
        line("  measuring", &of(|t| t.measuring_s));
        line("  placing its files, catalogue", &of(|t| t.storing_s));
        println!("  first swing: {:.1} ms", 1e3 * total[0]);
    }
    stop.store(true, Ordering::Relaxed);
    watching.join().unwrap().unwrap();

    // What measuring and placing are made of.
    let wanted = study.wanted(None).unwrap();
    let (_, basis) = study.usual_basis().unwrap();
    let (mut measuring, mut placing) = (Vec::new(), Vec::new());
    for wanted in wanted.iter().take(count) {
        let bytes = std::fs::read(wanted.path(&study.root)).unwrap();
        let begin = Instant::now();
        let made = wanted.measure_bytes(&bytes, &basis, true).unwrap();
        measuring.push(begin.elapsed().as_secs_f64());
        let begin = Instant::now();
        let series = made.series.unwrap_or_default();
        // Under a name of its own, since the original is there.
        let hash = keep::hash(wanted.hash.as_bytes());
        let files = [keep::Placing::Original(&bytes, &hash, "c3d"), keep::Placing::Series(&series, &hash)];
        keep::put_all(&study.root, &files).unwrap();
        placing.push(begin.elapsed().as_secs_f64());
    }
    println!("by themselves, one at a time");
    line("measuring, series as Parquet", &measuring);
    line("original flushed to the disk, series written", &placing);
}
