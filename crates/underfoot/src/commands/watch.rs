//! `underfoot watch`: a lesson's swings, each in the study and told as soon as its file is whole.
use super::Done;
use archive::watch::{Event, Summary, WatchSettings, watch};
use archive::{Session, Study, StudyError};
use clap::{ArgGroup, Args};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use underfoot::fail::{Exit, Fail};
use underfoot::study::{InStudy, fail};
use view::findings::shape;
use view::quantity::{plain, signed};
use view::units::shown;

/// Options of `underfoot watch`.
#[derive(Args, Debug)]
#[command(group = ArgGroup::new("whose").required(true).args(["session", "player"]))]
pub struct Watch {
    /// The folder that recordings are written to
    folder: PathBuf,
    /// The session that the swings come into
    #[arg(long, value_name = "N")]
    session: Option<i64>,
    /// The player: today's session is used, and made where there is none
    #[arg(long, value_name = "ALIAS")]
    player: Option<String>,
    /// Rig of today's session
    #[arg(long, value_name = "NAME", requires = "player")]
    rig: Option<String>,
    /// Target of today's session: a laboratory axis (+x, -x, +y…), a vector (1,0,0) or plates (1>2)
    #[arg(long, value_name = "TARGET", allow_hyphen_values = true, requires = "player")]
    target: Option<String>,
    /// Body mass on the day
    #[arg(long, value_name = "KG", value_parser = crate::asked::mass, allow_hyphen_values = true, requires = "player")]
    mass: Option<f64>,
    /// Club of the swings
    #[arg(long, value_name = "CLUB", default_value = "")]
    club: String,
    /// Watch folders inside as well
    #[arg(long)]
    recursive: bool,
    /// Take in files that are older than the session too
    #[arg(long)]
    all: bool,
    /// Take in everything that is there now, then end
    #[arg(long)]
    once: bool,
    #[command(flatten)]
    study: InStudy,
    /// For machines: one line an event
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(options: &Watch) -> Done {
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let (session, made) = session(&study, options)?;
    let player = study.player(session.player).map_err(of)?;
    let since =
        if options.all || options.once { None } else { study.session_made(session.id).map_err(of)? };
    let settings = WatchSettings {
        club: options.club.trim().to_string(),
        recursive: options.recursive,
        once: options.once,
        since,
        ..WatchSettings::of(session.id)
    };
    if !options.json {
        let day = session.date.as_deref().unwrap_or("no day");
        let made = if made { ", made now" } else { "" };
        eprintln!("{} for {}, session {} ({day}{made})", options.folder.display(), player.alias, session.id);
    }
    let stop = AtomicBool::new(false);
    let mut teller = Teller::of(&study, options)?;
    let mut failed = None;
    let on = |event: Event| {
        if let Err(why) = teller.tell(&event, options) {
            failed.get_or_insert(why);
            stop.store(true, Ordering::Relaxed);
        }
    };
    let summary =
        watch(&study, &options.folder, &settings, on, &stop).map_err(|e| told(e, options, &study))?;
    match failed {
        // Nobody listens any more, which ends it well.
        Some(Stop::Closed) | None => {}
        Some(Stop::Failed(why)) => return Err(why),
    }
    Ok(ending(options, summary))
}

/// An error, where the folder is not the study's.
fn told(error: StudyError, options: &Watch, study: &Study) -> Fail {
    match &error {
        StudyError::Io { act: "watch", .. } => Fail::input(error)
            .at(options.folder.display())
            .fix("name the folder that the capture program writes to"),
        _ => fail(error, &study.root),
    }
}

/// The session meant; true where it was made.
fn session(study: &Study, options: &Watch) -> Result<(Session, bool), Fail> {
    let of = |e| fail(e, &study.root);
    if let Some(number) = options.session {
        return Ok((study.session(number).map_err(of)?, false));
    }
    let alias = options.player.as_deref().unwrap_or_default();
    let player = study.player_called(alias).map_err(of)?;
    let rig = options.rig.as_deref().map(|name| study.rig_called(name)).transpose().map_err(of)?;
    let wanted = Session {
        rig: rig.and_then(|versions| versions.first().map(|v| v.rig)),
        target: options.target.clone(),
        mass_kg: options.mass,
        ..Session::of(player.id)
    };
    study.session_today(&wanted).map_err(of)
}

fn ending(options: &Watch, summary: Summary) -> Option<Exit> {
    if !options.json {
        let Summary { kept, there, failed, waiting, .. } = summary;
        eprintln!("{kept} taken in, {there} there before, {failed} not taken in, {waiting} not whole yet");
    }
    match summary {
        Summary { failed, waiting, .. } if failed + waiting > 0 => Some(Exit::Input),
        Summary { stops, .. } if stops > 0 => Some(Exit::Findings),
        _ => None,
    }
}

/// Why telling ends.
enum Stop {
    Closed,
    Failed(Fail),
}

/// Tells of events as they come.
struct Teller<'a> {
    study: &'a Study,
    basis: i64,
    folder: PathBuf,
    headed: bool,
}

/// What stands in a swing's line, with decimals and the unit of its heading.
const KEY: [(&str, usize, &str); 4] = [
    ("up.net.most", 1, "%BW"),
    ("target.net.most", 1, "%BW"),
    ("turn.net-cop.most", 1, "N·m"),
    ("tempo", 2, ""),
];

