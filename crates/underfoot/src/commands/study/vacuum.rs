//! `underfoot study vacuum`: what crashes have left is swept, and the catalogue written anew.
use crate::commands::{Done, print, print_document};
use clap::Args;
use underfoot::fail::Exit;
use underfoot::study::{InStudy, fail};

/// Options of `underfoot study vacuum`.
#[derive(Args, Debug)]
pub struct Vacuum {
    /// Also remove recordings that no swing speaks of, and damaged catalogues that a rebuild has kept
    #[arg(long)]
    strays: bool,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Files that the page names; JSON has all.
const SHOWN: usize = 10;

/// Runs it.
pub fn run(options: &Vacuum) -> Done {
    let study = options.study.open()?;
    let swept = study.vacuum(options.strays).map_err(|e| fail(e, &study.root))?;
    if options.json {
        print_document("underfoot.swept/1", &swept)?;
        return Ok((!swept.left.nothing()).then_some(Exit::Findings));
    }
    let list = |files: &[String]| {
        let more =
            if files.len() > SHOWN { format!(" and {} more", files.len() - SHOWN) } else { String::new() };
        format!("{}{more}", files.iter().take(SHOWN).cloned().collect::<Vec<_>>().join(", "))
    };
    let megabytes = |bytes: u64| format!("{:.1} MB", bytes as f64 / 1e6);
    let mut out = match swept.removed.len() {
        _ if swept.busy => "another program is placing files: none was swept\n".to_string(),
        0 => "nothing was left lying\n".to_string(),
        n => format!("removed {n}: {}\n", list(&swept.removed)),
    };
    if swept.stale > 0 {
        out.push_str(&format!(
            "removed {} measurements in other ways than the usual that were out of date: asked for, they are made again\n",
            swept.stale
        ));
    }
    out.push_str(&format!(
        "catalogue: {} before, {} after\n",
        megabytes(swept.before),
        megabytes(swept.after)
    ));
    if !swept.kept.is_empty() {
        let (n, names) = (swept.kept.len(), list(&swept.kept));
        out.push_str(&format!(
            "kept, since they may be all there is of something: {n}: {names}\n--strays removes them\n"
        ));
    }
    if let Some(why) = &swept.left.pages {
        out.push_str(&format!(
            "pages are yet to be written anew: {why}; done when the study is next opened alone\n"
        ));
    }
    if swept.left.files > 0 {
        out.push_str(&format!("{} files are yet to be removed\n", swept.left.files));
    }
    print(&out)?;
    Ok((!swept.left.nothing()).then_some(Exit::Findings))
}
