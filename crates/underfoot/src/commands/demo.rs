//! `underfoot demo`: the whole job on an invented player, through real files.
use super::{Done, print, simulate::write_session, tell_findings};
use clap::Args;
use mechanics::{Axis, Finding, Hand};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Simulated, Style};
use std::path::PathBuf;
use swing::{MeasureSettings, Measurement, Settings};
use underfoot::fail::{Exit, Fail};
use underfoot::load;
use underfoot::open::Loaded;
use underfoot::practice::{self, Amount, TARGET};
use view::Convention;
use view::ledger::At;
use view::quantity::{plain, signed};

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
    // A laboratory that is not the golf frame.
    let rig = RigSpec::two_plates(PlateType::Two).in_lab(
        Axis::PlusZ,
        TARGET.unit(),
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
        let (measured, findings) = measure(&loaded, Some(mechanics::Target::Axis(TARGET)))?;
        told.extend(findings);
        sessions.push((loaded, measured));
    }
    if let Some((loaded, measured)) = sessions.first() {
        let (rig, swing) = (&loaded.rig, &measured.swing);
        let page = view::ledger::view(&loaded.recording, rig, swing, &[], At::Peaks, Convention::USUAL);
        let page = page.map_err(|_| Fail { exit: Exit::Bug, ..Fail::input("the demo has no peaks") })?;
        print(&view::ledger::text(&page))?;
        let page = view::measure::view(&loaded.recording, measured, &[], Convention::USUAL);
        print(&format!("\n{}", view::measure::text(&page, measured)))?;
    }
    session_table(&truths, &sessions)?;

    let csv = options.out.join(format!("{}.csv", stem(0)));
    let table = load(&csv, Some(&options.out.join("rig.toml")))?;
    let (from_table, _) = measure(&table, None)?;
    if let Some((_, from_c3d)) = sessions.first() {
        print(&format!(
            "\nThe same swing from {} with rig.toml differs from its C3D by at most {} N·m of turn.\n",
            csv.file_name().map(|n| n.to_string_lossy()).unwrap_or_default(),
            farthest(&from_table.swing.ledger.turn_nm, &from_c3d.swing.ledger.turn_nm)
        ))?;
    }
    let folder = options.out.join("practice");
    let written = practice::write(&folder, options.seed, &Amount::DEMO)?;
    print(&format!(
        "\nA practice of {} invented players, {} swings on one plate (2024) and on two (2026), {:.0} MB, is in\n\
         {}; what is true of it is told in its TRUTH.md.\n\
         The README makes a study of it; it begins with\n\n  \
         underfoot study new practice && cd practice\n  \
         underfoot player add --from {}\n",
        written.players,
        written.swings + written.twice,
        written.bytes as f64 / 1e6,
        folder.display(),
        std::path::Path::new("..").join(&folder).join("players.csv").display(),
    ))?;
    tell_findings(&told);
    print(&format!(
        "\nNext:  underfoot measure {c3d} --target -y --hand right --all\n       underfoot ledger {c3d} --target -y --hand right --at {at}\n       underfoot series {c3d} --target -y --hand right -o swing.csv\n\n{CAUTION}",
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

fn measure(loaded: &Loaded, target: Option<mechanics::Target>) -> Result<(Measurement, Vec<Finding>), Fail> {
    let how = Settings { target, hand: Some(Hand::Right), ..Settings::UNSTATED };
    let mut findings = loaded.findings.clone();
    let checked =
        swing::measure(&loaded.recording, &loaded.rig, &how, &MeasureSettings::UNSTATED).map_err(|e| {
            Fail { exit: Exit::Bug, ..Fail::input(format!("the demo cannot be measured: {e:?}")) }
        })?;
    Ok((checked.take(&mut findings), findings))
}

/// One line a swing, with the truth of its turn beside what was measured.
fn session_table(truths: &[Simulated], sessions: &[(Loaded, Measurement)]) -> Result<(), Fail> {
    print("\nSESSION, ± half of a 95 % interval\n")?;
    let mut lines = Vec::new();
    let mut truth_nm = Vec::new();
    for (simulated, (loaded, measured)) in truths.iter().zip(sessions) {
        let page = view::measure::view(&loaded.recording, measured, &[], Convention::USUAL);
        lines.push(view::measure::line(&page));
        let truth = &simulated.truth;
        let turns = (0..truth.len())
            .map(|k| measured.swing.player.hand.turn_sign() * truth.moment_about(k, truth.net_cop_m(k)).z);
        truth_nm.push(signed(turns.fold(f64::NAN, f64::max), 1));
    }
    print(&view::measure::lines(&lines, Some((["turn, truth", "N·m"], &truth_nm))))
}

fn farthest(a: &[f64], b: &[f64]) -> String {
    let most = a.iter().zip(b).map(|(a, b)| (a - b).abs()).filter(|d| d.is_finite()).fold(0.0, f64::max);
    format!("{most:.0e}")
}
