//! `underfoot measure`: events and metrics with their ±, for one recording or many.
use super::{Done, ending, no_swing, print, print_json, tell_findings};
use crate::asked::How;
use crate::placed::EventArgs;
use clap::Args;
use mechanics::Finding;
use std::path::{Path, PathBuf};
use swing::{MeasureSettings, Measurement};
use underfoot::batch;
use underfoot::export;
use underfoot::fail::{Exit, Fail};
use underfoot::open::Loaded;
use view::measure::MeasureView;
use view::{Convention, Shown, Signs};

/// Options of `underfoot measure`.
#[derive(Args, Debug)]
pub struct Measure {
    /// Recordings, or folders of recordings
    #[arg(required = true, value_name = "FILE|FOLDER")]
    files: Vec<PathBuf>,
    #[command(flatten)]
    how: How,
    #[command(flatten)]
    events: EventArgs,
    /// Let an estimated top or impact stand in; figures that rest on one are marked
    #[arg(long)]
    estimates: bool,
    /// Every metric of the catalogue instead of the page
    #[arg(long)]
    all: bool,
    /// Write the metrics of every recording to one table, one row a metric (.csv), or all of it (.json)
    #[arg(short, long, value_name = "OUT")]
    out: Option<PathBuf>,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// One recording, measured.
struct One {
    loaded: Loaded,
    measured: Measurement,
    findings: Vec<Finding>,
}

impl One {
    fn view(&self) -> MeasureView {
        let convention = Convention { signs: Signs::Reaction, frame: Shown::Player };
        view::measure::view(&self.loaded.recording, &self.measured, &self.findings, convention)
    }
}

/// Runs it.
pub fn run(options: &Measure) -> Done {
    let chosen = batch::choose(&options.files)?;
    if chosen.many && !options.events.set.is_empty() {
        return Err(Fail::usage("an event placed by hand belongs to one recording")
            .at("--set")
            .fix("measure that recording by itself"));
    }
    if let Some(out) = &options.out {
        let inputs: Vec<&Path> = chosen.files.iter().map(PathBuf::as_path).collect();
        export::not_over(out, &inputs)?;
    }
    let answers = batch::each(&chosen, |file| one(file, options, chosen.many));
    if chosen.many { many(options, &chosen, answers) } else { single(options, answers) }
}

fn one(file: &Path, options: &Measure, many: bool) -> Result<One, Fail> {
    let loaded = options.how.load(file)?;
    let how = options.how.settings(&loaded)?;
    let what = MeasureSettings { events: options.events.settings(&loaded)?, estimates: options.estimates };
    let mut findings = loaded.findings.clone();
    let measured =
        swing::measure_into(&loaded.recording, &loaded.rig, &how, &what, &mut findings).map_err(|error| {
            if !many {
                tell_findings(&findings);
            }
            no_swing(&loaded, error)
        })?;
    Ok(One { loaded, measured, findings })
}

fn single(options: &Measure, answers: Vec<Result<One, Fail>>) -> Done {
    let Some(answer) = answers.into_iter().next() else { return Ok(None) };
    let one = answer?;
    let page = one.view();
    if let Some(out) = &options.out {
        write(out, std::slice::from_ref(&page))?;
    }
    if options.json {
        print_json(&page)?;
        return Ok(ending(&one.findings));
    }
    if options.all {
        print(&view::measure::all(&one.measured))?;
    } else {
        print(&view::measure::text(&page, &one.measured))?;
    }
    tell_findings(&one.findings);
    Ok(ending(&one.findings))
}

/// Many recordings: a line each, what failed, and the worst of their exit codes.
fn many(options: &Measure, chosen: &batch::Chosen, answers: Vec<Result<One, Fail>>) -> Done {
    let mut pages = Vec::new();
    let mut lines = Vec::new();
    let (mut failed, mut stopped) = (batch::Failures::default(), false);
    for (file, answer) in chosen.files.iter().zip(answers) {
        match answer {
            Ok(one) => {
                stopped |= view::findings::any_stop(&one.findings);
                let page = one.view();
                lines.push(view::measure::line(&page));
                pages.push(page);
            }
            Err(fail) => failed.add(file, fail),
        }
    }
    if let Some(out) = &options.out {
        write(out, &pages)?;
    }
    if options.json {
        print_json(&pages)?;
    } else {
        print(&view::measure::lines(&lines, None))?;
    }
    let of = chosen.files.len();
    eprintln!("{} of {of} recordings measured", of - failed.count());
    eprint!("{failed}");
    if !chosen.left_out.is_empty() {
        eprintln!("left out of the folder, not recordings by their endings: {}", chosen.left_out.len());
    }
    Ok(match (failed.count() > 0, stopped) {
        (true, _) => Some(Exit::Input),
        (false, true) => Some(Exit::Findings),
        (false, false) => None,
    })
}

fn write(out: &Path, pages: &[MeasureView]) -> Result<(), Fail> {
    let ending = out.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
    let bytes = match ending.as_deref() {
        Some("json") => serde_json::to_vec_pretty(pages).map_err(|e| Fail {
            exit: Exit::Bug,
            ..Fail::input(format!("JSON could not be written: {e}"))
        })?,
        Some("csv") => view::measure::tidy(pages).into_bytes(),
        _ => {
            return Err(Fail::usage(format!("{} says neither .csv nor .json", out.display()))
                .at("-o")
                .fix("end the name in .csv or .json"));
        }
    };
    export::whole_file(out, &bytes)?;
    eprintln!("wrote {}", out.display());
    Ok(())
}
