//! `underfoot study verify`: whether everything is as it was kept.
use crate::commands::{Done, print, print_document};
use archive::verify::{Verdict, verify};
use clap::Args;
use underfoot::fail::Exit;
use underfoot::progress::Bar;
use underfoot::study::{InStudy, fail};

/// Options of `underfoot study verify`.
#[derive(Args, Debug)]
pub struct Verify {
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Faults that the page shows; JSON has all.
const SHOWN: usize = 20;

/// Runs it.
pub fn run(options: &Verify) -> Done {
    let folder = options.study.folder()?;
    let bar = Bar::new();
    let verdict = verify(&folder, &|progress| bar.show(progress)).map_err(|e| fail(e, &folder))?;
    drop(bar);
    if options.json {
        print_document("underfoot.verdict/1", &verdict)?;
    } else {
        print(&text(&verdict))?;
    }
    Ok((!verdict.clean()).then_some(Exit::Input))
}

fn text(verdict: &Verdict) -> String {
    let mut out = format!(
        "looked at every page of the catalogue, {} swings, {} recordings, {} series, {} figures\n",
        verdict.swings, verdict.originals, verdict.series, verdict.figures
    );
    if verdict.clean() {
        out.push_str("everything is as it was kept\n");
    }
    for fault in verdict.faults.iter().take(SHOWN) {
        out.push_str(&format!("\nfault: {}\nwhere: {}\ndo:    {}\n", fault.what, fault.place, fault.remedy));
    }
    if verdict.faults.len() > SHOWN {
        out.push_str(&format!("\nand {} more faults; --json has all\n", verdict.faults.len() - SHOWN));
    }
    let heals = verdict.faults.iter().filter(|f| f.heals).count();
    if !verdict.clean() {
        let all = verdict.faults.len();
        out.push_str(&format!(
            "\n{all} faults; `underfoot study rebuild` heals {heals} of them completely\n"
        ));
    }
    for note in &verdict.notes {
        out.push_str(&format!("\nnote:  {}: {}\n", note.what, note.count));
        if !note.places.is_empty() {
            let more = if note.count > note.places.len() { ", …" } else { "" };
            out.push_str(&format!("where: {}{more}\n", note.places.join(", ")));
        }
        out.push_str(&format!("do:    {}\n", note.remedy));
    }
    out
}
