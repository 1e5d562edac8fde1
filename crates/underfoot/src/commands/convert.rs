//! `underfoot convert`: C3D to a table, a table to C3D.
use super::{Done, ending, print, tell_findings};
use clap::Args;
use mechanics::{Finding, finding};
use std::path::{Path, PathBuf};
use swing::Settings;
use underfoot::fail::Fail;
use underfoot::open::Loaded;
use underfoot::{export, load, record};

/// Options of `underfoot convert`.
#[derive(Args, Debug)]
pub struct Convert {
    /// The recording
    from: PathBuf,
    /// The file to write: .c3d, .csv or .tsv; a table gets its rig file beside it (NAME.rig.toml)
    to: PathBuf,
    /// Rig file that describes the plates
    #[arg(long, value_name = "RIG")]
    rig: Option<PathBuf>,
    /// Replace a rig file that is there
    #[arg(long)]
    force: bool,
}

/// Runs it.
pub fn run(options: &Convert) -> Done {
    let ending_of = |path: &Path| path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
    let kind = ending_of(&options.to);
    export::not_over(&options.to, &[&options.from, options.rig.as_deref().unwrap_or(&options.from)])?;
    let loaded = load(&options.from, options.rig.as_deref())?;
    let mut lost: Vec<&str> = Vec::new();
    match kind.as_deref() {
        Some("c3d") => {
            let mut recording = loaded.recording.clone();
            recording.plates = loaded.rig.plates.clone();
            recording.up = Some(loaded.rig.up);
            export::whole_file(&options.to, &record::c3d(&recording)?)?;
        }
        Some("csv" | "tsv") => {
            let tabs = kind.as_deref() == Some("tsv");
            let rig = rig_path(&options.to);
            if rig.exists() && !options.force && !loaded.rig.plates.is_empty() {
                return Err(Fail::usage(format!("{} is there already", rig.display()))
                    .fix("choose another name for the table, or add --force to replace the rig file"));
            }
            export::whole_file(&options.to, &record::table(&loaded.recording, tabs))?;
            if !loaded.rig.plates.is_empty() {
                let text = record::rig_text(&loaded.rig, &loaded.recording, &turned(&loaded));
                export::whole_file(&rig, text.as_bytes())?;
                print(&format!("wrote {}\n", rig.display()))?;
            }
            if !loaded.recording.markers.is_empty() {
                lost.push("markers");
            }
            if !loaded.recording.marks.is_empty() {
                lost.push("events");
            }
        }
        _ => {
            return Err(Fail::usage(format!(
                "cannot tell what to write from the name {}",
                options.to.display()
            ))
            .fix("end the name in .c3d, .csv or .tsv"));
        }
    }
    print(&format!("wrote {}\n", options.to.display()))?;
    if !lost.is_empty() {
        eprintln!("note: a table has no place for {}; they were left out", lost.join(" and "));
    }
    tell_findings(&loaded.findings);
    Ok(ending(&loaded.findings))
}

fn rig_path(table: &Path) -> PathBuf {
    table.with_extension("rig.toml")
}

/// Which plates' channels hold the force on the plate, as their own sign tells.
fn turned(loaded: &Loaded) -> Vec<bool> {
    let findings: Vec<Finding> = swing::analyse(&loaded.recording, &loaded.rig, &Settings::UNSTATED)
        .map(|c| c.findings)
        .unwrap_or_default();
    let on_plate = |k| findings.iter().any(|f| f.kind == &finding::FORCE_SIGN_TURNED && f.plate == Some(k));
    (0..loaded.rig.plates.len()).map(on_plate).collect()
}
