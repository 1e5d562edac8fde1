//! `underfoot demo`: the whole job on an invented player, through real files.
use super::{Done, print, simulate::write_session, tell_findings};
use clap::Args;
use mechanics::{Axis, Finding, Hand};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Simulated, Style};
use std::path::PathBuf;
use swing::{Settings, Swing};
use underfoot::fail::{Exit, Fail};
use underfoot::load;
use underfoot::open::Loaded;
use view::Convention;
use view::ledger::At;
use view::quantity::{plain, signed};
use view::table::{Align, Table};

/// Options of `underfoot demo`.
#[derive(Args, Debug)]
pub struct Demo {
    /// Folder for the recordings
    #[arg(short, long, value_name = "FOLDER", default_value = "underfoot-demo")]
    out: PathBuf,
    /// Another seed, another session
    #[arg(long, default_value_t = 7)]
    seed: u64,
}

const SWINGS: u32 = 6;

/// Runs it.
pub fn run(options: &Demo) -> Done {
    let player = PlayerSpec::right(Style::early());
    // A laboratory that is not the golf frame: the target is along −y.
    let rig = RigSpec::two_plates(PlateType::Two).in_lab(
        Axis::PlusZ,
        Axis::MinusY.unit(),
        glam::DVec3::new(1.2, 0.4, 0.0),
    );
    let truths = simulate::session(&player, SWINGS, options.seed, &rig, &Noise::USUAL).map_err(|e| Fail {
        exit: Exit::Bug,
        ..Fail::input(format!("the demo session cannot be made: {e}"))
    })?;
    write_session(&options.out, &truths, true, true)?;
    print(&format!(
        "An invented player ({}, right-handed, {:.0} kg) made {SWINGS} swings on two invented plates.\n\
         The recordings are in {}: C3D, CSV with rig.toml, and the truth beside them.\n\
         Everything below was read back from those files.\n\n",
        player.alias,
        player.mass_kg,
        options.out.display()
    ))?;

    let stem = |k: usize| format!("{}-{:02}", player.alias.to_lowercase(), k + 1);
    let mut sessions = Vec::new();
    let mut told: Vec<Finding> = Vec::new();
    for k in 0..truths.len() {
        let loaded = load(&options.out.join(format!("{}.c3d", stem(k))), None)?;
        let (swing, findings) = analyse(&loaded, Some(mechanics::Target::Axis(Axis::MinusY)))?;
        told.extend(findings);
        sessions.push((loaded, swing));
    }
    if let Some((loaded, swing)) = sessions.first() {
        let page =
            view::ledger::view(&loaded.recording, &loaded.rig, swing, &[], At::Peaks, Convention::USUAL);
        let page = page.map_err(|_| Fail { exit: Exit::Bug, ..Fail::input("the demo has no peaks") })?;
        print(&view::ledger::text(&page))?;
    }
    session_table(&truths, &sessions)?;

    let csv = options.out.join(format!("{}.csv", stem(0)));
    let table = load(&csv, Some(&options.out.join("rig.toml")))?;
    let (from_table, _) = analyse(&table, None)?;
    if let Some((_, from_c3d)) = sessions.first() {
        print(&format!(
            "\nThe same swing from {} with rig.toml differs from its C3D by at most {} N·m of turn.\n",
            csv.file_name().map(|n| n.to_string_lossy()).unwrap_or_default(),
            farthest(&from_table.ledger.turn_nm, &from_c3d.ledger.turn_nm)
        ))?;
    }
    tell_findings(&told);
    print(&format!(
        "\nNext:  underfoot ledger {c3d} --target -y --hand right --at {at}\n       underfoot series {c3d} --target -y --hand right -o swing.csv\n\n{CAUTION}",
        c3d = options.out.join(format!("{}.c3d", stem(0))).display(),
        at = truths.first().map_or(String::new(), |t| plain(t.truth.events.impact_s, 3)),
    ))?;
    Ok(None)
}

/// Said at the end of every demonstration.
const CAUTION: &str = "\
Full-effort swings and jumps on force plates can hurt people: warm up, check surface, footwear and surroundings,
keep everybody out of the swing's and the ball's way, rest, and stop on pain. The plate maker's manual, local
rules and licensed practice come first. Underfoot measures; it is not a medical device.
";

fn analyse(loaded: &Loaded, target: Option<mechanics::Target>) -> Result<(Swing, Vec<Finding>), Fail> {
    let how = Settings { target, hand: Some(Hand::Right), ..Settings::UNSTATED };
    let mut findings = loaded.findings.clone();
    let checked = swing::analyse(&loaded.recording, &loaded.rig, &how).map_err(|e| Fail {
        exit: Exit::Bug,
        ..Fail::input(format!("the demo cannot be analysed: {e:?}"))
    })?;
    Ok((checked.take(&mut findings), findings))
}

/// One line a swing: the account of turn at its peak before impact, against the truth.
fn session_table(truths: &[Simulated], sessions: &[(Loaded, Swing)]) -> Result<(), Fail> {
    print("\nSESSION, turn about the net centre of pressure at its greatest before impact, N·m\n")?;
    let r = Align::Right;
    let mut table = Table::new(&[Align::Left, r, r, r, r, r, r, r, r, r]);
    table.row([
        "swing",
        "before impact",
        "trail free",
        "lead free",
        "toe couple",
        "target couple",
        "offset",
        "sum",
        "truth",
        "up, most",
    ]);
    table.row(["", "s", "", "", "", "", "", "", "", "%BW"]).rule();
    for (simulated, (loaded, swing)) in truths.iter().zip(sessions) {
        let impact_s = simulated.truth.events.impact_s;
        let last = ((impact_s * swing.rate_hz) as usize).min(swing.ledger.turn_nm.len());
        let Some(k) = greatest(&swing.ledger.turn_nm[..last]) else { continue };
        let Some(turn) = &swing.ledger.turn else { continue };
        let entries = [
            turn.free_trail_nm[k],
            turn.free_lead_nm[k],
            turn.couple_toe_nm[k],
            turn.couple_target_nm[k],
            swing.ledger.offset_nm[k],
        ];
        let truth = simulated.truth.moment_about(k, simulated.truth.net_cop_m(k)).z;
        let up = greatest(&swing.ledger.net.up_n).map_or(f64::NAN, |k| swing.ledger.net.up_n[k]);
        let mut cells = vec![loaded.recording.name.clone(), signed(k as f64 / swing.rate_hz - impact_s, 3)];
        cells.extend(entries.iter().map(|v| signed(*v, 1)));
        cells.push(signed(entries.iter().sum(), 1));
        cells.push(signed(truth * swing.player.hand.turn_sign(), 1));
        cells.push(plain(swing.body_weight_n.map_or(f64::NAN, |w| w.percent(up)), 0));
        table.row(cells);
    }
    print(&table.text())
}

fn greatest(column: &[f64]) -> Option<usize> {
    (0..column.len()).filter(|k| column[*k].is_finite()).max_by(|a, b| column[*a].total_cmp(&column[*b]))
}

fn farthest(a: &[f64], b: &[f64]) -> String {
    let most = a.iter().zip(b).map(|(a, b)| (a - b).abs()).filter(|d| d.is_finite()).fold(0.0, f64::max);
    format!("{most:.0e}")
}
