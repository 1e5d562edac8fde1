//! `underfoot watch`: a lesson's swings, each in the study and told as soon as its file is whole.
use super::Done;
use archive::list::Order;
use archive::watch::{Event, Summary, WatchSettings, watch};
use archive::{Selection, Session, Study, StudyError};
use clap::{ArgGroup, Args};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use underfoot::fail::{Exit, Fail};
use underfoot::study::{InStudy, fail};
use view::study::{lesson_head, lesson_line};

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
    let mut teller = Teller::of(&study, options);
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
    folder: PathBuf,
    headed: bool,
}

impl<'a> Teller<'a> {
    fn of(study: &'a Study, options: &Watch) -> Self {
        let folder = options.folder.canonicalize().unwrap_or_else(|_| options.folder.clone());
        Self { study, folder, headed: false }
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
            Event::Kept { file, swing, continues, .. } => {
                if !std::mem::replace(&mut self.headed, true) {
                    put(&lesson_head())?;
                }
                put(&self.line(file, *swing)?)?;
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

    fn line(&self, file: &str, swing: i64) -> Result<String, Stop> {
        let of = |e| Stop::Failed(fail(e, &self.study.root));
        let page = self.study.list(&Selection::of(&[swing]), Order::NEWEST, Some(1), 0).map_err(of)?;
        let name = self.name(file);
        // A swing that has been taken out again meanwhile has no line.
        Ok(page
            .rows
            .first()
            .map_or_else(|| format!("{name}: is not in the study any more"), |row| lesson_line(row, &name)))
    }
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
