//! `underfoot study`: made, told of, looked after.
mod rebuild;
mod vacuum;
mod verify;

use super::{Done, count, print, print_document};
use archive::{Study, StudySettings};
use clap::{Args, Subcommand};
use std::path::PathBuf;
use underfoot::fail::Fail;
use underfoot::study::{InStudy, fail};

/// Options of `underfoot study`.
#[derive(Subcommand, Debug)]
pub enum StudyCommand {
    /// Make a study: a folder that keeps recordings, what was measured of them, and how
    New(New),
    /// What is in a study, and whether everything in it is measured as it should be
    Info(Info),
    /// Whether everything is as it was kept: every page, recording, series and figure
    #[command(after_help = "\
Examples:
  underfoot study verify --study practice
  underfoot study verify --json

Changes nothing. Exit codes: 0 everything is as it was kept · 3 a fault")]
    Verify(verify::Verify),
    /// Make again from the recordings what was made of them; a damaged catalogue is made whole
    #[command(after_help = "\
Examples:
  underfoot study rebuild --study practice            everything
  underfoot study rebuild --changed --study practice  what a change has made out of date

The same recordings, settings and methods give the same figures, bit by bit. What a person entered is never changed;
where a damaged page held some of it, every row that can still be read is saved, and the rest is named.
Exit codes: 0 done · 3 a recording could not be read, or something entered was lost")]
    Rebuild(rebuild::Rebuild),
    /// Sweep what crashes have left, and write the catalogue anew, without free pages
    #[command(after_help = "\
Examples:
  underfoot study vacuum --study practice
  underfoot study vacuum --strays")]
    Vacuum(vacuum::Vacuum),
}

/// Options of `underfoot study new`.
#[derive(Args, Debug)]
pub struct New {
    /// Folder to make; it must not be there yet, or be empty
    folder: PathBuf,
    /// A name for people; otherwise the folder's
    #[arg(long)]
    name: Option<String>,
}

/// Options of `underfoot study info`.
#[derive(Args, Debug)]
pub struct Info {
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(command: &StudyCommand) -> Done {
    match command {
        StudyCommand::New(options) => new(options),
        StudyCommand::Info(options) => info(options),
        StudyCommand::Verify(options) => verify::run(options),
        StudyCommand::Rebuild(options) => rebuild::run(options),
        StudyCommand::Vacuum(options) => vacuum::run(options),
    }
}

fn new(options: &New) -> Done {
    let folder = &options.folder;
    let name = options.name.clone().or_else(|| folder.file_name().map(|n| n.to_string_lossy().into_owned()));
    let settings = StudySettings::named(&name.unwrap_or_else(|| "study".into()));
    Study::create(folder, &settings).map_err(|e| fail(e, folder))?;
    let at = folder.display();
    print(&format!(
        "A study is in {at}.\n\nNext:  underfoot player add P01 --hand right --study {at}\n       \
         underfoot session add P01 --date 2026-05-12 --target +x --study {at}\n       \
         underfoot import FILES… --session 1 --study {at}\n"
    ))?;
    Ok(None)
}

fn info(options: &Info) -> Done {
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let info = study.info().map_err(of)?;
    if options.json {
        print_document("underfoot.study-info/1", &info)?;
    } else {
        print(&view_of(&study, &info)?)?;
    }
    Ok(None)
}

fn view_of(study: &Study, info: &archive::info::Info) -> Result<String, Fail> {
    let mut out = format!("{}  {}\n\n", study.settings.name, study.root.display());
    let count = |n: i64, one: &str| count(usize::try_from(n).unwrap_or_default(), one);
    out.push_str(&format!(
        "{}, {}, {}, {}\n",
        count(info.players, "player"),
        count(info.rigs, "rig"),
        count(info.sessions, "session"),
        count(info.swings, "swing")
    ));
    out.push_str(&format!(
        "with a plate for each foot: {}; both feet on one plate: {}; not measurable: {}\n",
        info.two_feet, info.one_plate, info.failed
    ));
    out.push_str(&format!(
        "findings: stops on {}, doubts on {} of the swings\n",
        info.with_stops, info.with_doubts
    ));
    let days = match (&info.first_day, &info.last_day) {
        (Some(a), Some(b)) => format!("{a} to {b}"),
        _ => "no day stated".into(),
    };
    out.push_str(&format!("days: {days}; turn about {}\n", study.settings.about));
    out.push_str(&format!("originals: {:.1} MB, kept as they came\n", info.original_bytes as f64 / 1e6));
    if info.stale > 0 {
        out.push_str(&format!(
            "\n{} to be measured again, since a rig, a player or a setting has changed: `underfoot study rebuild --changed`\n",
            count(info.stale, "swing")
        ));
    }
    if info.made_otherwise > 0 {
        out.push_str(&format!(
            "\n{} made by other methods than this program's: `underfoot study rebuild` makes them alike\n",
            count(info.made_otherwise, "measurement")
        ));
    }
    Ok(out)
}
