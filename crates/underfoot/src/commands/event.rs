//! `underfoot event`: events of a swing of a study, seen and placed.
use super::{Done, print, print_json};
use archive::Study;
use archive::again::{Again, Place};
use archive::recipe::Mark;
use clap::{Args, Subcommand};
use swing::events::Name;
use underfoot::fail::Fail;
use underfoot::study::{InStudy, fail};
use view::quantity::{COVERAGE, plain};
use view::table::{Align, Table};

/// Options of `underfoot event`.
#[derive(Subcommand, Debug)]
pub enum EventCommand {
    /// Place an event of a swing by hand; the swing is measured again, and what came out otherwise is said
    Set(Set),
    /// Take back an event placed by hand; the swing is measured again
    Clear(Clear),
    /// Take back the last change of a swing's events; may be said again and again
    Undo(List),
    /// The events of a swing, where each comes from, and what was changed by hand
    List(List),
}

/// Options of `underfoot event set`.
#[derive(Args, Debug)]
pub struct Set {
    /// The swing's number in the study
    swing: i64,
    /// Events and their times in seconds of the recording, for example impact=1.234; several are placed at once
    #[arg(required = true, value_name = "EVENT=SECONDS", value_parser = crate::placed::placed)]
    places: Vec<(Name, f64)>,
    /// How closely it is meant: half of a 95 % interval, ms; otherwise about 10
    #[arg(long, value_name = "MS", value_parser = crate::placed::within)]
    within: Option<f64>,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Options of `underfoot event clear`.
#[derive(Args, Debug)]
pub struct Clear {
    /// The swing's number in the study
    swing: i64,
    /// address, takeaway, top, impact or finish
    event: String,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Options of `underfoot event list` and `undo`.
#[derive(Args, Debug)]
pub struct List {
    /// The swing's number in the study
    swing: i64,
    #[command(flatten)]
    study: InStudy,
    /// For machines
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(command: &EventCommand) -> Done {
    match command {
        EventCommand::Set(o) => {
            let u_s = o.within.map(|ms| ms / 1000.0 / COVERAGE);
            let places = o.places.iter().map(|(name, time_s)| (name.name(), Some((*time_s, u_s))));
            moved(&o.study, o.swing, &places.collect::<Vec<_>>(), o.json)
        }
        EventCommand::Clear(o) => moved(&o.study, o.swing, &[(&o.event, None)], o.json),
        EventCommand::Undo(o) => undo(o),
        EventCommand::List(o) => list(o),
    }
}

fn moved(study: &InStudy, swing: i64, places: &[(&str, Place)], json: bool) -> Done {
    let study = study.open()?;
    let again = study.mark_all(swing, places).map_err(|e| fail(e, &study.root))?;
    tell(&study, &again, json)?;
    for [a, b] in study.events_of(swing).map_err(|e| fail(e, &study.root))?.array_windows() {
        let rank = |event: &str| Name::ALL.iter().position(|n| n.name() == event);
        if rank(&a.event) > rank(&b.event) {
            eprintln!(
                "{} at {} s now comes before {} at {} s: figures that lie between them are absent; move the other too, or \
                 `underfoot event undo {swing}`",
                a.event,
                plain(a.time_s, 3),
                b.event,
                plain(b.time_s, 3)
            );
        }
    }
    Ok(None)
}

/// What an event changed: every figure that came out otherwise, and how many did not.
fn tell(study: &Study, again: &Again, json: bool) -> Result<(), Fail> {
    super::again::tell(study, std::slice::from_ref(again), json)
}

fn undo(options: &List) -> Done {
    let study = options.study.open()?;
    match study.undo_mark(options.swing).map_err(|e| fail(e, &study.root))? {
        Some(again) => tell(&study, &again, options.json)?,
        None => {
            return Err(Fail::usage(
                "no event of this swing has been placed by hand, or all of it is taken back",
            ));
        }
    }
    Ok(None)
}

fn list(options: &List) -> Done {
    let study = options.study.open()?;
    let of = |e| fail(e, &study.root);
    let events = study.events_of(options.swing).map_err(of)?;
    if options.json {
        print_json(&serde_json::json!({
            "schema": "underfoot.swing-events/1", "swing": options.swing, "events": events,
        }))?;
        return Ok(None);
    }
    let mut table = Table::new(&[Align::Left, Align::Right, Align::Right, Align::Left, Align::Left]);
    table.row(["event", "time", "±", "from", "by"]).row(["", "s", "ms", "", ""]).rule();
    for e in &events {
        let half_ms = COVERAGE * e.u_s * 1e3;
        table.row([
            e.event.clone(),
            plain(e.time_s, 3),
            plain(half_ms, 1),
            e.source.clone(),
            e.method.clone(),
        ]);
    }
    print(&table.text())?;
    let changes = study.changes_of_swing(options.swing).map_err(of)?;
    for change in changes.iter().filter(|c| c.what.starts_with("event set")) {
        let (before, after) = (in_words(change.before.as_deref()), in_words(change.after.as_deref()));
        print(&format!("\n{}  {}: {before} before, {after} after\n", change.at, change.what))?;
    }
    Ok(None)
}

/// Marks as the log keeps them: "impact 2.500 s", "nothing placed by hand".
fn in_words(marks: Option<&str>) -> String {
    let marks: Vec<Mark> = serde_json::from_str(marks.unwrap_or("[]")).unwrap_or_default();
    if marks.is_empty() {
        return "nothing placed by hand".into();
    }
    marks.iter().map(|m| format!("{} {} s", m.event, plain(m.time_s, 3))).collect::<Vec<_>>().join(", ")
}
