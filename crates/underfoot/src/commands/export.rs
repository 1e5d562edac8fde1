//! `underfoot export`: out of a study, for everything else.
use super::{Done, count, print, print_document};
use crate::chosen::ChosenArgs;
use archive::export::{self, Ask, Format, NotWritten, Told, Who};
use archive::{Study, StudyError};
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use std::path::PathBuf;
use underfoot::fail::{Exit, Fail};
use underfoot::study::{InStudy, fail};

/// Options of `underfoot export`.
#[derive(Args, Debug)]
pub struct Export {
    /// Folder to make (not there yet, or empty), or file to write: .json, or with --table .csv or .parquet
    out: PathBuf,
    /// What to write; otherwise by the ending of OUT, otherwise a package
    #[arg(long, value_enum)]
    format: Option<Form>,
    /// One table alone, as a file: players, rigs, sessions, swings, events, findings, metrics, figures, outcomes, tags,
    /// changes or series
    #[arg(long, value_name = "TABLE")]
    table: Option<String>,
    /// So that nobody is named: players and rigs by numbers, days since the first session, no text that a person wrote, no log
    #[arg(long)]
    without_identity: bool,
    /// The table of names as well
    #[arg(long, conflicts_with = "without_identity")]
    with_identity: bool,
    /// The series of every swing as one long table
    #[arg(long)]
    series: bool,
    /// The recordings as they came
    #[arg(long)]
    originals: bool,
    /// In a package: every table as Parquet as well
    #[arg(long)]
    parquet: bool,
    /// Write over a file that is there; a folder that holds something is never written over
    #[arg(long)]
    overwrite: bool,
    #[command(flatten)]
    study: InStudy,
    /// For machines: what was written
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    chosen: ChosenArgs,
}

#[derive(clap::ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    /// A folder that describes itself: CSV tables with units and meanings (Data Package 2.0)
    Package,
    /// A folder of CSV tables, or with --table one
    Csv,
    /// A folder of Parquet tables, or with --table one
    Parquet,
    /// One nested document
    Json,
    /// A folder of the recordings with our series as further channels, and centres of pressure as points
    C3d,
}

/// Runs it.
pub fn run(options: &Export) -> Done {
    let form = form(options)?;
    let study = options.study.open()?;
    let selection = options.chosen.selection()?;
    let chosen = study.chosen(&selection).map_err(|e| fail(e, &study.root))?.len();
    if chosen == 0 {
        let (what, fix) = match options.chosen.is_empty() {
            true => ("the study has no swing yet", "take recordings in with `underfoot import`"),
            false => {
                ("no swing fits what is asked for", "`underfoot list` with the same options shows what does")
            }
        };
        return Err(Fail::usage(what).at(study.root.display()).fix(fix));
    }
    let ask = Ask {
        selection,
        who: match (options.with_identity, options.without_identity) {
            (true, _) => Who::Names,
            (_, true) => Who::Nobody,
            _ => Who::Aliases,
        },
        series: options.series,
        originals: options.originals,
        parquet: options.parquet,
        overwrite: options.overwrite,
    };
    let told = write(options, form, &study, &ask, chosen).map_err(|e| refused(e, options))?;
    tell(options, &study, &told)
}

/// What to write. Errors: options that do not go together.
fn form(options: &Export) -> Result<Form, Fail> {
    let ending = options.out.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
    let form = match (options.format, ending.as_deref(), &options.table) {
        (Some(form), ..) => form,
        (None, Some("json"), None) => Form::Json,
        (None, Some("parquet"), Some(_)) => Form::Parquet,
        (None, _, Some(_)) => Form::Csv,
        (None, Some(ending @ ("csv" | "parquet")), None) => {
            return Err(Fail::usage(format!("a .{ending} file holds one table"))
                .at(options.out.display())
                .fix(
                    "say which with --table, for example --table figures, or name a folder for all of them",
                ));
        }
        (None, ..) => Form::Package,
    };
    let wrong = |option: &str, why: &str, fix: &str| Err(Fail::usage(why).at(option).fix(fix));
    if options.table.is_some() && !matches!(form, Form::Csv | Form::Parquet) {
        return wrong("--table", "one table is CSV or Parquet", "end the name in .csv or .parquet");
    }
    if options.series && matches!(form, Form::Json | Form::C3d) {
        return match form {
            Form::C3d => wrong("--series", "C3D files have the series in any case", "leave --series out"),
            _ => wrong("--series", "series are too many for JSON", "use --format package, csv or parquet"),
        };
    }
    if options.originals && (options.table.is_some() || matches!(form, Form::Json | Form::C3d)) {
        return wrong("--originals", "recordings need a folder", "use --format package, csv or parquet");
    }
    if options.parquet && form != Form::Package {
        return wrong("--parquet", "it adds to a package", "use --format parquet for Parquet alone");
    }
    Ok(form)
}

