//! How long it takes to ask a large study: `cargo bench -p archive --bench query -- [SWINGS]`. A few invented swings are
//! really measured; the rows made of them are then copied, each figure changed a little, into a catalogue of as many swings
//! (about 20 KB each; the folder is removed at the end unless `--keep`, and with it taken up again the next time).
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)] // a bench may

use archive::condition::metric_called;
use archive::import::Incoming;
use archive::list::{By, Order};
use archive::{Player, Selection, Session, Study, StudySettings};
use rusqlite::{Connection, params};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Style};
use std::path::Path;
use std::time::Instant;

/// Really measured: the first half on two plates, the second on one.
const MEASURED: usize = 8;
/// Swings of a session, sessions of a player.
const A_SESSION: usize = 50;
const A_PLAYER: usize = 10;

fn measured(root: &Path) {
    let _ = std::fs::remove_dir_all(root);
    let study =
        Study::create(root, &StudySettings { series: false, ..StudySettings::named("bench") }).unwrap();
    let player = Player { hand: Some("right".into()), ..Player::called("P0000") };
    let player = study.add_player(&player, None).unwrap();
    let session =
        Session { target: Some("+x".into()), date: Some("2020-01-01".into()), ..Session::of(player) };
    let session = study.add_session(&session).unwrap();
    let folder = root.join("in");
    std::fs::create_dir_all(&folder).unwrap();
    let mut incoming = Vec::new();
    let kind = PlateType::Two;
    for (seed, rig) in [RigSpec::two_plates(kind), RigSpec::one_plate(kind)].into_iter().enumerate() {
        let player = PlayerSpec::right(Style::early());
        let count = MEASURED as u32 / 2;
        for (k, swing) in
            simulate::session(&player, count, seed as u64, &rig, &Noise::USUAL).unwrap().iter().enumerate()
        {
            let path = folder.join(format!("{seed}-{k}.c3d"));
            let bytes = formats::c3d::encode(&swing.recording, &formats::c3d::Encoding::PLAIN).unwrap();
            std::fs::write(&path, bytes).unwrap();
            incoming.push(Incoming::new(&path, session));
        }
    }
    study.import(&incoming, |_, _| (), || true).unwrap();
}

/// A number between 0 and 1 that follows from two others (the finaliser of SplitMix64).
fn chance(a: u64, b: u64) -> f64 {
    let mut z = a.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ b.wrapping_mul(0xd1b5_4a32_d192_ed03);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}

