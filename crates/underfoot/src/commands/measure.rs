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
    match chosen.files.as_slice() {
        [file] if !chosen.many => single(options, one(file, options, false)?),
        _ => many(options, &chosen),
    }
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

fn single(options: &Measure, one: One) -> Done {
    let page = one.view();
    if let Some(out) = &options.out {
        let bytes = match kind(out)? {
            Kind::Json => json(&[&page])?,
            Kind::Csv => view::measure::tidy(std::slice::from_ref(&page)),
        };
        write(out, &bytes)?;
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

/// What is told of one of many recordings: its words and numbers, not its curves.
struct Told {
    line: view::measure::Line,
    stopped: bool,
    /// An element of a list, where JSON is asked for.
    json: String,
    /// Rows, where a table is.
    csv: String,
}

fn told(one: &One, wants_json: bool, wants_csv: bool) -> Result<Told, Fail> {
    let page = one.view();
    Ok(Told {
        line: view::measure::line(&page),
        stopped: view::findings::any_stop(&one.findings),
        json: if wants_json { json(&page)?.replace('\n', "\n  ") } else { String::new() },
        csv: if wants_csv { view::measure::tidy_rows(&page) } else { String::new() },
    })
}

/// Many recordings: a line each, what failed, and the worst of their exit codes. Of a recording nothing is kept but what
/// is told of it, and JSON for standard output not even until the next.
fn many(options: &Measure, chosen: &batch::Chosen) -> Done {
    let out = options.out.as_deref().map(|out| Ok((out, kind(out)?))).transpose()?;
    let to_file = |wanted: Kind| out.is_some_and(|(_, kind)| kind == wanted);
    let wants = (options.json || to_file(Kind::Json), to_file(Kind::Csv));

    let mut file_text = if wants.1 { view::measure::TIDY_HEAD.to_string() } else { String::new() };
    let mut lines = Vec::new();
    let (mut failed, mut stopped) = (batch::Failures::default(), false);
    let mut printed = Ok(());
    batch::each_in_turn(
        chosen,
        |file| one(file, options, true).and_then(|one| told(&one, wants.0, wants.1)),
        |file, answer| match answer {
            Ok(told) => {
                let before = if lines.is_empty() { "[\n  " } else { ",\n  " };
                if options.json && printed.is_ok() {
                    printed = print(before).and_then(|()| print(&told.json));
                }
                if to_file(Kind::Json) {
                    file_text.push_str(before);
                    file_text.push_str(&told.json);
                }
                file_text.push_str(&told.csv);
                stopped |= told.stopped;
                lines.push(told.line);
            }
            Err(fail) => failed.add(file, fail),
        },
    );
    printed?;
    let end = if lines.is_empty() { "[]" } else { "\n]" };
    if let Some((out, kind)) = out {
        file_text.push_str(if kind == Kind::Json { end } else { "" });
        write(out, &file_text)?;
    }
    if options.json {
        print(&format!("{end}\n"))?;
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

/// What a result is written as.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Json,
    Csv,
}

fn kind(out: &Path) -> Result<Kind, Fail> {
    match out.extension().map(|e| e.to_string_lossy().to_ascii_lowercase()).as_deref() {
        Some("json") => Ok(Kind::Json),
        Some("csv") => Ok(Kind::Csv),
        _ => Err(Fail::usage(format!("{} says neither .csv nor .json", out.display()))
            .at("-o")
            .fix("end the name in .csv or .json")),
    }
}

/// Indented JSON.
fn json(value: &(impl serde::Serialize + ?Sized)) -> Result<String, Fail> {
    serde_json::to_string_pretty(value)
        .map_err(|e| Fail { exit: Exit::Bug, ..Fail::input(format!("JSON could not be written: {e}")) })
}

fn write(out: &Path, text: &str) -> Result<(), Fail> {
    export::whole_file(out, text.as_bytes())?;
    eprintln!("wrote {}", out.display());
    Ok(())
}
