//! `underfoot check`: what a careful reader would notice in recordings, and what to do about it.
use super::{Done, as_finding, no_swing, print, print_json};
use crate::asked::How;
use clap::Args;
use mechanics::Finding;
use std::path::{Path, PathBuf};
use swing::SwingError;
use swing::events::EventSettings;
use underfoot::batch::{self, Chosen};
use underfoot::fail::{Exit, Fail};
use view::check::{CheckView, ChecksView};

/// Options of `underfoot check`.
#[derive(Args, Debug)]
pub struct Check {
    /// Recordings, or folders of recordings (.c3d, .csv, .tsv, .txt; their own folders are not opened)
    #[arg(required = true, value_name = "FILE|FOLDER")]
    files: Vec<PathBuf>,
    #[command(flatten)]
    how: How,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Runs it: 0 without a stop, 1 with one, 3 where a recording could not be read.
pub fn run(options: &Check) -> Done {
    let chosen = batch::choose(&options.files)?;
    let recordings = batch::each(&chosen, |file| one(file, &options.how, &chosen));
    let recordings = recordings.into_iter().collect::<Result<Vec<CheckView>, Fail>>()?;
    let left_out = chosen.left_out.iter().map(|p| short(p)).collect();
    let checks = ChecksView { schema: "underfoot.check/1", recordings, left_out };
    if options.json {
        print_json(&checks)?;
    } else {
        match checks.recordings.as_slice() {
            [only] if !chosen.many => print(&view::check::one(only))?,
            _ => print(&view::check::many(&checks))?,
        }
    }
    let any = |holds: fn(&CheckView) -> bool| checks.recordings.iter().any(holds);
    Ok(if any(|c| c.error.is_some()) {
        Some(Exit::Input)
    } else if any(|c| c.stops > 0) {
        Some(Exit::Findings)
    } else {
        None
    })
}

/// One recording. One that cannot be read is told among the others; alone it is the failure.
///
/// Errors: what is wrong with the command, or with the only recording.
fn one(file: &Path, how: &How, chosen: &Chosen) -> Result<CheckView, Fail> {
    match findings(file, how) {
        Ok(findings) => Ok(CheckView::new(short(file), &findings, None)),
        // Among many one failure stops none, whatever it is.
        Err(fail) if chosen.many => Ok(CheckView::new(short(file), &[], Some(fail.what))),
        Err(fail) => Err(fail),
    }
}

/// Everything that is noticed in a recording.
fn findings(file: &Path, how: &How) -> Result<Vec<Finding>, Fail> {
    let loaded = how.load(file)?;
    let settings = how.settings(&loaded)?;
    let mut findings = loaded.findings.clone();
    match swing::analyse_into(&loaded.recording, &loaded.rig, &settings, &mut findings) {
        Ok(swing) => {
            let events = EventSettings::UNSTATED;
            swing::events::locate(&loaded.recording, &loaded.rig, &swing, &events).take(&mut findings);
        }
        Err(error @ (SwingError::TargetUnusable(_) | SwingError::AboutUnavailable(_))) => {
            return Err(no_swing(&loaded, error));
        }
        Err(error) => findings.extend(as_finding(&error, &findings)),
    }
    Ok(findings)
}

/// The file's name without its folder.
fn short(file: &Path) -> String {
    file.file_name().map_or_else(|| file.display().to_string(), |n| n.to_string_lossy().into_owned())
}
