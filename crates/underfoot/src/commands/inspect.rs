//! `underfoot inspect`: what is in a recording.
use super::{Done, ending, print, print_json, tell_findings};
use crate::asked::Asked;
use clap::Args;
use swing::SwingError;
use underfoot::fail::Fail;

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
    let swing = match swing::analyse(&loaded.recording, &loaded.rig, &how) {
        Ok(checked) => Some(checked.take(&mut findings)),
        Err(SwingError::NothingLoaded(peak)) => {
            let seen = format!("the largest vertical force is {peak:.1} N");
            findings.push(mechanics::Finding::new(&mechanics::finding::NOTHING_LOADED, seen));
            None
        }
        Err(SwingError::NoPlates) => {
            if !findings.iter().any(|f| f.kind == &mechanics::finding::FILE_NO_PLATES) {
                let seen = "no plate that can be read";
                findings.push(mechanics::Finding::new(&mechanics::finding::FILE_NO_PLATES, seen));
            }
            None
        }
        Err(SwingError::TargetUnusable(why)) => {
            unusable = Some(Fail::usage(why).at("--target, or `target` in the rig file"));
            None
        }
        Err(SwingError::AboutUnavailable(why)) => {
            unusable = Some(Fail::usage(why).at("--about"));
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