const HEAD: [&str; 8] = ["no.", "recording", "", "up %BW", "drive %BW", "turn N·m", "tempo", "findings"];

const WIDTHS: [usize; 8] = [5, 24, 9, 15, 15, 15, 13, 0];

impl<'a> Teller<'a> {
    fn of(study: &'a Study, options: &Watch) -> Result<Self, Fail> {
        let (basis, _) = study.usual_basis().map_err(|e| fail(e, &study.root))?;
        let folder = options.folder.canonicalize().unwrap_or_else(|_| options.folder.clone());
        Ok(Self { study, basis, folder, headed: false })
    }

    fn tell(&mut self, event: &Event, options: &Watch) -> Result<(), Stop> {
        if options.json {
            let line = serde_json::to_string(event)
                .map_err(|e| Stop::Failed(Fail { exit: Exit::Bug, ..Fail::input(e) }))?;
            return put(&line);
        }
        match event {
            Event::Watching { known, waiting, left, .. } => {
                let mut words = vec![format!("{known} known from before, {waiting} to be read")];
                if *left > 0 {
                    words.push(format!("{left} older than the session, left (--all takes them in)"));
                }
                eprintln!("{}", words.join(", "));
                if !options.once {
                    eprintln!("Watching; Ctrl-C ends it, and nothing is lost.");
                }
            }
            Event::Kept { file, swing, number, feet, failed, stops, doubts, continues, .. } => {
                if !std::mem::replace(&mut self.headed, true) {
                    put(&columns(&HEAD.map(String::from)))?;
                }
                put(&self.line(file, *swing, *number, *feet, failed.as_deref(), (*stops, *doubts))?)?;
                if let Some(begin) = continues {
                    eprintln!(
                        "{}: swing {begin} is the beginning of this one: the file was written on after it had been \
                         taken in",
                        self.name(file)
                    );
                }
            }
            Event::There { file, swing, .. } => eprintln!("{}: there before, swing {swing}", self.name(file)),
            Event::Waiting { file, why } => eprintln!("{}: waiting: {why}", self.name(file)),
            Event::Failed { file, why, needs_rig } => {
                let fix = match needs_rig {
                    true => {
                        "give the session a rig (`underfoot session edit`); the file is then looked at again"
                    }
                    false => {
                        "it is looked at again when it changes; see what is in it with `underfoot inspect`"
                    }
                };
                eprintln!("{}", Fail::input(why).at(self.name(file)).fix(fix));
            }
            Event::Away { why } => eprintln!("the folder cannot be read, and is looked for: {why}"),
            Event::Back => eprintln!("the folder can be read again"),
        }
        Ok(())
    }

    fn name(&self, file: &str) -> String {
        let path = Path::new(file);
        path.strip_prefix(&self.folder).unwrap_or(path).display().to_string()
    }

    fn line(
        &self,
        file: &str,
        swing: i64,
        number: i64,
        feet: Option<u8>,
        failed: Option<&str>,
        (stops, doubts): (usize, usize),
    ) -> Result<String, Stop> {
        let name = self.name(file);
        if let Some(why) = failed {
            let head = columns(&[number.to_string(), name, "none".into()]);
            return Ok(format!("{head}  not measured: {why}"));
        }
        let of = |e| Stop::Failed(fail(e, &self.study.root));
        let figures = self.study.figures_of(self.basis, swing).map_err(of)?;
        let figure = |(id, decimals, unit): (&str, usize, &str)| {
            let kept = figures.iter().find(|f| f.metric.id == id)?;
            let is = shown(kept.metric.unit, kept.figure.as_ref().ok()?);
            let text = format!("{} ± {}", signed(is.value, decimals), plain(is.plus_minus, decimals));
            Some(if is.unit == unit { text } else { format!("{text} {}", is.unit) })
        };
        let [up, drive, turn, tempo] = KEY.map(|key| figure(key).unwrap_or_else(|| "—".into()));
        let found = [("stop", stops), ("doubt", doubts)].into_iter().filter(|(_, n)| *n > 0);
        let found: Vec<String> = found.map(|(severity, n)| format!("{} {n}", shape(severity))).collect();
        let accounts = if feet == Some(2) { "both feet" } else { "net only" };
        let tempo = tempo.trim_start_matches('+').to_string();
        Ok(columns(&[number.to_string(), name, accounts.into(), up, drive, turn, tempo, found.join(" ")]))
    }
}

/// Cells under their headings: words to the left, figures to the right. The lines before cannot be moved any more, so the
/// columns have their width from the start.
fn columns(cells: &[String]) -> String {
    let set = |(k, (cell, width)): (usize, (&String, &usize))| {
        let pad = " ".repeat(width.saturating_sub(cell.chars().count()));
        if (1..3).contains(&k) { format!("{cell}{pad}") } else { format!("{pad}{cell}") }
    };
    let line: Vec<String> = cells.iter().zip(&WIDTHS).enumerate().map(set).collect();
    line.join("  ").trim_end().to_string()
}

/// A line on standard output, at once.
fn put(line: &str) -> Result<(), Stop> {
    let mut out = std::io::stdout().lock();
    match writeln!(out, "{line}").and_then(|()| out.flush()) {
        Ok(()) => Ok(()),
        Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => Err(Stop::Closed),
        Err(e) => Err(Stop::Failed(Fail::input(format!("cannot write to standard output: {e}")))),
    }
}