/// Copies the rows of the measured swings until there are `count` swings: swing n has those of one of them.
fn multiply(root: &Path, count: usize) {
    let mut db = Connection::open(root.join("catalogue.sqlite")).unwrap();
    db.pragma_update(None, "synchronous", "off").unwrap();
    let change = db.transaction().unwrap();
    let sessions = count.div_ceil(A_SESSION);
    for session in 2..=sessions {
        let player = 1 + (session - 1) / A_PLAYER;
        if (session - 1) % A_PLAYER == 0 {
            let put = "INSERT INTO player (id, alias, alias_key, hand, added_at) VALUES (?1, ?2, lower(?2), 'right', '')";
            change.execute(put, params![player as i64, format!("P{:04}", player - 1)]).unwrap();
        }
        // Days in no order of the numbers, as years of files are taken in.
        let day = (chance(session as u64, 1) * 2000.0) as u32;
        let date = format!("{}-{:02}-{:02}", 2018 + day / 336, 1 + day / 28 % 12, 1 + day % 28);
        change
            .execute(
                "INSERT INTO session (id, player, date, target, added_at) VALUES (?1, ?2, ?3, '+x', '')",
                params![session as i64, player as i64, date],
            )
            .unwrap();
    }
    let clubs = ["Driver", "7 iron", "Wedge", "5 wood"];
    change.execute("UPDATE swing SET club = 'Driver'", []).unwrap();
    // Of a session all swings are on two plates, or on one.
    let model = |swing: usize| {
        let half = (swing - 1) / A_SESSION % 2;
        (1 + half * MEASURED / 2 + (swing - 1) % (MEASURED / 2)) as i64
    };
    {
        let mut put = change
            .prepare(
                "INSERT INTO swing SELECT ?2, ?3, ?4, ?5, ending, bytes, ?6, file_time, recorded_at, ?7, note, imported_at, folders
                 FROM swing WHERE id = ?1",
            )
            .unwrap();
        let mut measurement = change
            .prepare(
                "INSERT INTO measurement SELECT basis, ?2, recipe, rig_version, maker, measured_at, failed, feet, plates,
                 hand, body_weight_n, body_weight_from, rate_hz, samples, start_s, conditioning, stops, doubts, notes,
                 figures, series, series_hash, NULL FROM measurement WHERE basis = 1 AND swing = ?1",
            )
            .unwrap();
        let mut event = change
            .prepare(
                "INSERT INTO event SELECT basis, ?2, event, time_s, u_s, source, method, seen FROM event
                 WHERE basis = 1 AND swing = ?1",
            )
            .unwrap();
        let mut finding = change
            .prepare(
                "INSERT INTO finding SELECT basis, ?2, number, code, severity, plate, from_s, to_s, seen, remedy
                 FROM finding WHERE basis = 1 AND swing = ?1",
            )
            .unwrap();
        let mut rare = change
            .prepare(
                "INSERT INTO finding VALUES (1, ?1, 99, 'Q303', 'doubt', 1, NULL, NULL, 'planted', 'none')",
            )
            .unwrap();
        let mut tag = change.prepare("INSERT INTO tag VALUES (?1, ?2)").unwrap();
        let mut log = change
            .prepare("INSERT INTO change (at, program, what, player, session, swing, after) VALUES ('', '', ?1, ?2, ?3, ?4, ?5)")
            .unwrap();
        for swing in MEASURED + 1..=count {
            let session = 1 + (swing - 1) / A_SESSION;
            let hash =
                format!("{:064x}", (swing as u128).wrapping_mul(0x9e37_79b9_7f4a_7c15_f39c_c060_5ced_c835));
            let number = 1 + (swing - 1) % A_SESSION;
            let club = clubs[(chance(swing as u64, 2) * 4.0) as usize % 4];
            let (id, from) = (swing as i64, model(swing));
            let name = format!("session {session:05} swing {number:02}.c3d");
            put.execute(params![from, id, session as i64, number as i64, hash, name, club]).unwrap();
            measurement.execute(params![from, id]).unwrap();
            event.execute(params![from, id]).unwrap();
            finding.execute(params![from, id]).unwrap();
            if swing % 20 == 0 {
                rare.execute([id]).unwrap();
            }
            if number <= 5 {
                tag.execute(params![id, "warm-up"]).unwrap();
            }
            let player = (1 + (session - 1) / A_PLAYER) as i64;
            log.execute(params!["swing imported", player, session as i64, id, hash]).unwrap();
        }
    }
    figures(&change, count, model);
    change.commit().unwrap();
    db.pragma_update(None, "wal_checkpoint", "truncate").unwrap();
}

fn figures(db: &Connection, count: usize, model: impl Fn(usize) -> i64) {
    let metrics: i64 = db.query_row("SELECT count(*) FROM metric", [], |r| r.get(0)).unwrap();
    let mut put = db
        .prepare(
            "INSERT INTO figure SELECT metric, basis, ?3, value * ?4, u, by_weight * ?4, by_weight_u, at_s, led_by,
             led_share, estimated, touched, absent FROM figure WHERE metric = ?1 AND basis = 1 AND swing = ?2",
        )
        .unwrap();
    for metric in 1..=metrics {
        for swing in MEASURED + 1..=count {
            let factor = 0.9 + 0.2 * chance(swing as u64, 100 + metric as u64);
            put.execute(params![metric, model(swing), swing as i64, factor]).unwrap();
        }
    }
}

/// The quickest and the median of eleven (of fewer, where they take more than three seconds together), after one that is
/// told by itself: it finds nothing in the connection's memory.
fn time<T>(what: &str, mut act: impl FnMut() -> T) -> T {
    let once = |act: &mut dyn FnMut() -> T| {
        let begin = Instant::now();
        let answer = act();
        (begin.elapsed().as_secs_f64() * 1e3, answer)
    };
    let (first, answer) = once(&mut act);
    let mut took = Vec::new();
    while took.len() < 11 && (took.is_empty() || took.iter().sum::<f64>() < 3000.0) {
        took.push(once(&mut act).0);
    }
    took.sort_by(f64::total_cmp);
    let (least, median) = (took[0], took[took.len() / 2]);
    println!("{what:44} first {first:8.1}   least {least:8.1}   median {median:8.1} ms");
    answer
}

