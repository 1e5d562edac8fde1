//! `underfoot session`: one player, one day, one rig.
use super::player::{day, measure_again};
use super::{Done, print, print_json};
use crate::asked::mass;
use archive::{Selection, Session, Study};
use clap::{Args, Subcommand, ValueEnum};
use serde_json::json;
use underfoot::fail::Fail;
use underfoot::study::{InStudy, fail};
use view::quantity::plain;
use view::table::{Align, Table};

/// What to do with sessions.
#[derive(Subcommand, Debug)]
pub enum SessionCommand {
    /// Add a session of a player; `import` makes those it needs by itself
    #[command(after_help = "\
Examples:
  underfoot session add P01 --date 2026-05-12 --target +x
  underfoot session add P01 --date 2026-05-13 --rig bay --mass 78.5 --place range")]
    Add(Add),
    /// Sessions by day, with their swings
    #[command(after_help = "\
Examples:
  underfoot session list
  underfoot session list --player P01 --json")]
    List(List),
    /// Change a session; where that touches its measurements, they are made again
    #[command(after_help = "\
Examples:
  underfoot session edit 3 --target -x
  underfoot session edit 3 --rig bay --clear mass")]
    Edit(Edit),
}

/// What may be said of a session.
#[derive(Args, Clone, Debug, Default)]
pub struct Known {
    /// Day
    #[arg(long, value_name = "DAY", value_parser = day)]
    date: Option<String>,
    /// Rig of the study (`underfoot rig list`)
    #[arg(long, value_name = "NAME")]
    rig: Option<String>,
    /// Where the target is: +x, -y, a vector (1,0,0) or plates (1>2); otherwise as the rig says
    #[arg(long, value_name = "TARGET", allow_hyphen_values = true)]
    target: Option<String>,
    /// Body mass on that day
    #[arg(long, value_name = "KG", value_parser = mass)]
    mass: Option<f64>,
    /// Where it was
    #[arg(long)]
    place: Option<String>,
    /// Free text
    #[arg(long)]
    note: Option<String>,
    /// The marker on the clubhead
    #[arg(long, value_name = "LABEL")]
    club_marker: Option<String>,
}