fn write(options: &Export, form: Form, study: &Study, ask: &Ask, chosen: usize) -> Result<Told, StudyError> {
    let out = &options.out;
    let passes = usize::from(ask.series || form == Form::C3d || options.table.as_deref() == Some("series"))
        + usize::from(ask.originals);
    let bar = if passes == 0 || chosen < 2 {
        ProgressBar::hidden()
    } else {
        ProgressBar::new((passes * chosen) as u64)
    };
    if let Ok(style) = ProgressStyle::with_template("{pos} of {len} swings  {bar:40}  {eta} left") {
        bar.set_style(style);
    }
    let mut tell = || bar.inc(1);
    let format = if form == Form::Parquet { Format::Parquet } else { Format::Csv };
    let told = match (form, &options.table) {
        (_, Some(name)) => export::table(study, ask, name, format, out, &mut tell),
        (Form::Package, None) => export::package(study, ask, out, &mut tell),
        (Form::Csv | Form::Parquet, None) => export::folder(study, ask, format, out, &mut tell),
        (Form::Json, None) => export::json(study, ask, out),
        (Form::C3d, None) => export::recordings(study, ask, out, &mut tell),
    };
    bar.finish_and_clear();
    told
}

fn refused(error: StudyError, options: &Export) -> Fail {
    match &error {
        StudyError::Unknown { kind: "table", .. } => {
            Fail::usage(&error).at("--table").fix("`underfoot export --help` lists the tables")
        }
        StudyError::Exists { kind: "file", .. } => {
            Fail::usage(&error).at("OUT").fix("choose another name, or say --overwrite to write over it")
        }
        _ => fail(error, &options.out),
    }
}

fn tell(options: &Export, study: &Study, told: &Told) -> Done {
    if options.json {
        print_document("underfoot.exported/1", told)?;
    } else {
        let rows = if told.rows > 0 { format!(", {} rows", told.rows) } else { String::new() };
        print(&format!(
            "wrote {}: {} in {}{rows}\n",
            options.out.display(),
            count(told.swings, "swing"),
            count(told.files, "file")
        ))?;
    }
    if told.stale > 0 {
        eprintln!(
            "note: {} of the swings were measured with something else than the study states now (swings.current); \
             `underfoot study rebuild --changed --study {}` measures them again",
            told.stale,
            study.root.display()
        );
    }
    if options.with_identity {
        eprintln!("note: this export holds names: keep it as carefully as the study");
    }
    if told.not_written.is_empty() {
        return Ok(None);
    }
    eprint!("{}", reasons(&told.not_written));
    Ok(Some(Exit::Input))
}

/// Every reason once, with the swings it holds for.
fn reasons(missing: &[NotWritten]) -> String {
    let mut told: Vec<(&str, Vec<String>)> = Vec::new();
    for one in missing {
        match told.iter_mut().find(|(why, _)| *why == one.why) {
            Some((_, swings)) => swings.push(one.swing.to_string()),
            None => told.push((&one.why, vec![one.swing.to_string()])),
        }
    }
    told.iter()
        .map(|(why, swings)| {
            let named = swings.iter().take(8).cloned().collect::<Vec<_>>().join(", ");
            let more =
                if swings.len() > 8 { format!(" and {} more", swings.len() - 8) } else { String::new() };
            format!("\nerror: not exported as asked: {why}\nwhere: swing {named}{more}\n")
        })
        .collect()
}
