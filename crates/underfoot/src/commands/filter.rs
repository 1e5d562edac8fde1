//! `underfoot filter`: which low-pass a recording proposes.
use super::{Done, ending, no_swing, print, print_json, tell_findings};
use crate::asked::Asked;
use clap::Args;

/// Options of `underfoot filter`.
#[derive(Args, Debug)]
pub struct Filter {
    #[command(flatten)]
    asked: Asked,
    /// Propose a cut-off by residual analysis and draw it (what the command does, also without it)
    #[arg(long)]
    suggest: bool,
    /// For machines, with every residual
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(options: &Filter) -> Done {
    let loaded = options.asked.load()?;
    let (how, order) = options.asked.how.without_order();
    let how = how.settings(&loaded)?;
    let mut findings = loaded.findings.clone();
    let suggestion = swing::condition::suggest(&loaded.recording, &loaded.rig, &how, order)
        .map_err(|error| no_swing(&loaded, error))?
        .take(&mut findings);
    let page = view::filter::view(&loaded.recording.name, &suggestion);
    if options.json {
        print_json(&page)?;
    } else {
        print(&view::filter::text(&page, &suggestion))?;
        tell_findings(&findings);
    }
    Ok(ending(&findings))
}