/// Options of `underfoot session add`.
#[derive(Args, Debug)]
pub struct Add {
    /// The player
    player: String,
    #[command(flatten)]
    known: Known,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Options of `underfoot session list`.
#[derive(Args, Debug)]
pub struct List {
    /// Of one player
    #[arg(long, value_name = "ALIAS")]
    player: Option<String>,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Options of `underfoot session edit`.
#[derive(Args, Debug)]
pub struct Edit {
    /// The session's number
    session: i64,
    #[command(flatten)]
    known: Known,
    /// The player, where it was filed under another
    #[arg(long, value_name = "ALIAS")]
    player: Option<String>,
    /// Forget something; may be given many times
    #[arg(long, value_enum, value_name = "WHAT")]
    clear: Vec<Field>,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// What can be forgotten.
#[derive(ValueEnum, Clone, Copy, Debug)]
enum Field {
    Date,
    Rig,
    Target,
    Mass,
    Place,
    Note,
    ClubMarker,
}

/// Runs it.
pub fn run(command: &SessionCommand) -> Done {
    match command {
        SessionCommand::Add(options) => add(options),
        SessionCommand::List(options) => list(options),
        SessionCommand::Edit(options) => edit(options),
    }
}

impl Known {
    fn onto(&self, study: &Study, mut session: Session) -> Result<Session, Fail> {
        if let Some(name) = &self.rig {
            let versions = study.rig_called(name).map_err(|e| fail(e, &study.root))?;
            session.rig = versions.first().map(|v| v.rig);
        }
        session.date = self.date.clone().or(session.date);
        session.target = self.target.clone().or(session.target);
        session.mass_kg = self.mass.or(session.mass_kg);
        session.club_marker = self.club_marker.clone().or(session.club_marker);
        session.place = self.place.clone().unwrap_or(session.place);
        session.note = self.note.clone().unwrap_or(session.note);
        Ok(session)
    }
}

fn add(options: &Add) -> Done {
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let player = study.player_called(&options.player).map_err(of)?;
    let session = options.known.onto(&study, Session::of(player.id))?;
    let twins: Vec<String> = study
        .sessions(Some(player.id))
        .map_err(of)?
        .iter()
        .filter(|s| s.date == session.date && s.rig == session.rig)
        .map(|s| s.id.to_string())
        .collect();
    let id = study.add_session(&session).map_err(of)?;
    if options.json {
        print_json(&json!({ "schema": "underfoot.session/1", "session": id }))?;
    } else {
        let on = session.date.as_deref().map_or_else(|| "no stated day".into(), |d| format!("on {d}"));
        print(&format!("session {id}: {} {on}\n", player.alias))?;
    }
    if !twins.is_empty() {
        eprintln!(
            "{} has another session of that day and rig ({}): say --session {id} when you import",
            player.alias,
            twins.join(", ")
        );
    }
    Ok(None)
}

fn list(options: &List) -> Done {
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let player = options.player.as_deref().map(|a| study.player_called(a).map_err(of)).transpose()?;
    let sessions = study.sessions(player.as_ref().map(|p| p.id)).map_err(of)?;
    let players = study.players().map_err(of)?;
    let rigs = study.rigs().map_err(of)?;
    let selection =
        Selection { players: player.iter().map(|p| p.alias.clone()).collect(), ..Selection::default() };
    let swings = study.candidates(&selection).map_err(of)?;
    let alias = |id: i64| players.iter().find(|p| p.id == id).map_or("—", |p| p.alias.as_str());
    let rig = |id: Option<i64>| rigs.iter().find(|v| Some(v.rig) == id).map_or("—", |v| v.name.as_str());
    let count = |id: i64| swings.iter().filter(|s| s.session == id).count();
    if options.json {
        let all: Vec<_> = sessions
            .iter()
            .map(|s| {
                let mut one = json!(s);
                one["player"] = json!(alias(s.player));
                one["rig"] = json!(rigs.iter().find(|v| Some(v.rig) == s.rig).map(|v| &v.name));
                one["swings"] = json!(count(s.id));
                one
            })
            .collect();
        print_json(&json!({ "schema": "underfoot.sessions/1", "sessions": all }))?;
        return Ok(None);
    }
    if sessions.is_empty() {
        print("no session yet; `underfoot session add` adds one, `underfoot import` makes those it needs\n")?;
        return Ok(None);
    }
    let mut table = Table::new(&[
        Align::Right,
        Align::Left,
        Align::Left,
        Align::Right,
        Align::Left,
        Align::Left,
        Align::Right,
        Align::Left,
        Align::Left,
    ]);
    table.row(["session", "player", "date", "swings", "rig", "target", "mass, kg", "place", "note"]).rule();
    for s in &sessions {
        table.row([
            s.id.to_string(),
            alias(s.player).to_string(),
            s.date.clone().unwrap_or_else(|| "—".into()),
            count(s.id).to_string(),
            rig(s.rig).to_string(),
            s.target.clone().unwrap_or_else(|| "—".into()),
            plain(s.mass_kg.unwrap_or(f64::NAN), 1),
            s.place.clone(),
            s.note.clone(),
        ]);
    }
    print(&table.text())?;
    Ok(None)
}

fn edit(options: &Edit) -> Done {
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let before = study.session(options.session).map_err(of)?;
    let mut after = options.known.onto(&study, before.clone())?;
    if let Some(alias) = &options.player {
        after.player = study.player_called(alias).map_err(of)?.id;
    }
    for field in &options.clear {
        match field {
            Field::Date => after.date = None,
            Field::Rig => after.rig = None,
            Field::Target => after.target = None,
            Field::Mass => after.mass_kg = None,
            Field::Place => after.place.clear(),
            Field::Note => after.note.clear(),
            Field::ClubMarker => after.club_marker = None,
        }
    }
    if after == before {
        return Err(
            Fail::usage("nothing to change was said").fix("`underfoot session edit --help` has what can be")
        );
    }
    study.edit_session(&before, &after).map_err(of)?;
    eprintln!("session {} is changed", after.id);
    // Place and note touch no measurement; everything else may.
    let bare = |s: &Session| Session { place: String::new(), note: String::new(), ..s.clone() };
    measure_again(&study, bare(&before) != bare(&after), options.json)
}