fn main() {
    let count = std::env::args().filter_map(|a| a.parse::<usize>().ok()).next().unwrap_or(10_000);
    let asked = |word: &str| std::env::args().any(|a| a == word);
    let root = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("bench-query-{count}"));
    if !root.join("study.toml").is_file() || !asked("--keep") {
        measured(&root);
        let begin = Instant::now();
        multiply(&root, count);
        println!("{count} swings written in {:.1} s", begin.elapsed().as_secs_f64());
    }
    let bytes = std::fs::metadata(root.join("catalogue.sqlite")).unwrap().len();
    println!(
        "catalogue: {:.0} MB, {:.1} KB a swing\n",
        bytes as f64 / 1e6,
        bytes as f64 / 1e3 / count as f64
    );

    let study = time("open", || Study::open(&root).unwrap());
    let words = |word: &str| vec![word.to_string()];
    let none = Selection::default;
    let first_page = |what: &str, selection: Selection, order: Order| {
        let page = time(what, || study.list(&selection, order, Some(50), 0).unwrap());
        println!("{:44} {} of {}", "", page.rows.len(), page.total);
    };
    let newest = Order::NEWEST;
    first_page("list, newest", none(), newest);
    first_page("list, one player", Selection { players: words("P0001"), ..none() }, newest);
    first_page("list, one club", Selection { clubs: words("driver"), ..none() }, newest);
    let year = Selection { from: Some("2020-01-01".into()), to: Some("2020-12-31".into()), ..none() };
    first_page("list, one year", year, newest);
    first_page("list, one finding (1 in 20)", Selection { findings: words("Q303"), ..none() }, newest);
    first_page("list, one tag (1 in 10)", Selection { tags: words("warm-up"), ..none() }, newest);
    first_page("list, two plates", Selection { feet: Some(2), ..none() }, newest);
    first_page("list, no stops", Selection { no_stops: true, ..none() }, newest);
    let on = |text: &str| Selection { metrics: vec![text.parse().unwrap()], ..none() };
    first_page("list, up.net.most > 170 %BW", on("up.net.most > 170 %BW"), newest);
    first_page("list, up.net.most > 100 %BW", on("up.net.most > 100 %BW"), newest);
    let metric = metric_called("up.net.most").unwrap();
    first_page("list, greatest up.net.most", none(), Order { by: By::Metric(metric), reverse: false });
    first_page("list, by player", none(), Order { by: By::Player, reverse: false });
    let page = study.list(&none(), newest, Some(50), count / 2).unwrap();
    println!("{:44} {} of {}", "", page.rows.len(), page.total);
    time("list, newest, from the middle on", || study.list(&none(), newest, Some(50), count / 2).unwrap());
    time("list, everything", || study.list(&none(), newest, None, 0).unwrap());

    time("values of one metric, everything", || study.values_of(metric, &none()).unwrap());
    let foot = metric_called("up.lead.most").unwrap();
    time("values, a foot's metric, everything", || study.values_of(foot, &none()).unwrap());
    let club = Selection { clubs: words("driver"), feet: Some(2), ..none() };
    time("values, a club on two plates", || study.values_of(metric, &club).unwrap());
    let player = Selection { players: words("P0001"), ..none() };
    time("values, one player", || study.values_of(metric, &player).unwrap());
    time("common ground, one player", || study.common_ground(&player).unwrap());
    let ground = time("common ground, everything", || study.common_ground(&none()).unwrap());
    println!("{:44} {} metrics of {} + {} swings", "", ground.metrics.len(), ground.one, ground.two);
    let (basis, _) = study.usual_basis().unwrap();
    let stale = time("stale", || study.stale(basis, true).unwrap());
    println!("{:44} {} swings", "", stale.len());
    time("info", || study.info().unwrap());
    drop(study);
    if !asked("--keep") {
        std::fs::remove_dir_all(&root).unwrap();
    }
}
