//! `underfoot events`: when things happened, where each instant comes from, and how sure that is.
use super::{Done, analyse, ending, print, print_json, tell_findings};
use crate::asked::Asked;
use crate::placed::EventArgs;
use clap::Args;

/// Options of `underfoot events`.
#[derive(Args, Debug)]
pub struct Events {
    #[command(flatten)]
    asked: Asked,
    #[command(flatten)]
    events: EventArgs,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(options: &Events) -> Done {
    let loaded = options.asked.load()?;
    let how = options.events.settings(&loaded)?;
    let mut findings = Vec::new();
    let swing = analyse(&loaded, &options.asked.how, &mut findings)?;
    let events = swing::events::locate(&loaded.recording, &loaded.rig, &swing, &how).take(&mut findings);
    let page = view::events::view(&loaded.recording, &swing, &events, &findings);
    if options.json {
        print_json(&page)?;
    } else {
        print(&view::events::text(&page))?;
        tell_findings(&findings);
    }
    Ok(ending(&findings))
}
