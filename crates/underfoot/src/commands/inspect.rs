//! `underfoot inspect`: what is in a recording.
use super::{Done, as_finding, ending, no_swing, print, print_json, tell_findings};
use crate::asked::Asked;
use clap::Args;
use swing::SwingError;

/// Options of `underfoot inspect`.
#[derive(Args, Debug)]
pub struct Inspect {
    #[command(flatten)]
    asked: Asked,
    /// List every channel and marker
    #[arg(long)]
    all: bool,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Runs it. A recording that cannot be analysed is still shown.
pub fn run(options: &Inspect) -> Done {
    let loaded = options.asked.load()?;
    let how = options.asked.how.settings(&loaded)?;
    let mut findings = loaded.findings.clone();
    let mut unusable = None;
    let swing = match swing::analyse_into(&loaded.recording, &loaded.rig, &how, &mut findings) {
        Ok(swing) => Some(swing),
        Err(error) => {
            findings.extend(as_finding(&error, &findings));
            let usage = matches!(error, SwingError::TargetUnusable(_) | SwingError::AboutUnavailable(_));
            unusable = usage.then(|| no_swing(&loaded, error));
            None
        }
    };
    let page = view::inspect::view(&loaded.recording, &loaded.rig, swing.as_ref(), &findings);
    if options.json {
        print_json(&page)?;
    } else {
        print(&view::inspect::text(&page, swing.as_ref(), options.all))?;
        tell_findings(&findings);
    }
    unusable.map_or_else(|| Ok(ending(&findings)), Err)
}
